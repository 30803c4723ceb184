"""Transport: its pieces, and what it refuses."""

from __future__ import annotations

import math

import numpy as np
import pytest

from model import spread
from model.behaviour import moisture_steps, transport
from model.properties import sorption
from model.properties.air import saturation_pressure
from model.properties.finishes import Face, Faces
from model.surroundings import machines
from model.surroundings.air_series import Air, OutsideLog
from model.surroundings.calendar import YEAR
from model.surroundings.room import constant

BARE = Faces(Face(0.0), Face(0.0))
ROOM = constant(20.0, 40.0).air


def wood(samples: int = 1, fibre_saturation: float = 30.0, slope: float = 0.087) -> transport.Wood:
    return transport.Wood(np.full(samples, 1.8), slope, 0.60, fibre_saturation, np.ones(samples))


def swinging() -> Air:
    """Outdoor air under cover: cold and damp in winter; its table is within 4e-4 of the waves."""
    days = np.linspace(0.0, YEAR, 730, endpoint=False)
    wave = np.cos(2.0 * np.pi * days / YEAR)
    return Air(days, 15.0 - 8.0 * wave, 60.0 + 15.0 * wave, YEAR)


def test_the_grid_shares_out_the_whole_thickness() -> None:
    mesh = transport.grid(0.05, 21)
    assert mesh.depth[0] == 0.0
    assert mesh.thickness == pytest.approx(0.05, rel=1e-15)
    assert mesh.weight.sum() == pytest.approx(1.0, abs=1e-15)
    assert np.all(np.diff(mesh.depth) > 0.0)
    # Finer at the faces, where a change of the air bites first, and alike at both.
    assert mesh.weight == pytest.approx(mesh.weight[::-1], abs=1e-15)
    assert np.diff(mesh.depth)[0] < 0.5 * np.diff(mesh.depth)[10]


@pytest.mark.parametrize(
    ("thickness", "nodes"), [(0.0, 21), (-0.01, 21), (math.nan, 21), (0.05, 4)]
)
def test_an_impossible_grid_is_refused(thickness: float, nodes: int) -> None:
    with pytest.raises(ValueError, match="grid"):
        transport.grid(thickness, nodes)


@pytest.mark.parametrize(
    ("moisture", "start", "end"),
    [(12.0, 10.0, 10.0), (12.0, 10.0, 5.0), (math.nan, 0.0, 10.0), (math.inf, 0.0, 10.0)],
)
def test_an_impossible_course_is_refused(moisture: float, start: float, end: float) -> None:
    with pytest.raises(ValueError, match="course"):
        transport.run(wood(), transport.grid(0.05), moisture, ROOM, BARE, start, end)


def test_wood_in_equilibrium_stays_as_it_is() -> None:
    held = float(sorption.equilibrium_moisture(20.0, 40.0))
    run = transport.run(wood(), transport.grid(0.05), held, ROOM, BARE, 0.0, 3.0 * YEAR)
    # The solver's table of the curve is within 0.003 % M of it (held in `test_sorption`).
    assert run.moisture == pytest.approx(np.full_like(run.moisture, held), abs=0.003)
    # What the table itself holds in this air, far closer than it is to the curve.
    settled = transport.run(wood(), transport.grid(0.01), held, ROOM, BARE, 0.0, 10.0 * YEAR)
    level = float(settled.mean[-1, 0])
    still = transport.run(wood(), transport.grid(0.05), level, ROOM, BARE, 0.0, 3.0 * YEAR)
    assert still.moisture == pytest.approx(np.full_like(still.moisture, level), abs=1e-9)
    assert np.abs(still.gained_top).max() < 1e-9


def test_wood_ends_in_equilibrium_with_steady_air() -> None:
    run = transport.run(wood(), transport.grid(0.025), 14.0, ROOM, BARE, 0.0, 5.0 * YEAR)
    held = float(sorption.equilibrium_moisture(20.0, 40.0))
    assert run.moisture[-1] == pytest.approx(np.full((1, run.moisture.shape[2]), held), abs=3e-3)
    assert np.ptp(run.moisture[-1]) < 1e-9


def test_a_sample_that_holds_less_moisture_settles_lower_by_its_factor() -> None:
    both = transport.Wood(np.full(2, 1.8), 0.087, 0.60, 30.0, np.array([1.0, 0.9]))
    run = transport.run(both, transport.grid(0.025), 12.0, ROOM, BARE, 0.0, 5.0 * YEAR)
    assert run.mean[-1, 1] == pytest.approx(0.9 * run.mean[-1, 0], abs=1e-3)


