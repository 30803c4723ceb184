"""Strength of clear wood: the listed figure of a species, or what its specific gravity predicts.

And the stress index: tension across the grain over what the wood bears.  Two cases are told apart.
A slab kept from shrinking is in tension right through; a flaw anywhere in it runs on, so it is as
weak as its weakest place and the larger the weaker (`through_index`).  The skin of a drying slab is
in tension over wood in compression; a flaw there opens, lets go its own stress and stops, so
published work on drying sets the stress at a face against the strength of a small clear piece as it
is (`skin_index`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.properties.species import ALONG_OVER_BENDING, Species

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
SIZE_EXPONENT: Final = 0.2  # -, strength falls with (stressed volume)^0.2; EN 1995-1-1 (memory)
TEST_VOLUME: Final = 4.0e-6  # m3, volume under stress in the test of a small piece (memory)
# Strength under a load of a week to six months over that of a test: medium-term, EN 1995-1-1 tables
# 2.1 and 3.1, service classes 1 and 2 (memory); 0.6 is for permanent loads, over ten years.
SEASON_OF_LOAD: Final = 0.8
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


def through_index(stress: ArrayLike, strength: ArrayLike, volume: ArrayLike) -> NDArray[np.float64]:
    """Tension right through a piece of wood against the strength of so much of it for a season.

    Parameters
    ----------
    stress : array_like
        Tension across the grain, or the fifth root of the mean of its fifth power [Pa].
    strength : array_like
        In tension across the grain, of a test piece at 12 % [Pa].
    volume : array_like
        In tension [m3].

    Returns
    -------
    ndarray
        Index [-]; at 1 the average piece splits.

    References
    ----------
    Size and load-duration factors of EN 1995-1-1 (memory); weakest link, exponent 1/0.2 (derived).

    Examples
    --------
    >>> round(float(through_index(0.4e6, 2.0e6, 32.0 * TEST_VOLUME)), 3)
    0.5
    """
    size = (TEST_VOLUME / np.asarray(volume, dtype=np.float64)) ** SIZE_EXPONENT
    bears = np.asarray(strength, dtype=np.float64) * size * SEASON_OF_LOAD
    return np.asarray(np.asarray(stress, dtype=np.float64) / bears)


def skin_index(tension: ArrayLike, strength: ArrayLike) -> NDArray[np.float64]:
    """Tension in the outer layers of a drying slab against the strength of a small clear piece.

    Parameters
    ----------
    tension : array_like
        `section.History.tension_top` or `tension_bottom`: the fifth root of the mean over the
        thickness of its fifth power, so that a thin skin counts for less than a thick one [Pa].
    strength : array_like
        In tension across the grain, of a test piece at 12 % [Pa].

    Returns
    -------
    ndarray
        Index [-]; at 1 the average slab checks.

    Notes
    -----
    No size factor, on judgement, so that what is known of drying comes out in its order: 50 mm
    white oak at 12 % brought bare into a room of 20 degC and 37 %, which as a rule stays whole
    (common practice), 0.65; green red oak under the first step of a mild kiln schedule (43 degC,
    90 %; AH-188, memory) 0.8; green and bare in 20 degC and 65 %, where thick oak often checks
    (FPL-GTR-117, memory), 1.05; green in 60 degC and 30 %, where all of it does (common practice),
    1.3: central cases of the engine, measured.  With the size factor these were 4 to 7.

    Examples
    --------
    >>> float(skin_index(1.6e6, 4.0e6))
    0.5
    """
    bears = np.asarray(strength, dtype=np.float64) * SEASON_OF_LOAD
    return np.asarray(np.asarray(tension, dtype=np.float64) / bears)
