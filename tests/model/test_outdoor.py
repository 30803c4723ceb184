"""Outdoor months as given, and the mean of stations: by hand, and limits met and passed."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from model.properties import air
from model.surroundings import stations
from model.surroundings.outdoor import Used, humidity_excess, mean_of, outdoor_from_months

MILD = [10.0] * 12


@pytest.fixture(scope="module")
def station() -> stations.Station:
    return next(stations.as_given())


def test_the_curve_of_vapour_over_mean_humidity_runs_straight_and_level_at_its_ends() -> None:
    # 16, 10.5, 4.8, 1.9 points from -12.5 degC in steps of 5 (the climate tables' README, fitted);
    # 1.0, -0.1, -1.0 from there on (fitted here to the medians of climates.csv).
    assert humidity_excess([-40.0, -10.0, -5.0, 0.0]).tolist() == pytest.approx(
        [16.0, 13.25, 7.65, 3.35]
    )
    assert humidity_excess([5.0, 10.0, 15.0, 17.5, 35.0]).tolist() == pytest.approx(
        [1.45, 0.45, -0.55, -1.0, -1.0]
    )


def test_a_station_lower_down_is_brought_up_by_its_lapse(station: stations.Station) -> None:
    higher = mean_of([Used(station, 10.0, 400.0, 1.0)])
    assert higher[0] == pytest.approx(station.temperature - 2.2)  # 0.0055 K/m
    assert higher[2] == pytest.approx(station.relative_humidity)
    saturated = [air.saturation_pressure(one) for one in (higher[0], station.temperature)]
    assert higher[1] / station.vapour_pressure == pytest.approx(saturated[0] / saturated[1])
    unknown = mean_of([Used(station, 10.0, None, 1.0)])
    assert unknown[0] == pytest.approx(station.temperature)
    assert unknown[1] == pytest.approx(station.vapour_pressure)


def test_the_mean_is_weighted(station: stations.Station) -> None:
    other = dataclasses.replace(
        station,
        temperature=station.temperature + 4.0,
        vapour_pressure=station.vapour_pressure + 100.0,
        relative_humidity=station.relative_humidity - 8.0,
    )
    degrees, pressure, percent = mean_of([Used(station, 1, None, 0.75), Used(other, 2, None, 0.25)])
    assert degrees == pytest.approx(station.temperature + 1.0)
    assert pressure == pytest.approx(station.vapour_pressure + 25.0)
    assert percent == pytest.approx(station.relative_humidity - 2.0)


def test_vapour_is_what_the_humidity_and_the_curve_make_of_saturation() -> None:
    made = outdoor_from_months([-12.5] + [12.5] * 11, [80.0] * 12)
    saturated = air.saturation_pressure([-12.5, 12.5])
    assert made.vapour_pressure[:2] == pytest.approx(saturated * [0.96, 0.799])
    assert made.notes[0].figures == {"found": "vapour pressure", "given": "relative humidity"}
    assert (made.latitude, made.stations, made.id) == (None, (), "")
    assert (made.equilibrium_error, made.humidity_error) == (0.0, 0.0)
    assert made.name == "outdoor months as given"


def test_dry_air_has_no_vapour_below_nothing() -> None:
    # From 12.5 degC the curve is below nought: no humidity would leave -1 % of saturation.
    made = outdoor_from_months([20.0] * 12, [0.0] * 12)
    assert made.vapour_pressure.tolist() == [0.0] * 12


def test_humidity_found_from_vapour_stays_between_none_and_all() -> None:
    saturated = float(air.saturation_pressure(20.0))
    for share, percent in ((0.0, 1.0), (0.5, 51.0), (0.985, 99.5), (1.2, 100.0)):
        made = outdoor_from_months([20.0] * 12, vapour_pressure=[share * saturated] * 12)
        assert made.relative_humidity == pytest.approx([percent] * 12)
        assert made.notes[0].figures == {"found": "relative humidity", "given": "vapour pressure"}
    cold = outdoor_from_months([-12.5] * 12, vapour_pressure=[1.0] * 12)
    assert cold.relative_humidity.tolist() == [0.0] * 12


def test_vapour_may_stand_a_quarter_above_saturation_at_the_mean() -> None:
    saturated = float(air.saturation_pressure(10.0))
    vapour = [1000.0] * 6 + [1.249 * saturated] + [1000.0] * 5
    assert outdoor_from_months(MILD, [90.0] * 12, vapour).vapour_pressure[6] == vapour[6]
    vapour[6] = 1.251 * saturated
    with pytest.raises(ValueError, match="vapour pressure of month 7 is more"):
        outdoor_from_months(MILD, [90.0] * 12, vapour)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("temperature", *air.VALID_TEMPERATURE),
        ("relative_humidity", 0.0, 100.0),
        ("vapour_pressure", 0.0, 10_000.0),
    ],
)
def test_each_figure_has_its_limits(name: str, low: float, high: float) -> None:
    given: dict[str, Any] = {"temperature": [46.5] * 12, "relative_humidity": [50.0] * 12}
    for value in (low, high):
        figures = given | {name: [value] * 12}
        if name == "vapour_pressure":
            del figures["relative_humidity"]
        made = outdoor_from_months(**figures)
        assert getattr(made, name) == pytest.approx([value] * 12)
    for beyond in (low - 0.01, high + 0.01):
        with pytest.raises(ValueError, match=f"every {name} must lie within"):
            outdoor_from_months(**given | {name: [50.0] * 11 + [beyond]})
    with pytest.raises(ValueError, match=f"{name} needs twelve figures"):
        outdoor_from_months(**given | {name: [50.0] * 11})


def test_temperature_alone_is_not_enough() -> None:
    with pytest.raises(ValueError, match="give relative_humidity or vapour_pressure"):
        outdoor_from_months(MILD)


def test_what_is_told_of_both_is_taken_as_it_is() -> None:
    made = outdoor_from_months(MILD, [70.0] * 12, [900.0] * 12, name="a barn")
    assert (made.name, made.notes) == ("a barn", ())
    assert np.all(made.vapour_pressure == 900.0)
