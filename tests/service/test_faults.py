"""A live server among faults: killed workers, stops under load, hostile bytes."""

from __future__ import annotations

import gzip
import os
import signal
import socket
import statistics
import time
from collections.abc import Callable
from typing import Any, Final

import orjson
import pytest
import requests

from api import limits
from api.questions import BY_NAME
from tests.service.conftest import STOP_SECONDS, Live, serving
from tests.service.traffic import Asked, Callers, Connection

THOROUGH: Final = os.environ.get("STILLWOOD_HYPOTHESIS") == "thorough"
ASK: Final = "/v1/equilibrium?temperature=20C&relative_humidity=50"
SETTLE: Final[dict[str, Any]] = dict(BY_NAME["settle"].examples[0].body)
PROBLEM: Final = "application/problem+json"


def raw(live: Live, sent: bytes, *, seconds: float = 10.0) -> bytes:
    """What the server says to these bytes until it hangs up or `seconds` are over."""
    host, port = live.address.removeprefix("http://").split(":")
    told = b""
    with socket.create_connection((host, int(port)), timeout=seconds) as connection:
        connection.sendall(sent)
        try:
            while part := connection.recv(65_536):
                told += part
        except (TimeoutError, ConnectionResetError):
            pass
    return told


def still_answers(live: Live) -> None:
    reply = requests.get(live.address + ASK, timeout=60)
    assert reply.status_code == 200
    assert reply.json()["answer"]["mean"] == pytest.approx(9.3, abs=0.4)  # Wood Handbook, 20 degC


def until_answered(live: Live) -> float:
    """Seconds until a caller who asks again whenever a reply is lost has an answer."""
    begun = time.monotonic()
    while True:
        try:
            if requests.get(live.address + ASK, timeout=60).status_code == 200:
                return time.monotonic() - begun
        except requests.RequestException:  # its own worker was the killed one
            assert time.monotonic() < begun + 60.0, "no answer for a minute"


@pytest.mark.slow
def test_a_killed_worker_costs_only_its_requests_and_the_service_answers_on_within_2_s() -> None:
    """SIGKILL every 2 s during the mixed load; `thorough` kills more often."""
    kills = 20 if THOROUGH else 4
    with serving(STILLWOOD_WORKERS="2", STILLWOOD_LOG="off") as running:
        with Callers(running.address, kept=False) as callers:
            callers.wait_for(300)
            undisturbed = max(until_answered(running) for _ in range(20))
            silent = []
            for _ in range(kills):
                time.sleep(2.0)
                os.kill(running.workers[0], signal.SIGKILL)
                silent.append(until_answered(running))
            callers.wait_for(100)
        deadline = time.monotonic() + 60.0
        while len(running.workers) < 2 and time.monotonic() < deadline:
            time.sleep(0.05)
        assert len(running.workers) == 2
        still_answers(running)
    print(
        f"\n{kills} kills: {callers.answered} answered as computed, {len(callers.lost)} lost, "
        f"answered on after {max(silent):.2f} s (undisturbed {undisturbed:.2f} s)"
    )
    assert not callers.wrong, callers.wrong[:3]
    # Every request has a connection of its own, so a kill can cost each caller the one in flight.
    assert len(callers.lost) <= kills * callers.count
    # What is promised is 2 s of silence; how long an answer takes on a busy machine is not ours.
    assert max(silent) < 2.0 + undisturbed


@pytest.mark.slow
def test_a_stop_under_load_finishes_everything_accepted() -> None:
    """Requests on their way when the stop comes are all answered; later ones are not accepted."""
    questions = [{"question": "settle", "body": {**SETTLE, "seed": n}} for n in range(4)]
    batch = Asked("batch", orjson.dumps({"questions": questions}))
    livez = b"GET /livez HTTP/1.1\r\nHost: a\r\n\r\n"
    with serving(STILLWOOD_WORKERS="2", STILLWOOD_LOG="off") as running:
        connections = [Connection(running.address) for _ in range(8)]
        # Answered once, so each is accepted; then all have sent their request.
        assert [each.ask(livez)[0] for each in connections] == [200] * 8
        for each in connections:
            each.send(batch.written())
        begun = running.processor_seconds()
        deadline = time.monotonic() + 60.0
        # 32 settles take some 2 s of processor time: by a tenth all are read and few are done.
        while running.processor_seconds() < begun + 0.2:
            assert time.monotonic() < deadline, "nothing was computed"
            time.sleep(0.005)
        running.process.terminate()
        replies = [each.receive() for each in connections]
        for each in connections:
            each.close()
        assert [status for status, _ in replies] == [207] * 8
        assert [orjson.loads(body)["failed"] for _, body in replies] == [0] * 8
        assert running.process.wait(timeout=STOP_SECONDS) == 0
        with pytest.raises(requests.ConnectionError):
            requests.get(running.address + "/livez", timeout=30)


def test_an_oversize_body_is_refused_before_it_is_sent(live: Live) -> None:
    head = (
        b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
        b"Content-Length: 9999999999\r\n\r\n"
    )
    # The body never comes: a server that waited for it would say nothing.
    told = raw(live, head + b'{"a":1}', seconds=20.0)
    assert b" 413 " in told.split(b"\r\n")[0]
    assert PROBLEM.encode() in told
    still_answers(live)


