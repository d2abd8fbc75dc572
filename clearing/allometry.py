"""Tell a tree's height, crown and stump from its diameter."""

import functools

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from clearing.rates import Rates, handbook_table
from clearing.units import CM_PER_IN, M_PER_FT

BREAST_FT = 4.5
CURTIS_FROM_IN = 3.0  # below it a straight line to breast height: part of the published form
STAND_FROM_IN = 5.0  # the stand-grown crowns were fitted from here up
OPEN_FROM_IN = 3.0  # the open-grown crowns were fitted from here up
BRAGG_IN = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0)


def height_m(species: str, dbh_cm: ArrayLike, rates: Rates) -> np.ndarray:
    """Return the mean height of stems [m].

    curtis_arney: H = 4.5 + p2 exp(-p3 D^p4) from 3 in up, below it a straight line from 4.51 ft at
    D = db; exponential: H = 4.5 + a (1 - exp(-b D)); D in inches, H in feet.

    Parameters
    ----------
    species : str
        The owner's species; one without a curve takes that of its stand-in.
    dbh_cm : array-like
        Diameter at breast height [cm]; 0 or missing = below breast height.
    rates : Rates
        Table ``heights``.

    References
    ----------
    usfs_growth_model, mcpherson_2016
    """
    row = _row(rates.heights, species, "height_as", rates)
    return _mean_height_ft(row, _inches(dbh_cm)) * M_PER_FT


def upper_height_m(species: str, dbh_cm: ArrayLike, rates: Rates) -> np.ndarray:
    """Return the height that few stems of this diameter exceed: mean and two standard deviations.

    upper = H + 2 s min(1, D / 3 in) [m]. Use it for whatever may fall on somebody.

    References
    ----------
    usfs_growth_model, mcpherson_2016; the standard deviation of published curves is assumed
    """
    row = _row(rates.heights, species, "height_as", rates)
    inches = _inches(dbh_cm)
    spread = 2.0 * float(row["upper_sd_ft"]) * np.minimum(1.0, inches / CURTIS_FROM_IN)
    return (_mean_height_ft(row, inches) + spread) * M_PER_FT


def crown_width_m(species: str, dbh_cm: ArrayLike, grown: str, rates: Rates) -> np.ndarray:
    """Return the crown's mean diameter [m].

    linear: b0 + b1 D; quadratic: + b2 D^2; power: b0 + b1 D^b2 (D in inches, width in feet);
    quadratic_metric: the same in cm and m. Stand-grown crowns below 5 in keep the published share
    of the 5 in crown; open-grown ones below 3 in run straight to nothing.

    Parameters
    ----------
    species : str
        The owner's species.
    dbh_cm : array-like
        Diameter at breast height [cm].
    grown : str
        ``open`` (pasture, fence row) or ``stand`` (woods, thicket).
    rates : Rates
        Table ``crowns`` and the figures ``crown_share_1in`` to ``crown_share_4in``.

    References
    ----------
    bechtold_2003, bragg_2001, krajicek_1961, ek_1974, smith_1992, mcpherson_2016
    """
    of_kind = rates.crowns[rates.crowns["grown"] == grown]
    row = _row(of_kind, species, "crown_as", rates, backup=rates.crowns)
    inches = _inches(dbh_cm)
    most = float(row["d_max_in"])
    if most == most:
        inches = np.minimum(inches, most)
    if row["grown"] == "stand":
        shares = [0.0, *(rates.figure("any", f"crown_share_{i}in").value for i in range(1, 5)), 1.0]
        least, share = STAND_FROM_IN, np.interp(inches, BRAGG_IN, shares)
    else:
        least, share = OPEN_FROM_IN, np.minimum(1.0, inches / OPEN_FROM_IN)
    feet = _crown_ft(row, np.maximum(inches, least)) * share
    cap = float(row["cap_ft"])
    return (np.minimum(feet, cap) if cap == cap else feet) * M_PER_FT


