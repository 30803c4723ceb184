"""Requests of every kind, their computed replies, and a cheap way to ask them over sockets.

Used by the tests of this folder and by `tests.bench.load`.
"""

from __future__ import annotations

import itertools
import re
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from types import TracebackType
from typing import Any, Final, Self
from urllib.parse import urlencode

import orjson
from flask.testing import FlaskClient

from api.app import create_app
from api.questions import BY_NAME, QUESTIONS
from api.service import flattened
from api.settings import Settings

# A longer question goes by POST: gunicorn takes request lines of 8,190 bytes.
_LINE: Final = 8_000
# Milliseconds of these are 0.1 to 1.5; the others take 1.5 to 350, a chart of any 50 to 270.
LIGHT: Final = frozenset({"equilibrium", "air", "room", "movement", "reading"})
SELDOM: Final = 50  # one request in so many is a heavy one, so that a long run stays affordable


@dataclass(frozen=True, slots=True)
class Asked:
    """A request.

    name : of a question, or `batch`.
    body : the question as JSON.
    form : of the reply.
    by_query : asked by GET, where the question is short enough; else by POST.
    """

    name: str
    body: bytes
    form: str = "json"
    by_query: bool = False

    def written(self) -> bytes:
        """The request as HTTP/1.1, for a kept connection."""
        if self.by_query:
            pairs = [*flattened(orjson.loads(self.body)), ("format", self.form)]
            line = f"/v1/{self.name}?{urlencode(pairs)}"
            if len(line) < _LINE:
                return f"GET {line} HTTP/1.1\r\nHost: shop\r\n\r\n".encode()
        head = (
            f"POST /v1/{self.name}?format={self.form} HTTP/1.1\r\nHost: shop\r\n"
            f"Content-Type: application/json\r\nContent-Length: {len(self.body)}\r\n\r\n"
        )
        return head.encode() + self.body


def first_examples() -> list[Asked]:
    """Each question with its first example, and a batch of five small ones."""
    asked = [Asked(each.name, orjson.dumps(each.examples[0].body)) for each in QUESTIONS]
    return [*asked, _batch(0)]


def _batch(first: int) -> Asked:
    questions: list[Any] = [
        {"question": "equilibrium", "body": _air(first + place)} for place in range(3)
    ]
    questions += [
        {"question": "movement", "body": dict(BY_NAME["movement"].examples[0].body)},
        {"question": "air", "body": {"temperature": "20C"}},  # refused: no humidity of any kind
    ]
    return Asked("batch", orjson.dumps({"questions": questions}))


def _air(place: int) -> dict[str, Any]:
    return {"temperature": f"{10 + place % 30}C", "relative_humidity": 20 + place % 60}


REFUSED: Final = (
    Asked("settle", b'{"moisture":900}'),  # out of range, and most of the question missing
    Asked("air", b'{"temperature":7}'),  # no unit
    Asked("fixings", b'{"slab":{"species":"elmm"}}'),  # no such name
    Asked("course", b'{"stays":[{"days":-1}]}'),
    Asked("reading", b'{"readings":'),  # no JSON
    Asked("movement", orjson.dumps(BY_NAME["movement"].examples[0].body), "svg"),  # no chart of it
    Asked("batch", b'{"questions":[]}'),
)


def every_kind() -> tuple[list[Asked], list[Asked]]:
    """Light and heavy requests: each example of each question in each form, batches, refused."""
    light: list[Asked] = [*REFUSED]
    heavy: list[Asked] = []
    for question in QUESTIONS:
        for example, form in itertools.product(question.examples, question.forms):
            cheap = question.name in LIGHT and form != "svg"
            kind = light if cheap else heavy
            kind.append(Asked(question.name, orjson.dumps(example.body), form, len(kind) % 3 > 0))
    # Figures of many sorts, so that no two workers answer the same question for long.
    light += [Asked("equilibrium", orjson.dumps(_air(n)), by_query=n % 2 > 0) for n in range(97)]
    light += [_batch(n) for n in range(0, 97, 9)]
    return light, heavy


