"""When a slab will be ready, from dated readings or weights of it where it stands.

The present profile and the rate at which moisture moves are fitted together: least squares on the
transport model with a prior from the species, the Gauss-Newton posterior as a proposal, and draws
from it weighted by how well each reproduces the readings.  The draws are then followed on until
they are within the asked distance of where the slab is going.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from model import fitting, spread
from model.behaviour import transport
from model.behaviour.arrival import HORIZON, TOLERANCE, first_within, turned
from model.behaviour.slab import Slab
from model.codes import Note
from model.fitting import Data, Fit
from model.properties import sorption
from model.properties.finishes import Faces
from model.properties.meters import Corrected
from model.spread import DEFAULT_DRAWS, DEFAULT_SEED, FINISH_FACTOR, SORPTION_CV, TO_DECILE, Figure
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]

GRAVITY_CV: Final = 0.10  # of a wood's specific gravity, FPL-GTR-190 Table 5-6 (memory)
START_SPREAD: Final = 0.5  # standard deviation of ln(moisture at the first reading) (judgement)
USUAL_START: Final = 15.0  # % M; middle of that prior when there are weights alone (judgement)
# Shell against mean at the first reading, as a share of the mean's distance from the air: 0 a
# uniform slab, 1 one whose faces are at the air and whose profile is a parabola (judgement).
SHAPE_PRIOR: Final = (0.7, 0.4)
TILT_ALIKE: Final = 0.1  # of that distance, standard deviation, plus 0.3 % M (judgement)
TILT_UNLIKE: Final = 0.4  # the same for unlike faces (judgement)
TILT_FLOOR: Final = 0.3  # % M
CONTRADICTION: Final = 3.5  # standard deviations of a reading from all others (judgement)
SPECIES_DOUBT: Final = 2.0  # standard deviations of the rate from the species' prior (judgement)
REWETTING: Final = 3.0  # standard deviations of a rise between dates (judgement)
STAYS_UP: Final = 2.0  # the same of what follows such a rise, over where it was heading (judgement)
FEWEST_BEFORE: Final = 2  # readings that tell where a slab was heading (judgement)
STUCK: Final = 0.5  # % M from where this air would leave it (judgement)
FEW: Final = 4  # readings that are called little proof whatever they say (judgement)
LITTLE_LEARNED: Final = 0.3  # of the doubt about the rate (judgement)
TRACE_POINTS: Final = 60
# Steps of the model from the first to the last reading; more take over 3 s to fit (measured).
MOST_STEPS: Final = 800
MANY_DAYS: Final = 60  # dates above which the model's steps no longer end on each
LEFT_OUT: Final = 0.2  # of the readings, at most, are left out for contradicting the others
WEIGHING: Final = 0.001  # of a weight, standard deviation when no scale step is told (judgement)


class Air(Protocol):
    """Temperature [degC] and relative humidity [%] on a day number."""

    def at(self, day: float) -> tuple[float, float]:
        """Temperature and humidity at a day number."""
        ...


@dataclass(frozen=True, slots=True)
class Observation:
    """One dated figure.

    Attributes
    ----------
    day : float
        Day number.
    value : float
        Moisture [%], or weight of the slab [kg].
    scatter, bias : float
        Standard deviations in the unit of `value`: its own, and shared within `group`.
    kind : str
        `moisture` or `weight`.
    depth_from, depth_to : float or None
        What a moisture speaks of [m below the top face]; None: the mean.
    group : str
        Readings of one instrument share their bias.
    """

    day: float
    value: float
    scatter: float
    bias: float = 0.0
    kind: Literal["moisture", "weight"] = "moisture"
    depth_from: float | None = None
    depth_to: float | None = None
    group: str = "meter"


@dataclass(frozen=True, slots=True)
class Target:
    """Where the slab is going.

    `moisture` [%]: the number asked, or the mean of the destination's year; `is_room`: it follows
    the wood's own equilibrium and the house's humidity; `per_humidity`: its change per point of
    humidity, `humidity_spread` [points]; `within`: the distance that will do [% M].
    """

    moisture: float
    within: float = 1.0
    is_room: bool = False
    per_humidity: float = 0.0
    humidity_spread: float = 0.0


def target_room(room: Room, within: float) -> Target:
    """The mean of a room's year as a target; not a log."""
    rise = float(np.mean(sorption.slope(room.temperature, room.relative_humidity)))
    return Target(room.mean_equilibrium, within, True, rise, room.humidity_spread)


