"""Heating and holding air against an independent psychrometric library and rules in print."""

import numpy as np
import psychrolib
import pytest
from scipy.optimize import brentq

from model.answers import conditioning, drying
from model.properties import air, sorption
from model.surroundings import climate, house, machines, shop

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


def test_a_duluth_shop_in_january_by_hand() -> None:
    # Outdoor vapour of Duluth's January (the station's 30 years in climates.csv) plus the 100 Pa of
    # a heated workplace, in 170 m3 changed each other hour, held for 7 % at 18.3 degC.  By hand:
    # 24 x 85 m3 x (h p_s - p)/(461.5 x 291.45), and that water evaporated at 2,501 - 2.36 T kJ/kg
    # with 85 m3/h of air of 1.006 kJ/(kg K) warmed.  2 %.
    place = house.from_climate(climate.find("Duluth, MN"), kind="heated_shop", heat_to=18.3)
    made = shop.shop_of(place, None, 170.0, 0.5)
    month = conditioning.months(made, 7.0, spread=False)[0]
    own, outside = float(made.temperature[0]), float(made.outdoor_temperature[0])
    assert own == pytest.approx(18.3, abs=0.05)
    saturated = psychrolib.GetSatVapPres(own)
    assert month.humidity is not None
    held = month.humidity.value / 100.0
    kelvin = own + 273.15
    put_in = 24.0 * 85.0 * (held * saturated - float(made.vapour_pressure[0])) / (461.5 * kelvin)
    assert month.machine_water == pytest.approx(-put_in, rel=0.02)
    warms = 24.0 * 85.0 * 101_325.0 / (287.05 * (outside + 273.15)) * 1.006 * (own - outside) / 3600
    assert month.ventilation_heat == pytest.approx(warms, rel=0.02)
    plan = drying.by_humidity(made, 7.0)
    assert plan is not None
    # A pinch of wood at the target: January's humidifier and nothing else.
    days, still = np.arange(0.0, 40.0), np.full(40, 7.0)
    balance, costs, _ = drying.balance_of(1e-6, plan, made, days, still, 0.0, 30.0)
    assert balance.added == pytest.approx(30.0 * put_in, rel=0.02)
    assert costs == pytest.approx(30.0 * put_in * (2501.0 - 2.36 * own) / 3600.0, rel=0.02)


def test_a_dehumidifier_in_a_basement_by_another_root_finder() -> None:
    # 18 degC, air of 15 degC and 80 % coming in, 100 m3 at 0.3 changes, wood that gives 4 kg a day,
    # a machine rated 12 kg a day: where it takes out what comes, by scipy's brentq on psychrolib's
    # pressures and the printed curve (Winkler, Christensen & Tomerlin 2011, NREL).  2 %.
    comes = 0.80 * psychrolib.GetSatVapPres(15.0)
    saturated = psychrolib.GetSatVapPres(18.0)

    def surplus(humidity: float) -> float:
        t, h = 18.0, humidity
        share = (
            -1.162525707 + 0.02271469 * t - 0.000113208 * t * t
            + 0.021110538 * h - 0.0000693034 * h * h + 0.000378843 * t * h
        )  # fmt: skip
        carried = 24.0 * 30.0 * (h / 100.0 * saturated - comes) / (461.5 * 291.15)
        return float(4.0 - carried - 12.0 * max(share, 0.0))

    expected = brentq(surplus, 20.0, 99.0)
    found = float(machines.humidity_held(18.0, comes, 12.0, 100.0, 0.3, 4.0))
    assert found == pytest.approx(expected, rel=0.02)
    # A label of Europe of the same machine reads 1.572 times that (30 degC, 80 %; printed labels).
    assert machines.rated_as_usual(12.0 * 1.572) == pytest.approx(12.0, rel=0.001)


@pytest.mark.parametrize(
    ("temperature", "humidity", "share"),
    [
        (18.3, 60.0, 0.648),
        (20.0, 60.0, 0.718),
        (20.0, 50.0, 0.508),
        (20.0, 40.0, 0.283),
        (10.0, 60.0, 0.298),
    ],
)
def test_what_a_dehumidifier_keeps_of_its_rating_by_hand(
    temperature: float, humidity: float, share: float
) -> None:
    # The printed curve (Winkler, Christensen & Tomerlin 2011, NREL) worked by hand to three places;
    # machines re-labelled from 30 to 20 pints for 18.3 degC keep 0.667 (printed).
    assert float(machines.output(temperature, humidity)) == pytest.approx(share, abs=6e-4)


def test_evaporation_takes_068_kwh_a_kilogram() -> None:
    # Common practice; 2,501 - 2.36 T kJ/kg (ASHRAE Fundamentals ch. 1, memory) at 20 degC.
    assert float(shop.evaporation_heat(1.0, 20.0)) == pytest.approx(0.68, abs=0.005)
