"""Taking a cup out of a slab by moisture, clamps and time, and the other ways, side by side.

Every treatment is a course of stays on the course engine, under both laws of set; then a year in
the room where the slab will live, free and with bars under it.  Confidence is low throughout: the
size of set under changing moisture is judged between published figures that differ by ten times.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.answers.flattening import treatments
from model.answers.flattening.plan import (
    OVER_CORRECT,
    Case,
    Plan,
    drying_days,
    stays_of,
    wet_temperature,
)
from model.answers.flattening.treatments import Treatment, Way, treat
from model.behaviour.course import Course, Stay
from model.codes import Note, Reason, Said
from model.surroundings.room import Room

Floats = NDArray[np.float64]

HOURS: Final = (8.0, 24.0, 48.0)  # tried when a plan is proposed (practice: overnight to two days)
MUCH_GONE: Final = 0.6  # of the cup; what is left below it is called much gone (judgement)
LEAST_CUP: Final = 1.0 / 600.0  # cup over width below which planing is the plain answer (judgement)


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
        The way that leaves the least cup after a year by the central case: of those that lose no
        wood, and of all.
    try_it : bool
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
    try_it: bool
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
    """The plan that leaves the least cup after a year by the central case, round face wetted."""
    one = replace(case, samples=spread.draw(0), stiffeners=None)
    best: tuple[float, Plan] | None = None
    for hours in HOURS:
        plan = Plan("round", hours, 0.0, OVER_CORRECT, temperature, drying)
        wet = stays_of(one, replace(plan, hold_days=1.0))[:1]
        held = drying_days(one, wet, drying)
        for past in (1.0, OVER_CORRECT):
            tried = replace(plan, hold_days=held, over_correct=past)
            made = treat(one, Said("plan"), stays_of(one, tried))[0]
            left = abs(float(made.after_year[0]))
            if best is None or left < best[0] - 1e-5:
                best = (left, tried)
    assert best is not None
    return best[1]


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
    chosen = chosen if chosen.hold_days else replace(chosen, hold_days=0.0)
    made, series, after = treat(case, describe(case, chosen, stays), stays)
    others = [
        treatments.wait(case, shop),
        treatments.dry_wet_side(case, shop),
        treatments.soak_through(case, shop),
        treatments.dress(case),
        treatments.rip(case),
    ]
    alternatives = tuple(one[0] for one in others if one is not None)
    ways = sorted([made, *alternatives], key=lambda one: abs(float(one.after_year[0])))
    whole = [one for one in ways if not one.thickness_lost]
    face = ""
    uptake = None
    if chosen.wet_face is not None and chosen.hours > 0.0:
        face = case.round if chosen.wet_face == "round" else case.hollow
        uptake = _uptake(case, series, chosen.hours / 24.0, face)
    reasons = _reasons(case, chosen, made, alternatives)
    return Flattening(
        plan=chosen,
        proposed=plan is None,
        face=face,
        warmth=wet_temperature(case, chosen),
        treatment=made,
        uptake=uptake,
        series=series,
        after=after,
        alternatives=alternatives,
        best=whole[0].way,
        best_with_loss=ways[0].way,
        try_it=not reasons,
        reasons=reasons,
        weight=case.slab.weight(float(series.mean[0, 0])),
        notes=(*series.notes, *_notes(case, chosen)),
    )


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
    )


def _uptake(case: Case, series: Course, days: float, face: str) -> Uptake:
    row = int(np.searchsorted(series.days, days))
    gained = series.mean[row] - series.mean[0]
    dry = 1000.0 * case.slab.species.specific_gravity * case.slab.thickness
    per_area = dry * gained / 100.0
    depth, before = series.profile(0.0)
    _, after = series.profile(days)
    damper = np.flatnonzero(after - before > 1.0)
    reached = 0.0
    if damper.size:
        reached = (
            float(depth[damper[-1]])
            if face == "top"
            else case.slab.thickness - float(depth[damper[0]])
        )
    whole = None
    if case.slab.length is not None:
        whole = float(per_area[0]) * case.slab.width * case.slab.length
    return Uptake(per_area, whole, reached)


def _reasons(
    case: Case, plan: Plan, made: Treatment, others: tuple[Treatment, ...]
) -> tuple[Reason, ...]:
    """When not to try."""
    told = []
    left = abs(float(made.after_year[0]))
    if any(one.way == "dry-damp-side" for one in others):
        told.append(_of_uneven(case, others))
    if abs(case.cup) < LEAST_CUP * case.slab.width:
        told.append(Reason("cup-small"))
    if left > 0.8 * abs(case.cup):
        told.append(Reason("leaves-most"))
    if plan.wet_face == "hollow" and not plan.hold_days:
        told.append(Reason("hollow-wetted"))
    if float(made.after_year[0]) * case.cup < 0.0 and left > 0.3 * abs(case.cup):
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


def _notes(case: Case, plan: Plan) -> list[Note]:
    codes = ["confidence-low", "springs-back", "weights-and-clamps", "uptake-by-vapour", "checks"]
    if plan.over_correct > 1.3:
        codes.append("too-far-past-flat")
    if case.faces.top.sd > 0.1 or case.faces.bottom.sd > 0.1:
        codes.append("finish-off")
    return [Note(code) for code in codes]
