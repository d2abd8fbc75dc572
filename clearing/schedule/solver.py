"""Hand programmes to HiGHS and read its answers back; the only file that knows the solver."""

from collections.abc import Callable
from typing import Any

import highspy
import numpy as np
import pandas as pd

from clearing.schedule.instance import Instance
from clearing.schedule.model import Answer, Programme, Wanted
from clearing.schedule.plan import Plan
from clearing.schedule.rounds import planned
from clearing.schedule.watch import Told, Watch, listening

ENDS = {
    highspy.HighsModelStatus.kOptimal: "best",
    highspy.HighsModelStatus.kTimeLimit: "stopped",
    highspy.HighsModelStatus.kSolutionLimit: "stopped",
    highspy.HighsModelStatus.kInterrupt: "stopped",
    highspy.HighsModelStatus.kInfeasible: "none",
    highspy.HighsModelStatus.kUnboundedOrInfeasible: "none",
}
TICKS = highspy.cb.HighsCallbackType
ASKED = (TICKS.kCallbackMipInterrupt, TICKS.kCallbackSimplexInterrupt, TICKS.kCallbackIpmInterrupt)


def solve(
    instance: Instance,
    gap: float = 1e-3,
    seconds: float = 60,
    relax: bool = False,
    in_shares: frozenset[str] = frozenset(),
    start: pd.DataFrame | None = None,
    progress: Told | None = None,
) -> Plan:
    """Return the least-cost choice of one option a group within the limits.

    Parameters
    ----------
    instance : Instance
        Options, uses, limits; marks and pairs.
    gap : float
        Stop when (cost - bound) / |cost| is proved to be no more.
    seconds : float
        Safety net [s]; a plan stopped by it, or by Ctrl-C, has the status STOPPED and its gap.
    relax : bool
        Allow shares of options: the bound of the problem, and what one more unit of each limit
        would save.
    in_shares : frozenset of str
        Groups whose options may be taken in shares in any case.
    start : DataFrame, optional
        group, option: a plan to begin from.
    progress : callable, optional
        Told seconds, cost, bound and gap now and then.

    Returns
    -------
    Plan

    Raises
    ------
    KeyError
        The solver answers with a status that is not known here.

    References
    ----------
    highs
    """
    watch = Watch(float(seconds), progress)
    with listening(watch):
        return planned(instance, Wanted(gap, relax, in_shares, start), watch, run)


def run(
    programme: Programme,
    watch: Watch,
    gap: float = 0.0,
    nodes: int | None = None,
    start: np.ndarray | None = None,
    told: Callable[[float, float], None] | None = None,
) -> Answer:
    """Return the solver's answer to a programme.

    Parameters
    ----------
    programme : Programme
    watch : Watch
        Its time that is left, and its Ctrl-C.
    gap : float
        Relative gap at which it may stop.
    nodes : int, optional
        Branches after which it stops.
    start : ndarray, optional
        Values to begin from.
    told : callable, optional
        Told cost and bound now and then.

    Raises
    ------
    KeyError
        The solver answers with a status that is not known here.

    References
    ----------
    highs
    """
    solver = _loaded(programme)
    solver.setOptionValue("mip_rel_gap", float(gap))
    solver.setOptionValue("time_limit", max(watch.seconds - watch.spent(), 0.01))
    if nodes is not None:
        solver.setOptionValue("mip_max_nodes", int(nodes))
    if start is not None and programme.whole.any():
        given = highspy.HighsSolution()
        given.col_value = start.tolist()
        solver.setSolution(given)
    _listen(solver, watch, told)
    solver.run()
    return _answer(solver, programme)


def _answer(solver: highspy.Highs, programme: Programme) -> Answer:
    """Return what the solver found."""
    end = ENDS[solver.getModelStatus()]
    info, solution = solver.getInfo(), solver.getSolution()
    found = info.primal_solution_status == int(highspy.SolutionStatus.kSolutionStatusFeasible)
    mixed = bool(programme.whole.any())
    if end == "none" or not found:
        bound = float(info.mip_dual_bound) if mixed and end != "none" else -np.inf
        return Answer(end, None, bound)
    values = np.asarray(solution.col_value)
    cost = float(info.objective_function_value)
    if mixed:
        nodes = max(int(info.mip_node_count), 0)
        return Answer(end, values, min(float(info.mip_dual_bound), cost), nodes=nodes)
    bound = cost if end == "best" else -np.inf
    return Answer(end, values, bound, np.asarray(solution.row_dual), np.asarray(solution.col_dual))


def _listen(
    solver: highspy.Highs, watch: Watch, told: Callable[[float, float], None] | None
) -> None:
    """Have the solver ask the watch whether to go on, and tell how far it is."""

    def tick(kind: Any, message: str, out: Any, back: Any, data: Any) -> None:
        """Answer one call of the solver."""
        if kind == TICKS.kCallbackMipInterrupt and told is not None:
            told(out.mip_primal_bound, out.mip_dual_bound)
        if watch.pressed:
            back.user_interrupt = True

    solver.setCallback(tick, None)
    for kind in ASKED:
        solver.startCallback(kind)


def _loaded(programme: Programme) -> highspy.Highs:
    """Return a solver with the programme in it, set to repeat itself."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 1)
    solver.setOptionValue("mip_abs_gap", 1e-9)
    number = len(programme.cost)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = number, programme.matrix.shape[0]
    model.col_cost_ = programme.cost
    model.col_lower_, model.col_upper_ = np.zeros(number), programme.upper
    model.row_lower_, model.row_upper_ = programme.low, programme.high
    columns = programme.matrix.tocsc()
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = columns.indptr
    model.a_matrix_.index_ = columns.indices
    model.a_matrix_.value_ = columns.data
    if programme.whole.any():
        kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
        model.integrality_ = [kinds[int(whole)] for whole in programme.whole]
    solver.passModel(model)
    return solver
