"""Conditioning: what heat alone can do, month by month, and what it takes for a slab."""

import numpy as np
import pytest

from model import spread
from model.answers import conditioning, drying
from model.answers.drying import Stock
from model.behaviour import transport, year
from model.behaviour.slab import Slab
from model.properties import species
from model.properties.finishes import Face, Faces
from model.surroundings import shop as shops
from model.surroundings.calendar import MONTH
from model.surroundings.shop import Shop

# A cold inland place made up for these tests: outdoor temperature [degC] and humidity [%] a month.
OUTDOORS = np.array([-12.0, -9.0, -3.0, 5.0, 12.0, 17.0, 20.0, 19.0, 14.0, 8.0, 0.0, -8.0])
VAPOUR = np.array([190.0, 230, 350, 560, 900, 1350, 1650, 1600, 1200, 760, 470, 260])  # Pa
ELM = Slab(species.find("American elm"), 0.6, 0.05, 2.4)
OPEN = Faces(Face(0.0), Face(0.0))


def shop(temperature: float = 18.0, hottest: float = 35.0, vapour: float = 1.0) -> Shop:
    return Shop(OUTDOORS, VAPOUR * vapour, np.full(12, temperature), 150.0, 0.5, hottest)


def stock(moisture: float = 12.0, draws: int = 0, mass: float | None = 50.0) -> Stock:
    mesh = transport.grid(0.05)
    wood = year.wood_of(ELM, spread.draw(draws))
    nodes = np.full(mesh.depth.size, moisture)
    return Stock(mesh, nodes, wood, OPEN, ELM, spread.draw(draws), mass)


def codes(found: conditioning.Conditioning) -> set[str]:
    return {note.code for note in found.notes}


def test_cold_months_over_dry_and_summer_needs_heat() -> None:
    table = conditioning.months(shop(), 8.0)
    means = [one.means for one in table]
    assert means[0] == means[1] == means[11] == "humidify"
    assert means[6] == means[7] == "heat"
    july = table[6]
    assert july.heat_to is not None
    assert july.heat_to.low is not None
    assert july.heat_to.high is not None
    assert 18.0 < july.heat_to.low < july.heat_to.value < july.heat_to.high < 35.0


def test_a_mild_limit_on_heating_leaves_summer_to_a_machine() -> None:
    found = conditioning.condition(stock(), shop(hottest=24.0), 8.0, 150.0, spread=False)
    assert found.months[6].means == "dehumidify"
    assert {"heating-not-enough", "heating-over-dries"} <= codes(found)


def test_the_humidity_to_hold_is_the_one_whose_equilibrium_is_the_target() -> None:
    # Wood Handbook Table 4-2 (printed): 70 degF and 40 % hold 7.7 %, 45 % hold 8.5 %.
    table = conditioning.months(shop(21.1), 7.7, spread=False)
    assert table[0].humidity is not None
    assert table[0].humidity.value == pytest.approx(40.0, abs=0.5)
    assert table[0].humidity.low is None


def test_water_is_the_drop_of_moisture_on_the_oven_dry_mass() -> None:
    # 50 kg oven-dry from 12 to 8 % gives up 2 kg; evaporating it at 20 degC takes 1.36 kWh.
    assert float(drying.water_to_carry(50.0, 12.0, 8.0)) == pytest.approx(2.0)
    assert float(shops.evaporation_heat(2.0, 20.0)) == pytest.approx(1.363, abs=1e-3)


def test_twice_the_thickness_takes_about_four_times_as_long() -> None:
    # Diffusion: time goes with thickness squared (common practice).  A steady plan, so that the
    # seasons do not blur it; the films add a little that does not scale: within 5 %.
    days = []
    plan = drying.by_humidity(shop(20.0), 8.0)
    assert plan is not None
    for thickness in (0.025, 0.05):
        mesh = transport.grid(thickness)
        wood = year.wood_of(ELM, spread.draw(0))
        nodes = np.full(mesh.depth.size, 14.0)
        one = Stock(mesh, nodes, wood, OPEN, ELM, spread.draw(0))
        found = drying.follow(one, plan, shop(20.0), 8.0, 0.0).days_within_1
        assert found is not None
        days.append(found.value)
    assert days[1] / days[0] == pytest.approx(4.0, rel=0.05)


def test_wood_already_at_the_target_needs_no_days_and_carries_no_water() -> None:
    found = conditioning.condition(stock(8.0), shop(), 8.0, 0.0, spread=False)
    assert found.water == pytest.approx(0.0, abs=1e-9)
    assert found.held is not None
    assert found.held.days_within_half == spread.Figure(0.0)
    assert found.held.heat == pytest.approx(0.0, abs=1e-9)


