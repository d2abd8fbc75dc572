"""The ring around a strip in which root suckers of its trees may come up."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.rates import Rates
from clearing.zones import beyond_the_line

COLUMNS = ["strip_id", "ring_m", "ring_ha", "fence_ha"]
NO_GROUND = ("water", "building")  # kinds of areas on which nobody searches
CORNERS = 8  # corners of a quarter circle; own choice


def search_ring(
    strips: gpd.GeoDataFrame, features: gpd.GeoDataFrame, methods: pd.DataFrame, rates: Rates
) -> pd.DataFrame:
    """Return the ground around each strip that a follow-up searches for suckers.

    As far out as the species standing there sends suckers (``sucker_m``, the farthest of them),
    less what lies in another strip, which is searched with that one, and in ponds and buildings.
    Where rings of two strips lie over each other outside both, both count it.

    Parameters
    ----------
    strips : GeoDataFrame
        As ``walk/strips``.
    features : GeoDataFrame
        As ``walk/features``; a closed property line tells the neighbours' side.
    methods : DataFrame
        As ``walk/methods``; for the species that stand in each strip.
    rates : Rates
        Handbook figures.

    Returns
    -------
    DataFrame
        strip_id, ring_m [m], ring_ha (own side) [ha], fence_ha (over the property line) [ha].

    References
    ----------
    own reasoning; each figure carries its own source
    """
    if not len(strips):
        return pd.DataFrame(columns=COLUMNS)
    names = strips["strip_id"].astype(str)
    alive = methods.loc[methods["stems"] > 0, ["strip_id", "species"]].drop_duplicates()
    far = {name: rates.figure(str(name), "sucker_m").value for name in alive["species"].unique()}
    wide = alive["species"].map(far).groupby(alive["strip_id"]).max()
    wide_m = names.map(wide).fillna(0.0).to_numpy(dtype=float)
    shapes = strips.geometry.to_numpy()
    around = shapely.buffer(shapes, wide_m, quad_segs=CORNERS)
    kinds = features[features["kind"].isin(NO_GROUND)].geometry.to_numpy()
    taken = np.concatenate([shapes, kinds[shapely.get_dimensions(kinds) == 2]])
    tree, beyond = shapely.STRtree(taken), beyond_the_line(features, gpd.GeoSeries(around))
    own, over = np.zeros(len(shapes)), np.zeros(len(shapes))
    for at in np.flatnonzero(wide_m > 0):
        near = tree.query(around[at], predicate="intersects")
        ring = shapely.difference(around[at], shapely.union_all(taken[near]))
        fence = shapely.area(shapely.intersection(ring, beyond)) if beyond is not None else 0.0
        own[at], over[at] = max(shapely.area(ring) - fence, 0.0) / 1e4, fence / 1e4
    return pd.DataFrame(
        {"strip_id": names.to_numpy(), "ring_m": wide_m, "ring_ha": own, "fence_ha": over}
    )
