"""Humidifiers and dehumidifiers: either side of where they begin, stop and ice."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.properties import air
from model.surroundings import machines


def test_panes_as_warm_as_the_room_bear_saturated_air() -> None:
    # Outdoors warmer than the room: nothing drips before the air itself is saturated.
    for panes in machines.SURFACE_FACTOR:
        borne = machines.highest_before_dripping([20.0, 20.0], [20.0, 30.0], panes)
        assert borne == pytest.approx([100.0, 100.0])


def test_double_panes_are_meant_when_none_are_told() -> None:
    # Half the way from 20 to 0 degC: saturation at 10 over that at 20, 1228 and 2339 Pa (tables).
    assert machines.highest_before_dripping(20.0, 0.0) == pytest.approx(52.5, abs=0.1)


def test_its_output_is_counted_from_rated_air_on_and_never_below_nothing() -> None:
    # Rated there (printed): the curve through many machines misses its own point by 1.3 %.
    assert machines.output(26.7, 60.0) == pytest.approx(1.0, abs=0.015)
    assert machines.output(20.0, 20.0) == 0.0
    assert machines.output(-10.0, 30.0) == 0.0


@given(st.floats(10.0, 35.0))
def test_it_takes_out_nothing_below_its_floor_and_something_above(temperature: float) -> None:
    floor = float(machines.driest_reached(temperature))
    assert 5.0 < floor < 50.0
    assert machines.output(temperature, floor - 0.5) == 0.0
    assert 0.0 < machines.output(temperature, floor + 0.5) < 0.02


def test_where_its_curve_has_no_root_it_dries_nothing() -> None:
    assert np.all(machines.driest_reached([-20.0, -10.0]) > 60.0)


def test_thawing_takes_a_share_between_10_and_15_degrees() -> None:
    assert machines.iced([5.0, 10.0, 11.0, 12.5, 15.0, 25.0]).tolist() == pytest.approx(
        [0.0, 0.0, 0.2, 0.5, 1.0, 1.0]
    )
    whole = machines.takes_out([12.5, 20.0], 60.0)
    assert whole == pytest.approx(machines.output([12.5, 20.0], 60.0) * [0.5, 1.0])
    assert machines.takes_out([0.0, 12.5], 60.0, "desiccant").tolist() == [1.0, 1.0]


def test_a_label_of_europe_is_of_warm_damp_air() -> None:
    # At 30 degC and 80 % a machine takes out 1.57 times what it does at 26.7 and 60.
    assert machines.rated_as_usual(15.7) == pytest.approx(10.0, rel=0.005)


def test_a_room_with_a_machine_is_in_balance() -> None:
    outside = float(air.vapour_pressure(8.0, 80.0))
    # Without one: the air's own vapour and the water given off, 3 kg over 24 h x 60 m3/h.
    added = 3.0 / (24.0 * 60.0) * 461.5 * 293.15
    free = 100.0 * (outside + added) / float(air.saturation_pressure(20.0))
    assert machines.humidity_held(20.0, outside, 0.0, 120.0, 0.5, 3.0) == pytest.approx(free)
    # Nothing given off and less than nothing: the machine of no size leaves the air that comes in.
    dry = 100.0 * outside / float(air.saturation_pressure(20.0))
    assert machines.humidity_held(20.0, outside, 0.0, 120.0, 0.5) == pytest.approx(dry)
    # A desiccant one takes out its rating of 2 kg a day, whatever the air.
    held = float(machines.humidity_held(20.0, outside, 2.0, 120.0, 0.5, 3.0, "desiccant"))
    assert held == pytest.approx(dry + (free - dry) / 3.0)
    # With a compressor: what it takes out is what air and wood bring.
    held = float(machines.humidity_held(20.0, outside, 6.0, 120.0, 0.5, 3.0))
    over = outside - float(air.vapour_pressure(20.0, held))
    brought = 24.0 * 60.0 * over / (461.5 * 293.15) + 3.0
    assert 6.0 * float(machines.output(20.0, held)) == pytest.approx(brought, rel=1e-4)


def test_the_water_of_a_day_is_that_of_the_air_changed() -> None:
    # 100 m3 changed each other hour, 1000 Pa at 20 degC: 7.39 g/m3 of 1,200 m3.
    assert machines.water_a_day(100.0, 0.5, 20.0, 1000.0) == pytest.approx(
        1200.0 * 1000.0 / (461.5 * 293.15), rel=1e-4
    )
