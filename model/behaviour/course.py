"""A slab through its stays: moisture, size, shape and stress in time.

A course is a list of stays.  In each the slab lies in some air, with something on its faces, free
or held, for a number of days; at its start it may be planed, wetted or turned over.  Moisture
comes from `model.transport`, stress and curvature across the grain from `model.section`, the part
of the rings from `model.shape`.

The section stands for the whole width.  Free strains, modulus and creep are taken at the ring
angle as the cup feels it, averaged over the width with the weight W/2 - |y|; the width itself uses
the plain average, as `shape` does.  The rings' own curvature is free of stress and follows the
thickness means of the strains: while both faces dry alike and the core lags, that runs ahead by up
to a seventh of the cup the rings make in the end (measured against a finite-element model).

Both laws of creep run side by side: the central case and half of the draws recover their set (J 8,
drawn from 5 to 15), the other half keep it.  The limited law is central for short courses too, so
that a course cut in two gives the same end; within a season the two differ by less than the draws.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import brought, edges, section, shape, transport
from model.behaviour.rings import Rings
from model.behaviour.section import FREE, Hold, State, Timber
from model.behaviour.slab import Moisture, Slab
from model.behaviour.timber import planed, rings_of, slopes, stressed_most, timber_of
from model.behaviour.transport import Grid, Wood
from model.behaviour.year import Sorption, start_moisture, wood_of
from model.codes import Note
from model.properties import strength
from model.properties.finishes import Face, Faces
from model.properties.species import LENGTHWISE
from model.spread import Samples
from model.surroundings.air_series import Air

Floats = NDArray[np.float64]
FaceName = Literal["top", "bottom"]

BLOCK_FIGURES: Final = 1_000_000  # of a stay's moisture worked out at once: 8 MB
TOLD_EVERY: Final = 5.0  # days from row to row where a stay asks for no more
MOST_ROWS: Final = 2_000  # of a stay; a longer one is told less often
LOG_POINTS: Final = 1000  # readings of a log used in one stay; see `_calmed`
_GOLDEN: Final = 0.6180339887498949  # an evenly spread sequence of deviates of its own


@dataclass(frozen=True, slots=True)
class Stay:
    """One stay of a course.

    Attributes
    ----------
    air : Air
        What the slab lies in.
    days : float
        How long [days].
    faces : Faces
        What lies on each face throughout the stay.
    hold : Hold
        How the slab is held: `section.FREE`, `section.FLAT` or springs.
    humidity_spread : float or ndarray (samples,)
        Standard deviation of the air's relative humidity [points], of every sample its own.
    air_day : float or None
        The air's own day number when the stay begins.  None: the day of the course for a yearly or
        steady air, the first reading for a log.
    dress_top, dress_bottom : float
        Material planed off each face at the start [m].
    machined_flat : bool
        Whether that planing also cuts away the cup, so that the stay begins flat.
    wet_face : {"top", "bottom"} or None
        Face kept wet from the start on.
    wet_hours : float
        For how long [hours].
    turned : bool
        The slab lies upside down: `faces.top` is then what its bottom face meets.  Faces keep
        their names in everything else, results included.
    name : str
        What the stay is called in an answer.
    """

    air: Air
    days: float
    faces: Faces
    hold: Hold = FREE
    humidity_spread: float | Floats = 0.0
    air_day: float | None = None
    dress_top: float = 0.0
    dress_bottom: float = 0.0
    machined_flat: bool = False
    wet_face: FaceName | None = None
    wet_hours: float = 0.0
    turned: bool = False
    name: str = ""

    def __post_init__(self) -> None:
        if not 0.0 < self.days < np.inf:
            raise ValueError(f"a stay lasts longer than 0 days, not {self.days}")
        if min(self.dress_top, self.dress_bottom) < 0.0:
            raise ValueError("the depth planed off a face is 0 m or more")
        wet_days = self.wet_hours / 24.0
        if self.wet_face is not None and not 0.0 < wet_days <= self.days:
            raise ValueError(
                f"a face is wetted for more than 0 hours and at most the stay, not {self.wet_hours}"
            )

    @property
    def dressed(self) -> bool:
        """Whether material is planed off."""
        return self.dress_top > 0.0 or self.dress_bottom > 0.0


@dataclass(frozen=True, slots=True)
class Course:
    """A course of stays; arrays (times,) of the central air, (times, samples) of the slab.

    Where something changes at once - planing, clamping, release - two rows share a day: before
    and after.

    Attributes
    ----------
    days : ndarray
        Days since the start of the course.
    stay : ndarray of int
        Which stay each row belongs to.
    temperature, relative_humidity, equilibrium : ndarray (times,)
        Air [degC, %] and the moisture it would bring wood to [%].
    mean, shell_top, core, shell_bottom : ndarray (times, samples)
        Moisture content [%]: mean, at the faces and in the middle.
    width, thickness : ndarray (times, samples)
        [m].
    cup : ndarray (times, samples)
        Signed cup over the width [m], positive edges up.
    bow : ndarray (times, samples) or None
        Signed bow over the length [m], positive ends up; None without a length.
    stress_top, stress_bottom : ndarray (times, samples)
        Stress across the grain at the faces [Pa], tension positive.
    index_top, index_bottom : ndarray (times, samples)
        Stress index of the upper and lower half: see `strength.skin_index`.
    moment, force : ndarray (times, samples)
        What the hold puts on each metre of length: [N m/m], positive bending the edges up, and
        pull across the width [N/m].
    central : tuple of (days, Grid, ndarray (times, nodes))
        Moisture through the thickness of the central case, a stretch for each stay.
    slab : Slab
        The slab as it is at the end, planed; its width is still that of the start.
    mesh : Grid
    end : transport.State
        Moisture at the end, and what the wood remembers of it.
    state : State
        Set at the end; with `end` it starts a following course.
    notes : tuple of Note
    """

    days: Floats
    stay: NDArray[np.intp]
    temperature: Floats
    relative_humidity: Floats
    equilibrium: Floats
    mean: Floats
    shell_top: Floats
    core: Floats
    shell_bottom: Floats
    width: Floats
    thickness: Floats
    cup: Floats
    bow: Floats | None
    stress_top: Floats
    stress_bottom: Floats
    index_top: Floats
    index_bottom: Floats
    moment: Floats
    force: Floats
    central: tuple[tuple[Floats, Grid, Floats], ...]
    slab: Slab
    mesh: Grid
    end: transport.State
    state: State
    notes: tuple[Note, ...]

    @property
    def moisture(self) -> Floats:
        """Moisture at the end, (samples, nodes) [%]."""
        return self.end.moisture

    def profile(self, day: float) -> tuple[Floats, Floats]:
        """Depths [m] and moisture [%] of the central case on a day, linear between the steps.

        Raises
        ------
        ValueError
            For a day outside the course.
        """
        for days, mesh, moisture in self.central:
            if days[0] <= day <= days[-1]:
                right = int(np.clip(np.searchsorted(days, day), 1, days.size - 1))
                share = (day - days[right - 1]) / (days[right] - days[right - 1])
                between = (1.0 - share) * moisture[right - 1] + share * moisture[right]
                return mesh.depth, between
        raise ValueError(f"day {day:g} lies outside the course of {self.days[-1]:g} days")


@dataclass(slots=True)
class _Walk:
    """The slab on its way: what a stay starts from and what it leaves."""

    slab: Slab
    samples: Samples
    reference: Floats  # (samples,) mean moisture of the size given
    mesh: Grid
    timber: Timber
    rings: Rings
    wet: transport.State
    state: State

    def dress(self, top: float, bottom: float, nodes: int) -> None:
        """Plane material off; its layers go with their moisture and set."""
        slab = planed(self.slab, top, bottom)
        mesh = transport.grid(slab.thickness, nodes)
        self.wet = transport.State(
            section.remap(self.wet.moisture, self.mesh, mesh, top),
            section.remap(self.wet.memory, self.mesh, mesh, top),
        )
        self.state = section.planed(self.state, self.mesh, mesh, top)
        self.slab, self.mesh = slab, mesh
        self.timber = timber_of(slab, self.samples, self.reference)
        self.rings = rings_of(slab, self.samples)

    def flatten(self) -> None:
        """Cut the present free cup away."""
        now = self.wet.moisture[None]
        history = section.sweep(
            self.timber, self.mesh, now, self.state, FREE, self.ring_curvature(now)
        )
        self.state = section.machined_flat(self.state, history.curvature[-1])

    def mean_strains(self, moisture: Floats) -> shape.Strains:
        """Thickness means of the free strains along and across the rings, (times, samples)."""
        start = self.slab.species.shrinkage_starts
        before = np.minimum(self.state.unstrained, start) @ self.mesh.weight
        moved = np.minimum(moisture, start) @ self.mesh.weight - before
        along, over = slopes(self.slab.species, self.samples, self.reference)
        none = np.zeros(1)
        return shape.Strains(along * moved, over * moved, none, none)

    def ring_curvature(self, moisture: Floats) -> Floats:
        """Curvature by the rings alone [1/m], (times, samples)."""
        cup = shape.cup_of(self.rings, self.mean_strains(moisture))
        return shape.ring_curvature(self.slab, cup)


def run(
    slab: Slab,
    moisture: Moisture | Floats | transport.State,
    stays: Sequence[Stay],
    samples: Samples | None = None,
    *,
    came: Sorption = "drying",
    start_day: float = 0.0,
    cup: float = 0.0,
    state: State | None = None,
    wood: Wood | None = None,
    nodes: int = transport.NODES,
    stops: Sequence[float] = (),
    least_rows: int = 1,
) -> Course:
    """Take a slab through its stays.

    Parameters
    ----------
    slab : Slab
        As it is at the start: its width and thickness are those at the start.
    moisture : Moisture, ndarray (samples, nodes) or transport.State
        What is known of its moisture, to which the error of a reading is added; or the moisture of
        every sample at the nodes of `transport.grid(slab.thickness, nodes)`, taken as it is [%]; or
        what an earlier course left.
    stays : sequence of Stay
        In order of time, at least one.
    samples : Samples, optional
        What is uncertain; the central case alone when left out.
    came : {"drying", "wetting", "unknown", "mean"}
        How the wood came to its moisture, see `transport.begin`; or ``mean``, without hysteresis.
    start_day : float
        Day of the year on which the course starts.
    cup : float
        Signed cup the slab has at the start, free of stress [m].
    state : State, optional
        Set and stress the slab starts with, as an earlier course left them; flat and free of stress
        in its present moisture when left out.
    wood : Wood, optional
        Transport properties, when they are known better than those of the species.
    nodes : int
        Nodes through the thickness.
    stops : sequence of float
        Days of the course that must get a row of their own.
    least_rows : int
        Rows every stay must get; the solver alone takes some 30 to 40 a year, fewest when little
        happens.

    Returns
    -------
    Course

    Raises
    ------
    ValueError
        No stay, planing more than there is, or a log that ends before its stay.

    Examples
    --------
    >>> from model.properties import finishes, species
    >>> from model.surroundings import room
    >>> elm = Slab(species.find("American elm"), width=0.6, thickness=0.05, ring_angle=0.0)
    >>> bare, closed = finishes.face("bare"), finishes.face("closed")
    >>> stay = Stay(room.constant(20.0, 35.0).air, 30.0, Faces(bare, closed))
    >>> shape.words(float(run(elm, 12.0, [stay]).cup[-1, 0]))
    'edges up'
    """
    if not stays:
        raise ValueError("a course needs at least one stay")
    drawn = spread.draw(0) if samples is None else samples
    mesh = transport.grid(slab.thickness, nodes)
    if isinstance(moisture, transport.State):
        begin = moisture.moisture
    elif isinstance(moisture, np.ndarray):
        begin = np.array(np.broadcast_to(moisture, (drawn.count, nodes)), dtype=np.float64)
    else:
        begin = start_moisture(moisture, mesh, drawn, slab.species.fibre_saturation)
    if state is None:
        came_with = brought.set_of(slab.brought, mesh.depth, mesh.weight, slab.thickness)
        state = section.unstressed(begin)
        state = replace(state, creep=state.creep + came_with)
        if cup != 0.0:
            state = replace(state, form=np.full(drawn.count, 8.0 * cup / slab.width**2))
    reference = state.unstrained @ mesh.weight
    transported = wood_of(slab, drawn, hysteresis=came != "mean") if wood is None else wood
    if not isinstance(moisture, transport.State):
        way = "unknown" if came == "mean" else came
        moisture = transport.begin(begin, transported, nodes, way)
    walk = _Walk(
        slab=slab,
        samples=drawn,
        reference=reference,
        mesh=mesh,
        timber=timber_of(slab, drawn, reference),
        rings=rings_of(slab, drawn),
        wet=moisture,
        state=state,
    )
    return _walk_through(walk, stays, transported, start_day, stops, nodes, least_rows)


def _walk_through(
    walk: _Walk,
    stays: Sequence[Stay],
    wood: Wood,
    start_day: float,
    stops: Sequence[float],
    nodes: int,
    least_rows: int,
) -> Course:
    """Every stay in turn, their rows joined."""
    rows: list[dict[str, Floats]] = []
    central: list[tuple[Floats, Grid, Floats]] = []
    airs: list[Air] = []
    notes: list[Note] = []
    passed, hold = 0.0, FREE
    for number, stay in enumerate(stays):
        if not any(stay.air is known for known in airs):
            airs.append(stay.air)
        which = next(index for index, known in enumerate(airs) if known is stay.air)
        offset = stay.humidity_spread * _deviates(walk.samples, which)
        if stay.dressed:
            walk.dress(stay.dress_top, stay.dress_bottom, nodes)
        if stay.machined_flat:
            walk.flatten()
        steady = number > 0 and _alike(stay.hold, hold) and not (stay.dressed or stay.machined_flat)
        kept = []
        for first, (days, moisture) in enumerate(
            _moisture_through(
                walk,
                stay,
                wood,
                offset,
                start_day + passed,
                [stop - passed for stop in stops],
                stay.days / least_rows,
                notes,
            )
        ):
            part = _rows(walk, stay, days, moisture, start_day + passed)
            part["days"] = passed + days
            part["stay"] = np.full(days.size, float(number))
            again = steady or first > 0  # its first row ends what stands before it
            rows.append({name: column[1:] for name, column in part.items()} if again else part)
            kept.append((passed + days, moisture[:, 0].copy()))
        central.append(
            (
                np.concatenate([days[min(first, 1) :] for first, (days, _) in enumerate(kept)]),
                walk.mesh,
                np.concatenate([held[min(first, 1) :] for first, (_, held) in enumerate(kept)]),
            )
        )
        passed, hold = passed + stay.days, stay.hold
    joined = {name: np.concatenate([row[name] for row in rows]) for name in rows[0]}
    number_of = joined.pop("stay").astype(np.intp)
    bow = joined.pop("bow")
    return Course(
        **joined,
        bow=None if walk.slab.length is None else bow,
        stay=number_of,
        central=tuple(central),
        slab=walk.slab,
        mesh=walk.mesh,
        end=walk.wet,
        state=walk.state,
        notes=(*_notes(walk, stays), *dict.fromkeys(notes)),
    )


def _alike(one: Hold, other: Hold) -> bool:
    """Whether two holds are the same for every sample."""
    names = ("bending", "axial", "curvature", "strain")
    return all(np.array_equal(getattr(one, name), getattr(other, name)) for name in names)


def _deviates(samples: Samples, which: int) -> Floats:
    """Deviates of humidity for the first, second ... room: each house is a draw of its own.

    The same draws in another order, so that one humid house does not make the next one humid.
    """
    if which == 0 or samples.count == 1:
        return samples.humidity
    others = np.random.default_rng(which).permutation(samples.humidity[1:])
    return np.concatenate((samples.humidity[:1], others))


def _air_day(stay: Stay, course_day: float) -> float:
    """The air's own day number when the stay begins."""
    if stay.air_day is not None:
        return stay.air_day
    is_log = stay.air.period is None and stay.air.days.size > 1
    return float(stay.air.days[0]) if is_log else course_day


