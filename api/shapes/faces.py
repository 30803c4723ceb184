"""What is on the two faces of a slab: a finish, a cover, water, or nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import AirLayer, Plain, Speed, shown
from api.schema import Either, Name, Part, Shape, Whole, no_such, one_of
from api.units import System
from model.properties import finishes
from model.properties.finishes import Face, Faces


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


class FaceShape(Shape):
    """What is on a face, in full."""

    rule = "give one of finish, sd and perms; coats belong to a finish"

    finish = FinishName("the finish or cover by id or name")
    coats = Whole("number of coats", low=1, high=10)
    sd = AirLayer("vapour resistance as metres of still air", low=0.0, high=1000.0)
    perms = Plain("vapour permeance in US perms", low=0.001, high=1000.0)
    air_speed = Speed("speed of the air along the face", low=0.0, high=10.0, load_default=0.0)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("finish", "sd", "perms"), "what is on the face")
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

    @staticmethod
    def makes(
        air_speed: float,
        finish: Face | None = None,
        coats: int | None = None,
        sd: float | None = None,
        perms: float | None = None,
    ) -> Face:
        """The face; the finish found has its number of coats already."""
        if finish is not None:
            return replace(finish, air_speed=air_speed)
        if sd is not None:
            return Face(sd, air_speed=air_speed, name=f"finish of sd {sd:g} m")
        assert perms is not None
        name = f"finish of {perms:g} perms"
        return Face(finishes.sd_of_perms(perms), air_speed=air_speed, name=name)


_BARE: Final = finishes.face("bare")


def _face_field(which: str) -> Either:
    meaning = f"what is on the {which} face"
    return Either(meaning, FinishName(meaning), FaceShape, load_default=_BARE)


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
