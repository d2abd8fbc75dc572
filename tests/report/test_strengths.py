"""Strengths by species: shares of a follow-up against the visit's own sums."""

import pytest

from clearing.report.strength_parts import LATER
from clearing.report.strengths import parts_of


def test_shares_of_every_visit_are_whole(results):
    """Mix and stems of the parts of a visit add up to one."""
    for parts in parts_of(results).values():
        assert sum(one.mix_share for one in parts) == pytest.approx(1.0)
        assert sum(one.stem_share for one in parts) == pytest.approx(1.0)


def test_parts_hold_the_product_of_the_follow_ups(results):
    """Each species at its own strength takes the product that the plan reckons, to 0.2 percent.

    What is left is seed of other strips, which comes to visits after their shares were reckoned.
    """
    visits = results.plan.visits
    later = visits[visits["job"].isin(LATER) & (visits["mix_l"] > 0)]
    parts = parts_of(results)
    told = sum(row.mix_l * part.mix_share * part.percent / 100.0
               for row in later.itertuples() for part in parts[row.visit_id])  # fmt: skip
    assert told == pytest.approx(later["product_l"].sum(), rel=2e-3)
