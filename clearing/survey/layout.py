"""Where to put sample plots: how many, which block gets them, and a place for each.

The layout is spatially balanced (Stevens and Olsen): the block is cut again and again across its
longer side until there is one cell a plot, all cells of equal weight, and each cell gets one plot
at random. A point near the edge weighs more, in the measure in which the circle around it reaches
out of the block: then a stem near the edge is as likely to be counted, a foot of ground looked at,
as any other, and the ratio of means is right on the average.
"""

import math
from collections.abc import Iterable

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from clearing.land.ground import PLOT_RADIUS_M
from clearing.rates import Rates
from clearing.survey.clumping import mean_aggregation
from clearing.survey.sampling import neyman_allocation, plots_needed
from clearing.survey.stocking import estimate_totals
from clearing.survey.tally import live_targets, stems_on_plots

CV_FIRST_GUESS = 1.0  # between plots of clustered stems, before anything was counted; own choice
LEAST = 2  # plots in any block
RARE = 0.05  # of the property's mean: a block's least mean when plots are shared out; own choice
POINTS_PER_PLOT = 64  # of the fine grid from which a plot's place is drawn; own choice


def first_look(
    blocks: gpd.GeoDataFrame,
    plots: gpd.GeoDataFrame,
    tally: pd.DataFrame,
    rates: Rates,
    plot_ha: float,
    cv: float | None = None,
) -> pd.DataFrame:
    """Return what is known of each block before plots are laid: stems on a plot and their spread.

    sd = cv x mean where a coefficient of variation is given or no plot was visited; else
    sqrt(mean + a mean^2) with the aggregation a of the visited plots of the block's kind.

    Parameters
    ----------
    blocks, plots, tally : as for `estimate_stocking`
    rates : Rates
        Size classes and density guesses.
    plot_ha : float
        Ground of one plot [ha].
    cv : float, optional
        Coefficient of variation between plots, as a share.

    Returns
    -------
    DataFrame
        block_id, area_ha, mean, sd [stems on a plot], drawn (plots there are already).

    References
    ----------
    bliss_fisher_1953, own reasoning
    """
    totals = estimate_totals(blocks, plots, tally, 0.9, rates)
    density = totals.groupby("block_id")["stems_per_ha"].sum().reindex(blocks["block_id"])
    mean = density.to_numpy(dtype=float) * plot_ha
    area = blocks["area_ha"].to_numpy(dtype=float)
    mean = np.maximum(mean, max(RARE * float((mean * area).sum() / area.sum()), 1e-6))
    visited = plots[plots["visited"].astype(bool) & plots["block_id"].isin(blocks["block_id"])]
    if cv is not None or len(visited) < LEAST:
        sd = mean * (CV_FIRST_GUESS if cv is None else cv)
    else:
        sd = np.sqrt(mean + _aggregation(blocks, visited, tally, rates) * mean**2)
    drawn = plots["block_id"].value_counts().reindex(blocks["block_id"]).fillna(0).astype(int)
    return pd.DataFrame(
        {"block_id": blocks["block_id"].to_numpy(), "area_ha": area, "mean": mean, "sd": sd,
         "drawn": drawn.to_numpy()}
    )  # fmt: skip


def _aggregation(
    blocks: gpd.GeoDataFrame, visited: gpd.GeoDataFrame, tally: pd.DataFrame, rates: Rates
) -> np.ndarray:
    """Return the aggregation between plots of each block's kind, of all kinds where it has none."""
    ground = visited[["inside_ha"]].to_numpy(dtype=float)
    seen = stems_on_plots(visited, live_targets(tally, rates.sizes), ground, rates.sizes)
    targets = {name for text in blocks["targets"] for name in text.split()}
    seen = seen[seen["species"].isin(targets)]
    stems = np.bincount(seen["plot"], seen["count"], minlength=len(visited))
    size = ground[:, 0] / ground.mean()
    home = pd.Index(blocks["block_id"]).get_indexer(visited["block_id"])
    kind, kinds = pd.factorize(blocks["brush"])
    by_block = [np.bincount(home, each, minlength=len(blocks)) for each in (stems, size)]
    of_kind = mean_aggregation((stems, size, kind[home]), (*by_block, kind), len(kinds))
    nought = np.zeros_like
    of_all = mean_aggregation((stems, size, nought(home)), (*by_block, nought(kind)), 1)[0]
    looked = np.bincount(kind[home], minlength=len(kinds)) >= LEAST
    return np.where(looked, of_kind, of_all)[kind]


