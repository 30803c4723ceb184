"""What it takes to pull a cupped slab to its held shape by cauls, clamps or an even load."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.behaviour.course import Course, Stay
from model.behaviour.slab import Slab

Floats = NDArray[np.float64]


CAUL_SPACING: Final = 0.30  # m between cauls (practice, 300-400 mm)


@dataclass(frozen=True, slots=True)
class Clamping:
    """What it takes to pull the slab to its held shape.

    Attributes
    ----------
    moment : ndarray (samples,)
        Largest, per metre of length [N m/m].
    lasting : ndarray (samples,)
        The same at the end of the hold [N m/m].
    cauls : int or None
        Number along the slab; None without a length.
    spacing : float
        Between cauls [m].
    force_per_clamp : ndarray (samples,)
        At each end of each caul, a bearer under the middle or a clamp at the crown [N].
    load : ndarray (samples,)
        Even load that would do the same, the slab lying on its edges, round face up [Pa].
    """

    moment: Floats
    lasting: Floats
    cauls: int | None
    spacing: float
    force_per_clamp: Floats
    load: Floats


def edge_force(moment: Floats, width: float, spacing: float) -> Floats:
    """Force at each end of a caul that bends a slab over a bearer at its middle [N].

    Parameters
    ----------
    moment : ndarray
        E I times the curvature to be taken out, per metre of length [N m/m].
    width, spacing : float
        Of the slab, and between cauls [m].

    Notes
    -----
    P a^3/(3 EI) = k a^2/2 with a = W/2: P = 3 M/W per metre (derived).

    Examples
    --------
    >>> float(edge_force(np.array(2290.0), 0.6, 0.3))
    3435.0
    """
    result: Floats = 3.0 * moment * spacing / width
    return result


def even_load(moment: Floats, width: float) -> Floats:
    """Even load that presses flat a slab lying on its edges [Pa].

    384 EI c/(5 W^4) = 48 M/(5 W^2) (derived).  For 5 mm over 600 x 50 mm at 800 MPa 24.7 kN/m2
    (printed).

    Examples
    --------
    >>> moment = 800e6 * 0.05**3 / 12 * 8 * 0.005 / 0.6**2
    >>> round(float(even_load(np.array(moment), 0.6)) / 1e3, 1)
    24.7
    """
    result: Floats = 48.0 * moment / (5.0 * width**2)
    return result


def clamping_of(slab: Slab, done: Course, stays: list[Stay]) -> Clamping | None:
    """What the last hold of these stays took; None where nothing held."""
    held = [i for i, stay in enumerate(stays) if np.any(np.asarray(stay.hold.bending) > 0.0)]
    if not held:
        return None
    rows = done.stay == held[-1]
    moment = np.abs(done.moment[rows])
    largest = moment.max(axis=0)
    spacing, cauls = CAUL_SPACING, None
    if slab.length is not None:
        cauls = max(math.ceil(slab.length / CAUL_SPACING), 2)
        spacing = slab.length / cauls
    return Clamping(
        moment=largest,
        lasting=moment[-1],
        cauls=cauls,
        spacing=spacing,
        force_per_clamp=edge_force(largest, slab.width, spacing),
        load=even_load(largest, slab.width),
    )
