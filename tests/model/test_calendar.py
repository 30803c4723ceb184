"""Days of the model's year of twelve equal months, by hand."""

from __future__ import annotations

import datetime

import pytest

from model.surroundings.calendar import MONTH, YEAR, day_of, month_of


def test_the_hours_of_a_day_count() -> None:
    # A month is 365.2425/12 = 30.436875 days; the middle of January is half of it.
    assert day_of(datetime.datetime(2024, 1, 16, 12)) == pytest.approx(15.2184375)
    midnight = day_of(datetime.date(2023, 3, 1))
    for later, hours in (
        (datetime.datetime(2023, 3, 1, 6), 6.0),
        (datetime.datetime(2023, 3, 1, 0, 30), 0.5),
        (datetime.datetime(2023, 3, 1, 0, 0, 36), 0.01),
        (datetime.datetime(2023, 3, 1, 23, 59, 24), 23.99),
    ):
        assert day_of(later) - midnight == pytest.approx(30.436875 / 31.0 * hours / 24.0)


@pytest.mark.parametrize("year", [0, 1, 7, 40])
def test_each_month_begins_where_the_one_before_ends(year: int) -> None:
    for month in range(12):
        begins = year * YEAR + month * MONTH
        assert month_of(begins) == month + 1
        assert month_of(begins + 0.999 * MONTH) == month + 1


def test_days_by_hand() -> None:
    assert day_of(datetime.date(2024, 1, 1)) == 0.0
    # 14 of 29 days of the second month.
    assert day_of(datetime.date(2024, 2, 15)) == pytest.approx(MONTH * (1.0 + 14.0 / 29.0))
    assert day_of(datetime.date(2023, 2, 15)) == pytest.approx(MONTH * 1.5)
    assert month_of(-1.0) == 12
    assert month_of(YEAR - 1e-12) == 1  # what rounding leaves of a year
    assert month_of(YEAR - 1e-6) == 12
