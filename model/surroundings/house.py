"""The air that a house, shop or shed makes of the outdoors: heating, cooling, people, machines.

`from_climate` makes the `Room` of a place and a way of living; its rules and their constants stand
here.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.codes import Note, Refusal
from model.properties import air as moist
from model.properties import sorption
from model.surroundings.air_series import UNBOUND
from model.surroundings.calendar import MONTHS
from model.surroundings.climate import Outdoor
from model.surroundings.room import (
    HELD,
    HIGHEST_HUMIDITY,
    HIGHEST_OF_DAY,
    LOWEST_HUMIDITY,
    Room,
    beyond_sorption,
    limited,
    year_air,
)

Floats = NDArray[np.float64]


Kind = Literal["room", "heated_shop", "shed", "outdoors_covered"]
Method = Literal["vapour_excess", "en_15026", "en_15026_high", "iso_13788", "moisture_balance"]
Occupied = Literal["no", "lightly", "normally", "crowded"]
KINDS: Final[tuple[Kind, ...]] = ("room", "heated_shop", "shed", "outdoors_covered")
METHODS: Final[tuple[Method, ...]] = (
    "vapour_excess",
    "en_15026",
    "en_15026_high",
    "iso_13788",
    "moisture_balance",
)
# Vapour pressure of a room above the outdoor one when it is freezing outside [Pa]: midpoints of
# the humidity classes of ISO 13788, whose upper limits 270, 540, 810 Pa are design maxima (memory).
# 405 Pa against seven measured houses in Finland (tests/reference/test_rooms.py): bias -1.0 and
# rms 3.2 % RH over all days, but 8 to 10 points too dry on the days below -10 degC outdoors.
VAPOUR_EXCESS: Final[dict[Occupied, float]] = {
    "no": 0.0,
    "lightly": 135.0,
    "normally": 405.0,
    "crowded": 675.0,
}
EXCESS_FULL_UNTIL: Final = 0.0  # degC outdoors; shape of the classes of ISO 13788 (memory)
EXCESS_GONE_FROM: Final = 20.0  # degC outdoors; the same
# Sun, people and appliances in a room that is neither heated nor cooled [K]: judgement, between
# none in an open house and 4.2 in seven tight Finnish ones at 22 degC outside (measured; open data
# set trh-1 by A. Laukkarinen, CC BY 4.0).
FREE_GAIN: Final = 3.0
SHED_GAIN: Final = 1.0  # K; sun on a roof without heating (judgement)
DEFAULT_HEATING: Final = 20.0  # degC; usual indoor design temperature, taken when none is given
# A month is cooled all through when it would stand this far above the setting; nearer to it, only
# its warm days are, and it dries in proportion [K] (judgement: days scatter by about 3 K).
COOLED_THROUGH: Final = 3.0
# Humidity ratio of a cooled room without a dehumidifier, W = 0.004 + 0.4 W_outdoors [kg/kg]:
# TenWolde (memory, medium confidence).
COOLED_RATIO: Final = (0.004, 0.4)
# EN 15026 Annex C and ISO 13788 A.1 (memory): humidity = outdoor temperature + offset, within
# limits [% RH]; the temperature indoors rises 0.5 K per K from 20 degC at 10 to 25 at 20.
DESIGN_CURVES: Final[dict[Method, tuple[float, float, float]]] = {
    "en_15026": (40.0, 30.0, 60.0),
    "en_15026_high": (50.0, 40.0, 70.0),
    "iso_13788": (45.0, 35.0, 65.0),
}
# Design curve less measured humidity, mean over ten bins of outdoor temperature [points] (measured;
# the same data set).
_DESIGN_ABOVE_MEASURED: Final[dict[Method, int]] = {
    "en_15026": 4,
    "en_15026_high": 14,
    "iso_13788": 9,
}
_VERY_COLD: Final = -10.0  # degC outdoors; below, the vapour excess of measured houses is higher
# Standard deviation of relative humidity between rooms of one description [points].
# Houses: half the band p10-p90 of daily means at a given outdoor temperature averages 7.9 points
# over the ten bins of seven measured houses (the same data set); 7.9 / 1.2816 = 6.1. Differences
# between days are in it, so it is rather wide.
BETWEEN_HOUSES: Final = 6.1
BETWEEN_SHOPS: Final = 4.5  # no source of moisture known, but drying wood and people (judgement)
BETWEEN_SHEDS: Final = 4.0  # airing and a damp floor (judgement)
BETWEEN_YEARS: Final = 3.0  # outdoors, a month of one year against its mean (judgement)


def from_climate(
    outdoor: Outdoor,
    *,
    heat_to: float | None = None,
    cool_to: float | None = None,
    occupied: Occupied | None = None,
    humidify_to: float | None = None,
    dehumidify_to: float | None = None,
    method: Method = "vapour_excess",
    kind: Kind = "room",
    generation: float | None = None,
    air_changes: float | None = None,
    volume: float | None = None,
) -> Room:
    """A room by its climate and the way it is lived in.

    Parameters
    ----------
    outdoor : Outdoor
        The outdoor year.
    heat_to, cool_to : float, optional
        What heating and cooling keep [degC]; a room or heated shop without `heat_to` is taken as
        heated to 20, with a note where that ever heats; without `cool_to` nothing cools.
    occupied : {"no", "lightly", "normally", "crowded"}, optional
        How much moisture people bring; normally when not given. For the vapour-excess method.
    humidify_to, dehumidify_to : float, optional
        Humidity that machines keep at least, at most [%].
    method : {"vapour_excess", "en_15026", "en_15026_high", "iso_13788", "moisture_balance"}
        How the humidity of a room is found.
    kind : {"room", "heated_shop", "shed", "outdoors_covered"}
        A heated shop has no source of moisture, a shed no heating, under cover outdoors the air is
        the outdoor air.
    generation, air_changes, volume : float, optional
        Water given off [kg/day], air changes [1/h] and volume [m3], for `moisture_balance`.

    Returns
    -------
    Room

    Raises
    ------
    ValueError
        Figures that contradict each other or that the kind or method has no use for.

    References
    ----------
    ISO 13788 humidity classes, EN 15026 Annex C, ISO 13788 A.1, TenWolde for cooled rooms (memory).

    Examples
    --------
    >>> from model.surroundings import climate
    >>> reading_room = from_climate(climate.find("duluth-us"), heat_to=21.1, cool_to=24.4)
    >>> reading_room.driest.month, round(reading_room.driest.moisture, 1)
    (1, 5.3)
    """
    balance = (generation, air_changes, volume)
    _check_living(heat_to, cool_to, occupied, humidify_to, dehumidify_to, method, kind, balance)
    notes: list[Note] = list(outdoor.notes)
    if kind in {"outdoors_covered", "shed"}:
        inside = _unheated(outdoor, kind)
    elif method in DESIGN_CURVES:
        inside = _designed(outdoor, method)
    else:
        if heat_to is None:
            heat_to = DEFAULT_HEATING if cool_to is None else min(DEFAULT_HEATING, cool_to)
            if outdoor.temperature.min() + FREE_GAIN < heat_to:
                notes.append(Note("heating-assumed", heat_to=heat_to))
        inside = _conditioned(outdoor, heat_to, cool_to, dehumidify_to is not None)
        if occupied is None and kind == "room" and method == "vapour_excess":
            notes.append(Note("occupation-assumed"))
        inside = _with_vapour(inside, outdoor, kind, method, occupied or "normally", balance)
    low = -UNBOUND if humidify_to is None else humidify_to
    high = UNBOUND if dehumidify_to is None else dehumidify_to
    held = (inside.humidity < low) | (inside.humidity > high)
    humidity, cut_months = limited(np.clip(inside.humidity, low, high), "months")
    kept_within = (max(low, LOWEST_HUMIDITY), min(high, HIGHEST_OF_DAY))
    yearly, cut = year_air(inside.temperature, humidity, inside.bounds, kept_within)
    return Room(
        months=tuple(range(1, MONTHS + 1)),
        temperature=inside.temperature,
        relative_humidity=humidity,
        air=yearly,
        humidity_spread=_spread(outdoor, inside, kind, held),
        method=inside.method,
        kind=kind,
        outdoor=outdoor,
        notes=(*notes, *inside.notes, *cut_months, *cut, *beyond_sorption(inside.temperature)),
        attribution=outdoor.attribution,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Inside:
    """A room's months before machines hold the humidity."""

    temperature: Floats
    humidity: Floats
    method: str
    between: float  # standard deviation of humidity between such rooms [points]
    bounds: tuple[float, float] = (-UNBOUND, UNBOUND)  # temperatures that are kept
    # Share of each month cooled without a dehumidifier.
    cooled: Floats = field(default_factory=lambda: np.zeros(MONTHS))
    notes: tuple[Note, ...] = ()


