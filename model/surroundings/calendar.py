"""The model's calendar: days counted from 1 January of a year of twelve equal months."""

from __future__ import annotations

import calendar
import datetime
from typing import Final

MONTHS: Final = 12
YEAR: Final = 365.2425  # days; mean Gregorian year (definition)
MONTH: Final = YEAR / MONTHS  # days; the model's months are equal


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
