"""What `/v1/diagnosis` answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final

from marshmallow import ValidationError

from api import words
from api.question import Reply
from api.questions.diagnosis.ask import Asked
from api.replies import members
from api.replies.members import LEFT_OUT, Answer
from api.replies.parts import CupFigure
from api.units import FORCE, LENGTH, MICROSTRAIN, PERCENT, PLAIN, STRESS
from api.words import Under
from api.words.diagnosis import CAUSES, DOINGS, LYINGS, MEASURINGS, OTHERWISE, PARTS
from model.answers.diagnosis import formula
from model.answers.diagnosis.diagnose import Diagnosis, diagnose
from model.answers.diagnosis.history import (
    BEFORE_ERROR,
    History,
    Sighting,
    cup_seen,
    end_grain_seen,
    moistures_seen,
    width_seen,
)
from model.basis import cite
from model.behaviour import slab as wood
from model.behaviour.course import Stay
from model.behaviour.rings import ring_notes
from model.behaviour.section import FLAT, FREE
from model.behaviour.shape import cupped
from model.codes import Note, Refusal
from model.properties import finishes
from model.properties.finishes import Faces, face
from model.spread import Figure
from model.surroundings.calendar import day_of


@dataclass(frozen=True, slots=True)
class Diagnosed:
    """The model's diagnosis, or the formula alone where no history is told.

    before, by_formula : moisture before [%]; lost : percent of the width before.
    """

    found: Diagnosis | None
    before: Figure
    by_formula: Figure | None
    lost: float | None


def answer(asked: Asked) -> Reply[Diagnosed]:
    """Diagnose the slab and say what goes along."""
    ratio = asked.width_ratio
    lost = None if ratio is None else 100.0 * (1.0 - ratio)
    if not asked.spells:
        return _by_formula_alone(asked, lost)
    found = diagnose(
        _history(asked),
        asked.next_room,
        None if asked.finish is None else asked.finish.top,
        asked.samples.draws,
        asked.samples.seed,
    )
    cautions = list(found.cautions)
    for faces in (*(spell.faces for spell in asked.spells), asked.finish):
        cautions += [] if faces is None else finishes.cautions(faces)
    return Reply(
        Diagnosed(found, found.before, found.by_formula, lost),
        [*found.notes, *_of_stays(asked), *ring_notes(asked.slab)],
        cautions,
        cite(
            *("moisture-before", "diagnosis-fit", "transport-diffusion"),
            *(one for room in dict.fromkeys(asked.rooms) for one in room.formulas),
            *finishes.formulas(*(spell.faces for spell in asked.spells), asked.finish),
        ),
    )


def _of_stays(asked: Asked) -> list[Note | Under]:
    """What the rooms and finishes of the stays say, each where it is told."""
    told: list[Note | Under] = []
    for index, spell in enumerate(asked.spells):
        notes = [
            *(() if spell.room is None else spell.room.notes),
            *(() if spell.faces is None else finishes.notes(spell.faces)),
        ]
        told += [Under(f"/stays/{index}", note) for note in notes] if asked.stays else notes
    return told


def _by_formula_alone(asked: Asked, lost: float | None) -> Reply[Diagnosed]:
    """The shrinkage formula where nothing is told of where it has been."""
    try:
        found = formula.alone(asked.slab, _today(asked), asked.samples)
    except Refusal as error:
        raise ValidationError(words.refused(error)) from error
    return Reply(
        Diagnosed(None, found.before, found.before, lost),
        found.notes,
        wood.cautions(asked.slab, found.now),
        cite("moisture-before"),
    )


def _today(asked: Asked) -> tuple[Sighting, ...]:
    """What was measured today."""
    slab, ratio, errors = asked.slab, asked.width_ratio, asked.errors
    seen: list[Sighting] = []
    if asked.moisture is not None:
        seen += moistures_seen(asked.moisture, asked.left, errors.meter)
    if ratio is not None:
        stretch = None
        if asked.fixings is not None:
            stretch = asked.fixings.distance
        elif asked.gap is not None:
            stretch = asked.gap.sees * slab.width
        seen.append(width_seen(slab, ratio * slab.width, stretch=stretch, error=errors.tape))
    if asked.cup is not None:
        seen.append(cup_seen(asked.cup, error=errors.cup))
    return tuple(seen)


def _history(asked: Asked) -> History:
    """The model's history."""
    errors = asked.errors
    seen = [*_today(asked)]
    for one in asked.seen:
        if one.width is not None:
            seen.append(width_seen(asked.slab, one.width, one.day, error=errors.tape))
        if one.cup is not None:
            seen.append(cup_seen(one.cup, one.day, errors.cup))
    if asked.looks.end_grain is not None:
        seen.append(end_grain_seen(asked.looks.end_grain, errors.meter))
    before = asked.moisture_before
    return History(
        slab=asked.slab,
        stays=_stays(asked),
        start_day=0.0 if asked.from_date is None else day_of(asked.from_date),
        faces_known=any(spell.faces is not None for spell in asked.spells),
        sightings=tuple(seen),
        before=None if before is None else (before, max(BEFORE_ERROR, errors.meter)),
        strip=asked.ripped_strip,
        key=asked.keys,
        looks=replace(
            asked.looks.looks, key_split=asked.looks.looks.key_split or asked.keys is not None
        ),
    )


