"""What lies near each strip that spray, roots or a falling tree could harm."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.rates import Rates
from clearing.tables import columns
from clearing.zones.reach import ground_around

TOLD = (
    "building", "public_road", "power_line", "property_line", "water", "well", "crop",
    "neighbour_tree",
)  # fmt: skip


def what_is_near(
    strips: gpd.GeoDataFrame, features: gpd.GeoDataFrame, keep_trees: gpd.GeoDataFrame, rates: Rates
) -> pd.DataFrame:
    """Return what lies within sight of each strip, and the trees that stay with roots in it.

    Things of the owner's map within ``zone, nearby_m``; trees that stay where their root ground,
    the larger of twice the crown's radius and 5 m, reaches into the strip.

    Parameters
    ----------
    strips, features, keep_trees : GeoDataFrame
        In the local grid.
    rates : Rates
        Figures of the subject ``zone``.

    Returns
    -------
    DataFrame
        As ``walk/nearby``; one row a strip and thing, of trees one a strip and species.

    References
    ----------
    label_fields (the distance), ditomaso_kyser_2007 (the roots)
    """
    shapes = strips.geometry.to_numpy()
    ids = strips["strip_id"].astype(str).to_numpy()
    told = features[features["kind"].isin(TOLD)]
    frame = pd.concat(
        [_things(ids, shapes, told, rates), _trees(ids, shapes, keep_trees, rates)],
        ignore_index=True,
    )
    order = ["strip_id", "kind", "distance_m", "name", "species"]
    return frame.sort_values(order, ignore_index=True)[columns("nearby")]


def _things(
    ids: np.ndarray, shapes: np.ndarray, told: gpd.GeoDataFrame, rates: Rates
) -> pd.DataFrame:
    """Return the things of the map within the distance of each strip."""
    far = rates.figure("zone", "nearby_m").value
    things = told.geometry.to_numpy()
    strip, thing = shapely.STRtree(things).query(shapes, predicate="dwithin", distance=far)
    return pd.DataFrame(
        {
            "strip_id": ids[strip],
            "kind": told["kind"].to_numpy()[thing],
            "name": told["name"].fillna("").astype(str).to_numpy()[thing],
            "species": "",
            "distance_m": shapely.distance(shapes[strip], things[thing]),
        }
    )


def _trees(
    ids: np.ndarray, shapes: np.ndarray, keep_trees: gpd.GeoDataFrame, rates: Rates
) -> pd.DataFrame:
    """Return the species of the trees that stay whose roots may reach into each strip."""
    factor = rates.figure("zone", "dripline_factor").value
    least = rates.figure("zone", "dripline_min_m").value
    far = np.maximum(factor * keep_trees["crown_m"].to_numpy(float) / 2, least)
    ground, of = ground_around(keep_trees.geometry.to_numpy(), far)
    strip, piece = shapely.STRtree(ground).query(shapes, predicate="intersects")
    kinds = keep_trees["species"].astype(str).to_numpy()
    frame = pd.DataFrame({"strip_id": ids[strip], "species": kinds[of[piece]]}).drop_duplicates()
    return frame.assign(kind="keep_tree", name="", distance_m=0.0)