def _calmed(air: Air, first: float, last: float) -> tuple[Air, float, bool]:
    """The air for the solver, its longest step [days], and whether a log was averaged.

    The solver looks at the air only where its steps end.  So a log is followed reading by reading,
    and one of more than `LOG_POINTS` readings within the stay is averaged over as many equal
    intervals.  Of an hourly log of two years that is over 17 hours; a daily swing of 8 points of
    humidity, which this takes out, moves the mean of a 20 mm board by 0.1 % M (measured).
    """
    if air.period is not None or air.days.size == 1:
        return air, np.inf, False
    inside = int(np.count_nonzero((air.days >= first) & (air.days <= last)))
    if inside <= LOG_POINTS:
        return air, (last - first) / max(inside, 20), False
    points = 20 * LOG_POINTS
    fine = first + (last - first) * (np.arange(points) + 0.5) / points
    temperature, humidity = (
        values.reshape(LOG_POINTS, -1).mean(axis=1) for values in air.at_days(fine)
    )
    width = (last - first) / LOG_POINTS
    middles = first + width * (np.arange(LOG_POINTS) + 0.5)
    days = np.concatenate(([first - 1.0], middles, [last + 1.0]))
    ends = np.pad(temperature, 1, mode="edge"), np.pad(humidity, 1, mode="edge")
    return Air(days, *ends), width, True


