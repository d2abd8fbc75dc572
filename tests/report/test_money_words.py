"""What the report says of money, contractors, rounds of felling and the other ways."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing import report
from clearing.property import Crew, Money
from clearing.report import words
from clearing.report.batch_words import batch_words
from clearing.report.other_ways import others_of
from clearing.report.printed import printed_facts
from clearing.report.summary import ON_HAND, status_words
from clearing.report.work_rows import work_rows
from clearing.report.year_facts import dear_containers
from clearing.treatment import known_products
from tests.report.small_place import small_results

FOUR = range(2027, 2031)


def with_plan(results, **more):
    """Return the results with parts of the plan replaced."""
    return replace(results, plan=replace(results.plan, **more))


def with_money(results, used: list[float], limits: list[float], carry: bool = False):
    """Return the results with money that is there and used, year by year."""
    rows = [(f"money {year}", "money", year, "", one, limit)
            for year, one, limit in zip(FOUR, used, limits, strict=True)]  # fmt: skip
    columns = ["resource", "kind", "year", "season", "used", "limit"]
    settings = results.property.settings
    settings = replace(settings, money=Money(budget_per_year=[500.0] * 4, carry_over=carry))
    results = replace(results, property=replace(results.property, settings=settings))
    return with_plan(results, limits=pd.DataFrame(rows, columns=columns))


def bought(results, **costs: float):
    """Return the results with one purchase a year, y2027=200 such as."""
    row = results.plan.purchases.iloc[0]
    rows = [row.to_dict() | {"year": int(year[1:]), "cost": cost} for year, cost in costs.items()]
    return with_plan(results, purchases=pd.DataFrame(rows))


def with_contractor(results, job: str, theirs: float):
    """Return the results with one job given away: none of the own hours, so many of theirs."""
    visits = results.plan.visits.copy()
    visits.loc[visits["job"] == job, "their_hours"] = theirs
    visits.loc[visits["job"] == job, ["hours", "hours_low", "hours_high"]] = 0.0
    return with_plan(results, visits=visits)


def test_containers_that_break_a_year_s_money_are_told():
    """Used 450 of 500; jugs of 200 where 58 of product is counted: 450 + 142 - 500 = 92 over."""
    small = with_money(bought(small_results(), y2027=200.0), [450.0, 0, 0, 0], [500.0] * 4)
    visits = small.plan.visits.copy()
    visits.loc[visits["year"] == 2027, "product_cost"] = 58.0
    line = ("2027: the containers to buy cost $200, the plan counts $58 of product; "
            "$92 more than the year's money")  # fmt: skip
    plan = report.summarise(with_plan(small, visits=visits))
    assert line in plan.warnings
    assert ("Mind", line) in report.summary_lines(plan)
    assert line in report.outputs(with_plan(small, visits=visits))["plan.json"].decode()


@pytest.mark.parametrize(("carry", "told"), [(True, ["2028"]), (False, [])])
def test_money_that_carries_over_is_judged_by_the_sum(carry, told):
    """450 of jugs in each of two years: 2 x 450 + 150 used breaks 1000 in all, 500 a year not."""
    limits = [500.0, 1000.0, 1500.0, 2000.0] if carry else [500.0] * 4
    used = [50.0, 150.0, 150.0, 150.0] if carry else [50.0] * 4
    small = with_money(small_results(), used, limits, carry)
    small = bought(small, y2027=450.0, y2028=450.0)
    assert [line[:4] for line in dear_containers(small)] == told


def test_the_money_there_is_holds_what_earlier_years_left():
    """360 is spent in 2028; of 1000 by then 480 (120 in 2027) is used: 1000 - 480 + 360 = 880."""
    small = with_money(
        small_results(), [120.0, 480.0, 600.0, 600.0], [500.0, 1000.0, 1500.0, 2000.0], carry=True
    )
    plan = report.summarise(small)
    assert [row.cost_limit for row in plan.year_rows[:2]] == ["$500", "$880"]
    assert plan.year_rows[1].cost.value == 360
    assert printed_facts(small, plan).years[1].money_limit == "$880"
    assert "what earlier years left over" in report.map_html(small)


def test_product_on_hand_is_told_at_what_it_costs_to_replace():
    """The sentence stands where a product that is used is on hand, and only there."""
    small = small_results()
    products = tuple(replace(one, on_hand_l=2.0) for one in small.rates.products)
    stocked = replace(small, rates=replace(small.rates, products=products))
    assert ON_HAND in report.summarise(stocked).products
    assert ON_HAND not in report.summarise(small).products
    assert ON_HAND in report.map_html(stocked)


def test_a_contractor_s_hours_stand_beside_the_own():
    """Mowing given away at 30 hours in each of two strips: 30 own hours, 60 of theirs."""
    given = with_contractor(small_results(), "mow", 30.0)
    plan = report.summarise(given)
    also = "about 30 hours of the crew's and about 60 of a contractor's."
    assert plan.headline == f"15 acres taken on by 2030, {also}"
    assert plan.hours.value == 30
    assert plan.blocks[1].hours.words == "about 30 hours of a contractor's"
    page = printed_facts(given, plan).blocks[1]
    assert [row.hours.number for row in page.work] == ["contractor 30"]
    assert ">About 0 hours" not in report.map_html(given)


def test_hours_without_a_contractor_stay_as_they_are():
    """Nothing is set beside them."""
    assert words.beside(words.hours(10, 8, 13), 0.0) == words.hours(10, 8, 13)
    assert work_rows([], True, {}, {}) == []


def test_a_gap_too_small_to_say_is_no_0_percent():
    """A proof within a millionth is told as under a hundredth of one percent."""
    small = small_results()
    best, stopped = (status_words(with_plan(small, gap=1e-6, status=one))
                     for one in ("best", "stopped"))  # fmt: skip
    assert best.endswith("no other plan can beat it by as much as 0.01 %.")
    assert stopped.endswith("it may lie less than 0.01 % from the best.")


def rounds(stems: float, hours: float, crew: Crew | None = None) -> str:
    """Return the words of a cut-and-spray visit of so many stems and hours of people."""
    small = small_results()
    settings = replace(small.property.settings, crew=crew or Crew())
    visit = {"job": "cut_and_spray", "stems": stems, "hours": hours, "stem_hours": hours,
             "walk_hours": 0.0, "idle_hours": 0.0, "mix_l": 0.002 * stems,
             "people": settings.crew.people}  # fmt: skip
    (product,) = [one for one in known_products(small.rates) if one.name == "glyphosate_4"]
    return batch_words(visit, (product, "water"), small.rates, settings)


def test_few_trees_are_felled_at_once():
    """Three trees are fewer than a dozen: one round, no stems a day."""
    assert rounds(3.0, 0.3) == "Fell the 3 trees, then wet their stumps."
    assert rounds(1.0, 0.1) == "Fell the tree, then wet its stump."


def test_a_visit_of_less_than_a_day_is_done_in_a_day():
    """33 stems in 2 hours of two people is no day's pace; 3300 stems in 200 hours are."""
    assert "done in a day" in rounds(33.0, 2.0)
    assert "stems a day" not in rounds(33.0, 2.0)
    assert "about 200 stems a day" in rounds(3300.0, 200.0)  # 16.5 an hour, 2 people x 6 hours


