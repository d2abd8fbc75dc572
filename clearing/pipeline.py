"""The floor plan: room after room, one table in, one table out."""

from collections.abc import Callable
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from clearing import effort, forecast, land, records, schedule, steps, survey, treatment, zones
from clearing.property import GRASS_GOALS, RANGES, Property, Results
from clearing.rates import Rates, for_settings
from clearing.tables import name_list

OVER_M2 = 20.0  # ground over the property line that is taken for a slip of the hand; own choice


@dataclass(frozen=True)
class Seen:
    """Return the walk up to the zones: tables as in ``data/columns/walk``, and what the log says.

    ``strips`` have their shade; ``log_notes`` are sentences on the log.
    """

    rates: Rates
    log_notes: tuple[str, ...]
    ground: land.Ground
    stocking: pd.DataFrame
    totals: pd.DataFrame
    strips: gpd.GeoDataFrame
    zones: gpd.GeoDataFrame


def see(place: Property, progress: Callable[[str], None] = lambda room: None) -> Seen:
    """Return the walk of a property up to its zones.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.
    progress : callable
        Told the name of each room as it is entered.

    References
    ----------
    own reasoning
    """
    settings = place.settings
    progress("land")
    rates, log_notes = records.sharpen(for_settings(settings), place.records)
    ground = land.lay_out(place, rates)
    progress("survey")
    counted = (ground.blocks, ground.plots, place.tally, RANGES, rates)
    stocking, totals = survey.estimate_stocking(*counted), survey.estimate_totals(*counted)
    progress("zones")
    strips = zones.cut_strips(ground.blocks, ground.features, ground.strips, settings.strip_ha)
    strips = zones.with_shade(strips, ground.keep_trees)
    drawn = zones.draw_zones(strips, ground.features, ground.keep_trees, stocking, rates)
    return Seen(rates, tuple(log_notes), ground, stocking, totals, strips, drawn)


def run(
    place: Property,
    gap: float = 1e-3,
    seconds: float = 60,
    progress: Callable[[str], None] = lambda room: None,
    told: Callable[[float, float, float, float], None] | None = None,
    ways: Callable[[int], None] = lambda number: None,
) -> Results:
    """Return the plan of a property, with every table that led to it.

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

    References
    ----------
    own reasoning
    """
    settings, seen = place.settings, see(place, progress)
    rates, ground, strips, drawn = seen.rates, seen.ground, seen.strips, seen.zones
    stocking, totals = seen.stocking, seen.totals
    offers = survey.offer_measures(ground.blocks, totals, RANGES)
    nearby = zones.what_is_near(strips, ground.features, ground.keep_trees, rates)
    progress("treatment")
    stems = survey.ranges_that_add_up(stocking, totals)
    methods = treatment.list_methods(ground.blocks, strips, drawn, stems, rates, settings)
    progress("forecast")
    strips = strips.merge(forecast.search_ring(strips, ground.features, methods, rates))
    futures = forecast.look_ahead(methods, strips, ground.blocks, rates, settings)
    reach = forecast.seed_reach(strips, ground.features, rates, settings)
    progress("effort")
    options, visits = effort.price_options(methods, futures, strips, ground.blocks, rates, settings)
    land_as_it_is = (methods, strips, ground.blocks)
    options, visits, begun, begun_notes = steps.held_to_the_log(
        (options, visits), place.records, land_as_it_is, rates, settings
    )
    visits = effort.with_cautions(visits, methods, nearby, ground.blocks, rates, settings, options)
    where = effort.places(strips, ground.blocks, rates)
    seeds = forecast.arriving(futures, reach)
    arrivals = effort.price_arrivals(seeds, (methods, futures), where, rates, settings)
    progress("schedule")
    ways(len(options))
    around = steps.around(options, arrivals, (*land_as_it_is, where), rates, settings, told)
    plan = schedule.choose(options, visits, rates, settings, gap, seconds, around)
    plan, followed = steps.followed_through(plan, (*land_as_it_is, reach, where), rates, settings)
    futures = pd.concat([futures, begun], ignore_index=True) if len(begun) else futures
    warnings = (
        *ground.notes, *seen.log_notes, *begun_notes,
        *what_to_mind(place, ground, strips, offers, rates),
    )  # fmt: skip
    return Results(
        property=place, rates=rates, grid=ground.grid.to_wkt(),
        blocks=ground.blocks, keep_trees=ground.keep_trees, features=ground.features,
        plots=ground.plots, stocking=stocking, totals=totals,
        strips=strips, zones=drawn, neighbours=zones.strip_neighbours(strips), nearby=nearby,
        methods=methods, futures=futures, options=options, visits=visits,
        arrivals=arrivals, income=around.income, followed=followed, plan=plan,
        not_offered=(*methods.attrs["not_offered"], *options.attrs["removed"]),
        mended=ground.mended, offers=offers, warnings=warnings,
    )  # fmt: skip


