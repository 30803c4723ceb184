"""Bars across the underside of a slab: how flat they keep it, and what they and their fixings bear.

The slab is followed twice on the course engine, free and held by the bars' bending stiffness, so
that set is in both.  The bars are taken to slide along the slab (slots); what a solid fixing would
do is told beside it.  Between the bars the cup comes back by the slab's own softness.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import course, fixings, restraint
from model.behaviour.bars import Bar
from model.behaviour.course import Course, Stay
from model.behaviour.fixed_solid import Solid, solid
from model.behaviour.keys import Keys, KeysAlong, tie
from model.behaviour.section import FREE, Hold
from model.behaviour.slab import Moisture, Slab, mean_moisture
from model.behaviour.stiffeners import (
    Layout,
    Stiffeners,
    cups_by_count,
    layout,
    left_by_grooves,
    pull_per_moment,
)
from model.behaviour.timber import timber_of
from model.behaviour.year import years
from model.codes import Note
from model.properties.fasteners import Withdrawal
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]

FOLLOWED: Final = 2.0 * YEAR  # days; one year to come near its yearly course, one to look at
Verdict = Literal["hold", "may-tear", "will-tear"]
TEARS_AT: Final = 1.0  # pull over the mean of tests


@dataclass(frozen=True, slots=True)
class Pulls:
    """What the fixings bear.

    Attributes
    ----------
    outermost : ndarray (samples,)
        Largest pull on an outermost fixing through the course [N].
    by_point : tuple of float
        Largest pull on each fixing in the central case [N].
    by_lever : ndarray (samples,)
        Moment over the distance between the outermost fixings [N]: the plain rule, too low.
    of_allowable, of_tests : ndarray (samples,) or None
        The outermost pull over the allowable and over the mean of tests.
    verdict : str or None
        ``hold``, ``may-tear`` or ``will-tear``; None when nothing is known of them.
    """

    outermost: Floats
    by_point: tuple[float, ...]
    by_lever: Floats
    of_allowable: Floats | None
    of_tests: Floats | None
    verdict: Verdict | None


@dataclass(frozen=True, slots=True)
class Stiffened:
    """A slab with and without its bars.

    Attributes
    ----------
    days : ndarray (times,)
        Since the start.
    free, at_bars, midway : ndarray (times, samples)
        Signed cup without bars, at the bars, and midway between those farthest apart [m].
    moment : ndarray (times, samples)
        On each bar [N m], positive when the slab's edges want up.
    largest_free, largest_at_bars, largest_midway : ndarray (samples,)
        Signed, largest in amount [m].
    yearly_free, yearly_midway : ndarray (samples,)
        Swing of the cup in the last year [m].
    largest_moment : ndarray (samples,)
        Largest in amount, signed [N m].
    moment_elastic : float
        The same without set, central case [N m].
    moment_lasting : ndarray (samples,)
        Root mean square of the last year [N m].
    index_free, index_held : ndarray (samples,)
        Largest stress index of the wood, without bars and with.
    pulls : Pulls or None
    fixed_solid : Solid or None
        What the same fixings would do if solid.
    withdrawal : Withdrawal or None
    needed, needed_careful : int or None
        Bars that keep the whole cup within the limit asked, in the central and in nine of ten
        cases; None where `MOST_BARS` do not, or no limit was asked.
    bar_stress : ndarray (samples,) or None
        Largest bending stress in the bar [Pa]; None where only its stiffness is known.
    groove_loss : float
        Share of the strip's bending stiffness the groove takes [-].
    stiffeners : Stiffeners
    layout : Layout
    limit : float or None
        As asked [m].
    notes : tuple of Note
    """

    days: Floats
    free: Floats
    at_bars: Floats
    midway: Floats
    moment: Floats
    largest_free: Floats
    largest_at_bars: Floats
    largest_midway: Floats
    yearly_free: Floats
    yearly_midway: Floats
    largest_moment: Floats
    moment_elastic: float
    moment_lasting: Floats
    index_free: Floats
    index_held: Floats
    pulls: Pulls | None
    fixed_solid: Solid | None
    withdrawal: Withdrawal | None
    needed: int | None
    needed_careful: int | None
    bar_stress: Floats | None
    groove_loss: float
    stiffeners: Stiffeners
    layout: Layout
    limit: float | None
    notes: tuple[Note, ...]

    @property
    def spacing(self) -> float | None:
        """Between the bars needed in the central case [m]."""
        return self._apart(self.needed)

    @property
    def spacing_careful(self) -> float | None:
        """Between the bars needed in nine of ten cases [m]."""
        return self._apart(self.needed_careful)

    def _apart(self, count: int | None) -> float | None:
        return self.layout.count * self.layout.strip / count if count else None


@dataclass(frozen=True, slots=True)
class Held:
    """A slab with what holds it.

    Attributes
    ----------
    bars : Stiffened or None
    keys : Keys or None
    weight : float or None
        Of the slab [kg].
    notes : tuple of Note
    formulas : tuple of str
        Ids in the list of formulas.
    """

    bars: Stiffened | None
    keys: Keys | None
    weight: float | None
    notes: tuple[Note, ...]
    formulas: tuple[str, ...]


def stiffen(
    slab: Slab,
    moisture: Moisture,
    faces: Faces,
    room: Room,
    arrives: float,
    stiffeners: Stiffeners,
    samples: Samples | None = None,
    *,
    cup: float = 0.0,
    limit: float | None = None,
    key_capacity: float | None = None,
    days: float = FOLLOWED,
) -> Stiffened:
    """A slab with bars, through its first years in a room.

    Parameters
    ----------
    slab : Slab
        Of a known length.
    moisture : Moisture
        Today's [%].
    faces : Faces
    room : Room
        Not a log shorter than `days`.
    arrives : float
        Day number.
    stiffeners : Stiffeners
    samples : Samples, optional
    cup : float
        Signed cup the slab has when the bars go on [m]; they go on bent to it.
    limit : float, optional
        Cup to stay within [m].
    key_capacity : float, optional
        Clear capacity of the keys in one bar's strip [N], for what a solid fixing would do.
    days : float
        How long to follow it.

    Raises
    ------
    ValueError
        If the slab's length is not known, or the bars or fixings lie off the slab.

    Notes
    -----
    Bars are slack at the cup of today.  A groove weakens the wood under its bar; the hold on the
    ungrooved section is raised by as much, and the moment lowered again.
    """
    if slab.length is None:
        raise ValueError("bars need the slab's length")
    if any(not 0.0 <= one <= slab.width for one in stiffeners.across):
        raise ValueError("fixings lie within the width of the slab")
    drawn = spread.draw(0) if samples is None else samples
    placed = layout(stiffeners.along, slab.length)
    bar = stiffeners.bar
    left = left_by_grooves(slab, placed.strip, stiffeners)
    stay = Stay(room.air, days, faces, humidity_spread=room.humidity_spread)
    slack = 8.0 * cup / slab.width**2
    held_by = Hold(bending=bar.stiffness / placed.strip / left, curvature=slack)

    def follow(hold: Hold, batch: Samples) -> Course:
        return course.run(
            slab, moisture, [replace(stay, hold=hold)], batch, start_day=arrives, cup=cup
        )

    free, held = follow(FREE, drawn), follow(held_by, drawn)
    elastic = follow(held_by, replace(spread.draw(0), mechano=np.zeros(1)))
    timber = timber_of(slab, drawn, free.mean[0])
    per_metre = timber.modulus * slab.thickness**3 / 12.0 * left
    near, between = restraint.cup_along(per_metre, bar.stiffness, placed.widest, slab.width)
    alike = per_metre / (per_metre + bar.stiffness / placed.strip)
    # The engine's hold is smeared along the slab; the shares at and between the bars put it right.
    # Its moment acts on the slab, against the cup: the bar bears the opposite.
    to_bar = -left * placed.strip * near / alike
    at_bars, midway = (cup + (held.cup - cup) * share / alike for share in (near, between))
    bears = _fixings(
        slab, free, stiffeners, placed, to_bar * held.moment, per_metre, drawn, key_capacity
    )
    return _told(
        (stiffeners, placed, limit),
        (free, held, at_bars, midway),
        to_bar * held.moment,
        float(np.abs(to_bar[0] * elastic.moment[:, 0]).max()),
        bears,
        _wanted(slab, bar, per_metre, free.cup, cup, limit),
        min(YEAR, 0.5 * days),
        1.0 - left,
        _notes(slab, stiffeners, placed, left, cup, limit),
    )


def _wanted(
    slab: Slab, bar: Bar, per_metre: Floats, free: Floats, cup: float, limit: float | None
) -> tuple[int | None, int | None]:
    """Bars that keep the cup within a limit everywhere, in the central and in nine of ten cases."""
    if limit is None:
        return None, None
    assert slab.length is not None
    amounts = cups_by_count(free, cup, float(per_metre[0]), bar.stiffness, slab.length, slab.width)
    drawn = amounts[:, 1:] if amounts.shape[1] > 1 else amounts
    wanted: list[int | None] = []
    for one in (amounts[:, 0], np.percentile(drawn, 90.0, axis=1)):
        # A hair more than the limit is a slab that stands at it today.
        enough = np.flatnonzero(one <= limit * (1.0 + 1e-9))
        wanted.append(int(enough[0]) if enough.size else None)
    return wanted[0], wanted[1]


def _told(
    what: tuple[Stiffeners, Layout, float | None],
    courses: tuple[Course, Course, Floats, Floats],
    moment: Floats,
    elastic: float,
    bears: tuple[Pulls | None, Solid | None, Withdrawal | None],
    wanted: tuple[int | None, int | None],
    last_days: float,
    groove_loss: float,
    notes: list[Note],
) -> Stiffened:
    """The courses in the figures that are told."""
    stiffeners, placed, limit = what
    bar = stiffeners.bar
    free, held, at_bars, midway = courses
    last = free.days >= free.days[-1] - last_days
    largest = _largest(moment)
    stress = _bar_stress(bar, largest)
    if stress is not None and float(stress[0]) > bar.yields:
        notes = [*notes, Note("bar-overloaded", stress=float(stress[0]), yields=bar.yields)]
    return Stiffened(
        days=held.days,
        free=free.cup,
        at_bars=at_bars,
        midway=midway,
        moment=moment,
        largest_free=_largest(free.cup),
        largest_at_bars=_largest(at_bars),
        largest_midway=_largest(midway),
        yearly_free=np.ptp(free.cup[last], axis=0),
        yearly_midway=np.ptp(midway[last], axis=0),
        largest_moment=largest,
        moment_elastic=elastic,
        moment_lasting=np.sqrt(np.mean(moment[last] ** 2, axis=0)),
        index_free=np.maximum(free.index_top, free.index_bottom).max(axis=0),
        index_held=np.maximum(held.index_top, held.index_bottom).max(axis=0),
        pulls=bears[0],
        fixed_solid=bears[1],
        withdrawal=bears[2],
        needed=wanted[0],
        needed_careful=wanted[1],
        bar_stress=stress,
        groove_loss=groove_loss,
        stiffeners=stiffeners,
        layout=placed,
        limit=limit,
        notes=(*free.notes, *notes),
    )


def _bar_stress(bar: Bar, moment: Floats) -> Floats | None:
    """Bending stress of a bar's outermost fibre [Pa]; None where only its stiffness is known."""
    section = bar.section
    if bar.kind == "given":
        return None
    farthest = max(section.centroid, section.height - section.centroid)
    return np.asarray(np.abs(moment) * farthest / section.second_moment)


