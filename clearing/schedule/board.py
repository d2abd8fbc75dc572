"""Lay an instance out as arrays, and weigh each option with all other groups held as they are."""

import functools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import sparse

from clearing.schedule.instance import Instance

NOBODY = -1


@dataclass(frozen=True)
class Board:
    """Return an instance as arrays; row i is row i of the instance's options.

    Attributes
    ----------
    groups : tuple of str
        Names of the groups, sorted; ``group`` (n,) is the place of each option's group.
    options : ndarray of str (n,)
        Names of the options.
    cost : ndarray (n,)
        Cost of each option alone.
    use : csr_matrix (n, R)
        What each option alone uses of each resource.
    carries : csr_matrix (n, K)
        1 where an option carries a mark of its group that some pair asks for.
    near, far : ndarray of int (P,)
        Place of the two marks of each pair: charged when the near one is carried and the far not.
    pair_cost : ndarray (P,)
        What each pair costs when it is charged.
    pair_use : csr_matrix (P, R)
        What it uses then.
    resources : tuple of str
        Names of the limits (R); ``low``, ``high`` (R,) are infinite where there is none.
    elastic : ndarray of bool (R,)
        Limits that may be passed.
    """

    groups: tuple[str, ...]
    group: np.ndarray
    options: np.ndarray
    cost: np.ndarray
    use: sparse.csr_matrix
    carries: sparse.csr_matrix
    near: np.ndarray
    far: np.ndarray
    pair_cost: np.ndarray
    pair_use: sparse.csr_matrix
    resources: tuple[str, ...]
    low: np.ndarray
    high: np.ndarray
    elastic: np.ndarray

    @functools.cached_property
    def _pairs_by_mark(self) -> sparse.csr_matrix:
        """Return 1 where a pair (column) asks for a mark (row)."""
        number, keys = len(self.near), self.carries.shape[1]
        ends = np.concatenate([self.near, self.far])
        ones = np.ones(2 * number)
        return sparse.csr_matrix((ones, (ends, np.tile(np.arange(number), 2))), (keys, number))

    def pairs_of(self, carries: sparse.csr_matrix) -> np.ndarray:
        """Return the places of the pairs that ask for a mark which some rows carry, in order."""
        return np.unique(self._pairs_by_mark[np.unique(carries.indices)].indices)


def board_of(instance: Instance) -> Board:
    """Return the arrays of an instance.

    References
    ----------
    own reasoning
    """
    options, limits = instance.options, instance.limits
    code, groups = pd.factorize(options["group"], sort=True)
    rows = pd.MultiIndex.from_frame(options[["group", "option"]].astype(str))
    place = {name: at for at, name in enumerate(limits["resource"])}
    pairs = instance.pairs
    near, far = (
        pd.MultiIndex.from_arrays([pairs[one].astype(str), pairs[mark]])
        for one, mark in (("group", "mark"), ("other", "other_mark"))
    )
    keys = near.append(far).unique()
    marks = instance.marks
    key = keys.get_indexer(pd.MultiIndex.from_arrays([marks["group"].astype(str), marks["mark"]]))
    row = rows.get_indexer(pd.MultiIndex.from_frame(marks[["group", "option"]].astype(str)))
    kept = (key >= 0) & (row >= 0)
    carries = (np.ones(int(kept.sum())), (row[kept], key[kept]))
    own = instance.uses[instance.uses["resource"].isin(place)]
    own_row = rows.get_indexer(pd.MultiIndex.from_frame(own[["group", "option"]].astype(str)))
    extra = instance.pair_uses[instance.pair_uses["resource"].isin(place)]
    pair_row = pd.Index(pairs["pair"]).get_indexer(extra["pair"])
    elastic = limits["elastic"].eq(True) if "elastic" in limits else pd.Series(False, limits.index)
    return Board(
        groups=tuple(str(name) for name in groups),
        group=code,
        options=options["option"].astype(str).to_numpy(),
        cost=options["cost"].to_numpy(dtype=float),
        use=_amounts(own, own_row, place, len(options)),
        carries=sparse.csr_matrix(carries, shape=(len(options), len(keys))),
        near=keys.get_indexer(near),
        far=keys.get_indexer(far),
        pair_cost=pairs["cost"].to_numpy(dtype=float),
        pair_use=_amounts(extra, pair_row, place, len(pairs)),
        resources=tuple(place),
        low=limits["low"].astype(float).fillna(-np.inf).to_numpy(),
        high=limits["high"].astype(float).fillna(np.inf).to_numpy(),
        elastic=elastic.to_numpy(dtype=bool),
    )


