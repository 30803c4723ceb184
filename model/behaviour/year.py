"""Moisture of a slab from the day it comes on, and the year that it settles into.

The slab is followed from the day it comes, then its periodic year is found: the course that
repeats itself every year.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import transport
from model.behaviour.slab import Moisture, Slab, profile
from model.properties import sorption
from model.properties.air import saturation_pressure
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]


CENTRAL_MISS: Final = 0.02  # % M; how near the year found is to repeating itself, central case
DRAWN_MISS: Final = 0.10  # % M; the same for any draw
KNOWN_CHANGE: Final = 0.05  # % M between two year's ends from which their ratio is trusted
SOLVER_NOISE: Final = 0.01  # % M by which the same year comes out differently in other steps
FOLLOWED_YEARS: Final = 3  # years followed from arrival before the rest is taken as a decay
WET_YEARS: Final = 8  # years followed at most while any layer is above fibre saturation
SOUGHT_YEARS: Final = 8  # years run at most to find the periodic year, beyond those followed
# % M; the mean is then within 0.02 in two of three slabs of 20 to 100 mm in rooms of Duluth,
# Phoenix and Bergen, and within 0.053 in all (60 at random, against steps of a day).
STEP_ERROR: Final = 0.2
RESTING_DAYS: Final = 48  # of a year, from which the moisture of a very slow slab is found
FURTHEST: Final = 3.0  # % M by which the next year begins further on, at most
SLOWEST_LEFT: Final = 0.995  # share of a miss left after a year, at most (54 days at one in 3e3)


@dataclass(frozen=True, slots=True)
class Extremes:
    """Driest and dampest mean moisture to come, shape (samples,) [%]."""

    driest: Floats
    dampest: Floats


@dataclass(frozen=True, slots=True)
class Years:
    """Moisture from arrival and through the periodic year, for a batch of samples.

    Attributes
    ----------
    followed : Run
        From arrival on, some years.
    periodic : Run
        One year that repeats itself; its days lie after those of `followed`.
    left : ndarray
        Share of a miss from the periodic year that is left after a year, shape (samples,).
    miss : float
        How far the central periodic year is from repeating itself [% M].
    """

    followed: transport.Run
    periodic: transport.Run
    left: Floats
    miss: float

    @property
    def extremes(self) -> Extremes:
        """The driest and the dampest mean on the way and in the year it settles into."""
        means = np.concatenate((self.followed.mean, self.periodic.mean))
        return Extremes(means.min(axis=0), means.max(axis=0))


def wood_of(slab: Slab, samples: Samples) -> transport.Wood:
    """Transport properties of a slab for a batch of samples."""
    species = slab.species
    factors = spread.transport_factor(samples, species.transport_spread)
    return transport.Wood(
        transport_factor=species.transport_factor * factors,
        transport_slope=species.transport_slope,
        specific_gravity=species.specific_gravity,
        fibre_saturation=species.fibre_saturation,
        sorption=samples.sorption,
    )


def start_moisture(
    moisture: Moisture, mesh: transport.Grid, samples: Samples, fibre_saturation: float
) -> Floats:
    """Moisture at the nodes with the error of the meter, shape (samples, nodes) [%].

    The error fades out towards fibre saturation, above which moisture comes from weighing, and
    no draw goes below 1 %.
    """
    told = profile(moisture, mesh.depth, mesh.thickness)
    share = np.clip((fibre_saturation - told) / (0.5 * fibre_saturation), 0.0, 1.0)
    drawn: Floats = told + samples.moisture[:, None] * share
    return np.where(told < 1.0, told, np.maximum(drawn, 1.0))


def years(
    slab: Slab,
    moisture: Moisture,
    faces: Faces,
    room: Room,
    arrives: float,
    samples: Samples,
    mesh: transport.Grid | None = None,
) -> Years:
    """Follow a slab from a day number and find the year it settles into.

    The slab is followed year after year until one ends as it began, or for `FOLLOWED_YEARS`.  A
    year that is not found by then is sought from another start, the moisture at which a very slow
    slab rests, since it does not depend on how wet the slab came.  Of a difference between the
    begins of two years a share is left at their ends; the next year begins where that share says
    that it will end (secant method on the mean moisture).
    """
    mesh = transport.grid(slab.thickness) if mesh is None else mesh
    wood = wood_of(slab, samples)
    offset = samples.humidity * room.humidity_spread

    def year_from(state: Floats, begin: float, first_step: float) -> transport.Run:
        return transport.run(
            wood, mesh, state, room.air, faces, begin, begin + YEAR,
            humidity_offset=offset, finish_factor=samples.finish,
            tolerance=STEP_ERROR, first_step=first_step,
        )  # fmt: skip

    state = start_moisture(moisture, mesh, samples, wood.fibre_saturation)
    runs: list[transport.Run] = []
    chain = _Chain(samples.count)
    while True:
        first_step = 1.0 if runs else transport.FIRST_STEP
        runs.append(year_from(state, arrives + YEAR * len(runs), first_step))
        chain.add(mesh.mean(state), runs[-1].mean[-1])
        state = runs[-1].moisture[-1]
        if chain.closed:
            return Years(_joined(runs), runs[-1], _share_left(runs[-1], runs[-1]), chain.miss)
        wet = state.max() > wood.fibre_saturation
        if len(runs) >= (WET_YEARS if wet else FOLLOWED_YEARS):
            break
    state = np.repeat(_resting(room, samples, offset)[:, None], mesh.depth.size, axis=1)
    chain = _Chain(samples.count)
    for count in range(SOUGHT_YEARS):
        latest = year_from(state, arrives + YEAR * (len(runs) + count), 1.0)
        chain.add(mesh.mean(state), latest.mean[-1])
        if chain.closed:
            break
        state = np.clip(latest.moisture[-1] + chain.ahead[:, None], 0.5, wood.fibre_saturation)
    return Years(_joined(runs), latest, _share_left(runs[-1], latest), chain.miss)


def _share_left(year: transport.Run, settled: transport.Run) -> Floats:
    """Share of the miss from the periodic year that a year of the slab's own leaves (samples,) [-].

    Both years begin on the same day of the year.
    """
    before, after = (np.abs(year.mean[end] - settled.mean[-1]) for end in (0, -1))
    known = before > KNOWN_CHANGE
    result: Floats = np.clip(after / np.where(known, before, 1.0), 0.0, SLOWEST_LEFT)
    return np.where(known, result, 0.5)


class _Chain:
    """Years run one after the other, on their way to one that ends as it began."""

    def __init__(self, samples: int) -> None:
        # Of the latest year, shape (samples,) [% M]: mean moisture at both ends, and what a
        # difference at its begin has become at its end, by the year before.
        self.began = self.ended = np.full(samples, np.nan)
        self.left = np.full(samples, 0.5)

    def add(self, began: Floats, ended: Floats) -> None:
        """Take in a year by the mean moistures with which it begins and ends."""
        self.first = bool(np.isnan(self.began[0]))
        if not self.first:
            apart = began - self.began
            known = np.abs(apart) > KNOWN_CHANGE
            share = (ended - self.ended) / np.where(known, apart, 1.0)
            self.left = np.where(known, np.clip(share, 0.0, SLOWEST_LEFT), self.left)
        self.began, self.ended = began, ended
        change = ended - began
        # Changes as small as the solver's own noise say nothing of what is still to come.
        loud = np.abs(change) > SOLVER_NOISE
        self.rest = change * np.where(loud, self.left / (1.0 - self.left), 1.0)

    @property
    def miss(self) -> float:
        """What the central case is still away from a year that repeats itself [% M]."""
        return float(abs(self.rest[0]))

    @property
    def closed(self) -> bool:
        """Whether the latest year repeats itself; the first says nothing of the next."""
        return not self.first and self.miss < CENTRAL_MISS and np.abs(self.rest).max() < DRAWN_MISS

    @property
    def ahead(self) -> Floats:
        """How much further the next year should begin (samples,) [% M]: all that is to come."""
        return np.zeros_like(self.rest) if self.first else np.clip(self.rest, -FURTHEST, FURTHEST)


def _resting(room: Room, samples: Samples, offset: Floats) -> Floats:
    """Moisture at which a slab too slow for the seasons rests, shape (samples,) [%].

    Over the year its faces let in as much vapour as they let out: the mean of the air's vapour
    pressure is that over the wood, whose pressure follows the temperature of each day.
    """
    days = room.air.days[0] + YEAR * (np.arange(RESTING_DAYS) + 0.5) / RESTING_DAYS
    warmth, humidity = room.air.at_days(days)
    saturated = saturation_pressure(warmth)[:, None]
    damp = np.clip(humidity[:, None] + offset, 1.0, 98.0)
    moisture = np.linspace(0.5, 28.0, 111)
    above = sorption.humidity_of_moisture(warmth[:, None], moisture)
    over = saturated * np.where(np.isnan(above), sorption.HIGHEST_HUMIDITY, above)
    result: Floats = samples.sorption * np.interp(
        (saturated * damp).mean(axis=0), over.mean(axis=0), moisture
    )
    return result


def _joined(runs: list[transport.Run]) -> transport.Run:
    first = runs[0]
    days, moisture = [first.days], [first.moisture]
    top, bottom = [first.gained_top], [first.gained_bottom]
    for run in runs[1:]:
        days.append(run.days[1:])
        moisture.append(run.moisture[1:])
        top.append(run.gained_top[1:] + top[-1][-1])
        bottom.append(run.gained_bottom[1:] + bottom[-1][-1])
    return transport.Run(
        np.concatenate(days), np.concatenate(moisture),
        np.concatenate(top), np.concatenate(bottom), first.grid,
    )  # fmt: skip
