"""A live server among faults: killed workers, stops under load, hostile bytes."""

from __future__ import annotations

import gzip
import os
import signal
import socket
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Final

import orjson
import pytest
import requests

from api import limits
from api.questions import BY_NAME
from tests.service.conftest import Live, serving

ASK: Final = "/v1/equilibrium?temperature=20C&relative_humidity=50"
SETTLE: Final[dict[str, Any]] = dict(BY_NAME["settle"].examples[0].body)
PROBLEM: Final = "application/problem+json"


def workers_of(live: Live) -> list[int]:
    children = Path(f"/proc/{live.process.pid}/task/{live.process.pid}/children")
    return [int(each) for each in children.read_text().split()]


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
    reply = requests.get(live.address + ASK, timeout=10)
    assert reply.status_code == 200
    assert reply.json()["answer"]["mean"] == pytest.approx(9.3, abs=0.4)  # Wood Handbook, 20 degC


@pytest.mark.slow
def test_a_killed_worker_costs_only_its_requests_and_is_replaced_within_2_seconds() -> None:
    kills, silent = 4, []
    with serving(STILLWOOD_WORKERS="2", STILLWOOD_LOG="off") as running:
        stop = threading.Event()
        codes: list[int] = []
        lost: list[str] = []

        def ask() -> None:
            while not stop.is_set():
                try:
                    reply = requests.get(running.address + ASK, timeout=10)
                    codes.append(reply.status_code)
                except requests.RequestException as error:  # before, or within, its reply
                    lost.append(str(error))

        callers = [threading.Thread(target=ask) for _ in range(3)]
        for caller in callers:
            caller.start()
        for _ in range(kills):
            time.sleep(1.0)
            before = len(codes)
            os.kill(workers_of(running)[0], signal.SIGKILL)
            killed = time.monotonic()
            while len(codes) < before + 5 and time.monotonic() < killed + 10:
                time.sleep(0.01)
            silent.append(time.monotonic() - killed)
        time.sleep(1.0)
        stop.set()
        for caller in callers:
            caller.join()
        deadline = time.monotonic() + 10
        while len(workers_of(running)) < 2 and time.monotonic() < deadline:
            time.sleep(0.05)
        assert len(workers_of(running)) == 2
        still_answers(running)
    print(f"\n{len(codes)} answered, {len(lost)} lost, answered on after {max(silent):.2f} s")
    assert set(codes) == {200}
    # No more than each caller had one in flight at each kill; a new one may meet the dead socket.
    assert len(lost) <= kills * len(callers)
    assert max(silent) < 2.0


@pytest.mark.slow
def test_a_stop_under_load_finishes_everything_accepted() -> None:
    """Requests on their way when the stop comes are all answered; later ones are not accepted."""
    with serving(STILLWOOD_WORKERS="2", STILLWOOD_LOG="off") as running:
        at_work = 8
        begun = threading.Barrier(at_work + 1)
        batch = {"questions": [{"question": "settle", "body": {**SETTLE, "seed": n}}
                               for n in range(4)]}  # fmt: skip

        def ask(_: int) -> tuple[int, int]:
            with requests.Session() as session:
                session.get(running.address + "/livez").raise_for_status()
                begun.wait()
                reply = session.post(running.address + "/v1/batch", json=batch, timeout=60)
                return reply.status_code, reply.json()["failed"]

        with ThreadPoolExecutor(at_work) as callers:
            answers = [callers.submit(ask, n) for n in range(at_work)]
            begun.wait()
            time.sleep(0.3)  # all are accepted and some are being computed
            running.process.terminate()
            assert [answer.result() for answer in answers] == [(207, 0)] * at_work
        assert running.process.wait(timeout=40) == 0
        with pytest.raises(requests.ConnectionError):
            requests.get(running.address + "/livez", timeout=5)


def test_an_oversize_body_is_refused_before_it_is_sent(live: Live) -> None:
    head = (
        b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
        b"Content-Length: 9999999999\r\n\r\n"
    )
    begun = time.monotonic()
    told = raw(live, head + b'{"a":1}', seconds=5.0)
    assert b" 413 " in told.split(b"\r\n")[0]
    assert PROBLEM.encode() in told
    assert time.monotonic() - begun < 6.0
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
    "10,000 names": (lambda: orjson.dumps({f"k{n}": n for n in range(10_000)}), 422),
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
    begun = time.monotonic()
    reply = requests.post(
        live.address + ("/v1/batch" if "batch" in name else "/v1/settle"),
        data=make(),
        headers={"Content-Type": "application/json"},
        timeout=20,
    )
    assert reply.status_code == status, reply.text[:300]
    assert reply.headers["Content-Type"] == PROBLEM
    # The reply to a large fault stays small.
    assert len(reply.content) < 30_000
    assert time.monotonic() - begun < 10.0
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
        for _ in range(20):
            begun = time.monotonic()
            still_answers(live)
            assert time.monotonic() - begun < 5.0
    finally:
        for connection in half:
            connection.close()
