"""True examples of `/v1/conditioning`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "The library table in a heated shop in Duluth, down to 7 %",
        {
            "slab": {
                "species": "American elm",
                "width": "34in",
                "thickness": "2in",
                "length": "96in",
            },
            "moisture": 12.5,
            "target": 7,
            "room": {"climate": "Duluth, MN", "kind": "heated_shop", "heat_to": "65F"},
            "starts": "2026-09-25",
            "volume": "6000ft3",
            "air_changes": 0.5,
        },
    ),
    Example(
        "A ton of oak boards in a damp place",
        {
            "wood": {"species": "white oak", "weight": "1000kg", "thickness": "27mm"},
            "moisture": 14,
            "target": 9,
            "room": {
                "latitude": 53.3,
                "longitude": -6.3,
                "kind": "heated_shop",
                "heat_to": "16C",
            },
            "starts": "2026-06-01",
        },
    ),
)
