"""Split an area along a drawn line, and join two that lie side by side."""

from collections.abc import Mapping

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from clearing.land.noding import EXACT_M, corners_of, given_corners, made_equal, with_corners
from clearing.land.overlay import areas_of

SNAP_M = 0.5  # a line this near a corner goes through it; own choice
END_M = 15.0  # a line that ends this near the edge is drawn on to it; own choice
SLIVER_M2 = 10.0  # a smaller piece is a slip of the hand; own choice
JOIN_GAP_M = 2.0  # two areas no further apart than this can be joined; own choice
STRAIGHT_M = 1e-6  # a corner that lies this near the line of its neighbours is on it: rounding
Shapes = Mapping[str, BaseGeometry]


def split_area(
    shape: BaseGeometry, line: BaseGeometry, name: str = "", word: str = "block"
) -> list[BaseGeometry]:
    """Return the pieces of an area along a drawn line, the largest first.

    An end of the line that stops short of the edge by `END_M` or less is drawn on along its last
    leg. New corners are the same to the bit in all pieces. Parts of an area in several parts that
    the line does not touch stay with the largest piece.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        In the grid [m].
    line : LineString
    name, word : str
        What the area is called, for the sentences.

    Raises
    ------
    ValueError
        With a sentence: the line does not cross it, ends inside, or cuts off a sliver.

    References
    ----------
    own reasoning
    """
    what = f"{word} {name}".strip()
    if line.geom_type != "LineString" or line.is_empty or line.length == 0:
        raise ValueError(f"the line over {what} has no length; draw it from edge to edge")
    line = _drawn_on(line, shape)
    corners = shapely.MultiPoint(shapely.get_coordinates(shape))
    line = shapely.snap(line, corners, SNAP_M)
    touched, rest = [], []
    for part in shapely.get_parts(shape):
        pieces = _faces(part, line)
        if len(pieces) > 1:
            touched += pieces
        else:
            rest.append(part)
    if not touched:
        inside = shapely.intersection(line, shape).length
        if inside > SNAP_M:
            raise ValueError(
                f"the line ends inside {what}; draw it on to the edge on the other side"
            )
        raise ValueError(f"the line does not cross {what}; draw it from edge to edge")
    if min(piece.area for piece in touched) < SLIVER_M2:
        raise ValueError(
            f"the line cuts off a sliver of {what}; draw it further from the corner or edge"
        )
    pieces = sorted(touched, key=lambda piece: (-piece.area, *piece.bounds))
    if rest:
        pieces[0] = shapely.MultiPolygon([pieces[0], *rest])
    return pieces


def split_in_layer(
    name: str, line: BaseGeometry, layer: Shapes, word: str = "block"
) -> tuple[list[BaseGeometry], dict[str, BaseGeometry]]:
    """Return the pieces of one area of a layer, and the neighbours that got its new corners.

    Raises
    ------
    ValueError
        As `split_area`.

    References
    ----------
    own reasoning
    """
    pieces = split_area(layer[name], line, name, word)
    rest = {other: shape for other, shape in layer.items() if other != name}
    return pieces, given_corners(rest, shapely.geometrycollections(pieces))


def join_areas(
    one: BaseGeometry, two: BaseGeometry, names: tuple[str, str] = ("", ""), word: str = "block"
) -> BaseGeometry:
    """Return two areas that lie side by side as one; a gap of up to `JOIN_GAP_M` is filled.

    A corner that both had and that lies on a straight line afterwards is left out.

    Raises
    ------
    ValueError
        With a sentence, when they do not lie side by side.

    References
    ----------
    own reasoning
    """
    return _joined(one, two, names, word, [])


def join_in_layer(
    one: str, two: str, layer: Shapes, word: str = "block"
) -> tuple[BaseGeometry, dict[str, BaseGeometry]]:
    """Return two areas of a layer as one, and the neighbours that got its new corners.

    Corners that neighbours have there too stay.

    Raises
    ------
    ValueError
        As `join_areas`.

    References
    ----------
    own reasoning
    """
    both = shapely.union_all(areas_of(np.array([layer[one], layer[two]], dtype=object)))
    near = {
        name: shape for name, shape in layer.items()
        if name not in (one, two) and shapely.dwithin(shape, both, JOIN_GAP_M)
    }  # fmt: skip
    whole = _joined(layer[one], layer[two], (one, two), word, list(near.values()))
    return whole, given_corners(near, whole)


def _faces(part: BaseGeometry, line: BaseGeometry) -> list[BaseGeometry]:
    """Return the pieces into which a line cuts one polygon."""
    edges = shapely.union_all(np.array([part.boundary, line], dtype=object))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(edges)))
    inside = shapely.covers(part, shapely.point_on_surface(faces))
    return list(faces[inside])


