"""Say where the land stands: what was begun and done, what was counted since, and when."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import geopandas as gpd
import pandas as pd

from clearing.property import Settings
from clearing.rates import APPLIED, Rates
from clearing.records.counts import (
    counts_by_stage,
    follow_counts,
    parted_tally,
    plots_in_strips,
)
from clearing.records.done import Done, first_treatments, strips_named
from clearing.records.jobs import job_key
from clearing.records.log import in_force
from clearing.records.logged_work import SAME_JOB, work_done
from clearing.records.season_now import OVER, ahead
from clearing.tables import cell_text
from clearing.zones import split_strips

SPRAY = "follow_up"
FROM_MONTH = 7  # counts of this month and later stand for the year after; own choice


@dataclass(frozen=True)
class Standing:
    """Where the land stands on the day up to which the log goes.

    Attributes
    ----------
    settings : Settings
        Of what lies ahead: from the year and season that are not over.
    done : Done
        What was treated a first time.
    work : DataFrame
        What each job took (`logged_work.work_done`).
    logged : frozenset of (strip, job, year)
        Work in the log; jobs as `SAME_JOB` has them.
    logged_jobs : frozenset of (strip, job)
        The same in any year.
    counted_in : dict
        Block -> the plan's year that its counts before treatment stand for.
    before : DataFrame
        Rows of the tally that say what stood before treatment.
    no_survey : frozenset of str
        Plots that were first counted after treatment: no part of the survey.
    found : DataFrame
        What was counted after treatment (`counts.follow_counts`).
    seen : (DataFrame, DataFrame)
        What the forecast goes on from: counts by stage, and years without a follow-up.
    notes : tuple of str
        Sentences.
    """

    settings: Settings
    done: Done
    work: pd.DataFrame
    logged: frozenset[tuple[str, str, int]]
    logged_jobs: frozenset[tuple[str, str]]
    counted_in: dict[str, int]
    before: pd.DataFrame
    no_survey: frozenset[str]
    found: pd.DataFrame
    seen: tuple[pd.DataFrame, pd.DataFrame]
    notes: tuple[str, ...]

    def first_base(self) -> int:
        """Return the first year of which counts or work are told."""
        begun = self.done.begun["start_year"].astype(int).tolist()
        return min([self.settings.first_year, *self.counted_in.values(), *begun])


def stand(
    layers: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame],
    tables: tuple[pd.DataFrame, pd.DataFrame],
    jobs: tuple[str, ...],
    known: tuple[Rates, Settings],
    day: pd.Timestamp | None,
    planned: Mapping[str, str] | None = None,
) -> tuple[Standing, gpd.GeoDataFrame]:
    """Return where the land stands, and the strips with what was done of them cut off.

    Parameters
    ----------
    layers : GeoDataFrames
        Blocks, features, plots (as in ``walk``), and strips as they are cut without the log.
    tables : (DataFrame, DataFrame)
        The log up to the day and the tally.
    jobs : tuple of str
        Jobs that are a first treatment.
    known : (Rates, Settings)
        Figures with the seasons; the owner's settings.
    day : Timestamp or None
        The day on which the plan is made; none = nothing was logged or counted.
    planned : mapping, optional
        Strip -> the method that the last plan had for it: of several that the log may have been it
        is taken to be that.

    References
    ----------
    own reasoning
    """
    (blocks, features, plots, cut), (log, tally) = layers, tables
    rates, settings = known
    own, notes = ahead(settings, rates.seasons, day)
    done = first_treatments(log, cut, jobs, rates)
    meant = [done.parents.get(name, name) for name in done.begun["strip_id"]]
    hints = [(planned or {}).get(name, "") for name in meant]
    done = replace(done, begun=done.begun.assign(planned=hints))
    strips = split_strips(cut, done.parts, blocks, features)
    running = _running(own, rates, day)
    work = work_done(log, strips, done, rates, running)
    logged = frozenset(
        (strip, row.job, int(row.year)) for row in work.itertuples() for strip in row.strips
    )
    strip_of = plots_in_strips(plots, strips)
    treated = _first_days(log, strips, done, jobs)
    before, after = parted_tally(tally, strip_of, treated)
    found = follow_counts(after, strip_of, rates.sizes)
    late = set(found.loc[(found["dead"] + found["resprout"]) > 0, "plot_id"])
    sprayed = _spray_days(log, strips, done)
    counts = counts_by_stage(found, plots, rates.sizes, sprayed)
    skipped = _skipped(done.begun, logged, own)
    return Standing(
        settings=own,
        done=done,
        work=work,
        logged=logged,
        logged_jobs=frozenset((strip, job) for strip, job, _ in logged),
        counted_in=_counted_in(before, plots, blocks, (settings, own)),
        before=before,
        no_survey=frozenset(late - set(before["plot_id"])),
        found=found,
        seen=(counts, skipped),
        notes=(*notes, *done.notes),
    ), strips


def applied_on(applied: pd.DataFrame, strips: pd.DataFrame, done: Done) -> pd.DataFrame:
    """Return what was put out with parts of strips in place of the strips that they were cut from.

    What was logged for a strip that is in parts now lies on the parts begun in that year, else on
    all that were begun by then, by their area.

    Parameters
    ----------
    applied : DataFrame
        place, year, herbicide, product_l.
    strips : DataFrame
        strip_id, block_id, area_ha, in parts.
    done : Done
        What was treated a first time.

    References
    ----------
    own reasoning
    """
    if not done.parts or not len(applied):
        return applied
    area = strips.set_index("strip_id")["area_ha"].astype(float)
    begun = done.begun.set_index("strip_id")["start_year"].astype(int)
    rows = []
    for row in applied.itertuples(index=False):
        if str(row.place) not in done.parts:
            rows.append(tuple(row))
            continue
        parts = [name for name, _, _ in done.parts[str(row.place)] if name in begun.index]
        fresh = [name for name in parts if begun[name] == row.year]
        parts = fresh or [name for name in parts if begun[name] <= row.year] or parts
        share = area[parts] / area[parts].sum()
        rows += [(name, row.year, row.herbicide, row.product_l * share[name]) for name in parts]
    return pd.DataFrame(rows, columns=APPLIED)


def _running(own: Settings, rates: Rates, day: pd.Timestamp | None) -> tuple[int, str]:
    """Return year and season in which the day lies, where that season is not over."""
    if day is None or own.first_year > day.year:
        return (0, "")
    for row in rates.seasons.itertuples():
        if day.month in row.months and own.season_gone.get(row.season, 0.0) < OVER:
            return day.year, str(row.season)
    return (0, "")


def _first_days(
    log: pd.DataFrame, strips: pd.DataFrame, done: Done, jobs: tuple[str, ...]
) -> dict[str, pd.Timestamp]:
    """Return the day of the first treatment of each strip begun."""
    year_of = done.begun.set_index("strip_id")["start_year"].to_dict()
    days: dict[str, pd.Timestamp] = {}
    for row in in_force(log).to_dict("records"):
        date = pd.Timestamp(row["date"])
        if job_key(row["job"]) not in jobs:
            continue
        for strip in strips_named(cell_text(row["strip_id"]), strips, done.parents):
            if year_of.get(strip) == date.year:
                days[strip] = min(days.get(strip, date), date)
    return days


def _spray_days(
    log: pd.DataFrame, strips: pd.DataFrame, done: Done
) -> dict[tuple[str, int], pd.Timestamp]:
    """Return the first day of each year's follow-up of each strip."""
    days: dict[tuple[str, int], pd.Timestamp] = {}
    for row in in_force(log).to_dict("records"):
        date, job = pd.Timestamp(row["date"]), job_key(row["job"])
        if SAME_JOB.get(job, job) != SPRAY:
            continue
        for strip in strips_named(cell_text(row["strip_id"]), strips, done.parents):
            days[strip, date.year] = min(days.get((strip, date.year), date), date)
    return days


