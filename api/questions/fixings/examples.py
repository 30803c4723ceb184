"""True examples of `/v1/fixings`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "Threaded inserts under the library table, fitted in late September",
        {
            "slab": {
                "species": "American elm",
                "width": "34in",
                "thickness": "2in",
                "length": "96in",
                "grain": "flat",
            },
            "moisture": 12.5,
            "faces": {"top": "oiled", "bottom": "bare"},
            "room": {"climate": "Duluth, MN", "heat_to": "70F", "cool_to": "76F"},
            "starts": "2026-09-25",
            "positions": ["3in", "17in", "31in"],
            "fastener": {
                "kind": "threaded_insert",
                "diameter": "1/2in",
                "thread": "1in",
                "shank": "5/16in",
            },
        },
    ),
    Example(
        "Lag screws in an oak top, fixed along its back edge, for a known range",
        {
            "units": "metric",
            "slab": {"species": "white oak", "width": 700, "thickness": 45},
            "moisture": 9,
            "moisture_range": {"driest": 6, "dampest": 10},
            "positions": [40, 350, 660],
            "fixed_at": 40,
            "fastener": {"kind": "lag_screw", "diameter": 8, "thread": 35},
        },
    ),
)
