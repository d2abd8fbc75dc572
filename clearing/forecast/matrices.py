"""Stage-structured populations as matrices: growth rate and projection."""

import numpy as np
from numpy.typing import ArrayLike


def growth_rate(matrix: ArrayLike) -> float:
    """Return the yearly growth rate of a population: the dominant eigenvalue of its matrix.

    n(t+1) = A n(t); lambda = max |eigenvalue| [1/year].

    Parameters
    ----------
    matrix : array (stages, stages)
        What one individual of each column gives to each row in a year.

    References
    ----------
    crouse_1987
    """
    values = np.linalg.eigvals(np.asarray(matrix, dtype=float))
    return float(np.max(np.abs(values)))


def project(matrix: ArrayLike, start: ArrayLike, years: int) -> np.ndarray:
    """Return the population in each year from the start on.

    Parameters
    ----------
    matrix : array (stages, stages)
        What one individual of each column gives to each row in a year.
    start : array (stages,)
        Individuals in the first year.
    years : int
        Steps to take.

    Returns
    -------
    array (years + 1, stages)

    References
    ----------
    crouse_1987
    """
    step = np.asarray(matrix, dtype=float)
    path = [np.asarray(start, dtype=float)]
    for _ in range(years):
        path.append(step @ path[-1])
    return np.array(path)
