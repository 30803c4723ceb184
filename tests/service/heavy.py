"""Requests that cost a service most, for the tests that try to starve one."""

from __future__ import annotations

from typing import Any, Final

import orjson

from tests.service.traffic import Asked

# The most that a course may have: green wood through fifty stays of seven weeks, with its spread.
_STAYS: Final = 50


def course(number: int = 0, stays: int = _STAYS) -> Asked:
    """A course of some 6 kB that takes seconds to compute; no two of them alike."""
    body: dict[str, Any] = {
        "units": "metric",
        "slab": {
            "species": "white oak",
            "width": 600 + number,
            "thickness": 40,
            "grain": "flat",
            "bark_side": "top",
        },
        "moisture": 60,
        "starts": "2026-01-01",
        "stays": [
            {
                "name": f"stay {place}",
                "days": 50,
                "room": {"temperature": 15 + place % 10, "relative_humidity": 30 + place % 40},
                "faces": {"top": "bare", "bottom": "oiled" if place % 2 else "bare"},
            }
            for place in range(stays)
        ],
    }
    return Asked("course", orjson.dumps(body))
