"""The histories that are tried: one story each, with all that is not known as parameters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from model import spread
from model.answers.diagnosis.history import History, Sighting
from model.behaviour import course, section, shape, shrinkage, transport
from model.behaviour.course import Course, Stay
from model.behaviour.section import State
from model.properties.species import Species
from model.spread import Samples

Floats = NDArray[np.float64]

GREEN: Final = 1.15  # of where shrinkage starts: wettest the engine starts from, when not told
DRIEST: Final = 1.0  # % M; only far draws come here
CUP_SHARE: Final = 0.15  # error of the engine's cup, beside what is drawn (judgement)
CUP_FLOOR: Final = 3.0e-4  # m; the same of a small cup (judgement)
SHARED_BIAS: Final = 0.66  # of a meter's variance, in all its readings: 0.7^2/(0.7^2 + 0.5^2)
ODD_SHARE: Final = 0.4  # of strain locked in that differs from face to face (judgement)
RETURNS_IN: Final = (20.0, 0.7)  # days, and sd of ln; a flattening that goes back (judgement)
BLOCKED: Final = 0.4  # of a width's movement, per unit of what a bar fixed solid bends (judgement)

NAMES: Final = (
    "before", "core", "rate", "sorption", "humidity", "elsewhere", "shared", "tangential",
    "radial", "ring", "pith", "modulus", "mechano", "finish", "locked_even", "locked_odd", "law",
    "set_in_width", "departs", "pace",
)  # fmt: skip
Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Departure:
    """What was not as told, each as the least and the most of it, even in its logarithm.

    Attributes
    ----------
    excess : wetter before than told or usual [% M].
    core : core less shell before, beside the usual [% M].
    locked : strain locked in, shell against core [-].
    damper : the rooms' relative humidity above the one told [points]; negative: drier.
    spring : cup of an earlier flattening that comes back [m].
    solid : curvature by a bar fixed solid under it, times thickness, over the strain kept back [-].
    """

    excess: Range = (0.0, 0.0)
    core: Range = (0.0, 0.0)
    locked: Range = (0.0, 0.0)
    damper: Range = (0.0, 0.0)
    spring: Range = (0.0, 0.0)
    solid: Range = (0.0, 0.0)


def _between(range_: Range, uniform: Floats) -> Floats:
    low, high = range_
    if low == 0.0 or high == 0.0:
        result: Floats = low + (high - low) * uniform
        return result
    result = low * (high / low) ** uniform
    return result


def shrunk(wood: Species, samples: Samples, before: Floats, after: Floats) -> shape.Strains:
    """Free strains of every draw from one mean moisture to another [%], both faces alike."""
    over, along = (
        shrinkage.strain(total, wood.shrinkage_starts, before, after)
        for total in wood.shrinkages(samples)
    )
    none = np.zeros(1)
    return shape.Strains(along, over, none, none)


@dataclass(frozen=True, slots=True)
class Case:
    """A history as one story has it: the forward model of its parameters.

    Attributes
    ----------
    history : History
    stays : tuple of Stay
        As it is taken to have lain.
    mesh : Grid
    before, core : tuple of float
        Usual mean moisture before and core less shell: middle and standard deviation [% M].
    locked : tuple of float
        Usual even strain locked in: middle and standard deviation [-].
    departure : Departure
    """

    history: History
    stays: tuple[Stay, ...]
    mesh: transport.Grid
    before: tuple[float, float]
    core: tuple[float, float]
    locked: tuple[float, float]
    departure: Departure = field(default_factory=Departure)

    def departs(self, theta: Floats, name: str) -> Floats:
        """How far every row departs from what was told, by the name of a departure."""
        return _between(getattr(self.departure, name), ndtr(theta[:, NAMES.index("departs")]))

    def samples(self, theta: Floats) -> Samples:
        """What the course engine calls uncertain, for every row of parameters.

        Its humidity is 1: `aired` puts each stay's own offset into the stay.
        """
        column = dict(zip(NAMES, theta.T, strict=True))
        common = np.sqrt(spread.SHRINKAGE_SHARED) * column["shared"]
        own = np.sqrt(1.0 - spread.SHRINKAGE_SHARED)
        count = theta.shape[0]
        return Samples(
            count=count,
            seed=spread.DEFAULT_SEED,  # of no sequence: they are the rows
            transport=column["rate"],
            set_in_width=ndtr(column["set_in_width"]),
            sorption=np.maximum(0.6, 1.0 + spread.SORPTION_CV * column["sorption"]),
            tangential=np.maximum(
                0.3, 1.0 + spread.SHRINKAGE_CV * (common + own * column["tangential"])
            ),
            radial=np.maximum(0.3, 1.0 + spread.SHRINKAGE_CV * (common + own * column["radial"])),
            humidity=np.ones(count),
            moisture=np.zeros(count),
            ring=ndtr(column["ring"]),
            pith=ndtr(column["pith"]),
            modulus=np.maximum(0.3, 1.0 + spread.MODULUS_CV * column["modulus"]),
            finish=spread.log_uniform(ndtr(column["finish"]), *spread.FINISH_FACTOR),
            mechano=spread.log_uniform(ndtr(column["mechano"]), *spread.MECHANO_RANGE),
            creep_limit=np.full(count, 8.0),
            unlimited=column["law"] > 0.0,  # half the draws keep their set for good
            loop=np.full(count, spread.LOOP_CENTRE),
        )

    def offsets(self, theta: Floats, first_room: bool) -> Floats:
        """Deviates of a room's humidity: of the first room, or of any other."""
        return theta[:, NAMES.index("humidity" if first_room else "elsewhere")]

    def aired(self, theta: Floats, stays: Sequence[Stay]) -> tuple[Stay, ...]:
        """The stays with every row's own humidity, as told and as it departs [points]."""
        first = self.stays[0].air
        damper = self.departs(theta, "damper")
        return tuple(
            replace(
                stay,
                humidity_spread=stay.humidity_spread * self.offsets(theta, stay.air is first)
                + damper,
            )
            for stay in stays
        )

    def mean_before(self, theta: Floats) -> Floats:
        """Mean moisture before of every row [%]."""
        middle, deviation = self.before
        usual = np.maximum(middle + deviation * theta[:, NAMES.index("before")], DRIEST)
        result: Floats = usual + self.departs(theta, "excess")
        return result

    def begin(self, theta: Floats) -> Floats:
        """Moisture through the thickness before (rows, nodes): a parabola about its mean [%]."""
        centre, deviation = self.core
        gap = centre + deviation * theta[:, NAMES.index("core")] + self.departs(theta, "core")
        x = self._across
        shape_ = 1.0 / 3.0 - x * x
        shape_ = shape_ - self.mesh.mean(shape_)
        mean = self.mean_before(theta)
        if self.history.before is None:
            # No width tells how much free water there was, and following it out takes hours of
            # steps: what is wetter starts a little above where shrinkage does.
            mean = np.minimum(mean, GREEN * self.history.slab.species.shrinkage_starts)
        result: Floats = np.maximum(mean[:, None] + gap[:, None] * shape_, DRIEST)
        return result

    @property
    def _across(self) -> Floats:
        """The nodes through the thickness, -1 at the top face to 1 at the bottom face."""
        return 2.0 * self.mesh.depth / self.mesh.thickness - 1.0

    def state(self, theta: Floats, begin: Floats, *, stressed: bool) -> State:
        """Flat before; with or without strain locked in, which holds itself in balance."""
        state = section.unstressed(begin)
        if not stressed:
            return state
        x = self._across
        even, odd = 0.5 * (3.0 * x**2 - 1.0), 0.5 * (5.0 * x**3 - 3.0 * x)
        size = self.locked_even(theta)
        sided = ODD_SHARE * np.hypot(size, self.locked[1]) * theta[:, NAMES.index("locked_odd")]
        return replace(state, creep=size[:, None] * even + sided[:, None] * odd)

    def locked_even(self, theta: Floats) -> Floats:
        """Strain locked in, shell against core, of every row [-]."""
        middle, deviation = self.locked
        usual = middle + deviation * theta[:, NAMES.index("locked_even")]
        result: Floats = usual + self.departs(theta, "locked")
        return result

    def run(
        self,
        theta: Floats,
        stays: Sequence[Stay] | None = None,
        *,
        stressed: bool = True,
        stops: Sequence[float] = (),
    ) -> Course:
        """Every row of parameters through the history."""
        begin = self.begin(theta)
        followed = course.run(
            self.history.slab,
            begin,
            self.aired(theta, self.stays if stays is None else stays),
            self.samples(theta),
            start_day=self.history.start_day,
            state=self.state(theta, begin, stressed=stressed),
            stops=stops,
        )
        return self.held(theta, followed) if stressed else followed

    def held(self, theta: Floats, followed: Course, since: float = 0.0) -> Course:
        """The course with what comes back of a flattening, and what a bar fixed solid makes.

        The flattening comes back by 1 - exp(-t/T).  A bar under the slab keeps its lower face from
        moving: the upper one moves on, and the pair bends (two-layer strip, derived; how stiff the
        bar and its fixings are is drawn).
        """
        slab = self.history.slab
        days = (since + followed.days)[:, None]
        slow = RETURNS_IN[0] * np.exp(RETURNS_IN[1] * theta[:, NAMES.index("pace")])
        cup = followed.cup + self.departs(theta, "spring") * -np.expm1(-days / slow)
        solid = self.departs(theta, "solid")
        strain = followed.width / slab.width - 1.0
        cup = cup - solid * strain / slab.thickness * slab.width**2 / 8.0
        width = slab.width * (1.0 + strain * (1.0 - BLOCKED * np.minimum(solid, 1.0 / BLOCKED)))
        return replace(followed, cup=cup, width=width)

    def predict(self, theta: Floats) -> Floats:
        """What every row says the sightings are, (rows, sightings)."""
        sightings = self.history.sightings
        stops = sorted({one.day for one in sightings if one.day is not None and one.day > 0.0})
        if not sightings:
            return np.zeros((theta.shape[0], 0))
        followed = self.run(theta, stops=stops)
        return np.stack([self.seen(theta, followed, one) for one in sightings], axis=1)

    def seen(self, theta: Floats, followed: Course, sighting: Sighting) -> Floats:
        """One sighting as every row has it, (samples,)."""
        if sighting.what == "end_grain":
            return self.room_now(theta)
        return seen(followed, sighting)

    def room_now(self, theta: Floats) -> Floats:
        """Equilibrium of the last room today, as it really was [%]."""
        last = self.aired(theta, self.stays)[-1]
        passed = sum(one.days for one in self.stays)
        day = self.history.start_day + passed if last.air_day is None else last.air_day + last.days
        temperature, humidity = last.air.at(day)
        air = np.clip(humidity + last.humidity_spread, 1.0, 98.0)
        wood = self.history.slab.species
        held = wood.equilibrium(np.full(air.shape, temperature), air)
        result: Floats = self.samples(theta).sorption * held
        return result

    @property
    def covariance(self) -> Floats:
        """Of the sightings' errors; a meter's bias is in all its readings."""
        sightings = self.history.sightings
        errors = np.array(
            [
                np.hypot(one.error, np.hypot(CUP_FLOOR, CUP_SHARE * one.value))
                if one.what == "cup"
                else one.error
                for one in sightings
            ]
        )
        by_meter = np.array([one.what in ("moisture", "end_grain") for one in sightings], bool)
        shared = SHARED_BIAS * np.outer(errors * by_meter, errors * by_meter)
        return np.asarray(np.where(np.eye(errors.size) > 0, np.diag(errors**2), shared))


def seen(followed: Course, sighting: Sighting) -> Floats:
    """One sighting as the engine's draws have it, (samples,)."""
    end = float(followed.days[-1])
    day = end if sighting.day is None else min(sighting.day, end)
    row = int(np.searchsorted(followed.days, day + 1e-9)) - 1
    if sighting.depth is None:
        columns = {"width": followed.width, "cup": followed.cup, "moisture": followed.mean}
        whole: Floats = columns[sighting.what][row]
        return whole
    depth = followed.mesh.depth
    right = int(np.clip(np.searchsorted(depth, sighting.depth), 1, depth.size - 1))
    share = (sighting.depth - depth[right - 1]) / (depth[right] - depth[right - 1])
    above, below = followed.moisture[:, right - 1], followed.moisture[:, right]
    result: Floats = (1.0 - share) * above + share * below
    return result
