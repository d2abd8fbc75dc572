"""The planner's core finds published and enumerated optima and obeys every limit."""

import csv
import itertools
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from clearing.schedule import Instance, Status, solve
from clearing.schedule.impossible import alone

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
    high[2] = max(high[2], low[2])
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
    assert alone(Instance.from_tables(options, uses, limits)) == [("hours", 42.0, 40.0)]


GAP_COST = [
    [17, 21, 22, 18, 24, 15, 20, 18, 19, 18, 16, 22, 24, 24, 16],
    [23, 16, 21, 16, 17, 16, 19, 25, 18, 21, 17, 15, 25, 17, 24],
    [16, 20, 16, 25, 24, 16, 17, 19, 19, 18, 20, 16, 17, 21, 24],
    [19, 19, 22, 22, 20, 16, 19, 17, 21, 19, 25, 23, 25, 25, 25],
    [18, 19, 15, 15, 21, 25, 16, 16, 23, 15, 22, 17, 19, 22, 24],
]
GAP_USE = [
    [8, 15, 14, 23, 8, 16, 8, 25, 9, 17, 25, 15, 10, 8, 24],
    [15, 7, 23, 22, 11, 11, 12, 10, 17, 16, 7, 16, 10, 18, 22],
    [21, 20, 6, 22, 24, 10, 24, 9, 21, 14, 11, 14, 11, 19, 16],
    [20, 11, 8, 14, 9, 5, 6, 19, 19, 7, 6, 6, 13, 9, 18],
    [8, 13, 13, 13, 10, 20, 25, 16, 16, 17, 10, 10, 5, 12, 23],
]


@pytest.mark.parametrize(("sign", "optimum"), [(1, 261), (-1, 336)])
def test_core_assigns_jobs_to_agents_at_the_published_optimum(sign, optimum):
    """Generalised assignment c515-1: 261 at the least and 336 at the most, as printed.

    Source: Osman 1995; Cattrysse and others 1994; instance read in GLPK 5.0 (gap.mod).
    """
    rows = [(j, f"{i}-{j}", sign * GAP_COST[i][j]) for i in range(5) for j in range(15)]
    uses = [(f"{i}-{j}", i, GAP_USE[i][j]) for i in range(5) for j in range(15)]
    instance = Instance.from_tables(
        pd.DataFrame(rows, columns=["group", "option", "cost"]),
        pd.DataFrame(uses, columns=["option", "resource", "amount"]),
        pd.DataFrame({"resource": range(5), "low": None, "high": [36, 34, 38, 27, 33]}),
    )
    assert sign * solve(instance, gap=0).cost == pytest.approx(optimum)


ACRES = {"A": 1000.776, "B": 499.899, "C": 1000.319}
WORTH = {
    "A-1": [9491, 6508, 4552, 3160], "A-2": [9317, 6549, 4570, 2965], "A-9": [-71],
    "B-1": [844, 477, 288, 160], "B-9": [-47], "C-1": [720, 755, 682, 525], "C-9": [-47],
}  # fmt: skip
FIRST = {"A": [35, 37, 38.5, 40], "B": [18, 17.5, 16.5, 15], "C": [6, 11, 15, 17.5]}
AFTER = {
    "A-1": {3: 26, 6: 26},
    "A-2": {2: 6, 4: 26, 6: 6},
    "B-1": {3: 12, 6: 12},
    "C-1": {3: 12, 6: 12},
}


def yields(name, start):
    """Return volume an acre in the seven periods: the first cut, and what comes periods after."""
    out = [0.0] * 7
    if name in AFTER:
        out[start] = FIRST[name[0]][start]
        for later, volume in AFTER[name].items():
            if start + later < 7:
                out[start + later] = volume
    return out


STANDS = {
    "A": [
        16.573,
        35.797,
        57.899,
        64.359,
        67.905,
        78.545,
        122.956,
        124.597,
        131.509,
        145.413,
        155.223,
    ],
    "B": [21.742, 22.573, 32.535, 40.189, 46.048, 52.294, 58.724, 69.777, 73.329, 82.688],
    "C": [23.369, 23.425, 43.471, 43.549, 72.196, 72.314, 96.942, 163.692, 215.566, 245.795],
}


def harvest() -> Instance:
    """Return Forest Model I: 31 stands, prescriptions by first cut, 12,000 a period at the least.

    Source: Davis, Johnson, Bettinger and Howard 2001, Forest Management 4th ed., ch. 11, data and
    model read in GLPK 5.0 (examples/dbf).
    """
    rows, uses = [], []
    for name, worth in WORTH.items():
        for (stand, area), (start, npv) in itertools.product(
            enumerate(STANDS[name[0]]), enumerate(worth)
        ):
            group = f"{name[0]}{stand:02d}"
            option = f"{group} {name}-p{start + 1}"
            rows.append((group, option, -npv * area))
            cut = [area * each for each in yields(name, start)]
            uses += [(option, f"v{k}", cut[k]) for k in range(7)]
            uses.append((option, "up5", cut[6] - 1.2 * cut[5]))
            uses.append((option, "down5", 0.8 * cut[5] - cut[6]))
    limits = [(f"v{k}", 12000.0, None) for k in range(7)]
    limits += [("up5", None, 0.0), ("down5", None, 0.0)]
    return Instance.from_tables(
        pd.DataFrame(rows, columns=["group", "option", "cost"]),
        pd.DataFrame(uses, columns=["option", "resource", "amount"]),
        pd.DataFrame(limits, columns=["resource", "low", "high"]),
    )


def test_areas_of_the_stands_are_those_of_the_types():
    """31 stands add up to the three areas that the model file prints."""
    assert {name: pytest.approx(area, abs=5e-4) for name, area in ACRES.items()} == {
        name: sum(own) for name, own in STANDS.items()
    }


def test_relaxed_core_finds_the_published_harvest():
    """Forest Model I with divisible areas has NPV 10,174,643.19 (to the cent in two solvers)."""
    assert -solve(harvest(), relax=True).cost == pytest.approx(10_174_643.19, abs=0.005)
