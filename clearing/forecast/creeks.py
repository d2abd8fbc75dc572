"""Which strips lie on one creek, and what of their seed the water takes from one to another."""

import itertools
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy import sparse
from scipy.sparse import csgraph
from shapely import ops

STEP_M = 5.0  # distance of the points along a creek; own choice
SNAP_M = 2.0  # gap in the drawing that is none on the ground; own choice
LEAST_M = 1e-6  # distance of ends that lie on each other, so that it counts as a way


def along_water(
    strips: gpd.GeoDataFrame, features: gpd.GeoDataFrame, touch_m: float, mean_m: float
) -> np.ndarray:
    """Return the share of the seed given to the water in one strip that lands in each other.

    Creeks are water drawn as lines, a network where they meet (`network`). Seed enters evenly along
    the part of it within reach of its strip and goes as far both ways, exponential in the distance
    along the creeks: which way they flow nobody tells. Past a confluence each branch gets as much
    as if it were the only one, yet all the strips together no more than there is. Banks within
    reach of several strips are shared by them.

    Parameters
    ----------
    strips : GeoDataFrame
        strip_id, geometry.
    features : GeoDataFrame
        kind, geometry.
    touch_m : float
        How near a strip has to lie [m].
    mean_m : float
        Mean distance along the creek [m].

    Returns
    -------
    array (strips, strips)
        Row = where it lands, column = from where; diagonal and columns of strips off the water
        nought. Columns add up to 1 at the most.

    References
    ----------
    own reasoning
    """
    n = len(strips)
    pieces = network(features)
    if not pieces:
        return np.zeros((n, n))
    cells = _cells(pieces)
    points = shapely.line_interpolate_point(np.array(pieces)[cells.piece], cells.at_m)
    tree = shapely.STRtree(points)
    strip, point = tree.query(strips.geometry.to_numpy(), predicate="dwithin", distance=touch_m)
    if not len(strip):
        return np.zeros((n, n))
    given = np.zeros((n, len(points)))
    given[strip, point] = 1.0
    given /= np.maximum(given.sum(axis=0), 1.0)
    used = np.flatnonzero(given.any(axis=0))
    given, wide = given[:, used], cells.wide_m[used]
    kernel = np.exp(-_distances(pieces, cells, used) / mean_m)
    kernel *= np.tanh(wide / (2.0 * mean_m))[:, None]  # all of one line together add up to 1
    landed = given @ kernel
    landed /= np.maximum(landed.sum(axis=0), 1.0)
    sown = given * wide
    out: np.ndarray = landed @ sown.T
    length = sown.sum(axis=1)
    out = np.divide(out, length[None, :], out=np.zeros_like(out), where=length[None, :] > 0)
    np.fill_diagonal(out, 0.0)
    return out


@dataclass(frozen=True)
class Cells:
    """Short parts of the creeks: which piece, how far along it the middle is, how long."""

    piece: np.ndarray
    at_m: np.ndarray
    wide_m: np.ndarray


def _cells(pieces: list[shapely.LineString]) -> Cells:
    """Return the pieces in parts of about ``STEP_M``."""
    long = shapely.length(np.array(pieces))
    number = np.maximum(1, np.round(long / STEP_M)).astype(int)
    piece = np.repeat(np.arange(len(pieces)), number)
    wide = (long / number)[piece]
    order = np.arange(len(piece)) - np.repeat(np.cumsum(number) - number, number)
    return Cells(piece, (order + 0.5) * wide, wide)


def _distances(pieces: list[shapely.LineString], cells: Cells, used: np.ndarray) -> np.ndarray:
    """Return the distance along the creeks between the used cells, without end where no way is."""
    lines = np.array(pieces)
    long = shapely.length(lines)
    ends = np.concatenate([shapely.get_point(lines, 0), shapely.get_point(lines, -1)])
    near = shapely.STRtree(ends).query(ends, predicate="dwithin", distance=SNAP_M)
    gap = shapely.distance(ends[near[0]], ends[near[1]])
    count = len(lines)
    one = np.concatenate([np.arange(count), near[0]])
    two = np.concatenate([np.arange(count) + count, near[1]])
    far = np.concatenate([long, np.maximum(gap, LEAST_M)])
    order = np.lexsort((far, two, one))  # of several ways between two ends the shortest
    pair = np.stack([one, two])[:, order]
    first = np.append(True, (np.diff(pair, axis=1) != 0).any(axis=0))
    graph = sparse.csr_array((far[order][first], pair[:, first]), shape=(2 * count, 2 * count))
    between = csgraph.dijkstra(graph, directed=False)
    piece, at = cells.piece[used], cells.at_m[used]
    out = np.where(piece[:, None] == piece[None, :], np.abs(at[:, None] - at[None, :]), np.inf)
    sides = ((piece, at), (piece + count, long[piece] - at))
    for end, to in sides:
        for other, come in sides:
            np.minimum(out, to[:, None] + between[np.ix_(end, other)] + come[None, :], out=out)
    return out


def creek_lines(features: gpd.GeoDataFrame) -> list[shapely.LineString]:
    """Return the creeks: water drawn as lines, those that simply go on as one, cut where they meet.

    References
    ----------
    own reasoning
    """
    water = features.loc[features["kind"] == "water", "geometry"]
    parts = shapely.get_parts(water.to_numpy()) if len(water) else np.array([])
    lines = [part for part in parts if part.geom_type == "LineString" and part.length > 0]
    if not lines:
        return []
    met = shapely.union_all(lines)
    return list(shapely.get_parts(shapely.line_merge(met) if len(lines) > 1 else met))


def network(features: gpd.GeoDataFrame) -> list[shapely.LineString]:
    """Return the creeks cut wherever an end of another comes within ``SNAP_M`` of them.

    Ends of two pieces within ``SNAP_M`` of each other are joined, so that a small gap in the
    drawing stops nothing.

    References
    ----------
    own reasoning
    """
    lines = creek_lines(features)
    ends = np.array([shapely.get_point(line, at) for line in lines for at in (0, -1)])
    out = []
    for line in lines:
        near = ends[shapely.dwithin(ends, line, SNAP_M)]
        at = np.unique(shapely.line_locate_point(line, near))
        cuts = at[(at > SNAP_M) & (at < line.length - SNAP_M)]
        marks = [0.0, *cuts[np.diff(cuts, prepend=0.0) > LEAST_M], line.length]
        out += [ops.substring(line, *each) for each in itertools.pairwise(marks)]
    return out


def on_creek(strips: gpd.GeoDataFrame, features: gpd.GeoDataFrame, touch_m: float) -> pd.Series:
    """Return whether each strip lies on a creek.

    References
    ----------
    own reasoning
    """
    lines = creek_lines(features)
    near = np.zeros(len(strips), dtype=bool)
    for line in lines:
        near |= shapely.dwithin(strips.geometry.to_numpy(), line, touch_m)
    return pd.Series(near, index=strips["strip_id"])
