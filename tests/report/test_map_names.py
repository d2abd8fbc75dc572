"""Names of the owner on the map: right-to-left, 200 letters, and what means harm."""

from dataclasses import replace

import pytest
from selenium.webdriver.common.by import By

from tests.browser import DESKTOP, PHONE
from tests.report.map_hand import back, click, come_near, open_map, tap_ground, text, write_map
from tests.report.small_place import HOSTILE, small_results

LONG = "Wide" * 50
HEBREW = "\u05e9\u05d3\u05d4 \u05d4\u05d3\u05e8\u05da 7"
BACKWARDS = "field \u202eevil"
SIZES = [DESKTOP, PHONE]


def named(name: str):
    """Return the small place with this name on its block, strips, road, trees and plot."""
    place = small_results(name)
    return replace(
        place,
        strips=place.strips.assign(name=name),
        features=place.features.assign(name=name),
        keep_trees=place.keep_trees.assign(tree_id=name),
        plots=place.plots.assign(plot_id=name),
    )


@pytest.mark.parametrize("size", SIZES, ids=["desk", "phone"])
@pytest.mark.parametrize(
    "name", [LONG, HEBREW, BACKWARDS, HOSTILE], ids=["long", "he", "rlo", "bad"]
)
def test_names_stay_inside_the_page(name, size, tmp_path):
    """Whatever the name, nothing runs, nothing scrolls sideways, and the card shows all of it."""
    with open_map(write_map(tmp_path, named(name)), size) as driver:
        click(driver, "[data-open-strip='2']")
        card = driver.find_element(By.CSS_SELECTOR, "[data-strip='2'] h2")
        head = card.get_property("textContent")
        wide = driver.execute_script(
            "const p = document.getElementById('scroll'); return [p.scrollWidth - p.clientWidth,"
            " document.documentElement.scrollWidth - window.innerWidth, window.hit === undefined]"
        )
    assert head == name
    assert wide == [0, 0, True]


@pytest.mark.parametrize("size", SIZES, ids=["desk", "phone"])
def test_long_names_are_cut_on_the_ground(size, tmp_path):
    """A name of 200 letters is 26 letters long on the map, the last an ellipsis."""
    with open_map(write_map(tmp_path, named(LONG)), size) as driver:
        labels = driver.find_elements(By.CSS_SELECTOR, ".name.block span")
        words = {one.text for one in labels}
    assert LONG[:25] + "\u2026" in words
    assert max(len(one) for one in words) <= 26


def test_names_take_the_way_they_are_read(tmp_path):
    """A right-to-left name is laid out right to left, the rest of the page is not."""
    with open_map(write_map(tmp_path, named(HEBREW))) as driver:
        click(driver, "[data-open-strip='2']")
        head = driver.find_element(By.CSS_SELECTOR, "[data-strip='2'] h2")
        assert head.value_of_css_property("direction") == "rtl"
        body = driver.find_element(By.TAG_NAME, "body")
        assert body.value_of_css_property("direction") == "ltr"


@pytest.mark.parametrize("size", SIZES, ids=["desk", "phone"])
def test_bad_names_are_letters_on_every_card(size, tmp_path):
    """Tree, plot and road show tags as letters."""
    with open_map(write_map(tmp_path, named(HOSTILE)), size) as driver:
        click(driver, "[data-part=plots]")
        come_near(driver, 60, 120)
        tap_ground(driver, 60, 120)
        tree = text(driver, "#thing-place")
        back(driver)
        come_near(driver, 80, 80)
        tap_ground(driver, 80, 80)
        plot = text(driver, "#thing-name")
        back(driver)
        come_near(driver, 150, -10)
        tap_ground(driver, 150, -10)
        road = text(driver, ".note")
        assert driver.execute_script("return window.hit === undefined")
    assert tree.endswith(HOSTILE)
    assert plot == f"Plot {HOSTILE}"
    assert road == HOSTILE
