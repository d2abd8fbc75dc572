"""Stems per hectare by block, species and size class, with an error that does not flatter.

The estimate of a block is a ratio of means: stems counted over ground looked at. Few plots in a
block say little about how uneven it is, so the unevenness is pooled over the blocks of one kind
(the same brush): variance = phi x mean, phi from the residuals of all plots of the kind. The
interval is that of a Poisson count with n / phi effective stems (gamma quantiles with half a stem
added), widened for the uncertainty of phi: it never goes below zero and stands for a zero count.
"""

import geopandas as gpd
import numpy as np
import pandas as pd
from scipy import stats

from clearing.allometry import upper_height_m
from clearing.rates import Rates, load
from clearing.survey.tally import plot_counts, size_class_of
from clearing.tables import columns

ALL = "all"
NOT_COUNTED = ("dead",)  # states that are no live stem


def estimate_stocking(
    blocks: gpd.GeoDataFrame,
    plots: gpd.GeoDataFrame,
    tally: pd.DataFrame,
    confidence: float = 0.9,
    rates: Rates | None = None,
) -> pd.DataFrame:
    """Return stems per hectare by block, target species and size class.

    Parameters
    ----------
    blocks, plots : GeoDataFrame
        As ``walk/blocks`` and ``walk/plots``.
    tally : DataFrame
        As ``owner/tally`` in metric.
    confidence : float
        Share of such intervals that hold the truth.
    rates : Rates
        Size classes, heights, density guesses.

    Returns
    -------
    DataFrame
        As ``walk/stocking``.

    References
    ----------
    cochran_1977, garwood_1936
    """
    cells = _cells(blocks, _known(rates).sizes["size_class"].tolist())
    return _estimate(blocks, plots, tally, cells, confidence, _known(rates))


def estimate_totals(
    blocks: gpd.GeoDataFrame,
    plots: gpd.GeoDataFrame,
    tally: pd.DataFrame,
    confidence: float = 0.9,
    rates: Rates | None = None,
) -> pd.DataFrame:
    """Return stems per hectare by block and target species, all size classes together.

    Stems of the inner and the outer circle are each expanded by their own area before they are
    added, so that the interval is that of the sum.

    Parameters, returns and errors as in `estimate_stocking`, with ``size_class`` = all.

    References
    ----------
    cochran_1977, garwood_1936
    """
    return _estimate(blocks, plots, tally, _cells(blocks, [ALL]), confidence, _known(rates))


def ranges_that_add_up(stocking: pd.DataFrame, totals: pd.DataFrame) -> pd.DataFrame:
    """Return the stocking with ranges of size classes that sum to the range of all classes.

    The interval of each class holds on its own; added up, twelve such intervals would say far less
    than the plots do. For hours and doses each class's range is drawn in so that the classes of a
    species together have the range of its total: low_i = s_i - (s_i - l_i) (S - L) / sum(s - l),
    and so for high; never wider than the class's own.

    Parameters
    ----------
    stocking, totals : DataFrame
        As `estimate_stocking` and `estimate_totals` give them.

    Returns
    -------
    DataFrame
        As ``walk/stocking``, row by row as it came.

    References
    ----------
    own reasoning
    """
    keys = ["block_id", "species"]
    out = stocking.copy()
    whole = stocking[keys].merge(totals, on=keys, how="left").set_index(stocking.index)
    for end in ("low", "high"):
        off = stocking[end] - stocking["stems_per_ha"]
        summed = off.groupby([stocking["block_id"], stocking["species"]]).transform("sum")
        wanted = whole[end] - whole["stems_per_ha"]
        share = (wanted / summed.where(summed != 0)).fillna(1.0).clip(0.0, 1.0)
        out[end] = stocking["stems_per_ha"] + off * share
    return out


def _known(rates: Rates | None) -> Rates:
    """Return the rates given, else the handbook."""
    return load() if rates is None else rates


def _cells(blocks: gpd.GeoDataFrame, classes: list[str]) -> pd.DataFrame:
    """Return every pair of target species and size class."""
    species = sorted({name for text in blocks["targets"] for name in text.split()})
    pairs = [(name, size) for name in species for size in classes]
    return pd.DataFrame(pairs, columns=["species", "size_class"])


