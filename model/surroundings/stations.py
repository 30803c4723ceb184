"""The listed weather stations, with their faults mended or marked.

The table is as published; data/station_faults.csv says which of its months do not agree with the
stations around and what is used in their place, and which stations are used only where nothing
better is near.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.basis import DATA, table
from model.codes import Note
from model.surroundings import gazetteer
from model.surroundings.calendar import MONTHS

Floats = NDArray[np.float64]

DWD_ATTRIBUTION: Final = (
    "Data basis: Deutscher Wetterdienst (DWD), averaged and corrected, CC BY 4.0."
)

# Months doubtful by 3-6 points of humidity in the listed table (told with the table).
DOUBTFUL: Final = frozenset(
    {"moscow-ru", "tokyo-jp", "guangzhou-cn", "johannesburg-za", "pretoria-za"}
)


@dataclass(frozen=True, slots=True, eq=False)
class Station:
    """A weather station with its monthly means.

    Attributes
    ----------
    id, name : str
        Own name of the row and the station's.
    country, region : str
        Two-letter country code; state or province, empty for most countries.
    latitude, longitude : float
        [degrees], north and east positive.
    elevation : float
        [m].
    years : int
        Years averaged.
    grade : str
        A checked, B usable, C only when nothing better is near.
    named : bool
        True for the station that stands for a well-known city.
    source, period : str
        Where the figures come from and of which years.
    temperature, vapour_pressure, relative_humidity : ndarray
        Shape (12,) [degC], [Pa], [% over water].
    other_names : tuple of str
        Other names of the place.
    notes : tuple of Note
        What is to be known of its figures.
    """

    id: str
    name: str
    country: str
    region: str
    latitude: float
    longitude: float
    elevation: float
    years: int
    grade: str
    named: bool
    source: str
    period: str
    temperature: Floats
    vapour_pressure: Floats
    relative_humidity: Floats
    other_names: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def label(self) -> str:
        """Name, state, country and coordinates in one line."""
        region = self.region if self.region and self.region not in self.name.split() else ""
        where = ", ".join(filter(None, (region, gazetteer.country_name(self.country))))
        return f"{self.name}, {where} ({self.latitude:.2f}, {self.longitude:.2f})"

    @property
    def attribution(self) -> tuple[str, ...]:
        """Text that must be shown beside the figures, if any."""
        return (DWD_ATTRIBUTION,) if self.source.startswith("DWD") else ()


def as_given() -> Iterator[Station]:
    """The listed stations as the table gives them, in its order."""
    with (DATA / "climates.csv").open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        header = next(reader)
        rows = list(reader)
    column = {name: number for number, name in enumerate(header)}
    first = column["temperature_c_01"]
    figures = np.array([row[first:] for row in rows], dtype=np.float64)
    figures = figures.reshape(len(rows), 3, MONTHS)
    figures.flags.writeable = False
    names = {}
    with (DATA / "place_names.csv").open(encoding="utf-8", newline="") as file:
        for entry in csv.DictReader(file):
            names[entry["id"]] = (entry["region"], entry["other_names"])
    for row, (temperature, pressure, humidity) in zip(rows, figures, strict=True):
        record = dict(zip(header[:first], row[:first], strict=True))
        region, other_names = names.get(record["id"], ("", ""))
        yield Station(
            id=record["id"],
            name=record["name"],
            country=record["country"],
            region=region or _region_in(record["name"], record["country"]),
            latitude=float(record["latitude"]),
            longitude=float(record["longitude"]),
            elevation=float(record["elevation_m"]),
            years=int(record["years"]),
            grade=record["grade"],
            named=record["named"] == "1",
            source=record["source"],
            period=record["period"],
            temperature=temperature,
            vapour_pressure=pressure,
            relative_humidity=humidity,
            other_names=tuple(filter(None, other_names.split(";"))),
        )


def _region_in(name: str, country: str) -> str:
    """State or province that ends a station's name, as in `Greenville AP MS`."""
    last = name.rsplit(" ", 1)[-1]
    return last if last in gazetteer.regions(country) else ""


def mended() -> Iterator[Station]:
    """The listed stations as they are used: months mended, poor stations of grade C, with notes.

    A mended humidity takes the vapour pressure along in proportion.
    """
    faults: dict[str, list[dict[str, str]]] = {}
    for row in table("station_faults.csv"):
        faults.setdefault(row["id"], []).append(row)
    for station in as_given():
        yield _mended(station, faults.get(station.id, []))


def _mended(station: Station, faults: list[dict[str, str]]) -> Station:
    if not faults:
        return station
    humidity, pressure = station.relative_humidity.copy(), station.vapour_pressure.copy()
    months = []
    grade = station.grade
    for fault in faults:
        if fault["measure"] == "graded C":
            grade = "C"
            continue
        month = int(fault["month"]) - 1
        months.append(month + 1)
        pressure[month] *= float(fault["humidity_used"]) / humidity[month]
        humidity[month] = float(fault["humidity_used"])
    notes = [*station.notes]
    if months:
        notes.append(Note("climate-mended", station=station.name, months=tuple(months)))
    for figures in (humidity, pressure):
        figures.flags.writeable = False
    return replace(
        station,
        grade=grade,
        relative_humidity=humidity,
        vapour_pressure=pressure,
        notes=tuple(notes),
    )
