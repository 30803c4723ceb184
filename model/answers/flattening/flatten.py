"""Taking a cup out of a slab by moisture, clamps and time, and the other ways, side by side.

Every treatment is a course of stays on the course engine, under both laws of set; then the room
where the slab will live, free and with bars under it, to the end of a year that is the same for all
of them: they are ranked by the largest cup in it.  Confidence is low throughout: the size of set
under changing moisture is judged between published figures that differ by ten times.

A plan that is likely to break the slab is never recommended, and one is said to help only where the
draws say so: see `judge`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.answers.flattening import treatments
from model.answers.flattening.plan import (
    BARE,
    CAME,
    STEPPING,
    WARM,
    Case,
    Plan,
    drying_days,
    heats_through_in,
    stays_of,
    wet_temperature,
)
from model.answers.flattening.treatments import SHARES, UNEVEN, Treatment, Way, Work, treat
from model.behaviour import course
from model.behaviour.course import Course, FaceName, Stay
from model.behaviour.slab import profile
from model.codes import Note, Reason, Said
from model.properties.finishes import Face, Faces
from model.properties.strength import UNLIKELY, chance
from model.surroundings.room import Room

Floats = NDArray[np.float64]

# Tried when a plan is proposed (practice: overnight to two days, and more to either side).
HOURS: Final = (4.0, 8.0, 16.0, 24.0, 48.0, 72.0)
HELPS: Final = 0.8  # of the largest cup that waiting leaves: a way that leaves more does not help
# Coefficient of variation of what a way leaves over what waiting leaves, beside the draws: what is
# wrong with the model is wrong with both (judgement).
MODEL_CV: Final = 0.20
MUCH_GONE: Final = 0.6  # of the cup; what is left below it is called much gone (judgement)
LEAST_CUP: Final = 1.0 / 600.0  # cup over width below which planing is the plain answer (judgement)


Verdict = Literal["yes", "risky", "cannot-tell", "no"]


@dataclass(frozen=True, slots=True)
class Uptake:
    """Water a wetted face takes up.

    Attributes
    ----------
    per_area : ndarray (samples,)
        [kg/m2].
    whole : float or None
        Central, over the face [kg]; None without a length.
    depth : float
        Down to which it is more than 1 % damper, central case [m].
    """

    per_area: Floats
    whole: float | None
    depth: float


@dataclass(frozen=True, slots=True)
class Flattening:
    """The plan, what comes of it, and the other ways beside it.

    Attributes
    ----------
    plan : Plan
        As given or proposed.
    proposed : bool
    face : str
        ``top`` or ``bottom``: the face the plan wets; empty when none.
    warmth : float
        Of slab and water while it is wet [degC].
    treatment : Treatment
        Of the plan.
    uptake : Uptake or None
    series, after : Course
        The plan's course, and the year after it let go, free.
    alternatives : tuple of Treatment
    best, best_with_loss : str
        The way that leaves the least cup in the year, of those that will hardly break the slab: of
        those that lose no wood, and of all.
    helps : float
        Chance that the plan leaves clearly less than waiting does.
    breaks : float
        Chance that the plan breaks the slab.
    verdict : str
        ``yes``, ``risky``, ``cannot-tell`` or ``no``.
    reasons : tuple of Reason
        Why not, or what to mind.
    weight : float or None
        Of the slab [kg].
    notes : tuple of Note
    """

    plan: Plan
    proposed: bool
    face: str
    warmth: float
    treatment: Treatment
    uptake: Uptake | None
    series: Course
    after: Course
    alternatives: tuple[Treatment, ...]
    best: Way
    best_with_loss: Way
    helps: float
    breaks: float
    verdict: Verdict
    reasons: tuple[Reason, ...]
    weight: float | None
    notes: tuple[Note, ...]

    @property
    def waiting(self) -> Treatment:
        """The way that only waits."""
        return next(one for one in self.alternatives if one.way == "wait")

    @property
    def days(self) -> Floats:
        """Days of the plan and of the year after it."""
        return np.concatenate((self.series.days, self.series.days[-1] + self.after.days))

    def joined(self, name: str) -> Floats:
        """A series of the course in the plan and the year after it, (times, samples)."""
        return np.concatenate((getattr(self.series, name), getattr(self.after, name)))


def propose(case: Case, drying: Room, temperature: float | None = None) -> Plan:
    """The plan that leaves the least cup, round face wetted, of those that will hardly break it.

    By the central case, over the year that begins when the longest of them is done.  Where none is
    safe, the one least likely to break it.
    """
    one = replace(case, samples=spread.draw(0), stiffeners=None)
    works: list[tuple[Plan, Work]] = []
    for hours in HOURS:
        plan = Plan("round", hours, 0.0, 1.0, temperature, drying)
        wet = stays_of(one, replace(plan, hold_days=1.0))[:1]
        held = drying_days(one, wet, drying)
        for share in SHARES:
            for steps in (False, True):
                lasts = held + (STEPPING if steps else 0.0)
                tried = replace(plan, hold_days=lasts, over_correct=share, in_steps=steps)
                works.append((tried, Work(one, Said("plan"), tuple(stays_of(one, tried)))))
    begins = max(work.days for _, work in works)
    found = [(plan, treat(work, begins)[0]) for plan, work in works]
    safe = [(plan, made) for plan, made in found if made.bearable]
    if not safe:
        return min(found, key=lambda pair: round(pair[1].breaks, 3))[0]
    # All at once is less work: steps only where they leave clearly less.
    safe.sort(key=lambda pair: pair[1].expected + 1e-4 * pair[0].in_steps)
    # The draws may break what the central case and its doubt do not; what the central case strains
    # as much as one that they broke is not tried.
    least = 1.0
    for plan, made in safe:
        if made.breaks >= least:
            continue
        if treatments.chance_of_breaking(case, stays_of(case, plan)) < UNLIKELY:
            return plan
        least = made.breaks
    return min(safe, key=lambda pair: round(pair[1].breaks, 3))[0]


def flatten(
    case: Case,
    drying: Room | None = None,
    plan: Plan | None = None,
    temperature: float | None = None,
) -> Flattening:
    """What a plan makes of a cup, or a proposed plan, with the other ways beside it.

    Parameters
    ----------
    case : Case
    drying : Room, optional
        Where it is treated; the room where it will live when left out.  Not a log.
    plan : Plan, optional
        Proposed when left out.
    temperature : float, optional
        Warmth while it is wet, for a proposed plan [degC].

    Raises
    ------
    ValueError
        If there is no cup.
    """
    if case.cup == 0.0:
        raise ValueError("there is no cup to take out")
    shop = (plan.drying if plan is not None else drying) or case.room
    chosen = propose(case, shop, temperature) if plan is None else plan
    stays = stays_of(case, chosen)
    works = [
        Work(case, describe(case, chosen, stays), tuple(stays)),
        treatments.wait(case, shop),
        treatments.dry_wet_side(case, shop),
        treatments.soak_through(case, shop),
        treatments.dress(case),
        treatments.rip(case),
    ]
    whole = [work for work in works if work is not None]
    begins = max(work.days for work in whole)
    followed = [treat(work, begins) for work in whole]
    series, after = followed[0][1:]
    waiting = followed[1][0]
    ways = tuple(treatments.tempered(one[0], waiting) for one in followed)
    made = ways[0]
    ranked = sorted((one for one in ways if one.bearable), key=lambda one: one.expected)
    face: FaceName | None = None
    uptake = None
    if chosen.wet_face is not None and chosen.hours > 0.0:
        face = case.round if chosen.wet_face == "round" else case.hollow
        uptake = _uptake(case, series, stays[0], face)
    helps = 1.0 - chance(
        np.abs(made.largest_in_year),
        HELPS * np.abs(waiting.largest_in_year),
        MODEL_CV,
        doubt=MODEL_CV,
    )
    reasons = _reasons(case, chosen, ways, helps)
    return Flattening(
        plan=chosen,
        proposed=plan is None,
        face=face or "",
        warmth=wet_temperature(case, chosen),
        treatment=made,
        uptake=uptake,
        series=series,
        after=after,
        alternatives=ways[1:],
        best=next(one.way for one in ranked if not one.thickness_lost),
        best_with_loss=ranked[0].way,
        helps=helps,
        breaks=made.breaks,
        verdict=judge(case, made, helps),
        reasons=reasons,
        weight=case.slab.weight(float(series.mean[0, 0])),
        notes=(*series.notes, *_notes(case, chosen, plan is None)),
    )


def judge(case: Case, made: Treatment, helps: float) -> Verdict:
    """What a plan's chances come to.

    ``no`` where it is more likely than not to break the slab for sure, or will hardly help, or
    where a slab with one damp face must first even out; ``yes`` where it will hardly break it and
    all but surely help; ``risky`` where it may break, but is likelier to help; else
    ``cannot-tell``.
    """
    if made.breaks > 1.0 - UNLIKELY or helps < UNLIKELY or abs(treatments.uneven(case)) >= UNEVEN:
        return "no"
    if abs(case.cup) < LEAST_CUP * case.slab.width:
        return "no"
    if made.breaks >= UNLIKELY:
        return "risky" if helps > made.breaks else "no"
    return "yes" if helps > 1.0 - UNLIKELY else "cannot-tell"


def describe(case: Case, plan: Plan, stays: list[Stay]) -> Said:
    """What a plan does, as a code with figures."""
    wetted = plan.wet_face is not None and plan.hours > 0.0
    return Said(
        "plan",
        wet_face=plan.wet_face if wetted else None,
        face=case.round if plan.wet_face == "round" else case.hollow,
        hours=plan.hours,
        warmth=wet_temperature(case, plan),
        hold_days=plan.hold_days,
        over_correct=plan.over_correct,
        days=stays[-1].days,
        in_steps=plan.in_steps,
    )


def _uptake(case: Case, series: Course, wetted: Stay, face: FaceName) -> Uptake:
    """What comes in at the wet face: against the same slab with that face closed.

    So what the other face loses or gains meanwhile, and a gradient that was there, do not count.
    """
    days = wetted.days
    closed = replace(Faces(BARE.top, BARE.bottom), **{face: Face(1.0e6, name="closed")})
    control = course.run(
        case.slab,
        case.moisture,
        [replace(wetted, wet_face=None, wet_hours=0.0, faces=closed)],
        case.samples,
        came=CAME,
        start_day=case.today,
        cup=case.cup,
    )
    row = int(np.searchsorted(series.days, days))
    gained = series.mean[row] - control.mean[-1]
    dry = 1000.0 * case.slab.species.specific_gravity * case.slab.thickness
    per_area = dry * gained / 100.0
    depth, without = control.profile(float(control.days[-1]))
    more = series.profile(days)[1] - without
    below = depth if face == "top" else (case.slab.thickness - depth)[::-1]
    damper = (more if face == "top" else more[::-1]) > 1.0
    # From the wet face inward as far as it is damper without a break, straight between the layers.
    ends = int(np.argmin(damper)) if not damper.all() else damper.size
    reached = 0.0
    if ends == damper.size:
        reached = case.slab.thickness
    elif ends:
        amount = more if face == "top" else more[::-1]
        share = (amount[ends - 1] - 1.0) / (amount[ends - 1] - amount[ends])
        reached = float(below[ends - 1] + share * (below[ends] - below[ends - 1]))
    whole = None
    if case.slab.length is not None:
        whole = float(per_area[0]) * case.slab.width * case.slab.length
    return Uptake(per_area, whole, reached)


def _reasons(
    case: Case, plan: Plan, ways: tuple[Treatment, ...], helps: float
) -> tuple[Reason, ...]:
    """When not to try, or what to mind."""
    told = []
    made, others = ways[0], ways[1:]
    if made.breaks >= UNLIKELY:
        if made.breaks > 1.0 - UNLIKELY:
            told.append(Reason("breaks", chance=made.breaks, in_steps=made.in_steps))
        elif helps <= made.breaks:
            told.append(Reason("risk-for-little", chance=made.breaks, helps=helps))
        else:
            told.append(Reason("may-break", chance=made.breaks, in_steps=made.in_steps))
        if not any(one.way == "dress" for one in others):
            told.append(Reason("too-thin-to-plane"))
    if abs(treatments.uneven(case)) >= UNEVEN:
        told.append(_of_uneven(case, others))
    if abs(case.cup) < LEAST_CUP * case.slab.width:
        told.append(Reason("cup-small"))
    if helps < UNLIKELY:
        told.append(Reason("leaves-most"))
    elif helps <= 1.0 - UNLIKELY and made.breaks < UNLIKELY:
        told.append(Reason("may-not-help", chance=helps))
    if plan.wet_face == "hollow":
        told.append(Reason("hollow-wetted"))
    left = float(made.largest_in_year[0])
    if left * case.cup < 0.0 and abs(left) > 0.3 * abs(case.cup):
        told.append(Reason("bends-over"))
    return tuple(told)


def _of_uneven(case: Case, others: tuple[Treatment, ...]) -> Reason:
    """What a slab with one damp face will do by itself before anything is done to it."""
    evened = next(float(one.released[0]) for one in others if one.way == "wait")
    if evened * case.cup > 0.0 and abs(evened) > abs(case.cup):
        return Reason("uneven-cups-more")
    if abs(evened) < MUCH_GONE * abs(case.cup):
        return Reason("uneven-much-goes")
    return Reason("uneven-see")


def _notes(case: Case, plan: Plan, proposed: bool) -> list[Note]:
    codes = ["confidence-low", "springs-back", "weights-and-clamps", "uptake-by-vapour", "checks"]
    if plan.over_correct > 1.3:
        codes.append("too-far-past-flat")
    if case.faces.top.sd > 0.1 or case.faces.bottom.sd > 0.1:
        codes.append("finish-off")
    ends = profile(case.moisture, np.linspace(0.0, case.slab.thickness, 41), case.slab.thickness)
    if np.ptp(ends) >= 1.0:
        codes.append("even-out-first")
    told = [Note(code) for code in codes]
    if proposed and plan.hours in (HOURS[0], HOURS[-1]):
        told.append(Note("plan-at-the-edge", hours=plan.hours))
    if wet_temperature(case, plan) > WARM:
        told.append(Note("warmth", hours=heats_through_in(case.slab.thickness)))
    if case.slab.length is None:
        told.append(Note("length-for-strength", length=treatments.USUAL_LENGTH))
    return told
