"""Faces warmer or colder than their room: figures by hand, and what must hold for any."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.behaviour.slab import Slab
from model.behaviour.year import settled_mean
from model.properties import sorption, species
from model.properties.finishes import Face, Faces, notes
from model.properties.warmth import LocalWarmth, heating_share
from model.surroundings import house, room
from model.surroundings import places_at_slab as places
from model.surroundings.climate import outdoor_from_months

COLD = outdoor_from_months([-12.0, -9, -3, 5, 12, 17, 20, 19, 13, 7, -1, -9], [75.0] * 12)
BARE = Face(0.0)


def faces(top: LocalWarmth | None = None, bottom: LocalWarmth | None = None) -> Faces:
    return Faces(Face(0.0, warmth=top), Face(0.0, warmth=bottom))


def test_a_heated_floor_warms_both_faces_as_much_as_the_wood_conducts() -> None:
    # Worked out by hand at 21 degC: floor 27; 40 mm of 0.15 W/(m K) and 0.13 m2 K/W above leave
    # 6 x 0.13/0.397 = 1.97 K on top.
    top, bottom = places.rises(faces(bottom=places.heated_floor(27.0)), 0.040, [21.0])
    assert bottom[0] == pytest.approx(6.0)
    assert top[0] == pytest.approx(1.967, abs=0.001)


def test_the_floor_is_cold_where_nothing_heats() -> None:
    yearly = house.from_climate(COLD, heat_to=21.0).air
    assert yearly.outdoors is not None
    _, bottom = places.rises(
        faces(bottom=places.heated_floor(27.0)), 0.040, yearly.temperature, yearly.outdoors
    )
    by_month = bottom.reshape(12, -1)
    assert by_month[0] == pytest.approx(6.0)  # January, -12 outdoors
    assert by_month[6] == pytest.approx(0.0)  # July, 20 outdoors
    assert np.all(bottom >= 0.0)
    # A room warmer than the floor is not cooled by it.
    assert places.heated_floor(22.0).rise(25.0).item() == 0.0


def test_over_a_radiator_the_upper_face_gets_half() -> None:
    top, bottom = places.rises(faces(bottom=places.over_radiator(50.0)), 0.03, [20.0])
    assert (bottom[0], top[0]) == pytest.approx((9.0, 4.5))


def test_sun_and_outer_wall_by_hand() -> None:
    # 0.6 x 0.6 x 600/12/8 K; 0.5 x 0.5 of 26 K.
    assert places.in_sun(600.0, 1.0 / 12.0).by == pytest.approx(2.25)
    behind = places.at_outer_wall(0.5, places.WALL_RESISTANCE["behind_furniture"])
    assert behind.rise(21.0, -5.0).item() == pytest.approx(-6.5)
    with pytest.raises(ValueError, match="outdoor"):
        places.rises(faces(top=behind), 0.04, [21.0])


def test_a_year_of_a_climate_knows_the_outdoors_and_keeps_each_months_mean() -> None:
    outdoors = house.from_climate(COLD, heat_to=21.0).air.outdoors
    assert outdoors is not None
    closed = np.append(outdoors, outdoors[0])
    means = (0.5 * (closed[1:] + closed[:-1])).reshape(12, -1).mean(axis=1)
    assert means == pytest.approx(COLD.temperature)
    assert room.constant(20.0, 45.0).air.outdoors is None
    assert room.from_months([20.0] * 12, [45.0] * 12).air.outdoors is None


def test_wood_in_a_heated_floors_room_settles_drier_below_and_in_the_middle() -> None:
    # The equation of the engine: the settled mean of a slab in steady air whose faces are alike
    # warm is the equilibrium at that warmth, by hand 27.9 % at 27 degC for 21 degC and 40 %.
    steady = room.constant(21.0, 40.0).air
    slab = Slab(species.find("white oak"), 0.3, 0.02, 0.9, ring_angle=90.0)
    warm = faces(LocalWarmth(by=6.0), LocalWarmth(by=6.0))
    start = sorption.equilibrium_moisture(21.0, 40.0)
    found = settled_mean(slab, float(start), warm, steady, 0.0, "mean")
    held = float(sorption.equilibrium_moisture(27.0, places.humidity_at(21.0, 40.0, 6.0)))
    assert held == pytest.approx(5.7, abs=0.1)
    # 0.1 % M: the equation takes one temperature for the wood.
    assert found == pytest.approx(held, abs=0.1)
    one_side = settled_mean(
        slab, float(start), faces(bottom=LocalWarmth(by=6.0)), steady, 0.0, "mean"
    )
    assert held < one_side < float(start)


@given(st.floats(-20.0, 30.0), st.floats(10.0, 30.0), st.floats(0.0, 10.0))
def test_rises_of_two_faces_add_up(by: float, inside: float, other: float) -> None:
    both = places.rises(
        faces(LocalWarmth(by=by), places.heated_floor(inside + other)), 0.05, [inside]
    )
    alone = places.rises(faces(LocalWarmth(by=by)), 0.05, [inside])
    floor = places.rises(faces(bottom=places.heated_floor(inside + other)), 0.05, [inside])
    for sum_, one, two in zip(both, alone, floor, strict=True):
        assert sum_ == pytest.approx(one + two, abs=1e-9)


@given(st.floats(5.0, 60.0), st.floats(-15.0, 15.0), st.floats(10.0, 30.0))
def test_a_warmer_face_meets_drier_air(humidity: float, rise: float, inside: float) -> None:
    found = float(places.humidity_at(inside, humidity, rise))
    assert (found - humidity) * rise <= 1e-9
    assert float(places.humidity_at(inside, found, 0.0)) == pytest.approx(found)
    # About 6 % of the humidity a kelvin near room temperature.
    one = float(places.humidity_at(inside, humidity, 1.0))
    assert 0.05 < 1.0 - one / humidity < 0.07


@given(st.floats(0.001, 0.2), st.floats(0.001, 0.2))
def test_thicker_wood_passes_less(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    assert 0.0 < places.passed_on(thick) <= places.passed_on(thin) < 1.0


@given(st.floats(-40.0, 40.0), st.floats(0.0, 5.0))
def test_heating_fades_as_it_gets_warmer(outside: float, more: float) -> None:
    cold, warm = heating_share([outside, outside + more])
    assert 1.0 >= cold >= warm >= 0.0


def test_faces_of_unlike_warmth_are_not_alike() -> None:
    assert faces().alike
    assert not faces(LocalWarmth(by=2.0)).alike
    assert faces(LocalWarmth(by=2.0), LocalWarmth(by=2.0)).alike


@pytest.mark.parametrize(
    ("warmth", "code"),
    [
        (LocalWarmth(by=3.0), "face-warmer"),
        (places.heated_floor(), "face-heated-floor"),
        (places.over_radiator(), "face-over-radiator"),
        (places.in_sun(500.0, 0.1), "face-sun-through-glass"),
        (places.at_outer_wall(1.0), "face-outer-wall"),
        (places.CLOSED_CARCASS, "face-closed-carcass"),
    ],
)
def test_what_warms_a_face_is_told(warmth: LocalWarmth, code: str) -> None:
    told = notes(faces(top=warmth))
    assert [note.code for note in told] == [code]
    assert told[0].figures["side"] == "top"
    assert notes(faces()) == []


def test_a_closed_carcass_keeps_vapour_off_beside_the_finish() -> None:
    shut = places.standing(Face(0.2), places.CLOSED_CARCASS)
    assert shut.sd == pytest.approx(0.7)
    assert places.standing(Face(0.2), places.heated_floor()).sd == pytest.approx(0.2)
    top, bottom = places.rises(Faces(shut, BARE), 0.04, [20.0])
    assert (top[0], bottom[0]) == (0.0, 0.0)


@pytest.mark.parametrize(
    "wrong", [{"share": 1.5}, {"outdoors": -0.1}, {"by": float("nan")}, {"source": float("inf")}]
)
def test_a_warmth_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"must lie|finite"):
        LocalWarmth(**wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["share", "outdoors", "other"])
def test_a_share_lies_between_nothing_and_all(name: str) -> None:
    for whole in (0.0, 1.0):
        assert getattr(LocalWarmth(**{name: whole}), name) == whole  # type: ignore[arg-type]
    for beyond in (-0.01, 1.01):
        with pytest.raises(ValueError, match=f"{name} must lie within 0 to 1"):
            LocalWarmth(**{name: beyond})  # type: ignore[arg-type]


def test_a_warmth_is_a_figure_and_needs_nothing_else() -> None:
    assert LocalWarmth(by=2.0).rise(-5.0).item() == 2.0
    for endless in (float("inf"), float("nan")):
        with pytest.raises(ValueError, match="finite"):
            LocalWarmth(by=endless)
        with pytest.raises(ValueError, match="finite"):
            LocalWarmth(source=endless)


def test_what_is_usual_where_nothing_is_told() -> None:
    # A floor of 26 degC, water of 50, 0.3 of the way to it below and half of that above; pale wood.
    assert places.heated_floor().rise(20.0).item() == pytest.approx(6.0)
    assert places.over_radiator().rise(20.0).item() == pytest.approx(9.0)
    assert places.in_sun(800.0, 0.25).by == pytest.approx(0.6 * 0.6 * 800.0 * 0.25 / 8.0)
    assert places.in_sun(800.0, 0.25, places.ABSORBED["dark"]).by == pytest.approx(12.0)
    assert places.at_outer_wall(1.0).rise(20.0, 0.0).item() == pytest.approx(-2.6)
    assert places.SUN_USUAL == 600.0
    assert places.CLOSED_CARCASS.rise(20.0).item() == 0.0


def test_wood_on_a_floor_and_over_a_radiator_by_the_side_that_is_warm() -> None:
    # 0.13 / (0.13 + 0.03/0.15) = 0.394 of a floor's rise comes through 30 mm, from either side.
    for one, other in ((0, 1), (1, 0)):
        warm: list[LocalWarmth | None] = [None, None]
        warm[one] = places.heated_floor(30.0)
        found = places.rises(faces(*warm), 0.030, [20.0, 22.0])
        assert found[one].tolist() == [10.0, 8.0]
        assert found[other] == pytest.approx(np.array([10.0, 8.0]) * 0.13 / 0.33)
    assert places.passed_on(0.0) == 1.0
    top, bottom = places.rises(faces(LocalWarmth(by=2.0)), 0.03, 20.0)
    assert (top.item(), bottom.item()) == (2.0, 0.0)
