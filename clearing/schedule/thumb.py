"""Plan by rules of thumb on the same instance: what people do without a planner, and its cost."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing.schedule.board import (
    NOBODY,
    Board,
    board_of,
    carried,
    cost_by,
    rows_by_group,
    rows_of,
    swaps,
    used_by,
)  # fmt: skip
from clearing.schedule.instance import Instance
from clearing.schedule.wishes import Laid, Wish, counted, kept_beside, laid_on

RULES = {
    "worst_first": ("worst block first", ["block_thick", "stems_per_ha"], [False, False]),
    "nearest_first": ("nearest first", ["way_in_m"], [True]),
    "outliers_first": ("smallest outliers first", ["stems"], [True]),
}
COLUMNS = [
    "rule", "words", "cost", "more_than_plan", "cash", "hours", "finish_year", "cleared_ha",
    "waiting", "keeps_limits",
]  # fmt: skip
SLACK = 1e-6


@dataclass(frozen=True)
class ByRule:
    """Return what each rule of thumb chooses on one instance: rule -> rows of the board."""

    board: Board
    rows: dict[str, np.ndarray]

    def best(self) -> pd.DataFrame | None:
        """Return the cheapest choice of a rule that keeps the limits: group, option; or None."""
        fits = {
            rule: cost_by(self.board, rows)
            for rule, rows in self.rows.items()
            if (rows != NOBODY).all() and _kept(self.board, rows)
        }
        if not fits:
            return None
        rows = self.rows[min(fits, key=lambda rule: (fits[rule], rule))]
        return pd.DataFrame({"group": self.board.groups, "option": self.board.options[rows]})


def by_rules(
    plain: Instance,
    options: pd.DataFrame,
    order: pd.DataFrame,
    seasons: pd.DataFrame,
    wishes: tuple[Wish, ...] = (),
) -> ByRule:
    """Return what the rules of thumb choose.

    Parameters
    ----------
    plain : Instance
        The strips alone, without helper groups; with the owner's limits.
    options, order : DataFrame
        As ``walk/options``, and as `strip_order` gives.
    seasons : DataFrame
        season, order (`rates.seasons`).
    wishes : tuple of Wish
        As `wish_of` gives them.

    References
    ----------
    own reasoning
    """
    board = board_of(plain)
    starts, laid = _starts(board, options, seasons), laid_on(board, wishes)
    rows = {}
    for rule, (_, by, rising) in RULES.items():
        first = order.sort_values([*by, "strip_id"], ascending=[*rising, True])["strip_id"]
        rows[rule] = _by_rule(board, [str(one) for one in first], starts, laid)
    return ByRule(board, rows)


def rules_of_thumb(
    tried: ByRule,
    chosen: pd.DataFrame,
    tables: tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame],
) -> pd.DataFrame:
    """Return what simple rules would cost on the same strips, options, hours and money.

    A rule is an order of the strips. Each strip in turn takes the earliest start that fits what is
    left of the limits, by the method that is cheapest for that start; what never fits waits. Rules
    are costed as the plan is, what seed from strips that wait does to treated ones among it.

    Parameters
    ----------
    tried : ByRule
        As `by_rules` gives it.
    chosen : DataFrame
        group, option: the plan.
    tables : (options, visits, order)
        ``walk/options``, ``walk/visits`` inside the years of the plan, and as `strip_order` gives.

    Returns
    -------
    DataFrame
        rule (plan first), words, cost (discounted, less worth), more_than_plan, cash and hours
        inside the years, finish_year (missing where a strip waits or is not done), cleared_ha,
        waiting (strips), keeps_limits.

    References
    ----------
    own reasoning
    """
    options, visits, order = tables
    board = tried.board
    sums = visits.groupby("option_id")[["cost", "hours"]].sum()
    facts = options.set_index("option_id")
    area = order.set_index("strip_id")["area_ha"]
    plans = {"plan": ("the plan", rows_of(board, chosen))}
    plans |= {rule: (RULES[rule][0], rows) for rule, rows in tried.rows.items()}
    base = cost_by(board, plans["plan"][1])
    out = []
    for rule, (words, rows) in plans.items():
        names = board.options[rows[rows != NOBODY]]
        own = facts.loc[names]
        done = own["finish_year"].notna()
        work = sums.reindex(names).fillna(0.0).sum()
        lost = int((rows == NOBODY).sum())  # strips that cannot wait and found no room
        waiting = int((own["method"] == "not_now").sum()) + lost
        whole = done.all() and len(own) and not lost
        finish = float(own["finish_year"].max()) if whole else np.nan
        cost = cost_by(board, rows)
        out.append((
            rule, words, cost, cost - base, float(work["cost"]), float(work["hours"]), finish,
            float(area.reindex(own.loc[done, "strip_id"]).sum()), waiting,
            bool((rows != NOBODY).all()) and _kept(board, rows),
        ))  # fmt: skip
    return pd.DataFrame(out, columns=COLUMNS)


def keeps(plain: Instance, chosen: pd.DataFrame) -> bool:
    """Return whether a choice has an option for every strip and keeps every limit.

    Parameters
    ----------
    plain : Instance
        The strips alone.
    chosen : DataFrame
        group, option; groups that are no strips are passed over.

    References
    ----------
    own reasoning
    """
    board = board_of(plain)
    rows = rows_of(board, chosen)
    return bool((rows != NOBODY).all()) and _kept(board, rows)


def strip_order(strips: pd.DataFrame, methods: pd.DataFrame) -> pd.DataFrame:
    """Return what rules of thumb go by: area, stems, stems a hectare of strip and block, way in.

    Parameters
    ----------
    strips : DataFrame
        As ``walk/strips``.
    methods : DataFrame
        As ``walk/methods``: each method lists all stems of its strip.

    Returns
    -------
    DataFrame
        strip_id, block_id, area_ha, way_in_m, stems, stems_per_ha, block_thick (stems a hectare of
        the block).

    References
    ----------
    own reasoning
    """
    by_method = methods.groupby(["strip_id", "method_id"])["stems"].sum()
    stems = by_method.groupby("strip_id").max()
    kept = strips[["strip_id", "block_id", "area_ha", "way_in_m"]]
    out = pd.DataFrame(kept).reset_index(drop=True)
    out["stems"] = out["strip_id"].map(stems).fillna(0.0)
    out["stems_per_ha"] = out["stems"] / out["area_ha"]
    block = out.groupby("block_id")[["stems", "area_ha"]].transform("sum")
    return out.assign(block_thick=block["stems"] / block["area_ha"])


def _starts(board: Board, options: pd.DataFrame, seasons: pd.DataFrame) -> np.ndarray:
    """Return when each option starts, as a number that grows with time; infinite for not now."""
    order = dict(zip(seasons["season"], seasons["order"].astype(float), strict=True))
    facts = options.set_index("option_id").loc[board.options]
    season = facts["start_season"].map(order).fillna(0.0)
    when = facts["start_year"].astype(float) * (len(order) + 1) + season
    return when.fillna(np.inf).to_numpy()


def _by_rule(
    board: Board, order: list[str], starts: np.ndarray, laid: tuple[Laid, ...]
) -> np.ndarray:
    """Return the rows that a rule chooses; a strip that did not fit is tried again at the end."""
    place = {name: at for at, name in enumerate(board.groups)}
    choice = _Choice(board, _waiting(board, starts), laid)
    left = [place[name] for name in order if name in place]
    left.sort(key=lambda at: choice.rows[at] != NOBODY)  # what cannot wait goes first
    dated = [rows[np.isfinite(starts[rows])] for rows in rows_by_group(board)]
    while left:
        still = [at for at in left if not choice.put(at, dated[at], starts)]
        if len(still) == len(left):
            break
        left = still
    return choice.rows


def _waiting(board: Board, starts: np.ndarray) -> np.ndarray:
    """Return the rows in which all strips wait that can; NOBODY for those that cannot."""
    rows = np.full(len(board.groups), NOBODY)
    never = np.flatnonzero(np.isinf(starts))
    rows[board.group[never]] = never
    return rows


class _Choice:
    """Hold a choice that grows strip by strip, with what it uses by now."""

    def __init__(self, board: Board, rows: np.ndarray, laid: tuple[Laid, ...]) -> None:
        self.board, self.rows, self.laid = board, rows, laid
        self.used, self.held = used_by(board, rows), carried(board, rows)
        self.counts = counted(laid, rows)

    def put(self, at: int, own: np.ndarray, starts: np.ndarray) -> bool:
        """Return whether a strip found a start that fits, and set it."""
        if not len(own):
            return True
        board, old = self.board, int(self.rows[at])
        asked = own if old == NOBODY else np.append(own, old)
        cost, use = swaps(board, self.rows, asked, self.held)
        amounts = use.toarray()
        amounts = amounts[: len(own)] - (0.0 if old == NOBODY else amounts[-1])
        most = np.maximum(board.high, self.used)  # what is passed already is not passed further
        fits = (self.used + amounts <= most + SLACK).all(axis=1)
        fits &= kept_beside(self.laid, self.counts, old, own)
        if not fits.any():
            return False
        order = np.lexsort((board.options[own], cost[: len(own)], starts[own]))
        one = next(place for place in order if fits[place])
        self._set(at, int(own[one]), amounts[one])
        return True

    def _set(self, at: int, new: int, more: np.ndarray) -> None:
        """Set a strip's option, and what all use with it."""
        old = int(self.rows[at])
        self.rows[at] = new
        self.used = self.used + more
        for row, one in ((old, -1.0), (new, 1.0)):
            if row == NOBODY:
                continue
            marks = self.board.carries[[row]]
            self.held[marks.indices] = 1.0 if one > 0 else 0.0
            for count, wish in zip(self.counts, self.laid, strict=True):
                kinds = wish.use[[row]]
                count[kinds.indices] += one * kinds.data


def _kept(board: Board, rows: np.ndarray) -> bool:
    """Return whether a choice keeps every limit."""
    used = used_by(board, rows)
    return bool((used <= board.high + SLACK).all() and (used >= board.low - SLACK).all())
