"""Stage-structured populations as matrices: growth rate, stable stages, worth, projection."""

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


def stable_stage(matrix: ArrayLike) -> np.ndarray:
    """Return the shares of the stages that a population keeps once it has settled.

    A w = lambda w, sum of w = 1.

    Parameters
    ----------
    matrix : array (stages, stages)
        What one individual of each column gives to each row in a year.

    Returns
    -------
    array (stages,)

    References
    ----------
    crouse_1987
    """
    found = _leading(np.asarray(matrix, dtype=float))
    return found / found.sum()


def reproductive_value(matrix: ArrayLike) -> np.ndarray:
    """Return what one individual of each stage adds to later numbers, against one of the first.

    v A = lambda v, v of the first stage = 1.

    Parameters
    ----------
    matrix : array (stages, stages)
        What one individual of each column gives to each row in a year.

    Returns
    -------
    array (stages,)

    References
    ----------
    crouse_1987
    """
    found = _leading(np.asarray(matrix, dtype=float).T)
    return found / found[0]


def _leading(matrix: np.ndarray) -> np.ndarray:
    """Return the eigenvector of the largest eigenvalue, without sign."""
    values, vectors = np.linalg.eig(matrix)
    return np.abs(vectors[:, np.argmax(np.abs(values))].real)


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
