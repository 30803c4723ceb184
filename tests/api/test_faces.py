"""What warms a face, as a question tells it."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient
from marshmallow import ValidationError

from api.quantities import Reading, reading
from api.shapes.faces import FacesShape
from model.properties.finishes import Faces

SLAB = {"species": "white oak", "width": 300, "thickness": 40, "grain": "flat"}
AT_WALL = {"at": "outer_wall", "transmittance": 0.5, "position": "behind_furniture"}


def json_of(reply: Any) -> dict[str, Any]:
    told: dict[str, Any] = reply.json
    return told


def loaded(body: dict[str, Any]) -> Faces:
    with reading(Reading(units="metric")):
        made: Faces = FacesShape().load(body).made
    return made


@pytest.mark.parametrize(
    ("place", "indoors", "outdoors", "rise"),
    # The figures by hand of tests/reference/test_rooms.py.
    [
        ({"at": "heated_floor", "floor_temperature": "27C"}, 21.0, 0.0, 6.0),
        ("heated_floor", 21.0, 0.0, 5.0),
        ("heated_floor", 21.0, 20.0, 0.0),
        ({"at": "over_radiator", "water_temperature": "50C"}, 20.0, 0.0, 9.0),
        ({"at": "sun_through_glass", "lit_hours": 2}, 21.0, 0.0, 2.25),
        ({"at": "sun_through_glass", "lit_hours": 2, "tone": "dark"}, 21.0, 0.0, 3.0),
        ({"at": "sun_through_glass", "lit_hours": 2, "sun": "300W/m2"}, 21.0, 0.0, 1.125),
        (AT_WALL, 21.0, -5.0, -6.5),
        ("closed_carcass", 21.0, -5.0, 0.0),
    ],
)
def test_a_place_warms_a_face_by_its_table(
    place: Any, indoors: float, outdoors: float, rise: float
) -> None:
    warmth = loaded({"bottom": {"place": place}}).bottom.warmth
    assert warmth is not None
    assert warmth.rise(indoors, outdoors).item() == pytest.approx(rise)


def test_a_rise_of_ones_own_is_read_in_either_unit() -> None:
    for told in (5, "5K", "9F", "5°C"):
        face = loaded({"top": {"warmer_by": told, "finish": "oiled"}}).top
        assert face.warmth is not None
        assert face.warmth.by == pytest.approx(5.0)
        assert face.finish is not None
    assert loaded({"top": {"warmer_by": -3}}).top.sd == 0.0


@pytest.mark.parametrize(
    ("top", "word"),
    [
        ({"warmer_by": 3, "place": "heated_floor"}, "one of them"),
        ({"place": "outer_wall"}, "transmittance"),
        ({"place": "sun_through_glass"}, "lit_hours"),
        ({"place": {"at": "heated_floor", "sun": 500}}, "does not belong"),
        ({"place": {"at": "outer_wall"}}, "missing"),
        ({"place": "attic"}, "heated_floor"),
        ({"finish": "wet", "warmer_by": 3}, "water decides"),
        ({"air_speed": 1}, "missing"),
        ({"warmer_by": 60}, "40"),
    ],
)
def test_a_place_that_says_too_little_or_too_much_is_refused(top: Any, word: str) -> None:
    with pytest.raises(ValidationError) as refused:
        loaded({"top": top})
    assert word in str(refused.value.messages)


BESIDE: dict[str, dict[str, Any]] = {
    "settle": {"moisture": 9},
    "stiffening": {"moisture": 9, "bars": {"section": "flat", "width": 40, "height": 5}},
    "conditioning": {"moisture": 12, "target": 8},
    "flattening": {"moisture": 9, "cup": {"amount": 4, "shape": "edges up"}},
    "fixings": {
        "moisture": 9,
        "positions": [50],
        "fastener": {"kind": "wood_screw", "diameter": 5, "thread": 20},
    },
}


@pytest.mark.parametrize("question", BESIDE)
def test_an_outer_wall_needs_a_climate(client: FlaskClient, question: str) -> None:
    body = {
        "units": "metric",
        "slab": {**SLAB, "length": 900},
        "faces": {"bottom": {"place": AT_WALL}},
        "room": {"temperature": 20, "relative_humidity": 45},
        **BESIDE[question],
    }
    reply = client.post(f"/v1/{question}", json=body)
    assert reply.status_code == 422
    assert "/faces/bottom/place" in {fault["pointer"] for fault in json_of(reply)["errors"]}


def test_an_outer_wall_of_a_stay_needs_a_climate(client: FlaskClient) -> None:
    steady = {"temperature": 20, "relative_humidity": 45}
    stays = [
        {
            "days": 5,
            "room": {"climate": "Duluth, MN", "heat_to": 20},
            "faces": {"top": {"place": AT_WALL}},
        },
        {"days": 5, "room": steady},
    ]
    body = {"units": "metric", "slab": SLAB, "moisture": 9, "starts": "2026-03-01", "stays": stays}
    reply = client.post("/v1/course", json=body)
    assert reply.status_code == 422
    assert {fault["pointer"] for fault in json_of(reply)["errors"]} == {"/stays/1/faces/top/place"}


def test_what_warms_a_face_is_told_with_the_answer(client: FlaskClient) -> None:
    body = {
        "units": "metric",
        "spread": "none",
        "slab": SLAB,
        "moisture": 9,
        "faces": {"bottom": {"place": "heated_floor"}},
        "room": {"climate": "Duluth, MN", "heat_to": 21},
        "starts": "2026-03-01",
    }
    reply = client.post("/v1/settle", json=body)
    assert reply.status_code == 200
    told = {note["code"]: note for note in json_of(reply)["notes"]}
    assert told["face-heated-floor"]["pointer"] == "/faces/bottom/place"
    cited = "vapour pressure is the room's; EN 1264, ISO 6946, ISO 13788 (memory)"
    assert cited in json_of(reply)["basis"]
    # Drier than without the floor.
    without = client.post("/v1/settle", json=body | {"faces": {}}).get_json()
    assert cited not in without["basis"]
    means = [one["answer"]["settled"]["mean"] for one in (reply.get_json(), without)]
    assert means[0] < means[1] - 0.2
