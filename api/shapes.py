"""Schemas shared by the questions: slab, moisture, faces, room; and the model's objects from them.

A `build_...` function takes what its schema read and gives the model's object.  Limits are those
of the furniture and joinery the model was checked for; where one is a choice it says so.
"""

from __future__ import annotations

import datetime
import re
from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api import limits, places
from api.quantities import (
    AirLayer,
    Elevation,
    Length,
    Moisture,
    Percent,
    Plain,
    Pressure,
    RelativeHumidity,
    Speed,
    Stress,
    System,
    Temperature,
    shown,
)
from api.schema import (
    Choice,
    Either,
    Flag,
    Name,
    Part,
    PlainField,
    Rows,
    Shape,
    Whole,
    one_of,
)
from model import climate, finishes, room, slab, species
from model.basis import Note

# Sizes of a slab [m]: veneer to beam (judgement).
WIDTH: Final = (0.01, 3.0)
THICKNESS: Final = (0.003, 0.3)
LENGTH_ALONG: Final = (0.01, 12.0)
# Moisture content [%]: green wood of most species; the model's transport covers free water above
# fibre saturation, and its checks end at 120 % (judgement).
MOISTURE: Final = (0.0, 200.0)
# Air of rooms and the outdoors [degC]: the coldest and hottest listed months are -67 and 40, but
# the sorption curve is senseless below -20 (see /v1/equilibrium); notes tell of the stretch.
ROOM_TEMPERATURE: Final = (-60.0, 80.0)


class SpeciesName(Name):
    """A wood by id, common or scientific name."""

    form = "the name of a wood, such as American elm, or an object with its own figures"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            return species.find(text)
        except species.UnknownName as unknown:
            raise ValidationError(
                f"{shown(text)} given: {_no_such('wood', unknown.candidates)}; /v1/species lists "
                "them, or give radial, tangential and specific_gravity of your own"
            ) from None

    def echo(self, value: Any, system: System) -> Any:
        """Its id."""
        return value.id


def _no_such(what: str, candidates: tuple[str, ...]) -> str:
    if not candidates:
        return f"no {what} is called so"
    return f"no single {what} is called so; near: {', '.join(candidates)}"


class SpeciesFigures(Shape):
    """A wood by its own figures."""

    name = Name("what to call it", load_default="wood of given figures")
    radial = Percent(
        "radial shrinkage, green to oven-dry",
        low=species.VALID_SHRINKAGE[0],
        high=species.VALID_SHRINKAGE[1],
        required=True,
    )
    tangential = Percent(
        "tangential shrinkage, green to oven-dry",
        low=species.VALID_SHRINKAGE[0],
        high=species.VALID_SHRINKAGE[1],
        required=True,
    )
    specific_gravity = Plain(
        "oven-dry mass over volume at 12 % moisture, relative to water",
        low=species.VALID_SPECIFIC_GRAVITY[0],
        high=species.VALID_SPECIFIC_GRAVITY[1],
        required=True,
    )
    shrinkage_starts = Moisture(
        "moisture content below which it shrinks",
        low=species.VALID_START[0],
        high=species.VALID_START[1],
        load_default=species.FIBRE_SATURATION,
    )
    transport_group = Choice(
        "group of woods that moisture moves through alike; judged by specific gravity if left out",
        [group.id for group in species.transport_groups()],
    )
    is_softwood = Flag("whether it is a softwood", load_default=False)
    modulus = Stress("stiffness along the grain at 12 %", low=1e9, high=4e10)
    tension_across = Stress("tensile strength across the grain at 12 %", low=2e5, high=3e7)
    shear_along = Stress("shear strength along the grain at 12 %", low=5e5, high=5e7)
    compression_across = Stress("compressive strength across the grain at 12 %", low=2e5, high=1e8)


def build_species(asked: Any) -> species.Species:
    """The wood of a `species` member."""
    return species.from_figures(**asked) if isinstance(asked, dict) else asked


