"""Where in its years a plan stands on a day."""

import pandas as pd
import pytest

from clearing.property import Money
from clearing.rates import for_settings
from clearing.records import newest_day
from clearing.records.season_now import ahead
from tests.records.test_log import log
from tests.small_ground import SETTINGS, replace

BUDGET = replace(SETTINGS, years=6, money=Money(budget_per_year=[10.0, 20.0, 30.0]), clear_by=2028)
SEASONS = for_settings(BUDGET).seasons


def on(day: str, settings=BUDGET):
    """Return the settings ahead on a day, and what is said."""
    return ahead(settings, SEASONS, pd.Timestamp(day))


def test_before_the_first_year_nothing_changes():
    """Nor where nothing was logged."""
    assert on("2026-12-31") == (BUDGET, ())
    assert ahead(BUDGET, SEASONS, None) == (BUDGET, ())


def test_the_plan_moves_on_and_ends_when_it_did():
    """From July 2029 on: 2029 to 2032, the third year's money, what is over of each season."""
    own, said = on("2029-07-15")
    assert (own.first_year, own.years) == (2029, 4)
    assert own.money.budget_per_year == [30.0]
    assert said == ("[plan] clear_by 2028 is over; this plan is made without it",)
    for row in SEASONS.itertuples():
        over = own.season_gone.get(row.season, 0.0)
        if max(row.months) < 7:
            assert over == 1.0
        elif min(row.months) > 7:
            assert over == 0.0
        else:
            assert 0.0 < over < 1.0


def test_a_running_season_is_over_by_its_days():
    """Of a summer of June to August (92 days) 45 are over on the 15th of July."""
    own, _ = on("2029-07-15")
    summer = SEASONS.set_index("season").loc["summer", "months"]
    days = sum(pd.Timestamp(2029, month, 1).days_in_month for month in summer)
    before = sum(pd.Timestamp(2029, m, 1).days_in_month for m in summer if m < 7) + 15
    assert own.season_gone["summer"] == pytest.approx(before / days)


def test_after_the_last_season_the_next_year_begins():
    """On the last of December nothing of the year is left."""
    own, _ = on("2029-12-31")
    assert own.first_year == 2030
    assert own.season_gone == {}


def test_a_plan_whose_years_are_over_looks_on():
    """At least three years, and says so."""
    own, said = on("2032-12-31")
    assert (own.first_year, own.years) == (2033, 3)
    assert "the plan's own years end in 2032; it now looks on to 2035" in said[0]


def test_the_newest_day_is_that_of_log_and_counts_in_force():
    """A corrected date does not count; none where there is neither."""
    tally = pd.DataFrame({"date": ["2027-05-01", None]})
    rows = log({"date": "2029-03-01"}, {"date": "2027-03-01", "replaces": "1"})
    assert newest_day(rows, tally) == pd.Timestamp("2027-05-01")
    assert newest_day(log(), tally.iloc[:0]) is None


def test_a_season_without_months_is_never_over():
    """Nothing of it can lie behind, and it does not hold the year open."""
    seasons = pd.concat([SEASONS, SEASONS.iloc[[0]].assign(season="none", months=[()])])
    own, _ = ahead(BUDGET, seasons, pd.Timestamp("2028-12-31"))
    assert own == on("2028-12-31")[0]
    assert "none" not in ahead(BUDGET, seasons, pd.Timestamp("2028-06-15"))[0].season_gone
