"""Simple rules, what would help, what to keep back: said as the tables have it."""

from dataclasses import replace

import pandas as pd
import pytest

from clearing import report
from clearing.report.decided import PROOF_NOTE
from tests.report.conftest import pages_of
from tests.report.small_place import small_results


@pytest.fixture(scope="module")
def plan(small):
    """Return the summary of the small place."""
    return report.summarise(small)


def changed(**tables):
    """Return the summary of the small place with other tables of the plan."""
    small = small_results()
    return report.summarise(replace(small, plan=replace(small.plan, **tables)))


def test_rules_stand_beside_the_plan_with_what_they_cost_more(plan):
    """The plan first, without a more; a rule that breaks limits has no number but the words."""
    assert [one.rule for one in plan.rules] == [
        "The plan", "Worst block first", "Nearest first", "Smallest outliers first",
    ]  # fmt: skip
    assert [one.more for one in plan.rules] == ["", "$240", "about the same", "does not fit"]
    assert [one.finish for one in plan.rules] == ["2030", "not all", "2030", "2030"]
    assert plan.rules[1].waits == "1 strip waits"


def test_the_sentence_on_rules_names_those_that_keep_the_limits(plan):
    """A rule that does not fit is not compared."""
    assert plan.rule_words == (
        "Simple rules would cost more here: worst block first $240; nearest first costs about the "
        "same."
    )


def test_without_a_table_nothing_is_said(small):
    """No rules, prices, reserve: no sentence stands in their place."""
    empty = small.plan.thumb.iloc[:0]
    bare = changed(thumb=empty, prices=small.plan.prices.iloc[:0], reserve=empty)
    assert (bare.rules, bare.rule_words, bare.rule_note) == ((), "", "")
    assert (bare.helps, bare.help_note, bare.keep_back) == ((), "", ())


def test_what_a_crew_day_would_save_is_about_and_says_how_it_was_reckoned(plan):
    """A price of the relaxation is told as about so much, with the note beside it."""
    assert plan.helps == (
        "One more day of the crew in summer 2027 would save about $180 over the years.",
    )
    assert "done in part" in plan.help_note


def test_seasons_that_may_run_over_are_named_with_their_odds(plan):
    """Four in ten in each summer: the likeliest are named, years as a whole are not."""
    line = next(one for one in plan.unsure if one.startswith("Odds of needing more hours"))
    assert "summer 2027 about 4 in 10" in line
    assert "3 in 10" not in line


def test_a_season_that_does_not_hold_says_how_much_more_it_needs(plan):
    """131 hours would hold 8 times in 10 and there are 120: 11 more; money holds."""
    assert plan.keep_back == (
        "To hold 8 times in 10 there would have to be more: 11 hours in summer 2027.",
    )
    all_hold = small_results().plan.reserve.assign(holds=True)
    assert changed(reserve=all_hold).keep_back[0].startswith("Hours and money of every season")


def test_what_the_forecast_finds_beyond_the_plan_is_told():
    """40 hours planned, 46 foretold: six more, with the money of both."""
    found = {"planned_hours": 40.0, "foretold_hours": 46.0, "planned_cost": 100.0,
             "foretold_cost": 130.0}  # fmt: skip
    said = " ".join(changed(cascades=found).unsure)
    assert "40 hours in the plan" in said
    assert "makes it 46, 6 more ($130 for $100)" in said
    near = changed(cascades=found | {"foretold_hours": 40.2})
    assert any("hardly changes the follow-ups" in line for line in near.unsure)


def test_work_begun_that_passes_what_there_is_is_told_first(small):
    """12 hours lacking in one season and 40 dollars in a year, before all other warnings."""
    rows = [("hours 2027 summer", 12.0), ("money 2028", 40.0), ("hours 2029 fall", 0.0)]
    lacking = pd.DataFrame(rows, columns=["resource", "amount"])
    assert changed(shortfall=lacking).warnings == (
        "work already begun needs 12 hours more than there are in summer 2027",
        "work already begun needs $40 more than there is in 2028",
        *small.warnings,
    )


def test_map_paper_and_terminal_tell_the_same_rules(small, plan):
    """The table stands on the map and on paper, the sentence in the terminal."""
    page, paper = report.map_html(small), " ".join(pages_of(small))
    for text in ("What simple rules would cost here", "Worst block first", "$240"):
        assert text in page
        assert text in paper
    assert ("Rules", plan.rule_words) in report.summary_lines(plan)


def test_with_a_reserve_the_proof_and_the_rules_say_what_they_are_held_to():
    """A rule that keeps no reserve may cost less; the proof is for plans that keep as much back."""
    small = small_results()
    asked = replace(small.property.settings, keeps_reserve=True)
    thumb = small.plan.thumb.assign(more_than_plan=[0.0, 240.0, -90.0, 0.0])
    held = replace(small, property=replace(small.property, settings=asked),
                   plan=replace(small.plan, thumb=thumb))  # fmt: skip
    told, plain = report.summarise(held), report.summarise(small)
    assert told.keep_back == (*plain.keep_back, PROOF_NOTE)
    assert told.rule_note.startswith(plain.rule_note)
    assert "keep no reserve" in told.rule_note
    assert "keep no reserve" not in plain.rule_note
    assert told.rule_words == (
        "Simple rules would cost more here: worst block first $240; less, since they keep no "
        "reserve: nearest first $90."
    )
