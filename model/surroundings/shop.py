"""The air of a shop that wood is conditioned in: what warming does, what heat and water it takes.

The same air, warmed, holds wood drier; what is exchanged with outdoors must be warmed, and dried or
damped where a humidity is held.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.properties import air, sorption
from model.surroundings import machines
from model.surroundings.room import Room

Floats = NDArray[np.float64]

HOTTEST: Final = 35.0  # degC; a shop people still work in (judgement)
COLDEST: Final = -20.0  # degC; lowest temperature looked at
SPECIFIC_HEAT_AIR: Final = 1006.0  # J/(kg K); ASHRAE Fundamentals ch. 1 (memory)
DRY_AIR_CONSTANT: Final = 287.05  # J/(kg K); R / molar mass of dry air (derived)
JOULES_A_KWH: Final = 3.6e6  # definition


@dataclass(frozen=True, slots=True)
class Shop:
    """The place wood is conditioned in, month by month.

    Attributes
    ----------
    outdoor_temperature, vapour_pressure : ndarray
        Shape (12,): outdoors [degC], and of the shop's air [Pa]: outdoor vapour and what is added.
    temperature : ndarray
        Shape (12,) [degC]: the shop's own, when it is not heated for drying.
    volume : float or None
        [m3].
    air_changes : float or None
        Per hour.
    hottest : float
        What heating may go to [degC].
    rated : float or None
        Output of its dehumidifier at 26.7 degC and 60 % [kg/day]; None: as large as is needed.
    kind : str
        How that dries.
    panes : str or None
        Its windows; None without any, or where the air outdoors is not known.
    price : float or None
        Of a kWh, in any money.
    """

    outdoor_temperature: Floats
    vapour_pressure: Floats
    temperature: Floats
    volume: float | None = None
    air_changes: float | None = None
    hottest: float = HOTTEST
    rated: float | None = None
    kind: machines.Dehumidifier = "compressor"
    panes: machines.Panes | None = None
    price: float | None = None

    @property
    def air_changed(self) -> float | None:
        """Air changed with outdoors [m3/h]; None where that is not known."""
        if self.volume is None or self.air_changes is None:
            return None
        return self.volume * self.air_changes

    @property
    def drips_above(self) -> Floats:
        """Humidity at its own temperature above which its windows drip, (12,) [%]."""
        if self.panes is None:
            return np.full(12, 100.0)
        return machines.highest_before_dripping(
            self.temperature, self.outdoor_temperature, self.panes
        )

    @property
    def driest_by_machine(self) -> Floats:
        """Humidity down to which its dehumidifier dries its air, (12,) [%]; 200: it does not."""
        if self.kind == "desiccant":
            return np.zeros(12)
        works = self.temperature >= machines.WORKS_FROM
        return np.where(works, machines.driest_reached(self.temperature), 200.0)


def temperature_that_holds(vapour_pressure: ArrayLike, moisture: ArrayLike) -> Floats:
    """Temperature at which air of a given vapour pressure holds wood at a moisture content.

    Parameters
    ----------
    vapour_pressure : array_like
        [Pa].
    moisture : array_like
        Target on the mean sorption curve [%].

    Returns
    -------
    ndarray
        [degC]; NaN when none between -20 and 60 degC does.

    Notes
    -----
    Warming at constant vapour pressure lowers the relative humidity and with it the equilibrium,
    strictly: bisection to 1e-9 K.

    Examples
    --------
    >>> round(float(temperature_that_holds(600.0, 8.0)), 1)
    12.6
    """
    pressure, target = np.broadcast_arrays(
        np.asarray(vapour_pressure, dtype=np.float64), np.asarray(moisture, dtype=np.float64)
    )
    low = np.maximum(COLDEST, air.dew_point(pressure / (sorption.HIGHEST_HUMIDITY / 100.0)))
    high = np.full_like(low, sorption.VALID_TEMPERATURE[1])

    def miss(temperature: Floats) -> Floats:
        humidity = np.minimum(
            air.relative_humidity(temperature, pressure), sorption.HIGHEST_HUMIDITY
        )
        over: Floats = sorption.equilibrium_moisture(temperature, humidity) - target
        return over

    # So much vapour that the warmest air is damper than the sorption curve goes leaves no bracket.
    possible = (low <= high) & (miss(low) >= 0.0) & (miss(high) <= 0.0)
    for _ in range(46):
        middle = 0.5 * (low + high)
        too_damp = miss(middle) > 0.0
        low = np.where(too_damp, middle, low)
        high = np.where(too_damp, high, middle)
    result: Floats = np.where(possible, 0.5 * (low + high), np.nan)
    return result


def ventilation_heat(
    volume: float, air_changes: float, indoors: ArrayLike, outdoors: ArrayLike
) -> Floats:
    """Heat to warm the outdoor air that a shop exchanges [kWh/day]; 0 where it is not warmed.

    Parameters
    ----------
    volume : float
        Of the shop [m3].
    air_changes : float
        Per hour.
    indoors, outdoors : array_like
        Temperatures [degC].

    References
    ----------
    m cp dT with dry air at 101325 Pa and the outdoor temperature (derived).

    Examples
    --------
    >>> round(float(ventilation_heat(100.0, 0.5, 20.0, 0.0)), 2)
    8.67
    """
    outside = np.asarray(outdoors, dtype=np.float64)
    density = air.STANDARD_PRESSURE / (DRY_AIR_CONSTANT * (outside + air.ZERO_CELSIUS))
    rise = np.maximum(np.asarray(indoors) - outside, 0.0)
    result: Floats = 24.0 * volume * air_changes * density * SPECIFIC_HEAT_AIR * rise / JOULES_A_KWH
    return result


def evaporation_heat(water: ArrayLike, temperature: ArrayLike) -> Floats:
    """Heat to evaporate water [kg] at a temperature [degC], in kWh; the heat of sorption left out.

    References
    ----------
    Latent heat 2501 - 2.36 T kJ/kg, ASHRAE Fundamentals ch. 1 (memory).

    Examples
    --------
    >>> round(float(evaporation_heat(10.0, 20.0)), 2)
    6.82
    """
    latent = 1000.0 * (2501.0 - 2.36 * np.asarray(temperature, dtype=np.float64))
    result: Floats = np.asarray(water) * latent / JOULES_A_KWH
    return result


def machine_water(
    volume: float,
    air_changes: float,
    temperature: ArrayLike,
    vapour_pressure: ArrayLike,
    humidity: ArrayLike,
) -> Floats:
    """Water to take out of the changed air to hold a humidity [kg/day]; negative to put in.

    Parameters
    ----------
    volume, air_changes : float
        Of the shop [m3], [1/h].
    temperature : array_like
        Of the shop [degC].
    vapour_pressure : array_like
        Of the air that comes in [Pa].
    humidity : array_like
        To hold [%].

    Notes
    -----
    n V (p - h p_s)/(R_v T), the concentrations counted at the shop's temperature (derived).

    Examples
    --------
    Outdoor air of 300 Pa brought to 20 degC and 40 %:

    >>> round(float(machine_water(100.0, 0.5, 20.0, 300.0, 40.0)), 2)
    -5.64
    """
    over = np.asarray(vapour_pressure) - air.vapour_pressure(temperature, humidity)
    return machines.water_a_day(volume, air_changes, temperature, over)


def humidity_rise(
    water_a_day: float, volume: float, air_changes: float, temperature: float
) -> float:
    """Points of relative humidity that drying wood adds to a shop's air in steady ventilation.

    Parameters
    ----------
    water_a_day : float
        [kg/day].
    volume, air_changes, temperature : float
        Of the shop [m3], [1/h], [degC].

    Notes
    -----
    Vapour balance: generation over n V as concentration, times R_v T (derived).
    """
    concentration = water_a_day / (24.0 * volume * air_changes)
    kelvin = temperature + air.ZERO_CELSIUS
    pressure = concentration * air.WATER_GAS_CONSTANT * kelvin
    return 100.0 * pressure / float(air.saturation_pressure(temperature))


def shop_of(
    source: Room,
    temperature: float | None = None,
    volume: float | None = None,
    air_changes: float | None = None,
    hottest: float = HOTTEST,
) -> Shop:
    """A shop from a room.

    With an outdoor climate the air outdoors is what heat works on, plus what the room's own vapour
    stands above it; a room given by its months or one air is itself the air that is warmed.
    `temperature` [degC] is the shop's own; the room's months when None.
    """
    vapour = np.asarray(air.vapour_pressure(source.temperature, source.relative_humidity))
    own = source.temperature if temperature is None else np.full(12, temperature)
    outdoor = source.temperature if source.outdoor is None else source.outdoor.temperature
    return Shop(np.asarray(outdoor), vapour, np.asarray(own), volume, air_changes, hottest)
