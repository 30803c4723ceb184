"""Moisture through the thickness of a slab, in time.

One dimension, from the top face (depth 0) to the bottom face, isothermal at the temperature of the
air (of both faces' mean where they differ)::

    du/dt = d/dx ( D(mu, T) d min(mu, FSP)/dx )

What drives it is mu, the moisture that the mean sorption curve holds at a layer's humidity: without
hysteresis the moisture u itself.  With it u = s mu + c within the loop between the wetting and the
drying branch, one number c a layer (play operator; Visintin 1994, memory), so that wood that turns
round between two humidities moves along flatter curves.  Above fibre saturation moisture is stored
but the bound-water potential min(mu, FSP) drives it.  With the potential's integral
Theta(mu) = INT_0^min(mu,FSP) exp(b (M - 10)) dM the flux between two nodes is
A(T) (Theta_i - Theta_j)/(x_j - x_i): exact for a steady profile, whatever b, flat above fibre
saturation.

Space: finite volumes about nodes, the outer nodes on the faces, graded towards both.
Time: compiled steps of second order, each sample's own, chosen from the difference to their
first-order result: see `moisture_steps`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import effort
from model.behaviour import moisture_steps as steps
from model.behaviour.compiled import plain
from model.behaviour.shared_air import Load
from model.properties import sorption
from model.properties.air import WATER_GAS_CONSTANT, ZERO_CELSIUS, saturation_pressure
from model.properties.finishes import STILL_AIR_PERMEABILITY, Face, Faces
from model.surroundings import machines, places_at_slab
from model.surroundings.air_series import Air

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
Came = Literal["drying", "wetting", "unknown"]

DAY: Final = steps.DAY
GAS_CONSTANT: Final = 8.314  # J/(mol K); definition, rounded
ACTIVATION: Final = (
    40_000.0  # J/mol; Siau 1984 (memory), held by a red oak law of 44 kJ/mol (printed)
)
REFERENCE_DIFFUSION: Final = 2.09e-11  # m2/s at G 0.60, 10 % M, 20 degC; Siau's cell model (memory)
REFERENCE_MOISTURE: Final = steps.REFERENCE_MOISTURE  # % M
REFERENCE_GRAVITY: Final = 0.60  # -
DENSITY_POWER: Final = 2.3  # fitted to Siau's cell model within 1 %
REFERENCE_TEMPERATURE: Final = 20.0  # degC
WATER_DENSITY: Final = 1000.0  # kg/m3; density of water, for oven-dry mass per volume 1000 G
ALONG_TO_ACROSS: Final = 13.0  # D along the grain over D across at 10 % M (printed 12-15)
WET_RESISTANCE: Final = 1.0e6  # Pa m2 s/kg; see `moisture_steps.WET_PRESSURE` (judgement)
NODES: Final = 25
# % M; error of a step's first-order result, and days: of 60 slabs of 20 to 100 mm through a year in
# Duluth, Phoenix and Bergen the mean is then within 0.013 % M of day-steps, half of them within
# 0.005 (measured).
TOLERANCE: Final = 0.03
LONGEST_STEP: Final = 10.0
# The same of the draws that make a band of a point or so: within 0.1, half of them within 0.02.
DRAWN_TOLERANCE: Final = 0.2
DRAWN_LONGEST_STEP: Final = 16.0
FIRST_STEP: Final = 0.01  # days
MOST_STEPS: Final = 10_000  # of a sample in one course, tried ones included (judgement)
MOST_FIGURES: Final = 10_000_000  # told of one course, 80 MB (judgement)
BETWEEN_CHECKS: Final = 20_000  # steps, some 20 ms, after which the effort is looked at
DRIEST_SHIFTED: Final = 0.5  # % M; nothing is shifted below it
TOLD_FIRST: Final = 0.05  # days; of a course whose days are not asked, the first told
TOLD_GROWTH: Final = 1.5  # each of its intervals over the one before, up to
TOLD_EVERY: Final = 5.0  # days
# c far above and far below any loop: the first look brings it onto the branch.
_ON_BRANCH: Final = {"drying": 1.0e3, "wetting": -1.0e3}


class TooManySteps(effort.TooBig):
    """A course needs more time steps than an answer may take."""


@dataclass(frozen=True, slots=True)
class Wood:
    """Transport properties of a batch; every array has shape (samples,).

    Attributes
    ----------
    transport_factor : ndarray
        C of the diffusion law [-].
    transport_slope : float
        b of the diffusion law [1/% M].
    specific_gravity : float
        Oven-dry mass over volume at 12 % M [-].
    fibre_saturation : float
        [% M].
    sorption : ndarray
        Factor on the equilibrium moisture [-].
    loop : ndarray or None
        s: slope of moisture within the hysteresis loop over that of the mean curve [-]; None
        follows the mean curve alone, whatever happened before.
    sorption_at_60, sorption_at_90 : float
        Factors of the wood's kind on the curves, see `sorption.species_factor` [-].
    quickened : float
        Rate of what passes through faces, edges and ends over that through the faces alone, see
        `edges` [-].
    """

    transport_factor: Floats
    transport_slope: float
    specific_gravity: float
    fibre_saturation: float
    sorption: Floats
    loop: Floats | None = None
    sorption_at_60: float = 1.0
    sorption_at_90: float = 1.0
    quickened: float = 1.0

    def of(self, samples: Places) -> Wood:
        """That of some samples."""
        loop = None if self.loop is None else self.loop[samples]
        return replace(
            self,
            transport_factor=self.transport_factor[samples],
            sorption=self.sorption[samples],
            loop=loop,
        )

    def diffusion(self, temperature: ArrayLike) -> Floats:
        """Diffusion coefficient at 10 % M and a temperature [degC], shape (samples,) [m2/s]."""
        kelvin = np.asarray(temperature) + ZERO_CELSIUS
        inverse = 1.0 / kelvin - 1.0 / (REFERENCE_TEMPERATURE + ZERO_CELSIUS)
        arrhenius = np.exp(-(ACTIVATION / GAS_CONSTANT) * inverse)
        density = (REFERENCE_GRAVITY / self.specific_gravity) ** DENSITY_POWER
        result: Floats = self.transport_factor * (REFERENCE_DIFFUSION * density) * arrhenius
        return result


@dataclass(frozen=True, slots=True)
class Grid:
    """Nodes through the thickness.

    Attributes
    ----------
    depth : ndarray
        Depth of each node below the top face [m]; the first is 0, the last the thickness.
    weight : ndarray
        Share of the thickness that each node stands for; sums to 1.
    """

    depth: Floats
    weight: Floats

    @property
    def thickness(self) -> float:
        """Thickness [m]."""
        return float(self.depth[-1])

    def mean(self, values: ArrayLike) -> Floats:
        """Mean over the thickness of values with nodes on the last axis."""
        result: Floats = np.asarray(values) @ self.weight
        return result


def grid(thickness: float, nodes: int = NODES) -> Grid:
    """Nodes graded towards both faces: spacing a mean of even and cosine spacing.

    Parameters
    ----------
    thickness : float
        [m].
    nodes : int
        At least 5.

    Returns
    -------
    Grid
    """
    if nodes < 5 or not thickness > 0.0:
        raise ValueError("a grid needs a thickness above 0 and at least 5 nodes")
    even = np.linspace(0.0, 1.0, nodes)
    cosine = 0.5 * (1.0 - np.cos(np.pi * even))
    depth = thickness * (0.25 * even + 0.75 * cosine)
    edges = np.concatenate(([0.0], 0.5 * (depth[1:] + depth[:-1]), [thickness]))
    return Grid(depth=depth, weight=np.diff(edges) / thickness)


@dataclass(frozen=True, slots=True)
class State:
    """Where a slab stands: what its layers hold and what they remember, both (samples, nodes).

    Attributes
    ----------
    moisture : ndarray
        [% M].
    memory : ndarray
        c of the hysteresis loop [% M]; without meaning where the mean curve is followed.
    """

    moisture: Floats
    memory: Floats


def begin(moisture: ArrayLike, wood: Wood, nodes: int, came: Came = "drying") -> State:
    """The state of a slab at a moisture, by the way it came to it.

    Parameters
    ----------
    moisture : array_like
        Broadcast to (samples, nodes) [% M].
    wood : Wood
    nodes : int
    came : {"drying", "wetting", "unknown"}
        It dried down to it, took water up to it, or neither is known: then it lies on the mean
        curve.
    """
    shape = (wood.transport_factor.size, nodes)
    held = np.array(np.broadcast_to(np.asarray(moisture, dtype=np.float64), shape))
    if came == "unknown":
        loop = np.ones(shape[0]) if wood.loop is None else wood.loop
        return State(held, (1.0 - loop)[:, None] * held)
    return State(held, np.full(shape, _ON_BRANCH[came]))


def driving(state: State, wood: Wood) -> Floats:
    """What drives every layer, as a course left it: the moisture itself without hysteresis [%]."""
    if wood.loop is None:
        return state.moisture
    result: Floats = (state.moisture - state.memory) / wood.loop[:, None]
    return result


def shifted(state: State, wood: Wood, by: Floats, temperature: float) -> State:
    """The state after a steady rise or fall of what drives it.

    Parameters
    ----------
    state : State
        As a course left it.
    wood : Wood
    by : ndarray (samples, nodes)
        Change of the mean curve's moisture [% M]; nothing is brought below `DRIEST_SHIFTED`, nor
        to fibre saturation, and what is above that stays.
    temperature : float
        Of the wood [degC].
    """
    before = driving(state, wood)
    wettest = max(DRIEST_SHIFTED, wood.fibre_saturation - 1.5 * steps.SOAKED)
    still = before > wettest
    after = np.where(still, before, np.clip(before + by, DRIEST_SHIFTED, wettest))
    if wood.loop is None:
        return State(after, state.memory)
    loop, factor = wood.loop[:, None], wood.sorption[:, None]
    curve = sorption.tabulated(wood.sorption_at_60, wood.sorption_at_90)
    drying = factor * curve.branch("drying", temperature, after / factor)
    wetting = factor * curve.branch("wetting", temperature, after / factor)
    memory = np.clip(state.memory, wetting - loop * after, drying - loop * after)
    memory = np.where(still, state.memory, memory)
    return State(np.where(still, state.moisture, loop * after + memory), memory)


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums through the thickness wanted of every state.

    Attributes
    ----------
    weights : ndarray (samples, sums, nodes)
    cap : float
        Moisture counts up to it [%].
    """

    weights: Floats
    cap: float


