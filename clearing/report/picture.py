"""Turn the aerial photo into one small picture for the map, in the map's own projection."""

import io
from dataclasses import dataclass, field

import numpy as np
from affine import Affine
from PIL import Image
from pyproj import CRS
from rasterio.enums import Resampling
from rasterio.transform import array_bounds
from rasterio.warp import calculate_default_transform, reproject, transform_bounds

WEB_MAP = "EPSG:3857"
LARGEST_PX = 1600
QUALITY = 72


@dataclass(frozen=True)
class PhotoPicture:
    """The photo as the map shows it, and where its corners lie."""

    data: bytes = field(metadata={"description": "WebP file"})
    west: float = field(metadata={"description": "Longitude of the left edge [degrees]"})
    south: float = field(metadata={"description": "Latitude of the lower edge [degrees]"})
    east: float = field(metadata={"description": "Longitude of the right edge [degrees]"})
    north: float = field(metadata={"description": "Latitude of the upper edge [degrees]"})
    mime: str = field(default="image/webp", metadata={"description": "Kind of file"})


def photo_picture(array: np.ndarray, transform: Affine, crs: object) -> PhotoPicture:
    """Return the photo reprojected, at most 1600 px long, packed as WebP.

    Parameters
    ----------
    array : ndarray of uint8, shape (rows, columns, 3)
        Red, green, blue.
    transform : Affine
        From pixel to the photo's own coordinates.
    crs : anything pyproj understands
        The photo's coordinate system.

    References
    ----------
    own reasoning
    """
    source = CRS.from_user_input(crs).to_wkt()
    rows, columns = array.shape[:2]
    bounds = array_bounds(rows, columns, transform)
    target, width, height = calculate_default_transform(source, WEB_MAP, columns, rows, *bounds)
    shrink = min(1.0, LARGEST_PX / max(width, height))
    width, height = max(1, round(width * shrink)), max(1, round(height * shrink))
    across, down = target.a / shrink, target.e / shrink  # the target grid is not turned
    target = Affine(across, 0.0, target.c, 0.0, down, target.f)
    bands = np.zeros((4, height, width), dtype=np.uint8)
    seen = np.full((rows, columns), 255, dtype=np.uint8)
    for number, band in enumerate([array[..., 0], array[..., 1], array[..., 2], seen]):
        reproject(
            np.ascontiguousarray(band), bands[number], src_transform=transform, src_crs=source,
            dst_transform=target, dst_crs=WEB_MAP,
            resampling=Resampling.average if shrink < 1 else Resampling.bilinear,
        )  # fmt: skip
    bands[3] = np.where(bands[3] > 127, 255, 0)
    corners = array_bounds(height, width, target)
    west, south, east, north = transform_bounds(WEB_MAP, "EPSG:4326", *corners)
    return PhotoPicture(_webp(np.moveaxis(bands, 0, -1)), west, south, east, north)


def _webp(pixels: np.ndarray) -> bytes:
    """Return the pixels as a WebP file; without see-through where every pixel is seen."""
    picture = Image.fromarray(pixels)
    if (pixels[..., 3] == 255).all():
        picture = picture.convert("RGB")
    out = io.BytesIO()
    picture.save(out, "WEBP", quality=QUALITY, method=4)
    return out.getvalue()
