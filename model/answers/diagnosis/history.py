"""What is known of a slab that moved: where it has been, and what was measured on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np

from model import spread
from model.behaviour.course import Stay
from model.behaviour.evidence import Given, Readings, Untold
from model.behaviour.keys import Key
from model.behaviour.slab import Depths, Moisture, ShellCore, Slab

Seen = Literal["width", "cup", "moisture", "end_grain"]
Torn = Literal["none", "outer", "inner", "all"]
Checked = Literal["none", "end", "face", "fixing"]
Fixed = Literal["solid", "slotted", "free"]

WIDTH_ERROR: Final = 5.0e-4  # m; standard deviation of a width by tape or rule (judgement)
CUP_ERROR: Final = 5.0e-4  # m; of a cup by straight-edge and rule, to a millimetre (judgement)
BEFORE_ERROR: Final = 1.0  # % M; a reading of then (judgement)
END_GRAIN_ERROR: Final = 1.0  # % M; of end grain about the room's equilibrium (judgement)
LEAST_ERROR: Final = 0.1  # % M; of a mean that an answer gave
DRIEST_SEEN: Final = 0.1  # % M; a lower reading is taken as this


@dataclass(frozen=True, slots=True)
class Errors:
    """Standard deviations of what measures: a tape and a straight-edge [m], a meter [% M]."""

    tape: float = WIDTH_ERROR
    cup: float = CUP_ERROR
    meter: float = spread.METER_SD


@dataclass(frozen=True, slots=True)
class Looks:
    """What else was seen, as words; None where nobody looked.

    Attributes
    ----------
    torn : rows of fixings that tore, bent or split out.
    check : where it split or checked.
    fixed : how its fixings held it.
    flattened : float or None
        Cup it had before an earlier flattening [m, positive edges up].
    key_split : whether a key sheared or split.
    """

    torn: Torn | None = None
    check: Checked | None = None
    fixed: Fixed | None = None
    flattened: float | None = None
    key_split: bool = False


@dataclass(frozen=True, slots=True)
class Sighting:
    """Something measured on the slab.

    Attributes
    ----------
    what : str
        `width` [m], `cup` [m, positive edges up], `moisture` [%], or `end_grain`: a reading on end
        grain [%], which stands near what the room holds wood at.
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
class FixingsMoved:
    """Fixings that stand out of line [m], positive when drawn in, and how far from the hold [m]."""

    out_of_line: float
    distance: float

    @property
    def width_ratio(self) -> float:
        """Width after over width before.

        Examples
        --------
        >>> FixingsMoved(0.008, 0.2).width_ratio
        0.96
        """
        return 1.0 - self.out_of_line / self.distance


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
    looks : Looks
    """

    slab: Slab
    stays: tuple[Stay, ...]
    start_day: float = 0.0
    faces_known: bool = True
    sightings: tuple[Sighting, ...] = ()
    before: tuple[float, float] | None = None
    strip: Strip | None = None
    key: Key | None = None
    looks: Looks = field(default_factory=Looks)


def width_seen(
    slab: Slab,
    width: float,
    day: float | None = None,
    stretch: float | None = None,
    error: float = WIDTH_ERROR,
) -> Sighting:
    """A width [m]; of fixings it is told over a `stretch` [m], the same error on a shorter length.

    Parameters
    ----------
    slab : Slab
    width : float
        Of the whole slab [m].
    day : float, optional
        Days from the start of the history; its end when left out.
    stretch : float, optional
        What was measured [m]; the whole width when left out.
    error : float
        Standard deviation of a length by the tape [m].
    """
    over = error if stretch is None else error * slab.width / stretch
    return Sighting("width", width, over, day)


def cup_seen(cup: float, day: float | None = None, error: float = CUP_ERROR) -> Sighting:
    """A cup by straight-edge [m, positive edges up]."""
    return Sighting("cup", cup, error, day)


def end_grain_seen(moisture: float, error: float = spread.METER_SD) -> Sighting:
    """A reading on end grain today [%]; it follows the room within weeks: its error is larger."""
    return Sighting(
        "end_grain", max(moisture, DRIEST_SEEN), float(np.hypot(error, END_GRAIN_ERROR))
    )


def moistures_seen(
    moisture: Moisture, thickness: float, error: float = spread.METER_SD
) -> tuple[Sighting, ...]:
    """Moistures by a meter at the end, in a slab of a thickness [m]: a mean, or by depth.

    Examples
    --------
    >>> [(one.depth, one.value) for one in moistures_seen(ShellCore(8.0, 12.0), 0.05)]
    [(0.0, 8.0), (0.025, 12.0), (0.05, 8.0)]
    """
    if isinstance(moisture, Untold):
        return ()
    if isinstance(moisture, Readings):
        read = [one.corrected(thickness) for one in moisture.values]
        return tuple(
            Sighting("moisture", max(one.moisture or 0.0, DRIEST_SEEN), one.error,
                     depth=one.depth_from if one.depth_told else None)
            for one in read
        )  # fmt: skip
    if isinstance(moisture, Given):
        told, low, high = moisture.mean
        wide = (high - low) / (2.0 * spread.TO_DECILE)
        return (Sighting("moisture", max(told, DRIEST_SEEN), max(wide, LEAST_ERROR)),)
    if isinstance(moisture, Depths):
        pairs = list(zip(moisture.depth, moisture.moisture, strict=True))
    elif isinstance(moisture, ShellCore):
        shell, core = moisture.shell, moisture.core
        pairs = [(0.0, shell), (0.5 * thickness, core), (thickness, shell)]
    else:
        return (Sighting("moisture", max(moisture, DRIEST_SEEN), error),)
    return tuple(
        Sighting("moisture", max(value, DRIEST_SEEN), error, depth=depth) for depth, value in pairs
    )


def wettest(moisture: Moisture) -> float:
    """The highest figure of a moisture [%].

    Examples
    --------
    >>> wettest(ShellCore(8.0, 12.0))
    12.0
    """
    if isinstance(moisture, Untold):
        return 0.0
    if isinstance(moisture, Readings):
        return max(one.value for one in moisture.values)
    if isinstance(moisture, Depths | Given):
        return max(moisture.moisture)
    if isinstance(moisture, ShellCore):
        return max(moisture.shell, moisture.core)
    return moisture


def planed_on(stays: Sequence[Stay]) -> float | None:
    """Day of the history when it was last planed; None if it never was."""
    passed, found = 0.0, None
    for stay in stays:
        if stay.dressed:
            found = passed
        passed += stay.days
    return found


def check(history: History) -> None:
    """Refuse what cannot be.

    Raises
    ------
    ValueError
        No stay, or a sighting that is impossible or lies outside the history.
    """
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
