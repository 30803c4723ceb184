"""The year in a room: temperature, relative humidity and the moisture content wood settles to.

A room is made from a place and a way of living (`from_climate`), from twelve months
(`from_months`), from one steady air (`constant`) or from a logger's series (`from_log`).  What
the solver reads is its `Air`; what a person reads is its `Room`.
"""

from __future__ import annotations

import calendar
import datetime
from bisect import bisect_right
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import air as moist
from model import sorption
from model.basis import Note
from model.climate import MONTHS, Outdoor

Floats = NDArray[np.float64]
Kind = Literal["room", "heated_shop", "shed", "outdoors_covered"]
Method = Literal["vapour_excess", "en_15026", "en_15026_high", "iso_13788", "moisture_balance"]
Occupied = Literal["no", "lightly", "normally", "crowded"]

YEAR: Final = 365.2425  # days; mean Gregorian year (definition)
MONTH: Final = YEAR / MONTHS  # days; the model's months are equal
POINTS_A_MONTH: Final = 30  # of the yearly table: about one a day, and one on each boundary

KINDS: Final[tuple[Kind, ...]] = ("room", "heated_shop", "shed", "outdoors_covered")
METHODS: Final[tuple[Method, ...]] = (
    "vapour_excess",
    "en_15026",
    "en_15026_high",
    "iso_13788",
    "moisture_balance",
)

# Vapour pressure of a room above the outdoor one when it is freezing outside [Pa]: midpoints of
# the humidity classes of ISO 13788, whose upper limits 270, 540, 810 Pa are design maxima (memory).
# 405 Pa against seven measured houses in Finland (tests/reference/test_rooms.py): bias -1.0 and
# rms 3.2 % RH over all days, but 8 to 10 points too dry on the days below -10 degC outdoors.
VAPOUR_EXCESS: Final[dict[Occupied, float]] = {
    "no": 0.0,
    "lightly": 135.0,
    "normally": 405.0,
    "crowded": 675.0,
}
EXCESS_FULL_UNTIL: Final = 0.0  # degC outdoors; shape of the classes of ISO 13788 (memory)
EXCESS_GONE_FROM: Final = 20.0  # degC outdoors; the same

# Sun, people and appliances in a room that is neither heated nor cooled [K]: judgement, between
# none in an open house and 4.2 in seven tight Finnish ones at 22 degC outside (measured; open data
# set trh-1 by A. Laukkarinen, CC BY 4.0).
FREE_GAIN: Final = 3.0
SHED_GAIN: Final = 1.0  # K; sun on a roof without heating (judgement)
DEFAULT_HEATING: Final = 20.0  # degC; usual indoor design temperature, taken when none is given

# A month is cooled all through when it would stand this far above the setting; nearer to it, only
# its warm days are, and it dries in proportion [K] (judgement: days scatter by about 3 K).
COOLED_THROUGH: Final = 3.0

# Humidity ratio of a cooled room without a dehumidifier, W = 0.004 + 0.4 W_outdoors [kg/kg]:
# TenWolde (memory, medium confidence).
COOLED_RATIO: Final = (0.004, 0.4)

# EN 15026 Annex C and ISO 13788 A.1 (memory): humidity = outdoor temperature + offset, within
# limits [% RH]; the temperature indoors rises 0.5 K per K from 20 degC at 10 to 25 at 20.
DESIGN_CURVES: Final[dict[Method, tuple[float, float, float]]] = {
    "en_15026": (40.0, 30.0, 60.0),
    "en_15026_high": (50.0, 40.0, 70.0),
    "iso_13788": (45.0, 35.0, 65.0),
}

# Design curve less measured humidity, mean over ten bins of outdoor temperature [points] (measured;
# the same data set).
_DESIGN_ABOVE_MEASURED: Final[dict[Method, int]] = {
    "en_15026": 4,
    "en_15026_high": 14,
    "iso_13788": 9,
}
_VERY_COLD: Final = -10.0  # degC outdoors; below, the vapour excess of measured houses is higher

LOWEST_HUMIDITY: Final = 1.0  # %; drier air is not met with (judgement)
HIGHEST_HUMIDITY: Final = 95.0  # %; above, water condenses and the sorption curve ends
HIGHEST_OF_DAY: Final = 98.0  # %; within a month of 95 % on average; the curve is not used above