def test_a_wet_face_is_held_at_fibre_saturation_and_dry_wood_takes_water_up() -> None:
    faces = Faces(Face(0.0, wet=True), Face(0.0))
    run = transport.run(wood(), transport.grid(0.05), 8.0, ROOM, faces, 0.0, 0.5)
    assert run.moisture[-1, 0, 0] == pytest.approx(30.0, abs=0.1)
    assert run.gained_top[-1, 0] > 0.1
    # The dry face hardly notices in half a day.
    assert abs(run.gained_bottom[-1, 0]) < 0.1 * run.gained_top[-1, 0]


def test_a_wet_face_takes_nothing_from_wetter_wood() -> None:
    faces = Faces(Face(0.0, wet=True), Face(0.0))
    run = transport.run(wood(), transport.grid(0.05), 70.0, ROOM, faces, 0.0, 5.0)
    assert np.all(run.gained_top == 0.0)
    assert run.moisture[-1, 0, 0] == pytest.approx(70.0, abs=1e-9)
    assert run.gained_bottom[-1, 0] < -1.0


def test_a_slope_of_nothing_is_the_limit_of_small_ones() -> None:
    # Below `FLAT_SLOPE` the potential is written without the slope, above it with: the course
    # moves with the slope as it does further on, but for what a millionth of a slope makes.
    slopes = (0.0, 0.5e-6, 2.0e-6, 2.0e-4)
    ends = [
        transport.run(wood(slope=slope), transport.grid(0.05), 12.0, ROOM, BARE, 0.0, 50.0).mean[
            -1, 0
        ]
        for slope in slopes
    ]
    assert moisture_steps.FLAT_SLOPE == 1e-6
    steepness = (ends[3] - ends[0]) / slopes[3]
    assert abs(steepness) > 0.1
    for slope, end in zip(slopes[1:3], ends[1:3], strict=True):
        assert end - ends[0] == pytest.approx(steepness * slope, abs=2e-5)


