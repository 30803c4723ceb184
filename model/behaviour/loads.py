"""Loads on a slab: its own weight, somebody who sits on an edge or corner, spans along the grain.

Across the grain a slab is soft and weak.  A load on an edge that overhangs across the grain is
spread along it by the stiffness along the grain: the moment at the support does not depend on how
far the edge stands out, its sag does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from model.behaviour.slab import Slab
from model.properties import strength
from model.properties.species import Species, elastic

GRAVITY: Final = 9.80665  # m/s2 (definition)
PERSON: Final = 1300.0  # N, a seat's static load, user of 110 kg; EN 12520 (printed second-hand)
# Moment at the support per load and 1/lambda, lambda = (E_L/E_T)^(1/4): the middle of an edge
# (computed; an isotropic plate 0.51, Jaramillo 1950, memory); a corner by how far it stands out.
EDGE: Final = 0.50
CORNERS: Final = ((0.3, 1.2), (0.5, 1.4))  # m, -
# Sag under the load per P a^2/(E_T t^3 lambda) (computed).
SAG_EDGE: Final = 2.1
SAG_CORNER: Final = 5.8
SAFE_SHARE: Final = 0.3  # of the strength across the grain of a test piece (judgement)
MOST_SAG: Final = 5.0e-3  # m under a person (judgement)
# Creep across the grain over the elastic sag: steady air, with seasons (judgement; printed 5-10
# times the elastic strain in cycles, Toratti & Svensson).
CREEP_STEADY: Final = 2.0
CREEP_SEASONS: Final = 5.0
CREEP_ALONG: Final = 0.6  # EN 1995-1-1 k_def, service class 1, along the grain (memory)


def stiffer_along(species: Species) -> float:
    """(E_L/E_T)^(1/4) [-]."""
    return float((strength.modulus_along(species) / elastic(species).E_T) ** 0.25)


def on_an_edge(species: Species, load: float, ratio: float | None = None) -> float:
    """Moment per metre of support by a load on the middle of an edge [N m/m].

    Parameters
    ----------
    species : Species
    load : float
        [N].
    ratio : float, optional
        lambda, of the species when left out.
    """
    return EDGE * load / (stiffer_along(species) if ratio is None else ratio)


def on_a_corner(
    species: Species, load: float, overhang: float, ratio: float | None = None
) -> float:
    """Moment per metre of support by a load on a corner that stands out so far [m] [N m/m]."""
    (near, low), (far, high) = CORNERS
    factor = low + (high - low) * (overhang - near) / (far - near)
    factor = float(np.clip(factor, EDGE, 2.0))
    return factor * load / (stiffer_along(species) if ratio is None else ratio)


def stress(moment: float, thickness: float) -> float:
    """Stress across the grain by a moment per metre [Pa].

    Examples
    --------
    >>> round(stress(0.50 * 1300.0 / 1.93, 0.050) / 1e6, 2)
    0.81
    """
    return 6.0 * moment / thickness**2


def thick_enough(moment: float, tension_across: float) -> float:
    """Thickness at which a moment per metre is safe [m]: stress a third of the strength.

    Examples
    --------
    >>> [round(1e3 * thick_enough(one * 1300.0 / 1.93, 5.5e6)) for one in (0.50, 1.2)]
    [35, 54]
    """
    return float(np.sqrt(6.0 * moment / (SAFE_SHARE * tension_across)))


def sag_of_load(
    load: float, overhang: float, thickness: float, modulus: float, ratio: float, factor: float
) -> float:
    """Sag of an edge or corner under a load [m].

    Parameters
    ----------
    load, overhang, thickness : float
        [N, m, m].
    modulus : float
        E_T [Pa].
    ratio, factor : float
        lambda; `SAG_EDGE` or `SAG_CORNER`.

    Examples
    --------
    >>> [round(1e3 * sag_of_load(1300.0, 0.3, 0.05, 970e6, 1.93, one), 2) for one in (2.1, 5.8)]
    [1.05, 2.9]
    """
    return factor * load * overhang**2 / (modulus * thickness**3 * ratio)


def sag_of_weight(
    overhang: float, thickness: float, modulus: float, density: float, creep: float = 0.0
) -> float:
    """Sag of an overhanging edge by its own weight, creep counted [m].

    Examples
    --------
    >>> round(1e3 * sag_of_weight(0.3, 0.05, 970e6, 750.0), 3)
    0.037
    >>> round(1e3 * sag_of_weight(0.5, 0.03, 970e6, 750.0), 2)
    0.79
    """
    weight = density * GRAVITY
    return 1.5 * weight * overhang**4 * (1.0 + creep) / (modulus * thickness**2)


def sag_along(span: float, thickness: float, modulus: float, density: float) -> float:
    """Sag of a slab between two supports along the grain by its own weight, creep counted [m].

    5 q L^4/(384 E I), times 1 + k_def (derived; EN 1995-1-1, memory).
    """
    per_area = density * GRAVITY * thickness
    second = thickness**3 / 12.0
    return 5.0 * per_area * span**4 * (1.0 + CREEP_ALONG) / (384.0 * modulus * second)


@dataclass(frozen=True, slots=True)
class Sat:
    """Somebody on an edge or a corner that overhangs across the grain.

    Attributes
    ----------
    moment : float
        At the support [N m/m].
    stress : float
        [Pa].
    index : float
        That over what is safe for good; above 1 it is not.
    breaks : float
        Chance that the slab splits.
    sag : float
        Under the load [m].
    thick_enough : float
        Thickness at which it is safe [m].
    """

    moment: float
    stress: float
    index: float
    breaks: float
    sag: float
    thick_enough: float


def sat_on(slab: Slab, overhang: float, load: float, groove: float, *, corner: bool) -> Sat:
    """What somebody does who sits on an overhanging edge, or on its corner.

    Parameters
    ----------
    slab : Slab
    overhang : float
        Across the grain [m].
    load : float
        [N].
    groove : float
        Depth of grooves near the support, which weaken it there [m].
    corner : bool
    """
    wood = slab.species
    ratio, modulus = stiffer_along(wood), elastic(wood).E_T
    moment = on_a_corner(wood, load, overhang) if corner else on_an_edge(wood, load)
    left = slab.thickness - groove
    asked = stress(moment, left)
    across = strength.of(wood).tension_across
    # As little of it as a test piece is under the most stress: no factor of size (judgement); the
    # rule's share covers species, knots and years.
    breaks = strength.chance([asked], across, strength.STRENGTH_CV)
    return Sat(
        moment=moment,
        stress=asked,
        index=asked / (SAFE_SHARE * across),
        breaks=breaks,
        sag=sag_of_load(
            load, overhang, slab.thickness, modulus, ratio, SAG_CORNER if corner else SAG_EDGE
        ),
        thick_enough=thick_enough(moment, across) + groove,
    )


def tips(overhang: float, load: float, weight: float, base: float) -> bool:
    """Whether a load [N] on an edge tips a top of a weight [kg] off a base so wide [m]."""
    return load * overhang > weight * GRAVITY * 0.5 * base
