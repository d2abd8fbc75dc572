"""The summary says what the tables say, in the owner's units and in plain words."""

import dataclasses
import math

import pandas as pd
import pytest

from clearing import report
from clearing.report import words
from clearing.report.block_facts import stems_of
from clearing.report.facts import StripFacts, Summary, VisitFacts, YearFacts
from clearing.report.states import strip_states
from clearing.report.year_facts import odds_said
from tests.report.small_place import small_results

SEASONS = {"late_winter": 1, "summer": 2, "fall": 3}
YEARS = (2027, 2028, 2029, 2030)


@pytest.fixture(scope="module")
def plan(small):
    """Return the summary of the small place."""
    return report.summarise(small)


def states(rows, treated=True, finish=None) -> list[str]:
    """Return the states of a strip with visits given as year, season, job."""
    table = pd.DataFrame([(*row, 10.0) for row in rows], columns=["year", "season", "job", "stems"])
    return [one.key for one in strip_states(table, SEASONS, YEARS, treated, finish)]


@pytest.mark.parametrize("kind", [Summary, StripFacts, VisitFacts, YearFacts])
def test_every_field_says_what_it_holds(kind):
    """Each field of the summary carries its description."""
    silent = [one.name for one in dataclasses.fields(kind) if not one.metadata.get("description")]
    assert silent == []


def test_headline_holds_acres_year_and_hours(plan):
    """The first sentence names 15 acres (6 ha), the year and the hours.

    Five visits of $120 (90 to 160), three, one and one of a strip: of the spread half is common,
    so low = 600 - sqrt(0.5 x 150^2 + 0.5 x (90^2 + 30^2 + 30^2)) = 473, high by 40s = 770.
    """
    assert plan.headline == "15 acres taken on by 2030, about 50 hours."
    assert plan.lead.startswith("About $600 ($470 to $770) of cash over 4 years")


def test_headline_names_the_finish_year_when_all_is_done():
    """When every treated strip is done within the plan, the sentence says by when."""
    small = small_results()
    options = small.plan.options.assign(finish_year=2030.0)
    done = dataclasses.replace(small, plan=dataclasses.replace(small.plan, options=options))
    assert report.summarise(done).headline.startswith("15 acres to clear by 2030,")


def test_a_place_in_hectares_is_told_in_hectares():
    """An owner who speaks metric reads ha and litres, never acres or gallons."""
    plan = report.summarise(small_results(units="metric"))
    said = repr(dataclasses.replace(plan, to_confirm=(), sources=()))
    assert plan.headline.startswith("6 ha ")
    assert "acre" not in said
    assert " gal" not in said


def test_no_plan_says_so_and_why():
    """When no plan fits, the sentences that stand in the way come through, and no number."""
    small = small_results()
    empty = small.plan.visits.iloc[:0]
    none = dataclasses.replace(
        small.plan, status="none", options=small.plan.options.iloc[:0], visits=empty,
        run_off=empty, why=small.plan.why.iloc[:0], odds=small.plan.odds.iloc[:0], cost=None,
        bound=None, gap=None, purchases=small.plan.purchases.iloc[:0], reasons=("too few hours",),
    )  # fmt: skip
    plan = report.summarise(dataclasses.replace(small, plan=none))
    assert plan.headline == "No plan fits Place of Road field yet."
    assert plan.reasons == ("too few hours",)
    assert {one.state for strip in plan.strips for one in strip.years} == {"not_now"}
    assert "too few hours" in report.map_html(dataclasses.replace(small, plan=none))


def test_hours_of_years_strips_and_plan_agree(plan):
    """Hours add up the same by year, by strip, by block and in all."""
    sums = [
        sum(year.hours.value for year in plan.year_rows),
        sum(strip.hours.value for strip in plan.strips),
        sum(block.hours.value for block in plan.blocks),
    ]
    assert sums == pytest.approx([plan.hours.value] * 3)


def test_stems_of_counted_blocks_add_as_squares(small):
    """Two counted blocks err independently, the third errs with its kind.

    By hand: 1600 + 400 + 200 = 2200 stems. Above: sqrt(400^2 + 200^2) = 447.2 for the counted
    blocks, 200 for the other, sqrt(447.2^2 + 200^2) = 489.9. Below: sqrt(320^2 + 160^2) = 357.8
    and 160, together 391.9.
    """
    areas = {"1": 4.0, "2": 2.0, "3": 2.0}
    (pear,) = stems_of(small.totals, areas)
    got = (pear.stems.value, pear.stems.low, pear.stems.high)
    assert got == pytest.approx((2200, 2200 - 391.9, 2200 + 489.9), abs=0.1)
    assert pear.name == "Callery pear"


