"""Least squares with priors: a straight model in closed form, a bent one by another solver."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import multivariate_normal

from model import fitting

SLOPES = np.array([[1.0, 0.5], [0.2, -1.0], [0.7, 0.7]])  # (data, parameters)
VALUES = np.array([1.0, -0.6, 1.4])
COVARIANCE = np.array([[0.20, 0.05, 0.0], [0.05, 0.30, 0.0], [0.0, 0.0, 0.10]])


@pytest.fixture(scope="module")
def straight() -> fitting.Data:
    return fitting.Data(lambda t: t @ SLOPES.T + 0.3, VALUES, COVARIANCE, 2)


def test_a_straight_model_in_closed_form(straight: fitting.Data) -> None:
    # The joint normal of parameters and data (textbook): gain S C^-1.
    found = fitting.fit(straight)
    joint = SLOPES @ SLOPES.T + COVARIANCE
    gain = SLOPES.T @ np.linalg.inv(joint)
    assert found.theta == pytest.approx(gain @ (VALUES - 0.3))
    assert found.covariance == pytest.approx(np.eye(2) - gain @ SLOPES)
    assert found.slopes == pytest.approx(SLOPES)
    assert found.predicted == pytest.approx(SLOPES @ found.theta + 0.3)
    # Probability of the data, less what every model of the same data shares.
    log_density = multivariate_normal(np.full(3, 0.3), joint).logpdf(VALUES)
    shared = -0.5 * (3 * np.log(2.0 * np.pi) + np.linalg.slogdet(COVARIANCE)[1])
    assert found.log_evidence == pytest.approx(log_density - shared)
    miss = VALUES - found.predicted
    cost = miss @ np.linalg.inv(COVARIANCE) @ miss + found.theta @ found.theta
    assert found.cost == pytest.approx(cost)


def test_how_far_a_datum_is_from_the_others(straight: fitting.Data) -> None:
    # Each given the others, by the rules of a joint normal.
    joint = SLOPES @ SLOPES.T + COVARIANCE
    told = fitting.apart(straight, fitting.fit(straight))
    for one in range(3):
        rest = [other for other in range(3) if other != one]
        weights = joint[one, rest] @ np.linalg.inv(joint[np.ix_(rest, rest)])
        mean = 0.3 + weights @ (VALUES[rest] - 0.3)
        variance = joint[one, one] - weights @ joint[rest, one]
        assert told[one] == pytest.approx((VALUES[one] - mean) / np.sqrt(variance))


def bent(theta: np.ndarray) -> np.ndarray:
    one, two = theta[:, 0], theta[:, 1]
    return np.stack([np.exp(0.8 * one) + two, one * two, np.tanh(one)], axis=1)


def test_a_bent_model_by_another_solver() -> None:
    data = fitting.Data(bent, np.array([3.0, 0.5, 0.9]), 0.01 * np.eye(3), 2)
    found = fitting.fit(data)

    def misses(theta: np.ndarray) -> np.ndarray:
        return np.concatenate([(data.values - bent(theta[None, :])[0]) / 0.1, theta])

    other = least_squares(misses, np.zeros(2))
    # It ends where the cost falls by less than 0.02: a seventh of a posterior deviation.
    assert found.cost == pytest.approx(2.0 * other.cost, abs=0.02)
    apart = found.theta - other.x
    assert apart @ np.linalg.inv(found.covariance) @ apart < 0.02
    # Differences over a twentieth of a prior deviation instead of slopes.
    assert found.slopes == pytest.approx(-0.1 * np.asarray(other.jac)[:3], abs=0.05)


def test_nothing_goes_farther_than_four_prior_deviations() -> None:
    far = fitting.Data(lambda t: t, np.array([50.0]), np.array([[1e-4]]), 1)
    found = fitting.fit(far)
    assert found.theta.tolist() == [4.0]
    told = fitting.draws(far, found, 64, 1)
    assert told.max() == 4.0
    assert fitting.fit(far, np.array([-4.0])).theta.tolist() == [4.0]
    near = fitting.Data(lambda t: -t, np.array([50.0]), np.array([[1e-4]]), 1)
    assert fitting.fit(near).theta.tolist() == [-4.0]


def test_no_step_moves_more_than_three_prior_deviations() -> None:
    asked: list[float] = []

    def predict(theta: np.ndarray) -> np.ndarray:
        asked.append(float(theta[0, 0]))
        return theta

    fitting.fit(fitting.Data(predict, np.array([3.9]), np.array([[1e-6]]), 1))
    assert asked[:3] == pytest.approx([0.0, 3.0, 3.9], abs=1e-4)


def test_a_step_that_makes_it_worse_is_shortened() -> None:
    # A bare Gauss-Newton step on this runs from 0.5 to beyond -0.5, and farther from there.
    data = fitting.Data(lambda t: np.arctan(4.0 * t), np.zeros(1), np.array([[1e-4]]), 1)
    found = fitting.fit(data, np.array([0.5]))
    assert found.theta[0] == pytest.approx(0.0, abs=0.005)
    # Worse wherever it goes: it stays where it was.
    jagged = fitting.Data(
        lambda t: np.where(t > 1.0 - 1e-9, 10.0 * (t - 1.0), 9.0), np.zeros(1), np.eye(1), 1
    )
    assert fitting.fit(jagged, np.array([1.0])).theta.tolist() == [1.0]


def test_draws_are_those_of_the_posterior(straight: fitting.Data) -> None:
    found = fitting.fit(straight)
    told = fitting.drawn(straight, found, 512, 3)
    assert told.theta.shape == (513, 2)
    assert told.theta[0].tolist() == found.theta.tolist()
    assert told.power == 1.0
    # Of 8 x 512 draws: the mean within 3/sqrt(4096) deviations, the deviation within 3/sqrt(8192).
    many = np.concatenate([fitting.draws(straight, found, 512, one)[1:] for one in range(8)])
    deviation = np.sqrt(np.diag(found.covariance))
    assert np.all(np.abs(many.mean(axis=0) - found.theta) < 0.047 * deviation)
    assert many.std(axis=0) == pytest.approx(deviation, rel=0.033)
    assert np.cov(many.T)[0, 1] == pytest.approx(found.covariance[0, 1], abs=0.01)
    # No one seed is off by more than 3/sqrt(128) in any direction.
    for seed in range(6):
        some = fitting.draws(straight, found, 128, seed)[1:]
        assert np.all(np.abs(some.mean(axis=0) - found.theta) < 0.265 * deviation)
    again = fitting.drawn(straight, found, 512, 3)
    assert np.array_equal(told.theta, again.theta)
    assert not np.array_equal(told.theta, fitting.draws(straight, found, 512, 4))


def test_draws_follow_a_posterior_that_is_bent() -> None:
    # exp(t) measured as 1 +/- 0.5: by numerical integration of the posterior.
    data = fitting.Data(np.exp, np.array([1.0]), np.array([[0.25]]), 1)
    told = fitting.drawn(data, fitting.fit(data), 1024, 1).theta[1:, 0]
    grid = np.linspace(-4.0, 4.0, 8001)
    weight = np.exp(-0.5 * ((1.0 - np.exp(grid)) / 0.5) ** 2 - 0.5 * grid**2)
    mean = (weight * grid).sum() / weight.sum()
    deviation = np.sqrt((weight * (grid - mean) ** 2).sum() / weight.sum())
    assert told.mean() == pytest.approx(mean, abs=0.03)
    assert told.std() == pytest.approx(deviation, rel=0.04)


def test_no_draws_are_the_most_probable_alone(straight: fitting.Data) -> None:
    found = fitting.fit(straight)
    none = fitting.drawn(straight, found, 0, 1)
    assert none.theta.tolist() == [found.theta.tolist()]
    assert (none.effective, none.power) == (1.0, 1.0)


def test_weights_are_tempered_until_enough_count() -> None:
    score = -np.arange(1000.0)
    power = fitting.tempered(score, 100.0)
    # Weights falling by a factor q count (1 + q)/(1 - q): q = 99/101 for a hundred.
    assert power == pytest.approx(np.log(101.0 / 99.0), rel=1e-4)
    assert fitting.effective(np.exp(power * score)) >= 100.0
    assert fitting.tempered(np.zeros(100), 100.0) == 1.0
    # Enough of them as they are, and too few a little beyond.
    own = -0.02 * np.arange(1000.0)
    assert fitting.tempered(own, 0.999 * fitting.effective(np.exp(own))) == 1.0
    assert fitting.tempered(np.zeros(99), 100.0) < 1e-5


def test_a_fifth_of_few_proposals_is_enough() -> None:
    # Of 32 draws 128 are proposed: 25.6 of them, not 100, must count.
    data = fitting.Data(lambda t: np.exp(t), np.array([1.0]), np.array([[0.25]]), 1)
    told = fitting.drawn(data, fitting.fit(data), 32, 1)
    assert 25.6 < told.effective < 128.0
    assert told.power == 1.0
    # A thin ring of radius 2, fitted at one of its points.
    ring = fitting.Data(
        lambda t: np.hypot(t[:, :1], t[:, 1:]) ** 4, np.array([16.0]), np.array([[1e-4]]), 2
    )
    few = fitting.drawn(ring, fitting.fit(ring, np.array([1.4, 1.4])), 32, 1)
    assert few.effective < 25.6
    assert few.power < 1.0


def test_a_figure_holds_its_own_value() -> None:
    told = fitting.figure(np.array([5.0, *np.arange(1.0, 11.0)]))
    assert (told.value, told.low, told.high) == (5.0, 1.0, 9.0)
    skewed = fitting.figure(np.array([0.5, *np.arange(1.0, 11.0)]))
    assert (skewed.low, skewed.high) == (0.5, 9.0)
    assert fitting.figure(np.array([12.0, *np.arange(1.0, 11.0)])).high == 12.0
    alone = fitting.figure(np.array([5.0]))
    assert (alone.value, alone.low, alone.high) == (5.0, None, None)