def test_no_more_saws_run_than_there_are_people():
    """One person with three saws fells as one sawyer does."""
    alone = rounds(3300.0, 200.0, Crew(people=1, sawyers=1))
    assert rounds(3300.0, 200.0, Crew(people=1, sawyers=3)) == alone


@pytest.mark.parametrize(
    ("cost", "worth", "said"),
    [
        (300.0, 100.0, "$60 less, the ground brings $400 less"),
        (300.0, 500.0, "$60 less; it does not fit beside the other strips"),
        (358.0, 500.0, "$2 less; within the planner's margin"),
        (460.0, 600.0, "$100 more, the ground brings $100 more"),
        (360.0, 500.0, "costs about the same"),
    ],
)
def test_another_way_says_what_it_brings_and_why_it_is_not_the_plan_s(cost, worth, said):
    """The plan's way costs 360 and its ground brings 500; cost and bound are 5 apart."""
    small = small_results()
    other = small.options.iloc[[0]].assign(
        option_id="1a:2", method="foliar", method_id="foliar", cost=cost, worth=worth
    )
    both = replace(small, options=pd.concat([small.options, other], ignore_index=True))
    (extra,) = {one.extra for one in others_of(both)["1a"] if not one.chosen}
    assert extra == said


def test_leaving_ground_alone_asks_no_contractor():
    """What would be paid to others after the plan is no price of waiting."""
    small = small_results()
    settings = replace(small.property.settings, contractor={"mowing_per_acre": 85.0})
    there = replace(small, property=replace(small.property, settings=settings))
    late = small.visits.iloc[[4]].assign(option_id="3:1", strip_id="3")
    there = replace(there, visits=pd.concat([small.visits, late], ignore_index=True))
    assert [one.contractor for one in others_of(there)["3"]] == [""]
    assert "a contractor asks" in others_of(there)["2"][0].contractor