def _drawn_on(line: BaseGeometry, shape: BaseGeometry) -> BaseGeometry:
    """Return a line whose ends, where they stop a little short, reach over the edge."""
    points = shapely.get_coordinates(line)
    keep = np.ones(len(points), dtype=bool)
    keep[1:] = (np.diff(points, axis=0) != 0).any(axis=1)
    points = points[keep]
    for _ in range(2):
        end, before = points[-1], points[-2]
        if shapely.covers(shape, shapely.Point(end)):
            way = (end - before) / np.hypot(*(end - before))
            reach = shapely.LineString([end, end + END_M * way])
            hit = shapely.intersection(reach, shape.boundary)
            if not hit.is_empty:
                far = shapely.distance(shapely.Point(end), hit) + SNAP_M
                points = np.vstack([points, end + far * way])
        points = points[::-1]
    return shapely.LineString(points)


def _joined(
    one: BaseGeometry,
    two: BaseGeometry,
    names: tuple[str, str],
    word: str,
    near: list[BaseGeometry],
) -> BaseGeometry:
    """Return two areas as one, keeping the corners of those near."""
    first, second = areas_of(np.array([one, two], dtype=object))
    first = with_corners(first, corners_of([second]), EXACT_M)
    second = made_equal(with_corners(second, corners_of([first]), EXACT_M), [first])
    whole = shapely.union_all([first, second])
    if _parts(whole) >= _parts(first) + _parts(second):
        first, second = _with_feet(first, second), _with_feet(second, first)
        whole = shapely.union_all([first, second, *_between(first, second, near)])
    if _parts(whole) >= _parts(first) + _parts(second):
        told = " and ".join(f"{word} {name}".strip() for name in names)
        raise ValueError(f"{told} do not touch; only {word}s that lie side by side can be joined")
    both = _bits([first]) & _bits([second])
    joined = made_equal(areas_of(np.array([whole], dtype=object))[0], near)
    return _straightened(joined, both - _bits(near))


def _parts(shape: BaseGeometry) -> int:
    """Return how many parts a shape has."""
    return int(shapely.get_num_geometries(shape))


def _bits(shapes: list[BaseGeometry]) -> set[bytes]:
    """Return the corners of shapes to the bit."""
    return {point.tobytes() for point in corners_of(shapes)}


def _between(one: BaseGeometry, two: BaseGeometry, near: list[BaseGeometry]) -> list[BaseGeometry]:
    """Return the narrow open ground between two areas, none when they lie apart.

    The ground between them is cut into triangles from corner to corner; those that are no wider
    than `JOIN_GAP_M` and lie by both areas are the gap.
    """
    if not shapely.dwithin(one, two, JOIN_GAP_M):
        return []
    both = shapely.union_all([one, two])
    reach = shapely.intersection(
        shapely.buffer(one, JOIN_GAP_M, join_style="mitre"),
        shapely.buffer(two, JOIN_GAP_M, join_style="mitre"),
    )
    found: list[BaseGeometry] = []
    for piece in shapely.get_parts(shapely.difference(shapely.convex_hull(both), both)):
        if piece.geom_type != "Polygon" or not piece.intersects(reach):
            continue
        triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(piece))
        sides = shapely.length(triangles) / 2  # of a narrow one: about its length
        narrow = 2 * shapely.area(triangles) <= JOIN_GAP_M * np.maximum(sides, 1e-12)
        found += list(triangles[narrow & shapely.covers(reach, shapely.centroid(triangles))])
    if found and near:
        taken = shapely.union_all(areas_of(np.array(near, dtype=object)))
        found = [shapely.difference(shapely.union_all(found), taken)]
    return found


def _with_feet(shape: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """Return a shape with a corner where a corner of another lies across a narrow gap."""
    points = shapely.points(corners_of([other]))
    close = points[shapely.dwithin(points, shape.boundary, JOIN_GAP_M)]
    if not len(close):
        return shape
    across = shapely.shortest_line(shape.boundary, close)
    return with_corners(shape, shapely.get_coordinates(across)[::2], EXACT_M)


def _straightened(shape: BaseGeometry, loose: set[bytes]) -> BaseGeometry:
    """Return a shape without those of its corners that may go and lie on a straight line."""
    polygons = []
    for polygon in shapely.get_parts(shape):
        rings = []
        for ring in (polygon.exterior, *polygon.interiors):
            points = shapely.get_coordinates(ring)[:-1]
            k = 0
            while k < len(points) and len(points) > 3:
                before, here, after = points[k - 1], points[k], points[(k + 1) % len(points)]
                away = shapely.distance(shapely.LineString([before, after]), shapely.Point(here))
                if here.tobytes() in loose and away <= STRAIGHT_M:
                    points = np.delete(points, k, axis=0)
                else:
                    k += 1
            rings.append(points)
        polygons.append(shapely.Polygon(rings[0], rings[1:]))
    return polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(polygons)
