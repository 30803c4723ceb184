"""Rooms of given air and of logs: figures of each by hand, limits met and passed."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from model.codes import Note
from model.properties import air, sorption
from model.surroundings import house, room
from model.surroundings.calendar import day_of
from model.surroundings.climate import outdoor_from_months
from model.surroundings.room import Room

BEGUN = datetime.datetime(2026, 3, 2, 6, 0)
LOG = room.from_log(BEGUN, [5.0, 25.0], [20.0, 20.0], [40.0, 60.0])


def told(made: Room, code: str) -> dict[str, Any] | None:
    """Figures of a note; None when it is not there."""
    found = [note.figures for note in made.notes if note.code == code]
    return found[0] if found else None


def test_humidity_is_kept_within_1_and_95_percent_and_what_was_cut_is_told() -> None:
    made = room.from_months([20.0] * 12, [0.5, 0.9, 1.0, 95.0, 95.1, 97.0, 98.0] + [50.0] * 5)
    assert made.relative_humidity[:7].tolist() == [1.0, 1.0, 1.0, 95.0, 95.0, 95.0, 95.0]
    assert told(made, "humidity-cut-high") == {
        "count": 3, "all": 12, "what": "months", "limit": 95.0, "most": 98.0,
    }  # fmt: skip
    assert told(made, "humidity-cut-low") == {
        "count": 2, "all": 12, "what": "months", "limit": 1.0,
    }  # fmt: skip
    fine = room.from_months([20.0] * 12, [1.0, 95.0] + [50.0] * 10)
    assert told(fine, "humidity-cut-high") is told(fine, "humidity-cut-low") is None


def test_each_figure_of_air_has_its_limits() -> None:
    low, high = air.VALID_TEMPERATURE
    for temperature, humidity in ((low, 0.0), (high, 100.0), (20.0, 50.0)):
        assert room.constant(temperature, humidity).temperature.tolist() == [temperature] * 12
    for temperature, humidity, fault in (
        (low - 0.1, 50.0, f"temperature must lie within {low:g} to {high:g}"),
        (high + 0.1, 50.0, f"temperature must lie within {low:g} to {high:g}"),
        (20.0, -0.1, "relative humidity must lie within 0 to 100"),
        (20.0, 100.1, "relative humidity must lie within 0 to 100"),
        (float("nan"), 50.0, "finite"),
        (20.0, float("nan"), "finite"),
    ):
        with pytest.raises(ValueError, match=fault):
            room.constant(temperature, humidity)
    for warm, damp in ((11, 12), (12, 11)):
        with pytest.raises(ValueError, match="twelve temperatures and twelve"):
            room.from_months([20.0] * warm, [50.0] * damp)


def test_wood_beyond_the_temperatures_of_its_curve_is_told() -> None:
    low, high = sorption.VALID_TEMPERATURE
    assert told(room.constant(low, 50.0), "sorption-extrapolated") is None
    assert told(room.constant(high, 50.0), "sorption-extrapolated") is None
    cold = room.from_months([low - 0.1] + [high] * 11, [50.0] * 12)
    assert told(cold, "sorption-extrapolated") == {"lowest": low - 0.1, "highest": high}
    assert told(room.constant(high + 0.1, 50.0), "sorption-extrapolated") is not None


def test_a_room_of_steady_air_or_months_is_given() -> None:
    steady, months = room.constant(20.0, 50.0), room.from_months([20.0] * 12, [50.0] * 12)
    for made in (steady, months):
        assert made.months == tuple(range(1, 13))
        assert (made.method, made.kind, made.humidity_spread) == ("given", "room", 3.0)
        assert (made.place, made.outdoor, made.share, made.starts) == (None, None, None, None)
        assert made.spread_of_months.tolist() == [3.0] * 12
        assert not made.is_log
        with pytest.raises(ValueError, match="only a log has days"):
            made.log_day(BEGUN.date())
        with pytest.raises(ValueError, match="last fortnight"):
            _ = made.lately
        assert not made.begins_after(datetime.date(1900, 1, 1))
    assert (steady.has_seasons, months.has_seasons) == (False, True)
    assert steady.formulas == ("room-spread",)
    assert months.formulas == ("room-year", "room-spread")


def test_months_that_no_year_can_run_through_are_told_by_how_much_they_moved() -> None:
    # From one bound to the other in a month: no parabola keeps the mean within them.
    made = room.from_months([20.0] * 12, [1.0, 95.0] * 6)
    moved = (told(made, "month-mean-cut") or {})["by"]
    closed = np.append(made.air.relative_humidity, made.air.relative_humidity[0])
    means = made.air.relative_humidity.reshape(12, 30).mean(axis=1)
    assert moved > 0.5
    assert np.abs(means - made.relative_humidity).max() == pytest.approx(moved, rel=0.2)
    assert closed.max() == 98.0
    assert closed.min() == 1.0


def test_the_months_of_a_room_with_those_outdoors() -> None:
    outdoors = outdoor_from_months(
        [float(one) for one in range(12)], [60.0 + one for one in range(12)]
    )
    made = house.from_climate(outdoors, heat_to=20.0)
    fifth = made.by_month[4]
    assert (fifth.month, fifth.temperature) == (5, 20.0)
    assert fifth.equilibrium_moisture == pytest.approx(float(made.equilibrium[4]))
    assert fifth.outdoor == room.OutdoorMonth(4.0, 64.0, float(outdoors.vapour_pressure[4]))
    assert room.constant(20.0, 50.0).by_month[4].outdoor is None
    assert made.formulas[:3] == (
        "climate-vapour-from-means",
        "saturation-pressure",
        "room-temperature",
    )
    named = replace(made, outdoor=replace(outdoors, name="here"), notes=(Note("stations"),))
    assert named.place == "here"
    assert named.formulas[0] == "climate-nearest"
    assert "climate-vapour-from-means" not in named.formulas
    assert replace(made, strays=None).spread_of_months == pytest.approx(np.asarray(made.between))


def test_days_of_a_log_begin_where_it_was_kept() -> None:
    # The day of the first line began 6 hours before it, the next one 18 after.
    assert LOG.log_day(BEGUN.date()) == -0.25
    assert LOG.log_day(datetime.date(2026, 3, 3)) == 0.75
    assert LOG.log_day(datetime.date(2026, 3, 22)) == 19.75
    zoned = room.from_log(BEGUN.replace(tzinfo=datetime.UTC), [0, 1], [20, 20], [40, 50])
    assert zoned.log_day(BEGUN.date()) == -0.25
    assert room.from_log(BEGUN.date(), [0, 1], [20, 20], [40, 50]).log_day(BEGUN.date()) == 0.0


def test_a_log_begins_after_a_date_a_day_and_more_before_it() -> None:
    for hour, after in ((0, False), (1, True)):
        begun = datetime.datetime(2026, 3, 2, hour)
        log = room.from_log(begun, [0.0, 9.0], [20.0, 20.0], [40.0, 60.0])
        assert log.begins_after(datetime.date(2026, 3, 1)) is after
        assert not log.begins_after(datetime.date(2026, 3, 2))


def test_a_log_counts_from_its_first_reading() -> None:
    assert LOG.air.days.tolist() == [0.0, 20.0]
    assert LOG.is_log
    assert (LOG.method, LOG.humidity_spread, LOG.starts) == ("logged", 3.0, BEGUN)
    assert told(LOG, "log-ends") == {"days": 20.0}
    assert told(LOG, "log-gap") == {"days": 20.0}
    noted = room.from_log(BEGUN, [0.0, 2.0], [20.0, 20.0], [40.0, 60.0], (Note("x"),))
    assert [note.code for note in noted.notes] == ["x", "log-ends"]  # a weekend is no gap
    gap = room.from_log(BEGUN, [0.0, 2.01, 3.0], [20.0] * 3, [40.0] * 3)
    assert (told(gap, "log-gap"), told(gap, "log-ends")) == ({"days": 2.01}, {"days": 3.0})
    assert LOG.has_seasons is False
    assert LOG.formulas == ("room-spread",)


def test_lately_is_the_mean_of_a_fortnight_or_of_the_whole_log() -> None:
    # Straight from 40 to 60 % over 20 days: the last 14 from 46 on, 53 in the mean.
    assert LOG.lately.at(0.0) == pytest.approx((20.0, 53.0))
    brief = room.from_log(BEGUN, [0.0, 10.0], [20.0, 24.0], [40.0, 60.0])
    assert brief.lately.at(1e4) == pytest.approx((22.0, 50.0))


def test_a_log_carried_on_keeps_its_hours_and_ends_in_lately() -> None:
    date = datetime.date(2026, 3, 2)
    carried, day = LOG.carried_on(date, 30.0), day_of(date)
    assert carried.period is None
    assert carried.at(day - 1.0) == (20.0, 40.0)  # a day of grace before
    assert carried.at(day + 0.25) == (20.0, 40.0)
    assert carried.at(day + 10.25) == pytest.approx((20.0, 50.0))
    assert carried.at(day + 20.25) == pytest.approx((20.0, 60.0))
    # Half a day over to the mean of its last fortnight, which goes on for the days asked.
    assert carried.at(day + 20.5) == pytest.approx((20.0, 56.5))
    for later in (20.75, 35.0, 50.25):
        assert carried.at(day + later) == pytest.approx((20.0, 53.0))
    with pytest.raises(ValueError, match="says nothing"):
        carried.at(day + 50.3)
    with pytest.raises(ValueError, match="says nothing"):
        carried.at(day - 1.1)
    # A log begun long before the date: a day before its own first line.
    late = datetime.date(2026, 3, 12)
    before = LOG.carried_on(late, 1.0)
    assert before.days[0] == pytest.approx(day_of(late) - 9.75 - 1.0)


def test_the_months_of_a_log_by_their_share() -> None:
    # 20 of 20 days in March; a log of 60 from 2 March has 29.75, 30 and a quarter of May.
    assert LOG.months == (3,)
    assert LOG.share == pytest.approx([1.0])
    long = room.from_log(BEGUN, [0.0, 60.0], [10.0, 22.0], [40.0, 52.0])
    assert long.months == (3, 4, 5)
    assert long.share == pytest.approx([29.75 / 60.0, 30.0 / 60.0, 0.25 / 60.0], abs=1e-4)
    # Straight: 0.2 a day; the mean of each month stands in its middle.
    assert long.relative_humidity == pytest.approx([42.975, 48.95, 51.975], abs=0.01)
    assert long.temperature == pytest.approx([12.975, 18.95, 21.975], abs=0.01)
    # A quarter of an hour has 200 points; ten years have 40,000.
    brief = room.from_log(
        datetime.datetime(2026, 3, 31, 23, 55), [0.0, 1.0 / 96.0], [20, 20], [40, 49]
    )
    assert brief.months == (3, 4)
    assert brief.share == pytest.approx([1.0 / 3.0, 2.0 / 3.0], abs=0.01)
    assert brief.relative_humidity == pytest.approx([41.5, 46.0], abs=0.1)
    decade = room.from_log(datetime.date(2014, 7, 1), [0.0, 3652.0], [20, 20], [40, 40])
    assert decade.months == tuple(range(1, 13))
    assert decade.share == pytest.approx(np.full(12, 1.0 / 12.0), abs=0.01)


def test_a_log_of_unlike_lists_is_refused() -> None:
    for days, warm, damp in (([0.0], [20.0], [40.0]), ([0.0, 1.0], [20.0] * 3, [40.0] * 2)):
        with pytest.raises(ValueError, match="at least two readings"):
            room.from_log(BEGUN, days, warm, damp)
    with pytest.raises(ValueError, match="at least two readings"):
        room.from_log(BEGUN, [[0.0, 1.0]], [[20.0, 20.0]], [[40.0, 40.0]])
