"""What heating, cooling and machines make of a room: thresholds on either side, and by hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.properties import air
from model.surroundings import climate, house, indoors, living, machines, room
from model.surroundings.air_series import Air
from model.surroundings.climate import Outdoor, outdoor_from_months

# An inland place with cold winters and damp summers, invented for these tests.
COLD = outdoor_from_months(
    [-12.0, -9.0, -3.0, 5.0, 12.0, 17.0, 20.0, 19.0, 13.0, 7.0, -1.0, -9.0],
    [76, 74, 72, 66, 64, 68, 70, 74, 76, 73, 77, 79],
)
outdoors = st.builds(
    lambda degrees, percent: outdoor_from_months(degrees, percent),
    st.lists(st.floats(-25.0, 35.0), min_size=12, max_size=12),
    st.lists(st.floats(20.0, 95.0), min_size=12, max_size=12),
)


BY_COLDEST = [
    (9.9, "heating-assumed"),
    (10.1, "heating-unsure"),
    (14.9, "heating-unsure"),
    (15.1, "never-heated"),
]


@pytest.mark.parametrize(("coldest", "code"), BY_COLDEST)
def test_whether_a_room_is_heated_goes_by_its_coldest_month(coldest: float, code: str) -> None:
    outdoor = outdoor_from_months([coldest] + [20.0] * 11, [60.0] * 12)
    told = {"heating-assumed", "heating-unsure", "never-heated"}
    assert told & {note.code for note in house.from_climate(outdoor).notes} == {code}
    assert not told & {note.code for note in house.from_climate(outdoor, heat_to=20.0).notes}


def test_a_room_that_may_be_heated_or_not_is_the_mean_of_both_with_their_distance_in_its_band() -> (
    None
):
    mild = outdoor_from_months([12.0] * 6 + [22.0] * 6, [70.0] * 12)
    unsure = house.from_climate(mild)
    heated = house.from_climate(mild, heat_to=21.5)
    never = indoors.unheated_temperature(mild.temperature)
    assert unsure.temperature == pytest.approx(0.5 * (heated.temperature + never))
    cold = air.relative_humidity(
        never, mild.vapour_pressure + indoors.vapour_excess(mild.temperature)
    )
    apart = 0.5 * np.abs(cold - heated.relative_humidity)
    assert unsure.relative_humidity == pytest.approx(0.5 * (cold + heated.relative_humidity))
    assert unsure.between is not None
    assert np.all(unsure.between > apart)
    # Both lie within the band's 80 %: two cases as likely as each other, one deviation away.
    assert np.all(1.2816 * unsure.between > apart)


@given(outdoors, st.floats(16.0, 30.0), st.sampled_from(["no", "normally", "crowded"]))
def test_cooling_never_adds_vapour_and_runs_to_65_percent_at_most(
    outdoor: Outdoor, cool_to: float, occupied: indoors.Occupied
) -> None:
    cooled = house.from_climate(outdoor, heat_to=15.0, cool_to=cool_to, occupied=occupied)
    free = house.from_climate(outdoor, heat_to=15.0, occupied=occupied)
    # Before limits of condensation: the rule itself.
    excess = indoors.vapour_excess(outdoor.temperature, occupied)
    without = outdoor.vapour_pressure + excess
    pressure = indoors.cooled_pressure(free.temperature, without, outdoor.vapour_pressure, cool_to)
    assert np.all(pressure <= without + 1e-9)
    through = indoors.cooled_share(free.temperature, cool_to) == 1.0
    assert np.all(cooled.relative_humidity[through] <= 65.0 + 1e-9)


@given(outdoors, st.floats(20.0, 60.0), st.floats(1.0, 40.0), st.floats(0.05, 2.0))
def test_a_dehumidifier_that_is_sized_dries_no_further_than_its_curve(
    outdoor: Outdoor, setting: float, rated: float, air_changes: float
) -> None:
    free = house.from_climate(outdoor, heat_to=18.0)
    unsized = house.from_climate(outdoor, heat_to=18.0, dehumidify_to=setting)
    sized, larger = (
        house.from_climate(
            outdoor,
            heat_to=18.0,
            dehumidify_to=setting,
            dehumidifier_rated=times * rated,
            volume=200.0,
            air_changes=air_changes,
        )
        for times in (1.0, 2.0)
    )
    order = [one.relative_humidity for one in (unsized, larger, sized, free)]
    for drier, damper in itertools.pairwise(order):
        assert np.all(drier <= damper + 1e-6)
    stops = np.any(sized.relative_humidity > np.minimum(setting, free.relative_humidity) + 1e-3)
    if stops:
        assert "dehumidifier-stops" in {note.code for note in sized.notes}


def test_a_sized_dehumidifier_takes_out_what_the_air_brings_in() -> None:
    # Above 15 degC no ice: rated output times the printed curve is the water of the air changed.
    held = float(machines.humidity_held(20.0, 1600.0, 12.0, 200.0, 0.5))
    brought = float(
        machines.water_a_day(200.0, 0.5, 20.0, 1600.0 - float(air.vapour_pressure(20.0, held)))
    )
    assert 12.0 * float(machines.output(20.0, held)) == pytest.approx(brought, rel=1e-6)
    assert 28.0 < held < 68.0


def test_a_compressor_is_not_counted_on_in_the_cold_and_a_desiccant_one_is() -> None:
    made = house.from_climate(COLD, kind="shed", dehumidify_to=50.0)
    cold = made.temperature < machines.WORKS_FROM
    without = house.from_climate(COLD, kind="shed")
    assert cold.any()
    assert (~cold).any()
    assert made.relative_humidity[cold] == pytest.approx(without.relative_humidity[cold])
    assert made.relative_humidity[~cold].max() <= 50.0
    assert "dehumidifier-too-cold" in {note.code for note in made.notes}
    desiccant = house.from_climate(COLD, kind="shed", dehumidify_to=50.0, dehumidifier="desiccant")
    assert desiccant.relative_humidity.max() <= 50.0
    assert "dehumidifier-too-cold" not in {note.code for note in desiccant.notes}


def test_a_dehumidifier_stops_at_its_floor_and_says_so() -> None:
    # At 20 degC the printed curve takes out nothing below 28 %.
    damp = outdoor_from_months([15.0] * 12, [70.0] * 12)
    low = house.from_climate(damp, heat_to=20.0, dehumidify_to=20.0)
    floor = machines.driest_reached(low.temperature)
    assert low.relative_humidity == pytest.approx(floor)
    assert "dehumidifier-stops" in {note.code for note in low.notes}
    fair = house.from_climate(damp, heat_to=20.0, dehumidify_to=35.0)
    assert "dehumidifier-stops" not in {note.code for note in fair.notes}


def test_better_panes_bear_more_and_are_never_assumed_when_told() -> None:
    order: tuple[machines.Panes, ...] = ("single", "double", "double_low_e", "triple")
    rooms = [house.from_climate(COLD, heat_to=21.0, humidify_to=60.0, panes=one) for one in order]
    for worse, better in itertools.pairwise(rooms):
        assert np.all(better.relative_humidity >= worse.relative_humidity - 1e-9)
    told = next(note for note in rooms[0].notes if note.code == "held-by-panes")
    assert not told.figures["assumed"]
    untold = house.from_climate(COLD, heat_to=21.0, humidify_to=60.0)
    assumed = next(note for note in untold.notes if note.code == "held-by-panes")
    assert (assumed.figures["assumed"], assumed.figures["panes"]) == (True, "double")
    assert untold.relative_humidity == pytest.approx(rooms[1].relative_humidity)


def test_the_water_of_a_humidifier_is_told_where_the_room_is_known() -> None:
    made = house.from_climate(
        COLD, heat_to=21.0, humidify_to=35.0, panes="triple", volume=300.0, air_changes=0.4
    )
    water = next(note for note in made.notes if note.code == "humidifier-water").figures
    free = house.from_climate(COLD, heat_to=21.0)
    month = int(water["month"]) - 1
    rise = 0.35 * air.saturation_pressure(21.0) - air.vapour_pressure(
        21.0, free.relative_humidity[month]
    )
    kilograms = 300.0 * 0.4 * 24.0 * rise / (461.5 * 294.15)
    assert water["water"] == pytest.approx(float(kilograms), rel=1e-6)


@given(outdoors, st.sampled_from(["part_heated", "cellar"]), st.floats(12.0, 24.0))
def test_a_room_beside_a_heated_one_lies_between_it_and_outdoors(
    outdoor: Outdoor, kind: living.Kind, heat_to: float
) -> None:
    beside = house.from_climate(outdoor, kind=kind, heat_to=heat_to)
    inside = indoors.heated_temperature(outdoor.temperature, heat_to)
    assert np.all(beside.temperature <= inside + 1e-9)
    assert np.all(beside.temperature >= outdoor.temperature - 1e-9)


def test_balanced_ventilation_takes_a_third_of_the_vapour() -> None:
    usual = house.from_climate(COLD, heat_to=21.0)
    balanced = house.from_climate(COLD, heat_to=21.0, balanced_ventilation=True)
    excess = [
        air.vapour_pressure(one.temperature, one.relative_humidity) - COLD.vapour_pressure
        for one in (balanced, usual)
    ]
    assert excess[0] == pytest.approx(0.65 * excess[1], abs=1e-6)


def test_the_band_of_a_month_holds_houses_and_their_months() -> None:
    made = house.from_climate(COLD, heat_to=21.0)
    assert made.between is not None
    assert made.strays is not None
    assert made.spread_of_months == pytest.approx(np.hypot(made.between, made.strays))
    assert made.humidity_spread == pytest.approx(float(np.sqrt(np.mean(made.between**2))))
    steady = room.constant(20.0, 50.0)
    assert steady.spread_of_months.tolist() == [room.HELD] * 12
    # A machine holds it: a hygrometer's error, and months do not stray.
    held = house.from_climate(COLD, heat_to=21.0, humidify_to=60.0, dehumidify_to=60.0)
    assert held.between == pytest.approx(room.HELD)
    assert held.strays == pytest.approx(0.0)


def test_the_place_counts_outdoors_too() -> None:
    near = house.from_climate(climate.near(46.84, -92.19, 432.0), kind="outdoors_covered")
    assert near.humidity_spread > house.BETWEEN_YEARS + 0.5


def test_the_air_knows_as_many_temperatures_outdoors_as_days() -> None:
    yearly = house.from_climate(COLD).air
    assert yearly.outdoors is not None
    assert yearly.outdoors.shape == yearly.days.shape
    with pytest.raises(ValueError, match="outdoors"):
        Air(np.zeros(1), np.full(1, 20.0), np.full(1, 40.0), outdoors=np.zeros(2))
