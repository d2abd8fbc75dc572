"""Say why each strip is done so and then, and what the next best would cost more."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from clearing.property import Settings
from clearing.rates import Rates
from clearing.schedule.board import Board, board_of, rows_by_group, rows_of, swaps, used_by
from clearing.schedule.instance import Instance
from clearing.schedule.limits import limit_words
from clearing.schedule.option_words import (
    NOT_NOW,
    method_words,
    other_words,
    product_words,
    when_words,
)
from clearing.schedule.plan import Plan
from clearing.schedule.wishes import Wish, counted, kept_beside, laid_on

NAMES = ["strip_id", "option_id", "why", "next_best", "next_best_extra", "binds"]
SLACK = 1e-6
SAME = 1.0  # dollars: options that differ by less are about as good; own choice
FEW_WORDS = "the wish to keep to few products and blocks at a time"


def explain(
    answer: Plan,
    instance: Instance,
    options: pd.DataFrame,
    rates: Rates,
    settings: Settings,
    wishes: tuple[Wish, ...] = (),
) -> pd.DataFrame:
    """Return for each strip why this option, the next best, its extra cost, and what binds.

    Next best: the cheapest other option of the strip with all other strips held, limits and wishes
    kept, the seed that it lets over to its neighbours and theirs to it counted. Binds: the limit
    that is passed furthest by the strip's cheapest option of all.

    Parameters
    ----------
    answer : Plan
        What was chosen; groups that the instance does not have are passed over.
    instance : Instance
        The strips alone, without helper groups.
    options : DataFrame
        As ``walk/options``: all options, those that clear_by leaves out too.
    rates : Rates
        Seasons, for the order in which options that cost the same are named.
    settings : Settings
        clear_by.
    wishes : tuple of Wish, optional
        Few kinds of product and blocks at a time.

    Returns
    -------
    DataFrame
        strip_id, option_id, why, next_best, next_best_extra [dollars], binds.

    References
    ----------
    own reasoning
    """
    board = board_of(instance)
    rows = rows_of(board, answer.chosen)
    cost, use = swaps(board, rows)
    spare, laid = _spare(board, rows), laid_on(board, wishes)
    counts = counted(laid, rows)
    facts = {row["option_id"]: row for row in options.to_dict("records")}
    asked = _left_out(options, instance, settings)
    out, of_group = [], rows_by_group(board)
    for place in np.flatnonzero(rows >= 0):
        own, all_rows = rows[place], of_group[place]
        amounts = use[all_rows].toarray() - use[[own]].toarray()
        fits = (amounts <= spare.high + SLACK).all(axis=1)
        fits &= (amounts >= spare.low - SLACK).all(axis=1)
        shut = ~kept_beside(laid, counts, int(own), all_rows)
        extra = cost[all_rows] - cost[own]
        free = fits & ~shut & (all_rows != own)
        order = np.lexsort((_late(board.options[all_rows], facts, rates), extra.round(6)))
        best = next((at for at in order if free[at]), None)
        binds = _binding(board, spare, amounts[order[0]], extra[order[0]], bool(shut[order[0]]))
        binds = binds or asked.get(board.groups[place], "")
        name = str(board.options[own])
        nearest = "" if best is None else str(board.options[all_rows[best]])
        more = np.nan if best is None else float(extra[best])
        if len(all_rows) == 1:
            why = _only_way(facts[name], binds)
        else:
            why = _sentence(facts, name, nearest, more, binds)
        out.append((board.groups[place], name, why, nearest, more, binds))
    return pd.DataFrame(out, columns=NAMES)


@dataclass(frozen=True)
class _Spare:
    """What one strip's change may add to each resource: at most ``high``, at least ``low``."""

    low: np.ndarray
    high: np.ndarray


def _spare(board: Board, rows: np.ndarray) -> _Spare:
    """Return the room that the plan leaves; a limit that is passed already leaves none."""
    used = used_by(board, rows)
    return _Spare(np.minimum(board.low - used, 0.0), np.maximum(board.high - used, 0.0))


