"""How a slab changes its shape: shrinkage, the rings, cup by rings and by gradients, twist, bow.

Strains are changes relative to the size now, positive for swelling.  A cup is signed: positive
`edges up` (the top face hollow), negative `edges down`; its amount is how far the middle of the
width lies from the straight line through both edges.  Depth runs from the top face down.

Where arrays of samples come in, the samples are the last axis but the nodes: moisture has shape
(..., samples, nodes), shrinkage and pith distance (samples,).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.behaviour.rings import Rings, cubic, rings
from model.behaviour.shrinkage import at_angle, shrunk
from model.behaviour.slab import Slab
from model.spread import Figure

Floats = NDArray[np.float64]

# Least cup told as one. A tenth of a millimetre is what no straight-edge shows (judgement). Over a
# wide top half a millimetre a metre: makers call a top flat within 1/64 in a foot, 1.3 mm a metre
# (common practice, no source); less than half of that, so that a cup near it keeps its direction.
FLAT_WITHIN_CUP: Final = 1.0e-4  # m
FLAT_WITHIN_WIDTH: Final = 5.0e-4  # m of cup per m of width


def _chord(geometry: Rings, change: Strains) -> tuple[Floats, Floats]:
    """Distance [m] between the edges, and of the middle from the line through both.

    The second is positive when the edges have gone towards the bark.
    """
    along, over = change.mean_tangential, change.mean_radial
    q = (along - over) / (1.0 + over)  # growth of the angle about the pith, relative to itself
    left, right = (cubic(one, q) for one in geometry.rise)
    before = cubic(geometry.reach[0], q) - geometry.half_width
    behind = cubic(geometry.reach[1], q) + geometry.half_width
    length = np.hypot(behind - before, right - left)
    stretch = 1.0 + over
    return stretch * length, stretch * (behind * left - before * right) / length


def across(slab: Slab, radial: ArrayLike, tangential: ArrayLike) -> tuple[Floats, Floats]:
    """Total shrinkage along the width and the thickness [%] by the handbook's plain rule.

    By the ring angle alone, as if the rings were straight; flat-sawn where none is told.  With a
    known pith the ring angle is averaged over the width.

    Examples
    --------
    >>> from model.properties.species import find
    >>> slab = Slab(find("American elm"), width=0.3, thickness=0.05, ring_angle=90.0)
    >>> tuple(round(float(one), 1) for one in across(slab, 4.2, 9.5))
    (4.2, 9.5)
    """
    if slab.pith_below is None:
        angle = slab.ring_angle or 0.0
        return at_angle(tangential, radial, angle), at_angle(radial, tangential, angle)
    more = (np.asarray(tangential) - np.asarray(radial)) * rings(slab).tangential_share
    return np.asarray(radial) + more, np.asarray(tangential) - more


@lru_cache(maxsize=256)
def _moments(depth_bytes: bytes, thickness: float) -> tuple[Floats, Floats]:
    """Weights of nodes in the thickness mean and in the curvature [1/m] of a strain.

    The strain is straight between nodes; beyond an outermost node inside the slab it goes on as
    straight.  A constant has no curvature and a straight slope s has the curvature s, exactly.
    """
    nodes = np.frombuffer(depth_bytes)
    count = nodes.size
    points = np.concatenate(([0.0], nodes, [thickness]))
    spread = np.vstack((np.eye(count)[:1], np.eye(count), np.eye(count)[-1:]))
    if count > 1:
        for end, near, far in ((0, 0, 1), (count + 1, count - 1, count - 2)):
            beyond = (points[end] - nodes[near]) / (nodes[near] - nodes[far])
            spread[end, near] += beyond
            spread[end, far] -= beyond
    start, stop = points[:-1], points[1:]
    length = stop - start
    first, last = start - 0.5 * thickness, stop - 0.5 * thickness
    mean = 0.5 * length @ (spread[:-1] + spread[1:]) / thickness
    moment = (length * (2.0 * first + last) / 6.0) @ spread[:-1]
    moment = moment + (length * (first + 2.0 * last) / 6.0) @ spread[1:]
    return mean, 12.0 / thickness**3 * moment


def _weights(depth: ArrayLike, thickness: float) -> tuple[Floats, Floats]:
    nodes = np.ascontiguousarray(depth, dtype=np.float64)
    return _moments(nodes.tobytes(), float(thickness))


def gradient_curvature(strain: ArrayLike, depth: ArrayLike, thickness: float) -> Floats:
    """Curvature [1/m] of a free plate from a strain that varies through the thickness.

    kappa = (12/t^3) INT e(z) (z - t/2) dz, positive `edges up`.

    Parameters
    ----------
    strain : array_like
        Free strain at the nodes, shape (..., nodes).
    depth : array_like
        Depth of the nodes from the top face [m], rising, shape (nodes,).
    thickness : float
        [m].

    References
    ----------
    Timoshenko & Goodier, Theory of Elasticity, thermal bending of a free plate (derived).

    Examples
    --------
    >>> float(gradient_curvature([0.0, 0.01], [0.0, 0.05], 0.05).round(6))
    0.2
    """
    result: Floats = np.asarray(strain, dtype=np.float64) @ _weights(depth, thickness)[1]
    return result


@dataclass(frozen=True, slots=True)
class Strains:
    """Strains of a slab along and across the rings: thickness means and curvatures [1/m]."""

    mean_tangential: Floats
    mean_radial: Floats
    curvature_tangential: Floats
    curvature_radial: Floats


def strains(
    slab: Slab,
    moisture_from: ArrayLike,
    moisture_to: ArrayLike,
    depth: ArrayLike,
    radial: ArrayLike | None = None,
    tangential: ArrayLike | None = None,
) -> Strains:
    """Free strains between two courses of moisture through the thickness.

    Parameters
    ----------
    slab : Slab
    moisture_from, moisture_to : array_like
        Moisture content at the nodes [%], shape (..., samples, nodes); the first may lack the
        leading axes of the second, which is a series in time.
    depth : array_like
        Depth of the nodes [m], shape (nodes,).
    radial, tangential : array_like, optional
        Total shrinkages [%], shape (samples,); those of the species when left out.

    Returns
    -------
    Strains
        Arrays of shape (..., samples).
    """
    start = slab.species.shrinkage_starts
    before = np.minimum(np.asarray(moisture_from, dtype=np.float64), start)
    after = np.minimum(np.asarray(moisture_to, dtype=np.float64), start)
    mean, bend = _weights(depth, slab.thickness)
    totals = (
        slab.species.tangential if tangential is None else tangential,
        slab.species.radial if radial is None else radial,
    )
    even = bool(np.all(before == before[..., :1]))
    method = _strain_from_even if even else _strain_from_profile
    along, bent_along = method(before, after, np.asarray(totals[0]), start, (mean, bend))
    over, bent_over = method(before, after, np.asarray(totals[1]), start, (mean, bend))
    return Strains(along, over, bent_along, bent_over)


def _strain_from_even(
    before: Floats, after: Floats, total: Floats, start: float, weights: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Mean and curvature of the strain from a moisture even through the thickness.

    The strain is then a straight function of the moisture, so the moisture's own mean and moment
    are enough: two products of a matrix with a vector for a whole series.
    """
    mean, bend = weights
    slope = total / (100.0 * start) / shrunk(total, start, before[..., 0])
    return slope * (after @ mean - before[..., 0]), slope * (after @ bend)