def of_weight(day: float, weight: float, step: float) -> Observation:
    """The weight of the whole slab [kg] on a day, by a scale of a step [kg]; 0 when not told."""
    scatter = float(max(step / np.sqrt(12.0), WEIGHING * weight))
    return Observation(day, weight, scatter, kind="weight", group="scale")


def of_reading(day: float, one: Corrected) -> Observation | None:
    """A corrected reading of a meter on a day; None outside its range."""
    if one.moisture is None:
        return None
    return Observation(
        day,
        one.moisture,
        one.scatter,
        one.bias,
        "moisture",
        one.depth_from,
        one.depth_to,
        one.kind,
    )


@dataclass(frozen=True, slots=True)
class Case:
    """All that a fit needs: the slab, how its faces stand, the air it stood and will stand in."""

    slab: Slab
    faces: Faces
    air: Air
    humidity_spread: float = 0.0
    dry_mass: float | None = None


@dataclass(frozen=True, slots=True)
class Present:
    """State of the slab on the day of the answer; Figures in % M, arrays over depth [m]."""

    mean: Figure
    top: Figure
    core: Figure
    bottom: Figure
    depth: Floats
    moisture: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Trace:
    """Mean moisture from the first reading fitted to well past readiness.

    `days` are day numbers; `mean`, `low` and `high` [%] the most probable course and its 10th and
    90th percentile.
    """

    days: Floats
    mean: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Flags:
    """What is wrong or unusual with the readings.

    `contradicting`: indexes of readings; `species_contradicted`: the rate lies far outside what the
    species does; `rewetted`: day of the reading after which it held water anew; `stuck`: it will
    get no nearer in this air.
    """

    contradicting: tuple[int, ...]
    species_contradicted: bool
    rewetted: float | None
    stuck: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """Present state, rate, date and flags.

    Attributes
    ----------
    as_of : float
        Day number the state is told for.
    transport : Figure
        Fitted factor C on the diffusion coefficient [-].
    against_species : float
        Central factor over the species' own.
    rate_learned : float
        Share of the prior doubt about the rate that the readings removed: 0 none, 1 all.
    rate_factor : float
        The rate is known within times or divided by this (10th to 90th percentile).
    ready_in : Figure or None
        Days from `as_of` [days]; None when the central case is not ready within five years; a
        `high` beyond that is infinite.
    chance_ready : float
        Share of the draws already within the distance.
    settles_here : Figure
        Mean moisture it would come to in a year's air of the place it stands in [%].
    humidity_needed : float or None
        Relative humidity that would hold the target at the mean temperature there [%].
    core_when_ready : float or None
        Moisture in the middle on that day [%].
    used : tuple of int
        Indexes of the readings fitted.
    residual : ndarray
        How far each of them is from what all others say, in standard deviations.
    """

    as_of: float
    present: Present
    transport: Figure
    against_species: float
    rate_learned: float
    rate_factor: float
    ready_in: Figure | None
    chance_ready: float
    settles_here: Figure
    humidity_needed: float | None
    core_when_ready: float | None
    used: tuple[int, ...]
    residual: Floats
    flags: Flags
    trace: Trace
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class _Problem:
    """The forward model on a fixed set of readings; parameters have standard normal priors."""

    case: Case
    observations: tuple[Observation, ...]
    mesh: transport.Grid
    start_moisture: float
    air_moisture: float
    weigh: Floats  # (readings, nodes): mean over what each reading looked at
    expected: Floats | None = None  # what a first fit says each reading should be

    @property
    def names(self) -> tuple[str, ...]:
        """Parameters in use."""
        names = ["rate", "start", "shape", "tilt", "sorption", "humidity"]
        if any(one.kind == "weight" for one in self.observations) and self.case.dry_mass is None:
            names.append("mass")
        if max(self.case.faces.top.sd, self.case.faces.bottom.sd) > 0.05:
            names.append("finish")
        return tuple(names)

    def column(self, theta: Floats, name: str) -> Floats:
        """One parameter of (samples, parameters); zero when it is not in use."""
        names = self.names
        if name not in names:
            return np.zeros(theta.shape[0])
        result: Floats = theta[:, names.index(name)]
        return result

    def wood(self, theta: Floats) -> transport.Wood:
        """Transport properties of each sample."""
        species = self.case.slab.species
        rate = np.exp(self.column(theta, "rate") * np.log(species.transport_spread) / TO_DECILE)
        return transport.Wood(
            transport_factor=species.transport_factor * rate,
            transport_slope=species.transport_slope,
            specific_gravity=species.specific_gravity,
            fibre_saturation=species.fibre_saturation,
            sorption=np.maximum(0.5, 1.0 + SORPTION_CV * self.column(theta, "sorption")),
        )

    def offset(self, theta: Floats) -> Floats:
        """Points of humidity each sample's place differs from what is told."""
        return self.case.humidity_spread * self.column(theta, "humidity")

    def finish(self, theta: Floats) -> Floats:
        """Factor on the resistance of finishes: log-uniform through the normal's distribution."""
        low, high = np.log(FINISH_FACTOR)
        # Median 1.45, within a percent of the middle of a normal of the same two deciles.
        middle, reach = 0.5 * (low + high), 0.4 * (high - low) / TO_DECILE
        result: Floats = np.exp(middle + reach * self.column(theta, "finish"))
        return result

    def start(self, theta: Floats) -> Floats:
        """Profile at the first reading, (samples, nodes)."""
        mean = self.start_moisture * np.exp(START_SPREAD * self.column(theta, "start"))
        excess = mean - self.air_moisture
        centre, deviation = SHAPE_PRIOR
        shape = centre + deviation * self.column(theta, "shape")
        share = TILT_ALIKE if self.case.faces.alike else TILT_UNLIKE
        tilt = (share * np.abs(excess) + TILT_FLOOR) * self.column(theta, "tilt")
        x = 2.0 * self.mesh.depth / self.mesh.thickness - 1.0
        bow = 0.5 * (3.0 * x * x - 1.0)
        profile = mean[:, None] - (shape * excess)[:, None] * bow + tilt[:, None] * x
        # A face cannot be drier than dry; only far draws of the proposal meet this.
        result: Floats = np.maximum(profile, 0.1)
        return result

    def run(self, theta: Floats, until: float) -> transport.Run:
        """Follow every sample from the first reading to a day."""
        begin = self.observations[0].day
        days = sorted({one.day for one in self.observations})
        # A step need not end on each of very many days: straight between steps this short is
        # within 0.01 % M of the curve.
        span = max(days[-1] - begin, 1.0)
        many = len(days) > MANY_DAYS
        return transport.run(
            self.wood(theta),
            self.mesh,
            self.start(theta),
            self.case.air,
            self.case.faces,
            begin,
            max(until, begin + 1e-3),
            humidity_offset=self.offset(theta),
            finish_factor=self.finish(theta),
            tolerance=TOLERANCE,
            stops=days[-1:] if many else days,
            longest_step=span / MANY_DAYS if many else transport.LONGEST_STEP,
        )

    def dry_mass(self, theta: Floats) -> Floats:
        """Oven-dry mass of each sample [kg]."""
        if self.case.dry_mass is not None:
            return np.full(theta.shape[0], self.case.dry_mass)
        # The slab's size is taken to be that at the first reading.
        weight = self.case.slab.weight(self.start_moisture)
        if weight is None:
            raise ValueError("weights need the slab's length or its oven-dry weight")
        known = weight / (1.0 + self.start_moisture / 100.0)
        result: Floats = known * np.exp(GRAVITY_CV * self.column(theta, "mass"))
        return result

    def predict(self, theta: Floats) -> Floats:
        """What each sample says the readings are, (samples, readings)."""
        days = np.array([one.day for one in self.observations])
        states = self.run(theta, float(days[-1])).at(days)
        seen: Floats = np.einsum("rsn,rn->sr", states, self.weigh)
        is_weight = np.array([one.kind == "weight" for one in self.observations])
        if is_weight.any():
            mass = self.dry_mass(theta)[:, None] * (1.0 + seen / 100.0)
            seen = np.where(is_weight, mass, seen)
        return np.asarray(seen, dtype=np.float64)

    @property
    def data(self) -> Data:
        """The readings as something to fit."""
        values = np.array([one.value for one in self.observations])
        covariance = _covariance(self.observations, self.expected)
        return Data(self.predict, values, covariance, len(self.names))


