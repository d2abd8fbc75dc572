"""Give neighbours the same corners along an edge: snap, insert, and make equal to the bit."""

from collections.abc import Callable, Iterable, Mapping

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

EXACT_M = 1e-8  # nearer than this is the same place: rounding of coordinates
Way = Callable[[np.ndarray], np.ndarray]


def corners_of(shapes: Iterable[BaseGeometry]) -> np.ndarray:
    """Return the corners of shapes (n, 2), each once, from west to east.

    References
    ----------
    own reasoning
    """
    points = shapely.get_coordinates(np.array(list(shapes), dtype=object))
    return np.unique(points, axis=0) if len(points) else points


def snapped(shape: BaseGeometry, others: list[BaseGeometry], reach: float) -> BaseGeometry:
    """Return a shape drawn to the corners and edges of others.

    A corner goes to the nearest corner of the others within reach, else to the nearest place on
    their edges; then a corner of theirs that lies as near to an edge of the shape is put into it.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
    others : list of Polygon and MultiPolygon
    reach : float
        How far a corner may move [m].

    References
    ----------
    own reasoning
    """
    near = [other for other in others if shapely.dwithin(shape, other, reach)]
    corners, edges = corners_of(near), _edges_of(near)
    if not len(corners):
        return shape
    moved = _each_ring(shape, lambda ring: _drawn_to(ring, corners, edges, reach))
    return shape if moved.is_empty else with_corners(moved, corners, reach)


def with_corners(shape: BaseGeometry, points: np.ndarray, reach: float) -> BaseGeometry:
    """Return a shape with points put into the edges they lie on (itself when there are none).

    Parameters
    ----------
    shape : Polygon or MultiPolygon
    points : array (n, 2)
    reach : float
        A point further from every edge than this is left out [m].

    References
    ----------
    own reasoning
    """
    west, south, east, north = shapely.bounds(shape)
    low, high = np.array([west, south]) - reach, np.array([east, north]) + reach
    points = points[((points >= low) & (points <= high)).all(axis=1)]
    own = {corner.tobytes() for corner in shapely.get_coordinates(shape)}
    points = np.array([p for p in points if p.tobytes() not in own]).reshape(-1, 2)
    return _filled(shape, points, reach) if len(points) else shape


def _filled(shape: BaseGeometry, points: np.ndarray, reach: float) -> BaseGeometry:
    """Return a shape with each point put into the nearest edge that does not end in it."""
    edges = np.concatenate([_ring_edges(ring) for ring in _rings(shape)])
    away, along = _to_edges(points, edges)
    ends = (points[:, None, None, :] == edges[None, :, :, :]).all(axis=3).any(axis=2)
    away[ends] = np.inf
    nearest = np.argmin(away, axis=1)
    rows = np.arange(len(points))
    share = along[rows, nearest]
    inside = (away[rows, nearest] <= reach) & (share > 0) & (share < 1)
    if not inside.any():
        return shape
    found: dict[int, list[tuple[float, int]]] = {}
    for i in np.flatnonzero(inside):
        found.setdefault(int(nearest[i]), []).append((float(share[i]), int(i)))
    start = 0

    def filled(ring: np.ndarray) -> np.ndarray:
        nonlocal start
        out = []
        for k, corner in enumerate(ring):
            out.append(corner)
            out += [points[i] for _, i in sorted(found.get(start + k, []))]
        start += len(ring)
        return np.array(out)

    return _each_ring(shape, filled)


def made_equal(shape: BaseGeometry, others: list[BaseGeometry]) -> BaseGeometry:
    """Return a shape whose corners and edges have the bits of others where they lie on them.

    References
    ----------
    own reasoning
    """
    near = [other for other in others if shapely.dwithin(shape, other, EXACT_M)]
    corners = corners_of(near)
    if not len(corners):
        return shape
    none = np.empty((0, 2, 2))
    same = _each_ring(shape, lambda ring: _drawn_to(ring, corners, none, EXACT_M))
    if same.is_empty:
        return shape
    same = with_corners(same, corners, EXACT_M)
    pinched = _filled(same, corners_of([same]), EXACT_M)  # where it touches itself
    smooth = _each_ring(pinched, _without_hairs)
    return same if smooth.is_empty else smooth


def given_corners(
    layer: Mapping[str, BaseGeometry], shape: BaseGeometry
) -> dict[str, BaseGeometry]:
    """Return those shapes of a layer that got corners of another into the edges they lie on.

    References
    ----------
    own reasoning
    """
    points, out = corners_of([shape]), {}
    for name, other in layer.items():
        if shapely.dwithin(other, shape, EXACT_M):
            new = with_corners(other, points, EXACT_M)
            if new is not other:
                out[name] = new
    return out


