"""The front of the map: the plan in words for somebody who has never heard of stems an acre."""

import math
import re
from dataclasses import fields, replace

import pytest

from clearing import report
from clearing.report import words
from clearing.report.front import STEP_M, FrontCard, front_card
from tests.report.numbers import numbers
from tests.report.small_place import small_results
from tests.report.years_ahead import many_years


@pytest.fixture(scope="module")
def card(small) -> FrontCard:
    """Return the small place's card."""
    return front_card(small, report.summarise(small))


def test_the_card_answers_every_question(card):
    """Now, years, looks, costs, what is not sure and who to ask: none but the log is blank."""
    assert [one.name for one in fields(card) if not getattr(card, one.name)] == ["log"]


def test_the_card_speaks_no_jargon(card):
    """No word of the trade's reckoning stands in it, and no exclamation mark."""
    text = " ".join(line for one in fields(card) for line in getattr(card, one.name)).lower()
    assert re.findall(r"per acre|an acre|dbh|basal|stocking|!", text) == []


def test_steps_between_stems_are_the_square_root_of_the_ground_of_one():
    """Stems on a square grid stand sqrt(ground / stems) apart (Pythagoras: one to each square)."""
    summary = many_years(4)
    place = small_results()
    said = next(line for line in front_card(place, summary).now if "steps" in line)
    metres = math.sqrt(summary.area.value * 4046.8564224 / summary.ahead.place[0].thick.value)
    assert f"about every {round(metres / STEP_M)} steps" in said


def test_numbers_are_the_summarys():
    """All numbers but the steps stand in the summary's own words."""
    summary, place = many_years(4), small_results()
    known = numbers(repr(summary)) | {str(len(summary.blocks))}
    card = front_card(place, summary)
    lines = [line for one in fields(card) for line in getattr(card, one.name)]
    assert numbers(" ".join(line for line in lines if "steps" not in line)) <= known


def test_standing_dead_trees_come_with_their_caution(card):
    """Whoever reads of brown trees reads that they fall."""
    brown = next(line for line in card.looks if line.startswith("Brown"))
    assert "fall without warning" in brown


def test_a_place_without_hacked_trees_tells_of_none():
    """Where no strip holds standing dead trees the card does not speak of them."""
    summary = report.summarise(small_results())
    blocks = tuple(
        replace(block, strips=tuple(
            replace(strip, years=tuple(replace(one, state="grass") for one in strip.years))
            for strip in block.strips
        ))
        for block in summary.blocks
    )  # fmt: skip
    looks = front_card(small_results(), replace(summary, blocks=blocks)).looks
    assert not any("Brown" in line for line in looks)


def test_who_to_ask_depends_on_what_lies_near(small):
    """The power company is named where its line lies, and only there."""
    line = small.features.assign(kind="power_line")
    summary = report.summarise(small)
    with_line = " ".join(front_card(replace(small, features=line), summary).ask)
    assert "power company" in with_line
    assert "power company" not in " ".join(front_card(small, summary).ask)


def test_the_label_stands_where_nothing_is_folded(card):
    """Under what it will look like, which is open, and not under whom to ask, which is folded."""
    assert card.looks[-1].startswith("The label on the container")


def test_dead_trees_stand_as_long_as_the_forecast_has_them():
    """Killed in 2027 and foretold to stand at the start of 2030: to 2030, not in 2027 alone."""
    summary, place = many_years(4), small_results()
    rows = tuple(
        replace(row, dead=words.stems(*3 * (9.0 if 2028 <= row.year <= 2030 else 0.0,)))
        for row in summary.ahead.place
    )
    gone = replace(summary, ahead=replace(summary.ahead, place=rows))
    text = " ".join(front_card(place, gone).looks)
    assert "Brown, leafless trees stand from 2027 to 2030 where" in text


def test_without_a_forecast_dead_trees_stand_for_years(card):
    """The small place has none: no last year is made up."""
    assert any("stand from 2027 on, for years, where" in line for line in card.looks)
