"""Small photos for tests: one bright spot of known place on even ground."""

import math

import numpy as np
import rasterio
from affine import Affine
from PIL import Image
from pyproj import Transformer

WIDE, HIGH = 300, 240
SPOT = (201.0, 87.0)  # column and row of the spot's middle [px]
LON, LAT = -84.5, 38.1
SYSTEMS = {  # coordinate system -> size of a pixel in its units
    "EPSG:32616": 0.5,
    "EPSG:2246": 1.6,  # Kentucky North, US survey feet
    "EPSG:4326": 4e-6,
    "+proj=laea +lat_0=38 +lon_0=-84 +datum=WGS84 +units=m": 0.4,
}


def spotted(dtype: str = "uint8", bands: int = 3, spot: tuple[float, float] = SPOT) -> np.ndarray:
    """Return even ground at a fifth of the range, and a round spot near its top."""
    top = 250 if dtype == "uint8" else 4000
    column, row = np.meshgrid(np.arange(WIDE) + 0.5, np.arange(HIGH) + 0.5)
    near = np.hypot(column - spot[0], row - spot[1]) <= 6
    return np.repeat(np.where(near, top, top // 5)[None].astype(dtype), bands, axis=0)


def upright(crs: str) -> Affine:
    """Return a transform with north up, its corner near LON, LAT."""
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(LON, LAT)
    return Affine(SYSTEMS[crs], 0, x, 0, -SYSTEMS[crs], y)


def write(path, bands: np.ndarray, crs: str = "EPSG:32616", transform=None, **options):
    """Write bands as a GeoTIFF and return its path."""
    count, high, wide = bands.shape
    where = upright(crs) if transform is None else transform
    with rasterio.open(path, "w", driver="GTiff", count=count, height=high, width=wide,
                       dtype=bands.dtype, crs=crs, transform=where,
                       **options) as photo:  # fmt: skip
        photo.write(bands)
    return path


def unplaced(path, bands: np.ndarray):
    """Write bands as a JPEG or PNG without a place and return its path."""
    Image.fromarray(np.moveaxis(bands, 0, -1)).save(path, quality=95)
    return path


def on_map(crs: str, transform: Affine, spot: tuple[float, float], zoom: int):
    """Return where a pixel lies on the map's grid, in map pixels of a zoom level (by pyproj)."""
    to_map = Transformer.from_crs(crs, "EPSG:3857", always_xy=True)
    x, y = to_map.transform(*(transform * spot))
    half, world = math.pi * 6_378_137, 256 * 2**zoom
    return (x + half) / (2 * half) * world, (half - y) / (2 * half) * world


def mosaic(tiles, zoom: int):
    """Return all tiles of a zoom level side by side, and the corner's place in map pixels."""
    west, south, east, north = tiles.bounds
    to_map = Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
    (left, low), (right, high) = to_map.transform(west, south), to_map.transform(east, north)
    half = math.pi * 6_378_137
    side = 2 * half / 2**zoom
    columns = range(int((left + half) / side), int((right + half) / side) + 1)
    rows = range(int((half - high) / side), int((half - low) / side) + 1)
    blank = np.zeros((4, 256, 256), dtype=np.uint8)
    found = [[tiles.pixels(zoom, x, y) for x in columns] for y in rows]
    joined = np.concatenate(
        [np.concatenate([blank if t is None else t for t in row], axis=2) for row in found], axis=1
    )
    return joined, (columns[0] * 256, rows[0] * 256)


def middle_of_spot(pixels: np.ndarray) -> tuple[float, float]:
    """Return column and row of the bright spot's middle."""
    seen = pixels[3] > 0
    bright = np.where(seen, pixels[0].astype(float), 0)
    bright = np.clip(bright - (bright.max() + np.median(bright[seen])) / 2, 0, None)
    row, column = np.indices(bright.shape) + 0.5
    return (bright * column).sum() / bright.sum(), (bright * row).sum() / bright.sum()
