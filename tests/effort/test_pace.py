"""Paces at the stem, on the way and on the mower against published ones, and as properties."""

import itertools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.effort import pace
from clearing.rates import load
from clearing.units import CM_PER_IN, HA_PER_ACRE, M_PER_FT

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "effort.csv")
PUBLISHED = PUBLISHED.set_index("quantity")["expected"]
BRUSH = ("open", "brushy", "thicket")


def test_injection_time_lies_in_the_published_range():
    """A 3 to 4 in stem at 300 an acre takes 24 to 72 s with the walk (msu_3673)."""
    rates = load()
    base, per_cm = (rates.figure("hack_and_squirt", item).value for item in ("base_s", "per_cm_s"))
    slack = rates.figure("walk", "tour_slack").value
    walk = slack * float(pace.tour_m(300, HA_PER_ACRE, rates)) / 300
    walk /= float(pace.walking_m_s("open", 0.0, rates))
    seconds = float(pace.stem_seconds(3.5 * CM_PER_IN, base, per_cm)) + walk
    assert PUBLISHED["injection_seconds_low"] <= seconds <= PUBLISHED["injection_seconds_high"]


@pytest.mark.parametrize(
    ("quantity", "density", "degrees"),
    [
        ("walking_density_0", 0.0, 0.0),
        ("walking_density_0.25_slope_10deg", 0.25, 10.0),
        ("walking_density_0.25_slope_20deg", 0.25, 20.0),
    ],
)
def test_walking_speed_is_the_published_formula_s(quantity, density, degrees):
    """Speed off the trail at the densities and slopes worked by hand."""
    rates = load()
    own = rates.figures["subject"].eq("brush_open") & rates.figures["item"].eq("density")
    rates.figures.loc[own, "value"] = density
    speed = pace.walking_m_s("open", 100 * np.tan(np.radians(degrees)), rates)
    assert float(speed) == pytest.approx(PUBLISHED[quantity], abs=0.006)


@pytest.mark.parametrize(
    ("quantity", "mph"),
    [("mower_6ft_2mph_70percent_ac_h", 2), ("mower_6ft_1mph_70percent_ac_h", 1)],
)
def test_mower_s_field_capacity_is_the_published_formula_s(quantity, mph):
    """Width in feet x miles an hour / 8.25 x efficiency, in acres an hour."""
    brush = {2: "brushy", 1: "thicket"}[mph]
    acres = pace.mower_ha_h(brush, load()) / HA_PER_ACRE
    by_hand = 6 * mph / 8.25 * 0.7
    assert acres == pytest.approx(by_hand, rel=0.02)
    assert by_hand == pytest.approx(PUBLISHED[quantity], abs=0.05)
    assert load().figure("mow", "width_m").value == pytest.approx(6 * M_PER_FT, abs=0.01)


@given(st.floats(0, 80), st.floats(0, 80))
def test_work_never_gets_quicker_with_brush_or_slope(one, other):
    """Thicker brush and steeper ground take longer, at the stem and on the way."""
    rates, (flat, steep) = load(), sorted([one, other])
    for thin, thick in itertools.pairwise(BRUSH):
        assert pace.pace_factor(thin, flat, rates) <= pace.pace_factor(thick, steep, rates)
        assert pace.walking_m_s(thin, flat, rates) >= pace.walking_m_s(thick, steep, rates)


@given(st.integers(2, 5000), st.integers(2, 5000), st.floats(0.1, 20))
def test_the_way_past_more_stems_is_longer(one, other, area):
    """More stems on the same ground are a longer tour."""
    few, many = sorted([one, other])
    assert pace.tour_m(few, area, load()) <= pace.tour_m(many, area, load()) + 1e-9
