"""The steps of `transport` through time, compiled: plain loops, one sample after the other.

Every sample takes its own steps.  A step is one of two schemes of second order with the same
coefficient, both of which damp stiff parts fully: a two-stage Rosenbrock scheme, linearised at its
beginning (Verwer, Spee, Blom and Hundsdorfer 1999, memory; of second order whatever Jacobian it is
given), or, while a layer is near or above fibre saturation, where conduction is switched off, an
implicit one (Alexander 1977, memory) whose stages are solved by Newton's method.  Between the ends
of a step the state is the scheme's own polynomial, of second order too.

Moisture M is what is stored, and stays balanced to rounding.  What drives it is mu, the moisture
that the mean curve holds at the layer's humidity.  The two are tied by the play operator::

    mu = min(max((M - c)/s, drying^-1(M)), wetting^-1(M))

with one number c a layer, which stays within a step and is M - s mu after it.  Where nothing is
remembered mu is M.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from model.behaviour.compiled import compiled, inlined
from model.behaviour.shared_air import Load, balanced

Floats = NDArray[np.float64]

DAY: Final = 86_400.0  # s; definition
GAMMA: Final = 1.0 - math.sqrt(0.5)  # makes both schemes L-stable
FADE: Final = 0.2  # % M in which conduction fades out at fibre saturation (judgement)
SOAKED: Final = 1.0  # % M below fibre saturation from which the stages are iterated
SOLVED: Final = 0.05  # % M; last change of an iteration, whose next would be about its square
MOST_ITERATIONS: Final = 10  # of a stage, before the step is shortened; usual are 2 to 4
SHORTEST_STEP: Final = 1e-9  # days
REFERENCE_MOISTURE: Final = 10.0  # % M at which a diffusion coefficient is told
DRIEST_MOISTURE: Final = 3.0  # % M; below it D is held, no data (judgement)
# A wet face is drawn to fibre saturation by this pressure per % M, through `transport`'s
# WET_RESISTANCE: it is there within minutes (judgement).
WET_PRESSURE: Final = 100.0  # Pa per % M
ON_BRANCH: Final = 1e-7  # % M; a layer nearer to a branch than this lies on it
FLAT_SLOPE: Final = 1e-6  # 1/% M; a diffusion law less steep than this is taken as level
STEADY: Final = 0
YEARLY: Final = 1
LOGGED: Final = 2


class Weather(NamedTuple):
    """What the faces meet, straight between points (points,); a year ends with its first point.

    kind : `STEADY`, `YEARLY` or `LOGGED`; warm : the room [degC]; damp : its relative humidity [%];
    top, bottom : at the faces [degC]; low, high : humidities that machines hold around a load that
    shares the air [%].
    """

    kind: int
    period: float
    days: Floats
    warm: Floats
    damp: Floats
    top: Floats
    bottom: Floats
    low: Floats
    high: Floats


class Curves(NamedTuple):
    """Sorption and saturation pressure as tables, straight between their points.

    table : (temperatures, moistures, 3), rows every `warmer` [K] from `coldest` [degC], columns
    every `finer` [% M] from 0: relative humidity [-] over wood that holds this on the mean curve,
    and what the mean curve holds [%] where the drying and the wetting branch hold this.
    pressure : logarithm of [Pa], every `pressure_warmer` [K] from `pressure_coldest` [degC].
    """

    coldest: float
    warmer: float
    finer: float
    table: Floats
    pressure_coldest: float
    pressure_warmer: float
    pressure: Floats


class Each(NamedTuple):
    """What differs from sample to sample, (samples,).

    diffusion : at 10 % M and 20 degC [m2/s]; sorption : factor on the curves; loop : s, slope
    within the hysteresis loop over that of the mean curve; offset : points of relative humidity;
    admittance : (samples, 2) of the faces [% M m/s per Pa]; tolerance : of a step [% M];
    longest_step [days].
    """

    diffusion: Floats
    sorption: Floats
    loop: Floats
    offset: Floats
    admittance: Floats
    tolerance: Floats
    longest_step: Floats


class Layers(NamedTuple):
    """The layers, and what is the same for all samples.

    thickness [m]; inverse_volume, inverse_gap [1/m]; upper, lower : inverse gap to the next layer
    over the own volume and over the next's [1/m2]; weight : shares of the thickness; slope : b of
    the diffusion law [1/% M]; saturation : fibre saturation [%]; activation : over the gas constant
    [K]; reference : 1/K of the temperature of `Each.diffusion`; wet_top, wet_bottom : water stands
    there; remembers : there is hysteresis; load : what the air is shared with.
    """

    thickness: float
    inverse_volume: Floats
    inverse_gap: Floats
    upper: Floats
    lower: Floats
    weight: Floats
    slope: float
    saturation: float
    activation: float
    reference: float
    wet_top: bool
    wet_bottom: bool
    remembers: bool
    load: Load


class Span(NamedTuple):
    """From when to when [days], and how finely: see `transport.run`."""

    start: float
    end: float
    first_step: float
    most_steps: int


class Watch(NamedTuple):
    """What is told of the states.

    days : (days,) ascending; layers : samples told layer by layer; cap : moisture above which
    nothing moves [%]; weights : (samples, sums, nodes) of the sums of min(moisture, cap).
    """

    days: Floats
    layers: int
    cap: float
    weights: Floats


class Told(NamedTuple):
    """What was asked of the states, filled in: see `transport.Run`.

    moisture : (days, watched samples, nodes); mean : (days, samples); gained : (days, samples, 2);
    sums : (days, samples, sums); steps, rejected : (samples,).
    """

    moisture: Floats
    mean: Floats
    gained: Floats
    sums: Floats
    steps: NDArray[np.int64]
    rejected: NDArray[np.int64]


class _Room(NamedTuple):
    """The air at one time: room [degC], faces [degC], vapour over saturated faces [Pa].

    pressure : the room's, without the wood in it [Pa]; saturated : at the room's temperature [Pa];
    low, high : humidities that machines hold [%].
    """

    warm: float
    saturated: float
    low: float
    high: float
    top: float
    bottom: float
    pressure: float
    saturated_top: float
    saturated_bottom: float


@inlined
def _place(days: Floats, day: float) -> tuple[int, float]:
    """The point before a day and the share of the next, held at both ends."""
    left = min(max(int(np.searchsorted(days, day, side="right")) - 1, 0), days.size - 2)
    part = (day - days[left]) / (days[left + 1] - days[left])
    return left, min(max(part, 0.0), 1.0)


@inlined
def _saturated(curves: Curves, temperature: float) -> float:
    """Saturation pressure [Pa]."""
    place = (temperature - curves.pressure_coldest) / curves.pressure_warmer
    left = min(max(int(place), 0), curves.pressure.size - 2)
    low, high = curves.pressure[left], curves.pressure[left + 1]
    return math.exp(low + (place - left) * (high - low))


@inlined
def _air(weather: Weather, curves: Curves, offset: float, day: float) -> _Room:
    """What the faces of a sample meet on a day."""
    if weather.kind == STEADY:
        left, right, part = 0, 0, 0.0
    elif weather.kind == YEARLY:
        place = (day % weather.period) * ((weather.days.size - 1) / weather.period)
        left = min(int(place), weather.days.size - 2)
        right, part = left + 1, place - left
    else:
        left, part = _place(weather.days, day)
        right = left + 1
    warm = weather.warm[left] + part * (weather.warm[right] - weather.warm[left])
    damp = weather.damp[left] + part * (weather.damp[right] - weather.damp[left])
    top = weather.top[left] + part * (weather.top[right] - weather.top[left])
    bottom = weather.bottom[left] + part * (weather.bottom[right] - weather.bottom[left])
    damp = min(max(damp + offset, 1.0), 98.0)
    saturated = _saturated(curves, warm)
    saturated_top = saturated if top == warm else _saturated(curves, top)
    saturated_bottom = saturated if bottom == warm else _saturated(curves, bottom)
    low = weather.low[left] + part * (weather.low[right] - weather.low[left])
    high = weather.high[left] + part * (weather.high[right] - weather.high[left])
    return _Room(
        warm, saturated, low, high, top, bottom,
        0.01 * damp * saturated, saturated_top, saturated_bottom,
    )  # fmt: skip


@inlined
def _row(curves: Curves, temperature: float) -> tuple[int, float]:
    """Row of the table at or below a temperature, and the share of the next."""
    place = (temperature - curves.coldest) / curves.warmer
    left = min(max(int(place), 0), curves.table.shape[0] - 2)
    return left, min(max(place - left, 0.0), 1.0)


@inlined
def _humidity(
    curves: Curves, temperature: float, moisture: float, factor: float
) -> tuple[float, float]:
    """Relative humidity [-] over wood by the mean curve, and its rise per % M."""
    place = max(moisture, 0.0) / (factor * curves.finer)
    left = int(place)
    if left >= curves.table.shape[1] - 1:
        return 1.0, 0.0
    row, warm = _row(curves, temperature)
    table = curves.table
    low = table[row, left, 0] + warm * (table[row + 1, left, 0] - table[row, left, 0])
    high = table[row, left + 1, 0] + warm * (table[row + 1, left + 1, 0] - table[row, left + 1, 0])
    return low + (place - left) * (high - low), (high - low) / (factor * curves.finer)


@inlined
def _branch(
    table: Floats, row: int, warm: float, left: int, part: float, which: int
) -> tuple[float, float]:
    """What the mean curve holds where a branch holds this, both over the factor; its rise."""
    low = table[row, left, which] + warm * (table[row + 1, left, which] - table[row, left, which])
    right = left + 1
    high = table[row, right, which] + warm * (
        table[row + 1, right, which] - table[row, right, which]
    )
    return low + part * (high - low), high - low


@inlined
def _drive(
    curves: Curves,
    temperature: float,
    factor: float,
    loop: float,
    moisture: Floats,
    memory: Floats,
    drive: _Drive,
) -> None:
    """What drives every layer."""
    mu, drying_rise, wetting_rise = drive.mu, drive.drying, drive.wetting
    table, scale = curves.table, 1.0 / (factor * curves.finer)
    steep, per_column = 1.0 / loop, 1.0 / curves.finer
    row, warm = _row(curves, temperature)
    for i in range(moisture.size):
        place = max(moisture[i], 0.0) * scale
        left = int(place)
        if left >= table.shape[1] - 1:
            mu[i], drying_rise[i], wetting_rise[i] = moisture[i], 1.0, 1.0
            continue
        inside = (moisture[i] - memory[i]) * steep
        low, rise = _branch(table, row, warm, left, place - left, 1)
        low *= factor
        mu[i], drying_rise[i], wetting_rise[i] = inside, steep, steep
        if inside <= low + ON_BRANCH:
            mu[i], drying_rise[i] = max(inside, low), rise * per_column
            if inside < low - ON_BRANCH:
                wetting_rise[i] = drying_rise[i]
            continue
        high, rise = _branch(table, row, warm, left, place - left, 2)
        high *= factor
        if inside >= high - ON_BRANCH:
            mu[i], wetting_rise[i] = min(inside, high), rise * per_column
            if inside > high + ON_BRANCH:
                drying_rise[i] = wetting_rise[i]


@inlined
def _look(
    layers: Layers, curves: Curves, each: Each, sample: int, room: _Room,
    moisture: Floats, memory: Floats, drive: _Drive,
) -> None:  # fmt: skip
    """What drives every layer in the room's air; the moisture itself without hysteresis."""
    if layers.remembers:
        between = 0.5 * (room.top + room.bottom)
        _drive(
            curves, between, each.sorption[sample], each.loop[sample], moisture, memory, drive
        )  # fmt: skip
    else:
        for i in range(moisture.size):
            drive.mu[i] = moisture[i]