def mixed() -> Iterator[Asked]:
    """Requests without end: one of every kind first, then light ones with few heavy between."""
    light, heavy = every_kind()
    # A heavy one, then light ones for as long as there are any: the load is mixed from the start.
    for few, one in itertools.zip_longest(_chunks(light, len(heavy)), heavy):
        yield from (each for each in (one, *(few or ())) if each is not None)
    for n in itertools.count():
        if n % SELDOM == 0:
            yield heavy[(n // SELDOM) % len(heavy)]
        else:
            yield light[n % len(light)]


def _chunks(items: list[Asked], parts: int) -> Iterator[list[Asked]]:
    for part in range(parts):
        yield items[part::parts]


@cache
def _client() -> FlaskClient:
    return create_app(Settings(log="off")).test_client()


@cache
def computed(asked: Asked) -> tuple[int, bytes]:
    """Status and body that this process computes, to hold a server's against.

    Always by POST, so that a reply to GET is held against the same.
    """
    path = f"/v1/{asked.name}?format={asked.form}"
    reply = _client().post(path, data=asked.body, content_type="application/json")
    return reply.status_code, reply.data


class Cut(ConnectionError):  # noqa: N818 - what happened to the reply
    """A reply ended before its end; `begun` tells whether a part of it had come."""

    def __init__(self, begun: bool) -> None:
        super().__init__("reply cut off" if begun else "no reply")
        self.begun = begun


class Unavailable(ConnectionError):  # noqa: N818 - what the proxy said
    """The proxy found no instance to answer."""


_LENGTH: Final = re.compile(rb"(?i)\r\ncontent-length: *(\d+)\r\n")
_CLOSE: Final = re.compile(rb"(?i)\r\nconnection: *close\r\n")


class Connection:
    """A kept connection that writes whole requests and reads each reply to its end.

    At some thousand requests a second a client library would itself be what is measured.  A
    connection that the server closed by its own announcement is opened anew, any other end of it
    is the caller's to see.
    """

    def __init__(self, address: str, seconds: float = 120.0) -> None:
        host, port = address.removeprefix("http://").split(":")
        self._to = host, int(port)
        self._seconds = seconds
        self._socket: socket.socket | None = None

    def ask(self, request: bytes) -> tuple[int, bytes]:
        """Status and body of the reply; raises Cut, or OSError as the socket gives it."""
        self.send(request)
        return self.receive()

    def send(self, request: bytes) -> None:
        """Send a request."""
        if self._socket is None:
            self._socket = socket.create_connection(self._to, timeout=self._seconds)
            self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        try:
            self._socket.sendall(request)
        except OSError:
            self.close()
            raise

    def receive(self) -> tuple[int, bytes]:
        """The reply to what was sent."""
        assert self._socket is not None
        try:
            return self._read(self._socket)
        except OSError:
            self.close()
            raise

    def _read(self, connection: socket.socket) -> tuple[int, bytes]:
        got = b""
        while b"\r\n\r\n" not in got:
            got += self._more(connection, begun=bool(got))
        head, _, body = got.partition(b"\r\n\r\n")
        head += b"\r\n"
        length = _LENGTH.search(head)
        if length is None:
            raise RuntimeError(f"a reply without its length: {head!r}")
        parts = [body]
        missing = int(length[1]) - len(body)
        while missing > 0:
            parts.append(self._more(connection, begun=True))
            missing -= len(parts[-1])
        if _CLOSE.search(head):
            self.close()
        return int(head.split(b" ", 2)[1]), b"".join(parts)

    @staticmethod
    def _more(connection: socket.socket, *, begun: bool) -> bytes:
        try:
            part = connection.recv(262_144)
        except ConnectionResetError:
            part = b""
        if not part:
            raise Cut(begun)
        return part

    def close(self) -> None:
        """Close it; the next request opens it anew."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None


def is_busy(status: int, body: bytes) -> bool:
    """Whether the service itself said that a long question could not begin in time."""
    return status == 503 and b"could not begin within" in body


def asked_until_begun(connection: Connection, request: bytes) -> tuple[int, bytes]:
    """Status and body; a caller who is told to come back does, as `/client.py` does."""
    while True:
        status, body = connection.ask(request)
        if not is_busy(status, body):
            return status, body
        time.sleep(1.0)


class Callers:
    """Callers, each in a thread, that ask mixed requests without pause and check every reply.

    address : whom they ask.
    count : how many they are.
    kept : whether each keeps its connection; else every request has one of its own.

    answered, wrong, lost : requests answered as computed, those answered otherwise, and those
    that got no whole reply or were told that no instance answers.
    """

    def __init__(self, address: str, count: int = 6, kept: bool = True) -> None:
        self.count = count
        self.answered = 0
        self.wrong: list[str] = []
        self.lost: list[OSError] = []
        self._address = address
        self._kept = kept
        # From where heavy ones are few; each comes once in some 3,000.
        requests = list(itertools.islice(mixed(), sum(map(len, every_kind())), 10_000))
        for each in requests:
            computed(each)
        self._next = itertools.cycle(requests)
        self._lock = threading.Lock()
        self._over = threading.Event()
        self._threads = [threading.Thread(target=self._ask) for _ in range(count)]

    def __enter__(self) -> Self:
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._over.set()
        for thread in self._threads:
            thread.join()

    def _ask(self) -> None:
        connection = Connection(self._address)
        while not self._over.is_set():
            with self._lock:
                asked = next(self._next)
            try:
                status, body = asked_until_begun(connection, asked.written())
            except OSError as error:
                self.lost.append(error)
                continue
            if (status, body) == computed(asked):
                with self._lock:
                    self.answered += 1
            elif status == 503:
                self.lost.append(Unavailable(body))
            else:
                self.wrong.append(f"{asked.name} in {asked.form}: {status} {body[:300]!r}")
            if not self._kept:
                connection.close()
        connection.close()

    def wait_for(self, more: int, seconds: float = 180.0) -> None:
        """Wait until so many more have been answered; raises AssertionError if they are not."""
        wanted = self.answered + more
        deadline = time.monotonic() + seconds
        while self.answered < wanted:
            assert time.monotonic() < deadline, f"{wanted - self.answered} of {more} not answered"
            time.sleep(0.02)