def test_water_stands_in_a_wet_core_until_the_front_reaches_it() -> None:
    run = transport.run(wood(), transport.grid(0.05), 70.0, ROOM, BARE, 0.0, 5.0)
    assert run.moisture[-1, 0, transport.NODES // 2] == pytest.approx(70.0, abs=1e-6)
    assert run.moisture[-1, 0, 0] < 12.0


# Plastic has 50 m of still air: over a year that is not nothing, but a tenth at most.
@pytest.mark.parametrize(("sealed", "share"), [(Face(1e9), 1e-6), (Face(50.0), 0.1)])
def test_a_sealed_face_lets_next_to_nothing_through(sealed: Face, share: float) -> None:
    run = transport.run(
        wood(), transport.grid(0.05), 12.0, ROOM, Faces(sealed, Face(0.0)), 0.0, 365.0
    )
    assert abs(run.gained_top[-1, 0]) < share * abs(run.gained_bottom[-1, 0])


def test_states_are_told_on_the_days_asked_for() -> None:
    mesh = transport.grid(0.05)
    days = [0.0, 1.0, 2.5, 77.7, 77.7, 100.0]
    run = transport.run(wood(), mesh, 12.0, ROOM, BARE, 0.0, 100.0, days=days)
    assert run.days.tolist() == days
    assert run.moisture.shape == (6, 1, transport.NODES)
    assert run.moisture[0] == pytest.approx(12.0, abs=0.0)
    assert np.array_equal(run.moisture[3], run.moisture[4])
    assert run.moisture[-1] == pytest.approx(run.end.moisture, abs=1e-12)
    # Whatever is told, the steps are the same: not a digit of the course hangs on it.
    other = transport.run(wood(), mesh, 12.0, ROOM, BARE, 0.0, 100.0, days=[77.7])
    assert np.array_equal(other.moisture[0], run.moisture[3])
    assert np.array_equal(other.end.moisture, run.end.moisture)
    assert other.steps.tolist() == run.steps.tolist()
    none = transport.run(wood(), mesh, 12.0, ROOM, BARE, 0.0, 100.0, days=[])
    assert none.days.size == 0
    assert np.array_equal(none.end.moisture, run.end.moisture)


def test_without_days_asked_for_both_ends_and_the_hours_after_the_start_are_told() -> None:
    run = transport.run(wood(), transport.grid(0.05), 12.0, ROOM, BARE, 30.0, 395.0)
    assert run.days[0] == 30.0
    assert run.days[-1] == 395.0
    assert np.all(np.diff(run.days) > 0.0)
    assert run.days[1] <= 30.0 + transport.TOLD_FIRST
    assert np.diff(run.days).max() <= transport.TOLD_EVERY + 1e-9
    short = transport.told_days(0.0, 0.01)
    assert short.tolist() == [0.0, 0.01]


@pytest.mark.parametrize(
    "days", [[9.9], [100.1], [10.0, 100.1], [50.0, 20.0]], ids=["before", "after", "last", "back"]
)
def test_days_outside_the_course_are_refused(days: list[float]) -> None:
    with pytest.raises(ValueError, match="from the start of the course to its end"):
        transport.run(wood(), transport.grid(0.05), 12.0, ROOM, BARE, 10.0, 100.0, days=days)


def test_states_between_steps_are_those_of_a_course_that_ends_there() -> None:
    # Told from the step's own polynomial, which is of second order too: a day within a step of
    # ten misses by no more than the step itself may.
    days = [0.5, 3.3, 17.0, 41.0, 88.0, 133.0]
    air, mesh = swinging(), transport.grid(0.05)
    run = transport.run(wood(), mesh, 12.0, air, BARE, 0.0, 365.0, days=days)
    fine = transport.run(
        wood(), mesh, 12.0, air, BARE, 0.0, 365.0, days=days, tolerance=1e-3, longest_step=0.5
    )
    assert run.mean == pytest.approx(fine.mean, abs=0.01)
    assert run.moisture == pytest.approx(fine.moisture, abs=0.05)


def test_a_log_that_does_not_cover_the_course_is_refused() -> None:
    log = Air(np.array([0.0, 50.0, 99.0]), np.full(3, 20.0), np.full(3, 40.0))
    with pytest.raises(OutsideLog, match="from day 0 to day 99"):
        transport.run(wood(), transport.grid(0.05), 12.0, log, BARE, 0.0, 100.0)


def steps_of(run: transport.Run) -> int:
    """Steps of the sample that took most, those tried in vain included."""
    return int((run.steps + run.rejected).max())


@pytest.mark.parametrize("fibre_saturation", [24.0, 30.0])
def test_green_wood_behind_slow_faces_takes_no_endless_number_of_steps(
    fibre_saturation: float,
) -> None:
    # Nodes that pass fibre saturation one after the other while little moves: the kink of the law
    # there must not make the steps shrink.
    green = transport.Wood(np.array([3.15]), 0.13, 0.46, fibre_saturation, np.ones(1))
    run = transport.run(
        green, transport.grid(0.037), 68.3, swinging(), Faces(Face(1.7), Face(30.0)), 0.0, 730.0
    )
    assert steps_of(run) < 400  # 185 measured


def test_a_batch_of_green_softwood_takes_no_endless_number_of_steps() -> None:
    # Varnished above and covered below, with the draws of an answer's spread: each layer of each
    # draw passes fibre saturation on another day.  An ordinary question, which must be answered.
    samples = spread.draw(128)
    green = transport.Wood(
        1.6 * spread.transport_factor(samples, 1.7), 0.087, 0.35, 30.0, samples.sorption,
        samples.loop,
    )  # fmt: skip
    run = transport.run(
        green, transport.grid(0.038), 70.0, swinging(), Faces(Face(1.7), Face(50.0)), 0.0, YEAR,
        finish_factor=samples.finish,
    )  # fmt: skip
    # The slowest of the draws takes 210, half of them 100 (measured).
    assert steps_of(run) < 400


def test_the_steps_are_compiled_for_one_kind_of_arguments() -> None:
    # A second kind - read-only, another order, whole numbers - would cost seconds of compiling in
    # the midst of an answer.
    samples = spread.draw(4)
    some = transport.Wood(
        spread.transport_factor(samples, 1.7), 0.087, 0.35, 30.0, samples.sorption, samples.loop
    )
    log = Air(np.array([0.0, 50.0, 100.0]), np.full(3, 20.0), np.array([40.0, 60.0, 30.0]))
    mesh = transport.grid(0.05)
    told = np.array([0, 40, 100])
    told.flags.writeable = False
    awkward = np.asfortranarray(np.full((5, transport.NODES), 12.0))
    awkward.flags.writeable = False
    weights = np.ones((5, 2, transport.NODES))[:, ::-1]
    for air in (ROOM, swinging(), log):
        for material in (some, transport.Wood(samples.sorption, 0, 1, 30, samples.sorption)):
            for faces in (BARE, Faces(Face(0.0, wet=True), Face(2.0))):
                transport.run(
                    material, mesh, awkward, air, faces, 0, 100, days=told, layers=1,
                    tolerance=samples.loop, sums=transport.Sums(weights, 30),
                )  # fmt: skip
                transport.run(
                    material, mesh, transport.begin(12, material, transport.NODES, "unknown"), air,
                    faces, 0, 100, humidity_offset=2,
                )  # fmt: skip
    assert len(moisture_steps.follow.signatures) == 1  # type: ignore[attr-defined]


def test_diffusion_goes_with_warmth_and_density_as_it_was_published() -> None:
    # 40 kJ/mol between 20 and 30 degC: exp(40000/8.314 (1/293.15 - 1/303.15)) = 1.7184 by hand.
    some = wood(2)
    assert some.diffusion(30.0) / some.diffusion(20.0) == pytest.approx([1.7184] * 2, rel=1e-4)
    # Siau's cell model (memory): 2.09e-11 m2/s at G 0.60; at 0.40 1.5^2.3 = 2.541 times that.
    assert some.diffusion(20.0)[0] == pytest.approx(1.8 * 2.09e-11)
    light = transport.Wood(np.ones(1), 0.087, 0.40, 30.0, np.ones(1))
    assert light.diffusion(20.0)[0] == pytest.approx(2.5411 * 2.09e-11, rel=1e-4)
    assert transport.Wood(np.array([1.0, 3.0]), 0.0, 0.6, 30.0, np.ones(2)).of(
        np.array([1])
    ).diffusion(20.0) == pytest.approx([3.0 * 2.09e-11])


def test_nodes_lie_a_quarter_evenly_and_three_quarters_as_a_cosine() -> None:
    # Of five the second: t (0.25/4 + 0.75 (1 - cos 45)/2) = 0.17234 t, by hand.
    mesh = transport.grid(0.1, 5)
    assert mesh.depth == pytest.approx([0.0, 0.0172335, 0.05, 0.0827665, 0.1], abs=1e-7)
    assert mesh.weight[0] == pytest.approx(0.0861675, abs=1e-6)
    assert mesh.mean(mesh.depth) == pytest.approx(0.05)


def test_days_told_grow_by_half_from_an_hour_on_to_five_days() -> None:
    days = transport.told_days(10.0, 100.0)
    gaps = np.diff(days)
    assert gaps[:3] == pytest.approx([0.05, 0.075, 0.1125])
    assert np.all(gaps <= 5.0 + 1e-9)
    assert gaps[-6:] == pytest.approx([gaps[-1]] * 6)
    assert gaps[-1] > 4.5
    assert (days[0], days[-1]) == (10.0, 100.0)
    assert np.diff(transport.told_days(0.0, 10.0, every=2.5, first=2.5)) == pytest.approx([2.5] * 4)
    assert np.diff(transport.told_days(0.0, 10.0, every=1.0, first=3.0)) == pytest.approx(
        [1.0] * 10
    )


def test_what_a_face_lets_through_over_what_the_wood_does() -> None:
    # Bi = h t/D with h the admittance in moisture: 100/(1000 G R) (dp/dM).
    some, faces = wood(), Faces(Face(1.0), Face(0.0, wet=True))
    steep, diffusion = np.array([0.18]), np.array([3e-11])
    told = transport.biot(some, 0.05, faces, np.array([1.5]), 20.0, steep, diffusion)
    slope = float(saturation_pressure(20.0)) / 18.0  # Pa per % M
    bare = Face(0.0).resistance
    resistance = bare + 1.5 * (Face(1.0).resistance - bare)
    wanted = 100.0 / 600.0 / resistance * slope * 0.05 / 3e-11
    assert told[0, 0] == pytest.approx(wanted)
    assert told[1, 0] == pytest.approx(100.0 / 600.0 / 1e6 * slope * 0.05 / 3e-11)
    # A factor of its own for each face's finish.
    two = transport._admittance(some, Faces(Face(1.0), Face(1.0)), np.array([[1.0], [2.0]]))
    both = bare + 2.0 * (Face(1.0).resistance - bare)
    assert two[0, 0] / two[0, 1] == pytest.approx(both / Face(1.0).resistance)


def test_what_is_shifted_moves_what_drives_it_within_its_bounds() -> None:
    plain = wood()
    state = transport.State(np.array([[0.6, 8.0, 27.0, 29.0]]), np.zeros((1, 4)))
    up = transport.shifted(state, plain, np.full((1, 4), 3.0), 20.0)
    # To a point and a half below fibre saturation; what is above that stays.
    assert up.moisture[0] == pytest.approx([3.6, 11.0, 28.5, 29.0])
    down = transport.shifted(state, plain, np.full((1, 4), -3.0), 20.0)
    assert down.moisture[0] == pytest.approx([0.5, 5.0, 24.0, 29.0])
    loop = transport.Wood(np.ones(1), 0.087, 0.6, 30.0, np.full(1, 0.95), np.full(1, 0.7))
    begun = transport.begin(np.array([12.0, 12.0, 29.5]), loop, 3, "unknown")
    assert transport.driving(begun, loop)[0] == pytest.approx([12.0, 12.0, 29.5])
    moved = transport.shifted(begun, loop, np.array([[0.1, -4.0, -4.0]]), 20.0)
    assert transport.driving(moved, loop)[0] == pytest.approx([12.1, 8.0, 29.5])
    # A little goes along the loop, much along the branch.
    assert moved.moisture[0, 0] == pytest.approx(12.0 + 0.7 * 0.1)
    humidity = float(sorption.humidity_of_moisture(20.0, 8.0 / 0.95))
    branch = 0.95 * float(sorption.branch_moisture(20.0, humidity, "drying"))
    assert moved.moisture[0, 1] == pytest.approx(branch, abs=0.02)
    assert moved.moisture[0, 2] == 29.5


def test_draws_are_followed_less_finely_than_the_central_case() -> None:
    tolerance, longest = transport.central_finely(3)
    assert tolerance.tolist() == [transport.TOLERANCE] + 2 * [transport.DRAWN_TOLERANCE]
    assert longest.tolist() == [transport.LONGEST_STEP] + 2 * [transport.DRAWN_LONGEST_STEP]


def test_shared_air_is_counted_by_the_mass_of_the_load() -> None:
    # 200 kg, 50 mm: a point of its mean is 2 kg; 3 m3/h over 461.5 J/(kg K) (by hand), 5 kg a day.
    load = transport.SharedAir(200.0, 3.0, np.zeros(1), np.ones(1), rated=5.0).load(0.05)
    assert load.exchange == pytest.approx(0.05 / 2.0 * 3.0 / 3600.0 / 461.5, rel=1e-3)
    assert load.rated == pytest.approx(0.05 / 2.0 * 5.0 / 86400.0)
    assert (load.shared, load.kept) == (True, False)
    assert (load.works_from, load.ices_below) == (machines.WORKS_FROM, machines.ICES_BELOW)
    wet = Faces(Face(0.0), Face(0.0, wet=True))
    around = transport.SharedAir(200.0, 3.0, np.zeros(1), np.ones(1))
    for faces in (wet, Faces(wet.bottom, wet.top)):
        with pytest.raises(ValueError, match="shares no air"):
            transport.run(wood(), transport.grid(0.05), 12.0, ROOM, faces, 0.0, 1.0, shared=around)


def test_quickened_wood_lets_more_through_its_faces_and_inside() -> None:
    quick = transport.Wood(np.ones(1), 0.087, 0.6, 30.0, np.ones(1), quickened=2.0)
    plain = transport.Wood(np.ones(1), 0.087, 0.6, 30.0, np.ones(1))
    mesh = transport.grid(0.05)
    twice = transport.run(quick, mesh, 12.0, ROOM, BARE, 0.0, 20.0)
    once = transport.run(plain, mesh, 12.0, ROOM, BARE, 0.0, 40.0)
    assert twice.mean[-1, 0] == pytest.approx(once.mean[-1, 0], abs=0.01)


def test_a_log_of_two_readings_is_straight_between_them() -> None:
    two = Air(np.array([0.0, 40.0]), np.full(2, 20.0), np.array([70.0, 30.0]))
    three = Air(np.array([0.0, 20.0, 40.0]), np.full(3, 20.0), np.array([70.0, 50.0, 30.0]))
    ends = [
        transport.run(wood(), transport.grid(0.02), 12.0, air, BARE, 0.0, 40.0).mean[-1, 0]
        for air in (two, three)
    ]
    assert ends[0] == pytest.approx(ends[1], abs=1e-9)


def test_each_face_may_have_a_factor_of_its_own_on_its_finish() -> None:
    mesh, alike = transport.grid(0.02), Faces(Face(1.0), Face(1.0))
    told = transport.run(
        wood(), mesh, 12.0, ROOM, alike, 0.0, 20.0, finish_factor=np.array([[1.0], [3.0]])
    )
    plain = transport.run(wood(), mesh, 12.0, ROOM, Faces(Face(1.0), Face(3.0)), 0.0, 20.0)
    assert told.gained_top[-1, 0] == pytest.approx(plain.gained_top[-1, 0])
    assert told.gained_bottom[-1, 0] == pytest.approx(plain.gained_bottom[-1, 0])
    assert abs(told.gained_bottom[-1, 0]) < 0.8 * abs(told.gained_top[-1, 0])
