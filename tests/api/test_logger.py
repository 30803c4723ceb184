"""Logs as loggers write them: heads, dates, units, local times, blanks; a year's log as a year."""

from __future__ import annotations

import contextlib
import datetime
import itertools
import math
import time
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from api import limits, logger_table
from api.logger_table import Unreadable

CHICAGO = ZoneInfo("America/Chicago")

# Three readings an hour apart, by heads and rows of the kinds that loggers and sheets write.
SAME = [
    "time,temperature (°C),relative humidity (%)\n"
    "2026-01-15 08:00,20.0,40\n2026-01-15 09:00,21.5,41.5\n2026-01-15 10:00,22,43\n",
    '"Plot Title: Shop"\n"#","Date Time","Temp, °F","RH, %"\n'
    '1,"01/15/26 08:00:00 AM",68.00,40\n2,"01/15/26 09:00:00 AM",70.70,41.5\n'
    '3,"01/15/26 10:00:00 AM",71.60,43\n',
    "Datum;Uhrzeit;Temperatur [°C];rel. Feuchte [%];Taupunkt [°C]\n"
    "15.01.2026;08:00;20,0;40;6,0\n15.01.2026;09:00;21,5;41,5;7\n15.01.2026;10:00;22,0;43;8\n",
    "Timestamp\tTemperature_Celsius\tRelative_Humidity\n"
    "15/01/2026 8:00\t20\t40\n15/01/2026 9:00\t21.5\t41.5\n15/01/2026 10:00\t22\t43\n",
    "Timestamp,Temperature_Fahrenheit,Relative_Humidity\r\n"
    "2026-01-15T10:00:00,71.6,43\r\n2026-01-15T09:00:00,70.7,41.5\r\n2026-01-15T08:00:00,68,40\r\n",
    "\ufeffHeure,Température (°C),Humidité relative (%)\n"
    '"2026/01/15 08:00","20,0 °C",40 %\n'.replace("20,0", "20.0")
    + '"2026/01/15 09:00","21.5 °C",41.5 %\n"2026/01/15 10:00",22 °C,43 %\n',
]


@pytest.mark.parametrize("text", SAME)
def test_the_same_log_is_read_alike_as_each_logger_writes_it(text: str) -> None:
    table = logger_table.read(text)
    assert table.times == [datetime.datetime(2026, 1, 15, hour) for hour in (8, 9, 10)]
    assert table.temperature == pytest.approx([20.0, 21.5, 22.0])
    assert table.relative_humidity == pytest.approx([40.0, 41.5, 43.0])
    assert (table.blanks, table.zoned) == (0, False)


def rows(head: str, *lines: str) -> str:
    return "\n".join((head, *lines))


HEAD = "time,temperature (°C),relative humidity (%)"


def test_blank_rows_are_left_out_and_counted() -> None:
    table = logger_table.read(
        rows(HEAD, "2026-01-01 00:00,20,40", "2026-01-01 01:00,,", "2026-01-01 02:00,--,41", "",
             "2026-01-01 03:00,21,NaN", "2026-01-01 04:00,21,42")
    )  # fmt: skip
    assert table.blanks == 3
    assert len(table.times) == 2


def test_local_times_follow_summer_time_both_ways() -> None:
    autumn = [f"2026-11-01 0{hour}:30,20,40" for hour in (0, 1, 1, 2)]
    table = logger_table.read(rows(HEAD, *autumn), CHICAGO)
    steps = [later - one for one, later in itertools.pairwise(table.times)]
    assert steps == [datetime.timedelta(hours=1)] * 3
    spring = ["2026-03-08 01:30,20,40", "2026-03-08 03:30,20,40"]
    table = logger_table.read(rows(HEAD, *spring), CHICAGO)
    assert table.times[1] - table.times[0] == datetime.timedelta(hours=1)
    with pytest.raises(Unreadable, match=r"line 4.*not later.*timezone"):
        logger_table.read(rows(HEAD, *autumn))


