"""What lies near a strip is named, and nothing that does not."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from clearing.zones import what_is_near
from tests.zones.farm import RATES

STRIP = shapely.box(0, 0, 100, 100)


def near(features, trees=()):
    """Return what lies near one strip of a hectare."""
    strips = gpd.GeoDataFrame({"strip_id": ["a"]}, geometry=[STRIP])
    things = gpd.GeoDataFrame(
        {"kind": [kind for kind, _ in features], "name": [f"the {kind}" for kind, _ in features]},
        geometry=[shape for _, shape in features],
    )
    stay = gpd.GeoDataFrame(
        {"species": [kind for kind, _, _ in trees], "crown_m": [float(c) for _, c, _ in trees]},
        geometry=[shape for _, _, shape in trees],
    )
    return what_is_near(strips, things, stay, RATES)


@pytest.mark.parametrize(("away", "told"), [(0.0, True), (76.0, True), (76.4, False)])
def test_a_crop_is_named_up_to_the_distance_on_the_label(away, told):
    """250 ft (76.2 m), as one label has it for sensitive places downwind."""
    found = near([("crop", shapely.box(100 + away, 0, 200 + away, 100))])
    assert bool(len(found)) == told
    if told:
        assert found["distance_m"].iloc[0] == pytest.approx(away)


def test_own_fences_and_roads_are_no_neighbours():
    """The owner's fence, farm road, trail and gate are not listed."""
    line = shapely.LineString([(0, 50), (100, 50)])
    kinds = [(kind, line) for kind in ("fence", "farm_road", "trail", "gate")]
    assert not len(near(kinds))


@pytest.mark.parametrize(("away", "told"), [(9.9, True), (10.1, False)])
def test_a_tree_that_stays_counts_where_its_roots_reach_in(away, told):
    """A crown of 10 m has roots to 10 m: twice its radius."""
    found = near([], [("white_oak", 10, shapely.Point(100 + away, 50))])
    assert bool(len(found)) == told


def test_trees_are_told_once_a_species():
    """Three oaks and a pear are two rows."""
    spots = np.random.default_rng(1).uniform(10, 90, (4, 2))
    kinds = ("white_oak", "white_oak", "white_oak", "callery_pear")
    found = near([], [(k, 5, shapely.Point(p)) for k, p in zip(kinds, spots, strict=True)])
    assert sorted(found["species"]) == ["callery_pear", "white_oak"]
