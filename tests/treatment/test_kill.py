"""Kill from counts: score intervals, and the dose response of one open trial."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import expit, logit
from scipy.stats import binomtest

from clearing.rates import load
from clearing.treatment.kill import dose_response, kill_interval, without_background

# Glyphosate on cut stumps of common buckthorn, data set buckthorn of the R package fastR2
# (Pruim 2017): strength [percent of product], stumps, dead the next season; counts read.
PERCENT, STUMPS, DEAD = [0.0, 10.3, 20.5, 41.0], [34, 49, 37, 45], [5, 18, 29, 42]
COUNTS = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@pytest.fixture(scope="module")
def fit():
    return dose_response(PERCENT, STUMPS, DEAD)


@given(COUNTS, st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_score_intervals_agree_with_the_statistics_library(count, confidence):
    """Wilson's interval is scipy's, and holds the share that was seen."""
    kill, low, high = kill_interval(*count, confidence)
    theirs = binomtest(*count).proportion_ci(confidence, method="wilson")
    assert kill == count[0] / count[1]
    assert (low, high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)
    assert 0 <= low <= kill <= high <= 1


@given(COUNTS)
def test_the_interval_of_the_living_mirrors_that_of_the_dead(count):
    """Counting survivors instead of the dead turns the range over."""
    dead, n = count
    _, low, high = kill_interval(dead, n)
    assert kill_interval(n - dead, n)[1:] == pytest.approx((1 - high, 1 - low), abs=1e-12)


def test_an_interval_is_the_root_of_the_score_equation():
    """Each end of the range of 42 in 45 lies 1.96 standard errors of its own from the share."""
    kill, low, high = kill_interval(42, 45)
    for end in (low, high):
        z = abs(kill - end) / np.sqrt(end * (1 - end) / 45)
        assert z == pytest.approx(1.959964, abs=1e-5)


def test_the_fit_of_the_open_trial_is_the_most_likely_one(fit):
    """A search without gradients over the same likelihood ends at the same three numbers."""
    n, dead, x = np.array(STUMPS), np.array(DEAD), np.log(PERCENT[1:])

    def loss(free):
        back = expit(free[0])
        p = np.r_[back, back + (1 - back) * expit(free[1] + free[2] * x)]
        return -(dead * np.log(p) + (n - dead) * np.log1p(-p)).sum()

    found = minimize(
        loss, [-2.0, -6.0, 2.0], method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 5000, "maxfev": 5000},
    )  # fmt: skip
    ours = [logit(fit.background), fit.centre, fit.slope]
    assert loss(ours) <= found.fun + 1e-9
    assert ours == pytest.approx(found.x, abs=1e-4)


def test_the_shares_of_the_open_trial_lie_in_the_band(fit):
    """Each strength's dead share is inside the fit's 95 percent band; the control near its own."""
    for percent, n, dead in zip(PERCENT[1:], STUMPS[1:], DEAD[1:], strict=True):
        low, high = fit.band(percent)
        assert low < dead / n < high
    assert fit.background == pytest.approx(5 / 34, abs=0.01)


def test_without_a_control_two_strengths_are_met_exactly():
    """Two parameters through two shares: the line on the log odds has a closed form."""
    found = dose_response([10.0, 40.0], [50, 50], [15, 45])
    slope = (logit(0.9) - logit(0.3)) / np.log(4.0)
    assert found.background == 0.0
    assert found.slope == pytest.approx(slope, rel=1e-5)
    assert found.kill(20.0) == pytest.approx(expit((logit(0.3) + logit(0.9)) / 2), rel=1e-5)


def test_the_band_of_two_strengths_has_a_closed_form():
    """At a strength that was tried, the log odds vary by 1 / sqrt(n p q)."""
    low, high = dose_response([10.0, 40.0], [50, 50], [15, 45]).band(10.0)
    error = 1.959964 / np.sqrt(50 * 0.3 * 0.7)
    assert logit([low, high]) == pytest.approx([logit(0.3) - error, logit(0.3) + error], abs=1e-4)


def test_the_band_holds_the_true_kill_about_as_often_as_it_says():
    """Of 200 drawn trials of a known curve, 92 to 98 in 100 bands at 20 percent hold it.

    Two standard errors of a share of 95 in 100 are 3.1 in 100 with 200 trials.
    """
    rng, strength = np.random.default_rng(1), np.array(PERCENT[1:])
    true = 0.15 + 0.85 * expit(-7.0 + 2.6 * np.log([*strength, 20.0]))
    shares = np.r_[0.15, true[:3]]
    bands = [
        dose_response(PERCENT, [60] * 4, rng.binomial(60, shares)).band(20.0) for _ in range(200)
    ]
    held = np.mean([low <= true[3] <= high for low, high in bands])
    assert 0.92 <= held <= 0.98


@settings(max_examples=40)  # each fits two curves
@given(st.lists(st.integers(0, 30), min_size=4, max_size=4), st.floats(0.1, 10.0))
def test_the_unit_of_strength_moves_nothing(dead, scale):
    """Twice the numbers for the same mixes give the same kills, whatever died."""
    ours = dose_response(PERCENT, [30] * 4, dead)
    theirs = dose_response([scale * one for one in PERCENT], [30] * 4, dead)
    for percent in PERCENT[1:]:
        assert theirs.kill(scale * percent) == pytest.approx(ours.kill(percent), abs=2e-3)


@pytest.mark.parametrize("percent", [0.0, 10.0, 41.5, 100.0])
def test_no_kill_is_lent_to_a_strength_outside_the_trial(fit, percent):
    """Below the weakest and above the strongest mix the fit refuses, and says why."""
    with pytest.raises(ValueError, match="not lent to another"):
        fit.kill(percent)


def test_the_background_comes_off_by_abbott():
    """Of 85 that would have lived, 70 killed are 70 / 85; fewer dead than untreated is nought."""
    assert without_background(0.85, 0.15) == pytest.approx(70 / 85)
    assert without_background(0.1, 0.15) == 0.0


@pytest.mark.parametrize(
    ("percent", "n", "dead"),
    [([0, 10], [5, 5], [1, 2]), ([10, 20], [5, 5], [1, 6]), ([10, 20], [5], [1, 1])],
)
def test_trials_that_cannot_be_fitted_are_refused(percent, n, dead):
    """One strength, more dead than stems, or groups that do not pair: no fit."""
    with pytest.raises(ValueError, match="strengths"):
        dose_response(percent, n, dead)


@pytest.mark.parametrize(("dead", "n"), [(1, 0), (-1, 5), (6, 5)])
def test_counts_that_cannot_be_are_refused(dead, n):
    """No stems, or more dead than treated."""
    with pytest.raises(ValueError, match="no count"):
        kill_interval(dead, n)


@pytest.mark.parametrize(
    ("name", "at"), [("glyphosate", 3), ("glyphosate_half", 2), ("glyphosate_tenth", 1)]
)
def test_recipes_of_the_open_trial_carry_its_shares_and_intervals(name, at):
    """The buckthorn rows are the data's strength, share and 95 percent score interval."""
    recipes = load().recipes.set_index("recipe_id")
    row = recipes.loc[f"common_buckthorn:cut:{name}"]
    assert row["percent"] == PERCENT[at]
    found = [row["kill"], row["kill_low"], row["kill_high"]]
    assert found == pytest.approx(list(kill_interval(DEAD[at], STUMPS[at])), abs=5e-5)


