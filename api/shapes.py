"""Schemas shared by the questions: slab, moisture, faces, room; and the model's objects from them.

A `build_...` function takes what its schema read and gives the model's object.  Limits are those
of the furniture and joinery the model was checked for; where one is a choice it says so.
"""

from __future__ import annotations

import datetime
import re
from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api import limits, places
from api.quantities import (
    POUND,
    AirLayer,
    Elevation,
    Length,
    Mass,
    Moisture,
    Percent,
    Plain,
    Pressure,
    RelativeHumidity,
    Speed,
    Stress,
    System,
    Temperature,
    Volume,
    length,
    shown,
)
from api.schema import (
    FIGURE_SCHEMA,
    Choice,
    Either,
    Flag,
    Name,
    Part,
    PlainField,
    Rows,
    Shape,
    Whole,
    at_most_one,
    one_of,
    way,
)
from api.sharing import once
from model import spread
from model.basis import Note
from model.behaviour import shape, slab
from model.properties import finishes, species
from model.surroundings import climate, house, room

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

    form = "the name of a wood, such as American elm"

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

    told_as = "an object with its own radial, tangential and specific_gravity"

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
        low=-0.149,  # m; above it is the middle of the thickest slab
        high=5.0,
        required=True,
    )
    across = Length("offset of the pith from the middle", low=-1.5, high=1.5, load_default=0.0)


GRAIN_NAMES: Final = ("grain", "ring_angle", "pith")


class SlabShape(Shape):
    """A slab of one piece of wood."""

    together = at_most_one(*GRAIN_NAMES)

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

    together = {
        "oneOf": [way("shell and core", ["shell", "core"]), way("by depth", ["depths"])],
    }

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

    form = "a finish such as bare, oiled, spar-varnish, covered, closed or wet"

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

    together = {
        "oneOf": [
            way("a finish or cover", ["finish"], ["coats", "air_speed"]),
            way("sd", ["sd"], ["air_speed"]),
            way("perms", ["perms"], ["air_speed"]),
        ]
    }

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
            raise ValidationError(
                f"{data['coats']} given: {unknown}; write one of those, or leave coats out", "coats"
            ) from None


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
        given = asked[side].get("finish") if isinstance(asked[side], dict) else asked[side]
        if isinstance(given, finishes.Finish):
            for note in finishes.notes(given, f"{pointer}/{side}"):
                told.setdefault(note.message, note)
    return list(told.values())


class MonthShape(Shape):
    """One month of a room."""

    temperature = Temperature(
        "mean temperature", low=ROOM_TEMPERATURE[0], high=ROOM_TEMPERATURE[1], required=True
    )
    relative_humidity = RelativeHumidity(
        "mean relative humidity", low=0.0, high=100.0, required=True
    )


class OutdoorShape(Shape):
    """The outdoor year of a place that is not listed; twelve figures each, January first."""

    together = {"anyOf": [{"required": ["relative_humidity"]}, {"required": ["vapour_pressure"]}]}

    temperature = Temperature(
        "mean temperature of twelve months",
        low=ROOM_TEMPERATURE[0],
        high=60.0,
        series=(12, 12),
        required=True,
    )
    relative_humidity = RelativeHumidity(
        "mean relative humidity of twelve months, over water", low=0.0, high=100.0, series=(12, 12)
    )
    vapour_pressure = Pressure(
        "mean vapour pressure of twelve months", low=0.0, high=10_000.0, series=(12, 12)
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _moist(self, data: Any, original: Any, **kwargs: Any) -> None:
        if not {"relative_humidity", "vapour_pressure"} & original.keys():
            raise ValidationError("give relative_humidity or vapour_pressure beside temperature")


# RFC 3339; fromisoformat would take 20260115T08 and 2026-W03-4 too.
_TIME: Final = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)")


class Times(PlainField):
    """Ascending times of a logger."""

    form = f"a list of 2 to {limits.LOG_LENGTH:,} times such as 2026-01-15T08:00:00Z, ascending"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str):
            value = value.split(",")
        if not isinstance(value, list):
            raise self.wrong(value)
        if not 2 <= len(value) <= limits.LOG_LENGTH:
            raise ValidationError(f"a list of {len(value):,} given; write {self.form}")
        read: list[datetime.datetime] = []
        wrong: dict[int, list[str]] = {}
        for index, text in enumerate(value):
            try:
                if not (isinstance(text, str) and _TIME.fullmatch(text)):
                    raise ValueError
                read.append(datetime.datetime.fromisoformat(text.upper()))
                if len(read) > 1 and not wrong and read[-1] <= read[-2]:
                    wrong[index] = [f"{shown(text)} given: not later than the one before it"]
            except ValueError:
                wrong[index] = [
                    f"{shown(text)} given: no time of RFC 3339; write 2026-01-15T08:00:00Z"
                ]
            if len(wrong) == limits.FAULTS:
                break
        if wrong:
            raise ValidationError(dict(wrong))
        return read

    def echo(self, value: Any, system: System) -> Any:
        """The times as text."""
        return [time.isoformat() for time in value]

    def json_schema(self) -> dict[str, Any]:
        """A list of strings of format date-time."""
        return {
            "type": "array",
            "items": {"type": "string", "format": "date-time"},
            "minItems": 2,
            "maxItems": limits.LOG_LENGTH,
            "description": self.meaning,
        }


