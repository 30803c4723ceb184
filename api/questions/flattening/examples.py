"""True examples of `/v1/flattening`."""

from __future__ import annotations

from typing import Any, Final

from api.question import Example

_TABLE: Final[dict[str, Any]] = {
    "species": "American elm",
    "width": "34in",
    "thickness": "2in",
    "length": "96in",
    "grain": "flat",
    "bark_side": "top",
}

EXAMPLES: Final = (
    Example(
        "The library table came out of the shop 3/8 in hollow on top: what to do",
        {
            "slab": _TABLE,
            "cup": {"amount": "3/8in", "shape": "edges up"},
            "moisture": 8,
            "faces": {"top": "oiled", "bottom": "oiled"},
            "room": {"climate": "Duluth, MN", "heat_to": "70F", "cool_to": "76F"},
            "starts": "2026-09-25",
            "bars": {
                "section": "channel",
                "width": "2in",
                "height": "1in",
                "wall": "1/8in",
                "count": 5,
            },
        },
    ),
    Example(
        "A plan of one's own for an oak top, without spread",
        {
            "units": "metric",
            "spread": "none",
            "slab": {"species": "white oak", "width": 600, "thickness": 40, "length": 1500},
            "cup": {"amount": 6, "shape": "edges down"},
            "moisture": 8,
            "room": {"temperature": 20, "relative_humidity": 45},
            "plan": {"wet_face": "round", "hours": 24, "temperature": 30, "over_correct": 1.2},
        },
    ),
)
