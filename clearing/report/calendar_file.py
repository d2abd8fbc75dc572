"""Write the calendar: one entry a season with its work and a reminder a week before."""

import datetime as dt
import hashlib
import re

from icalendar import Alarm, Calendar, Event

from clearing.property import Results
from clearing.report import words
from clearing.report.facts import PurchaseFacts, Summary, VisitFacts
from clearing.report.field_text import one_line
from clearing.report.season_days import Span, season_spans
from clearing.report.strip_facts import total_hours
from clearing.report.year_facts import NOTHING_TO_BUY

FIXED_STAMP = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # the same file every time
REMIND = dt.timedelta(days=-7)
LABEL = "Read the label before you load."


def calendar_bytes(results: Results, summary: Summary) -> bytes:
    """Return calendar.ics: an all-day entry for every season of a year that has work.

    A season whose months do not lie side by side (a closed month between) has an entry for each
    piece; the reminder stands with the first. The first entry of a year says what to buy before.

    No entry says when it was changed, so that the same plan gives the same file; a calendar that
    holds an entry may then keep the old one (from memory, not tried). Import a changed plan into a
    calendar of its own, or into an empty one.

    References
    ----------
    rfc_5545
    """
    months = {
        str(row["season"]): tuple(int(month) for month in row["months"])
        for row in results.rates.seasons.to_dict("records")
    }
    file = Calendar()
    file.add("prodid", "-//clearing//plan//EN")
    file.add("version", "2.0")
    file.add("name", one_line(f"{summary.property_name}: clearing"))
    bought: set[int] = set()
    for (year, season), part in _by_season(summary).items():
        buy = [] if year in bought else _to_buy(summary.purchases, year)
        bought.add(year)
        title = one_line(
            f"{summary.property_name}, {part[0].season}: {total_hours(part).short} of work"
        )
        said = _description(part, buy, summary)
        spans = season_spans(year, months.get(season) or (1,))
        for place, span in enumerate(spans):
            more = f" (part {place + 1} of {len(spans)})" if len(spans) > 1 else ""
            event = _entry(title + more, said, span, _uid(summary, year, season, place))
            if place == 0:
                event.add_component(_reminder(title, any(one.herbicide for one in part)))
            file.add_component(event)
    return bytes(file.to_ical(sorted=True))


def _by_season(summary: Summary) -> dict[tuple[int, str], list[VisitFacts]]:
    """Return the visits of each season of each year, in order."""
    out: dict[tuple[int, str], list[VisitFacts]] = {}
    for year in summary.year_rows:
        for visit in year.visits:
            out.setdefault((visit.year, visit.season_key), []).append(visit)
    return out


def _to_buy(purchases: tuple[PurchaseFacts, ...], year: int) -> list[str]:
    """Return what to buy for one year, or be ready to, in sentences."""
    return [
        one.sentence for one in purchases
        if one.year == year and {one.containers, one.containers_ready} != {NOTHING_TO_BUY}
    ]  # fmt: skip


def _description(visits: list[VisitFacts], buy: list[str], summary: Summary) -> str:
    """Return hours with their range, what to buy, the jobs strip by strip, and the label."""
    names = {strip.strip_id: strip.name for strip in summary.strips}
    lines = [words.sentence(f"{total_hours(visits).words}.")]
    lines += [f"Buy before: {sentence}" for sentence in buy]
    lines += [_line(one, names[one.strip_id]) for one in visits]
    lines += [LABEL] if any(one.herbicide for one in visits) else []
    return "\n".join(one_line(line) for line in lines)


def _line(visit: VisitFacts, strip: str) -> str:
    """Return one visit in a line."""
    spray = f", {visit.herbicide}" if visit.herbicide else ""
    return f"{words.sentence(strip)}: {visit.job}{spray}, {visit.hours.words}"


def _entry(title: str, said: str, span: Span, uid: str) -> Event:
    """Return one all-day entry."""
    event = Event()
    event.add("uid", uid)
    event.add("dtstamp", FIXED_STAMP)
    event.add("dtstart", span[0])
    event.add("dtend", span[1])
    event.add("summary", title)
    event.add("description", said)
    event.add("transp", "TRANSPARENT")
    return event


def _reminder(title: str, sprayed: bool) -> Alarm:
    """Return the reminder of a season; the label is named where something is sprayed."""
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"{title}. {LABEL}" if sprayed else f"{title}.")
    alarm.add("trigger", REMIND)
    return alarm


def _uid(summary: Summary, year: int, season: str, place: int) -> str:
    """Return a name for an entry that stays the same from plan to plan and is no other's."""
    whole = "\n".join([summary.property_name, str(year), season, str(place)])
    mark = hashlib.sha256(whole.encode("utf-8", "replace")).hexdigest()[:12]
    return f"{year}-{_slug(season)}-{mark}@clearing"


def _slug(text: str) -> str:
    """Return text as it may stand in an identifier."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:30] or "season"