@inlined
def _conduct(layers: Layers, mu: Floats, theta: Floats, rise: Floats) -> None:
    """Theta [% M] of every layer and its rise with mu: exp(b (mu - 10)), 0 well above saturation.

    The rise fades out from `FADE` below fibre saturation, so that Theta far above is that of fibre
    saturation: a sharp corner would let a layer that hovers there switch its conduction on and off
    from step to step.
    """
    slope, saturation = layers.slope, layers.saturation - FADE
    driest = math.exp(slope * (DRIEST_MOISTURE - REFERENCE_MOISTURE))
    inverse = 1.0 / max(slope, FLAT_SLOPE)
    level = 0.0
    if slope < FLAT_SLOPE:
        slope, inverse, level = 0.0, 0.0, 1.0
    # The exponential of a sixteenth by its series, then squared four times: to 1e-8 up to e^4, and
    # several layers at once, which the library's is not.
    sixteenth = slope / 16.0
    for i in range(mu.size):
        bound = min(mu[i], saturation)
        above = max(bound - DRIEST_MOISTURE, 0.0)
        x = sixteenth * above
        grown = 1.0 + x * (
            1.0 + x * (1 / 2 + x * (1 / 6 + x * (1 / 24 + x * (1 / 120 + x * (1 / 720)))))
        )
        grown *= grown
        grown *= grown
        grown *= grown
        grown *= grown
        rise[i] = driest * grown
        # With no slope the integral is the moisture itself.
        integral = (grown - 1.0) * inverse + level * above
        theta[i] = driest * (integral + min(bound, DRIEST_MOISTURE))
    for i in range(mu.size):
        if mu[i] > saturation:
            fading = math.exp((saturation - mu[i]) / FADE)
            theta[i] += rise[i] * FADE * (1.0 - fading)
            rise[i] *= fading


