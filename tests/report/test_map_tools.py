"""Measuring on the map, and where somebody is: granted, refused, not to be had."""

import pytest
from pyproj import Geod
from selenium.webdriver.common.by import By

from tests.browser import DESKTOP, PHONE
from tests.report.map_hand import (
    MAP,
    click,
    degrees,
    key,
    on_screen,
    open_map,
    seen,
    tap,
    tap_ground,
    text,
    write_map,
)  # fmt: skip

CORNERS = [(110, 60), (190, 60), (190, 160)]  # a right triangle of 80 m by 100 m [m]
FT, ACRE_M2 = 0.3048, 4046.8564224


@pytest.fixture(scope="module")
def address(small, tmp_path_factory):
    """Return the small place's map on disk."""
    return write_map(tmp_path_factory.mktemp("map"), small)


@pytest.fixture(params=[(DESKTOP, "mouse"), (PHONE, "touch")], ids=["desk", "phone"])
def hand(request, address):
    """Give a browser and the kind of its hand."""
    size, kind = request.param
    with open_map(address, size) as driver:
        yield driver, kind


def measure(driver, kind: str, corners) -> None:
    """Set corners."""
    click(driver, "#measure")
    for corner in corners:
        tap_ground(driver, *corner, kind)


def test_three_corners_give_length_and_ground(hand):
    """Length and area agree with the ellipsoid's (pyproj.Geod) to what a pixel is wide."""
    driver, kind = hand
    measure(driver, kind, CORNERS)
    words = text(driver, "#ruler-said").replace(",", "")
    places = [degrees(*corner) for corner in CORNERS]
    lat, lng = [one[0] for one in places], [one[1] for one in places]
    geod = Geod(ellps="WGS84")
    feet = geod.line_length(lng, lat) / FT
    acres = abs(geod.polygon_area_perimeter(lng, lat)[0]) / ACRE_M2
    said = words.split()
    assert float(said[0]) == pytest.approx(feet, rel=0.02)
    assert float(said[5]) == pytest.approx(acres, rel=0.04)


def test_lines_that_cross_have_no_area(hand):
    """A bow tie gets its length, and no area."""
    driver, kind = hand
    measure(driver, kind, [(110, 60), (190, 160), (190, 60), (110, 160)])
    words = text(driver, "#ruler-said")
    assert words.endswith("along the corners; the lines cross: no area.")
    assert words[0].isdigit()


def test_a_corner_tapped_twice_is_one_corner(hand):
    """A second tap within 6 pixels of the last corner sets none."""
    driver, kind = hand
    measure(driver, kind, CORNERS[:2])
    before = text(driver, "#ruler-said")
    across, down = on_screen(driver, *CORNERS[1])
    tap(driver, (across + 3, down - 2), kind)
    assert text(driver, "#ruler-said") == before


def test_a_line_closed_on_its_first_corner_has_its_area(address):
    """A tap a few pixels past the first corner closes the ring there; no lines cross."""
    with open_map(address) as driver:
        measure(driver, "mouse", CORNERS)
        open_said = text(driver, "#ruler-said").split("; ")[1]
        across, down = on_screen(driver, *CORNERS[0])
        tap(driver, (across + 5, down + 6))
        assert text(driver, "#ruler-said").split("; ")[1] == open_said


def test_a_tap_while_measuring_opens_no_card(hand):
    """Corners on a strip are corners and nothing else."""
    driver, kind = hand
    measure(driver, kind, CORNERS[:1])
    assert text(driver, "#ruler-said") == "Tap the next corner."
    assert seen(driver, "#whole")


def test_corner_back_done_and_clear(address):
    """The last corner goes; done keeps the line; clear takes it away."""
    with open_map(address) as driver:
        measure(driver, "mouse", CORNERS)
        click(driver, "#ruler-back")
        two = text(driver, "#ruler-said")
        click(driver, "#ruler-done")
        tap_ground(driver, 250, 60)
        card = seen(driver, "[data-strip='2'].view")
        kept = text(driver, "#ruler-said")
        click(driver, "#ruler-clear")
        assert two.endswith("along the corners.")
        assert card
        assert kept == two
        assert not seen(driver, "#ruler")
        assert not seen(driver, "path.measured")


def test_escape_ends_measuring(hand):
    """Escape takes the line away; taps open cards again."""
    driver, kind = hand
    measure(driver, kind, CORNERS[:2])
    key(driver, "\ue00c")
    assert not seen(driver, "#ruler")
    tap_ground(driver, 150, 120, kind)
    assert seen(driver, "[data-strip='1b'].view")


def allow(driver, setting: str) -> None:
    """Grant or refuse the page a position."""
    driver.execute_cdp_cmd(
        "Browser.setPermission", {"permission": {"name": "geolocation"}, "setting": setting}
    )


