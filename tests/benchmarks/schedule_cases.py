"""Draw properties for the planner's benchmarks: one fixed generator, a seed and a size each.

What it does (all figures are invented; they are shaped like the options of a real walk):
- Strips lie at random in a square plane, about 1 ha each (log-normal), with 10 to 150 hours of
  first treatment. Five seasons a year, ten years; hours of a season in the shares of SEASONS.
- Each strip has a waiting option and, for each of METHODS, a start in each of the ten years and in
  each of the method's seasons: first treatment (growing 4 % for each year of waiting), felling a
  year later where dead stems are left, follow-ups in the fall (even strips) or summer of the next
  three years, each 0.4 of the one before, mowing each fall from the method's year on, upkeep.
- Cost = discounted wages and cash less the discounted worth of mowed ground, run-off of mowing for
  three years after the last; waiting carries the cost of clearing after the last year.
- Hours are loaded 0.8 to 1.1: the hours that all strips' cheapest options take, over all hours
  there are in the ten years (0.8 at the first seed, 1.1 at the fifth). Money by year: the cash of
  these options spread evenly over the years, over 0.9.
- Neighbours are the six nearest; seed of one not yet treated reaches a treated one in each year,
  and costs follow-up hours and cash a year later, falling with distance to a tenth at 400 m. Its
  size: a pair of the sample property costs 0.1 % of what its strip costs (552 pairs, median $0.53,
  mean $0.79); here it is 0.17 %, a little more.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

FIRST, YEARS = 2027, 10
SEASONS = {"late_winter": 0.09, "spring": 0.21, "summer": 0.33, "fall": 0.22, "early_winter": 0.15}
NAMES = tuple(SEASONS)
WAGE, DISCOUNT, WORTH = 15.0, 0.04, 220.0  # dollars an hour, a year, a mowed hectare a year
LOADS = (0.8, 0.875, 0.95, 1.025, 1.1)
NEAR, REACH_M, SHARE = 6, 174.0, 0.002  # neighbours; metres; first-treatment hours a year
GROWTH, FALLING = 1.04, (0.16, 0.064, 0.026)


@dataclass(frozen=True)
class Method:
    """How a method works: hours and cash as a share, later felling, regrowth, mowing, seasons."""

    name: str
    hours: float
    cash: float
    felling: float
    regrowth: float
    mow_after: int
    seasons: tuple[int, ...]


METHODS = (
    Method("cut_and_spray", 1.0, 1.0, 0.0, 1.0, 1, (2, 3, 4)),
    Method("hack_and_leave", 0.40, 1.6, 0.0, 0.9, 3, (2, 3)),
    Method("hack_then_fell", 0.42, 1.6, 0.45, 0.9, 2, (2, 3)),
    Method("basal_bark", 0.48, 3.5, 0.0, 1.2, 3, (0, 3, 4)),
    Method("foliar", 0.30, 2.2, 0.10, 1.8, 2, (1, 2)),
)


@dataclass(frozen=True)
class Case:
    """The tables of one drawn property, as the core takes them; pairs are None without seed."""

    options: pd.DataFrame
    uses: pd.DataFrame
    limits: pd.DataFrame
    marks: pd.DataFrame | None
    pairs: pd.DataFrame | None
    pair_uses: pd.DataFrame | None

    def tables(self):
        """Return all tables in the order of the core."""
        return self.options, self.uses, self.limits, self.marks, self.pairs, self.pair_uses


def draw_case(seed: int, strips: int, seeded: bool = True) -> Case:
    """Return one property; seeds count from 1, and every fifth has the same load of hours."""
    draw = np.random.default_rng(1000 * seed + strips)
    area = draw.lognormal(0.0, 0.4, strips)
    work = np.clip(area * draw.lognormal(3.7, 0.6, strips), 10, 150)
    place = draw.uniform(0, 100 * np.sqrt(strips), (strips, 2))
    taste = draw.lognormal(0.0, 0.12, (strips, len(METHODS), 2))
    pieces = [_strip_options(i, area[i], work[i], taste[i]) for i in range(strips)]
    group = np.repeat(np.arange(strips), [len(piece["cost"]) for piece in pieces])
    one = {name: np.concatenate([piece[name] for piece in pieces]) for name in pieces[0]}
    cheapest = pd.Series(one["cost"]).groupby(group).idxmin().to_numpy()
    load = LOADS[(seed - 1) % len(LOADS)]
    hours = one["hours"][cheapest].sum() / load / YEARS
    money = one["money"][cheapest].sum() / 0.9 / YEARS
    names = np.array([f"s{i:05d}" for i in range(strips)])
    options = pd.DataFrame({"group": names[group], "option": one["name"], "cost": one["cost"]})
    uses = pd.concat([_uses(options, one["hours"], "hours"), _uses(options, one["money"], "money")])
    limits = [(f"hours {FIRST + year} {name}", hours * share)
              for year in range(YEARS) for name, share in SEASONS.items()]  # fmt: skip
    limits += [(f"money {FIRST + year}", money) for year in range(YEARS)]
    bounds = pd.DataFrame(limits, columns=["resource", "high"]).assign(low=np.nan)
    if not seeded:
        return Case(options, uses, bounds, None, None, None)
    start = one["start"]
    row, year = np.nonzero(start[:, None] <= np.arange(YEARS)[None, :])
    marks = options.iloc[row][["group", "option"]].reset_index(drop=True).assign(mark=FIRST + year)
    return Case(options, uses, bounds, marks, *_pairs(names, place, work, area))


def _strip_options(at: int, area: float, work: float, taste: np.ndarray) -> dict[str, np.ndarray]:
    """Return the options of a strip: name, start, cost, hours (n, 10, 5), money (n, 10)."""
    starts = [(m, year, season) for m, method in enumerate(METHODS)
              for year in range(YEARS) for season in method.seasons]  # fmt: skip
    number, ahead = len(starts) + 1, YEARS + 4
    hours, money = np.zeros((number, ahead, 5)), np.zeros((number, ahead))
    worth, names, begun = np.zeros(number), [f"s{at:05d} waits"], [YEARS]
    later = 2 + at % 2  # season of the follow-ups
    for o, (m, year, season) in enumerate(starts, 1):
        method = METHODS[m]
        first = work * GROWTH**year * taste[m, 0]
        hours[o, year, season] += first * method.hours
        money[o, year] += 2.0 * first * method.cash * taste[m, 1]
        hours[o, year + 1, 4] += first * method.felling
        for k, share in enumerate(FALLING):
            hours[o, year + 1 + k, later] += first * share * method.regrowth
            money[o, year + 1 + k] += 0.6 * first * share * method.regrowth
        mows = year + method.mow_after
        hours[o, mows:, 3] += 3.0 * area
        money[o, mows : mows + 1] += 340.0 * area
        money[o, mows:] += 120.0 * area
        worth[o] = (WORTH * area * _discount(ahead)[mows:]).sum()
        names.append(f"s{at:05d} {method.name} {FIRST + year} {NAMES[season]}")
        begun.append(year)
    paid = ((hours.sum(axis=2) * WAGE + money) * _discount(ahead)).sum(axis=1) - worth
    paid[0] = work * GROWTH**YEARS * (WAGE + 5.0) * _discount(YEARS + 1)[YEARS]
    return {"name": np.array(names), "start": np.array(begun), "cost": paid.round(2),
            "hours": hours[:, :YEARS].round(2), "money": money[:, :YEARS].round(2)}  # fmt: skip


def _discount(years: int) -> np.ndarray:
    """Return the factors of so many years."""
    return (1 + DISCOUNT) ** -np.arange(years)


def _uses(options: pd.DataFrame, amounts: np.ndarray, kind: str) -> pd.DataFrame:
    """Return what options use of hours (n, year, season) or money (n, year)."""
    seasons = [f" {name}" for name in NAMES] if kind == "hours" else [""]
    names = np.array([f"{kind} {FIRST + y}{season}" for y in range(YEARS) for season in seasons])
    flat = amounts.reshape(len(options), -1)
    row, column = np.nonzero(flat)
    own = options.iloc[row][["group", "option"]].reset_index(drop=True)
    return own.assign(resource=names[column], amount=flat[row, column])


def _pairs(
    names: np.ndarray, place: np.ndarray, work: np.ndarray, area: np.ndarray
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return what seed of each strip costs its neighbours in each year, and its hours and money."""
    far = np.hypot(*(place[:, None] - place[None, :]).transpose(2, 0, 1))
    np.fill_diagonal(far, np.inf)
    near = np.argsort(far, axis=1)[:, :NEAR]
    rows, uses = [], []
    for i in range(len(names)):
        for j in near[i][: len(names) - 1]:
            hours = SHARE * work[j] * np.exp(-far[i, j] / REACH_M) * min(area[i] / area[j], 2.0)
            for year in range(YEARS):
                pair = f"{names[j]} > {names[i]} {FIRST + year}"
                grown, due = round(hours * GROWTH**year, 3), FIRST + year + 1
                cost = round(grown * (WAGE + 1.5) * _discount(year + 2)[-1], 3)
                rows.append((pair, names[i], FIRST + year, names[j], FIRST + year, cost))
                if year + 1 < YEARS:
                    uses.append((pair, f"hours {due} {NAMES[2 + i % 2]}", grown))
                    uses.append((pair, f"money {due}", round(grown * 1.5, 3)))
    pairs = pd.DataFrame(rows, columns=["pair", "group", "mark", "other", "other_mark", "cost"])
    return pairs, pd.DataFrame(uses, columns=["pair", "resource", "amount"])
