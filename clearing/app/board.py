"""Hold every drawn shape while the page is open, by a name that lasts, with the file's corners."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely
from pyproj import CRS

from clearing.app.forms import ID, LAYERS, WORD
from clearing.app.odd import wrong_with
from clearing.files.kept import Land
from clearing.land.corners import Corners
from clearing.report.names import FEATURES
from clearing.tables import cell_text

DEGREES = CRS("EPSG:4326")


@dataclass(frozen=True)
class Row:
    """One drawn shape: ``shape`` in the file's own coordinate system, ``own`` its cells.

    ``number`` is the row's in the file: a row that keeps it keeps whatever was not changed.
    """

    uid: str
    layer: str
    number: int
    version: int
    shape: shapely.Geometry
    own: dict[str, Any] = field(default_factory=dict)


class Board:
    """All drawn shapes of a place, by the name that the page knows them by.

    Rows are replaced, never changed; a row that is replaced gets the next version.

    Parameters
    ----------
    land : Land
        As it was opened.
    mark : str
        Stands in every name, so that the names of two sittings are never the same.
    named : int
        So many names were given before.
    """

    def __init__(self, land: Land, mark: str = "", named: int = 0) -> None:
        self.land, self.mark, self.named = land, mark, named
        self.rows: dict[str, Row] = {}
        self.systems = {layer: CRS(land.layers[layer].crs) for layer in LAYERS}
        known: dict[str, Corners] = {}  # layers of one system share what they know of corners
        self.corners = {
            layer: known.setdefault(crs.to_wkt(), Corners(crs, DEGREES))
            for layer, crs in self.systems.items()
        }
        self.last = dict.fromkeys(LAYERS, 0)
        for layer in LAYERS:
            frame = land.layers[layer]
            cells = pd.DataFrame(frame.drop(columns="geometry")).to_dict("records")
            for number, shape, own in zip(frame.index, frame.geometry, cells, strict=True):
                known = {name: _cell(value) for name, value in own.items()}
                row = self.new_row(layer, shape, known)
                self.rows[row.uid] = replace(row, number=int(number))
            self.last[layer] = max([0, *map(int, frame.index)])

    def goes_on_from(self, other: "Board") -> None:
        """Return nothing; no name or number that another board gave is given here."""
        self.named = max(self.named, other.named)
        self.last = {layer: max(self.last[layer], other.last[layer]) for layer in LAYERS}

    def wrong(self, row: Row) -> str:
        """Return what is wrong with a row's shape in the owner's words; blank where nothing is."""
        return wrong_with(row.shape, row.layer, self.systems[row.layer], called(row))

    def new_row(self, layer: str, shape: shapely.Geometry, own: dict[str, Any]) -> Row:
        """Return a row with a name and a number that no row has had yet; it is not put in."""
        self.named += 1
        self.last[layer] += 1
        name = "-".join(filter(None, (layer, self.mark, str(self.named))))
        return Row(name, layer, self.last[layer], 1, shape, own)

    def of(self, layer: str) -> list[Row]:
        """Return the rows of one layer, in the order of the file."""
        own = [row for row in self.rows.values() if row.layer == layer]
        return sorted(own, key=lambda row: row.number)

    def crs(self, layer: str) -> CRS:
        """Return the coordinate system of a layer's file."""
        return self.systems[layer]

    def frame(self, layer: str) -> gpd.GeoDataFrame:
        """Return one layer as a table to be kept: the file's columns first, cells as they stand.

        A cell that no stroke changed is the very object that was read, so that saving finds it
        the same and leaves it alone, whatever its kind.
        """
        rows, old = self.of(layer), self.land.layers[layer]
        columns = [name for name in old.columns if name != "geometry"]
        columns += sorted({name for row in rows for name in row.own} - set(columns))
        cells = {name: [row.own.get(name) for row in rows] for name in columns}
        index = pd.Index([row.number for row in rows], dtype="int64")
        table = pd.DataFrame(cells, columns=columns, index=index, dtype=object)
        shapes = gpd.GeoSeries([row.shape for row in rows], index=table.index, crs=old.crs)
        return gpd.GeoDataFrame(table, geometry=shapes, crs=old.crs)

    def degrees(self, row: Row) -> shapely.Geometry:
        """Return a row's shape in longitude and latitude."""
        return self.corners[row.layer].there(row.shape)

    def from_degrees(self, layer: str, shape: shapely.Geometry) -> shapely.Geometry:
        """Return a shape of the page in the layer's own system; known corners to the bit."""
        return self.corners[layer].back(shape)

    def shown(self, row: Row) -> dict[str, Any]:
        """Return a row as the page has it; what is wrong with a shape that cannot be shown."""
        wrong = self.wrong(row)
        shape = None if wrong else shapely.geometry.mapping(self.degrees(row))
        own = {name: cell_text(cell) for name, cell in row.own.items()}
        return {
            "uid": row.uid, "layer": row.layer, "v": row.version, "shape": shape,
            "own": {name: text for name, text in own.items() if text},
        } | ({"wrong": wrong} if wrong else {})  # fmt: skip

    def put(self, rows: Iterable[Row | None], gone: Iterable[str] = ()) -> None:
        """Return nothing; set rows by their names and take others out."""
        for uid in gone:
            self.rows.pop(uid, None)
        for row in rows:
            if row is not None:
                self.rows[row.uid] = row

    def taken_over(self, new: "Board") -> tuple["Board", int]:
        """Return a board that was read anew, named as this one, and how many shapes differ.

        A shape that is as it was keeps its name and version; one with the same number keeps its
        name. The new board must have been made with the names of this one counted on.
        """
        same: dict[tuple[Any, ...], list[str]] = {}
        by_id: dict[tuple[str, str], str] = {}
        for row in self.rows.values():
            same.setdefault(_print(row), []).append(row.uid)
            if own_id(row):
                by_id.setdefault((row.layer, own_id(row)), row.uid)
        as_it_was = {row.uid: twins.pop(0) for row in new.rows.values()
                     if (twins := same.get(_print(row)))}  # fmt: skip
        kept: dict[str, Row] = {}
        for row in new.rows.values():
            old = as_it_was.get(row.uid)
            named = by_id.get((row.layer, own_id(row)))
            if old is not None:
                kept[old] = replace(self.rows[old], number=row.number)
            elif named is not None and named not in kept and named not in as_it_was.values():
                kept[named] = replace(row, uid=named, version=self.rows[named].version + 1)
            else:
                kept[row.uid] = row
        changed = len(new.rows) - len(as_it_was)
        gone = len(self.rows.keys() - kept.keys())
        new.rows = kept
        new.goes_on_from(self)
        for layer, corners in self.corners.items():  # a corner the page has comes back to the bit
            if self.systems[layer] == new.systems[layer]:
                new.corners[layer] = corners
        return new, changed + gone


def own_id(row: Row) -> str:
    """Return the owner's own number of a shape, blank where its layer has none.

    References
    ----------
    own reasoning
    """
    return cell_text(row.own.get(ID[row.layer])) if row.layer in ID else ""


def called(row: Row) -> str:
    """Return what a shape is called in a sentence: block 2, tree T14, the creek.

    References
    ----------
    own reasoning
    """
    if row.layer in WORD:
        return f"{WORD[row.layer]} {own_id(row)}".strip()
    name = cell_text(row.own.get("name"))
    kind = cell_text(row.own.get("kind"))
    return name or FEATURES.get(kind, kind.replace("_", " ")) or "shape"


def _print(row: Row) -> tuple[Any, ...]:
    """Return what makes two rows the same shape with the same cells."""
    cells = tuple(sorted((k, t) for k, v in row.own.items() if (t := cell_text(v))))
    return row.layer, None if row.shape is None else shapely.to_wkb(row.shape), cells


def _cell(value: Any) -> Any:
    """Return a cell as it is kept: none for what is missing."""
    if isinstance(value, (list, tuple)) or not pd.api.types.is_scalar(value):
        return value
    return None if pd.isna(value) else value
