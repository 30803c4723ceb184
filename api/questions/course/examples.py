"""True examples of `/v1/course`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "The library table: dressed in the shop, then its first year in the reading room",
        {
            "slab": {
                "species": "American elm",
                "width": "34in",
                "thickness": "2 1/4 in",
                "length": "96in",
                "grain": "flat",
                "bark_side": "top",
            },
            "moisture": 12.5,
            "starts": "2026-08-25",
            "stays": [
                {
                    "name": "shop, stickered",
                    "room": {"temperature": "68F", "relative_humidity": 45},
                    "days": 31,
                    "dress": {"top": "1/8in", "bottom": "1/8in"},
                },
                {
                    "name": "reading room",
                    "room": {
                        "climate": "Duluth, MN",
                        "heat_to": "70F",
                        "cool_to": "76F",
                        "occupied": "normally",
                    },
                    "days": 365,
                    "faces": {"top": "oiled", "bottom": "bare"},
                },
            ],
            "profiles": [31, 120],
        },
    ),
    Example(
        "Left lying on the bench, fresh face up, then clamped flat",
        {
            "units": "metric",
            "spread": "none",
            "slab": {
                "species": "northern red oak",
                "width": 600,
                "thickness": 60,
                "length": 2400,
                "ring_angle": 0,
            },
            "moisture": {"shell": 7.5, "core": 12},
            "stays": [
                {
                    "name": "on the bench",
                    "room": {"temperature": 20, "relative_humidity": 38},
                    "days": 7,
                    "faces": {"top": "bare", "bottom": "closed"},
                    "dress": {"top": 8, "flat": True},
                },
                {
                    "name": "clamped",
                    "days": 30,
                    "faces": {"top": "bare", "bottom": "bare"},
                    "held": "flat",
                },
                {"name": "let go", "days": 7},
            ],
        },
    ),
)
