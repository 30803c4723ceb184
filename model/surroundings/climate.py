"""The outdoor year of a place: listed stations, the nearest ones to coordinates, weather files.

A climate is twelve monthly means of temperature, vapour pressure and relative humidity.  Vapour
pressure and relative humidity do not belong together by the mean temperature, on purpose: vapour
pressure is for rooms, relative humidity for the equilibrium outdoors.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.basis import DATA
from model.codes import Note
from model.names import UnknownName as UnknownName
from model.properties import air
from model.surroundings import gazetteer
from model.surroundings.calendar import MONTHS

Floats = NDArray[np.float64]

EARTH_RADIUS: Final = 6371.0  # km; mean radius (IUGG)

# Choice of stations for coordinates. Figures of this section: leave-one-out over the listed
# stations (fitted), measured again in tests/reference/test_places.py.
NEAREST: Final = 3  # stations averaged
CLOSEST: Final = 5.0  # km; a station nearer than this counts as this far
HEIGHT_SCORE: Final = 0.2  # km per m of height difference
REACH: Final = 250.0  # km; beyond it no station speaks for a place
LAPSE: Final = 0.0055  # K/m between stations (fitted)
HEIGHT_WARNING: Final = 200.0  # m; from here the outdoor equilibrium error doubles
HEIGHT_ALARM: Final = 600.0  # m; worse still
# rms = floor + slope sqrt(km), outdoor equilibrium [% M] and humidity of air warmed to 20 degC [%].
EQUILIBRIUM_ERROR: Final = (1.18, 0.044)
HUMIDITY_ERROR: Final = (3.8, 0.18)

ONE_PLACE: Final = 60.0  # km; stations of one name nearer than this are one town's (judgement)

# Mean vapour pressure over saturation at the mean temperature, less mean relative humidity [points]
# by mean temperature [degC]: the mean of a product is not the product of the means. To 2.5 degC
# printed with the climate tables (fitted, one curve for all climates, +/- 3); above, fitted here to
# the medians of climates.csv in bands of 5 K. Held level beyond both ends.
_EXCESS_TEMPERATURE: Final = (-12.5, -7.5, -2.5, 2.5, 7.5, 12.5, 17.5)
_EXCESS_HUMIDITY: Final = (16.0, 10.5, 4.8, 1.9, 1.0, -0.1, -1.0)

DWD_ATTRIBUTION: Final = (
    "Data basis: Deutscher Wetterdienst (DWD), Monthly CLIMAT reports from stations worldwide; "
    "values averaged and corrected, faulty records left out. Licence CC BY 4.0."
)

# Months doubtful by 3-6 points of humidity in the listed table (told with the table).
_DOUBTFUL: Final = frozenset(
    {"moscow-ru", "tokyo-jp", "guangzhou-cn", "johannesburg-za", "pretoria-za"}
)


class Ambiguous(ValueError):  # noqa: N818 - read as what happened
    """Several places have this name.

    Attributes
    ----------
    text : str
        The name asked.
    candidates : tuple of Station
        The stations it may mean.
    """

    def __init__(self, text: str, candidates: tuple[Station, ...]) -> None:
        self.text, self.candidates = text, candidates
        listed = "; ".join(f"{station.label} [{station.id}]" for station in candidates)
        super().__init__(f"'{text}' may mean {listed}")


class TooFar(ValueError):  # noqa: N818 - read as what happened
    """No station within reach of the coordinates.

    Attributes
    ----------
    nearest : Station
        The nearest one.
    distance : float
        Its distance [km].
    """

    def __init__(self, nearest: Station, distance: float) -> None:
        self.nearest, self.distance = nearest, distance
        super().__init__(
            f"no station within {REACH:g} km; the nearest, {nearest.label}, is {distance:.0f} km "
            "away: give the outdoor months instead"
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


@dataclass(frozen=True, slots=True)
class Used:
    """A station that an outdoor year was made from.

    Attributes
    ----------
    station : Station
    distance : float
        [km] to the place.
    height_difference : float or None
        Place above station [m]; None when the height of the place is not known.
    weight : float
        Share in the means, 0 to 1.
    """

    station: Station
    distance: float
    height_difference: float | None
    weight: float


@dataclass(frozen=True, slots=True, eq=False)
class Outdoor:
    """The outdoor year of a place.

    Attributes
    ----------
    name : str
        The place in words.
    temperature, vapour_pressure, relative_humidity : ndarray
        Shape (12,), monthly means [degC], [Pa], [% over water].
    latitude, longitude, elevation : float or None
        [degrees], [m].
    stations : tuple of Used
        What it was made from.
    equilibrium_error : float
        rms error of the outdoor equilibrium from the choice of stations [% M]; 0 for a station
        taken by name.
    humidity_error : float
        The same of the humidity of its air warmed to 20 degC [points].
    attribution : tuple of str
        Texts that must be shown beside the figures.
    notes : tuple of Note
    """

    name: str
    temperature: Floats
    vapour_pressure: Floats
    relative_humidity: Floats
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    stations: tuple[Used, ...] = ()
    equilibrium_error: float = 0.0
    humidity_error: float = 0.0
    attribution: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True, slots=True)
class Found:
    """A station found by a search; the distance [km] only when a point was given."""

    station: Station
    distance: float | None


def humidity_excess(temperature: ArrayLike) -> Floats:
    """Points by which vapour exceeds mean humidity times saturation, at a monthly mean [degC].

    Examples
    --------
    >>> float(humidity_excess(-12.5))
    16.0
    """
    mean = np.asarray(temperature, dtype=np.float64)
    return np.asarray(np.interp(mean, _EXCESS_TEMPERATURE, _EXCESS_HUMIDITY))


def distances(
    latitude: float, longitude: float, latitudes: ArrayLike, longitudes: ArrayLike
) -> Floats:
    """Distances on the globe [km] from one point to many (haversine formula)."""
    here, there = np.radians(latitude), np.radians(latitudes)
    across = np.radians(np.asarray(longitudes, dtype=np.float64) - longitude)
    half = np.sin((there - here) / 2) ** 2 + np.cos(here) * np.cos(there) * np.sin(across / 2) ** 2
    result: Floats = 2.0 * EARTH_RADIUS * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return result


class Climates:
    """Stations to choose from: by name, by coordinates, by search."""

    def __init__(self, stations: Iterable[Station]) -> None:
        self.stations: Final = tuple(stations)
        self._number: Final = {station.id: number for number, station in enumerate(self.stations)}
        if len(self._number) != len(self.stations):
            raise ValueError("two stations have one id")
        self._latitude: Final = np.array([station.latitude for station in self.stations])
        self._longitude: Final = np.array([station.longitude for station in self.stations])
        self._elevation: Final = np.array([station.elevation for station in self.stations])
        self._good: Final = np.array([station.grade in {"A", "B"} for station in self.stations])

    @cached_property
    def _names(self) -> gazetteer.Index:
        return gazetteer.Index(
            [
                gazetteer.Place(one.name, one.country, one.region, one.other_names)
                for one in self.stations
            ]
        )

    def including(self, stations: Iterable[Station]) -> Climates:
        """These stations and others, for example of an operator's weather files."""
        return Climates((*self.stations, *stations))

    def find(self, text: str) -> Outdoor:
        """The outdoor year of a station by id or name.

        Parameters
        ----------
        text : str
            An id, a name, `Place, Country` or `Place, State`; any case, accents or not.

        Returns
        -------
        Outdoor
            Of one station, with a note when the name is not exactly its own or others carry it.

        Raises
        ------
        Ambiguous
            Several places have this name and none of them stands for a well-known city.
        UnknownName
            None has.
        """
        number = self._number.get(text.strip().casefold())
        if number is not None:
            return _of_station(self.stations[number], ())
        match = self._names.match(text)
        if not match.indices:
            alike = tuple(self.stations[one].id for one in self._names.alike(text))
            raise UnknownName("climate", text, alike)
        found = tuple(self.stations[one] for one in match.indices)
        chosen = _of_one_name(text, found, exact=match.exact)
        others = [station.label for station in _apart(chosen, found)]
        if not others and (match.exact or match.qualified):
            return _of_station(chosen, ())
        taken = Note(
            "place-taken", text=text, label=chosen.label, id=chosen.id, others=tuple(others[:5])
        )
        return _of_station(chosen, (taken,))

    def near(self, latitude: float, longitude: float, elevation: float | None = None) -> Outdoor:
        """The outdoor year at coordinates, from the nearest stations.

        Parameters
        ----------
        latitude, longitude : float
            [degrees], north and east positive.
        elevation : float, optional
            [m]; without it nothing is corrected for height.

        Returns
        -------
        Outdoor
            The three stations of grade A or B with the smallest distance + 0.2 km per m of height
            difference, within 250 km, weighted by 1/distance^2 (5 km at least) after height
            correction; those of grade C, with a note, where there is none.  Its errors are rms of
            leaving one station out.

        Raises
        ------
        TooFar
            No station within 250 km.
        ValueError
            Impossible coordinates.
        """
        if not (-90.0 <= latitude <= 90.0 and -180.0 <= longitude <= 360.0):
            raise ValueError("latitude must lie within -90 to 90, longitude within -180 to 180")
        if elevation is not None and not -500.0 <= elevation <= 9000.0:
            raise ValueError("elevation must lie within -500 to 9000 m")
        away = distances(latitude, longitude, self._latitude, self._longitude)
        within = away <= REACH
        good = within & self._good
        pool = np.flatnonzero(good if good.any() else within)
        if pool.size == 0:
            nearest = int(np.argmin(away))
            raise TooFar(self.stations[nearest], float(away[nearest]))
        used = self.weighted(pool, away, elevation)
        return _of_point(used, latitude, longitude, elevation)

    def weighted(
        self, pool: NDArray[np.intp], away: Floats, elevation: float | None
    ) -> tuple[Used, ...]:
        """The best of a pool of station numbers, by distances [km] of all stations, weighted."""
        score = away[pool]
        if elevation is not None:
            score = score + HEIGHT_SCORE * np.abs(elevation - self._elevation[pool])
        best = pool[np.argsort(score, kind="stable")[:NEAREST]]
        weight = np.maximum(away[best], CLOSEST) ** -2
        weight /= weight.sum()
        return tuple(
            Used(
                station=self.stations[number],
                distance=float(away[number]),
                height_difference=(
                    None if elevation is None else float(elevation - self._elevation[number])
                ),
                weight=float(share),
            )
            for number, share in zip(best, weight, strict=True)
        )

    def search(
        self,
        text: str = "",
        *,
        latitude: float | None = None,
        longitude: float | None = None,
        limit: int = 20,
    ) -> tuple[Found, ...]:
        """Stations whose words begin with those of the text, and the nearest first at a point.

        Without a point well-known cities come first, then the alphabet.
        """
        numbers = self._names.search(text) if text.strip() else range(len(self.stations))
        if latitude is not None and longitude is not None:
            away = distances(latitude, longitude, self._latitude, self._longitude)
            nearest = sorted(numbers, key=lambda number: float(away[number]))[:limit]
            return tuple(Found(self.stations[one], float(away[one])) for one in nearest)
        found = sorted(
            (self.stations[number] for number in numbers),
            key=lambda station: (not station.named, station.name, station.country),
        )
        return tuple(Found(station, None) for station in found[:limit])


