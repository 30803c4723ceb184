"""A logger's record that covers a year, as the year of a room."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.codes import Note
from model.surroundings.air_series import POINTS_A_MONTH, Air
from model.surroundings.calendar import MONTHS, YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]

COVERS: Final = 350.0  # days from the first to the last reading that pass for a year (judgement)
LONGEST_GAP: Final = 14.0  # days without a reading that are bridged (judgement)
_POINTS: Final = MONTHS * POINTS_A_MONTH
_HOURLY: Final = 24.0  # samples a day
_SECONDS_A_DAY: Final = 86_400.0


def covers_a_year(room: Room) -> bool:
    """Whether a room is a log of 350 days or more without a gap above 14 days."""
    if not room.is_log:
        return False
    days = room.air.days
    return bool(days[-1] >= COVERS and np.diff(days).max() <= LONGEST_GAP)


def as_year(room: Room) -> Room:
    """The year of a room whose log covers one.

    Parameters
    ----------
    room : Room
        A log for which `covers_a_year` holds.

    Returns
    -------
    Room
        Its air goes round with the year: the log's mean on each of 360 days of the model's year,
        over all years that it holds; days it does not touch lie straight between those beside them.

    Raises
    ------
    ValueError
        The room is not such a log.
    """
    if not covers_a_year(room) or room.starts is None:
        raise ValueError("only a log that covers a year serves as one")
    logged = room.air
    span = float(logged.days[-1])
    count = int(_HOURLY * span)
    middles = (np.arange(count) + 0.5) * (span / count)
    zero = np.datetime64(room.starts.replace(tzinfo=None), "s")
    stamps = zero + (middles * _SECONDS_A_DAY).astype("timedelta64[s]")
    month = stamps.astype("datetime64[M]")
    length = (month + 1).astype("datetime64[D]") - month.astype("datetime64[D]")
    passed = (stamps - month.astype("datetime64[s]")).astype(np.float64) / _SECONDS_A_DAY
    share = passed / length.astype(np.float64)
    # Points lie on the beginnings of their days, and stand for half a day on either side.
    place = (month.astype(np.int64) % MONTHS + share) * POINTS_A_MONTH
    point = np.round(place).astype(np.int64) % _POINTS
    warm, damp = logged.at_days(middles)
    held = np.bincount(point, minlength=_POINTS)
    known = np.flatnonzero(held)
    temperature, humidity = (
        np.interp(
            np.arange(_POINTS),
            known,
            np.bincount(point, figures, _POINTS)[known] / held[known],
            period=_POINTS,
        )
        for figures in (warm, damp)
    )
    month_of_point = np.arange(_POINTS) // POINTS_A_MONTH
    note = Note("log-year", days=span)
    kept = tuple(one for one in room.notes if one.code != "log-ends")
    return replace(
        room,
        months=tuple(range(1, MONTHS + 1)),
        temperature=_monthly(temperature, month_of_point),
        relative_humidity=_monthly(humidity, month_of_point),
        air=Air(np.linspace(0.0, YEAR, _POINTS, endpoint=False), temperature, humidity, YEAR),
        method="given",
        notes=(*kept, note),
        share=None,
        starts=None,
    )


def _monthly(values: Floats, month: NDArray[np.int64]) -> Floats:
    """Means of the twelve months, of a table taken as straight between its points."""
    middles = 0.5 * (values + np.roll(values, -1))
    return np.asarray(np.bincount(month, middles, MONTHS) / POINTS_A_MONTH)
