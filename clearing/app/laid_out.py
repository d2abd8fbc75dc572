"""Lay one layer of areas out in metres, by what the owner calls each, corners known to the bit."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import geopandas as gpd
import shapely
from pyproj import CRS

from clearing import land
from clearing.app.asked import Refused
from clearing.app.board import DEGREES, Board, Row, own_id
from clearing.app.forms import WORD
from clearing.land import fitting
from clearing.land.corners import Corners


class Ground:
    """One layer of areas in metres, by what the owner calls each; odd shapes are left out.

    Parameters
    ----------
    board : Board
        All shapes.
    layer : str
        blocks or strips.
    rows : sequence of Row
        Rows that are not as the board has them, or not in it yet; of other layers none count.
    """

    def __init__(self, board: Board, layer: str, rows: Sequence[Row]) -> None:
        self.board, self.layer, self.word = board, layer, WORD[layer]
        crs = board.crs(layer)
        self.rows = {row.uid: row for row in board.of(layer)}
        self.rows |= {row.uid: row for row in rows if row.layer == layer}
        self.sound = [uid for uid, row in self.rows.items() if not board.wrong(row)]
        shapes = [self.rows[uid].shape for uid in self.sound]
        drawn = gpd.GeoDataFrame(geometry=shapes, crs=crs)
        self.grid = land.local_grid(drawn) if shapes else CRS(DEGREES)
        self.metres = Corners(crs, self.grid)
        names = [own_id(row) for row in self.rows.values()]
        self.uids = {
            name if name and names.count(name) == 1 else uid: uid
            for (uid, _), name in zip(self.rows.items(), names, strict=True)
        }
        self.names = {uid: name for name, uid in self.uids.items()}
        self._ways: dict[str, Corners] = {}

    def shapes(self, uids: Sequence[str]) -> dict[str, Any]:
        """Return shapes in metres by name; odd ones are left out."""
        sound = set(self.sound)
        held = [uid for uid in uids if uid in sound]
        return {self.names[uid]: self.metres.there(self.rows[uid].shape) for uid in held}

    def others(self, uids: Sequence[str]) -> dict[str, Any]:
        """Return the other shapes of the layer in metres."""
        mine = set(uids)
        return self.shapes([uid for uid in self.rows if uid not in mine])

    def of_another(self, row: Row) -> Any:
        """Return the shape of another layer in metres; its corners are known from then on."""
        way = self._ways.setdefault(
            row.layer, Corners(self.board.crs(row.layer), self.board.crs(self.layer))
        )
        return self.metres.there(way.there(row.shape))

    def row(self, name: str, shape: Any) -> Row:
        """Return a row with a new shape given in metres."""
        row = self.rows[self.uids[name]]
        bumped = row.version + 1 if row.uid in self.board.rows else row.version
        return replace(row, shape=self.metres.back(shape), version=bumped)

    def to_degrees(self, shape: Any) -> Any:
        """Return a shape in metres as degrees."""
        return Corners(self.grid, DEGREES).there(shape)

    def fit(self, drawn: Sequence[Row]) -> tuple[dict[str, Row], dict[str, Row], list[Any]]:
        """Return fitted rows, neighbours with new corners, and the changes."""
        uids = [row.uid for row in drawn]
        found = self.asked(fitting.fit_areas, self.shapes(uids), self.others(uids), self.word)
        rows = {self.uids[name]: replace(self.rows[self.uids[name]], shape=self.metres.back(shape))
                for name, shape in found.shapes.items()}  # fmt: skip
        beside = {self.uids[n]: self.row(n, shape) for n, shape in found.neighbours.items()}
        return rows, beside, [self.said(change) for change in found.changes]

    def asked(self, work: Callable[..., Any], *given: Any) -> Any:
        """Return what a room of land makes of shapes; its refusal in the owner's words."""
        try:
            return work(*given)
        except shapely.errors.GEOSException as cause:
            raise Refused(
                f"the outline of a {self.word} here crosses itself; draw it anew first"
            ) from cause
        except ValueError as cause:
            words = str(cause)
            why = [self.why(uid) for uid in self._nameless() if uid in words]
            raise Refused("; ".join(dict.fromkeys([self._told(words), *why]))) from cause

    def said(self, change: Any) -> Any:
        """Return a change in the owner's words."""
        return replace(change, words=self._told(change.words), id=self._told(change.id))

    def why(self, uid: str) -> str:
        """Return why a row is not called by its number: it has none, or another has the same."""
        number = own_id(self.rows[uid])
        if not number:
            return f"a {self.word} here has no number; give it one first"
        return f"two {self.layer} are called {number}; give one of them another number"

    def _nameless(self) -> list[str]:
        """Return the rows that have no number of their own, longest names first."""
        return sorted((uid for uid, name in self.names.items() if name == uid), key=len)[::-1]

    def _told(self, words: str) -> str:
        """Return a sentence with the owner's numbers in it, and none of the page's names."""
        for uid in self._nameless():
            words = words.replace(uid, own_id(self.rows[uid]) or "without a number")
        return words
