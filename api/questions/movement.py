"""`/v1/movement`: how a slab's size and shape change between two states of moisture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import Moisture as MoistureField
from api.quantities import Plain, RelativeHumidity, Temperature
from api.question import Answered, Example, Question, Reply
from api.replies import members, text
from api.replies.members import Answer, itself
from api.replies.parts import CupFigure
from api.replies.text import Page, Rows
from api.schema import Either, SpreadShape, refuse
from api.shapes.moisture import MOISTURE, UNKNOWN, MoistureShape, misplaced, moisture_of
from api.shapes.slab import slab_field
from api.units import LENGTH, PER_PERCENT, PERCENT, PLAIN, STRESS, System
from model.answers import movement
from model.answers.movement import Growth, InAir, Movement, State
from model.basis import cite
from model.behaviour import shape
from model.behaviour.slab import Slab
from model.properties import sorption
from model.spread import Figure, Samples


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab, and two states of its moisture."""

    slab: Slab
    before: State
    after: State
    samples: Samples
    spiral_grain: float | None = None

    def __post_init__(self) -> None:
        refuse(
            *(
                misplaced(state, self.slab.thickness, name)
                for name, state in (("before", self.before), ("after", self.after))
                if not isinstance(state, InAir)
            )
        )


def _state(temperature: float | None = None, relative_humidity: float = 0.0, **told: Any) -> State:
    """The moisture, or the air."""
    if temperature is not None:
        return InAir(temperature, relative_humidity)
    return moisture_of(**told)


class StateShape(MoistureShape):
    """A moisture that differs through the thickness, or the air that the slab settles in."""

    makes = staticmethod(_state)

    rule = f"{MoistureShape.rule}, or temperature and relative_humidity"
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


def _state_field(meaning: str) -> Either:
    one = MoistureField(meaning, low=MOISTURE[0], high=MOISTURE[1])
    return Either(meaning, one, StateShape, words=UNKNOWN, required=True)


class MovementShape(SpreadShape):
    """A slab and two states of moisture."""

    makes = Asked

    slab = slab_field("the slab, with the size it has in the first state", required=True)
    before = _state_field("the first state: a moisture, or the air it has settled in")
    after = _state_field("the second state: a moisture, or the air it settles in")
    spiral_grain = Plain(
        "angle of the grain to the length in degrees, for the twist", low=0.0, high=15.0
    )


def _answer(asked: Asked) -> Reply[Movement]:
    moved = movement.movement(
        asked.slab,
        asked.before,
        asked.after,
        asked.samples,
        spiral_grain=asked.spiral_grain,
    )
    return Reply(moved, moved.notes, basis=cite(*moved.formulas))


class MovementSize(Answer):
    """A dimension in both states, and its change."""

    before = members.Number(LENGTH)
    after = members.Figure(LENGTH)
    change = members.Figure(LENGTH)


class MovementMoisture(Answer):
    """Mean moisture in both states."""

    before = members.Figure(PERCENT, of="moisture_before")
    after = members.Figure(PERCENT, of="moisture_after")


class MovementByCoefficient(Answer):
    """Change by the coefficient at 10 %, a share for 1 % of moisture."""

    coefficient = members.Number(PER_PERCENT)
    change = members.Number(LENGTH, of="change_by_coefficient")


class MovementByHandbook(Answer):
    """Change by the handbook's coefficient, or that of a movement printed elsewhere."""

    width = members.Part(MovementByCoefficient)
    thickness = members.Part(MovementByCoefficient)


class MovementRings(Answer):
    """What the known pith changes against a plain flat-sawn slab."""

    flat_change = members.Number(LENGTH, "of the width by the plain tangential rule")
    change = members.Number(LENGTH, "of the width with the rings")
    cup = members.Part(CupFigure, "by the rings alone", of="cupped")
    check_opening = members.Number(
        LENGTH, "of a check from the pith at the nearer face", null="when the pith lies outside"
    )
    edges_go = members.Number(
        LENGTH,
        "both edges, away from the face that a check from the pith reaches, in a V",
        of="v_rise",
        null="when the pith lies outside",
    )


class MovementOutOfLine(Answer):
    """What may come along the length."""

    bow = members.Number(LENGTH, "of a usual difference from face to face")
    crook = members.Number(LENGTH, "of a usual difference from edge to edge")
    twist = members.Number(
        PLAIN, "degrees, one end against the other", null="without spiral_grain and pith"
    )
    corner_rises = members.Number(LENGTH, of="corner", null="without spiral_grain and pith")


class MovementGrowth(Answer):
    """What the ripped strip tells of stress along the grain."""

    strain = members.Number(PLAIN, "difference over the strip")
    stress = members.Number(STRESS, "largest", null="when the wood's stiffness is not known")
    crook = members.Number(
        LENGTH,
        "of the slab once such a strip has left one edge; positive as the strip bowed",
        null="when no length is told",
    )


