"""Ways in: degrees, geo addresses, the road."""

import dataclasses
import re

import pytest
from pyproj import Geod

from clearing.report import summarise
from clearing.report.way_in import geo_address, ways_in
from tests.report.small_place import small_results


@pytest.fixture(scope="module")
def ways():
    """Return the ways in of the small place."""
    small = small_results()
    return ways_in(small, summarise(small).strips)


def test_address_has_the_form_of_the_standard():
    """RFC 5870, 3.3: coord-a "," coord-b, each [-] 1*DIGIT [. 1*DIGIT]; 6.1 has this place."""
    number = r"-?\d+(\.\d+)?"
    assert re.fullmatch(f"geo:{number},{number}", geo_address(-48.201, 16.3695))
    assert [float(part) for part in geo_address(48.2010, 16.3695)[4:].split(",")] == [
        48.2010, 16.3695
    ]  # fmt: skip


def test_ways_in_lie_where_the_grid_has_them(ways):
    """100 m east in the grid is 100 m along the ellipsoid (GeographicLib's geodesic), to 1.5 m."""
    first, second = ways["1a"], ways["1b"]
    away = Geod(ellps="WGS84").inv(
        first.longitude, first.latitude, second.longitude, second.latitude
    )[2]
    assert away == pytest.approx(100.0, abs=1.5)


def test_nearest_public_road_is_named(ways):
    """The small place has one public road with a name."""
    assert {way.road for way in ways.values()} == {"county road"}


def test_a_road_without_a_name_leaves_a_line_to_fill_in():
    """A name that is only the kind of feature names no road."""
    small = small_results()
    features = small.features.assign(name="public road")
    unnamed = dataclasses.replace(small, features=features)
    assert {way.road for way in ways_in(unnamed, summarise(small).strips).values()} == {""}


def test_where_no_road_is_drawn_nothing_is_called_a_way_in():
    """Without road, trail or gate the point is one on the strip's edge and is told as such."""
    small = small_results()
    bare = dataclasses.replace(small, features=small.features.iloc[1:])
    ways = ways_in(bare, summarise(bare).strips).values()
    assert {way.walk for way in ways} == {"no road or gate is drawn: point on the strip's edge"}
    assert not any(way.drawn for way in ways)
