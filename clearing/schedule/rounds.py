"""Plan in rounds: relax, walk, leave out what cannot pay, branch; and check the answer."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from clearing.schedule.board import NOBODY, Board, board_of, cost_by, rows_of, used_by
from clearing.schedule.content import by_content
from clearing.schedule.dominated import undominated
from clearing.schedule.improve import improved, plain_choice
from clearing.schedule.instance import Instance
from clearing.schedule.model import Answer, Programme, Wanted, build
from clearing.schedule.openings import has_rules, with_openings
from clearing.schedule.parts import with_options
from clearing.schedule.plan import Plan, Status
from clearing.schedule.relaxed import cheapest_of, relaxation
from clearing.schedule.watch import Watch, share

Run = Callable[..., Answer]
KEPT = 1e-6  # a share below this is none
NEAR = 1e-6  # by what share of itself a limit may be missed by the solver's arithmetic
NODES = 100_000  # branches after which a plan is stopped; own choice
WIDE = 40  # options a group that are walked over, those of least reduced cost; own choice
LARGE = 20_000  # options from which what is opened is settled by the relaxation first; own choice
SMALL = 2000  # options up to which nothing is walked first; own choice
ENDS = {"best": Status.BEST, "stopped": Status.STOPPED, "none": Status.NONE}


@dataclass(frozen=True)
class Found:
    """Return what the rounds found: how it ended, shares of the board's options, bound, duals."""

    end: str
    shares: np.ndarray | None
    bound: float
    prices: np.ndarray | None = None
    nodes: int = 0


def planned(instance: Instance, wanted: Wanted, watch: Watch, run: Run) -> Plan:
    """Return the plan of an instance.

    Parameters
    ----------
    instance : Instance
    wanted : Wanted
        Gap, shares, start.
    watch : Watch
        Clock and keyboard.
    run : callable
        Programme -> Answer: the solver.

    References
    ----------
    own reasoning
    """
    whole_board = board_of(instance)
    kept = undominated(whole_board)
    board, order = by_content(whole_board, kept)
    dropped = int((~kept).sum())
    log = [f"{len(kept)} options in {len(board.groups)} groups, {dropped} dominated; "
           f"{len(board.near)} pairs"]  # fmt: skip
    sharing = instance.options["group"].isin(wanted.in_shares).to_numpy()[order]
    whole = ~sharing & (not wanted.relax)
    start = None if wanted.start is None else rows_of(board, wanted.start)
    board, passed, ended = _stretched(board, whole, watch, run, log)
    if ended is not None:
        found = ended
    elif wanted.relax or sharing.any():
        found = _in_one(board, build(board, whole, passed), (wanted, watch, run), log)
    else:
        found = _in_rounds(board, passed, start, (wanted, watch, run), log)
    if found.shares is None:
        empty = instance.options.iloc[0:0][["group", "option"]].assign(share=[])
        log.append(f"{watch.spent():.1f} s: status {ENDS[found.end].value}{_cause(found, watch)}")
        return Plan(ENDS[found.end], empty, None, None, None, tuple(log), dropped)
    shares = np.zeros(len(instance.options))
    shares[order] = found.shares[: len(order)]
    return _laid_out(instance, shares, replace(found, shares=None), (watch, board), log, dropped)


def _stretched(
    board: Board, whole: np.ndarray, watch: Watch, run: Run, log: list[str]
) -> tuple[Board, float, Found | None]:
    """Return the board, by how much elastic limits are passed in all, and an end if there is one.

    Where none has to be passed, the board has hard limits alone.
    """
    stretch = board.elastic & np.isfinite(board.high)
    board = replace(board, elastic=stretch)
    if not stretch.any():
        return board, 0.0, None
    programme = build(board, whole)
    answer = run(programme, watch)
    if answer.values is None:
        return board, 0.0, Found(answer.end, None, -np.inf)
    if watch.over():
        shares = np.where(programme.whole, np.round(answer.values), answer.values)
        return board, 0.0, Found("stopped", shares, -np.inf)
    passed = float(programme.cost @ answer.values)
    if passed <= NEAR * max(1.0, float(np.abs(board.high[stretch]).max())):
        return replace(board, elastic=np.zeros_like(stretch)), 0.0, None
    proof = (
        ""
        if answer.end == "best"
        else f", not proved to be the least (at the least {answer.bound:.3f})"
    )
    log.append(f"elastic limits are passed by {passed:.3f} in all{proof}")
    return board, passed * (1 + 1e-9) + 1e-9, None


def _in_one(
    board: Board, programme: Programme, asked: tuple[Wanted, Watch, Run], log: list[str]
) -> Found:
    """Return the answer to a programme with shares of options."""
    wanted, watch, run = asked
    log.append(_size(programme))
    if wanted.relax:
        answer = relaxation(programme, board, watch, run)
    else:
        answer = run(programme, watch, wanted.gap, NODES, told=watch.say)
    values, prices = answer.values, None
    if values is not None:
        values = np.where(programme.whole, np.round(values), values)
    if answer.row_dual is not None:
        prices = np.maximum(-answer.row_dual[programme.limit_rows], 0.0)
    return Found(answer.end, values, answer.bound, prices, answer.nodes)


