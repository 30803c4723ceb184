"""`/v1/air`: all the figures of moist air, and what becomes of it when it is warmed or cooled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, get_args

from marshmallow import ValidationError, validates_schema

from api import words
from api.quantities import Pressure, RelativeHumidity, Temperature
from api.question import Answered, Example, Question, Reply
from api.replies import members
from api.replies.members import Answer
from api.replies.text import Page, Rows, amount
from api.schema import QuestionShape, one_of
from api.units import HUMIDITY_RATIO, PERCENT, PRESSURE, TEMPERATURE, System
from model.answers import air
from model.answers.air import Measure, MoistAir
from model.basis import cite
from model.codes import Refusal

GIVEN: Final[tuple[Measure, ...]] = get_args(Measure)
LOWEST: Final = -40.0  # degC; psychrometer formulas are checked from -20 (tests/reference)
HIGHEST: Final = 80.0  # degC; well above any kiln schedule asked here (judgement)


@dataclass(frozen=True, slots=True)
class Asked:
    """Air by its temperature [degC] and one measure of its moisture [%, degC or Pa]."""

    temperature: float
    relative_humidity: float | None = None
    dew_point: float | None = None
    wet_bulb: float | None = None
    vapour_pressure: float | None = None
    heated_to: float | None = None

    @property
    def vapour(self) -> float:
        """Its vapour pressure [Pa]; refuses air that cannot be."""
        figures = (self.relative_humidity, self.dew_point, self.wet_bulb, self.vapour_pressure)
        given = zip(GIVEN, figures, strict=True)
        measure, figure = next((name, one) for name, one in given if one is not None)
        try:
            return air.pressure_of(measure, figure, self.temperature)
        except Refusal as refusal:
            raise ValidationError(words.refused(refusal)) from refusal


class AirShape(QuestionShape):
    """Air by its temperature and one measure of its moisture."""

    makes = Asked

    rule = (
        "give one of relative_humidity, dew_point, wet_bulb and vapour_pressure beside temperature"
    )

    temperature = Temperature("air temperature", low=LOWEST, high=HIGHEST, required=True)
    relative_humidity = RelativeHumidity("relative humidity", low=2.0, high=100.0)
    dew_point = Temperature("dew point, over liquid water", low=-60.0, high=HIGHEST)
    wet_bulb = Temperature("wet-bulb temperature", low=-60.0, high=HIGHEST)
    vapour_pressure = Pressure("vapour pressure", low=1.0, high=47_000.0)
    heated_to = Temperature(
        "temperature that the same air is warmed or cooled to", low=LOWEST, high=HIGHEST
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_measure(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, GIVEN, "the moisture of the air")


def _answer(asked: Asked) -> Reply[MoistAir]:
    told = air.warmed(asked.temperature, asked.vapour, asked.heated_to)
    return Reply(told, told.notes, basis=cite(*air.FORMULAS))


class AirFigures(Answer):
    """Every figure of air."""

    temperature = members.Number(TEMPERATURE, "temperature")
    relative_humidity = members.Number(PERCENT, "relative humidity")
    dew_point = members.Number(TEMPERATURE, "dew point")
    wet_bulb = members.Number(TEMPERATURE, "wet bulb")
    vapour_pressure = members.Number(PRESSURE, "vapour pressure")
    humidity_ratio = members.Number(HUMIDITY_RATIO, "humidity ratio")
    equilibrium_moisture = members.Number(
        PERCENT, "equilibrium moisture of wood", left_out="beyond what the sorption curve covers"
    )


class AirHeated(AirFigures):
    """The same air at heated_to."""

    condensed = members.Number(
        HUMIDITY_RATIO, "water that condenses", left_out="where none condenses"
    )


class AirAnswer(AirFigures):
    """The air as it is, and at heated_to."""

    heated = members.Part(AirHeated, "the same air at heated_to", left_out="unless it is asked")


_EVERY: Final = AirHeated()
_DECIMALS: Final = {
    "temperature": 1,
    "relative_humidity": 1,
    "dew_point": 1,
    "wet_bulb": 1,
    "vapour_pressure": 0,
    "humidity_ratio": 2,
    "equilibrium_moisture": 2,
    "condensed": 2,
}


def _told(of: MoistAir, name: str, system: System, decimals: int = -1) -> str:
    member = _EVERY.fields[name]
    assert isinstance(member, members.Number)
    figure = member.read(of, name)
    if figure is None:
        return ""
    return amount(figure, member.dimension, system, _DECIMALS[name] if decimals < 0 else decimals)


def _text(answered: Answered[Asked, MoistAir]) -> Page:
    now, then, system = answered.result, answered.result.heated, answered.system

    def told(of: MoistAir, name: str, decimals: int = -1) -> str:
        return _told(of, name, system, decimals)

    decision = (
        f"Air of {told(now, 'temperature')} and {told(now, 'relative_humidity', 0)} relative "
        f"humidity"
    )
    if now.equilibrium_moisture is not None:
        decision += f" brings wood to {told(now, 'equilibrium_moisture', 1)} moisture"
    if then is not None:
        change = "warmed" if then.temperature >= now.temperature else "cooled"
        decision += (
            f"; {change} to {told(then, 'temperature')} it has {told(then, 'relative_humidity', 0)}"
        )
        if then.equilibrium_moisture is not None:
            decision += f" and brings wood to {told(then, 'equilibrium_moisture', 1)}"
    both = [one for one in (now, then) if one is not None]
    rows = [
        [member.meaning, *(told(one, name) for one in both)]
        for name, member in _EVERY.members()
        if any(told(one, name) for one in both)
    ]
    heads = ["", "as it is", "then"] if then is not None else []
    return Page(decision + ".", [Rows(rows, heads=heads)])


QUESTION: Final = Question(
    name="air",
    title="Moist air",
    summary="All the figures of moist air from its temperature and one of relative humidity, dew "
    "point, wet bulb or vapour pressure; and what becomes of it when it is warmed or cooled.",
    shape=AirShape(),
    answer=_answer,
    answered=AirAnswer(),
    text=_text,
    examples=(
        Example(
            "Winter air let into a heated reading room",
            {"temperature": "14F", "relative_humidity": 75, "heated_to": "70F"},
        ),
        Example("From a dew point", {"temperature": "21C", "dew_point": "9C"}),
    ),
)
