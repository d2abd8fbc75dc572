"""How far seed flies: the share that falls at a distance, and on squares of a grid."""

from dataclasses import dataclass

import numpy as np

from clearing.rates import Rates

FINE = 8  # points along a square's side over which near kernels are averaged; own choice
NEAR = 3  # squares around the middle that are averaged so; own choice
WAYS = {"wind": "wind", "birds": "bird", "animals": "bird", "gravity": "gravity"}


@dataclass(frozen=True)
class Kernel:
    """Where the seed of one tree falls, the same in all directions.

    ``parts`` are (share, mean distance [m]) of exponential parts: share / (2 pi b^2) exp(-r / b),
    b = half the mean distance; the rest lies flat out to ``flat_m``.
    """

    way: str
    parts: tuple[tuple[float, float], ...]
    flat_m: float = 0.0

    def density(self, far_m: np.ndarray) -> np.ndarray:
        """Return the seeds on a square metre at a distance, of one seed shed [1/m2]."""
        out = np.zeros_like(far_m, dtype=float)
        rest = 1.0
        for share, mean_m in self.parts:
            b = mean_m / 2.0
            out += share / (2.0 * np.pi * b**2) * np.exp(-far_m / b)
            rest -= share
        if self.flat_m > 0 and rest > 0:
            out += rest / (np.pi * self.flat_m**2) * (far_m <= self.flat_m)
        return out


def kernel_of(species: str, rates: Rates) -> Kernel:
    """Return how the seed of a species flies: by its first carrier that is not water.

    Wind: exponential with the species' mean distance, a rest flat to ``tail_m``. Birds and beasts:
    a near and a far exponential. Else exponential alone.

    Parameters
    ----------
    species : str
        The owner's species.
    rates : Rates
        ``kernel_m`` of the species, shares of the carriers, habits.

    References
    ----------
    landenberger_2007; own reasoning
    """
    carriers = [WAYS[word] for word in carriers_of(species, rates) if word in WAYS]
    way = next(iter(carriers), "bird")
    mean_m = rates.figure(species, "kernel_m").value
    near = rates.figure(way, "near_share").value
    if way == "wind":
        return Kernel(way, ((near, mean_m),), rates.figure("wind", "tail_m").value)
    if way == "bird":
        times = [rates.figure("bird", f"{part}_times").value for part in ("near", "far")]
        return Kernel(way, ((near, mean_m * times[0]), (1.0 - near, mean_m * times[1])))
    return Kernel(way, ((near, mean_m),))


def carriers_of(species: str, rates: Rates) -> list[str]:
    """Return what carries the seed of a species, as in the habits; birds where nothing is known.

    References
    ----------
    own reasoning
    """
    own = rates.habits[rates.habits["species"] == rates.handbook_species(species)]
    return str(own["seed_by"].iloc[0]).split() if len(own) else ["birds"]


def on_squares(kernel: Kernel, side_m: float, rows: int, columns: int) -> np.ndarray:
    """Return the share of the seed of one square that falls on each other (rows, columns offsets).

    Both squares are sown evenly: near the middle the kernel is averaged over the offsets of two
    points in two squares. All shares, to both sides, add up to 1 at the most.

    Parameters
    ----------
    kernel : Kernel
        Where seed falls.
    side_m : float
        Side of a square [m].
    rows, columns : int
        Offsets 0 to rows - 1 and 0 to columns - 1.

    References
    ----------
    own reasoning
    """
    y, x = np.arange(rows)[:, None] * side_m, np.arange(columns)[None, :] * side_m
    out = kernel.density(np.hypot(y, x))
    step = (np.arange(2 * FINE - 1) - FINE + 1) / FINE  # offsets between points of two squares
    weight = (FINE - np.abs(np.arange(2 * FINE - 1) - FINE + 1)) / FINE**2
    own = np.outer(weight, weight)
    fill = np.linspace(-0.5, 0.5, 6)[1:-1] / FINE  # keeps off the offset 0, where it is pointed
    for i in range(min(NEAR, rows)):
        for j in range(min(NEAR, columns)):
            dy = (i + step[:, None] + fill[None, :]).reshape(-1)[:, None]
            dx = (j + step[:, None] + fill[None, :]).reshape(-1)[None, :]
            found = kernel.density(side_m * np.hypot(dy, dx))
            mean = found.reshape(len(step), len(fill), len(step), len(fill)).mean(axis=(1, 3))
            out[i, j] = (mean * own).sum()
    out *= side_m**2
    both = np.where(np.arange(rows) > 0, 2.0, 1.0)[:, None]
    both = both * np.where(np.arange(columns) > 0, 2.0, 1.0)[None, :]
    return out / max(1.0, float((out * both).sum()))
