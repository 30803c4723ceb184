"""Bars across the underside of a slab: how flat they keep it, and what they and their fixings bear.

The slab is followed twice on the course engine, free and held by the bars' bending stiffness, so
that set is in both.  The bars are taken to slide along the slab (slots); what a solid fixing would
do is told beside it.  Between the bars the cup comes back by the slab's own softness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import spread
from model.answers import fixings
from model.answers.fixings import Fastener, Solid, Withdrawal
from model.basis import Note
from model.behaviour import bars, course, restraint
from model.behaviour.bars import Bar
from model.behaviour.course import Course, Stay
from model.behaviour.section import FREE, Hold
from model.behaviour.slab import Moisture, Slab
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]

FOLLOWED: Final = 2.0 * YEAR  # days; one year to come near its yearly course, one to look at
MOST_BARS: Final = 60  # beyond it bars of this section are no answer (judgement)
USUAL_SPACING: Final = 0.35  # m, bars 300-400 mm apart (practice, no source)
TEARS_AT: Final = 1.0  # pull over the mean of tests


@dataclass(frozen=True, slots=True)
class Stiffeners:
    """Bars across the underside.

    Attributes
    ----------
    bar : Bar
    along : tuple of float
        Their distances from one end of the slab [m].
    across : tuple of float
        Fixings' distances from one edge [m].
    fastener : Fastener or None
    recess : float
        Depth of their grooves in the underside [m]; 0 surface mounted.
    """

    bar: Bar
    along: tuple[float, ...]
    across: tuple[float, ...]
    fastener: Fastener | None = None
    recess: float = 0.0


@dataclass(frozen=True, slots=True)
class Layout:
    """How bars share a slab.

    Attributes
    ----------
    count : int
    strip : float
        Length of slab that belongs to one bar [m].
    widest : float
        Widest spacing; an end beyond its bar by so much counts as twice that [m].
    """

    count: int
    strip: float
    widest: float


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
    verdict : str
        ``holds``, ``may tear loose`` or ``will tear loose``; empty when nothing is known of them.
    """

    outermost: Floats
    by_point: tuple[float, ...]
    by_lever: Floats
    of_allowable: Floats | None
    of_tests: Floats | None
    verdict: str


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
    rigid : Solid or None
        What the same fixings would do if solid.
    withdrawal : Withdrawal or None
    needed, needed_careful : int or None
        Bars that keep the whole cup within the limit asked, in the central and in nine of ten
        cases; None where `MOST_BARS` do not, or no limit was asked.
    bar_stress : ndarray (samples,) or None
        Largest bending stress in the bar [Pa]; None where only its stiffness is known.
    groove_loss : float
        Share of the strip's bending stiffness the groove takes [-].
    layout : Layout
    weight : float or None
        Of the slab [kg].
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
    rigid: Solid | None
    withdrawal: Withdrawal | None
    needed: int | None
    needed_careful: int | None
    bar_stress: Floats | None
    groove_loss: float
    layout: Layout
    weight: float | None
    notes: tuple[Note, ...]


def evenly(count: int, length: float) -> tuple[float, ...]:
    """Places along a length that leave every bar the same strip.

    Examples
    --------
    >>> evenly(3, 1.8)
    (0.3, 0.9, 1.5)
    """
    return tuple(round(float(one), 9) for one in (np.arange(count) + 0.5) * length / count)


def layout(along: Sequence[float], length: float) -> Layout:
    """How bars at given places share a slab of a length [m].

    Raises
    ------
    ValueError
        If a bar lies off the slab or two lie at one place.
    """
    places = np.sort(np.asarray(along, dtype=np.float64))
    if places.size == 0 or places[0] < 0.0 or places[-1] > length:
        raise ValueError("bars lie within the length of the slab, at least one")
    gaps = np.diff(places)
    if np.any(gaps <= 0.0):
        raise ValueError("two bars lie at the same place")
    # An end is free, so its cup runs level out: as midway between two bars twice as far apart.
    widest = max([*gaps, 2.0 * places[0], 2.0 * (length - places[-1])])
    return Layout(places.size, length / places.size, float(widest))


def cups_by_count(
    free: ArrayLike, cup: float, bending: float, bar: float, length: float, width: float
) -> Floats:
    """Largest cup anywhere with no bar, with one, with two, ... evenly spaced.

    Parameters
    ----------
    free : array_like (times, samples)
        Signed cup without bars [m].
    cup : float
        Signed cup the bars go on bent to [m]: they keep what it changes by, and not itself.
    bending : float
        EI of the slab across its grain per metre of length [N m2/m].
    bar : float
        EI of one bar [N m2].
    length, width : float
        Of the slab [m].

    Returns
    -------
    ndarray (`MOST_BARS` + 1, samples)
        Amounts [m].

    Examples
    --------
    >>> made = cups_by_count([[0.0142]], 0.0, 10417.0, 2473.0, 1.8, 0.6)
    >>> int(np.flatnonzero(made[:, 0] <= 0.0056)[0])
    13
    """
    change = np.asarray(free, dtype=np.float64) - cup
    counts = np.arange(1, MOST_BARS + 1)
    _, midway = restraint.cup_along(bending, bar, length / counts, width)
    return np.stack(
        [np.abs(cup + share * change).max(axis=0) for share in np.concatenate(([1.0], midway))]
    )


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
    whole = bars.compose([(placed.strip, slab.thickness, 0.0)])
    net = bars.grooved_strip(placed.strip, slab.thickness, bar, stiffeners.recess)
    left = net.second_moment / whole.second_moment
    stay = Stay(room.air, days, faces, humidity_spread=room.humidity_spread)
    slack = 8.0 * cup / slab.width**2
    held_by = Hold(bending=bar.stiffness / placed.strip / left, curvature=slack)

    def follow(hold: Hold, batch: Samples) -> Course:
        return course.run(
            slab, moisture, [replace(stay, hold=hold)], batch, start_day=arrives, cup=cup
        )

    free, held = follow(FREE, drawn), follow(held_by, drawn)
    elastic = follow(held_by, replace(spread.draw(0), mechano=np.zeros(1)))
    timber = course.timber_of(slab, drawn, free.mean[0])
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
        (slab, placed, bar),
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
    what: tuple[Slab, Layout, Bar],
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
    slab, placed, bar = what
    free, held, at_bars, midway = courses
    last = free.days >= free.days[-1] - last_days
    largest = _largest(moment)
    stress = _bar_stress(bar, largest)
    if stress is not None and float(stress[0]) > bar.yields:
        notes = [*notes, _overloaded(bar, float(stress[0]))]
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
        rigid=bears[1],
        withdrawal=bears[2],
        needed=wanted[0],
        needed_careful=wanted[1],
        bar_stress=stress,
        groove_loss=groove_loss,
        layout=placed,
        weight=slab.weight(float(free.mean[0, 0])),
        notes=(*free.notes, *notes),
    )


