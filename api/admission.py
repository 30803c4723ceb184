"""Who may compute when: long work takes turns, so that nothing else waits behind it.

A process computes few long questions at a time (`limits.LONG_AT_ONCE`); the others wait in a line
of bounded length for a bounded time and are refused after that, with the time to come back.  Turns
go round among the callers.  Light questions, health and documents never ask for a turn.
"""

from __future__ import annotations

import socket
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Mapping
from contextvars import ContextVar
from types import TracebackType
from typing import Any, Final, Self

from api import limits
from api.problems import Refused
from model import effort

# Seconds between two looks of one who waits at whether its caller is still there.
_LOOK: Final = 0.25
# Callers of whom is remembered when they last had a turn; of a longer gone one nobody minds.
_REMEMBERED: Final = 256


class Arrival:
    """When a request came, and whether all of it has been read.

    at : monotonic seconds at which its first bytes were there to be read.
    begun : the same when a thread began to read it; waiting for one is no fault of the caller's.
    read : whether nothing more of it is waited for.
    late : whether it was cut off because the rest did not come in time.
    """

    __slots__ = ("at", "begun", "late", "read")

    def __init__(self) -> None:
        self.at = self.begun = time.monotonic()
        self.read = False
        self.late = False


# Name under which an application holds the function that tells who asks (`Flask.extensions`).
CALLER: Final = "stillwood.caller"
# Set by the server's thread for the request that it handles (`api.worker`).
ARRIVAL: ContextVar[Arrival | None] = ContextVar("arrival", default=None)


class Full(Exception):  # noqa: N818 - read as what happened
    """No more can wait at a gate."""


class TooLate(Exception):  # noqa: N818 - read as what happened
    """A wait at a gate went on for too long."""


class Gone(Exception):  # noqa: N818 - read as what happened
    """Nobody waits for the answer any more."""


class _Waiting:
    """One who waits at a gate: a lock that is released to let it in."""

    __slots__ = ("call", "let_in")

    def __init__(self) -> None:
        self.call = threading.Lock()
        self.call.acquire()
        self.let_in = False


class Gate:
    """A few may be inside at a time, the others wait, and callers take turns.

    Of those who wait the next is one of the caller who has been let in longest ago, so that many
    questions of one caller make another wait for one of them and not for all.

    Parameters
    ----------
    inside : how many at a time.
    places : how many may wait.
    of_one : how many of one caller may wait.
    """

    def __init__(self, inside: int, places: int, of_one: int) -> None:
        self._free = inside
        self._places = places
        self._of_one = of_one
        self._lock = threading.Lock()
        self._lines: dict[str, deque[_Waiting]] = {}
        self._count = 0
        self._last: OrderedDict[str, int] = OrderedDict()
        self._turns = 0

    @property
    def waiting(self) -> int:
        """How many wait."""
        return self._count

    def enter(
        self, caller: str, until: float, gone: Callable[[], bool], *, pushing: bool = False
    ) -> None:
        """Go in, or wait for it.

        Parameters
        ----------
        caller : who asks.
        until : monotonic seconds after which it is too late.
        gone : whether nobody waits for the answer any more; looked at before and while waiting.
        pushing : wait however many do; for who was inside and let others pass.

        Raises
        ------
        Full, TooLate, Gone
        """
        if gone():
            raise Gone
        with self._lock:
            if self._free:
                self._free -= 1
                self._served(caller)
                return
            line = self._lines.get(caller, ())
            if not pushing and (self._count >= self._places or len(line) >= self._of_one):
                raise Full
            mine = _Waiting()
            self._lines.setdefault(caller, deque()).append(mine)
            self._count += 1
        # `acquire` waits for no longer than until the next look.
        while not mine.call.acquire(timeout=max(0.0, min(_LOOK, until - time.monotonic()))):
            lost = Gone if gone() else TooLate if time.monotonic() >= until else None
            if lost is not None and self._gives_up(caller, mine):
                raise lost

    def _gives_up(self, caller: str, one: _Waiting) -> bool:
        """Leave the line; False when it has been let in meanwhile."""
        with self._lock:
            if one.let_in:
                return False
            self._take_out(caller, one)
            return True

    def leave(self) -> None:
        """Go out; the next who waits goes in."""
        with self._lock:
            if not self._lines:
                self._free += 1
                return
            caller = min(self._lines, key=lambda each: self._last.get(each, 0))
            following = self._lines[caller][0]
            self._take_out(caller, following)
            self._served(caller)
            following.let_in = True
            following.call.release()

    def _take_out(self, caller: str, one: _Waiting) -> None:
        line = self._lines[caller]
        line.remove(one)
        if not line:
            del self._lines[caller]
        self._count -= 1

    def _served(self, caller: str) -> None:
        self._turns += 1
        self._last[caller] = self._turns
        self._last.move_to_end(caller)
        if len(self._last) > _REMEMBERED:
            self._last.popitem(last=False)


