"""Say which ground was sprayed and until when its label asks people to keep out."""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from clearing import treatment
from clearing.actives import folded
from clearing.rates import Rates
from clearing.records import in_force, products_meant
from clearing.report import names, words
from clearing.report.field_text import one_line
from clearing.report.go_lines import figure_from, whose_label
from clearing.report.next_due import Due, strips_of
from clearing.report.next_fill import ALONE, KEPT_OUT, SPRAYED_TODAY
from clearing.report.practice import SPRAYS
from clearing.report.season_days import day_words
from clearing.report.words import cut, listed
from clearing.tables import cell_text

ITEM, ANY = "rei_hours", "any"
LOG_SAYS = "as the log has it"
DECIDES = "your label decides"
NO_CLOCK = ", counted from the end of that day: the log has no time at which it ended"
GEAR_ONLY = "Go there only in what handlers wear."
SECOND = "needs a second person: do not work alone with a saw or an axe"
NAME = 40  # letters of a name; own choice


@dataclass(frozen=True)
class KeptOut:
    """One strip that was sprayed, until when its label asks people to keep out, and who says so.

    Attributes
    ----------
    sprayed : date
        Day of the work.
    product : str
        Herbicide in words, blank where the log has none.
    until : datetime
        End of the time.
    hours : float
        The time [h].
    known : str
        Where the hours are from, in words.
    timed : bool
        Whether the log has the time at which the work ended.
    """

    sprayed: dt.date
    product: str
    until: dt.datetime
    hours: float
    known: str
    timed: bool


def kept_out(
    logged: pd.DataFrame, told: Mapping[str, Any], rates: Rates, day: dt.date
) -> dict[str, KeptOut]:
    """Return the strips whose re-entry time ends on a day or after it, the latest end of each.

    The hours are those of the row, else of the confirmed label, else the handbook's; where the
    product is not known, the longest of what it may be. Without a time in the log they count from
    the end of its day.

    Parameters
    ----------
    logged : DataFrame
        The log, in metric.
    told : mapping
        What plan.json tells.
    rates : Rates
        Products and the handbook's figures.
    day : date
        The day asked for.

    References
    ----------
    own reasoning; each figure carries its own source
    """
    out: dict[str, KeptOut] = {}
    for row in in_force(logged).to_dict("records") if len(logged) else ():
        when = pd.Timestamp(row["date"])
        if pd.isna(when) or when.date() > day or not _is_sprayed(row):
            continue
        hours, known = _hours(row, rates)
        ended = _ended(row, when.date())
        start = ended or dt.datetime.combine(when.date() + dt.timedelta(days=1), dt.time())
        until = start + dt.timedelta(hours=hours)
        if until <= dt.datetime.combine(day, dt.time()):
            continue
        product = names.herbicide_name(cell_text(row.get("herbicide")))
        one = KeptOut(when.date(), product, until, hours, known, ended is not None)
        for strip in strips_of(cell_text(row["strip_id"]), told):
            if strip not in out or out[strip].until < until:
                out[strip] = one
    return out


def _is_sprayed(row: Mapping[str, Any]) -> bool:
    """Return whether a row of the log put herbicide out."""
    amount = pd.to_numeric(pd.Series([row.get("product_l")]), errors="coerce").iloc[0]
    named = bool(cell_text(row.get("herbicide"))) or amount > 0
    return named or folded(cell_text(row["job"])) in SPRAYS


def _hours(row: Mapping[str, Any], rates: Rates) -> tuple[float, str]:
    """Return the re-entry time of a row [h], and where it is from in words."""
    given = pd.to_numeric(pd.Series([row.get("reentry_h")]), errors="coerce").iloc[0]
    if not math.isnan(given):
        return float(given), LOG_SAYS
    meant = products_meant(cell_text(row.get("herbicide")), rates)
    found = [
        treatment.day_line(known, ITEM, rates)
        for known in treatment.known_products(rates) if known.name in meant and known.key
    ]  # fmt: skip
    if not found:
        figure = rates.figure(ANY, ITEM)
        return figure.value, _as_read(figure_from(figure))
    most = max(found, key=lambda one: one.value)
    if most.figure is not None:
        return most.value, _as_read(figure_from(most.figure))
    own = next(one for one in treatment.known_products(rates) if one.name in meant)
    return most.value, whose_label(own)


