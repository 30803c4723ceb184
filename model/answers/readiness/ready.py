"""When it is ready: draws from the fit followed on until they are near where the slab is going."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import fitting, spread
from model.answers.readiness.fit import (
    CONTRADICTION,
    Checked,
    Problem,
    check,
    fit_checked,
    refuse_long,
)
from model.answers.readiness.seen import DRIED_FROM, Case, Observation, Target
from model.answers.settle import EVEN_WITHIN
from model.behaviour import edges, transport
from model.behaviour.arrival import HORIZON, TOLERANCE, first_within, turned
from model.behaviour.year import settled_mean, wood_of
from model.codes import Note, Reason
from model.properties import sorption
from model.spread import DEFAULT_DRAWS, DEFAULT_SEED, LOOP_CENTRE, Figure
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR

Floats = NDArray[np.float64]

Verdict = Literal["ready", "probably", "not_here", "cannot_tell"]

SURE: Final = 0.98  # chance from which Ready is said (judgement)
HELD_FROM: Final = 0.5  # chance of being ready soon from which a look may let Ready be said
SOON: Final = 14.0  # days within which that chance is counted (judgement)
HOPELESS: Final = 0.15  # chance of ever being ready here below which it is not
SPECIES_DOUBT: Final = 2.0  # standard deviations of the rate from the species' prior (judgement)
STUCK: Final = 0.5  # % M from where this air would leave it (judgement)
FEW: Final = 4  # readings that are called little proof whatever they say (judgement)
LITTLE_LEARNED: Final = 0.3  # of the doubt about the rate (judgement)
TRACE_POINTS: Final = 60


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
    """Mean moisture from the first reading fitted to well past readiness, and its chance by then.

    `days` are day numbers; `mean`, `low` and `high` [%] the most probable course and its 10th and
    90th percentile; `chance` the share of the draws that have been ready by that day since the
    answer's (None without draws).
    """

    days: Floats
    mean: Floats
    low: Floats
    high: Floats
    chance: Floats | None


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
    verdict : str
        `ready` when `chance_soon` is `SURE` and more and nothing withholds it, `probably` (on the
        day that `ready_in` tells), `not_here`, or `cannot_tell`.
    withheld : tuple of Reason
        Why Ready, or any verdict, is not said; empty for most.
    chance_ready, chance_soon : float or None
        Share of the draws ready today, and within `SOON` days; None without draws.
    chance_near, chance_even : float or None
        Share of the draws within `SOON` days near the target, and even through the thickness.
    uneven : Figure
        Wettest less driest layer on the day of the answer [% M].
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
    verdict: Verdict
    withheld: tuple[Reason, ...]
    chance_ready: float | None
    chance_soon: float | None
    chance_near: float | None
    chance_even: float | None
    uneven: Figure
    settles_here: Figure
    humidity_needed: float | None
    core_when_ready: float | None
    used: tuple[int, ...]
    residual: Floats
    flags: Flags
    trace: Trace
    notes: tuple[Note, ...]


def _targets(problem: Problem, theta: Floats, target: Target, seed: int) -> Floats:
    """Moisture each sample is going to."""
    if not target.is_room:
        return np.full(theta.shape[0], target.moisture)
    if target.stands_there:
        deviates = problem.column(theta, "humidity")
    else:
        deviates = np.random.default_rng(seed).standard_normal((theta.shape[0],))
        deviates[0] = 0.0
    own: Floats = target.moisture * problem.wood(theta).sorption
    return own + target.per_humidity * target.humidity_spread * deviates


def _settles(case: Case, day: float) -> tuple[float, float]:
    """Mean temperature of the air [degC] of the year from a day on, and what the slab settles to.

    After a log, which has no year, in steady air of that year's means.
    """
    days = day + YEAR * (np.arange(48) + 0.5) / 48.0
    warmth, humidity = (float(values.mean()) for values in case.air.at_days(days))
    air = case.air
    if air.period is None and air.days.size > 1:
        air = Air(np.zeros(1), np.array([warmth]), np.array([humidity]))
    return warmth, settled_mean(case.slab, DRIED_FROM, case.faces, air, day)


def _forecast(
    problem: Problem,
    theta: Floats,
    state: transport.State,
    target: Floats,
    within: float,
    day: float,
) -> tuple[Floats, float | None]:
    """Days from `day` until each sample is ready, and the central sample's core then."""
    ready = np.full(theta.shape[0], np.inf)
    core: float | None = None
    begin = day
    middle = problem.mesh.depth.size // 2
    tolerance, longest = transport.central_finely(theta.shape[0])
    while begin < day + HORIZON - 1.0:
        run = transport.run(
            edges.quickened(problem.case.slab, problem.wood(theta), problem.case.faces),
            problem.mesh,
            state,
            problem.case.air,
            problem.case.faces,
            begin,
            begin + YEAR,
            humidity_offset=problem.offset(theta),
            finish_factor=problem.finish(theta),
            tolerance=tolerance,
            longest_step=longest,
        )
        # Fit to work: near enough, and as even through the thickness as settle asks.
        near = np.abs(run.mean - target) / within
        gap = np.maximum(near, np.ptp(run.moisture, axis=-1) / EVEN_WITHIN)
        for i in np.flatnonzero(np.isinf(ready)):
            ready[i] = begin - day + first_within(run.days, gap[:, i], 1.0)
            if i == 0 and np.isfinite(ready[0]):
                core = float(np.interp(day + ready[0], run.days, run.moisture[:, 0, middle]))
        if np.isfinite(ready).all() or turned(run.mean):
            # Ready, or a year that ends as it began: the next will be the same.
            break
        state, begin = run.end, begin + YEAR
    return ready, core


