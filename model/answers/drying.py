"""How wood goes through a plan for its air: days, water, heat, and whether too fast to stay whole.

Where the shop's volume and air changes and the wood's weight are known, wood and air are followed
together: what the wood gives off dampens the air it dries in, and a machine takes it out again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import spread
from model.behaviour import edges, safe_drying, section, transport
from model.behaviour.arrival import HORIZON, first_within, turned
from model.behaviour.slab import Moisture, Slab, profile
from model.behaviour.timber import timber_of
from model.behaviour.year import wood_of
from model.properties import air, sorption, strength
from model.properties.finishes import Faces
from model.properties.species import Species
from model.spread import Figure, Samples
from model.surroundings import machines
from model.surroundings.air_series import POINTS_A_MONTH, year_through
from model.surroundings.calendar import MONTH, YEAR, month_of
from model.surroundings.room import Room, from_months
from model.surroundings.shop import Shop, evaporation_heat, temperature_that_holds, ventilation_heat

Floats = NDArray[np.float64]
State = Floats | transport.State
Verdict = Literal["safe", "cannot_tell", "too_fast"]
VERDICTS: Final[tuple[Verdict, ...]] = get_args(Verdict)

# Width and thickness of wood that is told by its weight alone [m]; of no effect on what is told.
STANDING_IN: Final = (0.3, 0.05)
DAILY: Final = 60.0  # days told one by one; later ones every `LATER`
LATER: Final = 5.0  # days
# Hours whose stresses are looked at beside each day's loss: a few fast ones hurt (printed,
# Wengert).
HOURS: Final = (0.0, 1.0, 2.0, 4.0, 8.0, 16.0, 24.0, 36.0, 48.0, 72.0)
NOTHING_HELD: Final = 200.0  # %; a humidity no machine acts at


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast it dries against what its wood bears.

    Attributes
    ----------
    loss : Figure
        Largest loss of any day [% M].
    allowed : float or None
        Largest that is safe, on the day that comes nearest to it [% M]; None where any is.
    day : float
        From the start to that day [days].
    index : Figure
        Largest of a day's loss over what is allowed that day [-].
    skin : Figure
        Largest stress index of either face in the first three days, see `strength.skin_index` [-].
    chance : float or None
        That either passes 1 [%]; None without spread.
    verdict : {"safe", "cannot_tell", "too_fast"}
    least_days : float
        Of a good run from here to the target; 0 where none are asked.
    """

    loss: Figure
    allowed: float | None
    day: float
    index: Figure
    skin: Figure
    chance: float | None
    verdict: Verdict
    least_days: float


@dataclass(frozen=True, slots=True)
class Balance:
    """The shop's air with the wood in it, until it is within half a point or for a year.

    Attributes
    ----------
    first_day : float
        Relative humidity of its first day [%].
    dampest : float
        Highest of a day [%].
    removed, added : float
        Water that a dehumidifier takes out and a humidifier puts in [kg].
    largest : float
        Most that must be taken out in a day, the wood's own water with it [kg].
    rated : float or None
        Output as rated that this takes [kg/day]; None where no such machine works there.
    short : float
        Points by which a machine of the size told stays above its setting at most [%].
    dripping : float
        Days on which windows drip.
    """

    first_day: float
    dampest: float
    removed: float
    added: float
    largest: float
    rated: float | None
    short: float
    dripping: float


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
        Evaporation, ventilation and the water a humidifier evaporates until within 0.5 % M, less
        what a dehumidifier gives back [kWh]; None when that is not reached or the shop's volume and
        air change are not given.
    current : Figure or None
        What the dehumidifier draws until then [kWh].
    cost : float or None
        Of both, in the money of the price.
    driest : float
        Lowest mean moisture of the plan's first year if it is left in [% M].
    balance : Balance or None
        None where the air is not followed with the wood.
    pace : Pace
    """

    days_within_1: Figure | None
    days_within_half: Figure | None
    water_first_day: float
    heat: float | None
    current: Figure | None
    cost: float | None
    driest: float
    balance: Balance | None
    pace: Pace


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
class Stock:
    """The wood to condition.

    `moisture` has shape (nodes,) [%] on the nodes of `mesh`; `dry_mass` [kg] may be None when
    neither length nor weight is known; `slab` is the slab, or one that stands for the pieces.
    """

    mesh: transport.Grid
    moisture: Floats
    wood: transport.Wood
    faces: Faces
    slab: Slab
    samples: Samples
    dry_mass: float | None = None

    @property
    def now(self) -> float:
        """Mean moisture [%]."""
        return float(self.mesh.mean(self.moisture))


@dataclass(frozen=True, slots=True)
class Plan:
    """The shop's year without the wood, and what machines hold.

    Attributes
    ----------
    free : Room
        Its air without machine and wood.
    low, high : ndarray (12,)
        Humidities that a humidifier and a dehumidifier hold [%]; 0 and `NOTHING_HELD`: none does.
    """

    free: Room
    low: Floats
    high: Floats

    def held(self) -> Room:
        """Its air with machines as large as is needed and without wood."""
        damp = np.clip(self.free.relative_humidity, self.low, self.high)
        return from_months(self.free.temperature, np.clip(damp, 1.0, 95.0))

    def bounds(self) -> tuple[Floats, Floats]:
        """Both humidities at the points of the year's air [%]."""
        found = []
        for bound, idle in ((self.low, 0.0), (self.high, NOTHING_HELD)):
            acts = (bound > 0.0) & (bound < NOTHING_HELD)
            smooth = year_through(np.clip(bound, 1.0, 95.0), 1.0, 95.0)
            found.append(np.where(np.repeat(acts, POINTS_A_MONTH), smooth, idle))
        return found[0], np.maximum(found[0], found[1])


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
    return Stock(mesh, nodes, moves, faces, slab, samples, dry), timed


