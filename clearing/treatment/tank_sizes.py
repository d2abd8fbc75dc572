"""Say how many stems, stumps or plants a tank serves, size by size."""

import math

from clearing.treatment.tank_book import Row, book_value
from clearing.units import CM_PER_IN, M_PER_FT

SIZES = {  # (leaves, US units): inches, feet, centimetres, metres
    (False, True): (1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0),
    (True, True): (1.0, 2.0, 3.0, 4.0, 6.0),
    (False, False): (2.5, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0),
    (True, False): (0.3, 0.6, 0.9, 1.2, 1.8),
}
ROUND = 0.02  # a size may miss a recipe's end by this share: 5 cm counts as 2 in; own choice
MEASURED = {
    "cuts": "trunk's width at breast height",
    "band": "trunk's width at breast height",
    "stump": "stump's width",
    "cover": "plant's width",
}


def dose_of_size_ml(recipe: Row, size: float) -> float:
    """Return the mix that one stem, stump or plant takes [ml].

    The same rules as for the plan: cuts = ml_per_cut x max(min_cuts, ceil(D / cm_per_cut)); band
    and stump = ml_per_cm x D; leaves = pi / 4 w^2 x l_per_ha / 10.

    Parameters
    ----------
    recipe : dict of text
        A row of the handbook's recipes.
    size : float
        Trunk at breast height or stump [cm], plant's spread [m].

    References
    ----------
    own reasoning; the recipe carries its own source
    """
    kind = recipe["dose_kind"]
    if kind == "cuts":
        wanted = math.ceil(size / float(recipe["cm_per_cut"]) - 1e-9)
        return float(recipe["ml_per_cut"]) * max(wanted, float(recipe["min_cuts"]))
    if kind in ("band", "stump"):
        return float(recipe["ml_per_cm"]) * size
    return math.pi / 4.0 * size**2 * float(recipe["l_per_ha_cover"]) / 10.0


def stems_a_tank(tank_l: float, dose_ml: float) -> float:
    """Return how many stems a tank serves.

    References
    ----------
    tm_5_629, own reasoning
    """
    if not (0 < tank_l < math.inf and 0 < dose_ml < math.inf):
        raise ValueError(
            f"a tank of {tank_l:g} L and {dose_ml:g} mL a stem give no count; write both over 0"
        )
    return 1000.0 * tank_l / dose_ml


def tank_sizes(recipe: Row, tank_l: float, us: bool = True) -> list[dict[str, float]]:
    """Return the stems, stumps or plants of each size that a tank serves, with low and high.

    The mix that is really used strays from the recipe to the ends of the handbook's
    ``dose_factor``.

    Parameters
    ----------
    recipe : dict of text
        A row of the handbook's recipes.
    tank_l : float
        Finished mix [l].
    us : bool
        Whole inches and feet, or whole centimetres.

    Returns
    -------
    list of dict
        size (in or ft; cm or m), dose_ml, stems, stems_low, stems_high.

    References
    ----------
    own reasoning
    """
    leaves = recipe["dose_kind"] == "cover"
    unit = (M_PER_FT if leaves else CM_PER_IN) if us else 1.0
    least, most = (book_value("work", "any", "dose_factor", end) or 1.0 for end in ("low", "high"))
    rows = []
    for size in SIZES[leaves, us]:
        if recipe["dose_kind"] in ("cuts", "band") and not _fits(recipe, size * unit):
            continue
        dose = dose_of_size_ml(recipe, size * unit)
        rows.append({
            "size": size,
            "dose_ml": dose,
            "stems": stems_a_tank(tank_l, dose),
            "stems_low": stems_a_tank(tank_l, dose * most),
            "stems_high": stems_a_tank(tank_l, dose * least),
        })  # fmt: skip
    return rows


def _fits(recipe: Row, dbh_cm: float) -> bool:
    """Return whether the recipe is meant for stems of this diameter [cm]."""
    least, most = recipe["min_dbh_cm"], recipe["max_dbh_cm"]
    small = least != "" and dbh_cm < float(least) * (1.0 - ROUND)
    large = most != "" and dbh_cm > float(most) * (1.0 + ROUND)
    return not (small or large)
