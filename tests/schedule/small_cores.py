"""Small random instances of the planner's core, and their best choice by trying them all.

The choices are weighed here in plain Python from the drawn tables; nothing of the planner is used.
"""

import functools
import itertools
from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing.schedule import Instance

TIGHT = 1e-9


@dataclass(frozen=True)
class Small:
    """The tables of one small instance, as the core takes them."""

    options: pd.DataFrame
    uses: pd.DataFrame
    limits: pd.DataFrame
    marks: pd.DataFrame
    pairs: pd.DataFrame
    pair_uses: pd.DataFrame

    @functools.cached_property
    def rows(self) -> dict[str, list[tuple]]:
        """Return the rows of each table as plain tuples, read once."""
        names = ("options", "uses", "limits", "marks", "pairs", "pair_uses")
        return {name: list(getattr(self, name).itertuples(index=False)) for name in names}

    def instance(self) -> Instance:
        """Return the core's instance of the tables."""
        return Instance.from_tables(
            self.options, self.uses, self.limits, self.marks, self.pairs, self.pair_uses
        )


def small(seed: int, pairs: bool = False, elastic: bool = False) -> Small:
    """Return 4 groups of 4 options and 3 resources; pairs over 2 marks; elastic limits."""
    draw = np.random.default_rng(seed)
    names = [(f"g{g}", f"g{g}-{o}") for g in range(4) for o in range(4)]
    options = pd.DataFrame(names, columns=["group", "option"])
    options["cost"] = draw.integers(-20, 50, len(options)).astype(float)
    uses = options[["group", "option"]].merge(pd.DataFrame({"resource": list("rst")}), how="cross")
    uses["amount"] = draw.integers(-2, 9, len(uses)).astype(float)
    low = draw.integers(0, 8)
    high = draw.integers(6, 22, 3).astype(float)
    high[2] = max(high[2], low)
    limits = pd.DataFrame({"resource": list("rst"), "low": [None, None, float(low)], "high": high})
    limits["elastic"] = [elastic, False, elastic and bool(draw.integers(0, 2))]
    if elastic:
        limits["high"] = [high[0] / 2, high[1], max(high[2] / 2, low)]
    marks = options[["group", "option"]].merge(pd.DataFrame({"mark": [1, 2]}), how="cross")
    first = draw.integers(1, 4, len(options))  # carries 1 and 2, 2 alone, or none
    marks = marks[marks["mark"] >= np.repeat(first, 2)]
    rows = [(f"p{a}{b}{m}", f"g{a}", m, f"g{b}", m, float(draw.integers(0, 25)))
            for a, b in itertools.permutations(range(4), 2) for m in (1, 2)
            if draw.random() < 0.6]  # fmt: skip
    names = ["pair", "group", "mark", "other", "other_mark", "cost"]
    asked = pd.DataFrame(rows if pairs else [], columns=names)
    extra = asked[["pair"]].merge(pd.DataFrame({"resource": list("rst")}), how="cross")
    extra["amount"] = draw.integers(0, 4, len(extra)).astype(float)
    return Small(options, uses, limits, marks, asked, extra[extra["amount"] > 0])


@dataclass(frozen=True)
class Weighed:
    """What one choice costs, uses, and by how much it passes limits that are hard or elastic."""

    cost: float
    used: dict[str, float]
    hard: float
    passed: float


def weigh(case: Small, pick: dict[str, str]) -> Weighed:
    """Return what a choice costs and uses, from the tables alone."""
    chosen, rows = set(pick.items()), case.rows
    own = [row for row in rows["options"] if (row.group, row.option) in chosen]
    used = dict.fromkeys(case.limits["resource"], 0.0)
    for row in rows["uses"]:
        if (row.group, row.option) in chosen:
            used[row.resource] += row.amount
    carried = {(row.group, row.mark) for row in rows["marks"]
               if (row.group, row.option) in chosen}  # fmt: skip
    cost = sum(row.cost for row in own)
    charged = set()
    for row in rows["pairs"]:
        if (row.group, row.mark) in carried and (row.other, row.other_mark) not in carried:
            cost += row.cost
            charged.add(row.pair)
    for row in rows["pair_uses"]:
        used[row.resource] += row.amount * (row.pair in charged)
    hard = passed = 0.0
    for row in rows["limits"]:
        low = -np.inf if pd.isna(row.low) else float(row.low)
        over = max(used[row.resource] - row.high, 0.0)
        passed += over if row.elastic else 0.0
        hard = max(hard, 0.0 if row.elastic else over, low - used[row.resource])
    return Weighed(cost, used, hard, passed)


def best_by_hand(case: Small) -> Weighed | None:
    """Return the best of all choices: least passed, then least cost; None when none fits."""
    groups = {name: own["option"].tolist() for name, own in case.options.groupby("group")}
    fits = []
    for pick in itertools.product(*groups.values()):
        found = weigh(case, dict(zip(groups, pick, strict=True)))
        if found.hard <= TIGHT:
            fits.append(found)
    return min(fits, key=lambda found: (round(found.passed, 6), found.cost), default=None)
