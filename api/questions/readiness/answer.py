"""What `/v1/readiness` answers."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from marshmallow import ValidationError

from api import words
from api.question import Reply
from api.questions.readiness.ask import Asked
from api.replies import members
from api.replies.members import LEFT_OUT, Answer, itself
from api.units import DAYS, LENGTH, PERCENT, PLAIN
from model.answers.readiness import ready
from model.answers.readiness.seen import (
    Case,
    Observation,
    Target,
    of_reading,
    of_weight,
    target_room,
)
from model.answers.reading import corrected_in
from model.basis import cite
from model.behaviour import slab as wood
from model.codes import Caution, Note
from model.properties import finishes
from model.surroundings.calendar import YEAR
from model.surroundings.room import LATELY

AFTER_LOG: Final = 10.0 * YEAR  # days that a log's last fortnight is laid out for


@dataclass(frozen=True, slots=True)
class Ready:
    """The model's answer with its dates and what became of every reading.

    used : readings of the question behind those of the model; rewetted_on : date of the reading
    from which it held water anew.
    """

    found: ready.Answer
    as_of: datetime.date
    used: tuple[int, ...]
    target: Target
    rewetted_on: datetime.date | None

    def date(self, ahead: float) -> datetime.date | None:
        """A date so many days ahead; None when that lies open."""
        if not np.isfinite(ahead):
            return None
        try:
            return self.as_of + datetime.timedelta(days=int(np.ceil(ahead - 1e-9)))
        except OverflowError:  # beyond the year 9999
            return None

    @property
    def ready(self) -> bool:
        """Whether it is ready today, by the central case."""
        return self.found.ready_in is not None and self.found.ready_in.value == 0.0

    @property
    def apart(self) -> list[Apart]:
        """How far each reading that was fitted is from what all others say."""
        pairs = zip(self.found.used, self.found.residual, strict=True)
        return [Apart(f"/readings/{self.used[i]}", float(apart)) for i, apart in pairs]

    @property
    def contradicting(self) -> list[str]:
        """Pointers of the readings that contradict the others."""
        return [f"/readings/{self.used[index]}" for index in self.found.flags.contradicting]


@dataclass(frozen=True, slots=True)
class Apart:
    """A reading by its pointer, and how far it is from what all others say."""

    pointer: str
    deviations: float


@dataclass(frozen=True, slots=True)
class _Seen:
    """The model's observations, which readings they are, and notes of how they were read."""

    observations: list[Observation]
    used: list[int]
    notes: list[Note]


def answer(asked: Asked) -> Reply[Ready]:
    """Fit the readings and say what goes along."""
    room, target = asked.room, asked.target
    notes: list[Note] = []
    air = room.air
    if room.is_log:
        air = room.carried_on(asked.first, AFTER_LOG)
        warm, damp = room.lately.at(0.0)
        notes.append(Note("after-the-log", days=LATELY, temperature=warm, humidity=damp))
    if isinstance(target, float):
        goal = Target(target, asked.within)
    else:
        there = target.room
        goal = target_room(there, asked.within, asked.slab, asked.faces, asked.day(asked.as_of))
        year = {"driest": there.driest.moisture, "dampest": there.dampest.moisture}
        notes += [*there.notes, Note("destination-year", **year, mean=goal.moisture)]
    seen = _observations(asked)
    found = ready.answer(
        Case(asked.slab, asked.faces, air, room.humidity_spread, asked.dry_weight),
        seen.observations,
        goal,
        asked.day(asked.as_of),
        asked.samples.draws,
        asked.samples.seed,
    )
    heavy = wood.cautions(asked.slab, found.present.mean.value)
    return Reply(
        Ready(found, asked.as_of, tuple(seen.used), goal, _rewetted(asked, found)),
        [*found.notes, *notes, *seen.notes, *room.notes, *finishes.notes(asked.faces)],
        [*(heavy or [Caution("heavy-unweighed")]), Caution("drying-faster")],
        cite(
            *("readiness-fit", "transport-diffusion", "equilibrium-moisture"),
            *asked.room.formulas,
            *finishes.formulas(asked.faces),
        ),
    )


def _rewetted(asked: Asked, found: ready.Answer) -> datetime.date | None:
    day = found.flags.rewetted
    if day is None:
        return None
    return next(one.date for one in asked.readings if asked.day(one.date) >= day - 0.5)


