"""What a slab settles to in a room, how long that takes, and how it moves meanwhile and every year.

The slab is followed from the day it arrives, then its periodic year is found: the course that
repeats itself every year.  All figures are taken over a batch of samples, index 0 the central case.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import edges, rings, shape, timber
from model.behaviour.shape import Cupped
from model.behaviour.slab import Moisture, Slab, mean_moisture
from model.behaviour.year import CENTRAL_MISS, SLOWEST_LEFT, Sorption, Years, years
from model.codes import Note, Reason
from model.properties import sorption
from model.properties.finishes import Faces
from model.properties.species import Species
from model.spread import Figure, Samples
from model.surroundings.calendar import YEAR, month_of
from model.surroundings.room import Room

Floats = NDArray[np.float64]

TRACE_YEARS: Final = 2.0  # years of the course given for a chart
TRACE_POINTS: Final = 147  # about every five days of it
EVEN_WITHIN: Final = 2.0  # % M between shell and core of stock fit to work (practice)
CAME: Final = {"drying": "came-drying", "wetting": "came-wetting", "unknown": "came-unknown"}
REMEMBERED: Final = 0.1  # % M apart in the year's mean from which the way it came is told
NEAR_WITHIN: Final = 1.5  # % M from what the room's year makes of it (judgement)


@dataclass(frozen=True, slots=True)
class Month:
    """An extreme of the year: month 1 to 12, moisture [%], days it comes after the room's."""

    month: int
    moisture: Figure
    lag_days: Figure


@dataclass(frozen=True, slots=True)
class Size:
    """A dimension [m]: now, at the year's mean, and at its narrowest and widest with months."""

    now: float
    settled: Figure
    narrowest: Figure
    narrowest_month: int
    widest: Figure
    widest_month: int


@dataclass(frozen=True, slots=True)
class Cup:
    """A signed cup [m], positive edges up, over a width [m], and when it comes.

    `day` counts from arrival; `month` is 1 to 12.
    """

    signed: Figure
    width: float
    day: Figure | None = None
    month: int | None = None

    @property
    def cupped(self) -> Cupped:
        """As it is told."""
        return shape.cupped(self.signed, self.width)


@dataclass(frozen=True, slots=True)
class YearlyCup:
    """Both ends of the yearly course of the cup: the larger in amount first."""

    larger: Cup
    other: Cup


@dataclass(frozen=True, slots=True)
class Fitness:
    """Whether the slab is fit to be worked now, and why.

    Attributes
    ----------
    ready : bool
    reasons : tuple of Reason
    largest_difference : float
        Largest difference of moisture through the thickness [%].
    distance : float
        Mean moisture now less the settled mean [%].
    """

    ready: bool
    reasons: tuple[Reason, ...]
    largest_difference: float
    distance: float


@dataclass(frozen=True, slots=True)
class Trace:
    """The course for a chart: days from arrival and figures of shape (days,) [%].

    The band, 10th to 90th percentile of the mean, is None without a spread.
    """

    days: Floats
    mean: Floats
    band_low: Floats | None
    band_high: Floats | None
    top: Floats
    core: Floats
    bottom: Floats
    equilibrium: Floats


