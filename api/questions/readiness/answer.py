"""What `/v1/readiness` answers."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Any, Final, get_args

import numpy as np
from marshmallow import ValidationError
from numpy.typing import NDArray

from api import words
from api.question import Reply
from api.questions.readiness.ask import Asked
from api.replies import members
from api.replies.members import LEFT_OUT, Answer, itself
from api.units import DAYS, LENGTH, PERCENT, PLAIN
from model.answers.readiness import ready
from model.answers.readiness.seen import (
    UNTOLD,
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
from model.properties.finishes import Face, Faces
from model.properties.meters import OvenDry, Pin, Surface
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR
from model.surroundings.room import LATELY

Floats = NDArray[np.float64]

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
        """Whether it may be worked: sure enough to be ready within a fortnight."""
        return self.found.verdict == "ready"

    @property
    def sure_on(self) -> datetime.date | None:
        """The first day told by which it is surely ready; None where none is."""
        trace = self.found.trace
        if trace.chance is None:
            return None
        sure = np.flatnonzero((trace.chance >= ready.SURE) & (trace.days >= self.found.as_of))
        return self.date(float(trace.days[sure[0]] - self.found.as_of)) if sure.size else None

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
    pins: bool = False


def answer(asked: Asked) -> Reply[Ready]:
    """Fit the readings and say what goes along."""
    room, target = asked.room, asked.target
    faces = asked.faces or Faces(UNTOLD, UNTOLD)
    untold = (faces.top is UNTOLD, faces.bottom is UNTOLD)
    bare = Face(0.0)  # of a face nobody told nothing more is said
    told = Faces(*(bare if one is UNTOLD else one for one in (faces.top, faces.bottom)))
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
        goal = target_room(
            there, asked.within, asked.slab, told, asked.day(asked.as_of), stands=room
        )
        year = {"driest": there.driest.moisture, "dampest": there.dampest.moisture}
        notes += [*there.notes, Note("destination-year", **year, mean=goal.moisture)]
    seen = _observations(asked, air)
    found = ready.answer(
        Case(
            asked.slab,
            faces,
            air,
            room.humidity_spread,
            asked.dry_weight,
            untold,
        ),
        seen.observations,
        goal,
        asked.day(asked.as_of),
        asked.samples.draws,
        asked.samples.seed,
    )
    of_faces = finishes.notes(told)
    heavy = wood.cautions(asked.slab, found.present.mean.value)
    return Reply(
        Ready(found, asked.as_of, tuple(seen.used), goal, _rewetted(asked, found)),
        [*found.notes, *notes, *seen.notes, *room.notes, *of_faces],
        [*(heavy or [Caution("heavy-unweighed")]), Caution("drying-faster")],
        cite(
            *("readiness-fit", "transport-diffusion", "equilibrium-moisture"),
            *asked.room.formulas,
            *finishes.formulas(told),
            *(["meter-pin"] if seen.pins else []),
            *(["meter-species"] if any(n.code == "species-row" for n in seen.notes) else []),
        ),
    )


def _rewetted(asked: Asked, found: ready.Answer) -> datetime.date | None:
    day = found.flags.rewetted
    if day is None:
        return None
    return next(one.date for one in asked.readings if asked.day(one.date) >= day - 0.5)


def _warmed(one: Pin | Surface | OvenDry, air: Air, day: float) -> Pin | Surface | OvenDry:
    """Pins with their room's temperature where the wood's is not told."""
    if not isinstance(one, Pin) or one.temperature is not None or one.compensated:
        return one
    return replace(one, temperature=float(air.at(day)[0]), room_temperature=True)


def _observations(asked: Asked, air: Air) -> _Seen:
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
            one = corrected_in(asked.slab, _warmed(row.reading, air, day))
        except ValueError as error:
            wrong[index] = [words.refused(error)]
            continue
        # The model's own note tells of a depth that is drawn; a temperature is told once.
        said = {note.code for note in seen.notes}
        seen.notes.extend(n for n in one.notes if n.code not in {"depth-assumed", *said})
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


def _percent(name: str) -> Any:
    def read(one: Ready) -> float | None:
        chance = getattr(one.found, name)
        return None if chance is None else 100.0 * float(chance)

    return read


class ReadinessChance(Answer):
    """The chance that it has been ready by a day, day by day."""

    day = members.Series(DAYS, "days from as_of", of=lambda found: _ahead(found)[0])
    chance = members.Series(PERCENT, of=lambda found: _ahead(found)[1])


def _ahead(found: ready.Answer) -> tuple[Floats, Floats]:
    """Days ahead, from the day of the answer, and the chance by then [%]."""
    assert found.trace.chance is not None
    days = found.trace.days - found.as_of
    ahead = days > 0.0
    today = found.chance_ready or 0.0
    chance = np.concatenate([[today], found.trace.chance[ahead]])
    return np.concatenate([[0.0], days[ahead]]), 100.0 * chance


class ReadinessAnswer(Answer):
    """When the slab is ready, and what it is now."""

    verdict = members.Word(
        get_args(ready.Verdict),
        "ready when sure (98 %) to be so within 14 days, near the target and even within 2 % M; "
        "probably, on the day of ready_on; not_here; cannot_tell",
        of="found.verdict",
    )
    withheld = members.Texts(
        "why no verdict is given", of=lambda one: [words.reason(why) for why in one.found.withheld]
    )
    ready = members.Truth("whether the verdict is ready")
    as_of = members.Day("day of the answer")
    ready_in = members.OpenFigure(
        DAYS, "days from as_of", of="found.ready_in", null="when not within five years"
    )
    ready_on = members.Part(
        ReadinessDates,
        of=lambda one: None if one.found.ready_in is None else one,
        null="when not within five years",
    )
    chance_ready = members.Number(
        PERCENT, "today", of=_percent("chance_ready"), left_out="without a spread"
    )
    chance_soon = members.Number(
        PERCENT, "within 14 days", of=_percent("chance_soon"), left_out="without a spread"
    )
    chance_near = members.Number(
        PERCENT,
        "that it is near the target within 14 days",
        of=_percent("chance_near"),
        left_out="without a spread",
    )
    chance_even = members.Number(
        PERCENT,
        "that it is even through its thickness within 14 days",
        of=_percent("chance_even"),
        left_out="without a spread",
    )
    chance_by = members.Part(
        ReadinessChance,
        "chance that it has been ready by then",
        of=lambda one: None if one.found.trace.chance is None else one.found,
        left_out="without a spread",
    )
    uneven = members.Figure(
        PERCENT, "wettest less driest layer on that day, in points of moisture", of="found.uneven"
    )
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
