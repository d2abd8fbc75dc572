"""Areas of the local grid agree with the geodesic, anywhere on the globe."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import Geod
from shapely import Polygon

from clearing.land import local_grid, mend_blocks, to_grid

WGS84 = Geod(ellps="WGS84")
ACRE_M2 = 4046.8564224


def blob(seed: int, lon: float | None = None) -> Polygon:
    """Return a random block of 1 to 5,000 acres somewhere between 60 S and 60 N, in degrees."""
    draw = np.random.default_rng(seed)
    lon = draw.uniform(-180, 180) if lon is None else lon
    lat, acres = draw.uniform(-59.9, 59.9), 10 ** draw.uniform(0, np.log10(5000))
    corners = int(draw.integers(4, 41))
    angles = np.sort(draw.uniform(0, 2 * np.pi, corners))
    far = np.sqrt(acres * ACRE_M2 / np.pi) * draw.uniform(0.6, 1.3, corners)
    places = WGS84.fwd(np.full(corners, lon), np.full(corners, lat), np.degrees(angles), far)
    return Polygon(np.column_stack([np.unwrap(np.asarray(places[0]), period=360), places[1]]))


def laid(shape) -> gpd.GeoDataFrame:
    """Return a block in its own grid."""
    layer = gpd.GeoDataFrame({"block_id": ["1"]}, geometry=[shape], crs="EPSG:4326")
    return to_grid(layer, local_grid(layer))


def geodesic_m2(shape) -> float:
    """Return the area by the geodesic (Karney 2013, through pyproj.Geod)."""
    return abs(WGS84.geometry_area_perimeter(shape)[0])


def test_five_hundred_blocks_have_their_geodesic_area():
    """Corners alone, 60 S to 60 N, 1 to 5,000 acres: every one agrees to a millionth."""
    off = []
    for seed in range(500):
        shape = blob(seed)
        off.append(abs(laid(shape).area.iloc[0] / geodesic_m2(shape) - 1))
    assert max(off) < 1e-6


def test_sides_straight_in_degrees_have_their_area_too():
    """Sides cut so short that any line between two points is the same: a millionth again."""
    off = []
    for seed in range(500, 600):
        shape = blob(seed)
        fine = shape.segmentize(shape.length / 2000)
        off.append(abs(laid(fine).area.iloc[0] / geodesic_m2(fine) - 1))
    assert max(off) < 1e-6


def turned(shape: Polygon, degrees: float) -> Polygon:
    """Return a shape with so much added to its longitudes."""
    return shapely.transform(shape, lambda p: p + np.array([degrees, 0.0]))


def wrapped(shape: Polygon) -> Polygon:
    """Return a shape with all longitudes between -180 and 180, as one ring across the seam."""
    return shapely.transform(
        shape, lambda p: np.column_stack([(p[:, 0] + 180) % 360 - 180, p[:, 1]])
    )


def split(shape: Polygon) -> shapely.MultiPolygon:
    """Return a shape past 180 cut at the meridian in two, as RFC 7946 (3.1.9) asks."""
    world = shapely.box(-180, -90, 180, 90)
    halves = [each.intersection(world) for each in (shape, turned(shape, -360))]
    parts = [part for half in halves for part in shapely.get_parts(half)]
    return shapely.MultiPolygon(parts)


@pytest.mark.parametrize("seed", range(12))
def test_a_block_across_the_180th_meridian_is_one_block(seed):
    """Past 180, wrapped to -180, or cut in two: one block in one piece with the right area."""
    shape = blob(seed, lon=180.0)
    shape = turned(shape, 360) if shape.bounds[0] < 0 else shape
    shape = shape.segmentize(shape.length / 2000)
    assert shape.bounds[0] < 180 < shape.bounds[2]
    true = geodesic_m2(shape)
    for drawn in (shape, wrapped(shape), split(shape)):
        mended, _ = mend_blocks(laid(drawn))
        assert mended.area.iloc[0] == pytest.approx(true, rel=1e-6)
        assert len(shapely.get_parts(mended.geometry.iloc[0])) == 1
        assert np.abs(mended.total_bounds).max() < 20_000


def test_the_grid_lies_where_the_block_lies():
    """The grid's middle is the block's: at 180, at Greenwich, and in a field of Tennessee."""
    for shape, lon in (
        (shapely.box(179.98, -17, 180.04, -16.96), "-179.99"),
        (wrapped(shapely.box(179.9, -17, 180.06, -16.96)), "179.98"),
        (shapely.box(-0.02, 51, 0.04, 51.02), "0.01"),
        (shapely.box(-86.92, 35.2, -86.88, 35.22), "-86.9"),
    ):
        layer = gpd.GeoDataFrame(geometry=[shape], crs="EPSG:4326")
        assert f"+lon_0={lon} " in local_grid(layer).srs
