"""The way on foot: straight where nothing is in the way, else round ponds, buildings, crops."""

import math

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing.zones import cut_strips
from clearing.zones.footing import MOST_CORNERS, footing, on_foot, walls_in
from tests.zones.farm import owner_layer, walk_blocks, walk_features

POND = ("water", shapely.box(100, -50, 200, 50))
SPOTS = st.tuples(st.floats(-50, 350), st.floats(-150, 150))


def walk(start, shape, *features):
    """Return the metres on foot from a spot to a shape, and where they end."""
    ground = footing(walls_in(walk_features(*features)))
    metres, ends = on_foot(shapely.Point(start), np.array([shape], dtype=object), ground)
    return float(metres[0]), ends[0]


def test_without_anything_in_the_way_it_is_the_straight_distance():
    """From (0, 0) to a box 300 m away, with a creek drawn as a line between: 300 m."""
    creek = ("water", shapely.LineString([(150, -500), (150, 500)]))
    far, end = walk((0, 0), shapely.box(300, -10, 320, 10), creek)
    assert far == pytest.approx(300)
    assert (end.x, end.y) == pytest.approx((300, 0))


def test_round_a_square_pond_it_is_euclids_detour():
    """From (0, 0) to (300, 0): to a corner 100 along and 50 off, 100 along the edge, and back."""
    far, _ = walk((0, 0), shapely.Point(300, 0), POND)
    assert far == pytest.approx(2 * math.hypot(100, 50) + 100, rel=1e-12)


def test_it_reaches_the_side_of_a_strip_that_faces_the_path():
    """Behind the pond the way ends where the last leg meets the strip square on."""
    strip = shapely.box(300, -200, 400, 200)
    far, end = walk((0, 0), strip, POND)
    assert far == pytest.approx(math.hypot(100, 50) + 200, rel=1e-12)
    assert abs(end.y) == pytest.approx(50)


def test_a_side_that_is_not_the_nearest_is_found_when_the_nearest_is_hidden():
    """The nearest point of an L lies behind the barn; its other arm is reached straight on."""
    barn = ("building", shapely.box(40, -5, 60, 5))
    arm = shapely.union_all([shapely.box(100, -100, 110, 100), shapely.box(-10, 100, 110, 110)])
    far, end = walk((0, 0), arm, barn)
    assert far == pytest.approx(100, rel=1e-12)
    assert (end.x, end.y) == pytest.approx((0, 100))


@pytest.mark.parametrize("kind", ["water", "building", "crop"])
def test_ponds_buildings_and_crops_drawn_as_areas_are_walked_round(kind):
    """Whatever of the three is in the way, the way is longer."""
    assert walk((0, 0), shapely.Point(300, 0), (kind, POND[1]))[0] > 320


@pytest.mark.parametrize("kind", ["public_road", "farm_road", "fence", "power_line"])
def test_other_areas_are_walked_across(kind):
    """A road drawn as an area is no obstacle."""
    assert walk((0, 0), shapely.Point(300, 0), (kind, POND[1]))[0] == pytest.approx(300)


def test_ground_that_holds_the_way_in_itself_is_no_obstacle():
    """A gate in the corn: the corn is crossed, the pond behind it is not."""
    corn = ("crop", shapely.box(-20, -90, 90, 90))
    far, _ = walk((0, 0), shapely.Point(300, 0), corn, POND)
    assert far == pytest.approx(2 * math.hypot(100, 50) + 100, rel=1e-12)


def test_a_strip_on_an_island_is_reached_straight():
    """Water on all sides: somebody has a boat, and the distance is the straight one."""
    ring = ("water", shapely.Point(300, 0).buffer(50).difference(shapely.Point(300, 0).buffer(20)))
    far, _ = walk((0, 0), shapely.Point(300, 0).buffer(20), ring)
    assert far == pytest.approx(280, abs=0.1)


@settings(max_examples=60, deadline=None)
@given(SPOTS, SPOTS)
def test_the_way_back_is_as_long_and_never_shorter_than_straight(one, two):
    """Between two spots about a pond and a barn, either way is the same and at least straight."""
    barn = ("building", shapely.Polygon([(120, 80), (170, 100), (160, 130), (110, 110)]))
    there, _ = walk(one, shapely.Point(two), POND, barn)
    back, _ = walk(two, shapely.Point(one), POND, barn)
    walls = walls_in(walk_features(POND, barn))
    if not shapely.intersects(walls, shapely.points([one, two])[:, None]).any():
        assert there == pytest.approx(back, rel=1e-9, abs=1e-6)
    assert min(there, back) >= math.dist(one, two) - 1e-9


def test_a_round_pond_costs_what_its_rim_costs():
    """Two tangents and an arc: within the metre by which the rim is simplified."""
    pond = ("water", shapely.Point(150, 0).buffer(50, quad_segs=64))
    far, _ = walk((0, 0), shapely.Point(300, 0), pond)
    turn = math.pi - 2 * math.acos(50 / 150)
    assert far == pytest.approx(2 * math.sqrt(150**2 - 50**2) + 50 * turn, abs=1.5)


def test_the_way_in_of_a_strip_goes_round_the_pond():
    """A strip behind the pond, a gate before it: the table has the detour."""
    blocks = walk_blocks(shapely.box(300, -200, 400, 200))
    features = walk_features(("gate", shapely.Point(0, 0)), POND)
    strips = cut_strips(blocks, features, owner_layer("strips", []), 5.0)
    assert strips["way_in_m"][0] == pytest.approx(math.hypot(100, 50) + 200, rel=1e-12)
    assert strips["way_in_x_m"][0] == pytest.approx(300)


def test_ponds_of_many_corners_are_simplified_to_a_number_that_stays_quick():
    """Forty ponds of 200 corners each before 200 strips: few corners, no way under the straight."""
    draw = np.random.default_rng(4)
    ponds = gpd.GeoSeries(gpd.points_from_xy(*draw.uniform(0, 2000, (2, 40)))).buffer(40, 50)
    ground_of = walk_features(*(("water", pond) for pond in ponds))
    strips = np.array([shapely.box(x, y, x + 90, y + 90) for x in range(0, 2000, 100)
                       for y in range(0, 1000, 100)])  # fmt: skip
    ground = footing(walls_in(ground_of))
    metres, _ = on_foot(shapely.Point(1000, 2500), strips, ground)
    assert len(ground.corners) <= MOST_CORNERS
    assert (metres >= shapely.distance(shapely.Point(1000, 2500), strips) - 1e-9).all()
