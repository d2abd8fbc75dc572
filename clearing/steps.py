"""Steps of the walk that take several rooms: strips begun before it, what goes with the options."""

from collections.abc import Callable
from dataclasses import replace

import geopandas as gpd
import pandas as pd

from clearing import effort, forecast, records, schedule
from clearing.property import FieldPlan, Settings
from clearing.rates import Rates
from clearing.tables import columns


def followed_through(
    plan: FieldPlan,
    ground: tuple[pd.DataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame, pd.DataFrame, pd.DataFrame],
    rates: Rates,
    settings: Settings,
) -> tuple[FieldPlan, pd.DataFrame]:
    """Return the plan with what the whole forecast finds beyond it, and that forecast.

    The planner weighs the seed that strips not yet treated send to treated ones; the forecast of
    the chosen plan lets all strips seed each other every year, what comes of that seed among them.
    Strips begun before the plan are left out of the comparison: they do not start anew.

    Parameters
    ----------
    plan : FieldPlan
        As `schedule.choose` gives it.
    ground : tuple
        Methods, strips, blocks, reach (`forecast.seed_reach`), places (`effort.places`).
    rates : Rates
        Figures.
    settings : Settings
        Years.

    References
    ----------
    own reasoning
    """
    methods, strips, blocks, reach, where = ground
    if plan.status == "none" or not len(plan.options):
        return plan, pd.DataFrame(columns=columns("futures"))
    chosen = plan.options[~(plan.options["start_year"] < settings.first_year)]
    followed = forecast.follow_through(chosen, methods, strips, blocks, reach, rates, settings)
    late = plan.visits["job"].isin(["follow_up", "upkeep"])
    planned = plan.visits[late & plan.visits["strip_id"].isin(chosen["strip_id"])]
    sums = effort.follow_sums(followed, methods, where, rates, settings)
    return replace(
        plan,
        cascades={
            "planned_hours": float((planned["hours"] + planned["their_hours"]).sum()),
            "foretold_hours": float(sums["hours"].sum()),
            "planned_cost": float(planned["cost"].sum()),
            "foretold_cost": float(sums["cost"].sum()),
        },
    ), followed


Tables = tuple[pd.DataFrame, pd.DataFrame]
Land = tuple[pd.DataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame]  # methods, strips, blocks


def held_to_the_log(
    priced: Tables, log: pd.DataFrame, ground: Land, rates: Rates, settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame, tuple[str, ...]]:
    """Return options and visits held to what the log says was begun, with a sentence for each.

    The third table is what is foretold of the strips begun, as ``walk/futures``.

    Parameters
    ----------
    priced : (DataFrame, DataFrame)
        Options and visits of all strips.
    log : DataFrame
        As ``owner/records``.
    ground : (DataFrame, GeoDataFrame, GeoDataFrame)
        Methods, strips, blocks.
    rates : Rates
        Figures.
    settings : Settings
        The plan's own.

    References
    ----------
    own reasoning
    """
    begun, notes = records.begun_strips(
        log, ground[1], effort.FIRST_JOBS, settings.first_year, rates
    )
    return *with_begun(priced, begun, ground, rates, settings), notes


def around(
    options: pd.DataFrame,
    arrivals: pd.DataFrame,
    ground: tuple[pd.DataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame, pd.DataFrame],
    rates: Rates,
    settings: Settings,
    told: Callable[[float, float, float, float], None] | None,
) -> schedule.Around:
    """Return what goes with the options: money back, seed, draws, strips begun, simple rules.

    Parameters
    ----------
    options, arrivals : DataFrame
        As ``walk/options`` and ``walk/arrivals``.
    ground : tuple
        Methods, strips, blocks, places (`effort.places`).
    rates : Rates
        Figures.
    settings : Settings
        Years, seed of the draws.
    told : callable, optional
        Told how far the planner is.

    References
    ----------
    own reasoning
    """
    methods, strips, blocks, where = ground

    def draw(chosen: pd.DataFrame) -> forecast.Draws:
        return forecast.draw_ahead(chosen, methods, strips, blocks, rates, settings)

    return schedule.Around(
        income=effort.paid_back(options, where, settings),
        arrivals=arrivals,
        draw=draw,
        begun=frozenset(options.loc[options["start_year"] < settings.first_year, "strip_id"]),
        order=schedule.strip_order(strips, methods),
        told=told,
    )


def with_begun(
    priced: Tables,
    begun: pd.DataFrame,
    ground: Land,
    rates: Rates,
    settings: Settings,
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Return options and visits with strips treated before the plan held to what was done there.

    The third table is what is foretold of those strips from what was done, as ``walk/futures``.

    Parameters
    ----------
    priced : (DataFrame, DataFrame)
        Options and visits of all strips.
    begun : DataFrame
        As `records.begun_strips` gives it.
    ground : (DataFrame, GeoDataFrame, GeoDataFrame)
        Methods, strips, blocks.
    rates : Rates
        Figures.
    settings : Settings
        The plan's own.

    References
    ----------
    own reasoning
    """
    (options, visits), (methods, strips, blocks) = priced, ground
    told, foretold = options.attrs, [pd.DataFrame(columns=columns("futures"))]
    for year, own in begun.groupby("start_year"):
        named = effort.begun_methods(methods, own)
        then = strips[strips["strip_id"].isin(named["strip_id"])]
        if not (named["method"] != "not_now").any():
            continue
        futures = forecast.look_ahead(named, then, blocks, rates, effort.since(settings, int(year)))
        done, ahead = effort.begun_options(named, futures, then, blocks, own, (rates, settings))
        gone = options["strip_id"].isin(done["strip_id"])
        visits = visits[~visits["strip_id"].isin(done["strip_id"])]
        options = pd.concat([options[~gone], done], ignore_index=True)
        kept = futures["strip_id"].isin(done["strip_id"]) & (futures["start_year"] == year)
        foretold.append(futures[kept])
        visits = pd.concat([visits, ahead], ignore_index=True)
    options.attrs = told
    rows = [part for part in foretold if len(part)] or foretold
    return options, visits, pd.concat(rows, ignore_index=True)
