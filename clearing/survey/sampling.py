"""The estimators of sampling from a finite population, each one equation."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats


@dataclass(frozen=True)
class Estimate:
    """An estimate with its standard error, interval and degrees of freedom."""

    value: float
    se: float
    low: float
    high: float
    df: float


def _estimate(value: float, se: float, df: float, confidence: float) -> Estimate:
    """Return an estimate with the t interval of the stated confidence."""
    if df < 1:
        return Estimate(value, math.nan, math.nan, math.nan, df)
    half = float(stats.t.ppf(0.5 + confidence / 2, df)) * se
    return Estimate(value, se, value - half, value + half, df)


def simple_random_mean(
    values: ArrayLike, population: float | None = None, confidence: float = 0.95
) -> Estimate:
    """Return the mean of a simple random sample.

    mean = sum(y) / n; se^2 = s^2 / n * (1 - n / N).

    Parameters
    ----------
    values : array (n,)
        Measured values.
    population : float, optional
        Units in the population N; none leaves the correction out.
    confidence : float
        Share of such intervals that hold the truth.

    References
    ----------
    cochran_1977

    Examples
    --------
    >>> round(simple_random_mean([10, 9, 10, 9, 11], population=100).value, 1)
    9.8
    """
    y = np.asarray(values, dtype=float)
    n = y.size
    left = 1.0 if population is None else 1.0 - n / population
    variance = float(y.var(ddof=1)) if n > 1 else math.nan
    return _estimate(float(y.mean()), math.sqrt(variance / n * left), n - 1, confidence)


def stratified_mean(
    values: ArrayLike,
    strata: ArrayLike,
    sizes: Mapping[object, float] | Sequence[float],
    confidence: float = 0.95,
) -> Estimate:
    """Return the mean of a stratified random sample.

    mean = sum(W_h mean_h); se^2 = sum(W_h^2 s_h^2 / n_h (1 - n_h / N_h)); df = n - strata.

    Parameters
    ----------
    values, strata : array (n,)
        Measured values and the stratum of each.
    sizes : mapping or sequence
        Stratum -> units in it N_h; a sequence gives them in the sorted order of the strata.
    confidence : float
        Share of such intervals that hold the truth.

    References
    ----------
    cochran_1977
    """
    y, stratum = np.asarray(values, dtype=float), np.asarray(strata)
    by_name = (
        sizes if isinstance(sizes, Mapping) else dict(zip(np.unique(stratum), sizes, strict=True))
    )
    whole = sum(by_name.values())
    mean = variance = 0.0
    for name, size in by_name.items():
        own = y[stratum == name]
        weight = size / whole
        mean += weight * float(own.mean())
        spread = float(own.var(ddof=1)) if own.size > 1 else math.nan
        variance += weight**2 * spread / own.size * (1.0 - own.size / size)
    return _estimate(mean, math.sqrt(variance), y.size - len(by_name), confidence)


def ratio_total(
    y: ArrayLike, x: ArrayLike, x_total: float, population: float | None = None
) -> Estimate:
    """Return a total by the ratio to a measure whose total is known.

    total = X sum(y) / sum(x); se^2 = N^2 / n (1 - n / N) s_r^2, s_r^2 = sum((y - R x)^2) / (n - 1).
    Without a population N is X over the mean of x, without correction. The interval is 95 %.

    Parameters
    ----------
    y, x : array (n,)
        What is wanted and the cheap measure, unit by unit.
    x_total : float
        Total of the cheap measure over all units.
    population : float, optional
        Units in the population.

    References
    ----------
    cochran_1977
    """
    y_values, x_values = np.asarray(y, dtype=float), np.asarray(x, dtype=float)
    n, ratio = y_values.size, float(y_values.sum() / x_values.sum())
    units = x_total / float(x_values.mean()) if population is None else population
    left = 1.0 if population is None else 1.0 - n / population
    spread = float(((y_values - ratio * x_values) ** 2).sum() / (n - 1))
    return _estimate(ratio * x_total, units * math.sqrt(spread / n * left), n - 1, 0.95)


def regression_total(y: ArrayLike, x: ArrayLike, x_total: float, population: float) -> Estimate:
    """Return a total by linear regression on a measure whose total is known.

    total = N (mean(y) + b (X / N - mean(x))); se^2 = N^2 / n (1 - n / N) s_e^2 with the residuals'
    mean square over n - 2. The interval is 95 %.

    Parameters
    ----------
    y, x : array (n,)
        What is wanted and the cheap measure, unit by unit.
    x_total : float
        Total of the cheap measure over all units.
    population : float
        Units in the population N.

    References
    ----------
    cochran_1977
    """
    y_values, x_values = np.asarray(y, dtype=float), np.asarray(x, dtype=float)
    n = y_values.size
    off = x_values - x_values.mean()
    slope = float((off * y_values).sum() / (off**2).sum())
    mean = float(y_values.mean()) + slope * (x_total / population - float(x_values.mean()))
    residual = y_values - y_values.mean() - slope * off
    spread = float((residual**2).sum() / (n - 2))
    se = population * math.sqrt(spread / n * (1.0 - n / population))
    return _estimate(population * mean, se, n - 2, 0.95)


def neyman_allocation(
    sizes: Sequence[float], sds: Sequence[float], n: float, lower: Sequence[float] | None = None,
    upper: Sequence[float] | None = None,
) -> np.ndarray:  # fmt: skip
    """Return how many of n units each stratum gets for the least variance of the total.

    n_h = n N_h S_h / sum(N S), each held between its lower and upper bound; what the bounds give
    or take is shared among the rest in the same proportion until all fit.

    Parameters
    ----------
    sizes, sds : sequence (L,)
        Units in each stratum and their standard deviation.
    n : float
        Units to share out.
    lower, upper : sequence (L,), optional
        Least and most of each stratum.

    Returns
    -------
    array (L,) of float
        Not rounded.

    Raises
    ------
    ValueError
        The bounds leave no room for n.

    References
    ----------
    cochran_1977
    """
    weight = np.asarray(sizes, dtype=float) * np.asarray(sds, dtype=float)
    low = np.zeros(weight.size) if lower is None else np.asarray(lower, dtype=float)
    high = np.full(weight.size, np.inf) if upper is None else np.asarray(upper, dtype=float)
    if low.sum() > n + 1e-9 or high.sum() < n - 1e-9:
        raise ValueError(f"{n:g} plots do not fit between {low.sum():g} and {high.sum():g}")
    if weight.sum() == 0:
        weight = np.asarray(sizes, dtype=float)
    # the shares are clip(t w, low, high) for the one t at which they sum to n
    t_low, t_high = 0.0, n / weight[weight > 0].min() + low.sum()
    for _ in range(200):
        t = (t_low + t_high) / 2
        if np.clip(t * weight, low, high).sum() > n:
            t_high = t
        else:
            t_low = t
    return np.clip((t_low + t_high) / 2 * weight, low, high)


def plots_needed(
    cv: float, allowed_error: float, confidence: float = 0.95, population: float | None = None
) -> int:
    """Return how many plots give the wished relative error of the mean.

    n = (t cv / E)^2, t with n - 1 degrees of freedom, solved by repetition; with a finite
    population n / (1 + n / N).

    Parameters
    ----------
    cv : float
        Coefficient of variation between plots (1.0 = 100 %).
    allowed_error : float
        Half of the interval as a share of the mean.
    confidence : float
        Share of such intervals that hold the truth.
    population : float, optional
        Plots that would cover all ground.

    References
    ----------
    cochran_1977
    """
    n = 2
    for n in range(2, 100_000):
        t = float(stats.t.ppf(0.5 + confidence / 2, n - 1))
        wanted = (t * cv / allowed_error) ** 2
        if population is not None:
            wanted = wanted / (1.0 + wanted / population)
        if n >= wanted:
            break
    return n
