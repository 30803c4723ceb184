"""Why a slab moved: the moisture it must have had, what bent it, and what is still to come.

The slab's history is followed by the course engine with everything that is not known as a
parameter; width, cup and moisture seen along the way decide between them (least squares with
priors, then draws).  For every draw the cup is taken apart: what the rings make of the mean
moisture, what a wet core or gradient leaves in a slab planed unequally, what unlike faces add, and
what stress locked in or held in adds last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from model import fitting, spread
from model.basis import Note
from model.behaviour import course, keys, rings, section, shape, shrinkage, timber, transport
from model.behaviour.course import Course, Stay
from model.behaviour.keys import Key
from model.behaviour.section import State
from model.behaviour.slab import Slab
from model.properties.finishes import Face, Faces
from model.spread import Figure, Samples
from model.surroundings.calendar import YEAR

Floats = NDArray[np.float64]
Cause = Literal["wet_core", "uneven_faces", "rings", "locked_in_stress"]
Seen = Literal["width", "cup", "moisture"]

CAUSES: Final[tuple[Cause, ...]] = ("rings", "wet_core", "uneven_faces", "locked_in_stress")
PLAIN_CAUSE: Final[dict[Cause, str]] = {
    "rings": "the rings (uniform drying of a flat-sawn slab)",
    "wet_core": "a core wetter than the faces, uncovered by planing",
    "uneven_faces": "faces that dry unlike",
    "locked_in_stress": "stress locked in, or held in by clamps and freed",
}
DRAWS: Final = 128
GREEN: Final = 1.15  # of where shrinkage starts: wettest the engine starts from, when not told
# Steps of the engine in a history of one way of lying are at most two thirds of this: all fits,
# draws and looks ahead together take about 5 ms a step, half of it more for every further way.
MOST_WORK: Final = 1000
AHEAD: Final = YEAR  # days looked ahead
AHEAD_DAYS: Final = np.append(np.arange(0.0, 364.1, 7.0), AHEAD)  # of the courses told
SOON: Final = 30.0  # days; the first look ahead
DECIDED: Final = 0.7  # of the draws must agree on the largest cause (judgement)
UNCUPPED: Final = 5.0e-4  # m; a cup smaller than this needs no cause (judgement)

# Priors (judgement): median and standard deviation of ln of the moisture before; core less shell
# [% M]; strain locked in, shell against core and face against face.
USUAL_BEFORE: Final = (15.0, 0.5)
CORE_PRIOR: Final = (1.0, 2.5)
LOCKED_PRIOR: Final = 1.5e-3  # of strain; 1.2 MPa at 800 MPa
SET_IN_WIDTH: Final = (0.7, 0.35)  # of the engine's set, what counts in a width
LEAST_LOCKED: Final = 2.0e-4  # of strain; a strip that stays straight leaves this much open
STRIP_SPREAD: Final = 0.5  # of the strain a strip shows along the grain, taken for that across it
# Error of the engine's cup, beside what is drawn: a share, and the straight-edge (judgement).
CUP_SHARE: Final = 0.15
CUP_READING: Final = 3.0e-4  # m
SHEAR_CV: Final = 0.14  # of shear strength along the grain, FPL-GTR-190 Table 5-6 (memory)
GROWTH_STRAIN: Final = 1.0e-3  # at the bark of a standing hardwood, order of size (memory, low)
COVERED: Final = 30.0  # m of still air; a face lying on a closed surface
FINISHED: Final = 1.0  # m of still air; both faces finished alike when no finish is told


@dataclass(frozen=True, slots=True)
class Sighting:
    """Something measured on the slab.

    Attributes
    ----------
    what : str
        `width` [m], `cup` [m, positive edges up] or `moisture` [%].
    value, error : float
        The figure and its standard deviation.
    day : float or None
        Days from the start of the history; None at its end.
    depth : float or None
        Of a moisture at the end [m below the top face]; None for the mean.
    """

    what: Seen
    value: float
    error: float
    day: float | None = None
    depth: float | None = None


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip ripped off along the grain: its length, its breadth in the direction it bowed, bow.

    All in metres.
    """

    length: float
    breadth: float
    bow: float


@dataclass(frozen=True, slots=True)
class History:
    """What is known of the slab from the day before to today.

    Attributes
    ----------
    slab : Slab
        With the width and thickness it had before.
    stays : tuple of Stay
        Where it has been since, in order.
    start_day : float
        Day of the year when the history begins.
    faces_known : bool
        Whether the faces of the stays are told; if not, three ways of lying are weighed.
    sightings : tuple of Sighting
    before : tuple of float or None
        Moisture before and its standard deviation, when it was measured [%].
    strip : Strip or None
    key : Key or None
        A key that sheared.
    """

    slab: Slab
    stays: tuple[Stay, ...]
    start_day: float = 0.0
    faces_known: bool = True
    sightings: tuple[Sighting, ...] = ()
    before: tuple[float, float] | None = None
    strip: Strip | None = None
    key: Key | None = None


