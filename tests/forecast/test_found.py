"""The forecast goes on from what was counted, and from follow-ups that were not made."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing import forecast, treatment
from clearing.forecast.found import SHAPE, Found, as_found
from clearing.forecast.growth import RESPROUT, SEEDLING, STAGES, SUCKER
from tests.small_ground import small_ground


def met(stems: float, n: float, ground: float, stage: int = RESPROUT) -> np.ndarray:
    """Return what is left of a forecast of one strip of a hectare after a count of one stage."""
    counted = np.full((1, 1, len(STAGES)), np.nan)
    counted[..., stage] = n
    state = np.zeros((3, 1, len(STAGES)))
    state[..., stage] = [[stems], [0.5 * stems], [2.0 * stems]]
    found = Found({"x": counted}, np.full((1, 1, len(STAGES)), ground), np.zeros((1, 1), bool))
    left = np.zeros_like(state)
    return as_found(state, left, found, ("x", 0), np.ones(1))[:, 0, stage]


def test_a_count_and_a_forecast_are_weighed_as_gamma_and_poisson():
    """A hundred a hectare foretold, nine on 0.05 ha: (2 + 9) / (2 / 100 + 0.05)."""
    assert met(100.0, 9, 0.05)[0] == pytest.approx((SHAPE + 9) / (SHAPE / 100.0 + 0.05))


@given(st.floats(1, 1e4), st.integers(0, 500), st.floats(1e-3, 1))
def test_what_is_taken_lies_between_forecast_and_count_and_low_stays_low(stems, n, ground):
    """In all three scenarios, in their order."""
    middle, low, high = met(stems, n, ground)
    assert low <= middle <= high
    ends = sorted([stems, n / ground])
    assert ends[0] - 1e-6 <= middle <= ends[1] + 1e-6


@pytest.mark.parametrize("stems", [0.0, 0.2, 0.9, 30.0])
def test_to_find_nothing_is_never_to_expect_more(stems):
    """Where nobody found any of what was hardly foretold, looking has added none."""
    assert met(stems, 0.0, 0.05)[1] <= stems


def test_much_ground_rules_and_no_ground_says_nothing():
    """A count of all of it stands; one of nothing leaves the forecast."""
    assert met(100.0, 3000, 100.0)[0] == pytest.approx(30.0, rel=0.02)
    assert met(100.0, 0, 0.0)[0] == pytest.approx(100.0)


def test_seedlings_and_suckers_move_together():
    """They look the same: thirty seedlings and ten suckers foretold, none counted on all of it."""
    counted = np.full((1, 1, len(STAGES)), np.nan)
    counted[..., SEEDLING] = 0
    state = np.zeros((3, 1, len(STAGES)))
    state[..., SEEDLING], state[..., SUCKER] = 30.0, 10.0
    found = Found({"x": counted}, np.full((1, 1, len(STAGES)), 0.5), np.zeros((1, 1), bool))
    out = as_found(state, np.zeros_like(state), found, ("x", 0), np.ones(1))[0, 0]
    assert out[SEEDLING] == pytest.approx(3 * out[SUCKER])
    assert out[SEEDLING] + out[SUCKER] == pytest.approx(SHAPE / (SHAPE / 40.0 + 0.5))


def test_sprouts_and_the_thin_stems_they_grow_into_move_together():
    """A crew calls both sprouts: ten counted where 50 and 200 a hectare were foretold.

    A thin stem that was counted on a quarter of the ground stands for four.
    """
    thin = STAGES.index("under_1in")
    counted, ground = (np.full((1, 1, len(STAGES)), value) for value in (np.nan, 0.05))
    counted[..., RESPROUT], counted[..., thin], ground[..., thin] = 6, 1, 0.0125
    state = np.zeros((3, 1, len(STAGES)))
    state[..., RESPROUT], state[..., thin] = 50.0, 200.0
    found = Found({"x": counted}, ground, np.zeros((1, 1), bool))
    out = as_found(state, np.zeros_like(state), found, ("x", 0), np.ones(1))[0, 0]
    assert out[thin] == pytest.approx(4 * out[RESPROUT])
    assert out[thin] + out[RESPROUT] == pytest.approx((SHAPE + 10) / (SHAPE / 250.0 + 0.05))


@given(st.floats(1, 1e3), st.floats(1, 1e3), st.floats(1e-3, 1))
def test_a_count_that_is_as_foretold_moves_nothing(sprouts, thin, ground):
    """All of it tallied as sprouts, though part of it is foretold as thin stems."""
    counted = np.full((1, 1, len(STAGES)), np.nan)
    under = STAGES.index("under_1in")
    counted[..., RESPROUT], counted[..., under] = (sprouts + thin) * ground, 0.0
    state = np.zeros((3, 1, len(STAGES)))
    state[..., RESPROUT], state[..., under] = sprouts, thin
    found = Found({"x": counted}, np.full((1, 1, len(STAGES)), ground), np.zeros((1, 1), bool))
    out = as_found(state, np.zeros_like(state), found, ("x", 0), np.ones(1))
    assert out == pytest.approx(state)


def test_where_no_sprouts_were_foretold_the_count_says_which_they_are():
    """Three clumps and one thin stem on the same ground: three quarters are clumps."""
    thin = STAGES.index("under_1in")
    counted = np.full((1, 1, len(STAGES)), np.nan)
    counted[..., RESPROUT], counted[..., thin] = 3, 1
    state = np.zeros((3, 1, len(STAGES)))
    found = Found({"x": counted}, np.full((1, 1, len(STAGES)), 0.05), np.zeros((1, 1), bool))
    out = as_found(state, state, found, ("x", 0), np.ones(1))[0, 0]
    assert out[RESPROUT] == pytest.approx(3 * out[thin])
    assert out[RESPROUT] > 0


@pytest.fixture(scope="module")
def ahead():
    """Return the forecast of the small place, without and with what was seen on strip a."""
    ground = small_ground()
    methods = treatment.list_methods(
        ground.blocks, ground.strips, ground.zones, ground.stocking, ground.rates, ground.settings
    )
    names = ["strip_id", "year", "species", "stage", "stems", "ground_ha"]
    counts = pd.DataFrame([("a", 2029, "callery_pear", "resprout", 400.0, 0.1)], columns=names)
    skipped = pd.DataFrame([("b", 2028)], columns=["strip_id", "year"])
    walk = (methods, ground.strips, ground.blocks, ground.rates, ground.settings)
    return forecast.look_ahead(*walk), forecast.look_ahead(*walk, (counts, skipped))


def test_a_count_moves_its_strip_from_its_year_on(ahead):
    """More clumps on strip a from 2029 on; 2028, other strips and later starts as they were."""
    plain, seen = ahead
    key = ["strip_id", "method_id", "start_year", "year", "species", "stage"]
    both = plain.merge(seen, on=key, suffixes=("_plain", "_seen"))
    treated = both[(both["start_year"] < 2029) & (both["strip_id"] == "a")]
    sprout = treated[(treated["species"] == "callery_pear") & (treated["stage"] == "resprout")]
    assert (sprout["stems_seen"] > sprout["stems_plain"])[sprout["year"] == 2029].all()
    before = treated[treated["year"] < 2029]
    assert len(before)
    assert np.allclose(before["stems_seen"], before["stems_plain"])
    late = both[(both["start_year"] >= 2029) & both["strip_id"].isin(["a", "c"])]
    assert len(late)
    assert np.allclose(late["stems_seen"], late["stems_plain"])


def test_a_follow_up_that_was_not_made_leaves_more(ahead):
    """Strip b, begun in 2027, without the spray of 2028: no work then, more stems in 2029."""
    plain, seen = (
        table[(table["strip_id"] == "b") & (table["start_year"] == 2027)] for table in ahead
    )
    assert set(seen[seen["year"] == 2028]["work"]) == {"none"}
    assert "none" not in set(plain[plain["year"] == 2028]["work"])
    small = ["resprout", "seedling", "under_1in"]
    sums = [
        table[(table["year"] == 2029) & table["stage"].isin(small)].groupby("method_id")["stems"]
        .sum() for table in (plain, seen)
    ]  # fmt: skip
    assert (sums[1] > sums[0]).all()
