"""The listed stations against their table read another way, and what is mended in them."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest

from model.basis import DATA, table
from model.surroundings import stations
from model.surroundings.stations import Station


@pytest.fixture(scope="module")
def given() -> dict[str, Station]:
    return {one.id: one for one in stations.as_given()}


def mended(one: Station) -> Station:
    """A station with what the list of faults says of it."""
    return stations._mended(
        one, [row for row in table("station_faults.csv") if row["id"] == one.id]
    )


def test_each_row_of_the_table_is_a_station(given: dict[str, Station]) -> None:
    read = pd.read_csv(DATA / "climates.csv", keep_default_na=False)
    assert [*given] == read["id"].tolist()
    for _, row in read.iloc[::300].iterrows():
        one = given[row["id"]]
        for name in ("name", "country", "grade", "source", "period", "latitude", "longitude"):
            assert getattr(one, name) == row[name], name
        assert (one.elevation, one.years) == (row["elevation_m"], row["years"])
        assert one.named is bool(row["named"])
        for name, column in (
            ("temperature", "temperature_c"),
            ("vapour_pressure", "vapour_pressure_pa"),
            ("relative_humidity", "relative_humidity_pct"),
        ):
            months = [float(row[f"{column}_{month:02}"]) for month in range(1, 13)]
            assert getattr(one, name).tolist() == months
    assert {one.named for one in given.values()} == {True, False}


def test_no_reader_can_change_the_table(given: dict[str, Station]) -> None:
    for one in (given["duluth-us"], mended(given["amritsar-in"])):
        for figures in (one.temperature, one.vapour_pressure, one.relative_humidity):
            with pytest.raises(ValueError, match="read-only"):
                figures[0] = 0.0


def test_a_state_is_that_of_the_list_of_names_or_ends_the_stations_name(
    given: dict[str, Station],
) -> None:
    assert given["adelaide-au"].region == "SA"
    assert given["addis-abeba-et"].other_names == ("Addis Ababa",)
    assert given["duluth-us"].other_names == ()
    ends = next(one for one in given.values() if one.name == "Bangor AP ME")
    assert ends.region == "ME"
    assert given["london-gb"].region == ""


def test_a_label_is_name_state_country_and_coordinates(given: dict[str, Station]) -> None:
    assert given["duluth-us"].label.startswith("Duluth, MN, United States (46.8")
    # A state that stands in the name is not told twice.
    bangor = next(one for one in given.values() if one.name == "Bangor AP ME")
    assert bangor.label.startswith("Bangor AP ME, United States (")
    plain = dataclasses.replace(bangor, name="X", region="", country="AT", latitude=-1.234)
    assert plain.label == f"X, Austria (-1.23, {bangor.longitude:.2f})"


def test_a_mended_month_takes_its_vapour_along(given: dict[str, Station]) -> None:
    before = given["amritsar-in"]
    after = mended(before)
    # January, 85 % as given, 78.8 used (station_faults.csv).
    assert (before.relative_humidity[0], after.relative_humidity[0]) == (85.0, 78.8)
    assert after.vapour_pressure[0] == pytest.approx(before.vapour_pressure[0] * 78.8 / 85.0)
    months = np.flatnonzero(before.relative_humidity != after.relative_humidity) + 1
    note = next(one for one in after.notes if one.code == "climate-mended")
    assert note.figures == {"station": before.name, "months": tuple(months)}
    assert after.grade == before.grade
    assert (before.notes, after.temperature.tolist()) == ((), before.temperature.tolist())


def test_a_poor_station_is_graded_and_its_figures_stay(given: dict[str, Station]) -> None:
    before = given["bangor-ap-me-us"]
    after = mended(before)
    assert (before.grade != "C", after.grade) == (True, "C")
    assert after.relative_humidity.tolist() == before.relative_humidity.tolist()
    assert after.notes == ()
    assert mended(given["duluth-us"]) is given["duluth-us"]


def test_stations_are_used_as_they_were_mended() -> None:
    every = {one.id: one for one in stations.mended()}
    assert every["amritsar-in"].relative_humidity[0] == 78.8
    assert every["bangor-ap-me-us"].grade == "C"
    assert every["duluth-us"].notes == ()
