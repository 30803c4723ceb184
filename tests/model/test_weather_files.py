"""Weather files: each limit of the format met and passed."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from model.properties import air
from model.surroundings import weather_files
from model.surroundings.weather_files import BadWeatherFile, load_epw

PLACE = ["LOCATION", "Lakeview", "MN", "USA", "invented for this test", "0", "46.8", "-92.1"]
DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
ROW = "2023,{},{},{},{},?9,{},{},{}"
HEAD = ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
HEAD += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,none", "COMMENTS 2,none"]


def lines_of(place: str = ",".join([*PLACE, "-6.0", "190.0"])) -> list[str]:
    """A year of 10 degC, 4 degC and 66 %."""
    return [place, *HEAD, "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31", *_ROWS]


_ROWS = [
    ROW.format(month, day, hour, 60, "10.0", "4.0", "66")
    for month in range(1, 13)
    for day in range(1, DAYS[month - 1] + 1)
    for hour in range(1, 25)
]


def load(folder: Path, lines: list[str], name: str = "a.epw", encoding: str = "utf-8"):  # type: ignore[no-untyped-def]
    (folder / name).write_bytes("\n".join(lines).encode(encoding))
    (station,) = load_epw(folder)
    return station


FILE = Path("a.epw")


@pytest.mark.parametrize(
    ("field", "what", "low", "high"),
    [
        (6, "latitude", -90.0, 90.0),
        (7, "longitude", -180.0, 180.0),
        (8, "time zone", -12.0, 14.0),
        (9, "elevation", -500.0, 9000.0),
    ],
)
def test_each_figure_of_the_place_has_its_limits(
    field: int, what: str, low: float, high: float
) -> None:
    fields = [*PLACE, "-6.0", "190.0"]
    for value in (low, high):
        fields[field] = f"{value}"
        assert weather_files._epw_place(FILE, [",".join(fields)]) == fields
    for beyond in (low - 0.5, high + 0.5):
        fields[field] = f"{beyond}"
        with pytest.raises(
            BadWeatherFile, match=rf"^a.epw, line 1: {what} .* is not within"
        ) as bad:
            weather_files._epw_place(FILE, [",".join(fields)])
        assert (bad.value.line, bad.value.file) == (1, FILE)


def test_a_place_has_ten_fields_and_is_told_apart_by_its_first() -> None:
    ten = ",".join([*PLACE, "-6.0", "190.0"])
    assert len(weather_files._epw_place(FILE, ["\ufeff" + ten])) == 10
    assert len(weather_files._epw_place(FILE, [ten.replace("LOCATION", " location ")])) == 10
    with pytest.raises(BadWeatherFile, match=r"^a.epw, line 1: LOCATION has 9 fields of 10"):
        weather_files._epw_place(FILE, [ten.rpartition(",")[0]])
    with pytest.raises(BadWeatherFile, match=r"^a.epw, line 1: .* begins with LOCATION"):
        weather_files._epw_place(FILE, [])
    with pytest.raises(BadWeatherFile, match=r"^a.epw, line 1: .* cannot be printed"):
        weather_files._epw_place(FILE, [ten.replace("MN", "M\x07N")])


def test_a_figure_of_the_place_is_a_number() -> None:
    wrong = ",".join([*PLACE[:7], "west of the lake, by the water", "190.0"])
    with pytest.raises(
        BadWeatherFile, match=r"^a.epw, line 1: longitude 'west of the lake' is not"
    ):
        weather_files._epw_place(FILE, [wrong + ",1"])
    with pytest.raises(BadWeatherFile, match=r"^a.epw, line 1: LOCATION names no city"):
        weather_files._epw_place(FILE, [",".join(["LOCATION", " ", *PLACE[2:], "-6.0", "190.0"])])
    for endless in ("inf", "nan"):
        with pytest.raises(BadWeatherFile, match=f"line 7: x '{endless}' is not a number"):
            weather_files._epw_number(FILE, 7, "x", endless)
    long = "a" * 30
    with pytest.raises(BadWeatherFile, match=f"x '{'a' * 20}' is not a number"):
        weather_files._epw_number(FILE, 7, "x", f" {long}")


def row(temperature: float, dew_point: float, humidity: float) -> tuple[float, float, float]:
    text = ROW.format(1, 1, 1, 60, temperature, dew_point, humidity)
    return weather_files._epw_row(FILE, 9, text.split(","))


def test_figures_of_an_hour_within_the_format_are_taken() -> None:
    assert row(-70.0, -70.0, 0.0) == (-70.0, -70.0, 0.0)
    assert row(70.0, 70.0, 100.0) == (70.0, 70.0, 100.0)
    assert row(20.0, 10.0, 110.0) == (20.0, 10.0, 100.0)  # fog, as some files write it
    assert np.isnan(row(99.9, 99.9, 999.0)).all()
    assert np.isnan(row(120.0, 120.0, 1200.0)).all()


@pytest.mark.parametrize(
    ("figures", "fault"),
    [
        ((-70.1, 0.0, 50.0), "dry bulb -70.1 is not within -70 to 70"),
        ((70.1, 0.0, 50.0), "dry bulb 70.1"),
        ((99.8, 0.0, 50.0), "dry bulb 99.8"),
        ((0.0, -70.1, 50.0), "dew point -70.1"),
        ((0.0, 99.8, 50.0), "dew point 99.8"),
        ((0.0, 0.0, -0.1), "relative humidity -0.1 is not within 0 to 110"),
        ((0.0, 0.0, 110.1), "relative humidity 110.1"),
        ((0.0, 0.0, 998.0), "relative humidity 998"),
    ],
)
def test_figures_of_an_hour_beyond_the_format_are_refused(
    figures: tuple[float, float, float], fault: str
) -> None:
    with pytest.raises(BadWeatherFile, match=f"a.epw, line 9: {fault}"):
        row(*figures)


@pytest.mark.parametrize(
    ("hour", "passes"),
    [
        ("1,1,0,0", True),
        ("1,1,24,60", True),
        ("12,31,24,60", True),
        ("0,1,1,60", False),
        ("13,1,1,60", False),
        ("1.5,1,1,60", False),
        ("1,0,1,60", False),
        ("1,32,1,60", False),
        ("1,1,-1,60", False),
        ("1,1,25,60", False),
        ("x,1,1,60", False),
    ],
)
def test_an_hour_is_one_of_the_year(hour: str, passes: bool) -> None:
    lines = [*lines_of()[:8], f"2023,{hour},?9,10,4,66", " "]
    if passes:
        months, figures = weather_files._epw_hours(FILE, lines)
        assert months.tolist() == [int(hour.partition(",")[0]) - 1]
        assert figures.tolist() == [[10.0, 4.0, 66.0]]
    else:
        with pytest.raises(
            BadWeatherFile, match=r"line 9: (no such hour: [\d.,-]+,\d+$|month 'x' is not)"
        ):
            weather_files._epw_hours(FILE, lines)


def test_hours_follow_each_other() -> None:
    def hours(*told: str) -> int:
        rows = [f"2023,{one},?9,10,4,66" for one in told]
        return int(weather_files._epw_hours(FILE, [*lines_of()[:8], *rows])[0].size)

    assert hours("1,1,1,30", "1,1,1,60", "1,1,2,30", "1,2,1,30", "2,1,1,30") == 5
    for again in ("1,1,2,30", "1,1,2,29", "1,1,1,60"):
        with pytest.raises(BadWeatherFile, match="line 10: the hours of the year must follow"):
            hours("1,1,2,30", again)
    with pytest.raises(BadWeatherFile, match="line 9: a row needs 35 fields, this has 8"):
        weather_files._epw_hours(FILE, [*lines_of()[:8], "2023,1,1,1,60,?9,10,4"])
    with pytest.raises(BadWeatherFile, match="line 8: DATA PERIODS"):
        weather_files._epw_hours(FILE, lines_of()[:7])


def hourly(records: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Months and figures of a year of 10 degC, dew point 4 degC and 66 %."""
    months = np.repeat(np.arange(12), 24 * records * np.array(DAYS))
    return months, np.tile([10.0, 4.0, 66.0], (months.size, 1))


