"""Turns: few compute at a time, callers take turns, nobody waits for ever or for nobody."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import Any

import orjson
import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from api import admission, limits
from api.admission import Full, Gate, Gone, Place, TooLate
from api.app import create_app
from api.problems import Refused
from api.questions import BY_NAME
from api.questions.settle import QUESTION as SETTLE
from api.settings import Settings
from model import effort
from model.names import UnknownName
from model.properties import finishes, wood_names
from model.surroundings import climate


def here() -> bool:
    return False


def soon() -> float:
    return time.monotonic() + 60.0


@contextmanager
def many() -> Iterator[ThreadPoolExecutor]:
    with ThreadPoolExecutor(64) as pool:
        yield pool


def wait_for(gate: Gate, count: int) -> None:
    deadline = time.monotonic() + 30.0
    while gate.waiting != count:
        assert time.monotonic() < deadline, f"{gate.waiting} wait, not {count}"
        time.sleep(0.001)


@given(st.lists(st.sampled_from("abcd"), min_size=1, max_size=20), st.integers(1, 3))
def test_no_more_are_inside_than_may_be_and_all_get_in(callers: list[str], inside: int) -> None:
    gate = Gate(inside, places=100, of_one=100)
    now, most, lock = 0, 0, threading.Lock()

    def go(caller: str) -> None:
        nonlocal now, most
        gate.enter(caller, soon(), here)
        with lock:
            now += 1
            most = max(most, now)
        time.sleep(0.0005)
        with lock:
            now -= 1
        gate.leave()

    with ThreadPoolExecutor(len(callers)) as pool:
        for each in [pool.submit(go, caller) for caller in callers]:
            each.result(timeout=60)
    assert most <= inside
    assert gate.waiting == 0
    # All is as at first: so many can go in without waiting.
    for _ in range(inside):
        gate.enter("later", time.monotonic(), here)
    with pytest.raises(TooLate):
        gate.enter("later", time.monotonic(), here)


def test_callers_take_turns_however_many_questions_each_has() -> None:
    gate = Gate(1, places=100, of_one=100)
    order: list[str] = []
    gate.enter("first", soon(), here)

    def go(caller: str) -> None:
        gate.enter(caller, soon(), here)
        order.append(caller)
        gate.leave()

    with many() as pool:
        for count, caller in enumerate("aaaaab"):
            pool.submit(go, caller)
            wait_for(gate, count + 1)
        gate.leave()
    # The one of `b`, who came last, waits for one of `a` at most.
    assert "b" in order[:2]
    assert order.count("a") == 5


def test_who_has_not_been_served_for_longest_is_next() -> None:
    gate = Gate(1, places=100, of_one=100)
    order: list[str] = []
    for caller in ("old", "young"):
        gate.enter(caller, soon(), here)
        gate.leave()
    gate.enter("first", soon(), here)

    def go(caller: str) -> None:
        gate.enter(caller, soon(), here)
        order.append(caller)
        gate.leave()

    with many() as pool:
        for count, caller in enumerate(("young", "old", "new")):
            pool.submit(go, caller)
            wait_for(gate, count + 1)
        gate.leave()
    assert order == ["new", "old", "young"]


def test_the_line_is_bounded_and_one_caller_never_fills_it() -> None:
    gate = Gate(1, places=4, of_one=3)
    gate.enter("a", soon(), here)
    waiting: list[Future[None]] = []
    with many() as pool:
        for count in range(3):
            waiting.append(pool.submit(gate.enter, "a", soon(), here))
            wait_for(gate, count + 1)
        with pytest.raises(Full):
            gate.enter("a", soon(), here)
        waiting.append(pool.submit(gate.enter, "b", soon(), here))
        wait_for(gate, 4)
        with pytest.raises(Full):
            gate.enter("c", soon(), here)
        # Who was inside and let others pass is not refused.
        waiting.append(pool.submit(gate.enter, "a", soon(), here, pushing=True))
        wait_for(gate, 5)
        for _ in range(6):
            gate.leave()
        for each in waiting:
            each.result(timeout=30)


def test_who_waits_too_long_or_for_nobody_leaves_the_line() -> None:
    gate = Gate(1, places=4, of_one=4)
    gate.enter("a", soon(), here)
    begun = time.monotonic()
    with pytest.raises(TooLate):
        gate.enter("b", begun + 0.3, here)
    assert 0.3 <= time.monotonic() - begun < 5.0
    looks = iter([False, False, True])
    with pytest.raises(Gone):
        gate.enter("b", soon(), lambda: next(looks))
    assert gate.waiting == 0
    gate.leave()
    with pytest.raises(Gone):  # nobody begins for a caller who has gone
        gate.enter("b", soon(), lambda: True)
    gate.enter("b", time.monotonic(), here)


def place(connection: socket.socket | None = None) -> Place:
    return Place({"REQUEST_METHOD": "POST", "gunicorn.socket": connection}, lambda: "somebody")


@pytest.fixture
def long_gate(monkeypatch: pytest.MonkeyPatch) -> Gate:
    gate = Gate(1, places=4, of_one=3)
    monkeypatch.setattr(admission, "_LONG", gate)
    monkeypatch.setattr(limits, "WAIT_SECONDS", 0.2)
    return gate


def test_a_long_question_that_cannot_begin_is_told_when_to_come_back(
    client: FlaskClient, long_gate: Gate
) -> None:
    body = SETTLE.examples[0].body
    long_gate.enter("another", soon(), here)
    for asked in (
        client.post("/v1/settle", json=body),
        client.get("/v1/room?format=svg&room.temperature=20C&room.relative_humidity=50"),
        client.post("/v1/batch", json={"questions": [{}]}),
    ):
        assert asked.status_code == 503
        assert asked.get_json()["type"] == "/problems/unavailable"
        assert asked.headers["Retry-After"] == str(limits.RETRY_SECONDS)
        assert asked.headers["Cache-Control"] == "no-store"
    # What is light does not wait, and a long one whose answer is known is not computed.
    assert client.get("/readyz").status_code == 200
    assert client.get("/v1/air?temperature=20C&relative_humidity=50").status_code == 200
    assert client.post("/v1/settle", json={"moisture": 900}).status_code == 422
    long_gate.leave()
    answered = client.post("/v1/settle", json=body)
    assert answered.status_code == 200
    assert "Retry-After" not in answered.headers
    assert long_gate.waiting == 0
    long_gate.enter("another", time.monotonic(), here)  # every turn taken was given back


def test_an_answer_already_known_to_the_caller_waits_for_nobody(
    client: FlaskClient, long_gate: Gate
) -> None:
    path = (
        "/v1/settle?units=metric&spread=none&slab.species=american-elm&slab.width=600"
        "&slab.thickness=20&slab.grain=flat&moisture=9&room.temperature=20"
        "&room.relative_humidity=50&starts=2026-01-01"
    )
    first = client.get(path)
    assert first.status_code == 200, first.text
    long_gate.enter("another", soon(), here)
    again = client.get(path, headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304


def test_a_large_body_takes_a_turn_however_light_its_question(
    client: FlaskClient, long_gate: Gate
) -> None:
    long_gate.enter("another", soon(), here)
    for count, status in ((100, 200), (10_000, 503)):
        body = {"temperature": ["20.125C"] * count, "relative_humidity": [50] * count}
        assert client.post("/v1/equilibrium", json=body).status_code == status


def test_a_large_table_of_a_logger_takes_a_turn(client: FlaskClient, long_gate: Gate) -> None:
    head = "time,temperature (°C),relative humidity (%)\n"
    lines = "2026-01-01 00:00,20,40\n2026-01-02 00:00,20,41\n"
    long_gate.enter("another", soon(), here)
    for blank, status in ((100, 200), (limits.LARGE_BODY_BYTES, 503)):
        text = head + lines + "\n" * blank
        reply = client.post("/v1/room", data=text.encode(), content_type="text/csv")
        assert reply.status_code == status


def test_a_failure_gives_its_turn_back(
    client: FlaskClient, long_gate: Gate, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any) -> Any:
        raise RuntimeError

    monkeypatch.setattr("api.question.write_svg", broken)
    path = "/v1/room?format=svg&room.temperature=20C&room.relative_humidity=50"
    assert client.get(path).status_code == 500
    long_gate.enter("another", time.monotonic(), here)


def test_a_caller_who_hangs_up_is_noticed() -> None:
    one, other = socket.socketpair()
    with one, place(one) as mine:
        assert not mine.gone()
        mine.watch()
        other.sendall(b"more")  # of the next request, on the same connection
        assert not mine.gone()
        one.recv(4)
        other.close()
        assert mine.gone()
        with pytest.raises(Refused):
            mine.watch()
        with pytest.raises(Refused):
            mine.take_turn()
    assert place(None).gone() is False


def test_computing_stops_when_the_caller_has_gone_or_it_takes_too_long(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    one, other = socket.socketpair()

    def compute(seconds: float) -> None:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            effort.check()

    with one, place(one) as mine:
        with effort.within(10.0, mine.watch):
            compute(0.3)
        monkeypatch.setattr(limits, "ANSWERED_SECONDS", 0.2)
        with effort.within(10.0, mine.watch), pytest.raises(Refused) as told:
            compute(5.0)
        assert told.value.status == 503
        assert "0.2 seconds after" in told.value.detail
        monkeypatch.setattr(limits, "ANSWERED_SECONDS", 25.0)
        other.close()
        begun = time.monotonic()
        with effort.within(10.0, mine.watch), pytest.raises(Refused):
            compute(5.0)
        assert time.monotonic() - begun < 1.0


def test_time_spent_waiting_for_a_thread_counts(long_gate: Gate) -> None:
    arrival = admission.Arrival()
    arrival.at -= limits.ANSWERED_SECONDS + 1.0
    token = admission.ARRIVAL.set(arrival)
    try:
        with place() as mine, pytest.raises(Refused):
            mine.watch()
    finally:
        admission.ARRIVAL.reset(token)


def test_a_batch_lets_others_pass_and_goes_on(
    long_gate: Gate, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "SLICE_SECONDS", 0.0)
    order: list[str] = []
    with many() as pool, place() as batch:
        batch.take_turn()
        batch.let_others()  # nobody waits

        def other() -> None:
            long_gate.enter("other", soon(), here)
            order.append("other")
            long_gate.leave()

        done = pool.submit(other)
        wait_for(long_gate, 1)
        batch.let_others()
        order.append("batch")
        done.result(timeout=30)
    assert order == ["other", "batch"]


def wrong_wood(number: int) -> dict[str, Any]:
    slab = {"species": f"white oak number {number}", "width": "60cm", "thickness": "4cm"}
    return {"question": "movement", "body": {"slab": {**slab, "grain": "flat"}, "before": 9}}


def wrong_place(number: int) -> dict[str, Any]:
    return {"question": "room", "body": {"room": {"climate": f"Duluhth the {number}th"}}}


def wrong_finish(number: int) -> dict[str, Any]:
    return {"question": "settle", "body": {"faces": {"top": f"varnisch {number}"}}}


@pytest.mark.parametrize("wrong", [wrong_wood, wrong_place, wrong_finish])
def test_a_batch_of_unknown_names_is_told_at_once(
    client: FlaskClient, wrong: Callable[[int], dict[str, Any]]
) -> None:
    begun = time.thread_time()
    reply = client.post("/v1/batch", json={"questions": [wrong(n) for n in range(1_000)]})
    assert [item["status"] for item in reply.get_json()["items"]] == [422] * 1_000
    # 13.8 s for woods and 8.5 for places when near names were searched for each.
    assert time.thread_time() - begun < 3.0


def test_near_names_are_searched_for_a_few_times_for_one_request() -> None:
    with place():
        searched = [effort.may_search() for _ in range(limits.NEAR_NAMES + 5)]
    assert searched == [True] * limits.NEAR_NAMES + [False] * 5
    with place():  # the next request has its own
        assert effort.may_search()
    assert effort.may_search()


@pytest.mark.parametrize(
    ("find", "wrong"),
    [
        (climate.find, "Dulutth, MN"),
        (finishes.face, "shelac"),
        (wood_names.find, "whitte oak"),
    ],
    ids=["towns", "finishes", "woods"],
)
def test_near_names_of_every_kind_are_told_as_often_as_they_may_be_searched_for(
    find: Callable[[str], Any], wrong: str
) -> None:
    effort.allow_searches(2)
    try:
        for offered in (True, True, False):
            with pytest.raises(UnknownName) as told:
                find(wrong)
            assert bool(told.value.candidates) is offered
    finally:
        effort.allow_searches(None)


@pytest.mark.parametrize(
    ("body", "word"),
    [
        (orjson.dumps({f"k{n}": n for n in range(200_000)}), "100 members"),
        (b'{"a":[' + b"{}," * 1_300_000 + b"{}]}", "100,000 objects"),
        (b'{"a":[' + b"[]," * 1_300_000 + b"[]]}", "100,000 objects"),
        (b'{"' + b"x" * 4_000_000 + b'":1}', "200 characters"),
        (b'{"slab":{"species":"' + b"oak " * 1_000_000 + b'"}}', "200 characters"),
        (b'{"a":"' + b'\\"' * 2_000_000, "200 characters"),
        (b'{"a":"' + b"\\\n" * 2_000_000, "200 characters"),
        (b'"' * 4_000_000, "not JSON"),
        (b'{"a' + b" " * 4_000_000, "not JSON"),
        (b'{"a":' * 800_000, "12 deep"),
    ],
)
def test_what_is_too_big_in_form_is_refused_before_anything_is_made_of_it(
    client: FlaskClient, body: bytes, word: str
) -> None:
    begun = time.thread_time()
    reply = client.post("/v1/settle", data=body, content_type="application/json")
    assert reply.status_code == 400
    assert word in reply.get_json()["detail"]
    assert len(reply.data) < 1_000
    # 47 s and 280 MB when 455,000 unknown names were each looked up; 0.1 s is the worst now.
    assert time.thread_time() - begun < 1.0


def test_only_429_and_503_say_when_to_come_back() -> None:
    client = create_app(Settings(log="off", rate="4 per minute")).test_client()
    path = "/v1/air?temperature=20C&relative_humidity=50"
    for asked, status in ((path, 200), ("/v1/air", 422), ("/nowhere", 404), (path, 200)):
        reply = client.get(asked)
        assert reply.status_code == status
        assert "Retry-After" not in reply.headers
    assert "Retry-After" in client.get(path).headers


def test_questions_that_follow_moisture_are_the_long_ones() -> None:
    assert {each.name for each in BY_NAME.values() if not each.follows} == {
        "equilibrium",
        "air",
        "room",
        "movement",
        "load",
        "reading",
    }
