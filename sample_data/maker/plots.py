"""Sample plots on a random-start grid in every block, and what a crew would tally on them."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from scipy.spatial import cKDTree

from maker import outline
from maker.land import Land
from maker.trees import CM_PER_IN, M_PER_FT

RADIUS_FT = 26.33  # 1/20 acre: stems of an inch and more
SMALL_RADIUS_FT = 11.78  # 1/100 acre: smaller stems and seedlings
SMALL_BELOW_IN = 1.0
PLOTS = 66  # wished on the whole property
LEAST = 2  # in a block
WEIGHT = {"open": 1.0, "brushy": 1.35, "thicket": 1.6}  # more plots where it is thicker
DATES = ("2026-10-05", 12)  # first day of the count, and how many weekdays it took


def make_plots(land: Land, rng: np.random.Generator) -> gpd.GeoDataFrame:
    """Return visited plots: a grid in each block with random start and random turn.

    A centre may lie anywhere in its block, so that no part of it is left out.
    """
    blocks = land.blocks
    weight = blocks.area * blocks["brush"].map(WEIGHT)
    wished = np.maximum(PLOTS * weight / weight.sum(), LEAST)
    spots = [_grid(shape, n, rng) for shape, n in zip(blocks.geometry, wished, strict=True)]
    block_id = np.repeat(blocks["block_id"].to_numpy(), [len(xy) for xy in spots])
    number = np.concatenate([np.arange(1, len(xy) + 1) for xy in spots])
    table = pd.DataFrame(
        {
            "plot_id": [f"P{b}-{n}" for b, n in zip(block_id, number, strict=True)],
            "radius_ft": RADIUS_FT,
            "small_radius_ft": SMALL_RADIUS_FT,
            "small_below_in": SMALL_BELOW_IN,
            "visited": "yes",
        }
    )
    points = gpd.points_from_xy(*np.vstack(spots).T, crs=outline.CRS)
    return gpd.GeoDataFrame(table, geometry=points)


def _grid(block: shapely.Polygon, n: float, rng: np.random.Generator) -> np.ndarray:
    """Return grid points in a block, n on average; the start is drawn again below two."""
    step = np.sqrt(block.area / n)
    reach = np.ceil(block.length / step / 2)
    nodes = np.stack(np.meshgrid(*[np.arange(-reach, reach + 1)] * 2), -1).reshape(-1, 2)
    while True:
        turn = rng.uniform(0, np.pi / 2)
        rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        start = rng.uniform(0, 1, 2)
        xy = (nodes + start) @ rotation * step + np.array(block.centroid.coords[0])
        xy = np.round(xy[shapely.contains_xy(block, *xy.T)], 2)
        if len(xy) >= LEAST:
            return xy[np.lexsort((xy[:, 0], -xy[:, 1]))]


def block_of_plots(plots: gpd.GeoDataFrame, land: Land) -> np.ndarray:
    """Return the block_id that each plot's centre lies in."""
    found = plots[["geometry"]].sjoin(land.blocks[["block_id", "geometry"]], predicate="within")
    return found["block_id"].reindex(plots.index).to_numpy()


def make_tally(
    plots: gpd.GeoDataFrame, stems: pd.DataFrame, natives: pd.DataFrame, land: Land
) -> pd.DataFrame:
    """Return the tally: stems inside the plot and inside the block in which its centre lies.

    Targets of an inch and more, and native trees (keep = yes), on the large circle with dbh;
    smaller targets on the small circle with a size word. Equal stems share a row.
    """
    wanted = block_of_plots(plots, land)
    dbh_in = (stems["dbh_cm"] / CM_PER_IN).round(1)
    large = dbh_in >= SMALL_BELOW_IN
    targets = stems.assign(dbh_in=dbh_in.where(large), keep="no")
    targets["size"] = np.where(large, "", np.where(dbh_in.isna(), "seedling", "pencil"))
    natives = natives.assign(size="", keep="yes")
    seen = [
        _seen(plots, wanted, targets[large], RADIUS_FT),
        _seen(plots, wanted, targets[~large], SMALL_RADIUS_FT),
        _seen(plots, wanted, natives, RADIUS_FT),
    ]
    keys = ["plot_id", "species", "dbh_in", "size", "keep"]
    rows = pd.concat(seen, ignore_index=True).groupby(keys, dropna=False).size()
    tally = rows.rename("count").reset_index()
    order = {plot: i for i, plot in enumerate(plots["plot_id"])}
    tally["order"] = tally["plot_id"].map(order)
    tally = tally.sort_values(["order", "keep", "species", "size", "dbh_in"], ignore_index=True)
    days = pd.bdate_range(DATES[0], periods=DATES[1]).strftime("%Y-%m-%d").to_numpy()
    tally["date"] = days[(tally.pop("order") * len(days) // len(plots)).to_numpy()]
    columns = ["plot_id", "species", "dbh_in", "size", "count", "keep", "status", "date"]
    return tally.assign(status="live")[columns]


def _seen(
    plots: gpd.GeoDataFrame, wanted: np.ndarray, trees: pd.DataFrame, radius_ft: float
) -> pd.DataFrame:
    """Return one row for each tree on each plot within its own block."""
    columns = ["species", "dbh_in", "size", "keep"]
    near = cKDTree(trees[["x", "y"]].to_numpy()).query_ball_point(
        np.c_[plots.geometry.x, plots.geometry.y], radius_ft * M_PER_FT
    )
    plot = np.repeat(np.arange(len(plots)), [len(rows) for rows in near])
    tree = np.concatenate([np.asarray(rows, int) for rows in near])
    own = trees["block_id"].to_numpy()[tree] == wanted[plot]
    found = trees[columns].iloc[tree[own]].reset_index(drop=True)
    return found.assign(plot_id=plots["plot_id"].to_numpy()[plot[own]])
