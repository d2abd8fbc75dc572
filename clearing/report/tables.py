"""Give the tables of the plan in the owner's units, and write them as text that runs nowhere."""

import csv
import io
import re
import unicodedata
from typing import Any

import pandas as pd

from clearing import units
from clearing.property import Results
from clearing.report.facts import Summary
from clearing.report.visit_facts import blank, confirmed_names, plain_rows, season_order
from clearing.report.words import Amount
from clearing.tables import column_file

RUNS = "=+-@"  # a cell that starts so is read as a formula by sheets
OPENS = ("\t", "\r", "\n")  # and one that starts so, whatever follows
MINUS = "\u2212"
UNSEEN = ("Cc", "Cf", "Cn", "Mn", "Zs")  # kinds of letters that show nothing by themselves
BLANKS = "\u115f\u1160\u2800\u3164\uffa0"  # fillers, and braille without a dot: shown as nothing
QUOTES = ("Pi", "Pf")
PLACES = {
    "h": 2, "dollars": 2, "acres": 2, "ha": 3, "gal": 3, "l": 3, "floz": 1, "ml": 0, "share": 3,
    "stems": 0, "percent": 1, "": 2,
}  # fmt: skip
US_ONLY, METRIC_ONLY = ("acres", "gal", "floz"), ("ha", "l", "ml")


def plan_tables(results: Results, summary: Summary) -> dict[str, pd.DataFrame]:
    """Return the tables of the plan by name, columns as described in ``data/columns/out``.

    blocks, strips, visits, purchases, years, limits, stems and forecast, in this order.

    References
    ----------
    own reasoning
    """
    us = summary.units == "us"
    raw = {
        "blocks": _blocks(results, summary),
        "strips": _strips(summary),
        "visits": _visits(results),
        "purchases": _purchases(results),
        "years": _years(results, summary),
        "limits": results.plan.limits,
        "stems": _stems(summary),
        "forecast": _forecast(summary),
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

    There is no byte-order mark: readers that follow the promised header (Python's csv among them)
    would find it in the name of the first column. A spreadsheet that takes such a file for another
    alphabet shows accents wrongly, and may read a name such as 3-4, 1E5 or 007 as a date or a
    number; names stay as they are here for other programs, and workbook.xlsx holds the same tables
    for spreadsheets, names as text.

    References
    ----------
    own reasoning
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.columns)
    for row in table.itertuples(index=False):
        writer.writerow([_cell(value) for value in row])
    return out.getvalue().encode("utf-8", "replace")


def disarmed(text: str) -> str:
    """Return text that no sheet runs: an apostrophe before what it would take for a formula.

    That is = + - @ in any width, also after blanks, quotes and letters that are not seen, a tab or
    a line break at the start, and the same behind a semicolon, a tab or a line break, where some
    sheets begin a new cell. Texts that begin with | or # are run by no sheet we know of and stay.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> disarmed("=1+1"), disarmed("Road field"), disarmed("low;=1+1"), disarmed("May - June")
    ("'=1+1", 'Road field', "low;'=1+1", 'May - June')
    """
    parts = re.split(r"([;\t\r\n])", text)
    safe = "".join(f"'{part}" if _runs(part) else part for part in parts)
    return f"'{safe}" if text.startswith(OPENS) else safe


def _runs(text: str) -> bool:
    """Return whether a cell with this text is read as a formula."""
    for letter in text:
        plain = unicodedata.normalize("NFKC", letter)
        if plain[:1] in RUNS or plain == MINUS:
            return True
        if not (_unseen(letter) or unicodedata.category(letter) in QUOTES or plain in "'\"`"):
            return False
    return False


def _unseen(letter: str) -> bool:
    """Return whether a letter shows nothing of its own."""
    return letter.isspace() or unicodedata.category(letter) in UNSEEN or letter in BLANKS


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
                **_ends("hours", block.hours),
                **_ends("cost", block.cost),
                "first_year": block.first_year,
                "finish_year": block.finish_year,
            }
        )
    return pd.DataFrame(rows)


def _strips(summary: Summary) -> pd.DataFrame:
    """Return every strip with what the plan does there."""
    rows = [
        {
            "strip_id": strip.strip_id,
            "block_id": strip.block_id,
            "name": strip.name,
            "area_acres": strip.area.value,
            "area_ha": strip.area.value,
            "method": strip.method_key,
            "when_done": strip.when,
            "start_year": strip.start_year,
            "finish_year": strip.finish_year,
            **_ends("hours", strip.hours),
            **_ends("cost", strip.cost),
            "why": strip.why,
        }
        for strip in summary.strips
    ]
    return pd.DataFrame(rows)


def _stems(summary: Summary) -> pd.DataFrame:
    """Return stems by block, species and size class."""
    rows = [
        {
            "block_id": block.block_id,
            "name": block.name,
            "species": species.species,
            "common_name": species.name,
            "size_class": size.size_class,
            "size": size.label,
            **_ends("stems", size.stems),
        }
        for block in summary.blocks
        for species in block.sizes
        for size in species.sizes
    ]
    return pd.DataFrame(rows)


def _forecast(summary: Summary) -> pd.DataFrame:
    """Return what stands at the start of each year: the whole place, then each strip."""
    told = {"": summary.ahead.place, **summary.ahead.strips}
    rows = [
        {
            "strip_id": strip_id,
            "year": one.year,
            **_ends("thick", one.thick),
            **_ends("thin", one.thin),
            "dead": one.dead.value,
            "canopy_pct": one.canopy_pct,
        }
        for strip_id, years in told.items()
        for one in years
    ]
    return pd.DataFrame(rows)


def _ends(name: str, amount: Amount) -> dict[str, float]:
    """Return a number and the ends of its range as three columns."""
    return {name: amount.value, f"{name}_low": amount.low, f"{name}_high": amount.high}


def _visits(results: Results) -> pd.DataFrame:
    """Return the visits of the plan in the order of the year, in both unit systems.

    The mix is blank where the product's label is not confirmed: with it and the product, which
    serves money and purchases, a strength could be worked out.
    """
    table = results.plan.visits.copy()
    if not len(table):
        return table
    order = season_order(results.rates)
    ready = {"", *confirmed_names(results.rates)}
    table["mix_l"] = table["mix_l"].where(table["herbicide"].map(blank).isin(ready))
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
