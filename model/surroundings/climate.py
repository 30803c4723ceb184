"""The outdoor year of a place: a town, coordinates, a station or a weather file.

A climate is twelve monthly means of temperature, vapour pressure and relative humidity.  Vapour
pressure and relative humidity do not belong together by the mean temperature, on purpose: vapour
pressure is for rooms, relative humidity for the equilibrium outdoors.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.codes import Note
from model.names import UnknownName as UnknownName
from model.properties import air
from model.surroundings import gazetteer, towns
from model.surroundings import stations as tables
from model.surroundings.globe import distances as distances
from model.surroundings.outdoor import LAPSE as LAPSE
from model.surroundings.outdoor import Outdoor as Outdoor
from model.surroundings.outdoor import Used as Used
from model.surroundings.outdoor import humidity_excess as humidity_excess
from model.surroundings.outdoor import mean_of as mean_of
from model.surroundings.outdoor import outdoor_from_months as outdoor_from_months
from model.surroundings.stations import DWD_ATTRIBUTION as DWD_ATTRIBUTION
from model.surroundings.stations import Station as Station
from model.surroundings.towns import Town

Floats = NDArray[np.float64]

# Choice of stations for coordinates. Figures of this section: leave-one-out over the listed
# stations (fitted), measured again in tests/reference/test_places.py.
NEAREST: Final = 3  # stations averaged
CLOSEST: Final = 5.0  # km; a station nearer than this counts as this far
HEIGHT_SCORE: Final = 0.2  # km per m of height difference
REACH: Final = 250.0  # km; beyond it no station speaks for a place
HEIGHT_WARNING: Final = 200.0  # m; from here the outdoor equilibrium error doubles
HEIGHT_ALARM: Final = 600.0  # m; worse still
# rms = floor + slope sqrt(km), outdoor equilibrium [% M] and humidity of air warmed to 20 degC [%].
EQUILIBRIUM_ERROR: Final = (1.18, 0.044)
HUMIDITY_ERROR: Final = (3.8, 0.18)
# m; rms error of a town's height taken from the towns around (left one out: make_towns.py).
ESTIMATED_HEIGHT: Final = 105.0

ONE_PLACE: Final = 60.0  # km; stations of one name nearer than this are one town's (judgement)
TOLD: Final = 0.005  # share in the means from which a note tells a station, by two decimals
SPEAKS: Final = 0.05  # share in the means from which a station is named with the place


class Ambiguous(ValueError):  # noqa: N818 - read as what happened
    """Several places have this name.

    Attributes
    ----------
    text : str
        The name asked.
    candidates : tuple of Town or Station
        The towns, or else the stations, it may mean.
    """

    def __init__(self, text: str, candidates: tuple[Town | Station, ...]) -> None:
        self.text, self.candidates = text, candidates
        listed = "; ".join(f"{one.label} [{one.id}]" for one in candidates)
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


@dataclass(frozen=True, slots=True)
class Found:
    """A station found by a search; the distance [km] only when a point was given."""

    station: Station
    distance: float | None


class Climates:
    """Towns and stations to choose from: by name, by coordinates, by search.

    Parameters
    ----------
    listed : iterable of Station
        The stations of the table.
    own : iterable of Station
        An operator's, whose names come before those of towns.
    """

    def __init__(self, listed: Iterable[Station], own: Iterable[Station] = ()) -> None:
        self._own: Final = tuple(own)
        self.stations: Final = (*listed, *self._own)
        self._number: Final = {station.id: number for number, station in enumerate(self.stations)}
        if len(self._number) != len(self.stations):
            raise ValueError("two stations have one id")
        self._latitude: Final = np.array([station.latitude for station in self.stations])
        self._longitude: Final = np.array([station.longitude for station in self.stations])
        self._elevation: Final = np.array([station.elevation for station in self.stations])
        self._good: Final = np.array([station.grade in {"A", "B"} for station in self.stations])

    @cached_property
    def _names(self) -> gazetteer.Index:
        return gazetteer.Index([_place(one) for one in self.stations])

    @cached_property
    def _own_names(self) -> gazetteer.Index:
        return gazetteer.Index([_place(one) for one in self._own])

    def including(self, stations: Iterable[Station]) -> Climates:
        """These stations and others, for example of an operator's weather files."""
        count = len(self.stations) - len(self._own)
        return Climates(self.stations[:count], (*self._own, *stations))

    def find(self, text: str) -> Outdoor:
        """The outdoor year of a town or station by name or id.

        Parameters
        ----------
        text : str
            An id, `Town`, `Town, Country` or `Town, State`, as `towns.Towns.find` takes them; else
            the whole name of a station. Any case, accents or not.

        Returns
        -------
        Outdoor
            Of a town from the stations around it; of an operator's own station, or one named that
            no town shares its name with, from it alone. A note says what others are called so.

        Raises
        ------
        Ambiguous
            Several places have this name and none of them outweighs the others.
        UnknownName
            None has.
        TooFar
            The town has no station within 250 km.
        """
        number = self._number.get(text.strip().casefold())
        if number is not None:
            return _of_station(self.stations[number], ())
        by_id = towns.listed().by_id(text)
        if by_id is not None:
            return self.of_town(by_id)
        mine = self._own_names.match(text)
        if mine.indices:
            return _of_name(text, mine, self._own)
        try:
            meant = towns.listed().find(text)
        except towns.Namesakes as several:
            raise Ambiguous(text, several.towns) from several
        if meant is not None:
            return self.of_town(meant.town, text, meant.others)
        match = self._names.match(text)
        if match.indices:
            return _of_name(text, match, self.stations)
        alike = tuple(f"{one.label} [{one.id}]" for one in towns.listed().alike(text))
        raise UnknownName("place", text, alike)

    def of_town(self, town: Town, text: str = "", others: Sequence[Town] = ()) -> Outdoor:
        """The outdoor year of a town from the stations around it, at its height.

        Parameters
        ----------
        town : Town
        text : str
            What was asked, for the note on others of that name.
        others : sequence of Town
            Others of that name.

        Raises
        ------
        TooFar
            No station within 250 km.
        """
        found = self.near(town.latitude, town.longitude, town.elevation)
        notes = found.notes
        if others:
            labels = tuple(f"{one.label} [{one.id}]" for one in others[:5])
            taken = Note("place-taken", text=text, label=town.label, id=town.id, others=labels)
            notes = (taken, *notes)
        indoors = found.humidity_error
        if town.estimated:
            notes = (*notes, Note("town-height", height=town.elevation, error=ESTIMATED_HEIGHT))
            # What that height does to the vapour, in air warmed to 20 degC.
            there = found.temperature + LAPSE * ESTIMATED_HEIGHT
            share = air.saturation_pressure(there) / air.saturation_pressure(found.temperature) - 1
            points = 100.0 * found.vapour_pressure * share / float(air.saturation_pressure(20.0))
            indoors = float(np.hypot(indoors, points.mean()))
        return replace(
            found,
            id=town.id,
            name=f"{town.label}, {_by_stations(found.stations)}",
            humidity_error=indoors,
            attribution=(*found.attribution, towns.ATTRIBUTION),
            notes=notes,
        )

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


