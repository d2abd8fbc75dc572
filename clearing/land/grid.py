"""The grid in which everything is computed: equal areas, centred on the property."""

import geopandas as gpd
from pyproj import CRS


def local_grid(blocks: gpd.GeoDataFrame) -> CRS:
    """Return a Lambert azimuthal equal-area grid centred on the blocks [m].

    The centre is the middle of the blocks' bounds in degrees, to four places, so that a corner
    moved by a foot does not move the grid. Areas are exact on the ellipsoid; at the size of a
    property distances are true to a few parts in a million.

    Parameters
    ----------
    blocks : GeoDataFrame
        With a stated coordinate system.

    References
    ----------
    snyder_1987
    """
    west, south, east, north = blocks.to_crs("EPSG:4326").total_bounds
    lon, lat = round((west + east) / 2, 4), round((south + north) / 2, 4)
    return CRS.from_proj4(f"+proj=laea +lat_0={lat} +lon_0={lon} +datum=WGS84 +units=m +no_defs")


def to_grid(layer: gpd.GeoDataFrame, grid: CRS) -> gpd.GeoDataFrame:
    """Return a layer in the grid, flat (no heights), its rows and index as they were.

    References
    ----------
    own reasoning
    """
    moved = layer.to_crs(grid)
    return moved.set_geometry(moved.geometry.force_2d())