def _check_living(
    heat_to: float | None,
    cool_to: float | None,
    occupied: Occupied | None,
    humidify_to: float | None,
    dehumidify_to: float | None,
    method: Method,
    kind: Kind,
    balance: tuple[float | None, float | None, float | None],
) -> None:
    """Refuse a way of living that contradicts itself."""
    if kind not in KINDS or method not in METHODS:
        raise ValueError(f"kind is one of {', '.join(KINDS)}; method one of {', '.join(METHODS)}")
    if occupied is not None and occupied not in VAPOUR_EXCESS:
        raise ValueError(f"occupied is one of {', '.join(VAPOUR_EXCESS)}")
    given = {"heat_to": heat_to, "cool_to": cool_to}
    machines = {"humidify_to": humidify_to, "dehumidify_to": dehumidify_to}
    for names, low, high in ((given, -20.0, 60.0), (machines, LOWEST_HUMIDITY, HIGHEST_HUMIDITY)):
        for name, value in names.items():
            if value is not None and not low <= value <= high:
                raise ValueError(f"{name} must lie within {low:g} to {high:g}")
    if heat_to is not None and cool_to is not None and heat_to > cool_to:
        raise Refusal("heats-above-cooling", heat_to=heat_to, cool_to=cool_to)
    if humidify_to is not None and dehumidify_to is not None and humidify_to > dehumidify_to:
        raise Refusal(
            "humidifies-above-drying", humidify_to=humidify_to, dehumidify_to=dehumidify_to
        )
    idle = [name for name, value in (given | machines).items() if value is not None]
    if kind == "outdoors_covered" and idle:
        raise Refusal("nothing-held-outdoors", names=", ".join(idle))
    if (kind == "shed" or method in DESIGN_CURVES) and (heat_to, cool_to) != (None, None):
        what = "a shed" if kind == "shed" else f"the method {method}"
        raise Refusal("temperature-of-its-own", what=what)
    if kind != "room" and (method != "vapour_excess" or occupied is not None):
        raise Refusal("for-rooms-only", kind=kind)
    if occupied is not None and method != "vapour_excess":
        raise Refusal("occupied-of-no-use", method=method)
    _check_balance(method, balance)


