"""The practice sheet: canopy, stems and what a form asks."""

import dataclasses
import math

import pandas as pd
import pytest

from clearing.forecast.canopy import crown_m2
from clearing.forecast.growth import STAGES
from clearing.property import Crew
from clearing.rates import load
from clearing.report import summarise
from clearing.report.practice import crew_words, target_canopy
from clearing.report.printed import printed_facts
from clearing.units import HA_PER_ACRE


@pytest.fixture(scope="module")
def sheet(results):
    """Return the practice sheet of the sample."""
    return printed_facts(results, summarise(results)).practice


def test_canopy_is_that_of_crowns_at_random(small):
    """Crookston and Stage (1999): 100 (1 - exp(-crowns / ground)), here by hand."""
    book = dataclasses.replace(small, rates=load())
    crown = dict(zip(STAGES, crown_m2("callery_pear", book.rates), strict=True))["3_6in"]
    stems = pd.DataFrame({"species": ["callery_pear"], "size_class": ["3_6in"],
                          "stems_per_ha": [400.0]})  # fmt: skip
    by_hand = 100.0 * (1.0 - math.exp(-400.0 * crown / 10_000.0))
    got = target_canopy(stems, "size_class", 2.5, book, "stems_per_ha")
    assert got == pytest.approx(by_hand)


def test_targets_alone_cover_no_more_than_with_the_trees_that_stay(results, sheet):
    """The forecast's canopy counts both kinds of crowns, so no block's targets pass it."""
    ahead = summarise(results).ahead.strips
    for block, page in zip(summarise(results).blocks, sheet.blocks, strict=True):
        most = max(ahead[strip.strip_id][0].canopy_pct for strip in block.strips)
        assert page.canopy.value <= most + 0.05


def test_stems_an_acre_are_the_survey_s(results, sheet):
    """Stems of the totals, a hectare is 2.471 acres (NIST Handbook 44, appendix C)."""
    totals = results.totals.groupby("block_id")["stems_per_ha"].sum()
    for block, page in zip(results.blocks["block_id"], sheet.blocks, strict=True):
        assert page.stems.value == pytest.approx(totals[block] * HA_PER_ACRE, abs=1e-6)
        assert page.stems_unit == "an acre"


def test_every_block_has_its_table(results, sheet):
    """One a block, with method, dates, map reference and the note that offices differ."""
    assert len(sheet.blocks) == len(results.blocks)
    assert all(one.methods and one.dates and "page" in one.map_reference for one in sheet.blocks)
    assert "your office decides" in sheet.note


def test_hours_by_season_are_told_as_a_span():
    """A crew with other hours in winter is told from the least to the most."""
    crew = Crew("hired", 3, 1, 2.0, {"winter": 5.0, "summer": 8.0}, 20.0)
    assert crew_words(crew) == (
        "Hired crew: 3 people, 1 of them with a saw, 2 days a week of 5 to 8 hours."
    )


def test_a_small_crew_is_told_without_noughts():
    """Nobody with a saw is left out, and one hour is no hours."""
    assert crew_words(Crew("family", 1, 0, 0.1, 1.0)) == (
        "The family: 1 person, 0.1 day a week of 1 hour."
    )
