"""What is learned from hours, product and stems at once: the exact answer, and slips."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import integrate, stats

from clearing.records.pace_learning import FREEDOM, Known, prior_of, update


def one(sd: float = 0.4) -> Known:
    """Return a single factor."""
    return prior_of(["a"], np.array([sd]), [])


def test_one_factor_and_one_row_is_the_exact_answer():
    """Mode of normal prior times t likelihood, and where the weights stand, by quadrature."""
    prior, noise = one(), 0.25
    found, weight = update(prior, np.array([[1.0]]), np.array([0.3]), np.array([noise]))

    def density(x: float) -> float:
        return stats.norm.pdf(x, 0, 0.4) * stats.t.pdf((0.3 - x) / noise, FREEDOM)

    xs = np.linspace(-1, 1, 20001)
    mode = xs[np.argmax([density(x) for x in xs])]
    assert found.mean[0] == pytest.approx(mode, abs=1e-3)
    total = integrate.quad(density, -3, 3)[0]
    sd = np.sqrt(
        integrate.quad(lambda x: x * x * density(x), -3, 3)[0] / total
        - (integrate.quad(lambda x: x * density(x), -3, 3)[0] / total) ** 2
    )
    assert found.spread()[0] == pytest.approx(sd, rel=0.05)
    assert 0 < weight[0] < (FREEDOM + 1) / FREEDOM


def test_many_rows_is_the_linear_model_s_answer():
    """With weights held, precision adds up: (P + S' W S)^-1, by information and not by gain.

    The spread goes by a t row's information, 5 / 7 of a normal one's at its middle.
    """
    rng = np.random.default_rng(4)
    prior = prior_of(["a", "b", "c"], np.array([0.4, 0.3, 0.5]), [(0.5, ["a", "b"])])
    shares, seen = rng.random((30, 3)), rng.normal(0, 0.2, 30)
    noise = np.full(30, 0.2)
    found, weight = update(prior, shares, seen, noise)
    precision = np.linalg.inv(prior.covariance) + shares.T @ np.diag(weight / noise**2) @ shares
    mean = np.linalg.solve(precision, shares.T @ (weight / noise**2 * seen))
    assert found.mean == pytest.approx(mean, abs=1e-6)
    less = weight * FREEDOM / (FREEDOM + 3) / noise**2
    precision = np.linalg.inv(prior.covariance) + shares.T @ np.diag(less) @ shares
    assert found.covariance == pytest.approx(np.linalg.inv(precision), abs=1e-6)


@given(st.floats(-5, 5))
def test_one_row_never_swings_a_factor_past_what_was_seen(seen):
    """Nor by more than a normal row would, nor out of the range of what was thought likely."""
    found, _ = update(one(), np.array([[1.0]]), np.array([seen]), np.array([0.25]))
    gain = 0.4**2 / (0.4**2 + 0.25**2 * FREEDOM / (FREEDOM + 1))
    assert abs(found.mean[0]) <= gain * abs(seen) + 1e-9
    assert abs(found.mean[0]) <= 2 * 0.4
    wild = update(one(), np.array([[1.0]]), np.array([np.log(20.0)]), np.array([0.25]))[0]
    assert abs(wild.mean[0]) < 0.4


def test_a_slip_among_good_rows_hardly_counts():
    """Ten rows at 1.2 times, one with a nought too many: the factor stays near 1.2."""
    seen = np.log([1.2] * 10 + [12.0])
    found, weight = update(one(), np.ones((11, 1)), seen, np.full(11, 0.25))
    assert np.exp(found.mean[0]) == pytest.approx(1.2, rel=0.05)
    assert weight[-1] < 0.1 < weight[0]


def test_what_was_not_in_any_row_moves_with_its_kin_alone():
    """Half the spread in common carries half of what was learned; a stranger stays as it was."""
    prior = prior_of(["a", "b", "c"], np.full(3, 0.4), [(0.5, ["a", "b"])])
    found, _ = update(
        prior, np.array([[1.0, 0, 0]] * 40), np.full(40, np.log(1.5)), np.full(40, 0.2)
    )
    assert found.mean[1] == pytest.approx(0.5 * found.mean[0], rel=1e-6)
    assert found.mean[2] == 0
    assert found.spread()[2] == pytest.approx(0.4)
    assert found.spread()[0] < found.spread()[1] < 0.4


@given(arrays(float, (6, 3), elements=st.floats(0, 1)))
def test_a_log_never_widens_what_is_known(shares):
    """Whatever the shares, no factor's spread grows, and the covariance stays one."""
    prior = prior_of(["a", "b", "c"], np.array([0.4, 0.3, 0.5]), [(0.6, ["a", "b", "c"])])
    found, _ = update(prior, shares, np.full(6, 0.2), np.full(6, 0.25))
    assert (found.spread() <= prior.spread() + 1e-9).all()
    assert np.linalg.eigvalsh(found.covariance).min() > -1e-9


def test_tables_that_do_not_fit_are_refused():
    """Shapes, and numbers that are none."""
    with pytest.raises(ValueError, match="as many rows"):
        update(one(), np.ones((2, 1)), np.ones(1), np.ones(1))
    with pytest.raises(ValueError, match="must be numbers"):
        update(one(), np.ones((1, 1)), np.array([np.nan]), np.ones(1))


def test_no_rows_leave_all_as_it_was():
    """Nothing seen: the prior itself, and no weights."""
    known, weight = update(one(), np.zeros((0, 1)), np.zeros(0), np.zeros(0))
    assert known.covariance.tolist() == one().covariance.tolist()
    assert len(weight) == 0
    with pytest.raises(ValueError, match="noise over nought"):
        update(one(), np.ones((1, 1)), np.ones(1), np.zeros(1))
