"""The same slab by scipy's own solvers, as quick as we can write it: what the bench divides by.

Finite volumes about graded nodes and the integral of the coefficient, as in the model, so that as
many unknowns miss by as much; only the means in time differ.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from tests.reference.slab_equation import SECONDS_A_DAY, SlabEquation, saturation

Floats = NDArray[np.float64]
Method = Literal["BDF", "LSODA"]


class QuickSlab:
    """A slab below fibre saturation for `solve_ivp`, with an exact Jacobian of three bands."""

    def __init__(self, slab: SlabEquation, depth: Floats) -> None:
        self.slab = slab
        edges = np.concatenate(([0.0], 0.5 * (depth[1:] + depth[:-1]), [depth[-1]]))
        self.per_volume = SECONDS_A_DAY / np.diff(edges)
        self.per_gap = 1.0 / np.diff(depth)
        self.weight = np.diff(edges) / depth[-1]
        self.level = float(slab.diffusion(np.array(10.0), 20.0))
        self.admittance = [
            100.0 / (1000.0 * slab.specific_gravity) * 2.0e-10 / (1.0 / 67.0 + sd) for sd in slab.sd
        ]
        self.last = [0.4, 0.4]

    def _surface(self, face: int, moisture: float, temperature: float) -> tuple[float, float]:
        """Humidity over a face and its rise per % M: Newton's method from the last answer."""
        w = 349 + 1.29 * temperature + 0.0135 * temperature**2
        k = 0.805 + 0.000736 * temperature - 0.00000273 * temperature**2
        a = 6.27 - 0.00938 * temperature - 0.000303 * temperature**2
        b = a * (1.91 + 0.0407 * temperature - 0.000293 * temperature**2)
        wanted, x = moisture * w / (1800.0 * self.slab.sorption), self.last[face]
        for _ in range(20):
            below = 1.0 + x * (a + b * x)
            share = x * (a + 2.0 * b * x) / below
            rise = 1.0 / (1.0 - x) ** 2 + (a + 4.0 * b * x - share * (a + 2.0 * b * x)) / below
            step = (x / (1.0 - x) + share - wanted) / rise
            x = min(max(x - step, 0.0), 0.99)
            if abs(step) < 1e-9:
                break
        self.last[face] = x
        return x / k, w / (1800.0 * self.slab.sorption * rise * k)

    def _warmth(self, temperature: float) -> float:
        return math.exp(-(40_000.0 / 8.314) * (1 / (temperature + 273.15) - 1 / 293.15))

    def rate(self, day: float, moisture: Floats) -> Floats:
        """Rate of change at every node [% M a day]."""
        temperature, humidity = self.slab.weather(day)
        slope = self.slab.transport_slope
        potential = np.exp(slope * (moisture - 10.0)) * (self.level / slope)
        flux = np.empty(moisture.size + 1)
        flux[1:-1] = (potential[1:] - potential[:-1]) * self.per_gap * self._warmth(temperature)
        pressure = saturation(temperature)
        for face, place in ((0, 0), (1, -1)):
            surface, _ = self._surface(face, float(moisture[place]), temperature)
            entering = self.admittance[face] * pressure * (0.01 * humidity - surface)
            flux[place] = entering if face else -entering
        result: Floats = (flux[1:] - flux[:-1]) * self.per_volume
        return result

    def bands(self, day: float, moisture: Floats) -> tuple[Floats, Floats, Floats]:
        """Lower, middle and upper band of the Jacobian [1/day]."""
        temperature, _ = self.slab.weather(day)
        level = self.level * self._warmth(temperature)
        rise = np.exp(self.slab.transport_slope * (moisture - 10.0)) * level
        conduct = np.concatenate(([0.0], self.per_gap, [0.0]))
        middle = -rise * (conduct[1:] + conduct[:-1])
        pressure = saturation(temperature)
        for face, place in ((0, 0), (1, -1)):
            _, steep = self._surface(face, float(moisture[place]), temperature)
            middle[place] -= self.admittance[face] * pressure * steep
        lower = rise[:-1] * self.per_gap * self.per_volume[1:]
        upper = rise[1:] * self.per_gap * self.per_volume[:-1]
        return lower, middle * self.per_volume, upper

    def jacobian(self, day: float, moisture: Floats) -> Floats:
        """The Jacobian, full: below some hundred nodes quicker in BDF than a sparse one."""
        lower, middle, upper = self.bands(day, moisture)
        return np.diag(middle) + np.diag(lower, -1) + np.diag(upper, 1)

    def packed(self, day: float, moisture: Floats) -> Floats:
        """The Jacobian by bands, as LSODA's Fortran takes it."""
        lower, middle, upper = self.bands(day, moisture)
        return np.stack([np.append(0.0, upper), middle, np.append(lower, 0.0)])

    def means(self, moisture: float, days: Sequence[float], error: float, method: Method) -> Floats:
        """Mean moisture [%] on the days, of which the first is the start."""
        self.last = [0.4, 0.4]
        options: dict[str, Any] = {"jac": self.jacobian}
        if method == "LSODA":
            options = {"jac": self.packed, "lband": 1, "uband": 1}
        answer = solve_ivp(
            self.rate, (days[0], days[-1]), np.full(self.weight.size, moisture),
            method=method, t_eval=days, rtol=error, atol=error, **options,
        )  # fmt: skip
        if not answer.success:
            raise RuntimeError(answer.message)
        result: Floats = answer.y.T @ self.weight
        return result
