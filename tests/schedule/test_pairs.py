"""The core with marks, pairs and elastic limits equals enumeration."""

import pytest

from clearing.schedule import Status, solve
from tests.schedule.small_cores import best_by_hand, small, weigh

KINDS = [("plain", False, False), ("pairs", True, False), ("elastic", False, True),
         ("both", True, True)]  # fmt: skip


def holds_the_best(case) -> None:
    """Hold the core's answer against all choices: least shortfall, then least cost."""
    best, plan = best_by_hand(case), solve(case.instance(), gap=0)
    if best is None:
        assert plan.status is Status.NONE
        return
    found = weigh(case, dict(zip(plan.chosen["group"], plan.chosen["option"], strict=True)))
    assert plan.status is Status.BEST
    assert found.hard <= 1e-6
    assert found.passed == pytest.approx(best.passed)
    assert plan.shortfall["amount"].sum() == pytest.approx(best.passed)
    assert (plan.cost, found.cost) == (pytest.approx(best.cost), pytest.approx(best.cost))
    assert plan.gap == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind[0])
@pytest.mark.parametrize("seed", range(50))
def test_core_equals_enumeration_with_pairs_and_elastic_limits(seed, kind):
    """Least shortfall, then least cost of all 256 choices; the answer weighs what it says."""
    case = small(seed, *kind[1:])
    holds_the_best(case)
    assert len(case.options) == 16