@inlined
def _through(
    layers: Layers,
    curves: Curves,
    admittance: float,
    factor: float,
    moisture: float,
    mu: float,
    wet: bool,
    temperature: float,
    pressure: float,
    saturated: float,
) -> tuple[float, float]:
    """Water that a face lets in [% M m/s] and how much less per % M of mu (of M where wet).

    A wet face is brought to fibre saturation through a conductance in moisture itself; from a
    surface that is wetter still it takes nothing.
    """
    if wet:
        gap = layers.saturation - moisture
        stiff = admittance * WET_PRESSURE
        return (stiff * gap, stiff) if gap > 0.0 else (0.0, 0.0)
    humidity, rise = _humidity(curves, temperature, mu, factor)
    return admittance * (pressure - saturated * humidity), admittance * saturated * rise


@inlined
def _around(
    layers: Layers, curves: Curves, each: Each, sample: int, room: _Room,
    mu_top: float, mu_bottom: float,
) -> tuple[float, float]:  # fmt: skip
    """Vapour pressure around a load [Pa] and its rise with what the wood gives; else the room's."""
    if not layers.load.shared:
        return room.pressure, 0.0
    top, bottom = each.admittance[sample, 0], each.admittance[sample, 1]
    factor = each.sorption[sample]
    over_top, _ = _humidity(curves, room.top, mu_top, factor)
    over_bottom, _ = _humidity(curves, room.bottom, mu_bottom, factor)
    given = top * room.saturated_top * over_top + bottom * room.saturated_bottom * over_bottom
    return balanced(
        layers.load, room.warm, room.saturated, room.pressure, room.low, room.high,
        top + bottom, given,
    )  # fmt: skip