def _check_balance(
    method: Method, balance: tuple[float | None, float | None, float | None]
) -> None:
    """The three figures of a moisture balance belong to it, and to it alone."""
    if method != "moisture_balance":
        if balance != (None, None, None):
            raise Refusal("balance-of-no-use")
        return
    wrong = [
        f"{name}, at least {low:g}"
        for name, value, low in zip(
            ("generation", "air_changes", "volume"), balance, (0.0, 0.01, 1.0), strict=True
        )
        if value is None or not low <= value < np.inf
    ]
    if wrong:
        raise Refusal("balance-incomplete", needed=" and ".join(wrong))


def _unheated(outdoor: Outdoor, kind: Kind) -> _Inside:
    """A shed, or outdoors under cover."""
    bias = Note("outdoor-mean-bias")
    if kind == "outdoors_covered":
        return _Inside(
            outdoor.temperature, outdoor.relative_humidity, kind, BETWEEN_YEARS, notes=(bias,)
        )
    temperature = outdoor.temperature + SHED_GAIN
    humidity = np.asarray(moist.relative_humidity(temperature, outdoor.vapour_pressure))
    gain = Note("shed-gain", by=SHED_GAIN)
    return _Inside(temperature, humidity, kind, BETWEEN_SHEDS, notes=(gain, bias))


def _designed(outdoor: Outdoor, method: Method) -> _Inside:
    """A room by a standard's design curve: humidity from the outdoor temperature alone."""
    offset, low, high = DESIGN_CURVES[method]
    warm = np.clip(20.0 + 0.5 * (outdoor.temperature - 10.0), 20.0, 25.0)
    damp = np.clip(offset + outdoor.temperature, low, high)
    note = Note("design-curve", above=_DESIGN_ABOVE_MEASURED[method])
    return _Inside(warm, damp, method, BETWEEN_HOUSES, notes=(note,))


