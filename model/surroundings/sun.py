"""Sun on level ground by latitude and month, where none is measured."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.surroundings.calendar import MONTHS

Floats = NDArray[np.float64]

SOLAR_CONSTANT: Final = 1367.0  # W/m2; FAO Irrigation and Drainage Paper 56 (memory)
REACHES_GROUND: Final = 0.5  # share of the sun above the air (judgement: 0.25 dull to 0.75 clear)
_DAYS_OF_YEAR: Final = 365.0
# Day of the year in the middle of each month.
_MIDDLES: Final = (np.arange(MONTHS) + 0.5) * _DAYS_OF_YEAR / MONTHS


def above_the_air(latitude: float, day: ArrayLike) -> Floats:
    """Mean radiation of a day on a level surface above the air [W/m2].

    Parameters
    ----------
    latitude : float
        [degrees], north positive.
    day : array_like
        Day of the year, 1 on 1 January.

    References
    ----------
    FAO Irrigation and Drainage Paper 56, equations 21 to 25 (memory).

    Examples
    --------
    >>> above_the_air(61.0, [17, 162, 198, 345]).round().tolist()
    [34.0, 474.0, 448.0, 21.0]
    """
    angle = 2.0 * np.pi * np.asarray(day, dtype=np.float64) / _DAYS_OF_YEAR
    nearer = 1.0 + 0.033 * np.cos(angle)
    declination = 0.409 * np.sin(angle - 1.39)
    north = np.radians(latitude)
    # The sun stays up, or down, where its hour angle at the horizon has no solution.
    sunset = np.arccos(np.clip(-np.tan(north) * np.tan(declination), -1.0, 1.0))
    result: Floats = (
        SOLAR_CONSTANT
        / np.pi
        * nearer
        * (
            sunset * np.sin(north) * np.sin(declination)
            + np.cos(north) * np.cos(declination) * np.sin(sunset)
        )
    )
    return np.maximum(result, 0.0)


def on_the_ground(latitude: float) -> Floats:
    """Mean radiation of each month on level ground, estimated [W/m2], shape (12,).

    Examples
    --------
    >>> on_the_ground(61.0)[[0, 5]].round().tolist()
    [16.0, 239.0]
    """
    return REACHES_GROUND * above_the_air(latitude, _MIDDLES)
