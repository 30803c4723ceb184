"""Houses by hand in climates of one temperature: notes, how far rooms lie apart, machines."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.properties import air, sorption
from model.surroundings import house, indoors, living, machines
from model.surroundings.climate import Outdoor, outdoor_from_months
from model.surroundings.room import Room

SATURATED_20 = float(air.saturation_pressure(20.0))  # 2339 Pa
WINTER = [-10.0] * 6 + [18.0] * 6


def place(temperature: list[float] | float, percent: float = 70.0, **more: Any) -> Outdoor:
    months = [temperature] * 12 if isinstance(temperature, float) else temperature
    return replace(outdoor_from_months(months, [percent] * 12), **more)


def told(made: Room, code: str) -> dict[str, Any] | None:
    """Figures of a note; None when it is not there."""
    found = [note.figures for note in made.notes if note.code == code]
    assert len(found) <= 1
    return found[0] if found else None


def test_never_heated_and_unsure_are_told_with_their_figures() -> None:
    never = house.from_climate(place([15.1] + [25.0] * 11))
    assert told(never, "never-heated") == {"coldest": 15.1, "above": 15.0}
    assert never.temperature[0] == pytest.approx(15.1 + 2.7)
    mild = place([12.0] * 6 + [22.0] * 6)
    unsure = house.from_climate(mild)
    note = told(unsure, "heating-unsure")
    assert note is not None
    heated = house.from_climate(mild, heat_to=21.5)
    cold = air.relative_humidity(14.7, mild.vapour_pressure[0] + 168.0)  # 10 and 20 degC: 200, 40
    assert (note["coldest"], note["heat_to"]) == (12.0, 21.5)
    assert (note["heated"], note["unheated"]) == (heated.temperature.min(), 14.7)
    assert note["points"] == pytest.approx(float(cold) - heated.relative_humidity[0])
    # Its days may be as cold as the unheated room's.
    assert unsure.air.temperature.min() < 18.0
    # The variance of two cases as likely as each other: the mean of theirs, and half their distance
    # squared.
    told_apart = [
        np.asarray(heated.between)[0],
        house.apart(np.array([14.7]), np.array([float(cold)]), np.array([168.0]))[0][0],
    ]
    variance = 0.5 * (told_apart[0] ** 2 + told_apart[1] ** 2) + (0.5 * note["points"]) ** 2
    assert np.asarray(unsure.between)[0] ** 2 == pytest.approx(variance)
    for coldest in (10.0, 15.0):  # both bounds are unsure
        assert told(house.from_climate(place([coldest] + [20.0] * 11)), "heating-unsure")
    # A shop is heated where anybody may.
    shop = house.from_climate(mild, kind="heated_shop")
    assert told(shop, "heating-assumed") == {"heat_to": 21.5}
    assert shop.temperature[0] == pytest.approx(21.5 + 0.7 * (0.33 * 12.0 + 18.8 - 21.5))


def test_heating_that_is_assumed_never_passes_the_cooling() -> None:
    made = house.from_climate(place(WINTER), cool_to=19.0)
    assert told(made, "heating-assumed") == {"heat_to": 19.0}
    assert made.temperature.tolist() == [19.0] * 12
    assert told(house.from_climate(place(WINTER), cool_to=25.0), "heating-assumed") == {
        "heat_to": 21.5
    }


def test_very_cold_months_are_told_below_those_measured() -> None:
    for coldest, cold in ((-15.0, False), (-15.1, True)):
        months = [coldest] + [0.0] * 11
        note = told(house.from_climate(place(months)), "very-cold-months")
        assert note == ({"below": -15.0} if cold else None)
        assert told(house.from_climate(place(months), occupied="no"), "very-cold-months") is None


def test_how_far_a_free_room_stands_above_outdoors_is_told() -> None:
    # 10 degC: 22.1 by the line, half of the way there from 20; 20: 25.4.
    made = house.from_climate(place([0.0] * 4 + [10.0] * 4 + [20.0] * 4), heat_to=20.0)
    note = told(made, "free-gain")
    assert note is not None
    assert note["months"] == 8
    assert (note["least"], note["most"]) == pytest.approx((5.4, 11.05))
    assert told(house.from_climate(place(0.0), heat_to=20.0), "free-gain") is None
    cooled = house.from_climate(
        place([0.0] * 4 + [10.0] * 4 + [20.0] * 4), heat_to=20.0, cool_to=24.0
    )
    assert (told(cooled, "free-gain") or {})["months"] == 4
    assert told(cooled, "cooling-dries") == {"months": 4}
    assert cooled.temperature.max() == 24.0
    never = told(house.from_climate(place(25.0)), "free-gain") or {}
    assert never["months"] == 12
    assert never["least"] == pytest.approx(indoors.unheated_temperature(25.0) - 25.0)


def test_how_far_houses_lie_apart_by_hand() -> None:
    # At 0 degC: 350 Pa of people, a house's 96.0 Pa and a month's 72; at 20 degC 42.8 and 0.8 K,
    # 0.6 K, of 6.2 % of the humidity each.
    made = house.from_climate(place(0.0), heat_to=20.0, occupied="normally")
    vapour = np.hypot(0.25 * 350.0, 40.0)
    percent = float(made.relative_humidity[0])
    kelvin = percent * np.log(air.saturation_pressure(20.5) / air.saturation_pressure(19.5))
    assert kelvin / percent == pytest.approx(0.0617, abs=0.0003)  # Clausius and Clapeyron
    between = np.hypot(vapour / SATURATED_20 * 100.0, 0.8 * kelvin)
    strays = np.hypot(72.0 / SATURATED_20 * 100.0, 0.6 * kelvin)
    assert made.between == pytest.approx(np.full(12, between))
    assert made.strays == pytest.approx(np.full(12, strays))
    # A place known by stations 6 points apart adds to it; one month in a house does not stray more.
    away = house.from_climate(place(0.0, humidity_error=6.0), heat_to=20.0, occupied="normally")
    assert away.between == pytest.approx(np.full(12, np.hypot(between, 6.0)))
    assert away.strays == pytest.approx(made.strays)


@pytest.mark.parametrize(
    ("asked", "points"),
    # Judgement and open data beside each constant in `house`.
    [
        ({"kind": "heated_shop", "heat_to": 20.0}, 4.5),
        ({"kind": "shed", "shaded": True}, 4.0),
        ({"kind": "outdoors_covered"}, 3.0),
    ],
)
def test_how_far_other_places_lie_apart(asked: dict[str, Any], points: float) -> None:
    assert house.from_climate(place(0.0), **asked).between == pytest.approx(np.full(12, points))


def test_a_part_heated_room_is_unsure_by_a_tenth_of_the_way() -> None:
    made = house.from_climate(place(0.0), kind="part_heated", heat_to=20.0, outer_walls="one")
    assert made.temperature.tolist() == [12.0] * 12  # four tenths of the way
    percent = float(made.relative_humidity[0])
    kelvin = percent * np.log(air.saturation_pressure(12.5) / air.saturation_pressure(11.5))
    assert made.between == pytest.approx(np.full(12, np.hypot(4.0, 2.0 * kelvin)))
    assert told(made, "walls-assumed") is None
    # 8 degC outdoors: a tenth of what the house stands above it.
    mild = house.from_climate(place(8.0), kind="part_heated", heat_to=20.0, outer_walls="one")
    way = float(indoors.heated_temperature(8.0, 20.0)) - 8.0
    percent, warm = float(mild.relative_humidity[0]), float(mild.temperature[0])
    assert warm == pytest.approx(8.0 + 0.6 * way)
    kelvin = percent * np.log(
        air.saturation_pressure(warm + 0.5) / air.saturation_pressure(warm - 0.5)
    )
    assert mild.between == pytest.approx(np.full(12, np.hypot(4.0, 0.1 * way * kelvin)))
    vapour = air.vapour_pressure(made.temperature, made.relative_humidity)
    assert vapour == pytest.approx(place(0.0).vapour_pressure)
    untold = house.from_climate(place(0.0), kind="part_heated", heat_to=20.0)
    assert told(untold, "walls-assumed") == {"way": 0.5}
    assert untold.temperature.tolist() == [10.0] * 12
    cellar = house.from_climate(place(0.0), kind="cellar", heat_to=20.0)
    assert told(cellar, "cellar-rough") == {"way": 0.65}
    vapour = air.vapour_pressure(cellar.temperature, cellar.relative_humidity)
    assert vapour == pytest.approx(place(0.0).vapour_pressure + 150.0)
    # Of a house that nobody heats: 2.7 K above outdoors; of one nobody told, 21.5 degC.
    assert house.from_climate(place(20.0), kind="cellar").temperature[0] == pytest.approx(
        float(indoors.heated_temperature(20.0, 21.5)) * 0.35 + 20.0 * 0.65
    )
    assert house.from_climate(place(0.0), kind="cellar").temperature[0] == pytest.approx(7.525)


def test_cooling_lets_rooms_lie_apart_as_cooled_buildings_do() -> None:
    hot = place(30.0, 60.0)
    made = house.from_climate(hot, heat_to=20.0, cool_to=24.0, occupied="normally")
    assert made.between == pytest.approx(np.full(12, 5.0))
    half = house.from_climate(
        hot, heat_to=20.0, cool_to=float(indoors.heated_temperature(30.0, 20.0)) + 0.5
    )
    free = house.from_climate(hot, heat_to=20.0)
    assert free.between is not None
    assert half.between == pytest.approx(np.sqrt(0.5 * free.between**2 + 0.5 * 25.0))


def test_the_error_of_outdoor_wood_is_told_by_the_slope_of_its_curve() -> None:
    outdoors = place(10.0, equilibrium_error=1.2)
    made = house.from_climate(outdoors, kind="outdoors_covered")
    slope = float(sorption.slope(10.0, 70.0))
    assert made.between == pytest.approx(np.full(12, np.hypot(3.0, 1.2 / slope)))
    # A design curve knows no place.
    designed = house.from_climate(place(10.0, humidity_error=6.0), method="iso_13788")
    assert designed.between == pytest.approx(
        np.asarray(house.from_climate(place(10.0), method="iso_13788").between)
    )


@pytest.mark.parametrize(("method", "above"), [("en_15026", 4), ("en_15026_high", 14)])
def test_a_design_curve_says_how_far_it_lies_above_what_was_measured(
    method: living.Method, above: int
) -> None:
    made = house.from_climate(place(10.0), method=method)
    assert told(made, "design-curve") == {"above": above}
    warm = [float(house.from_climate(place(t), method=method).temperature[0]) for t in (8.0, 14.0)]
    assert warm == [20.0, 22.0]


def test_a_shed_says_what_warms_it() -> None:
    # Without a latitude 150 W/m2 of sun: 0.8 + 0.012 x 150 K.
    closed = house.from_climate(place(10.0), kind="shed")
    assert told(closed, "shed-gain") == {"least": 2.6, "most": 2.6, "shaded": False}
    assert told(closed, "sun-not-known") == {"taken": 150.0}
    assert [note.code for note in closed.notes][:4] == [
        "vapour-from-means", "shed-gain", "sun-not-known", "outdoor-mean-bias",
    ]  # fmt: skip
    shaded = house.from_climate(place(10.0), kind="shed", shaded=True)
    assert told(shaded, "shed-gain") == {"least": 0.8, "most": 0.8, "shaded": True}
    north = (
        told(house.from_climate(place(10.0, latitude=60.0), kind="open_shed"), "shed-gain") or {}
    )
    assert 0.3 < north["least"] < 0.8 < north["most"] < 3.0


def test_a_shop_heated_at_times_stands_cold_and_no_damper_than_saturated_between() -> None:
    made = house.from_climate(place(-10.0), kind="heated_shop", heat_to=18.0, heated_share=0.25)
    always = house.from_climate(place(-10.0), kind="heated_shop", heat_to=18.0)
    assert told(made, "heated-at-times") == {"share": 0.25}
    assert made.temperature[0] == pytest.approx(0.25 * 18.0 + 0.75 * -9.2)
    # Its work's 100 Pa and the outdoor 70 % and curve's 13 are more than -9.2 degC holds.
    assert made.relative_humidity[0] == pytest.approx(0.25 * always.relative_humidity[0] + 75.0)
    dry = house.from_climate(place(20.0, 40.0), kind="heated_shop", heat_to=18.0, heated_share=0.5)
    free = indoors.heated_temperature(20.0, 18.0)
    vapour = place(20.0, 40.0).vapour_pressure[0]
    by_hand = [float(air.relative_humidity(one, vapour)) for one in (float(free), 20.8)]
    assert dry.relative_humidity[0] == pytest.approx(0.5 * sum(by_hand))
    assert dry.temperature[0] == pytest.approx(0.5 * (float(free) + 20.8))
    # A shop is no warmer when it is not heated.
    warm = house.from_climate(place(10.0), kind="heated_shop", heat_to=5.0, heated_share=0.0)
    assert warm.temperature[0] == pytest.approx(
        min(10.8, float(indoors.heated_temperature(10.0, 5.0)))
    )


# Machines.
def test_a_humidifier_stops_where_the_panes_drip_and_says_so() -> None:
    made = house.from_climate(place([-10.0] * 3 + [10.0] * 9), heat_to=20.0, humidify_to=45.0)
    bears = 100.0 * float(air.saturation_pressure(5.0)) / SATURATED_20  # half the way to -10
    assert made.relative_humidity[0] == pytest.approx(bears)
    assert told(made, "held-by-panes") == {
        "setting": 45.0, "months": 3, "least": pytest.approx(bears), "panes": "double",
        "assumed": True,
    }  # fmt: skip
    assert told(made, "humidifier-water") is None
    # Damper already than the panes bear: nothing is taken away, and no machine holds it.
    damp = house.from_climate(
        place(-10.0), heat_to=20.0, occupied="crowded", humidify_to=30.0, panes="single"
    )
    free = house.from_climate(place(-10.0), heat_to=20.0, occupied="crowded")
    assert damp.relative_humidity == pytest.approx(free.relative_humidity)
    assert damp.between == pytest.approx(np.asarray(free.between))


def test_the_driest_month_takes_the_most_water() -> None:
    months = [0.0] * 12
    months[4] = -5.0
    made = house.from_climate(
        place(months), heat_to=20.0, humidify_to=45.0, panes="triple", air_changes=0.5, volume=100.0
    )
    note = told(made, "humidifier-water")
    assert note is not None
    assert note["month"] == 5
    # 450 Pa of people and (70 + 7.65) % of what -5 degC saturate; to 45 % at 20 degC.
    vapour = float(place(months).vapour_pressure[4]) + 450.0
    water = 1200.0 * (0.45 * SATURATED_20 - vapour) / (461.5 * 293.15)
    assert note["water"] == pytest.approx(water, rel=1e-4)
    # A closet of 5 m3 takes a twentieth, told too.
    small = house.from_climate(
        place(months), heat_to=20.0, humidify_to=45.0, panes="triple", air_changes=0.5, volume=5.0
    )
    assert (told(small, "humidifier-water") or {})["water"] == pytest.approx(water / 20.0, rel=1e-4)
    wet = house.from_climate(
        place(15.0, 90.0), heat_to=20.0, humidify_to=30.0, air_changes=0.5, volume=99.0
    )
    assert told(wet, "humidifier-water") is None


def test_what_keeps_a_dehumidifier_from_its_setting_is_told() -> None:
    # A shaded shed 0.8 K above outdoors: too cold, icing, and as it should be.
    months = [9.19] * 2 + [9.21] * 3 + [14.19] * 3 + [14.21] * 4
    made = house.from_climate(place(months, 80.0), kind="shed", shaded=True, dehumidify_to=50.0)
    assert told(made, "dehumidifier-too-cold") == {"months": 2, "works": 10.0}
    assert told(made, "dehumidifier-ices") == {"months": 6, "below": 15.0}
    assert told(made, "dehumidifier-stops") is None
    assert made.relative_humidity[2:] == pytest.approx(np.full(10, 50.0))
    assert made.relative_humidity[0] > 70.0
    # 36 % at 15 degC is less than its curve takes out; months dry enough are not spoken of.
    dry = house.from_climate(place(months, 80.0), kind="shed", shaded=True, dehumidify_to=30.0)
    stops = told(dry, "dehumidifier-stops") or {}
    assert (stops["setting"], stops["months"], stops["sized"]) == (30.0, 10, False)
    assert stops["reached"] == pytest.approx(float(machines.driest_reached(10.01)))
    fine = house.from_climate(place(months, 40.0), kind="shed", shaded=True, dehumidify_to=60.0)
    for code in ("dehumidifier-too-cold", "dehumidifier-ices", "dehumidifier-stops"):
        assert told(fine, code) is None


def test_a_small_dehumidifier_holds_what_it_can() -> None:
    asked: dict[str, Any] = {"air_changes": 0.5, "volume": 100.0, "dehumidify_to": 40.0}
    made = house.from_climate(
        place(16.0, 80.0), kind="shed", shaded=True, dehumidifier_rated=4.0, **asked
    )
    vapour = float(place(16.0, 80.0).vapour_pressure[0])
    held = float(machines.humidity_held(16.8, vapour, 4.0, 100.0, 0.5))
    assert made.relative_humidity == pytest.approx(np.full(12, held))
    stops = told(made, "dehumidifier-stops") or {}
    assert (stops["months"], stops["sized"]) == (12, True)
    assert stops["reached"] == pytest.approx(held)
    large = house.from_climate(
        place(16.0, 80.0), kind="shed", shaded=True, dehumidifier_rated=90.0, **asked
    )
    assert large.relative_humidity == pytest.approx(np.full(12, 40.0))
    # A hygrometer's error where a machine holds it.
    assert large.between == pytest.approx(np.full(12, 3.0))
    assert large.strays == pytest.approx(np.zeros(12))


def test_the_days_stay_within_what_is_held() -> None:
    swings = [-10.0, -10, 0, 8, 14, 20, 26, 26, 20, 12, 4, -6]
    made = house.from_climate(
        place(swings, 60.0), heat_to=20.0, cool_to=24.0, humidify_to=35.0, panes="triple",
        dehumidify_to=50.0,
    )  # fmt: skip
    assert made.air.temperature.min() >= 20.0 - 1e-9
    assert made.air.temperature.max() <= 24.0 + 1e-9
    assert made.air.relative_humidity.max() <= 50.0 + 1e-9
    assert made.air.relative_humidity.min() >= min(35.0, made.relative_humidity.min()) - 1e-9
    free = house.from_climate(place(swings, 60.0), heat_to=20.0)
    assert free.air.temperature.max() > free.temperature.max()
    assert free.air.relative_humidity.max() > free.relative_humidity.max()


def test_what_a_room_is_made_of() -> None:
    outdoors = place(0.0, attribution=("credit",), elevation=1500.0)
    made = house.from_climate(outdoors, heat_to=20.0)
    assert (made.attribution, made.outdoor, made.kind) == (("credit",), outdoors, "room")
    assert made.months == tuple(range(1, 13))
    assert made.method == "vapour_excess"
    assert made.rules == ("saturation-pressure", "room-temperature", "room-vapour-excess")
    # Cooling counts the grams in thin air.
    high, low = (
        house.from_climate(place(28.0, 40.0, elevation=height), heat_to=20.0, cool_to=24.0)
        for height in (2000.0, None)
    )
    grams = air.humidity_ratio(high.outdoor.vapour_pressure[0], 79_495.0)  # type: ignore[union-attr]
    assert high.relative_humidity[0] == pytest.approx(36.0 + 1250.0 * float(grams), rel=1e-4)
    assert low.relative_humidity[0] < high.relative_humidity[0]
