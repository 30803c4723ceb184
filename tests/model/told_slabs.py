"""Made-up slabs as makers tell them, their truth from a solver that shares no code with the model.

Method of lines on even layers with the faces at the air's equilibrium, or shut; equilibrium of wood
that dries, written out here.  Of the project come the woods' tables alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from scipy.integrate import solve_ivp

from model.answers.readiness import ready
from model.answers.readiness.seen import UNTOLD, Case, Observation, Target, of_weight
from model.behaviour.slab import Slab
from model.properties import species
from model.properties.finishes import Face, Faces
from model.properties.meters import MEAN_DEPTH
from model.spread import SORPTION_CV, TO_DECILE
from model.surroundings.room import constant

WOODS = ("American elm", "northern red oak", "black walnut", "sugar maple", "black cherry")
LAYERS = 30
HUMIDITY_SPREAD = 3.0  # points
DRYING = 2.0 / 1.8095  # drying branch over the mean curve, printed ratios of one spruce
EVEN = 2.0  # % M, wettest less driest layer of stock fit to work (practice)
BARE = Faces(Face(0.0), Face(0.0))


def equilibrium(temperature: float, humidity: float) -> float:
    """Wood Handbook FPL-GTR-190 eq. 4-5 (memory), metric, of the mean curve [%]."""
    t, h = temperature, humidity / 100.0
    w = 349.0 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * h
    return float(
        1800.0
        / w
        * (kh / (1 - kh) + (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2))
    )


@dataclass(frozen=True, slots=True)
class Way:
    """How a set of slabs is read and told.

    `bias`, `scatter` [% M] the meter's own (`bias` None: drawn), `scatter_told` what is believed;
    `depth` [m] of the pins (None: at the mean's); `shut` the bottom face; `weighed` alone, no pins;
    `oven` an oven-dry piece of the whole thickness beside the last reading; `looked`: what answers
    ask for, two such pieces to 0.3, and pins in the shell and the middle that day.
    """

    bias: float | None = None
    scatter: float = 0.5
    depth: float | None = None
    depth_told: bool = True
    shut: bool = False
    faces_told: bool = True
    weighed: bool = False
    oven: bool = False
    looked: bool = False
    zigzag: float = 0.0


@dataclass(frozen=True, slots=True)
class Told:
    """A case with its readings, and what is true on the last day."""

    case: Case
    observations: tuple[Observation, ...]
    target: Target
    mean: float
    days_left: float
    faults: dict[str, float] = field(default_factory=dict)


def followed(
    thickness: float, law: Callable[[np.ndarray], np.ndarray], start: float, held: float, shut: bool
) -> Callable[[float], np.ndarray]:
    """Layers of a slab on any day up to ten years; `law` is the diffusion [m2/day] by moisture."""
    step = thickness / LAYERS

    def rate(_: float, moisture: np.ndarray) -> np.ndarray:
        padded = np.concatenate([[held], moisture, [moisture[-1] if shut else held]])
        flux = law(0.5 * (padded[1:] + padded[:-1])) * np.diff(padded) / step
        flux[0] *= 2.0
        flux[-1] *= 2.0
        return np.asarray(np.diff(flux) / step)

    solved = solve_ivp(
        rate,
        (0.0, 3650.0),
        np.full(LAYERS, start),
        method="LSODA",
        lband=1,
        uband=1,
        dense_output=True,
        rtol=1e-5,
        atol=1e-5,
    )
    told_on = solved.sol
    assert told_on is not None
    return lambda day: np.asarray(told_on(day))


def told(seed: int, way: Way, readings: int = 8) -> Told:
    """One made-up slab, read as `way` says."""
    rng = np.random.default_rng((seed, 7))
    wood = species.find(WOODS[seed % len(WOODS)])
    thickness = float(rng.uniform(0.03, 0.075))
    factor = wood.transport_factor * np.exp(
        rng.standard_normal() * np.log(wood.transport_spread) / TO_DECILE
    )
    temperature, humidity = float(rng.uniform(16.0, 24.0)), float(rng.uniform(32.0, 48.0))
    here = humidity + HUMIDITY_SPREAD * rng.standard_normal()
    sorption = 1.0 + SORPTION_CV * rng.standard_normal()
    kelvin = 1.0 / (temperature + 273.15) - 1.0 / 293.15
    at_10 = 86_400.0 * factor * 2.09e-11 * (0.6 / wood.specific_gravity) ** 2.3
    at_10 *= np.exp(-(40_000.0 / 8.314) * kelvin)

    def law(moisture: np.ndarray) -> np.ndarray:
        return np.asarray(at_10 * np.exp(wood.transport_slope * (np.minimum(moisture, 28) - 10.0)))

    start = float(rng.uniform(13.0, 22.0))
    held = DRYING * sorption * equilibrium(temperature, here)
    layers = followed(thickness, law, start, held, way.shut)
    slow = thickness**2 / np.pi**2 / float(law(np.array([9.0]))[0]) * (4.0 if way.shut else 1.0)
    days = np.linspace(0.1, rng.uniform(0.8, 3.0), readings) * slow
    days = np.minimum(days, np.linspace(20.0, 1500.0, readings))
    target = Target(DRYING * equilibrium(temperature, humidity) + 0.5, 1.0)
    bias = 0.7 * rng.standard_normal() if way.bias is None else way.bias
    share = MEAN_DEPTH if way.depth is None else way.depth / thickness
    centres = (np.arange(LAYERS) + 0.5) / LAYERS
    slab = Slab(wood, 0.6, thickness, 2.4, ring_angle=0.0)
    dry = slab.weight(start)
    assert dry is not None
    dry = dry / (1.0 + start / 100.0) * np.exp(0.1 * rng.standard_normal())
    seen = []
    for k, day in enumerate(days):
        now = layers(float(day))
        if way.weighed:
            weight = dry * (1.0 + now.mean() / 100.0)
            seen.append(of_weight(float(day), float(weight + 0.02 * rng.standard_normal()), 0.05))
            continue
        at_pins = float(np.interp(share, centres, now))
        value = at_pins + bias + way.scatter * rng.standard_normal() + way.zigzag * (-1.0) ** k
        depth = MEAN_DEPTH * thickness if not way.depth_told else share * thickness
        seen.append(
            Observation(
                float(day), max(value, 2.0), 0.5, 0.7, "moisture", depth, depth, "pin",
                way.depth_told,
            )
        )  # fmt: skip
    if way.oven:
        piece = float(layers(float(days[-1])).mean() + 0.5 * rng.standard_normal())
        seen.append(
            Observation(float(days[-1]), piece, 0.51, 0.0, "moisture", 0.0, thickness, "oven_dry")
        )
    if way.looked:
        now, day = layers(float(days[-1])), float(days[-1])
        for _ in range(2):
            piece = float(now.mean() + 0.3 * rng.standard_normal())
            seen.append(Observation(day, piece, 0.3, 0.0, "moisture", 0.0, thickness, "oven_dry"))
        for look in (0.08, 0.5, 0.92):
            value = (
                float(np.interp(look, centres, now)) + bias + way.scatter * rng.standard_normal()
            )
            depth = look * thickness
            seen.append(Observation(day, value, 0.5, 0.7, "moisture", depth, depth, "pin"))
    faces = Faces(Face(0.0), Face(40.0, name="closed")) if way.shut else BARE
    if not way.faces_told:
        faces = Faces(UNTOLD, UNTOLD)
    ahead = np.concatenate([np.arange(0.0, 60.0, 1.0), np.arange(60.0, 2000.0, 5.0)])
    profiles = np.stack([layers(min(float(days[-1]) + d, 3650.0)) for d in ahead])
    fit = (np.abs(profiles.mean(axis=1) - target.moisture) <= target.within) & (
        np.ptp(profiles, axis=1) <= EVEN
    )
    left = float(ahead[np.argmax(fit)]) if fit.any() else float("inf")
    case = Case(
        slab,
        faces,
        constant(temperature, humidity).air,
        HUMIDITY_SPREAD,
        None,
        (not way.faces_told, not way.faces_told),
    )
    return Told(case, tuple(seen), target, float(profiles[0].mean()), left)


def answered(one: Told, draws: int = 128) -> ready.Answer:
    """The answer to a made-up slab."""
    return ready.answer(one.case, one.observations, one.target, draws=draws)