def _fixings(
    slab: Slab,
    free: Course,
    stiffeners: Stiffeners,
    placed: Layout,
    moment: Floats,
    per_metre: Floats,
    samples: Samples,
    key_capacity: float | None,
) -> tuple[Pulls | None, Solid | None, Withdrawal | None]:
    """Pulls, what the fixings would do if solid, and what draws them out."""
    across, fastener = stiffeners.across, stiffeners.fastener
    if len(across) < 2:
        return None, None, None
    wood = float(per_metre[0]) * placed.strip
    # Pull per N m of moment, edges wanting up and edges wanting down.
    up, down = (pull_per_moment(slab.width, wood, stiffeners, sign) for sign in (1.0, -1.0))
    rising, falling = np.maximum(moment, 0.0).max(axis=0), np.maximum(-moment, 0.0).max(axis=0)
    ends = [int(np.argmin(across)), int(np.argmax(across))]
    outer = np.maximum(rising * up[ends].max(), falling * down[ends].max())
    by_point = np.maximum(rising[0] * up, falling[0] * down)
    lever = np.maximum(rising, falling) / (max(across) - min(across))
    held, fixed_solid = None, None
    if fastener is not None:
        now = float(free.mean[0, 0])
        low, high = free.mean.min(axis=0), free.mean.max(axis=0)
        planned = fixings.plan(
            slab, now, low, high, across, fastener, samples, recess=stiffeners.recess
        )
        held = planned.withdrawal
        fixed_solid = solid(
            slab,
            planned,
            fastener,
            now,
            low,
            high,
            samples,
            bar=stiffeners.bar,
            strip=placed.strip,
            key_capacity=key_capacity,
        )
    return _judged(outer, by_point, lever, held), fixed_solid, held


