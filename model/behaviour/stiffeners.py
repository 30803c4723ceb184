"""Bars across the underside of a slab: how they lie, what they leave of it, how they pull."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour import bars, restraint
from model.behaviour.bars import Bar
from model.behaviour.section import Hold
from model.behaviour.slab import Slab
from model.properties.fasteners import Fastener

Floats = NDArray[np.float64]


MOST_BARS: Final = 60  # beyond it bars of this section are no answer (judgement)
USUAL_SPACING: Final = 0.35  # m, bars 300-400 mm apart (practice, no source)


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


def evenly(count: int, length: float) -> tuple[float, ...]:
    """Places along a length that leave every bar the same strip.

    Examples
    --------
    >>> evenly(3, 1.8)
    (0.3, 0.9, 1.5)
    """
    return tuple(round(float(one), 9) for one in (np.arange(count) + 0.5) * length / count)


def placed(length: float, count: int | None = None) -> tuple[float, ...]:
    """Places of so many bars along a slab of a length [m]; at the usual spacing when left out."""
    return evenly(max(2, round(length / USUAL_SPACING)) if count is None else count, length)


def usual_fixings(width: float) -> tuple[float, ...]:
    """Four fixings across a width [m] where none are told (judgement)."""
    return tuple(round(width * share, 6) for share in (0.1, 0.37, 0.63, 0.9))


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


def left_by_grooves(slab: Slab, strip: float, stiffeners: Stiffeners) -> float:
    """Share of the bending stiffness across the grain that grooves for the bars leave.

    Parameters
    ----------
    slab : Slab
    strip : float
        Length of slab that belongs to one bar [m].
    stiffeners : Stiffeners
    """
    whole = bars.compose([(strip, slab.thickness, 0.0)]).second_moment
    bar, recess = stiffeners.bar, stiffeners.recess
    left: float = bars.grooved_strip(strip, slab.thickness, bar, recess).second_moment / whole
    return left


def sliding_hold(slab: Slab, stiffeners: Stiffeners) -> Hold:
    """How bars in slots hold a slab of a known length, smeared along it.

    A groove weakens the wood under its bar: the hold on the ungrooved section is raised by as much
    (`left_by_grooves`).
    """
    assert slab.length is not None
    strip = layout(stiffeners.along, slab.length).strip
    left = left_by_grooves(slab, strip, stiffeners)
    return Hold(bending=stiffeners.bar.stiffness / strip / left)
