"""Fit a shape that was drawn to its neighbours: same corners, no gap, no overlap, and say so."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from clearing.land.mending import WORTH_SAYING_M2
from clearing.land.noding import (
    EXACT_M,
    corners_of,
    given_corners,
    made_equal,
    snapped,
    with_corners,
)
from clearing.land.overlay import areas_of, ground, less, shared
from clearing.land.parting import (
    join_areas,
    join_in_layer,
    split_area,
    split_in_layer,
)
from clearing.land.rings import RING_SHARE, is_crumb, mended_ring

__all__ = [
    "CORNER_M",
    "Change",
    "Fitted",
    "fit_areas",
    "fit_strip",
    "join_areas",
    "join_in_layer",
    "split_area",
    "split_in_layer",
]

CORNER_M = 0.5  # corners and edges this near are one; own choice, half of what mending may move
PIECE_M2 = 5.0  # a loose piece smaller than this is a slip of the hand; own choice
ROUNDS = 6  # of drawing together until nothing moves; two are the rule
Shapes = Mapping[str, BaseGeometry]


@dataclass(frozen=True)
class Change:
    """What fitting did to one drawn shape: in words, by how much, and where."""

    id: str
    words: str
    area_m2: float
    where: BaseGeometry


@dataclass(frozen=True)
class Fitted:
    """Drawn shapes as fitted, neighbours that got corners, and what is worth saying."""

    shapes: dict[str, BaseGeometry]
    neighbours: dict[str, BaseGeometry]
    changes: tuple[Change, ...]


def fit_areas(drawn: Shapes, others: Shapes, word: str = "block") -> Fitted:
    """Return drawn areas fitted to the rest of their layer; the neighbours keep their ground.

    The outline is mended, drawn to corners and edges of the others within `CORNER_M`, and cut to
    them. Along a shared boundary both then have the same corners to the bit. Several drawn areas
    are fitted one after another, the later to the earlier.

    Parameters
    ----------
    drawn : mapping of str to Polygon or MultiPolygon
        By name, in the grid [m].
    others : mapping of str to Polygon or MultiPolygon
        The rest of the layer.
    word : str
        What a row is to the owner: block or strip.

    Raises
    ------
    ValueError
        With a sentence: an outline that crosses itself by much, that has no ground inside, or
        that lies wholly on others.

    References
    ----------
    own reasoning
    """
    rest = {name: shape for name, shape in others.items() if name not in drawn}
    rest = {name: shape for name, shape in rest.items() if _is_area(shape)}
    shapes: dict[str, BaseGeometry] = {}
    changes: list[Change] = []
    for name in sorted(drawn):
        meant, found = _mended(drawn[name], name, word)
        around = {**rest, **shapes}
        shape = _fitted(meant, list(around.values()))
        if shape is None:
            raise ValueError(_covered(name, meant, around, word))
        changes += found + _changes(name, meant, shape, around, word)
        given = given_corners(around, shape)
        shapes |= {each: given[each] for each in shapes if each in given}
        rest |= {each: given[each] for each in rest if each in given}
        shapes[name] = shape
    neighbours = {n: s for n, s in rest.items() if s is not others[n]}
    return Fitted(shapes, neighbours, tuple(changes))


def fit_strip(name: str, drawn: BaseGeometry, strips: Shapes, blocks: Shapes) -> tuple[str, Fitted]:
    """Return the block on which an owner's strip lies, and the strip cut to it and to others.

    Parameters
    ----------
    name : str
        What the strip is called.
    drawn : Polygon or MultiPolygon
        In the grid [m].
    strips, blocks : mapping of str to Polygon or MultiPolygon
        The other strips and the blocks.

    Raises
    ------
    ValueError
        As `fit_areas`, or when it lies on no block.

    References
    ----------
    own reasoning
    """
    meant, found = _mended(drawn, name, "strip")
    on = {each: float(shared(meant, b).area) for each, b in sorted(blocks.items()) if _is_area(b)}
    home = max(on, key=lambda each: on[each], default="")
    if not home or on[home] < PIECE_M2:
        raise ValueError(f"strip {name} lies on no block; draw it on the block it is a part of")
    others = {each: s for each, s in strips.items() if each != name and _is_area(s)}
    others = {each: s for each, s in others.items() if shared(s, blocks[home]).area > 0}
    shape = _fitted(meant, list(others.values()), blocks[home])
    if shape is None:
        raise ValueError(_covered(name, meant, others, "strip"))
    inside = shared(meant, blocks[home])
    outside = less(meant, blocks[home])
    if outside.area > WORTH_SAYING_M2:
        words = f"the part outside block {home} was cut off"
        found.append(Change(name, words, -float(outside.area), outside))
    found += _changes(name, inside, shape, others, "strip")
    return home, Fitted({name: shape}, given_corners(others, shape), tuple(found))


def _is_area(shape: BaseGeometry | None) -> bool:
    """Return whether there is a polygon or several."""
    return (
        shape is not None
        and shape.geom_type in ("Polygon", "MultiPolygon")
        and not shape.is_empty
        and bool(np.isfinite(shapely.get_coordinates(shape)).all())
    )


def _mended(shape: BaseGeometry, name: str, word: str) -> tuple[BaseGeometry, list[Change]]:
    """Return a drawn outline mended, and what was worth saying."""
    nothing = f"{word} {name} has no ground inside; draw three corners or more"
    if not _is_area(shape) or not shape.convex_hull.area:  # all corners on one line
        raise ValueError(nothing)
    try:
        new, found = mended_ring(shape)
    except (ValueError, shapely.errors.GEOSException) as cause:  # a ring of two corners
        raise ValueError(nothing) from cause
    if not new.is_valid:
        raise ValueError(
            f"the outline of {word} {name} crosses itself, so that it is not clear which ground "
            "is meant; draw it round without crossing"
        )
    if new.area < PIECE_M2:
        raise ValueError(f"{word} {name} has hardly any ground inside; draw it larger")
    sound = areas_of(np.array([shape, new], dtype=object))
    where = _apart(*sound)
    changes = [Change(name, words, area, where) for words, area in found]
    return new, [each for each in changes if abs(each.area_m2) > WORTH_SAYING_M2]


def _fitted(
    shape: BaseGeometry, others: list[BaseGeometry], within: BaseGeometry | None = None
) -> BaseGeometry | None:
    """Return a shape fitted to others (and cut to one), or none when no ground is left to it."""
    near = [other for other in others if shapely.dwithin(shape, other, 2 * CORNER_M)]
    edges = near if within is None else [*near, within]
    if not edges:
        return shape
    taken = shapely.union_all(areas_of(np.array(near, dtype=object)))
    for _ in range(ROUNDS):
        before = shape
        blunt = mended_ring(shape)[0]  # a spike that a cut left in a slit of others
        shape = _drawn_together(blunt if blunt.area < shape.area else shape, edges)
        if near and shapely.intersects(shape, taken):
            shape = _cut(shapely.difference(shape, taken), edges)
        if within is not None:
            shape = _cut(shapely.intersection(shape, within), edges)
        if shape.is_empty or shape.area < PIECE_M2:
            return None
        if shapely.equals_exact(shapely.normalize(shape), shapely.normalize(before), 0.0):
            break
        # what the shape made new on their edges are corners of theirs from now on
        edges = [with_corners(each, corners_of([shape]), EXACT_M) for each in edges]
    return shape


def _drawn_together(shape: BaseGeometry, edges: list[BaseGeometry]) -> BaseGeometry:
    """Return a shape drawn to the corners of others; as it was where that would spoil it."""
    new = snapped(shape, edges, CORNER_M)
    if new is shape:
        return shape
    if not new.is_valid:
        new = shapely.make_valid(new, method="structure", keep_collapsed=False)
    slight = abs(new.area - shape.area) <= max(RING_SHARE * shape.area, CORNER_M * shape.length)
    return new if _is_area(new) and slight else shape


def _cut(cut: BaseGeometry, edges: list[BaseGeometry]) -> BaseGeometry:
    """Return what a cut left of a shape, without loose pieces, its corners those of the others."""
    left = _without_pieces(cut)
    for _ in range(2):  # once more where it touched itself and fell in two
        same = made_equal(left, edges)
        if same.is_valid:
            return same
        left = _without_pieces(same)
    return left


def _without_pieces(shape: BaseGeometry) -> BaseGeometry:
    """Return the areas of a shape that are no slips: neither small nor narrow."""
    parts = shapely.get_parts(areas_of(np.array([shape], dtype=object))[0])
    if not len(parts):
        return shapely.Polygon()
    area = shapely.area(parts)
    narrow = 2 * area <= CORNER_M * shapely.length(parts)  # width is about 2 area / length
    parts = parts[(area >= PIECE_M2) & ~is_crumb(area) & ~narrow]
    if not len(parts):
        return shapely.Polygon()
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts.tolist())


def _covered(name: str, shape: BaseGeometry, around: Shapes, word: str) -> str:
    """Return the sentence for a shape that lies wholly on others."""
    on = [f"{word} {each}" for each in sorted(around) if shared(shape, around[each]).area > 0]
    if not on:
        return f"hardly any ground is left to {word} {name}; draw it larger"
    if len(on) == 1:
        return (
            f"{word} {name} lies wholly inside {on[0]}; to part {on[0]}, split it with a line, "
            f"or draw {word} {name} over its edge"
        )
    return (
        f"{word} {name} lies wholly on {', '.join(on[:-1])} and {on[-1]}; split them with a "
        "line, or draw it where there is open ground"
    )


def _apart(one: BaseGeometry, two: BaseGeometry) -> BaseGeometry:
    """Return the ground that only one of two areas has."""
    return ground([less(one, two), less(two, one)])


def _changes(
    name: str, meant: BaseGeometry, shape: BaseGeometry, around: Shapes, word: str
) -> list[Change]:
    """Return what fitting did to a shape, as far as it is worth saying; it adds up."""
    near = {n: around[n] for n in sorted(around) if shapely.dwithin(meant, around[n], 2 * CORNER_M)}
    gone, new = less(meant, shape), less(shape, meant)
    rows: list[Change] = []
    for other, theirs in near.items():
        lost = shared(gone, theirs)
        if lost.area <= WORTH_SAYING_M2:
            continue
        inside = less(theirs, meant).area <= WORTH_SAYING_M2
        words = (
            f"{word} {other} lies inside it and keeps its ground" if inside
            else f"the part over {word} {other} was cut off"
        )  # fmt: skip
        rows.append(Change(name, words, -float(lost.area), lost))
        gone = less(gone, theirs)
    for other, theirs in near.items():
        parts = shapely.get_parts(new)
        along = parts[shapely.dwithin(parts, theirs, EXACT_M)] if len(parts) else parts
        if shapely.area(along).sum() > WORTH_SAYING_M2:
            closed = shapely.MultiPolygon(along.tolist())
            words = f"a gap to {word} {other} was closed"
            rows.append(Change(name, words, float(closed.area), closed))
            new = less(new, closed)
    parts = shapely.get_parts(gone)
    loose = parts[shapely.area(parts) > WORTH_SAYING_M2] if len(parts) else parts
    if len(loose):
        left = shapely.MultiPolygon(loose.tolist())
        thin = 2 * left.area <= 2 * CORNER_M * left.length
        words = (
            "its edge was drawn to its neighbors' corners" if thin
            else "a loose piece was left out"
        )  # fmt: skip
        rows.append(Change(name, words, -float(left.area), left))
    count = len(shapely.get_parts(shape))
    if count > len(shapely.get_parts(meant)):
        rows.append(Change(name, f"it lies in {count} parts now", 0.0, shape))
    return rows
