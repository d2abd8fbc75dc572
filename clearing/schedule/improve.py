"""Better a choice by trying every option of one group at a time, with limits that push back."""

from dataclasses import dataclass

import numpy as np

from clearing.schedule.board import Board, carried, cost_by, used_by
from clearing.schedule.watch import Watch

STEPS, MOST_STEPS = 30, 250_000  # a walk has STEPS x groups^2 steps, at most so many; own choice
WALKS = 3  # walks, each from the best of those before; own choice
LEAST_SWEEPS = 12  # times that each group is visited at the least; own choice
WARM, COLD = 0.02, 0.001  # temperature as a share of the usual spread of cost; own choice
PUSH, EASE = 1.5, 0.93  # how a price grows where a limit is passed, and falls where not
SLACK = 1e-9


@dataclass(frozen=True)
class Seat:
    """Return one group as dense arrays, laid out so that all its options are weighed at once.

    ``worth`` (options, 1 + R) is cost and use; ``marks`` (options, K) the marks it carries, at the
    keys ``keys``. Its pairs stand as two lists, one where it is near, one where it is far, sorted
    by its own mark: the place of the mark, the other's key, and cost and use (pairs, 1 + R).
    ``tied`` are the groups on the other side of its pairs.
    """

    first: int
    worth: np.ndarray
    marks: np.ndarray
    keys: np.ndarray
    near: tuple[np.ndarray, np.ndarray, np.ndarray]
    far: tuple[np.ndarray, np.ndarray, np.ndarray]
    tied: np.ndarray


def seats_of(board: Board) -> list[Seat]:
    """Return the groups of a board whose options stand together, group after group.

    References
    ----------
    own reasoning
    """
    count = len(board.groups)
    ends = np.searchsorted(board.group, np.arange(count + 1))
    entries = board.carries.tocoo()
    owner = np.full(board.carries.shape[1], -1)
    owner[entries.col] = board.group[entries.row]
    extra = np.column_stack([board.pair_cost, board.pair_use.toarray()])
    by_near, by_far = (_by_group(owner, keys, count) for keys in (board.near, board.far))
    by_key = _by_group(owner, np.arange(len(owner)), count)
    out = []
    for g in range(count):
        rows = slice(ends[g], ends[g + 1])
        keys = by_key[g]
        worth = np.column_stack([board.cost[rows], board.use[rows].toarray()])
        place = np.zeros(len(owner), dtype=int)
        place[keys] = np.arange(len(keys))
        is_near, is_far = by_near[g], by_far[g]
        near = (place[board.near[is_near]], board.far[is_near], extra[is_near])
        far = (place[board.far[is_far]], board.near[is_far], extra[is_far])
        marks = board.carries[rows][:, keys].toarray()
        others = np.concatenate([near[1], far[1]])
        tied = np.unique(owner[others][owner[others] >= 0])
        out.append(Seat(int(ends[g]), worth, marks, keys, near, far, tied))
    return out


def _by_group(owner: np.ndarray, keys: np.ndarray, count: int) -> list[np.ndarray]:
    """Return for each group the places in a list of keys that are its own."""
    of = owner[keys] if len(keys) else np.zeros(0, dtype=int)
    order = np.lexsort((keys, of))
    ends = np.searchsorted(of[order], np.arange(count + 1))
    return [order[ends[g] : ends[g + 1]] for g in range(count)]


def weigh(seat: Seat, held: np.ndarray) -> np.ndarray:
    """Return cost and use (options, 1 + R) of a group's options with all others held.

    cost(o) = own + sum over its marks of [near pairs: 1 - far held] - [far pairs: near held].

    References
    ----------
    own reasoning
    """
    if not len(seat.keys):
        return seat.worth
    change = np.zeros((len(seat.keys), seat.worth.shape[1]))
    for (mark, other, amounts), opens in ((seat.near, True), (seat.far, False)):
        share = 1.0 - held[other] if opens else -held[other]
        hot = np.flatnonzero(share)
        if len(hot):
            np.add.at(change, mark[hot], share[hot, None] * amounts[hot])
    return seat.worth + seat.marks @ change


