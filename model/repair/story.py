"""The story of a slab as its maker tells it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from model.behaviour.evidence import Given, Readings
from model.behaviour.slab import Depths, Moisture, ShellCore, Slab
from model.behaviour.stiffeners import Stiffeners
from model.behaviour.timber import planed
from model.properties.fasteners import Fastener
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.room import Room

Fixings = Literal["hold", "loose", "torn"]
Check = Literal["none", "end", "one_face", "both_faces"]
Held = Literal["nothing", "slots", "solid", "bars"]

FLAT_WITHIN: Final = 1.0 / 300.0  # of the width: flat enough for a top (common practice, no source)
CORE: Final = 0.25  # of the thickness from which a reading is one of the core (practice)
DRESSING: Final = 3.0e-3  # m beyond twice the cup that flattening by planing takes (practice)


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of it; None where nobody looked.

    Attributes
    ----------
    cup : float or None
        Today [m, positive edges up].
    bow, twist : float or None
        Today [m]: out of straight along its length; of one corner above the other three.
    width_after : float or None
        Its width today, the slab's own being that of when it was made [m].
    gap_before, gap_after : float or None
        Between an edge and a wall, then and today [m].
    fixings : str or None
        Whether they ``hold``, came ``loose`` or are ``torn``.
    key_split : bool
    check : str or None
        ``none``, ``end``, ``one_face`` or ``both_faces``.
    decayed : bool
        Decay or insects at a fixing.
    """

    cup: float | None = None
    bow: float | None = None
    twist: float | None = None
    width_after: float | None = None
    gap_before: float | None = None
    gap_after: float | None = None
    fixings: Fixings | None = None
    key_split: bool = False
    check: Check | None = None
    decayed: bool = False

    @property
    def gap_grew(self) -> float | None:
        """By how much the gap at a wall grew [m]."""
        if self.gap_before is None or self.gap_after is None:
            return None
        return self.gap_after - self.gap_before

    @property
    def torn(self) -> bool:
        """Whether something that held it tore, split, came loose or rotted."""
        return self.fixings in ("loose", "torn") or self.key_split or self.decayed

    @property
    def split(self) -> bool:
        """Whether it checked along a face."""
        return self.check in ("one_face", "both_faces")

    @property
    def told(self) -> bool:
        """Whether anybody looked at it in its place, whatever was seen."""
        looked = (self.cup, self.bow, self.twist, self.width_after, self.gap_grew)
        return (
            any(one is not None for one in (*looked, self.fixings, self.check))
            or self.key_split
            or self.decayed
        )


@dataclass(frozen=True, slots=True)
class Done:
    """What was done to it before: planed off each face [m], how held, flattened from a cup [m]."""

    planed_top: float = 0.0
    planed_bottom: float = 0.0
    held: Held | None = None
    flattened: float | None = None


@dataclass(frozen=True, slots=True)
class AtHand:
    """What there is to work with."""

    meter: bool = True
    clamps: bool = True
    planer: bool = True


@dataclass(frozen=True, slots=True)
class Wanted:
    """What it must become: cup to stay within [m], thickness to keep [m], when it must be done."""

    flat_within: float | None = None
    thickness: float | None = None
    by: datetime.date | None = None


@dataclass(frozen=True, slots=True)
class Story:
    """A slab, what happened to it, and what it must become.

    Attributes
    ----------
    slab : Slab
        With the size it had when it was made or came to where it is; `slab_now` is that of today.
    starts : date
        Today.
    samples : Samples
    moisture : Moisture or None
        As read today [%].
    moisture_before : float or None
        As read when it was made [%].
    room : Room or None
        Where it lives, or will live.
    shop : Room or None
        Where the work is done; its own room when None.
    since : date or None
        When it came into that room.
    faces : Faces or None
        What is on its faces as it lies in use; None where it is not told.
    finish : Faces or None
        What is to be on them afterwards; the better of both faces as told on both when None.
    seen, done, at_hand, wanted
    bars : Stiffeners or None
        That hold it, or may.
    fastener : Fastener or None
    """

    slab: Slab
    starts: datetime.date
    samples: Samples
    moisture: Moisture | None = None
    moisture_before: float | None = None
    room: Room | None = None
    shop: Room | None = None
    since: datetime.date | None = None
    faces: Faces | None = None
    finish: Faces | None = None
    seen: Seen = field(default_factory=Seen)
    done: Done = field(default_factory=Done)
    at_hand: AtHand = field(default_factory=AtHand)
    wanted: Wanted = field(default_factory=Wanted)
    bars: Stiffeners | None = None
    fastener: Fastener | None = None

    @property
    def in_place(self) -> bool:
        """Whether it is in its place and was looked at there; else it is on its way."""
        return self.seen.told

    @property
    def slab_now(self) -> Slab:
        """The slab of today: with what was planed off it gone, and the width it has."""
        done, width = self.done, self.seen.width_after
        left = self.slab
        if done.planed_top or done.planed_bottom:
            left = planed(left, done.planed_top, done.planed_bottom)
        return left if width is None else replace(left, width=width)

    @property
    def core_read(self) -> bool:
        """Whether its moisture is known through the thickness: in the core and outside it."""
        told = self.moisture
        if isinstance(told, Readings):
            at = [one.depth for one in told.values if one.depth is not None]
            return bool(at) and max(at) >= CORE * self.slab.thickness > min(at)
        return isinstance(told, Depths | ShellCore | Given)

    @property
    def flat_within(self) -> float:
        """Cup that is flat enough [m]."""
        told = self.wanted.flat_within
        return FLAT_WITHIN * self.slab.width if told is None else told

    @property
    def days(self) -> float | None:
        """Days it has been in its room; None where it is not told."""
        return None if self.since is None else float((self.starts - self.since).days)

    def planing_left(self, cup: float) -> float | None:
        """Thickness left over once a cup [m] is planed away [m]; None where none must be kept.

        The thickness must be the final one, twice the cup and 3 mm (common practice, no source).
        """
        if self.wanted.thickness is None:
            return None
        return self.slab_now.thickness - (self.wanted.thickness + 2.0 * abs(cup) + DRESSING)
