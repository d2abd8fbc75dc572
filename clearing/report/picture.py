"""Turn the aerial photo into one small picture for the map, in the map's own projection."""

import io
import math
from dataclasses import dataclass, field

import numpy as np
from affine import Affine
from PIL import Image
from pyproj import CRS
from rasterio.enums import Resampling
from rasterio.transform import array_bounds
from rasterio.warp import calculate_default_transform, reproject, transform_bounds

from clearing.errors import InputError

WEB_MAP = "EPSG:3857"
LARGEST_PX = 1600  # long side; own choice: sharp on a desk's screen for a place of half a mile
LIMIT_MB = 0.35  # of the photo inside the map's file; own choice: the sample's map stays near 1.3
QUALITY = 56  # by which the size is chosen; own choice: crowns still have their edges
BETTER = (90, 84, 78, 72, 66, 60)  # tried in this order where there is room left
GOOD = 72  # own choice: below it leaves run together, so that it counts as coarser
BYTES_PER_MB = 1_000_000
AS_TEXT = 4 / 3  # a picture inside a page stands there as text, a third larger
TRIES = 16  # each is a quarter smaller in bytes at the least, so that any limit is met
COARSE = (
    "The photo in the map was made coarser so that the file stays small; your own file is finer."
)


@dataclass(frozen=True)
class PhotoPicture:
    """The photo as the map shows it, and where its corners lie."""

    data: bytes = field(metadata={"description": "WebP file"})
    west: float = field(metadata={"description": "Longitude of the left edge [degrees]"})
    south: float = field(metadata={"description": "Latitude of the lower edge [degrees]"})
    east: float = field(metadata={"description": "Longitude of the right edge [degrees]"})
    north: float = field(metadata={"description": "Latitude of the upper edge [degrees]"})
    mime: str = field(default="image/webp", metadata={"description": "Kind of file"})
    note: str = field(
        default="", metadata={"description": "That the limit made it coarser, in words, or blank"}
    )


def photo_picture(
    array: np.ndarray, transform: Affine, crs: object, limit_mb: float | None = None
) -> PhotoPicture:
    """Return the photo reprojected, at most 1600 px long, packed as WebP within a limit.

    First the size is chosen, then the quality, both by trying.

    Parameters
    ----------
    array : ndarray of uint8, shape (rows, columns, 3)
        Red, green, blue.
    transform : Affine
        From pixel to the photo's own coordinates.
    crs : anything pyproj understands
        The photo's coordinate system.
    limit_mb : float or None
        Most that the photo may add to the map's file [MB of 1,000,000 bytes], 0.35 when none.

    Raises
    ------
    InputError
        Not even a picture of one pixel is as small as the limit.

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
    data, coarse = _packed(_picture(np.moveaxis(bands, 0, -1)), limit_mb)
    return PhotoPicture(data, west, south, east, north, note=COARSE if coarse else "")


def _picture(pixels: np.ndarray) -> Image.Image:
    """Return the pixels as a picture; without see-through where every pixel is seen."""
    picture = Image.fromarray(pixels)
    return picture.convert("RGB") if (pixels[..., 3] == 255).all() else picture


def _packed(picture: Image.Image, limit_mb: float | None) -> tuple[bytes, bool]:
    """Return the picture packed within the limit, and whether it had to be made coarser."""
    asked = LIMIT_MB if limit_mb is None else limit_mb
    limit = asked * BYTES_PER_MB / AS_TEXT if math.isfinite(asked) else math.inf
    small, data = picture, _webp(picture, QUALITY)
    for _ in range(TRIES):
        if len(data) <= limit or limit <= 0:
            break
        share = 0.97 * min(0.9, math.sqrt(limit / len(data)))
        size = [max(1, int(side * share)) for side in small.size]
        small = picture.resize((size[0], size[1]), Image.Resampling.LANCZOS)
        data = _webp(small, QUALITY)
    if not 0 < len(data) <= limit:
        found = f"photo of at most {asked:g} MB: no picture is as small as that"
        raise InputError([f"{found}; 0.1 MB and more is of use"], "the photo in the map")
    for quality in BETTER:
        finer = _webp(small, quality)
        if len(finer) <= limit:
            return finer, small is not picture or quality < GOOD
    return data, True


def _webp(picture: Image.Image, quality: int) -> bytes:
    """Return the picture as a WebP file."""
    out = io.BytesIO()
    picture.save(out, "WEBP", quality=quality, method=4)
    return out.getvalue()