def water_to_carry(dry_mass: ArrayLike, moisture: ArrayLike, target: ArrayLike) -> Floats:
    """Water between two moisture contents [kg] of wood of an oven-dry mass [kg]."""
    drop = np.asarray(moisture, dtype=np.float64) - np.asarray(target)
    result: Floats = np.asarray(dry_mass) * drop / 100.0
    return result


def plan_temperature(shop: Shop, target: float) -> Floats:
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


def _free(shop: Shop, temperature: Floats) -> Room:
    humidity = air.relative_humidity(temperature, shop.vapour_pressure)
    return from_months(temperature, np.clip(humidity, 1.0, 95.0))


def by_heat(shop: Shop, target: float) -> Plan:
    """The plan by heat alone."""
    free = _free(shop, plan_temperature(shop, target))
    return Plan(free, np.zeros(12), np.full(12, NOTHING_HELD))


def by_humidity(shop: Shop, target: float) -> Plan | None:
    """The plan at the shop's own temperature with the humidity held; None when none holds it.

    Neither machine runs in a month whose air stands within the humidistat's dead band; a humidifier
    stops where the windows would drip, a dehumidifier where it takes out nothing more.
    """
    wanted = sorption.humidity_of_moisture(shop.temperature, target)
    if not np.all(np.isfinite(wanted) & (wanted >= 1.0) & (wanted <= 95.0)):
        return None
    free = _free(shop, shop.temperature)
    near = np.abs(free.relative_humidity - wanted) <= machines.DEAD_BAND
    band = np.where(near, machines.DEAD_BAND, 0.0)
    low = np.minimum(np.maximum(wanted - band, 1.0), shop.drips_above)
    high = np.maximum(np.minimum(wanted + band, 95.0), shop.driest_by_machine)
    return Plan(free, low, np.minimum(high, NOTHING_HELD))


def _told_days(begin: float, first: bool) -> Floats:
    """Days of a year to tell: one by one at first, then every few."""
    early = [0.0, 0.02, 0.1, 0.25, 0.5] if first else [0.0]
    every = np.arange(1.0, DAILY + 0.5) if first else np.array([LATER])
    later = np.arange(every[-1] + LATER, YEAR - 1.0, LATER)
    return begin + np.concatenate((early, every, later, [YEAR]))


def _followed(
    stock: Stock,
    plan: Plan,
    around: transport.SharedAir | None,
    days: Floats,
    state: State,
    layers: int | None = None,
) -> transport.Run:
    room = plan.free if around is not None else plan.held()
    tolerance, longest = transport.central_finely(stock.wood.transport_factor.size)
    return transport.run(
        stock.wood,
        stock.mesh,
        state,
        room.air,
        stock.faces,
        float(days[0]),
        float(days[-1]),
        days=days,
        tolerance=tolerance,
        longest_step=longest,
        shared=around,
        layers=layers,
    )


