"""True examples of `/v1/stiffening`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "Steel channels let into the library table, to keep it within 1/8 in",
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
            "bars": {
                "section": "channel",
                "width": "2in",
                "height": "1in",
                "wall": "1/8in",
                "slot": "3/8in",
                "legs": "into",
                "recess": "1in",
                "count": 4,
                "fixings": ["2in", "12in", "22in", "32in"],
                "fastener": {
                    "kind": "threaded_insert",
                    "diameter": "1/2in",
                    "thread": "3/4in",
                    "shank": "5/16in",
                },
            },
            "limit": "1/8in",
        },
    ),
    Example(
        "Walnut keys across a check in an oak slab, alone",
        {
            "units": "metric",
            "spread": "none",
            "slab": {
                "species": "white oak",
                "width": 600,
                "thickness": 50,
                "pith": {"below": -10},
            },
            "moisture": 10,
            "room": {"temperature": 21, "relative_humidity": 40},
            "keys": {
                "length": 100,
                "waist": 20,
                "wing": 50,
                "thickness": 25,
                "species": "black walnut",
                "count": 3,
                "check_length": 500,
            },
        },
    ),
)
