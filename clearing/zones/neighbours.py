"""Which strips lie beside which, for the seed that crosses an edge."""

import geopandas as gpd
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
        As ``walk/neighbours``: distance of the edges [m], length of the shared edge [m].

    References
    ----------
    own reasoning
    """
    shapes = strips.geometry
    left, right = shapes.sindex.query(shapes, predicate="dwithin", distance=FURTHEST_M)
    apart = left != right
    one, two = shapes.iloc[left[apart]].array, shapes.iloc[right[apart]].array
    edges = shapely.boundary(one)
    table = pd.DataFrame(
        {
            "strip_id": strips["strip_id"].to_numpy()[left[apart]],
            "neighbour_id": strips["strip_id"].to_numpy()[right[apart]],
            "distance_m": shapely.distance(one, two),
            "shared_m": shapely.length(
                shapely.intersection(edges, shapely.buffer(two, TOUCH_M, quad_segs=2))
            ),
        }
    )
    table.loc[table["distance_m"] > TOUCH_M, "shared_m"] = 0.0
    return table[columns("neighbours")].sort_values(["strip_id", "neighbour_id"], ignore_index=True)
