"""The year in a room: temperature, relative humidity and the moisture content wood settles to.

A room is made from a place and a way of living (`from_climate`), from twelve months
(`from_months`), from one steady air (`constant`) or from a logger's series (`from_log`).  What
the solver reads is its `Air`; what a person reads is its `Room`.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.codes import Note
from model.properties import air as moist
from model.properties import sorption
from model.surroundings.air_series import UNBOUND, Air, year_through
from model.surroundings.calendar import MONTHS, YEAR, day_of
from model.surroundings.climate import Outdoor

Floats = NDArray[np.float64]


LOWEST_HUMIDITY: Final = 1.0  # %; drier air is not met with (judgement)
HIGHEST_HUMIDITY: Final = 95.0  # %; above, water condenses and the sorption curve ends
HIGHEST_OF_DAY: Final = 98.0  # %; within a month of 95 % on average; the curve is not used above

HELD: Final = 3.0  # given, logged or held by a machine: error of a room hygrometer (judgement)

LOGGED: Final = "logged"  # method of a room that a logger recorded
LATELY: Final = 14.0  # days of a log's end whose mean is taken to go on (judgement)
BEFORE: Final = 1.0  # days before a log's begin for which its first reading stands (judgement)
_SECONDS_A_DAY: Final = 86_400.0


@dataclass(frozen=True, slots=True)
class Extreme:
    """The driest or dampest month of a room, 1 to 12, and its equilibrium moisture [%]."""

    month: int
    moisture: float


@dataclass(frozen=True, slots=True)
class OutdoorMonth:
    """Means of a month outdoors [degC], [%], [Pa]."""

    temperature: float
    relative_humidity: float
    vapour_pressure: float


@dataclass(frozen=True, slots=True)
class MonthOfRoom:
    """Means of a month of a room, 1 to 12 [degC], [%], and the equilibrium moisture [%]."""

    month: int
    temperature: float
    relative_humidity: float
    equilibrium_moisture: float
    outdoor: OutdoorMonth | None


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """A room by months, and the air that the solver reads.

    Attributes
    ----------
    months : tuple of int
        1 to 12; of a log only the months it touches, in their order in it.
    temperature, relative_humidity : ndarray
        Means of those months [degC], [%].
    air : Air
        The same year day by day; each month's mean is kept.
    humidity_spread : float
        Standard deviation of relative humidity between rooms of this description, constant for a
        room, root mean square over its months [points].
    method, kind : str
        How the humidity was found.
    outdoor : Outdoor or None
        The climate it stands in.
    notes : tuple of Note
        Everything assumed or limited.
    attribution : tuple of str
        Texts that must be shown where the data are.
    share : ndarray or None
        Shape (months,), share of the time that each month has in a log; None for equal months.
    starts : datetime.datetime or None
        When a log was begun; None without one.
    between, strays : ndarray or None
        Shape (months,) [points]: the standard deviation between rooms month by month, all by one
        deviate for a room; and of one month of a room beyond that, each month by its own. None:
        `humidity_spread` in every month, and none.
    rules : tuple of str
        Ids in the list of formulas of what its humidity was found by.
    """

    months: tuple[int, ...]
    temperature: Floats
    relative_humidity: Floats
    air: Air
    humidity_spread: float
    method: str
    kind: str = "room"
    outdoor: Outdoor | None = None
    notes: tuple[Note, ...] = ()
    attribution: tuple[str, ...] = ()
    share: Floats | None = None
    starts: datetime.datetime | None = None
    between: Floats | None = None
    strays: Floats | None = None
    rules: tuple[str, ...] = ()

    @property
    def spread_of_months(self) -> Floats:
        """Standard deviation of each month's humidity, rooms and months together [points]."""
        if self.between is None:
            return np.full(len(self.months), self.humidity_spread)
        return np.hypot(self.between, 0.0 if self.strays is None else self.strays)

    @property
    def place(self) -> str | None:
        """Name of the place whose climate was used."""
        return None if self.outdoor is None else self.outdoor.name

    @property
    def is_log(self) -> bool:
        """Whether it is the record of a logger, known between its first and last reading only."""
        return self.method == LOGGED

    def log_day(self, date: datetime.date) -> float:
        """Day of a log on which a date begins, where the log was kept; negative before it.

        Raises
        ------
        ValueError
            If the room is not a log.
        """
        if self.starts is None:
            raise ValueError("only a log has days of its own")
        midnight = datetime.datetime.combine(date, datetime.time(), self.starts.tzinfo)
        return (midnight - self.starts).total_seconds() / _SECONDS_A_DAY

    def begins_after(self, date: datetime.date) -> bool:
        """Whether it is a log that was begun more than a day after the start of a date."""
        return self.is_log and self.log_day(date) < -BEFORE

    @property
    def lately(self) -> Air:
        """Steady air of the mean of a log's last fortnight, which is taken to go on after it.

        Raises
        ------
        ValueError
            If the room is not a log.
        """
        if not self.is_log:
            raise ValueError("only a log has a last fortnight")
        first, last = float(self.air.days[0]), float(self.air.days[-1])
        recent = np.linspace(max(first, last - LATELY), last, 200)
        warm, damp = self.air.at_days(recent)
        return Air(np.zeros(1), np.array([warm.mean()]), np.array([damp.mean()]))

    def carried_on(self, date: datetime.date, days: float) -> Air:
        """A log's air by day numbers that run on from that of a date, and after its end as lately.

        Parameters
        ----------
        date : datetime.date
            Begins on day `day_of(date)`; every later day is one more, so that the time between
            readings stays exact.
        days : float
            For how long after the log's end its last fortnight's mean is taken to go on [days].

        Raises
        ------
        ValueError
            If the room is not a log.
        """
        logged, (warm, damp) = self.air, self.lately.at(0.0)
        begins = day_of(date)
        shifted = logged.days + (begins - self.log_day(date))
        # A reading on the log's first morning may lie some hours before its first line.
        before, last = min(begins, float(shifted[0])) - BEFORE, float(shifted[-1])
        return Air(
            np.concatenate([[before], shifted, [last + 0.5, last + days]]),
            np.concatenate([logged.temperature[:1], logged.temperature, [warm, warm]]),
            np.concatenate([logged.relative_humidity[:1], logged.relative_humidity, [damp, damp]]),
        )

    @property
    def has_seasons(self) -> bool:
        """Whether its air goes round with the year; steady air and a log do not."""
        return self.air.period is not None

    @property
    def equilibrium(self) -> Floats:
        """Equilibrium moisture of each month on the mean sorption curve [%]."""
        return sorption.equilibrium_moisture(self.temperature, self.relative_humidity)

    @property
    def by_month(self) -> tuple[MonthOfRoom, ...]:
        """Its months, one after the other, with those outdoors."""
        inside = zip(
            self.months, self.temperature, self.relative_humidity, self.equilibrium, strict=True
        )
        return tuple(
            MonthOfRoom(number, float(warm), float(damp), float(moisture), self._outdoors(number))
            for number, warm, damp, moisture in inside
        )

    def _outdoors(self, month: int) -> OutdoorMonth | None:
        place = self.outdoor
        if place is None:
            return None
        return OutdoorMonth(
            float(place.temperature[month - 1]),
            float(place.relative_humidity[month - 1]),
            float(place.vapour_pressure[month - 1]),
        )

    @property
    def mean_equilibrium(self) -> float:
        """Mean of the months' equilibrium moisture over the time told [%]."""
        return float(np.average(self.equilibrium, weights=self.share))

    @property
    def driest(self) -> Extreme:
        """The month of lowest equilibrium moisture."""
        index = int(np.argmin(self.equilibrium))
        return Extreme(self.months[index], float(self.equilibrium[index]))

    @property
    def dampest(self) -> Extreme:
        """The month of highest equilibrium moisture."""
        index = int(np.argmax(self.equilibrium))
        return Extreme(self.months[index], float(self.equilibrium[index]))

    @property
    def formulas(self) -> tuple[str, ...]:
        """Ids in the list of formulas that its air leans on."""
        used: list[str] = []
        codes = {note.code for note in self.notes}
        if self.outdoor is not None:
            if "stations" in codes:
                used.append("climate-nearest")
            if "vapour-from-means" in codes:
                used.append("climate-vapour-from-means")
        used += self.rules
        if self.air.period is not None:
            used.append("room-year")
        return (*used, "room-spread")


