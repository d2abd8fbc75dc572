"""Cut one block into pieces near a wished area: at natural lines, then across the long axis."""

import math

import geopandas as gpd
import numpy as np
import shapely

NATURAL = ("water", "fence", "trail", "farm_road", "public_road")  # lines a strip should end at
RIBBONS = ("trail", "farm_road", "public_road")  # drawn as an area they are no strip of their own
WHOLE_UP_TO = 1.5  # a piece up to this many wished areas stays whole; own choice
SLIVER = 0.35  # ground between natural lines below this share of the wish is joined; own choice
SHORT = 0.5  # what a straight cut leaves below this share of the wish is joined; own choice
GAP_M = 3.0  # a line that ends this near to an edge was meant to meet it; own choice
EVEN = 0.05  # a cut whose parts miss whole strips by less is taken at once; own choice
MATCH_M = 1e-7  # corners nearer than this are one corner; own choice


def cut_block(
    shape: shapely.Geometry, features: gpd.GeoDataFrame, wish_m2: float, access: shapely.Point
) -> list[shapely.Geometry]:
    """Return the pieces of one block, nearest to the way in first; together they tile it.

    Each is in one piece, but for scraps of a block in several parts that are too small for a
    strip and lie with the nearest one. Neighbours share their corners exactly.

    Parameters
    ----------
    shape : Polygon or MultiPolygon
        Net ground of the block.
    features : GeoDataFrame
        kind, geometry.
    wish_m2 : float
        Wished area of a piece [m2].
    access : Point
        The way in.

    References
    ----------
    own reasoning
    """
    parts = shapely.get_parts(shape)
    big = shapely.area(parts) >= SLIVER * wish_m2
    if shape.area <= WHOLE_UP_TO * wish_m2 and (len(parts) == 1 or big.sum() < 2):
        return [shape]
    pieces: list[shapely.Geometry] = []
    for cell in _natural_cells(shape, features, wish_m2):
        pieces += _shared_out(cell, wish_m2, access)
    return sorted(fitted(pieces), key=lambda piece: _from_way_in(piece, access))


def _from_way_in(piece: shapely.Geometry, access: shapely.Point) -> tuple[float, ...]:
    """Return the order of a piece: by distance from the way in, then by place."""
    middle = piece.centroid
    return (round(access.distance(middle), 3), round(middle.x, 3), round(middle.y, 3))


def _natural_cells(
    shape: shapely.Geometry, features: gpd.GeoDataFrame, wish_m2: float
) -> list[shapely.Geometry]:
    """Return the block cut at creeks, fences, trails and roads, what is too small joined."""
    here = features[features["kind"].isin(NATURAL) & features.intersects(shape)]
    lines = [*shapely.boundary(here[here.geom_type.str.contains("Polygon")].geometry.to_numpy()),
             *here[here.geom_type.str.contains("Line")].geometry]  # fmt: skip
    if not lines:
        return _joined([*shapely.get_parts(shape)], SLIVER * wish_m2)
    cells = faces_of(shape, [*lines, *_closing(lines, shape)])
    roads = here[here["kind"].isin(RIBBONS)].geometry.to_numpy()
    roads = shapely.union_all(roads[shapely.get_dimensions(roads) == 2])
    ribbon = shapely.contains(roads, shapely.point_on_surface(np.array(cells)))
    return _joined(cells, SLIVER * wish_m2, [*ribbon])


def _closing(lines: list[shapely.Geometry], shape: shapely.Geometry) -> list[shapely.Geometry]:
    """Return short lines from loose ends to the block's edge, where that was nearly met."""
    parts = shapely.get_parts(shapely.line_merge(shapely.union_all(lines)))
    ends = shapely.points(shapely.get_coordinates(shapely.boundary(parts)))
    ends = ends[shapely.contains(shape, ends)]
    gaps = shapely.shortest_line(ends, shape.boundary)
    gaps = gaps[(shapely.length(gaps) > 0) & (shapely.length(gaps) <= GAP_M)]
    stretched = []
    for start, end in shapely.get_coordinates(gaps).reshape(-1, 2, 2):
        stretched.append(shapely.LineString([start, end + (end - start) * 0.01]))
    return stretched


