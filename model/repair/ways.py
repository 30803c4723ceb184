"""Which way a cup that stays is dealt with: flattened, planed, ripped, held, or given up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from model.answers.flattening.flatten import Flattening, flatten
from model.answers.flattening.plan import Case
from model.codes import Said
from model.properties.finishes import Faces
from model.properties.strength import UNLIKELY
from model.repair.happened import Happened
from model.repair.steps import Step
from model.repair.story import DRESSING, Story
from model.spread import Figure
from model.surroundings.calendar import day_of

REST: Final = 14.0  # days between planing and a last look (common practice, no source)
CHECK_CUP: Final = 1.0e-3  # m of cup after that rest from which it is planed again (practice)
# Deviations between the 10th and the 90th percentile of a normal distribution.
TENTHS: Final = 2.0 * 1.2815515655446004
LEAST_PLANED: Final = 0.7  # of the thickness that planing must leave where no final one is told

Way = Literal["none", "flatten", "flatten-in-steps", "plane-both", "rip", "hold-flat", "give-up"]


@dataclass(frozen=True, slots=True)
class Chosen:
    """The way chosen, its steps, and the flattening that was weighed for it, if it was."""

    way: Way
    steps: tuple[Step, ...]
    flattening: Flattening | None = None


def chance_within(figure: Figure, limit: float) -> float:
    """Chance that a figure lies within a limit of zero, by a normal through its percentiles.

    Examples
    --------
    >>> chance_within(Figure(0.0, -0.001, 0.001), 0.001).__round__(2)
    0.8
    >>> chance_within(Figure(0.002), 0.001)
    0.0
    """
    if figure.low is None or figure.high is None or figure.high <= figure.low:
        return float(abs(figure.value) <= limit)
    deviation = (figure.high - figure.low) / TENTHS

    def below(value: float) -> float:
        return 0.5 * (1.0 + math.erf((value - figure.value) / deviation / math.sqrt(2.0)))

    return below(limit) - below(-limit)


def hopeless(story: Story) -> Said | None:
    """Why a slab is better given up; None where it is not."""
    seen = story.seen
    if seen.decayed and (seen.check == "both_faces" or seen.fixings == "torn"):
        return Said("give-up", why="decayed")
    if seen.twist is not None and story.wanted.thickness is not None:
        left = story.slab_now.thickness - story.wanted.thickness - DRESSING
        if seen.twist > left:
            return Said("give-up", why="twist", twist=seen.twist, left=max(left, 0.0))
    return None


def boxed(story: Story) -> bool:
    """Whether its heart is in it: the pith, or a check along it, inside."""
    return story.slab.pith_is_inside


def choose(
    story: Story,
    what: Happened,
    cup: float,
    moisture: float | None,
    faces: Faces,
    day: float,
) -> Chosen:
    """The way that a cup which stays is dealt with.

    Parameters
    ----------
    cup : float
        That is left once the slab is even [m, positive edges up].
    moisture : float or None
        Then [%]; None where its room is not told.
    faces : Faces
        As they will be in its room.
    day : float
        Days from today when it is even.
    """
    if boxed(story):
        return _without_force(story, cup, day, "boxed")
    if what.chance("rings") > 1.0 - UNLIKELY:
        return _without_force(story, cup, day, "rings")
    if story.done.flattened is not None:
        return _without_force(story, cup, day, "sprang-back")
    if not story.at_hand.clamps:
        return _without_force(story, cup, day, "no-clamps")
    if story.room is None or moisture is None:
        return _without_force(story, cup, day, "no-room")
    case = Case(
        story.slab_now,
        cup,
        moisture,
        faces,
        story.room,
        day_of(story.starts) + day,
        story.samples,
        story.bars,
    )
    made = flatten(case)
    if made.verdict not in ("yes", "risky"):
        why = "breaks" if made.breaks >= UNLIKELY else "helps-little"
        without = _without_force(story, cup, day, why)
        return Chosen(without.way, without.steps, made)
    way: Way = "flatten" if made.verdict == "yes" else "flatten-in-steps"
    plan = made.plan
    does = Said(
        way,
        wet_face=made.face or None,
        hours=plan.hours if made.face else 0.0,
        hold_days=plan.hold_days,
        over_correct=plan.over_correct,
        in_steps=plan.in_steps,
        breaks=made.breaks,
        helps=made.helps,
        left=made.treatment.expected,
    )
    return Chosen(way, (Step(does, day, made.treatment.days),), made)


def _without_force(story: Story, cup: float, day: float, why: str) -> Chosen:
    """Planed where the thickness allows, else ripped, or held by bars that are told of."""
    thick = story.slab_now.thickness
    left = story.planing_left(cup)
    final = thick - 2.0 * abs(cup) - DRESSING
    planed = left >= 0.0 if left is not None else final >= LEAST_PLANED * thick
    if planed and story.at_hand.planer:
        does = Said("plane-both", why=why, cup=abs(cup), left=final, rest=REST, again=CHECK_CUP)
        return Chosen("plane-both", (Step(does, day, REST),))
    if story.bars is not None and why != "boxed":
        return Chosen("hold-flat", (Step(Said("hold-flat", why=why, cup=abs(cup)), day),))
    does = Said("rip", why=why, cup=abs(cup), left=final, boxed=why == "boxed")
    return Chosen("rip", (Step(does, day),))
