"""Walk from the way in to a strip: straight, or round ponds, buildings and crops drawn as areas."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from scipy.sparse.csgraph import shortest_path

WALLS = ("water", "building", "crop")  # drawn as an area nobody walks through
SIMPLER_M = 1.0  # outlines are simplified by this much; own choice
MOST_CORNERS = 150  # outlines with more in all are simplified further; own choice
GRAZE_M = 0.01  # a path may touch an outline; own choice


@dataclass(frozen=True)
class Footing:
    """The walls in the way, the corners that a path can bend at, and the ways between them [m]."""

    walls: np.ndarray
    tree: shapely.STRtree
    corners: np.ndarray
    apart_m: np.ndarray


def walls_in(features: gpd.GeoDataFrame) -> np.ndarray:
    """Return the ground that nobody walks through, piece by piece.

    References
    ----------
    own reasoning
    """
    areas = features[features["kind"].isin(WALLS)].geometry.to_numpy()
    areas = shapely.make_valid(areas[shapely.get_dimensions(areas) == 2])
    if not len(areas):
        return areas
    parts = shapely.get_parts(shapely.union_all(areas))
    return parts[shapely.get_dimensions(parts) == 2]


def footing(walls: np.ndarray) -> Footing:
    """Return the shortest ways between all corners of walls (a visibility graph).

    Parameters
    ----------
    walls : array of Polygon
        Apart from one another, as `walls_in` gives them.

    References
    ----------
    own reasoning
    """
    plain, shrink = walls, np.full(len(walls), GRAZE_M)
    simpler = SIMPLER_M
    while len(walls):
        plain = shapely.simplify(walls, simpler)
        changed = shapely.area(shapely.symmetric_difference(plain, walls)) > GRAZE_M
        shrink = np.where(changed, simpler, GRAZE_M)
        if simpler > 50 or sum(len(_bends(wall)) for wall in plain) <= MOST_CORNERS:
            break
        simpler *= 2
    corners = np.concatenate([np.empty((0, 2)), *(_bends(wall) for wall in plain)])
    inner = shapely.buffer(plain, -shrink, join_style="mitre")
    tree = shapely.STRtree(inner)
    one, two = np.triu_indices(len(corners), 1)
    open_ = _clear(tree, corners[one], corners[two])
    one, two = one[open_], two[open_]
    apart = np.full((len(corners), len(corners)), np.inf)
    apart[one, two] = apart[two, one] = np.hypot(*(corners[one] - corners[two]).T)
    if len(corners):
        apart = shortest_path(apart, directed=False)
    return Footing(walls, tree, corners, apart)


def on_foot(
    start: shapely.Point, shapes: np.ndarray, ground: Footing
) -> tuple[np.ndarray, np.ndarray]:
    """Return the shortest way on foot from a point to each shape [m], and where it gets there.

    Round the walls, except those that hold the start itself; straight where no wall stands
    between, and where walls close a shape in on all sides (somebody has a bridge or a boat).
    Creeks drawn as lines are crossed.

    Parameters
    ----------
    start : Point
        The way in.
    shapes : array of Geometry
        Strips.
    ground : Footing
        As `footing` gives it.

    Returns
    -------
    array of float, array of Point

    References
    ----------
    own reasoning
    """
    held = shapely.intersects(shapely.buffer(ground.walls, -GRAZE_M), start)
    if held.any():
        ground = footing(ground.walls[~held])
    straight = shapely.shortest_line(start, shapes)
    metres, ends = shapely.length(straight), shapely.get_point(straight, -1)
    from_xy = shapely.get_coordinates(start)
    blocked = ~_clear(ground.tree, np.repeat(from_xy, len(ends), axis=0),
                      shapely.get_coordinates(ends))  # fmt: skip
    if not blocked.any():
        return metres, ends
    first = np.hypot(*(ground.corners - from_xy).T)
    seen = _clear(ground.tree, np.repeat(from_xy, len(first), axis=0), ground.corners)
    so_far = np.min(np.where(seen, first, np.inf)[:, None] + ground.apart_m, axis=0, initial=np.inf)
    nodes = np.concatenate([from_xy, ground.corners])
    so_far = np.concatenate([[0.0], so_far])
    for i in np.flatnonzero(blocked):
        far, end = _last_leg(nodes, so_far, shapes[i], ground.tree)
        if np.isfinite(far):
            metres[i], ends[i] = max(far, metres[i]), end
    return metres, ends


def _last_leg(
    nodes: np.ndarray, so_far: np.ndarray, shape: shapely.Geometry, tree: shapely.STRtree
) -> tuple[float, shapely.Point | None]:
    """Return the shortest way to a shape whose last leg leaves from one of the nodes."""
    legs = shapely.shortest_line(shapely.points(nodes), shape)
    least = so_far + shapely.length(legs)
    sides = _sides(shape)
    best, end = np.inf, None
    for node in np.argsort(least, kind="stable"):
        if not least[node] < best:
            break
        feet = shapely.shortest_line(shapely.Point(nodes[node]), [shape, *sides])
        far = so_far[node] + shapely.length(feet)
        feet, far = feet[far < best], far[far < best]
        xy = shapely.get_coordinates(shapely.get_point(feet, -1))
        open_ = _clear(tree, np.repeat(nodes[[node]], len(xy), axis=0), xy)
        if open_.any():
            at = int(np.argmin(np.where(open_, far, np.inf)))
            best, end = float(far[at]), shapely.Point(xy[at])
    return best, end


def _sides(shape: shapely.Geometry) -> np.ndarray:
    """Return the sides of a shape's outline one by one (none of a point)."""
    xy, at = shapely.get_coordinates(shapely.get_parts(shapely.boundary(shape)), return_index=True)
    same = at[1:] == at[:-1]
    return shapely.linestrings(np.stack([xy[:-1][same], xy[1:][same]], axis=1))


def _clear(tree: shapely.STRtree, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Return whether each straight way from start to end stays out of the walls."""
    clear = np.ones(len(start), dtype=bool)
    if len(start) and len(tree):
        lines = shapely.linestrings(np.stack([start, end], axis=1))
        clear[tree.query(lines, predicate="intersects")[0]] = False
    return clear


def _bends(wall: shapely.Polygon) -> np.ndarray:
    """Return the corners of a wall that a shortest way can bend round: those that stick out."""
    found = [np.empty((0, 2))]
    wall = shapely.normalize(wall)  # outline clockwise, holes the other way
    for ring in (wall.exterior, *wall.interiors):
        xy = shapely.get_coordinates(ring)[:-1]
        into, out = xy - np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0) - xy
        found.append(xy[into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0] < 0])
    return np.concatenate(found)
