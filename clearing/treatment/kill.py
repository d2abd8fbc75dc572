"""Say what kill a count of dead stems has earned, and how it follows the strength of the mix."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import minimize
from scipy.special import expit, logit, ndtri, xlog1py, xlogy

MOST = 50.0  # bound of centre and slope where every stem lived or died; own choice
TINY = 1e-9


def kill_interval(dead: int, n: int, confidence: float = 0.95) -> tuple[float, float, float]:
    """Return the kill of a count with its range, by Wilson's score: (kill, low, high).

    centre = (d + z^2 / 2) / (n + z^2); half = z sqrt(d (n - d) / n + z^2 / 4) / (n + z^2).

    Parameters
    ----------
    dead, n : int
        Stems found dead, and stems treated.
    confidence : float
        Share of such ranges that hold the true kill.

    Raises
    ------
    ValueError
        No stems, more dead than treated, or a confidence that is not between 0 and 1.

    References
    ----------
    wilson_1927

    Examples
    --------
    >>> [round(share, 3) for share in kill_interval(42, 45)]
    [0.933, 0.821, 0.977]
    """
    if n <= 0 or not 0 <= dead <= n:
        raise ValueError(f"{dead} dead of {n} stems is no count; write 0 to n dead of n over 0")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence is {confidence:g}; write a share between 0 and 1")
    z = float(ndtri(0.5 + confidence / 2.0))
    centre = (dead + z * z / 2.0) / (n + z * z)
    half = z * np.sqrt(dead * (n - dead) / n + z * z / 4.0) / (n + z * z)
    share = dead / n
    return (
        share,
        float(min(max(centre - half, 0.0), share)),
        float(max(min(centre + half, 1), share)),
    )


@dataclass(frozen=True)
class DoseResponse:
    """The fit of one trial: kill = background + (1 - background) logistic(a + b log strength).

    Attributes
    ----------
    background : float
        Share that dies without herbicide.
    centre, slope : float
        a and b; strength in percent.
    least, most : float
        Weakest and strongest mix of the trial [percent].
    covariance : array (3, 3)
        Of background, centre and slope; noughts for a background held at nought.
    """

    background: float
    centre: float
    slope: float
    least: float
    most: float
    covariance: np.ndarray

    def kill(self, percent: float) -> float:
        """Return the share that dies at a strength inside the trial, background included.

        Raises
        ------
        ValueError
            The strength is weaker or stronger than the trial's.

        References
        ----------
        abbott_1925
        """
        self._inside(percent)
        return float(_share(self._given(), np.log(percent)))

    def band(self, percent: float, confidence: float = 0.95) -> tuple[float, float]:
        """Return the range of the kill at a strength inside the trial, by the delta method.

        The range is laid on the log odds, so that it stays between 0 and 1. Where all stems of a
        group lived or all died it says little: ask ``kill_interval`` for that group.

        Raises
        ------
        ValueError
            The strength is weaker or stronger than the trial's.

        References
        ----------
        own reasoning
        """
        share = min(max(self.kill(percent), TINY), 1.0 - TINY)
        x = np.array([np.log(percent)])
        slopes = _slopes(self._given(), x)[:, 0]
        error = np.sqrt(max(slopes @ self.covariance @ slopes, 0.0)) / (share * (1.0 - share))
        step = float(ndtri(0.5 + confidence / 2.0)) * error
        return float(expit(logit(share) - step)), float(expit(logit(share) + step))

    def _given(self) -> np.ndarray:
        """Return background, centre and slope."""
        return np.array([self.background, self.centre, self.slope])

    def _inside(self, percent: float) -> None:
        """Refuse a strength that the trial did not span."""
        if not self.least * (1 - TINY) <= percent <= self.most * (1 + TINY):
            raise ValueError(
                f"the trial spans {self.least:g} to {self.most:g} %, not {percent:g} %: the kill "
                "of one strength is not lent to another"
            )


def dose_response(percent: Sequence[float], n: Sequence[int], dead: Sequence[int]) -> DoseResponse:
    """Return the log-logistic fit of a trial with several strengths, by maximum likelihood.

    Strength 0 is the untreated control: its dead give the background (Abbott), which is fitted
    together with the rest; without a control it is nought.

    Parameters
    ----------
    percent : sequence of float
        Strength of each group [percent].
    n, dead : sequence of int
        Stems of each group, and those found dead.

    Raises
    ------
    ValueError
        Fewer than two strengths over 0, or counts that cannot be.

    References
    ----------
    abbott_1925; own reasoning
    """
    strength, stems, died = (np.asarray(given, dtype=float) for given in (percent, n, dead))
    _check(strength, stems, died)
    x = np.full(len(strength), -np.inf)
    x[strength > 0] = np.log(strength[strength > 0])
    middle = float(x[strength > 0].mean())
    control = bool((strength == 0).any())
    z = x - middle  # centred: the two coefficients are then nearly free of each other

    def loss(given: np.ndarray) -> tuple[float, np.ndarray]:
        p = np.clip(_share(given, z), TINY, 1.0 - TINY)
        value = -(xlogy(died, p) + xlog1py(stems - died, -p)).sum()
        weight = (stems * p - died) / (p * (1.0 - p))
        return float(value), _slopes(given, z) @ weight

    started = 0.5 * (died[strength == 0].sum() / stems[strength == 0].sum()) if control else 0.0
    bounds = [(0.0, 0.999 if control else 0.0), (-MOST, MOST), (-MOST, MOST)]
    fit = minimize(
        loss, np.array([started, 0.0, 1.0]), jac=True, bounds=bounds, method="L-BFGS-B",
        options={"maxiter": 2000, "ftol": 1e-15, "gtol": 1e-9},
    )  # fmt: skip
    free = np.array([fit.x[0] > TINY, True, True])
    covariance = _covariance(fit.x, z, stems, free)
    back = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, -middle], [0.0, 0.0, 1.0]])
    centre = float(fit.x[1] - fit.x[2] * middle)
    tried = strength[strength > 0]
    return DoseResponse(
        float(fit.x[0]), centre, float(fit.x[2]), float(tried.min()), float(tried.max()),
        back @ covariance @ back.T,
    )  # fmt: skip


def without_background(kill: float, background: float) -> float:
    """Return the share that the herbicide killed of those that would have lived (Abbott).

    (kill - background) / (1 - background), at least nought.

    References
    ----------
    abbott_1925
    """
    return max(0.0, (kill - background) / (1.0 - background))


def _check(strength: np.ndarray, stems: np.ndarray, died: np.ndarray) -> None:
    """Refuse groups that do not belong together or cannot be."""
    if not len(strength) == len(stems) == len(died):
        raise ValueError("strengths, stems and dead must be as many")
    if (strength < 0).any() or (stems <= 0).any() or (died < 0).any() or (died > stems).any():
        raise ValueError("strengths from 0 up, stems over 0, and at most as many dead as stems")
    if len(np.unique(strength[strength > 0])) < 2:
        raise ValueError("a fit needs at least two strengths over 0")


def _share(given: np.ndarray, x: ArrayLike) -> np.ndarray:
    """Return the share that dies at log strengths; minus infinity is no herbicide at all."""
    background, centre, slope = given
    treated = np.isfinite(x)
    line = centre + slope * np.where(treated, x, 0.0)
    return background + (1.0 - background) * np.where(treated, expit(line), 0.0)


def _slopes(given: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Return the derivatives of the share by background, centre and slope, one row each."""
    background, centre, slope = given
    treated = np.isfinite(x)
    at = np.where(treated, x, 0.0)
    rise = np.where(treated, expit(centre + slope * at), 0.0)
    bend = (1.0 - background) * rise * (1.0 - rise)
    return np.stack([1.0 - rise, bend, bend * at])


def _covariance(
    given: np.ndarray, z: np.ndarray, stems: np.ndarray, free: np.ndarray
) -> np.ndarray:
    """Return the inverse of Fisher's information of the free parameters, noughts elsewhere."""
    p = np.clip(_share(given, z), TINY, 1.0 - TINY)
    slopes = _slopes(given, z)[free]
    information = (slopes * (stems / (p * (1.0 - p)))) @ slopes.T
    whole = np.zeros((3, 3))
    whole[np.ix_(free, free)] = np.linalg.pinv(information)
    return whole
