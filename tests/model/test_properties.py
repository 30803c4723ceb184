"""What must hold of moisture in a slab whatever its figures, looked for by hypothesis.

Slabs of 10 to 80 mm, woods from balsa to ebony, bare, oiled, varnished or sealed on either face,
in rooms and outdoors, from bone-dry to wet.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from model.behaviour import shape, shrinkage, transport
from model.properties.finishes import Face, Faces
from model.properties.sorption import equilibrium_moisture
from model.surroundings.calendar import YEAR

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Weather:
    """A year's swing about a mean, coldest on day 0 and dampest on `dampest`."""

    temperature: float
    warmer: float
    humidity: float
    damper: float
    dampest: float

    def at(self, day: float) -> tuple[float, float]:
        turn = 2.0 * math.pi / YEAR
        humidity = self.humidity + self.damper * math.cos(turn * (day - self.dampest))
        return (
            self.temperature - self.warmer * math.cos(turn * day),
            min(max(humidity, 5.0), 95.0),
        )


@dataclass(frozen=True)
class Case:
    """A slab, its faces, the air and the moisture it starts with."""

    thickness: float
    factor: float
    slope: float
    gravity: float
    moisture: float
    top: float
    bottom: float
    weather: Weather

    def run(
        self,
        days: float = 120.0,
        start: float = 0.0,
        moisture: Floats | float | None = None,
        humidity_offset: Floats | float = 0.0,
        **options: float,
    ) -> transport.Run:
        offsets = np.atleast_1d(np.asarray(humidity_offset, dtype=np.float64))
        wood = transport.Wood(
            np.full(offsets.size, self.factor), self.slope, self.gravity, 30.0,
            np.ones(offsets.size),
        )  # fmt: skip
        return transport.run(
            wood,
            transport.grid(self.thickness),
            self.moisture if moisture is None else moisture,
            self.weather,
            Faces(Face(self.top), Face(self.bottom)),
            start,
            start + days,
            humidity_offset=offsets,
            **options,  # type: ignore[arg-type]
        )


weathers = st.builds(
    Weather,
    temperature=st.floats(5.0, 25.0),
    warmer=st.floats(0.0, 12.0),
    humidity=st.floats(25.0, 80.0),
    damper=st.floats(0.0, 20.0),
    dampest=st.floats(0.0, YEAR),
)
resistances = st.sampled_from([0.0, 0.1, 0.7, 1.7, 30.0])
cases = st.builds(
    Case,
    thickness=st.floats(0.010, 0.080),
    factor=st.floats(0.7, 4.0),
    slope=st.sampled_from([0.0, 0.03, 0.087, 0.13]),
    gravity=st.floats(0.16, 1.0),
    moisture=st.floats(4.0, 22.0),
    top=resistances,
    bottom=resistances,
    weather=weathers,
)
green = st.builds(
    Case,
    thickness=st.floats(0.010, 0.080),
    factor=st.floats(0.7, 4.0),
    slope=st.sampled_from([0.0, 0.03, 0.087]),
    gravity=st.floats(0.3, 0.8),
    moisture=st.floats(30.0, 90.0),
    top=resistances,
    bottom=resistances,
    weather=weathers,
)

# The solver's error target on the mean of a course [% M]; comparisons of two courses get twice it.
TARGET = 0.02


@given(cases)
def test_water_is_never_made_nor_lost(case: Case) -> None:
    run = case.run()
    came = run.gained_top + run.gained_bottom
    assert run.mean - run.mean[0] == pytest.approx(came, abs=1e-10)


@given(green)
def test_water_is_never_made_nor_lost_in_green_wood(case: Case) -> None:
    run = case.run(days=60.0)
    came = run.gained_top + run.gained_bottom
    assert run.mean - run.mean[0] == pytest.approx(came, abs=1e-10)


@given(cases, st.floats(0.5, 10.0))
def test_damper_air_never_dries(case: Case, damper: float) -> None:
    run = case.run(humidity_offset=np.array([0.0, damper]))
    # Both take the same steps, so their errors are alike: a twentieth of the target.
    assert np.all(run.mean[:, 1] >= run.mean[:, 0] - 0.05 * TARGET)