def year_air(
    temperature: Floats,
    humidity: Floats,
    warm: tuple[float, float] = (-UNBOUND, UNBOUND),
    damp: tuple[float, float] = (LOWEST_HUMIDITY, HIGHEST_OF_DAY),
    outdoor: Outdoor | None = None,
) -> tuple[Air, tuple[Note, ...]]:
    """The yearly table through monthly means, and a note where the humidity had to be cut."""
    degrees = year_through(temperature, *warm)
    percent = year_through(humidity, *damp)
    kept: Floats = np.clip(percent, LOWEST_HUMIDITY, HIGHEST_OF_DAY)
    cut = float(np.abs((kept - percent).reshape(MONTHS, -1).mean(axis=1)).max())
    days = np.linspace(0.0, YEAR, degrees.size, endpoint=False)
    notes: tuple[Note, ...] = ()
    if cut > 1e-9:
        notes = (Note("month-mean-cut", by=cut),)
    outdoors = None if outdoor is None else year_through(outdoor.temperature)
    return Air(days, degrees, kept, YEAR, outdoors), notes


def limited(humidity: Floats, what: str) -> tuple[Floats, tuple[Note, ...]]:
    """Humidity kept within what air over wood does, with a note when anything was cut."""
    kept = np.clip(humidity, LOWEST_HUMIDITY, HIGHEST_HUMIDITY)
    notes = []
    damp, dry = humidity > HIGHEST_HUMIDITY, humidity < LOWEST_HUMIDITY
    every = int(humidity.size)
    if damp.any():
        notes.append(
            Note(
                "humidity-cut-high",
                count=int(damp.sum()),
                all=every,
                what=what,
                limit=HIGHEST_HUMIDITY,
                most=float(humidity.max()),
            )
        )
    if dry.any():
        notes.append(
            Note(
                "humidity-cut-low",
                count=int(dry.sum()),
                all=every,
                what=what,
                limit=LOWEST_HUMIDITY,
            )
        )
    return kept, tuple(notes)


