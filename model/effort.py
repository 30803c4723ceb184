"""How much computing one question may take: limits that the caller sets and the solver heeds."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

# Seconds between two looks at the clock of processor time, which takes ten times as long as the
# other, and between two calls of the watch.
_LOOK: Final = 0.01
_WATCH: Final = 0.1


class _Effort:
    """A limit: when it is reached, on the clock of this thread's processor time, and its watch."""

    __slots__ = ("end", "look", "seconds", "watch", "watched")

    def __init__(self, end: float, seconds: float, watch: Callable[[], None] | None) -> None:
        self.end = end
        self.seconds = seconds
        self.watch = watch
        self.look = -math.inf
        self.watched = -math.inf


_effort: ContextVar[_Effort | None] = ContextVar("effort", default=None)


class TooBig(RuntimeError):  # noqa: N818 - read as what happened
    """A question needs more work than an answer may take."""


@contextmanager
def within(seconds: float, watch: Callable[[], None] | None = None) -> Iterator[None]:
    """Let this thread compute for so long; `check` raises after that.

    Processor time, so that a busy machine refuses nothing that an idle one answers.

    Parameters
    ----------
    seconds : float
        Of this thread's processor time [s].  An outer limit that ends sooner stays in force.
    watch : callable or None
        Called by `check` some ten times a second; raises what it likes to stop the computing, for
        example where nobody waits for the answer any more.  An outer one stays in force.

    Examples
    --------
    >>> with within(0.0):
    ...     check()
    Traceback (most recent call last):
    ...
    model.effort.TooBig: it takes more than 0 seconds of computing
    """
    outer = _effort.get()
    end = time.thread_time() + seconds
    if outer is not None:
        end, seconds = min((end, seconds), (outer.end, outer.seconds))
        watch = watch or outer.watch
    token = _effort.set(_Effort(end, seconds, watch))
    try:
        yield
    finally:
        _effort.reset(token)


def check() -> None:
    """Called once a step of a long computation.

    Raises
    ------
    TooBig
        When the time set by `within` is used up.
    """
    effort = _effort.get()
    if effort is None:
        return
    now = time.monotonic()
    if now < effort.look:
        return
    effort.look = now + _LOOK
    if time.thread_time() > effort.end:
        raise TooBig(f"it takes more than {effort.seconds:g} seconds of computing")
    if effort.watch is not None and now >= effort.watched:
        effort.watched = now + _WATCH
        effort.watch()


# How many searches for near names are left, where they are counted at all.
_searches: ContextVar[list[int] | None] = ContextVar("searches", default=None)


def allow_searches(count: int | None) -> None:
    """Let this thread search so many times for what a wrong name may have meant; None: always.

    Each search compares a name with all that are known, which takes 2 to 60 ms.
    """
    _searches.set(None if count is None else [count])


def may_search() -> bool:
    """Whether one more such search is allowed; it is counted.

    Examples
    --------
    >>> allow_searches(1)
    >>> may_search(), may_search()
    (True, False)
    >>> allow_searches(None)
    """
    left = _searches.get()
    if left is None:
        return True
    left[0] -= 1
    return left[0] >= 0
