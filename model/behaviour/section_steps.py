"""The steps of `section` through a history of moisture, compiled: one sample after the other.

Within a step the set is integrated exactly for a strain that runs linearly with the layer's
moisture.  With x the set and g = e + k a - e_free: dx/d|u| = m E (g - x) - m E12 x / J.  Hence,
with L = m (E + E12/J) |du| and c = (1 - exp(-L))/L,
x1 = exp(-L) x0 + E/(E + E12/J) [(c - exp(-L)) g0 + (1 - c) g1].
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from model.behaviour.compiled import compiled, inlined

Floats = NDArray[np.float64]

MODULUS_REFERENCE: Final = 12.0  # % M at which moduli and strengths are listed
LARGEST_STEP: Final = 1.0  # % M in one step of one layer; see `section.sweep` for what it leaves
# Below it (1 - exp(-L))/L is taken by its series: as exact, and half the time; without it the
# quotient loses its digits where nothing changes.
SMALL_EXPONENT: Final = 0.2


class Wood(NamedTuple):
    """`section.Timber`, each array (samples,); backing : modulus over J [Pa]."""

    swelling: Floats
    modulus: Floats
    creep: Floats
    backing: Floats
    starts: float
    saturation: float
    softening: float


class Held(NamedTuple):
    """`section.Hold`, each array (samples,)."""

    bending: Floats
    axial: Floats
    curvature: Floats
    strain: Floats


class Section(NamedTuple):
    """The layers: arm below the middle [m], width [m], and shares of the thickness by halves."""

    arm: Floats
    layer: Floats
    upper: Floats
    lower: Floats
    exponent: float


class Told(NamedTuple):
    """What became of the section, filled in.

    columns : the first eight of `section.History` in their order, (8, times, samples); stress :
    (times, samples or none, nodes).
    """

    columns: Floats
    stress: Floats


class _Layers(NamedTuple):
    """What a sample's layers carry from step to step, and room to work in."""

    moisture: Floats
    modulus: Floats
    strained: Floats  # strain less free strain
    creep: Floats
    free: Floats
    kept: Floats
    fresh: Floats


@inlined
def _modulus(wood: Wood, sample: int, moisture: float) -> float:
    """Modulus of a layer [Pa] at its moisture [%]."""
    below = min(moisture, wood.saturation)
    result: float = wood.modulus[sample] * (1.0 - wood.softening * (below - MODULUS_REFERENCE))
    return result


@inlined
def _balance(
    held: Held, sample: int, s0: float, s1: float, s2: float, force: float, moment: float
) -> tuple[float, float]:
    """Strain and curvature under what the free strains pull: an infinite spring fixes its own."""
    bending, axial = held.bending[sample], held.axial[sample]
    curvature, strain = held.curvature[sample], held.strain[sample]
    flat, fixed = bending == math.inf, axial == math.inf
    if flat and fixed:
        return strain, curvature
    if flat:
        return (force + axial * strain - s1 * curvature) / (s0 + axial), curvature
    if fixed:
        return strain, (moment + bending * curvature - s1 * strain) / (s2 + bending)
    s0 += axial
    s2 += bending
    force += axial * strain
    moment += bending * curvature
    determinant = s0 * s2 - s1 * s1
    return (s2 * force - s1 * moment) / determinant, (s0 * moment - s1 * force) / determinant


