"""Taking a cup out of a slab by moisture, clamps and time, and the other ways, side by side.

Every treatment is a course of stays on the course engine, under both laws of set; then a year in
the room where the slab will live, free and with bars under it.  Confidence is low throughout: the
size of set under changing moisture is judged between published figures that differ by ten times.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.basis import Note
from model.behaviour import course
from model.behaviour.course import Course, FaceName, Stay
from model.behaviour.section import FREE, Hold
from model.behaviour.slab import Moisture, Slab
from model.behaviour.stiffeners import Stiffeners, layout, pull_per_moment
from model.behaviour.timber import timber_of
from model.properties import air
from model.properties.finishes import Face, Faces
from model.properties.sorption import equilibrium_moisture, humidity_of_moisture
from model.spread import Samples
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room, constant

Floats = NDArray[np.float64]
Wet = Literal["round", "hollow"]

# Past flat by 1.2-1.3 times the cup, not 1.5 (model runs and practice).
OVER_CORRECT: Final = 1.25
HOURS: Final = (8.0, 24.0, 48.0)  # tried when a plan is proposed (practice: overnight to two days)
EVEN_WITHIN: Final = 1.0  # % M between the layers before it is let go (practice)
WATER_GONE: Final = 0.5  # % M of what was put in that may be left in any layer (judgement)
NEAR_AIR: Final = 1.5  # % M of the mean from what the air would bring it to, the same (judgement)
LONGEST_HOLD: Final = 180.0  # days
LEAST_HOLD: Final = 14.0  # days; set needs the moisture to leave (practice)
DAMP: Final = 14.0  # % M the whole thickness is brought to (model runs)
CAUL_SPACING: Final = 0.30  # m between cauls (practice, 300-400 mm)
MUCH_GONE: Final = 0.6  # of the cup; what is left below it is called much gone (judgement)
UNEVEN: Final = 1.5  # % M from face to face that itself makes a cup worth waiting for (judgement)
STRIP_CUP: Final = 1.0e-3  # m left in each ripped strip (practice: what a jointer takes)
JOINT_LOSS: Final = 6.0e-3  # m of width each rip and its two jointed edges cost (practice)
LEAST_CUP: Final = 1.0 / 600.0  # cup over width below which planing is the plain answer (judgement)


@dataclass(frozen=True, slots=True)
class Plan:
    """Moisten, hold and dry.

    Attributes
    ----------
    wet_face : str or None
        ``round``, ``hollow`` or None.
    hours : float
        For how long the face is kept wet [h]; 0 without wetting.
    hold_days : float
        Days held after it [days]; 0 leaves it free.
    over_correct : float
        1 holds it flat; 1.25 holds it bent the other way by a quarter of the cup.
    temperature : float or None
        Of slab and water while it is wet [degC]; that of the room when None.
    drying : Room
        Where it dries while held.
    """

    wet_face: Wet | None
    hours: float
    hold_days: float
    over_correct: float
    temperature: float | None
    drying: Room


@dataclass(frozen=True, slots=True)
class Clamping:
    """What it takes to pull the slab to its held shape.

    Attributes
    ----------
    moment : ndarray (samples,)
        Largest, per metre of length [N m/m].
    lasting : ndarray (samples,)
        The same at the end of the hold [N m/m].
    cauls : int or None
        Number along the slab; None without a length.
    spacing : float
        Between cauls [m].
    force_per_clamp : ndarray (samples,)
        At each end of each caul, a bearer under the middle or a clamp at the crown [N].
    load : ndarray (samples,)
        Even load that would do the same, the slab lying on its edges, round face up [Pa].
    """

    moment: Floats
    lasting: Floats
    cauls: int | None
    spacing: float
    force_per_clamp: Floats
    load: Floats


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
    name : str
    words : str
        What is done.
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

    name: str
    words: str
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
    reasons : tuple of str
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
    best: str
    best_with_loss: str
    try_it: bool
    reasons: tuple[str, ...]
    weight: float | None
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class Case:
    """What every treatment starts from and ends in.

    Attributes
    ----------
    slab : Slab
    cup : float
        Signed, now [m]; edges up is positive.
    moisture : Moisture
    faces : Faces
        As they will be in its room.
    room : Room
        Where it will live.
    today : float
        Day number.
    samples : Samples
    stiffeners : Stiffeners or None
    """

    slab: Slab
    cup: float
    moisture: Moisture
    faces: Faces
    room: Room
    today: float
    samples: Samples
    stiffeners: Stiffeners | None = None

    @property
    def hollow(self) -> FaceName:
        """The hollow face."""
        return "top" if self.cup > 0.0 else "bottom"

    @property
    def round(self) -> FaceName:
        """The round face."""
        return "bottom" if self.cup > 0.0 else "top"


WAIT: Final = "wait until even"  # name of the treatment without any
BARE: Final = Faces(Face(0.0), Face(0.0))


def edge_force(moment: Floats, width: float, spacing: float) -> Floats:
    """Force at each end of a caul that bends a slab over a bearer at its middle [N].

    Parameters
    ----------
    moment : ndarray
        E I times the curvature to be taken out, per metre of length [N m/m].
    width, spacing : float
        Of the slab, and between cauls [m].

    Notes
    -----
    P a^3/(3 EI) = k a^2/2 with a = W/2: P = 3 M/W per metre (derived).

    Examples
    --------
    >>> float(edge_force(np.array(2290.0), 0.6, 0.3))
    3435.0
    """
    result: Floats = 3.0 * moment * spacing / width
    return result


def even_load(moment: Floats, width: float) -> Floats:
    """Even load that presses flat a slab lying on its edges [Pa].

    384 EI c/(5 W^4) = 48 M/(5 W^2) (derived).  For 5 mm over 600 x 50 mm at 800 MPa 24.7 kN/m2
    (printed).

    Examples
    --------
    >>> moment = 800e6 * 0.05**3 / 12 * 8 * 0.005 / 0.6**2
    >>> round(float(even_load(np.array(moment), 0.6)) / 1e3, 1)
    24.7
    """
    result: Floats = 48.0 * moment / (5.0 * width**2)
    return result


def warmed(drying: Room, day: float, temperature: float) -> Air:
    """The air of a room brought to a temperature [degC] with its vapour kept."""
    warmth, humidity = drying.air.at(day)
    changed = float(air.heated(warmth, humidity, temperature))
    return constant(temperature, min(max(changed, 1.0), 95.0)).air


def stays_of(case: Case, plan: Plan) -> list[Stay]:
    """The stays of a plan: wet, then held or left."""
    stays: list[Stay] = []
    spread_of = plan.drying.humidity_spread
    target = 8.0 * case.cup * (1.0 - plan.over_correct) / case.slab.width**2
    hold = Hold(bending=math.inf, curvature=target) if plan.hold_days else FREE
    if plan.wet_face is not None and plan.hours > 0.0:
        face = case.round if plan.wet_face == "round" else case.hollow
        met = plan.drying.air
        if plan.temperature is not None:
            met = warmed(plan.drying, case.today, plan.temperature)
        stays.append(
            Stay(
                met,
                plan.hours / 24.0,
                BARE,
                humidity_spread=spread_of,
                wet_face=face,
                wet_hours=plan.hours,
                name="wetted",
            )
        )
    days = plan.hold_days or drying_days(case, stays, plan.drying)
    stays.append(
        Stay(plan.drying.air, days, BARE, hold=hold, humidity_spread=spread_of, name="dried")
    )
    return stays


def drying_days(case: Case, before: list[Stay], drying: Room) -> float:
    """Days a slab must dry before it may be let go [days].

    After a wetting: until no layer is more than 0.5 % from where it would be had it lain in the
    drying room from the start.  With nothing before: until the layers are within 1 % of each other
    and the mean is near what the air would bring it to.  Central case; whole days, from
    `LEAST_HOLD` to `LONGEST_HOLD`.
    """
    wait = Stay(drying.air, LONGEST_HOLD, BARE, name="dried")

    def last_stay(stays: list[Stay]) -> Course:
        return course.run(case.slab, case.moisture, stays, start_day=case.today)

    begin = sum(stay.days for stay in before)
    done = last_stay([*before, wait])
    days, mesh, moisture = done.central[-1]
    if before:
        control = last_stay([Stay(drying.air, begin + LONGEST_HOLD, BARE)]).central[0]
        well = np.array(
            [
                np.abs(now - _between(control[0], control[2], day)).max() <= WATER_GONE
                for day, now in zip(days, moisture, strict=True)
            ]
        )
    else:
        off = np.abs(mesh.mean(moisture) - _aim(drying, case.today + days))
        well = (np.ptp(moisture, axis=1) <= EVEN_WITHIN) & (off <= NEAR_AIR)
    # The first time all is well: in a yearly room the layers may later drift apart again.
    good = np.flatnonzero(well & (days > days[0] + 1.0))
    first = float(days[good[0]]) - begin if good.size else LONGEST_HOLD
    return float(np.clip(math.ceil(first), LEAST_HOLD, LONGEST_HOLD))


def _between(days: Floats, moisture: Floats, day: float) -> Floats:
    """Rows of moisture (times, nodes) at a day, straight between them."""
    right = int(np.clip(np.searchsorted(days, day), 1, days.size - 1))
    share = (day - days[right - 1]) / (days[right] - days[right - 1])
    result: Floats = (1.0 - share) * moisture[right - 1] + share * moisture[right]
    return result


def _aim(drying: Room, days: Floats) -> Floats:
    temperature, humidity = drying.air.at_days(days)
    result: Floats = equilibrium_moisture(temperature, humidity)
    return result


def treat(
    case: Case,
    name: str,
    words: str,
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
        start_day=case.today,
        cup=case.cup,
    )
    days = sum(stay.days for stay in stays)
    free = _year(case, done, days, FREE)
    held, borne = None, None
    if case.stiffeners is not None and done.slab.length is not None:
        shared = layout(case.stiffeners.along, done.slab.length)
        bending = case.stiffeners.bar.stiffness / shared.strip
        year = _year(case, done, days, Hold(bending=bending))
        held, borne = year.cup[-1], _pulled(case, year, shared.strip)
    row = np.abs(free.cup).argmax(axis=0)
    made = Treatment(
        name=name,
        words=words,
        days=days,
        released=free.cup[0],
        after_year=free.cup[-1],
        after_year_held=held,
        largest_in_year=np.take_along_axis(free.cup, row[None], axis=0)[0],
        index=np.maximum(done.index_top, done.index_bottom).max(axis=0),
        thickness_lost=thickness_lost,
        width_lost=width_lost,
        clamping=_clamping(case, done, stays),
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
        done.moisture,
        [stay],
        case.samples,
        start_day=case.today + days,
        state=done.state,
    )


def _clamping(case: Case, done: Course, stays: list[Stay]) -> Clamping | None:
    held = [i for i, stay in enumerate(stays) if np.any(np.asarray(stay.hold.bending) > 0.0)]
    if not held:
        return None
    rows = done.stay == held[-1]
    moment = np.abs(done.moment[rows])
    largest = moment.max(axis=0)
    spacing, cauls = CAUL_SPACING, None
    if case.slab.length is not None:
        cauls = max(math.ceil(case.slab.length / CAUL_SPACING), 2)
        spacing = case.slab.length / cauls
    return Clamping(
        moment=largest,
        lasting=moment[-1],
        cauls=cauls,
        spacing=spacing,
        force_per_clamp=edge_force(largest, case.slab.width, spacing),
        load=even_load(largest, case.slab.width),
    )


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
            made = treat(one, "", "", stays_of(one, tried))[0]
            left = abs(float(made.after_year[0]))
            if best is None or left < best[0] - 1e-5:
                best = (left, tried)
    assert best is not None
    return best[1]


def _wait(case: Case, drying: Room) -> tuple[Treatment, Course, Course]:
    days = drying_days(case, [], drying)
    stay = Stay(drying.air, days, BARE, humidity_spread=drying.humidity_spread)
    words = f"leave it on stickers, both faces open, {days:.0f} days until it is even through"
    return treat(case, WAIT, words, [stay])


def _dry_wet_side(case: Case, drying: Room) -> tuple[Treatment, Course, Course] | None:
    """Only where one face is clearly damper: cover the dry one, open the other."""
    one = course.run(case.slab, case.moisture, [Stay(drying.air, 1.0, BARE)], start_day=case.today)
    top, bottom = float(one.shell_top[0, 0]), float(one.shell_bottom[0, 0])
    if abs(top - bottom) < UNEVEN:
        return None
    closed, bare = Face(40.0, name="closed"), Face(0.0)
    faces = Faces(bare, closed) if top > bottom else Faces(closed, bare)
    wet = "top" if top > bottom else "bottom"
    days = max(drying_days(case, [], drying) / 2.0, LEAST_HOLD)
    stay = Stay(drying.air, days, faces, humidity_spread=drying.humidity_spread)
    words = f"open the damp {wet} face to the air, cover the other, {days:.0f} days"
    return treat(case, "dry the damp side", words, [stay])


def _dress(case: Case) -> tuple[Treatment, Course, Course] | None:
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
    words = "plane both faces flat today; the cup's amount is what the thickness loses"
    return treat(case, "dress it flat", words, [stay], thickness_lost=lost)


def strips_of(cup: float, most: float = STRIP_CUP) -> int:
    """Strips to rip so that each keeps no more than a cup of `most` [m]: a cup goes as width^2.

    Examples
    --------
    >>> strips_of(0.010)
    4
    """
    return max(2, math.ceil(math.sqrt(abs(cup) / most) - 1e-9))


def _rip(case: Case) -> tuple[Treatment, Course, Course]:
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
    words = (
        f"rip into {count} strips, joint and glue, plane flat; the cup told is that of one strip: "
        "turn every second one over, else the rings bring the whole panel's back"
    )
    return treat(
        small,
        "rip and re-glue",
        words,
        [stay],
        thickness_lost=lost,
        width_lost=(count - 1) * JOINT_LOSS,
    )


def _soak_through(case: Case, drying: Room) -> tuple[Treatment, Course, Course]:
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
    words = (
        f"keep it in damp air ({humid:.0f} % relative humidity) {first.days:.0f} days until it is "
        f"{DAMP:.0f} % through, clamp it a quarter past flat, dry it clamped {held:.0f} days"
    )
    return treat(case, "dampen through, dry clamped", words, [first, second])


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
    made, series, after = treat(case, "the plan", describe(case, chosen, stays), stays)
    others = [
        _wait(case, shop),
        _dry_wet_side(case, shop),
        _soak_through(case, shop),
        _dress(case),
        _rip(case),
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
        best=whole[0].name,
        best_with_loss=ways[0].name,
        try_it=not reasons,
        reasons=reasons,
        weight=case.slab.weight(float(series.mean[0, 0])),
        notes=(*series.notes, *_notes(case, chosen)),
    )


def wet_temperature(case: Case, plan: Plan) -> float:
    """Of slab and water while a face is wet [degC]: as told, or that of the drying room then."""
    if plan.temperature is not None:
        return plan.temperature
    return float(plan.drying.air.at(case.today)[0])


def describe(case: Case, plan: Plan, stays: list[Stay]) -> str:
    """A plan in words."""
    parts = []
    if plan.wet_face is not None and plan.hours > 0.0:
        face = case.round if plan.wet_face == "round" else case.hollow
        warmth = wet_temperature(case, plan)
        parts.append(
            f"keep the {plan.wet_face} ({face}) face wet {plan.hours:g} hours at {warmth:.0f} °C "
            f"({1.8 * warmth + 32.0:.0f} °F)"
        )
    if plan.hold_days:
        past = "flat"
        if plan.over_correct > 1.0:
            past = f"past flat, {plan.over_correct:g} times the cup,"
        elif plan.over_correct < 1.0:
            past = f"back by {100.0 * plan.over_correct:.0f} % of the cup"
        parts.append(f"clamp it {past} and dry it held {plan.hold_days:.0f} days")
    else:
        parts.append(f"leave it free to dry {stays[-1].days:.0f} days")
    return ", then ".join(parts)


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
) -> tuple[str, ...]:
    """When not to try."""
    told = []
    left = abs(float(made.after_year[0]))
    if any(one.name == "dry the damp side" for one in others):
        told.append(_of_uneven(case, others))
    if abs(case.cup) < LEAST_CUP * case.slab.width:
        told.append("The cup is small: planing takes it out with less risk than water.")
    if left > 0.8 * abs(case.cup):
        told.append("The plan leaves most of the cup, or makes it worse.")
    if plan.wet_face == "hollow" and not plan.hold_days:
        told.append("A hollow face wetted and left to dry ends a little more hollow.")
    if float(made.after_year[0]) * case.cup < 0.0 and left > 0.3 * abs(case.cup):
        told.append(
            "The plan bends it the other way: wet it for less time, or hold it less past flat."
        )
    return tuple(told)


def _of_uneven(case: Case, others: tuple[Treatment, ...]) -> str:
    """What a slab with one damp face will do by itself before anything is done to it."""
    evened = next(float(one.released[0]) for one in others if one.name == WAIT)
    told = "One face is damper than the other: "
    if evened * case.cup > 0.0 and abs(evened) > abs(case.cup):
        return told + "as it evens out it will cup more. Let it come to rest, then flatten that."
    if abs(evened) < MUCH_GONE * abs(case.cup):
        return told + "let it even out first, much of the cup will go."
    return told + "let it even out first, and see what cup is left."


def _notes(case: Case, plan: Plan) -> list[Note]:
    told = [
        Note(
            "confidence-low",
            "Confidence is low: try it on an offcut. One measured figure exists (43 % of a twist "
            "taken out by steam under load); the rest is the model's, under two laws of set.",
            "",
            "physics of set: Ranta-Maunus; Toratti & Svensson 2000, 2002 (memory)",
        ),
        Note(
            "springs-back",
            "10 to 30 % of the cup springs back when let go after moistening through and drying "
            "clamped; 65 to 125 % of it remains after wetting the hollow face and clamping; of a "
            "correction 25 to 85 % is left after three years of seasons.",
            "",
            "model runs; printed: the warp returns",
        ),
        Note(
            "weights-and-clamps",
            "Weights steer a slab while it dries; clamps flatten it. What is clamped without a "
            "change of moisture comes back whole.",
            "/plan/hold",
            "printed and derived",
        ),
        Note(
            "uptake-by-vapour",
            "The wet face is held at fibre saturation; water drawn in as liquid is not counted, "
            "so more may go in, and dry out again, than told.",
            "/plan/wet_face",
            "physics of the model",
        ),
        Note(
            "checks",
            "3 to 11 MPa can stand at a wetted or clamped face: look for checks daily, and stop "
            "when the first opens.",
            "/plan",
            "model runs",
        ),
    ]
    if plan.over_correct > 1.3:
        told.append(
            Note(
                "too-far-past-flat",
                "Past flat by 1.2 to 1.3 times is enough; by 1.5 it tends to stay bent the other "
                "way.",
                "/plan/over_correct",
                "model runs; common practice",
            )
        )
    if case.faces.top.sd > 0.1 or case.faces.bottom.sd > 0.1:
        told.append(
            Note(
                "finish-off",
                "The treatment is worked out on bare faces: a finish must come off before water "
                "can do anything, and go on again afterwards.",
                "/faces",
                "common practice, no source",
            )
        )
    return told
