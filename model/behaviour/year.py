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
from model.behaviour import edges, shape, transport
from model.behaviour.evidence import Given, Readings, Untold
from model.behaviour.slab import Moisture, Slab, profile
from model.behaviour.transport import Came, Places, State
from model.properties import sorption
from model.properties.air import saturation_pressure
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]
# `Came`, or the mean curve
Sorption = Literal["drying", "wetting", "unknown", "mean"]

# The year found is closed when it changes, and what is left to come of that by its estimate, is
# less than these: of the central case, of any draw [% M].
CENTRAL_CHANGE: Final = 0.005
DRAWN_CHANGE: Final = 0.02
CENTRAL_MISS: Final = 0.01
DRAWN_MISS: Final = 0.03
KNOWN_CHANGE: Final = 0.01  # % M between the begins of two years, from which their ratio is trusted
WELL_KNOWN_CHANGE: Final = 0.3  # % M; the same, from which it is trusted over what theory says
FOLLOWED_YEARS: Final = 3  # years followed from arrival before the rest is taken as a decay
WET_YEARS: Final = 8  # years followed at most while any layer is above fibre saturation
SOUGHT_YEARS: Final = 20  # years run at most to find the periodic year, beyond those followed
SLOWEST_LEFT: Final = 0.995  # share of a miss left after a year, at most (54 days at one in 3e3)
# A slab that keeps less than this share of a difference for a year has found its year after so
# many: what is left of a change then is what the solver's steps make of it.
FORGOTTEN: Final = 0.02
FORGETTING: Final = (3, 4)  # without and with hysteresis
# The estimate from two years is kept between this slowest mode and one that fades in this share of
# its rate; hysteresis turns round from year to year too (judgement, by what closes).
SLOWER: Final = 0.6
LEFT_BY_MEMORY: Final = 0.5
# A slab that keeps more than this share of a difference for a year is first brought this much of
# the way to where it would rest, without and with hysteresis.
SLOW: Final = 0.3
RESTS: Final = (1.0, 0.85)
RESTING_DAYS: Final = 48  # of a year, from which that is found
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

    def of(self, samples: Places) -> Stretch:
        """That of some samples."""
        columns = (
            self.strains.mean_tangential,
            self.strains.mean_radial,
            self.strains.curvature_tangential,
            self.strains.curvature_radial,
        )
        strains = shape.Strains(*(column[:, samples] for column in columns))
        return Stretch(self.days, self.mean[:, samples], strains, self.central)


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
    otherwise : float
        Mean of the central periodic year had the wood come to its moisture the other way [%]; the
        same without hysteresis.
    grid : Grid
    wood : Wood
    """

    start: Floats
    followed: Stretch
    periodic: Stretch
    left: Floats
    miss: float
    otherwise: float
    grid: transport.Grid
    wood: transport.Wood

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

    Evidence has errors of its own.  Of a bare figure the error is a meter's; it fades out towards
    fibre saturation, above which moisture comes from weighing.  No draw goes below 1 %.
    """
    if isinstance(moisture, Readings | Given | Untold):
        return moisture.shaped(mesh.thickness).drawn(mesh.depth, mesh.thickness, samples)
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
    return years_in(slab, moisture, faces, room.air, room.humidity_spread, arrives, samples, came)


def settled_mean(
    slab: Slab,
    moisture: Moisture,
    faces: Faces,
    air: Air,
    day: float,
    came: Sorption = "drying",
) -> float:
    """Mean moisture [%] of the year a slab settles into in an air, of the central case.

    Parameters are those of `years_in`.
    """
    found = years_in(slab, moisture, faces, air, 0.0, day, spread.draw(0), came)
    return float(found.periodic.mean[1:, 0].mean())


