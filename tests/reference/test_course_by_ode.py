"""A whole course against one system of equations given to scipy's general integrator.

Moisture comes from `slab_equation`, which shares no code with the model; set and the balance of the
section are written here anew, on its cells, as plain rates in time; it knows one sorption curve, so
the model follows the mean curve here.  So steps, the exact set step,
the mesh and the way stays are joined are all on trial.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from model import spread
from model.behaviour import course, section
from model.behaviour.course import Stay
from model.behaviour.slab import Slab
from model.properties.finishes import Face, Faces
from model.properties.species import elastic, from_figures
from model.surroundings import air_series, calendar
from tests.reference.slab_equation import SlabEquation

Floats = NDArray[np.float64]

THICKNESS, WIDTH, DAYS = 0.04, 0.6, 300.0
SEALED = 30.0  # m of still air on the bottom face
# As much across as along the rings, so that the rings themselves bend nothing, and straight, the
# pith very far, so that one section stands for all of the width.
WOOD = from_figures(8.0, 8.0, 0.55)
SLAB = Slab(WOOD, WIDTH, THICKNESS, pith_below=1.0e4)
START = 12.0


def weather(day: float) -> tuple[float, float]:
    """A year of 20 degC, 40 % RH give or take 15."""
    return 20.0, 40.0 - 15.0 * math.cos(2.0 * math.pi * (day + 30.0) / calendar.YEAR)


class Slow:
    """One section on the cells of the yardstick, moisture and set as one system."""

    def __init__(self, creep: float, limit: float, held_until: float, cells: int = 60) -> None:
        self.moisture = SlabEquation(
            THICKNESS,
            WOOD.transport_factor,
            WOOD.transport_slope,
            WOOD.specific_gravity,
            weather,
            sd=(0.0, SEALED),
            cells=cells,
        )
        self.cells, self.limit, self.held_until = cells, limit, held_until
        self.modulus = elastic(WOOD).E_T
        self.compliance = creep / self.modulus
        self.swelling = 0.08 / 30.0 / (1.0 - 0.08 * (1.0 - START / 30.0))
        edges = self.moisture.edges - 0.5 * THICKNESS
        self.area = np.diff(edges)
        self.first = np.diff(edges**2) / 2.0
        self.second = np.diff(edges**3) / 3.0
        self.arm = self.first / self.area

    def section(self, moisture: Floats, creep: Floats, flat: bool) -> tuple[Floats, float, float]:
        """Stress of every cell, curvature, moment: two equations of balance."""
        modulus = self.modulus * (1.0 - 0.025 * (moisture - 12.0))
        free = self.swelling * (moisture - START) + creep
        sums = [
            float(modulus @ self.area), float(modulus @ self.first), float(modulus @ self.second)
        ]  # fmt: skip
        load = [float((modulus * free) @ self.area), float((modulus * free) @ self.first)]
        if flat:
            strain, curvature = load[0] / sums[0], 0.0
        else:
            matrix = np.array([[sums[0], sums[1]], [sums[1], sums[2]]])
            strain, curvature = np.linalg.solve(matrix, load)
        stress = modulus * (strain + curvature * self.arm - free)
        return stress, float(curvature), sums[1] * strain + sums[2] * curvature - load[1]

    def rate(self, day: float, state: Floats) -> Floats:
        moisture, creep = state[: self.cells], state[self.cells :] * 1e-3
        drying = self.moisture.rate(day, moisture)
        stress, _, _ = self.section(moisture, creep, day < self.held_until)
        pull = stress - creep * self.modulus / self.limit
        grows = self.compliance * np.abs(0.01 * drying) * pull
        # Thousandths of strain, so that one tolerance serves both halves.
        return np.concatenate((drying, 1e3 * grows))

    def cups(self, days: Floats) -> Floats:
        """Cup [mm] on the days, which must not include the day of release."""
        state = np.concatenate((np.full(self.cells, START), np.zeros(self.cells)))
        found: list[float] = []
        legs = [(0.0, self.held_until), (self.held_until, DAYS)]
        for begin, end in legs:
            if end <= begin:
                continue
            inside = days[(days > begin) & (days < end)]
            answer = solve_ivp(
                self.rate, (begin, end), state, "LSODA", np.append(inside, end),
                rtol=1e-5, atol=1e-5,
            )  # fmt: skip
            state = answer.y[:, -1]
            for column in answer.y.T[: inside.size]:
                _, curvature, _ = self.section(
                    column[: self.cells], column[self.cells :] * 1e-3, begin < self.held_until
                )
                found.append(1000.0 * curvature * WIDTH**2 / 8.0)
        return np.array(found)


def by_the_model(creep: float, limit: float, held_until: float, days: Floats) -> Floats:
    """The same course by the model."""
    angle = np.arange(3650) / 3650.0 * calendar.YEAR
    air = air_series.Air(
        angle, np.full(3650, 20.0), np.array([weather(day)[1] for day in angle]), calendar.YEAR
    )
    one = spread.draw(0)
    columns = {name: getattr(one, name) for name in one.__slots__}
    columns |= {
        "mechano": np.array([creep]),
        "creep_limit": np.array([limit]),
        "unlimited": np.array([math.isinf(limit)]),
    }
    faces = Faces(Face(0.0), Face(SEALED))
    stays = [Stay(air, DAYS - held_until, faces)]
    if held_until > 0.0:
        stays.insert(0, Stay(air, held_until, faces, section.FLAT))
    found = course.run(SLAB, START, stays, spread.Samples(**columns), came="mean")
    return np.interp(days, found.days, 1000.0 * found.cup[:, 0])


@pytest.mark.parametrize(
    ("creep", "limit", "held_until"),
    [(0.0, np.inf, 0.0), (60.0, np.inf, 0.0), (60.0, 8.0, 0.0), (120.0, 8.0, 50.5)],
)
def test_a_years_cup_agrees_with_a_general_integrator(
    creep: float, limit: float, held_until: float
) -> None:
    days = np.arange(5.0, DAYS, 10.0)
    expected = Slow(creep, limit, held_until).cups(days)
    found = by_the_model(creep, limit, held_until, days)
    # 2 % of the largest cup: mesh of 25 nodes, steps aimed at 0.02 % M.
    np.testing.assert_allclose(found, expected, atol=0.02 * np.abs(expected).max())
