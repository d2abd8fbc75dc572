"""Corners go into another system and come back as they were, to the bit."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Transformer

from clearing.land.corners import Corners

UTM, DEGREES = "EPSG:32616", "EPSG:4326"
GRID = "+proj=laea +lat_0=36.3337 +lon_0=-85.7478 +datum=WGS84 +units=m"
BOX = shapely.box(612400.07, 4021700.31, 612530.9, 4021811.123)


def places(seed: int, count: int = 200) -> np.ndarray:
    """Return corners on a property in UTM."""
    return np.random.default_rng(seed).random((count, 2)) * 2000 + [612_000, 4_021_000]


@given(st.integers(0, 10**6), st.sampled_from([DEGREES, GRID, "EPSG:2274", "EPSG:3857"]))
def test_there_and_back_is_the_same_to_the_bit(seed, target):
    """Degrees, metres, feet or the web's grid between: the same sixteen bytes come back."""
    points, way = places(seed), Corners(UTM, target)
    assert way.back(way.there(points)).tobytes() == points.tobytes()


def test_the_place_is_that_of_the_reference_library():
    """A corner lands where PROJ puts it, x before y on both sides."""
    points = places(1)
    known = Transformer.from_crs(UTM, DEGREES, always_xy=True).transform(*points.T)
    assert Corners(UTM, DEGREES).there(points) == pytest.approx(np.column_stack(known), abs=1e-12)


@pytest.mark.parametrize(
    "shape",
    [
        BOX,
        BOX.centroid,
        BOX.exterior,
        BOX.boundary,
        shapely.MultiPolygon([BOX, shapely.affinity.translate(BOX, 500, 0)]),
        BOX.difference(BOX.buffer(-20)),
        shapely.GeometryCollection([BOX, BOX.centroid]),
        shapely.Polygon(),
    ],
    ids=lambda shape: shape.geom_type,
)
def test_any_shape_comes_back_as_it_was(shape):
    """Points, lines, areas with holes, several, mixed and empty ones."""
    way = Corners(UTM, DEGREES)
    there = way.there(shape)
    assert there.geom_type == shape.geom_type
    assert way.back(there).equals_exact(shape, 0.0)


def test_an_array_of_shapes_goes_as_one():
    """Missing shapes of a layer stay missing."""
    way = Corners(UTM, GRID)
    shapes = np.array([BOX, None, BOX.centroid], dtype=object)
    there = way.there(shapes)
    assert there[1] is None
    assert [a == b for a, b in zip(way.back(there), shapes, strict=True)] == [True, True, True]


def test_a_new_corner_has_the_same_bits_for_every_shape():
    """Two neighbours that got one new corner share it in the file, and when they come again."""
    way = Corners(UTM, GRID)
    way.there(BOX)
    new = np.array([[12.3456789, -45.678]])
    first, second = way.back(new), way.back(new.copy())
    assert first.tobytes() == second.tobytes()
    assert way.there(first).tobytes() == new.tobytes()


def test_two_corners_that_fall_on_one_are_told_apart():
    """Where the other system is too coarse to part two corners, both come back as they were."""
    x = 179.99999999999997
    points = np.array([[x, 1e-300], [x, 2e-300], [x, 0.0]])  # apart in degrees, one in metres
    way = Corners(DEGREES, "EPSG:3857")
    assert len(np.unique(way.there(points), axis=0)) == 3
    assert way.back(way.there(points)).tobytes() == points.tobytes()


def test_one_system_is_left_as_it_is():
    """Nothing is computed where nothing is asked."""
    assert Corners(UTM, UTM).there(BOX) is BOX
    assert Corners(UTM, "EPSG:32616").back(BOX) is BOX
