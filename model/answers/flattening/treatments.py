"""The ways of dealing with a cup, and what comes of each."""

from __future__ import annotations

import math
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
    Case,
    drying_days,
)
from model.behaviour import course
from model.behaviour.course import Course, Stay
from model.behaviour.section import FREE, Hold
from model.behaviour.stiffeners import layout, pull_per_moment
from model.behaviour.timber import timber_of
from model.codes import Said
from model.properties import air
from model.properties.finishes import Face, Faces
from model.properties.sorption import humidity_of_moisture
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room, constant

Floats = NDArray[np.float64]


UNEVEN: Final = 1.5  # % M from face to face that itself makes a cup worth waiting for (judgement)
STRIP_CUP: Final = 1.0e-3  # m left in each ripped strip (practice: what a jointer takes)
JOINT_LOSS: Final = 6.0e-3  # m of width each rip and its two jointed edges cost (practice)


@dataclass(frozen=True, slots=True)
class Pulled:
    """What bars bear that pull flat whatever cup is left.

    Attributes
    ----------
    moment, lasting : ndarray (samples,)
        On each bar, the largest and that after a year [N m].
    pull : ndarray (samples,) or None
        Largest on an outermost fixing [N]; None with fewer than two.
    """

    moment: Floats
    lasting: Floats
    pull: Floats | None


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
        Signed cup after a year in its room, free and with bars [m].
    largest_in_year : ndarray (samples,)
        Signed, largest in amount in that year, free [m].
    index : ndarray (samples,)
        Largest stress index until it is let go.
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
    thickness_lost: float
    width_lost: float
    clamping: Clamping | None
    thickness_left: float
    bars: Pulled | None = None


Way = Literal["plan", "wait", "dry-damp-side", "dampen", "dress", "rip"]
WAYS: Final[tuple[Way, ...]] = get_args(Way)


def way_of(does: Said) -> Way:
    """The way that a code of what is done stands for."""
    return cast(Way, does.code)


def treat(
    case: Case,
    does: Said,
    stays: list[Stay],
    *,
    thickness_lost: float = 0.0,
    width_lost: float = 0.0,
) -> tuple[Treatment, Course, Course]:
    """Run a treatment, let the slab go, and leave it a year in its room."""
    done = course.run(
        case.slab,
        case.moisture,
        stays,
        case.samples,
        came=CAME,
        start_day=case.today,
        cup=case.cup,
    )
    days = sum(stay.days for stay in stays)
    free = _year(case, done, days, FREE)
    held, borne = None, None
    if case.stiffeners is not None and done.slab.length is not None:
        strip = layout(case.stiffeners.along, done.slab.length).strip
        year = _year(case, done, days, Hold(bending=case.stiffeners.bar.stiffness / strip))
        held, borne = year.cup[-1], _pulled(case, year, strip)
    row = np.abs(free.cup).argmax(axis=0)
    made = Treatment(
        way=way_of(does),
        does=does,
        days=days,
        released=free.cup[0],
        after_year=free.cup[-1],
        after_year_held=held,
        largest_in_year=np.take_along_axis(free.cup, row[None], axis=0)[0],
        index=np.maximum(done.index_top, done.index_bottom).max(axis=0),
        thickness_lost=thickness_lost,
        width_lost=width_lost,
        clamping=clamping_of(case.slab, done, stays),
        thickness_left=done.slab.thickness,
        bars=borne,
    )
    return made, done, free


def _pulled(case: Case, year: Course, strip: float) -> Pulled:
    """Moment on each bar and the pull on its outermost fixings through a year."""
    assert case.stiffeners is not None
    # The course's moment acts on the slab, against its cup: the bar bears the opposite.
    moment = -strip * year.moment
    pull = None
    across = case.stiffeners.across
    if len(across) > 1:
        slab = year.slab
        timber = timber_of(slab, case.samples, year.mean[0])
        wood = float(timber.modulus[0]) * slab.thickness**3 / 12.0 * strip
        ends = [int(np.argmin(across)), int(np.argmax(across))]
        up, down = (
            float(pull_per_moment(slab.width, wood, case.stiffeners, sign)[ends].max())
            for sign in (1.0, -1.0)
        )
        pull = np.maximum(up * moment, -down * moment).max(axis=0)
    size = np.abs(moment)
    return Pulled(size.max(axis=0), size[-1], pull)


