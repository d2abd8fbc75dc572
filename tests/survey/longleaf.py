"""Surveys of a mapped stand: real stems, plots by our own layout, many surveys at once."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy.spatial import cKDTree

from clearing import survey
from clearing.rates import load

SIDE_M, RADIUS_M = 200.0, 11.3497  # the mapped square; circles of a tenth of an acre
STAND = Path(__file__).parents[1] / "data" / "longleaf_stand" / "longleaf.csv"
SMALL_BELOW_CM = 10.0


def stems() -> pd.DataFrame:
    """Return the mapped stems: x_m, y_m, dbh_cm."""
    return pd.read_csv(STAND)


def surveys(number: int, plots_each: int, seed: int) -> tuple[gpd.GeoDataFrame, gpd.GeoDataFrame]:
    """Return so many copies of the stand, each a block of its own kind, and their plots."""
    square = shapely.box(0, 0, SIDE_M, SIDE_M)
    names = [f"s{i:04d}" for i in range(number)]
    table = {"block_id": names, "brush": names, "targets": "longleaf_pine", "density_guess": "",
             "area_ha": SIDE_M**2 / 1e4}  # fmt: skip
    blocks = gpd.GeoDataFrame(table, geometry=[square] * number, crs=32617)
    plots = survey.place_plots(blocks, pd.Series(plots_each, index=blocks.index), seed, RADIUS_M)
    circles = shapely.buffer(plots.geometry.to_numpy(), RADIUS_M, quad_segs=64)
    inside = shapely.area(shapely.intersection(circles, square)) / shapely.area(circles)
    inside = inside * np.pi * RADIUS_M**2 / 1e4
    none = {"small_radius_m": np.nan, "small_below_cm": np.nan}
    return blocks, plots.assign(visited=True, inside_ha=inside, small_inside_ha=inside, **none)


def tallied(plots: gpd.GeoDataFrame, found: pd.DataFrame) -> pd.DataFrame:
    """Return the tally of the stems that stand on each plot."""
    tree = cKDTree(found[["x_m", "y_m"]].to_numpy())
    near = tree.query_ball_point(shapely.get_coordinates(plots.geometry), RADIUS_M)
    at = np.repeat(np.arange(len(plots)), [len(row) for row in near])
    stem = np.concatenate([np.asarray(row, dtype=int) for row in near])
    return pd.DataFrame(
        {"plot_id": plots["plot_id"].to_numpy()[at], "species": "longleaf_pine", "size": pd.NA,
         "dbh_cm": found["dbh_cm"].to_numpy()[stem], "count": 1, "keep": pd.NA, "status": pd.NA}
    )  # fmt: skip


def estimates(blocks, plots, found: pd.DataFrame) -> pd.DataFrame:
    """Return the estimate of each survey at 90 %, with the truth beside it."""
    rates = load()
    answer = survey.estimate_totals(blocks, plots, tallied(plots, found), 0.9, rates)
    return answer.assign(truth=len(found) / (SIDE_M**2 / 1e4))