def _estimate(
    blocks: gpd.GeoDataFrame,
    plots: gpd.GeoDataFrame,
    tally: pd.DataFrame,
    cells: pd.DataFrame,
    confidence: float,
    rates: Rates,
) -> pd.DataFrame:
    """Return the estimate of each block and cell from plots, else kind, else guess."""
    counts = _counts(plots, tally, cells, rates)
    kinds = blocks.set_index("block_id")["brush"]
    counts["kind"] = counts["block_id"].map(kinds)
    by_block = _block_sums(counts)
    pooled = _pooled_phi(counts, by_block)
    grid = blocks[["block_id", "brush", "density_guess", "area_ha", "targets"]].merge(
        cells, how="cross"
    )
    wanted = [sp in text.split() for sp, text in zip(grid["species"], grid["targets"], strict=True)]
    grid = grid[wanted].rename(columns={"brush": "kind"})
    keys = ["block_id", "species", "size_class"]
    grid = grid.merge(by_block, on=keys, how="left", suffixes=("", "_plots"))
    grid = grid.merge(pooled, on=["kind", "species", "size_class"], how="left")
    grid[["plots", "kind_plots", "count", "looked_ha"]] = grid[
        ["plots", "kind_plots", "count", "looked_ha"]
    ].fillna(0.0)
    grid = _interval(grid, confidence)
    grid = _borrow(grid, confidence, rates)
    grid["upper_height_m"] = _upper_heights(grid, tally, rates)
    out = grid.assign(plots=grid["plots"].astype(int), kind_plots=grid["kind_plots"].astype(int))
    return out[columns("stocking")].reset_index(drop=True)


def _counts(
    plots: gpd.GeoDataFrame, tally: pd.DataFrame, cells: pd.DataFrame, rates: Rates
) -> pd.DataFrame:
    """Return counts by plot and cell; ``expanded`` is what the count stands for on ``area_ha``."""
    status = tally["status"].where(tally["status"].notna(), "live")
    keep = tally["keep"].map(lambda cell: cell is True)
    live = tally[~keep.astype(bool) & ~status.isin(NOT_COUNTED)].copy()
    live["size_class"] = size_class_of(live, rates.sizes)
    live["count"] = pd.to_numeric(live["count"]).astype(float)
    if set(cells["size_class"]) != {ALL}:
        return plot_counts(plots, live, cells, rates.sizes)
    classes = pd.DataFrame({"size_class": rates.sizes["size_class"]})
    every = cells[["species"]].drop_duplicates().merge(classes, how="cross")
    frame = plot_counts(plots, live, every, rates.sizes)
    outer = plots.set_index("plot_id")["inside_ha"].reindex(frame["plot_id"]).to_numpy()
    frame["expanded"] = frame["expanded"] * outer / frame["area_ha"].to_numpy()
    frame["area_ha"] = outer
    summed = frame.groupby(["plot_id", "block_id", "species"], as_index=False).agg(
        count=("count", "sum"), expanded=("expanded", "sum"), area_ha=("area_ha", "first")
    )
    return summed.assign(size_class=ALL)


def _block_sums(counts: pd.DataFrame) -> pd.DataFrame:
    """Return plots, stems and ground looked at by block and cell."""
    return counts.groupby(["block_id", "species", "size_class"], as_index=False).agg(
        plots=("plot_id", "nunique"), count=("expanded", "sum"), looked_ha=("area_ha", "sum")
    )


def _pooled_phi(counts: pd.DataFrame, by_block: pd.DataFrame) -> pd.DataFrame:
    """Return the variance over the mean of counts, pooled over the blocks of a kind.

    phi = sum((y - m)^2 / m) / (plots - blocks), m the block's mean for the plot's area; one where
    nothing was found, and never below one.
    """
    keys = ["block_id", "species", "size_class"]
    frame = counts.merge(by_block, on=keys, suffixes=("", "_block"))
    frame["mean"] = frame["count_block"] / frame["looked_ha"] * frame["area_ha"]
    found = frame["mean"] > 0
    frame["off"] = np.where(
        found, (frame["expanded"] - frame["mean"]) ** 2 / frame["mean"].where(found, 1.0), 0.0
    )
    frame["in_found"] = found.astype(float)
    frame["blocks_share"] = found / frame["plots"]
    pooled = frame.groupby(["kind", "species", "size_class"], as_index=False).agg(
        kind_plots=("plot_id", "nunique"),
        off=("off", "sum"),
        n_found=("in_found", "sum"),
        blocks_found=("blocks_share", "sum"),
        kind_count=("expanded", "sum"),
        kind_ha=("area_ha", "sum"),
    )
    pooled["df"] = (pooled["n_found"] - pooled["blocks_found"]).round().clip(lower=0)
    phi = pooled["off"] / pooled["df"].where(pooled["df"] > 0)
    pooled["phi"] = phi.fillna(1.0).clip(lower=1.0)
    return pooled[
        ["kind", "species", "size_class", "kind_plots", "phi", "df", "kind_count", "kind_ha"]
    ]


