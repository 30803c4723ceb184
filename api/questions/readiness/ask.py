"""What is asked of `/v1/readiness`."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import Mass, Moisture, Plain
from api.schema import Date, Either, Part, Rows, Shape, SpreadShape, refuse
from api.shapes.evidence import MeterShape, OvenDryShape, deeper, meter
from api.shapes.faces import face_untold, staying_wet, without_outdoors
from api.shapes.room import room_field, without_a_year
from api.shapes.slab import slab_field
from model.answers.readiness.seen import UNTOLD
from model.behaviour.slab import HIGHEST_MOISTURE, Slab
from model.properties.finishes import Face, Faces
from model.properties.meters import OvenDry, Pin, Surface
from model.spread import Samples
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

LONGEST: Final = 7310  # days from the first reading to the day of the answer; twenty years
MOST: Final = 500  # readings; the contract of version 1


@dataclass(frozen=True, slots=True)
class Dated:
    """A reading of a meter, a piece dried, or a weight of the whole slab [kg], on a date."""

    date: datetime.date
    reading: Pin | Surface | OvenDry | None
    weight: float | None
    step: float


def _dated(
    date: datetime.date,
    weight: float | None = None,
    step: float = 0.0,
    oven_dry: OvenDry | None = None,
    **read: Any,
) -> Dated:
    if weight is not None:
        return Dated(date, None, weight, step)
    if oven_dry is not None:
        return Dated(date, oven_dry, None, step)
    one = meter(**read)
    if one.place in ("edge", "end"):
        raise ValidationError(
            f"`{one.place}` given: that zone follows the air in weeks and says nothing of when the "
            "slab is ready; read a face, 300 mm from the ends",
            "place",
        )
    return Dated(date, one, None, step)


@dataclass(frozen=True, slots=True)
class Destination:
    """The room the slab is going to."""

    room: Room


class DatedShape(MeterShape):
    """One dated reading of a meter, a piece dried, or a weight of the whole slab."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(_dated)

    rule = (
        "give value or resistance as of Meter, on top or bottom; or weight, perhaps with step, and "
        "nothing of a meter; or oven_dry alone"
    )

    date = Date("day it was read", required=True)
    weight = Mass("weight of the whole slab, instead of a reading", low=0.05, high=5000.0)
    step = Mass("smallest step of the scale that weighed it", low=0.0, high=10.0)
    oven_dry = Part(OvenDryShape, "a piece of the slab weighed and dried, instead of a reading")

    def _figure_once(self, original: Any) -> None:
        ways = ("value", "resistance", "weight", "oven_dry")
        given = [name for name in ways if name in original]
        if len(given) != 1:
            told = f"{' and '.join(given)} given" if given else "missing"
            raise ValidationError(
                f"value, resistance, weight or oven_dry: {told}; give one of them"
            )
        of_way = {"weight": {"weight", "step", "date"}, "oven_dry": {"oven_dry", "date", "step"}}
        idle = sorted(set(original) - of_way.get(given[0], set(original)))
        if idle:
            raise ValidationError(f"{given[0]} has no use for {', '.join(idle)}: leave out")
        if "step" in original and "weight" not in original:
            raise ValidationError("the step of a scale given without weight: leave out", "step")

    @validates_schema
    def _without_meter(self, data: Any, **kwargs: Any) -> None:
        if "weight" in data or "oven_dry" in data:
            for name in ("kind", "place", "compensated", "scale"):  # defaults of meters
                data.pop(name, None)


def _standing(top: Face = UNTOLD, bottom: Face = UNTOLD) -> Faces:
    """The faces; what nobody told stands as `UNTOLD`."""
    return Faces(top, bottom)


class StandingFacesShape(Shape):
    """What is on the faces of a slab that stands; one left out is drawn."""

    makes = staticmethod(_standing)

    top = face_untold("top")
    bottom = face_untold("bottom")


