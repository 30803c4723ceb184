"""Cup against a two-dimensional finite-element model made with a general library, scikit-fem.

The whole cross-section is meshed: cylindrically orthotropic wood round a pith below the slab, plane
strain, free shrinkage along and across the rings, moisture varying through the thickness.  Nothing
of plane sections, averaged ring angles or mapped rings is assumed there.
"""

from __future__ import annotations

from dataclasses import replace
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

from model import course, section, shape, spread, transport
from model.section import FREE
from model.slab import Slab
from model.species import Species, elastic, find

Floats = NDArray[np.float64]

ELM = find("American elm")
THICKNESS = 0.05  # m
START, END = 12.0, 7.0  # % M
# Contraction along R and T per strain along the grain, hardwoods: Wood Handbook Table 5-2
# (memory); they matter in plane strain by 1-2 % of the stiffness.
NU_LR, NU_LT = 0.37, 0.50
E_L = 10.0e9  # Pa


def plane_strain_stiffness(species: Species) -> Floats:
    """Stiffness (3, 3) for strains along the radius, along the ring, and engineering shear."""
    figures = elastic(species)
    coupled = -figures.nu_RT / figures.E_R
    compliance = np.array([[1.0 / figures.E_R, coupled], [coupled, 1.0 / figures.E_T]])
    along = np.array([NU_LR, NU_LT])
    compliance -= np.outer(along, along) / E_L
    stiffness = np.zeros((3, 3))
    stiffness[:2, :2] = np.linalg.inv(compliance)
    stiffness[2, 2] = figures.G_RT
    return stiffness


class CrossSection:
    """Half a cross-section, bark side up, symmetric about the middle of the width."""

    def __init__(self, width: float, pith_below: float, stretches: int = 48) -> None:
        self.half, self.pith = 0.5 * width, pith_below
        across, up = np.linspace(0.0, self.half, stretches + 1), np.linspace(0.0, THICKNESS, 13)
        mesh = MeshQuad.init_tensor(across, up)
        self.basis = Basis(mesh, ElementVector(ElementQuad2()))
        self.stiffness = plane_strain_stiffness(ELM)

    def _strains(self, gradient: Any, x: Any) -> tuple[Any, Any, Any]:
        """Strain along the radius, along the ring, and shear, of strains in width and height."""
        phi = np.arctan2(x[0], self.pith + x[1])
        s, c = np.sin(phi), np.cos(phi)
        xx, yy, xy = gradient[0, 0], gradient[1, 1], gradient[0, 1]
        radial = s * s * xx + c * c * yy + 2.0 * s * c * xy
        along = c * c * xx + s * s * yy - 2.0 * s * c * xy
        return radial, along, 2.0 * (s * c * (xx - yy) + (c * c - s * s) * xy)

    def _free(self, x: Any, moisture: Any) -> tuple[Any, Any]:
        """Free strains across and along the rings at points of the section."""
        change = moisture(THICKNESS - x[1]) - START
        over, along = (
            float(shape.coefficient(total, 30.0, START)) for total in (ELM.radial, ELM.tangential)
        )
        return over * change, along * change

    def solve(self, moisture: Any) -> Floats:
        """Displacements under a moisture that is a function of depth."""
        k = self.stiffness

        @BilinearForm
        def resists(u: Any, v: Any, w: Any) -> Any:
            r, t, g = self._strains(sym_grad(u), w.x)
            r_, t_, g_ = self._strains(sym_grad(v), w.x)
            normal = (k[0, 0] * r + k[0, 1] * t) * r_ + (k[1, 0] * r + k[1, 1] * t) * t_
            return normal + k[2, 2] * g * g_

        @LinearForm
        def drives(v: Any, w: Any) -> Any:
            r, t = self._free(w.x, moisture)
            r_, t_, _ = self._strains(sym_grad(v), w.x)
            return (k[0, 0] * r + k[0, 1] * t) * r_ + (k[1, 0] * r + k[1, 1] * t) * t_

        basis = self.basis
        middle = basis.get_dofs(lambda x: np.isclose(x[0], 0.0)).all("u^1")
        foot = basis.get_dofs(lambda x: np.isclose(x[0], 0.0) & np.isclose(x[1], 0.0)).all("u^2")
        held = np.concatenate((middle, foot))
        result: Floats = solve(
            *condense(resists.assemble(basis), drives.assemble(basis), D=held)
        )
        return result

    def cup(self, moisture: Any) -> float:
        """Height of the edge over the middle at mid-thickness [m]."""
        displaced = self.solve(moisture)
        ends = np.array([[0.0, self.half], [0.5 * THICKNESS, 0.5 * THICKNESS]])
        across_and_up = self.basis.probes(ends) @ displaced
        return float(across_and_up[3] - across_and_up[2])

    def largest_stress(self, moisture: Any) -> float:
        """Largest stress across or along the rings [Pa]."""
        field = self.basis.interpolate(self.solve(moisture))
        x = self.basis.global_coordinates().value
        r, t, g = self._strains(sym_grad(field), x)
        free_r, free_t = self._free(x, moisture)
        k = self.stiffness
        radial = k[0, 0] * (r - free_r) + k[0, 1] * (t - free_t)
        along = k[1, 0] * (r - free_r) + k[1, 1] * (t - free_t)
        return float(max(np.abs(radial).max(), np.abs(along).max(), np.abs(k[2, 2] * g).max()))


def drying_through_the_top(depth: Any) -> Any:
    """Drier at the top: 7 % there, 12 % at the bottom, bent as such profiles are."""
    share = depth / THICKNESS
    return END + (START - END) * (1.0 - (1.0 - share) ** 2)


def drying_through_the_bottom(depth: Any) -> Any:
    return drying_through_the_top(THICKNESS - depth)


def drying_through_both(depth: Any) -> Any:
    share = depth / THICKNESS
    return END + (START - END) * 4.0 * share * (1.0 - share)


def even(depth: Any) -> Any:
    return np.full_like(depth, END)


def by_the_model(width: float, pith_below: float, moisture: Any) -> float:
    """Signed cup [m] of the layered section with its rings, elastic and of one modulus."""
    slab = Slab(ELM, width, THICKNESS, pith_below=pith_below)
    mesh = transport.grid(THICKNESS, 41)
    samples = spread.draw(0)
    before = np.full((1, mesh.depth.size), START)
    now = moisture(mesh.depth)[None, :]
    timber = course.timber_of(slab, samples, np.array([START]))
    none = np.zeros(1)
    w=course._ring_weight(slab,mesh,samples)[0]
    d=float(w@(now-before)[0]); al,ov=course._slopes(ELM,samples,np.array([START]))
    rings=shape.cup_of(shape.rings(slab),shape.Strains(al*d,ov*d,none,none))
    history = section.sweep(
        replace(timber, creep=none),
        mesh,
        np.stack((before, now)),
        section.unstressed(before),
        FREE,
        shape.ring_curvature(slab, np.stack((none, rings))),
    )
    return float(history.curvature[-1, 0]) * width**2 / 8.0


if __name__ == "__main__":
    for width in (.3,.45,.6,.9):
        for pith in (.03,.06,.1,.2,.4,2.):
            fe=CrossSection(width,pith)
            print(width,pith,[f"{1e3*fe.cup(m):.3f}/{1e3*by_the_model(width,pith,m):.3f}" for m in (even,drying_through_the_top,drying_through_the_bottom,drying_through_both)], fe.largest_stress(even))
