"""Set a forecast on what was counted after treatment, and on follow-ups that were not made."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from clearing.forecast.cases import Cases
from clearing.forecast.growth import BANK, SEEDLING, STAGES, SUCKER

SHAPE = 2.0  # counts that the forecast itself is worth (gamma shape, spread 0.7); own choice
LEAST_PER_HA = 1.0  # what is looked for where the forecast has none; own choice


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
    at: mean = (SHAPE + n) / (SHAPE / m + ground). Seedlings and root suckers cannot be told apart
    and move together. Of more stems foretold never fewer are left, so that low <= middle <= high
    holds.

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
    young = [SEEDLING, SUCKER]
    out = np.where(known, area * _mean(total / area, np.nan_to_num(counted), ground), total)
    before = total[..., young].sum(axis=2)
    n, looked = np.nan_to_num(counted[:, young]).sum(axis=1), ground[:, young].max(axis=1)
    after = area_ha * _mean(before / area_ha, n, looked)
    share = np.divide(total[..., SEEDLING], before, out=np.ones_like(before), where=before > 0)
    for stage, part in ((SEEDLING, share), (SUCKER, 1.0 - share)):
        out[..., stage] = np.where(known[:, young].any(axis=1), after * part, total[..., stage])
    return np.maximum(out - left, 0.0)


def _mean(density: np.ndarray, n: np.ndarray, ground_ha: np.ndarray) -> np.ndarray:
    """Return the density [a ha] that a forecast and a count together make likely."""
    least = np.maximum(density, LEAST_PER_HA)
    return (SHAPE + n) / (SHAPE / least + ground_ha)
