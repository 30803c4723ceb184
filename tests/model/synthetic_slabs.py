"""Made-up slabs dried by the course engine, with readings whose truth is known.

The truth is drawn from what the fit takes for granted (rate of the species, humidity of the place,
sorption), but not in the fit's own form: the slab begins even, dries for a while unseen, remembers
by a slope of its own, and is followed by the course engine on another grid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model import spread
from model.answers.readiness import ready
from model.answers.readiness.seen import Case, Observation, Target
from model.behaviour import course, transport
from model.behaviour.slab import Slab
from model.properties import sorption, species
from model.properties.finishes import Face, Faces
from model.properties.meters import MEAN_DEPTH
from model.surroundings.air_series import Air
from model.surroundings.room import constant

OPEN = Faces(Face(0.0), Face(0.0))
WOODS = (
    "American elm",
    "northern red oak",
    "black walnut",
    "sugar maple",
    "eastern white pine",
    "black cherry",
)
HUMIDITY_SPREAD = 3.0  # points
EVEN = 2.0  # % M, wettest less driest layer of stock fit to work (practice)
NODES = 31  # the fit uses 21


@dataclass(frozen=True, slots=True)
class Synthetic:
    """A case for the fit with what is true of it: factor, moisture on the last day, days left."""

    case: Case
    observations: tuple[Observation, ...]
    target: Target
    factor: float
    mean_now: float
    means: tuple[float, ...]  # on the days of the readings
    days_left: float


def _days_to(days: np.ndarray, mean: np.ndarray, uneven: np.ndarray, target: Target) -> float:
    near = (np.abs(mean - target.moisture) <= target.within) & (uneven <= EVEN)
    return float(days[np.argmax(near)] - days[0]) if near.any() else float("inf")


def synthetic(
    seed: int, readings: int = 10, error: float = 1.0, error_is_share: bool = False
) -> Synthetic:
    """One made-up slab; `error` is the standard deviation [% M], or a share of the reading."""
    rng = np.random.default_rng(seed)
    wood = species.find(WOODS[seed % len(WOODS)])
    thickness = float(rng.uniform(0.025, 0.075))
    slab = Slab(wood, 0.6, thickness, 2.4, ring_angle=0.0)
    rate = np.exp(rng.standard_normal() * np.log(wood.transport_spread) / spread.TO_DECILE)
    factor = wood.transport_factor * float(rate)
    temperature, humidity = float(rng.uniform(16.0, 24.0)), float(rng.uniform(30.0, 50.0))
    own_sorption = 1.0 + spread.SORPTION_CV * rng.standard_normal()
    here = humidity + HUMIDITY_SPREAD * rng.standard_normal()
    true_wood = transport.Wood(
        np.array([factor]),
        wood.transport_slope,
        wood.specific_gravity,
        wood.fibre_saturation,
        np.array([own_sorption]),
        # Of draws of its own, so that the rest of a seed is what it was.
        np.random.default_rng((seed, 1)).uniform(*spread.LOOP_RANGE, 1),
    )
    # The slowest part of a profile dies away with t^2/(pi^2 D): the readings span one to two.
    relaxation = thickness**2 / (np.pi**2 * float(true_wood.diffusion(temperature)[0])) / 86_400.0
    unseen = float(rng.uniform(0.0, 0.5)) * relaxation
    days = unseen + np.linspace(0.0, float(rng.uniform(0.8, 2.0)) * relaxation, readings)
    air = Air(np.zeros(1), np.array([temperature]), np.array([here]))
    stay = course.Stay(air, float(days[-1]) + 8.0 * relaxation, OPEN)
    start = np.full((1, NODES), float(rng.uniform(14.0, 26.0)))
    followed = course.run(slab, start, [stay], wood=true_wood, nodes=NODES, stops=list(days))
    depth = MEAN_DEPTH * thickness
    observations = []
    for day in days:
        nodes, moisture = followed.profile(float(day))
        true = float(np.interp(depth, nodes, moisture))
        deviation = error * true if error_is_share else error
        value = true + deviation * rng.standard_normal()
        observations.append(
            Observation(float(day), value, deviation, 0.0, "moisture", depth, depth)
        )
    settles = float(sorption.branch_moisture(temperature, humidity, "drying"))
    target = Target(settles + 1.0, 1.0)
    after = followed.days >= days[-1]
    mean = followed.mean[:, 0]
    # Faces alike: the core is the wettest layer, a face the driest.
    uneven = (followed.core - followed.shell_top)[:, 0]
    return Synthetic(
        Case(slab, OPEN, constant(temperature, humidity).air, HUMIDITY_SPREAD),
        tuple(observations),
        target,
        factor,
        float(np.interp(days[-1], followed.days, mean)),
        tuple(float(np.interp(day, followed.days, mean)) for day in days),
        _days_to(followed.days[after], mean[after], uneven[after], target),
    )


def answered(made: Synthetic, draws: int = 128) -> ready.Answer:
    """The fit's answer to a made-up slab."""
    return ready.answer(made.case, made.observations, made.target, draws=draws)
