"""Add rows up by whole-number keys, which is much quicker than by names."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike


def key_of_year(code: ArrayLike, year: ArrayLike) -> np.ndarray:
    """Return one whole number for each pair of a code and a year, in their order.

    References
    ----------
    own reasoning
    """
    years = np.asarray(year, dtype=np.int64)
    first, last = (int(years.min()), int(years.max())) if len(years) else (0, 0)
    return np.asarray(code, dtype=np.int64) * (last - first + 1) + years - first


def added_up(
    frame: pd.DataFrame, key: np.ndarray, names: Sequence[str], kept: Sequence[str]
) -> pd.DataFrame:
    """Return one row a key, in order: the sums of some columns, and others as they stand first.

    Parameters
    ----------
    frame : DataFrame
        Columns to add up and to keep.
    key : array of int
        One a row.
    names, kept : sequence of str
        Columns to add up, and those that are the same all over a key.

    References
    ----------
    own reasoning
    """
    _, at, of = np.unique(key, return_index=True, return_inverse=True)
    out = frame[list(kept)].take(at).reset_index(drop=True)
    for name in names:
        weights = frame[name].to_numpy(dtype=float)
        out[name] = np.bincount(of, weights=weights, minlength=len(at)) if len(at) else weights
    return out
