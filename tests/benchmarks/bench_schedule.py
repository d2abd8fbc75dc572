"""How near the best the planner comes, and how fast, beside two floors and a greedy plan.

    python tests/benchmarks/bench_schedule.py [--sizes 12,50,200,5000] [--seeds 1,2] [--floors]

Not part of the test run: timings are no claims that hold on every machine. What is drawn stands in
schedule_cases.py, what it is held against in schedule_floors.py. Times count from tables in order
to the plan (`solve`); reading the tables is shown apart.
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from clearing.schedule import Instance, solve
from clearing.schedule.board import board_of, cost_by, swaps, used_by
from tests.benchmarks.schedule_cases import draw_case
from tests.benchmarks.schedule_floors import one_big_m_row, subset_rows

REACH = {12: (1e-3, 5.0), 50: (2e-3, 60.0), 200: (2e-3, 120.0), 5000: (1e-3, 60.0)}
MOST_SEEDED = 1000


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


def one_row(size: int, seed: int, floors: bool) -> dict[str, object]:
    """Return what came of one case."""
    gap, seconds = REACH[size]
    case = draw_case(seed, size, size <= MOST_SEEDED)
    began = time.monotonic()
    instance = Instance.from_tables(*case.tables())
    read = time.monotonic() - began
    began, busy = time.monotonic(), time.process_time()
    plan = solve(instance, gap=gap, seconds=seconds)
    out = {"strips": size, "seed": seed, "options": len(instance.options), "kept":
           len(instance.options) - plan.dropped, "tables_s": read,
           "seconds": time.monotonic() - began,
           "own_s": time.process_time() - busy, "status": plan.status.name, "cost": plan.cost,
           "gap_%": 100 * (np.inf if plan.gap is None else plan.gap),
           "greedy": greedy(instance)}  # fmt: skip
    if floors:
        for name, floor in (("big_m", one_big_m_row), ("subsets", subset_rows)):
            found = floor(case, gap, seconds)
            out |= {f"{name}_s": found.seconds, f"{name}_gap_%": 100 * found.gap,
                    f"{name}_cost": found.cost}  # fmt: skip
    return out


def main() -> None:
    """Print a row a case, then worst and median of each size."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--sizes", default="12,50,200,5000")
    ask.add_argument("--seeds", default="1,2,3,4,5")
    ask.add_argument("--floors", action="store_true")
    given = ask.parse_args()
    for size in (int(one) for one in given.sizes.split(",")):
        rows = []
        for seed in (int(one) for one in given.seeds.split(",")):
            rows.append(one_row(size, seed, given.floors))
            said = {name: f"{value:,.2f}" if isinstance(value, float) else value
                    for name, value in rows[-1].items()}  # fmt: skip
            sys.stdout.write("  ".join(f"{name} {value}" for name, value in said.items()) + "\n")
            sys.stdout.flush()
        for name in [name for name in rows[0] if name.endswith(("seconds", "_s", "gap_%"))]:
            values = np.array([float(row[name]) for row in rows])
            sys.stdout.write(
                f"{size} strips: {name} median {np.median(values):.2f} worst {values.max():.2f} "
                f"(reach {100 * REACH[size][0]:.1f} % in {REACH[size][1]:.0f} s)\n"
            )


if __name__ == "__main__":
    main()