def _check_figures(temperature: Floats, humidity: Floats) -> None:
    """Refuse figures that no air has."""
    if not (np.isfinite(temperature).all() and np.isfinite(humidity).all()):
        raise ValueError("every temperature and relative humidity must be a finite number")
    low, high = moist.VALID_TEMPERATURE
    if temperature.min() < low or temperature.max() > high:
        raise ValueError(f"temperature must lie within {low:g} to {high:g} degC")
    if humidity.min() < 0.0 or humidity.max() > 100.0:
        raise ValueError("relative humidity must lie within 0 to 100 %")


def beyond_sorption(temperature: Floats) -> tuple[Note, ...]:
    """A note where the equilibrium is asked outside the temperatures of its curve."""
    low, high = sorption.VALID_TEMPERATURE
    if temperature.min() >= low and temperature.max() <= high:
        return ()
    lowest, highest = float(temperature.min()), float(temperature.max())
    return (Note("sorption-extrapolated", lowest=lowest, highest=highest),)


def constant(temperature: float, relative_humidity: float) -> Room:
    """A room of steady air.

    Parameters
    ----------
    temperature, relative_humidity : float
        Of the air [degC], [%].

    Returns
    -------
    Room
        Twelve equal months; its air has one point and is good for any day.

    Examples
    --------
    >>> round(constant(21.1, 50.0).mean_equilibrium, 1)
    9.2
    """
    warm = np.full(MONTHS, float(temperature))
    damp = np.full(MONTHS, float(relative_humidity))
    _check_figures(warm, damp)
    kept, notes = limited(damp, "months")
    return Room(
        months=tuple(range(1, MONTHS + 1)),
        temperature=warm,
        relative_humidity=kept,
        air=Air(np.zeros(1), warm[:1], kept[:1]),
        humidity_spread=HELD,
        method="given",
        notes=notes + beyond_sorption(warm),
    )


