"""Strength of clear wood: the listed figure of a species, or what its specific gravity predicts.

And the stress index: tension across the grain over what the wood bears.  Two cases are told apart.
A slab kept from shrinking is in tension right through; a flaw anywhere in it runs on, so it is as
weak as its weakest place and the larger the weaker (`through_index`).  The skin of a drying slab is
in tension over wood in compression; a flaw there opens, lets go its own stress and stops, so
published work on drying sets the stress at a face against the strength of a small clear piece as it
is (`skin_index`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

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
# Weakest-link exponent of strength across the grain, central and drawn evenly between; 0.2 of
# EN 1995 is 5 (memory), small clear pieces give up to 10 (judgement).
WEIBULL: Final = 6.7
WEIBULL_RANGE: Final = (5.0, 10.0)
# The same by moisture [per % M from 12 %, to 25 %] and by warmth [per K from 20 degC, to 50 degC]:
# strength, then modulus across the grain (memory, Wood Handbook Tables 5-14 and 5-15, trends).
STRENGTH_BY_MOISTURE: Final = 0.022
STRENGTH_BY_WARMTH: Final = 0.0067
MODULUS_BY_WARMTH: Final = 0.010
SOFTENS_TO: Final = (25.0, 50.0)  # % M, degC; the trends are not followed further (memory)
# The rule above is a low estimate: what breaks a slab is so many times as strong, with so much
# variation from slab to slab (judgement: makers pull slabs flat over weeks, and most survive).
RATHER: Final = 1.5
STRENGTH_CV: Final = 0.30
# Tightened little by little over weeks a slab bears so many times the cup: it creeps, which the law
# of set leaves out where the moisture stands still (judgement).
IN_STEPS: Final = 1.5
# Log standard deviation of load over strength that draws of the modulus, of set and of the exponent
# give, used where nothing is drawn (fitted to the draws).
STRESS_SPREAD: Final = 0.35
UNLIKELY: Final = (
    0.15  # a chance below which a verdict says no, and above 1 less it yes (judgement)
)
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


def warm_modulus(temperature: ArrayLike) -> NDArray[np.float64]:
    """Modulus across the grain at a temperature [degC] over that at 20 degC: above it only.

    References
    ----------
    Wood Handbook FPL-GTR-190 Table 5-14, trend (memory).
    """
    warmth = np.clip(np.asarray(temperature, dtype=np.float64) - 20.0, 0.0, SOFTENS_TO[1] - 20.0)
    return np.asarray(1.0 - MODULUS_BY_WARMTH * warmth)


def in_bending(
    tension_across: float,
    volume: ArrayLike,
    *,
    exponent: ArrayLike = WEIBULL,
    moisture: ArrayLike = 12.0,
    temperature: ArrayLike = 20.0,
) -> NDArray[np.float64]:
    """Strength of a slab bent across its grain for weeks [Pa].

    Parameters
    ----------
    tension_across : float
        Of a test piece at 12 % [Pa].
    volume : array_like
        Of the slab that is bent [m3].
    exponent : array_like
        Of the weakest link, m [-].
    moisture, temperature : array_like
        Of the wood [%, degC].

    References
    ----------
    Weakest link over a stress that falls from one face to none in the middle (derived):
    f (2(m + 1))^(1/m) (V_test/V)^(1/m), with a duration of weeks.  It makes a 5.5 MPa test piece
    1.15 MPa at 0.01 m3 by the exponent of EN 1995; EN 338 lists 0.6 characteristic.

    Examples
    --------
    >>> [round(float(in_bending(5.5e6, 0.06, exponent=m)) / 1e6, 2) for m in (5.0, 6.7, 10.0)]
    [1.06, 1.58, 2.29]
    """
    m = np.asarray(exponent, dtype=np.float64)
    size = (2.0 * (m + 1.0) * TEST_VOLUME / np.asarray(volume, dtype=np.float64)) ** (1.0 / m)
    damp = np.clip(np.asarray(moisture, dtype=np.float64), 0.0, SOFTENS_TO[0]) - 12.0
    warm = np.clip(np.asarray(temperature, dtype=np.float64) - 20.0, 0.0, SOFTENS_TO[1] - 20.0)
    softer = (1.0 - STRENGTH_BY_MOISTURE * damp) * (1.0 - STRENGTH_BY_WARMTH * warm)
    return np.asarray(tension_across * size * SEASON_OF_LOAD * softer)


def exponents(count: int) -> NDArray[np.float64]:
    """A weakest-link exponent for each of so many samples, the central one first.

    Spread evenly over `WEIBULL_RANGE` by a golden sequence, the same for the same count.
    """
    low, high = WEIBULL_RANGE
    drawn = low + (high - low) * np.modf(0.6180339887498949 * np.arange(count))[0]
    drawn[0] = WEIBULL
    return np.asarray(drawn)


def chance(
    load: ArrayLike, bears: ArrayLike, variation: float, doubt: float = STRESS_SPREAD
) -> float:
    """Chance that a load passes what bears it.

    Parameters
    ----------
    load : array_like (samples,)
        Index 0 the central case; the rest draws.
    bears : array_like
        Median of what bears it, one number or (samples,).
    variation : float
        Its coefficient of variation, log-normal.
    doubt : float
        Log standard deviation of the load over it where nothing was drawn.

    Returns
    -------
    float
        0 to 1: the mean over the draws of each one's chance.

    Examples
    --------
    >>> chance([1.0], 1.0, 0.3), chance([0.0, 0.0], 1.0, 0.3)
    (0.5, 0.0)
    """
    asked = np.asarray(load, dtype=np.float64)
    strong = np.broadcast_to(np.asarray(bears, dtype=np.float64), asked.shape)
    sigma = math.sqrt(math.log(1.0 + variation**2))
    if asked.size == 1:
        sigma = math.hypot(sigma, doubt)
    else:
        asked, strong = asked[1:], strong[1:]
    ratio = np.maximum(asked, 1e-300) / strong
    return float(np.mean(ndtr(np.log(ratio) / sigma)))


@dataclass(frozen=True, slots=True)
class Bent:
    """What bending across its grain does to a slab.

    Attributes
    ----------
    stress : ndarray (samples,)
        At the face in tension, set counted, where it stands highest over what the wood bears [Pa].
    index : ndarray (samples,)
        That over `in_bending`, a low estimate: told, it does not decide [-].
    breaks : float
        Chance that it breaks.
    """

    stress: NDArray[np.float64]
    index: NDArray[np.float64]
    breaks: float

    @property
    def breaks_in_steps(self) -> float:
        """The same where it is drawn flat little by little over weeks."""
        return chance(self.index / IN_STEPS, RATHER, STRENGTH_CV)


def bent(
    stress: NDArray[np.float64],
    tension_across: float,
    volume: float,
    moisture: NDArray[np.float64],
    temperature: NDArray[np.float64],
) -> Bent:
    """What a course of bending stress does to a slab.

    Parameters
    ----------
    stress : ndarray (times, samples)
        6 M/t^2, either sign [Pa].
    tension_across : float
        Of a test piece at 12 % [Pa].
    volume : float
        Of the slab [m3].
    moisture, temperature : ndarray (times, samples), (times,)
        Mean moisture [%] and warmth [degC] of the wood.
    """
    warmth = temperature[:, None]
    amount = np.abs(stress) * warm_modulus(warmth)
    m = exponents(stress.shape[1])
    bears = in_bending(tension_across, volume, exponent=m, moisture=moisture, temperature=warmth)
    share = amount / bears
    row = share.argmax(axis=0)[None]
    index = np.take_along_axis(share, row, axis=0)[0]
    most = np.take_along_axis(amount, row, axis=0)[0]
    return Bent(most, index, chance(index, RATHER, STRENGTH_CV))
