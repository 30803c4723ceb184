"""Distances on the globe against plain geometry of the sphere."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.surroundings.globe import distances

QUARTER = 0.5 * np.pi * 6371.0  # km; of a great circle of the mean earth (IUGG)


@pytest.mark.parametrize(
    ("here", "there", "quarters"),
    [
        ((0.0, 0.0), (0.0, 0.0), 0.0),
        ((0.0, 0.0), (90.0, 77.0), 1.0),
        ((0.0, 10.0), (0.0, 100.0), 1.0),
        ((-90.0, 0.0), (90.0, 0.0), 2.0),
        ((0.0, -90.0), (0.0, 90.0), 2.0),
        ((30.0, 0.0), (60.0, 180.0), 1.0),  # over the pole
        ((45.0, 20.0), (-45.0, 20.0), 1.0),
        ((0.0, 179.5), (0.0, -179.5), 1.0 / 90.0),  # a degree, across the line of dates
        ((0.0, 359.5), (0.0, 0.5), 1.0 / 90.0),
    ],
)
def test_quarters_of_great_circles(
    here: tuple[float, float], there: tuple[float, float], quarters: float
) -> None:
    assert distances(*here, *there) == pytest.approx(quarters * QUARTER, abs=1e-6)


degrees = st.tuples(st.floats(-90.0, 90.0), st.floats(-180.0, 180.0))


def upright(latitude: float, longitude: float) -> np.ndarray:
    """The point as a vector of length one."""
    north, east = np.radians(latitude), np.radians(longitude)
    return np.array([np.cos(north) * np.cos(east), np.cos(north) * np.sin(east), np.sin(north)])


@given(degrees, degrees)
def test_the_distance_is_the_angle_between_two_vectors(
    here: tuple[float, float], there: tuple[float, float]
) -> None:
    # The angle by its tangent, |a x b| over a.b, which no rounding spoils at either end.
    one, two = upright(*here), upright(*there)
    angle = np.arctan2(np.linalg.norm(np.cross(one, two)), one @ two)
    # 1 m: the haversine loses half its digits at the antipode.
    assert float(distances(*here, *there)) == pytest.approx(6371.0 * angle, abs=1e-3)


def test_the_other_side_of_the_earth_is_a_number() -> None:
    # Rounding takes the haversine of some of these a little beyond one.
    latitudes = np.linspace(-89.0, 89.0, 400)
    for latitude, longitude in zip(latitudes, np.linspace(-170.0, 170.0, 400), strict=True):
        away = float(distances(latitude, longitude, -latitude, longitude + 180.0))
        assert away == pytest.approx(2.0 * QUARTER, abs=1.0)
