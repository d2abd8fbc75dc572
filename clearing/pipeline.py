"""The floor plan: room after room, one table in, one table out."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

import geopandas as gpd
import pandas as pd

from clearing import (
    effort,
    forecast,
    land,
    learning,
    records,
    remarks,
    schedule,
    steps,
    survey,
    treatment,
    zones,
)
from clearing.ahead import price_ahead, purse
from clearing.property import RANGES, Property, Results
from clearing.rates import Rates, for_settings


@dataclass(frozen=True)
class Seen:
    """Return the walk up to the zones: tables as in ``data/columns/walk``, and what the log says.

    ``strips`` have their shade, and what the log says was done of them cut off; ``standing`` says
    where the land stands; ``log_notes`` are sentences on the log.
    """

    rates: Rates
    log_notes: tuple[str, ...]
    ground: land.Ground
    stocking: pd.DataFrame
    totals: pd.DataFrame
    strips: gpd.GeoDataFrame
    zones: gpd.GeoDataFrame
    standing: records.Standing


def see(
    place: Property,
    progress: Callable[[str], None] = lambda room: None,
    day: datetime | None = None,
) -> Seen:
    """Return the walk of a property up to its zones.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.
    progress : callable
        Told the name of each room as it is entered.
    day : datetime, optional
        The day on which the plan is made; the newest of the log and the counts where none is given.

    References
    ----------
    own reasoning
    """
    settings = place.settings
    progress("land")
    log, newest = place.records, records.newest_day(place.records, place.tally)
    day = None if day is None else pd.Timestamp(day)
    tally = place.tally
    if day is not None:
        log, tally = (t[~(pd.to_datetime(t["date"], errors="coerce") > day)] for t in (log, tally))
    rates, told = records.sharpen(for_settings(settings), log)
    rates, used = records.left_on_hand(rates, log, settings.us)
    ground = land.lay_out(place, rates)
    strips = zones.cut_strips(ground.blocks, ground.features, ground.strips, settings.strip_ha)
    layers = (ground.blocks, ground.features, ground.plots, strips)
    last = place.last.strips if place.last else {}
    planned = {name: str(strip["method"] or "") for name, strip in last.items()}
    standing, strips = records.stand(
        layers, (log, tally), effort.FIRST_JOBS, (rates, settings), day or newest, planned
    )
    rates = replace(rates, applied=records.applied_on(rates.applied, strips, standing.done))
    progress("survey")
    plots = ground.plots[~ground.plots["plot_id"].isin(standing.no_survey)]
    counted = (ground.blocks, plots, standing.before, RANGES, rates)
    stocking, totals = survey.estimate_stocking(*counted), survey.estimate_totals(*counted)
    progress("zones")
    strips = zones.with_shade(strips, ground.keep_trees)
    drawn = zones.draw_zones(strips, ground.features, ground.keep_trees, stocking, rates)
    notes = (*place.log_faults, *told, *used, *standing.notes)
    return Seen(rates, notes, ground, stocking, totals, strips, drawn, standing)


def run(
    place: Property,
    gap: float = 1e-3,
    seconds: float = 60,
    progress: Callable[[str], None] = lambda room: None,
    told: Callable[[float, float, float, float], None] | None = None,
    ways: Callable[[int], None] = lambda number: None,
    day: datetime | None = None,
) -> Results:
    """Return the plan of a property, with every table that led to it.

    It starts from where the land stands: what the log has is done, what was counted and logged
    sharpens the rates, seasons that are over are gone.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.
    gap : float
        Stop when the plan is proved to be within this share of the best.
    seconds : float
        Safety net for the planner [s].
    progress : callable
        Told the name of each room as it is entered.
    told : callable, optional
        Told seconds, cost, bound and gap while the planner works.
    ways : callable
        Told how many ways there are to choose from, before the planner works.
    day : datetime, optional
        The day on which the plan is made; the newest of the log and the counts where none is given,
        so that the same folder gives the same plan.

    References
    ----------
    own reasoning
    """
    seen = see(place, progress, day)
    standing, ground, strips = seen.standing, seen.ground, seen.strips
    settings = standing.settings
    progress("treatment")
    methods, stocking, totals, lessons, doubts = _with_lessons(seen, progress)
    rates = lessons.rates
    nearby = zones.what_is_near(strips, ground.features, ground.keep_trees, rates)
    offers = survey.offer_measures(ground.blocks, totals, RANGES)
    progress("forecast")
    strips = strips.merge(forecast.search_ring(strips, ground.features, methods, rates))
    land_as_it_is = (methods, strips, ground.blocks)
    priced = price_ahead(land_as_it_is, standing, rates, settings)
    settings = purse(settings, place.settings, priced.over)
    futures, options = priced.futures, priced.options
    reach = forecast.seed_reach(strips, ground.features, rates, settings)
    progress("effort")
    visits = effort.with_cautions(
        priced.visits, methods, nearby, ground.blocks, rates, settings, options
    )
    where = effort.places(strips, ground.blocks, rates)
    seeds = forecast.arriving(futures, reach, priced.mowed)
    seeds = seeds[seeds["year"] >= settings.first_year]
    arrivals = effort.price_arrivals(seeds, (methods, priced.calm), where, rates, settings)
    progress("schedule")
    ways(len(options))
    early = effort.since(settings, standing.first_base())
    around = steps.around(
        options, arrivals, (*land_as_it_is, where), rates, (settings, early), told
    )
    plan = schedule.choose(options, visits, rates, settings, gap, seconds, around)
    plan, followed = steps.followed_through(
        plan, (*land_as_it_is, reach, where), rates, early, around.begun
    )
    warnings = (
        *ground.notes, *seen.log_notes, *priced.notes, *doubts,
        *remarks.what_to_mind(place, ground, strips, offers, rates),
    )  # fmt: skip
    return Results(
        property=replace(place, settings=settings), rates=rates, grid=ground.grid.to_wkt(),
        blocks=ground.blocks, keep_trees=ground.keep_trees, features=ground.features,
        plots=ground.plots, stocking=stocking, totals=totals,
        strips=strips, zones=seen.zones, neighbours=zones.strip_neighbours(strips), nearby=nearby,
        methods=methods, futures=futures, options=options, visits=visits,
        arrivals=arrivals, income=around.income, followed=followed, plan=plan,
        not_offered=(*methods.attrs["not_offered"], *options.attrs["removed"]),
        mended=ground.mended, offers=offers, warnings=warnings,
        lessons=lessons.table, over=priced.over, work_done=standing.work,
        base_year=standing.first_base(),
    )  # fmt: skip


def _with_lessons(
    seen: Seen, progress: Callable[[str], None]
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, records.Lessons, tuple[str, ...]]:
    """Return methods, stocking and totals by what the log taught, that, and what to look at."""
    ground, settings = seen.ground, seen.standing.settings

    def listed(stocking: pd.DataFrame, totals: pd.DataFrame, rates: Rates) -> pd.DataFrame:
        stems = survey.ranges_that_add_up(stocking, totals)
        known = (ground.blocks, seen.strips, seen.zones)
        return treatment.list_methods(*known, stems, rates, settings)

    methods = listed(seen.stocking, seen.totals, seen.rates)
    if not len(seen.standing.done.begun):
        return methods, seen.stocking, seen.totals, *learning.unlearned(seen.rates)
    progress("records")
    land_as_it_is = (methods, seen.strips, ground.blocks)
    lessons, doubts = learning.learn(land_as_it_is, seen.standing, seen.rates, settings)
    stocking, totals = (
        records.with_stems(table, lessons.stems) for table in (seen.stocking, seen.totals)
    )
    return listed(stocking, totals, lessons.rates), stocking, totals, lessons, doubts


def look(place: Property) -> tuple[tuple[str, ...], list[str]]:
    """Return what there is to say of the ground, and what of it is left for each method.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.

    References
    ----------
    own reasoning
    """
    return notes_on(place, see(place))


def notes_on(place: Property, seen: Seen) -> tuple[tuple[str, ...], list[str]]:
    """Return what there is to say of ground that was seen, and what is left for each method.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.
    seen : Seen
        As `see` gives it.

    References
    ----------
    own reasoning
    """
    us, ground = place.settings.us, seen.ground
    left = treatment.ground_left(seen.zones, seen.strips, seen.rates)
    said = (*place.notes, *ground.notes, *remarks.over_the_line(ground, us),
            *remarks.shared_strips(ground, us))  # fmt: skip
    notes = (*said, *remarks.lost_blocks(place), *remarks.lost_wishes(place))
    return notes, treatment.left_lines(left, seen.rates, us)
