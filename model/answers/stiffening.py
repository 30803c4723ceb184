"""Bars across the underside of a slab: how flat they keep it, and what they and their fixings bear.

The slab is followed twice on the course engine, free and held by the bars' bending stiffness, so
that set is in both.  The bars are straight and slide along the slab (slots): a cup that the slab
has when they go on is drawn toward flat at once.  What a solid fixing would do is told beside it.
Between the bars the cup comes back by the slab's own softness.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import bar_forces, brought, course, restraint, section
from model.behaviour.bar_forces import Pulls
from model.behaviour.bars import Bar
from model.behaviour.course import Course, Stay
from model.behaviour.fixed_solid import Solid, solid
from model.behaviour.fixings import Fixings
from model.behaviour.keys import Keys, KeysAlong, tension_over, tie
from model.behaviour.section import FREE, Hold
from model.behaviour.slab import Moisture, Slab, mean_moisture
from model.behaviour.stiffeners import (
    MOST_BARS,
    Grip,
    Layout,
    Stiffeners,
    cups_by_count,
    evenly,
    grip,
)
from model.behaviour.timber import timber_of
from model.behaviour.year import years
from model.codes import Note
from model.properties.fasteners import Withdrawal
from model.properties.finishes import Faces
from model.properties.strength import Bent
from model.spread import Samples
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]

FOLLOWED: Final = 2.0 * YEAR  # days; one year to come near its yearly course, one to look at
FARTHEST_RISE: Final = 0.5e-3  # m an edge beyond its last fixing may rise (judgement)


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
        Largest stress index of the wood's skin, without bars and with.
    bends : Bent
        What bending it straight does to the slab, all at once.
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
    grip : Grip
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
    bends: Bent
    pulls: Pulls | None
    fixed_solid: Solid | None
    withdrawal: Withdrawal | None
    needed: int | None
    needed_careful: int | None
    bar_stress: Floats | None
    groove_loss: float
    stiffeners: Stiffeners
    grip: Grip
    limit: float | None
    notes: tuple[Note, ...]

    @property
    def layout(self) -> Layout:
        """How the bars share the slab."""
        return self.grip.layout

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
        Signed cup the slab has when the bars go on [m]: straight bars draw it toward flat,
        shimmed ones keep it.
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
    See `stiffeners.grip` for the mechanics, which course and flattening share.
    """
    if slab.length is None:
        raise ValueError("bars need the slab's length")
    if any(not 0.0 <= one <= slab.width for one in stiffeners.across):
        raise ValueError("fixings lie within the width of the slab")
    drawn = spread.draw(0) if samples is None else samples
    bar = stiffeners.bar
    by = grip(slab, stiffeners, mean_moisture(moisture, slab.thickness), cup)
    stay = Stay(room.air, days, faces, humidity_spread=room.humidity_spread)

    def follow(hold: Hold, batch: Samples) -> Course:
        return course.run(
            slab, moisture, [replace(stay, hold=hold)], batch, start_day=arrives, cup=cup
        )

    free, held = follow(FREE, drawn), follow(by.hold, drawn)
    elastic = follow(by.hold, replace(spread.draw(0), mechano=np.zeros(1)))
    at_bars, midway = by.cups(held.cup, slab.width)
    moment = by.on_bar(held.moment)
    largest = _largest(moment)
    stress = _bar_stress(bar, largest)
    notes = _notes(slab, stiffeners, by, cup, limit)
    if stress is not None and float(stress[0]) > bar.yields:
        notes.append(Note("bar-overloaded", stress=float(stress[0]), yields=bar.yields))
    planned = bar_forces.planned(slab, held, stiffeners, drawn)

    def with_so_many(count: int) -> Floats:
        if stiffeners.along == evenly(count, slab.length or 0.0):
            return midway
        other = replace(stiffeners, along=evenly(count, slab.length or 0.0))
        made = grip(slab, other, mean_moisture(moisture, slab.thickness), cup)
        return made.cups(follow(made.hold, drawn).cup, slab.width)[1]

    needed, careful = _wanted(slab, by, free.cup, with_so_many, limit)
    last = free.days >= free.days[-1] - min(YEAR, 0.5 * days)
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
        moment_elastic=float(np.abs(by.on_bar(elastic.moment)).max()),
        moment_lasting=np.sqrt(np.mean(moment[last] ** 2, axis=0)),
        index_free=np.maximum(free.index_top, free.index_bottom).max(axis=0),
        index_held=np.maximum(held.index_top, held.index_bottom).max(axis=0),
        bends=bar_forces.bent_by(slab, by, held),
        pulls=bar_forces.pulled(stiffeners, by, held, planned),
        fixed_solid=_solid(slab, stiffeners, by, free, planned, drawn, key_capacity),
        withdrawal=None if planned is None else planned.withdrawal,
        needed=needed,
        needed_careful=careful,
        bar_stress=stress,
        groove_loss=1.0 - by.left,
        stiffeners=stiffeners,
        grip=by,
        limit=limit,
        notes=(*free.notes, *_of_fixings(planned), *notes),
    )


