"""How likely each story is after what was seen, and draws of what is not known.

Every story is followed with draws from its priors; a straight line through what they predict gives
a normal posterior, from which draws are proposed and weighed by how well each reproduces what was
seen (importance sampling; derived).  What lies off the line counts as an error of its own, so the
proposal is wide where the line is poor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve, solve_triangular
from scipy.special import logsumexp, ndtri
from scipy.stats import qmc

from model import fitting
from model.answers.diagnosis.history import History
from model.answers.diagnosis.stories import Story
from model.answers.diagnosis.tried import NAMES
from model.behaviour.transport import TooManySteps

Floats = NDArray[np.float64]

FIRST: Final = 64  # draws of each story from its priors
SEARCH: Final = 768  # draws of all stories together near what was seen, for better lines
SECOND: Final = 2048  # proposals of all stories together
ROUGHLY: Final = 0.15  # of these draws, where only the fit of the best is asked
FEWEST: Final = 48  # of a story worth following
RIDGE: Final = 0.5  # of a draw, for slopes of what hardly matters
UNLIKELY: Final = 1.0e-3  # of all, by the straight line; a story less likely is not followed on
FARTHEST: Final = 4.0  # prior standard deviations
WIDER: Final = 1.1
USUAL_STEPS: Final = 60  # steps of the engine; a longer history gets fewer draws in turn
LEAST_SHARE: Final = 0.3  # of the draws, at least
MOST_WORK: Final = 250  # steps of the engine in a history that is fitted
WELL: Final = 1.0  # root mean square miss up to which the errors stand as told
SOMETHING_ELSE: Final = 0.03  # chance kept for a cause that is not among these (judgement)


@dataclass(frozen=True, slots=True)
class Line:
    """What a story predicts, as a straight line of its parameters.

    Attributes
    ----------
    middle : ndarray (sightings,)
    slopes : ndarray (sightings, parameters)
    off : ndarray (sightings, sightings)
        Covariance of what lies off the line.
    """

    middle: Floats
    slopes: Floats
    off: Floats


@dataclass(frozen=True, slots=True)
class Followed:
    """A story with its proposals.

    theta : (rows, parameters); score : logarithm of each row's weight, the story's own likelihood
    beforehand in it; miss : root mean square miss of each row, in standard deviations.
    """

    story: Story
    theta: Floats
    score: Floats
    miss: Floats


@dataclass(frozen=True, slots=True)
class Posterior:
    """What is left of the stories.

    Attributes
    ----------
    stories : tuple of Followed
        Those worth following, likeliest first.
    chances : tuple of float
        Of each, summing to 1.
    misfit : float
        Root mean square of the sightings' misses of the row that fits best, in standard deviations.
    effective : float
        How many equal draws the proposals are worth (Kish 1965, memory).
    power : float
        What the weights were raised to so that enough of them count; 1 where that was so already.
    picked : tuple of ndarray of int
        Rows of each story that are drawn, as often as their weight asks.
    lines : tuple of (Story, Line)
        All stories as first followed.
    """

    stories: tuple[Followed, ...]
    chances: tuple[float, ...]
    misfit: float
    effective: float
    power: float
    picked: tuple[NDArray[np.intp], ...]
    lines: tuple[tuple[Story, Line], ...]


def line_of(story: Story, normal: Floats) -> Line:
    """A story's predictions at draws from its priors, and the line through them."""
    seen = story.case.predict(normal)
    middle = seen.mean(axis=0)
    spread = seen - middle
    centred = normal - normal.mean(axis=0)
    inner = centred.T @ centred + RIDGE * np.eye(normal.shape[1])
    slopes = np.linalg.solve(inner, centred.T @ spread).T
    left = spread - centred @ slopes.T
    spare = max(normal.shape[0] - normal.shape[1] - 1, 1)
    off = left.T @ left / spare
    return Line(middle - slopes @ normal.mean(axis=0), slopes, off)


def log_normal(miss: Floats, covariance: Floats) -> Floats:
    """Logarithm of a normal density of misses (rows, figures), but for its constant."""
    if miss.shape[1] == 0:
        return np.zeros(miss.shape[0])
    lower = np.linalg.cholesky(covariance)
    white = solve_triangular(lower, miss.T, lower=True)
    result: Floats = -0.5 * np.sum(white**2, axis=0) - np.sum(np.log(np.diag(lower)))
    return result


def misses(miss: Floats, covariance: Floats) -> Floats:
    """Root mean square miss of rows (rows, figures), in standard deviations; 0 without any."""
    if miss.shape[1] == 0:
        return np.zeros(miss.shape[0])
    lower = np.linalg.cholesky(covariance)
    white = solve_triangular(lower, miss.T, lower=True)
    result: Floats = np.sqrt(np.mean(white**2, axis=0))
    return result


def _normals(count: int, seed: int) -> Floats:
    """Quasi-random standard normals (count, parameters)."""
    sobol = qmc.Sobol(len(NAMES), scramble=True, rng=np.random.default_rng(seed))
    uniform = sobol.random_base2(int(np.ceil(np.log2(max(count, 2)))))[:count]
    result: Floats = ndtri(np.clip(uniform, 1e-5, 1.0 - 1e-5))
    return result


