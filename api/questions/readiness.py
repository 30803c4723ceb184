"""`/v1/readiness`: when a slab will be ready, from dated readings or weights of it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any, ClassVar, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api.evidence import (
    OPEN_FIGURE_SCHEMA,
    MeterShape,
    build_meter,
    is_reference_wood,
    meters,
    once,
    open_duration,
    opened,
    refuse_wet,
    too_deep,
)
from api.quantities import DAYS, PERCENT, Mass, Moisture, Plain, days, length, percent, plain
from api.question import Answered, Asked, Example, Question, Reply
from api.replies.csv import Column, Table
from api.replies.text import Page, Rows
from api.schema import FIGURE_SCHEMA, Date, Either, Part, Shape, SpreadShape
from api.schema import Rows as RowsField
from api.shapes import (
    RoomShape,
    SlabShape,
    build_faces,
    build_room,
    build_slab,
    faces_field,
    faces_notes,
    room_field,
    slab_cautions,
)
from model.answers import readiness, reading
from model.answers.readiness import Answer, Case, Observation, Target
from model.basis import Note, cite
from model.behaviour.slab import HIGHEST_MOISTURE, Slab
from model.properties import sorption
from model.spread import DEFAULT_DRAWS, Figure
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR, day_of
from model.surroundings.room import Room

LONGEST: Final = 7310  # days from the first reading to the day of the answer; twenty years
MOST: Final = 500  # readings; the contract of version 1
SETTLED_DAYS: Final = 14.0  # of a log's end whose mean is taken to go on (judgement)
AFTER_LOG: Final = 10.0 * YEAR  # days that mean is laid out for


class DatedShape(MeterShape):
    """One dated reading of a meter, or a weight of the whole slab."""

    together: ClassVar[dict[str, Any]] = {
        **meters("date", weighed=True),
        "not": {"required": ["place"], "properties": {"place": {"enum": ["edge", "end"]}}},
    }

    date = Date("day it was read", required=True)
    weight = Mass("weight of the whole slab, instead of a reading", low=0.05, high=5000.0)
    step = Mass("smallest step of the scale that weighed it", low=0.0, high=10.0)

    def _figure_once(self, original: Any) -> None:
        given = [name for name in ("value", "resistance", "weight") if name in original]
        if len(given) != 1:
            told = f"{' and '.join(given)} given" if given else "missing"
            raise ValidationError(f"value, resistance or weight: {told}; give one of them")
        idle = sorted(set(original) - {"weight", "step", "date"}) if "weight" in original else []
        if idle:
            raise ValidationError(f"a weight has no use for {', '.join(idle)}: leave out")
        if "step" in original and "weight" not in original:
            raise ValidationError("the step of a scale given without weight: leave out", "step")

    @validates_schema
    def _of_the_body(self, data: Any, **kwargs: Any) -> None:
        if "weight" in data:
            for name in ("kind", "place", "compensated", "scale"):  # defaults of meters
                data.pop(name, None)
        if data.get("place") in ("edge", "end"):
            raise ValidationError(
                f"`{data['place']}` given: that zone follows the air in weeks and says nothing of "
                "when the slab is ready; read a face, 300 mm from the ends",
                "place",
            )


class TargetShape(Shape):
    """The room the slab is going to."""

    room = Part(RoomShape, "the room it goes to; a log will not do", required=True)


class ReadinessShape(SpreadShape):
    """A slab, where it stands, what was read when, and where it is going."""

    slab = Part(SlabShape, "the slab, with the size it has at the first reading", required=True)
    faces = faces_field()
    room = room_field("where it has stood since the first reading and will stand", required=True)
    readings = RowsField(
        "dated readings or weights, in the order of their dates",
        DatedShape,
        shortest=1,
        longest=MOST,
        required=True,
    )
    target = Either(
        "where it is going: a moisture content, or the room",
        Moisture("moisture content to reach", low=2.0, high=30.0),
        TargetShape,
        required=True,
    )
    within = Plain(
        "distance from the target that will do, in points of moisture",
        low=0.1,
        high=5.0,
        load_default=1.0,
    )
    dry_weight = Mass("oven-dry weight of the slab, if it is known", low=0.05, high=5000.0)
    today = Date("day of the answer; that of the last reading when left out")


@dataclass(frozen=True, slots=True)
class Ready:
    """The result: the model's answer with its dates and what became of every reading."""

    found: Answer
    as_of: datetime.date
    used: tuple[int, ...]  # readings of the question behind those of the model
    target: Target