def _in_rounds(
    board: Board,
    passed: float,
    start: np.ndarray | None,
    asked: tuple[Wanted, Watch, Run],
    log: list[str],
) -> Found:
    """Return the best choice: relaxation, walk, options that cannot pay left out, branches."""
    wanted, watch, run = asked
    number = len(board.cost)
    loose = build(board, np.zeros(number, dtype=bool), passed)
    log.append(_size(loose))
    relaxed = relaxation(loose, board, watch, run)
    if relaxed.values is None or relaxed.end != "best":
        if relaxed.end != "stopped":
            return Found(relaxed.end, None, -np.inf)
        fits = start is not None and (start != NOBODY).all() and _keeps(board, start, passed)
        known = start if fits else plain_choice(board)
        shares = None if known is None else _shares(number, known)
        return Found("stopped", shares, -np.inf)
    bound = relaxed.bound
    log.append(f"{watch.spent():.1f} s: relaxation {bound:.2f}")
    rows = _begun((board, passed), relaxed, loose, start, (wanted, watch))
    best = np.inf if rows is None else cost_by(board, rows)
    watch.say(best, bound)
    log.append(f"{watch.spent():.1f} s: walk {best:.2f}; gap {share(best, bound):.5f}")
    if rows is not None and (watch.over() or share(best, bound) <= wanted.gap):
        end = "best" if share(best, bound) <= wanted.gap else "stopped"
        return Found(end, _shares(number, rows), min(bound, best))
    return _branched(board, passed, (relaxed, rows, best), asked, log)


def _branched(
    board: Board,
    passed: float,
    known: tuple[Answer, np.ndarray | None, float],
    asked: tuple[Wanted, Watch, Run],
    log: list[str],
) -> Found:
    """Return the better of a known choice and what branching finds, with the bound of both.

    An option whose reduced cost over the relaxation is so much that any choice with it costs more
    than (1 - gap) of the known choice is left out; the bound is then not above that share.
    """
    wanted, watch, run = asked
    relaxed, rows, best = known
    floor = best - wanted.gap * abs(best) if rows is not None else np.inf
    reduced = np.asarray(relaxed.col_dual)[: len(board.cost)]
    pays = relaxed.bound + reduced < floor
    if rows is not None:
        pays[rows] = True
    left = np.flatnonzero(pays)
    part = with_options(board, left)
    programme = build(part, np.ones(len(left), dtype=bool), passed)
    log.append(f"{watch.spent():.1f} s: {len(board.cost) - len(left)} options cannot pay; "
               + _size(programme))  # fmt: skip
    first = None if rows is None else _point(part, np.searchsorted(left, rows), programme)

    def told(cost: float, bound: float) -> None:
        """Tell the better of what is known and what branching has."""
        watch.say(min(cost, best), min(max(bound, relaxed.bound), floor))

    answer = run(programme, watch, wanted.gap, NODES, first, told)
    bound = floor if answer.end == "none" else min(max(answer.bound, relaxed.bound), floor)
    if answer.values is not None:
        shares = np.round(answer.values[: len(left)])
        taken = left[shares > 0.5]
        if (
            len(taken) == len(board.groups)
            and _keeps(board, taken, passed)
            and cost_by(board, taken) < best
        ):
            rows, best = taken, cost_by(board, taken)
    if rows is None:
        return Found("none" if answer.end == "none" else "stopped", None, -np.inf)
    bound = min(bound, best)
    end = "best" if answer.end != "stopped" or share(best, bound) <= wanted.gap else "stopped"
    return Found(end, _shares(len(board.cost), rows), bound, nodes=answer.nodes)


def _begun(
    posed: tuple[Board, float],
    relaxed: Answer,
    loose: Programme,
    start: np.ndarray | None,
    asked: tuple[Wanted, Watch],
) -> np.ndarray | None:
    """Return a choice to begin from: the relaxation rounded, the given start, a walk from there."""
    (board, passed), (wanted, watch) = posed, asked
    shares = np.asarray(relaxed.values)[: len(board.cost)]
    order = np.lexsort((-shares, board.group))
    rows = order[np.searchsorted(board.group, np.arange(len(board.groups)))]
    choices = [rows]
    if start is not None:
        choices.append(np.where(start == NOBODY, rows, start))
    fits = [one for one in choices if _keeps(board, one, passed)]
    best = min(fits, key=lambda one: cost_by(board, one), default=None)
    enough = relaxed.bound + wanted.gap * abs(relaxed.bound)
    done = best is not None and cost_by(board, best) <= enough
    free, left, limits = board, np.arange(len(board.cost)), np.arange(len(board.high))
    if not done and has_rules(board) and len(board.cost) > LARGE:
        settled = with_openings(board, shares)
        if settled is not None:
            free, left, limits = settled
    if done or len(board.cost) <= SMALL or has_rules(free):
        return plain_choice(board) if best is None else best
    price = 2.0 * np.abs(np.asarray(relaxed.row_dual)[loose.limit_rows][limits])
    free = with_options(free, left)
    worth = np.asarray(relaxed.col_dual)[left]
    inner = np.lexsort((-shares[left], free.group))
    begin = inner[np.searchsorted(free.group, np.arange(len(free.groups)))]
    if len(left) == len(board.cost):
        begin = choices[-1]
    wide = cheapest_of(free, worth, WIDE)
    wide[begin] = True
    near = np.flatnonzero(wide)
    roomy = with_options(_roomy(free, np.asarray(relaxed.values)), near)
    walked = improved(roomy, np.searchsorted(near, begin), price, watch, enough)
    walked = None if walked is None else left[near[walked]]
    if walked is not None and not _keeps(board, walked, passed):
        walked = None
    both = [one for one in (best, walked) if one is not None]
    return min(both, key=lambda one: cost_by(board, one), default=None)


