"""Lay areas over each other so that rounding can neither stop it nor leave lines and points."""

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

FINE_M = 1e-6  # grid on which areas are laid over each other; far below what anybody draws


def areas_of(shapes: np.ndarray) -> np.ndarray:
    """Return shapes as valid areas, each for itself; those that are valid as they were.

    References
    ----------
    own reasoning
    """
    return np.array([_areas(shape) for shape in shapes], dtype=object)


def shared(one: BaseGeometry, two: BaseGeometry) -> BaseGeometry:
    """Return the ground that two areas share.

    References
    ----------
    own reasoning
    """
    return _areas(shapely.intersection(_areas(one), _areas(two), grid_size=FINE_M))


def less(one: BaseGeometry, two: BaseGeometry) -> BaseGeometry:
    """Return the ground of one area that is not the other's.

    References
    ----------
    own reasoning
    """
    return _areas(shapely.difference(_areas(one), _areas(two), grid_size=FINE_M))


def ground(shapes: Iterable[BaseGeometry]) -> BaseGeometry:
    """Return the ground of all areas together.

    References
    ----------
    own reasoning
    """
    return _areas(shapely.union_all([_areas(shape) for shape in shapes], grid_size=FINE_M))


def _areas(shape: BaseGeometry) -> BaseGeometry:
    """Return the areas of a shape, without its lines and points, in order."""
    if shape.geom_type not in ("Polygon", "MultiPolygon"):
        parts = shapely.get_parts(shape)
        flat = shapely.get_parts(parts[shapely.get_dimensions(parts) == 2])
        shape = shapely.MultiPolygon(flat.tolist())
    if shape.is_valid:
        return shape
    return _areas(shapely.make_valid(shape, method="structure", keep_collapsed=False))
