"""Moist air: saturation, dew point, wet bulb, humidity ratio, and air that is warmed or cooled.

All functions take scalars or arrays that broadcast together.  Temperatures are in degrees Celsius,
relative humidity in percent and always over liquid water, also below freezing, as the weather
services report it (WMO-No. 8).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

ZERO_CELSIUS = 273.15  # K; definition
STANDARD_PRESSURE = 101_325.0  # Pa; definition of the standard atmosphere
WATER_TO_AIR_MASS_RATIO = 0.621945  # -; ASHRAE Fundamentals ch. 1 (memory)
WATER_GAS_CONSTANT = 461.5  # J/(kg K); R / molar mass of water (derived)
VALID_TEMPERATURE = (-60.0, 100.0)  # degC; range the vapour formulas are used in (judgement)

# Hyland and Wexler as printed in ASHRAE Fundamentals ch. 1 (memory); within 0.023 % of IAPWS-95
# between 0 and 50 degC.
_WATER = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    0.0,
    6.5459673,
)
_ICE = (
    -5.6745359e3,
    6.3925247,
    -9.677843e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.484024e-13,
    4.1635019,
)


def _saturation(constants: tuple[float, ...], temperature: ArrayLike) -> Floats:
    kelvin = np.asarray(temperature, dtype=np.float64) + ZERO_CELSIUS
    inverse, constant, first, second, third, fourth, logarithm = constants
    polynomial = constant + kelvin * (
        first + kelvin * (second + kelvin * (third + kelvin * fourth))
    )
    result: Floats = np.exp(inverse / kelvin + polynomial + logarithm * np.log(kelvin))
    return result


def saturation_pressure(temperature: ArrayLike) -> Floats:
    """Saturation vapour pressure over liquid water, also below freezing.

    Parameters
    ----------
    temperature : array_like
        Air temperature [degC], any shape.

    Returns
    -------
    ndarray
        Saturation vapour pressure [Pa], same shape.

    References
    ----------
    Hyland & Wexler 1983 as in ASHRAE Fundamentals ch. 1 (memory).

    Examples
    --------
    >>> round(float(saturation_pressure(20.0)), 1)
    2338.8
    """
    return _saturation(_WATER, temperature)


def saturation_pressure_over_ice(temperature: ArrayLike) -> Floats:
    """Saturation vapour pressure over ice [Pa] at a temperature [degC] at or below 0.

    References
    ----------
    Hyland & Wexler 1983 as in ASHRAE Fundamentals ch. 1 (memory).
    """
    return _saturation(_ICE, temperature)


def vapour_pressure(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Vapour pressure [Pa] of air at a temperature [degC] and relative humidity [%]."""
    humidity = np.asarray(relative_humidity, dtype=np.float64)
    result: Floats = humidity / 100.0 * saturation_pressure(temperature)
    return result


def relative_humidity(temperature: ArrayLike, pressure: ArrayLike) -> Floats:
    """Relative humidity [%] over water at a temperature [degC] and vapour pressure [Pa]."""
    result: Floats = (
        100.0 * np.asarray(pressure, dtype=np.float64) / saturation_pressure(temperature)
    )
    return result


def heated(
    temperature: ArrayLike, relative_humidity: ArrayLike, new_temperature: ArrayLike
) -> Floats:
    """Relative humidity [%] of the same air after warming or cooling at constant vapour pressure.

    A result above 100 means that water would condense: the caller must say so.
    """
    before = np.asarray(relative_humidity, dtype=np.float64)
    result: Floats = (
        before * saturation_pressure(temperature) / saturation_pressure(new_temperature)
    )
    return result


def dew_point(pressure: ArrayLike) -> Floats:
    """Dew point [degC] over liquid water of a vapour pressure [Pa].

    Solved from `saturation_pressure` by Newton's method on its logarithm, to 1e-9 K.

    Raises
    ------
    ValueError
        For a pressure that is not above zero: dry air has no dew point.

    Examples
    --------
    >>> round(float(dew_point(1169.4)), 2)  # air of 20 degC and 50 %
    9.27
    """
    vapour = np.asarray(pressure, dtype=np.float64)
    if not np.all((vapour > 0.0) & np.isfinite(vapour)):
        raise ValueError("air without vapour has no dew point: the pressure must be above 0 Pa")
    target = np.log(vapour)
    # Magnus form as the first guess: within 0.5 K from -60 to 100 degC.
    logarithm = target - np.log(611.2)
    guess = 243.12 * logarithm / (17.62 - logarithm)
    step = 1e-3
    for _ in range(6):
        value = np.log(saturation_pressure(guess))
        slope = (np.log(saturation_pressure(guess + step)) - value) / step
        guess = guess - (value - target) / slope
    return np.asarray(guess, dtype=np.float64)