def means(figures: np.ndarray, months: np.ndarray, records: int = 1) -> tuple[np.ndarray, int]:
    head = [*HEAD, "", f"DATA PERIODS,1,{records},Data,Sunday, 1/ 1,12/31"]
    return weather_files._epw_means(FILE, [*head, *[""] * 12], months, figures)


def test_nine_tenths_of_each_month_must_be_there() -> None:
    # February has 672 hours: 604.8 are needed.
    months, figures = hourly()
    found, missing = means(figures[67:], np.delete(months, slice(800, 867)))
    assert found.shape == (3, 12)
    assert missing == 0
    fault = "a.epw, line 20: month 2 has 604 usable of 672 rows; at least 90 % are needed"
    with pytest.raises(BadWeatherFile, match=fault):
        means(figures[68:], np.delete(months, slice(800, 868)))
    # Two records an hour: 1,344 of them.
    months, figures = hourly(2)
    with pytest.raises(BadWeatherFile, match="month 2 has 1208 usable of 1344 rows"):
        means(figures[136:], np.delete(months, slice(1500, 1636)), 2)


def test_what_an_hour_lacks_is_found_from_the_rest_or_the_hour_left_out() -> None:
    months, figures = hourly()
    saturated, dew = (float(air.saturation_pressure(one)) for one in (10.0, 4.0))
    found, missing = means(figures, months)
    assert missing == 0
    assert found[:, 0] == pytest.approx([10.0, 0.66 * saturated, 66.0])
    no_humidity = figures.copy()
    no_humidity[:, 2] = np.nan
    found, missing = means(no_humidity, months)
    assert missing == 0
    assert found[:, 0] == pytest.approx([10.0, dew, 100.0 * dew / saturated])
    fog = no_humidity.copy()
    fog[:, 1] = 11.0
    assert means(fog, months)[0][2, 0] == 100.0
    for lacks in ([0], [1, 2], [0, 1, 2]):
        some = figures.copy()
        some[:10, lacks] = np.nan
        found, missing = means(some, months)
        assert (missing, found[2, 0]) == (10, pytest.approx(66.0))


