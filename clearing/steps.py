"""Steps of the walk that take several rooms: what goes with the options, and what follows them."""

from collections.abc import Callable
from dataclasses import replace

import geopandas as gpd
import pandas as pd

from clearing import effort, forecast, schedule
from clearing.property import FieldPlan, Settings
from clearing.rates import Rates
from clearing.tables import columns


def followed_through(
    plan: FieldPlan,
    ground: tuple[pd.DataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame, pd.DataFrame, pd.DataFrame],
    rates: Rates,
    settings: Settings,
    begun: frozenset[str],
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
        Years, from that of the counts on.
    begun : frozenset of str
        Strips begun before the plan.

    References
    ----------
    own reasoning
    """
    methods, strips, blocks, reach, where = ground
    if plan.status == "none" or not len(plan.options):
        return plan, pd.DataFrame(columns=columns("futures"))
    chosen = plan.options[~plan.options["strip_id"].isin(begun)]
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


def begun_in(options: pd.DataFrame) -> frozenset[str]:
    """Return the strips whose first treatment is done: those that cannot be left alone any more.

    References
    ----------
    own reasoning
    """
    idle = options.loc[options["method"] == "not_now", "strip_id"]
    return frozenset(options["strip_id"].astype(str)) - frozenset(idle.astype(str))


def around(
    options: pd.DataFrame,
    arrivals: pd.DataFrame,
    ground: tuple[pd.DataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame, pd.DataFrame],
    rates: Rates,
    settings: tuple[Settings, Settings],
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
    settings : (Settings, Settings)
        Of the plan, and from the first year of counts and work on, for the draws.
    told : callable, optional
        Told how far the planner is.

    References
    ----------
    own reasoning
    """
    (methods, strips, blocks, where), (own, early) = ground, settings

    def draw(chosen: pd.DataFrame) -> forecast.Draws:
        return forecast.draw_ahead(chosen, methods, strips, blocks, rates, early)

    return schedule.Around(
        income=effort.paid_back(options, where, own),
        arrivals=arrivals,
        draw=draw,
        begun=begun_in(options),
        order=schedule.strip_order(strips, methods),
        told=told,
    )
