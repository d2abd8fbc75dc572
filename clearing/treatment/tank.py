"""Answer one question at the tank: from what was typed to everything that goes into it."""

import re
from collections.abc import Mapping
from typing import Any

from clearing.treatment import calibration
from clearing.treatment.batches import day_batches
from clearing.treatment.mixing import ML_PER_CUT, ORDER, mix_tank
from clearing.treatment.tank_book import (
    USES,
    Row,
    book_cautions,
    book_value,
    known_herbicide,
    known_species,
    tank_recipes,
)
from clearing.treatment.tank_limits import Tank, ae_lb_per_100_gal
from clearing.treatment.tank_sizes import MEASURED, tank_sizes
from clearing.treatment.tank_warnings import (
    recipe_warnings,
    surfactant_left_out,
    tank_warnings,
)
from clearing.units import HA_PER_ACRE, percent_from, rate_l_ha, share_of_tank_l, volume_l

CAUTIONS = ("label_law", "protect_yourself", "mixing_place", "rinse")
STUMP_MINUTES = "stump_minutes"

Typed = Mapping[str, str | None]


def ask_tank(typed: Typed, us: bool = True) -> dict[str, Any]:
    """Return everything about one tank from what a person typed.

    Parameters
    ----------
    typed : mapping of text
        tank; percent, product, surfactant, dye, herbicide, species, use, ml_per_cut, seconds
        (of one tree, for stumps) where given.
    us : bool
        Sizes of stems in inches and feet.

    Returns
    -------
    dict
        What ``mix_tank`` gives, and herbicide, species, use, carrier, ae_lb_per_100_gal, recipe_id,
        recipe_source, recipes, sizes, sizes_of, sizes_unit, stumps_in_time, cautions.

    Raises
    ------
    ValueError
        Something typed is no volume, percent, herbicide or species, or does not fit together.

    References
    ----------
    own reasoning
    """
    said = {name: text for name, text in typed.items() if text}
    if "tank" not in said:
        raise ValueError("say how large the tank is, such as --tank 0.5gal")
    tank_l, use = volume_l(said["tank"]), _use(said.get("use"))
    herbicide = known_herbicide(said["herbicide"]) if "herbicide" in said else None
    species = known_species(said["species"]) if "species" in said else "any"
    recipes = tank_recipes(use, herbicide, species) if use and herbicide else []
    percent, product_l = _product(typed, recipes)
    by_recipe = percent is None and product_l is None
    recipe = _nearest(recipes, percent, product_l, tank_l)
    ml_per_cut = _ml_per_cut(typed, recipe)
    extras = _extras(typed, tank_l, recipe if by_recipe else None)
    if by_recipe and recipe:
        percent = float(recipe["percent"])
    answer = mix_tank(tank_l, percent, product_l, extras, herbicide, use, ml_per_cut)
    poured, measured = answer["product_l"], product_l is not None
    carrier = _carrier(recipe, answer)
    tank = Tank(tank_l, poured, percent, measured, herbicide, use, ml_per_cut, carrier, us)
    warnings = [*tank_warnings(tank), *recipe_warnings(tank, species)]
    if recipe and not by_recipe and "surfactant" not in said:
        warnings += surfactant_left_out(tank, recipe)
    warnings += _counted_as(said.get("herbicide"), herbicide)
    pace = _over_nought("seconds", said["seconds"]) if "seconds" in said else None
    return answer | {
        "herbicide": herbicide,
        "species": species,
        "use": use,
        "carrier": carrier,
        "order": list(ORDER[carrier or "water"]),
        "ae_lb_per_100_gal": ae_lb_per_100_gal(herbicide, answer["product_percent"]),
        "warnings": warnings,
        **_by_recipe(recipe, recipes, ml_per_cut, tank_l, us),
        "stumps_in_time": stumps_in_time(herbicide, carrier, pace) if use == "stump" else None,
        "cautions": book_cautions(CAUTIONS, herbicide),
    }


def ask_calibration(typed: Typed, us: bool = True) -> dict[str, Any]:
    """Return what a caught volume says of a sprayer, and what a tank then needs.

    Parameters
    ----------
    typed : mapping of text
        calibrate (caught in the time that 340 square feet take); tank, rate (product an acre or a
        hectare) and seconds (the time of the 340 square feet) where given.
    us : bool
        A rate without its ground is an acre's; else a hectare's.

    Raises
    ------
    ValueError
        Something typed is no volume, rate or time, or more product than spray.

    References
    ----------
    calibration_128
    """
    said = {name: text for name, text in typed.items() if text}
    caught = volume_l(said["calibrate"])
    sprayed = calibration.sprayed_l_ha(caught)
    tank_l = volume_l(said["tank"]) if "tank" in said else None
    rate, an_acre = rate_l_ha(said["rate"], us) if "rate" in said else (None, us)
    seconds = _over_nought("seconds", said["seconds"]) if "seconds" in said else None
    product = None
    if rate is not None and tank_l is not None:
        product = calibration.product_in_tank_l(rate, sprayed, tank_l)
    hours = seconds * calibration.PARTS / 3600.0 if seconds else None
    return {
        "caught_l": caught,
        "sprayed_l_ha": sprayed,
        "sprayed_gal_ac": calibration.gallons_an_acre(sprayed),
        "tank_l": tank_l,
        "tank_covers_ha": None if tank_l is None else calibration.tank_covers_ha(tank_l, sprayed),
        "rate_said": said.get("rate"),
        "rate_l_ha": rate,
        "rate_l_per_acre": None if rate is None else rate * HA_PER_ACRE,
        "rate_an_acre": None if rate is None else an_acre,
        "product_l": product,
        "seconds": seconds,
        "hours_per_acre": hours,
        "hours_per_ha": None if hours is None else hours / HA_PER_ACRE,
        "cautions": book_cautions(CAUTIONS, None),
    }


