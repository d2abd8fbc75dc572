"""Keep to few kinds of product or blocks at a time: which options do, beside the other strips."""

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from clearing.schedule.board import NOBODY, Board
from clearing.schedule.few import Few


@dataclass(frozen=True)
class Wish:
    """Return at most ``most`` kinds (of product, of block) at a time: option -> (time, kind)s."""

    most: int
    kinds: dict[str, frozenset[tuple[str, str]]]


@dataclass(frozen=True)
class Laid:
    """Return a wish as arrays over a board.

    Attributes
    ----------
    most : int
        Kinds at a time.
    use : csr_matrix (n, K)
        1 where an option uses a kind at a time.
    time : csr_matrix (K, T)
        1 at the time of each of them.
    """

    most: int
    use: sparse.csr_matrix
    time: sparse.csr_matrix


def wish_of(few: Few, most: int | None) -> tuple[Wish, ...]:
    """Return a wish for few kinds at a time, none where nobody wishes.

    References
    ----------
    own reasoning
    """
    if most is None:
        return ()
    kinds: dict[str, set[tuple[str, str]]] = {}
    rows = zip(few.used["option_id"], few.used["period"], few.used["kind"], strict=True)
    for option, period, kind in rows:
        kinds.setdefault(str(option), set()).add((str(period), str(kind)))
    return (Wish(most, {option: frozenset(own) for option, own in kinds.items()}),)


def laid_on(board: Board, wishes: tuple[Wish, ...]) -> tuple[Laid, ...]:
    """Return wishes as arrays over a board.

    References
    ----------
    own reasoning
    """
    return tuple(_laid(board, wish) for wish in wishes)


def _laid(board: Board, wish: Wish) -> Laid:
    """Return one wish as arrays over a board."""
    nothing: frozenset[tuple[str, str]] = frozenset()
    by_row = [wish.kinds.get(str(name), nothing) for name in board.options]
    place = {kind: at for at, kind in enumerate(sorted(set().union(*by_row)))}
    times = {time: at for at, time in enumerate(sorted({time for time, _ in place}))}
    cells = [(row, place[kind]) for row, own in enumerate(by_row) for kind in own]
    row, column = np.array(cells, dtype=int).reshape(-1, 2).T
    of = np.array([times[time] for time, _ in place], dtype=int)
    return Laid(
        wish.most,
        sparse.csr_matrix((np.ones(len(row)), (row, column)), shape=(len(by_row), len(place))),
        sparse.csr_matrix(
            (np.ones(len(of)), (np.arange(len(of)), of)), shape=(len(place), len(times))
        ),
    )


def counted(laid: tuple[Laid, ...], rows: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return for each wish how many strips of a choice use each kind at each time.

    References
    ----------
    own reasoning
    """
    taken = rows[rows != NOBODY]
    return tuple(np.asarray(one.use[taken].sum(axis=0)).ravel() for one in laid)


def kept_beside(
    laid: tuple[Laid, ...], counts: tuple[np.ndarray, ...], own: int, asked: np.ndarray
) -> np.ndarray:
    """Return which options of a strip keep the wishes beside what all other strips use.

    An option keeps a wish where, at each time that it uses a kind, the kinds of the other strips
    and its own are together at most as many as wished.

    Parameters
    ----------
    laid : tuple of Laid
        As `laid_on` gives them.
    counts : tuple of ndarray
        As `counted` gives them for the whole choice.
    own : int
        Row that the strip has in it, or NOBODY.
    asked : ndarray of int
        Rows of the strip's options.

    Returns
    -------
    ndarray of bool

    References
    ----------
    own reasoning
    """
    fits = np.ones(len(asked), dtype=bool)
    for one, count in zip(laid, counts, strict=True):
        others = count.copy()
        if own != NOBODY:
            mine = one.use[[own]]
            others[mine.indices] -= mine.data
        opened = (others > 0.5).astype(float)
        wanted, new = one.use[asked], one.use[asked]
        new.data = new.data * (1.0 - opened[new.indices])
        fresh, touched = (np.asarray((kinds @ one.time).todense()) for kinds in (new, wanted))
        together = fresh + one.time.T @ opened
        fits &= (~(touched > 0) | (together <= one.most + 0.5)).all(axis=1)
    return fits
