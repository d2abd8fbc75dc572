"""What the planner answers: a status, the chosen options, cost, bound and gap."""

from dataclasses import dataclass, field
from enum import Enum

import pandas as pd


class Status(Enum):
    """How sure the plan is."""

    BEST = "proved within the gap"
    STOPPED = "best found before the planner was stopped"
    NONE = "no choice keeps the limits"


def _none(*columns: str) -> pd.DataFrame:
    """Return a table without rows."""
    return pd.DataFrame(columns=list(columns))


@dataclass(frozen=True)
class Plan:
    """Return the answer of `solve`; None where there is none.

    Attributes
    ----------
    status : Status
    chosen : DataFrame
        group, option, share (1 unless relaxed).
    cost, bound, gap : float or None
        Cost of the choice, the proof below it, (cost - bound) / max(|cost|, 1e-9).
    log : tuple of str
        Progress of the solver.
    dropped : int
        Options left out before solving, since another does at least as well everywhere.
    shortfall : DataFrame
        resource, amount by which an elastic limit is passed.
    prices : DataFrame
        resource, price: what one more unit of the high would save (relaxed only), 0 or more.
    charged : DataFrame
        pair: the pairs that the choice charges.
    """

    status: Status
    chosen: pd.DataFrame
    cost: float | None
    bound: float | None
    gap: float | None
    log: tuple[str, ...] = ()
    dropped: int = 0
    shortfall: pd.DataFrame = field(default_factory=lambda: _none("resource", "amount"))
    prices: pd.DataFrame = field(default_factory=lambda: _none("resource", "price"))
    charged: pd.DataFrame = field(default_factory=lambda: _none("pair"))
