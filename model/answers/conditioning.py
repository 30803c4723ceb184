"""Bringing wood to a moisture content in a shop: by heat alone, or by holding a humidity.

The same air, warmed, holds wood drier.  For every month this finds how warm the shop must be for
the outdoor air (and whatever vapour the shop adds) to hold the target, where that over-dries or
cannot reach it, which humidity to hold at the shop's own temperature instead, how much water must
go, how long it takes for the slab's thickness, and how much heat that costs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.basis import Note
from model.behaviour import transport
from model.properties import air, sorption
from model.properties.finishes import Faces
from model.spread import SORPTION_CV, TO_DECILE, Figure
from model.surroundings.calendar import MONTH, YEAR, month_of
from model.surroundings.room import Room, from_months

Floats = NDArray[np.float64]
Means = Literal["heat", "humidify", "dehumidify"]

HOTTEST: Final = 35.0  # degC; a shop people still work in (judgement)
WORKING: Final = 20.0  # degC; a shop's usual temperature when none is given (judgement)
HORIZON: Final = 5.0 * YEAR  # days; beyond it a slab is said not to arrive
TOLERANCE: Final = 0.05  # % M in a step; a tenth of the half point that is waited for
PERIODIC: Final = 0.02  # % M; a year that ends so near its beginning repeats itself
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
    """

    outdoor_temperature: Floats
    vapour_pressure: Floats
    temperature: Floats
    volume: float | None = None
    air_changes: float | None = None
    hottest: float = HOTTEST


@dataclass(frozen=True, slots=True)
class Month:
    """What one month takes.

    Attributes
    ----------
    month : int
        1 to 12.
    means : str
        `heat` where warming the air to `heat_to` holds the target; `humidify` where the shop's air
        at its own temperature is already too dry, so that any more heat over-dries; `dehumidify`
        where the hottest the shop may get is not enough.
    heat_to : Figure or None
        Temperature that holds the target [degC]; None outside -20 to 60 degC.
    equilibrium_unheated : float
        Of the outdoor vapour at the outdoor temperature [% M].
    equilibrium_at_shop : float
        Of the same vapour at the shop's own temperature [% M].
    equilibrium_at_hottest : float
        As dry as heat alone can make it [% M].
    hold : Figure or None
        Relative humidity that holds the target at the shop's own temperature [%].
    humidity_at_shop : float
        What stands there without a machine [%].
    ventilation_heat : float or None
        To warm the air that is changed, a day, at the temperature of the plan [kWh].
    machine_water : float or None
        What a machine must take out of the changed air a day to hold that humidity at the shop's
        own temperature; negative: put in [kg].
    """

    month: int
    means: Means
    heat_to: Figure | None
    equilibrium_unheated: float
    equilibrium_at_shop: float
    equilibrium_at_hottest: float
    hold: Figure | None
    humidity_at_shop: float
    ventilation_heat: float | None
    machine_water: float | None


@dataclass(frozen=True, slots=True)
class Course:
    """How the slab follows a plan.

    Attributes
    ----------
    days_within_1, days_within_half : Figure or None
        Days until the mean first comes within 1 and 0.5 % M of the target; None beyond five years.
        A `high` beyond that is infinite.
    water_first_day : float
        Water it gives off in the first day [kg]; negative when it takes water up.
    heat : float or None
        Evaporation and ventilation until within 0.5 % M, and where the humidity is held the water a
        humidifier evaporates into the changed air [kWh]; None when that is not reached or the
        shop's volume and air change are not given.
    driest : float
        Lowest mean moisture of the plan's first year if it is left in [% M].
    """

    days_within_1: Figure | None
    days_within_half: Figure | None
    water_first_day: float
    heat: float | None
    driest: float


@dataclass(frozen=True, slots=True)
class Answer:
    """The months, the water, and how the slab goes by heat alone and with the humidity held."""

    months: tuple[Month, ...]
    water: float
    evaporation_heat: float
    humidity_rise: float | None
    heat_alone: Course | None
    held: Course | None
    notes: tuple[Note, ...]
    cautions: tuple[str, ...]


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


def water_to_carry(dry_mass: ArrayLike, moisture: ArrayLike, target: ArrayLike) -> Floats:
    """Water between two moisture contents [kg] of wood of an oven-dry mass [kg]."""
    drop = np.asarray(moisture, dtype=np.float64) - np.asarray(target)
    result: Floats = np.asarray(dry_mass) * drop / 100.0
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
    kelvin = np.asarray(temperature, dtype=np.float64) + air.ZERO_CELSIUS
    held = np.asarray(humidity) / 100.0 * air.saturation_pressure(temperature)
    over = (np.asarray(vapour_pressure) - held) / (air.WATER_GAS_CONSTANT * kelvin)
    return np.asarray(24.0 * volume * air_changes * over)


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


