"""Twist, bow and crook, and what a slab with its heart in it does.

All of them come from wood that is not alike everywhere: spiral grain, juvenile or reaction wood on
one side.  They are told as what may be, not as what will be.
"""

from __future__ import annotations

import math
from typing import Final

# Along the grain wood shrinks 0.0111 % for 1 %, and differs by as much from stick to stick: 3,600
# spruce sticks from 18 to 8 % (printed; the unit read as % per % M).
LENGTHWISE_DIFFERENCE: Final = 0.0111e-2  # 1/%, one standard deviation


def twist(length: float, along: float, spiral: float, radius: float) -> float:
    """Turn of one end against the other [degrees] as a slab dries.

    Parameters
    ----------
    length : float
        [m].
    along : float
        Shrinkage along the rings, either sign [-].
    spiral : float
        Angle of the spiral grain [degrees].
    radius : float
        Distance from the pith [m].

    References
    ----------
    2 L e_T theta/(r (1 + e_T)): Stevens & Johnston 1960 (memory); it explains 66 % of what varies
    in spruce (printed).

    Examples
    --------
    >>> round(twist(2.0, -0.00903, 3.0, 0.1), 2)
    1.07
    """
    strain = abs(along)
    return 2.0 * length * strain * spiral / (radius * (1.0 + strain))


def rise_of_corner(turned: float, width: float) -> float:
    """How far a corner rises over a slab's width at a twist [degrees] [m].

    Examples
    --------
    >>> round(1e3 * rise_of_corner(1.07, 0.6), 1)
    11.2
    """
    return width * math.radians(turned)


def may_bow(change: float, length: float, across: float) -> float:
    """Bow over a length, or crook, of a difference along the grain of one standard deviation [m].

    Parameters
    ----------
    change : float
        Of moisture [% M].
    length, across : float
        Length; thickness for a bow, width for a crook [m].

    References
    ----------
    d_eps L^2/(8 t) (derived).

    Examples
    --------
    >>> [round(1e3 * may_bow(6.0, 2.4, one), 1) for one in (0.05, 0.6)]
    [9.6, 0.8]
    """
    return LENGTHWISE_DIFFERENCE * abs(change) * length**2 / (8.0 * across)


def boxed_heart_rise(width: float, missing: float) -> float:
    """How far both edges go away from the checked face of a slab with its heart in it [m].

    (W/2)(pi/2)(e_R - e_T): a V, once the check has opened from the pith to one face (derived);
    checks to both faces make none.

    Parameters
    ----------
    width : float
        [m].
    missing : float
        e_R - e_T of the drying [-].

    Examples
    --------
    >>> round(1e3 * boxed_heart_rise(0.6, 0.00438), 2)
    2.06
    """
    return 0.5 * width * 0.5 * math.pi * missing
