"""True examples of `/v1/diagnosis`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "A table that lay on a bench: how it was, and why it is hollow",
        {
            "slab": {
                "species": "American elm",
                "width": "34in",
                "thickness": "2in",
                "length": "96in",
            },
            "width_after": "33 5/8 in",
            "moisture": {
                "depths": [
                    {"depth": "0.4in", "moisture": 8},
                    {"depth": "1in", "moisture": 11},
                    {"depth": "1.6in", "moisture": 12.5},
                ]
            },
            "cup": {"amount": "7/16in", "shape": "edges up"},
            "room": {"temperature": "68F", "relative_humidity": 35},
            "days": 45,
            "faces": {"top": "bare", "bottom": "closed"},
        },
    ),
    Example(
        "Planed on one face only; nobody remembers when the cup came",
        {
            "slab": {
                "species": "northern red oak",
                "width": "700mm",
                "thickness": "55mm",
                "length": "2200mm",
                "pith": {"below": "400mm"},
            },
            "width_after": "691mm",
            "moisture": 9,
            "cup": {"amount": "4mm", "shape": "edges up"},
            "room": {"temperature": "20C", "relative_humidity": 40},
            "days": 60,
            "faces": {"top": "bare", "bottom": "bare"},
            "dress": {"top": "6mm"},
        },
    ),
    Example(
        "Bolts out of line, nothing else known",
        {
            "slab": {"species": "sugar maple", "width": "900mm", "thickness": "45mm"},
            "fixings": {"out_of_line": "9mm", "distance": "300mm"},
            "moisture": 8,
        },
    ),
)