def _banded(values: Floats) -> Figure | None:
    """Figure of (central, damper-holding, drier-holding) values; None when the central is NaN."""
    if np.isnan(values[0]):
        return None
    known = values[np.isfinite(values)]
    return Figure(float(values[0]), float(known.min()), float(known.max()))


def months(shop: Shop, target: float, spread: bool = True) -> tuple[Month, ...]:
    """What each month of a shop takes to hold a target moisture [%].

    The band of temperatures and humidities comes from how far a wood's own equilibrium may stand
    from the mean curve.
    """
    reach = TO_DECILE * SORPTION_CV
    # A wood that holds 10 % more than the curve needs air that holds 10 % less than the target.
    factors = np.array([1.0, 1.0 + reach, 1.0 - reach]) if spread else np.ones(1)
    targets = target / factors
    vapour, own = shop.vapour_pressure, shop.temperature
    heat_to = temperature_that_holds(vapour[:, None], targets)
    hold = sorption.humidity_of_moisture(own[:, None], targets)

    def settles(temperature: ArrayLike) -> Floats:
        humidity = np.minimum(air.relative_humidity(temperature, vapour), sorption.HIGHEST_HUMIDITY)
        return sorption.equilibrium_moisture(temperature, humidity)

    unheated, at_own = settles(shop.outdoor_temperature), settles(own)
    at_hottest = settles(np.maximum(shop.hottest, own))
    humidity = air.relative_humidity(own, vapour)
    plan = _plan_temperature(shop, target)
    found = []
    for i in range(12):
        means: Means = "heat"
        if at_own[i] < target:
            means = "humidify"
        elif at_hottest[i] > target:
            means = "dehumidify"
        heat = None
        if shop.volume is not None and shop.air_changes is not None:
            heat = float(
                ventilation_heat(
                    shop.volume, shop.air_changes, plan[i], shop.outdoor_temperature[i]
                )
            )
        warm, held = _banded(heat_to[i]), _banded(hold[i])
        water = None
        if held is not None and shop.volume is not None and shop.air_changes is not None:
            water = float(
                machine_water(shop.volume, shop.air_changes, own[i], vapour[i], held.value)
            )
        if not spread:
            warm = None if warm is None else Figure(warm.value)
            held = None if held is None else Figure(held.value)
        found.append(
            Month(
                i + 1,
                means,
                warm,
                float(unheated[i]),
                float(at_own[i]),
                float(at_hottest[i]),
                held,
                float(humidity[i]),
                heat,
                water,
            )
        )
    return tuple(found)


def _plan_temperature(shop: Shop, target: float) -> Floats:
    """Temperatures of the plan by heat alone: never below the shop's own, never above the hottest.

    Where the shop's own temperature already over-dries, it stays there: a shop is worked in.
    """
    wanted = temperature_that_holds(shop.vapour_pressure, target)
    # NaN means hotter than 60 degC or colder than -20: the hottest allowed, or the shop's own.
    humidity = air.relative_humidity(shop.temperature, shop.vapour_pressure)
    kept = np.minimum(humidity, sorption.HIGHEST_HUMIDITY)
    damp = sorption.equilibrium_moisture(shop.temperature, kept) > target
    wanted = np.where(np.isnan(wanted), np.where(damp, shop.hottest, shop.temperature), wanted)
    ceiling = np.maximum(shop.hottest, shop.temperature)
    result: Floats = np.clip(wanted, shop.temperature, ceiling)
    return result


def plan_by_heat(shop: Shop, target: float) -> Room:
    """The shop's year when heat alone is used."""
    temperature = _plan_temperature(shop, target)
    humidity = air.relative_humidity(temperature, shop.vapour_pressure)
    return from_months(temperature, np.clip(humidity, 1.0, 95.0))


def plan_by_humidity(shop: Shop, target: float) -> Room | None:
    """The shop's year at its own temperature with the humidity held; None when none holds it."""
    humidity = sorption.humidity_of_moisture(shop.temperature, target)
    if not np.all(np.isfinite(humidity) & (humidity >= 1.0) & (humidity <= 95.0)):
        return None
    return from_months(shop.temperature, humidity)


def _first_within(days: Floats, gap: Floats, limit: float) -> float:
    """Days until a gap is first within a limit; infinite if it never is.

    The wood is taken out then, so whether it would stay there through the seasons is not asked.
    """
    inside = np.flatnonzero(gap <= limit)
    if inside.size == 0:
        return float("inf")
    first = int(inside[0])
    if first == 0:
        return 0.0
    before, after = gap[first - 1], gap[first]
    share = (before - limit) / (before - after)
    return float(days[first - 1] + share * (days[first] - days[first - 1]) - days[0])


