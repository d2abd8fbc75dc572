"""The map on paper: one page, letter and A4, with all that belongs to it."""

import base64
import re

import pypdfium2
import pytest

from tests.browser import DESKTOP, PHONE
from tests.report.map_hand import click, open_map, seen, write_map

SHEETS = {"letter": (8.5, 11.0), "a4": (8.27, 11.69)}  # inches; ISO 216 and ANSI Y14.1
INK = 60  # a channel darker than this is ink


@pytest.fixture(scope="module")
def address(small, tmp_path_factory):
    """Return the small place's map on disk."""
    return write_map(tmp_path_factory.mktemp("map"), small)


@pytest.fixture(scope="module", params=[DESKTOP, PHONE], ids=["desk", "phone"])
def driver(request, address):
    """Give a browser with the map open."""
    with open_map(address, request.param) as driver:
        yield driver


def printed(driver, sheet: str) -> pypdfium2.PdfDocument:
    """Return what the browser prints on a sheet on its side."""
    wide, high = SHEETS[sheet]
    pdf = driver.execute_cdp_cmd(
        "Page.printToPDF",
        {"landscape": True, "paperWidth": wide, "paperHeight": high, "printBackground": True},
    )
    return pypdfium2.PdfDocument(base64.b64decode(pdf["data"]))


def words_of(document: pypdfium2.PdfDocument) -> str:
    """Return the words of the first page."""
    return " ".join(document[0].get_textpage().get_text_range().split())


@pytest.mark.parametrize("sheet", sorted(SHEETS))
def test_the_map_prints_on_one_page(driver, sheet):
    """One page, with title, year, plan's years, key, names, scale and north."""
    click(driver, "[data-year='1']")
    document = printed(driver, sheet)
    assert len(document) == 1
    words = words_of(document)
    for promised in (
        "Place of Road field", "2028. Work begins in Long pasture",
        "The plan runs from 2027 to 2030.",
        "follow-up spray", "not in these years", "trees that stay", "Fern woods", "N",
    ):  # fmt: skip
        assert promised in words
    assert re.search(r"\d+ ft", words)


def test_paper_has_strips_and_crowns(driver):
    """The map's part of the page is inked, and the crown of a tree that stays is drawn."""
    click(driver, "[data-year='0']")
    page = printed(driver, "letter")[0]
    ring = (0x2B, 0x5D, 0x34)  # look.KEEP_TREE
    pixels = page.render(scale=2).to_numpy()[..., :3]
    near = (abs(pixels[..., ::-1].astype(int) - ring).max(axis=-1) < 12).sum()
    assert near > 60
    assert (pixels.max(axis=-1) < INK).sum() > 3000


def test_an_open_card_prints_beside_its_map(driver):
    """A strip's card stands on the same one page."""
    click(driver, "[data-open-strip='1a']")
    document = printed(driver, "letter")
    words = words_of(document)
    click(driver, "[data-back]")
    assert len(document) == 1
    assert "Strip 1a" in words
    assert "No resting under dead stems." in words


def test_a_card_that_is_too_long_says_where_the_rest_is(driver):
    """The card is cut before a line that does not fit, and a line says so."""
    click(driver, "[data-open-strip='1a']")
    driver.execute_script(
        "const card = document.querySelector(\"[data-strip='1a'].view\");"
        "for (let i = 0; i < 90; i++) card.append(Object.assign(document.createElement('p'),"
        " {className: 'extra', textContent: 'Line ' + i + '.'}))"
    )
    document = printed(driver, "a4")
    words = words_of(document)
    driver.execute_script("document.querySelectorAll('.extra').forEach(one => one.remove())")
    click(driver, "[data-back]")
    assert len(document) == 1
    assert "Cut here. The rest, cautions among it, stands on the page of this block" in words
    assert "Line 89." not in words


def test_the_screen_is_as_it_was_after_printing(driver):
    """Panel, year control and the place of the map come back."""
    look = "const c = map_place.getCenter(); return [c.lat, c.lng, map_place.getZoom()]"
    before = driver.execute_script(look)
    printed(driver, "letter")
    assert driver.execute_script(look) == pytest.approx(before, abs=1e-5)
    assert all(seen(driver, mark) for mark in ("#panel", "#years", ".leaflet-trees-pane canvas"))
    assert not seen(driver, "#paper")
