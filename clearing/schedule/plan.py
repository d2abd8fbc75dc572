"""What the planner answers: a status, the chosen options, cost, bound and gap."""

from dataclasses import dataclass
from enum import Enum

import pandas as pd


class Status(Enum):
    """How sure the plan is."""

    BEST = "proved within the gap"
    STOPPED = "best found before the planner was stopped"
    NONE = "no choice keeps the limits"


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
    """

    status: Status
    chosen: pd.DataFrame
    cost: float | None
    bound: float | None
    gap: float | None
    log: tuple[str, ...] = ()
