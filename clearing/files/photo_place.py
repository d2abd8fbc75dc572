"""Say where a photo lies: by what its file says, else by the pins beside it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from pyproj import Transformer
from pyproj.exceptions import ProjError
from rasterio.transform import from_gcps

from clearing.files.pins import read_pins
from clearing.land.placing import ENOUGH_PINS, Placed, place_photo
from clearing.tables import name_list

FARTHEST_NORTH = 85.0  # where the web map's square ends, a little over 85 degrees
EDGE_POINTS = 33  # points an edge of the photo is followed by; own choice
FINEST_M = 1e-4  # a pixel smaller than this is none: the place has no area; own choice
WIDEST_DEGREES = 20.0  # a photo over more than this is none of a property; own choice


@dataclass(frozen=True)
class Place:
    """Where a photo lies.

    Attributes
    ----------
    transform : Affine
        From column and row to the coordinate system.
    crs : rasterio CRS
        The coordinate system.
    placed : Placed or None
        How the pins lay it, where it lies by pins.
    """

    transform: rasterio.Affine
    crs: Any
    placed: Placed | None = None


def place_of(source: Any, path: Path) -> tuple[Place | None, str]:
    """Return where a photo lies and an empty text, else nothing and the reason.

    What the file says goes first: a transform, else points of known place; else the pins beside
    it, from three on.

    Parameters
    ----------
    source : rasterio dataset
        Open for reading.
    path : Path
        Its file; the pins lie beside it.

    References
    ----------
    own reasoning
    """
    points, system = source.gcps
    lies = not source.transform.is_identity and source.transform.determinant != 0
    size = (source.width, source.height)
    if lies and _of_the_earth(source.crs):
        return _believed(Place(source.transform, source.crs), size, path.name)
    if len(points) >= ENOUGH_PINS and _of_the_earth(system):
        fitted = from_gcps(points)
        if fitted.determinant != 0:
            return _believed(Place(fitted, system), size, path.name)
    said = "says no coordinate system" if lies else "does not say where it lies"
    pins = read_pins(path.parent)
    if pins.empty:
        return None, (
            f"{path.name} {said}, so it has no place yet; pin it with 'clearing draw', or save it "
            "as a GeoTIFF with its coordinate system, corner and pixel size"
        )
    strange = (pins["column_px"] > source.width) | (pins["row_px"] > source.height)
    if strange.any():
        return None, (
            f"{path.name} has no place yet: pin {name_list(pins['pin'][strange])} lies outside the "
            f"photo of {source.width:,} x {source.height:,} px; set the pins anew for this photo"
        )
    if len(pins) < ENOUGH_PINS:
        return None, (f"{path.name} has {len(pins)} of {ENOUGH_PINS} pins, so it has no place yet; "
                      "set the others with 'clearing draw'")  # fmt: skip
    try:
        placed = placed_by(pins)
    except ValueError as wrong:
        return None, f"{path.name} has no place yet: {wrong}"
    crs = rasterio.crs.CRS.from_wkt(placed.crs)
    return _believed(Place(rasterio.Affine(*placed.coefficients), crs, placed), size, path.name)


def placed_by(pins: Any) -> Placed:
    """Return how pins lay a photo.

    Parameters
    ----------
    pins : DataFrame
        As `read_pins` gives them.

    Raises
    ------
    ValueError
        They do not place it.

    References
    ----------
    own reasoning
    """
    pixels, degrees = ["column_px", "row_px"], ["longitude", "latitude"]
    return place_photo(pins[pixels].to_numpy(), pins[degrees].to_numpy())


def laid(place: Place, crs: str, columns: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Return where pixels of a photo lie in another system, shape (2, n); endless where nowhere.

    Parameters
    ----------
    place : Place
        Where the photo lies.
    crs : str
        The other system.
    columns, rows : ndarray, shape (n,)
        Pixels, from the photo's upper left corner.

    References
    ----------
    own reasoning
    """
    own = place.transform
    x, y = own.a * columns + own.b * rows + own.c, own.d * columns + own.e * rows + own.f
    try:
        moving = Transformer.from_crs(place.crs.to_wkt(), crs, always_xy=True)
        return np.array(moving.transform(x, y))
    except (ProjError, rasterio.errors.CRSError):
        return np.full((2, len(x)), np.inf)


def around(wide: int, high: int) -> tuple[np.ndarray, np.ndarray]:
    """Return columns and rows of points around a photo's edge.

    References
    ----------
    own reasoning
    """
    share = np.linspace(0, 1, EDGE_POINTS)
    none, all_ = np.zeros(EDGE_POINTS), np.ones(EDGE_POINTS)
    columns = np.concatenate([share, all_, share, none]) * wide
    return columns, np.concatenate([none, share, all_, share]) * high


def map_metres(place: Place, size: tuple[int, int]) -> float:
    """Return the web map's metres a pixel in the middle of a photo; none where it is no area.

    Parameters
    ----------
    place : Place
        Where the photo lies.
    size : (width, height)
        Of the photo [px].

    References
    ----------
    own reasoning
    """
    wide, high = size
    columns = np.array([wide / 4, 3 * wide / 4, wide / 2, wide / 2])
    rows = np.array([high / 2, high / 2, high / 4, 3 * high / 4])
    x, y = laid(place, "EPSG:3857", columns, rows)
    if not np.isfinite([x, y]).all():
        return 0.0
    across = (x[1] - x[0], y[1] - y[0])
    down = (x[3] - x[2], y[3] - y[2])
    return float(np.sqrt(abs(across[0] * down[1] - across[1] * down[0]) / (wide * high / 4)))


def _of_the_earth(crs: Any) -> bool:
    """Return whether a coordinate system says where on the earth it is."""
    return crs is not None and bool(crs.is_geographic or crs.is_projected)


def _believed(place: Place, size: tuple[int, int], name: str) -> tuple[Place | None, str]:
    """Return a place and an empty text, or nothing and a sentence when no ground lies there."""
    lon, lat = laid(place, "EPSG:4326", *around(*size))
    there = bool(np.isfinite([lon, lat]).all()) and bool(np.abs(lat).max() < FARTHEST_NORTH)
    there = there and bool(np.abs(lon).max() <= 180 and map_metres(place, size) >= FINEST_M)
    if there and max(np.ptp(lon), np.ptp(lat)) < WIDEST_DEGREES:
        return place, ""
    return None, (
        f"{name} has no place yet: by what it says it lies nowhere on the earth, or over too much "
        "of it; save it with the right coordinate system, or without one and pin it"
    )