def _dates(asked: Asked) -> list[datetime.date]:
    """Dates of the readings; refuses those out of order and a day of the answer before the last."""
    dates = [row["date"] for row in asked["readings"]]
    wrong: dict[int, dict[str, list[str]]] = {
        index: {
            "date": [
                f"`{dates[index]}` given: before the reading above it, {dates[index - 1]}; write "
                "them in the order of their dates"
            ]
        }
        for index in range(1, len(dates))
        if dates[index] < dates[index - 1]
    }
    if wrong:
        raise ValidationError({"readings": wrong})
    today = asked.get("today", dates[-1])
    if today < dates[-1]:
        raise ValidationError(f"`{today}` given: before the last reading, {dates[-1]}", "today")
    if (today - dates[0]).days > LONGEST:
        raise ValidationError(
            f"{dates[0]} to {today} given: at most {LONGEST} days, 20 years", "readings"
        )
    return dates


def _day(date: datetime.date, first: datetime.date) -> float:
    """Day number of a date: that of the first reading, and calendar days from there on.

    The model's months are equal; counting on keeps the time between readings exact.
    """
    return day_of(first) + float((date - first).days)


def _air(room: Room, asked: Asked, first: datetime.date) -> tuple[Air, list[Note]]:
    """The air by the readings' day numbers; after a log its last fortnight is taken to go on."""
    if room.method != "logged":
        return room.air, []
    zero = asked["room"]["log"]["time"][0]
    hours = zero.hour + zero.minute / 60.0
    shifted = room.air.days + _day(zero.date(), first) + hours / 24.0
    begins = day_of(first)
    if shifted[0] > begins + 1.0:
        raise ValidationError(
            {"room": {"log": [f"begins on {zero.date()}, after the first reading, {first}"]}}
        )
    last = float(shifted[-1])
    recent = np.linspace(max(float(shifted[0]), last - SETTLED_DAYS), last, 200)
    logged = Air(shifted, room.air.temperature, room.air.relative_humidity)
    warm, damp = (float(np.mean(values)) for values in logged.at_days(recent))
    # A reading on the log's first morning may lie some hours before its first line.
    before = [min(begins, float(shifted[0])) - 1.0]
    air = Air(
        np.concatenate([before, shifted, [last + 0.5, last + AFTER_LOG]]),
        np.concatenate([room.air.temperature[:1], room.air.temperature, [warm, warm]]),
        np.concatenate([room.air.relative_humidity[:1], room.air.relative_humidity, [damp, damp]]),
    )
    note = Note(
        "after-the-log",
        f"After the log's end the mean of its last {SETTLED_DAYS:g} days, {warm:.0f} °C and "
        f"{damp:.0f} %, is taken to go on.",
        "/room/log",
        "judgement",
    )
    return air, [note]


def _target(asked: Asked) -> tuple[Target, list[Note]]:
    told = asked["target"]
    if not isinstance(told, dict):
        return Target(told, asked["within"]), []
    if "log" in told["room"]:
        raise ValidationError(
            {"target": {"room": {"log": ["given: a log has no year; give months or a place"]}}}
        )
    try:
        room = build_room(told["room"])
    except ValidationError as error:
        raise ValidationError({"target": error.normalized_messages()}) from error  # type: ignore[no-untyped-call]
    rise = float(np.mean(sorption.slope(room.temperature, room.relative_humidity)))
    target = Target(room.mean_equilibrium, asked["within"], True, rise, room.humidity_spread)
    year = Note(
        "destination-year",
        f"The room it goes to holds wood between {room.driest.moisture:.1f} and "
        f"{room.dampest.moisture:.1f} % through the year; the mean, "
        f"{room.mean_equilibrium:.1f} %, is the target.",
        "/target",
        "Wood Handbook FPL-GTR-190 eq. 4-5",
    )
    return target, [*room.notes, year]