@dataclass(frozen=True, slots=True)
class Run:
    """A course of moisture.

    Attributes
    ----------
    days : ndarray
        Day numbers of the states told, ascending.
    moisture : ndarray
        Shape (times, samples told by layers, nodes) [% M].
    mean : ndarray
        Mean moisture, shape (times, samples) [% M].
    gained_top, gained_bottom : ndarray
        Water that came in through each face from the start, as mean moisture of the slab, shape
        (times, samples) [% M]; their sum is the change of the mean to rounding.
    sums : ndarray
        Those asked for, shape (times, samples, sums).
    end : State
        At the end of the course.
    grid : Grid
    steps, rejected : ndarray of int
        Steps of each sample, and those tried and repeated with a shorter step.
    """

    days: Floats
    moisture: Floats
    mean: Floats
    gained_top: Floats
    gained_bottom: Floats
    sums: Floats
    end: State
    grid: Grid
    steps: NDArray[np.int64]
    rejected: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class SharedAir:
    """Air that all the wood of a load shares, and what changes and holds it.

    The air given to `run` beside it is that without the wood and without machines.

    Attributes
    ----------
    dry_mass : float
        Of all the wood, oven-dry [kg].
    air_changed : float
        With outside [m3/h].
    low, high : ndarray
        Relative humidities that a humidifier and a dehumidifier hold at the points of the air [%];
        0 and more than 100 hold nothing.
    rated : float
        Output of the dehumidifier as rated [kg/day]; infinite: as large as is needed.
    desiccant : bool
        It keeps its rating in cold and dry air.
    """

    dry_mass: float
    air_changed: float
    low: Floats
    high: Floats
    rated: float = math.inf
    desiccant: bool = False

    def load(self, thickness: float) -> Load:
        """As the compiled steps read it."""
        per_mass = 100.0 * thickness / self.dry_mass
        return Load(
            True,
            per_mass * self.air_changed / (3600.0 * WATER_GAS_CONSTANT),
            per_mass * self.rated / DAY,
            self.desiccant,
            machines.WORKS_FROM,
            machines.ICES_BELOW,
        )