def _judged(outer: Floats, by_point: Floats, lever: Floats, held: Withdrawal | None) -> Pulls:
    allowable = tests = None
    verdict: Verdict | None = None
    if held is not None and held.allowable and held.test_mean:
        allowable, tests = outer / held.allowable, outer / held.test_mean[0]
        verdict = "hold"
        if spread.figure(allowable).value > 1.0:
            verdict = "may-tear"
        if float(tests[0]) >= TEARS_AT:
            verdict = "will-tear"
    points = tuple(float(one) for one in by_point)
    return Pulls(outer, points, lever, allowable, tests, verdict)


def _largest(values: Floats) -> Floats:
    """The value largest in amount along time, with its sign, (samples,)."""
    row = np.abs(values).argmax(axis=0)
    result: Floats = np.take_along_axis(values, row[None], axis=0)[0]
    return result


def _notes(
    slab: Slab,
    stiffeners: Stiffeners,
    placed: Layout,
    left: float,
    cup: float,
    limit: float | None,
) -> list[Note]:
    told = [Note("bars-slide"), Note("bar-forces-weak"), Note("pull-by-contact")]
    if limit is not None and abs(cup) > limit:
        told.append(Note("cupped-beyond-the-limit"))
    reach = restraint.reach(slab.width)
    if placed.widest > reach:
        told.append(Note("bars-far-apart", apart=placed.widest, reach=reach))
    if stiffeners.recess > 0.0:
        rest = (1.0 - stiffeners.recess / slab.thickness) ** 2
        told.append(Note("groove-weakens", taken=100.0 * (1.0 - left), rest=100.0 * rest))
    return told


