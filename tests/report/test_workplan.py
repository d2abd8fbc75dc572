"""The printed work plan: pages, words and pictures, read back by another reader."""

import dataclasses

import pandas as pd

from clearing.report import summarise
from clearing.report.work_rows import span
from clearing.report.workplan import plan_data, workplan_pdf
from tests.report.conftest import pages_of


def test_every_block_has_one_page_of_its_own(sample_pages, results):
    """Each block's name heads one page, with its place to write on."""
    for block in results.blocks.itertuples():
        heads = [text for text in sample_pages if text.startswith(f"{block.block_id} {block.name}")]
        assert len(heads) == 1, block.name
        assert "Mind" in heads[0]
        assert "Wind, heat, start time" in heads[0]


def test_plan_has_no_page_more_than_it_says(sample_pages, results):
    """Two pages for the property, one a block, one of day cards, one of sources."""
    assert len(sample_pages) == 2 + len(results.blocks) + 1 + 1


def test_cautions_stand_on_the_page_of_their_work(sample_pages):
    """Where a saw is used, the page of that block speaks of it; page one names the law."""
    blocks = [text for text in sample_pages if "Wind, heat, start time" in text]
    assert all("Saw work" in text for text in blocks if "cut-and-spray" in text)
    assert any("label on the container" in text for text in sample_pages[:2])


def test_unconfirmed_product_gets_no_mixing_on_paper(small):
    """Imazapyr, whose label nobody confirmed, is named with what to do first and without a mix."""
    text = " ".join(pages_of(small))
    assert "confirm the label first" in text
    assert "of imazapyr" not in text


def test_names_of_the_owner_are_printed_as_they_are(hostile):
    """Script, quotes and braces in names are words on paper and run nowhere."""
    assert any("</script>" in text for text in pages_of(hostile))


def test_six_species_leave_the_page_in_order(small):
    """With six species the page of a block still holds its cautions and its lines to write on."""
    rows = [small.stocking.assign(species=f"kind_{number}") for number in range(6)]
    many = dataclasses.replace(small, stocking=pd.concat(rows, ignore_index=True))
    pages = pages_of(many)
    assert len(pages) == len(pages_of(small))
    page = next(text for text in pages if text.startswith("1 Road field"))
    assert "No resting under dead stems" in page
    assert "Wind, heat, start time" in page


def test_same_results_give_the_same_paper(small):
    """The PDF is the same to the byte."""
    summary = summarise(small)
    assert workplan_pdf(small, summary, None) == workplan_pdf(small, summary, None)


def test_years_are_joined_in_words():
    """Running years are a span, others a list."""
    assert span([2028, 2029, 2030]) == "2028 to 2030"
    assert span([2028, 2030]) == "2028 and 2030"


def test_every_day_card_carries_cautions_of_its_work(results):
    """However many jobs a card holds, at least three cautions of that work stand on it."""
    cards = plan_data(summarise(results), {})["cards"]
    assert len(cards) >= 4
    for card in cards:
        own = [line for line in card["mind"] if "more beside this work" not in line]
        assert len(own) >= 3, card["where"]