def test_a_trial_of_weak_mixes_is_fitted_like_any_other():
    """Strengths below one percent, and one percent itself: the closed form of two shares holds."""
    for percent in ([0.25, 1.0], [0.1, 0.4]):
        found = dose_response(percent, [50, 50], [15, 45])
        assert found.slope == pytest.approx((logit(0.9) - logit(0.3)) / np.log(4.0), rel=1e-5)
        assert (found.least, found.most) == tuple(percent)
        assert found.kill(percent[0]) == pytest.approx(0.3, rel=1e-5)


@pytest.mark.parametrize("dead", [DEAD, [5, 8, 10, 16]])
def test_the_covariance_is_the_inverse_of_fisher_s_information(dead):
    """Sum n / (p q) dp dp', the derivatives taken by small steps instead of by formula."""
    found = dose_response(PERCENT, STUMPS, dead)
    at, x = np.array([found.background, found.centre, found.slope]), np.log(PERCENT[1:])

    def shares(given):
        back, centre, slope = given
        return np.r_[back, back + (1 - back) * expit(centre + slope * x)]

    steps = 1e-5 * np.eye(3)
    slopes = np.array([(shares(at + d) - shares(at - d)) / 2e-5 for d in steps])
    p = shares(at)
    information = (slopes * (np.array(STUMPS) / (p * (1 - p)))) @ slopes.T
    assert found.covariance == pytest.approx(np.linalg.inv(information), rel=1e-3)


def test_without_a_control_nothing_is_said_of_the_background():
    """Its row and column of the covariance are nought, the others are not."""
    covariance = dose_response(PERCENT[1:], STUMPS[1:], DEAD[1:]).covariance
    assert not covariance[0].any()
    assert not covariance[:, 0].any()
    assert (np.diag(covariance)[1:] > 0).all()


@pytest.mark.parametrize(
    ("percent", "n", "dead"),
    [
        ([-1, 10, 20], [5, 5, 5], [1, 1, 2]), ([0, 10, 20], [5, 0, 5], [1, 0, 2]),
        ([0, 10, 20], [5, 5, 5], [1, -1, 2]), ([0, 10, 20], [5, 5, 5], [1, 6, 2]),
        ([0, 0, 20], [5, 5, 5], [1, 1, 2]),
    ],
)  # fmt: skip
def test_one_group_that_cannot_be_spoils_the_trial(percent, n, dead):
    """A single strength below 0, empty group or impossible count is refused."""
    with pytest.raises(ValueError, match="strengths"):
        dose_response(percent, n, dead)


@pytest.mark.parametrize("confidence", [0.0, 1.0, -0.5, 1.5])
def test_a_confidence_is_a_share_between_nought_and_one(confidence):
    """Neither end is a confidence."""
    with pytest.raises(ValueError, match="confidence"):
        kill_interval(1, 5, confidence)


def test_no_stems_are_no_count():
    """Nought of nought says nothing."""
    with pytest.raises(ValueError, match="no count"):
        kill_interval(0, 0)