def test_heat_left_on_over_the_winter_over_dries_and_the_held_humidity_does_not() -> None:
    found = conditioning.condition(stock(), shop(), 8.0, 240.0, spread=False)
    assert found.heat_alone is not None
    assert found.held is not None
    assert found.heat_alone.driest < 7.0
    assert found.held.driest > 7.9


def test_a_target_heat_cannot_reach_is_said_and_has_no_days() -> None:
    # 6 % in the tropics: 2,800 Pa all year, the shop at 28 degC, no hotter than 30.
    hot = Shop(np.full(12, 27.0), np.full(12, 2800.0), np.full(12, 28.0), None, None, 30.0)
    found = conditioning.condition(stock(), hot, 6.0, 0.0, spread=False)
    assert all(one.means == "dehumidify" for one in found.months)
    assert found.heat_alone is not None
    assert found.heat_alone.days_within_1 is None
    assert found.held is not None
    assert found.held.days_within_1 is not None
    assert "shop-unknown" in codes(found)
    assert found.months[0].ventilation_heat is None


def test_too_dry_stock_is_damped_by_holding_the_humidity() -> None:
    found = conditioning.condition(stock(5.0), shop(), 9.0, 0.0, spread=False)
    assert found.water is not None
    assert found.water < 0.0
    assert found.evaporation_heat == 0.0
    assert found.held is not None
    assert found.held.water_first_day < 0.0


def test_the_spread_brackets_the_central_days() -> None:
    found = conditioning.condition(stock(12.0, 32), shop(), 8.0, 240.0).held
    assert found is not None
    days = found.days_within_1
    assert days is not None
    assert days.low is not None
    assert days.high is not None
    assert days.low < days.value < days.high
    # Transport is known within a factor of about two (elm: 2.2): so are the days.
    assert 1.3 < days.value / days.low < 5.0


def test_heat_for_ventilation_sums_the_months_it_runs_through() -> None:
    # Held at 18 degC all January (30.44 days): 24 h x 150 m3 x 0.5 x 1.352 kg/m3 x 1006 J/kg K x
    # 30 K = 20.4 kWh a day, by hand.
    a_day = float(shops.ventilation_heat(150.0, 0.5, 18.0, -12.0))
    assert a_day == pytest.approx(20.4, abs=0.1)
    plan = drying.by_humidity(shop(), 8.0)
    assert plan is not None
    begun = drying.ventilation(shop(), plan, 5.0, 10.0)
    assert begun == pytest.approx(10.0 * a_day, rel=1e-6)


def test_a_machine_s_water_is_that_of_the_changed_air_and_evaporating_it_costs_heat() -> None:
    # psychrolib-free by hand: outdoor vapour of 300 Pa warmed to 20 degC holds 300/(461.5 x 293.15)
    # = 2.218 g/m3; 40 % of 2,339.3 Pa (IAPWS-95) is 6.916 g/m3; 100 m3 x 0.5 x 24 h = 1,200 m3.
    water = float(shops.machine_water(100.0, 0.5, 20.0, 300.0, 40.0))
    assert water == pytest.approx(1.2 * (2.218 - 6.916), abs=2e-3)
    found = conditioning.condition(stock(), shop(), 8.0, 0.0, spread=False)
    winter, summer = found.months[0], found.months[6]
    assert winter.machine_water is not None
    assert summer.machine_water is not None
    assert winter.machine_water < 0.0 < summer.machine_water
    plan = drying.by_humidity(shop(), 8.0)
    assert plan is not None
    # January: its water at 2,459 kJ/kg (18 degC, 2,501 - 2.36 T).  1 %: the air goes through the
    # month straight between its days.
    days, still = np.arange(0.0, 61.0), np.full(61, 8.0)
    _, costs, _ = drying.balance_of(0.0, plan, shop(), days, still, 0.0, MONTH)
    assert costs == pytest.approx(-MONTH * winter.machine_water * 2459 / 3600, rel=0.01)
    heated = drying.by_heat(shop(), 8.0)
    _, costs, _ = drying.balance_of(0.0, heated, shop(), days, still, 0.0, MONTH)
    assert costs == pytest.approx(0.0, abs=1e-6)


def test_air_damper_than_the_curve_goes_at_the_warmest_is_held_by_no_heating() -> None:
    # 60 degC saturated holds 19.9 kPa (ASHRAE Fundamentals ch. 1, memory).
    with np.errstate(all="raise"):
        found = shops.temperature_that_holds([600.0, 19_800.0, 30_000.0], 8.0)
    assert np.isfinite(found[0])
    assert np.isnan(found[1:]).all()
