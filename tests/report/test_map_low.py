"""The map in low windows, turned, with long plans, by keyboard, and under the full sheet."""

from dataclasses import replace

import pytest
from selenium.webdriver.common.by import By

from tests.browser import DESKTOP, PHONE
from tests.report.map_hand import click, come_near, open_map, seen, settle, text, write_map
from tests.report.years_ahead import many_years

LOW = [(844, 390), (800, 450), (740, 360), (915, 412), (320, 215)]
HIGH = """
const own = [...document.querySelectorAll('path[data-strip]')].map(p => p.getBoundingClientRect());
const down = Math.max(...own.map(b => b.bottom)) - Math.min(...own.map(b => b.top));
return down / map_place.getSize().y;
"""
SIZE = "Emulation.setDeviceMetricsOverride"


@pytest.fixture(scope="module")
def address(small, tmp_path_factory):
    """Return the small place's map on disk."""
    return write_map(tmp_path_factory.mktemp("map"), small)


@pytest.fixture(scope="module")
def long_address(small, tmp_path_factory):
    """Return the map of a plan of fourteen years."""
    plan = many_years(14)
    last = {year: replace(plan.strips[0].years[-1], year=year) for year in plan.years}

    def longer(strip):
        return replace(strip, years=tuple((last | {one.year: one for one in strip.years}).values()))

    blocks = tuple(
        replace(block, strips=tuple(longer(strip) for strip in block.strips))
        for block in plan.blocks
    )
    told = replace(plan, blocks=blocks)
    return write_map(tmp_path_factory.mktemp("map"), small, None, told)


def turn(driver, wide: int, high: int) -> None:
    """Make the window another size."""
    sizes = {"width": wide, "height": high, "deviceScaleFactor": 1, "mobile": True}
    driver.execute_cdp_cmd(SIZE, sizes)
    settle(driver)


@pytest.mark.parametrize("size", LOW)
def test_map_works_in_low_windows(address, size):
    """Without an error the year control steps and the page's script runs to its end."""
    with open_map(address, size) as driver:
        driver.execute_script("document.querySelectorAll('.year')[1].click()")
        assert text(driver, "#said")[:4] == "2028"
        assert driver.execute_script("return performance.getEntriesByName('map-drawn').length") == 1


@pytest.mark.parametrize("size", LOW[:4])
def test_property_fills_a_third_of_a_low_map(address, size):
    """From top to bottom the strips take a third of the map at least."""
    with open_map(address, size) as driver:
        assert driver.execute_script(HIGH) >= 1 / 3


def test_a_turned_phone_shows_the_place_again(address):
    """Who turns the phone after the map was drawn sees the whole place, beside the plan."""
    with open_map(address, PHONE) as driver:
        turn(driver, 844, 390)
        panel = driver.find_element(By.ID, "panel").rect
        assert (panel["x"], panel["height"]) == (0, 390)
        assert panel["width"] < 844 / 3
        assert driver.execute_script(HIGH) >= 1 / 3


def test_a_map_that_was_moved_stays_when_turned(address):
    """Who moved the map keeps its middle over a turn."""
    with open_map(address, PHONE) as driver:
        click(driver, "#nearer")
        come_near(driver, 60, 120)
        turn(driver, 844, 390)
        assert driver.execute_script("return map_place.getZoom()") == 18


def test_chosen_year_of_a_long_plan_comes_into_sight(long_address):
    """On the phone the last of fourteen years scrolls in, with buttons beside Play, no slider."""
    with open_map(long_address, PHONE) as driver:
        assert seen(driver, "#later")
        driver.execute_script("document.querySelectorAll('.year')[13].click()")
        last = driver.find_elements(By.CSS_SELECTOR, ".year")[13].rect
        assert last["x"] + last["width"] <= PHONE[0]
        assert not seen(driver, "#slider")


def test_sentence_opens_whole_at_a_tap(long_address):
    """On the phone the sentence has two lines until it is tapped."""
    with open_map(long_address, PHONE) as driver:
        driver.execute_script("document.getElementById('said').textContent += ' words'.repeat(60)")
        low = driver.find_element(By.ID, "said-all").size["height"]
        click(driver, "#said-all")
        driver.execute_script("document.getElementById('said').textContent += ' words'.repeat(60)")
        assert driver.find_element(By.ID, "said-all").size["height"] > 2 * low


def test_full_sheet_hides_what_lies_under_it(address):
    """At the full stop neither tools nor key are seen or reached by Tab."""
    with open_map(address, PHONE) as driver:
        click(driver, "#handle")
        click(driver, "#handle")
        hidden = driver.execute_script(
            "return ['tools', 'key'].map(id => getComputedStyle("
            "document.getElementById(id).querySelector('button')).visibility)"
        )
        assert hidden == ["hidden", "hidden"]


@pytest.mark.parametrize("size", [DESKTOP, PHONE, *LOW[:2]])
def test_open_key_leaves_the_tools_free(address, size):
    """The list of the key and the row of tools do not overlap, and the list ends in the window."""
    with open_map(address, size) as driver:
        click(driver, "#key-open")
        tools = driver.find_elements(By.CSS_SELECTOR, ".tools button")
        low = max(one.rect["y"] + one.rect["height"] for one in tools if one.is_displayed())
        box = driver.find_element(By.ID, "key-list").rect
        assert box["y"] >= low
        assert box["y"] + box["height"] <= size[1]
        assert box["height"] > 100


def test_strip_reached_by_key_comes_into_sight(address):
    """A strip that lies outside the map is brought in when Tab comes to it."""
    with open_map(address) as driver:
        come_near(driver, 900, 900)
        driver.execute_script("document.querySelector(\"path[data-strip='0']\").focus()")
        settle(driver)
        at = driver.execute_script(
            "return map_place.getBounds().contains("
            "L.latLng(JSON.parse(document.getElementById('plan-data').textContent).strips[0].at))"
        )
        assert at


def test_list_of_blocks_stands_within_two_screens_of_the_phone(long_address):
    """The front of a plan of fourteen years comes to its blocks within two screens."""
    with open_map(long_address, PHONE) as driver:
        down = driver.execute_script(
            "return document.querySelector('[data-open-block]').getBoundingClientRect().top -"
            " document.getElementById('scroll').getBoundingClientRect().top"
        )
        assert down <= 2 * PHONE[1]


def test_each_rule_has_its_own_hatch(address):
    """No two rules of the key share a pattern, and each pattern is there."""
    with open_map(address) as driver:
        fills = driver.execute_script(
            "return [...document.querySelectorAll('.parts [fill^=\"url(#rule-\"]')].map(one =>"
            " one.getAttribute('fill').slice(5, -1)).filter(id => document.getElementById(id))"
        )
    assert len(set(fills)) == len(fills) == 4
