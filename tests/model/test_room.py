"""Rooms: what must hold whatever the place and the way of living."""

from __future__ import annotations

import datetime
import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from model import basis
from model.properties import air, sorption
from model.surroundings import (
    air_series,
    calendar,
    climate,
    house,
    indoors,
    living,
    machines,
    room,
    sun,
)
from model.surroundings.climate import Outdoor, outdoor_from_months

Floats = NDArray[np.float64]

# An inland place with cold winters and damp summers, invented for these tests.
COLD = outdoor_from_months(
    [-12.0, -9.0, -3.0, 5.0, 12.0, 17.0, 20.0, 19.0, 13.0, 7.0, -1.0, -9.0],
    [76, 74, 72, 66, 64, 68, 70, 74, 76, 73, 77, 79],
)
HOT = outdoor_from_months(
    [12.0, 14.0, 17.0, 21.0, 25.0, 28.0, 29.0, 29.0, 27.0, 22.0, 17.0, 13.0],
    [75, 74, 73, 73, 75, 75, 76, 76, 76, 74, 75, 75],
)

temperatures = st.lists(st.floats(-25.0, 35.0), min_size=12, max_size=12)
humidities = st.lists(st.floats(1.0, 95.0), min_size=12, max_size=12)
outdoors = st.builds(
    lambda degrees, percent: outdoor_from_months(degrees, percent),
    temperatures,
    st.lists(st.floats(20.0, 95.0), min_size=12, max_size=12),
)


def month_means(air_of_room: air_series.Air) -> tuple[Floats, Floats]:
    """Exact monthly means of a yearly table, straight between its points."""
    found = []
    for values in (air_of_room.temperature, air_of_room.relative_humidity):
        closed = np.append(values, values[0])
        found.append((0.5 * (closed[1:] + closed[:-1])).reshape(12, -1).mean(axis=1))
    return found[0], found[1]


def test_day_zero_is_new_year_and_months_are_equal() -> None:
    assert calendar.day_of(datetime.date(2023, 1, 1)) == 0.0
    assert calendar.day_of(datetime.date(2024, 10, 1)) == pytest.approx(
        0.75 * calendar.YEAR, abs=1e-12
    )
    noon = datetime.datetime(2023, 12, 31, 12, 0, 0)
    assert calendar.YEAR - calendar.day_of(noon) == pytest.approx(calendar.MONTH / 62.0)
    assert calendar.day_of(datetime.date(9999, 12, 31)) < calendar.YEAR


@given(st.dates())
def test_a_date_lies_in_its_own_month(date: datetime.date) -> None:
    assert calendar.month_of(calendar.day_of(date)) == date.month
    assert calendar.month_of(calendar.day_of(date) + 3 * calendar.YEAR) == date.month


@given(st.floats(-2e4, 2e4))
def test_one_day_and_many_days_give_the_same_air(day: float) -> None:
    yearly = house.from_climate(COLD, heat_to=20.0).air
    temperature, humidity = yearly.at_days([day])
    # 1e-8: the remainder of a division by the year differs by rounding, times a slope under 1.
    assert yearly.at(day) == pytest.approx((temperature[0], humidity[0]), abs=1e-8)


def test_the_year_closes_without_a_jump() -> None:
    yearly = house.from_climate(COLD, heat_to=20.0).air
    before, after = yearly.at(calendar.YEAR - 1e-9), yearly.at(0.0)
    assert before == pytest.approx(after, abs=1e-6)
    assert yearly.at(calendar.YEAR) == after
    assert yearly.at(np.nextafter(calendar.YEAR, 0.0)) == pytest.approx(after, abs=1e-9)
    # Rounding puts a tiny negative day at the very end of the period.
    assert yearly.at(-1e-18) == pytest.approx(after, abs=1e-9)


@given(temperatures, st.lists(st.floats(20.0, 80.0), min_size=12, max_size=12))
def test_each_months_mean_is_kept(degrees: list[float], percent: list[float]) -> None:
    # Between 20 and 80 % any jump from one month to the next can be drawn within 1 to 98 %.
    made = room.from_months(degrees, percent)
    temperature, humidity = month_means(made.air)
    assert temperature == pytest.approx(np.array(degrees), rel=1e-6, abs=1e-9)
    assert humidity == pytest.approx(np.array(percent), rel=1e-6)
    assert "month-mean-cut" not in {note.code for note in made.notes}