def _arrival(values: list[float]) -> Figure | None:
    """Figure of days to arrive, None when the central case never does."""
    if not np.isfinite(values[0]):
        return None
    if len(values) == 1:
        return Figure(values[0])
    ordered = np.sort(values[1:])
    # Percentiles of a sample with infinities must not interpolate between finite and infinite.
    low = float(ordered[int(0.1 * (ordered.size - 1))])
    high = float(ordered[int(np.ceil(0.9 * (ordered.size - 1)))])
    return Figure(values[0], min(low, values[0]), max(high, values[0]))


@dataclass(frozen=True, slots=True)
class Stock:
    """The wood to condition.

    `moisture` has shape (nodes,) [%] on the nodes of `mesh`; `dry_mass` [kg] may be None when
    neither length nor weight is known.
    """

    mesh: transport.Grid
    moisture: Floats
    wood: transport.Wood
    faces: Faces
    dry_mass: float | None = None


def _until(stock: Stock, plan: Room, target: float, start: float) -> tuple[Floats, Floats]:
    """Days and mean moisture (times, samples), a year at a time until all have been close."""
    days: list[Floats] = []
    means: list[Floats] = []
    state = stock.moisture
    begin = start
    while begin < start + HORIZON - 1.0:
        run = transport.run(
            stock.wood,
            stock.mesh,
            state,
            plan.air,
            stock.faces,
            begin,
            begin + YEAR,
            tolerance=TOLERANCE,
        )
        first = 0 if begin == start else 1
        days.append(run.days[first:])
        means.append(run.mean[first:])
        state, begin = run.moisture[-1], begin + YEAR
        arrived = np.all(np.min(np.abs(np.concatenate(means) - target), axis=0) <= 0.5)
        if arrived or np.abs(run.mean[-1] - run.mean[0]).max() < PERIODIC:
            # All are there, or the year ends as it began: the next will be the same.
            break
    return np.concatenate(days), np.concatenate(means)


def follow(stock: Stock, plan: Room, shop: Shop, target: float, start: float) -> Course:
    """Follow a slab through a plan from a day of the year.

    Parameters
    ----------
    stock : Stock
        The wood.
    plan : Room
        The shop's year.
    shop : Shop
        For the air it exchanges.
    target : float
        [% M].
    start : float
        Day number.
    """
    days, mean = _until(stock, plan, target, start)
    gap = np.abs(mean - target)
    samples = range(mean.shape[1])
    within_1 = _arrival([_first_within(days, gap[:, i], 1.0) for i in samples])
    within_half = _arrival([_first_within(days, gap[:, i], 0.5) for i in samples])
    one_day = np.interp(start + 1.0, days, mean[:, 0])
    dry = 0.0 if stock.dry_mass is None else stock.dry_mass
    heat = None
    if within_half is not None and shop.volume is not None and shop.air_changes is not None:
        lost = max(0.0, float(water_to_carry(dry, mean[0, 0], target)))
        lasts = within_half.value
        heat = float(evaporation_heat(lost, plan.temperature.mean()))
        heat += _ventilation(shop, plan, start, lasts) + _humidifying(shop, plan, start, lasts)
    return Course(
        within_1,
        within_half,
        float(water_to_carry(dry, mean[0, 0], one_day)),
        heat,
        float(mean[days <= start + YEAR, 0].min()),
    )


def _ventilation(shop: Shop, plan: Room, start: float, days: float) -> float:
    """Heat for the exchanged air from a day on for so many days [kWh]."""
    assert shop.volume is not None
    assert shop.air_changes is not None
    a_day = ventilation_heat(
        shop.volume, shop.air_changes, plan.temperature, shop.outdoor_temperature
    )
    return _summed(a_day, start, days)


def _humidifying(shop: Shop, plan: Room, start: float, days: float) -> float:
    """Heat to evaporate the water a plan puts into the exchanged air [kWh].

    By heat alone the air keeps its vapour, so that nothing is put in.
    """
    assert shop.volume is not None
    assert shop.air_changes is not None
    taken = machine_water(
        shop.volume,
        shop.air_changes,
        plan.temperature,
        shop.vapour_pressure,
        plan.relative_humidity,
    )
    return _summed(evaporation_heat(np.maximum(-taken, 0.0), plan.temperature), start, days)


