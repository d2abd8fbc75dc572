"""What is done for large plans alone, on small ones, against every choice there is."""

import numpy as np
import pandas as pd
import pytest

from clearing.schedule import Instance, Status, solve
from clearing.schedule.board import board_of, carried, swaps
from clearing.schedule.limits import limit_words
from clearing.schedule.model import build
from clearing.schedule.openings import with_openings
from clearing.schedule.relaxed import relaxation
from clearing.schedule.solver import run
from clearing.schedule.thumb import ByRule
from clearing.schedule.watch import Watch
from tests.schedule.small_cores import small
from tests.schedule.test_pairs import KINDS, holds_the_best

SMALLEST = {
    "rounds.SMALL": 0, "rounds.LARGE": 0, "rounds.WIDE": 2, "relaxed.MANY": 0, "relaxed.SAMPLE": 2,
    "relaxed.FIRST": 1, "relaxed.MORE": 1,
}  # fmt: skip


@pytest.fixture
def as_large(monkeypatch):
    """Take every plan for a large one."""
    for name, value in SMALLEST.items():
        monkeypatch.setattr(f"clearing.schedule.{name}", value)


@pytest.mark.usefixtures("as_large")
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind[0])
@pytest.mark.parametrize("seed", range(50, 65))
def test_a_plan_made_as_a_large_one_equals_enumeration(seed, kind):
    """Prices of a part, few options at a time, a walk, then branches: the best of 256 choices."""
    case = small(seed, *kind[1:])
    holds_the_best(case)
    assert len(case.options) == 16


@pytest.mark.parametrize("seed", range(8))
def test_a_relaxation_in_parts_has_the_cost_of_the_whole(seed, monkeypatch):
    """Few options at first, more as they pay: cost and bound of all options at once."""
    board = board_of(small(seed, pairs=True).instance())
    programme = build(board, np.zeros(len(board.cost), dtype=bool), 0.0)
    whole = relaxation(programme, board, Watch(60.0), run)
    for name, value in SMALLEST.items():
        monkeypatch.setattr(f"clearing.schedule.{name}", value)
    parts = relaxation(programme, board, Watch(60.0), run)
    assert parts.end == whole.end
    if whole.end == "best":
        assert parts.bound <= whole.bound + 1e-6
        assert parts.bound == pytest.approx(whole.bound, rel=1e-5, abs=1e-6)
        assert programme.cost @ parts.values == pytest.approx(whole.bound, rel=1e-5, abs=1e-6)


def many(seed: int, groups: int = 60, options: int = 45) -> Instance:
    """Return groups with one resource that is scarce: each option costs and uses at random."""
    draw = np.random.default_rng(seed)
    names = [(f"g{g:02d}", f"o{o:02d}") for g in range(groups) for o in range(options)]
    table = pd.DataFrame(names, columns=["group", "option"])
    use = draw.uniform(0, 10, len(table))
    cost = 100.0 - 9.0 * use + draw.normal(0, 8, len(table))
    uses = table.assign(resource="hours", amount=use)
    limits = pd.DataFrame({"resource": ["hours"], "low": [None], "high": [3.0 * groups]})
    return Instance.from_tables(table.assign(cost=cost), uses, limits)


@pytest.mark.parametrize("seed", range(3))
def test_a_walk_comes_within_the_gap_and_keeps_the_limit(seed):
    """2,700 options that share one limit: the plan keeps it, within 1 % of its bound."""
    instance = many(seed)
    plan = solve(instance, gap=0.01)
    _, used = instance.cost_of(plan.chosen)
    assert plan.status is Status.BEST
    assert plan.bound <= plan.cost <= plan.bound + 0.01 * abs(plan.cost) + 1e-6
    assert used["hours"] <= 180.0 + 1e-6
    assert any("walk" in line for line in plan.log)


@pytest.mark.parametrize("as_one", [False, True])
def test_without_time_a_choice_that_fits_is_better_than_none(as_one, monkeypatch):
    """A large plan that is stopped at once keeps its limit, and says that it was stopped."""
    if as_one:
        monkeypatch.setattr("clearing.schedule.rounds.SMALL", 10**6)
    instance = many(1)
    plan = solve(instance, gap=0.0, seconds=1e-3)
    assert plan.status is Status.STOPPED
    _, used = instance.cost_of(plan.chosen)
    assert used["hours"] <= 180.0 + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_options_weighed_alone_weigh_what_they_do_among_all(seed):
    """Cost and use of some rows, with pairs, are those of all rows at these rows."""
    board = board_of(small(seed, pairs=True).instance())
    draw = np.random.default_rng(seed)
    rows = np.array([draw.choice(np.flatnonzero(board.group == g)) for g in range(4)])
    some = np.sort(draw.choice(len(board.cost), 5, replace=False))
    cost, use = swaps(board, rows)
    own_cost, own_use = swaps(board, rows, some, carried(board, rows))
    assert own_cost == pytest.approx(cost[some])
    assert own_use.toarray() == pytest.approx(use[some].toarray())


def test_rules_that_tie_strips_to_each_other_are_left_to_the_branches():
    """Openings have two options; where groups of more give room, nothing is settled first."""
    options = pd.DataFrame(
        [(g, f"{g}{o}", 1.0) for g in "ab" for o in range(3)], columns=["group", "option", "cost"]
    )
    uses = options[["group", "option"]].assign(resource="order", amount=[-1.0, 0, 0, 1.0, 0, 0])
    limits = pd.DataFrame({"resource": ["order"], "low": [None], "high": [0.0]})
    board = board_of(Instance.from_tables(options, uses, limits))
    assert with_openings(board, np.full(6, 1 / 3)) is None


def test_no_rule_of_thumb_is_best_where_none_fits():
    """A choice over the only limit is none to begin from."""
    board = board_of(many(0, groups=2, options=2))
    most = np.array([np.argmax(np.where(board.group == g, board.use.toarray()[:, 0], -1))
                     for g in range(2)])  # fmt: skip
    least = np.array([np.argmin(np.where(board.group == g, board.use.toarray()[:, 0], 99))
                      for g in range(2)])  # fmt: skip
    assert ByRule(board, {"worst_first": most}).best() is None
    found = ByRule(board, {"worst_first": most, "nearest_first": least}).best()
    assert found["option"].tolist() == board.options[least].tolist()


def test_tables_of_the_core_that_do_not_fit_are_named():
    """Options that stand twice, that bear one name in two groups, and that are not there."""
    table = pd.DataFrame({"group": ["a", "b"], "option": ["x", "x"], "cost": [1.0, 2.0]})
    uses = pd.DataFrame({"option": ["x"], "resource": ["hours"], "amount": [1.0]})
    limits = pd.DataFrame({"resource": ["hours"], "low": [None], "high": [9.0]})
    with pytest.raises(ValueError, match="uses need a column 'group'"):
        Instance.from_tables(table, uses, limits)
    with pytest.raises(ValueError, match=r"options stand twice: \['x'\]"):
        Instance.from_tables(table.assign(group="a"), uses, limits)
    good = Instance.from_tables(table.assign(option=["x", "y"]), uses, limits)
    with pytest.raises(ValueError, match=r"options that are not there: \['z'\]"):
        good.cost_of(pd.DataFrame({"group": ["a"], "option": ["z"]}))


@pytest.mark.parametrize(
    ("resource", "said"),
    [("products 2028", "kinds of product in 2028"),
     ("blocks 2028 late_winter", "blocks to work in late winter 2028")],
)  # fmt: skip
def test_limits_of_wishes_have_words(resource, said):
    """As the sentences on what would fit say them."""
    assert limit_words(resource) == said
