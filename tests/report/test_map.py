"""The map opens from disk without a network, on a desk and on a phone, whatever the names."""

import re
from dataclasses import replace

import folium
import geopandas as gpd
import numpy as np
import pytest
from affine import Affine
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.support.wait import WebDriverWait

from clearing import report
from clearing.report import assets
from tests.browser import DESKTOP, PHONE, open_browser, outside_requests, page_errors
from tests.report.map_hand import settle, tap_ground, write_map
from tests.report.small_place import HOSTILE, small_results

WIDTH_OF_PHOTO = """
return document.querySelector('.leaflet-photo-pane img')?.naturalWidth"""


@pytest.fixture(scope="module")
def address(small, tmp_path_factory):
    """Return the small place's map on disk."""
    return write_map(tmp_path_factory.mktemp("map"), small)


@pytest.fixture(scope="module")
def desk(address):
    """Give a browser on a desk with the map open."""
    with open_browser(DESKTOP) as driver:
        driver.get(address)
        yield driver


@pytest.fixture(scope="module")
def phone(address):
    """Give a browser of a phone's size with the map open."""
    with open_browser(PHONE) as driver:
        driver.get(address)
        yield driver


def state(driver, strip: int) -> str:
    """Return the state in which a strip is drawn."""
    return driver.find_element(By.CSS_SELECTOR, f"path[data-strip='{strip}']").get_attribute(
        "data-state"
    )


def press_year(driver, place: int) -> None:
    """Press a year of the year control."""
    driver.find_elements(By.CSS_SELECTOR, ".year")[place].click()


@pytest.mark.parametrize("name", sorted(assets.ASSETS))
def test_assets_are_the_texts_that_were_tried(name):
    """Each library out of the installed package has the sha256 that was tried."""
    assert len(assets.asset(name)) > 10_000


def test_an_asset_that_changed_is_refused(monkeypatch):
    """A library with another sha256 is not put into a page."""
    address, _ = assets.ASSETS["leaflet.js"]
    monkeypatch.setitem(assets.ASSETS, "leaflet.js", (address, "0" * 64))
    with pytest.raises(ValueError, match="has sha256"):
        assets.asset("leaflet.js")


def test_policy_allows_only_the_scripts_in_the_page(small):
    """The page's policy is its first line, forbids all else, and names each script by sha256."""
    page = report.map_html(small)
    found = re.search(r'<head>\n<meta http-equiv="Content-Security-Policy" content="([^"]*)"', page)
    policy = found.group(1) if found else ""
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert policy.count("'sha256-") == page.count("<script>")
    assert "unsafe-inline" not in policy.split(";")[1]


def test_map_is_a_folium_map_that_takes_own_layers(small):
    """A notebook can add a marker of its own to the map."""
    ground = report.map(small)
    folium.Marker([36.33, -85.75], tooltip="my stand").add_to(ground)
    assert isinstance(ground, folium.Map)
    assert "my stand" in ground.get_root().render()


def test_map_opens_without_any_request(desk):
    """On a desk the map draws every strip, asks for nothing outside itself, and has no error."""
    assert len(desk.find_elements(By.CSS_SELECTOR, "path[data-strip]")) == 4
    assert outside_requests(desk) == []
    assert page_errors(desk) == []


def test_first_thing_seen_is_the_sentence(desk):
    """The headline with acres, year and hours stands on the first screen."""
    head = desk.find_element(By.TAG_NAME, "h1")
    assert head.text == "15 acres taken on by 2030, about 50 hours."
    assert head.rect["y"] < 200


def test_year_control_changes_the_picture(desk):
    """A strip is hacked in 2027, sprayed again in 2028 and in grass from 2029 on."""
    seen = []
    for place in range(4):
        press_year(desk, place)
        seen.append(state(desk, 0))
    assert seen == ["standing_dead", "follow_up", "grass", "grass"]
    assert state(desk, 3) == "not_now"


def test_slider_moves_the_year_by_key(desk):
    """The slider answers to the arrow keys."""
    press_year(desk, 0)
    desk.find_element(By.ID, "slider").send_keys("\ue014")  # right arrow
    assert state(desk, 0) == "follow_up"
    assert desk.find_element(By.ID, "said").text.startswith("2028.")


def test_key_shows_only_what_is_on_the_screen(desk):
    """In 2027 nothing is mowed, so the key has no line for it."""
    press_year(desk, 0)
    lines = desk.find_elements(By.CSS_SELECTOR, "[data-sign]")
    shown = {row.get_attribute("data-sign") for row in lines if row.is_displayed()}
    assert shown == {"standing_dead", "untouched", "not_now"}


def test_pressing_a_strip_shows_its_card(desk):
    """The card says what, when, why, hours, mix, caution and cost."""
    strip = desk.find_element(By.CSS_SELECTOR, "path[data-strip='0']")
    ActionChains(desk).move_to_element_with_offset(strip, -40, 0).click().perform()
    card = desk.find_element(By.CSS_SELECTOR, "[data-strip='1a'].view").text
    promised = (
        "Summer 2027", "hack-and-squirt", "It seeds the pasture.", "About 30 hours (24 to 39)",
        "About 68 fl oz (54 to 88) of mix", "No resting under dead stems.", "$360",
    )  # fmt: skip
    assert [words for words in promised if words not in card] == []
    desk.find_element(By.CSS_SELECTOR, "[data-strip='1a'] [data-back]").click()
    assert desk.find_element(By.ID, "whole").is_displayed()


