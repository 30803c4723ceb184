"""A slab diagnosed: what it was, what bent it, what is to come, what to measure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import fitting, spread
from model.answers.diagnosis import causes, clues, formula
from model.answers.diagnosis.causes import UNCUPPED, Cause, Share
from model.answers.diagnosis.clues import Lock
from model.answers.diagnosis.fit import Weighed, weigh
from model.answers.diagnosis.history import History, check, planed_on
from model.answers.diagnosis.measure import ONE_DAY, Measurement, measurements
from model.answers.diagnosis.to_come import Option, look_ahead
from model.answers.diagnosis.tried import Case, Lying
from model.behaviour import slab as wood
from model.behaviour.course import Course
from model.behaviour.shape import Cupped, cupped
from model.codes import Caution, Note
from model.properties.finishes import Face
from model.spread import Figure
from model.surroundings.room import Room

Floats = NDArray[np.float64]

DRAWS: Final = 128
NEARLY_GREEN: Final = 0.95  # of where shrinkage starts; from there on a width tells little
MISFIT: Final = 2.0  # standard deviations; what is seen farther off on the whole does not fit
UNLIKELY: Final = 0.02  # chance of a way of lying that is not asked for its cause
TELLS: Final = 0.1  # of the doubt removed; a measurement that removes less is not worth naming


@dataclass(frozen=True, slots=True)
class Lay:
    """The most likely way it lay, when its faces were not told, and how likely [0..1]."""

    lying: Lying
    chance: float


@dataclass(frozen=True, slots=True)
class Bark:
    """The likelier bark side, when it was not told, and how likely [0..1]."""

    side: str
    chance: float


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The diagnosis.

    Attributes
    ----------
    before : Figure
        Mean moisture before [%]; a `high` that is infinite: green, a width tells no more.  The
        mean of the draws, or the most probable case where there are none.
    by_formula : Figure or None
        The same by the shrinkage formula alone from the widths and the moisture today.
    now : Figure
        Mean moisture today [%].
    cup : Figure
        What the engine says the cup is today [m]; beside what was seen.
    shares : tuple of Share
        Largest first.
    main : Cause or None
        None when no cause stands out over all ways it may have lain, when what was seen does not
        fit, or there is no cup to explain.
    lay : Lay or None
        None when the faces were told.
    bark : Bark or None
        None when the bark side was told.
    options : tuple of Option
    measurements : tuple of Measurement
        Best first.
    strip : Lock or None
    key_force : Figure or None
        Least force that sheared the key [N].
    misfit : float
        Root mean square of the sightings' misses, in standard deviations; about 1 or less is good.
    effective_draws : float
        How many equal draws those of the likeliest way are worth.
    notes : tuple of Note
    cautions : tuple of Caution
    """

    before: Figure
    by_formula: Figure | None
    now: Figure
    cup: Figure
    shares: tuple[Share, ...]
    main: Cause | None
    lay: Lay | None
    bark: Bark | None
    options: tuple[Option, ...]
    measurements: tuple[Measurement, ...]
    strip: Lock | None
    key_force: Figure | None
    misfit: float
    effective_draws: float
    notes: tuple[Note, ...]
    cautions: tuple[Caution, ...]

    @property
    def cupped(self) -> Cupped:
        """The cup today, as it is told."""
        return cupped(self.cup)

    @property
    def telling(self) -> tuple[Measurement, ...]:
        """The measurements worth naming."""
        return tuple(one for one in self.measurements if one.uncertainty_removed >= TELLS)


def diagnose(
    history: History,
    next_room: Room | None = None,
    finished: Face | None = None,
    draws: int = DRAWS,
    seed: int = spread.DEFAULT_SEED,
) -> Diagnosis:
    """Diagnose a slab.

    Parameters
    ----------
    history : History
        What it was, where it has been, and what was seen.
    next_room : Room, optional
        Where it will be for the year to come; as in its last stay when left out.
    finished : Face, optional
        The finish of "both faces finished alike"; about three coats of varnish when left out.
    draws, seed : int
        Posterior draws and their seed.

    Raises
    ------
    ValueError
        No stay, or a sighting that is impossible or lies outside the history.
    TooManySteps
        A thin or wet slab through years of changing air.

    References
    ----------
    Least squares with a normal prior on the course engine; priors by judgement (derived).
    """
    check(history)
    weighed = weigh(history)
    case = weighed[0].case
    drawn = fitting.drawn(case.data, weighed[0].fit, draws, seed)
    theta = drawn.theta
    followed = _followed(case, theta)
    apart = causes.parts(case, theta, followed)
    seen = _cup_seen(history, followed)
    shares, main = causes.shares(apart, seen)
    lay = None if history.faces_known else _lay(weighed)
    to_come = look_ahead(case, theta, followed, next_room, finished)
    species, now = history.slab.species, fitting.figure(followed.mean[-1])
    found = Diagnosis(
        before=_before(case, theta),
        by_formula=formula.of_sightings(history.slab, history.sightings, spread.draw(draws, seed)),
        now=now,
        cup=fitting.figure(followed.cup[-1]),
        shares=shares,
        main=_told_by(main, weighed, seen),
        lay=lay,
        bark=None if history.slab.bark_known else _bark(weighed),
        options=to_come.options,
        measurements=measurements(case, theta, followed, to_come, apart),
        strip=None if history.strip is None else clues.lock(history.strip, species),
        key_force=None if history.key is None else clues.key_force(history.key, species),
        misfit=weighed[0].misfit,
        effective_draws=drawn.effective,
        notes=(),
        cautions=_cautions(history, now.value),
    )
    return replace(found, notes=_notes(found, history, seen, drawn))