# Of this process: for those who compute long, and for bodies that are large in memory.
_LONG: Final = Gate(limits.LONG_AT_ONCE, limits.LONG_WAITING, limits.LONG_WAITING_OF_ONE)
_LARGE: Final = Gate(limits.LARGE_AT_ONCE, limits.LONG_WAITING, limits.LONG_WAITING_OF_ONE)


class Place:
    """The place of one request among the others; nothing is held until it asks.

    Parameters
    ----------
    environ : of the request (WSGI).
    caller : tells who asks, by token or address; called when it first matters.
    """

    __slots__ = ("_by", "_caller", "_held", "_socket", "_turn_since", "arrived")

    def __init__(self, environ: Mapping[str, Any], caller: Callable[[], str]) -> None:
        arrival = ARRIVAL.get()
        if arrival is None:
            self.arrived = time.monotonic()
        else:
            self.arrived = arrival.at
            arrival.read = environ["REQUEST_METHOD"] != "POST"
        self._socket: socket.socket | None = environ.get("gunicorn.socket")
        self._caller = caller
        self._by: str | None = None
        self._held: list[Gate] = []
        self._turn_since = 0.0

    def __enter__(self) -> Self:
        _PLACE.set(self)
        effort.allow_searches(limits.NEAR_NAMES)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        _PLACE.set(None)
        effort.allow_searches(None)
        for gate in self._held:
            gate.leave()
        self._held.clear()

    def seconds(self) -> float:
        """Seconds since it came."""
        return time.monotonic() - self.arrived

    def take_turn(self) -> None:
        """Wait until it may compute; raises Refused where that takes too long."""
        self._enter(_LONG)
        self._turn_since = time.monotonic()

    def take_room(self) -> None:
        """Wait until a large body may be read; raises Refused where that takes too long."""
        # Who sends a body and closes that side is not gone before it has been read.
        self._enter(_LARGE, gone=lambda: False)

    def let_others(self) -> None:
        """Between two questions of a batch: let one who waits have a turn, if it is time."""
        if _LONG not in self._held or not _LONG.waiting:
            return
        if time.monotonic() - self._turn_since < limits.SLICE_SECONDS:
            return
        self._held.remove(_LONG)
        _LONG.leave()
        self._enter(_LONG, pushing=True)
        self._turn_since = time.monotonic()

    def _enter(
        self, gate: Gate, *, pushing: bool = False, gone: Callable[[], bool] | None = None
    ) -> None:
        if gate in self._held:
            return
        if self._by is None:
            self._by = self._caller()
        now = time.monotonic()
        until = self.arrived + limits.ANSWERED_SECONDS if pushing else now + limits.WAIT_SECONDS
        try:
            gate.enter(self._by, until, gone or self.gone, pushing=pushing)
        except (Full, TooLate):
            raise _busy(
                "Other long questions are being answered, and this one could not begin within "
                f"{limits.WAIT_SECONDS:g} seconds."
            ) from None
        except Gone:
            raise hung_up() from None
        self._held.append(gate)

    def gone(self) -> bool:
        """Whether the caller has closed the connection, as far as this side can know."""
        if self._socket is None:
            return False
        try:
            return self._socket.recv(1, socket.MSG_PEEK | socket.MSG_DONTWAIT) == b""
        except BlockingIOError:
            return False
        except OSError:
            return True

    def watch(self) -> None:
        """Raise Refused where computing on is of no use: nobody waits, or it took too long."""
        if self.gone():
            raise hung_up()
        if self.seconds() > limits.ANSWERED_SECONDS:
            raise _busy(
                f"The service is busy, and {limits.ANSWERED_SECONDS:g} seconds after this request "
                "came its answer was not done."
            )


_PLACE: ContextVar[Place | None] = ContextVar("place", default=None)


def here() -> Place | None:
    """The place of the request that is being answered; None outside one."""
    return _PLACE.get()


def _busy(why: str) -> Refused:
    wait = f"{limits.RETRY_SECONDS:d}"
    return Refused(
        "unavailable", f"{why} Ask again in {wait} seconds.", headers={"Retry-After": wait}
    )


def hung_up() -> Refused:
    """Nobody reads it; it ends the work and stands in the log."""
    return _busy("The caller has closed the connection.")