def what_to_mind(
    place: Property,
    ground: land.Ground,
    strips: pd.DataFrame,
    offers: pd.DataFrame,
    rates: Rates,
) -> tuple[str, ...]:
    """Return sentences for what does not fit together in what the owner brought.

    Parameters
    ----------
    place : Property
        As `clearing.read` gives it.
    ground : Ground
        The layers in their grid.
    strips, offers : DataFrame
        As ``walk/strips`` and ``walk/offers``.
    rates : Rates
        Figures.

    References
    ----------
    own reasoning
    """
    places = [*ground.blocks["block_id"], *strips["strip_id"]]
    return (
        *place.notes,
        *over_the_line(ground, place.settings.us),
        *said_of(offers),
        *records.unknown_places(place.records, places),
        *lost_blocks(place),
        *too_steep(ground, rates),
        *lost_wishes(place),
    )


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
    said = (*place.notes, *ground.notes, *over_the_line(ground, us))
    notes = (*said, *lost_blocks(place), *lost_wishes(place))
    return notes, treatment.left_lines(left, seen.rates, us)


def over_the_line(ground: land.Ground, us: bool) -> tuple[str, ...]:
    """Return a sentence for each block that reaches over a closed property line.

    References
    ----------
    own reasoning
    """
    theirs = zones.beyond_the_line(ground.features, ground.blocks.geometry)
    if theirs is None:
        return ()
    area = ground.blocks.intersection(theirs).area
    return tuple(
        f"block {name}: {land.area_words(over, us)} lie on the neighbor's side of the property "
        "line as drawn; draw one of them anew, or settle with the neighbor before any work there"
        for name, over in zip(ground.blocks["block_id"], area, strict=True)
        if over > OVER_M2
    )


def said_of(offers: pd.DataFrame) -> tuple[str, ...]:
    """Return a sentence for each measure that the owner gave, whether it helped or not.

    References
    ----------
    own reasoning
    """
    asked = offers[(offers["measure"] != "ground") & (offers["estimator"] == "ratio")]
    return tuple(
        f"{row.why}; {'used for blocks without plots' if row.helps else 'not used'}"
        for row in asked.itertuples()
    )


def too_steep(ground: land.Ground, rates: Rates) -> tuple[str, ...]:
    """Return a sentence for each block of grass on which no mowing is planned for its slope.

    References
    ----------
    own reasoning
    """
    most = rates.figure("any", "mow_most_slope_pct").value
    return tuple(
        f"block {row.block_id} has a slope of {row.slope_pct:g} %: from {most:g} % on no mowing is "
        "planned, since the machine's manual decides there; it counts as ready when it is clear"
        for row in ground.blocks.itertuples()
        if row.goal in GRASS_GOALS and row.slope_pct >= most
    )


def lost_blocks(place: Property) -> tuple[str, ...]:
    """Return a sentence for each block that a cost-share program names and the land has not.

    References
    ----------
    own reasoning
    """
    known = sorted(place.blocks["block_id"].astype(str))
    return tuple(
        f"[[cost_share]] {program['name']} names block {name}, which is not drawn; "
        f"blocks are {name_list(known)}"
        for program in place.settings.cost_share
        for name in program.get("blocks") or ()  # type: ignore[attr-defined]
        if str(name) not in known
    )


def lost_wishes(place: Property) -> tuple[str, ...]:
    """Return a sentence for each block that an order wish names and the land has not.

    References
    ----------
    own reasoning
    """
    known = sorted(place.blocks["block_id"].astype(str))
    named = sorted({name for pair in place.settings.before for name in pair} - set(known))
    return tuple(
        f"[plan] before names block {name}, which is not drawn, so this wish is not weighed; "
        f"blocks are {name_list(known)}"
        for name in named
    )
