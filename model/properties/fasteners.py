"""Fixings in wood: what draws them out by several codes, where they may stand, pilot holes.

Values of withdrawal are those of the American NDS with their built-in safety, beside the European
value of EN 1995-1-1 and, for hardwood, the formula Huebner fitted to tests in ash: three views of
one strength.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model.codes import Note
from model.properties import strength
from model.properties.species import Species

Floats = NDArray[np.float64]


Kind = Literal["wood_screw", "lag_screw", "threaded_insert", "nail"]
Grain = Literal["side", "end"]
KINDS: Final = ("wood_screw", "lag_screw", "threaded_insert", "nail")
INCH: Final = 0.0254  # m; definition (international inch, 1959)
POUND_FORCE: Final = 0.45359237 * 9.80665  # N; definition (international pound, standard gravity)
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
# Ultimate strength of steel [Pa] where no grade is told: bolts of an insert as grade 4.6 (EN ISO
# 898-1, memory), the core of a screw (judgement); share of the shank's area under the thread of
# a bolt, M6 20.1 of 28.3 mm2 (ISO 898-1, memory); partial factor (EN 1993-1-8, memory).
BOLT_STEEL: Final = 400.0e6
SCREW_STEEL: Final = 500.0e6
BOLT_CORE: Final = 0.71
GAMMA_BOLT: Final = 1.25
HEAD_BEARING: Final = 12.0e6  # Pa at 350 kg/m3: approvals of screws (memory)
HEAD: Final = 2.0  # head or washer over what passes through, where not told (practice)
INSERT_DISTANCE: Final = 5.0  # outer diameters from edge and end, at least (practice)
STRUCTURAL_YIELD: Final = 235.0e6  # Pa, S235, EN 10025-2 (memory)
LEAST_THREAD: Final[dict[str, float]] = {"lag_screw": 4.0, "wood_screw": 6.0, "nail": 6.0}
PLATE: Final = 4.0e-3  # m, wall a fixing passes through where the bar is no flat (judgement)


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
    head : float or None
        Diameter of its head or washer [m]; `HEAD` times what passes through when left out.
    """

    kind: Kind
    diameter: float
    thread: float
    grain: Grain = "side"
    shank: float | None = None
    depth: float | None = None
    head: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"a fixing is one of {', '.join(KINDS)}, not {self.kind}")
        for name in ("diameter", "thread", "shank", "depth", "head"):
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
    def head_across(self) -> float:
        """Diameter of its head or washer [m]."""
        return HEAD * self.through if self.head is None else self.head

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
class Place:
    """Where a fixing may stand and what hole it wants [m].

    Attributes
    ----------
    edge, end, apart : float
        Least distances from the edge of the slab, from its end grain, and between fixings.
    pilot : tuple of float
        Smallest and largest diameter of the pilot hole; zeros where none is needed.
    pilot_note : str
        A code: what the hole is for.
    least_thickness : float
        Of the slab, EN 1995-1-1.
    """

    edge: float
    end: float
    apart: float
    pilot: tuple[float, float]
    pilot_note: str
    least_thickness: float


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
    return float(pounds) * POUND_FORCE / INCH


def en1995_withdrawal(density: float, diameter: float, length: float) -> float:
    """Characteristic withdrawal of a screw 6 to 12 mm thick from side grain [N].

    Parameters
    ----------
    density : float
        Characteristic, at 12 % [kg/m3].
    diameter, length : float
        Of the thread [m].

    References
    ----------
    EN 1995-1-1:2004/A1 (8.39): f d l k_d/(1.2 cos^2 + sin^2), f = 0.52 d^-0.5 l^-0.1 rho^0.8, for
    30 degrees and more to the grain (memory); end grain, at 0, is outside it.

    Examples
    --------
    >>> round(en1995_withdrawal(600.0, 0.008, 0.040) / 1000, 2)
    6.79
    """
    d, l_ef = 1e3 * diameter, 1e3 * length
    per_area = float(0.52 * d**-0.5 * l_ef**-0.1 * density**0.8)
    return per_area * d * l_ef * min(d / 8.0, 1.0)


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
    wood: Species,
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
        covered = EN_DIAMETER[0] <= fastener.diameter <= EN_DIAMETER[1]
        if covered and fastener.grain == "side":
            european = en1995_withdrawal(density, fastener.diameter, fastener.thread)
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


