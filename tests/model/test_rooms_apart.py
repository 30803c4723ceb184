"""How far rooms of one description lie apart: bands by printed equilibria, and what is told."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest

from model.answers.room import between, room_band
from model.surroundings.room import Room, constant, from_log, from_months

# 70 degF: 5 points of humidity either way in four rooms of five is 3.9 of standard deviation.
HELD = replace(constant(21.1, 40.0), humidity_spread=5.0 / 1.2816)
CLIMATE = replace(HELD, method="climate")
LOG = from_log(datetime.date(2026, 1, 1), np.arange(40.0), np.full(40, 20.0), np.full(40, 40.0))


def test_the_band_holds_four_rooms_in_five_and_their_wood() -> None:
    # Wood Handbook FPL-GTR-190 Table 4-2 (printed), 70 degF: 35 % 6.9, 40 % 7.7, 45 % 8.5.
    made = room_band(HELD, np.full(1, 21.1), np.full(1, 40.0))
    found = [float(one[0]) for one in (made.low, made.high)]
    assert found == pytest.approx([35.0, 45.0], abs=0.02)
    settles = [float(one[0]) for one in (made.dry, made.equilibrium, made.damp)]
    assert settles == pytest.approx([6.9, 7.7, 8.5], abs=0.06)


def test_no_room_of_the_band_is_drier_than_dry_or_damper_than_a_day_can_be() -> None:
    for percent, low, high in ((3.0, 0.0, 8.0), (95.0, 90.0, 98.0)):
        made = room_band(HELD, np.full(1, 20.0), np.full(1, percent))
        assert float(made.low[0]) == pytest.approx(low, abs=0.02)
        assert float(made.high[0]) == pytest.approx(high, abs=0.02)


def test_months_that_stray_widen_a_room_and_not_a_log() -> None:
    months = replace(
        from_months(np.full(12, 20.0), np.full(12, 40.0)),
        between=np.full(12, 3.0), strays=np.full(12, 4.0),
    )  # fmt: skip
    even = np.full(12, 40.0)
    made = room_band(months, np.full(12, 20.0), even)
    np.testing.assert_allclose(made.high - even, 1.28 * 5.0)
    log = replace(LOG, humidity_spread=2.0, strays=np.full(2, 50.0), between=np.full(2, 50.0))
    made = room_band(log, np.full(2, 20.0), np.full(2, 40.0))
    np.testing.assert_allclose(made.high - 40.0, 1.28 * 2.0)


@pytest.mark.parametrize(
    ("room", "code"),
    [
        (HELD, "hygrometer"),
        (LOG, "hygrometer"),
        (CLIMATE, "between-rooms"),
        (replace(CLIMATE, strays=np.zeros(1)), "between-rooms"),
        (replace(CLIMATE, kind="outdoors_covered"), "between-years"),
        (replace(CLIMATE, strays=np.array([3.0])), "between-rooms-and-months"),
    ],
)
def test_what_sets_rooms_apart_is_told(room: Room, code: str) -> None:
    assert between(room).code == code


def test_how_far_apart_is_told_in_points_and_in_moisture() -> None:
    # By the table again: 10 points about 40 % are 1.6 % M, so 5 are 0.8, to the table's rounding.
    for room in (HELD, CLIMATE):
        told = between(room).figures
        assert told["points"] == pytest.approx(5.0, abs=0.02)
        assert told["moisture"] == pytest.approx(0.8, abs=0.05)
    strays = between(replace(CLIMATE, strays=np.array([3.0, 4.0]))).figures["strays"]
    assert strays == pytest.approx(1.28 * np.sqrt(12.5))
