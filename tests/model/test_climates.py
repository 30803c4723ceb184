"""Choosing and weighing stations, on made-up ones: each rule from either side, by hand."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.codes import Note
from model.surroundings import climate, towns
from model.surroundings.climate import Ambiguous, Climates, TooFar
from model.surroundings.stations import DWD_ATTRIBUTION, Station

DEGREE = 6371.0 * np.pi / 180.0  # km; of a great circle
NUMBERS = itertools.count()


def station(name: str, km_east: float = 0.0, **more: Any) -> Station:
    """A station on the equator, so far east of 20 degrees in the middle of Africa."""
    made = Station(
        id=f"{name.casefold().replace(' ', '-')}-{next(NUMBERS)}", name=name, country="CD",
        region="", latitude=0.0, longitude=20.0 + km_east / DEGREE, elevation=300.0, years=10,
        grade="A", named=False, source="made up", period="2000-2010",
        temperature=np.full(12, 20.0), vapour_pressure=np.full(12, 1500.0),
        relative_humidity=np.full(12, 64.0),
    )  # fmt: skip
    return replace(made, **more)


def near(*some: Station, elevation: float | None = 300.0) -> climate.Outdoor:
    return Climates(some).near(0.0, 20.0, elevation)


def codes(found: climate.Outdoor) -> list[str]:
    return [note.code for note in found.notes]


def told(found: climate.Outdoor, code: str) -> dict[str, Any]:
    return next(note for note in found.notes if note.code == code).figures


def test_a_station_speaks_up_to_250_km() -> None:
    found = near(station("In", 249.9), station("Out", 250.1))
    assert [one.station.name for one in found.stations] == ["In"]
    with pytest.raises(TooFar, match=r"no station within 250 km; the nearest, Out.*, is 251 km"):
        near(station("Out", 251.2), station("Far", 400.0))


def test_three_are_weighed_by_the_square_of_their_distance_and_5_km_at_least() -> None:
    found = near(station("A", 30.0), station("B", 2.0), station("C", 10.0), station("D", 31.0))
    assert [one.station.name for one in found.stations] == ["B", "C", "A"]
    weights = np.array([1.0 / 25.0, 1.0 / 100.0, 1.0 / 900.0])
    assert [one.weight for one in found.stations] == pytest.approx(weights / weights.sum())
    assert [one.distance for one in found.stations] == pytest.approx([2.0, 10.0, 30.0])


def test_a_metre_of_height_counts_as_200_metres_of_way() -> None:
    # 100 m up or down are 20 km.
    some = [station(name, km) for name, km in (("A", 1.0), ("B", 2.0), ("C", 3.0))]
    for high, away, first in (
        (200, 20.9, "B"),
        (200, 21.1, "A"),
        (400, 20.9, "B"),
        (400, 21.1, "A"),
    ):
        found = near(replace(some[0], elevation=float(high)), station("B", away))
        assert found.stations[0].station.name == first
    assert near(*some, elevation=None).stations[0].height_difference is None
    assert near(*some, elevation=350.0).stations[0].height_difference == 50.0


def test_poor_stations_count_where_no_good_one_is_within_reach() -> None:
    poor = station("Poor", 5.0, grade="C")
    assert [one.station.name for one in near(poor, station("B", 249.0, grade="B")).stations] == [
        "B"
    ]
    alone = near(poor, station("Far", 251.0))
    assert [one.station.name for one in alone.stations] == ["Poor"]
    assert told(alone, "climate-grade") == {"stations": ("Poor",)}
    assert "climate-grade" not in codes(near(station("Good", 5.0)))


def test_the_error_grows_with_the_root_of_the_way_to_the_nearest() -> None:
    found = near(station("A", 100.0), station("B", 144.0))
    assert found.equilibrium_error == pytest.approx(1.18 + 0.044 * 10.0)
    assert found.humidity_error == pytest.approx(3.8 + 0.18 * 10.0)
    note = told(found, "stations")
    assert (note["outdoors"], note["indoors"]) == (found.equilibrium_error, found.humidity_error)


def test_height_is_told_from_200_and_600_metres_and_doubles_the_error() -> None:
    flat = near(station("A", 9.0)).equilibrium_error
    for higher, code in (
        (199.9, None),
        (200.0, "height"),
        (599.9, "height"),
        (600.0, "height-far"),
    ):
        for sign in (1.0, -1.0):
            found = near(station("A", 9.0, elevation=300.0 + sign * higher))
            assert [one for one in codes(found) if one.startswith("height")] == [code] * bool(code)
            assert found.equilibrium_error == pytest.approx(flat * (2.0 if code else 1.0))
            assert "no-elevation" not in codes(found)
    # By the weights: 400 m at 9 km and none at 18, of which the first counts four fifths.
    both = near(station("A", 9.0, elevation=700.0), station("B", 18.0))
    assert told(both, "height")["higher"] == pytest.approx(320.0)
    without = near(station("A", 9.0, elevation=900.0), elevation=None)
    assert told(without, "no-elevation") == {"heights": (("A", 900.0),)}
    assert without.equilibrium_error == pytest.approx(flat)


def test_a_station_is_told_from_half_a_percent_and_named_from_five() -> None:
    # Weights 1 and (5/d)^2 over their sum: a twentieth at 21.79 km, 0.005 at 70.53 km.
    for away, named in ((21.7, True), (21.9, False)):
        found = near(station("A", 1.0), station("B", away))
        assert found.name.endswith(f"by the stations A (1 km) and B ({away:.0f} km)") is named
        assert found.name.endswith("by the station A (1 km)") is not named
    for away, listed in ((70.4, 2), (70.7, 1)):
        stations = told(near(station("A", 1.0), station("B", away)), "stations")["stations"]
        assert len(stations) == listed
    three = near(station("A", 1.0), station("B", 2.0), station("C", 3.0))
    assert three.name == "0.000, 20.000, by the stations A (1 km), B (2 km) and C (3 km)"
    first = told(three, "stations")["stations"][0]
    assert first == (three.stations[0].station.label, three.stations[0].distance, 0.0, first[3])


def test_notes_and_credits_of_stations_come_along() -> None:
    one = station("A", 1.0, source="DWD CLIMAT", notes=(Note("climate-mended", station="A"),))
    other = station("B", 2.0, source="DWD CLIMAT", id="tokyo-jp")
    found = near(one, other)
    assert found.attribution == (DWD_ATTRIBUTION,)
    assert {"climate-mended", "climate-doubtful"} <= {*codes(found)}
    assert told(found, "climate-doubtful") == {"stations": ("B",)}
    assert near(station("C", 1.0)).attribution == ()


def test_two_stations_have_two_ids() -> None:
    with pytest.raises(ValueError, match="two stations have one id"):
        Climates([station("A", id="x"), station("B", id="x")])
    every = Climates([station("A", id="x")]).including([station("B", id="y")])
    assert [one.id for one in every.including([station("C", id="z")]).stations] == ["x", "y", "z"]


def test_a_station_taken_by_name_is_told_as_it_is() -> None:
    here = station("Zzyzxville", 1.0, id="zz-cd", grade="C", elevation=77.0)
    found = Climates([here]).find(" ZZ-CD ")
    assert found.stations == (climate.Used(here, 0.0, 0.0, 1.0),)
    assert (found.equilibrium_error, found.humidity_error, found.id) == (0.0, 0.0, "zz-cd")
    assert (found.latitude, found.longitude, found.elevation) == (0.0, here.longitude, 77.0)
    assert codes(found) == ["climate-grade"]
    assert codes(Climates([here]).find("Zzyzxville")) == ["climate-grade"]


def test_stations_of_one_name_within_60_km_are_one_towns() -> None:
    first = station("Zzyzxville AP", 0.0, years=5)
    longer = station("Zzyzxville AP", 59.9, years=9)
    found = Climates([first, longer]).find("Zzyzxville")
    assert found.id == longer.id  # of like grade the longer record
    assert told(found, "place-taken") == {
        "text": "Zzyzxville", "label": longer.label, "id": longer.id, "others": (),
    }  # fmt: skip
    assert "place-taken" not in codes(Climates([first, longer]).find("Zzyzxville AP"))
    assert "place-taken" not in codes(Climates([first, longer]).find("Zzyzxville, CD"))
    better = replace(first, grade="A")
    assert Climates([better, replace(longer, grade="B")]).find("Zzyzxville").id == better.id
    known = replace(first, named=True, grade="C")
    assert Climates([known, longer]).find("Zzyzxville").id == known.id
    apart = replace(longer, longitude=20.0 + 60.1 / DEGREE)
    with pytest.raises(Ambiguous, match="'Zzyzxville' may mean") as several:
        Climates([first, apart]).find("Zzyzxville")
    assert several.value.candidates == (first, apart)
    with pytest.raises(Ambiguous) as several:
        Climates([first, replace(apart, named=True)]).find("Zzyzxville")
    assert [getattr(one, "named", None) for one in several.value.candidates] == [True, False]


def test_of_several_apart_the_well_known_one_is_taken_by_its_whole_name_and_the_others_told() -> (
    None
):
    some = [station("Zzyzxville", 100.0 * number) for number in range(8)]
    known = replace(some[3], named=True)
    found = Climates([*some[:3], known, *some[4:]]).find("zzyzxville")
    assert found.id == known.id
    others = told(found, "place-taken")["others"]
    assert others == tuple(one.label for one in [*some[:3], *some[4:6]])  # five at most
    twice = [replace(one, named=True) for one in some[:2]]
    with pytest.raises(Ambiguous):
        Climates(twice).find("Zzyzxville")
    many = [station("Zzyzxville", 100.0 * number) for number in range(20)]
    with pytest.raises(Ambiguous) as several:
        Climates(many).find("Zzyzxville")
    assert len(several.value.candidates) == 12


def test_an_operators_own_station_comes_before_a_town() -> None:
    own = station("Duluth", 3.0)
    listed = Climates([station("A", 1.0)], [own])
    assert listed.find("Duluth").id == own.id
    assert listed.stations[-1] == own


def test_a_search_at_a_point_tells_how_far_and_one_by_words_does_not() -> None:
    some = Climates(
        [
            station("Zb", 30.0),
            station("Za", 20.0),
            station("Zc", 10.0, named=True),
            station("Y", 1.0),
        ]
    )
    assert [one.station.name for one in some.search("z")] == ["Zc", "Za", "Zb"]
    assert [one.distance for one in some.search("z")] == [None] * 3
    found = some.search("z", latitude=0.0, longitude=20.0)
    assert [one.station.name for one in found] == ["Zc", "Za", "Zb"]
    assert [one.distance for one in found] == pytest.approx([10.0, 20.0, 30.0])
    assert len(some.search("z", latitude=0.0, longitude=20.0, limit=2)) == 2
    assert len(some.search("z", limit=1)) == 1
    assert [one.station.name for one in some.search("z", longitude=20.0)] == ["Zc", "Za", "Zb"]
    assert len(some.search(" ")) == 4
    many = Climates([station(f"Z{number:02}", number) for number in range(30)])
    assert len(many.search()) == len(many.search(latitude=0.0, longitude=20.0)) == 20


def test_the_height_of_a_town_from_towns_around_widens_both_and_says_by_how_much() -> None:
    town = towns.Town("town-1", "Zz", "Congo", "", "CD", "", 0.0, 20.0, 9_000, 300.0, True)
    every = Climates([station("A", 25.0)])
    told_height = every.of_town(town)
    sure = every.of_town(replace(town, estimated=False))
    assert told(told_height, "town-height") == {"height": 300.0, "error": 105.0}
    assert "town-height" not in codes(sure)
    # 105 m are 0.5775 K; saturation at 20.58 over that at 20 degC: 2424 over 2339 Pa (steam
    # tables, between 20 and 21 degC), of 1500 Pa in air that 2339 saturate.
    points = 100.0 * 1500.0 * (2424.0 / 2339.0 - 1.0) / 2339.0
    assert told_height.humidity_error == pytest.approx(
        np.hypot(sure.humidity_error, points), rel=2e-3
    )
    assert (sure.id, sure.attribution) == ("town-1", (towns.ATTRIBUTION,))
    assert sure.name == "Zz, Congo, by the station A (25 km)"


def test_twenty_of_the_listed_stations_are_told_unless_more_are_asked_for() -> None:
    assert len(climate.search()) == 20
    assert len(climate.search(limit=21)) == 21
    assert len(climate.search(latitude=46.8, longitude=-92.1)) == 20
