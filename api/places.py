"""The climates on offer: the listed stations, and an operator's weather files read at start."""

from __future__ import annotations

from collections.abc import Iterable

from model import climate

_offered: list[climate.Climates] = []


def climates() -> climate.Climates:
    """Every climate on offer."""
    return _offered[-1] if _offered else climate.listed()


def offer(stations: Iterable[climate.Station]) -> None:
    """Offer these stations beside the listed ones, instead of any offered before."""
    extra = tuple(stations)
    _offered.clear()
    if extra:
        _offered.append(climate.listed().including(extra))