def _strain_from_profile(
    before: Floats, after: Floats, total: Floats, start: float, weights: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    """Mean and curvature of the strain from a moisture that varies through the thickness."""
    mean, bend = weights
    slope = (total / (100.0 * start))[..., None] / shrunk(total[..., None], start, before)
    return (
        np.einsum("...n,...n->...", after, slope * mean) - np.sum(slope * before * mean, axis=-1),
        np.einsum("...n,...n->...", after, slope * bend) - np.sum(slope * before * bend, axis=-1),
    )


@dataclass(frozen=True, slots=True)
class StrainSums:
    """Strains from one moisture as sums through the thickness of another, straight in it.

    Attributes
    ----------
    weights : ndarray (samples, 4, nodes)
        Of min(moisture, `starts`): mean and curvature along the rings, mean and curvature across.
    taken_off : ndarray (samples, 4)
        The same sums of the moisture they start from.
    starts : float
        Moisture above which wood does not move [%].
    """

    weights: Floats
    taken_off: Floats
    starts: float

    def of(self, samples: NDArray[np.intp]) -> StrainSums:
        """Those of some samples."""
        return StrainSums(self.weights[samples], self.taken_off[samples], self.starts)

    def strains(self, sums: Floats) -> Strains:
        """Strains by the sums (..., samples, 4)."""
        change = sums - self.taken_off
        return Strains(change[..., 0], change[..., 2], change[..., 1], change[..., 3])


def strain_sums(
    slab: Slab,
    moisture_from: ArrayLike,
    depth: ArrayLike,
    radial: ArrayLike | None = None,
    tangential: ArrayLike | None = None,
) -> StrainSums:
    """What turns a moisture through the thickness into the strains of `strains`.

    Parameters are those of `strains`; the moisture has shape (samples, nodes).
    """
    start = slab.species.shrinkage_starts
    before = np.minimum(np.asarray(moisture_from, dtype=np.float64), start)
    totals = (
        slab.species.tangential if tangential is None else tangential,
        slab.species.radial if radial is None else radial,
    )
    weights = np.empty((before.shape[0], 4, before.shape[1]))
    for place, total in zip((0, 2), totals, strict=True):
        each = np.broadcast_to(np.asarray(total, dtype=np.float64), before.shape[:1])[:, None]
        slope = each / (100.0 * start) / shrunk(each, start, before)
        for which, through in enumerate(_weights(depth, slab.thickness)):
            weights[:, place + which] = slope * through
    return StrainSums(weights, np.einsum("skn,sn->sk", weights, before), start)


def ring_cup(slab: Slab, e_T: ArrayLike, e_R: ArrayLike) -> Floats:
    """Signed cup [m] by the rings from strains even through the thickness.

    Exact mapping about the pith, the middle of the thickness taken as the line that bends; drying
    makes the bark side hollow.

    Examples
    --------
    >>> from model.properties.species import find
    >>> slab = Slab(find("white oak"), width=0.6, thickness=0.05, pith_below=0.075)
    >>> round(1000 * float(ring_cup(slab, -0.01845, -0.0079)), 3)  # the pith 100 mm under the line
    3.944
    """
    return cup_of(rings(slab), _even_strains(e_T, e_R))


def _even_strains(e_T: ArrayLike, e_R: ArrayLike) -> Strains:
    along, over = np.broadcast_arrays(np.asarray(e_T, dtype=float), np.asarray(e_R, dtype=float))
    none = np.zeros(along.shape)
    return Strains(along, over, none, none)


def cup_of(geometry: Rings, change: Strains) -> Floats:
    """Signed cup [m] by rings and gradient together.

    The cup by the rings is that of the thickness means of the strains; the gradient bends by
    w'' = kappa_T cos^2 + kappa_R sin^2 along the width, the ring angle taken at mid-thickness.
    """
    by_rings = geometry.bark_up * _chord(geometry, change)[1]
    by_gradient = (
        geometry.bend_tangential * change.curvature_tangential
        + geometry.bend_radial * change.curvature_radial
    )
    result: Floats = by_rings + by_gradient
    return result


def width_of(geometry: Rings, change: Strains) -> Floats:
    """Width [m] after a change: the straight distance between the edges at mid-thickness."""
    return _chord(geometry, change)[0]


def thickness_of(slab: Slab, geometry: Rings, change: Strains) -> Floats:
    """Thickness [m] after a change, averaged over the width."""
    along, over = change.mean_tangential, change.mean_radial
    result: Floats = slab.thickness * (1.0 + along - (along - over) * geometry.tangential_share)
    return result


def ring_curvature(slab: Slab, signed_cup: ArrayLike) -> Floats:
    """Curvature [1/m] of the circular arc that has this cup over the width."""
    result: Floats = 8.0 * np.asarray(signed_cup, dtype=np.float64) / slab.width**2
    return result


def words(signed_cup: float, width: float = 0.0) -> str:
    """Plain words for a signed cup [m]: `edges up`, `edges down` or `flat`.

    What is flat grows with the width [m] that the cup is measured over; the least when left out.

    Examples
    --------
    >>> words(0.002), words(-0.002), words(0.00005)
    ('edges up', 'edges down', 'flat')
    >>> words(0.0003, width=0.2), words(0.0003, width=0.9)
    ('edges up', 'flat')
    """
    if abs(signed_cup) < max(FLAT_WITHIN_CUP, FLAT_WITHIN_WIDTH * width):
        return "flat"
    return "edges up" if signed_cup > 0.0 else "edges down"


@dataclass(frozen=True, slots=True)
class Cupped:
    """A cup as it is told: its amount in the direction of its shape in words.

    Attributes
    ----------
    amount : Figure
        Positive [m]; a low end below zero is a cup the other way round.
    shape : str
        ``edges up``, ``edges down`` or ``flat``.
    """

    amount: Figure
    shape: str

    @property
    def cupped(self) -> Cupped:
        """Itself: whatever has a cup tells it by this name."""
        return self


def cupped(signed: Figure, width: float = 0.0) -> Cupped:
    """A signed cup [m] as it is told; over a width [m] it is flat where a straight-edge shows none.

    Examples
    --------
    >>> cupped(Figure(-0.003, -0.005, 0.001))
    Cupped(amount=Figure(value=0.003, low=-0.001, high=0.005), shape='edges down')
    """
    amount = signed
    if signed.value < 0.0:
        low, high = (None if end is None else -end for end in (signed.high, signed.low))
        amount = Figure(-signed.value, low, high)
    return Cupped(amount, words(signed.value, width))


def radial_check_opening(radius: ArrayLike, e_T: ArrayLike, e_R: ArrayLike) -> Floats:
    """Width [m] to which a radial check opens at a distance from the pith [m] when wood dries.

    2 pi r (e_R - e_T), the arc that is missing round the pith (derived); negative means that it
    closes.
    """
    missing = np.asarray(e_R, dtype=np.float64) - np.asarray(e_T, dtype=np.float64)
    result: Floats = 2.0 * np.pi * np.asarray(radius) * missing
    return result