def _of_one_name(text: str, found: tuple[Station, ...], *, exact: bool) -> Station:
    """The one station meant by a name that several carry, or `Ambiguous`."""
    named = [station for station in found if station.named]
    if exact and len(named) == 1:
        return named[0]
    best = min(found, key=lambda one: (not one.named, one.grade, -one.years))
    if _apart(best, found):
        raise Ambiguous(text, tuple(sorted(found, key=lambda one: not one.named))[:12])
    return best


def _apart(chosen: Station, found: Sequence[Station]) -> list[Station]:
    """Those of the stations that are not of the same town as the chosen one."""
    away = distances(
        chosen.latitude,
        chosen.longitude,
        [one.latitude for one in found],
        [one.longitude for one in found],
    )
    return [one for one, far in zip(found, away, strict=True) if far > ONE_PLACE]


def _grade_note(stations: Sequence[Station]) -> tuple[Note, ...]:
    """Notes on stations of low grade or doubtful months."""
    notes = []
    poor = [station.name for station in stations if station.grade == "C"]
    if poor:
        notes.append(Note("climate-grade", stations=tuple(poor)))
    doubtful = [station.name for station in stations if station.id in _DOUBTFUL]
    if doubtful:
        notes.append(Note("climate-doubtful", stations=tuple(doubtful)))
    return tuple(notes)