_ALONE: Final = Load(False, 0.0, 0.0, False, machines.WORKS_FROM, machines.ICES_BELOW)


def told_days(
    start: float, end: float, every: float = TOLD_EVERY, first: float = TOLD_FIRST
) -> Floats:
    """Days that show a course well: close after its start, then evenly, both ends among them."""
    growing, gap, day = [start], min(first, every), start
    while day + gap < end and gap < every:
        day += gap
        growing.append(day)
        gap *= TOLD_GROWTH
    even = max(1, math.ceil((end - day) / every - 1e-9))
    return np.concatenate((growing[:-1], np.linspace(day, end, even + 1)))


def central_finely(samples: int) -> tuple[Floats, Floats]:
    """Tolerance [% M] and longest step [days] of a central case followed by its draws."""
    tolerance, longest = np.full(samples, DRAWN_TOLERANCE), np.full(samples, DRAWN_LONGEST_STEP)
    tolerance[0], longest[0] = TOLERANCE, LONGEST_STEP
    return tolerance, longest


@lru_cache(maxsize=64)
def _curves(at_60: float, at_90: float) -> steps.Curves:
    """Tables of sorption and saturation pressure for a kind of wood."""
    warm = np.arange(-60.0, 110.0 + 0.25, 0.5)
    table = sorption.tabulated(at_60, at_90)
    return steps.Curves(
        coldest=table.coldest,
        warmer=table.warmer,
        finer=table.finer,
        table=table.values,
        pressure_coldest=float(warm[0]),
        pressure_warmer=0.5,
        pressure=plain(np.log(saturation_pressure(warm))),
    )


