"""A logger's table as it comes out of the logger: csv text with a head, local times, blanks.

Read are: commas, semicolons or tabs between the columns; lines before the head; date and time in
one column or in two; ISO dates, `15.01.2026`, `01/15/2026` and `15/01/2026` with 12 or 24 hours;
decimal points or commas; degrees Celsius or Fahrenheit as the head says; rows without a reading.
"""

from __future__ import annotations

import csv
import datetime
import io
import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from api import limits

Floats = NDArray[np.float64]

_TEMPERATURE: Final = re.compile(r"temp|°\s*[cf]\b|celsius|fahrenheit", re.IGNORECASE)
_HUMIDITY: Final = re.compile(
    r"humid|feuchte|\brh\b|%\s*rh|\br\.?h\.?|humedad|umidit|fukt|kosteus|vochtigheid|wilgotno",
    re.IGNORECASE,
)
_OTHER: Final = re.compile(r"dew|taupunkt|ros[ée]e|roc[ií]o|rugiada|wet.?bulb|absol", re.IGNORECASE)
_DAY: Final = re.compile(r"\bdate|datum|fecha|\bdata\b|\bday\b|päivä|dato", re.IGNORECASE)
_HOUR: Final = re.compile(r"time|zeit|heure|hora\b|\bora\b|tijd|klo\b|\btid\b", re.IGNORECASE)
_FAHRENHEIT: Final = re.compile(
    r"°\s*F\b|\bdeg\.?\s*F\b|[\[(_]\s*F\s*[\])]?|fahrenheit|ºF|\bF$", re.I
)
_CELSIUS: Final = re.compile(r"°\s*C\b|\bdeg\.?\s*C\b|[\[(_]\s*C\s*[\])]?|celsius|ºC|℃|\bC$", re.I)
_OFFSET: Final = re.compile(r"(?:GMT|UTC)\s*([+-])?\s*(\d{1,2})?:?(\d\d)?", re.IGNORECASE)
_STAMP: Final = re.compile(
    r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})(?:[T ,]+(\d{1,2})[:.](\d\d)(?:[:.](\d\d)(?:[.,]\d+)?)?"
    r"\s*+([ap])?\.?(?:m\.?)?\s*+(z|[+-]\d\d:?\d\d)?)?",
    re.IGNORECASE,
)
_BLANK: Final = frozenset({"", "-", "--", "---", "n/a", "na", "nan", "null", "none", "#n/a"})
# A number, with its unit behind it or not.
_FIGURE: Final = re.compile(
    r"([+-]?\d+(?:\.\d*)?|[+-]?\.\d+)\s*+(?:%(?:\s*+rh)?|°?\s*+[cf])?", re.IGNORECASE
)
_HEAD_WITHIN: Final = 60  # lines in which the head must stand (judgement)
_LINE: Final = 10_000  # characters of a line: a hundred columns and a title of each (judgement)


class Unreadable(ValueError):  # noqa: N818 - read as what happened
    """A table that cannot be read; every fault with its line."""

    def __init__(self, *faults: str) -> None:
        self.faults = list(faults)
        super().__init__("; ".join(faults))


@dataclass(frozen=True, slots=True)
class LoggerTable:
    """What a logger wrote.

    times : of the readings, ascending; temperature, relative_humidity : [degC], [%]; blanks : rows
    without a reading; zoned : whether table or caller told the time zone; standing : whether its
    clock ran on through an hour that the zone leaves out in spring, and was read as standard time.
    """

    times: list[datetime.datetime]
    temperature: Floats
    relative_humidity: Floats
    blanks: int
    zoned: bool
    standing: bool = False


@dataclass(frozen=True, slots=True)
class _Head:
    """Which column is which, and what the head says of it."""

    line: int
    day: int
    hour: int | None
    temperature: int
    humidity: int
    fahrenheit: bool
    offset: datetime.tzinfo | None


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    stamp: str
    temperature: str
    humidity: str