def _summed(a_day: Floats, start: float, days: float) -> float:
    """What twelve months' daily figures come to from a day on for so many days."""
    edges = np.arange(np.ceil(start / MONTH), np.ceil((start + days) / MONTH)) * MONTH
    cuts = np.concatenate(
        ([start], edges[(edges > start) & (edges < start + days)], [start + days])
    )
    middle = 0.5 * (cuts[1:] + cuts[:-1])
    month = np.array([month_of(float(day)) - 1 for day in middle])
    return float(np.sum(np.diff(cuts) * a_day[month]))


CAUTIONS: Final = (
    "Heaters, stoves and fuel lines are work for the local code and licensed hands: leave clear "
    "space around them, never leave an open or fuel-fired heater unattended with drying wood, "
    "dust or finishes, and fit smoke and carbon-monoxide alarms.",
    "A fuel heater without a flue puts about as much water into the air as it burns fuel: it "
    "dampens the shop, and it needs fresh air.",
    "Fast drying of thick wood that is still above about 20 % can check and honeycomb it: raise "
    "the temperature slowly.",
    "A slab is heavy: lift it with enough people or a hoist.",
)


def _verdict_notes(table: tuple[Month, ...], shop: Shop, target: float) -> list[Note]:
    names = (
        "January", "February", "March", "April", "May", "June", "July", "August", "September",
        "October", "November", "December",
    )  # fmt: skip

    def listed(means: Means) -> str:
        return ", ".join(names[one.month - 1] for one in table if one.means == means)

    notes = []
    if over := listed("humidify"):
        notes.append(
            Note(
                "heating-over-dries",
                f"In {over} the air at the shop's own temperature is already drier than "
                f"{target:g} % calls for: more heat over-dries; add moisture or heat less.",
                source="Hyland-Wexler; Wood Handbook FPL-GTR-190 eq. 4-5 (memory)",
            )
        )
    if short := listed("dehumidify"):
        notes.append(
            Note(
                "heating-not-enough",
                f"In {short} heating to {shop.hottest:g} °C does not bring the air down to "
                f"{target:g} %: a drying machine, or another season.",
                source="Hyland-Wexler; Wood Handbook FPL-GTR-190 eq. 4-5 (memory)",
            )
        )
    return notes


def _general_notes(shop: Shop, stock: Stock) -> list[Note]:
    notes = [
        Note(
            "times-uncertain",
            "Days are uncertain by a factor of about two either way until readings fit the rate.",
            source="judgement across conflicting evidence",
        ),
        Note(
            "heat-parts",
            "The heat is evaporation, a humidifier's included, and warming the exchanged air only: "
            "what walls, roof and floor lose, warming the wood, and the heat of sorption (some "
            "percent of the evaporation) come on top; losses are often the larger part.",
            source="derived",
        ),
    ]
    if stock.dry_mass is None:
        notes.append(
            Note("mass-unknown", "Neither length nor weight is given: no water in kilograms.")
        )
    if shop.volume is None or shop.air_changes is None:
        notes.append(
            Note(
                "shop-unknown",
                "The shop's volume and air change are not given: no heat for ventilation, and the "
                "water the wood itself adds to the air is left out.",
            )
        )
    return notes


def answer(stock: Stock, shop: Shop, target: float, start: float, spread: bool = True) -> Answer:
    """Months, water, days and heat of bringing wood to a target.

    Parameters
    ----------
    stock : Stock
        The wood, its samples in `stock.wood`.
    shop : Shop
        The place.
    target : float
        Moisture to reach [%].
    start : float
        Day number of the start.
    spread : bool
        Whether to give bands.
    """
    table = months(shop, target, spread)
    now = float(stock.mesh.mean(stock.moisture))
    dry = 0.0 if stock.dry_mass is None else stock.dry_mass
    water = float(water_to_carry(dry, now, target))
    heat_alone = follow(stock, plan_by_heat(shop, target), shop, target, start)
    by_humidity = plan_by_humidity(shop, target)
    held = None if by_humidity is None else follow(stock, by_humidity, shop, target, start)
    rise = None
    notes = _verdict_notes(table, shop, target) + _general_notes(shop, stock)
    first = month_of(start) - 1
    warm = float(_plan_temperature(shop, target)[first])
    if shop.volume is not None and shop.air_changes and stock.dry_mass is not None:
        rise = humidity_rise(heat_alone.water_first_day, shop.volume, shop.air_changes, warm)
        if rise > 5.0:
            notes.append(
                Note(
                    "ventilation-short",
                    f"In the first days the wood adds {rise:.0f} points of humidity to the shop's "
                    "air at this air change: ventilate more or expect it to go slower.",
                    source="derived",
                )
            )
    return Answer(
        table,
        water,
        float(evaporation_heat(max(water, 0.0), warm)),
        rise,
        heat_alone,
        held,
        tuple(notes),
        CAUTIONS,
    )
