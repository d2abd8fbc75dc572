"""Fill blocks without plots: from a measure that covers them, the owner's guess, or their kind."""

import geopandas as gpd
import numpy as np
import pandas as pd
from scipy import stats

from clearing.rates import Rates
from clearing.survey.clumping import BETWEEN_BLOCKS, mean_aggregation
from clearing.survey.measure import Measured

CELL = ["species", "size_class"]
LEAST_TO_LEAN_ON = 3  # blocks of a kind with plots; own choice


def borrow(
    grid: pd.DataFrame,
    blocks: gpd.GeoDataFrame,
    rates: Rates,
    confidence: float,
    measured: Measured | None,
) -> pd.DataFrame:
    """Return the grid with blocks without plots filled, each saying on what it rests.

    A full-cover measure comes first where it helps, then the owner's density_guess, then the mean
    of blocks of the same kind with the spread between them, then the guess ``scattered``.

    Parameters
    ----------
    grid : DataFrame
        A row a block, species and size class with count, looked_ha, plots, area_ha and basis.
    blocks : GeoDataFrame
        block_id, brush, density_guess.
    rates : Rates
        Density guesses and the middles of size classes.
    confidence : float
        Share of such intervals that hold the truth.
    measured : Measured, optional
        A measure that helps.

    References
    ----------
    cochran_1977, bliss_fisher_1953, own reasoning
    """
    bare = grid["plots"] == 0
    if not bare.any():
        return grid
    kind = grid["block_id"].map(blocks.set_index("block_id")["brush"])
    guess = grid["block_id"].map(blocks.set_index("block_id")["density_guess"]).fillna("")
    z = 2.0 * float(stats.norm.ppf(0.5 + confidence / 2))
    grid = grid.copy()
    if measured is not None:
        _fill(grid, bare, measured.basis, _by_measure(bare, grid, measured, confidence), z)
        bare = bare & (grid["basis"] == "")
    cell, every = _kinds(grid, kind)
    alike = bare & (guess == "") & (every["blocks"][cell] > 0)
    if alike.any():
        _fill(grid, alike, "kind", _by_kind(cell[alike.to_numpy()], every, confidence), z)
    rest = bare & ~alike
    if rest.any():
        words = guess[rest].where(guess[rest] != "", "scattered")
        figures = {word: rates.figure("guess", word) for word in words.unique()}
        share = _shares(grid)[rest.to_numpy()]
        ends = [
            words.map(lambda word, end=end: getattr(figures[word], end)).to_numpy(float) * share
            for end in ("value", "low", "high")
        ]
        _fill(grid, rest, "guess", (ends[0], ends[1], ends[2]), z)
    grid.loc[grid["basis"] != "plots", ["t_low", "t_high"]] = np.nan
    return _with_basal(grid, rates)


def _fill(
    grid: pd.DataFrame,
    rows: pd.Series,
    basis: str,
    ends: tuple[np.ndarray, np.ndarray, np.ndarray],
    z: float,
) -> None:
    """Set estimate, interval, error and basis of some rows."""
    value, low, high = ends
    grid.loc[rows, "stems_per_ha"], grid.loc[rows, "low"], grid.loc[rows, "high"] = value, low, high
    grid.loc[rows, "se"] = np.maximum((high - low) / z, 1e-9)
    grid.loc[rows, "basis"] = basis


