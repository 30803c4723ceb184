"""`/v1/room`: twelve months of a room's air and the moisture content wood settles to in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from api.question import Answered, Example, Question, Reply
from api.replies import members
from api.replies.csv import Table
from api.replies.members import Answer
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows, amount, month
from api.schema import QuestionShape
from api.shapes.room import room_field
from api.units import PERCENT, PRESSURE, TEMPERATURE, System
from model.answers import room as room_answer
from model.answers.room import room_band
from model.basis import cite
from model.surroundings.room import MonthOfRoom, Room


@dataclass(frozen=True, slots=True)
class Asked:
    """A room."""

    room: Room


class RoomQuestionShape(QuestionShape):
    """A room."""

    makes = Asked

    room = room_field("the air that the wood lives in", required=True)


def _answer(asked: Asked) -> Reply[Room]:
    room = asked.room
    return Reply(
        room,
        [*room.notes, room_answer.between(room)],
        basis=cite("equilibrium-moisture", *room.formulas),
    )


class RoomOutdoors(Answer):
    """The month outdoors."""

    temperature = members.Number(TEMPERATURE)
    relative_humidity = members.Number(PERCENT)
    vapour_pressure = members.Number(PRESSURE)


class RoomMonth(Answer):
    """One month of the room."""

    month = members.Month()
    temperature = members.Number(TEMPERATURE)
    relative_humidity = members.Number(PERCENT)
    equilibrium_moisture = members.Number(PERCENT)
    outdoor = members.Part(RoomOutdoors, "the month outdoors", left_out="without a place")


class RoomExtreme(Answer):
    """The driest or dampest month."""

    month = members.Month()
    moisture = members.Number(PERCENT)


class RoomAnswer(Answer):
    """The year in a room."""

    months = members.Rows(RoomMonth, of="by_month")
    driest = members.Part(RoomExtreme)
    dampest = members.Part(RoomExtreme)
    equilibrium_moisture = members.Number(PERCENT, "mean of the months", of="mean_equilibrium")
    attribution = members.Texts("credit that must stay with the figures")
    climate = members.Text("the place that was used", of="place", left_out="without a place")


def _outdoors(name: str) -> Any:
    def read(room: Room) -> Any:
        if room.outdoor is None:
            return None
        return getattr(room.outdoor, name)[np.array(room.months) - 1]

    return read


class RoomYear(Answer):
    """The months as parallel lists, for a sheet."""

    month = members.Counts(of="months")
    temperature = members.Series(TEMPERATURE)
    relative_humidity = members.Series(PERCENT)
    equilibrium_moisture = members.Series(PERCENT, of="equilibrium")
    outdoor_temperature = members.Series(
        TEMPERATURE, of=_outdoors("temperature"), left_out="without a place"
    )
    outdoor_relative_humidity = members.Series(
        PERCENT, of=_outdoors("relative_humidity"), left_out="without a place"
    )


# How the air is spoken of, by kind; a log is called by what it is.
_CALLED: Final = {
    "room": "This room",
    "heated_shop": "This shop",
    "part_heated": "This part-heated room",
    "cellar": "This cellar",
    "shed": "This shed",
    "open_shed": "This shed",
    "outdoors_covered": "The air outdoors",
}


def _decision(room: Room) -> str:
    driest, dampest = room.driest, room.dampest
    called = "This air" if room.is_log else _CALLED[room.kind]
    told = f"{called} holds wood at {room.mean_equilibrium:.1f} % moisture"
    if dampest.moisture - driest.moisture <= 0.05:
        return f"{told} all the {'time' if room.is_log else 'year'}."
    return (
        f"{told} on average over the {'log' if room.is_log else 'year'}: driest "
        f"{driest.moisture:.1f} % in {month(driest.month)}, dampest {dampest.moisture:.1f} % in "
        f"{month(dampest.month)}. Thick wood follows with a delay and swings less."
    )


def _text(answered: Answered[Asked, Room]) -> Page:
    room = answered.result
    system = answered.system
    heads = ["", "temperature", "humidity", "equilibrium"]
    if room.outdoor is not None:
        heads += ["outdoors", "humidity"]
    rows = [_row(one, system) for one in room.by_month]
    parts: list[Rows | str] = []
    parts.append(Rows(rows, heads=heads))
    return Page(_decision(room), parts)


def _row(one: MonthOfRoom, system: System) -> list[str]:
    row = [
        month(one.month),
        amount(one.temperature, TEMPERATURE, system),
        f"{one.relative_humidity:.0f} %",
        f"{one.equilibrium_moisture:.1f} %",
    ]
    if one.outdoor is not None:
        row += [
            amount(one.outdoor.temperature, TEMPERATURE, system),
            f"{one.outdoor.relative_humidity:.0f} %",
        ]
    return row


def _table(answered: Answered[Asked, Room]) -> Table:
    return Table(RoomYear().side_by_side(answered.result), answered.system)


LOG_POINTS: Final = 600  # of a chart, more than a screen shows apart (judgement)


def _chart(answered: Answered[Asked, Room]) -> Chart:
    room = answered.result
    system = answered.system
    if room.is_log:
        x, warm, humidity = room.air.thinned(LOG_POINTS)
    else:
        x, warm = np.array(room.months, dtype=np.float64), room.temperature
        humidity = room.relative_humidity
    band = room_band(room, warm, humidity)
    inside = [Line("in the room", x, TEMPERATURE.write(warm, system))]
    if room.outdoor is not None:
        outdoors = TEMPERATURE.write(room.outdoor.temperature[np.array(room.months) - 1], system)
        inside.append(Line("outdoors", x, outdoors))
    return Chart(
        title="The air as it was logged" if room.is_log else "The year in this room",
        description=(
            f"Equilibrium moisture runs from {room.driest.moisture:.1f} % in "
            f"{month(room.driest.month)} to {room.dampest.moisture:.1f} % in "
            f"{month(room.dampest.month)}, by the means of the months; bands hold four cases in "
            "five."
        ),
        x_label="from" if room.is_log else "month",
        starts=None if room.starts is None else room.starts.date(),
        panels=[
            Panel(f"temperature [{TEMPERATURE.of_system[system].symbol}]", inside),
            Panel("relative humidity [%]", [Line("in the room", x, humidity, band.low, band.high)]),
            Panel(
                "wood moisture [%]", [Line("equilibrium", x, band.equilibrium, band.dry, band.damp)]
            ),
        ],
        ticks=[] if room.is_log else [(number, month(number)[:3]) for number in room.months],
    )


QUESTION: Final = Question(
    name="room",
    title="The year in a room",
    summary="Twelve months of a room's temperature, humidity and the moisture content that wood "
    "settles to in it, from a place and a way of living, from months, steady air or a logger.",
    shape=RoomQuestionShape(),
    answer=_answer,
    answered=RoomAnswer(),
    text=_text,
    as_csv=("room", "log", "csv"),
    table=_table,
    chart=_chart,
    examples=(
        Example(
            "The reading room in Duluth",
            {
                "room": {
                    "climate": "Duluth, MN",
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
