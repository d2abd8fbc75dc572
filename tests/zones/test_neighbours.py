"""Neighbouring strips, by hand: distance and shared edge, the same from either side."""

import geopandas as gpd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing.zones import cut_strips, strip_neighbours
from tests.zones.farm import GRID, blob, owner_layer, walk_blocks, walk_features


def pairs(*shapes: shapely.Geometry):
    """Return the neighbours of strips 1, 2 ... by both names."""
    names = [str(i + 1) for i in range(len(shapes))]
    strips = gpd.GeoDataFrame({"strip_id": names}, geometry=list(shapes), crs=GRID)
    return strip_neighbours(strips).set_index(["strip_id", "neighbour_id"])


def test_neighbours_are_told_both_ways_with_their_shared_edge():
    """Two squares side by side share 100 m; one 160 m away is no neighbour."""
    found = pairs(*(shapely.box(x, 0, x + 100, 100) for x in (0, 100, 360)))
    assert set(found.index) == {("1", "2"), ("2", "1")}
    assert found["shared_m"].tolist() == pytest.approx([100, 100], abs=1e-6)
    assert found["distance_m"].tolist() == pytest.approx([0, 0])


def test_strips_that_touch_at_a_corner_share_no_edge():
    """Two squares of a draughtboard: distance 0, shared 0."""
    found = pairs(shapely.box(0, 0, 100, 100), shapely.box(100, 100, 200, 200))
    assert found["distance_m"].tolist() == [0, 0]
    assert found["shared_m"].tolist() == [0, 0]


def test_a_part_of_an_edge_counts_by_its_length():
    """A strip whose short side of 20 m lies on another's long one shares 20 m."""
    wedge = shapely.Polygon([(100, 40), (200, 0), (200, 100), (100, 60)])
    found = pairs(shapely.box(0, 0, 100, 100), wedge)
    assert found["shared_m"].tolist() == pytest.approx([20, 20], abs=1e-3)


def test_strips_on_two_sides_of_a_creek_are_near_and_share_nothing():
    """A creek 4 m wide between them: 4 m apart, no shared edge."""
    found = pairs(shapely.box(0, 0, 100, 100), shapely.box(104, 0, 200, 100))
    assert found["distance_m"].tolist() == pytest.approx([4, 4])
    assert found["shared_m"].tolist() == [0, 0]


def test_blocks_drawn_three_centimetres_apart_share_their_edge():
    """A slip of the hand under 5 cm is no gap: 60 m of edge to a hundredth."""
    found = pairs(shapely.box(0, 0, 100, 100), shapely.box(100.03, 20, 200, 80))
    assert found["shared_m"].tolist() == pytest.approx([60, 60], rel=1e-3)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 100_000))
def test_the_shared_edges_of_a_block_are_what_its_strips_lose_of_their_rim(seed):
    """Sum of rims less the block's rim is twice the inner edges, and each pair agrees."""
    shape = blob(seed)
    strips = cut_strips(walk_blocks(shape), walk_features(), owner_layer("strips", []), 0.4)
    found = strip_neighbours(strips).set_index(["strip_id", "neighbour_id"])
    inner = strips.length.sum() - shape.length
    assert found["shared_m"].sum() == pytest.approx(inner, rel=5e-3, abs=0.5)
    turned = found.swaplevel().reindex(found.index)
    assert turned.equals(found)


def test_places_far_apart_and_single_strips_have_no_neighbours():
    """One strip, or two a kilometre apart: an empty table with its columns."""
    assert len(pairs(shapely.box(0, 0, 1, 1))) == 0
    assert len(pairs(shapely.box(0, 0, 1, 1), shapely.box(999, 0, 1000, 1))) == 0
