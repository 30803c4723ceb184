"""The limit on the computing of one question."""

from __future__ import annotations

import time

import numpy as np
import pytest

from model import effort
from model.behaviour import transport
from model.properties.finishes import Face, Faces
from model.surroundings.air_series import Air


def compute(seconds: float) -> None:
    """Keep the processor busy, looking at the limit as the solver does."""
    end = time.thread_time() + seconds
    while time.thread_time() < end:
        effort.check()


def test_without_a_limit_nothing_is_refused() -> None:
    compute(0.02)


def test_a_limit_ends_what_takes_longer_and_nothing_shorter() -> None:
    with effort.within(0.2):
        compute(0.02)
    with pytest.raises(effort.TooBig, match=r"more than 0\.02 seconds"), effort.within(0.02):
        compute(0.3)
    compute(0.02)  # the limit went with its block


def test_an_inner_limit_does_not_lengthen_the_outer_one() -> None:
    with pytest.raises(effort.TooBig), effort.within(0.02), effort.within(60.0):
        compute(0.3)
    with effort.within(60.0):
        with pytest.raises(effort.TooBig), effort.within(0.02):
            compute(0.3)
        compute(0.02)


def test_waiting_costs_nothing() -> None:
    with effort.within(0.05):
        time.sleep(0.1)
        effort.check()


def test_a_course_ends_at_the_limit_of_time_or_of_what_is_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wood = transport.Wood(np.full(1, 1.8), 0.087, 0.60, 30.0, np.ones(1))
    air = Air(np.zeros(1), np.full(1, 20.0), np.full(1, 40.0), None)
    bare = Faces(Face(0.0), Face(0.0))

    mesh = transport.grid(0.05)
    days = np.linspace(0.0, 365.0, 100)

    def follow(layers: int | None = None) -> transport.Run:
        return transport.run(wood, mesh, 12.0, air, bare, 0.0, 365.0, days=days, layers=layers)

    steps = int(follow().steps[0])
    with pytest.raises(effort.TooBig, match="computing"), effort.within(0.0):
        follow()
    # Of each of the 100 days: the layers, the mean and what came through both faces.
    told = 100 * (transport.NODES + 3)
    monkeypatch.setattr(transport, "MOST_FIGURES", told)
    follow()
    monkeypatch.setattr(transport, "MOST_FIGURES", told - 1)
    with pytest.raises(effort.TooBig, match=f"{told:,} figures of one course"):
        follow()
    follow(layers=0)  # nothing is kept of layers that are not told
    monkeypatch.setattr(transport, "MOST_STEPS", steps)
    follow(layers=0)
    monkeypatch.setattr(transport, "MOST_STEPS", steps - 1)
    with pytest.raises(effort.TooBig, match=f"does not end within {steps - 1} steps"):
        follow(layers=0)


def test_a_course_of_many_samples_looks_at_the_limit_between_them(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    samples = 40
    wood = transport.Wood(np.full(samples, 1.8), 0.087, 0.60, 30.0, np.linspace(0.9, 1.1, samples))
    air = Air(np.zeros(1), np.full(1, 20.0), np.full(1, 40.0), None)
    bare = Faces(Face(0.0), Face(0.0))
    looks = []
    monkeypatch.setattr(effort, "check", lambda: looks.append(1))

    def follow() -> transport.Run:
        return transport.run(wood, transport.grid(0.05), 12.0, air, bare, 0.0, 365.0)

    whole = follow()
    assert len(looks) == 1
    monkeypatch.setattr(transport, "BETWEEN_CHECKS", 1)
    piecewise = follow()
    assert len(looks) == 1 + samples
    # Looked at or not: the same figures to the last digit.
    assert np.array_equal(piecewise.moisture, whole.moisture)
    assert np.array_equal(piecewise.end.moisture, whole.end.moisture)


class Clocks:
    """Both clocks, turned by hand."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now = 100.0
        self.looks = 0
        monkeypatch.setattr(time, "monotonic", lambda: self.now)
        monkeypatch.setattr(time, "thread_time", self.thread)

    def thread(self) -> float:
        self.looks += 1
        return self.now


def test_the_slow_clock_is_looked_at_a_hundred_times_a_second(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clocks = Clocks(monkeypatch)
    with effort.within(5.0):
        begun = clocks.looks
        for _ in range(1000):
            effort.check()
            clocks.now += 0.001
        assert 90 <= clocks.looks - begun <= 101


def test_a_watch_is_called_ten_times_a_second_and_an_outer_one_stays(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clocks = Clocks(monkeypatch)
    calls: list[float] = []
    with effort.within(50.0, lambda: calls.append(clocks.now)), effort.within(5.0):
        for _ in range(2000):
            effort.check()
            clocks.now += 0.001
    assert calls[0] == 100.0
    assert 18 <= len(calls) <= 20
    inner: list[float] = []
    with (
        effort.within(50.0, lambda: calls.append(0.0)),
        effort.within(5.0, lambda: inner.append(0.0)),
    ):
        effort.check()
    assert inner == [0.0]
    assert 0.0 not in calls
    with effort.within(50.0):
        effort.check()  # none to call


def test_a_limit_is_passed_when_more_than_its_time_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    clocks = Clocks(monkeypatch)
    with effort.within(2.0):
        clocks.now += 2.0
        effort.check()
        clocks.now += 0.02
        with pytest.raises(effort.TooBig, match="more than 2 seconds"):
            effort.check()
    with effort.within(1.0), effort.within(9.0):
        clocks.now += 1.02
        with pytest.raises(effort.TooBig, match="more than 1 seconds"):
            effort.check()
    effort.check()


def test_searches_are_counted_only_where_they_are_allowed() -> None:
    assert [effort.may_search() for _ in range(3)] == [True] * 3
    effort.allow_searches(2)
    assert [effort.may_search() for _ in range(4)] == [True, True, False, False]
    effort.allow_searches(0)
    assert not effort.may_search()
    effort.allow_searches(None)
    assert effort.may_search()
