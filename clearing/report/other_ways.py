"""Set the plan's way of each strip beside the other ways, in words and money."""

from typing import Any

import pandas as pd

from clearing import effort
from clearing.property import Results
from clearing.report import names, words
from clearing.report.facts import OtherMethod
from clearing.report.visit_facts import plain_rows
from clearing.units import HA_PER_ACRE


def others_of(results: Results) -> dict[str, tuple[OtherMethod, ...]]:
    """Return for each strip the kinds of method with what each would take, cheapest first.

    References
    ----------
    own reasoning
    """
    if not len(results.plan.options):
        return {}
    settings = results.property.settings
    place = effort.places(results.strips, results.blocks, results.rates)
    table = effort.compare_methods(
        results.options, results.visits, set(results.plan.options["option_id"]), place, settings
    )
    gains = {row["strip_id"]: _gain(row) for row in plain_rows(table[table["chosen"]])}
    margin = (results.plan.cost or 0.0) - (results.plan.bound or 0.0)
    out: dict[str, tuple[OtherMethod, ...]] = {}
    for row in plain_rows(table):
        said, _ = names.METHODS.get(row["method"], (row["method"].replace("_", " "), ""))
        asked = float("nan") if row["method"] == "not_now" else float(row["contractor"])
        jobs = words.listed([names.plain(names.JOBS, j) for j in row["contractor_jobs"].split()])
        one = OtherMethod(
            method=said,
            chosen=bool(row["chosen"]),
            hours=words.said(float(row["hours"])),
            cost=words.money(float(row["cost"])),
            extra="" if row["chosen"] else _extra(row, gains[row["strip_id"]], margin),
            contractor=""
            if pd.isna(asked)
            else f"a contractor asks {words.money(asked)} to {jobs}",
        )
        out[str(row["strip_id"])] = (*out.get(str(row["strip_id"]), ()), one)
    return out


def unit_words_of(results: Results) -> dict[str, str]:
    """Return what the chosen option of each strip costs an acre or hectare and a stem, in words.

    References
    ----------
    own reasoning
    """
    if not len(results.plan.options):
        return {}
    us = results.property.settings.us
    last = results.property.settings.first_year + results.property.settings.years - 1
    place = effort.places(results.strips, results.blocks, results.rates)
    wage = results.property.settings.crew.wage_per_hour
    table = effort.unit_costs(results.plan.options, results.visits, place, last, wage)
    strips = dict(zip(results.plan.options["option_id"], results.plan.options["strip_id"],
                      strict=True))  # fmt: skip
    factor, unit = (HA_PER_ACRE, "acre") if us else (1.0, "hectare")
    out = {}
    for row in plain_rows(table):
        if not row["per_ha"] > 0:
            continue
        stem = "" if pd.isna(row["per_stem"]) else f", ${row['per_stem']:.2f} a stem"
        out[str(strips[row["option_id"]])] = (
            f"The plan's way costs {words.money(row['per_ha'] * factor)} {_an(unit)} {unit}{stem} "
            f"within the years, {words.money(row['cash_per_ha'] * factor)} of it cash."
        )
    return out


def _gain(row: dict[str, Any]) -> float:
    """Return what stands against the cost of a way: worth of the ground and what is paid back."""
    return sum(float(row[name]) for name in ("worth", "paid_back") if not pd.isna(row[name]))


def _extra(row: dict[str, Any], gain: float, margin: float) -> str:
    """Return what a way costs over the plan's and brings less, and why it is not the plan's."""
    extra, less = float(row["extra"]), gain - _gain(row)
    cost = f"{words.money(abs(extra))} {'more' if extra > 0 else 'less'}"
    cost = "costs about the same" if abs(extra) < 1 else cost
    ground = f"the ground brings {words.money(abs(less))} {'less' if less > 0 else 'more'}"
    text = f"{cost}, {ground}" if abs(less) >= 1 else cost
    if extra + less > -1:
        return text
    near = -(extra + less) <= margin
    why = "within the planner's margin" if near else "it does not fit beside the other strips"
    return f"{text}; {why}"


def _an(unit: str) -> str:
    return "an" if unit[0] in "aeiou" else "a"