def _weather(air: Air, faces: Faces, thickness: float, shared: SharedAir | None) -> steps.Weather:
    """The air and the warmth at the faces as the compiled steps read them."""
    days, warm, damp = air.days, air.temperature, air.relative_humidity
    rises = places_at_slab.rises(faces, thickness, warm, air.outdoors)
    top, bottom = (warm + rise for rise in rises)
    low, high = np.zeros(days.size), np.zeros(days.size)
    if shared is not None:
        low, high = (np.broadcast_to(one, days.shape) for one in (shared.low, shared.high))
    kind, period = steps.STEADY, 1.0
    if air.period is not None:
        kind, period = steps.YEARLY, float(air.period)
        days, warm, damp, top, bottom, low, high = (
            np.append(one, one[0]) for one in (days, warm, damp, top, bottom, low, high)
        )
    elif air.days.size > 1:
        kind = steps.LOGGED
    return steps.Weather(kind, period, *map(plain, (days, warm, damp, top, bottom, low, high)))


def _resistance(face: Face, finish: Floats) -> Floats:
    """Vapour resistance of a face [Pa m2 s/kg] with factors on its finish."""
    if face.wet:
        return np.full(finish.size, WET_RESISTANCE)
    result: Floats = face.resistance + (finish - 1.0) * (face.sd / STILL_AIR_PERMEABILITY)
    return result


