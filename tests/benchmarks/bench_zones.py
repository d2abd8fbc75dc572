"""How long zones take to draw, beside a plain overlay of the same ground by geopandas.

Not part of the test run: timings are no claims that hold on every machine.
"""

from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
import pytest

import clearing
from clearing import land, survey, zones
from clearing.property import RANGES
from clearing.rates import for_settings
from tests.benchmarks.big_place import Size, big_place

GROUP = "zones of 200 strips with 2,000 keep trees"


@pytest.fixture(scope="module")
def laid(tmp_path_factory):
    """Return ground, strips, stocking and rates of such a place."""
    folder = big_place(tmp_path_factory.mktemp("big") / "place", Size(200, 2_000, 2_000))
    place = clearing.read(folder)
    rates = for_settings(place.settings)
    ground = land.lay_out(place, rates)
    strips = zones.cut_strips(
        ground.blocks, ground.features, ground.strips, place.settings.strip_ha
    )
    stocking = survey.estimate_stocking(ground.blocks, ground.plots, place.tally, RANGES, rates)
    return SimpleNamespace(ground=ground, strips=strips, stocking=stocking, rates=rates)


@pytest.mark.benchmark(group=GROUP)
def test_zones(benchmark, laid):
    """Every rule with its reach for each size class."""
    known = (laid.strips, laid.ground.features, laid.ground.keep_trees, laid.stocking, laid.rates)
    assert len(benchmark.pedantic(zones.draw_zones, known, rounds=3)) > 200


@pytest.mark.benchmark(group=GROUP)
def test_reference_of_the_zones(benchmark, laid):
    """One ring a thing, all cut with the strips at once: no classes, no rules."""
    benchmark.extra_info["reference"] = "a plain geopandas overlay with one ring a thing"
    trees = laid.ground.keep_trees
    rings = pd.concat([laid.ground.features.geometry.buffer(10.0),
                       trees.geometry.buffer(trees["crown_m"] / 2)])  # fmt: skip
    near = gpd.GeoDataFrame({"of": range(len(rings))}, geometry=rings.to_numpy(),
                            crs=laid.strips.crs)  # fmt: skip

    def plain() -> gpd.GeoDataFrame:
        return gpd.overlay(laid.strips[["strip_id", "geometry"]], near, how="union",
                           keep_geom_type=True)  # fmt: skip

    assert len(benchmark.pedantic(plain, rounds=3)) > 200
