"""How long dead stems stand."""

import numpy as np
from numpy.typing import ArrayLike

from clearing.rates import Rates
from clearing.units import CM_PER_IN

NAMED_AT_IN = 6.0  # diameter that the handbook's stand_years is told for


def standing_share(
    species: str, dbh_cm: ArrayLike, years: ArrayLike, rates: Rates, end: str = "value"
) -> np.ndarray:
    """Return the share of dead stems that still stand some years after they died.

    share = 1 - years x f, not below 0; f, the share of the first number that falls a year, is
    (base - slope D) x class, D in inches; the class follows from ``stand_years``, after which none
    of 6 in stands: class = 1 / (stand_years x (base - 6 slope)). Of stems from 12 in up the model
    keeps the last twentieth longer; here they fall as the others.

    Parameters
    ----------
    species : str
        The owner's species.
    dbh_cm : array-like
        Diameter at breast height [cm].
    years : array-like
        Years since death.
    rates : Rates
        stand_years of the species, base and slope.
    end : str
        value, low or high of ``stand_years``.

    Returns
    -------
    array
        Of the shape that diameters and years have together.

    References
    ----------
    usfs_snag_model
    """
    base, slope, least = (
        rates.figure("any", f"fall_{name}").value for name in ("base", "slope", "least")
    )

    def rate(inches: np.ndarray) -> np.ndarray:
        return np.maximum(base - slope * inches, least)

    named = float(rate(np.array(NAMED_AT_IN)))
    stand_years = max(float(getattr(rates.figure(species, "stand_years"), end)), 0.1)
    falling = rate(np.asarray(dbh_cm, dtype=float) / CM_PER_IN) / (stand_years * named)
    return np.clip(1.0 - falling * np.asarray(years, dtype=float), 0.0, 1.0)
