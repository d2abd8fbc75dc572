"""The mixed-integer programme, one function a rule."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import sparse

from clearing.schedule.board import Board

Rows = tuple[sparse.csr_matrix, np.ndarray, np.ndarray]


@dataclass(frozen=True)
class Programme:
    """Return min c v, low <= A v <= high, 0 <= v <= upper, whole where ``whole`` says so.

    The columns v are: x (an option is chosen), y (a group carries a mark), w (a pair is charged),
    s (by how much an elastic limit is passed), one block after the other; the rows of limits are
    ``limit_rows``, in the order of the board's resources.
    """

    cost: np.ndarray
    matrix: sparse.csr_matrix
    low: np.ndarray
    high: np.ndarray
    upper: np.ndarray
    whole: np.ndarray
    limit_rows: slice


@dataclass(frozen=True)
class Wanted:
    """Return what is asked of a solve: see `solve`."""

    gap: float
    relax: bool = False
    in_shares: frozenset[str] = frozenset()
    start: pd.DataFrame | None = None


@dataclass(frozen=True)
class Answer:
    """Return what the solver says: how it ended, values of the columns or None, bound, duals.

    ``end`` is best, stopped or none. ``row_dual`` and ``col_dual`` stand only for programmes
    without whole columns; a row's dual is how the cost changes with one more unit of its bound.
    """

    end: str
    values: np.ndarray | None
    bound: float
    row_dual: np.ndarray | None = None
    col_dual: np.ndarray | None = None
    nodes: int = 0


def build(board: Board, whole: np.ndarray, passed: float | None = None) -> Programme:
    """Return the programme of a board.

    Parameters
    ----------
    board : Board
    whole : ndarray of bool (n,)
        Options that are taken whole or not at all.
    passed : float, optional
        Total by which elastic limits may be passed: 0 = not at all, None = at will, and then that
        total is what is made least.

    References
    ----------
    own reasoning
    """
    numbers = (len(board.cost), board.carries.shape[1], len(board.near), int(board.elastic.sum()))
    blocks = [
        one_option_a_group(board, numbers),
        within_limits(board, numbers),
        carries_a_mark(board, numbers),
        pair_is_charged(board, numbers),
        pair_is_not_charged(board, numbers),
    ]
    if passed:
        blocks.append(passed_in_all(passed, numbers))
    n, k, p, e = numbers
    groups = len(board.groups)
    nothing = passed == 0.0
    money = np.concatenate([board.cost, np.zeros(k), board.pair_cost, np.zeros(e)])
    excess = np.concatenate([np.zeros(n + k + p), np.ones(e)])
    return Programme(
        cost=excess if passed is None and e else money,
        matrix=sparse.vstack([rows for rows, _, _ in blocks]).tocsc(),
        low=np.concatenate([low for _, low, _ in blocks]),
        high=np.concatenate([high for _, _, high in blocks]),
        upper=np.concatenate(
            [
                np.where(
                    whole, 1.0, np.inf
                ),  # no more than 1 by its group's row; duals say more so
                np.ones(k + p),
                np.full(e, 0.0 if nothing else np.inf),
            ]
        ),
        whole=np.concatenate(
            [whole, np.full(k, bool(whole.all())), np.zeros(p + e, dtype=bool)]  # y to branch on
        ),
        limit_rows=slice(groups, groups + len(board.resources)),
    )


def one_option_a_group(board: Board, numbers: tuple[int, ...]) -> Rows:
    """Return: each group gets just one of its options: sum_o x[g,o] = 1.

    References
    ----------
    own reasoning
    """
    n = numbers[0]
    ones = np.ones(len(board.groups))
    shape = (len(board.groups), sum(numbers))
    return sparse.csr_matrix((np.ones(n), (board.group, np.arange(n))), shape), ones, ones


def within_limits(board: Board, numbers: tuple[int, ...]) -> Rows:
    """Return: low <= sum_o a x + sum_p b w - s <= high, s only where the limit is elastic.

    A low of an elastic limit is not eased by s: there the row stands twice.

    References
    ----------
    own reasoning
    """
    marks, stretch = numbers[1], numbers[3]
    resources = len(board.resources)
    places = np.flatnonzero(board.elastic)
    ease = sparse.csr_matrix(
        (-np.ones(stretch), (places, np.arange(stretch))), shape=(resources, stretch)
    )
    none = sparse.csr_matrix((resources, marks))
    used = [board.use.T, none, board.pair_use.T]
    rows = sparse.hstack([*used, ease]).tocsr()
    held = np.flatnonzero(board.elastic & np.isfinite(board.low))
    if not len(held):
        return rows, board.low, board.high
    bare = sparse.hstack([*used, sparse.csr_matrix((resources, stretch))]).tocsr()[held]
    free = np.full(len(held), np.inf)
    low = np.where(board.elastic, -np.inf, board.low)
    return (
        sparse.vstack([rows, bare]).tocsr(),
        np.concatenate([low, board.low[held]]),
        np.concatenate([board.high, free]),
    )


def carries_a_mark(board: Board, numbers: tuple[int, ...]) -> Rows:
    """Return: y[g,m] = sum of the group's options that carry the mark.

    Where all that carry the mark before it in the board carry this one, too, the row says
    y[g,m] - y[g,m before] = sum of the options that carry this one alone; so each option stands in
    one row a group, not in one a mark.

    References
    ----------
    own reasoning
    """
    _, k, p, e = numbers
    zeros = np.zeros(k)
    carriers = board.carries.tocsc()
    chained = np.zeros(k, dtype=bool)
    if k > 1:
        more = (carriers[:, 1:] - carriers[:, :-1]).tocsc()
        kept = np.diff(carriers.indptr)[:-1] > 0
        chained[1:] = kept & (more.min(axis=0).toarray().ravel() >= 0)
    after = np.flatnonzero(chained)
    link = sparse.csr_matrix((np.ones(len(after)), (after, after - 1)), shape=(k, k))
    own = (sparse.eye(k) - link) @ board.carries.T
    rows = [own, -(sparse.eye(k) - link), sparse.csr_matrix((k, p + e))]
    matrix = sparse.hstack(rows).tocsr()
    matrix.eliminate_zeros()
    return matrix, zeros, zeros


def pair_is_charged(board: Board, numbers: tuple[int, ...]) -> Rows:
    """Return: a pair is charged when the near mark is carried and the far not: w >= y - y'.

    References
    ----------
    own reasoning
    """
    p = numbers[2]
    return _pair_rows(board, numbers, (-1.0, 1.0, 1.0)), np.zeros(p), np.full(p, np.inf)


def pair_is_not_charged(board: Board, numbers: tuple[int, ...]) -> Rows:
    """Return: a pair that serves a low is not charged for nothing: w <= y and w <= 1 - y'.

    Elsewhere a charge only costs, and least cost keeps it down.

    References
    ----------
    own reasoning
    """
    serves = np.asarray(abs(board.pair_use[:, np.isfinite(board.low)]).sum(axis=1)).ravel() > 0
    number = int(serves.sum())
    by_near = _pair_rows(board, numbers, (-1.0, 0.0, 1.0))[serves]
    by_far = _pair_rows(board, numbers, (0.0, 1.0, 1.0))[serves]
    high = np.concatenate([np.zeros(number), np.ones(number)])
    return sparse.vstack([by_near, by_far]).tocsr(), np.full(2 * number, -np.inf), high


def passed_in_all(passed: float, numbers: tuple[int, ...]) -> Rows:
    """Return: elastic limits are passed by no more than the least total: sum s <= passed.

    References
    ----------
    own reasoning
    """
    e, before = numbers[3], sum(numbers[:3])
    rows = sparse.csr_matrix((np.ones(e), (np.zeros(e, int), before + np.arange(e))),
                             (1, before + e))  # fmt: skip
    return rows, np.array([-np.inf]), np.array([passed])


def _pair_rows(
    board: Board, numbers: tuple[int, ...], signs: tuple[float, float, float]
) -> sparse.csr_matrix:
    """Return a row a pair with signs at y of the near mark, y of the far mark, and w."""
    n, k, p, _ = numbers
    row = np.tile(np.arange(p), 3)
    column = np.concatenate([n + board.near, n + board.far, n + k + np.arange(p)])
    return sparse.csr_matrix((np.repeat(signs, p), (row, column)), (p, sum(numbers)))
