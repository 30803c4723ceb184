"""Figures of rooms and of warm or cold places at a slab, worked by hand from their rules.

The rest of them stand in test_rooms, test_hysteresis and the examples of the modules themselves.
"""

from __future__ import annotations

import pytest

from model.behaviour.slab import Slab
from model.properties import air, sorption, species
from model.properties.finishes import Face, Faces
from model.surroundings import indoors, sun
from model.surroundings import places_at_slab as places

OAK = species.find("white oak")


@pytest.mark.parametrize(
    ("outdoors", "heat_to", "inside"),
    # Comfort line of EN 15251 (memory) from 5 to 15 degC outdoors; 1.9 K over outdoors at least
    # (open data): 16 + 0.5 (0.33 x 10 + 18.8 - 16) = 19.05.
    [(5.0, 20.0, 20.0), (10.0, 20.0, 21.05), (10.0, 16.0, 19.05), (17.15, 20.0, 24.46),
     (24.3, 20.0, 26.82), (28.9, 20.0, 30.8)],
)  # fmt: skip
def test_temperature_of_a_heated_room(outdoors: float, heat_to: float, inside: float) -> None:
    assert float(indoors.heated_temperature(outdoors, heat_to)) == pytest.approx(inside, abs=0.005)


def test_a_room_with_a_door_to_a_heated_one_and_a_heated_shop() -> None:
    # EN 12831 (memory): 20 degC beside 0, 0.6 of the way out.
    between = float(indoors.part_heated_temperature(0.0, 20.0, indoors.PART_HEATED["two_and_door"]))
    assert between == pytest.approx(8.0)
    # A workplace adds 100 Pa (open data): 620 Pa at 2 degC outdoors are 35 % at 18.
    shop = float(air.relative_humidity(18.0, 620.0 + float(indoors.vapour_excess(2.0, "no"))))
    assert shop == pytest.approx(35.0, abs=0.5)


@pytest.mark.parametrize(
    ("rise", "humidity", "holds"),
    # In a room of 21 degC and 40 %, which holds 7.7 %: a floor of 27; the top of 40 mm on it, 23.0;
    # a face at 30; behind furniture at an outer wall of 0.5 W/(m2 K), -5 degC outdoors, 14.5.
    [(6.0, 27.9, 5.7), (2.0, 35.5, 7.0), (9.0, 23.4, 4.9), (-6.5, 60.0, 11.2)],
)
def test_the_air_at_a_warm_or_cold_face(rise: float, humidity: float, holds: float) -> None:
    assert float(sorption.equilibrium_moisture(21.0, 40.0)) == pytest.approx(7.7, abs=0.05)
    there = float(places.humidity_at(21.0, 40.0, rise))
    assert there == pytest.approx(humidity, abs=0.3)
    assert float(sorption.equilibrium_moisture(21.0 + rise, there)) == pytest.approx(
        holds, abs=0.05
    )


def test_the_sun_above_the_air_at_61_degrees_north() -> None:
    # FAO Irrigation and Drainage Paper 56 (memory), mid-January, June, July and December, W/m2.
    found = sun.above_the_air(61.0, [17.0, 162.0, 198.0, 345.0])
    assert found == pytest.approx([34.0, 474.0, 448.0, 21.0], abs=0.6)


def test_the_top_of_a_slab_on_a_heated_floor() -> None:
    # 0.13 m2 K/W above (ISO 6946, memory), 40 mm at 0.15 W/(m K): 23.0 degC over a floor of 27.
    faces = Faces(Face(0.0), Face(0.0, warmth=places.heated_floor(27.0)))
    slab = Slab(OAK, 0.6, 0.040, 2.0)
    top, _ = places.rises(faces, slab.thickness, [21.0])
    assert 21.0 + float(top[0]) == pytest.approx(23.0, abs=0.05)
