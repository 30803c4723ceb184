"""What a moisture meter, a scale or an oven says about a slab, and how far it can be trusted.

Pin meters are corrected for the wood's temperature and species in the published form of Pfaff and
Garrahan, resistances are read on a Douglas-fir table, surface meters are scaled by density, and
weights follow the oven-dry definition.  Readings at depths give a profile with its error; readings
in the end grain or at an edge speak of that zone only and are kept apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.basis import Note, table
from model.behaviour.transport import ALONG_TO_ACROSS, DAY
from model.spread import TO_DECILE, Figure

Floats = NDArray[np.float64]
Place = Literal["top", "bottom", "edge", "end"]
Kind = Literal["pin", "surface", "oven_dry", "sample_board"]
Range = Literal["within", "below", "above"]

INCH: Final = 0.0254  # m, for figures within sentences
METER_RANGE: Final = (6.0, 30.0)  # % M; conductance meters (Wood Handbook FPL-GTR-190, printed)
SURFACE_RANGE: Final = (4.0, 30.0)  # % M; dielectric meters (Wood Handbook FPL-GTR-190, printed)
TABLE_TEMPERATURE: Final = 27.0  # degC; of the resistance table (James 1988, memory)
USUAL_TEMPERATURE: Final = 20.0  # degC; assumed when the wood's temperature is not told (judgement)
WOOD_TEMPERATURE: Final = (-20.0, 60.0)  # degC; range of the correction here (judgement)
MEAN_DEPTH: Final = 0.5 * (1.0 - 1.0 / np.sqrt(3.0))  # of the thickness: 0.2113 (derived)
END_DISTANCE: Final = 0.3  # m; EN 13183-2 (memory)

# Standard deviations of a reading, in % M.  "Within 1 % of the true mean" is printed (Wood Handbook
# FPL-GTR-190) for a meter in good use; how it splits into scatter and bias is judgement.
PIN_SCATTER: Final = 0.04  # of the reading, at least 0.3 (judgement)
PIN_BIAS: Final = 0.05  # of the reading, at least 0.5 (judgement)
SPECIES_BIAS: Final = 0.10  # of the reading, when no constants of the wood are given (judgement)
TEMPERATURE_BIAS: Final = 0.5  # % M; 5 K unknown at 0.1 % M per K (judgement)
SURFACE_SCATTER: Final = 0.08  # of the reading, at least 0.5 (judgement)
SURFACE_BIAS: Final = 0.15  # of the reading, at least 1; density varies by 10 % alone (judgement)
OVEN_SCATTER: Final = 0.1  # % M; a piece not quite at constant mass (judgement)
SECTION_BIAS: Final = 0.5  # % M; a section is not the whole board (judgement)
LEFT_OUT: Final = 0.2  # of the readings, at most, are left out for contradicting the others
FEWEST: Final = 4  # readings of which one can be told to be the wrong one (judgement)
REPEATS: Final = 4  # fits, each with the errors its forerunner expects; 3 settle to 0.01 % M

# Prior of the profile's shape, in % M: tilt from face to face and shell against core (judgement).
TILT_PRIOR: Final = 1.5
BOW_PRIOR: Final = 3.0
CONTRADICTION: Final = 3.0  # standard deviations a reading may stand from all others (judgement)


@dataclass(frozen=True, slots=True)
class Pin:
    """A conductance (pin) reading.

    `value` [%] as shown, or `resistance` [ohm]; `depth` [m] of the uninsulated tips below the
    `place`; `temperature` [degC] of the wood; `compensated` when the meter has already corrected
    for it; `species_set` when the meter was set to this wood; `a`, `b` the wood's constants on the
    Douglas-fir scale; `intercept`, `rate` the wood's own line
    log10(log10 R_MOhm + 1) = intercept + rate M.
    """

    value: float | None = None
    resistance: float | None = None
    depth: float | None = None
    place: Place = "top"
    temperature: float | None = None
    compensated: bool = False
    species_set: bool = False
    a: float | None = None
    b: float | None = None
    intercept: float | None = None
    rate: float | None = None


@dataclass(frozen=True, slots=True)
class Surface:
    """A dielectric (surface) reading: `value` [%], how deep it sees [m], and its density setting.

    `scale_specific_gravity` is what the meter was set to; None means it was set to this wood.
    """

    value: float
    depth: float
    place: Place = "top"
    scale_specific_gravity: float | None = None


@dataclass(frozen=True, slots=True)
class OvenDry:
    """A piece weighed wet and oven-dry [kg].

    It was taken from `depth_from` to `depth_to` [m] under the top face.  Both depths None: the
    piece spans the whole thickness.
    """

    wet: float
    dry: float
    resolution: float = 0.0
    depth_from: float | None = None
    depth_to: float | None = None


@dataclass(frozen=True, slots=True)
class SampleBoard:
    """A board weighed now [kg], its weight at the start, and the moisture of a section then [%]."""

    weight: float
    start_weight: float
    section_moisture: float
    section_error: float = SECTION_BIAS


Reading = Pin | Surface | OvenDry | SampleBoard


@dataclass(frozen=True, slots=True)
class Corrected:
    """One reading as moisture content.

    Attributes
    ----------
    moisture : float or None
        [%]; None when the instrument was outside its range.
    scatter, bias : float
        Standard deviations [%]: of this reading alone, and shared by all readings of its kind.
    kind, place, range : str
        `range` is `within`, `below` or `above`.
    depth_from, depth_to : float
        What it looked at [m below the top face]; for `edge` and `end`, below that surface.
    notes : tuple of Note
        What was assumed.
    """

    moisture: float | None
    scatter: float
    bias: float
    kind: Kind
    place: Place
    range: Range
    depth_from: float
    depth_to: float
    notes: tuple[Note, ...] = ()

    @property
    def error(self) -> float:
        """Standard deviation of the reading as a whole [%]."""
        return float(np.hypot(self.scatter, self.bias))


@dataclass(frozen=True, slots=True)
class Profile:
    """Moisture through the thickness as the readings tell it.

    `mean`, the two shells, `core`, `gradient` (core less shells) and `tilt` (top less bottom) are
    Figures [%]; `depth` [m] and `moisture` the curve.  `gradient_known` and `tilt_known` tell what
    share of the prior doubt the readings removed (0 nothing, 1 all).  `contradicting` are the
    indexes of readings more than three standard deviations from what all others say; those of
    them in `left_out` have no say in the profile.
    """

    mean: Figure
    top: Figure
    core: Figure
    bottom: Figure
    gradient: Figure
    tilt: Figure
    depth: Floats
    moisture: Floats
    error: Floats
    gradient_known: float
    tilt_known: float
    contradicting: tuple[int, ...]
    left_out: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class EndGrain:
    """Readings of the ends and edges: their moisture [%], and how deep that zone reaches [m]."""

    moisture: float
    error: float
    zone: float
    below_slab: float | None
    message: str


@dataclass(frozen=True, slots=True)
class Next:
    """Where to put the pins next: depth under a face [m], distance from the ends [m], and why."""

    depth: float
    place: Place
    from_end: float
    reason: str


@dataclass(frozen=True, slots=True)
class Answer:
    """All readings corrected, the profile (None when there is too little), the ends, what next."""

    corrected: tuple[Corrected, ...]
    profile: Profile | None
    ends: EndGrain | None
    following: tuple[Next, ...]
    notes: tuple[Note, ...]


def pin_moisture(
    value: ArrayLike, temperature: ArrayLike, a: ArrayLike = 1.0, b: ArrayLike = 0.0
) -> Floats:
    """Moisture content of a pin reading on a Douglas-fir scale, corrected for temperature and wood.

    Parameters
    ----------
    value : array_like
        Meter reading [%].
    temperature : array_like
        Temperature of the wood [degC].
    a, b : array_like
        Constants of the wood; 1 and 0 leave it on the Douglas-fir scale.

    Returns
    -------
    ndarray
        Moisture content [%].

    References
    ----------
    Pfaff & Garrahan 1986, Forest Products Journal 36(3) (memory, medium).

    Examples
    --------
    >>> round(float(pin_moisture(12.0, 0.0)), 2)
    14.26
    """
    t = np.asarray(temperature, dtype=np.float64)
    above = np.asarray(value, dtype=np.float64) + 0.567 - 0.0260 * t + 0.000051 * t**2
    result: Floats = (above / (0.881 * 1.0056**t) - np.asarray(b)) / np.asarray(a)
    return result


@cache
def _resistance_table() -> tuple[Floats, Floats]:
    """Moisture [%] and log10(log10 R_MOhm + 1) of the Douglas-fir table, driest first."""
    rows = table("meter_resistance.csv")
    moisture = np.array([float(row["moisture_pct"]) for row in rows])
    resistance = np.array([float(row["resistance_megohm"]) for row in rows])
    return moisture, np.log10(np.log10(resistance) + 1.0)


def resistance_moisture(
    resistance: float, intercept: float | None = None, rate: float | None = None
) -> float:
    """Moisture content [%] of a resistance [ohm] at 27 degC.

    Without constants the Douglas-fir table is used, straight in log10(log10 R_MOhm + 1) between its
    points and beyond them (7 to 20 %) on its fitted slope of -0.0459 per %; with `intercept` and
    `rate` the wood's own line.  A resistance too small for the form (0.1 MOhm) gives infinity.

    References
    ----------
    James 1988 (memory) for the table; Samuelsson's form (memory) for the line.

    Examples
    --------
    >>> round(resistance_moisture(120e6), 6)
    12.0
    """
    megohm = resistance / 1e6
    if megohm <= 0.1:
        return float("inf")
    y = float(np.log10(np.log10(megohm) + 1.0))
    if intercept is not None and rate is not None:
        return (y - intercept) / rate
    moisture, curve = _resistance_table()
    slope = float(np.polyfit(moisture, curve, 1)[0])
    if y > curve[0]:
        return float(moisture[0] + (y - curve[0]) / slope)
    if y < curve[-1]:
        return float(moisture[-1] + (y - curve[-1]) / slope)
    return float(np.interp(-y, -curve, moisture))


def oven_dry_moisture(wet: ArrayLike, dry: ArrayLike) -> Floats:
    """Moisture content [%] from a mass before and after drying at 103 +/- 2 degC to constant mass.

    References
    ----------
    ASTM D4442, EN 13183-1 (definition).

    Examples
    --------
    >>> round(float(oven_dry_moisture(112.0, 100.0)), 9)
    12.0
    """
    result: Floats = 100.0 * (np.asarray(wet, dtype=np.float64) / np.asarray(dry) - 1.0)
    return result


def board_dry_weight(weight: ArrayLike, section_moisture: ArrayLike) -> Floats:
    """Oven-dry weight [kg] of a board from its weight and the moisture of a section of it [%].

    References
    ----------
    Kiln sample-board method, Dry Kiln Operator's Manual AH-188 (memory).

    Examples
    --------
    >>> round(float(board_dry_weight(5.6, 12.0)), 9)
    5.0
    """
    result: Floats = np.asarray(weight, dtype=np.float64) / (
        1.0 + np.asarray(section_moisture) / 100.0
    )
    return result


def surface_moisture(value: ArrayLike, scale: ArrayLike, specific_gravity: ArrayLike) -> Floats:
    """Moisture content [%] of a dielectric reading taken at a density setting not the wood's.

    The reading follows the mass of water per volume, so it scales with setting over density
    (practice; low confidence).
    """
    result: Floats = np.asarray(value, dtype=np.float64) * np.asarray(scale) / specific_gravity
    return result


def end_zone(diffusivity: float, days: float) -> float:
    """How far the ends have dried into a slab [m]: 2 sqrt(D_L time), D_L = 13 D(10 %).

    `diffusivity` is the one across the grain at 10 % [m2/s].
    """
    return float(2.0 * np.sqrt(ALONG_TO_ACROSS * diffusivity * days * DAY))


def _range(moisture: float, limits: tuple[float, float]) -> Range:
    if moisture < limits[0]:
        return "below"
    return "above" if moisture > limits[1] else "within"


def _span(place: Place, shallow: float, deep: float, thickness: float) -> tuple[float, float]:
    """Depths below the top face of a reading that looked from `shallow` to `deep` under `place`."""
    if place == "bottom":
        return thickness - deep, thickness - shallow
    return shallow, deep


def _pin(reading: Pin, thickness: float, is_reference_wood: bool) -> Corrected:
    notes: list[Note] = []
    temperature = reading.temperature
    bias = PIN_BIAS
    extra = 0.0
    if temperature is None and not reading.compensated:
        temperature, extra = USUAL_TEMPERATURE, TEMPERATURE_BIAS
        notes.append(_note("temperature-assumed"))
    own_line = reading.intercept is not None and reading.rate is not None
    own_constants = reading.a is not None or reading.b is not None
    if not (own_line or own_constants or reading.species_set or is_reference_wood):
        bias = float(np.hypot(PIN_BIAS, SPECIES_BIAS))
        notes.append(_note("species-uncorrected"))
    a = 1.0 if reading.a is None else reading.a
    b = 0.0 if reading.b is None else reading.b
    if reading.resistance is not None:
        shown = resistance_moisture(reading.resistance, reading.intercept, reading.rate)
        # The table holds at 27 degC; only the shift from there is taken from the correction.
        shift = 0.0
        if temperature is not None and np.isfinite(shown):
            shift = float(pin_moisture(shown, temperature) - pin_moisture(shown, TABLE_TEMPERATURE))
        moisture = (shown + shift - b) / a
        if not own_line and not 7.0 <= shown <= 20.0:
            extra = float(np.hypot(extra, 0.5))
            notes.append(_note("resistance-extrapolated"))
    else:
        assert reading.value is not None
        shown = reading.value
        moisture = (shown - b) / a
        if not reading.compensated and temperature is not None:
            moisture = float(pin_moisture(shown, temperature, a, b))
    where = _range(shown, METER_RANGE)
    scale = moisture if np.isfinite(moisture) else METER_RANGE[1]
    depth = thickness * MEAN_DEPTH if reading.depth is None else reading.depth
    if reading.depth is None:
        notes.append(_note("depth-assumed"))
    span = _span(reading.place, depth, depth, thickness)
    return Corrected(
        moisture if where == "within" else None,
        max(0.3, PIN_SCATTER * scale),
        float(np.hypot(max(0.5, bias * scale), extra)),
        "pin",
        reading.place,
        where,
        *span,
        tuple(notes),
    )


def _surface(reading: Surface, thickness: float, specific_gravity: float) -> Corrected:
    scale = reading.scale_specific_gravity
    moisture = reading.value
    if scale is not None:
        moisture = float(surface_moisture(reading.value, scale, specific_gravity))
    where = _range(reading.value, SURFACE_RANGE)
    return Corrected(
        moisture if where == "within" else None,
        max(0.5, SURFACE_SCATTER * moisture),
        max(1.0, SURFACE_BIAS * moisture),
        "surface",
        reading.place,
        where,
        *_span(reading.place, 0.0, reading.depth, thickness),
        (_note("surface-meter"),),
    )


def _oven_dry(reading: OvenDry, thickness: float) -> Corrected:
    moisture = float(oven_dry_moisture(reading.wet, reading.dry))
    # A scale's last digit is uniform over its step: standard deviation step / sqrt(12).
    step = reading.resolution / np.sqrt(12.0)
    weighing = 100.0 * step / reading.dry * np.hypot(1.0, reading.wet / reading.dry)
    shallow = 0.0 if reading.depth_from is None else reading.depth_from
    deep = thickness if reading.depth_to is None else reading.depth_to
    scatter = float(np.hypot(OVEN_SCATTER, weighing))
    bias = SECTION_BIAS
    if reading.depth_from is None and reading.depth_to is None:
        # Every whole piece is a section of its own; slices share the one they were split from.
        scatter, bias = float(np.hypot(scatter, SECTION_BIAS)), 0.0
    return Corrected(moisture, scatter, bias, "oven_dry", "top", "within", shallow, deep)


def _sample_board(reading: SampleBoard, thickness: float) -> Corrected:
    dry = float(board_dry_weight(reading.start_weight, reading.section_moisture))
    moisture = float(oven_dry_moisture(reading.weight, dry))
    # One per cent wrong in the dry weight is one per cent of (100 + M).
    bias = (100.0 + moisture) * reading.section_error / (100.0 + reading.section_moisture)
    return Corrected(moisture, OVEN_SCATTER, bias, "sample_board", "top", "within", 0.0, thickness)


def correct(
    reading: Reading, thickness: float, specific_gravity: float, is_reference_wood: bool = False
) -> Corrected:
    """One reading as a moisture content with its error.

    Parameters
    ----------
    reading : Pin, Surface, OvenDry or SampleBoard
        What was measured.
    thickness : float
        Of the slab [m].
    specific_gravity : float
        Of the wood at 12 % [-].
    is_reference_wood : bool
        The wood is Douglas-fir, whose scale the meters carry.

    Raises
    ------
    ValueError
        A depth beyond the slab, or an oven-dry mass that is not positive or exceeds the wet one.
    """
    match reading:
        case Pin():
            found = _pin(reading, thickness, is_reference_wood)
        case Surface():
            found = _surface(reading, thickness, specific_gravity)
        case OvenDry():
            if not 0.0 < reading.dry <= reading.wet:
                raise ValueError("oven-dry mass must be positive and not above the wet mass")
            found = _oven_dry(reading, thickness)
        case SampleBoard():
            found = _sample_board(reading, thickness)
    inside = found.place in ("edge", "end") or (
        -1e-9 <= found.depth_from <= found.depth_to <= thickness * (1.0 + 1e-9)
    )
    if not inside:
        raise ValueError("a reading's depth must lie inside the slab's thickness")
    if found.moisture is not None and found.moisture < 0.0:
        raise ValueError("the correction leaves less than no moisture: check value and constants")
    return found


def _shape(shallow: Floats, deep: Floats, thickness: float) -> Floats:
    """Mean, tilt and bow functions averaged from `shallow` to `deep`: rows of a design matrix.

    The bow is (3 x^2 - 1)/2 with x from -1 at the top to 1 at the bottom: no effect on the mean,
    and zero at 0.2113 t.
    """
    x0 = 2.0 * shallow / thickness - 1.0
    x1 = 2.0 * deep / thickness - 1.0
    # Averages of x and x^2 over a span, exact also for a span of no length.
    tilt = 0.5 * (x0 + x1)
    square = (x0 * x0 + x0 * x1 + x1 * x1) / 3.0
    return np.stack([np.ones_like(tilt), tilt, 0.5 * (3.0 * square - 1.0)], axis=-1)


def _covariance(corrected: Sequence[Corrected], expected: Floats | None = None) -> Floats:
    """Covariance of the readings' errors: their own scatter, and the bias shared within a kind.

    A meter's bias goes with the moisture it looks at.  Counted from each reading it pulls the fit
    below all readings that disagree (Peelle's puzzle: 9 and 14 % gave less than 9), so it is taken
    alike in a kind until a fit says what to expect of each [%], and then goes with that.
    """
    scatter = np.array([one.scatter for one in corrected])
    bias = np.array([one.bias for one in corrected])
    kind = np.array([one.kind for one in corrected])
    alike = kind[:, None] == kind[None, :]
    count = alike.sum(axis=1)
    bias = alike @ bias / count
    if expected is not None:
        expected = np.maximum(expected, 1.0)
        bias = bias * expected / (alike @ expected / count)
    shared: Floats = np.outer(bias, bias) * alike
    return shared + np.diag(scatter**2)


_PRIOR_MEAN = np.array([15.0, 0.0, 0.0])  # %; any: its standard deviation of 100 lets it go
_PRIOR_DEVIATION = np.array([100.0, TILT_PRIOR, BOW_PRIOR])


def _apart(design: Floats, values: Floats, covariance: Floats) -> Floats:
    """How far each reading is from what all others say, in standard deviations.

    In the joint normal of all readings, the miss of one given the others is the residual of the
    whole weighted by the precision matrix, over the square root of its diagonal.
    """
    joint = covariance + design @ np.diag(_PRIOR_DEVIATION**2) @ design.T
    precision = np.linalg.inv(joint)
    miss = precision @ (values - design @ _PRIOR_MEAN) / np.sqrt(np.diag(precision))
    return np.asarray(miss, dtype=np.float64)


def _figure(value: float, deviation: float) -> Figure:
    return Figure(
        float(value), float(value - TO_DECILE * deviation), float(value + TO_DECILE * deviation)
    )


@dataclass(frozen=True, slots=True)
class _Fitted:
    """Mean, tilt and bow with their covariance, and which readings they rest on."""

    shape: Floats  # (3,)
    covariance: Floats  # (3, 3)
    used: tuple[int, ...]
    contradicting: tuple[int, ...]


def _solved(design: Floats, values: Floats, covariance: Floats) -> tuple[Floats, Floats]:
    """Most probable shape and its covariance; errors grow with readings that scatter beyond them.

    Where the misses are larger than the errors allow, all errors are taken larger by the same
    factor, the root of their mean square (scale factor of Birge 1932, memory).
    """
    prior = np.diag(1.0 / _PRIOR_DEVIATION**2)

    def solve(errors: Floats) -> tuple[Floats, Floats]:
        precise = np.linalg.solve(errors, design)
        posterior = np.asarray(np.linalg.inv(design.T @ precise + prior))
        return posterior @ (precise.T @ values + _PRIOR_MEAN / _PRIOR_DEVIATION**2), posterior

    fitted, posterior = solve(covariance)
    miss = values - design @ fitted
    scale = float(miss @ np.linalg.solve(covariance, miss)) / max(values.size - 1, 1)
    return solve(covariance * scale) if scale > 1.0 else (fitted, posterior)


def _fit(body: Sequence[Corrected], thickness: float) -> _Fitted:
    """Fit all readings, then without those that contradict the rest, worst first."""
    values = np.array([one.moisture for one in body], dtype=np.float64)
    shallow = np.array([one.depth_from for one in body])
    deep = np.array([one.depth_to for one in body])
    design = _shape(shallow, deep, thickness)
    used = list(range(len(body)))
    strays: list[int] = []
    while True:
        kept = [body[i] for i in used]
        covariance = _covariance(kept)
        for _ in range(REPEATS):
            fitted, posterior = _solved(design[used], values[used], covariance)
            covariance = _covariance(kept, design[used] @ fitted)
        apart = _apart(design[used], values[used], covariance)
        worst = int(np.abs(apart).argmax())
        if abs(apart[worst]) <= CONTRADICTION:
            break
        if len(used) < FEWEST or len(strays) == max(1, int(LEFT_OUT * len(body))):
            strays += [used[i] for i in np.flatnonzero(np.abs(apart) > CONTRADICTION)]
            break
        strays.append(used.pop(worst))
    return _Fitted(fitted, posterior, tuple(used), tuple(sorted(strays)))


def profile(corrected: Sequence[Corrected], thickness: float) -> Profile:
    """Profile through the thickness from readings of the slab's body.

    A mean, a tilt and a parabola are fitted with the readings' errors and a weak prior on the last
    two, so that a single reading gives a mean whose error holds the gradient nobody measured.
    A reading that contradicts all others is left out, a fifth of them at most; of three and fewer
    none can be told to be the wrong one.

    Raises
    ------
    ValueError
        No reading of the body within its instrument's range.

    References
    ----------
    Normal linear model (derived); prior standard deviations 1.5 and 3 % M (judgement).
    """
    back = [
        i
        for i, one in enumerate(corrected)
        if one.moisture is not None and one.place in ("top", "bottom")
    ]
    if not back:
        raise ValueError("no reading of the slab's body within the meter's range")
    found = _fit([corrected[i] for i in back], thickness)
    fitted, posterior = found.shape, found.covariance

    def figure(row: Floats) -> Figure:
        return _figure(float(row @ fitted), float(np.sqrt(row @ posterior @ row)))

    depth = np.linspace(0.0, thickness, 11)
    curve = _shape(depth, depth, thickness)
    known = 1.0 - np.sqrt(np.diag(posterior)) / _PRIOR_DEVIATION
    return Profile(
        mean=figure(np.array([1.0, 0.0, 0.0])),
        top=figure(curve[0]),
        core=figure(np.array([1.0, 0.0, -0.5])),
        bottom=figure(curve[-1]),
        gradient=figure(np.array([0.0, 0.0, -1.5])),
        tilt=figure(np.array([0.0, -2.0, 0.0])),
        depth=depth,
        moisture=curve @ fitted,
        error=np.sqrt(np.einsum("ij,jk,ik->i", curve, posterior, curve)),
        gradient_known=float(known[2]),
        tilt_known=float(known[1]),
        contradicting=tuple(back[i] for i in found.contradicting),
        left_out=tuple(back[i] for i in found.contradicting if i not in found.used),
    )


def _ends(corrected: Sequence[Corrected], zone: float, mean: float | None) -> EndGrain | None:
    """What readings of the ends and edges say; None when there are none in range."""
    found = [one for one in corrected if one.place in ("edge", "end") and one.moisture is not None]
    if not found:
        return None
    values = np.array([one.moisture for one in found], dtype=np.float64)
    error = float(np.sqrt(np.mean([one.error**2 for one in found])))
    moisture = float(values.mean())
    gap = None if mean is None else mean - moisture
    message = (
        f"End and edge readings stand near what the air of the last weeks holds; they speak of "
        f"about {zone * 1000:.0f} mm ({zone / INCH:.0f} in) from that surface and say nothing of "
        "the middle."
    )
    if gap is not None and gap > 2.0:
        message += " The body is still well above them: the slab has not reached its shop's air."
    elif gap is not None and abs(gap) <= error:
        message += (
            " They agree with the body within the error: the slab is about as dry as this air"
            " will make it."
        )
    return EndGrain(moisture, error, zone, gap, message)


def _following(
    found: Profile | None, thickness: float, length: float | None, zone: float
) -> tuple[Next, ...]:
    """Where to read next: the mean's depth first, then whatever the readings left open."""
    distance = max(END_DISTANCE, zone)
    if length is not None:
        distance = min(distance, 0.5 * length)
    mean_depth = float(MEAN_DEPTH * thickness)
    places = [Next(mean_depth, "top", distance, "a parabolic profile has its mean at this depth")]
    if found is None or found.tilt_known < 0.5:
        reason = "the same from the other face tells whether the faces dry alike"
        places.append(Next(mean_depth, "bottom", distance, reason))
    if found is None or found.gradient_known < 0.5:
        reason = "the middle against the first tells how much wetter the core is"
        places.append(Next(0.5 * thickness, "top", distance, reason))
    return tuple(places)


_MESSAGES: Final = {
    "temperature-assumed": (
        "The wood's temperature is not given: 20 °C (68 °F) assumed; wood 10 °C (18 °F) warmer "
        "would hold about 1 % less than shown here.",
        "Wood Handbook FPL-GTR-190: 0.5 % per 5.6 degC",
    ),
    "species-uncorrected": (
        "No constants of this wood are given, so the reading stays on the Douglas-fir scale; "
        "species differ by 10 % of the reading and more. Calibrate with one oven-dried piece.",
        "judgement; Pfaff & Garrahan 1986 form (memory)",
    ),
    "resistance-extrapolated": (
        "Outside the 7 to 20 % of the resistance table its straight line is carried on.",
        "James 1988 (memory)",
    ),
    "depth-assumed": (
        "No depth is given: taken at 0.21 of the thickness, where a parabola has its mean.",
        "judgement",
    ),
    "surface-meter": (
        "Surface meters read the outer layer and scale with density: low confidence.",
        "practice; Wood Handbook FPL-GTR-190",
    ),
    "out-of-range": (
        "Readings outside the instrument's range are not numbers and were left out of the profile.",
        "Wood Handbook FPL-GTR-190: conductance 6 to 30 %, dielectric 4 to 30 %",
    ),
    "gradient-unknown": (
        "The readings do not tell shell from core: the gradient is a guess within +/- 4 % M.",
        "judgement",
    ),
    "too-little": ("Too little to say: no reading of the slab's body lies within range.", ""),
    "left-out": (
        "Readings contradict the others by more than their errors allow and are left out of the "
        "profile: read those again.",
        "judgement: three standard deviations",
    ),
    "contradiction": (
        "Readings contradict each other by more than their errors allow: read those again.",
        "judgement: three standard deviations",
    ),
}


def _note(code: str) -> Note:
    message, source = _MESSAGES[code]
    return Note(code=code, message=message, source=source)


def answer(
    readings: Sequence[Reading],
    thickness: float,
    specific_gravity: float,
    diffusivity: float,
    age_days: float,
    length: float | None = None,
    is_reference_wood: bool = False,
) -> Answer:
    """Correct all readings, draw the profile, keep the ends apart and say where to read next.

    Parameters
    ----------
    readings : sequence of Reading
        At least one.
    thickness, length : float
        Of the slab [m].
    specific_gravity : float
        At 12 % [-].
    diffusivity : float
        Across the grain at 10 % [m2/s]; sets how far the ends have dried.
    age_days : float
        Days since the ends were cut.
    is_reference_wood : bool
        Douglas-fir.
    """
    corrected = tuple(
        correct(one, thickness, specific_gravity, is_reference_wood) for one in readings
    )
    notes = list(dict.fromkeys(note for one in corrected for note in one.notes))
    usable = [one.moisture is not None and one.place in ("top", "bottom") for one in corrected]
    if any(one.range != "within" for one in corrected):
        notes.append(_note("out-of-range"))
    found = profile(corrected, thickness) if any(usable) else None
    if found is None:
        notes.append(_note("too-little"))
    elif found.contradicting:
        told = _note("left-out" if found.left_out else "contradiction")
        notes.append(replace(told, code="contradiction"))
    if found is not None and found.gradient_known < 0.3:
        notes.append(_note("gradient-unknown"))
    zone = end_zone(diffusivity, age_days)
    ends = _ends(corrected, zone, None if found is None else found.mean.value)
    following = _following(found, thickness, length, zone)
    return Answer(corrected, found, ends, following, tuple(notes))
