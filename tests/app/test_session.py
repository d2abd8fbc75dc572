"""Whatever is drawn in whatever order: the land stays a coverage, and all can be taken back."""

import contextlib
import shutil
import sqlite3
import time

import numpy as np
import pyogrio
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clearing.app.asked import Refused
from clearing.app.session import Sitting
from clearing.files.table_rows import teach_shapes
from clearing.files.versions import list_versions
from tests.app.talking import ring, spot, square

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


def draw(sitting, column, row=0, **own):
    """Draw one square block and return it as the page has it."""
    return sitting.put([{"layer": "blocks", "shape": square(column, row), "own": own}])["rows"][0]


def test_no_name_is_used_twice_after_an_earlier_version_came_back(bare):
    """Blocks drawn after a bring-back get names of their own; none is written over another."""
    sitting = Sitting(bare)
    rows = [draw(sitting, 2 * column) for column in range(3)]
    sitting.remove([[rows[0]["uid"], rows[0]["v"]]])
    back = sitting.bring_back(list_versions(bare, "land")[-1][0])["rows"]
    names = {row["uid"] for row in (*rows, *back)}
    for column in range(4):
        new = draw(sitting, 2 * column, 4)["uid"]
        assert new not in names
        names.add(new)
    assert len(pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")) == 7


def test_no_name_is_used_twice_after_another_program_wrote(bare):
    """Names go on after the file was read anew."""
    sitting = Sitting(bare)
    one, two = draw(sitting, 0), draw(sitting, 2)
    layer = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")
    pyogrio.write_dataframe(layer[layer["block_id"] == "1"], bare / "land.gpkg", layer="blocks")
    sitting.look_outside()
    assert [row["uid"] for row in blocks(sitting)] == [one["uid"]]
    assert draw(sitting, 4)["uid"] not in {one["uid"], two["uid"]}


def test_two_sittings_share_no_name_and_no_revision(bare):
    """A page of the sitting before is told apart by names, mark and a later revision."""
    first = Sitting(bare)
    old = draw(first, 0)["uid"]
    told = first.now()
    time.sleep(0.01)
    second = Sitting(bare)
    assert blocks(second)[0]["uid"] != old
    assert second.now()["sitting"] != told["sitting"]
    assert second.now()["revision"] > told["revision"]
    assert old.partition("-")[0] == "blocks"


def test_fifteen_hundred_trees_come_back(bare):
    """Taken out in one stroke, an earlier version brings every one of them back."""
    sitting = Sitting(bare)
    spots = [spot(-84.5 + n % 40 * 1e-4, 38.0 + n // 40 * 1e-4) for n in range(1500)]
    items = [{"layer": "keep_trees", "shape": place, "own": {"species": "white_oak"}}
             for place in spots]  # fmt: skip
    rows = sitting.put(items)["rows"]
    sitting.remove([[row["uid"], row["v"]] for row in rows])
    sitting.bring_back(list_versions(bare, "land")[-1][0])
    assert len(sitting.board.of("keep_trees")) == 1500


def test_taking_the_cleaning_back_says_what_lies_over_each_other(bare):
    """The overlap that a block is given back is named, with both numbers."""
    sitting = Sitting(bare)
    draw(sitting, 0)
    cut = sitting.put([{"layer": "blocks", "shape": square(0.5, 0.0), "own": {}}])
    [note] = sitting.as_drawn(cut["stroke"])["notes"]
    assert "block 2 and block 1 lie over each other" in note
    assert "settle which of them" in note


def test_two_blocks_of_one_number_are_named_by_it(bare):
    """A sentence says that two blocks are called 2, and holds none of the page's names."""
    sitting = Sitting(bare)
    for column in (0, 2):
        draw(sitting, column)
    layer = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")
    pyogrio.write_dataframe(layer.assign(block_id="2"), bare / "land.gpkg", layer="blocks")
    sitting.look_outside()
    inside = ring((-84.4998, 38.0002), (-84.4992, 38.0002), (-84.4992, 38.0008))
    with pytest.raises(Refused, match="two blocks are called 2; give one of them another") as said:
        sitting.put([{"layer": "blocks", "shape": inside, "own": {}}])
    assert sitting.mark not in str(said.value)
    with pytest.raises(Refused, match="two blocks are called 2"):
        sitting.put([{"layer": "strips", "shape": inside, "own": {}}])


def test_a_page_is_told_of_another_program_once_and_a_later_page_never(bare):
    """The number grows with each change from outside; a page that began later hears nothing."""
    sitting = Sitting(bare)
    draw(sitting, 0)
    sitting.heard("one", revision=sitting.now()["revision"])
    for words in ("Hill", "Bench"):
        layer = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")
        pyogrio.write_dataframe(layer.assign(name=words), bare / "land.gpkg", layer="blocks")
        sitting.look_outside()
    told = sitting.now("one")
    assert told["outside_number"] == 2
    assert "Another program changed 1 shape" in told["outside"]
    assert sitting.shown()["outside"] == ""
    sitting.heard("two", revision=sitting.shown()["revision"])
    assert sitting.now("two")["outside"] == ""


def test_a_stroke_that_first_notices_another_program_tells_all(bare):
    """The answer to a stroke holds what another program had changed just before."""
    sitting = Sitting(bare)
    row = draw(sitting, 0)
    layer = pyogrio.read_dataframe(bare / "land.gpkg", layer="blocks")
    pyogrio.write_dataframe(layer.assign(name="Hill"), bare / "land.gpkg", layer="blocks")
    item = {"layer": "keep_trees", "shape": spot(-84.5, 38.0), "own": {"species": "white_oak"}}
    answer = sitting.once("a", lambda: sitting.put([item]), "one")
    assert answer["rows"][0]["layer"] == "keep_trees"
    assert [r["own"]["name"] for r in answer["rows"] if r["uid"] == row["uid"]] == ["Hill"]
    assert "Another program changed 1 shape" in answer["outside"]


def test_what_was_taken_out_comes_back_whatever_its_cells_say(sample):
    """A block with an old slip in it is restored by a step back, and can be split."""
    layer = pyogrio.read_dataframe(sample / "land.gpkg", layer="blocks")
    layer.loc[0, "brush"] = "jungle"
    pyogrio.write_dataframe(layer.assign(note="old"), sample / "land.gpkg", layer="blocks")
    sitting = Sitting(sample)
    row = blocks(sitting)[0]
    sitting.remove([[row["uid"], row["v"]]])
    sitting.undo()
    row = blocks(sitting)[0]
    west, south, east, north = shapely.geometry.shape(row["shape"]).bounds
    line = [[west - 0.001, (south + north) / 2], [east + 0.001, (south + north) / 2]]
    sitting.split(row["uid"], row["v"], {"type": "LineString", "coordinates": line})
    kept = pyogrio.read_dataframe(sample / "land.gpkg", layer="blocks")
    assert len(kept) == len(layer) + 1
    assert (kept["brush"] == "jungle").sum() == 2


KINDS = {
    "DATE": "'2026-01-02'", "DATETIME": "'2026-01-02T03:04:05.678Z'", "BOOLEAN": "1",
    "INTEGER": "9007199254740995", "BLOB": "x'00ff10'", "REAL": "0.1", "MEDIUMINT": "7",
    "TEXT": "'  indented' || char(10) || 'line two' || char(10)",
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_stroke_elsewhere_leaves_other_rows_cells_as_they_are(sample, kind):
    """Cells of any kind in rows that no stroke touched stay, and so does the table."""
    with contextlib.closing(sqlite3.connect(sample / "land.gpkg")) as file:
        teach_shapes(file)
        file.execute(f"ALTER TABLE blocks ADD COLUMN extra {kind}")
        file.execute(f"UPDATE blocks SET extra = {KINDS[kind]}")
        file.commit()
        before = file.execute("SELECT fid, geom, typeof(extra), extra FROM blocks").fetchall()
        table = file.execute("SELECT sql FROM sqlite_master WHERE name = 'blocks'").fetchone()
    sitting = Sitting(sample)
    sitting.put([{"layer": "blocks", "shape": square(300, 300), "own": {"name": "Far"}}])
    with contextlib.closing(sqlite3.connect(sample / "land.gpkg")) as file:
        after = file.execute("SELECT fid, geom, typeof(extra), extra FROM blocks").fetchall()
        assert after[: len(before)] == before
        made = file.execute("SELECT sql FROM sqlite_master WHERE name = 'blocks'").fetchone()
        assert made == table
