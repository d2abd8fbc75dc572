"""How much of each strip stands under the crowns of trees that stay."""

import geopandas as gpd
import numpy as np
import shapely


def with_shade(strips: gpd.GeoDataFrame, keep_trees: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the strips with the share of their ground under keep trees' crowns.

    Crowns over each other count once; crowns are circles of the width given or of the diameter's.

    Parameters
    ----------
    strips : GeoDataFrame
        strip_id, geometry in the local grid.
    keep_trees : GeoDataFrame
        crown_m (width) [m], geometry.

    Returns
    -------
    GeoDataFrame
        With keep_canopy_pct [percent].

    References
    ----------
    own reasoning
    """
    shapes = strips.geometry.to_numpy()
    covered = np.zeros(len(shapes))
    if len(keep_trees):
        crowns = shapely.buffer(
            shapely.centroid(keep_trees.geometry.to_numpy()),
            keep_trees["crown_m"].to_numpy(dtype=float) / 2.0,
        )
        strip, crown = shapely.STRtree(crowns).query(shapes, predicate="intersects")
        for at in np.unique(strip):
            shade = shapely.union_all(crowns[crown[strip == at]])
            covered[at] = shapely.area(shapely.intersection(shapes[at], shade))
    area = shapely.area(shapes)
    share = np.divide(covered, area, out=np.zeros(len(shapes)), where=area > 0)
    return strips.assign(keep_canopy_pct=100.0 * np.minimum(share, 1.0))
