"""Fix what large plans open (kinds of product, blocks of a season) by the relaxation."""

from dataclasses import replace

import numpy as np

from clearing.schedule.board import Board

ASKED = 1e-6  # share from which an opening is asked for


def has_rules(board: Board) -> bool:
    """Return whether limits of nought tie groups to one another: a walk seldom finds its way there.

    Such a limit is a rule (this only where that), not an amount that is shared out.

    References
    ----------
    own reasoning
    """
    tied = board.use[:, board.high <= 0.0]
    return bool(tied.nnz and (tied.min() < 0.0))


def with_openings(board: Board, shares: np.ndarray) -> tuple[Board, np.ndarray, np.ndarray] | None:
    """Return the board without rules once it is settled what is opened, and what is left of it.

    A group of two options of which one gives room to rules is an opening. Those that the relaxation
    has most of are opened first, as long as they keep the limits among themselves; then options
    that need what is not opened are gone, and the rules with them.

    Parameters
    ----------
    board : Board
        Options of a group stand together.
    shares : ndarray (n,)
        Shares of the options in the relaxation.

    Returns
    -------
    Board, rows and resources that are left (ndarray of int), or None where rules tie other groups
    too, or a group would be empty.

    References
    ----------
    own reasoning
    """
    rule = np.flatnonzero(
        (board.high <= 0.0) & (np.asarray(board.use.min(axis=0).todense())[0] < 0)
    )
    gives = np.asarray((board.use[:, rule].minimum(0) < 0).sum(axis=1)).ravel() > 0
    size = np.bincount(board.group, minlength=len(board.groups))
    helper = np.unique(board.group[gives])
    if not len(helper) or (size[helper] != 2).any():
        return None
    first = np.searchsorted(board.group, helper)
    second_opens = gives[first + 1]
    yes, no = np.where(second_opens, first + 1, first), np.where(second_opens, first, first + 1)
    other = np.setdiff1d(np.arange(len(board.resources)), rule)
    opened = np.zeros(len(helper), dtype=bool)
    used = np.asarray(board.use[no].sum(axis=0)).ravel()[other]
    for at in np.argsort(-shares[yes], kind="stable"):
        more = (board.use[yes[at]] - board.use[no[at]]).toarray().ravel()[other]
        if shares[yes[at]] > ASKED and (used + more <= board.high[other] + ASKED).all():
            opened[at], used = True, used + more
    settled = np.where(opened, yes, no)
    open_rules = np.asarray((board.use[yes[opened]][:, rule] < 0).sum(axis=0)).ravel() > 0
    shut = np.asarray((board.use[:, rule[~open_rules]] > 0).sum(axis=1)).ravel() > 0
    kept = ~shut & ~np.isin(board.group, helper)
    kept[settled] = True
    left = np.flatnonzero(kept)
    if len(np.unique(board.group[left])) < len(board.groups):
        return None
    free = replace(
        board, use=board.use[:, other], pair_use=board.pair_use[:, other],
        resources=tuple(board.resources[at] for at in other), low=board.low[other],
        high=board.high[other], elastic=board.elastic[other],
    )  # fmt: skip
    return free, left, other
