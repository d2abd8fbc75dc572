"""Paint the sample property's aerial photo from its land and trees, as a camera would see it.

A height model of crowns and roofs is lit by one sun: shaded sides and cast shadows follow from it.
All colours and heights here are for the eye only.
"""

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import rasterio
from rasterio.enums import Resampling
from rasterio.transform import Affine, from_origin
from scipy import ndimage

from maker import outline
from maker.brush import Brush, Canopy, noise
from maker.crowns import crowns_of, draw_crowns
from maker.ground import paint_ground
from maker.land import make_land
from maker.sample import Sample
from maker.works import build

PIXEL_M = 0.28
MARGIN_M = 40.0
SUN_AZIMUTH_DEG, SUN_HEIGHT_DEG = 138.0, 47.0  # a morning in late August
SHADOW_LIGHT = np.array([0.44, 0.49, 0.58], np.float32)  # the sky lights shadows a little blue
JPEG_QUALITY = 82


class View(NamedTuple):
    """What the camera sees: the picture's frame."""

    transform: Affine
    shape: tuple[int, int]


def write_photo(sample: Sample, natives: pd.DataFrame, path: Path, seed: int) -> None:
    """Write the photo as a tiled, compressed GeoTIFF with overviews."""
    view = _view()
    picture = paint(sample, natives, view, seed)
    profile = {
        "driver": "GTiff", "width": view.shape[1], "height": view.shape[0], "count": 3,
        "dtype": "uint8", "crs": outline.CRS, "transform": view.transform, "tiled": True,
        "blockxsize": 512, "blockysize": 512, "compress": "jpeg", "photometric": "ycbcr",
        "jpeg_quality": JPEG_QUALITY, "interleave": "pixel",
    }  # fmt: skip
    with rasterio.open(path, "w", **profile) as photo:
        photo.write(np.moveaxis(picture, 2, 0))
    quality = {"JPEG_QUALITY_OVERVIEW": JPEG_QUALITY, "COMPRESS_OVERVIEW": "JPEG",
               "PHOTOMETRIC_OVERVIEW": "YCBCR", "INTERLEAVE_OVERVIEW": "PIXEL"}  # fmt: skip
    with rasterio.Env(**quality), rasterio.open(path, "r+") as photo:
        photo.build_overviews([2, 4, 8], Resampling.average)


def paint(sample: Sample, natives: pd.DataFrame, view: View, seed: int) -> np.ndarray:
    """Return the picture (rows, columns, 3) in bytes."""
    rng = np.random.default_rng([seed, 77])
    brush = Brush(view.transform, view.shape, rng)
    ground = paint_ground(make_land(), brush)
    flat = np.zeros(view.shape, np.float32)
    canopy = Canopy(flat, ground, flat.copy())
    draw_crowns(canopy, crowns_of(sample, natives, brush), brush)
    build(make_land(), brush, canopy)
    lit = _shade(canopy, brush)
    dark = _shadow(canopy.height_m)[..., None]
    colour = canopy.colour * lit[..., None] * (1 - dark * (1 - SHADOW_LIGHT))
    return _expose(colour, rng)


def _view() -> View:
    west, south, east, north = make_land().outer.buffer(MARGIN_M).bounds
    west, north = np.floor(west), np.ceil(north)
    columns, rows = np.ceil([(east - west) / PIXEL_M, (north - south) / PIXEL_M]).astype(int)
    return View(from_origin(west, north, PIXEL_M, PIXEL_M), (int(rows), int(columns)))


def _sun() -> np.ndarray:
    """Return the direction to the sun: columns, rows, up."""
    azimuth, height = np.radians([SUN_AZIMUTH_DEG, SUN_HEIGHT_DEG])
    flat = np.cos(height)
    return np.array([np.sin(azimuth) * flat, -np.cos(azimuth) * flat, np.sin(height)])


def _shade(canopy: Canopy, brush: Brush) -> np.ndarray:
    """Return how bright each pixel is by its slope to the sun, with leaf clumps as small bumps."""
    leaves = noise(brush, 0.5) * 0.20 + noise(brush, 1.1) * 0.34 + noise(brush, 2.4) * 0.30
    hills = noise(brush, 55.0) * 5.5 + noise(brush, 14.0) * 0.22 + 0.03 * leaves
    tall = np.clip(canopy.height_m / 4, 0.15, 1) * canopy.leafy
    crowns = ndimage.gaussian_filter(canopy.height_m, 0.8) * 0.8 + leaves * tall
    return np.where(canopy.height_m > 0, _facing(crowns), _facing(hills)).astype(np.float32)


def _facing(surface: np.ndarray) -> np.ndarray:
    """Return the light on a surface [m]: 1 where it is level, more where it faces the sun."""
    rows, columns = np.gradient(surface, PIXEL_M)
    sun = _sun()
    facing = sun[2] - sun[0] * columns - sun[1] * rows
    facing = facing / np.sqrt(1 + columns**2 + rows**2) / sun[2]
    return np.clip(0.42 + 0.58 * facing, 0.30, 1.42)


def _shadow(height_m: np.ndarray) -> np.ndarray:
    """Return how deep each pixel lies in cast shadow (0 to 1): a march towards the sun."""
    sun = _sun()
    flat = np.hypot(sun[0], sun[1])
    rise = sun[2] / flat * PIXEL_M  # height of the sun's ray gained in a pixel's step
    dark = np.zeros_like(height_m)
    steps = int(height_m.max() / rise) + 1
    for step in range(2, steps, 2):
        over = (round(sun[1] / flat * step), round(sun[0] / flat * step))
        toward = _moved(height_m, over) - step * rise - height_m
        np.maximum(dark, np.clip(toward / 0.8, 0, 1), out=dark)
    return ndimage.gaussian_filter(dark, 0.9)


def _moved(array: np.ndarray, over: tuple[int, int]) -> np.ndarray:
    """Return the array whose pixel holds what stood rows and columns further on."""
    out = np.zeros_like(array)
    rows, columns = array.shape
    down, right = over
    to = np.s_[max(-down, 0) : rows - max(down, 0), max(-right, 0) : columns - max(right, 0)]
    take = np.s_[max(down, 0) : rows - max(-down, 0), max(right, 0) : columns - max(-right, 0)]
    out[to] = array[take]
    return out


def _expose(colour: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return bytes: a little haze and blur of the lens, the grain of the sensor, a soft curve."""
    colour = ndimage.gaussian_filter(colour, (0.55, 0.55, 0))
    grain = rng.normal(0, 1.6, colour.shape[:2]).astype(np.float32)
    colour = colour * 0.95 + np.array([9, 11, 15], np.float32) + grain[..., None]
    bright = np.clip(colour / 255, 0, 1)
    curved = bright**0.93
    return np.round(curved * 255).astype(np.uint8)
