"""Say what is wrong with the tables of the planner's core, all at once."""

import numpy as np
import pandas as pd

FEW = 5  # names that a sentence lists
KEYS = ["group", "option"]


def problems_of(tables: dict[str, pd.DataFrame]) -> list[str]:
    """Return sentences for all that is wrong, none where nothing is.

    Parameters
    ----------
    tables : dict
        options, uses, limits, marks, pairs, pair_uses; columns as `Instance` has them.

    References
    ----------
    own reasoning
    """
    return [
        *_of_options(tables["options"]),
        *_of_uses(tables["uses"], tables["options"]),
        *_of_limits(tables["limits"]),
        *_of_pairs(tables),
    ]


def _of_options(options: pd.DataFrame) -> list[str]:
    """Return what is wrong with the options."""
    twice = options.loc[options.duplicated(KEYS), "option"]
    endless = options.loc[~np.isfinite(options["cost"]), "option"]
    return [
        *_said("options stand twice", twice),
        *_said("the cost of options is not a finite number", endless),
    ]


def _of_uses(uses: pd.DataFrame, options: pd.DataFrame) -> list[str]:
    """Return what is wrong with the uses."""
    lost = uses.loc[uses["group"].isna() | ~_known(uses, options, KEYS), "option"]
    endless = uses.loc[~np.isfinite(uses["amount"].astype(float)), "option"]
    return [
        *_said("uses name options that are not there", lost),
        *_said("the amount that options use is not a finite number", endless),
    ]


def _of_limits(limits: pd.DataFrame) -> list[str]:
    """Return what is wrong with the limits."""
    name = limits["resource"]
    endless = np.isinf(limits["low"]) | np.isinf(limits["high"])
    return [
        *_said("limits stand twice", name[name.duplicated()]),
        *_said("the low of limits is above the high", name[limits["low"] > limits["high"]]),
        *_said("limits are not finite numbers (leave them blank for none)", name[endless]),
    ]


def _of_pairs(tables: dict[str, pd.DataFrame]) -> list[str]:
    """Return what is wrong with marks, pairs and their uses."""
    options, marks, pairs, uses = (
        tables[name] for name in ("options", "marks", "pairs", "pair_uses")
    )
    groups = options["group"]
    name, cost = pairs["pair"], pairs["cost"].astype(float)
    amount = uses["amount"].astype(float)
    lost = ~pairs["group"].isin(groups) | ~pairs["other"].isin(groups)
    same = (pairs["group"] == pairs["other"]).to_numpy(dtype=bool)
    return [
        *_said("marks name options that are not there",
               marks.loc[~_known(marks, options, KEYS), "option"]),
        *_said("pairs stand twice", name[name.duplicated()]),
        *_said("pairs name groups that are not there", name[lost]),
        *_said("pairs name one group twice", name[same]),
        *_said("the cost of pairs is not a finite number", name[~np.isfinite(cost)]),
        *_said("the cost of pairs is negative", name[cost < 0]),
        *_said("uses name pairs that are not there", uses.loc[~uses["pair"].isin(name), "pair"]),
        *_said("the amount that pairs use is not a finite number",
               uses.loc[~np.isfinite(amount), "pair"]),
        *_said("the amount that pairs use is negative", uses.loc[amount < 0, "pair"]),
    ]  # fmt: skip


def _known(table: pd.DataFrame, options: pd.DataFrame, keys: list[str]) -> "pd.Series[bool]":
    """Return whether the rows of a table name options that are there."""
    if not len(table):
        return pd.Series([], index=table.index, dtype=bool)
    index = pd.MultiIndex.from_frame(options[keys].drop_duplicates())
    place = index.get_indexer(pd.MultiIndex.from_frame(table[keys]))
    return pd.Series(place >= 0, index=table.index)


def _said(what: str, names: "pd.Series[object]") -> list[str]:
    """Return a sentence with the first few names, none where there are none."""
    listed = names.drop_duplicates().tolist()
    if not listed:
        return []
    more = f" and {len(listed) - FEW} more" if len(listed) > FEW else ""
    return [f"{what}: {listed[:FEW]}{more}"]
