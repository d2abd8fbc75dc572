"""A plan starts from where the land really stands: done, done in part, missed, seasons gone."""

import functools
from dataclasses import replace as changed

import pandas as pd
import pytest

from clearing import ahead, learning
from clearing.effort.begun import grown
from tests.records.test_log import log
from tests.small_ground import replace, small_ground, stand_on

CUT = {"date": "2027-10-05", "strip_id": "a", "job": "cut_and_spray", "hours": 9.0}


@pytest.fixture(scope="module")
def place():
    """Return the small place with its methods."""
    from clearing import treatment

    ground = small_ground(years=6)
    return ground, treatment.list_methods(
        ground.blocks, ground.strips, ground.zones, ground.stocking, ground.rates, ground.settings
    )


@pytest.fixture(scope="module")
def priced(place):
    """Return the way from rows of a log and a day to what is priced, and where the land stands."""
    ground, methods = place

    @functools.cache
    def once(rows: tuple, day: str) -> tuple[ahead.Priced, object]:
        standing, strips = stand_on(ground, log(*map(dict, rows)), day=day)
        land = (methods, strips, ground.blocks)
        return ahead.price_ahead(land, standing, ground.rates, standing.settings), standing

    return lambda *rows, day="": once(tuple(tuple(row.items()) for row in rows), day)


def test_nothing_starts_in_a_season_that_is_over(priced):
    """On the 5th of October 2028 no strip begins in 2027, nor in spring or summer of 2028."""
    found, standing = priced(day="2028-10-05")
    starts = found.options.dropna(subset=["start_year"])
    assert standing.settings.first_year == 2028
    assert standing.settings.years == 5
    assert starts["start_year"].min() == 2028
    first = set(starts[starts["start_year"] == 2028]["start_season"])
    assert first
    assert first.isdisjoint({"late_winter", "spring", "summer"})
    assert set(found.options["strip_id"]) == {"a", "b", "c"}
    assert set(found.visits["option_id"]) <= set(found.options["option_id"])


def test_stems_grow_on_while_a_plan_waits(priced):
    """The first treatment of 2029 meets what has grown by then, whether planned early or late."""
    early, _ = priced()
    late, _ = priced(day="2029-01-05")
    both = early.visits.merge(late.visits, on="visit_id", suffixes=("", "_late"))
    assert len(both) > 100
    assert (both["hours"] - both["hours_late"]).abs().max() < 1e-9
    assert (both["stems"] - both["stems_late"]).abs().max() < 1e-9


def test_money_of_options_is_in_the_plan_s_own_year(priced):
    """The same option costs (1 + rate)^2 as much in dollars of 2029 as in those of 2027."""
    early, _ = priced()
    late, standing = priced(day="2029-01-05")
    both = early.options.merge(late.options, on="option_id", suffixes=("", "_late"))
    both = both[both["start_year"] >= 2029]
    factor = grown(standing.settings, 2027)
    assert factor == pytest.approx(1.04**2)
    for name in ("cost", "worth", "run_off"):
        assert (both[f"{name}_late"] / both[name].where(both[name] > 1e-9)).dropna().to_numpy() == (
            pytest.approx(factor)
        )


def test_what_was_logged_is_done_and_what_was_not_moves_on(priced):
    """The cutting of 2027 is over; its leaf spray, which the log has not, is due next."""
    found, _ = priced(CUT, day="2028-01-10")
    own = found.visits[found.visits["strip_id"] == "a"]
    assert "cut_and_spray" not in set(own["job"])
    assert set(found.over[found.over["strip_id"] == "a"]["job"]) >= {"cut_and_spray"}
    foliar = own[own["job"] == "foliar"]
    assert len(foliar)
    assert set(foliar["year"]) == {2028}
    assert any("foliar was planned for 2027 and is not in the log" in note for note in found.notes)
    again, _ = priced(CUT, {**CUT, "job": "foliar"}, day="2028-01-10")
    assert "foliar" not in set(again.visits[again.visits["strip_id"] == "a"]["job"])


def test_a_follow_up_of_this_year_that_is_logged_is_not_planned_again(priced):
    """Sprayed in July 2028: the next follow-up is that of 2029."""
    spray = {"date": "2028-07-03", "strip_id": "a", "job": "follow_up", "hours": 3.0}
    without, _ = priced(CUT, day="2028-07-05")
    with_it, _ = priced(CUT, spray, day="2028-07-05")
    first = []
    for found in (without, with_it):
        own = found.visits[found.visits["strip_id"] == "a"]
        first.append(own[own["job"] == "follow_up"]["year"].min())
    assert first == [2028, 2029]


