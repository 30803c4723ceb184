"""Moisture of a slab from the day it comes on, and the year that it settles into.

The slab is followed from the day it comes, then its periodic year is found: the course that
repeats itself every year.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import spread
from model.behaviour import shape, transport
from model.behaviour.slab import Moisture, Slab, profile
from model.behaviour.transport import Came, Places, State
from model.properties import sorption
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]
Sorption = Came | Literal["mean"]

# The year found is closed when it changes, and what is left to come of that by its estimate, is
# less than these: of the central case, of any draw [% M].
CENTRAL_CHANGE: Final = 0.005
DRAWN_CHANGE: Final = 0.02
CENTRAL_MISS: Final = 0.01
DRAWN_MISS: Final = 0.03
KNOWN_CHANGE: Final = 0.01  # % M between the begins of two years, from which their ratio is trusted
FOLLOWED_YEARS: Final = 3  # years followed from arrival before the rest is taken as a decay
WET_YEARS: Final = 8  # years followed at most while any layer is above fibre saturation
SOUGHT_YEARS: Final = 12  # years run at most to find the periodic year, beyond those followed
SLOWEST_LEFT: Final = 0.995  # share of a miss left after a year, at most (54 days at one in 3e3)
HALVINGS: Final = 40  # of the interval in which a root is looked for
# A slab that keeps less than this share of a difference for a year has found its year after so many:
# what is left of a change then is what the solver's steps make of it.
FORGOTTEN: Final = 0.02
FORGETTING: Final = (3, 4)  # without and with hysteresis
# The estimate from two years is kept between this slowest mode and one that fades in this share of
# its rate; hysteresis turns round from year to year too (judgement, by what closes).
SLOWER: Final = 0.6
LEFT_BY_MEMORY: Final = 0.5
FURTHEST: Final = 3.0  # % M by which the next year begins further on, at most
# Of what is still to come by its estimate, without and with hysteresis: too far would turn the wood
# round, and it remembers.
AHEAD: Final = (0.9, 0.6)
DRIEST: Final = 0.5  # % M; a year is not begun drier
YEAR_POINTS: Final = 74  # told of a year: both its ends and every five days between


@dataclass(frozen=True, slots=True)
class Extremes:
    """Driest and dampest mean moisture to come, shape (samples,) [%]."""

    driest: Floats
    dampest: Floats


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of time as it is told.

    Attributes
    ----------
    days : ndarray (times,)
        Day numbers.
    mean : ndarray (times, samples)
        Mean moisture [%].
    strains : shape.Strains
        Since arrival, arrays (times, samples).
    central : ndarray (times, nodes)
        Moisture of the central case [%].
    """

    days: Floats
    mean: Floats
    strains: shape.Strains
    central: Floats


@dataclass(frozen=True, slots=True)
class Years:
    """Moisture from arrival and through the periodic year, for a batch of samples.

    Attributes
    ----------
    start : ndarray (samples, nodes)
        Moisture on arrival [%].
    followed : Stretch
        From arrival on, some years.
    periodic : Stretch
        One year that repeats itself, from the same day of the year as arrival.
    left : ndarray
        Share of a miss from the periodic year that is left after a year, shape (samples,).
    miss : float
        How far the central periodic year is from repeating itself [% M].
    grid : Grid
    """

    start: Floats
    followed: Stretch
    periodic: Stretch
    left: Floats
    miss: float
    grid: transport.Grid

    @property
    def extremes(self) -> Extremes:
        """The driest and the dampest mean on the way and in the year it settles into."""
        means = np.concatenate((self.followed.mean, self.periodic.mean))
        return Extremes(means.min(axis=0), means.max(axis=0))