def _soon(
    problem: Problem,
    theta: Floats,
    state: transport.State,
    target: Floats,
    within: float,
    day: float,
) -> tuple[float | None, float | None]:
    """Share of the draws near the target, and even, on some day of the next `SOON` days."""
    if theta.shape[0] == 1:
        return None, None
    run = transport.run(
        edges.quickened(problem.case.slab, problem.wood(theta), problem.case.faces),
        problem.mesh,
        state,
        problem.case.air,
        problem.case.faces,
        day,
        day + SOON,
        days=day + np.linspace(0.0, SOON, 8),
        humidity_offset=problem.offset(theta),
        finish_factor=problem.finish(theta),
        tolerance=TOLERANCE,
    )
    near = np.any(np.abs(run.mean[:, 1:] - target[1:]) <= within, axis=0)
    even = np.any(np.ptp(run.moisture[:, 1:], axis=-1) <= EVEN_WITHIN, axis=0)
    return float(np.mean(near)), float(np.mean(even))


def _trace(problem: Problem, theta: Floats, as_of: float, ready: Floats) -> Trace:
    """From the first reading to a third past the central date, between a month and a year on."""
    ahead = 1.3 * float(ready[0]) if np.isfinite(ready[0]) else YEAR
    end = as_of + min(max(ahead, 30.0), YEAR)
    draws = ready[1:]
    days = np.linspace(problem.observations[0].day, end, TRACE_POINTS)
    means = problem.run(theta, end, days).mean
    low, high = spread.band(means) or (means[:, 0], means[:, 0])
    chance = np.mean(draws[None, :] <= (days - as_of)[:, None], axis=1) if draws.size else None
    return Trace(days, means[:, 0], low, high, chance)


def _chance(ready: Floats, within: float) -> float | None:
    """Share of the draws that are ready within so many days; None without draws."""
    return float(np.mean(ready[1:] <= within)) if ready.size > 1 else None


