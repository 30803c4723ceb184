"""True examples of `/v1/readiness`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "The library table in its shop, five readings in",
        {
            "slab": {
                "species": "American elm",
                "width": "34in",
                "thickness": "2in",
                "length": "96in",
            },
            "faces": {"top": "bare", "bottom": "bare"},
            "room": {"climate": "Duluth, MN", "kind": "heated_shop", "heat_to": "65F"},
            "readings": [
                {"date": "2026-09-25", "value": 12.5, "temperature": "65F"},
                {"date": "2026-10-16", "value": 11.6, "temperature": "65F"},
                {"date": "2026-11-06", "value": 10.8, "temperature": "65F"},
                {"date": "2026-11-27", "value": 9.9, "temperature": "65F"},
                {"date": "2026-12-18", "value": 9.3, "temperature": "65F"},
            ],
            "target": {
                "room": {
                    "climate": "Duluth, MN",
                    "heat_to": "70F",
                    "cool_to": "76F",
                    "occupied": "normally",
                }
            },
        },
    ),
    Example(
        "A walnut slab by its weight, to 8 %",
        {
            "slab": {
                "species": "black walnut",
                "width": "500mm",
                "thickness": "52mm",
                "length": "2100mm",
            },
            "room": {"temperature": "20C", "relative_humidity": 40},
            "dry_weight": "29.6kg",
            "readings": [
                {"date": "2026-03-02", "weight": "34.62kg", "step": "20g"},
                {"date": "2026-03-23", "weight": "34.18kg", "step": "20g"},
                {"date": "2026-04-13", "weight": "33.82kg", "step": "20g"},
                {"date": "2026-05-04", "weight": "33.54kg", "step": "20g"},
            ],
            "target": 8,
        },
    ),
)
