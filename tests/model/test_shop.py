"""The air of a shop: what heat and machines do to it, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from model.properties import air, sorption
from model.surroundings import house, machines, room, shop
from model.surroundings.climate import outdoor_from_months

COLD = outdoor_from_months([-12.0, -9, -3, 5, 12, 17, 20, 19, 13, 7, -1, -9], [75.0] * 12)


def test_a_shop_of_a_climate_has_the_outdoors_to_warm_and_one_of_months_itself() -> None:
    heated = house.from_climate(COLD, kind="heated_shop", heat_to=15.0)
    made = shop.shop_of(heated)
    assert made.outdoor_temperature.tolist() == COLD.temperature.tolist()
    assert made.temperature.tolist() == heated.temperature.tolist()
    vapour = air.vapour_pressure(heated.temperature, heated.relative_humidity)
    assert made.vapour_pressure == pytest.approx(vapour)
    own = shop.shop_of(room.from_months([12.0] * 12, [60.0] * 12), 18.0, 80.0, 0.5, 28.0)
    assert own.outdoor_temperature.tolist() == [12.0] * 12
    assert own.temperature.tolist() == [18.0] * 12
    assert own.vapour_pressure == pytest.approx(0.6 * float(air.saturation_pressure(12.0)))
    assert (own.volume, own.air_changes, own.hottest) == (80.0, 0.5, 28.0)
    assert own.air_changed == 40.0
    assert made.hottest == 35.0  # a shop people still work in (judgement)


def test_the_air_changed_is_known_from_both_figures_alone() -> None:
    source = room.constant(15.0, 60.0)
    assert shop.shop_of(source).air_changed is None
    assert shop.shop_of(source, volume=80.0).air_changed is None
    assert shop.shop_of(source, air_changes=0.5).air_changed is None


def made(**more: object) -> shop.Shop:
    warm = np.array([5.0, 9.99, 10.0, 20.0] * 3)
    return shop.Shop(warm - 15.0, np.full(12, 500.0), warm, **more)  # type: ignore[arg-type]


def test_windows_drip_by_their_panes_and_none_where_there_are_none() -> None:
    assert made().drips_above.tolist() == [100.0] * 12
    # Single panes, 15 K between: a quarter of the way in, 8.75 degC in a shop of 20 degC. Steam
    # tables: 1072.8 Pa at 8 degC, 1147.9 at 9, so 1129 of 2339 Pa.
    assert made(panes="single").drips_above[3] == pytest.approx(48.27, abs=0.1)


def test_a_compressor_dries_from_10_degrees_and_a_desiccant_one_always() -> None:
    assert made(kind="desiccant").driest_by_machine.tolist() == [0.0] * 12
    driest = made().driest_by_machine
    assert driest[:2].tolist() == [200.0, 200.0]
    assert driest[2:4] == pytest.approx([43.0, 28.0], abs=0.5)
    assert driest[2:4] == pytest.approx(machines.driest_reached([10.0, 20.0]))


@pytest.mark.parametrize("temperature", [-19.9, 0.0, 20.0, 59.9])
def test_the_temperature_that_holds_a_moisture_holds_it(temperature: float) -> None:
    for percent in (20.0, 60.0):
        vapour = float(air.vapour_pressure(temperature, percent))
        moisture = float(sorption.equilibrium_moisture(temperature, percent))
        found = shop.temperature_that_holds(vapour, moisture)
        assert found == pytest.approx(temperature, abs=1e-6)


def test_none_between_minus_20_and_60_degrees_is_told_by_no_number() -> None:
    for temperature, holds in ((-20.5, False), (-19.5, True), (59.5, True), (60.5, False)):
        vapour = float(air.vapour_pressure(temperature, 40.0))
        moisture = float(sorption.equilibrium_moisture(min(temperature, 60.0), 40.0))
        found = shop.temperature_that_holds(vapour, moisture)
        assert bool(np.isfinite(found)) is holds


def test_a_damper_target_than_saturated_air_holds_is_met_by_none() -> None:
    # 600 Pa saturate at -0.2 degC: colder air would be wetter than the curve goes.
    assert np.isnan(shop.temperature_that_holds(600.0, 29.0))
    assert np.isfinite(shop.temperature_that_holds(600.0, 18.0))
    # At 20 degC this vapour is the 98 % at which the curve ends: colder, its air is damper.
    vapour = float(air.vapour_pressure(20.0, 98.0))
    highest = float(sorption.equilibrium_moisture(20.0, 98.0))
    assert shop.temperature_that_holds(vapour, highest - 1e-3) == pytest.approx(20.0, abs=0.01)
    colder = float(sorption.equilibrium_moisture(19.9, 98.0))
    assert highest + 0.001 < colder
    assert np.isnan(shop.temperature_that_holds(vapour, colder))


def test_heat_to_air_a_shop() -> None:
    # 100 m3 at half an hour from 0 to 20 degC: 1,200 m3 of 1.293 kg/m3, 20.12 kJ/kg.
    assert shop.ventilation_heat(100.0, 0.5, 20.0, 0.0) == pytest.approx(
        1200.0 * 1.2929 * 20.12 / 3600.0, rel=1e-3
    )
    assert shop.ventilation_heat(100.0, 0.5, [10.0, 20.0], 20.0).tolist() == [0.0, 0.0]


def test_heat_to_evaporate_water() -> None:
    # 2501 kJ/kg at 0 degC and 2.36 less a kelvin (ASHRAE Fundamentals ch. 1, memory).
    assert shop.evaporation_heat([1.0, 10.0], [0.0, 50.0]).tolist() == pytest.approx(
        [2501.0 / 3600.0, 23830.0 / 3600.0]
    )


def test_drying_wood_dampens_a_shop() -> None:
    # 2 kg a day into 40 m3/h at 20 degC: 2.083 g/m3 of the 17.28 that saturate (steam tables).
    assert shop.humidity_rise(2.0, 80.0, 0.5, 20.0) == pytest.approx(
        100.0 * 2.0833 / 17.28, rel=2e-3
    )


def test_water_to_put_in_or_take_out() -> None:
    # 2339 Pa saturate at 20 degC; 1,200 m3 a day.
    for percent, vapour in ((40.0, 1200.0), (60.0, 900.0)):
        grams = (vapour - percent * 23.39) / (461.5 * 293.15)
        assert shop.machine_water(100.0, 0.5, 20.0, vapour, percent) == pytest.approx(
            1200.0 * grams, rel=1e-3
        )
