"""Leave out options that another option of their group does at least as well everywhere."""

import itertools

import numpy as np
from scipy import sparse

from clearing.schedule.board import Board

BITS = 63  # resources are folded into so many bits for a first look
AT_ONCE = 1_000  # options that are held against all others of their group at once
ROWS_AT_ONCE = 200_000


def undominated(board: Board) -> np.ndarray:
    """Return which options stay, as bool (n,).

    An option b is left out when its group has another a with cost[a] <= cost[b] and

        use[a,r] <= use[b,r]  for each r with a high alone (elastic or not)
        use[a,r] >= use[b,r]  for each r with a low alone
        use[a,r]  = use[b,r]  for each r with both
        a carries no mark that b does not, where a pair charges for the mark being carried
        a carries each mark that b does, where a pair charges for the mark not being carried

    and, where all of that is equal, a stands first by name. Whatever is chosen elsewhere, taking a
    for b keeps the limits and costs no more; pairs only add cost and use, so that the last two
    rules hold unless a pair's use serves a low: marks of such pairs have to be equal.

    Parameters
    ----------
    board : Board
        Options of a group stand together, by name.

    References
    ----------
    own reasoning
    """
    less = _less_is_better(board)
    plus, minus = _folded(less, 1.0), _folded(less, -1.0)
    ends = np.searchsorted(board.group, np.arange(len(board.groups) + 1))
    found: list[tuple[np.ndarray, np.ndarray]] = []
    for first, end in itertools.pairwise(ends):
        for at in range(first, end, AT_ONCE):
            some, every = slice(at, min(at + AT_ONCE, end)), slice(first, end)
            may = board.cost[every][:, None] <= board.cost[some][None, :]
            may &= (plus[every][:, None] & ~plus[some][None, :]) == 0
            may &= (minus[some][None, :] & ~minus[every][:, None]) == 0
            better, worse = np.nonzero(may)
            other = better + first != worse + at
            found.append((better[other] + first, worse[other] + at))
    out = np.ones(len(board.cost), dtype=bool)
    better = np.concatenate([one for one, _ in found]) if found else np.zeros(0, dtype=int)
    worse = np.concatenate([one for _, one in found]) if found else np.zeros(0, dtype=int)
    for at in range(0, len(better), ROWS_AT_ONCE):
        a, b = better[at : at + ROWS_AT_ONCE], worse[at : at + ROWS_AT_ONCE]
        out[b[_beats(board, less, a, b)]] = False
    return out


def _beats(board: Board, less: sparse.csr_matrix, a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Return whether the options a are no worse than b everywhere, and better or first by name."""
    gap = less[a] - less[b]
    most = np.asarray(gap.max(axis=1).todense()).ravel()
    least = np.asarray(gap.min(axis=1).todense()).ravel()
    strictly = (least < 0) | (board.cost[a] < board.cost[b])
    return (most <= 0) & (strictly | (a < b))


def _less_is_better(board: Board) -> sparse.csr_matrix:
    """Return columns of which less is never worse: uses, and marks by what pairs charge for."""
    highs, lows = np.isfinite(board.high), np.isfinite(board.low)
    serves = np.asarray(abs(board.pair_use[:, lows]).sum(axis=1)).ravel() > 0
    costs, saves = (np.zeros(board.carries.shape[1], dtype=bool) for _ in range(2))
    costs[board.near] = saves[board.far] = True
    for keys in (board.near[serves], board.far[serves]):
        costs[keys] = saves[keys] = True
    columns = [board.use[:, highs], -board.use[:, lows],
               board.carries[:, costs], -board.carries[:, saves]]  # fmt: skip
    out = sparse.hstack(columns).tocsr()
    out.eliminate_zeros()
    return out


def _folded(less: sparse.csr_matrix, sign: float) -> np.ndarray:
    """Return for each option in which columns it is above (below) nought, folded into 63 bits."""
    row = np.repeat(np.arange(less.shape[0]), np.diff(less.indptr))
    on = sign * less.data > 0
    out = np.zeros(less.shape[0], dtype=np.int64)
    np.bitwise_or.at(out, row[on], np.int64(1) << (less.indices[on].astype(np.int64) % BITS))
    return out