def _of_station(station: Station, notes: tuple[Note, ...]) -> Outdoor:
    """The outdoor year of one station, taken by name."""
    return Outdoor(
        name=station.label,
        temperature=station.temperature,
        vapour_pressure=station.vapour_pressure,
        relative_humidity=station.relative_humidity,
        latitude=station.latitude,
        longitude=station.longitude,
        elevation=station.elevation,
        stations=(Used(station, 0.0, 0.0, 1.0),),
        attribution=station.attribution,
        notes=(*notes, *_grade_note([station]), *station.notes),
    )


def mean_of(used: Sequence[Used]) -> tuple[Floats, Floats, Floats]:
    """Weighted means of temperature [degC], vapour pressure [Pa], relative humidity [%].

    Each station is first brought to the height of the place: temperature by 0.0055 K/m, relative
    humidity unchanged, vapour pressure in proportion to saturation.
    """
    temperature, pressure, humidity = (np.zeros(MONTHS) for _ in range(3))
    for one in used:
        station = one.station
        there = station.temperature - LAPSE * (one.height_difference or 0.0)
        thinner = air.saturation_pressure(there) / air.saturation_pressure(station.temperature)
        temperature += one.weight * there
        pressure += one.weight * station.vapour_pressure * thinner
        humidity += one.weight * station.relative_humidity
    return temperature, pressure, humidity


