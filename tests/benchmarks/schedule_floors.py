"""Two formulations that the planner's core is held against, each handed to HiGHS as it stands.

Both have x (an option is chosen), y (a group carries a mark, summed up) and, for each group, mark
and measure (cost, or a resource that pairs use), one amount z for what the group's pairs take. They
take tables alone and share nothing with the core.

one big-M row:  z[g,m] >= sum_p a[p] (1 - y'[p]) - M (1 - y[g,m]),  M = sum_p a[p]
subset rows:    y whole, and besides z[g,m] >= sum_{p in S} a[p] (y[g,m] - y'[p]) for the S that
                the relaxation breaks most, round after round; no start is handed to it
"""

import time
from dataclasses import dataclass

import highspy
import numpy as np
import pandas as pd
from scipy import sparse

ROUNDS = 12


@dataclass(frozen=True)
class Floor:
    """What a floor reached."""

    cost: float
    bound: float
    seconds: float

    @property
    def gap(self) -> float:
        """Return (cost - bound) / |cost|."""
        return (self.cost - self.bound) / abs(self.cost) if np.isfinite(self.cost) else np.inf


class Tables:
    """The arrays of one case: x, y and z columns, and the rows that all floors have."""

    def __init__(self, case) -> None:
        options, limits = case.options, case.limits
        self.n = len(options)
        self.cost = options["cost"].to_numpy()
        group, self.names = pd.factorize(options["group"])
        self.group = group
        row = pd.Series(np.arange(self.n), index=options["option"])
        place = pd.Series(np.arange(len(limits)), index=limits["resource"])
        uses = case.uses
        own = (uses["amount"], (place[uses["resource"]], row[uses["option"]]))
        self.use = sparse.csr_matrix(own, shape=(len(limits), self.n))
        self.high = limits["high"].to_numpy()
        self.one = sparse.csr_matrix((np.ones(self.n), (group, np.arange(self.n))))
        if case.pairs is None:
            return
        marks = case.marks
        keys = pd.MultiIndex.from_frame(marks[["group", "mark"]].drop_duplicates())
        key = keys.get_indexer(pd.MultiIndex.from_frame(marks[["group", "mark"]]))
        self.carries = sparse.csr_matrix((np.ones(len(marks)), (key, row[marks["option"]])),
                                         shape=(len(keys), self.n))  # fmt: skip
        pairs = case.pairs
        self.near, self.far = (
            keys.get_indexer(pd.MultiIndex.from_frame(pairs[list(names)]))
            for names in (("group", "mark"), ("other", "other_mark"))
        )
        number = pd.Series(np.arange(len(pairs)), index=pairs["pair"])
        extra = case.pair_uses
        at = pd.concat([pd.DataFrame({"p": np.arange(len(pairs)), "r": -1, "a": pairs["cost"]}),
                        pd.DataFrame({"p": number[extra["pair"]].to_numpy(),
                                      "r": place[extra["resource"]].to_numpy(),
                                      "a": extra["amount"].to_numpy()})])  # fmt: skip
        at["k"] = self.near[at["p"]]
        self.z, self.z_key = np.unique(at["k"] * 1000 + at["r"] + 1, return_inverse=True)
        self.pair, self.amount, self.resource = (at[c].to_numpy() for c in "par")


def one_big_m_row(case, gap: float, seconds: float) -> Floor:
    """Return what one big-M row for each strip, year and measure reaches."""
    return _solved(case, gap, seconds, False)


def subset_rows(case, gap: float, seconds: float) -> Floor:
    """Return what whole y and subset rows found on the relaxation reach."""
    return _solved(case, gap, seconds, True)


def _solved(case, gap: float, seconds: float, subsets: bool) -> Floor:
    """Return what a formulation reaches within the seconds."""
    began = time.monotonic()
    data = Tables(case)
    seeded = case.pairs is not None
    cost, upper, whole, blocks = _common(data, subsets) if seeded else _plain(data)
    if seeded and subsets:
        blocks = blocks + _separated(data, cost, upper, blocks, began + seconds / 3)
    solver = _solver(cost, upper, whole, blocks)
    solver.setOptionValue("mip_rel_gap", gap)
    solver.setOptionValue("time_limit", max(seconds - (time.monotonic() - began), 0.1))
    solver.run()
    info = solver.getInfo()
    found = info.primal_solution_status == 2
    return Floor(float(info.objective_function_value) if found else np.inf,
                 float(info.mip_dual_bound), time.monotonic() - began)  # fmt: skip


