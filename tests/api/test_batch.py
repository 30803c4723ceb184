"""The batch: each item as if asked alone, order kept, equal work done once, within its budget."""

from __future__ import annotations

import copy
from typing import Any

import orjson
import pytest
from flask.testing import FlaskClient

from api import limits
from api.admission import Place
from api.problems import Refused
from api.questions import BY_NAME, QUESTIONS, batch, settle
from api.sharing import HELD, once, sharing
from model.behaviour import year
from model.surroundings import house
from tests.api.conftest import TABLE

AIR = {"question": "equilibrium", "body": {"temperature": "70F", "relative_humidity": 50}}


def ask(client: FlaskClient, questions: Any) -> dict[str, Any]:
    reply = client.post("/v1/batch", json={"questions": questions})
    assert reply.status_code == 207, reply.text
    assert reply.content_type == "application/json"
    assert reply.data.endswith(b"\n")
    told: dict[str, Any] = reply.get_json()
    return told


def of_width(width: str, **more: Any) -> dict[str, Any]:
    body = copy.deepcopy(TABLE) | more
    body["slab"]["width"] = width
    return {"question": "settle", "body": body}


@pytest.mark.usefixtures("answered_once")
def test_every_example_is_answered_in_order_as_if_asked_alone(client: FlaskClient) -> None:
    asked = [
        {"question": question.name, "body": dict(example.body)}
        for question in QUESTIONS
        for example in question.examples
    ]
    told = ask(client, asked)
    assert told["failed"] == 0
    for one, item in zip(asked, told["items"], strict=True):
        alone = client.post(f"/v1/{one['question']}", json=one["body"])
        assert item == {"status": 200, "reply": alone.get_json()}


def test_a_bad_item_has_the_problem_it_would_have_alone_and_harms_no_other(
    client: FlaskClient,
) -> None:
    bad = {"question": "settle", "body": {**TABLE, "moisture": 900}}
    told = ask(client, [AIR, bad, AIR])
    alone = client.post("/v1/settle", json=bad["body"])
    assert [item["status"] for item in told["items"]] == [200, 422, 200]
    assert told["items"][1] == {"status": 422, "problem": alone.get_json()}
    assert told["failed"] == 1


@pytest.mark.parametrize(
    ("item", "status", "pointer", "word"),
    [
        (None, 422, "", "question and body"),
        ([], 422, "", "question and body"),
        ({"body": {}}, 422, "/question", "missing"),
        ({"question": "setle", "body": {}}, 422, "/question", "did you mean settle"),
        ({"question": 7, "body": {}}, 422, "/question", "7 given"),
        ({"question": ["settle"], "body": {}}, 422, "/question", "given"),
        ({"question": "batch", "body": {"questions": []}}, 422, "/question", "known here"),
        ({"question": "settle"}, 422, "/body", "missing"),
        ({"question": "settle", "body": "moisture=9"}, 422, "/body", "JSON object"),
        ({**AIR, "bdy": {}}, 422, "/bdy", "did you mean body"),
    ],
)
def test_an_item_that_is_no_question_is_told_why(
    client: FlaskClient, item: Any, status: int, pointer: str, word: str
) -> None:
    told = ask(client, [item, AIR])
    assert told["items"][1]["status"] == 200
    problem = told["items"][0]["problem"]
    assert told["items"][0]["status"] == problem["status"] == status
    assert problem["errors"][0]["pointer"] == pointer
    assert word in problem["errors"][0]["detail"]


def test_an_item_in_another_form_than_json_is_refused(client: FlaskClient) -> None:
    item = {"question": "equilibrium", "body": {**AIR["body"], "format": "svg"}}  # type: ignore[dict-item]
    assert ask(client, [item])["items"][0]["status"] == 406


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({}, "/questions"),
        ({"questions": {}}, "/questions"),
        ({"questions": []}, "/questions"),
        ({"questions": [AIR] * (limits.BATCH_QUESTIONS + 1)}, "/questions"),
        ({"questions": [AIR], "unit": "us"}, "/unit"),
    ],
)
def test_a_batch_without_a_list_to_answer_is_refused_as_a_whole(
    client: FlaskClient, body: Any, pointer: str
) -> None:
    reply = client.post("/v1/batch", json=body)
    assert reply.status_code == 422
    assert [fault["pointer"] for fault in reply.get_json()["errors"]] == [pointer]


def test_a_batch_is_asked_by_post_in_json(client: FlaskClient) -> None:
    reply = client.get("/v1/batch")
    assert reply.status_code == 405
    assert "POST" in reply.headers["Allow"]
    assert client.post("/v1/batch?format=csv", json={"questions": [AIR]}).status_code == 406
    assert client.post("/v1/batch?x=1", json={"questions": [AIR]}).status_code == 400


