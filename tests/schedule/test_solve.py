"""The planner's core finds published and enumerated optima and obeys every limit."""

import csv
import itertools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from clearing.schedule import Instance, Status, solve

PUBLISHED = Path(__file__).parents[1] / "published"


def knapsack(name: str) -> Instance:
    """Return a published instance: most value is least negative cost."""
    numbers = iter((PUBLISHED / "mmkp" / name).read_text().split())
    groups, options, resources = (int(next(numbers)) for _ in range(3))
    high = [float(next(numbers)) for _ in range(resources)]
    rows, uses = [], []
    for group in range(groups):
        next(numbers)
        for option in range(options):
            rows.append((group, f"{group}-{option}", -float(next(numbers))))
            uses += [(f"{group}-{option}", r, float(next(numbers))) for r in range(resources)]
    return Instance.from_tables(
        pd.DataFrame(rows, columns=["group", "option", "cost"]),
        pd.DataFrame(uses, columns=["option", "resource", "amount"]),
        pd.DataFrame({"resource": range(resources), "low": None, "high": high}),
    )


def random_instance(seed: int) -> Instance:
    """Return a small instance: 4 groups of 3 options and 3 resources, some with a low."""
    draw = np.random.default_rng(seed)
    names = [(g, f"{g}-{o}") for g in range(4) for o in range(3)]
    options = pd.DataFrame(names, columns=["group", "option"])
    options["cost"] = draw.integers(-20, 50, len(options)).astype(float)
    uses = options[["option"]].merge(pd.DataFrame({"resource": range(3)}), how="cross")
    uses["amount"] = draw.integers(-2, 9, len(uses)).astype(float)
    low = [None, None, float(draw.integers(0, 8))]
    high = draw.integers(6, 22, 3).astype(float)
    return Instance.from_tables(
        options, uses, pd.DataFrame({"resource": range(3), "low": low, "high": high})
    )


def best_by_hand(instance: Instance) -> float | None:
    """Return the least cost over every choice, or None when none keeps the limits."""
    cost = instance.options.set_index("option")["cost"]
    use = instance.uses.pivot_table(index="option", columns="resource", values="amount")
    low = instance.limits["low"].fillna(-np.inf).to_numpy()
    high = instance.limits["high"].fillna(np.inf).to_numpy()
    groups = [own["option"].tolist() for _, own in instance.options.groupby("group")]
    costs = [
        cost[list(pick)].sum()
        for pick in itertools.product(*groups)
        if (low <= (used := use.loc[list(pick)].sum().to_numpy())).all() and (used <= high).all()
    ]
    return min(costs) if costs else None


with (PUBLISHED / "schedule.csv").open() as stream:
    ROWS = list(csv.DictReader(stream))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["instance"])
def test_core_finds_the_published_optimum(row):
    """The three instances come out at the optimum that their authors print, with gap 0."""
    plan = solve(knapsack(row["instance"]), gap=0)
    assert plan.status is Status.BEST
    assert -plan.cost == pytest.approx(float(row["optimum"]))
    assert plan.gap == pytest.approx(0)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["instance"])
def test_relaxation_gives_the_published_bound(row):
    """With shares of options allowed the value is the printed bound."""
    plan = solve(knapsack(row["instance"]), relax=True)
    assert -plan.cost == pytest.approx(float(row["lp_bound"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("seed", range(60))
def test_core_equals_enumeration(seed):
    """On small instances the planner's cost is the least of all choices, or there is none."""
    instance = random_instance(seed)
    by_hand, plan = best_by_hand(instance), solve(instance, gap=0)
    if by_hand is None:
        assert plan.status is Status.NONE
    else:
        assert plan.cost == pytest.approx(by_hand)


def test_more_room_never_costs_more():
    """Raising every limit does not raise the least cost."""
    tight = random_instance(3)
    wide = Instance(tight.options, tight.uses, tight.limits.assign(high=tight.limits["high"] + 5))
    assert solve(wide, gap=0).cost <= solve(tight, gap=0).cost + 1e-9


def test_order_of_rows_does_not_matter():
    """The same tables in another order give the same choice."""
    one = random_instance(5)
    shuffled = Instance.from_tables(
        one.options.sample(frac=1, random_state=1),
        one.uses.sample(frac=1, random_state=2),
        one.limits.sample(frac=1, random_state=3),
    )
    assert solve(one, gap=0).chosen.equals(solve(shuffled, gap=0).chosen)


def test_impossible_work_is_named_before_solving():
    """A limit below what every choice needs is named with both numbers."""
    options = pd.DataFrame({"group": ["a", "b"], "option": ["a1", "b1"], "cost": [1.0, 1.0]})
    uses = pd.DataFrame(
        {"option": ["a1", "b1"], "resource": ["hours", "hours"], "amount": [30.0, 12.0]}
    )
    limits = pd.DataFrame({"resource": ["hours"], "low": [None], "high": [40.0]})
    sentences = Instance.from_tables(options, uses, limits).impossible()
    assert sentences == ["hours: at the least 42.0 is needed, and there is 40.0"]
