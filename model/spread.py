"""What is uncertain, drawn once, and figures told with their spread.

Every predicted figure comes as a central value with the 10th and 90th percentile of a sample.
Index 0 of every array over samples is the central case; the rest are quasi-random draws, so the
same count and seed give the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri
from scipy.stats import qmc

Floats = NDArray[np.float64]

_PLASTIC: Final = 0.7548776662466927  # 1/root of x^3 = x + 1: an evenly spread sequence
DEFAULT_DRAWS: Final = 128  # a power of two keeps the Sobol sequence balanced
DEFAULT_SEED: Final = 1
TO_DECILE: Final = 1.2815515655446004  # standard deviations from the middle to the 10th percentile

# Half the band between the 10th and 90th percentile, or its factor.
SORPTION_CV: Final = 0.08  # +/- 1 % M at 10 % M: hysteresis and species (judgement, physics note)
SHRINKAGE_CV: Final = 0.15  # within a species, Wood Handbook FPL-GTR-190 ch. 4 (memory)
SHRINKAGE_SHARED: Final = 0.64  # share of that variance common to both directions (judgement)
LEAST_SHRINKAGE: Final = 0.1  # factor below which no draw goes (engineering choice)
METER_SD: Final = 0.8  # % M; meters read the mean within 1 % (printed, Wood Handbook ch. 4)
MODULUS_CV: Final = 0.22  # bending modulus, Wood Handbook Table 5-6 (memory)
# Least, central and most; half of the draws lie on either side of the centre.
# Of a finish's printed resistance; tighter in dry rooms (judgement).
FINISH_FACTOR: Final = (0.7, 1.0, 3.0)
MECHANO_RANGE: Final = (30.0, 60.0, 120.0)  # m E (judgement between printed anchors)
# Slope of moisture within the hysteresis loop over that of the mean curve; central 0.7 (judgement,
# between the rules of Pedersen and of similarity, see `transport`)
LOOP_RANGE: Final = (0.5, 0.9)
AROUND: Final = 0.05  # of the draws, on either side of a percentile, that have a share in it
LOOP_CENTRE: Final = 0.7
CREEP_LIMIT_RANGE: Final = (5.0, 8.0, 15.0)  # J (judgement)


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with its spread: central value, 10th and 90th percentile (None when not asked)."""

    value: float
    low: float | None = None
    high: float | None = None

    @property
    def alone(self) -> Figure:
        """The same without its band."""
        return Figure(self.value)


@dataclass(frozen=True, slots=True)
class Samples:
    """Draws of what is uncertain; every array has shape (count,), index 0 is the central case.

    Attributes
    ----------
    count : int
        Number of samples, the central one included; 1 when no spread is asked.
    seed : int
        Of the sequence they were drawn from.
    transport : ndarray
        Deviates [standard normal]; `transport_factor` turns them into a factor for a species.
    sorption, tangential, radial, modulus, finish : ndarray
        Factors, central 1: equilibrium moisture, total shrinkages, stiffness, finish resistance.
    humidity : ndarray
        Deviates [standard normal] of the room's humidity from house to house.
    moisture : ndarray
        Error of the moisture given [% M].
    ring, pith : ndarray
        Uniform deviates in 0..1 (central 0.5) for a ring angle or pith distance not given.
    set_in_width : ndarray
        Share of the section's set and stress that shows in a slab's width, 0..1 (central 0.5).
    mechano, creep_limit : ndarray
        m E and J of the mechano-sorptive law.
    loop : ndarray
        Slope of moisture within the hysteresis loop over that of the mean curve [-].
    unlimited : ndarray of bool
        True for the half of the samples that follow the law without a limit ("set stays").
    """

    count: int
    seed: int
    transport: Floats
    sorption: Floats
    tangential: Floats
    radial: Floats
    humidity: Floats
    moisture: Floats
    ring: Floats
    pith: Floats
    modulus: Floats
    finish: Floats
    set_in_width: Floats
    mechano: Floats
    creep_limit: Floats
    unlimited: NDArray[np.bool_]
    loop: Floats

    @property
    def bark_up(self) -> Floats:
        """1 where the bark side is taken up and -1 where down, for a slab that does not tell it.

        Half of the draws each; the central case is up.  By the tenth binary digit of `pith`, which
        does not go with how large that is.
        """
        return 1.0 - 2.0 * (np.floor(1024.0 * self.pith) % 2.0)

    @property
    def draws(self) -> int:
        """Draws beside the central sample; 0 when no spread is asked."""
        return self.count - 1


def transport_factor(samples: Samples, spread: float) -> Floats:
    """Factors on the transport coefficient: `spread` and its inverse at the two percentiles."""
    result: Floats = np.exp(samples.transport * (np.log(spread) / TO_DECILE))
    return result


def own_variation(factors: ArrayLike, variation: tuple[float, float]) -> Floats:
    """Factors drawn with `SHRINKAGE_CV`, as those of a wood that varies otherwise.

    Parameters
    ----------
    factors : array_like
        Shape (samples,), central 1.
    variation : tuple of float
        Coefficient of variation below and above the central figure.

    Examples
    --------
    >>> [float(round(one, 3)) for one in own_variation([0.85, 1.0, 1.15], (0.15, 0.2))]
    [0.85, 1.0, 1.2]
    """
    below, above = variation
    deviates = (np.asarray(factors, dtype=np.float64) - 1.0) / SHRINKAGE_CV
    drawn = 1.0 + deviates * np.where(deviates > 0.0, above, below)
    result: Floats = np.maximum(drawn, LEAST_SHRINKAGE)
    return result


