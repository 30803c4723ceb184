"""What is asked of `/v1/flattening`."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any, Final, Literal

from marshmallow import ValidationError, validates_schema

from api.quantities import Days, Hours, Plain, Temperature
from api.schema import Choice, Flag, Part, Shape, SpreadShape, refuse, starts_field
from api.shapes.faces import faces_field, staying_wet, without_outdoors
from api.shapes.holding import FOR_YEARS, NO_YEAR, Bars, BarsShape, CupShape
from api.shapes.moisture import misplaced, moisture_field
from api.shapes.room import room_field, without_a_year
from api.shapes.slab import slab_field
from model.answers.flattening.plan import OVER_CORRECT, Case
from model.behaviour.slab import Moisture, Slab
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

DRAWS: Final = 64


@dataclass(frozen=True, slots=True)
class PlanTold:
    """What is to be done; a plan is proposed where no face is told of."""

    hours: float
    clamped: bool
    over_correct: float
    in_steps: bool
    wet_face: Literal["round", "hollow", "top", "bottom", "none"] | None = None
    temperature: float | None = None
    days: float | None = None
    drying: Room | None = None


class PlanShape(Shape):
    """What is to be done; left out, or with warmth and drying room alone, one is proposed."""

    makes = PlanTold
    rule = (
        "give wet_face where hours, clamped, over_correct, in_steps or days are given; where "
        "clamped is false, no days, no over_correct and no in_steps"
    )

    wet_face = Choice(
        "face kept wet; none for clamps alone", ("round", "hollow", "top", "bottom", "none")
    )
    hours = Hours("how long it is kept wet", low=0.5, high=336.0, load_default=24.0)
    temperature = Temperature("warmth of slab and water while wet", low=0.0, high=60.0)
    clamped = Flag("whether it is clamped while it dries", load_default=True)
    over_correct = Plain(
        "share of the cup it is bent back by: 1 flat, 1.25 a quarter past flat",
        low=0.5,
        high=2.0,
        load_default=OVER_CORRECT,
    )
    in_steps = Flag(
        "whether it is drawn little by little over weeks, not all at once", load_default=False
    )
    days = Days("how long it is held; until it is even when left out", low=1.0, high=730.0)
    drying = room_field(
        "where it dries; a log must cover a year; its own room when left out", year=True
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _whole(self, data: Any, original: Any, **kwargs: Any) -> None:
        names = ("hours", "clamped", "over_correct", "in_steps", "days")
        alone = [name for name in names if name in original]
        if alone and "wet_face" not in original:
            raise ValidationError(
                f"{', '.join(alone)} given without wet_face: add it (none for clamps alone), or "
                "leave them out to have a plan proposed",
                "wet_face",
            )
        if original.get("clamped") is False:
            if {"days", "over_correct", "in_steps"} & original.keys():
                raise ValidationError(
                    "clamped is false: leave days, over_correct and in_steps out", "clamped"
                )
            if original.get("wet_face") == "none":
                raise ValidationError("neither wetted nor held: that is no plan", "clamped")


@dataclass(frozen=True, slots=True)
class Asked:
    """A cupped slab, where it is to live, and a plan; the cup signed, edges up positive [m]."""

    slab: Slab
    cup: float
    moisture: Moisture
    faces: Faces
    room: Room
    starts: datetime.date
    samples: Samples
    plan: PlanTold | None = None
    bars: Bars | None = None

    def __post_init__(self) -> None:
        drying = None if self.plan is None else self.plan.drying
        refuse(
            self._no_cup(),
            misplaced(self.moisture, self.slab.thickness),
            staying_wet(self.faces, FOR_YEARS),
            without_outdoors(self.faces, self.room),
            without_a_year(self.room, NO_YEAR),
            {} if self.bars is None else self.bars.faults(self.slab),
            {} if drying is None else {"plan": without_a_year(drying, NO_YEAR, "drying")},
        )

    def _no_cup(self) -> dict[str, Any]:
        amount, width = abs(self.cup), self.slab.width
        told = ""
        if amount == 0.0:
            told = "0 given: there is no cup to take out"
        elif amount > 0.25 * width:
            told = (
                f"{1e3 * amount:g} mm given: more than a quarter of the width, {1e3 * width:g} mm, "
                "is no cup this model covers"
            )
        return {"cup": {"amount": [told]}} if told else {}

    @property
    def case(self) -> Case:
        """What every treatment starts from and ends in."""
        return Case(
            self.slab,
            self.cup,
            self.moisture,
            self.faces,
            self.room,
            day_of(self.starts),
            self.samples,
            None if self.bars is None else self.bars.on(self.slab),
        )


class FlatteningShape(SpreadShape):
    """A cupped slab, where it is to live, and a plan."""

    makes = Asked
    draws = DRAWS

    slab = slab_field("the slab, with the size it has today", required=True)
    cup = Part(CupShape, "its cup now", required=True)
    moisture = moisture_field("moisture content now", required=True)
    faces = faces_field("what is on the faces afterwards; bare when left out")
    room = room_field("the room it will live in; a log must cover a year", year=True, required=True)
    starts = starts_field("day the work starts")
    plan = Part(PlanShape, "what is to be done; proposed when left out")
    bars = Part(BarsShape, "bars it gets afterwards, told of beside the free slab")