class _Drive(NamedTuple):
    """What drives every layer [%], and its rise per % M while the layer dries and while it wets."""

    mu: Floats
    drying: Floats
    wetting: Floats


class _Work(NamedTuple):
    """Arrays to work in, a number a layer.

    Around a load what one face gives reaches the other: a part of rank one of the Jacobian.  `tie`
    holds what the air rises by per % M of the first and the last layer, as last looked at and as
    factored, and the gain of the Sherman-Morrison formula; `across` its column, solved.
    """

    here: _Drive  # at the beginning of a step
    stage: _Drive
    theta: Floats
    rise: Floats
    change: Floats
    lower: Floats
    middle: Floats
    upper: Floats
    across: Floats
    tie: Floats


@inlined
def _rates(
    layers: Layers,
    curves: Curves,
    each: Each,
    sample: int,
    room: _Room,
    diffusion: float,
    moisture: Floats,
    drive: _Drive,
    work: _Work,
) -> tuple[float, float, float, float]:
    """Rate of change of every layer [% M/s] into `work.change`, with `work.rise` = dTheta/dM.

    Told are the inflow at both faces [% M m/s] and how much less of it comes per % M there.
    """
    last = moisture.size - 1
    factor = each.sorption[sample]
    _conduct(layers, drive.mu, work.theta, work.rise)
    pressure, eases = _around(
        layers, curves, each, sample, room, drive.mu[0], drive.mu[last]
    )  # fmt: skip
    top, top_rise = _through(
        layers, curves, each.admittance[sample, 0], factor, moisture[0], drive.mu[0],
        layers.wet_top, room.top, pressure, room.saturated_top,
    )  # fmt: skip
    bottom, bottom_rise = _through(
        layers, curves, each.admittance[sample, 1], factor, moisture[last], drive.mu[last],
        layers.wet_bottom, room.bottom, pressure, room.saturated_bottom,
    )  # fmt: skip
    inward = top
    for i in range(last):
        onward = diffusion * layers.inverse_gap[i] * (work.theta[i] - work.theta[i + 1])
        work.change[i] = (inward - onward) * layers.inverse_volume[i]
        inward = onward
    work.change[last] = (inward + bottom) * layers.inverse_volume[last]
    if layers.remembers:
        for i in range(last + 1):
            turn = drive.wetting[i] if work.change[i] > 0.0 else drive.drying[i]
            work.rise[i] *= turn
            if i == 0 and not layers.wet_top:
                top_rise *= turn
            if i == last and not layers.wet_bottom:
                bottom_rise *= turn
    work.tie[0], work.tie[1] = eases * top_rise, eases * bottom_rise
    return top, bottom, top_rise, bottom_rise


