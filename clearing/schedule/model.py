"""The mixed-integer programme, one function a rule."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import sparse

from clearing.schedule.instance import Instance


@dataclass(frozen=True)
class Programme:
    """Return min c x, low <= A x <= high, 0 <= x <= 1, whole where ``whole`` says so."""

    cost: np.ndarray
    matrix: sparse.csr_matrix
    low: np.ndarray
    high: np.ndarray
    whole: np.ndarray


def build(
    instance: Instance, relax: bool = False, in_shares: frozenset[str] = frozenset()
) -> Programme:
    """Return the programme of an instance; column i is row i of its options.

    Parameters
    ----------
    instance : Instance
        Options, uses, limits.
    relax : bool
        Allow shares of all options.
    in_shares : frozenset of str
        Groups whose options may be taken in shares in any case.

    References
    ----------
    own reasoning
    """
    blocks = [one_option_a_group(instance), within_limits(instance)]
    return Programme(
        cost=instance.options["cost"].to_numpy(dtype=float),
        matrix=sparse.vstack([rows for rows, _, _ in blocks]).tocsr(),
        low=np.concatenate([low for _, low, _ in blocks]),
        high=np.concatenate([high for _, _, high in blocks]),
        whole=~instance.options["group"].isin(in_shares).to_numpy() & (not relax),
    )


Rows = tuple[sparse.csr_matrix, np.ndarray, np.ndarray]


def one_option_a_group(instance: Instance) -> Rows:
    """Return: each group gets just one of its options: sum_o x[g,o] = 1.

    References
    ----------
    own reasoning
    """
    code, names = pd.factorize(instance.options["group"], sort=True)
    number = len(code)
    rows = sparse.csr_matrix((np.ones(number), (code, np.arange(number))), (len(names), number))
    ones = np.ones(len(names))
    return rows, ones, ones


def within_limits(instance: Instance) -> Rows:
    """Return: no resource is used under its low or over its high: low <= sum a x <= high.

    References
    ----------
    own reasoning
    """
    limits = instance.limits
    place = pd.Series(range(len(limits)), index=limits["resource"])
    used = instance.uses[instance.uses["resource"].isin(limits["resource"])]
    columns = pd.MultiIndex.from_frame(instance.options[["group", "option"]])
    column = columns.get_indexer(pd.MultiIndex.from_frame(used[["group", "option"]]))
    rows = sparse.csr_matrix(
        (used["amount"].to_numpy(dtype=float), (place[used["resource"]].to_numpy(), column)),
        (len(limits), len(instance.options)),
    )
    low = limits["low"].fillna(-np.inf).to_numpy(dtype=float)
    high = limits["high"].fillna(np.inf).to_numpy(dtype=float)
    return rows, low, high