def _gauss(line: Line, miss: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of a story's parameters by its line."""
    slopes = line.slopes
    whole = slopes @ slopes.T + line.off + covariance
    factor = (np.linalg.cholesky(whole), True)
    gain = cho_solve(factor, slopes).T
    return gain @ miss, np.eye(slopes.shape[1]) - gain @ slopes


def _propose(story: Story, line: Line, count: int, seed: int) -> tuple[Floats, Floats]:
    """Proposals of a story's parameters, and the logarithm of prior over their density."""
    normal = _normals(count, seed)
    data = values(story.case.history)
    mean, covariance = _gauss(line, data - line.middle, story.case.covariance)
    lower = WIDER * np.linalg.cholesky(covariance + 1e-9 * np.eye(mean.size))
    theta = np.clip(mean + normal @ lower.T, -FARTHEST, FARTHEST)
    over = 0.5 * np.sum(normal**2, axis=1) + np.sum(np.log(np.diag(lower)))
    return theta, -0.5 * np.sum(theta**2, axis=1) + over


def values(history: History) -> Floats:
    """What was seen, (sightings,)."""
    return np.array([one.value for one in history.sightings], dtype=np.float64)


def misfit(told: Sequence[Story], seed: int) -> float:
    """How well the best of stories fits, as `Posterior.misfit`, by fewer draws than `weigh`.

    Two airs, which take longest to follow, are left out: unlike faces bend a slab as they do.
    """
    quick = [one for one in told if one.cause != "two_airs"]
    return weigh(quick, [1.0] * len(quick), 1, seed, share=ROUGHLY).misfit


def weigh(
    told: Sequence[Story], factors: Sequence[float], draws: int, seed: int, *, share: float = 1.0
) -> Posterior:
    """Weigh stories by what was seen.

    Parameters
    ----------
    told : sequence of Story
    factors : sequence of float
        How much more or less likely what else was seen makes each.
    draws : int
        Rows to pick.
    seed : int
    share : float
        Of the usual draws that are followed.

    Raises
    ------
    TooManySteps
        If following all of them would take too many steps of the engine.
    """
    history = told[0].case.history
    data = values(history)
    fewer = share * float(np.clip(USUAL_STEPS / _steps(told[0]), LEAST_SHARE, 1.0))
    first = _normals(FIRST if share == 1.0 else FIRST // 2, seed)
    lines = [line_of(story, first) for story in told]
    rough = np.array(
        [
            np.log(max(story.weight * factor, 1e-300))
            + log_normal(
                (data - line.middle)[None],
                line.slopes @ line.slopes.T + line.off + story.case.covariance,
            )[0]
            for story, line, factor in zip(told, lines, factors, strict=True)
        ]
    )
    likely = np.exp(rough - logsumexp(rough))
    kept = [int(one) for one in np.flatnonzero(likely > UNLIKELY)]
    counts = _counts(likely[kept], fewer * SEARCH)
    near = [
        _refined(told[index], lines[index], count, seed + 1 + index)
        for index, count in zip(kept, counts, strict=True)
    ]
    followed = []
    for index, line, count in zip(kept, near, _counts(likely[kept], fewer * SECOND), strict=True):
        story = told[index]
        theta, over = _propose(story, line, count, seed + 101 + index)
        miss = data - story.case.predict(theta)
        beforehand = np.log(max(story.weight * factors[index], 1e-300)) - np.log(count)
        followed.append((story, theta, over + beforehand, miss))
    return _weighed(followed, list(zip(told, lines, strict=True)), draws)


def _counts(share: Floats, whole: float) -> list[int]:
    """How many draws each story gets, more to the likelier."""
    evenly = np.sqrt(share)
    return [max(FEWEST, int(whole * one)) for one in evenly / evenly.sum()]


def _refined(story: Story, line: Line, count: int, seed: int) -> Line:
    """The line through predictions near what was seen, in place of one over all the prior."""
    return line_of(story, _propose(story, line, count, seed)[0])


def _weighed(
    followed: Sequence[tuple[Story, Floats, Floats, Floats]],
    lines: Sequence[tuple[Story, Line]],
    draws: int,
) -> Posterior:
    """Weights of all rows, errors widened by the misfit of the best, and the rows picked."""
    fits = [misses(miss, story.case.covariance) for story, _, _, miss in followed]
    misfit = float(min(one.min() for one in fits))
    wider = max(misfit / WELL, 1.0) ** 2
    told = [
        Followed(story, theta, over + log_normal(miss, wider * story.case.covariance), fit)
        for (story, theta, over, miss), fit in zip(followed, fits, strict=True)
    ]
    score = np.concatenate([one.score for one in told])
    power = fitting.tempered(score, min(fitting.ENOUGH, fitting.ENOUGH_OF_ALL * score.size))
    weight = np.exp(power * (score - score.max()))
    weight /= weight.sum()
    edges = np.cumsum([0, *(one.score.size for one in told)])
    chances = [float(weight[a:b].sum()) for a, b in pairwise(edges)]
    ladder = (np.arange(max(draws, 1)) + 0.5) / max(draws, 1)
    chosen = np.minimum(np.searchsorted(np.cumsum(weight), ladder), score.size - 1)
    order = sorted(range(len(told)), key=lambda one: -chances[one])
    picked = [chosen[(chosen >= edges[i]) & (chosen < edges[i + 1])] - edges[i] for i in order]
    return Posterior(
        stories=tuple(told[i] for i in order),
        chances=tuple(chances[i] for i in order),
        misfit=misfit,
        effective=fitting.effective(np.exp(score - score.max())),
        power=power,
        picked=tuple(picked),
        lines=tuple(lines),
    )


def _steps(story: Story) -> int:
    """Steps of the engine through a history; refused where they are too many."""
    steps = story.case.run(np.zeros((1, len(NAMES)))).days.size
    if steps > MOST_WORK:
        raise TooManySteps(
            f"this history takes {steps:,} steps of the engine, where {MOST_WORK:,} can be fitted"
        )
    return steps