def _weights(observation: Observation, mesh: transport.Grid) -> Floats:
    """Weights over the nodes of what a reading looked at: a span's mean or a point."""
    if observation.depth_from is None or observation.depth_to is None:
        return mesh.weight
    span = (observation.depth_from, observation.depth_to)
    points = np.linspace(*span, 9) if span[1] > span[0] else np.array([span[0]])
    # Linear between nodes: each point gives its two neighbours their shares.
    right = np.clip(np.searchsorted(mesh.depth, points), 1, mesh.depth.size - 1)
    share = (points - mesh.depth[right - 1]) / (mesh.depth[right] - mesh.depth[right - 1])
    weight = np.zeros(mesh.depth.size)
    np.add.at(weight, right, share / points.size)
    np.add.at(weight, right - 1, (1.0 - share) / points.size)
    return weight


def _covariance(observations: Sequence[Observation], expected: Floats | None = None) -> Floats:
    """Covariance of the readings' errors: their own scatter, and the bias shared in a group.

    A shared error counted from each reading pulls a fit below all readings that disagree (Peelle's
    puzzle: 14, 9 and 14.2 % gave 5.7).  So a group's is taken alike until a fit says what to
    expect of each reading [%], and then goes with that.
    """
    scatter = np.array([one.scatter for one in observations])
    bias = np.array([one.bias for one in observations])
    group = np.array([f"{one.kind} {one.group}" for one in observations])
    alike = group[:, None] == group[None, :]
    count = alike.sum(axis=1)
    bias = alike @ bias / count
    if expected is not None:
        bias = bias * expected / (alike @ expected / count)
    shared: Floats = np.outer(bias, bias) * alike
    return shared + np.diag(scatter**2)


