"""Day cards: one for every strip of the first season, with its cautions."""

import pytest

from clearing.report import summarise
from clearing.report.day_cards import first_season
from clearing.report.printed import printed_facts


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
    assert len(cards) == len(strips)


def test_every_day_card_carries_cautions_of_its_work(cards):
    """However many jobs a card holds, three cautions and who stays away stand on it."""
    for card in cards:
        assert len(card.mind) == 3
        assert card.away


def test_jobs_stand_in_their_order(cards):
    """Numbers run from one; where trees are marked at all, that comes first."""
    for card in cards:
        numbers = [int(job.split(" ")[0]) for job in card.jobs if job[0].isdigit()]
        assert numbers == list(range(1, len(numbers) + 1))
        if any("Mark" in job for job in card.jobs):
            assert "Mark" in card.jobs[0]


def test_a_plan_without_work_has_no_first_season(small):
    """Without visits there is nothing to card."""
    summary = summarise(small)
    assert {visit.season_key for visit in first_season(summary)} == {"summer"}
