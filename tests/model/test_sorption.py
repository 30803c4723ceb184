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


@pytest.mark.parametrize("factors", [(1.0, 1.0), (0.87, 0.74)])
def test_the_table_holds_every_branch_to_what_it_promises(factors: tuple[float, float]) -> None:
    # Between its rows and columns; the inverse of the curves is worked out in another way.  Where
    # the factor of a wood begins to turn, at 60 %, straight between columns is 0.055 off.
    curve = sorption.tabulated(*factors)
    moisture = np.arange(2.05, 16.0, 0.5)
    allowed = 0.02 if factors == (1.0, 1.0) else 0.06
    at_60, at_90 = factors
    for warmth in (0.5, 20.5, 59.5):
        humidity = sorption.humidity_of_moisture(warmth, moisture, at_60=at_60, at_90=at_90)
        found = np.interp(moisture, curve.moisture, curve.at(warmth)[:, 0])
        assert 100.0 * found == pytest.approx(humidity, abs=allowed)
        factor = sorption.species_factor(humidity, *factors)
        for name in ("drying", "wetting"):
            held = factor * sorption.branch_moisture(warmth, humidity, name)
            assert curve.branch(name, warmth, moisture) == pytest.approx(held, abs=0.005)


def test_the_table_reaches_from_20_below_to_110_and_stays_at_its_ends() -> None:
    curve = sorption.tabulated()
    assert (curve.coldest, curve.coldest + curve.warmer * (len(curve.values) - 1)) == (-20.0, 110.0)
    assert (curve.moisture[0], curve.moisture[-1]) == pytest.approx((0.0, 36.0))
    assert np.array_equal(curve.at(-60.0), curve.values[0])
    # It stops a thousandth of a row short of its last.
    assert curve.at(200.0) == pytest.approx(curve.values[-1], abs=5e-5)
    assert curve.at(20.0)[:, 0].max() == 1.0
    assert not curve.values.flags.writeable


def test_in_saturated_air_the_branches_are_one_and_go_straight_on() -> None:
    curve = sorption.tabulated()
    saturated = float(sorption.equilibrium_moisture(20.0, 100.0))
    beyond = curve.moisture[curve.moisture > saturated]
    assert beyond.size > 20
    for column in (1, 2):
        held = curve.at(20.0)[curve.moisture > saturated, column]
        assert held == pytest.approx(beyond, abs=1e-9)
    for name in ("drying", "wetting"):
        assert curve.branch(name, 20.0, np.array([35.0, 60.0])) == pytest.approx([35.0, 60.0])


def test_the_curve_of_20_below_is_used_in_greater_cold() -> None:
    cold, colder, warmer = (sorption.coefficients(t) for t in (-20.0, -45.0, -19.0))
    assert cold == colder
    assert all(one != other for one, other in zip(cold, warmer, strict=True))


def test_the_factor_of_a_wood_turns_between_60_and_90_percent() -> None:
    found = sorption.species_factor([0.0, 60.0, 61.0, 75.0, 89.0, 90.0, 100.0], 0.9, 0.6)
    assert found == pytest.approx([0.9, 0.9, 0.89, 0.75, 0.61, 0.6, 0.6])
    plain = sorption.equilibrium_moisture(20.0, 75.0)
    back = sorption.humidity_of_moisture(20.0, 0.75 * plain, at_60=0.9, at_90=0.6)
    assert float(back) == pytest.approx(75.0, abs=1e-9)


def test_dried_wood_is_brought_on_along_its_branches() -> None:
    # Drier: where the drying branch holds the target.  Much damper: where the wetting branch does.
    # A little damper: the loop is as steep as told, here 0.7 of the mean curve.
    warmth = np.array([[5.0], [30.0]])
    for at_60, at_90 in ((1.0, 1.0), (0.87, 0.74)):
        drier = sorption.humidity_to_reach(warmth, 12.0, 8.0, 0.7, at_60, at_90)
        exact = sorption.humidity_of_moisture(warmth, 8.0, "drying", at_60=at_60, at_90=at_90)
        assert drier == pytest.approx(exact, abs=0.05)
        assert drier.shape == (2, 1)
        damper = sorption.humidity_to_reach(warmth, 6.0, 12.0, 0.7, at_60, at_90)
        exact = sorption.humidity_of_moisture(warmth, 12.0, "wetting", at_60=at_60, at_90=at_90)
        assert damper == pytest.approx(exact, abs=0.05)
    still = float(sorption.humidity_of_moisture(20.0, 8.0, "drying"))
    little = float(sorption.humidity_to_reach(20.0, 8.0, 8.2, 0.7))
    rise = 0.7 * float(sorption.slope(20.0, 0.5 * (still + little)))
    assert little == pytest.approx(still + 0.2 / rise, abs=0.05)


def test_a_target_that_98_percent_does_not_hold_is_out_of_reach() -> None:
    most = float(sorption.branch_moisture(20.0, 98.0, "wetting"))
    assert float(sorption.humidity_to_reach(20.0, 8.0, most - 0.05, 0.7)) < 98.0
    assert np.isnan(sorption.humidity_to_reach(20.0, 8.0, most + 0.05, 0.7))