def _problem(case: Case, observations: Sequence[Observation]) -> _Problem:
    mesh = transport.grid(case.slab.thickness)
    first = observations[0].day
    found = [one.value for one in observations if one.kind == "moisture" and one.day == first]
    if not found:
        found = [one.value for one in observations if one.kind == "moisture"][:1]
    # Ten days of air, so that one gust in a logger's series does not set the profile's prior.
    ahead = min(10.0, max(observations[-1].day - first, 0.0))
    air = [case.air.at(first + ahead * k / 10.0) for k in range(11)]
    temperature, humidity = np.mean(air, axis=0)
    return _Problem(
        case=case,
        observations=tuple(observations),
        mesh=mesh,
        start_moisture=float(np.mean(found)) if found else USUAL_START,
        air_moisture=float(sorption.equilibrium_moisture(temperature, humidity)),
        weigh=np.stack([_weights(one, mesh) for one in observations]),
    )


def _rewetted(observations: Sequence[Observation], predicted: Floats) -> int | None:
    """Index of the first reading after a rise that neither errors nor the air explain."""
    days = sorted({one.day for one in observations})
    for before, after in pairwise(days):
        for kind in ("moisture", "weight"):
            old = [i for i, o in enumerate(observations) if o.day == before and o.kind == kind]
            new = [i for i, o in enumerate(observations) if o.day == after and o.kind == kind]
            # Only readings of the same depth are compared.
            pairs = [
                (i, j)
                for i in old
                for j in new
                if (observations[i].depth_from, observations[i].depth_to)
                == (observations[j].depth_from, observations[j].depth_to)
            ]
            if not pairs:
                continue
            rise = float(np.mean([observations[j].value - observations[i].value for i, j in pairs]))
            model = float(np.mean([predicted[j] - predicted[i] for i, j in pairs]))
            variance = sum(
                observations[i].scatter ** 2 + observations[j].scatter ** 2 for i, j in pairs
            )
            error = float(np.sqrt(variance)) / len(pairs)
            if rise - max(model, 0.0) > REWETTING * error:
                return new[0]
    return None


