"""A live server that some try to starve: light questions, health and other callers go on."""

from __future__ import annotations

import itertools
import os
import socket
import statistics
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import Final

import pytest
import requests

from api import limits
from tests.service.conftest import Live, serving
from tests.service.heavy import course
from tests.service.traffic import Connection

THOROUGH: Final = os.environ.get("STILLWOOD_HYPOTHESIS") == "thorough"
LIGHT: Final = (
    "/livez",
    "/readyz",
    "/v1/equilibrium?units=metric&temperature=21&relative_humidity=40",
)
# What is promised of each of those while others are at heavy work.
SOON: Final = 1.0


@pytest.fixture(scope="module")
def two_workers() -> Iterator[Live]:
    with serving(STILLWOOD_WORKERS="2") as running:
        yield running


class Watch:
    """Asks what is light, each ten times a second on a connection of its own, and times it.

    times : of each path, the seconds of every answer; wrong : what was not answered with 200.
    """

    def __init__(self, address: str) -> None:
        self.times: dict[str, list[float]] = {path: [] for path in LIGHT}
        self.wrong: list[str] = []
        self._address = address
        self._over = threading.Event()
        self._threads = [threading.Thread(target=self._ask, args=(path,)) for path in LIGHT]

    def __enter__(self) -> Watch:
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join()

    def _ask(self, path: str) -> None:
        request = f"GET {path} HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n".encode()
        while not self._over.wait(0.1):
            begun = time.monotonic()
            connection = Connection(self._address, 30.0)
            try:
                status, body = connection.ask(request)
                if status != 200:
                    self.wrong.append(f"{path}: {status} {body[:200]!r}")
            except OSError as error:
                self.wrong.append(f"{path}: {error!r}")
            self.times[path].append(time.monotonic() - begun)
            connection.close()

    def found(self) -> str:
        return "; ".join(
            f"{path.partition('?')[0]} {len(times)} times, median "
            f"{1e3 * statistics.median(times):.0f} ms, most {1e3 * max(times):.0f}"
            for path, times in self.times.items()
        )

    def check(self) -> None:
        assert not self.wrong, self.wrong[:3]
        for path, times in self.times.items():
            assert len(times) >= 20, path
            assert max(times) < SOON, f"{path}: {max(times):.2f} s"


@pytest.mark.slow
def test_heavy_questions_of_many_callers_stop_nothing_light(two_workers: Live) -> None:
    """`thorough` goes on for the 40 s that are promised."""
    seconds = 40.0 if THOROUGH else 15.0
    numbers = itertools.count()
    told: Counter[int] = Counter()
    bad: list[str] = []
    over = time.monotonic() + seconds

    def ask() -> None:
        while time.monotonic() < over:
            reply = requests.post(
                f"{two_workers.address}/v1/course",
                data=course(next(numbers)).body,
                headers={"Content-Type": "application/json"},
                timeout=60,
            )
            told[reply.status_code] += 1
            if reply.status_code == 503:
                if reply.headers.get("Retry-After") != str(limits.RETRY_SECONDS):
                    bad.append(f"503 without its time: {reply.headers}")
            elif reply.status_code != 200 or len(reply.json()["answer"]["stays"]) != 50:
                bad.append(f"{reply.status_code} {reply.text[:200]}")
            elif "Retry-After" in reply.headers:
                bad.append("200 with Retry-After")

    threads = [threading.Thread(target=ask) for _ in range(16)]
    with Watch(two_workers.address) as watch:
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    print(f"\n{seconds:.0f} s of 16 heavy callers: {dict(told)}; {watch.found()}")
    assert not bad, bad[:3]
    assert told[200] >= seconds / 10
    assert told[503] > 0
    watch.check()


@contextmanager
def opened(live: Live, count: int, sent: bytes) -> Iterator[list[socket.socket]]:
    """So many connections that have sent this."""
    host, port = live.address.removeprefix("http://").split(":")
    with ExitStack() as stack:
        connections = []
        for _ in range(count):
            connection = stack.enter_context(socket.create_connection((host, int(port)), 30.0))
            connection.sendall(sent)
            connections.append(connection)
        yield connections


def _until_free(live: Live) -> float:
    """Seconds until a long question is answered."""
    begun = time.monotonic()
    connection = Connection(live.address)
    while connection.ask(course(0, stays=1).written())[0] != 200:
        assert time.monotonic() < begun + 60.0, "nothing is answered"
        time.sleep(0.05)
    connection.close()
    return time.monotonic() - begun


@pytest.mark.slow
def test_work_whose_caller_has_gone_is_dropped(two_workers: Live) -> None:
    alone = _until_free(two_workers)
    with opened(two_workers, 200, course().written()):
        time.sleep(0.5)  # all are read, two are computed, some wait
    free = _until_free(two_workers)
    print(f"\nfree {free:.2f} s after 200 hung up, a question takes {alone:.2f} alone")
    # The 200 would take 300 s on two cores, the 64 that may wait 100.
    assert free < 5.0
    before = two_workers.processor_seconds()
    time.sleep(1.0)
    assert two_workers.processor_seconds() - before < 0.3, "somebody computes for nobody"


