"""The calendar keeps to RFC 5545, and two readers find the same entries."""

import datetime as dt
from dataclasses import replace

import icalendar
import pytest
import vobject

from clearing import report
from clearing.report.calendar_file import calendar_bytes, season_spans
from tests.hostile_place import NAMES
from tests.report.small_place import small_results

DAY = dt.date


def made(results=None) -> bytes:
    """Return calendar.ics of the small place, or of another."""
    place = results or small_results()
    return calendar_bytes(place, report.summarise(place))


def entries(content: bytes) -> list:
    """Return the entries as icalendar reads them."""
    return icalendar.Calendar.from_ical(content).walk("VEVENT")


def with_months(season: str, months: tuple[int, ...]):
    """Return the small place, one season with other months."""
    results = small_results()
    seasons = results.rates.seasons.copy()
    seasons["months"] = [months if key == season else own for key, own in
                         zip(seasons["season"], seasons["months"], strict=True)]  # fmt: skip
    return replace(results, rates=replace(results.rates, seasons=seasons))


def test_an_entry_a_season_with_a_reminder_a_week_before():
    """calendar.ics holds the four working seasons, each with its days and one reminder."""
    events = entries(made())
    assert [event.decoded("dtstart") for event in events] == [
        DAY(2027, 6, 1), DAY(2028, 6, 1), DAY(2028, 9, 1), DAY(2029, 1, 1),
    ]  # fmt: skip
    assert events[0].decoded("dtend") == DAY(2027, 9, 1)
    alarms = [[one.decoded("trigger") for one in event.walk("VALARM")] for event in events]
    assert alarms == [[dt.timedelta(days=-7)]] * 4


def test_an_entry_tells_strips_jobs_hours_and_the_label():
    """The words of an entry name the hours with their range, each strip's job, and the label."""
    lines = str(entries(made())[1]["description"]).splitlines()
    assert lines[0] == "About 20 hours (17 to 25)."
    assert "Strip 1b: cut-and-spray, glyphosate 4, about 10 hours (8 to 13)" in lines
    assert lines[-1] == "Read the label before you load."


def test_the_reminder_names_the_label_only_where_something_is_sprayed():
    """The season in which only the mower works has a reminder without the label."""
    rung = [str(event.walk("VALARM")[0]["description"]) for event in entries(made())]
    assert ["Read the label" in text for text in rung] == [True, True, True, False]


def test_what_to_buy_stands_in_the_first_entry_of_its_year():
    """2027 has a purchase: its first entry says so, and no entry of another year does."""
    said = [str(event["description"]) for event in entries(made())]
    assert ["Buy before: 2027" in text for text in said] == [True, False, False, False]


@pytest.mark.parametrize(
    ("months", "spans"),
    [
        ((6, 7, 8), [(DAY(2027, 6, 1), DAY(2027, 9, 1))]),
        ((12, 1, 2), [(DAY(2027, 12, 1), DAY(2028, 3, 1))]),
        ((11, 12, 1, 2), [(DAY(2027, 11, 1), DAY(2028, 3, 1))]),
        ((12,), [(DAY(2027, 12, 1), DAY(2028, 1, 1))]),
        ((3, 4, 9), [(DAY(2027, 3, 1), DAY(2027, 5, 1)), (DAY(2027, 9, 1), DAY(2027, 10, 1))]),
        ((11, 1), [(DAY(2027, 11, 1), DAY(2027, 12, 1)), (DAY(2028, 1, 1), DAY(2028, 2, 1))]),
    ],
)
def test_a_season_is_as_many_pieces_as_its_months(months, spans):
    """Months side by side are one piece, also over New Year; a gap begins another."""
    assert season_spans(2027, months) == spans


def test_a_season_in_two_pieces_has_two_entries_and_one_reminder():
    """With a month closed between, both pieces stand in the calendar and one reminder rings."""
    events = entries(made(with_months("late_winter", (1, 3))))[-2:]
    assert [str(event["summary"])[-15:] for event in events] == [
        "k (part 1 of 2)", "k (part 2 of 2)",
    ]  # fmt: skip
    assert [len(event.walk("VALARM")) for event in events] == [1, 0]
    assert events[0]["uid"] != events[1]["uid"]


def test_lines_are_folded_and_end_as_the_standard_asks():
    """No line is longer than 75 octets, each ends with CR LF (RFC 5545, section 3.1)."""
    for name in ("Road field", *NAMES):
        content = made(small_results(name))
        assert content.endswith(b"END:VCALENDAR\r\n")
        lines = content.split(b"\r\n")
        assert max(map(len, lines)) <= 75
        assert not [line for line in lines if b"\n" in line or b"\r" in line]


def test_names_of_entries_stay_and_differ():
    """The same place and season keep their UID; another place of foreign letters has its own."""
    first, second = (
        [str(event["uid"]) for event in entries(made(small_results(name)))]
        for name in ("שדה", "حقل")
    )
    assert first == [str(event["uid"]) for event in entries(made(small_results("שדה")))]
    assert len({*first, *second}) == 8


@pytest.mark.parametrize("name", ["Road field", *NAMES])
def test_a_second_reader_agrees(name):
    """Vobject finds what icalendar finds: names, days, words and reminders, hostile or not."""
    content = made(small_results(name))
    theirs = vobject.readOne(content.decode("utf-8")).vevent_list
    ours = entries(content)
    assert [str(one["summary"]) for one in ours] == [one.summary.value for one in theirs]
    assert [str(one["uid"]) for one in ours] == [one.uid.value for one in theirs]
    assert [one.decoded("dtend") for one in ours] == [one.dtend.value for one in theirs]
    assert [str(one["description"]) for one in ours] == [one.description.value for one in theirs]
    assert [len(one.valarm_list) for one in theirs] == [1] * 4
    assert theirs[0].summary.value.startswith(f"Place of {name}")


def test_the_same_plan_gives_the_same_calendar():
    """No clock is in the file."""
    assert made() == made()
