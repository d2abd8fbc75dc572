"""The plan in the owner's terms: why, what else, how likely, what to buy, what would not fit."""

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing.property import Crew, Money, OwnProduct, Season
from clearing.rates import for_settings
from clearing.schedule import Around, Instance, choose, together
from clearing.schedule.impossible import what_stands_in_the_way
from clearing.schedule.limits import field_limits
from clearing.schedule.odds import yearly_odds
from clearing.schedule.purchases import yearly_purchases
from clearing.tables import columns
from tests.small_ground import SETTINGS

SEASONS = (Season("spring", (3, 4, 5), 10.0), Season("fall", (9, 10, 11), 10.0))
JUGS = OwnProduct("glyphosate_4", "glyphosate", 0.4793, (40.0, 82.0), (4.0, 10.0), on_hand_l=3.0)
BASE = replace(
    SETTINGS, first_year=2027, years=3, seasons=SEASONS, herbicides=(JUGS,),
    crew=Crew(people=1, hours_per_day=1.0, wage_per_hour=0.0),
    money=Money(budget_per_year=[100.0], discount_rate=0.0),
)  # fmt: skip


def option(strip: str, name: str, start: int | None, cost: float, worth: float, **more) -> dict:
    """Return one option; ``start`` None is not now."""
    method = "not_now" if start is None else "cut_and_spray"
    return {
        "option_id": f"{strip}/{name}", "strip_id": strip, "block_id": strip[0],
        "method_id": f"{method}:glyphosate_4" if start else method, "method": method,
        "start_year": start or np.nan, "start_season": "spring" if start else "",
        "finish_year": start + 1 if start else np.nan, "mow_year": np.nan, "hours": 0.0,
        "cost": cost, "cost_low": cost, "cost_high": cost, "run_off": 0.0, "worth": worth,
        "paid_back": 0.0,
    } | more  # fmt: skip


def visit(option_id: str, year: int, hours: float, cost: float, **more) -> dict:
    """Return one visit in spring, sure of its hours and cost unless said otherwise."""
    numbers = dict.fromkeys(columns("visits"), 0.0)
    return numbers | {
        "visit_id": f"{option_id}/{year}", "option_id": option_id,
        "strip_id": option_id.split("/")[0], "block_id": option_id[0], "year": year,
        "season": "spring", "job": "cut_and_spray", "method": "cut_and_spray", "herbicide": "",
        "recipe_id": "", "hours": hours, "hours_low": hours, "hours_high": hours, "cost": cost,
        "cost_low": cost, "cost_high": cost, "cautions": "",
    } | more  # fmt: skip


def two_strips(hours: float = 6.0, cost: float = 60.0):
    """Return two like strips: each in spring of 2027 or 2028, or not now; sooner is worth more."""
    options, visits = [], []
    for strip in ("a1", "b1"):
        for year, worth in ((2027, 200.0), (2028, 120.0)):
            name = f"y{year}"
            options.append(option(strip, name, year, cost, worth, hours=hours))
            visits.append(visit(f"{strip}/{name}", year, hours, cost))
        options.append(option(strip, "not_now", None, 0.0, 0.0, run_off=30.0))
    return pd.DataFrame(options), pd.DataFrame(visits)


def plan_of(options, visits, **wishes):
    """Return the proved best plan under settings that a test changes."""
    asked = replace(BASE, **wishes)
    return choose(options, visits, for_settings(asked), asked, gap=0.0)


def chosen(plan) -> list[str]:
    """Return the chosen options in the order of their strips."""
    return plan.options["option_id"].tolist()


def test_each_strip_gets_one_option_within_hours_and_money():
    """Ten hours and a hundred dollars a year hold one of two strips; the other waits a year."""
    plan = plan_of(*two_strips())
    assert plan.status == "best"
    assert sorted(option.split("/")[1] for option in chosen(plan)) == ["y2027", "y2028"]
    held = plan.limits[plan.limits["limit"].notna()]
    assert (held["used"] <= held["limit"] + 1e-9).all()
    assert plan.limits["used"].sum() == pytest.approx(2 * 6 + 2 * 60)