def years_in(
    slab: Slab,
    moisture: Moisture,
    faces: Faces,
    air: Air,
    humidity_spread: float,
    arrives: float,
    samples: Samples,
    came: Sorption = "drying",
) -> Years:
    """As `years`, in an air whose humidity is spread by so many points from house to house."""
    mesh = transport.grid(slab.thickness)
    wood = edges.quickened(slab, wood_of(slab, samples, hysteresis=came != "mean"), faces)
    start = start_moisture(moisture, mesh, samples, wood.fibre_saturation)
    sums = shape.strain_sums(slab, start, mesh.depth, *slab.species.shrinkages(samples))
    offset = samples.humidity * humidity_spread
    # The central case once more, which came the other way.
    batch = np.arange(samples.count + 1) % samples.count
    nodes, other = mesh.depth.size, batch[-1:]
    way: Came = "unknown" if came == "mean" else came
    state = transport.begin(start[batch], wood.of(batch), nodes, way)
    turned: Came = "drying" if way == "wetting" else "wetting"
    state.memory[-1] = transport.begin(start[other], wood.of(other), nodes, turned).memory[0]
    search = _Search(
        wood.of(batch),
        mesh,
        faces,
        air,
        offset[batch],
        samples.finish[batch],
        sums.of(batch),
        state,
    )
    followed: list[Stretch] = []
    while True:
        followed.append(search.another(arrives + YEAR * len(followed)))
        wet = bool(search.moisture.max() > wood.fibre_saturation)
        if not search.open.size or len(followed) >= (WET_YEARS if wet else FOLLOWED_YEARS):
            break
    for number in range(len(followed), len(followed) + SOUGHT_YEARS):
        if not search.open.size:
            break
        search.go_ahead(rests=number == len(followed))
        search.another(arrives + YEAR * number)
    own = np.arange(samples.count)
    return Years(
        start,
        _joined(followed).of(own),
        search.year.of(own),
        search.left[own],
        search.miss,
        float(search.year.mean[1:, -1].mean()),
        mesh,
        wood,
    )


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
        air: Air,
        offset: Floats,
        finish: Floats,
        sums: shape.StrainSums,
        state: State,
    ) -> None:
        self.wood, self.mesh, self.faces, self.air, self.sums = wood, mesh, faces, air, sums
        self.offset, self.finish, count = offset, finish, offset.size
        self.tolerance, self.longest_step = transport.central_finely(count)
        self.tolerance[-1], self.longest_step[-1] = self.tolerance[0], self.longest_step[0]
        self.moisture, self.memory = state.moisture.copy(), state.memory.copy()
        self.open = np.arange(count)
        self.year = _unknown(0.0, count, mesh.depth.size)
        self.began = self.ended = np.full(count, np.nan)
        self.remembers = wood.loop is not None
        self.slowest = self._slowest()
        self.most_left = np.minimum(self.slowest**SLOWER, SLOWEST_LEFT)
        if self.remembers:
            self.most_left = np.maximum(self.most_left, LEFT_BY_MEMORY)
        self.left = self.slowest.copy()
        self.rest = np.full(count, np.inf)
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
            self.air,
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
            self.began, self.ended = run.mean[0].copy(), run.mean[-1].copy()
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
        slowest = self.slowest[which]
        least = np.where(np.abs(apart) > WELL_KNOWN_CHANGE, 0.0, slowest)
        left = np.where(known, np.clip(share, least, self.most_left[which]), slowest)
        rest = change * left / (1.0 - left)
        self.left[which], self.rest[which] = left, rest
        self.began[which], self.ended[which] = began, ended
        central = (which == 0) | (which == self.left.size - 1)
        done = changed < np.where(central, CENTRAL_CHANGE, DRAWN_CHANGE)
        done &= changed * left / (1.0 - left) < np.where(central, CENTRAL_MISS, DRAWN_MISS)
        done |= (slowest < FORGOTTEN) & (self.count >= FORGETTING[self.remembers])
        self.open = which[~done]

    def _slowest(self) -> Floats:
        """Share of a difference that is left after a year by its slowest mode, (samples,).

        Of a slab with constant coefficients, those at the mean of the room's year: see
        `edges.slowest_root`.
        """
        warmth, humidity = (
            float(values.mean()) for values in (self.air.temperature, self.air.relative_humidity)
        )
        damp = np.clip(humidity + self.offset, 5.0, 95.0)
        kind = sorption.species_factor(damp, self.wood.sorption_at_60, self.wood.sorption_at_90)
        factor = self.wood.sorption * kind
        settled = factor * sorption.equilibrium_moisture(warmth, damp)
        steep = factor * sorption.slope(warmth, damp)
        diffusion = self.wood.diffusion(warmth) * np.exp(
            self.wood.transport_slope * (settled - transport.REFERENCE_MOISTURE)
        )
        biot = transport.biot(
            self.wood, self.mesh.thickness, self.faces, self.finish, warmth, steep, diffusion
        )
        root = edges.slowest_root(*biot)
        fades = self.wood.quickened * diffusion * root**2 / self.mesh.thickness**2
        result: Floats = np.minimum(np.exp(-fades * YEAR * transport.DAY), SLOWEST_LEFT)
        return result

    def go_ahead(self, *, rests: bool) -> None:
        """Begin the next year of the samples still open further on.

        By what is still to come by the estimate from two years; `rests`: a slow slab most of the
        way to where one too slow for the seasons rests, for which two years say little.
        """
        which = self.open
        wood, day = self.wood.of(which), float(self.year.days[-1])
        state = State(self.moisture[which], self.memory[which])
        by = np.clip(AHEAD[self.remembers] * self.rest[which], -FURTHEST, FURTHEST)
        shift = np.where(self.slowest[which] < FORGOTTEN, 0.0, by)[:, None] * np.ones(
            (1, self.mesh.depth.size)
        )
        if rests:
            slow = self.slowest[which] > SLOW
            towards = self._resting()[which, None] - transport.driving(state, wood)
            shift = np.where(slow[:, None], RESTS[self.remembers] * towards, shift)
        ahead = transport.shifted(state, wood, shift, self.air.at(day)[0])
        self.moisture[which], self.memory[which] = ahead.moisture, ahead.memory

    def _resting(self) -> Floats:
        """What drives a slab too slow for the seasons where it rests, (samples,) [%].

        Over the year its faces let in as much vapour as they let out: the mean of the air's vapour
        pressure is that over the wood, whose pressure follows the temperature of each day.
        """
        days = self.air.days[0] + YEAR * (np.arange(RESTING_DAYS) + 0.5) / RESTING_DAYS
        warmth, humidity = self.air.at_days(days)
        saturated = saturation_pressure(warmth)[:, None]
        damp = np.clip(humidity[:, None] + self.offset, 1.0, 98.0)
        curve = sorption.tabulated(self.wood.sorption_at_60, self.wood.sorption_at_90)
        over = saturated * curve.at(warmth)[:, :, 0]
        result: Floats = self.wood.sorption * np.interp(
            (0.01 * saturated * damp).mean(axis=0), over.mean(axis=0), curve.moisture
        )
        return result

    @property
    def miss(self) -> float:
        """What the central case is still away from a year that repeats itself [% M]."""
        return float(abs(self.rest[0]))


def _unknown(day: float, samples: int, nodes: int) -> Stretch:
    none = np.zeros((YEAR_POINTS, samples))
    days = np.linspace(day, day + YEAR, YEAR_POINTS)
    return Stretch(
        days, none, shape.Strains(none, none, none, none), np.zeros((YEAR_POINTS, nodes))
    )


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
