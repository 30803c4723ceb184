"""What is asked of `/v1/fixings`."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
from marshmallow import ValidationError, validates_schema
from numpy.typing import NDArray

from api.quantities import Length, Moisture
from api.schema import Choice, Part, Shape, SpreadShape, one_of, refuse, starts_field
from api.shapes.faces import faces_field, staying_wet, without_outdoors
from api.shapes.holding import FOR_YEARS, MOST_POINTS, NO_YEAR, BarShape, FastenerShape
from api.shapes.moisture import MOISTURE, misplaced, moisture_field
from api.shapes.room import room_field, without_a_year
from api.shapes.slab import slab_field
from model.behaviour import slab as wood
from model.behaviour.bars import Bar
from model.behaviour.fixed_solid import SOLID_STRIP
from model.behaviour.fixings import CLEARANCE
from model.behaviour.slab import Slab
from model.behaviour.year import Extremes, years
from model.properties.fasteners import DURATION, Fastener
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

Floats = NDArray[np.float64]


def _range(driest: float, dampest: float) -> Extremes:
    if driest > dampest:
        raise ValidationError(f"{driest:g} % given: more than the dampest, {dampest:g} %", "driest")
    return Extremes(np.array([driest]), np.array([dampest]))


class RangeShape(Shape):
    """The driest and the dampest it will be."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(_range)

    driest = Moisture("driest it will be", low=0.0, high=MOISTURE[1], required=True)
    dampest = Moisture("dampest it will be", low=0.0, high=MOISTURE[1], required=True)


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab, where it goes, and its fixings; lengths [m]."""

    slab: Slab
    moisture: wood.Moisture
    faces: Faces
    starts: datetime.date
    positions: Floats
    fastener: Fastener
    clearance: float
    recess: float
    duration: str
    length_per_bar: float
    samples: Samples
    room: Room | None = None
    moisture_range: Extremes | None = None
    fixed_at: float | None = None
    bars: Bar | None = None

    def __post_init__(self) -> None:
        refuse(
            self._off_the_slab(),
            misplaced(self.moisture, self.slab.thickness),
            staying_wet(self.faces, FOR_YEARS),
            without_outdoors(self.faces, self.room),
            {} if self.room is None else without_a_year(self.room, NO_YEAR),
        )

    def _off_the_slab(self) -> dict[str, Any]:
        width = self.slab.width
        told = f"the slab is {1e3 * width:g} mm wide"
        wrong: dict[str, Any] = {}
        off = {
            index: [f"{1e3 * one:g} mm given: {told}"]
            for index, one in enumerate(self.positions)
            if one > width
        }
        if off:
            wrong["positions"] = off
        if self.fixed_at is not None and self.fixed_at > width:
            wrong["fixed_at"] = [f"{1e3 * self.fixed_at:g} mm given: {told}"]
        if self.recess >= self.slab.thickness:
            wrong["recess"] = [f"{1e3 * self.recess:g} mm given: it goes through the slab"]
        return wrong

    @property
    def extremes(self) -> Extremes:
        """The driest and the dampest it will be, as told or in the room it goes to."""
        if self.moisture_range is not None:
            return self.moisture_range
        assert self.room is not None
        return years(
            self.slab,
            self.moisture,
            self.faces,
            self.room,
            day_of(self.starts),
            self.samples,
        ).extremes


class FixingsShape(SpreadShape):
    """A slab, where it goes, and its fixings."""

    makes = Asked
    rule = "give room or moisture_range"

    slab = slab_field("the slab, with the size it has today", required=True)
    moisture = moisture_field("moisture content on the day of fitting", required=True)
    faces = faces_field()
    room = room_field(
        "the room it goes to, or give moisture_range; a log must cover a year", year=True
    )
    starts = starts_field("day it comes into the room")
    moisture_range = Part(RangeShape, "the driest and dampest it will be, instead of a room")
    positions = Length(
        "the fixings' distances from one edge",
        low=0.0,
        high=3.0,
        series=(1, MOST_POINTS),
        required=True,
    )
    fixed_at = Length(
        "line from which it moves, from the same edge; the middle when left out", low=0.0, high=3.0
    )
    fastener = Part(FastenerShape, "the fixing", required=True)
    clearance = Length(
        "room at each end of a slot beyond the movement",
        low=0.0,
        high=0.02,
        load_default=CLEARANCE,
    )
    recess = Length(
        "depth of a groove in the underside that the fixing starts from",
        low=0.0,
        high=0.25,
        load_default=0.0,
    )
    duration = Choice("how long the load lasts", tuple(DURATION), load_default="permanent")
    bars = Part(
        BarShape, "bar it would be solid to, for what a solid fixing does; flat steel 40 x 5 mm"
    )
    length_per_bar = Length(
        "length of slab along the grain that one bar holds",
        low=0.02,
        high=3.0,
        load_default=SOLID_STRIP,
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _goes_somewhere(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("room", "moisture_range"), "where it goes")