def test_a_thousand_questions_are_answered(client: FlaskClient) -> None:
    asked = [
        {"question": "equilibrium", "body": {"temperature": 0.05 * n, "relative_humidity": 50,
                                             "units": "metric"}}
        for n in range(limits.BATCH_QUESTIONS)
    ]  # fmt: skip
    told = ask(client, asked)
    assert told["failed"] == 0
    warmths = [item["reply"]["asked"]["temperature"] for item in told["items"]]
    assert warmths == pytest.approx([0.05 * n for n in range(limits.BATCH_QUESTIONS)], abs=0.005)


def test_of_many_different_works_only_the_latest_are_kept() -> None:
    made: list[int] = []

    def ask(number: int) -> int:
        def make() -> int:
            made.append(number)
            return number

        return once("number", number, make)

    with sharing():
        for number in range(HELD + 1):
            assert ask(number) == number
            assert ask(1) == 1  # used every time, so never forgotten
        assert len(made) == HELD + 1
        ask(0)  # pushed out by the last one, and made again
    assert made == [*range(HELD + 1), 0]


def test_equal_questions_equal_rooms_and_equal_years_are_computed_once(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[str] = []
    build, run = house.from_climate, year.years

    def building(*given: Any, **living: Any) -> Any:
        made.append("room")
        return build(*given, **living)

    def running(*given: Any) -> Any:
        made.append("years")
        return run(*given)

    monkeypatch.setattr(house, "from_climate", building)
    monkeypatch.setattr(settle, "years", running)
    room = {"question": "room", "body": {"room": TABLE["room"]}}
    wetter = of_width("30in", moisture=14)
    asked = [of_width("34in"), of_width("34in"), room, of_width("12in"), wetter]
    told = ask(client, asked)
    # One room for all, one year for both widths, another for the other moisture.
    assert sorted(made) == ["room", "years", "years"]
    for one, item in zip(asked, told["items"], strict=True):
        alone = client.post(f"/v1/{one['question']}", json=one["body"])
        assert item["reply"] == alone.get_json()
    # Nothing is kept from one batch to the next.
    made.clear()
    ask(client, [room])
    assert made == ["room"]


class TimedPlace(Place):
    """The place of a batch whose clock tells what it is given."""

    def __init__(self, *ticks: float, gone: int = 10**6) -> None:
        super().__init__({"REQUEST_METHOD": "POST"}, lambda: "somebody")
        self.ticks = iter(ticks)
        self.looks_left = gone

    def seconds(self) -> float:
        return next(self.ticks, 0.0)

    def gone(self) -> bool:
        self.looks_left -= 1
        return self.looks_left < 0


def of_warmth(warmth: float) -> dict[str, Any]:
    body = {"temperature": warmth, "relative_humidity": 50, "units": "metric"}
    return {"question": "equilibrium", "body": body}


def test_no_question_is_begun_when_the_time_of_the_batch_is_over() -> None:
    place = TimedPlace(1.0, limits.BATCH_SECONDS - 0.1, limits.BATCH_SECONDS, 1e9)
    asked = [of_warmth(n) for n in (1, 2, 3)]
    items = list(batch.answer_all(BY_NAME, [*asked, asked[0]], place))
    # The last is equal to the first and costs nothing.
    assert [item.status for item in items] == [200, 200, 503, 200]
    problem = orjson.loads(items[2].body)
    assert problem["type"] == "/problems/unavailable"
    assert "20 seconds" in problem["detail"]


def test_a_batch_whose_caller_has_gone_is_given_up() -> None:
    items = batch.answer_all(BY_NAME, [of_warmth(n) for n in range(9)], TimedPlace(gone=3))
    assert [next(items).status for _ in range(3)] == [200] * 3
    with pytest.raises(Refused):
        next(items)


def test_replies_of_a_batch_stay_within_their_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    item = next(batch.answer_all(BY_NAME, [AIR], TimedPlace()))
    monkeypatch.setattr(limits, "BATCH_REPLY_BYTES", int(2.5 * len(item.body)))
    items = list(batch.answer_all(BY_NAME, [AIR] * 4, TimedPlace()))
    assert [item.status for item in items] == [200, 200, 503, 503]
    assert "bytes" in orjson.loads(items[3].body)["detail"]


def test_a_failure_inside_one_question_is_its_own_500_without_inner_text(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*given: Any, **living: Any) -> Any:
        raise RuntimeError("secret of the inside")

    monkeypatch.setattr(house, "from_climate", broken)
    told = ask(client, [AIR, {"question": "room", "body": {"room": TABLE["room"]}}])
    assert [item["status"] for item in told["items"]] == [200, 500]
    assert "secret" not in str(told)


def test_the_caps_of_a_batch_are_told(client: FlaskClient) -> None:
    told = client.get("/v1/limits").get_json()["request"]
    assert told["batch_questions"] == 1000
    assert told["batch_seconds"] == limits.BATCH_SECONDS
    assert told["batch_reply_bytes"] == limits.BATCH_REPLY_BYTES
    document = client.get("/openapi.json").get_json()
    listed = document["components"]["schemas"]["Batch"]["properties"]["questions"]
    assert listed["maxItems"] == 1000
    assert "207" in document["paths"]["/v1/batch"]["post"]["responses"]
