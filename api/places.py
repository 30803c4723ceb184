"""The climates on offer: the listed stations, and an operator's weather files read at start."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import blake2b

from api.sharing import canonical
from model.surroundings import climate

_offered: list[climate.Climates] = []
_stamp: list[str] = []


def climates() -> climate.Climates:
    """Every climate on offer."""
    return _offered[-1] if _offered else climate.listed()


def offer(stations: Iterable[climate.Station]) -> None:
    """Offer these stations beside the listed ones, instead of any offered before."""
    extra = tuple(stations)
    _offered.clear()
    _stamp.clear()
    if extra:
        _offered.append(climate.listed().including(extra))
        _stamp.append(blake2b(canonical(extra), digest_size=8).hexdigest())


def stamp() -> str:
    """The same text for the same stations on offer; it goes into the ETag of a reply."""
    return _stamp[-1] if _stamp else "listed"