def _observations(asked: Asked) -> _Seen:
    """What the readings say; refuses those that cannot be."""
    seen = _Seen([], [], [])
    wrong: dict[int, Any] = {}
    outside: list[int] = []
    for index, row in enumerate(asked.readings):
        day = asked.day(row.date)
        if row.weight is not None:
            seen.observations.append(of_weight(day, row.weight, row.step))
            seen.used.append(index)
            continue
        assert row.reading is not None
        try:
            one = corrected_in(asked.slab, row.reading)
        except ValueError as error:
            wrong[index] = [words.refused(error)]
            continue
        seen.notes.extend(one.notes)
        observation = of_reading(day, one)
        if observation is None:
            outside.append(index + 1)
            continue
        seen.observations.append(observation)
        seen.used.append(index)
    if wrong:
        raise ValidationError({"readings": wrong})
    if outside:
        seen.notes.append(Note("readings-out-of-range", readings=tuple(outside[:10])))
    if not seen.observations:
        raise ValidationError(
            {"readings": ["every reading lies outside its meter's range: nothing to go by"]}
        )
    return seen


class ReadinessDates(Answer):
    """Dates from the central, the early and the late case."""

    value = members.Day(of=lambda one: one.date(one.found.ready_in.value), null="where it is open")
    low = members.Day(
        of=lambda one: _end(one, one.found.ready_in.low),
        left_out="without a spread",
        null="where it is open",
    )
    high = members.Day(
        of=lambda one: _end(one, one.found.ready_in.high),
        left_out="without a spread",
        null="where it is open",
    )


def _end(one: Ready, days: float | None) -> Any:
    ends = one.found.ready_in
    if days is None or ends is None or ends.low is None or ends.high is None:
        return LEFT_OUT
    return one.date(days)


class ReadinessPresent(Answer):
    """Moisture on the day of the answer."""

    mean = members.Figure(PERCENT)
    top = members.Figure(PERCENT, "at the top face")
    core = members.Figure(PERCENT, "in the middle")
    bottom = members.Figure(PERCENT, "at the bottom face")


class ReadinessProfile(Answer):
    """Moisture through the thickness on that day, from the top down."""

    depth = members.Series(LENGTH)
    moisture = members.Series(PERCENT)
    low = members.Series(PERCENT)
    high = members.Series(PERCENT)


class ReadinessApart(Answer):
    """How far a reading is from what all others say."""

    of_ = members.Text("which reading, as a pointer", of="pointer", named="of")
    deviations = members.Number(PLAIN, "standard deviations")


class ReadinessDryingRate(Answer):
    """How fast it moves moisture."""

    transport_factor = members.Figure(PLAIN, of="transport")
    against_species = members.Number(PLAIN, "times what its species usually does")
    known_within = members.Number(PLAIN, "times or divided by", of="rate_factor")
    uncertainty_removed = members.Number(
        PERCENT,
        "of the doubt about it before the readings",
        of=lambda found: 100.0 * max(found.rate_learned, 0.0),
    )


class ReadinessFlags(Answer):
    """What is wrong or unusual with the readings."""

    contradicting = members.Texts("readings that contradict the others, as pointers")
    rate_unlike_species = members.Truth(of="found.flags.species_contradicted")
    rewetted_on = members.Day(null="where it was not wetted anew")
    stuck = members.Truth("it gets no nearer in this air", of="found.flags.stuck")


class ReadinessAnswer(Answer):
    """When the slab is ready, and what it is now."""

    ready = members.Truth("today, by the central case")
    as_of = members.Day("day of the answer")
    ready_in = members.OpenFigure(
        DAYS, "days from as_of", of="found.ready_in", null="when not within five years"
    )
    ready_on = members.Part(
        ReadinessDates,
        of=lambda one: None if one.found.ready_in is None else one,
        null="when not within five years",
    )
    chance_ready = members.Number(PERCENT, "today", of=lambda one: 100.0 * one.found.chance_ready)
    target = members.Number(PERCENT, of="target.moisture")
    present = members.Part(ReadinessPresent, of="found.present")
    profile = members.Part(ReadinessProfile, of="found.present")
    apart = members.Rows(ReadinessApart)
    drying_rate = members.Part(ReadinessDryingRate, of="found")
    settles_here = members.Figure(PERCENT, "mean it would come to here", of="found.settles_here")
    humidity_needed = members.Number(
        PERCENT, "that would hold the target", of="found.humidity_needed", null="where none does"
    )
    core_when_ready = members.Number(
        PERCENT, "in the middle on that day", of="found.core_when_ready", null="when not ready"
    )
    flags = members.Part(ReadinessFlags, of=itself)
