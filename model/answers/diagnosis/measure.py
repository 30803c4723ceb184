"""Which cheap measurement would tell the causes apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model.answers.diagnosis.fit import LEAST_LOCKED, STRIP_SPREAD
from model.answers.diagnosis.history import CUP_ERROR, planed_on
from model.answers.diagnosis.to_come import THREE_DAYS, TWO_WEEKS, ToCome
from model.answers.diagnosis.tried import Case
from model.behaviour import timber
from model.behaviour.course import Course

Floats = NDArray[np.float64]
Measuring = Literal["when", "pin_core", "wait", "turn", "weigh", "rings", "strip"]

MEASURINGS: Final[tuple[Measuring, ...]] = (
    "when",
    "pin_core",
    "wait",
    "turn",
    "weigh",
    "rings",
    "strip",
)
FEWEST_DRAWS: Final = 8  # draws below which nothing is said of measurements
ONE_DAY: Final = 1.0
SOON_SEEN: Final = 7.0  # days after planing; a cup seen by then tells when it came
# Errors of reading (judgement).
PIN_ERROR: Final = 0.7  # % M; difference of two readings of one meter
WEIGHING_ERROR: Final = 0.1  # % M
REMEMBERED: Final = 1.0e-3  # m; a cup remembered, not measured: to a millimetre or so
RINGS_ERROR: Final = 0.1  # of ln of the distance of the pith


@dataclass(frozen=True, slots=True)
class Measurement:
    """A cheap measurement, and what share of the doubt between causes it removes [0..1]."""

    measuring: Measuring
    uncertainty_removed: float


def measurements(
    case: Case, theta: Floats, followed: Course, to_come: ToCome, parts: Floats
) -> tuple[Measurement, ...]:
    """Cheap measurements by how much of the doubt between the two likeliest causes they remove."""
    if theta.shape[0] < FEWEST_DRAWS:
        return ()
    means = np.abs(parts[:, 1:]).mean(axis=1)
    first, second = np.argsort(means)[::-1][:2]
    doubt = parts[first, 1:] - parts[second, 1:]
    readings = _read_by_draws(case, theta, followed, to_come)
    found = [Measurement(one, _removed(seen[1:], doubt)) for one, seen in readings.items()]
    return tuple(sorted(found, key=lambda one: -one.uncertainty_removed))


def _read_by_draws(
    case: Case, theta: Floats, followed: Course, to_come: ToCome
) -> dict[Measuring, Floats]:
    """What every draw says each cheap measurement would read, with the error of reading it."""
    slab, samples = case.history.slab, case.samples(theta)
    noise = iter(np.random.default_rng(0).standard_normal((len(MEASURINGS), theta.shape[0])))
    left, turned = to_come.left, to_come.turned

    def since(run: Course, day: float) -> tuple[Floats, Floats]:
        row = int(np.searchsorted(run.days, day))
        return run.cup[row] - run.cup[0], run.mean[row] - run.mean[0]

    middle = followed.mesh.depth.size // 2
    core = followed.moisture[:, middle] - followed.mean[-1]
    found: dict[Measuring, Floats] = {
        "pin_core": core + PIN_ERROR * next(noise),
        "wait": since(left, TWO_WEEKS)[0] + CUP_ERROR * next(noise),
        "turn": since(turned, THREE_DAYS)[0] + CUP_ERROR * next(noise),
        "weigh": since(left, TWO_WEEKS)[1] + WEIGHING_ERROR * next(noise),
    }
    found |= _when_it_came(case, followed, noise)
    if slab.pith_below is None:
        pith = timber.pith_of(slab, samples)
        distance = np.log(np.hypot(pith.below, pith.across))
        found["rings"] = distance + RINGS_ERROR * next(noise)
    if case.history.strip is None:
        size = np.log(np.abs(case.locked_even(theta)) + LEAST_LOCKED)
        found["strip"] = size + STRIP_SPREAD * next(noise)
    return found


def _when_it_came(case: Case, followed: Course, noise: Iterator[Floats]) -> dict[Measuring, Floats]:
    """The cup a day after planing; nothing where none was planed, or a cup was seen soon after."""
    planed = planed_on(case.stays)
    if planed is None or any(
        one.what == "cup" and one.day is not None and planed <= one.day <= planed + SOON_SEEN
        for one in case.history.sightings
    ):
        return {}
    row = int(np.searchsorted(followed.days, planed + ONE_DAY))
    return {"when": followed.cup[row] + REMEMBERED * next(noise)}


def _removed(seen: Floats, doubt: Floats) -> float:
    """Share of the variance of a doubt that a reading explains, as a parabola of it, 0 to 1."""
    if float(np.var(seen)) < 1e-18 or float(np.var(doubt)) < 1e-18:
        return 0.0
    scaled = (seen - seen.mean()) / seen.std()
    design = np.stack([np.ones_like(scaled), scaled, scaled**2], axis=1)
    fitted = design @ np.linalg.lstsq(design, doubt, rcond=None)[0]
    left_over = float(np.var(doubt - fitted) / np.var(doubt))
    # Adjusted for the two terms fitted, so that a reading of mere noise scores 0 on the mean.
    count = seen.size
    return max(0.0, 1.0 - left_over * (count - 1) / (count - 3))
