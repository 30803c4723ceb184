"""The run of the growth rings through a slab: where the pith lies, and how the rings turn."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from model.behaviour.slab import Slab
from model.codes import Note

Floats = NDArray[np.float64]


# Logs that boards and slabs come from: none thinner than the least, and the number of the thicker
# ones falls to 1/e every so much of diameter. Thirteen inches is the least of the best grade of
# hardwood saw logs (memory); uneven-aged forests have 1.3 to 2 times fewer trees with every 50 mm
# (de Liocourt 1898, memory), 1.65 times by this (judgement).
LEAST_LOG: Final = 0.5  # m of diameter
LOGS_FALL: Final = 0.1  # m of diameter
_PLACES: Final = 400  # of the pith, looked at between the nearest and the farthest
# The table that draws are read from, straight between its places: by 1 degree and a twentieth of a
# standard deviation within 0.5 % of the distance for 99 of 100 draws (measured).
_TURN: Final = 1.0  # degrees
_SCORE: Final = 0.05
_SCORES: Final = np.arange(-90, 91) * _SCORE
_LEAST: Final = 1.0e-5  # share that is told from none
_FARTHEST: Final = 12.0  # falls beyond the thinnest log that will do; e^-12 of the logs are left
# A slab called flat-sawn, of which no ring angle is told: 0, drawn up to 30 degrees (practice).
FLAT_WITHIN: Final = 30.0  # degrees


@dataclass(frozen=True, slots=True)
class Pith:
    """Where the pith lies, seen from the middle of width and thickness [m], (samples,).

    Attributes
    ----------
    below : ndarray
        Away from the bark.
    across : ndarray
        Along the width.
    """

    below: Floats
    across: Floats


def pith_radius(width: float, ring_angle: ArrayLike, uniform: ArrayLike = 0.5) -> Floats:
    """Distance [m] of a pith that is not known from the middle of a slab.

    Parameters
    ----------
    width : float
        [m].
    ring_angle : array_like
        In the middle of the slab [degrees], shape (samples,).
    uniform : array_like
        Deviates in 0..1, shape (samples,): the share of slabs that have it nearer; 0.5 gives the
        central one.

    Notes
    -----
    Boards tile the section of a log, so the pith lies, seen from a board, anywhere that leaves the
    board in its log alike: of distances r under one ring angle a share r times the logs as thick
    as twice the farther edge is from the pith (derived; how many logs: `LEAST_LOG`, `LOGS_FALL`).
    So a wide slab comes from a log hardly wider than itself, the pith some 0.2 of the width below;
    a narrow board from anywhere in one, its rings nearly straight.  Nearer than half the width
    times the sine of the ring angle the pith would lie beside the middle of a slab called rift or
    quarter-sawn; it is taken as beyond (judgement).  Of the thickness nothing depends: planing
    moves no pith.

    Examples
    --------
    >>> [round(float(pith_radius(width, 0.0)[0]), 3) for width in (0.1, 0.3, 0.9)]
    [0.212, 0.187, 0.19]
    """
    angles, deviates = np.broadcast_arrays(
        np.atleast_1d(np.asarray(ring_angle, dtype=np.float64)), np.atleast_1d(uniform)
    )
    table = _radii(width)
    turned = np.clip(angles, 0.0, 90.0) / _TURN
    scored = (ndtri(np.clip(deviates, _LEAST, 1.0 - _LEAST)) - _SCORES[0]) / _SCORE
    row, column = (np.minimum(one.astype(np.intp), end - 2) for one, end in
                   ((turned, table.shape[0]), (scored, table.shape[1])))  # fmt: skip
    down, right = turned - row, scored - column
    above = (1.0 - right) * table[row, column] + right * table[row, column + 1]
    below = (1.0 - right) * table[row + 1, column] + right * table[row + 1, column + 1]
    result: Floats = (1.0 - down) * above + down * below
    return result


@lru_cache(maxsize=64)
def _radii(width: float) -> Floats:
    """Distances [m] by ring angle, every `_TURN` degrees, and normal score, every `_SCORE`."""
    turned = np.deg2rad(np.arange(0.0, 90.0 + 0.5 * _TURN, _TURN))
    sine, cosine = np.sin(turned), np.cos(turned)
    nearest = 0.5 * width * sine

    def log(radius: Floats) -> Floats:
        edge: Floats = np.hypot(0.5 * width + radius * sine, radius * cosine)
        thick: Floats = np.maximum(2.0 * edge, LEAST_LOG)
        return thick

    thinnest = log(nearest)
    steps = (0.5 * (thinnest + _FARTHEST * LOGS_FALL) - nearest) / _PLACES
    radius = nearest + steps * np.arange(_PLACES + 1)[:, None]
    likely = radius * np.exp((thinnest - log(radius)) / LOGS_FALL)
    nearer = np.zeros_like(radius)
    np.cumsum(0.5 * (likely[1:] + likely[:-1]), axis=0, out=nearer[1:])
    nearer /= nearer[-1]
    shares = ndtr(_SCORES)
    columns = zip(nearer.T, radius.T, strict=True)
    return np.stack([np.interp(shares, share, far) for share, far in columns])


def pith_of(slab: Slab, uniform: ArrayLike = 0.5, ring_uniform: ArrayLike = 0.5) -> Pith:
    """Where the pith lies: as given, else drawn, under the ring angle that is given or drawn.

    Parameters
    ----------
    slab : Slab
    uniform, ring_uniform : array_like
        Deviates in 0..1, shape (samples,), of a pith and of a ring angle that are not known; 0.5
        gives the central case.
    """
    deviates = np.atleast_1d(np.asarray(uniform, dtype=np.float64))
    if slab.pith_below is not None:
        below = np.full(deviates.shape, slab.pith_below + 0.5 * slab.thickness)
        return Pith(below, np.full(deviates.shape, slab.pith_across))
    angle = ring_angle(slab, ring_uniform)
    radius = pith_radius(slab.width, angle, deviates)
    return Pith(radius * np.cos(np.deg2rad(angle)), radius * np.sin(np.deg2rad(angle)))


def angle_at_middle(below: float, across: float, thickness: float) -> float:
    """Ring angle in the middle of a slab [degrees] whose pith lies there.

    Parameters
    ----------
    below, across, thickness : float
        Of the pith under the face away from the bark and off the middle; of the slab [m].

    Examples
    --------
    >>> round(angle_at_middle(0.05, 0.1, 0.05), 1), angle_at_middle(0.05, 0.0, 0.05)
    (53.1, 0.0)
    """
    return float(np.degrees(np.arctan2(abs(across), below + 0.5 * thickness)))


def ring_angle(slab: Slab, uniform: ArrayLike = 0.5) -> Floats:
    """Ring angle [degrees]: as given, else that of a slab called flat-sawn.

    Parameters
    ----------
    slab : Slab
    uniform : array_like
        Deviates in 0..1 that draw an unknown angle; 0.5 gives the central 0 degrees.
    """
    deviates = np.asarray(uniform, dtype=np.float64)
    if slab.ring_angle is not None:
        return np.full(deviates.shape, slab.ring_angle)
    result: Floats = 2.0 * FLAT_WITHIN * np.abs(deviates - 0.5)
    return result


@dataclass(frozen=True, slots=True)
class Rings:
    """What the rings make of strains, worked out once for a slab or a batch of samples.

    Attributes
    ----------
    tangential_share : ndarray
        Share of the tangential strain in the width, cos^2 of the ring angle averaged over it.
    rise, reach : ndarray
        Shape (2, 3, ...): how far the left and the right edge move away from the middle, towards
        the bark and along the width [m], as cubics without constant term in q =
        (e_T - e_R)/(1 + e_R).
    half_width : float
        [m].
    bark_up : float or ndarray
        1 where the bark side is the top, -1 where it is the bottom.
    bend_tangential, bend_radial : ndarray
        Cup per curvature of the tangential and of the radial strain through the thickness [m2].
    """

    tangential_share: Floats
    rise: Floats
    reach: Floats
    half_width: float
    bark_up: float | Floats
    bend_tangential: Floats
    bend_radial: Floats


def _rise_and_reach(across: Floats, below: Floats, middle: Floats) -> tuple[Floats, Floats]:
    """Cubics in q of a point at `across` from a pith `below` it: how it rises and moves outward.

    A uniform change of moisture takes the point (r, phi) about the pith to (r (1 + e_R),
    phi (1 + q)), stress free (derived); all of it is turned back by what the middle of the width,
    at the angle `middle`, has turned.  r cos and r sin of the new angle are written as series,
    which leave 3.5e-5 of the cup for strains up to 0.1.
    """
    phi = np.arctan2(across, below) - middle
    rise = np.stack((-phi * across, -0.5 * phi**2 * below, phi**3 * across / 6.0))
    reach = np.stack((phi * below, -0.5 * phi**2 * across, -(phi**3) * below / 6.0))
    return rise, reach


def _weighed_share(half: float, across: Floats, below: Floats) -> Floats:
    """Integral of (half - y) cos^2(ring angle) over y from 0 to half, pith at `across`."""

    def antiderivative(x: Floats) -> Floats:
        turned = below * np.arctan2(x, below)
        result: Floats = (half - across) * turned - 0.5 * below**2 * np.log(below**2 + x**2)
        return result

    return antiderivative(half - across) - antiderivative(-across)


def rings(slab: Slab, pith: Pith | None = None, bark_up: ArrayLike | None = None) -> Rings:
    """What the rings of a slab make of its strains.

    Parameters
    ----------
    slab : Slab
    pith : Pith, optional
        Where it lies, see `pith_of`; the central case when left out, a single number for each
        figure.
    bark_up : array_like, optional
        1 where the bark side is the top, -1 where it is the bottom, shape (samples,); looked at
        only when the slab does not tell it.

    Returns
    -------
    Rings
    """
    if pith is None:
        central = pith_of(slab)
        pith = Pith(central.below[0], central.across[0])
    below, across = pith.below, pith.across
    half = 0.5 * slab.width
    middle = np.arctan2(-across, below)
    edges = [_rise_and_reach(edge - across, below, middle) for edge in (-half, half)]
    rise, reach = (np.stack([edge[one] for edge in edges]) for one in (0, 1))
    bend = 0.5 * (_weighed_share(half, across, below) + _weighed_share(half, -across, below))
    return Rings(
        tangential_share=share_between(-half, half, pith),
        rise=rise,
        reach=reach,
        half_width=half,
        bark_up=_bark_up(slab, bark_up),
        bend_tangential=bend,
        bend_radial=half**2 / 2.0 - bend,
    )


def share_between(first: float, second: float, pith: Pith) -> Floats:
    """Share of the tangential strain between two places of the width, cos^2 averaged over it.

    Parameters
    ----------
    first, second : float
        Offsets from the middle of the width [m], not the same.
    pith : Pith
    """
    ends = [np.arctan2(one - pith.across, pith.below) for one in (first, second)]
    result: Floats = pith.below / (second - first) * (ends[1] - ends[0])
    return result


def _bark_up(slab: Slab, drawn: ArrayLike | None) -> float | Floats:
    told = 1.0 if slab.bark_side == "top" else -1.0
    if slab.bark_known or drawn is None:
        return told
    # As told for the central case, either way for the draws.
    return told * np.asarray(drawn, dtype=np.float64)


def cubic(coefficients: Floats, q: Floats) -> Floats:
    """Sum of the three powers of q with these coefficients, the first power first."""
    first, second, third = coefficients
    result: Floats = q * (first + q * (second + q * third))
    return result


def formulas(slab: Slab) -> tuple[str, ...]:
    """Ids in the list of formulas of what the rings do, and of a pith that is not known."""
    return ("ring-mapping",) if slab.pith_below is not None else ("ring-mapping", "pith-in-log")


def ring_notes(slab: Slab) -> list[Note]:
    """What an answer must say of rings that were assumed, or of a pith inside the slab."""
    bark = [] if slab.bark_known else [Note("bark-untold")]
    if slab.pith_is_inside:
        return [Note("pith-inside"), *bark]
    return [*bark, *pith_notes(slab, slab.bark_side if slab.bark_known else "")]


def pith_notes(slab: Slab, bark_side: str = "") -> list[Note]:
    """What was assumed of the rings where the pith is not known.

    Parameters
    ----------
    slab : Slab
    bark_side : str
        The side it speaks of; of none when left out.
    """
    if slab.pith_below is not None:
        return []
    told = [Note("assumed-flat")] if slab.ring_angle is None else []
    if slab.ring_angle is not None and slab.ring_angle >= 90.0:
        return told
    near, middle, far = pith_radius(slab.width, slab.ring_angle or 0.0, (0.1, 0.5, 0.9))
    share = 100.0 * float(rings(slab).tangential_share)
    told.append(
        Note(
            "assumed-pith",
            pith=float(middle),
            near=float(near),
            far=float(far),
            share=share,
            bark_side=bark_side,
        )
    )
    return told
