"""Least squares on a model with priors: the most probable parameters and draws from what is left.

Parameters are counted in standard deviations of their priors, which are normal and independent.
The Gauss-Newton posterior serves as a proposal; its draws are weighted by how well each reproduces
the data, so that a bent posterior is followed (importance sampling; derived).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.special import ndtri
from scipy.stats import qmc

from model.spread import Figure

Floats = NDArray[np.float64]

SLOPE_STEP: Final = 0.05  # of a prior standard deviation, for the slopes
MOST_MOVED: Final = 3.0  # prior standard deviations in one step; beyond, slopes mean little
FARTHEST: Final = 4.0  # prior standard deviations a parameter may go to: 6 in 100,000 lie beyond
ITERATIONS: Final = 10
SETTLED: Final = 0.02  # fall of the cost (twice the log posterior) that ends the search
# Proposal's deviations over the posterior's: covers a bent one, and leaves 150 of 512 proposals of
# 15 parameters effective (measured on made-up histories; 1.3 leaves half of that).
WIDER: Final = 1.15
PROPOSED: Final = 4  # proposals for each draw
ENOUGH: Final = 100.0  # proposals that must count, or
ENOUGH_OF_ALL: Final = 0.2  # of all where few are asked for (judgement)


@dataclass(frozen=True, slots=True)
class Data:
    """What is to be reproduced.

    Attributes
    ----------
    predict : callable
        From parameters (samples, parameters) to what the model says the data are (samples, data).
    values : ndarray (data,)
    covariance : ndarray (data, data)
        Of the errors of the data.
    parameters : int
    """

    predict: Callable[[Floats], Floats]
    values: Floats
    covariance: Floats
    parameters: int

    def whiten(self, misses: Floats) -> Floats:
        """Misses (samples, data) in uncorrelated standard deviations."""
        lower = np.linalg.cholesky(self.covariance)
        return np.asarray(solve_triangular(lower, misses.T, lower=True).T, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Fit:
    """The most probable parameters.

    Attributes
    ----------
    theta : ndarray (parameters,)
    covariance : ndarray (parameters, parameters)
        Of the Gauss-Newton posterior.
    predicted : ndarray (data,)
        What the model says there.
    slopes : ndarray (data, parameters)
    cost : float
        Squared misses of data and priors, in standard deviations.
    log_evidence : float
        Logarithm of the probability of the data under the model, less what every model of the same
        data shares (Laplace's method).
    """

    theta: Floats
    covariance: Floats
    predicted: Floats
    slopes: Floats
    cost: float
    log_evidence: float


def linearised(data: Data, theta: Floats) -> tuple[Floats, Floats]:
    """Model at a point and its slopes, in one batch of the model."""
    batch = np.vstack([theta, theta + SLOPE_STEP * np.eye(theta.size)])
    values = data.predict(batch)
    slopes: Floats = (values[1:] - values[0]).T / SLOPE_STEP
    return values[0], slopes


def fit(data: Data, start: Floats | None = None) -> Fit:
    """Levenberg-Marquardt on data and priors together, from `start` or the middle of the priors.

    Examples
    --------
    Two readings of the same number, 3 and 5 with error 1, and a prior of 0 +/- 1:

    >>> found = fit(Data(lambda t: t @ np.ones((1, 2)), np.array([3.0, 5.0]), np.eye(2), 1))
    >>> round(float(found.theta[0]), 6), round(float(found.covariance[0, 0]), 6)
    (2.666667, 0.333333)
    """
    theta = np.zeros(data.parameters) if start is None else start
    identity = np.eye(theta.size)
    damping = 0.0

    def cost(predicted: Floats, at: Floats) -> float:
        miss = data.whiten((data.values - predicted)[None, :])[0]
        return float(miss @ miss + at @ at)

    predicted, slopes = linearised(data, theta)
    best = cost(predicted, theta)
    for _ in range(ITERATIONS):
        white = data.whiten(slopes.T).T
        miss = data.whiten((data.values - predicted)[None, :])[0]
        normal = white.T @ white + (1.0 + damping) * identity
        move = np.linalg.solve(normal, white.T @ miss - theta)
        move *= min(1.0, MOST_MOVED / max(float(np.abs(move).max()), 1e-12))
        trial = np.clip(theta + move, -FARTHEST, FARTHEST)
        there, there_slopes = linearised(data, trial)
        reached = cost(there, trial)
        if reached <= best:
            improved, best = best - reached, reached
            theta, predicted, slopes = trial, there, there_slopes
            damping /= 10.0
            if improved < SETTLED:
                break
        else:
            damping = max(0.1, 10.0 * damping)
            if damping > 1e5:
                break
    white = data.whiten(slopes.T).T
    information = white.T @ white + identity
    evidence = -0.5 * best - 0.5 * float(np.linalg.slogdet(information)[1])
    covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
    return Fit(theta, covariance, predicted, slopes, best, evidence)


@dataclass(frozen=True, slots=True)
class Drawn:
    """Draws from the posterior.

    theta : (count + 1, parameters), the first most probable; effective : how many proposals of one
    weight these are worth, before the weights were tempered (Kish 1965, memory); power : what the
    weights were raised to so that `ENOUGH` of them count, 1 where that was so already.
    """

    theta: Floats
    effective: float
    power: float


def effective(weight: Floats) -> float:
    """How many of one weight so many unlike ones are worth.

    Examples
    --------
    >>> effective(np.array([1.0, 1.0, 0.0, 0.0]))
    2.0
    """
    return float(weight.sum() ** 2 / np.sum(weight**2))


def tempered(score: Floats, enough: float) -> float:
    """Largest power in 0..1 at which enough of the weights count; by bisection."""

    def counts(power: float) -> bool:
        return effective(np.exp(power * (score - score.max()))) >= enough

    if counts(1.0):
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(20):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if counts(middle) else (low, middle)
    return low


def draws(data: Data, found: Fit, count: int, seed: int) -> Floats:
    """Parameters drawn from the posterior, (count + 1, parameters); see `drawn`."""
    return drawn(data, found, count, seed).theta


def drawn(data: Data, found: Fit, count: int, seed: int) -> Drawn:
    """Draw from the posterior.

    Four times as many are proposed from the Gauss-Newton posterior, widened, and resampled by
    weight: every one comes as often as its weight asks, to within one.  Where a few proposals would
    take all the weight, the weights are tempered towards the proposal.
    """
    if count == 0:
        return Drawn(found.theta[None, :], 1.0, 1.0)
    size = found.theta.size
    proposed = PROPOSED * count
    random = np.random.default_rng(seed)
    sobol = qmc.Sobol(size + 1, scramble=True, rng=random)
    doublings = int(np.ceil(np.log2(proposed)))
    uniform = np.clip(sobol.random_base2(doublings)[:proposed], 1e-6, 1.0 - 1e-6)
    normal = ndtri(uniform[:, :size])
    theta = found.theta + WIDER * normal @ np.linalg.cholesky(found.covariance).T
    # In any order: of a sequence every fourth lies in one quarter of its first direction.
    order = random.permutation(proposed)
    theta, normal = np.clip(theta, -FARTHEST, FARTHEST)[order], normal[order]
    miss = data.whiten(data.values - data.predict(theta))
    score = -0.5 * np.sum(miss**2, axis=1) - 0.5 * np.sum(theta**2, axis=1)
    score += 0.5 * np.sum(normal**2, axis=1)  # over the proposal's density
    power = tempered(score, min(ENOUGH, ENOUGH_OF_ALL * proposed))
    weight = np.exp(power * (score - score.max()))
    ladder = (np.arange(count) + float(uniform[0, size])) / count
    chosen = np.searchsorted(np.cumsum(weight / weight.sum()), ladder)
    told = np.vstack([found.theta, theta[np.minimum(chosen, proposed - 1)]])
    return Drawn(told, effective(np.exp(score - score.max())), power)


def apart(data: Data, found: Fit) -> Floats:
    """How far each datum is from what all others and the priors say, in standard deviations.

    In the joint normal of all data, linear about the fit, the miss of one given the others is its
    residual weighted by the precision matrix, over the square root of that matrix's diagonal.
    """
    joint = data.covariance + found.slopes @ found.slopes.T
    precision = np.linalg.inv(joint)
    miss = precision @ (data.values - found.predicted + found.slopes @ found.theta)
    return np.asarray(miss / np.sqrt(np.diag(precision)), dtype=np.float64)


def figure(values: Floats) -> Figure:
    """Most probable value with the 10th and 90th percentile of the draws; infinities allowed.

    Examples
    --------
    >>> figure(np.array([2.0, 1.0, 2.0, 3.0, np.inf])).high
    inf
    """
    central = float(values[0])
    if values.size == 1:
        return Figure(central)
    low, high = np.percentile(values[1:], [10.0, 90.0], method="inverted_cdf")
    return Figure(central, min(float(low), central), max(float(high), central))
