"""The ways of dealing with a cup, and what comes of each over one full year common to all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, cast, get_args

import numpy as np
from numpy.typing import NDArray

from model.answers.flattening.clamping import Clamping, clamping_of
from model.answers.flattening.plan import (
    BARE,
    CAME,
    DAMP,
    LEAST_HOLD,
    OVER_CORRECT,
    STEP_DAYS,
    STEPPING,
    Case,
    drawn,
    drying_days,
)
from model.behaviour import bar_forces, course, rings, shape, timber
from model.behaviour.anchorage import Verdict
from model.behaviour.course import Course, Stay
from model.behaviour.rings import Pith
from model.behaviour.section import FREE
from model.behaviour.slab import Slab, profile
from model.behaviour.stiffeners import Grip, grip
from model.behaviour.timber import slopes
from model.codes import Said
from model.properties import air, strength
from model.properties.finishes import Face, Faces
from model.properties.strength import IN_STEPS, UNLIKELY, Bent
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room, constant

Floats = NDArray[np.float64]


UNEVEN: Final = 1.5  # % M from face to face that itself makes a cup worth waiting for (judgement)
STRIP_CUP: Final = 1.0e-3  # m left in each ripped strip (practice: what a jointer takes)
JOINT_LOSS: Final = 6.0e-3  # m of width each rip and its two jointed edges cost (practice)
SHARES: Final = (OVER_CORRECT, 1.0, 0.75, 0.5, 0.25)  # of the cup that a clamping may take out
FAR: Final = 100.0  # widths to a pith so far that the rings make no cup
# What was measured of water and clamps is one figure of steam; how much of the correction that the
# law of set tells really comes is drawn evenly between these shares (judgement).
COMES: Final = (0.3, 1.3)
USUAL_LENGTH: Final = 2.0  # m of a slab whose length is not told, for its strength (judgement)


@dataclass(frozen=True, slots=True)
class Pulled:
    """What bars bear that pull flat whatever cup is left.

    Attributes
    ----------
    moment, lasting : ndarray (samples,)
        On each bar, the largest and that after the year [N m].
    pull : ndarray (samples,) or None
        Largest on the fixing that is worst off [N]; None with fewer than two.
    breaks : float
        Chance that drawing it straight at once splits the slab.
    breaks_in_steps : float
        The same, little by little over weeks.
    tears : float or None
        Chance that a fixing tears; None without a fastener.
    verdict : str or None
        Of the fixings.
    """

    moment: Floats
    lasting: Floats
    pull: Floats | None
    breaks: float
    breaks_in_steps: float
    tears: float | None
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class Treatment:
    """One way of dealing with the cup and what comes of it.

    Attributes
    ----------
    way : str
        One of `WAYS`.
    does : Said
        What is done, as a code with figures.
    days : float
        Until it is let go [days].
    released : ndarray (samples,)
        Signed cup when let go [m].
    after_year, after_year_held : ndarray (samples,)
        Signed cup at the end of the year common to all ways, free and with bars [m].
    largest_in_year : ndarray (samples,)
        Signed, largest in amount in that year, free [m].
    index : ndarray (samples,)
        Largest stress index of the skin until it is let go.
    bends : Bent or None
        What its clamping does to the slab, its steps counted; None where nothing is clamped.
    in_steps : bool
        Whether it is drawn to its held shape little by little.
    thickness_lost, width_lost : float
        [m].
    clamping : Clamping or None
    thickness_left : float
        [m].
    bars : Pulled or None
        What the bars bear in that year.
    """

    way: Way
    does: Said
    days: float
    released: Floats
    after_year: Floats
    after_year_held: Floats | None
    largest_in_year: Floats
    index: Floats
    bends: Bent | None
    in_steps: bool
    thickness_lost: float
    width_lost: float
    clamping: Clamping | None
    thickness_left: float
    bars: Pulled | None = None

    @property
    def breaks(self) -> float:
        """Chance that its clamping breaks the slab."""
        return 0.0 if self.bends is None else self.bends.breaks

    @property
    def bearable(self) -> bool:
        """Whether it may be recommended: it is unlikely to break the slab."""
        return self.breaks < UNLIKELY

    @property
    def expected(self) -> float:
        """Amount of the largest cup in the year, over the draws [m]: ways are ranked by it."""
        drawn_ = self.largest_in_year[1:] if self.largest_in_year.size > 1 else self.largest_in_year
        return float(np.mean(np.abs(drawn_)))


Way = Literal["plan", "wait", "dry-damp-side", "dampen", "dress", "rip"]
WAYS: Final[tuple[Way, ...]] = get_args(Way)


def way_of(does: Said) -> Way:
    """The way that a code of what is done stands for."""
    return cast(Way, does.code)


@dataclass(frozen=True, slots=True)
class Work:
    """A way before it is followed.

    Attributes
    ----------
    case : Case
        What it starts from; the slab may be another one (glued up of strips).
    does : Said
    stays : tuple of Stay
        Until it is let go.
    thickness_lost, width_lost : float
        [m].
    strips : int
        Into which it is ripped; 1 leaves it whole.
    pith : Pith or None
        Of the slab that was ripped.
    """

    case: Case
    does: Said
    stays: tuple[Stay, ...]
    thickness_lost: float = 0.0
    width_lost: float = 0.0
    strips: int = 1
    pith: Pith | None = None

    @property
    def days(self) -> float:
        """Until it is let go [days]."""
        return sum(stay.days for stay in self.stays)

    @property
    def in_steps(self) -> bool:
        """Whether it is held in more than one step."""
        return len(_held(self.stays)) > 1


def _held(stays: Sequence[Stay]) -> list[int]:
    """Which of the stays are clamped."""
    return [i for i, stay in enumerate(stays) if np.any(np.asarray(stay.hold.bending) > 0.0)]


def _eased(stays: Sequence[Stay]) -> float:
    """What a slab drawn in steps bears over one drawn at once [-]: `IN_STEPS` a week apart."""
    held = _held(stays)
    if len(held) < 2:
        return 1.0
    return 1.0 + (IN_STEPS - 1.0) * min(stays[held[0]].days / STEP_DAYS, 1.0)


def treat(work: Work, begins: float) -> tuple[Treatment, Course, Course]:
    """Do the work, let the slab go, and leave it in its room through the common year.

    Parameters
    ----------
    work : Work
    begins : float
        When the year begins that all ways are compared over [days from today]: the last is done.
    """
    case, stays = work.case, list(work.stays)
    done = course.run(
        case.slab,
        case.moisture,
        stays,
        case.samples,
        came=CAME,
        start_day=case.today,
        cup=case.cup,
    )
    free = _year(case, done, work.days, begins)
    cup = free.cup
    if work.strips > 1:
        cup = cup + np.sign(cup) * np.abs(_waves(work, done, free))
    last = free.days >= free.days[-1] - YEAR - 1e-6
    held, borne = None, None
    if case.stiffeners is not None and done.slab.length is not None:
        held, borne = _with_bars(case, done, work.days, begins)
    row = np.abs(cup[last]).argmax(axis=0)
    made = Treatment(
        way=way_of(work.does),
        does=work.does,
        days=work.days,
        released=cup[0],
        after_year=cup[-1],
        after_year_held=held,
        largest_in_year=np.take_along_axis(cup[last], row[None], axis=0)[0],
        index=_skin(done),
        bends=_bends(done, stays),
        in_steps=work.in_steps,
        thickness_lost=work.thickness_lost,
        width_lost=work.width_lost,
        clamping=clamping_of(case.slab, done, stays),
        thickness_left=done.slab.thickness,
        bars=borne,
    )
    return made, done, free


def tempered(made: Treatment, waiting: Treatment) -> Treatment:
    """A way of water or clamps with the doubt that nothing was measured of it: see `COMES`.

    Draws alone; the central case stays the model's.
    """
    count = made.released.size
    if count == 1 or made.way not in ("plan", "dampen"):
        return made
    comes = COMES[0] + (COMES[1] - COMES[0]) * np.modf(0.754877666246693 * np.arange(count))[0]
    comes[0] = 1.0

    def part(name: str) -> Floats:
        alone, done = getattr(waiting, name), getattr(made, name)
        return np.asarray(alone + comes * (done - alone))

    return replace(
        made,
        released=part("released"),
        after_year=part("after_year"),
        largest_in_year=part("largest_in_year"),
    )


def _skin(done: Course) -> Floats:
    """Largest stress index of the skin, warmth counted: it softens more than it weakens."""
    warmth = np.clip(done.temperature - 20.0, 0.0, strength.SOFTENS_TO[1] - 20.0)
    softer = strength.warm_modulus(done.temperature) / (1.0 - strength.STRENGTH_BY_WARMTH * warmth)
    index = np.maximum(done.index_top, done.index_bottom) * softer[:, None]
    return np.asarray(index.max(axis=0))


def _bends(done: Course, stays: Sequence[Stay]) -> Bent | None:
    """What the clamping of a course does to its slab, its steps counted."""
    held = _held(stays)
    if not held:
        return None
    rows = np.isin(done.stay, held)
    slab = done.slab
    stress = 6.0 * done.moment[rows] / slab.thickness**2
    return strength.bent(
        stress / _eased(stays),
        strength.of(slab.species).tension_across,
        slab.thickness * slab.width * (slab.length or USUAL_LENGTH),
        done.mean[rows],
        done.temperature[rows],
    )


def chance_of_breaking(case: Case, stays: Sequence[Stay]) -> float:
    """Chance that the clamping in these stays breaks the slab; 0 where nothing is clamped."""
    done = course.run(
        case.slab,
        case.moisture,
        stays,
        case.samples,
        came=CAME,
        start_day=case.today,
        cup=case.cup,
    )
    bends = _bends(done, stays)
    return 0.0 if bends is None else bends.breaks


def _with_bars(case: Case, done: Course, days: float, begins: float) -> tuple[Floats, Pulled]:
    """The cup midway between bars at the end of the year, and what the bars bear through it."""
    assert case.stiffeners is not None
    slab = done.slab
    by = grip(slab, case.stiffeners, float(done.mean[-1, 0]), float(done.cup[-1, 0]))
    year = _year(case, done, days, begins, by)
    _, midway = by.cups(year.cup, slab.width)
    return midway[-1], _pulled(case, year, by)


def _pulled(case: Case, year: Course, by: Grip) -> Pulled:
    """What bars, their fixings and the wood bear through a year."""
    assert case.stiffeners is not None
    moment = np.abs(by.on_bar(year.moment))
    bends = bar_forces.bent_by(year.slab, by, year)
    places = bar_forces.planned(year.slab, year, case.stiffeners, case.samples)
    pulls = bar_forces.pulled(case.stiffeners, by, year, places)
    return Pulled(
        moment.max(axis=0),
        moment[-1],
        None if pulls is None else pulls.hardest,
        bends.breaks,
        bends.breaks_in_steps,
        None if pulls is None else pulls.tears,
        None if pulls is None else pulls.verdict,
    )


def _year(case: Case, done: Course, days: float, begins: float, by: Grip | None = None) -> Course:
    """From when it is let go to the end of the common year."""
    stay = Stay(
        case.room.air,
        max(begins - days, 0.0) + YEAR,
        case.faces,
        hold=FREE if by is None else by.hold,
        humidity_spread=case.room.humidity_spread,
    )
    return course.run(
        done.slab,
        done.end,
        [stay],
        case.samples,
        start_day=case.today + days,
        state=done.state,
    )


def wait(case: Case, drying: Room) -> Work:
    """Leave it on stickers until it is even through."""
    days = drying_days(case, [], drying)
    stay = Stay(drying.air, days, BARE, humidity_spread=drying.humidity_spread)
    return Work(case, Said("wait", days=days), (stay,))


def uneven(case: Case) -> float:
    """How much damper the top face is than the bottom, as told [% M]."""
    ends = profile(case.moisture, np.array([0.0, case.slab.thickness]), case.slab.thickness)
    return float(ends[0] - ends[1])


def dry_wet_side(case: Case, drying: Room) -> Work | None:
    """Only where one face is clearly damper: cover the dry one, open the other."""
    damper = uneven(case)
    if abs(damper) < UNEVEN:
        return None
    closed, bare = Face(40.0, name="closed"), Face(0.0)
    faces = Faces(bare, closed) if damper > 0.0 else Faces(closed, bare)
    wet = "top" if damper > 0.0 else "bottom"
    days = max(drying_days(case, [], drying) / 2.0, LEAST_HOLD)
    stay = Stay(drying.air, days, faces, humidity_spread=drying.humidity_spread)
    return Work(case, Said("dry-damp-side", wet=wet, days=days), (stay,))


def dress(case: Case) -> Work | None:
    """Plane it flat now: the middle of the hollow face and the edges of the round one stay."""
    lost = abs(case.cup)
    if lost >= 0.8 * case.slab.thickness:
        return None
    return Work(case, Said("dress"), (_planed(case, lost),), thickness_lost=lost)


def _planed(case: Case, lost: float) -> Stay:
    """A day in its room, planed flat at the start."""
    third = lost / 3.0
    top, bottom = (third, 2.0 * third) if case.cup > 0.0 else (2.0 * third, third)
    return Stay(
        case.room.air,
        1.0,
        case.faces,
        dress_top=top,
        dress_bottom=bottom,
        machined_flat=True,
        humidity_spread=case.room.humidity_spread,
    )


def strips_of(cup: float, most: float = STRIP_CUP) -> int:
    """Strips to rip so that each keeps no more than a cup of `most` [m]: a cup goes as width^2.

    Examples
    --------
    >>> strips_of(0.010)
    4
    """
    return max(2, math.ceil(math.sqrt(abs(cup) / most) - 1e-9))


def glued_up(slab: Slab) -> Slab:
    """A slab of strips turned over in turn: a plate as wide as before whose rings make no cup.

    Faces that dry unlike, and set, bend it as a whole, as they bend the slab.
    """
    if slab.pith_below is None:
        angle = slab.ring_angle or 0.0
    else:
        angle = rings.angle_at_middle(slab.pith_below, slab.pith_across, slab.thickness)
    far, turned = FAR * slab.width, math.radians(angle)
    return replace(
        slab, ring_angle=None, pith_below=far * math.cos(turned), pith_across=far * math.sin(turned)
    )


def rip(case: Case) -> Work:
    """Rip, joint, turn every second strip over, glue up again, plane flat."""
    count = strips_of(case.cup)
    lost = abs(case.cup) / count**2
    panel = replace(case, slab=glued_up(case.slab), cup=case.cup / count**2)
    return Work(
        panel,
        Said("rip", strips=count),
        (_planed(panel, lost),),
        thickness_lost=lost,
        width_lost=(count - 1) * JOINT_LOSS,
        strips=count,
        pith=timber.pith_of(case.slab, case.samples),
    )


def _waves(work: Work, done: Course, free: Course) -> Floats:
    """Cup of each strip by its own rings through the year [m], (times, samples).

    As that of a strip from right above the pith of the slab that was ripped, which cups most.
    """
    samples = work.case.samples
    own = work.case.slab
    strip = Slab(own.species, own.width / work.strips, own.thickness, ring_angle=0.0)
    start = own.species.shrinkage_starts
    begin = np.minimum(done.mean[0], start)
    along, over = slopes(own.species, samples, done.mean[0])
    moved = np.minimum(free.mean, start) - begin
    none = np.zeros(1)
    change = shape.Strains(along * moved, over * moved, none, none)
    assert work.pith is not None
    above = Pith(np.hypot(work.pith.below, work.pith.across), np.zeros_like(work.pith.across))
    return shape.cup_of(rings.rings(strip, above, samples.bark_up), change)


def soak_through(case: Case, drying: Room) -> Work:
    """Bring the whole thickness to 14 %, then dry it clamped, drawn in steps.

    By as much of the cup as the slab is likely to bear, the most that `SHARES` has.
    """
    # The smooth year through twelve months may dip beyond the coldest month allowed.
    warmth = np.clip(drying.air.at(case.today)[0], *air.VALID_TEMPERATURE)
    humid = float(case.slab.species.humidity_of(warmth, DAMP))
    damp = constant(float(warmth), humid)
    first = Stay(damp.air, drying_days(case, [], damp), BARE, name="dampened")
    held = drying_days(case, [first], drying) + STEPPING

    def stays(share: float) -> tuple[Stay, ...]:
        return (first, *drawn(case, held, share, drying, in_steps=True))

    share = next(
        (share for share in SHARES if chance_of_breaking(case, stays(share)) < UNLIKELY), SHARES[-1]
    )
    does = Said(
        "dampen", humidity=humid, damp=first.days, moisture=DAMP, held=held, over_correct=share
    )
    return Work(case, does, stays(share))