def _skipped(
    begun: pd.DataFrame, logged: frozenset[tuple[str, str, int]], own: Settings
) -> pd.DataFrame:
    """Return the years behind the plan in which a strip begun had no follow-up."""
    rows = [
        (row.strip_id, year)
        for row in begun.itertuples()
        for year in range(int(row.start_year) + 1, own.first_year)
        if (row.strip_id, SPRAY, year) not in logged
    ]
    return pd.DataFrame(rows, columns=["strip_id", "year"])


def _counted_in(
    before: pd.DataFrame,
    plots: pd.DataFrame,
    blocks: pd.DataFrame,
    both: tuple[Settings, Settings],
) -> dict[str, int]:
    """Return the year for which each block's counts stand: that of most of its plots."""
    settings, own = both
    names = [str(name) for name in blocks["block_id"]]
    start = dict.fromkeys(names, settings.first_year)
    if not len(before) or "block_id" not in plots:
        return start
    day = pd.to_datetime(before["date"], errors="coerce").groupby(before["plot_id"]).max()
    year = day.dt.year + (day.dt.month >= FROM_MONTH)
    year = year.fillna(settings.first_year).clip(settings.first_year, own.first_year)
    block = plots.set_index("plot_id")["block_id"]
    middle = year.groupby(year.index.map(block)).median()
    return start | {str(name): int(value) for name, value in middle.items() if str(name) in start}
