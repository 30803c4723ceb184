"""Rooms and the outdoor equilibrium of places against measured houses, handbooks and the trade."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from model.properties import air
from model.surroundings import climate, house, room

Floats = NDArray[np.float64]
DATA = Path(__file__).parent / "data"


def column(name: str) -> Floats:
    with (DATA / "measured_rooms.csv").open(encoding="utf-8") as file:
        return np.array([float(row[name]) for row in csv.DictReader(file)])


def measured_misses(excess: Floats | None = None) -> Floats:
    """The default rule less the measured humidity [points] in ten bins of outdoor temperature.

    Seven detached houses in Finland, hourly 2010-2012, open data set trh-1 by A. Laukkarinen,
    CC BY 4.0. Vapour outdoors is the measured one indoors less the measured excess, brought to
    the outdoor temperature; the temperature indoors is the measured one.
    """
    inside, outside = column("indoor_mean_c"), column("outdoor_mean_c")
    measured = column("rh_mean_pct")
    indoors = air.concentration(inside, air.vapour_pressure(inside, measured))
    outdoors = indoors - column("vapour_excess_mean_g_m3") / 1000.0
    pressure = outdoors * air.WATER_GAS_CONSTANT * (outside + air.ZERO_CELSIUS)
    added = house.vapour_excess(outside) if excess is None else excess
    ruled: Floats = air.relative_humidity(inside, pressure + added)
    return ruled - measured


def test_the_default_room_is_that_of_seven_measured_houses() -> None:
    misses, days = measured_misses(), column("sensor_days")
    bias = float(np.average(misses, weights=days))
    rms = float(np.sqrt(np.average(misses**2, weights=days)))
    # Promised: bias within 1.5 and rms within 6 % RH. Measured here: -1.0 and 3.2 over all days;
    # the ten bins alike give rms 5.2.
    assert abs(bias) < 1.5
    assert rms < 6.0
    assert np.sqrt(np.mean(misses**2)) < 6.0


def test_the_default_room_is_known_to_be_dry_in_severe_cold() -> None:
    # The bins below -10 degC hold 592 of 6487 days; there the rule is 8.5 to 9.7 points too dry,
    # which a note of the room tells (very-cold-months).
    misses = measured_misses()
    cold = column("outdoor_mean_c") < -10.0
    assert misses[cold] == pytest.approx(-9.0, abs=1.0)
    assert np.abs(misses[~cold]).max() < 4.5
    made = house.from_climate(climate.find("Winnipeg"), heat_to=21.0)
    assert "very-cold-months" in {note.code for note in made.notes}


def test_neither_less_nor_more_moisture_fits_the_measured_houses_as_well() -> None:
    days = column("sensor_days")
    default = np.average(measured_misses() ** 2, weights=days)
    for occupied in ("lightly", "crowded"):
        other = measured_misses(house.vapour_excess(column("outdoor_mean_c"), occupied))
        assert np.average(other**2, weights=days) > 2.0 * default


def test_the_spread_of_houses_is_the_measured_one() -> None:
    half_band = 0.5 * (column("rh_p90_pct") - column("rh_p10_pct"))
    # 1.2816 standard deviations reach the 10th percentile; 7.9 points measured on average.
    assert half_band.mean() == pytest.approx(1.2816 * house.BETWEEN_HOUSES, abs=0.1)


@pytest.mark.parametrize(
    ("method", "above"), [("en_15026", 4), ("en_15026_high", 14), ("iso_13788", 9)]
)
def test_design_curves_are_damper_than_measured_houses_by_what_their_note_says(
    method: house.Method, above: int
) -> None:
    offset, low, high = house.DESIGN_CURVES[method]
    curve = np.clip(offset + column("outdoor_mean_c"), low, high)
    assert float(np.mean(curve - column("rh_mean_pct"))) == pytest.approx(above, abs=0.6)
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
    for place in ("Madison, WI", "Buffalo", "Pittsburgh", "Portland OR"):
        made = house.from_climate(climate.find(place), kind="shed")
        assert 11.5 <= made.mean_equilibrium <= 16.0, place
