"""Meters, scales and ovens: what each says of the moisture of wood, with its error.

Pin meters are corrected for the wood's temperature and species in the published form of Pfaff and
Garrahan, resistances are read on a Douglas-fir table, surface meters are scaled by density, and
weights follow the oven-dry definition.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.basis import table
from model.codes import Note, Refusal
from model.spread import TO_DECILE, Figure

Floats = NDArray[np.float64]


Place = Literal["top", "bottom", "edge", "end"]
Kind = Literal["pin", "surface", "oven_dry", "sample_board"]
Range = Literal["within", "below", "above"]
REFERENCE_WOOD: Final = "douglas-fir"  # whose scale pin meters carry
METER_RANGE: Final = (6.0, 30.0)  # % M; conductance meters (Wood Handbook FPL-GTR-190, printed)
SURFACE_RANGE: Final = (4.0, 30.0)  # % M; dielectric meters (Wood Handbook FPL-GTR-190, printed)
TABLE_TEMPERATURE: Final = 27.0  # degC; of the resistance table (James 1988, memory)
USUAL_TEMPERATURE: Final = 20.0  # degC; assumed when the wood's temperature is not told (judgement)
WOOD_TEMPERATURE: Final = (-20.0, 60.0)  # degC; range of the correction here (judgement)
MEAN_DEPTH: Final = 0.5 * (1.0 - 1.0 / np.sqrt(3.0))  # of the thickness: 0.2113 (derived)
# Standard deviations of a reading, in % M at 8 to 14 %; together 0.9 for a pin meter set to its
# wood.  Printed: seldom over 2 % from oven-dry (Wengert & Bois 1997), +/- 1.0 with a wood's own
# curve (Fernandez-Golfin et al. 2012); how they split into scatter and bias is judgement.
PIN_SCATTER: Final = 0.5
PIN_BIAS: Final = 0.7
SPECIES_BIAS: Final = 0.08  # of the reading, no row for the wood (spread of the rows; judgement)
WEAK_ROW_BIAS: Final = 0.04  # of the reading, a row of low confidence (judgement: half of that)
TEMPERATURE_BIAS: Final = 0.5  # % M; 5 K unknown at 0.1 % M per K (judgement)
ROOM_TEMPERATURE_BIAS: Final = 0.3  # % M; wood within 3 K of its room's mean (judgement)
SURFACE_SCATTER: Final = 0.8
SURFACE_BIAS: Final = 1.3
SURFACE_PER_GRAVITY: Final = 16.0  # % M per unit of G unknown (printed slope, one make; low)
GRAVITY_CV: Final = 0.10  # of a wood's specific gravity, FPL-GTR-190 Table 5-6 (memory)
USUAL_READINGS: Final = (8.0, 18.0)  # % M; beyond them errors are
BEYOND_USUAL: Final = 1.5  # times as large (judgement)
SEES: Final = 0.02  # m; surface meters see 5 to 25 mm (judgement)
OVEN_SCATTER: Final = 0.1  # % M; a piece not quite at constant mass (judgement)
SECTION_BIAS: Final = 0.5  # % M; a section is not the whole board (judgement)


@dataclass(frozen=True, slots=True)
class Pin:
    """A conductance (pin) reading.

    `value` [%] as shown, or `resistance` [ohm]; `depth` [m] of the uninsulated tips below the
    `place`; `temperature` [degC] of the wood; `compensated` when the meter has already corrected
    for it; `room_temperature` when it is the room's and not the wood's own; `species_set` when the
    meter was set to this wood; `a`, `b` the wood's constants on the
    Douglas-fir scale; `intercept`, `rate` the wood's own line
    log10(log10 R_MOhm + 1) = intercept + rate M.
    """

    value: float | None = None
    resistance: float | None = None
    depth: float | None = None
    place: Place = "top"
    temperature: float | None = None
    compensated: bool = False
    room_temperature: bool = False
    species_set: bool = False
    a: float | None = None
    b: float | None = None
    intercept: float | None = None
    rate: float | None = None


@dataclass(frozen=True, slots=True)
class Surface:
    """A dielectric (surface) reading: `value` [%], how deep it sees [m], and its density setting.

    `scale_specific_gravity` is what the meter was set to; None means it was set to this wood.
    `depth` None: `SEES`, and never past the middle.
    """

    value: float
    depth: float | None = None
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
    depth_told : bool
        False for pins whose depth nobody told; their depth stands at `MEAN_DEPTH` then.
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
    depth_told: bool = True

    @property
    def error(self) -> float:
        """Standard deviation of the reading as a whole [%]."""
        return float(np.hypot(self.scatter, self.bias))

    @property
    def figure(self) -> Figure | None:
        """The moisture with its 10th and 90th percentile [%]; None outside the range."""
        if self.moisture is None:
            return None
        reach = TO_DECILE * self.error
        return Figure(self.moisture, self.moisture - reach, self.moisture + reach)


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


@dataclass(frozen=True, slots=True)
class Constants:
    """A wood's row of data/meter_species.csv.

    `a`, `b` on the Douglas-fir scale; `intercept`, `rate` of its line of resistances at
    `temperature` [degC], which misses its own row by `residual` [% M].
    """

    name: str
    a: float
    b: float
    intercept: float
    rate: float
    temperature: float
    residual: float
    weak: bool


@cache
def _constants() -> dict[str, Constants]:
    return {
        row["id"]: Constants(
            row["row_name"],
            float(row["df_a"]),
            float(row["df_b"]),
            float(row["intercept"]),
            float(row["slope"]),
            float(row["temperature_c"]),
            float(row["fit_residual_pct"] or 0.5),
            row["confidence"] == "low",
        )
        for row in table("meter_species.csv")
    }


def constants(wood: str) -> Constants | None:
    """Constants of a wood by its id; None when no row stands for it.

    References
    ----------
    James 1988, FPL-GTR-6 Table 1 (memory); Forsen & Tarvainen 2000, VTT Publications 420 Table 5
    (printed, second-hand; spruce and pine memory).

    Examples
    --------
    >>> elm = constants("american-elm")
    >>> round((12.0 - elm.b) / elm.a, 1)
    10.0
    """
    return _constants().get(wood)


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


def _range(moisture: float, limits: tuple[float, float]) -> Range:
    if moisture < limits[0]:
        return "below"
    return "above" if moisture > limits[1] else "within"


def _span(place: Place, shallow: float, deep: float, thickness: float) -> tuple[float, float]:
    """Depths below the top face of a reading that looked from `shallow` to `deep` under `place`."""
    if place == "bottom":
        return thickness - deep, thickness - shallow
    return shallow, deep


def _grown(scatter: float, bias: float, moisture: float) -> tuple[float, float]:
    """Errors of a meter at a moisture: larger below 8 and above 18 %."""
    low, high = USUAL_READINGS
    times = 1.0 if low <= moisture <= high else BEYOND_USUAL
    return times * scatter, times * bias


def _of_wood(reading: Pin, wood: str) -> tuple[Pin, Constants | None, float, tuple[Note, ...]]:
    """A reading with its wood's constants, their row, what they leave open [1/reading], notes."""
    own = reading.a is not None or reading.b is not None or reading.intercept is not None
    if own or reading.species_set:
        return reading, None, 0.0, ()
    row = constants(wood)
    if row is None:
        if REFERENCE_WOOD in wood:
            return reading, None, 0.0, ()
        return reading, None, SPECIES_BIAS, (Note("species-uncorrected"),)
    if (row.a, row.b) == (1.0, 0.0):
        # The scale's own wood: its table is closer than its line.
        return reading, None, 0.0, ()
    notes = (Note("species-row", row=row.name, weak=row.weak),)
    if reading.resistance is None:
        reading = replace(reading, a=row.a, b=row.b)
    else:
        reading = replace(reading, intercept=row.intercept, rate=row.rate)
    return reading, row, WEAK_ROW_BIAS if row.weak else 0.0, notes


