"""Bars across the underside of a slab: how they lie, what they leave of it, how they pull."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import spread
from model.behaviour import bars, restraint
from model.behaviour.bars import Bar
from model.behaviour.restraint import Contact
from model.behaviour.section import Hold, stiffness
from model.behaviour.slab import Slab
from model.behaviour.timber import timber_of
from model.properties.fasteners import Fastener

Floats = NDArray[np.float64]


BAR_ENDS: Final = 0.025  # m from the slab's edges, 25-100 mm (practice, no source)
BEYOND_FIXING: Final = 0.020  # m of bar beyond its last fixing (practice, no source)
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
    length : float or None
        Of each bar, in the middle of the width [m]; `BAR_ENDS` short of both edges when None.
    shimmed : bool
        Packed out to the cup of the day, so that they take up only what comes later; else they
        are straight and drawn up to the slab, or it to them.
    """

    bar: Bar
    along: tuple[float, ...]
    across: tuple[float, ...]
    fastener: Fastener | None = None
    recess: float = 0.0
    length: float | None = None
    shimmed: bool = False

    def reach(self, width: float) -> tuple[float, float]:
        """Where a bar begins and ends across a slab of a width [m from one edge]."""
        if self.length is not None:
            start = max(0.5 * (width - self.length), 0.0)
            return start, width - start
        near, far = min(self.across), max(self.across)
        first = min(BAR_ENDS, max(near - BEYOND_FIXING, 0.0))
        return first, max(width - BAR_ENDS, min(far + BEYOND_FIXING, width))

    def slack(self, cup: float, width: float) -> float:
        """Curvature at which the bars do nothing [1/m], for a signed cup when they go on [m]."""
        return 8.0 * cup / width**2 if self.shimmed else 0.0


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
    free: ArrayLike, slack: float, bending: float, bar: float, length: float, width: float
) -> Floats:
    """Largest cup anywhere with no bar, with one, with two, ... evenly spaced.

    Parameters
    ----------
    free : array_like (times, samples)
        Signed cup without bars [m].
    slack : float
        Signed cup the bars are packed out to [m]; 0 for straight bars.
    bending : float
        EI of the slab across its grain per metre of length [N m2/m].
    bar : float
        EI of one bar as its fixings pass it on [N m2].
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
    change = np.asarray(free, dtype=np.float64) - slack
    counts = np.arange(1, MOST_BARS + 1)
    _, midway = restraint.cup_along(bending, bar, length / counts, width)
    return np.stack(
        [np.abs(slack + share * change).max(axis=0) for share in np.concatenate(([1.0], midway))]
    )


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


@dataclass(frozen=True, slots=True)
class Grip:
    """How bars in slots hold a slab: the one mechanics of every question that has bars.

    The section model takes the bars smeared along the slab; the shares put right what differs at a
    bar and between two, and the contact of slab and bar tells what fixings and bar bear.

    Attributes
    ----------
    layout : Layout
    left : float
        Share of the slab's bending stiffness across that the grooves leave [-].
    per_metre : float
        EI of the grooved slab per metre of its length, as moist as on the day [N m2/m].
    bar : float
        EI of one bar as its fixings pass it on [N m2]: a bar that stops short, or whose fixings
        stretch, holds less than its own.
    near, midway : float
        Cup at a bar and midway between those farthest apart over that of the smeared hold [-].
    up, down : Contact
        Of one bar for a free curvature of 1 and -1 [per 1/m].
    free_curvature : float
        Free curvature of a strip per moment that the section model puts on a metre [1/(N m)].
    slack : float
        Curvature at which they do nothing [1/m].
    """

    layout: Layout
    left: float
    per_metre: float
    bar: float
    near: float
    midway: float
    up: Contact
    down: Contact
    free_curvature: float
    slack: float

    @property
    def elastic_share(self) -> float:
        """Share of a new cup that is left at the bars while the wood does not creep."""
        return self.near * self.per_metre / (self.per_metre + self.bar / self.layout.strip)

    @property
    def hold(self) -> Hold:
        """As the section model takes it; a groove's loss is made up by a stiffer bar."""
        return Hold(bending=self.bar / self.layout.strip / self.left, curvature=self.slack)

    def cups(self, smeared: Floats, width: float) -> tuple[Floats, Floats]:
        """Signed cup at the bars and midway from that of the section model [m]."""
        slack = self.slack * width**2 / 8.0
        at_bars, midway = (slack + (smeared - slack) * share for share in (self.near, self.midway))
        return at_bars, midway

    def wants(self, moment: Floats) -> Floats:
        """Free curvature left in the slab [1/m] from the section model's moment [N m/m].

        That moment acts on the slab, against its cup: the bar bears the opposite.
        """
        return np.asarray(-self.free_curvature * moment)

    def on_bar(self, moment: Floats) -> Floats:
        """Largest moment in each bar [N m], positive when the slab's edges want up."""
        wants = self.wants(moment)
        return np.where(wants > 0.0, wants * self.up.moment, wants * self.down.moment)

    def on_fixings(self, moment: Floats) -> Floats:
        """Pull on every fixing of a bar [N], (..., fixings)."""
        wants = self.wants(moment)[..., None]
        return np.maximum(wants, 0.0) * self.up.pulls + np.maximum(-wants, 0.0) * self.down.pulls


def grip(slab: Slab, stiffeners: Stiffeners, moisture: float, cup: float = 0.0) -> Grip:
    """How bars hold a slab of a known length.

    Parameters
    ----------
    slab : Slab
    stiffeners : Stiffeners
        A screw 8 mm thick and 30 mm deep stands in where no fastener is told.
    moisture : float
        Mean moisture when they go on [%].
    cup : float
        Signed cup the slab has then [m].
    """
    assert slab.length is not None
    placed = layout(stiffeners.along, slab.length)
    left = left_by_grooves(slab, placed.strip, stiffeners)
    wood = timber_of(slab, spread.draw(0), np.array([moisture]))
    modulus = float(stiffness(wood, np.array([[moisture]]))[0, 0])
    per_metre = modulus * slab.thickness**3 / 12.0 * left
    own, width = stiffeners.bar.stiffness, slab.width
    rate = restraint.axial_slip(0.008, 0.030)
    if stiffeners.fastener is not None:
        rate = restraint.axial_slip(stiffeners.fastener.diameter, stiffeners.fastener.thread)
    reach = stiffeners.reach(width)

    def felt(bar: float) -> float:
        """EI of the slab that a bar bends [N m2]: of its strip, or of what it reaches."""
        near, _ = restraint.cup_along(per_metre, bar, placed.widest, width)
        return bar * float(near) / (1.0 - float(near))

    strip = felt(own)
    up, down = (
        restraint.contact(sign, (strip, own), width, reach, stiffeners.across, rate)
        for sign in (1.0, -1.0)
    )
    # Drawn up or pressed down it is held a little differently; a flat slab may go either way.
    share = 0.5 * (up.share + down.share)
    if cup != 0.0:
        share = up.share if cup > 0.0 else down.share
    bar = strip * (1.0 / min(max(share, 1e-6), 1.0 - 1e-9) - 1.0)
    near, midway = (float(x) for x in restraint.cup_along(per_metre, bar, placed.widest, width))
    alike = per_metre / (per_metre + bar / placed.strip)
    return Grip(
        layout=placed,
        left=left,
        per_metre=per_metre,
        bar=bar,
        near=near / alike,
        midway=midway / alike,
        up=up,
        down=down,
        free_curvature=left * placed.strip * near / alike * (1.0 / strip + 1.0 / bar),
        slack=stiffeners.slack(cup, width),
    )
