"""Cut a board down: to some of its options, or to some groups with all others held."""

from dataclasses import replace

import numpy as np
from scipy import sparse

from clearing.schedule.board import NOBODY, Board, carried


def with_options(board: Board, kept: np.ndarray) -> Board:
    """Return the board with some of its options; every group keeps its place.

    Parameters
    ----------
    board : Board
    kept : ndarray of bool (n,) or of int
        Rows to keep, at least one a group.

    References
    ----------
    own reasoning
    """
    return replace(
        board,
        group=board.group[kept],
        options=board.options[kept],
        cost=board.cost[kept],
        use=board.use[kept],
        carries=board.carries[kept],
    )


def owners(board: Board) -> np.ndarray:
    """Return the place of the group of each mark, NOBODY where no option carries it.

    References
    ----------
    own reasoning
    """
    out = np.full(board.carries.shape[1], NOBODY)
    entries = board.carries.tocoo()
    out[entries.col] = board.group[entries.row]
    return out


def with_groups_free(
    board: Board, rows: np.ndarray, free: np.ndarray, kept: np.ndarray
) -> tuple[Board, np.ndarray]:
    """Return the board of some groups with all others held at their options, and its rows.

    What the held groups use is taken off the limits. A pair between a free and a held group is
    linear in the free one's mark and goes into its options' cost and use; a pair between two free
    ones stays.

    Parameters
    ----------
    board : Board
    rows : ndarray of int
        The option of each group.
    free : ndarray of bool (groups,)
        Groups that may change.
    kept : ndarray of bool (n,)
        Options that are offered; those of ``rows`` are in any case.

    Returns
    -------
    Board, ndarray of int
        The second names the board's row of each option of the first.

    References
    ----------
    own reasoning
    """
    offered = kept.copy()
    offered[rows] = True
    own = np.flatnonzero(offered & free[board.group])
    owner = owners(board)
    known = owner != NOBODY
    loose = np.zeros(len(owner), dtype=bool)
    loose[known] = free[owner[known]]
    held = carried(board, np.where(free, NOBODY, rows))
    near, far = loose[board.near], loose[board.far]
    count, keys = np.arange(len(board.near)), len(owner)
    opens = np.where(near & ~far, 1.0 - held[board.far], 0.0)
    saves = np.where(~near & far, held[board.near], 0.0)
    shape = (keys, len(count))
    change = sparse.csr_matrix((opens, (board.near, count)), shape=shape)
    change = change - sparse.csr_matrix((saves, (board.far, count)), shape=shape)
    carries = board.carries[own]
    fixed = rows[~free]
    always = np.where(~near, held[board.near] * np.where(far, 1.0, 1.0 - held[board.far]), 0.0)
    spent = np.asarray(board.use[fixed].sum(axis=0)).ravel() + always @ board.pair_use
    place = np.cumsum(free) - 1
    both = near & far
    part = replace(
        board,
        groups=tuple(np.array(board.groups, dtype=object)[free]),
        group=place[board.group[own]],
        options=board.options[own],
        cost=board.cost[own] + carries @ (change @ board.pair_cost),
        use=(board.use[own] + carries @ (change @ board.pair_use)).tocsr(),
        carries=carries,
        near=board.near[both],
        far=board.far[both],
        pair_cost=board.pair_cost[both],
        pair_use=board.pair_use[both],
        low=board.low - spent,
        high=board.high - spent,
    )
    return _tidy(part), own


def _tidy(board: Board) -> Board:
    """Return the board without marks that no pair asks for."""
    asked = np.unique(np.concatenate([board.near, board.far])).astype(int)
    place = np.zeros(board.carries.shape[1], dtype=int)
    place[asked] = np.arange(len(asked))
    return replace(
        board,
        carries=board.carries[:, asked],
        near=place[board.near],
        far=place[board.far],
    )