def _until(
    stock: Stock, plan: Plan, around: transport.SharedAir | None, target: float, start: float
) -> tuple[Floats, Floats]:
    """Days and mean moisture (times, samples), a year at a time until all have been close."""
    days: list[Floats] = []
    means: list[Floats] = []
    state: State = stock.moisture
    begin = start
    while begin < start + HORIZON - 1.0:
        run = _followed(
            stock, plan, around, _told_days(begin, begin == start), state, layers=0
        )  # fmt: skip
        first = 0 if begin == start else 1
        days.append(run.days[first:])
        means.append(run.mean[first:])
        state, begin = run.end, begin + YEAR
        arrived = np.all(np.min(np.abs(np.concatenate(means) - target), axis=0) <= 0.5)
        if arrived or turned(run.mean):
            # All are there, or the year ends as it began: the next will be the same.
            break
    return np.concatenate(days), np.concatenate(means)


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


def shared_air(stock: Stock, plan: Plan, shop: Shop) -> transport.SharedAir | None:
    """What the wood shares its air with; None where that is not known."""
    if stock.dry_mass is None or shop.air_changed is None:
        return None
    low, high = plan.bounds()
    return transport.SharedAir(
        stock.dry_mass,
        shop.air_changed,
        low,
        high,
        math.inf if shop.rated is None else shop.rated,
        shop.kind == "desiccant",
    )


def follow(
    stock: Stock, plan: Plan, shop: Shop, target: float, start: float, *, timed: bool = True
) -> Course:
    """Follow the wood through a plan from a day of the year.

    Parameters
    ----------
    stock : Stock
        The wood.
    plan : Plan
        The shop's year.
    shop : Shop
        For the air it exchanges and its machines.
    target : float
        [% M].
    start : float
        Day number.
    timed : bool
        Whether the wood's thickness is known; else its air is not followed with it.
    """
    around = shared_air(stock, plan, shop) if timed else None
    days, mean = _until(stock, plan, around, target, start)
    gap = np.abs(mean - target)
    samples = range(mean.shape[1])
    within_1 = _arrival([first_within(days, gap[:, i], 1.0) for i in samples])
    within_half = _arrival([first_within(days, gap[:, i], 0.5) for i in samples])
    one_day = np.interp(start + 1.0, days, mean[:, 0])
    dry = 0.0 if stock.dry_mass is None else stock.dry_mass
    balance = heat = current = cost = None
    if shop.air_changed is not None:
        lasts = YEAR if within_half is None else within_half.value
        flow = dry if timed else 0.0
        balance, damping, returned = balance_of(
            flow, plan, shop, days - start, mean[:, 0], start, lasts
        )
        if within_half is not None:
            lost = max(0.0, float(water_to_carry(dry, mean[0, 0], target)))
            heat = float(evaporation_heat(lost, plan.free.temperature.mean())) + damping
            heat += ventilation(shop, plan, start, lasts)
            heat = max(0.0, heat - returned)
            current = Figure(*(one * balance.removed for one in machines.CURRENT))
            if shop.price is not None:
                cost = shop.price * (heat + current.value)
    return Course(
        within_1,
        within_half,
        float(water_to_carry(dry, mean[0, 0], one_day)),
        heat,
        current,
        cost,
        float(mean[days <= start + YEAR, 0].min()),
        balance,
        _pace(stock, plan, around, days - start, mean, start, target),
    )


def ventilation(shop: Shop, plan: Plan, start: float, days: float) -> float:
    """Heat for the exchanged air from a day on for so many days [kWh]."""
    assert shop.volume is not None
    assert shop.air_changes is not None
    a_day = ventilation_heat(
        shop.volume, shop.air_changes, plan.free.temperature, shop.outdoor_temperature
    )
    edges = np.arange(np.ceil(start / MONTH), np.ceil((start + days) / MONTH)) * MONTH
    cuts = np.concatenate(
        ([start], edges[(edges > start) & (edges < start + days)], [start + days])
    )
    middle = 0.5 * (cuts[1:] + cuts[:-1])
    month = np.array([month_of(float(day)) - 1 for day in middle])
    return float(np.sum(np.diff(cuts) * a_day[month]))