def _amounts(
    table: pd.DataFrame, row: np.ndarray, place: dict[str, int], number: int
) -> sparse.csr_matrix:
    """Return amounts of resources as a matrix with so many rows."""
    column = table["resource"].map(place).to_numpy(dtype=int)
    values = table["amount"].to_numpy(dtype=float)
    return sparse.csr_matrix((values, (row, column)), shape=(number, len(place)))


def rows_of(board: Board, chosen: pd.DataFrame) -> np.ndarray:
    """Return the row of the chosen option of each group, NOBODY where a group has none.

    Parameters
    ----------
    board : Board
    chosen : DataFrame
        group, option; groups that the board does not have are passed over.

    References
    ----------
    own reasoning
    """
    keys = pd.MultiIndex.from_arrays([np.array(board.groups, dtype=object)[board.group],
                                      board.options])  # fmt: skip
    row = keys.get_indexer(pd.MultiIndex.from_frame(chosen[["group", "option"]].astype(str)))
    out = np.full(len(board.groups), NOBODY)
    out[board.group[row[row >= 0]]] = row[row >= 0]
    return out


def rows_by_group(board: Board) -> list[np.ndarray]:
    """Return the rows of each group's options, in their order.

    References
    ----------
    own reasoning
    """
    order = np.argsort(board.group, kind="stable")
    size = np.bincount(board.group, minlength=len(board.groups))
    return np.split(order, np.cumsum(size)[:-1])


def swaps(
    board: Board,
    rows: np.ndarray,
    only: np.ndarray | None = None,
    held: np.ndarray | None = None,
) -> tuple[np.ndarray, sparse.csr_matrix]:
    """Return cost and use of options with all other groups held, up to a group's constant.

    A pair costs near (1 - far): with the far mark held it is linear in the near one and the other
    way round, so cost(o) = own cost + sum over the marks of o of what each changes. Differences
    between options of one group are exact.

    Parameters
    ----------
    board : Board
    rows : ndarray of int
        As `rows_of` gives them; a group without an option carries no mark.
    only : ndarray of int, optional
        Rows that are asked for; else all.
    held : ndarray, optional
        What `carried` gives, where it is known already.

    Returns
    -------
    ndarray, csr_matrix
        One row an option that is asked for.

    References
    ----------
    own reasoning
    """
    asked = slice(None) if only is None else only
    own_cost, own_use, carries = board.cost[asked], board.use[asked], board.carries[asked]
    if not len(board.near):
        return own_cost, own_use
    held = carried(board, rows) if held is None else held
    near, far, pair_cost, pair_use = board.near, board.far, board.pair_cost, board.pair_use
    if only is not None:  # pairs of other marks change nothing for these
        mine = board.pairs_of(carries)
        near, far, pair_cost, pair_use = near[mine], far[mine], pair_cost[mine], pair_use[mine]
    worth = held[near]  # what the far mark saves when it is carried
    open_to = 1.0 - held[far]  # what the near mark costs when it is carried
    keys, pairs = board.carries.shape[1], len(near)
    count = np.arange(pairs)
    change = sparse.csr_matrix((open_to, (near, count)), shape=(keys, pairs))
    change = change - sparse.csr_matrix((worth, (far, count)), shape=(keys, pairs))
    cost = own_cost + carries @ (change @ pair_cost)
    return cost, (own_use + carries @ (change @ pair_use)).tocsr()


def carried(board: Board, rows: np.ndarray) -> np.ndarray:
    """Return for each mark whether its group's option carries it (1.0) or not (0.0).

    References
    ----------
    own reasoning
    """
    taken = rows[rows != NOBODY]
    return np.minimum(np.asarray(board.carries[taken].sum(axis=0)).ravel(), 1.0)


def used_by(board: Board, rows: np.ndarray) -> np.ndarray:
    """Return what a choice uses of each resource, charged pairs among it.

    References
    ----------
    own reasoning
    """
    taken = rows[rows != NOBODY]
    used = np.asarray(board.use[taken].sum(axis=0)).ravel()
    if not len(board.near):
        return used
    held = carried(board, rows)
    charged = held[board.near] * (1.0 - held[board.far])
    return used + charged @ board.pair_use


def cost_by(board: Board, rows: np.ndarray) -> float:
    """Return what a choice costs, charged pairs among it.

    References
    ----------
    own reasoning
    """
    cost = float(board.cost[rows[rows != NOBODY]].sum())
    if not len(board.near):
        return cost
    held = carried(board, rows)
    return cost + float((held[board.near] * (1.0 - held[board.far])) @ board.pair_cost)