def _wanted(
    slab: Slab, by: Grip, free: Floats, follow: Callable[[int], Floats], limit: float | None
) -> tuple[int | None, int | None]:
    """Bars that keep the cup within a limit everywhere, in the central and in nine of ten cases.

    A first guess by the elastic share of so many bars; from there the slab is followed with one
    more or one fewer until the least number is found, so that it agrees with what is told of it.
    """
    if limit is None:
        return None, None
    assert slab.length is not None
    slack = by.slack * slab.width**2 / 8.0
    amounts = cups_by_count(free, slack, by.per_metre, by.bar, slab.length, slab.width)
    known: dict[int, Floats] = {0: amounts[0]}

    def within(count: int, share: float) -> bool:
        if count not in known:
            known[count] = np.abs(follow(count)).max(axis=0)
        cups = known[count]
        drawn = cups[1:] if cups.size > 1 else cups
        # A hair more than the limit is a slab that stands at it today.
        return bool((cups[0] if share == 0.5 else np.percentile(drawn, 90.0)) <= limit * _HAIR)

    return _least(amounts, limit, lambda n: within(n, 0.5)), _least(
        amounts, limit, lambda n: within(n, 0.9)
    )


_HAIR: Final = 1.0 + 1e-9


def _least(amounts: Floats, limit: float, within: Callable[[int], bool]) -> int | None:
    """The least number that is within, from a guess by the elastic cups of each number."""
    enough = np.flatnonzero(amounts[:, 0] <= limit * _HAIR)
    count = int(enough[0]) if enough.size else MOST_BARS
    while count < MOST_BARS and not within(count):
        count += 1
    if not within(count):
        return None
    while count > 0 and within(count - 1):
        count -= 1
    return count


def _bar_stress(bar: Bar, moment: Floats) -> Floats | None:
    """Bending stress of a bar's outermost fibre [Pa]; None where only its stiffness is known."""
    section = bar.section
    if bar.kind == "given":
        return None
    farthest = max(section.centroid, section.height - section.centroid)
    return np.asarray(np.abs(moment) * farthest / section.second_moment)


def _of_fixings(planned: Fixings | None) -> list[Note]:
    """What the plan of the fixings says; of the line that stays put the bars decide nothing."""
    if planned is None:
        return []
    return [note for note in planned.notes if note.code != "no-point-on-the-fixed-line"]


def _solid(
    slab: Slab,
    stiffeners: Stiffeners,
    by: Grip,
    free: Course,
    planned: Fixings | None,
    samples: Samples,
    key_capacity: float | None,
) -> Solid | None:
    """What the same fixings would do fixed solid."""
    if planned is None or stiffeners.fastener is None:
        return None
    return solid(
        slab,
        planned,
        stiffeners.fastener,
        float(free.mean[0, 0]),
        free.mean.min(axis=0),
        free.mean.max(axis=0),
        samples,
        bar=stiffeners.bar,
        strip=by.layout.strip,
        key_capacity=key_capacity,
    )