@dataclass(frozen=True, slots=True)
class Share:
    """A cause of the cup.

    `amount` is what it adds to the cup today [m, positive edges up]; `share` its part of all that
    bends the same way as the cup [%]; `main` how often among the draws it is the largest [0..1].
    """

    cause: Cause
    amount: Figure
    share: Figure
    main: float


@dataclass(frozen=True, slots=True)
class Option:
    """What is still to come if something is done now and a year passes.

    `cup_in_a_month`, `cup` at the end and `cup_largest` from today on [m, positive edges up],
    `width_change` from today [m], `moisture` at the end [%]; `course` the central cup on
    `AHEAD_DAYS` [m].
    """

    name: str
    cup_in_a_month: Figure
    cup: Figure
    cup_largest: Figure
    width_change: Figure
    moisture: Figure
    course: Floats


@dataclass(frozen=True, slots=True)
class Measurement:
    """A cheap measurement: what to do, and what share of the doubt between causes it settles."""

    name: str
    action: str
    settles: float


@dataclass(frozen=True, slots=True)
class Lock:
    """What a strip ripped off tells: curvature [1/m], strain difference, stress difference [Pa]."""

    curvature: float
    strain: float
    stress: float | None
    moisture_difference: float


@dataclass(frozen=True, slots=True)
class Answer:
    """The diagnosis.

    Attributes
    ----------
    before : Figure
        Mean moisture before [%]; a `high` that is infinite: green, a width tells no more.  The
        mean of the draws, or the most probable case where there are none.
    by_formula : Figure or None
        The same by the shrinkage formula alone from the widths and the moisture today.
    now : Figure
        Mean moisture today [%].
    cup : Figure
        What the engine says the cup is today [m]; beside what was seen.
    shares : tuple of Share
        Largest first.
    main : Cause or None
        None when no cause stands out, or there is no cup to explain.
    lying : str or None
        The most likely way it lay, when its faces were not told, and how likely.
    options : tuple of Option
    measurements : tuple of Measurement
        Best first.
    strip : Lock or None
    key_force : Figure or None
        Least force that sheared the key [N].
    misfit : float
        Root mean square of the sightings' misses, in standard deviations; about 1 or less is good.
    notes, cautions : tuple
    """

    before: Figure
    by_formula: Figure | None
    now: Figure
    cup: Figure
    shares: tuple[Share, ...]
    main: Cause | None
    lying: tuple[str, float] | None
    options: tuple[Option, ...]
    measurements: tuple[Measurement, ...]
    strip: Lock | None
    key_force: Figure | None
    misfit: float
    notes: tuple[Note, ...]
    cautions: tuple[str, ...]


def moisture_before(
    width_ratio: Floats | float, moisture: Floats | float, shrinkage: Floats | float, starts: float
) -> Floats:
    """Moisture content before, from how a width changed and the moisture after.

    Parameters
    ----------
    width_ratio : array_like
        Width after over width before.
    moisture : array_like
        After [%].
    shrinkage : array_like
        Total shrinkage along the width, green to oven-dry [%].
    starts : float
        Moisture at which shrinkage starts [%].

    Returns
    -------
    ndarray
        [%]; more than `starts` (by the same straight line) means: green, no more can be said.

    References
    ----------
    Wood Handbook FPL-GTR-190 ch. 13, solved for the first moisture (memory).

    Examples
    --------
    A slab of 8.9 % tangential shrinkage that lost 4 % of its width in drying to 8 %:

    >>> round(float(moisture_before(0.96, 8.0, 8.9, 30.0)), 1)
    21.1
    """
    total = np.asarray(shrinkage, dtype=np.float64) / 100.0
    after = 1.0 - total * (1.0 - np.minimum(np.asarray(moisture) / starts, 1.0))
    first = after / np.asarray(width_ratio, dtype=np.float64)
    result: Floats = starts * (1.0 - (1.0 - first) / total)
    return result


def ratio_of_fixings(out_of_line: float, distance: float) -> float:
    """Width after over width before, from fixings that stand out of line.

    `out_of_line` [m] at a `distance` [m] from where the slab is held; positive when drawn in.

    Examples
    --------
    >>> ratio_of_fixings(0.008, 0.2)
    0.96
    """
    return 1.0 - out_of_line / distance


def strip_strain(strip: Strip) -> tuple[float, float]:
    """Curvature of a strip's bow [1/m], and strain difference over its breadth [-] (derived)."""
    curvature = 8.0 * strip.bow / strip.length**2
    return curvature, curvature * strip.breadth


