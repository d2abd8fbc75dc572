"""Put a board in an order that its content gives, so that other names give the same plan."""

from dataclasses import replace

import numpy as np
import pandas as pd
from scipy import sparse

from clearing.schedule.board import NOBODY, Board
from clearing.schedule.parts import owners

DIGITS = 10  # significant digits by which content is compared


def by_content(board: Board, kept: np.ndarray) -> tuple[Board, np.ndarray]:
    """Return the board of the kept options in the order of their content, and their rows.

    Groups are sorted by a number of their options' costs, uses and marks, then by what pairs tie
    them to others with; only what is alike stays in the order of names. Pairs with the same two
    marks become one; those that nothing can charge, or that cost and use nothing, go.

    Parameters
    ----------
    board : Board
    kept : ndarray of bool (n,)

    References
    ----------
    own reasoning
    """
    owner = owners(board)
    rows = np.flatnonzero(kept)
    sign = _of_options(board, owner)
    number = _of_groups(board, sign, rows, owner)
    place = np.argsort(np.lexsort((np.arange(len(number)), number)))
    order = rows[np.lexsort((rows, sign[rows], board.cost[rows], place[board.group[rows]]))]
    named = np.array(board.groups, dtype=object)
    part = replace(
        board,
        groups=tuple(named[np.argsort(place)]),
        group=place[board.group[order]],
        options=board.options[order],
        cost=board.cost[order],
        use=board.use[order],
        carries=board.carries[order],
    )
    return _with_pairs(part), order


def _with_pairs(board: Board) -> Board:
    """Return the board with its marks in order of group and carriers, and its pairs merged."""
    owner = owners(board)
    count = np.asarray(board.carries.sum(axis=0)).ravel()
    spent = np.asarray(abs(board.pair_use).sum(axis=1)).ravel() + board.pair_cost
    live = (owner[board.near] != NOBODY) & (spent > 0) if len(board.near) else np.zeros(0, bool)
    weight = np.asarray(board.carries.multiply(np.arange(len(board.cost))[:, None]).sum(axis=0))
    order = np.lexsort((np.arange(len(owner)), weight.ravel(), count, owner))
    asked = np.zeros(len(owner), dtype=bool)
    asked[board.near[live]] = asked[board.far[live]] = True
    order = order[asked[order]]
    place = np.zeros(len(owner), dtype=int)
    place[order] = np.arange(len(order))
    near, far = place[board.near[live]], place[board.far[live]]
    both, first = np.unique(near * max(len(order), 1) + far, return_inverse=True)
    gather = sparse.csr_matrix(
        (np.ones(len(near)), (first, np.arange(len(near)))), shape=(len(both), len(near))
    )
    return replace(
        board,
        carries=board.carries[:, order],
        near=both // max(len(order), 1),
        far=both % max(len(order), 1),
        pair_cost=gather @ board.pair_cost[live],
        pair_use=(gather @ board.pair_use[live]).tocsr(),
    )


def _of_options(board: Board, owner: np.ndarray) -> np.ndarray:
    """Return a number of what each option uses and carries."""
    use = board.use @ _weights(len(board.resources), 1)
    rank = pd.Series(np.arange(len(owner))).groupby(owner).rank().to_numpy()
    return _rounded(use) + _rounded(board.carries @ np.sqrt(rank + 1.0))


def _of_groups(board: Board, sign: np.ndarray, rows: np.ndarray, owner: np.ndarray) -> np.ndarray:
    """Return a number of what each group is, its options and its pairs."""
    count = len(board.groups)
    own = np.sqrt(np.abs(board.cost[rows]) + 1.0) * (1.0 + np.sin(sign[rows] + board.cost[rows]))
    number = _rounded(_sums(board.group[rows], own, count))
    if not len(board.near):
        return number
    worth = np.sqrt(board.pair_cost + board.pair_use @ _weights(len(board.resources), 2) + 1.0)
    one, two = owner[board.near], owner[board.far]
    tied = (one != NOBODY) & (two != NOBODY)
    for _ in range(2):
        by_near, by_far = (
            _sums(here[tied], factor * worth[tied] * np.cos(number[there[tied]] + factor), count)
            for here, there, factor in ((one, two, 1.0), (two, one, 2.0))
        )
        number = _rounded(number + by_near + by_far)
    return number


def _sums(group: np.ndarray, values: np.ndarray, count: int) -> np.ndarray:
    """Return sums by group that do not depend on the order of the values."""
    order = np.lexsort((values, group))
    return np.bincount(group[order], values[order], count)


def _weights(number: int, turn: int) -> np.ndarray:
    """Return weights that tell resources apart."""
    return np.sqrt(np.arange(number) + 1.0 + turn) % 1.0 + 0.1


def _rounded(values: np.ndarray) -> np.ndarray:
    """Return numbers to so many digits, so that the order of a sum does not show."""
    scale = np.where(values == 0, 1.0, np.abs(values))
    digits = 10.0 ** (DIGITS - 1 - np.floor(np.log10(scale)))
    return np.round(values * digits) / digits