def _pin(told: Pin, thickness: float, wood: str) -> Corrected:
    reading, row, species_bias, said = _of_wood(told, wood)
    notes = list(said)
    temperature = reading.temperature
    extra = 0.0
    if temperature is None and not reading.compensated:
        temperature, extra = USUAL_TEMPERATURE, TEMPERATURE_BIAS
        notes.insert(0, Note("temperature-assumed"))
    elif reading.room_temperature:
        assert temperature is not None
        extra = ROOM_TEMPERATURE_BIAS
        notes.insert(0, Note("temperature-of-room", temperature=temperature))
    a = 1.0 if reading.a is None else reading.a
    b = 0.0 if reading.b is None else reading.b
    if reading.resistance is not None:
        shown = resistance_moisture(reading.resistance, reading.intercept, reading.rate)
        # A line holds at its own temperature; only the shift from there is taken from the
        # correction.
        holds_at = TABLE_TEMPERATURE if row is None else row.temperature
        shift = 0.0
        if temperature is not None and np.isfinite(shown):
            shift = float(pin_moisture(shown, temperature) - pin_moisture(shown, holds_at))
        moisture = (shown + shift - b) / a
        extra = float(np.hypot(extra, 0.0 if row is None else row.residual))
        own_line = told.intercept is not None
        if not own_line and not 7.0 <= shown <= 20.0:
            extra = float(np.hypot(extra, 0.5))
            notes.append(Note("resistance-extrapolated"))
    else:
        assert reading.value is not None
        shown = reading.value
        moisture = (shown - b) / a
        if not reading.compensated and temperature is not None:
            moisture = float(pin_moisture(shown, temperature, a, b))
    where = _range(shown, METER_RANGE)
    scale = moisture if np.isfinite(moisture) else METER_RANGE[1]
    depth = thickness * MEAN_DEPTH if reading.depth is None else reading.depth
    untold = reading.depth is None and reading.place in ("top", "bottom")
    if reading.depth is None:
        notes.append(Note("depth-assumed"))
    scatter, bias = _grown(PIN_SCATTER, PIN_BIAS, scale)
    bias = float(np.hypot(np.hypot(bias, species_bias * scale), extra))
    span = _span(reading.place, depth, depth, thickness)
    return Corrected(
        moisture if where == "within" else None,
        scatter,
        bias,
        "pin",
        reading.place,
        where,
        *span,
        tuple(notes),
        not untold,
    )