@given(humidities)
def test_humidity_stays_within_limits_and_a_moved_mean_is_told(percent: list[float]) -> None:
    made = room.from_months([20.0] * 12, percent)
    humidity = made.air.relative_humidity
    assert humidity.min() >= room.LOWEST_HUMIDITY
    assert humidity.max() <= room.HIGHEST_OF_DAY
    moved = np.abs(month_means(made.air)[1] - percent).max() > 1e-6
    assert moved == any(note.code == "month-mean-cut" for note in made.notes)


def test_every_listed_climate_keeps_its_monthly_means() -> None:
    for station in climate.listed().stations[::25]:
        outdoor = climate.find(station.id)
        made = house.from_climate(outdoor, kind="outdoors_covered")
        humidity = month_means(made.air)[1]
        assert humidity == pytest.approx(made.relative_humidity, rel=1e-6), station.id


def test_the_course_is_the_slope_of_a_spline_through_the_running_total() -> None:
    # scipy's periodic cubic spline through what is left of the total over the mean: an independent
    # construction of the same course.
    means = COLD.temperature
    total = np.concatenate(([0.0], np.cumsum(means - means.mean())))
    total[-1] = 0.0
    slope = CubicSpline(np.arange(13.0), total, bc_type="periodic").derivative()
    place = np.arange(12 * air_series.POINTS_A_MONTH) / air_series.POINTS_A_MONTH
    spline = slope(place) + means.mean()
    # Ours keeps the mean of straight pieces, scipy's that of the parabola: 1/900 of the bulge,
    # which is under 5 K.
    assert air_series.year_through(means) == pytest.approx(spline, abs=5.0 / 900.0)


def test_a_heated_room_stays_at_its_setting_all_winter() -> None:
    made = house.from_climate(COLD, heat_to=21.0)
    assert made.air.temperature.min() >= 21.0 - 1e-12
    # Whole months are held, not their means alone: January to April (up to 5 degC outdoors),
    # November and December.
    held = made.temperature == 21.0
    days = made.air.temperature.reshape(12, -1)
    assert held.sum() == 6
    assert days[held] == pytest.approx(21.0, abs=1e-12)


@given(outdoors, st.floats(5.0, 25.0), st.floats(0.0, 10.0))
def test_heating_lowers_the_humidity(outdoor: Outdoor, heat_to: float, more: float) -> None:
    cooler = house.from_climate(outdoor, heat_to=heat_to)
    warmer = house.from_climate(outdoor, heat_to=heat_to + more)
    assert np.all(warmer.relative_humidity <= cooler.relative_humidity + 1e-9)


@given(outdoors, st.floats(10.0, 25.0))
def test_more_vapour_never_lowers_the_equilibrium(outdoor: Outdoor, heat_to: float) -> None:
    order: tuple[indoors.Occupied, ...] = ("no", "lightly", "normally", "crowded")
    rooms = [house.from_climate(outdoor, heat_to=heat_to, occupied=one) for one in order]
    for drier, damper in itertools.pairwise(rooms):
        assert np.all(damper.equilibrium >= drier.equilibrium - 1e-12)


@given(outdoors, st.floats(5.0, 60.0))
def test_a_humidifier_never_lowers_and_holds_its_setting(
    outdoor: Outdoor, humidify_to: float
) -> None:
    without = house.from_climate(outdoor, heat_to=20.0)
    held = house.from_climate(outdoor, heat_to=20.0, humidify_to=humidify_to)
    assert np.all(held.relative_humidity >= without.relative_humidity - 1e-12)
    bears = machines.highest_before_dripping(held.temperature, outdoor.temperature)
    assert np.all(held.relative_humidity >= np.minimum(humidify_to, bears) - 1e-9)
    # Held back by the panes where it is told, and nowhere else.
    kept_back = bool(np.any(held.relative_humidity < humidify_to - 1e-9))
    assert kept_back == ("held-by-panes" in {note.code for note in held.notes})
    assert held.between is not None
    assert without.between is not None
    assert np.all(held.between <= np.maximum(without.between, room.HELD) + 1e-12)


@given(outdoors, st.floats(30.0, 80.0))
def test_a_dehumidifier_never_raises(outdoor: Outdoor, dehumidify_to: float) -> None:
    without = house.from_climate(outdoor, heat_to=20.0)
    held = house.from_climate(outdoor, heat_to=20.0, dehumidify_to=dehumidify_to)
    assert np.all(held.relative_humidity <= without.relative_humidity + 1e-12)
    assert held.relative_humidity.max() <= max(
        dehumidify_to, float(machines.driest_reached(held.temperature).max())
    )