def _of_point(
    used: tuple[Used, ...], latitude: float, longitude: float, elevation: float | None
) -> Outdoor:
    """The outdoor year at coordinates from chosen stations, with errors and notes."""
    temperature, pressure, humidity = mean_of(used)
    root = float(np.sqrt(min(one.distance for one in used)))
    higher = 0.0
    if elevation is not None:
        higher = sum(one.weight * abs(one.height_difference or 0.0) for one in used)
    doubled = 2.0 if higher >= HEIGHT_WARNING else 1.0
    outdoors = doubled * (EQUILIBRIUM_ERROR[0] + EQUILIBRIUM_ERROR[1] * root)
    indoors = HUMIDITY_ERROR[0] + HUMIDITY_ERROR[1] * root
    stations = [one.station for one in used]
    notes = [_stations_note(used, outdoors, indoors), *_grade_note(stations)]
    notes += [note for station in stations for note in station.notes]
    if elevation is None:
        heights = tuple((one.name, one.elevation) for one in stations)
        notes.append(Note("no-elevation", heights=heights))
    elif higher >= HEIGHT_WARNING:
        code = "height-far" if higher >= HEIGHT_ALARM else "height"
        notes.append(Note(code, higher=higher))
    return Outdoor(
        name=f"{latitude:.3f}, {longitude:.3f}",
        temperature=temperature,
        vapour_pressure=pressure,
        relative_humidity=humidity,
        latitude=latitude,
        longitude=longitude,
        elevation=elevation,
        stations=used,
        equilibrium_error=outdoors,
        humidity_error=indoors,
        attribution=tuple(dict.fromkeys(text for one in stations for text in one.attribution)),
        notes=tuple(notes),
    )


def _stations_note(used: Sequence[Used], outdoors: float, indoors: float) -> Note:
    stations = tuple(
        (one.station.label, one.distance, one.height_difference, one.weight) for one in used
    )
    return Note("stations", stations=stations, outdoors=outdoors, indoors=indoors)


