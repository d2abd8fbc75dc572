"""Bring the tally into size classes and lay zeros where nothing was found."""

import numpy as np
import pandas as pd


def size_class_of(tally: pd.DataFrame, sizes: pd.DataFrame) -> pd.Series:
    """Return the size class of each row, from its diameter, else from its size word.

    Parameters
    ----------
    tally : DataFrame
        dbh_cm, size.
    sizes : DataFrame
        The handbook's size classes.

    References
    ----------
    own reasoning
    """
    edges = [-np.inf, *sizes["dbh_low_cm"].astype(float).tolist()[1:], np.inf]
    names = sizes["size_class"].tolist()
    # a stem with a diameter is past breast height: 0 is a seedling, above 0 is under 1 in or more
    edges[1] = 1e-9
    dbh = pd.to_numeric(tally["dbh_cm"], errors="coerce")
    by_dbh = pd.cut(dbh, edges, right=False, labels=names).astype(object)
    by_word = tally["size"].map(dict(zip(sizes["word"], names, strict=True)))
    return by_dbh.where(dbh.notna(), by_word)


def plot_counts(
    plots: pd.DataFrame, tally: pd.DataFrame, cells: pd.DataFrame, sizes: pd.DataFrame
) -> pd.DataFrame:
    """Return one row a visited plot and cell with its count (zeros included) and its area.

    Stems thinner than the plot's break are counted in the inner circle only. A class that lies
    wholly below the break has the inner circle's area; where the break falls inside a class, its
    inner stems are brought to the outer circle's area: count x outer / inner.

    Parameters
    ----------
    plots : DataFrame
        As ``walk/plots``.
    tally : DataFrame
        plot_id, species, dbh_cm, size_class, count of the stems that count.
    cells : DataFrame
        species, size_class: the pairs to lay out.
    sizes : DataFrame
        The handbook's size classes.

    Returns
    -------
    DataFrame
        plot_id, block_id, species, size_class, count [stems], expanded [stems on area_ha],
        area_ha [ha].

    References
    ----------
    own reasoning
    """
    visited = plots.loc[plots["visited"].astype(bool)]
    frame = visited[
        ["plot_id", "block_id", "inside_ha", "small_inside_ha", "small_below_cm"]
    ].merge(cells, how="cross")
    top = frame["size_class"].map(sizes.set_index("size_class")["dbh_high_cm"].astype(float))
    small = top <= frame["small_below_cm"].astype(float) + 1e-6
    frame["area_ha"] = np.where(small, frame["small_inside_ha"], frame["inside_ha"])
    keys = ["plot_id", "species", "size_class"]
    stems = tally.assign(inner=_inner(tally, visited, sizes) * tally["count"])
    counted = stems.groupby(keys)[["count", "inner"]].sum()
    own = counted.reindex(pd.MultiIndex.from_frame(frame[keys])).fillna(0.0)
    frame["count"] = own["count"].to_numpy(dtype=float)
    inner_ha = frame["small_inside_ha"].where(frame["small_inside_ha"] > 0, frame["inside_ha"])
    lifted = frame["inside_ha"] / inner_ha - 1.0
    frame["expanded"] = frame["count"] + np.where(small, 0.0, own["inner"] * lifted.to_numpy())
    columns = ["plot_id", "block_id", "species", "size_class", "count", "expanded", "area_ha"]
    return frame[columns]


def _inner(tally: pd.DataFrame, plots: pd.DataFrame, sizes: pd.DataFrame) -> pd.Series:
    """Return whether each row's stems are counted in the inner circle: thinner than the break.

    A row without a diameter has its class's middle.
    """
    below = tally["plot_id"].map(plots.set_index("plot_id")["small_below_cm"]).astype(float)
    middle = tally["size_class"].map(sizes.set_index("size_class")["mid_cm"]).astype(float)
    dbh = pd.to_numeric(tally["dbh_cm"], errors="coerce").fillna(middle)
    return dbh < below - 1e-6