def improved(
    board: Board, rows: np.ndarray, price: np.ndarray, watch: Watch, enough: float = -np.inf
) -> np.ndarray | None:
    """Return the best choice that keeps the limits, met on a few walks that cool down.

    Each step draws one group's option with chance exp(-(cost + price x excess) / heat), all others
    held. The price of passing a limit rises while it is passed and falls while it is not, so that
    the walk stays near the edge. Heat falls by equal factors a sweep. Steps are counted, not timed.

    Parameters
    ----------
    board : Board
        Options of a group stand together.
    rows : ndarray of int
        Where to begin; need not keep the limits.
    price : ndarray (R,)
        What one unit of each limit is worth, about; grows where need be.
    watch : Watch
        Stops the walk.
    enough : float
        Cost at which the walk may end.

    Returns
    -------
    ndarray of int, or None where no choice met keeps the limits.

    References
    ----------
    own reasoning
    """
    walk, groups = _Walk(board, rows, price), len(board.groups)
    sweeps = max(min(STEPS * groups, MOST_STEPS // groups), LEAST_SWEEPS)
    heats = walk.spread * np.geomspace(WARM, COLD, sweeps)
    draw = np.random.default_rng(1)
    walk.lighten()
    walk.settle()
    walk.stand_at(rows)
    for _ in range(WALKS):
        for heat in heats:
            for g in draw.permutation(groups):
                walk.step(int(g), heat, draw.random())
            walk.reprice()
            if watch.over() or walk.least <= enough:
                break
        walk.settle()
        if watch.over() or walk.least <= enough:
            break
    return walk.best


def plain_choice(board: Board) -> np.ndarray | None:
    """Return a choice found without prices: what uses least, then each group's best that fits.

    Parameters
    ----------
    board : Board
        Options of a group stand together.

    Returns
    -------
    ndarray of int, or None where what uses least does not keep the limits.

    References
    ----------
    own reasoning
    """
    first = np.searchsorted(board.group, np.arange(len(board.groups)))
    walk = _Walk(board, first, np.zeros(len(board.resources)))
    walk.lighten()
    walk.settle()
    return walk.best


class _Walk:
    """One walk: where it stands, what limits cost now, the best that was met."""

    def __init__(self, board: Board, rows: np.ndarray, price: np.ndarray) -> None:
        self.seats, self.rows = seats_of(board), rows.copy()
        self.used, self.held = used_by(board, rows), carried(board, rows)
        self.low, self.high = board.low, board.high
        limit = np.where(np.isfinite(board.high), board.high, 0.0)
        self.slack = SLACK * np.maximum(1.0, np.abs(limit))
        spreads = [float(np.std(seat.worth[:, 0])) for seat in self.seats]
        self.spread = max(float(np.median(spreads)), 1e-9)
        size = np.asarray(abs(board.use).max(axis=0).todense()).ravel()
        self.floor = 0.2 * self.spread / np.maximum(size, 1e-9)
        self.price = np.maximum(price, self.floor)
        self.best: np.ndarray | None = None
        self.lows = bool(np.isfinite(board.low).any())
        self.worth: list[np.ndarray | None] = [None] * len(self.seats)
        self.least = np.inf
        self.cost = cost_by(board, rows)
        if (self.excess(self.used) <= self.slack).all():
            self.best, self.least = rows.copy(), self.cost

    def excess(self, used: np.ndarray) -> np.ndarray:
        """Return by how much limits are passed, for each row of uses."""
        over = np.maximum(used - self.high, 0.0)
        return over + np.maximum(self.low - used, 0.0) if self.lows else over

    def weighed(self, g: int) -> np.ndarray:
        """Return cost and use of a group's options, found anew where a tied group has moved."""
        worth = self.worth[g]
        if worth is None:
            worth = self.worth[g] = weigh(self.seats[g], self.held)
        return worth

    def step(self, g: int, heat: float, luck: float) -> None:
        """Draw one group's option anew."""
        seat = self.seats[g]
        now = int(self.rows[g]) - seat.first
        worth = self.weighed(g)
        after = self.used + (worth[:, 1:] - worth[now, 1:])
        total = worth[:, 0] - worth[now, 0] + self.excess(after) @ self.price
        chance = np.exp(-(total - total.min()) / heat).cumsum()
        to = int(np.searchsorted(chance, luck * chance[-1]))
        if to != now:
            self.move(g, to, float(worth[to, 0] - worth[now, 0]), after[to])

    def move(self, g: int, to: int, cost: float, used: np.ndarray) -> None:
        """Take an option, and keep the choice where it is the best so far that fits."""
        seat = self.seats[g]
        self.rows[g] = seat.first + to
        self.held[seat.keys] = seat.marks[to]
        self.used, self.cost = used, self.cost + cost
        for other in seat.tied:
            self.worth[other] = None
        if self.cost < self.least - 1e-9 and (self.excess(used) <= self.slack).all():
            self.best, self.least = self.rows.copy(), self.cost

    def lighten(self) -> None:
        """Go to the option of each group that uses least, for its limits; pairs are passed over."""
        size = np.maximum(np.abs(np.where(np.isfinite(self.high), self.high, 1.0)), 1.0)
        light = [seat.first + int(np.argmin((seat.worth[:, 1:] / size).sum(axis=1)))
                 for seat in self.seats]  # fmt: skip
        self.stand_at(np.array(light))

    def reprice(self) -> None:
        """Let prices rise where limits are passed and fall where they are not."""
        over = self.excess(self.used) > self.slack
        self.price = np.where(over, self.price * PUSH, np.maximum(self.price * EASE, self.floor))

    def settle(self) -> None:
        """Take each group's best option that fits until none betters the choice."""
        if self.best is None:
            return
        board_rows, gain = self.best.copy(), True
        self.stand_at(board_rows)
        while gain:
            gain = False
            for g, seat in enumerate(self.seats):
                now = int(self.rows[g]) - seat.first
                worth = self.weighed(g)
                after = self.used + (worth[:, 1:] - worth[now, 1:])
                fits = (self.excess(after) <= self.slack).all(axis=1)
                delta = np.where(fits, worth[:, 0] - worth[now, 0], np.inf)
                to = int(np.argmin(delta))
                if delta[to] < -1e-9:
                    gain = True
                    self.move(g, to, float(delta[to]), after[to])

    def stand_at(self, rows: np.ndarray) -> None:
        """Go to a choice, group by group."""
        for g, row in enumerate(rows):
            seat = self.seats[g]
            now, to = int(self.rows[g]) - seat.first, int(row) - seat.first
            if now != to:
                worth = self.weighed(g)
                used = self.used + (worth[to, 1:] - worth[now, 1:])
                self.move(g, to, float(worth[to, 0] - worth[now, 0]), used)
