"""Bringing wood to a moisture content in a shop: by heat alone, or by holding a humidity.

The same air, warmed, holds wood drier.  For every month this finds how warm the shop must be for
the outdoor air (and whatever vapour the shop adds) to hold the target, where that over-dries or
cannot reach it, which humidity to hold at the shop's own temperature instead, how much water must
go, how long it takes for the slab's thickness, and how much heat that costs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.answers import drying
from model.answers.drying import Course, Plan, Stock, plan_temperature, water_to_carry
from model.behaviour import safe_drying
from model.codes import Note
from model.properties import air, sorption
from model.spread import SORPTION_CV, TO_DECILE, Figure
from model.surroundings import machines
from model.surroundings.calendar import month_of
from model.surroundings.shop import (
    Shop,
    evaporation_heat,
    humidity_rise,
    machine_water,
    temperature_that_holds,
    ventilation_heat,
)

Floats = NDArray[np.float64]
Means = Literal["heat", "humidify", "dehumidify", "leave"]
MEANS: Final[tuple[Means, ...]] = get_args(Means)

SHORT_OF_AIR: Final = 5.0  # points of humidity that drying wood may add unsaid (judgement)
AT_TARGET: Final = 0.5  # % M; nearer than this the wood is where it shall be (judgement)
OVERDOES: Final = (
    0.5  # % M below the target that a machine without humidistat may bring (judgement)
)
NEAR_SATURATION: Final = 90.0  # %; a shop's air so damp grows mould (common practice)
STAYS_ABOVE: Final = 1.0  # points above its setting that a machine may stay unsaid (judgement)
DRIPS: Final = 1.0  # days that windows may drip unsaid (judgement)


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
        where the hottest the shop may get is not enough; `leave` where its own air stands within
        the humidistat's dead band of the humidity to hold.
    heat_to : Figure or None
        Temperature that holds the target [degC]; None outside -20 to 60 degC.
    equilibrium_unheated : float
        Of the outdoor vapour at the outdoor temperature [% M].
    equilibrium_at_shop : float
        Of the same vapour at the shop's own temperature [% M].
    equilibrium_at_hottest : float
        As dry as heat alone can make it [% M].
    humidity : Figure or None
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
    humidity: Figure | None
    humidity_at_shop: float
    ventilation_heat: float | None
    machine_water: float | None


@dataclass(frozen=True, slots=True)
class Conditioning:
    """What bringing wood to a target takes.

    Attributes
    ----------
    months : tuple of Month
        Twelve.
    now : float
        Mean moisture of the wood [%].
    dry_mass : float or None
        Oven-dry [kg]; None when neither length nor weight is known, and every figure of water with
        it.
    timed : bool
        Whether a thickness is known, so that days mean something.
    water : float or None
        To carry away [kg]; negative: to bring in.
    evaporation_heat : float or None
        Of that water [kWh].
    humidity_rise : float or None
        Points of humidity that the wood adds to the shop's air on the first day.
    begin_with : str
        What the wood as it is asks for first, one of `MEANS`: wood wetter than the shop's air holds
        it asks for no humidifier.
    first_humidity : Figure or None
        To begin the drying of green wood with [%]; None for wood below fibre saturation, or where
        no figure is known.
    heat_alone, held : Course or None
        How it goes by heat alone, and with the humidity held; None where no humidity holds it.
    attribution : tuple of str
        Credit that must stay with the shop's climate.
    notes : tuple of Note
    """

    months: tuple[Month, ...]
    now: float
    dry_mass: float | None
    timed: bool
    water: float | None
    evaporation_heat: float | None
    humidity_rise: float | None
    begin_with: Means
    first_humidity: Figure | None
    heat_alone: Course | None
    held: Course | None
    attribution: tuple[str, ...]
    notes: tuple[Note, ...]


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
    plan = plan_temperature(shop, target)
    near = np.abs(humidity - hold[:, 0]) <= machines.DEAD_BAND
    found = []
    for i in range(12):
        means: Means = "heat"
        if near[i]:
            means = "leave"
        elif at_own[i] < target:
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


def begins_with(month: Month, now: float, target: float) -> Means:
    """What wood at a moisture [%] asks for first in a month.

    Wood that the shop's own air brings to the target asks for nothing until it is there.
    """
    if abs(now - target) <= AT_TARGET:
        return month.means
    if now > target:
        return "leave" if month.equilibrium_at_shop < target else month.means
    return "humidify" if month.means == "humidify" else "leave"


def _notes(table: tuple[Month, ...], shop: Shop, stock: Stock, target: float) -> list[Note]:
    def those(means: Means) -> tuple[int, ...]:
        return tuple(one.month for one in table if one.means == means)

    notes = []
    if over := those("humidify"):
        notes.append(Note("heating-over-dries", months=over, target=target))
    if short := those("dehumidify"):
        notes.append(Note("heating-not-enough", months=short, hottest=shop.hottest, target=target))
    notes += [Note("times-uncertain"), Note("heat-parts")]
    if stock.dry_mass is None:
        notes.append(Note("mass-unknown"))
    if shop.volume is None or shop.air_changes is None:
        notes.append(Note("shop-unknown"))
    return notes


def _of_machines(
    table: tuple[Month, ...], shop: Shop, plan: Plan, course: Course, target: float
) -> list[Note]:
    """Where a dehumidifier is no use, ices, or would overdo it; where windows bear less."""
    notes = []
    hold = np.array([np.nan if one.humidity is None else one.humidity.value for one in table])
    damp = plan.free.relative_humidity > hold + machines.DEAD_BAND
    compressor = shop.kind == "compressor"
    cold = damp & compressor & (shop.temperature < machines.WORKS_FROM)
    icy = damp & compressor & ~cold & (shop.temperature < machines.ICES_BELOW)
    if cold.any():
        notes.append(Note("machine-too-cold", months=int(cold.sum()), works=machines.WORKS_FROM))
    if icy.any():
        notes.append(Note("machine-ices", months=int(icy.sum()), below=machines.ICES_BELOW))
    stops = damp & ~cold & (shop.driest_by_machine > hold + machines.DEAD_BAND)
    if stops.any():
        floor = float(shop.driest_by_machine[stops].max())
        notes.append(Note("machine-stops", months=int(stops.sum()), floor=floor))
    if shop.rated and shop.volume is not None and shop.air_changes is not None:
        without = machines.humidity_held(
            shop.temperature,
            shop.vapour_pressure,
            shop.rated,
            shop.volume,
            shop.air_changes,
            kind=shop.kind,
        )
        brings = sorption.equilibrium_moisture(
            shop.temperature, np.minimum(without, sorption.HIGHEST_HUMIDITY)
        )
        runs = damp | (course.balance is not None and course.balance.removed > 0.0)
        over = runs & (brings < target - OVERDOES)
        if over.any():
            worst = int(np.argmin(np.where(over, brings, np.inf)))
            notes.append(
                Note(
                    "set-humidistat",
                    reached=float(without[worst]),
                    moisture=float(brings[worst]),
                    setting=float(hold[worst]),
                )
            )
    bears = shop.drips_above
    wet = (bears < hold - machines.DEAD_BAND) & (plan.free.relative_humidity < hold)
    if wet.any():
        notes.append(Note("panes-hold-lower", months=int(wet.sum()), least=float(bears[wet].min())))
    return notes


def _of_air(courses: list[Course], shop: Shop) -> list[Note]:
    """What the wood's own water does to the shop's air, by whichever plan it does more."""
    notes: list[Note] = []
    airs = [one.balance for one in courses if one.balance is not None]
    dampest = max((one.dampest for one in airs), default=0.0)
    if dampest >= NEAR_SATURATION:
        notes.append(Note("air-near-saturation", humidity=dampest))
    dripping = max((one.dripping for one in airs), default=0.0)
    if dripping >= DRIPS:
        notes.append(Note("windows-drip", days=dripping))
    short = max(airs, key=lambda one: one.short, default=None)
    if short is not None and shop.rated is not None and short.short > STAYS_ABOVE:
        notes.append(
            Note("machine-too-small", rated=shop.rated, needed=short.rated, above=short.short)
        )
    return notes


def _of_green(stock: Stock, plans: list[tuple[Plan, Course]]) -> list[Note]:
    """What fast or hot drying does to the wood, by whichever plan does it."""
    rule = safe_drying.rule_of(stock.slab.species)
    notes = []
    paces = [course.pace for _, course in plans]
    fast = [one for one in paces if one.verdict != "safe"]
    if fast:
        worst = max(fast, key=lambda one: max(one.index.value, one.skin.value))
        notes.append(
            Note(
                "dries-too-fast",
                loss=worst.loss.value,
                allowed=worst.allowed,
                day=worst.day,
                skin=worst.skin.value,
                likely=worst.verdict == "too_fast",
                chance=worst.chance,
                printed=rule.printed,
            )
        )
    core = float(stock.moisture[stock.moisture.size // 2])
    if stock.now > safe_drying.HONEYCOMB_ABOVE and any(one.index.value > 1.0 for one in paces):
        notes.append(Note("may-honeycomb"))
    warmest = max((float(plan.free.temperature.max()) for plan, _ in plans), default=0.0)
    if core > safe_drying.CORE_WET_ABOVE and warmest > rule.hottest_wet:
        notes.append(
            Note("too-hot-for-wet-core", hottest=rule.hottest_wet, until=safe_drying.CORE_WET_ABOVE)
        )
    low, high = safe_drying.VALID
    if any(one.allowed is not None for one in paces) and not (low <= stock.slab.thickness <= high):
        notes.append(Note("loss-extrapolated"))
    return notes


def _first_humidity(stock: Stock) -> Figure | None:
    rule = safe_drying.rule_of(stock.slab.species)
    if stock.now <= stock.wood.fibre_saturation or rule.first_humidity is None:
        return None
    low, high = rule.first_humidity
    return Figure(0.5 * (low + high), low, high)


def condition(
    stock: Stock,
    shop: Shop,
    target: float,
    start: float,
    *,
    timed: bool = True,
    spread: bool = True,
    attribution: tuple[str, ...] = (),
) -> Conditioning:
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
    timed : bool
        Whether the wood's thickness is known.
    spread : bool
        Whether to give bands.
    attribution : tuple of str
        Of the shop's climate.
    """
    table = months(shop, target, spread)
    warmed, kept = drying.by_heat(shop, target), drying.by_humidity(shop, target)
    heat_alone = drying.follow(stock, warmed, shop, target, start, timed=timed)
    plans, held = [(warmed, heat_alone)], None
    notes = _notes(table, shop, stock, target)
    if kept is not None:
        held = drying.follow(stock, kept, shop, target, start, timed=timed)
        plans.append((kept, held))
        notes += _of_machines(table, shop, kept, held, target)
    if timed:
        notes += _of_air([course for _, course in plans], shop)
        notes += _of_green(stock, plans)
    else:
        notes.append(Note("thickness-unknown"))
    water = heat = rise = None
    warm = float(plan_temperature(shop, target)[month_of(start) - 1])
    if stock.dry_mass is not None:
        water = float(water_to_carry(stock.dry_mass, stock.now, target))
        heat = float(evaporation_heat(max(water, 0.0), warm))
        if shop.volume is not None and shop.air_changes:
            rise = humidity_rise(heat_alone.water_first_day, shop.volume, shop.air_changes, warm)
            if rise > SHORT_OF_AIR:
                notes.append(Note("ventilation-short", rise=rise))
    return Conditioning(
        table,
        stock.now,
        stock.dry_mass,
        timed,
        water,
        heat,
        rise,
        begins_with(table[month_of(start) - 1], stock.now, target),
        _first_humidity(stock) if timed else None,
        heat_alone,
        held,
        attribution,
        tuple(notes),
    )
