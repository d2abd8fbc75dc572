"""What was learned goes into the rates and the stocking, and its weight is told."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from clearing.rates import load
from clearing.records.lessons import (
    FIGURES,
    IN_LOG,
    figure_factors,
    learned_stems,
    prior_of_factors,
    sharpened,
    spread_of,
    with_kills,
    with_stems,
)
from clearing.records.pace_learning import Known

RATES = load()
HACK = [("hack_and_squirt", "base_s"), ("hack_and_squirt", "per_cm_s")]
DOSE = [("follow_up", "dose_factor")]


def taught(mean: float, left: float):
    """Return factors of hacking and of the spray's dose, before and after, all moved alike."""
    factors = pd.concat(
        [figure_factors("pace", HACK, RATES), figure_factors("dose", DOSE, RATES)],
        ignore_index=True,
    )
    before = prior_of_factors(factors, RATES)
    after = Known(before.names, np.full(3, mean), before.covariance * left**2)
    return factors, before, after


def test_a_figure_s_spread_is_that_of_its_range():
    """Low to high of 90 percent: ln(24 / 7) over 2 x 1.645."""
    figure = RATES.figure("hack_and_squirt", "base_s")
    assert spread_of(figure) == pytest.approx(np.log(figure.high / figure.low) / 3.28971, rel=1e-5)


def test_a_figure_moves_and_its_range_draws_in():
    """e^0.3 times as much, with a quarter of the spread: weight 1 - 1 / 16."""
    factors, before, after = taught(0.3, 0.25)
    rates, table = sharpened(RATES, factors, (before, after), np.array([4, 4, 2]))
    for subject, item in (*HACK, *DOSE):
        old, new = RATES.figure(subject, item), rates.figure(subject, item)
        assert new.value == pytest.approx(old.value * np.exp(0.3))
        assert np.log(new.high / new.value) == pytest.approx(0.25 * np.log(old.high / old.value))
        assert np.log(new.value / new.low) == pytest.approx(0.25 * np.log(old.value / old.low))
        assert (new.seen, new.source) == (IN_LOG, "own_log")
    assert table["weight"].tolist() == pytest.approx([15 / 16] * 3)
    assert table["rows"].tolist() == [4, 4, 2]
    assert set(table["kind"]) <= set(FIGURES)


def test_upkeep_is_dosed_as_a_follow_up_is():
    """One sprayer in one hand."""
    factors, before, after = taught(0.3, 0.5)
    rates, _ = sharpened(RATES, factors, (before, after), np.zeros(3))
    assert rates.figure("upkeep", "dose_factor") == rates.figure("follow_up", "dose_factor")


def test_paces_of_one_crew_and_job_have_much_in_common():
    """0.8 within a job, 0.5 across jobs; a dose has nothing to do with them."""
    pairs = [*HACK, ("cut_and_spray", "base_s")]
    factors = pd.concat(
        [figure_factors("pace", pairs, RATES), figure_factors("dose", DOSE, RATES)],
        ignore_index=True,
    )
    known = prior_of_factors(factors, RATES)
    sd = known.spread()
    correlation = known.covariance / np.outer(sd, sd)
    assert correlation[0, 1] == pytest.approx(0.8)
    assert correlation[0, 2] == pytest.approx(0.5)
    assert correlation[0, 3] == 0.0


def kills(recipe: str, species: str, kill: float, *seasons: tuple[str, float]) -> pd.DataFrame:
    """Return learned kills of one recipe, over all and by season."""
    rows = [
        (recipe, species, season, 10.0, 10.0, 0.8, each, each - 0.1, each + 0.1, 20.0, 40.0)
        for season, each in (("", kill), *seasons)
    ]
    names = ["recipe_id", "species", "season", "dead", "alive", "prior", "kill", "low", "high",
             "worth_prior", "worth"]  # fmt: skip
    return pd.DataFrame(rows, columns=names)


def test_a_counted_kill_takes_the_recipe_s_place():
    """For its species alone; the weight is that of the stems."""
    name = "callery_pear:hack:glyphosate"
    rates, table = with_kills(RATES, kills(name, "callery_pear", 0.6))
    row = rates.recipes.set_index("recipe_id").loc[name]
    assert (row["kill"], row["kill_low"], row["kill_high"], row["seen"]) == (0.6, 0.5, 0.7, IN_LOG)
    changed = rates.recipes["kill"] != RATES.recipes["kill"]
    assert changed.sum() == 1
    assert table["weight"].tolist() == [0.5]


def test_a_recipe_for_any_species_becomes_one_of_the_counted():
    """The row for any species stays as it was for all others."""
    shared = RATES.recipes[RATES.recipes["species"] == "any"].iloc[0]
    rates, _ = with_kills(RATES, kills(shared["recipe_id"], "privet", 0.55))
    own = rates.recipes[rates.recipes["species"] == "privet"]
    same = own[(own["method"] == shared["method"]) & (own["herbicide"] == shared["herbicide"])]
    assert 0.55 in same["kill"].tolist()
    anyone = rates.recipes.set_index("recipe_id").loc[shared["recipe_id"]]
    assert anyone["kill"] == shared["kill"]
    assert rates.recipes["recipe_id"].is_unique


