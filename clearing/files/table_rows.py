"""Write changed rows into a table of a GeoPackage: only the cells that differ, all else stays.

A map program's way is to write a layer anew. That would lose what a table may hold beside plain
cells: types and limits of columns, rules, links of other tables to its rows. So cells are written
one by one, in SQL, as the OGC GeoPackage standard (12-128r18) lays a table out.
"""

import sqlite3
import struct
from collections.abc import Sequence
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely
from shapely.geometry.base import BaseGeometry

from clearing.files.cells import WHOLE, column_type, differing, fitting_type, stored
from clearing.tables import cell_text, column_file

WORDS = {
    "POINT": "Point", "LINESTRING": "LineString", "POLYGON": "Polygon",
    "MULTIPOINT": "MultiPoint", "MULTILINESTRING": "MultiLineString",
    "MULTIPOLYGON": "MultiPolygon",
}  # fmt: skip
ANY = "GEOMETRY"
WORKED_OUT = (2, 3)  # how SQLite marks a column that it computes
FAR = -(2**62)  # no cell of the owner's: held for a moment while two cells swap; own choice
Raw = dict[tuple[str, int, bytes], bytes]


def add_table(path: Path, name: str, layer: gpd.GeoDataFrame) -> None:
    """Return nothing; add an empty table for a layer to a GeoPackage (made where missing).

    Columns in which nothing stands are left out unless they must be there.

    References
    ----------
    own reasoning
    """
    described = column_file(name).set_index("column")
    needed = set(described.index[described["required"] == "yes"])
    empty = {}
    for column in map(str, layer.columns):
        filled = any(cell_text(cell) for cell in layer[column]) if column != "geometry" else False
        if column == "geometry" or not (filled or column in needed):
            continue
        kind = column_type(layer[column], described["kind"].get(column))
        empty[column] = pd.Series(dtype={"INTEGER": "Int64", "REAL": "float64"}.get(kind, "object"))
    frame = gpd.GeoDataFrame(empty, geometry=gpd.GeoSeries([], crs=layer.crs))
    types = set(layer.geom_type.dropna())
    known = types <= set(WORDS.values())
    names = {column.lower() for column in empty}
    pyogrio.write_dataframe(
        frame, path, layer=name, driver="GPKG",
        geometry_type=types.pop() if len(types) == 1 and known else "Unknown",
        layer_options={
            "FID": _free("fid", names), "GEOMETRY_NAME": _free("geom", names),
        },
    )  # fmt: skip


def write_rows(
    con: sqlite3.Connection,
    table: str,
    name: str,
    layers: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame],
    named: dict[str, str],
    raw: Raw,
) -> dict[str, pd.Index]:
    """Return which rows of each column were written, once a table holds a layer's rows.

    Only what differs is written, and never a cell that the file works out by itself. A new row is
    written whole, so that what a column holds by default is there where nothing is given.

    Parameters
    ----------
    con : Connection
        In a transaction.
    table : str
        The table's name in the file.
    name : str
        Which layer it is, such as ``blocks``.
    layers : (GeoDataFrame, GeoDataFrame)
        As it stands in the table, and as it shall be. Rows go by their index, see `numbered`.
    named : dict
        Our name of a column -> the table's.
    raw : dict
        (layer, row, flat shape as WKB) -> the shape as the file held it. What this save writes
        over is added; a shape that comes back gets what it was, heights and all.

    Raises
    ------
    sqlite3.Error
        The file does not allow it.

    References
    ----------
    own reasoning; OGC 12-128r18 (GeoPackage), clauses 2.1.3 to 2.1.6
    """
    old, new = layers
    sheet = _Sheet(con, table)
    added = new.index.difference(old.index)
    kept = new.index.intersection(old.index)
    moved = kept[differing(old.geometry.loc[kept], new.geometry.loc[kept])]
    gone = old.index.difference(new.index)
    sheet.keep_shapes(name, old.geometry.loc[gone.union(moved)], raw)
    con.executemany(
        f"DELETE FROM {sheet.table} WHERE {sheet.number} = ?", [(int(n),) for n in gone]
    )
    described = column_file(name).set_index("column")["kind"]
    fresh: dict[int, dict[str, object]] = {int(number): {} for number in added}
    written = {}
    for column in map(str, new.columns):
        cells, theirs = new[column], named.get(column, column)
        values: list[object]
        if column == new.geometry.name:
            rows = moved.append(added)
            theirs, whole = sheet.shape, False
            values = sheet.shapes_for(name, cells.loc[rows], raw)
        else:
            changed = kept
            if column in old:
                changed = kept[differing(old[column].loc[kept], cells.loc[kept])]
            filled = added[[cell_text(cell) != "" for cell in cells.loc[added]]]
            rows = changed.append(filled)
            theirs, values, whole = sheet.cells_for(theirs, cells.loc[rows], described.get(column))
        written[column] = new.index if whole else rows
        if theirs not in sheet.types:  # nothing stands in it
            continue
        if theirs in sheet.worked_out:
            written[column] = rows.intersection(kept)
            continue
        by_row = dict(zip(map(int, rows), values, strict=True))
        for number in by_row.keys() & fresh.keys():
            fresh[number][theirs] = by_row.pop(number)
        sheet.change(theirs, by_row)
    for column in set(map(str, old.columns)) - set(map(str, new.columns)):
        sheet.change(named.get(column, column), dict.fromkeys(map(int, kept)))
    sheet.add(fresh)
    sheet.tell_extent(new.total_bounds)
    return written


