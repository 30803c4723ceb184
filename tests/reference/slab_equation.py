"""Moisture through a slab, solved apart from the model: the yardstick of the transport tests.

Written from the published equations and sharing no code with `model.transport`: other unknowns
(means of cells, none on the faces), another grid (evenly spaced, or finer towards the faces by a
sine), the mean of both neighbours' coefficient between cells instead of its integral, a
surface found from the balance of what arrives and leaves, and scipy's BDF in time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

Floats = NDArray[np.float64]
Weather = Callable[[float], tuple[float, float]]

SECONDS_A_DAY = 86_400.0


def saturation(temperature: float) -> float:
    """Saturation pressure [Pa], Hyland-Wexler over water, ASHRAE Fundamentals ch. 1 (memory)."""
    kelvin = temperature + 273.15
    return math.exp(
        -5.8002206e3 / kelvin
        + 1.3914993
        - 4.8640239e-2 * kelvin
        + 4.1764768e-5 * kelvin**2
        - 1.4452093e-8 * kelvin**3
        + 6.5459673 * math.log(kelvin)
    )


def equilibrium(temperature: float, humidity: float) -> float:
    """Moisture [%] in air at a relative humidity [-]: FPL-GTR-190 eq. 4-5 (memory)."""
    w = 349 + 1.29 * temperature + 0.0135 * temperature**2
    kh = (0.805 + 0.000736 * temperature - 0.00000273 * temperature**2) * humidity
    k1 = 6.27 - 0.00938 * temperature - 0.000303 * temperature**2
    k2 = 1.91 + 0.0407 * temperature - 0.000293 * temperature**2
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + bound)


@dataclass
class SlabEquation:
    """A slab between two airs; thickness [m], faces' sd [m of still air], fibre saturation [%]."""

    thickness: float
    transport_factor: float
    transport_slope: float
    specific_gravity: float
    weather: Weather
    sd: tuple[float, float] = (0.0, 0.0)
    fibre_saturation: float = 30.0
    sorption: float = 1.0
    cells: int = 200
    graded: bool = True
    edges: Floats = field(init=False)
    widths: Floats = field(init=False)

    def __post_init__(self) -> None:
        even = np.linspace(0.0, 1.0, self.cells + 1)
        # Cells by the faces a fifteenth of the even ones: where a step of the air bites first.
        finer = even - 0.93 * np.sin(2.0 * np.pi * even) / (2.0 * np.pi)
        self.edges = self.thickness * (finer if self.graded else even)
        self.widths = np.diff(self.edges)

    def mean(self, moisture: Floats) -> Floats:
        """Mean moisture, cells on the last axis."""
        result: Floats = moisture @ (self.widths / self.thickness)
        return result

    def diffusion(self, moisture: Floats, temperature: float) -> Floats:
        """Coefficient [m2/s]; Siau 1984's form and density power (memory)."""
        arrhenius = math.exp(-(40_000.0 / 8.314) * (1 / (temperature + 273.15) - 1 / 293.15))
        level = self.transport_factor * 2.09e-11 * (0.60 / self.specific_gravity) ** 2.3
        clipped = np.minimum(np.maximum(moisture, 3.0), self.fibre_saturation)
        result: Floats = level * arrhenius * np.exp(self.transport_slope * (clipped - 10.0))
        return result

    def entering(self, face: int, moisture: float, temperature: float, humidity: float) -> float:
        """What one face lets in [% M m/s], by the humidity its surface takes.

        That is the one at which the vapour from the air is what the half cell behind it carries on.
        """
        resistance = (1.0 / 67.0 + self.sd[face]) / 2.0e-10
        dry_mass = 1000.0 * self.specific_gravity
        half = 0.5 * float(self.widths[-face])
        saturated = saturation(temperature)
        level = self._level(temperature)
        bound = min(moisture, self.fibre_saturation)

        def arriving(surface: float) -> float:
            return 100.0 * saturated * (0.01 * humidity - surface) / (resistance * dry_mass)

        def unbalanced(surface: float) -> float:
            held = self.sorption * equilibrium(temperature, surface)
            at_face = min(held, self.fibre_saturation)
            middle = max(0.5 * (at_face + bound), 3.0)
            carried = level * math.exp(self.transport_slope * (middle - 10.0))
            return arriving(surface) - carried * (at_face - bound) / half

        # A solver's trial states may lie outside what air can hold.
        if unbalanced(1.0) >= 0.0:
            return arriving(1.0)
        if unbalanced(0.0) <= 0.0:
            return arriving(0.0)
        return arriving(float(brentq(unbalanced, 0.0, 1.0, xtol=1e-13)))

    def _level(self, temperature: float) -> float:
        """Coefficient at 10 % M [m2/s]."""
        return float(self.diffusion(np.array(10.0), temperature))

    def rate(self, day: float, moisture: Floats) -> Floats:
        """Rate of change of every cell [% M a day]."""
        temperature, humidity = self.weather(day)
        bound = np.minimum(moisture, self.fibre_saturation)
        coefficient = self.diffusion(moisture, temperature)
        middles = 0.5 * (self.edges[1:] + self.edges[:-1])
        flux = np.empty(self.cells + 1)  # towards greater depth [% M m/s]
        between = 0.5 * (coefficient[1:] + coefficient[:-1])
        flux[1:-1] = -between * np.diff(bound) / np.diff(middles)
        flux[0] = self.entering(0, float(moisture[0]), temperature, humidity)
        flux[-1] = -self.entering(1, float(moisture[-1]), temperature, humidity)
        result: Floats = -np.diff(flux) / self.widths * SECONDS_A_DAY
        return result

    def solve(self, moisture: Floats | float, days: Sequence[float], error: float = 1e-6) -> Floats:
        """Moisture of every cell [%] at each of the days, of which the first is the start.

        Wood wetter than fibre saturation is followed by LSODA: there no cell feels its neighbour,
        and BDF's estimate of the Jacobian does not find a step to take it with.
        """
        start = np.array(np.broadcast_to(np.asarray(moisture, dtype=np.float64), (self.cells,)))
        if start.max() > self.fibre_saturation:
            means: dict[str, Any] = {"method": "LSODA", "lband": 1, "uband": 1}
        else:
            rows = np.arange(self.cells)
            means = {"method": "BDF", "jac_sparsity": np.abs(rows[:, None] - rows) <= 1}
        answer = solve_ivp(
            self.rate, (days[0], days[-1]), start, t_eval=days, rtol=error, atol=error, **means
        )
        if not answer.success:
            raise RuntimeError(answer.message)
        result: Floats = answer.y.T
        return result
