"""What an operator sees: a log line and counters for every request, and the id they share."""

from __future__ import annotations

import fcntl
import itertools
import json
import logging
import os
import platform
import random
import re
import time
from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote

import numpy
import orjson
import scipy
from flask import Blueprint, Flask, Response, has_request_context, request
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    REGISTRY,
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    generate_latest,
    multiprocess,
    values,
)

from api.settings import Settings
from model import MODEL_VERSION

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIEnvironment

# Of every reply. Charts style themselves inside; a page that needs more says so in its own reply.
HEADERS: Final = (
    ("X-Content-Type-Options", "nosniff"),
    (
        "Content-Security-Policy",
        "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'",
    ),
    ("Referrer-Policy", "no-referrer"),
    ("X-Frame-Options", "DENY"),
)
# An id that a caller may choose: enough for UUIDs and their like, nothing that harms a log.
_ID: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:-]{0,63}")
# W3C Trace Context, version 00.
_TRACE: Final = re.compile(r"00-(?!0{32})[0-9a-f]{32}-(?!0{16})[0-9a-f]{16}-[0-9a-f]{2}")
# Where the WSGI environment of a request holds its id.
REQUEST_ID: Final = "stillwood.request_id"
_RUNNING: Final = (
    MODEL_VERSION,
    platform.python_version(),
    numpy.__version__,
    scipy.__version__,
)
_METHODS: Final = frozenset({"GET", "HEAD", "POST", "OPTIONS", "PUT", "PATCH", "DELETE"})

_STANDARD_ERROR: Final = 2
_LINE: Final = orjson.OPT_APPEND_NEWLINE | orjson.OPT_UTC_Z
# Characters of a caller's path that a log line holds.  (judgement)
_PATH_LENGTH: Final = 300


