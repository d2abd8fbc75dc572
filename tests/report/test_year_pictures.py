"""What the pictures of the years say is true of their numbers."""

import itertools
from dataclasses import replace

import pytest

from clearing.report.facts_ahead import Ahead
from clearing.report.year_pictures import year_picture
from tests.report.years_ahead import FIRST, many_years, season

NAMES = ("hours", "cost", "stems", "grass")


def titled(seasons: list) -> str:
    """Return the title of the hours of these seasons."""
    summary = replace(many_years(1), ahead=Ahead(seasons=tuple(seasons)))
    return year_picture("hours", summary).title


def test_a_season_over_its_hours_is_named():
    """Where the hours to plan on pass the hours there are, the title says which season."""
    said = titled([season(2027, "summer", 150, 120.0), season(2027, "fall", 10, 80.0)])
    assert said.startswith("1 of 2 seasons with work runs over the hours there are")
    assert "summer 2027" in said


def test_a_season_over_only_at_its_upper_end_is_counted():
    """Hours that fit in the middle and not at the upper end are said to fit, and counted."""
    said = titled([season(2027, "summer", 100, 120.0), season(2027, "fall", 10, 80.0)])
    assert said.startswith("The hours to plan on fit every season.")
    assert "1 of 2 seasons with work runs over" in said


def test_hours_that_fit_at_their_upper_end_are_said_to_fit():
    """Where even twice the hours fit, the title says so and names the fullest season."""
    said = titled([season(2027, "summer", 50, 120.0), season(2027, "fall", 10, 80.0)])
    assert said.startswith("Every season has room for its work, also at the upper end")
    assert "summer 2027" in said


def test_without_a_limit_nothing_is_said_to_fit():
    """Where no hours were given, the title tells when most hours fall and no more."""
    said = titled([season(2027, "summer", 50, None)])
    assert said == "Most hours fall in summer 2027: about 50 hours (25 to 100)."


def test_seasons_without_work_are_named_and_not_drawn():
    """Spring has no work in any year: it has no row, and the note names it."""
    picture = year_picture("hours", many_years(3))
    assert [panel.heading for panel in picture.panels] == ["Summer"]
    assert picture.note.endswith("No work in spring.")


def test_money_far_above_the_bars_is_told():
    """A budget ten times the highest bar is said in the note, and no line is drawn."""
    summary = many_years(2)
    rows = tuple(
        replace(row, cost_limit="$20,000", cost_there=20_000.0) for row in summary.year_rows
    )
    picture = year_picture("cost", replace(summary, year_rows=rows))
    assert "There is $20,000, which the picture does not reach." in picture.note
    assert picture.panels[0].limits == (None, None)


def test_money_near_the_bars_is_a_line():
    """A budget within reach of the bars is a line with its number."""
    panel = year_picture("cost", many_years(2)).panels[0]
    assert (panel.limits, panel.limit_words) == ((1500.0, 1500.0), "there is $1,500")


def test_the_scale_by_tens_holds_every_range():
    """The lines of the scale are tens, and no end of a range lies outside them."""
    summary = many_years(5)
    scale = year_picture("stems", summary).scale
    assert {upper / lower for lower, upper in itertools.pairwise(scale)} == {10}
    ends = [end for row in summary.ahead.place for one in (row.thick, row.thin)
            for end in (one.low, one.high)]  # fmt: skip
    assert scale[0] <= min(ends)
    assert max(ends) <= scale[-1]


@pytest.mark.parametrize("name", NAMES)
def test_the_description_tells_every_year_of_every_row(name):
    """Whoever hears the picture read aloud hears each year's number of each row."""
    picture = year_picture(name, many_years(4))
    for panel in picture.panels:
        assert panel.heading in picture.description
        for year, amount in zip(picture.years, panel.amounts, strict=True):
            said = amount.words.removeprefix("about ")
            assert f"{year} {said}" in picture.description


def test_a_plan_without_work_has_no_pictures():
    """Where nothing is done and nothing is foretold, there is nothing to draw."""
    summary = many_years(2, hours=0.0)
    rows = tuple(replace(row, cost=replace(row.cost, value=0.0, low=0.0, high=0.0))
                 for row in summary.year_rows)  # fmt: skip
    ahead = replace(summary.ahead, place=(), ground=())
    empty = replace(summary, year_rows=rows, ahead=ahead)
    assert [year_picture(name, empty) for name in NAMES] == [None] * 4


def test_ground_by_year_is_the_summary_s():
    """The picture of the ground shows the facts as they are, begun, mowed and clear."""
    summary = many_years(3)
    panels = year_picture("grass", summary).panels
    assert [panel.key for panel in panels] == ["begun", "grass", "clear"]
    for panel in panels:
        shown = [amount.value for amount in panel.amounts]
        assert shown == [getattr(row, panel.key).value for row in summary.ahead.ground]


def test_one_year_is_told_without_a_way_it_goes():
    """A forecast of one row says what stands, not what it becomes."""
    summary = many_years(1)
    ahead = replace(summary.ahead, place=summary.ahead.place[:1])
    title = year_picture("stems", replace(summary, ahead=ahead)).title
    assert title.startswith(f"At the start of {FIRST}: about 20,000 stems")


def test_stems_fall_only_where_the_ranges_part():
    """With ranges of half to double, a half may be no fall at all; a thirty-second is one."""
    near, far = (year_picture("stems", many_years(count)).title for count in (1, 5))
    assert near.endswith("; the ranges overlap.")
    assert " fall " in far
    idle = many_years(5)
    rows = tuple(replace(row, visits=()) for row in idle.year_rows)
    assert " fall " not in year_picture("stems", replace(idle, year_rows=rows)).title
