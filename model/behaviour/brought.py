"""Stress that a slab brings along from its drying, told by a slice or a prong cut from it.

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


def curvature_by_evening(swelling: float, difference: float, thickness: float) -> float:
    """Bend of a half slice as its core, so much damper [% M], evens out with its face [1/m].

    2 alpha dM/t; to be taken off what a slice that has evened out shows (derived).

    Examples
    --------
    >>> round(1e3 * curvature_by_evening(0.0035, 2.0, 0.05) * 0.1**2 / 4.0, 2)
    0.7
    """
    return 2.0 * swelling * difference / thickness