def stumps_in_time(
    herbicide: str | None, carrier: str | None, seconds_per_stem: float | None = None
) -> dict[str, Any] | None:
    """Return how long a stump may wait for this mix, and how many trees that is at a pace.

    Mixes in water count by the shorter of the product's and any product's time.

    Parameters
    ----------
    herbicide, carrier : str or None
        Key of the handbook; water, oil or none.
    seconds_per_stem : float, optional
        One sawyer's time for a tree, its stump wetted [s].

    References
    ----------
    common_practice; the time carries its own source in the handbook
    """
    minutes = book_value("herbicides", herbicide or "any", STUMP_MINUTES)
    in_water = book_value("herbicides", "any", STUMP_MINUTES)
    if minutes is None or in_water is None:
        return None
    minutes = minutes if carrier == "oil" else min(minutes, in_water)
    day = day_batches(seconds_per_stem, minutes, 1, 0) if seconds_per_stem else None
    return {
        "minutes": minutes,
        "seconds_per_stem": seconds_per_stem,
        "stems": day.stems_each if day else None,
        "minutes_each": day.minutes_each if day else None,
        "caution": day.caution if day else "",
    }


def _product(typed: Typed, recipes: list[Row]) -> tuple[float | None, float | None]:
    """Return percent and measured product, as typed; both None when the recipe is to say."""
    percent = percent_from(str(typed["percent"])) if typed.get("percent") else None
    product_l = volume_l(str(typed["product"])) if typed.get("product") else None
    wished = typed.get("herbicide") and typed.get("use")
    if percent is None and product_l is None and wished and not recipes:
        raise ValueError(
            f"the handbook has no recipe for {typed['herbicide']} with --use {typed['use']}; say "
            "how much product by the label: --percent, or --product with a volume"
        )
    return percent, product_l


def _nearest(
    recipes: list[Row], percent: float | None, product_l: float | None, tank_l: float
) -> Row | None:
    """Return the recipe nearest in strength, or the first when no strength was typed."""
    if not recipes:
        return None
    if product_l is not None and tank_l > 0:
        percent = 100.0 * product_l / tank_l
    if percent is None:
        return recipes[0]
    return min(recipes, key=lambda row: abs(float(row["percent"]) - percent))


def _ml_per_cut(typed: Typed, recipe: Row | None) -> float:
    """Return the mix of one cut [ml]: as typed, by the recipe, or 1."""
    if typed.get("ml_per_cut"):
        return _over_nought("ml-per-cut", str(typed["ml_per_cut"]))
    return float(recipe["ml_per_cut"]) if recipe and recipe["ml_per_cut"] else ML_PER_CUT


def _extras(typed: Typed, tank_l: float, recipe: Row | None) -> tuple[float, float]:
    """Return surfactant and dye [l]; a recipe that sets the strength brings its surfactant."""
    surfactant = typed.get("surfactant")
    if surfactant is None:
        surfactant = (recipe["surfactant_percent"] or "0") if recipe else "0"
    return share_of_tank_l(surfactant, tank_l), share_of_tank_l(typed.get("dye") or "0", tank_l)


def _use(text: str | None) -> str | None:
    """Return what a mix is for, as one of the words for it."""
    word = text.strip().lower() if text else None
    if word and word not in USES:
        raise ValueError(f"use {text!r} is not known; write one of {', '.join(USES)}")
    return word


def _carrier(recipe: Row | None, answer: dict[str, Any]) -> str | None:
    """Return water, oil or none (undiluted), by the recipe or the book; None where neither says."""
    undiluted = answer["carrier"] == "none" or recipe is None or recipe["carrier"] == "none"
    return answer["carrier"] if undiluted or recipe is None else recipe["carrier"]


def _counted_as(name: str | None, herbicide: str | None) -> list[str]:
    """Return the strength that is counted with where a name did not say it."""
    strength = ae_lb_per_100_gal(herbicide, 1.0)
    if not name or strength is None or re.search("[0-9]", re.sub("2[^0-9]?4", "", name)):
        return []
    return [
        f"counted as {herbicide}, {strength:g} lb of acid in a gallon of product: look whether "
        "your label says the same"
    ]


def _by_recipe(
    recipe: Row | None, recipes: list[Row], ml_per_cut: float, tank_l: float, us: bool
) -> dict[str, Any]:
    """Return what hangs on the recipe: its id and source, others, stems a tank."""
    if recipe is None:
        return {"recipe_id": None, "recipe_source": None, "recipes": [], "sizes": [],
                "sizes_of": None, "sizes_unit": None}  # fmt: skip
    used = recipe | {"ml_per_cut": str(ml_per_cut)} if recipe["ml_per_cut"] else recipe
    leaves = recipe["dose_kind"] == "cover"
    return {
        "recipe_id": recipe["recipe_id"],
        "recipe_source": f"{recipe['source']}, {recipe['seen']}",
        "recipes": [
            {"recipe_id": row["recipe_id"], "percent": float(row["percent"]),
             "carrier": row["carrier"], "kill": float(row["kill"]),
             "kill_low": float(row["kill_low"]), "kill_high": float(row["kill_high"]),
             "note": row["note"]}
            for row in recipes
        ],
        "sizes": tank_sizes(used, tank_l, us),
        "sizes_of": MEASURED[recipe["dose_kind"]],
        "sizes_unit": ("ft" if us else "m") if leaves else ("in" if us else "cm"),
    }  # fmt: skip


def _over_nought(name: str, text: str) -> float:
    """Return a plain number over 0."""
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0 < value < float("inf"):
        raise ValueError(f"{name} is {text!r}; write a number over 0")
    return value
