"""Set a forecast on what was counted after treatment, and on follow-ups that were not made."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing.forecast.cases import Cases
from clearing.forecast.growth import BANK, RESPROUT, SEEDLING, STAGES, SUCKER

SHAPE = 2.0  # counts that the forecast itself is worth (gamma shape, spread 0.7); own choice
LEAST_PER_HA = 1.0  # what is looked for where the forecast has none; own choice
# seedlings and suckers; sprouts and the classes that they are in within two years; own choice
ALIKE = ([SEEDLING, SUCKER], [RESPROUT, STAGES.index("under_1in"), STAGES.index("1_3in")])


@dataclass(frozen=True)
class Found:
    """What was seen on the ground after the first treatment.

    Attributes
    ----------
    counted : dict
        Species -> stems counted (years, cases, stages), missing where nobody looked; a species of
        which none was found where somebody looked is there with noughts.
    ground_ha : array (years, cases, stages)
        Ground that was looked at.
    skipped : array (years, cases) of bool
        Years over in which no follow-up was made.
    """

    counted: dict[str, np.ndarray]
    ground_ha: np.ndarray
    skipped: np.ndarray


def lay_on(cases: Cases, counts: pd.DataFrame, skipped: pd.DataFrame) -> Found:
    """Return what was found, laid on the cases that were then treated.

    Parameters
    ----------
    cases : Cases
        As `cases.lay_out` gives them.
    counts : DataFrame
        strip_id, year, species, stage, stems [stems], ground_ha [ha]; one row each. A year stands
        for the state before its follow-up.
    skipped : DataFrame
        strip_id, year.

    References
    ----------
    own reasoning
    """
    shape = (len(cases.years), len(cases.frame), len(STAGES))
    strips = cases.frame["strip_id"].astype(str).to_numpy()
    counted = {name: np.full(shape, np.nan) for name in cases.kinds}
    ground, missed = np.zeros(shape), np.zeros(shape[:2], dtype=bool)
    at = {int(year): t for t, year in enumerate(cases.years)}
    for row in counts.itertuples():
        t = at.get(int(row.year))
        if t is None or row.species not in counted:
            continue
        mine = (strips == row.strip_id) & (cases.start < row.year)
        stage = STAGES.index(row.stage)
        counted[row.species][t, mine, stage] = row.stems
        ground[t, mine, stage] = row.ground_ha
    for strip, year in skipped[["strip_id", "year"]].itertuples(index=False):
        if int(year) in at:
            missed[at[int(year)], (strips == strip) & (cases.start < year)] = True
    return Found(counted, ground, missed)


def as_found(
    state: np.ndarray,
    left: np.ndarray,
    found: Found,
    which: tuple[str, int],
    area_ha: np.ndarray,
) -> np.ndarray:
    """Return the stems of a year with what was counted in it weighed in.

    Density is gamma with SHAPE and the forecast's mean m, the count Poisson on the ground looked
    at: mean = m (SHAPE + n) / (SHAPE + m ground). Nothing found is never more than was foretold.
    What looks alike on the ground moves together, in the shares of the forecast: seedlings and root
    suckers; sprouts of stumps and the thin stems that they grow into. Of more stems foretold never
    fewer are left, so that low <= middle <= high holds.

    Parameters
    ----------
    state, left : array (scenarios, cases, stages)
        Stems that the crew may treat, and those left aside, before the year's work.
    found : Found
        What was counted.
    which : (str, int)
        Species, and place of the year.
    area_ha : array (cases,)
        Area of the strips [ha].

    References
    ----------
    own reasoning (conjugate gamma and Poisson)
    """
    counted, ground = found.counted[which[0]][which[1]], found.ground_ha[which[1]]
    known = ~np.isnan(counted)
    known[:, BANK] = False
    if not known.any():
        return state
    area = area_ha[:, None]
    total = state + left
    out = np.where(known, area * _mean(total / area, np.nan_to_num(counted), ground), total)
    for alike in ALIKE:
        together = _together(total[..., alike], counted[:, alike], ground[:, alike], area)
        seen = known[:, alike].any(axis=1)[:, None]
        out[..., alike] = np.where(seen, together, total[..., alike])
    return np.maximum(out - left, 0.0)


def _together(
    total: np.ndarray, counted: np.ndarray, ground: np.ndarray, area: np.ndarray
) -> np.ndarray:
    """Return the stems of stages that a count cannot tell apart: their sum by it, shared as before.

    Counts on less ground count for as many more. Where none was foretold the count shares them.
    """
    looked = ground.max(axis=1)
    times = np.divide(looked[:, None], ground, out=np.ones_like(ground), where=ground > 0)
    n = np.nan_to_num(counted) * times
    before, found = total.sum(axis=-1, keepdims=True), n.sum(axis=1, keepdims=True)
    after = area * _mean(before / area, found, looked[:, None])
    own = np.divide(n, found, out=np.full_like(n, 1.0 / n.shape[1]), where=found > 0)
    own = np.broadcast_to(own, total.shape)
    return after * np.divide(total, before, out=own.copy(), where=before > 0)


def _mean(density: np.ndarray, n: np.ndarray, ground_ha: np.ndarray) -> np.ndarray:
    """Return the density [a ha] that a forecast and a count together make likely."""
    least = np.where(n > 0, np.maximum(density, LEAST_PER_HA), density)
    return least * (SHAPE + n) / (SHAPE + ground_ha * least)