def from_months(temperature: ArrayLike, relative_humidity: ArrayLike) -> Room:
    """A room by the means of its twelve months, January first.

    Parameters
    ----------
    temperature, relative_humidity : array_like
        Shape (12,) [degC], [%].

    Raises
    ------
    ValueError
        Not twelve of each, or figures that no air has.
    """
    warm = np.asarray(temperature, dtype=np.float64)
    damp = np.asarray(relative_humidity, dtype=np.float64)
    if warm.shape != (MONTHS,) or damp.shape != (MONTHS,):
        raise ValueError("a year needs twelve temperatures and twelve relative humidities")
    _check_figures(warm, damp)
    kept, notes = limited(damp, "months")
    yearly, cut = year_air(warm, kept)
    return Room(
        months=tuple(range(1, MONTHS + 1)),
        temperature=warm,
        relative_humidity=kept,
        air=yearly,
        humidity_spread=HELD,
        method="given",
        notes=notes + cut + beyond_sorption(warm),
    )


def from_log(
    start: datetime.date,
    days: ArrayLike,
    temperature: ArrayLike,
    relative_humidity: ArrayLike,
    notes: tuple[Note, ...] = (),
) -> Room:
    """A room as a logger recorded it.

    Parameters
    ----------
    start : datetime.date or datetime.datetime
        When the first reading was taken; sorts the readings into months.
    days, temperature, relative_humidity : array_like
        Shape (readings,), at least two: time since the first reading or any other zero, strictly
        ascending [days], [degC], [%].
    notes : tuple of Note
        What was found in reading it.

    Returns
    -------
    Room
        Its air counts days from the first reading, runs straight between readings and is not
        known before the first or after the last: asking there raises `OutsideLog`.

    Raises
    ------
    ValueError
        Fewer than two readings, unequal lists, times that do not ascend, figures that no air has.
    """
    times = np.asarray(days, dtype=np.float64)
    warm = np.asarray(temperature, dtype=np.float64)
    damp = np.asarray(relative_humidity, dtype=np.float64)
    if times.ndim != 1 or times.size < 2 or not times.shape == warm.shape == damp.shape:
        raise ValueError("a log needs at least two readings and three lists of one length")
    _check_figures(warm, damp)
    kept, cut = limited(damp, "readings")
    logged = Air(times - times[0], warm, kept)
    months, warm_means, damp_means, share = _months_of_log(start, logged)
    return Room(
        months=months,
        temperature=warm_means,
        relative_humidity=damp_means,
        air=logged,
        humidity_spread=HELD,
        method=LOGGED,
        notes=(*notes, *cut, *_about_log(logged), *beyond_sorption(warm)),
        share=share,
        starts=(
            start
            if isinstance(start, datetime.datetime)
            else datetime.datetime.combine(start, datetime.time())
        ),
    )


def _months_of_log(
    start: datetime.date, logged: Air
) -> tuple[tuple[int, ...], Floats, Floats, Floats]:
    """The calendar months a log touches, their mean temperature, humidity and share of its time.

    January first when it touches all twelve, else in the order in which they come: a log over New
    Year runs from November to February.
    """
    span = float(logged.days[-1])
    # An hour apart, as a logger is usually set, but at least 200 points and at most 40 000.
    count = int(min(max(24.0 * span, 200.0), 40_000.0))
    middles = (np.arange(count) + 0.5) * (span / count)
    zero = np.datetime64(
        start.replace(tzinfo=None) if isinstance(start, datetime.datetime) else start, "s"
    )
    stamps = zero + (middles * _SECONDS_A_DAY).astype("timedelta64[s]")
    month = stamps.astype("datetime64[M]").astype(np.int64) % MONTHS + 1
    warm, damp = logged.at_days(middles)
    present, first, times = np.unique(month, return_index=True, return_counts=True)
    if present.size < MONTHS:
        order = np.argsort(first)
        present, times = present[order], times[order]
    return (
        tuple(int(number) for number in present),
        np.array([warm[month == number].mean() for number in present]),
        np.array([damp[month == number].mean() for number in present]),
        times / count,
    )


_LONG_GAP: Final = 2.0  # days without a reading that are told; a weekend (judgement)


def _about_log(logged: Air) -> tuple[Note, ...]:
    """What a log does not say."""
    gap = float(np.diff(logged.days).max())
    notes = [Note("log-ends", days=float(logged.days[-1]))]
    if gap > _LONG_GAP:
        notes.append(Note("log-gap", days=gap))
    return tuple(notes)
