"""Limits of a request are those that were published: a change of one is a change for callers."""

from __future__ import annotations

from typing import Final

from flask.testing import FlaskClient

from api import limits

# As published with version 1, each judged once (`api/limits.py` tells how).
PUBLISHED: Final = {
    "BODY_BYTES": 4_194_304,
    "LIST_LENGTH": 100_000,
    "LOG_LENGTH": 60_000,
    "NESTING": 12,
    "MEMBERS": 100,
    "CONTAINERS": 100_000,
    "NEAR_NAMES": 10,
    "QUERY_PARAMETERS": 200,
    "TEXT_LENGTH": 200,
    "FAULTS": 50,
    "ANSWER_SECONDS": 10.0,
    "ANSWERED_SECONDS": 25.0,
    "ARRIVE_SECONDS": 10.0,
    "WAIT_SECONDS": 3.0,
    "RETRY_SECONDS": 2,
    "LONG_AT_ONCE": 1,
    "LONG_WAITING": 32,
    "LONG_WAITING_OF_ONE": 24,
    "SLICE_SECONDS": 0.25,
    "LARGE_BODY_BYTES": 65_536,
    "LARGE_AT_ONCE": 8,
    "BATCH_QUESTIONS": 1_000,
    "BATCH_SECONDS": 20.0,
    "BATCH_REPLY_BYTES": 33_554_432,
}


def test_limits_are_as_published() -> None:
    assert {name: getattr(limits, name) for name in dir(limits) if name.isupper()} == PUBLISHED


def test_the_service_tells_its_limits(client: FlaskClient) -> None:
    told = client.get("/v1/limits").get_json()["request"]
    for name, value in told.items():
        published = {"faults_told": "FAULTS"}.get(name, name.upper())
        assert value == PUBLISHED[published], name
    figures = client.get("/v1/limits?units=us").get_json()["figures"]["settle"]
    assert figures["slab.width"] == {
        "meaning": "width, across the grain", "low": 0.393701, "high": 118.11, "unit": "in",
    }  # fmt: skip
    assert figures["seed"]["high"] == 4_294_967_295
    wrong = client.get("/v1/limits?units=feet")
    assert wrong.status_code == 422
    assert wrong.get_json()["errors"][0]["pointer"] == "/units"


def test_limits_of_time_leave_room_for_one_another() -> None:
    # A question accepted late still ends within the grace of a stopping worker (30 s).
    assert limits.ARRIVE_SECONDS + limits.WAIT_SECONDS + limits.ANSWER_SECONDS <= (
        limits.ANSWERED_SECONDS
    )
    assert limits.BATCH_SECONDS < limits.ANSWERED_SECONDS < 30.0
    assert limits.LONG_WAITING_OF_ONE < limits.LONG_WAITING
