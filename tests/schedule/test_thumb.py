"""Rules of thumb on the same instance: their order, what fits, and that the plan is no worse."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clearing.property import Money
from clearing.rates import for_settings
from clearing.schedule import Around, solve
from clearing.schedule.field import field_instance, owners_limits
from clearing.schedule.thumb import by_rules, rules_of_thumb, strip_order
from clearing.schedule.wishes import Wish
from tests.schedule.test_choice import BASE, option, two_strips, visit

ORDER = pd.DataFrame({
    "strip_id": ["a1", "b1"], "block_id": ["a", "b"], "area_ha": [1.0, 2.0],
    "way_in_m": [500.0, 10.0], "stems": [50.0, 400.0], "stems_per_ha": [50.0, 200.0],
    "block_thick": [50.0, 200.0],
})  # fmt: skip


def weighed(options, visits, wishes=(), order=ORDER, **given_settings) -> pd.DataFrame:
    """Return the plan and the rules of thumb under settings that a test changes, by rule."""
    asked = replace(BASE, **given_settings)
    rates = for_settings(asked)
    limits = owners_limits(asked, rates)
    posed = field_instance(options, visits, rates, asked, Around(), limits)
    answer = solve(posed.instance, gap=0.0)
    tables = (options, visits, order)
    tried = by_rules(posed.plain, tables[0], tables[2], rates.seasons, wishes)
    return rules_of_thumb(tried, answer.chosen, tables).set_index("rule")


def test_the_first_of_a_rule_takes_what_fits_and_the_rest_wait_their_turn():
    """Ten hours hold one strip a year: the plan takes the strip that gains most, a rule its own.

    Sooner is worth 80 for a1 and 180 for b1: the far strip first costs 100 more.
    """
    options, visits = two_strips()
    options.loc[options["option_id"] == "b1/y2027", "worth"] += 100.0
    rules = weighed(options, visits)
    assert rules.loc["nearest_first", "more_than_plan"] == pytest.approx(0.0)
    assert rules.loc["worst_first", "more_than_plan"] == pytest.approx(0.0)
    assert rules.loc["outliers_first", "more_than_plan"] == pytest.approx(100.0)


def test_what_never_fits_waits():
    """Seven hours in the one year left: the second strip waits, and nothing finishes it."""
    options, visits = two_strips()
    late = options["option_id"].str.endswith("y2028")
    rules = weighed(options[~late], visits[visits["year"] == 2027])
    assert rules["waiting"].tolist() == [1, 1, 1, 1]
    assert rules["finish_year"].isna().all()
    assert rules.loc["nearest_first", "cleared_ha"] == 2.0


def test_a_rule_that_cannot_keep_what_was_asked_says_so():
    """No strip may wait and one season holds only one: no order keeps the limits."""
    options, visits = two_strips()
    only = options[options["option_id"].isin(["a1/y2027", "b1/y2028"])]
    both = options[options["option_id"].isin(["a1/y2027", "b1/y2027", "b1/y2028"])]
    rules = weighed(both, visits[visits["option_id"].isin(both["option_id"])])
    assert not rules.loc[["worst_first", "nearest_first"], "keeps_limits"].any()
    assert rules.loc["outliers_first", "keeps_limits"]
    assert weighed(only, visits[visits["option_id"].isin(only["option_id"])])["keeps_limits"].all()


def test_a_rule_takes_the_cheapest_method_of_its_start():
    """Two methods in the first season: the dear one is never taken, nor the later and cheaper."""
    options = pd.DataFrame([option("a1", "dear", 2027, 90.0, 0.0),
                            option("a1", "fair", 2027, 50.0, 0.0),
                            option("a1", "late", 2028, 10.0, 0.0)])  # fmt: skip
    visits = pd.DataFrame(
        [
            visit(f"a1/{n}", y, 1.0, c)
            for n, y, c in (("dear", 2027, 90.0), ("fair", 2027, 50.0), ("late", 2028, 10.0))
        ]
    )
    rules = weighed(options, visits, order=ORDER.iloc[:1])
    assert rules["cost"].tolist() == [10.0, 50.0, 50.0, 50.0]
    assert rules["cash"].tolist() == [10.0, 50.0, 50.0, 50.0]


def test_rules_keep_to_few_products_as_the_plan_does():
    """One product a year: the second strip takes the product that the first has opened."""
    options = pd.DataFrame(
        [
            option(s, n, 2027, c, 0.0)
            for s, n, c in (("a1", "p", 10.0), ("b1", "q", 10.0), ("b1", "p", 30.0))
        ]
    )
    visits = pd.DataFrame([visit(name, 2027, 1.0, 10.0) for name in options["option_id"]])
    kinds = {name: frozenset({("2027", name[-1])}) for name in options["option_id"]}
    rules = weighed(options, visits, wishes=(Wish(1, kinds),))
    assert rules.loc["outliers_first", "cost"] == pytest.approx(40.0)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000))
def test_no_rule_beats_the_plan(seed):
    """Solved to gap 0 with seed between strips: every rule that keeps the limits costs as much."""
    draw = np.random.default_rng(seed)
    options, visits = two_strips()
    options["worth"] += draw.uniform(0, 80, len(options)).round(2)
    visits["hours"] = draw.uniform(2, 9, len(visits)).round(1)
    visits["cost"] = draw.uniform(20, 90, len(visits)).round(1)
    rules = weighed(options, visits, money=Money([100.0], carry_over=bool(seed % 2)))
    kept = rules[rules["keeps_limits"]]
    assert (kept["more_than_plan"] >= -1e-6).all()
    assert kept.loc["plan", "more_than_plan"] == 0.0


def test_stems_of_a_strip_are_those_of_one_method():
    """Each method lists all stems: two methods of 30 and 10 stems make 40, not 80."""
    strips = pd.DataFrame({"strip_id": ["a1", "a2"], "block_id": ["a", "a"],
                           "area_ha": [2.0, 1.0], "way_in_m": [0.0, 5.0]})  # fmt: skip
    rows = [("a1", m, s) for m in ("x", "y") for s in (30.0, 10.0)]
    methods = pd.DataFrame(rows, columns=["strip_id", "method_id", "stems"])
    order = strip_order(strips, methods)
    assert order["stems"].tolist() == [40.0, 0.0]
    assert order["stems_per_ha"].tolist() == [20.0, 0.0]
    assert order["block_thick"].tolist() == pytest.approx([40 / 3] * 2)