def numbered(old: gpd.GeoDataFrame, new: gpd.GeoDataFrame, name: str) -> gpd.GeoDataFrame:
    """Return a layer indexed by row numbers that a table can have: from 1, in order.

    An index that can be kept is kept. Else each row gets the number of the row of old that has
    the same id (in a layer without ids: the same shape), as far as the order allows it.

    Parameters
    ----------
    old, new : GeoDataFrame
        As the table holds the layer, and as it shall.
    name : str
        Which layer it is, such as ``blocks``.

    References
    ----------
    own reasoning
    """
    index = new.index
    whole = pd.api.types.is_integer_dtype(index) and index.is_unique
    if whole and index.is_monotonic_increasing and (not len(index) or index[0] >= 1):
        return new
    known: dict[object, int] = {}
    for number, key in zip(old.index, _keys(old, name), strict=True):
        known.setdefault(key, int(number))
    meant = [known.pop(key, None) for key in _keys(new, name)]
    out, last = [], 0
    for number in meant:  # a new row takes the number after the one before it
        last = last + 1 if number is None else number
        out.append(last)
    numbers = pd.Index(out, dtype="int64")
    if not (numbers.is_unique and numbers.is_monotonic_increasing):
        numbers = pd.RangeIndex(1, len(new) + 1)
    return new.set_axis(numbers)


def _keys(layer: gpd.GeoDataFrame, name: str) -> list[object]:
    """Return what each row is known by: its id, else its shape."""
    described = column_file(name)
    ids = described.loc[described["kind"] == "id", "column"]
    shapes = shapely.to_wkb(layer.geometry.to_numpy())
    own = layer[ids.iloc[0]].map(cell_text) if len(ids) and ids.iloc[0] in layer else None
    if own is None:
        return list(shapes)
    return [text or shape for text, shape in zip(own, shapes, strict=True)]


def teach_shapes(con: sqlite3.Connection) -> None:
    """Return nothing; give a connection the functions that a spatial index asks for.

    References
    ----------
    own reasoning; OGC 12-128r18 (GeoPackage), annex F.3
    """
    for place, function in enumerate(("ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY")):
        con.create_function(
            function, 1, lambda blob, place=place: _bounds(blob)[place], deterministic=True
        )
    con.create_function("ST_IsEmpty", 1, lambda blob: int(_bounds(blob)[0] is None))


