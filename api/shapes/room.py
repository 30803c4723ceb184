"""The air that the wood lives in: a place and a way of living, months, steady air, or a log."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, get_args

import numpy as np
from marshmallow import ValidationError, validates_schema
from numpy.typing import NDArray

from api import places, words
from api.quantities import (
    Elevation,
    Mass,
    Plain,
    Pressure,
    RelativeHumidity,
    Temperature,
    Volume,
    shown,
)
from api.schema import Choice, Flag, Name, Part, Rows, Shape, Told
from api.shapes.log import ROOM_TEMPERATURE, LogShape
from api.sharing import once
from api.units import System
from model.surroundings import climate, house, indoors, living, logged, machines
from model.surroundings.climate import Outdoor, TooFar
from model.surroundings.room import HIGHEST_HUMIDITY, Room, constant, from_months

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Month:
    """Mean temperature [degC] and relative humidity [%] of a month."""

    temperature: float
    relative_humidity: float


class MonthShape(Shape):
    """One month of a room."""

    makes = Month

    temperature = Temperature(
        "mean temperature", low=ROOM_TEMPERATURE[0], high=ROOM_TEMPERATURE[1], required=True
    )
    relative_humidity = RelativeHumidity(
        "mean relative humidity", low=0.0, high=100.0, required=True
    )


class OutdoorShape(Shape):
    """The outdoor year of a place that is not listed; twelve figures each, January first."""

    makes = climate.outdoor_from_months

    rule = "give relative_humidity, vapour_pressure or both beside temperature"

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


class ClimateName(Name):
    """A town or weather station by id or name."""

    form = "a town with its state or country, such as Duluth, MN, or an id of /v1/places"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            return places.climates().find(text)
        except climate.Ambiguous as several:
            labels = "; ".join(f"{one.label} [{one.id}]" for one in several.candidates)
            raise ValidationError(
                f"{shown(text)} given: it may mean {labels}; write the state or country after a "
                "comma, or the id in brackets"
            ) from None
        except climate.UnknownName as unknown:
            near = f"; near: {'; '.join(unknown.candidates)}" if unknown.candidates else ""
            raise ValidationError(
                f"{shown(text)} given: no town from 1,000 inhabitants and no station is called "
                f"so{near}; search /v1/places?q=, or give latitude and longitude, or outdoor months"
            ) from None
        except climate.TooFar as far:
            raise ValidationError(f"{shown(text)} given: {far}") from None

    def echo(self, value: Any, system: System) -> Any:
        """The id of its town or station."""
        return value.id


_PLACE: Final = ("climate", "latitude", "outdoor")
_LIVING: Final = (
    "heat_to",
    "cool_to",
    "occupied",
    "balanced_ventilation",
    "humidify_to",
    "panes",
    "dehumidify_to",
    "dehumidifier",
    "dehumidifier_rated",
    "method",
    "kind",
    "heated_share",
    "outer_walls",
    "shaded",
    "generation",
    "air_changes",
    "volume",
)
_WAYS: Final = (
    "write one of: climate (or latitude and longitude, or outdoor) with heat_to and the like; "
    "months; temperature and relative_humidity; log"
)


class RoomShape(Shape):
    """The air that the wood lives in, told in one of four ways."""

    rule = (
        "give climate (or latitude and longitude, perhaps with elevation, or outdoor) with "
        "kind, heat_to and the like; or months; or temperature and relative_humidity; or log"
    )
    told_as = (
        "an object with climate (or latitude and longitude, or outdoor), heat_to and the like; or "
        "with months; or with temperature and relative_humidity; or with log"
    )

    climate = ClimateName("town or weather station that it stands in, by name or id")
    latitude = Plain("latitude of the place in degrees, north positive", low=-90.0, high=90.0)
    longitude = Plain("longitude of the place in degrees, east positive", low=-180.0, high=180.0)
    elevation = Elevation("height of the place above the sea", low=-450.0, high=6000.0)
    outdoor = Part(OutdoorShape, "outdoor months of a place that is not listed")
    kind = Choice(
        "what it is; a room when left out. part_heated and cellar belong to a heated house, a shed "
        "is closed (garage, loft), an open_shed well aired",
        living.KINDS,
    )
    heat_to = Temperature(
        "temperature that heating keeps; of a part-heated room or a cellar, in the house beside it",
        low=-20.0,
        high=60.0,
    )
    cool_to = Temperature("temperature that cooling keeps", low=-20.0, high=60.0)
    heated_share = Plain(
        "share of the time that a heated shop is heated; 1 when left out", low=0.0, high=1.0
    )
    outer_walls = Choice(
        "outer walls of a part-heated room; two when left out", tuple(indoors.PART_HEATED)
    )
    shaded = Flag("whether no sun reaches a shed; false when left out")
    occupied = Choice(
        "how much moisture people bring; normally when left out", tuple(indoors.OCCUPIED)
    )
    balanced_ventilation = Flag(
        "whether a fan brings in as much air as it takes out, as in a low-energy house; false when "
        "left out"
    )
    humidify_to = RelativeHumidity(
        "relative humidity that a humidifier keeps, as far as the panes bear",
        low=2.0,
        high=HIGHEST_HUMIDITY,
    )
    panes = Choice(
        "windows that a humidifier must not make drip; double when left out",
        tuple(machines.SURFACE_FACTOR),
    )
    dehumidify_to = RelativeHumidity(
        "relative humidity that a dehumidifier keeps, as far as it works",
        low=2.0,
        high=HIGHEST_HUMIDITY,
    )
    dehumidifier = Choice(
        "how it dries; with a compressor when left out", get_args(machines.Dehumidifier)
    )
    dehumidifier_rated = Mass(
        "water it takes out in a day of air of 26.7 °C (80 °F) and 60 %, as rated; with "
        "air_changes and volume",
        low=0.0,
        high=10_000.0,
    )
    method = Choice(
        "how the humidity of a room is found; vapour_excess when left out", living.METHODS
    )
    generation = Mass("water given off in a day, for moisture_balance", low=0.0, high=1000.0)
    air_changes = Plain(
        "air changes an hour, for moisture_balance, dehumidifier_rated and humidify_to",
        low=0.01,
        high=100.0,
    )
    volume = Volume("volume of the room, for the same", low=1.0, high=100_000.0)
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

    def arguments(self, members: dict[str, Any]) -> dict[str, Any]:
        """Those of the way it is told in; the way of living is one argument."""
        living = {name: members.pop(name) for name in _LIVING if name in members}
        return {**members, "living": living}

    @staticmethod
    def makes(
        living: dict[str, Any],
        climate: Outdoor | None = None,
        latitude: float = 0.0,
        longitude: float = 0.0,
        elevation: float | None = None,
        outdoor: Outdoor | None = None,
        months: tuple[Month, ...] = (),
        temperature: float | None = None,
        relative_humidity: float = 0.0,
        log: Room | None = None,
    ) -> Room:
        """The model's room; what only the model finds wrong is refused."""

        def made() -> Room:
            if log is not None:
                return log
            if months:
                return from_months(
                    [month.temperature for month in months],
                    [month.relative_humidity for month in months],
                )
            if temperature is not None:
                return constant(temperature, relative_humidity)
            place = climate or outdoor or places.climates().near(latitude, longitude, elevation)
            return house.from_climate(place, **living)

        told = (living, climate, latitude, longitude, elevation, outdoor, months, temperature)
        try:
            return made() if log else once("room", (*told, relative_humidity), made)
        except TooFar as far:
            raise ValidationError(str(far), "latitude") from far
        except ValueError as error:
            raise ValidationError(words.refused(error)) from error


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


class RoomOfAYear(Part):
    """A room where a year is needed: a log that covers one serves as it."""

    def _deserialize(self, *args: Any, **kwargs: Any) -> Any:
        told = super()._deserialize(*args, **kwargs)
        room = told.made
        return Told(told.values, logged.as_year(room) if logged.covers_a_year(room) else room)


def room_field(meaning: str, *, year: bool = False, **options: Any) -> Part:
    """Field of a room; of one where a year is needed, with `year`."""
    return (RoomOfAYear if year else Part)(RoomShape, meaning, **options)


def without_a_year(room: Room, why: str, name: str = "room") -> dict[str, Any]:
    """Faults of a room, a member called `name`, that is a log where a year is needed, and why."""
    if not room.is_log:
        return {}
    needed = f"a log of {logged.COVERS:g} days without a gap above {logged.LONGEST_GAP:g} days"
    return {name: {"log": [f"given: {why}; give months or a place, or {needed}"]}}
