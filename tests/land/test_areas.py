"""Areas of the local grid agree with the geodesic."""

import geopandas as gpd
import numpy as np
import pytest
from pyproj import Geod
from shapely import Polygon

from clearing.land import local_grid, to_grid

WGS84 = Geod(ellps="WGS84")


def blob(seed: int) -> Polygon:
    """Return a random block of 1 to 5,000 acres somewhere between 60 S and 60 N, in degrees."""
    draw = np.random.default_rng(seed)
    lon, lat = draw.uniform(-180, 180), draw.uniform(-60, 60)
    radius = np.sqrt(10 ** draw.uniform(0, 3.7) * 4046.86 / np.pi)
    angles = np.sort(draw.uniform(0, 2 * np.pi, 40))
    far = radius * draw.uniform(0.6, 1.3, 40)
    x, y, _ = WGS84.fwd(np.full(40, lon), np.full(40, lat), np.degrees(angles), far)
    return Polygon(np.column_stack([np.unwrap(np.asarray(x), period=360), y]))


@pytest.mark.parametrize("seed", range(40))
def test_grid_area_is_the_geodesic_area(seed):
    """Equal-area grid and geodesic agree to a millionth (Karney, through pyproj.Geod)."""
    shape = blob(seed)
    # sides short enough that straight and geodesic are the same line to a millionth
    fine = shape.segmentize(max(shape.length / 4000, 1e-6))
    layer = gpd.GeoDataFrame({"block_id": ["1"]}, geometry=[fine], crs="EPSG:4326")
    ours = to_grid(layer, local_grid(layer)).area.iloc[0]
    theirs = abs(WGS84.geometry_area_perimeter(fine)[0])
    assert ours == pytest.approx(theirs, rel=1e-6)


def test_a_published_square_kilometre():
    """A 1 km square walked on the ellipsoid has 1e6 m2 (GeographicLib, Planimeter29, read)."""
    lon, lat, corners = -94.0, 30.0, []
    for azimuth in (90, 0, -90, 180):
        corners.append((lon, lat))
        lon, lat, _ = WGS84.fwd(lon, lat, azimuth, 1000.0)
    layer = gpd.GeoDataFrame({"block_id": ["1"]}, geometry=[Polygon(corners)], crs="EPSG:4326")
    assert to_grid(layer, local_grid(layer)).area.iloc[0] == pytest.approx(1e6, rel=2e-4)