def test_cost_is_discounted_cost_and_run_off_less_worth():
    """60 - 200 for one strip, 60 - 120 for the other."""
    plan = plan_of(*two_strips())
    assert plan.cost == pytest.approx((60 - 200) + (60 - 120))
    assert plan.bound == pytest.approx(plan.cost)


def test_not_now_carries_what_it_leaves_to_do():
    """A strip whose work costs more than it brings waits, and its run-off counts."""
    options, visits = two_strips()
    options["worth"] = 20.0
    plan = plan_of(options, visits)
    assert set(plan.options["method"]) == {"not_now"}
    assert plan.cost == pytest.approx(2 * (30.0 - 20.0))


def test_with_room_for_both_both_are_done_at_once():
    """More hours and money: nothing binds any more."""
    plan = plan_of(*two_strips(), crew=replace(BASE.crew, people=2), money=Money([200.0]))
    assert chosen(plan) == ["a1/y2027", "b1/y2027"]
    assert plan.why["binds"].tolist() == ["", ""]


def test_why_names_the_limit_that_keeps_the_best_option_out():
    """The strip that waits would be done in 2027 but for the hours; the other is free."""
    why = plan_of(*two_strips()).why.set_index("option_id")
    late = next(name for name in why.index if name.endswith("y2028"))
    early = next(name for name in why.index if name.endswith("y2027"))
    assert why.loc[late, "binds"] == "hours in spring 2027"
    assert "done otherwise with more hours in spring 2027" in why.loc[late, "why"]
    assert why.loc[early, "binds"] == ""
    assert why.loc[early, "why"].startswith("Cut-and-spray, starting in spring 2027")


def by_hand(options, visits, plan, strip) -> tuple[str, float]:
    """Return the cheapest other option of a strip that keeps the limits, all other strips held."""
    price = (options["cost"] + options["run_off"] - options["worth"]).to_numpy()
    cost = dict(zip(options["option_id"], price, strict=True))
    own = next(name for name in chosen(plan) if name.startswith(strip))
    rest = [name for name in chosen(plan) if name != own]
    fits = []
    for other in options.loc[options["strip_id"] == strip, "option_id"]:
        work = visits[visits["option_id"].isin([*rest, other])]
        hours = work.groupby(["year", "season"])["hours"].sum()
        money = work.groupby("year")["cost"].sum()
        if other != own and (hours <= 10 + 1e-9).all() and (money <= 100 + 1e-9).all():
            fits.append((cost[other] - cost[own], other))
    extra, name = min(fits)
    return name, extra


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000))
def test_next_best_is_the_cheapest_other_option_that_fits(seed):
    """For each strip, found again by hand with all other strips held."""
    draw = np.random.default_rng(seed)
    options, visits = two_strips()
    options["worth"] += draw.uniform(0, 80, len(options)).round(2)
    visits["hours"] = draw.uniform(2, 9, len(visits)).round(1)
    plan = plan_of(options, visits)
    for row in plan.why.itertuples():
        name, extra = by_hand(options, visits, plan, row.strip_id)
        assert row.next_best_extra == pytest.approx(extra)
        assert row.next_best == name


def test_money_left_over_serves_the_next_year_only_when_carried_over():
    """A visit of 150 dollars in the second year fits two budgets of 100 together."""
    options = pd.DataFrame([option("a1", "y", 2028, 150.0, 500.0),
                            option("a1", "not_now", None, 0.0, 0.0)])  # fmt: skip
    visits = pd.DataFrame([visit("a1/y", 2028, 1.0, 150.0)])
    for carried, wanted in ((True, "a1/y"), (False, "a1/not_now")):
        money = Money([100.0], carry_over=carried)
        assert chosen(plan_of(options, visits, money=money)) == [wanted], carried