class _Sheet:
    """One table of a GeoPackage that is written to."""

    def __init__(self, con: sqlite3.Connection, table: str) -> None:
        self.con, self.name, self.table = con, table, _quoted(table)
        facts = con.execute(f"PRAGMA table_xinfo({self.table})").fetchall()
        self.types = {row[1]: str(row[2]).upper() for row in facts}
        self.worked_out = {row[1] for row in facts if row[6] in WORKED_OUT}
        self.must = {row[1] for row in facts if row[3]}  # cells that are never blank
        numbers = [row[1] for row in facts if row[5] == 1 and str(row[2]).upper() == "INTEGER"]
        if not numbers:
            raise sqlite3.OperationalError("the layer's rows have no numbers")
        self.number = _quoted(numbers[0])
        self.shape, self.kind, self.system, self.z, self.m = con.execute(
            "SELECT column_name, geometry_type_name, srs_id, z, m FROM gpkg_geometry_columns "
            "WHERE lower(table_name) = lower(?)", (table,),
        ).fetchone()  # fmt: skip
        self.kind = str(self.kind).upper()
        indexes = con.execute(f"PRAGMA index_list({self.table})").fetchall()
        self.single = {
            row[2] for index in indexes if index[2]
            for row in con.execute(f"PRAGMA index_info({_quoted(index[1])})") if row[2]
        }  # fmt: skip

    def cells_for(
        self, column: str, cells: pd.Series, kind: str | None
    ) -> tuple[str, list[object], bool]:
        """Return the table's name of a column, cells as it stores them, and whether all changed.

        The column is added, or given another type, where it must be.
        """
        same = [own for own in self.types if own.lower() == column.lower()]
        column = same[0] if same else column
        if column in self.worked_out:
            return column, list(cells), False
        if column not in self.types:
            if not any(cell_text(cell) for cell in cells):
                return column, [None] * len(cells), False
            self.types[column] = column_type(cells, kind)
            self.con.execute(
                f"ALTER TABLE {self.table} ADD COLUMN {_quoted(column)} {self.types[column]}"
            )
        wanted = fitting_type(cells, self.types[column])
        whole = wanted != self.types[column]
        if whole:
            self._retype(column, wanted)
            self.types[column] = wanted
        return column, [stored(cell, wanted) for cell in cells], whole

    def keep_shapes(self, name: str, shapes: gpd.GeoSeries, raw: Raw) -> None:
        """Remember shapes that go, where a flat one would not be the same to the byte."""
        flat = shapes.to_numpy()
        for number, body, plain in zip(
            shapes.index, shapely.to_wkb(flat), _blobs(flat, self.system), strict=True
        ):
            found = self.con.execute(
                f"SELECT {_quoted(self.shape)} FROM {self.table} WHERE {self.number} = ?",
                (int(number),),
            ).fetchone()
            if found and found[0] is not None and body is not None and found[0] != plain:
                raw[name, int(number), body] = found[0]

    def shapes_for(self, name: str, shapes: gpd.GeoSeries, raw: Raw) -> list[object]:
        """Return shapes as the table holds them; one that takes one kind takes any if it must."""
        flat, own = shapes.to_numpy(), WORDS.get(self.kind)
        known = [
            raw.get((name, int(number), body)) if body else None
            for number, body in zip(shapes.index, shapely.to_wkb(flat), strict=True)
        ]
        if own and own.startswith("Multi"):
            flat = np.array([_several(shape, own) for shape in flat], dtype=object)
        new = [shape for shape, blob in zip(flat, known, strict=True) if blob is None]
        if own and {shape.geom_type for shape in new if shape is not None} - {own}:
            self._retype(self.shape, ANY)
            self.con.execute(
                "UPDATE gpkg_geometry_columns SET geometry_type_name = ? "
                "WHERE lower(table_name) = lower(?)", (ANY, self.name),
            )  # fmt: skip
        if new and 1 in (self.z, self.m):  # heights were a must: now they may be there
            self.con.execute(
                "UPDATE gpkg_geometry_columns SET z = min(2 * z, 2), m = min(2 * m, 2) "
                "WHERE lower(table_name) = lower(?)", (self.name,),
            )  # fmt: skip
        return [blob or flat for blob, flat in zip(known, _blobs(flat, self.system), strict=True)]

    def change(self, column: str, values: dict[int, object]) -> None:
        """Write cells of one column, by row; where each may be there but once, they may swap."""
        set_one = f"UPDATE {self.table} SET {_quoted(column)} = ? WHERE {self.number} = ?"
        if column in self.single and len(values) > 1:
            whole = self.types.get(column, "") in WHOLE
            self.con.executemany(set_one, [
                (None if column not in self.must else FAR - row if whole else f"\x7f{row}", row)
                for row in values
            ])  # fmt: skip
        self.con.executemany(set_one, [(value, row) for row, value in values.items()])

    def add(self, rows: dict[int, dict[str, object]]) -> None:
        """Add rows, each with the cells that hold something."""
        for number, cells in rows.items():
            given = {column: value for column, value in cells.items() if value is not None}
            names = ", ".join([self.number, *map(_quoted, given)])
            marks = ", ".join("?" * (1 + len(given)))
            self.con.execute(
                f"INSERT INTO {self.table} ({names}) VALUES ({marks})", (number, *given.values())
            )

    def tell_extent(self, bounds: Sequence[float]) -> None:
        """Write where the layer lies and that it changed."""
        ends = [float(end) if np.isfinite(end) else None for end in bounds]
        self.con.execute(
            "UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ?, last_change = "
            "strftime('%Y-%m-%dT%H:%M:%fZ', 'now') WHERE lower(table_name) = lower(?)",
            (*ends, self.name),
        )

    def _retype(self, column: str, kind: str) -> None:
        """Give a column another type: a new column takes its cells and then its name.

        What hangs on the table (the spatial index, the count of rows) is taken off and put back.
        """
        hung = self.con.execute(
            "SELECT type, name, sql FROM sqlite_master WHERE type IN ('trigger', 'index') "
            "AND lower(tbl_name) = lower(?) AND sql IS NOT NULL", (self.name,),
        ).fetchall()  # fmt: skip
        for what, called, _ in hung:
            self.con.execute(f"DROP {what} {_quoted(called)}")
        old, new = _quoted(column), _quoted(_free(f"{column}_new", {c.lower() for c in self.types}))
        cells = old
        if kind == "TEXT":  # 1.0 of a column of numbers is 1
            whole = f"{old} = CAST({old} AS INTEGER) AND typeof({old}) = 'real'"
            cells = f"CASE WHEN {whole} THEN CAST({old} AS INTEGER) ELSE {old} END"
            cells = f"CAST({cells} AS TEXT)"
        for step in (
            f"ALTER TABLE {self.table} ADD COLUMN {new} {kind}",
            f"UPDATE {self.table} SET {new} = {cells}",
            f"ALTER TABLE {self.table} DROP COLUMN {old}",
            f"ALTER TABLE {self.table} RENAME COLUMN {new} TO {old}",
            *(sql for _, _, sql in hung),
        ):
            self.con.execute(step)


