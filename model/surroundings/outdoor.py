"""The outdoor year of a place: what it is made of, and one made from months that are given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.codes import Note
from model.properties import air
from model.surroundings.calendar import MONTHS
from model.surroundings.stations import Station

Floats = NDArray[np.float64]

LAPSE: Final = 0.0055  # K/m between stations (fitted, leave one out over the listed stations)

# Mean vapour pressure over saturation at the mean temperature, less mean relative humidity [points]
# by mean temperature [degC]: the mean of a product is not the product of the means. To 2.5 degC
# printed with the climate tables (fitted, one curve for all climates, +/- 3); above, fitted here to
# the medians of climates.csv in bands of 5 K. Held level beyond both ends.
_EXCESS_TEMPERATURE: Final = (-12.5, -7.5, -2.5, 2.5, 7.5, 12.5, 17.5)
_EXCESS_HUMIDITY: Final = (16.0, 10.5, 4.8, 1.9, 1.0, -0.1, -1.0)


@dataclass(frozen=True, slots=True)
class Used:
    """A station that an outdoor year was made from.

    Attributes
    ----------
    station : Station
    distance : float
        [km] to the place.
    height_difference : float or None
        Place above station [m]; None when the height of the place is not known.
    weight : float
        Share in the means, 0 to 1.
    """

    station: Station
    distance: float
    height_difference: float | None
    weight: float


@dataclass(frozen=True, slots=True, eq=False)
class Outdoor:
    """The outdoor year of a place.

    Attributes
    ----------
    name : str
        The place in words.
    temperature, vapour_pressure, relative_humidity : ndarray
        Shape (12,), monthly means [degC], [Pa], [% over water].
    latitude, longitude, elevation : float or None
        [degrees], [m].
    stations : tuple of Used
        What it was made from.
    equilibrium_error : float
        rms error of the outdoor equilibrium from the choice of stations [% M]; 0 for a station
        taken by name.
    humidity_error : float
        The same of the humidity of its air warmed to 20 degC [points].
    attribution : tuple of str
        Texts that must be shown beside the figures.
    notes : tuple of Note
    id : str
        Of the town or station it was asked by; empty for coordinates and given months.
    """

    name: str
    temperature: Floats
    vapour_pressure: Floats
    relative_humidity: Floats
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    stations: tuple[Used, ...] = ()
    equilibrium_error: float = 0.0
    humidity_error: float = 0.0
    attribution: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()
    id: str = ""


def humidity_excess(temperature: ArrayLike) -> Floats:
    """Points by which vapour exceeds mean humidity times saturation, at a monthly mean [degC].

    Examples
    --------
    >>> float(humidity_excess(-12.5))
    16.0
    """
    mean = np.asarray(temperature, dtype=np.float64)
    return np.asarray(np.interp(mean, _EXCESS_TEMPERATURE, _EXCESS_HUMIDITY))


def mean_of(used: Sequence[Used]) -> tuple[Floats, Floats, Floats]:
    """Weighted means of temperature [degC], vapour pressure [Pa], relative humidity [%].

    Each station is first brought to the height of the place: temperature by 0.0055 K/m, relative
    humidity unchanged, vapour pressure in proportion to saturation.
    """
    temperature, pressure, humidity = (np.zeros(MONTHS) for _ in range(3))
    for one in used:
        station = one.station
        there = station.temperature - LAPSE * (one.height_difference or 0.0)
        thinner = air.saturation_pressure(there) / air.saturation_pressure(station.temperature)
        temperature += one.weight * there
        pressure += one.weight * station.vapour_pressure * thinner
        humidity += one.weight * station.relative_humidity
    return temperature, pressure, humidity


def outdoor_from_months(
    temperature: ArrayLike,
    relative_humidity: ArrayLike | None = None,
    vapour_pressure: ArrayLike | None = None,
    name: str = "outdoor months as given",
) -> Outdoor:
    """The outdoor year of a place that is not listed.

    Parameters
    ----------
    temperature : array_like
        Shape (12,), monthly means from January [degC].
    relative_humidity, vapour_pressure : array_like
        Shape (12,) [% over water], [Pa]: one of them, or both.
    name : str
        What the place is called.

    Returns
    -------
    Outdoor
        The missing one of humidity and vapour is found by `humidity_excess`, and a note says so.

    Raises
    ------
    ValueError
        Not twelve figures, neither of the two, or figures that no air has.
    """
    degrees = _twelve("temperature", temperature, *air.VALID_TEMPERATURE)
    saturated = air.saturation_pressure(degrees)
    excess = humidity_excess(degrees)
    notes: tuple[Note, ...] = ()
    if relative_humidity is not None:
        percent = _twelve("relative_humidity", relative_humidity, 0.0, 100.0)
        if vapour_pressure is None:
            notes = (Note("vapour-from-means", found="vapour pressure", given="relative humidity"),)
            pressure = np.maximum((percent + excess) / 100.0, 0.0) * saturated
        else:
            pressure = _twelve("vapour_pressure", vapour_pressure, 0.0, 10_000.0)
    elif vapour_pressure is not None:
        pressure = _twelve("vapour_pressure", vapour_pressure, 0.0, 10_000.0)
        notes = (Note("vapour-from-means", found="relative humidity", given="vapour pressure"),)
        percent = np.clip(100.0 * pressure / saturated - excess, 0.0, 100.0)
    else:
        raise ValueError("give relative_humidity or vapour_pressure beside the temperature")
    # Means of a month with warm, damp days may stand above saturation at its mean temperature, by
    # 17 points at most in the listed climates: more cannot be.
    if np.any(pressure > 1.25 * saturated):
        month = int(np.argmax(pressure / saturated)) + 1
        raise ValueError(
            f"vapour pressure of month {month} is more than its air can hold at that temperature"
        )
    return Outdoor(name, degrees, pressure, percent, notes=notes)


def _twelve(what: str, values: ArrayLike, low: float, high: float) -> Floats:
    figures = np.asarray(values, dtype=np.float64)
    if figures.shape != (MONTHS,):
        raise ValueError(f"{what} needs twelve figures, January first")
    if not (np.isfinite(figures).all() and figures.min() >= low and figures.max() <= high):
        raise ValueError(f"every {what} must lie within {low:g} to {high:g}")
    return figures
