"""Show the season's log on the drawing page, and add to it what is typed there."""

from pathlib import Path
from typing import Any

import pandas as pd

from clearing import files, records
from clearing.app.asked import Refused
from clearing.app.forms import LONGEST
from clearing.errors import InputError
from clearing.files.planned import read_plan
from clearing.property import Property
from clearing.rates import for_settings
from clearing.report.field_log import log_choices, log_fields, log_places
from clearing.tables import cell_text
from clearing.units import METRIC_TWIN, NOUGHT

LONGEST_KEY = 64  # letters of an entry's key; own choice
DIGITS = 5  # of a figure brought back into the owner's units; own choice


def log_known(home: Path) -> dict[str, Any]:
    """Return the log as the page shows it, and what its form asks, ready for JSON.

    Parameters
    ----------
    home : Path
        The property's folder.

    Returns
    -------
    dict
        ``asked``: fields, places, jobs, with_product, herbicides, caution, as `field_log` has them;
        ``rows``: rows in force, newest first, each with id, line, entry and cells
        (column of the form -> text in the owner's units); ``taken``: entry key -> record_id of all
        rows; ``later``: record_id of a row that was corrected -> the one that counts in its place;
        ``faults``: a sentence for each damaged row or cell.

    Raises
    ------
    InputError
        The property cannot be read.

    References
    ----------
    own reasoning
    """
    place = files.read(home)
    rates = for_settings(place.settings)
    fields = log_fields(place.settings.us)
    force = records.in_force(place.records)
    force = force.iloc[::-1].sort_values("date", ascending=False, kind="stable")
    every = place.records.to_dict("records")
    taken = {cell_text(row.get("entry")): cell_text(row["record_id"]) for row in every}
    return {
        "asked": {"fields": fields, "places": _places(home, place)} | log_choices(rates),
        "rows": [
            {
                "id": cell_text(row["record_id"]), "line": int(row.get("line") or 0),
                "entry": cell_text(row.get("entry")),
                "cells": {each[0]: text for each in fields if (text := _cell(row, each[0]))},
            }
            for row in force.to_dict("records")
        ],
        "taken": {key: own for key, own in taken.items() if key},
        "later": _later(every),
        "faults": list(place.log_faults),
    }  # fmt: skip


def log_added(home: Path, ask: dict[str, Any]) -> dict[str, Any]:
    """Return the number of the row that was added, and whether it had been there before.

    Parameters
    ----------
    home : Path
        The property's folder.
    ask : dict
        ``entry``: the key of this entry, the same one each time it is sent; ``replaces``: number
        or key of the entry that it corrects, or blank; ``cells``: column -> text.

    Raises
    ------
    Refused
        It has no key, or holds what is no text of a column of the log.
    InputError
        As `clearing.files.add_records`.

    References
    ----------
    own reasoning
    """
    entry, cells = str(ask.get("entry") or "").strip(), ask.get("cells")
    if not 0 < len(entry) <= LONGEST_KEY or not isinstance(cells, dict):
        raise Refused("an entry has a key of its own, and says what was done")
    place = files.read(home)
    asked = {field[0] for field in log_fields(place.settings.us)}
    odd = [str(name)[:40] for name in cells if name not in asked]
    if odd:
        raise Refused(f"the log's form has no field {odd[0]!r}")
    long = [name for name, text in cells.items() if len(str(text)) > LONGEST]
    if long:
        raise Refused(f"{long[0]!r} holds too many letters; {LONGEST} are the most")
    row: dict[str, object] = {name: str(text).strip() for name, text in cells.items()}
    row |= {"entry": entry, "replaces": str(ask.get("replaces") or "").strip()[:LONGEST_KEY]}
    done = files.add_records(home, place, [row])
    return {"added": list(done.added), "known": list(done.known)}


def _later(rows: list[dict[Any, Any]]) -> dict[str, str]:
    """Return which row counts in the place of each row that was corrected, by their numbers."""
    by = {cell_text(row.get("replaces")): cell_text(row["record_id"]) for row in rows}
    by.pop("", None)
    out = {}
    for old in by:
        now, seen = old, {old}
        while now in by and by[now] not in seen:
            now = by[now]
            seen.add(now)
        out[old] = now
    return out


def _cell(row: dict[Any, Any], column: str) -> str:
    """Return a cell of a metric row as text in the units of a column of the form."""
    stem, _, suffix = column.rpartition("_")
    if column in row or suffix not in METRIC_TWIN:
        return cell_text(row.get(column))
    metric, factor = METRIC_TWIN[suffix]
    value = pd.to_numeric(pd.Series([row.get(f"{stem}_{metric}")]), errors="coerce").iloc[0]
    if pd.isna(value):
        return ""
    return f"{float(value) / factor + NOUGHT.get(suffix, 0.0):.{DIGITS}g}"


def _places(home: Path, place: Property) -> list[list[str]]:
    """Return the blocks and the strips of the plan, else of the land as it would be cut now."""
    known = records.known_places(place, for_settings(place.settings))
    try:
        planned = read_plan(home)
    except InputError:
        planned = None
    strips = {} if planned is None else {one["strip_id"]: one for one in planned.said["strips"]}
    named = dict(zip(place.blocks["block_id"].map(cell_text), place.blocks["name"], strict=True))
    rows, blocks = [], [name for name in known if name in named]
    for block in blocks:
        rows.append((block, block, cell_text(named[block]) or f"block {block}"))
        for name in known:
            told = strips.get(name)
            own = told["block_id"] == block if told else _letters_after(name, block)
            if name not in named and own:
                rows.append((name, block, told["name"] if told else f"strip {name}"))
    seen = {row[0] for row in rows}
    rows += [(name, "", f"strip {name}") for name in known if name not in seen]
    return log_places(rows)


def _letters_after(strip: str, block: str) -> bool:
    """Return whether a strip is called as the tool calls those of a block, such as 2a of 2."""
    own = strip.removeprefix(block)
    return own != strip and own.isalpha()