def allocate_plots(
    look: pd.DataFrame, allowed_error: float, confidence: float, plot_ha: float
) -> pd.Series:
    """Return how many plots each block needs for the wished error of the whole property.

    n from cv = sum(W S) / sum(W mean), W the block's share of the ground, by `plots_needed` with
    the finite-population correction; shared out by Neyman, two at least, rounded up.

    Parameters
    ----------
    look : DataFrame
        area_ha, mean, sd as `first_look` gives them.
    allowed_error : float
        Half of the interval as a share of the mean.
    confidence : float
        Share of such intervals that hold the truth.
    plot_ha : float
        Ground of one plot [ha].

    Returns
    -------
    Series of int
        Indexed as ``look``; those drawn already are part of them.

    References
    ----------
    cochran_1977
    """
    area, sd = look["area_ha"].to_numpy(dtype=float), look["sd"].to_numpy(dtype=float)
    units = area / plot_ha
    cv = float((area * sd).sum() / (area * look["mean"].to_numpy(dtype=float)).sum())
    most = np.maximum(np.floor(units), LEAST)
    wanted = plots_needed(cv, allowed_error, confidence, float(units.sum()))
    wanted = int(np.clip(wanted, LEAST * len(look), most.sum()))
    least = [float(LEAST)] * len(look)
    share = neyman_allocation(units.tolist(), sd.tolist(), float(wanted), least, most.tolist())
    return pd.Series(np.ceil(share - 1e-9).astype(int), index=look.index)


def place_plots(
    blocks: gpd.GeoDataFrame,
    number: pd.Series,
    seed: int,
    radius_m: float = PLOT_RADIUS_M,
    taken: Iterable[str] = (),
) -> gpd.GeoDataFrame:
    """Return plot centres spread over each block, numbered as one walks them.

    Parameters
    ----------
    blocks : GeoDataFrame
        block_id, geometry in the local grid.
    number : Series of int
        Plots for each block, indexed as ``blocks``.
    seed : int
        The same seed gives the same places.
    radius_m : float
        Radius of the whole plot [m]; a tenth of an acre when not given.
    taken : iterable of str
        Plot ids that are used already.

    Returns
    -------
    GeoDataFrame
        plot_id, block_id, order (of walking, from 1), geometry.

    References
    ----------
    stevens_olsen_2004 (spatial balance), cochran_1977 (ratio of means), own reasoning (edge)
    """
    random = np.random.default_rng(seed)
    used, rows = {str(name) for name in taken}, []
    for block in blocks.itertuples():
        places = _walked(_spread(block.geometry, int(number[block.Index]), radius_m, random))
        count = 0
        for order, (x, y) in enumerate(places, start=1):
            count += 1
            while f"{block.block_id}-{count}" in used:
                count += 1
            rows.append((f"{block.block_id}-{count}", block.block_id, order, shapely.Point(x, y)))
    frame = pd.DataFrame(rows, columns=["plot_id", "block_id", "order", "geometry"])
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=blocks.crs)


def nearest_neighbour_ratio(distances: np.ndarray, area: float) -> float:
    """Return how evenly points lie: 1 at random, above it spread out, below it in clumps.

    R = mean distance x 2 sqrt(n / area); no correction for the edge.

    Parameters
    ----------
    distances : array (n,)
        From each point to its nearest neighbour [m].
    area : float
        Ground that was searched [m2].

    References
    ----------
    clark_evans_1954
    """
    away = np.asarray(distances, dtype=float)
    return float(away.mean() * 2.0 * math.sqrt(away.size / area))


