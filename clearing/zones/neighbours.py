"""Which strips lie beside which, for the seed that crosses an edge."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.tables import columns

FURTHEST_M = 150.0  # beyond it strips do not seed one another in this model; own choice
TOUCH_M = 0.05  # edges closer than this are shared; own choice


def strip_neighbours(strips: gpd.GeoDataFrame) -> pd.DataFrame:
    """Return every ordered pair of strips within 150 m of each other.

    Parameters
    ----------
    strips : GeoDataFrame
        strip_id, geometry in the local grid.

    Returns
    -------
    DataFrame
        As ``walk/neighbours``: distance of the edges [m], length of the shared edge [m] (0 for
        strips that touch at a corner); the same seen from either strip.

    References
    ----------
    own reasoning
    """
    shapes = strips.geometry.to_numpy()
    left, right = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=FURTHEST_M)
    once = left < right
    left, right = left[once], right[once]
    apart = shapely.distance(shapes[left], shapes[right])
    shared = np.zeros(len(left))
    near = apart <= TOUCH_M
    shared[near] = _shared_m(shapes[left[near]], shapes[right[near]])
    ids = strips["strip_id"].to_numpy()
    table = pd.DataFrame(
        {
            "strip_id": ids[np.concatenate([left, right])],
            "neighbour_id": ids[np.concatenate([right, left])],
            "distance_m": np.tile(apart, 2),
            "shared_m": np.tile(shared, 2),
        }
    )
    return table[columns("neighbours")].sort_values(["strip_id", "neighbour_id"], ignore_index=True)


def _shared_m(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Return the length of the edge that strips share, the mean of both views [m].

    Where a shared edge ends, both outlines part and stay within the touching distance for a bit
    in proportion to it; twice the length at that distance less the length at double the distance
    is free of that bit.
    """
    seen = []
    for own, other in ((one, two), (two, one)):
        edge = shapely.boundary(own)
        close, wide = (
            shapely.length(shapely.intersection(edge, shapely.buffer(shapely.boundary(other), far)))
            for far in (TOUCH_M, 2 * TOUCH_M)
        )
        seen.append(2 * close - wide)
    mean = (seen[0] + seen[1]) / 2
    return np.where(mean > 2 * TOUCH_M, mean, 0.0)
