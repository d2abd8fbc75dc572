"""Cost, finish year and acres in grass against the yearly budget or hours: each a solved plan."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import geopandas as gpd
import pandas as pd

from clearing import effort, steps
from clearing.errors import InputError
from clearing.property import FieldPlan, Results, Settings
from clearing.rates import Rates
from clearing.schedule.choice import decide
from clearing.units import HA_PER_ACRE

SHARES = (0.5, 0.75, 1.0, 1.5, 2.0)  # of what the owner has; own choice
MONEY, HOURS = "money", "hours"
Told = Callable[[int, int, float | None], None]


def compare(
    results: Results,
    shares: tuple[float, ...] = SHARES,
    by: str = MONEY,
    stop: tuple[float, float] = (1e-3, 60.0),
    told: Told = lambda done, number, gap: None,
) -> list[dict[str, Any]]:
    """Return one solved plan a share of what the owner has: what it costs, clears, and by when.

    Options are weighed again, not made anew; each plan is begun from its neighbour's, the one with
    less of it, and keeps the same reserve as the owner's own plan.

    Parameters
    ----------
    results : Results
        As `clearing.run` gives them.
    shares : tuple of float
        Of the yearly budget, or of the crew's hours.
    by : str
        money or hours.
    stop : (gap, seconds)
        When to stop each; see `clearing.schedule.solver`.
    told : callable
        Told how many plans are done, how many there are, and the gap of the last.

    Returns
    -------
    list of dict
        by, share, budget [dollars a year, that of the first; None without one], crew_hours [h a
        year], status (best, stopped, none = no plan fits, not_found = stopped before any was
        found; the last two with reasons), and where there is a plan: cost [dollars of cash inside
        the years], objective (what the planner weighs: all discounted costs less worth) with its
        bound and gap, hours, finish_year (None when something stays), cleared_ha, cleared_acres,
        grass_ha, grass_acres (strips that are mowed by the last year), waiting (strips).

    Raises
    ------
    InputError
        Money is asked for and no budget was given.
    ValueError
        by is neither money nor hours.

    References
    ----------
    own reasoning
    """
    settings = results.property.settings
    unfit(settings, by)
    rows: list[dict[str, Any]] = []
    before: pd.DataFrame | None = None
    for share in sorted(shares):
        asked, rates = scaled(settings, results.rates, share, by)
        around = steps.around(
            results.options, results.arrivals, _ground(results, rates), rates,
            (asked, effort.since(asked, results.base_year)), None,
        )  # fmt: skip
        around = replace(around, start=before)
        plan = decide(results.options, results.visits, rates, asked, *stop, around)
        if plan.status != "none":
            chosen = plan.options.rename(columns={"strip_id": "group", "option_id": "option"})
            before = chosen[["group", "option"]]
        row = {"by": by, "share": share} | _there_is(asked, rates)
        rows.append(row | _found(plan, results))
        told(len(rows), len(shares), plan.gap)
    return rows


def unfit(settings: Settings, by: str) -> None:
    """Return nothing; raise where there is nothing to vary.

    Raises
    ------
    InputError
        Money is asked for and no budget was given.
    ValueError
        by is neither money nor hours.

    References
    ----------
    own reasoning
    """
    if by not in (MONEY, HOURS):
        raise ValueError(f"by is {by!r}; money or hours would be right")
    if by == MONEY and not settings.money.budget_per_year:
        problem = ("[money] budget_per_year was not given, so there is no budget to vary; "
                   "give one, or ask for --hours")  # fmt: skip
        raise InputError([problem], "property.toml")


def _ground(
    results: Results, rates: Rates
) -> tuple[pd.DataFrame, gpd.GeoDataFrame, gpd.GeoDataFrame, pd.DataFrame]:
    """Return methods, strips, blocks and places."""
    strips, blocks = results.strips, results.blocks
    return results.methods, strips, blocks, effort.places(strips, blocks, rates)


def scaled(settings: Settings, rates: Rates, share: float, by: str) -> tuple[Settings, Rates]:
    """Return settings and rates with a share of the yearly budget, or of the crew's hours.

    References
    ----------
    own reasoning
    """
    if by == HOURS:
        seasons = rates.seasons
        return settings, replace(rates, seasons=seasons.assign(hours=seasons["hours"] * share))
    budgets = [share * each for each in settings.money.budget_per_year]
    return replace(settings, money=replace(settings.money, budget_per_year=budgets)), rates


def _there_is(settings: Settings, rates: Rates) -> dict[str, Any]:
    """Return what there is in a year."""
    budgets = settings.money.budget_per_year
    return {
        "budget": budgets[0] if budgets else None,
        "crew_hours": float(rates.seasons["hours"].sum()),
    }


def _found(plan: FieldPlan, results: Results) -> dict[str, Any]:
    """Return what a plan costs and clears; where there is none, the reasons."""
    if plan.status == "none":
        late = any("planner was stopped" in reason for reason in plan.reasons)
        return {"status": "not_found" if late else "none", "reasons": list(plan.reasons)}
    settings = results.property.settings
    own = plan.options
    area = results.strips.set_index("strip_id")["area_ha"]
    done = own[own["finish_year"].notna()]
    mowed = own[own["mow_year"] < settings.first_year + settings.years]
    cleared, grass = (float(area.reindex(part["strip_id"]).sum()) for part in (done, mowed))
    return {
        "status": plan.status,
        "cost": float(plan.visits["cost"].sum()),
        "objective": plan.cost, "bound": plan.bound, "gap": plan.gap,
        "hours": float(plan.visits["hours"].sum()),
        "finish_year": int(done["finish_year"].max()) if len(done) == len(own) else None,
        "cleared_ha": cleared, "cleared_acres": cleared / HA_PER_ACRE,
        "grass_ha": grass, "grass_acres": grass / HA_PER_ACRE,
        "waiting": int((own["method"] == "not_now").sum()),
    }  # fmt: skip
