"""Split a day of cutting and wetting stumps into rounds that the stumps can wait for."""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class DayBatches:
    """How a day of cut-and-spray goes: so many trees down, then wet their stumps, and again.

    Attributes
    ----------
    stems_each : int
        Trees to fell before their stumps are wetted.
    minutes_each : float
        Time of such a round [min].
    rounds : int
        Rounds in the day.
    tanks, stems_a_tank : float or None
        Tanks for the day and stems that one tank serves; None without a dose or a tank.
    caution : str
        Blank, or what to mind.
    """

    stems_each: int
    minutes_each: float
    rounds: int
    tanks: float | None
    stems_a_tank: float | None
    caution: str


def day_batches(
    seconds_per_stem: float,
    minutes: float,
    sawyers: int,
    stems_a_day: float,
    dose: tuple[float, float] | None = None,
) -> DayBatches:
    """Return how many trees to fell before spraying, and how the day goes.

    stems_each = sawyers x floor(60 minutes / seconds_per_stem), at least one tree; the first
    stump of a round then waits no longer than the limit. Common practice says a dozen trees, or
    10 to 15 minutes' worth.

    Parameters
    ----------
    seconds_per_stem : float
        One sawyer's time for a tree, walking and wetting its stump included [s].
    minutes : float
        Longest time between the cut and the herbicide [min].
    sawyers : int
        People who run a saw at the same time.
    stems_a_day : float
        Trees of the day.
    dose : (float, float), optional
        Mix on one stump [ml] and size of the tank [l].

    Raises
    ------
    ValueError
        A time, a dose or a tank that is not over 0, no sawyer, or fewer stems than none.

    References
    ----------
    common_practice
    """
    times = [seconds_per_stem, minutes, *(dose or ())]
    if not all(0 < value < math.inf for value in times) or sawyers < 1:
        raise ValueError(
            f"{seconds_per_stem:g} s a tree, {minutes:g} minutes and {sawyers} sawyers make no "
            "day; write times, dose and tank over 0 and at least one sawyer"
        )
    if not 0 <= stems_a_day < math.inf:
        raise ValueError(f"{stems_a_day:g} stems a day; write a number that is not below 0")
    one_sawyer = math.floor(60.0 * minutes / seconds_per_stem + 1e-9)
    each = sawyers * max(one_sawyer, 1)
    stems_a_tank = 1000.0 * dose[1] / dose[0] if dose else None
    return DayBatches(
        stems_each=each,
        minutes_each=max(one_sawyer, 1) * seconds_per_stem / 60.0,
        rounds=math.ceil(stems_a_day / each - 1e-9),
        tanks=stems_a_day / stems_a_tank if stems_a_tank else None,
        stems_a_tank=stems_a_tank,
        caution="" if one_sawyer >= 1 else _too_slow(seconds_per_stem, minutes),
    )


def _too_slow(seconds_per_stem: float, minutes: float) -> str:
    """Return what to do when a stump cannot be wetted in time even after one tree."""
    return (
        f"one tree takes {seconds_per_stem / 60:.1f} min, the stump's limit is {minutes:g} min: "
        "wet each stump as soon as its tree is down, before limbing and hauling; somebody beside "
        "the sawyer, two tree lengths away until the saw is still, can carry the sprayer"
    )
