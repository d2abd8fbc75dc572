"""What the photo is painted with: the frame, chance, lumps of noise, soft shapes, layers."""

from typing import NamedTuple

import numpy as np
import shapely
from rasterio.features import rasterize
from rasterio.transform import Affine
from scipy import ndimage

Colour = tuple[int, int, int]


class Brush(NamedTuple):
    """What a painter needs: the frame and a source of chance."""

    transform: Affine
    shape: tuple[int, int]
    rng: np.random.Generator

    @property
    def pixel_m(self) -> float:
        """Return the size of a pixel [m]."""
        return self.transform.a


class Canopy(NamedTuple):
    """What stands above the ground: height [m], colour seen from above, and leafy or not."""

    height_m: np.ndarray
    colour: np.ndarray
    leafy: np.ndarray


def noise(brush: Brush, size_m: float) -> np.ndarray:
    """Return smooth noise of mean 0 and spread 1 with lumps of about this size [m]."""
    step = max(size_m / brush.pixel_m / 3, 1.0)
    shape = [int(n / step) + 5 for n in brush.shape]
    drawn = brush.rng.standard_normal(shape, dtype=np.float32)
    coarse = ndimage.gaussian_filter(drawn, 1.1)
    coarse /= coarse.std()
    if step > 1.0:
        coarse = ndimage.zoom(coarse, step, order=1)
        coarse = ndimage.gaussian_filter(coarse, min(step / 2, 8))
    return coarse[: brush.shape[0], : brush.shape[1]]


def cover(shapes: list[shapely.Geometry], brush: Brush, soft_m: float = 0.25) -> np.ndarray:
    """Return how much of each pixel the shapes cover (0 to 1), with a soft edge."""
    shapes = [shape for shape in shapes if not shape.is_empty]
    if not shapes:
        return np.zeros(brush.shape, np.float32)
    mask = rasterize(shapes, out_shape=brush.shape, transform=brush.transform)
    return ndimage.gaussian_filter(mask.astype(np.float32), soft_m / brush.pixel_m)


def lay(picture: np.ndarray, colour: Colour, share: np.ndarray) -> None:
    """Lay a colour over the picture where the share says so."""
    picture += (np.asarray(colour, np.float32) - picture) * share[..., None]