def test_a_humidified_room_does_not_dip_below_its_setting_day_by_day() -> None:
    made = house.from_climate(COLD, heat_to=20.0, humidify_to=40.0, panes="triple")
    assert "held-by-panes" not in {note.code for note in made.notes}
    assert made.air.relative_humidity.min() >= 40.0 - 1e-9


def test_a_heated_shop_holds_the_outdoor_vapour_and_that_of_its_work() -> None:
    made = house.from_climate(COLD, kind="heated_shop", heat_to=29.0)
    vapour = air.vapour_pressure(made.temperature, made.relative_humidity)
    # 100 Pa up to 10 degC outdoors, none from 20; July stands at 20, June at 17.
    assert (vapour - COLD.vapour_pressure)[[0, 5, 6]] == pytest.approx([100.0, 30.0, 0.0], abs=1e-9)
    assert made.method == "heated_shop"


def test_a_shop_heated_for_part_of_the_time_is_between_heated_and_cold() -> None:
    always, half, never = (
        house.from_climate(COLD, kind="heated_shop", heat_to=18.0, heated_share=share)
        for share in (1.0, 0.5, 0.0)
    )
    for name in ("temperature", "relative_humidity"):
        means = 0.5 * (getattr(always, name) + getattr(never, name))
        # In deep winter the cold shed is saturated, which the limits of the wood's curve cut.
        assert getattr(half, name)[2:4] == pytest.approx(means[2:4], abs=0.01)
    assert never.temperature[0] == pytest.approx(COLD.temperature[0] + 0.8)
    unshared = house.from_climate(COLD, kind="heated_shop", heat_to=18.0)
    assert always.relative_humidity == pytest.approx(unshared.relative_humidity)


def test_a_shed_is_warmed_by_the_sun_and_has_the_outdoor_vapour() -> None:
    duluth = climate.find("Duluth, MN")
    closed, aired, shaded = (
        house.from_climate(duluth, kind="shed"),
        house.from_climate(duluth, kind="open_shed"),
        house.from_climate(duluth, kind="shed", shaded=True),
    )
    for made in (closed, aired, shaded):
        vapour = air.vapour_pressure(made.temperature, made.relative_humidity)
        assert vapour == pytest.approx(duluth.vapour_pressure, rel=1e-12)
    shining = sun.on_the_ground(duluth.latitude or 0.0)
    assert closed.temperature - duluth.temperature == pytest.approx(0.8 + 0.012 * shining)
    assert aired.temperature - duluth.temperature == pytest.approx(0.3 + 0.009 * shining)
    assert shaded.temperature - duluth.temperature == pytest.approx(0.8)
    # June is warmed most, December least.
    rise = closed.temperature - duluth.temperature
    assert (int(rise.argmax()), int(rise.argmin())) == (5, 11)


def test_the_sun_on_a_shed_without_a_latitude_is_told_to_be_unknown() -> None:
    codes = {note.code for note in house.from_climate(HOT, kind="shed").notes}
    assert "sun-not-known" in codes
    for made in (
        house.from_climate(HOT, kind="shed", shaded=True),
        house.from_climate(HOT, kind="outdoors_covered"),
        house.from_climate(climate.find("Duluth, MN"), kind="shed"),
    ):
        assert "sun-not-known" not in {note.code for note in made.notes}


def test_under_cover_outdoors_the_air_is_the_outdoor_air_with_its_bias_told() -> None:
    made = house.from_climate(HOT, kind="outdoors_covered")
    assert made.temperature == pytest.approx(HOT.temperature)
    assert made.relative_humidity == pytest.approx(HOT.relative_humidity)
    assert "outdoor-mean-bias" in {note.code for note in made.notes}


def test_cooling_dries_a_room_in_a_damp_summer() -> None:
    cooled = house.from_climate(HOT, heat_to=20.0, cool_to=24.0)
    july = 6
    # 36 % and 1.25 points for each g/kg outdoors, at most 65 (fitted, ASHRAE Global Thermal
    # Comfort Database II): the rule itself. 20 g/kg in July is below the limit.
    grams = 1000.0 * air.humidity_ratio(HOT.vapour_pressure)
    assert grams[july] < 23.2
    assert cooled.relative_humidity[july] == pytest.approx(36.0 + 1.25 * grams[july], rel=1e-9)
    assert cooled.temperature[july] == 24.0
    assert "cooling-dries" in {note.code for note in cooled.notes}
    # With a dehumidifier the drier of both, whichever it is.
    for setting in (50.0, 65.0):
        both = house.from_climate(HOT, heat_to=20.0, cool_to=24.0, dehumidify_to=setting)
        drier = np.minimum(cooled.relative_humidity, setting)
        assert both.relative_humidity == pytest.approx(drier)


