"""Stems per hectare by block, species and size class, with an error that does not flatter.

The estimate of a block is a ratio of means: stems counted over ground looked at, so that a plot
over the block's edge counts with the exact area it has inside. Few plots in a block say little
about how uneven it is; the unevenness is that of all plots in blocks of one kind (the same brush),
see `clumping`. Beside the interval stands the plain t interval of the block's own plots.
"""

import math
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from scipy import stats

from clearing.allometry import upper_height_m
from clearing.rates import Rates, load
from clearing.survey.borrowing import borrow, lean_on_kind
from clearing.survey.clumping import clumped_count_interval, clumped_se, mean_aggregation
from clearing.survey.measure import Measured, best_measure
from clearing.survey.tally import ground_of_classes, live_targets, stems_on_plots
from clearing.tables import columns

ALL = "all"
KEYS = ["block_id", "species", "size_class"]


@dataclass(frozen=True)
class Counted:
    """Sums over the visited plots of each block: arrays of blocks x species x classes.

    ``looked``, ``looked2`` [ha, ha2] are blocks x classes; ``kind`` is each block's kind as a
    number; ``a`` the aggregation of each kind, species and class; ``units`` the ground looked at
    in mean plots of the kind.
    """

    count: np.ndarray
    basal: np.ndarray
    off: np.ndarray
    basal_off: np.ndarray
    looked: np.ndarray
    plots: np.ndarray
    kind: np.ndarray
    a: np.ndarray
    units: np.ndarray