# Standard deviation of relative humidity between rooms of one description [points].
# Houses: half the band p10-p90 of daily means at a given outdoor temperature averages 7.9 points
# over the ten bins of seven measured houses (the same data set); 7.9 / 1.2816 = 6.1. Differences
# between days are in it, so it is rather wide.
BETWEEN_HOUSES: Final = 6.1
BETWEEN_SHOPS: Final = 4.5  # no source of moisture known, but drying wood and people (judgement)
BETWEEN_SHEDS: Final = 4.0  # airing and a damp floor (judgement)
BETWEEN_YEARS: Final = 3.0  # outdoors, a month of one year against its mean (judgement)
HELD: Final = 3.0  # given, logged or held by a machine: error of a room hygrometer (judgement)

_SECONDS_A_DAY: Final = 86_400.0
_UNBOUND: Final = 1e6  # beyond any temperature or humidity


class OutsideLog(ValueError):  # noqa: N818 - read as what happened
    """A logged room was asked for a day before its first or after its last reading."""


def day_of(date: datetime.date) -> float:
    """Day number of a date in the model's year of twelve equal months.

    Parameters
    ----------
    date : datetime.date or datetime.datetime
        A date; the hours of a datetime count.

    Returns
    -------
    float
        Days since 1 January [days], 0 to `YEAR`.

    Examples
    --------
    >>> day_of(datetime.date(2024, 7, 1)) == YEAR / 2
    True
    """
    days = calendar.monthrange(date.year, date.month)[1]
    passed = date.day - 1.0
    if isinstance(date, datetime.datetime):
        passed += (date.hour + (date.minute + date.second / 60.0) / 60.0) / 24.0
    return MONTH * (date.month - 1 + passed / days)


def month_of(day: float) -> int:
    """Month, 1 to 12, of a day number of any year."""
    # 1e-9 of a month: the remainder of the first day of a later year may fall short by rounding.
    return int(day % YEAR / MONTH + 1e-9) % MONTHS + 1


