"""`/v1/movement`: how a slab's size and shape change between two states of moisture."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import (
    LENGTH,
    RelativeHumidity,
    System,
    Temperature,
    length,
    per_percent,
    percent,
)
from api.quantities import Moisture as MoistureField
from api.question import Answered, Asked, Example, Question, Reply
from api.replies import text
from api.replies.text import Page, Rows
from api.schema import FIGURE_SCHEMA, Either, Part, SpreadShape, way
from api.shapes import (
    CUP_SCHEMA,
    MOISTURE,
    MoistureShape,
    SlabShape,
    build_moisture,
    build_slab,
    cup_members,
    draw_samples,
)
from model.answers import movement
from model.basis import cite
from model.properties import sorption
from model.spread import Figure


class StateShape(MoistureShape):
    """A moisture that differs through the thickness, or the air that the slab settles in."""

    together = {
        "oneOf": [
            *MoistureShape.together["oneOf"],
            way("air", ["temperature", "relative_humidity"]),
        ]
    }
    temperature = Temperature("temperature of the air it settles in", low=-20.0, high=80.0)
    relative_humidity = RelativeHumidity(
        "relative humidity of the air it settles in", low=0.0, high=sorption.HIGHEST_HUMIDITY
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        air = [name for name in ("temperature", "relative_humidity") if name in original]
        if not air:
            super()._one_way(data, original, **kwargs)
        elif len(air) < len(original):
            raise ValidationError("air and moisture given: give one of both")
        elif len(air) < 2:
            raise ValidationError(f"{air[0]} alone given; give temperature and relative_humidity")


def _state_field(meaning: str, name: str) -> Either:
    one = MoistureField(meaning, low=MOISTURE[0], high=MOISTURE[1])
    return Either(meaning, one, StateShape, required=True, data_key=name)


class MovementShape(SpreadShape):
    """A slab and two states of moisture."""

    slab = Part(SlabShape, "the slab, with the size it has in the first state", required=True)
    before = _state_field("the first state: a moisture, or the air it has settled in", "from")
    after = _state_field("the second state: a moisture, or the air it settles in", "to")


def _answer(asked: Asked) -> Reply:
    slab = build_slab(asked["slab"])
    states = [
        _build_state(asked[name], slab.thickness, said)
        for name, said in (("before", "from"), ("after", "to"))
    ]
    moved = movement.movement(slab, states[0], states[1], draw_samples(asked))
    answer: dict[str, Any] = {
        "width": length(_sizes(moved.width)),
        "thickness": length(_sizes(moved.thickness)),
    }
    if moved.length is not None:
        answer["length"] = length(_sizes(moved.length))
    answer["cup"] = cup_members(moved.cup, slab.width)
    answer["moisture"] = percent({"from": moved.moisture_before, "to": moved.moisture_after})
    answer["handbook"] = {
        name: {
            "coefficient": per_percent(dimension.coefficient),
            "change": length(dimension.change_by_coefficient),
        }
        for name, dimension in (("width", moved.width), ("thickness", moved.thickness))
    }
    if moved.rings is not None:
        answer["rings"] = {
            "flat_change": length(moved.rings.flat_change),
            "change": length(moved.rings.change),
            "cup": cup_members(Figure(moved.rings.cup), slab.width),
            "check_opening": length(moved.rings.check_opening),
        }
    return Reply(answer, moved, moved.notes, basis=cite(*moved.formulas))


def _build_state(asked: Any, thickness: float, name: str) -> movement.State:
    if isinstance(asked, dict) and "temperature" in asked:
        return movement.InAir(asked["temperature"], asked["relative_humidity"])
    return build_moisture(asked, thickness, name)


def _sizes(dimension: movement.Dimension) -> dict[str, Any]:
    return {"from": dimension.before, "to": dimension.after, "change": dimension.change}


def _text(answered: Answered) -> Page:
    moved: movement.Movement = answered.reply.result
    system = answered.system
    change = moved.width.change
    decision = (
        f"From {moved.moisture_before.value:.1f} % to {moved.moisture_after.value:.1f} % moisture "
        f"the slab {_moves(change, system)} in width"
    )
    cup = cup_members(moved.cup, moved.width.before)
    if cup["shape"] != "flat":
        amount: Figure = cup["amount"].value
        told = text.short_length(amount.value, system)
        decision += f" and, free to move, cups {told} {cup['shape']}{_band(amount, system)}"
    rows = []
    for name in ("width", "thickness", "length"):
        dimension = getattr(moved, name)
        if dimension is not None:
            rows.append(
                [
                    name,
                    text.length(dimension.after.value, system),
                    _signed(dimension.change.value, system),
                    text.spread(dimension.change, LENGTH, system),
                ]
            )
    parts: list[Rows | str] = [Rows(rows, heads=["", "becomes", "change", "likely"])]
    by_handbook = moved.width.change_by_coefficient
    if by_handbook is not None:
        parts.append(
            f"The handbook's coefficient ({moved.width.coefficient:.5f} for 1 %) gives "
            f"{_signed(by_handbook, system)} for the width."
        )
    if moved.rings is not None:
        parts.append(
            f"With its rings about the pith the width changes {_signed(moved.rings.change, system)}"
            f", against {_signed(moved.rings.flat_change, system)} by the plain flat-sawn rule."
        )
        opening = moved.rings.check_opening
        if opening is not None and opening > 0.0 and not text.is_nothing(opening, system):
            parts.append(
                "A check from the pith opens by about "
                f"{text.short_length(opening, system)} at the nearer face."
            )
    return Page(decision + ".", parts)


def _moves(change: Figure, system: System) -> str:
    """The change of a dimension in words: `shrinks 8 mm (6 mm to 10 mm)`."""
    if text.is_nothing(change.value, system):
        return "neither grows nor shrinks"
    told = "grows" if change.value > 0.0 else "shrinks"
    return f"{told} {text.short_length(abs(change.value), system)}{_band(change, system)}"


def _band(figure: Figure, system: System) -> str:
    """Both ends of a length in brackets, where they go the same way."""
    if figure.low is None or figure.high is None or figure.low * figure.high <= 0.0:
        return ""
    low, high = sorted((abs(figure.low), abs(figure.high)))
    return f" ({text.short_length(low, system)} to {text.short_length(high, system)})"


def _signed(metres: float, system: System) -> str:
    return text.length(metres, system, signed=True)


_SIZES: Final = {
    "type": "object",
    "properties": {"from": {"type": "number"}, "to": FIGURE_SCHEMA, "change": FIGURE_SCHEMA},
    "required": ["from", "to", "change"],
}
_NUMBER: Final = {"type": ["number", "null"]}
_BY_HANDBOOK: Final = {
    "type": "object",
    "properties": {"coefficient": _NUMBER, "change": _NUMBER},
}

QUESTION = Question(
    name="movement",
    title="Movement",
    summary="How much width, thickness and length change, and how the slab cups, between two "
    "moistures or two airs; the handbook's coefficient and the rings' effect beside it.",
    shape=MovementShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "width": _SIZES,
            "thickness": _SIZES,
            "length": _SIZES,
            "cup": CUP_SCHEMA,
            "moisture": {
                "type": "object",
                "properties": {"from": FIGURE_SCHEMA, "to": FIGURE_SCHEMA},
            },
            "handbook": {
                "type": "object",
                "description": "change by the handbook's coefficient (a share for 1 % moisture)",
                "properties": {"width": _BY_HANDBOOK, "thickness": _BY_HANDBOOK},
            },
            "rings": {
                "type": "object",
                "description": "what the known pith changes against a plain flat-sawn slab",
                "properties": {
                    "flat_change": {"type": "number"},
                    "change": {"type": "number"},
                    "cup": CUP_SCHEMA,
                    "check_opening": _NUMBER,
                },
            },
        },
        "required": ["width", "thickness", "cup", "moisture", "handbook"],
    },
    text=_text,
    examples=(
        Example(
            "The library table from 12.5 % to 7 %",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                    "grain": "flat",
                    "bark_side": "top",
                },
                "from": 12.5,
                "to": 7,
            },
        ),
        Example(
            "Red oak with its pith known, into the air of a heated room",
            {
                "slab": {
                    "species": "northern red oak",
                    "width": "600mm",
                    "thickness": "50mm",
                    "pith": {"below": "100mm"},
                },
                "from": 11,
                "to": {"temperature": "21C", "relative_humidity": 30},
            },
        ),
    ),
)