@dataclass(frozen=True, slots=True)
class Settled:
    """The answer to the main question.

    Attributes
    ----------
    mean : Figure
        Mean moisture over the periodic year [%].
    driest, dampest : Month
    days_within_1, days_within_half : Figure
        Days after arrival from which the mean stays within 1 and 0.5 % M of that year's course.
    width, thickness : Size
    cup_on_the_way, cup_yearly_up, cup_yearly_down : Cup
        Largest cup before it has settled; both ends of the yearly course.
    gap_per_edge : Figure
        Room to leave at each edge when fitted today [m].
    opens_per_edge : Figure
        How far each edge draws back from where it is today, at the narrowest [m].
    gap_when_settled : Figure
        Room to leave at each edge when fitted after it has settled, at the mean of its year [m].
    gap_when_narrowest : Figure
        The same when fitted in the month in which it is narrowest [m].
    fitness : Fitness
    room : Room
        The room it is in.
    weight : float or None
        Now [kg]; None without a length.
    trace : Trace
    notes : tuple of Note
    formulas : tuple of str
        Ids in the list of formulas that the answer leans on.
    """

    mean: Figure
    driest: Month
    dampest: Month
    days_within_1: Figure
    days_within_half: Figure
    width: Size
    thickness: Size
    cup_on_the_way: Cup
    cup_yearly_up: Cup
    cup_yearly_down: Cup
    gap_per_edge: Figure
    opens_per_edge: Figure
    gap_when_settled: Figure
    gap_when_narrowest: Figure
    fitness: Fitness
    room: Room
    weight: float | None
    trace: Trace
    notes: tuple[Note, ...]
    formulas: tuple[str, ...]

    @property
    def cup_yearly(self) -> YearlyCup:
        """Both ends of the yearly course, the larger in amount first."""
        up, down = self.cup_yearly_up, self.cup_yearly_down
        upward = abs(up.signed.value) >= abs(down.signed.value)
        return YearlyCup(up, down) if upward else YearlyCup(down, up)


def settle(
    slab: Slab,
    moisture: Moisture,
    faces: Faces,
    room: Room,
    arrives: float,
    samples: Samples | None = None,
    came: Sorption = "drying",
    course: Years | None = None,
) -> Settled:
    """What a slab settles to in a room.

    Parameters
    ----------
    slab : Slab
        Its size is that of today.
    moisture : Moisture
        Today's moisture [%].
    faces : Faces
    room : Room
        A room by months, or one steady air; not a log, which has no year.
    arrives : float
        Day number of arrival (see `room.day_of`).
    samples : Samples, optional
        The central case alone when left out.
    came : {"drying", "wetting", "unknown", "mean"}
        How the wood came to its moisture, as in `years`.
    course : Years, optional
        What `years` made of the same species, thickness, moisture, faces, room, day, samples
        and sorption,
        so that slabs of several widths share it; made here when left out.

    Returns
    -------
    Settled

    References
    ----------
    Physics as in `transport`, `sorption` and `shape`; the cup is that of an elastic free plate.
    """
    if len(room.months) != 12 or (room.air.period is None and room.air.days.size > 1):
        raise ValueError("settling needs the twelve months of a year or one steady air, not a log")
    samples = spread.draw(0) if samples is None else samples
    if course is None:
        course = years(slab, moisture, faces, room, arrives, samples, came)
    mesh, start = course.grid, course.start
    geometry = timber.rings_of(slab, samples)
    way, year = course.followed, course.periodic
    way_days, year_days = way.days, year.days
    way_mean, mean = way.mean, year.mean
    width = shape.width_of(geometry, year.strains)
    thickness = shape.thickness_of(slab, geometry, year.strains)
    yearly_cup = shape.cup_of(geometry, year.strains)
    way_cup = shape.cup_of(geometry, way.strains)
    way_width = shape.width_of(geometry, way.strains)
    settled_mean = mean[1:].mean(axis=0)
    within = [
        _days_within(way_days, way_mean, year_days, mean, course.left, limit)
        for limit in (1.0, 0.5)
    ]
    settled_width = width[1:].mean(axis=0)
    widest = np.maximum(way_width.max(axis=0), width.max(axis=0))
    narrowest = np.minimum(way_width.min(axis=0), width.min(axis=0))
    fitness = _fitness(start[0], mesh.weight, settled_mean[0], mean[:, 0])
    return Settled(
        mean=spread.figure(settled_mean),
        driest=_month(year_days, mean, room, lowest=True),
        dampest=_month(year_days, mean, room, lowest=False),
        days_within_1=spread.figure(within[0]),
        days_within_half=spread.figure(within[1]),
        width=_size(slab.width, year_days, width),
        thickness=_size(slab.thickness, year_days, thickness),
        cup_on_the_way=_largest(slab.width, way_days - arrives, way_cup, within[1]),
        cup_yearly_up=_yearly(slab.width, year_days, yearly_cup, np.argmax(yearly_cup[:, 0])),
        cup_yearly_down=_yearly(slab.width, year_days, yearly_cup, np.argmin(yearly_cup[:, 0])),
        gap_per_edge=spread.figure(np.maximum(0.5 * (widest - slab.width), 0.0)),
        opens_per_edge=spread.figure(np.maximum(0.5 * (slab.width - narrowest), 0.0)),
        gap_when_settled=spread.figure(0.5 * (width.max(axis=0) - settled_width)),
        gap_when_narrowest=spread.figure(0.5 * (width.max(axis=0) - width.min(axis=0))),
        fitness=fitness,
        room=room,
        weight=slab.weight(mean_moisture(moisture, slab.thickness)),
        trace=_trace(course, room, arrives, slab.species),
        notes=(
            *_notes(slab, moisture, room, course, within),
            *_remembered(came, course),
            *edges.notes(slab, course.wood),
            *edges.ends_note(slab, way_days - arrives, way_mean[:, 0], float(settled_mean[0])),
        ),
        formulas=(
            "equilibrium-moisture", "hysteresis", "transport-diffusion", "transport-face",
            "transport-scheme", "settle-periodic-year", "shrinkage", *rings.formulas(slab),
            "spread",
        ),
    )  # fmt: skip