_NAMES: Final = (
    "before", "core", "rate", "sorption", "humidity", "shared", "tangential", "radial", "ring",
    "pith", "modulus", "mechano", "finish", "locked_even", "locked_odd", "law", "set_in_width",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Case:
    """A history with one way of lying: the forward model of its parameters."""

    history: History
    stays: tuple[Stay, ...]
    mesh: transport.Grid
    locked: tuple[float, float]  # prior of the even strain locked in: middle, standard deviation
    usual: float

    def samples(self, theta: Floats) -> Samples:
        """What the course engine calls uncertain, for every row of parameters."""
        column = dict(zip(_NAMES, theta.T, strict=True))
        common = np.sqrt(spread.SHRINKAGE_SHARED) * column["shared"]
        own = np.sqrt(1.0 - spread.SHRINKAGE_SHARED)
        count = theta.shape[0]
        low, high = spread.MECHANO_RANGE
        thin, thick = np.log(spread.FINISH_FACTOR)
        return Samples(
            count=count,
            transport=column["rate"],
            sorption=np.maximum(0.6, 1.0 + spread.SORPTION_CV * column["sorption"]),
            tangential=np.maximum(
                0.3, 1.0 + spread.SHRINKAGE_CV * (common + own * column["tangential"])
            ),
            radial=np.maximum(0.3, 1.0 + spread.SHRINKAGE_CV * (common + own * column["radial"])),
            humidity=column["humidity"],
            moisture=np.zeros(count),
            ring=ndtr(column["ring"]),
            pith=ndtr(column["pith"]),
            modulus=np.maximum(0.3, 1.0 + spread.MODULUS_CV * column["modulus"]),
            finish=np.exp(thin + (thick - thin) * ndtr(column["finish"])),
            mechano=low * (high / low) ** ndtr(column["mechano"]),
            creep_limit=np.full(count, 8.0),
            # Nearly half the draws keep their set for good.  The middle and the step of the slopes
            # lie below the threshold, so the fit itself sees one law.
            unlimited=column["law"] > 0.1,
        )

    def mean_before(self, theta: Floats) -> Floats:
        """Mean moisture before of every row [%]."""
        own = theta[:, _NAMES.index("before")]
        if self.history.before is not None:
            value, error = self.history.before
            told: Floats = np.maximum(value + error * own, 1.0)
            return told
        result: Floats = self.usual * np.exp(USUAL_BEFORE[1] * own)
        return result

    def begin(self, theta: Floats, *, even: bool = False) -> Floats:
        """Moisture through the thickness before (rows, nodes): a parabola about its mean [%]."""
        centre, deviation = CORE_PRIOR
        gap = centre + deviation * theta[:, _NAMES.index("core")]
        if even:
            gap = np.zeros_like(gap)
        x = 2.0 * self.mesh.depth / self.mesh.thickness - 1.0
        shape_ = 1.0 / 3.0 - x * x
        shape_ = shape_ - self.mesh.mean(shape_)
        mean = self.mean_before(theta)
        if self.history.before is None:
            # No width tells how much free water there was, and following it out takes hours of
            # steps: what is wetter starts a little above where shrinkage does.
            mean = np.minimum(mean, GREEN * self.history.slab.species.shrinkage_starts)
        profile = mean[:, None] + gap[:, None] * shape_
        # Only far draws of the proposal come here: nothing is drier than 1 %.
        result: Floats = np.maximum(profile, 1.0)
        return result

    def state(self, theta: Floats, begin: Floats, *, stressed: bool) -> State:
        """Flat before; with or without strain locked in, which holds itself in balance."""
        state = section.unstressed(begin)
        if not stressed:
            return state
        x = 2.0 * self.mesh.depth / self.mesh.thickness - 1.0
        even, odd = 0.5 * (3.0 * x**2 - 1.0), 0.5 * (5.0 * x**3 - 3.0 * x)
        odd_size = np.hypot(*self.locked) * theta[:, [_NAMES.index("locked_odd")]]
        return replace(state, creep=self.locked_even(theta)[:, None] * even + odd_size * odd)

    def locked_even(self, theta: Floats) -> Floats:
        """Strain locked in, shell against core, of every row [-]."""
        middle, deviation = self.locked
        result: Floats = middle + deviation * theta[:, _NAMES.index("locked_even")]
        return result

    def run(
        self,
        theta: Floats,
        stays: Sequence[Stay] | None = None,
        *,
        stressed: bool = True,
        stops: Sequence[float] = (),
    ) -> Course:
        """Every row of parameters through the history."""
        begin = self.begin(theta)
        return course.run(
            self.history.slab,
            begin,
            self.stays if stays is None else stays,
            self.samples(theta),
            start_day=self.history.start_day,
            state=self.state(theta, begin, stressed=stressed),
            stops=stops,
        )

    def predict(self, theta: Floats) -> Floats:
        """What every row says the sightings are, (rows, sightings)."""
        sightings = self.history.sightings
        stops = sorted({one.day for one in sightings if one.day is not None and one.day > 0.0})
        followed = self.run(theta, stops=stops)
        columns = [
            self._width(theta, followed, one) if one.what == "width" else _seen(followed, one)
            for one in sightings
        ]
        if not columns:
            return np.zeros((theta.shape[0], 0))
        return np.stack(columns, axis=1)

    def _width(self, theta: Floats, followed: Course, sighting: Sighting) -> Floats:
        """A width as every row has it: between the engine's and that of wood without set.

        Tables of shrinkage come from small pieces free of set; the engine's set keeps a thick slab
        wider, by an amount nobody has measured for it.
        """
        engine = _seen(followed, sighting)
        if sighting.day is not None:
            return engine
        slab, start = followed.slab, followed.slab.species.shrinkage_starts
        samples = self.samples(theta)
        # What is left after planing is seen against its own moisture before.
        before = followed.mesh.mean(np.minimum(followed.state.unstrained, start))
        after = followed.mesh.mean(np.minimum(followed.moisture, start))
        along, over = (
            shrinkage.strain(total, start, before, after)
            for total in (
                slab.species.tangential * samples.tangential,
                slab.species.radial * samples.radial,
            )
        )
        none = np.zeros(1)
        change = shape.Strains(along, over, none, none)
        free = shape.width_of(slab, timber.rings_of(slab, samples), change)
        centre, deviation = SET_IN_WIDTH
        share = centre + deviation * theta[:, _NAMES.index("set_in_width")]
        result: Floats = free + share * (engine - free)
        return result

    @property
    def data(self) -> fitting.Data:
        """The sightings as something to fit; the engine's own error stands beside a cup's."""
        sightings = self.history.sightings
        errors = [
            float(np.hypot(one.error, np.hypot(CUP_READING, CUP_SHARE * one.value)))
            if one.what == "cup"
            else one.error
            for one in sightings
        ]
        values = np.array([one.value for one in sightings])
        return fitting.Data(self.predict, values, np.diag(np.square(errors)), len(_NAMES))


def _seen(followed: Course, sighting: Sighting) -> Floats:
    """One sighting as the engine's draws have it, (samples,)."""
    end = float(followed.days[-1])
    day = end if sighting.day is None else min(sighting.day, end)
    row = int(np.searchsorted(followed.days, day + 1e-9)) - 1
    if sighting.depth is None:
        columns = {"width": followed.width, "cup": followed.cup, "moisture": followed.mean}
        whole: Floats = columns[sighting.what][row]
        return whole
    depth = followed.mesh.depth
    right = int(np.clip(np.searchsorted(depth, sighting.depth), 1, depth.size - 1))
    share = (sighting.depth - depth[right - 1]) / (depth[right] - depth[right - 1])
    above, below = followed.moisture[:, right - 1], followed.moisture[:, right]
    result: Floats = (1.0 - share) * above + share * below
    return result


def _lyings(history: History) -> list[tuple[str, tuple[Stay, ...]]]:
    """Ways the slab may have lain: as told, or open, on its bottom, on its top."""
    if history.faces_known:
        return [("as told", history.stays)]
    open_, shut = Face(0.0), Face(COVERED, name="closed")
    ways = {
        "both faces open to the air": Faces(open_, open_),
        "lying on its bottom face": Faces(open_, shut),
        "its top face covered": Faces(shut, open_),
    }
    return [
        (name, tuple(replace(stay, faces=faces) for stay in history.stays))
        for name, faces in ways.items()
    ]


def _alike(stays: Sequence[Stay]) -> tuple[Stay, ...]:
    """The stays with both faces like the one more open, and nothing held."""
    changed = []
    for stay in stays:
        face = min(stay.faces.top, stay.faces.bottom, key=lambda one: one.resistance)
        changed.append(
            replace(stay, faces=Faces(face, face), hold=section.FREE, wet_face=None, wet_hours=0.0)
        )
    return tuple(changed)


def _by_rings(case: _Case, theta: Floats, followed: Course) -> Floats:
    """Cup at the end by the rings alone, from the mean moisture before and after [m]."""
    samples = case.samples(theta)
    species = case.history.slab.species
    before, after = case.mean_before(theta), followed.mean[-1]
    along, over = (
        shrinkage.strain(total, species.shrinkage_starts, before, after)
        for total in (species.tangential * samples.tangential, species.radial * samples.radial)
    )
    none = np.zeros(1)
    return shape.cup_of(
        timber.rings_of(followed.slab, samples), shape.Strains(along, over, none, none)
    )


def _parts(case: _Case, theta: Floats, followed: Course) -> Floats:
    """The cup at the end taken apart by cause, (causes, samples); the sum is the cup [m]."""
    free = tuple(replace(stay, hold=section.FREE) for stay in case.stays)
    dressed = any(stay.dressed for stay in case.stays)
    unlike = any(not stay.faces.alike or stay.wet_face for stay in case.stays)

    def bent(run: Course) -> Floats:
        result: Floats = run.cup[-1] - _by_rings(case, theta, run)
        return result

    whole = bent(followed)
    unstressed = bent(case.run(theta, free, stressed=False))
    # Alike faces dry a slab evenly: without planing nothing bends it but its rings.
    core = bent(case.run(theta, _alike(case.stays), stressed=False)) if dressed else 0.0 * whole
    if not unlike:
        core = unstressed
    return np.stack([_by_rings(case, theta, followed), core, unstressed - core, whole - unstressed])


def _shares(parts: Floats, seen: float) -> tuple[tuple[Share, ...], Cause | None]:
    """Shares by cause, largest first, and the main one if it stands out."""
    way = 1.0 if seen >= 0.0 else -1.0
    helping = np.maximum(way * parts, 0.0)
    total = helping.sum(axis=0)
    share = 100.0 * helping / np.maximum(total, 1e-12)
    drawn = share[:, 1:] if share.shape[1] > 1 else share
    largest = drawn.argmax(axis=0)
    shares = []
    for i, cause in enumerate(CAUSES):
        mean = float(drawn[i].mean())
        low, high = np.percentile(drawn[i], [10.0, 90.0])
        band = Figure(mean, min(float(low), mean), max(float(high), mean))
        told = band if share.shape[1] > 1 else Figure(mean)
        often = float(np.mean(largest == i))
        shares.append(Share(cause, fitting.figure(parts[i]), told, often))
    ordered = tuple(sorted(shares, key=lambda one: -one.share.value))
    stands_out = ordered[0].main >= DECIDED and abs(seen) >= UNCUPPED
    return ordered, ordered[0].cause if stands_out else None


def _ahead(
    case: _Case, theta: Floats, followed: Course, stay: Stay, stops: Sequence[float] = ()
) -> Course:
    """What a further stay makes of every draw."""
    passed = sum(one.days for one in case.stays)
    return course.run(
        followed.slab,
        followed.moisture,
        [stay],
        case.samples(theta),
        start_day=case.history.start_day + passed,
        state=followed.state,
        stops=stops,
    )


def _option(name: str, later: Course) -> Option:
    rows = np.abs(later.cup).argmax(axis=0)
    largest = np.take_along_axis(later.cup, rows[None], axis=0)[0]
    soon = int(np.searchsorted(later.days, SOON))
    return Option(
        name,
        fitting.figure(later.cup[soon]),
        fitting.figure(later.cup[-1]),
        fitting.figure(largest),
        fitting.figure(later.width[-1] - later.width[0]),
        fitting.figure(later.mean[-1]),
        np.interp(AHEAD_DAYS, later.days, later.cup[:, 0]),
    )


def _waiting(case: _Case, next_stay: Stay | None) -> Stay:
    """The stay to come if nothing is done: a year as in the last one."""
    last = case.stays[-1] if next_stay is None else next_stay
    return replace(
        last,
        days=AHEAD,
        hold=section.FREE,
        dress_top=0.0,
        dress_bottom=0.0,
        machined_flat=False,
        wet_face=None,
        wet_hours=0.0,
        air_day=None if last.air.period is not None or last.air.days.size == 1 else last.air_day,
    )


_TWO_WEEKS: Final = 14.0  # days
_ONE_DAY: Final = 1.0
FEWEST_DRAWS: Final = 8  # draws below which nothing is said of measurements
_THREE_DAYS: Final = 3.0


_ACTIONS: Final = {
    "when": "Find out when the cup came: within a day of planing it is stress let go, over days "
    "and weeks it is moisture.",
    "pin_core": "Read insulated pins in the middle of the thickness and at a fifth of it, 300 mm "
    "(12 in) from the ends: is the core wetter?",
    "wait": "Leave it as it lies and lay the straight-edge on it again in two weeks.",
    "turn": "Turn it over and look after three days: a cup by unlike faces goes back.",
    "weigh": "Weigh it today and in two weeks: is it still losing water?",
    "rings": "Look at the end grain and measure where the pith lies.",
    "strip": "Rip a strip about 25 mm (1 in) wide off one edge and measure its bow: is there "
    "stress?",
}


def _measurements(
    case: _Case, theta: Floats, followed: Course, left: Course, turned: Course, parts: Floats
) -> tuple[Measurement, ...]:
    """Cheap measurements by how much of the doubt between the two likeliest causes they settle."""
    if theta.shape[0] < FEWEST_DRAWS:
        return ()
    means = np.abs(parts[:, 1:]).mean(axis=1)
    first, second = np.argsort(means)[::-1][:2]
    doubt = parts[first, 1:] - parts[second, 1:]
    readings = _read_by_draws(case, theta, followed, left, turned)
    found = [
        Measurement(name, _ACTIONS[name], _settles(seen[1:], doubt))
        for name, seen in readings.items()
    ]
    return tuple(sorted(found, key=lambda one: -one.settles))


def _read_by_draws(
    case: _Case, theta: Floats, followed: Course, left: Course, turned: Course
) -> dict[str, Floats]:
    """What every draw says each cheap measurement would read, with the error of reading it."""
    history, samples = case.history, case.samples(theta)
    noise = iter(np.random.default_rng(0).standard_normal((len(_ACTIONS), theta.shape[0])))

    def since(run: Course, day: float) -> tuple[Floats, Floats]:
        row = int(np.searchsorted(run.days, day))
        return run.cup[row] - run.cup[0], run.mean[row] - run.mean[0]

    middle = followed.mesh.depth.size // 2
    core = followed.moisture[:, middle] - followed.mean[-1]
    found = {
        "pin_core": core + 0.7 * next(noise),  # % M; two readings of one meter
        "wait": since(left, _TWO_WEEKS)[0] + CUP_READING * next(noise),
        "turn": since(turned, _THREE_DAYS)[0] + CUP_READING * next(noise),
        "weigh": since(left, _TWO_WEEKS)[1] + 0.1 * next(noise),  # % M
    }
    planed_on = _planed_on(case.stays)
    early = planed_on is not None and any(
        one.what == "cup" and one.day is not None and planed_on <= one.day <= planed_on + 7.0
        for one in history.sightings
    )
    if planed_on is not None and not early:
        row = int(np.searchsorted(followed.days, planed_on + _ONE_DAY))
        # Remembered, not measured: to a millimetre or so.
        found["when"] = followed.cup[row] + 1.0e-3 * next(noise)
    if history.slab.pith_below is None:
        found["rings"] = np.log(rings.pith_distance(history.slab, samples.pith)) + 0.1 * next(noise)
    if history.strip is None:
        size = np.log(np.abs(case.locked_even(theta)) + LEAST_LOCKED)
        found["strip"] = size + STRIP_SPREAD * next(noise)
    return found


def _planed_on(stays: Sequence[Stay]) -> float | None:
    """Day of the history when it was last planed."""
    passed, found = 0.0, None
    for stay in stays:
        if stay.dressed:
            found = passed
        passed += stay.days
    return found


def _settles(seen: Floats, doubt: Floats) -> float:
    """Share of the variance of a doubt that a reading explains, as a parabola of it, 0 to 1."""
    if float(np.var(seen)) < 1e-18 or float(np.var(doubt)) < 1e-18:
        return 0.0
    scaled = (seen - seen.mean()) / seen.std()
    design = np.stack([np.ones_like(scaled), scaled, scaled**2], axis=1)
    fitted = design @ np.linalg.lstsq(design, doubt, rcond=None)[0]
    left_over = float(np.var(doubt - fitted) / np.var(doubt))
    # Adjusted for the two terms fitted, so that a reading of mere noise scores 0 on the mean.
    count = seen.size
    return max(0.0, 1.0 - left_over * (count - 1) / (count - 3))


def by_formula(
    slab: Slab, width_ratio: float, moisture: float, error: float, samples: Samples
) -> Figure:
    """Moisture before by the shrinkage formula alone [%], with its spread.

    Parameters
    ----------
    slab : Slab
        Its ring angle sets the shrinkage along the width; flat-sawn when not known.
    width_ratio : float
        Width after over width before.
    moisture, error : float
        Mean moisture after and its standard deviation [%].
    samples : Samples
    """
    species = slab.species
    # With the pith known the width runs through all angles; their mean is the rings' own.
    share = timber.rings_of(slab, samples).tangential_share
    along = species.tangential * samples.tangential
    over = species.radial * samples.radial
    after = moisture + error * samples.moisture / spread.METER_SD
    total = over + (along - over) * share
    return spread.figure(moisture_before(width_ratio, after, total, species.shrinkage_starts))


def _formula(history: History, samples: Samples) -> Figure | None:
    """`by_formula` on the last width and the moistures at the end; None without either."""
    end = [one for one in history.sightings if one.day is None]
    widths = [one for one in end if one.what == "width"]
    seen = [one for one in end if one.what == "moisture"]
    if not widths or not seen:
        return None
    whole = [one for one in seen if one.depth is None] or seen
    now = float(np.mean([one.value for one in whole]))
    error = float(np.sqrt(np.mean([one.error**2 for one in whole])))
    ratio = widths[-1].value / history.slab.width
    return by_formula(history.slab, ratio, now, error, samples)


def _lock(history: History) -> Lock | None:
    if history.strip is None:
        return None
    curvature, strain = strip_strain(history.strip)
    modulus = history.slab.species.modulus
    stress = None if modulus is None else modulus * strain
    # Length changes 0.15 % from green to dry (Wood Handbook ch. 4): the moisture difference over
    # the strip that would bow it as much without any stress.
    per_moisture = 0.15 / 100.0 / history.slab.species.shrinkage_starts
    return Lock(curvature, strain, stress, strain / per_moisture)


def _key_force(history: History) -> Figure | None:
    if history.key is None:
        return None
    clear = keys.capacity(history.key, history.slab.species).wing_shear
    reach = spread.TO_DECILE * SHEAR_CV
    return Figure(clear, clear * (1.0 - reach), clear * (1.0 + reach))


CAUTIONS: Final = (
    "A slab is heavy: turn it with enough people or a hoist, and keep hands from under it.",
    "Ripping stressed wood can close on the saw or spring: use a riving knife, stand clear of the "
    "line of the blade.",
    "A check at a fixing or a sheared key can mean that a loaded or overhead part is no longer "
    "held: take the load off and have it looked at.",
)


def _check(history: History) -> None:
    if not history.stays:
        raise ValueError("a history needs at least one stay")
    total = sum(stay.days for stay in history.stays)
    for one in history.sightings:
        if not (np.isfinite(one.value) and one.error > 0.0):
            raise ValueError("a sighting needs a finite figure and an error above 0")
        if one.day is not None and not 0.0 <= one.day <= total * (1.0 + 1e-9):
            raise ValueError("a sighting lies within the history")
        if one.what != "cup" and one.value <= 0.0:
            raise ValueError("a width or moisture seen is above 0")
        if one.depth is not None and (one.day is not None or one.what != "moisture"):
            raise ValueError("a depth goes with a moisture at the end of the history")


@dataclass(frozen=True, slots=True)
class _Weighed:
    """The likeliest way of lying with its fit, and how likely it is."""

    name: str
    case: _Case
    fit: fitting.Fit
    chance: float


def _locked_priors(history: History) -> list[tuple[float, float]]:
    """Middle and standard deviation of the strain locked in, one for each sign it may have.

    A strip that bowed says how large, loosely, and not whether the shells or the core are pulled.
    """
    if history.strip is None:
        return [(0.0, LOCKED_PRIOR)]
    size = abs(strip_strain(history.strip)[1])
    if size <= LEAST_LOCKED:
        return [(0.0, LEAST_LOCKED)]
    return [(size, STRIP_SPREAD * size), (-size, STRIP_SPREAD * size)]


def _refuse_long(cases: Sequence[tuple[str, _Case]]) -> None:
    """Refuse a history whose fits would take too many steps of the engine."""
    steps = cases[0][1].run(np.zeros((1, len(_NAMES)))).days.size
    most = int(MOST_WORK / (1.0 + 0.5 * len(cases)))
    if steps > most:
        raise transport.TooManySteps(
            f"this history takes {steps:,} steps of the engine, where {most:,} can be fitted"
        )


def _weigh(history: History) -> list[_Weighed]:
    """Every way of lying fitted, likeliest first."""
    mesh = transport.grid(history.slab.thickness)
    central = _formula(history, spread.draw(0))
    usual = USUAL_BEFORE[0]
    if central is not None:
        # The formula's answer is where the search begins; the prior about it stays as wide.
        usual = float(np.clip(central.value, 5.0, history.slab.species.fibre_saturation))
    cases = [
        (name, _Case(history, stays, mesh, locked, usual))
        for name, stays in _lyings(history)
        for locked in _locked_priors(history)
    ]
    _refuse_long(cases)
    found = [(name, case, fitting.fit(case.data)) for name, case in cases]
    evidence = np.array([one[2].log_evidence for one in found])
    chance = np.exp(evidence - evidence.max())
    chance /= chance.sum()
    weighed = [_Weighed(*one, float(c)) for one, c in zip(found, chance, strict=True)]
    return sorted(weighed, key=lambda one: -one.chance)


def answer(
    history: History,
    next_stay: Stay | None = None,
    finished: Face | None = None,
    draws: int = DRAWS,
    seed: int = spread.DEFAULT_SEED,
) -> Answer:
    """Diagnose a slab.

    Parameters
    ----------
    history : History
        What it was, where it has been, and what was seen.
    next_stay : Stay, optional
        Where it will be for the year to come; as in its last stay when left out.
    finished : Face, optional
        The finish of "both faces finished alike"; about three coats of varnish when left out.
    draws, seed : int
        Posterior draws and their seed.

    Raises
    ------
    ValueError
        No stay, or a sighting that is impossible or lies outside the history.
    TooManySteps
        A thin or wet slab through years of changing air.

    References
    ----------
    Least squares with a normal prior on the course engine; priors by judgement (derived).
    """
    _check(history)
    weighed = _weigh(history)
    best = weighed[0]
    case = best.case
    theta = fitting.draws(case.data, best.fit, draws, seed)
    planed_on = _planed_on(case.stays)
    followed = case.run(theta, stops=() if planed_on is None else (planed_on + _ONE_DAY,))
    parts = _parts(case, theta, followed)
    cups = [one.value for one in history.sightings if one.what == "cup" and one.day is None]
    seen = cups[-1] if cups else float(followed.cup[-1, 0])
    shares, main = _shares(parts, seen)
    options, left, turned = _options(case, theta, followed, next_stay, finished)
    likely = sum(one.chance for one in weighed if one.name == best.name)
    lying = None if history.faces_known else (best.name, likely)
    if lying is not None and likely < DECIDED and main == "uneven_faces":
        main = None
    misses = (case.data.values - best.fit.predicted) / np.sqrt(np.diag(case.data.covariance))
    found = Answer(
        before=_before(case, theta),
        by_formula=_formula(history, spread.draw(draws, seed) if draws else spread.draw(0)),
        now=fitting.figure(followed.mean[-1]),
        cup=fitting.figure(followed.cup[-1]),
        shares=shares,
        main=main,
        lying=lying,
        options=options,
        measurements=_measurements(case, theta, followed, left, turned, parts),
        strip=_lock(history),
        key_force=_key_force(history),
        misfit=float(np.sqrt(np.mean(misses**2))) if misses.size else 0.0,
        notes=(),
        cautions=CAUTIONS,
    )
    return replace(found, notes=tuple(_notes(found, history, seen)))


def _before(case: _Case, theta: Floats) -> Figure:
    """Moisture before; at most where shrinkage starts, with an open end if it may be more.

    With draws its value is their mean, which misses by least in the mean square: within 1.5 % of
    84 of 100 made-up moistures, where the most probable case alone comes to 80 (measured).
    """
    drawn = case.mean_before(theta)
    found = fitting.figure(drawn)
    if drawn.size > 1 and found.low is not None and found.high is not None:
        middle = float(np.clip(drawn[1:].mean(), found.low, found.high))
        found = replace(found, value=middle)
    start = case.history.slab.species.shrinkage_starts
    if case.history.before is not None or max(found.value, found.high or 0.0) <= start:
        return found
    low = None if found.low is None else min(found.low, start)
    return Figure(min(found.value, start), low, None if found.high is None else float("inf"))


def _options(
    case: _Case, theta: Floats, followed: Course, next_stay: Stay | None, finished: Face | None
) -> tuple[tuple[Option, ...], Course, Course]:
    """What is to come by what is done, with the courses if left and if turned."""
    waiting = _waiting(case, next_stay)
    bare = Face(0.0)
    film = Face(FINISHED, name="finished") if finished is None else finished
    stops = (_THREE_DAYS, _TWO_WEEKS, SOON)
    left = _ahead(case, theta, followed, waiting, stops)
    turned = _ahead(case, theta, followed, replace(waiting, turned=not waiting.turned), stops)
    opened = _ahead(case, theta, followed, replace(waiting, faces=Faces(bare, bare)), stops)
    alike = _ahead(case, theta, followed, replace(waiting, faces=Faces(film, film)), stops)
    named = (
        ("left as it is", left),
        ("turned over", turned),
        ("both faces opened", opened),
        ("both faces finished alike", alike),
    )
    return tuple(_option(name, later) for name, later in named), left, turned


def _notes(found: Answer, history: History, seen: float) -> list[Note]:
    notes = []
    start = history.slab.species.shrinkage_starts
    if found.before.value > 0.95 * start:
        notes.append(
            Note(
                "green-before",
                f"Above {start:g} % wood does not shrink, so a width cannot tell how much wetter "
                "it was.",
                source="Wood Handbook FPL-GTR-190 ch. 13",
            )
        )
    if abs(seen) < UNCUPPED:
        notes.append(Note("no-cup", "There is no cup to explain."))
    elif found.main is None:
        first, second = found.shares[:2]
        best = (
            found.measurements[0]
            if found.measurements and found.measurements[0].settles > 0.1
            else None
        )
        what = f" What would tell: {best.action}" if best else ""
        notes.append(
            Note(
                "cannot-tell",
                f"Can't tell: {PLAIN_CAUSE[first.cause]} and {PLAIN_CAUSE[second.cause]} explain "
                f"what was seen about equally.{what}",
                source="derived",
            )
        )
    if found.misfit > 2.0:
        notes.append(
            Note(
                "does-not-fit",
                "What was seen does not go together by any of these causes: look at the figures, "
                "the species and the dates again.",
                source="derived",
            )
        )
    if found.lying is not None:
        notes.append(
            Note(
                "faces-guessed",
                f"The faces are not told; of open, lying on the bottom and covered on top the "
                f"likeliest is {found.lying[0]} ({100 * found.lying[1]:.0f} %).",
                source="derived",
            )
        )
    if found.strip is not None:
        what = (
            "less than the order of growth stress"
            if abs(found.strip.strain) < GROWTH_STRAIN
            else "as large as growth stress or larger"
        )
        notes.append(
            Note(
                "strip",
                f"The strip's bow is a strain difference of {1e6 * found.strip.strain:.0f} "
                f"millionths over its breadth, {what}; by moisture alone it would take "
                f"{abs(found.strip.moisture_difference):.0f} % from side to side. That stress "
                "along the grain tells of stress across it is a guess.",
                source="derived; growth strains from memory, low confidence",
            )
        )
    notes.append(
        Note(
            "cup-uncertain",
            "The size of a cup is known within a factor of about 1.6 with readings; what comes "
            "after drying through is the least sure.",
            source="judgement",
        )
    )
    return notes
