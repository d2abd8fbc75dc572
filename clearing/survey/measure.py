"""Combine plots with a cheap measure that covers every block: a photo count or a canopy share.

The blocks with plots are taken as a sample of all blocks. Their stems are set against the measure,
whose total over all blocks is known (ratio and regression estimators), and against plain ground.
The measure is offered only when it makes the total surer by a stated share.
"""

import math
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from scipy import stats

from clearing.tables import columns

# the owner's column -> the basis it gives, and its name in a sentence
MEASURES = {
    "photo_count": ("photo", "trees counted on the photo"),
    "cover_pct": ("cover", "share of the ground under target crowns"),
}
HELPS_BELOW = 0.9  # of the standard error without the measure; own choice
LEAST_BLOCKS = {"ratio": 4, "regression": 5}  # with plots; own choice


@dataclass(frozen=True)
class Measured:
    """A measure that helps: stems a unit of it, its size in each block, and its spread.

    ``spread`` is the mean of (y - R x)^2 / x over blocks, ``seen`` the measure in blocks with
    plots.
    """

    basis: str
    ratio: float
    size: pd.Series
    spread: float
    seen: float


def offer_measures(
    blocks: gpd.GeoDataFrame, totals: pd.DataFrame, confidence: float = 0.9
) -> pd.DataFrame:
    """Return the stems of all blocks estimated with and without each full-cover measure.

    ground: y set against hectares; ratio: total = X sum(y) / sum(x); regression: total =
    N (mean(y) + b (X / N - mean(x))); y stems and x measure of the n blocks with plots of N.
    se^2 = N^2 / n (1 - n / N) s^2 + N / n sum(se_i^2), s^2 of the residuals and se_i the error of
    each block's own plots (two stages).

    Parameters
    ----------
    blocks : GeoDataFrame
        block_id, area_ha and, where the owner gives them for every block, photo_count [trees] and
        cover_pct [percent].
    totals : DataFrame
        As `estimate_totals` gives them.
    confidence : float
        Share of such intervals that hold the truth.

    Returns
    -------
    DataFrame
        A row an estimator: measure (ground, photo_count, cover_pct), estimator, blocks with
        plots, total, se, low, high [stems], df, helps, why (a sentence).

    References
    ----------
    cochran_1977
    """
    frame = _by_block(blocks, totals)
    plain = _row("ground", "ratio", frame, frame["area_ha"].to_numpy(), confidence)
    why = "stems per hectare of the blocks with plots, over all ground"
    rows = [plain | {"helps": False, "why": why}]
    for name in MEASURES:
        size = _measure_of(blocks, name)
        for estimator in ("ratio", "regression") if size is not None else ():
            found = _row(name, estimator, frame, np.asarray(size), confidence)
            rows.append(found | _judged(found, plain))
    return pd.DataFrame(rows)[columns("offers")]


def _judged(found: dict[str, Any], plain: dict[str, Any]) -> dict[str, Any]:
    """Return whether a measure makes the total surer, and a sentence that says so."""
    words, least = MEASURES[found["measure"]][1], LEAST_BLOCKS[found["estimator"]]
    if found["blocks"] < least:
        why = f"{words}: {found['blocks']} blocks with plots, {least} are needed"
        return {"helps": False, "why": why}
    if not math.isfinite(found["se"]):
        return {"helps": False, "why": f"{words}: it is nought, or alike, in blocks with plots"}
    if plain["se"] == 0:
        return {"helps": False, "why": f"{words}: without it the stems are known without error"}
    share = found["se"] / plain["se"]
    why = f"{words}: standard error {100 * share:.0f} % of that without it"
    return {"helps": share < HELPS_BELOW, "why": why}


def best_measure(blocks: gpd.GeoDataFrame, totals: pd.DataFrame) -> Measured | None:
    """Return the measure whose ratio makes the total surest, or none when none helps.

    References
    ----------
    cochran_1977
    """
    if not any(_measure_of(blocks, name) is not None for name in MEASURES):
        return None
    offers = offer_measures(blocks, totals)
    good = offers[offers["helps"] & (offers["estimator"] == "ratio")]
    if not len(good):
        return None
    name = str(good.sort_values("se", kind="stable")["measure"].iloc[0])
    size = _measure_of(blocks, name)
    assert size is not None
    frame = _by_block(blocks, totals)
    seen = frame["plots"].to_numpy() > 0
    x, y = size.to_numpy()[seen], frame["stems"].to_numpy()[seen]
    ratio = float(y.sum() / x.sum())
    some = x > 0
    spread = float(((y - ratio * x)[some] ** 2 / x[some]).sum() / max(some.sum() - 1, 1))
    return Measured(MEASURES[name][0], ratio, size, spread, float(x.sum()))


def _by_block(blocks: gpd.GeoDataFrame, totals: pd.DataFrame) -> pd.DataFrame:
    """Return ground, plots, stems and their variance of each block, all species together.

    Stems and variance are blank where nobody looked.
    """
    own = totals[totals["basis"] == "plots"]
    stems = own["stems_per_ha"].groupby(own["block_id"]).sum()
    variance = (own["se"] ** 2).groupby(own["block_id"]).sum()
    ids, area = blocks["block_id"], blocks["area_ha"].to_numpy(dtype=float)
    return pd.DataFrame(
        {
            "area_ha": area,
            "plots": ids.isin(own["block_id"]).astype(int).to_numpy(),
            "stems": stems.reindex(ids).to_numpy() * area,
            "variance": variance.reindex(ids).to_numpy() * area**2,
        }
    )


def _measure_of(blocks: gpd.GeoDataFrame, name: str) -> pd.Series | None:
    """Return the measure of every block, or none where it is not there for all."""
    if name not in blocks:
        return None
    values = pd.to_numeric(blocks[name], errors="coerce")
    if values.isna().any() or values.sum() <= 0:
        return None
    size = values * blocks["area_ha"] / 100.0 if name == "cover_pct" else values
    return pd.Series(size.to_numpy(dtype=float), index=blocks["block_id"])


def _row(
    measure: str, estimator: str, frame: pd.DataFrame, x_all: np.ndarray, confidence: float
) -> dict[str, Any]:
    """Return one estimate of the stems of all blocks."""
    seen = frame["plots"].to_numpy() > 0
    x, y = x_all[seen], frame["stems"].to_numpy()[seen]
    n, units, x_total = len(y), len(frame), float(x_all.sum())
    base: dict[str, Any] = {"measure": measure, "estimator": estimator, "blocks": n}
    off = x - x.mean() if n else x
    flat = estimator == "regression" and (n < 3 or not (off**2).sum() > 0)
    if n < 2 or not x.sum() > 0 or flat:
        return base | dict.fromkeys(("total", "se", "low", "high"), np.nan) | {"df": n - 1}
    if estimator == "ratio":
        ratio, df = y.sum() / x.sum(), n - 1
        total, residual = ratio * x_total, y - ratio * x
    else:
        slope, df = (off * y).sum() / (off**2).sum(), n - 2
        total = units * (y.mean() + slope * (x_total / units - x.mean()))
        residual = y - y.mean() - slope * off
    between = units**2 / n * (1.0 - n / units) * (residual**2).sum() / df
    se = float(np.sqrt(between + units / n * frame["variance"].to_numpy()[seen].sum()))
    half = float(stats.t.ppf(0.5 + confidence / 2, df)) * se
    ends = {"total": float(total), "se": se, "low": max(float(total) - half, 0.0)}
    return base | ends | {"high": float(total) + half, "df": df}
