"""Work out how long the work takes."""

import numpy as np
from numpy.typing import ArrayLike

from clearing.rates import Rates


def stem_seconds(dbh_cm: ArrayLike, base_s: float, per_cm_s: float) -> np.ndarray:
    """Return the time at one stem [s]: t = base + per_cm x D.

    Parameters
    ----------
    dbh_cm : array-like
        Diameter at breast height [cm].
    base_s, per_cm_s : float
        Time for any stem [s] and for each cm of its diameter [s/cm].

    References
    ----------
    msu_3673 (hack-and-squirt), own reasoning (other jobs)
    """
    return base_s + per_cm_s * np.asarray(dbh_cm, dtype=float)


def pace_factor(brush: str, slope_pct: ArrayLike, rates: Rates) -> np.ndarray:
    """Return how much longer the work takes than on open level ground: f_brush (1 + k slope).

    Parameters
    ----------
    brush : str
        open, brushy or thicket.
    slope_pct : array-like
        Slope [percent].

    References
    ----------
    own reasoning
    """
    factor = rates.figure(f"brush_{brush}", "pace_factor").value
    per_percent = rates.figure("slope", "pace_per_percent").value
    return factor * (1.0 + per_percent * np.asarray(slope_pct, dtype=float))


def walking_m_s(brush: str, slope_pct: ArrayLike, rates: Rates) -> np.ndarray:
    """Return the walking speed off the trail [m/s].

    v = 1.662 - 1.076 density - 0.005191 slope - 0.001127 slope^2, slope in degrees, with a floor.

    References
    ----------
    campbell_2017 (the slope as degrees is a reading of the notebook)
    """
    degrees = np.degrees(np.arctan(np.asarray(slope_pct, dtype=float) / 100.0))
    density = rates.figure(f"brush_{brush}", "density").value
    speed = (
        rates.figure("walk", "base").value
        - rates.figure("walk", "per_density").value * density
        - rates.figure("walk", "per_degree").value * degrees
        - rates.figure("walk", "per_degree_squared").value * degrees**2
    )
    return np.maximum(speed, rates.figure("walk", "slowest").value)


def tour_m(stems: ArrayLike, area_ha: ArrayLike, rates: Rates) -> np.ndarray:
    """Return the shortest way past all stems of an area [m].

    L = 0.7124 sqrt(n A) (1 + c / sqrt(n)), n stems on A square metres; nought for a single stem.

    References
    ----------
    johnson_mcgeoch
    """
    n = np.asarray(stems, dtype=float)
    area_m2 = np.asarray(area_ha, dtype=float) * 1e4
    edge = rates.figure("walk", "tour_edge").value / np.sqrt(np.maximum(n, 1.0))
    length = rates.figure("walk", "tour").value * np.sqrt(n * area_m2) * (1.0 + edge)
    return np.where(n > 1.0, length, 0.0)


def mower_ha_h(brush: str, rates: Rates) -> float:
    """Return what the mower does in an hour [ha/h]: width m x speed km/h / 10 x efficiency.

    References
    ----------
    kentucky_aen73 (width ft x mph / 8.25 acres an hour is the same)
    """
    width = rates.figure("mow", "width_m").value
    speed = rates.figure(f"brush_{brush}", "mow_kmh").value
    return width * speed / 10.0 * rates.figure("mow", "efficiency").value


def both_spreads(middle: ArrayLike, first: ArrayLike, second: ArrayLike) -> np.ndarray:
    """Return the end of a range that has two independent causes.

    end = middle exp(+-sqrt(ln^2 a + ln^2 b)), a and b each end over its middle.

    Parameters
    ----------
    middle : array-like
        The middle.
    first, second : array-like
        Ends over middles, both on the same side of 1; the side of the first decides, then of the
        second.

    References
    ----------
    own reasoning
    """
    a = np.log(np.clip(np.asarray(first, dtype=float), 0.05, 20.0))
    b = np.log(np.clip(np.asarray(second, dtype=float), 0.05, 20.0))
    side = np.where(a + b < 0, -1.0, 1.0)
    return np.asarray(middle, dtype=float) * np.exp(side * np.sqrt(a**2 + b**2))
