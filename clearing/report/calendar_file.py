"""Write the calendar: one entry a season with its work and a reminder a week before."""

import datetime as dt
import re
from itertools import groupby

from icalendar import Alarm, Calendar, Event

from clearing.property import Results
from clearing.report import words
from clearing.report.facts import Summary, VisitFacts
from clearing.report.strip_facts import total_hours

FIXED_STAMP = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # the same file every time
REMIND = dt.timedelta(days=-7)


def calendar_bytes(results: Results, summary: Summary) -> bytes:
    """Return calendar.ics: an all-day entry for every season of a year that has work.

    References
    ----------
    own reasoning
    """
    months = {
        str(row["season"]): tuple(int(month) for month in row["months"])
        for row in results.rates.seasons.to_dict("records")
    }
    file = Calendar()
    file.add("prodid", "-//clearing//plan//EN")
    file.add("version", "2.0")
    file.add("name", f"{summary.property_name}: clearing")
    place = {strip.strip_id: strip for strip in summary.strips}
    visits = [visit for year in summary.year_rows for visit in year.visits]
    for (year, season), group in groupby(visits, key=lambda one: (one.year, one.season_key)):
        part = list(group)
        first, after = season_days(year, months.get(season) or (1,))
        event = Event()
        event.add("uid", f"{_slug(summary.property_name)}-{year}-{_slug(season)}@clearing")
        event.add("dtstamp", FIXED_STAMP)
        event.add("dtstart", first)
        event.add("dtend", after)
        title = f"{summary.property_name}, {part[0].season}: {total_hours(part).short} of work"
        event.add("summary", title)
        event.add("description", "\n".join(_line(one, place[one.strip_id].name) for one in part))
        event.add("transp", "TRANSPARENT")
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", f"{title}. Read the label before you load.")
        alarm.add("trigger", REMIND)
        event.add_component(alarm)
        file.add_component(event)
    return bytes(file.to_ical(sorted=True))


def season_days(year: int, months: tuple[int, ...]) -> tuple[dt.date, dt.date]:
    """Return the first day of a season and the day after its last.

    A season belongs to the year it starts in; months that run past December lie in the next.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> season_days(2028, (12, 1, 2))
    (datetime.date(2028, 12, 1), datetime.date(2029, 3, 1))
    """
    first, last = months[0], months[-1]
    end_year = year if last >= first else year + 1
    after = dt.date(end_year + last // 12, last % 12 + 1, 1)
    return dt.date(year, first, 1), after


def _line(visit: VisitFacts, strip: str) -> str:
    """Return one visit in a line."""
    spray = f", {visit.herbicide}" if visit.herbicide else ""
    return f"{words.sentence(strip)}: {visit.job}{spray}, {visit.hours.words}"


def _slug(text: str) -> str:
    """Return text as it may stand in an identifier."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") or "place"