class LogShape(Shape):
    """The air as a logger recorded it: parallel lists."""

    time = Times("when each reading was taken", required=True)
    temperature = Temperature(
        "temperature of each reading",
        low=ROOM_TEMPERATURE[0],
        high=ROOM_TEMPERATURE[1],
        series=(2, limits.LOG_LENGTH),
        required=True,
    )
    relative_humidity = RelativeHumidity(
        "relative humidity of each reading",
        low=0.0,
        high=100.0,
        series=(2, limits.LOG_LENGTH),
        required=True,
    )

    @validates_schema
    def _parallel(self, data: Any, **kwargs: Any) -> None:
        lengths = {name: len(values) for name, values in data.items()}
        if len(set(lengths.values())) > 1:
            told = ", ".join(f"{name} has {length:,}" for name, length in lengths.items())
            raise ValidationError(f"lists of different length given: {told}; give them alike")


class ClimateName(Name):
    """A climate by id or name."""

    form = "the id or name of a climate, such as Duluth"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            return places.climates().find(text)
        except climate.Ambiguous as several:
            labels = "; ".join(f"{one.label} [{one.id}]" for one in several.candidates)
            raise ValidationError(
                f"{shown(text)} given: it may mean {labels}; write the id in brackets"
            ) from None
        except climate.UnknownName as unknown:
            near = f"; near: {'; '.join(unknown.candidates)}" if unknown.candidates else ""
            raise ValidationError(
                f"{shown(text)} given: no climate is called so{near}; search /v1/climates?q=, or "
                "give latitude and longitude, or outdoor months"
            ) from None

    def echo(self, value: Any, system: System) -> Any:
        """The id of its station."""
        return value.stations[0].station.id


_PLACE: Final = ("climate", "latitude", "outdoor")
_LIVING: Final = (
    "heat_to",
    "cool_to",
    "occupied",
    "humidify_to",
    "dehumidify_to",
    "method",
    "kind",
    "generation",
    "air_changes",
    "volume",
)
_WAYS: Final = (
    "write one of: climate (or latitude and longitude, or outdoor) with heat_to and the like; "
    "months; temperature and relative_humidity; log"
)


_ALL_WAYS: Final = (
    way("a listed place", ["climate"], _LIVING),
    way("a place by its coordinates", ["latitude", "longitude"], ["elevation", *_LIVING]),
    way("a place by its outdoor months", ["outdoor"], _LIVING),
    way("twelve months of the room's own air", ["months"]),
    way("steady air", ["temperature", "relative_humidity"]),
    way("the record of a logger", ["log"]),
)


class RoomShape(Shape):
    """The air that the wood lives in, told in one of four ways."""

    together = {"oneOf": list(_ALL_WAYS)}
    told_as = (
        "an object with climate (or latitude and longitude, or outdoor), heat_to and the like; or "
        "with months; or with temperature and relative_humidity; or with log"
    )

    climate = ClimateName("climate of the place, by id or name")
    latitude = Plain("latitude of the place in degrees, north positive", low=-90.0, high=90.0)
    longitude = Plain("longitude of the place in degrees, east positive", low=-180.0, high=180.0)
    elevation = Elevation("height of the place above the sea", low=-450.0, high=6000.0)
    outdoor = Part(OutdoorShape, "outdoor months of a place that is not listed")
    kind = Choice("what it is; a room when left out", house.KINDS)
    heat_to = Temperature("temperature that heating keeps", low=-20.0, high=60.0)
    cool_to = Temperature("temperature that cooling keeps", low=-20.0, high=60.0)
    occupied = Choice(
        "how much moisture people bring; normally when left out", tuple(house.VAPOUR_EXCESS)
    )
    humidify_to = RelativeHumidity(
        "relative humidity that a humidifier keeps", low=2.0, high=room.HIGHEST_HUMIDITY
    )
    dehumidify_to = RelativeHumidity(
        "relative humidity that a dehumidifier keeps", low=2.0, high=room.HIGHEST_HUMIDITY
    )
    method = Choice(
        "how the humidity of a room is found; vapour_excess when left out", house.METHODS
    )
    generation = Mass("water given off in a day, for moisture_balance", low=0.0, high=1000.0)
    air_changes = Plain("air changes an hour, for moisture_balance", low=0.01, high=100.0)
    volume = Volume("volume of the room, for moisture_balance", low=1.0, high=100_000.0)
    months = Rows(
        "twelve months of the room's own air, January first", MonthShape, shortest=12, longest=12
    )
    temperature = Temperature(
        "temperature of steady air", low=ROOM_TEMPERATURE[0], high=ROOM_TEMPERATURE[1]
    )
    relative_humidity = RelativeHumidity("relative humidity of steady air", low=0.0, high=100.0)
    log = Part(LogShape, "the air as a logger recorded it")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        given = original.keys()
        ways = {
            "a place": given & {*_PLACE, "longitude", "elevation", *_LIVING},
            "months": given & {"months"},
            "steady air": given & {"temperature", "relative_humidity"},
            "a log": given & {"log"},
        }
        used = {way: sorted(names) for way, names in ways.items() if names}
        if len(used) > 1:
            told = " and ".join(f"{way} ({', '.join(names)})" for way, names in used.items())
            raise ValidationError(f"told in more than one way, by {told}; {_WAYS}")
        if not used:
            raise ValidationError(f"empty; {_WAYS}")
        if "steady air" in used and len(used["steady air"]) < 2:
            raise ValidationError(f"{used['steady air'][0]} alone given; {_WAYS}")
        if "a place" in used:
            _one_place(given)


