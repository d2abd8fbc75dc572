"""Tapping the map with mouse and finger: strip, tree, plot, road; cards and focus."""

from dataclasses import replace

import geopandas as gpd
import pandas as pd
import pytest
from selenium.webdriver.common.by import By
from shapely.geometry import LineString, Point

from tests.browser import DESKTOP, PHONE
from tests.report.map_hand import (
    back,
    click,
    come_near,
    key,
    on_screen,
    open_map,
    seen,
    tap,
    tap_ground,
    text,
    write_map,
)  # fmt: skip
from tests.report.small_place import GRID

HANDS = [(DESKTOP, "mouse"), (PHONE, "touch")]


@pytest.fixture(scope="module")
def address(small, tmp_path_factory):
    """Return the small place's map on disk."""
    return write_map(tmp_path_factory.mktemp("map"), small)


@pytest.fixture(scope="module", params=HANDS, ids=["desk", "phone"])
def hand(request, address):
    """Give a browser and the kind of its hand."""
    size, kind = request.param
    with open_map(address, size) as driver:
        yield driver, kind


@pytest.fixture
def opened(hand):
    """Give the browser with no card open."""
    driver, kind = hand
    back(driver)
    return driver, kind


def test_a_tree_tells_what_it_is_and_what_to_mind(opened):
    """Species, Latin name in italics, thickness, crown, and what not to do under it."""
    driver, kind = opened
    come_near(driver, 60, 120)
    tap_ground(driver, 60, 120, kind)
    assert text(driver, "#thing h2") == "White oak Quercus alba"
    assert driver.find_element(By.CSS_SELECTOR, "#thing h2 i").text == "Quercus alba"
    assert text(driver, "#thing-lead") == "20 in thick, crown 39 ft across."
    assert "no product that moves in the soil" in text(driver, "#thing-mind")
    assert "keep saw, mower and dragged tops off its bark" in text(driver, "#thing-mind")


def test_the_marked_tree_is_not_behind_the_sheet(opened):
    """The ring round the tree lies on that part of the map that can be seen."""
    driver, kind = opened
    come_near(driver, 60, 120)
    tap_ground(driver, 60, 120, kind)
    years = driver.find_element(By.ID, "years").rect["y"]
    assert 0 < on_screen(driver, 60, 120)[1] < years


def test_a_tree_leads_to_its_strip(opened):
    """The card of a tree opens the strip that it stands in."""
    driver, kind = opened
    come_near(driver, 60, 120)
    tap_ground(driver, 60, 120, kind)
    click(driver, "#thing-strip")
    assert seen(driver, "[data-strip='1a'].view")


def test_a_plot_tells_what_was_counted(opened):
    """A plot answers when plots are shown, and not before."""
    driver, kind = opened
    come_near(driver, 80, 80)
    tap_ground(driver, 80, 80, kind)
    before = seen(driver, "[data-strip='1a'].view")
    back(driver)
    click(driver, "[data-part=plots]")
    come_near(driver, 80, 80)
    tap_ground(driver, 80, 80, kind)
    said = text(driver, "#thing")
    click(driver, "[data-part=plots]")
    assert before
    assert "Plot 1-1" in said
    assert "Visited, none found." in said


def test_a_road_tells_its_name(opened):
    """A tap on a line of the map says what it is, and moves nothing else."""
    driver, kind = opened
    come_near(driver, 150, -10)
    tap_ground(driver, 150, -10, kind)
    assert text(driver, ".note") == "county road"
    assert seen(driver, "#whole")


@pytest.fixture(scope="module")
def fenced(small, tmp_path_factory):
    """Return the small place's map with a fence through strip 1b and a gate on it."""
    more = gpd.GeoDataFrame(
        {"kind": ["fence", "gate"], "name": ["cross fence", "upper gate"]},
        geometry=[LineString([(150, 10), (150, 190)]), Point(150, 100)], crs=GRID,
    )  # fmt: skip
    features = gpd.GeoDataFrame(pd.concat([small.features, more], ignore_index=True), crs=GRID)
    return write_map(tmp_path_factory.mktemp("fenced"), replace(small, features=features))