def _between(days: Floats, values: Floats, asked: Floats) -> Floats:
    """Values (days, ...) on other days, straight between their own."""
    right = np.clip(np.searchsorted(days, asked), 1, days.size - 1)
    share = ((asked - days[right - 1]) / (days[right] - days[right - 1]))[:, None]
    result: Floats = (1.0 - share) * values[right - 1] + share * values[right]
    return result


def _periodic(days: Floats, values: Floats, asked: Floats) -> Floats:
    """Values of a periodic year at any days, shape (asked, samples)."""
    return _between(days, values, days[0] + np.mod(asked - days[0], YEAR))


def _days_within(
    days: Floats, mean: Floats, year_days: Floats, year: Floats, left: Floats, limit: float
) -> Floats:
    """Days from the start after which the mean stays within a limit of the yearly course.

    Past the days followed, the miss is taken to shrink by the share `left` each year.
    """
    miss = np.abs(mean - _periodic(year_days, year, days))
    outside = miss > limit
    result = np.zeros(mean.shape[1])
    for sample in np.flatnonzero(outside.any(axis=0)):
        last = int(np.flatnonzero(outside[:, sample])[-1])
        if last + 1 < days.size:
            above, below = miss[last, sample], miss[last + 1, sample]
            part = (above - limit) / (above - below)
            result[sample] = days[last] + part * (days[last + 1] - days[last]) - days[0]
        else:
            shrink = -np.log(np.clip(left[sample], 1e-3, SLOWEST_LEFT)) / YEAR
            beyond = float(np.log(miss[last, sample] / limit) / shrink)
            result[sample] = days[-1] - days[0] + beyond
    return result


def _month(days: Floats, mean: Floats, room: Room, *, lowest: bool) -> Month:
    sign = -1.0 if lowest else 1.0
    place = np.argmax(sign * mean, axis=0)
    warmth, humidity = room.air.at_days(days)
    air = sorption.equilibrium_moisture(warmth, humidity)[:, None]  # its kind moves no peak
    lag = np.mod(_peak_day(days, sign * mean) - _peak_day(days, sign * air), YEAR)
    return Month(
        month=month_of(float(days[place[0]])),
        moisture=spread.figure(mean[place, np.arange(mean.shape[1])]),
        lag_days=spread.figure(np.where(lag > 0.75 * YEAR, lag - YEAR, lag)),
    )


def _peak_day(days: Floats, values: Floats) -> Floats:
    """Day of the highest value of each column over a year of even steps, by a parabola."""
    open_year = values[:-1]
    place, column = np.argmax(open_year, axis=0), np.arange(values.shape[1])
    before = open_year[place - 1, column]
    after = open_year[(place + 1) % open_year.shape[0], column]
    bend = before - 2.0 * open_year[place, column] + after
    shift = np.where(bend < 0.0, 0.5 * (before - after) / np.where(bend < 0.0, bend, 1.0), 0.0)
    result: Floats = days[place] + shift * (days[1] - days[0])
    return result


