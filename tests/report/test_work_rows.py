"""Rows of work: order, spans of years, strengths."""

import pytest

from clearing.report import summarise
from clearing.report.printed import printed_facts
from clearing.report.work_rows import span


def test_years_are_joined_in_words():
    """Running years are a span, others a list."""
    assert span([2028, 2029, 2030]) == "2028 to 2030"
    assert span([2028, 2030]) == "2028 and 2030"


def test_rows_are_numbered_in_the_order_of_work(results):
    """Numbers run from one, and no row begins in an earlier year than the one before it."""
    for block in printed_facts(results, summarise(results)).blocks:
        assert [row.number for row in block.work] == list(range(1, len(block.work) + 1))
        years = [int(next(word for word in row.when.split() if word.isdigit()))
                 for row in block.work]  # fmt: skip
        assert years == sorted(years)


def test_rows_hold_all_hours_of_a_block(small):
    """The rows' hours add up to the visits' (10 hours each in the small place)."""
    for block in printed_facts(small, summarise(small)).blocks:
        visits = small.plan.visits
        own = visits[visits["block_id"] == block.block_id]
        assert sum(row.hours.value for row in block.work) == pytest.approx(own["hours"].sum())
