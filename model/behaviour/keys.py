"""Butterfly keys across a check: what they can bear, what is asked of them, how many.

A key ties both sides of a check together.  It does not stop the wood from drying, so the movement
it prevents becomes force in the key and tension in the wood beside it.  What drying asks of it
depends on where the pith lies and on how the slab is held: free with the pith outside nothing at
all, free with the pith inside as much as the wood under the pith resists as a hinge, held flat ten
times as much.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour import loads, restraint, shape, shrinkage, timber
from model.behaviour.anchorage import Verdict, verdict
from model.behaviour.slab import Slab
from model.codes import Note
from model.properties import strength
from model.properties.fasteners import KMOD_PERMANENT
from model.properties.species import Species, elastic
from model.spread import Samples

Floats = NDArray[np.float64]

# Keys every 250 to 300 mm are usual on a long check (practice); used when no spacing is given.
USUAL_SPACING: Final = 0.25  # m
HANDLING: Final = 2000.0  # N per metre of check, carrying and turning it; the least (judgement)
# Free slab with its pith inside: the ligament under the pith as a deep edge crack (Tada, memory),
# and the most that elements gave.
HINGE: Final = 0.40
HINGE_MOST: Final = 0.13
# Held flat: share left by the lessening near the pith, from the face inward and outward (fitted to
# finite elements), and how it falls with the distance to where it is held.
FLAT_AT_FACE: Final = 0.90
FLAT_INWARD: Final = 1.2
LOOSE: Final = (1.12, 0.67)
SPLITTING: Final = 14.0e3 * 1.0e3**0.5  # N/m^1.5: 14 b sqrt(h) N, mm; EN 1995-1-1 8.1.4 (memory)
SPLITTING_DESIGN: Final = 0.54  # allowable over characteristic: 0.7/1.3 (EN 1995-1-1, memory)
SPLITTING_MEAN: Final = 1.4  # mean over characteristic of splitting (judgement)
KEY_CV: Final = 0.30  # from key to key (judgement; no tests found)
SURE_OF_PITH: Final = 0.1  # thicknesses within which the place of a pith is told (judgement)
MOST_KEYS: Final = 200  # beyond it the answer is that keys will not hold (judgement)


@dataclass(frozen=True, slots=True)
class Key:
    """A butterfly key.

    Attributes
    ----------
    length : float
        Across the check, tip to tip [m].
    waist, wing : float
        Narrowest and widest, measured along the check [m].
    thickness : float
        Depth it is let in [m].
    species : Species
    grain_across : bool
        Whether its own grain runs across the check, as it should.
    """

    length: float
    waist: float
    wing: float
    thickness: float
    species: Species
    grain_across: bool = True

    def __post_init__(self) -> None:
        for name in ("length", "waist", "wing", "thickness"):
            size = getattr(self, name)
            if not 0.0 < size < float("inf"):
                raise ValueError(f"the {name} of a key must be above 0 m, not {size}")
        if self.wing <= self.waist:
            raise ValueError("a key's wing must be wider than its waist")


@dataclass(frozen=True, slots=True)
class KeysAlong:
    """So many keys along a check of a length [m], in a slab that is free or held flat."""

    key: Key
    count: int
    check_length: float
    held: Literal["free", "flat"] = "free"

    def in_a_strip(self, strip: float, slab: Species) -> float:
        """Clear capacity of the keys in the length that one bar holds [m], in a wood [N]."""
        share = min(strip / self.check_length, 1.0)
        return float(self.count * share * capacity(self.key, slab, math.inf).clear)


@dataclass(frozen=True, slots=True)
class ByNumber:
    """What each key would bear of other numbers of them.

    Attributes
    ----------
    count : ndarray (numbers,)
    demand : ndarray (numbers, samples)
        Of each [N].
    allowable : ndarray (numbers,)
        Of one [N].
    """

    count: Floats
    demand: Floats
    allowable: Floats


@dataclass(frozen=True, slots=True)
class Capacity:
    """What a key bears [N], by clear-wood strength unless told otherwise.

    Attributes
    ----------
    neck : float
        Tension at the waist.
    wing_shear : float
        The wings shear off along the waist's edges.
    slab_shear : float
        The slab beside the wings shears out toward the check.
    bearing : float
        The slab crushes under the flanks.
    splitting : float
        The slab splits from the pocket, characteristic.
    clear : float
        Least of the first four.
    allowable : float
        The least of that / 4.5 and the splitting's x 0.54.
    lasting : float
        What breaks the average one in months.
    weakest : str
        Which of the five, as a code.
    estimated : bool
        True where a strength is predicted from specific gravity.
    """

    neck: float
    wing_shear: float
    slab_shear: float
    bearing: float
    splitting: float
    clear: float
    allowable: float
    lasting: float
    weakest: str
    estimated: bool


@dataclass(frozen=True, slots=True)
class Keys:
    """Keys across a check: capacity against demand.

    Attributes
    ----------
    count : int
        Along the check.
    capacity : Capacity
        Of one key.
    demand : ndarray (samples,)
        Force per key as many as there are, of drying or at least of handling [N].
    by_drying : ndarray (samples,)
        Of drying alone [N].
    sat_on : float
        The same of somebody who sits on an edge that overhangs across the grain [N].
    index : ndarray (samples,)
        Demand over what breaks the average key in months.
    tears : float
        Chance that a key or its pocket gives way.
    verdict : str
        ``hold``, ``without-margin``, ``may-tear`` or ``will-tear``.
    needed : int or None
        Number that bears the demand by the allowable capacity; None when more than `MOST_KEYS`
        or more than fit side by side.
    opening, opening_other : ndarray (samples,)
        Width to which the check could open, untied, at the face nearer the bark and, if it runs
        through, at the other [m].
    notes : tuple of Note
    """

    count: int
    capacity: Capacity
    demand: Floats
    by_drying: Floats
    sat_on: float
    index: Floats
    tears: float
    verdict: Verdict
    needed: int | None
    opening: Floats
    opening_other: Floats
    notes: tuple[Note, ...]

    @property
    def by_number(self) -> ByNumber:
        """What each would bear of one, two, ... keys: ten, or as many as there are or need be."""
        most = max(self.count, self.needed or 0, 10)
        numbers = np.arange(1.0, most + 1.0)
        demand = self.demand * self.count / numbers[:, None]
        return ByNumber(numbers, demand, np.full(most, self.capacity.allowable))


def capacity(key: Key, slab: Species, width: float) -> Capacity:
    """What a key can bear in a slab of a wood and a width [m].

    References
    ----------
    Equilibrium of the key and the wood beside it (derived); splitting across the grain EN 1995-1-1
    8.1.4 (memory; softwood, safe for hardwood): 14 b sqrt(h_e/(1 - h_e/h)), b the depth of the
    pocket, h_e half the key's length, h half the slab.  No published tests of keys were found.

    Notes
    -----
    Each half of the key is length/2 long.  Wing shear and slab shear act on two planes of
    length/2 x thickness; the slab's planes cut its fibres, whose shear strength is 2.5 to 3 times
    that along the grain (Wood Handbook ch. 5), of which nothing is counted: a split from the
    wing's corner comes first.  The flanks bear on (wing - waist) x thickness.
    """
    own, beside = strength.of(key.species), strength.of(slab)
    half = 0.5 * key.length * key.thickness
    if key.grain_across:
        neck, shear = own.tension_along, own.shear_along
    else:
        neck, shear = own.tension_across, strength.SHARE_ACROSS_FIBRES * own.shear_along
    at_neck = key.waist * key.thickness * neck
    wings = 2.0 * half * shear
    out = 2.0 * half * beside.shear_along
    flanks = (key.wing - key.waist) * key.thickness * beside.compression_across
    far = 0.5 * key.length
    beyond = max(1.0 - far / (0.5 * width), 0.05)
    splits = SPLITTING * key.thickness * math.sqrt(far / beyond)
    clear = min(at_neck, wings, out, flanks)
    parts = (
        (at_neck / strength.CLEAR_TO_ALLOWABLE, "key-parts"),
        (wings / strength.CLEAR_TO_ALLOWABLE, "wings-shear"),
        (out / strength.CLEAR_TO_ALLOWABLE, "slab-shears"),
        (flanks / strength.CLEAR_TO_ALLOWABLE, "slab-crushes"),
        (splits * SPLITTING_DESIGN, "slab-splits"),
    )
    allowable, weakest = min(parts)
    return Capacity(
        neck=at_neck,
        wing_shear=wings,
        slab_shear=out,
        bearing=flanks,
        splitting=splits,
        clear=clear,
        allowable=allowable,
        lasting=KMOD_PERMANENT * min(clear, SPLITTING_MEAN * splits),
        weakest=weakest,
        estimated=bool(own.estimated or beside.estimated),
    )


def asked_free(
    modulus: ArrayLike, missing: ArrayLike, thickness: float, below: ArrayLike, depth: float
) -> Floats:
    """Force that drying asks of keys in a free slab, per metre of check [N/m], without set.

    Parameters
    ----------
    modulus : array_like
        E_T [Pa].
    missing : array_like
        e_R - e_T [-].
    thickness : float
        Of the slab [m].
    below : array_like
        Distance of the pith under the face away from the bark [m]; negative inside, where the check
        runs from it to the other face.
    depth : float
        Of the keys, from that face [m].

    References
    ----------
    The halves hinge on the wood under the pith: a deep edge crack (Tada, memory), its factor and
    its most fitted to plane finite elements (computed).  With the pith outside a radial check does
    not open (exact).

    Examples
    --------
    >>> round(float(asked_free(970e6, 0.00438, 0.05, -0.010, 0.025)) / 1e3, 1)
    5.2
    """
    under = np.maximum(-np.asarray(below, dtype=np.float64), 0.0) / thickness
    key = min(depth / thickness, 1.0)
    share = np.minimum(HINGE * under**2 / (1.0 - 0.5 * key - 0.5 * under), HINGE_MOST)
    return np.asarray(np.asarray(modulus) * np.asarray(missing) * thickness * share)


def asked_flat(
    modulus: ArrayLike,
    missing: ArrayLike,
    thickness: float,
    below: ArrayLike,
    depth: float,
    held_from: float = 0.0,
) -> Floats:
    """The same of a slab held flat, up to the check or only from a distance off it [m].

    References
    ----------
    The moment that takes the rings' curvature out, borne by the key and the wood below it
    (derived), with factors fitted to plane finite elements (computed).

    Examples
    --------
    >>> [round(float(asked_flat(970e6, 0.00438, 0.05, p, 0.025)) / 1e3, 1) for p in (-.01, .1)]
    [51.6, 20.7]
    """
    low = np.asarray(below, dtype=np.float64)
    half, key = 0.5 * thickness, min(depth / thickness, 1.0)
    middle = np.maximum(low + half, 1e-9)
    bend = (np.arctan(half / middle) + half * middle / (half**2 + middle**2)) / half
    lever = 0.125 if key <= 0.5 else 0.5 * key * (1.0 - key)
    outward = FLAT_AT_FACE + (1.0 - FLAT_AT_FACE) * np.clip(low / half, 0.0, 1.0)
    inward = FLAT_AT_FACE + FLAT_INWARD * np.minimum(low, 0.0) / thickness
    factor, power = LOOSE
    loose = 1.0 + factor * (held_from / thickness) ** power
    whole = np.asarray(modulus) * np.asarray(missing) * thickness**2
    return np.asarray(whole * lever * bend * np.where(low < 0.0, inward, outward) / loose)


def tension_over(stress: Floats, weight: Floats, thickness: float, depth: float) -> float:
    """Largest pull over a depth from the first layer on [N/m], never negative.

    Parameters
    ----------
    stress : ndarray (times, nodes)
        Across the grain [Pa], tension positive, from the face with the keys on.
    weight : ndarray (nodes,)
        Shares of the thickness.
    thickness, depth : float
        [m].

    Examples
    --------
    >>> even = np.full(4, 0.25)
    >>> tension_over(np.array([[2.0, 1.0, -1.0, -2.0]]), even, 0.04, 0.015)
    0.025
    """
    edges = thickness * np.concatenate(([0.0], np.cumsum(weight)))
    within = np.clip((depth - edges[:-1]) / np.diff(edges), 0.0, 1.0) * np.diff(edges)
    return max(float((stress @ within).max()), 0.0)


def asked_by_load(moment: float, thickness: float, below: float, depth: float) -> float:
    """Force that a moment across the grain asks of keys, per metre of check [N/m].

    Parameters
    ----------
    moment : float
        Per metre of the slab's length, opening the check [N m/m].
    thickness, below, depth
        As in `asked_free`.
    """
    under = max(-below, 0.0)
    lever = max(thickness - 0.5 * min(depth, thickness) - under / 3.0, 0.1 * thickness)
    return moment / lever


def missing_arc(slab: Slab, now: ArrayLike, driest: ArrayLike, samples: Samples) -> Floats:
    """Strain round the pith that is missing when a slab dries: e_R - e_T [-], never negative.

    It is what opens a radial check: 2 pi r (e_R - e_T) at a distance r (derived).
    """
    wood = slab.species
    here = np.asarray(now, dtype=np.float64) + samples.moisture
    later = np.asarray(driest, dtype=np.float64)
    starts = wood.shrinkage_starts
    over, along = (
        shrinkage.strain(total, starts, here, later) for total in wood.shrinkages(samples)
    )
    return np.maximum(over - along, 0.0)


def openings(slab: Slab, missing: Floats, below: Floats) -> tuple[Floats, Floats]:
    """Width to which an untied check opens at the face nearer the bark and at the other [m].

    2 pi r (e_R - e_T) at r from a pith inside, at the other face if the check runs through; nothing
    with the pith outside (exact).  Between them it goes over within a tenth of the thickness, as
    the place of a pith is known.
    """
    room = SURE_OF_PITH * slab.thickness
    inside = np.clip(0.5 - 0.5 * below / room, 0.0, 1.0)
    sure = inside**2 * (3.0 - 2.0 * inside)
    far = np.maximum(slab.thickness + below, 0.0)
    near = np.maximum(-below, 0.0)
    none = np.zeros_like(missing)
    return (
        sure * shape.radial_check_opening(far, -missing, none),
        sure * shape.radial_check_opening(near, -missing, none),
    )


def tie(
    slab: Slab,
    along: KeysAlong,
    now: float,
    driest: ArrayLike,
    samples: Samples,
    *,
    flattened: float | None = None,
    held_from: float = 0.0,
    wet_core: float = 0.0,
) -> Keys:
    """Capacity of keys against what drying asks of them.

    Parameters
    ----------
    slab : Slab
    along : KeysAlong
    now : float
        Mean moisture content when they are let in [%].
    driest : array_like
        Driest of the years to come [%].
    samples : Samples
    flattened : float, optional
        Share of the cup that what holds the slab takes out; 0 free or 1 flat, as `along` tells,
        when left out.
    held_from : float
        How far from the check it is held [m].
    wet_core : float
        Tension over the keys' depth while faces dry before the core, per metre of check [N/m]: see
        `tension_over`.

    Notes
    -----
    Demand: see `asked_free` and `asked_flat`, between them by the share that is held, lessened by
    set.  Plane strain of an ideal check from the pith; within 40 % free and 25 % flat of finite
    elements, and x/÷ 2 by what is known of set.
    """
    key, count, check_length = along.key, along.count, along.check_length
    if count < 1 or check_length <= 0.0:
        raise ValueError("keys need a check above 0 m long and at least one key")
    bears = capacity(key, slab.species, slab.width)
    missing = missing_arc(slab, now, driest, samples)
    change = np.broadcast_to(np.asarray(driest, dtype=np.float64) - now, (samples.count,))
    # The strain held lies round the pith, along the rings whatever the slab's grain.
    modulus = elastic(slab.species).E_T * samples.modulus
    soft = restraint.relaxed(modulus, samples.mechano, change)
    below = timber.pith_of(slab, samples).below - 0.5 * slab.thickness
    if slab.pith_below is None:
        # Taken as outside, beyond doubt, which is told.
        below = np.maximum(below, SURE_OF_PITH * slab.thickness)
    size = (slab.thickness, below, key.thickness)
    flat = along.held == "flat" if flattened is None else flattened
    asked = (1.0 - flat) * asked_free(soft, missing, *size)
    asked += flat * asked_flat(soft, missing, *size, held_from)
    asked += wet_core
    drying = asked * check_length / count
    demand = np.maximum(asked, HANDLING) * check_length / count
    whole = float(demand[0]) * count
    wanted = math.ceil(round(whole / bears.allowable, 9))
    # Side by side, with as much slab between them as a key is wide.
    room = int(check_length / (2.0 * key.wing) + 1e-9)
    needed = None if wanted > min(MOST_KEYS, max(room, 1)) else max(wanted, 1)
    opening, other = openings(slab, missing, below)
    moment = loads.on_an_edge(slab.species, loads.PERSON)
    sat_on = asked_by_load(moment, slab.thickness, float(below[0]), key.thickness)
    tears = strength.chance(demand, bears.lasting, KEY_CV)
    return Keys(
        count=count,
        capacity=bears,
        demand=demand,
        by_drying=drying,
        sat_on=sat_on * check_length / count,
        index=demand / bears.lasting,
        tears=tears,
        verdict=verdict(tears, float(demand[0]) / bears.allowable),
        needed=needed,
        opening=opening,
        opening_other=other,
        notes=tuple(_notes(slab, key, bears, float(flat))),
    )


def _notes(slab: Slab, key: Key, bears: Capacity, flat: float) -> list[Note]:
    notes = [Note("key-ties-only"), Note("keys-untested"), Note("key-pocket")]
    if slab.pith_below is None:
        notes.append(Note("key-pith-unknown"))
    if slab.pith_is_inside and flat > 0.1:
        notes.append(Note("boxed-heart-held"))
    if not key.grain_across:
        notes.append(Note("key-grain"))
    if bears.estimated:
        notes.append(Note("key-strength-estimated"))
    return notes