def test_unconfirmed_product_gets_no_mix(desk):
    """Where the label is not confirmed the card says so instead of a mix."""
    desk.execute_script("document.querySelector('[data-open-strip=\"1a\"]').click()")
    card = desk.find_element(By.CSS_SELECTOR, "[data-strip='1a'].view").text
    assert "Imazapyr 2: confirm it on your label first" in card
    desk.find_element(By.CSS_SELECTOR, "[data-strip='1a'] [data-back]").click()


def test_enter_on_a_strip_opens_its_card(desk):
    """A strip is reached and opened by keyboard."""
    strip = desk.find_element(By.CSS_SELECTOR, "path[data-strip='2']")
    desk.execute_script("arguments[0].focus()", strip)
    ActionChains(desk).send_keys("\ue007").perform()
    assert desk.find_element(By.CSS_SELECTOR, "[data-strip='2'].view").is_displayed()
    ActionChains(desk).send_keys("\ue00c").perform()  # Escape goes back
    assert desk.find_element(By.ID, "whole").is_displayed()


def test_block_list_moves_the_map(desk):
    """Pressing a block in the list brings it to the middle of the map."""
    desk.find_elements(By.CSS_SELECTOR, "[data-open-block]")[2].click()
    settle(desk)
    strip = desk.find_element(By.CSS_SELECTOR, "path[data-strip='3']").rect
    years = desk.find_element(By.ID, "years").rect
    assert 60 < strip["y"] < strip["y"] + strip["height"] < years["y"]
    assert strip["height"] > 300
    desk.find_element(By.CSS_SELECTOR, "[data-block='3'] [data-back]").click()


def test_phone_has_no_sideways_scroll_and_large_controls(phone):
    """At 390 px nothing runs over the edge, and every visible control is 44 px or larger."""
    wide = phone.execute_script("return document.documentElement.scrollWidth")
    assert wide <= PHONE[0]
    small = [
        (button.get_attribute("id") or button.text, button.size)
        for button in phone.find_elements(By.CSS_SELECTOR, "button, summary")
        if button.is_displayed() and (button.size["height"] < 44 or button.size["width"] < 44)
    ]
    assert small == []


def test_tap_on_the_phone_raises_the_sheet(phone):
    """A finger on a strip shows its card and lifts the sheet to two thirds."""
    tap_ground(phone, 30, 150, "touch")
    assert phone.find_element(By.CSS_SELECTOR, "[data-strip='1a'].view").is_displayed()
    high = phone.find_element(By.ID, "panel").size["height"]
    assert high == pytest.approx(0.67 * PHONE[1], abs=3)


def test_hostile_names_do_nothing(hostile, tmp_path):
    """Tags, quotes and template braces in names are shown as letters and run nowhere."""
    with open_browser(DESKTOP) as driver:
        driver.get(write_map(tmp_path, hostile))
        assert driver.execute_script("return window.hit === undefined")
        assert outside_requests(driver) == []
        assert page_errors(driver) == []
        names = [one.text for one in driver.find_elements(By.CSS_SELECTOR, ".row .name")]
    assert HOSTILE in names


@pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")  # rasterio 1.4
def test_photo_lies_where_it_was_taken(small, tmp_path):
    """A photo is packed into the page and covers its own corners."""
    array = np.full((300, 400, 3), 120, dtype=np.uint8)
    transform = Affine(1, 0, -50, 0, -1, 450)
    picture = report.photo_picture(array, transform, small.grid)
    assert picture.data[8:12] == b"WEBP"
    assert (picture.west, picture.south) == (
        pytest.approx(-85.75056, abs=1e-4), pytest.approx(36.33135, abs=1e-4)
    )  # fmt: skip
    with open_browser(DESKTOP) as driver:
        driver.get(write_map(tmp_path, small, picture))
        wide = WebDriverWait(driver, 20).until(lambda one: one.execute_script(WIDTH_OF_PHOTO))
        assert page_errors(driver) == []
    assert wide > 300


def test_map_of_fifty_thousand_trees_stays_small():
    """With 50,000 keep trees of all sizes, each somewhere else, the map is under 1.05 MB."""
    few, draw, number = small_results(), np.random.default_rng(1), 50_000
    x, y = draw.uniform(0, 300, number), draw.uniform(0, 400, number)
    trees = gpd.GeoDataFrame(
        {
            "tree_id": [f"T{place}" for place in range(number)], "crown_from": "measured",
            "species": draw.choice(["white_oak", "black_cherry", "persimmon"], number),
            "dbh_cm": draw.uniform(10, 120, number), "crown_m": draw.uniform(3, 20, number),
            "block_id": "1",
        },
        geometry=gpd.points_from_xy(x, y), crs=few.grid,
    )  # fmt: skip
    assert len(report.map_html(replace(few, keep_trees=trees)).encode()) < 1_050_000
