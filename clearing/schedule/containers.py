"""Choose containers for a need, and keep a shelf of what is left over from year to year."""

import math
from collections.abc import Sequence

LESS = 20  # how many fewer of a size than would do alone are tried; own choice, far beyond need
Lot = tuple[int, float]  # year bought, litres left


def cheapest_mix(
    need_l: float, sizes_l: Sequence[float], prices: Sequence[float]
) -> tuple[int, ...]:
    """Return how many containers of each size cover a need for the least money.

    Of mixes that cost the same the one with the least product, then with the fewest containers.
    Each size is tried from as many as would do alone downwards, the cheapest a litre first, until
    what remains cannot get cheaper.

    Parameters
    ----------
    need_l : float
        Product to cover [l].
    sizes_l, prices : sequence of float
        Containers on sale [l] and what one costs [dollars].

    Returns
    -------
    tuple of int
        Counts in the order of the sizes; all nought for no need.

    Raises
    ------
    ValueError
        No size, or a size that is not over 0.

    References
    ----------
    own reasoning
    """
    if not sizes_l or min(sizes_l) <= 0 or len(sizes_l) != len(prices):
        raise ValueError("containers need sizes over 0, and a price for each")
    order = sorted(range(len(sizes_l)), key=lambda i: (prices[i] / sizes_l[i], -sizes_l[i]))
    offers = [(sizes_l[i], prices[i]) for i in order]
    best = _search(max(need_l, 0.0), offers, (math.inf, math.inf, math.inf), (0.0, 0.0, 0))
    counts = [0] * len(order)
    for place, count in zip(order, best[1], strict=True):
        counts[place] = count
    return tuple(counts)


Score = tuple[float, float, float]  # dollars, litres, containers


def _search(
    need_l: float, offers: list[tuple[float, float]], bar: Score, spent: Score
) -> tuple[Score, list[int]]:
    """Return the best score under a bar for the rest of a need, and its counts."""
    size, price = offers[0]
    alone = max(math.ceil(need_l / size - 1e-9), 0)
    last = len(offers) == 1
    best: tuple[Score, list[int]] = (bar, [0] * len(offers))
    for count in range(alone, -1 if not last else alone - 1, -1):
        if alone - count > LESS:
            break
        there = (spent[0] + count * price, spent[1] + count * size, spent[2] + count)
        rest = need_l - count * size
        if rest <= 1e-9 * max(need_l, 1.0):
            score, counts = _rounded(there), [count] + [0] * (len(offers) - 1)
        else:
            next_size, next_price = offers[1]
            if there[0] + rest / next_size * next_price > best[0][0] + 1e-9:
                break
            score, more = _search(rest, offers[1:], best[0], there)
            counts = [count, *more]
        if score < best[0]:
            best = (score, counts)
    return best


def _rounded(score: Score) -> Score:
    """Return a score whose even parts are even."""
    return round(score[0], 6), round(score[1], 6), score[2]


def usable(lots: list[Lot], year: int, shelf_years: float) -> tuple[list[Lot], float]:
    """Return the lots that still serve in a year, and the litres that do not.

    A lot serves in the year it was bought and ``shelf_years`` after it.

    References
    ----------
    own reasoning
    """
    good = [(bought, left) for bought, left in lots if year - bought <= shelf_years]
    return good, sum(left for _, left in lots) - sum(left for _, left in good)


def take(lots: list[Lot], need_l: float) -> list[Lot]:
    """Return what is left of the lots when a need is met from them, the oldest first.

    References
    ----------
    own reasoning
    """
    rest, left = need_l, []
    for bought, litres in sorted(lots):
        used = min(litres, rest)
        rest -= used
        if litres - used > 1e-12:
            left.append((bought, litres - used))
    return left
