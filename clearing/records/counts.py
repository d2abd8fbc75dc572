"""Part the tally into counts before treatment and counts after it."""

from collections.abc import Mapping

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing.survey import size_class_of
from clearing.survey.tally import ground_of_classes

ONE_LOOK_DAYS = 90  # counts of a plot within so many days are one look at it; own choice
AFTER = ("dead", "resprout", "new")  # states that only a plot visited again has
FOUND = ["plot_id", "strip_id", "date", "species", "size_class", "dead", "resprout", "new", "live"]
LOOKED = ["plot_id", "strip_id", "date", "species", "size_class"]


def plots_in_strips(plots: gpd.GeoDataFrame, strips: gpd.GeoDataFrame) -> pd.Series:
    """Return the strip in which each plot's center lies, by plot_id; plots in none are left out.

    Parameters
    ----------
    plots, strips : GeoDataFrame
        As ``walk/plots`` and ``walk/strips``.

    References
    ----------
    own reasoning
    """
    if not len(plots) or not len(strips):
        return pd.Series(dtype=object)
    joined = gpd.sjoin(
        plots[["plot_id", "geometry"]], strips[["strip_id", "geometry"]], predicate="intersects"
    )
    return joined.drop_duplicates("plot_id").set_index("plot_id")["strip_id"]


