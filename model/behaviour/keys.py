"""Butterfly keys across a check: what they can bear, what is asked of them, how many.

A key ties both sides of a check together.  It does not stop the wood from drying, so the movement
it prevents becomes force in the key and tension in the wood beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour import restraint, shape, shrinkage
from model.behaviour.slab import Slab
from model.codes import Note
from model.properties import strength
from model.properties.species import Species, elastic
from model.spread import Samples

Floats = NDArray[np.float64]

# Keys every 250 to 300 mm are usual on a long check (practice); used when no spacing is given.
USUAL_SPACING: Final = 0.25  # m
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
    """So many keys along a check of a length [m]."""

    key: Key
    count: int
    check_length: float

    def in_a_strip(self, strip: float, slab: Species) -> float:
        """Clear capacity of the keys in the length that one bar holds [m], in a wood [N]."""
        share = min(strip / self.check_length, 1.0)
        return float(self.count * share * capacity(self.key, slab).clear)


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
    clear : float
        Least of the four.
    allowable : float
        Least / 4.5.
    weakest : str
        Which of the four, as a code.
    estimated : bool
        True where a strength is predicted from specific gravity.
    """

    neck: float
    wing_shear: float
    slab_shear: float
    bearing: float
    clear: float
    allowable: float
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
        Force per key as many as there are [N].
    index : ndarray (samples,)
        Demand over the clear capacity: at 1 the average key gives way.
    needed : int or None
        Number that bears the demand by the allowable capacity; None when more than `MOST_KEYS`
        or more than fit side by side.
    opening : ndarray (samples,)
        Width to which the check could open at its mouth, untied: at most [m].
    notes : tuple of Note
    """

    count: int
    capacity: Capacity
    demand: Floats
    index: Floats
    needed: int | None
    opening: Floats
    notes: tuple[Note, ...]

    @property
    def by_number(self) -> ByNumber:
        """What each would bear of one, two, ... keys: ten, or as many as there are or need be."""
        most = max(self.count, self.needed or 0, 10)
        numbers = np.arange(1.0, most + 1.0)
        demand = self.demand * self.count / numbers[:, None]
        return ByNumber(numbers, demand, np.full(most, self.capacity.allowable))


def capacity(key: Key, slab: Species) -> Capacity:
    """What a key can bear in a slab of a wood.

    References
    ----------
    Equilibrium of the key and the wood beside it (derived); no published tests of keys were found.

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
    least, weakest = min(
        (at_neck, "key-parts"),
        (wings, "wings-shear"),
        (out, "slab-shears"),
        (flanks, "slab-crushes"),
    )
    return Capacity(
        neck=at_neck,
        wing_shear=wings,
        slab_shear=out,
        bearing=flanks,
        clear=least,
        allowable=least / strength.CLEAR_TO_ALLOWABLE,
        weakest=weakest,
        estimated=bool(own.estimated or beside.estimated),
    )


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


def mouth(slab: Slab) -> float:
    """Distance from the pith at which a check's opening is told [m].

    With the pith in the slab, the face farther from it.  Elsewhere the rings only pass through, and
    a check relieves the wood about 1.5 thicknesses to either side, as a cut does (judgement; Saint
    Venant): the arc of a circle of half the thickness, and never more than the width.
    """
    if slab.pith_is_inside:
        assert slab.pith_below is not None
        return slab.thickness + slab.pith_below
    return min(0.5 * slab.thickness, slab.width / (2.0 * np.pi))


def tie(
    slab: Slab,
    along: KeysAlong,
    now: float,
    driest: ArrayLike,
    samples: Samples,
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

    Notes
    -----
    Demand: the missing strain e_R - e_T round the pith, held over the check's length and the
    thickness of the slab, against the modulus relaxed by set.  Where a check has other causes it
    is less; where the halves are held apart as well (fixed solid) it is up to twice as much.
    Low confidence: x/÷ 2.
    """
    key, count, check_length = along.key, along.count, along.check_length
    if count < 1 or check_length <= 0.0:
        raise ValueError("keys need a check above 0 m long and at least one key")
    bears = capacity(key, slab.species)
    missing = missing_arc(slab, now, driest, samples)
    change = np.broadcast_to(np.asarray(driest, dtype=np.float64) - now, (samples.count,))
    # The strain held lies round the pith, along the rings whatever the slab's grain.
    modulus = elastic(slab.species).E_T * samples.modulus
    soft = restraint.relaxed(modulus, samples.mechano, change)
    whole = soft * missing * slab.thickness * check_length
    demand = whole / count
    wanted = math.ceil(round(float(whole[0]) / bears.allowable, 9)) if whole[0] > 0.0 else 0
    # Side by side, with as much slab between them as a key is wide.
    room = int(check_length / (2.0 * key.wing) + 1e-9)
    needed = None if wanted > min(MOST_KEYS, max(room, 1)) else max(wanted, 1)
    opening = shape.radial_check_opening(mouth(slab), -missing, np.zeros_like(missing))
    return Keys(
        count, bears, demand, demand / bears.clear, needed, opening, tuple(_notes(key, bears))
    )


def _notes(key: Key, bears: Capacity) -> list[Note]:
    notes = [Note("key-ties-only"), Note("keys-untested")]
    if not key.grain_across:
        notes.append(Note("key-grain"))
    if bears.estimated:
        notes.append(Note("key-strength-estimated"))
    return notes
