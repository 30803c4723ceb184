"""The client: what it sends, when it tries again, how it splits a batch and tells a problem."""

from __future__ import annotations

import datetime
import email.utils
import io
import json
import pickle
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import requests
from flask.testing import FlaskClient
from requests.adapters import BaseAdapter

from api.client import Problem, Stillwood, Unreachable
from api.questions import QUESTIONS

ADDRESS = "http://stillwood.test"
Answer = tuple[int, dict[str, str], bytes]
Answers = Callable[[requests.PreparedRequest], Answer]
AIR = {"temperature": 70, "relative_humidity": 50}


class Wire(BaseAdapter):
    """A network that hands every request to a function and keeps it."""

    def __init__(self, answers: Answers) -> None:
        super().__init__()
        self.answers = answers
        self.sent: list[requests.PreparedRequest] = []
        self.timeouts: list[Any] = []

    def send(self, request: requests.PreparedRequest, *args: Any, **how: Any) -> requests.Response:
        self.sent.append(request)
        self.timeouts.append(how.get("timeout"))
        status, headers, body = self.answers(request)
        reply = requests.Response()
        reply.status_code, reply.raw = status, io.BytesIO(body)
        reply.headers.update(headers)
        reply.url, reply.request = str(request.url), request
        reply.reason = {502: "Bad Gateway"}.get(status, "")
        return reply

    def close(self) -> None:
        """Nothing is held open."""

    def bodies(self) -> list[Any]:
        return [json.loads(request.body) for request in self.sent if request.body]


def asking(answers: Answers, **how: Any) -> tuple[Stillwood, Wire]:
    wire, session = Wire(answers), requests.Session()
    session.mount("http://", wire)
    return Stillwood(ADDRESS, session=session, **how), wire


def scripted(*script: Answer | Exception) -> Answers:
    """One answer after the other."""
    left = list(script)

    def next_one(_: requests.PreparedRequest) -> Answer:
        answer = left.pop(0)
        if isinstance(answer, Exception):
            raise answer
        return answer

    return next_one


def told(body: Any, status: int = 200, **headers: str) -> Answer:
    kind = "application/json" if status < 400 else "application/problem+json"
    return status, {"Content-Type": kind, **headers}, json.dumps(body).encode()


def of_application(client: FlaskClient) -> Answers:
    """The application itself, without a network."""

    def answer(request: requests.PreparedRequest) -> Answer:
        reply = client.open(
            request.path_url,
            method=str(request.method),
            data=request.body,
            headers=list(request.headers.items()),
        )
        return reply.status_code, dict(reply.headers), reply.data

    return answer


