"""Loggers' tables on either side of what is read: heads, clocks, dates, offsets, lengths."""

from __future__ import annotations

import datetime
import re
from zoneinfo import ZoneInfo

import pytest

from api import limits, logger_table
from api.logger_table import Unreadable

HEAD = "time,temperature (°C),relative humidity (%)"


def table(*stamps: str, head: str = HEAD) -> str:
    return "\n".join([head, *(f"{stamp},20,40" for stamp in stamps)])


def times(*stamps: str) -> list[datetime.datetime]:
    return logger_table.read(table(*stamps)).times


def moment(text: str) -> datetime.datetime:
    return datetime.datetime.fromisoformat(text)


@pytest.mark.parametrize(
    ("stamp", "read"),
    [
        ("2026-01-15", "2026-01-15T00:00:00"),
        ("2026-01-15 00:07", "2026-01-15T00:07:00"),
        ("2026-01-15 23:59:58", "2026-01-15T23:59:58"),
        ("2026-01-15 08.30.15", "2026-01-15T08:30:15"),
        ("2026-01-15 08:30:15.250", "2026-01-15T08:30:15"),
        ("2026/1/5 8:30", "2026-01-05T08:30:00"),
        ("2026-01-15 24:00", "2026-01-16T00:00:00"),
        ("2026-12-31 24:00", "2027-01-01T00:00:00"),
        ("2026-01-15 12:30 AM", "2026-01-15T00:30:00"),
        ("2026-01-15 12:30 PM", "2026-01-15T12:30:00"),
        ("2026-01-15 1:30 p.m.", "2026-01-15T13:30:00"),
        ("2026-01-15 11:30 pm", "2026-01-15T23:30:00"),
        ("2026-01-15 11:30 am", "2026-01-15T11:30:00"),
        ("15.01.26 08:00", "2026-01-15T08:00:00"),
        ("15.01.2026 08:00", "2026-01-15T08:00:00"),
        ("2026-01-15T08:00Z", "2026-01-15T08:00:00+00:00"),
        ("2026-01-15T08:00z", "2026-01-15T08:00:00+00:00"),
        ("2026-01-15T08:00+05:30", "2026-01-15T02:30:00+00:00"),
        ("2026-01-15T08:00+0530", "2026-01-15T02:30:00+00:00"),
        ("2026-01-15T08:00-03:30", "2026-01-15T11:30:00+00:00"),
    ],
)
def test_a_stamp_is_read_as_it_is_meant(stamp: str, read: str) -> None:
    later = "2027-06-01T08:00Z" if read.endswith("+00:00") else "2027-06-01 08:00"
    assert times(stamp, later)[0] == moment(read)


@pytest.mark.parametrize(
    "stamp",
    ["2026-01-15 13:00 PM", "2026-01-15 0:30 AM", "2026-01-15 24:01:00 PM", "2026-01-15 25:00",
     "2026-13-01 08:00", "2026-01-15 08:60"],
)  # fmt: skip
def test_a_time_that_there_is_not_is_refused(stamp: str) -> None:
    with pytest.raises(Unreadable, match=r"line 2: there is no"):
        logger_table.read(table(stamp, "2027-06-01 08:00"))


@pytest.mark.parametrize(
    ("first", "second", "month"),
    [
        # What cannot be a month tells: thirteen is one, twelve is none.
        ("12/13/2026", "12/14/2026", 12),
        ("13/12/2026", "14/12/2026", 12),
        # Days apart tell: nineteen are still neighbours, and the other way leaps by months.
        ("01/02/2026", "01/03/2026", 1),
        ("01/02/2026", "02/02/2026", 2),
        # The newest first is in order too.
        ("02/02/2026", "01/02/2026", 2),
    ],
)
def test_the_month_stands_where_it_must(first: str, second: str, month: int) -> None:
    read = times(f"{first} 08:00", f"{second} 08:00")
    assert {one.month for one in read} == {month}


def test_dates_that_may_be_read_in_two_ways_are_refused() -> None:
    for first, second in (("01/01/2026", "02/02/2026"), ("12/12/2026", "12/12/2026"),
                          ("01/02/2026", "02/03/2026")):  # fmt: skip
        with pytest.raises(Unreadable, match="may be read with the day or the month first"):
            times(f"{first} 08:00", f"{second} 09:00")


def test_neighbours_twenty_days_apart_are_no_neighbours() -> None:
    # By the day first 19 days apart in December, by the month first a day in each month of a year.
    assert logger_table._ascends(_parts("01/12/2026", "20/12/2026"), day_first=True)
    assert not logger_table._ascends(_parts("01/12/2026", "21/12/2026"), day_first=True)
    assert logger_table._ascends(_parts("20/12/2026", "01/12/2026"), day_first=True)
    assert not logger_table._ascends(_parts("21/12/2026", "01/12/2026"), day_first=True)
    assert not logger_table._ascends(_parts("01/12/2026", "01/12/2026"), day_first=True)
    there_and_back = _parts("01/12/2026", "05/12/2026", "02/12/2026")
    assert not logger_table._ascends(there_and_back, day_first=True)
    assert not logger_table._ascends(_parts("13/12/2026", "14/12/2026"), day_first=False)