@given(cases, st.floats(1.1, 3.0))
def test_a_thicker_slab_is_never_quicker(case: Case, times: float) -> None:
    # In steady air both go the same way; what is left of the way is compared on the same days.
    steady = replace(case.weather, warmer=0.0, damper=0.0)
    thin = replace(case, weather=steady)
    days = list(np.linspace(10.0, 120.0, 8))
    means = []
    for slab in (thin, replace(thin, thickness=times * case.thickness)):
        run = slab.run(stops=days[:-1])  # type: ignore[arg-type]
        means.append(run.mean[np.searchsorted(run.days, days), 0])
    gone_thin, gone_thick = (np.abs(mean - case.moisture) for mean in means)
    assert np.all(gone_thick <= gone_thin + 2.0 * TARGET)


@given(cases)
def test_equal_faces_keep_a_slab_symmetric_and_flat(case: Case) -> None:
    run = replace(case, bottom=case.top).run()
    # Rounding of a tridiagonal solve, which runs from one face to the other.
    assert run.moisture == pytest.approx(run.moisture[..., ::-1], abs=1e-9)
    strain = shrinkage.strain(9.5, 30.0, case.moisture, run.moisture)
    bend = shape.gradient_curvature(strain, run.grid.depth, case.thickness)
    assert np.abs(bend).max() * case.thickness < 1e-10  # no cup from the gradient


@given(cases)
def test_a_slab_turned_over_is_the_same_slab(case: Case) -> None:
    run = case.run()
    turned = replace(case, top=case.bottom, bottom=case.top).run()
    # A slope of 0 is run as 1e-9, which tells the potential to 1e-7 % M only.
    assert turned.days == pytest.approx(run.days, abs=1e-2)
    assert turned.moisture[..., ::-1] == pytest.approx(run.moisture, abs=1e-4)


@given(cases, st.lists(st.floats(-10.0, 10.0), min_size=2, max_size=5))
def test_a_batch_gives_what_each_alone_gives(case: Case, offsets: list[float]) -> None:
    together = case.run(humidity_offset=np.array(offsets))
    for place, offset in enumerate(offsets):
        alone = case.run(humidity_offset=offset)
        # A batch takes the steps that its quickest sample needs: equal to the error target.
        assert together.mean[-1, place] == pytest.approx(alone.mean[-1, 0], abs=2.0 * TARGET)


@given(cases)
def test_alike_samples_of_a_batch_are_alike_to_the_last_digit(case: Case) -> None:
    run = case.run(humidity_offset=np.array([1.0, -3.0, 1.0]))
    assert np.array_equal(run.moisture[:, 0], run.moisture[:, 2])


@given(cases, st.floats(0.1, 0.9))
def test_a_course_cut_in_two_gives_the_same_answer(case: Case, share: float) -> None:
    whole = case.run()
    first = case.run(days=120.0 * share)
    second = case.run(days=120.0 * (1.0 - share), start=120.0 * share, moisture=first.moisture[-1])
    assert second.mean[-1, 0] == pytest.approx(whole.mean[-1, 0], abs=2.0 * TARGET)


@given(cases)
def test_the_usual_tolerance_keeps_the_error_target(case: Case) -> None:
    days = [1.0, 3.0, 10.0, 30.0, 60.0, 120.0]
    usual = case.run(stops=days[:-1])  # type: ignore[arg-type]
    strict = case.run(stops=days[:-1], tolerance=1e-3, longest_step=2.0)  # type: ignore[arg-type]
    ours, exact = (run.mean[np.searchsorted(run.days, days), 0] for run in (usual, strict))
    assert ours == pytest.approx(exact, abs=TARGET)


@given(cases)
def test_moisture_stays_between_what_it_was_and_what_the_air_holds(case: Case) -> None:
    run = case.run()
    days = np.linspace(0.0, 120.0, 121)
    air = np.array([case.weather.at(float(day)) for day in days])
    held = equilibrium_moisture(air[:, 0], air[:, 1])
    # Within a step a second-order scheme may overshoot by its local error.
    margin = 10.0 * TARGET
    assert run.moisture.min() >= min(case.moisture, held.min()) - margin
    assert run.moisture.max() <= max(case.moisture, held.max()) + margin


@given(cases, st.floats(1.1, 5.0))
def test_a_finish_only_slows(case: Case, times: float) -> None:
    # In steady air: more resistance on both faces never brings the slab further on its way.
    steady = replace(
        case, weather=replace(case.weather, warmer=0.0, damper=0.0), top=0.3, bottom=0.3
    )
    tighter = replace(steady, top=0.3 * times, bottom=0.3 * times)
    open_way, closed_way = (abs(one.run().mean[-1, 0] - case.moisture) for one in (steady, tighter))
    assert closed_way <= open_way + 2.0 * TARGET
