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

from clearing.files.cells import column_type, differing, fitting_type, stored
from clearing.tables import cell_text, column_file

WORDS = {
    "POINT": "Point", "LINESTRING": "LineString", "POLYGON": "Polygon",
    "MULTIPOINT": "MultiPoint", "MULTILINESTRING": "MultiLineString",
    "MULTIPOLYGON": "MultiPolygon",
}  # fmt: skip
ANY = "GEOMETRY"


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
) -> None:
    """Return nothing; make a table hold a layer's rows, writing only what differs.

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
    con.executemany(
        f"DELETE FROM {sheet.table} WHERE {sheet.number} = ?",
        [(int(number),) for number in old.index.difference(new.index)],
    )
    added = new.index.difference(old.index)
    kept = new.index.intersection(old.index)
    con.executemany(
        f"INSERT INTO {sheet.table} ({sheet.number}) VALUES (?)", [(int(n),) for n in added]
    )
    described = column_file(name).set_index("column")["kind"]
    for column in map(str, new.columns):
        cells = new[column]
        changed = kept
        if column in old:
            changed = kept[differing(old[column].loc[kept], cells.loc[kept])]
        rows = [*changed, *added]
        if column == new.geometry.name:
            sheet.put_shapes(rows, cells.loc[rows].to_numpy())
        else:
            sheet.put_cells(named.get(column, column), rows, cells.loc[rows], described.get(column))
    for column in set(map(str, old.columns)) - set(map(str, new.columns)):
        sheet.put_cells(named.get(column, column), list(kept), pd.Series(None, index=kept), None)
    sheet.tell_extent(new.total_bounds)


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
        facts = con.execute(f"PRAGMA table_info({self.table})").fetchall()
        self.types = {row[1]: str(row[2]).upper() for row in facts}
        numbers = [row[1] for row in facts if row[5] == 1 and str(row[2]).upper() == "INTEGER"]
        if not numbers:
            raise sqlite3.OperationalError("the layer's rows have no numbers")
        self.number = _quoted(numbers[0])
        self.shape, self.kind, self.system, self.z, self.m = con.execute(
            "SELECT column_name, geometry_type_name, srs_id, z, m FROM gpkg_geometry_columns "
            "WHERE lower(table_name) = lower(?)", (table,),
        ).fetchone()  # fmt: skip
        self.kind = str(self.kind).upper()

    def put_cells(
        self, column: str, rows: Sequence[int], cells: pd.Series, kind: str | None
    ) -> None:
        """Write cells of one column, which is added or given another type where it must be."""
        same = [own for own in self.types if own.lower() == column.lower()]
        column = same[0] if same else column
        if column not in self.types:
            if not any(cell_text(cell) for cell in cells):
                return
            self.types[column] = column_type(cells, kind)
            self.con.execute(
                f"ALTER TABLE {self.table} ADD COLUMN {_quoted(column)} {self.types[column]}"
            )
        wanted = fitting_type(cells, self.types[column])
        if wanted != self.types[column]:
            self._retype(column, wanted)
            self.types[column] = wanted
        values = [stored(cell, self.types[column]) for cell in cells]
        self._put(column, rows, values)

    def put_shapes(self, rows: Sequence[int], shapes: np.ndarray) -> None:
        """Write shapes; a table that was for one kind takes any where it must."""
        if not len(shapes):
            return
        own = WORDS.get(self.kind)
        if own and own.startswith("Multi"):
            shapes = np.array([_several(shape, own) for shape in shapes], dtype=object)
        if own and {shape.geom_type for shape in shapes if shape is not None} - {own}:
            self._retype(self.shape, ANY)
            self.con.execute(
                "UPDATE gpkg_geometry_columns SET geometry_type_name = ? "
                "WHERE lower(table_name) = lower(?)", (ANY, self.name),
            )  # fmt: skip
        if 1 in (self.z, self.m):  # heights were a must: now they may be there
            self.con.execute(
                "UPDATE gpkg_geometry_columns SET z = min(2 * z, 2), m = min(2 * m, 2) "
                "WHERE lower(table_name) = lower(?)", (self.name,),
            )  # fmt: skip
        self._put(self.shape, rows, _blobs(shapes, self.system))

    def tell_extent(self, bounds: Sequence[float]) -> None:
        """Write where the layer lies and that it changed."""
        ends = [float(end) if np.isfinite(end) else None for end in bounds]
        self.con.execute(
            "UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ?, last_change = "
            "strftime('%Y-%m-%dT%H:%M:%fZ', 'now') WHERE lower(table_name) = lower(?)",
            (*ends, self.name),
        )

    def _put(self, column: str, rows: Sequence[int], values: Sequence[object]) -> None:
        """Write values of one column."""
        self.con.executemany(
            f"UPDATE {self.table} SET {_quoted(column)} = ? WHERE {self.number} = ?",
            [(value, int(row)) for row, value in zip(rows, values, strict=True)],
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
