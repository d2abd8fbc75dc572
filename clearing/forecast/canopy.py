"""How much of the ground crowns cover, and what grass grows under them."""

import numpy as np
from numpy.typing import ArrayLike

from clearing.allometry import crown_width_m
from clearing.forecast.growth import RESPROUT, STAGES, UNDER
from clearing.rates import Rates


def crown_m2(species: str, rates: Rates) -> np.ndarray:
    """Return the crown of one stem of each stage [m2]; seedlings and sprouts shade nothing.

    References
    ----------
    own reasoning; `allometry.crown_width_m` carries its own sources
    """
    mid = rates.sizes.set_index("size_class")["mid_cm"].astype(float)
    named = list(STAGES[UNDER:RESPROUT])
    wide = crown_width_m(species, mid[named].to_numpy(), "stand", rates)
    out = np.zeros(len(STAGES))
    out[UNDER:RESPROUT] = np.pi / 4.0 * np.asarray(wide, dtype=float) ** 2
    return out


def canopy_pct(crowns_m2: ArrayLike, area_ha: ArrayLike, keep_pct: ArrayLike = 0.0) -> np.ndarray:
    """Return the share of the ground under crowns [percent].

    canopy = 1 - (1 - keep) exp(-crowns / ground): crowns lie at random, over each other too.

    Parameters
    ----------
    crowns_m2 : array-like
        Sum of the crowns of the species to clear [m2].
    area_ha : array-like
        Ground [ha].
    keep_pct : array-like
        Ground under the crowns of trees that stay [percent].

    References
    ----------
    crookston_stage_1999
    """
    ground = np.asarray(area_ha, dtype=float) * 1e4
    crowns = np.asarray(crowns_m2, dtype=float)
    times = np.divide(
        crowns, ground, out=np.zeros(np.broadcast(crowns, ground).shape), where=ground > 0
    )
    open_share = 1.0 - np.asarray(keep_pct, dtype=float) / 100.0
    return 100.0 * (1.0 - open_share * np.exp(-times))


def forage_pct(canopy: ArrayLike, grass: str, rates: Rates) -> np.ndarray:
    """Return what grass yields under a canopy, against open ground [percent].

    Flat, then straight from point to point, and on to nothing.

    Parameters
    ----------
    canopy : array-like
        Ground under crowns [percent].
    grass : str
        cool or warm.
    rates : Rates
        Points of the curve, under the subjects ``forage_cool`` and ``forage_warm``.

    References
    ----------
    nrcs_381, pang_2017; the joins are assumed
    """
    table = rates.figures[rates.figures["subject"] == f"forage_{grass}"]
    shade = table["item"].str.removeprefix("canopy_").astype(float).to_numpy()
    order = np.argsort(shade)
    found = table["value"].astype(float).to_numpy()[order]
    return np.interp(np.asarray(canopy, dtype=float), shade[order], found)
