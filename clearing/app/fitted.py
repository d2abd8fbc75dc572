"""Fit what was drawn to what lies beside it: in metres, and every known corner back to the bit."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import geopandas as gpd
import shapely

from clearing import land
from clearing.app.asked import Refused, Wanted, next_id
from clearing.app.board import DEGREES, Board, Row, called, own_id
from clearing.app.forms import WORD
from clearing.land import fitting, parting
from clearing.land.corners import Corners
from clearing.tables import cell_text

AREA_LAYERS = ("blocks", "strips")


@dataclass(frozen=True)
class Fits:
    """The rows of a stroke as they fit, neighbours that got corners, and what cleaning changed.

    ``as_drawn`` holds the drawn shapes of rows that changed in the cleaning; ``cleaned`` a dict
    (words, area, shape in degrees) for each change.
    """

    rows: tuple[Row, ...]
    neighbours: tuple[Row, ...] = ()
    as_drawn: Mapping[str, Any] = None  # type: ignore[assignment]
    cleaned: tuple[dict[str, Any], ...] = ()


def fit(board: Board, wanted: Sequence[Wanted], us: bool) -> Fits:
    """Return the shapes of a stroke fitted to the blocks or strips beside them.

    Raises
    ------
    Refused
        A shape that nothing could be made of, and what to do.

    References
    ----------
    own reasoning
    """
    drawn = [each.row for each in wanted if each.drawn and each.row.layer in AREA_LAYERS]
    if not drawn:
        return Fits(tuple(each.row for each in wanted), as_drawn={})
    layers = {row.layer for row in drawn}
    if len(layers) > 1:
        raise Refused("draw blocks and strips in strokes of their own")
    rows = {each.row.uid: each.row for each in wanted}
    layer = layers.pop()
    if layer == "strips":
        found = _fit_strips(board, drawn)
    else:
        ground = _Ground(board, layer, drawn)
        found = ground.fit(drawn)
    fits, neighbours, changes, metres = found
    as_drawn = {}
    for uid, row in fits.items():
        if not row.shape.equals_exact(rows[uid].shape, 0.0):
            as_drawn[uid] = rows[uid].shape
        rows[uid] = row
    cleaned = tuple(
        {"words": change.words, "id": change.id,
         "area": land.area_words(abs(change.area_m2), us),
         "shape": shapely.geometry.mapping(metres.to_degrees(change.where))}
        for change in changes
    )  # fmt: skip
    return Fits(tuple(rows.values()), tuple(neighbours), as_drawn if cleaned else {}, cleaned)


class _Ground:
    """One layer of areas in metres, by what the owner calls each."""

    def __init__(self, board: Board, layer: str, drawn: Sequence[Row]) -> None:
        self.board, self.layer, self.word = board, layer, WORD[layer]
        crs = board.crs(layer)
        self.rows = {row.uid: row for row in board.of(layer)} | {row.uid: row for row in drawn}
        shapes = [row.shape for row in self.rows.values() if row.shape is not None]
        self.grid = land.local_grid(gpd.GeoDataFrame(geometry=shapes, crs=crs))
        self.metres = Corners(crs, self.grid)
        names = [own_id(row) for row in self.rows.values()]
        self.uids = {
            name if name and names.count(name) == 1 else uid: uid
            for (uid, _), name in zip(self.rows.items(), names, strict=True)
        }
        self.names = {uid: name for name, uid in self.uids.items()}

    def shapes(self, uids: Sequence[str]) -> dict[str, Any]:
        """Return shapes in metres by name; what has no shape is left out."""
        held = [uid for uid in uids if self.rows[uid].shape is not None]
        return {self.names[uid]: self.metres.there(self.rows[uid].shape) for uid in held}

    def others(self, uids: Sequence[str]) -> dict[str, Any]:
        """Return the other shapes of the layer in metres."""
        return self.shapes([uid for uid in self.rows if uid not in set(uids)])

    def row(self, name: str, shape: Any) -> Row:
        """Return a row with a new shape given in metres."""
        row = self.rows[self.uids[name]]
        bumped = row.version + 1 if row.uid in self.board.rows else row.version
        return replace(row, shape=self.metres.back(shape), version=bumped)

    def to_degrees(self, shape: Any) -> Any:
        """Return a shape in metres as degrees."""
        return Corners(self.grid, DEGREES).there(shape)

    def fit(self, drawn: Sequence[Row]) -> tuple[dict[str, Row], list[Row], Any, "_Ground"]:
        """Return fitted rows, neighbours with new corners, the changes, and the ground itself."""
        uids = [row.uid for row in drawn]
        found = _or_refused(fitting.fit_areas, self.shapes(uids), self.others(uids), self.word)
        rows = {self.uids[name]: replace(self.rows[self.uids[name]], shape=self.metres.back(shape))
                for name, shape in found.shapes.items()}  # fmt: skip
        beside = [self.row(name, shape) for name, shape in found.neighbours.items()]
        return rows, beside, found.changes, self


def _fit_strips(board: Board, drawn: Sequence[Row]) -> tuple[dict[str, Row], list[Row], Any, Any]:
    """Return own strips cut to their block and to each other, each with its block's number."""
    if not board.of("blocks"):
        raise Refused("a strip is a part of a block; draw the block first")
    ground = _Ground(board, "strips", drawn)
    blocks = _Ground(board, "blocks", [])
    move = Corners(board.crs("blocks"), ground.grid)
    by_id = {name: move.there(row.shape) for name, uid in blocks.uids.items()
             if (row := blocks.rows[uid]).shape is not None}  # fmt: skip
    rows: dict[str, Row] = {}
    beside: dict[str, Row] = {}
    changes: list[Any] = []
    for row in drawn:
        name = ground.names[row.uid]
        others = ground.others([each.uid for each in drawn])
        shape = ground.shapes([row.uid])[name]
        block, found = _or_refused(fitting.fit_strip, name, shape, others, by_id)
        cells = row.own | {"block_id": block}
        rows[row.uid] = replace(row, shape=ground.metres.back(found.shapes[name]), own=cells)
        beside |= {ground.uids[n]: ground.row(n, s) for n, s in found.neighbours.items()}
        changes += found.changes
    return rows, list(beside.values()), changes, ground