def _overloaded(bar: Bar, stress: float) -> Note:
    return Note(
        "bar-overloaded",
        f"The bars would bear {stress / 1e6:.0f} MPa, more than the {bar.yields / 1e6:.0f} MPa "
        "that their usual kind bears without bending for good or breaking: take a heavier "
        "section, or more of them.",
        "/stiffeners",
        "EN 10025-2, EN 755-2, EN 338 (memory)",
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
    held, rigid = None, None
    if fastener is not None:
        now = float(free.mean[0, 0])
        low, high = free.mean.min(axis=0), free.mean.max(axis=0)
        planned = fixings.plan(
            slab, now, low, high, across, fastener, samples, recess=stiffeners.recess
        )
        held = planned.withdrawal
        rigid = fixings.solid(
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
    return _judged(outer, by_point, lever, held), rigid, held


def pull_per_moment(width: float, wood: float, stiffeners: Stiffeners, sign: float) -> Floats:
    """Pull on each fixing of a bar for each unit of the moment it bears [N/(N m)].

    Parameters
    ----------
    width : float
        Of the slab [m].
    wood : float
        EI of the strip of slab that belongs to the bar [N m2].
    stiffeners : Stiffeners
        A screw 8 mm thick and 30 mm deep stands in where no fastener is told.
    sign : float
        1 where the edges want away from the bar, -1 where the middle does.
    """
    series = wood * stiffeners.bar.stiffness / (wood + stiffeners.bar.stiffness)
    rate = restraint.axial_slip(0.008, 0.030)
    if stiffeners.fastener is not None:
        rate = restraint.axial_slip(stiffeners.fastener.diameter, stiffeners.fastener.thread)
    return restraint.pulls(sign, series, width, stiffeners.across, rate) / series


def _judged(outer: Floats, by_point: Floats, lever: Floats, held: Withdrawal | None) -> Pulls:
    allowable = tests = None
    verdict = ""
    if held is not None and held.allowable and held.test_mean:
        allowable, tests = outer / held.allowable, outer / held.test_mean[0]
        verdict = "holds"
        if spread.figure(allowable).value > 1.0:
            verdict = "may tear loose"
        if float(tests[0]) >= TEARS_AT:
            verdict = "will tear loose"
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
    told = [
        Note(
            "bars-slide",
            "The bars are taken to slide along the slab: fixings in slots, washers snug, no glue. "
            "Fixed solid they would split it; see what a solid fixing would do.",
            "/stiffeners",
            "common practice, no source",
        ),
        Note(
            "forces-weak",
            "Moments and pulls are known within a factor of 2. They are largest in the first "
            "season; set lets most of them go, and the cup with it.",
            "/stiffeners",
            "judgement between published figures on set",
        ),
        Note(
            "pull-by-contact",
            "Pulls come from the slab lifting off the bar beside each fixing. Moment over the "
            "distance between the outermost fixings, the plain rule, understates them several "
            "times.",
            "/stiffeners/fixings",
            "derived; fixing stiffness from European approvals of screws (memory)",
        ),
    ]
    if limit is not None and abs(cup) > limit:
        told.append(
            Note(
                "cupped-beyond-the-limit",
                "The slab is cupped by more than the limit today. Bars in slots go on bent to it "
                "and keep it as it is; ask how to flatten it first.",
                "/limit",
                "derived",
            )
        )
    reach = restraint.reach(slab.width)
    if placed.widest > reach:
        told.append(
            Note(
                "bars-far-apart",
                f"Bars {fixings.both(placed.widest)} apart leave the middle between them on its "
                f"own: a bar's hold fades over about {fixings.both(reach)} of length.",
                "/stiffeners/along",
                "derived; shear moduli of Wood Handbook Table 5-1",
            )
        )
    if stiffeners.recess > 0.0:
        rest = (1.0 - stiffeners.recess / slab.thickness) ** 2
        told.append(
            Note(
                "groove-weakens",
                f"The grooves take {100.0 * (1.0 - left):.0f} % of the slab's stiffness across and "
                f"leave {100.0 * rest:.0f} % of its bending strength along the grain where they "
                "cross: mind spans and how it is lifted.",
                "/stiffeners/recess",
                "derived",
            )
        )
    return told
