"""Sorption: what must hold whatever the figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.properties import sorption

BRANCHES: tuple[sorption.Branch, ...] = ("mean", "drying", "wetting")

temperatures = st.floats(-10.0, 60.0)  # degC
humidities = st.floats(0.0, sorption.HIGHEST_HUMIDITY)  # %
branches = st.sampled_from(BRANCHES)


@pytest.mark.parametrize("branch", BRANCHES)
def test_humidity_comes_back_from_moisture_on_a_grid(branch: sorption.Branch) -> None:
    temperature = np.linspace(-10.0, 60.0, 71)[:, None]
    humidity = np.linspace(0.0, 98.0, 981)
    moisture = sorption.branch_moisture(temperature, humidity, branch)
    back = sorption.humidity_of_moisture(temperature, moisture, branch)
    # 1e-9 % of humidity is the promise (1e-12 measured).
    assert np.abs(back - humidity).max() < 1e-9


@given(temperatures, humidities, branches)
def test_humidity_comes_back_from_moisture(
    temperature: float, humidity: float, branch: sorption.Branch
) -> None:
    moisture = sorption.branch_moisture(temperature, humidity, branch)
    back = float(sorption.humidity_of_moisture(temperature, moisture, branch))
    assert back == pytest.approx(humidity, abs=1e-9)


@given(temperatures, humidities, branches)
def test_moisture_comes_back_from_its_humidity(
    temperature: float, humidity: float, branch: sorption.Branch
) -> None:
    moisture = float(sorption.branch_moisture(temperature, humidity, branch))
    found = sorption.humidity_of_moisture(temperature, moisture, branch)
    again = float(sorption.branch_moisture(temperature, found, branch))
    assert again == pytest.approx(moisture, abs=1e-9)


@given(temperatures, st.floats(0.0, 97.9), st.floats(1e-3, 20.0), branches)
def test_damper_air_holds_more_moisture(
    temperature: float, humidity: float, more: float, branch: sorption.Branch
) -> None:
    damper = min(humidity + more, sorption.HIGHEST_HUMIDITY)
    drier = float(sorption.branch_moisture(temperature, humidity, branch))
    assert float(sorption.branch_moisture(temperature, damper, branch)) > drier


@given(st.floats(5.0, 55.0), st.floats(1.0, 98.0), st.floats(0.5, 5.0))
def test_warmer_air_of_the_same_humidity_holds_less_moisture(
    temperature: float, humidity: float, warmer: float
) -> None:
    # From 5 degC on; colder than that the fitted curve turns at both ends (by 0.06 % M a degree at
    # -10 degC and 98 %), which is the fit and not the wood.
    cool = float(sorption.equilibrium_moisture(temperature, humidity))
    assert float(sorption.equilibrium_moisture(temperature + warmer, humidity)) < cool


@given(temperatures, st.floats(0.01, sorption.HIGHEST_HUMIDITY))
def test_branches_enclose_their_mean(temperature: float, humidity: float) -> None:
    mean = float(sorption.branch_moisture(temperature, humidity, "mean"))
    wetting = float(sorption.branch_moisture(temperature, humidity, "wetting"))
    drying = float(sorption.branch_moisture(temperature, humidity, "drying"))
    assert wetting < mean < drying
    assert 0.5 * (wetting + drying) == pytest.approx(mean, rel=1e-12)


@given(temperatures, st.floats(0.1, 97.9))
def test_slope_is_the_derivative_of_the_curve(temperature: float, humidity: float) -> None:
    step = 1e-3  # % RH; the difference's own error is below 2e-9 of the slope
    above = float(sorption.equilibrium_moisture(temperature, humidity + step))
    below = float(sorption.equilibrium_moisture(temperature, humidity - step))
    slope = float(sorption.slope(temperature, humidity))
    assert slope == pytest.approx((above - below) / (2.0 * step), rel=1e-7)


def test_dry_air_dries_wood_out() -> None:
    assert float(sorption.equilibrium_moisture(20.0, 0.0)) == 0.0
    for branch in BRANCHES:
        assert float(sorption.humidity_of_moisture(20.0, 0.0, branch)) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("branch", BRANCHES)
def test_moisture_no_air_in_range_can_hold_has_no_humidity(branch: sorption.Branch) -> None:
    most = float(sorption.branch_moisture(20.0, sorption.HIGHEST_HUMIDITY, branch))
    found = sorption.humidity_of_moisture(20.0, [-0.1, most, most + 0.01], branch)
    assert np.isnan(found[0])
    assert float(found[1]) == pytest.approx(sorption.HIGHEST_HUMIDITY, abs=1e-9)
    assert np.isnan(found[2])


def test_the_inverse_keeps_shapes_and_does_not_mix_its_entries() -> None:
    temperature = np.array([[0.0], [20.0], [40.0]])
    moisture = np.array([3.0, 8.0, 14.0, 20.0])
    together = sorption.humidity_of_moisture(temperature, moisture)
    assert together.shape == (3, 4)
    for row, warmth in enumerate(temperature[:, 0]):
        for column, held in enumerate(moisture):
            alone = float(sorption.humidity_of_moisture(warmth, held))
            assert float(together[row, column]) == pytest.approx(alone, abs=1e-9)
    assert sorption.humidity_of_moisture(20.0, np.empty(0)).shape == (0,)


def test_damper_air_never_dries_wood_in_any_cold_that_a_room_may_have() -> None:
    # The polynomials as published give -94 % in air of -60 degC and 98 % relative humidity.
    temperature = np.linspace(-70.0, 80.0, 151)[:, None]
    moisture = sorption.equilibrium_moisture(temperature, np.linspace(0.0, 98.0, 197))
    assert moisture.min() >= 0.0
    assert np.diff(moisture, axis=1).min() > 0.0


@pytest.mark.parametrize("temperature", [-19.1, 20.9, 59.5])
def test_the_table_goes_straight_from_row_to_row(temperature: float) -> None:
    # Against the curve itself (eq. 4-5): the table promises 0.02 % of humidity.
    curve = sorption.tabulated()
    column = 100
    assert curve.moisture[column] == pytest.approx(10.0)
    found = float(curve.at(temperature)[column, 0])
    if temperature >= -10.0:
        exact = float(sorption.humidity_of_moisture(temperature, 10.0))
        assert 100.0 * found == pytest.approx(exact, abs=0.02)
    low, high = curve.at(np.floor(temperature)), curve.at(np.ceil(temperature))
    share = temperature - np.floor(temperature)
    assert found == pytest.approx(float(((1.0 - share) * low + share * high)[column, 0]))
