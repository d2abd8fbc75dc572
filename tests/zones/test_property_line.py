"""No stem may be left to fall over the property line, however the line was drawn."""

import pytest
import shapely

from tests.zones.farm import at_point, walk_features, zones_of

CORNERS = [(20, 20), (380, 20), (380, 380), (20, 380), (20, 20)]
RING = shapely.LineString(CORNERS)
SIDES = [shapely.LineString(CORNERS[i : i + 2]) for i in range(4)]
DRAWN = {
    "area": [shapely.Polygon(CORNERS)],
    "closed line": [RING],
    "four lines": SIDES,
    "one row of lines": [shapely.MultiLineString(SIDES)],
    "two parcels": [shapely.box(20, 20, 200, 380), shapely.box(200, 20, 380, 380)],
}
TALLEST = 18.0


def zones_with(shapes):
    """Return the zones of the strip of 400 m by 400 m with a property line of these shapes."""
    return zones_of(walk_features(*(("property_line", shape) for shape in shapes)))


@pytest.mark.parametrize("drawn", DRAWN)
def test_however_the_line_is_drawn_the_zones_are_the_same(drawn):
    """An area, a closed line, its sides, two parcels that meet: the same ground is held."""
    zones = zones_with(DRAWN[drawn])
    free = zones[zones["fall_from"] == ""]["area_ha"].sum()
    assert free * 1e4 == pytest.approx((360 - 2 * TALLEST) ** 2, rel=1e-9)
    for size, height in (("1_3in", 6), ("3_6in", 10), ("6_10in", 14), ("over_10in", TALLEST)):
        beyond = 400**2 - 360**2 if size == "1_3in" else 0.0
        shorter = {6: 0, 10: 6, 14: 10, 18: 14}[int(height)]
        band = (360 - 2 * shorter) ** 2 - (360 - 2 * height) ** 2
        held = zones[zones["fall_from"] == size]["area_ha"].sum() * 1e4
        assert held == pytest.approx(band + beyond, rel=1e-9)


def test_ground_beyond_a_closed_line_is_the_neighbours_side():
    """A block drawn over the line: on the far side even the thinnest stem may not stay."""
    zones = zones_with([shapely.LineString([(-50, -50), (300, -50), (300, 450), (-50, 450),
                                            (-50, -50)])])  # fmt: skip
    assert at_point(zones, shapely.Point(390, 200)) == [("fall_reach", "1_3in", "")]
    assert zones[zones["fall_from"] == "1_3in"]["near"].tolist() == ["property_line"]
    assert at_point(zones, shapely.Point(200, 200)) == [("open", "", "")]


def test_a_closed_line_around_somebody_elses_piece_holds_its_inside():
    """An inholding of 60 m by 60 m in the middle of the strip is not the owner's."""
    zones = zones_with([shapely.LineString([(170, 170), (230, 170), (230, 230), (170, 230),
                                            (170, 170)])])  # fmt: skip
    assert at_point(zones, shapely.Point(200, 200)) == [("fall_reach", "1_3in", "")]
    assert at_point(zones, shapely.Point(60, 60)) == [("open", "", "")]


def test_an_area_with_a_hole_holds_both_rims():
    """The line around the property and around an inholding, drawn as one area."""
    hole = [(170, 170), (230, 170), (230, 230), (170, 230)]
    zones = zones_with([shapely.Polygon([(-9, -9), (409, -9), (409, 409), (-9, 409)], [hole])])
    assert at_point(zones, shapely.Point(200, 200)) == [("fall_reach", "1_3in", "")]
    assert at_point(zones, shapely.Point(200, 235)) == [("fall_reach", "1_3in", "")]
    assert at_point(zones, shapely.Point(2, 200)) == [("fall_reach", "6_10in", "")]


def test_an_open_line_holds_both_its_sides_and_no_more():
    """Nobody can say which side of a line that does not close is whose."""
    zones = zones_with([shapely.LineString([(200, -50), (200, 450)])])
    held = zones[zones["fall_from"] != ""]["area_ha"].sum() * 1e4
    assert held == pytest.approx(400 * 2 * TALLEST, rel=1e-9)
