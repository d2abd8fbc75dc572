"""Rows of work: order, spans of years, strengths."""

import dataclasses

import pandas as pd
import pytest

from clearing.report import summarise
from clearing.report.printed import printed_facts
from clearing.report.visit_facts import season_order
from clearing.report.work_rows import span, work_rows
from tests.report.small_place import small_results, visit


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


def many_years(years):
    """Return the small place with a spray in each of so many years, and what stands on its page."""
    small = small_results()
    rows = [visit("1a", 2027 + n, season, "cut_and_spray", "glyphosate_4")
            for n in range(years) for season in ("summer", "fall")]  # fmt: skip
    return dataclasses.replace(
        small, plan=dataclasses.replace(small.plan, visits=pd.DataFrame(rows))
    )


@pytest.mark.parametrize("most", [1, 4, 6])
def test_later_years_are_closed_into_one_row_without_loss(most):
    """However few rows there may be, hours stay whole and the first two years stand row by row."""
    made = many_years(4)
    visits = [visit for row in summarise(made).year_rows for visit in row.visits]
    rows = work_rows(visits, True, {}, season_order(made.rates), most=most)
    assert sum(row.hours.value for row in rows) == pytest.approx(80.0)
    near = [row.when for row in rows if row.when.endswith(("2027", "2028"))]
    assert near == ["summer 2027", "fall 2027", "summer 2028", "fall 2028"]
    assert len(rows) == max(5, most)


def test_strengths_of_one_job_name_their_species(results):
    """On the sample a row with two strengths says whose each is."""
    rows = [row for page in printed_facts(results, summarise(results)).blocks for row in page.work]
    both = [row for row in rows if "undiluted" in row.strength and "50 %" in row.strength]
    assert both
    assert all("Callery pear" in row.strength and "tree-of-heaven" in row.strength for row in both)
