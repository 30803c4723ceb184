"""Bars against a two-dimensional finite-element model made with a general library, scikit-fem.

A strip of slab is meshed in its cross-section, orthotropic, plane strain, bent by a free strain
that runs straight through its thickness; a straight bar lies under it, tied by fixings that
stretch, and presses on it wherever they touch.  Nothing of plane sections or of one stiffness of
both is assumed of the slab; the bar is a beam.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from skfem import (
    Basis,
    BilinearForm,
    ElementQuad2,
    ElementVector,
    LinearForm,
    MeshQuad,
    condense,
    solve,
)
from skfem.helpers import sym_grad

from model.behaviour import restraint

Floats = NDArray[np.float64]

E_T, E_R, G_RT, NU_RT = 970e6, 2200e6, 250e6, 0.5  # white oak across the grain [Pa]
WIDTH, STRIP = 0.600, 0.5  # m
RIGID = 1.0e11  # N/m, of a touch
CLOSE = 1e-9
STATIONS = 30  # along half of the width


class Strip:
    """Half of a strip of slab, symmetric about its middle, resting nowhere."""

    def __init__(self, thickness: float, curvature: float) -> None:
        self.thickness = thickness
        mesh = MeshQuad.init_tensor(
            np.linspace(0.0, 0.5 * WIDTH, STATIONS + 1), np.linspace(0.0, thickness, 7)
        )
        basis = Basis(mesh, ElementVector(ElementQuad2()))
        compliance = np.array([[1.0 / E_T, -NU_RT / E_R], [-NU_RT / E_R, 1.0 / E_R]])
        k = STRIP * np.linalg.inv(compliance)

        @BilinearForm
        def resists(u: Any, v: Any, w: Any) -> Any:
            e, e_ = sym_grad(u), sym_grad(v)
            normal = (k[0, 0] * e[0, 0] + k[0, 1] * e[1, 1]) * e_[0, 0]
            normal += (k[1, 0] * e[0, 0] + k[1, 1] * e[1, 1]) * e_[1, 1]
            return normal + 4.0 * STRIP * G_RT * e[0, 1] * e_[0, 1]

        @LinearForm
        def drives(v: Any, w: Any) -> Any:
            # The top is the shorter face where the edges want up.
            free = -curvature * (w.x[1] - 0.5 * thickness)
            e_ = sym_grad(v)
            return free * (k[0, 0] * e_[0, 0] + k[1, 0] * e_[1, 1])

        nodal = basis.nodal_dofs
        y = basis.doflocs[1, nodal[1]]
        under = nodal[1][y < CLOSE]
        self.under = under[np.argsort(basis.doflocs[0, under])]
        self.across = basis.doflocs[0, self.under]
        sideways = np.concatenate(
            [part[0] for part in (nodal, basis.facet_dofs, basis.interior_dofs)]
        )
        middle = sideways[basis.doflocs[0, sideways] < CLOSE]
        held = np.concatenate((middle, [self.under[0]]))
        matrix = resists.assemble(basis)
        self.free = solve(*condense(matrix, drives.assemble(basis), D=held))[self.under]
        bends = np.zeros((self.under.size, self.under.size))
        for column, node in enumerate(self.under[1:], start=1):
            load = np.zeros(matrix.shape[0])
            load[node] = 1.0
            bends[:, column] = solve(*condense(matrix, load, D=held))[self.under]
        self.bends = bends

    def on(self, bar: float, fixings: tuple[float, ...], rate: float) -> tuple[Floats, float]:
        """Pulls on the fixings from the middle out, and the share of the cup that is left."""
        a, x = self.across[:, None], self.across[None, :]
        # A cantilever from the middle: deflection at a by a load at x.
        low, high = np.minimum(a, x), np.maximum(a, x)
        beam = low**2 * (3.0 * high - low) / (6.0 * bar)
        tied = np.array([np.argmin(np.abs(self.across - one)) for one in fixings])
        # A fixing in the middle belongs to both halves.
        rates = np.zeros(self.across.size)
        rates[tied] = np.where(self.across[tied] < CLOSE, 0.5 * rate, rate)
        count = self.across.size
        stiff = rates.copy()
        lift = np.zeros(count)
        for _ in range(200):
            # lift = free + rise + (slab + bar) force, force = -stiff lift, their sum nought.
            matrix = np.zeros((count + 1, count + 1))
            matrix[:count, :count] = np.eye(count) + (self.bends + beam) * stiff
            matrix[:count, count] = -1.0
            matrix[count, :count] = stiff
            solved = np.linalg.solve(matrix, np.append(self.free, 0.0))
            lift = solved[:count]
            now = np.where(lift < 0.0, RIGID, rates)
            if np.array_equal(now, stiff):
                break
            stiff = now
        force = -stiff * lift
        shape = self.free + self.bends @ force
        pulls = np.maximum(rate * lift[tied], 0.0)
        return pulls, float((shape[-1] - shape[0]) / (self.free[-1] - self.free[0]))


CASES = [
    # thickness, cup [mm], EI of the bar [N m2], fixings from the middle
    (0.050, 0.010, 2000.0, (0.0, 0.25)),
    (0.050, 0.010, 11123.0, (0.0, 0.25)),
    (0.050, -0.010, 11123.0, (0.0, 0.25)),
    (0.030, 0.010, 2000.0, (0.08, 0.26)),
    (0.030, -0.010, 2000.0, (0.08, 0.26)),
    (0.050, -0.010, 40000.0, (0.0, 0.13, 0.26)),
    (0.050, 0.010, 40000.0, (0.0, 0.13, 0.26)),
]


@pytest.mark.parametrize(("thickness", "cup", "bar", "fixings"), CASES)
def test_pulls_and_the_cup_that_is_left_agree_with_finite_elements(
    thickness: float, cup: float, bar: float, fixings: tuple[float, ...]
) -> None:
    curvature = 8.0 * cup / WIDTH**2
    rate = restraint.axial_slip(0.008, 0.030)
    pulls, left = Strip(thickness, curvature).on(bar, fixings, rate)
    wood = E_T * STRIP * thickness**3 / 12.0
    points = sorted({0.5 * WIDTH + sign * one for one in fixings for sign in (-1.0, 1.0)})
    made = restraint.contact(curvature, (wood, bar), WIDTH, (0.0, WIDTH), points, rate)
    mine = dict(zip(np.round(points, 6), made.pulls, strict=True))
    told = np.array([mine[round(0.5 * WIDTH + one, 6)] for one in fixings])
    # 15 % of the largest pull, and of the cup that is taken out; shear in the slab is not in ours.
    assert told == pytest.approx(pulls, abs=0.15 * float(pulls.max()))
    assert 1.0 - made.share == pytest.approx(1.0 - left, rel=0.15)
