"""Solve the relaxation of a large programme with few of its options, and more as they pay."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from clearing.schedule.board import Board
from clearing.schedule.model import Answer, Programme, build
from clearing.schedule.parts import with_options
from clearing.schedule.watch import Watch

MANY = 30_000  # options above which a relaxation is solved in parts; own choice
FIRST, MORE = 6, 4  # options a group to begin with, and to add at a time; own choice
SAMPLE = 400  # groups that the first prices come from; own choice
ROUNDS = 40  # times that options are added; own choice
CLOSE = 1e-6  # share of the cost within which the bound of a round is enough


def relaxation(
    programme: Programme, board: Board, watch: Watch, run: Callable[..., Answer]
) -> Answer:
    """Return the answer to a programme without whole columns; its bound holds for all options.

    A large one is solved over some options of each group. The duals say what every other option
    would save: reduced cost d = c - A' dual. Where the least d of each group is 0 the answer is
    that of the whole programme; else bound = cost + sum over groups of least d, since each group
    takes one option in all.

    Parameters
    ----------
    programme : Programme
        All columns continuous.
    board : Board
        Of which it was built; options of a group stand together.
    watch : Watch
        Clock and keyboard.
    run : callable
        The solver.

    References
    ----------
    own reasoning
    """
    number = len(board.cost)
    if number <= MANY or len(board.groups) <= SAMPLE:
        return run(programme, watch)
    price = sampled_prices(board, watch, run)
    taken = cheapest_of(board, board.cost + board.use @ price, FIRST)
    size = np.maximum(np.abs(np.where(np.isfinite(board.high), board.high, 1.0)), 1.0)
    taken |= cheapest_of(board, board.use @ (1.0 / size), 1)  # what fits where anything does
    answer, turn = Answer("none", None, -np.inf), programme.matrix.T.tocsr()
    for _ in range(ROUNDS):
        columns = np.concatenate([np.flatnonzero(taken), np.arange(number, len(programme.cost))])
        part = replace(
            programme,
            cost=programme.cost[columns],
            matrix=programme.matrix[:, columns],
            upper=programme.upper[columns],
            whole=programme.whole[columns],
        )
        answer = run(part, watch)
        if answer.values is None or answer.end != "best":
            break
        answer = _in_full(answer, programme.cost - turn @ np.asarray(answer.row_dual), columns)
        least = np.minimum.reduceat(np.asarray(answer.col_dual)[:number], _firsts(board))
        missing = float(np.minimum(least, 0.0).sum())
        cost = answer.bound
        answer = replace(answer, bound=cost + missing)
        if -missing <= CLOSE * max(abs(cost), 1e-9):
            return answer
        pays = np.asarray(answer.col_dual)[:number] < 0.0
        taken |= pays & cheapest_of(board, np.asarray(answer.col_dual)[:number], MORE)
    return run(programme, watch) if answer.end == "none" else answer


def sampled_prices(board: Board, watch: Watch, run: Callable[..., Answer]) -> np.ndarray:
    """Return prices (R,) of the limits, about: those of some groups with their share of the limits.

    Every so many-th group in the order of content is taken; pairs are left out.

    Parameters
    ----------
    board : Board
    watch : Watch
        Clock and keyboard.
    run : callable
        The solver.

    References
    ----------
    own reasoning
    """
    every = -(-len(board.groups) // SAMPLE)
    rows = np.flatnonzero(board.group % every == 0)
    part = with_options(board, rows)
    share = len(np.unique(part.group)) / len(board.groups)
    part = replace(
        part,
        groups=board.groups[::every],
        group=part.group // every,
        carries=part.carries[:, :0],
        near=board.near[:0],
        far=board.far[:0],
        pair_cost=board.pair_cost[:0],
        pair_use=board.pair_use[:0],
        low=board.low * share,
        high=board.high * share,
        elastic=np.zeros_like(board.elastic),
    )
    programme = build(part, np.zeros(len(rows), dtype=bool), 0.0)
    answer = run(programme, watch)
    if answer.row_dual is None or answer.end != "best":
        return np.zeros(len(board.resources))
    return -answer.row_dual[programme.limit_rows]


def _in_full(answer: Answer, reduced: np.ndarray, columns: np.ndarray) -> Answer:
    """Return an answer over some columns as one over all."""
    values = np.zeros(len(reduced))
    values[columns] = answer.values
    return replace(answer, values=values, col_dual=reduced)


def _firsts(board: Board) -> np.ndarray:
    """Return the first option of each group."""
    return np.searchsorted(board.group, np.arange(len(board.groups)))


def cheapest_of(board: Board, worth: np.ndarray, number: int) -> np.ndarray:
    """Return which options are among so many of least worth in their group, as bool (n,).

    References
    ----------
    own reasoning
    """
    order = np.lexsort((worth, board.group))
    rank = np.arange(len(order)) - _firsts(board)[board.group[order]]
    out = np.zeros(len(order), dtype=bool)
    out[order[rank < number]] = True
    return out
