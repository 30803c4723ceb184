"""The present profile and the rate at which moisture moves, fitted to the readings together.

Least squares on the transport model with a prior from the species; readings that contradict all
others are left out, and a slab that was wetted anew is fitted from there on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr
from scipy.stats import chi2

from model import fitting
from model.answers.readiness.seen import Case, Observation, untold_resistance
from model.behaviour import edges, transport
from model.behaviour.arrival import TOLERANCE
from model.fitting import Data, Fit
from model.properties.meters import GRAVITY_CV
from model.spread import FINISH_FACTOR, LOOP_CENTRE, SORPTION_CV, TO_DECILE

Floats = NDArray[np.float64]

# Depth of pins that nobody told, as shares of the thickness: even in its logarithm between these
# (judgement; push-in pins of 4 mm in 75 mm to hammered ones in the middle).
PIN_DEPTHS: Final = (0.05, 0.5)
# % M; bias of a meter beside which a piece was dried: that piece is to say (judgement).
UNCALIBRATED: Final = 2.0
PARTS: Final = 24  # of a piece, over which its mean is taken; a parabola's is off by 0.06 %
METERS: Final = ("pin", "surface")
WIDENED_FROM: Final = 0.95  # chance that readings fit worse than so before errors are widened
START_SPREAD: Final = 0.5  # standard deviation of ln(moisture at the first reading) (judgement)
USUAL_START: Final = 15.0  # % M; middle of that prior when there are weights alone (judgement)
# Shell against mean at the first reading, as a share of the mean's distance from the air: 0 a
# uniform slab, 1 one whose faces are at the air and whose profile is a parabola (judgement).
SHAPE_PRIOR: Final = (0.7, 0.4)
TILT_ALIKE: Final = 0.1  # of that distance, standard deviation, plus 0.3 % M (judgement)
TILT_UNLIKE: Final = 0.4  # the same for unlike faces (judgement)
# A slab shut on one side: its parabola has its top at that face, which is a tilt of 3/4 and a bow
# of a quarter of the mean's distance from the air (derived).
SHUT_TILT: Final = 0.75
SHUT_BOW: Final = 0.75
WOOD_RESISTS: Final = 3.0  # m of still air; half of 50 mm of wood at 9 % M, order of size
TILT_FLOOR: Final = 0.3  # % M
CONTRADICTION: Final = 3.5  # standard deviations of a reading from all others (judgement)
REWETTING: Final = 3.0  # standard deviations of a rise between dates (judgement)
TO_DEVIATION: Final = 1.4826  # standard deviation of a normal over its median absolute value
STAYS_UP: Final = 2.0  # the same of what follows such a rise, over where it was heading (judgement)
FEWEST_BEFORE: Final = 2  # readings that tell where a slab was heading (judgement)
# Steps of the model from the first to the last reading; more take over 3 s to fit (measured).
MOST_STEPS: Final = 800
LEFT_OUT: Final = 0.2  # of the readings, at most, are left out for contradicting the others


@dataclass(frozen=True, slots=True)
class Problem:
    """The forward model on a fixed set of readings; parameters have standard normal priors."""

    case: Case
    observations: tuple[Observation, ...]
    mesh: transport.Grid
    start_moisture: float
    air_moisture: float
    weigh: Floats  # (readings, nodes): mean over what each reading looked at
    expected: Floats | None = None  # what a first fit says each reading should be
    widened: float = 1.0  # factor on the readings' own scatter, by the misfit of a first fit

    @property
    def names(self) -> tuple[str, ...]:
        """Parameters in use."""
        names = ["rate", "start", "shape", "tilt", "sorption", "humidity"]
        if any(one.kind == "weight" for one in self.observations) and self.case.dry_mass is None:
            names.append("mass")
        names += [
            name for name, drawn in zip(("lid", "bench"), self.case.untold, strict=True) if drawn
        ]
        told = [
            face.sd
            for face, drawn in zip(
                (self.case.faces.top, self.case.faces.bottom), self.case.untold, strict=True
            )
            if not drawn
        ]
        if told and max(told) > 0.05:
            names.append("finish")
        if not all(one.depth_told for one in self.observations):
            names.append("depth")
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
            loop=np.full(theta.shape[0], LOOP_CENTRE),
            sorption_at_60=species.sorption_at_60,
            sorption_at_90=species.sorption_at_90,
        )

    def offset(self, theta: Floats) -> Floats:
        """Points of humidity each sample's place differs from what is told."""
        return self.case.humidity_spread * self.column(theta, "humidity")

    def finish(self, theta: Floats) -> Floats:
        """Factor on the resistance of the top and the bottom, (2, samples).

        Of finishes with the same median and deciles as their draws; of a face nobody told its
        resistance itself, `UNTOLD` being 1 m.
        """
        thin, usual, thick = np.log(FINISH_FACTOR)
        own = self.column(theta, "finish")
        reach = np.where(own < 0.0, usual - thin, thick - usual) * (0.8 / TO_DECILE)
        finish = np.exp(usual + reach * own)
        return np.stack(
            [
                untold_resistance(ndtr(self.column(theta, name)), name == "bench")
                if drawn
                else finish
                for name, drawn in zip(("lid", "bench"), self.case.untold, strict=True)
            ]
        )

    def closedness(self, theta: Floats) -> Floats:
        """How much more shut the bottom is than the top, -1 to 1, of each sample."""
        top, bottom = self.finish(theta)
        over = [
            face.sd * factor
            for face, factor in (
                (self.case.faces.top, top), (self.case.faces.bottom, bottom)
            )
        ]  # fmt: skip
        whole = over[0] + over[1] + WOOD_RESISTS
        return np.asarray((over[1] - over[0]) / whole)

    def start(self, theta: Floats) -> Floats:
        """Profile at the first reading, (samples, nodes)."""
        mean = self.start_moisture * np.exp(START_SPREAD * self.column(theta, "start"))
        excess = mean - self.air_moisture
        centre, deviation = SHAPE_PRIOR
        shut = self.closedness(theta)
        shape = centre * (1.0 - SHUT_BOW * np.abs(shut)) + deviation * self.column(theta, "shape")
        alike = self.case.faces.alike and not any(self.case.untold)
        share = TILT_ALIKE if alike else TILT_UNLIKE
        tilt = (share * np.abs(excess) + TILT_FLOOR) * self.column(theta, "tilt")
        tilt = tilt + SHUT_TILT * shut * excess
        x = 2.0 * self.mesh.depth / self.mesh.thickness - 1.0
        bow = 0.5 * (3.0 * x * x - 1.0)
        profile = mean[:, None] - (shape * excess)[:, None] * bow + tilt[:, None] * x
        # A face cannot be drier than dry; only far draws of the proposal meet this.
        result: Floats = np.maximum(profile, 0.1)
        return result

    def run(self, theta: Floats, until: float, days: Floats) -> transport.Run:
        """Follow every sample from the first reading to a day, told on some days."""
        begin = self.observations[0].day
        return transport.run(
            edges.quickened(self.case.slab, self.wood(theta), self.case.faces),
            self.mesh,
            self.start(theta),
            self.case.air,
            self.case.faces,
            begin,
            max(until, begin + 1e-3),
            days=days,
            humidity_offset=self.offset(theta),
            finish_factor=self.finish(theta),
            tolerance=TOLERANCE,
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
        days, place = np.unique([one.day for one in self.observations], return_inverse=True)
        states = self.run(theta, float(days[-1]), days).moisture
        seen: Floats = np.einsum("rsn,rn->sr", states[place], self.weigh)
        for i, one in enumerate(self.observations):
            if not one.depth_told:
                weigh = self.at_depth(theta, one)
                seen[:, i] = np.einsum("sn,sn->s", states[place[i]], weigh)
        is_weight = np.array([one.kind == "weight" for one in self.observations])
        if is_weight.any():
            mass = self.dry_mass(theta)[:, None] * (1.0 + seen / 100.0)
            seen = np.where(is_weight, mass, seen)
        return np.asarray(seen, dtype=np.float64)

    def pin_depth(self, theta: Floats) -> Floats:
        """Depth under the face of pins whose depth nobody told, of each sample [m]."""
        low, high = PIN_DEPTHS
        share = ndtr(self.column(theta, "depth"))
        return np.asarray(self.mesh.thickness * low * (high / low) ** share, dtype=np.float64)

    def at_depth(self, theta: Floats, one: Observation) -> Floats:
        """Weights (samples, nodes) of such pins, driven in from the face they were read on."""
        depth = self.pin_depth(theta)
        assert one.depth_from is not None
        if one.depth_from > 0.5 * self.mesh.thickness:
            depth = self.mesh.thickness - depth
        return np.stack([_at(self.mesh, np.array([each])) for each in depth])

    @property
    def data(self) -> Data:
        """The readings as something to fit."""
        values = np.array([one.value for one in self.observations])
        covariance = _covariance(self.observations, self.expected, self.widened)
        return Data(self.predict, values, covariance, len(self.names))


def _weights(observation: Observation, mesh: transport.Grid) -> Floats:
    """Weights over the nodes of what a reading looked at: a span's mean or a point."""
    if observation.depth_from is None or observation.depth_to is None:
        return mesh.weight
    first, last = observation.depth_from, observation.depth_to
    # Middles of equal parts: points on the ends too would count the faces twice over.
    return _at(mesh, first + (last - first) * (np.arange(PARTS) + 0.5) / PARTS)


def _at(mesh: transport.Grid, points: Floats) -> Floats:
    """Weights over the nodes of the mean of some depths [m]."""
    # Linear between nodes: each point gives its two neighbours their shares.
    right = np.clip(np.searchsorted(mesh.depth, points), 1, mesh.depth.size - 1)
    share = (points - mesh.depth[right - 1]) / (mesh.depth[right] - mesh.depth[right - 1])
    weight = np.zeros(mesh.depth.size)
    np.add.at(weight, right, share / points.size)
    np.add.at(weight, right - 1, (1.0 - share) / points.size)
    return weight


def _covariance(
    observations: Sequence[Observation], expected: Floats | None = None, widened: float = 1.0
) -> Floats:
    """Covariance of the readings' errors: their own scatter, and the bias shared in a group.

    A shared error counted from each reading pulls a fit below all readings that disagree (Peelle's
    puzzle: 14, 9 and 14.2 % gave 5.7).  So a group's is taken alike until a fit says what to
    expect of each reading [%], and then goes with that.
    """
    scatter = widened * np.array([one.scatter for one in observations])
    bias = np.array([one.bias for one in observations])
    group = np.array([f"{one.kind} {one.group}" for one in observations])
    kinds = {one.group for one in observations}
    if "oven_dry" in kinds:
        # The piece calibrates the meter, whatever is usual of meters.
        bias[[one.group in METERS for one in observations]] = UNCALIBRATED
    alike = group[:, None] == group[None, :]
    count = alike.sum(axis=1)
    bias = alike @ bias / count
    if expected is not None:
        bias = bias * expected / (alike @ expected / count)
    shared: Floats = np.outer(bias, bias) * alike
    return shared + np.diag(scatter**2)


def _problem(case: Case, observations: Sequence[Observation]) -> Problem:
    mesh = transport.grid(case.slab.thickness)
    first = observations[0].day
    found = [one.value for one in observations if one.kind == "moisture" and one.day == first]
    if not found:
        found = [one.value for one in observations if one.kind == "moisture"][:1]
    # Ten days of air, so that one gust in a logger's series does not set the profile's prior.
    ahead = min(10.0, max(observations[-1].day - first, 0.0))
    air = [case.air.at(first + ahead * k / 10.0) for k in range(11)]
    temperature, humidity = np.mean(air, axis=0)
    return Problem(
        case=case,
        observations=tuple(observations),
        mesh=mesh,
        start_moisture=float(np.mean(found)) if found else USUAL_START,
        air_moisture=float(case.slab.species.equilibrium(temperature, humidity)),
        weigh=np.stack([_weights(one, mesh) for one in observations]),
    )


def _rewetted(observations: Sequence[Observation], predicted: Floats) -> int | None:
    """Index of the first reading after a rise that neither errors nor the air explain.

    Readings that scatter up and down more than their errors say are measured by that scatter: the
    median, in deviations, of the other rises, which drying wood has none of.
    """
    steps = _steps(observations, predicted)
    for k, (first, excess) in enumerate(steps):
        others = [apart for j, (_, apart) in enumerate(steps) if j != k and apart > 0.0]
        usual = TO_DEVIATION * float(np.median(others)) if others else 1.0
        if excess > REWETTING * max(1.0, usual):
            return first
    return None


def _steps(observations: Sequence[Observation], predicted: Floats) -> list[tuple[int, float]]:
    """Steps between dates: the reading after it, and its rise over what the air explains.

    The rise is counted in standard deviations.
    """
    found = []
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
            found.append((new[0], (rise - max(model, 0.0)) / error))
    return found


def refuse_long(case: Case, observations: Sequence[Observation]) -> None:
    """Refuse readings that take too many steps of the model to fit."""
    problem = _problem(case, observations)
    last = observations[-1].day
    found = problem.run(np.zeros((1, len(problem.names))), last, np.array([last]))
    steps = int(found.steps[0])
    if steps > MOST_STEPS:
        raise transport.TooManySteps(
            f"the model takes {steps:,} steps through these readings, where {MOST_STEPS:,} can be "
            "fitted"
        )


@dataclass(frozen=True, slots=True)
class Checked:
    """A fit to the readings worth using: which those are, and what was found of the others."""

    problem: Problem
    fit: Fit
    used: tuple[int, ...]
    contradicting: tuple[int, ...]
    rewetted: float | None


def _without_strays(case: Case, observations: Sequence[Observation]) -> Checked:
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
    problem = replace(problem, expected=fit.predicted, widened=_widening(fit.cost, len(used)))
    fit = fitting.fit(problem.data, fit.theta)
    first = _rewetted(kept, fit.predicted)
    rewetted = None if first is None else kept[first].day
    return Checked(problem, fit, tuple(used), tuple(sorted(strays)), rewetted)


def _widening(cost: float, readings: int) -> float:
    """Factor on the errors of readings that fit worse than these allow.

    The root of the mean square miss (scale factor of Birge 1932, memory), priors counted; 1 where
    chance alone makes so much once in twenty.
    """
    usual = float(chi2.ppf(WIDENED_FROM, readings))
    return float(np.sqrt(cost / readings)) if cost > usual else 1.0


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


def fit_checked(case: Case, observations: Sequence[Observation]) -> Checked:
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


def check(observations: Sequence[Observation]) -> None:
    """Refuse readings that are none, impossible or out of order; raises ValueError."""
    if not observations:
        raise ValueError("at least one reading is needed")
    for one in observations:
        if not (np.isfinite(one.value) and one.value > 0.0 and one.scatter > 0.0):
            raise ValueError("a reading and its error must be finite and above 0")
    if any(b.day < a.day for a, b in pairwise(observations)):
        raise ValueError("readings must be in the order of their dates")
