"""What a building makes of the outdoor air: its temperature, and the vapour that is added or lost.

Every rule is for monthly means.  Temperatures are in degC, vapour pressures in Pa.
"""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.properties import air as moist

Floats = NDArray[np.float64]

Occupied = Literal["no", "lightly", "normally", "crowded"]
OuterWalls = Literal["one", "two", "two_and_door", "three"]

# Line of comfort of people who open windows and dress as it suits (EN 15251, memory; stated for a
# running mean outdoors of 10 to 30 degC): slope and value at 0 degC outdoors.
COMFORT_LINE: Final = (0.33, 18.8)
# Outdoor means from which a heated room begins to follow the line, and from which it does wholly
# [degC]: colder, heating alone decides (judgement).
COMFORT_FROM: Final = (5.0, 15.0)
LEAST_ABOVE: Final = 1.9  # K above outdoors at the least (open data: uncooled housing from 29 degC)
# A room that is never heated [K above outdoors] up to 24 and from 29 degC outdoors (open data: 30
# groups of uncooled housing).
NEVER_HEATED: Final = ((24.0, 29.0), (2.7, 1.9))

# Vapour of a lived-in house above outdoors [Pa] by outdoor mean [degC], straight between (fitted to
# six lived-in Finnish houses, open data set trh-1 by A. Laukkarinen, CC BY 4.0).
EXCESS: Final = ((-15.0, -10.0, 0.0, 10.0, 20.0), (600.0, 550.0, 350.0, 200.0, 40.0))
COLDEST_MEASURED: Final = -15.0  # degC; outdoors of the coldest months measured
# The same of a building that nobody lives in, or a dry workshop [Pa] (open data: an empty
# half-heated Finnish house 22-213, mean 108; seven groups of workplaces in Sweden, France and Italy
# 60-200 at -1 to 7 degC; that it fades in summer is judgement).
EXCESS_EMPTY: Final = ((10.0, 20.0), (100.0, 0.0))
LIVED_IN: Final[dict[Occupied, float]] = {"lightly": 0.5, "normally": 1.0, "crowded": 1.5}
OCCUPIED: Final[tuple[Occupied, ...]] = ("no", *LIVED_IN)
BALANCED_VENTILATION: Final = 0.65  # of the excess (open data: one low-energy house in Belgium)
CELLAR_EXCESS: Final = 150.0  # Pa above outdoors (judgement)

# Cooled rooms: humidity = 36 + 1.25 W_out, at most 65 % (fitted to 35 groups, W_out 6.7 to 20 g/kg,
# ASHRAE Global Thermal Comfort Database II; 65 % advised by ASHRAE 62.1, printed).
COOLED_HUMIDITY: Final = (36.0, 1.25)
COOLED_MOST: Final = 65.0
# Share of a month in which cooling runs: (T_free - T_cool + 2)/3 within 0 to 1. The 2 is what sun,
# people and machines add in the day (fitted, judgement).
COOLED_FROM: Final = 2.0  # K
COOLED_OVER: Final = 3.0  # K

# Rise above outdoors of unheated spaces, K and K per W/m2 of sun on level ground (open data: 390
# sensor-months in roof spaces of six Finnish houses, rms 1.1 K; some of it is heat of the house).
SHED_RISE: Final = {"open_shed": (0.3, 0.009), "shed": (0.8, 0.012)}
# How far a part-heated room lies from the house's temperature to outdoors (EN 12831, memory).
PART_HEATED: Final[dict[OuterWalls, float]] = {
    "one": 0.4,
    "two": 0.5,
    "two_and_door": 0.6,
    "three": 0.8,
}
CELLAR: Final = 0.65  # the same of a cellar; middle of 0.5 to 0.8 (EN 12831, memory)


def heated_temperature(outdoors: ArrayLike, heat_to: float) -> Floats:
    """Temperature of a room that is heated and not cooled.

    Parameters
    ----------
    outdoors : array_like
        Monthly mean outdoors [degC].
    heat_to : float
        What heating keeps [degC].

    Examples
    --------
    >>> heated_temperature([5.0, 10.0, 17.15, 24.3, 28.9], 20.0).round(2).tolist()
    [20.0, 21.05, 24.46, 26.82, 30.8]
    """
    outside = np.asarray(outdoors, dtype=np.float64)
    low, high = COMFORT_FROM
    follows = np.clip((outside - low) / (high - low), 0.0, 1.0)
    slope, at_zero = COMFORT_LINE
    line = np.maximum(slope * outside + at_zero - heat_to, 0.0)
    result: Floats = np.maximum(heat_to + follows * line, outside + LEAST_ABOVE)
    return result


