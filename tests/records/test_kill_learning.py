"""Kills learned from counted stems: the exact posterior, a logistic fit, and few data."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from clearing.rates import load
from clearing.records.kill_learning import (
    ALIKE,
    LENT,
    MOST_WORTH,
    Kill,
    learn_kills,
    posterior_kill,
    prior_kill,
)

# Glyphosate on cut stumps of common buckthorn, data set buckthorn of the R package fastR2
# (Pruim 2017): strength [percent of product], stumps, dead the next season; counts read.
PERCENT, STUMPS, DEAD = [10.3, 20.5, 41.0], [49, 37, 45], [18, 29, 42]
FLAT = Kill(1.0, 1.0)


def after(prior: Kill, dead: int, n: int) -> Kill:
    """Return the posterior of single stumps: each is a plot of its own."""
    return posterior_kill(prior, [1] * dead + [0] * (n - dead), [0] * dead + [1] * (n - dead))


@pytest.mark.parametrize(("dead", "n"), list(zip(DEAD, STUMPS, strict=True)))
def test_the_posterior_of_the_open_trial_is_the_exact_one(dead, n):
    """By strength: beta times binomial, integrated with a quadrature of scipy's."""
    prior = prior_kill(0.8, 0.65, 0.9)

    def weight(k: float) -> float:
        return stats.beta.pdf(k, prior.dead, prior.alive) * stats.binom.pmf(dead, n, k)

    total = integrate.quad(weight, 0, 1)[0]
    mean = integrate.quad(lambda k: k * weight(k), 0, 1)[0] / total
    found = after(prior, dead, n)
    assert found.mean == pytest.approx(mean, rel=1e-9)
    assert total == pytest.approx(stats.betabinom.pmf(dead, n, prior.dead, prior.alive), rel=1e-9)
    low, high = found.ends(0.9)
    assert integrate.quad(weight, low, high)[0] / total == pytest.approx(0.9, abs=1e-6)


def test_the_posterior_of_the_open_trial_holds_a_logistic_fit():
    """By strength, from a flat prior: the share that statsmodels fits over log strength."""
    table = np.column_stack([DEAD, np.subtract(STUMPS, DEAD)])
    design = sm.add_constant(np.log(PERCENT))
    fit = sm.GLM(table, design, family=sm.families.Binomial()).fit()
    for share, dead, n in zip(fit.predict(design), DEAD, STUMPS, strict=True):
        low, high = after(FLAT, dead, n).ends(0.95)
        assert low < share < high
        assert after(FLAT, dead, n).mean == pytest.approx(share, abs=0.06)


@given(st.floats(0.05, 0.95), st.floats(0.02, 0.4), st.integers(0, 60), st.integers(1, 60))
def test_a_posterior_lies_between_prior_and_count(kill, half, dead, n):
    """And few stems move it little: never by more than their share of what is known."""
    dead = min(dead, n)
    prior = prior_kill(kill, max(kill - half, 0.0), min(kill + half, 1.0))
    found = after(prior, dead, n)
    low, high = sorted([prior.mean, dead / n])
    assert low - 1e-9 <= found.mean <= high + 1e-9
    assert abs(found.mean - prior.mean) <= n / (n + prior.worth) + 1e-9


def test_a_prior_has_the_handbook_s_mean_and_spread():
    """Mean the kill, standard deviation that of a 90 percent range, worth no more than allowed."""
    prior = prior_kill(0.8, 0.65, 0.9)
    assert prior.mean == pytest.approx(0.8)
    sd = stats.beta.std(prior.dead, prior.alive)
    assert sd == pytest.approx((0.9 - 0.65) / (2 * stats.norm.ppf(0.95)))
    assert prior_kill(0.5, 0.499, 0.501).worth == MOST_WORTH


def test_stems_of_one_plot_count_for_less_than_single_ones():
    """Ten alike stems count as 10 / (1 + 9 x 0.1): Kish's design effect."""
    assert posterior_kill(FLAT, [10], [0]).worth == pytest.approx(2 + 10 / (1 + 9 * ALIKE))


def test_counts_that_cannot_be_are_refused():
    """Fewer of one than of the other, or below nought."""
    with pytest.raises(ValueError, match="as many counts"):
        posterior_kill(FLAT, [1, 2], [1])
    with pytest.raises(ValueError, match="below nought"):
        posterior_kill(FLAT, [-1], [1])


def test_seasons_lend_each_other_a_part_and_all_together_count_whole():
    """Ten single stems dead in fall and ten alive in spring."""
    recipes = load().recipes
    name = "callery_pear:hack:glyphosate"
    rows = [(name, "callery_pear", "fall", f"f{n}", 1, 0) for n in range(10)]
    rows += [(name, "callery_pear", "spring", f"s{n}", 0, 1) for n in range(10)]
    names = ["recipe_id", "species", "season", "plot_id", "dead", "alive"]
    told = learn_kills(recipes, pd.DataFrame(rows, columns=names)).set_index("season")
    row = recipes.set_index("recipe_id").loc[name]
    prior = prior_kill(row["kill"], row["kill_low"], row["kill_high"])
    assert told.at["", "worth"] == pytest.approx(prior.worth + 20)
    assert told.at["fall", "worth"] == pytest.approx(prior.worth + 10 + 10 * LENT)
    assert told.at["fall", "kill"] > told.at["", "kill"] > told.at["spring", "kill"]
    assert (told["dead"] + told["alive"]).tolist() == [20, 10, 10]


def test_a_recipe_that_is_in_no_handbook_teaches_nothing():
    """There is no kill that the counts could sharpen."""
    names = ["recipe_id", "species", "season", "plot_id", "dead", "alive"]
    counts = pd.DataFrame([("gone", "callery_pear", "fall", "1", 5, 5)], columns=names)
    assert not len(learn_kills(counts, load().recipes))
