"""Turn what a map program or a walked track gives into the shapes that a layer needs."""

from collections.abc import Sequence
from pathlib import Path

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS, Geod, Transformer
from pyproj.exceptions import ProjError

from clearing.land import ENDS_APART
from clearing.land.words import distance_words
from clearing.tables import finite, shortened

OPEN_SHARE = 0.05  # of a line's length may lie between its ends, and it is an outline; own choice
LINES = ("LineString", "MultiLineString", "LinearRing")
WGS84 = Geod(ellps="WGS84")


def flat_shapes(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer without heights, and collections of one kind of shape as that kind.

    References
    ----------
    own reasoning
    """
    shapes = [None if shape is None else _of_one_kind(shape) for shape in layer.geometry]
    flat = gpd.GeoSeries(shapes, index=layer.index, crs=layer.crs)
    return layer.set_geometry(flat)


def closed_lines(
    layer: gpd.GeoDataFrame, word: str, names: Sequence[str], us: bool
) -> tuple[gpd.GeoDataFrame, list[str]]:
    """Return a layer of polygons in which lines that close, or nearly, became outlines.

    Parameters
    ----------
    layer : GeoDataFrame
        With a stated coordinate system; shapes other than lines stay as they are.
    word : str
        What a row is to the owner: block or strip.
    names : sequence of str
        What each row is called.
    us : bool
        Speak feet (else metres).

    Returns
    -------
    GeoDataFrame
        With a column ``ends_apart_m`` when a line was closed: how far its ends lay apart [m].
    list of str
        Lines that lie open, or have too few corners.

    References
    ----------
    own reasoning
    """
    shapes, problems = layer.geometry.to_numpy().copy(), []
    apart = np.full(len(layer), np.nan)
    for i, shape in enumerate(shapes):
        if shape is None or shape.geom_type not in LINES or shape.is_empty or not finite(shape):
            continue
        corners = shapely.get_coordinates(shape)
        if len(np.unique(corners, axis=0)) < 3:
            problems.append(f"{word}s: {word} {names[i]} is a line of {len(corners)} points; an "
                            "outline has three corners or more")  # fmt: skip
            continue
        gap, length = _gap_and_length(shape, layer)
        if not gap <= OPEN_SHARE * length:
            problems.append(
                f"{word}s: {word} {names[i]} is drawn as a line whose ends lie "
                f"{distance_words(gap, us)} apart; bring them together, or draw an area (up to "
                f"{OPEN_SHARE * 100:.0f} % of the line's length is closed)"
            )
            continue
        shapes[i], apart[i] = shapely.Polygon(corners), gap
    out = layer.set_geometry(gpd.GeoSeries(shapes, index=layer.index, crs=layer.crs))
    if np.isfinite(apart).any():
        out[ENDS_APART] = apart
    return out, problems


def single_points(
    shapes: Sequence[shapely.Geometry | None], names: Sequence[str]
) -> tuple[list[shapely.Geometry | None], list[str]]:
    """Return each multi-point of one point as that point, and a sentence for those of several.

    Parameters
    ----------
    shapes : sequence of Geometry
    names : sequence of str
        What each is called.

    References
    ----------
    own reasoning
    """
    out: list[shapely.Geometry | None] = []
    several = []
    for shape, name in zip(shapes, names, strict=True):
        if shape is None or shape.geom_type != "MultiPoint" or shape.is_empty:
            out.append(shape)
            continue
        if len(shape.geoms) > 1:
            several.append(f"{name} is drawn as {len(shape.geoms)} points; draw one")
        out.append(shape.geoms[0])
    return out, several


def no_system(name: str, path: Path, layer: gpd.GeoDataFrame) -> str:
    """Return the sentence for a layer that does not state its coordinate system.

    References
    ----------
    own reasoning
    """
    beside, prj = "", path.with_suffix(".prj").name
    if path.suffix.lower() == ".shp":
        there = any(each.name.lower() == prj.lower() for each in path.parent.iterdir())
        beside = f" ({prj} {'says none that is known' if there else 'is missing'})"
    said = f"{name}: {path.name} does not state its coordinate system{beside}; "
    points = shapely.get_coordinates(layer.geometry.to_numpy())
    points = points[np.isfinite(points).all(axis=1)]
    if len(points) and (np.abs(points) <= (180, 90)).all():
        x, y = points[0]
        return said + (f"the corners look like degrees ({x:.1f}, {y:.1f}); say so by saving with "
                       "EPSG:4326")  # fmt: skip
    return said + (
        "set one when you save the layer: that of the map it was drawn on (for a phone or web "
        "map: EPSG:4326)"
    )


def strange_system(crs: CRS) -> str:
    """Return what is wrong with a coordinate system that gives no place on a map of the earth.

    References
    ----------
    own reasoning
    """
    right = (
        "; save the layer in that of the map it was drawn on (for a phone or web map: EPSG:4326)"
    )
    if not (crs.is_geographic or crs.is_projected):
        kind = crs.type_name.removesuffix(" CRS").lower()
        return f"the coordinate system {shortened(crs.name)!r} ({kind}), which is no map's{right}"
    try:
        Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    except ProjError:
        return f"the coordinate system {shortened(crs.name)!r}, which is not of the earth{right}"
    return ""


def _gap_and_length(shape: shapely.Geometry, layer: gpd.GeoDataFrame) -> tuple[float, float]:
    """Return how much of the way round was not walked, and how much was [m].

    The breaks between the pieces of a track count with the gap between its ends.
    """
    degrees = gpd.GeoSeries([shape], crs=layer.crs).to_crs("EPSG:4326").iloc[0]
    pieces = [shapely.get_coordinates(piece) for piece in shapely.get_parts(degrees)]
    pieces = [piece for piece in pieces if len(piece)]  # a track may hold an empty segment
    walked = sum(float(WGS84.line_length(*piece.T)) for piece in pieces)
    ends = np.array(
        [
            (piece[-1], after[0])
            for piece, after in zip(pieces, [*pieces[1:], pieces[0]], strict=True)
        ]
    )
    gaps = WGS84.inv(ends[:, 0, 0], ends[:, 0, 1], ends[:, 1, 0], ends[:, 1, 1])[2]
    return float(np.sum(gaps)), walked


def _of_one_kind(shape: shapely.Geometry) -> shapely.Geometry:
    """Return a shape without heights; of a collection its areas, else lines, else points."""
    shape = shapely.force_2d(shape)
    if shape.geom_type == "MultiLineString" and len(shape.geoms) == 1:
        return shape.geoms[0]
    if shape.geom_type != "GeometryCollection":
        return shape
    parts, deeper = [shape], True
    while deeper:
        parts = [piece for part in parts for piece in shapely.get_parts(part)]
        deeper = any(part.geom_type == "GeometryCollection" for part in parts)
    for dimension, kind in (
        (2, shapely.MultiPolygon), (1, shapely.MultiLineString), (0, shapely.MultiPoint)
    ):  # fmt: skip
        same = [part for part in parts if shapely.get_dimensions(part) == dimension]
        if same:
            return same[0] if len(same) == 1 else kind(list(shapely.get_parts(same)))
    return shape