@pytest.fixture
def waits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Seconds the client would have waited; none is."""
    waited: list[float] = []
    monkeypatch.setattr(time, "sleep", waited.append)
    return waited


@pytest.mark.usefixtures("answered_once")
@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_every_question_of_the_service_has_its_method(question: Any, client: FlaskClient) -> None:
    if question.name == "batch":
        return
    stillwood, _ = asking(of_application(client))
    body = dict(question.examples[0].body)
    asked = client.post(f"/v1/{question.name}", json=body).get_json()
    assert getattr(stillwood, question.name)(body) == asked
    assert getattr(Stillwood, question.name).__name__ == question.name
    assert getattr(Stillwood, question.name).__doc__


@pytest.mark.parametrize("name", ["species", "finishes", "climates", "basis", "limits"])
def test_every_catalogue_of_the_service_has_its_method(name: str, client: FlaskClient) -> None:
    stillwood, _ = asking(of_application(client))
    assert getattr(stillwood, name)() == client.get(f"/v1/{name}").get_json()


def test_text_table_and_chart_come_as_text(client: FlaskClient, table: dict[str, Any]) -> None:
    stillwood, wire = asking(of_application(client))
    assert stillwood.text("settle", table).startswith("Not ready: ")
    assert "°C" in stillwood.csv("room", room=table["room"] | {"heat_to": "21C", "cool_to": "24C"})
    assert "<title" in stillwood.svg("settle", table)
    assert [request.path_url.rpartition("=")[2] for request in wire.sent] == ["text", "csv", "svg"]


def test_units_are_chosen_once_and_a_question_may_choose_its_own() -> None:
    stillwood, wire = asking(scripted(*[told({})] * 3), units="us")
    stillwood.equilibrium(AIR)
    stillwood.equilibrium(AIR, units="metric")
    stillwood.equilibrium({**AIR, "units": "metric"})
    assert [body["units"] for body in wire.bodies()] == ["us", "metric", "metric"]


def test_units_that_do_not_exist_are_refused_before_anything_is_sent() -> None:
    with pytest.raises(ValueError, match="'imperial' given; write 'metric' or 'us'"):
        Stillwood(units="imperial")


def test_a_dictionary_and_keywords_make_one_question_and_the_dictionary_stays_as_it_was() -> None:
    stillwood, wire = asking(scripted(told({})))
    given = {"slab": {"species": "elm"}, "after": 7}
    stillwood.movement(given, before=12.5, after=8)
    assert wire.bodies() == [{"slab": {"species": "elm"}, "before": 12.5, "after": 8}]
    assert given == {"slab": {"species": "elm"}, "after": 7}


def test_arrays_and_dates_are_sent_as_lists_and_texts() -> None:
    stillwood, wire = asking(scripted(told({})))
    stillwood.ask(
        "settle", moisture=np.array([8.0, 9.0]), starts=datetime.date(2026, 9, 25), n=np.int64(3)
    )
    assert wire.bodies() == [{"moisture": [8.0, 9.0], "starts": "2026-09-25", "n": 3}]


@pytest.mark.parametrize("value", [float("nan"), float("inf"), object()])
def test_what_json_cannot_hold_is_refused_before_anything_is_sent(value: Any) -> None:
    stillwood, wire = asking(scripted())
    with pytest.raises((ValueError, TypeError)):
        stillwood.equilibrium(temperature=value)
    assert wire.sent == []


def test_the_token_goes_with_every_request_and_stays_out_of_what_is_printed() -> None:
    stillwood, wire = asking(scripted(told({}), told({})), token="secret", timeout=7.0)
    stillwood.equilibrium(AIR)
    stillwood.species(q="elm")
    assert {request.headers["Authorization"] for request in wire.sent} == {"Bearer secret"}
    assert wire.timeouts == [(7.0, 7.0)] * 2
    assert "secret" not in repr(stillwood)


def test_a_problem_prints_every_fault_with_its_place(client: FlaskClient) -> None:
    stillwood, _ = asking(of_application(client))
    with pytest.raises(Problem) as caught:
        stillwood.equilibrium(temperature="300C", relative_humidity=128)
    problem = caught.value
    assert (problem.status, problem.kind) == (422, "invalid-question")
    assert [fault["pointer"] for fault in problem.errors] == ["/temperature", "/relative_humidity"]
    lines = str(problem).splitlines()
    assert lines[0] == "422 The question was read but cannot be answered as it stands."
    assert lines[2].startswith("  /temperature: `300C` given")
    assert sum(line.startswith("  /") for line in lines) == 2
    assert any(line.startswith("  /relative_humidity: 128 given") for line in lines)


def test_a_fault_of_the_service_names_the_request_for_its_operator(waits: list[float]) -> None:
    answer = told({"type": "/problems/failure", "title": "Failed."}, 500, **{"X-Request-ID": "r7"})
    stillwood, wire = asking(scripted(answer))
    with pytest.raises(Problem, match="request r7"):
        stillwood.equilibrium(AIR)
    assert len(wire.sent) == 1, "a 500 is not mended by asking again"
    assert waits == []


@pytest.mark.parametrize("status", [200, 504])
@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("text/html", b"<h1>Bad Gateway</h1>"),
        ("application/json", b"{"),
        ("application/json", b"3"),
    ],
)
def test_what_a_proxy_says_is_a_problem_too(status: int, kind: str, body: bytes) -> None:
    stillwood, _ = asking(scripted((status, {"Content-Type": kind}, body)))
    with pytest.raises(Problem, match=f"{status} .*\\n  Not from Stillwood itself"):
        stillwood.equilibrium(AIR)


@pytest.mark.parametrize("status", [429, 502, 503])
def test_a_busy_service_is_asked_again_no_sooner_than_it_says(
    status: int, waits: list[float]
) -> None:
    busy = told({"title": "Busy."}, status, **{"Retry-After": "3"})
    stillwood, wire = asking(scripted(busy, busy, told({"answer": 1})))
    assert stillwood.equilibrium(AIR) == {"answer": 1}
    assert len(wire.sent) == 3
    # What it says, and the own wait on top, drawn from its upper half: clients that were refused
    # together do not come back together.
    for wait, longest in zip(waits, (0.5, 1.0), strict=True):
        assert 3 + longest / 2 <= wait <= 3 + longest
    assert len(set(waits)) == 2


def test_a_date_in_retry_after_is_understood(waits: list[float]) -> None:
    later = email.utils.formatdate(time.time() + 20, usegmt=True)
    stillwood, _ = asking(scripted(told({}, 503, **{"Retry-After": later}), told({})))
    stillwood.equilibrium(AIR)
    assert waits[0] == pytest.approx(20, abs=2)  # the date is in whole seconds; 0.25 to 0.5 more


@pytest.mark.parametrize("text", ["", "soon", "-3", "1.5"])
def test_waits_grow_when_the_service_does_not_say_how_long(text: str, waits: list[float]) -> None:
    busy = told({}, 503, **{"Retry-After": text})
    stillwood, _ = asking(scripted(busy, busy, busy, told({})))
    stillwood.equilibrium(AIR)
    for wait, longest in zip(waits, (0.5, 1.0, 2.0), strict=True):
        assert longest / 2 <= wait <= longest  # drawn from the upper half, so that clients spread


def test_it_gives_up_after_the_tries_and_tells_the_last_problem(waits: list[float]) -> None:
    busy = told({"title": "Busy."}, 503)
    stillwood, wire = asking(scripted(busy, busy, busy), tries=3)
    with pytest.raises(Problem, match="503 Busy"):
        stillwood.equilibrium(AIR)
    assert (len(wire.sent), len(waits)) == (3, 2)


def test_a_busy_service_that_says_when_is_waited_for_and_costs_no_try(waits: list[float]) -> None:
    busy = told({}, 503, **{"Retry-After": "2"})
    stillwood, wire = asking(scripted(*[busy] * 20, told({"answer": 1})), tries=2)
    assert stillwood.equilibrium(AIR) == {"answer": 1}
    assert len(wire.sent) == 21
    assert all(2.25 <= wait <= 10.0 for wait in waits)
    # But not for ever: five minutes, or as long as chosen.
    for patience, least in ((300.0, 290.0), (30.0, 20.0)):
        waits.clear()
        stillwood, _ = asking(scripted(*[busy] * 200), patience=patience)
        with pytest.raises(Problem) as caught:
            stillwood.equilibrium(AIR)
        assert caught.value.status == 503
        assert least - 10.0 <= sum(waits) <= patience + 10.0


def test_it_does_not_wait_for_an_hour(waits: list[float]) -> None:
    stillwood, _ = asking(scripted(told({"title": "Busy."}, 429, **{"Retry-After": "3600"})))
    with pytest.raises(Problem, match="429 Busy") as caught:
        stillwood.equilibrium(AIR)
    assert waits == []
    assert caught.value.wait == 3600
    assert "It wants to be asked again in 3600 s." in str(caught.value)


def test_a_lost_connection_is_tried_again_and_then_told_plainly(waits: list[float]) -> None:
    lost = requests.ConnectionError("connection refused")
    stillwood, _ = asking(scripted(lost, requests.ReadTimeout("x"), told({"answer": 1})))
    assert stillwood.equilibrium(AIR) == {"answer": 1}
    stillwood, _ = asking(scripted(lost, lost), tries=2)
    with pytest.raises(Unreachable, match=r"no reply from http://stillwood\.test: nothing listens"):
        stillwood.equilibrium(AIR)
    assert len(waits) == 3


def batching(limits: dict[str, int], answer: Callable[[dict[str, Any]], dict[str, Any]]) -> Answers:
    """A service with the limits given whose batch answers every item by a function."""

    def answers(request: requests.PreparedRequest) -> Answer:
        if request.path_url.startswith("/v1/limits"):
            return told({"request": limits})
        assert request.path_url == "/v1/batch"
        assert request.body is not None
        items = [answer(each) for each in json.loads(request.body)["questions"]]
        return told({"items": items, "failed": 0}, 207)

    return answers


def echoed(item: dict[str, Any]) -> dict[str, Any]:
    return {"status": 200, "reply": item["body"]}


def many(count: int) -> list[tuple[str, dict[str, Any]]]:
    return [("equilibrium", {"temperature": place}) for place in range(count)]


@pytest.mark.parametrize(
    ("limit", "size", "sizes"), [(1000, 4, [4, 4, 2]), (3, 100, [3, 3, 3, 1]), (10, 10, [10])]
)
def test_a_batch_is_split_to_the_limit_and_keeps_its_order(
    limit: int, size: int, sizes: list[int]
) -> None:
    stillwood, wire = asking(batching({"batch_questions": limit}, echoed))
    replies = stillwood.batch(many(10), size=size)
    assert replies == [{"temperature": place} for place in range(10)]
    assert [len(body["questions"]) for body in wire.bodies()] == sizes


def test_no_request_of_a_batch_is_larger_than_the_service_reads() -> None:
    limit = 400
    stillwood, wire = asking(batching({"batch_questions": 1000, "body_bytes": limit}, echoed))
    assert len(stillwood.batch(many(40))) == 40
    sizes = [len(request.body) for request in wire.sent if request.body]
    assert max(sizes) <= limit
    assert min(sizes[:-1]) > limit - 70, "an item has about 60 bytes: requests are well filled"


def test_a_bad_item_is_a_problem_in_its_place() -> None:
    def answer(item: dict[str, Any]) -> dict[str, Any]:
        if item["body"]["temperature"] == 1:
            return {"status": 422, "problem": {"title": "No.", "type": "/problems/x"}}
        return echoed(item)

    stillwood, _ = asking(batching({}, answer))
    first, second, third = stillwood.batch(many(3))
    assert (first, third) == ({"temperature": 0}, {"temperature": 2})
    assert isinstance(second, Problem)
    assert str(second) == "422 No."


def test_items_left_for_want_of_time_are_asked_again(waits: list[float]) -> None:
    begun: list[int] = []

    def answer(item: dict[str, Any]) -> dict[str, Any]:
        begun.append(item["body"]["temperature"])
        if len(begun) in (3, 4):
            return {"status": 503, "problem": {"title": "Out of time."}}
        return echoed(item)

    stillwood, _ = asking(batching({}, answer))
    assert stillwood.batch(many(4)) == [{"temperature": place} for place in range(4)]
    assert begun == [0, 1, 2, 3, 2, 3]
    assert waits == [], "half was answered, so there is no need to wait"


def test_items_that_are_never_answered_end_as_problems(waits: list[float]) -> None:
    left = {"status": 503, "problem": {"title": "Out of time."}}
    stillwood, wire = asking(batching({}, lambda _: left), tries=3)
    replies = stillwood.batch(many(2))
    assert [isinstance(reply, Problem) for reply in replies] == [True, True]
    assert len(wire.bodies()) == 3
    assert len(waits) == 2


def test_an_empty_batch_asks_nothing_and_units_go_into_every_item() -> None:
    stillwood, wire = asking(batching({}, echoed), units="metric")
    assert stillwood.batch([]) == []
    assert wire.bodies() == []
    stillwood.batch(many(2))
    assert [item["body"]["units"] for item in wire.bodies()[0]["questions"]] == ["metric"] * 2


@pytest.mark.parametrize("with_tqdm", [True, False])
def test_a_long_batch_shows_how_far_it_is(
    with_tqdm: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    if not with_tqdm:
        monkeypatch.setitem(sys.modules, "tqdm", None)
    stillwood, _ = asking(batching({}, echoed))
    stillwood.batch(many(10), size=4, progress=True)
    shown = capsys.readouterr().err
    assert ("10/10" if with_tqdm else "10 of 10 questions\n") in shown
    stillwood.batch(many(10), size=4)
    assert capsys.readouterr().err == "", "a short batch is quiet"


# What a shop's script meets on a bad day.


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (requests.ConnectionError("Connection refused"), "nothing listens there"),
        (requests.ConnectionError("Failed to resolve 'x'"), "no such host is known here"),
        (requests.ConnectTimeout("x"), "it took longer than the timeout"),
        (requests.exceptions.ChunkedEncodingError("IncompleteRead"), "the connection was lost"),
        (requests.exceptions.SSLError("certificate verify failed"), "certificate is not trusted"),
    ],
)
def test_a_service_that_is_not_reached_is_told_in_words(
    error: Exception, words: str, waits: list[float]
) -> None:
    stillwood, _ = asking(scripted(error), tries=1)
    with pytest.raises(Unreachable, match=words):
        stillwood.equilibrium(AIR)


def test_a_reply_cut_off_by_a_stopped_worker_is_asked_for_again(waits: list[float]) -> None:
    cut = requests.exceptions.ChunkedEncodingError("IncompleteRead(9 bytes read, 99 more expected)")
    stillwood, wire = asking(scripted(cut, told({"answer": 1})))
    assert stillwood.equilibrium(AIR) == {"answer": 1}
    assert len(wire.sent) == 2


def test_a_certificate_is_not_mended_by_asking_again(waits: list[float]) -> None:
    stillwood, wire = asking(scripted(requests.exceptions.SSLError("certificate verify failed")))
    with pytest.raises(Unreachable):
        stillwood.equilibrium(AIR)
    assert (len(wire.sent), waits) == (1, [])


def test_a_host_that_does_not_answer_is_given_up_sooner_than_a_long_question() -> None:
    stillwood, wire = asking(scripted(told({}), told({})))
    stillwood.equilibrium(AIR)
    assert wire.timeouts == [(10.0, 60.0)]
    stillwood.timeout = 3
    stillwood.equilibrium(AIR)
    assert wire.timeouts[1] == (3, 3)


@pytest.mark.parametrize("status", [301, 302, 307, 308])
def test_a_service_that_moved_is_told_and_the_question_goes_nowhere_else(status: int) -> None:
    # requests would follow a 301 or 302 with a GET that has lost the question.
    moved = (status, {"Location": "https://stillwood.test/v1/equilibrium"}, b"")
    stillwood, wire = asking(scripted(moved))
    with pytest.raises(Problem, match=f"{status} The service is somewhere else") as caught:
        stillwood.equilibrium(AIR)
    assert "https://stillwood.test/v1/equilibrium" in str(caught.value)
    assert len(wire.sent) == 1


@pytest.mark.parametrize("address", ["127.0.0.1:8321", "localhost", "ftp://shop", ""])
def test_an_address_without_its_scheme_is_refused_when_it_is_written(address: str) -> None:
    with pytest.raises(ValueError, match="write it as 'http://"):
        Stillwood(address)


def test_an_address_may_have_a_path_of_a_proxy() -> None:
    wire, session = Wire(scripted(told({}))), requests.Session()
    session.mount("http://", wire)
    Stillwood(f"{ADDRESS}/wood/", session=session).equilibrium(AIR)
    assert wire.sent[0].url == f"{ADDRESS}/wood/v1/equilibrium"


def test_the_last_line_end_of_a_file_is_no_part_of_a_token() -> None:
    stillwood, wire = asking(scripted(told({})), token="a-token\n")
    stillwood.equilibrium(AIR)
    assert wire.sent[0].headers["Authorization"] == "Bearer a-token"


@pytest.mark.parametrize("token", ["", " \n", "two words", "tok\u0113n", "a\x00b"])
def test_a_token_that_no_header_can_carry_is_refused_and_not_shown(token: str) -> None:
    with pytest.raises(ValueError, match="token: empty, or with characters") as caught:
        asking(scripted(), token=token)
    assert not token.strip() or token not in str(caught.value)


def test_a_password_of_a_netrc_file_does_not_take_the_place_of_the_token(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    netrc = tmp_path / "netrc"
    netrc.write_text("machine stillwood.test login me password secret\n")
    netrc.chmod(0o600)
    monkeypatch.setenv("NETRC", str(netrc))
    stillwood, wire = asking(scripted(told({})), token="a-token")
    stillwood.equilibrium(AIR)
    assert wire.sent[0].headers["Authorization"] == "Bearer a-token"
    stillwood, wire = asking(scripted(told({})))
    stillwood.equilibrium(AIR)
    assert "Authorization" not in wire.sent[0].headers


def test_a_problem_fits_a_terminal_and_names_every_field(client: FlaskClient) -> None:
    stillwood, _ = asking(of_application(client), units="us")
    bad = {"species": "elmm", "width": -3, "thickness": "2 furlongs", "colour": "red"}
    with pytest.raises(Problem) as caught:
        stillwood.settle(slab=bad, moisture=1250, room={"climate": "Erewhon-on-Sea"}, starts="soon")
    lines = str(caught.value).splitlines()
    assert max(map(len, lines)) <= 80
    places = [each["pointer"] for each in caught.value.errors]
    assert len(places) == 7
    assert [line.split(":")[0].strip() for line in lines if line.startswith("  /")] == places
    # What is wrapped says the same words.
    words = " ".join(str(caught.value).split())
    assert all(" ".join(each["detail"].split()) in words for each in caught.value.errors)


def test_a_wrong_address_is_told_with_the_problem(client: FlaskClient) -> None:
    stillwood, _ = asking(of_application(client))
    with pytest.raises(Problem, match=f"asked: {ADDRESS}/v1/equilibrum"):
        stillwood.ask("equilibrum", AIR)


def test_a_problem_comes_whole_from_another_process() -> None:
    body = {"title": "No.", "detail": "d", "errors": [{"pointer": "/a", "detail": "b"}]}
    problem = Problem(422, body, "r7", f"{ADDRESS}/v1/air", 3.0)
    again = pickle.loads(pickle.dumps(problem))
    assert isinstance(again, Problem)
    assert (str(again), again.errors, again.wait) == (str(problem), problem.errors, 3.0)


@pytest.mark.parametrize(
    ("missing", "place"),
    [
        ({"temperature": float("nan")}, "/temperature"),
        ({"slab": {"width": np.float64("inf")}}, "/slab/width"),
        ({"relative_humidity": np.array([40.0, np.nan])}, "/relative_humidity/1"),
    ],
)
def test_a_missing_figure_of_a_table_is_named(missing: dict[str, Any], place: str) -> None:
    stillwood, wire = asking(scripted())
    with pytest.raises(ValueError, match=f"^{place}: not a number"):
        stillwood.equilibrium(missing)
    with pytest.raises(ValueError, match=f"^/1/body{place}: not a number"):
        stillwood.batch([("equilibrium", AIR), ("equilibrium", missing)], size=1)
    assert wire.sent == [], "it is found before anything is sent"


def test_a_form_is_asked_for_by_its_own_method() -> None:
    stillwood, wire = asking(scripted())
    with pytest.raises(ValueError, match=r"text\(\), csv\(\) and svg\(\) give those forms"):
        stillwood.equilibrium(AIR, format="text")
    assert wire.sent == []


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_what_a_question_may_be_told_fits_a_terminal(question: Any) -> None:
    # That it is all of it: tests/api/test_openapi.py.
    named = getattr(Stillwood, question.name).__doc__.partition("each:\n")[2]
    assert max(map(len, named.splitlines())) <= 80


@pytest.mark.parametrize("name", ["species", "climates", "limits"])
def test_units_chosen_once_hold_for_catalogues_too(name: str, client: FlaskClient) -> None:
    stillwood, _ = asking(of_application(client), units="us")
    assert getattr(stillwood, name)() == client.get(f"/v1/{name}?units=us").get_json()