def outdoor_from_months(
    temperature: ArrayLike,
    relative_humidity: ArrayLike | None = None,
    vapour_pressure: ArrayLike | None = None,
    name: str = "outdoor months as given",
) -> Outdoor:
    """The outdoor year of a place that is not listed.

    Parameters
    ----------
    temperature : array_like
        Shape (12,), monthly means from January [degC].
    relative_humidity, vapour_pressure : array_like
        Shape (12,) [% over water], [Pa]: one of them, or both.
    name : str
        What the place is called.

    Returns
    -------
    Outdoor
        The missing one of humidity and vapour is found by `humidity_excess`, and a note says so.

    Raises
    ------
    ValueError
        Not twelve figures, neither of the two, or figures that no air has.
    """
    degrees = _twelve("temperature", temperature, *air.VALID_TEMPERATURE)
    saturated = air.saturation_pressure(degrees)
    excess = humidity_excess(degrees)
    notes: tuple[Note, ...] = ()
    if relative_humidity is not None:
        percent = _twelve("relative_humidity", relative_humidity, 0.0, 100.0)
        if vapour_pressure is None:
            notes = (Note("vapour-from-means", found="vapour pressure", given="relative humidity"),)
            pressure = np.maximum((percent + excess) / 100.0, 0.0) * saturated
        else:
            pressure = _twelve("vapour_pressure", vapour_pressure, 0.0, 10_000.0)
    elif vapour_pressure is not None:
        pressure = _twelve("vapour_pressure", vapour_pressure, 0.0, 10_000.0)
        notes = (Note("vapour-from-means", found="relative humidity", given="vapour pressure"),)
        percent = np.clip(100.0 * pressure / saturated - excess, 0.0, 100.0)
    else:
        raise ValueError("give relative_humidity or vapour_pressure beside the temperature")
    # Means of a month with warm, damp days may stand above saturation at its mean temperature, by
    # 17 points at most in the listed climates: more cannot be.
    if np.any(pressure > 1.25 * saturated):
        month = int(np.argmax(pressure / saturated)) + 1
        raise ValueError(
            f"vapour pressure of month {month} is more than its air can hold at that temperature"
        )
    return Outdoor(name, degrees, pressure, percent, notes=notes)


def _twelve(what: str, values: ArrayLike, low: float, high: float) -> Floats:
    figures = np.asarray(values, dtype=np.float64)
    if figures.shape != (MONTHS,):
        raise ValueError(f"{what} needs twelve figures, January first")
    if not (np.isfinite(figures).all() and figures.min() >= low and figures.max() <= high):
        raise ValueError(f"every {what} must lie within {low:g} to {high:g}")
    return figures


def _rows() -> Iterator[Station]:
    """The listed stations, in the order of the table."""
    with (DATA / "climates.csv").open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        header = next(reader)
        rows = list(reader)
    column = {name: number for number, name in enumerate(header)}
    first = column["temperature_c_01"]
    figures = np.array([row[first : first + 3 * MONTHS] for row in rows], dtype=np.float64)
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


@cache
def listed() -> Climates:
    """The listed stations, read once."""
    return Climates(_rows())


def find(text: str) -> Outdoor:
    """The outdoor year of a listed station by id or name; see `Climates.find`.

    Examples
    --------
    >>> find("duluth").name
    'Duluth, MN, United States (46.84, -92.19)'
    """
    return listed().find(text)


def near(latitude: float, longitude: float, elevation: float | None = None) -> Outdoor:
    """The outdoor year at coordinates from the listed stations; see `Climates.near`."""
    return listed().near(latitude, longitude, elevation)


def search(
    text: str = "",
    *,
    latitude: float | None = None,
    longitude: float | None = None,
    limit: int = 20,
) -> tuple[Found, ...]:
    """Listed stations by words and nearness; see `Climates.search`."""
    return listed().search(text, latitude=latitude, longitude=longitude, limit=limit)
