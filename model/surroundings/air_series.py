"""Air through time: temperature and relative humidity by day, a year that keeps monthly means.

A year comes round, steady air is good for any day, a log is known between its first and last
reading only.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.surroundings.calendar import MONTHS

Floats = NDArray[np.float64]


POINTS_A_MONTH: Final = 30  # of the yearly table: about one a day, and one on each boundary
UNBOUND: Final = 1e6  # beyond any temperature or humidity


class OutsideLog(ValueError):  # noqa: N818 - read as what happened
    """A logged room was asked for a day before its first or after its last reading."""


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
    outdoors : ndarray or None
        Shape (points,), temperature outdoors at the same points [degC]; None where no climate is
        known.
    """

    days: Floats
    temperature: Floats
    relative_humidity: Floats
    period: float | None = None
    outdoors: Floats | None = None
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
        if self.outdoors is not None and np.shape(self.outdoors) != days.shape:
            raise ValueError("temperatures outdoors must be as many as days")
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

    def thinned(self, most: int) -> tuple[Floats, Floats, Floats]:
        """Days, temperature and humidity; more points than `most` are averaged over neighbours."""
        record = (self.days, self.temperature, self.relative_humidity)
        if self.days.size <= most:
            return record
        days, warm, humidity = (
            np.array([part.mean() for part in np.array_split(values, most)]) for values in record
        )
        return days, warm, humidity

    def _refuse_outside(self, first: float, last: float) -> None:
        """Refuse days outside a log; a tenth of a second is rounding."""
        if first < self._days[0] - 1e-6 or last > self._days[-1] + 1e-6:
            raise OutsideLog(
                f"the log runs from day {self._days[0]:g} to day {self._days[-1]:g} "
                f"and says nothing of day {first if first < self._days[0] else last:g}"
            )


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


def year_through(means: ArrayLike, low: float = -UNBOUND, high: float = UNBOUND) -> Floats:
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