def _interval(grid: pd.DataFrame, confidence: float) -> pd.DataFrame:
    """Return the grid with estimate, standard error and interval where there are plots."""
    grid = grid.copy()
    looked = grid["looked_ha"].where(grid["looked_ha"] > 0)
    left = (1.0 - looked / grid["area_ha"]).clip(lower=0.0)
    grid["stems_per_ha"] = grid["count"] / looked
    phi = grid["phi"].fillna(1.0)
    spread = (np.maximum(grid["count"], 0.5) * phi * left) ** 0.5 / looked
    grid["se"] = spread
    low, high = effective_count_interval(
        grid["count"].to_numpy(),
        (phi * left).to_numpy(),
        grid["df"].fillna(0).to_numpy(),
        confidence,
    )
    grid["low"], grid["high"] = low / looked, high / looked
    grid["basis"] = np.where(grid["plots"] > 0, "plots", "")
    return grid


def effective_count_interval(
    count: np.ndarray, phi: np.ndarray, df: np.ndarray, confidence: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return the interval of an expected count whose variance is phi times its mean.

    Quantiles of phi w Gamma(count / (phi w) + 1/2), w = (t / z)^2 for phi's degrees of freedom.

    Parameters
    ----------
    count, phi, df : array
        Stems counted, variance over mean, degrees of freedom of phi.
    confidence : float
        Share of such intervals that hold the truth.

    References
    ----------
    garwood_1936 (quantiles of the Poisson mean), own reasoning (effective count)
    """
    z = stats.norm.ppf(0.5 + confidence / 2)
    t = stats.t.ppf(0.5 + confidence / 2, np.clip(df, 2, None))
    scale = np.maximum(phi, 1e-9) * (t / z) ** 2
    tail = (1 - confidence) / 2
    shape = count / scale + 0.5
    low = np.where(count > 0, stats.gamma.ppf(tail, shape) * scale, 0.0)
    high = stats.gamma.ppf(1 - tail, shape) * scale
    return np.minimum(low, count), np.maximum(high, count)


def _borrow(grid: pd.DataFrame, confidence: float, rates: Rates) -> pd.DataFrame:
    """Return the grid with blocks without plots filled from the owner's guess, else their kind."""
    grid = grid.copy()
    for index, row in grid[grid["plots"] == 0].iterrows():
        guess = row["density_guess"]
        if not guess and row["kind_plots"] > 0:
            value = row["kind_count"] / row["kind_ha"]
            mean_blocks = max(row["kind_count"] / max(row["phi"], 1.0), 0.5)
            low, high, basis = 0.2 * value, 2.5 * value + 3.0 * value / mean_blocks, "kind"
            high = max(high, 3.0 * row["phi"] / row["kind_ha"])
        else:
            share = _class_share(grid, row)
            figure = rates.figure("guess", guess or "scattered")
            value, low, high = (each * share for each in (figure.value, figure.low, figure.high))
            basis = "guess"
        z = stats.norm.ppf(0.5 + confidence / 2)
        grid.loc[index, ["stems_per_ha", "low", "high", "se"]] = [
            value, low, high, (high - low) / (2 * z),
        ]  # fmt: skip
        grid.loc[index, "basis"] = basis
    return grid


def _class_share(grid: pd.DataFrame, row: pd.Series) -> float:
    """Return the share of a guessed density that falls to this species and size class.

    The shares are those of the plots on the property, else equal ones.
    """
    seen = grid[grid["plots"] > 0].groupby(["species", "size_class"])["count"].sum()
    cells = grid[["species", "size_class"]].drop_duplicates()
    if not len(seen) or seen.sum() <= 0:
        return 1.0 / len(cells)
    return float(seen.get((row["species"], row["size_class"]), 0.0) / seen.sum())


def _upper_heights(grid: pd.DataFrame, tally: pd.DataFrame, rates: Rates) -> pd.Series:
    """Return the upper height of the tallest stem that a class can hold [m]."""
    sizes = rates.sizes.set_index("size_class")
    top = sizes["dbh_high_cm"].astype(float).copy()
    dbh = pd.to_numeric(tally["dbh_cm"], errors="coerce")
    last = sizes.index[-1]
    biggest = dbh.max() if dbh.notna().any() else np.nan
    widest = sizes.loc[last, "mid_cm"]
    top[last] = max(float(widest), float(biggest)) if np.isfinite(biggest) else float(widest)
    heights = {
        (species, name): float(np.asarray(upper_height_m(species, np.array([top[name]]), rates))[0])
        for species in grid["species"].unique()
        for name in sizes.index
    }
    for species in grid["species"].unique():
        heights[(species, ALL)] = max(heights[(species, name)] for name in sizes.index)
    pairs = zip(grid["species"], grid["size_class"], strict=True)
    return pd.Series([heights[pair] for pair in pairs], index=grid.index)
