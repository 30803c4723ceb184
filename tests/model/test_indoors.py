"""Rules of rooms: corners of each curve, by hand."""

from __future__ import annotations

import pytest

from model.properties import air
from model.surroundings import indoors


def test_a_heated_room_leaves_its_setting_between_5_and_15_degrees_outdoors() -> None:
    # EN 15251 (memory): comfort 0.33 T + 18.8; at 10 degC 22.1, half of the way there from 20.
    warm = indoors.heated_temperature([-30.0, 5.0, 6.0, 10.0, 15.0, 20.0], 20.0)
    assert warm.tolist() == pytest.approx([20.0, 20.0, 20.078, 21.05, 23.75, 25.4])
    # Never below its setting, and 1.9 K above outdoors at the least.
    assert indoors.heated_temperature([15.0, 20.0], 27.0).tolist() == [27.0, 27.0]
    assert indoors.heated_temperature([24.0, 30.0, 35.0], 20.0).tolist() == pytest.approx(
        [26.72, 31.9, 36.9]
    )


def test_an_unheated_room_is_27_to_19_tenths_warmer() -> None:
    found = indoors.unheated_temperature([10.0, 24.0, 26.5, 29.0, 40.0])
    assert found.tolist() == pytest.approx([12.7, 26.7, 28.8, 30.9, 41.9])


def test_vapour_of_people_falls_straight_between_its_points() -> None:
    found = indoors.vapour_excess([-30.0, -15.0, -12.5, -5.0, 5.0, 15.0, 20.0, 30.0])
    assert found.tolist() == pytest.approx([600.0, 600.0, 575.0, 450.0, 275.0, 120.0, 40.0, 40.0])
    assert indoors.vapour_excess(0.0, "lightly") == 175.0
    assert indoors.vapour_excess(0.0, "crowded") == 525.0
    assert indoors.vapour_excess(0.0, "crowded", balanced=True) == pytest.approx(0.65 * 525.0)
    assert indoors.vapour_excess([-10.0, 10.0, 17.5, 20.0, 30.0], "no").tolist() == [
        100.0, 100.0, 25.0, 0.0, 0.0,
    ]  # fmt: skip


def test_a_balance_of_water_lacks_nothing() -> None:
    # 4 kg a day into 200 m3 changed each other hour: 4/2400 kg/m3, times 461.5 x 293.15.
    assert indoors.balance_excess(20.0, 4.0, 0.5, 200.0) == pytest.approx(225.48, rel=1e-4)
    for lacking in ((None, 0.5, 200.0), (4.0, None, 200.0), (4.0, 0.5, None)):
        with pytest.raises(ValueError, match="needs generation, air_changes and volume"):
            indoors.balance_excess(20.0, *lacking)


def test_cooling_runs_from_two_kelvin_below_its_setting_to_one_above() -> None:
    share = indoors.cooled_share([20.0, 22.0, 22.75, 23.5, 25.0, 30.0], 24.0)
    assert share.tolist() == pytest.approx([0.0, 0.0, 0.25, 0.5, 1.0, 1.0])


def test_cooled_air_is_36_percent_and_more_by_the_gram_up_to_65() -> None:
    humid = indoors.cooled_humidity([0.0, 0.008, 0.02319, 0.02321, 0.03])
    assert humid.tolist() == pytest.approx([36.0, 46.0, 64.9875, 65.0, 65.0])


def test_cooling_dries_the_air_by_its_share_and_never_adds() -> None:
    # 12 g/kg outdoors at sea level: 12/(621.98 + 12) of 101325 Pa; the room at 24 degC, 51 %.
    outside = 101_325.0 * 0.012 / 0.633945
    held = 0.51 * float(air.saturation_pressure(24.0))
    through = indoors.cooled_pressure(30.0, 2200.0, outside, 24.0)
    assert through == pytest.approx(held, rel=1e-3)
    half = indoors.cooled_pressure(23.5, 2200.0, outside, 24.0)
    cooler = 0.51 * float(air.saturation_pressure(23.5))
    assert half == pytest.approx(0.5 * (2200.0 + cooler), rel=1e-3)
    assert indoors.cooled_pressure(30.0, 900.0, outside, 24.0) == pytest.approx(900.0)
    # 2,000 m up the air weighs 79.5 kPa (ISO 2533): the same vapour is more grams a kilogram.
    high = indoors.cooled_pressure(30.0, 2200.0, outside, 24.0, 2000.0)
    grams = 621.945 * outside / (79_495.0 - outside)
    percent = (36.0 + 1.25 * grams) / 100.0
    assert high == pytest.approx(percent * float(air.saturation_pressure(24.0)), rel=1e-3)


def test_a_part_heated_room_lies_part_of_the_way_to_outdoors() -> None:
    assert indoors.part_heated_temperature([-10.0, 10.0], 20.0, 0.4).tolist() == [8.0, 16.0]