class PithShape(Shape):
    """Where the pith lies."""

    below = Length(
        "distance of the pith under the face away from the bark (the lower face when the bark side "
        "is up); negative inside the slab",
        low=-THICKNESS[1] / 2,
        high=5.0,
        required=True,
    )
    across = Length("offset of the pith from the middle", low=-1.5, high=1.5, load_default=0.0)


GRAIN_NAMES: Final = ("grain", "ring_angle", "pith")


class SlabShape(Shape):
    """A slab of one piece of wood."""

    species = Either(
        "the wood, by name or by its own figures",
        SpeciesName("the wood by id, common or scientific name"),
        SpeciesFigures,
        required=True,
    )
    width = Length("width, across the grain", low=WIDTH[0], high=WIDTH[1], required=True)
    thickness = Length("thickness", low=THICKNESS[0], high=THICKNESS[1], required=True)
    length = Length("length, along the grain", low=LENGTH_ALONG[0], high=LENGTH_ALONG[1])
    grain = Choice("how it is sawn; instead of ring_angle or pith", tuple(slab.GRAIN))
    ring_angle = Plain(
        "angle between ring tangent and width in degrees: flat 0, quarter 90", low=0.0, high=90.0
    )
    pith = Part(PithShape, "where the pith lies, instead of grain or ring_angle")
    bark_side = Choice("face that was nearer the bark", ("top", "bottom"), load_default="top")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _rings_once(self, data: Any, original: Any, **kwargs: Any) -> None:
        if any(name in original for name in GRAIN_NAMES):
            one_of(original, GRAIN_NAMES, "the run of the rings")

    @validates_schema(skip_on_field_errors=False)
    def _pith_possible(self, data: Any, **kwargs: Any) -> None:
        below = data.get("pith", {}).get("below", 0.0)
        thickness = data.get("thickness", THICKNESS[1])
        if below <= -0.5 * thickness:
            raise ValidationError(
                {
                    "pith": {
                        "below": [
                            f"{1000 * below:g} mm given: the pith would lie above the middle of "
                            "the slab, and the other face be nearer the bark; write more than "
                            f"{-500 * thickness:g} mm, or turn bark_side"
                        ]
                    }
                }
            )


def build_slab(asked: dict[str, Any]) -> slab.Slab:
    """The model's slab of a `slab` member."""
    angle = slab.GRAIN[asked["grain"]] if "grain" in asked else asked.get("ring_angle")
    pith = asked.get("pith", {})
    return slab.Slab(
        species=build_species(asked["species"]),
        width=asked["width"],
        thickness=asked["thickness"],
        length=asked.get("length"),
        ring_angle=angle,
        pith_below=pith.get("below"),
        pith_across=pith.get("across", 0.0),
        bark_side=asked["bark_side"],
    )


class DepthShape(Shape):
    """Moisture at a depth."""

    depth = Length("depth from the top face", low=0.0, high=THICKNESS[1], required=True)
    moisture = Moisture("moisture content there", low=MOISTURE[0], high=MOISTURE[1], required=True)


class MoistureShape(Shape):
    """Moisture that differs through the thickness."""

    shell = Moisture("moisture content at both faces", low=MOISTURE[0], high=MOISTURE[1])
    core = Moisture("moisture content in the middle", low=MOISTURE[0], high=MOISTURE[1])
    depths = Rows("moisture by depth, top to bottom", DepthShape, shortest=1, longest=100)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        parts = [name for name in ("shell", "core") if name in original]
        if "depths" in original and parts:
            raise ValidationError(f"depths and {' and '.join(parts)} given: give one of both")
        if "depths" not in original and len(parts) < 2:
            raise ValidationError("incomplete: give shell and core, or depths, or one number")


def moisture_field(meaning: str, **options: Any) -> Either:
    """Field of a moisture: one number, shell and core, or depths."""
    one = Moisture(meaning, low=MOISTURE[0], high=MOISTURE[1])
    return Either(meaning, one, MoistureShape, **options)


