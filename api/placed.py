"""The places that a question's rooms stand in: told first in every reply, with the credit due."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, Final

from api.replies import members
from api.replies.members import Answer
from api.replies.text import Where
from model.surroundings.room import Room

_DEEPEST: Final = 4  # objects in one another; a stay's room lies three deep


@dataclass(frozen=True, slots=True)
class Place:
    """A place that was used, in words with its stations; its id, and the credit due."""

    name: str
    id: str | None
    attribution: tuple[str, ...]


class PlaceAnswer(Answer):
    """A place that was used."""

    name = members.Text("the place, and the stations that speak for it")
    id = members.Text("of the town or station", null="for coordinates and given months")
    attribution = members.Texts("credit that must stay with the figures")


def places_of(asked: Any) -> tuple[Place, ...]:
    """Every place in a question as understood, in its order, each once."""
    outdoors = (room.outdoor for room in _rooms(asked, _DEEPEST))
    return tuple(
        dict.fromkeys(
            Place(one.name, one.id or None, one.attribution) for one in outdoors if one is not None
        )
    )


def _rooms(value: Any, deep: int) -> Iterator[Room]:
    if isinstance(value, Room):
        yield value
    elif isinstance(value, tuple | list):
        for one in value:
            if not (isinstance(one, Room | tuple) or is_dataclass(one)):
                break  # a list of figures
            yield from _rooms(one, deep - 1)
    elif deep and is_dataclass(value):
        for field in fields(value):
            yield from _rooms(getattr(value, field.name), deep - 1)


def told(places: tuple[Place, ...]) -> Where:
    """The places as a text tells them."""
    due = dict.fromkeys(text for place in places for text in place.attribution)
    return Where([place.name for place in places], list(due))
