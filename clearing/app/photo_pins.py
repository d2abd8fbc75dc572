"""Try pins on a photo: how it lies, and how far off each pin is, in the owner's words."""

from typing import Any

import numpy as np
import pandas as pd

from clearing.files.pins import parse_place
from clearing.files.tiles import Tiles
from clearing.land import distance_words
from clearing.land.placing import (
    ENOUGH_PINS,
    LEAST_M_A_PX,
    MOST_M_A_PX,
    pin_problems,
    place_photo,
)
from clearing.units import M_PER_FT

LARGEST = 1e7  # pixels of a photo's side, or degrees; own choice

GROSS = 0.1  # of the pins' spread: a typical miss that no phone makes on a farm; own choice


def tried(
    pins: list[Any], tiles: Tiles | None, us: bool
) -> tuple[pd.DataFrame, dict[str, Any]]:  # fmt: skip
    """Return pins as a table, and what the page says of them.

    Parameters
    ----------
    pins : list of dict
        column, row [px]; place (text as a phone shows it) or lat and lng [degrees].
    tiles : Tiles or None
        The photo.
    us : bool
        The owner speaks feet.

    Returns
    -------
    DataFrame
        pin, column_px, row_px, longitude, latitude; only the pins that have a place.
    dict
        problems; placed (whether the photo lies by them); error (words); errors (words a pin);
        wrong (a sentence a pin whose place cannot be read).

    References
    ----------
    own reasoning
    """
    rows, wrong = [], {}
    for number, pin in enumerate(pins[:50], start=1):
        try:
            lon, lat = _place(pin)
            spot = float(pin["column"]), float(pin["row"]), lon, lat
            if not np.isfinite(spot).all() or max(np.abs(spot)) > LARGEST:
                raise ValueError("set it again")
            rows.append((str(number), *spot))
        except (ValueError, KeyError, TypeError, AttributeError) as cause:
            told_so = isinstance(cause, ValueError) and "could not convert" not in str(cause)
            wrong[str(number)] = str(cause) if told_so else "set it again"
    table = pd.DataFrame(
        rows, columns=["pin", "column_px", "row_px", "longitude", "latitude"]
    )  # fmt: skip
    told: dict[str, Any] = {"wrong": wrong, "placed": False, "error": "", "errors": {}}
    if tiles is None:
        return table, told | {"problems": ["there is no photo in the folder"]}
    spots = table[["column_px", "row_px"]].to_numpy(float)
    degrees = table[["longitude", "latitude"]].to_numpy(float)
    names = table["pin"].tolist()
    told["problems"] = pin_problems(spots, degrees, names, us)
    if len(table) < ENOUGH_PINS:
        return table, told
    try:
        placed = place_photo(spots, degrees)
    except ValueError as cause:
        return table, told | {"problems": [*told["problems"], str(cause)]}
    errors = {pin: _said(float(miss), us) for pin, miss in
              zip(names, np.asarray(placed.errors_m), strict=True)}  # fmt: skip
    spread = placed.metres_a_pixel * float(np.linalg.norm(np.ptp(spots, axis=0)))
    sound = LEAST_M_A_PX <= placed.metres_a_pixel <= MOST_M_A_PX
    sound = sound and placed.rms_m < GROSS * spread
    told |= {"placed": bool(sound), "errors": errors, "error": _said(placed.rms_m, us)}
    return table, told


def _said(miss_m: float, us: bool) -> str:
    """Return how far off something is, in the owner's words."""
    least = M_PER_FT if us else 1.0
    if miss_m < least:
        return "less than a foot" if us else "less than a meter"
    return f"about {distance_words(miss_m, us)}"


def _place(pin: dict[str, Any]) -> tuple[float, float]:
    """Return longitude and latitude of a pin."""
    if pin.get("lat") is not None and pin.get("lng") is not None:
        return parse_place(f"{float(pin['lat']):.9f}, {float(pin['lng']):.9f}")
    return parse_place(str(pin.get("place") or "")[:200])