def split(board: Board, row: Row, line: list[list[float]]) -> dict[str, Row | None]:
    """Return the rows after a block or strip was split; the largest part keeps the number.

    Own strips of a block that was split go with the part that holds most of them, and are cut
    where they lie in both.

    References
    ----------
    own reasoning
    """
    if row.layer not in AREA_LAYERS:
        raise Refused(f"{called(row)} is no block or strip; only those are split")
    ground = _Ground(board, row.layer, [])
    way = Corners(DEGREES, ground.grid).there(shapely.LineString(line))
    name, layer = ground.names[row.uid], ground.shapes(list(ground.rows))
    parts, neighbours = _or_refused(parting.split_in_layer, name, way, layer, ground.word)
    after: dict[str, Row | None] = {row.uid: ground.row(name, parts[0])}
    ids = [own_id(each) for each in board.of(row.layer)]
    column = "block_id" if row.layer == "blocks" else "strip_id"
    for part in parts[1:]:
        number = next_id(ids)
        ids.append(number)
        cells = row.own | {column: number}
        new = board.new_row(row.layer, ground.metres.back(part), cells)
        after[new.uid] = new
    after |= {ground.uids[name]: ground.row(name, shape) for name, shape in neighbours.items()}
    if row.layer == "blocks":
        after |= _strips_of(board, row, [r for r in after.values() if r is not None])
    return after


def _strips_of(board: Board, block: Row, parts: Sequence[Row]) -> dict[str, Row | None]:
    """Return the own strips of a block after it was split into parts."""
    move = Corners(board.crs("blocks"), board.crs("strips"))
    grounds = {own_id(part): move.there(part.shape) for part in parts}
    ids = [own_id(strip) for strip in board.of("strips")]
    after: dict[str, Row | None] = {}
    for strip in board.of("strips"):
        if cell_text(strip.own.get("block_id")) != own_id(block):
            continue
        pieces = {name: strip.shape.intersection(ground) for name, ground in grounds.items()}
        pieces = {name: piece for name, piece in pieces.items()
                  if piece.area > strip.shape.area * SLIVER}  # fmt: skip
        largest = max(pieces, key=lambda name: pieces[name].area, default=own_id(block))
        for name, piece in pieces.items():
            whole = len(pieces) == 1
            shape = strip.shape if whole else _areas(piece)
            if name == largest:
                cells = strip.own | {"block_id": name}
                after[strip.uid] = replace(strip, own=cells, shape=shape, version=strip.version + 1)
                continue
            number = next_id(ids)
            ids.append(number)
            new = board.new_row("strips", shape, strip.own | {"block_id": name, "strip_id": number})
            after[new.uid] = new
    return after


SLIVER = 0.005  # of a strip: a smaller piece beyond the line is a slip of the hand; own choice


def _areas(shape: Any) -> Any:
    """Return the areas of a shape without loose lines and points."""
    parts = [part for part in shapely.get_parts(shape) if part.geom_type.endswith("Polygon")]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(
        [each for part in parts for each in shapely.get_parts(part)]
    )  # fmt: skip


def join(board: Board, rows: Sequence[Row]) -> dict[str, Row | None]:
    """Return the rows after two blocks or strips became one; the first keeps its number.

    References
    ----------
    own reasoning
    """
    if len(rows) != 2 or rows[0].layer != rows[1].layer or rows[0].layer not in AREA_LAYERS:
        raise Refused("two blocks, or two strips, can be joined")
    first, second = rows
    blocks = [cell_text(row.own.get("block_id")) for row in rows]
    if first.layer == "strips" and blocks[0] != blocks[1]:
        raise Refused(
            f"{called(first)} and {called(second)} lie in two blocks; a strip lies in one"
        )
    ground = _Ground(board, first.layer, [])
    name, other = ground.names[first.uid], ground.names[second.uid]
    layer = ground.shapes(list(ground.rows))
    shape, beside = _or_refused(parting.join_in_layer, name, other, layer, ground.word)
    after: dict[str, Row | None] = {first.uid: ground.row(name, shape), second.uid: None}
    after |= {ground.uids[n]: ground.row(n, s) for n, s in beside.items()}
    for strip in board.of("strips") if first.layer == "blocks" else []:
        if cell_text(strip.own.get("block_id")) == own_id(second):
            cells = strip.own | {"block_id": own_id(first)}
            after[strip.uid] = replace(strip, own=cells, version=strip.version + 1)
    return after


def _or_refused(work: Callable[..., Any], *given: Any) -> Any:
    """Return what a room of land makes of shapes; its refusal in the page's words."""
    try:
        return work(*given)
    except ValueError as cause:
        raise Refused(str(cause)) from cause
