"""Write the plan as JSON for other people's scripts: plain numbers in the owner's units."""

import json
import math
from typing import Any

import pandas as pd

from clearing import units
from clearing.property import Results
from clearing.report.facts import Summary
from clearing.report.inputs import inputs_of, land_of
from clearing.report.plain_facts import plain
from clearing.report.told import told


def plan_json(
    results: Results,
    summary: Summary,
    tables: dict[str, pd.DataFrame],
    forms: dict[str, Any] | None = None,
) -> bytes:
    """Return plan.json: tables and figures as they are, and under ``told`` all that is said.

    Missing numbers are null. Every number on the map and in the work plan stands here.

    Parameters
    ----------
    results : Results
        What the walk gave.
    summary : Summary
        Every number and word, in the owner's units.
    tables : dict
        As `plan_tables` gives them.
    forms : dict or None
        What a form says beyond the summary, as `forms_told` gives it.

    References
    ----------
    own reasoning
    """
    plan = results.plan
    said = {
        "property": {
            "name": summary.property_name,
            "units": summary.units,
            "area": summary.area.value,
            "area_unit": summary.area_unit,
            "headline": summary.headline,
        },
        "inputs": inputs_of(results),
        "inputs_land": land_of(results),
        "status": plan.status,
        "cost": plan.cost,
        "bound": plan.bound,
        "gap": plan.gap,
        "finish_year": summary.finish_year,
        "hours": _ends(summary.hours),
        "cash": _ends(summary.cost),
        "years": records(tables["years"]),
        "blocks": records(tables["blocks"]),
        "strips": _strips(summary),
        "visits": records(_with_recipes(tables["visits"], plan.visits, summary.units == "us")),
        "purchases": records(tables["purchases"]),
        "limits": records(tables["limits"]),
        "odds": records(plan.odds),
        "reserve": records(plan.reserve),
        "more_would_save": records(plan.prices),
        "rules_of_thumb": records(plan.thumb),
        "shortfall": records(plan.shortfall),
        "options_dropped": plan.dropped,
        "cascades": dict(plan.cascades),
        "reasons": list(plan.reasons),
        "paid_back": summary.paid_back,
        "not_offered": list(summary.not_offered),
        "to_confirm": list(summary.to_confirm),
        "not_decided": list(summary.not_decided),
        "warnings": list(summary.warnings),
        "sources": [
            {"key": row.key, "citation": row.citation, "figures": row.counts}
            for row in summary.sources
        ],
        "figures_seen": list(summary.seen),
        "learned": plain(summary.log.learned),
        "since_last": plain(summary.log.since),
        "told": told(summary) | (forms or {}),
    }
    text = json.dumps(_plain(said), allow_nan=False, ensure_ascii=False, indent=1)
    return (text + "\n").encode()


def _strips(summary: Summary) -> list[dict[str, Any]]:
    """Return each strip with its state at the end of each year, as the map shows it."""
    return [
        {
            "strip_id": strip.strip_id, "block_id": strip.block_id, "name": strip.name,
            "area": strip.area.value, "area_unit": strip.area.unit,
            "method": strip.method_key, "when": strip.when, "start_year": strip.start_year,
            "finish_year": strip.finish_year,
            "years": [
                {"year": one.year, "state": one.state, "years_in_state": one.age,
                 "work": one.work, "words": one.words}
                for one in strip.years
            ],
        }
        for strip in summary.strips
    ]  # fmt: skip


def _with_recipes(told: pd.DataFrame, visits: pd.DataFrame, us: bool) -> pd.DataFrame:
    """Return the visits with recipe (blank where nothing is sprayed) and ends of product and cost.

    Two visits of one id (a table made by hand may hold such) have the first one's.
    """
    if not len(told):
        return told
    own = visits.drop_duplicates("visit_id").set_index("visit_id")
    unit, litres = ("floz", units.L_PER_FLOZ) if us else ("ml", 0.001)
    out = told.assign(recipe_id=told["visit_id"].map(own["recipe_id"].fillna("")))
    for end in ("low", "high"):
        product = own[f"product_{end}_l"] / litres
        out[f"product_{end}_{unit}"] = told["visit_id"].map(product)
        out[f"cost_{end}"] = told["visit_id"].map(own[f"cost_{end}"])
    return out


def records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table as plain dictionaries.

    References
    ----------
    own reasoning
    """
    rows = table.to_dict("records")
    return [{str(name): _plain(cell) for name, cell in row.items()} for row in rows]


def _ends(amount: Any) -> dict[str, Any]:
    return {"value": amount.value, "low": amount.low, "high": amount.high, "unit": amount.unit}


def _plain(value: Any) -> Any:
    """Return a value that JSON knows; missing and infinite numbers become null."""
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if hasattr(value, "item"):
        value = value.item()
    if value is None or value is pd.NA or (isinstance(value, float) and not math.isfinite(value)):
        return None
    return value
