"""The map on paper: one page, letter and A4, with all that belongs to it."""

import base64
import re
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pypdfium2
import pytest

from tests.browser import DESKTOP, PHONE
from tests.report.map_hand import MAP, click, come_near, open_map, seen, tap_ground, write_map
from tests.report.small_place import GRID, small_results

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


def printed_bytes(driver, sheet: str) -> bytes:
    """Return what the browser prints on a sheet on its side, as a file."""
    wide, high = SHEETS[sheet]
    pdf = driver.execute_cdp_cmd(
        "Page.printToPDF",
        {"landscape": True, "paperWidth": wide, "paperHeight": high, "printBackground": True},
    )
    return base64.b64decode(pdf["data"])


def printed(driver, sheet: str) -> pypdfium2.PdfDocument:
    """Return what the browser prints on a sheet on its side."""
    return pypdfium2.PdfDocument(printed_bytes(driver, sheet))


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
        "Place of Road field", "What stands in 2028. Work begins in Long pasture",
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
    assert "Shortened to one page. More, with further cautions, is in workplan.pdf." in words
    assert "Line 89." not in words


def test_the_screen_is_as_it_was_after_printing(driver):
    """Panel, year control and the place of the map come back."""
    look = "const c = map_place.getCenter(); return [c.lat, c.lng, map_place.getZoom()]"
    before = driver.execute_script(look)
    printed(driver, "letter")
    assert driver.execute_script(look) == pytest.approx(before, abs=1e-5)
    assert all(seen(driver, mark) for mark in ("#panel", "#years", ".leaflet-trees-pane canvas"))
    assert not seen(driver, "#paper")


def test_the_page_says_that_it_shows_how_it_is_treated(driver):
    """By way, the page names that view and no single year."""
    click(driver, "[data-show='way']")
    words = words_of(printed(driver, "letter"))
    click(driver, "[data-show='state']")
    assert "How it is treated, all years" in words
    assert "What stands in" not in words


def test_a_card_loses_its_pictures_before_its_lines(driver):
    """A picture too many goes; the line after it stays."""
    click(driver, "[data-open-strip='1a']")
    driver.execute_script(
        "const card = document.querySelector(\"[data-strip='1a'].view\");"
        "const picture = Object.assign(document.createElement('figure'), {className: 'extra'});"
        "picture.style.height = '600px';"
        "card.querySelector('.lead').after(picture)"
    )
    words = words_of(printed(driver, "letter"))
    driver.execute_script("document.querySelectorAll('.extra').forEach(one => one.remove())")
    click(driver, "[data-back]")
    assert "No resting under dead stems." in words
    assert "Shortened to one page." in words


def test_a_caution_that_is_cut_says_so(driver):
    """The box of cautions keeps its lower edge, and says where the rest of them stands."""
    click(driver, "[data-open-strip='1a']")
    driver.execute_script(
        "const list = document.querySelector(\"[data-strip='1a'].view .caution ul\");"
        "for (let i = 0; i < 90; i++) list.append(Object.assign(document.createElement('li'),"
        " {className: 'extra', textContent: 'Mind ' + i + '.'}));"
        "window.addEventListener('beforeprint', () => {"
        " const box = list.closest('.caution').getBoundingClientRect();"
        " const room = document.getElementById('scroll').getBoundingClientRect();"
        " window.fits = box.height > 0 && box.bottom <= room.bottom })"
    )
    words = words_of(printed(driver, "letter"))
    fits = driver.execute_script("return window.fits")
    driver.execute_script("document.querySelectorAll('.extra').forEach(one => one.remove())")
    click(driver, "[data-back]")
    assert "more in workplan.pdf" in words
    assert "Mind 89." not in words
    assert fits


def test_a_plot_prints_with_the_ground_round_it(driver):
    """The map beside a plot's card shows that plot from near, not the whole place."""
    click(driver, "[data-part=plots]")
    come_near(driver, 80, 80)
    tap_ground(driver, 80, 80)
    driver.execute_script(
        "window.addEventListener('beforeprint', () => {"
        f" const box = {MAP}.getBounds();"
        " window.across = box.getNorthWest().distanceTo(box.getNorthEast()) })"
    )
    words = words_of(printed(driver, "letter"))
    across = driver.execute_script("return window.across")
    click(driver, "[data-part=plots]")
    click(driver, "[data-back]")
    click(driver, "#home")
    assert "Plot 1-1" in words
    assert 160 <= across < 330


@pytest.fixture(scope="module")
def wooded(tmp_path_factory):
    """Return the map of the small place with 20,000 trees that stay, which cover all of it."""
    count, draw = 20_000, np.random.default_rng(1)
    trees = gpd.GeoDataFrame(
        {"tree_id": [f"T{i}" for i in range(count)], "species": "white_oak",
         "dbh_cm": draw.uniform(10, 90, count), "crown_m": draw.uniform(2, 14, count).round(1),
         "crown_from": "measured", "block_id": "1"},
        geometry=gpd.points_from_xy(draw.uniform(0, 300, count), draw.uniform(0, 400, count)),
        crs=GRID,
    )  # fmt: skip
    return write_map(tmp_path_factory.mktemp("wooded"), replace(small_results(), keep_trees=trees))


def test_a_wood_prints_small_and_leaves_no_blot(wooded):
    """With 20,000 trees the file is under 5 MB; under a fifth of the page is the crowns' line."""
    with open_map(wooded) as driver:
        file = printed_bytes(driver, "letter")
    pixels = pypdfium2.PdfDocument(file)[0].render(scale=2).to_numpy()[..., :3][..., ::-1]
    away = abs(pixels.astype(int) - (0x2B, 0x5D, 0x34)).max(axis=-1)  # look.KEEP_TREE
    assert len(file) < 5e6
    assert 100 < (away < 40).sum() < 0.2 * away.size