@inlined
def _factor(
    layers: Layers, each: Each, sample: int, diffusion: float, scale: float,
    top_rise: float, bottom_rise: float, work: _Work,
) -> None:  # fmt: skip
    """Factors of I - scale J in `work`.

    What of the layer above is taken off (`lower`), the inverse of what is left on the diagonal
    (`middle`), and what of the layer below goes with it (`upper`).
    """
    last = work.rise.size - 1
    spread = scale * diffusion
    before = coupling = 0.0
    for i in range(last + 1):
        rise = spread * work.rise[i]
        diagonal = 1.0 - coupling * before
        if i > 0:
            diagonal += rise * layers.lower[i - 1]
        else:
            diagonal += scale * top_rise * layers.inverse_volume[0]
        if i < last:
            diagonal += rise * layers.upper[i]
            below = -spread * work.rise[i + 1] * layers.upper[i]
            coupling = -rise * layers.lower[i] * below
        else:
            below = 0.0
            diagonal += scale * bottom_rise * layers.inverse_volume[last]
        before = 1.0 / diagonal
        work.middle[i] = before
        work.upper[i] = below * before
        if i < last:
            work.lower[i] = -rise * layers.lower[i] * before
    if layers.load.shared:
        work.tie[2], work.tie[3] = work.tie[0], work.tie[1]
        for i in range(last + 1):
            work.across[i] = 0.0
        work.across[0] = each.admittance[sample, 0] * layers.inverse_volume[0]
        work.across[last] = each.admittance[sample, 1] * layers.inverse_volume[last]
        _alone(work, work.across)
        work.tie[4] = scale / (1.0 - scale * _felt(work, work.across))


@inlined
def _felt(work: _Work, change: Floats) -> float:
    """What the air around a load rises by as its faces change, as factored [Pa]."""
    felt: float = work.tie[2] * change[0] + work.tie[3] * change[change.size - 1]
    return felt


@inlined
def _solve(layers: Layers, work: _Work, right: Floats) -> None:
    """Solve for a right side, in place."""
    _alone(work, right)
    if layers.load.shared:
        more = work.tie[4] * _felt(work, right)
        for i in range(right.size):
            right[i] += more * work.across[i]


@inlined
def _alone(work: _Work, right: Floats) -> None:
    """Solve for a right side as if no face felt the other, in place."""
    last = right.size - 1
    for i in range(1, last + 1):
        right[i] -= work.lower[i - 1] * right[i - 1]
    right[last] *= work.middle[last]
    for i in range(last - 1, -1, -1):
        right[i] = right[i] * work.middle[i] - work.upper[i] * right[i + 1]


