"""Fixings through a slab that moves: slots, withdrawal, places, and what a solid fixing does.

Lengths across are distances from one edge of the slab.  Values of withdrawal are those of the
American NDS with their built-in safety, beside the European value of EN 1995-1-1 and, for hardwood,
the formula Huebner fitted to tests in ash: three views of one strength.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.basis import Note
from model.behaviour import bars, course, restraint, rings, shape, shrinkage
from model.behaviour.bars import Bar
from model.behaviour.slab import Slab
from model.properties import species, strength
from model.spread import Samples

Floats = NDArray[np.float64]
Kind = Literal["wood_screw", "lag_screw", "threaded_insert", "nail"]
Grain = Literal["side", "end"]

KINDS: Final = ("wood_screw", "lag_screw", "threaded_insert", "nail")
INCH: Final = 0.0254  # m
POUND_PER_INCH: Final = 175.126835  # N/m

RANGE_FACTOR: Final = 1.25  # on the movement a slot must allow (practice, no source)
CLEARANCE: Final = 2.0e-3  # m at each end of a slot; 1.5-2 mm (practice), the larger
SLOT_PLAY: Final = 1.0e-3  # m, slot width over the shank (practice)
WASHER: Final = 3.0  # outside diameter over shank of a large washer; ISO 7093 (memory)
LEAST_LEFT: Final = 6.0e-3  # m under the show face below which a warning is given (practice)
BOLT_OF_INSERT: Final = 0.67  # bolt over outer thread of an insert: M8 in 12 mm (judgement)
ROOT: Final = 0.75  # root over thread diameter: .8 NDS App. L, .6-.75 EN 1995-1-1 8.7 (memory)
INSERT_FACTOR: Final = 0.8  # on the wood-screw formula for a threaded insert (judgement)
TEST_MEANS: Final = (4.5, 5.7)  # mean of tests over the NDS value (printed)

# Withdrawal a G^b D^c [lb per in of thread, D in inches]: NDS ch. 12 (printed form).
_NDS: Final[dict[str, tuple[float, float, float]]] = {
    "lag_screw": (1800.0, 1.5, 0.75),
    "wood_screw": (2850.0, 2.0, 1.0),
    "nail": (1380.0, 2.5, 1.0),
}
# Duration of load, NDS table 2.3.2 (memory).
DURATION: Final[dict[str, float]] = {
    "permanent": 0.9,
    "ten_years": 1.0,
    "two_months": 1.15,
    "seven_days": 1.25,
    "ten_minutes": 1.6,
}
WET: Final = 0.7  # screws in wood above 19 % in use; NDS table 11.3.3 (memory)
NAIL_WET_DRY: Final = 0.25  # plain nails, wet when driven and dry in use or back; the same
WET_ABOVE: Final = 19.0  # % M; NDS (memory)
LAG_END_GRAIN: Final = 0.75  # NDS 12.2.1.2 (memory)
KMOD_PERMANENT: Final = 0.6  # EN 1995-1-1 table 3.1, service classes 1 and 2 (memory)
GAMMA: Final = 1.3  # connections, EN 1995-1-1 table 2.3 (memory)
EN_DIAMETER: Final = (6.0e-3, 12.0e-3)  # m, EN 1995-1-1 8.7.2 (memory)
# Bottom of the hardwoods Huebner tested, and his screws; ash, beech, black locust (judgement).
HUEBNER_GRAVITY: Final = 0.5
HUEBNER_DIAMETER: Final = (6.0e-3, 14.0e-3)  # m (judgement)
LEAST_THREAD: Final[dict[str, float]] = {"lag_screw": 4.0, "wood_screw": 6.0, "nail": 6.0}
# in diameters, NDS 12.1.4-12.1.6 (memory)
SOLID_STRIP: Final = 0.30  # m of slab along the grain held by one bar; bars 300-400 mm (practice)
ON_THE_LINE: Final = 1.0e-3  # m; a fixing no farther off stands on the fixed line (judgement)
PLATE: Final = 4.0e-3  # m, wall a fixing passes through where the bar is no flat (judgement)
SNUG_PULL: Final = 200.0  # N, what a nut turned by hand until the washer touches gives (judgement)


@dataclass(frozen=True, slots=True)
class Fastener:
    """A fixing.

    Attributes
    ----------
    kind : str
        ``wood_screw``, ``lag_screw``, ``threaded_insert`` or ``nail``.
    diameter : float
        Of a screw or nail; the outer thread of an insert [m].
    thread : float
        Length of thread in the slab, the point not counted [m]; a nail's depth in the slab.
    grain : str
        ``side`` or ``end``: what it is driven into.
    shank : float or None
        Diameter of what passes through the slot [m]; the diameter, or 0.67 of it for an insert's
        bolt, when left out.
    depth : float or None
        How deep its hole reaches into the slab [m]; the thread when left out.
    """

    kind: Kind
    diameter: float
    thread: float
    grain: Grain = "side"
    shank: float | None = None
    depth: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"a fixing is one of {', '.join(KINDS)}, not {self.kind}")
        for name in ("diameter", "thread", "shank", "depth"):
            size = getattr(self, name)
            if size is not None and not 0.0 < size < float("inf"):
                raise ValueError(f"the {name} of a fixing must be above 0 m, not {size}")

    @property
    def through(self) -> float:
        """Diameter of what passes through the slot [m]."""
        if self.shank is not None:
            return self.shank
        return self.diameter * (BOLT_OF_INSERT if self.kind == "threaded_insert" else 1.0)

    @property
    def hole(self) -> float:
        """Depth of the hole in the slab [m]."""
        return self.thread if self.depth is None else self.depth


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """What draws a fixing out of the wood, in several codes [N].

    Attributes
    ----------
    reference : float or None
        NDS reference design value (duration factor 1); None where the NDS allows none.
    allowable : float or None
        With duration, wet service, end grain and insert factors.
    factors : dict of str to float
        Those factors.
    test_mean : tuple of float or None
        What tests give on average: the reference, end grain and insert counted, x 4.5 and x 5.7.
    en1995_characteristic, en1995_design : float or None
        EN 1995-1-1; the design value for permanent load. None outside its validity.
    huebner_characteristic : float or None
        Hardwood screws; None outside its validity.
    notes : tuple of Note
    """

    reference: float | None
    allowable: float | None
    factors: dict[str, float]
    test_mean: tuple[float, float] | None
    en1995_characteristic: float | None
    en1995_design: float | None
    huebner_characteristic: float | None
    notes: tuple[Note, ...]


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
class Place:
    """Where a fixing may stand and what hole it wants [m].

    Attributes
    ----------
    edge, end, apart : float
        Least distances from the edge of the slab, from its end grain, and between fixings.
    pilot : tuple of float
        Smallest and largest diameter of the pilot hole; zeros where none is needed.
    pilot_note : str
    least_thickness : float
        Of the slab, EN 1995-1-1.
    source : str
    """

    edge: float
    end: float
    apart: float
    pilot: tuple[float, float]
    pilot_note: str
    least_thickness: float
    source: str


@dataclass(frozen=True, slots=True)
class Point:
    """One fixing: how its place moves and the slot it needs."""

    across: float
    moves_in: Floats
    moves_out: Floats
    slot: Slot


@dataclass(frozen=True, slots=True)
class Solid:
    """What fixings solid at both ends of a bar would do, arrays over the samples.

    Attributes
    ----------
    between : float
        Distance between the outermost fixings [m].
    strain : ndarray
        Larger movement per length they would prevent [-]; negative: the wood wants to shrink.
    force_elastic, force : ndarray
        Along the bar, without and with set [N].
    stress : ndarray
        Of that movement, set included [Pa]: the largest tension, or the mean compression.
    wood_index : ndarray
        Tension at the driest over strength across the grain, size and duration counted; 0 where it
        only swells.
    crush_index : ndarray
        Compression at the dampest over strength across the grain; 0 where it only shrinks.
    fixing_index : ndarray
        Force per fixing over its sideways yield.
    pull_index : ndarray
        Pull on the end fixings over their mean withdrawal in tests.
    key_index : ndarray or None
        Demand over capacity of keys in the same length, where there are any.
    first : str
        Which part gives way first in the central case.
    yields : float
        Sideways force at which one fixing yields [N]: the force along the bar stops growing there.
    yield_mode : str
        How a fixing yields sideways.
    """

    between: float
    strain: Floats
    force_elastic: Floats
    force: Floats
    stress: Floats
    wood_index: Floats
    crush_index: Floats
    fixing_index: Floats
    pull_index: Floats
    key_index: Floats | None
    first: str
    yields: float
    yield_mode: str


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
    place : Place
    left_under_face : float
        Wood left between the hole and the show face [m].
    strain_in, strain_out : ndarray
        Movement per length to the driest and the dampest [-]: never negative.
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


def oven_dry_gravity(specific_gravity: float) -> float:
    """Specific gravity on oven-dry volume, as the NDS counts it, from that at 12 % moisture.

    References
    ----------
    G_M = G_b/(1 - 0.265 a G_b), a = (30 - M)/30: Wood Handbook ch. 4, ASTM D2395 (memory).

    Examples
    --------
    >>> round(oven_dry_gravity(0.63), 3)  # northern red oak; the NDS lists red oak as 0.67
    0.675
    """
    green = specific_gravity / (1.0 + 0.265 * 0.6 * specific_gravity)
    return green / (1.0 - 0.265 * green)


def withdrawal_per_length(kind: Kind, specific_gravity: float, diameter: float) -> float:
    """NDS reference withdrawal from side grain per length of thread [N/m].

    Parameters
    ----------
    kind : str
        An insert is taken as a wood screw of its outer thread, without the insert factor.
    specific_gravity : float
        On oven-dry volume.
    diameter : float
        [m].

    References
    ----------
    NDS ch. 12 (printed form): lag screw 1800 G^1.5 D^0.75, wood screw 2850 G^2 D, nail
    1380 G^2.5 D, in pounds per inch with D in inches.

    Examples
    --------
    >>> pounds = withdrawal_per_length("lag_screw", 0.55, 0.5 * 0.0254) / 175.126835
    >>> round(2.1875 * pounds)
    955
    """
    factor, gravity_power, diameter_power = _NDS.get(kind, _NDS["wood_screw"])
    pounds = factor * specific_gravity**gravity_power * (diameter / INCH) ** diameter_power
    return float(pounds) * POUND_PER_INCH


def en1995_withdrawal(density: float, diameter: float, length: float, grain: Grain) -> float:
    """Characteristic withdrawal of a screw 6 to 12 mm thick [N].

    Parameters
    ----------
    density : float
        Characteristic, at 12 % [kg/m3].
    diameter, length : float
        Of the thread [m].
    grain : str
        ``side`` or ``end``.

    References
    ----------
    EN 1995-1-1:2004/A1 (8.39): f d l k_d/(1.2 cos^2 + sin^2), f = 0.52 d^-0.5 l^-0.1 rho^0.8.

    Examples
    --------
    >>> round(en1995_withdrawal(600.0, 0.008, 0.040, "side") / 1000, 1)
    6.8
    """
    d, l_ef = 1e3 * diameter, 1e3 * length
    per_area = float(0.52 * d**-0.5 * l_ef**-0.1 * density**0.8)
    return per_area * d * l_ef * min(d / 8.0, 1.0) / (1.2 if grain == "end" else 1.0)


def huebner_withdrawal(density: float, diameter: float, length: float) -> float:
    """Characteristic withdrawal of a screw from the side grain of hardwood [N].

    Parameters as in `en1995_withdrawal`.

    References
    ----------
    Huebner 2013, CIB-W18/46-7-4, 2657 tests in ash (printed):
    7e-4 rho^1.6 d^-0.34 pi d (l - 1.1 d).

    Examples
    --------
    >>> round(huebner_withdrawal(600.0, 0.008, 0.040) / 1000, 1)
    7.5
    """
    d, l_ef = 1e3 * diameter, 1e3 * length
    return float(7e-4 * density**1.6 * d**-0.34 * np.pi * d * max(l_ef - 1.1 * d, 0.0))


def withdrawal(
    fastener: Fastener,
    wood: species.Species,
    moisture: float,
    moisture_in_use: float,
    duration: str = "permanent",
) -> Withdrawal:
    """What it takes to draw a fixing out of a wood.

    Parameters
    ----------
    fastener : Fastener
    wood : Species
    moisture, moisture_in_use : float
        When driven, and the dampest later on [%].
    duration : str
        Key of `DURATION`.
    """
    per_length = withdrawal_per_length(
        fastener.kind, oven_dry_gravity(wood.specific_gravity), fastener.diameter
    )
    insert = INSERT_FACTOR if fastener.kind == "threaded_insert" else 1.0
    wet = _wet_factor(fastener.kind, moisture, moisture_in_use)
    end = 1.0 if fastener.grain == "side" else LAG_END_GRAIN
    factors = {"duration": DURATION[duration], "wet": wet, "end_grain": end, "insert": insert}
    notes = _withdrawal_notes(fastener, wet)
    reference: float | None = per_length * fastener.thread
    if fastener.grain == "end" and fastener.kind != "lag_screw":
        reference = None
    allowable = None if reference is None else reference * float(np.prod(list(factors.values())))
    base = None if reference is None else reference * insert * end
    density = strength.characteristic_density(wood.specific_gravity)
    european = hardwood = None
    if fastener.kind in ("wood_screw", "lag_screw"):
        if EN_DIAMETER[0] <= fastener.diameter <= EN_DIAMETER[1]:
            european = en1995_withdrawal(
                density, fastener.diameter, fastener.thread, fastener.grain
            )
        low, high = HUEBNER_DIAMETER
        fits = not wood.is_softwood and wood.specific_gravity >= HUEBNER_GRAVITY
        if fits and low <= fastener.diameter <= high and fastener.grain == "side":
            hardwood = huebner_withdrawal(density, fastener.diameter, fastener.thread)
    return Withdrawal(
        reference=reference,
        allowable=allowable,
        factors=factors,
        test_mean=None if base is None else (base * TEST_MEANS[0], base * TEST_MEANS[1]),
        en1995_characteristic=european,
        en1995_design=None if european is None else european * KMOD_PERMANENT / GAMMA,
        huebner_characteristic=hardwood,
        notes=tuple(notes),
    )


def _wet_factor(kind: Kind, moisture: float, in_use: float) -> float:
    wet_now, wet_later = moisture > WET_ABOVE, in_use > WET_ABOVE
    if kind == "nail":
        return NAIL_WET_DRY if wet_now != wet_later else 1.0
    return WET if wet_later else 1.0


def both(metres: float) -> str:
    """A length within a sentence, in millimetres and inches.

    Examples
    --------
    >>> both(0.0254), both(0.0031)
    ('25 mm (1 in)', '3.1 mm (0.12 in)')
    """
    millimetres, inches = 1e3 * metres, metres / INCH
    if millimetres < 10.0:
        return f"{millimetres:.1f} mm ({inches:.2g} in)"
    return f"{millimetres:.0f} mm ({inches:.3g} in)"


def _withdrawal_notes(fastener: Fastener, wet: float) -> list[Note]:
    notes = [
        Note(
            "built-in-safety",
            "The allowable withdrawal is 4.5 to 5.7 times below the mean of tests; the European "
            "characteristic value is what 95 of 100 exceed, before its own safety factors.",
            "/fastener",
            "NDS ch. 12; EN 1995-1-1 8.7.2",
        )
    ]
    if fastener.kind == "threaded_insert":
        notes.append(
            Note(
                "insert-judged",
                "No code covers threaded inserts: the wood-screw formula on the outer thread x 0.8 "
                "stands in. Pull one out of an offcut of the slab before you trust it.",
                "/fastener/kind",
                "judgement",
            )
        )
    if fastener.grain == "end" and fastener.kind != "lag_screw":
        notes.append(
            Note(
                "no-end-grain-withdrawal",
                "The NDS gives no withdrawal value for this fixing in end grain: drive it into "
                "side grain, or use a lag screw or a cross-dowel.",
                "/fastener/grain",
                "NDS 12.2",
            )
        )
    if wet < 1.0:
        notes.append(
            Note(
                "wet-service",
                f"Wood above {WET_ABOVE:.0f} % when driven or in use: the value is cut to "
                f"{wet:g} of the dry one.",
                "/moisture",
                "NDS table 11.3.3 (memory)",
            )
        )
    least = LEAST_THREAD.get(fastener.kind)
    if least is not None and fastener.thread < least * fastener.diameter * (1 - 1e-9):
        notes.append(
            Note(
                "thread-short",
                f"The thread in the slab is {both(fastener.thread)}, less than the {least:g} "
                f"diameters, {both(least * fastener.diameter)}, the NDS asks for.",
                "/fastener/thread",
                "NDS 12.1 (memory)",
            )
        )
    return notes


def place(fastener: Fastener, specific_gravity: float) -> Place:
    """Edge and end distances, spacing and pilot hole; the more careful of NDS and EN 1995.

    Parameters
    ----------
    fastener : Fastener
    specific_gravity : float
        On oven-dry volume.
    """
    d = fastener.diameter
    # NDS table 12.5.1E, lag screws in withdrawal: edge 1.5 D, end 4 D, apart 4 D (memory).
    # EN 1995-1-1 table 8.6, screws in withdrawal: edge 4 d, end 10 d, apart 7 d along the grain,
    # wood 12 d thick (memory).  Nails: end 15 d, edge 5 d, apart 10 d, not prebored (table 8.2).
    edge, end, apart = (5.0, 15.0, 10.0) if fastener.kind == "nail" else (4.0, 10.0, 7.0)
    pilot, words = _pilot(fastener, specific_gravity)
    return Place(
        edge=edge * d,
        end=end * d,
        apart=apart * d,
        pilot=pilot,
        pilot_note=words,
        least_thickness=12.0 * d if fastener.kind in ("wood_screw", "lag_screw") else 0.0,
        source="EN 1995-1-1 tables 8.2 and 8.6 (memory); the NDS asks for less",
    )


def _pilot(fastener: Fastener, gravity: float) -> tuple[tuple[float, float], str]:
    """Pilot hole by NDS 12.1.4 to 12.1.6 (memory); inserts by their maker's drill (practice)."""
    d = fastener.diameter
    root = ROOT * d
    if fastener.kind == "lag_screw":
        share = (0.65, 0.85) if gravity > 0.6 else (0.60, 0.75) if gravity > 0.5 else (0.40, 0.70)
        return (share[0] * d, share[1] * d), (
            "for the thread; the plain shank wants a hole of its own size; soap or wax it"
        )
    if fastener.kind == "threaded_insert":
        share = (0.88, 0.92) if gravity > 0.5 else (0.84, 0.88)
        return (share[0] * d, share[1] * d), "a guide only (practice): drill what its maker says"
    if fastener.kind == "nail":
        most = 0.9 if gravity > 0.6 else 0.75
        return (0.75 * d if gravity > 0.6 else 0.0, most * d), "to keep the wood from splitting"
    if gravity > 0.6:
        return (0.85 * root, 0.95 * root), "about 90 % of the root"
    if gravity > 0.5:
        return (0.65 * root, 0.75 * root), "about 70 % of the root"
    return (0.0, 0.70 * root), "may be driven without one; a hole keeps it true"


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
    slab: Slab, now: ArrayLike, driest: ArrayLike, dampest: ArrayLike, samples: Samples
) -> tuple[Floats, Floats]:
    """Movement per length of the width from now in to the driest and out to the dampest [-].

    Neither is negative: a slab fitted at its dampest or damper moves inward only.
    """
    wood = slab.species
    total, _ = shape.across(
        slab,
        wood.radial * samples.radial,
        wood.tangential * samples.tangential,
        rings.ring_angle(slab, samples.ring),
    )
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

    Raises
    ------
    ValueError
        If there is no point, or one lies off the slab.
    """
    line = 0.5 * slab.width if fixed_at is None else fixed_at
    if not points or not all(0.0 <= one <= slab.width for one in (*points, line)):
        raise ValueError("fixings and the fixed line lie within the width of the slab")
    inward, outward = strains(slab, now, driest, dampest, samples)
    made = tuple(
        _point(one, abs(one - line), inward, outward, fastener.through, clearance) for one in points
    )
    dampest_mean = float(np.max(np.asarray(dampest, dtype=np.float64).flat[0]))
    held = withdrawal(fastener, slab.species, now, dampest_mean, duration)
    where = place(fastener, oven_dry_gravity(slab.species.specific_gravity))
    left = slab.thickness - recess - fastener.hole
    nearest = int(np.argmin(np.abs(np.asarray(points) - line)))
    fixed = nearest if abs(points[nearest] - line) <= ON_THE_LINE else None
    notes = [*held.notes, *_plan_notes(slab, points, line, nearest, where, left)]
    return Fixings(made, fixed, nearest, line, held, where, left, inward, outward, tuple(notes))


def _point(
    across: float,
    distance: float,
    inward: Floats,
    outward: Floats,
    through: float,
    clearance: float,
) -> Point:
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
    return Point(across, distance * inward, distance * outward, made)


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
        notes.append(
            Note(
                "no-point-on-the-fixed-line",
                f"No fixing stands on the fixed line; the nearest is {both(off)} away. Fix that "
                "one solid only if you ask again with the fixed line there: every slot counts "
                "from it.",
                "/fixed_at",
                "common practice, no source",
            )
        )
    for i, one in enumerate(points):
        edge = min(one, slab.width - one)
        if edge < where.edge - 1e-9:
            notes.append(
                Note(
                    "edge-distance",
                    f"This fixing stands {both(edge)} from the edge; at least {both(where.edge)} "
                    "keeps the edge from splitting.",
                    f"/points/{i}",
                    where.source,
                )
            )
    if left <= 0.0:
        notes.append(
            Note("through", "The hole comes out of the show face.", "/fastener/thread", "geometry")
        )
    elif left < LEAST_LEFT:
        notes.append(
            Note(
                "thin-under-show-face",
                f"Only {both(left)} of wood is left under the show face; with less than "
                f"{both(LEAST_LEFT)} the hole may telegraph or break through.",
                "/fastener/thread",
                "common practice, no source",
            )
        )
    if slab.thickness < where.least_thickness:
        notes.append(
            Note(
                "slab-thin-for-screw",
                f"EN 1995 wants {both(where.least_thickness)} of wood for a screw this thick in "
                "withdrawal; its value does not cover this slab.",
                "/fastener/diameter",
                "EN 1995-1-1 table 8.6 (memory)",
            )
        )
    return notes


def solid(
    slab: Slab,
    fixings: Fixings,
    fastener: Fastener,
    now: float,
    driest: ArrayLike,
    dampest: ArrayLike,
    samples: Samples,
    *,
    bar: Bar | None = None,
    strip: float = SOLID_STRIP,
    key_capacity: float | None = None,
) -> Solid:
    """What the same fixings would do if all were fixed solid to a bar across the grain.

    Parameters
    ----------
    slab, fixings, fastener, now, driest, dampest, samples
        As in `plan`, and its answer.
    bar : Bar, optional
        A flat steel bar 40 x 5 mm when left out.
    strip : float
        Length of slab along the grain that one bar holds [m].
    key_capacity : float, optional
        Clear capacity of the keys in that length [N], if a check runs between the fixings.

    Notes
    -----
    Two-layer bar with the wood's modulus relaxed by set; no slip in the fixings, which makes the
    force an upper bound until they yield.  Low confidence: forces x/÷ 2.
    """
    held = bars.flat(0.040, 0.005) if bar is None else bar
    across = sorted(point.across for point in fixings.points)
    between = across[-1] - across[0]
    timber = course.timber_of(slab, samples, np.full(samples.count, now))
    wood = bars.compose([(strip, slab.thickness, 0.0)])

    def kept(strain: Floats, later: ArrayLike) -> _Kept:
        change = np.broadcast_to(np.asarray(later, dtype=np.float64) - now, (samples.count,))
        soft = restraint.relaxed(timber.modulus, timber.creep, change)
        pair = _bonded(strain, soft, wood, held)
        bend = soft * np.abs(pair.curvature) * 0.5 * slab.thickness
        elastic = _bonded(strain, timber.modulus, wood, held).force
        return _Kept(elastic, pair.force, pair.force / wood.area, bend, np.abs(pair.curvature))

    # It both dries and dampens through the years: the larger movement makes the force, but drying
    # alone splits, however much more it swells.
    drying, wetting = kept(fixings.strain_in, driest), kept(fixings.strain_out, dampest)
    dry = bool(fixings.strain_in[0] >= fixings.strain_out[0])
    most = drying if dry else wetting
    clear = strength.of(slab.species)
    volume = strip * slab.thickness * max(between, 1e-3)
    worst = _weakest(drying.mean, drying.bend)
    index = strength.through_index(worst, clear.tension_across, volume)
    crush = wetting.mean / clear.compression_across
    yields, mode = sideways(fastener, slab.species, held)
    fixing = most.force / (max(len(across) // 2, 1) * yields)
    lever = across[1] - across[0] if len(across) > 1 else between
    stiff = timber.modulus * wood.second_moment
    # The bar's moment is borne over the length that lifts off beside a fixing: `restraint.pulls`.
    series = stiff * held.stiffness / (stiff + held.stiffness)
    lifts = np.cbrt(6.0 * series / restraint.axial_slip(fastener.diameter, fastener.thread))
    pull = most.curvature * held.stiffness / np.clip(lifts, 1e-3, max(lever, 1e-3))
    tested = fixings.withdrawal.test_mean
    drawn = np.zeros(samples.count) if tested is None else pull / tested[0]
    keys = None if key_capacity is None else drying.force / key_capacity
    ranked = {
        "the wood splits": float(index[0]),
        "the wood crushes": float(crush[0]),
        "the fixings give way sideways": float(fixing[0]),
        "the fixings pull out": float(drawn[0]),
        "the keys shear": 0.0 if keys is None else float(keys[0]),
    }
    return Solid(
        between=between,
        strain=-fixings.strain_in if dry else fixings.strain_out,
        force_elastic=most.elastic,
        force=most.force,
        stress=most.mean + most.bend if dry else most.mean,
        wood_index=index,
        crush_index=crush,
        fixing_index=fixing,
        pull_index=drawn,
        key_index=keys,
        first=max(ranked, key=lambda name: ranked[name]),
        yields=yields,
        yield_mode=mode,
    )


@dataclass(frozen=True, slots=True)
class _Kept:
    """A strip kept from one movement.

    Force without set and with it [N], mean and bending stress [Pa], how much the pair bends [1/m].
    """

    elastic: Floats
    force: Floats
    mean: Floats
    bend: Floats
    curvature: Floats


def _bonded(strain: Floats, modulus: Floats, wood: bars.Section, bar: Bar) -> restraint.Bonded:
    """A strip of slab fixed solid to a bar under it."""
    return restraint.bonded(
        strain,
        modulus * wood.second_moment,
        modulus * wood.area,
        bar.stiffness,
        bar.axial_stiffness,
        0.5 * wood.height + bar.section.centroid,
    )


def sideways(fastener: Fastener, wood: species.Species, bar: Bar) -> tuple[float, str]:
    """Mean sideways yield of a fixing through a bar [N] and how it yields."""
    root = fastener.diameter * (1.0 if fastener.kind == "nail" else ROOT)
    plate = bar.section.height if bar.kind == "flat" else PLATE
    return restraint.lateral_yield(
        fastener.diameter,
        root,
        fastener.thread,
        oven_dry_gravity(wood.specific_gravity),
        max(plate, 1e-3),
    )


def _weakest(mean: Floats, bend: Floats) -> Floats:
    """Weakest-link tension (INT s^5)^(1/5) of a stress mean + bend across the thickness."""
    arm = np.linspace(-1.0, 1.0, 41)
    stress = np.maximum(mean[:, None] + bend[:, None] * arm, 0.0)
    result: Floats = np.mean(stress**5, axis=1) ** 0.2
    return result


def sliding_force(pulls: ArrayLike, friction: float = restraint.FRICTION) -> float:
    """Force along a bar at which fixings in slots slide [N]: friction times their pull.

    Examples
    --------
    >>> sliding_force([200.0, 200.0])
    120.0
    """
    return float(friction * np.sum(np.asarray(pulls, dtype=np.float64)))
