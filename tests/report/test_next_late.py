"""What is late, in two lines: strips together, how many jobs, since when; and one by one."""

import datetime as dt
from dataclasses import replace

import pytest

from clearing.report.next_due import LATE, due_visits
from clearing.report.next_late import FEW, late_lines, overdue_line
from tests.report.next_place import log_of, said_of

NEXT_SUMMER, NEXT_FALL = dt.date(2029, 7, 1), dt.date(2029, 10, 1)


@pytest.fixture(scope="module")
def said(small):
    """Return the small place's plan as written."""
    return said_of(small)


def late_on(said, small, day: dt.date):
    """Return what is left on a day."""
    return due_visits(said, log_of(), small.rates, day)


def test_in_season_and_out_of_season_are_a_line_each(said, small):
    """In the summer of 2029 three summer jobs are late and open, and fall work waits for fall."""
    lines = late_lines(late_on(said, small, NEXT_SUMMER), said["told"], True, NEXT_SUMMER)
    assert len(lines) == 2
    assert lines[0] == (
        "Strips 1a, 1b and 2: 3 jobs since summer 2027; their season is open now; plan again."
    )
    assert "Strip 1a: " in lines[1]


def test_however_many_are_late_there_are_two_lines_and_all_are_counted(said, small):
    """Four hundred strips are named up to a few; the number of the others and of all jobs stand."""
    due = late_on(said, small, NEXT_SUMMER)
    one = next(one for one in due if one.stands == LATE)
    many = [replace(one, strip_id=f"s{at}") for at in range(400)]
    (line,) = late_lines(many, said["told"], True, NEXT_SUMMER)
    assert f"and {400 - FEW} more: 400 jobs since" in line
    assert len(line) < 200


def test_nothing_late_is_no_line(said, small):
    """At the plan's first day."""
    day = dt.date(2027, 6, 2)
    assert late_lines(late_on(said, small, day), said["told"], True, day) == ()


def test_one_late_visit_says_when_its_season_opens_again(said, small):
    """The summer's work in fall: June 1 of the next year."""
    due = late_on(said, small, NEXT_FALL)
    assert "opens again on June 1, 2030" in overdue_line(due[0], said["told"], True, NEXT_FALL)
