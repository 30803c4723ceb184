"""Heating and holding air against an independent psychrometric library and rules in print."""

import numpy as np
import psychrolib
import pytest

from model.properties import air, sorption
from model.surroundings import shop

psychrolib.SetUnitSystem(psychrolib.SI)
PRESSURE = 101_325.0  # Pa


@pytest.mark.parametrize("outdoors", [(0.0, 85.0), (5.0, 80.0), (10.0, 75.0), (20.0, 65.0)])
@pytest.mark.parametrize("target", [6.0, 8.0, 10.0])
def test_the_temperature_to_heat_to_is_the_one_psychrolib_agrees_with(
    outdoors: tuple[float, float], target: float
) -> None:
    # psychrolib 2.5 (MIT), ASHRAE Handbook of Fundamentals 2017: the outdoor air warmed at constant
    # humidity ratio to our temperature has, by psychrolib, a humidity whose equilibrium is the
    # target.  0.02 % M: our saturation pressure is within 0.05 % of psychrolib's.  From 0 degC up:
    # below, psychrolib counts humidity over ice, the weather services and this model over water.
    temperature, humidity = outdoors
    ratio = psychrolib.GetHumRatioFromRelHum(temperature, humidity / 100.0, PRESSURE)
    vapour = psychrolib.GetVapPresFromHumRatio(ratio, PRESSURE)
    found = float(shop.temperature_that_holds(vapour, target))
    warmed = psychrolib.GetRelHumFromHumRatio(found, ratio, PRESSURE)
    held = float(sorption.equilibrium_moisture(found, 100.0 * warmed))
    assert held == pytest.approx(target, abs=0.02)


def test_ventilation_heat_is_the_change_of_enthalpy_psychrolib_finds() -> None:
    # 100 m3 at half an air change an hour, from 0 to 20 degC at constant humidity ratio, by
    # psychrolib's moist-air enthalpy and density; ours leaves the vapour's own heat capacity out
    # (under 1 % at 3 g/kg) and takes the density of dry air: 1.5 %.
    ratio = psychrolib.GetHumRatioFromRelHum(0.0, 0.8, PRESSURE)
    volume = psychrolib.GetMoistAirVolume(0.0, ratio, PRESSURE)
    rise = psychrolib.GetMoistAirEnthalpy(20.0, ratio) - psychrolib.GetMoistAirEnthalpy(0.0, ratio)
    printed = 24.0 * 100.0 * 0.5 / volume * rise / 3.6e6
    assert float(shop.ventilation_heat(100.0, 0.5, 20.0, 0.0)) == pytest.approx(printed, rel=0.015)


def test_humidity_added_by_the_wood_follows_psychrolibs_vapour_balance() -> None:
    # 2 kg of water a day into 150 m3 at half an air change an hour is 1.111 g per m3 of air; on
    # air at 20 degC and 40 %, through psychrolib's humidity ratio.  1.5 %: at one total pressure
    # the vapour added displaces 1.1 % of the air that our balance leaves in place.
    ratio = psychrolib.GetHumRatioFromRelHum(20.0, 0.40, PRESSURE)
    volume = psychrolib.GetMoistAirVolume(20.0, ratio, PRESSURE)
    wetter = psychrolib.GetRelHumFromHumRatio(20.0, ratio + 2.0 / (24 * 75.0) * volume, PRESSURE)
    ours = shop.humidity_rise(2.0, 150.0, 0.5, 20.0)
    assert ours == pytest.approx(100.0 * wetter - 40.0, rel=0.015)


@pytest.mark.parametrize("outdoors", [-5.0, 5.0, 15.0])
def test_heating_stored_lumbers_air_lowers_its_equilibrium_step_by_step(outdoors: float) -> None:
    # Wood Handbook FPL-GTR-190 ch. 13, storage (printed rule): warming the air of a closed store
    # above the outdoor temperature lowers the humidity and with it the lumber's equilibrium.
    vapour = float(air.vapour_pressure(outdoors, 75.0))
    warmer = outdoors + np.arange(0.0, 25.0, 2.5)
    settles = sorption.equilibrium_moisture(warmer, air.relative_humidity(warmer, vapour))
    assert np.all(np.diff(settles) < 0.0)
    # and the inverse walks back along the same line: 1e-6 K
    back = shop.temperature_that_holds(vapour, settles)
    np.testing.assert_allclose(back, warmer, atol=1e-6)


def test_humidity_halves_for_each_11_kelvin_as_the_rule_of_the_trade_has_it() -> None:
    # Common practice, no source: relative humidity halves for each 20 degF (11 K) of warming.  By
    # the saturation curve it is 0.46 to 0.53 between 0 and 30 degC.
    for start in (0.0, 10.0, 20.0):
        assert float(air.heated(start, 80.0, start + 11.1)) == pytest.approx(40.0, rel=0.1)


def test_a_shed_11_kelvin_above_a_damp_outdoors_brings_lumber_from_15_to_7_percent() -> None:
    # Wood Handbook FPL-GTR-190 Table 4-2 (printed): 50 degF and 75 % hold 14.8 %; 70 degF hold
    # 6.9 % at 35 % and 7.7 % at 40 %, so 7.3 % at the 37.5 % of the halving rule, which itself is
    # 0.7 points of humidity, 0.1 % M, from the exact 36.8 %.
    vapour = float(air.vapour_pressure(10.0, 75.0))
    outside = float(sorption.equilibrium_moisture(10.0, 75.0))
    inside = float(sorption.equilibrium_moisture(21.1, air.relative_humidity(21.1, vapour)))
    assert outside == pytest.approx(14.8, abs=0.1)
    assert inside == pytest.approx(7.3, abs=0.2)


@pytest.mark.parametrize(
    ("temperature", "vapour", "hold"), [(18.0, 300.0, 40.0), (28.0, 2600.0, 45.0)]
)
def test_a_machine_s_water_is_the_difference_of_psychrolib_s_vapour_densities(
    temperature: float, vapour: float, hold: float
) -> None:
    # psychrolib 2 (ASHRAE 2017): humidity ratio over the volume of a kilogram of dry air.  Both
    # take ideal gases; 0.1 % for the vapour pressure formula and the gas constants.

    def density(partial: float) -> float:
        ratio = psychrolib.GetHumRatioFromVapPres(partial, PRESSURE)
        return float(ratio / psychrolib.GetMoistAirVolume(temperature, ratio, PRESSURE))

    held = hold / 100.0 * psychrolib.GetSatVapPres(temperature)
    expected = 24.0 * 150.0 * 0.5 * (density(vapour) - density(held))
    found = float(shop.machine_water(150.0, 0.5, temperature, vapour, hold))
    assert found == pytest.approx(expected, rel=1e-3)
