"""Moisture as evidence: one shape in every question, and answers that chain without loss."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient

from model import spread
from model.answers import reading
from model.behaviour import transport
from model.behaviour.evidence import Given, Readings, Story, Untold, Value, shape
from model.behaviour.slab import Slab, profile
from model.behaviour.year import start_moisture
from model.properties import meters, species
from model.properties.meters import OvenDry, Pin

SLAB: dict[str, Any] = {
    "species": "black walnut", "width": 600, "thickness": 50, "length": 1800, "grain": "flat",
}  # fmt: skip
ROOM = {"temperature": 21, "relative_humidity": 43}
WALNUT = Slab(species.find("black walnut"), 0.6, 0.05, 1.8, ring_angle=0.0)
DRAWS = spread.draw(1024)


def ask(client: FlaskClient, name: str, asked: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/{name}", json={"units": "metric", **asked})
    assert reply.status_code == 200, reply.get_json()
    return dict(reply.get_json())


READ = [
    {"value": 12, "depth": 10, "scale": "species"},
    {"value": 14, "depth": 25, "scale": "species"},
    {"value": 11, "depth": 10, "place": "bottom", "scale": "species"},
]


def given(answer: dict[str, Any]) -> dict[str, Any]:
    mean = answer["present"]["mean"] if "present" in answer else answer["mean"]
    return {"mean": mean, "profile": answer["profile"]}


def test_what_reading_gave_comes_back_with_the_same_spread() -> None:
    # Mean, tilt and bow with all six covariances are recovered from the curve's band and the mean.
    mesh = transport.grid(0.05)
    read: list[meters.Reading] = [
        Pin(12.0, depth=0.01, species_set=True),
        Pin(14.0, depth=0.025, species_set=True),
        OvenDry(0.1, 0.09, 0.0),
    ]
    found = reading.read(read, WALNUT).profile
    assert found is not None
    low, high = found.mean.low, found.mean.high
    assert low is not None
    assert high is not None
    curve = (tuple(one) for one in (found.depth, found.moisture, found.low, found.high))
    back = Given((found.mean.value, low, high), *curve)
    drawn = start_moisture(back, mesh, DRAWS, 28.0)
    np.testing.assert_allclose(drawn[0] @ mesh.weight, found.mean.value, atol=0.02)
    shaped = back.shaped(0.05)
    rows = shape(found.depth, found.depth, 0.05)
    told = np.sqrt(np.einsum("ij,jk,ik->i", rows, shaped.covariance, rows))
    np.testing.assert_allclose(told, found.error, rtol=1e-3)
    at_nodes = shape(mesh.depth, mesh.depth, 0.05)
    deviation = np.sqrt(np.einsum("ij,jk,ik->i", at_nodes, shaped.covariance, at_nodes))
    # Three even sequences of 1,024 are nearly independent: 10 % of a deviation is left.
    np.testing.assert_allclose(drawn[1:].std(axis=0), deviation, rtol=0.1)
    mean_error = (high - low) / (2.0 * spread.TO_DECILE)
    assert (drawn[1:] @ mesh.weight).std() == pytest.approx(mean_error, rel=0.05)


def test_values_are_the_profile_that_reading_draws_through_them() -> None:
    read = [Pin(12.0, depth=0.01, species_set=True), Pin(14.0, depth=0.025, species_set=True)]
    corrected = [reading.corrected_in(WALNUT, one) for one in read]
    found = reading.profile(corrected, 0.05)
    values = Readings(
        tuple(
            Value(float(one.moisture or 0.0), one.error, depth=one.depth_from) for one in corrected
        )
    )
    told = profile(values, found.depth, 0.05)
    # A meter's bias goes with the moisture it looks at, here each value's own: 0.15 at the shell.
    np.testing.assert_allclose(told, found.moisture, atol=0.2)


def test_nothing_read_is_a_wide_doubt_that_depends_on_the_story() -> None:
    mesh = transport.grid(0.05)
    stories: tuple[Story, ...] = ("anywhere", "stack", "room")
    means = {
        story: start_moisture(Untold(story), mesh, DRAWS, 28.0) @ mesh.weight for story in stories
    }
    assert means["room"][0] < means["anywhere"][0] < means["stack"][0]
    assert means["anywhere"].std() > 1.5 * means["stack"].std() > 1.5 * means["room"].std()
    assert min(one.min() for one in means.values()) >= 1.0


def test_reading_chains_into_settle_with_its_own_band(client: FlaskClient) -> None:
    answer = ask(client, "reading", {"slab": SLAB, "readings": READ})["answer"]
    asked = {"slab": SLAB, "faces": {"top": "bare", "bottom": "bare"}, "room": ROOM}
    told = ask(client, "settle", {**asked, "moisture": given(answer)})
    by_value = ask(client, "settle", {**asked, "moisture": answer["mean"]["value"]})
    assert "moisture-as-given" in {note["code"] for note in told["notes"]}
    assert "moisture-even" not in {note["code"] for note in told["notes"]}
    # Chained, it is the same moisture in the middle; its band is that of these readings.
    first, second = (one["answer"]["width"]["settled"] for one in (told, by_value))
    assert first["value"] == pytest.approx(second["value"], abs=0.5)
    # Three species-set readings of one meter know the mean to 0.78 % M (0.8 a bare figure).
    width = answer["mean"]["high"] - answer["mean"]["low"]
    assert width == pytest.approx(2.0 * 1.2816 * 0.78, rel=0.15)
    ratio = (first["high"] - first["low"]) / (second["high"] - second["low"])
    assert ratio == pytest.approx(1.0, abs=0.1)


def test_a_surer_reading_makes_a_narrower_answer(client: FlaskClient) -> None:
    asked = {"slab": SLAB, "stays": [{"room": ROOM, "days": 2}]}
    bands = []
    for error in (0.3, 0.8, 3.0):
        told = {"values": [{"value": 12, "depth": depth, "error": error} for depth in (5, 25)]}
        answer = ask(client, "course", {**asked, "moisture": told})["answer"]
        end = answer["stays"][-1]["mean"]
        bands.append(end["high"] - end["low"])
    assert bands[0] < bands[1] < bands[2]


def test_readiness_chains_into_course_with_its_own_band(client: FlaskClient) -> None:
    days = ("2026-01-05", "2026-01-25", "2026-02-14")
    read = [
        {"date": day, "value": value, "compensated": True, "scale": "species", "depth": depth}
        for day, moist in zip(days, (14.0, 13.0, 12.2), strict=True)
        for value, depth in ((moist - 0.7, 10), (moist + 1.0, 25))
    ]
    asked = {"slab": SLAB, "room": ROOM, "readings": read, "target": 8.5}
    answer = ask(client, "readiness", asked)["answer"]
    day = {"slab": SLAB, "stays": [{"room": ROOM, "days": 0.5}], "moisture": given(answer)}
    end = ask(client, "course", day)["answer"]["stays"][-1]["mean"]
    mean = answer["present"]["mean"]
    # Half a day later: 0.05 % drier; the band is the posterior's, not a meter's 2.05 wide.
    assert end["value"] == pytest.approx(mean["value"], abs=0.15)
    wide = mean["high"] - mean["low"]
    assert end["high"] - end["low"] == pytest.approx(wide, rel=0.12)


@pytest.mark.parametrize(
    "moisture",
    [
        "unknown",
        {"unknown": "stack"},
        {"values": [{"value": 12, "depth": 10}, {"value": 13, "error": 0.5, "meter": "oven_dry"}]},
    ],
)
@pytest.mark.parametrize("question", ["settle", "course", "movement", "diagnosis", "fixings"])
def test_every_question_takes_evidence(client: FlaskClient, question: str, moisture: Any) -> None:
    asked: dict[str, Any] = {"slab": SLAB, "moisture": moisture, "room": ROOM}
    if question == "course":
        del asked["room"]
        asked["stays"] = [{"room": ROOM, "days": 60}]
    elif question == "movement":
        asked = {"slab": SLAB, "before": moisture, "after": 8}
    elif question == "diagnosis":
        asked |= {"days": 60, "cup": {"amount": 4, "shape": "edges up"}}
    elif question == "fixings":
        asked |= {"positions": [50, 550], "faces": {"top": "bare", "bottom": "bare"}}
        asked["fastener"] = {"kind": "threaded_insert", "diameter": 12, "thread": 25, "shank": 8}
    reply = client.post(f"/v1/{question}", json={"units": "metric", **asked})
    body = reply.get_json()
    assert reply.status_code == 200, body
    codes = {note["code"] for note in body["notes"]}
    assert codes & {"moisture-unknown", "moisture-by-readings"}


@pytest.mark.parametrize(
    ("moisture", "pointer"),
    [
        ({"values": [{"value": 12, "depth": 60}]}, "/moisture/values/0/depth"),
        ({"values": [{"value": 12}], "unknown": "room"}, "/moisture"),
        ({"mean": {"value": 12, "low": 11, "high": 13}}, "/moisture"),
        ({"mean": {"value": 12, "low": 13, "high": 14},
          "profile": {"depth": [0, 25, 50], "moisture": [1, 2, 3], "low": [0, 0, 0],
                      "high": [9, 9, 9]}}, "/moisture/mean"),
        ({"mean": {"value": 12, "low": 11, "high": 13},
          "profile": {"depth": [0, 25, 20], "moisture": [9, 9, 9], "low": [8, 8, 8],
                      "high": [10, 10, 10]}}, "/moisture/profile/depth"),
        ("unbekannt", "/moisture"),
    ],
)  # fmt: skip
def test_evidence_that_cannot_be_is_refused(
    client: FlaskClient, moisture: Any, pointer: str
) -> None:
    asked = {"units": "metric", "slab": SLAB, "room": ROOM, "moisture": moisture}
    reply = client.post("/v1/settle", json=asked)
    assert reply.status_code == 422
    assert pointer in {one["pointer"] for one in reply.get_json()["errors"]}