@inlined
def _step(
    wood: Wood, held: Held, section: Section, sample: int, layers: _Layers,
    unstrained: Floats, bent: float, part: float, target: Floats,
) -> tuple[float, float]:  # fmt: skip
    """Bring every layer a part of its way to a moisture; strain and curvature there."""
    s0 = s1 = s2 = force = moment = 0.0
    backing = wood.backing[sample]
    for i in range(target.size):
        capped = min(target[i], max(wood.saturation, wood.starts))
        now = layers.moisture[i] + part * (capped - layers.moisture[i])
        modulus = _modulus(wood, sample, now)
        between = 0.5 * (modulus + layers.modulus[i])
        exponent = (wood.creep[sample] / wood.modulus[sample]) * (between + backing)
        exponent *= 0.01 * abs(now - layers.moisture[i])
        x = exponent
        if x < SMALL_EXPONENT:
            series = 1 / 24 - x * (1 / 120 - x * (1 / 720 - x * (1 / 5040 - x * (1 / 40320))))
            share = 1.0 - x * (1 / 2 - x * (1 / 6 - x * series))
            keep = 1.0 - x * share
        else:
            keep = math.exp(-x)
            share = (1.0 - keep) / x
        follows = between / (between + backing)
        kept = keep * layers.creep[i] + follows * (share - keep) * layers.strained[i]
        fresh = follows * (1.0 - share)
        moved = min(now, wood.starts) - min(unstrained[i], wood.starts)
        free = wood.swelling[sample] * moved + bent * section.arm[i]
        soft = modulus * (1.0 - fresh)
        pull = (modulus * kept + soft * free) * section.layer[i]
        force += pull
        moment += pull * section.arm[i]
        s0 += soft * section.layer[i]
        s1 += soft * section.layer[i] * section.arm[i]
        s2 += soft * section.layer[i] * section.arm[i] * section.arm[i]
        layers.moisture[i], layers.modulus[i] = now, modulus
        layers.free[i], layers.kept[i], layers.fresh[i] = free, kept, fresh
    strain, curvature = _balance(held, sample, s0, s1, s2, force, moment)
    for i in range(target.size):
        strained = strain + curvature * section.arm[i] - layers.free[i]
        layers.strained[i] = strained
        layers.creep[i] = layers.fresh[i] * strained + layers.kept[i]
    return strain, curvature


@inlined
def _tell(
    section: Section, layers: _Layers, told: Told, row: int, sample: int,
    strain: float, curvature: float,
) -> None:  # fmt: skip
    force = moment = upper = lower = 0.0
    last = layers.creep.size - 1
    every = sample < told.stress.shape[1]
    for i in range(last + 1):
        stress = layers.modulus[i] * (layers.strained[i] - layers.creep[i])
        force += stress * section.layer[i]
        moment += stress * section.layer[i] * section.arm[i]
        if stress > 0.0:
            fifth = stress * stress
            fifth *= fifth * stress
            upper += section.upper[i] * fifth
            lower += section.lower[i] * fifth
        if i == 0:
            told.columns[4, row, sample] = stress
        if i == last:
            told.columns[5, row, sample] = stress
        if every:
            told.stress[row, sample, i] = stress
    told.columns[0, row, sample] = curvature
    told.columns[1, row, sample] = strain
    told.columns[2, row, sample] = moment
    told.columns[3, row, sample] = force
    told.columns[6, row, sample] = upper**section.exponent
    told.columns[7, row, sample] = lower**section.exponent


@compiled
def sweep(
    wood: Wood, held: Held, section: Section, moisture: Floats, rings: Floats,
    unstrained: Floats, form: Floats, creep: Floats, told: Told,
) -> None:  # fmt: skip
    """Carry samples through a history; `creep` (samples, nodes) is brought to its end.

    At the first time the section is only brought into balance.  A step in which a layer moves by
    more than `LARGEST_STEP` is divided, straight in moisture and in the rings' curvature.
    """
    times, samples, nodes = moisture.shape
    cap = max(wood.saturation, wood.starts)
    layers = _Layers(
        np.empty(nodes), np.empty(nodes), np.empty(nodes), np.empty(nodes),
        np.empty(nodes), np.empty(nodes), np.empty(nodes),
    )  # fmt: skip
    for sample in range(samples):
        for i in range(nodes):
            layers.moisture[i] = min(moisture[0, sample, i], cap)
            layers.modulus[i] = _modulus(wood, sample, layers.moisture[i])
            layers.strained[i] = 0.0
            layers.creep[i] = creep[sample, i]
        for row in range(times):
            largest = 0.0
            for i in range(nodes):
                change = min(moisture[row, sample, i], cap) - layers.moisture[i]
                largest = max(largest, abs(change))
            parts = max(1, math.ceil(largest / LARGEST_STEP - 1e-9))
            before = rings[max(row - 1, 0), sample]
            strain = curvature = 0.0
            for part in range(1, parts + 1):
                ring = before + (rings[row, sample] - before) * (part / parts)
                strain, curvature = _step(
                    wood, held, section, sample, layers, unstrained[sample],
                    ring + form[sample], 1.0 / (parts - part + 1), moisture[row, sample],
                )  # fmt: skip
            _tell(section, layers, told, row, sample, strain, curvature)
        for i in range(nodes):
            creep[sample, i] = layers.creep[i]
