"""Say why each strip is done so and then, what the next best would cost, and what would not fit."""

import math

import numpy as np
import pandas as pd

from clearing.property import Settings
from clearing.rates import Rates
from clearing.schedule.instance import Instance
from clearing.schedule.limits import limit_words
from clearing.schedule.plan import Plan
from clearing.schedule.solve import solve

METHOD_WORDS = {
    "hack_and_leave": "hack-and-squirt, left standing to die",
    "hack_then_fell": "hack-and-squirt, felled after the wait",
    "cut_and_spray": "cut-and-spray",
    "split": "hack-and-squirt for the thick stems, cut-and-spray for the thin",
    "basal_bark": "basal bark spray",
    "foliar": "foliar spray",
    "mow_then_spray": "mow, then spray the regrowth",
    "not_now": "not in these years",
}


def explain(
    answer: Plan, instance: Instance, options: pd.DataFrame, rates: Rates, settings: Settings
) -> pd.DataFrame:
    """Return for each strip why this option, the next best, its extra cost, and what binds.

    Next best: the cheapest other option of the strip with all other strips held and limits kept.
    Binds: the first limit that keeps the strip's cheapest option of all out of the plan.

    Returns
    -------
    DataFrame
        strip_id, option_id, why, next_best, next_best_extra [dollars], binds.

    References
    ----------
    own reasoning
    """
    use = instance.uses.pivot_table(
        index="option", columns="resource", values="amount", aggfunc="sum", fill_value=0.0
    ).reindex(columns=instance.limits["resource"], fill_value=0.0)
    use = use.reindex(instance.options["option"], fill_value=0.0)
    cost = instance.options.set_index("option")["cost"]
    group = instance.options.set_index("option")["group"]
    chosen = answer.chosen.set_index("group")["option"]
    high = instance.limits.set_index("resource")["high"].fillna(np.inf)
    room = high - use.loc[chosen.to_numpy()].sum()
    facts = options.set_index("option_id")
    rows = []
    for strip, own in chosen.sort_index().items():
        others = group.index[(group == strip) & (group.index != own)]
        free = room + use.loc[own]
        fits = (use.loc[others] <= free + 1e-6).all(axis=1)
        best = cost[others][fits.to_numpy()].sort_values(kind="stable")
        nearest = best.index[0] if len(best) else ""
        extra = float(best.iloc[0] - cost[own]) if len(best) else np.nan
        binds = _binding(cost, use, free, [own, *others], own)
        sentence = _sentence(facts, own, nearest, extra, binds)
        rows.append((strip, own, sentence, nearest, extra, binds))
    names = ["strip_id", "option_id", "why", "next_best", "next_best_extra", "binds"]
    return pd.DataFrame(rows, columns=names)


def _binding(
    cost: pd.Series, use: pd.DataFrame, free: pd.Series, options: list[str], own: str
) -> str:
    """Return the limit that keeps the cheapest option of a strip out, or a blank."""
    cheapest = cost[options].sort_values(kind="stable").index[0]
    if cheapest == own:
        return ""
    over = use.loc[cheapest] - free
    over = over[over > 1e-6]
    return limit_words(str(over.index[0])) if len(over) else ""


def _sentence(facts: pd.DataFrame, own: str, nearest: str, extra: float, binds: str) -> str:
    """Return why this method and this time, in one or two plain sentences."""
    row = facts.loc[own]
    method = METHOD_WORDS.get(row["method"], row["method"])
    if row["method"] == "not_now":
        start = "Not in these years: treating it now would cost more than it brings"
    else:
        start = f"{method[0].upper()}{method[1:]}, starting in {_when(row)}"
    parts = [start]
    if binds:
        parts.append(f"it would be done otherwise if {binds} were not used up")
    if nearest:
        other = facts.loc[nearest]
        name = METHOD_WORDS.get(other["method"], other["method"])
        if other["method"] == row["method"] and ":" in other["method_id"]:
            name += f" with {other['method_id'].split(':')[1].replace('_', ' ')}"
        when = "" if other["method"] == "not_now" else f" in {_when(other)}"
        more = f"${extra:,.0f} more over the years" if extra >= 1 else "about as good"
        parts.append(f"the next best is {name}{when}, {more}")
    return "; ".join(parts) + "."


def _when(row: pd.Series) -> str:
    """Return season and year of an option's start."""
    return f"{str(row['start_season']).replace('_', ' ')} {int(row['start_year'])}"


def shortfalls(instance: Instance) -> list[str]:
    """Return sentences that say which limits stand in the way, and by how much.

    First what each limit alone makes impossible; else the least total excess when every limit may
    be passed at a price and strips stay whole.

    References
    ----------
    own reasoning
    """
    alone = instance.impossible()
    if alone:
        return [f"{limit_words(text.split(':')[0])}:{text.split(':', 1)[1]}" for text in alone]
    big = 1e3 * (1.0 + float(instance.options["cost"].abs().max()))
    extra, giving = [], []
    for row in instance.limits.itertuples():
        if np.isnan(row.high):
            continue
        most = instance.uses.loc[instance.uses["resource"] == row.resource, "amount"].sum() + 1.0
        extra += [(f"~{row.resource}", "keep", 0.0), (f"~{row.resource}", "give", big * most)]
        giving.append((f"~{row.resource}", "give", row.resource, -most))
    options = pd.concat(
        [instance.options, pd.DataFrame(extra, columns=["group", "option", "cost"])]
    )
    uses = pd.concat(
        [instance.uses, pd.DataFrame(giving, columns=["group", "option", "resource", "amount"])]
    )
    asked = Instance.from_tables(options, uses, instance.limits)
    wide = solve(asked, seconds=20, in_shares=frozenset(group for group, _, _, _ in giving))
    given = wide.chosen[wide.chosen["group"].astype(str).str.startswith("~")]
    given = given[given["option"] == "give"]
    amount = {group: -value for group, _, _, value in giving}
    return [
        f"{limit_words(row.group[1:])}: "
        f"{math.ceil(row.share * amount[row.group] - 1e-6):,} more would be needed"
        for row in given.itertuples()
    ]
