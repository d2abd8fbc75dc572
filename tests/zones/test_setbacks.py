"""A setback that an owner gives holds on whatever it is given, and never loosens a rule."""

import math

import pytest
import shapely

from tests.small_ground import SIZES
from tests.zones.farm import RATES, at_point, walk_features, zones_of

LINE = shapely.LineString([(-50, 0), (450, 0)])  # along the south edge of the strip
UPPER = dict(zip(SIZES, (0, 2, 6, 10, 14, 18), strict=True))


def depth_m(zones, flag: str, fall_from: str | None = None) -> float:
    """Return how far north of the line the ground of a flag reaches [m]."""
    own = zones[zones["flags"].str.contains(flag)]
    own = own if fall_from is None else own[own["fall_from"] == fall_from]
    return float(own["area_ha"].sum()) * 1e4 / 400


@pytest.mark.parametrize(("kind", "item"), [("water", "water_edge_m"), ("well", "well_m")])
def test_by_water_and_wells_the_owners_setback_stands_for_the_handbooks(kind, item):
    """Without one the handbook's, with one the owner's label's, be it more or less."""
    default = RATES.figure("zone", item).value
    for given, wanted in ((math.nan, default), (3.0, 3.0), (61.0, 61.0), (0.0, 0.0)):
        zones = zones_of(walk_features((kind, LINE, given)))
        assert depth_m(zones, "water_edge") == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("kind", ["building", "public_road", "power_line", "property_line"])
def test_where_stems_may_not_fall_the_larger_of_setback_and_rule_holds(kind):
    """With 20 m asked, stems of 6 m are held to 20 m, and 18 m ones to their 27 m from a road."""
    factor = 1.0 if kind == "property_line" else 1.5
    zones = zones_of(walk_features((kind, LINE, 20.0)))
    bands = [max(factor * UPPER[size], 20.0) for size in SIZES[2:]]
    assert depth_m(zones, "fall_reach", "1_3in") == pytest.approx(20.0, rel=1e-9)
    assert depth_m(zones, "fall_reach") == pytest.approx(max(bands), rel=1e-9)
    smaller = zones_of(walk_features((kind, LINE, 1.0)))
    assert depth_m(smaller, "fall_reach", "1_3in") == pytest.approx(factor * 6, rel=1e-9)


@pytest.mark.parametrize("kind", ["fence", "farm_road", "trail", "gate"])
def test_a_setback_makes_a_ban_of_the_owners_own_things(kind):
    """Without one they are a price; with 12 m no stem may be left to fall within 12 m."""
    assert depth_m(zones_of(walk_features((kind, LINE))), "fall_reach") == 0.0
    zones = zones_of(walk_features((kind, LINE, 12.0)))
    assert depth_m(zones, "fall_reach", "1_3in") == pytest.approx(12.0, rel=1e-9)


def test_within_a_power_lines_setback_no_stem_that_falls_is_the_owners():
    """A right of way of 25 m: from 1 in up the utility's; thinner stems by the rule."""
    zones = zones_of(walk_features(("power_line", LINE, 25.0)))
    assert at_point(zones, shapely.Point(200, 24.9))[0][2] == "1_3in"
    assert at_point(zones, shapely.Point(200, 25.1))[0][2] == ""
    thin = UPPER["under_1in"] + RATES.figure("zone", "power_clearance_m").value
    wire = RATES.figure("zone", "power_wire_height_m").low
    near = zones[zones["power_from"] == "under_1in"]["area_ha"].sum() * 1e4 / 400
    assert near == pytest.approx(math.sqrt(thin**2 - wire**2), rel=1e-9)


def test_a_crops_setback_is_ground_of_plants_that_stay():
    """The ground 30 m from the neighbour's corn is kept like a tree's; none given, none kept."""
    corn = shapely.box(-50, -200, 450, 0)
    zones = zones_of(walk_features(("crop", corn, 30.0)))
    assert depth_m(zones, "dripline") == pytest.approx(30.0, rel=1e-9)
    assert zones.loc[zones["flags"] == "dripline", "near"].tolist() == ["crop"]
    assert depth_m(zones_of(walk_features(("crop", corn))), "dripline") == 0.0


def test_a_neighbours_tree_drawn_by_its_crown_keeps_one_more_radius():
    """A crown of 8 m radius: roots to twice that from the stem; a setback of 20 m is more."""
    crown = shapely.Point(200, 200).buffer(8, quad_segs=64)
    zones = zones_of(walk_features(("neighbour_tree", crown)))
    assert at_point(zones, shapely.Point(200, 215.9))[0][0] == "dripline"
    assert at_point(zones, shapely.Point(200, 216.2))[0][0] == "open"
    wide = zones_of(walk_features(("neighbour_tree", crown, 20.0)))
    assert at_point(wide, shapely.Point(200, 227.9))[0][0] == "dripline"


@pytest.mark.parametrize(
    "shape",
    [shapely.Point(200, 200), shapely.LineString([(190, 200), (210, 200)]),
     shapely.box(190, 190, 210, 210)],
)  # fmt: skip
@pytest.mark.parametrize(("kind", "flag"), [("building", "fall_reach"), ("water", "water_edge"),
                                            ("power_line", "fall_reach")])  # fmt: skip
def test_things_may_be_points_lines_or_areas(kind, flag, shape):
    """Whatever the shape, ground within the distance of it is held and beyond it is not."""
    zones = zones_of(walk_features((kind, shape, 40.0)))
    held = zones[zones["flags"].str.contains(flag)].geometry.union_all()
    assert held.contains(shape.buffer(40.0 * (1 - 1e-9)))
    assert shape.buffer(40.0 * 1.0013, quad_segs=256).contains(held)


def test_ground_under_a_power_line_drawn_as_an_area_is_all_the_utilitys():
    """A right of way drawn 30 m wide: its middle counts like its edge."""
    way = shapely.box(185, -50, 215, 450)
    zones = zones_of(walk_features(("power_line", way)))
    assert at_point(zones, shapely.Point(200, 200))[0] == ("fall_reach+power_line", "1_3in",
                                                           "under_1in")  # fmt: skip