def _as_read(said: str) -> str:
    """Return where a figure is from, with who decides."""
    return said if DECIDES in said else f"{said}; {DECIDES}"


def _ended(row: Mapping[str, Any], day: dt.date) -> dt.datetime | None:
    """Return when the work of a row ended, none where the log does not say it as HH:MM."""
    start, end = (_clock(cell_text(row.get(name))) for name in ("start_time", "end_time"))
    if end is None or (start is not None and start > end):
        return None
    return dt.datetime.combine(day, end)


def _clock(said: str) -> dt.time | None:
    """Return a time of day, none where it is no HH:MM."""
    try:
        return dt.datetime.strptime(said.strip(), "%H:%M").time()
    except ValueError:
        return None


Back = Sequence[tuple[Due, str]]


def out_lines(
    kept: Mapping[str, KeptOut], back: Back, today: Sequence[str], told: Mapping[str, Any], us: bool
) -> tuple[str, ...]:
    """Return a sentence for each spraying whose re-entry time has not passed, strips together.

    Parameters
    ----------
    kept : mapping
        As `kept_out` gives it.
    back : sequence
        What is held back, with why.
    today : sequence of str
        Strips that are sprayed on the day.
    told : mapping
        What plan.json tells.
    us : bool
        How a day is written.

    References
    ----------
    own reasoning
    """
    groups: dict[tuple[KeptOut, bool, tuple[str, ...]], list[str]] = {}
    for strip, one in kept.items():
        left = tuple(names.plain(names.JOBS, due.job) for due, why in back
                     if why == KEPT_OUT and due.strip_id == strip)  # fmt: skip
        groups.setdefault((one, strip in today, left), []).append(strip)
    out = []
    for (one, on_it, left), strips in groups.items():
        product = f" with {words.isolated(cut(one_line(one.product), NAME))}" if one.product else ""
        until = f"{day_words(one.until.date(), us)}, {one.until:%H:%M}"
        line = (
            f"{strips_said(strips, told)}: sprayed {day_words(one.sprayed, us)}{product}. Keep out "
            f"until {until} without what handlers wear ({_count(one.hours)}, {one.known}"
            f"{'' if one.timed else NO_CLOCK})."
        )
        line += f" {GEAR_ONLY}" if on_it else ""
        line += f" Left for another day: {listed(list(left))}." if left else ""
        out.append(line)
    return tuple(out)


def left_lines(back: Back, today: Sequence[str], told: Mapping[str, Any]) -> tuple[str, ...]:
    """Return a sentence for each kind of work that the day leaves, and why.

    Parameters
    ----------
    back : sequence
        What is held back, with why.
    today : sequence of str
        Strips that are sprayed on the day.
    told : mapping
        What plan.json tells.

    References
    ----------
    osha_1910_266; from memory: not alone with a saw or an axe
    """
    groups: dict[tuple[str, str], list[str]] = {}
    for due, why in back:
        if why == ALONE or (why == SPRAYED_TODAY and due.strip_id in today):
            groups.setdefault((why, due.job), []).append(due.strip_id)
    out = []
    for (why, job), strips in groups.items():
        what = names.plain(names.JOBS, job)
        said = SECOND if why == ALONE else (
            "is left until the re-entry time of this day's spray has passed"
        )  # fmt: skip
        out.append(f"{strips_said(strips, told)}: {what} {said}.")
    return tuple(out)


def strips_said(strips: Sequence[str], told: Mapping[str, Any]) -> str:
    """Return strips in words: one with its name, several by their numbers.

    References
    ----------
    own reasoning
    """
    if len(strips) > 1:
        return f"Strips {listed([cut(one, NAME) for one in strips])}"
    return f"Strip {strip_said(strips[0], told)}"


def strip_said(strip: str, told: Mapping[str, Any]) -> str:
    """Return a strip with its name, and its block's where it has none.

    References
    ----------
    own reasoning
    """
    row = told["strips"][strip]
    name = str(row["name"]) or str(row["block_name"])
    said = words.isolated(cut(one_line(name), NAME))
    return f"{cut(strip, NAME)}, {said}" if name != strip else cut(strip, NAME)


def _count(hours: float) -> str:
    """Return hours in words."""
    return f"{hours:g} {'hour' if hours == 1 else 'hours'}"