def _one_place(given: Any) -> None:
    coordinates = given & {"latitude", "longitude"}
    ways = [*sorted(given & {"climate", "outdoor"}), *(["coordinates"] if coordinates else [])]
    if len(ways) > 1:
        raise ValidationError(f"the place is given by {' and by '.join(ways)}: give one of them")
    if not ways:
        raise ValidationError(
            "the place is missing: give climate, latitude and longitude, or outdoor"
        )
    if coordinates and len(coordinates) < 2:
        raise ValidationError(f"{coordinates.pop()} alone given; give latitude and longitude")
    if "elevation" in given and not coordinates:
        raise ValidationError("elevation belongs to latitude and longitude; leave it out")


def room_field(meaning: str, **options: Any) -> Part:
    """Field of a room."""
    return Part(RoomShape, meaning, **options)


def build_room(asked: dict[str, Any], name: str = "room") -> room.Room:
    """The model's room of a member called `name`; what only the model finds wrong is refused."""
    try:
        return once("room", asked, lambda: _build_room(asked))
    except climate.TooFar as far:
        raise ValidationError({name: {"latitude": [str(far)]}}) from far
    except ValueError as error:
        raise ValidationError({name: [str(error)]}) from error


def _build_room(asked: dict[str, Any]) -> room.Room:
    if "months" in asked:
        rows = asked["months"]
        return room.from_months(
            [row["temperature"] for row in rows], [row["relative_humidity"] for row in rows]
        )
    if "log" in asked:
        log = asked["log"]
        start = log["time"][0]
        days = [(time - start).total_seconds() / 86_400.0 for time in log["time"]]
        return room.from_log(start, days, log["temperature"], log["relative_humidity"])
    if "temperature" in asked:
        return room.constant(asked["temperature"], asked["relative_humidity"])
    living = {name: asked[name] for name in _LIVING if name in asked}
    return house.from_climate(_build_outdoor(asked), **living)


def _build_outdoor(asked: dict[str, Any]) -> climate.Outdoor:
    if "climate" in asked:
        outdoor: climate.Outdoor = asked["climate"]
        return outdoor
    if "outdoor" in asked:
        return climate.outdoor_from_months(**asked["outdoor"])
    return places.climates().near(asked["latitude"], asked["longitude"], asked.get("elevation"))


def draw_samples(asked: dict[str, Any]) -> spread.Samples:
    """The samples of a question of `SpreadShape`; the central one alone with spread=none."""
    draws = spread.DEFAULT_DRAWS if asked["spread"] == "sampled" else 0
    return spread.draw(draws, asked["seed"])


def cup_members(signed: spread.Figure, width: float = 0.0) -> dict[str, Any]:
    """A signed cup [m] as its amount, positive in the direction of its shape in words.

    A low end below zero is a cup the other way round.  With the width [m] that it is measured over,
    it is `flat` where a straight-edge shows none.
    """
    if signed.value < 0.0:
        flipped = [None if end is None else -end for end in (signed.high, signed.low)]
        amount = spread.Figure(-signed.value, *flipped)
    else:
        amount = signed
    return {"amount": length(amount), "shape": shape.words(signed.value, width)}


CUP_SCHEMA: Final[dict[str, Any]] = {
    "type": "object",
    "properties": {
        "amount": FIGURE_SCHEMA,
        "shape": {"type": "string", "enum": ["edges up", "edges down", "flat"]},
    },
    "required": ["amount", "shape"],
}


# Most that one person may lift in the best posture; NIOSH lifting equation, load constant (memory)
LIFTED_ALONE: Final = 23.0  # kg


def slab_cautions(built: slab.Slab, moisture: float) -> list[str]:
    """What can hurt someone who handles a slab at a mean moisture [%]."""
    weight = built.weight(moisture)
    if weight is None or weight <= LIFTED_ALONE:
        return []
    return [
        f"The slab weighs about {weight:.0f} kg ({weight / POUND:.0f} lb): lift and turn it with "
        "help or a hoist, and secure it against falling over."
    ]


def faces_cautions(asked: dict[str, Any]) -> list[str]:
    """What can hurt someone who puts these finishes on."""
    for side in ("top", "bottom"):
        given = asked[side].get("finish") if isinstance(asked[side], dict) else asked[side]
        if isinstance(given, finishes.Finish) and "oil" in given.name:
            return [
                "Rags wet with drying oil can heat up and catch fire by themselves: spread them "
                "out to dry in the open or keep them under water in a closed metal can."
            ]
    return []
