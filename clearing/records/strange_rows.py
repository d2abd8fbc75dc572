"""Tell the rows of the log whose day, times or area can hardly be true."""

import re
from collections.abc import Mapping
from datetime import date, timedelta

import pandas as pd

from clearing.tables import cell_text, name_list

LARGER = 1.02  # an area is larger than its strip from this share on; own choice
AHEAD = timedelta(days=1)  # east of here it is tomorrow already; own choice
TIMES = {"start_time": "start", "end_time": "end"}
_TIME = re.compile(r"([01]?[0-9]|2[0-3]):[0-5][0-9]")


def time_text(words: object) -> str:
    """Return a time of day as HH:MM, or blank where the words are none.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> time_text("9:30"), time_text("24:00"), time_text("noon")
    ('09:30', '', '')
    """
    text = cell_text(words)
    return text.zfill(5) if _TIME.fullmatch(text) else ""


def odd_rows(
    records: pd.DataFrame, areas: Mapping[str, float] | None = None, today: date | None = None
) -> list[str]:
    """Return a sentence for each day, time or area of a row that can hardly be true.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``, rows in force, in metric.
    areas : mapping or None
        Strip or block -> its area [ha].
    today : date or None
        Later days are in the future; none is looked for where this is not given.

    References
    ----------
    own reasoning
    """
    told = []
    for row in records.to_dict("records"):
        said = [*_day(row, today), *_times(row), *_area(row, areas or {})]
        told += [f"records.csv row {cell_text(row['record_id'])}: {one}" for one in said]
    return told


def days_ahead(records: pd.DataFrame, tally: pd.DataFrame, today: date) -> list[str]:
    """Return a sentence for work and counts that are dated more than a day after today.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``, rows in force, with ``line``.
    tally : DataFrame
        As ``owner/tally``.
    today : date
        The day by the clock, which may be wrong.

    References
    ----------
    own reasoning
    """
    last = (today + AHEAD).isoformat()
    do = "is still to come by this computer's clock; write the day it was, or set the clock right"
    told = [
        f"records.csv line {row['line']:.0f}: 'date' is {day}, and that day {do}"
        for row in records.to_dict("records") if (day := cell_text(row["date"])) > last
    ]  # fmt: skip
    counted: dict[str, list[str]] = {}
    for row in tally.to_dict("records"):
        if (day := cell_text(row.get("date"))) > last:
            counted.setdefault(day, []).append(cell_text(row["plot_id"]))
    for day in sorted(counted):
        plots = sorted(set(counted[day]))
        told.append(f"tally.csv: 'date' is {day} at plot {name_list(plots)}, and that day {do}")
    return told


def _day(row: dict[str, object], today: date | None) -> list[str]:
    """Return what is odd about the day of a row."""
    day = cell_text(row["date"])
    if today is not None and day > today.isoformat():
        return [f"'date' is {day}, which is after today ({today}); correct it if it is a slip"]
    return []


def _times(row: dict[str, object]) -> list[str]:
    """Return what is odd about start and end of a row."""
    given = {column: cell_text(row.get(column)) for column in TIMES}
    said = [f"{column!r} is {words!r}; write a time of day as HH:MM"
            for column, words in given.items() if words and not time_text(words)]  # fmt: skip
    start, end = (time_text(words) for words in given.values())
    if start and end and end < start:
        said.append(f"it ends at {end}, before it starts at {start}; correct it if it is a slip")
    return said


def _area(row: dict[str, object], areas: Mapping[str, float]) -> list[str]:
    """Return whether the area of a row is larger than its strip or block."""
    there = areas.get(cell_text(row["strip_id"]))
    area = pd.to_numeric(pd.Series([row.get("area_ha")]), errors="coerce").iloc[0]
    if there is None or pd.isna(area) or not area > LARGER * there:
        return []
    times = f"{area / there:.2g}" if area < 100 * there else f"{area / there:.0f}"
    return [f"its area is {times} times that of {cell_text(row['strip_id'])}; "
            "correct the area or the strip"]  # fmt: skip
