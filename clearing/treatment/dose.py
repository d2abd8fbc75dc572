"""Work out what one stem takes: mix, product, acid equivalent."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from clearing.allometry import crown_width_m, stump_diameter_cm
from clearing.rates import Rates


def cuts(dbh_cm: ArrayLike, cm_per_cut: float, min_cuts: float = 1.0) -> np.ndarray:
    """Return the cuts around a stem: max(min_cuts, ceil(D / cm_per_cut)).

    Parameters
    ----------
    dbh_cm : array-like
        Diameter at breast height [cm].
    cm_per_cut : float
        Diameter that one cut serves [cm].
    min_cuts : float
        Fewest cuts on a stem [-].

    References
    ----------
    pnw_handbook, penn_state_hack
    """
    wanted = np.ceil(np.asarray(dbh_cm, dtype=float) / cm_per_cut - 1e-9)
    return np.maximum(wanted, min_cuts)


def cuts_dose_ml(
    dbh_cm: ArrayLike, ml_per_cut: float, cm_per_cut: float, min_cuts: float = 1.0
) -> np.ndarray:
    """Return the mix in the cuts of a stem [ml]: V = ml_per_cut x cuts.

    References
    ----------
    pnw_handbook, penn_state_hack
    """
    return ml_per_cut * cuts(dbh_cm, cm_per_cut, min_cuts)


def band_dose_ml(dbh_cm: ArrayLike, ml_per_cm: float) -> np.ndarray:
    """Return the mix on the basal band of a stem [ml]: V = ml_per_cm x D.

    Published volumes differ: 3 mL an inch for a low-volume band, 38 mL for conventional spraying.

    References
    ----------
    kochenderfer_2001, tm_5_629
    """
    return ml_per_cm * np.asarray(dbh_cm, dtype=float)


def stump_dose_ml(stump_cm: ArrayLike, ml_per_cm: float) -> np.ndarray:
    """Return the mix on the rim of a stump [ml]: V = ml_per_cm x stump diameter.

    References
    ----------
    own reasoning (no volume by stump diameter was found in print)
    """
    return ml_per_cm * np.asarray(stump_cm, dtype=float)


def cover_dose_ml(crown_m: ArrayLike, l_per_ha_cover: float) -> np.ndarray:
    """Return the mix on the leaves of one plant [ml]: V = pi / 4 w^2 x l_per_ha / 10.

    Parameters
    ----------
    crown_m : array-like
        Spread of the leaves [m].
    l_per_ha_cover : float
        Mix on a hectare of closed leaves [l/ha].

    References
    ----------
    vt_456_502 (volume), own reasoning (spread)
    """
    area_m2 = np.pi / 4.0 * np.asarray(crown_m, dtype=float) ** 2
    return area_m2 * l_per_ha_cover / 10.0


def product_ml(dose_ml: ArrayLike, percent: float) -> np.ndarray:
    """Return the product in a dose of mix [ml]: P = V x percent / 100.

    References
    ----------
    illinois_bulletin_2006
    """
    return np.asarray(dose_ml, dtype=float) * percent / 100.0


def acid_kg(product_l: ArrayLike, ae_kg_per_l: float) -> np.ndarray:
    """Return the acid equivalent in a volume of product [kg].

    References
    ----------
    own reasoning
    """
    return np.asarray(product_l, dtype=float) * ae_kg_per_l


def most_dbh_cm(limit_kg_ha: float, ae_kg_per_l: float, ml_per_cm: float, percent: float) -> float:
    """Return the sum of diameters a hectare at which a dose reaches a limit [cm/ha].

    sum D = limit / (ae x ml_per_cm x percent / 100 / 1000).

    References
    ----------
    own reasoning
    """
    return limit_kg_ha / (ae_kg_per_l * ml_per_cm * percent / 100.0 / 1000.0)


def recipe_dose_ml(
    recipe: Mapping[str, object], species: str, dbh_cm: ArrayLike, rates: Rates
) -> np.ndarray:
    """Return the mix that a stem takes by its whole recipe [ml].

    Parameters
    ----------
    recipe : mapping
        A row of the recipes.
    species : str
        The owner's species, for stump and crown.
    dbh_cm : array-like
        Diameter at breast height [cm]; 0 = seedling.
    rates : Rates
        Figures of stump height and the spread of seedlings.

    References
    ----------
    own reasoning; the recipe carries its own source
    """
    dbh = np.asarray(dbh_cm, dtype=float)
    number = {key: float(str(recipe[key])) for key in NUMBERS}
    if recipe["dose_kind"] == "cuts":
        return cuts_dose_ml(dbh, number["ml_per_cut"], number["cm_per_cut"], number["min_cuts"])
    if recipe["dose_kind"] == "band":
        return band_dose_ml(dbh, number["ml_per_cm"])
    if recipe["dose_kind"] == "stump":
        height = rates.figure("any", "stump_height_cm").value
        return stump_dose_ml(stump_diameter_cm(species, dbh, height, rates), number["ml_per_cm"])
    least = rates.figure("any", "seedling_crown_m").value
    crown = np.maximum(crown_width_m(species, dbh, "stand", rates), least)
    return cover_dose_ml(crown, number["l_per_ha_cover"])


NUMBERS = ("ml_per_cut", "cm_per_cut", "min_cuts", "ml_per_cm", "l_per_ha_cover")
