"""Bring the tally into size classes and onto the ground it was counted on."""

import numpy as np
import pandas as pd

NOT_COUNTED = ("dead",)  # states that are no live stem


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


def live_targets(tally: pd.DataFrame, sizes: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of stems that are work (no keep trees, no dead), classed and measured.

    Parameters
    ----------
    tally : DataFrame
        As ``owner/tally`` in metric.
    sizes : DataFrame
        The handbook's size classes.

    Returns
    -------
    DataFrame
        plot_id, species, size_class, count [stems], dbh_cm (the class's middle where no diameter
        was measured).

    References
    ----------
    own reasoning
    """
    keep = tally["keep"].eq(True).fillna(False).astype(bool)
    live = tally[~keep & ~tally["status"].isin(NOT_COUNTED)]
    size = size_class_of(live, sizes)
    middle = size.map(sizes.set_index("size_class")["mid_cm"]).astype(float)
    return pd.DataFrame(
        {
            "plot_id": live["plot_id"],
            "species": live["species"],
            "size_class": size,
            "count": pd.to_numeric(live["count"]).astype(float),
            "dbh_cm": pd.to_numeric(live["dbh_cm"], errors="coerce").fillna(middle),
        }
    )


def ground_of_classes(plots: pd.DataFrame, sizes: pd.DataFrame) -> np.ndarray:
    """Return the ground of each plot on which each size class is counted [ha].

    A class that lies wholly below the plot's break is counted in the inner circle; where the break
    falls inside a class, its ground is the outer circle's.

    Parameters
    ----------
    plots : DataFrame
        inside_ha, small_inside_ha, small_below_cm.
    sizes : DataFrame
        The handbook's size classes.

    Returns
    -------
    array (plots, classes)

    References
    ----------
    own reasoning
    """
    top = sizes["dbh_high_cm"].astype(float).to_numpy()
    breaks = pd.to_numeric(plots["small_below_cm"]).astype(float).to_numpy()[:, None]
    inner = plots["small_inside_ha"].to_numpy(dtype=float)[:, None]
    outer = plots["inside_ha"].to_numpy(dtype=float)[:, None]
    return np.where(top[None, :] <= breaks + 1e-6, inner, outer)


def stems_on_plots(
    plots: pd.DataFrame, stems: pd.DataFrame, ground: np.ndarray, sizes: pd.DataFrame
) -> pd.DataFrame:
    """Return counts by plot, species and size class, on the ground of the class.

    Stems thinner than the plot's break are counted in the inner circle only. Where the class's
    ground is the outer circle they are brought to it: count x outer / inner.

    Parameters
    ----------
    plots : DataFrame
        As ``walk/plots``; the visited ones.
    stems : DataFrame
        As `live_targets` gives them.
    ground : array (plots, classes) or (plots, 1)
        Ground on which counts are wanted [ha]; one column adds all classes together.
    sizes : DataFrame
        The handbook's size classes.

    Returns
    -------
    DataFrame
        plot, size (positions), species, count [stems on that ground], basal [m2 on that ground].
        Plots on which none was found have no row.

    References
    ----------
    own reasoning
    """
    place = pd.Index(plots["plot_id"]).get_indexer(stems["plot_id"])
    size = pd.Index(sizes["size_class"]).get_indexer(stems["size_class"])
    known = (place >= 0) & (size >= 0)
    place, size, stems = place[known], size[known], stems[known]
    size = size if ground.shape[1] > 1 else np.zeros_like(size)
    dbh = stems["dbh_cm"].to_numpy(dtype=float)
    breaks = pd.to_numeric(plots["small_below_cm"]).astype(float).to_numpy()[place]
    inner_ha = plots["small_inside_ha"].to_numpy(dtype=float)[place]
    outer_ha = plots["inside_ha"].to_numpy(dtype=float)[place]
    counted_ha = np.where((dbh < breaks - 1e-6) & (inner_ha > 0), inner_ha, outer_ha)
    lifted = stems["count"].to_numpy(dtype=float) * ground[place, size] / counted_ha
    frame = pd.DataFrame(
        {"plot": place, "size": size, "species": stems["species"].to_numpy(), "count": lifted,
         "basal": lifted * np.pi / 4 * (dbh / 100) ** 2}
    )  # fmt: skip
    frame = frame[frame["count"] > 0]
    return frame.groupby(["plot", "species", "size"], as_index=False)[["count", "basal"]].sum()
