"""Print the record of what was done, and write it as a table."""

import json
from dataclasses import asdict
from typing import Any

import pandas as pd

from clearing import records
from clearing.property import Property
from clearing.rates import Rates
from clearing.records.fields import DECIDES
from clearing.records.missing import NOTHING
from clearing.report import look
from clearing.report.figures_used import citation
from clearing.report.pressed import pressed
from clearing.report.record_facts import (
    pieces,
    plain_text,
    replaced_by,
    yearly_hours,
    yearly_sums,
)
from clearing.report.tables import csv_bytes
from clearing.report.tally_sheet import PAPER
from clearing.report.visit_facts import plain_rows
from clearing.report.words import cut
from clearing.sources import source_rows
from clearing.tables import cell_text, column_file
from clearing.units import METRIC_TWIN, NOUGHT

TEMPLATES = ("record.typ", "pieces.typ")
PLACES = 6  # decimals of a number that came through metric; own choice
SOURCES = "montana_records"  # beside those that the rules name themselves


def record_pdf(place: Property, rates: Rates, year: int | None = None) -> bytes:
    """Return the printed record as PDF; the same log gives the same bytes.

    Parameters
    ----------
    place : Property
        Its name, units and log.
    rates : Rates
        Products.
    year : int or None
        That year's rows alone.

    References
    ----------
    own reasoning
    """
    return pressed(TEMPLATES, {"plan.json": json.dumps(record_data(place, rates, year))})


def record_data(place: Property, rates: Rates, year: int | None = None) -> dict[str, Any]:
    """Return all words of the printed record, ready for JSON.

    Parameters
    ----------
    place : Property
        Its name, units and log.
    rates : Rates
        Products.
    year : int or None
        That year's rows alone.

    References
    ----------
    own reasoning
    """
    us, log = place.settings.us, place.records
    name = plain_text(place.settings.name)
    when = f"of {year}" if year is not None else "of all years"
    there = records.places_now(place, rates) if len(log) else None
    blocks = {} if there is None else dict(zip(there["place"], there["block"], strict=True))
    rows = pieces(log, rates, us, year, blocks)
    lacking = records.lacking_counts(
        [one for one in records.lacking(log, rates)
         if year is None or one.date.startswith(f"{year:04d}")]
    )  # fmt: skip
    keys = [*records.record_rules()["source"], SOURCES]
    return {
        "title": f"Record of work, {name}",
        "paper": PAPER[place.settings.units],
        "name": cut(name, 80),
        "footer": cut(name, 50),
        "look": {"ink": look.INK, "line": look.LINE, "keep_out": look.KEEP_OUT,
                 "accent": look.ACCENT, "quiet": look.QUIET},
        "lead": f"The rows {when}, as they stand in the log: {_counted(rows)}. Strips and blocks "
        f"are those on the map of the work plan of {cut(name, 80)}, which goes with this record. "
        f"{_printed_from(log)}",
        "rows": [asdict(one) for one in rows],
        "sums": yearly_sums(log, rates, us, year),
        "hours": yearly_hours(log, year),
        "lacking": [plain_text(line) for line in lacking] or [_nothing(rows)],
        "faults": [plain_text(line) for line in place.log_faults],
        "rules": records.rule_lines(),
        "decides": DECIDES,
        "sources": [citation(row) for row in plain_rows(source_rows(keys))],
    }  # fmt: skip


def record_csv(place: Property, year: int | None = None) -> bytes:
    """Return all rows of the log as a table in the owner's units, with what became of each.

    Parameters
    ----------
    place : Property
        Its units and log.
    year : int or None
        That year's rows alone.

    References
    ----------
    nist_hb44
    """
    log, us = place.records, place.settings.us
    gone, twins = replaced_by(log), _twins()
    numbers = log["record_id"].map(cell_text)
    status = numbers.map(lambda number: f"replaced by {gone[number]}" if number in gone else "")
    out = pd.DataFrame({"record_id": numbers, "status": status.where(status != "", "in force")})
    for column in column_file("records")["column"].drop(0):
        stem, _, suffix = column.rpartition("_")
        metric, one = METRIC_TWIN.get(suffix, ("", 1.0)) if stem else ("", 1.0)
        if metric:
            if us:
                values = log[f"{stem}_{metric}"].astype(float) / one + NOUGHT.get(suffix, 0.0)
                out[column] = values.round(PLACES)
        elif column not in twins:
            out[column] = log[column]
        elif not us:
            out[column] = log[column].astype(float).round(PLACES)
    if year is not None:
        out = out[out["date"].astype(str).str.startswith(f"{year:04d}")]
    texts = out.select_dtypes(exclude="number").columns
    return csv_bytes(out.assign(**{column: out[column].map(cell_text) for column in texts}))


def _twins() -> set[str]:
    """Return the metric columns of the log that have a twin in US units."""
    parts = [column.rpartition("_") for column in column_file("records")["column"]]
    return {f"{stem}_{METRIC_TWIN[suffix][0]}" for stem, _, suffix in parts
            if stem and suffix in METRIC_TWIN}  # fmt: skip


def _printed_from(log: pd.DataFrame) -> str:
    """Return of which state of the file this is the print: its rows and its last entry."""
    if not len(log):
        return "Printed from records.csv without rows."
    rows = f"{len(log)} row{'' if len(log) == 1 else 's'}"
    last = log.iloc[-1]
    number, day = cell_text(last["record_id"]), cell_text(last["date"])
    return f"Printed from records.csv of {rows}, last entry row {number} of {day}."


def _counted(rows: list[Any]) -> str:
    """Return how many rows there are and how many of them are in force."""
    force = sum(not row.replaced for row in rows)
    return f"{len(rows)} row{'' if len(rows) == 1 else 's'}, {force} in force"


def _nothing(rows: list[Any]) -> str:
    """Return what is said when no field is blank."""
    return f"{NOTHING[:1].upper()}{NOTHING[1:]}." if rows else "There are no rows."
