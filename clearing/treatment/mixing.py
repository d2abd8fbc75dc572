"""Work out one tank of mix."""

import math
from typing import Any

from clearing.treatment.tank_book import book_carrier, book_value, known_herbicide
from clearing.treatment.tank_limits import Tank
from clearing.treatment.tank_warnings import tank_warnings

ML_PER_CUT = 1.0  # where neither the caller nor a recipe says another
ORDER = {
    "water": (
        "a third of the water",
        "product",
        "surfactant, then oils",
        "dye",
        "the rest of the water",
    ),
    "oil": ("half of the oil", "product", "dye made for oil", "the rest of the oil"),
    "none": ("product as it is", "dye"),
}


def mix_tank(
    tank_l: float,
    percent: float | None = None,
    product_l: float | None = None,
    extras_l: tuple[float, float] = (0.0, 0.0),
    herbicide: str | None = None,
    use: str | None = None,
    ml_per_cut: float = ML_PER_CUT,
) -> dict[str, Any]:
    """Return what goes into one tank.

    product = percent / 100 x tank; carrier = tank - product - surfactant - dye.

    Parameters
    ----------
    tank_l : float
        Finished mix [l].
    percent : float, optional
        Product in percent of the tank.
    product_l : float, optional
        Measured product [l]; it wins over the percent.
    extras_l : (float, float)
        Surfactant and dye [l].
    herbicide : str, optional
        Key of the handbook such as glyphosate_4, for acid equivalent and weight.
    use : str, optional
        hack, stump, basal or leaves.
    ml_per_cut : float
        Mix that one cut gets [ml].

    Returns
    -------
    dict
        tank_l, product_l, product_percent, surfactant_l, dye_l, water_l (of whatever carries the
        mix), ae_kg and product_kg (None without a herbicide), ml_per_cut, cuts_a_tank, carrier
        (None where only the label says), order, warnings.

    Raises
    ------
    ValueError
        Neither percent nor product, a share out of range, a number that is none, or an unknown
        herbicide.

    References
    ----------
    illinois_bulletin_2006, sdsu_mixing
    """
    measured = _product_l(tank_l, percent, product_l)
    surfactant, dye = extras_l
    water = tank_l - measured - surfactant - dye
    sound = all(math.isfinite(part) and part >= 0 for part in (surfactant, dye))
    if not sound or water < -1e-9 * tank_l:
        raise ValueError(
            f"{measured:.3f} L of product, {surfactant:.3f} L of surfactant and {dye:.3f} L of dye "
            f"do not go into a tank of {tank_l:.3f} L"
        )
    if not 0 < ml_per_cut < math.inf:
        raise ValueError(f"{ml_per_cut:g} mL a cut; write a volume over 0")
    key = known_herbicide(herbicide) if herbicide else None
    strength, density = (
        book_value("herbicides", key, item) if key else None
        for item in ("ae_kg_per_l", "density_kg_l")
    )
    carrier = book_carrier(use, key, 100.0 * measured / tank_l)
    tank = Tank(tank_l, measured, percent, product_l is not None, key, use, ml_per_cut, carrier)
    return {
        "tank_l": tank_l,
        "product_l": measured,
        "product_percent": tank.share,
        "surfactant_l": surfactant,
        "dye_l": dye,
        "water_l": max(water, 0.0),
        "ae_kg": None if strength is None else measured * strength,
        "product_kg": None if density is None else measured * density,
        "ml_per_cut": ml_per_cut,
        "cuts_a_tank": 1000.0 * tank_l / ml_per_cut,
        "carrier": carrier,
        "order": list(ORDER[carrier or "water"]),
        "warnings": tank_warnings(tank),
    }


def _product_l(tank_l: float, percent: float | None, product_l: float | None) -> float:
    """Return the product of a tank [l], from its measure or from its percent."""
    if not 0 < tank_l < math.inf:
        raise ValueError(f"the tank holds {tank_l:g} L; write a volume over 0")
    if percent is not None and not 0 < percent <= 100:
        raise ValueError(f"percent is {percent:g}; write a number over 0 and up to 100")
    if product_l is not None:
        if not 0 < product_l < math.inf:
            raise ValueError(f"{product_l:g} L of product; write a volume over 0")
        return product_l
    if percent is None:
        raise ValueError(
            "say how much product: percent of the tank, or a measured volume (or herbicide and "
            "use, for the handbook's recipe)"
        )
    return tank_l * percent / 100.0
