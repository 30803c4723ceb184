"""A slab through its stays: the rows worth telling, and every stay in a few figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import course as engine
from model.behaviour import edges, ends, safe_drying, shape
from model.behaviour.course import Course, Stay
from model.behaviour.section import FREE
from model.behaviour.shape import Cupped
from model.behaviour.slab import Moisture, Slab
from model.behaviour.year import Sorption, wood_of
from model.codes import Note
from model.spread import Figure, Samples
from model.surroundings.room import Room

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ends:
    """What dries first.

    Attributes
    ----------
    zone : float
        How far in from uncoated ends the course reaches [m], at its mean warmth.
    may_split : bool
        Whether the slab began so much damper than its air that the ends run ahead and may split.
    left_by_coat : float
        Share of the flux through the ends that an end coat of `END_COAT` leaves.
    """

    zone: float
    may_split: bool
    left_by_coat: float


END_COAT: Final = 10.0  # m of still air, a thick end coat (judgement)
ENDS_SPLIT: Final = 3.0  # % M above what the air brings it to (judgement)


def ends_of(slab: Slab, found: Course) -> Ends:
    """What the ends of a slab do in a course: see `behaviour.ends`."""
    warmth = float(np.trapezoid(found.temperature, found.days)) / float(found.days[-1])
    zone = ends.dried_zone(slab, float(found.days[-1]), warmth)
    ahead = float(found.mean[0, 0]) - float(found.equilibrium.min())
    return Ends(zone, ahead > ENDS_SPLIT, ends.left_by_coat(END_COAT, zone))


def _too_fast(slab: Slab, found: Course) -> list[Note]:
    """A note where the course takes more out of it in a day than its wood bears unchecked."""
    rule = safe_drying.rule_of(slab.species)
    fast = safe_drying.fastest(found.days, found.mean, rule, slab.thickness)
    chance = fast.chance()
    if fast.allowed is None or safe_drying.unlikely(chance):
        return []
    return [
        Note(
            "dries-too-fast",
            loss=float(fast.loss[0]),
            allowed=fast.allowed,
            day=fast.day,
            skin=float(np.maximum(found.index_top, found.index_bottom)[:, 0].max()),
            likely=safe_drying.likely(chance),
            chance=100.0 * chance if fast.loss.size > 1 else None,
            printed=rule.printed,
        )
    ]


LEAST_ROWS: Final = 60  # of every stay, so that curves drawn through them look smooth (judgement)
MOST_POINTS: Final = 400  # kept of a long series; see `thinned`


@dataclass(frozen=True, slots=True)
class LargestCup:
    """The cup largest in amount, and its day of the course."""

    cupped: Cupped
    day: float


class TooFewRows(ValueError):  # noqa: N818 - read as what happened
    """So many stays that their own rows alone are more than may be told."""


@dataclass(frozen=True, slots=True)
class Summary:
    """One stay in a few figures.

    Attributes
    ----------
    name : str
    first, last : float
        Days of the course.
    mean, width, thickness, cup : Figure
        At its end [%, m, m, m]; the cup signed.
    largest_cup : Figure
        Signed cup largest in amount [m].
    largest_cup_day : float
        Day of the central case.
    largest_index : Figure
        Highest stress index of either face.
    largest_index_day : float
    largest_index_face : str
    largest_moment : Figure or None
        Moment of the hold largest in amount [N m], signed; None where nothing holds it in any stay.
    over_width : float
        Width that a cup is told over [m].
    """

    name: str
    first: float
    last: float
    mean: Figure
    width: Figure
    thickness: Figure
    cup: Figure
    largest_cup: Figure
    largest_cup_day: float
    largest_index: Figure
    largest_index_day: float
    largest_index_face: str
    largest_moment: Figure | None
    over_width: float

    @property
    def cupped(self) -> Cupped:
        """The cup at its end as it is told."""
        return shape.cupped(self.cup, self.over_width)

    @property
    def most_cupped(self) -> LargestCup:
        """The largest cup as it is told."""
        told = shape.cupped(self.largest_cup, self.over_width)
        return LargestCup(told, self.largest_cup_day)


def summaries(
    course: Course, stays: Sequence[Stay], moment: Floats | None = None
) -> tuple[Summary, ...]:
    """Every stay of a course in a few figures; `moment` is that of the hold [N m], if any."""
    told = []
    for number, stay in enumerate(stays):
        rows = np.flatnonzero(course.stay == number)
        last = rows[-1]
        index = np.maximum(course.index_top[rows], course.index_bottom[rows])
        worst = int(index[:, 0].argmax())
        on_top = course.index_top[rows[worst], 0] >= course.index_bottom[rows[worst], 0]
        bent = int(np.abs(course.cup[rows, 0]).argmax())
        told.append(
            Summary(
                name=stay.name,
                first=float(course.days[last] - stay.days),
                last=float(course.days[last]),
                mean=spread.figure(course.mean[last]),
                width=spread.figure(course.width[last]),
                thickness=spread.figure(course.thickness[last]),
                cup=spread.figure(course.cup[last]),
                largest_cup=spread.figure(_largest(course.cup[rows])),
                largest_cup_day=float(course.days[rows[bent]]),
                largest_index=spread.figure(index.max(axis=0)),
                largest_index_day=float(course.days[rows[worst]]),
                largest_index_face="top" if on_top else "bottom",
                largest_moment=None if moment is None else spread.figure(_largest(moment[rows])),
                over_width=course.slab.width,
            )
        )
    return tuple(told)


def _largest(values: Floats) -> Floats:
    """The value largest in amount along time, with its sign, (samples,)."""
    row = np.abs(values).argmax(axis=0)
    result: Floats = np.take_along_axis(values, row[None], axis=0)[0]
    return result


def thinned(course: Course, most: int = MOST_POINTS) -> NDArray[np.intp]:
    """Rows of a long course worth keeping: at most `most`, extremes among them.

    Kept are the first and last row of every stay, both extremes in it of the central mean moisture
    and cup, and its highest stress index; then, as far as they fit in, the extremes of stress,
    moisture at the faces and width.  What is left of `most` goes to the lowest and highest mean and
    cup in turn of equal stretches of time.  So a curve through them meets every peak.

    Raises
    ------
    TooFewRows
        If there are so many stays that their own rows alone are more than `most`.
    """
    count = course.days.size
    if count <= most:
        return np.arange(count)
    mean, cup = course.mean[:, 0], course.cup[:, 0]
    index = np.maximum(course.index_top[:, 0], course.index_bottom[:, 0])
    stays = [np.flatnonzero(course.stay == number) for number in range(int(course.stay[-1]) + 1)]
    chosen: set[int] = set()
    for rows in stays:
        chosen |= {int(rows[0]), int(rows[-1]), int(rows[index[rows].argmax()])}
        chosen |= _extremes(mean, rows) | _extremes(cup, rows)
    if len(chosen) > most:
        raise TooFewRows(f"{most} rows are too few for {len(stays)} stays")
    for values in (
        course.stress_top,
        course.stress_bottom,
        course.shell_top,
        course.shell_bottom,
        course.width,
    ):
        more = chosen.union(*(_extremes(values[:, 0], rows) for rows in stays))
        if len(more) <= most:
            chosen = more
    stretches = (most - len(chosen)) // 2
    if stretches:
        ends = np.linspace(course.days[0], course.days[-1], stretches + 1)
        bins = np.clip(np.searchsorted(ends, course.days, side="right") - 1, 0, stretches - 1)
        for number in range(stretches):
            rows = np.flatnonzero(bins == number)
            if rows.size:
                chosen |= _extremes((mean, cup)[number % 2], rows)
    return np.array(sorted(chosen), dtype=np.intp)


def _extremes(values: Floats, rows: NDArray[np.intp]) -> set[int]:
    """The two of these rows with the lowest and the highest value."""
    inside = values[rows]
    return {int(rows[inside.argmin()]), int(rows[inside.argmax()])}


@dataclass(frozen=True, slots=True)
class Profile:
    """Moisture through the thickness on a day, central case: depths [m], moistures [%]."""

    day: float
    depth: Floats
    moisture: Floats


@dataclass(frozen=True, slots=True)
class Followed:
    """A slab through its stays, as it is told.

    Attributes
    ----------
    course : Course
    rows : ndarray of int
        Those of its rows that are told.
    stays : tuple of Summary
    profiles : tuple of Profile
    moment : ndarray (times, samples)
        What the hold puts on the slab [N m], over its length, or over a metre where that is not
        known.
    held : bool
        Whether anything holds it in any stay.
    rooms : tuple of Room
        Each once.
    ends : Ends
    notes : tuple of Note
    """

    course: Course
    rows: NDArray[np.intp]
    stays: tuple[Summary, ...]
    profiles: tuple[Profile, ...]
    moment: Floats
    held: bool
    rooms: tuple[Room, ...]
    ends: Ends
    notes: tuple[Note, ...]

    @property
    def places(self) -> tuple[str, ...]:
        """Names of the places whose climates were used."""
        return tuple(dict.fromkeys(room.place for room in self.rooms if room.place is not None))

    @property
    def attribution(self) -> tuple[str, ...]:
        """Texts that must be shown where the data are."""
        return tuple(dict.fromkeys(text for room in self.rooms for text in room.attribution))

    @property
    def formulas(self) -> tuple[str, ...]:
        """Ids in the list of formulas that the rooms lean on."""
        return tuple(formula for room in self.rooms for formula in room.formulas)


def follow(
    slab: Slab,
    moisture: Moisture,
    stays: Sequence[Stay],
    rooms: Sequence[Room],
    shares: Floats,
    samples: Samples,
    *,
    start_day: float,
    cup: float = 0.0,
    came: Sorption = "drying",
    profiles: Sequence[float] = (),
    most_rows: int = MOST_POINTS,
) -> Followed:
    """Follow a slab through its stays, and choose what is told.

    Parameters
    ----------
    slab, moisture, stays, samples, start_day, cup, came
        As in `behaviour.course.run`.
    rooms : sequence of Room
        One a stay; the same object where it is the same room.
    shares : ndarray (stays, 2)
        What the bars of each stay bear of the section's moment, where that bends the edges down
        and where it bends them up; 1 without bars.
    profiles : sequence of float
        Days of the course whose moisture through the thickness is wanted.
    most_rows : int
        Of the series.

    Raises
    ------
    TooFewRows
        If there are so many stays that their own rows alone are more than `most_rows`.
    """
    found = engine.run(
        slab,
        moisture,
        stays,
        samples,
        start_day=start_day,
        cup=cup,
        came=came,
        stops=profiles,
        least_rows=LEAST_ROWS,
    )
    rows = thinned(found, most_rows)
    held = any(stay.hold is not FREE for stay in stays)
    moves = edges.quickened(slab, wood_of(slab, spread.draw(0)), stays[0].faces)
    ahead = edges.ends_note(slab, found.days, found.mean[:, 0], found.equilibrium)
    down, up = shares[found.stay].T[..., None]
    moment = found.moment * np.where(found.moment < 0.0, down, up) * (slab.length or 1.0)
    notes = []
    if held and slab.length is None:
        notes.append(Note("moment-of-a-metre"))
    if rows.size < found.days.size:
        notes.append(Note("series-thinned", told=rows.size, of=found.days.size))
    notes += _too_fast(slab, found)
    return Followed(
        course=found,
        rows=rows,
        stays=summaries(found, stays, moment if held else None),
        profiles=tuple(Profile(day, *found.profile(day)) for day in profiles),
        moment=moment,
        held=held,
        rooms=tuple(dict.fromkeys(rooms)),
        ends=ends_of(slab, found),
        notes=(*found.notes, Note("stress-index"), *notes, *edges.notes(slab, moves), *ahead),
    )
