"""Mend the outline of one block: crossings, spikes, loops, parts that are slips of the hand."""

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

RING_SHARE = 0.01  # of an outline's area may be lost or gained in mending it; own choice
SPIKE_DEGREES = 1.0  # a corner sharper than this, out and back, is a spike; own choice
SPIKE_WIDTH_M = 0.5  # and a spike is no wider than this; own choice
SLIVER_M2 = 10.0  # a part of a block smaller than this is a slip of the hand; own choice
CROSSED = "its outline crossed or touched itself and was set right"
SAME_M = 1e-5  # parts that lie this near each other are one ground: rounding of coordinates


def mended_ring(shape: BaseGeometry) -> tuple[BaseGeometry, list[tuple[str, float]]]:
    """Return a block's outline mended, and each change with its area.

    An outline that would lose or gain more than `RING_SHARE` of its area comes back as it was.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        In the grid [m].

    Returns
    -------
    Polygon or MultiPolygon
    list of (str, float)
        What was done, and the signed change of the area [m2].

    References
    ----------
    own reasoning
    """
    changes: list[tuple[str, float]] = []
    for words, step in (
        ("repeated corners were taken out", _without_repeats),
        ("a spike was cut off", _without_spikes),
        ("a hole that lies outside its outline was left out", _without_stray_holes),
        (CROSSED, _without_crossings),
        ("parts that touch were joined", _joined),
        ("a part that is a slip of the hand was left out", _without_slivers),
    ):
        new = step(shape)
        if new is shape:
            continue
        changes.append((words, float(new.area - shape.area)))
        shape = new
    return shape, changes


def is_crumb(areas: np.ndarray) -> np.ndarray:
    """Return which parts of a block are slips of the hand, from their areas [m2].

    References
    ----------
    own reasoning
    """
    tiny = areas < min(SLIVER_M2, RING_SHARE * float(areas.sum()))
    return tiny & (areas < areas.max())


def _without_repeats(shape: BaseGeometry) -> BaseGeometry:
    """Return the shape without corners that follow upon themselves (itself when there are none)."""
    new = shapely.remove_repeated_points(shape, 0.0)
    same = shapely.get_num_coordinates(new) == shapely.get_num_coordinates(shape)
    return shape if same or new.is_empty else new


def _without_spikes(shape: BaseGeometry) -> BaseGeometry:
    """Return the shape without narrow spikes out and back (itself when there are none)."""
    polygons, cut = [], False
    for polygon in shapely.get_parts(shape):
        rings = [polygon.exterior, *polygon.interiors]
        smooth = [_blunted(shapely.get_coordinates(ring)[:-1]) for ring in rings]
        cut |= any(len(new) + 1 < len(ring.coords) for new, ring in zip(smooth, rings, strict=True))
        outer, *holes = smooth
        if len(outer) < 3:  # there is no ground in it, which is told elsewhere
            return shape
        polygons.append(shapely.Polygon(outer, [hole for hole in holes if len(hole) >= 3]))
    if not cut:
        return shape
    new = polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)
    return new if _slight(shape, new) else shape


def _blunted(points: np.ndarray) -> np.ndarray:
    """Return a ring's corners (n, 2) without the tips of spikes, not closed."""
    while len(points) > 3:
        back = np.roll(points, 1, axis=0) - points
        on = np.roll(points, -1, axis=0) - points
        long = np.hypot(*back.T), np.hypot(*on.T)
        cross = np.abs(back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0])
        along = (back * on).sum(axis=1)
        sharp = (along > 0) & (cross <= along * np.tan(np.radians(SPIKE_DEGREES)))
        wide = cross / np.maximum(np.maximum(*long), 1e-12)
        tips = np.flatnonzero(sharp & (wide <= SPIKE_WIDTH_M))
        if not len(tips):
            return points
        points = np.delete(points, tips[0], axis=0)
    return points


def _without_stray_holes(shape: BaseGeometry) -> BaseGeometry:
    """Return the shape without holes that lie wholly outside their outline."""
    polygons, stray = [], False
    for polygon in shapely.get_parts(shape):
        outer = shapely.Polygon(polygon.exterior)
        holes = [hole for hole in polygon.interiors
                 if not outer.is_valid or outer.intersects(shapely.Polygon(hole))]  # fmt: skip
        stray |= len(holes) < len(polygon.interiors)
        polygons.append(shapely.Polygon(polygon.exterior, holes))
    if not stray:
        return shape
    new = polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)
    return new if _slight(shape, new) else shape


def _without_crossings(shape: BaseGeometry) -> BaseGeometry:
    """Return a valid shape of nearly the same area (itself when valid or not to be mended)."""
    if shape.is_valid:
        return shape
    new = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    return new if _polygonal(new) and _slight(shape, new) else shape


def _joined(shape: BaseGeometry) -> BaseGeometry:
    """Return a block in parts with those joined that share an edge (itself when none do)."""
    if not shape.is_valid or shape.geom_type != "MultiPolygon" or len(shape.geoms) < 2:
        return shape
    parts = shapely.get_parts(shape)
    near = shapely.STRtree(parts).query(parts, predicate="dwithin", distance=SAME_M)
    if not (near[0] < near[1]).any():
        return shape
    new = shapely.union_all(parts, grid_size=SAME_M)
    fewer = len(shapely.get_parts(new)) < len(parts)
    return new if fewer and _polygonal(new) and _slight(shape, new) else shape


def _without_slivers(shape: BaseGeometry) -> BaseGeometry:
    """Return a block without its tiny parts; its largest part always stays."""
    parts = shapely.get_parts(shape)
    stays = ~is_crumb(shapely.area(parts))
    if stays.all() or not shape.is_valid:
        return shape
    kept = parts[stays]
    return kept[0] if len(kept) == 1 else shapely.MultiPolygon(kept.tolist())


def _slight(old: BaseGeometry, new: BaseGeometry) -> bool:
    """Return whether an outline loses and gains no more area than a slip of the hand."""
    return abs(new.area - old.area) <= RING_SHARE * max(new.area, old.area) and not new.is_empty


def _polygonal(shape: BaseGeometry) -> bool:
    """Return whether a shape is one polygon or several."""
    return shape.geom_type in ("Polygon", "MultiPolygon") and not shape.is_empty
