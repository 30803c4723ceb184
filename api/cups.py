"""A cup as a reply tells it: how deep it is, and in words which way it lies over the width."""

from __future__ import annotations

from typing import Any

from api.shapes import cup_members
from model import shape
from model.spread import Figure


def cup_over(signed: Figure, width: float) -> dict[str, Any]:
    """Members of a signed cup [m] over a width [m]; `flat` where a straight-edge shows none."""
    return {**cup_members(signed), "shape": shape.words(signed.value, width)}
