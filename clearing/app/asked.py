"""Take what the page asks for: read it, check it, and refuse with a sentence."""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
import shapely

from clearing.app.board import Board, Row, called, own_id
from clearing.app.forms import ID, LAYERS, WORD, typed
from clearing.files.counts import Counts
from clearing.tables import cell_text, check, did_you_mean, finite, name_list

MOST_CORNERS = 20_000  # of one shape; own choice
MOST_ITEMS = 2_000  # of one stroke; own choice
AREAS, POINTS = ("Polygon", "MultiPolygon"), ("Point",)
FITS = {"blocks": AREAS, "strips": AREAS, "keep_trees": POINTS, "plots": POINTS}
_NUMBERED = re.compile(r"(.*?)([0-9]{1,18})$")


class Refused(ValueError):
    """A stroke that was not kept, and why."""


class Stale(Refused):
    """A stroke on a shape that is no longer as the page had it."""


@dataclass(frozen=True)
class Wanted:
    """One shape as it shall be, as it was (none for a new one), and whether it was drawn anew."""

    row: Row
    old: Row | None
    drawn: bool


def item(board: Board, each: Any) -> Wanted:
    """Return what the page wants of one shape.

    Parameters
    ----------
    board : Board
        All shapes.
    each : dict
        uid (none for a new one), v (the version the page had), layer, shape (GeoJSON geometry in
        degrees; none leaves it as it is), own (column -> text; only what changes).

    Raises
    ------
    Refused
        It cannot be read, or is no longer as the page had it.

    References
    ----------
    own reasoning
    """
    if not isinstance(each, dict):
        raise Refused("a stroke holds shapes, each with its layer")
    uid = each.get("uid")
    old = as_it_was(board, uid, each.get("v")) if uid else None
    layer = old.layer if old else each.get("layer")
    if layer not in LAYERS:
        raise Refused(f"there is no layer {str(layer)[:40]!r}; layers are {name_list(LAYERS)}")
    own = each.get("own") or {}
    if not isinstance(own, dict):
        raise Refused("what is said of a shape stands under the names of its columns")
    try:
        cells = typed(layer, own)
    except ValueError as wrong:
        raise Refused(str(wrong)) from wrong
    if old is not None:
        shape = old.shape if each.get("shape") is None else _shape(board, layer, each["shape"])
        drawn = old.shape is None or not shapely.equals_exact(shape, old.shape, 0.0)
        row = replace(old, version=old.version + 1, own=old.own | cells, shape=shape)
        return Wanted(row, old, drawn)
    shape = _shape(board, layer, each.get("shape"))
    if layer in ID and not cell_text(cells.get(ID[layer])):
        cells[ID[layer]] = next_id([own_id(row) for row in board.of(layer)])
    return Wanted(board.new_row(layer, shape, cells), None, True)


def items(board: Board, given: Any) -> list[Wanted]:
    """Return what the page wants of all shapes of a stroke.

    Raises
    ------
    Refused
        As `item`, or there is none, or there are too many.

    References
    ----------
    own reasoning
    """
    if not isinstance(given, list) or not given or len(given) > MOST_ITEMS:
        raise Refused(f"a stroke holds 1 to {MOST_ITEMS} shapes")
    return [item(board, each) for each in given]


def as_it_was(board: Board, uid: Any, version: Any) -> Row:
    """Return a row that is still as the page had it.

    Raises
    ------
    Stale
        It is gone, or was changed since.

    References
    ----------
    own reasoning
    """
    row = board.rows.get(uid) if isinstance(uid, str) else None
    if row is None:
        raise Stale("this shape is gone: it was taken out in another page or program")
    if row.version != version:
        raise Stale(
            f"{called(row)} was changed in another page or program; it is shown as it is now, and "
            "this stroke was not kept"
        )
    return row


def known(board: Board, uids: Any) -> list[Row]:
    """Return rows that the page names as pairs of name and version, each as the page had it.

    References
    ----------
    own reasoning
    """
    if not isinstance(uids, list) or not uids or len(uids) > MOST_ITEMS:
        raise Refused("name the shapes by what the page calls them")
    return [as_it_was(board, *(pair if isinstance(pair, list) and len(pair) == 2 else (None, None)))
            for pair in uids]  # fmt: skip