def test_a_clock_that_does_not_follow_summer_time_is_read_as_standard_time() -> None:
    spring = [f"2026-03-08 0{hour}:30,20,40" for hour in (1, 2, 3)]
    later = ["2026-07-01 12:00,20,40", "2026-11-01 01:30,20,40", "2026-11-01 02:30,20,40"]
    table = logger_table.read(rows(HEAD, *spring, *later), CHICAGO)
    assert table.standing
    assert [one.hour for one in table.times] == [7, 8, 9, 18, 7, 8]  # six hours behind UTC
    # One that follows it wrote no such hour.
    assert not logger_table.read(rows(HEAD, spring[0], spring[2]), CHICAGO).standing


def test_an_offset_in_the_head_or_in_the_times_is_kept() -> None:
    head = 'Date Time,"Temp, °C","RH, %"'.replace("Date Time", '"Date Time, GMT-06:00"')
    table = logger_table.read(rows(head, "2026-01-15 08:00,20,40", "2026-01-15 09:00,20,40"))
    assert table.zoned
    assert table.times[0] == datetime.datetime(2026, 1, 15, 14, tzinfo=datetime.UTC)
    table = logger_table.read(
        rows(HEAD, "2026-01-15T08:00:00-06:00,20,40", "2026-01-15T15:00:00Z,20,40")
    )
    assert [one.hour for one in table.times] == [14, 15]


