"""The section against closed forms and printed rules of the trade.

Crank's series stands for the moisture, so that only the section is on trial; where a law of
transport is needed, `model.transport` supplies it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import minimize_scalar

from model.behaviour import section, transport
from model.behaviour.section import FREE, Hold, Timber
from model.properties.finishes import Face, Faces
from model.properties.sorption import equilibrium_moisture, humidity_of_moisture
from model.properties.species import find
from model.surroundings import room

Floats = NDArray[np.float64]

THICKNESS = 0.05  # m
WIDTH = 0.6  # m
# Largest curvature of a plate with one face sealed and the other stepped, constant diffusion:
# kappa t/(alpha dM), and the Fourier number when it comes; from Crank's series (The Mathematics of
# Diffusion, 1975, eq. 4.17), computed to twelve digits.
LARGEST_CURVATURE = 0.960126
AT_FOURIER = 0.084590


def timber(creep: ArrayLike, swelling: float = 0.0035, limit: ArrayLike = np.inf) -> Timber:
    creep, limit = np.broadcast_arrays(np.atleast_1d(creep).astype(float), limit)
    return Timber(
        swelling=np.full(creep.size, swelling),
        starts=30.0,
        saturation=30.0,
        modulus=np.full(creep.size, 800e6),
        creep=np.array(creep, dtype=float),
        limit=np.array(limit, dtype=float),
    )


def moisture_left(depth: Floats, fourier: ArrayLike) -> Floats:
    """Share of the moisture step still to come; top face stepped, bottom sealed (Crank 4.17)."""
    root = (np.arange(400) + 0.5) * np.pi
    time = np.asarray(fourier, dtype=float)[..., None, None]
    series = 2.0 * (-1.0) ** np.arange(400) / root * np.exp(-(root**2) * time)
    result: Floats = (series * np.cos(root * (1.0 - depth / THICKNESS)[:, None])).sum(axis=-1)
    return result


@pytest.mark.parametrize("nodes", [21, 41])
def test_a_slab_sealed_on_one_face_cups_as_much_and_as_soon_as_the_closed_form_says(
    nodes: int,
) -> None:
    # The closed form knows one modulus.
    stiff = replace(timber(0.0), softening=0.0)
    mesh = transport.grid(THICKNESS, nodes)
    before = np.full((1, 1, nodes), 12.0)

    def curvature(fourier: float) -> float:
        now = (8.0 + 4.0 * moisture_left(mesh.depth, fourier))[None, None, :]
        moisture = np.concatenate((before, now))
        history = section.sweep(stiff, mesh, moisture, section.unstressed(before[0]))
        return float(history.curvature[-1, 0]) * THICKNESS / (0.0035 * 4.0)

    found = minimize_scalar(lambda fourier: -curvature(fourier), bounds=(0.05, 0.15))
    assert -found.fun == pytest.approx(LARGEST_CURVATURE, rel=0.005)  # measured: 0.01 % at 21 nodes
    assert found.x == pytest.approx(AT_FOURIER, rel=0.005)


def dried_through_one_face() -> tuple[Floats, transport.Grid, Floats]:
    """50 mm, G 0.60, C 1.8, b 0.087: 12 to 7 % M through the top face, the bottom sealed."""
    mesh = transport.grid(THICKNESS)
    wood = transport.Wood(np.array([1.8]), 0.087, 0.60, 30.0, np.ones(1))
    dry = float(humidity_of_moisture(20.0, 7.0))
    run = transport.run(
        wood, mesh, 12.0, room.constant(20.0, dry).air, Faces(Face(0.0), Face(1e6)), 0.0, 150.0
    )
    return run.days, mesh, run.moisture


def test_set_makes_the_largest_cup_smaller_as_an_independent_run_of_the_model_has_it() -> None:
    days, mesh, moisture = dried_through_one_face()
    wood = timber([0.0, 32.0, 60.0, 150.0])
    moisture = np.repeat(moisture, 4, axis=1)
    history = section.sweep(wood, mesh, moisture, section.unstressed(moisture[0]))
    cup = 1000.0 * history.curvature * WIDTH**2 / 8.0
    # Sizes computed elsewhere with one modulus for all moistures and another mesh: 14.1 mm
    # elastic, 11.8 at mE 32, 7.9 at 150, near day 60 to 66.  Falling modulus and mesh make 1.7 and
    # 2 % (14.2, 12.1, 10.7, 8.0 here with one modulus): 3 %.
    np.testing.assert_allclose(cup.max(axis=0)[[0, 1, 3]], [14.1, 11.8, 7.9], rtol=0.03)
    # At mE 60 that run says "about 10"; here it is 10.5, five per cent more than the word.
    assert cup[:, 1].max() > cup[:, 2].max() > cup[:, 3].max()
    assert cup[:, 2].max() == pytest.approx(10.5, abs=0.1)
    # Steps are four to six days there; the curve is flat to 0.5 % over ten days.
    assert 55.0 < days[cup[:, 0].argmax()] < 70.0


def test_dried_through_with_set_left_the_cup_has_turned_over() -> None:
    _, mesh, moisture = dried_through_one_face()
    even = np.full((1, 1, mesh.depth.size), 7.0)
    moisture = np.concatenate((moisture, even))
    history = section.sweep(timber(60.0), mesh, moisture, section.unstressed(moisture[0]))
    # Told in words for boards dried through one face: it hollows there first and then turns over.
    assert history.curvature.max() > 0.15
    assert history.curvature[-1, 0] < -0.01


def narrowing(creep: float, limit: float) -> float:
    """Permanent narrowing [%] of yellow-poplar kept from swelling from 20 to 80 % RH and back."""
    low, high = (float(equilibrium_moisture(20.0, humidity)) for humidity in (20.0, 80.0))
    shrinkage = find("yellow-poplar").tangential
    swelling = shrinkage / 3000.0 / (1.0 - shrinkage / 100.0 * (1.0 - low / 30.0))
    mesh = transport.grid(0.02)
    wetting = np.repeat(np.linspace(low, high, 60)[:, None, None], mesh.depth.size, axis=2)
    wood = timber(creep, swelling, limit)
    held = section.sweep(
        wood, mesh, wetting, section.unstressed(wetting[0]), Hold(bending=np.inf, axial=np.inf)
    )
    freed = section.sweep(wood, mesh, wetting[::-1], held.state, FREE)
    return -100.0 * float(freed.strain[-1, 0])


def test_wood_kept_from_swelling_is_narrower_for_good_by_the_printed_rule() -> None:
    # Hoadley, Understanding Wood (printed): what is lost is the swelling less the elastic limit of
    # 0.5 to 1 %; for poplar tangentially from 20 to 80 % RH 2.2 to 2.9 %.
    assert 2.2 < narrowing(60.0, np.inf) < 2.9
    # The limited law lets most of it come back on the way down, against that rule: it is a law
    # for many seasons, and about 1.1 % is left.
    assert 0.8 < narrowing(60.0, 8.0) < 1.5
