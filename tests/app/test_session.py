"""Whatever is drawn in whatever order: the land stays a coverage, and all can be taken back."""

import contextlib
import shutil

import numpy as np
import pyogrio
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clearing.app.asked import Refused
from clearing.app.session import Sitting
from tests.app.talking import ring, square

NUMBER = st.integers(0, 7)
STROKES = st.lists(
    st.one_of(
        st.tuples(st.just("draw"), NUMBER, NUMBER, st.integers(1, 4), st.integers(1, 4)),
        st.tuples(st.just("drag"), NUMBER, NUMBER, NUMBER),
        st.tuples(st.just("split"), NUMBER, NUMBER, NUMBER),
        st.tuples(st.just("join"), NUMBER, NUMBER),
        st.tuples(st.just("remove"), NUMBER),
        st.tuples(st.just("undo")),
    ),
    min_size=3,
    max_size=12,
)


def blocks(sitting):
    """Return the blocks of a sitting as the page has them, in order."""
    return [sitting.board.shown(row) for row in sitting.board.of("blocks")]


def place(column, row):
    """Return a spot of a field of 8 by 8 that is set a little askew."""
    return (-85.74 + 0.0004 * column + 0.00003 * row, 36.33 + 0.0004 * row - 0.00002 * column)


def do(sitting, stroke):
    """Make one stroke; what is refused changes nothing."""
    name, *numbers = stroke
    rows = blocks(sitting)
    if name == "undo":
        return sitting.undo()
    if name == "draw":
        column, row, wide, high = numbers
        shape = ring(place(column, row), place(column + wide, row),
                     place(column + wide, row + high), place(column, row + high))  # fmt: skip
        return sitting.put([{"layer": "blocks", "shape": shape, "own": {}}])
    one = rows[numbers[0] % len(rows)]
    if name == "remove":
        return sitting.remove([[one["uid"], one["v"]]])
    if name == "join":
        two = rows[numbers[1] % len(rows)]
        return sitting.join([[one["uid"], one["v"]], [two["uid"], two["v"]]])
    if name == "split":
        line = [list(place(numbers[1], -1)), list(place(numbers[2], 12))]
        return sitting.split(one["uid"], one["v"], {"type": "LineString", "coordinates": line})
    return drag(sitting, rows, one, numbers)


def drag(sitting, rows, one, numbers):
    """Move a corner of one block, and of all that share it, as the page does."""
    corners = shapely.get_coordinates(shapely.geometry.shape(one["shape"]))
    corner = tuple(corners[numbers[1] % len(corners)])
    there = (corner[0] + 0.00013, corner[1] - 0.00005 * numbers[2])
    items = []
    for each in rows:
        shape = shapely.geometry.shape(each["shape"])
        if corner in map(tuple, shapely.get_coordinates(shape)):
            moved = shapely.transform(
                shape, lambda xy: np.where((xy == corner).all(axis=1)[:, None], there, xy)
            )
            items.append({"uid": each["uid"], "v": each["v"],
                          "shape": shapely.geometry.mapping(moved)})  # fmt: skip
    return sitting.put(items)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(strokes=STROKES)
def test_the_land_stays_a_coverage_and_all_is_taken_back(sample, tmp_path, strokes):
    """In a file in metres: no overlap after any strokes, and undoing all gives the first bytes."""
    home = tmp_path / "again"
    shutil.rmtree(home, ignore_errors=True)
    shutil.copytree(sample, home)
    sitting = Sitting(home)
    first = pyogrio.read_dataframe(home / "land.gpkg", layer="blocks")
    sitting.remove([[row["uid"], row["v"]] for row in blocks(sitting)])
    for stroke in strokes:
        if len(sitting.strokes.done) < 2 and stroke[0] == "undo":
            continue
        with contextlib.suppress(Refused):
            if stroke[0] == "draw" or blocks(sitting):
                do(sitting, stroke)
    kept = pyogrio.read_dataframe(home / "land.gpkg", layer="blocks")
    assert shapely.coverage_is_valid(kept.geometry.to_numpy())
    assert kept["block_id"].is_unique
    while sitting.strokes.done:
        sitting.undo()
    last = pyogrio.read_dataframe(home / "land.gpkg", layer="blocks")
    assert last.drop(columns="geometry").equals(first.drop(columns="geometry"))
    assert shapely.equals_exact(last.geometry, first.geometry, tolerance=0.0).all()


def test_a_stroke_that_cannot_be_written_changes_nothing(bare, monkeypatch):
    """When the file cannot be written, the page's land is as it was, and nothing can be undone."""
    sitting = Sitting(bare)

    def full(*given):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("clearing.app.session.save_land", full)
    with pytest.raises(OSError, match="No space"):
        sitting.put([{"layer": "blocks", "shape": square(0, 0), "own": {}}])
    assert blocks(sitting) == []
    assert sitting.strokes.done == []


def test_numbers_go_on_from_the_last(bare):
    """The next block gets the number after the largest, also after one was taken out."""
    sitting = Sitting(bare)
    for column in range(3):
        sitting.put([{"layer": "blocks", "shape": square(2 * column, 0), "own": {}}])
    one = blocks(sitting)[1]
    sitting.remove([[one["uid"], one["v"]]])
    sitting.put([{"layer": "blocks", "shape": square(0, 4), "own": {}}])
    assert [row["own"]["block_id"] for row in blocks(sitting)] == ["1", "3", "4"]


def test_a_number_that_is_taken_is_refused_and_a_free_one_named(bare):
    """Two blocks do not share a number; the sentence names one that is free."""
    sitting = Sitting(bare)
    sitting.put([{"layer": "blocks", "shape": square(0, 0), "own": {}}])
    with pytest.raises(Refused, match="there is a block 1 already; 2 is free"):
        sitting.put([{"layer": "blocks", "shape": square(3, 0), "own": {"block_id": "1"}}])


def test_old_faults_of_a_shape_do_not_hinder_its_other_fields(sample):
    """A wrong word that stood in the file before does not keep one from naming the block."""
    layer = pyogrio.read_dataframe(sample / "land.gpkg", layer="blocks")
    layer.loc[0, "brush"] = "jungle"
    pyogrio.write_dataframe(layer, sample / "land.gpkg", layer="blocks")
    sitting = Sitting(sample)
    row = blocks(sitting)[0]
    sitting.put([{"uid": row["uid"], "v": row["v"], "own": {"name": "Hill"}}])
    assert blocks(sitting)[0]["own"]["name"] == "Hill"
    assert blocks(sitting)[0]["own"]["brush"] == "jungle"
