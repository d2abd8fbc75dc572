"""Ground that was sprayed: until when to keep out, by whose hours, and what is left until then."""

import datetime as dt
from dataclasses import replace

import pytest

from clearing.report.next_reentry import NO_CLOCK, kept_out
from clearing.report.next_words import next_lines
from tests.report.next_place import log_of, next_of, said_of

JULY_2, JULY_3, JULY_4 = (dt.date(2027, 7, day) for day in (2, 3, 4))
ROW = {"date": "2027-07-02", "strip_id": "1a", "job": "foliar", "herbicide": "Glyphosate 4"}


@pytest.fixture(scope="module")
def said(small):
    """Return the small place's plan as written."""
    return said_of(small)


def with_label(small, confirmed: bool = True, **limits: float):
    """Return a place with these lines on the label of its first product."""
    products = small.rates.products
    own = replace(products[0], limits=limits, confirmed=confirmed)
    return replace(small, rates=replace(small.rates, products=(own, *products[1:])))


@pytest.mark.parametrize(
    ("more", "limits", "until", "known"),
    [
        ({"reentry_h": 30.0, "end_time": "18:00"}, {"reentry_hours": 24.0}, (4, 0), "the log"),
        ({"end_time": "18:00"}, {"reentry_hours": 24.0}, (3, 18), "your label"),
        ({"end_time": "18:00"}, {}, (3, 6), "labels read"),  # 12 hours in the handbook
        ({}, {"reentry_hours": 24.0}, (4, 0), "your label"),  # from the end of the day
        ({"end_time": "late"}, {"reentry_hours": 24.0}, (4, 0), "your label"),
        ({"end_time": "18:00", "herbicide": ""}, {}, (4, 18), "read"),  # 48, the longest read
    ],
)
def test_the_row_s_hours_win_then_the_label_s_then_the_handbook_s(
    small, said, more, limits, until, known
):
    """Counted by hand from the end of the work, or from the end of its day."""
    place = with_label(small, **limits)
    (one,) = kept_out(log_of(ROW | more), said["told"], place.rates, JULY_2).values()
    assert one.until == dt.datetime(2027, 7, until[0], until[1])
    assert known in one.known


def test_a_label_that_nobody_confirmed_gives_no_hours(small, said):
    """Its four hours count for nothing; the handbook's twelve do."""
    place = with_label(small, confirmed=False, reentry_hours=4.0)
    (one,) = kept_out(log_of(ROW), said["told"], place.rates, JULY_2).values()
    assert one.hours == 12


def test_ground_is_kept_out_of_until_the_last_hour_has_passed(small, said):
    """On the day of the end it is, the day after it is not, nor before it was sprayed."""
    log = log_of(ROW | {"reentry_h": 24.0, "end_time": "18:00"})
    got = {day: list(kept_out(log, said["told"], small.rates, day))
           for day in (dt.date(2027, 7, 1), JULY_2, JULY_3, JULY_4)}  # fmt: skip
    assert list(got.values()) == [[], ["1a"], ["1a"], []]


def test_the_latest_end_of_several_rows_counts_and_a_replaced_row_does_not(small, said):
    """48 hours of the first row outlast four of the second; corrected to two, they do not."""
    rows = [ROW | {"reentry_h": 48.0}, ROW | {"reentry_h": 4.0}]
    (one,) = kept_out(log_of(*rows), said["told"], small.rates, JULY_3).values()
    assert one.hours == 48
    rows.append(ROW | {"reentry_h": 2.0, "replaces": "1"})
    (one,) = kept_out(log_of(*rows), said["told"], small.rates, JULY_3).values()
    assert one.hours == 4


def test_work_that_put_nothing_out_keeps_nobody_out(small, said):
    """Mowing does not, a block's spraying keeps out of all its strips."""
    mown = log_of({"date": "2027-07-02", "strip_id": "1a", "job": "mow"})
    assert kept_out(mown, said["told"], small.rates, JULY_3) == {}
    both = kept_out(log_of(ROW | {"strip_id": "1"}), said["told"], small.rates, JULY_3)
    assert sorted(both) == ["1a", "1b"]


def test_the_day_leaves_the_mowing_and_says_until_when(small, said):
    """Strip 2, sprayed the day before its mowing: no job, and the sentence with day and hour."""
    log = log_of(ROW | {"strip_id": "2", "date": "2028-07-02", "reentry_h": 24.0})
    place = dt.date(2028, 7, 3)
    day = next_of(small, said, place, log, strip="2")
    assert day.jobs == ()
    (line,) = day.keep_out
    assert "sprayed July 2, 2028 with" in line
    assert "Keep out until July 4, 2028, 00:00 without what handlers wear (24 hours" in line
    assert NO_CLOCK in line
    assert "Left for another day: mow." in line
    assert "Keep out:" in next_lines(day)
    later = next_of(small, said, dt.date(2028, 7, 4), log, strip="2")
    assert ([job.job_key for job in later.jobs], later.keep_out) == (["mow"], ())


def test_a_handler_s_own_spraying_goes_on_with_what_handlers_wear(small, said):
    """Half of a strip is sprayed, the other half the next day: only in what handlers wear."""
    log = log_of(ROW | {"job": "hack_and_squirt", "area_ha": 1.0})
    day = next_of(small, said, JULY_3, log)
    assert [job.job_key for job in day.jobs] == ["hack_and_squirt"]
    assert "Go there only in what handlers wear." in day.keep_out[0]
