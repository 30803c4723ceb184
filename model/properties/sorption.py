"""The moisture content wood settles to in air, its drying and wetting branches, and the inverse.

Mean curve: the two-hydrate form of Hailwood and Horrobin fitted by Simpson, Wood Handbook
FPL-GTR-190 eq. 4-5 (memory; reproduces the 209 printed cells of its Table 4-2 within 0.07 % M).
Relative humidity and moisture content are in percent, temperature in degrees Celsius.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Branch = Literal["mean", "drying", "wetting"]
Treatment = Literal["none", "light", "strong"]

VALID_TEMPERATURE: Final = (-10.0, 60.0)  # degC; the table has -1 to 54 (judgement beyond)
# Below it the curve of this temperature is used: the fitted polynomials bend down from about -20,
# the moisture stops rising with humidity at -55 and is negative at -60 degC (measured).  No data on
# wood so cold is in the sources.  (judgement)
COLDEST: Final = -20.0  # degC
VALID_HUMIDITY: Final = (0.0, 95.0)  # %; the fit is poor above (printed table ends at 95)
HIGHEST_HUMIDITY: Final = 98.0  # %; beyond it the curve is not used at all (judgement)

# Equilibrium of heat-treated against plain wood up to 60 % relative humidity and from 90 %: light
# to about 190 degC, strong from 210 degC (printed: tauari, ash and red oak 23.4-37.4 % lower at
# 50-90 % relative humidity, Zhou et al. 2013; strong besides by makers' claims, at most half).
TREATED: Final[dict[str, tuple[float, float]]] = {
    "none": (1.0, 1.0),
    "light": (0.77, 0.77),
    "strong": (0.60, 0.58),
}

# Wetting over drying branch against relative humidity (printed: one Norway spruce at 20 degC; the
# last point, both branches alike in saturated air, is judgement).
_RATIO_HUMIDITY = np.array([0.0, 20.0, 30.0, 40.0, 50.0, 60.0, 65.0, 70.0, 80.0, 90.0, 100.0])
_RATIO = np.array([0.76, 0.773, 0.788, 0.802, 0.817, 0.834, 0.843, 0.855, 0.884, 0.928, 1.0])


def coefficients(temperature: ArrayLike) -> tuple[Floats, Floats, Floats, Floats]:
    """W, K, K1 and K2 of the mean curve at a temperature [degC] (FPL-GTR-190 eq. 4-5, memory).

    Below `COLDEST` they are those of it.
    """
    t = np.maximum(np.asarray(temperature, dtype=np.float64), COLDEST)
    w = 349.0 + t * (1.29 + 0.0135 * t)
    k = 0.805 + t * (0.000736 - 0.00000273 * t)
    k1 = 6.27 - t * (0.00938 + 0.000303 * t)
    k2 = 1.91 + t * (0.0407 - 0.000293 * t)
    return w, k, k1, k2


def equilibrium_moisture(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Mean equilibrium moisture content of wood in air.

    Parameters
    ----------
    temperature : array_like
        Air temperature [degC], -10 to 60.
    relative_humidity : array_like
        Relative humidity [%], 0 to 95 (used to 98).

    Returns
    -------
    ndarray
        Moisture content [%], broadcast shape of the two.

    References
    ----------
    Wood Handbook FPL-GTR-190 eq. 4-5 (memory).

    Examples
    --------
    >>> round(float(equilibrium_moisture(21.1, 50.0)), 1)
    9.2
    """
    w, k, k1, k2 = coefficients(temperature)
    x = k * (np.asarray(relative_humidity, dtype=np.float64) * 0.01)
    first = k1 * x
    second = first * (k2 * x)
    result: Floats = (1800.0 / w) * (
        x / (1.0 - x) + (first + 2.0 * second) / (1.0 + first + second)
    )
    return result


