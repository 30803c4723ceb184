"""Which cheap measurement would tell the causes apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model.answers.diagnosis.history import CUP_ERROR, planed_on
from model.answers.diagnosis.stories import LEAST_LOCKED, STRIP_SPREAD
from model.answers.diagnosis.to_come import THREE_DAYS, TWO_WEEKS
from model.answers.diagnosis.tried import Case
from model.behaviour import timber
from model.behaviour.course import Course

Floats = NDArray[np.float64]
Measuring = Literal[
    "when", "pin_core", "wait", "turn", "weigh", "rings", "strip", "end_grain", "warm_face"
]

MEASURINGS: Final[tuple[Measuring, ...]] = (
    "when",
    "pin_core",
    "wait",
    "turn",
    "weigh",
    "rings",
    "strip",
    "end_grain",
    "warm_face",
)
FEWEST_DRAWS: Final = 8  # draws below which nothing is said of measurements
ONE_DAY: Final = 1.0
SOON_SEEN: Final = 7.0  # days after planing; a cup seen by then tells when it came
# Errors of reading (judgement).
PIN_ERROR: Final = 0.7  # % M; difference of two readings of one meter
WEIGHING_ERROR: Final = 0.1  # % M
REMEMBERED: Final = 1.0e-3  # m; a cup remembered, not measured: to a millimetre or so
ALONG_ONLY: Final = 7.0e-4  # of strain, along the grain alone (memory of growth strains, low)
END_GRAIN_READ: Final = 1.0  # % M; a reading on end grain against the room's equilibrium
WARMTH_ERROR: Final = 1.0  # K; difference of two faces by a thermometer
RINGS_ERROR: Final = 0.1  # of ln of the distance of the pith


@dataclass(frozen=True, slots=True)
class Measurement:
    """A cheap measurement, and what share of the doubt about the cause it removes [0..1]."""

    measuring: Measuring
    uncertainty_removed: float


def measurements(readings: dict[Measuring, Floats], likeliest: Floats) -> tuple[Measurement, ...]:
    """Cheap measurements by how much of the doubt about the likeliest cause they remove.

    Parameters
    ----------
    readings : dict of ndarray (draws,)
        What every draw says each would read, with the error of reading it.
    likeliest : ndarray (draws,)
        1 where the draw's cause is the likeliest, else 0.
    """
    if likeliest.size < FEWEST_DRAWS:
        return ()
    found = [Measurement(one, _removed(seen, likeliest)) for one, seen in readings.items()]
    return tuple(sorted(found, key=lambda one: -one.uncertainty_removed))


def read_by_draws(
    case: Case, theta: Floats, followed: Course, left: Course, turned: Course, seed: int
) -> dict[Measuring, Floats]:
    """What every row of a story says each cheap measurement would read, with its error."""
    slab, samples = case.history.slab, case.samples(theta)
    noise = iter(np.random.default_rng(seed).standard_normal((len(MEASURINGS) + 1, theta.shape[0])))

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
        "warm_face": _warmer(case) + WARMTH_ERROR * next(noise),
    }
    if not any(one.what == "end_grain" for one in case.history.sightings):
        found["end_grain"] = case.room_now(theta) + END_GRAIN_READ * next(noise)
    found |= _when_it_came(case, followed, noise)
    if slab.pith_below is None:
        pith = timber.pith_of(slab, samples)
        distance = np.log(np.hypot(pith.below, pith.across))
        found["rings"] = distance + RINGS_ERROR * next(noise)
    if case.history.strip is None:
        # Growth stress along the grain bows a strip of a slab without stress across it too.
        along = np.hypot(case.locked_even(theta), ALONG_ONLY * next(noise))
        found["strip"] = np.log(along + LEAST_LOCKED) + STRIP_SPREAD * next(noise)
    return found


def _warmer(case: Case) -> float:
    """How much warmer the top face is than the bottom one in its last stay [K]."""
    faces = case.stays[-1].faces
    top, bottom = (
        0.0 if one.warmth is None else one.warmth.by for one in (faces.top, faces.bottom)
    )
    return top - bottom


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
