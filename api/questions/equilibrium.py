"""`/v1/equilibrium`: the moisture content wood settles to in air, or the air that holds it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema
from numpy.typing import NDArray

from api.quantities import Moisture, RelativeHumidity, Temperature
from api.question import Answered, Example, Question, Reply
from api.replies import members
from api.replies.csv import Table
from api.replies.members import Answer, Column
from api.replies.text import Page, Rows, amount
from api.schema import Choice, QuestionShape, one_of
from api.shapes.slab import SpeciesField
from api.units import PERCENT, TEMPERATURE
from model.basis import cite
from model.codes import Note
from model.properties import sorption, species
from model.properties.species import Species

BRANCHES: Final = ("mean", "drying", "wetting")
ROWS_OF_TEXT: Final = 40  # rows of a list that a terminal shows; CSV has them all
ROWS_OF_SHORT_TEXT: Final = 18
Figures = float | NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Asked:
    """Air [degC, %], or a moisture content to hold [%]; figures or lists of one length."""

    temperature: Figures
    treated: str
    relative_humidity: Figures | None = None
    moisture: Figures | None = None
    species: Species | None = None

    def __post_init__(self) -> None:
        given = {"temperature": self.temperature, self.name: self.other}
        lengths = {name: len(v) for name, v in given.items() if not isinstance(v, float)}
        if len(set(lengths.values())) > 1:
            told = ", ".join(f"{name} has {length:,}" for name, length in lengths.items())
            raise ValidationError(f"lists of different length given: {told}; give them alike")

    @property
    def name(self) -> str:
        """Name of the figure given beside the temperature."""
        return "moisture" if self.relative_humidity is None else "relative_humidity"

    @property
    def other(self) -> Figures:
        """The figure given beside the temperature [%]."""
        other = self.moisture if self.relative_humidity is None else self.relative_humidity
        assert other is not None
        return other

    @property
    def factors(self) -> tuple[float, float]:
        """Moisture over that of the common curve up to 60 % relative humidity and from 90 %."""
        at_60, at_90 = sorption.TREATED[self.treated]
        if self.species is None:
            return at_60, at_90
        return at_60 * self.species.sorption_at_60, at_90 * self.species.sorption_at_90

    @property
    def listed(self) -> bool:
        """Whether a list was asked."""
        return not (isinstance(self.temperature, float) and isinstance(self.other, float))


class EquilibriumShape(QuestionShape):
    """Air, or a moisture content and a temperature."""

    makes = Asked

    rule = "give relative_humidity or moisture beside temperature"

    # degC; known from -10 to 60, stretched with a note beyond, senseless below about -30 (K2 < 0)
    temperature = Temperature("air temperature", low=-20.0, high=80.0, lists=True, required=True)
    relative_humidity = RelativeHumidity(
        "relative humidity", low=0.0, high=sorption.HIGHEST_HUMIDITY, lists=True
    )
    moisture = Moisture(
        "moisture content to hold, instead of relative_humidity", low=0.0, high=30.0, lists=True
    )
    species = SpeciesField("the wood; the common curve of all woods when left out")
    treated = Choice("heat treatment of the wood", tuple(sorption.TREATED), load_default="none")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_question(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("relative_humidity", "moisture"), "what the air is or must hold")


@dataclass(frozen=True, slots=True)
class Held:
    """What air holds, or what air holds a moisture: figures by branch [%]."""

    asked: Asked
    by_branch: Mapping[str, Figures]


def _answer(asked: Asked) -> Reply[Held]:
    if asked.relative_humidity is None:
        held = _humidity(asked)
    else:
        factor = sorption.species_factor(asked.relative_humidity, *asked.factors)
        branches = sorption.branches(asked.temperature, asked.relative_humidity)
        held = {branch: factor * figures for branch, figures in branches.items()}
    formulas = ["equilibrium-moisture", "hysteresis"]
    if asked.species is not None:
        formulas.append("sorption-of-woods")
    return Reply(Held(asked, held), _notes(asked), basis=cite(*formulas))


def _humidity(asked: Asked) -> dict[str, Any]:
    temperature, moisture = asked.temperature, asked.other
    at_60, at_90 = asked.factors
    held = {
        branch: sorption.humidity_of_moisture(
            temperature, moisture, branch, at_60=at_60, at_90=at_90
        )
        for branch in BRANCHES
    }
    unreachable = np.isnan(held["mean"]) | np.isnan(held["drying"]) | np.isnan(held["wetting"])
    if np.any(unreachable):
        top = min(
            float(np.min(sorption.branch_moisture(temperature, sorption.HIGHEST_HUMIDITY, branch)))
            for branch in BRANCHES
        )
        raise ValidationError(
            f"{float(np.max(moisture)):.4g} % given: air of "
            f"{sorption.HIGHEST_HUMIDITY:g} % relative humidity, the dampest that the sorption "
            f"curve covers, holds {top * at_90:.2f} % at this temperature; write 0 to "
            f"{np.floor(top * at_90 * 100) / 100:g}",
            "moisture",
        )
    return held


def _notes(asked: Asked) -> list[Note]:
    wood = asked.species
    notes = [Note("spread-between-woods")]
    if wood is not None:
        notes = [*species.sorption_notes(wood)]
    coldest, hottest = _ends(asked.temperature)
    lowest, highest = sorption.VALID_TEMPERATURE
    if coldest < lowest or hottest > highest:
        notes.append(Note("sorption-cold-or-hot"))
    damp = asked.relative_humidity
    if damp is not None and _ends(damp)[1] > sorption.VALID_HUMIDITY[1]:
        notes.append(Note("sorption-damp"))
    if asked.treated != "none":
        notes.append(Note("heat-treated"))
    return notes


def _ends(figures: Figures) -> tuple[float, float]:
    """Lowest and highest of one figure or a list; the plain way for one is 3 us faster."""
    if isinstance(figures, float):
        return figures, figures
    return float(np.min(figures)), float(np.max(figures))


def _of_branch(branch: str) -> Any:
    return lambda held: held.by_branch[branch]


class ThreeBranches(Answer):
    """A figure, or a list of figures, on each curve."""

    mean = members.Numbers(PERCENT, "on the mean curve", of=_of_branch("mean"))
    drying = members.Numbers(PERCENT, "for wood that only ever dried", of=_of_branch("drying"))
    wetting = members.Numbers(PERCENT, "for wood that took up moisture", of=_of_branch("wetting"))


def _moisture_of(branch: str) -> Any:
    return lambda held: held.by_branch[branch] if held.asked.moisture is None else None


def _when_asked(held: Held) -> Held | None:
    return None if held.asked.moisture is None else held


class EquilibriumAnswer(Answer):
    """Mean, drying and wetting moisture; or the humidity with the same three."""

    mean = members.Numbers(
        PERCENT, "on the mean curve", of=_moisture_of("mean"), left_out="when moisture is asked"
    )
    drying = members.Numbers(
        PERCENT,
        "for wood that only ever dried",
        of=_moisture_of("drying"),
        left_out="when moisture is asked",
    )
    wetting = members.Numbers(
        PERCENT,
        "for wood that took up moisture",
        of=_moisture_of("wetting"),
        left_out="when moisture is asked",
    )
    relative_humidity = members.Part(
        ThreeBranches,
        "the humidity that holds it",
        of=_when_asked,
        left_out="unless moisture is asked",
    )


def _text(answered: Answered[Asked, Held]) -> Page:
    asked, held, system = answered.asked, answered.result.by_branch, answered.system
    if asked.listed:
        return _text_of_lists(answered)
    warmth = amount(float(asked.temperature), TEMPERATURE, system)
    wood = "wood" if asked.species is None else asked.species.name
    mean, drying, wetting = (float(held[branch]) for branch in BRANCHES)
    if asked.moisture is not None:
        return Page(
            f"Hold the air at about {mean:.0f} % relative humidity: at {warmth} it keeps {wood} at "
            f"{asked.moisture:g} % moisture.",
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
        f"{wood[:1].upper()}{wood[1:]} left in air of {warmth} and "
        f"{asked.relative_humidity:g} % relative humidity "
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


def _text_of_lists(answered: Answered[Asked, Held]) -> Page:
    table = _table(answered)
    columns = [
        np.atleast_1d(column.dimension.write(column.values, answered.system))
        for column in table.columns
        if column.dimension is not None
    ]
    count = columns[0].size
    rows = [[f"{figure:g}" for figure in row] for row in zip(*columns, strict=True)]
    heads = [column.name for column in table.columns]

    def first(most: int) -> list[Rows | str]:
        more = f"{count - most:,} more rows: ask with format=csv."
        return [Rows(rows[:most], heads=heads), *([more] if count > most else [])]

    what = (
        "Humidity of air that holds"
        if answered.asked.moisture is not None
        else "Moisture content in"
    )
    noun = "a moisture content" if answered.asked.moisture is not None else "an air"
    unit = TEMPERATURE.of_system[answered.system].symbol
    return Page(
        f"{what} {count:,} cases of {noun} (temperature in {unit}, the rest in %).",
        first(ROWS_OF_TEXT),
        first(ROWS_OF_SHORT_TEXT),
    )


def _table(answered: Answered[Asked, Held]) -> Table:
    asked, held = answered.asked, answered.result.by_branch
    count = max(np.size(asked.temperature), np.size(asked.other))
    columns = [
        Column("temperature", np.broadcast_to(asked.temperature, count), TEMPERATURE),
        Column(asked.name, np.broadcast_to(asked.other, count), PERCENT),
    ]
    columns += [Column(b, np.broadcast_to(held[b], count), PERCENT) for b in BRANCHES]
    return Table(columns, answered.system)


QUESTION: Final = Question(
    name="equilibrium",
    title="Equilibrium moisture",
    summary="The moisture content that wood settles to in air of a temperature and relative "
    "humidity; or, from a moisture content, the relative humidity that holds it.",
    shape=EquilibriumShape(),
    answer=_answer,
    answered=EquilibriumAnswer(),
    text=_text,
    table=_table,
    examples=(
        Example("A reading room in winter", {"temperature": "70F", "relative_humidity": 28}),
        Example(
            "Teak in a damp room",
            {"temperature": "70F", "relative_humidity": 75, "species": "teak"},
        ),
        Example("What humidity holds 7 %", {"temperature": "70F", "moisture": 7}),
        Example(
            "A list", {"units": "metric", "temperature": 21, "relative_humidity": [30, 45, 60]}
        ),
    ),
)
