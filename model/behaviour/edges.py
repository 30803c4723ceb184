"""What the edges and the ends of a slab add to its drying through the faces.

A slab is followed through its thickness alone.  Narrow or short stock dries through its edges and
ends too.  By the product rule of conduction the share still to come is that of the thickness times
that of the width times that of the length, so the rates of their slowest modes add up: the whole is
quickened by their sum over the one through the faces.  Edges and ends are taken as bare.  Along the
grain moisture moves 13 times as fast (printed 12-15), so that a zone at the ends is ahead of the
rest whatever the length.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import erfcinv

from model.behaviour import transport
from model.behaviour.slab import Slab
from model.behaviour.transport import ALONG_TO_ACROSS, DAY, Wood
from model.codes import Note
from model.properties import sorption
from model.properties.finishes import Face, Faces

Floats = NDArray[np.float64]

# Wider or longer than so many thicknesses edges and ends add less than 3 and 4 %, far below what
# any time is known to; they are then left out.
WIDE: Final = 6.0
LONG: Final = 18.0
TOLD: Final = 1.05  # quickened by more is told
USUAL_ROOM: Final = (20.0, 45.0)  # degC, % RH at which the rates are compared
HALVINGS: Final = 40  # of the interval in which a root is looked for
BARE: Final = Face(0.0)
LEAST_ZONE: Final = 0.01  # m at the ends; less is told by nobody (judgement)
ENDS_AHEAD: Final = 1.0  # % M by which the zone told is ahead of the rest


def slowest_root(first: ArrayLike, second: ArrayLike) -> Floats:
    """First root of tan B = B (B1 + B2)/(B^2 - B1 B2), from 0 to pi.

    The profile that fades most slowly through a plate with Biot numbers B1 and B2 at its faces
    fades at D B^2/t^2 (Crank 1975, section 4.3.6, memory, for both alike; derived).

    Examples
    --------
    >>> slowest_root([1e9, 1e9], [1e9, 0.0]).round(6).tolist()
    [3.141593, 1.570796]
    """
    one, other = np.broadcast_arrays(np.asarray(first, float), np.asarray(second, float))
    low, high = np.full(one.shape, 1e-6), np.full(one.shape, np.pi)
    for _ in range(HALVINGS):
        root = 0.5 * (low + high)
        beyond = (root**2 - one * other) * np.sin(root) > root * (one + other) * np.cos(root)
        low, high = np.where(beyond, low, root), np.where(beyond, root, high)
    return low


def counted(slab: Slab) -> tuple[float, float]:
    """Width and length [m] where they matter to the drying; infinite where they do not."""
    narrow = slab.width < WIDE * slab.thickness
    short = slab.length is not None and slab.length < LONG * slab.thickness
    return (
        slab.width if narrow else np.inf,
        slab.length if short and slab.length is not None else np.inf,
    )


def quickened(slab: Slab, wood: Wood, faces: Faces) -> Wood:
    """The same wood with the flow through edges and ends added to that through the faces.

    Parameters
    ----------
    slab : Slab
        Its width and, where known, length.
    wood : Wood
    faces : Faces
        What lies on the faces.

    Examples
    --------
    Square stock dries in half the time of a wide slab, stock twice as wide as thick in 0.8:

    >>> from model.properties.species import find
    >>> elm = find("American elm")
    >>> wood = Wood(np.ones(1), 0.03, 0.6, 30.0, np.ones(1))
    >>> both = Faces(BARE, BARE)
    >>> square = quickened(Slab(elm, 0.08, 0.08), wood, both).quickened
    >>> twice = quickened(Slab(elm, 0.15, 0.075), wood, both).quickened
    >>> round(1 / square, 2), round(1 / twice, 2)
    (0.5, 0.8)
    """
    width, length = counted(slab)
    if np.isinf(width) and np.isinf(length):
        return wood
    warmth, humidity = USUAL_ROOM
    central = wood.of(np.zeros(1, dtype=np.intp))
    factor = central.sorption * wood.sorption_at_60
    settled = factor * sorption.equilibrium_moisture(warmth, humidity)
    steep = factor * sorption.slope(warmth, humidity)
    grown = np.exp(wood.transport_slope * (settled - transport.REFERENCE_MOISTURE))
    diffusion = central.diffusion(warmth) * grown

    def rate(size: float, met: Faces, along: float) -> float:
        """Slowest rate through a size over the diffusion across [1/m2], with so many times that."""
        biot = transport.biot(central, size, met, np.ones(1), warmth, steep, along * diffusion)
        return float((along * (slowest_root(*biot) / size) ** 2)[0])

    through = rate(slab.thickness, faces, 1.0)
    added = 0.0
    for size, along in ((width, 1.0), (length, ALONG_TO_ACROSS)):
        if np.isfinite(size):
            added += rate(size, Faces(BARE, BARE), along)
    return replace(wood, quickened=1.0 + added / through)


def end_zone(diffusivity: float, days: float) -> float:
    """How far the ends have dried into a slab [m]: 2 sqrt(D_L time), D_L = 13 D(10 %).

    Parameters
    ----------
    diffusivity : float
        D at 10 % M and the temperature it dries at [m2/s].
    days : float
        Since it began to dry [days].

    References
    ----------
    Diffusion into a half-space: at 2 sqrt(D t) 16 % of the change has come (Crank 1975, section
    2.4, memory).
    """
    return float(2.0 * np.sqrt(ALONG_TO_ACROSS * diffusivity * days * DAY))


def ahead_at_ends(diffusivity: float, days: float, still: float) -> float:
    """Depth from the ends [m] within which a slab is ahead of its middle by `ENDS_AHEAD` and more.

    Parameters
    ----------
    diffusivity : float
        As in `end_zone`.
    days : float
        Since it began to dry [days].
    still : float
        What the middle has still to lose or take up [% M].

    References
    ----------
    erfc(x/2 sqrt(D t)) = 1/still (Crank 1975, section 2.4, memory); 0 where no more than that is
    to come.
    """
    if abs(still) <= ENDS_AHEAD:
        return 0.0
    return float(erfcinv(ENDS_AHEAD / abs(still))) * end_zone(diffusivity, days)


def ends_note(slab: Slab, days: Floats, moisture: Floats, aim: ArrayLike) -> tuple[Note, ...]:
    """How deep the zone at the ends is that is ahead of the rest, at its deepest.

    Parameters
    ----------
    slab : Slab
    days, moisture : ndarray (times,)
        Days since it came, and its mean moisture then [%].
    aim : array_like
        What it goes to, for each of them or throughout [%].
    """
    species = slab.species
    wood = Wood(
        np.array([species.transport_factor]),
        species.transport_slope,
        species.specific_gravity,
        species.fibre_saturation,
        np.ones(1),
    )
    diffusion = float(wood.diffusion(USUAL_ROOM[0])[0])
    still = np.minimum(moisture, species.fibre_saturation) - np.asarray(aim)
    depth = [
        ahead_at_ends(diffusion, float(day), float(left))
        for day, left in zip(days, still, strict=True)
    ]
    deepest = int(np.argmax(depth))
    if depth[deepest] < LEAST_ZONE:
        return ()
    way = "drier" if still[deepest] > 0.0 else "damper"
    return (Note("ends-ahead", zone=depth[deepest], way=way, days=float(days[deepest])),)


def notes(slab: Slab, wood: Wood) -> tuple[Note, ...]:
    """What is said of edges and ends that were counted."""
    if wood.quickened < TOLD:
        return ()
    code = "dries-through-edges" if np.isfinite(counted(slab)[0]) else "dries-through-ends"
    return (Note(code, share=1.0 / wood.quickened),)