@pytest.mark.parametrize(("size", "kind"), HANDS, ids=["desk", "phone"])
def test_a_fence_tells_its_name_and_opens_its_strip(fenced, size, kind):
    """The note names the fence, also to who listens; the card is the strip's beneath it."""
    with open_map(fenced, size) as driver:
        come_near(driver, 150, 60)
        tap_ground(driver, 151, 60, kind)
        assert text(driver, ".note") == "cross fence"
        assert driver.find_element(By.ID, "noted").get_attribute("textContent") == "cross fence"
        assert driver.find_element(By.ID, "noted").get_attribute("role") == "status"
        assert seen(driver, "[data-strip='1b'].view")


@pytest.mark.parametrize(("size", "kind"), HANDS, ids=["desk", "phone"])
def test_a_gate_comes_before_its_fence(fenced, size, kind):
    """A tap twelve pixels from the gate, right on the fence, means the gate."""
    with open_map(fenced, size) as driver:
        come_near(driver, 150, 100)
        across, down = on_screen(driver, 150, 100)
        tap(driver, (across, down + 12), kind)
        assert text(driver, ".note") == "upper gate"
        assert seen(driver, "#whole")


def test_a_strip_opens_beside_its_tree(opened):
    """A tap on a strip away from trees opens the strip's card."""
    driver, kind = opened
    tap_ground(driver, 150, 120, kind)
    assert seen(driver, "[data-strip='1b'].view")


def test_trees_that_are_hidden_do_not_answer(opened):
    """With trees off, a tap where one stands means the strip."""
    driver, kind = opened
    click(driver, "[data-part=trees]")
    come_near(driver, 60, 120)
    tap_ground(driver, 60, 120, kind)
    strip = seen(driver, "[data-strip='1a'].view")
    click(driver, "[data-part=trees]")
    assert strip


def test_focus_goes_to_the_card_and_comes_back(address):
    """Opening a card from the list focuses its head; closing it goes back to the list's line."""
    with open_map(address) as driver:
        line = driver.find_element(By.CSS_SELECTOR, "[data-open-block='2']")
        line.send_keys("\ue007")
        head = driver.execute_script("return document.activeElement.textContent")
        key(driver, "\ue00c")
        again = driver.execute_script("return document.activeElement.dataset.openBlock")
    assert (head, again) == ("Long pasture", "2")


def test_sheet_sinks_again_when_the_card_is_closed(address):
    """A card lifts the sheet on the phone to two thirds; without it a third is left."""
    with open_map(address, PHONE) as driver:
        tap_ground(driver, 150, 120, "touch")
        high = driver.find_element(By.ID, "panel").size["height"]
        click(driver, "[data-strip='1b'] [data-back]")
        low = driver.find_element(By.ID, "panel").size["height"]
    assert high == pytest.approx(0.67 * PHONE[1], abs=3)
    assert low == pytest.approx(0.34 * PHONE[1], abs=3)


def test_escape_closes_one_thing_at_a_time(address):
    """Escape closes the key before it closes the card."""
    with open_map(address) as driver:
        click(driver, "[data-open-strip='2']")
        click(driver, "#key-open")
        key(driver, "\ue00c")
        first = (seen(driver, "#key-list"), seen(driver, "[data-strip='2'].view"))
        key(driver, "\ue00c")
        assert first == (False, True)
        assert seen(driver, "#whole")


def test_a_tap_beside_everything_does_nothing(address):
    """Ground outside the place opens no card and no note."""
    with open_map(address) as driver:
        tap(driver, on_screen(driver, 330, 300))
        assert seen(driver, "#whole")
        assert not seen(driver, ".note")
