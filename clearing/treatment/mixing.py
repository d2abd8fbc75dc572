"""Work out one tank of mix."""

from clearing.rates import Rates, load
from clearing.units import L_PER_FLOZ

AGREE = 0.05  # share by which percent and measured product may differ before it is said
THIN_PERCENT = 15.0  # at 1 mL a cut, weaker mixes are told what they carry
DEFAULT_PERCENT = 2.0  # the strength that people have in mind for leaf sprays
ML_PER_CUT = 1.0

ORDER = (
    "a third of the carrier",
    "product",
    "surfactant, then oils",
    "dye",
    "the rest of the carrier",
)


def mix_tank(
    tank_l: float,
    percent: float | None = None,
    product_l: float | None = None,
    extras_l: tuple[float, float] = (0.0, 0.0),
    herbicide: str | None = None,
) -> dict[str, object]:
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
        Key of the handbook such as glyphosate_4, for the acid equivalent.

    Returns
    -------
    dict
        tank_l, product_l, product_percent, surfactant_l, dye_l, water_l, ae_kg (None without a
        herbicide), order, warnings.

    Raises
    ------
    ValueError
        Neither percent nor product, a share out of range, or an unknown herbicide.

    References
    ----------
    illinois_bulletin_2006, sdsu_mixing
    """
    if tank_l <= 0:
        raise ValueError(f"the tank holds {tank_l:g} L; write a volume over 0")
    if percent is None and product_l is None:
        raise ValueError("say how much product: percent of the tank, or a measured volume")
    if percent is not None and not 0 < percent <= 100:
        raise ValueError(f"percent is {percent:g}; write a number over 0 and up to 100")
    measured = product_l if product_l is not None else tank_l * float(percent or 0.0) / 100.0
    surfactant, dye = extras_l
    water = tank_l - measured - surfactant - dye
    if measured <= 0 or min(surfactant, dye) < 0 or water < -1e-9:
        raise ValueError(
            f"{measured:.3f} L of product, {surfactant:.3f} L of surfactant and {dye:.3f} L of dye "
            f"do not go into a tank of {tank_l:.3f} L"
        )
    strength = _strength(herbicide, load()) if herbicide else None
    share = 100.0 * measured / tank_l
    return {
        "tank_l": tank_l,
        "product_l": measured,
        "product_percent": share,
        "surfactant_l": surfactant,
        "dye_l": dye,
        "water_l": max(water, 0.0),
        "ae_kg": None if strength is None else measured * strength,
        "order": list(ORDER),
        "warnings": _warnings(tank_l, measured, percent, product_l is not None, herbicide),
    }


def _strength(herbicide: str, rates: Rates) -> float:
    """Return the acid equivalent of a product [kg/l]."""
    rows = rates.figures[rates.figures["item"] == "ae_kg_per_l"]
    if herbicide not in set(rows["subject"]):
        known = ", ".join(sorted(rows["subject"]))
        raise ValueError(f"herbicide {herbicide!r} is not known; write one of {known}")
    return rates.figure(herbicide, "ae_kg_per_l").value


def _warnings(
    tank_l: float, product: float, percent: float | None, measured: bool, herbicide: str | None
) -> list[str]:
    """Return what a person at the tank should know before pouring."""
    share = 100.0 * product / tank_l
    lines = ["the label on the container is the law: follow it where it differs"]
    if measured:
        meant = percent if percent is not None else DEFAULT_PERCENT
        right = meant / 100.0 * tank_l
        if abs(share - meant) > AGREE * meant:
            lines.append(
                f"{_floz(product)} in this tank is {share:.1f} %, not {meant:g} %; "
                f"{meant:g} % of it would be {_floz(right)}"
            )
    if share < THIN_PERCENT:
        lines.append(
            f"this is a strength for leaves: at {ML_PER_CUT:g} mL a cut a {share:.3g} % mix "
            f"carries one part in {100.0 / share:.0f} of what undiluted product does; recipes for "
            "cuts and stumps are mostly 25 to 100 %"
        )
    if herbicide and load().figure(herbicide, "emulsifiable").value > 0:
        lines.append(
            "an ester mixes as an emulsion in water and needs stirring; for bark and stumps the "
            "label says which oil carries it"
        )
    return lines


def _floz(litres: float) -> str:
    return f"{litres / L_PER_FLOZ:.2f} fl oz ({litres * 1000:.0f} mL)"