def _refuse_long(case: Case, observations: Sequence[Observation]) -> None:
    """Refuse readings that take too many steps of the model to fit."""
    problem = _problem(case, observations)
    last = observations[-1].day
    steps = problem.run(np.zeros((1, len(problem.names))), last).days.size
    if steps > MOST_STEPS:
        raise transport.TooManySteps(
            f"the model takes {steps:,} steps through these readings, where {MOST_STEPS:,} can be "
            "fitted"
        )


@dataclass(frozen=True, slots=True)
class _Checked:
    """A fit to the readings worth using: which those are, and what was found of the others."""

    problem: _Problem
    fit: Fit
    used: tuple[int, ...]
    contradicting: tuple[int, ...]
    rewetted: float | None


def _without_strays(case: Case, observations: Sequence[Observation]) -> _Checked:
    """Fit, leaving out one by one the readings that contradict all others.

    Of three readings and fewer none can be told to be the wrong one: they are only named.
    """
    used = list(range(len(observations)))
    strays: list[int] = []
    while True:
        kept = [observations[i] for i in used]
        problem = _problem(case, kept)
        fit = fitting.fit(problem.data)
        apart = np.abs(fitting.apart(problem.data, fit))
        worst = int(apart.argmax())
        if apart[worst] <= CONTRADICTION:
            break
        may_drop = max(1, int(LEFT_OUT * len(observations)))
        if len(used) < 4 or len(strays) == may_drop:
            strays += [used[i] for i in np.flatnonzero(apart > CONTRADICTION)]
            break
        strays.append(used.pop(worst))
    problem = replace(problem, expected=fit.predicted)
    fit = fitting.fit(problem.data, fit.theta)
    first = _rewetted(kept, fit.predicted)
    rewetted = None if first is None else kept[first].day
    return _Checked(problem, fit, tuple(used), tuple(sorted(strays)), rewetted)


def _stays_up(
    case: Case, observations: Sequence[Observation], rise: int, used: Sequence[int]
) -> bool:
    """Whether the readings after a high one stand too high for those before it, too.

    One reading far above the others is a slip; when what follows stays above what the slab would
    have come to by then, it was water.
    """
    later = [i for i in used if i > rise]
    if not later or rise < FEWEST_BEFORE:
        return False
    before, whole = _problem(case, observations[:rise]), _problem(case, observations)
    if before.names != whole.names:
        return False
    begun = fitting.fit(before.data)
    predicted, slopes = fitting.linearised(whole.data, begun.theta)
    excess = np.array([observations[i].value - predicted[i] for i in later])
    of_fit = slopes[later].mean(axis=0)
    scatter = sum(observations[i].scatter ** 2 for i in later) / len(later) ** 2
    error = float(np.sqrt(scatter + of_fit @ begun.covariance @ of_fit))
    return bool(excess.mean() > STAYS_UP * error)


def _checked(case: Case, observations: Sequence[Observation]) -> _Checked:
    """The fit to use: without stray readings, and after the last water taken up.

    A low stray looks like water taken up after it, so leaving strays out comes first; only what a
    few strays do not explain is called re-wetting.
    """
    rise = _rewetted(observations, fitting.fit(_problem(case, observations).data).predicted)
    found = _without_strays(case, observations)
    if rise is None:
        return found
    if found.rewetted is None and not (
        rise in found.contradicting and _stays_up(case, observations, rise, found.used)
    ):
        return found
    # What came before the water says nothing of the profile after it.
    later = _without_strays(case, observations[rise:])
    return replace(
        later,
        used=tuple(i + rise for i in later.used),
        contradicting=tuple(i + rise for i in later.contradicting),
        rewetted=observations[rise].day,
    )


