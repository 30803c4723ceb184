"""The same slab in a general library for partial differential equations, py-pde.

The library is given the equation as it stands, dM/dt = laplace(F(M)) with F the integral of the
diffusion coefficient, on its own even grid; each face's flux is a derivative of F that we compute
from the cell next to it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pde.fields import ScalarField
from pde.grids.cartesian import CartesianGrid
from pde.pdes.base import PDEBase

from tests.reference.slab_equation import SECONDS_A_DAY, SlabEquation

Floats = NDArray[np.float64]


class SlabInLibrary(PDEBase):  # type: ignore[no-untyped-call]
    """A `SlabEquation` with even cells, for py-pde's own solvers; time in days."""

    explicit_time_dependence = True

    def __init__(self, slab: SlabEquation) -> None:
        super().__init__()
        if slab.graded or slab.fibre_saturation < 30.0:
            raise ValueError("the library's grid is even, and holds wood below fibre saturation")
        self.slab = slab
        self.grid = CartesianGrid([(0.0, slab.thickness)], slab.cells)

    def potential(self, moisture: Floats) -> Floats:
        """Integral of the coefficient at 20 degC from 0 [% M m2/s]; M above 3 only."""
        slope = self.slab.transport_slope
        level = float(self.slab.diffusion(np.array(10.0), 20.0))
        low = math.exp(slope * -7.0)
        return level * ((np.exp(slope * (moisture - 10.0)) - low) / slope + 3.0 * low)

    def evolution_rate(self, state: Any, t: float = 0.0) -> Any:
        """Rate of change of moisture [% M a day]."""
        temperature, humidity = self.slab.weather(t)
        warmth = float(self.slab.diffusion(np.array(10.0), temperature)) / float(
            self.slab.diffusion(np.array(10.0), 20.0)
        )
        potential = ScalarField(self.grid, warmth * self.potential(state.data))
        entering = [
            self.slab.entering(face, float(state.data[-face]), temperature, humidity)
            for face in (0, 1)
        ]
        faces = {"x-": {"derivative": entering[0]}, "x+": {"derivative": entering[1]}}
        return potential.laplace(faces) * SECONDS_A_DAY

    def means(self, moisture: float, days: Sequence[float], error: float = 1e-5) -> Floats:
        """Mean moisture [%] on the days from uniform moisture, by the library's implicit solver."""
        state = ScalarField(self.grid, moisture)
        found = [moisture]
        for begin, end in itertools.pairwise(days):
            answer = self.solve(
                state, t_range=(begin, end), solver="scipy", method="BDF", rtol=error, atol=error,
                tracker=None, backend="numpy",
            )  # fmt: skip
            assert isinstance(answer, ScalarField)
            state = answer
            found.append(float(state.average.real))
        return np.array(found)
