"""Fixings through a slab that moves: slots, and where they may stand.

Lengths across are distances from one edge of the slab.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour import anchorage, rings, shrinkage, timber
from model.behaviour.anchorage import Anchor
from model.behaviour.bars import Bar
from model.behaviour.slab import Slab
from model.codes import Note
from model.properties.fasteners import (
    Fastener,
    Place,
    Withdrawal,
    oven_dry_gravity,
    place,
    withdrawal,
)
from model.spread import Samples

Floats = NDArray[np.float64]


RANGE_FACTOR: Final = 1.25  # on the movement a slot must allow (practice, no source)
CLEARANCE: Final = 2.0e-3  # m at each end of a slot; 1.5-2 mm (practice), the larger
SLOT_PLAY: Final = 1.0e-3  # m, slot width over the shank (practice)
WASHER: Final = 3.0  # outside diameter over shank of a large washer; ISO 7093 (memory)
# Wood over a blind hole, below which a warning is given: 8 mm, a sixth of the slab (practice).
LEAST_LEFT: Final = 8.0e-3  # m
LEAST_LEFT_SHARE: Final = 1.0 / 6.0

_SAME: Final = 1.0e-9  # m
ON_THE_LINE: Final = 1.0e-3  # m; a fixing no farther off stands on the fixed line (judgement)


@dataclass(frozen=True, slots=True)
class Slot:
    """A slot and where in it the shank stands on the day of fitting [m].

    Attributes
    ----------
    length, width : float
        Over all.
    shank_from_inner_end : float
        Distance of the shank's middle from the end nearer the fixed line.
    washer : float
        Least outside diameter of a washer that bears on both sides of the slot.
    washer_covering : float
        Outside diameter that hides the whole slot wherever the shank stands.
    """

    length: float
    width: float
    shank_from_inner_end: float
    washer: float
    washer_covering: float


@dataclass(frozen=True, slots=True)
class Point:
    """One fixing: how its place moves, its slot (None for the fixed one), and what it bears."""

    across: float
    moves_in: Floats
    moves_out: Floats
    slot: Slot | None
    anchor: Anchor
    through: float


@dataclass(frozen=True, slots=True)
class Fixings:
    """Answer to where fixings go, how far they move and what they bear.

    Attributes
    ----------
    points : tuple of Point
        In the order given.
    fixed : int or None
        Which of the points should be the fixed one; None where none stands on the fixed line.
    nearest : int
        The point nearest that line.
    fixed_at : float
        The line from which distances count [m].
    withdrawal : Withdrawal
        Of the thread that holds wood.
    place : Place
    left_under_face : float
        Wood left between the hole and the show face [m].
    strain_in, strain_out : ndarray
        Movement per length between the outermost points, or of the width with a single one, to the
        driest and the dampest [-]: never negative.
    notes : tuple of Note
    """

    points: tuple[Point, ...]
    fixed: int | None
    nearest: int
    fixed_at: float
    withdrawal: Withdrawal
    place: Place
    left_under_face: float
    strain_in: Floats
    strain_out: Floats
    notes: tuple[Note, ...]


def least_left(thickness: float) -> float:
    """Wood to leave over a blind hole in a slab of a thickness [m] (practice, no source)."""
    return max(LEAST_LEFT, LEAST_LEFT_SHARE * thickness)


def slot(
    distance: float,
    strain_in: float,
    strain_out: float,
    through: float,
    *,
    clearance: float = CLEARANCE,
    least_in: float = 0.0,
    least_out: float = 0.0,
) -> Slot:
    """The slot a fixing needs at a distance from the fixed line.

    Parameters
    ----------
    distance : float
        From the fixed line [m].
    strain_in, strain_out : float
        Movement per length still to come toward the fixed line and away from it [-].
    through : float
        Diameter of what passes through it [m].
    clearance : float
        Room at each end beyond the movement [m].
    least_in, least_out : float
        Room that must be there whatever the rule gives [m]: the 90th percentile of movement.

    Notes
    -----
    Length = shank + 1.25 (in + out) + 2 clearance (practice).

    Examples
    --------
    >>> made = slot(0.25, 0.008, 0.002, 0.008)
    >>> round(made.length * 1e3, 3), round(made.shank_from_inner_end * 1e3, 3)
    (15.125, 8.5)
    """
    inner = max(RANGE_FACTOR * distance * strain_in, least_in)
    outer = max(RANGE_FACTOR * distance * strain_out, least_out)
    length = through + inner + outer + 2.0 * clearance
    return Slot(
        length=length,
        width=through + SLOT_PLAY,
        shank_from_inner_end=0.5 * through + clearance + inner,
        washer=WASHER * through,
        washer_covering=2.0 * (length - 0.5 * through),
    )


def strains(
    slab: Slab,
    now: ArrayLike,
    driest: ArrayLike,
    dampest: ArrayLike,
    samples: Samples,
    stretch: tuple[float, float],
) -> tuple[Floats, Floats]:
    """Movement per length of a stretch from now in to the driest and out to the dampest [-].

    Between two distances from one edge [m], not the same: where the rings run along the width wood
    moves more than where they have turned.  Neither movement is negative: a slab fitted at its
    dampest or damper moves inward only.
    """
    wood = slab.species
    first, second = (one - 0.5 * slab.width for one in stretch)
    share = rings.share_between(first, second, timber.pith_of(slab, samples))
    over, along = wood.shrinkages(samples)
    total = over + (along - over) * share
    here = np.asarray(now, dtype=np.float64) + samples.moisture
    starts = wood.shrinkage_starts
    inward = -shrinkage.strain(total, starts, here, np.asarray(driest, dtype=np.float64))
    outward = shrinkage.strain(total, starts, here, np.asarray(dampest, dtype=np.float64))
    return np.maximum(inward, 0.0), np.maximum(outward, 0.0)


def plan(
    slab: Slab,
    now: float,
    driest: ArrayLike,
    dampest: ArrayLike,
    points: tuple[float, ...],
    fastener: Fastener,
    samples: Samples,
    *,
    fixed_at: float | None = None,
    clearance: float = CLEARANCE,
    recess: float = 0.0,
    duration: str = "permanent",
    bar: Bar | None = None,
    from_end: float | None = None,
) -> Fixings:
    """Slots, withdrawal and places of fixings in a slab.

    Parameters
    ----------
    slab : Slab
    now : float
        Mean moisture content on the day of fitting [%].
    driest, dampest : array_like
        Of the years to come, (samples,) or one number [%].
    points : tuple of float
        Distances of the fixings from one edge [m].
    fastener : Fastener
    samples : Samples
    fixed_at : float, optional
        Line from which the slab moves [m from the same edge]; its middle when left out.
    clearance : float
        Room at each end of a slot [m].
    recess : float
        Depth of a groove the fixing starts from [m].
    duration : str
        Key of `DURATION`.
    bar : Bar, optional
        What their heads bear on.
    from_end : float, optional
        Distance of the nearest of them from the slab's end grain [m].

    Raises
    ------
    ValueError
        If there is no point, or one lies off the slab.
    """
    line = 0.5 * slab.width if fixed_at is None else fixed_at
    if not points or not all(0.0 <= one <= slab.width for one in (*points, line)):
        raise ValueError("fixings and the fixed line lie within the width of the slab")
    ends = (min(points), max(points))
    if ends[0] == ends[1]:
        ends = (0.0, slab.width)
    inward, outward = strains(slab, now, driest, dampest, samples, ends)
    wood = slab.thickness - recess
    holds = anchorage.threaded(fastener, wood)
    dampest_mean = float(np.max(np.asarray(dampest, dtype=np.float64).flat[0]))
    held = withdrawal(holds, slab.species, now, dampest_mean, duration)
    where = place(fastener, oven_dry_gravity(slab.species.specific_gravity))
    nearest = int(np.argmin(np.abs(np.asarray(points) - line)))
    fixed = nearest if abs(points[nearest] - line) <= ON_THE_LINE else None

    def moves(to: float) -> tuple[Floats, Floats]:
        stretch = (line, to) if abs(to - line) > _SAME else ends
        return strains(slab, now, driest, dampest, samples, stretch)

    made = tuple(
        _point(
            one,
            abs(one - line),
            *moves(one),
            fastener.through,
            None if index == fixed else clearance,
            anchorage.anchor(holds, held, where, min(one, slab.width - one), bar, from_end),
        )
        for index, one in enumerate(points)
    )
    left = wood - fastener.hole
    notes = [
        *held.notes,
        *anchorage.clipped(fastener, wood),
        *_plan_notes(slab, points, line, nearest, where, left),
    ]
    if from_end is not None and from_end < where.end - 1e-9:
        notes.append(Note("end-distance", end=from_end, least=where.end))
    return Fixings(made, fixed, nearest, line, held, where, left, inward, outward, tuple(notes))


def _point(
    across: float,
    distance: float,
    inward: Floats,
    outward: Floats,
    through: float,
    clearance: float | None,
    anchor: Anchor,
) -> Point:
    """One fixing; `through` passes its slot with a clearance at both ends, None if fixed."""
    if clearance is None:
        return Point(across, distance * inward, distance * outward, None, anchor, through)
    least = (0.0, 0.0)
    if inward.size > 1:
        least = (
            float(np.percentile(distance * inward[1:], 90.0)),
            float(np.percentile(distance * outward[1:], 90.0)),
        )
    made = slot(
        distance,
        float(inward[0]),
        float(outward[0]),
        through,
        clearance=clearance,
        least_in=least[0],
        least_out=least[1],
    )
    return Point(across, distance * inward, distance * outward, made, anchor, through)


def _plan_notes(
    slab: Slab,
    points: tuple[float, ...],
    line: float,
    nearest: int,
    where: Place,
    left: float,
) -> list[Note]:
    notes = []
    off = abs(points[nearest] - line)
    if off > ON_THE_LINE:
        notes.append(Note("no-point-on-the-fixed-line", off=off))
    for i, one in enumerate(points):
        edge = min(one, slab.width - one)
        if edge < where.edge - 1e-9:
            notes.append(Note("edge-distance", index=i, edge=edge, least=where.edge))
    if left <= 0.0:
        notes.append(Note("through"))
    elif left < least_left(slab.thickness):
        notes.append(Note("thin-under-show-face", left=left, least=least_left(slab.thickness)))
    if slab.thickness < where.least_thickness:
        notes.append(Note("slab-thin-for-screw", least=where.least_thickness))
    return notes
