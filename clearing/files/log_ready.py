"""Make rows ready for the log: as text, with the label's number, and what is wrong with them."""

import math
import re
from collections.abc import Mapping, Sequence

import pandas as pd

from clearing import records
from clearing.files.log_typed import typed_amounts, unlike_twins, with_point
from clearing.property import Property
from clearing.rates import Rates, for_settings
from clearing.tables import cell_text, column_file, faulty_cells

BREAK = " / "  # stands for a line break, so that a row stays on one line; own choice
Row = dict[str, str]
TIMES = ("start_time", "end_time")


def ready_rows(
    place: Property, rows: Sequence[Mapping[str, object]]
) -> tuple[list[Row], dict[int, list[str]]]:
    """Return rows that are to join the log as text, and what is wrong with each by its place.

    Parameters
    ----------
    place : Property
        As read: its products and ground.
    rows : sequence of mapping
        Columns of the log -> what stands there; ``strip`` may stand for strip_id, and area, wind,
        heat, product and mix for an amount with its unit. Numbers of rows are passed over.

    References
    ----------
    own reasoning
    """
    rates = for_settings(place.settings)
    described = column_file("records")
    ready: list[Row] = []
    problems: dict[int, list[str]] = {}
    for n, given in enumerate(rows):
        row, problems[n] = _as_text(given, described, place.settings.us)
        row = _with_registration(_folded(row, place), place, rates)
        problems[n] += unlike_twins(row)
        ready.append(row)
    needed = described.loc[described["required"] == "yes", "column"]
    table = pd.DataFrame(ready, columns=described["column"], dtype=str).fillna("")
    table["record_id"] = "1"
    for n, said in faulty_cells(table, "records"):
        problems[n].append(said)
    places = _places(place, ready, rates)
    for n, row in enumerate(ready):
        blank = [column for column in needed if not row.get(column)]
        where = "" if "strip_id" in blank else records.place_problem(row["strip_id"], places)
        problems[n] += [f"'strip': {where}"] if where else []
    return ready, problems


def _places(place: Property, rows: Sequence[Row], rates: Rates) -> list[str]:
    """Return the blocks, and the strips as they are cut now where a row names another place."""
    blocks = [str(name) for name in place.blocks["block_id"]]
    if all(row.get("strip_id", "") in ("", *blocks) for row in rows):
        return blocks
    return records.known_places(place, rates)


def _as_text(
    given: Mapping[str, object], described: pd.DataFrame, us: bool
) -> tuple[Row, list[str]]:
    """Return a row as text with the columns of the log, and what is wrong with its amounts."""
    values = {key: value for key, value in given.items() if key not in ("record_id", "line")}
    if "strip" in values:
        values["strip_id"] = values.pop("strip")
    values, problems = typed_amounts(values, us)
    kinds = dict(zip(described["column"], described["kind"], strict=True))
    row = {}
    for column, value in values.items():
        number = kinds.get(column) in ("number", "integer")
        text = "nan" if number and _no_number(value) else cell_text(value)
        text = BREAK.join(text.replace("\0", "").splitlines())
        if column in kinds and text:
            row[column] = with_point(text) if number else text
    for column in TIMES:
        right = records.time_text(row.get(column, ""))
        if row.get(column) and not right:
            problems.append(f"{column!r} is {row[column]!r}; write a time of day as HH:MM")
        if right:
            row[column] = right
    return row, problems


def _no_number(value: object) -> bool:
    """Return whether a value is a number that is none, which is no blank."""
    return isinstance(value, float) and math.isnan(value)


def _folded(row: Row, place: Property) -> Row:
    """Return a row with its job as a key, and a block's own name as the block where one has it."""
    row = dict(row)
    if "job" in row:
        row["job"] = records.job_meant(row["job"])
    named = [
        cell_text(block)
        for block, name in zip(place.blocks["block_id"], place.blocks["name"], strict=True)
        if _plain(name) and _plain(name) == _plain(row.get("strip_id", ""))
    ]
    if len(named) == 1 and row["strip_id"] not in set(place.blocks["block_id"].map(cell_text)):
        row["strip_id"] = named[0]
    return row


def _plain(words: object) -> str:
    """Return a name in small letters with single blanks."""
    return re.sub(r"\s+", " ", cell_text(words)).strip().lower()


def _with_registration(row: Row, place: Property, rates: Rates) -> Row:
    """Return a row with the number of the label that the owner confirmed, where it names none."""
    if row.get("registration") or not row.get("herbicide"):
        return row
    meant = records.products_meant(row["herbicide"], rates)
    own = [p for p in place.settings.herbicides if meant == [p.name] and p.confirmed]
    return row | {"registration": own[0].registration} if own and own[0].registration else row