def wood_of(slab: Slab, samples: Samples, *, hysteresis: bool = True) -> transport.Wood:
    """Transport properties of a slab for a batch of samples.

    Without hysteresis the wood follows the mean sorption curve alone.
    """
    species = slab.species
    factors = spread.transport_factor(samples, species.transport_spread)
    return transport.Wood(
        transport_factor=species.transport_factor * factors,
        transport_slope=species.transport_slope,
        specific_gravity=species.specific_gravity,
        fibre_saturation=species.fibre_saturation,
        sorption=samples.sorption,
        loop=samples.loop if hysteresis else None,
        sorption_at_60=species.sorption_at_60,
        sorption_at_90=species.sorption_at_90,
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
    came: Sorption = "drying",
) -> Years:
    """Follow a slab from a day number and find the year it settles into.

    Every sample is followed year after year until one ends as it began, or for `FOLLOWED_YEARS`.
    Of a difference between the begins of two years a share is left at their ends.  A year that is
    not found by then is begun further on, by most of what that share says is still to come; so
    again until it is found.

    Parameters
    ----------
    came : {"drying", "wetting", "unknown", "mean"}
        How the wood came to its moisture, see `transport.begin`; or ``mean``, without hysteresis.
    """
    mesh = transport.grid(slab.thickness)
    wood = wood_of(slab, samples, hysteresis=came != "mean")
    start = start_moisture(moisture, mesh, samples, wood.fibre_saturation)
    sums = shape.strain_sums(
        slab,
        start,
        mesh.depth,
        slab.species.radial * samples.radial,
        slab.species.tangential * samples.tangential,
    )
    state = transport.begin(start, wood, mesh.depth.size, "unknown" if came == "mean" else came)
    search = _Search(wood, mesh, faces, room, samples, sums, state)
    followed: list[Stretch] = []
    while True:
        followed.append(search.another(arrives + YEAR * len(followed)))
        wet = bool(search.moisture.max() > wood.fibre_saturation)
        if not search.open.size or len(followed) >= (WET_YEARS if wet else FOLLOWED_YEARS):
            break
    for number in range(len(followed), len(followed) + SOUGHT_YEARS):
        if not search.open.size:
            break
        search.go_ahead()
        search.another(arrives + YEAR * number)
    return Years(start, _joined(followed), search.year, search.left, search.miss, mesh)


