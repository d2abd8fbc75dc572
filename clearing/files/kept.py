"""Keep the owner's layers: open them as they stand, and save changed ones whole or not at all."""

import contextlib
import os
import shutil
import sqlite3
import tempfile
import threading
from collections.abc import Iterator, Mapping
from itertools import chain
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from pyogrio.errors import DataSourceError

from clearing.errors import InputError
from clearing.files.cells import said_otherwise
from clearing.files.durable import not_written, put_in_place, settled
from clearing.files.held import alone, held_words, left_beside, recovered
from clearing.files.layers import Source, in_file
from clearing.files.moving import NEW, copied, finished, foreign_layers, to_move, with_companions
from clearing.files.standing import LAYERS, Land, layer_of, stamp_of, stamp_with, standing
from clearing.files.table_rows import Raw, add_table, numbered, teach_shapes, write_rows
from clearing.files.twice import told_on_the_page
from clearing.files.versions import FOLDER, drop_second_names, keep_version

__all__ = ["LAYERS", "Land", "LandChanged", "open_land", "save_land", "stamp_of"]

LAND = "land.gpkg"
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
        note = recovered(_land_file(home).resolve(), home / FOLDER)
        land = standing(home)
        twice = [told_on_the_page(source, name) for name, source in land.beside.items()]
        return land.replace(notes=(*([note] if note else []), *chain(*twice)))


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
        land = _in_order(home, land)
        _as_opened(home, land)
        target = _land_file(home)
        try:
            with _beside(home, target) as waiting:
                moving = to_move(land, changed, target)
                layers = {n: land.layers[n] for n in LAYERS if land.where[n] in moving} | dict(
                    changed
                )
                raw = dict(land.raw)
                written = _written(waiting, target, land, layers, raw)
                foreign_layers(home, moving, waiting)
                settled(waiting)
                copied(home, moving, waiting)
                stamp = _replace(home, land, waiting, moving)
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
            beside={n: source for n, source in land.beside.items() if n not in layers},
            stamp=stamp,
            raw=raw,
        )


def _in_order(home: Path, land: Land) -> Land:
    """Return the land without notes, or with one when what a program left was put in order.

    The rows are the same: they were read together with what lay beside the file.
    """
    if stamp_of(home) == land.stamp:
        note = recovered(_land_file(home).resolve(), home / FOLDER)
        if note:
            return land.replace(notes=(note,), stamp=stamp_of(home))
    return land.replace(notes=())


def _as_opened(home: Path, land: Land) -> None:
    """Check that no other program changed the land, or is about to."""
    target = _land_file(home)
    if left := left_beside(target) + left_beside(target.resolve()):
        raise held_words(LAND, left[0].name)
    if stamp_of(home) != land.stamp:
        raise LandChanged(
            [f"the land in {home.name} was changed by another program; it was not saved over"],
            home.name,
        )


def _replace(home: Path, land: Land, waiting: Path, moving: list[str]) -> str:
    """Return the land's new stamp, once the new file took the old one's place, or do nothing.

    The file is held from the last look at it until it is replaced. A link to it stays a link.
    """
    target = _land_file(home)
    version = keep_version(home, target)
    try:
        with alone(target.resolve()) as let_go:
            _as_opened(home, land)
            gone = {each.name for file in moving for each in with_companions(home / file)}
            stamp = stamp_with(land.stamp, {target.name: waiting}, gone)
            if os.name == "nt":  # there a file that is held cannot be replaced
                let_go()
            put_in_place(waiting, target.resolve())
    except BaseException:
        if version is not None:  # it would be a second name of the file that stays
            (home / FOLDER / version).unlink(missing_ok=True)
        raise
    return stamp


def _settle(home: Path) -> None:
    """Finish or forget what a save that was cut off left behind."""
    target = _land_file(home)
    finished(home, target)
    drop_second_names(home, target)


def _land_file(home: Path) -> Path:
    """Return the land file, in whatever letters the owner wrote it."""
    same = [path for path in home.iterdir() if path.name.lower() == LAND]
    return same[0] if same else home / LAND


@contextlib.contextmanager
def _beside(home: Path, target: Path) -> Iterator[Path]:
    """Give a place for the new land file, with a copy of the old one in it; it goes afterwards."""
    with tempfile.TemporaryDirectory(prefix=NEW, dir=target.resolve().parent) as folder:
        waiting = Path(folder) / LAND
        if target.exists():
            shutil.copyfile(target, waiting)
        yield waiting


def _written(
    waiting: Path, target: Path, land: Land, layers: Mapping[str, gpd.GeoDataFrame], raw: Raw
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
        cells = {
            name: write_rows(con, table, name, (old, meant[name]), named, raw)
            for name, (table, old, named) in tables.items()
        }
        con.execute("COMMIT")
    finally:
        con.close()
    return {
        name: _read_back(Source(waiting, (table,)), meant[name], (name, cells[name]), target)
        for name, (table, _, _) in tables.items()
    }


def _read_back(
    source: Source,
    meant: gpd.GeoDataFrame,
    written: tuple[str, Mapping[str, pd.Index]],
    target: Path,
) -> tuple[gpd.GeoDataFrame, dict[str, str]]:
    """Return a layer as it stands in the copy, once the cells that were written say what was meant.

    A cell that was not written stands in it as before, whatever the file itself made of it: what
    the file works out is the file's, and is not to be written over at the next save.
    """
    name, cells = written
    found, named = layer_of(source, name)
    same = found.index.equals(pd.Index(meant.index))
    wrong = [] if same else ["the rows"]
    for column in () if wrong else map(str, meant.columns):
        rows = cells[column]
        if column not in found:
            found_cells = pd.Series(np.full(len(rows), None), index=rows, dtype=object)
        else:
            found_cells = found[column].loc[rows]
        if said_otherwise(meant[column].loc[rows], found_cells).any():
            wrong.append(column)
        elif column in found and column != "geometry":
            found[column] = _unwritten_as_before(found[column], meant[column], rows)
    if wrong:
        raise InputError(
            [f"{target.name} was not saved: {', '.join(wrong)} of {name} cannot be kept in it as "
             "they are; the file is as it was"], name,
        )  # fmt: skip
    order = [column for column in meant.columns if column in found]
    return found[[*order, *(c for c in found.columns if c not in order)]], named


def _unwritten_as_before(found: pd.Series, meant: pd.Series, written: pd.Index) -> pd.Series:
    """Return cells as found, but those that were not written and differ as they were meant."""
    others = found.index.difference(written)
    apart = others[said_otherwise(meant.loc[others], found.loc[others])]
    if len(apart):
        found = found.astype(object)
        found.loc[apart] = meant.loc[apart]
    return found