def test_the_moisture_balance_adds_what_is_given_off() -> None:
    # 6 kg a day into 250 m3 changed 0.5 times an hour is 2 g/m3: by hand, 6/(24 x 125) kg/m3.
    made = house.from_climate(
        COLD, heat_to=20.0, method="moisture_balance", generation=6.0, air_changes=0.5, volume=250.0
    )
    inside = air.vapour_pressure(made.temperature, made.relative_humidity)
    added = air.concentration(made.temperature, inside - COLD.vapour_pressure)
    assert added == pytest.approx(0.002, rel=1e-9)


@pytest.mark.parametrize(
    ("method", "outside", "humidity", "temperature"),
    # EN 15026 Annex C and ISO 13788 A.1 (memory): ends and middle of the curves.
    [
        ("en_15026", -15.0, 30.0, 20.0),
        ("en_15026", 10.0, 50.0, 20.0),
        ("en_15026", 25.0, 60.0, 25.0),
        ("en_15026_high", 10.0, 60.0, 20.0),
        ("iso_13788", -15.0, 35.0, 20.0),
        ("iso_13788", 15.0, 60.0, 22.5),
        ("iso_13788", 25.0, 65.0, 25.0),
    ],
)
def test_design_curves_go_through_their_printed_points(
    method: living.Method, outside: float, humidity: float, temperature: float
) -> None:
    made = house.from_climate(outdoor_from_months([outside] * 12, [70.0] * 12), method=method)
    assert made.relative_humidity == pytest.approx(humidity)
    assert made.temperature == pytest.approx(temperature)
    assert "design-curve" in {note.code for note in made.notes}


def test_condensation_is_limited_and_told() -> None:
    # A crowded, barely heated room in damp cold air: the rule itself gives more than saturation.
    damp = outdoor_from_months([2.0] * 12, [92.0] * 12)
    made = house.from_climate(damp, heat_to=5.0, occupied="crowded")
    assert made.relative_humidity == pytest.approx(95.0)
    limited = [note for note in made.notes if note.code == "humidity-cut-high"]
    assert len(limited) == 1
    assert limited[0].figures["limit"] == room.HIGHEST_HUMIDITY


def test_heating_not_given_is_assumed_and_told() -> None:
    made = house.from_climate(COLD)
    assert made.temperature.min() == house.DEFAULT_HEATING == 21.5
    assert "heating-assumed" in {note.code for note in made.notes}
    assert "heating-assumed" not in {
        note.code for note in house.from_climate(COLD, heat_to=18).notes
    }


