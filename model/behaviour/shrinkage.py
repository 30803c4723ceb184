"""Shrinkage of wood with moisture, in and between the directions of the tree."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


REFERENCE_MOISTURE: Final = 10.0  # %; where Wood Handbook Table 13-5 is linearised (ch. 13)


def shrunk(total_shrinkage: ArrayLike, starts: ArrayLike, moisture: ArrayLike) -> Floats:
    """Dimension at a moisture content, relative to the green dimension.

    Parameters
    ----------
    total_shrinkage : array_like
        Shrinkage from green to oven-dry in the direction asked [%].
    starts : array_like
        Moisture content below which the wood shrinks [%].
    moisture : array_like
        Moisture content [%]; above the start nothing moves.

    Returns
    -------
    ndarray
        Broadcast shape of the three.

    References
    ----------
    Wood Handbook FPL-GTR-190 ch. 13 (memory).

    Examples
    --------
    >>> float(shrunk(9.0, 30.0, 10.0))
    0.94
    """
    filled = np.asarray(moisture, dtype=np.float64) / np.asarray(starts, dtype=np.float64)
    result: Floats = 1.0 - np.asarray(total_shrinkage, dtype=np.float64) / 100.0 * (
        1.0 - np.minimum(filled, 1.0)
    )
    return result


def strain(
    total_shrinkage: ArrayLike,
    starts: ArrayLike,
    moisture_from: ArrayLike,
    moisture_to: ArrayLike,
) -> Floats:
    """Relative change of a dimension between two moisture contents [%]; negative on drying.

    The same as (M_f - M_i)/(100 M0/S - M0 + M_i) of Wood Handbook FPL-GTR-190 ch. 13 below the
    start M0, and nothing above it.

    Examples
    --------
    >>> round(864 * float(strain(9.5, 30.0, 12.5, 7.0)), 2)
    -15.93
    """
    before = shrunk(total_shrinkage, starts, moisture_from)
    after = shrunk(total_shrinkage, starts, moisture_to)
    result: Floats = after / before - 1.0
    return result


def coefficient(
    total_shrinkage: ArrayLike, starts: ArrayLike, moisture: ArrayLike = REFERENCE_MOISTURE
) -> Floats:
    """Movement per 1 % of moisture [1/%], relative to the size at a moisture content [%].

    At 10 % this is the dimensional change coefficient of Wood Handbook Table 13-5.

    Examples
    --------
    >>> round(float(coefficient(9.5, 30.0)), 5)
    0.00338
    """
    start = np.asarray(starts, dtype=np.float64)
    shrinkage = np.asarray(total_shrinkage, dtype=np.float64)
    result: Floats = 1.0 / (100.0 * start / shrinkage - start + np.asarray(moisture))
    return result


def at_angle(tangential: ArrayLike, radial: ArrayLike, ring_angle: ArrayLike) -> Floats:
    """A strain or shrinkage along the width, from those along and across the rings.

    Parameters
    ----------
    tangential, radial : array_like
        Along and across the rings.
    ring_angle : array_like
        Angle between the ring tangent and the width [degrees]; 90 less it gives the thickness.
    """
    along = np.cos(np.deg2rad(ring_angle)) ** 2
    result: Floats = np.asarray(radial) + (np.asarray(tangential) - np.asarray(radial)) * along
    return result
