"""The page works by finger at the width of a phone, and by keys without a mouse."""

import pytest
import shapely
from selenium.webdriver.common.keys import Keys

from tests.app.page import drawing
from tests.app.talking import Talk, spot, square


@pytest.fixture
def page(bare, phone):
    """Give the page of the empty folder on a phone, gone to a place."""
    with drawing(bare, phone) as page:
        page.go()
        yield page


def test_two_blocks_are_drawn_by_finger_along_each_other(page):
    """Taps with a thumb's slip of 12 pixels still give one boundary to the bit."""
    page.draw("block", (60, 120), (190, 120), (190, 260), (60, 260), (60, 120), touch=True)
    page.draw("block", (200, 112), (330, 120), (330, 260), (198, 268), (200, 112), touch=True)
    first, second = page.layer("blocks").geometry
    assert len(set(first.exterior.coords) & set(second.exterior.coords)) == 2
    assert shapely.coverage_is_valid([first, second])


def test_what_is_pressed_is_large_enough_for_a_finger_and_nothing_spills_over(page):
    """Every button on the card is 44 px high at least, and the page is as wide as the phone."""
    small = page.driver.execute_script(
        "return Array.from(document.querySelectorAll('button,select,input[type=text],summary'))"
        ".filter(b => b.offsetParent && b.getBoundingClientRect().height < 43.5)"
        ".map(b => b.textContent + b.id)"
    )
    assert small == []
    assert page.driver.execute_script("return document.documentElement.scrollWidth") <= 390


@pytest.mark.parametrize("card", ["whole", "tool", "shape", "tally"])
def test_words_stand_out_from_their_ground(bare, phone, card):
    """Text has a contrast of 4.5 to 1 or better on every card (WCAG 2.2, criterion 1.4.3)."""
    with drawing(bare, phone) as page:
        talk = Talk.of(page)
        talk.put(layer="blocks", shape=square(0, 0), own={"name": "Hill"})
        talk.put(layer="plots", shape=spot(-84.4995, 38.0005), own={})
        page.until(lambda: page.all('[data-open^="blocks"]'))
        if card == "tool":
            page.take("block")
        elif card != "whole":
            if card == "tally":
                page.press("#card h2 + .list + details.close summary")
                page.press('[data-open^="plots"]')
                page.press("#card .wide.strong")
            else:
                page.press('[data-open^="blocks"]')
            page.until(lambda: page.find("body").get_attribute("data-card") == card)
        assert page.driver.execute_script(FAINT) == []


FAINT = """
const lum = c => { const [r, g, b] = c.map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 :
  ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
const rgb = text => text.match(/[\\d.]+/g).map(Number);
const ground = e => { for (; e; e = e.parentElement) {
  const c = rgb(getComputedStyle(e).backgroundColor);
  if (c.length < 4 || c[3] > 0.99) return c.slice(0, 3); } return [255, 255, 255]; };
return Array.from(document.querySelectorAll('#panel *, .tools *, #notices *')).filter(e =>
  e.offsetParent && Array.from(e.childNodes).some(n => n.nodeType === 3 && n.textContent.trim()))
  .filter(e => { const a = lum(rgb(getComputedStyle(e).color)), b = lum(ground(e));
    return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) < 4.5; }).map(e => e.textContent);
"""


def test_a_block_is_drawn_with_keys_alone(bare, desk):
    """Tab to the tool, arrows and Enter on the ground: a block stands in the file."""
    with drawing(bare, desk) as page:
        page.find("#start-place").send_keys("38.12345, -84.54321", Keys.ENTER)
        page.until(lambda: page.shown("#card [data-tool=block]"))
        page.find("#card [data-tool=block]").send_keys(Keys.ENTER)
        page.until(lambda: page.find("#stop").is_displayed())
        page.driver.execute_script("document.getElementById('map').focus()")
        ways = (Keys.ARROW_RIGHT, Keys.ARROW_DOWN, Keys.ARROW_LEFT, Keys.ARROW_UP)
        for number, way in enumerate(ways, start=1):
            page.keys(Keys.ENTER)
            page.until(lambda number=number: page.text("#hand").startswith(f"{number} corner"))
            for _ in range(2):
                page.keys(way)
                page.still()
        since = page.revision()
        page.keys(Keys.ENTER)
        page.saved(since)
        [block] = page.layer("blocks").geometry
        assert len(block.exterior.coords) == 5


def test_every_control_can_be_reached_and_shows_that_it_is(bare, desk):
    """Tab comes to every button of the card, each with a name and a visible frame."""
    with drawing(bare, desk) as page:
        page.find("#start-place").send_keys("38.12345, -84.54321", Keys.ENTER)
        page.until(lambda: page.shown("#card [data-tool=block]"))
        page.driver.execute_script("document.activeElement.blur(); document.body.focus()")
        seen = set()
        for _ in range(60):
            page.keys(Keys.TAB)
            told = page.driver.execute_script(
                "const e = document.activeElement, s = getComputedStyle(e);"
                "return [e.dataset.tool || e.id || e.tagName, s.outlineStyle,"
                " e.getAttribute('aria-label') || e.textContent.trim() || e.labels?.length]"
            )
            if told[0] != "BODY":
                assert told[1] == "solid", told
                assert told[2], told
            seen.add(told[0])
        assert {"block", "tree", "creek", "property_line", "well", "map", "home"} <= seen
