"""Leaf sprays take what the covered ground takes, not the sum of crowns that overlap."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.effort.cover import leaf_cover, overlap_factor
from clearing.treatment.dose import most_dbh_cm
from clearing.units import CM_PER_IN, HA_PER_ACRE, KG_HA_PER_LB_AC, KG_L_PER_LB_GAL
from tests.small_ground import GLYPHOSATE, small_ground

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "effort.csv")
PUBLISHED = PUBLISHED.set_index("quantity")["expected"]
LEAFY = ("foliar", "follow_up", "upkeep")


def test_crowns_as_large_as_the_ground_cover_under_two_thirds_of_it():
    """1 - exp(-1) = 0.632 (crookston_stage_1999, from memory)."""
    expected = PUBLISHED["cover_of_crowns_as_large_as_the_ground"]
    assert float(leaf_cover(3.0, 3.0)) == pytest.approx(expected, abs=1e-6)


def test_cover_is_that_of_discs_thrown_at_random():
    """The formula within 1 percent of 40 seeded throws of 400 discs, edges wrapped round."""
    random, radius, under = np.random.default_rng(7), 0.03, []
    for _ in range(40):
        centres, looks = random.random((400, 2)), random.random((1000, 2))
        apart = np.abs(looks[:, None] - centres[None])
        apart = np.minimum(apart, 1.0 - apart)
        under.append(((apart**2).sum(axis=-1) < radius**2).any(axis=1).mean())
    formula = float(leaf_cover(400 * np.pi * radius**2, 1.0))
    assert formula == pytest.approx(np.mean(under), rel=0.01)


@given(st.floats(0.0, 50.0), st.floats(0.0, 50.0), st.floats(0.01, 20.0))
def test_cover_grows_and_never_passes_the_ground(one, other, area):
    """More crowns cover more, at most the sum of them and at most the ground."""
    few, many = sorted([one, other])
    wet = [crowns * float(overlap_factor(crowns, area)) for crowns in (few, many)]
    assert wet[0] <= wet[1] + 1e-9
    assert wet[1] <= min(many, area) + 1e-9


def test_sparse_crowns_add_up():
    """A hundredth of the ground under leaves: nothing overlaps by a percent."""
    assert float(overlap_factor(0.01, 1.0)) == pytest.approx(1.0, abs=0.01)


def test_no_leaf_spray_takes_more_than_its_ground_closed(walk):
    """Two hundred times the stems, and still no more than litres a hectare x hectares."""
    open_label = {"kg_ae_per_ha_year": 900.0, "spot_percent": 100.0}
    label = replace(GLYPHOSATE, limits=open_label)
    thick = walk(small_ground(density=200.0, herbicides=(label,)))
    full = thick.ground.rates.recipes.set_index("recipe_id")["l_per_ha_cover"]
    sprays = thick.visits[thick.visits["job"].isin(LEAFY) & (thick.visits["mix_l"] > 0)]
    most = sprays["recipe_id"].map(full).astype(float) * sprays["treated_ha"]
    assert len(sprays)
    assert (sprays["mix_l"] <= most * (1 + 1e-9)).all()
    assert (sprays["mix_l"] > 0.9 * most).any()


@pytest.mark.parametrize("ml", [1, 2])
def test_inches_that_reach_the_yearly_limit_are_the_published_ones(ml):
    """2 lb ae an acre of 3.8 lb 2,4-D amine undiluted: 1,992 in an acre at 1 mL an inch."""
    limit, strength = 2.0 * KG_HA_PER_LB_AC, 3.8 * KG_L_PER_LB_GAL
    cm = most_dbh_cm(limit, strength, ml / CM_PER_IN, 100.0)
    inches = cm * HA_PER_ACRE / CM_PER_IN
    assert inches == pytest.approx(PUBLISHED[f"break_even_in_an_acre_{ml}ml"], abs=1)
