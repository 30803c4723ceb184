"""Distances on the globe."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

EARTH_RADIUS: Final = 6371.0  # km; mean radius (IUGG)


def distances(
    latitude: float, longitude: float, latitudes: ArrayLike, longitudes: ArrayLike
) -> NDArray[np.float64]:
    """Distances on the globe [km] from one point to many [degrees] (haversine formula)."""
    here, there = np.radians(latitude), np.radians(latitudes)
    across = np.radians(np.asarray(longitudes, dtype=np.float64) - longitude)
    half = np.sin((there - here) / 2) ** 2 + np.cos(here) * np.cos(there) * np.sin(across / 2) ** 2
    result: NDArray[np.float64] = 2.0 * EARTH_RADIUS * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return result