def _plain(data: Tables):
    """Return the model without pairs."""
    ones = np.ones(data.one.shape[0])
    blocks = [(data.one, ones, ones), (data.use, np.full(len(data.high), -np.inf), data.high)]
    return data.cost, np.ones(data.n), np.ones(data.n, bool), blocks


def _common(data: Tables, whole_marks: bool):
    """Return cost, upper bounds, whole columns and the rows of both floors."""
    k, q = data.carries.shape[0], len(data.z)
    measure = (data.z % 1000).astype(int) - 1
    shape = (len(data.high), q)
    spent = np.flatnonzero(measure >= 0)
    by_z = sparse.csr_matrix((np.ones(len(spent)), (measure[spent], spent)), shape=shape)
    marks = np.full(k, whole_marks)
    cost = np.concatenate([data.cost, np.zeros(k), (measure < 0).astype(float)])
    upper = np.concatenate([np.ones(data.n + k), np.full(q, np.inf)])
    whole = np.concatenate([np.ones(data.n, bool), marks, np.zeros(q, bool)])
    none = sparse.csr_matrix((data.one.shape[0], k + q))
    ones, free = np.ones(data.one.shape[0]), np.full(len(data.high), -np.inf)
    limits = sparse.hstack([data.use, sparse.csr_matrix((len(data.high), k)), by_z])
    carry = sparse.hstack([data.carries, -sparse.eye(k), sparse.csr_matrix((k, q))])
    total = np.bincount(data.z_key, data.amount, q)
    own = sparse.csr_matrix((-total, (np.arange(q), data.z // 1000)), shape=(q, k))
    others = sparse.csr_matrix((data.amount, (data.z_key, data.far[data.pair])), shape=(q, k))
    big = sparse.hstack([sparse.csr_matrix((q, data.n)), own + others, sparse.eye(q)])
    blocks = [
        (sparse.hstack([data.one, none]), ones, ones),
        (limits, free, data.high),
        (carry, np.zeros(k), np.zeros(k)),
        (big, np.zeros(q), np.full(q, np.inf)),  # z - M y + sum a y' >= M - M = 0
    ]
    return cost, upper, whole, blocks


def _separated(data: Tables, cost, upper, blocks, until: float):
    """Return subset rows that the relaxation breaks, round after round."""
    rows: list = []
    k, q = data.carries.shape[0], len(data.z)
    nothing = np.zeros(len(cost), bool)
    for _ in range(ROUNDS):
        solver = _solver(cost, upper, nothing, blocks + rows)
        solver.setOptionValue("time_limit", max(until - time.monotonic(), 0.1))
        solver.run()
        values = np.asarray(solver.getSolution().col_value)
        if len(values) == 0 or time.monotonic() > until:
            break
        y, z = values[data.n : data.n + k], values[data.n + k :]
        slope = y[data.near[data.pair]] - y[data.far[data.pair]]
        chosen = slope > 1e-6
        broken = np.bincount(data.z_key, data.amount * np.maximum(slope, 0), q) - z > 1e-4
        chosen &= broken[data.z_key]
        if not broken.any():
            break
        at, key = np.flatnonzero(chosen), np.cumsum(broken) - 1
        number = int(broken.sum())
        row = key[data.z_key[at]]
        marks = sparse.csr_matrix((-data.amount[at], (row, data.near[data.pair[at]])), (number, k))
        marks = marks + sparse.csr_matrix(
            (data.amount[at], (row, data.far[data.pair[at]])), (number, k)
        )
        unit = sparse.eye(q).tocsr()[np.flatnonzero(broken)]
        new = sparse.hstack([sparse.csr_matrix((number, data.n)), marks, unit])
        rows.append((new, np.zeros(number), np.full(number, np.inf)))
    return rows


def _solver(cost, upper, whole, blocks) -> highspy.Highs:
    """Return HiGHS with a model in it."""
    matrix = sparse.vstack([block for block, _, _ in blocks]).tocsc()
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(cost), matrix.shape[0]
    model.col_cost_, model.col_lower_, model.col_upper_ = cost, np.zeros(len(cost)), upper
    model.row_lower_ = np.concatenate([low for _, low, _ in blocks])
    model.row_upper_ = np.concatenate([high for _, _, high in blocks])
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_, model.a_matrix_.index_ = matrix.indptr, matrix.indices
    model.a_matrix_.value_ = matrix.data
    if whole.any():
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        model.integrality_ = [kinds[int(one)] for one in whole]
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.passModel(model)
    return solver
