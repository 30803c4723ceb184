"""`/v1/air`: all the figures of moist air, and what becomes of it when it is warmed or cooled."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import (
    HUMIDITY_RATIO,
    PERCENT,
    PRESSURE,
    TEMPERATURE,
    Pressure,
    Quantity,
    RelativeHumidity,
    Temperature,
)
from api.question import Answered, Asked, Example, Question, Reply
from api.replies.text import Page, Rows, amount
from api.schema import QuestionShape, exactly_one, one_of
from model.basis import Note, cite
from model.properties import air, sorption

GIVEN: Final = ("relative_humidity", "dew_point", "wet_bulb", "vapour_pressure")
LOWEST: Final = -40.0  # degC; psychrometer formulas are checked from -20 (tests/reference)
HIGHEST: Final = 80.0  # degC; well above any kiln schedule asked here (judgement)
COVERED: Final = (-20.0, 80.0)  # degC; where the sorption curve is used, as in /v1/equilibrium
DRIEST: Final = 0.01  # % RH; drier air has no dew point to speak of


class AirShape(QuestionShape):
    """Air by its temperature and one measure of its moisture."""

    together = exactly_one(*GIVEN)

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


def _vapour(asked: Asked) -> float:
    """Vapour pressure [Pa] of the air asked about; refuses air that cannot be."""
    warmth = asked["temperature"]
    saturated = float(air.saturation_pressure(warmth))
    if "relative_humidity" in asked:
        return float(asked["relative_humidity"]) / 100.0 * saturated
    name = next(name for name in GIVEN if name in asked)
    if name == "vapour_pressure":
        vapour = float(asked[name])
    elif name == "dew_point":
        vapour = float(air.saturation_pressure(asked[name]))
    else:
        vapour = float(air.pressure_of_wet_bulb(warmth, asked[name]))
    if vapour > saturated * (1.0 + 1e-9):
        raise ValidationError(
            f"{_given(asked, name)} given: more than air of {air.degrees(warmth)} holds "
            f"({saturated:.4g} Pa, dew point and wet bulb equal to its temperature); "
            "write a lower figure",
            name,
        )
    if vapour < DRIEST / 100.0 * saturated:
        raise ValidationError(
            f"{_given(asked, name)} given: drier than any air (under {DRIEST:g} % relative "
            f"humidity at {air.degrees(warmth)}); write a higher figure",
            name,
        )
    return vapour


def _given(asked: Asked, name: str) -> str:
    figure = float(asked[name])
    return f"{figure:.4g} Pa" if name == "vapour_pressure" else air.degrees(figure)


def _figures(warmth: float, vapour: float) -> dict[str, Quantity]:
    """Every figure of air at a temperature and vapour pressure."""
    humidity = float(air.relative_humidity(warmth, vapour))
    figures = {
        "temperature": Quantity(TEMPERATURE, warmth),
        "relative_humidity": Quantity(PERCENT, humidity),
        "dew_point": Quantity(TEMPERATURE, float(air.dew_point(vapour))),
        "wet_bulb": Quantity(TEMPERATURE, float(air.wet_bulb(warmth, vapour))),
        "vapour_pressure": Quantity(PRESSURE, vapour),
        "humidity_ratio": Quantity(HUMIDITY_RATIO, float(air.humidity_ratio(vapour))),
    }
    if COVERED[0] <= warmth <= COVERED[1] and humidity <= sorption.HIGHEST_HUMIDITY:
        moisture = float(sorption.equilibrium_moisture(warmth, humidity))
        figures["equilibrium_moisture"] = Quantity(PERCENT, moisture)
    return figures


def _answer(asked: Asked) -> Reply:
    vapour = _vapour(asked)
    now = _figures(asked["temperature"], vapour)
    notes = [_SEA_LEVEL, *_notes(now, "")]
    answer: dict[str, Any] = dict(now)
    if "heated_to" in asked:
        warmth = asked["heated_to"]
        left = min(vapour, float(air.saturation_pressure(warmth)))
        then = _figures(warmth, left)
        notes += _notes(then, "/heated_to")
        if left < vapour:
            dropped = float(air.humidity_ratio(vapour) - air.humidity_ratio(left))
            then["condensed"] = Quantity(HUMIDITY_RATIO, dropped)
            notes.append(_CONDENSED)
        answer["heated"] = then
    return Reply(answer, answer, notes, basis=cite(*_BASIS))


_BASIS: Final = ("saturation-pressure", "wet-bulb", "equilibrium-moisture")
_SEA_LEVEL: Final = Note(
    "sea-level",
    "Wet bulb and humidity ratio are those at the pressure of sea level, 101.325 kPa; in the "
    "mountains the wet bulb is lower and the ratio higher. Nothing else depends on it.",
    "",
    "ISO 2533 standard atmosphere",
)
_CONDENSED: Final = Note(
    "condensation",
    "Cooled so far, the air cannot keep its water: it is saturated and the rest condenses.",
    "/heated_to",
    "derived",
)


def _notes(figures: dict[str, Quantity], pointer: str) -> list[Note]:
    if "equilibrium_moisture" not in figures:
        return [
            Note(
                "no-equilibrium",
                f"No equilibrium moisture is told: the sorption curve covers {COVERED[0]:g} to "
                f"{COVERED[1]:g} °C and up to {sorption.HIGHEST_HUMIDITY:g} % relative humidity.",
                pointer,
                "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
            )
        ]
    lowest, highest = sorption.VALID_TEMPERATURE
    warmth, humidity = figures["temperature"].value, figures["relative_humidity"].value
    if lowest <= warmth <= highest and humidity <= sorption.VALID_HUMIDITY[1]:
        return []
    return [
        Note(
            "extrapolation",
            f"The sorption curve is known from {lowest:g} to {highest:g} °C and up to "
            f"{sorption.VALID_HUMIDITY[1]:g} % relative humidity; beyond, it is stretched.",
            pointer,
            "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        )
    ]


_LABELS: Final = {
    "temperature": ("temperature", 1),
    "relative_humidity": ("relative humidity", 1),
    "dew_point": ("dew point", 1),
    "wet_bulb": ("wet bulb", 1),
    "vapour_pressure": ("vapour pressure", 0),
    "humidity_ratio": ("humidity ratio", 2),
    "equilibrium_moisture": ("equilibrium moisture of wood", 2),
    "condensed": ("water that condenses", 2),
}


def _text(answered: Answered) -> Page:
    now, system = answered.reply.result, answered.system
    then = now.get("heated", {})

    def told(figures: dict[str, Quantity], name: str, decimals: int = -1) -> str:
        if name not in figures:
            return ""
        figure = figures[name]
        places = _LABELS[name][1] if decimals < 0 else decimals
        return amount(figure.value, figure.dimension, system, places)

    decision = (
        f"Air of {told(now, 'temperature')} and {told(now, 'relative_humidity', 0)} relative "
        f"humidity"
    )
    if "equilibrium_moisture" in now:
        decision += f" brings wood to {told(now, 'equilibrium_moisture', 1)} moisture"
    if then:
        change = "warmed" if then["temperature"].value >= now["temperature"].value else "cooled"
        decision += (
            f"; {change} to {told(then, 'temperature')} it has {told(then, 'relative_humidity', 0)}"
        )
        if "equilibrium_moisture" in then:
            decision += f" and brings wood to {told(then, 'equilibrium_moisture', 1)}"
    rows = [
        [label, told(now, name), *([told(then, name)] if then else [])]
        for name, (label, _) in _LABELS.items()
        if name in now or name in then
    ]
    return Page(decision + ".", [Rows(rows, heads=["", "as it is", "then"] if then else [])])


_FIGURES: Final[dict[str, Any]] = {
    name: {"type": "number", "description": label}
    for name, (label, _) in _LABELS.items()
    if name != "condensed"
}
_ALWAYS: Final = [name for name in _FIGURES if name != "equilibrium_moisture"]

QUESTION = Question(
    name="air",
    title="Moist air",
    summary="All the figures of moist air from its temperature and one of relative humidity, dew "
    "point, wet bulb or vapour pressure; and what becomes of it when it is warmed or cooled.",
    shape=AirShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            **_FIGURES,
            "heated": {
                "type": "object",
                "description": "the same air at heated_to",
                "properties": {
                    **_FIGURES,
                    "condensed": {"type": "number", "description": _LABELS["condensed"][0]},
                },
                "required": _ALWAYS,
            },
        },
        "required": _ALWAYS,
    },
    text=_text,
    examples=(
        Example(
            "Winter air let into a heated reading room",
            {"temperature": "14F", "relative_humidity": 75, "heated_to": "70F"},
        ),
        Example("From a dew point", {"temperature": "21C", "dew_point": "9C"}),
    ),
)
