"""The estimators give the published answers of worked examples."""

import csv
from pathlib import Path

import numpy as np
import pytest

from clearing import survey

PUBLISHED = Path(__file__).parents[1] / "published" / "survey.csv"
AH232 = [7, 8, 2, 6, 7, 10, 8, 6, 7, 3, 7, 8, 9, 11, 8, 4, 7, 7, 8, 7, 7, 5, 8, 8, 7]
AH317 = [10, 9, 10, 9, 11, 16, 11, 7, 12, 12, 11, 3, 5, 11, 14, 8, 13, 12, 20, 10]
SURVEYMEANS = [
    7, 7, 12, 10, 1, 10, 3, 20, 19, 2, 2, 15, 16, 6, 6, 6, 15, 17, 14, 8, 8, 7, 3, 12, 4, 14, 18,
    9, 2, 1, 4, 11, 8, 10, 13, 2, 6, 11, 2, 9,
]  # fmt: skip
FIRS_X = [12, 30, 24, 24, 18, 30, 12, 6, 36, 42]
FIRS_Y = [18, 42, 24, 36, 24, 36, 14, 10, 48, 54]


def answers() -> dict[tuple[str, str], float]:
    """Return what our estimators give for every published case."""
    out = {}
    for case, values, size in (
        ("freese_ah232_n25", AH232, 1000),
        ("freese_ah317_n20", AH317, 100),
        ("surveymeans_n40", SURVEYMEANS, 4000),
    ):
        found = survey.simple_random_mean(values, size)
        out[case, "mean"], out[case, "se"] = found.value, found.se
    y, strata = [2.8, 4.1, 6.8, 6.8, 9.2, 3.7, 6.6, 4.2], [1] * 5 + [2] * 3
    found = survey.stratified_mean(y, strata, {1: 15, 2: 12})
    out["fpc_8", "mean"], out["fpc_8", "se"] = found.value, found.se
    shares = survey.neyman_allocation([3000, 4000, 5000, 2000], [48, 79, 76, 16], 190)
    out |= {("stratallo", f"stratum_{i + 1}"): share for i, share in enumerate(shares)}
    firs = survey.ratio_total(FIRS_Y, FIRS_X, 4200, 200)
    out["dead_firs", "ratio_total"], out["dead_firs", "ratio_bound"] = firs.value, 2 * firs.se
    out["balsam_fir", "stems_per_acre"] = 107 / 50 / 25 * 43560
    return out


with PUBLISHED.open() as stream:
    ROWS = list(csv.DictReader(stream))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['case']}-{row['quantity']}")
def test_estimators_give_the_published_answer(row):
    """Each worked example comes out to the digits that its source prints."""
    found = answers()[row["case"], row["quantity"]]
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_regression_beats_plain_expansion_where_the_measure_tells():
    """A close measure narrows the interval of a total."""
    plain = survey.simple_random_mean(FIRS_Y, 200)
    closer = survey.regression_total(FIRS_Y, FIRS_X, 4200, 200)
    assert closer.se < 0.4 * 200 * plain.se


def test_interval_narrows_when_more_plots_are_counted():
    """Four times the same plots halve the standard error, but for the degrees of freedom."""
    few = survey.simple_random_mean(AH317)
    many = survey.simple_random_mean(AH317 * 4)
    assert many.high - many.low < 0.55 * (few.high - few.low)


def test_allocation_keeps_its_bounds_and_its_sum():
    """Bounded shares still add up to the plots there are."""
    share = survey.neyman_allocation([10, 20, 70], [1, 1, 1], 30, lower=[5, 5, 5], upper=[9, 9, 20])
    assert share.sum() == pytest.approx(30)
    assert np.all(share >= 5 - 1e-9)
    assert np.all(share <= [9 + 1e-9, 9 + 1e-9, 20 + 1e-9])


def test_more_plots_are_needed_for_a_smaller_error():
    """Half the error asks for about four times the plots."""
    loose, tight = survey.plots_needed(0.8, 0.3, 0.9), survey.plots_needed(0.8, 0.15, 0.9)
    assert 3 * loose < tight < 5 * loose
