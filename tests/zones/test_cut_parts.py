"""The part of a strip that was done is cut off, and the rest stays whole."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from clearing.zones import part_off, split_strips

BENT = shapely.Polygon([(0, 0), (100, 0), (100, 50), (40, 50), (40, 120), (0, 120)])
SIDES = ("near", "far", "north", "south", "east", "west")


@given(st.floats(0.03, 0.97), st.sampled_from(SIDES), st.floats(0, 100), st.floats(0, 120))
def test_the_parts_have_their_shares_and_tile_the_strip(share, side, x, y):
    """Whatever side and way in."""
    done, rest = part_off(BENT, share, side, shapely.Point(x, y))
    assert done.area == pytest.approx(share * BENT.area, rel=1e-9)
    assert done.area + rest.area == pytest.approx(BENT.area, rel=1e-9)
    assert shapely.intersection(done, rest).area == pytest.approx(0, abs=1e-6)
    assert shapely.union(done, rest).symmetric_difference(BENT).area == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("side", "way"), [("north", (0, 1)), ("south", (0, -1)), ("east", (1, 0)), ("west", (-1, 0))]
)
def test_a_side_is_where_it_is_said_to_be(side, way):
    """The done part lies wholly further that way than the rest."""
    done, rest = part_off(BENT, 0.3, side, shapely.Point(0, 0))
    far = [shapely.get_coordinates(part) @ np.array(way) for part in (done, rest)]
    assert far[0].min() >= far[1].max() - 1e-6


def test_near_is_where_the_way_in_comes_from():
    """And far is the other end."""
    entry = shapely.Point(0, 60)
    near, far = (part_off(BENT, 0.3, side, entry)[0] for side in ("near", "far"))
    assert near.distance(entry) < far.distance(entry)


def test_a_strip_in_parts_keeps_its_block_and_its_ground():
    """Three parts: a quarter, a third of what is left, the rest; other strips stay as they were."""
    box = shapely.box(0, 0, 200, 100)
    strips = gpd.GeoDataFrame({
        "strip_id": ["4a", "4b"], "block_id": ["4", "4"], "name": ["Hill a", "Hill b"],
        "area_ha": [1.0, 1.0], "way_in_m": [0.0, 0.0], "way_in_x_m": [0.0, 200.0],
        "way_in_y_m": [50.0, 50.0],
    }, geometry=[shapely.box(0, 0, 100, 100), shapely.box(100, 0, 200, 100)])  # fmt: skip
    blocks = gpd.GeoDataFrame({"block_id": ["4"]}, geometry=[box])
    nothing = gpd.GeoDataFrame({"kind": []}, geometry=[])
    parts = {"4a": [("4a-1", 0.25, "west"), ("4a-2", 1 / 3, "west"), ("4a-3", 1.0, "near")]}
    out = split_strips(strips, parts, blocks, nothing).set_index("strip_id")
    assert out.index.tolist() == ["4a-1", "4a-2", "4a-3", "4b"]
    assert out["area_ha"].tolist() == pytest.approx([0.25, 0.25, 0.5, 1.0])
    assert out.loc["4a-1"].geometry.bounds[2] == pytest.approx(25.0)
    assert set(out["block_id"]) == {"4"}
    assert out["name"].tolist() == ["Hill a, part 1", "Hill a, part 2", "Hill a, part 3", "Hill b"]
    assert shapely.union_all(out.geometry).symmetric_difference(box).area == pytest.approx(0)


def test_a_place_of_which_no_part_was_done_keeps_its_strips():
    """Nothing is cut, and nothing is asked of blocks and features."""
    strips = gpd.GeoDataFrame({"strip_id": ["4a"]}, geometry=[BENT])
    assert split_strips(strips, {}, strips, strips) is strips


def test_where_the_way_in_ends_in_the_very_middle_near_is_the_south():
    """A middle lies near no end, so one is taken: the lower, and far is cut off the same way."""
    box = shapely.box(0, 0, 100, 40)
    for side in ("near", "far"):
        done, _ = part_off(box, 0.25, side, shapely.Point(50, 20))
        assert done.bounds == pytest.approx((0, 0, 100, 10))
