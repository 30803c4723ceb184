"""Moist air by all its figures, and what becomes of it when it is warmed or cooled."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from model.codes import Note, Refusal
from model.properties import air, sorption

Measure = Literal["relative_humidity", "dew_point", "wet_bulb", "vapour_pressure"]

COVERED: Final = (-20.0, 80.0)  # degC; where the sorption curve is used for steady air
DRIEST: Final = 0.01  # % RH; drier air has no dew point to speak of
FORMULAS: Final = ("saturation-pressure", "wet-bulb", "equilibrium-moisture")


@dataclass(frozen=True, slots=True)
class MoistAir:
    """Air by all its figures.

    Attributes
    ----------
    temperature, dew_point, wet_bulb : float
        [degC]; over liquid water.
    relative_humidity : float
        [%].
    vapour_pressure : float
        [Pa].
    humidity_ratio : float
        Water to dry air at the pressure of sea level [kg/kg].
    equilibrium_moisture : float or None
        Of wood [%]; None beyond what the sorption curve covers.
    condensed : float or None
        Water that left it on the way to this temperature [kg/kg]; None if none did.
    heated : MoistAir or None
        The same air at another temperature, where that was asked.
    notes : tuple of Note
    """

    temperature: float
    relative_humidity: float
    dew_point: float
    wet_bulb: float
    vapour_pressure: float
    humidity_ratio: float
    equilibrium_moisture: float | None
    condensed: float | None = None
    heated: MoistAir | None = None
    notes: tuple[Note, ...] = ()


def pressure_of(measure: Measure, figure: float, temperature: float) -> float:
    """Vapour pressure [Pa] of air of a temperature [degC] and one measure of its moisture.

    Parameters
    ----------
    measure : {"relative_humidity", "dew_point", "wet_bulb", "vapour_pressure"}
    figure : float
        In % , degC or Pa.
    temperature : float
        [degC].

    Raises
    ------
    Refusal
        More than air of that temperature holds, or drier than any air.
    """
    saturated = float(air.saturation_pressure(temperature))
    if measure == "relative_humidity":
        return figure / 100.0 * saturated
    if measure == "vapour_pressure":
        vapour = figure
    elif measure == "dew_point":
        vapour = float(air.saturation_pressure(figure))
    else:
        vapour = float(air.pressure_of_wet_bulb(temperature, figure))
    said = {"measure": measure, "given": figure, "temperature": temperature}
    if vapour > saturated * (1.0 + 1e-9):
        raise Refusal("damper-than-saturated", **said, saturated=saturated)
    if vapour < DRIEST / 100.0 * saturated:
        raise Refusal("drier-than-any-air", **said, driest=DRIEST)
    return vapour


def moist_air(temperature: float, vapour: float, condensed: float | None = None) -> MoistAir:
    """Every figure of air at a temperature [degC] and vapour pressure [Pa].

    Examples
    --------
    >>> round(moist_air(21.0, 1200.0).relative_humidity, 1)
    48.2
    """
    humidity = float(air.relative_humidity(temperature, vapour))
    moisture = None
    if COVERED[0] <= temperature <= COVERED[1] and humidity <= sorption.HIGHEST_HUMIDITY:
        moisture = float(sorption.equilibrium_moisture(temperature, humidity))
    return MoistAir(
        temperature=temperature,
        relative_humidity=humidity,
        dew_point=float(air.dew_point(vapour)),
        wet_bulb=float(air.wet_bulb(temperature, vapour)),
        vapour_pressure=vapour,
        humidity_ratio=float(air.humidity_ratio(vapour)),
        equilibrium_moisture=moisture,
        condensed=condensed,
    )


def warmed(temperature: float, vapour: float, heated_to: float | None = None) -> MoistAir:
    """Air by its temperature [degC] and vapour pressure [Pa], and the same air at another.

    Cooled past its dew point it is saturated and the rest condenses.
    """
    now = moist_air(temperature, vapour)
    notes = [Note("sea-level"), *_notes(now, heated=False)]
    if heated_to is None:
        return replace(now, notes=tuple(notes))
    left = min(vapour, float(air.saturation_pressure(heated_to)))
    dropped = None
    if left < vapour:
        dropped = float(air.humidity_ratio(vapour) - air.humidity_ratio(left))
    then = moist_air(heated_to, left, dropped)
    notes += _notes(then, heated=True)
    if dropped is not None:
        notes.append(Note("condensation"))
    return replace(now, heated=then, notes=tuple(notes))


def _notes(told: MoistAir, *, heated: bool) -> list[Note]:
    if told.equilibrium_moisture is None:
        return [Note("no-equilibrium", heated=heated)]
    lowest, highest = sorption.VALID_TEMPERATURE
    known = lowest <= told.temperature <= highest
    if known and told.relative_humidity <= sorption.VALID_HUMIDITY[1]:
        return []
    return [Note("sorption-stretched", heated=heated)]
