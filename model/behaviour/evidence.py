"""What evidence says of the moisture through a slab: readings, what an answer gave, or nothing yet.

Moisture is taken as a curve with a mean, a tilt from face to face and a bow of shell against core,
whose errors go together; draws of a slab's moisture are draws of these three.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline
from scipy.special import ndtri

from model.codes import Note
from model.properties.meters import MEAN_DEPTH, Corrected
from model.spread import METER_SD, TO_DECILE, Samples

Floats = NDArray[np.float64]
Meter = Literal["pin", "surface", "oven_dry"]
Story = Literal["anywhere", "stack", "room"]

LEFT_OUT: Final = 0.2  # of the readings, at most, are left out for contradicting the others
FEWEST: Final = 4  # readings of which one can be told to be the wrong one (judgement)
REPEATS: Final = 4  # fits, each with the errors its forerunner expects; 3 settle to 0.01 % M

# Prior of the profile's shape, in % M: tilt from face to face and shell against core (judgement).
TILT_PRIOR: Final = 1.5
BOW_PRIOR: Final = 3.0
# What pins at a depth nobody told read off the mean, as a share of core less faces: standard
# deviation over depths of 0.05 to 0.5 of the thickness in a parabola (computed).
UNTOLD_DEPTH: Final = 0.25
CONTRADICTION: Final = 3.0  # standard deviations a reading may stand from all others (judgement)


def shape(shallow: Floats, deep: Floats, thickness: float) -> Floats:
    """Mean, tilt and bow functions averaged from `shallow` to `deep`: rows of a design matrix.

    The bow is (3 x^2 - 1)/2 with x from -1 at the top to 1 at the bottom: no effect on the mean,
    and zero at 0.2113 t.
    """
    x0 = 2.0 * shallow / thickness - 1.0
    x1 = 2.0 * deep / thickness - 1.0
    # Averages of x and x^2 over a span, exact also for a span of no length.
    tilt = 0.5 * (x0 + x1)
    square = (x0 * x0 + x0 * x1 + x1 * x1) / 3.0
    return np.stack([np.ones_like(tilt), tilt, 0.5 * (3.0 * square - 1.0)], axis=-1)


def _covariance(corrected: Sequence[Corrected], expected: Floats | None = None) -> Floats:
    """Covariance of the readings' errors: their own scatter, and the bias shared within a kind.

    A meter's bias goes with the moisture it looks at.  Counted from each reading it pulls the fit
    below all readings that disagree (Peelle's puzzle: 9 and 14 % gave less than 9), so it is taken
    alike in a kind until a fit says what to expect of each [%], and then goes with that.
    """
    scatter = np.array([one.scatter for one in corrected])
    bias = np.array([one.bias for one in corrected])
    kind = np.array([one.kind for one in corrected])
    alike = kind[:, None] == kind[None, :]
    count = alike.sum(axis=1)
    bias = alike @ bias / count
    if expected is not None:
        expected = np.maximum(expected, 1.0)
        bias = bias * expected / (alike @ expected / count)
    # A depth nobody told is the same for all readings of a kind.
    untold = UNTOLD_DEPTH * 1.5 * BOW_PRIOR * np.array([not one.depth_told for one in corrected])
    shared: Floats = (np.outer(bias, bias) + np.outer(untold, untold)) * alike
    return shared + np.diag(scatter**2)


_PRIOR_MEAN = np.array([15.0, 0.0, 0.0])  # %; any: its standard deviation of 100 lets it go
PRIOR_DEVIATION = np.array([100.0, TILT_PRIOR, BOW_PRIOR])


def _apart(design: Floats, values: Floats, covariance: Floats) -> Floats:
    """How far each reading is from what all others say, in standard deviations.

    In the joint normal of all readings, the miss of one given the others is the residual of the
    whole weighted by the precision matrix, over the square root of its diagonal.
    """
    joint = covariance + design @ np.diag(PRIOR_DEVIATION**2) @ design.T
    precision = np.linalg.inv(joint)
    miss = precision @ (values - design @ _PRIOR_MEAN) / np.sqrt(np.diag(precision))
    return np.asarray(miss, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Fitted:
    """Mean, tilt and bow with their covariance, and which readings they rest on."""

    shape: Floats  # (3,)
    covariance: Floats  # (3, 3)
    used: tuple[int, ...]
    contradicting: tuple[int, ...]


def _solved(design: Floats, values: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Most probable shape and its covariance; errors grow with readings that scatter beyond them.

    Where the misses are larger than the errors allow, all errors are taken larger by the same
    factor, the root of their mean square (scale factor of Birge 1932, memory).
    """
    prior = np.diag(1.0 / PRIOR_DEVIATION**2)

    def solve(errors: Floats) -> tuple[Floats, Floats]:
        precise = np.linalg.solve(errors, design)
        posterior = np.asarray(np.linalg.inv(design.T @ precise + prior))
        return posterior @ (precise.T @ values + _PRIOR_MEAN / PRIOR_DEVIATION**2), posterior

    fitted, posterior = solve(covariance)
    miss = values - design @ fitted
    scale = float(miss @ np.linalg.solve(covariance, miss)) / max(values.size - 1, 1)
    return solve(covariance * scale) if scale > 1.0 else (fitted, posterior)


def fit(body: Sequence[Corrected], thickness: float) -> Fitted:
    """Fit all readings, then without those that contradict the rest, worst first."""
    values = np.array([one.moisture for one in body], dtype=np.float64)
    shallow = np.array([one.depth_from for one in body])
    deep = np.array([one.depth_to for one in body])
    design = shape(shallow, deep, thickness)
    used = list(range(len(body)))
    strays: list[int] = []
    while True:
        kept = [body[i] for i in used]
        covariance = _covariance(kept)
        for _ in range(REPEATS):
            fitted, posterior = _solved(design[used], values[used], covariance)
            covariance = _covariance(kept, design[used] @ fitted)
        apart = _apart(design[used], values[used], covariance)
        worst = int(np.abs(apart).argmax())
        if abs(apart[worst]) <= CONTRADICTION:
            break
        if len(used) < FEWEST or len(strays) == max(1, int(LEFT_OUT * len(body))):
            strays += [used[i] for i in np.flatnonzero(np.abs(apart) > CONTRADICTION)]
            break
        strays.append(used.pop(worst))
    return Fitted(fitted, posterior, tuple(used), tuple(sorted(strays)))


# Standard deviations of a reading where none is told: its own scatter, and the bias that all of the
# same meter share [% M]; of pins and surface meters as `meters`, of an oven by practice.
USUAL_ERROR: Final[dict[Meter, tuple[float, float]]] = {
    "pin": (0.5, 0.7),
    "surface": (0.8, 1.3),
    "oven_dry": (0.3, 0.0),
}
# Mean and its deviation, core less faces and its deviation [% M] where nothing was read: dried in a
# stack outdoors or in a shed, stood in a heated room for long, or nothing known (judgement).
STORIES: Final[dict[Story, tuple[float, float, float, float]]] = {
    "anywhere": (12.0, 4.0, 1.5, 2.5),
    "stack": (15.0, 2.5, 2.0, 2.5),
    "room": (8.5, 1.5, 0.0, 1.0),
}
LEAST: Final = 1.0  # % M; no draw goes below
CURVE: Final = 11  # depths of the curve of a fit
# Evenly spread sequences of their own for tilt and bow (roots of x^4 = x + 1).
_STEPS: Final = (0.8191725133961645, 0.6710436067037893)


@dataclass(frozen=True, slots=True)
class Shaped:
    """A curve and the covariance of its mean, tilt and bow.

    Attributes
    ----------
    depth : ndarray (depths,)
        From the top face [m].
    moisture : ndarray (depths,)
        [%].
    covariance : ndarray (3, 3)
        Of mean, tilt and bow [% M squared]; see `shape`.
    """

    depth: Floats
    moisture: Floats
    covariance: Floats

    def at(self, depth: ArrayLike) -> Floats:
        """The curve at depths [m], level beyond its ends [%]; a parabola is told as it is."""
        within = np.clip(np.asarray(depth), self.depth[0], self.depth[-1])
        return np.asarray(CubicSpline(self.depth, self.moisture)(within))

    def drawn(self, depth: Floats, thickness: float, samples: Samples) -> Floats:
        """Moisture of every sample at depths, (samples, depths) [%]; the first is the curve."""
        rows = np.arange(samples.count)
        deviates = [samples.moisture / METER_SD]
        for step in _STEPS:
            uniform = np.clip(np.modf(0.5 + step * rows)[0], 1e-3, 1.0 - 1e-3)
            normal = ndtri(uniform)
            normal[0] = 0.0
            deviates.append(normal)
        values, vectors = np.linalg.eigh(self.covariance)
        # The mean's error first: it goes with the deviates that every question shares.
        lower = np.linalg.cholesky(
            vectors @ np.diag(np.maximum(values, 1e-12)) @ vectors.T + 1e-12 * np.eye(3)
        )
        off = np.stack(deviates, axis=1) @ lower.T @ shape(depth, depth, thickness).T
        result: Floats = np.maximum(self.at(depth)[None, :] + off, LEAST)
        return result


@dataclass(frozen=True, slots=True)
class Value:
    """One moisture that was read [%], already corrected, and with what.

    `error`: its standard deviation [% M], usual for the meter when None; `depth` under the face it
    was read on [m], None when nobody told it.
    """

    value: float
    error: float | None = None
    place: Literal["top", "bottom"] = "top"
    depth: float | None = None
    meter: Meter = "pin"

    def corrected(self, thickness: float) -> Corrected:
        """As a reading of a slab of a thickness [m]."""
        scatter, bias = USUAL_ERROR[self.meter]
        if self.error is not None:
            whole = float(np.hypot(scatter, bias))
            scatter, bias = (one * self.error / whole for one in (scatter, bias))
        under = MEAN_DEPTH * thickness if self.depth is None else self.depth
        depth = under if self.place == "top" else thickness - under
        return Corrected(
            self.value, scatter, bias, self.meter, self.place, "within", depth, depth,
            depth_told=self.depth is not None,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Readings:
    """Moistures that were read."""

    values: tuple[Value, ...]

    def shaped(self, thickness: float) -> Shaped:
        """The curve through them; the same as the readings' own answer gives."""
        found = fit([one.corrected(thickness) for one in self.values], thickness)
        depth = np.linspace(0.0, thickness, CURVE)
        return Shaped(depth, shape(depth, depth, thickness) @ found.shape, found.covariance)

    @property
    def note(self) -> Note:
        """What was made of them."""
        return Note("moisture-by-readings", count=len(self.values))


@dataclass(frozen=True, slots=True)
class Given:
    """A mean and a profile as an answer gave them: central figures with 10th and 90th percentile.

    `mean` [%]; `depth` [m], `moisture`, `low` and `high` [%] at the same depths.
    """

    mean: tuple[float, float, float]
    depth: tuple[float, ...]
    moisture: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]

    def shaped(self, thickness: float) -> Shaped:
        """The curve, with the errors of mean, tilt and bow that its band and its mean tell.

        The variance at a depth is a polynomial of the fourth order in it, whose five coefficients
        and the variance of the mean give the six covariances (derived).
        """
        depth = np.asarray(self.depth)
        across = 2.0 * depth / thickness - 1.0
        bow = 0.5 * (3.0 * across**2 - 1.0)
        reach = (np.asarray(self.high) - np.asarray(self.low)) / (2.0 * TO_DECILE)
        mean = (self.mean[2] - self.mean[1]) / (2.0 * TO_DECILE)
        one = np.ones_like(across)
        rows = np.stack(
            [one, 2.0 * across, 2.0 * bow, across**2, 2.0 * across * bow, bow**2], axis=1
        )
        heavy = 1e3 * np.eye(1, 6)  # the mean's own figure is exact
        told = np.linalg.lstsq(
            np.vstack([rows, heavy]), np.append(reach**2, 1e3 * mean**2), rcond=None
        )[0]
        m, mt, mb, t, tb, b = told
        covariance = np.array([[m, mt, mb], [mt, t, tb], [mb, tb, b]])
        values, vectors = np.linalg.eigh(covariance)
        return Shaped(
            depth,
            np.asarray(self.moisture),
            vectors @ np.diag(np.maximum(values, 0.0)) @ vectors.T,
        )

    @property
    def note(self) -> Note:
        """What was made of it."""
        return Note("moisture-as-given", mean=self.mean[0])


@dataclass(frozen=True, slots=True)
class Untold:
    """Nothing was read; where it comes from says how wide the doubt is."""

    story: Story = "anywhere"

    def shaped(self, thickness: float) -> Shaped:
        """The curve of such a slab, and how far it may be off."""
        mean, deviation, gap, gap_deviation = STORIES[self.story]
        depth = np.linspace(0.0, thickness, CURVE)
        curve = shape(depth, depth, thickness) @ np.array([mean, 0.0, -gap / 1.5])
        errors = np.array([deviation, 0.5 * gap_deviation, gap_deviation / 1.5])
        return Shaped(depth, curve, np.diag(errors**2))

    @property
    def note(self) -> Note:
        """What was assumed, and to read first."""
        mean, deviation, _, _ = STORIES[self.story]
        reach = TO_DECILE * deviation
        return Note("moisture-unknown", story=self.story, low=mean - reach, high=mean + reach)


Evidence = Readings | Given | Untold
