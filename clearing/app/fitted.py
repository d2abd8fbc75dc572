"""Fit what was drawn to what lies beside it: in metres, and every known corner back to the bit."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import shapely

from clearing import land
from clearing.app.asked import Refused, Wanted, next_id
from clearing.app.board import DEGREES, Board, Row, called, own_id
from clearing.app.laid_out import Ground
from clearing.land import fitting, parting
from clearing.land.corners import Corners
from clearing.land.mending import WORTH_SAYING_M2
from clearing.land.overlay import less, shared
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
    as_drawn: Mapping[str, Any] = field(default_factory=dict)
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
        return Fits(tuple(each.row for each in wanted))
    rows = {each.row.uid: each.row for each in wanted}
    blocks = [row for row in drawn if row.layer == "blocks"]
    fits: dict[str, Row] = {}
    neighbours: dict[str, Row] = {}
    found: list[tuple[Any, Ground]] = []
    if blocks:
        ground = Ground(board, "blocks", list(rows.values()))
        fits, neighbours, changes = ground.fit(blocks)
        found = [(change, ground) for change in changes]
    now = {row.uid: row for row in board.of("blocks")} | rows | fits | neighbours
    lie = {uid: row for uid, row in now.items() if row.layer == "blocks"}
    strips = [row for row in drawn if row.layer == "strips"]
    follow = _reaching_out(board, lie, {*fits, *neighbours}, rows)
    if strips or follow:
        held = [row for uid, row in rows.items() if row.layer == "strips"]
        ground = Ground(board, "strips", [*held, *follow])
        cut, beside, more = _fit_strips(ground, strips, follow, lie)
        fits, neighbours, found = fits | cut, neighbours | beside, found + more
    meant = rows | {row.uid: row for row in follow}
    as_drawn = {uid: meant[uid].shape for uid, row in fits.items()
                if not row.shape.equals_exact(meant[uid].shape, 0.0)}  # fmt: skip
    cleaned = tuple(
        {"words": change.words, "id": change.id,
         "area": land.area_words(abs(change.area_m2), us),
         "shape": shapely.geometry.mapping(metres.to_degrees(change.where))}
        for change, metres in found
    )  # fmt: skip
    kept = tuple((rows | fits).values())
    return Fits(kept, tuple(neighbours.values()), as_drawn if cleaned else {}, cleaned)


def _reaching_out(
    board: Board, blocks: Mapping[str, Row], moved: set[str], rows: Mapping[str, Row]
) -> list[Row]:
    """Return own strips that are not in the stroke and reach outside a block that moved."""
    ground = Ground(board, "strips", [])
    if not moved or not ground.sound:
        return []
    called_so = Counter(own_id(row) for row in blocks.values())
    homes = {}
    for uid in moved:
        old, new = own_id(board.rows.get(uid, blocks[uid])), own_id(blocks[uid])
        if called_so[new] == 1:
            homes[old] = new, ground.of_another(blocks[uid])
    follow = []
    for uid in ground.sound:
        row = ground.rows[uid]
        new, home = homes.get(cell_text(row.own.get("block_id")), ("", None))
        if uid in rows or home is None:
            continue
        if less(ground.metres.there(row.shape), home).area > WORTH_SAYING_M2:
            cells = row.own | {"block_id": new}
            follow.append(replace(row, own=cells, version=row.version + 1))
    return follow


def _fit_strips(
    ground: Ground, drawn: Sequence[Row], follow: Sequence[Row], blocks: Mapping[str, Row]
) -> tuple[dict[str, Row], dict[str, Row], list[tuple[Any, Ground]]]:
    """Return own strips cut to their block and to each other, neighbours, and what was cut.

    What was drawn gets the number of the block on which most of it lies; what follows stays on
    the block that it names.
    """
    lie = Ground(ground.board, "blocks", list(blocks.values()))
    if not lie.sound:
        raise Refused("a strip is a part of a block; draw the block first")
    by_id = {lie.names[uid]: ground.of_another(lie.rows[uid]) for uid in lie.sound}
    rows: dict[str, Row] = {}
    beside: dict[str, Row] = {}
    changes: list[tuple[Any, Ground]] = []
    for row in (*drawn, *follow):
        name = ground.names[row.uid]
        later = {each.uid for each in (*drawn, *follow)} - rows.keys()
        others = ground.others(sorted(later))
        home = cell_text(row.own.get("block_id"))
        homes = by_id if row in drawn else {home: by_id[home]}
        shape = ground.shapes([row.uid])[name]
        block, found = ground.asked(fitting.fit_strip, name, shape, others, homes)
        if block in lie.rows:  # of several blocks of one number it has no name
            raise Refused(lie.why(block))
        new = replace(row, shape=ground.metres.back(found.shapes[name]),
                      own=row.own | {"block_id": block})  # fmt: skip
        ground.rows[row.uid] = rows[row.uid] = new
        for other, theirs in found.neighbours.items():
            uid = ground.uids[other]
            if uid in rows:
                rows[uid] = replace(rows[uid], shape=ground.metres.back(theirs))
            else:
                beside[uid] = ground.row(other, theirs)
            ground.rows[uid] = replace(ground.rows[uid], shape=ground.metres.back(theirs))
        changes += [(ground.said(change), ground) for change in found.changes]
    return rows, beside, changes


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
    if wrong := board.wrong(row):
        raise Refused(wrong)
    ground = Ground(board, row.layer, [])
    way = Corners(DEGREES, ground.grid).there(shapely.LineString(line))
    name, layer = ground.names[row.uid], ground.shapes(list(ground.rows))
    parts, neighbours = ground.asked(parting.split_in_layer, name, way, layer, ground.word)
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
        if cell_text(strip.own.get("block_id")) != own_id(block) or board.wrong(strip):
            continue
        sound = strip.shape if strip.shape.is_valid else shapely.make_valid(strip.shape)
        pieces = {name: sound.intersection(ground) for name, ground in grounds.items()}
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
    if wrong := [said for row in rows if (said := board.wrong(row))]:
        raise Refused("; ".join(wrong))
    ground = Ground(board, first.layer, [])
    name, other = ground.names[first.uid], ground.names[second.uid]
    layer = ground.shapes(list(ground.rows))
    shape, beside = ground.asked(parting.join_in_layer, name, other, layer, ground.word)
    after: dict[str, Row | None] = {first.uid: ground.row(name, shape), second.uid: None}
    after |= {ground.uids[n]: ground.row(n, s) for n, s in beside.items()}
    for strip in board.of("strips") if first.layer == "blocks" else []:
        if cell_text(strip.own.get("block_id")) == own_id(second):
            cells = strip.own | {"block_id": own_id(first)}
            after[strip.uid] = replace(strip, own=cells, version=strip.version + 1)
    return after


def overlaps(board: Board, rows: Sequence[Row], us: bool) -> list[str]:
    """Return a sentence for each of these blocks or strips that lies over another one.

    Parameters
    ----------
    board : Board
        With the rows in it.
    rows : sequence of Row
    us : bool
        The owner speaks acres.

    References
    ----------
    own reasoning
    """
    notes: list[str] = []
    for layer in AREA_LAYERS:
        own = [row for row in rows if row.layer == layer]
        if not own:
            continue
        ground = Ground(board, layer, [])
        shapes = {uid: ground.metres.there(ground.rows[uid].shape) for uid in ground.sound}
        seen: set[str] = set()
        for row in own:
            seen.add(row.uid)
            for uid in shapes.keys() - seen if row.uid in shapes else ():
                area = shared(shapes[row.uid], shapes[uid]).area
                if area > WORTH_SAYING_M2:
                    notes.append(
                        f"{called(row)} and {called(ground.rows[uid])} lie over each other on "
                        f"{land.area_words(area, us)}; before a plan is made, settle which of "
                        "them has that ground"
                    )
    return sorted(notes)
