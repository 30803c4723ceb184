"""The layered section: balance of forces, closed forms, holding, planing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import solve_ivp

from model.behaviour import section, section_steps, transport
from model.behaviour.section import FLAT, FREE, Hold, Timber
from model.behaviour.transport import Grid

Floats = NDArray[np.float64]

SWELLING = 0.0035  # per % M
MODULUS = 800e6  # Pa
THICKNESS = 0.05  # m
FIXED = Hold(bending=np.inf, axial=np.inf)


def timber(creep: ArrayLike = 60.0, limit: ArrayLike = np.inf) -> Timber:
    creep, limit = np.broadcast_arrays(np.atleast_1d(creep).astype(float), limit)
    count = creep.size
    return Timber(
        swelling=np.full(count, SWELLING),
        starts=30.0,
        saturation=30.0,
        modulus=np.full(count, MODULUS),
        creep=np.array(creep, dtype=float),
        limit=np.array(np.broadcast_to(limit, (count,)), dtype=float),
    )


def mesh_of(nodes: int = 21, thickness: float = THICKNESS) -> Grid:
    return transport.grid(thickness, nodes)


def even(moistures: ArrayLike, nodes: int = 21, samples: int = 1) -> Floats:
    """A history (times, samples, nodes) of moisture alike through the thickness."""
    return np.tile(np.asarray(moistures, dtype=float)[:, None, None], (1, samples, nodes))


def wandering(seed: int, times: int = 40, samples: int = 1, nodes: int = 21) -> Floats:
    """A rough but connected history between about 5 and 16 % M, uneven through the thickness."""
    random = np.random.default_rng(seed)
    depth = mesh_of(nodes).depth / THICKNESS
    steps = random.normal(0.0, 0.5, (times, samples, 3)).cumsum(axis=0)
    shapes = np.stack((np.ones(nodes), depth - 0.5, (depth - 0.5) ** 2))
    return np.clip(10.0 + steps @ shapes, 4.0, 18.0)


def dried_from_both_faces(creep: float = 60.0) -> tuple[Timber, Grid, Floats]:
    """A slab dried from 14 to 8 % M with its shell ahead of its core, in the end even."""
    mesh = mesh_of()
    depth = mesh.depth / THICKNESS
    parabola = 4.0 * depth * (1.0 - depth)
    time = np.linspace(0.0, 4.0, 120)[:, None]
    moisture = 8.0 + 6.0 * np.exp(-time) * (parabola + (1.0 - parabola) * np.exp(-3.0 * time))
    moisture[-1] = 8.0
    return timber(creep), mesh, moisture[:, None, :]


def test_a_straight_gradient_bends_an_elastic_slab_exactly() -> None:
    mesh = mesh_of()
    fall = np.linspace(0.0, 1.0, 5)[:, None]
    moisture = (10.0 + fall * 4.0 * (mesh.depth / THICKNESS - 0.5))[:, None, :]
    history = section.sweep(timber(0.0), mesh, moisture, section.unstressed(moisture[0]))
    # The bottom face ends 4 % wetter than the top: curvature = swelling x 4 % / t, edges up.
    # Exact in the discrete section too: 1e-12 is rounding.
    np.testing.assert_allclose(
        history.curvature[:, 0], fall[:, 0] * SWELLING * 4.0 / THICKNESS, rtol=1e-12, atol=1e-15
    )
    assert np.abs(history.stress_top).max() < 1e-6  # Pa; a linear strain needs no stress


@given(seed=st.integers(0, 2**32 - 1), creep=st.floats(0.0, 150.0), limited=st.booleans())
def test_a_free_section_carries_neither_force_nor_moment(
    seed: int, creep: float, limited: bool
) -> None:
    mesh = mesh_of()
    moisture = wandering(seed)
    state = replace(section.unstressed(moisture[0]), form=np.array([0.05]))
    rings = np.linspace(0.0, 0.3, moisture.shape[0])[:, None]
    wood = timber(creep, 8.0 if limited else np.inf)
    history = section.sweep(wood, mesh, moisture, state, FREE, rings, every_layer=True)
    assert history.stress is not None
    # The scale: what the same free strains would pull if the section were fixed, and that pull at
    # half the thickness.  1e-10 of it; rounding leaves about 1e-15.
    fixed = section.sweep(wood, mesh, moisture, state, FIXED, rings)
    pull = max(float(np.abs(fixed.stress_top).max()) * THICKNESS, 1e3)
    assert np.abs(history.stress @ mesh.weight).max() * THICKNESS < 1e-10 * pull
    arm = section.arm_of(mesh)
    assert np.abs((history.stress * arm) @ mesh.weight).max() < 1e-10 * pull / 2.0
    assert np.abs(history.force).max() < 1e-10 * pull
    assert np.abs(history.moment).max() < 1e-10 * pull * THICKNESS / 2.0


def test_a_uniform_change_bends_by_the_rings_alone_and_leaves_no_stress() -> None:
    moisture = even([14.0, 11.0, 7.0, 9.0])
    rings = np.array([0.0, 0.1, 0.2, 0.15])[:, None]
    history = section.sweep(
        timber(), mesh_of(), moisture, section.unstressed(moisture[0]), FREE, rings, True
    )
    assert history.stress is not None
    np.testing.assert_allclose(history.curvature, rings, atol=1e-14)
    np.testing.assert_allclose(
        history.strain[:, 0], SWELLING * (moisture[:, 0, 0] - 14.0), atol=1e-15
    )
    assert np.abs(history.stress).max() < 1e-5  # Pa, against 3e6 if it were held


def test_a_slab_held_flat_and_fixed_while_it_dries_follows_the_closed_form() -> None:
    # (alpha/m)(1 - exp(-m E du)) holds for one modulus; between 12.4 and 11.6 % it varies by 1 %.
    moisture = even(np.linspace(12.4, 11.6, 9))
    history = section.sweep(
        timber(60.0), mesh_of(), moisture, section.unstressed(moisture[0]), FIXED
    )
    du = 0.01 * (moisture[0, 0, 0] - moisture[:, 0, 0])
    m = 60.0 / MODULUS
    closed = 100.0 * SWELLING / m * (1.0 - np.exp(-m * MODULUS * du))
    np.testing.assert_allclose(history.stress_top[:, 0], closed, rtol=0.01, atol=1.0)


@pytest.mark.parametrize("limit", [np.inf, 8.0])
def test_a_held_layer_agrees_with_a_general_integrator_over_a_long_drying(limit: float) -> None:
    wood, start, end = timber(60.0, limit), 22.0, 5.0
    m = 60.0 / MODULUS

    def modulus(moisture: float) -> float:
        return MODULUS * (1.0 - 0.025 * (moisture - 12.0))

    def creeping(moisture: float, creep: Floats) -> Floats:
        strain = SWELLING * (start - moisture)
        stress = modulus(moisture) * (strain - creep)
        return -0.01 * m * (stress - creep * MODULUS / limit)

    exact = solve_ivp(creeping, (start, end), [0.0], rtol=1e-10, atol=1e-14)
    stress = modulus(end) * (SWELLING * (start - end) - exact.y[0, -1])

    def miss(rows: int) -> float:
        moisture = even(np.linspace(start, end, rows))
        history = section.sweep(wood, mesh_of(), moisture, section.unstressed(moisture[0]), FIXED)
        return float(abs(history.stress_top[-1, 0] / stress - 1.0))

    # One row to the next is divided into steps of 1 % with the modulus of their middle: 0.15 %.
    assert miss(2) < 1.5e-3
    # Second order: ten times finer is a hundred times nearer.
    assert miss(171) < 1.5e-5


@pytest.mark.parametrize("limit", [5.0, 8.0, 15.0])
def test_the_limited_law_keeps_its_share_of_a_held_stress_and_the_plain_law_none(
    limit: float,
) -> None:
    still = replace(timber([60.0, 60.0], [limit, np.inf]), swelling=np.zeros(2))
    cycles = 12.0 + 2.0 * np.sin(np.linspace(0.0, 80.0 * np.pi, 4001))
    moisture = even(cycles, samples=2)
    pulled = Hold(bending=np.inf, axial=np.inf, strain=0.005)
    history = section.sweep(still, mesh_of(), moisture, section.unstressed(moisture[0]), pulled)
    share = history.stress_top[-1] / history.stress_top[0]
    # The share that stays is 1/(1 + J) at the modulus of 12 %; over the last cycle the modulus
    # averages to that within 0.1 % and the set lags it by less than 1 %.
    assert share[0] == pytest.approx(1.0 / (1.0 + limit), rel=0.02)
    assert share[1] < 1e-6


def test_dividing_steps_further_hardly_moves_the_answer() -> None:
    wood = timber([60.0, 150.0, 150.0], [np.inf, np.inf, 8.0])
    coarse = np.repeat(wandering(3, times=25), 3, axis=1)
    coarse[10:] = coarse[10:] + 3.0  # a jump of several % at once
    rows = np.arange(coarse.shape[0])
    fine_rows = np.linspace(0.0, rows[-1], 50 * rows[-1] + 1)
    left = np.minimum(fine_rows.astype(int), rows[-1] - 1)
    part = (fine_rows - left)[:, None, None]
    fine = (1.0 - part) * coarse[left] + part * coarse[left + 1]
    mesh = mesh_of()
    one = section.sweep(wood, mesh, coarse, section.unstressed(coarse[0]))
    other = section.sweep(wood, mesh, fine, section.unstressed(fine[0]))
    largest = np.abs(other.curvature).max(axis=0)
    miss = np.abs(one.curvature - other.curvature[::50]).max(axis=0)
    # 0.5 % of the largest curvature, told in `sweep` (measured: 0.05 to 0.3 %).
    assert np.all(miss < 5e-3 * largest)


def test_a_step_is_divided_where_a_layer_moves_by_more_than_a_point() -> None:
    assert section_steps.LARGEST_STEP == 1.0
    rings = np.array([[0.0], [0.3]])

    def end(*moistures: float) -> float:
        moisture = even(moistures)
        moisture[1:, 0, 12:] += 0.5 * (moistures[0] - np.array(moistures[1:])[:, None])
        bent = np.interp(np.linspace(0.0, 1.0, len(moistures)), [0.0, 1.0], rings[:, 0])[:, None]
        made = section.sweep(
            timber(150.0), mesh_of(), moisture, section.unstressed(moisture[0]),
            Hold(bending=5e3), bent,
        )  # fmt: skip
        return float(made.moment[-1, 0])

    # Of 2.4 points three equal parts, straight in moisture and in the rings; one point is one part.
    assert end(12.0, 9.6) == pytest.approx(end(12.0, 11.2, 10.4, 9.6), rel=1e-12)
    assert end(12.0, 9.95) == pytest.approx(
        end(12.0, 11.31666666666, 10.63333333333, 9.95), rel=1e-9
    )
    assert end(12.0, 11.0) != pytest.approx(end(12.0, 11.5, 11.0), rel=1e-6)
    assert end(12.0, 10.98) == pytest.approx(end(12.0, 11.49, 10.98), rel=1e-12)


def test_cutting_a_history_in_two_gives_the_same_end() -> None:
    wood, mesh, moisture = timber([60.0, 60.0], [np.inf, 8.0]), mesh_of(), wandering(5, samples=2)
    whole = section.sweep(wood, mesh, moisture, section.unstressed(moisture[0]))
    first = section.sweep(wood, mesh, moisture[:17], section.unstressed(moisture[0]))
    second = section.sweep(wood, mesh, moisture[16:], first.state)
    np.testing.assert_allclose(second.curvature, whole.curvature[16:], atol=1e-14)
    np.testing.assert_allclose(second.state.creep, whole.state.creep, atol=1e-16)


def test_a_sample_does_not_feel_the_others_of_its_batch() -> None:
    wood, mesh, moisture = timber([0.0, 60.0, 120.0], 8.0), mesh_of(), wandering(7, samples=3)
    moisture = 10.0 + 0.2 * (moisture - 10.0)  # no step so large that it would be divided
    together = section.sweep(wood, mesh, moisture, section.unstressed(moisture[0]))
    alone = section.sweep(
        timber(60.0, 8.0), mesh, moisture[:, 1:2], section.unstressed(moisture[0, 1:2])
    )
    # Steps are divided by what the roughest sample needs, so not to the last digit.
    np.testing.assert_allclose(
        alone.curvature[:, 0], together.curvature[:, 1], rtol=1e-3, atol=1e-6
    )


def test_turned_over_it_bends_the_other_way() -> None:
    wood, mesh, moisture = timber(60.0, 8.0), mesh_of(), wandering(11)
    up = section.sweep(wood, mesh, moisture, section.unstressed(moisture[0]))
    turned = moisture[..., ::-1].copy()
    down = section.sweep(wood, mesh, turned, section.unstressed(turned[0]))
    np.testing.assert_allclose(down.curvature, -up.curvature, atol=1e-13)
    np.testing.assert_allclose(down.stress_bottom, up.stress_top, rtol=1e-9, atol=1e-3)
    np.testing.assert_allclose(down.tension_bottom, up.tension_top, rtol=1e-9, atol=1e-3)


def test_held_flat_it_is_flat_and_the_moment_is_that_of_the_free_curvature() -> None:
    mesh = mesh_of()
    moisture = (10.0 + np.zeros((1, 1, 21))).repeat(2, axis=0)
    moisture[1, 0] += 2.0 * (mesh.depth / THICKNESS - 0.5)
    free = section.sweep(timber(0.0), mesh, moisture, section.unstressed(moisture[0]))
    flat = section.sweep(timber(0.0), mesh, moisture, section.unstressed(moisture[0]), FLAT)
    assert np.all(flat.curvature == 0.0)
    stiffness = MODULUS * (1.0 + 0.025 * 2.0) * THICKNESS**3 / 12.0
    # The modulus follows the gradient (2.5 % over it) and the middle sum of 21 layers is 0.3 % off.
    assert flat.moment[1, 0] == pytest.approx(-stiffness * free.curvature[1, 0], rel=0.01)
    assert flat.force[1, 0] == pytest.approx(0.0, abs=1e-6)


@given(ratio=st.floats(1e-3, 1e3))
def test_a_stiffener_leaves_the_share_of_the_free_cup_that_beam_theory_gives(ratio: float) -> None:
    mesh, moisture = mesh_of(), even([12.0, 12.0])
    state = replace(section.unstressed(moisture[0]), form=np.array([0.2]))
    wood = timber(0.0)
    own = MODULUS * THICKNESS * float(mesh.weight @ section.arm_of(mesh) ** 2)
    hold = Hold(bending=ratio * own)
    history = section.sweep(wood, mesh, moisture, state, hold)
    # residual = free x EwIw/(EwIw + EsIs); moment = kappa0 EwIw EsIs/(EwIw + EsIs) (beam theory)
    assert history.curvature[0, 0] == pytest.approx(0.2 / (1.0 + ratio), rel=1e-9)
    assert history.moment[0, 0] == pytest.approx(-0.2 * own * ratio / (1.0 + ratio), rel=1e-9)


SPRINGS = [0.0, 3e4, np.inf]  # N m2/m; the section's own is some 8e3
STRETCH = [0.0, 2e7, np.inf]  # N/m; the section's own is 4e7


@pytest.mark.parametrize("bending", SPRINGS)
@pytest.mark.parametrize("axial", STRETCH)
def test_what_holds_a_section_pulls_as_a_spring_and_a_rigid_hold_gives_no_way(
    bending: float, axial: float
) -> None:
    # Balance: the force and the moment are sums of the layers' stresses, the springs' by Hooke.
    mesh, moisture = mesh_of(), wandering(23, samples=2)
    rings = np.linspace(0.0, 0.2, moisture.shape[0])[:, None].repeat(2, axis=1)
    hold = Hold(bending, axial, curvature=0.03, strain=-0.002)
    made = section.sweep(
        timber([60.0, 100.0], 8.0), mesh, moisture, section.unstressed(moisture[0]), hold,
        rings, every_layer=True,
    )  # fmt: skip
    assert made.stress is not None
    force = made.stress @ mesh.weight * THICKNESS
    moment = made.stress @ (mesh.weight * section.arm_of(mesh)) * THICKNESS
    scale = float(np.abs(made.stress).max()) * THICKNESS
    np.testing.assert_allclose(made.force, force, atol=1e-9 * scale)
    np.testing.assert_allclose(made.moment, moment, atol=1e-9 * scale * THICKNESS)
    np.testing.assert_array_equal(made.stress_top, made.stress[..., 0])
    np.testing.assert_array_equal(made.stress_bottom, made.stress[..., -1])
    if np.isinf(bending):
        np.testing.assert_array_equal(made.curvature, 0.03)
    else:
        asked = bending * (0.03 - made.curvature)
        np.testing.assert_allclose(made.moment, asked, atol=1e-9 * scale * THICKNESS)
    if np.isinf(axial):
        np.testing.assert_array_equal(made.strain, -0.002)
    else:
        np.testing.assert_allclose(made.force, axial * (-0.002 - made.strain), atol=1e-9 * scale)


@pytest.mark.parametrize("limit", [np.inf, 8.0])
@pytest.mark.parametrize("exponent", [1e-6, 0.05, 0.1999, 0.2001, 0.9])
def test_a_step_of_wood_of_one_modulus_is_exact(limit: float, exponent: float) -> None:
    # Held fast while it dries evenly: dx/dv = mE (a v - x) - mE x/J has a solution in closed form.
    # To rounding on either side of the exponent below which a series stands in.
    both = 1.0 + 1.0 / limit
    creep = 100.0 * exponent / both
    wood = replace(timber(creep, limit), softening=0.0)
    moisture = even([12.0, 11.0, 8.0])
    made = section.sweep(wood, mesh_of(), moisture, section.unstressed(moisture[0]), FIXED)
    dried = np.array([0.0, 0.01, 0.04])
    free, rate = 100.0 * SWELLING * dried, 100.0 * exponent
    given_way = 100.0 * SWELLING / both * (dried + np.expm1(-rate * dried) / rate)
    # Where next to nothing gives way, two numbers alike are subtracted here.
    closed = MODULUS * (free - (given_way if exponent > 1e-3 else 0.5 * creep * free * dried))
    np.testing.assert_allclose(made.stress_top[:, 0], closed, rtol=3e-11)


@pytest.mark.parametrize(("starts", "saturation"), [(30.0, 24.0), (22.0, 28.0)])
def test_elastic_wood_held_fast_bears_its_modulus_times_what_it_would_move(
    starts: float, saturation: float
) -> None:
    wood = replace(timber(0.0), starts=starts, saturation=saturation)
    moistures = np.array([40.0, 26.0, 23.0, 12.0, 0.5, 0.0, 27.0])
    moisture = even(moistures)
    made = section.sweep(wood, mesh_of(), moisture, section.unstressed(moisture[0]), FIXED)
    stiff = MODULUS * (1.3 - 0.025 * np.minimum(moistures, saturation))
    held = stiff * SWELLING * (starts - np.minimum(moistures, starts))
    np.testing.assert_allclose(made.stress_top[:, 0], held, rtol=1e-12, atol=1e-3)


@pytest.mark.parametrize(
    ("soft", "hard"),
    [(Hold(bending=1e12), FLAT), (Hold(axial=1e17), Hold(axial=np.inf)),
     (Hold(bending=1e12, axial=1e17, curvature=0.02, strain=-0.001),
      Hold(bending=np.inf, axial=np.inf, curvature=0.02, strain=-0.001))],
)  # fmt: skip
def test_a_very_stiff_hold_is_like_a_rigid_one(soft: Hold, hard: Hold) -> None:
    mesh, moisture = mesh_of(), wandering(13)
    one, other = (
        section.sweep(timber(), mesh, moisture, section.unstressed(moisture[0]), hold)
        for hold in (soft, hard)
    )
    # The springs are 1e8 times the section's own stiffness.
    np.testing.assert_allclose(one.curvature, other.curvature, atol=1e-7)
    np.testing.assert_allclose(one.strain, other.strain, atol=1e-8)
    np.testing.assert_allclose(one.moment, other.moment, rtol=1e-4, atol=0.1)


def test_changing_only_the_hold_moves_it_at_once_and_reversibly() -> None:
    wood, mesh, moisture = timber(60.0, 8.0), mesh_of(), wandering(17)
    left = section.sweep(wood, mesh, moisture, section.unstressed(moisture[0]))
    still = moisture[-1:].repeat(2, axis=0)
    clamped = section.sweep(wood, mesh, still, left.state, FLAT)
    let_go = section.sweep(wood, mesh, still, clamped.state)
    assert clamped.curvature[0, 0] == 0.0
    # Clamped without any change of moisture: nothing is gained by it.
    np.testing.assert_allclose(let_go.curvature[-1], left.curvature[-1], atol=1e-14)


def test_planing_both_faces_alike_of_an_even_slab_moves_nothing() -> None:
    wood, old = timber(), mesh_of()
    moisture = even([12.0])
    new = mesh_of(thickness=THICKNESS - 0.008)
    state = section.planed(section.unstressed(moisture[0]), old, new, 0.004)
    left = section.remap(moisture, old, new, 0.004)
    history = section.sweep(wood, new, left, state)
    np.testing.assert_allclose(left, 12.0, rtol=1e-12)
    np.testing.assert_allclose(history.curvature, 0.0, atol=1e-14)
    np.testing.assert_allclose(history.strain, 0.0, atol=1e-16)


def test_a_slab_dried_from_both_faces_hollows_on_the_face_it_is_dressed_on() -> None:
    """The direction, derived.

    Its shell dried first, stretched over a core still wet, and took a tensile set; when the core
    had shrunk too, the shell was too long and stands in compression, the core in tension.  Planing
    the top takes compressed wood away.  What pushed there is gone, the bottom shell still pushes:
    the bottom grows, the top closes in, the dressed face hollows, edges up.
    """
    wood, old, moisture = dried_from_both_faces()
    history = section.sweep(wood, old, moisture, section.unstressed(moisture[0]))
    assert history.stress_top[-1, 0] < -0.5e6
    assert history.stress_bottom[-1, 0] < -0.5e6
    assert abs(history.curvature[-1, 0]) < 1e-12
    new = mesh_of(thickness=THICKNESS - 0.006)
    left = section.remap(moisture[-1:], old, new, 0.006)
    top = section.sweep(wood, new, left, section.planed(history.state, old, new, 0.006))
    bottom = section.sweep(wood, new, left, section.planed(history.state, old, new, 0.0))
    assert top.curvature[0, 0] > 0.01
    assert bottom.curvature[0, 0] == pytest.approx(-top.curvature[0, 0], rel=1e-9)


def test_dressed_early_while_the_core_is_wet_it_bows_the_other_way() -> None:
    """Then the shell is still in tension: taking it from the top lets the top grow, edges down."""
    wood, old, moisture = dried_from_both_faces()
    wet = moisture[:12]
    history = section.sweep(wood, old, wet, section.unstressed(moisture[0]))
    assert history.stress_top[-1, 0] > 0.5e6
    new = mesh_of(thickness=THICKNESS - 0.006)
    left = section.remap(wet[-1:], old, new, 0.006)
    top = section.sweep(wood, new, left, section.planed(history.state, old, new, 0.006))
    assert top.curvature[0, 0] < -0.01


@given(seed=st.integers(0, 2**32 - 1), top=st.integers(0, 200), bottom=st.integers(0, 200))
def test_planing_keeps_the_water_of_the_layers_kept(seed: int, top: int, bottom: int) -> None:
    old = mesh_of()
    moisture = wandering(seed, times=2, samples=3)[-1]
    above, below = 1e-4 * top, 1e-4 * bottom
    new = mesh_of(thickness=THICKNESS - above - below)
    left = section.remap(moisture, old, new, above)
    np.testing.assert_allclose(section.remap(moisture, old, old, 0.0), moisture, rtol=1e-12)
    shavings = np.zeros(3)
    for depth, begin in ((above, 0.0), (below, THICKNESS - below)):
        if depth > 0.0:
            chip = mesh_of(thickness=depth)
            shavings += section.remap(moisture, old, chip, begin) @ chip.weight * depth
    kept = left @ new.weight * new.thickness
    # Water of the slab = water kept + water in the shavings, to rounding.
    np.testing.assert_allclose(kept + shavings, moisture @ old.weight * THICKNESS, rtol=1e-12)
    # No new extremes worth telling: told in `remap`.
    assert left.min() > moisture.min() - 0.01
    assert left.max() < moisture.max() + 0.01


def test_planing_refuses_to_take_more_than_there_is() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        section.remap(np.full((1, 21), 10.0), mesh_of(), mesh_of(thickness=0.04), 0.02)


def test_machined_flat_it_is_flat_until_its_moisture_moves() -> None:
    wood, mesh, moisture = timber(), mesh_of(), wandering(19)
    history = section.sweep(wood, mesh, moisture, section.unstressed(moisture[0]))
    flat = section.machined_flat(history.state, history.curvature[-1])
    again = section.sweep(wood, mesh, moisture[-1:], flat)
    assert abs(history.curvature[-1, 0]) > 1e-3
    np.testing.assert_allclose(again.curvature, 0.0, atol=1e-14)


def test_the_modulus_between_the_rings_is_that_of_the_turned_compliances() -> None:
    e_r, e_t, shear, nu = 1600e6, 800e6, 120e6, 0.67
    compliance = np.array(
        [[1.0 / e_t, -nu / e_r, 0.0], [-nu / e_r, 1.0 / e_r, 0.0], [0.0, 0.0, 1.0 / shear]]
    )
    for angle in np.linspace(0.0, 90.0, 13):
        c, s = np.cos(np.deg2rad(angle)), np.sin(np.deg2rad(angle))
        # Stress along the width, seen along the rings, across them, and as shear between both.
        stress = np.array([c * c, s * s, c * s])
        expected = 1.0 / (stress @ compliance @ stress)
        found = section.modulus_at_angle(e_r, e_t, shear, nu, angle)
        assert float(found) == pytest.approx(expected, rel=1e-12)


def test_stiffness_falls_with_moisture_and_no_further_above_fibre_saturation() -> None:
    moisture = np.array([[0.0, 12.0, 22.0, 30.0, 80.0]])
    found = section.stiffness(timber(), moisture)[0] / MODULUS
    np.testing.assert_allclose(found, [1.30, 1.0, 0.75, 0.55, 0.55], rtol=1e-12)


@pytest.mark.parametrize("hold", [FREE, FLAT, FIXED], ids=["free", "flat", "fixed"])
def test_free_water_that_leaves_stresses_and_sets_nothing(hold: Hold) -> None:
    mesh = mesh_of()
    dried = np.full(21, 80.0)
    dried[:6] = np.linspace(12.0, 30.0, 6)  # the top is dry, the core wet, and then less wet
    moisture = np.stack((np.full(21, 80.0), dried, np.minimum(dried, 40.0)))[:, None, :]
    history = section.sweep(timber(), mesh, moisture, section.unstressed(moisture[0]), hold)
    assert abs(history.stress_top[1, 0]) > 1e5  # Pa
    np.testing.assert_allclose(history.stress_top[2], history.stress_top[1], rtol=1e-12)
    np.testing.assert_allclose(history.stress_bottom[2], history.stress_bottom[1], rtol=1e-12)


def test_a_thin_skin_in_tension_counts_less_than_the_whole_half() -> None:
    mesh, moisture = mesh_of(), even([12.0, 11.0])
    pulled = section.sweep(timber(0.0), mesh, moisture, section.unstressed(moisture[0]), FIXED)
    whole = pulled.tension_top[1, 0]
    skin = moisture.copy()
    skin[1, 0, 1:] = 12.0
    thin = section.sweep(timber(0.0), mesh, skin, section.unstressed(skin[0]), FIXED)
    assert thin.stress_top[1, 0] == pytest.approx(pulled.stress_top[1, 0], rel=1e-12)
    share = thin.tension_top[1, 0] / whole
    half = mesh.weight[section.arm_of(mesh) < 1e-9].sum()
    # (INT s^5)^(1/5), the exponent of size 1/5 (EN 1995-1-1, memory).
    assert whole == pytest.approx(pulled.stress_top[1, 0] * half**0.2, rel=1e-9)
    assert share == pytest.approx((mesh.weight[0] / half) ** 0.2, rel=1e-9)


def test_arrays_that_do_not_fit_are_refused() -> None:
    moisture = even([12.0, 11.0])
    with pytest.raises(ValueError, match="does not fit the state"):
        section.sweep(timber(), mesh_of(), moisture, section.unstressed(moisture[0, :, 1:]))
    with pytest.raises(ValueError, match="layers"):
        section.sweep(timber(), mesh_of(31), moisture, section.unstressed(moisture[0]))
