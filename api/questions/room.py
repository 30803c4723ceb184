"""`/v1/room`: twelve months of a room's air and the moisture content wood settles to in it."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from api.quantities import (
    PERCENT,
    TEMPERATURE,
    percent,
    pressure,
    temperature,
)
from api.question import Answered, Asked, Example, Question, Reply
from api.replies.csv import Column, Table
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows, amount, month
from api.schema import MONTH_SCHEMA, QuestionShape
from api.shapes import build_room, room_field
from model import sorption
from model.basis import Note, cite
from model.climate import Outdoor
from model.room import Extreme, Room


class RoomQuestionShape(QuestionShape):
    """A room."""

    room = room_field("the air that the wood lives in", required=True)


def _answer(asked: Asked) -> Reply:
    room = build_room(asked["room"])
    outdoor = room.outdoor
    rows = zip(room.months, room.temperature, room.relative_humidity, room.equilibrium, strict=True)
    months = []
    for number, warmth, humidity, moisture in rows:
        row: dict[str, Any] = {
            "month": number,
            "temperature": temperature(float(warmth)),
            "relative_humidity": percent(float(humidity)),
            "equilibrium_moisture": percent(float(moisture)),
        }
        if outdoor is not None:
            row["outdoor"] = _outdoor_month(outdoor, number - 1)
        months.append(row)
    answer: dict[str, Any] = {
        "months": months,
        "driest": _extreme(room.driest),
        "dampest": _extreme(room.dampest),
        "mean_equilibrium_moisture": percent(room.mean_equilibrium),
        "attribution": list(room.attribution),
    }
    if outdoor is not None:
        answer["climate"] = outdoor.name
    return Reply(answer, room, [*room.notes, _between(room)], basis=cite("equilibrium-moisture"))


def _outdoor_month(outdoor: Outdoor, index: int) -> dict[str, Any]:
    return {
        "temperature": temperature(float(outdoor.temperature[index])),
        "relative_humidity": percent(float(outdoor.relative_humidity[index])),
        "vapour_pressure": pressure(float(outdoor.vapour_pressure[index])),
    }


def _extreme(extreme: Extreme) -> dict[str, Any]:
    return {"month": extreme.month, "moisture": percent(extreme.moisture)}


def _between(room: Room) -> Note:
    """How far rooms of one description lie apart; 1.28 standard deviations hold four in five."""
    points = 1.28 * room.humidity_spread
    rise = float(np.mean(sorption.slope(room.temperature, room.relative_humidity)))
    return Note(
        "between-rooms",
        f"Four in five rooms of this description lie within {points:.0f} points of relative "
        f"humidity of these figures, about {points * rise:.1f} % of moisture in the wood.",
        "/room",
        "measured rooms, or judgement where none was measured",
    )


def _text(answered: Answered) -> Page:
    room: Room = answered.reply.result
    system = answered.system
    driest, dampest = room.driest, room.dampest
    decision = f"This air holds wood at {room.mean_equilibrium:.1f} % moisture all the year."
    if dampest.moisture - driest.moisture > 0.05:
        decision = (
            f"This room holds wood at {room.mean_equilibrium:.1f} % moisture on the mean of the "
            f"year: driest {driest.moisture:.1f} % in {month(driest.month)}, dampest "
            f"{dampest.moisture:.1f} % in {month(dampest.month)}. Thick wood follows with a delay "
            "and swings less."
        )
    outdoor = room.outdoor
    heads = ["", "temperature", "humidity", "equilibrium"]
    if outdoor is not None:
        heads += ["outdoors", "humidity"]
    rows = []
    figures = zip(
        room.months, room.temperature, room.relative_humidity, room.equilibrium, strict=True
    )
    for number, warmth, humidity, moisture in figures:
        row = [
            month(number),
            amount(float(warmth), TEMPERATURE, system),
            f"{humidity:.0f} %",
            f"{moisture:.1f} %",
        ]
        if outdoor is not None:
            row += [
                amount(float(outdoor.temperature[number - 1]), TEMPERATURE, system),
                f"{outdoor.relative_humidity[number - 1]:.0f} %",
            ]
        rows.append(row)
    parts: list[Rows | str] = []
    if outdoor is not None:
        parts.append(f"Climate: {outdoor.name}.")
    parts.append(Rows(rows, heads=heads))
    return Page(decision, [*parts, *room.attribution])


def _table(answered: Answered) -> Table:
    room: Room = answered.reply.result
    columns = [
        Column("month", room.months),
        Column("temperature", room.temperature, TEMPERATURE),
        Column("relative_humidity", room.relative_humidity, PERCENT),
        Column("equilibrium_moisture", room.equilibrium, PERCENT),
    ]
    if room.outdoor is not None:
        index = np.array(room.months) - 1
        columns += [
            Column("outdoor_temperature", room.outdoor.temperature[index], TEMPERATURE),
            Column("outdoor_relative_humidity", room.outdoor.relative_humidity[index], PERCENT),
        ]
    return Table(columns, answered.system)


def _chart(answered: Answered) -> Chart:
    room: Room = answered.reply.result
    system = answered.system
    x = np.array(room.months)
    points = 1.28 * room.humidity_spread
    humidity = room.relative_humidity
    low, high = np.clip(humidity - points, 0.0, 98.0), np.clip(humidity + points, 0.0, 98.0)
    dry, damp = [sorption.equilibrium_moisture(room.temperature, bound) for bound in (low, high)]
    inside = [Line("in the room", x, TEMPERATURE.write(room.temperature, system))]
    if room.outdoor is not None:
        outdoors = TEMPERATURE.write(room.outdoor.temperature[x - 1], system)
        inside.append(Line("outdoors", x, outdoors, dashed=True))
    return Chart(
        title="The year in this room",
        description=(
            f"Equilibrium moisture runs from {room.driest.moisture:.1f} % in "
            f"{month(room.driest.month)} to {room.dampest.moisture:.1f} % in "
            f"{month(room.dampest.month)}; bands hold four rooms in five."
        ),
        x_label="month",
        panels=[
            Panel(f"temperature [{TEMPERATURE.of_system[system].symbol}]", inside),
            Panel("relative humidity [%]", [Line("in the room", x, humidity, low, high)]),
            Panel("wood moisture [%]", [Line("equilibrium", x, room.equilibrium, dry, damp)]),
        ],
        ticks=[(number, month(number)[:3]) for number in room.months],
    )


_NUMBER: Final = {"type": "number"}
_EXTREME: Final = {
    "type": "object",
    "properties": {"month": MONTH_SCHEMA, "moisture": _NUMBER},
    "required": ["month", "moisture"],
}
_AIR: Final = {"temperature": _NUMBER, "relative_humidity": _NUMBER}

QUESTION = Question(
    name="room",
    title="The year in a room",
    summary="Twelve months of a room's temperature, humidity and the moisture content that wood "
    "settles to in it, from a place and a way of living, from months, steady air or a logger.",
    shape=RoomQuestionShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "months": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "month": MONTH_SCHEMA,
                        **_AIR,
                        "equilibrium_moisture": _NUMBER,
                        "outdoor": {
                            "type": "object",
                            "properties": {**_AIR, "vapour_pressure": _NUMBER},
                            "required": [*_AIR, "vapour_pressure"],
                        },
                    },
                    "required": ["month", *_AIR, "equilibrium_moisture"],
                },
            },
            "driest": _EXTREME,
            "dampest": _EXTREME,
            "mean_equilibrium_moisture": _NUMBER,
            "climate": {"type": "string", "description": "the place that was used"},
            "attribution": {"type": "array", "items": {"type": "string"}},
        },
        "required": ["months", "driest", "dampest", "mean_equilibrium_moisture", "attribution"],
    },
    text=_text,
    table=_table,
    chart=_chart,
    examples=(
        Example(
            "The reading room in Duluth",
            {
                "room": {
                    "climate": "Duluth",
                    "heat_to": "70F",
                    "cool_to": "76F",
                    "occupied": "normally",
                }
            },
        ),
        Example("By coordinates", {"room": {"latitude": 47.5, "longitude": -90.9}}),
        Example("Steady air", {"room": {"temperature": "70F", "relative_humidity": 40}}),
    ),
)