class _Place:
    """The place of a process among those that share one folder of counters: 0, 1, 2 ...

    A process takes the first free place and its lock; the system frees the lock however the
    process ends.  The next one goes on with the files of that place, so that workers replaced day
    after day leave no trail of files (192 KiB a worker, in memory) and no count is lost.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = -1
        self.number = 0
        self._take()
        os.register_at_fork(after_in_child=self._take)

    def _take(self) -> None:
        held = self._lock
        for number in itertools.count():
            lock = os.open(self._folder / f"{number}.lock", os.O_RDWR | os.O_CREAT, 0o600)
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                os.close(lock)
                continue
            self._lock, self.number = lock, number
            break
        if held >= 0:  # the parent's, which stays the parent's
            os.close(held)


_COUNTERS: Final = "PROMETHEUS_MULTIPROC_DIR"
if _COUNTERS in os.environ:
    _place = _Place(Path(os.environ[_COUNTERS]))
    values.ValueClass = values.MultiProcessValue(lambda: _place.number)

# A label is a route as it is written in the code, never what a caller wrote.
_REQUESTS: Final = Counter(
    "stillwood_http_requests", "Requests answered.", ["method", "route", "status"]
)
# From an equilibrium at 0.2 ms to a whole batch at 30 s.
_SECONDS: Final = Histogram(
    "stillwood_http_request_seconds",
    "Time from the first look at a request to its reply.",
    ["route"],
    buckets=(0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0),
)
_ITEMS: Final = Counter(
    "stillwood_batch_items", "Questions of batches answered.", ["question", "status"]
)
_counters: dict[tuple[str, str, int], tuple[Counter, Histogram]] = {}
_BUILD: Final = Gauge(
    "stillwood_build_info",
    "1; what is running stands in the labels.",
    ["model", "python", "numpy", "scipy"],
    multiprocess_mode="max",
)


def install(app: Flask, chosen: Settings) -> None:
    """Log and count every request, and give every reply its id and the headers that all have.

    Around the application and not inside: what stands there is asked and told in plain lists, which
    costs a fifth of the same by request and reply objects.
    """
    _write_failures()
    logged = chosen.log == "json"
    inner = app.wsgi_app

    def observed(environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        begun = time.perf_counter()
        given = environ.get("HTTP_X_REQUEST_ID")
        if given is None or not _ID.fullmatch(given):
            # Not a secret; the module seeds itself anew in every worker.
            given = f"{random.getrandbits(128):032x}"
        environ[REQUEST_ID] = given

        def start(status: str, headers: list[tuple[str, str]], *failure: Any) -> Any:
            seconds = time.perf_counter() - begun
            told = dict(headers)
            headers.extend(pair for pair in HEADERS if pair[0] not in told)
            headers.append(("X-Request-ID", given))
            trace = environ.get("HTTP_TRACEPARENT")
            if trace is not None and _TRACE.fullmatch(trace):
                headers.append(("traceparent", trace))
            else:
                trace = None
            # Flask leaves its request there, with the route it found.
            asked = environ.get("werkzeug.request")
            rule = None if asked is None else asked.url_rule
            route = "none" if rule is None else rule.rule
            method, code = environ["REQUEST_METHOD"], int(status[:3])
            _count(method, route, code, seconds)
            if logged:
                entry: dict[str, Any] = {
                    "request_id": given,
                    "method": method,
                    # Without the query, which is the caller's business.
                    "path": _plain(environ.get("PATH_INFO")),
                    "route": route,
                    "status": code,
                    "milliseconds": round(1e3 * seconds, 3),
                    "bytes": int(told["Content-Length"]) if "Content-Length" in told else None,
                    "client": _plain(environ.get("REMOTE_ADDR")),
                }
                if trace is not None:
                    entry["traceparent"] = trace
                _log_request(entry)
            return start_response(status, headers, *failure)

        return inner(environ, start)

    app.wsgi_app = observed  # type: ignore[method-assign]

    pages = Blueprint("observing", __name__)

    @pages.get("/metrics")
    def metrics() -> Response:
        _BUILD.labels(*_RUNNING).set(1)
        return Response(generate_latest(_registry()), content_type=CONTENT_TYPE_LATEST)

    app.register_blueprint(pages)


def _registry() -> CollectorRegistry:
    """The counters of all workers; of this process alone where no folder of theirs is set."""
    if _COUNTERS not in os.environ:
        return REGISTRY
    registry = CollectorRegistry()
    multiprocess.MultiProcessCollector(registry)
    return registry


def _count(method: str, route: str, status: int, seconds: float) -> None:
    key = method if method in _METHODS else "other", route, status
    counters = _counters.get(key)
    if counters is None:
        # Looking one up by its labels takes four times as long as counting.
        counters = _counters[key] = _REQUESTS.labels(*key), _SECONDS.labels(route)
    requests, durations = counters
    requests.inc()
    durations.observe(seconds)


def count_item(question: str, status: int) -> None:
    """Count one question of a batch; `question` is a name of the service's own, or `none`."""
    _ITEMS.labels(question, status).inc()


def _plain(text: str | None) -> str | None:
    r"""What a caller wrote, percent-encoded and cut: nothing in it acts on a log or a terminal.

    >>> _plain("/v1/air"), _plain("/a\n\x9b31m")
    ('/v1/air', '/a%0A%9B31m')
    """
    if text is None:
        return None
    # WSGI tells bytes as the characters of latin-1.
    return quote(text[:_PATH_LENGTH].encode("latin-1", "replace"), safe="/:@!$&'()*+,;=~")


def _log_request(entry: dict[str, Any]) -> None:
    """Write a line, at once and as one write, so that the lines of workers never mix."""
    entry |= {"event": "request", "level": "info", "timestamp": datetime.now(UTC)}
    with suppress(OSError):  # a log that nobody takes any more stops no answer
        os.write(_STANDARD_ERROR, orjson.dumps(entry, option=_LINE))


class _Failures(logging.Formatter):
    """A record of the service's own logger as a line of JSON, with the request it fell in."""

    def format(self, record: logging.LogRecord) -> str:
        told: dict[str, Any] = {
            "event": record.getMessage(),
            "level": record.levelname.lower(),
            "timestamp": datetime.fromtimestamp(record.created, UTC).isoformat(),
        }
        if has_request_context():
            told["request_id"] = request.environ.get(REQUEST_ID)
        if record.exc_info:
            told["exception"] = self.formatException(record.exc_info)
        # ASCII alone: an exception may repeat what a caller wrote.
        return json.dumps(told)


def _write_failures() -> None:
    log = logging.getLogger("stillwood")
    if not log.handlers:
        handler = logging.StreamHandler()
        handler.setFormatter(_Failures())
        log.addHandler(handler)
