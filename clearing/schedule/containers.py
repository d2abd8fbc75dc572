"""Choose containers for a need, and keep a shelf of what is left over from year to year."""

import math
from collections.abc import Sequence
from fractions import Fraction

from clearing.units import L_PER_FLOZ

CELLS = 500_000  # steps of the smallest unit that are looked at; own choice, far beyond need
CENTS = 10_000  # prices are compared to a hundredth of a cent
NEAR = 1e-6  # share by which a size may miss a whole number of units
SLACK_L = 1e-9
Lot = tuple[int, float]  # year bought, litres left


def cheapest_mix(
    need_l: float, sizes_l: Sequence[float], prices: Sequence[float]
) -> tuple[int, ...]:
    """Return how many containers of each size cover a need for the least money.

    Of mixes that cost the same the one with the least product, then with the fewest containers.
    A dynamic programme over the smallest unit that all sizes are multiples of (of a fluid ounce or
    a millilitre; other sizes count as the whole millilitres in them), exact to that unit. Of a
    large need only the part is looked at that can be better in other sizes than in the cheapest a
    litre: k of a size s hold what j of the cheapest c hold when k s = j c, and cost no less, so
    fewer than k of it are ever bought. That part is capped at CELLS units, which odd sizes alone
    reach, and only where a need is as large.

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
    unit_l, units = _whole_units(sizes_l)
    need = max(math.ceil((need_l - SLACK_L) / unit_l), 0)
    cents = [round(price * CENTS) for price in prices]
    cheapest = min(range(len(units)), key=lambda i: (Fraction(cents[i], units[i]), -units[i]))
    base = units[cheapest]
    others = sum((base // math.gcd(base, size) - 1) * size for size in units if size != base)
    sure = max(need - min(others, CELLS), 0) // base  # of the cheapest a litre, whatever the rest
    counts = _least(need - sure * base, units, cents)
    counts[cheapest] += sure
    return tuple(counts)


def _whole_units(sizes_l: Sequence[float]) -> tuple[float, list[int]]:
    """Return the largest unit that all sizes are whole multiples of [l], and how many of it."""
    for unit_l in (L_PER_FLOZ, 0.001):
        whole = [round(size / unit_l) for size in sizes_l]
        if all(
            count and abs(size / unit_l - count) <= NEAR * count
            for count, size in zip(whole, sizes_l, strict=True)
        ):
            break
    else:
        whole = [max(math.floor(size / unit_l + NEAR), 1) for size in sizes_l]
    common = math.gcd(*whole)
    return unit_l * common, [count // common for count in whole]


def _least(need: int, units: list[int], cents: list[int]) -> list[int]:
    """Return the counts that cover a need in units with the least cost, product and number."""
    best = [(0, 0, 0)] * (need + 1)
    taken = [0] * (need + 1)
    kinds = list(enumerate(zip(units, cents, strict=True)))
    for covered in range(1, need + 1):
        score: tuple[int, int, int] | None = None
        for kind, (size, price) in kinds:
            before = best[covered - size] if covered > size else (0, 0, 0)
            found = (before[0] + price, before[1] + size, before[2] + 1)
            if score is None or found < score:
                score, taken[covered] = found, kind
        best[covered] = score or (0, 0, 0)
    counts = [0] * len(units)
    while need > 0:
        counts[taken[need]] += 1
        need -= units[taken[need]]
    return counts


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