class TargetShape(Shape):
    """The room the slab is going to."""

    makes = Destination

    room = room_field("the room it goes to; a log must cover a year", year=True, required=True)


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab, where it stands, what was read when, and where it is going."""

    slab: Slab
    room: Room
    readings: tuple[Dated, ...]
    target: float | Destination
    within: float
    samples: Samples
    faces: Faces | None = None
    dry_weight: float | None = None
    today: datetime.date | None = None

    def __post_init__(self) -> None:
        target = self.target
        refuse(
            self._out_of_order(),
            {} if self.faces is None else staying_wet(self.faces, "no face stays wet that long"),
            without_outdoors(self.faces, self.room),
            {} if isinstance(target, float) else _no_year(target),
            {"readings": wrong} if (wrong := self._too_deep()) else {},
            self._log_too_late(),
            self._impossible_weights(),
        )
        if self.as_of < self.readings[-1].date:
            raise ValidationError(
                f"`{self.as_of}` given: before the last reading, {self.readings[-1].date}", "today"
            )
        if (self.as_of - self.first).days > LONGEST:
            raise ValidationError(
                f"{self.first} to {self.as_of} given: at most {LONGEST} days, 20 years", "readings"
            )

    @property
    def first(self) -> datetime.date:
        """Date of the first reading."""
        return self.readings[0].date

    @property
    def as_of(self) -> datetime.date:
        """Day of the answer."""
        return self.today or self.readings[-1].date

    def day(self, date: datetime.date) -> float:
        """Day number of a date: that of the first reading, and calendar days from there on.

        The model's months are equal; counting on keeps the time between readings exact.
        """
        return day_of(self.first) + float((date - self.first).days)

    def _out_of_order(self) -> dict[str, Any]:
        dates = [one.date for one in self.readings]
        wrong = {
            index: {
                "date": [
                    f"`{dates[index]}` given: before the reading above it, {dates[index - 1]}; "
                    "write them in the order of their dates"
                ]
            }
            for index in range(1, len(dates))
            if dates[index] < dates[index - 1]
        }
        return {"readings": wrong} if wrong else {}

    def _too_deep(self) -> dict[int, Any]:
        return {
            index: wrong
            for index, one in enumerate(self.readings)
            if one.reading is not None and (wrong := deeper(one.reading, self.slab.thickness))
        }

    def _log_too_late(self) -> dict[str, Any]:
        room = self.room
        if not room.begins_after(self.first):
            return {}
        assert room.starts is not None
        told = f"begins on {room.starts.date()}, after the first reading, {self.first}"
        return {"room": {"log": [told]}}

    def _impossible_weights(self) -> dict[str, Any]:
        """Weights without a size to go by, and such as this slab cannot have."""
        weights = {i: one.weight for i, one in enumerate(self.readings) if one.weight is not None}
        if not weights:
            return {}
        usual = self.slab.weight(0.0)
        if self.dry_weight is not None:
            low = self.dry_weight
            high = low * (1.0 + HIGHEST_MOISTURE / 100.0)
            told = f"its oven-dry weight is {low:.4g} kg"
        elif usual is not None:
            # Three deviations of the density either way, and green at the upper end.
            low, high = 0.7 * usual, 1.3 * usual * (1.0 + HIGHEST_MOISTURE / 100.0)
            told = f"a slab of this wood and size weighs about {usual:.4g} kg oven-dry"
        else:
            missing = "missing: weights need the slab's length or its oven-dry weight"
            return {"dry_weight": [missing]}
        wrong = {
            i: {"weight": [f"{weight:.4g} kg given: {told}; write the weight of the whole slab"]}
            for i, weight in weights.items()
            if not low <= weight <= high
        }
        return {"readings": wrong} if wrong else {}


def _no_year(target: Destination) -> dict[str, Any]:
    wrong = without_a_year(target.room, "this log does not cover a year")
    return {"target": wrong} if wrong else {}


class ReadinessShape(SpreadShape):
    """A slab, where it stands, what was read when, and where it is going."""

    makes = Asked

    slab = slab_field("the slab, with the size it has at the first reading", required=True)
    faces = Part(
        StandingFacesShape,
        "what is on the faces; one left out may be anything from open to shut, and the answer is "
        "the less sure",
    )
    room = room_field("where it has stood since the first reading and will stand", required=True)
    readings = Rows(
        "dated readings, pieces dried or weights, in the order of their dates",
        DatedShape,
        shortest=1,
        longest=MOST,
        required=True,
    )
    target = Either(
        "where it is going: a moisture content, or the room",
        Moisture("moisture content to reach", low=2.0, high=30.0),
        TargetShape,
        required=True,
    )
    within = Plain(
        "distance from the target that will do, in points of moisture",
        low=0.1,
        high=5.0,
        load_default=1.0,
    )
    dry_weight = Mass("oven-dry weight of the slab, if it is known", low=0.05, high=5000.0)
    today = Date("day of the answer; that of the last reading when left out")
