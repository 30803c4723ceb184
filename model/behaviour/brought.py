"""Stress that a slab brings along: from its drying, and along the grain from the tree.

That of drying is told by a slice or a prong cut from it.

A self-balanced parabola through the thickness, s = s_s (3 (2 z/t)^2 - 1)/2 with z from the middle:
a casehardened slab has its shell pressed and its core pulled.  It is told as a strain s_s/E, so
that no modulus comes into what it does to the shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


# Strain at which wood fails across the grain, drawn or pressed slowly: some 1 to 2 % (memory, Wood
# Handbook ch. 5); no stress that a slab brings along is larger.
MOST: Final = 0.02


@dataclass(frozen=True, slots=True)
class Brought:
    """Stress brought along.

    Attributes
    ----------
    skin : float
        Stress at the faces over the modulus [-]: negative where the shell is pressed, as in a
        casehardened slab; positive after reverse set.
    """

    skin: float


def by_slice(gap: float, length: float, thickness: float) -> Brought:
    """Of a slice across the grain, split at mid-thickness.

    Parameters
    ----------
    gap : float
        Between the two halves, laid together, in the middle of their length or at their ends [m];
        positive where they are hollow toward the cut, as of a casehardened slab.
    length : float
        Of the slice, along the slab's width [m].
    thickness : float
        Of the slab [m].

    References
    ----------
    The form of CEN/TS 14464 (memory); both halves bend to 4 gap/length^2, which is 3 |s_s|/(E t)
    (derived).

    Examples
    --------
    >>> round(970e6 * by_slice(0.001, 0.100, 0.050).skin / 1e6, 2)
    -6.47
    """
    return Brought(-4.0 * gap / length**2 * thickness / 3.0)


def by_prong(bends: float, length: float, prong: float, thickness: float) -> Brought:
    """Of a prong sawn along a face, its neighbours broken out.

    Parameters
    ----------
    bends : float
        How far its tip moved [m]; positive inward, toward the middle of the thickness, as of a
        casehardened slab.
    length, prong : float
        Of the prong, along the slab's width, and its thickness [m].
    thickness : float
        Of the slab [m].

    References
    ----------
    Strain difference over a prong 2 d t_p/l^2 (printed form); that of the parabola over the prong
    is 1.5 s_s/E (1 - (1 - 2 t_p/t)^2) (derived).

    Examples
    --------
    >>> 0.0 > by_prong(0.002, 0.100, 0.010, 0.050).skin > -0.01
    True
    """
    difference = 2.0 * bends * prong / length**2
    inner = 1.0 - 2.0 * prong / thickness
    return Brought(-difference / (1.5 * (1.0 - inner**2)))


@dataclass(frozen=True, slots=True)
class Ripped:
    """A strip ripped off along the grain, which bowed by the growth stress it was let out of [m].

    Attributes
    ----------
    bow : float
        Gap in the middle of its length; positive where it went away from the slab.
    length, breadth : float
        Of the strip; the breadth in the direction it bowed.
    """

    bow: float
    length: float
    breadth: float

    @property
    def difference(self) -> float:
        """Strain along the grain from one side of the strip to the other [-].

        8 d w/L^2 (derived).

        Examples
        --------
        >>> round(Ripped(0.003, 1.0, 0.025).difference, 5)
        0.0006
        """
        return 8.0 * self.bow * self.breadth / self.length**2

    def stress(self, modulus: float) -> float:
        """Largest stress that left the strip [Pa], by the modulus along the grain [Pa].

        E_L times half the difference (derived).

        Examples
        --------
        >>> round(Ripped(0.003, 1.0, 0.025).stress(13.7e9) / 1e6, 1)
        4.1
        """
        return 0.5 * modulus * self.difference

    def crook_left(self, width: float, length: float) -> float:
        """Crook of a slab so wide and long once such a strip has left one edge [m].

        Growth stress is taken as a parabola over the width, balanced by itself: the difference
        over the strip is 1.5 (1 - (1 - 2 w/W)^2) of what stands at the edge, and taking w off
        bends what is left by 6 of that w/W^2, as planing does (derived; the parabola: judgement).
        Positive as the bow.  A strip off both edges: none.

        Examples
        --------
        >>> round(1e3 * Ripped(0.003, 1.0, 0.025).crook_left(0.6, 2.0), 2)
        0.52
        """
        inner = 1.0 - 2.0 * min(self.breadth / width, 0.5)
        at_edge = self.difference / (1.5 * (1.0 - inner**2))
        return 6.0 * at_edge * self.breadth / width**2 * length**2 / 8.0


def strain(brought: Brought, depth: Floats, thickness: float) -> Floats:
    """Elastic strain of the stress at depths from a face [-], (nodes,)."""
    across = 2.0 * depth / thickness - 1.0
    return np.asarray(brought.skin * (3.0 * across**2 - 1.0) / 2.0)


def set_of(brought: Brought | None, depth: Floats, weight: Floats, thickness: float) -> Floats:
    """Set of each layer that stands for it: what keeps the layers from fitting each other [-].

    Parameters
    ----------
    brought : Brought or None
    depth, weight : ndarray (nodes,)
        Of the layers, the weights adding up to 1.
    thickness : float
        [m].

    Returns
    -------
    ndarray (nodes,)
        Balanced over these layers, so that a slab left alone keeps its size.
    """
    if brought is None:
        return np.zeros_like(depth)
    told = strain(brought, depth, thickness)
    return np.asarray(float(told @ weight) - told)


def cup_by_planing(brought: Brought, depth: float, width: float, thickness: float) -> float:
    """Cup by planing so much off one face [m]; positive: hollow toward the planed face.

    0.75 |s_s|/E depth W^2/t^2, exact for the parabola to the first order of the depth (derived).
    Equal cuts from both faces: none.

    Examples
    --------
    >>> round(1e3 * cup_by_planing(by_slice(0.001, 0.1, 0.05), 0.002, 0.6, 0.05), 2)
    1.44
    """
    return -0.75 * brought.skin * depth * width**2 / thickness**2