def _moisture_through(
    walk: _Walk,
    stay: Stay,
    wood: Wood,
    offset: Floats,
    course_day: float,
    stops: Sequence[float],
    longest_row: float,
    notes: list[Note],
) -> Iterator[tuple[Floats, Floats]]:
    """Days since the stay began and the moisture (times, samples, nodes) on them, piece by piece.

    In pieces, so that the moisture of every layer of every draw need not all be held; each begins
    with the row on which the one before ends.
    """
    faces = Faces(stay.faces.bottom, stay.faces.top) if stay.turned else stay.faces
    begin = _air_day(stay, course_day)
    if stay.air.period is None and stay.air.days.size > 1:
        stay.air.at(begin + stay.days)  # a log that ends too early is refused before any work
    air, longest, averaged = _calmed(stay.air, begin, begin + stay.days)
    if averaged:
        notes.append(Note("log-averaged", readings=LOG_POINTS, hours=24.0 * longest))
    wet_days = stay.wet_hours / 24.0 if stay.wet_face else 0.0
    legs: list[tuple[Faces, float, float]] = []
    if stay.wet_face:
        wet = Face(sd=0.0, wet=True, name="wet")
        legs.append((replace(faces, **{stay.wet_face: wet}), 0.0, wet_days))
    if wet_days < stay.days:
        legs.append((faces, wet_days, stay.days))
    tolerance, longest_step = transport.central_finely(walk.samples.count)
    every = min(TOLD_EVERY, longest, longest_row)
    at_once = max(2, BLOCK_FIGURES // walk.wet.moisture.size)
    for met, first, last in legs:
        rows = transport.told_days(first, last, max(every, (last - first) / MOST_ROWS))
        rows = np.union1d(rows, [stop for stop in stops if first < stop < last])
        for piece in range(0, rows.size - 1, at_once):
            days = rows[piece : piece + at_once + 1]
            leg = transport.run(
                edges.quickened(walk.slab, wood, met),
                walk.mesh,
                walk.wet,
                air,
                met,
                begin + days[0],
                begin + days[-1],
                days=begin + days,
                humidity_offset=offset,
                finish_factor=walk.samples.finish,
                tolerance=tolerance,
                longest_step=np.minimum(longest_step, longest),
                first_step=transport.FIRST_STEP if piece == 0 else 1.0,
            )
            walk.wet = leg.end
            yield days, leg.moisture


def _rows(
    walk: _Walk, stay: Stay, days: Floats, moisture: Floats, course_day: float
) -> dict[str, Floats]:
    """Columns of one stay; leaves its set in `walk`."""
    slab, mesh, timber = walk.slab, walk.mesh, walk.timber
    strains = walk.mean_strains(moisture)
    rings = shape.ring_curvature(slab, shape.cup_of(walk.rings, strains))
    history = section.sweep(timber, mesh, moisture, walk.state, stay.hold, rings)
    free = section.free_strain(timber, walk.state, moisture) @ mesh.weight
    air_days = _air_day(stay, course_day) + days
    temperature, humidity = stay.air.at_days(air_days)
    strong = strength.of(slab.species).tension_across
    worst = stressed_most(slab, walk.samples, timber, walk.reference)
    walk.state = history.state
    return {
        "temperature": temperature,
        "relative_humidity": humidity,
        "equilibrium": slab.species.equilibrium(temperature, humidity),
        "mean": moisture @ mesh.weight,
        "shell_top": moisture[..., 0],
        "core": moisture[..., moisture.shape[-1] // 2],
        "shell_bottom": moisture[..., -1],
        # The rings know the free width; what stress and set add to it, the section knows, and a
        # share of it shows.
        "width": shape.width_of(walk.rings, strains)
        * (1.0 + walk.samples.set_in_width * (history.strain - free)),
        "thickness": shape.thickness_of(slab, walk.rings, strains),
        "cup": history.curvature * (slab.width**2 / 8.0),
        "bow": _bow(walk, stay, moisture),
        "stress_top": history.stress_top,
        "stress_bottom": history.stress_bottom,
        "index_top": strength.skin_index(history.tension_top * worst, strong),
        "index_bottom": strength.skin_index(history.tension_bottom * worst, strong),
        "moment": history.moment,
        "force": history.force,
    }


def _bow(walk: _Walk, stay: Stay, moisture: Floats) -> Floats:
    """Signed bow [m], (times, samples), by unequal shrinkage along the grain.

    Elastic: along the grain creep under changing moisture stays below the elastic strain (Toratti
    1992, memory), and a slab bends along its length freely.  Held flat it cannot bow.
    """
    slab, samples = walk.slab, walk.samples
    if slab.length is None or np.all(np.isinf(stay.hold.bending)):
        return np.zeros(moisture.shape[:2])
    low, middle, high = LENGTHWISE
    drawn = low + (high - low) * np.modf(_GOLDEN * np.arange(samples.count))[0]
    drawn[0] = middle
    start = slab.species.shrinkage_starts
    moved = np.minimum(moisture, start) - np.minimum(walk.state.unstrained, start)
    curvature = shape.gradient_curvature(moved, walk.mesh.depth, slab.thickness)
    result: Floats = drawn / (100.0 * start) * curvature * slab.length**2 / 8.0
    return result


def _notes(walk: _Walk, stays: Sequence[Stay]) -> list[Note]:
    """What every course leans on."""
    told = [Note("starts-flat" if walk.slab.brought is None else "brought-along")]
    told += [Note("creep"), Note("stiffness")]
    if "tension_across" in strength.of(walk.slab.species).estimated:
        told.append(Note("strength-estimated"))
    if walk.slab.length is not None:
        told.append(Note("bow"))
    if any(stay.machined_flat for stay in stays):
        told.append(Note("machined-flat"))
    return told