@pytest.mark.parametrize(
    ("first", "second", "month"),
    [
        ("03/04/2026 08:00", "03/05/2026 08:00", 3),  # the month first: a day apart
        ("03/04/2026 08:00", "04/04/2026 08:00", 4),  # the day first: a day apart
        ("01/12/2026 08:00", "13/12/2026 08:00", 12),  # a thirteenth month there is not
    ],
)
def test_days_and_months_are_told_apart_by_what_they_cannot_be(
    first: str, second: str, month: int
) -> None:
    table = logger_table.read(rows(HEAD, f"{first},20,40", f"{second},20,40"))
    assert table.times[0].month == month


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "no line names"),
        ("a,b\n1,2\n", "no line names"),
        (rows("time,temperature,humidity", "2026-01-01,20,40"), "names no unit"),
        (rows("temperature (°C),humidity (%)", "20,40"), "no column is called date or time"),
        (rows("time,temp A (°C),temp B (°C),rh", "2026-01-01,1,2,3"), "both name a temperature"),
        (rows(HEAD, "2026-01-01 00:00,20,40"), "1 readings"),
        (rows(HEAD, "2026-01-01 00:00,x,40", "2026-01-02 00:00,2,40"), "line 2: temperature `x`"),
        (rows(HEAD, "2026-01-01 00:00,2,40", "yesterday,2,40"), "line 3: `yesterday` is no date"),
        (rows(HEAD, "2026-02-01 00:00,2,40", "2026-02-30 00:00,2,40"), "there is no `2026-02-30"),
        (rows(HEAD, "2026-01-01 00:00,2,40", "2026-01-01 00:00,2,40"), "not later"),
        (rows(HEAD, "03/03/2026 08:00,2,40", "03/03/2026 09:00,2,40"), "day or the month first"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line(text: str, fault: str) -> None:
    with pytest.raises(Unreadable, match=fault):
        logger_table.read(text)


@given(st.text(max_size=300))
def test_any_text_is_read_or_refused(text: str) -> None:
    for given_text in (text, rows(HEAD, text), rows(HEAD, "2026-01-01 00:00,20,40", text)):
        with contextlib.suppress(Unreadable):
            table = logger_table.read(given_text)
            assert len(table.times) == table.temperature.size == table.relative_humidity.size > 1


def year_of_readings(days: int = 366, hours: int = 6, fahrenheit: bool = False) -> str:
    begun = datetime.datetime(2025, 3, 10, 7)
    lines = []
    for number in range(days * 24 // hours):
        moment = begun + datetime.timedelta(hours=hours * number)
        phase = 2.0 * math.pi * (moment.timetuple().tm_yday - 15) / 365.0
        warm = 21.0 - 2.0 * math.cos(phase)
        warm = 32.0 + 1.8 * warm if fahrenheit else warm
        lines.append(f"{moment:%m/%d/%Y %I:%M:%S %p},{warm:.3f},{45 - 12 * math.cos(phase):.3f}")
    unit = "°F" if fahrenheit else "°C"
    return rows(f"Date Time,Temp ({unit}),RH (%)", *lines)


SLAB = {"species": "white oak", "width": 600, "thickness": 40, "grain": "flat"}


def settled(client: FlaskClient, room: dict[str, Any]) -> dict[str, Any]:
    body = {
        "units": "metric",
        "spread": "none",
        "slab": SLAB,
        "moisture": 9,
        "room": room,
        "starts": "2026-03-01",
    }
    reply = client.post("/v1/settle", json=body)
    assert reply.status_code == 200, reply.text
    told: dict[str, Any] = reply.get_json()
    return told


def test_a_years_log_serves_as_a_year_and_settles_as_its_months_do(client: FlaskClient) -> None:
    log = {"csv": year_of_readings(), "timezone": "America/Chicago"}
    by_log = settled(client, {"log": log})
    assert "log-year" in {note["code"] for note in by_log["notes"]}
    shown = client.post("/v1/room", json={"units": "metric", "room": {"log": log}}).get_json()
    months = [
        {"temperature": one["temperature"], "relative_humidity": one["relative_humidity"]}
        for one in sorted(shown["answer"]["months"], key=lambda one: one["month"])
    ]
    by_months = settled(client, {"months": months})
    # Months as rounded in the reply: 0.1 degC and 0.1 %.
    assert by_log["answer"]["settled"]["mean"] == pytest.approx(
        by_months["answer"]["settled"]["mean"], abs=0.1
    )
    for end in ("driest", "dampest"):
        assert by_log["answer"]["settled"][end]["moisture"] == pytest.approx(
            by_months["answer"]["settled"][end]["moisture"], abs=0.2
        )


def test_both_units_are_one_log(client: FlaskClient) -> None:
    celsius, fahrenheit = (
        settled(client, {"log": {"csv": year_of_readings(fahrenheit=one), "timezone": "UTC"}})
        for one in (False, True)
    )
    assert celsius["answer"]["settled"] == fahrenheit["answer"]["settled"]


@pytest.mark.parametrize(("days", "status"), [(349, 422), (352, 200)])
def test_a_shorter_log_is_refused_where_a_year_is_needed(
    client: FlaskClient, days: int, status: int
) -> None:
    log = {"csv": year_of_readings(days), "timezone": "UTC"}
    body = {"units": "metric", "spread": "none", "slab": SLAB, "moisture": 9, "room": {"log": log}}
    reply = client.post("/v1/settle", json=body)
    assert reply.status_code == status
    if status == 422:
        (fault,) = reply.get_json()["errors"]
        assert fault["pointer"] == "/room/log"
        assert "350 days" in fault["detail"]


def test_a_log_alone_is_posted_as_csv(client: FlaskClient) -> None:
    text = SAME[1]
    reply = client.post(
        "/v1/room?units=us&room.log.timezone=America/Chicago", data=text, content_type="text/csv"
    )
    assert reply.status_code == 200, reply.text
    as_member = {"units": "us", "room": {"log": {"csv": text, "timezone": "America/Chicago"}}}
    assert reply.get_json() == client.post("/v1/room", json=as_member).get_json()
    assert client.post("/v1/room?format=text", data=text, content_type="text/csv").text.startswith(
        "This air holds wood at"
    )
    # Where more is asked than a log, there is nothing that csv could stand for.
    assert client.post("/v1/course", data=text, content_type="text/csv").status_code == 415
    # Settle takes a table of slabs, which a log is not.
    assert client.post("/v1/settle", data=text, content_type="text/csv").status_code == 422
    assert client.post("/v1/room", data=b"\xff\xfe", content_type="text/csv").status_code == 400


def test_a_text_is_long_only_where_it_is_a_file(client: FlaskClient) -> None:
    hours = [f"2026-01-{day:02} {hour:02}:00,20,40" for day in range(1, 31) for hour in range(24)]
    text = rows(HEAD, *hours)
    assert len(text) > 10_000
    for log, status in (
        ({"csv": text}, 200),
        ({"csv": [text]}, 400),
        ({"csv": "", "zone": text}, 400),
        ({text: "csv"}, 400),
    ):
        assert client.post("/v1/room", json={"room": {"log": log}}).status_code == status


@pytest.mark.parametrize(
    ("table", "told"),
    [
        # Patterns that look for spaces behind a number must not do so from every one of them.
        (f"2026-01-01 00:00,1{' ' * 5_000}x,40\n" * 8, "is no number"),
        (f"2026-01-01 00:00{' ' * 5_000}x,1,40\n" * 8, "is no date"),
        ('"' + "2026-01-01 00:00,20,40\n" * 6_000, "a quotation mark opens"),
        ("," * 50_000, "line 2 has 50,000 characters"),
    ],
    ids=["spaces", "spaces in a time", "quotation mark", "long line"],
)
def test_a_table_made_to_take_long_is_refused_at_once(
    client: FlaskClient, table: str, told: str
) -> None:
    begun = time.thread_time()
    text = f"{HEAD}\n{table}".encode()
    reply = client.post("/v1/room", data=text, content_type="text/csv")
    assert reply.status_code == 422
    assert told in reply.get_json()["errors"][0]["detail"]
    # Eight such cells took many minutes.
    assert time.thread_time() - begun < 1.0


def test_a_table_comes_as_any_body_does(client: FlaskClient) -> None:
    text = SAME[1].encode()
    packed = {"Content-Type": "text/csv", "Content-Encoding": "gzip"}
    refused = client.post("/v1/room", data=text, headers=packed)
    assert refused.status_code == 415
    assert "text/csv" in refused.get_json()["detail"]
    large = text + b"\n" * limits.BODY_BYTES
    assert client.post("/v1/room", data=large, content_type="text/csv").status_code == 413


def test_blanks_and_a_missing_zone_are_told(client: FlaskClient) -> None:
    text = rows(HEAD, "2026-01-01 00:00,20,40", "2026-01-01 01:00,,", "2026-01-02 02:00,21,41")
    reply = client.post("/v1/room", json={"units": "metric", "room": {"log": {"csv": text}}})
    notes = {note["code"]: note["message"] for note in reply.get_json()["notes"]}
    assert notes["log-blanks"].startswith("1 rows")
    assert "log-clock" in notes


def test_lists_take_local_times_with_their_zone(client: FlaskClient) -> None:
    def asked(**more: Any) -> Any:
        log = {"temperature": ["20C", "21C"], "relative_humidity": [40, 41], **more}
        return client.post("/v1/room", json={"room": {"log": log}})

    local = ["2026-01-15T08:00:00", "2026-01-16T08:00:00"]
    assert asked(time=local, timezone="America/Chicago").status_code == 200
    refused = asked(time=local)
    assert refused.status_code == 422
    assert "timezone" in refused.get_json()["errors"][0]["detail"]
    assert asked(time=local, timezone="Mars/Olympus").status_code == 422
    assert asked(time=local, csv=SAME[0]).status_code == 422


@pytest.mark.parametrize(
    ("head", "hours"),
    [
        ("Date Time, GMT-06:00", -6.0),
        ("Date Time, GMT+05:30", 5.5),
        ("Date Time, GMT-03:30", -3.5),
        ("Date Time, GMT+02", 2.0),
        ("Date Time", None),
    ],
)
def test_an_offset_in_the_head_of_the_time_counts_by_hours_and_minutes(
    head: str, hours: float | None
) -> None:
    found = logger_table._offset(head, [head], None)
    told = None if found is None else found.utcoffset(None)
    assert told == (None if hours is None else datetime.timedelta(hours=hours))
