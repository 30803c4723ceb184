"""Moist air: what must hold whatever the figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.properties import air

temperatures = st.floats(-20.0, 60.0)  # degC
humidities = st.floats(1.0, 100.0)  # %


@given(temperatures, humidities)
def test_humidity_comes_back_from_its_vapour_pressure(temperature: float, humidity: float) -> None:
    pressure = air.vapour_pressure(temperature, humidity)
    assert float(air.relative_humidity(temperature, pressure)) == pytest.approx(humidity, rel=1e-12)


@given(st.floats(-60.0, 100.0))
def test_dew_point_undoes_saturation(temperature: float) -> None:
    back = float(air.dew_point(air.saturation_pressure(temperature)))
    assert back == pytest.approx(temperature, abs=1e-9)  # K; what the function promises


@given(temperatures, humidities)
def test_dew_point_never_stands_above_the_temperature(temperature: float, humidity: float) -> None:
    dew = float(air.dew_point(air.vapour_pressure(temperature, humidity)))
    assert dew <= temperature + 1e-9


@given(st.floats(0.0, 90.0), st.floats(0.0, 100.0))
def test_vapour_pressure_comes_back_from_the_wet_bulb(temperature: float, humidity: float) -> None:
    pressure = float(air.vapour_pressure(temperature, humidity))
    bulb = air.wet_bulb(temperature, pressure)
    back = float(air.pressure_of_wet_bulb(temperature, bulb))
    # 1e-6 K of wet bulb is up to 3e-3 Pa at 90 degC, where saturation rises by 2.7 kPa a degree.
    assert back == pytest.approx(pressure, abs=0.01)


@given(temperatures, humidities)
def test_wet_bulb_lies_between_dew_point_and_temperature(
    temperature: float, humidity: float
) -> None:
    pressure = air.vapour_pressure(temperature, humidity)
    bulb = float(air.wet_bulb(temperature, pressure))
    # Below freezing the bulb carries ice and the dew point is over water: only the upper side holds
    # for air above ice saturation.
    assert bulb <= temperature + 1e-6
    if pressure <= air.saturation_pressure_over_ice(min(temperature, 0.0)):
        assert bulb >= float(air.dew_point(pressure)) - 1e-6


def test_warming_air_never_cools_its_wet_bulb() -> None:
    # Through the band where the bulb may carry ice or water, in steps of 0.01 K.
    warming = np.linspace(-5.0, 30.0, 3501)
    for pressure in np.linspace(50.0, 600.0, 56):
        bulbs = air.wet_bulb(warming, pressure)
        # 2e-6 K: twice the tolerance of the search.
        assert np.all(np.diff(bulbs) >= -2e-6), f"at a vapour pressure of {pressure} Pa"


@given(temperatures, humidities, humidities)
def test_damper_air_has_the_higher_wet_bulb(temperature: float, one: float, other: float) -> None:
    drier, damper = sorted((one, other))
    bulbs = air.wet_bulb(temperature, air.vapour_pressure(temperature, [drier, damper]))
    assert bulbs[1] >= bulbs[0] - 2e-6


@given(st.floats(1.0, 50_000.0), st.floats(60_000.0, 110_000.0))
def test_vapour_pressure_comes_back_from_the_humidity_ratio(vapour: float, total: float) -> None:
    back = float(air.pressure_of_ratio(air.humidity_ratio(vapour, total), total))
    assert back == pytest.approx(vapour, rel=1e-12)


@given(temperatures, humidities, temperatures)
def test_air_warmed_and_cooled_again_is_the_same_air(
    temperature: float, humidity: float, other: float
) -> None:
    warmed = air.heated(temperature, humidity, other)
    assert float(air.heated(other, warmed, temperature)) == pytest.approx(humidity, rel=1e-12)


@given(temperatures, humidities, st.floats(0.1, 20.0))
def test_warming_air_makes_it_drier(temperature: float, humidity: float, warming: float) -> None:
    assert float(air.heated(temperature, humidity, temperature + warming)) < humidity


def test_water_and_ice_saturate_alike_at_the_triple_point() -> None:
    # 611.657 Pa at 0.01 degC: triple point of water (IAPWS, memory).
    assert float(air.saturation_pressure(0.01)) == pytest.approx(611.657, abs=0.001)
    assert float(air.saturation_pressure_over_ice(0.01)) == pytest.approx(611.657, abs=0.001)


def test_concentration_is_that_of_an_ideal_gas() -> None:
    # p M / (R T) with M 18.015 g/mol and R 8.314462 J/(mol K).
    expected = 1169.4 * 0.018015 / (8.314462 * 293.15)
    # 461.5 J/(kg K) is rounded to 0.005 %.
    assert float(air.concentration(20.0, 1169.4)) == pytest.approx(expected, rel=1e-4)


def test_arrays_broadcast_together() -> None:
    temperature = np.array([[10.0], [20.0]])
    humidity = np.array([30.0, 50.0, 70.0])
    pressure = air.vapour_pressure(temperature, humidity)
    assert pressure.shape == (2, 3)
    assert air.wet_bulb(temperature, pressure).shape == (2, 3)
    assert float(air.wet_bulb(20.0, float(pressure[1, 1]))) == pytest.approx(
        float(air.wet_bulb(temperature, pressure)[1, 1]), abs=1e-9
    )


@pytest.mark.parametrize("pressure", [0.0, -1.0, float("nan"), float("inf")])
def test_air_without_vapour_has_no_dew_point(pressure: float) -> None:
    with pytest.raises(ValueError, match="above 0 Pa"):
        air.dew_point([1000.0, pressure])