def _observations(
    asked: Asked, slab: Slab, dates: list[datetime.date]
) -> tuple[list[Observation], list[int], list[Note]]:
    """The model's observations, which readings they are, and notes of how they were read."""
    found: list[Observation] = []
    used: list[int] = []
    notes: list[Note] = []
    wrong: dict[int, Any] = {}
    outside: list[int] = []
    for index, (row, date) in enumerate(zip(asked["readings"], dates, strict=True)):
        day = _day(date, dates[0])
        if "weight" in row:
            error = row.get("step", 0.0) / np.sqrt(12.0)
            scatter = float(max(error, readiness.WEIGHING * row["weight"]))
            found.append(Observation(day, row["weight"], scatter, kind="weight", group="scale"))
            used.append(index)
            continue
        fault = too_deep(row.get("depth", 0.0), slab.thickness)
        if fault:
            wrong[index] = {"depth": [fault]}
            continue
        try:
            one = reading.correct(
                build_meter(row, slab.thickness),
                slab.thickness,
                slab.species.specific_gravity,
                is_reference_wood(slab),
            )
        except ValueError as error_found:
            wrong[index] = [str(error_found)]
            continue
        notes += one.notes
        if one.moisture is None:
            outside.append(index)
            continue
        found.append(
            Observation(
                day,
                one.moisture,
                one.scatter,
                one.bias,
                "moisture",
                one.depth_from,
                one.depth_to,
                one.kind,
            )
        )
        used.append(index)
    if wrong:
        raise ValidationError({"readings": wrong})
    if outside:
        listed = ", ".join(str(index + 1) for index in outside[:10])
        notes.append(
            Note(
                "out-of-range",
                f"Outside the instrument's range, so not numbers and left out: reading {listed}.",
                "/readings",
                "Wood Handbook FPL-GTR-190: conductance 6 to 30 %, dielectric 4 to 30 %",
            )
        )
    if not found:
        raise ValidationError(
            {"readings": ["every reading lies outside its meter's range: nothing to go by"]}
        )
    return found, used, once(notes)


def _refuse_weights(asked: Asked, slab: Slab) -> None:
    """Refuse weights without a size to go by, and such as this slab cannot have."""
    weights = {i: row["weight"] for i, row in enumerate(asked["readings"]) if "weight" in row}
    if not weights:
        return
    usual = slab.weight(0.0)
    if "dry_weight" not in asked and usual is None:
        raise ValidationError(
            {"dry_weight": ["missing: weights need the slab's length or its oven-dry weight"]}
        )
    if "dry_weight" in asked:
        low = asked["dry_weight"]
        high = low * (1.0 + HIGHEST_MOISTURE / 100.0)
        told = f"its oven-dry weight is {low:.4g} kg"
    else:
        assert usual is not None
        # Three deviations of the density either way, and green at the upper end.
        low, high = 0.7 * usual, 1.3 * usual * (1.0 + HIGHEST_MOISTURE / 100.0)
        told = f"a slab of this wood and size weighs about {usual:.4g} kg oven-dry"
    wrong = {
        i: {"weight": [f"{weight:.4g} kg given: {told}; write the weight of the whole slab"]}
        for i, weight in weights.items()
        if not low <= weight <= high
    }
    if wrong:
        raise ValidationError({"readings": wrong})


def _answer(asked: Asked) -> Reply:
    refuse_wet(asked["faces"])
    slab = build_slab(asked["slab"])
    dates = _dates(asked)
    room = build_room(asked["room"])
    air, notes = _air(room, asked, dates[0])
    target, of_target = _target(asked)
    observations, used, of_readings = _observations(asked, slab, dates)
    _refuse_weights(asked, slab)
    as_of = asked.get("today", dates[-1])
    found = readiness.answer(
        Case(slab, build_faces(asked["faces"]), air, room.humidity_spread, asked.get("dry_weight")),
        observations,
        target,
        _day(as_of, dates[0]),
        DEFAULT_DRAWS if asked["spread"] == "sampled" else 0,
        asked["seed"],
    )
    result = Ready(
        found,
        as_of,
        tuple(used),
        target,
    )
    mean_now = found.present.mean.value
    return Reply(
        _members(result, dates),
        result,
        [*found.notes, *notes, *of_target, *of_readings, *room.notes, *faces_notes(asked["faces"])],
        [*(slab_cautions(slab, mean_now) or found.cautions[:1]), *found.cautions[1:]],
        cite("readiness-fit", "transport-diffusion", "equilibrium-moisture"),
    )