@pytest.mark.parametrize(
    "living",
    [
        {"heat_to": 25.0, "cool_to": 20.0},
        {"heat_to": 70.0},
        {"heat_to": float("nan")},
        {"humidify_to": 60.0, "dehumidify_to": 40.0},
        {"humidify_to": 0.45, "dehumidify_to": 0.4},
        {"kind": "shed", "heat_to": 20.0},
        {"kind": "outdoors_covered", "humidify_to": 40.0},
        {"kind": "heated_shop", "method": "iso_13788"},
        {"kind": "heated_shop", "occupied": "crowded"},
        {"method": "en_15026", "heat_to": 20.0},
        {"method": "en_15026", "occupied": "crowded"},
        {"method": "moisture_balance", "generation": 6.0},
        {"method": "moisture_balance", "generation": 6.0, "air_changes": 0.0, "volume": 250.0},
        {"generation": 6.0},
        {"kind": "attic"},
        {"kind": "cellar", "cool_to": 20.0},
        {"kind": "shed", "outer_walls": "one"},
        {"kind": "part_heated", "outer_walls": "five"},
        {"kind": "room", "shaded": True},
        {"kind": "room", "heated_share": 0.5},
        {"kind": "heated_shop", "heated_share": 1.5},
        {"panes": "double"},
        {"humidify_to": 40.0, "panes": "thick"},
        {"dehumidifier": "desiccant"},
        {"dehumidify_to": 50.0, "dehumidifier_rated": 20.0},
        {
            "dehumidify_to": 50.0,
            "dehumidifier": "desiccant",
            "dehumidifier_rated": 20.0,
            "volume": 100.0,
            "air_changes": 0.5,
        },
        {"dehumidify_to": 50.0, "volume": 100.0, "air_changes": 0.5},
        {"humidify_to": 40.0, "volume": 100.0},
        {"occupied": "no", "balanced_ventilation": True},
        {"kind": "heated_shop", "balanced_ventilation": True},
        {"method": "guess"},
        {"occupied": "often"},
    ],
)
def test_a_way_of_living_that_contradicts_itself_is_refused(living: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        house.from_climate(COLD, **living)  # type: ignore[arg-type]


def test_a_room_of_steady_air_answers_any_day() -> None:
    steady = room.constant(20.0, 50.0)
    assert steady.air.at(-1e6) == (20.0, 50.0)
    assert steady.air.at_days([0.0, 5e4])[1].tolist() == [50.0, 50.0]
    assert steady.mean_equilibrium == pytest.approx(
        float(sorption.equilibrium_moisture(20.0, 50.0)), abs=1e-12
    )


@pytest.mark.parametrize(
    ("temperature", "humidity"),
    [(float("nan"), 50.0), (20.0, float("inf")), (20.0, 101.0), (20.0, -1.0), (200.0, 50.0)],
)
def test_impossible_air_is_refused(temperature: float, humidity: float) -> None:
    with pytest.raises(ValueError, match="must"):
        room.constant(temperature, humidity)


def test_months_are_twelve() -> None:
    with pytest.raises(ValueError, match="twelve"):
        room.from_months([20.0] * 13, [50.0] * 13)


def test_driest_and_dampest_months_are_those_of_lowest_and_highest_equilibrium() -> None:
    made = room.from_months([20.0] * 12, [30, 28, 35, 40, 45, 55, 60, 62, 50, 45, 40, 33])
    assert (made.driest.month, made.dampest.month) == (2, 8)
    assert made.driest.moisture == pytest.approx(float(made.equilibrium.min()))
    assert made.driest.moisture < made.mean_equilibrium < made.dampest.moisture


START = datetime.datetime(2024, 1, 31, 12, 0, tzinfo=datetime.UTC)


def test_a_log_runs_straight_between_readings() -> None:
    logged = room.from_log(START, [10.0, 11.0, 13.0], [20.0, 22.0, 21.0], [40.0, 50.0, 44.0])
    assert logged.air.at(0.0) == (20.0, 40.0)
    assert logged.air.at(0.25) == pytest.approx((20.5, 42.5))
    assert logged.air.at(1.0) == (22.0, 50.0)
    assert logged.air.at(2.0) == pytest.approx((21.5, 47.0))
    assert logged.air.at(3.0) == pytest.approx((21.0, 44.0))
    many = logged.air.at_days([0.25, 2.0])
    assert many[0] == pytest.approx([20.5, 21.5])
    assert many[1] == pytest.approx([42.5, 47.0])


@given(st.lists(st.floats(0.01, 5.0), min_size=1, max_size=40), st.data())
def test_a_log_by_bisection_is_the_log_by_interpolation(
    gaps: list[float], data: st.DataObject
) -> None:
    days = np.concatenate(([0.0], np.cumsum(gaps)))
    percent = 50.0 + 30.0 * np.sin(np.arange(days.size))
    logged = room.from_log(START, days, np.full(days.size, 20.0), percent).air
    day = data.draw(st.floats(0.0, float(days[-1])))
    assert logged.at(day)[1] == pytest.approx(float(np.interp(day, days, percent)), abs=1e-9)


def test_a_log_says_nothing_beyond_its_ends() -> None:
    logged = room.from_log(START, [0.0, 1.0], [20.0, 20.0], [40.0, 50.0])
    for day in (-0.01, 1.01):
        with pytest.raises(air_series.OutsideLog, match="says nothing"):
            logged.air.at(day)
        with pytest.raises(air_series.OutsideLog, match="says nothing"):
            logged.air.at_days([0.5, day])
    assert "log-ends" in {note.code for note in logged.notes}


def test_after_a_log_the_mean_of_its_last_fortnight_goes_on() -> None:
    # 30 days at 20 degC and 40 %, then ten at 24 and 60: the last fortnight holds ten of these and
    # four of those, 10/14 of the way, to the day's turn between the two and the points of the mean.
    begun = datetime.datetime(2026, 3, 1, 6, 0, 0)
    warm, damp = [20.0, 20.0, 24.0, 24.0], [40.0, 40.0, 60.0, 60.0]
    logged = room.from_log(begun, [0.0, 29.9, 30.1, 40.0], warm, damp)
    after = logged.lately.at(0.0)
    assert after == pytest.approx((20.0 + 4.0 * 10.0 / 14.0, 40.0 + 20.0 * 10.0 / 14.0), rel=2e-3)
    date = datetime.date(2026, 3, 1)
    carried, day = logged.carried_on(date, 3650.0), calendar.day_of(date)
    assert carried.at(day) == (20.0, 40.0)  # the reading of six in the morning, from midnight on
    for hour in (0.25, 20.25, 30.25, 40.25):
        assert carried.at(day + hour) == pytest.approx(logged.air.at(hour - 0.25))
    assert carried.at(day + 41.0) == carried.at(day + 3000.0) == after


def test_a_log_begun_in_the_course_of_a_day_may_be_asked_of_the_day_before() -> None:
    begun = datetime.datetime(2026, 3, 2, 0, 0, 0)
    logged = room.from_log(begun, [0.0, 10.0], [20.0, 20.0], [40.0, 50.0])
    before = datetime.date(2026, 3, 1)
    assert logged.carried_on(before, 1.0).at(calendar.day_of(before)) == (20.0, 40.0)


def test_a_log_is_sorted_into_its_calendar_months() -> None:
    # Half a day of January at 40 % and a day of February at 60 %, with a swift change at midnight.
    logged = room.from_log(START, [0.0, 0.4999, 0.5001, 1.5], [20.0] * 4, [40.0, 40.0, 60.0, 60.0])
    assert logged.months == (1, 2)
    assert logged.relative_humidity == pytest.approx([40.0, 60.0], abs=0.2)
    assert (logged.driest.month, logged.dampest.month) == (1, 2)


@pytest.mark.parametrize(
    ("days", "temperature", "humidity"),
    [
        ([0.0], [20.0], [50.0]),
        ([0.0, 0.0], [20.0, 20.0], [50.0, 50.0]),
        ([1.0, 0.0], [20.0, 20.0], [50.0, 50.0]),
        ([0.0, float("nan")], [20.0, 20.0], [50.0, 50.0]),
        ([0.0, 1.0], [20.0, float("inf")], [50.0, 50.0]),
        ([0.0, 1.0], [20.0], [50.0, 50.0]),
        ([0.0, 1.0], [20.0, 20.0], [50.0, 120.0]),
    ],
)
def test_a_broken_log_is_refused(
    days: list[float], temperature: list[float], humidity: list[float]
) -> None:
    with pytest.raises(ValueError, match=r"must|needs"):
        room.from_log(START, days, temperature, humidity)


def test_a_long_gap_and_wet_readings_of_a_log_are_told() -> None:
    logged = room.from_log(START, [0.0, 1.0, 9.0], [20.0] * 3, [40.0, 99.0, 50.0])
    codes = {note.code for note in logged.notes}
    assert {"log-gap", "humidity-cut-high"} <= codes
    assert logged.air.relative_humidity.max() == 95.0


def test_the_spread_of_a_room_grows_with_the_error_of_its_place() -> None:
    named = house.from_climate(climate.find("duluth-us"), heat_to=21.0)
    near = house.from_climate(climate.near(46.84, -92.19, 432.0), heat_to=21.0)
    # Root of the sum of squares with 3.8 points at no distance (the table's README, fitted); the
    # three stations averaged there are not quite Duluth's own.
    assert near.humidity_spread == pytest.approx(np.hypot(named.humidity_spread, 3.8), abs=0.1)
    assert room.constant(20.0, 50.0).humidity_spread == room.HELD


def test_a_points_list_that_is_no_air_is_refused() -> None:
    with pytest.raises(ValueError, match="evenly"):
        air_series.Air(np.array([0.0, 1.0, 3.0]), np.ones(3), np.ones(3), 4.0)
    with pytest.raises(ValueError, match="one length"):
        air_series.Air(np.array([0.0, 1.0]), np.ones(3), np.ones(2))


def test_heating_that_never_comes_on_is_not_spoken_of() -> None:
    # Singapore's coldest month stands at 27 degC (climates.csv): nothing heats to 20 there.
    made = house.from_climate(climate.find("Singapore"), cool_to=24.0)
    assert "heating-assumed" not in {note.code for note in made.notes}


def test_a_log_over_new_year_tells_its_months_in_their_order() -> None:
    logged = room.from_log(datetime.date(2025, 11, 10), [0.0, 100.0], [20.0, 20.0], [40.0, 40.0])
    assert logged.months == (11, 12, 1, 2)


def test_the_mean_of_a_log_counts_each_month_by_its_time() -> None:
    # One day of January at 80 % and 29 of February at 40 %, a swift change at midnight.
    logged = room.from_log(
        datetime.date(2024, 1, 31), [0.0, 1.0, 1.001, 30.0], [20.0] * 4, [80.0, 80.0, 40.0, 40.0]
    )
    damp, dry = sorption.equilibrium_moisture(20.0, [80.0, 40.0])
    # 0.02 % M: the last hour of January is drawn from the change itself.
    assert logged.mean_equilibrium == pytest.approx((damp + 29.0 * dry) / 30.0, abs=0.02)


def test_people_not_spoken_of_are_assumed_and_told() -> None:
    assert "occupation-assumed" in {note.code for note in house.from_climate(COLD).notes}
    for told in ({"occupied": "no"}, {"kind": "heated_shop"}, {"method": "en_15026"}):
        made = house.from_climate(COLD, **told)  # type: ignore[arg-type]
        assert "occupation-assumed" not in {note.code for note in made.notes}


def test_heating_that_was_assumed_is_told() -> None:
    assumed = next(n for n in house.from_climate(COLD).notes if n.code == "heating-assumed")
    assert assumed.figures == {"heat_to": 21.5}


def test_cooling_dries_by_degrees_and_not_at_a_stroke() -> None:
    # Cooling begins to run where the month would stand 2 K below the setting: a month a hair above
    # that is hardly cooled, and its air must be that of one a hair below.
    free = float(indoors.heated_temperature(HOT.temperature[6], 15.0)) + indoors.COOLED_FROM
    july = [
        float(house.from_climate(HOT, heat_to=15.0, cool_to=free + apart).relative_humidity[6])
        for apart in (0.01, -0.01)
    ]
    assert july[0] == pytest.approx(july[1], abs=0.5)  # points, over 0.02 K


@given(st.floats(16.0, 34.0), st.floats(0.05, 0.5))
def test_a_lower_setting_of_the_cooling_never_brings_more_vapour(
    cool_to: float, lower: float
) -> None:
    settings = (cool_to, cool_to - lower)
    rooms = [house.from_climate(HOT, heat_to=15.0, cool_to=setting) for setting in settings]
    vapour = [air.vapour_pressure(one.temperature, one.relative_humidity) for one in rooms]
    assert np.all(vapour[1] <= vapour[0] + 1e-6)


def test_a_balance_is_told_everything_it_lacks_at_once() -> None:
    with pytest.raises(ValueError, match=r"air_changes, at least 0.01 and volume, at least 1"):
        house.from_climate(COLD, method="moisture_balance", generation=6.0)


@pytest.mark.parametrize(
    ("living", "formula"),
    [
        ({}, "room-vapour-excess"),
        ({"cool_to": 18.0, "heat_to": 16.0}, "room-cooled"),
        ({"method": "en_15026"}, "room-en-15026"),
        ({"method": "en_15026_high"}, "room-en-15026"),
        ({"method": "iso_13788"}, "room-iso-13788"),
        (
            {"method": "moisture_balance", "generation": 6.0, "air_changes": 0.5, "volume": 250.0},
            "room-moisture-balance",
        ),
        ({"kind": "heated_shop"}, "room-temperature"),
        ({"kind": "shed"}, "room-shed"),
        ({"kind": "cellar"}, "room-part-heated"),
        ({"humidify_to": 40.0}, "room-panes"),
        ({"dehumidify_to": 40.0}, "room-dehumidifier"),
        ({"kind": "outdoors_covered"}, "room-year"),
    ],
)
def test_a_room_names_the_formulas_it_leans_on(living: dict[str, Any], formula: str) -> None:
    made = house.from_climate(HOT, **living)
    assert formula in made.formulas
    assert basis.cite(*made.formulas)
    assert "room-vapour-excess" not in room.constant(20.0, 45.0).formulas