def test_a_missed_follow_up_leaves_more_to_do(priced):
    """Nothing sprayed in 2028: in 2029 more stems are met than after a spray."""
    spray = {"date": "2028-07-03", "strip_id": "a", "job": "follow_up", "hours": 3.0}
    met = []
    for rows in ((CUT, spray), (CUT,)):
        found, _ = priced(*rows, day="2029-01-05")
        own = found.visits[(found.visits["strip_id"] == "a") & (found.visits["year"] == 2029)]
        met.append(
            own[own["job"].isin(["follow_up", "upkeep"])].groupby("option_id")["stems"].sum()
        )
    assert (met[1] > met[0]).all()
    assert len(met[0]) == len(met[1])


def test_done_work_is_no_choice_any_more(priced):
    """A strip begun cannot be left alone, and none of its options starts another time."""
    found, _ = priced(CUT, day="2028-01-10")
    own = found.options[found.options["strip_id"] == "a"]
    assert set(own["start_year"]) == {2027}
    assert "not_now" not in set(own["method"])


def test_what_a_year_s_work_has_cost_is_gone_from_its_money(place, priced):
    """A purse of 5,000 a year: what lies behind in the year is taken off, next year's is whole."""
    found, standing = priced(CUT, day="2027-11-20")
    owner = place[0].settings
    left = ahead.purse(standing.settings, owner, found.over)
    spent = found.over[found.over["year"] == 2027]["cost"].sum()
    assert spent > 0
    assert left.money.budget_per_year == [pytest.approx(5000.0 - spent), 5000.0]
    carried = replace(owner, money=changed(owner.money, carry_over=True))
    own = changed(standing.settings, money=changed(standing.settings.money, carry_over=True))
    later = changed(own, first_year=2028)
    assert ahead.purse(later, carried, found.over).money.budget_per_year[0] == pytest.approx(
        10000.0 - spent
    )


def test_hours_of_the_log_move_the_pace_and_no_log_moves_nothing(place):
    """Three times the foretold hours on two strips: slower ahead, and never by all of it."""
    ground, methods = place
    plain, _ = learning.unlearned(ground.rates)
    assert plain.rates is ground.rates
    assert not len(plain.table)
    rows = [CUT | {"hours": 30.0}, CUT | {"strip_id": "b", "hours": 30.0}]
    standing, strips = stand_on(ground, log(*rows), day="2027-12-31")
    lessons, _ = learning.learn((methods, strips, ground.blocks), standing, ground.rates,
                                standing.settings)  # fmt: skip
    table = lessons.table.set_index(["subject", "item"])
    old, new = (r.figure("cut_and_spray", "base_s") for r in (ground.rates, lessons.rates))
    assert old.value < new.value < 3 * old.value
    assert new.high / new.low < old.high / old.low
    assert 0 < table.loc[("cut_and_spray", "base_s"), "weight"] < 1
    assert lessons.rates.figure("follow_up", "base_s").value > 6.0  # the same crew
    assert lessons.rates.figure("walk", "base") == ground.rates.figure("walk", "base")


def test_a_slip_of_the_pen_is_told_and_counts_for_little(place):
    """Thirty days' hours on one of three strips: that row is named."""
    ground, methods = place
    rows = [CUT | {"hours": 12.0}, CUT | {"strip_id": "b", "hours": 12.0},
            CUT | {"strip_id": "c", "job": "hack_and_squirt", "hours": 900.0}]  # fmt: skip
    standing, strips = stand_on(ground, log(*rows), day="2027-12-31")
    land = (methods, strips, ground.blocks)
    lessons, doubts = learning.learn(land, standing, ground.rates, standing.settings)
    assert any("strip c, hack and squirt 2027, hours: 900" in line for line in doubts)
    old, new = (r.figure("hack_and_squirt", "base_s") for r in (ground.rates, lessons.rates))
    assert new.value < 2 * old.value


def test_work_that_may_go_on_teaches_nothing_yet(place):
    """Half a day in a season that is not over, without an area."""
    ground, methods = place
    standing, strips = stand_on(ground, log(CUT | {"hours": 1.0}), day="2027-10-06")
    land = (methods, strips, ground.blocks)
    lessons, _ = learning.learn(land, standing, ground.rates, standing.settings)
    assert not len(lessons.table)


def test_a_plan_without_a_log_is_the_plan_of_old(priced):
    """Day or no day before its first year: the same options and visits."""
    plain, _ = priced()
    dated, _ = priced(day="2026-11-01")
    pd.testing.assert_frame_equal(plain.options, dated.options)
    pd.testing.assert_frame_equal(plain.visits, dated.visits)
    assert not len(plain.over)
    assert plain.notes == ()