def _drawn_to(ring: np.ndarray, corners: np.ndarray, edges: np.ndarray, reach: float) -> np.ndarray:
    """Return a ring (n, 2) with its corners drawn to corners, else to edges, within reach."""
    out = ring.copy()
    away = np.hypot(*(ring[:, None, :] - corners[None, :, :]).transpose(2, 0, 1))
    nearest = np.argmin(away, axis=1)
    rows = np.arange(len(ring))
    close = away[rows, nearest] <= reach
    out[close] = corners[nearest[close]]
    if len(edges) and not close.all():
        loose = np.flatnonzero(~close)
        to_edge, along = _to_edges(ring[loose], edges)
        best = np.argmin(to_edge, axis=1)
        rows = np.arange(len(loose))
        ok = (to_edge[rows, best] <= reach) & (to_edge[rows, best] > EXACT_M)
        one, two = edges[best[ok], 0], edges[best[ok], 1]
        out[loose[ok]] = one + along[rows, best][ok][:, None] * (two - one)
    return _without_twins(out, close)


def _without_twins(ring: np.ndarray, known: np.ndarray) -> np.ndarray:
    """Return a ring (n, 2) without corners that are the one before; of two the known one stays."""
    apart = np.hypot(*(ring - np.roll(ring, 1, axis=0)).T)
    before = np.roll(known, 1)
    gone = (apart == 0) | ((apart <= EXACT_M) & ~known)
    # the one before goes where only this one is known
    first = (apart > 0) & (apart <= EXACT_M) & known & ~before
    return ring[~(gone | np.roll(first, -1))]


def _without_hairs(ring: np.ndarray) -> np.ndarray:
    """Return a ring (n, 2) without corners from which it goes back the way it came."""
    while len(ring) > 3:
        back, on = np.roll(ring, 1, axis=0) - ring, np.roll(ring, -1, axis=0) - ring
        cross = np.abs(back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0])
        longer = np.maximum(np.hypot(*back.T), np.hypot(*on.T))
        tips = np.flatnonzero(((back * on).sum(axis=1) > 0) & (cross <= EXACT_M * longer))
        if not len(tips):
            break
        ring = np.delete(ring, tips[0], axis=0)
    return ring


def _to_edges(points: np.ndarray, edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return each point's distance to each edge (n, m), and how far along it lies (0 to 1)."""
    start, way = edges[:, 0], edges[:, 1] - edges[:, 0]
    square = np.maximum((way**2).sum(axis=1), 1e-300)
    apart = points[:, None, :] - start[None, :, :]
    along = np.clip((apart * way[None, :, :]).sum(axis=2) / square, 0.0, 1.0)
    foot = start[None, :, :] + along[:, :, None] * way[None, :, :]
    return np.hypot(*(points[:, None, :] - foot).transpose(2, 0, 1)), along


def _edges_of(shapes: list[BaseGeometry]) -> np.ndarray:
    """Return the edges of shapes (m, 2, 2), each once and from its western end."""
    rings = [_ring_edges(ring) for shape in shapes for ring in _rings(shape)]
    if not rings:
        return np.empty((0, 2, 2))
    edges = np.concatenate(rings)
    turn = (edges[:, 0, 0] > edges[:, 1, 0]) | (
        (edges[:, 0, 0] == edges[:, 1, 0]) & (edges[:, 0, 1] > edges[:, 1, 1])
    )
    edges[turn] = edges[turn][:, ::-1]
    return np.unique(edges.reshape(-1, 4), axis=0).reshape(-1, 2, 2)


def _ring_edges(ring: np.ndarray) -> np.ndarray:
    """Return the edges (n, 2, 2) of a ring (n, 2) that is not closed."""
    return np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)


def _rings(shape: BaseGeometry) -> list[np.ndarray]:
    """Return the rings of a shape, not closed, in the order of `_each_ring`."""
    return [
        shapely.get_coordinates(ring)[:-1]
        for polygon in shapely.get_parts(shape)
        for ring in (polygon.exterior, *polygon.interiors)
    ]


def _each_ring(shape: BaseGeometry, way: Way) -> BaseGeometry:
    """Return a shape whose rings went through a function; those that fall to a line are left out.

    The shape itself comes back when nothing changed.
    """
    before = _rings(shape)
    after = [way(ring) for ring in before]
    if all(np.array_equal(one, two) for one, two in zip(before, after, strict=True)):
        return shape
    rings, polygons = iter(after), []
    for polygon in shapely.get_parts(shape):
        outer, *holes = [next(rings) for _ in range(1 + len(polygon.interiors))]
        if len(outer) >= 3:
            polygons.append(shapely.Polygon(outer, [hole for hole in holes if len(hole) >= 3]))
    return polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)