class MovementAnswer(Answer):
    """How the slab moves."""

    width = members.Part(MovementSize)
    thickness = members.Part(MovementSize)
    length = members.Part(MovementSize, left_out="when no length is told")
    cup = members.Part(CupFigure, of="cupped")
    moisture = members.Part(MovementMoisture, of=itself)
    handbook = members.Part(MovementByHandbook, of=itself)
    rings = members.Part(MovementRings, left_out="when no pith is told")
    out_of_line = members.Part(MovementOutOfLine, of="crooked", left_out="when no length is told")
    planed = members.Part(
        CupFigure,
        "at once, by planing 1 mm off the top face alone",
        of=lambda moved: (
            None if moved.planing is None else shape.cupped(moved.planing, moved.width.before)
        ),
        left_out="when no slice or prong is told",
    )
    growth = members.Part(MovementGrowth, left_out="when no ripped_strip is told")


def _text(answered: Answered[Asked, Movement]) -> Page:
    moved = answered.result
    system = answered.system
    change = moved.width.change
    decision = (
        f"From {moved.moisture_before.value:.1f} % to {moved.moisture_after.value:.1f} % moisture "
        f"the slab {_moves(change, system)} in width"
    )
    cup = moved.cupped
    if cup.shape != "flat":
        told = text.short_length(cup.amount.value, system)
        decision += f" and, free to move, cups {told} {cup.shape}{_band(cup.amount, system)}"
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
    sizes = Rows(rows, heads=["", "becomes", "change", "likely"])
    parts: list[Rows | str] = [sizes]
    short: list[Rows | str] = [sizes]

    def decides(told: str) -> None:
        short.append(told)
        parts.append(told)

    by_handbook = moved.width.change_by_coefficient
    if by_handbook is not None:
        whose = "The handbook's" if answered.asked.slab.species.is_of_handbook else "Its"
        parts.append(
            f"{whose} coefficient ({moved.width.coefficient:.5f} for 1 %) gives "
            f"{_signed(by_handbook, system)} for the width."
        )
    if moved.planing is not None:
        at_once = shape.cupped(moved.planing, moved.width.before)
        size = text.short_length(at_once.amount.value, system)
        decides(
            f"It brings stress along: every millimetre planed off the top face alone cups it "
            f"{size} {at_once.shape} at once; as much off both faces, hardly at all."
        )
    if moved.growth is not None:
        decides(_growth(moved.growth, system))
    if moved.rings is not None:
        parts.append(
            f"With its rings about the pith the width changes {_signed(moved.rings.change, system)}"
            f", against {_signed(moved.rings.flat_change, system)} by the plain flat-sawn rule."
        )
        opening = moved.rings.check_opening
        if opening is not None and opening > 0.0 and not text.is_nothing(opening, system):
            decides(
                "A check from the pith opens by about "
                f"{text.short_length(opening, system)} at the nearer face."
            )
        rise = moved.rings.v_rise
        if rise is not None and rise > 0.0 and not text.is_nothing(rise, system):
            decides(
                "If a check reaches the face nearer the bark alone, both edges go "
                f"{text.short_length(rise, system)} away from that face, in a V."
            )
    if moved.crooked is not None:
        along = moved.crooked
        told = (
            f"Along its length it may bow {text.short_length(along.bow, system)}"
            f" and crook {text.length(along.crook, system)}"
        )
        if along.twist is not None and along.corner is not None:
            told += (
                f", and twist {along.twist:.1f} degrees: a corner rises "
                f"{text.short_length(along.corner, system)}"
            )
        parts.append(told + ".")
    return Page(decision + ".", parts, short)


def _growth(growth: Growth, system: System) -> str:
    told = "The strip let go stress along the grain"
    if growth.stress is not None:
        told += f" of up to {text.amount(growth.stress, STRESS, system)}"
    if growth.crook is not None:
        told += (
            "; ripping such a strip off one edge leaves the slab a crook of "
            f"{text.short_length(abs(growth.crook), system)}, off both edges hardly any"
        )
    return told + "."


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


QUESTION: Final = Question(
    name="movement",
    title="Movement",
    summary="How much width, thickness and length change, and how the slab cups, between two "
    "moistures or two airs; the handbook's coefficient and the rings' effect beside it.",
    shape=MovementShape(),
    answer=_answer,
    answered=MovementAnswer(),
    in_tables=("width", "thickness", "length", "cup", "moisture", "handbook", "rings"),
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
                "before": 12.5,
                "after": 7,
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
                "before": 11,
                "after": {"temperature": "21C", "relative_humidity": 30},
            },
        ),
    ),
)