def test_carried_money_cannot_be_spent_before_it_is_there():
    """The same visit in the first year does not fit, carried over or not; nor twice."""
    options = pd.DataFrame(
        [option(s, n, y, 150.0, 500.0) for s in ("a1", "b1") for n, y in (("x", 2027), ("y", 2028))]
        + [option(s, "not_now", None, 0.0, 0.0) for s in ("a1", "b1")]
    )
    visits = pd.DataFrame(
        [
            visit(f"{s}/{n}", y, 1.0, 150.0)
            for s in ("a1", "b1")
            for n, y in (("x", 2027), ("y", 2028))
        ]
    )
    plan = plan_of(options, visits, money=Money([100.0], carry_over=True))
    assert sorted(name.split("/")[1] for name in chosen(plan)) == ["not_now", "y"]
    money = plan.limits[plan.limits["kind"] == "money"]
    assert money["limit"].tolist() == [100.0, 200.0, 300.0]
    assert money["used"].tolist() == [0.0, 150.0, 150.0]


def test_visits_after_the_last_year_are_shown_apart_and_bound_by_nothing():
    """A visit in 2030 of a plan to 2029 takes no hours of any season, and is run-off."""
    options = pd.DataFrame([option("a1", "y", 2029, 10.0, 500.0)])
    visits = pd.DataFrame([visit("a1/y", 2029, 5.0, 10.0), visit("a1/y", 2030, 500.0, 9e4)])
    plan = plan_of(options, visits)
    assert plan.visits["year"].tolist() == [2029]
    assert plan.run_off["year"].tolist() == [2030]


def test_clear_by_that_no_method_can_keep_is_a_sentence():
    """Done by 2027 where the first finish is 2028: no plan, and both strips in one sentence."""
    plan = plan_of(*two_strips(), clear_by=2027)
    assert plan.status == "none"
    assert plan.cost is None
    assert plan.reasons == (
        "strips a1 and b1 cannot be cleared by 2027 by any method; the earliest is 2028",
    )


def test_hours_that_no_choice_can_keep_are_named_with_both_numbers():
    """Both strips by 2029 at 12 hours each: no spring holds even one."""
    plan = plan_of(*two_strips(hours=25.0), clear_by=2029)
    assert plan.status == "none"
    assert any("hours more in spring" in reason for reason in plan.reasons)
    assert any("with no clear_by" in reason for reason in plan.reasons)


def test_a_shortfall_is_the_least_that_would_have_to_give():
    """Two options of 8 and 7 hours in a season of ten: five more hours would do."""
    groups = pd.DataFrame({"group": ["a", "b"], "option": ["a1", "b1"], "cost": [0.0, 0.0]})
    groups = pd.concat([groups, groups.assign(option=["a2", "b2"])], ignore_index=True)
    uses = pd.DataFrame(
        [("a1", "hours 2027 spring", 8.0), ("b1", "hours 2027 spring", 7.0),
         ("a2", "hours 2027 fall", 40.0), ("b2", "hours 2027 fall", 40.0)],
        columns=["option", "resource", "amount"],
    )  # fmt: skip
    limits = pd.DataFrame({"resource": ["hours 2027 spring", "hours 2027 fall"],
                           "low": [None, None], "high": [10.0, 1.0]})  # fmt: skip
    sentences = what_stands_in_the_way(Instance.from_tables(groups, uses, limits))
    assert len(sentences) == 1
    assert sentences == ["it would fit with 5 hours more in spring 2027"]


def test_no_plan_always_comes_with_a_sentence():
    """Three strips of 6 hours in two seasons of ten: they fit only cut in halves, and that is said.

    Whole strips need 12 hours in one season: two hours more than there are.
    """
    options = pd.DataFrame([option(s, n, y, 1.0, 5.0, hours=6.0) for s in ("a1", "b1", "c1")
                            for n, y in (("x", 2027), ("y", 2028))])  # fmt: skip
    starts = zip(options["option_id"], options["start_year"], strict=True)
    visits = pd.DataFrame([visit(name, int(year), 6.0, 1.0) for name, year in starts])
    plan = plan_of(options, visits)
    assert plan.status == "none"
    assert any("it would fit with 2 hours more" in reason for reason in plan.reasons)


