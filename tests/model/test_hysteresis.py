"""Hysteresis of sorption: what a layer remembers, seen on slabs so thin that they are one layer.

Half a millimetre settles within hours, so that steady air in steps shows the law itself, by the
same compiled steps that every slab takes.  `Loop` is the law written out once more, from the
sorption curves' formulas and not their tables.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq

from model.behaviour import transport
from model.properties import sorption
from model.properties.finishes import Face, Faces
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR

Floats = NDArray[np.float64]

OPEN = Faces(Face(0.0), Face(0.0))
SHUT = Faces(Face(1e12), Face(1e12))
THIN = transport.grid(0.0005, 5)
DAYS = 6.0  # of one air: 0.5 mm is then settled to a millionth
# The solver reads the curves from a table that is within 0.003 % M of them (held in
# `test_sorption`), which counts on both ends of a step.
TABLE = 0.005


def steady(humidity: float, temperature: float = 20.0) -> Air:
    return Air(np.zeros(1), np.array([temperature]), np.array([humidity]))


def wood(loop: Sequence[float] | None = (0.7,), factor: float = 1.0) -> transport.Wood:
    count = 1 if loop is None else len(loop)
    return transport.Wood(
        np.full(count, 1.8), 0.087, 0.60, 30.0, np.full(count, factor),
        None if loop is None else np.array(loop),
    )  # fmt: skip


def through(
    humidities: Sequence[float],
    moisture: float = 26.0,
    came: transport.Came = "drying",
    material: transport.Wood | None = None,
    temperature: float = 20.0,
) -> Floats:
    """What a thin slab holds after each of these airs, (airs, samples) [%]."""
    material = wood() if material is None else material
    state = transport.begin(moisture, material, THIN.depth.size, came)
    held = []
    for humidity in humidities:
        run = transport.run(
            material, THIN, state, steady(humidity, temperature), OPEN, 0.0, DAYS, days=[DAYS],
            tolerance=3e-4,
        )  # fmt: skip
        state = run.end
        held.append(run.mean[-1])
    return np.array(held)


class Loop:
    """The law: M = s m(h) + c, c held between a - s m and d - s m all the way from air to air."""

    def __init__(
        self,
        s: float,
        moisture: float = 20.0,
        came: Literal["drying", "wetting"] = "drying",
        temperature: float = 20.0,
    ) -> None:
        self.s, self.temperature = s, temperature
        self.c = 1e3 if came == "drying" else -1e3  # beyond the branch it came on
        self.humidity = float(sorption.humidity_of_moisture(temperature, moisture, came))

    def on(self, humidity: Floats | float) -> tuple[Floats, Floats, Floats]:
        """Mean, wetting and drying branch [%]."""
        found = sorption.branches(self.temperature, humidity)
        return found["mean"], found["wetting"], found["drying"]

    def at(self, humidity: float) -> float:
        """Moisture in this air, after all the airs before it [%]."""
        way = np.linspace(self.humidity, humidity, 2 + int(4.0 * abs(humidity - self.humidity)))
        mean, wetting, drying = self.on(way)
        for least, most in zip(wetting - self.s * mean, drying - self.s * mean, strict=True):
            self.c = float(min(max(self.c, least), most))
        self.humidity = humidity
        return float(self.s * mean[-1] + self.c)


humidities = st.lists(st.floats(15.0, 90.0), min_size=2, max_size=8)
slopes = st.sampled_from([0.5, 0.6, 0.7, 0.8, 0.9])
warmths = st.sampled_from([5.0, 20.0, 35.0])


@given(humidities, st.one_of(slopes, st.just(1.0)), warmths, st.booleans())
def test_every_history_is_that_of_the_law(
    airs: list[float], s: float, warmth: float, dried: bool
) -> None:
    moisture, came = (20.0, "drying") if dried else (1.5, "wetting")
    ours = through(airs, moisture, came, wood([s]), warmth)[:, 0]  # type: ignore[arg-type]
    law = Loop(s, moisture, came, warmth)  # type: ignore[arg-type]
    assert ours == pytest.approx([law.at(one) for one in airs], abs=2.0 * TABLE)


@given(humidities, slopes, st.sampled_from([0.85, 1.0, 1.1]))
def test_no_history_leaves_the_branches(airs: list[float], s: float, factor: float) -> None:
    for moisture, came in ((26.0, "drying"), (2.0, "wetting"), (10.0, "unknown")):
        held = through(airs, moisture, came, wood([s], factor))[:, 0]  # type: ignore[arg-type]
        low, high = (
            factor * sorption.branch_moisture(20.0, airs, name) for name in ("wetting", "drying")
        )
        assert np.all(held >= low - TABLE)
        assert np.all(held <= high + TABLE)


@given(st.lists(st.floats(15.0, 90.0), min_size=2, max_size=6, unique=True), slopes)
def test_histories_that_only_dry_or_only_wet_are_the_branches(airs: list[float], s: float) -> None:
    falling, rising = sorted(airs, reverse=True), sorted(airs)
    drying = through(falling, 27.0, "drying", wood([s]))[:, 0]
    assert drying == pytest.approx(sorption.branch_moisture(20.0, falling, "drying"), abs=TABLE)
    wetting = through(rising, 1.5, "wetting", wood([s]))[:, 0]
    branch = sorption.branch_moisture(20.0, rising, "wetting")
    if s < 0.86:
        assert wetting == pytest.approx(branch, abs=TABLE)
    else:
        # In dry air the wetting branch rises by 2 r/(1 + r) = 0.864 of the mean curve: a steeper
        # way within the loop leaves it there, and meets it again where the loop closes.
        assert np.all(wetting >= branch - TABLE)
        assert np.all(wetting <= branch + 0.12)


@pytest.mark.parametrize(
    ("humidity", "mean", "wetting", "drying"),
    # At 20 degC: Wood Handbook eq. 4-5 (memory) and the ratio of a Norway spruce (printed).
    [
        (30.0, 6.188, 5.454, 6.922),
        (50.0, 9.271, 8.337, 10.205),
        (60.0, 11.000, 10.004, 11.995),
        (80.0, 16.037, 15.050, 17.025),
    ],
)
def test_the_three_curves_are_reached(
    humidity: float, mean: float, wetting: float, drying: float
) -> None:
    # 0.003 of the table and half a printed digit.
    assert through([humidity])[0, 0] == pytest.approx(drying, abs=0.0035)
    assert through([humidity], 2.0, "wetting")[0, 0] == pytest.approx(wetting, abs=0.0035)
    assert through([humidity], material=wood(None))[0, 0] == pytest.approx(mean, abs=0.0035)


def test_one_turn_goes_along_the_flatter_curve() -> None:
    # Worked out by hand from the law with s 0.7: 1.12 x 6.927 at 35 %, then 0.7 of the mean's rise.
    assert through([35.0, 60.0])[:, 0] == pytest.approx([7.758, 10.584], abs=TABLE)
    assert through([80.0, 65.0], 2.0, "wetting")[:, 0] == pytest.approx([15.050, 12.221], abs=TABLE)


@pytest.mark.parametrize(
    ("low", "high", "settled"),
    [
        (25.0, 63.0, (6.04, 10.57)),
        (30.0, 60.0, (6.92, 10.29)),
        (44.0, 61.0, (9.22, 11.22)),
        (45.0, 75.0, (9.38, 13.55)),
    ],
)
def test_cycles_begun_from_the_drying_side_settle(
    low: float, high: float, settled: tuple[float, float]
) -> None:
    held = through([low, high] * 6)[:, 0]
    assert held[-2:] == pytest.approx(settled, abs=TABLE + 0.005)  # printed to 0.01
    # A closed loop from the first turn on: nothing creeps.
    assert held[2:] == pytest.approx(np.tile(held[-2:], 5), abs=1e-4)


@given(st.floats(35.0, 70.0), st.floats(1.0, 6.0), slopes)
def test_within_the_loop_every_way_is_taken_back_and_forth(
    middle: float, more: float, s: float
) -> None:
    # Begun half way between the branches, whatever brought it there.
    mean, wetting, drying = (float(one) for one in Loop(s).on(middle))
    rise = float(sorption.equilibrium_moisture(20.0, middle + more)) - mean
    assume((1.0 - s) * rise < 0.4 * (drying - wetting))  # or it would reach the wetting branch
    state = transport.begin(0.5 * (wetting + drying), wood([s]), THIN.depth.size, "unknown")
    found = []
    for humidity in (middle, middle + more, middle, middle + 0.5 * more, middle, middle + more):
        run = transport.run(
            wood([s]), THIN, state, steady(humidity), OPEN, 0.0, DAYS, days=[DAYS], tolerance=3e-4
        )
        state = run.end
        found.append(float(run.mean[-1, 0]))
    assert found[2:5:2] == pytest.approx([found[0]] * 2, abs=1e-5)
    assert found[5] == pytest.approx(found[1], abs=1e-5)
    assert found[1] - found[0] == pytest.approx(s * rise, abs=TABLE)


@given(humidities, st.floats(0.2, 5.0))
def test_how_fast_a_history_is_gone_through_does_not_matter(
    airs: list[float], slower: float
) -> None:
    # A logger's ramps from one air to the next within a day, or slower, each followed by a rest.
    def last(ramp: float) -> float:
        rest = ramp + np.arange(len(airs)) * (ramp + DAYS)
        knots = np.concatenate(([0.0], np.column_stack((rest, rest + DAYS)).ravel()))
        points = np.concatenate((airs[:1], np.repeat(airs, 2)))
        run = transport.run(
            wood(), THIN, 20.0, Air(knots, np.full(knots.size, 20.0), points), OPEN,
            0.0, float(knots[-1]), tolerance=3e-4, longest_step=0.05,
        )  # fmt: skip
        return float(run.mean[-1, 0])

    assert last(1.0) == pytest.approx(last(1.0 + slower), abs=3e-3)
    assert last(1.0) == pytest.approx(through(airs, 20.0)[-1, 0], abs=3e-3)


def test_a_hundred_years_of_the_same_cycle_do_not_drift() -> None:
    held = through([30.0, 60.0] * 100, material=wood([0.5, 0.7, 0.9]))
    assert held[-2:] == pytest.approx(held[2:4], abs=1e-5)
    # A slab of 20 mm through the same year a hundred times over, in tens of years.
    angle = np.linspace(0.0, YEAR, 730, endpoint=False)
    year = Air(angle, np.full(730, 20.0), 45.0 - 15.0 * np.cos(2.0 * np.pi * angle / YEAR), YEAR)
    material, mesh = wood([0.5, 0.7, 0.9]), transport.grid(0.02)
    state = transport.begin(12.0, material, mesh.depth.size)
    ends = []
    for begin in range(0, 100, 10):
        run = transport.run(
            material, mesh, state, year, OPEN, begin * YEAR, (begin + 10) * YEAR,
            days=(begin + 9 + np.linspace(0.0, 1.0, 25)) * YEAR,
            first_step=0.01 if begin == 0 else 1.0,
        )  # fmt: skip
        state = run.end
        ends.append(run.mean)
    assert np.ptp(run.mean, axis=0).min() > 2.0
    assert ends[-1] == pytest.approx(ends[0], abs=0.02)
    assert ends[-1].mean(axis=0) == pytest.approx(ends[0].mean(axis=0), abs=0.005)


def drives(moisture: float, temperature: float) -> tuple[float, float]:
    """What the mean curve holds where the drying and the wetting branch hold this [%]."""
    found = []
    for branch in ("drying", "wetting"):
        humidity = float(sorption.humidity_of_moisture(temperature, moisture, branch))
        found.append(float(sorption.equilibrium_moisture(temperature, humidity)))
    return found[0], found[1]


@given(
    st.floats(25.0, 70.0), st.floats(-15.0, 15.0), slopes, st.floats(-5.0, 45.0),
)  # fmt: skip
def test_when_only_the_temperature_changes_what_it_remembers_stays_or_is_brought_to_the_branch(
    humidity: float, turn: float, s: float, temperature: float
) -> None:
    material = wood([s])
    state = transport.begin(26.0, material, THIN.depth.size)
    for air in (humidity, humidity + turn):
        run = transport.run(material, THIN, state, steady(air), OPEN, 0.0, DAYS, tolerance=3e-3)
        state = run.end
    # Sealed and warmed or cooled: it holds what it held.
    run = transport.run(material, THIN, state, steady(50.0, temperature), SHUT, 0.0, DAYS)
    moisture, before = float(run.end.moisture[0, 2]), float(state.memory[0, 2])
    assert run.mean[-1] == pytest.approx(run.mean[0], abs=1e-8)
    # But for what was not quite even through its thickness yet.
    assert run.end.moisture == pytest.approx(state.moisture, abs=2.0 * TABLE)
    least, most = drives(moisture, temperature)
    expected = moisture - s * min(max((moisture - before) / s, least), most)
    assert float(run.end.memory[0, 2]) == pytest.approx(expected, abs=2.0 * TABLE)
    if least + 0.05 < (moisture - before) / s < most - 0.05:
        assert float(run.end.memory[0, 2]) == pytest.approx(before, abs=1e-9)


def test_branches_alike_are_the_mean_curve(monkeypatch: pytest.MonkeyPatch) -> None:
    year = np.linspace(0.0, YEAR, 730, endpoint=False)
    wave = np.cos(2.0 * np.pi * year / YEAR)
    air = Air(year, 15.0 - 5.0 * wave, 55.0 + 15.0 * wave, YEAR)
    days = np.linspace(0.0, YEAR, 50)

    def course(loop: float | None) -> Floats:
        material = wood(None if loop is None else [loop])
        run = transport.run(
            material, transport.grid(0.04), 14.0, air, Faces(Face(0.0), Face(1.7)), 0.0, YEAR,
            days=days, tolerance=3e-3, longest_step=2.0,
        )  # fmt: skip
        return run.moisture[:, 0]

    apart = course(0.7)
    monkeypatch.setattr(sorption, "_RATIO", np.ones_like(sorption._RATIO))
    sorption.tabulated.cache_clear()
    transport._curves.cache_clear()
    try:
        mean = course(None)
        assert course(1.0) == pytest.approx(mean, abs=2e-3)
        assert course(0.7) == pytest.approx(mean, abs=2e-3)
    finally:
        monkeypatch.undo()
        sorption.tabulated.cache_clear()
        transport._curves.cache_clear()
    assert np.abs(apart - mean).max() > 0.3
    # With the branches as they are a slope of 1 runs beside the mean curve, not on it.
    low, high = through([30.0, 60.0], material=wood([1.0]))[:, 0]
    assert high - low == pytest.approx(11.000 - 6.188, abs=TABLE)
    assert low > 6.188 + 0.2


@pytest.mark.parametrize("came", ["drying", "wetting", "unknown"])
def test_wood_begins_where_the_way_it_came_puts_it(came: transport.Came) -> None:
    # In the air over it nothing moves: that of the branch it came on, or of the mean curve.
    branch: sorption.Branch = "mean" if came == "unknown" else came
    humidity = float(sorption.humidity_of_moisture(20.0, 9.0, branch))
    assert through([humidity], 9.0, came)[0, 0] == pytest.approx(9.0, abs=TABLE)


def test_without_a_word_wood_has_dried_to_its_moisture() -> None:
    held = [
        transport.run(wood(), THIN, begun, steady(60.0), OPEN, 0.0, DAYS).mean[-1, 0]
        for begun in (8.0, transport.begin(8.0, wood(), THIN.depth.size, "drying"))
    ]
    assert held[0] == held[1]


def test_wood_above_saturation_remembers_nothing_of_before_it() -> None:
    # Wetted through from either side and dried again it is on the drying branch.
    for moisture, came in ((5.0, "wetting"), (5.0, "drying"), (5.0, "unknown")):
        state = transport.begin(moisture, wood(), THIN.depth.size, came)  # type: ignore[arg-type]
        wet = Faces(Face(0.0, wet=True), Face(0.0, wet=True))
        soaked = transport.run(wood(), THIN, state, steady(50.0), wet, 0.0, DAYS)
        assert soaked.end.moisture.min() > 29.5
        run = transport.run(wood(), THIN, soaked.end, steady(50.0), OPEN, 0.0, DAYS)
        assert run.mean[-1, 0] == pytest.approx(10.205, abs=TABLE)


def test_the_law_written_here_inverts_as_it_goes() -> None:
    # The law by h, above, and by M, as the solver has it, are one: found again by a root.
    law = Loop(0.7)
    for humidity in (40.0, 70.0, 30.0, 55.0, 50.0):
        held, c = law.at(humidity), law.c
        least, most = drives(held, 20.0)
        drive = min(max((held - c) / 0.7, least), most)
        found = brentq(
            lambda h, drive=drive: float(sorption.equilibrium_moisture(20.0, h)) - drive, 1.0, 97.0
        )
        assert found == pytest.approx(humidity, abs=1e-6)


@pytest.mark.parametrize("loop", [0.5, 0.7, 0.9])
def test_a_loop_makes_a_cycle_smaller_never_larger(loop: float) -> None:
    airs = [30.0, 60.0] * 3
    held, mean = through(airs, material=wood([loop])), through(airs, material=wood(None))
    for low, high in pairwise(range(2, 6)):
        assert abs(held[high, 0] - held[low, 0]) < abs(mean[high, 0] - mean[low, 0])
