"""Learn paces, doses, stems and what comes back from what work took, all at once.

Everything is a factor on what was foretold, and its logarithm is normal: before the log with the
spread of the handbook's range, after it with what the log leaves. What was foretold of a piece of
work moves with each factor by a share (hours with the pace at the stems by the share of them that
is spent there), so that the update is the exact one of a linear model; where the log is far from
what was foretold, the shares are worked out again at the answer (Gauss and Newton).
"""

from dataclasses import dataclass

import numpy as np

FREEDOM = 4.0  # of the t distribution of what is left over: one slip does not rule; own choice
ROUNDS = 50  # of weighing what is left over
CLOSE = 1e-8


@dataclass(frozen=True)
class Known:
    """What is known of the factors' logarithms: names, means, covariance."""

    names: tuple[str, ...]
    mean: np.ndarray
    covariance: np.ndarray

    def spread(self) -> np.ndarray:
        """Return the standard deviation of each."""
        return np.sqrt(np.diag(self.covariance))


def update(
    prior: Known, shares: np.ndarray, seen: np.ndarray, noise: np.ndarray
) -> tuple[Known, np.ndarray]:
    """Return what is known after the log, and what each row of it counted for.

    seen = shares x factors + what is left over, which is t with FREEDOM degrees: the normal answer
    with each row's variance over its weight, (FREEDOM + 1) / (FREEDOM + z^2), in rounds (the
    usual scale mixture), begun at how far each row lies from what was foretold. A row that fits
    counts a little more than one, one far off next to nothing. What is left unknown goes by the
    information that a t row holds on the average, (FREEDOM + 1) / (FREEDOM + 3) of a normal one.

    Parameters
    ----------
    prior : Known
        Before.
    shares : array (rows, factors)
        By what share each row moves with each factor.
    seen : array (rows,)
        ln(logged / foretold).
    noise : array (rows,)
        Spread of what is left over.

    Raises
    ------
    ValueError
        The tables do not fit each other, or a number is none.

    References
    ----------
    gelman_bda3 (linear model with a normal prior; t as a mixture of normals)
    """
    if shares.shape != (len(seen), len(prior.names)) or len(noise) != len(seen):
        raise ValueError("as many rows in shares, seen and noise, and a column for each factor")
    if not (np.isfinite(shares).all() and np.isfinite(seen).all() and (noise > 0).all()):
        raise ValueError("shares and what was seen must be numbers, and noise over nought")
    if not len(seen):
        return prior, np.ones(0)
    foretold = noise**2 + np.einsum("ij,jk,ik->i", shares, prior.covariance, shares)
    z2 = (seen - shares @ prior.mean) ** 2 / foretold
    weight, after = (FREEDOM + 1.0) / (FREEDOM + z2), prior
    for _ in range(ROUNDS):
        after = _normal(prior, shares, seen, noise**2 / weight)
        z2 = ((seen - shares @ after.mean) / noise) ** 2
        fresh = (FREEDOM + 1.0) / (FREEDOM + z2)
        still = float(np.abs(fresh - weight).max())
        weight = fresh
        if still < CLOSE:
            break
    held = weight * FREEDOM / (FREEDOM + 3.0)
    known = _normal(prior, shares, seen, noise**2 / held)
    return Known(prior.names, after.mean, known.covariance), weight


def _normal(prior: Known, shares: np.ndarray, seen: np.ndarray, variance: np.ndarray) -> Known:
    """Return the normal answer: gain = C S' (S C S' + V)^-1."""
    carried = prior.covariance @ shares.T
    total = shares @ carried + np.diag(variance)
    gain = np.linalg.solve(total, carried.T).T
    mean = prior.mean + gain @ (seen - shares @ prior.mean)
    covariance = prior.covariance - gain @ carried.T
    return Known(prior.names, mean, (covariance + covariance.T) / 2.0)


def prior_of(names: list[str], spreads: np.ndarray, kin: list[tuple[float, list[str]]]) -> Known:
    """Return what is known before the log; factors of one kin move together in part.

    covariance of two = spread x spread x the sum of the shares of the kins that both are in; kins
    of different shares have members listed for each.

    Parameters
    ----------
    names : list of str
        Factors.
    spreads : array
        Of their logarithms.
    kin : list of (share, members)
        Each member's variance has this share in common with the other members; the shares of one
        factor add up to 1 at the most.

    References
    ----------
    own reasoning
    """
    correlation = np.zeros((len(names), len(names)))
    at = {name: place for place, name in enumerate(names)}
    for share, members in kin:
        own = [at[name] for name in members if name in at]
        correlation[np.ix_(own, own)] += share
    np.fill_diagonal(correlation, 1.0)
    outer = np.outer(spreads, spreads)
    return Known(tuple(names), np.zeros(len(names)), correlation * outer)
