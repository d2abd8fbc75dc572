"""The grid in which everything is computed: equal areas, centred on the property."""

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS


def local_grid(blocks: gpd.GeoDataFrame) -> CRS:
    """Return a Lambert azimuthal equal-area grid centred on the blocks [m].

    The centre is the middle of the blocks' bounds in degrees, to four places, so that a corner
    moved by a foot does not move the grid. Areas are exact on the ellipsoid; at the size of a
    property distances are true to a few parts in a million. A property across the 180th meridian
    has its centre there, not on the other side of the world.

    Parameters
    ----------
    blocks : GeoDataFrame
        With a stated coordinate system.

    References
    ----------
    snyder_1987
    """
    degrees = blocks.geometry.to_crs("EPSG:4326")
    _, south, _, north = degrees.total_bounds
    west, east = lon_bounds(degrees)
    middle = (west + east) / 2
    middle = middle - 360.0 if middle > 180.0 else middle
    lon, lat = round(middle, 4), round((south + north) / 2, 4)
    return CRS.from_proj4(f"+proj=laea +lat_0={lat} +lon_0={lon} +datum=WGS84 +units=m +no_defs")


def lon_bounds(degrees: gpd.GeoSeries) -> tuple[float, float]:
    """Return the western and eastern end of shapes in degrees, the short way round the globe.

    The eastern end may pass 180: corners at 179.99 and -179.99 lie 0.02 degrees apart.

    References
    ----------
    own reasoning
    """
    lon = shapely.get_coordinates(degrees.to_numpy())[:, 0]
    if not len(lon) or not np.isfinite(lon).all():
        return float("nan"), float("nan")
    if np.ptp(lon) > 180.0:
        lon = lon % 360.0
    return float(lon.min()), float(lon.max())


def to_grid(layer: gpd.GeoDataFrame, grid: CRS) -> gpd.GeoDataFrame:
    """Return a layer in the grid, flat (no heights), its rows and index as they were.

    References
    ----------
    own reasoning
    """
    moved = layer.to_crs(grid)
    return moved.set_geometry(moved.geometry.force_2d())