def _members(result: Ready, dates: list[datetime.date]) -> dict[str, Any]:
    found = result.found
    ready = found.ready_in is not None and found.ready_in.value == 0.0
    on = None
    if found.ready_in is not None:
        on = {"central": _date(result, found.ready_in.value)}
        if found.ready_in.low is not None and found.ready_in.high is not None:
            on["early"] = _date(result, found.ready_in.low)
            on["late"] = _date(result, found.ready_in.high)
    rewetted = None
    if found.flags.rewetted is not None:
        rewetted = next(
            date for date in dates if _day(date, dates[0]) >= found.flags.rewetted - 0.5
        ).isoformat()
    answer: dict[str, Any] = {
        "ready": ready,
        "as_of": result.as_of.isoformat(),
        "ready_in": opened(found.ready_in, days),
        "ready_on": on,
        "chance_ready": percent(100.0 * found.chance_ready),
        "target": percent(result.target.moisture),
        "present": {
            name: percent(getattr(found.present, name))
            for name in ("mean", "top", "core", "bottom")
        },
        "profile": {
            "depth": length(found.present.depth),
            "moisture": percent(found.present.moisture),
            "low": percent(found.present.low),
            "high": percent(found.present.high),
        },
        "apart": [
            {"of": f"/readings/{result.used[i]}", "deviations": plain(float(apart))}
            for i, apart in zip(found.used, found.residual, strict=True)
        ],
        "rate": {
            "transport_factor": plain(found.transport),
            "against_species": plain(found.against_species),
            "known_within": plain(found.rate_factor),
            "learned": percent(100.0 * max(found.rate_learned, 0.0)),
        },
        "settles_here": percent(found.settles_here),
        "humidity_needed": None,
        "core_when_ready": None,
        "flags": {
            "contradicting": [
                f"/readings/{result.used[index]}" for index in found.flags.contradicting
            ],
            "rate_unlike_species": found.flags.species_contradicted,
            "rewetted_on": rewetted,
            "stuck": found.flags.stuck,
        },
    }
    if found.humidity_needed is not None:
        answer["humidity_needed"] = percent(found.humidity_needed)
    if found.core_when_ready is not None:
        answer["core_when_ready"] = percent(found.core_when_ready)
    return answer


def _date(result: Ready, ahead: float) -> str | None:
    """A date so many days ahead; None when that lies open."""
    if not np.isfinite(ahead):
        return None
    try:
        return (result.as_of + datetime.timedelta(days=int(np.ceil(ahead - 1e-9)))).isoformat()
    except OverflowError:  # beyond the year 9999
        return None


def _text(answered: Answered) -> Page:
    result: Ready = answered.reply.result
    found = result.found
    points = "point" if result.target.within == 1.0 else "points"
    target = f"{result.target.within:g} {points} of {result.target.moisture:.1f} %"
    now = _told(found.present.mean)
    if found.ready_in is None:
        decision = f"Not ready, and not getting there where it stands: it holds {now}"
        decision += f" and would settle near {found.settles_here.value:.1f} % here."
        if found.humidity_needed is not None:
            decision += (
                f" Air of about {found.humidity_needed:.0f} % humidity would bring it there."
            )
    elif found.ready_in.value == 0.0:
        decision = f"Ready: it holds {now}, within {target}."
    else:
        on = _date(result, found.ready_in.value)
        decision = (
            f"Not yet: it holds {now} and comes within {target} in "
            f"{open_duration(found.ready_in)}, around {on}."
        )
    rows = [
        ["mean", *_cells(found.present.mean)],
        ["top face", *_cells(found.present.top)],
        ["middle", *_cells(found.present.core)],
        ["bottom face", *_cells(found.present.bottom)],
    ]
    parts: list[Rows | str] = [Rows(rows, title=f"On {result.as_of}", heads=["", "now", "likely"])]
    if found.ready_in is not None and found.ready_in.low is not None:
        assert found.ready_in.high is not None
        late = _date(result, found.ready_in.high)
        ends = [
            ["early", str(_date(result, found.ready_in.low))],
            ["likely", str(_date(result, found.ready_in.value))],
            ["late", "open" if late is None else late],
        ]
        parts.append(Rows(ends, title="Ready on"))
    parts.append(
        f"It moves moisture {found.against_species:.2f} times as fast as its species usually does, "
        f"known within a factor of {found.rate_factor:.2f}. Left here it would settle near "
        f"{found.settles_here.value:.1f} %."
    )
    return Page(decision, parts)


def _told(figure: Figure) -> str:
    if figure.low is None or figure.high is None:
        return f"{figure.value:.1f} %"
    return f"{figure.value:.1f} % ({figure.low:.1f} to {figure.high:.1f})"


def _cells(figure: Figure) -> list[str]:
    if figure.low is None or figure.high is None:
        return [f"{figure.value:.1f} %"]
    return [f"{figure.value:.1f} %", f"{figure.low:.1f} to {figure.high:.1f}"]


def _table(answered: Answered) -> Table:
    """The fitted course of the mean, from the first reading fitted on."""
    result: Ready = answered.reply.result
    trace = result.found.trace
    return Table(
        [
            Column("day", trace.days - result.found.as_of, DAYS),
            Column("mean", trace.mean, PERCENT),
            Column("low", trace.low, PERCENT),
            Column("high", trace.high, PERCENT),
        ],
        answered.system,
    )


