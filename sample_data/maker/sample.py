"""One draw of the sample property as tables, without its photo."""

from typing import NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd

from maker.land import Land, make_land
from maker.plots import make_plots, make_tally
from maker.stems import make_stems, truth_of
from maker.trees import make_keep_trees, make_woods_trees


class Sample(NamedTuple):
    """The tables of one draw; land and native trees are the same for every seed."""

    blocks: gpd.GeoDataFrame
    keep_trees: gpd.GeoDataFrame
    features: gpd.GeoDataFrame
    plots: gpd.GeoDataFrame
    tally: pd.DataFrame
    truth: pd.DataFrame
    stems: pd.DataFrame


def simulate(seed: int) -> Sample:
    """Return one draw: every target stem, the plots laid among them and their tally."""
    land = make_land()
    rng = np.random.default_rng(seed)
    stems = make_stems(land, rng)
    plots = make_plots(land, rng)
    tally = make_tally(plots, stems, native_trees(land), land)
    truth = truth_of(stems, land)
    return Sample(land.blocks, make_keep_trees(), land.features, plots, tally, truth, stems)


def native_trees(land: Land) -> pd.DataFrame:
    """Return mapped and unmapped native trees: x, y, species, dbh_in, block_id (None: in none)."""
    mapped = make_keep_trees()
    points = pd.DataFrame({"x": mapped.geometry.x, "y": mapped.geometry.y})
    points = points.join(mapped[["species", "dbh_in"]])
    trees = pd.concat([points, make_woods_trees()], ignore_index=True)
    spots = gpd.GeoDataFrame(geometry=gpd.points_from_xy(trees["x"], trees["y"]), crs=mapped.crs)
    found = spots.sjoin(land.blocks[["block_id", "geometry"]], how="left", predicate="within")
    return trees.assign(block_id=found["block_id"].to_numpy())