def read(text: str, zone: ZoneInfo | None = None) -> LoggerTable:
    """The readings of a logger's csv text.

    Parameters
    ----------
    text : str
        The whole file.
    zone : ZoneInfo, optional
        Where its clock stands, for times without an offset of their own. Without it they are taken
        as they stand.

    Raises
    ------
    Unreadable
        No head that names time, temperature and humidity; no unit of temperature; dates that may
        be read in two ways; cells that are no numbers; times that do not ascend.
    """
    lines = text.lstrip("\ufeff").splitlines()
    delimiter = _delimiter(lines)
    cells = _cells(lines, delimiter)
    head = _head(cells)
    rows, blanks = _rows(cells, head)
    if len(rows) < 2:
        raise Unreadable(f"{len(rows)} readings under the head; a log needs at least two")
    if len(rows) > limits.LOG_LENGTH:
        raise Unreadable(f"{len(rows):,} readings given; up to {limits.LOG_LENGTH:,} are read")
    faults: list[str] = []
    comma = delimiter != ","
    warm = _numbers(rows, "temperature", comma, faults)
    damp = _numbers(rows, "humidity", comma, faults)
    times, zoned, standing = _times(rows, head.offset or zone, faults)
    if faults:
        raise Unreadable(*faults[: limits.FAULTS])
    if times[0] > times[-1]:  # the newest first
        times.reverse()
        warm, damp = warm[::-1], damp[::-1]
    _refuse_unordered(rows, times, zoned)
    if head.fahrenheit:
        warm = (warm - 32.0) / 1.8
    return LoggerTable(times, warm, damp, blanks, zoned, standing)


def _cells(lines: Sequence[str], delimiter: str) -> list[list[str]]:
    for line, text in enumerate(lines, start=1):
        if len(text) > _LINE:
            raise Unreadable(f"line {line} has {len(text):,} characters; up to {_LINE:,} are read")
    table = csv.reader(io.StringIO("\n".join(lines)), delimiter=delimiter)
    try:
        return list(table)
    except csv.Error:
        raise Unreadable(f"line {table.line_num}: a quotation mark opens and none closes") from None


def _delimiter(lines: Sequence[str]) -> str:
    """What parts the columns: what parts the line of the head into the most."""
    for line in lines[:_HEAD_WITHIN]:
        if _TEMPERATURE.search(line) and _HUMIDITY.search(line):
            return max(("\t", ";", ","), key=line.count)
    raise Unreadable(_NO_HEAD)


_NO_HEAD: Final = (
    "no line names a temperature and a humidity; give the head of the table, such as "
    "`time,temperature (°C),relative humidity (%)`"
)


def _head(cells: Sequence[Sequence[str]]) -> _Head:
    for line, row in enumerate(cells[:_HEAD_WITHIN], start=1):
        warm = [i for i, cell in enumerate(row) if _named(cell, _TEMPERATURE) and "%" not in cell]
        damp = [i for i, cell in enumerate(row) if _named(cell, _HUMIDITY) and i not in warm]
        if not (warm and damp):
            continue
        for what, columns in (("temperature", warm), ("humidity", damp)):
            if len(columns) > 1:
                told = " and ".join(f"`{row[i].strip()}`" for i in columns[:3])
                raise Unreadable(f"line {line}: {told} both name a {what}; leave one in")
        taken = {warm[0], damp[0]}
        day = [i for i, cell in enumerate(row) if i not in taken and _DAY.search(cell)]
        hour = [i for i, cell in enumerate(row) if i not in taken and _HOUR.search(cell)]
        if not (day or hour):
            raise Unreadable(f"line {line}: no column is called date or time")
        first = (day or hour)[0]
        second = next((i for i in hour if i != first), None) if day else None
        told_unit = row[warm[0]].strip()
        fahrenheit, celsius = (bool(one.search(told_unit)) for one in (_FAHRENHEIT, _CELSIUS))
        if fahrenheit == celsius:
            raise Unreadable(
                f"line {line}: `{told_unit}` names no unit; write `temperature (°C)` or "
                "`temperature (°F)`"
            )
        return _Head(
            line, first, second, warm[0], damp[0], fahrenheit, _offset(row[first], row, second)
        )
    raise Unreadable(_NO_HEAD)