def slope(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Rise of mean equilibrium moisture per point of relative humidity [% M / % RH]."""
    w, k, k1, k2 = coefficients(temperature)
    x = k * (np.asarray(relative_humidity, dtype=np.float64) * 0.01)
    a, b = k1, k1 * k2
    below = 1.0 + x * (a + x * b)
    rise = 1.0 / (1.0 - x) ** 2 + (a + x * (4.0 * b + x * a * b)) / below**2
    result: Floats = (18.0 / w) * k * rise
    return result


def humidity_of_moisture(
    temperature: ArrayLike,
    moisture: ArrayLike,
    branch: Branch = "mean",
    *,
    at_60: float = 1.0,
    at_90: float = 1.0,
) -> Floats:
    """Relative humidity [%] that holds wood at a moisture content [%].

    The mean curve is a cubic in humidity with one root in range; it is found by Newton's method
    kept inside its bracket, to 1e-10 of humidity.  The drying and wetting branches, whose ratio to
    the mean is a table, are found in the same way with the slope of the mean; so is the curve of
    one wood, by its factors (`species_factor`).

    Returns
    -------
    ndarray
        Relative humidity [%]; NaN where the moisture is negative or above what 98 % RH holds.
    """
    t, m = np.broadcast_arrays(
        np.asarray(temperature, dtype=np.float64), np.asarray(moisture, dtype=np.float64)
    )
    low = np.zeros_like(m)
    high = np.full_like(m, HIGHEST_HUMIDITY)

    def held(humidity: Floats) -> Floats:
        own = species_factor(humidity, at_60, at_90)
        return own * branch_moisture(t, humidity, branch)

    top = held(high)
    reachable = (m >= 0.0) & (m <= top * (1.0 + 1e-12))
    guess = HIGHEST_HUMIDITY * np.clip(m / top, 0.0, 1.0)
    for _ in range(80):
        miss = held(guess) - m
        high = np.where(miss > 0.0, guess, high)
        low = np.where(miss <= 0.0, guess, low)
        # The mean slope steers the branches too; the bracket keeps the step safe.
        step = guess - miss / slope(t, guess)
        inside = (step >= low) & (step <= high)
        following = np.where(inside, step, 0.5 * (low + high))
        settled = bool(np.all(np.abs(following - guess)[reachable] < 1e-11)) if m.size else True
        guess = following
        if settled:
            break
    result: Floats = np.where(reachable, guess, np.nan)
    return result


def hysteresis_ratio(relative_humidity: ArrayLike) -> Floats:
    """Wetting over drying equilibrium at a relative humidity [%] (printed, one spruce, 20 degC).

    Held at its first value below 20 %, and rising from the last to 1 at 100 % (judgement).
    """
    humidity = np.asarray(relative_humidity, dtype=np.float64)
    result: Floats = np.asarray(np.interp(humidity, _RATIO_HUMIDITY, _RATIO))
    return result


# Between these the factor of a wood goes from its one value to the other [% relative humidity]
# (engineering choice: print has the curve of extractive-rich woods unchanged below about 70 %,
# Choong & Achmadi 1991, and apart from 60 % on, Princes Risborough movement tables, memory)
FACTOR_HUMIDITY: Final = (60.0, 90.0)


def species_factor(relative_humidity: ArrayLike, at_60: ArrayLike, at_90: ArrayLike) -> Floats:
    """Equilibrium moisture of one wood over that of the common curve, alike on every branch.

    Parameters
    ----------
    relative_humidity : array_like
        Of the air [%].
    at_60, at_90 : array_like
        The factor up to 60 % and from 90 % on; straight between.

    Returns
    -------
    ndarray
        Broadcast shape of the three.

    Examples
    --------
    >>> [round(float(species_factor(h, 0.87, 0.74)), 3) for h in (40.0, 75.0, 95.0)]
    [0.87, 0.805, 0.74]
    """
    low, high = FACTOR_HUMIDITY
    humidity = np.asarray(relative_humidity, dtype=np.float64)
    share = np.clip((humidity - low) / (high - low), 0.0, 1.0)
    first = np.asarray(at_60, dtype=np.float64)
    result: Floats = first + share * (np.asarray(at_90, dtype=np.float64) - first)
    return result


def branches(temperature: ArrayLike, relative_humidity: ArrayLike) -> dict[Branch, Floats]:
    """Equilibrium moisture content [%] on every branch: mean, drying and wetting.

    The mean is half the sum of the other two, whose ratio is `hysteresis_ratio`.

    Parameters
    ----------
    temperature : array_like
        [degC].
    relative_humidity : array_like
        [%].

    Returns
    -------
    dict of str to ndarray
        Broadcast shape of the two.
    """
    mean = equilibrium_moisture(temperature, relative_humidity)
    ratio = hysteresis_ratio(relative_humidity)
    drying = 2.0 * mean / (1.0 + ratio)
    return {"mean": mean, "drying": drying, "wetting": ratio * drying}


def branch_moisture(temperature: ArrayLike, relative_humidity: ArrayLike, branch: Branch) -> Floats:
    """Equilibrium moisture content [%] on one branch; see `branches`."""
    if branch == "mean":
        return equilibrium_moisture(temperature, relative_humidity)
    return branches(temperature, relative_humidity)[branch]


@dataclass(frozen=True, slots=True)
class Table:
    """Sorption by temperature and moisture, for solvers that look it up at every step.

    Attributes
    ----------
    coldest, warmer : float
        Temperature of the first row and from row to row [degC, K].
    finer : float
        Moisture from column to column, from 0 [%].
    values : ndarray (temperatures, moistures, 3)
        Relative humidity [-] over wood that holds the column's moisture on the mean curve; and what
        the mean curve holds [%] where the drying and the wetting branch hold that moisture.  In and
        above saturated air the three curves are one and go straight on.
    """

    coldest: float
    warmer: float
    finer: float
    values: Floats

    @property
    def moisture(self) -> Floats:
        """Of the columns [%]."""
        result: Floats = self.finer * np.arange(self.values.shape[1], dtype=np.float64)
        return result

    def at(self, temperature: ArrayLike) -> Floats:
        """The table at temperatures [degC], (..., moistures, 3)."""
        place = (np.asarray(temperature, dtype=np.float64) - self.coldest) / self.warmer
        place = np.clip(place, 0.0, len(self.values) - 1.001)
        row = place.astype(np.intp)
        share = (place - row)[..., None, None]
        result: Floats = (1.0 - share) * self.values[row] + share * self.values[row + 1]
        return result

    def branch(
        self, name: Literal["drying", "wetting"], temperature: float, mean: Floats
    ) -> Floats:
        """What a branch holds [%] where the mean curve holds so much [%], at a temperature."""
        held = self.at(temperature)[:, 1 if name == "drying" else 2]
        moisture = self.moisture
        result: Floats = np.interp(mean, held, moisture)
        return np.where(mean > held[-1], mean, result)


@lru_cache(maxsize=32)
def tabulated(at_60: float = 1.0, at_90: float = 1.0) -> Table:
    """The curves of a kind of wood as a table, straight between its points.

    Within 0.02 % of humidity and 0.003 % of moisture of the curves themselves from 2 to 26 % M and
    0 to 60 degC; 0.06 % of humidity where the factor of a wood begins to turn (tests measure it).
    """
    coldest, warmer, finer = COLDEST, 1.0, 0.1
    warmth = np.arange(coldest, 110.5, warmer)
    moisture = finer * np.arange(361)
    humidity = np.linspace(0.0, 100.0, 2001)
    factor = species_factor(humidity, at_60, at_90)
    ratio = hysteresis_ratio(humidity)
    values = np.empty((warmth.size, moisture.size, 3))
    for row, temperature in enumerate(warmth):
        mean = factor * equilibrium_moisture(temperature, humidity)
        drying = 2.0 * mean / (1.0 + ratio)
        beyond = moisture >= mean[-1]
        values[row, :, 0] = np.interp(moisture, mean, 0.01 * humidity)
        for column, branch in ((1, drying), (2, ratio * drying)):
            held = np.interp(moisture, branch, mean)
            values[row, :, column] = np.where(beyond, moisture, held)
    values.flags.writeable = False
    return Table(coldest, warmer, finer, values)


def humidity_to_reach(
    temperature: ArrayLike,
    now: float,
    target: float,
    loop: float,
    at_60: float = 1.0,
    at_90: float = 1.0,
) -> Floats:
    """Relative humidity [%] that brings wood which dried to its moisture on to another.

    Drier: along the drying branch.  Damper: along the loop until the wetting branch.

    Parameters
    ----------
    temperature : array_like
        [degC].
    now, target : float
        Moisture [%].
    loop : float
        Slope of moisture within the hysteresis loop over that of the mean curve [-].
    at_60, at_90 : float
        As in `species_factor`.

    Returns
    -------
    ndarray
        In the shape of the temperature; NaN where the target is more than `HIGHEST_HUMIDITY` holds.

    Examples
    --------
    Wood at 12 % wants air of 36 % to come to 8, and wood at 6 % of 43: the mean curve says 42.

    >>> [round(float(humidity_to_reach(20.0, now, 8.0, 0.7))) for now in (12.0, 6.0)]
    [36, 43]
    """
    curve = tabulated(at_60, at_90)
    warm = np.asarray(temperature, dtype=np.float64)
    found = np.empty(warm.shape)
    for place in np.ndindex(warm.shape):
        held, dried, wetted = curve.at(warm[place]).T
        moisture = curve.moisture
        drive = float(np.interp(target, moisture, dried))
        if target > now:
            begun = float(np.interp(now, moisture, dried))
            most = float(np.interp(target, moisture, wetted))
            drive = min(begun + (target - now) / loop, most)
        humidity = 100.0 * float(np.interp(drive, moisture, held))
        found[place] = humidity if humidity <= HIGHEST_HUMIDITY else np.nan
    return found