# The sequence fills its first dimensions best: what weighs most in times and moistures comes first.
_NAMES: Final = (
    "transport", "humidity", "moisture", "sorption", "finish", "loop", "shared",
    "tangential", "radial", "ring", "pith", "modulus", "mechano", "creep_limit",
    "law",
)  # fmt: skip


@lru_cache(maxsize=64)
def draw(draws: int = DEFAULT_DRAWS, seed: int = DEFAULT_SEED) -> Samples:
    """Draw `draws` samples beside the central one.

    Parameters
    ----------
    draws : int
        Number of draws; 0 gives the central case alone.
    seed : int
        Seed of the scrambled Sobol sequence.

    Returns
    -------
    Samples
        `draws + 1` samples, index 0 central.

    Notes
    -----
    Cached: the arrays are read-only and shared by every question with the same count and seed.
    """
    uniform = np.full((draws + 1, len(_NAMES)), 0.5)
    if draws:
        power = int(np.ceil(np.log2(draws)))
        sobol = qmc.Sobol(len(_NAMES), scramble=True, rng=np.random.default_rng(seed))
        uniform[1:] = np.clip(sobol.random_base2(power)[:draws], 1e-6, 1.0 - 1e-6)
    column = dict(zip(_NAMES, uniform.T, strict=True))
    normal = {name: np.clip(ndtri(values), -3.0, 3.0) for name, values in column.items()}
    shared = np.sqrt(SHRINKAGE_SHARED) * normal["shared"]
    own = np.sqrt(1.0 - SHRINKAGE_SHARED)
    samples = Samples(
        count=draws + 1,
        seed=seed,
        transport=normal["transport"],
        sorption=1.0 + SORPTION_CV * normal["sorption"],
        tangential=1.0 + SHRINKAGE_CV * (shared + own * normal["tangential"]),
        radial=1.0 + SHRINKAGE_CV * (shared + own * normal["radial"]),
        humidity=normal["humidity"],
        moisture=METER_SD * normal["moisture"],
        ring=column["ring"].copy(),
        pith=column["pith"].copy(),
        modulus=1.0 + MODULUS_CV * normal["modulus"],
        finish=log_uniform(column["finish"], *FINISH_FACTOR),
        set_in_width=_evenly(draws + 1),
        mechano=log_uniform(column["mechano"], *MECHANO_RANGE),
        creep_limit=log_uniform(column["creep_limit"], *CREEP_LIMIT_RANGE),
        unlimited=column["law"] > 0.5,
        loop=LOOP_RANGE[0] + (LOOP_RANGE[1] - LOOP_RANGE[0]) * column["loop"],
    )
    for name in samples.__slots__:
        if name not in ("count", "seed"):
            getattr(samples, name).flags.writeable = False
    return samples


def _evenly(count: int) -> Floats:
    """Shares spread evenly from none to all by a sequence of their own, the central half first.

    No source says how much of set shows in a width: tables of shrinkage come from small pieces free
    of it (judgement).
    """
    result: Floats = np.modf(_PLASTIC * np.arange(count))[0]
    result[0] = 0.5
    return result


def log_uniform(uniform: Floats, low: float, middle: float, high: float) -> Floats:
    """Factors even in their logarithm below and above a middle, which is their median.

    Examples
    --------
    >>> log_uniform(np.array([0.0, 0.25, 0.5, 1.0]), 1.0, 4.0, 9.0).round(6).tolist()
    [1.0, 2.0, 4.0, 9.0]
    """
    below, above = np.minimum(2.0 * uniform, 1.0), np.maximum(2.0 * uniform - 1.0, 0.0)
    result: Floats = low * (middle / low) ** below * (high / middle) ** above
    return result


@lru_cache(maxsize=32)
def _decile_weights(draws: int) -> tuple[Floats, Floats]:
    """Weights of the draws in their order for the 10th and the 90th percentile.

    A mean of those around each: of 128 draws the band of a year's moisture and width then moves by
    1 % from seed to seed, that of times and cups by 2 to 3 (measured against 4,096 draws; the plain
    percentile moved by 2, and by 3 to 6).
    """
    rank = np.arange(draws)
    weights = []
    for share in (0.1, 0.9):
        near = np.maximum(0.0, 1.0 - np.abs(rank - share * (draws - 1)) / (1.0 + AROUND * draws))
        weights.append(near / near.sum())
    return weights[0], weights[1]


def band(values: ArrayLike) -> tuple[Floats, Floats] | None:
    """The 10th and 90th percentile of the draws, widened to hold the central value.

    Parameters
    ----------
    values : array_like
        Shape (..., samples), index 0 central.

    Returns
    -------
    tuple of ndarray or None
        Low and high, shape (...,); None when there is only the central sample.  A skewed sample may
        leave the central value outside its percentiles: the end it passes is then the value itself.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.shape[-1] == 1:
        return None
    ordered = np.sort(array[..., 1:], axis=-1)
    low, high = (ordered @ weights for weights in _decile_weights(ordered.shape[-1]))
    return np.minimum(low, array[..., 0]), np.maximum(high, array[..., 0])


def figure(values: ArrayLike) -> Figure:
    """The central value with the 10th and 90th percentile of the draws.

    Parameters
    ----------
    values : array_like
        Shape (samples,), index 0 central.

    Returns
    -------
    Figure
        Without a band when there is only the central sample.  The band is widened to hold the
        central value where a skewed sample would leave it outside.

    Examples
    --------
    >>> figure([5.0])
    Figure(value=5.0, low=None, high=None)
    """
    array = np.asarray(values, dtype=np.float64)
    ends = band(array)
    if ends is None:
        return Figure(float(array[0]))
    return Figure(float(array[0]), float(ends[0]), float(ends[1]))