def humidity_ratio(pressure: ArrayLike, total_pressure: ArrayLike = STANDARD_PRESSURE) -> Floats:
    """Humidity ratio [kg of vapour per kg of dry air] of a vapour pressure [Pa]."""
    vapour = np.asarray(pressure, dtype=np.float64)
    result: Floats = WATER_TO_AIR_MASS_RATIO * vapour / (np.asarray(total_pressure) - vapour)
    return result


def pressure_of_ratio(ratio: ArrayLike, total_pressure: ArrayLike = STANDARD_PRESSURE) -> Floats:
    """Vapour pressure [Pa] of a humidity ratio [kg/kg]; the inverse of `humidity_ratio`."""
    mixing = np.asarray(ratio, dtype=np.float64)
    result: Floats = np.asarray(total_pressure) * mixing / (WATER_TO_AIR_MASS_RATIO + mixing)
    return result


def concentration(temperature: ArrayLike, pressure: ArrayLike) -> Floats:
    """Vapour concentration [kg/m3] of a vapour pressure [Pa] at a temperature [degC]."""
    kelvin = np.asarray(temperature, dtype=np.float64) + ZERO_CELSIUS
    result: Floats = np.asarray(pressure, dtype=np.float64) / (WATER_GAS_CONSTANT * kelvin)
    return result


def _ratio_at_wet_bulb(
    temperature: Floats, bulb: Floats, total_pressure: Floats, over_ice: ArrayLike
) -> Floats:
    """Humidity ratio of air whose thermodynamic wet bulb is `bulb` (ASHRAE Fundamentals ch. 1)."""
    # kJ/kg: latent heat and heat capacities of water, ice and vapour, ASHRAE ch. 1 (memory).
    wet = humidity_ratio(saturation_pressure(bulb), total_pressure)
    water = ((2501.0 - 2.326 * bulb) * wet - 1.006 * (temperature - bulb)) / (
        2501.0 + 1.86 * temperature - 4.186 * bulb
    )
    icy = humidity_ratio(saturation_pressure_over_ice(bulb), total_pressure)
    ice = ((2830.0 - 0.24 * bulb) * icy - 1.006 * (temperature - bulb)) / (
        2830.0 + 1.86 * temperature - 2.1 * bulb
    )
    result: Floats = np.where(over_ice, ice, water)
    return result


def wet_bulb(
    temperature: ArrayLike, pressure: ArrayLike, total_pressure: ArrayLike = STANDARD_PRESSURE
) -> Floats:
    """Thermodynamic wet-bulb temperature [degC] of air at a vapour pressure [Pa].

    Bisection, to 1e-8 K.  Dry air some degrees above freezing has two wet bulbs, one of water
    above 0 and one of ice below: that of water is given, so warming air never cools its bulb.
    """
    dry, vapour, total = (
        array.astype(np.float64)
        for array in np.broadcast_arrays(
            np.asarray(temperature), np.asarray(pressure), np.asarray(total_pressure)
        )
    )
    wanted = humidity_ratio(vapour, total)
    zero = np.zeros_like(dry)
    icy = _ratio_at_wet_bulb(dry, zero, total, False) > wanted
    high = np.where(icy, np.minimum(dry, 0.0), dry)
    low = np.where(icy, high - 60.0, zero)
    for _ in range(52):
        middle = 0.5 * (low + high)
        too_wet = _ratio_at_wet_bulb(dry, middle, total, icy) > wanted
        high = np.where(too_wet, middle, high)
        low = np.where(too_wet, low, middle)
    result: Floats = 0.5 * (low + high)
    return result


def pressure_of_wet_bulb(
    temperature: ArrayLike, bulb: ArrayLike, total_pressure: ArrayLike = STANDARD_PRESSURE
) -> Floats:
    """Vapour pressure [Pa] of air at a dry bulb and a wet bulb [degC]; negative if impossible."""
    dry, wet, total = np.broadcast_arrays(
        np.asarray(temperature, dtype=np.float64),
        np.asarray(bulb, dtype=np.float64),
        np.asarray(total_pressure, dtype=np.float64),
    )
    return pressure_of_ratio(_ratio_at_wet_bulb(dry, wet, total, wet < 0.0), total)
