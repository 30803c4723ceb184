"""Rooms and the outdoor equilibrium of places against measured houses, handbooks and the trade."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from model.properties import air, sorption
from model.surroundings import climate, house, indoors, living, machines, places_at_slab, room, sun
from model.surroundings.climate import Outdoor

Floats = NDArray[np.float64]
DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def column(table: list[dict[str, str]], name: str) -> Floats:
    return np.array([float(row[name]) for row in table])


def rms(misses: Floats, weights: Floats | None = None) -> float:
    return float(np.sqrt(np.average(misses**2, weights=weights)))


# Six lived-in detached houses in Finland by calendar month, 2010-2012, in bins of 2.5 K of outdoor
# temperature: open data set trh-1 by A. Laukkarinen, CC BY 4.0. The rules are fitted to them, so
# this shows that the fit is what is told; it is no independent check.
LIVING = rows("measured_living_rooms_monthly.csv")


def living_outdoors() -> tuple[Floats, Floats]:
    """Outdoor temperature [degC] and vapour pressure [Pa] as measured, by bin."""
    inside, outside = column(LIVING, "indoor_mean_c"), column(LIVING, "outdoor_mean_c")
    vapour = air.vapour_pressure(inside, column(LIVING, "rh_mean_pct"))
    return outside, np.asarray(vapour - column(LIVING, "vapour_excess_mean_pa"))


def living_misses(factor: float = 1.0) -> Floats:
    """The default room less the measured one, by bin [points of humidity]."""
    outside, vapour = living_outdoors()
    inside = indoors.heated_temperature(outside, house.DEFAULT_HEATING)
    ruled = air.relative_humidity(inside, vapour + factor * indoors.vapour_excess(outside))
    return np.asarray(ruled) - column(LIVING, "rh_mean_pct")


def test_the_default_room_is_that_of_six_measured_houses() -> None:
    misses, months = living_misses(), column(LIVING, "house_months")
    # Promised: rms 2 points by bin. Measured: bias 0.7, rms 1.9; by house-months 0.5 and 1.5.
    assert abs(misses.mean()) < 1.0
    assert rms(misses) <= 2.0
    assert rms(misses, months) <= 1.6
    warm = indoors.heated_temperature(column(LIVING, "outdoor_mean_c"), house.DEFAULT_HEATING)
    assert rms(warm - column(LIVING, "indoor_mean_c"), months) <= 0.9  # measured 0.5


def test_neither_less_nor_more_moisture_fits_the_measured_houses_as_well() -> None:
    months = column(LIVING, "house_months")
    default = rms(living_misses(), months)
    for occupied in ("lightly", "crowded"):
        assert rms(living_misses(indoors.LIVED_IN[occupied]), months) > 2.0 * default


def test_the_rule_of_midpoints_of_humidity_classes_misses_by_twice_as_much() -> None:
    # What stood here before: 405 Pa falling from 0 to 20 degC, set + 3 K above 20 degC.
    outside, vapour = living_outdoors()
    inside = np.maximum(20.0, outside + 3.0)
    excess = 405.0 * np.clip((20.0 - outside) / 20.0, 0.0, 1.0)
    before = air.relative_humidity(inside, vapour + excess) - column(LIVING, "rh_mean_pct")
    assert rms(np.asarray(before)) > 2.0 * rms(living_misses())


def test_the_spread_of_houses_and_months_is_the_measured_one_rather_wide() -> None:
    months = column(LIVING, "house_months")
    outside, warm = column(LIVING, "outdoor_mean_c"), column(LIVING, "indoor_mean_c")
    excess = indoors.vapour_excess(outside)
    vapour = np.sqrt(
        (house.BETWEEN_HOUSES_SHARE * excess) ** 2
        + house.BETWEEN_HOUSES_LEAST**2
        + house.MONTHS_OF_HOUSE**2
    )
    told, measured = (
        rms(vapour, months),
        rms(column(LIVING, "vapour_excess_sd_pa"), months),
    )
    # Widened on purpose, for houses elsewhere: told 118 Pa, measured 96.
    assert measured < told < 1.35 * measured
    kelvin = float(np.hypot(house.WARMTH_BETWEEN, house.WARMTH_OF_MONTHS))
    measured = rms(column(LIVING, "indoor_sd_c"), months)
    assert measured < kelvin < 1.35 * measured  # told 1.0 K, measured 0.87
    # Humidity: the measured one has the weather of the bin's months in it too. Told 5.0 points,
    # measured 5.4; below 8 degC outdoors, where rooms differ by their people, 5.4 and 4.6.
    humidity = column(LIVING, "rh_mean_pct")
    between, strays = house.apart(warm, humidity, excess)
    points, scatter = np.hypot(between, strays), column(LIVING, "rh_sd_pct")
    assert rms(points, months) == pytest.approx(rms(scatter, months), rel=0.15)
    cold = outside < 8.0
    assert rms(scatter[cold], months[cold]) < rms(points[cold], months[cold])
    assert rms(points[cold], months[cold]) < 1.35 * rms(scatter[cold], months[cold])


def test_each_bins_mean_lies_in_the_band_that_so_many_houses_allow() -> None:
    # Six houses share the constant part however many months they give; months have the rest.
    outside, warm = column(LIVING, "outdoor_mean_c"), column(LIVING, "indoor_mean_c")
    between, strays = house.apart(
        warm, column(LIVING, "rh_mean_pct"), indoors.vapour_excess(outside)
    )
    months = column(LIVING, "house_months")
    error = np.sqrt(between**2 / np.minimum(months, 6.0) + strays**2 / months)
    deviations = living_misses() / error
    # Fifteen bins: none beyond three deviations, and at least two in three within one.
    assert np.abs(deviations).max() < 3.0
    assert np.mean(np.abs(deviations) < 1.0) > 2.0 / 3.0


def test_the_points_of_the_spread_at_minus_5_are_those_worked_out_by_hand() -> None:
    # 119 and 72 Pa of 2563 Pa: 4.6 and 2.8 points by vapour; 33 % at 6.1 % a kelvin by warmth.
    cold, damp, excess = np.array([21.5]), np.array([33.0]), indoors.vapour_excess([-5.0])
    between, strays = house.apart(cold, damp, excess)
    assert between[0] == pytest.approx(np.hypot(4.64, 0.8 * 33.0 * 0.0612), abs=0.03)
    assert strays[0] == pytest.approx(np.hypot(2.81, 0.6 * 33.0 * 0.0612), abs=0.03)


DAILY = rows("measured_rooms.csv")


def test_daily_means_are_steeper_than_months_and_the_monthly_rule_says_so_by_little() -> None:
    # The same houses, one of them empty and half heated in 2021, by daily means: walls store
    # moisture, so single cold days are damper indoors and warm ones drier than the monthly rule.
    inside, outside = column(DAILY, "indoor_mean_c"), column(DAILY, "outdoor_mean_c")
    measured, days = column(DAILY, "rh_mean_pct"), column(DAILY, "sensor_days")
    concentration = air.concentration(inside, air.vapour_pressure(inside, measured))
    outdoors = concentration - column(DAILY, "vapour_excess_mean_g_m3") / 1000.0
    pressure = outdoors * air.WATER_GAS_CONSTANT * (outside + air.ZERO_CELSIUS)
    ruled = air.relative_humidity(inside, pressure + indoors.vapour_excess(outside))
    misses = np.asarray(ruled) - measured
    assert abs(np.average(misses, weights=days)) < 1.0
    assert rms(misses, days) < 2.0
    # Below -10 degC too, where the old rule was 8 to 10 points too dry.
    assert np.abs(misses[outside < -10.0]).max() < 4.0


@pytest.mark.parametrize(
    ("concentration", "outside", "least", "most"),
    # Printed means of 41 Estonian flats (Arumägi et al. 2015): 3.3 g/m3 at 5 degC and colder, 0.6
    # from 15. Outdoor humidity of 88 and 75 % taken there (judgement).
    [(0.0033, -3.0, 350.0, 500.0), (0.0006, 16.0, 40.0, 160.0)],
)
def test_the_excess_is_within_reach_of_printed_estonian_flats(
    concentration: float, outside: float, least: float, most: float
) -> None:
    inside = float(indoors.heated_temperature(outside, 21.0))
    vapour = air.vapour_pressure(outside, 88.0 if outside < 5.0 else 75.0)
    # As pressure: R_v (T_i dv + v_out (T_i - T_out)); warming alone thins the air that comes in.
    comes_in = float(air.concentration(outside, vapour))
    printed = 461.5 * ((inside + 273.15) * concentration + comes_in * (inside - outside))
    assert least < printed < most
    spread = np.hypot(
        house.BETWEEN_HOUSES_SHARE * indoors.vapour_excess(outside), house.BETWEEN_HOUSES_LEAST
    )
    assert float(indoors.vapour_excess(outside)) == pytest.approx(
        printed, abs=float(1.2816 * spread)
    )


# ASHRAE Global Thermal Comfort Database II v2.1 (Földváry Ličina et al. 2018), CC0; means of
# readings in occupied hours.
UNCOOLED = rows("measured_uncooled_houses.csv")
COOLED = rows("measured_cooled_rooms.csv")


def test_uncooled_houses_are_as_warm_as_measured() -> None:
    outside, measured = column(UNCOOLED, "t_out_c"), column(UNCOOLED, "t_in_c")
    warm = (outside >= 18.0) & (outside <= 31.0)
    assert warm.sum() == 16
    # Promised 1.5 K. Measured: 1.4 where the room is heated in winter, 1.2 where it never is.
    heated = indoors.heated_temperature(outside, 20.0) - measured
    never = indoors.unheated_temperature(outside) - measured
    assert rms(heated[warm]) <= 1.5
    assert rms(never[warm]) <= 1.5
    assert max(abs(heated[warm].mean()), abs(never[warm].mean())) < 0.5
    # Three kelvin above outdoors, as it stood before, misses by more.
    assert rms((outside + 3.0 - measured)[warm]) > rms(never[warm])


def test_uncooled_houses_have_the_vapour_of_outdoors() -> None:
    # Ahmedabad, Merida and Mexicali have implausible humidity (12 to 21 points off whatever the
    # rule: the measured vapour indoors is far from that outdoors).
    doubtful = {"ahmedabad", "merida", "mexicali"}
    table = [row for row in UNCOOLED if row["city"] not in doubtful]
    outside = column(table, "t_out_c")
    ruled = air.relative_humidity(
        column(table, "t_in_c"), column(table, "pv_out_pa") + indoors.vapour_excess(outside)
    )
    assert rms(np.asarray(ruled) - column(table, "rh_in_pct")) < 4.5


def test_cooled_rooms_are_as_damp_as_measured() -> None:
    outside, setting = column(COOLED, "t_out_c"), column(COOLED, "t_in_c")
    vapour = column(COOLED, "pv_out_pa")
    free = indoors.heated_temperature(outside, 20.0)
    pressure = np.array(
        [
            indoors.cooled_pressure(each, more + indoors.vapour_excess(out), more, cool)
            for each, more, out, cool in zip(free, vapour, outside, setting, strict=True)
        ]
    )
    misses = np.asarray(air.relative_humidity(setting, pressure)) - column(COOLED, "rh_in_pct")
    # Promised 6 points. Measured: bias -0.9, rms 5.4 over eighteen of the groups fitted to.
    assert rms(misses) <= 6.0
    assert abs(misses.mean()) < 2.0
    # W = 4 + 0.4 W_out [g/kg], as it stood before.
    ratio = 0.004 + 0.4 * air.humidity_ratio(vapour)
    before = air.relative_humidity(setting, air.pressure_of_ratio(ratio)) - column(
        COOLED, "rh_in_pct"
    )
    assert rms(np.asarray(before)) > rms(misses)
    # Between buildings the told 5 points: the misses are means of one to sixteen buildings.
    assert rms(misses) == pytest.approx(house.BETWEEN_COOLED, abs=1.0)


# Months of cooled rooms as worked out beside the rules (heat_to 20, cool_to 24, lived in normally),
# at these stations of the table.
BY_MONTH = {
    "singapore-sg": [59, 59, 60, 61, 62, 61, 60, 60, 61, 60, 60, 60],
    "houston-us": [46, 46, 47, 50, 54, 58, 58, 58, 56, 51, 48, 46],
    "miami-us": [49, 50, 50, 51, 54, 58, 58, 59, 59, 56, 52, 50],
    "phoenix-us": [31, 28, 27, 26, 27, 32, 49, 51, 47, 36, 29, 31],
    "riyadh-sa": [30, 25, 26, 34, 28, 21, 24, 28, 25, 28, 34, 32],
}
EQUILIBRIA = {"singapore-sg": (10.7, 11.2), "houston-us": (8.5, 10.6), "riyadh-sa": (4.6, 6.8)}


@pytest.mark.parametrize("place", BY_MONTH)
def test_cooled_rooms_by_month_are_as_worked_out(place: str) -> None:
    # At the station itself: a town lies between stations.
    station = climate.search(place)[0].station.id
    made = house.from_climate(climate.find(station), heat_to=20.0, cool_to=24.0)
    # A point: figures were rounded, and in Phoenix taken at the pressure of sea level.
    assert made.relative_humidity == pytest.approx(np.array(BY_MONTH[place]), abs=1.05)
    assert rms(made.relative_humidity - np.array(BY_MONTH[place])) < 0.6
    if place in EQUILIBRIA:
        found = float(made.equilibrium.min()), float(made.equilibrium.max())
        assert found == pytest.approx(EQUILIBRIA[place], abs=0.06)


def test_cooling_set_lower_does_not_make_the_air_damper() -> None:
    warm, cold = (
        house.from_climate(climate.find("singapore-sg"), heat_to=20.0, cool_to=setting)
        for setting in (24.0, 20.0)
    )
    assert cold.relative_humidity == pytest.approx(warm.relative_humidity, abs=0.1)
    assert float(cold.equilibrium.min()) == pytest.approx(10.8, abs=0.06)
    assert float(cold.equilibrium.max()) == pytest.approx(11.3, abs=0.06)


# Six detached houses in Finland, hourly 2010-2012, open data set trh-1 by A. Laukkarinen, CC BY
# 4.0; outdoors and radiation: Finnish Meteorological Institute, CC BY 4.0.
ROOFS = rows("measured_roof_spaces.csv")


@pytest.mark.parametrize(
    ("space", "kind"), [("under the eaves", "open_shed"), ("ventilated roof space", "shed")]
)
def test_sheds_are_warmed_by_the_sun_as_roof_spaces_are(space: str, kind: str) -> None:
    table = [row for row in ROOFS if row["space"] == space]
    base, per_sun = indoors.SHED_RISE[kind]
    rise = base + per_sun * column(table, "global_radiation_w_m2")
    misses = rise - column(table, "t_above_outdoor_k")
    # Promised 1.2 K. Measured by month: 0.4 under the eaves, 0.7 in roof spaces.
    assert rms(misses) <= 0.9
    scatter = np.sqrt(misses**2 + column(table, "t_above_sd_k") ** 2)
    assert rms(scatter, column(table, "sensor_months")) <= 1.2
    # Vapour is that of outdoors.
    assert np.abs(column(table, "vapour_above_outdoor_pa")).max() < 35.0


def test_the_sun_estimated_by_latitude_serves_the_roof_spaces_too() -> None:
    # Half of the sun above the air at 61.5 degrees north (southern Finland) for the measured sun.
    table = [row for row in ROOFS if row["space"] == "ventilated roof space"]
    base, per_sun = indoors.SHED_RISE["shed"]
    misses = base + per_sun * sun.on_the_ground(61.5) - column(table, "t_above_outdoor_k")
    assert rms(misses) <= 1.2
    assert sun.on_the_ground(61.5) == pytest.approx(
        column(table, "global_radiation_w_m2"), abs=35.0
    )


def test_a_shed_is_as_damp_as_measured_roof_spaces() -> None:
    # The measured outdoors; the sun by the latitude of southern Finland, not the measured one.
    table = [row for row in ROOFS if row["space"] == "ventilated roof space"]
    outside, damp = column(table, "t_out_c"), column(table, "rh_out_pct")
    vapour = np.asarray(air.vapour_pressure(outside, damp))
    place = Outdoor("southern Finland", outside, vapour, damp, latitude=61.5, longitude=24.0)
    measured = column(table, "rh_in_pct")
    misses = house.from_climate(place, kind="shed").relative_humidity - measured
    # Measured: bias -1.7, rms 3.3 points. A degree above outdoors all year, as it stood before:
    # 3.2 and 5.9, with summers 7 to 11 points too damp.
    assert abs(misses.mean()) < 2.5
    assert rms(misses) < 4.0
    before = np.asarray(air.relative_humidity(outside + 1.0, vapour)) - measured
    assert rms(before) > 1.5 * rms(misses)
    assert np.abs(misses[5:8]).max() < 2.5


def test_the_sun_above_the_air_is_that_of_the_printed_formula_at_its_ends() -> None:
    # No sun all day in midwinter beyond the polar circle, none of it set in midsummer.
    assert float(sun.above_the_air(80.0, 355)) == 0.0
    assert float(sun.above_the_air(80.0, 172)) > float(sun.above_the_air(50.0, 172))
    # FAO-56 Example 8 (memory): 20 degrees south on 3 September, 32.2 MJ/m2 a day.
    assert float(sun.above_the_air(-20.0, 246)) * 0.0864 == pytest.approx(32.2, abs=0.1)


@pytest.mark.parametrize(
    "row", rows("window_condensation.csv"), ids=lambda row: row["outdoor_low_c"]
)
def test_panes_drip_where_printed_household_advice_says(row: dict[str, str]) -> None:
    # Minnesota Department of Public Service, household advice (seen in a published page), for
    # double panes at 70 degF: the highest humidity for a range of outdoor temperatures.
    if not row["implied_surface_factor"]:
        # Down to 4 degC: "40 %" is comfort, not condensation, which stands above it.
        assert float(machines.highest_before_dripping(21.1, 0.0)) > 40.0
        return
    coldest, mildest = float(row["outdoor_low_c"]), float(row["outdoor_high_c"])
    advised = float(row["highest_indoor_rh_pct"])
    least = float(machines.highest_before_dripping(21.1, max(coldest, -34.0)))
    most = float(machines.highest_before_dripping(21.1, mildest))
    # Their steps of 5 % lie within what the two ends of the range bear, to 2 points.
    assert least - 2.0 <= advised <= most + 2.0


@pytest.mark.parametrize(
    ("panes", "humidities"),
    # 21 degC indoors at 0, -10, -20, -30 outdoors: worked out by hand from the surface factors.
    [("double", [51, 36, 25, 18]), ("triple", [67, 55, 45, 37]), ("single", [36, 21, 12, 6])],
)
def test_what_panes_bear_by_hand(panes: machines.Panes, humidities: list[int]) -> None:
    found = machines.highest_before_dripping(21.0, [0.0, -10.0, -20.0, -30.0], panes)
    assert found == pytest.approx(np.array(humidities), abs=0.6)


@pytest.mark.parametrize(
    ("temperature", "humidity", "output"),
    [
        (26.7, 60.0, 1.0),
        (18.3, 60.0, 0.65),
        (20.0, 50.0, 0.51),
        (10.0, 60.0, 0.30),
        (30.0, 80.0, 1.57),
    ],
)
def test_the_output_of_a_dehumidifier_is_the_printed_curve(
    temperature: float, humidity: float, output: float
) -> None:
    # Winkler, Christensen & Tomerlin 2011, NREL (printed): 1 where it is rated. Machines re-rated
    # from 26.7 to 18.3 degC keep 0.60 to 0.70 (printed). The fit misses its own rating by 0.013.
    assert float(machines.output(temperature, humidity)) == pytest.approx(output, abs=0.015)


def test_a_dehumidifier_takes_out_nothing_at_its_floor() -> None:
    for temperature, floor in ((10.0, 43.0), (15.0, 35.0), (20.0, 28.0), (27.0, 21.0)):
        found = float(machines.driest_reached(temperature))
        assert found == pytest.approx(floor, abs=0.6)
        assert float(machines.output(temperature, found)) == pytest.approx(0.0, abs=1e-9)
        assert float(machines.output(temperature, found + 1.0)) > 0.0


def test_a_dehumidified_store_keeps_what_one_in_denmark_kept() -> None:
    # A museum store in Denmark, dehumidified, 13 years: 48 to 54 % all year (printed).
    made = house.from_climate(
        climate.find("Copenhagen"), kind="shed", dehumidify_to=50.0, dehumidifier="desiccant"
    )
    assert made.relative_humidity.max() <= 54.0


def test_a_heated_shop_by_hand() -> None:
    # 2 degC and 620 Pa outdoors, heated to 18: 720 Pa of 2064, 35 %.
    cold, vapour = np.full(12, 2.0), np.full(12, 620.0)
    place = Outdoor("by hand", cold, vapour, np.asarray(air.relative_humidity(cold, vapour)))
    made = house.from_climate(place, kind="heated_shop", heat_to=18.0)
    assert made.relative_humidity == pytest.approx(35.0, abs=0.2)


@pytest.mark.parametrize(
    ("rise", "humidity", "moisture"),
    # 21 degC and 40 % (7.7 % moisture): a floor of 27 degC, the top of 40 mm on it, 30 degC, and
    # behind furniture at an outer wall of U 0.5 with -5 outdoors. Worked out by hand.
    [(6.0, 27.9, 5.7), (1.97, 35.5, 7.0), (9.0, 23.4, 4.9), (-6.5, 60.0, 11.2)],
)
def test_the_air_at_a_warmer_or_colder_face_by_hand(
    rise: float, humidity: float, moisture: float
) -> None:
    found = float(places_at_slab.humidity_at(21.0, 40.0, rise))
    assert found == pytest.approx(humidity, abs=0.5)
    held = sorption.equilibrium_moisture(21.0 + rise, found)
    assert float(held) == pytest.approx(moisture, abs=0.1)


@pytest.mark.parametrize(
    ("method", "above"), [("en_15026", 4), ("en_15026_high", 14), ("iso_13788", 9)]
)
def test_design_curves_are_damper_than_measured_houses_by_what_their_note_says(
    method: living.Method, above: int
) -> None:
    offset, low, high = living.DESIGN_CURVES[method]
    curve = np.clip(offset + column(LIVING, "outdoor_mean_c"), low, high)
    assert float(np.mean(curve - column(LIVING, "rh_mean_pct"))) == pytest.approx(above, abs=0.6)
    outdoor = climate.find("Helsinki")
    notes = house.from_climate(outdoor, method=method).notes
    assert any(note.figures.get("above") == above for note in notes)


# Wood Handbook FPL-GTR-190 Table 13-2 (memory): average moisture of interior woodwork. Which
# region a city belongs to is read from the map of Fig. 13-1 (memory): the damp coast is that of
# the Gulf, the south Atlantic and California. Heated to 70 and cooled to 76 degF.
DRY_SOUTHWEST = ("Phoenix", "Tucson", "Las Vegas", "Albuquerque", "El Paso, TX", "Reno")
DAMP_COAST = (
    "Houston",
    "New Orleans",
    "Mobile",
    "Tampa",
    "Miami",
    "Jacksonville",
    "Charleston SC",
    "los-angeles-lax-ap-us",
    "San Diego",
    "San Francisco",
)


def mean_of_room(place: str) -> float:
    outdoor = climate.find(place)
    return house.from_climate(outdoor, heat_to=21.1, cool_to=24.4).mean_equilibrium


def test_rooms_in_most_of_the_united_states_are_within_the_handbooks_6_to_10() -> None:
    others = {climate.find(one).stations[0].station.id for one in (*DRY_SOUTHWEST, *DAMP_COAST)}
    inland = [
        one.id
        for one in climate.listed().stations
        if one.country == "US" and one.named and one.id not in others
    ]
    assert len(inland) >= 70
    means = {one: mean_of_room(one) for one in inland}
    outside = {one: mean for one, mean in means.items() if not 6.0 <= mean <= 10.0}
    assert outside == {}
    # "Average 8" of the same table, within half a point over all cities.
    assert np.mean(list(means.values())) == pytest.approx(8.0, abs=0.5)


@pytest.mark.parametrize("place", DRY_SOUTHWEST)
def test_rooms_in_the_dry_southwest_are_within_4_to_9(place: str) -> None:
    assert 4.0 <= mean_of_room(place) <= 9.0


@pytest.mark.parametrize("place", DAMP_COAST)
def test_rooms_on_the_damp_coast_are_within_8_to_13(place: str) -> None:
    assert 8.0 <= mean_of_room(place) <= 13.0


@pytest.mark.parametrize(
    ("place", "low", "high"),
    # Canadian Wood Council by way of a public list (seen in a published page): indoors on the west
    # coast 8 in winter, 12 in summer; the other regions from memory.
    [
        ("Vancouver, BC", 8.0, 12.0),
        ("Victoria, BC", 8.0, 12.0),
        ("Calgary", 5.0, 8.0),
        ("Edmonton", 5.0, 8.0),
        ("Winnipeg", 5.0, 8.0),
        ("Toronto", 5.0, 10.0),
        ("Ottawa", 5.0, 10.0),
        ("Montreal", 5.0, 10.0),
        ("Halifax, NS", 7.0, 10.0),
    ],
)
def test_rooms_in_canada_are_within_the_printed_band(place: str, low: float, high: float) -> None:
    assert low <= mean_of_room(place) <= high


def outdoors(place: str) -> room.Room:
    return house.from_climate(climate.find(place), kind="outdoors_covered")


@pytest.mark.parametrize(
    ("place", "low", "average", "high"),
    # The same tables, outdoors under cover. West coast seen in a published page (winter 18,
    # summer 13), the others from memory. "Prairies 10, 11.5, 12" is left out: it agrees with
    # Calgary alone; Edmonton and Winnipeg come out at 15.4 and 14.5, and Fargo, 340 km from
    # Winnipeg, is 13.8 in the Wood Handbook's own table below.
    [
        ("Vancouver, BC", 13.0, 15.5, 18.0),
        ("Toronto", 10.0, 13.5, 17.0),
        ("Ottawa", 10.0, 13.5, 17.0),
        ("Montreal", 10.0, 13.5, 17.0),
        ("Halifax, NS", 12.0, 14.5, 19.0),
    ],
)
def test_the_outdoor_equilibrium_in_canada_is_the_printed_one(
    place: str, low: float, average: float, high: float
) -> None:
    made = outdoors(place)
    # 1.2 % M: the least error of the look-up itself (leave one out); a printed average stands for
    # a whole region.
    assert made.mean_equilibrium == pytest.approx(average, abs=1.2)
    # The printed ends are those of a season: the driest and dampest quarter, within the same 1.2.
    quarters = np.convolve(np.tile(made.equilibrium, 2), np.ones(3) / 3.0, "valid")
    assert low - 1.2 <= quarters.min() <= quarters.max() <= high + 1.2


def handbook() -> dict[str, Floats]:
    with (DATA / "outdoor_equilibrium_us.csv").open(encoding="utf-8") as file:
        return {
            row["id"]: np.array([float(value) for value in list(row.values())[1:13]])
            for row in csv.DictReader(file)
        }


def test_the_outdoor_equilibrium_of_us_cities_is_that_of_the_wood_handbook() -> None:
    # Wood Handbook FPL-GTR-190 Table 13-1, from Simpson 1998, FPL-RN-268 (memory). It too is the
    # sorption formula at monthly means, of older years.
    misses = np.array([outdoors(one).equilibrium - printed for one, printed in handbook().items()])
    assert misses.shape == (23, 12)
    # Measured: -0.23, 0.494. Largest: Denver, whose station moved from Stapleton to the plains in
    # 1995 (1.24; the stations around agree with the new one); then the dry West, which has lost
    # half a point since the older years of the printed table (El Paso, Missoula, Fresno, Boise).
    assert abs(misses.mean()) < 0.3
    assert np.sqrt(np.mean(misses**2)) < 0.5
    assert np.abs(misses.mean(axis=1)).max() < 1.25
    assert np.median(np.abs(misses)) < 0.5


def test_places_keep_the_handbooks_order_from_dry_to_damp() -> None:
    printed = handbook()
    theirs = np.array([values.mean() for values in printed.values()])
    ours = np.array([outdoors(one).mean_equilibrium for one in printed])
    # A formula that merely gave every place 12 would correlate with nothing.
    assert np.corrcoef(theirs, ours)[0, 1] > 0.98


@pytest.mark.parametrize(
    "place",
    ["duluth-us", "Minneapolis", "Fargo", "Bismarck", "Winnipeg", "Burlington, VT", "Chicago"],
)
def test_a_heated_room_in_a_cold_winter_brings_wood_to_4_to_7(place: str) -> None:
    # Common practice, no source.
    made = house.from_climate(climate.find(place), heat_to=21.1)
    winter = made.equilibrium[[11, 0, 1]]
    assert np.all((winter >= 4.0) & (winter <= 7.0))


def test_a_heated_shop_in_winter_is_drier_than_a_lived_in_room() -> None:
    # Common practice, no source: nothing gives off moisture, so the same heat dries more.
    outdoor = climate.find("duluth-us")
    shop = house.from_climate(outdoor, kind="heated_shop", heat_to=21.1)
    lived_in = house.from_climate(outdoor, heat_to=21.1)
    assert np.all(shop.equilibrium[[0, 1, 11]] < lived_in.equilibrium[[0, 1, 11]] - 1.0)


def test_an_unheated_shed_stays_near_air_dry() -> None:
    # Common practice, no source: wood kept under a roof in a temperate climate stays at 12 to 16.
    # A closed one, warmed by the sun on its roof, is drier than one that is well aired.
    for place in ("Madison, WI", "Buffalo", "Pittsburgh", "Portland OR"):
        aired = house.from_climate(climate.find(place), kind="open_shed")
        assert 11.5 <= aired.mean_equilibrium <= 16.0, place
        closed = house.from_climate(climate.find(place), kind="shed")
        assert 10.5 <= closed.mean_equilibrium < aired.mean_equilibrium, place
