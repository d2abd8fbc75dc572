"""Cost and finish year against the yearly budget: each point a solved plan."""

from dataclasses import replace
from typing import Any

from clearing import schedule
from clearing.property import Results
from clearing.units import HA_PER_ACRE


def compare(
    results: Results, factors: tuple[float, ...], gap: float = 1e-3, seconds: float = 60
) -> list[dict[str, Any]]:
    """Return one solved plan a budget: what it costs, what it clears and by when.

    Parameters
    ----------
    results : Results
        As `clearing.run` gives them; the options are weighed again, not made anew.
    factors : tuple of float
        Yearly budget as a share of what the settings say.
    gap, seconds : float
        When to stop; see `clearing.schedule.solve`.

    Returns
    -------
    list of dict
        budget [dollars a year], status, cost [dollars], finish_year (None when something stays),
        cleared_acres, cleared_ha, hours, gap.

    References
    ----------
    own reasoning
    """
    settings = results.property.settings
    area = results.strips.set_index("strip_id")["area_ha"]
    rows = []
    for factor in factors:
        budgets = [factor * each for each in settings.money.budget_per_year]
        scaled = replace(settings, money=replace(settings.money, budget_per_year=budgets))
        plan = schedule.choose(
            results.options, results.visits, results.rates, scaled, gap, seconds, results.income
        )
        row: dict[str, Any] = {"budget": budgets[0] if budgets else None, "status": plan.status}
        if plan.status != "none":
            done = plan.options[plan.options["finish_year"].notna()]
            cleared = float(area[done["strip_id"]].sum())
            whole = len(done) == len(plan.options)
            row |= {
                "cost": float(plan.visits["cost"].sum()),
                "hours": float(plan.visits["hours"].sum()),
                "finish_year": int(done["finish_year"].max()) if whole and len(done) else None,
                "cleared_ha": cleared,
                "cleared_acres": cleared / HA_PER_ACRE,
                "gap": plan.gap,
            }
        rows.append(row)
    return rows
