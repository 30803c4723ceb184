"""When a slab arrives, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from model.behaviour.arrival import first_within, turned


def test_between_two_rows_a_gap_falls_straight() -> None:
    # From 3.0 on day 10 to 1.0 on day 18 it passes 1.5 three quarters of the way, on day 16;
    # days are counted from the first.
    days, gap = np.array([2.0, 10.0, 18.0, 40.0]), np.array([5.0, 3.0, 1.0, 0.5])
    assert first_within(days, gap, 1.5) == pytest.approx(14.0)
    assert first_within(days, gap, 3.0) == pytest.approx(8.0)
    assert first_within(days, gap, 5.0) == 0.0
    assert first_within(days, gap, 0.5) == pytest.approx(38.0)
    assert first_within(days, gap, 0.49) == math.inf


def test_a_year_has_turned_when_no_sample_ends_farther_than_2_hundredths() -> None:
    year = np.array([[8.0, 9.0], [10.0, 7.0], [8.019, 8.981]])
    assert turned(year)
    assert not turned(year + np.array([[0.0, 0.0], [0.0, 0.0], [0.002, 0.0]]))
