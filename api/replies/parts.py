"""Parts of an answer that several questions share."""

from __future__ import annotations

from typing import Any, ClassVar

from api.replies.members import Answer, Figure, Text, Texts, Word
from api.units import LENGTH


class CupFigure(Answer):
    """A cup: how deep the hollow is, and which way.

    Read from a `Cupped` or from what has one.
    """

    SHAPES: ClassVar = ("edges up", "edges down", "flat")

    amount = Figure(
        LENGTH,
        "depth of the hollow, free to move; a low end below zero is a cup the other way",
        of="cupped.amount",
    )
    shape = Word(SHAPES, of="cupped.shape")


def _attribution(result: Any) -> Any:
    return result.room.attribution or None


class InRoom(Answer):
    """What the answer of a question with one room ends with; read from a result with a `room`."""

    climate = Text("the place that was used", of="room.place", left_out="without a place")
    attribution = Texts(
        "credit that must stay with the figures", of=_attribution, left_out="where none is due"
    )