def _targets(problem: _Problem, theta: Floats, target: Target, seed: int) -> Floats:
    """Moisture each sample is going to."""
    if not target.is_room:
        return np.full(theta.shape[0], target.moisture)
    deviates = np.random.default_rng(seed).standard_normal((theta.shape[0],))
    deviates[0] = 0.0
    own: Floats = target.moisture * problem.wood(theta).sorption
    return own + target.per_humidity * target.humidity_spread * deviates


def _year_of_air(air: Air, day: float) -> tuple[float, float, float]:
    """Mean temperature [degC], humidity [%] and equilibrium [% M] of the year from a day on."""
    points = np.array([air.at(day + YEAR * (k + 0.5) / 48.0) for k in range(48)])
    settled = sorption.equilibrium_moisture(points[:, 0], points[:, 1])
    return float(points[:, 0].mean()), float(points[:, 1].mean()), float(settled.mean())


def _forecast(
    problem: _Problem, theta: Floats, state: Floats, target: Floats, within: float, day: float
) -> tuple[Floats, float | None]:
    """Days from `day` until each sample is ready, and the central sample's core then."""
    ready = np.full(theta.shape[0], np.inf)
    core: float | None = None
    begin = day
    middle = problem.mesh.depth.size // 2
    while begin < day + HORIZON - 1.0:
        run = transport.run(
            problem.wood(theta),
            problem.mesh,
            state,
            problem.case.air,
            problem.case.faces,
            begin,
            begin + YEAR,
            humidity_offset=problem.offset(theta),
            finish_factor=problem.finish(theta),
            tolerance=TOLERANCE,
        )
        gap = np.abs(run.mean - target)
        for i in np.flatnonzero(np.isinf(ready)):
            ready[i] = begin - day + first_within(run.days, gap[:, i], within)
            if i == 0 and np.isfinite(ready[0]):
                core = float(run.at([day + ready[0]])[0, 0, middle])
        if np.isfinite(ready).all() or turned(run.mean):
            # Ready, or a year that ends as it began: the next will be the same.
            break
        state, begin = run.moisture[-1], begin + YEAR
    return ready, core


def _check(observations: Sequence[Observation]) -> None:
    if not observations:
        raise ValueError("at least one reading is needed")
    for one in observations:
        if not (np.isfinite(one.value) and one.value > 0.0 and one.scatter > 0.0):
            raise ValueError("a reading and its error must be finite and above 0")
    if any(b.day < a.day for a, b in pairwise(observations)):
        raise ValueError("readings must be in the order of their dates")


def _trace(problem: _Problem, theta: Floats, as_of: float, ready: Floats) -> Trace:
    """From the first reading to a third past the central date, between a month and a year on."""
    ahead = 1.3 * float(ready[0]) if np.isfinite(ready[0]) else YEAR
    end = as_of + min(max(ahead, 30.0), YEAR)
    days = np.linspace(problem.observations[0].day, end, TRACE_POINTS)
    means = problem.mesh.mean(problem.run(theta, end).at(days))
    low, high = spread.band(means) or (means[:, 0], means[:, 0])
    return Trace(days, means[:, 0], low, high)


def _present(problem: _Problem, state: Floats) -> Present:
    middle = problem.mesh.depth.size // 2
    low, high = spread.band(state.T) or (state[0], state[0])
    return Present(
        fitting.figure(problem.mesh.mean(state)),
        fitting.figure(state[:, 0]),
        fitting.figure(state[:, middle]),
        fitting.figure(state[:, -1]),
        problem.mesh.depth,
        state[0],
        low,
        high,
    )