def _admittance(wood: Wood, faces: Faces, finish: Floats) -> Floats:
    """What a face lets in per pressure [% M m/s per Pa], (samples, 2)."""
    # Vapour flux over oven-dry mass per volume, as percent.
    per_mass = 100.0 / (WATER_DENSITY * wood.specific_gravity)
    each = finish if finish.ndim == 2 else (finish, finish)
    resistance = np.stack(
        [_resistance(face, own) for face, own in zip((faces.top, faces.bottom), each, strict=True)],
        axis=1,
    )
    return per_mass / resistance


def biot(
    wood: Wood,
    thickness: float,
    faces: Faces,
    finish: Floats,
    temperature: float,
    steep: Floats,
    diffusion: Floats,
) -> Floats:
    """Biot numbers of both faces, (2, samples): what a face lets through over what the wood does.

    Parameters
    ----------
    thickness : float
        Between the faces [m].
    finish : ndarray (samples,)
        Factors on the faces' finish resistance.
    temperature : float
        [degC].
    steep : ndarray (samples,)
        Rise of equilibrium moisture per point of relative humidity [% M / % RH].
    diffusion : ndarray (samples,)
        Of the wood [m2/s].
    """
    pressure = saturation_pressure(temperature) / (100.0 * steep)  # Pa per % M
    per_moisture = _admittance(wood, faces, finish) * pressure[:, None]
    result: Floats = (per_moisture * (thickness / diffusion)[:, None]).T
    return result


