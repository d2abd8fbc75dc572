"""Where to put sample plots: how many a block, and a random-start grid inside each."""

import math

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.survey.sampling import neyman_allocation, plots_needed

CV_FIRST_GUESS = 1.0  # between plots of clustered stems, before anything was counted; own choice
LEAST = 2  # plots in any block


def allocate_plots(
    blocks: gpd.GeoDataFrame, allowed_error: float, confidence: float, cv: float = CV_FIRST_GUESS
) -> pd.Series:
    """Return how many plots each block gets for the wished error of the whole property.

    Parameters
    ----------
    blocks : GeoDataFrame
        block_id, area_ha.
    allowed_error : float
        Half of the interval as a share of the mean.
    confidence : float
        Share of such intervals that hold the truth.
    cv : float
        Coefficient of variation between plots.

    Returns
    -------
    Series of int
        Indexed as ``blocks``; at least two in each.

    References
    ----------
    cochran_1977
    """
    wanted = max(plots_needed(cv, allowed_error, confidence), LEAST * len(blocks))
    least = [float(LEAST)] * len(blocks)
    share = neyman_allocation(
        blocks["area_ha"].tolist(), [1.0] * len(blocks), float(wanted), lower=least
    )
    return pd.Series(np.ceil(share - 1e-9).astype(int), index=blocks.index)


def place_plots(blocks: gpd.GeoDataFrame, number: pd.Series, seed: int) -> gpd.GeoDataFrame:
    """Return plot centres on a square grid with a random start in each block.

    Parameters
    ----------
    blocks : GeoDataFrame
        block_id, geometry in the local grid.
    number : Series of int
        Plots for each block.
    seed : int
        The same seed gives the same places.

    Returns
    -------
    GeoDataFrame
        plot_id, block_id, geometry.

    References
    ----------
    cochran_1977
    """
    random = np.random.default_rng(seed)
    rows = []
    for block in blocks.itertuples():
        points = _grid_points(block.geometry, int(number[block.Index]), random)
        rows += [(f"{block.block_id}-{i + 1}", block.block_id, p) for i, p in enumerate(points)]
    frame = pd.DataFrame(rows, columns=["plot_id", "block_id", "geometry"])
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=blocks.crs)


def _grid_points(
    shape: shapely.Geometry, number: int, random: np.random.Generator
) -> list[shapely.Point]:
    """Return the points of the first random-start grid that has enough, thinned evenly."""
    step = math.sqrt(shape.area / number)
    west, south, east, north = shape.bounds
    for _ in range(200):
        start = random.random(2) * step
        x = np.arange(west + start[0], east, step)
        y = np.arange(south + start[1], north, step)
        points = shapely.points(*[axis.ravel() for axis in np.meshgrid(x, y)])
        inside = points[shapely.contains(shape, points)]
        if len(inside) >= number:
            keep = np.linspace(0, len(inside) - 1, number).round().astype(int)
            return [inside[i] for i in keep]
        step *= 0.97
    return [shape.representative_point()] * number
