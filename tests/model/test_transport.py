"""Transport: its pieces, and what it refuses."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from model import spread
from model.behaviour import transport
from model.properties import sorption
from model.properties.finishes import Face, Faces
from model.surroundings.calendar import YEAR
from model.surroundings.room import constant

BARE = Faces(Face(0.0), Face(0.0))
ROOM = constant(20.0, 40.0).air


def wood(samples: int = 1, fibre_saturation: float = 30.0, slope: float = 0.087) -> transport.Wood:
    return transport.Wood(np.full(samples, 1.8), slope, 0.60, fibre_saturation, np.ones(samples))


@dataclass(frozen=True)
class Swinging:
    """Outdoor air under cover: cold and damp in winter."""

    def at(self, day: float) -> tuple[float, float]:
        wave = math.cos(2.0 * math.pi * day / YEAR)
        return 15.0 - 8.0 * wave, 60.0 + 15.0 * wave


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
    # 1e-6 % M: the humidity of the surface is found to that.
    assert run.moisture == pytest.approx(np.full_like(run.moisture, held), abs=1e-6)


def test_wood_ends_in_equilibrium_with_steady_air() -> None:
    run = transport.run(wood(), transport.grid(0.025), 14.0, ROOM, BARE, 0.0, 5.0 * YEAR)
    held = float(sorption.equilibrium_moisture(20.0, 40.0))
    assert run.moisture[-1] == pytest.approx(np.full((1, run.moisture.shape[2]), held), abs=1e-3)


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
    # The potential is written with expm1: (exp(1e-9 x) - 1)/1e-9 would keep 7 digits.
    ends = [
        transport.run(wood(slope=slope), transport.grid(0.05), 12.0, ROOM, BARE, 0.0, 50.0).mean[
            -1, 0
        ]
        for slope in (-1e-9, 0.0, 1e-9)
    ]
    assert ends == pytest.approx([ends[1]] * 3, abs=2e-9)


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


def test_states_are_kept_where_a_stop_is_asked_for() -> None:
    stops = [1.0, 2.5, 77.7]
    run = transport.run(
        wood(), transport.grid(0.05), 12.0, ROOM, BARE, 0.0, 100.0, stops=[*stops, 200.0, -5.0]
    )
    assert set(stops) <= set(run.days.tolist())
    assert run.days[0] == 0.0
    assert run.days[-1] == 100.0
    assert np.all(np.diff(run.days) > 0.0)


def test_states_between_steps_are_told_and_days_outside_refused() -> None:
    run = transport.run(wood(), transport.grid(0.05), 12.0, ROOM, BARE, 10.0, 100.0)
    assert run.at([10.0, 100.0])[0] == pytest.approx(run.moisture[0])
    assert run.at([10.0, 100.0])[1] == pytest.approx(run.moisture[-1])
    for day in (9.9, 100.1):
        with pytest.raises(ValueError, match="outside"):
            run.at([day])


@pytest.mark.parametrize("fibre_saturation", [24.0, 30.0])
def test_green_wood_behind_slow_faces_takes_no_endless_number_of_steps(
    fibre_saturation: float,
) -> None:
    # Nodes that pass fibre saturation one after the other while little moves: the kink of the law
    # there must not make the steps shrink.  A bare board of 70 % takes under 300 steps a year.
    green = transport.Wood(np.array([3.15]), 0.13, 0.46, fibre_saturation, np.ones(1))
    run = transport.run(
        green, transport.grid(0.037), 68.3, Swinging(), Faces(Face(1.7), Face(30.0)), 0.0, 730.0
    )
    assert run.days.size + run.rejected < 1500


def test_a_batch_of_green_softwood_takes_no_endless_number_of_steps() -> None:
    # Varnished above and covered below, with the draws of an answer's spread: each layer of each
    # draw passes fibre saturation on another day.  An ordinary question, which must be answered.
    samples = spread.draw(128)
    green = transport.Wood(
        1.6 * spread.transport_factor(samples, 1.7), 0.087, 0.35, 30.0, samples.sorption
    )
    run = transport.run(
        green, transport.grid(0.038), 70.0, Swinging(), Faces(Face(1.7), Face(50.0)), 0.0, YEAR,
        finish_factor=samples.finish,
    )  # fmt: skip
    # 210 measured; an ordinary slab takes 40.
    assert run.days.size + run.rejected < 600