@dataclass(frozen=True, slots=True, eq=False)
class Air:
    """Temperature and relative humidity against time, straight between its points.

    Attributes
    ----------
    days : ndarray
        Shape (points,), ascending [days].
    temperature, relative_humidity : ndarray
        Shape (points,) [degC], [%].
    period : float or None
        `YEAR` for a yearly table, whose points are evenly spaced from day 0; None for steady air
        (one point, good for any day) and for a log (good between its first and last point).
    """

    days: Floats
    temperature: Floats
    relative_humidity: Floats
    period: float | None = None
    # Plain lists beside the arrays: a solver asks `at` at every step, and an element of a list
    # comes in 30 ns against 100 for one of an array.
    _days: list[float] = field(init=False, repr=False)
    _temperature: list[float] = field(init=False, repr=False)
    _humidity: list[float] = field(init=False, repr=False)
    _rate: float = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Check the points and lay the lists."""
        days, temperature, humidity = (
            np.array(values, dtype=np.float64, ndmin=1)
            for values in (self.days, self.temperature, self.relative_humidity)
        )
        if not (days.ndim == 1 and days.shape == temperature.shape == humidity.shape and days.size):
            raise ValueError("days, temperature and relative humidity must be lists of one length")
        if not all(np.isfinite(values).all() for values in (days, temperature, humidity)):
            raise ValueError("every day, temperature and relative humidity must be finite")
        if np.any(np.diff(days) <= 0.0):
            raise ValueError("days must be strictly ascending")
        rate = 0.0
        if self.period is not None:
            rate = days.size / self.period
            if np.abs(days * rate - np.arange(days.size)).max() > 1e-6:
                raise ValueError("a periodic air needs evenly spaced points from day 0")
        # Two more points than the table: at the end of the period, and for a day that rounding
        # puts there.
        ends = 2 if self.period is not None else 0
        for name, value in (
            ("days", days),
            ("temperature", temperature),
            ("relative_humidity", humidity),
            ("_days", days.tolist()),
            ("_temperature", temperature.tolist() + temperature.tolist()[:1] * ends),
            ("_humidity", humidity.tolist() + humidity.tolist()[:1] * ends),
            ("_rate", rate),
        ):
            if isinstance(value, np.ndarray):
                value.flags.writeable = False
            object.__setattr__(self, name, value)

    def at(self, day: float) -> tuple[float, float]:
        """Temperature [degC] and relative humidity [%] at a day number.

        Raises
        ------
        OutsideLog
            Before the first or after the last reading of a log.
        """
        temperature, humidity = self._temperature, self._humidity
        if self.period is not None:
            place = float(day) % self.period * self._rate
            index = int(place)
            part = place - index
        elif len(temperature) == 1:
            return temperature[0], humidity[0]
        else:
            self._refuse_outside(day, day)
            days = self._days
            index = min(max(bisect_right(days, day) - 1, 0), len(days) - 2)
            part = min(max((day - days[index]) / (days[index + 1] - days[index]), 0.0), 1.0)
        warm, damp = temperature[index], humidity[index]
        return (
            warm + part * (temperature[index + 1] - warm),
            damp + part * (humidity[index + 1] - damp),
        )

    def at_days(self, days: ArrayLike) -> tuple[Floats, Floats]:
        """Temperature [degC] and relative humidity [%] at many day numbers, in their shape.

        Raises
        ------
        OutsideLog
            Before the first or after the last reading of a log.
        """
        asked = np.asarray(days, dtype=np.float64)
        if self.period is None and self.days.size > 1 and asked.size:
            self._refuse_outside(float(asked.min()), float(asked.max()))
        return (
            np.asarray(np.interp(asked, self.days, self.temperature, period=self.period)),
            np.asarray(np.interp(asked, self.days, self.relative_humidity, period=self.period)),
        )

    def _refuse_outside(self, first: float, last: float) -> None:
        """Refuse days outside a log; a tenth of a second is rounding."""
        if first < self._days[0] - 1e-6 or last > self._days[-1] + 1e-6:
            raise OutsideLog(
                f"the log runs from day {self._days[0]:g} to day {self._days[-1]:g} "
                f"and says nothing of day {first if first < self._days[0] else last:g}"
            )


@dataclass(frozen=True, slots=True)
class Extreme:
    """The driest or dampest month of a room, 1 to 12, and its equilibrium moisture [%]."""

    month: int
    moisture: float


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
        Standard deviation of relative humidity between rooms of this description [points].
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

    @property
    def equilibrium(self) -> Floats:
        """Equilibrium moisture of each month on the mean sorption curve [%]."""
        return sorption.equilibrium_moisture(self.temperature, self.relative_humidity)

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
            used += _FORMULAS_OF[self.method]
        if "cooling-dries" in codes:
            used.append("room-cooled")
        if self.air.period is not None:
            used.append("room-year")
        return (*used, "room-spread")


_FORMULAS_OF: Final[dict[str, tuple[str, ...]]] = {
    "vapour_excess": ("saturation-pressure", "room-temperature", "room-vapour-excess"),
    "moisture_balance": ("saturation-pressure", "room-temperature", "room-moisture-balance"),
    "heated_shop": ("saturation-pressure", "room-temperature"),
    "shed": ("saturation-pressure", "room-temperature"),
    "outdoors_covered": (),
    "en_15026": ("room-en-15026",),
    "en_15026_high": ("room-en-15026",),
    "iso_13788": ("room-iso-13788",),
}


@lru_cache(maxsize=1)
def _boundary_operator() -> Floats:
    """Matrix from twelve means to the values on the twelve boundaries before each month.

    The derivative of the periodic cubic spline through the running total is a parabola within each
    month; that its slope is continuous on the boundaries is b[-1] + 4 b + b[+1] = 3 (m[-1] + m).
    """
    one = np.eye(MONTHS)
    left = 4.0 * one + np.roll(one, 1, axis=1) + np.roll(one, -1, axis=1)
    right = 3.0 * (one + np.roll(one, 1, axis=0))
    return np.asarray(np.linalg.solve(left, right), dtype=np.float64)


def year_through(means: ArrayLike, low: float = -_UNBOUND, high: float = _UNBOUND) -> Floats:
    """Values through a year that keep the mean of each month.

    Parameters
    ----------
    means : array_like
        Shape (12,), each within `low` to `high`.
    low, high : float
        Bounds to stay in.  Kept wherever a parabola a month can; only where one month lies near
        one bound and the next near the other is a bound overstepped by a part of their difference.

    Returns
    -------
    ndarray
        Shape (12 * POINTS_A_MONTH,), values at evenly spaced points from the start of the year.
        Taken as straight between the points, the mean of each month is exactly the given one.

    Notes
    -----
    The derivative of the periodic cubic spline through the running total; its values on the
    boundaries are held where the parabola would leave the bounds (a parabola with mean m above 0
    stays above 0 when its ends are at most 3 m).
    """
    months = np.asarray(means, dtype=np.float64)
    before = np.roll(months, 1)
    most = np.minimum(low + 2.9 * (np.minimum(months, before) - low), high)
    least = np.maximum(high - 2.9 * (high - np.maximum(months, before)), low)
    apart = least > most
    middle = 0.5 * (least + most)
    start = np.clip(
        _boundary_operator() @ months,
        np.where(apart, middle, least),
        np.where(apart, middle, most),
    )
    end = np.roll(start, -1)
    part = np.arange(POINTS_A_MONTH) / POINTS_A_MONTH
    # The mean of the straight pieces under s (1 - s) is 1/6 (1 - 1/n^2).
    bulge = 6.0 / (1.0 - POINTS_A_MONTH**-2) * part * (1.0 - part)
    lift = months - 0.5 * (start + end)
    values = start[:, None] * (1.0 - part) + end[:, None] * part + lift[:, None] * bulge
    return values.reshape(-1)


def _year_air(
    temperature: Floats,
    humidity: Floats,
    warm: tuple[float, float] = (-_UNBOUND, _UNBOUND),
    damp: tuple[float, float] = (LOWEST_HUMIDITY, HIGHEST_OF_DAY),
) -> tuple[Air, tuple[Note, ...]]:
    """The yearly table through monthly means, and a note where the humidity had to be cut."""
    degrees = year_through(temperature, *warm)
    percent = year_through(humidity, *damp)
    kept: Floats = np.clip(percent, LOWEST_HUMIDITY, HIGHEST_OF_DAY)
    cut = float(np.abs((kept - percent).reshape(MONTHS, -1).mean(axis=1)).max())
    days = np.linspace(0.0, YEAR, degrees.size, endpoint=False)
    notes: tuple[Note, ...] = ()
    if cut > 1e-9:
        notes = (
            Note(
                "month-mean-cut",
                "The humidity changes so fast from one month to the next that the course through "
                f"the year was cut at {LOWEST_HUMIDITY:g} or {HIGHEST_OF_DAY:g} %: a month's mean "
                f"is moved by up to {cut:.2g} points.",
                source="derived",
            ),
        )
    return Air(days, degrees, kept, YEAR), notes


def _limited(humidity: Floats, what: str) -> tuple[Floats, tuple[Note, ...]]:
    """Humidity kept within what air over wood does, with a note when anything was cut."""
    kept = np.clip(humidity, LOWEST_HUMIDITY, HIGHEST_HUMIDITY)
    notes = []
    damp = humidity > HIGHEST_HUMIDITY
    if damp.any():
        notes.append(
            Note(
                "humidity-limited",
                f"{int(damp.sum())} of {humidity.size} {what} came out above "
                f"{HIGHEST_HUMIDITY:g} % relative humidity (up to {humidity.max():.0f} %): water "
                f"would condense there; {HIGHEST_HUMIDITY:g} % is used.",
                source="limit of the sorption curve, Wood Handbook FPL-GTR-190 eq. 4-5 (memory)",
            )
        )
    dry = humidity < LOWEST_HUMIDITY
    if dry.any():
        notes.append(
            Note(
                "humidity-limited",
                f"{int(dry.sum())} of {humidity.size} {what} came out below "
                f"{LOWEST_HUMIDITY:g} % relative humidity; {LOWEST_HUMIDITY:g} % is used.",
                source="judgement",
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


def _beyond_sorption(temperature: Floats) -> tuple[Note, ...]:
    """A note where the equilibrium is asked outside the temperatures of its curve."""
    low, high = sorption.VALID_TEMPERATURE
    if temperature.min() >= low and temperature.max() <= high:
        return ()
    ends = dict.fromkeys(
        moist.degrees(round(float(end))) for end in (temperature.min(), temperature.max())
    )
    return (
        Note(
            "sorption-extrapolated",
            f"Air of {' to '.join(ends)} goes beyond the sorption curve, {moist.degrees(low)} to "
            f"{moist.degrees(high)}: the equilibrium there is extrapolated"
            + (
                f", below {moist.degrees(sorption.COLDEST)} as at it."
                if temperature.min() < sorption.COLDEST
                else "."
            ),
            source="Wood Handbook FPL-GTR-190 eq. 4-5 (memory)",
        ),
    )


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
    kept, notes = _limited(damp, "months")
    return Room(
        months=tuple(range(1, MONTHS + 1)),
        temperature=warm,
        relative_humidity=kept,
        air=Air(np.zeros(1), warm[:1], kept[:1]),
        humidity_spread=HELD,
        method="given",
        notes=notes + _beyond_sorption(warm),
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
    kept, notes = _limited(damp, "months")
    yearly, cut = _year_air(warm, kept)
    return Room(
        months=tuple(range(1, MONTHS + 1)),
        temperature=warm,
        relative_humidity=kept,
        air=yearly,
        humidity_spread=HELD,
        method="given",
        notes=notes + cut + _beyond_sorption(warm),
    )


def from_log(
    start: datetime.date,
    days: ArrayLike,
    temperature: ArrayLike,
    relative_humidity: ArrayLike,
) -> Room:
    """A room as a logger recorded it.

    Parameters
    ----------
    start : datetime.date or datetime.datetime
        When the first reading was taken; sorts the readings into months.
    days, temperature, relative_humidity : array_like
        Shape (readings,), at least two: time since the first reading or any other zero, strictly
        ascending [days], [degC], [%].

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
    kept, notes = _limited(damp, "readings")
    logged = Air(times - times[0], warm, kept)
    months, warm_means, damp_means, share = _months_of_log(start, logged)
    return Room(
        months=months,
        temperature=warm_means,
        relative_humidity=damp_means,
        air=logged,
        humidity_spread=HELD,
        method="logged",
        notes=(*notes, *_about_log(logged), *_beyond_sorption(warm)),
        share=share,
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
    notes = [
        Note(
            "log-ends",
            f"The log covers {logged.days[-1]:.4g} days; nothing is assumed before or after it.",
        )
    ]
    if gap > _LONG_GAP:
        notes.append(
            Note(
                "log-gap",
                f"The longest time between two readings is {gap:.3g} days: the air is taken to "
                "change steadily in between.",
            )
        )
    return tuple(notes)


def from_climate(
    outdoor: Outdoor,
    *,
    heat_to: float | None = None,
    cool_to: float | None = None,
    occupied: Occupied | None = None,
    humidify_to: float | None = None,
    dehumidify_to: float | None = None,
    method: Method = "vapour_excess",
    kind: Kind = "room",
    generation: float | None = None,
    air_changes: float | None = None,
    volume: float | None = None,
) -> Room:
    """A room by its climate and the way it is lived in.

    Parameters
    ----------
    outdoor : Outdoor
        The outdoor year.
    heat_to, cool_to : float, optional
        What heating and cooling keep [degC]; a room or heated shop without `heat_to` is taken as
        heated to 20, with a note where that ever heats; without `cool_to` nothing cools.
    occupied : {"no", "lightly", "normally", "crowded"}, optional
        How much moisture people bring; normally when not given. For the vapour-excess method.
    humidify_to, dehumidify_to : float, optional
        Humidity that machines keep at least, at most [%].
    method : {"vapour_excess", "en_15026", "en_15026_high", "iso_13788", "moisture_balance"}
        How the humidity of a room is found.
    kind : {"room", "heated_shop", "shed", "outdoors_covered"}
        A heated shop has no source of moisture, a shed no heating, under cover outdoors the air is
        the outdoor air.
    generation, air_changes, volume : float, optional
        Water given off [kg/day], air changes [1/h] and volume [m3], for `moisture_balance`.

    Returns
    -------
    Room

    Raises
    ------
    ValueError
        Figures that contradict each other or that the kind or method has no use for.

    References
    ----------
    ISO 13788 humidity classes, EN 15026 Annex C, ISO 13788 A.1, TenWolde for cooled rooms (memory).

    Examples
    --------
    >>> from model import climate
    >>> reading_room = from_climate(climate.find("Duluth"), heat_to=21.1, cool_to=24.4)
    >>> reading_room.driest.month, round(reading_room.driest.moisture, 1)
    (1, 5.3)
    """
    balance = (generation, air_changes, volume)
    _check_living(heat_to, cool_to, occupied, humidify_to, dehumidify_to, method, kind, balance)
    notes: list[Note] = list(outdoor.notes)
    if kind in {"outdoors_covered", "shed"}:
        inside = _unheated(outdoor, kind)
    elif method in DESIGN_CURVES:
        inside = _designed(outdoor, method)
    else:
        if heat_to is None:
            heat_to = DEFAULT_HEATING if cool_to is None else min(DEFAULT_HEATING, cool_to)
            if outdoor.temperature.min() + FREE_GAIN < heat_to:
                notes.append(
                    Note(
                        "heating-assumed",
                        f"No heating was given: {moist.degrees(heat_to)} is assumed.",
                        source="usual indoor design temperature (common practice)",
                    )
                )
        inside = _conditioned(outdoor, heat_to, cool_to, dehumidify_to is not None)
        if occupied is None and kind == "room" and method == "vapour_excess":
            notes.append(_LIVED_IN)
        inside = _with_vapour(inside, outdoor, kind, method, occupied or "normally", balance)
    low = -_UNBOUND if humidify_to is None else humidify_to
    high = _UNBOUND if dehumidify_to is None else dehumidify_to
    held = (inside.humidity < low) | (inside.humidity > high)
    humidity, limited = _limited(np.clip(inside.humidity, low, high), "months")
    kept_within = (max(low, LOWEST_HUMIDITY), min(high, HIGHEST_OF_DAY))
    yearly, cut = _year_air(inside.temperature, humidity, inside.bounds, kept_within)
    return Room(
        months=tuple(range(1, MONTHS + 1)),
        temperature=inside.temperature,
        relative_humidity=humidity,
        air=yearly,
        humidity_spread=_spread(outdoor, inside, kind, held),
        method=inside.method,
        kind=kind,
        outdoor=outdoor,
        notes=(*notes, *inside.notes, *limited, *cut, *_beyond_sorption(inside.temperature)),
        attribution=outdoor.attribution,
    )


_LIVED_IN: Final = Note(
    "occupation-assumed",
    "Nothing is said of the people in it: taken as lived in normally, "
    f"{VAPOUR_EXCESS['normally']:g} Pa of vapour above outdoors while it freezes there. With "
    "nobody in it the room is drier.",
    source="midpoint of a humidity class of ISO 13788 (memory)",
)


@dataclass(frozen=True, slots=True, eq=False)
class _Inside:
    """A room's months before machines hold the humidity."""

    temperature: Floats
    humidity: Floats
    method: str
    between: float  # standard deviation of humidity between such rooms [points]
    bounds: tuple[float, float] = (-_UNBOUND, _UNBOUND)  # temperatures that are kept
    # Share of each month cooled without a dehumidifier.
    cooled: Floats = field(default_factory=lambda: np.zeros(MONTHS))
    notes: tuple[Note, ...] = ()


def _check_living(
    heat_to: float | None,
    cool_to: float | None,
    occupied: Occupied | None,
    humidify_to: float | None,
    dehumidify_to: float | None,
    method: Method,
    kind: Kind,
    balance: tuple[float | None, float | None, float | None],
) -> None:
    """Refuse a way of living that contradicts itself."""
    if kind not in KINDS or method not in METHODS:
        raise ValueError(f"kind is one of {', '.join(KINDS)}; method one of {', '.join(METHODS)}")
    if occupied is not None and occupied not in VAPOUR_EXCESS:
        raise ValueError(f"occupied is one of {', '.join(VAPOUR_EXCESS)}")
    given = {"heat_to": heat_to, "cool_to": cool_to}
    machines = {"humidify_to": humidify_to, "dehumidify_to": dehumidify_to}
    for names, low, high in ((given, -20.0, 60.0), (machines, LOWEST_HUMIDITY, HIGHEST_HUMIDITY)):
        for name, value in names.items():
            if value is not None and not low <= value <= high:
                raise ValueError(f"{name} must lie within {low:g} to {high:g}")
    if heat_to is not None and cool_to is not None and heat_to > cool_to:
        raise ValueError(
            f"heat_to must not be above cool_to: {moist.degrees(heat_to)} and "
            f"{moist.degrees(cool_to)} given"
        )
    if humidify_to is not None and dehumidify_to is not None and humidify_to > dehumidify_to:
        raise ValueError(
            f"humidify_to must not be above dehumidify_to: {humidify_to:g} and {dehumidify_to:g} % "
            "given"
        )
    idle = [name for name, value in (given | machines).items() if value is not None]
    if kind == "outdoors_covered" and idle:
        raise ValueError(f"nothing holds the air outdoors: {', '.join(idle)} has no use")
    if (kind == "shed" or method in DESIGN_CURVES) and (heat_to, cool_to) != (None, None):
        what = "a shed" if kind == "shed" else f"the method {method}"
        raise ValueError(f"{what} has a temperature of its own: heat_to, cool_to have no use")
    if kind != "room" and (method != "vapour_excess" or occupied is not None):
        raise ValueError(f"method and occupied are for rooms, not for the kind {kind}")
    if occupied is not None and method != "vapour_excess":
        raise ValueError(f"the method {method} has no use for occupied")
    _check_balance(method, balance)


def _check_balance(
    method: Method, balance: tuple[float | None, float | None, float | None]
) -> None:
    """The three figures of a moisture balance belong to it, and to it alone."""
    if method != "moisture_balance":
        if balance != (None, None, None):
            raise ValueError("generation, air_changes and volume are for moisture_balance")
        return
    wrong = [
        f"{name}, at least {low:g}"
        for name, value, low in zip(
            ("generation", "air_changes", "volume"), balance, (0.0, 0.01, 1.0), strict=True
        )
        if value is None or not low <= value < np.inf
    ]
    if wrong:
        raise ValueError(f"moisture_balance needs {' and '.join(wrong)}")


def _unheated(outdoor: Outdoor, kind: Kind) -> _Inside:
    """A shed, or outdoors under cover."""
    bias = Note(
        "outdoor-mean-bias",
        "Equilibrium outdoors from monthly means is about 1 % below the mean of hourly values: "
        "damp nights count for more than dry days.",
        source="computed from hourly weather files",
    )
    if kind == "outdoors_covered":
        return _Inside(
            outdoor.temperature, outdoor.relative_humidity, kind, BETWEEN_YEARS, notes=(bias,)
        )
    temperature = outdoor.temperature + SHED_GAIN
    humidity = np.asarray(moist.relative_humidity(temperature, outdoor.vapour_pressure))
    gain = Note(
        "shed-gain",
        f"A shed without heating is taken {moist.degrees(SHED_GAIN, difference=True)} warmer than "
        "outdoors, its vapour as outdoors.",
        source="judgement",
    )
    return _Inside(temperature, humidity, kind, BETWEEN_SHEDS, notes=(gain, bias))


def _designed(outdoor: Outdoor, method: Method) -> _Inside:
    """A room by a standard's design curve: humidity from the outdoor temperature alone."""
    offset, low, high = DESIGN_CURVES[method]
    warm = np.clip(20.0 + 0.5 * (outdoor.temperature - 10.0), 20.0, 25.0)
    damp = np.clip(offset + outdoor.temperature, low, high)
    note = Note(
        "design-curve",
        "This method is a design curve of outdoor temperature alone, on the damp side: seven "
        f"measured houses were {_DESIGN_ABOVE_MEASURED[method]} points of humidity drier on "
        "average. It keeps its own room temperature.",
        source="EN 15026 Annex C, ISO 13788 A.1 (memory); open data set trh-1 by A. Laukkarinen",
    )
    return _Inside(warm, damp, method, BETWEEN_HOUSES, notes=(note,))


def _conditioned(
    outdoor: Outdoor, heat_to: float, cool_to: float | None, dehumidified: bool
) -> _Inside:
    """Temperatures of a heated, perhaps cooled room; its humidity is filled in later."""
    free = outdoor.temperature + FREE_GAIN
    warm = np.maximum(free, heat_to)
    notes = []
    cooled = np.zeros(MONTHS)
    if cool_to is not None:
        cooled = np.clip((free - cool_to) / COOLED_THROUGH, 0.0, 1.0)
        warm = np.minimum(warm, cool_to)
    adrift = (free > heat_to) & (cooled == 0.0)
    if adrift.any():
        notes.append(
            Note(
                "free-gain",
                f"In {_count(adrift)} the room is neither heated nor cooled and taken "
                f"{moist.degrees(FREE_GAIN, difference=True)} warmer than outdoors (sun, people, "
                "appliances).",
                source="judgement between an open house (0) and measured ones (4)",
            )
        )
    if cooled.any() and not dehumidified:
        notes.append(
            Note(
                "cooling-dries",
                f"Cooled ({_count(cooled > 0.0)}), the vapour is taken as 4 g/kg + 0.4 of that "
                "outdoors, in proportion in months that stand less than "
                f"{moist.degrees(COOLED_THROUGH, difference=True)} above the setting without it; a "
                "machine that runs short spells dries less.",
                source="TenWolde (memory, medium confidence)",
            )
        )
    return _Inside(
        temperature=warm,
        humidity=np.zeros(MONTHS),
        method="",
        between=BETWEEN_HOUSES,
        bounds=(heat_to, _UNBOUND if cool_to is None else cool_to),
        cooled=np.zeros(MONTHS) if dehumidified else cooled,
        notes=tuple(notes),
    )


def _about_cold(outdoor: Outdoor, occupied: Occupied) -> tuple[Note, ...]:
    """A note where the vapour-excess rule is known to be dry."""
    if occupied == "no" or outdoor.temperature.min() >= _VERY_COLD:
        return ()
    return (
        Note(
            "very-cold-months",
            f"In months below {moist.degrees(_VERY_COLD)} outdoors the rule is rather dry: seven "
            "measured houses, tight and lived in, stood 8 to 10 points of humidity above it.",
            source="open data set trh-1 by A. Laukkarinen, CC BY 4.0",
        ),
    )


def _count(months: NDArray[np.bool_]) -> str:
    """How many months, in words."""
    count = int(months.sum())
    return f"{count} month" if count == 1 else f"{count} months"


def _with_vapour(
    inside: _Inside,
    outdoor: Outdoor,
    kind: Kind,
    method: Method,
    occupied: Occupied,
    balance: tuple[float | None, float | None, float | None],
) -> _Inside:
    """The same room with its humidity, from the outdoor vapour and what is added inside."""
    outside = outdoor.vapour_pressure
    if kind == "heated_shop":
        pressure, between = outside, BETWEEN_SHOPS
    elif method == "moisture_balance":
        pressure, between = outside + balance_excess(inside.temperature, *balance), BETWEEN_HOUSES
    else:
        pressure = outside + vapour_excess(outdoor.temperature, occupied)
        between = BETWEEN_HOUSES
        inside = replace(inside, notes=inside.notes + _about_cold(outdoor, occupied))
    cooled = _cooled_pressure(outside, outdoor.elevation or 0.0)
    if kind == "heated_shop":
        cooled = np.minimum(cooled, outside)  # nothing in it gives off vapour
    pressure = pressure + inside.cooled * (cooled - pressure)
    return replace(
        inside,
        humidity=np.asarray(moist.relative_humidity(inside.temperature, pressure)),
        method=kind if kind == "heated_shop" else method,
        between=between,
    )


def vapour_excess(outdoor_temperature: ArrayLike, occupied: Occupied = "normally") -> Floats:
    """Vapour pressure indoors above outdoors [Pa] at a monthly outdoor temperature [degC].

    Examples
    --------
    >>> vapour_excess([-10.0, 10.0, 25.0]).tolist()
    [405.0, 202.5, 0.0]
    """
    outside = np.asarray(outdoor_temperature, dtype=np.float64)
    part = (EXCESS_GONE_FROM - outside) / (EXCESS_GONE_FROM - EXCESS_FULL_UNTIL)
    result: Floats = VAPOUR_EXCESS[occupied] * np.clip(part, 0.0, 1.0)
    return result


def balance_excess(
    temperature: ArrayLike,
    generation: float | None,
    air_changes: float | None,
    volume: float | None,
) -> Floats:
    """Vapour pressure that water given off adds to a room's air [Pa].

    Parameters
    ----------
    temperature : array_like
        Of the room [degC].
    generation, air_changes, volume : float
        Water given off [kg/day], air changes [1/h], volume [m3].

    Examples
    --------
    >>> round(float(balance_excess(20.0, 6.0, 0.5, 250.0)))
    271
    """
    if generation is None or air_changes is None or volume is None:
        raise ValueError("moisture_balance needs generation, air_changes and volume")
    concentration = generation / (24.0 * air_changes * volume)  # kg of water per m3 of air
    kelvin = np.asarray(temperature, dtype=np.float64) + moist.ZERO_CELSIUS
    result: Floats = moist.WATER_GAS_CONSTANT * kelvin * concentration
    return result


def _cooled_pressure(outside: Floats, elevation: float) -> Floats:
    """Vapour pressure [Pa] of a cooled room without a dehumidifier."""
    # Pressure of the standard atmosphere (ISO 2533).
    total = moist.STANDARD_PRESSURE * (1.0 - 2.25577e-5 * elevation) ** 5.25588
    constant_part, share = COOLED_RATIO
    ratio = constant_part + share * moist.humidity_ratio(outside, total)
    return moist.pressure_of_ratio(ratio, total)


def _spread(outdoor: Outdoor, inside: _Inside, kind: Kind, held: NDArray[np.bool_]) -> float:
    """Standard deviation of humidity between rooms of this description [points], over the year."""
    place = outdoor.humidity_error
    if inside.method in DESIGN_CURVES:
        place = 0.0  # a curve of temperature alone
    elif kind == "outdoors_covered":
        # % of moisture over the curve's slope gives points of humidity.
        damp = np.minimum(inside.humidity, HIGHEST_HUMIDITY)
        slope = sorption.slope(inside.temperature, damp)
        place = outdoor.equilibrium_error / float(np.mean(slope))
    free = float(np.hypot(inside.between, place))
    return float(np.sqrt(np.mean(np.where(held, HELD, free) ** 2)))
