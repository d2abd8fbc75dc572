"""What is left of the plan: the log's rows off its visits, by strip, part, block, job and year."""

import datetime as dt

import pytest

from clearing.report.next_due import AHEAD, LATE, OPEN, due_visits
from clearing.units import HA_PER_ACRE
from tests.report.next_place import log_of, said_of

DAY = dt.date(2028, 7, 1)
HACK = {"date": "2027-07-03", "strip_id": "1a", "job": "hack_and_squirt"}


@pytest.fixture(scope="module")
def said(small):
    """Return the small place's plan as written."""
    return said_of(small)


def left(said, small, *rows: dict, day: dt.date = DAY) -> dict[tuple[str, str], float]:
    """Return the share that is left by strip and job."""
    return {(one.strip_id, one.job): one.left
            for one in due_visits(said, log_of(*rows), small.rates, day)}  # fmt: skip


def test_without_a_log_everything_is_left_in_the_plan_s_order(said, small):
    """All five visits, whole, by year, season and strip."""
    due = due_visits(said, log_of(), small.rates, DAY)
    assert [(one.strip_id, one.job) for one in due] == [
        ("1a", "hack_and_squirt"), ("1b", "cut_and_spray"), ("2", "mow"), ("1a", "follow_up"),
        ("1a", "mow"),
    ]  # fmt: skip
    assert {one.left for one in due} == {1.0}
    assert [one.stands for one in due] == [LATE, OPEN, OPEN, AHEAD, AHEAD]


@pytest.mark.parametrize(
    ("more", "share"),
    [({}, None), ({"area_ha": 0.5}, 0.75), ({"area_ha": 1.99}, None), ({"area_ha": 7}, None),
     ({"job": "Hack and squirt"}, None), ({"job": "hack-and-squirt", "area_ha": 1}, 0.5),
     ({"herbicide": "Glyphosate 4"}, None), ({"strip_id": "9"}, 1.0), ({"job": "mow"}, 1.0)],
)  # fmt: skip
def test_a_row_takes_off_its_visit_or_the_share_of_its_ground(said, small, more, share):
    """A row without an area is the whole visit; 2 ha are the strip, and 95 % of it are all."""
    assert left(said, small, HACK | more).get(("1a", "hack_and_squirt")) == (
        share if share is None else pytest.approx(share, abs=1e-3)
    )


def test_rows_of_a_visit_add_up_and_a_correction_takes_the_place_of_its_row(said, small):
    """Two quarters leave a half; a correction to nothing but a tenth leaves what both leave."""
    rows = (HACK | {"area_ha": 0.5}, HACK | {"area_ha": 0.5})
    assert left(said, small, *rows)["1a", "hack_and_squirt"] == pytest.approx(0.5, abs=1e-3)
    rows = (*rows, HACK | {"area_ha": 0.2, "replaces": "2"})
    assert left(said, small, *rows)["1a", "hack_and_squirt"] == pytest.approx(0.65, abs=1e-3)


def test_a_row_of_a_block_is_of_all_its_strips(said, small):
    """One of block 1's four hectares takes a quarter off the one strip that has the job."""
    row = HACK | {"strip_id": "1", "area_ha": 1.0}
    assert left(said, small, row)["1a", "hack_and_squirt"] == pytest.approx(0.75, abs=1e-3)


def test_a_first_treatment_that_the_plan_knew_is_not_taken_off_once_more(said, small):
    """The plan was made with row 1, so that its block's strips are what is left already."""
    row = HACK | {"strip_id": "1"}
    assert ("1a", "hack_and_squirt") not in left(said, small, row)
    told = said["told"] | {"log_known": ["1"]}
    assert left(said | {"told": told}, small, row)["1a", "hack_and_squirt"] == 1.0


def test_work_of_a_later_year_is_of_the_visit_before_it(said, small):
    """A strip hacked a year late is hacked; mowing is not taken off mowing that lies ahead."""
    assert ("1a", "hack_and_squirt") not in left(said, small, HACK | {"date": "2028-06-02"})
    early = HACK | {"job": "mow", "date": "2028-02-02"}
    assert left(said, small, early)["1a", "mow"] == 1.0


def test_who_has_treated_has_marked_before(small):
    """A mark that nobody wrote down does not hold up its strip."""
    said = said_of(small)
    mark = said["told"]["visits"]["1b-2028-summer-cut_and_spray"] | {"job_key": "mark"}
    said["told"]["visits"]["m"] = mark | {"herbicide_key": ""}
    said["visits"].append({"visit_id": "m"})
    cut = {"date": "2028-06-05", "strip_id": "1b", "job": "cut_and_spray", "area_ha": 0.5}
    assert left(said, small)["1b", "mark"] == 1.0
    assert ("1b", "mark") not in left(said, small, cut)


def test_a_missed_visit_gives_way_to_the_next_of_its_kind(small):
    """Of two mowings the late one is missed once the other has begun, not before."""
    said = said_of(small)
    said["told"]["visits"]["m"] = said["told"]["visits"]["2-2028-summer-mow"] | {"year": 2027}
    said["visits"].append({"visit_id": "m"})
    for day, missed in ((dt.date(2028, 5, 1), [False, False]), (DAY, [True, False])):
        due = due_visits(said, log_of(), small.rates, day)
        assert [one.missed for one in due if one.strip_id == "2"] == missed


def test_follow_up_waits_as_long_after_a_treatment_that_came_late(said, small):
    """Hacked a year late, in 2028, the strip has its follow-up of fall 2028 in fall 2029."""
    late = log_of(HACK | {"date": "2028-06-20"})
    due = {one.job: one for one in due_visits(said, late, small.rates, dt.date(2028, 9, 5))
           if one.strip_id == "1a"}  # fmt: skip
    assert (due["follow_up"].year, due["follow_up"].stands) == (2029, AHEAD)
    assert due["mow"].year == 2030
    on_time = due_visits(said, log_of(HACK), small.rates, dt.date(2028, 9, 5))
    assert {one.job: one.moved for one in on_time if one.strip_id == "1a"} == {
        "follow_up": 0, "mow": 0,
    }  # fmt: skip


def test_an_acre_is_an_acre(said):
    """The strip of 2 ha is told in acres (43,560 square feet, NIST Handbook 44)."""
    assert said["told"]["strips"]["1a"]["area"]["value"] == pytest.approx(2 / HA_PER_ACRE)
