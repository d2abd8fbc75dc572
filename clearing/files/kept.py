"""Keep the owner's layers: open them as they stand, and save changed ones whole or not at all."""

import contextlib
import json
import shutil
import sqlite3
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from filecmp import cmp
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
from pyogrio.errors import DataSourceError

from clearing.errors import InputError
from clearing.files.cells import said_otherwise
from clearing.files.durable import not_written, put_in_place, settled
from clearing.files.layers import Source, ending_of, in_file, listed, open_layer
from clearing.files.standing import COMPANIONS, LAYERS, WAITING, Land, layer_of, stamp_of, standing
from clearing.files.table_rows import add_table, numbered, teach_shapes, write_rows
from clearing.files.versions import FOLDER, keep_version

__all__ = ["LAYERS", "Land", "LandChanged", "open_land", "save_land", "stamp_of"]

LAND = "land.gpkg"
MOVING = ".moving.json"  # in FOLDER: files that are on their way there
AHEAD = (
    "land.gpkg-wal",
    "land.gpkg-shm",
)  # beside a file that is open in a program that writes ahead
NEW = ".new-land-"
INDEXES = ("qix", "sbn", "sbx", "cst")  # what else may lie beside a Shapefile
LEFT_S = 600.0  # what a save left lying is older than this; own choice
_SAVING = threading.Lock()


class LandChanged(InputError):
    """Return an error: another program changed the land; nothing was written."""


