"""The owner's wishes: one block before another, few blocks a season, hours of the mower, seed."""

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from clearing.property import Money
from clearing.rates import for_settings
from clearing.schedule import Around, choose
from clearing.tables import columns
from tests.schedule.test_choice import BASE, option, visit

YEARS = (2027, 2028, 2029)
ROOMY = replace(BASE, money=Money(discount_rate=0.0), crew=replace(BASE.crew, people=9))


def three_blocks(hours: float = 4.0):
    """Return strips a1, a2, b1 and c1 that may start in each year; sooner is worth more."""
    options, visits = [], []
    for strip, year in itertools.product(("a1", "a2", "b1", "c1"), YEARS):
        name = f"y{year}"
        options.append(option(strip, name, year, 50.0, 300.0 - 40.0 * (year - 2027)))
        visits.append(visit(f"{strip}/{name}", year, hours, 50.0, machine_hours=2.0))
    options += [option(strip, "not_now", None, 0.0, 0.0) for strip in ("a1", "a2", "b1", "c1")]
    return pd.DataFrame(options), pd.DataFrame(visits)


def starts(plan) -> dict[str, float]:
    """Return the start year of each strip of a plan."""
    return plan.options.set_index("strip_id")["start_year"].to_dict()


def planned(asked, around=None, tables=None):
    """Return the proved best plan of the three blocks under settings that a test gives."""
    tables = tables or three_blocks()
    return choose(*tables, for_settings(asked), asked, gap=0.0, around=around)


def test_a_block_that_comes_before_another_has_all_its_strips_started_sooner():
    """With room for all in 2027, block b waits a year for both strips of block a."""
    free = starts(planned(ROOMY))
    assert set(free.values()) == {2027}
    held = starts(planned(replace(ROOMY, before=(("a", "b"),))))
    assert held == {"a1": 2027, "a2": 2027, "b1": 2028, "c1": 2027}


def test_wishes_of_order_chain():
    """Block a before b before c takes three years."""
    held = starts(planned(replace(ROOMY, before=(("a", "b"), ("b", "c")))))
    assert (held["a1"], held["b1"], held["c1"]) == (2027, 2028, 2029)


def test_an_order_wish_costs_what_it_delays():
    """Block b a year later is worth 40 dollars less, and nothing else changes."""
    free, held = planned(ROOMY), planned(replace(ROOMY, before=(("a", "b"),)))
    assert held.cost - free.cost == pytest.approx(40.0)


def test_a_strip_says_that_the_wish_holds_it_back():
    """The reason of the strip that waits names the two blocks."""
    why = planned(replace(ROOMY, before=(("a", "b"),))).why.set_index("strip_id")
    assert "block a come before block b" in why.loc["b1", "binds"]


def test_few_blocks_a_season_keeps_the_crew_together():
    """One block a season: three blocks take three springs, and strips of one block go together."""
    held = starts(planned(replace(ROOMY, most_blocks_a_season=1)))
    assert held["a1"] == held["a2"] == 2027  # the block with two strips first
    assert sorted((held["b1"], held["c1"])) == [2028, 2029]


def test_follow_ups_do_not_count_as_scattering():
    """A round of follow-ups over all blocks in 2028 keeps no block from its own spring."""
    options, visits = three_blocks()
    rounds = [visit(name, 2029, 0.1, 0.0, job="follow_up") for name in visits["option_id"]]
    visits = pd.concat([visits, pd.DataFrame(rounds)], ignore_index=True)
    held = starts(planned(replace(ROOMY, most_blocks_a_season=1), tables=(options, visits)))
    assert set(held.values()) == {2027, 2028, 2029}


def test_hours_of_the_mower_are_a_limit_of_each_season():
    """Four hours of a mower hold two strips of two hours in a spring; without a figure none."""
    money = replace(ROOMY.money, mower_hours_a_season=4.0)
    plan = planned(replace(ROOMY, money=money))
    assert pd.Series(starts(plan)).value_counts().to_dict() == {2027: 2, 2028: 2}
    mower = plan.limits[plan.limits["kind"] == "mower"]
    assert mower["used"].max() == 4.0
    assert mower["used"].sum() == 8.0
    assert "mower" not in set(planned(ROOMY).limits["kind"])


def seed(to: str, of: str, year: int, hours: float, cost: float) -> dict:
    """Return one row of seed that crosses an edge."""
    return dict.fromkeys(columns("arrivals"), 0.0) | {
        "strip_id": to, "from_id": of, "year": year, "due_year": year + 1, "season": "spring",
        "part": "stems", "treated_by": year,
        "job": "follow_up", "herbicide": "", "recipe_id": "", "hours": hours, "cost": cost,
        "paid": cost, "hours_low": hours, "hours_high": hours, "cost_low": cost, "cost_high": cost,
    }  # fmt: skip


