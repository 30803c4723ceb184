"""Hourly weather files (EPW) of an operator, read as stations of the climate."""

from __future__ import annotations

import re
import stat
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.codes import Note
from model.properties import air
from model.surroundings import gazetteer
from model.surroundings.calendar import MONTHS
from model.surroundings.stations import Station

Floats = NDArray[np.float64]


class BadWeatherFile(ValueError):  # noqa: N818 - read as what happened
    """A weather file that cannot be used, with its name and line."""

    def __init__(self, file: Path, line: int, fault: str) -> None:
        self.file, self.line = file, line
        name = file.name if file.name.isprintable() else ascii(file.name)
        super().__init__(f"{name}, line {line}: {fault}")


# EnergyPlus weather format (open; EnergyPlus Auxiliary Programs, memory): column of each figure in
# a row, and what stands for "not measured".
_EPW_MONTH, _EPW_MINUTE, _EPW_TEMPERATURE, _EPW_DEW_POINT, _EPW_HUMIDITY = 1, 4, 6, 7, 8
_EPW_NO_TEMPERATURE: Final = 99.9
_EPW_NO_HUMIDITY: Final = 999.0
_EPW_HEADER_LINES: Final = 8
_EPW_LARGEST: Final = 64 * 1024 * 1024  # bytes; a year of hours has 1.6 MB (judgement)
_EPW_FULLEST: Final = 0.9  # share of a month's hours that must be there (judgement)
_EPW_TEMPERATURE_RANGE: Final = (-70.0, 70.0)  # degC, as the format has it (memory)
_EPW_HIGHEST_HUMIDITY: Final = 110.0  # %, as the format has it (memory)
_HOURS: Final = 24.0 * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def load_epw(folder: Path) -> tuple[Station, ...]:
    """Stations from the hourly EnergyPlus weather files (`.epw`) of a folder.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    tuple of Station
        One a file, in the order of their names; id `epw-` and the file's name. Monthly means are
        of the hours themselves. Hours left out as not measured are told in a note.

    Raises
    ------
    BadWeatherFile
        A file that is not of this format, not a whole year in order, or with more than a tenth
        of a month's hours missing; the message names file and line.
    ValueError
        The folder does not exist, or two files have one name.
    """
    if not folder.is_dir():
        raise ValueError(f"no folder of weather files at {folder}")
    files = sorted(file for file in folder.iterdir() if file.suffix.casefold() == ".epw")
    stations = tuple(_epw_station(file) for file in files)
    ids = [station.id for station in stations]
    for number, one in enumerate(ids):
        if one in ids[:number]:
            raise ValueError(f"{files[number].name}: another weather file has the same name")
    return stations


def _epw_station(file: Path) -> Station:
    """One weather file as a station."""
    lines = _epw_lines(file)
    place = _epw_place(file, lines)
    months, hours = _epw_hours(file, lines)
    figures, missing = _epw_means(file, lines, months, hours)
    zone = float(place[8])
    notes = [
        Note(
            "weather-file",
            file=file.name,
            hours=int(np.isfinite(hours).all(axis=1).sum()),
            zone=zone,
            source=place[4].strip() or "not told in the file",
        )
    ]
    if missing:
        notes.append(Note("weather-file-gaps", file=file.name, hours=missing))
    country = gazetteer.country_code(place[3].strip())
    region = place[2].strip()
    return Station(
        id="epw-" + re.sub(r"[^a-z0-9]+", "-", gazetteer.fold(file.stem)).strip("-"),
        name=place[1].strip(),
        country=country,
        region=region if region in gazetteer.regions(country) else "",
        latitude=float(place[6]),
        longitude=float(place[7]),
        elevation=float(place[9]),
        years=1,
        grade="B",
        named=False,
        source=f"weather file {file.name}, {place[4].strip()}".rstrip(", "),
        period="typical year",
        temperature=figures[0],
        vapour_pressure=figures[1],
        relative_humidity=figures[2],
        notes=tuple(notes),
    )


def _epw_lines(file: Path) -> list[str]:
    """Lines of a weather file, which end as files' lines do and at no other sign."""
    if not file.name.isprintable():
        raise BadWeatherFile(file, 1, "the name of the file holds signs that cannot be printed")
    try:
        # Looked at first: opening a pipe waits for whoever fills it.
        about = file.stat()
        if not stat.S_ISREG(about.st_mode):
            raise BadWeatherFile(file, 1, "this is a folder, pipe or device and no file")
        if about.st_size > _EPW_LARGEST:
            raise BadWeatherFile(file, 1, f"it has more than {_EPW_LARGEST:,} bytes")
        told = file.read_bytes()
    except OSError as error:
        raise BadWeatherFile(file, 1, f"it cannot be read ({error.strerror})") from error
    try:
        text = told.decode("utf-8")
    except UnicodeDecodeError:
        text = told.decode("latin-1")  # older files
    return [line.rstrip("\r") for line in text.removesuffix("\n").split("\n")]