def stand(driver, x: float, y: float, accuracy: float) -> None:
    """Stand somewhere on the small place [m]."""
    lat, lng = degrees(x, y)
    driver.execute_cdp_cmd(
        "Emulation.setGeolocationOverride",
        {"latitude": lat, "longitude": lng, "accuracy": accuracy},
    )


def test_who_stands_in_a_strip_is_told_its_name(hand):
    """A dot with the ring of its accuracy, and the strip's name."""
    driver, _ = hand
    allow(driver, "granted")
    stand(driver, 250, 60, 9.1)
    click(driver, "#where")
    assert text(driver, "#told-said") == "You are in Strip 2. Give or take 30 ft."
    assert seen(driver, "path.here")
    box = driver.find_element(By.CSS_SELECTOR, "path.about-here").rect
    pixels = driver.execute_script(
        f"return 9.1 / (40075016.686 * Math.cos({degrees(250, 60)[0]} * Math.PI / 180)"
        f" / (256 * 2 ** {MAP}.getZoom()))"
    )
    assert box["width"] == pytest.approx(2 * pixels, abs=4)


def test_the_dot_is_not_behind_the_sheet(hand):
    """Even with a card open on the phone the dot comes to where it can be seen."""
    driver, _ = hand
    allow(driver, "granted")
    click(driver, "[data-open-strip='1a']")
    stand(driver, 280, 20, 9.1)
    click(driver, "#where")
    years = driver.find_element(By.ID, "years").rect["y"]
    assert 0 < on_screen(driver, 280, 20)[1] < years


def test_who_stands_outside_is_told_how_far(address):
    """Sixty metres (about 200 ft) east of the last block, its name is told."""
    with open_map(address) as driver:
        allow(driver, "granted")
        stand(driver, 360, 100, 30)
        click(driver, "#where")
        said = text(driver, "#told-said")
    assert said == (
        "You are about 200 ft from the nearest block, Long pasture. Give or take 98 ft."
    )


def test_a_rough_position_names_no_field(hand):
    """Give or take 2.5 miles (4023 m) names neither strip nor block, and the ring is not filled."""
    driver, _ = hand
    allow(driver, "granted")
    stand(driver, 250, 60, 4023)
    click(driver, "#where")
    assert text(driver, "#told-said") == (
        "You are within about 2.5 miles of here; too rough to say which field."
    )
    ring = driver.find_element(By.CSS_SELECTOR, "path.about-here")
    assert ring.get_attribute("fill") == "none"


def test_a_position_too_rough_for_a_strip_may_name_its_block(address):
    """2 ha of strip are a circle of 80 m, 4 ha of block one of 113 m: 100 m names the block."""
    with open_map(address) as driver:
        allow(driver, "granted")
        stand(driver, 150, 60, 100)
        click(driver, "#where")
        assert text(driver, "#told-said").startswith("You are in Road field. Give or take 330 ft.")


def test_who_is_far_away_leaves_the_map_where_it_is(address):
    """From 50 km away the map does not run off to empty ground."""
    with open_map(address) as driver:
        allow(driver, "granted")
        before = on_screen(driver, 100, 100)
        stand(driver, 50_000, 100, 30)
        click(driver, "#where")
        assert on_screen(driver, 100, 100) == before
        assert "31 miles from the nearest block" in text(driver, "#told-said")


def test_a_refusal_gets_a_calm_sentence(hand):
    """Refused, the page says what can be done, and draws nothing."""
    driver, _ = hand
    allow(driver, "denied")
    click(driver, "#where")
    assert text(driver, "#told-said").startswith("This page was not allowed to ask")
    assert not seen(driver, "path.here")
    click(driver, "#told-close")
    assert not seen(driver, "#told")


@pytest.mark.parametrize(
    ("code", "words"), [(2, "There is no position here"), (3, "No position came in time")]
)
def test_no_position_and_no_time_get_their_sentence(address, code, words):
    """Unavailable and too slow are told apart."""
    with open_map(address) as driver:
        driver.execute_script(
            "const code = arguments[0];"
            "navigator.geolocation.getCurrentPosition = (found, failed) => failed({code})",
            code,
        )
        click(driver, "#where")
        assert text(driver, "#told-said").startswith(words)


def test_measuring_is_in_reach_of_both_hands(address):
    """While measuring on the phone its buttons are large enough for a finger."""
    with open_map(address, PHONE) as driver:
        click(driver, "#measure")
        sizes = [
            one.size for one in driver.find_elements(By.CSS_SELECTOR, "#ruler button")
            if one.is_displayed()
        ]  # fmt: skip
        tap(driver, on_screen(driver, 150, 120), "touch")
    assert len(sizes) == 3
    assert all(size["width"] >= 44 and size["height"] >= 44 for size in sizes)
