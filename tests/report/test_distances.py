"""Lengths and areas of map and drawing page beside those of the ellipsoid."""

import numpy as np
import pytest
from pyproj import Geod

from clearing.report.assets import asset
from clearing.report.shared import shared_text
from tests.browser import open_browser

GEOD = Geod(ellps="WGS84")  # Karney's geodesics, as pyproj has them
OFF = 0.005  # promised: half a percent
ASK = """
const [line, ring] = arguments;
return [DISTANCES.lengthOf(line), DISTANCES.areaOf({type: "Polygon", coordinates: [ring]})];
"""


@pytest.fixture(scope="module")
def driver():
    """Give a browser that knows nothing but the distances."""
    with open_browser() as driver:
        driver.get("about:blank")
        driver.execute_script(asset("leaflet.js"))
        driver.execute_script(f"{shared_text('distances.js')}\nwindow.DISTANCES = DISTANCES;")
        yield driver


@pytest.mark.parametrize("lat", [-45.0, 5.0, 36.3, 61.0])
@pytest.mark.parametrize("reach_m", [30.0, 400.0, 8000.0])
def test_lengths_and_areas_are_the_ellipsoids(driver, lat, reach_m):
    """Random rings of a garden, a place and a township, from the tropics to the north."""
    draw = np.random.default_rng(int(reach_m))
    turns = np.sort(draw.uniform(0, 360, 9))
    away = reach_m * draw.uniform(0.3, 1.0, 9)
    lng, north, _ = GEOD.fwd([-85.7] * 9, [lat] * 9, turns, away)
    ring = [list(one) for one in zip(lng, north, strict=True)]
    length, area = driver.execute_script(ASK, ring, ring)
    assert length == pytest.approx(GEOD.line_length(lng, north), rel=OFF)
    assert area == pytest.approx(abs(GEOD.polygon_area_perimeter(lng, north)[0]), rel=OFF)


@pytest.mark.parametrize(
    ("metres", "us", "words"),
    [
        (61.0, True, "200 ft"), (7.2, False, "7 m"), (49_700.0, True, "31 miles"),
        (1234.0, False, "1.2 km"), (0.1, True, "1 ft"),
    ],
)  # fmt: skip
def test_a_place_that_is_not_sure_is_said_with_two_figures(driver, metres, us, words):
    """Feet and miles (0.3048 m and 1609.344 m, exact), metres and kilometres."""
    assert driver.execute_script("return DISTANCES.sayRough(...arguments)", metres, us) == words


def test_the_nearest_point_of_a_line_is_found_on_its_side(driver):
    """From 0.001 degrees east of a line along a meridian it is that far, not to a corner."""
    away = driver.execute_script("return DISTANCES.metresTo([-85.749, 36.33], arguments[0])",
                                 [[-85.75, 36.30], [-85.75, 36.36]])  # fmt: skip
    assert away == pytest.approx(GEOD.line_length([-85.75, -85.749], [36.33, 36.33]), rel=OFF)