def parted_tally(
    tally: pd.DataFrame, strip_of: pd.Series, treated: Mapping[str, pd.Timestamp]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the rows that say what stood before treatment, and those that say what came of it.

    Before: of each plot the newest look that is not later than its strip's first treatment; rows
    without a date are as old as the survey, those of stems found dead, sprouted again or new
    belong to no look before. After: dated rows later than the treatment.

    Parameters
    ----------
    tally : DataFrame
        As ``owner/tally`` in metric.
    strip_of : Series
        Strip of each plot.
    treated : mapping
        Strip -> day of its first treatment.

    References
    ----------
    own reasoning
    """
    if not len(tally) or tally["date"].isna().all():
        return tally, tally.iloc[:0]
    day = pd.to_datetime(tally["date"], errors="coerce")
    begun = pd.to_datetime(tally["plot_id"].map(strip_of).map(dict(treated)))
    late = (day > begun) & begun.notna()
    only_later = tally["status"].isin(AFTER) & day.notna()
    early, when = tally[~late & ~only_later], day[~late & ~only_later]
    newest = when.groupby(early["plot_id"]).transform("max")
    old = (newest - when).dt.days > ONE_LOOK_DAYS
    old |= when.isna() & newest.notna()
    return early[~old], tally[late]


def follow_counts(after: pd.DataFrame, strip_of: pd.Series, sizes: pd.DataFrame) -> pd.DataFrame:
    """Return what was counted after treatment, one row a plot, look, species and size class.

    Parameters
    ----------
    after : DataFrame
        As `parted_tally` gives them.
    strip_of : Series
        Strip of each plot.
    sizes : DataFrame
        The handbook's size classes.

    Returns
    -------
    DataFrame
        plot_id, strip_id, date, species, size_class, and the stems found dead, resprout, new, live.

    References
    ----------
    own reasoning
    """
    keep = after["keep"].eq(True).fillna(False).astype(bool)
    own = after[~keep & after["plot_id"].isin(strip_of.index)]
    if not len(own):
        return pd.DataFrame(columns=FOUND)
    frame = pd.DataFrame({
        "plot_id": own["plot_id"].to_numpy(),
        "strip_id": own["plot_id"].map(strip_of).to_numpy(),
        "date": pd.to_datetime(own["date"]).to_numpy(),
        "species": own["species"].to_numpy(),
        # where nothing was found no size is said; nought stems of any class are such a look
        "size_class": size_class_of(own, sizes).fillna(sizes["size_class"].iloc[0]).to_numpy(),
        "state": own["status"].fillna("live").to_numpy(),
        "count": pd.to_numeric(own["count"]).to_numpy(dtype=float),
    })  # fmt: skip
    wide = frame.pivot_table(
        index=LOOKED, columns="state", values="count", aggfunc="sum", fill_value=0.0
    )
    wide = wide.reindex(columns=["dead", "resprout", "new", "live"], fill_value=0.0)
    return wide.reset_index().rename_axis(columns=None)[FOUND]


def counts_by_stage(
    found: pd.DataFrame,
    plots: gpd.GeoDataFrame,
    sizes: pd.DataFrame,
    sprayed: Mapping[tuple[str, int], pd.Timestamp],
) -> pd.DataFrame:
    """Return what the forecast goes on from: stems by strip, year, species and stage, and ground.

    A look counts for its year, or for the next where that year's follow-up had been made by then.
    Of several looks in one year the last of each plot stands. Clumps on stumps are resprouts, new
    and live ones stems of their class (seedlings may be root suckers, which look the same). What a
    look does not name was not there. Clumps of sizes that are counted on a smaller plot stand for
    as many more on the whole of it.

    Parameters
    ----------
    found : DataFrame
        As `follow_counts` gives it.
    plots : GeoDataFrame
        As ``walk/plots``.
    sizes : DataFrame
        The handbook's size classes.
    sprayed : mapping
        (strip, year) -> day of that year's follow-up.

    Returns
    -------
    DataFrame
        strip_id, year, species, stage, stems, ground_ha.

    References
    ----------
    own reasoning
    """
    names = ["strip_id", "year", "species", "stage", "stems", "ground_ha"]
    if not len(found):
        return pd.DataFrame(columns=names)
    done = [sprayed.get((s, d.year)) for s, d in zip(found["strip_id"], found["date"], strict=True)]
    late = np.array([each is not None and d > each
                     for each, d in zip(done, found["date"], strict=True)])  # fmt: skip
    own = found.assign(year=found["date"].dt.year + late)
    newest = own.groupby(["plot_id", "year"])["date"].transform("max")
    own = own[own["date"] == newest]
    ground = pd.DataFrame(
        ground_of_classes(plots, sizes), index=plots["plot_id"], columns=sizes["size_class"]
    )
    classes = [*sizes["size_class"]]
    rows = []
    for (strip, year), look in own.groupby(["strip_id", "year"]):
        on = ground.loc[sorted(look["plot_id"].unique())].sum()
        for species, part in look.groupby("species"):
            seen = part.groupby("size_class")[["live", "new", "resprout"]].sum()
            seen = seen.reindex(classes, fill_value=0.0)
            stand = seen["live"] + seen["new"]
            rows += [(strip, int(year), species, c, float(stand[c]), float(on[c])) for c in classes]
            clumps = seen["resprout"] * (on.max() / on.where(on > 0)).fillna(1.0)
            rows.append((strip, int(year), species, "resprout", clumps.sum(), float(on.max())))
    return pd.DataFrame(rows, columns=names)


def kill_counts(found: pd.DataFrame, method_of: pd.DataFrame) -> pd.DataFrame:
    """Return the dead and the living of each plot by the recipe that they were treated with.

    A living stem of a class that was treated was missed or not killed: for what lies ahead it is
    the same. The last look at each plot stands, since stems go on dying.

    Parameters
    ----------
    found : DataFrame
        As `follow_counts` gives it.
    method_of : DataFrame
        strip_id, species, size_class, recipe_id, season: what was done to these stems.

    Returns
    -------
    DataFrame
        recipe_id, species, season, plot_id, dead, alive.

    References
    ----------
    own reasoning
    """
    names = ["recipe_id", "species", "season", "plot_id", "dead", "alive"]
    if not len(found) or not len(method_of):
        return pd.DataFrame(columns=names)
    last = found[found["date"] == found.groupby("plot_id")["date"].transform("max")]
    joined = last.merge(method_of, on=["strip_id", "species", "size_class"])
    joined["alive"] = joined["resprout"] + joined["live"]
    keys = ["recipe_id", "species", "season", "plot_id"]
    sums = joined.groupby(keys, as_index=False)[["dead", "alive"]].sum()
    return sums[(sums["dead"] + sums["alive"]) > 0][names].reset_index(drop=True)