HEAD: Final = (
    b"POST /v1/settle HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
    b"Content-Length: 500\r\n\r\n{"
)
HALVES: Final = {
    "a body that never ends": HEAD,
    "a head that never ends": HEAD[:40],
    "nothing at all": b"",
}


@pytest.mark.parametrize("what", HALVES)
def test_slow_clients_straight_at_the_service_hold_nobody_up(two_workers: Live, what: str) -> None:
    with opened(two_workers, 60, HALVES[what]), Watch(two_workers.address) as watch:
        time.sleep(3.0)
    assert not watch.wrong
    assert max(map(max, watch.times.values())) < SOON, watch.found()


@pytest.mark.slow
def test_a_body_that_does_not_come_in_time_is_refused_however_it_trickles(
    two_workers: Live,
) -> None:
    head = HEAD.replace(b"Content-Length: 500", b"Transfer-Encoding: chunked")
    with (
        opened(two_workers, 1, HEAD) as (silent,),
        opened(two_workers, 1, HEAD) as (trickling,),
        opened(two_workers, 1, head[:-1] + b"1\r\n{\r\n") as (chunked,),
    ):
        begun = time.monotonic()
        told: dict[str, bytes] = {}
        while len(told) < 3 and time.monotonic() < begun + limits.ARRIVE_SECONDS + 5.0:
            for name, each in (("silent", silent), ("trickling", trickling), ("chunked", chunked)):
                each.settimeout(0.1)
                try:
                    if name not in told and (part := each.recv(65_536)):
                        assert time.monotonic() - begun > limits.ARRIVE_SECONDS - 1.0
                        # The head may come by itself.
                        each.settimeout(5.0)
                        while b'"}' not in part and (more := each.recv(65_536)):
                            part += more
                        told[name] = part
                except TimeoutError:
                    if name == "trickling":
                        each.sendall(b" ")
    assert told.keys() == {"silent", "trickling", "chunked"}
    for part in told.values():
        assert part.startswith(b"HTTP/1.1 408 "), part[:300]
        assert b"/problems/too-slow" in part


CHUNKED: Final = (
    b"POST /v1/equilibrium HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"
    b"Transfer-Encoding: chunked\r\nConnection: close\r\n\r\n"
)


@pytest.mark.parametrize(
    "rest",
    [
        b"zz\r\n",
        b"-1\r\n{}\r\n0\r\n\r\n",
        b"2\r\n{}0\r\n\r\n",
        b"2;a=\x01\r\n{}\r\n0\r\n\r\n",
        b"2\r\n{}\r\n0\r\nno colon\r\n\r\n",
        b"99999999999999999999\r\n{}",
        b"5\r\n{}",
        b"2\r\n{}\r\n",
    ],
)
def test_malformed_chunks_are_the_callers_fault(two_workers: Live, rest: bytes) -> None:
    with opened(two_workers, 1, CHUNKED + rest) as (connection,):
        connection.shutdown(socket.SHUT_WR)
        told = b""
        while part := connection.recv(65_536):
            told += part
    assert told.startswith(b"HTTP/1.1 400 "), told[:300]
    assert b"/problems/unreadable-request" in told


def _of_size(size: int) -> bytes:
    body = b'{"units":"metric","temperature":21,"relative_humidity":40}'
    return body[:-1] + b" " * (size - len(body)) + b"}"


@pytest.mark.parametrize("chunked", [False, True])
@pytest.mark.parametrize(("more", "status"), [(0, 200), (1, 413)])
def test_a_body_of_exactly_the_promised_size_is_taken(
    two_workers: Live, more: int, status: int, chunked: bool
) -> None:
    body = _of_size(limits.BODY_BYTES + more)
    reply = requests.post(
        f"{two_workers.address}/v1/equilibrium",
        data=iter([body]) if chunked else body,
        headers={"Content-Type": "application/json"},
        timeout=30,
    )
    assert reply.status_code == status


@pytest.mark.slow
def test_one_token_with_many_questions_leaves_another_its_turn() -> None:
    one, two = "the-token-of-the-first-shop", "the-token-of-the-second-shop"
    with serving(STILLWOOD_WORKERS="1", STILLWOOD_TOKENS=f"{one} {two}") as running:
        answered: Counter[str] = Counter()
        over = threading.Event()
        numbers = itertools.count()

        def ask(token: str) -> None:
            while not over.is_set():
                reply = requests.post(
                    f"{running.address}/v1/course",
                    data=course(next(numbers), stays=4).body,
                    headers={
                        "Content-Type": "application/json",
                        "Authorization": f"Bearer {token}",
                    },
                    timeout=60,
                )
                answered[token] += reply.status_code == 200

        threads = [threading.Thread(target=ask, args=(one,)) for _ in range(15)]
        threads.append(threading.Thread(target=ask, args=(two,)))
        for thread in threads:
            thread.start()
        time.sleep(8.0)
        over.set()
        for thread in threads:
            thread.join()
    print(f"\n15 callers of a token: {answered[one]} answered; one of another: {answered[two]}")
    # In turn: as many of the one as of the other; one in sixteen if all stood in one line.
    assert answered[two] > 0.3 * answered[one]