def _spread(
    shape: shapely.Geometry, number: int, radius_m: float, random: np.random.Generator
) -> np.ndarray:
    """Return places in a shape, one at random in each of as many cells of equal weight."""
    if number < 1:
        return np.empty((0, 2))
    points, step = _fine_grid(shape, number, random)
    weight = 1.0 / _share_inside(shape, points, radius_m)
    order = _in_cells(points, weight, number)
    summed = np.cumsum(weight[order])
    at = (np.arange(number) + random.random(number)) / number * summed[-1]
    chosen = points[order[np.minimum(np.searchsorted(summed, at), len(order) - 1)]]
    moved = chosen + (random.random((number, 2)) - 0.5) * step
    inside = shapely.contains_xy(shape, moved[:, 0], moved[:, 1])
    return np.where(inside[:, None], moved, chosen)


def _fine_grid(
    shape: shapely.Geometry, number: int, random: np.random.Generator
) -> tuple[np.ndarray, float]:
    """Return the points of a square grid with a random start inside a shape, and its step [m]."""
    step = math.sqrt(shape.area / (number * POINTS_PER_PLOT))
    west, south, east, north = shape.bounds
    for _ in range(8):
        start = random.random(2) * step
        x = np.arange(west - step + start[0], east + step, step)
        y = np.arange(south - step + start[1], north + step, step)
        points = np.stack([axis.ravel() for axis in np.meshgrid(x, y)], axis=1)
        points = points[shapely.contains_xy(shape, points[:, 0], points[:, 1])]
        if len(points) >= 4 * number:
            return points, step
        step /= 2.0
    middle = shape.representative_point()
    return np.array([[middle.x, middle.y]] * number), 0.0


def _share_inside(shape: shapely.Geometry, points: np.ndarray, radius_m: float) -> np.ndarray:
    """Return the share of the circle around each point that lies inside a shape."""
    share = np.ones(len(points))
    centres = shapely.points(points)
    near = shapely.distance(shape.boundary, centres) < radius_m
    circles = shapely.buffer(centres[near], radius_m, quad_segs=4)
    shapely.prepare(shape)
    share[near] = shapely.area(shapely.intersection(circles, shape)) / shapely.area(circles)
    return np.clip(share, 0.05, 1.0)


def _in_cells(points: np.ndarray, weight: np.ndarray, number: int) -> np.ndarray:
    """Return the order of points in which each number-th of the weight is one compact cell."""
    done: list[np.ndarray] = []
    waiting = [(np.arange(len(points)), number)]
    while waiting:
        rows, cells = waiting.pop()
        if cells <= 1 or len(rows) <= 1:
            done.append(rows)
            continue
        sides = np.ptp(points[rows], axis=0)
        rows = rows[np.argsort(points[rows, int(sides[1] > sides[0])], kind="stable")]
        summed = np.cumsum(weight[rows])
        first = cells // 2
        cut = int(np.searchsorted(summed, summed[-1] * first / cells)) + 1
        cut = min(cut, len(rows) - 1)
        waiting += [(rows[cut:], cells - first), (rows[:cut], first)]
    return np.concatenate(done)


def _walked(places: np.ndarray) -> np.ndarray:
    """Return places in the order of a short walk: nearest first, then crossings undone (2-opt)."""
    if len(places) < 3:
        return places
    away = np.hypot(*(places[:, None, :] - places[None, :, :]).T)
    path = [int(np.argmin(places.sum(axis=1)))]
    left = set(range(len(places))) - set(path)
    while left:
        path.append(min(left, key=lambda other: (away[path[-1], other], other)))
        left.remove(path[-1])
    better = True
    while better:
        better = False
        for i in range(len(path) - 1):
            for j in range(i + 2, len(path)):
                end = away[path[j], path[j + 1]] if j + 1 < len(path) else 0.0
                new_end = away[path[i + 1], path[j + 1]] if j + 1 < len(path) else 0.0
                if away[path[i], path[j]] + new_end < away[path[i], path[i + 1]] + end - 1e-9:
                    path[i + 1 : j + 1] = path[i + 1 : j + 1][::-1]
                    better = True
    return places[path]