def _size(now: float, days: Floats, values: Floats) -> Size:
    return Size(
        now=now,
        settled=spread.figure(values[1:].mean(axis=0)),
        narrowest=spread.figure(values.min(axis=0)),
        narrowest_month=month_of(float(days[np.argmin(values[:, 0])])),
        widest=spread.figure(values.max(axis=0)),
        widest_month=month_of(float(days[np.argmax(values[:, 0])])),
    )


def _largest(width: float, days: Floats, cup: Floats, until: Floats) -> Cup:
    """The largest cup before each sample has settled, signed, with its day."""
    before = np.where(days[:, None] <= np.maximum(until, days[1]), np.abs(cup), -1.0)
    place = before.argmax(axis=0)
    return Cup(
        spread.figure(cup[place, np.arange(cup.shape[1])]),
        width,
        day=spread.figure(days[place]),
    )


def _yearly(width: float, days: Floats, cup: Floats, place: np.intp) -> Cup:
    """The cup of every sample on the day when that of the central one is at an end."""
    return Cup(spread.figure(cup[place]), width, month=month_of(float(days[place])))


def _fitness(start: Floats, weight: Floats, settled: float, year: Floats) -> Fitness:
    uneven = float(start.max() - start.min())
    now = float(start @ weight)
    distance = now - settled
    way = "wetter" if distance > 0.0 else "drier"
    against = []
    if uneven > EVEN_WITHIN:
        against.append(Reason("uneven", by=uneven))
    if not year.min() - 0.5 <= now <= year.max() + 0.5 and abs(distance) > NEAR_WITHIN:
        against.append(Reason(way, by=abs(distance)))
    if against:
        return Fitness(False, tuple(against), uneven, distance)
    code = "taken-even-and-near" if uneven < 0.05 else "even-and-near"
    reason = Reason(code, uneven=uneven, by=abs(distance), way=way)
    return Fitness(True, (reason,), uneven, distance)


def _trace(course: Years, room: Room, arrives: float, species: Species) -> Trace:
    run = course.followed
    end = min(float(run.days[-1]), arrives + TRACE_YEARS * YEAR)
    days = np.linspace(arrives, end, TRACE_POINTS)
    mean = _between(run.days, run.mean, days)
    state = _between(run.days, run.central, days)
    band = spread.band(mean)
    warmth, humidity = room.air.at_days(days)
    return Trace(
        days=days - arrives,
        mean=mean[:, 0],
        band_low=None if band is None else band[0],
        band_high=None if band is None else band[1],
        top=state[:, 0],
        core=state[:, state.shape[1] // 2],
        bottom=state[:, -1],
        equilibrium=species.equilibrium(warmth, humidity),
    )


def _remembered(came: Sorption, course: Years) -> tuple[Note, ...]:
    """How it came to its moisture, and where it would settle had it come the other way."""
    if came == "mean":
        return (Note("mean-curve"),)
    apart = abs(course.otherwise - float(course.periodic.mean[1:, 0].mean()))
    if apart < REMEMBERED:
        return ()
    return (Note(CAME[came], otherwise=course.otherwise, apart=apart),)


def _notes(
    slab: Slab, moisture: Moisture, room: Room, course: Years, within: list[Floats]
) -> tuple[Note, ...]:
    notes: list[Note] = [
        *room.notes,
        Note("times-weak", factor=slab.species.transport_spread),
        Note("cup-elastic"),
        Note("yearly-theory"),
    ]
    if isinstance(moisture, float | int):
        notes.append(Note("moisture-even"))
    followed = course.followed.days[-1] - course.followed.days[0]
    if np.any(within[1] > followed):
        notes.append(Note("slow-extrapolated", years=followed / YEAR))
    if course.miss > CENTRAL_MISS:
        notes.append(Note("year-not-found", miss=course.miss))
    return tuple(notes)
