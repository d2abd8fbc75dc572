"""Lay a photo without a place on the ground by pins: a shift, a turn and one scale."""

from collections.abc import Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from clearing.land.grid import local_grid, to_grid
from clearing.land.words import distance_words

ENOUGH_PINS = 3  # from three pins on an error is left to tell
SAME_SPOT_PX, SAME_SPOT_M = 5.0, 1.0  # closer pins mark one spot; own choice
IN_LINE = 0.1  # spread across over spread along under which pins lie in a line; own choice
LEAST_M_A_PX, MOST_M_A_PX = 0.005, 10.0  # no aerial photo is finer or coarser; own choice
OUT_OF_STEP = 3.0  # without the odd pin the others agree this many times better; own choice
TOLERATED_PX, TOLERATED_SHARE = 10.0, 0.02  # misses that a hand may make; own choice


@dataclass(frozen=True, eq=False)
class Placed:
    """How a photo lies on the ground.

    Attributes
    ----------
    coefficients : tuple of six float
        a, b, c, d, e, f: x = a column + b row + c, y = d column + e row + f, in `crs` [m].
        Columns and rows count from the upper left corner of the photo, rows downwards.
    crs : str
        The grid, as text that pyproj understands.
    errors_m : ndarray, shape (n,)
        How far each pin lies from where the photo puts it; nan with two pins, which always fit.
    rms_m : float
        Typical miss of a pin: root of the summed squares over n - 2 (two pins are used up by
        shift, turn and scale); nan with two pins.
    largest_m : float
        The largest of the errors; nan with two pins.
    metres_a_pixel : float
        Ground under one pixel's side.
    turned_deg : float
        Where the photo's upper edge looks, clockwise from north, over -180 to 180.
    """

    coefficients: tuple[float, float, float, float, float, float]
    crs: str
    errors_m: np.ndarray
    rms_m: float
    largest_m: float
    metres_a_pixel: float
    turned_deg: float


def place_photo(pixels: np.ndarray, lonlat: np.ndarray) -> Placed:
    """Return how a photo lies on the ground, by least squares over its pins.

    A similarity: shift, turn and one scale. Two pins fit exactly and leave no error to tell.

    Parameters
    ----------
    pixels : ndarray, shape (n, 2)
        Column and row of each pin in the photo [px], from its upper left corner.
    lonlat : ndarray, shape (n, 2)
        Longitude and latitude of each pin [degrees].

    Raises
    ------
    ValueError
        Fewer than two pins, a number that is none, or all pins at one spot.

    References
    ----------
    grau_2010 (a worked example of such a transformation); own reasoning
    """
    spots, degrees = _pairs(pixels), _pairs(lonlat)
    if len(spots) != len(degrees) or len(spots) < 2:
        raise ValueError("two pins at least are needed to place a photo")
    if not (np.isfinite(spots).all() and np.isfinite(degrees).all()):
        raise ValueError("a pin has no place in the photo or on the ground")
    ground, crs = _in_grid(degrees)
    if np.ptp(spots, axis=0).max() < SAME_SPOT_PX or np.ptp(ground, axis=0).max() < SAME_SPOT_M:
        raise ValueError("the pins lie at one spot; set them far apart")
    coefficients = fit_similarity(spots, ground)
    a, b, _, d, _, _ = coefficients
    misses = np.linalg.norm(moved(coefficients, spots) - ground, axis=1)
    exact = len(spots) == 2
    errors = np.full(2, np.nan) if exact else misses
    typical = float("nan") if exact else float(np.sqrt((misses**2).sum() / (len(spots) - 2)))
    return Placed(
        coefficients=coefficients, crs=crs, errors_m=errors, rms_m=typical,
        largest_m=float(errors.max()), metres_a_pixel=float(np.hypot(a, d)),
        turned_deg=float(np.degrees(np.arctan2(-b, a))),
    )  # fmt: skip


def fit_similarity(
    pixels: np.ndarray, ground: np.ndarray
) -> tuple[float, float, float, float, float, float]:
    """Return a, b, c, d, e, f of the similarity from pixels to a grid with least squares.

    With rows turned upwards the plane is that of complex numbers, and shift, turn and scale are
    one factor and one sum, so that the least squares have a closed form.

    Parameters
    ----------
    pixels : ndarray, shape (n, 2)
        Column and row, rows downwards [px]; not all at one spot.
    ground : ndarray, shape (n, 2)
        x and y [m].

    References
    ----------
    grau_2010 (a worked example of such a transformation); own reasoning
    """
    spots, places = pixels @ np.array([1, -1j]), ground @ np.array([1, 1j])
    middle, target = spots.mean(), places.mean()
    out, there = spots - middle, places - target
    factor = np.vdot(out, there) / np.vdot(out, out)
    shift = target - factor * middle
    return (
        float(factor.real), float(factor.imag), float(shift.real),
        float(factor.imag), float(-factor.real), float(shift.imag),
    )  # fmt: skip


def moved(coefficients: Sequence[float], pixels: np.ndarray) -> np.ndarray:
    """Return where pixels lie in the grid, shape (n, 2) [m].

    References
    ----------
    own reasoning
    """
    a, b, c, d, e, f = coefficients
    column, row = pixels[:, 0], pixels[:, 1]
    return np.column_stack([a * column + b * row + c, d * column + e * row + f])


