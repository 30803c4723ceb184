"""Strength of clear wood: the listed figure of a species, or what its specific gravity predicts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from model.species import ALONG_OVER_BENDING, Species

# Strength at 12 % against specific gravity at 12 %: a G^b, a in Pa; Wood Handbook FPL-GTR-190
# Table 5-11a (memory): softwood, hardwood.
_BY_GRAVITY: Final[dict[str, tuple[tuple[float, float], tuple[float, float]]]] = {
    "tension_across": ((6.0e6, 1.11), (10.1e6, 1.30)),
    "shear_along": ((16.6e6, 0.85), (21.9e6, 1.13)),
    "compression_across": ((16.5e6, 1.57), (21.6e6, 2.09)),
    "bending": ((170.7e6, 1.01), (171.3e6, 1.13)),
    "bending_modulus": ((20.5e9, 0.84), (16.5e9, 0.70)),
}
SHARE_ACROSS_FIBRES: Final = 2.5  # shear across against along the grain, 2.5-3; Wood Handbook
# ch. 5 (memory), the lower one
CLEAR_TO_ALLOWABLE: Final = 4.5  # mean of clear tests against what is allowed (judgement: the
# factor withdrawal values of the NDS carry)
GRAVITY_CV: Final = 0.10  # coefficient of variation of specific gravity, Wood Handbook (memory)
CHARACTERISTIC_SHARE: Final = 1.0 / 1.2  # 5th percentile over mean density; EN 338 (memory)


@dataclass(frozen=True, slots=True)
class Strength:
    """Mean strengths of clear wood at 12 % [Pa].

    Attributes
    ----------
    tension_across, shear_along, compression_across : float
        Across, along and across the grain.
    tension_along : float
        Along the grain, taken as the bending strength, which lies below it (Wood Handbook ch. 5).
    estimated : tuple of str
        Names of those that are not listed for the species but predicted from specific gravity.
    """

    tension_across: float
    shear_along: float
    compression_across: float
    tension_along: float
    estimated: tuple[str, ...]


def by_gravity(name: str, specific_gravity: float, is_softwood: bool) -> float:
    """A strength or modulus [Pa] at 12 % from the specific gravity at 12 %.

    References
    ----------
    Wood Handbook FPL-GTR-190 Table 5-11a (memory).

    Examples
    --------
    >>> round(by_gravity("shear_along", 0.63, is_softwood=False) / 1e6, 1)
    13.0
    """
    factor, power = _BY_GRAVITY[name][0 if is_softwood else 1]
    return factor * float(specific_gravity**power)


def of(species: Species) -> Strength:
    """Strengths of a species, listed where they are and predicted where they are not."""

    def figure(name: str) -> float:
        listed: float | None = getattr(species, name)
        if listed is not None:
            return listed
        return by_gravity(name, species.specific_gravity, species.is_softwood)

    names = ("tension_across", "shear_along", "compression_across")
    return Strength(
        tension_across=figure("tension_across"),
        shear_along=figure("shear_along"),
        compression_across=figure("compression_across"),
        tension_along=by_gravity("bending", species.specific_gravity, species.is_softwood),
        estimated=tuple(name for name in names if getattr(species, name) is None),
    )


def modulus_along(species: Species) -> float:
    """Young's modulus along the grain at 12 % [Pa], listed or predicted from specific gravity."""
    if species.modulus is not None:
        return species.modulus
    bending = by_gravity("bending_modulus", species.specific_gravity, species.is_softwood)
    return ALONG_OVER_BENDING * bending


def characteristic_density(specific_gravity: float) -> float:
    """Density at 12 % that 95 of 100 pieces exceed [kg/m3], as EN 1995 asks for it."""
    return specific_gravity * 1120.0 * CHARACTERISTIC_SHARE