def open_land(home: str | Path) -> Land:
    """Return the owner's layers as they stand.

    What a save that was cut off left behind is settled first.

    Raises
    ------
    InputError
        Lists every problem of every layer at once: a file that cannot be read, a layer in two
        files, or one that does not state its coordinate system.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    if not home.is_dir():
        raise InputError([f"there is no folder {home}; name the property's folder"], str(home))
    with _SAVING:
        try:
            _settle(home)
        except OSError as cause:
            words = f"{cause.filename} was taken into {LAND} and cannot be removed: "
            words += f"{cause.strerror}; delete it, a copy lies in {FOLDER}"
            raise InputError([words], home.name) from cause
        return standing(home)


def save_land(home: str | Path, land: Land, changed: Mapping[str, gpd.GeoDataFrame]) -> Land:
    """Return the land after its changed layers were written into land.gpkg, or nothing was.

    The file is copied, the copy changed, read back and checked, and put in the file's place; the
    file as it was is kept in ``earlier``. Only cells that differ are written. A layer that lay in
    another file is taken into land.gpkg with all that file holds of ours, and the file goes to
    ``earlier``.

    Parameters
    ----------
    home : path
        The property's folder.
    land : Land
        As it was opened or saved last.
    changed : mapping of str to GeoDataFrame
        Whole layers, in the system that `land` has them in. Rows go by their index.

    Raises
    ------
    LandChanged
        A file that holds a layer is not the one that was opened.
    InputError
        The land is open elsewhere with changes that are not saved, the folder cannot be written,
        the disk is full, or a layer cannot be written as it was meant. Nothing was changed then.

    References
    ----------
    own reasoning
    """
    home = Path(home)
    with _SAVING:
        _as_opened(home, land)
        target = _land_file(home)
        try:
            with _beside(home, target) as waiting:
                moving = _to_move(land, changed, target)
                layers = {n: land.layers[n] for n in LAYERS if land.where[n] in moving} | dict(
                    changed
                )
                written = _written(waiting, target, land, layers)
                _foreign_layers(home, moving, waiting)
                settled(waiting)
                _copied(home, moving, waiting)
                _as_opened(home, land)
                _replace(home, target, waiting)
        except OSError as cause:
            raise not_written(cause, target.name, home) from cause
        except (sqlite3.Error, DataSourceError) as cause:
            words = f"{target.name} was not saved: {cause}; the file is as it was"
            raise InputError([words], target.name) from cause
        with contextlib.suppress(OSError):  # else at the next opening
            _settle(home)
        return land.replace(
            layers=land.layers | {name: layer for name, (layer, _) in written.items()},
            columns=land.columns | {name: named for name, (_, named) in written.items()},
            where=land.where | dict.fromkeys(layers, target.name),
            stamp=stamp_of(home),
        )


def _as_opened(home: Path, land: Land) -> None:
    """Check that no other program changed the land, or is about to."""
    held = [p for p in home.iterdir() if p.name.lower() in WAITING and p.stat().st_size > 0]
    if held or _open_elsewhere(home):
        beside = f" ({held[0].name} lies beside it)" if held else ""
        raise InputError(
            [f"{LAND} is open in another program that may hold changes that are not saved{beside}; "
             "save and close it there"], LAND,
        )  # fmt: skip
    if stamp_of(home) != land.stamp:
        raise LandChanged(
            [f"the land in {home.name} was changed by another program; it was not saved over"],
            home.name,
        )


def _open_elsewhere(home: Path) -> bool:
    """Return whether a program that writes ahead holds the land file open.

    Such a program leaves an empty file beside it; what it writes there later would be taken for
    the new file's. What a program that is gone left lying is taken away.
    """
    target = _land_file(home)
    beside = [path for path in home.iterdir() if path.name.lower() in AHEAD]
    if not beside or not target.exists():
        return False
    con = sqlite3.connect(target, timeout=0.0, isolation_level=None)
    try:
        con.execute("PRAGMA locking_mode = EXCLUSIVE")
        con.execute("BEGIN EXCLUSIVE")
        con.execute("ROLLBACK")
    except sqlite3.OperationalError:
        return True
    finally:
        con.close()
    return False


def _replace(home: Path, target: Path, waiting: Path) -> None:
    """Keep the land file as it is now and put the new one in its place, or do neither."""
    version = keep_version(home, target)
    try:
        put_in_place(waiting, target)
    except OSError:
        if version is not None:  # it would be a second name of the file that stays
            (home / FOLDER / version).unlink(missing_ok=True)
        raise


def _land_file(home: Path) -> Path:
    """Return the land file, in whatever letters the owner wrote it."""
    same = [path for path in home.iterdir() if path.name.lower() == LAND]
    return same[0] if same else home / LAND


@contextlib.contextmanager
def _beside(home: Path, target: Path) -> Iterator[Path]:
    """Give a place for the new land file, with a copy of the old one in it; it goes afterwards."""
    with tempfile.TemporaryDirectory(prefix=NEW, dir=home) as folder:
        waiting = Path(folder) / LAND
        if target.exists():
            shutil.copyfile(target, waiting)
        yield waiting


def _to_move(land: Land, changed: Mapping[str, object], target: Path) -> list[str]:
    """Return the files whose layers are taken into the land file."""
    files = {land.where[name] for name in changed}
    return sorted(name for name in files if name and name != target.name)


def _written(
    waiting: Path, target: Path, land: Land, layers: Mapping[str, gpd.GeoDataFrame]
) -> dict[str, tuple[gpd.GeoDataFrame, dict[str, str]]]:
    """Return layers as they were read back after they were written into the copy."""
    tables: dict[str, tuple[str, gpd.GeoDataFrame, dict[str, str]]] = {}
    for name, layer in layers.items():
        if land.where[name] and layer.crs != land.layers[name].crs:
            raise ValueError(f"{name} is in another system than the land")
        source = in_file(waiting, name) if waiting.exists() else None
        if source is None:
            add_table(waiting, name, layer)
            tables[name] = (name, layer.iloc[:0], {})
            continue
        if len(source.layers) != 1:
            raise InputError([f"{target.name} holds {name} twice; keep one of them"], name)
        if land.where[name] == target.name:
            tables[name] = (source.layers[0], land.layers[name], land.columns.get(name, {}))
        else:  # one that the layer in a file of its own was read instead of
            tables[name] = (source.layers[0], *layer_of(source, name))
    con = sqlite3.connect(waiting, isolation_level=None)
    try:
        con.execute("PRAGMA journal_mode = MEMORY")  # a copy: it is dropped when this fails
        con.execute("PRAGMA synchronous = OFF")
        teach_shapes(con)
        con.execute("BEGIN")
        meant = {n: numbered(old, layers[n], n) for n, (_, old, _) in tables.items()}
        for name, (table, old, named) in tables.items():
            write_rows(con, table, name, (old, meant[name]), named)
        con.execute("COMMIT")
    finally:
        con.close()
    return {
        name: _read_back(Source(waiting, (table,)), name, meant[name], target)
        for name, (table, _, _) in tables.items()
    }


def _read_back(
    source: Source, name: str, meant: gpd.GeoDataFrame, target: Path
) -> tuple[gpd.GeoDataFrame, dict[str, str]]:
    """Return a layer as it stands in the copy, once it says what was meant."""
    found, named = layer_of(source, name)
    same = found.index.equals(pd.Index(meant.index))
    wrong = [] if same else ["the rows"]
    for column in () if wrong else map(str, meant.columns):
        blank = pd.Series(np.full(len(meant), None), dtype=object)
        cells = found.get(column, blank)
        if said_otherwise(meant[column], cells).any():
            wrong.append(column)
    if wrong:
        raise InputError(
            [f"{target.name} was not saved: {', '.join(wrong)} of {name} cannot be kept in it as "
             "they are; the file is as it was"], name,
        )  # fmt: skip
    order = [column for column in meant.columns if column in found]
    return found[[*order, *(c for c in found.columns if c not in order)]], named


def _foreign_layers(home: Path, moving: list[str], waiting: Path) -> None:
    """Take the layers of a moved land file that are none of ours along, where the name is free."""
    for name in moving:
        path = home / name
        if path.name.lower() not in ("land.kml", "land.kmz"):
            continue
        ours = {each for layer in LAYERS if (held := in_file(path, layer)) for each in held.layers}
        there = {layer.lower() for layer in listed(waiting)}
        for layer in listed(path):
            if layer not in ours and layer.lower() not in there:
                with contextlib.suppress(InputError):  # a folder without shapes
                    frame = open_layer(Source(path, (layer,)))
                    pyogrio.write_dataframe(frame, waiting, layer=layer, driver="GPKG")


def _copied(home: Path, moving: list[str], waiting: Path) -> None:
    """Copy files to ``earlier`` and note which are on their way, and into which new file."""
    if not moving:
        return
    folder = home / FOLDER
    folder.mkdir(exist_ok=True)
    copies = {
        path.name: _copy_of(path, folder).name
        for file in moving
        for path in _with_companions(home / file)
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


def _with_companions(path: Path) -> list[Path]:
    """Return a file with what belongs to it: the other files of a Shapefile."""
    if ending_of(path) != "shp":
        return [path]
    stem = path.stem.lower()
    beside = [
        each for each in path.parent.iterdir()
        if each.stem.lower() == stem and ending_of(each) in (*COMPANIONS, *INDEXES)
    ]  # fmt: skip
    return [path, *sorted(beside)]


def _settle(home: Path) -> None:
    """Finish or forget a move that was cut off, and take away what a save left lying."""
    for left in home.glob(f"{NEW}*"):
        if time.time() - left.stat().st_mtime > LEFT_S:
            shutil.rmtree(left, ignore_errors=True)
    note = home / FOLDER / MOVING
    if not note.exists():
        return
    told: dict[str, object] = {}
    with contextlib.suppress(ValueError):
        told = json.loads(note.read_text(encoding="utf-8"))
    target, copies = _land_file(home), told.get("copies")
    if target.exists() and isinstance(copies, dict) and target.stat().st_ino == told.get("into"):
        for file, copy in copies.items():
            original, kept = home / file, home / FOLDER / copy
            if original.exists() and kept.exists() and cmp(original, kept, shallow=False):
                original.unlink()
        settled(home)
    note.unlink()
