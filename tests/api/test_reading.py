"""`/v1/reading`: corrected readings, the profile, the ends, refusals and words."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from flask.testing import FlaskClient

FIR: dict[str, Any] = {
    "units": "metric",
    "slab": {"species": "coast Douglas-fir", "width": 300, "thickness": 50, "length": 2000},
    "readings": [{"value": 12, "depth": 10.6, "temperature": 0}],
}


def body(**changes: Any) -> dict[str, Any]:
    return {**copy.deepcopy(FIR), **changes}


def ask(client: FlaskClient, asked: dict[str, Any]) -> dict[str, Any]:
    reply = client.post("/v1/reading", json=asked)
    assert reply.status_code == 200, reply.text
    found: dict[str, Any] = reply.get_json()
    return found


def pointers(client: FlaskClient, asked: dict[str, Any]) -> set[str]:
    reply = client.post("/v1/reading", json=asked)
    assert reply.status_code == 422, reply.text
    return {fault["pointer"] for fault in reply.get_json()["errors"]}


def test_a_cold_reading_on_douglas_fir_is_corrected_as_published(client: FlaskClient) -> None:
    # Pfaff & Garrahan 1986 (memory): 12 % at 0 degC is 14.26 %.
    found = ask(client, body(spread="none"))["answer"]
    assert found["readings"][0]["moisture"] == pytest.approx(14.26, abs=0.005)
    assert found["mean"] == pytest.approx(14.26, abs=0.02)


def test_fahrenheit_and_inches_tell_the_same(client: FlaskClient) -> None:
    us = body(
        units="us",
        slab={"species": "coast Douglas-fir", "width": 12, "thickness": "50mm"},
        readings=[{"value": 12, "depth": "10.6mm", "temperature": 32}],
        spread="none",
    )
    found = ask(client, us)
    assert found["answer"]["mean"] == pytest.approx(14.26, abs=0.02)
    assert found["units"]["next.depth"] == "in"
    assert found["answer"]["next"][0]["depth"] == pytest.approx(0.416, abs=1e-3)  # 0.2113 x 50 mm


def test_another_wood_without_constants_says_so(client: FlaskClient) -> None:
    slab = {**FIR["slab"], "species": "teak"}
    codes = {note["code"] for note in ask(client, body(slab=slab))["notes"]}
    assert "species-uncorrected" in codes
    codes = {note["code"] for note in ask(client, FIR)["notes"]}
    assert "species-uncorrected" not in codes


def test_readings_out_of_range_are_null_and_too_little_is_said(client: FlaskClient) -> None:
    found = ask(client, body(readings=[{"value": 5.5}, {"value": 34}]))
    rows = found["answer"]["readings"]
    assert [row["range"] for row in rows] == ["below", "above"]
    assert [row["moisture"] for row in rows] == [None, None]
    assert "mean" not in found["answer"]
    assert {"out-of-range", "no-reading-of-the-body"} <= {note["code"] for note in found["notes"]}
    text = client.post("/v1/reading?format=text", json=body(readings=[{"value": 5.5}])).text
    assert text.startswith("Too little to say")


def test_end_grain_is_told_apart(client: FlaskClient) -> None:
    readings = [*FIR["readings"], {"value": 7, "place": "end", "temperature": 20}]
    found = ask(client, body(readings=readings, age=400))["answer"]
    assert found["ends"]["below_slab"] > 5.0
    assert "nothing of the middle" in found["ends"]["says"]
    alone = ask(client, FIR)["answer"]
    assert found["mean"] == alone["mean"]


def test_a_contradicting_reading_is_named_by_its_pointer(client: FlaskClient) -> None:
    readings = [{"value": 12 + 0.1 * k, "temperature": 20} for k in range(5)]
    found = ask(client, body(readings=[*readings, {"value": 19, "temperature": 20}]))
    assert found["answer"]["contradicting"] == ["/readings/5"]


def test_an_oven_dry_pair_is_the_standards_arithmetic(client: FlaskClient) -> None:
    # ASTM D4442: 100 (56.0 - 50.0)/50.0 = 12.0 %.
    asked = body(oven_dry=[{"wet": "56g", "dry": "50g", "step": "0.1g"}], spread="none")
    del asked["readings"]
    assert ask(client, asked)["answer"]["mean"] == pytest.approx(12.0, abs=0.01)


def test_a_sample_board_follows_its_weight(client: FlaskClient) -> None:
    asked = body(
        sample_boards=[{"weight": "3.5kg", "start_weight": "4.46kg", "section_moisture": 85}],
        spread="none",
    )
    del asked["readings"]
    found = ask(client, asked)["answer"]
    assert found["readings"][0]["moisture"] == pytest.approx(45.18, abs=0.01)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"readings": []}, {"/readings"}),
        ({"readings": [{}]}, {"/readings/0"}),
        ({"readings": [{"value": 12, "resistance": 1e8}]}, {"/readings/0"}),
        ({"readings": [{"value": 12, "depth": 60}]}, {"/readings/0/depth"}),
        ({"readings": [{"value": 0.12}]}, {"/readings/0/value"}),
        ({"readings": [{"value": -3}]}, {"/readings/0/value"}),
        ({"readings": [{"value": 12, "temperature": 90}]}, {"/readings/0/temperature"}),
        ({"readings": [{"value": 12, "place": "side"}]}, {"/readings/0/place"}),
        ({"readings": [{"value": 12, "meter_intercept": 1.0}]}, {"/readings/0"}),
        ({"readings": [{"value": 12, "kind": "surface", "meter_a": 1.0}]}, {"/readings/0"}),
        ({"readings": [{"value": 12, "density_setting": 0.6}]}, {"/readings/0"}),
        ({"readings": [{"value": 6, "meter_a": 1.0, "meter_b": 20.0}]}, {"/readings/0"}),
        ({"readings": [{"value": 12, "depht": 10}]}, {"/readings/0/depht"}),
        ({"oven_dry": [{"wet": "1kg", "dry": "1.2kg"}]}, {"/oven_dry/0/dry"}),
        ({"oven_dry": [{"wet": "9kg", "dry": "1kg"}]}, {"/oven_dry/0/wet"}),
        (
            {"sample_boards": [{"weight": 2, "start_weight": 4.46, "section_moisture": 85}]},
            {"/sample_boards/0/weight"},
        ),
        (
            {"readings": [{"value": 12, "depth": 60}, {"value": 12, "depth": 70}]},
            {"/readings/0/depth", "/readings/1/depth"},
        ),
    ],
)
def test_impossible_readings_are_refused_where_they_stand(
    client: FlaskClient, changes: dict[str, Any], expected: set[str]
) -> None:
    assert pointers(client, body(**changes)) == expected


def test_nothing_read_is_refused(client: FlaskClient) -> None:
    asked = body()
    del asked["readings"]
    assert pointers(client, asked) == {""}


def test_the_csv_is_the_profile(client: FlaskClient) -> None:
    rows = client.post("/v1/reading?format=csv", json=FIR).text.splitlines()
    assert rows[0] == "depth [mm],moisture [%],low [%],high [%]"
    assert len(rows) == 12


def test_an_oven_used_or_advised_carries_its_caution(client: FlaskClient) -> None:
    slab = {"species": "teak", "width": 300, "thickness": 50}
    pin = {"value": 12, "depth": 11, "temperature": 20}

    def cautions(**told: Any) -> str:
        reply = client.post("/v1/reading", json={"units": "metric", "slab": slab, **told})
        return " ".join(reply.get_json()["cautions"])

    assert "103 °C" in cautions(oven_dry=[{"wet": "50.2g", "dry": "45g"}])
    assert "103 °C" in cautions(readings=[pin])  # advised: calibrate with one oven-dried piece
    assert cautions(readings=[{**pin, "scale": "species"}]) == ""


def test_a_weighed_piece_is_not_said_to_be_of_the_top_face(client: FlaskClient) -> None:
    asked = {
        "units": "metric",
        "slab": {"species": "white oak", "width": 300, "thickness": 50},
        "oven_dry": [{"wet": "50.2g", "dry": "45g"}],
        "sample_boards": [{"weight": 5.3, "start_weight": 6.0, "section_moisture": 30}],
    }
    told = client.post("/v1/reading?format=text", json=asked).text
    assert "oven-dry " in told
    assert "dry, top" not in told
    assert "board, top" not in told


def test_a_wood_alone_is_enough_for_a_reading(client: FlaskClient) -> None:
    # A reading told no depth stands at the depth of the mean whatever the thickness: the mean is
    # that of a slab of any thickness, told apart from it by a note.
    readings = [{"value": 12, "temperature": 0}]
    alone = {"units": "metric", "species": "coast Douglas-fir", "readings": readings}
    found = ask(client, alone)
    assert found["notes"][0]["code"] == "slab-untold"
    whole = ask(client, body(readings=readings))
    for name in ("mean", "readings"):
        mine, theirs = found["answer"][name], whole["answer"][name]
        if name == "readings":
            mine, theirs = mine[0]["moisture"], theirs[0]["moisture"]
        assert mine == theirs
    text = client.post("/v1/reading?format=text", json={**alone, "species": "Nussbaum"}).text
    assert text.startswith("The slab holds")


def test_a_depth_needs_the_thickness(client: FlaskClient) -> None:
    asked = {"units": "metric", "species": "teak", "readings": [{"value": 12, "depth": 8}]}
    assert pointers(client, asked) == {"/readings/0"}
    assert pointers(client, {"readings": [{"value": 12}]}) == {""}
    both = body(species="teak")
    assert pointers(client, both) == {""}