def test_an_unconfirmed_product_gets_no_mix_in_words(plan):
    """Without a confirmed label a visit tells no mix and no product."""
    visits = {visit.visit_id: visit for strip in plan.strips for visit in strip.visits}
    held = visits["1a-2028-fall-follow_up"]
    assert (held.mix, held.product) == (None, None)
    assert "confirm it on your label first" in held.mix_words
    assert visits["1a-2027-summer-hack_and_squirt"].product is not None


def test_cautions_stand_with_the_visit(plan):
    """A caution of a visit is told with the visit and with its strip."""
    strip = plan.strips[0]
    assert strip.visits[0].cautions[0].text == "No resting under dead stems."
    assert [one.text for one in strip.cautions] == ["No resting under dead stems."]


def test_stems_that_nothing_treats_are_told_with_the_reason(plan):
    """What is left standing is listed with its number and why."""
    assert plan.strips[0].left == (
        "About 12 stems (9 to 16) of Callery pear: left alone: within reach of the county road.",
    )


def test_run_off_after_the_last_year_is_told():
    """Visits after the last year are named with their money and kept out of the plan's hours."""
    small = small_results()
    late = small.plan.visits.tail(1).assign(year=2032, visit_id="late")
    results = dataclasses.replace(small, plan=dataclasses.replace(small.plan, run_off=late))
    plan = report.summarise(results)
    assert plan.hours.value == 50
    assert any("After 2030 follow-ups and upkeep of about $120" in line for line in plan.unsure)


def test_states_follow_the_work():
    """Hacked stems stand dead until the mower comes; grass stays grass after a spot spray."""
    work = [(2027, "summer", "hack_and_squirt"), (2029, "late_winter", "mow"),
            (2029, "summer", "follow_up")]  # fmt: skip
    assert states(work) == ["standing_dead", "standing_dead", "follow_up", "grass"]


def test_state_before_and_without_work():
    """A strip is not yet begun before its year, and outside the plan not in these years."""
    assert states([(2029, "fall", "cut_and_spray")])[:3] == ["untouched", "untouched", "cut"]
    assert states([], treated=False) == ["not_now"] * 4


def test_woods_are_clear_from_the_finish_year_on():
    """Ground that is never mowed is clear, upkeep only, once done_when holds."""
    work = [
        (2027, "summer", "cut_and_spray"),
        (2028, "summer", "follow_up"),
        (2030, "fall", "upkeep"),
    ]
    assert states(work, finish=2029) == ["cut", "follow_up", "clear", "clear"]


@pytest.mark.parametrize(
    ("value", "text"),
    [(46.2173, "46"), (138, "140"), (9.96, "10"), (0.374, "0.37"), (3.04, "3"), (0, "0"),
     (1234567, "1,200,000"), (math.nan, "0")],
)  # fmt: skip
def test_numbers_are_said_with_two_figures(value, text):
    """A rough number is said with two figures and no idle zeros."""
    assert words.said(value) == text


def test_amount_says_number_and_range():
    """An amount reads about 46 hours (38 to 57), and without a range when there is none."""
    assert words.hours(46.2, 38.1, 57.4).words == "about 46 hours (38 to 57)"
    assert words.hours(1, 1, 1).words == "about 1 hour"
    assert words.cost(1234, 990, 1500).words == "about $1,200 ($990 to $1,500)"


def test_volumes_change_unit_below_a_gallon_and_a_litre():
    """3.785 l is 1 gal and half of it 64 fl oz (NIST HB 44, appendix C)."""
    assert words.volume((3.785412,) * 3, us=True).short == "1 gal"
    assert words.volume((1.892706,) * 3, us=True).short == "64 fl oz"
    assert words.volume((0.25,) * 3, us=False).short == "250 mL"


@pytest.mark.parametrize(
    ("share", "text"),
    [(0, "hardly any"), (0.02, "about 1 in 50"), (0.5, "about 5 in 10"), (1, "nearly certain")],
)
def test_odds_are_said_in_tries(share, text):
    """Odds are told as so many in ten, or one in so many."""
    assert odds_said(share) == text


def test_a_name_that_runs_leftward_is_set_apart_in_a_sentence():
    """Hebrew stands between isolates, an override is taken out, Latin names stay as they are."""
    assert words.isolated("Road field 3-4") == "Road field 3-4"
    assert words.isolated("שדה \u202eab") == "\u2068שדה ab\u2069"
    rows = report.summarise(small_results("שדה")).year_rows
    assert "\u2068שדה\u2069" in rows[0].sentence