def unheated_temperature(outdoors: ArrayLike) -> Floats:
    """Temperature of a lived-in room that is neither heated nor cooled.

    Examples
    --------
    >>> unheated_temperature([20.0, 26.5, 30.0]).round(2).tolist()
    [22.7, 28.8, 31.9]
    """
    outside = np.asarray(outdoors, dtype=np.float64)
    result: Floats = outside + np.interp(outside, *NEVER_HEATED)
    return result


def part_heated_temperature(
    outdoors: ArrayLike, indoors: ArrayLike, way: float | ArrayLike
) -> Floats:
    """Temperature of a room beside a heated one, so much of the way to outdoors.

    Examples
    --------
    >>> part_heated_temperature(0.0, 20.0, 0.6).item()
    8.0
    """
    inside = np.asarray(indoors, dtype=np.float64)
    result: Floats = inside - np.asarray(way) * (inside - np.asarray(outdoors))
    return result


def vapour_excess(
    outdoors: ArrayLike, occupied: Occupied = "normally", *, balanced: bool = False
) -> Floats:
    """Vapour pressure of a lived-in room above outdoors [Pa] at a monthly outdoor mean [degC].

    Parameters
    ----------
    outdoors : array_like
        [degC].
    occupied : {"no", "lightly", "normally", "crowded"}
        How much moisture people bring.
    balanced : bool
        Whether a fan brings in as much air as it takes out, as in a low-energy house.

    Examples
    --------
    >>> vapour_excess([-20.0, -5.0, 10.0, 25.0]).tolist()
    [600.0, 450.0, 200.0, 40.0]
    >>> vapour_excess([0.0, 15.0], "no").tolist()
    [100.0, 50.0]
    """
    outside = np.asarray(outdoors, dtype=np.float64)
    if occupied == "no":
        return np.asarray(np.interp(outside, *EXCESS_EMPTY))
    factor = LIVED_IN[occupied] * (BALANCED_VENTILATION if balanced else 1.0)
    return np.asarray(factor * np.interp(outside, *EXCESS))


def balance_excess(
    temperature: ArrayLike,
    generation: float | None,
    air_changes: float | None,
    volume: float | None,
) -> Floats:
    """Vapour pressure that water given off adds to a room's air [Pa].

    Parameters
    ----------
    temperature : array_like
        Of the room [degC].
    generation, air_changes, volume : float
        Water given off [kg/day], air changes [1/h], volume [m3].

    Examples
    --------
    >>> round(float(balance_excess(20.0, 6.0, 0.5, 250.0)))
    271
    """
    if generation is None or air_changes is None or volume is None:
        raise ValueError("moisture_balance needs generation, air_changes and volume")
    concentration = generation / (24.0 * air_changes * volume)  # kg of water per m3 of air
    kelvin = np.asarray(temperature, dtype=np.float64) + moist.ZERO_CELSIUS
    result: Floats = moist.WATER_GAS_CONSTANT * kelvin * concentration
    return result


def cooled_humidity(ratio: ArrayLike) -> Floats:
    """Humidity of a cooled room [%] by the outdoor humidity ratio [kg/kg], when cooling runs.

    Examples
    --------
    >>> cooled_humidity([0.0067, 0.0150, 0.0250]).round(1).tolist()
    [44.4, 54.8, 65.0]
    """
    base, per_gram = COOLED_HUMIDITY
    grams = 1000.0 * np.asarray(ratio, dtype=np.float64)
    return np.minimum(base + per_gram * grams, COOLED_MOST)


def cooled_share(free: ArrayLike, cool_to: float) -> Floats:
    """Share of a month that cooling runs, by the temperature without it [degC]."""
    over = np.asarray(free, dtype=np.float64) - cool_to + COOLED_FROM
    return np.asarray(np.clip(over / COOLED_OVER, 0.0, 1.0))


def cooled_pressure(
    free: ArrayLike,
    pressure: ArrayLike,
    outdoor_pressure: ArrayLike,
    cool_to: float,
    elevation: float = 0.0,
) -> Floats:
    """Vapour pressure of a cooled room [Pa]; cooling never adds vapour.

    Parameters
    ----------
    free, pressure : array_like
        Temperature [degC] and vapour pressure [Pa] that the room would have without cooling.
    outdoor_pressure : array_like
        Vapour pressure outdoors [Pa].
    cool_to : float
        Setting [degC].
    elevation : float
        Of the place [m].
    """
    inside = np.minimum(np.asarray(free, dtype=np.float64), cool_to)
    # Pressure of the standard atmosphere (ISO 2533).
    total = moist.STANDARD_PRESSURE * (1.0 - 2.25577e-5 * elevation) ** 5.25588
    held = cooled_humidity(moist.humidity_ratio(outdoor_pressure, total))
    without = np.asarray(pressure, dtype=np.float64)
    dried = np.minimum(without, moist.vapour_pressure(inside, held))
    return np.asarray(without + cooled_share(free, cool_to) * (dried - without))