def test_an_oversize_body_in_chunks_is_refused(live: Live) -> None:
    def endless() -> Any:
        for _ in range(limits.BODY_BYTES // 65_536 + 2):
            yield b" " * 65_536

    try:
        reply = requests.post(
            live.address + "/v1/settle",
            data=endless(),
            headers={"Content-Type": "application/json"},
            timeout=30,
        )
    except (requests.ConnectionError, requests.exceptions.ChunkedEncodingError):
        pass  # the server hung up on the rest, or cut its own reply short by doing so
    else:
        assert reply.status_code == 413
    still_answers(live)


def test_a_compressed_bomb_is_refused_unopened(live: Live) -> None:
    bomb = gzip.compress(b'{"a":"' + b" " * 50_000_000 + b'"}')
    reply = requests.post(
        live.address + "/v1/settle",
        data=bomb,
        headers={"Content-Type": "application/json", "Content-Encoding": "gzip"},
        timeout=10,
    )
    assert reply.status_code == 415
    assert reply.headers["Content-Type"] == PROBLEM
    still_answers(live)


BODIES: Final[dict[str, tuple[Callable[[], bytes], int]]] = {
    "nested objects": (lambda: b'{"a":' * 50_000 + b"1" + b"}" * 50_000, 400),
    "nested lists": (lambda: b"[" * 100_000 + b"]" * 100_000, 400),
    "a name twice": (lambda: b'{"moisture":1,"moisture":2}', 400),
    "a name twice, once escaped": (lambda: b'{"moisture":1,"m\\u006fisture":2}', 400),
    "10,000 names": (lambda: orjson.dumps({f"k{n}": n for n in range(10_000)}), 400),
    "100 names": (lambda: orjson.dumps({f"k{n}": n for n in range(100)}), 422),
    "10,000 questions of a batch": (lambda: orjson.dumps({"questions": [{}] * 10_000}), 422),
    "no JSON": (lambda: b"moisture=12", 400),
    "nothing": (lambda: b"", 400),
    "NaN": (lambda: b'{"moisture": NaN}', 400),
    "a number without end": (lambda: b'{"moisture": ' + b"9" * 100_000 + b"}", 400),
    "a number beyond floats": (lambda: b'{"moisture": 1e999}', 400),
    "no UTF-8": (lambda: b'{"moisture": "\xff\xfe"}', 400),
    "half a surrogate": (lambda: b'{"moisture": "\\ud800"}', 400),
    "a zero byte": (lambda: b'{"moisture": "1\\u00002"}', 422),
    "right to left and pictures": (lambda: '{"moisture": "\u202e\U0001f332"}'.encode(), 422),
    "a byte order mark": (lambda: b'\xef\xbb\xbf{"moisture": 12}', 400),
}


@pytest.mark.parametrize("name", BODIES)
def test_a_hostile_body_gets_a_plain_problem(live: Live, name: str) -> None:
    make, status = BODIES[name]
    begun = live.processor_seconds()
    reply = requests.post(
        live.address + ("/v1/batch" if "batch" in name else "/v1/settle"),
        data=make(),
        headers={"Content-Type": "application/json"},
        timeout=60,
    )
    assert reply.status_code == status, reply.text[:300]
    assert reply.headers["Content-Type"] == PROBLEM
    # The reply to a large fault stays small, and its cost too: the worst takes 0.1 s here.
    assert len(reply.content) < 30_000
    assert live.processor_seconds() - begun < 2.0
    still_answers(live)


@pytest.mark.parametrize(
    "sent",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(200),  # TLS at a plain port
        b"GET\r\n\r\n",
        b"GET /livez HTTP/9.9\r\n\r\n",
        b"GET /livez HTTP/1.1\r\nHost : a\r\n\r\n",
        b"GET /livez HTTP/1.1\r\nHost: a\r\nX: " + b"x" * 20_000 + b"\r\n\r\n",
        b"GET /livez HTTP/1.1\r\nHost: a\r\n" + b"X: y\r\n" * 500 + b"\r\n",
        b"GET /" + b"x" * 20_000 + b" HTTP/1.1\r\nHost: a\r\n\r\n",
        b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nContent-Length: -5\r\n\r\n",
        b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nContent-Length: 5\r\n"
        b"Content-Length: 6\r\n\r\nabcde",
        b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nContent-Length: 5\r\n"
        b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
    ],
)
def test_malformed_http_is_refused_and_harms_nobody(live: Live, sent: bytes) -> None:
    told = raw(live, sent, seconds=3.0)
    assert told == b"" or told.split(b" ")[1][:1] == b"4", told[:200]
    still_answers(live)


def test_clients_that_never_finish_leave_the_others_their_answers(live: Live) -> None:
    """Fewer than the threads of the workers; as many as anyone likes are held off by nginx."""
    host, port = live.address.removeprefix("http://").split(":")
    half = [socket.create_connection((host, int(port))) for _ in range(3)]
    try:
        for connection in half:
            connection.sendall(
                b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
                b"Content-Length: 500\r\n\r\n{"
            )
        times = []
        for _ in range(20):
            begun = time.monotonic()
            still_answers(live)
            times.append(time.monotonic() - begun)
        # An answer takes milliseconds; one that waited for these clients would take minutes.
        assert statistics.median(times) < 5.0
    finally:
        for connection in half:
            connection.close()
