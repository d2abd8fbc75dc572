"""The floor plan: room after room, one table in, one table out."""

from collections.abc import Callable

import pandas as pd

from clearing import effort, forecast, land, records, schedule, survey, treatment, zones
from clearing.property import Property, Results
from clearing.rates import for_settings


def run(
    place: Property,
    gap: float = 1e-3,
    seconds: float = 60,
    progress: Callable[[str], None] = lambda room: None,
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

    References
    ----------
    own reasoning
    """
    settings = place.settings
    progress("land")
    rates, log_notes = records.sharpen(for_settings(settings), place.records)
    ground = land.lay_out(place, rates)
    progress("survey")
    counted = (ground.blocks, ground.plots, place.tally, settings.confidence, rates)
    stocking, totals = survey.estimate_stocking(*counted), survey.estimate_totals(*counted)
    offers = survey.offer_measures(ground.blocks, totals, settings.confidence)
    progress("zones")
    strips = zones.cut_strips(ground.blocks, ground.features, ground.strips, settings.strip_ha)
    drawn = zones.draw_zones(strips, ground.features, ground.keep_trees, stocking, rates)
    progress("treatment")
    stems = survey.ranges_that_add_up(stocking, totals)
    methods = treatment.list_methods(ground.blocks, strips, drawn, stems, rates, settings)
    progress("forecast")
    futures = forecast.look_ahead(methods, strips, ground.blocks, rates, settings)
    progress("effort")
    options, visits = effort.price_options(methods, futures, strips, ground.blocks, rates, settings)
    progress("schedule")
    plan = schedule.choose(options, visits, rates, settings, gap, seconds)
    return Results(
        property=place,
        rates=rates,
        grid=ground.grid.to_wkt(),
        blocks=ground.blocks,
        keep_trees=ground.keep_trees,
        features=ground.features,
        plots=ground.plots,
        stocking=stocking,
        totals=totals,
        strips=strips,
        zones=drawn,
        neighbours=zones.strip_neighbours(strips),
        methods=methods,
        futures=futures,
        options=options,
        visits=visits,
        plan=plan,
        mended=ground.mended,
        offers=offers,
        warnings=(*ground.notes, *said_of(offers), *log_notes, *unused_wishes(place)),
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


def unused_wishes(place: Property) -> tuple[str, ...]:
    """Return a sentence for each wish in the settings that the plan does not weigh yet.

    References
    ----------
    own reasoning
    """
    settings = place.settings
    wishes = {
        "[plan] before": settings.before,
        "[plan] most_blocks_a_season": settings.most_blocks_a_season,
        "[plan] most_products_a_year": settings.most_products_a_year,
        "[[cost_share]]": settings.cost_share,
        "[contractor]": settings.contractor,
    }
    return tuple(
        f"{name} is read and kept, and this version's plan does not weigh it"
        for name, given in wishes.items()
        if given
    )
