"""Cautions beside their jobs: none lost, each once."""

from clearing.report import summarise
from clearing.report.caution_facts import ON_EVERY_VISIT
from clearing.report.go_lines import TOLD_HERE
from clearing.report.printed import printed_facts


def test_no_kind_of_caution_is_lost_on_paper(results):
    """Every kind of caution of a block's visits stands on its page or the page of all cautions."""
    summary = summarise(results)
    printed = printed_facts(results, summary)
    general = {*printed.every_visit, *(line for one in printed.by_job for line in one.anywhere)}
    for block, page in zip(summary.blocks, printed.blocks, strict=True):
        there = general | {line for one in page.cautions for line in (*one.lines, *one.anywhere)}
        own = [one for strip in block.strips for visit in strip.visits if not visit.run_off
               for one in visit.cautions]  # fmt: skip
        told = {one.key for one in own if one.text in there}
        assert {one.key for one in own} == told


def test_each_caution_stands_once_on_a_page(results):
    """No text twice in the groups of a block, and none of those of every visit."""
    for page in printed_facts(results, summarise(results)).blocks:
        lines = [line for one in page.cautions for line in (*one.lines, *one.anywhere)]
        assert len(lines) == len(set(lines))


def test_what_go_lines_tell_in_short_stands_in_full_once(results):
    """Wind, heat, rain and the stump's time are told in full on the page of all cautions."""
    summary = summarise(results)
    printed = printed_facts(results, summary)
    full = {line for one in printed.by_job for line in one.anywhere}
    visits = [visit for row in summary.year_rows for visit in row.visits]
    asked = {one.text for visit in visits for one in visit.cautions if one.key in TOLD_HERE}
    assert asked <= full
    assert not {one.text for visit in visits for one in visit.cautions
                if one.key in ON_EVERY_VISIT} & full  # fmt: skip