class _Search:
    """Years run one after the other, on their way to one that ends as it began.

    Attributes
    ----------
    open : ndarray of int
        Samples whose year is not found yet.
    moisture, memory : ndarray (samples, nodes)
        At the end of the latest year, as in `transport.State`.
    year : Stretch
        The latest year of every sample; of those found, the one that repeats itself.
    left : ndarray (samples,)
        Share of a difference at the begin of a year that is left at its end.
    rest : ndarray (samples,)
        What is still to come of the change from year to year, by its estimate [% M].
    """

    def __init__(
        self,
        wood: transport.Wood,
        mesh: transport.Grid,
        faces: Faces,
        room: Room,
        samples: Samples,
        sums: shape.StrainSums,
        state: State,
    ) -> None:
        self.wood, self.mesh, self.faces, self.room, self.sums = wood, mesh, faces, room, sums
        self.offset = samples.humidity * room.humidity_spread
        self.finish = samples.finish
        self.tolerance, self.longest_step = transport.central_finely(samples.count)
        self.moisture, self.memory = state.moisture.copy(), state.memory.copy()
        self.open = np.arange(samples.count)
        self.year = _unknown(0.0, samples.count, mesh.depth.size)
        self.began = self.ended = np.full(samples.count, np.nan)
        self.remembers = wood.loop is not None
        self.slowest = self._slowest()
        self.most_left = np.minimum(self.slowest**SLOWER, SLOWEST_LEFT)
        if self.remembers:
            self.most_left = np.maximum(self.most_left, LEFT_BY_MEMORY)
        self.left = self.slowest.copy()
        self.rest = np.full(samples.count, np.inf)
        self.count = 0  # of years, but for the first

    def another(self, day: float) -> Stretch:
        """Run the next year of the samples still open; every sample's course through it."""
        first = bool(np.isnan(self.began[0]))
        days = np.linspace(day, day + YEAR, YEAR_POINTS)
        told = transport.told_days(day, day + YEAR) if first else days
        which = self.open
        run = transport.run(
            self.wood.of(which),
            self.mesh,
            State(self.moisture[which], self.memory[which]),
            self.room.air,
            self.faces,
            day,
            day + YEAR,
            days=told,
            humidity_offset=self.offset[which],
            finish_factor=self.finish[which],
            tolerance=self.tolerance[which],
            longest_step=self.longest_step[which],
            first_step=transport.FIRST_STEP if first else 1.0,
            layers=1,
            sums=transport.Sums(self.sums.weights[which], self.sums.starts),
        )
        change = run.end.moisture - self.moisture[which]
        self.moisture[which], self.memory[which] = run.end.moisture, run.end.memory
        if first:
            self.began, self.ended = run.mean[0], run.mean[-1]
            strains = self.sums.strains(run.sums)
            return Stretch(told, run.mean, strains, run.moisture[:, 0])
        self.year = self._with(run, days, which)
        self._close(which, run.mean[0], run.mean[-1], np.sqrt(change**2 @ self.mesh.weight))
        return self.year

    def _with(self, run: transport.Run, days: Floats, which: Places) -> Stretch:
        """The latest year of every sample, that of some anew; the year goes on with the days."""
        strains = self.sums.of(which).strains(run.sums)
        if which.size == self.left.size:
            return Stretch(days, run.mean, strains, run.moisture[:, 0])
        mean = self.year.mean.copy()
        mean[:, which] = run.mean
        old = self.year.strains
        merged = []
        for name in ("mean_tangential", "mean_radial", "curvature_tangential", "curvature_radial"):
            column = getattr(old, name).copy()
            column[:, which] = getattr(strains, name)
            merged.append(column)
        central = run.moisture[:, 0] if which[0] == 0 else self.year.central
        return Stretch(days, mean, shape.Strains(*merged), central)

    def _close(self, which: Places, began: Floats, ended: Floats, changed: Floats) -> None:
        """Take in a year by the means with which it begins and ends, and close what repeats itself.

        `changed` is the change through it, root mean square over the thickness [% M].
        """
        self.count += 1
        apart, change = began - self.began[which], ended - began
        known = np.abs(apart) > KNOWN_CHANGE
        share = (ended - self.ended[which]) / np.where(known, apart, 1.0)
        least = self.slowest[which]
        left = np.where(known, np.clip(share, least, self.most_left[which]), least)
        rest = change * left / (1.0 - left)
        self.left[which], self.rest[which] = left, rest
        self.began[which], self.ended[which] = began, ended
        central = which == 0
        done = changed < np.where(central, CENTRAL_CHANGE, DRAWN_CHANGE)
        done &= changed * left / (1.0 - left) < np.where(central, CENTRAL_MISS, DRAWN_MISS)
        done |= (least < FORGOTTEN) & (self.count >= FORGETTING[self.remembers])
        self.open = which[~done]

    def _slowest(self) -> Floats:
        """Share of a difference that is left after a year by its slowest mode, (samples,).

        Of a slab with constant coefficients, those at the mean of the room's year: the profile that
        fades most slowly has the first root of tan B = B (B1 + B2)/(B^2 - B1 B2), with the faces'
        Biot numbers B1 and B2, and fades at D B^2/t^2 (Crank 1975, section 4.3.6, memory).
        """
        warmth = float(np.mean(self.room.temperature))
        damp = np.clip(float(np.mean(self.room.relative_humidity)) + self.offset, 5.0, 95.0)
        settled = self.wood.sorption * sorption.equilibrium_moisture(warmth, damp)
        steep = self.wood.sorption * sorption.slope(warmth, damp)
        diffusion = self.wood.diffusion(warmth) * np.exp(
            self.wood.transport_slope * (settled - transport.REFERENCE_MOISTURE)
        )
        biot = transport.biot(self.wood, self.mesh, self.faces, self.finish, warmth, steep, diffusion)
        low, high = np.full(settled.size, 1e-6), np.full(settled.size, np.pi)
        for _ in range(HALVINGS):
            root = 0.5 * (low + high)
            beyond = (root**2 - biot[0] * biot[1]) * np.sin(root) > root * (
                biot[0] + biot[1]
            ) * np.cos(root)
            low, high = np.where(beyond, low, root), np.where(beyond, root, high)
        fades = diffusion * low**2 / self.mesh.thickness**2
        result: Floats = np.minimum(np.exp(-fades * YEAR * transport.DAY), SLOWEST_LEFT)
        return result

    def go_ahead(self) -> None:
        """Begin the next year of the samples still open further on."""
        which = self.open
        by = np.clip(AHEAD[self.remembers] * self.rest[which], -FURTHEST, FURTHEST)
        by = np.where(self.slowest[which] < FORGOTTEN, 0.0, by)
        warmth, _ = self.room.air.at(float(self.year.days[-1]))
        state = State(self.moisture[which], self.memory[which])
        ahead = transport.shifted(state, self.wood.of(which), by, warmth)
        self.moisture[which], self.memory[which] = ahead.moisture, ahead.memory

    @property
    def miss(self) -> float:
        """What the central case is still away from a year that repeats itself [% M]."""
        return float(abs(self.rest[0]))


def _unknown(day: float, samples: int, nodes: int) -> Stretch:
    none = np.zeros((YEAR_POINTS, samples))
    days = np.linspace(day, day + YEAR, YEAR_POINTS)
    return Stretch(days, none, shape.Strains(none, none, none, none), np.zeros((YEAR_POINTS, nodes)))


def _joined(stretches: list[Stretch]) -> Stretch:
    """Stretches one after the other; the day that two share is told once."""
    first = stretches[0]
    if len(stretches) == 1:
        return first

    def join(columns: list[Floats]) -> Floats:
        return np.concatenate([columns[0], *(column[1:] for column in columns[1:])])

    strains = [stretch.strains for stretch in stretches]
    return Stretch(
        join([stretch.days for stretch in stretches]),
        join([stretch.mean for stretch in stretches]),
        shape.Strains(
            join([one.mean_tangential for one in strains]),
            join([one.mean_radial for one in strains]),
            join([one.curvature_tangential for one in strains]),
            join([one.curvature_radial for one in strains]),
        ),
        join([stretch.central for stretch in stretches]),
    )
