"""Cut a board down to some of its options."""

from dataclasses import replace

import numpy as np

from clearing.schedule.board import NOBODY, Board


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
