"""`/v1/settle`, the main question: what a slab settles to in a room, when, and how it moves."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from marshmallow import ValidationError

from api.quantities import DAYS, LENGTH, PERCENT, System, days, length, mass, percent
from api.question import Answered, Asked, Example, Question, Reply
from api.replies import text
from api.replies.csv import Column, Table
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.schema import FIGURE_SCHEMA, MONTH_SCHEMA, Date, Part, SpreadShape
from api.shapes import (
    CUP_SCHEMA,
    SlabShape,
    build_faces,
    build_moisture,
    build_room,
    build_slab,
    cup_members,
    draw_samples,
    faces_cautions,
    faces_field,
    faces_notes,
    moisture_field,
    room_field,
    slab_cautions,
)
from api.sharing import once
from model.answers import settle
from model.basis import cite
from model.behaviour import year
from model.behaviour.rings import ring_notes
from model.behaviour.slab import profile
from model.properties import species
from model.properties.finishes import Faces
from model.spread import Figure
from model.surroundings.calendar import day_of


class SettleShape(SpreadShape):
    """A slab, its moisture now, what is on its faces, and the room it goes to."""

    slab = Part(SlabShape, "the slab, with the size it has today", required=True)
    moisture = moisture_field("moisture content now", required=True)
    faces = faces_field()
    room = room_field("the room it goes to; a log will not do, it has no year", required=True)
    arrives = Date("day it comes into the room", required=True)


_OF_YEARS: Final = ("moisture", "faces", "room", "arrives", "spread", "seed")


def _answer(asked: Asked) -> Reply:
    if "log" in asked["room"]:
        raise ValidationError(
            {"room": {"log": ["given: a log has no year to settle into; give months or a place"]}}
        )
    slab = build_slab(asked["slab"])
    moisture = build_moisture(asked["moisture"], slab.thickness)
    room = build_room(asked["room"])
    inputs = (moisture, build_faces(asked["faces"]), room, day_of(asked["arrives"]))
    samples = draw_samples(asked)
    # The moisture through the thickness knows nothing of width, length and grain.
    course = once(
        "years",
        [slab.species, slab.thickness, *(asked[name] for name in _OF_YEARS)],
        lambda: year.years(slab, *inputs, samples),
    )
    settled = settle.settle(slab, *inputs, samples, course)
    now = float(np.mean(profile(moisture, np.linspace(0.0, slab.thickness, 41), slab.thickness)))
    answer: dict[str, Any] = {
        "settled": {
            "mean": percent(settled.mean),
            "driest": _month(settled.driest),
            "dampest": _month(settled.dampest),
        },
        "days_to": days(
            {"within_1": settled.days_within_1, "within_half": settled.days_within_half}
        ),
        "width": _size(settled.width),
        "thickness": _size(settled.thickness),
        "cup": {
            "on_the_way": _cup(settled.cup_on_the_way, slab.width),
            "yearly": _yearly_cup(settled),
        },
        "gap_per_edge": length(settled.gap_per_edge),
        "opens_per_edge": length(settled.opens_per_edge),
        "gap_when_settled": length(settled.gap_when_settled),
        "gap_when_narrowest": length(settled.gap_when_narrowest),
        "fit_to_work": {
            "ready": settled.fitness.ready,
            "reason": settled.fitness.reason,
            "shell_core": percent(settled.fitness.shell_core),
            "distance": percent(settled.fitness.distance),
        },
    }
    weight = slab.weight(now)
    if weight is not None:
        answer["weight"] = mass(weight)
    if room.outdoor is not None:
        answer["climate"] = room.outdoor.name
    if room.attribution:
        answer["attribution"] = list(room.attribution)
    return Reply(
        answer,
        settled,
        [
            *species.notes(slab.species),
            *ring_notes(slab),
            *settled.notes,
            *faces_notes(asked["faces"]),
        ],
        [*slab_cautions(slab, now), *faces_cautions(asked["faces"])],
        cite(*settled.formulas, *room.formulas),
    )


def _month(extreme: settle.Month) -> dict[str, Any]:
    return {
        "month": extreme.month,
        "moisture": percent(extreme.moisture),
        "lag_days": days(extreme.lag_days),
    }


def _size(size: settle.Size) -> dict[str, Any]:
    return {
        "now": length(size.now),
        "settled": length(size.settled),
        "narrowest": length(size.narrowest),
        "narrowest_month": size.narrowest_month,
        "widest": length(size.widest),
        "widest_month": size.widest_month,
    }


def _cup(cup: settle.Cup, width: float) -> dict[str, Any]:
    told = cup_members(cup.amount, width)
    if cup.day is not None:
        told["day"] = days(cup.day)
    if cup.month is not None:
        told["month"] = cup.month
    return told


def _yearly_cup(settled: settle.Settled) -> dict[str, Any]:
    """The larger end of the yearly course, the other end beside it."""
    up, down = settled.cup_yearly_up, settled.cup_yearly_down
    larger, other = (up, down) if abs(up.amount.value) >= abs(down.amount.value) else (down, up)
    width = settled.width.now
    return {**_cup(larger, width), "other_end": _cup(other, width)}


def _text(answered: Answered) -> Page:
    settled: settle.Settled = answered.reply.result
    system = answered.system
    width = _size_rows(settled.width, ("narrowest", "widest"), system)
    thickness = _size_rows(settled.thickness, ("thinnest", "thickest"), system)
    parts: list[Rows | str] = [
        Rows(_moisture_rows(settled), title="Moisture", heads=["", "", "likely", "month"]),
        Rows(width, title="Width", heads=["", "", "likely"]),
        Rows(thickness, title="Thickness", heads=["", "", "likely"]),
        Rows(_gap_rows(settled, system), title="At each edge", heads=["", "", "likely"]),
        Rows(
            _cup_rows(settled, system),
            title="Cup, free to move (minus: the other way)",
            heads=["", "", "", "likely"],
        ),
    ]
    answer = answered.reply.answer
    if "climate" in answer:
        parts.append(f"Climate: {answer['climate']}.")
    parts += answer.get("attribution", [])
    return Page(_decision(settled, build_faces(answered.asked["faces"]), system), parts)


# m of still air; up to here a face still gives and takes moisture about as a bare one: the films of
# oil and wax stand at 0.05 to 0.15, the thinnest varnish at 0.22 (finishes.csv)
OPEN_FACE: Final = 0.2


def _decision(settled: settle.Settled, faces: Faces, system: System) -> str:
    fitness = settled.fitness
    wait = settled.days_within_1
    pair = (faces.top, faces.bottom)
    open_faces = all(face.sd <= OPEN_FACE and not face.wet for face in pair)
    how = "air on all sides" if open_faces else "its faces as told"
    told = [
        f"Ready to be worked: {fitness.reason}."
        if fitness.ready
        else f"Not ready: {fitness.reason}."
    ]
    if not fitness.ready:
        words = text.duration(wait.value, wait.low, wait.high)
        told.append(
            f"Let it stand in that room, {how}, {words}, before it gets its final size"
            + ("." if open_faces else "; bare and on stickers it is sooner ready.")
        )
    driest, dampest = settled.driest, settled.dampest
    settles = f"It settles to about {settled.mean.value:.1f} % moisture"
    if _swings(settled):
        settles += (
            f": {driest.moisture.value:.1f} % in {text.month(driest.month)}, "
            f"{dampest.moisture.value:.1f} % in {text.month(dampest.month)}"
        )
    told.append(settles + ".")
    if fitness.ready:
        gap, opens = settled.gap_per_edge, settled.opens_per_edge
        grows, draws = not _nothing(gap, system), not _nothing(opens, system)
        growth = f"leave {text.up_to(gap, system)} at each edge for it to grow"
        told.append(
            f"Fitted today, {growth if grows else 'it needs no room to grow'}; it "
            + (f"draws back by {text.up_to(opens, system)}." if draws else "does not draw back.")
        )
    elif _swings(settled):
        gap, whole = settled.gap_when_settled, settled.gap_when_narrowest
        told.append(
            "Then its yearly growth needs no room that a rule shows."
            if _nothing(gap, system) or _nothing(whole, system)
            else f"Then leave {text.up_to(gap, system)} at each edge for its yearly growth from "
            f"the mean of the year on; fitted in {text.month(settled.width.narrowest_month)}, when "
            f"it is narrowest, {text.up_to(whole, system)}."
        )
    return " ".join(told)


def _nothing(gap: Figure, system: System) -> bool:
    """Whether a gap comes out as none, its high end included."""
    return text.is_nothing(gap.value if gap.high is None else gap.high, system)


def _swings(settled: settle.Settled) -> bool:
    """Whether there is a year to tell of; steady air has none."""
    return settled.dampest.moisture.value - settled.driest.moisture.value > 0.05


def _moisture_rows(settled: settle.Settled) -> list[list[str]]:
    mean = settled.mean
    rows = [["mean of the year", f"{mean.value:.1f} %", _band(mean), ""]]
    extremes = (("driest", settled.driest), ("dampest", settled.dampest))
    for name, extreme in extremes if _swings(settled) else ():
        moisture = extreme.moisture
        rows.append([name, f"{moisture.value:.1f} %", _band(moisture), text.month(extreme.month)])
    for name, wait in (
        ("within 1 % of it after", settled.days_within_1),
        ("within 1/2 % of it after", settled.days_within_half),
    ):
        count = f"{wait.value:.0f}"
        unit = "day" if count == "1" else "days"
        rows.append([name, f"{count} {unit}", text.spread(wait, DAYS, "metric", 0)])
    return rows


def _band(figure: Figure) -> str:
    return text.spread(figure, PERCENT, "metric")


def _size_rows(size: settle.Size, words: tuple[str, str], system: System) -> list[list[str]]:
    rows = [["now", text.length(size.now, system)]]
    ends = [("settled, mean", size.settled)]
    if size.widest.value - size.narrowest.value > 1e-5:
        ends += [
            (f"{words[0]}, {text.month(size.narrowest_month)}", size.narrowest),
            (f"{words[1]}, {text.month(size.widest_month)}", size.widest),
        ]
    for name, end in ends:
        rows.append([name, text.length(end.value, system), text.spread(end, LENGTH, system)])
    return rows


def _gap_rows(settled: settle.Settled, system: System) -> list[list[str]]:
    rows = [
        [name, text.length(gap.value, system), text.spread(gap, LENGTH, system)]
        for name, gap in (
            ("fitted today: it grows by", settled.gap_per_edge),
            ("fitted today: it draws back by", settled.opens_per_edge),
            ("fitted at its mean width: it grows by", settled.gap_when_settled),
            ("fitted at its narrowest: it grows by", settled.gap_when_narrowest),
        )
    ]
    return rows if _swings(settled) else rows[:-1]


def _cup_rows(settled: settle.Settled, system: System) -> list[list[str]]:
    width = settled.width.now
    way = settled.cup_on_the_way
    rows = []
    if way.day is not None:
        told = _told_cup(way.amount, width, system)
        when = "" if "flat" in told else f", {text.about_day(way.day.value)}"
        rows.append([f"on the way{when}", *told])
    if not _swings(settled):
        return [*rows, ["settled", *_told_cup(settled.cup_yearly_up.amount, width, system)]]
    ends = [
        (end.month, _told_cup(end.amount, width, system))
        for end in (settled.cup_yearly_up, settled.cup_yearly_down)
    ]
    if all("flat" in told for _, told in ends):
        return [*rows, ["every year", *ends[0][1]]]
    for month, told in ends:
        assert month is not None
        rows.append([f"every year, {text.month(month)}", *told])
    return rows


def _told_cup(signed: Figure, width: float, system: System) -> list[str]:
    members = cup_members(signed, width)
    amount: Figure = members["amount"].value
    return [
        text.length(amount.value, system),
        members["shape"],
        text.spread(amount, LENGTH, system),
    ]


def _table(answered: Answered) -> Table:
    trace = answered.reply.result.trace
    sampled = answered.reply.result.mean.low is not None
    band = ("low", "high") if sampled else ()
    moistures = ("mean", *band, "top", "core", "bottom", "equilibrium")
    return Table(
        [
            Column("day", trace.days, DAYS),
            *(Column(name, getattr(trace, name), PERCENT) for name in moistures),
        ],
        answered.system,
    )


def _chart(answered: Answered) -> Chart:
    settled: settle.Settled = answered.reply.result
    trace = settled.trace
    sampled = settled.mean.low is not None
    mean = Line(
        "mean of the slab",
        trace.days,
        trace.mean,
        trace.low if sampled else None,
        trace.high if sampled else None,
    )
    depths = [
        Line(name, trace.days, getattr(trace, member))
        for name, member in (("top face", "top"), ("core", "core"), ("bottom face", "bottom"))
    ]
    return Chart(
        title="Moisture of the slab from the day it arrives",
        description=(
            f"The slab settles to {settled.mean.value:.1f} % on the mean of the year, within 1 % "
            f"after {settled.days_within_1.value:.0f} days; the band holds four cases in five."
        ),
        x_label="days from arrival",
        panels=[
            Panel(
                "moisture [%]",
                [mean, Line("equilibrium", trace.days, trace.equilibrium, dashed=True)],
            ),
            Panel("moisture [%]", depths),
        ],
    )


_NUMBER: Final = {"type": "number"}
_EXTREME: Final[dict[str, Any]] = {
    "type": "object",
    "properties": {"month": MONTH_SCHEMA, "moisture": FIGURE_SCHEMA, "lag_days": FIGURE_SCHEMA},
    "required": ["month", "moisture", "lag_days"],
}
_SIZE: Final = {
    "type": "object",
    "properties": {
        "now": _NUMBER,
        "settled": FIGURE_SCHEMA,
        "narrowest": FIGURE_SCHEMA,
        "narrowest_month": MONTH_SCHEMA,
        "widest": FIGURE_SCHEMA,
        "widest_month": MONTH_SCHEMA,
    },
    "required": ["now", "settled", "narrowest", "narrowest_month", "widest", "widest_month"],
}
_CUP_OF_MONTH: Final[dict[str, Any]] = {
    **CUP_SCHEMA,
    "properties": {**CUP_SCHEMA["properties"], "month": MONTH_SCHEMA},
    "required": ["amount", "shape", "month"],
}

QUESTION = Question(
    name="settle",
    title="What a slab settles to",
    summary="The main question: what a slab settles to in a room, how long that takes, how its "
    "size and shape change on the way and every year, what gap to leave, and whether it is ready "
    "to be worked now.",
    shape=SettleShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "settled": {
                "type": "object",
                "properties": {"mean": FIGURE_SCHEMA, "driest": _EXTREME, "dampest": _EXTREME},
                "required": ["mean", "driest", "dampest"],
            },
            "days_to": {
                "type": "object",
                "description": "days after which the mean stays within 1 and 1/2 % of its yearly "
                "course",
                "properties": {"within_1": FIGURE_SCHEMA, "within_half": FIGURE_SCHEMA},
                "required": ["within_1", "within_half"],
            },
            "width": _SIZE,
            "thickness": _SIZE,
            "cup": {
                "type": "object",
                "description": "cup of the slab free to move; a low end below zero is a cup the "
                "other way",
                "properties": {
                    "on_the_way": {
                        **CUP_SCHEMA,
                        "properties": {**CUP_SCHEMA["properties"], "day": FIGURE_SCHEMA},
                        "required": ["amount", "shape", "day"],
                    },
                    "yearly": {
                        **_CUP_OF_MONTH,
                        "properties": {
                            **_CUP_OF_MONTH["properties"],
                            "other_end": _CUP_OF_MONTH,
                        },
                    },
                },
                "required": ["on_the_way", "yearly"],
            },
            "gap_per_edge": {
                **FIGURE_SCHEMA,
                "description": "room to leave at each edge, fitted today",
            },
            "opens_per_edge": {
                **FIGURE_SCHEMA,
                "description": "how far each edge draws back from where it is today",
            },
            "gap_when_settled": {
                **FIGURE_SCHEMA,
                "description": "room to leave at each edge, fitted after it has settled",
            },
            "gap_when_narrowest": {
                **FIGURE_SCHEMA,
                "description": "the same, fitted in the month in which it is narrowest",
            },
            "fit_to_work": {
                "type": "object",
                "properties": {
                    "ready": {"type": "boolean"},
                    "reason": {"type": "string"},
                    "shell_core": _NUMBER,
                    "distance": _NUMBER,
                },
                "required": ["ready", "reason", "shell_core", "distance"],
            },
            "weight": {**_NUMBER, "description": "weight now, when the length is given"},
            "climate": {"type": "string", "description": "the place that was used"},
            "attribution": {"type": "array", "items": {"type": "string"}},
        },
        "required": [
            "settled",
            "days_to",
            "width",
            "thickness",
            "cup",
            "gap_per_edge",
            "opens_per_edge",
            "gap_when_settled",
            "gap_when_narrowest",
            "fit_to_work",
        ],
    },
    text=_text,
    table=_table,
    chart=_chart,
    follows=True,
    examples=(
        Example(
            "The library reading table",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                    "grain": "flat",
                    "bark_side": "top",
                },
                "moisture": 12.5,
                "faces": {"top": "oiled", "bottom": "bare"},
                "room": {
                    "climate": "Duluth",
                    "heat_to": "70F",
                    "cool_to": "76F",
                    "occupied": "normally",
                },
                "arrives": "2026-09-25",
            },
        ),
        Example(
            "An oak shelf in steady air, without spread",
            {
                "units": "metric",
                "spread": "none",
                "slab": {"species": "white oak", "width": 300, "thickness": 25},
                "moisture": {"shell": 9, "core": 11},
                "room": {"temperature": 21, "relative_humidity": 45},
                "arrives": "2026-04-01",
            },
        ),
    ),
)
