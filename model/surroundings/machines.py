"""Humidifiers up to what window panes bear, dehumidifiers down to where they stop drying."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.properties import air

Floats = NDArray[np.float64]

Panes = Literal["single", "double", "double_low_e", "triple"]
Dehumidifier = Literal["compressor", "desiccant"]

# Surface of a pane's edge, share of the way from outdoors to indoors (derived; printed household
# advice of Minnesota for double panes implies 0.47-0.50).
SURFACE_FACTOR: Final[dict[Panes, float]] = {
    "single": 0.25,
    "double": 0.50,
    "double_low_e": 0.60,
    "triple": 0.70,
}
USUAL_PANES: Final[Panes] = "double"  # taken when none is told (judgement)

# Output of a dehumidifier over its rated one (26.7 degC, 60 %) by T [degC] and H [%]: constant, T,
# T^2, H, H^2, T H (Winkler et al. 2011, NREL, printed).
OUTPUT: Final = (
    -1.162525707,
    0.02271469,
    -0.000113208,
    0.021110538,
    -0.0000693034,
    0.000378843,
)
ICES_BELOW: Final = 15.0  # degC; its coil ices and must be thawed (judgement)
WORKS_FROM: Final = 10.0  # degC; colder, one with a compressor is no use (judgement)
RATED_IN_EUROPE: Final = (30.0, 80.0)  # degC, %; in place of 26.7 and 60 (labels in print)
# kWh of current for a kilogram taken out: likely, low, high (common practice).
CURRENT: Final = (0.75, 0.5, 1.0)
DEAD_BAND: Final = 2.0  # points either side in which no humidistat switches (common practice)


def highest_before_dripping(
    indoors: ArrayLike, outdoors: ArrayLike, panes: Panes = USUAL_PANES
) -> Floats:
    """Highest relative humidity indoors before window panes drip [%].

    Parameters
    ----------
    indoors, outdoors : array_like
        Temperatures [degC].
    panes : {"single", "double", "double_low_e", "triple"}

    Examples
    --------
    >>> highest_before_dripping(21.0, [0.0, -10.0, -20.0, -30.0]).round().tolist()
    [51.0, 36.0, 25.0, 18.0]
    """
    inside, outside = (np.asarray(one, dtype=np.float64) for one in (indoors, outdoors))
    coldest = inside - (1.0 - SURFACE_FACTOR[panes]) * np.maximum(inside - outside, 0.0)
    result: Floats = (
        100.0 * air.saturation_pressure(coldest) / np.asarray(air.saturation_pressure(inside))
    )
    return result


def water_a_day(
    volume: float, air_changes: float, temperature: ArrayLike, pressure: ArrayLike
) -> Floats:
    """Water that the air changed in a day carries for a difference of vapour pressure [kg/day].

    Parameters
    ----------
    volume, air_changes : float
        Of the room [m3], [1/h].
    temperature : array_like
        Of the room [degC].
    pressure : array_like
        Difference of vapour pressure [Pa].

    Examples
    --------
    >>> held = float(air.vapour_pressure(21.0, 45.0))
    >>> round(float(water_a_day(300.0, 0.4, 21.0, held - 790.0)), 1)
    7.0
    """
    kelvin = np.asarray(temperature, dtype=np.float64) + air.ZERO_CELSIUS
    return np.asarray(
        24.0 * volume * air_changes * np.asarray(pressure) / (air.WATER_GAS_CONSTANT * kelvin)
    )


def output(temperature: ArrayLike, humidity: ArrayLike) -> Floats:
    """Output of a dehumidifier over its rated one [-], 0 where it takes out nothing.

    Parameters
    ----------
    temperature, humidity : array_like
        Of the air it stands in [degC], [%].

    References
    ----------
    Winkler, Christensen & Tomerlin 2011, NREL (printed); rated at 26.7 degC and 60 %.

    Examples
    --------
    >>> output([18.3, 20.0, 10.0, 30.0], [60.0, 50.0, 60.0, 80.0]).round(2).tolist()
    [0.65, 0.51, 0.3, 1.57]
    """
    warm, damp = (np.asarray(one, dtype=np.float64) for one in (temperature, humidity))
    constant, t, tt, h, hh, th = OUTPUT
    ratio: Floats = constant + t * warm + tt * warm**2 + h * damp + hh * damp**2 + th * warm * damp
    return np.maximum(ratio, 0.0)


def driest_reached(temperature: ArrayLike) -> Floats:
    """Humidity at which a dehumidifier takes out nothing more [%].

    Examples
    --------
    >>> driest_reached([10.0, 15.0, 20.0, 27.0]).round().tolist()
    [43.0, 35.0, 28.0, 21.0]
    """
    warm = np.asarray(temperature, dtype=np.float64)
    constant, t, tt, h, hh, th = OUTPUT
    base, slope = constant + t * warm + tt * warm**2, h + th * warm
    # The lower root of hh H^2 + slope H + base; in the form that does not cancel.
    root: Floats = -2.0 * base / (slope + np.sqrt(np.maximum(slope**2 - 4.0 * hh * base, 0.0)))
    return root


def iced(temperature: ArrayLike) -> Floats:
    """Share of its output that thawing leaves a dehumidifier, 1 from 15 degC, 0 below 10.

    Straight between (judgement).
    """
    warm = np.asarray(temperature, dtype=np.float64)
    return np.asarray(np.clip((warm - WORKS_FROM) / (ICES_BELOW - WORKS_FROM), 0.0, 1.0))


def rated_as_usual(rated: float) -> float:
    """Output of a compressor's label in Europe [kg/day] as at 26.7 degC and 60 %.

    Examples
    --------
    >>> round(rated_as_usual(15.72), 2)
    10.0
    """
    return rated / float(output(*RATED_IN_EUROPE))


def takes_out(
    temperature: ArrayLike, humidity: ArrayLike, kind: Dehumidifier = "compressor"
) -> Floats:
    """Share of its rated output that a dehumidifier takes out of some air, thawing counted [-].

    A desiccant one roughly keeps its rating (common practice).
    """
    if kind == "desiccant":
        return np.ones(np.broadcast_shapes(np.shape(temperature), np.shape(humidity)))
    return np.asarray(iced(temperature) * output(temperature, humidity))


def humidity_held(
    temperature: ArrayLike,
    pressure: ArrayLike,
    rated: ArrayLike,
    volume: float,
    air_changes: float,
    given: ArrayLike = 0.0,
    kind: Dehumidifier = "compressor",
) -> Floats:
    """Humidity to which a dehumidifier of so much rated output brings a room [%].

    Parameters
    ----------
    temperature, pressure : array_like
        Of the room [degC], and its vapour pressure without the machine and what is given [Pa].
    rated : array_like
        Output at 26.7 degC and 60 % [kg/day]; 0 without a machine.
    volume, air_changes : float
        Of the room [m3], [1/h].
    given : array_like
        Water that something in the room gives off [kg/day].
    kind : {"compressor", "desiccant"}

    Returns
    -------
    ndarray
        Where the machine takes out as much as air and wood bring in; by bisection to 1e-9 %.  It
        may stand above 100: no such air is there, and water condenses.

    Examples
    --------
    5 kg a day in 30 m3 changed each other hour, 5 degC and 80 % outside, 20 degC inside: without a
    machine beyond saturation; one of 20 kg a day that never stops overdoes it.

    >>> outside = float(air.vapour_pressure(5.0, 80.0))
    >>> humidity_held(20.0, outside, [0.0, 20.0], 30.0, 0.5, 5.0).round(1).tolist()
    [110.2, 37.6]
    """
    warm, free, gives, size = np.broadcast_arrays(
        *(np.asarray(one, dtype=np.float64) for one in (temperature, pressure, given, rated))
    )
    saturated = np.asarray(air.saturation_pressure(warm))
    brings = water_a_day(volume, air_changes, warm, 0.01 * saturated)  # kg/day a point
    low, high = np.zeros(warm.shape), 100.0 * free / saturated + np.maximum(gives, 0.0) / brings
    for _ in range(44):
        middle = 0.5 * (low + high)
        brought = water_a_day(volume, air_changes, warm, free - middle / 100.0 * saturated) + gives
        dries = size * takes_out(warm, middle, kind) > brought
        low, high = np.where(dries, low, middle), np.where(dries, middle, high)
    result: Floats = 0.5 * (low + high)
    return result