def fresh(board: Board, wanted: Sequence[Wanted]) -> None:
    """Return nothing; two new shapes of one stroke do not share a number.

    References
    ----------
    own reasoning
    """
    taken: dict[str, set[str]] = {layer: {own_id(r) for r in board.of(layer)} for layer in ID}
    for each in wanted:
        layer = each.row.layer
        if each.old is None and layer in ID:
            if own_id(each.row) in taken[layer] and len(wanted) > 1:
                each.row.own[ID[layer]] = next_id(sorted(taken[layer]))
            taken[layer].add(own_id(each.row))


def line(shape: Any) -> list[list[float]]:
    """Return the corners of a drawn line in degrees.

    References
    ----------
    own reasoning
    """
    return [list(corner) for corner in _geometry(shape, ("LineString",)).coords]


def _shape(board: Board, layer: str, shape: Any) -> shapely.Geometry:
    """Return a drawn shape in the layer's own system."""
    return board.from_degrees(layer, _geometry(shape, FITS.get(layer)))


def _geometry(shape: Any, fits: Sequence[str] | None) -> shapely.Geometry:
    """Return a GeoJSON geometry of the page, checked."""
    try:
        found = shapely.force_2d(shapely.geometry.shape(shape))
    except Exception as cause:  # whatever a stranger's text makes the reader raise
        raise Refused("the shape cannot be read; draw it anew") from cause
    if found.is_empty or (fits and found.geom_type not in fits):
        wanted = {AREAS: "an area", POINTS: "a point"}.get(tuple(fits or ()), "a line")
        raise Refused(f"a {found.geom_type} was drawn; {wanted} is needed")
    if shapely.get_num_coordinates(found) > MOST_CORNERS:
        raise Refused(f"a shape of more than {MOST_CORNERS} corners is too fine; draw it in parts")
    corners = shapely.get_coordinates(found)
    if not finite(found) or (abs(corners) > (180, 90)).any():
        raise Refused("a corner lies outside the globe: degrees go to 180 and 90")
    return found


def next_id(ids: Sequence[str]) -> str:
    """Return the number that follows: the last pattern's largest and one more.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> next_id([]), next_id(["1", "2", "7"]), next_id(["T01", "T09"]), next_id(["north"])
    ('1', '8', 'T10', '1')
    """
    found = [match for text in ids if (match := _NUMBERED.fullmatch(text))]
    if not found:
        return "1" if "1" not in ids else f"{max(map(len, ids)) * '1'}1"
    stem = found[-1].group(1)
    own = [match.group(2) for match in found if match.group(1) == stem]
    largest = max(own, key=int)
    return f"{stem}{int(largest) + 1:0{len(largest) if largest.startswith('0') else 0}d}"


def renamed(board: Board, after: Mapping[str, Row]) -> dict[str, Row]:
    """Return own strips that follow their block to its new number.

    References
    ----------
    own reasoning
    """
    follow: dict[str, Row] = {}
    for row in list(after.values()):
        old = board.rows.get(row.uid)
        if row.layer != "blocks" or old is None or own_id(old) == own_id(row):
            continue
        for strip in (after.get(each.uid, each) for each in board.of("strips")):
            if cell_text(strip.own.get("block_id")) == own_id(old):
                cells = strip.own | {"block_id": own_id(row)}
                follow[strip.uid] = replace(strip, own=cells, version=strip.version + 1)
    return follow


def counted_ids(counts: Counts) -> set[str]:
    """Return the plots that have rows in tally.csv.

    References
    ----------
    own reasoning
    """
    rows = counts.rows
    return set(rows["plot_id"].map(str.strip)) if "plot_id" in rows else set()


def plots_gone(board: Board, after: Mapping[str, Row | None]) -> dict[str, str]:
    """Return the plots' numbers that a change takes from their plots, and what becomes of each.

    The value is the new number of a plot that was given another one, blank where it is taken out.

    References
    ----------
    own reasoning
    """
    there = {row.uid: row for row in board.of("plots")}
    touched = [uid for uid in after if uid in there]
    if not touched:
        return {}
    then = {uid: row for uid, row in (there | dict(after)).items()
            if row is not None and row.layer == "plots"}  # fmt: skip
    held = {own_id(row) for row in then.values()}
    as_before = {own_id(row) for uid, row in then.items()
                 if uid in there and own_id(there[uid]) == own_id(row)}  # fmt: skip
    return {
        own_id(there[uid]): own_id(then[uid]) if uid in then else ""
        for uid in touched if own_id(there[uid]) not in (as_before if uid in then else held)
    }  # fmt: skip


