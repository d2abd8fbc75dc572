"""Say who stands behind a figure: the list of sources, read once."""

import functools
from collections.abc import Iterable
from importlib import resources

import pandas as pd


@functools.cache
def source_table() -> pd.DataFrame:
    """Return all sources: key, authors, year, title, publisher; all text.

    References
    ----------
    own reasoning
    """
    path = resources.files("clearing") / "data" / "sources.csv"
    with path.open(encoding="utf-8") as stream:
        return pd.read_csv(stream, dtype=str, keep_default_na=False)


def source_rows(keys: Iterable[str]) -> pd.DataFrame:
    """Return the rows of the given keys, in the order of the keys, each once.

    Parameters
    ----------
    keys : iterable of str
        As they stand in the handbook's ``source`` columns; unknown keys are left out.

    References
    ----------
    own reasoning
    """
    table = source_table().set_index("key")
    known = [key for key in dict.fromkeys(keys) if key in table.index]
    return table.loc[known].reset_index()