def pin_problems(
    pixels: np.ndarray, lonlat: np.ndarray, names: Sequence[str], us: bool = True
) -> list[str]:
    """Return what is weak or wrong with pins, a sentence each; none when they place a photo well.

    Parameters
    ----------
    pixels, lonlat : ndarray, shape (n, 2)
        As for `place_photo`.
    names : sequence of str
        What each pin is called.
    us : bool
        Whether the owner speaks feet.

    References
    ----------
    own reasoning
    """
    spots, degrees = _pairs(pixels), _pairs(lonlat)
    if len(spots) < ENOUGH_PINS:
        return [_too_few(len(spots))]
    ground, _ = _in_grid(degrees)
    problems = _one_spot(spots, ground, names)
    if problems:
        return problems
    wide = np.linalg.svd(spots - spots.mean(axis=0), compute_uv=False)
    if wide[1] < IN_LINE * wide[0]:
        problems.append(
            "the pins lie nearly in a line, so that nothing tells how far off the photo is on "
            "either side of it; set one more pin well to the side"
        )
    scale = float(np.hypot(*fit_similarity(spots, ground)[:4:3]))
    if not LEAST_M_A_PX <= scale <= MOST_M_A_PX:
        problems.append(
            f"with these pins a pixel would be {scale:.3g} m wide, and an aerial photo has "
            f"{LEAST_M_A_PX:g} to {MOST_M_A_PX:g} m; look for a slip in the latitudes and "
            "longitudes, or for pins that were exchanged"
        )
    return problems + _out_of_step(spots, ground, names, us)


def _too_few(number: int) -> str:
    """Return the sentence for fewer than three pins."""
    if number == 2:
        return (
            "two pins place the photo and leave nothing to tell how far off it is; set a third one "
            "far from both"
        )
    set_ = "one pin is set" if number else "no pin is set yet"
    return f"{set_}; three that lie far apart place the photo and tell how far off it is"


def _one_spot(spots: np.ndarray, ground: np.ndarray, names: Sequence[str]) -> list[str]:
    """Return a sentence for each two pins that mark one spot in the photo or on the ground."""
    problems = []
    for i in range(len(spots)):
        for j in range(i + 1, len(spots)):
            close = np.linalg.norm(spots[i] - spots[j]) < SAME_SPOT_PX
            near = np.linalg.norm(ground[i] - ground[j]) < SAME_SPOT_M
            if close or near:
                where = "in the photo" if close else "on the ground (the same latitude, longitude)"
                problems.append(
                    f"pin {names[i]} and pin {names[j]} lie at one spot {where}; move one of them "
                    "far away"
                )
    return problems


def _out_of_step(
    spots: np.ndarray, ground: np.ndarray, names: Sequence[str], us: bool
) -> list[str]:
    """Return a sentence when one pin does not agree with the others, or none can be named."""
    everyone = _misses(spots, ground, spots, ground)
    scale = float(np.hypot(*fit_similarity(spots, ground)[:4:3]))
    wide = np.linalg.norm(np.ptp(ground, axis=0))
    tolerated = max(min(TOLERATED_PX * scale, TOLERATED_SHARE * wide), SAME_SPOT_M)
    if everyone.max() <= tolerated:
        return []
    told = distance_words(float(everyone.max()), us)
    if len(spots) == ENOUGH_PINS:
        return [
            f"the three pins do not agree: one lies {told} from where the others put it; look at "
            "each again, or set a fourth, and the odd one can be named"
        ]
    kept = [np.arange(len(spots)) != i for i in range(len(spots))]
    left = [_misses(spots[k], ground[k], spots[k], ground[k]).max() for k in kept]
    odd = int(np.argmin(left))
    if left[odd] * OUT_OF_STEP > everyone.max():
        return [f"the pins do not agree: the worst lies {told} from where the others put it; look "
                "at each again"]  # fmt: skip
    k = kept[odd]
    off = float(_misses(spots[k], ground[k], spots[[odd]], ground[[odd]])[0])
    return [
        f"pin {names[odd]} lies {distance_words(off, us)} from where the other "
        f"{len(spots) - 1} pins put it; set it again or take it out"
    ]


def _misses(
    spots: np.ndarray, ground: np.ndarray, asked: np.ndarray, there: np.ndarray
) -> np.ndarray:
    """Return how far a fit over some pins puts the asked ones from where they lie [m]."""
    return np.linalg.norm(moved(fit_similarity(spots, ground), asked) - there, axis=1)


def _pairs(numbers: np.ndarray) -> np.ndarray:
    """Return numbers as an array of two columns."""
    return np.asarray(numbers, dtype=float).reshape(-1, 2)


def _in_grid(degrees: np.ndarray) -> tuple[np.ndarray, str]:
    """Return places in an equal-area grid centred on them [m], and the grid as text."""
    places = gpd.GeoDataFrame(geometry=shapely.points(degrees), crs="EPSG:4326")
    grid = local_grid(places)
    return shapely.get_coordinates(to_grid(places, grid).geometry.to_numpy()), grid.to_wkt()
