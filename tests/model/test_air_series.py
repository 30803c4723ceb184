"""Air through time: what is refused, and what is known of which day."""

from __future__ import annotations

import numpy as np
import pytest

from model.surroundings.air_series import POINTS_A_MONTH, Air, OutsideLog, year_through

DAYS = np.array([0.0, 1.0, 3.0])
LOG = Air(DAYS, np.array([20.0, 22.0, 21.0]), np.array([40.0, 50.0, 44.0]))


@pytest.mark.parametrize(
    ("days", "temperature", "humidity", "fault"),
    [
        ([], [], [], "lists of one length"),
        ([0.0, 1.0], [20.0], [50.0, 50.0], "lists of one length"),
        ([0.0, 1.0], [20.0, 20.0], [50.0], "lists of one length"),
        ([[0.0, 1.0]], [[20.0, 20.0]], [[50.0, 50.0]], "lists of one length"),
        ([0.0, np.nan], [20.0, 20.0], [50.0, 50.0], "must be finite"),
        ([0.0, 1.0], [20.0, np.inf], [50.0, 50.0], "must be finite"),
        ([0.0, 1.0], [20.0, 20.0], [50.0, np.nan], "must be finite"),
        ([0.0, 0.0], [20.0, 20.0], [50.0, 50.0], "strictly ascending"),
        ([1.0, 0.0], [20.0, 20.0], [50.0, 50.0], "strictly ascending"),
    ],
)
def test_what_is_no_air_is_refused(
    days: list[float], temperature: list[float], humidity: list[float], fault: str
) -> None:
    with pytest.raises(ValueError, match=fault):
        Air(np.array(days), np.array(temperature), np.array(humidity))


def test_a_year_has_evenly_spaced_points_from_day_nought() -> None:
    values = np.array([10.0, 20.0, 30.0, 20.0])
    year = Air(np.arange(4.0), values, values, 4.0)
    assert year.at(0.5) == (15.0, 15.0)
    assert year.at(3.5) == (15.0, 15.0)
    assert year.at(-0.5) == (15.0, 15.0)
    assert year.at(10.25) == (27.5, 27.5)
    assert year.at_days([3.5, 10.25])[0].tolist() == [15.0, 27.5]
    for days, period in (([0.5, 1.5, 2.5, 3.5], 4.0), ([0.0, 1.0, 2.0, 3.0], 5.0)):
        with pytest.raises(ValueError, match="evenly spaced points from day 0"):
            Air(np.array(days), values, values, period)


def test_the_table_of_an_air_is_its_own() -> None:
    given_values = np.array([20.0, 22.0, 21.0])
    air = Air(DAYS, given_values, given_values)
    given_values[0] = 99.0
    assert air.at(0.0) == (20.0, 20.0)
    with pytest.raises(ValueError, match="read-only"):
        air.temperature[0] = 0.0


def test_a_log_is_known_to_a_tenth_of_a_second_beyond_its_ends() -> None:
    # 1e-6 of a day is 0.0864 s.
    for day, known in (
        (-0.9e-6, True),
        (-1.1e-6, False),
        (3.0 + 0.9e-6, True),
        (3.0 + 1.1e-6, False),
    ):
        if known:
            assert LOG.at(day) == LOG.at(float(np.clip(day, 0.0, 3.0)))
            assert LOG.at_days([day])[0].size == 1
        else:
            with pytest.raises(
                OutsideLog, match="runs from day 0 to day 3 and says nothing of day"
            ):
                LOG.at(day)
            with pytest.raises(OutsideLog):
                LOG.at_days([1.0, day])
    with pytest.raises(OutsideLog, match=r"nothing of day 4$"):
        LOG.at_days([0.5, 4.0])
    with pytest.raises(OutsideLog, match=r"nothing of day -2$"):
        LOG.at_days([-2.0, 0.5])
    assert LOG.at_days([])[0].size == 0


def test_a_log_is_straight_between_its_points() -> None:
    for day in np.linspace(0.0, 3.0, 25):
        assert LOG.at(float(day)) == pytest.approx(
            (np.interp(day, DAYS, [20.0, 22.0, 21.0]), np.interp(day, DAYS, [40.0, 50.0, 44.0]))
        )


def test_a_long_record_is_thinned_to_means_of_neighbours() -> None:
    assert LOG.thinned(3)[0] is LOG.days
    days, warm, damp = LOG.thinned(2)
    assert (days.tolist(), warm.tolist(), damp.tolist()) == ([0.5, 3.0], [21.0, 21.0], [45.0, 44.0])


def test_a_year_keeps_its_months_and_its_bounds() -> None:
    assert POINTS_A_MONTH == 30  # about one a day
    flat = year_through(np.full(12, 7.0))
    assert flat == pytest.approx(np.full(360, 7.0))
    # A month at the lower bound stays there all through, its neighbours leave it.
    means = np.array([0.0, 0.0, 4.0, 9.0, 10.0, 10.0, 10.0, 7.0, 3.0, 1.0, 0.0, 0.0])
    values = year_through(means, 0.0, 10.0)
    closed = np.append(values, values[0])
    assert (0.5 * (closed[1:] + closed[:-1])).reshape(12, 30).mean(axis=1) == pytest.approx(
        means, abs=1e-12
    )
    assert values.min() >= -1e-12
    assert values.max() <= 10.0 + 1e-12
    months = values.reshape(12, 30)
    assert months[[0, 5, 11]] == pytest.approx(
        np.array([[0.0], [10.0], [0.0]]) * np.ones(30), abs=1e-12
    )
    # Without bounds the same year swings beyond both.
    free = year_through(means)
    assert free.min() < -0.01
    assert free.max() > 10.01


def test_where_no_parabola_fits_the_boundary_lies_between() -> None:
    # January at one bound and February at the other: the end of January by halves.
    means = np.array([2.0, 10.0] * 6)
    values = year_through(means, 2.0, 10.0).reshape(12, 30)
    assert values[:, 0] == pytest.approx(np.full(12, 6.0))


def test_a_year_moves_and_turns_with_its_months() -> None:
    means = np.random.default_rng(1).uniform(-20.0, 20.0, 12)
    values = year_through(means)
    assert year_through(means + 7.0) == pytest.approx(values + 7.0, abs=1e-9)
    assert year_through(np.roll(means, 1)) == pytest.approx(np.roll(values, 30), abs=1e-9)
    assert year_through(-means) == pytest.approx(-values, abs=1e-9)