def _stays(asked: Asked) -> tuple[Stay, ...]:
    """The model's stays; faces, once told, hold for the stays after."""
    faces = Faces(face("bare"), face("bare"))
    stays = []
    for index, (spell, room) in enumerate(zip(asked.spells, asked.rooms, strict=True)):
        faces = spell.faces or faces
        begin = asked.log_begins(index)
        stays.append(
            Stay(
                air=room.air,
                days=spell.days,
                faces=faces,
                hold=FLAT if spell.held == "flat" else FREE,
                humidity_spread=room.humidity_spread,
                air_day=None if begin is None else max(begin, 0.0),
                dress_top=spell.dress.top,
                dress_bottom=spell.dress.bottom,
                machined_flat=spell.dress.flat,
            )
        )
    return tuple(stays)


def _percent_of(name: str) -> Callable[[Any], float]:
    return lambda one: 100.0 * float(getattr(one, name))


def _cup_of(name: str) -> Callable[[Any], Any]:
    return lambda one: cupped(getattr(one, name))


class DiagnosisCause(Answer):
    """A cause, and how likely it is."""

    cause = members.Word(tuple(CAUSES))
    words = members.Text(of=lambda one: CAUSES[one.cause])
    chance = members.Number(PERCENT, "that it is the cause", of=_percent_of("chance"))


class DiagnosisPart(Answer):
    """What bends it: a part of its cup."""

    part = members.Word(tuple(PARTS), of="cause")
    words = members.Text(of=lambda one: PARTS[one.cause])
    share = members.Figure(PERCENT, "of all that bends the same way as the cup")
    cup = members.Part(CupFigure, "what it adds to the cup today", of="cupped")
    largest_in = members.Number(
        PERCENT, "how often among the draws it is the largest", of=_percent_of("main")
    )


class DiagnosisOption(Answer):
    """What is still to come if something is done now."""

    what = members.Word(tuple(DOINGS.values()), of=lambda one: DOINGS[one.doing])
    cup_after_month = members.Part(CupFigure, of=_cup_of("cup_after_month"))
    cup_after_year = members.Part(CupFigure, of=_cup_of("cup_after_year"))
    largest_cup = members.Part(CupFigure, "from today on", of=_cup_of("largest_cup"))
    width_change = members.Figure(LENGTH, "from today, after a year")
    moisture = members.Figure(PERCENT, "after a year")


class DiagnosisMeasurement(Answer):
    """A cheap measurement."""

    what = members.Word(tuple(MEASURINGS), of="measuring")
    how = members.Text(of=lambda one: MEASURINGS[one.measuring])
    uncertainty_removed = members.Number(
        PERCENT,
        "share of the doubt whether the likeliest cause is the true one",
        of=_percent_of("uncertainty_removed"),
    )


