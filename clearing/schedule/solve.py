"""Hand the programme to HiGHS and read its answer back; the only file that knows the solver."""

import highspy
import numpy as np

from clearing.schedule.instance import Instance
from clearing.schedule.model import Programme, build
from clearing.schedule.plan import Plan, Status

STATUS = {
    highspy.HighsModelStatus.kOptimal: Status.BEST,
    highspy.HighsModelStatus.kTimeLimit: Status.STOPPED,
    highspy.HighsModelStatus.kSolutionLimit: Status.STOPPED,
    highspy.HighsModelStatus.kInterrupt: Status.STOPPED,
    highspy.HighsModelStatus.kInfeasible: Status.NONE,
    highspy.HighsModelStatus.kUnboundedOrInfeasible: Status.NONE,
}
KEPT = 1e-6  # a share below this is none


def solve(
    instance: Instance,
    gap: float = 1e-3,
    seconds: float = 60,
    relax: bool = False,
    in_shares: frozenset[str] = frozenset(),
) -> Plan:
    """Return the least-cost choice of one option a group within the limits.

    Parameters
    ----------
    instance : Instance
        Options, uses, limits.
    gap : float
        Stop when (cost - bound) / |cost| is proved to be no more.
    seconds : float
        Safety net [s]; a plan stopped by it has the status STOPPED.
    relax : bool
        Allow shares of options: the bound of the problem.
    in_shares : frozenset of str
        Groups whose options may be taken in shares in any case.

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
    programme = build(instance, relax, in_shares)
    solver, log = _loaded(programme, gap, seconds)
    solver.run()
    status = STATUS[solver.getModelStatus()]
    info = solver.getInfo()
    found = info.primal_solution_status == int(highspy.SolutionStatus.kSolutionStatusFeasible)
    if status is Status.NONE or not found:
        empty = instance.options.iloc[0:0][["group", "option"]].assign(share=[])
        return Plan(
            Status.NONE if status is Status.NONE else status, empty, None, None, None, (*log,)
        )
    values = np.asarray(solver.getSolution().col_value)
    share = np.where(programme.whole, np.round(values), values)
    chosen = instance.options[["group", "option"]].assign(share=share)
    cost = float(programme.cost @ share)
    bound = cost if relax else float(info.mip_dual_bound)
    bound = min(bound, cost)
    proved = (cost - bound) / max(abs(cost), 1e-9)
    log.append(f"status {status.value}; cost {cost:.2f}; bound {bound:.2f}; gap {proved:.5f}; "
               f"nodes {max(int(info.mip_node_count), 0)}")  # fmt: skip
    kept = chosen[chosen["share"] > KEPT].reset_index(drop=True)
    return Plan(status, kept, cost, bound, proved, tuple(log))


def _loaded(programme: Programme, gap: float, seconds: float) -> tuple[highspy.Highs, list[str]]:
    """Return a solver with the programme in it, set to repeat itself, and a log that it fills."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 1)
    solver.setOptionValue("mip_rel_gap", float(gap))
    solver.setOptionValue("mip_abs_gap", 1e-9)
    solver.setOptionValue("time_limit", float(seconds))
    number = len(programme.cost)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = number, programme.matrix.shape[0]
    model.col_cost_ = programme.cost
    model.col_lower_, model.col_upper_ = np.zeros(number), np.ones(number)
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
    filled = f"{programme.matrix.nnz} entries"
    return solver, [f"{number} columns, {programme.matrix.shape[0]} rows, {filled}"]
