"""What probably happened to a slab, by the model of diagnosis; and what could not have."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model import spread
from model.answers.diagnosis import history
from model.answers.diagnosis.diagnose import Diagnosis, diagnose
from model.answers.diagnosis.history import (
    BEFORE_ERROR,
    Checked,
    Fixed,
    History,
    Looks,
    Sighting,
    Torn,
)
from model.answers.diagnosis.stories import Cause
from model.behaviour import shrinkage
from model.behaviour.course import Stay
from model.behaviour.section import FREE
from model.behaviour.slab import mean_moisture
from model.properties.finishes import Faces, face
from model.repair.story import Check, Fixings, Held, Story
from model.surroundings.calendar import day_of

FITTED_WETTEST: Final = 20.0  # % M; nobody fits wetter wood indoors (judgement)
# Of wood as it is fitted, above what its room holds it at, and how that differs [% M] (judgement).
FITTED: Final = (2.0, 3.0)
HELD: Final = 8.0  # % M; what a room that nobody told of holds wood at (judgement)
DRIEST: Final = 4.0  # % M; drier a heated room hardly dries thick wood (judgement)
FEWEST_DAYS: Final = 0.5
# The story's words as diagnosis has them.
_TORN: Final[dict[Fixings, Torn | None]] = {"torn": "outer", "loose": None, "hold": "none"}
_CHECKED: Final[dict[Check, Checked]] = {
    "none": "none",
    "end": "end",
    "one_face": "face",
    "both_faces": "face",
}
_FIXED: Final[dict[Held, Fixed | None]] = {
    "solid": "solid",
    "slots": "slotted",
    "nothing": "free",
    "bars": None,
}


@dataclass(frozen=True, slots=True)
class Happened:
    """What probably happened.

    Attributes
    ----------
    diagnosis : Diagnosis or None
        None where too little was told for one: see `missing`.
    slid : bool
        Whether the gap at a wall grew by more than its wood can shrink: the slab slid.
    most : float or None
        What its whole width can have shrunk at most [m]; None where no gap was told.
    slid_chance : float or None
        How likely it slid [0..1]: that it did not shrink by as much; None where no gap was told.
    missing : tuple of str
        What a diagnosis needs: ``room``, ``since``, ``something-measured``.
    """

    diagnosis: Diagnosis | None
    slid: bool
    most: float | None
    slid_chance: float | None
    missing: tuple[str, ...]

    @property
    def cause(self) -> Cause | None:
        """The cause, where its chance is 85 % and more."""
        return None if self.diagnosis is None else self.diagnosis.main

    def chance(self, cause: Cause) -> float:
        """How likely a cause is [0..1]; 0 without a diagnosis."""
        if self.diagnosis is None:
            return 0.0
        return sum(one.chance for one in self.diagnosis.chances if one.cause == cause)


def happened(story: Story) -> Happened:
    """What probably happened to a slab that moved."""
    grew, most, chance = story.seen.gap_grew, None, None
    if grew is not None:
        most, chance = shrinks_at_most(story), chance_slid(story, grew)
    missing = _missing(story)
    found = (
        None
        if missing
        else diagnose(
            history_of(story),
            story.room,
            None if story.finish is None else story.finish.top,
            story.samples.draws,
            story.samples.seed,
        )
    )
    slid = grew is not None and most is not None and grew > most
    return Happened(found, slid, most, chance, missing)


def shrinks_at_most(story: Story) -> float:
    """What the whole width can have shrunk at most until today [m].

    By the largest tangential shrinkage of the draws, from the moisture before and its error, or
    from 20 %, to the moisture now and its error, or to 4 %.
    """
    species = story.slab.species
    tangential = np.max(species.shrinkages(story.samples)[1])
    before, now = min(species.shrinkage_starts, FITTED_WETTEST), DRIEST
    if story.moisture_before is not None:
        before = min(before, story.moisture_before + 2.0 * BEFORE_ERROR)
    if story.moisture is not None:
        mean = mean_moisture(story.moisture, story.slab_now.thickness)
        now = max(mean - 2.0 * spread.METER_SD, 0.0)
    strain = float(shrinkage.strain(tangential, species.shrinkage_starts, before, now))
    return max(-strain, 0.0) * story.slab.width


def chance_slid(story: Story, grew: float) -> float:
    """How likely the whole width did not shrink by so much [m] until today [0..1].

    Over the draws of its shrinkage, of its moisture before (as told, or as wood is usually fitted)
    and of its moisture now (as read, or what its room holds it at).
    """
    samples, species = story.samples, story.slab.species
    held = HELD if story.room is None else _held(story)
    told = story.moisture_before
    middle, deviation = (held + FITTED[0], FITTED[1]) if told is None else (told, BEFORE_ERROR)
    before = np.clip(middle + deviation * samples.humidity, DRIEST, FITTED_WETTEST)
    now = np.full(samples.count, held)
    if story.moisture is not None:
        now = mean_moisture(story.moisture, story.slab_now.thickness) + samples.moisture
    tangential = species.shrinkages(samples)[1]
    strain = shrinkage.strain(tangential, species.shrinkage_starts, before, np.maximum(now, 0.0))
    shorter = -strain * story.slab.width
    return float(np.mean(shorter[min(1, samples.draws) :] < grew))


def _held(story: Story) -> float:
    """What its room holds its wood at, on the mean of the year [%]."""
    assert story.room is not None
    room = story.room
    of_months = story.slab.species.equilibrium(room.temperature, room.relative_humidity)
    return float(np.mean(of_months))


def history_of(story: Story) -> History:
    """The story as diagnosis takes it: one stay in its room from the day it came there."""
    slab, seen, done = story.slab, story.seen, story.done
    assert story.room is not None
    assert story.since is not None
    bare = face("bare")
    stay = Stay(
        air=story.room.air,
        days=max(story.days or 0.0, FEWEST_DAYS),
        faces=story.faces or Faces(bare, bare),
        hold=FREE,
        humidity_spread=story.room.humidity_spread,
        dress_top=done.planed_top,
        dress_bottom=done.planed_bottom,
        machined_flat=bool(done.planed_top or done.planed_bottom),
    )
    before = story.moisture_before
    return History(
        slab=slab,
        stays=(stay,),
        start_day=day_of(story.since),
        faces_known=story.faces is not None,
        sightings=_sightings(story),
        before=None if before is None else (before, BEFORE_ERROR),
        looks=Looks(
            torn=None if seen.fixings is None else _TORN[seen.fixings],
            check=None if seen.check is None else _CHECKED[seen.check],
            fixed=None if done.held is None else _FIXED[done.held],
            flattened=done.flattened,
            key_split=seen.key_split,
        ),
    )


def _sightings(story: Story) -> tuple[Sighting, ...]:
    slab, seen = story.slab, story.seen
    found: list[Sighting] = []
    left = slab.thickness - story.done.planed_top - story.done.planed_bottom
    if story.moisture is not None:
        found += history.moistures_seen(story.moisture, left)
    if seen.width_after is not None:
        found.append(history.width_seen(slab, seen.width_after))
    if seen.cup is not None:
        found.append(history.cup_seen(seen.cup))
    return tuple(found)


def _missing(story: Story) -> tuple[str, ...]:
    missing = []
    if story.room is None:
        missing.append("room")
    if story.days is None or story.days < FEWEST_DAYS:
        missing.append("since")
    if story.seen.cup is None and story.seen.width_after is None:
        missing.append("something-measured")
    return tuple(missing)