def _surface(reading: Surface, thickness: float, specific_gravity: float) -> Corrected:
    scale = reading.scale_specific_gravity
    moisture = reading.value
    if scale is not None:
        moisture = float(surface_moisture(reading.value, scale, specific_gravity))
    where = _range(reading.value, SURFACE_RANGE)
    sees = min(SEES, 0.5 * thickness) if reading.depth is None else reading.depth
    density = SURFACE_PER_GRAVITY * GRAVITY_CV * specific_gravity
    scatter, bias = _grown(SURFACE_SCATTER, float(np.hypot(SURFACE_BIAS, density)), moisture)
    return Corrected(
        moisture if where == "within" else None,
        scatter,
        bias,
        "surface",
        reading.place,
        where,
        *_span(reading.place, 0.0, sees, thickness),
        (Note("surface-meter"),),
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
    reading: Reading, thickness: float, specific_gravity: float, wood: str = ""
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
    wood : str
        Id of the wood, for the constants of its row; empty for a wood without one.

    Raises
    ------
    Refusal
        A depth beyond the slab, an oven-dry mass that is not positive or exceeds the wet one, or a
        correction that leaves less than no moisture.
    """
    match reading:
        case Pin():
            found = _pin(reading, thickness, wood)
        case Surface():
            found = _surface(reading, thickness, specific_gravity)
        case OvenDry():
            if not 0.0 < reading.dry <= reading.wet:
                raise Refusal("dry-above-wet")
            found = _oven_dry(reading, thickness)
        case SampleBoard():
            found = _sample_board(reading, thickness)
    inside = found.place in ("edge", "end") or (
        -1e-9 <= found.depth_from <= found.depth_to <= thickness * (1.0 + 1e-9)
    )
    if not inside:
        raise Refusal("reading-too-deep")
    if found.moisture is not None and found.moisture < 0.0:
        raise Refusal("less-than-no-moisture")
    return found