def with_counts_kept(gone: Mapping[str, str], counted: set[str]) -> None:
    """Return nothing; refuse a change after which counts would belong to no plot.

    Raises
    ------
    Refused
        It names the plots, and what can be done.

    References
    ----------
    own reasoning
    """
    held = {number: new for number, new in gone.items() if number in counted}
    words = [
        f"plot {number} has counts in tally.csv and keeps its number; to number it anew, close "
        "this page and change the number there, too"
        for number, new in held.items() if new
    ]  # fmt: skip
    out = [number for number, new in held.items() if not new]
    if out:
        words.append(
            f"plot {name_list(out)} has counts in tally.csv; take those out first, or they would "
            "belong to no plot"
        )
    if words:
        raise Refused("; ".join(words))


def checked(
    board: Board, after: Mapping[str, Row | None], species: frozenset[str],
    parent: Row | None = None,
) -> None:  # fmt: skip
    """Return nothing; refuse what could not be read again, with every problem at once.

    Problems that a shape had before do not hinder a stroke, nor those that the parts of a split
    shape have from it.

    References
    ----------
    own reasoning
    """
    rows = [row for row in after.values() if row is not None]
    problems: list[str] = []
    for layer in LAYERS:
        own = [row for row in rows if row.layer == layer]
        if not own:
            continue
        problems += _new_problems(board, own, species, parent)
        problems += _taken(board, after, layer)
    if problems:
        raise Refused("; ".join(dict.fromkeys(problems)))


def _new_problems(
    board: Board, rows: Sequence[Row], species: frozenset[str], parent: Row | None
) -> list[str]:  # fmt: skip
    """Return what is wrong with the cells of rows of a layer and was not so before."""
    found = _problems(rows, species)
    if len(rows) > 1 and found:  # only the halves that hold one are looked into
        half = len(rows) // 2
        return [each for part in (rows[:half], rows[half:])
                for each in _new_problems(board, part, species, parent)]  # fmt: skip
    old = board.rows.get(rows[0].uid, parent) if found else None
    if old is parent and old is not None:  # by the name of the part
        old = replace(old, own=old.own | {ID[old.layer]: own_id(rows[0])})
    before = set(_problems([old], species)) if old else set()
    return [each for each in found if each not in before]


def _taken(board: Board, after: Mapping[str, Row | None], layer: str) -> list[str]:
    """Return a sentence for each number of a layer that a change would give twice."""
    if layer not in ID:
        return []
    there = {row.uid: row for row in board.of(layer)}
    then = {uid: row for uid, row in (there | dict(after)).items()
            if row is not None and row.layer == layer}  # fmt: skip
    used = Counter(own_id(row) for row in then.values())
    problems = []
    for uid in after:
        row, old = then.get(uid), there.get(uid)
        number = own_id(row) if row else ""
        if number and used[number] > 1 and (old is None or own_id(old) != number):
            free = next_id([own_id(each) for each in there.values()])
            problems.append(f"there is a {WORD[layer]} {number} already; {free} is free")
    return problems


def _problems(rows: Sequence[Row], species: frozenset[str]) -> list[str]:
    """Return what is wrong with the cells of rows of one layer."""
    layer = rows[0].layer
    cells = [{name: cell_text(cell) for name, cell in row.own.items()} for row in rows]
    table = pd.DataFrame(cells, dtype=object).fillna("")
    shapes = np.empty(len(rows), dtype=object)
    shapes[:] = [row.shape for row in rows]
    _, found = check(table.assign(geometry=shapes), layer)
    for name in dict.fromkeys(own.get("species", "") for own in cells):
        if species and name and name.lower().replace(" ", "_") not in species:
            found.append(f"species {name!r} is not known{did_you_mean(name, species)}")
    return [problem.removeprefix(f"{layer}: ") for problem in found]


def said(rows: Sequence[Row], new: Sequence[bool]) -> str:
    """Return what a stroke did, in words.

    References
    ----------
    own reasoning
    """
    if len(rows) > 1:
        return f"{len(rows)} shapes drawn" if all(new) else f"{len(rows)} shapes changed"
    return f"{called(rows[0])} {'drawn' if new[0] else 'changed'}"