def run(
    wood: Wood,
    mesh: Grid,
    moisture: ArrayLike | State,
    air: Air,
    faces: Faces,
    start: float,
    end: float,
    *,
    days: ArrayLike | None = None,
    humidity_offset: ArrayLike = 0.0,
    finish_factor: ArrayLike = 1.0,
    tolerance: ArrayLike = TOLERANCE,
    longest_step: ArrayLike = LONGEST_STEP,
    first_step: float = FIRST_STEP,
    layers: int | None = None,
    sums: Sums | None = None,
    shared: SharedAir | None = None,
) -> Run:
    """Follow the moisture of a batch of slabs from one day to another.

    Parameters
    ----------
    wood : Wood
        Properties, arrays of shape (samples,).
    mesh : Grid
        Nodes through the thickness.
    moisture : array_like or State
        Moisture at the start, broadcast to (samples, nodes) [% M], of wood that dried down to it;
        or the state that `begin` or an earlier course left.
    air : Air
        What the faces meet.
    faces : Faces
        Finish, cover or water on each face, and how much warmer than the air it is.
    start, end : float
        Day numbers, `end` after `start`.
    days : array_like
        Ascending day numbers from `start` to `end` whose states are told; those of `told_days` when
        left out.
    humidity_offset : array_like
        Added to the air's relative humidity, broadcast to (samples,) [% RH]; kept in 1..98.
    finish_factor : array_like
        Factor on the faces' finish resistance, broadcast to (samples,), or (2, samples) for the top
        and the bottom.
    tolerance : array_like
        Bound on the difference between a step's second- and first-order results, broadcast to
        (samples,) [% M]: root mean square over the thickness, and five times that of the mean.
        The answer itself is better by an order.
    longest_step : array_like
        Broadcast to (samples,) [days].
    first_step : float
        [days].
    layers : int, optional
        How many samples, from the first, are told layer by layer; all when left out.
    sums : Sums, optional
        Sums through the thickness to tell of every sample.
    shared : SharedAir, optional
        What the wood shares its air with; left out, the air is as given whatever the wood gives.

    Returns
    -------
    Run

    Raises
    ------
    ValueError
        For an empty course, moisture that is not finite, or days outside the course.
    OutsideLog
        For a log that does not cover the course.
    effort.TooBig
        When `MOST_STEPS` of a sample, or states of `MOST_FIGURES`, or the time set do not lead to
        the end.
    """
    samples, nodes = wood.transport_factor.size, mesh.depth.size
    state = moisture if isinstance(moisture, State) else begin(moisture, wood, nodes)
    if not end > start or not np.all(np.isfinite(state.moisture)):
        raise ValueError("a course needs an end after its start and finite moisture")
    if shared is not None and (faces.top.wet or faces.bottom.wet):
        raise ValueError("wood with a wet face shares no air: its water is not the wood's")
    told = told_days(start, end) if days is None else np.array(days, dtype=np.float64, ndmin=1)
    if told.size and not (start <= told[0] and told[-1] <= end and np.all(np.diff(told) >= 0.0)):
        raise ValueError("the days told rise from the start of the course to its end")
    if air.period is None and air.days.size > 1:
        air.at_days(np.array([start, end]))  # refuses what a log does not cover
    watched = samples if layers is None else min(layers, samples)
    some = np.zeros((samples, 0, nodes)) if sums is None else sums.weights
    figures = told.size * (watched * nodes + samples * (3 + some.shape[1]))
    if figures > MOST_FIGURES:
        raise TooManySteps(f"{figures:,} figures of one course, where {MOST_FIGURES:,} are told")
    factor = np.asarray(finish_factor, dtype=np.float64)
    finish = plain(factor) if factor.ndim == 2 else plain(factor, samples)
    each = steps.Each(
        diffusion=plain(wood.quickened * wood.diffusion(REFERENCE_TEMPERATURE)),
        sorption=plain(wood.sorption, samples),
        loop=plain(1.0 if wood.loop is None else wood.loop, samples),
        offset=plain(humidity_offset, samples),
        admittance=plain(wood.quickened * _admittance(wood, faces, finish)),
        tolerance=plain(tolerance, samples),
        longest_step=plain(longest_step, samples),
    )
    inverse_volume = 1.0 / (mesh.weight * mesh.thickness)
    inverse_gap = 1.0 / np.diff(mesh.depth)
    wall = steps.Layers(
        thickness=mesh.thickness,
        inverse_volume=plain(inverse_volume),
        inverse_gap=plain(inverse_gap),
        upper=plain(inverse_gap * inverse_volume[:-1]),
        lower=plain(inverse_gap * inverse_volume[1:]),
        weight=plain(mesh.weight),
        slope=float(wood.transport_slope),
        saturation=float(wood.fibre_saturation),
        activation=ACTIVATION / GAS_CONSTANT,
        reference=1.0 / (REFERENCE_TEMPERATURE + ZERO_CELSIUS),
        wet_top=bool(faces.top.wet),
        wet_bottom=bool(faces.bottom.wet),
        remembers=wood.loop is not None,
        load=_ALONE if shared is None else shared.load(mesh.thickness),
    )
    span = steps.Span(float(start), float(end), float(first_step), MOST_STEPS)
    cap = math.inf if sums is None else float(sums.cap)
    watch = steps.Watch(plain(told), watched, cap, plain(some))
    found = steps.Told(
        moisture=np.empty((told.size, watched, nodes)),
        mean=np.empty((told.size, samples)),
        gained=np.empty((told.size, samples, 2)),
        sums=np.empty((told.size, samples, some.shape[1])),
        steps=np.zeros(samples, dtype=np.int64),
        rejected=np.zeros(samples, dtype=np.int64),
    )
    after = State(plain(state.moisture), plain(state.memory))
    curves = _curves(wood.sorption_at_60, wood.sorption_at_90)
    weather = _weather(air, faces, mesh.thickness, shared)
    following = 0
    while following < samples:
        effort.check()
        following = steps.follow(
            wall, curves, each, weather, span, watch, after.moisture, after.memory, found,
            following, BETWEEN_CHECKS,
        )  # fmt: skip
        if following < 0:
            raise TooManySteps(
                f"the course from day {start:g} to {end:g} does not end within {MOST_STEPS:,} steps"
            )
    return Run(
        days=told,
        moisture=found.moisture,
        mean=found.mean,
        gained_top=found.gained[..., 0],
        gained_bottom=found.gained[..., 1],
        sums=found.sums,
        end=after,
        grid=mesh,
        steps=found.steps,
        rejected=found.rejected,
    )
