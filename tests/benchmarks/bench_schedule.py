"""How near the best the planner comes, and how fast, beside HiGHS alone and a greedy plan.

Not part of the test run: timings are no claims that hold on every machine. What is drawn stands in
schedule_cases.py, the written-out models in schedule_floors.py. Times count from tables in order to
the plan (`solve`). SEEDS=1,2 in the environment draws fewer cases.
"""

import os
import time

import numpy as np
import pytest

from clearing.schedule import Instance, solve
from clearing.schedule.board import board_of, cost_by, swaps, used_by
from tests.benchmarks.schedule_cases import draw_case
from tests.benchmarks.schedule_floors import one_big_m_row

REACH = {12: (1e-3, 5.0), 50: (2e-3, 60.0), 200: (2e-3, 120.0), 5000: (1e-3, 60.0)}
MOST_SEEDED = 1000
SEEDS = [int(one) for one in os.environ.get("SEEDS", "1,2,3,4,5").split(",")]


def greedy(instance: Instance) -> float:
    """Return the cost when each strip in turn takes its cheapest option that still fits."""
    board = board_of(instance)
    last = np.append(np.flatnonzero(np.diff(board.group)), len(board.group) - 1)
    first = np.append(0, last[:-1] + 1)
    size = np.asarray(board.use.sum(axis=1)).ravel()
    rows = np.array([one + int(np.argmin(size[one : end + 1])) for one, end in
                     zip(first, last, strict=True)])  # fmt: skip
    seeded = len(board.near) > 0
    use = board.use.toarray()
    used = used_by(board, rows)
    cost = board.cost
    for one, end in zip(first, last, strict=True):
        own = np.arange(one, end + 1)
        now = rows[board.group[one]]
        if seeded:
            cost_own, use_own = swaps(board, rows, own)
            amounts = use_own.toarray()
        else:
            cost_own, amounts = cost[own], use[own]
        after = used + amounts - amounts[now - one]
        fits = (after <= board.high + 1e-9).all(axis=1)
        to = own[np.argmin(np.where(fits, cost_own, np.inf))] if fits.any() else now
        used = after[to - one]
        rows[board.group[one]] = to
    return cost_by(board, rows)


def group_of(strips: int, what: str) -> str:
    """Return what a row of the table is called."""
    seeded = "with neighbors' seed" if strips <= MOST_SEEDED else "without seed"
    return f"plan of {strips:,} strips {seeded}: {what}"


SOLVED: dict[tuple[int, int], tuple] = {}


def solved(strips: int, seed: int) -> tuple:
    """Return case, instance, plan and seconds; each case is solved once."""
    if (strips, seed) not in SOLVED:
        gap, seconds = REACH[strips]
        case = draw_case(seed, strips, strips <= MOST_SEEDED)
        instance = Instance.from_tables(*case.tables())
        began = time.monotonic()
        plan = solve(instance, gap=gap, seconds=seconds)
        SOLVED[strips, seed] = case, instance, plan, time.monotonic() - began
    return SOLVED[strips, seed]


@pytest.mark.parametrize("strips", REACH)
def test_gap(benchmark, strips):
    """Proved gap of each seed, in the time that is wished."""
    gap, seconds = REACH[strips]
    benchmark.group = group_of(strips, "gap")
    found = benchmark.pedantic(lambda: [solved(strips, seed) for seed in SEEDS], rounds=1)
    gaps = [100 * (np.inf if plan.gap is None else plan.gap) for _, _, plan, _ in found]
    benchmark.extra_info |= {"unit": "%", "figures": gaps,
                             "wished": f"{100 * gap:g} % in {seconds:g} s"}  # fmt: skip
    assert all(len(plan.chosen) for _, _, plan, _ in found)


@pytest.mark.parametrize("strips", REACH)
def test_reference_of_the_gap(benchmark, strips):
    """HiGHS alone on the model written out, in the same time."""
    gap, seconds = REACH[strips]
    benchmark.group = group_of(strips, "gap")
    floors = [one_big_m_row(solved(strips, seed)[0], gap, seconds) for seed in SEEDS[:2]]
    benchmark.pedantic(lambda: None, rounds=1)
    figures = [100 * one.gap for one in floors]
    words = "HiGHS alone on the written-out model, two seeds"
    benchmark.extra_info |= {"unit": "%", "figures": figures, "reference": words}
    assert len(floors) == len(SEEDS[:2])


@pytest.mark.parametrize("strips", REACH)
def test_seconds(benchmark, strips):
    """Seconds of the same plans."""
    benchmark.group = group_of(strips, "time")
    times = [solved(strips, seed)[3] for seed in SEEDS]
    benchmark.pedantic(lambda: None, rounds=1)
    benchmark.extra_info |= {"wished": f"{REACH[strips][1]:g} s", "figures": times}
    assert all(one > 0 for one in times)


@pytest.mark.parametrize("strips", REACH)
def test_cost(benchmark, strips):
    """Cost of the same plans."""
    benchmark.group = group_of(strips, "cost")
    costs = [solved(strips, seed)[2].cost for seed in SEEDS]
    benchmark.pedantic(lambda: None, rounds=1)
    benchmark.extra_info |= {"unit": "dollars", "figures": costs}
    assert len(costs) == len(SEEDS)


@pytest.mark.parametrize("strips", REACH)
def test_reference_of_the_cost(benchmark, strips):
    """A greedy plan: each strip in turn takes its cheapest option that still fits."""
    benchmark.group = group_of(strips, "cost")
    plain = [greedy(solved(strips, seed)[1]) for seed in SEEDS]
    benchmark.pedantic(lambda: None, rounds=1)
    benchmark.extra_info |= {"unit": "dollars", "figures": plain, "reference": "a greedy plan"}
    assert all(theirs >= solved(strips, seed)[2].cost - 1e-6 * abs(theirs)
               for theirs, seed in zip(plain, SEEDS, strict=True))  # fmt: skip
