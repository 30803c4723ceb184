"""True examples of `/v1/reading`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "Pins at two depths in the library table, and one in its end",
        {
            "slab": {
                "species": "American elm",
                "width": "34in",
                "thickness": "2in",
                "length": "96in",
            },
            "readings": [
                {"value": 11.5, "depth": "0.42in", "temperature": "65F"},
                {"value": 13, "depth": "1in", "temperature": "65F"},
                {"value": 11, "depth": "0.42in", "place": "bottom", "temperature": "65F"},
                {"value": 7.5, "depth": "0.75in", "place": "end", "temperature": "65F"},
            ],
            "age": 400,
        },
    ),
    Example(
        "Three oven-dry slices and a resistance",
        {
            "slab": {"species": "black walnut", "width": "400mm", "thickness": "45mm"},
            "oven_dry": [
                {
                    "wet": "52.1g",
                    "dry": "47.6g",
                    "step": "0.1g",
                    "depth_from": "0mm",
                    "depth_to": "15mm",
                },
                {
                    "wet": "54.9g",
                    "dry": "48.8g",
                    "step": "0.1g",
                    "depth_from": "15mm",
                    "depth_to": "30mm",
                },
                {
                    "wet": "51.7g",
                    "dry": "47.3g",
                    "step": "0.1g",
                    "depth_from": "30mm",
                    "depth_to": "45mm",
                },
            ],
            "readings": [{"resistance": 1.2e8, "depth": "22mm", "temperature": "20C"}],
        },
    ),
)
