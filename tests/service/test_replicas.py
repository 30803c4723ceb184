"""Two instances behind nginx as deployed: they come and go, and slow clients hold nobody up.

Collected only where nginx is installed; the head of a run says when it is not.
"""

from __future__ import annotations

import os
import re
import signal
import socket
import statistics
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Final

import orjson
import pytest
import requests

from tests.service.conftest import ROOT, Live, free_port
from tests.service.proxy import instance, nginx_before, shares
from tests.service.traffic import Callers, Cut

ASK: Final = "/v1/equilibrium?temperature=20C&relative_humidity=50"


@pytest.mark.slow
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL], ids=["stopped", "killed"])
def test_an_instance_goes_and_comes_back_and_no_caller_notices(how: int, tmp_path: Path) -> None:
    """Every answer is the computed one; nginx repeats what a dead instance did not answer."""
    killed = how == signal.SIGKILL
    port = free_port()
    address = f"127.0.0.1:{port}"
    with (
        instance() as first,
        nginx_before([first.address, f"http://{address}"], tmp_path) as front,
        Callers(front) as callers,
    ):
        with instance(port, killed=killed) as second:
            _until_it_has_a_share(callers, tmp_path, address)
            if killed:
                second.kill()
        # Its absence goes on for a while: nginx asks it again every 2 s (fail_timeout).
        callers.wait_for(400)
        with instance(port):
            _until_it_has_a_share(callers, tmp_path, address)
        callers.wait_for(50)
    print(f"\n{callers.answered} answered as computed, {len(callers.lost)} lost")
    assert not callers.wrong, callers.wrong[:3]
    # A reply of which a part has gone out cannot be repeated; none is in that state but at a kill.
    assert all(isinstance(error, Cut) and error.begun for error in callers.lost), callers.lost
    assert len(callers.lost) <= (callers.count if killed else 0)


def _until_it_has_a_share(callers: Callers, folder: Path, address: str) -> None:
    """Wait until an instance has answered a fifth of some hundred requests."""
    before = shares(folder).get(address, 0)
    deadline = time.monotonic() + 180.0
    while shares(folder).get(address, 0) < before + 40:
        assert time.monotonic() < deadline, "the instance is not asked"
        callers.wait_for(40)


@pytest.mark.slow
def test_workers_that_are_replaced_after_their_requests_cost_nobody_an_answer(
    tmp_path: Path,
) -> None:
    """max_requests of deploy/gunicorn.conf.py, made small."""
    arguments = "--max-requests 60 --max-requests-jitter 20"
    with instance(workers=2, arguments=arguments) as running:
        before = set(running.workers)
        with nginx_before([running.address], tmp_path) as front, Callers(front) as callers:
            callers.wait_for(600)
        assert not before & set(running.workers)
    assert not callers.wrong, callers.wrong[:3]
    assert not callers.lost, callers.lost[:3]


@pytest.mark.slow
def test_workers_killed_in_both_instances_at_once_leave_the_service_answering(
    tmp_path: Path,
) -> None:
    """nginx must not take a lost worker for a lost instance, or it would have none left to ask."""
    kills = 3
    with (
        instance(workers=2) as first,
        instance(workers=2) as second,
        nginx_before([first.address, second.address], tmp_path) as front,
        Callers(front) as callers,
    ):
        callers.wait_for(300)
        undisturbed = max(_seconds_of_an_answer(front) for _ in range(20))
        silent = []
        for _ in range(kills):
            time.sleep(2.0)
            for each in (first, second):
                os.kill(each.workers[0], signal.SIGKILL)
            silent.append(_seconds_until_answered(front))
        callers.wait_for(100)
    print(
        f"\n{callers.answered} answered as computed, {len(callers.lost)} lost, {max(silent):.2f} s"
    )
    assert not callers.wrong, callers.wrong[:3]
    # Each caller had one in flight at each pair of kills; a repeated one may meet the second.
    assert len(callers.lost) <= kills * callers.count
    assert max(silent) < 2.0 + undisturbed


def _seconds_until_answered(front: str) -> float:
    begun = time.monotonic()
    while requests.get(front + ASK, timeout=60).status_code != 200:
        assert time.monotonic() < begun + 60.0, "no answer for a minute"
    return time.monotonic() - begun


SLOW: Final = 100  # of each kind; the service has 8 threads
BIG: Final = orjson.dumps(
    {
        "temperature": [f"{10 + n % 300 / 10:.1f}C" for n in range(100_000)],
        "relative_humidity": [20 + n % 600 / 10 for n in range(100_000)],
    }
)


