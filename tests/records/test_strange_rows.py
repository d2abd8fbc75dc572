"""Days that are still to come are told of log and counts, with a day's grace for the clock."""

from datetime import date

import pandas as pd
import pytest

from clearing.records import days_ahead

TODAY = date(2027, 2, 28)
NO_COUNTS = pd.DataFrame({"plot_id": [], "date": []})


def log(*days: str) -> pd.DataFrame:
    """Return a log with a row for each day, from line 2 on."""
    lines = range(2, 2 + len(days))
    return pd.DataFrame({"record_id": [str(n) for n in lines], "date": days, "line": lines})


@pytest.mark.parametrize(
    ("day", "told"),
    [("2026-12-31", 0), ("2027-02-28", 0), ("2027-03-01", 0), ("2027-03-02", 1), ("2072-02-01", 1)],
)
def test_a_day_after_tomorrow_is_told(day, told):
    """Tomorrow is today already further east, so it passes."""
    assert len(days_ahead(log(day), NO_COUNTS, TODAY)) == told


def test_the_line_the_day_and_what_is_right_are_said():
    """Of three rows the two late ones, each by its line in the file."""
    one, two = days_ahead(log("2027-03-05", "2027-02-01", "2072-02-01"), NO_COUNTS, TODAY)
    assert one.startswith("records.csv line 2: 'date' is 2027-03-05, and that day is still to come")
    assert two.startswith("records.csv line 4: 'date' is 2072-02-01")
    assert two.endswith("write the day it was, or set the clock right")


def test_counts_of_a_day_are_told_together():
    """Plots counted on one late day are one sentence; rows without a day are none."""
    days = ["2028-01-01", "2028-01-01", "2028-01-01", None]
    tally = pd.DataFrame({"plot_id": ["P2", "P1", "P1", "P3"], "date": days})
    (said,) = days_ahead(log(), tally, TODAY)
    assert said.startswith("tally.csv: 'date' is 2028-01-01 at plot P1, P2, and that day is still")
