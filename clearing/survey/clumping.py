"""How unevenly stems stand from plot to plot, and the interval that follows from it.

Counts on plots are taken as negative binomial: variance = mean + a mean^2 (Bliss and Fisher). The
aggregation a of a handful of plots is badly known just where it matters, when the plots missed the
clumps; so it is not plugged in but weighed: every value of a grid from nearly random to one plot
in many holding nearly all stems is equally likely beforehand, and its weight afterwards is the
chance of the way in which the counted stems fell to the plots, given how many they were. That
chance (a Dirichlet-multinomial) does not depend on the density. Few stems say little, and the
aggregation stays high; many plots settle it.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

# from nearly random to nearly all stems on one plot in 26, each step the double; own choice
BETWEEN_PLOTS = 0.1 * 2.0 ** np.arange(9)
BETWEEN_BLOCKS = BETWEEN_PLOTS[:6]  # blocks of one kind differ less than plots; own choice
FEWEST = 1.25  # independent plots that any number of plots is worth at least; own choice


def mean_aggregation(
    units: tuple[np.ndarray, np.ndarray, np.ndarray],
    groups: tuple[np.ndarray, np.ndarray, np.ndarray],
    cells: int,
    grid: np.ndarray = BETWEEN_PLOTS,
) -> np.ndarray:
    """Return the mean of the aggregation a of each cell, given how its stems fell to units.

    log L(a) = sum_u [lnG(y_u + s_u / a) - lnG(s_u / a)]
    - sum_g [lnG(Y_g + S_g / a) - lnG(S_g / a)], G the gamma function; the mean is over the grid.

    Parameters
    ----------
    units : (count, size, cell) of arrays (U,)
        Stems of each unit (plot) on which any were found, its size as a share of the mean unit,
        and its cell. Units without stems need no row.
    groups : (count, size, cell) of arrays (G,)
        Stems and summed sizes of all units (those without stems too) that share one density.
    cells : int
        Number of cells.
    grid : array
        Values of a.

    Returns
    -------
    array (cells,)
        a [-]; the grid's mean where nothing was found.

    References
    ----------
    bliss_fisher_1953, mosimann_1962, own reasoning (even weight of the grid beforehand)
    """
    log_weight = np.zeros((cells, grid.size))
    for (count, size, cell), sign in ((units, 1.0), (groups, -1.0)):
        found = count > 0
        for column, a in enumerate(grid):
            k = np.maximum(size[found], 1e-9) / a
            each = special.gammaln(count[found] + k) - special.gammaln(k)
            log_weight[:, column] += sign * np.bincount(cell[found], each, minlength=cells)
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    return (weight * grid).sum(axis=1) / weight.sum(axis=1)


def clumped_count_interval(
    count: ArrayLike, units: ArrayLike, aggregation: ArrayLike, left: ArrayLike, confidence: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return the interval of an expected count whose variance is M + a M^2 / units.

    The ends are the means M at which so few (so many) stems would be found with a chance of half
    of 1 - confidence: I_p(r, y + 1/2) = chance, p = r / (r + M), r = units / a, I the regularised
    incomplete beta function; half a stem more than the exact interval's ends, so that its
    coverage is near the stated one and not above it. Without clumps it is the interval of a
    Poisson count. The finite-population correction f divides count and r and multiplies the ends.

    Parameters
    ----------
    count : array
        Stems counted.
    units : array
        Plots, in mean plots.
    aggregation : array
        a [-].
    left : array
        f = 1 - share of the ground that was looked at.
    confidence : float
        Share of such intervals that hold the truth.

    References
    ----------
    garwood_1936 (the Poisson case), bliss_fisher_1953, cochran_1977 (correction)
    """
    found = np.asarray(count, dtype=float)
    correction = np.maximum(np.asarray(left, dtype=float), 1e-9)
    y = found / correction
    r = np.clip(np.asarray(units, dtype=float) / aggregation, FEWEST, 1e9) / correction
    tail = (1.0 - confidence) / 2.0
    ends = []
    for chance in (1.0 - tail, tail):
        p = special.betaincinv(r, y + 0.5, chance)
        ends.append(r * (1.0 - p) / np.maximum(p, 1e-300) * correction)
    return np.where(found > 0, np.minimum(ends[0], found), 0.0), np.maximum(ends[1], found)


def clumped_se(
    count: ArrayLike, units: ArrayLike, aggregation: ArrayLike, left: ArrayLike
) -> np.ndarray:
    """Return the standard error of a count: sqrt(f (Y + a Y^2 / units)), Y half a stem at least.

    References
    ----------
    bliss_fisher_1953, cochran_1977
    """
    y = np.maximum(np.asarray(count, dtype=float), 0.5)
    spread = y + np.asarray(aggregation) * y**2 / np.maximum(np.asarray(units, dtype=float), 1e-9)
    return np.sqrt(np.asarray(left, dtype=float) * spread)
