"""A day is filled in order, never over its hours, and the days of a visit add up to it."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clearing.report.next_due import LATE, OPEN, Due
from clearing.report.next_fill import ALONE, BEGIN_HOURS, SPRAYED_TODAY, Held, fill_day, held_back

DAY = dt.date(2027, 7, 3)
SPAN = (dt.date(2027, 6, 1), dt.date(2027, 9, 1))
COMES = (dt.date(2028, 6, 1), dt.date(2028, 9, 1))
hours_of = st.lists(st.floats(0.1, 40).map(lambda h: round(h, 2)), min_size=1, max_size=6)


def visit(name: str, hours: float, strip: str = "a", **more) -> Due:
    """Return a visit that is open on the day: its hours, from half to double."""
    one = Due(name, strip, strip[0], "mow", "", "summer", 2027, (hours, hours / 2, 2 * hours), 0.0,
              1.0, SPAN, OPEN, SPAN)  # fmt: skip
    return replace(one, **more)


def filled(due: list[Due], hours: float, near=lambda a, b: True) -> dict[str, float]:
    """Return the share of each visit that is done."""
    return {one.due.visit_id: one.share for one in fill_day(due, hours, DAY, near)}


def minute_by_minute(needs: list[float], hours: float) -> list[float]:
    """Return the hours done of each visit when a crew works on until its day is over."""
    step, done, rest = 0.01, [0.0] * len(needs), round(hours / 0.01)
    for at, need in enumerate(needs):
        if at and rest * step < BEGIN_HOURS - 1e-9:
            break
        steps = min(round(need / step), rest)
        done[at], rest = steps * step, rest - steps
    return done


@given(hours_of, st.sampled_from([1.0, 6.0, 12.0]))
def test_a_day_is_what_a_crew_does_minute_by_minute(needs, hours):
    """Against a count of hundredths of an hour, visit after visit."""
    got = filled([visit(str(at), need) for at, need in enumerate(needs)], hours)
    done = [got.get(str(at), 0.0) * need for at, need in enumerate(needs)]
    assert done == pytest.approx(minute_by_minute(needs, hours), abs=1e-6)


@given(hours_of, st.sampled_from([1.0, 5.0, 12.0]))
def test_the_days_of_a_visit_add_up_to_it(needs, hours):
    """Day after day what was done is off what is left, until nothing is; shares add up to one."""
    due = [visit(str(at), need) for at, need in enumerate(needs)]
    sums = dict.fromkeys((one.visit_id for one in due), 0.0)
    for _ in range(1000):
        if not due:
            break
        taken = fill_day(due, hours, DAY, lambda a, b: True)
        assert sum(one.hours for one in taken) <= hours + 1e-9
        for one in taken:
            assert 0 <= one.low <= one.share <= one.high <= one.due.left + 1e-9
            sums[one.due.visit_id] += one.share
        off = {one.due.visit_id: one.share for one in taken}
        due = [replace(one, left=one.left - off.get(one.visit_id, 0.0)) for one in due]
        due = [one for one in due if one.left > 1e-9]
    assert not due
    assert list(sums.values()) == pytest.approx([1.0] * len(needs), abs=1e-6)


def test_a_crew_goes_on_to_strips_that_are_near():
    """With hours left the near strip follows, before one that is planned first but far away."""
    due = [visit("1", 2), visit("2", 2, "far"), visit("3", 2, "next")]
    got = filled(due, 8, near=lambda a, b: {a, b} != {"a", "far"})
    assert list(got) == ["1", "3"]


def test_nothing_goes_before_what_comes_before_it_on_its_strip():
    """A strip whose first job is not in season waits; what a contractor does holds up nothing."""
    late = {"stands": LATE, "next_span": COMES}
    assert filled([visit("1", 2, **late), visit("2", 2), visit("3", 2, "b")], 8) == {"3": 1.0}
    theirs = visit("1", 0, their_hours=9.0, **late)
    assert filled([theirs, visit("2", 2)], 8) == {"2": 1.0}


def test_a_strip_has_work_of_one_season_a_day():
    """A follow-up that is due already is not done on the day of a first treatment that is late."""
    first, after = visit("first", 2, stands=LATE), visit("after", 2, year=2028)
    assert filled([first, after], 8) == {"first": 1.0}
    assert filled([after], 8) == {"after": 1.0}


def test_nothing_is_felled_on_the_day_of_the_call_to_the_utility():
    """What comes before felling goes on, felling and what follows wait; another strip does not."""
    due = [visit("call", 1, job="call_utility"), visit("mark", 1, job="mark"),
           visit("cut", 1, job="cut_and_spray"), visit("haul", 1, job="haul_tops"),
           visit("other", 1, "b", job="cut_and_spray")]  # fmt: skip
    assert list(filled(due, 8)) == ["call", "mark", "other"]
    assert list(filled(due[1:], 8)) == ["mark", "cut", "other"]


@pytest.mark.parametrize("job", ["haul_tops", "fell_dead", "mow", "hand_work", "burn_tops"])
def test_nothing_but_spraying_follows_on_ground_that_was_sprayed_the_same_day(job):
    """On the sprayed strip it is left and named; another strip goes on; more spraying does too."""
    due = [visit("spray", 1, job="foliar"), visit("more", 1, job="basal_bark"),
           visit("after", 1, job=job), visit("other", 1, "b", job=job)]  # fmt: skip
    assert list(filled(due, 8)) == ["spray", "more", "other"]
    assert [(one.visit_id, why) for one, why in held_back(due, DAY, Held())] == [
        ("after", SPRAYED_TODAY)
    ]


def test_ground_that_is_kept_out_of_has_a_handler_s_spraying_alone():
    """Mowing and what follows it wait; spraying, and a call made from the house, do not."""
    held = Held(frozenset("a"))
    mow = [visit("mow", 1), visit("spray", 1, job="foliar"), visit("other", 1, "b")]
    assert [one.due.visit_id for one in fill_day(mow, 8, DAY, lambda a, b: True, held)] == ["other"]
    spray = [visit("call", 1, job="call_utility"), visit("spray", 1, job="foliar")]
    assert [one.due.visit_id for one in fill_day(spray, 8, DAY, lambda a, b: True, held)] == [
        "call", "spray",
    ]  # fmt: skip


@pytest.mark.parametrize("job", ["cut_and_spray", "fell_dead", "hack_and_squirt"])
def test_nobody_works_alone_with_a_saw_or_an_axe(job):
    """29 CFR 1910.266 (d)(7), from memory: one person is given other work, two are given it."""
    due = [visit("saw", 1, job=job), visit("next", 1), visit("other", 1, "b")]
    for alone, wanted in ((True, ["other"]), (False, ["saw"])):
        held = Held(alone=alone)
        names = [one.due.visit_id for one in fill_day(due, 8, DAY, lambda a, b: True, held)]
        assert names[: len(wanted)] == wanted
    assert held_back(due, DAY, Held(alone=True)) == [(due[0], ALONE)]


def test_late_work_that_is_in_season_again_comes_first():
    """The visit of last year goes before this year's of another strip."""
    late = visit("late", 2, "b", stands=LATE)
    assert list(filled([visit("now", 2), late], 8)) == ["late", "now"]


def test_where_no_season_is_open_the_next_one_is_told():
    """Of two seasons that come, the work of the sooner."""
    soon = (dt.date(2027, 9, 1), dt.date(2027, 11, 1))
    later = visit("later", 2, "a", stands=LATE, next_span=COMES)
    sooner = visit("sooner", 2, "b", stands=LATE, next_span=soon)
    assert list(filled([later, sooner], 8)) == ["sooner"]
    assert filled([], 8) == {}


def test_a_missed_visit_is_nobody_s_work():
    """Its place is taken by the next of its kind."""
    assert filled([visit("1", 2, missed=True), visit("2", 2)], 8) == {"2": 1.0}