def test_order_of_rows_does_not_change_the_plan():
    """Options and visits shuffled: the same choice, visits, reasons and odds."""
    options, visits = two_strips()
    options.loc[options["option_id"] == "b1/y2027", "worth"] += 1.0
    one = plan_of(options, visits)
    two = plan_of(options.sample(frac=1, random_state=2), visits.sample(frac=1, random_state=3))
    for name in ("options", "visits", "why", "odds", "limits"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(two, name))


def odds_of(*visits: dict, budget: float = 100.0, **wishes) -> pd.DataFrame:
    """Return the odds of visits, by year and kind."""
    asked = replace(BASE, money=Money([budget], carry_over=wishes.pop("carry", False)), **wishes)
    limits = field_limits(asked, for_settings(asked).seasons)
    odds = yearly_odds(pd.DataFrame(visits), limits, asked)
    return odds[odds["season"] == ""].set_index(["year", "kind"])


def test_sure_work_has_no_odds_and_nothing_more_to_be_ready_for():
    """Low, middle and high alike: plan on and be ready for are one number."""
    odds = odds_of(visit("a1/y", 2027, 4.0, 90.0))
    assert odds.loc[(2027, "money"), ["plan_on", "be_ready_for"]].tolist() == [90.0, 90.0]
    assert odds.loc[(2027, "money"), "odds_over"] == 0.0
    assert odds.loc[(2028, "hours"), "plan_on"] == 0.0


def test_a_visit_as_likely_over_as_under_has_odds_of_one_half():
    """Middle at the limit: a lognormal lies above its median half of the time (2,000 draws)."""
    odds = odds_of(visit("a1/y", 2027, 4.0, 100.0, cost_low=50.0, cost_high=200.0))
    assert odds.loc[(2027, "money"), "odds_over"] == pytest.approx(0.5, abs=4 * 0.5 / 2000**0.5)


def test_be_ready_for_is_the_asked_quantile_of_one_visit():
    """Its low to high is the middle 90 %, so at 95 % one is ready for the high (2,000 draws).

    Standard error of the quantile: sqrt(p (1 - p) / n) / f, here 0.047 in standard deviations.
    """
    uncertain = visit("a1/y", 2027, 4.0, 100.0, cost_low=50.0, cost_high=200.0)
    ready = odds_of(uncertain, confidence=0.95).loc[(2027, "money"), "be_ready_for"]
    sigma = np.log(2.0) / 1.6448536
    assert np.log(ready) == pytest.approx(np.log(200.0), abs=4 * 0.0473 * sigma)


def test_odds_are_held_against_what_was_carried_over():
    """90 and 95 dollars against 100 a year: held against 200, the second year is less at risk.

    The strip's draws are the same in both years: alone it runs over from 100 / 95 of its middle,
    carried over from 200 / 185.
    """
    visits = [
        visit("a1/y", year, 1.0, cost, cost_low=cost / 2, cost_high=cost * 2)
        for year, cost in ((2027, 90.0), (2028, 95.0))
    ]
    alone = odds_of(*visits)["odds_over"].xs("money", level=1)
    carried = odds_of(*visits, carry=True)["odds_over"].xs("money", level=1)
    assert carried[2027] == alone[2027] > 0
    assert carried[2029] < carried[2028] < alone[2028]


def test_the_same_seed_draws_the_same_odds():
    """Odds repeat, and another seed gives others that are close."""
    uncertain = visit("a1/y", 2027, 4.0, 90.0, cost_low=45.0, cost_high=180.0)
    one, two, other = (odds_of(uncertain, seed=seed) for seed in (1, 1, 2))
    pd.testing.assert_frame_equal(one, two)
    first, second = (each.loc[(2027, "money"), "odds_over"] for each in (one, other))
    assert first != second
    assert first == pytest.approx(second, abs=4 * (2 * 0.25 / 2000) ** 0.5)


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 1), st.floats(1, 3)), max_size=5))
def test_a_sum_is_surer_than_its_parts_added_up(parts):
    """Together: low and high lie within the sums of lows and highs, and hold the middle."""
    rows = [(value, value * low, value * high) for value, low, high in parts]
    value, low, high = together({str(i): [row] for i, row in enumerate(rows)})
    sums = [sum(row[i] for row in rows) for i in range(3)]
    assert value == pytest.approx(sums[0])
    assert sums[1] - 1e-9 <= low <= value + 1e-9
    assert value - 1e-9 <= high <= sums[2] + 1e-9


