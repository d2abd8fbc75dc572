"""At most so many kinds of product a year, against every choice there is."""

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from clearing.property import Money, OwnProduct
from clearing.rates import for_settings
from clearing.schedule import Around, choose, strip_order
from clearing.schedule.board import board_of, used_by
from clearing.schedule.few import OPENING
from clearing.schedule.field import field_instance, owners_limits
from clearing.schedule.openings import with_openings
from tests.schedule.test_choice import BASE, option, visit

KINDS = ("glyphosate_4", "imazapyr_2", "triclopyr_amine_3")
YEARS = (2027, 2028)


def jugs_of(on_hand: str = "") -> tuple[OwnProduct, ...]:
    """Return a product of each kind, one of them perhaps in the barn."""
    return tuple(
        OwnProduct(kind, kind, 0.4, (40.0,), (4.0,), on_hand_l=3.0 * (kind == on_hand))
        for kind in KINDS
    )


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
    settings = replace(
        BASE, herbicides=jugs_of(on_hand), most_products_a_year=most, money=Money(discount_rate=0.0)
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
    tokens = len(opened_by(visits, plan.options["option_id"].tolist())) * OPENING
    assert plan.cost + tokens == pytest.approx(best_by_hand(options, visits, most))


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


def opened_by(visits: pd.DataFrame, names: list[str]) -> set[tuple[int, str]]:
    """Return the years and kinds that some options use together."""
    own = visits[visits["option_id"].isin(names)]
    return set(zip(own["year"], own["herbicide"], strict=True))


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("most", [1, 2])
def test_the_next_best_is_the_cheapest_swap_that_keeps_to_few_kinds(seed, most):
    """Each other option of each strip is tried: another kind may be opened where few are open."""
    plan, options, visits = few_jugs(seed, most)
    net = (options["cost"] - options["worth"]).set_axis(options["option_id"])
    chosen = plan.options["option_id"].tolist()
    for row in plan.why.itertuples():
        rest = [name for name in chosen if name != row.option_id]
        fits = {}
        for name in options.loc[options["strip_id"] == row.strip_id, "option_id"]:
            years = pd.Series([year for year, _ in opened_by(visits, [*rest, name])], dtype=float)
            if name != row.option_id and (years.value_counts() <= most).all():
                fits[name] = net[name] - net[row.option_id]
        assert row.next_best_extra == pytest.approx(min(fits.values()))


def test_a_kind_that_nobody_has_opened_is_no_bar_to_the_next_best():
    """Two kinds wished and one used: the next best brings the second, ten dollars dearer."""
    options = [option("a1", kind, 2027, 50.0 + dear, 100.0)
               for kind, dear in zip(KINDS, (0.0, 10.0, 20.0), strict=True)]  # fmt: skip
    visits = [visit(f"a1/{kind}", 2027, 0.0, 0.0, herbicide=kind) for kind in KINDS]
    settings = replace(BASE, most_products_a_year=2, money=Money(discount_rate=0.0))
    plan = choose(pd.DataFrame(options), pd.DataFrame(visits), for_settings(settings), settings)
    (row,) = plan.why.itertuples()
    assert (row.next_best, row.next_best_extra) == (f"a1/{KINDS[1]}", 10.0)


def test_cost_is_that_of_the_strips_without_tokens_of_kinds():
    """Cost less worth by hand, and the plan's row among rules of thumb, are the plan's cost."""
    plan, options, visits = few_jugs(4, 1)
    own = options[options["option_id"].isin(plan.options["option_id"])]
    assert plan.cost == pytest.approx((own["cost"] - own["worth"]).sum())
    assert plan.bound == pytest.approx(plan.cost)
    strips = pd.DataFrame({"strip_id": ["a1", "b1", "c1"], "block_id": ["a", "b", "c"],
                           "area_ha": 1.0, "way_in_m": 0.0})  # fmt: skip
    methods = pd.DataFrame({"strip_id": ["a1"], "method_id": ["m"], "stems": [1.0]})
    asked = replace(BASE, most_products_a_year=1, money=Money(discount_rate=0.0))
    around = Around(order=strip_order(strips, methods))
    ruled = choose(options, visits, for_settings(asked), asked, gap=0.0, around=around)
    assert ruled.thumb.set_index("rule").loc["plan", "cost"] == pytest.approx(ruled.cost)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("most", [1, 2])
def test_openings_settled_first_keep_the_wish_and_lose_no_proof(seed, most, monkeypatch):
    """As large plans are made: the wish is kept, and cost and bound hold the best of all."""
    for name in ("LARGE", "SMALL"):
        monkeypatch.setattr(f"clearing.schedule.rounds.{name}", 0)
    plan, options, visits = few_jugs(seed, most)
    chosen = visits[visits["option_id"].isin(plan.options["option_id"])]
    assert (chosen.groupby("year")["herbicide"].nunique() <= most).all()
    tokens = len(opened_by(visits, plan.options["option_id"].tolist())) * OPENING
    best = best_by_hand(options, visits, most)
    assert plan.cost + tokens == pytest.approx(best)
    assert plan.bound <= best + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_what_is_left_once_openings_are_settled_asks_for_nothing_shut(seed):
    """Any choice of what is left keeps every rule, one option at least is left of each strip."""
    _, options, visits = few_jugs(seed, 1)
    settings = replace(BASE, herbicides=jugs_of(), most_products_a_year=1)
    rates = for_settings(settings)
    limits = owners_limits(settings, rates)
    board = board_of(field_instance(options, visits, rates, settings, Around(), limits).instance)
    shares = np.random.default_rng(seed).random(len(board.cost))
    free, left, kept = with_openings(board, shares)
    assert set(board.group[left]) == set(range(len(board.groups)))
    rules = np.setdiff1d(np.arange(len(board.resources)), kept)
    draw = np.random.default_rng(seed)
    for _ in range(50):
        rows = np.array([draw.choice(left[board.group[left] == g])
                         for g in range(len(board.groups))])  # fmt: skip
        assert (used_by(board, rows)[rules] <= 1e-9).all()
    assert len(free.resources) == len(kept)