def _largest(values: Floats) -> Floats:
    """The value largest in amount along time, with its sign, (samples,)."""
    row = np.abs(values).argmax(axis=0)
    result: Floats = np.take_along_axis(values, row[None], axis=0)[0]
    return result


def _notes(
    slab: Slab, stiffeners: Stiffeners, by: Grip, cup: float, limit: float | None
) -> list[Note]:
    told = [Note("bars-slide"), Note("bar-forces-weak"), Note("pull-by-contact")]
    if cup != 0.0:
        told.append(Note("bars-shimmed" if stiffeners.shimmed else "bars-draw-flat"))
    if stiffeners.shimmed and limit is not None and abs(cup) > limit:
        told.append(Note("cupped-beyond-the-limit"))
    reach = restraint.reach(slab.width)
    widest = by.layout.widest
    if widest > reach:
        told.append(Note("bars-far-apart", apart=widest, reach=reach))
    if stiffeners.recess > 0.0:
        rest = (1.0 - stiffeners.recess / slab.thickness) ** 2
        told.append(Note("groove-weakens", taken=100.0 * (1.0 - by.left), rest=100.0 * rest))
    beyond = max(min(stiffeners.across), slab.width - max(stiffeners.across))
    farthest = restraint.farthest_from_edge(8.0 * cup / slab.width**2, FARTHEST_RISE)
    if cup != 0.0 and not stiffeners.shimmed and beyond > farthest:
        rise = 4.0 * abs(cup) * (beyond / slab.width) ** 2
        told.append(Note("edge-beyond-fixing", beyond=beyond, farthest=farthest, rise=rise))
    return told


def _wet_core(
    slab: Slab, moisture: Moisture, faces: Faces, room: Room, starts: float, depth: float
) -> float:
    """Tension over the keys' depth while the slab, free, comes into step with its room [N/m].

    Keys lie in the face nearer the bark.  Central case, set counted.
    """
    done = course.run(
        slab, moisture, [Stay(room.air, YEAR, faces)], spread.draw(0), start_day=starts
    )
    _, mesh, layers = done.central[0]
    state = section.unstressed(layers[:1])
    came_with = brought.set_of(slab.brought, mesh.depth, mesh.weight, slab.thickness)
    state = replace(state, creep=state.creep + came_with)
    wood = timber_of(slab, spread.draw(0), np.array([mesh.mean(layers[0])]))
    history = section.sweep(wood, mesh, layers[:, None, :], state, every_layer=True)
    assert history.stress is not None
    stress, weight = history.stress[:, 0], mesh.weight
    if slab.bark_side == "bottom":
        stress, weight = stress[:, ::-1], weight[::-1]
    return tension_over(stress, weight, slab.thickness, depth)


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
        formulas += ["slotted-bar", "contact-pulls", "bar-section", "bending-strength"]
        if bars_.withdrawal is not None:
            formulas += ["withdrawal-nds", "two-layer-bar"]
    if along is not None:
        ends = years(slab, moisture, faces, room, starts, samples).extremes
        flattened, held_from = None, 0.0
        if bars_ is not None and along.held == "free" and stiffeners is not None:
            flattened = 1.0 - bars_.grip.elastic_share
            check = 0.5 * slab.width + slab.pith_across
            held_from = min(abs(one - check) for one in stiffeners.across)
        tied = tie(
            slab,
            along,
            now,
            ends.driest,
            samples,
            flattened=flattened,
            held_from=held_from,
            wet_core=_wet_core(slab, moisture, faces, room, starts, along.key.thickness),
        )
        formulas += ["key-capacity", "key-demand"]
    notes = [note for one in (bars_, tied) if one is not None for note in one.notes]
    return Held(bars_, tied, slab.weight(now), tuple(notes), tuple(formulas))