def _parts(*dates: str) -> list[re.Match[str]]:
    found = [logger_table._STAMP.fullmatch(f"{date} 08:00") for date in dates]
    return [one for one in found if one is not None]


def test_a_head_must_stand_within_sixty_lines() -> None:
    body = table("2026-01-15 08:00", "2026-01-15 09:00")
    assert len(logger_table.read("a title\n" * 59 + body).times) == 2
    with pytest.raises(Unreadable, match="no line names"):
        logger_table.read("a title\n" * 60 + body)


def test_a_line_of_ten_thousand_characters_is_read_and_a_longer_one_is_not() -> None:
    line = "2026-01-15 08:00,20,40,"
    for length, fits in ((10_000, True), (10_001, False)):
        body = f"{HEAD}\n{line}{'x' * (length - len(line))}\n2026-01-15 09:00,20,40"
        if fits:
            assert len(logger_table.read(body).times) == 2
        else:
            with pytest.raises(Unreadable, match=r"line 2 has 10,001 characters; up to 10,000"):
                logger_table.read(body)


def test_a_log_as_long_as_may_be_is_read_and_a_longer_one_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(limits, "LOG_LENGTH", 3)
    stamps = [f"2026-01-15 0{hour}:00" for hour in range(4)]
    assert len(times(*stamps[:3])) == 3
    with pytest.raises(Unreadable, match="4 readings given; up to 3 are read"):
        times(*stamps)


def test_faults_are_told_up_to_their_limit() -> None:
    stamps = [f"2026-01-{day:02d}" for day in range(1, 32) for _ in range(2)]
    with pytest.raises(Unreadable) as refused:
        logger_table.read("\n".join([HEAD, *(f"{stamp},x,40" for stamp in stamps)]))
    assert len(refused.value.faults) == limits.FAULTS == 50
    assert refused.value.faults[0] == "line 2: temperature `x` is no number"
    repeated = [stamp for stamp in stamps for _ in range(3)]
    with pytest.raises(Unreadable) as refused:
        logger_table.read(table(*repeated))
    assert len(refused.value.faults) == limits.FAULTS
    assert refused.value.faults[0].startswith("line 3: `2026-01-01` is not later than")


def test_two_columns_of_one_thing_are_named() -> None:
    head = "time,temp A (°C),temp B (°C),temp C (°C),temp D (°C),rh (%)"
    with pytest.raises(
        Unreadable, match=r"line 1: `temp A \(°C\)` and `temp B .* and `temp C \S+` "
    ):
        logger_table.read(table("2026-01-15", head=head))
    with pytest.raises(Unreadable, match="both name a humidity"):
        logger_table.read(table("2026-01-15", head="time,temp (°C),rh 1,rh 2"))


def test_columns_are_found_wherever_they_stand() -> None:
    head = "no.;RH (%);Dew point (°C);Time;Date;Temp (°F)"
    rows = ["1;40;6;08:00;15.01.2026;68", "2;41;6;09:00;15.01.2026;50", "3;42"]
    read = logger_table.read("\n".join([head, *rows]))
    assert read.times == [moment("2026-01-15T08:00"), moment("2026-01-15T09:00")]
    assert read.temperature == pytest.approx([20.0, 10.0])
    assert read.relative_humidity == pytest.approx([40.0, 41.0])
    assert read.blanks == 1


def test_a_unit_must_be_one() -> None:
    for name in ("temp", "temp °C or °F"):
        with pytest.raises(Unreadable, match="names no unit"):
            logger_table.read(table("2026-01-15", head=f"time,{name},rh"))


def test_times_with_and_without_an_offset_are_not_mixed() -> None:
    with pytest.raises(Unreadable, match="give a timezone"):
        times("2026-01-15T08:00Z", "2026-01-15 09:00")
    mixed = table("2026-01-15T14:00Z", "2026-01-15 09:00")
    read = logger_table.read(mixed, ZoneInfo("America/Chicago"))
    assert [one.hour for one in read.times] == [14, 15]
    assert read.zoned
    assert not read.standing


def test_an_hour_that_comes_twice_goes_to_the_reading_after_the_one_before() -> None:
    zone = ZoneInfo("America/Chicago")
    local = datetime.datetime(2026, 11, 1, 1, 30)
    first, second = (
        datetime.datetime(2026, 11, 1, hour, 30, tzinfo=datetime.UTC) for hour in (6, 7)
    )
    assert logger_table.in_utc(local, zone, []) == first
    assert logger_table.in_utc(local, zone, [first - datetime.timedelta(minutes=1)]) == first
    assert logger_table.in_utc(local, zone, [first]) == second
    # Neither is later than what came before: the fault is told by its time as it stands.
    assert logger_table.in_utc(local, zone, [second]) == first


def test_standard_time_is_that_of_the_year_on_either_half_of_the_world() -> None:
    for name, hours in (("America/Chicago", -6), ("Australia/Sydney", 10), ("Asia/Kolkata", 5.5)):
        zone = logger_table._standard(datetime.datetime(2026, 7, 1), ZoneInfo(name))
        assert zone.utcoffset(None) == datetime.timedelta(hours=hours)
