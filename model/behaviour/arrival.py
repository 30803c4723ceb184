"""When a slab comes within a distance of where it is going."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.surroundings.calendar import YEAR

Floats = NDArray[np.float64]

HORIZON: Final = 5.0 * YEAR  # days ahead that are looked at; beyond, a slab does not arrive
PERIODIC: Final = 0.02  # % M; a year that ends so near its beginning repeats itself
TOLERANCE: Final = 0.05  # % M in a step; a tenth of the half point that is waited for


def first_within(days: Floats, gap: Floats, limit: float) -> float:
    """Days until a gap is first within a limit; infinite if it never is.

    Whether it would stay there through the seasons is not asked.

    Parameters
    ----------
    days, gap : ndarray (times,)
        Times [days] and the distance then, in any unit.
    limit : float
        In the unit of `gap`.

    Examples
    --------
    >>> first_within(np.array([0.0, 1.0, 2.0]), np.array([3.0, 2.0, 1.0]), 1.5)
    1.5
    """
    inside = np.flatnonzero(gap <= limit)
    if inside.size == 0:
        return float("inf")
    first = int(inside[0])
    if first == 0:
        return 0.0
    before, after = gap[first - 1], gap[first]
    share = (before - limit) / (before - after)
    return float(days[first - 1] + share * (days[first] - days[first - 1]) - days[0])


def turned(mean: Floats) -> bool:
    """Whether a year of mean moisture (times, samples) [%] ends as it began: the next is alike."""
    return bool(np.abs(mean[-1] - mean[0]).max() < PERIODIC)
