"""Rounds of felling and wetting stumps."""

from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.treatment import day_batches

PUBLISHED = pd.read_csv(Path(__file__).parents[1] / "published" / "treatment.csv")
PACES, LIMITS, CREWS = st.floats(5, 3000), st.floats(1, 120), st.integers(1, 4)


def test_a_quarter_of_an_hour_is_a_dozen_trees():
    """At 75 s a tree: common practice's dozen trees, or 10 to 15 minutes' worth."""
    row = PUBLISHED.set_index("quantity").loc["round_of_15_min_at_75_s_stems"]
    day = day_batches(75.0, 15.0, 1, 100)
    assert day.stems_each == row["expected"]
    assert 10 <= day.minutes_each <= 15
    assert day.rounds == 9  # 100 / 12
    assert day.caution == ""


def test_tanks_of_a_day_follow_from_the_dose():
    """200 stumps of 6 mL from tanks of half a litre: 83 stumps a tank, 2.4 tanks."""
    day = day_batches(60.0, 15.0, 2, 200, (6.0, 0.5))
    assert day.stems_a_tank == pytest.approx(500 / 6)
    assert day.tanks == pytest.approx(2.4)
    assert day.stems_each == 30  # two sawyers, 15 each


@given(PACES, LIMITS, CREWS, st.integers(0, 2000))
def test_no_stump_waits_longer_than_its_limit(pace, minutes, sawyers, stems):
    """Unless one tree alone takes longer, which is cautioned; the rounds cover the day."""
    day = day_batches(pace, minutes, sawyers, stems)
    assert (day.minutes_each > minutes * (1 + 1e-9)) == bool(day.caution)
    assert day.stems_each >= sawyers
    assert (day.rounds - 1) * day.stems_each < max(stems, 1) <= max(day.rounds, 1) * day.stems_each


@given(PACES, LIMITS, CREWS)
def test_slower_work_never_makes_a_larger_round(pace, minutes, sawyers):
    """Half the pace or half the limit: at most as many trees."""
    most = day_batches(pace, minutes, sawyers, 100).stems_each
    assert day_batches(2 * pace, minutes, sawyers, 100).stems_each <= most
    assert day_batches(pace, minutes / 2, sawyers, 100).stems_each <= most


def test_a_tree_that_takes_longer_than_its_stump_may_wait_is_cautioned():
    """Four minutes a tree, one minute for the stump: one tree at a time, its stump first."""
    day = day_batches(240.0, 1.0, 1, 10)
    assert day.stems_each == 1
    assert day.rounds == 10
    assert "before limbing" in day.caution


@pytest.mark.parametrize(
    "wrong",
    [(0.0, 15.0, 1, 10), (60.0, -1.0, 1, 10), (60.0, 15.0, 0, 10), (60.0, 15.0, 1, -1),
     (float("nan"), 15.0, 1, 10), (60.0, 15.0, 1, 10, (0.0, 1.0))],
)  # fmt: skip
def test_a_day_that_cannot_be_is_refused(wrong):
    """Times, dose and tank over nought, a sawyer, no fewer stems than none."""
    with pytest.raises(ValueError, match="write"):
        day_batches(*wrong)