def test_a_season_that_hardly_kills_is_left_out_where_others_remain():
    """Spring at 30 percent goes out of the months; where nothing else is left it stays."""
    from clearing.rates import for_settings
    from tests.small_ground import SETTINGS

    known, name = for_settings(SETTINGS), "callery_pear:hack:glyphosate"
    months = known.recipes.set_index("recipe_id").at[name, "months"]
    of = {season: {str(m) for m in own} for season, own in
          known.seasons.set_index("season")["months"].items()}  # fmt: skip
    poor = next(season for season in of if of[season] & set(months.split()))
    rates, _ = with_kills(known, kills(name, "callery_pear", 0.6, (poor, 0.3)))
    kept = set(rates.recipes.set_index("recipe_id").at[name, "months"].split())
    assert kept == set(months.split()) - of[poor]
    every = [(season, 0.3) for season in of]
    rates, _ = with_kills(known, kills(name, "callery_pear", 0.4, *every))
    assert rates.recipes.set_index("recipe_id").at[name, "months"] == months


def test_more_stems_than_counted_scale_the_stocking():
    """A block with 1.5 times the stems and half the spread; the other as it was."""
    stocking = pd.DataFrame({"block_id": ["1", "2"], "stems_per_ha": 100.0, "se": 20.0,
                             "low": 50.0, "high": 200.0})  # fmt: skip
    stems = pd.DataFrame({"block_id": ["1"], "factor": [1.5], "left": [0.5]})
    out = with_stems(stocking, stems)
    assert out.loc[0, ["stems_per_ha", "se"]].tolist() == pytest.approx([150.0, 15.0])
    assert out.loc[0, "high"] == pytest.approx(150.0 * 2**0.5)
    assert out.loc[0, "low"] == pytest.approx(150.0 / 2**0.5)
    pd.testing.assert_series_equal(out.loc[1], stocking.loc[1])


def test_a_strip_to_come_keeps_its_own_spread():
    """A block known to a tenth still leaves what its strips do not have in common: sqrt(0.2)."""
    factors = pd.DataFrame([("stems|1|", "stems", "1", "", 0.4)],
                           columns=["name", "kind", "subject", "item", "sd"])  # fmt: skip
    before = prior_of_factors(factors, RATES)
    after = Known(before.names, np.array([0.2]), before.covariance * 0.01)
    stems, table = learned_stems(factors, (before, after), 0.8, np.array([3]))
    assert stems.loc[0, "factor"] == pytest.approx(np.exp(0.2))
    assert stems.loc[0, "left"] == pytest.approx(np.sqrt(0.8 * 0.01 + 0.2))
    assert table.loc[0, "weight"] == pytest.approx(0.99)


def test_jobs_that_were_logged_keep_only_what_their_hours_still_share():
    """Two jobs' hours of spread 1 and 2 with covariance 1 have 1 / (1 x 2) in common."""
    pairs = [("hack_and_squirt", "base_s"), ("cut_and_spray", "base_s")]
    factors = figure_factors("pace", pairs, RATES)
    before = prior_of_factors(factors, RATES)
    wide = np.array([[1.0, 1.0], [1.0, 4.0]])
    after = Known(before.names, np.zeros(2), wide)
    args = (RATES, factors, (before, after), np.ones(2))
    shared, _ = sharpened(*args, np.ones(2))
    assert shared.figure("any", "crew_common").value == pytest.approx(0.5)
    alone, _ = sharpened(*args, np.array([1.0, 0.0]))
    assert alone.figure("any", "crew_common") == RATES.figure("any", "crew_common")
    apart = Known(before.names, np.zeros(2), np.array([[1.0, -1.0], [-1.0, 4.0]]))
    none, _ = sharpened(RATES, factors, (before, apart), np.ones(2), np.ones(2))
    assert none.figure("any", "crew_common").value == 0.0


def test_where_nothing_was_learned_nothing_changes():
    """No kill, no stems, factors of other kinds: the same rates and stocking."""
    rates, table = with_kills(RATES, kills("any", "privet", 0.5).iloc[:0])
    assert rates is RATES
    assert not len(table)
    factors = pd.DataFrame([("stems|1|", "stems", "1", "", 0.4)],
                           columns=["name", "kind", "subject", "item", "sd"])  # fmt: skip
    known = prior_of_factors(factors, RATES)
    same, told = sharpened(RATES, factors, (known, known), np.zeros(1))
    assert same.figures is RATES.figures
    assert not len(told)
    stocking = pd.DataFrame({"block_id": ["1"], "stems_per_ha": [100.0]})
    stems, told = learned_stems(figure_factors("dose", DOSE, RATES), (known, known), 0.8,
                                np.zeros(1))  # fmt: skip
    assert not len(told)
    assert with_stems(stocking, stems) is stocking


def test_more_stems_than_counted_scale_all_that_goes_with_them():
    """Twice the stems: twice the block's sum and basal area, and half the spread on its error."""
    stocking = pd.DataFrame({"block_id": ["1"], "stems_per_ha": 100.0, "se": 20.0, "low": 50.0,
                             "high": 200.0, "basal_m2_per_ha": 3.0, "basal_se": 1.0,
                             "block_stems": 400.0})  # fmt: skip
    stems = pd.DataFrame({"block_id": ["1"], "factor": [2.0], "left": [0.5]})
    (out,) = with_stems(stocking, stems).to_dict("records")
    assert (out["block_stems"], out["basal_m2_per_ha"], out["basal_se"]) == (800.0, 6.0, 1.0)


def test_a_figure_of_no_range_is_no_factor():
    """What is known for sure cannot be learned."""
    figure = RATES.figure("any", "crew_common")
    own = pd.concat([
        pd.DataFrame([{"subject": "own", "item": "sure", "value": 2.0, "low": 2.0, "high": 2.0,
                       "unit": figure.unit, "source": "own", "locator": "", "seen": "assumed"}]),
        RATES.figures,
    ])  # fmt: skip
    known = replace(RATES, figures=own)
    assert not len(figure_factors("pace", [("own", "sure")], known))
