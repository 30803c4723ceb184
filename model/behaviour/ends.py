"""The ends of a slab: they dry first, along the grain, and split there."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from model import spread
from model.behaviour.slab import Slab
from model.behaviour.year import wood_of

ALONG: Final = 13.0  # diffusion along the grain over that across, at 10 % (12-15, printed)
# End grain is about so many times as resistant to vapour as air (derived).
RESISTS: Final = 16.0
DAY: Final = 86_400.0  # s; definition
TRIM: Final = 0.150  # m to allow for end checks of an uncoated slab, 50-150 mm (practice)
COAT_BELOW: Final = 0.5  # share of the end flux that a coat must leave at most (judgement)


def dried_zone(slab: Slab, days: float, temperature: float = 20.0) -> float:
    """How far from an uncoated end the drying through it has reached [m].

    2 sqrt(D_L time), no farther than the middle of its length (derived; D_L 13 times D at 10 %).

    Parameters
    ----------
    slab : Slab
    days : float
    temperature : float
        [degC].
    """
    wood = wood_of(slab, spread.draw(0))
    across = float(np.asarray(wood.diffusion(temperature)).flat[0])
    reach = 2.0 * math.sqrt(ALONG * across * days * DAY)
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