@pytest.mark.slow
def test_far_more_slow_clients_than_threads_hold_nobody_up(tmp_path: Path) -> None:
    with (
        instance(workers=2) as running,
        nginx_before([running.address], tmp_path) as front,
        ExitStack() as open_sockets,
    ):
        host, port = front.removeprefix("http://").split(":")

        def client(sent: bytes) -> socket.socket:
            connection = open_sockets.enter_context(socket.socket())
            # A small window, so that a reply that is not read stays with the other side.
            connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            connection.settimeout(60.0)
            connection.connect((host, int(port)))
            connection.sendall(sent)
            return connection

        usual = statistics.median(_seconds_of_an_answer(front) for _ in range(20))
        head = b"POST /v1/equilibrium HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
        length = b"Content-Length: %d\r\n\r\n"
        whole = head + length % len(BIG) + BIG
        readers: list[socket.socket] = []
        while len(readers) < SLOW // 5:
            # A few at a time: so large a question takes a turn, and waits 3 s for it at most.
            readers += [client(whole) for _ in range(4)]
            _until_answered(running, len(readers))
        for _ in range(SLOW):
            client(head[:70])  # its head never ends
            client(head + length % 99 + b'{"temperature"')  # its body never ends
            half = client(head + length % 99 + b'{"temperature"')
            half.shutdown(socket.SHUT_WR)
        held_up = statistics.median(_seconds_of_an_answer(front) for _ in range(20))
        print(f"\nan answer takes {1e3 * usual:.1f} ms, among slow clients {1e3 * held_up:.1f}")
        # A blocked thread is blocked for 10 s (nginx) or for good (gunicorn).
        assert held_up < 1.0 + 10.0 * usual
        # The slow readers are still there, and get all of it when they do read.
        lengths = {_read_all(each) for each in readers}
    assert len(lengths) == 1
    assert lengths.pop() > 2_000_000


def _seconds_of_an_answer(front: str) -> float:
    begun = time.monotonic()
    assert requests.get(front + ASK, timeout=60).status_code == 200
    return time.monotonic() - begun


def _until_answered(running: Live, count: int) -> None:
    """Wait until the service, by its own counter, has answered so many POST requests."""
    line = (
        r'^stillwood_http_requests_total{method="POST",route="/v1/equilibrium",status="200"} (\S+)$'
    )
    deadline = time.monotonic() + 120.0
    while True:
        told = requests.get(f"{running.address}/metrics", timeout=60).text
        found = re.search(line, told, re.MULTILINE)
        if found is not None and float(found[1]) == count:
            return
        assert time.monotonic() < deadline, f"{found and found[1]} of {count} answered"
        time.sleep(0.05)


def _read_all(connection: socket.socket) -> int:
    """Bytes of the body of a reply, read to the end that its head tells."""
    got = connection.recv(65_536)
    head, _, body = got.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 200 "), head
    found = re.search(rb"(?i)content-length: (\d+)", head)
    assert found is not None
    length = len(body)
    while length < int(found[1]):
        part = connection.recv(1_048_576)
        assert part, f"cut off after {length} of {found[1]!r} bytes"
        length += len(part)
    return length


def test_the_cache_of_the_page_on_scale_keeps_open_replies_and_no_other(tmp_path: Path) -> None:
    page = (ROOT / "deploy" / "SCALE.md").read_text()
    (lines,) = re.findall(r"```nginx\n( *proxy_cache_path .*?)```", page, re.DOTALL)
    lines = lines.replace("/var/cache/nginx/stillwood", str(tmp_path / "kept"))
    with (
        instance() as running,
        nginx_before([running.address], tmp_path, lines) as front,
        requests.Session() as caller,
    ):

        def asked(**headers: str) -> tuple[int, str, str]:
            reply = caller.get(front + ASK, headers=headers, timeout=60)
            return reply.status_code, reply.headers["X-Request-ID"], reply.text

        first = asked()
        assert asked() == first  # kept, its id with it
        assert caller.get(front + ASK, timeout=60).headers["Cache-Control"] == "max-age=3600"
        assert asked(Accept="text/plain")[2] != first[2]
        # A caller with a token is answered by the service, and nobody else gets that reply.
        body = {"temperature": "20C", "relative_humidity": 50}
        ids = {asked(Authorization="Bearer one")[1] for _ in range(2)}
        ids |= {
            caller.post(front + "/v1/equilibrium", json=body, timeout=60).headers["X-Request-ID"]
            for _ in range(2)
        }
        assert len(ids | {first[1]}) == 5
        known = caller.get(front + ASK, timeout=60).headers["ETag"]
        assert asked_again(caller, front, known) == 304


def asked_again(caller: requests.Session, front: str, known: str) -> int:
    """Status of a question whose answer the caller has."""
    return caller.get(front + ASK, headers={"If-None-Match": known}, timeout=60).status_code
