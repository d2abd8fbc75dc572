"""Blocks, trees and lines are drawn on the page by hand, and stand in the file as drawn."""

import pytest
import shapely

from tests.app.page import drawing

SQUARE = ((520, 300), (700, 300), (700, 450), (520, 450))


@pytest.fixture
def page(bare, desk):
    """Give the page of the empty folder, gone to a place."""
    with drawing(bare, desk) as page:
        page.go()
        yield page


def test_two_neighbouring_blocks_share_their_corners_to_the_bit(page):
    """The second block is drawn along the first by eye; both have the same corners on the edge."""
    page.draw("block", *SQUARE, SQUARE[0])
    page.draw("block", (703, 297), (880, 300), (880, 450), (697, 453), (703, 297))
    first, second = page.layer("blocks").geometry
    shared = set(first.exterior.coords) & set(second.exterior.coords)
    assert len(shared) == 2
    assert shapely.coverage_is_valid([first, second])
    assert page.layer("blocks")["block_id"].tolist() == ["1", "2"]


def test_a_shared_corner_is_dragged_in_both_blocks(page):
    """Dragging one corner moves it in both blocks, and they still share their edge to the bit."""
    page.draw("block", *SQUARE, SQUARE[0])
    page.draw("block", (700, 300), (880, 300), (880, 450), (700, 450), (700, 300))
    page.whole()
    before = page.layer("blocks").geometry
    since = page.revision()
    page.tap(600, 400)
    page.until(lambda: page.all(".handle-corner"))
    page.drag((700, 450), (740, 500))
    page.saved(since)
    first, second = page.layer("blocks").geometry
    assert shapely.coverage_is_valid([first, second])
    shared = set(first.exterior.coords) & set(second.exterior.coords)
    assert len(shared) == 2
    assert not shared <= set(before[0].exterior.coords)


def test_a_block_over_a_neighbour_is_cut_and_that_can_be_taken_back(page):
    """The new block loses the overlap, the page says so; taken back, it is as it was drawn."""
    page.draw("block", *SQUARE, SQUARE[0])
    old = page.layer("blocks").geometry[0]
    page.draw("block", (640, 340), (880, 340), (880, 420), (640, 420), (640, 340))
    first, second = page.layer("blocks").geometry
    assert shapely.coverage_is_valid([first, second])
    assert first.area == pytest.approx(old.area, rel=1e-9)
    assert second.union(first).area > first.area
    assert "was cut off" in page.text('.notice[data-key="cleaned"]')
    since = page.revision()
    page.press('.notice[data-key="cleaned"] button')
    page.saved(since)
    first, second = page.layer("blocks").geometry
    assert first.intersection(second).area > 0.2 * second.area


def test_a_block_is_split_and_joined_again(page):
    """A line across makes two blocks with one boundary; joined, the ground is as it was."""
    page.draw("block", *SQUARE, SQUARE[0])
    page.whole()
    whole = page.layer("blocks").geometry[0]
    page.tap(600, 400)
    page.press("#split")
    since = page.revision()
    for spot in ((500, 380), (720, 390), (720, 390)):
        page.tap(*spot)
    page.saved(since)
    parts = page.layer("blocks")
    assert parts["block_id"].tolist() == ["1", "2"]
    assert shapely.coverage_is_valid(parts.geometry.to_numpy())
    since = page.revision()
    page.press("#join")
    page.tap(610, 430)
    page.saved(since)
    [joined] = page.layer("blocks").geometry
    assert joined.symmetric_difference(whole).area < 1e-9 * whole.area


def test_twenty_keep_trees_by_taps(page):
    """Species and diameter are said once; twenty taps later twenty trees stand in the file."""
    page.take("tree")
    page.describe("species", "white oak")
    page.describe("dbh_in", "14")
    for number in range(20):
        page.tap(520 + 30 * (number % 5), 300 + 40 * (number // 5))
    page.until(lambda: len(page.layer("keep_trees")) == 20)
    trees = page.layer("keep_trees")
    assert trees["tree_id"].is_unique
    assert set(trees["species"]) == {"white_oak"}
    assert set(trees["dbh_in"].astype(float)) == {14.0}


def test_strokes_are_taken_back_and_done_again(page):
    """Three strokes back by key and button, then forward again: the file follows each step."""
    page.draw("block", *SQUARE, SQUARE[0])
    page.draw("creek", (500, 250), (620, 260), (760, 250), (760, 250))
    page.draw("well", (800, 500))
    page.whole()
    for name, left in (("features", 1), ("features", 0), ("blocks", 0)):
        since = page.revision()
        page.press("#undo")
        page.saved(since)
        assert len(page.layer(name)) == left
    for name, back in (("blocks", 1), ("features", 1), ("features", 2)):
        since = page.revision()
        page.press("#redo")
        page.saved(since)
        assert len(page.layer(name)) == back