def _conditioned(
    outdoor: Outdoor, heat_to: float, cool_to: float | None, dehumidified: bool
) -> _Inside:
    """Temperatures of a heated, perhaps cooled room; its humidity is filled in later."""
    free = outdoor.temperature + FREE_GAIN
    warm = np.maximum(free, heat_to)
    notes = []
    cooled = np.zeros(MONTHS)
    if cool_to is not None:
        cooled = np.clip((free - cool_to) / COOLED_THROUGH, 0.0, 1.0)
        warm = np.minimum(warm, cool_to)
    adrift = (free > heat_to) & (cooled == 0.0)
    if adrift.any():
        notes.append(Note("free-gain", months=int(adrift.sum()), by=FREE_GAIN))
    if cooled.any() and not dehumidified:
        months = int((cooled > 0.0).sum())
        notes.append(Note("cooling-dries", months=months, within=COOLED_THROUGH))
    return _Inside(
        temperature=warm,
        humidity=np.zeros(MONTHS),
        method="",
        between=BETWEEN_HOUSES,
        bounds=(heat_to, UNBOUND if cool_to is None else cool_to),
        cooled=np.zeros(MONTHS) if dehumidified else cooled,
        notes=tuple(notes),
    )


def _about_cold(outdoor: Outdoor, occupied: Occupied) -> tuple[Note, ...]:
    """A note where the vapour-excess rule is known to be dry."""
    if occupied == "no" or outdoor.temperature.min() >= _VERY_COLD:
        return ()
    return (Note("very-cold-months", below=_VERY_COLD),)


def _with_vapour(
    inside: _Inside,
    outdoor: Outdoor,
    kind: Kind,
    method: Method,
    occupied: Occupied,
    balance: tuple[float | None, float | None, float | None],
) -> _Inside:
    """The same room with its humidity, from the outdoor vapour and what is added inside."""
    outside = outdoor.vapour_pressure
    if kind == "heated_shop":
        pressure, between = outside, BETWEEN_SHOPS
    elif method == "moisture_balance":
        pressure, between = outside + balance_excess(inside.temperature, *balance), BETWEEN_HOUSES
    else:
        pressure = outside + vapour_excess(outdoor.temperature, occupied)
        between = BETWEEN_HOUSES
        inside = replace(inside, notes=inside.notes + _about_cold(outdoor, occupied))
    cooled = _cooled_pressure(outside, outdoor.elevation or 0.0)
    if kind == "heated_shop":
        cooled = np.minimum(cooled, outside)  # nothing in it gives off vapour
    pressure = pressure + inside.cooled * (cooled - pressure)
    return replace(
        inside,
        humidity=np.asarray(moist.relative_humidity(inside.temperature, pressure)),
        method=kind if kind == "heated_shop" else method,
        between=between,
    )


def vapour_excess(outdoor_temperature: ArrayLike, occupied: Occupied = "normally") -> Floats:
    """Vapour pressure indoors above outdoors [Pa] at a monthly outdoor temperature [degC].

    Examples
    --------
    >>> vapour_excess([-10.0, 10.0, 25.0]).tolist()
    [405.0, 202.5, 0.0]
    """
    outside = np.asarray(outdoor_temperature, dtype=np.float64)
    part = (EXCESS_GONE_FROM - outside) / (EXCESS_GONE_FROM - EXCESS_FULL_UNTIL)
    result: Floats = VAPOUR_EXCESS[occupied] * np.clip(part, 0.0, 1.0)
    return result


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


def _cooled_pressure(outside: Floats, elevation: float) -> Floats:
    """Vapour pressure [Pa] of a cooled room without a dehumidifier."""
    # Pressure of the standard atmosphere (ISO 2533).
    total = moist.STANDARD_PRESSURE * (1.0 - 2.25577e-5 * elevation) ** 5.25588
    constant_part, share = COOLED_RATIO
    ratio = constant_part + share * moist.humidity_ratio(outside, total)
    return moist.pressure_of_ratio(ratio, total)


def _spread(outdoor: Outdoor, inside: _Inside, kind: Kind, held: NDArray[np.bool_]) -> float:
    """Standard deviation of humidity between rooms of this description [points], over the year."""
    place = outdoor.humidity_error
    if inside.method in DESIGN_CURVES:
        place = 0.0  # a curve of temperature alone
    elif kind == "outdoors_covered":
        # % of moisture over the curve's slope gives points of humidity.
        damp = np.minimum(inside.humidity, HIGHEST_HUMIDITY)
        slope = sorption.slope(inside.temperature, damp)
        place = outdoor.equilibrium_error / float(np.mean(slope))
    free = float(np.hypot(inside.between, place))
    return float(np.sqrt(np.mean(np.where(held, HELD, free) ** 2)))
