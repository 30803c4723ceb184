"""What is on the two faces of a slab, a finish, a cover, water, or nothing; and what warms them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import (
    AirLayer,
    Hours,
    Plain,
    Radiation,
    Speed,
    Temperature,
    TemperatureRise,
    Transmittance,
    shown,
)
from api.schema import Choice, Either, Name, Part, Shape, Whole, no_such, one_of
from api.units import System
from model.properties import finishes
from model.properties.finishes import Face, Faces
from model.properties.warmth import LocalWarmth
from model.surroundings import places_at_slab
from model.surroundings.room import Room

_TONES: Final = places_at_slab.ABSORBED


class FinishName(Name):
    """What is on a face: a finish or cover by id or name, `wet`, or `bare`."""

    form = "a finish such as bare, oiled, spar-varnish, covered, closed or wet"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            return finishes.face(text)
        except finishes.UnknownName as unknown:
            raise ValidationError(
                f"{shown(text)} given: {no_such('finish', unknown.candidates)}; /v1/finishes "
                "lists them, or give sd or perms of your own"
            ) from None

    def echo(self, value: Any, system: System) -> Any:
        """Its id."""
        return "wet" if value.finish is None else value.finish.id


# What belongs to each place at the slab, and what of that must be told.
_OF_PLACE: Final[dict[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "heated_floor": (("floor_temperature",), ()),
    "over_radiator": (("water_temperature",), ()),
    "sun_through_glass": (("sun", "lit_hours", "tone"), ("lit_hours",)),
    "outer_wall": (("transmittance", "position"), ("transmittance",)),
    "closed_carcass": ((), ()),
}


class PlaceName(Choice):
    """A place at the slab by name, where nothing more must be told."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        name = super()._deserialize(value, attr, data, **kwargs)
        needed = _OF_PLACE[name][1]
        if needed:
            raise ValidationError(
                f"{shown(name)} given: {', '.join(needed)} is missing; write an object with at and "
                f"{', '.join(needed)}"
            )
        return name


class PlaceShape(Shape):
    """Where a face is, that makes it warmer or colder than the room."""

    rule = (
        "floor_temperature belongs to heated_floor; water_temperature to over_radiator; sun, "
        "lit_hours and tone to sun_through_glass, which needs lit_hours; transmittance and "
        "position to outer_wall, which needs transmittance"
    )

    at = Choice("which place", tuple(_OF_PLACE), required=True)
    floor_temperature = Temperature(
        "surface of the floor while it heats; 26 °C (79 °F) when left out", low=15.0, high=45.0
    )
    water_temperature = Temperature(
        "water in the radiator while it heats; 50 °C (122 °F) when left out", low=20.0, high=95.0
    )
    sun = Radiation(
        "sun on the window while the face is lit; 600 W/m2 when left out", low=0.0, high=1200.0
    )
    lit_hours = Hours("how long the sun lies on the face, mean of the days", low=0.0, high=24.0)
    tone = Choice("how much sun the face takes up; pale when left out", tuple(_TONES))
    transmittance = Transmittance("U of the outer wall", low=0.05, high=6.0)
    position = Choice(
        "how the slab stands to the wall; free when left out", tuple(places_at_slab.WALL_RESISTANCE)
    )

    @validates_schema(pass_original=True)
    def _together(self, data: Any, original: Any, **kwargs: Any) -> None:
        allowed, needed = _OF_PLACE[data["at"]]
        wrong = {
            name: [f"given: it does not belong to {data['at']}; leave it out"]
            for name in data.keys() - {"at", *allowed}
        }
        wrong |= {name: [f"missing: {data['at']} needs it"] for name in set(needed) - data.keys()}
        if wrong:
            raise ValidationError(dict(sorted(wrong.items())))

    @staticmethod
    def makes(
        at: str,
        floor_temperature: float = places_at_slab.FLOOR_USUAL,
        water_temperature: float = places_at_slab.RADIATOR_WATER,
        sun: float = places_at_slab.SUN_USUAL,
        lit_hours: float = 0.0,
        tone: str = "pale",
        transmittance: float = 0.0,
        position: str = "free",
    ) -> LocalWarmth:
        """What warms or cools the face."""
        if at == "heated_floor":
            return places_at_slab.heated_floor(floor_temperature)
        if at == "over_radiator":
            return places_at_slab.over_radiator(water_temperature)
        if at == "sun_through_glass":
            return places_at_slab.in_sun(sun, lit_hours / 24.0, _TONES[tone])
        if at == "outer_wall":
            return places_at_slab.at_outer_wall(
                transmittance, places_at_slab.WALL_RESISTANCE[position]
            )
        return places_at_slab.CLOSED_CARCASS