def hold(
    slab: Slab,
    moisture: Moisture,
    faces: Faces,
    room: Room,
    starts: float,
    samples: Samples,
    *,
    stiffeners: Stiffeners | None = None,
    along: KeysAlong | None = None,
    cup: float = 0.0,
    limit: float | None = None,
) -> Held:
    """A slab with bars, with keys, or with both, through its first years in a room.

    Parameters
    ----------
    slab, moisture, faces, room, starts, samples, cup, limit
        As in `stiffen`.
    stiffeners : Stiffeners, optional
    along : KeysAlong, optional
    """
    now = mean_moisture(moisture, slab.thickness)
    formulas = ["shrinkage", "equilibrium-moisture", "transport-diffusion"]
    bars_, tied = None, None
    if stiffeners is not None:
        capacity = None
        if along is not None and slab.length is not None:
            strip = slab.length / len(stiffeners.along)
            capacity = along.in_a_strip(strip, slab.species)
        bars_ = stiffen(
            slab,
            moisture,
            faces,
            room,
            starts,
            stiffeners,
            samples,
            cup=cup,
            limit=limit,
            key_capacity=capacity,
        )
        formulas += ["slotted-bar", "contact-pulls", "bar-section"]
        if bars_.withdrawal is not None:
            formulas += ["withdrawal-nds", "two-layer-bar"]
    if along is not None:
        ends = years(slab, moisture, faces, room, starts, samples).extremes
        tied = tie(slab, along, now, ends.driest, samples)
        formulas.append("key-capacity")
    notes = [note for one in (bars_, tied) if one is not None for note in one.notes]
    return Held(bars_, tied, slab.weight(now), tuple(notes), tuple(formulas))
