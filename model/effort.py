"""How much computing one question may take: a limit that the caller sets and the solver heeds."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final

_NO_LIMIT: Final = (math.inf, math.inf)
# When the limit is reached, on the clock of this thread's processor time, and the limit [s].
_limit: ContextVar[tuple[float, float]] = ContextVar("limit", default=_NO_LIMIT)


class TooBig(RuntimeError):  # noqa: N818 - read as what happened
    """A question needs more work than an answer may take."""


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Let this thread compute for so long; `check` raises after that.

    Processor time, so that a busy machine refuses nothing that an idle one answers.

    Parameters
    ----------
    seconds : float
        Of this thread's processor time [s].  An outer limit that ends sooner stays in force.

    Examples
    --------
    >>> with within(0.0):
    ...     check()
    Traceback (most recent call last):
    ...
    model.effort.TooBig: it takes more than 0 seconds of computing
    """
    end = time.thread_time() + seconds
    token = _limit.set(min(_limit.get(), (end, seconds)))
    try:
        yield
    finally:
        _limit.reset(token)


def check() -> None:
    """Called once a step of a long computation.

    Raises
    ------
    TooBig
        When the time set by `within` is used up.
    """
    end, seconds = _limit.get()
    if time.thread_time() > end:
        raise TooBig(f"it takes more than {seconds:g} seconds of computing")
