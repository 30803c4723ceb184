"""A logger's record: its table as text, or parallel lists."""

from __future__ import annotations

import datetime
import re
import zoneinfo
from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema
from numpy.typing import NDArray

from api import limits, logger_table
from api.quantities import RelativeHumidity, Temperature, shown
from api.schema import PlainField, Shape
from api.units import System
from model.codes import Note
from model.surroundings.room import Room, from_log

Floats = NDArray[np.float64]

# Air of rooms and the outdoors [degC]: the coldest and hottest listed months are -67 and 40, but
# the sorption curve is senseless below -20 (see /v1/equilibrium); notes tell of the stretch.
ROOM_TEMPERATURE: Final = (-60.0, 80.0)


# RFC 3339; fromisoformat would take 20260115T08 and 2026-W03-4 too.
_TIME: Final = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)?")


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
                # Those without an offset are put in order with their zone, by the log.
                zoned = len(read) > 1 and all(one.tzinfo is not None for one in read[-2:])
                if zoned and not wrong and read[-1] <= read[-2]:
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


class TimeZone(PlainField):
    """The zone that a clock stands in."""

    form = "a zone of the IANA time zone database, such as America/Chicago, or UTC"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            if isinstance(value, str) and len(value) <= limits.TEXT_LENGTH:
                return zoneinfo.ZoneInfo(value.strip())
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            pass
        raise self.wrong(value)

    def echo(self, value: Any, system: System) -> Any:
        """Its name."""
        return str(value)

    def json_schema(self) -> dict[str, Any]:
        """A string."""
        return {
            "type": "string",
            "minLength": 1,
            "maxLength": limits.TEXT_LENGTH,
            "description": self.meaning,
        }


class LoggerText(PlainField):
    """A table as a logger writes it."""

    form = (
        "the text of the logger's csv file, with a head such as "
        "`time,temperature (°C),relative humidity (%)`"
    )

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str) and value.strip():
            return value
        raise self.wrong(value)

    def json_schema(self) -> dict[str, Any]:
        """A string."""
        return {"type": "string", "minLength": 1, "description": self.meaning}


class LogShape(Shape):
    """The air as a logger recorded it: its csv text, or parallel lists."""

    rule = "give csv, or time with temperature and relative_humidity"

    csv = LoggerText("the table as the logger writes it, up to the limit of a body")
    timezone = TimeZone("zone of the logger's clock, for times without an offset from UTC")
    time = Times("when each reading was taken; without an offset where timezone tells it")
    temperature = Temperature(
        "temperature of each reading",
        low=ROOM_TEMPERATURE[0],
        high=ROOM_TEMPERATURE[1],
        series=(2, limits.LOG_LENGTH),
    )
    relative_humidity = RelativeHumidity(
        "relative humidity of each reading", low=0.0, high=100.0, series=(2, limits.LOG_LENGTH)
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        lists = [name for name in _LISTS if name in original]
        if "csv" in original and lists:
            raise ValidationError(f"told by csv and by {', '.join(lists)}: {self.rule}")
        if "csv" not in original and len(lists) < len(_LISTS):
            missing = ", ".join(name for name in _LISTS if name not in original)
            raise ValidationError(f"missing: {missing}; {self.rule}")

    @staticmethod
    def makes(
        csv: str | None = None,
        timezone: zoneinfo.ZoneInfo | None = None,
        time: list[datetime.datetime] | None = None,
        temperature: Floats | None = None,
        relative_humidity: Floats | None = None,
    ) -> Room:
        """The room as the logger recorded it."""
        if csv is not None:
            return _of_table(csv, timezone)
        if time is None or temperature is None or relative_humidity is None:
            raise ValidationError(LogShape.rule)
        lengths = {
            "time": len(time),
            "temperature": temperature.size,
            "relative_humidity": relative_humidity.size,
        }
        if len(set(lengths.values())) > 1:
            told = ", ".join(f"{name} has {length:,}" for name, length in lengths.items())
            raise ValidationError(f"lists of different length given: {told}; give them alike")
        return _logged(_in_zone(time, timezone), temperature, relative_humidity)


_LISTS: Final = ("time", "temperature", "relative_humidity")


def _of_table(text: str, zone: zoneinfo.ZoneInfo | None) -> Room:
    try:
        table = logger_table.read(text, zone)
    except logger_table.Unreadable as wrong:
        raise ValidationError({"csv": wrong.faults}) from wrong
    low, high = ROOM_TEMPERATURE
    for name, values, least, most in (
        ("temperature", table.temperature, low, high),
        ("relative humidity", table.relative_humidity, 0.0, 100.0),
    ):
        out = np.flatnonzero((values < least) | (values > most))
        if out.size:
            raise ValidationError(
                {
                    "csv": [
                        f"{out.size} readings of {name} are not within {least:g} to {most:g}, the "
                        f"first {values[out[0]]:.4g} at {table.times[out[0]]:%Y-%m-%d %H:%M}; "
                        "leave such rows out or blank"
                    ]
                }
            )
    times = table.times
    if zone is not None:
        times = [one.astimezone(zone) for one in times[:1]] + times[1:]
    notes = []
    if table.blanks:
        notes.append(Note("log-blanks", rows=table.blanks, read=len(times)))
    if table.standing:
        notes.append(Note("log-standing-clock", zone=str(zone)))
    if not table.zoned:
        notes.append(Note("log-clock"))
    return _logged(times, table.temperature, table.relative_humidity, notes)


def _in_zone(
    time: list[datetime.datetime], zone: zoneinfo.ZoneInfo | None
) -> list[datetime.datetime]:
    """Times of a list, those without an offset read in the zone; all of one kind, ascending."""
    local = [one.tzinfo is None for one in time]
    if any(local) and zone is None:
        first = local.index(True)
        raise ValidationError(
            {"time": {first: ["no offset from UTC; write 2026-01-15T08:00:00Z or give timezone"]}}
        )
    moments: list[datetime.datetime] = []
    for index, one in enumerate(time):
        moment = one
        if one.tzinfo is None and zone is not None:
            moment = logger_table.in_utc(one, zone, moments)
        if moments and moment <= moments[-1]:
            told = f"{shown(one.isoformat())} given: not later than the one before it"
            raise ValidationError({"time": {index: [told]}})
        moments.append(moment)
    if zone is not None:
        moments[0] = moments[0].astimezone(zone)
    return moments


def _logged(
    time: list[datetime.datetime],
    temperature: Floats,
    humidity: Floats,
    notes: list[Note] | None = None,
) -> Room:
    days = [(one - time[0]).total_seconds() / 86_400.0 for one in time]
    return from_log(time[0], days, temperature, humidity, tuple(notes or ()))
