"""What must hold for any slab: properties of transport and shape, by hypothesis."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from model import finishes, room, shape, spread, transport

BARE = finishes.Faces(finishes.face(), finishes.face())
thicknesses = st.floats(0.006, 0.1)
moistures = st.floats(4.0, 24.0)
humidities = st.floats(15.0, 85.0)
slopes = st.floats(0.0, 0.13)
FEW = settings(max_examples=25, deadline=None)


def wood(slope: float = 0.03, gravity: float = 0.6, samples: int = 1) -> transport.Wood:
    return transport.Wood(np.full(samples, 1.6), slope, gravity, 30.0, np.ones(samples))


def mean_after(
    thickness: float, moisture: float, humidity: float, days: float, faces: finishes.Faces = BARE,
    slope: float = 0.03,
) -> float:  # fmt: skip
    air = room.constant(20.0, humidity).air
    mesh = transport.grid(thickness)
    return float(transport.run(wood(slope), mesh, moisture, air, faces, 0.0, days).mean[-1, 0])


@FEW
@given(thicknesses, moistures, humidities, st.floats(1.0, 14.0), st.floats(1.0, 200.0))
def test_more_humidity_never_dries(
    thickness: float, moisture: float, humidity: float, more: float, days: float
) -> None:
    damp = mean_after(thickness, moisture, humidity + more, days)
    # Two runs take different steps: 0.02 % M is the error target of each.
    assert damp >= mean_after(thickness, moisture, humidity, days) - 0.02


@FEW
@given(thicknesses, moistures, humidities, st.floats(1.05, 2.0), st.floats(1.0, 200.0), slopes)
def test_thicker_is_never_faster(
    thickness: float, moisture: float, humidity: float, ratio: float, days: float, slope: float
) -> None:
    thin = mean_after(thickness, moisture, humidity, days, slope=slope)
    thick = mean_after(thickness * ratio, moisture, humidity, days, slope=slope)
    assert abs(thick - moisture) <= abs(thin - moisture) + 0.04  # two error targets


@FEW
@given(thicknesses, moistures, humidities, st.floats(1.0, 200.0), slopes)
def test_equal_faces_stay_symmetric_and_never_cup_by_gradient(
    thickness: float, moisture: float, humidity: float, days: float, slope: float
) -> None:
    mesh = transport.grid(thickness)
    air = room.constant(20.0, humidity).air
    run = transport.run(wood(slope), mesh, moisture, air, BARE, 0.0, days)
    # Both halves see the same arithmetic but for its order: rounding alone is left.
    assert np.abs(run.moisture - run.moisture[..., ::-1]).max() < 1e-9
    strain = shape.strain(9.5, 30.0, moisture, run.moisture)
    bend = shape.gradient_curvature(strain, mesh.depth, thickness)
    assert np.abs(bend).max() * thickness < 1e-10


@FEW
@given(moistures, humidities, st.floats(10.0, 150.0), st.floats(0.1, 0.9), st.floats(0.0, 3.0))
def test_a_longer_course_cut_in_two_gives_the_same_answer(
    moisture: float, humidity: float, days: float, share: float, sd: float
) -> None:
    mesh = transport.grid(0.04)
    air = room.constant(18.0, humidity).air
    faces = finishes.Faces(finishes.Face(sd), finishes.face())
    whole = transport.run(wood(), mesh, moisture, air, faces, 0.0, days)
    first = transport.run(wood(), mesh, moisture, air, faces, 0.0, share * days)
    second = transport.run(wood(), mesh, first.moisture[-1], air, faces, share * days, days)
    # The second part starts with small steps again: one error target apart at most.
    assert abs(whole.mean[-1, 0] - second.mean[-1, 0]) <= 0.02


@FEW
@given(moistures, humidities, st.floats(5.0, 100.0))
def test_the_mean_never_leaves_the_range_between_start_and_equilibrium(
    moisture: float, humidity: float, days: float
) -> None:
    from model.sorption import equilibrium_moisture

    goal = float(equilibrium_moisture(20.0, humidity))
    mean = mean_after(0.025, moisture, humidity, days)
    assert min(moisture, goal) - 0.02 <= mean <= max(moisture, goal) + 0.02


def test_a_batch_gives_each_sample_what_it_gets_alone() -> None:
    samples = spread.draw(16)
    factors = spread.transport_factor(samples, 2.0)
    mesh = transport.grid(0.05)
    air = room.constant(20.0, 40.0).air
    batch = transport.Wood(1.6 * factors, 0.03, 0.6, 30.0, samples.sorption)
    together = transport.run(batch, mesh, 12.0, air, BARE, 0.0, 90.0).mean[-1]
    for place in range(samples.count):
        one = transport.Wood(1.6 * factors[[place]], 0.03, 0.6, 30.0, samples.sorption[[place]])
        alone = transport.run(one, mesh, 12.0, air, BARE, 0.0, 90.0).mean[-1, 0]
        # The batch takes the steps of its hardest sample: twice the error target covers both.
        assert abs(together[place] - alone) <= 0.04


def test_a_finished_face_slows_and_a_tighter_one_slows_more() -> None:
    means = [
        mean_after(0.04, 14.0, 35.0, 60.0, finishes.Faces(finishes.Face(sd), finishes.Face(sd)))
        for sd in (0.0, 0.5, 2.0, 10.0, 50.0)
    ]
    assert all(tight > loose for loose, tight in itertools.pairwise(means))