def _place(station: Station) -> gazetteer.Place:
    return gazetteer.Place(station.name, station.country, station.region, station.other_names)


def _by_stations(used: Sequence[Used]) -> str:
    """The stations that speak for a place, as words."""
    named = [one for one in used if one.weight >= SPEAKS]
    listed = [f"{one.station.name} ({one.distance:.0f} km)" for one in named]
    if len(listed) == 1:
        return f"by the station {listed[0]}"
    return f"by the stations {', '.join(listed[:-1])} and {listed[-1]}"


def _of_name(text: str, match: gazetteer.Match, table: Sequence[Station]) -> Outdoor:
    """The outdoor year of the station that a name means among those of a table."""
    found = tuple(table[one] for one in match.indices)
    chosen = _of_one_name(text, found, exact=match.exact)
    others = [station.label for station in _apart(chosen, found)]
    if not others and (match.exact or match.qualified):
        return _of_station(chosen, ())
    taken = Note(
        "place-taken", text=text, label=chosen.label, id=chosen.id, others=tuple(others[:5])
    )
    return _of_station(chosen, (taken,))


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
    doubtful = [station.name for station in stations if station.id in tables.DOUBTFUL]
    if doubtful:
        notes.append(Note("climate-doubtful", stations=tuple(doubtful)))
    return tuple(notes)


def _of_station(station: Station, notes: tuple[Note, ...]) -> Outdoor:
    """The outdoor year of one station, taken by name."""
    return Outdoor(
        id=station.id,
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
        name=f"{latitude:.3f}, {longitude:.3f}, {_by_stations(used)}",
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
        (one.station.label, one.distance, one.height_difference, one.weight)
        for one in used
        if one.weight >= TOLD
    )
    return Note("stations", stations=stations, outdoors=outdoors, indoors=indoors)


@cache
def listed() -> Climates:
    """The listed stations, read once."""
    return Climates(tables.mended())


def find(text: str) -> Outdoor:
    """The outdoor year of a town or a listed station; see `Climates.find`.

    Examples
    --------
    >>> find("duluth, mn").name
    'Duluth, Minnesota, United States, by the station Duluth (9 km)'
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