def answer(
    case: Case,
    observations: Sequence[Observation],
    target: Target,
    today: float | None = None,
    draws: int = DEFAULT_DRAWS,
    seed: int = DEFAULT_SEED,
) -> Answer:
    """Fit the readings and tell the present state, the rate, and when the slab will be ready.

    Parameters
    ----------
    case : Case
        The slab and where it has stood since the first reading and will stand on.
    observations : sequence of Observation
        In the order of their dates; one is enough for an answer that says it proves nothing.
    target : Target
        Where it is going and how near will do.
    today : float, optional
        Day number of the answer, not before the last reading; that reading's day by default.
    draws, seed : int
        Posterior draws (0 for the most probable case alone) and their seed.

    Raises
    ------
    TooManySteps
        A thin or wet slab through years of changing air.
    ValueError
        No readings, dates out of order, figures that are not above 0, weights of a slab whose
        length and oven-dry weight are both unknown.

    References
    ----------
    Least squares with a normal prior, importance sampling from its Gauss-Newton posterior
    (derived).
    """
    _check(observations)
    _refuse_long(case, observations)
    checked = _checked(case, observations)
    problem, fit = checked.problem, checked.fit
    theta = fitting.draws(problem.data, fit, draws, seed)
    last = observations[-1].day
    as_of = last if today is None else max(today, last)
    state = problem.run(theta, as_of).moisture[-1]
    goals = _targets(problem, theta, target, seed)
    ready, core = _forecast(problem, theta, state, goals, target.within, as_of)
    mean = problem.mesh.mean(state)
    temperature, _, settles = _year_of_air(case.air, as_of)
    settled = problem.wood(theta).sorption * settles
    stuck = bool(
        np.isinf(ready[0]) and abs(mean[0] - settled[0]) < STUCK + 0.1 * abs(settled[0] - goals[0])
    )
    factor = problem.wood(theta).transport_factor
    names = problem.names
    # One number for what was learned: the rate's posterior deviation over its prior of 1.
    spread_left = float(np.sqrt(fit.covariance[0, 0]))
    flags = Flags(
        checked.contradicting,
        bool(abs(fit.theta[names.index("rate")]) > SPECIES_DOUBT),
        checked.rewetted,
        stuck,
    )
    needed = sorption.humidity_of_moisture(
        temperature, goals[0] / float(problem.wood(theta).sorption[0])
    )
    found = Answer(
        as_of=as_of,
        present=_present(problem, state),
        transport=fitting.figure(factor),
        against_species=float(factor[0] / case.slab.species.transport_factor),
        rate_learned=1.0 - spread_left,
        rate_factor=float(case.slab.species.transport_spread**spread_left),
        ready_in=fitting.figure(ready) if np.isfinite(ready[0]) else None,
        chance_ready=float(np.mean(np.abs(mean - goals)[min(1, draws) :] <= target.within)),
        settles_here=fitting.figure(settled),
        humidity_needed=None if np.isnan(needed) else float(needed),
        core_when_ready=core,
        residual=fitting.apart(problem.data, fit),
        used=checked.used,
        flags=flags,
        trace=_trace(problem, theta, as_of, ready),
        notes=(),
    )
    return _with_notes(found, observations, case, target)


def _with_notes(
    found: Answer, observations: Sequence[Observation], case: Case, target: Target
) -> Answer:
    """The same answer with everything said that it leans on."""
    return replace(found, notes=tuple(_notes(found, observations, case, target)))


def _notes(
    found: Answer, observations: Sequence[Observation], case: Case, target: Target
) -> list[Note]:
    dates = len({one.day for one in observations})
    before = case.slab.species.transport_spread
    notes = []
    if dates == 1:
        dated = len(observations) > 1
        notes.append(Note("too-little", dated=dated, before=before))
    elif found.rate_learned < LITTLE_LEARNED or len(observations) <= FEW:
        notes.append(
            Note(
                "little-proof",
                readings=len(observations),
                dates=dates,
                before=before,
                after=found.rate_factor,
            )
        )
    if found.flags.contradicting:
        readings = tuple(i + 1 for i in found.flags.contradicting)
        out = set(found.flags.contradicting).isdisjoint(found.used)
        notes.append(
            Note("contradiction", readings=readings, deviations=CONTRADICTION, left_out=out)
        )
    if found.flags.species_contradicted:
        notes.append(Note("rate-unlike-species", times=found.against_species))
    if found.flags.rewetted is not None:
        notes.append(Note("re-wetted"))
    if found.flags.stuck:
        settles, need = found.settles_here.value, found.humidity_needed
        notes.append(Note("stuck", settles=settles, target=target.moisture, humidity=need))
    elif found.ready_in is None:
        notes.append(Note("not-ready-here", within=target.within, target=target.moisture))
    notes.append(Note("rings-and-ends"))
    return notes
