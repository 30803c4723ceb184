"""A plan against a cup: moisten, hold and dry; its stays, and how long it must dry."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import course
from model.behaviour.course import Course, FaceName, Stay
from model.behaviour.section import Hold
from model.behaviour.slab import Moisture, Slab
from model.behaviour.stiffeners import Stiffeners
from model.behaviour.year import Sorption
from model.properties import air
from model.properties.finishes import Face, Faces
from model.spread import Samples
from model.surroundings.air_series import Air
from model.surroundings.room import Room, constant

Floats = NDArray[np.float64]


Wet = Literal["round", "hollow"]
# A slab that has moved has lain in rooms through damp and dry: it is taken between the branches.
CAME: Final[Sorption] = "unknown"
# Past flat by 1.2-1.3 times the cup, not 1.5 (model runs and practice).
OVER_CORRECT: Final = 1.25
EVEN_WITHIN: Final = 1.0  # % M between the layers before it is let go (practice)
WATER_GONE: Final = 0.5  # % M of what was put in that may be left in any layer (judgement)
REMEMBERED: Final = 1.0  # % M, most that wood which was wet keeps more: the loop (judgement)
NEAR_AIR: Final = 1.5  # % M of the mean from what the air would bring it to, the same (judgement)
LONGEST_HOLD: Final = 180.0  # days
LEAST_HOLD: Final = 14.0  # days; set needs the moisture to leave (practice)
STEPS: Final = 4  # in which it is drawn little by little,
STEP_DAYS: Final = 7.0  # days apart (practice: a little a week)
STEPPING: Final = (STEPS - 1.0) * STEP_DAYS  # days that a hold in steps takes longer
WARM: Final = 30.0  # degC from which what warmth does is told (judgement)
DIFFUSIVITY: Final = 1.6e-7  # m2/s, of heat across the grain (memory, Wood Handbook ch. 4)
DAMP: Final = 14.0  # % M the whole thickness is brought to (model runs)


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
    in_steps : bool
        Drawn to its held shape little by little over weeks, not all at once.
    """

    wet_face: Wet | None
    hours: float
    hold_days: float
    over_correct: float
    temperature: float | None
    drying: Room
    in_steps: bool = False


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


BARE: Final = Faces(Face(0.0), Face(0.0))


def warmed(drying: Room, day: float, temperature: float) -> Air:
    """The air of a room brought to a temperature [degC] with its vapour kept."""
    warmth, humidity = drying.air.at(day)
    changed = float(air.heated(warmth, humidity, temperature))
    return constant(temperature, min(max(changed, 1.0), 95.0)).air


def stays_of(case: Case, plan: Plan) -> list[Stay]:
    """The stays of a plan: wet, then held or left."""
    stays: list[Stay] = []
    spread_of = plan.drying.humidity_spread
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
    if plan.hold_days:
        return [*stays, *drawn(case, plan.hold_days, plan.over_correct, plan.drying, plan.in_steps)]
    days = drying_days(case, stays, plan.drying)
    stays.append(Stay(plan.drying.air, days, BARE, humidity_spread=spread_of, name="dried"))
    return stays


def drawn(case: Case, days: float, over_correct: float, drying: Room, in_steps: bool) -> list[Stay]:
    """The stays of a hold: all at once, or in `STEPS` a week apart, a fifth of a shorter hold."""
    now = 8.0 * case.cup / case.slab.width**2
    wait = min(STEP_DAYS, days / (STEPS + 1.0))
    shares = [(step + 1.0) / STEPS for step in range(STEPS)] if in_steps else [1.0]
    lasts = [wait] * (len(shares) - 1)
    lasts.append(days - sum(lasts))
    return [
        Stay(
            drying.air,
            last,
            BARE,
            hold=Hold(bending=math.inf, curvature=now * (1.0 - over_correct * share)),
            humidity_spread=drying.humidity_spread,
            name="dried",
        )
        for share, last in zip(shares, lasts, strict=True)
    ]


def heats_through_in(thickness: float) -> float:
    """Hours until the middle of a slab [m] has nine tenths of its faces' rise of warmth.

    4/pi^2 ln(40/pi) = 1.031 times (t/2)^2 over the diffusivity of heat (derived: Crank 4.17, its
    first term); practice: an hour an inch.

    Examples
    --------
    >>> round(heats_through_in(0.050), 1)
    1.1
    """
    return 1.031 * (0.5 * thickness) ** 2 / DIFFUSIVITY / 3600.0


def drying_days(case: Case, before: list[Stay], drying: Room) -> float:
    """Days a slab must dry before it may be let go [days].

    After a wetting: until no layer is more than 0.5 % from where it would be had it lain in the
    drying room from the start, but for what it keeps for good because it was wet.  With nothing
    before: until the layers are within 1 % of each other and the mean is near what the air would
    bring it to.  Central case; whole days, from `LEAST_HOLD` to `LONGEST_HOLD`.
    """
    wait = Stay(drying.air, LONGEST_HOLD, BARE, name="dried")

    def last_stay(stays: list[Stay]) -> Course:
        return course.run(case.slab, case.moisture, stays, came=CAME, start_day=case.today)

    begin = sum(stay.days for stay in before)
    done = last_stay([*before, wait])
    days, mesh, moisture = done.central[-1]
    if before:
        control = last_stay([Stay(drying.air, begin + LONGEST_HOLD, BARE)]).central[0]
        more = np.array(
            [
                np.abs(now - _between(control[0], control[2], day))
                for day, now in zip(days, moisture, strict=True)
            ]
        )
        well = np.all(more <= WATER_GONE + np.minimum(more[-1], REMEMBERED), axis=1)
    else:
        off = np.abs(mesh.mean(moisture) - _aim(case, drying, case.today + days))
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


def _aim(case: Case, drying: Room, days: Floats) -> Floats:
    return case.slab.species.equilibrium(*drying.air.at_days(days))


def wet_temperature(case: Case, plan: Plan) -> float:
    """Of slab and water while a face is wet [degC]: as told, or that of the drying room then."""
    if plan.temperature is not None:
        return plan.temperature
    return float(plan.drying.air.at(case.today)[0])


def whole(
    case: Case,
    *,
    wet_face: Wet | None,
    hours: float,
    clamped: bool,
    days: float | None,
    over_correct: float,
    temperature: float | None,
    drying: Room,
    in_steps: bool = False,
) -> Plan:
    """A plan as told; held until it has dried where no days are told.

    Parameters
    ----------
    case : Case
    wet_face, hours, over_correct, temperature, drying, in_steps
        As in `Plan`.
    clamped : bool
        Whether it is held while it dries.
    days : float, optional
        Held [days].
    """
    plan = Plan(
        wet_face=wet_face,
        hours=hours if wet_face else 0.0,
        hold_days=(1.0 if days is None else days) if clamped else 0.0,
        over_correct=over_correct if clamped else 1.0,
        temperature=temperature,
        drying=drying,
        in_steps=in_steps and clamped,
    )
    if not clamped or days is not None:
        return plan
    before = stays_of(case, replace(plan, in_steps=False))[:-1]
    held = drying_days(replace(case, samples=spread.draw(0)), before, drying)
    return replace(plan, hold_days=held + (STEPPING if in_steps else 0.0))
