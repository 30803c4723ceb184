"""A log that covers a year, as the year of a room."""

from __future__ import annotations

import datetime

import numpy as np
import pytest

from model.surroundings import calendar, room
from model.surroundings.logged import as_year, covers_a_year

BEGUN = datetime.datetime(2025, 5, 17, 6, tzinfo=datetime.UTC)


def log_of(days: np.ndarray, cycle: float = 10.0) -> room.Room:
    """A log whose humidity follows the model's calendar, so that its year is known exactly."""
    moments = [BEGUN + datetime.timedelta(days=float(day)) for day in days]
    phase = 2.0 * np.pi * np.array([calendar.day_of(one) for one in moments]) / calendar.YEAR
    return room.from_log(BEGUN, days, 20.0 - np.cos(phase), 45.0 - cycle * np.cos(phase))


def test_the_year_of_a_log_is_what_it_recorded_by_day_of_the_year() -> None:
    made = as_year(log_of(np.arange(0.0, 365.0, 0.25)))
    assert made.has_seasons
    assert not made.is_log
    day = np.linspace(0.0, calendar.YEAR, 200)
    warm, damp = made.air.at_days(day)
    phase = 2.0 * np.pi * day / calendar.YEAR
    # A day's mean of a wave of a year is its middle to 1e-5; the day bins of unequal months shift
    # it by half a day at most: 10 x 2 pi / 730 = 0.09.
    assert warm == pytest.approx(20.0 - np.cos(phase), abs=0.01)
    assert damp == pytest.approx(45.0 - 10.0 * np.cos(phase), abs=0.09)
    months = made.air.relative_humidity.reshape(12, -1)
    assert made.relative_humidity == pytest.approx(months.mean(axis=1), abs=0.1)
    assert made.months == tuple(range(1, 13))


def test_two_years_are_averaged() -> None:
    days = np.arange(0.0, 730.0, 0.25)
    first = log_of(days)
    humidity = first.air.relative_humidity + np.where(days < 365.0, 0.0, 2.0)
    both = room.from_log(BEGUN, days, first.air.temperature, humidity)
    one, two = as_year(first), as_year(both)
    shift = two.air.relative_humidity - one.air.relative_humidity
    assert np.median(shift) == pytest.approx(1.0, abs=0.02)
    assert shift.min() > 0.9
    assert shift.max() < 1.1


@pytest.mark.parametrize(
    ("days", "covers"),
    [
        (np.arange(0.0, 350.1, 0.5), True),
        (np.arange(0.0, 349.9, 0.5), False),
        (np.r_[np.arange(0.0, 100.0, 0.5), np.arange(113.4, 360.0, 0.5)], True),
        (np.r_[np.arange(0.0, 100.0, 0.5), np.arange(113.6, 360.0, 0.5)], False),
    ],
)
def test_what_covers_a_year(days: np.ndarray, covers: bool) -> None:
    made = log_of(days)
    assert covers_a_year(made) is covers
    if covers:
        assert as_year(made).air.period == calendar.YEAR
    else:
        with pytest.raises(ValueError, match="covers a year"):
            as_year(made)


def test_days_that_the_log_does_not_touch_lie_between_those_beside_them() -> None:
    made = as_year(log_of(np.arange(0.0, 351.0, 0.5)))
    step = np.diff(np.r_[made.air.relative_humidity, made.air.relative_humidity[:1]])
    assert np.abs(step).max() < 0.3  # the wave's steepest day is 0.17


def test_air_of_months_is_no_log() -> None:
    assert not covers_a_year(room.constant(20.0, 45.0))


def test_a_log_of_its_own_zone_and_zero_is_sorted_by_its_own_clock() -> None:
    # 20 % in the first half of each day of a constant month, by the clock of the logger.
    begun = datetime.datetime(2025, 1, 1, tzinfo=datetime.timezone(datetime.timedelta(hours=9)))
    days = np.arange(0.0, 365.01, 0.125)
    damp = np.where(days < 31.0, 30.0, 60.0)
    made = as_year(room.from_log(begun, days, np.full(days.size, 20.0), damp))
    year = made.air.relative_humidity.reshape(12, 30)
    assert year[0, 2:29] == pytest.approx(np.full(27, 30.0))
    assert year[1:, 2:] == pytest.approx(np.full((11, 28), 60.0), abs=1e-9)
    # Points stand for half a day on either side: the first of February holds half of both.
    assert year[1, 0] == pytest.approx(45.0, abs=1.5)
    assert made.relative_humidity[1:11] == pytest.approx(np.full(10, 60.0), abs=0.5)


def test_what_a_year_of_a_log_says() -> None:
    log = log_of(np.arange(0.0, 360.0, 0.5))
    made = as_year(log)
    assert [note.code for note in made.notes][-1] == "log-year"
    assert made.notes[-1].figures == {"days": 359.5}
    assert "log-ends" not in {note.code for note in made.notes}
    assert (made.method, made.share, made.starts) == ("given", None, None)
    assert made.air.days[1] == pytest.approx(calendar.YEAR / 360.0)
    # A month's mean is that of its days, straight between them.
    closed = np.append(made.air.temperature, made.air.temperature[0])
    means = (0.5 * (closed[1:] + closed[:-1])).reshape(12, 30).mean(axis=1)
    assert made.temperature == pytest.approx(means)
