"""Work out how long the work takes."""

import numpy as np
import pandas as pd
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
    rates : Rates
        Figures.

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


def cut_seconds(dbh_cm: ArrayLike, sawyers: int, item: str, rates: Rates) -> np.ndarray:
    """Return the time behind the saw at one stem that is cut flush [s].

    Chain saw: t = base + per_cm x D; hand saw and loppers, where nobody runs a saw:
    t = base + per_cm2 x D^2, since the blade has the whole section to go through.

    Parameters
    ----------
    dbh_cm : array-like
        Diameter at breast height [cm].
    sawyers : int
        People who run a saw.
    item : str
        value, low or high.
    rates : Rates
        Figures.

    References
    ----------
    own reasoning
    """
    dbh = np.asarray(dbh_cm, dtype=float)
    if sawyers:
        base, slope = (rates.figure("saw", name) for name in ("cut_base_s", "cut_per_cm_s"))
        return float(getattr(base, item)) + float(getattr(slope, item)) * dbh
    base, slope = (rates.figure("hand_saw", name) for name in ("cut_base_s", "cut_per_cm2_s"))
    return float(getattr(base, item)) + float(getattr(slope, item)) * dbh**2


def tour_m(stems: ArrayLike, area_ha: ArrayLike, rates: Rates) -> np.ndarray:
    """Return the expected shortest way past all stems of an area and back [m].

    L = 0.7124 sqrt(n A) (1 + (c - d / n^p) / sqrt(n)), n stems at random on a square of A square
    metres: c is the edge of the ground, d what few stems lack of it. Nought for a single stem, and
    within 1.5 percent of there and back (2 x 0.5214 of the side) for two.

    References
    ----------
    johnson_mcgeoch, percus_martin_1996; c, d and p fitted to remembered and simulated lengths
    """
    n = np.maximum(np.asarray(stems, dtype=float), 1.0)
    edge, few, power = (
        rates.figure("walk", name).value for name in ("tour_edge", "tour_few", "tour_few_power")
    )
    excess = (edge - few / n**power) / np.sqrt(n)
    side_m = np.sqrt(np.asarray(area_ha, dtype=float) * 1e4)
    length = rates.figure("walk", "tour").value * np.sqrt(n) * side_m * (1.0 + excess)
    return np.where(n > 1.0, np.maximum(length, 0.0), 0.0)


def mower_ha_h(brush: str, rates: Rates) -> float:
    """Return what the mower does in an hour on level ground [ha/h].

    width m x speed km/h / 10 x efficiency.

    References
    ----------
    kentucky_aen73 (width ft x mph / 8.25 acres an hour is the same)
    """
    width = rates.figure("mow", "width_m").value
    speed = rates.figure(f"brush_{brush}", "mow_kmh").value
    return width * speed / 10.0 * rates.figure("mow", "efficiency").value


def mower_hours(
    area_ha: pd.Series, brush: pd.Series, slope_pct: pd.Series, rates: Rates
) -> dict[str, np.ndarray]:
    """Return the hours of the mower by area, brush and slope [h], with low and high ("_low" ...).

    hours = area / (width x speed / 10 x efficiency) x (1 + k slope). Low and high: its speed in
    this brush, the efficiency and the slope at their best and at their worst.

    References
    ----------
    kentucky_aen73; the slope is own reasoning
    """
    middle = {str(name): mower_ha_h(str(name), rates) for name in brush.unique()}
    steep, share = rates.figure("slope", "mow_per_percent"), rates.figure("mow", "efficiency")
    speed = {name: rates.figure(f"brush_{name}", "mow_kmh") for name in middle}
    slope = slope_pct.to_numpy(dtype=float)
    level = area_ha.to_numpy(dtype=float) / brush.map(middle).to_numpy(dtype=float)
    fast = {name: kmh.value / kmh.high * share.value / share.high for name, kmh in speed.items()}
    slow = {name: kmh.value / kmh.low * share.value / share.low for name, kmh in speed.items()}
    return {
        "": level * (1.0 + steep.value * slope),
        "_low": level * brush.map(fast).to_numpy(dtype=float) * (1.0 + steep.low * slope),
        "_high": level * brush.map(slow).to_numpy(dtype=float) * (1.0 + steep.high * slope),
    }


def spread(middle: ArrayLike, *ends: ArrayLike) -> np.ndarray:
    """Return the end of a range that has several independent causes.

    end = middle exp(+-sqrt(sum of ln^2)) of each cause's end over the middle.

    Parameters
    ----------
    middle : array-like
        The middle.
    ends : array-like
        Ends over middles, one a cause, all on the same side of 1; the side of their product
        decides.

    References
    ----------
    own reasoning
    """
    logs = [np.log(np.clip(np.asarray(end, dtype=float), 0.05, 20.0)) for end in ends]
    far = np.sqrt(np.sum(np.square(logs), axis=0))
    side = np.where(np.sum(logs, axis=0) < 0, -1.0, 1.0)
    return np.asarray(middle, dtype=float) * np.exp(side * far)
