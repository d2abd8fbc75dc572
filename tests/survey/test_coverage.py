"""The stated intervals hold the simulated truth as often as they say."""

import sys
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest

from clearing import land, survey
from clearing.rates import for_settings
from clearing.tables import check, to_metric

SEEDS = range(120)
sys.path.insert(0, str(Path(__file__).parents[2] / "sample_data"))


def surveyed(place, rates, seed):
    """Return estimates beside the truth for one draw of the sample's generator."""
    from maker.sample import simulate

    draw = simulate(seed)
    table, _ = check(pd.DataFrame(draw.plots), "plots")
    plots = gpd.GeoDataFrame(to_metric(table), geometry="geometry", crs=draw.plots.crs)
    text = draw.tally.astype(object).where(draw.tally.notna(), "").astype(str)
    tally = to_metric(check(text, "tally")[0])
    ground = land.lay_out(replace(place, plots=plots, tally=tally), rates)
    found = survey.estimate_totals(ground.blocks, ground.plots, tally, 0.9, rates)
    truth = draw.truth.groupby(["block_id", "species"], as_index=False).agg(
        stems=("stems", "sum"), area_ha=("area_ha", "first")
    )
    return found.merge(truth, on=["block_id", "species"]).assign(seed=seed)


@pytest.fixture(scope="module")
def cells(place):
    """Return all cells of 120 draws with ten or more plots in their kind."""
    bare = replace(place, keep_trees=place.keep_trees.iloc[:0])  # no estimate rests on them
    rates = for_settings(place.settings)
    rows = pd.concat([surveyed(bare, rates, seed) for seed in SEEDS], ignore_index=True)
    rows["truth"] = rows["stems"] / rows["area_ha"]
    return rows[rows["kind_plots"] >= 10]


def test_ninety_percent_intervals_hold_the_truth(cells):
    """Over 120 seeds the 90 % intervals hold the truth in 85 to 95 % of block x species cells."""
    held = (cells["low"] <= cells["truth"]) & (cells["truth"] <= cells["high"])
    assert len(cells) >= len(SEEDS) * 20
    assert 0.85 <= held.mean() <= 0.95


def test_neither_tail_is_neglected(cells):
    """The truth lies above and below the intervals about equally often."""
    above = (cells["truth"] > cells["high"]).mean()
    below = (cells["truth"] < cells["low"]).mean()
    assert 0.02 <= above <= 0.08
    assert 0.02 <= below <= 0.08


def test_estimates_are_right_on_the_average(cells):
    """Over 120 seeds the estimates sum to the truth within 2 %."""
    assert cells["stems_per_ha"].sum() == pytest.approx(cells["truth"].sum(), rel=0.02)
