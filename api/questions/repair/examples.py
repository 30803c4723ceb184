"""True examples of `/v1/repair`."""

from __future__ import annotations

from typing import Final

from api.question import Example

EXAMPLES: Final = (
    Example(
        "A top that cupped and tore its screws in its first heated winter",
        {
            "slab": {
                "species": "black walnut",
                "width": "700mm",
                "thickness": "45mm",
                "length": "1900mm",
                "pith": {"below": "250mm"},
            },
            "seen": {
                "cup": {"amount": "6mm", "shape": "edges up"},
                "width_after": "689mm",
                "fixings": "torn",
            },
            "done": {"held": "solid"},
            "moisture": {"shell": 7, "core": 8.5},
            "room": {"climate": "Duluth, MN", "heat_to": "21C"},
            "since": "2025-09-15",
            "starts": "2026-01-20",
            "faces": {"top": "hardwax-oil", "bottom": "hardwax-oil"},
            "wanted": {"flat_within": "2mm", "thickness": "38mm"},
        },
    ),
    Example(
        "Nothing but the wood, the size and the cup",
        {
            "slab": {"species": "American elm", "width": "34in", "thickness": "2in"},
            "seen": {"cup": {"amount": "3/8in", "shape": "edges up"}},
            "starts": "2026-01-20",
        },
    ),
    Example(
        "From the stack to the room: a plan before anything is cut",
        {
            "slab": {
                "species": "white oak",
                "width": "600mm",
                "thickness": "54mm",
                "length": "2000mm",
            },
            "moisture": {"shell": 11, "core": 14},
            "room": {"climate": "Duluth, MN", "heat_to": "21C"},
            "starts": "2025-10-01",
            "finish": {"top": "hardwax-oil", "bottom": "hardwax-oil"},
            "wanted": {"by": "2026-06-01", "thickness": "45mm"},
        },
    ),
)
