"""Take layers that lie in files of their own into the land file, and keep those files."""

import contextlib
import json
import shutil
import time
from collections.abc import Mapping
from filecmp import cmp
from pathlib import Path

import pyogrio

from clearing.errors import InputError
from clearing.files.durable import put_in_place, settled
from clearing.files.layers import Source, ending_of, in_file, listed, open_layer
from clearing.files.standing import COMPANIONS, LAYERS, Land
from clearing.files.versions import FOLDER, made_folder

MOVING = ".moving.json"  # in FOLDER: files that are on their way there
NEW = ".new-land-"
INDEXES = ("qix", "sbn", "sbx", "cst")  # what else may lie beside a Shapefile
LEFT_S = 600.0  # what a save left lying is older than this; own choice


def to_move(land: Land, changed: Mapping[str, object], target: Path) -> list[str]:
    """Return the files whose layers are taken into the land file.

    References
    ----------
    own reasoning
    """
    files = {land.where[name] for name in changed}
    for source in (land.beside[name] for name in changed if name in land.beside):
        files |= {other.path.name for other in source.beside}  # else both would hold it afterwards
    return sorted(name for name in files if name and name != target.name)


def foreign_layers(home: Path, moving: list[str], waiting: Path) -> None:
    """Return nothing; take what else a moved file holds along into the new land file.

    A layer whose name is taken there, or would be read as one of ours, gets a number behind it.

    References
    ----------
    own reasoning
    """
    for name in moving:
        path = home / name
        packed = path.name.lower() in ("land.kml", "land.kmz")
        if not packed and ending_of(path) != "gpkg":
            continue
        held = {each: in_file(path, each) for each in LAYERS}
        ours = {layer for source in held.values() if source for layer in source.layers}
        all_in = listed(path)
        moved = ours if packed else _own_layer(path, all_in)
        for layer in all_in:
            if layer in moved:
                continue
            free, number = layer, 1
            there = {each.lower() for each in listed(waiting)}
            while free.lower() in there or (free == layer and layer in ours):
                number += 1
                free = f"{layer}_{number}"
            _take_along(path, layer, waiting, free)


def _own_layer(path: Path, all_in: list[str]) -> set[str]:
    """Return the layer that a file of one layer was read for."""
    source = in_file(path, path.stem.lower())
    return set(source.layers) if source else set(all_in[:1])


def _take_along(path: Path, layer: str, waiting: Path, name: str) -> None:
    """Copy a layer, or a table without shapes, into another file."""
    if ending_of(path) == "gpkg":
        frame = pyogrio.read_dataframe(path.resolve(), layer=layer)
        pyogrio.write_dataframe(frame, waiting, layer=name, driver="GPKG")
        return
    with contextlib.suppress(InputError):  # a folder without shapes
        frame = open_layer(Source(path, (layer,)))
        pyogrio.write_dataframe(frame, waiting, layer=name, driver="GPKG")


def copied(home: Path, moving: list[str], waiting: Path) -> None:
    """Return nothing; copy files to ``earlier`` and note which go into which new file.

    References
    ----------
    own reasoning
    """
    if not moving:
        return
    folder = made_folder(home)
    copies = {
        path.name: _copy_of(path, folder).name
        for file in moving
        for path in with_companions(home / file)
    }
    note = folder / f"{MOVING}-new"
    note.write_text(json.dumps({"into": waiting.stat().st_ino, "copies": copies}), "utf-8")
    put_in_place(note, folder / MOVING)


def _copy_of(path: Path, folder: Path) -> Path:
    """Return the copy of a file in a folder, made where there is none like it."""
    copy, number = folder / path.name, 1
    while copy.exists() and not cmp(path, copy, shallow=False):
        number += 1
        copy = folder / f"{path.stem}_{number}{path.suffix}"
    if not copy.exists():
        waiting = folder / f".{copy.name}-new"
        shutil.copy2(path, waiting)
        put_in_place(waiting, copy)
    return copy


def with_companions(path: Path) -> list[Path]:
    """Return a file with what belongs to it: the other files of a Shapefile.

    References
    ----------
    own reasoning
    """
    if ending_of(path) != "shp":
        return [path]
    stem = path.stem.lower()
    beside = [
        each for each in path.parent.iterdir()
        if each.stem.lower() == stem and ending_of(each) in (*COMPANIONS, *INDEXES)
    ]  # fmt: skip
    return [path, *sorted(beside)]


def finished(home: Path, target: Path) -> None:
    """Return nothing; finish or forget a move that was cut off, and what a save left lying.

    Raises
    ------
    OSError
        A file that was taken into the land file cannot be removed.

    References
    ----------
    own reasoning
    """
    for folder in {home, target.resolve().parent}:
        for left in folder.glob(f"{NEW}*"):
            if time.time() - left.stat().st_mtime > LEFT_S:
                shutil.rmtree(left, ignore_errors=True)
    note = home / FOLDER / MOVING
    if not note.exists():
        return
    told: dict[str, object] = {}
    with contextlib.suppress(ValueError):
        told = json.loads(note.read_text(encoding="utf-8"))
    copies = told.get("copies")
    if target.exists() and isinstance(copies, dict) and target.stat().st_ino == told.get("into"):
        for file, copy in copies.items():
            original, kept = home / file, home / FOLDER / copy
            if original.exists() and kept.exists() and cmp(original, kept, shallow=False):
                original.unlink()
        settled(home)
    note.unlink()