def _roomy(board: Board, values: np.ndarray) -> Board:
    """Return the board with elastic limits moved out by what the relaxation passes them."""
    stretch = int(board.elastic.sum())
    if not stretch:
        return board
    high = board.high.copy()
    high[board.elastic] += values[len(values) - stretch :]
    return replace(board, high=high, elastic=np.zeros_like(board.elastic))


def _keeps(board: Board, rows: np.ndarray, passed: float) -> bool:
    """Return whether a choice keeps hard limits, and passes elastic ones by no more in all."""
    used = used_by(board, rows)
    size = np.maximum(1.0, np.abs(np.where(np.isfinite(board.high), board.high, board.low)))
    over, under = used - board.high, board.low - used
    held = np.where(board.elastic, under, np.maximum(over, under)) <= NEAR * size
    return bool(
        held.all() and np.maximum(over[board.elastic], 0.0).sum() <= passed * (1 + NEAR) + NEAR
    )


def _point(board: Board, rows: np.ndarray, programme: Programme) -> np.ndarray:
    """Return the columns of the programme at a choice."""
    values = np.zeros(len(programme.cost))
    values[rows] = 1.0
    n, k, p = len(board.cost), board.carries.shape[1], len(board.near)
    held = np.minimum(np.asarray(board.carries[rows].sum(axis=0)).ravel(), 1.0)
    values[n : n + k] = held
    values[n + k : n + k + p] = held[board.near] * (1.0 - held[board.far])
    over = used_by(board, rows) - board.high
    values[n + k + p :] = np.maximum(over[board.elastic], 0.0)
    return values


def _shares(number: int, rows: np.ndarray) -> np.ndarray:
    """Return 1 at the rows and 0 elsewhere."""
    out = np.zeros(number)
    out[rows] = 1.0
    return out


def _size(programme: Programme) -> str:
    """Return how large a programme is, in words."""
    rows, columns = programme.matrix.shape
    return f"{columns} columns, {rows} rows, {programme.matrix.nnz} entries"


def _laid_out(
    instance: Instance,
    shares: np.ndarray,
    found: Found,
    asked: tuple[Watch, Board],
    log: list[str],
    dropped: int,
) -> Plan:
    """Return the plan of an answer, its cost found again from the tables."""
    watch, board = asked
    chosen = instance.options[["group", "option"]].assign(share=shares)
    chosen = chosen[chosen["share"] > KEPT].reset_index(drop=True)
    cost, used = instance.cost_of(chosen)
    bound = min(found.bound, cost)
    gap = share(cost, bound)
    ended = f"{ENDS[found.end].value}{_cause(found, watch)}"
    log.append(
        f"{watch.spent():.1f} s: status {ended}; cost {cost:.2f}; bound {bound:.2f}; "
        f"gap {gap:.5f}; nodes {found.nodes}"
    )
    plan = Plan(ENDS[found.end], chosen, cost, bound, gap, tuple(log), dropped,
                shortfall=shortfall_of(instance, used),
                charged=instance.charged(chosen))  # fmt: skip
    if found.prices is None:
        return plan
    prices = pd.DataFrame({"resource": list(board.resources), "price": found.prices})
    return replace(plan, prices=prices[np.isfinite(board.high)].reset_index(drop=True))


def _cause(found: Found, watch: Watch) -> str:
    """Return what stopped the rounds, in brackets."""
    if found.end != "stopped":
        return ""
    watch.over()
    return " (Ctrl-C)" if watch.pressed else " (time)" if watch.late else " (branches)"


def shortfall_of(instance: Instance, used: "pd.Series[float]") -> pd.DataFrame:
    """Return by how much each elastic limit is passed: resource, amount.

    References
    ----------
    own reasoning
    """
    limits = instance.limits
    own = limits[limits["elastic"].eq(True)] if "elastic" in limits else limits.iloc[0:0]
    over = own["resource"].map(used).astype(float) - own["high"]
    rows = pd.DataFrame({"resource": own["resource"], "amount": over})
    return rows[rows["amount"] > NEAR].reset_index(drop=True)
