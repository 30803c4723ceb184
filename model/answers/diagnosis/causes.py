"""The cup taken apart by what bends it, and how likely each cause is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model.answers.diagnosis.posterior import SOMETHING_ELSE, Posterior
from model.answers.diagnosis.stories import CAUSES, Cause, Story
from model.answers.diagnosis.tried import Case, shrunk
from model.behaviour import section, shape, timber
from model.behaviour.course import Course, Stay
from model.behaviour.shape import Cupped, cupped
from model.properties.finishes import Faces
from model.spread import Figure

Floats = NDArray[np.float64]
Part = Literal["rings", "wet_core", "uneven_faces", "locked_in_stress", "restraint"]

PARTS: Final[tuple[Part, ...]] = (
    "rings",
    "wet_core",
    "uneven_faces",
    "locked_in_stress",
    "restraint",
)
SURE: Final = 0.85  # chance from which a cause is named
UNCUPPED: Final = 5.0e-4  # m; a cup smaller than this needs no cause (judgement)
MATTERS: Final = 0.3  # of the cup; a departure that makes less of it is not its cause (judgement)
LEADS: Final = 1.25  # of the rings' part; what bends it more gives a slab as told its cause


@dataclass(frozen=True, slots=True)
class Share:
    """What bends it.

    `amount` is what it adds to the cup today [m, positive edges up]; `share` its part of all that
    bends the same way as the cup [%]; `main` how often among the draws it is the largest [0..1].
    """

    cause: Part
    amount: Figure
    share: Figure
    main: float

    @property
    def cupped(self) -> Cupped:
        """The cup it makes, as it is told."""
        return cupped(self.amount)


@dataclass(frozen=True, slots=True)
class Chance:
    """A cause, and how likely it is [0..1]."""

    cause: Cause
    chance: float


def figure(values: Floats, *, band: bool = True) -> Figure:
    """The median of draws with their 10th and 90th percentile; infinities allowed."""
    low, middle, high = np.percentile(values, [10.0, 50.0, 90.0], method="inverted_cdf")
    return Figure(float(middle), float(low), float(high)) if band else Figure(float(middle))


def parts(case: Case, theta: Floats, followed: Course) -> Floats:
    """The cup at the end taken apart, (parts, samples); the sum is the cup [m]."""
    free = tuple(replace(stay, hold=section.FREE) for stay in case.stays)
    dressed = any(stay.dressed for stay in case.stays)
    held = any(stay.hold is not section.FREE for stay in case.stays)
    unlike = any(not stay.faces.alike or stay.wet_face for stay in case.stays)

    def bent(run: Course) -> Floats:
        result: Floats = run.cup[-1] - _by_rings(case, theta, run)
        return result

    whole = bent(followed)
    freed = bent(case.run(theta, free, stressed=True)) if held else whole
    # What comes back and what a bar holds stand beside the engine: `Case.held`.
    alone = case.departure.spring == case.departure.solid == (0.0, 0.0)
    beside = 0.0 * whole if alone else freed - bent(_bare(case, theta, free))
    unstressed = bent(case.run(theta, free, stressed=False))
    # Alike faces dry a slab evenly: without planing nothing bends it but its rings.
    core = bent(case.run(theta, _alike(case.stays), stressed=False)) if dressed else 0.0 * whole
    if not unlike:
        core = unstressed
    restraint = whole - freed + beside
    locked = whole - unstressed - restraint
    return np.stack([_by_rings(case, theta, followed), core, unstressed - core, locked, restraint])


def _bare(case: Case, theta: Floats, stays: Sequence[Stay]) -> Course:
    """The course without what stands beside the engine."""
    plain = replace(case.departure, spring=(0.0, 0.0), solid=(0.0, 0.0))
    return replace(case, departure=plain).run(theta, stays)


def _alike(stays: Sequence[Stay]) -> tuple[Stay, ...]:
    """The stays with both faces like the one more open, and nothing held."""
    changed = []
    for stay in stays:
        face = min(stay.faces.top, stay.faces.bottom, key=lambda one: one.resistance)
        face = replace(face, warmth=None)
        changed.append(
            replace(stay, faces=Faces(face, face), hold=section.FREE, wet_face=None, wet_hours=0.0)
        )
    return tuple(changed)


def _by_rings(case: Case, theta: Floats, followed: Course) -> Floats:
    """Cup at the end by the rings alone, from the mean moisture before and after [m]."""
    samples = case.samples(theta)
    before, after = case.mean_before(theta), followed.mean[-1]
    change = shrunk(case.history.slab.species, samples, before, after)
    return shape.cup_of(timber.rings_of(followed.slab, samples), change)


def shares(apart: Floats, seen: float, *, band: bool = True) -> tuple[Share, ...]:
    """Shares of what bends it, largest first.

    Parameters
    ----------
    apart : ndarray (parts, samples)
        The cup by part [m].
    seen : float
        The cup that was seen [m].
    band : bool
        Whether the draws' spread is told.
    """
    way = 1.0 if seen >= 0.0 else -1.0
    helping = np.maximum(way * apart, 0.0)
    share = 100.0 * helping / np.maximum(helping.sum(axis=0), 1e-12)
    largest = share.argmax(axis=0)
    told = []
    for i, part in enumerate(PARTS):
        # A share's value is the mean of its draws: shares then add up to the whole.
        middle = float(share[i].mean())
        ends = figure(share[i])
        assert ends.low is not None
        assert ends.high is not None
        of_all = Figure(middle, min(ends.low, middle), max(ends.high, middle))
        amount = figure(apart[i], band=band)
        often = float(np.mean(largest == i))
        told.append(Share(part, amount, of_all if band else of_all.alone, often))
    return tuple(sorted(told, key=lambda one: -one.share.value))


def cause_of(
    story: Story, theta: Floats, followed: Course, apart: Floats, seen: float
) -> list[Cause]:
    """The cause of every row of a story: its own where that matters, else what bends it most.

    Also of wood that was too wet: where something else than its rings bends it more, that is the
    cause.
    """
    if abs(seen) < UNCUPPED:
        return [story.cause] * theta.shape[0]
    way = 1.0 if seen >= 0.0 else -1.0
    helping = np.maximum(way * apart, 0.0)
    helping[0] *= LEADS
    warm = any(
        face.warmth is not None
        for stay in story.case.stays
        for face in (stay.faces.top, stay.faces.bottom)
    )
    named: dict[Part, Cause] = {
        "rings": "rings",
        "wet_core": "wet_core",
        "uneven_faces": "two_airs" if warm else "uneven_faces",
        "locked_in_stress": "locked_in_stress",
        "restraint": "springback",
    }
    most = [named[PARTS[one]] for one in helping.argmax(axis=0)]
    if story.as_told:
        return most
    cup = followed.cup[-1]
    gained = way * (cup - story.plain.run(theta).cup[-1])
    matters = gained >= MATTERS * np.maximum(way * cup, UNCUPPED)
    if story.cause == "too_wet_at_fitting":
        matters &= np.array([one == "rings" for one in most])
    return [story.cause if own else other for own, other in zip(matters, most, strict=True)]


def chances(posterior: Posterior, named: Sequence[Sequence[Cause]]) -> tuple[Chance, ...]:
    """How likely each cause is, likeliest first; a little is kept for what is not among them.

    Parameters
    ----------
    posterior : Posterior
    named : sequence of sequences of Cause
        Of every picked row of each story.
    """
    told = dict.fromkeys(CAUSES, 0.0)
    for story, chance, causes in zip(posterior.stories, posterior.chances, named, strict=True):
        if not causes:
            told[story.story.cause] += chance
        for cause in causes:
            told[cause] += chance / len(causes)
    whole = 1.0 - SOMETHING_ELSE
    found = (Chance(cause, whole * chance) for cause, chance in told.items())
    return tuple(sorted(found, key=lambda one: -one.chance))
