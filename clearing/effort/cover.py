"""Tell how much ground the leaves cover where crowns overlap."""

import numpy as np
from numpy.typing import ArrayLike


def leaf_cover(crown_ha: ArrayLike, area_ha: ArrayLike) -> np.ndarray:
    """Return the share of an area that crowns scattered at random cover.

    cover = 1 - exp(-crowns / area).

    Parameters
    ----------
    crown_ha : array-like
        Sum of the crown areas [ha].
    area_ha : array-like
        Ground [ha].

    References
    ----------
    crookston_stage_1999
    """
    area = np.asarray(area_ha, dtype=float)
    crowns = np.asarray(crown_ha, dtype=float)
    times = np.divide(crowns, area, out=np.zeros(np.broadcast(crowns, area).shape), where=area > 0)
    return -np.expm1(-times)


def overlap_factor(crown_ha: ArrayLike, area_ha: ArrayLike) -> np.ndarray:
    """Return the covered ground over the sum of the crowns: 1 while they stand apart.

    factor = (1 - exp(-x)) / x, x = crowns / area. A sum of doses by crown area times this is the
    dose of the covered ground: additive while sparse, never more than the whole ground's.

    References
    ----------
    crookston_stage_1999
    """
    crowns, area = np.asarray(crown_ha, dtype=float), np.asarray(area_ha, dtype=float)
    covered = leaf_cover(crowns, area) * area
    factor = np.ones(np.broadcast(crowns, area).shape)
    return np.divide(covered, crowns, out=factor, where=(crowns > 0) & (area > 0))