def bought(*litres: tuple[float, float]) -> pd.DataFrame:
    """Return what is bought when each year needs so many litres, and at the most so many."""
    visits = [
        visit("a1/y", 2027 + i, 1.0, 0.0, herbicide="glyphosate_4", product_l=plan,
              product_high_l=ready)
        for i, (plan, ready) in enumerate(litres)
    ]  # fmt: skip
    return yearly_purchases(pd.DataFrame(visits), for_settings(BASE), BASE).set_index("year")


def test_what_is_on_hand_is_used_before_anything_is_bought():
    """Three litres on the shelf: a need of 2.5 buys nothing, the half left serves next year."""
    found = bought((2.5, 2.9), (4.5, 4.5))
    assert found["on_hand_l"].tolist() == pytest.approx([3.0, 0.5])
    assert found["containers"].tolist() == [0, 1]
    assert found["container_l"].tolist()[1] == 4.0
    assert found["cost"].tolist() == [0.0, 40.0]


def test_the_container_that_costs_least_is_bought():
    """Nine litres after the shelf: one of ten for 82, not three of four for 120."""
    found = bought((12.0, 22.5))
    assert found.loc[2027, ["container_l", "containers", "cost"]].tolist() == [10.0, 1, 82.0]
    assert found.loc[2027, "containers_ready"] == 2


@given(st.lists(st.floats(0.1, 40.0), min_size=1, max_size=3), st.floats(1.0, 2.0))
def test_stock_and_purchases_always_cover_the_need(litres, spread):
    """What is on hand and bought is enough in every year, and never a container too many."""
    found = bought(*((need, need * spread) for need in litres))
    there = found["on_hand_l"] + found["containers"] * found["container_l"]
    assert (there >= found["product_l"] - 1e-6).all()
    some = found["containers"] > 0
    assert (there - found["container_l"] < found["product_l"] + 1e-6)[some].all()
    assert (found["containers_ready"] >= found["containers"]).all()
    for (_, before), (_, after) in itertools.pairwise(found.iterrows()):
        left = before["on_hand_l"] + before["containers"] * before["container_l"]
        assert after["on_hand_l"] == pytest.approx(left - before["product_l"], abs=1e-6)


def test_what_is_paid_back_makes_room_in_its_year_and_counts_for_the_plan():
    """Work of 150 with 100 a year fits where 60 come back that year, and its worth is counted."""
    options = [
        option("a1", "y2027", 2027, 150.0, 200.0, paid_back=60.0),
        option("a1", "not_now", None, 0.0, 0.0),
    ]
    visits = [visit("a1/y2027", 2027, 1.0, 90.0), visit("a1/y2027", 2028, 1.0, 150.0)]
    income = pd.DataFrame([("a1/y2027", 2028, 60.0)], columns=["option_id", "year", "amount"])
    tables = pd.DataFrame(options), pd.DataFrame(visits), for_settings(BASE), BASE
    without = choose(*tables, gap=0.0)
    plan = choose(*tables, gap=0.0, around=Around(income=income))
    assert without.options["method"].tolist() == ["not_now"]
    assert plan.options["option_id"].tolist() == ["a1/y2027"]
    assert plan.cost == pytest.approx(150.0 - 200.0 - 60.0)
    money = plan.limits[plan.limits["kind"] == "money"].set_index("year")["used"]
    assert money[2028] == pytest.approx(90.0)
    assert plan.odds.set_index(["kind", "year"]).loc[("money", 2028), "limit"] == 160.0
