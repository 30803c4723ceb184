"""The sun on level ground: ends of the printed formula, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from model.surroundings import sun

# FAO Irrigation and Drainage Paper 56 (memory): solar constant 0.0820 MJ/(m2 min) = 1367 W/m2,
# distance 1 + 0.033 cos(2 pi J/365), declination 0.409 sin(2 pi J/365 - 1.39).
SOLSTICE, EQUINOX = 172, 81


def test_the_pole_has_the_whole_day_or_none_of_it() -> None:
    # At a pole the sun stands as high as its declination all day: G nearer sin(23.4 deg).
    nearer = 1.0 + 0.033 * np.cos(2.0 * np.pi * SOLSTICE / 365.0)
    assert sun.above_the_air(90.0, SOLSTICE) == pytest.approx(
        1367.0 * nearer * np.sin(np.radians(23.43)), rel=0.002
    )
    assert sun.above_the_air(-90.0, SOLSTICE) == pytest.approx(0.0, abs=1e-9)
    assert sun.above_the_air(70.0, 355) == pytest.approx(0.0, abs=1e-9)
    assert sun.above_the_air(-70.0, 355) > 450.0


def test_at_the_equinox_the_cosine_of_the_latitude_decides() -> None:
    # Half a day of sun as high as its declination is nought: G/pi cos(latitude).
    flat = sun.above_the_air(0.0, EQUINOX)
    assert flat == pytest.approx(1367.0 / np.pi, rel=0.01)
    for latitude in (-60.0, -30.0, 30.0, 60.0):
        share = sun.above_the_air(latitude, EQUINOX) / flat
        assert share == pytest.approx(np.cos(np.radians(latitude)), abs=0.01)


@pytest.mark.parametrize(
    ("latitude", "day", "megajoule"),
    # The worked example and the table of the same paper (memory): MJ/(m2 day).
    [(-20.0, 246, 32.2), (50.0, 166, 41.9), (0.0, 15, 36.2)],
)
def test_the_printed_examples(latitude: float, day: int, megajoule: float) -> None:
    watts = megajoule * 1e6 / 86_400.0
    assert sun.above_the_air(latitude, day) == pytest.approx(watts, rel=0.01)


def test_half_of_it_reaches_the_ground_in_the_middle_of_each_month() -> None:
    # Middle of January: day 365/24, and of July: 13/24 of the year.
    found = sun.on_the_ground(45.0)
    assert found.shape == (12,)
    for month, day in ((0, 365.0 / 24.0), (6, 365.0 * 13.0 / 24.0), (11, 365.0 * 23.0 / 24.0)):
        assert found[month] == pytest.approx(0.5 * sun.above_the_air(45.0, day))