def _by_measure(
    rows: pd.Series, grid: pd.DataFrame, measured: Measured, confidence: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return density and interval as the measure has it, shared out as the plots' stems are.

    stems = R x; variance = spread x (1 + x / x of the blocks with plots).
    """
    bare, share = grid[rows], _shares(grid)[rows.to_numpy()]
    x = bare["block_id"].map(measured.size).to_numpy(dtype=float)
    stems = measured.ratio * x
    variance = measured.spread * x * (1.0 + x / measured.seen)
    value = stems * share / bare["area_ha"].to_numpy()
    seen = grid.loc[grid["plots"] > 0].groupby(CELL)["count"].sum()
    seen = seen.reindex(pd.MultiIndex.from_frame(bare[CELL])).fillna(0.0).to_numpy()
    relative = variance / np.maximum(stems, 1.0) ** 2 + 1.0 / (seen + 0.5)
    low, high = _gamma_range(relative, confidence)
    floor = 0.5 / np.maximum(bare["area_ha"].to_numpy(), 1e-9)  # half a stem in the block
    return value, value * low, np.maximum(value, floor) * high


def _by_kind(
    here: np.ndarray, every: dict[str, np.ndarray], confidence: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the mean of the kind's blocks with plots, and how far another of them may lie off.

    Relative variance = a (1 + 1 / blocks) + 1 / (stems + 1/2), a the aggregation between blocks.
    """
    stems, relative = every["stems"], every["between"] + 1.0 / (every["stems"] + 0.5)
    with np.errstate(invalid="ignore", divide="ignore"):
        value, base = stems / every["ground"], (stems + 0.5) / every["ground"]
        low, high = _gamma_range(relative, confidence)
    return value[here], np.minimum(value, base * low)[here], np.maximum(value, base * high)[here]


def lean_on_kind(grid: pd.DataFrame, blocks: gpd.GeoDataFrame, confidence: float) -> pd.DataFrame:
    """Return the grid with intervals drawn in where other blocks of the kind were counted.

    Two or three plots alone leave nearly any density open; the other blocks of the kind say which
    are likely. Prior Gamma(k, k / m), m the kind's mean and 1 / k the aggregation between its
    blocks times 1 + 1 / blocks; data worth e = 1 / (1 / (y + 1/2) + a / plots) stems on
    looked x e / (y + 1/2) hectares, Gamma(k + e, k / m + ground). The block's own high end moves
    half way (on the scale of shares) to that gamma's; its low end moves to the gamma's low, but at
    most half way to the estimate. So a block unlike its kind is not talked out of what was found
    in it; the interval is never wider than the block's own and never leaves out its estimate.

    Parameters
    ----------
    grid : DataFrame
        A row a block, species and size class, with intervals of its own.
    blocks : GeoDataFrame
        block_id, brush.
    confidence : float
        Share of such intervals that hold the truth.

    References
    ----------
    bliss_fisher_1953, own reasoning (empirical Bayes over blocks of a kind)
    """
    kind = grid["block_id"].map(blocks.set_index("block_id")["brush"])
    cell, every = _kinds(grid, kind)
    rows = (grid["plots"] > 0).to_numpy() & (every["blocks"][cell] >= LEAST_TO_LEAN_ON)
    rows &= every["stems"][cell] > 0
    if not rows.any():
        return grid
    own, at = grid[rows], cell[rows]
    y = own["count"].to_numpy() + 0.5
    worth = 1.0 / (1.0 / y + own["a"].to_numpy() / own["units"].to_numpy())
    k = 1.0 / every["between"][at]
    shape = k + worth
    rate = k * every["ground"][at] / every["stems"][at] + own["looked_ha"].to_numpy() * worth / y
    tail = (1.0 - confidence) / 2.0
    low, high = (stats.gamma.ppf(chance, shape) / rate for chance in (tail, 1.0 - tail))
    value = own["stems_per_ha"].to_numpy()
    out = grid.copy()
    half_low = np.sqrt(own["low"].to_numpy() * value)
    half_high = np.sqrt(own["high"].to_numpy() * np.maximum(value, high))
    out.loc[rows, "low"] = np.maximum(own["low"].to_numpy(), np.minimum(low, half_low))
    out.loc[rows, "high"] = np.minimum(own["high"].to_numpy(), half_high)
    return out


def _kinds(grid: pd.DataFrame, kind: pd.Series) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Return each row's kind, species and class as a number, and sums over blocks with plots.

    stems, ground [ha], blocks; between = a (1 + 1 / blocks), a the aggregation between blocks.
    """
    cell, _ = pd.factorize(kind + "|" + grid["species"] + "|" + grid["size_class"])
    seen = (grid["plots"] > 0).to_numpy()
    cells = int(cell.max()) + 1
    count, looked = grid["count"].to_numpy()[seen], grid["looked_ha"].to_numpy()[seen]
    at = cell[seen]
    stems = np.bincount(at, count, minlength=cells)
    ground = np.bincount(at, looked, minlength=cells)
    number = np.bincount(at, minlength=cells).astype(float)
    size = looked / (ground / np.maximum(number, 1.0))[at]
    groups = (stems, number, np.arange(cells))
    a = mean_aggregation((count, size, at), groups, cells, BETWEEN_BLOCKS)
    between = a * (1.0 + 1.0 / np.maximum(number, 1.0))
    return cell, {"stems": stems, "ground": ground, "blocks": number, "between": between}


def _gamma_range(relative: np.ndarray, confidence: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the ends, as shares of the mean, of a gamma quantity of this relative variance."""
    shape = 1.0 / np.maximum(relative, 1e-9)
    tail = (1.0 - confidence) / 2.0
    return stats.gamma.ppf(tail, shape) / shape, stats.gamma.ppf(1.0 - tail, shape) / shape


def _shares(grid: pd.DataFrame) -> np.ndarray:
    """Return for each row the share of its block's stems that falls to its species and class.

    Shares are those of the plots on the property, among the block's own targets; a cell that no
    plot could have held takes the mean of the others, and where none was found all are alike.
    """
    dense = grid[grid["plots"] > 0]
    stems = (dense["stems_per_ha"] * dense["area_ha"]).groupby([dense[c] for c in CELL]).sum()
    unseen = float(stems.mean()) if len(stems) and stems.sum() > 0 else 1.0
    weight = stems.reindex(pd.MultiIndex.from_frame(grid[CELL])).fillna(unseen)
    by_row = pd.Series(weight.to_numpy(), index=grid.index)
    summed = by_row.groupby(grid["block_id"]).transform("sum")
    alike = 1.0 / grid.groupby("block_id")["species"].transform("size")
    return (by_row / summed.where(summed > 0)).fillna(alike).to_numpy()


def _with_basal(grid: pd.DataFrame, rates: Rates) -> pd.DataFrame:
    """Return the grid with the basal area of borrowed rows: their stems times a mean stem's."""
    middle = rates.sizes.set_index("size_class")["mid_cm"].astype(float)
    one = np.pi / 4 * (middle / 100) ** 2
    by_class = grid["size_class"].map(one).fillna(one.mean())  # all classes in one: each alike
    dense = grid[grid["plots"] > 0]
    seen = dense.groupby(CELL)[["count", "basal"]].sum()
    mean = (seen["basal"] / seen["count"].where(seen["count"] > 0)).reindex(
        pd.MultiIndex.from_frame(grid[CELL])
    )
    each = pd.Series(mean.to_numpy(), index=grid.index).fillna(by_class)
    bare = grid["plots"] == 0
    grid.loc[bare, "basal_m2_per_ha"] = grid["stems_per_ha"] * each
    grid.loc[bare, "basal_se"] = grid["se"] * each
    return grid
