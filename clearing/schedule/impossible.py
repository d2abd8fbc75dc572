"""Say why no plan fits: which limit, by how much, and what would make it fit."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from clearing.schedule.instance import Instance
from clearing.schedule.limits import limit_words
from clearing.schedule.plan import Plan, Status
from clearing.schedule.solver import solve

QUICK_GAP, QUICK_SECONDS = 0.02, 10.0  # a plan that fits is enough here; own choice
LATER = (1, 2)  # years by which clear_by is put off to see what fits
NEVER = 9999
SMALL = 1e-6
KINDS = (("hours",), ("money",), ("mower",), ("hours", "money", "mower"))
STEP = {"hours": 1.0, "mower": 1.0, "money": 10.0}  # shortfalls are rounded up to this; own choice
MOST_NAMED = 6


@dataclass(frozen=True)
class Asked:
    """Return what was asked, and how to ask again with another clear_by.

    Attributes
    ----------
    clear_by : int or None
        Year by which every strip is to be done.
    last_year : int
        Last year of the plan.
    again : callable
        clear_by (None = no wish) -> the instance of the same property, or None where some strip
        has no option that keeps it.
    carries : bool
        Whether money that is left over stays for later years.
    """

    clear_by: int | None
    last_year: int
    again: Callable[[int | None], Instance | None]
    carries: bool = False


def too_late(options: pd.DataFrame, lost: Sequence[str], clear_by: int) -> list[str]:
    """Return sentences for strips that no option finishes in time, one an earliest year.

    Parameters
    ----------
    options : DataFrame
        As ``walk/options``: all options, before clear_by left any out.
    lost : sequence of str
        Strips without an option that keeps it.
    clear_by : int
        Year that was asked for.

    References
    ----------
    own reasoning
    """
    ends = options.groupby("strip_id")["finish_year"].min()
    alike: dict[int, list[str]] = {}
    for name in lost:
        end = float(ends.get(name, np.nan))
        alike.setdefault(NEVER if math.isnan(end) else int(end), []).append(str(name))
    out = []
    for end, names in alike.items():
        start = f"{_strips(names)} cannot be cleared by {clear_by} by any method"
        never = f"{start}, nor in the years of the plan; plan for more years"
        out.append(never if end == NEVER else f"{start}; the earliest is {end}")
    if len(alike) > 1 and max(alike) < NEVER:
        out.append(f"with clear_by = {max(alike)} each of them alone has a way")
    return out


def _strips(names: Sequence[str]) -> str:
    """Return strips by name: strip 5a; strips 5a, 5b and 13, in the order a person counts."""
    if len(names) == 1:
        return f"strip {names[0]}"
    *most, last = sorted(names, key=_as_counted)
    return f"strips {', '.join(most)} and {last}"


def _as_counted(name: str) -> tuple[tuple[int, str], ...]:
    """Return what puts 5a before 13: numbers in a name by size, the rest by letters."""
    return tuple(
        (int(part), "") if part.isdigit() else (-1, part) for part in re.split(r"(\d+)", name)
    )


def what_stands_in_the_way(instance: Instance, asked: Asked | None = None) -> list[str]:
    """Return sentences that say which limits stand in the way, by how much, and what would do.

    First what each limit alone makes impossible. Then ways out, each found by a quick plan: so many
    hours more and nothing else, so much money more, both; clear_by a year or two later; no clear_by
    at all. Strips stay whole in all of them.

    Parameters
    ----------
    instance : Instance
        As it was solved, without an answer.
    asked : Asked, optional
        To try later years, too.

    References
    ----------
    own reasoning
    """
    out = [_lacking(*found) for found in alone(instance)]
    ways = _with_more(instance, asked is not None and asked.carries)
    ways += _with_time(asked) if asked is not None else []
    if not ways:
        return out or ["the limits cannot be kept together, nor with more hours and money; "
                       "look at the wishes under [plan]"]  # fmt: skip
    return out + [f"it would fit with {way}" for way in ways]


def _lacking(name: str, need: float, there: float) -> str:
    """Return that a limit cannot be kept, with both numbers where it is no wish."""
    if name.partition(" ")[0] not in STEP:
        return f"{limit_words(name)} cannot be kept by any choice"
    need_words, there_words = _round_up(name, need), _down(name, there)
    return (f"{limit_words(name)}: at the least {need_words} needed, and there {_are(name)} "
            f"{there_words}")  # fmt: skip


def alone(instance: Instance) -> list[tuple[str, float, float]]:
    """Return limits that no choice keeps, each alone: resource, least need, what there is.

    The least that each group must use is summed over the groups; pairs only add to it.

    References
    ----------
    own reasoning
    """
    keys = ["group", "option"]
    found = []
    for row in instance.limits.itertuples():
        if np.isnan(row.high) or bool(getattr(row, "elastic", False)):
            continue
        own = instance.uses.loc[instance.uses["resource"] == row.resource, [*keys, "amount"]]
        if not len(own):
            continue
        both = instance.options[keys].merge(own, on=keys, how="left").fillna({"amount": 0.0})
        need = float(both.groupby("group")["amount"].min().sum())
        if need > row.high + SMALL:
            found.append((str(row.resource), need, float(row.high)))
    return found


def _with_more(instance: Instance, carries: bool) -> list[str]:
    """Return what more of hours, of money, or of all would do, in words.

    Money that carries over is limited as the sum up to each year: what is lacking there in one year
    serves the later ones too.
    """
    kind = instance.limits["resource"].astype(str).str.partition(" ")[0]
    out: list[str] = []
    for kinds in KINDS:
        may = kind.isin(kinds) & instance.limits["high"].notna()
        if not may.any() or (len(kinds) > 1 and out):
            continue
        plan = _quick(replace(instance, limits=instance.limits.assign(elastic=may)))
        if plan.status is Status.NONE or plan.cost is None:
            continue
        more = plan.shortfall[plan.shortfall["amount"] > SMALL]
        if len(more):
            out.append(_more_words(_year_by_year(more) if carries else more))
    return out


def _year_by_year(more: pd.DataFrame) -> pd.DataFrame:
    """Return what is lacking, money year by year: what no earlier year brought already."""
    money = more["resource"].str.startswith("money")
    sums = more[money].sort_values("resource")
    before = sums["amount"].cummax().shift(fill_value=0.0)
    sums = sums.assign(amount=(sums["amount"] - before).clip(lower=0.0))
    return pd.concat([more[~money], sums[sums["amount"] > SMALL]], ignore_index=True)


def _quick(instance: Instance) -> Plan:
    """Return a plan that is good enough to say that one fits."""
    return solve(instance, gap=QUICK_GAP, seconds=QUICK_SECONDS)


def _more_words(more: pd.DataFrame) -> str:
    """Return what is lacking, in words, the largest first."""
    rows = more.sort_values(["amount", "resource"], ascending=[False, True])
    said = []
    for row in rows.head(MOST_NAMED).itertuples():
        words = limit_words(row.resource)
        what, _, when = words.partition(" in ")
        amount = _round_up(row.resource, row.amount)
        dollars = row.resource.startswith("money")
        said.append(f"{amount} more in {when}" if dollars else f"{amount} {what} more in {when}")
    left = len(rows) - len(said)
    said += [f"more in {left} other {'time' if left == 1 else 'times'} of the plan"] if left else []
    return ", ".join(said)


def _with_time(asked: Asked) -> list[str]:
    """Return which later clear_by would do, in words."""
    if asked.clear_by is None:
        return []
    for more in LATER:
        year = asked.clear_by + more
        if year > asked.last_year:
            break
        instance = asked.again(year)
        if instance is not None and _quick(instance).cost is not None:
            return [f"clear_by = {year}"]
    instance = asked.again(None)
    if instance is not None and _quick(instance).cost is not None:
        return [f"no clear_by: some ground would then wait, or be done after {asked.clear_by}"]
    return []


def _round_up(resource: str, amount: float) -> str:
    """Return an amount of a resource in words, rounded up."""
    step = STEP.get(resource.partition(" ")[0], 1.0)
    value = math.ceil(round(amount / step, 6)) * step
    return f"${value:,.0f}" if resource.startswith("money") else f"{value:,.0f}"


def _down(resource: str, amount: float) -> str:
    """Return what there is of a resource in words, rounded down."""
    value = math.floor(round(amount, 6))
    return f"${value:,.0f}" if resource.startswith("money") else f"{value:,.0f}"


def _are(resource: str) -> str:
    return "is" if resource.startswith("money") else "are"
