"""Which strips lie on one creek, and what of their seed the water takes from one to another."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

STEP_M = 5.0  # distance of the points along a creek; own choice


def along_water(
    strips: gpd.GeoDataFrame, features: gpd.GeoDataFrame, touch_m: float, mean_m: float
) -> np.ndarray:
    """Return the share of the seed given to the water in one strip that lands in each other.

    Creeks are water drawn as lines, joined where they meet end to end. Seed enters evenly along
    the part of the creek within reach of its strip and goes as far both ways, exponential in the
    distance along the creek: which way it flows nobody tells. Banks within reach of several strips
    are shared by them.

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
    out, length = np.zeros((n, n)), np.zeros(n)
    for creek in creek_lines(features):
        number = max(1, round(creek.length / STEP_M))
        step = creek.length / number
        at = (np.arange(number) + 0.5) * step
        points = shapely.line_interpolate_point(creek, at)
        tree = shapely.STRtree(points)
        strip, point = tree.query(strips.geometry.to_numpy(), predicate="dwithin", distance=touch_m)
        if not len(strip):
            continue
        given = np.zeros((n, number))
        given[strip, point] = 1.0
        given /= np.maximum(given.sum(axis=0), 1.0)
        used = np.flatnonzero(given.any(axis=0))
        given, place = given[:, used], at[used]
        b = mean_m
        kernel = np.exp(-np.abs(place[:, None] - place[None, :]) / b)
        kernel *= np.tanh(step / (2.0 * b))  # so that all places together add up to 1
        out += given @ kernel @ given.T
        length += given.sum(axis=1)
    out = np.divide(out, length[None, :], out=np.zeros_like(out), where=length[None, :] > 0)
    np.fill_diagonal(out, 0.0)
    return out


def creek_lines(features: gpd.GeoDataFrame) -> list[shapely.LineString]:
    """Return the creeks: water drawn as lines, those that meet end to end as one.

    References
    ----------
    own reasoning
    """
    water = features.loc[features["kind"] == "water", "geometry"]
    parts = shapely.get_parts(water.to_numpy()) if len(water) else np.array([])
    lines = [part for part in parts if part.geom_type == "LineString" and part.length > 0]
    if not lines:
        return []
    return list(shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines))))


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