def faces_of(shape: shapely.Geometry, lines: list[shapely.Geometry]) -> list[shapely.Geometry]:
    """Return the faces into which lines cut a shape; a line that ends inside cuts nothing.

    References
    ----------
    own reasoning
    """
    net = shapely.union_all([shape.boundary, *lines])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
    return [*faces[shapely.contains(shape, shapely.point_on_surface(faces))]]


def _shared_out(
    cell: shapely.Geometry, wish_m2: float, access: shapely.Point
) -> list[shapely.Geometry]:
    """Return a cell in pieces near the wish, what falls short joined and shared out anew."""
    if cell.area <= WHOLE_UP_TO * wish_m2:
        return [cell]
    pieces = []
    for part in shapely.get_parts(cell):
        pieces += divided(part, max(1, round(part.area / wish_m2)), access)
    pieces = fitted(pieces)
    for _ in range(2 * len(pieces)):
        small = min(range(len(pieces)), key=lambda i: pieces[i].area)
        if len(pieces) == 1 or pieces[small].area >= SHORT * wish_m2:
            break
        lone = pieces.pop(small)
        shared = _shared_m(lone, pieces)
        room = [
            (-length if length == 0 else piece.area, i)
            for i, (piece, length) in enumerate(zip(pieces, shared, strict=True))
            if length > 0
        ]
        at = min(room)[1] if room else int(np.argmin(shapely.distance(lone, pieces)))
        whole = shapely.union_all([pieces.pop(at), lone])
        halves = [whole]
        if whole.area > WHOLE_UP_TO * wish_m2:
            cut = divided(whole, 2, access)
            halves = cut if min(half.area for half in cut) >= SHORT * wish_m2 else halves
        pieces = fitted([*pieces, *halves])
    return pieces