def _named(cell: str, pattern: re.Pattern[str]) -> bool:
    return bool(pattern.search(cell)) and not _OTHER.search(cell)


def _offset(cell: str, row: Sequence[str], second: int | None) -> datetime.tzinfo | None:
    """The offset from UTC that the head of the time tells, `Date Time, GMT-06:00`."""
    found = _OFFSET.search(cell) or (_OFFSET.search(row[second]) if second is not None else None)
    if found is None:
        return None
    sign, hours, minutes = found.groups()
    away = datetime.timedelta(hours=int(hours or 0), minutes=int(minutes or 0))
    return datetime.timezone(-away if sign == "-" else away)


def _rows(cells: Sequence[Sequence[str]], head: _Head) -> tuple[list[_Row], int]:
    """Rows with both readings, and the number of rows without."""
    rows: list[_Row] = []
    blanks = 0
    for line, row in enumerate(cells[head.line :], start=head.line + 1):
        if not any(cell.strip() for cell in row):
            continue
        warm, damp = _cell(row, head.temperature), _cell(row, head.humidity)
        if warm.casefold() in _BLANK or damp.casefold() in _BLANK:
            blanks += 1
            continue
        stamp = _cell(row, head.day)
        if head.hour is not None:
            stamp = f"{stamp} {_cell(row, head.hour)}"
        rows.append(_Row(line, stamp, warm, damp))
    return rows, blanks


def _cell(row: Sequence[str], column: int) -> str:
    """What stands in a column; nothing where the row ends before it."""
    return row[column].strip() if column < len(row) else ""


def _numbers(rows: Sequence[_Row], what: str, comma: bool, faults: list[str]) -> Floats:
    """Figures of a column; a cell that is none becomes a fault."""
    found = np.empty(len(rows))
    for index, row in enumerate(rows):
        cell: str = getattr(row, what)
        plain = cell.replace(",", ".") if comma else cell
        figure = _FIGURE.fullmatch(plain)
        if figure is None:
            faults.append(f"line {row.line}: {what} `{cell[:20]}` is no number")
        found[index] = np.nan if figure is None else float(figure[1])
    return found


def _times(
    rows: Sequence[_Row], zone: datetime.tzinfo | None, faults: list[str]
) -> tuple[list[datetime.datetime], bool, bool]:
    """Times of the rows in UTC where a zone is known, whether one is, and `standing`."""
    parts = [_STAMP.fullmatch(row.stamp) for row in rows]
    for row, part in zip(rows, parts, strict=True):
        if part is None:
            faults.append(f"line {row.line}: `{row.stamp[:30]}` is no date and time")
    read_as = [part for part in parts if part is not None]
    if faults or not read_as:
        return [], False, False
    day_first = _day_first(read_as)
    moments: list[datetime.datetime] = []
    for row, part in zip(rows, read_as, strict=True):
        try:
            moments.append(_moment(part, day_first))
        except ValueError:
            faults.append(f"line {row.line}: there is no `{row.stamp[:30]}`")
    zoned, standing = zone is not None, False
    if isinstance(zone, ZoneInfo):
        left_out = next((one for one in moments if _is_left_out(one, zone)), None)
        if left_out is not None:
            standing, zone = True, _standard(left_out, zone)
    times: list[datetime.datetime] = []
    for one in moments:
        moment = one
        if one.tzinfo is not None:
            zoned = True
            moment = one.astimezone(datetime.UTC)
        elif zone is not None:
            moment = in_utc(one, zone, times)
        times.append(moment)
    if len({moment.tzinfo is None for moment in times}) > 1:
        faults.append("some times tell their offset from UTC and others do not; give a timezone")
    return times, zoned, standing


def _is_left_out(moment: datetime.datetime, zone: ZoneInfo) -> bool:
    """Whether a local time lies in the hour that a zone leaves out in spring."""
    if moment.tzinfo is not None:
        return False
    there = moment.replace(tzinfo=zone).astimezone(datetime.UTC).astimezone(zone)
    return there.replace(tzinfo=None) != moment


