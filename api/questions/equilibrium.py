"""`/v1/equilibrium`: the moisture content wood settles to in air, or the air that holds it."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api.quantities import PERCENT, TEMPERATURE, Moisture, RelativeHumidity, Temperature, percent
from api.question import Answered, Asked, Example, Question, Reply
from api.replies.csv import Column, Table
from api.replies.text import Page, Rows, amount
from api.schema import Choice, QuestionShape, exactly_one, one_of
from model.basis import Note, cite
from model.properties import sorption

BRANCHES: Final = ("mean", "drying", "wetting")
ROWS_OF_TEXT: Final = 40  # rows of a list that a terminal shows; CSV has them all

_LOWEST, _HIGHEST = sorption.VALID_TEMPERATURE
_EXTRAPOLATED: Final = Note(
    "extrapolation",
    f"The sorption curve is known from {_LOWEST:g} to {_HIGHEST:g} °C; beyond, it is stretched.",
    "/temperature",
    "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
)
_EXTRAPOLATED_DAMP: Final = Note(
    "extrapolation",
    f"Above {sorption.VALID_HUMIDITY[1]:g} % relative humidity the sorption curve is stretched; "
    "real wood takes up less or more by several points.",
    "/relative_humidity",
    "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
)
_BAND: Final = Note(
    "spread-between-woods",
    "One curve stands for all woods: measured woods lie within about 1 % moisture of it between "
    "40 and 65 % relative humidity, oak and beech 1.5 to 2 below it from 80 %.",
    "",
    "measured points of beech, spruce and ash (printed)",
)
_TREATED: Final = Note(
    "weak-basis",
    "Heat-treated wood is taken as a fixed share of plain wood, from makers' claims: low "
    "confidence.",
    "/treated",
    "printed makers' claims",
)


class EquilibriumShape(QuestionShape):
    """Air, or a moisture content and a temperature."""

    together = exactly_one("relative_humidity", "moisture")

    # degC; known from -10 to 60, stretched with a note beyond, senseless below about -30 (K2 < 0)
    temperature = Temperature("air temperature", low=-20.0, high=80.0, lists=True, required=True)
    relative_humidity = RelativeHumidity(
        "relative humidity", low=0.0, high=sorption.HIGHEST_HUMIDITY, lists=True
    )
    moisture = Moisture(
        "moisture content to hold, instead of relative_humidity", low=0.0, high=30.0, lists=True
    )
    treated = Choice("heat treatment of the wood", tuple(sorption.TREATED), load_default="none")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_question(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("relative_humidity", "moisture"), "what the air is or must hold")

    @validates_schema
    def _lists_agree(self, data: Any, **kwargs: Any) -> None:
        lengths = {name: np.size(v) for name, v in data.items() if isinstance(v, np.ndarray)}
        if len(set(lengths.values())) > 1:
            told = ", ".join(f"{name} has {length:,}" for name, length in lengths.items())
            raise ValidationError(f"lists of different length given: {told}; give them alike")


def _answer(asked: Asked) -> Reply:
    temperature = asked["temperature"]
    factor = sorption.TREATED[asked["treated"]]
    if "moisture" in asked:
        held = _humidity(temperature, asked["moisture"] / factor, factor)
        answer: dict[str, Any] = {"relative_humidity": percent(held)}
    else:
        humidity = asked["relative_humidity"]
        branches = sorption.branches(temperature, humidity)
        held = {branch: factor * figures for branch, figures in branches.items()}
        answer = {branch: percent(figures) for branch, figures in held.items()}
    return Reply(answer, held, _notes(asked), basis=cite("equilibrium-moisture", "hysteresis"))


def _humidity(temperature: Any, moisture: Any, factor: float) -> dict[str, Any]:
    held = {b: sorption.humidity_of_moisture(temperature, moisture, b) for b in BRANCHES}
    unreachable = np.isnan(held["mean"]) | np.isnan(held["drying"]) | np.isnan(held["wetting"])
    if np.any(unreachable):
        top = min(
            float(np.min(sorption.branch_moisture(temperature, sorption.HIGHEST_HUMIDITY, branch)))
            for branch in BRANCHES
        )
        raise ValidationError(
            f"{float(np.max(moisture)) * factor:.4g} % given: air of "
            f"{sorption.HIGHEST_HUMIDITY:g} % relative humidity, the dampest that the sorption "
            f"curve covers, holds {top * factor:.2f} % at this temperature; write 0 to "
            f"{np.floor(top * factor * 100) / 100:g}",
            "moisture",
        )
    return held


def _notes(asked: Asked) -> list[Note]:
    notes = [_BAND]
    coldest, hottest = _ends(asked["temperature"])
    if coldest < _LOWEST or hottest > _HIGHEST:
        notes.append(_EXTRAPOLATED)
    if _ends(asked.get("relative_humidity", 0.0))[1] > sorption.VALID_HUMIDITY[1]:
        notes.append(_EXTRAPOLATED_DAMP)
    if asked["treated"] != "none":
        notes.append(_TREATED)
    return notes


def _ends(figures: Any) -> tuple[float, float]:
    """Lowest and highest of one figure or a list; the plain way for one is 3 us faster."""
    if isinstance(figures, float):
        return figures, figures
    return float(np.min(figures)), float(np.max(figures))


def _text(answered: Answered) -> Page:
    asked, held, system = answered.asked, answered.reply.result, answered.system
    if any(isinstance(asked.get(n), np.ndarray) for n in ("temperature", *_GIVEN)):
        return _text_of_lists(answered)
    warmth = amount(asked["temperature"], TEMPERATURE, system)
    mean, drying, wetting = (float(held[branch]) for branch in BRANCHES)
    if "moisture" in asked:
        return Page(
            f"Hold the air at about {mean:.0f} % relative humidity: at {warmth} it keeps wood at "
            f"{asked['moisture']:g} % moisture.",
            [
                Rows(
                    [
                        ("on the mean curve", f"{mean:.1f} % RH"),
                        ("wood that only ever dried", f"{drying:.1f} % RH"),
                        ("wood that took up moisture", f"{wetting:.1f} % RH"),
                    ]
                )
            ],
        )
    return Page(
        f"Wood left in air of {warmth} and {asked['relative_humidity']:g} % relative humidity "
        f"settles to about {mean:.1f} % moisture.",
        [
            Rows(
                [
                    ("mean of both branches", f"{mean:.2f} %"),
                    ("wood that dries down to it", f"{drying:.2f} %"),
                    ("wood that takes up moisture", f"{wetting:.2f} %"),
                ]
            )
        ],
    )


_GIVEN: Final = ("relative_humidity", "moisture")


def _text_of_lists(answered: Answered) -> Page:
    table = _table(answered)
    columns = [
        np.atleast_1d(column.dimension.write(column.values, answered.system))
        for column in table.columns
        if column.dimension is not None
    ]
    count = columns[0].size
    rows = [[f"{figure:g}" for figure in row] for row in zip(*columns, strict=True)]
    parts: list[Rows | str] = [
        Rows(rows[:ROWS_OF_TEXT], heads=[column.name for column in table.columns])
    ]
    if count > ROWS_OF_TEXT:
        parts.append(f"{count - ROWS_OF_TEXT:,} more rows: ask with format=csv.")
    what = "Humidity of air that holds" if "moisture" in answered.asked else "Moisture content in"
    noun = "a moisture content" if "moisture" in answered.asked else "an air"
    unit = TEMPERATURE.of_system[answered.system].symbol
    return Page(f"{what} {count:,} cases of {noun} (temperature in {unit}, the rest in %).", parts)


def _table(answered: Answered) -> Table:
    asked = answered.asked
    given = "moisture" if "moisture" in asked else "relative_humidity"
    held = answered.reply.result
    count = max(np.size(asked["temperature"]), np.size(asked[given]))
    columns = [
        Column("temperature", np.broadcast_to(asked["temperature"], count), TEMPERATURE),
        Column(given, np.broadcast_to(asked[given], count), PERCENT),
    ]
    columns += [Column(b, np.broadcast_to(held[b], count), PERCENT) for b in BRANCHES]
    return Table(columns, answered.system)


_FIGURES: Final = {"anyOf": [{"type": "number"}, {"type": "array", "items": {"type": "number"}}]}
_THREE: Final = {
    "mean": {**_FIGURES, "description": "on the mean curve"},
    "drying": {**_FIGURES, "description": "for wood that only ever dried"},
    "wetting": {**_FIGURES, "description": "for wood that took up moisture"},
}

QUESTION = Question(
    name="equilibrium",
    title="Equilibrium moisture",
    summary="The moisture content that wood settles to in air of a temperature and relative "
    "humidity; or, from a moisture content, the relative humidity that holds it.",
    shape=EquilibriumShape(),
    answer=_answer,
    answered={
        "type": "object",
        "description": "mean, drying and wetting moisture; or relative_humidity with the same "
        "three, when a moisture was asked.",
        "properties": {**_THREE, "relative_humidity": {"type": "object", "properties": _THREE}},
    },
    text=_text,
    table=_table,
    examples=(
        Example("A reading room in winter", {"temperature": "70F", "relative_humidity": 28}),
        Example("What humidity holds 7 %", {"temperature": "70F", "moisture": 7}),
        Example(
            "A list", {"units": "metric", "temperature": 21, "relative_humidity": [30, 45, 60]}
        ),
    ),
)
