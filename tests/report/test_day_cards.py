"""Day cards: one for every strip of the first season, with its cautions."""

import dataclasses

import pandas as pd
import pytest

from clearing.report import summarise
from clearing.report.day_cards import A_TANK, CONFIRM, first_season
from clearing.report.printed import printed_facts
from tests.report.small_place import small_results, visit


def with_visits(rows):
    """Return the small place with these visits and no others."""
    small = small_results()
    return dataclasses.replace(
        small, plan=dataclasses.replace(small.plan, visits=pd.DataFrame(rows))
    )


def by_the_line(sprays: int = 1):
    """Return the small place with wires over a strip, and so many sprays there."""
    rows = [visit("1a", 2027, "summer", "mark"), visit("1a", 2027, "summer", "call_utility")]
    rows += [
        visit("1a", 2027, "summer", "hack_and_squirt", "glyphosate_4")
        | {"visit_id": f"spray {n}"} for n in range(sprays)
    ]  # fmt: skip
    return with_visits([row | {"cautions": "standing_dead power_line"} for row in rows])


@pytest.fixture(scope="module")
def cards(results):
    """Return the sample's day cards."""
    return printed_facts(results, summarise(results)).cards


def test_every_strip_of_the_first_season_has_a_card(results, cards):
    """As many cards as strips with visits in the first season of the plan's table."""
    visits = results.plan.visits
    first = visits[visits["year"] == visits["year"].min()]
    order = results.rates.seasons.set_index("season")["order"]
    soonest = first["season"].map(order).min()
    strips = set(first.loc[first["season"].map(order) == soonest, "strip_id"])
    assert {card.way_in.strip_id for card in cards} == strips
    for strip in strips:
        own = [card for card in cards if card.way_in.strip_id == strip]
        parts = [f"{place} of {len(own)}" for place in range(1, len(own) + 1)]
        assert [card.part for card in own] == (parts if len(own) > 1 else [""])


def test_every_day_card_carries_cautions_of_its_work(cards):
    """However many jobs a strip has, three cautions stand on its cards, who stays away on each."""
    told: dict[str, set[str]] = {}
    for card in cards:
        told.setdefault(card.way_in.strip_id, set()).update(card.mind)
        assert card.away
        assert card.mind
    assert {len(own) for own in told.values()} == {3}


def test_jobs_stand_in_their_order(cards):
    """Over the cards of a strip numbers run from one."""
    numbers: dict[str, list[int]] = {}
    for card in cards:
        own = numbers.setdefault(card.way_in.strip_id, [])
        own += [int(job.split(" ")[0]) for job in card.jobs]
    for own in numbers.values():
        assert own == list(range(1, len(own) + 1))


def test_a_power_line_comes_first_on_every_card_and_page():
    """Who calls the utility does so before all else, and the wires head every card's cautions."""
    made = by_the_line()
    printed = printed_facts(made, summarise(made))
    own = [card for card in printed.cards if card.way_in.strip_id == "1a"]
    assert "Call the utility" in own[0].jobs[0]
    assert all(card.mind[0] == "power line" for card in own)
    page = printed.blocks[0]
    assert page.work[0].job.startswith("call the utility")
    assert "power line" in {line for group in page.cautions for line in group.lines}
    assert printed.practice.blocks[0].methods[0].startswith("Call the utility")


def test_a_full_card_is_two_cards():
    """Twelve jobs do not go on one card in letters of 11 points: none is lost on several."""
    made = by_the_line(12)
    cards = printed_facts(made, summarise(made)).cards
    jobs = [job for card in cards if card.way_in.strip_id == "1a" for job in card.jobs]
    assert len(jobs) == 14
    assert len(cards) > 1


def test_an_unconfirmed_label_is_no_tank():
    """A card without any mixing says what to confirm and speaks of no tank."""
    made = with_visits([visit("1a", 2027, "summer", "foliar", "imazapyr_2")])
    cards = printed_facts(made, summarise(made)).cards
    assert CONFIRM in {card.mixing for card in cards}
    assert A_TANK not in {card.mixing for card in cards}


def test_a_plan_without_work_has_no_first_season(small):
    """Without visits there is nothing to card."""
    summary = summarise(small)
    assert {visit.season_key for visit in first_season(summary)} == {"summer"}