def _withdrawal_notes(fastener: Fastener, wet: float) -> list[Note]:
    notes = [Note("built-in-safety")]
    if fastener.kind == "threaded_insert":
        notes.append(Note("insert-judged"))
    if fastener.grain == "end":
        notes.append(Note("en1995-not-along"))
    if fastener.grain == "end" and fastener.kind != "lag_screw":
        notes.append(Note("no-end-grain-withdrawal"))
    if wet < 1.0:
        notes.append(Note("wet-service", above=WET_ABOVE, wet=wet))
    least = LEAST_THREAD.get(fastener.kind)
    if least is not None and fastener.thread < least * fastener.diameter * (1 - 1e-9):
        short = {"thread": fastener.thread, "diameters": least}
        notes.append(Note("thread-short", **short, least=least * fastener.diameter))
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
    if fastener.kind == "threaded_insert":
        edge = end = INSERT_DISTANCE
    pilot, code = _pilot(fastener, specific_gravity)
    return Place(
        edge=edge * d,
        end=end * d,
        apart=apart * d,
        pilot=pilot,
        pilot_note=code,
        least_thickness=12.0 * d if fastener.kind in ("wood_screw", "lag_screw") else 0.0,
    )


def bolt_tension(fastener: Fastener, steel: float | None = None) -> float:
    """What the bolt of an insert, or the core of a screw or nail, bears [N], its safety counted.

    Parameters
    ----------
    fastener : Fastener
    steel : float, optional
        Ultimate strength [Pa]; `BOLT_STEEL` or `SCREW_STEEL` when left out.

    References
    ----------
    EN 1993-1-8: 0.9 f_u A_s/1.25 (memory).

    Examples
    --------
    >>> insert = Fastener("threaded_insert", diameter=0.010, thread=0.020, shank=0.006)
    >>> round(bolt_tension(insert, 800e6) / 1000, 1)  # M6 of grade 8.8
    11.6
    """
    if fastener.kind == "threaded_insert":
        area = BOLT_CORE * 0.25 * np.pi * fastener.through**2
        return float(0.9 * (steel or BOLT_STEEL) * area / GAMMA_BOLT)
    root = fastener.diameter * (1.0 if fastener.kind == "nail" else ROOT)
    return float(0.9 * (steel or SCREW_STEEL) * 0.25 * np.pi * root**2 / GAMMA_BOLT)


def head_pull_through(head: float, density: float) -> float:
    """Characteristic force that draws a head or washer through wood [N].

    Parameters
    ----------
    head : float
        Its diameter [m].
    density : float
        Characteristic, at 12 % [kg/m3].

    References
    ----------
    EN 1995-1-1 8.7.2: f_head d^2 (rho/350)^0.8, f_head 12 N/mm2 of approvals (memory).

    Examples
    --------
    >>> round(head_pull_through(0.015, 600.0) / 1000, 2)
    4.16
    """
    return float(HEAD_BEARING * head**2 * (density / 350.0) ** 0.8)


def washer_thickness(pull: float, slot: float, washer: float, hole: float) -> float:
    """Thickness a steel washer needs over a slot so that it does not bend for good [m].

    Parameters
    ----------
    pull : float
        [N].
    slot, washer, hole : float
        Width of the slot; outside and inside diameter of the washer [m].

    References
    ----------
    A strip D - d wide over a gap b: sqrt(0.75 F b/((D - d) f_y)), S235 (derived).

    Examples
    --------
    >>> round(1e3 * washer_thickness(3000.0, 0.008, 0.024, 0.008), 1)
    2.2
    """
    return float(np.sqrt(0.75 * pull * slot / ((washer - hole) * STRUCTURAL_YIELD)))


def _pilot(fastener: Fastener, gravity: float) -> tuple[tuple[float, float], str]:
    """Pilot hole by NDS 12.1.4 to 12.1.6 (memory), and what it is for, as a code.

    Inserts by their maker's drill (practice).
    """
    d = fastener.diameter
    root = ROOT * d
    if fastener.kind == "lag_screw":
        share = (0.65, 0.85) if gravity > 0.6 else (0.60, 0.75) if gravity > 0.5 else (0.40, 0.70)
        return (share[0] * d, share[1] * d), "lag-screw"
    if fastener.kind == "threaded_insert":
        share = (0.88, 0.92) if gravity > 0.5 else (0.84, 0.88)
        return (share[0] * d, share[1] * d), "insert"
    if fastener.kind == "nail":
        most = 0.9 if gravity > 0.6 else 0.75
        return (0.75 * d if gravity > 0.6 else 0.0, most * d), "nail"
    if gravity > 0.6:
        return (0.85 * root, 0.95 * root), "dense-wood"
    if gravity > 0.5:
        return (0.65 * root, 0.75 * root), "middling-wood"
    return (0.0, 0.70 * root), "soft-wood"
