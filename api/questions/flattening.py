"""`/v1/flattening`: taking a cup out by water, clamps and time, and the other ways beside it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api.holding import (
    CLAMPS,
    DUST,
    PEOPLE,
    STRUCTURE,
    CupShape,
    StiffenersShape,
    build_cup,
    build_stiffeners,
    refuse_for_years,
)
from api.quantities import (
    DAYS,
    FORCE,
    LENGTH,
    MOMENT,
    PERCENT,
    Days,
    Hours,
    Plain,
    System,
    Temperature,
    days,
    force,
    hours,
    length,
    mass,
    moment,
    plain,
    stress,
    temperature,
)
from api.question import Answered, Asked, Example, Question, Reply
from api.replies import text
from api.replies.csv import Column, Table
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.schema import FIGURE_SCHEMA, Choice, Date, Flag, Part, Shape, SpreadShape
from api.shapes import (
    CUP_SCHEMA,
    SlabShape,
    build_faces,
    build_moisture,
    build_room,
    build_slab,
    cup_members,
    faces_cautions,
    faces_field,
    faces_notes,
    moisture_field,
    room_field,
    slab_cautions,
)
from model import spread
from model.answers import flattening
from model.answers.flattening import Case, Clamping, Flattening, Plan, Treatment
from model.basis import Note, cite
from model.behaviour.slab import profile
from model.spread import figure
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

# Six courses of years a question: half the usual draws keep it under two seconds (measured).
DRAWS: Final = 64

WATER: Final = (
    "Hot water, wet cloths and steam scald: gloves, eyes away from steam, no boiling water near "
    "electric heaters or leads."
)
HEAT: Final = (
    "Heaters: electric or vented only, clear of wood, cloths and plastic, never left running "
    "unseen; a fuel heater indoors needs fresh air and a carbon monoxide alarm."
)
RAGS: Final = (
    "Rags wet with drying oil can heat up and catch fire by themselves: spread them out to dry in "
    "the open or keep them under water in a closed metal can."
)
WEIGHTS: Final = (
    "Weights that flatten a slab are tonnes on each square metre: bench and floor must bear them; "
    "let nobody reach or stand under."
)


class PlanShape(Shape):
    """What is to be done; left out, or with warmth and drying room alone, one is proposed."""

    together = {
        "dependentRequired": {
            name: ["wet_face"] for name in ("hours", "hold", "over_correct", "days")
        }
    }

    wet_face = Choice(
        "face kept wet; none for clamps alone", ("round", "hollow", "top", "bottom", "none")
    )
    hours = Hours("how long it is kept wet", low=0.5, high=336.0, load_default=24.0)
    temperature = Temperature("warmth of slab and water while wet", low=0.0, high=60.0)
    hold = Flag("whether it is clamped while it dries", load_default=True)
    over_correct = Plain(
        "share of the cup it is bent back by: 1 flat, 1.25 a quarter past flat",
        low=0.5,
        high=2.0,
        load_default=flattening.OVER_CORRECT,
    )
    days = Days("how long it is held; until it is even when left out", low=1.0, high=730.0)
    drying = room_field("where it dries; its own room when left out; not a log")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _whole(self, data: Any, original: Any, **kwargs: Any) -> None:
        names = ("hours", "hold", "over_correct", "days")
        alone = [name for name in names if name in original]
        if alone and "wet_face" not in original:
            raise ValidationError(
                f"{', '.join(alone)} given without wet_face: add it (none for clamps alone), or "
                "leave them out to have a plan proposed",
                "wet_face",
            )
        if original.get("hold") is False:
            if "days" in original or "over_correct" in original:
                raise ValidationError("hold is false: leave days and over_correct out", "hold")
            if original.get("wet_face") == "none":
                raise ValidationError("neither wetted nor held: that is no plan", "hold")


class FlatteningShape(SpreadShape):
    """A cupped slab, where it is to live, and a plan."""

    slab = Part(SlabShape, "the slab, with the size it has today", required=True)
    cup = Part(CupShape, "its cup now", required=True)
    moisture = moisture_field("moisture content now", required=True)
    faces = faces_field("what is on the faces afterwards; bare when left out")
    room = room_field("the room it will live in; not a log", required=True)
    starts = Date("day the work starts; 1 January when left out")
    plan = Part(PlanShape, "what is to be done; proposed when left out")
    stiffeners = Part(StiffenersShape, "bars it gets afterwards, told of beside the free slab")

    @validates_schema
    def _a_cup(self, data: Any, **kwargs: Any) -> None:
        amount = data["cup"]["amount"]
        if amount == 0.0:
            raise ValidationError({"cup": {"amount": ["0 given: there is no cup to take out"]}})
        if amount > 0.25 * data["slab"]["width"]:
            width = 1e3 * data["slab"]["width"]
            raise ValidationError(
                {
                    "cup": {
                        "amount": [
                            f"{1e3 * amount:g} mm given: more than a quarter of the width, "
                            f"{width:g} mm, is no cup this model covers"
                        ]
                    }
                }
            )


def _answer(asked: Asked) -> Reply:
    refuse_for_years(asked)
    slab = build_slab(asked["slab"])
    cup = build_cup(asked["cup"])
    bars = build_stiffeners(asked["stiffeners"], slab) if "stiffeners" in asked else None
    room = build_room(asked["room"])
    draws = DRAWS if asked["spread"] == "sampled" else 0
    case = Case(
        slab,
        cup,
        build_moisture(asked["moisture"], slab.thickness),
        build_faces(asked["faces"]),
        room,
        day_of(asked["starts"]) if "starts" in asked else 0.0,
        spread.draw(draws, asked["seed"]),
        bars,
    )
    given = asked.get("plan", {})
    drying = _drying(given, room)
    plan = _plan(case, given, drying)
    made = flattening.flatten(case, drying, plan, given.get("temperature"))
    now = float(
        np.mean(profile(case.moisture, np.linspace(0.0, slab.thickness, 41), slab.thickness))
    )
    return Reply(
        _members(made),
        made,
        [*made.notes, *room.notes, *faces_notes(asked["faces"]), *_undated(asked)],
        _cautions(asked, slab_cautions(slab, now)),
        cite("flattening", "clamping", "transport-diffusion", "shrinkage"),
    )


def _drying(given: dict[str, Any], room: Room) -> Room:
    if "drying" not in given:
        return room
    if "log" in given["drying"]:
        told = "given: give months, a place or steady air to dry in"
        raise ValidationError({"plan": {"drying": {"log": [told]}}})
    try:
        return build_room(given["drying"], "drying")
    except ValidationError as error:
        raise ValidationError({"plan": error.messages}) from error


def _plan(case: Case, given: dict[str, Any], drying: Room) -> Plan | None:
    if "wet_face" not in given:
        return None
    face = given["wet_face"]
    if face in ("top", "bottom"):
        face = "round" if face == case.round else "hollow"
    wet = None if face == "none" else face
    plan = Plan(
        wet_face=wet,
        hours=given["hours"] if wet else 0.0,
        hold_days=given.get("days", 1.0) if given["hold"] else 0.0,
        over_correct=given["over_correct"] if given["hold"] else 1.0,
        temperature=given.get("temperature"),
        drying=drying,
    )
    if given["hold"] and "days" not in given:
        before = flattening.stays_of(case, plan)[:-1]
        held = flattening.drying_days(replace(case, samples=spread.draw(0)), before, drying)
        plan = replace(plan, hold_days=held)
    return plan


def _undated(asked: Asked) -> list[Note]:
    if "starts" in asked:
        return []
    told = "No day is given: the work is taken to start on 1 January."
    return [Note("date-assumed", told, "/starts", "judgement")]


def _cautions(asked: Asked, heavy: list[str]) -> list[str]:
    told = [STRUCTURE, PEOPLE, CLAMPS, WEIGHTS, *heavy, WATER, HEAT, DUST, RAGS]
    return list(dict.fromkeys([*told, *faces_cautions(asked["faces"])]))


def _signed(values: Any) -> dict[str, Any]:
    return cup_members(figure(values))


def _members(made: Flattening) -> dict[str, Any]:
    plan, treatment = made.plan, made.treatment
    told: dict[str, Any] = {
        "proposed": made.proposed,
        "wet_face": made.face or "none",
        "hold": bool(plan.hold_days),
        "hold_days": days(plan.hold_days or treatment.days),
        "over_correct": plain(plan.over_correct),
        "words": treatment.words,
    }
    if made.face:
        told["hours"] = hours(plan.hours)
        told["temperature"] = temperature(made.warmth)
    answer: dict[str, Any] = {
        "confidence": "low",
        "try_it": made.try_it,
        "reasons_against": list(made.reasons),
        "plan": told,
        "result": _outcome(treatment),
        "alternatives": [_outcome(one) for one in made.alternatives],
        "least_cup": {"losing_no_wood": made.best, "of_all": made.best_with_loss},
    }
    if made.uptake is not None:
        answer["water"] = {
            "kg_per_square_metre": plain(figure(made.uptake.per_area)),
            "depth": length(made.uptake.depth),
        }
        if made.uptake.whole is not None:
            answer["water"]["whole"] = mass(made.uptake.whole)
    if made.weight is not None:
        answer["weight"] = mass(made.weight)
    return answer


def _outcome(one: Treatment) -> dict[str, Any]:
    told: dict[str, Any] = {
        "name": one.name,
        "words": one.words,
        "days": days(one.days),
        "cup_released": _signed(one.released),
        "cup_after_year": _signed(one.after_year),
        "largest_in_year": _signed(one.largest_in_year),
        "stress_index": plain(figure(one.index)),
        "thickness_lost": length(one.thickness_lost),
        "width_lost": length(one.width_lost),
        "thickness_left": length(one.thickness_left),
    }
    if one.after_year_held is not None:
        told["cup_after_year_with_bars"] = _signed(one.after_year_held)
    if one.clamping is not None:
        told["clamping"] = _clamping(one.clamping)
    if one.bars is not None:
        told["bars"] = {
            "moment": moment(figure(one.bars.moment)),
            "moment_after_year": moment(figure(one.bars.lasting)),
            "pull_outermost": None if one.bars.pull is None else force(figure(one.bars.pull)),
        }
    return told


def _clamping(clamping: Clamping) -> dict[str, Any]:
    return {
        "moment_per_metre": moment(figure(clamping.moment)),
        "moment_at_the_end": moment(figure(clamping.lasting)),
        "cauls": clamping.cauls,
        "caul_spacing": length(clamping.spacing),
        "force_per_clamp": force(figure(clamping.force_per_clamp)),
        "even_load": stress(figure(clamping.load)),
    }


# kg/m2 in what is told, and its symbol: 1 lb/ft2 is 0.45359237/0.3048^2 kg/m2.
_PER_AREA: Final = {"us": (4.882428, "lb/ft2"), "metric": (1.0, "kg/m2")}
_LOAD: Final = {"us": (47.880259, "lb/ft2"), "metric": (1e3, "kN/m2")}  # Pa; lbf over ft2
_INCHES: Final[dict[str, str]] = {"us": "inches", "metric": "millimetres"}


def _text(answered: Answered) -> Page:
    made: Flattening = answered.reply.result
    system = answered.system
    parts: list[Rows | str] = [
        Rows(
            [
                _way(name, one, system)
                for name, one in [
                    ("the plan", made.treatment),
                    *((one.name, one) for one in made.alternatives),
                ]
            ],
            title=f"Side by side: cup in {_INCHES[system]}, plus is edges up",
            heads=["", "days", "let go", "a year on", "likely", "bars"],
        )
    ]
    parts += [f"{one.name}: {one.words}{_loss(one, system)}." for one in made.alternatives]
    if made.treatment.clamping is not None:
        clamping = made.treatment.clamping
        parts.append(
            Rows(_clamp_rows(clamping, system), title="Clamping", heads=["", "", "likely"])
        )
    parts += _bars_in_words(made, system)
    if made.uptake is not None:
        unit, symbol = _PER_AREA[system]
        water = figure(made.uptake.per_area / unit)
        band = "" if water.low is None else f" ({water.low:.2f} to {water.high:.2f})"
        parts.append(
            f"The wet face takes up about {water.value:.2f} {symbol}{band}, to a depth of "
            f"{text.length(made.uptake.depth, system)}."
        )
    return Page(_decision(made, system), parts)


def _bars_in_words(made: Flattening, system: System) -> list[str]:
    """What the bars bear that pull flat what the plan, or waiting alone, leaves."""
    told = []
    for after, one in (
        ("the plan", made.treatment),
        ("waiting alone", next(one for one in made.alternatives if one.name == flattening.WAIT)),
    ):
        if one.bars is None:
            continue
        turn, left = (
            text.amount(float(values[0]), MOMENT, system, 0)
            for values in (one.bars.moment, one.bars.lasting)
        )
        words = f"After {after} the bars pull flat what is left: each bears up to {turn}, {left} "
        words += "a year on"
        if one.bars.pull is not None:
            drawn = text.amount(float(one.bars.pull[0]), FORCE, system, 0)
            words += f"; an outermost fixing is pulled with up to {drawn}"
        told.append(words + ".")
    return told


def _decision(made: Flattening, system: System) -> str:
    plan = made.treatment.words
    left = figure(made.treatment.after_year)
    lead = "Confidence is low. "
    if not made.try_it:
        whose = "The best plan found: " if made.proposed else "The plan asked of: "
        lead += "Better not. " + " ".join(made.reasons) + " " + whose
    elif made.proposed:
        lead += "A plan to try, on an offcut first: "
    else:
        lead += "The plan asked of: "
    amount: spread.Figure = cup_members(left)["amount"].value
    told = f"{lead}{plan}. A year on about {text.short_length(amount.value, system)} is left"
    if amount.low is not None and amount.high is not None:
        low, high = (text.short_length(end, system) for end in (amount.low, amount.high))
        told += f" ({low} to {high}; minus is the other way)"
    told += f", {cup_members(left)['shape']}."
    if made.best != "the plan":
        told += f" Of the ways that lose no wood, {made.best} leaves least."
    if made.best_with_loss != made.best:
        told += f" Of all ways, {made.best_with_loss} leaves least."
    return told


def _way(name: str, one: Treatment, system: System) -> list[str]:
    year = figure(one.after_year)
    held = ""
    if one.after_year_held is not None:
        held = _short(float(one.after_year_held[0]), system)
    band = ""
    if year.low is not None and year.high is not None:
        band = f"{_short(year.low, system)} to {_short(year.high, system)}"
    return [
        name,
        f"{one.days:.0f}",
        _short(float(one.released[0]), system),
        _short(year.value, system),
        band,
        held,
    ]


def _short(signed: float, system: System) -> str:
    """A signed cup, plus for edges up, without unit in millimetres."""
    if system == "us":
        told = text.shop_fraction(signed / 0.0254)
        return told if told.startswith("-") or told == "0" else f"+{told}"
    return text.fixed(1e3 * signed, 1, signed=True)


def _loss(one: Treatment, system: System) -> str:
    lost = [
        f"{text.short_length(size, system)} of {name}"
        for name, size in (("thickness", one.thickness_lost), ("width", one.width_lost))
        if size > 0.0
    ]
    return f" (costs {' and '.join(lost)})" if lost else ""


def _clamp_rows(clamping: Clamping, system: System) -> list[list[str]]:
    rows = []
    # A moment for each metre of length, or for each foot.
    run, per = (0.3048, "foot") if system == "us" else (1.0, "metre")
    for name, values, dimension in (
        (f"moment per {per} of length", run * clamping.moment, MOMENT),
        ("the same at the end of the hold", run * clamping.lasting, MOMENT),
        ("force at each end of a caul", clamping.force_per_clamp, FORCE),
    ):
        told = figure(values)
        rows.append(
            [
                name,
                text.amount(told.value, dimension, system, 0),
                text.spread(told, dimension, system, 0),
            ]
        )
    spacing = text.length(clamping.spacing, system)
    count = "" if clamping.cauls is None else f"{clamping.cauls} cauls"
    rows.append(["cauls apart", spacing, count])
    unit, symbol = _LOAD[system]
    load = figure(clamping.load / unit)
    decimals = 0 if system == "us" else 1
    band = "" if load.low is None else f"{load.low:.{decimals}f} to {load.high:.{decimals}f}"
    rows.append([f"or an even load, {symbol}", f"{load.value:.{decimals}f}", band])
    return rows


def _joined(made: Flattening, name: str) -> Any:
    """A series of the plan and of the year after it, (times, samples)."""
    return np.concatenate((getattr(made.series, name), getattr(made.after, name)))


def _days_of(made: Flattening) -> Any:
    return np.concatenate((made.series.days, made.series.days[-1] + made.after.days))


def _table(answered: Answered) -> Table:
    made: Flattening = answered.reply.result
    columns = [Column("day", _days_of(made), DAYS)]
    for name, dimension in (
        ("mean", PERCENT),
        ("shell_top", PERCENT),
        ("core", PERCENT),
        ("shell_bottom", PERCENT),
        ("cup", LENGTH),
        ("moment", MOMENT),
    ):
        values = _joined(made, name)
        columns.append(Column(name, values[:, 0], dimension))
        if values.shape[1] > 1 and name in ("cup", "moment"):
            low, high = np.percentile(values[:, 1:], [10.0, 90.0], axis=1)
            columns += [
                Column(f"{name}_low", low, dimension),
                Column(f"{name}_high", high, dimension),
            ]
    return Table(columns, answered.system)


def _chart(answered: Answered) -> Chart:
    made: Flattening = answered.reply.result
    system, elapsed = answered.system, _days_of(made)
    cup = LENGTH.write(_joined(made, "cup"), system)
    low = high = None
    if cup.shape[1] > 1:
        low, high = np.percentile(cup[:, 1:], [10.0, 90.0], axis=1)
    moistures = (
        ("mean", "mean"),
        ("top face", "shell_top"),
        ("core", "core"),
        ("bottom face", "shell_bottom"),
    )
    return Chart(
        title="Cup and moisture through the plan and the year after",
        description=(
            f"{made.treatment.words}. Above zero the edges are up; the band holds four cases in "
            "five, both laws of set among them. Confidence is low. Take care: "
            + " ".join(answered.reply.cautions)
        ),
        x_label="days from the start",
        panels=[
            Panel(
                f"cup [{LENGTH.of_system[system].symbol}]",
                [Line("cup", elapsed, cup[:, 0], low, high)],
            ),
            Panel(
                "moisture [%]",
                [Line(label, elapsed, _joined(made, name)[:, 0]) for label, name in moistures],
            ),
        ],
    )


_NUMBER: Final = {"type": "number"}
_TEXT: Final = {"type": "string"}
_OUTCOME: Final = {
    "type": "object",
    "properties": {
        "name": _TEXT,
        "words": _TEXT,
        "days": _NUMBER,
        "cup_released": CUP_SCHEMA,
        "cup_after_year": CUP_SCHEMA,
        "cup_after_year_with_bars": CUP_SCHEMA,
        "bars": {
            "type": "object",
            "description": "what each bar bears that pulls flat what is left",
            "properties": {
                "moment": FIGURE_SCHEMA,
                "moment_after_year": FIGURE_SCHEMA,
                "pull_outermost": {"anyOf": [{"type": "null"}, *FIGURE_SCHEMA["anyOf"]]},
            },
        },
        "largest_in_year": CUP_SCHEMA,
        "stress_index": FIGURE_SCHEMA,
        "thickness_lost": _NUMBER,
        "width_lost": _NUMBER,
        "thickness_left": _NUMBER,
        "clamping": {
            "type": "object",
            "description": "moments per metre of length; force at each end of each caul, a "
            "bearer under the middle; or the even load that does the same",
            "properties": {
                "moment_per_metre": FIGURE_SCHEMA,
                "moment_at_the_end": FIGURE_SCHEMA,
                "cauls": {"type": ["integer", "null"]},
                "caul_spacing": _NUMBER,
                "force_per_clamp": FIGURE_SCHEMA,
                "even_load": FIGURE_SCHEMA,
            },
        },
    },
    "required": ["name", "words", "days", "cup_released", "cup_after_year", "stress_index"],
}
_TABLE: Final = {
    "species": "American elm",
    "width": "34in",
    "thickness": "2in",
    "length": "96in",
    "grain": "flat",
    "bark_side": "top",
}

QUESTION = Question(
    name="flattening",
    title="Flattening",
    summary="Taking a cup out by water, clamps and time: a plan judged or proposed, what is left "
    "when it is let go and after a year, and the other ways side by side. Confidence is low.",
    shape=FlatteningShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "confidence": {"type": "string", "enum": ["low"]},
            "try_it": {"type": "boolean"},
            "reasons_against": {"type": "array", "items": _TEXT},
            "plan": {
                "type": "object",
                "properties": {
                    "proposed": {"type": "boolean"},
                    "wet_face": {"type": "string", "enum": ["top", "bottom", "none"]},
                    "hours": _NUMBER,
                    "temperature": _NUMBER,
                    "hold": {"type": "boolean"},
                    "hold_days": _NUMBER,
                    "over_correct": _NUMBER,
                    "words": _TEXT,
                },
            },
            "result": _OUTCOME,
            "alternatives": {"type": "array", "items": _OUTCOME},
            "least_cup": {
                "type": "object",
                "properties": {"losing_no_wood": _TEXT, "of_all": _TEXT},
            },
            "water": {
                "type": "object",
                "description": "taken up by the wet face",
                "properties": {
                    "kg_per_square_metre": FIGURE_SCHEMA,
                    "depth": _NUMBER,
                    "whole": _NUMBER,
                },
            },
            "weight": _NUMBER,
        },
        "required": ["confidence", "try_it", "reasons_against", "plan", "result", "alternatives"],
    },
    text=_text,
    table=_table,
    chart=_chart,
    follows=True,
    examples=(
        Example(
            "The library table came out of the shop 3/8 in hollow on top: what to do",
            {
                "slab": _TABLE,
                "cup": {"amount": "3/8in", "shape": "edges up"},
                "moisture": 8,
                "faces": {"top": "oiled", "bottom": "oiled"},
                "room": {"climate": "Duluth", "heat_to": "70F", "cool_to": "76F"},
                "starts": "2026-09-25",
                "stiffeners": {
                    "section": "channel",
                    "width": "2in",
                    "height": "1in",
                    "wall": "1/8in",
                    "count": 5,
                },
            },
        ),
        Example(
            "A plan of one's own for an oak top, without spread",
            {
                "units": "metric",
                "spread": "none",
                "slab": {"species": "white oak", "width": 600, "thickness": 40, "length": 1500},
                "cup": {"amount": 6, "shape": "edges down"},
                "moisture": 8,
                "room": {"temperature": 20, "relative_humidity": 45},
                "plan": {"wet_face": "round", "hours": 24, "temperature": 30, "over_correct": 1.2},
            },
        ),
    ),
)
