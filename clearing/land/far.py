"""Name what lies too far off to belong to one property: a wrong coordinate system shows here."""

import geopandas as gpd
import numpy as np
import shapely
from pyproj import Geod

from clearing.land.words import distance_words
from clearing.tables import name_list

FROM_PHOTO_M = 60_000.0  # further from the photo's edge than this is no block on it; own choice
APART_M = 100_000.0  # blocks further apart are no property of two people; own choice
WGS84 = Geod(ellps="WGS84")
Place = tuple[float, float]


def corner_places(layer: gpd.GeoDataFrame) -> np.ndarray:
    """Return where the first corner of each shape lies, as (longitude, latitude) [degrees].

    References
    ----------
    own reasoning
    """
    shapes = layer.geometry.to_numpy()
    points, owner = shapely.get_coordinates(shapes, return_index=True)
    first = points[np.unique(owner, return_index=True)[1]]
    degrees = gpd.GeoSeries(shapely.points(first), crs=layer.crs).to_crs("EPSG:4326")
    return shapely.get_coordinates(degrees.to_numpy())


def middle_place(places: np.ndarray) -> int:
    """Return which of the places is nearest to their middle (on the sphere, by the median).

    References
    ----------
    own reasoning
    """
    lon, lat = np.radians(places.T)
    points = np.column_stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)])
    return int(np.argmax(points @ np.median(points, axis=0)))


def far_from(places: np.ndarray, centre: Place) -> np.ndarray:
    """Return how far each place lies from a centre, along the ellipsoid [m].

    References
    ----------
    own reasoning
    """
    lon, lat = np.full(len(places), centre[0]), np.full(len(places), centre[1])
    return np.asarray(WGS84.inv(lon, lat, places[:, 0], places[:, 1])[2])


def blocks_apart(ids: list[str], places: np.ndarray, us: bool) -> list[str]:
    """Return a sentence for each block that lies far from the others.

    References
    ----------
    own reasoning
    """
    home = middle_place(places)
    away = far_from(places, tuple(places[home]))
    return [
        f"blocks: block {ids[i]} lies {distance_words(away[i], us)} from block {ids[home]}; check "
        f"its corners and the coordinate system of blocks (up to {distance_words(APART_M, us)} is "
        "one property)"
        for i in np.flatnonzero(away > APART_M)
    ]


def blocks_off_photo(
    ids: list[str], places: np.ndarray, photo: gpd.GeoSeries, us: bool
) -> list[str]:
    """Return a sentence when blocks lie far outside the photo.

    Parameters
    ----------
    ids : list of str
        Names of the blocks.
    places : array (n, 2)
        As `corner_places` gives them.
    photo : GeoSeries
        The photo's outline in its own system, indexed by its file name.
    us : bool
        Speak miles (else kilometres).

    References
    ----------
    own reasoning
    """
    outline = photo.iloc[0]
    spots = np.array([outline.centroid.coords[0], *outline.exterior.coords])
    degrees = gpd.GeoSeries(shapely.points(spots), crs=photo.crs).to_crs("EPSG:4326")
    centre, *corners = shapely.get_coordinates(degrees.to_numpy())
    reach = far_from(np.array(corners), tuple(centre)).max()
    name = photo.index[0]
    if not np.isfinite(reach):
        return [f"{name} lies outside the world; check its coordinate system"]
    away = far_from(places, tuple(centre)) - reach
    off = np.flatnonzero(away > FROM_PHOTO_M)
    if not len(off):
        return []
    verb = "lies" if len(off) == 1 else "lie"
    far = distance_words(float(away[off].min()), us)
    return [
        f"blocks: block {name_list(ids[i] for i in off)} {verb} {far} from the photo {name}; check "
        f"the coordinate system of blocks (up to {distance_words(FROM_PHOTO_M, us)} passes)"
    ]


def layer_astray(name: str, layer: gpd.GeoDataFrame, home: Place, us: bool) -> list[str]:
    """Return a sentence when shapes of a layer lie far from the blocks.

    References
    ----------
    own reasoning
    """
    away = far_from(corner_places(layer), home)
    astray = int((away > APART_M + FROM_PHOTO_M).sum())
    if not astray and np.isfinite(away).all():
        return []
    if not np.isfinite(away).all():
        return [f"{name}: the shapes lie outside the world; check their coordinate system"]
    far = distance_words(float(away.max()), us)
    verb = "lies" if astray == 1 else "lie"
    count = f"{astray} of {len(layer)} shapes" if len(layer) > 1 else "the shape"
    return [f"{name}: {count} {verb} {far} from the blocks; check the coordinate system of {name}"]