def _quoted(name: str) -> str:
    """Return a name as SQL takes it."""
    return '"' + name.replace('"', '""') + '"'


def _free(name: str, taken: set[str]) -> str:
    """Return a name that no column has."""
    while name.lower() in taken:
        name += "_"
    return name


def _several(shape: BaseGeometry | None, kind: str) -> BaseGeometry | None:
    """Return a single shape as one of several where a table wants several."""
    if shape is None or f"Multi{shape.geom_type}" != kind:
        return shape
    return getattr(shapely, kind)([shape])


def _blobs(shapes: np.ndarray, system: int) -> list[bytes | None]:
    """Return shapes as a GeoPackage holds them: a head with the bounds, then well-known binary."""
    bodies = shapely.to_wkb(shapes, byte_order=1, flavor="iso", output_dimension=2)
    out: list[bytes | None] = []
    for shape, body, ends in zip(shapes, bodies, shapely.bounds(shapes), strict=True):
        if shape is None:
            out.append(None)
        elif shape.is_empty:
            out.append(struct.pack("<2sBBi", b"GP", 0, 0x11, system) + body)
        elif shape.geom_type == "Point":
            out.append(struct.pack("<2sBBi", b"GP", 0, 0x01, system) + body)
        else:
            west, south, east, north = ends
            head = struct.pack("<2sBBi4d", b"GP", 0, 0x03, system, west, east, south, north)
            out.append(head + body)
    return out


def _bounds(blob: bytes | None) -> tuple[float | None, ...]:
    """Return west, east, south, north of a shape in a GeoPackage; none of nothing."""
    nothing = (None, None, None, None)
    if blob is None or blob[:2] != b"GP" or blob[3] & 0x10:
        return nothing
    order = "<" if blob[3] & 1 else ">"
    kind = (blob[3] >> 1) & 7
    if kind:
        return struct.unpack_from(f"{order}4d", blob, 8)
    shape = shapely.from_wkb(blob[8:])
    if shape.is_empty:
        return nothing
    west, south, east, north = shape.bounds
    return west, east, south, north