_NUMBERS: Final = {"type": "array", "items": {"type": "number"}}
_NUMBER: Final = {"type": "number"}
_NUMBER_OR_NULL: Final = {"type": ["number", "null"]}
_DATE: Final = {"type": "string", "format": "date"}
_DATE_OR_NULL: Final = {"type": ["string", "null"], "format": "date"}

QUESTION = Question(
    name="readiness",
    title="Readiness",
    summary="From dated readings or weights: the present state and the rate of drying fitted "
    "together, the date when it is ready (central, early, late), and whether the readings "
    "contradict each other or the species, or the slab is stuck or was wetted.",
    shape=ReadinessShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "ready": {"type": "boolean"},
            "as_of": _DATE,
            "ready_in": {
                **OPEN_FIGURE_SCHEMA,
                "description": "days from as_of; null when not within five years",
            },
            "ready_on": {
                "anyOf": [
                    {"type": "null"},
                    {
                        "type": "object",
                        "properties": {
                            "central": _DATE,
                            "early": _DATE,
                            "late": _DATE_OR_NULL,
                        },
                        "required": ["central"],
                    },
                ]
            },
            "chance_ready": _NUMBER,
            "target": _NUMBER,
            "present": {
                "type": "object",
                "properties": dict.fromkeys(("mean", "top", "core", "bottom"), FIGURE_SCHEMA),
                "required": ["mean", "top", "core", "bottom"],
            },
            "profile": {
                "type": "object",
                "properties": dict.fromkeys(("depth", "moisture", "low", "high"), _NUMBERS),
            },
            "apart": {
                "type": "array",
                "description": "how far each reading fitted is from what all others say, in "
                "standard deviations",
                "items": {
                    "type": "object",
                    "properties": {"of": {"type": "string"}, "deviations": _NUMBER},
                },
            },
            "rate": {
                "type": "object",
                "properties": {
                    "transport_factor": FIGURE_SCHEMA,
                    "against_species": _NUMBER,
                    "known_within": _NUMBER,
                    "learned": _NUMBER,
                },
            },
            "settles_here": FIGURE_SCHEMA,
            "humidity_needed": _NUMBER_OR_NULL,
            "core_when_ready": _NUMBER_OR_NULL,
            "flags": {
                "type": "object",
                "properties": {
                    "contradicting": {"type": "array", "items": {"type": "string"}},
                    "rate_unlike_species": {"type": "boolean"},
                    "rewetted_on": _DATE_OR_NULL,
                    "stuck": {"type": "boolean"},
                },
            },
        },
        "required": ["ready", "as_of", "ready_in", "ready_on", "present", "rate", "flags"],
    },
    text=_text,
    table=_table,
    follows=True,
    examples=(
        Example(
            "The library table in its shop, five readings in",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                },
                "faces": {"top": "bare", "bottom": "bare"},
                "room": {"climate": "Duluth", "kind": "heated_shop", "heat_to": "65F"},
                "readings": [
                    {"date": "2026-09-25", "value": 12.5, "temperature": "65F"},
                    {"date": "2026-10-16", "value": 11.6, "temperature": "65F"},
                    {"date": "2026-11-06", "value": 10.8, "temperature": "65F"},
                    {"date": "2026-11-27", "value": 9.9, "temperature": "65F"},
                    {"date": "2026-12-18", "value": 9.3, "temperature": "65F"},
                ],
                "target": {
                    "room": {
                        "climate": "Duluth",
                        "heat_to": "70F",
                        "cool_to": "76F",
                        "occupied": "normally",
                    }
                },
            },
        ),
        Example(
            "A walnut slab by its weight, to 8 %",
            {
                "slab": {
                    "species": "black walnut",
                    "width": "500mm",
                    "thickness": "52mm",
                    "length": "2100mm",
                },
                "room": {"temperature": "20C", "relative_humidity": 40},
                "dry_weight": "29.6kg",
                "readings": [
                    {"date": "2026-03-02", "weight": "34.62kg", "step": "20g"},
                    {"date": "2026-03-23", "weight": "34.18kg", "step": "20g"},
                    {"date": "2026-04-13", "weight": "33.82kg", "step": "20g"},
                    {"date": "2026-05-04", "weight": "33.54kg", "step": "20g"},
                ],
                "target": 8,
            },
        ),
    ),
)