def _epw_place(file: Path, lines: list[str]) -> list[str]:
    """Fields of the LOCATION line: city, state, country, source, number, then four numbers."""
    fields = lines[0].lstrip("\ufeff").split(",") if lines else []
    if not fields or fields[0].strip().upper() != "LOCATION":
        raise BadWeatherFile(file, 1, "an EnergyPlus weather file begins with LOCATION")
    if len(fields) < 10:
        raise BadWeatherFile(file, 1, f"LOCATION has {len(fields)} fields of 10")
    if not all(each.isprintable() for each in fields):
        raise BadWeatherFile(file, 1, "LOCATION holds signs that cannot be printed")
    if not fields[1].strip():
        raise BadWeatherFile(file, 1, "LOCATION names no city")
    for number, what, low, high in (
        (6, "latitude", -90.0, 90.0),
        (7, "longitude", -180.0, 180.0),
        (8, "time zone", -12.0, 14.0),
        (9, "elevation", -500.0, 9000.0),
    ):
        value = _epw_number(file, 1, what, fields[number])
        if not low <= value <= high:
            raise BadWeatherFile(file, 1, f"{what} {value:g} is not within {low:g} to {high:g}")
    return fields


def _epw_number(file: Path, line: int, what: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise BadWeatherFile(file, line, f"{what} '{text.strip()[:20]}' is not a number")
    return value


def _epw_hours(file: Path, lines: list[str]) -> tuple[NDArray[np.intp], Floats]:
    """Month and (temperature, dew point, humidity) of every row, NaN where not measured."""
    last_header = lines[_EPW_HEADER_LINES - 1] if len(lines) >= _EPW_HEADER_LINES else ""
    if not last_header.upper().startswith("DATA PERIODS"):
        raise BadWeatherFile(file, _EPW_HEADER_LINES, "DATA PERIODS is expected here")
    months: list[int] = []
    rows: list[tuple[float, float, float]] = []
    before = (0.0, 0.0, 0.0, 0.0)
    for line, text in enumerate(lines[_EPW_HEADER_LINES:], start=_EPW_HEADER_LINES + 1):
        if not text.strip():
            continue
        fields = text.split(",")
        if len(fields) <= _EPW_HUMIDITY:
            raise BadWeatherFile(file, line, f"a row needs 35 fields, this has {len(fields)}")
        month, day, hour, minute = (
            _epw_number(file, line, what, fields[_EPW_MONTH + number])
            for number, what in enumerate(("month", "day", "hour", "minute"))
        )
        if not (month in range(1, 13) and 1 <= day <= 31 and 0 <= hour <= 24):
            raise BadWeatherFile(file, line, f"no such hour: {','.join(fields[1:5])}")
        if (month, day, hour, minute) <= before:
            raise BadWeatherFile(file, line, "the hours of the year must follow each other")
        before = (month, day, hour, minute)
        months.append(int(month) - 1)
        rows.append(_epw_row(file, line, fields))
    return np.array(months, dtype=np.intp), np.array(rows, dtype=np.float64).reshape(-1, 3)


def _epw_row(file: Path, line: int, fields: list[str]) -> tuple[float, float, float]:
    """Temperature, dew point and humidity of a row, NaN for those not measured."""
    temperature = _epw_number(file, line, "dry bulb", fields[_EPW_TEMPERATURE])
    dew_point = _epw_number(file, line, "dew point", fields[_EPW_DEW_POINT])
    humidity = _epw_number(file, line, "relative humidity", fields[_EPW_HUMIDITY])
    low, high = _EPW_TEMPERATURE_RANGE
    for what, value in (("dry bulb", temperature), ("dew point", dew_point)):
        if value < _EPW_NO_TEMPERATURE and not low <= value <= high:
            raise BadWeatherFile(file, line, f"{what} {value:g} is not within {low:g} to {high:g}")
    if humidity < _EPW_NO_HUMIDITY and not 0.0 <= humidity <= _EPW_HIGHEST_HUMIDITY:
        raise BadWeatherFile(file, line, f"relative humidity {humidity:g} is not within 0 to 110")
    return (
        temperature if temperature < _EPW_NO_TEMPERATURE else np.nan,
        dew_point if dew_point < _EPW_NO_TEMPERATURE else np.nan,
        min(humidity, 100.0) if humidity < _EPW_NO_HUMIDITY else np.nan,
    )


def _epw_means(
    file: Path, lines: list[str], months: NDArray[np.intp], hours: Floats
) -> tuple[Floats, int]:
    """Monthly means, shape (3, 12), of temperature, vapour pressure, humidity; hours left out."""
    temperature, dew_point, humidity = hours.T
    pressure = air.vapour_pressure(temperature, humidity)
    by_dew_point = air.saturation_pressure(dew_point)
    humidity = np.where(
        np.isnan(humidity),
        np.minimum(100.0 * by_dew_point / air.saturation_pressure(temperature), 100.0),
        humidity,
    )
    pressure = np.where(np.isnan(pressure), by_dew_point, pressure)
    usable = np.isfinite(temperature) & np.isfinite(pressure) & np.isfinite(humidity)
    records = _epw_number(file, _EPW_HEADER_LINES, "records an hour", _epw_records(lines))
    count = np.bincount(months[usable], minlength=MONTHS)
    short = np.flatnonzero(count < _EPW_FULLEST * _HOURS * records)
    if short.size:
        month = int(short[0])
        raise BadWeatherFile(
            file,
            len(lines),
            f"month {month + 1} has {count[month]} usable of {_HOURS[month] * records:.0f} rows; "
            f"at least {100 * _EPW_FULLEST:.0f} % are needed",
        )
    means = np.array(
        [
            np.bincount(months[usable], figures[usable], MONTHS) / count
            for figures in (temperature, pressure, humidity)
        ]
    )
    return means, int((~usable).sum())


def _epw_records(lines: list[str]) -> str:
    """Text of the records-an-hour field of DATA PERIODS."""
    fields = lines[_EPW_HEADER_LINES - 1].split(",")
    return fields[2] if len(fields) > 2 else "1"
