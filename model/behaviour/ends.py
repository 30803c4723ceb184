"""Whether the ends of a slab should be coated: how far they dry ahead, and what a coat leaves."""

from __future__ import annotations

from typing import Final

import numpy as np

from model import spread
from model.behaviour import edges
from model.behaviour.slab import Slab
from model.behaviour.year import wood_of

# End grain is about so many times as resistant to vapour as air (derived).
RESISTS: Final = 16.0


def dried_zone(slab: Slab, days: float, temperature: float = 20.0) -> float:
    """How far from an uncoated end the drying through it has reached [m].

    See `edges.end_zone`; no farther than the middle of its length.

    Parameters
    ----------
    slab : Slab
    days : float
    temperature : float
        [degC].
    """
    wood = wood_of(slab, spread.draw(0))
    across = float(np.asarray(wood.diffusion(temperature)).flat[0])
    reach = edges.end_zone(across, days)
    return reach if slab.length is None else min(reach, 0.5 * slab.length)


def left_by_coat(sd: float, zone: float) -> float:
    """Share of the flux through an end that a coat leaves [-].

    Parameters
    ----------
    sd : float
        Vapour resistance of the coat [m of still air].
    zone : float
        Depth dried so far [m].

    References
    ----------
    1/(1 + sd/(16 x)) (derived: coat and end grain one after the other).

    Examples
    --------
    >>> round(left_by_coat(10.0, 0.1), 2)
    0.14
    """
    return 1.0 / (1.0 + sd / (RESISTS * zone))