def balance_of(
    dry: float, plan: Plan, shop: Shop, days: Floats, mean: Floats, start: float, lasts: float
) -> tuple[Balance, float, float]:
    """The air day by day, heat to evaporate a humidifier's water, and what a machine returns [kWh].

    What the wood gives in an interval is the change of its mean; the air stands where it balances.
    """
    assert shop.volume is not None
    assert shop.air_changes is not None
    whole = np.flatnonzero(np.abs(days - np.round(days)) < 1e-9)
    cuts, level = days[whole], mean[whole]
    middle = 0.5 * (cuts[1:] + cuts[:-1])
    given = -dry / 100.0 * np.diff(level) / np.diff(cuts)
    points = plan.free.air.days
    warm, free = plan.free.air.at_days(start + middle)
    low, high = (
        np.interp((start + middle) % YEAR, points, bound, period=YEAR) for bound in plan.bounds()
    )
    saturated = np.asarray(air.saturation_pressure(warm))
    a_point = machines.water_a_day(shop.volume, shop.air_changes, warm, 0.01 * saturated)
    alone = free + given / a_point
    reached = np.clip(alone, low, np.maximum(low, high))
    asked = np.maximum(alone - high, 0.0) * a_point
    if shop.rated is not None:
        brought = machines.humidity_held(
            warm,
            0.01 * free * saturated,
            shop.rated,
            shop.volume,
            shop.air_changes,
            given,
            shop.kind,
        )
        reached = np.where(alone > high, np.maximum(reached, brought), reached)
    takes = machines.takes_out(warm, np.minimum(high, 100.0), shop.kind)
    counted = (cuts[:-1] < lasts) | (np.arange(middle.size) == 0)
    # The last interval counts as far as it lasts.
    spans = np.clip(lasts - cuts[:-1], 0.0, np.diff(cuts))
    removed = np.maximum(alone - reached, 0.0) * a_point * spans
    added = np.maximum(reached - alone, 0.0) * a_point * spans
    worth = counted & (asked > 0.0)
    rated = None
    if np.all(takes[worth] > 0.0):
        rated = float(np.max(asked[worth] / takes[worth], initial=0.0))
    month = np.array([month_of(float(day)) - 1 for day in start + middle])
    drips = np.full(middle.size, 100.0)
    if shop.panes is not None:
        drips = machines.highest_before_dripping(warm, shop.outdoor_temperature[month], shop.panes)
    reached = np.minimum(reached, 100.0)
    balance = Balance(
        first_day=float(reached[0]),
        dampest=float(reached[counted].max()),
        removed=float(removed.sum()),
        added=float(added.sum()),
        largest=float(asked[counted].max()),
        rated=rated,
        short=float(np.max((reached - high)[worth], initial=0.0)),
        dripping=float(np.sum(np.diff(cuts)[counted & (reached > drips + machines.DEAD_BAND)])),
    )
    latent = evaporation_heat(1.0, warm)
    return (
        balance,
        float(np.sum(added * latent)),
        float(np.sum(removed * (latent + machines.CURRENT[0]))),
    )


def _figure(values: Floats) -> Figure:
    return spread.figure(values) if values.size > 1 else Figure(float(values[0]))


def _pace(
    stock: Stock,
    plan: Plan,
    around: transport.SharedAir | None,
    days: Floats,
    mean: Floats,
    start: float,
    target: float,
) -> Pace:
    """Each day's loss and the stress of the first hours against what the wood bears."""
    rule, thickness = safe_drying.rule_of(stock.slab.species), stock.slab.thickness
    fast = safe_drying.fastest(days, mean, rule, thickness)
    skin = _skin(stock, plan, around, start)
    chance = fast.chance(skin)
    verdict: Verdict = "safe" if safe_drying.unlikely(chance) else "cannot_tell"
    if safe_drying.likely(chance):
        verdict = "too_fast"
    return Pace(
        loss=_figure(fast.loss),
        allowed=fast.allowed,
        day=fast.day,
        index=_figure(fast.index),
        skin=_figure(skin),
        chance=100.0 * chance if skin.size > 1 else None,
        verdict=verdict,
        least_days=rule.least_days(thickness, stock.now, target),
    )


def _skin(stock: Stock, plan: Plan, around: transport.SharedAir | None, start: float) -> Floats:
    """Largest stress index of either face in the first days, (samples,)."""
    days = start + np.array(HOURS) / 24.0
    run = _followed(stock, plan, around, days, stock.moisture)
    slab, samples = stock.slab, stock.samples
    now = np.full(samples.count, min(stock.now, slab.species.shrinkage_starts))
    timber = timber_of(slab, samples, now)
    history = section.sweep(timber, stock.mesh, run.moisture, section.unstressed(run.moisture[0]))
    pulled = np.maximum(history.tension_top, history.tension_bottom).max(axis=0)
    return strength.skin_index(pulled, strength.of(slab.species).tension_across)
