"""Other ways of holding a top that moves: how far each lets it travel, and what would be enough.

Dimensions are usual ones (common practice, no source).  A holding suffices when its travel each way
is at least 1.25 times the movement of that point and 1 mm more.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

RANGE: Final = 1.25  # on the movement (practice)
SPARE: Final = 1.0e-3  # m beyond it (practice)
SWING: Final = math.radians(20.0)  # of a figure-eight to either side (practice)
HALF_TURN: Final = math.radians(45.0)
KEPT_BY_CLIP: Final = 3.0e-3  # m of engagement that must stay, of a clip and of a button
KEPT_BY_BUTTON: Final = 4.0e-3
CLIP: Final = 19.0e-3  # m, width of a Z clip
SCREW: Final = 5.0e-3  # m, shank in a slotted angle or a wide hole
PEG: Final = 8.0e-3  # m


@dataclass(frozen=True, slots=True)
class Travel:
    """How far a holding lets a point go toward the fixed line and away from it [m]."""

    inward: float
    outward: float


@dataclass(frozen=True, slots=True)
class Holding:
    """A way of holding.

    Attributes
    ----------
    name : str
        As a code.
    size : float
        Its usual size [m]: a radius, a slot, a hole, an engagement; as its name says.
    travel : callable
        Travel for a size [m].
    """

    name: str
    size: float
    travel: Callable[[float], Travel]


def _both(way: float) -> Travel:
    return Travel(way, way)


# Gap and engagement of clip and button: the gap is 0.3 of the engagement.
HOLDINGS: Final = (
    Holding("figure-eight-cross", 0.020, lambda r: _both(r * math.sin(SWING))),
    Holding(
        "figure-eight-along",
        0.020,
        lambda r: Travel(
            r * (math.cos(SWING) - math.cos(HALF_TURN)),
            r * (math.cos(HALF_TURN) - math.cos(2.0 * HALF_TURN - SWING)),
        ),
    ),
    Holding("clip-along", 0.010, lambda e: Travel(0.3 * e, e - KEPT_BY_CLIP)),
    Holding("clip-cross", 0.040, lambda s: _both(0.5 * (s - CLIP))),
    Holding("button", 0.010, lambda e: Travel(0.3 * e, e - KEPT_BY_BUTTON)),
    Holding("slotted-angle", 0.020, lambda s: _both(0.5 * (s - SCREW))),
    Holding("wide-hole", 0.008, lambda s: _both(0.5 * (s - SCREW))),
    Holding("breadboard", 0.016, lambda s: _both(0.5 * (s - PEG))),
)
LARGEST: Final = 0.200  # m of any of these sizes; beyond it is no such fitting


def enough(travel: Travel, inward: float, outward: float) -> bool:
    """Whether a travel suffices for a movement each way [m]."""
    return (
        travel.inward >= RANGE * inward + SPARE - 1e-12
        and travel.outward >= RANGE * outward + SPARE - 1e-12
    )


@dataclass(frozen=True, slots=True)
class Judged:
    """A holding against the movement of a point.

    Attributes
    ----------
    holding : Holding
    travel : Travel
        Of its usual size.
    suffices : bool
    needs : float or None
        Least size that would do [m]; None where none does.
    """

    holding: Holding
    travel: Travel
    suffices: bool
    needs: float | None


def judge(inward: float, outward: float) -> tuple[Judged, ...]:
    """Every holding against the movement of a point toward the fixed line and away [m].

    Examples
    --------
    >>> {one.holding.name: one.suffices for one in judge(0.004, 0.001)}["wide-hole"]
    False
    """
    found = []
    for one in HOLDINGS:
        travel = one.travel(one.size)
        needs = None
        if enough(one.travel(LARGEST), inward, outward):
            low, high = 0.0, LARGEST
            for _ in range(40):
                middle = 0.5 * (low + high)
                if enough(one.travel(middle), inward, outward):
                    high = middle
                else:
                    low = middle
            needs = high
        found.append(Judged(one, travel, enough(travel, inward, outward), needs))
    return tuple(found)