def build_moisture(asked: Any, thickness: float, name: str = "moisture") -> slab.Moisture:
    """The model's moisture of a member called `name`, in a slab of a thickness [m]."""
    if not isinstance(asked, dict):
        return float(asked)
    if "depths" not in asked:
        return slab.ShellCore(asked["shell"], asked["core"])
    rows = asked["depths"]
    wrong: dict[int, dict[str, list[str]]] = {}
    for index, row in enumerate(rows):
        depth = row["depth"]
        if depth > thickness * (1.0 + 1e-9):
            wrong[index] = {
                "depth": [f"{1000 * depth:g} mm given: the slab is {1000 * thickness:g} mm thick"]
            }
        elif index and depth <= rows[index - 1]["depth"]:
            wrong[index] = {
                "depth": [f"{1000 * depth:g} mm given: depths rise from the top face down"]
            }
    if wrong:
        raise ValidationError({name: {"depths": wrong}})
    return slab.Depths(
        tuple(min(row["depth"], thickness) for row in rows),
        tuple(row["moisture"] for row in rows),
    )


class FinishName(Name):
    """What is on a face: a finish or cover by id or name, `wet`, or `bare`."""

    form = (
        "a finish such as bare, oiled, spar-varnish, covered, closed or wet, or an object with "
        "finish and coats, sd or perms"
    )

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        if text.casefold() == "wet":
            return "wet"
        try:
            return finishes.find(text)
        except finishes.UnknownName as unknown:
            raise ValidationError(
                f"{shown(text)} given: {_no_such('finish', unknown.candidates)}; /v1/finishes "
                "lists them, or give sd or perms of your own"
            ) from None

    def echo(self, value: Any, system: System) -> Any:
        """Its id."""
        return value if isinstance(value, str) else value.id


class FaceShape(Shape):
    """What is on a face, in full."""

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
        finish = data.get("finish")
        if "coats" not in data or finish is None:
            return
        if finish == "wet":
            raise ValidationError("coats given for a wet face; leave coats out", "coats")
        try:
            data["finish"] = finishes.find(finish.id, data["coats"])
        except finishes.UnknownCoats as unknown:
            raise ValidationError(f"{data['coats']} given: {unknown}", "coats") from None


_BARE: Final = finishes.find("bare")


def _face_field(which: str) -> Either:
    meaning = f"what is on the {which} face"
    return Either(meaning, FinishName(meaning), FaceShape, load_default=_BARE)


class FacesShape(Shape):
    """What is on the two faces of a slab."""

    top = _face_field("top")
    bottom = _face_field("bottom")


def faces_field(meaning: str = "what is on the faces; bare when left out") -> Part:
    """Field of the faces, both bare unless told."""
    return Part(FacesShape, meaning, load_default=lambda: {"top": _BARE, "bottom": _BARE})


def build_face(asked: Any) -> finishes.Face:
    """The model's face of one member of `faces`."""
    given = asked if isinstance(asked, dict) else {"finish": asked, "air_speed": 0.0}
    speed = given["air_speed"]
    finish = given.get("finish")
    if finish == "wet":
        return finishes.Face(0.0, wet=True, air_speed=speed, name="wet")
    if finish is not None:
        return finishes.Face(finish.sd, air_speed=speed, name=finish.name)
    if "sd" in given:
        sd = given["sd"]
        return finishes.Face(sd, air_speed=speed, name=f"finish of sd {sd:g} m")
    perms = given["perms"]
    sd = finishes.sd_of_perms(perms)
    return finishes.Face(sd, air_speed=speed, name=f"finish of {perms:g} perms")


def build_faces(asked: dict[str, Any]) -> finishes.Faces:
    """The model's faces of a `faces` member."""
    return finishes.Faces(build_face(asked["top"]), build_face(asked["bottom"]))


def faces_notes(asked: dict[str, Any], pointer: str = "/faces") -> list[Note]:
    """What an answer that leans on these finishes must say; one note a finish."""
    told: dict[str, Note] = {}
    for side in ("top", "bottom"):
        given = asked[side]["finish"] if isinstance(asked[side], dict) else asked[side]
        if isinstance(given, finishes.Finish):
            for note in finishes.notes(given, f"{pointer}/{side}"):
                told.setdefault(note.message, note)
    return list(told.values())