def _standard(moment: datetime.datetime, zone: ZoneInfo) -> datetime.timezone:
    """Standard time of a zone in a year."""
    january = moment.replace(month=1, day=1, tzinfo=zone)
    offset, summer = january.utcoffset(), january.dst()
    none = datetime.timedelta()
    return datetime.timezone((offset or none) - (summer or none))


def in_utc(
    moment: datetime.datetime, zone: datetime.tzinfo, before: Sequence[datetime.datetime]
) -> datetime.datetime:
    """A local time in UTC; in the hour that comes twice, the one after the reading before."""
    first = moment.replace(tzinfo=zone).astimezone(datetime.UTC)
    if before and first <= before[-1]:
        second = moment.replace(tzinfo=zone, fold=1).astimezone(datetime.UTC)
        return second if second > before[-1] else first
    return first


def _moment(part: re.Match[str], day_first: bool) -> datetime.datetime:
    one, two, three, hour, minute, second, half, offset = part.groups()
    if len(one) == 4:
        year, month, day = int(one), int(two), int(three)
    else:
        year = int(three) + (2000 if len(three) <= 2 else 0)
        day, month = (int(one), int(two)) if day_first else (int(two), int(one))
    clock = int(hour or 0)
    if half:
        if not 1 <= clock <= 12:
            raise ValueError
        clock = clock % 12 + (12 if half in "pP" else 0)
    midnight = clock == 24
    made = datetime.datetime(year, month, day, 0 if midnight else clock, int(minute or 0))
    made = made.replace(second=int(second or 0))
    if midnight:
        made += datetime.timedelta(days=1)
    if offset is None:
        return made
    if offset in "zZ":
        return made.replace(tzinfo=datetime.UTC)
    away = datetime.timedelta(hours=int(offset[1:3]), minutes=int(offset[-2:]))
    return made.replace(tzinfo=datetime.timezone(-away if offset[0] == "-" else away))


def _day_first(parts: Sequence[re.Match[str]]) -> bool:
    """Whether the day stands before the month, by what cannot be else; refused where both can."""
    short = [part for part in parts if len(part[1]) < 4]
    if not short or any("." in part[0][:6] for part in short):
        return True  # years first, or `15.01.2026`
    first, second = (max(int(part[one]) for part in short) for one in (1, 2))
    if (first > 12) != (second > 12):
        return first > 12
    ordered = [_ascends(short, way) for way in (True, False)]
    if ordered[0] != ordered[1]:
        return ordered[0]
    raise Unreadable(
        f"`{short[0][0]}` may be read with the day or the month first; write dates as 2026-01-15"
    )


def _ascends(parts: Sequence[re.Match[str]], day_first: bool) -> bool:
    """Whether dates read so never leap: in order, and no two neighbours 20 days apart."""
    try:
        days = [_moment(part, day_first).date().toordinal() for part in parts]
    except ValueError:
        return False
    steps = np.diff(days)
    one_way = bool((steps >= 0).all() or (steps <= 0).all())
    return one_way and bool((np.abs(steps) < 20).all()) and days[0] != days[-1]


def _refuse_unordered(
    rows: Sequence[_Row], times: Sequence[datetime.datetime], zoned: bool
) -> None:
    faults = list(_unordered(rows, times))
    if not faults:
        return
    hint = "" if zoned else "; give `timezone`, if it is the hour that comes twice in autumn"
    raise Unreadable(*[fault + hint for fault in faults[: limits.FAULTS]])


def _unordered(rows: Sequence[_Row], times: Sequence[datetime.datetime]) -> Iterator[str]:
    for index, (before, after) in enumerate(itertools.pairwise(times)):
        if after <= before:
            row = rows[index + 1] if len(rows) > index + 1 else rows[-1]
            yield f"line {row.line}: `{row.stamp[:30]}` is not later than the reading before it"