class FaceShape(Shape):
    """What is on a face and what warms it, in full."""

    rule = (
        "give at most one of finish, sd and perms, which may be left out beside warmer_by or "
        "place; coats belong to a finish; give at most one of warmer_by and place"
    )

    finish = FinishName("the finish or cover by id or name")
    coats = Whole("number of coats", low=1, high=10)
    sd = AirLayer("vapour resistance as metres of still air", low=0.0, high=1000.0)
    perms = Plain("vapour permeance in US perms", low=0.001, high=1000.0)
    air_speed = Speed("speed of the air along the face", low=0.0, high=10.0, load_default=0.0)
    warmer_by = TemperatureRise(
        "how much warmer than the room's air the face is, all the year; negative for colder",
        low=-30.0,
        high=40.0,
    )
    place = Either(
        "where the face is, that makes it warmer or colder than the room",
        PlaceName("where the face is", tuple(_OF_PLACE)),
        PlaceShape,
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        warmed = [name for name in ("warmer_by", "place") if name in original]
        if len(warmed) > 1:
            raise ValidationError("warmer_by and place given; give one of them", "warmer_by")
        on = ("finish", "sd", "perms")
        if not warmed or any(name in original for name in on):
            one_of(original, on, "what is on the face")
        if "coats" in original and "finish" not in original:
            raise ValidationError("coats given without a finish; add finish", "coats")

    @validates_schema
    def _coats_known(self, data: Any, **kwargs: Any) -> None:
        if "coats" not in data or "finish" not in data:
            return
        told: Face = data["finish"]
        if told.finish is None:
            raise ValidationError("coats given for a wet face; leave coats out", "coats")
        try:
            data["finish"] = finishes.face(told.finish.id, data["coats"])
        except finishes.UnknownCoats as unknown:
            raise ValidationError(
                f"{data['coats']} given: {unknown}; write one of those, or leave coats out", "coats"
            ) from None

    @validates_schema
    def _dry_where_warmed(self, data: Any, **kwargs: Any) -> None:
        wet = "finish" in data and data["finish"].wet
        if wet and ("warmer_by" in data or "place" in data):
            raise ValidationError(
                "wet given: water decides at a wet face, not its warmth; leave warmer_by and place "
                "out",
                "finish",
            )

    @staticmethod
    def makes(
        air_speed: float,
        finish: Face | None = None,
        coats: int | None = None,
        sd: float | None = None,
        perms: float | None = None,
        warmer_by: float | None = None,
        place: LocalWarmth | str | None = None,
    ) -> Face:
        """The face; the finish found has its number of coats already."""
        if finish is not None:
            face = replace(finish, air_speed=air_speed)
        elif sd is not None:
            face = Face(sd, air_speed=air_speed, name=f"finish of sd {sd:g} m")
        elif perms is not None:
            name = f"finish of {perms:g} perms"
            face = Face(finishes.sd_of_perms(perms), air_speed=air_speed, name=name)
        else:
            face = replace(_BARE, air_speed=air_speed)
        if warmer_by is not None:
            return replace(face, warmth=LocalWarmth(by=warmer_by))
        if place is None:
            return face
        warmth = PlaceShape.makes(place) if isinstance(place, str) else place
        return places_at_slab.standing(face, warmth)


_BARE: Final = finishes.face("bare")


def _face_field(which: str) -> Either:
    meaning = f"what is on the {which} face"
    return Either(meaning, FinishName(meaning), FaceShape, load_default=_BARE)


def face_untold(which: str) -> Either:
    """Field of a face that is not taken as bare when left out."""
    meaning = f"what is on the {which} face; drawn when left out"
    return Either(meaning, FinishName(meaning), FaceShape)


class FacesShape(Shape):
    """What is on the two faces of a slab."""

    makes = Faces

    top = _face_field("top")
    bottom = _face_field("bottom")


def faces_field(meaning: str = "what is on the faces; bare when left out") -> Part:
    """Field of the faces, both bare unless told."""
    return Part(FacesShape, meaning, load_default=lambda: FacesShape().load({}))


def staying_wet(faces: Faces, why: str, name: str = "faces") -> dict[str, Any]:
    """Faults of faces, a member called `name`, that would stay wet, and why they cannot."""
    wrong = {
        side: [f"wet given: {why}; write what is on it when it is dry"]
        for side, face in (("top", faces.top), ("bottom", faces.bottom))
        if face.wet
    }
    return {name: wrong} if wrong else {}


def without_outdoors(faces: Faces | None, room: Room | None, name: str = "faces") -> dict[str, Any]:
    """Faults of faces, a member called `name`, at an outer wall where no climate is known."""
    if faces is None or room is None or room.outdoor is not None:
        return {}
    wrong = {
        side: {
            "place": [
                "outer_wall given, and the room has no climate: tell the room by its climate, or "
                "give warmer_by"
            ]
        }
        for side, face in (("top", faces.top), ("bottom", faces.bottom))
        if face.warmth is not None and face.warmth.needs_outdoors
    }
    return {name: wrong} if wrong else {}