def stump_diameter_cm(
    species: str, dbh_cm: ArrayLike, stump_height_cm: float, rates: Rates | None = None
) -> np.ndarray:
    """Return the stump's diameter outside the bark [cm].

    DOB(h) = D (1 + B (4.5 - h) / (h + 1)), h the stump's height in feet. Meant for timber-size
    stems; below 5 in it is extrapolated.

    Parameters
    ----------
    species : str
        The owner's species.
    dbh_cm : array-like
        Diameter at breast height [cm].
    stump_height_cm : float
        Height of the cut [cm].
    rates : Rates, optional
        For the owner's species that are like another.

    References
    ----------
    raile_1982
    """
    name = rates.handbook_species(species) if rates else species
    names = handbook_table("names").set_index("species")
    group = names["stump_group"].get(name, "any")
    stumps = handbook_table("stumps").set_index("group")
    feet = stump_height_cm / 100 / M_PER_FT
    factor = 1.0 + float(stumps.loc[group, "b_out"]) * (BREAST_FT - feet) / (feet + 1.0)
    return np.nan_to_num(np.asarray(dbh_cm, dtype=float)) * factor


def is_stand_in(species: str, rates: Rates) -> bool:
    """Return whether height or crown of a species are those of another species.

    References
    ----------
    own reasoning
    """
    name = rates.handbook_species(species)
    return name not in set(rates.heights["species"]) or name not in set(rates.crowns["species"])


def genus_of(species: str, rates: Rates) -> str:
    """Return the genus of a species, blank when the handbook does not know it.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> from clearing.rates import load
    >>> genus_of("callery_pear", load())
    'Pyrus'
    """
    return _named("genus").get(rates.handbook_species(species), "")


def _inches(dbh_cm: ArrayLike) -> np.ndarray:
    """Return diameters in inches, missing ones as nought."""
    return np.nan_to_num(np.asarray(dbh_cm, dtype=float)) / CM_PER_IN


@functools.cache
def _named(column: str) -> dict[str, str]:
    """Return a column of the handbook's names by species (stand-ins for a curve, genera)."""
    names = handbook_table("names")
    return dict(zip(names["species"], names[column], strict=True))


def _row(
    table: pd.DataFrame,
    species: str,
    stand_in: str,
    rates: Rates,
    backup: pd.DataFrame | None = None,
) -> pd.Series:
    """Return the species' own row, else its stand-in's, else the one of any."""
    names = _named(stand_in)
    own = [species, rates.handbook_species(species)]
    own += [names[name] for name in own if name in names]
    for rows, wanted in ((table, own), (backup, own), (table, ["any"])):
        if rows is None:
            continue
        for name in wanted:
            found = rows[rows["species"] == name]
            if len(found):
                return found.iloc[0]
    raise KeyError(f"the handbook has no row for {species!r} and none for any")


def _mean_height_ft(row: pd.Series, inches: np.ndarray) -> np.ndarray:
    """Return the mean height [ft] by the row's form."""
    if row["form"] == "exponential":
        return BREAST_FT + float(row["a"]) * (1.0 - np.exp(-float(row["b"]) * inches))
    p2, p3, p4 = float(row["p2"]), float(row["p3"]), float(row["p4"])
    thick = np.maximum(inches, CURTIS_FROM_IN)
    tall = BREAST_FT + p2 * np.exp(-p3 * thick**p4)
    bud, foot = float(row["db_in"]), BREAST_FT + 0.01
    share = np.clip((inches - bud) / (CURTIS_FROM_IN - bud), 0.0, 1.0)
    return np.where(inches < CURTIS_FROM_IN, foot + (tall - foot) * share, tall)


def _crown_ft(row: pd.Series, inches: np.ndarray) -> np.ndarray:
    """Return the crown's width [ft] by the row's form."""
    b0, b1 = float(row["b0"]), float(row["b1"])
    b2 = float(row["b2"]) if row["b2"] == row["b2"] else 0.0
    if row["form"] == "power":
        return b0 + b1 * inches**b2
    if row["form"] == "quadratic_metric":
        cm = inches * CM_PER_IN
        return (b0 + b1 * cm + b2 * cm**2) / M_PER_FT
    return b0 + b1 * inches + b2 * inches**2
