"""Plans under other budgets and hours: each is solved, and more is never worse."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from clearing.budgets import compare, scaled
from clearing.errors import InputError
from clearing.property import Money, Property, Results
from clearing.rates import for_settings
from clearing.schedule import solve
from tests.schedule.test_choice import BASE, option, visit

STRIPS = ("a1", "b1", "c1")


def three_strips(money: Money | None = None, **wishes) -> Results:
    """Return results of three strips of a hectare: 60 dollars and 6 hours each, in 2027 to 2029."""
    options, visits = [], []
    for strip in STRIPS:
        for year in (2027, 2028, 2029):
            start = option(strip, f"y{year}", year, 60.0, 100.0 * (2030 - year), hours=6.0)
            mown = year + 1.0 if strip != "c1" else None
            options.append(start | {"mow_year": mown, "finish_year": float(year)})
            visits.append(visit(f"{strip}/y{year}", year, 6.0, 60.0))
        options.append(option(strip, "not_now", None, 0.0, 0.0, run_off=30.0))
    asked = replace(BASE, money=money or Money([60.0]), **wishes)
    empty = pd.DataFrame()
    strips = pd.DataFrame({"strip_id": STRIPS, "block_id": ["a", "b", "c"], "area_ha": 1.0,
                           "way_in_m": 0.0})  # fmt: skip
    blocks = pd.DataFrame({"block_id": ["a", "b", "c"], "goal": "pasture", "brush": "open",
                           "slope_pct": 0.0, "stock": "", "hay": False, "tops": "leave",
                           "ready_year": np.nan})  # fmt: skip
    methods = pd.DataFrame({"strip_id": STRIPS, "method_id": "m", "stems": 1.0})
    place = Property(asked, empty, empty, empty, empty, empty, empty, empty)
    return Results(
        property=place, rates=for_settings(asked), grid="", blocks=blocks, keep_trees=empty,
        features=empty, plots=empty, stocking=empty, totals=empty, strips=strips, zones=empty,
        neighbours=empty, methods=methods, futures=empty, options=pd.DataFrame(options),
        visits=pd.DataFrame(visits), plan=None,
    )  # fmt: skip


@pytest.fixture(autouse=True)
def no_forecast(monkeypatch):
    """Let the draws be those of the visits' own ranges: there is nothing to forecast here."""
    monkeypatch.setattr("clearing.forecast.draw_ahead", lambda *around: None)


def test_each_share_of_the_budget_is_a_solved_plan():
    """30, 60 and 180 dollars a year hold none, one and three strips a year of 60 each."""
    rows = compare(three_strips(), (3.0, 0.5, 1.0), stop=(0.0, 60.0))
    assert [row["budget"] for row in rows] == [30.0, 60.0, 180.0]
    assert [row["waiting"] for row in rows] == [3, 0, 0]
    assert [row["finish_year"] for row in rows] == [None, 2029, 2029]
    assert [row["cost"] for row in rows] == [0.0, 180.0, 180.0]
    assert all(row["gap"] == pytest.approx(0.0, abs=1e-9) for row in rows)


def test_hours_are_varied_and_money_stays():
    """Ten hours a spring hold one strip, thirty all three; the budget is as it was."""
    rows = compare(three_strips(Money([500.0])), (1.0, 3.0), "hours", (0.0, 60.0))
    assert [row["crew_hours"] for row in rows] == [20.0, 60.0]
    assert [row["finish_year"] for row in rows] == [2029, 2027]
    assert {row["budget"] for row in rows} == {500.0}


def test_grass_is_what_is_mowed_by_the_last_year():
    """All three are clear; c1 is never mowed, and who starts in 2029 is mowed after the plan."""
    (row,) = compare(three_strips(Money([60.0])), (1.0,), stop=(0.0, 60.0))
    assert row["cleared_ha"] == 3.0
    assert row["grass_ha"] in (1.0, 2.0)
    (all_at_once,) = compare(three_strips(Money([500.0]), crew=replace(BASE.crew, people=3)),
                             (1.0,), stop=(0.0, 60.0))  # fmt: skip
    assert all_at_once["grass_ha"] == 2.0
    assert all_at_once["grass_acres"] == pytest.approx(4.942, abs=5e-4)  # NIST HB 44, appendix C


def test_more_never_costs_more():
    """At gap 0 what the planner weighs falls, or stays, with money and with hours."""
    for by in ("money", "hours"):
        rows = compare(three_strips(), (0.5, 1.0, 1.5, 2.0, 4.0), by, (0.0, 60.0))
        costs = [row["objective"] for row in rows]
        assert costs == sorted(costs, reverse=True), by


def test_where_no_plan_fits_the_row_says_so():
    """All must be clear by 2027, which half the hours do not hold."""
    results = three_strips(Money([500.0]), clear_by=2027, crew=replace(BASE.crew, people=2))
    rows = compare(results, (0.5, 1.0), "hours", (0.0, 60.0))
    assert [row["status"] for row in rows] == ["none", "best"]
    assert "cost" not in rows[0]
    assert any("it would fit with" in reason for reason in rows[0]["reasons"])


def test_progress_is_told_after_each_plan():
    """Two plans: one of two, two of two, each with its gap."""
    told = []
    compare(three_strips(), (1.0, 2.0), "money", (0.0, 60.0), lambda *words: told.append(words))
    assert [words[:2] for words in told] == [(1, 2), (2, 2)]


def test_without_a_budget_there_is_nothing_to_vary():
    """The problem names the setting, and the other way to ask."""
    with pytest.raises(InputError, match=r"budget_per_year was not given.*--hours"):
        compare(three_strips(Money([])))


def test_a_share_scales_every_year_or_every_season():
    """A list of budgets keeps its shape; seasons keep theirs."""
    asked = replace(BASE, money=Money([100.0, 300.0]))
    rates = for_settings(asked)
    assert scaled(asked, rates, 0.5, "money")[0].money.budget_per_year == [50.0, 150.0]
    hours = scaled(asked, rates, 2.0, "hours")[1].seasons["hours"]
    assert hours.tolist() == (2 * rates.seasons["hours"]).tolist()


def test_rows_are_plans_alone(monkeypatch):
    """No row asks what more of each limit would save: the core never solves a relaxation."""
    asked = []

    def solved(*instance, **wishes):
        asked.append(wishes)
        return solve(*instance, **wishes)

    monkeypatch.setattr("clearing.schedule.choice.solve", solved)
    compare(three_strips(), (1.0, 2.0), "money", (0.0, 60.0))
    assert len(asked) == 2
    assert not any(wishes.get("relax") for wishes in asked)
