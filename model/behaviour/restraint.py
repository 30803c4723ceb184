"""What happens when wood is kept from moving: bars bonded or slotted to it, pulls and stress.

Two beams of unequal free length bonded along one face bend and pull at each other (Timoshenko
1925, the bimetal strip).  Two beams joined by fixings in slots share a bending moment only; what
the fixings then bear is a contact problem, solved here as bounded least squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import lsq_linear

from model.properties.fasteners import INCH, POUND_FORCE

Floats = NDArray[np.float64]

# Shear modulus along width and length over tangential modulus: median of G_LT/E_T over the
# 33 woods of Wood Handbook Table 5-1 that list both (fitted; they run from 0.7 to 2.5).
SHEAR_TO_ACROSS: Final = 1.2
# Stiffness of a screw in withdrawal 780 d^0.2 l^0.4 N/mm, d and l in mm: European approvals of
# screws (memory).  Inserts are taken alike (judgement).
AXIAL_SLIP: Final = (780.0, 0.2, 0.4)
_NODES: Final = 49  # across the slab in the contact problem; pulls within 0.3 % of 121 (measured)
# Stiffest fixing over the slab's own stiffness, k W^3/EI: beyond it the numbers lose their digits;
# 20 times the stiffest screw in a usual slab, the pull then grows as k^(1/3) (measured).
_STIFFEST: Final = 2.0e4


@dataclass(frozen=True, slots=True)
class Bonded:
    """Two layers fixed solid to each other, one of which wants to be longer or shorter.

    Attributes
    ----------
    curvature : ndarray
        [1/m], away from straight.
    force : ndarray
        Tension in the layer that wants to be shorter, and compression in the other [N].
    """

    curvature: Floats
    force: Floats


def bonded(
    strain: ArrayLike,
    first_bending: ArrayLike,
    first_axial: ArrayLike,
    second_bending: float,
    second_axial: float,
    distance: float,
) -> Bonded:
    """Two layers fixed solid along their length.

    Parameters
    ----------
    strain : array_like
        Difference of their free strains [-].
    first_bending, first_axial, second_bending, second_axial : array_like
        EI [N m2] and EA [N] of both.
    distance : float
        Between their centroids [m].

    Returns
    -------
    Bonded

    References
    ----------
    Timoshenko 1925, J. Opt. Soc. Am. 11:233 (derived again here).

    Examples
    --------
    >>> pair = bonded(0.009, 1250.0, 6e6, 83.3, 40e6, 0.0275)
    >>> round(float(pair.force))
    11860
    """
    de = np.asarray(strain, dtype=np.float64)
    bending = np.asarray(first_bending, dtype=np.float64) + second_bending
    compliance = 1.0 / np.asarray(first_axial, dtype=np.float64) + 1.0 / second_axial
    determinant = bending * compliance + distance**2
    return Bonded(np.asarray(de * distance / determinant), np.asarray(de * bending / determinant))


def relaxed(modulus: ArrayLike, creep: ArrayLike, change: ArrayLike) -> Floats:
    """Modulus that a restrained change of moisture meets, set included [Pa].

    Parameters
    ----------
    modulus : array_like
        [Pa].
    creep : array_like
        m E [-], central 60.
    change : array_like
        Change of moisture under restraint [% M], either sign.

    Returns
    -------
    ndarray
        E (1 - exp(-x))/x with x = m E |du|: stress over free strain at the end of a steady change
        under full restraint (closed form of the set law, derived).

    Examples
    --------
    >>> round(float(relaxed(1000.0, 60.0, 3.0)))
    464
    """
    x = np.asarray(creep, dtype=np.float64) * np.abs(np.asarray(change, dtype=np.float64)) / 100.0
    share = np.where(x > 1e-9, -np.expm1(-x) / np.maximum(x, 1e-9), 1.0)
    return np.asarray(np.asarray(modulus, dtype=np.float64) * share)


def reach(width: float) -> float:
    """Distance along the grain over which a bar's hold on the cup falls to 1/e [m].

    A cup of parabola form that varies along the length meets the slab's own stiffness in torsion:
    length W sqrt(G_LT/(3 E_T)), 0.63 W (derived).
    """
    return width * float(np.sqrt(SHEAR_TO_ACROSS / 3.0))


def cup_along(
    bending: ArrayLike, bar: ArrayLike, spacing: ArrayLike, width: float
) -> tuple[Floats, Floats]:
    """Share of the free cup left at the bars and midway between them.

    Parameters
    ----------
    bending : array_like
        EI of the slab across its grain per metre of length [N m2/m].
    bar : array_like
        EI of one bar [N m2].
    spacing : array_like
        Between bars [m].
    width : float
        Of the slab [m].

    Returns
    -------
    at_bar, midway : ndarray
        Shares [-].

    Notes
    -----
    Solves W2 G/(3 E) c'' = c - c0 between the bars, whose bending takes up the slope of c on both
    sides (derived).  Close bars tend to EI/(EI + EsIs/spacing).

    Examples
    --------
    >>> near, between = cup_along(10417.0, 2473.0, 0.15, 0.6)
    >>> round(float(near), 3), round(float(between), 3)
    (0.384, 0.396)
    """
    length = reach(width)
    half = np.asarray(spacing, dtype=np.float64) / (2.0 * length)
    ratio = np.asarray(bar, dtype=np.float64) / (
        2.0 * length * np.asarray(bending, dtype=np.float64)
    )
    # In tanh and 1/cosh, which bars ever so far apart do not overflow.
    tanh, sech = np.tanh(half), 1.0 / np.cosh(np.minimum(half, 700.0))
    whole = tanh + ratio
    return np.asarray(tanh / whole), np.asarray(1.0 - ratio * sech / whole)


def axial_slip(diameter: float, length: float) -> float:
    """Stiffness of a screw against being drawn [N/m], diameter and thread length [m].

    References
    ----------
    780 d^0.2 l^0.4 N/mm of European approvals for screws (memory); within x/÷ 2 (judgement).
    """
    factor, diameter_power, length_power = AXIAL_SLIP
    return 1e3 * factor * float((1e3 * diameter) ** diameter_power * (1e3 * length) ** length_power)


def outer_pull(moment: ArrayLike, between: float) -> Floats:
    """Pull on each of two outermost fixings that keep up a moment, the middle bearing [N].

    3 M/L (derived): the ends are drawn as far as M would draw them.  Edges down the middle one is
    pulled with twice that.  The hand check of `contact`; moment over distance is far too low.

    Parameters
    ----------
    moment : array_like
        [N m].
    between : float
        Distance of the outermost fixings [m].

    Examples
    --------
    >>> float(outer_pull(933.0, 0.5))
    5598.0
    """
    return np.asarray(3.0 * np.asarray(moment, dtype=np.float64) / between)


def farthest_from_edge(curvature: float, rise: float = 0.5e-3) -> float:
    """How far from its edge a slab's last fixing may stand so that the edge rises no more [m].

    Beyond it the edge rises k a^2/2 (derived).

    Examples
    --------
    >>> round(farthest_from_edge(0.222), 3)
    0.067
    """
    return float(np.sqrt(2.0 * rise / max(abs(curvature), 1e-9)))


@dataclass(frozen=True, slots=True)
class Contact:
    """A slab that wants to cup, tied by fixings to a straight bar it may lift off.

    Attributes
    ----------
    pulls : ndarray (points,)
        On each fixing, in the order given [N].
    moment : float
        Largest in the bar [N m].
    share : float
        Of the free cup over the slab's width that is left.
    """

    pulls: Floats
    moment: float
    share: float


def contact(
    curvature: float,
    bending: tuple[float, float],
    width: float,
    reach_of_bar: tuple[float, float],
    points: ArrayLike,
    stiffness: float,
) -> Contact:
    """A slab that wants to cup, tied by fixings that stretch to a straight bar.

    The slab may lift off the bar but not pass through it.  Along the bar both beams together bend
    like one whose stiffness is EwIw EsIs/(EwIw + EsIs); beyond its ends the slab is free.

    Parameters
    ----------
    curvature : float
        Free curvature [1/m]; positive: the slab's edges bend away from the bar.
    bending : tuple of float
        EI of the slab's strip and of the bar [N m2].
    width : float
        Of the slab [m].
    reach_of_bar : tuple of float
        Where the bar begins and ends, from the same edge as the fixings [m].
    points : array_like
        Fixings' distances from one edge [m], on the bar.
    stiffness : float
        Of each fixing in withdrawal [N/m].

    Returns
    -------
    Contact

    Notes
    -----
    Energy of a bent beam on one-sided contact (derived).  A fixing far from its neighbours bears
    P = k0 EI (k/(6 EI))^(1/3): the lever is the length that lifts off beside it, (6 EI/k)^(1/3),
    about 0.1 m, not the distance between the outermost fixings.
    """
    fixed = np.round(np.asarray(points, dtype=np.float64), 9)
    wood, bar = bending
    series = wood * bar / (wood + bar)
    rate = min(stiffness, _STIFFEST * series / width**3)
    first, last = reach_of_bar
    count = max(round((_NODES - 1) * (last - first) / width), 12)
    x = np.unique(np.concatenate((np.linspace(first, last, count + 1), fixed)))
    # Nodes closer than a tenth of the mesh to a fixing would ruin the second difference.
    near = np.abs(x[:, None] - fixed).min(axis=1)
    x = x[np.isin(x, fixed) | (near > 0.3 * (last - first) / count)]
    left, right = np.diff(x)[:-1], np.diff(x)[1:]
    rows = np.arange(x.size - 2)
    bend = np.zeros((x.size - 2, x.size))
    bend[rows, rows] = 2.0 / (left * (left + right))
    bend[rows, rows + 1] = -2.0 / (left * right)
    bend[rows, rows + 2] = 2.0 / (right * (left + right))
    weight = np.sqrt(series * 0.5 * (left + right))
    index = np.searchsorted(x, fixed)
    spring = np.zeros((fixed.size, x.size))
    spring[np.arange(fixed.size), index] = np.sqrt(rate)
    # Scaled by the unbent lift so that the numbers are near one whatever the slab.
    scale = max(abs(curvature) * width**2, 1e-12)
    matrix = np.vstack((bend * weight[:, None], spring))
    target = np.concatenate((weight * curvature, np.zeros(fixed.size))) / scale
    # Bounded-variable least squares works on the matrix itself; the normal equations of `nnls` lose
    # the answer here (one side 48 % off in a symmetric case, measured).
    found = lsq_linear(matrix, target, bounds=(0.0, np.inf), method="bvls", tol=1e-12)
    lift = np.maximum(found.x, 0.0)
    moment = series * (curvature - scale * (bend @ lift))
    middle = x[1:-1]
    arm = 0.5 * np.minimum(middle, width - middle)  # deflection in the middle by a unit of bending
    straightened = float(np.sum(moment / wood * arm * 0.5 * (left + right)))
    cup = curvature * width**2 / 8.0
    share = 1.0 - straightened / cup if cup else 1.0
    return Contact(rate * scale * lift[index], float(np.abs(moment).max()), share)


def lateral_yield(
    diameter: float, root: float, length: float, specific_gravity: float, plate: float
) -> tuple[float, str]:
    """Sideways force at which a fixing through a steel plate yields in wood, across the grain.

    Parameters
    ----------
    diameter, root, length : float
        Nominal and root diameter, length in the wood [m].
    specific_gravity : float
        Oven-dry, as the NDS counts it [-].
    plate : float
        Thickness of the plate [m].

    Returns
    -------
    force : float
        Yield force without the NDS reduction term [N]: a mean, not an allowable value.
    mode : str
        How it yields, as a code.

    References
    ----------
    AWC Technical Report 12, single shear, no gap; dowel bearing of NDS ch. 12 (memory).
    """
    d, hole, lm, ls = (measure / INCH for measure in (diameter, root, length, plate))
    g = specific_gravity
    # psi: across the grain for 1/4 in and over, any direction below it; steel plate ASTM A36.
    wood = 6100.0 * g**1.45 / np.sqrt(d) if d >= 0.25 else 16600.0 * g**1.84
    steel = 87_000.0
    fastener = 45_000.0 if d >= 0.25 else 90_000.0  # bending yield, NDS App. I (memory)
    re, rt = wood / steel, lm / ls
    k1 = (np.sqrt(re + 2.0 * re**2 * (1.0 + rt + rt**2) + rt**2 * re**3) - re * (1.0 + rt)) / (
        1.0 + re
    )
    k2 = -1.0 + np.sqrt(
        2.0 * (1.0 + re) + 2.0 * fastener * (1 + 2 * re) * hole**2 / (3 * wood * lm**2)
    )
    k3 = -1.0 + np.sqrt(
        2.0 * (1.0 + re) / re + 2.0 * fastener * (2.0 + re) * hole**2 / (3.0 * wood * ls**2)
    )
    modes = {
        "wood-crushes": hole * lm * wood,
        "plate-crushes": hole * ls * steel,
        "rocks": k1 * hole * ls * steel,
        "bends-at-the-face": k2 * hole * lm * wood / (1.0 + 2.0 * re),
        "bends-in-the-plate": k3 * hole * ls * wood / (2.0 + re),
        "bends-twice": hole**2 * np.sqrt(2.0 * wood * fastener / (3.0 * (1.0 + re))),
    }
    mode = min(modes, key=lambda name: float(modes[name]))
    return float(modes[mode]) * POUND_FORCE, mode
