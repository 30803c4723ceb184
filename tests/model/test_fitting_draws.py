"""How many draws count, and what is done when they are few."""

import numpy as np
import pytest

from model import fitting


def test_draws_of_a_straight_model_count_nearly_all_and_are_not_tempered() -> None:
    data = fitting.Data(lambda t: t @ np.ones((2, 1)), np.array([1.0]), np.eye(1), 2)
    found = fitting.drawn(data, fitting.fit(data), 128, 1)
    assert found.power == 1.0
    # A normal wider by 1.15: of weights p/q the share (2 r - 1)/r^2 in two dimensions, r = 1.15^2.
    r = fitting.WIDER**2
    assert found.effective == pytest.approx(512.0 * (2.0 * r - 1.0) / r**2, rel=0.03)


def test_weights_that_collapse_are_evened_out_until_a_hundred_count() -> None:
    # A posterior bent far from its linear form: a thin ring of radius 2, fitted at one point.
    def ring(theta: np.ndarray) -> np.ndarray:
        return np.asarray(np.hypot(theta[:, :1], theta[:, 1:]) ** 4)

    data = fitting.Data(ring, np.array([16.0]), np.array([[1e-4]]), 2)
    fit = fitting.fit(data, np.array([1.4, 1.4]))
    found = fitting.drawn(data, fit, 128, 1)
    assert found.effective < 100.0
    assert 0.0 < found.power < 1.0
    # Many of the draws stand apart from each other again.
    assert np.unique(found.theta[1:], axis=0).shape[0] > 40
