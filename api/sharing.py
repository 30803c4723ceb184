"""What the questions of one batch share: work with the same inputs is done once."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, Final, TypeVar

import orjson

from api.schema import Told

_CANONICAL: Final = orjson.OPT_SORT_KEYS | orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_NON_STR_KEYS
# Works kept at a time, the latest used: the years of one slab take 4 MB, and 400 different ones in
# one batch took 300 MB (measured).
HELD: Final = 8
_shared: ContextVar[dict[Any, Any] | None] = ContextVar("shared", default=None)
Made = TypeVar("Made")


def canonical(understood: Any) -> bytes:
    """The same bytes for the same question as understood, in every process.

    The names of woods and places have become their rows by then, so a row that changes changes
    the bytes; figures are written in full, so no two questions that differ share theirs.

    >>> canonical({"b": 1.5, "a": [2]})
    b'{"a":[2],"b":1.5}'
    """
    return orjson.dumps(understood, default=_pickled, option=_CANONICAL)


def _pickled(value: Any) -> Any:
    """A kind of value that JSON has no word for; pickling never makes two of them alike."""
    if isinstance(value, Told):
        return value.values
    return pickle.dumps(value, protocol=5).hex()


@contextmanager
def sharing() -> Iterator[None]:
    """Within it, `once` remembers what it made."""
    token = _shared.set({})
    try:
        yield
    finally:
        _shared.reset(token)


def once(kind: str, inputs: Any, make: Callable[[], Made]) -> Made:
    """What `make` makes of the inputs; within a batch, equal inputs are made once.

    Of more than `HELD` different works the one not used for longest is forgotten.  Only for makers
    without side effects whose result nobody changes.
    """
    held = _shared.get()
    if held is None:
        return make()
    key = kind, canonical(inputs)
    made: Made = held.pop(key) if key in held else make()
    held[key] = made
    if len(held) > HELD:
        del held[next(iter(held))]
    return made