def test_records_an_hour_are_one_where_none_are_told() -> None:
    head = [*lines_of()[:7], "DATA PERIODS,1"]
    assert weather_files._epw_records(head) == "1"
    assert weather_files._epw_records([*head[:7], "DATA PERIODS,1,4"]) == "4"


def test_a_station_says_what_it_was_made_from(tmp_path: Path) -> None:
    place = "LOCATION, São Lago ,MN,USA,TMY3,0,46.8,-92.1,-6.0,190.0"
    station = load(tmp_path, [f"{one}\r" for one in lines_of(place)], "São Lago 1.EPW", "latin-1")
    assert (station.id, station.name) == ("epw-sao-lago-1", "São Lago")
    assert (station.country, station.region) == ("US", "MN")
    assert (station.years, station.grade, station.named) == (1, "B", False)
    assert station.source == "weather file São Lago 1.EPW, TMY3"
    assert (station.latitude, station.longitude, station.elevation) == (46.8, -92.1, 190.0)
    assert [note.code for note in station.notes] == ["weather-file"]
    saturated = float(air.saturation_pressure(10.0))
    for figures, value in (
        (station.temperature, 10.0),
        (station.vapour_pressure, 0.66 * saturated),
        (station.relative_humidity, 66.0),
    ):
        assert figures == pytest.approx(np.full(12, value))
    assert (station.notes[0].figures["hours"], station.notes[0].figures["zone"]) == (8760, -6.0)
    assert station.notes[0].figures["source"] == "TMY3"
    place = place.replace("TMY3", " ").replace("MN", "Z")
    untold = load(tmp_path, lines_of(place), "São Lago 1.EPW")
    assert untold.notes[0].figures["source"] == "not told in the file"
    assert (untold.source, untold.region) == ("weather file São Lago 1.EPW", "")


def test_only_files_of_a_size_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = lines_of()
    size = len("\n".join(lines))
    assert weather_files._EPW_LARGEST == 67_108_864  # 64 MiB
    monkeypatch.setattr(weather_files, "_EPW_LARGEST", size)
    assert load(tmp_path, lines).name == "Lakeview"
    monkeypatch.setattr(weather_files, "_EPW_LARGEST", size - 1)
    with pytest.raises(BadWeatherFile, match=f"line 1: it has more than {size - 1:,} bytes"):
        load_epw(tmp_path)
    (tmp_path / "b.epw").mkdir()
    (tmp_path / "a.epw").unlink()
    with pytest.raises(BadWeatherFile, match="a folder, pipe or device"):
        load_epw(tmp_path)


def test_a_name_that_cannot_be_printed_is_told_by_its_signs(tmp_path: Path) -> None:
    (tmp_path / "a\nb.epw").touch()
    with pytest.raises(BadWeatherFile, match=r"^'a\\nb.epw', line 1: the name of the file"):
        load_epw(tmp_path)
    os.remove(tmp_path / "a\nb.epw")
    assert load_epw(tmp_path) == ()
