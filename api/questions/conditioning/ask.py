"""What `/v1/conditioning` is asked."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, get_args

from marshmallow import ValidationError, validates_schema

from api.quantities import Length, Mass, Moisture, Plain, Temperature, Volume
from api.schema import Choice, Either, Part, Shape, SpreadShape, one_of, refuse, starts_field
from api.shapes.faces import faces_field, staying_wet, without_outdoors
from api.shapes.moisture import misplaced, moisture_field
from api.shapes.room import room_field, without_a_year
from api.shapes.slab import THICKNESS, SlabShape, SpeciesFigures, SpeciesName
from model.answers.drying import Pieces
from model.behaviour import slab
from model.behaviour.slab import Slab
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings import machines, shop
from model.surroundings.room import Room
from model.surroundings.shop import Shop, shop_of


class WoodShape(Shape):
    """A weight of wood."""

    makes: ClassVar[Callable[..., Any]] = Pieces

    species = Either(
        "the wood, by name or by its own figures",
        SpeciesName("the wood by id, common or scientific name"),
        SpeciesFigures,
        required=True,
    )
    weight = Mass("its weight now, all together", low=0.01, high=1e6, required=True)
    thickness = Length(
        "thickness of the pieces; without it no days are told", low=THICKNESS[0], high=THICKNESS[1]
    )


@dataclass(frozen=True, slots=True)
class Dehumidifier:
    """A machine as its label tells it."""

    rated: float | None = None
    rated_at: str = "27C_60"
    kind: machines.Dehumidifier = "compressor"

    @property
    def as_usual(self) -> float | None:
        """Output at 26.7 degC and 60 % [kg/day]; None where it is not told."""
        if self.rated is None or self.rated_at == "27C_60" or self.kind == "desiccant":
            return self.rated
        return machines.rated_as_usual(self.rated)


class DehumidifierShape(Shape):
    """A machine that dries air."""

    makes: ClassVar[Callable[..., Any]] = Dehumidifier

    rated = Mass(
        "water it takes out in a day as rated; as large as is needed when left out",
        low=0.01,
        high=10_000.0,
    )
    rated_at = Choice(
        "air of that rating: 27C_60 (26.7 °C, 80 °F) when left out, 30C_80 on European labels",
        ("27C_60", "30C_80"),
    )
    kind = Choice("how it dries; with a compressor when left out", get_args(machines.Dehumidifier))


@dataclass(frozen=True, slots=True)
class Asked:
    """Wood, where it is to go, and the shop."""

    moisture: slab.Moisture
    target: float
    faces: Faces
    room: Room
    starts: datetime.date
    samples: Samples
    hottest: float
    slab: Slab | None = None
    wood: Pieces | None = None
    volume: float | None = None
    air_changes: float | None = None
    dehumidifier: Dehumidifier = field(default_factory=Dehumidifier)
    panes: machines.Panes | None = None
    price: float | None = None

    def __post_init__(self) -> None:
        refuse(
            misplaced(self.moisture, self.body.thickness),
            staying_wet(self.faces, "no face stays wet that long"),
            without_outdoors(self.faces, self.room),
            without_a_year(self.room, "this log does not cover a year to plan by"),
        )

    @property
    def given(self) -> Slab | Pieces:
        """The wood as it was told."""
        given = self.slab or self.wood
        assert given is not None
        return given

    @property
    def body(self) -> Slab:
        """The slab, or the one that stands for the pieces."""
        return self.given if isinstance(self.given, Slab) else self.given.slab

    @property
    def shop(self) -> Shop:
        """The shop."""
        made = shop_of(self.room, None, self.volume, self.air_changes, self.hottest)
        return replace(
            made,
            rated=self.dehumidifier.as_usual,
            kind=self.dehumidifier.kind,
            panes=None if self.room.outdoor is None else self.panes,
            price=self.price,
        )


class ConditioningShape(SpreadShape):
    """Wood, where it is to go, and the shop."""

    makes = Asked
    rule = "give slab or wood; volume and air_changes together or not at all"

    slab = Part(SlabShape, "the slab, with the size it has today")
    wood = Part(WoodShape, "a weight of wood, instead of a slab")
    moisture = moisture_field("moisture content now", required=True)
    target = Moisture("moisture content to bring it to", low=3.0, high=25.0, required=True)
    faces = faces_field()
    room = room_field(
        "the shop, such as a climate with kind heated_shop and the temperature it is kept at; a "
        "log must cover a year",
        year=True,
        required=True,
    )
    starts = starts_field("day the wood goes in")
    volume = Volume(
        "volume of the shop, for the heat of ventilation and the wood's own water in its air",
        low=1.0,
        high=100_000.0,
    )
    air_changes = Plain("air changes of the shop in an hour", low=0.01, high=20.0)
    dehumidifier = Part(DehumidifierShape, "a machine that dries the shop's air")
    panes = Choice(
        "the shop's windows, which a humidifier and drying wood may make drip; none when left out",
        tuple(machines.SURFACE_FACTOR),
    )
    price = Plain("price of a kWh, in any money", low=0.0, high=1e6)
    hottest = Temperature(
        "hottest the shop may get", low=15.0, high=60.0, load_default=shop.HOTTEST
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_wood(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("slab", "wood"), "the wood")
        if ("volume" in original) != ("air_changes" in original):
            raise ValidationError("volume and air_changes belong together: give both or none")