def _year(case: Case, done: Course, days: float, hold: Hold) -> Course:
    stay = Stay(
        case.room.air, YEAR, case.faces, hold=hold, humidity_spread=case.room.humidity_spread
    )
    return course.run(
        done.slab,
        done.end,
        [stay],
        case.samples,
        start_day=case.today + days,
        state=done.state,
    )


def wait(case: Case, drying: Room) -> tuple[Treatment, Course, Course]:
    """Leave it on stickers until it is even through."""
    days = drying_days(case, [], drying)
    stay = Stay(drying.air, days, BARE, humidity_spread=drying.humidity_spread)
    return treat(case, Said("wait", days=days), [stay])


def dry_wet_side(case: Case, drying: Room) -> tuple[Treatment, Course, Course] | None:
    """Only where one face is clearly damper: cover the dry one, open the other."""
    lies = [Stay(drying.air, 1.0, BARE)]
    one = course.run(case.slab, case.moisture, lies, came=CAME, start_day=case.today)
    top, bottom = float(one.shell_top[0, 0]), float(one.shell_bottom[0, 0])
    if abs(top - bottom) < UNEVEN:
        return None
    closed, bare = Face(40.0, name="closed"), Face(0.0)
    faces = Faces(bare, closed) if top > bottom else Faces(closed, bare)
    wet = "top" if top > bottom else "bottom"
    days = max(drying_days(case, [], drying) / 2.0, LEAST_HOLD)
    stay = Stay(drying.air, days, faces, humidity_spread=drying.humidity_spread)
    return treat(case, Said("dry-damp-side", wet=wet, days=days), [stay])


def dress(case: Case) -> tuple[Treatment, Course, Course] | None:
    """Plane it flat now: the middle of the hollow face and the edges of the round one stay."""
    lost = abs(case.cup)
    if lost >= 0.8 * case.slab.thickness:
        return None
    third = lost / 3.0
    top, bottom = (third, 2.0 * third) if case.cup > 0.0 else (2.0 * third, third)
    stay = Stay(
        case.room.air,
        1.0,
        case.faces,
        dress_top=top,
        dress_bottom=bottom,
        machined_flat=True,
        humidity_spread=case.room.humidity_spread,
    )
    return treat(case, Said("dress"), [stay], thickness_lost=lost)


def strips_of(cup: float, most: float = STRIP_CUP) -> int:
    """Strips to rip so that each keeps no more than a cup of `most` [m]: a cup goes as width^2.

    Examples
    --------
    >>> strips_of(0.010)
    4
    """
    return max(2, math.ceil(math.sqrt(abs(cup) / most) - 1e-9))


def rip(case: Case) -> tuple[Treatment, Course, Course]:
    """Rip, joint, glue up again; later each strip cups by itself and the panel by 1/n."""
    count = strips_of(case.cup)
    lost = abs(case.cup) / count**2
    strip = replace(case.slab, width=case.slab.width / count)
    third = lost / 3.0
    top, bottom = (third, 2.0 * third) if case.cup > 0.0 else (2.0 * third, third)
    small = replace(case, slab=strip, cup=case.cup / count**2, stiffeners=None)
    stay = Stay(
        case.room.air,
        1.0,
        case.faces,
        dress_top=top,
        dress_bottom=bottom,
        machined_flat=True,
        humidity_spread=case.room.humidity_spread,
    )
    return treat(
        small,
        Said("rip", strips=count),
        [stay],
        thickness_lost=lost,
        width_lost=(count - 1) * JOINT_LOSS,
    )


def soak_through(case: Case, drying: Room) -> tuple[Treatment, Course, Course]:
    """Bring the whole thickness to 14 %, then dry it clamped."""
    # The smooth year through twelve months may dip beyond the coldest month allowed.
    warmth = np.clip(drying.air.at(case.today)[0], *air.VALID_TEMPERATURE)
    humid = float(humidity_of_moisture(warmth, DAMP))
    damp = constant(float(warmth), humid)
    first = Stay(damp.air, drying_days(case, [], damp), BARE, name="dampened")
    held = drying_days(case, [first], drying)
    hold = Hold(
        bending=math.inf,
        curvature=8.0 * case.cup * (1.0 - OVER_CORRECT) / case.slab.width**2,
    )
    second = Stay(
        drying.air, held, BARE, hold=hold, humidity_spread=drying.humidity_spread, name="dried"
    )
    does = Said("dampen", humidity=humid, damp=first.days, moisture=DAMP, held=held)
    return treat(case, does, [first, second])
