"""Give the tables of the plan in the owner's units, and write them as text that runs nowhere."""

import csv
import io
from typing import Any

import pandas as pd

from clearing import units
from clearing.property import Results
from clearing.report.facts import Summary
from clearing.report.visit_facts import plain_rows, season_order
from clearing.tables import column_file

RUNS = ("=", "+", "-", "@", "\t", "\r")  # a cell that starts so is read as a formula by sheets
PLACES = {
    "h": 2, "dollars": 2, "acres": 2, "ha": 3, "gal": 3, "l": 3, "floz": 1, "ml": 0, "share": 3,
    "stems": 0, "": 2,
}  # fmt: skip
US_ONLY, METRIC_ONLY = ("acres", "gal", "floz"), ("ha", "l", "ml")


def plan_tables(results: Results, summary: Summary) -> dict[str, pd.DataFrame]:
    """Return the tables blocks, visits, purchases, years and limits, columns as described.

    References
    ----------
    own reasoning
    """
    us = summary.units == "us"
    raw = {
        "blocks": _blocks(results, summary),
        "visits": _visits(results),
        "purchases": _purchases(results),
        "years": _years(results, summary),
        "limits": results.plan.limits,
    }
    return {name: shaped(table, name, us) for name, table in raw.items()}


def out_columns(name: str, us: bool) -> pd.DataFrame:
    """Return the description of a written table, without the columns of the other unit system.

    References
    ----------
    own reasoning
    """
    described = column_file(name, "out")
    other = METRIC_ONLY if us else US_ONLY
    return described[~described["unit"].isin(other)].reset_index(drop=True)


def shaped(table: pd.DataFrame, name: str, us: bool) -> pd.DataFrame:
    """Return a table with the described columns in order, numbers rounded by their unit.

    References
    ----------
    own reasoning
    """
    described = plain_rows(out_columns(name, us))
    out = pd.DataFrame(index=range(len(table)))
    for row in described:
        title, kind = row["column"], row["kind"]
        if title not in table:
            out[title] = pd.Series([None] * len(table), dtype="object")
            continue
        values = table[title].reset_index(drop=True)
        if kind == "number":
            numbers = pd.to_numeric(values, errors="coerce").astype(float)
            out[title] = numbers.round(PLACES.get(row["unit"], 2)) + 0.0
        elif kind == "integer":
            out[title] = pd.to_numeric(values, errors="coerce").astype("Int64")
        else:
            out[title] = values.map(lambda cell: "" if pd.isna(cell) else str(cell))
    return out


def csv_bytes(table: pd.DataFrame) -> bytes:
    """Return a table as CSV in UTF-8; text that a sheet would run as a formula is disarmed.

    References
    ----------
    own reasoning
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.columns)
    for row in table.itertuples(index=False):
        writer.writerow([_cell(value) for value in row])
    return out.getvalue().encode()


def disarmed(text: str) -> str:
    """Return text that no sheet runs: a leading apostrophe before = + - @ and the like.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> disarmed("=1+1"), disarmed("Road field")
    ("'=1+1", 'Road field')
    """
    return f"'{text}" if text.startswith(RUNS) else text


def _cell(value: Any) -> str:
    """Return one cell: blank for missing, whole numbers without a point."""
    if value is None or pd.isna(value):
        return ""
    if isinstance(value, str):
        return disarmed(value)
    if isinstance(value, float) and value == int(value):
        return str(int(value))
    return str(value)


def _blocks(results: Results, summary: Summary) -> pd.DataFrame:
    targets = dict(zip(results.blocks["block_id"], results.blocks["targets"], strict=True))
    rows = []
    for block in summary.blocks:
        stems = [one.stems for one in block.stems]
        rows.append(
            {
                "block_id": block.block_id,
                "name": block.name,
                "goal": block.goal_key,
                "area_acres": block.area.value,
                "area_ha": block.area.value,
                "targets": targets[block.block_id],
                "strips": len(block.strips),
                "strips_treated": sum(strip.start_year is not None for strip in block.strips),
                "stems": sum(one.value for one in stems),
                "stems_low": sum(one.low for one in stems),
                "stems_high": sum(one.high for one in stems),
                "stems_from": block.basis,
                "hours": block.hours.value,
                "hours_low": block.hours.low,
                "hours_high": block.hours.high,
                "cost": block.cost.value,
                "cost_low": block.cost.low,
                "cost_high": block.cost.high,
                "first_year": block.first_year,
                "finish_year": block.finish_year,
            }
        )
    return pd.DataFrame(rows)


def _visits(results: Results) -> pd.DataFrame:
    """Return the visits of the plan in the order of the year, in both unit systems."""
    table = results.plan.visits.copy()
    if not len(table):
        return table
    order = season_order(results.rates)
    table["mix_gal"] = table["mix_l"] / units.L_PER_GAL
    table["product_floz"] = table["product_l"] / units.L_PER_FLOZ
    table["product_ml"] = table["product_l"] * 1000
    table["season_place"] = table["season"].map(order).fillna(0)
    return table.sort_values(["year", "season_place", "strip_id", "visit_id"], kind="stable")


def _purchases(results: Results) -> pd.DataFrame:
    table = results.plan.purchases.rename(
        columns={"product_l": "plan_on_l", "product_high_l": "be_ready_for_l"}
    )
    for name in ("plan_on", "be_ready_for", "container"):
        if len(table):
            table[f"{name}_gal"] = table[f"{name}_l"] / units.L_PER_GAL
    return table.sort_values(["year", "herbicide"], kind="stable") if len(table) else table


def _years(results: Results, summary: Summary) -> pd.DataFrame:
    whole = [row for row in plain_rows(results.plan.odds) if not row["season"]]
    odds = {(row["year"], row["kind"]): row for row in whole}
    rows = []
    for year in summary.year_rows:
        row: dict[str, Any] = {
            "year": year.year, "hours": year.hours.value, "cost": year.cost.value,
        }  # fmt: skip
        for kind, name in (("hours", "hours"), ("money", "cost")):
            found = odds.get((year.year, kind))
            if found is not None:
                row[f"{name}_ready"] = found["be_ready_for"]
                row[f"{name}_limit"] = found["limit"]
                row[f"odds_over_{name}"] = found["odds_over"]
        rows.append(row)
    return pd.DataFrame(rows)
