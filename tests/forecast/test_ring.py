"""The ring that follow-ups search for suckers."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from clearing import effort, forecast
from clearing.effort.follow import follow_works
from clearing.rates import load
from clearing.treatment import list_methods
from tests.small_ground import small_ground

RATES = load()
FAR = RATES.figure("tree_of_heaven", "sucker_m").value
NOTHING = gpd.GeoDataFrame({"kind": [], "geometry": []}, geometry="geometry")


def ring_of(shapes: list[shapely.Geometry], features: gpd.GeoDataFrame = NOTHING):
    """Return the rings of strips with trees of heaven."""
    names = [chr(ord("a") + i) for i in range(len(shapes))]
    strips = gpd.GeoDataFrame({"strip_id": names, "geometry": shapes})
    methods = pd.DataFrame({"strip_id": names, "species": "tree_of_heaven", "stems": 5.0})
    return forecast.search_ring(strips, features, methods, RATES).set_index("strip_id")


def test_ring_is_sides_and_corners():
    """Around a square: four sides times the distance, and a circle of its corners."""
    ring = ring_of([shapely.box(0, 0, 100, 100)]).loc["a"]
    assert ring["ring_m"] == FAR
    whole = (400 * FAR + 3.14159 * FAR**2) / 1e4
    assert ring["ring_ha"] == pytest.approx(whole, rel=0.01)
    assert ring["fence_ha"] == 0


def test_ground_of_other_strips_and_ponds_is_not_searched_twice():
    """A neighbour takes its side off, a pond beside the strip its area."""
    alone = ring_of([shapely.box(0, 0, 100, 100)]).loc["a", "ring_ha"]
    two = ring_of([shapely.box(0, 0, 100, 100), shapely.box(100, -50, 200, 150)])
    assert two.loc["a", "ring_ha"] == pytest.approx(alone * (300 / 400), rel=0.06)
    pond = gpd.GeoDataFrame({"kind": ["water"], "geometry": [shapely.box(20, 100, 40, 110)]})
    assert ring_of([shapely.box(0, 0, 100, 100)], pond).loc["a", "ring_ha"] == pytest.approx(
        alone - 0.02
    )


def test_ground_over_the_property_line_is_told_apart():
    """A line 5 m off one side: what lies over it is the neighbour's to be asked for."""
    line = shapely.LinearRing([(-50, -50), (105, -50), (105, 150), (-50, 150)])
    features = gpd.GeoDataFrame({"kind": ["property_line"], "geometry": [line]})
    ring = ring_of([shapely.box(0, 0, 100, 100)], features).loc["a"]
    free = ring_of([shapely.box(0, 0, 100, 100)]).loc["a"]
    assert ring["fence_ha"] == pytest.approx((FAR - 5) * 100 / 1e4, rel=0.3)
    assert ring["ring_ha"] + ring["fence_ha"] == pytest.approx(free["ring_ha"])


def test_a_ring_takes_search_time_and_nothing_else():
    """Follow-ups with a ring: more hours over the ground, the same product."""
    ground = small_ground()
    methods = list_methods(ground.blocks, ground.strips, ground.zones, ground.stocking,
                           ground.rates, ground.settings)  # fmt: skip
    futures = forecast.look_ahead(
        methods, ground.strips, ground.blocks, ground.rates, ground.settings
    )
    place = effort.places(ground.strips, ground.blocks, ground.rates)
    bare, ringed = (
        follow_works(futures, methods, each, ground.rates, ground.settings)
        for each in (place, place.assign(ring_ha=0.1))
    )
    searched = ground.rates.figure("follow_up", "search_h_per_ha").value
    own = bare["job"] == "follow_up"
    more = (ringed["walk_hours"] - bare["walk_hours"])[own]
    assert more.to_numpy() == pytest.approx(0.1 * searched * bare["pace"][own].to_numpy())
    assert ringed["product_l"].to_numpy() == pytest.approx(bare["product_l"].to_numpy())
