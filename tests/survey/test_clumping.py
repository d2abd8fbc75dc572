"""How unevenly stems stand, and the interval that follows."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from clearing.survey.clumping import BETWEEN_PLOTS, clumped_count_interval, mean_aggregation


def aggregation(counts) -> float:
    """Return the mean aggregation of plots of one size."""
    y = np.asarray(counts, dtype=float)
    one = np.zeros(len(y), dtype=int)
    groups = (np.array([y.sum()]), np.array([float(len(y))]), np.array([0]))
    return float(mean_aggregation((y, np.ones(len(y)), one), groups, 1)[0])


def drawn(a: float, plots: int, seed: int = 1) -> np.ndarray:
    """Return negative binomial counts of mean 6 and aggregation a."""
    return stats.nbinom.rvs(1 / a, 1 / (1 + 6 * a), size=plots, random_state=seed)


@pytest.mark.parametrize("a", [0.2, 0.8, 3.2])
def test_many_plots_find_the_aggregation(a):
    """From 2,000 negative binomial counts the mean is the value they were drawn with."""
    assert aggregation(drawn(a, 2000)) == pytest.approx(a, rel=0.1)


def test_few_stems_say_little():
    """Without a stem, or with a single one, every aggregation of the grid stays as likely."""
    even = BETWEEN_PLOTS.mean()
    assert aggregation([0] * 8) == pytest.approx(even)
    assert aggregation([1] + [0] * 7) == pytest.approx(even)
    assert aggregation([9] * 8) < 0.3 < 3 < aggregation([72] + [0] * 7)


@given(st.integers(0, 300), st.floats(0.5, 0.99))
def test_without_clumps_it_is_the_interval_of_a_poisson_count(count, confidence):
    """As the aggregation vanishes: Garwood's gamma quantiles of count + 1/2 (garwood_1936)."""
    low, high = clumped_count_interval(count, 1000.0, 1e-6, 1.0, confidence)
    tail = (1 - confidence) / 2
    wanted = stats.gamma.ppf(tail, count + 0.5) if count else 0.0
    assert low == pytest.approx(min(wanted, count), rel=1e-4)
    assert high == pytest.approx(max(stats.gamma.ppf(1 - tail, count + 0.5), count), rel=1e-4)


@given(st.integers(1, 200), st.integers(2, 60), st.floats(0.1, 6.4))
def test_clumps_and_confidence_widen_and_a_full_count_closes(count, plots, a):
    """More aggregation or confidence: wider; all ground looked at: the count itself."""

    def width(*asked):
        low, high = clumped_count_interval(count, plots, *asked)
        assert low <= count <= high
        return high - low

    assert width(a, 1.0, 0.9) <= width(2 * a, 1.0, 0.9) * (1 + 1e-9)
    assert width(a, 1.0, 0.8) <= width(a, 1.0, 0.9)
    assert width(a, 0.5, 0.9) < width(a, 1.0, 0.9)
    assert width(a, 0.0, 0.9) < 0.01 * count + 0.01


@pytest.mark.parametrize("a", [0.2, 1.6])
def test_the_interval_holds_a_negative_binomial_mean(a):
    """From 2,000 draws of 10 plots each the 90 % interval holds the mean in 86 to 95 %."""
    held = []
    for seed in range(2000):
        y = drawn(a, 10, seed)
        low, high = clumped_count_interval(y.sum(), 10.0, a, 1.0, 0.9)
        held.append(low <= 60 <= high)
    assert 0.86 <= np.mean(held) <= 0.95