def divided(shape: shapely.Geometry, number: int, access: shapely.Point) -> list[shapely.Geometry]:
    """Return a polygon cut into parts of about equal area by straight cuts, halving and halving.

    Across the long axis of what is left, unless that would leave scraps and a cut along it, or
    nearer to one end, does not. The end at the way in gets the smaller half of an odd number.

    References
    ----------
    own reasoning
    """
    if number <= 1 or shape.geom_type != "Polygon":
        return [shape]
    unit = shape.area / number
    best, found = math.inf, [shape]
    for turn, share in ((0, number // 2), (0, number - number // 2), (0, 1), (0, number - 1),
                        (1, number // 2), (1, 1), (1, number - 1)):  # fmt: skip
        parts = _halves(shape, turn, share / number, access)
        off = sum(abs(part.area / unit - max(1, round(part.area / unit))) for part in parts)
        if len(parts) > 1 and off < best - EVEN:
            best, found = off, parts
        if best < EVEN:
            break
    if len(found) == 1:
        return found
    return [
        piece for part in found for piece in divided(part, max(1, round(part.area / unit)), access)
    ]


def _halves(
    shape: shapely.Geometry, turn: int, share: float, access: shapely.Point
) -> list[shapely.Geometry]:
    """Return a polygon cut once: across its long axis, or along it (turn 1), from the way in."""
    box = shapely.minimum_rotated_rectangle(shape)
    corners = shapely.get_coordinates(box)
    sides = corners[1:3] - corners[0:2]
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    axis = int(np.argmax(lengths.round(6))) if turn == 0 else int(np.argmin(lengths.round(6)))
    along = sides[axis] / lengths[axis]
    across = np.array([-along[1], along[0]])
    middle = shapely.get_coordinates(box.centroid)[0]
    if float((shapely.get_coordinates(access)[0] - middle) @ along) > 0:
        along = -along
    at = middle + along * _cut_at(shape, along, middle, share)
    reach = across * (lengths.sum() + 1.0)
    return faces_of(shape, [shapely.LineString([at - reach, at + reach])])


def _cut_at(shape: shapely.Geometry, along: np.ndarray, middle: np.ndarray, share: float) -> float:
    """Return where along an axis the wished share of the area lies behind.

    The area behind x is the integral of min(u, x) dv around the outline (Green's theorem).
    """
    xy, at = shapely.get_coordinates(shapely.get_rings(shapely.normalize(shape)), return_index=True)
    same = at[1:] == at[:-1]
    u, v = (xy - middle) @ along, (xy - middle) @ np.array([-along[1], along[0]])
    low_u, high_u = np.minimum(u[:-1], u[1:])[same], np.maximum(u[:-1], u[1:])[same]
    rise = -np.diff(v)[same]  # normalised outlines run clockwise
    wide = np.maximum(high_u - low_u, 1e-300)
    low, high = float(u.min()), float(u.max())
    for _ in range(50):
        x = (low + high) / 2
        part = np.clip((x - low_u) / wide, 0.0, 1.0)
        mean = part * (low_u + np.minimum(x, high_u)) / 2 + (1.0 - part) * x
        mean = np.where(high_u <= x, (low_u + high_u) / 2, mean)
        if float((rise * mean).sum()) < share * shape.area:
            low = x
        else:
            high = x
    return (low + high) / 2


def _shared_m(lone: shapely.Geometry, pieces: list[shapely.Geometry]) -> np.ndarray:
    """Return the length of the edge that a piece shares with each of the others [m]."""
    edge = lone.boundary
    near = shapely.distance(lone, pieces) < MATCH_M
    out = np.zeros(len(pieces))
    for i in np.flatnonzero(near):
        out[i] = edge.intersection(pieces[i].boundary.buffer(0.001)).length
    return np.where(out > 0.02, out, 0.0)


def _joined(
    pieces: list[shapely.Geometry], least_m2: float, ribbon: list[bool] | None = None
) -> list[shapely.Geometry]:
    """Return the pieces, each that is too small or a ribbon joined to its longest neighbour.

    A scrap that touches no other lies with the nearest one.
    """
    pieces = list(pieces)
    lost = list(ribbon) if ribbon else [False] * len(pieces)
    while len(pieces) > 1:
        ask = [0.0 if lost[i] else piece.area for i, piece in enumerate(pieces)]
        small = min(range(len(pieces)), key=lambda i: (ask[i], pieces[i].area))
        if ask[small] >= least_m2:
            break
        lone = pieces.pop(small)
        lost.pop(small)
        shared, far = _shared_m(lone, pieces), shapely.distance(lone, pieces)
        at = min(range(len(pieces)), key=lambda i: (-shared[i], far[i]))
        pieces[at] = shapely.union_all([pieces[at], lone])
        lost[at] = False
    return pieces


def fitted(pieces: list[shapely.Geometry]) -> list[shapely.Geometry]:
    """Return the pieces with every corner of one set into the sides of those it lies on.

    References
    ----------
    own reasoning
    """
    spots, which = np.unique(shapely.get_coordinates(pieces), axis=0, return_inverse=True)
    first, second = shapely.STRtree(shapely.points(spots)).query(
        shapely.points(spots), predicate="dwithin", distance=MATCH_M
    )
    same = np.arange(len(spots))
    np.minimum.at(same, first, second)  # twins that straight cuts made a hair apart
    if (same != np.arange(len(spots))).any():
        moved = shapely.set_coordinates(np.array(pieces, dtype=object), spots[same][which.ravel()])
        pieces = [*shapely.remove_repeated_points(moved)]
    points = shapely.points(spots[np.unique(same)])
    tree = shapely.STRtree(points)
    out = []
    for piece in pieces:
        near = tree.query(piece.boundary, predicate="dwithin", distance=MATCH_M)
        own = np.unique(shapely.get_coordinates(piece), axis=0)
        if len(near) > len(own):
            piece = shapely.snap(piece, shapely.MultiPoint(points[np.sort(near)]), MATCH_M)
        out.append(piece)
    return out