def estimate_stocking(
    blocks: gpd.GeoDataFrame,
    plots: gpd.GeoDataFrame,
    tally: pd.DataFrame,
    confidence: float = 0.9,
    rates: Rates | None = None,
) -> pd.DataFrame:
    """Return stems per hectare by block, target species and size class.

    density = sum(y) / sum(a), y stems and a ground inside the block of each plot; basal area the
    same with pi/4 dbh^2; quadratic mean diameter = sqrt(4 basal / (pi density)). The standard
    error is that of a clumped count, the interval `clumped_count_interval`. The centres of circles
    are an infinite population and circles overlap, so that no finite-population correction
    applies until half of the block was looked at; from there it falls to nought where all of it
    was: f = min(1, 2 (1 - looked / area)). t_low and t_high are the plain interval
    density -+ t sqrt(sum((y - density a)^2) n / (n - 1)) / sum(a), without it.

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
        As ``walk/stocking``. A block without plots takes a full-cover measure of the owner's where
        that helps (basis ``photo`` or ``cover``), else his guess, else its kind, and says so.

    References
    ----------
    cochran_1977, bliss_fisher_1953, garwood_1936
    """
    known = load() if rates is None else rates
    measured = None
    if (_plots_in(blocks, plots) == 0).any():
        totals = _estimate((blocks, plots, tally), True, confidence, known, None)
        measured = best_measure(blocks, totals)
    return _estimate((blocks, plots, tally), False, confidence, known, measured)


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
    cochran_1977, bliss_fisher_1953, garwood_1936
    """
    known = load() if rates is None else rates
    found = _estimate((blocks, plots, tally), True, confidence, known, None)
    measured = best_measure(blocks, found)
    if measured is None or (found["plots"] > 0).all():
        return found
    return _estimate((blocks, plots, tally), True, confidence, known, measured)


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


def _estimate(
    layers: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame, pd.DataFrame],
    together: bool,
    confidence: float,
    rates: Rates,
    measured: Measured | None,
) -> pd.DataFrame:
    """Return the estimate of each block and cell from plots, else measure, guess or kind."""
    blocks, _, tally = layers
    species = sorted({name for text in blocks["targets"] for name in text.split()})
    classes = [ALL] if together else rates.sizes["size_class"].tolist()
    counted = _counted(layers, species, rates, together)
    wanted = np.array([[name in text.split() for name in species] for text in blocks["targets"]])
    at = np.nonzero(np.repeat(wanted.reshape(len(blocks), -1, 1), len(classes), axis=2))
    grid = _rows(blocks, species, classes, counted, at)
    grid = _with_interval(grid, confidence)
    grid = lean_on_kind(grid, blocks, confidence)
    grid = borrow(grid, blocks, rates, confidence, measured)
    grid["block_stems"] = grid["stems_per_ha"] * grid["area_ha"]
    with np.errstate(invalid="ignore", divide="ignore"):
        mean_m2 = grid["basal_m2_per_ha"] / grid["stems_per_ha"].where(grid["stems_per_ha"] > 0)
    grid["qmd_cm"] = 100.0 * np.sqrt(4.0 / np.pi * mean_m2)
    grid["upper_height_m"] = _upper_heights(grid, tally, rates)
    return grid[columns("stocking")].reset_index(drop=True)


def _plots_in(blocks: gpd.GeoDataFrame, plots: gpd.GeoDataFrame) -> np.ndarray:
    """Return the visited plots of each block."""
    here = plots.loc[plots["visited"].astype(bool), "block_id"].value_counts()
    return here.reindex(blocks["block_id"]).fillna(0).to_numpy(dtype=int)


def _counted(
    layers: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame, pd.DataFrame],
    species: list[str],
    rates: Rates,
    together: bool,
) -> Counted:
    """Return the sums over plots, with the aggregation of each kind of block."""
    blocks, plots, tally = layers
    home = pd.Index(blocks["block_id"]).get_indexer(plots["block_id"])
    here = plots["visited"].to_numpy(dtype=bool) & (home >= 0)
    plots, home = plots[here], home[here]
    whole = plots[["inside_ha"]].to_numpy(dtype=float)
    ground = whole if together else ground_of_classes(plots, rates.sizes)
    seen = stems_on_plots(plots, live_targets(tally, rates.sizes), ground, rates.sizes)
    seen = seen[seen["species"].isin(species)]
    kind, kinds = pd.factorize(blocks["brush"])
    shape = (len(blocks), len(species), ground.shape[1])
    plot, size = seen["plot"].to_numpy(dtype=int), seen["size"].to_numpy(dtype=int)
    cell = np.ravel_multi_index(
        (home[plot], pd.Index(species).get_indexer(seen["species"]), size), shape
    )
    own = ground[plot, size]

    def summed(values: np.ndarray) -> np.ndarray:
        return np.bincount(cell, values, minlength=int(np.prod(shape))).reshape(shape)

    def by_block(values: np.ndarray) -> np.ndarray:
        out = np.zeros((len(blocks), values.shape[1]))
        np.add.at(out, home, values)
        return out

    y, b = seen["count"].to_numpy(dtype=float), seen["basal"].to_numpy(dtype=float)
    looked, squares = by_block(ground), by_block(ground**2)
    number = by_block(np.ones((len(plots), 1)))[:, 0]
    count, basal = summed(y), summed(b)
    mean_ha = _mean_plot_ha(looked, number, kind, len(kinds))
    units = (looked / mean_ha[kind])[:, None, :] * np.ones(shape)
    of_kind = (len(kinds), *shape[1:])
    to_kind = np.ravel_multi_index((kind[home[plot]], *np.unravel_index(cell, shape)[1:]), of_kind)
    groups = np.ravel_multi_index(
        (np.repeat(kind, shape[1] * shape[2]), *np.unravel_index(np.arange(count.size), shape)[1:]),
        of_kind,
    )
    a = mean_aggregation(
        (y, own / mean_ha[kind[home[plot]], size], to_kind),
        (count.ravel(), units.ravel(), groups),
        int(np.prod(of_kind)),
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        r, q = count / looked[:, None, :], basal / looked[:, None, :]
    return Counted(
        count=count,
        basal=basal,
        off=summed(y**2) - 2 * r * summed(y * own) + r**2 * squares[:, None, :],
        basal_off=summed(b**2) - 2 * q * summed(b * own) + q**2 * squares[:, None, :],
        looked=looked,
        plots=number,
        kind=kind,
        a=a.reshape(of_kind),
        units=units,
    )


def _mean_plot_ha(
    looked: np.ndarray, number: np.ndarray, kind: np.ndarray, kinds: int
) -> np.ndarray:
    """Return the ground of the mean plot by kind and class [ha]; one where nobody looked."""
    ground, plots = np.zeros((kinds, looked.shape[1])), np.zeros(kinds)
    np.add.at(ground, kind, looked)
    np.add.at(plots, kind, number)
    return np.where(plots[:, None] > 0, ground / np.maximum(plots[:, None], 1.0), 1.0)


def _rows(
    blocks: gpd.GeoDataFrame, species: list[str], classes: list[str], counted: Counted,
    at: tuple[np.ndarray, ...],
) -> pd.DataFrame:  # fmt: skip
    """Return one row a block, target species and size class with the sums that it rests on."""
    block, name, size = at
    kind = counted.kind[block]
    kind_plots = np.bincount(counted.kind, counted.plots)
    return pd.DataFrame(
        {
            "block_id": blocks["block_id"].to_numpy()[block],
            "species": np.array(species, dtype=object)[name],
            "size_class": np.array(classes, dtype=object)[size],
            "area_ha": blocks["area_ha"].to_numpy(dtype=float)[block],
            "plots": counted.plots[block].astype(int),
            "kind_plots": kind_plots[kind].astype(int),
            "count": counted.count[at],
            "basal": counted.basal[at],
            "off": counted.off[at],
            "basal_off": counted.basal_off[at],
            "looked_ha": counted.looked[block, size],
            "units": counted.units[at],
            "a": counted.a[kind, name, size],
        }
    )


def _with_interval(grid: pd.DataFrame, confidence: float) -> pd.DataFrame:
    """Return the grid with estimates, standard errors and intervals where there are plots."""
    grid = grid.copy()
    looked, n = grid["looked_ha"].where(grid["plots"] > 0), grid["plots"]
    left = (2.0 * (1.0 - looked / grid["area_ha"])).clip(0.0, 1.0).fillna(1.0)
    grid["stems_per_ha"], grid["basal_m2_per_ha"] = grid["count"] / looked, grid["basal"] / looked
    grid["se"] = clumped_se(grid["count"], grid["units"], grid["a"], left) / looked
    low, high = clumped_count_interval(grid["count"], grid["units"], grid["a"], left, confidence)
    grid["low"], grid["high"] = low / looked, high / looked
    several = n.where(n > 1)
    spread = (grid[["off", "basal_off"]].clip(lower=0).mul(several / (several - 1), axis=0)) ** 0.5
    own = spread["basal_off"] * np.sqrt(left) / looked
    alike = grid["basal_m2_per_ha"] * grid["se"] / grid["stems_per_ha"].where(grid["count"] > 0)
    grid["basal_se"] = own.fillna(alike).fillna(0.0)
    half = stats.t.ppf(0.5 + confidence / 2, (several - 1).fillna(1)) * spread["off"] / looked
    grid["t_low"], grid["t_high"] = grid["stems_per_ha"] - half, grid["stems_per_ha"] + half
    grid["basis"] = np.where(n > 0, "plots", "")
    return grid


def _upper_heights(grid: pd.DataFrame, tally: pd.DataFrame, rates: Rates) -> pd.Series:
    """Return the upper height of the tallest stem that a class can hold [m]."""
    biggest = float(pd.to_numeric(tally["dbh_cm"], errors="coerce").max())
    heights = {
        (species, name): height
        for species in grid["species"].unique()
        for name, height in class_heights(species, rates, biggest).items()
    }
    pairs = zip(grid["species"], grid["size_class"], strict=True)
    return pd.Series([heights[pair] for pair in pairs], index=grid.index)


def class_heights(species: str, rates: Rates, biggest_cm: float = math.nan) -> dict[str, float]:
    """Return the upper height of the tallest stem that each size class, and all, can hold [m].

    Parameters
    ----------
    species : str
        The owner's species.
    rates : Rates
        Size classes and heights.
    biggest_cm : float
        Thickest stem that was measured [cm]; the last class is taken that far, but no less than
        its middle.

    References
    ----------
    usfs_growth_model, mcpherson_2016
    """
    sizes = rates.sizes.set_index("size_class")
    top, last = sizes["dbh_high_cm"].astype(float).to_numpy().copy(), sizes.index[-1]
    top[-1] = np.fmax(float(sizes.loc[last, "mid_cm"]), biggest_cm)
    tall = np.asarray(upper_height_m(species, top, rates), dtype=float).tolist()
    return dict(zip(sizes.index, tall, strict=True)) | {ALL: max(tall)}