@inlined
def _linearised(
    layers: Layers, curves: Curves, each: Each, sample: int, here: _Room, there: _Room,
    cold: float, hot: float, seconds: float, state: Floats, memory: Floats,
    first: Floats, second: Floats, work: _Work,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Both increments of a Rosenbrock step, and what came through each face in each [% M m]."""
    last = state.size - 1
    scale = GAMMA * seconds
    top, bottom, top_rise, bottom_rise = _rates(
        layers, curves, each, sample, here, cold, state, work.here, work
    )
    # The air changes during the step: its part of the time derivative, at the faces, which follow
    # the air so closely that without it the scheme would be of first order there.
    drift_top = drift_bottom = 0.0
    factor = each.sorption[sample]
    pressure, _ = _around(
        layers, curves, each, sample, there, work.here.mu[0], work.here.mu[last]
    )  # fmt: skip
    if not layers.wet_top:
        later, _ = _through(
            layers, curves, each.admittance[sample, 0], factor, state[0], work.here.mu[0], False,
            there.top, pressure, there.saturated_top,
        )  # fmt: skip
        drift_top = GAMMA * (later - top)
    if not layers.wet_bottom:
        later, _ = _through(
            layers, curves, each.admittance[sample, 1], factor, state[last], work.here.mu[last],
            False, there.bottom, pressure, there.saturated_bottom,
        )  # fmt: skip
        drift_bottom = GAMMA * (later - bottom)
    _factor(layers, each, sample, cold, scale, top_rise, bottom_rise, work)
    for i in range(last + 1):
        first[i] = seconds * work.change[i]
    first[0] += seconds * drift_top * layers.inverse_volume[0]
    first[last] += seconds * drift_bottom * layers.inverse_volume[last]
    _solve(layers, work, first)
    for i in range(last + 1):
        second[i] = state[i] + first[i]
    _look(layers, curves, each, sample, there, second, memory, work.stage)
    top_there, bottom_there, _, _ = _rates(
        layers, curves, each, sample, there, hot, second, work.stage, work
    )
    for i in range(last + 1):
        second[i] = seconds * work.change[i] - 2.0 * first[i]
    second[0] -= seconds * drift_top * layers.inverse_volume[0]
    second[last] -= seconds * drift_bottom * layers.inverse_volume[last]
    _solve(layers, work, second)
    # What the linear systems say came through the faces: flux at the stage plus its Jacobian part.
    top_first = seconds * (top + drift_top) - scale * top_rise * first[0]
    bottom_first = seconds * (bottom + drift_bottom) - scale * bottom_rise * first[last]
    if layers.load.shared:
        felt = scale * _felt(work, first)
        top_first += felt * each.admittance[sample, 0]
        bottom_first += felt * each.admittance[sample, 1]
    top_second = seconds * (top_there - drift_top) - 2.0 * top_first - scale * top_rise * second[0]
    bottom_second = (
        seconds * (bottom_there - drift_bottom)
        - 2.0 * bottom_first
        - scale * bottom_rise * second[last]
    )
    if layers.load.shared:
        felt = scale * _felt(work, second)
        top_second += felt * each.admittance[sample, 0]
        bottom_second += felt * each.admittance[sample, 1]
    return top_first, bottom_first, top_second, bottom_second


@inlined
def _stage(
    layers: Layers, curves: Curves, each: Each, sample: int, room: _Room, diffusion: float,
    scale: float, base: Floats, memory: Floats, moisture: Floats, step: Floats, work: _Work,
) -> tuple[bool, float, float]:  # fmt: skip
    """Solve M = base + scale rate(M) by Newton from the M given; whether, and scale times inflow.

    Each iterate keeps the balance of water exactly.
    """
    last = base.size - 1
    for _ in range(MOST_ITERATIONS):
        _look(layers, curves, each, sample, room, moisture, memory, work.stage)
        top, bottom, top_rise, bottom_rise = _rates(
            layers, curves, each, sample, room, diffusion, moisture, work.stage, work
        )
        _factor(layers, each, sample, diffusion, scale, top_rise, bottom_rise, work)
        for i in range(last + 1):
            step[i] = base[i] + scale * work.change[i] - moisture[i]
        _solve(layers, work, step)
        largest = 0.0
        for i in range(last + 1):
            moisture[i] += step[i]
            largest = max(largest, abs(step[i]))
        if largest < SOLVED:
            felt = _felt(work, step) if layers.load.shared else 0.0
            return (
                True,
                scale * (top - top_rise * step[0] + felt * each.admittance[sample, 0]),
                scale * (bottom - bottom_rise * step[last] + felt * each.admittance[sample, 1]),
            )
    return False, 0.0, 0.0


@inlined
def _iterated(
    layers: Layers, curves: Curves, each: Each, sample: int, between: _Room, there: _Room,
    cold: float, hot: float, seconds: float, state: Floats, memory: Floats,
    first: Floats, second: Floats, step: Floats, work: _Work,
) -> tuple[bool, float, float, float, float]:  # fmt: skip
    """Both increments of an implicit step: the step at the rate of its first and second stage."""
    scale = GAMMA * seconds
    for i in range(state.size):
        first[i] = state[i]
    solved, top_first, bottom_first = _stage(
        layers, curves, each, sample, between, cold, scale, state, memory, first, step, work
    )
    if not solved:
        return False, 0.0, 0.0, 0.0, 0.0
    base = np.empty_like(state)
    for i in range(state.size):
        first[i] = (first[i] - state[i]) / GAMMA
        base[i] = state[i] + (1.0 - GAMMA) * first[i]
        second[i] = state[i] + first[i]
    solved, top_second, bottom_second = _stage(
        layers, curves, each, sample, there, hot, scale, base, memory, second, step, work
    )
    if not solved:
        return False, 0.0, 0.0, 0.0, 0.0
    for i in range(state.size):
        second[i] = (second[i] - base[i]) / GAMMA
    inverse = 1.0 / GAMMA
    return (
        True, inverse * top_first, inverse * bottom_first,
        inverse * top_second, inverse * bottom_second,
    )  # fmt: skip


@inlined
def _size_of_error(
    layers: Layers, iterated: bool, state: Floats, first: Floats, second: Floats
) -> float:
    """Difference of a step's second- and first-order results [% M]: see `transport.run`.

    Free water counts in the mean alone: where a layer stands between 70 and 30 % moves nothing.
    """
    square = whole = 0.0
    for i in range(state.size):
        if iterated:
            difference = (1.0 - GAMMA) * (first[i] - second[i])
            end = state[i] + (1.0 - GAMMA) * first[i] + GAMMA * second[i]
            bound = min(end, layers.saturation) - min(end - difference, layers.saturation)
        else:
            difference = 0.5 * (first[i] + second[i])
            bound = difference
        square += layers.weight[i] * bound * bound
        whole += layers.weight[i] * difference
    return max(math.sqrt(square), 5.0 * abs(whole))


@inlined
def _shares(iterated: bool, share: float) -> tuple[float, float]:
    """Shares of both increments in the state a share of the step on; at its end the step itself."""
    if iterated:
        second = (0.5 * share * share - GAMMA * share) / (1.0 - GAMMA)
        return share - second, second
    second = (0.5 * share * share - GAMMA * share) / (1.0 - 2.0 * GAMMA)
    return share + second, second


@inlined
def _tell(
    watch: Watch, told: Told, row: int, sample: int, state: Floats, weight: Floats,
    top: float, bottom: float,
) -> None:  # fmt: skip
    """Write down what is asked of a state."""
    mean = 0.0
    for i in range(state.size):
        mean += weight[i] * state[i]
    told.mean[row, sample] = mean
    told.gained[row, sample, 0] = top
    told.gained[row, sample, 1] = bottom
    if sample < watch.layers:
        for i in range(state.size):
            told.moisture[row, sample, i] = state[i]
    for k in range(watch.weights.shape[1]):
        total = 0.0
        for i in range(state.size):
            total += watch.weights[sample, k, i] * min(state[i], watch.cap)
        told.sums[row, sample, k] = total


@inlined
def _remember(each: Each, sample: int, state: Floats, memory: Floats, drive: _Drive) -> None:
    """What every layer remembers after a step."""
    for i in range(state.size):
        memory[i] = state[i] - each.loop[sample] * drive.mu[i]


@inlined
def _arrhenius(layers: Layers, room: _Room) -> float:
    kelvin = 0.5 * (room.top + room.bottom) + 273.15
    return math.exp(-layers.activation * (1.0 / kelvin - layers.reference))


@compiled
def _follow(
    layers: Layers, curves: Curves, each: Each, sample: int, weather: Weather, span: Span,
    watch: Watch, state: Floats, memory: Floats, told: Told,
) -> bool:  # fmt: skip
    """Follow one sample, in place; whether it came to the end in as many steps as are allowed."""
    nodes = state.size
    work = _Work(
        _Drive(np.empty(nodes), np.empty(nodes), np.empty(nodes)),
        _Drive(np.empty(nodes), np.empty(nodes), np.empty(nodes)),
        np.empty(nodes), np.empty(nodes), np.empty(nodes),
        np.empty(nodes), np.empty(nodes), np.empty(nodes),
        np.empty(nodes), np.zeros(5),
    )  # fmt: skip
    first, second, step = np.empty(nodes), np.empty(nodes), np.empty(nodes)
    thickness, tolerance = layers.thickness, each.tolerance[sample]
    top_gained = bottom_gained = 0.0
    day, length = span.start, min(span.first_step, span.end - span.start)
    here = _air(weather, curves, each.offset[sample], day)
    cold = each.diffusion[sample] * _arrhenius(layers, here)
    _look(layers, curves, each, sample, here, state, memory, work.here)
    if layers.remembers:
        _remember(each, sample, state, memory, work.here)
    row = 0
    steps = rejected = 0
    while day < span.end:
        if steps + rejected >= span.most_steps:
            told.steps[sample], told.rejected[sample] = steps, rejected
            return False
        left = span.end - day
        # Stretch or halve the last steps so that no sliver is left before the end.
        if length >= left * 0.999:
            length = left
        elif 2.0 * length > left:
            length = 0.5 * left
        landing = span.end if length == left else day + length
        seconds = length * DAY
        there = _air(weather, curves, each.offset[sample], landing)
        hot = each.diffusion[sample] * _arrhenius(layers, there)
        wettest = 0.0
        for i in range(nodes):
            wettest = max(wettest, state[i])
        iterated = wettest > layers.saturation - SOAKED
        if iterated:
            between = _air(weather, curves, each.offset[sample], day + GAMMA * length)
            middle = each.diffusion[sample] * _arrhenius(layers, between)
            solved, top_first, bottom_first, top_second, bottom_second = _iterated(
                layers, curves, each, sample, between, there, middle, hot, seconds,
                state, memory, first, second, step, work,
            )  # fmt: skip
        else:
            solved = True
            top_first, bottom_first, top_second, bottom_second = _linearised(
                layers, curves, each, sample, here, there, cold, hot, seconds,
                state, memory, first, second, work,
            )  # fmt: skip
        error = math.inf
        if solved:
            error = _size_of_error(layers, iterated, state, first, second)
        if not solved or (not error <= 2.0 * tolerance and length > SHORTEST_STEP):
            rejected += 1
            shorter = 0.1
            if error < math.inf:
                shorter = max(0.1, 0.8 * math.sqrt(tolerance / error))
            length *= shorter
            continue
        while row < watch.days.size and watch.days[row] <= landing:
            one, two = _shares(iterated, (watch.days[row] - day) / length)
            for i in range(nodes):
                step[i] = state[i] + one * first[i] + two * second[i]
            _tell(
                watch, told, row, sample, step, layers.weight,
                top_gained + (one * top_first + two * top_second) / thickness,
                bottom_gained + (one * bottom_first + two * bottom_second) / thickness,
            )  # fmt: skip
            row += 1
        one, two = _shares(iterated, 1.0)
        for i in range(nodes):
            state[i] += one * first[i] + two * second[i]
        top_gained += (one * top_first + two * top_second) / thickness
        bottom_gained += (one * bottom_first + two * bottom_second) / thickness
        _look(layers, curves, each, sample, there, state, memory, work.here)
        if layers.remembers:
            _remember(each, sample, state, memory, work.here)
        day, here, cold = landing, there, hot
        steps += 1
        growth = 0.9 * math.sqrt(tolerance / max(error, 1e-12))
        length = min(each.longest_step[sample], length * min(5.0, max(0.2, growth)))
    told.steps[sample], told.rejected[sample] = steps, rejected
    return True


@compiled
def follow(
    layers: Layers, curves: Curves, each: Each, weather: Weather, span: Span, watch: Watch,
    state: Floats, memory: Floats, told: Told, begin: int, budget: int,
) -> int:  # fmt: skip
    """Follow samples from number `begin` on, in place, until about `budget` steps are taken.

    Parameters
    ----------
    state, memory : ndarray (samples, nodes)
        Moisture [%] and c [%]; at the end those at the end.

    Returns
    -------
    int
        The next sample to follow; -1 less it where a sample took too many steps.
    """
    used = 0
    for sample in range(begin, state.shape[0]):
        if not _follow(
            layers, curves, each, sample, weather, span, watch, state[sample], memory[sample], told
        ):
            return -1 - sample
        used += told.steps[sample] + told.rejected[sample]
        if used >= budget:
            return sample + 1
    return int(state.shape[0])