def by_hand(options, visits, arrivals, room: float) -> float:
    """Return the least cost of all choices: own cost, and seed from each strip not yet treated."""
    net = (options["cost"] - options["worth"]).set_axis(options["option_id"])
    start = options.set_index("option_id")["start_year"].fillna(np.inf)
    best = np.inf
    for picked in itertools.product(*[o["option_id"] for _, o in options.groupby("strip_id")]):
        first = {name.split("/")[0]: start[name] for name in picked}
        crossing = arrivals[[first[row.strip_id] <= row.year < first[row.from_id]
                             for row in arrivals.itertuples()]]  # fmt: skip
        spent = visits[visits["option_id"].isin(picked)].groupby("year")["hours"].sum()
        spent = spent.add(crossing.groupby("due_year")["hours"].sum(), fill_value=0.0)
        if (spent[spent.index <= 2029] <= room + 1e-9).all():
            best = min(best, net[list(picked)].sum() + crossing["paid"].sum())
    return best


@pytest.mark.parametrize("case", range(12))
def test_seed_between_strips_is_weighed_exactly(case):
    """The plan's cost is the least of all choices, with the hours of seedlings in the limits."""
    draw = np.random.default_rng(case)
    options, visits = three_blocks()
    strips = ("a1", "a2", "b1", "c1")
    rows = [seed(to, of, year, float(draw.uniform(0, 2)), float(draw.uniform(0, 60)))
            for to, of in itertools.permutations(strips, 2) for year in YEARS
            if draw.random() < 0.7]  # fmt: skip
    arrivals = pd.DataFrame(rows)
    asked = replace(BASE, money=Money(discount_rate=0.0))
    plan = planned(asked, Around(arrivals=arrivals), (options, visits))
    assert plan.cost == pytest.approx(by_hand(options, visits, arrivals, 10.0))


def test_seedlings_from_over_an_edge_stand_in_the_plan_s_visits():
    """a1 goes first, b1 cannot follow before 2028: its seed of 2027 costs a1 an hour in 2028."""
    options, visits = three_blocks(hours=6.0)
    options = options[options["strip_id"].isin(["a1", "b1"])]
    visits = visits[visits["strip_id"].isin(["a1", "b1"])]
    visits = pd.concat(
        [visits, pd.DataFrame([visit("a1/y2027", 2028, 2.0, 5.0, job="follow_up")])],
        ignore_index=True,
    )
    arrivals = pd.DataFrame([seed("a1", "b1", 2027, 1.0, 3.0), seed("b1", "a1", 2027, 50.0, 90.0)])
    asked = replace(BASE, money=Money(discount_rate=0.0))
    plan = planned(asked, Around(arrivals=arrivals), (options, visits))
    assert starts(plan) == {"a1": 2027, "b1": 2028}
    later = plan.visits[(plan.visits["strip_id"] == "a1") & (plan.visits["year"] == 2028)]
    assert later["hours"].tolist() == [3.0]
    assert later["cost"].tolist() == [8.0]
    used = plan.limits.set_index("resource")["used"]
    assert used["hours 2028 spring"] == pytest.approx(6.0 + 3.0)


def test_only_work_already_begun_may_pass_the_hours():
    """Strip a1 was begun and needs 12 of ten hours; b1 finds none left and starts a year later."""
    options, visits = three_blocks(hours=6.0)
    begun = option("a1", "begun", 2026, 10.0, 100.0)
    options = pd.concat([options[options["strip_id"] == "b1"], pd.DataFrame([begun])])
    work = visit("a1/begun", 2027, 12.0, 1.0, job="follow_up")
    visits = pd.concat([visits[visits["strip_id"] == "b1"], pd.DataFrame([work])])
    asked = replace(BASE, money=Money(discount_rate=0.0))
    plan = planned(asked, Around(begun=frozenset({"a1"})), (options, visits))
    assert starts(plan) == {"a1": 2026, "b1": 2028}
    assert plan.shortfall["amount"].tolist() == [2.0]
    used = plan.limits.set_index("resource")
    assert used.loc["hours 2027 spring", "used"] == 12.0


def test_work_begun_does_not_soften_what_cannot_be_done():
    """With a strip begun, strips that cannot all be done by clear_by still have no plan."""
    options, visits = three_blocks(hours=9.0)
    options = options[options["strip_id"] != "a1"].assign(hours=9.0)
    begun = pd.DataFrame([option("a1", "begun", 2026, 10.0, 100.0)])
    work = pd.DataFrame([visit("a1/begun", 2027, 1.0, 1.0, job="follow_up")])
    tables = (
        pd.concat([options, begun], ignore_index=True),
        pd.concat([visits[visits["strip_id"] != "a1"], work], ignore_index=True),
    )
    asked = replace(BASE, money=Money(discount_rate=0.0), clear_by=2029)
    plan = planned(asked, Around(begun=frozenset({"a1"})), tables)
    assert plan.status == "none"
    assert any("hours more" in reason for reason in plan.reasons)