def _cup_seen(history: History, followed: Course) -> float:
    """The cup today as it was seen last [m]; where none was seen, as it is followed."""
    seen = [one.value for one in history.sightings if one.what == "cup" and one.day is None]
    return seen[-1] if seen else float(followed.cup[-1, 0])


def _lay(weighed: list[Weighed]) -> Lay:
    best = weighed[0].lying
    return Lay(best, sum(one.chance for one in weighed if one.lying == best))


def _bark(weighed: list[Weighed]) -> Bark:
    best = weighed[0].case.history.slab.bark_side
    return Bark(best, sum(w.chance for w in weighed if w.case.history.slab.bark_side == best))


def _told_by(main: Cause | None, weighed: list[Weighed], seen: float) -> Cause | None:
    """The main cause, if what was seen fits and enough of what may have been agrees on it.

    Other ways of lying and the other bark side count with the cause that is the largest in their
    own most probable case.
    """
    if main is None or weighed[0].misfit > MISFIT:
        return None
    agree = weighed[0].chance
    for one in weighed[1:]:
        if one.chance > UNLIKELY:
            theta = one.fit.theta[None, :]
            apart = causes.parts(one.case, theta, _followed(one.case, theta))
            agree += one.chance * (causes.shares(apart, seen)[0][0].cause == main)
    return main if agree >= causes.DECIDED else None


def _followed(case: Case, theta: Floats) -> Course:
    planed = planed_on(case.stays)
    return case.run(theta, stops=() if planed is None else (planed + ONE_DAY,))


def _before(case: Case, theta: Floats) -> Figure:
    """Moisture before; at most where shrinkage starts, with an open end if it may be more.

    With draws its value is their mean, which misses by least in the mean square: within 1.5 % of
    84 of 100 made-up moistures, where the most probable case alone comes to 80 (measured).
    """
    drawn = case.mean_before(theta)
    found = fitting.figure(drawn)
    if drawn.size > 1 and found.low is not None and found.high is not None:
        middle = float(np.clip(drawn[1:].mean(), found.low, found.high))
        found = replace(found, value=middle)
    start = case.history.slab.species.shrinkage_starts
    if case.history.before is not None or max(found.value, found.high or 0.0) <= start:
        return found
    low = None if found.low is None else min(found.low, start)
    return Figure(min(found.value, start), low, None if found.high is None else float("inf"))


def _cautions(history: History, now: float) -> tuple[Caution, ...]:
    heavy = wood.cautions(history.slab, now) or [Caution("heavy-unweighed")]
    return (*heavy, Caution("ripping-stressed"), Caution("no-longer-held"))


def _notes(
    found: Diagnosis, history: History, seen: float, drawn: fitting.Drawn
) -> tuple[Note, ...]:
    notes = []
    start = history.slab.species.shrinkage_starts
    if found.before.value > NEARLY_GREEN * start:
        notes.append(Note("green-before", start=start))
    if abs(seen) < UNCUPPED:
        notes.append(Note("no-cup"))
    elif found.main is None and found.misfit <= MISFIT:
        notes.append(_cannot_tell(found))
    if found.misfit > MISFIT:
        notes.append(Note("does-not-fit"))
    if found.lay is not None:
        notes.append(Note("faces-guessed", lying=found.lay.lying, chance=found.lay.chance))
    if found.bark is not None:
        notes.append(Note("bark-guessed", side=found.bark.side, chance=found.bark.chance))
    if drawn.power < 1.0:
        notes.append(Note("few-draws", effective=drawn.effective, enough=fitting.ENOUGH))
    if found.strip is not None:
        notes.append(
            Note(
                "strip",
                strain=found.strip.strain,
                is_large=found.strip.is_large,
                moisture_difference=found.strip.moisture_difference,
            )
        )
    notes.append(Note("cup-uncertain"))
    return tuple(notes)


def _cannot_tell(found: Diagnosis) -> Note:
    """The two likeliest causes, and the measurement that would tell them apart."""
    first, second = found.shares[:2]
    best = found.measurements[0] if found.measurements else None
    telling = best is not None and best.uncertainty_removed > TELLS
    measuring = best.measuring if best is not None and telling else None
    return Note("cannot-tell", first=first.cause, second=second.cause, measuring=measuring)
