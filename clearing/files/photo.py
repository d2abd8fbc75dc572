"""Open the owner's aerial photo, small enough for memory."""

import warnings
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import rasterio
import shapely
from rasterio.enums import Resampling

from clearing.errors import InputError

PHOTO_PIXELS = 4000  # longest side that is read into memory; own choice


def open_photo(path: Path, longest: int = PHOTO_PIXELS) -> tuple[np.ndarray, Any, Any]:
    """Return the photo as red, green, blue, small enough for memory.

    Parameters
    ----------
    path : Path
        A georeferenced GeoTIFF.
    longest : int
        Longest side that is read [px].

    Returns
    -------
    array (height, width, 3) of uint8
    affine transform of that array
    coordinate system

    Raises
    ------
    InputError
        The file is no GeoTIFF, or has no georeference.

    References
    ----------
    own reasoning
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
            source = rasterio.open(path, driver="GTiff")
        with source:
            if source.crs is None:
                raise InputError([f"{path.name} says no coordinate system; save it as a GeoTIFF "
                                  "with one"], path.name)  # fmt: skip
            if source.transform.is_identity:
                raise InputError([f"{path.name} does not say where it lies; save it as a GeoTIFF "
                                  "with its corner and pixel size"], path.name)  # fmt: skip
            shrink = max(1.0, max(source.width, source.height) / longest)
            sides = (source.height / shrink, source.width / shrink)
            shape = (max(1, round(sides[0])), max(1, round(sides[1])))
            bands = [1, 2, 3] if source.count >= 3 else [1, 1, 1]
            pixels = source.read(bands, out_shape=(3, *shape), resampling=Resampling.average)
            x, y = source.width / shape[1], source.height / shape[0]
            own = source.transform
            transform = rasterio.Affine(own.a * x, own.b * y, own.c, own.d * x, own.e * y, own.f)
            crs = source.crs
    except rasterio.errors.RasterioIOError as cause:
        raise InputError([f"{path.name} is no GeoTIFF that can be read"], path.name) from cause
    if pixels.dtype != np.uint8:
        top = float(np.percentile(pixels, 99.5)) or 1.0
        pixels = np.clip(pixels.astype(float) / top * 255, 0, 255).astype(np.uint8)
    return np.moveaxis(pixels, 0, -1), transform, crs


def photo_problems(path: Path) -> list[str]:
    """Return what is wrong with the photo, empty when there is none or it opens.

    References
    ----------
    own reasoning
    """
    if not path.exists():
        return []
    try:
        open_photo(path, 64)
    except InputError as found:
        return found.problems
    return []


def photo_outline(path: Path) -> gpd.GeoSeries | None:
    """Return the outline of the photo in its own system, by its file name; none when it has none.

    References
    ----------
    own reasoning
    """
    if not path.exists() or photo_problems(path):
        return None
    with rasterio.open(path, driver="GTiff") as source:
        wide, high, corner = source.width, source.height, source.transform
        ring = [corner * spot for spot in ((0, 0), (wide, 0), (wide, high), (0, high))]
        return gpd.GeoSeries([shapely.Polygon(ring)], index=[path.name], crs=source.crs.to_wkt())
