"""Say what is wrong with a shape that another program left: none, another kind, off the globe."""

from functools import lru_cache

import numpy as np
import shapely
from pyproj import CRS, Transformer

AREAS, POINTS = ("Polygon", "MultiPolygon"), ("Point",)
PLAIN = (*AREAS, "Point", "MultiPoint", "LineString", "MultiLineString")
KINDS = {"blocks": AREAS, "strips": AREAS, "keep_trees": POINTS, "plots": POINTS, "features": PLAIN}
TO_DO = {AREAS: "draw its outline", POINTS: "set it on its place"}
SAID = {
    "Point": "a point", "MultiPoint": "several points", "LineString": "a line",
    "MultiLineString": "several lines", "LinearRing": "a line", "Polygon": "an area",
    "MultiPolygon": "several areas", "GeometryCollection": "several kinds of shape at once",
}  # fmt: skip
GLOBE = (180.0, 90.0)


def wrong_with(shape: shapely.Geometry | None, layer: str, crs: CRS, name: str) -> str:
    """Return what is wrong with a shape and what to do, blank where nothing is.

    Parameters
    ----------
    shape : Geometry or None
        In the system of its file.
    layer : str
        One of blocks, strips, keep_trees, features, plots.
    crs : CRS
        The file's system.
    name : str
        What the owner calls it.

    References
    ----------
    own reasoning
    """
    kinds = KINDS[layer]
    todo = TO_DO.get(kinds, "draw it anew")
    if shape is None or shape.is_empty:
        return f"{name} has no shape; {todo}"
    if shape.geom_type not in kinds:
        return f"{name} is drawn as {SAID.get(shape.geom_type, shape.geom_type)}; {todo}"
    corners = shapely.get_coordinates(shape)
    if not np.isfinite(corners).all():
        return f"{name} has a corner that is no number; {todo}"
    if not on_globe(corners, crs):
        return (
            f"{name} lies outside the globe: the file's coordinate system does not fit its "
            f"numbers; set the system, or {todo}"
        )
    return ""


def on_globe(corners: np.ndarray, crs: CRS) -> bool:
    """Return whether all corners (n, 2) of a system are places on the globe.

    References
    ----------
    own reasoning
    """
    degrees = np.column_stack(_way(crs.srs).transform(*corners[:, :2].T))
    return bool(np.isfinite(degrees).all() and (np.abs(degrees) <= GLOBE).all())


@lru_cache(maxsize=16)
def _way(system: str) -> Transformer:
    """Return the way from a system to degrees."""
    return Transformer.from_crs(CRS(system), CRS("EPSG:4326"), always_xy=True)
