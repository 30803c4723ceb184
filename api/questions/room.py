"""`/v1/room`: twelve months of a room's air and the moisture content wood settles to in it."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

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
from model.basis import Note, cite
from model.properties import sorption
from model.surroundings.climate import Outdoor
from model.surroundings.room import Extreme, Room

Floats = NDArray[np.float64]


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
    return Reply(
        answer,
        room,
        [*room.notes, _between(room)],
        basis=cite("equilibrium-moisture", *room.formulas),
    )


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
    within = (
        f"within {points:.0f} points of relative humidity of these figures, about "
        f"{points * rise:.1f} % of moisture in the wood."
    )
    if room.method in {"given", "logged"}:
        told = f"Four in five room hygrometers are right {within}"
        return Note("hygrometer", told, "/room", "judgement")
    what = "years" if room.kind == "outdoors_covered" else "rooms of this description"
    source = "measured rooms, or judgement where none was measured"
    return Note("between-rooms", f"Four in five {what} lie {within}", "/room", source)


# How the air is spoken of, by kind; a log is called by what it is.
_CALLED: Final = {
    "room": "This room",
    "heated_shop": "This shop",
    "shed": "This shed",
    "outdoors_covered": "The air outdoors",
}


def _is_log(room: Room) -> bool:
    return room.method == "logged"


def _decision(room: Room) -> str:
    driest, dampest = room.driest, room.dampest
    called = "This air" if _is_log(room) else _CALLED[room.kind]
    told = f"{called} holds wood at {room.mean_equilibrium:.1f} % moisture"
    if dampest.moisture - driest.moisture <= 0.05:
        return f"{told} all the {'time' if _is_log(room) else 'year'}."
    return (
        f"{told} on average over the {'log' if _is_log(room) else 'year'}: driest "
        f"{driest.moisture:.1f} % in {month(driest.month)}, dampest {dampest.moisture:.1f} % in "
        f"{month(dampest.month)}. Thick wood follows with a delay and swings less."
    )


def _text(answered: Answered) -> Page:
    room: Room = answered.reply.result
    system = answered.system
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
    return Page(_decision(room), [*parts, *room.attribution])


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


LOG_POINTS: Final = 600  # of a chart, more than a screen shows apart (judgement)


def _chart(answered: Answered) -> Chart:
    room: Room = answered.reply.result
    system = answered.system
    if _is_log(room):
        x, warm, humidity = _log_drawn(room)
    else:
        x, warm = np.array(room.months, dtype=np.float64), room.temperature
        humidity = room.relative_humidity
    points = 1.28 * room.humidity_spread
    low, high = np.clip(humidity - points, 0.0, 98.0), np.clip(humidity + points, 0.0, 98.0)
    equilibrium, dry, damp = (
        sorption.equilibrium_moisture(warm, values) for values in (humidity, low, high)
    )
    inside = [Line("in the room", x, TEMPERATURE.write(warm, system))]
    if room.outdoor is not None:
        outdoors = TEMPERATURE.write(room.outdoor.temperature[np.array(room.months) - 1], system)
        inside.append(Line("outdoors", x, outdoors, dashed=True))
    return Chart(
        title="The air as it was logged" if _is_log(room) else "The year in this room",
        description=(
            f"Equilibrium moisture runs from {room.driest.moisture:.1f} % in "
            f"{month(room.driest.month)} to {room.dampest.moisture:.1f} % in "
            f"{month(room.dampest.month)}, by the means of the months; bands hold four cases in "
            "five."
        ),
        x_label="days from the first reading" if _is_log(room) else "month",
        panels=[
            Panel(f"temperature [{TEMPERATURE.of_system[system].symbol}]", inside),
            Panel("relative humidity [%]", [Line("in the room", x, humidity, low, high)]),
            Panel("wood moisture [%]", [Line("equilibrium", x, equilibrium, dry, damp)]),
        ],
        ticks=[] if _is_log(room) else [(number, month(number)[:3]) for number in room.months],
    )


def _log_drawn(room: Room) -> tuple[Floats, Floats, Floats]:
    """Days, temperature and humidity of a log; a long one averaged over neighbouring readings."""
    record = (room.air.days, room.air.temperature, room.air.relative_humidity)
    if room.air.days.size <= LOG_POINTS:
        return record
    days, warm, humidity = (
        np.array([part.mean() for part in np.array_split(values, LOG_POINTS)]) for values in record
    )
    return days, warm, humidity


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
