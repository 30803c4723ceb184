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

from model.behaviour import edges, transport
from model.behaviour.arrival import HORIZON, first_within, turned
from model.behaviour.slab import Moisture, Slab, profile
from model.behaviour.year import wood_of
from model.codes import Note
from model.properties import air, sorption
from model.properties.finishes import Faces
from model.properties.species import Species
from model.spread import SORPTION_CV, TO_DECILE, Figure, Samples
from model.surroundings.calendar import MONTH, YEAR, month_of
from model.surroundings.room import Room, from_months
from model.surroundings.shop import (
    Shop,
    evaporation_heat,
    humidity_rise,
    machine_water,
    temperature_that_holds,
    ventilation_heat,
)

Floats = NDArray[np.float64]
Means = Literal["heat", "humidify", "dehumidify"]
MEANS: Final[tuple[Means, ...]] = get_args(Means)

# Width and thickness of wood that is told by its weight alone [m]; of no effect on what is told.
STANDING_IN: Final = (0.3, 0.05)
SHORT_OF_AIR: Final = 5.0  # points of humidity that drying wood may add unsaid (judgement)


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
class Pieces:
    """A weight of wood, its pieces' thickness known or not.

    Attributes
    ----------
    species : Species
    weight : float
        All together, as it lies there [kg].
    thickness : float or None
        [m].
    """

    species: Species
    weight: float
    thickness: float | None = None

    @property
    def slab(self) -> Slab:
        """A slab that stands for one of them: only its thickness has an effect on what is told."""
        return Slab(self.species, STANDING_IN[0], self.thickness or STANDING_IN[1])


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
        Points of humidity that the wood adds to the shop's air in the first days.
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
    heat_alone: Course | None
    held: Course | None
    attribution: tuple[str, ...]
    notes: tuple[Note, ...]


def water_to_carry(dry_mass: ArrayLike, moisture: ArrayLike, target: ArrayLike) -> Floats:
    """Water between two moisture contents [kg] of wood of an oven-dry mass [kg]."""
    drop = np.asarray(moisture, dtype=np.float64) - np.asarray(target)
    result: Floats = np.asarray(dry_mass) * drop / 100.0
    return result


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
    state: Floats | transport.State = stock.moisture
    begin = start
    tolerance, longest = transport.central_finely(stock.wood.transport_factor.size)
    while begin < start + HORIZON - 1.0:
        run = transport.run(
            stock.wood,
            stock.mesh,
            state,
            plan.air,
            stock.faces,
            begin,
            begin + YEAR,
            tolerance=tolerance,
            longest_step=longest,
            layers=0,
        )
        first = 0 if begin == start else 1
        days.append(run.days[first:])
        means.append(run.mean[first:])
        state, begin = run.end, begin + YEAR
        arrived = np.all(np.min(np.abs(np.concatenate(means) - target), axis=0) <= 0.5)
        if arrived or turned(run.mean):
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
    within_1 = _arrival([first_within(days, gap[:, i], 1.0) for i in samples])
    within_half = _arrival([first_within(days, gap[:, i], 0.5) for i in samples])
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


def stock_of(
    wood: Slab | Pieces, moisture: Moisture, faces: Faces, samples: Samples
) -> tuple[Stock, bool]:
    """The wood as it is followed, and whether its thickness is known."""
    slab = wood if isinstance(wood, Slab) else wood.slab
    mesh = transport.grid(slab.thickness)
    nodes = profile(moisture, mesh.depth, slab.thickness)
    now = float(mesh.mean(nodes))
    weight = slab.weight(now) if isinstance(wood, Slab) else wood.weight
    dry = None if weight is None else weight / (1.0 + now / 100.0)
    timed = isinstance(wood, Slab) or wood.thickness is not None
    # By the mean curve, as printed tables of the air to hold are.
    moves = wood_of(slab, samples, hysteresis=False)
    if isinstance(wood, Slab):
        moves = edges.quickened(slab, moves, faces)
    return Stock(mesh, nodes, moves, faces, dry), timed


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
    now = float(stock.mesh.mean(stock.moisture))
    table = months(shop, target, spread)
    heat_alone = follow(stock, plan_by_heat(shop, target), shop, target, start)
    by_humidity = plan_by_humidity(shop, target)
    held = None if by_humidity is None else follow(stock, by_humidity, shop, target, start)
    water = heat = rise = None
    notes = _notes(table, shop, stock, target)
    warm = float(_plan_temperature(shop, target)[month_of(start) - 1])
    if stock.dry_mass is not None:
        water = float(water_to_carry(stock.dry_mass, now, target))
        heat = float(evaporation_heat(max(water, 0.0), warm))
        if shop.volume is not None and shop.air_changes:
            rise = humidity_rise(heat_alone.water_first_day, shop.volume, shop.air_changes, warm)
            if rise > SHORT_OF_AIR:
                notes.append(Note("ventilation-short", rise=rise))
    if not timed:
        notes.append(Note("thickness-unknown"))
    return Conditioning(
        table,
        now,
        stock.dry_mass,
        timed,
        water,
        heat,
        rise,
        heat_alone,
        held,
        attribution,
        tuple(notes),
    )
