"""Nothing that the hand did is lost: quick edits, polls in a drag, refusals, a dying program."""

import subprocess
import sys
import time

import pytest
from selenium.webdriver.common.actions.action_builder import ActionBuilder
from selenium.webdriver.common.actions.pointer_input import PointerInput
from selenium.webdriver.common.keys import Keys

from tests.app.page import Page, drawing, served
from tests.app.talking import Talk, spot

SQUARE = ((520, 300), (700, 300), (700, 450), (520, 450))
NEXT = ((700, 300), (880, 300), (880, 450), (700, 450))
SLOW = (
    "const real = window.fetch; window.fetch = (path, given) => String(path).startsWith('/stroke')"
    " ? new Promise(on => setTimeout(on, 400)).then(() => real(path, given)) : real(path, given)"
)
FAILS = (
    "const real = window.fetch; window.fetch = (path, given) => String(path).startsWith('/stroke')"
    ' ? Promise.resolve(new Response(\'{"problems": ["the disk is full"]}\', {status: 507}))'
    " : real(path, given); window.mended = () => { window.fetch = real }"
)


@pytest.fixture
def page(bare, desk):
    """Give the page of an empty folder, gone to a place, with one block drawn."""
    with drawing(bare, desk) as page:
        page.go()
        page.draw("block", *SQUARE, SQUARE[0])
        page.whole()
        yield page


def corners(page):
    """Return the corners of the first block in the file."""
    return set(page.layer("blocks").geometry[0].exterior.coords)


def test_two_quick_drags_are_both_kept(page):
    """While the first is on its way the second corner is dragged; both stand in the file."""
    before = corners(page)
    page.tap(600, 400)
    page.until(lambda: page.all(".handle-corner"))
    page.driver.execute_script(SLOW)
    page.drag((520, 300), (480, 260))
    page.drag((700, 450), (740, 500))
    page.until(lambda: len(corners(page) - before) == 2)
    assert len(corners(page)) == 4


def test_two_quick_fields_are_both_kept(page):
    """Goal and brush said one after the other, faster than they are saved, both stand."""
    page.tap(600, 400)
    page.until(lambda: page.shown('[data-column="goal"]'))
    page.driver.execute_script(SLOW)
    for column, word in (("goal", "pasture"), ("brush", "open")):
        page.describe(column, word)
    page.until(lambda: page.layer("blocks")["brush"][0] == "open")
    assert page.layer("blocks")["goal"][0] == "pasture"


def test_arrow_presses_in_a_row_are_one_stroke(page):
    """Ten presses move a corner by ten steps, and one "Take back" takes all ten back."""
    page.tap(600, 400)
    page.until(lambda: page.all(".handle-corner"))
    before, since = corners(page), page.revision()
    page.driver.execute_script("document.querySelector('.handle-corner').focus()")
    page.keys(*[Keys.ARROW_LEFT] * 10)
    page.saved(since)
    moved = corners(page) - before
    assert len(moved) == 1
    since = page.revision()
    page.press("#undo")
    page.saved(since)
    assert corners(page) == before


def test_a_drag_goes_on_while_another_window_draws(page):
    """A tree that appears in the middle of a drag does not end it."""
    before = corners(page)
    page.tap(600, 400)
    page.until(lambda: page.all(".handle-corner"))
    hand = ActionBuilder(page.driver, mouse=PointerInput("mouse", "hand"), duration=40)
    hand.pointer_action.move_to_location(520, 300)
    hand.pointer_action.pointer_down()
    hand.pointer_action.move_to_location(500, 280)
    hand.perform()
    Talk.of(page).put(layer="keep_trees", shape=spot(-84.55, 38.12), own={"species": "white_oak"})
    time.sleep(2)  # longer than the page waits for news
    hand = ActionBuilder(page.driver, mouse=PointerInput("mouse", "hand"), duration=40)
    hand.pointer_action.move_to_location(480, 260)
    hand.pointer_action.pointer_up()
    hand.perform()
    page.until(lambda: len(corners(page) - before) == 1)
    assert len(page.layer("keep_trees")) == 1


def test_join_ends_with_any_other_tap(page):
    """Join, then its notice closed, then a tap to look at the neighbor: two blocks stay."""
    page.draw("block", *NEXT, NEXT[0])
    page.whole()
    page.tap(600, 400)
    page.press("#join")
    page.press('.notice[data-key="join"] .row-of button:last-child')
    page.press("#card .back")
    page.tap(800, 400)
    page.until(lambda: page.shown('[data-column="goal"]'))
    assert len(page.layer("blocks")) == 2


def test_a_refused_outline_comes_back_into_the_hand(page):
    """An outline that crosses itself is named, and its corners can be mended."""
    page.take("block")
    for place in ((520, 500), (700, 600), (700, 500), (520, 600), (520, 500)):
        page.tap(*place)
    page.until(lambda: page.shown('.notice[data-key="wrong"]'))
    assert "crosses itself" in page.text('.notice[data-key="wrong"]')
    page.until(lambda: page.text("#hand").startswith("4 corners"))


def test_a_stroke_that_the_disk_refused_is_not_called_saved(page):
    """The page says so until a stroke was saved; the outline waits in the hand."""
    page.take("block")
    page.driver.execute_script(FAILS)
    for place in (*NEXT, NEXT[0]):
        page.tap(*place)
    page.until(lambda: "disk is full" in page.text("#notices"))
    time.sleep(2)  # longer than the page waits for news
    assert page.text("#status") == "Not saved"
    page.driver.execute_script("mended()")
    since = page.revision()
    page.press("#finish")
    page.saved(since)
    assert len(page.layer("blocks")) == 2


def test_a_double_tap_sets_one_well(page):
    """Two taps on one spot within half a second are one."""
    page.take("well")
    page.tap(800, 500)
    page.tap(800, 500)
    page.until(lambda: len(page.layer("features")) == 1)
    time.sleep(0.6)
    assert len(page.layer("features")) == 1


def test_take_back_with_corners_in_hand_takes_the_last_corner(page):
    """The saved block stays; the hand holds one corner less."""
    page.take("block")
    for place in NEXT[:3]:
        page.tap(*place)
    page.press("#undo")
    page.until(lambda: page.text("#hand").startswith("2 corners"))
    assert len(page.layer("blocks")) == 1


def test_strokes_wait_for_a_program_that_died(bare, desk):
    """Killed, then started anew on the same port: what was drawn meanwhile is offered and saved."""
    with served(bare) as (address, process):
        page = Page(desk, address, bare)
        page.go()
        page.draw("block", *SQUARE, SQUARE[0])
        process.kill()
        process.wait()
        for place in (*NEXT, NEXT[0]):
            page.tap(*place)
        page.until(lambda: page.shown('.notice[data-key="away"]'))
        assert "your last strokes wait here" in page.text('.notice[data-key="away"]')
        port = page.origin.rpartition(":")[2]
        again = subprocess.Popen(
            [sys.executable, "-m", "clearing", "draw", str(bare), "--no-show", "--port", port],
            stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        try:
            desk.get(str(again.stdout.readline()).split()[-1])
            page.until(lambda: page.shown(".notice.urgent button"))
            page.press(".notice.urgent button")
            page.until(lambda: len(page.layer("blocks")) == 2)
        finally:
            again.kill()
            again.wait()
            again.stdout.close()
        desk.get("about:blank")
    first, second = page.layer("blocks").geometry
    assert len(set(first.exterior.coords) & set(second.exterior.coords)) == 2
