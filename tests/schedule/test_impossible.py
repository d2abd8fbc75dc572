"""Why no plan fits: which limit, by how much, and what would make it fit, each tried."""

from dataclasses import replace

import numpy as np
import pandas as pd

from clearing.property import Money
from clearing.rates import for_settings
from clearing.schedule import Instance, choose, solve
from clearing.schedule.impossible import Asked, alone, too_late, what_stands_in_the_way
from tests.schedule.test_choice import BASE, option, visit


def instance(uses: list[tuple], **highs: float) -> Instance:
    """Return one option a group, or more: (group, option, resource, amount); limits by name."""
    used = pd.DataFrame(uses, columns=["group", "option", "resource", "amount"])
    options = used[["group", "option"]].drop_duplicates().assign(cost=1.0)
    limits = pd.DataFrame([(name.replace("_", " "), None, high) for name, high in highs.items()],
                          columns=["resource", "low", "high"])  # fmt: skip
    return Instance.from_tables(options, used, limits)


def must_by(year: int, **wishes):
    """Return the plan of three strips of 6 hours each, a spring of ten hours a year, by a year."""
    starts = [("x", 2027), ("y", 2028), ("z", 2029)]
    options = pd.DataFrame([option(s, n, y, 1.0, 5.0, hours=6.0) | {"finish_year": float(y)}
                            for s in ("a1", "b1", "c1") for n, y in starts])  # fmt: skip
    visits = pd.DataFrame([visit(row.option_id, int(row.start_year), 6.0, 1.0)
                           for row in options.itertuples()])  # fmt: skip
    asked = replace(BASE, clear_by=year, **wishes)
    return choose(options, visits, for_settings(asked), asked, gap=0.0)


def test_a_limit_that_stands_alone_in_the_way_is_named_with_both_numbers():
    """Eight hours at the least, five there are; the other limit is kept."""
    posed = instance(
        [
            ("a", "a1", "hours 2027 fall", 8.2),
            ("a", "a2", "hours 2027 fall", 9.0),
            ("a", "a1", "money 2027", 40.0),
        ],
        hours_2027_fall=5.9,
        money_2027=100.0,
    )
    assert [name for name, _, _ in alone(posed)] == ["hours 2027 fall"]
    said = what_stands_in_the_way(posed)
    assert said[0] == "hours in fall 2027: at the least 9 needed, and there are 5"
    assert said[1] == "it would fit with 3 hours more in fall 2027"


def test_money_is_told_in_dollars_rounded_up_to_ten():
    """101 dollars needed, 50 there: 60 more; never less than what is lacking."""
    posed = instance([("a", "a1", "money 2027", 101.0)], money_2027=50.0)
    said = what_stands_in_the_way(posed)
    assert said == ["money in 2027: at the least $110 needed, and there is $50",
                    "it would fit with $60 more in 2027"]  # fmt: skip


def test_several_ways_out_stand_side_by_side():
    """Three strips by 2027 and room for one: hours, or a year or two later, would do."""
    plan = must_by(2027, money=Money([1000.0]))
    assert plan.status == "none"
    text = "; ".join(plan.reasons)
    assert "it would fit with 8 hours more in spring 2027" in text
    assert "it would fit with clear_by = 2029" in text


def test_what_is_said_to_fit_does_fit():
    """The hours that are named make a plan, one less does not; so does the later year."""
    short = must_by(2027, money=Money([1000.0]))
    lacking = next(int(part.split(" with ")[1].split(" ")[0]) for part in short.reasons
                   if "hours more" in part)  # fmt: skip
    for more, fits in ((lacking, True), (lacking - 1, False)):
        crew = replace(BASE.crew, hours_per_day={"spring": (10.0 + more) / 10, "fall": 1.0})
        assert (must_by(2027, money=Money([1000.0]), crew=crew).status == "best") == fits
    assert must_by(2029, money=Money([1000.0])).status == "best"


def test_a_strip_that_no_method_finishes_in_time_has_its_earliest_year():
    """2029 and 2031 where 2028 is asked; a third has none in the years of the plan."""
    options = pd.DataFrame({"strip_id": ["a", "a", "b", "c"],
                            "finish_year": [2030.0, 2029.0, 2031.0, np.nan]})  # fmt: skip
    said = too_late(options, ["a", "b"], 2028)
    assert said[0] == "strip a cannot be cleared by 2028 by any method; the earliest is 2029"
    assert said[2] == "with clear_by = 2031 each of them alone has a way"
    assert "plan for more years" in too_late(options, ["c"], 2028)[0]


def test_strips_with_the_same_earliest_year_share_a_sentence():
    """5a, 5b and 13 are clear in 2031 at the earliest, 2 in 2030: two sentences, in order."""
    options = pd.DataFrame({"strip_id": ["13", "2", "5a", "5b"],
                            "finish_year": [2031.0, 2030.0, 2031.0, 2031.0]})  # fmt: skip
    assert too_late(options, ["13", "2", "5a", "5b"], 2029) == [
        "strips 5a, 5b and 13 cannot be cleared by 2029 by any method; the earliest is 2031",
        "strip 2 cannot be cleared by 2029 by any method; the earliest is 2030",
        "with clear_by = 2031 each of them alone has a way",
    ]


def test_later_years_are_tried_one_by_one():
    """A year more does not fit and two do: the second is named, once."""
    tight = instance([("a", "a1", "hours 2027 fall", 8.0)], hours_2027_fall=5.0)
    wide = instance([("a", "a1", "hours 2027 fall", 8.0)], hours_2027_fall=9.0)
    tried = []

    def again(clear_by):
        tried.append(clear_by)
        return wide if clear_by == 2030 else tight

    said = what_stands_in_the_way(tight, Asked(2028, 2034, again))
    assert tried == [2029, 2030]
    assert said[-1] == "it would fit with clear_by = 2030"
    assert solve(wide).cost is not None


def test_there_is_never_no_sentence():
    """Limits that neither hours nor money can mend are told to be looked at."""
    name = "order 1 before 2: a, b, 7"
    (said,) = what_stands_in_the_way(instance([("a", "a1", name, 1.0)], **{name: 0.0}))
    assert said.startswith("the wish that block 1")