def _withheld(checked: Checked, case: Case) -> tuple[Reason, ...]:
    """Why a verdict is not said, whatever the chance."""
    reasons = []
    kinds = {one.kind for one in checked.problem.observations}
    if kinds == {"weight"} and case.dry_mass is None:
        reasons.append(Reason("weights-alone"))
    if len(checked.used) == 1:
        reasons.append(Reason("one-reading"))
    if set(checked.contradicting) & set(checked.used):
        reasons.append(Reason("readings-apart"))
    return tuple(reasons)


def _verdict(ready: Floats, withheld: tuple[Reason, ...]) -> Verdict:
    """The chance made a word."""
    if withheld:
        return "cannot_tell"
    ever = _chance(ready, HORIZON)
    if ever is None:
        return "probably" if np.isfinite(ready[0]) else "not_here"
    if float(np.mean(ready[1:] <= SOON)) >= SURE:
        return "ready"
    # A central case that never comes there has no day to tell.
    if np.isinf(ready[0]):
        return "not_here" if ever < HOPELESS else "cannot_tell"
    return "probably"


def _present(problem: Problem, state: Floats) -> Present:
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
    check(observations)
    refuse_long(case, observations)
    checked = fit_checked(case, observations)
    problem, fit = checked.problem, checked.fit
    theta = fitting.draws(problem.data, fit, draws, seed)
    last = observations[-1].day
    as_of = last if today is None else max(today, last)
    now = problem.run(theta, as_of, np.zeros(0)).end
    state = now.moisture
    goals = _targets(problem, theta, target, seed)
    ready, core = _forecast(problem, theta, now, goals, target.within, as_of)
    near, even = _soon(problem, theta, now, goals, target.within, as_of)
    mean = problem.mesh.mean(state)
    withheld = _withheld(checked, case)
    temperature, settles = _settles(case, as_of)
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
    wood = case.slab.species
    own = float(problem.wood(theta).sorption[0])
    needed = sorption.humidity_to_reach(
        temperature,
        float(mean[0]) / own,
        float(goals[0]) / own,
        LOOP_CENTRE,
        wood.sorption_at_60,
        wood.sorption_at_90,
    )
    found = Answer(
        as_of=as_of,
        present=_present(problem, state),
        transport=fitting.figure(factor),
        against_species=float(factor[0] / case.slab.species.transport_factor),
        rate_learned=1.0 - spread_left,
        rate_factor=float(case.slab.species.transport_spread**spread_left),
        ready_in=fitting.figure(ready) if np.isfinite(ready[0]) else None,
        verdict=_verdict(ready, withheld),
        withheld=withheld,
        chance_ready=_chance(ready, 0.0),
        chance_soon=_chance(ready, SOON),
        chance_near=near,
        chance_even=even,
        uneven=fitting.figure(np.ptp(state, axis=1)),
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


def _would_tell(found: Answer, observations: Sequence[Observation]) -> list[Note]:
    """Which doubt keeps Ready from being said, where it is not far off, and what look ends it."""
    near, even = found.chance_near, found.chance_even
    if near is None or even is None or found.verdict != "probably":
        return []
    if (found.chance_soon or 0.0) < HELD_FROM:
        return []
    told = []
    if near < SURE and not any(one.group == "oven_dry" for one in observations):
        told.append(Note("held-by-meter", chance=near))
    if even < SURE:
        told.append(Note("held-by-core", chance=even))
    return told


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
    notes = [Note("faces-drawn", top=case.untold[0], bottom=case.untold[1])]
    if not any(case.untold):
        notes = []
    if not all(one.depth_told for one in observations):
        notes.append(Note("depth-drawn"))
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
    notes += _would_tell(found, observations)
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
    moves = edges.quickened(case.slab, wood_of(case.slab, spread.draw(0)), case.faces)
    notes += edges.notes(case.slab, moves)
    notes += edges.ends_note(
        case.slab,
        np.array([found.as_of - observations[0].day]),
        np.array([found.present.mean.value]),
        found.settles_here.value,
    )
    notes.append(Note("rings-and-ends"))
    return notes