def _late(names: np.ndarray, facts: dict[str, dict[str, Any]], rates: Rates) -> np.ndarray:
    """Return when options start, as a number that grows with time; not now comes last."""
    order = dict(zip(rates.seasons["season"], rates.seasons["order"], strict=True))
    out = []
    for name in names:
        row = facts[name]
        never = row["method"] == NOT_NOW
        out.append(1e9 if never else row["start_year"] * 100 + order.get(row["start_season"], 0))
    return np.array(out, dtype=float)


def _left_out(options: pd.DataFrame, instance: Instance, settings: Settings) -> dict[str, str]:
    """Return the strips whose cheapest option of all is left out by clear_by, and the words."""
    if settings.clear_by is None:
        return {}
    price = options["cost"] + options["run_off"] - options["worth"] - options["paid_back"]
    cheapest = options.assign(price=price).sort_values(["price", "option_id"])
    first = cheapest.drop_duplicates("strip_id")
    gone = first[~first["option_id"].isin(instance.options["option"])]
    return dict.fromkeys(gone["strip_id"].astype(str), f"the wish to clear by {settings.clear_by}")


def _binding(board: Board, spare: _Spare, added: np.ndarray, extra: float, shut: bool) -> str:
    """Return the limit that the cheapest option passes furthest, or a blank."""
    if extra >= -SLACK:
        return ""
    over = added - spare.high
    share = np.where(over > SLACK, over / np.maximum(np.abs(board.high), 1.0), 0.0)
    share = np.where(np.isfinite(share), share, 0.0)
    if share.max(initial=0.0) > 0:
        return limit_words(board.resources[int(share.argmax())])
    return FEW_WORDS if shut else ""


def _only_way(row: dict[str, Any], binds: str) -> str:
    """Return why a strip has no other way: nothing grows there, it is begun, or nothing fits."""
    if row["method"] != NOT_NOW:
        method = method_words(row["method"])
        return f"{method[0].upper()}{method[1:]} in {when_words(row)}; what follows is still to do."
    if not row["run_off"] > 0 and not binds:
        return "Nothing was counted here that has to go: nothing to do."
    if binds:
        return f"Not in these years; it would be done otherwise {_but_for(binds)}."
    return (
        "Not in these years: no way to treat it fits label, zones, seasons and closed months, "
        "with the follow-up that it needs."
    )


def _sentence(
    facts: dict[str, dict[str, Any]], own: str, nearest: str, extra: float, binds: str
) -> str:
    """Return why this method and this time, in one or two plain sentences."""
    row = facts[own]
    if row["method"] == NOT_NOW:
        start = "Not in these years: treating it now would cost more than it brings"
        start = "Not in these years" if binds else start
    else:
        method, product = method_words(row["method"]), product_words(row)
        start = f"{method[0].upper()}{method[1:]}, starting in {when_words(row)}"
        start += f", with {product}" if product and _same_but_product(facts, row, nearest) else ""
    parts = [start]
    if binds:
        parts.append(f"it would be done otherwise {_but_for(binds)}")
    if nearest:
        parts.append(f"the next best is {other_words(row, facts[nearest])}, {_more(extra)}")
    else:
        parts.append("no other way fits beside the other strips")
    return "; ".join(parts) + "."


def _but_for(binds: str) -> str:
    """Return the condition that would change the choice, in words."""
    return f"but for {binds}" if binds.startswith("the wish") else f"with more {binds}"


def _same_but_product(facts: dict[str, dict[str, Any]], row: dict[str, Any], nearest: str) -> bool:
    """Return whether the next best is the same method with another product."""
    if not nearest:
        return False
    other = facts[nearest]
    return other["method"] == row["method"] and product_words(other) != product_words(row)


def _more(extra: float) -> str:
    """Return what the next best costs more, in words."""
    if extra >= SAME:
        return f"${extra:,.0f} more over the years"
    if extra <= -SAME:
        return f"${-extra:,.0f} less: the planner stopped within its margin"
    return "about as good"
