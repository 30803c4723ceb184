"""The run of the growth rings through a slab: where the pith lies, and how the rings turn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour.slab import Slab
from model.codes import Note

Floats = NDArray[np.float64]


# Distance of an unknown pith under the heart-side face, in widths: central 0.35, drawn
# log-uniformly between 0.35^2 = 0.12 and 1 (judgement: a wide slab comes from near the pith).
ASSUMED_PITH: Final = 0.35
# A slab called flat-sawn, of which no ring angle is told: 0, drawn up to 30 degrees (practice).
FLAT_WITHIN: Final = 30.0  # degrees


def pith_distance(slab: Slab, uniform: ArrayLike = 0.5) -> Floats:
    """Distance of the pith under the heart-side face [m]: as given, else assumed.

    Parameters
    ----------
    slab : Slab
    uniform : array_like
        Deviates in 0..1 that draw an unknown distance; 0.5 gives the central 0.35 of the width.
    """
    deviates = np.asarray(uniform, dtype=np.float64)
    if slab.pith_below is not None:
        return np.full(deviates.shape, slab.pith_below)
    result: Floats = slab.width * ASSUMED_PITH ** (2.0 - 2.0 * deviates)
    return result


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
    straight : bool
        True when the pith is not known: width and thickness follow the ring angle alone.
    """

    tangential_share: Floats
    rise: Floats
    reach: Floats
    half_width: float
    bark_up: float | Floats
    bend_tangential: Floats
    bend_radial: Floats
    straight: bool


def _rise_and_reach(across: Floats, below: Floats) -> tuple[Floats, Floats]:
    """Cubics in q of a point at `across` from a pith `below` it: how it rises and moves outward.

    A uniform change of moisture takes the point (r, phi) about the pith to (r (1 + e_R),
    phi (1 + q)), stress free (derived); r cos and r sin of the new angle are written as series,
    which leave 3.5e-5 of the cup for strains up to 0.1.
    """
    phi = np.arctan2(across, below)
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


def rings(
    slab: Slab,
    pith_distance: ArrayLike | None = None,
    ring_angle: ArrayLike | None = None,
    bark_up: ArrayLike | None = None,
) -> Rings:
    """What the rings of a slab make of its strains.

    Parameters
    ----------
    slab : Slab
    pith_distance : array_like, optional
        Distance of the pith under the heart-side face [m], shape (samples,): see the function
        `pith_distance`; as given with the slab, else the central assumption, when left out.
    ring_angle : array_like, optional
        [degrees], shape (samples,); looked at only when the slab's pith is not given.
    bark_up : array_like, optional
        1 where the bark side is the top, -1 where it is the bottom, shape (samples,); looked at
        only when the slab does not tell it.

    Returns
    -------
    Rings

    Notes
    -----
    When the pith is not given, width, thickness and the bending by gradients follow the ring
    angle, and only the cup by the rings takes an assumed pith: at the distance r = D cos + W sin
    along the radius through the middle, so that a quarter-sawn slab has it beside its edge
    (judgement).
    """
    straight = slab.pith_below is None
    if pith_distance is None:
        pith_distance = _central_pith(slab)
    below = np.asarray(pith_distance, dtype=np.float64) + 0.5 * slab.thickness
    half = 0.5 * slab.width
    if straight:
        given = (slab.ring_angle or 0.0) if ring_angle is None else ring_angle
        angle = np.deg2rad(np.asarray(given, dtype=np.float64))
        radius = below * np.cos(angle) + slab.width * np.sin(angle)
        below, across = radius * np.cos(angle), radius * np.sin(angle)
    else:
        across = np.full_like(below, slab.pith_across)
    edges = [_rise_and_reach(edge - across, below) for edge in (-half, half)]
    middle = _rise_and_reach(-across, below)
    rise, reach = (np.stack([edge[one] - middle[one] for edge in edges]) for one in (0, 1))
    if straight:
        share = np.cos(angle) ** 2
        bend = share * half**2 / 2.0
    else:
        opened = np.arctan2(half - across, below) - np.arctan2(-half - across, below)
        share = below / slab.width * opened
        bend = 0.5 * (_weighed_share(half, across, below) + _weighed_share(half, -across, below))
    return Rings(
        tangential_share=share,
        rise=rise,
        reach=reach,
        half_width=half,
        bark_up=_bark_up(slab, bark_up),
        bend_tangential=bend,
        bend_radial=half**2 / 2.0 - bend,
        straight=straight,
    )


def _bark_up(slab: Slab, drawn: ArrayLike | None) -> float | Floats:
    told = 1.0 if slab.bark_side == "top" else -1.0
    if slab.bark_known or drawn is None:
        return told
    # As told for the central case, either way for the draws.
    return told * np.asarray(drawn, dtype=np.float64)


def _central_pith(slab: Slab) -> float:
    return ASSUMED_PITH * slab.width if slab.pith_below is None else slab.pith_below


def cubic(coefficients: Floats, q: Floats) -> Floats:
    """Sum of the three powers of q with these coefficients, the first power first."""
    first, second, third = coefficients
    result: Floats = q * (first + q * (second + q * third))
    return result


def ring_notes(slab: Slab) -> list[Note]:
    """What an answer must say of rings that were assumed, or of a pith inside the slab."""
    if slab.pith_is_inside:
        return [Note("pith-inside"), *([] if slab.bark_known else [Note("bark-untold")])]
    told = []
    if not slab.bark_known:
        told.append(Note("bark-untold"))
    if slab.pith_below is not None:
        return told
    if slab.ring_angle is None:
        told.append(Note("assumed-flat"))
    if slab.ring_angle is None or slab.ring_angle < 90.0:
        share = float(rings(_with_assumed_pith(slab)).tangential_share)
        told.append(
            Note(
                "assumed-pith",
                share=100.0 * share,
                bark_side=slab.bark_side if slab.bark_known else "",
            )
        )
    return told


def _with_assumed_pith(slab: Slab) -> Slab:
    return Slab(slab.species, slab.width, slab.thickness, pith_below=ASSUMED_PITH * slab.width)
