"""The worker process of the service: gunicorn's threads, kept from being held.

A thread is taken when the first bytes of a request are there, and not for a connection alone; it
waits for the rest of a request for a bounded time, and for a slow reader too.  Health has a thread
of its own.  deploy/gunicorn.conf.py names this class.
"""

from __future__ import annotations

import errno
import re
import selectors
import socket
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import partial
from typing import Any, Final

from gunicorn.workers.gthread import TConn, ThreadWorker

from api import limits
from api.admission import ARRIVAL, Arrival

# Seconds for the first bytes on a new connection, which holds no thread until then.
FIRST_BYTES_SECONDS: Final = 5.0
# Seconds of a thread after which a request whose reply nobody reads is given up: most of the
# reply lies in the system's own buffers by then.  (judgement)
OVER_SECONDS: Final = limits.ANSWERED_SECONDS + 15.0
# All of a request for health: nothing of it is waited for, so it cannot hold its thread.
_HEALTH: Final = re.compile(
    rb"(?:GET|HEAD) /(?:livez|readyz) HTTP/1\.[01]\r\n(?:(?!content-length|transfer-encoding)"
    rb"[^\r\n]+\r\n)*\r\n",
    re.IGNORECASE,
)
_HEALTH_BYTES: Final = 4096


class Connection(TConn):  # type: ignore[misc]
    """A connection, with when its present request came; it can be closed more than once."""

    def __init__(self, *about: Any) -> None:
        super().__init__(*about)
        self.arrival = Arrival()
        self.data_ready = True  # it is handed to a thread when there is something to read
        self._closed = False

    def close(self, graceful: bool = False) -> None:
        """Close it; gracefully it waits for the other side for up to 2 s."""
        if not self._closed:
            self._closed = True
            super().close(graceful)

    def is_for_health(self) -> bool:
        """Whether what is there to read is a whole request for health and nothing else."""
        try:
            first = self.sock.recv(_HEALTH_BYTES, socket.MSG_PEEK | socket.MSG_DONTWAIT)
        except OSError:
            return False
        return _HEALTH.fullmatch(first) is not None

    def cut(self, now: float) -> None:
        """End what is waited for too long: the rest of a request, or the reading of its reply."""
        arrival = self.arrival
        with suppress(OSError):
            if now - arrival.begun > OVER_SECONDS:
                self.sock.shutdown(socket.SHUT_RDWR)
            elif not arrival.read and now - arrival.begun > limits.ARRIVE_SECONDS:
                arrival.late = True
                self.sock.shutdown(socket.SHUT_RD)


class Worker(ThreadWorker):  # type: ignore[misc]
    """gunicorn's threaded worker; see the head of this file."""

    def __init__(self, *about: Any) -> None:
        super().__init__(*about)
        self._handled: set[Connection] = set()
        # It starts its thread with the first request, so in the process itself.
        self._for_health = ThreadPoolExecutor(max_workers=1)

    def accept(self, listener: socket.socket) -> None:
        """Take a connection, and wait in the loop for its first bytes."""
        try:
            accepted, client = listener.accept()
        except OSError as error:
            if error.errno in (errno.EAGAIN, errno.ECONNABORTED, errno.EWOULDBLOCK):
                return
            raise
        self.nr_conns += 1
        connection = Connection(self.cfg, accepted, client, listener.getsockname())
        connection.timeout = time.monotonic() + FIRST_BYTES_SECONDS
        self.pending_conns.append(connection)
        self.poller.register(
            accepted, selectors.EVENT_READ, partial(self.on_pending_socket_readable, connection)
        )

    def enqueue_req(self, connection: Connection) -> None:
        """Give a connection that can be read to a thread."""
        connection.arrival = Arrival()
        pool = self._for_health if connection.is_for_health() else self.tpool
        done = pool.submit(self.handle, connection)
        done.add_done_callback(
            lambda future: self.method_queue.defer(self.finish_request, connection, future)
        )

    def handle(self, connection: Connection) -> Any:
        """Answer a request, in a thread."""
        connection.arrival.begun = time.monotonic()
        ARRIVAL.set(connection.arrival)
        self._handled.add(connection)
        try:
            kept = super().handle(connection)
            if not kept:
                # Here and not in the loop, which would wait for this one caller.
                with suppress(OSError):
                    connection.close(graceful=True)
            return kept
        finally:
            self._handled.discard(connection)
            ARRIVAL.set(None)

    def murder_pending(self) -> None:
        """Close connections on which nothing came; called by the loop at least once a second."""
        super().murder_pending()
        now = time.monotonic()
        for connection in list(self._handled):
            connection.cut(now)