class DiagnosisAlternative(Answer):
    """What would have to be otherwise than told for the rest to fit."""

    what = members.Word(tuple(OTHERWISE), of="otherwise")
    words = members.Text(of=lambda one: OTHERWISE[one.otherwise])
    misfit = members.Number(PLAIN, "that is left, in standard deviations")


class DiagnosisLying(Answer):
    """The likeliest way it lay, when its faces were not told."""

    how = members.Word(tuple(LYINGS.values()), of=lambda lay: LYINGS[lay.lying])
    chance = members.Number(PERCENT, of=_percent_of("chance"))


class DiagnosisStrip(Answer):
    """What a strip ripped off tells."""

    strain = members.Number(MICROSTRAIN, "difference over its breadth, in millionths")
    moisture_difference = members.Number(PERCENT, "that would bow it as much without any stress")
    stress = members.Number(
        STRESS, "difference over its breadth", left_out="where the wood's stiffness is not known"
    )


def _of(name: str) -> Callable[[Diagnosed], Any]:
    """A member of the diagnosis; None without one."""
    return lambda one: None if one.found is None else getattr(one.found, name)


def _main(one: Diagnosed) -> Any:
    return LEFT_OUT if one.found is None else one.found.main


_NO_HISTORY: Final = "where nothing is told of where it has been"


class DiagnosisAnswer(Answer):
    """The moisture it must have had, what bent it, what is still to come, what would tell."""

    before = members.OpenFigure(
        PERCENT, "mean moisture before; high null: green, the width tells no more"
    )
    now = members.Figure(PERCENT, "mean moisture today", of=_of("now"), left_out=_NO_HISTORY)
    cup = members.Part(
        CupFigure, "today, as the model has it", of=_of("cupped"), left_out=_NO_HISTORY
    )
    main = members.Word(
        tuple(CAUSES),
        "the likeliest cause, where its chance is 85 % or more",
        of=_main,
        left_out=_NO_HISTORY,
        null="when none is that likely, what was seen does not fit, or there is no cup to explain",
    )
    causes = members.Rows(
        DiagnosisCause,
        "likeliest first; what is left to 100 % is something else",
        of=_of("chances"),
        left_out=_NO_HISTORY,
    )
    parts = members.Rows(
        DiagnosisPart, "what bends it, largest first", of=_of("shares"), left_out=_NO_HISTORY
    )
    alternatives = members.Rows(
        DiagnosisAlternative,
        "what would have to be otherwise, best first; none where what was seen fits",
        of=_of("alternatives"),
        left_out=_NO_HISTORY,
    )
    still_to_come = members.Rows(DiagnosisOption, of=_of("options"), left_out=_NO_HISTORY)
    measure = members.Rows(
        DiagnosisMeasurement,
        "best first; none without a spread",
        of=_of("measurements"),
        left_out=_NO_HISTORY,
    )
    misfit = members.Number(
        PLAIN,
        "root mean square miss of what was seen, in standard deviations",
        of=_of("misfit"),
        left_out=_NO_HISTORY,
    )
    effective_draws = members.Number(
        PLAIN,
        "how many equal draws those tried are worth; below 100 their weights are evened out",
        of=_of("effective_draws"),
        left_out=_NO_HISTORY,
    )
    width_lost = members.Number(
        PERCENT, "share of the width before", of="lost", left_out="without a width today"
    )
    by_formula = members.Figure(
        PERCENT,
        "moisture before by the shrinkage formula alone",
        left_out="without a width and a moisture today",
    )
    lying = members.Part(DiagnosisLying, of=_of("lay"), left_out="when the faces are told")
    ripped_strip = members.Part(DiagnosisStrip, of=_of("strip"), left_out="without a strip")
    key_force = members.Figure(
        FORCE,
        "least force that sheared the key",
        of=_of("key_force"),
        left_out="without a key that sheared",
    )
