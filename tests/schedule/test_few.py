"""At most so many kinds of product a year, against every choice there is."""

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from clearing.property import Money, OwnProduct
from clearing.rates import for_settings
from clearing.schedule import choose
from clearing.schedule.few import OPENING
from tests.schedule.test_choice import BASE, option, visit

KINDS = ("glyphosate_4", "imazapyr_2", "triclopyr_amine_3")
YEARS = (2027, 2028)


def few_jugs(seed: int, most: int | None, on_hand: str = ""):
    """Return strips whose options cost at random, each with a product in a year or two."""
    draw = np.random.default_rng(seed)
    options, visits = [], []
    for strip in ("a1", "b1", "c1"):
        for kind, year in itertools.product(KINDS, YEARS):
            name = f"{kind}{year}"
            options.append(option(strip, name, year, float(draw.uniform(10, 90)), 100.0))
            visits.append(visit(f"{strip}/{name}", year, 0.0, 0.0, herbicide=kind))
            if draw.random() < 0.4:
                other = str(draw.choice(KINDS))
                visits.append(visit(f"{strip}/{name}", 2029, 0.0, 0.0, herbicide=other))
        options.append(option(strip, "not_now", None, 0.0, 0.0))
    jugs = tuple(
        OwnProduct(kind, kind, 0.4, (40.0,), (4.0,), on_hand_l=3.0 * (kind == on_hand))
        for kind in KINDS
    )
    settings = replace(
        BASE, herbicides=jugs, most_products_a_year=most, money=Money(discount_rate=0.0)
    )
    tables = pd.DataFrame(options), pd.DataFrame(visits)
    return choose(*tables, for_settings(settings), settings, gap=0.0), *tables


def best_by_hand(options: pd.DataFrame, visits: pd.DataFrame, most: int) -> float:
    """Return the least cost less worth, and a token a kind, of all choices that open few kinds."""
    used = visits.groupby("option_id").apply(
        lambda rows: set(zip(rows["year"], rows["herbicide"], strict=True))
    )
    net = (options["cost"] - options["worth"]).set_axis(options["option_id"])
    best = np.inf
    for choice in itertools.product(
        *[list(own["option_id"]) for _, own in options.groupby("strip_id")]
    ):
        opened = set().union(*[used.get(one, set()) for one in choice])
        by_year = pd.Series([year for year, _ in opened], dtype=float).value_counts()
        if (by_year <= most).all():
            best = min(best, sum(net[one] for one in choice) + len(opened) * OPENING)
    return best


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("most", [1, 2])
def test_few_kinds_a_year_is_the_best_of_all_choices_that_keep_it(seed, most):
    """Cost equals enumeration, and no year opens more kinds than wished."""
    plan, options, visits = few_jugs(seed, most)
    chosen = visits[visits["option_id"].isin(plan.options["option_id"])]
    assert (chosen.groupby("year")["herbicide"].nunique() <= most).all()
    assert plan.cost == pytest.approx(best_by_hand(options, visits, most))


def test_without_a_wish_any_number_of_kinds_may_be_opened():
    """The plan takes the cheapest option of each strip."""
    plan, options, _ = few_jugs(3, None)
    net = options["cost"] - options["worth"]
    assert plan.cost == pytest.approx(net.groupby(options["strip_id"]).min().sum())


def test_of_two_even_plans_the_one_with_what_is_on_hand_is_taken():
    """Two kinds at the same cost: the kind in the barn is used."""
    options = [option("a1", kind, 2027, 50.0, 100.0) for kind in KINDS]
    visits = [visit(f"a1/{kind}", 2027, 0.0, 0.0, herbicide=kind) for kind in KINDS]
    for own in KINDS:
        jugs = tuple(
            OwnProduct(kind, kind, 0.4, (40.0,), (4.0,), on_hand_l=2.0 * (kind == own))
            for kind in KINDS
        )
        settings = replace(
            BASE, herbicides=jugs, most_products_a_year=1, money=Money(discount_rate=0.0)
        )
        plan = choose(
            pd.DataFrame(options), pd.DataFrame(visits), for_settings(settings), settings, gap=0.0
        )
        assert plan.options["option_id"].tolist() == [f"a1/{own}"]


def test_the_next_best_keeps_to_the_kinds_that_are_opened():
    """No strip is told of a next best that would open another kind."""
    plan, _, visits = few_jugs(5, 1)
    chosen = visits[visits["option_id"].isin(plan.options["option_id"])]
    opened = set(zip(chosen["year"], chosen["herbicide"], strict=True))
    others = visits[visits["option_id"].isin(plan.why["next_best"])]
    assert set(zip(others["year"], others["herbicide"], strict=True)) <= opened
