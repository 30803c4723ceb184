"""The air that a house, shop or shed makes of the outdoors: heating, cooling, people, machines.

`from_climate` makes the `Room` of a place and a way of living, by the rules of `indoors`, `sun`
and `machines`; the named standards and how far rooms lie apart stand here.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.codes import Note
from model.properties import air as moist
from model.properties import sorption
from model.surroundings import indoors, machines, sun
from model.surroundings.air_series import UNBOUND
from model.surroundings.calendar import MONTHS
from model.surroundings.climate import Outdoor
from model.surroundings.indoors import Occupied, OuterWalls
from model.surroundings.living import BESIDE, DESIGN_CURVES, SHEDS, Asked, Kind, Method, check
from model.surroundings.machines import Dehumidifier, Panes
from model.surroundings.room import (
    HELD,
    HIGHEST_HUMIDITY,
    HIGHEST_OF_DAY,
    LOWEST_HUMIDITY,
    Room,
    beyond_sorption,
    limited,
    year_air,
)

Floats = NDArray[np.float64]


USUAL_WALLS: Final[OuterWalls] = "two"  # of a part-heated room (judgement)

DEFAULT_HEATING: Final = 21.5  # degC; open data: six lived-in Finnish houses 21.6-22.2 in winter
# Coldest outdoor month below which a room is heated and above which it never is; between, either
# [degC] (judgement).
SURELY_HEATED: Final = 10.0
NEVER_HEATED: Final = 15.0
MEAN_SUN: Final = 150.0  # W/m2; of the year at 45 degrees, where no latitude is told (derived)
# Design curve less measured humidity, mean over fifteen bins of outdoor temperature [points] (six
# lived-in Finnish houses, open data set trh-1 by A. Laukkarinen, CC BY 4.0).
_DESIGN_ABOVE_MEASURED: Final[dict[Method, int]] = {
    "en_15026": 4,
    "en_15026_high": 14,
    "iso_13788": 9,
}

# How far rooms of one description lie apart: what is constant for a house, and what its months
# stray beyond that. Vapour: sd sqrt((0.25 E)^2 + 40^2) Pa between houses (six Finnish houses 63 Pa,
# widened for a Belgian house and printed percentiles, judgement), 72 Pa for months; temperature
# 0.8 K and 0.6 K (the same houses).
BETWEEN_HOUSES_SHARE: Final = 0.25
BETWEEN_HOUSES_LEAST: Final = 40.0  # Pa
MONTHS_OF_HOUSE: Final = 72.0  # Pa
WARMTH_BETWEEN: Final = 0.8  # K
WARMTH_OF_MONTHS: Final = 0.6  # K
BETWEEN_COOLED: Final = 5.0  # points; cooled buildings of a town (open data: 2 to 8)
BETWEEN_SHOPS: Final = 4.5  # points; seven workplaces 60-200 Pa, six denser 290-520 (judgement)
BETWEEN_SHEDS: Final = 4.0  # points; roof spaces 0.9 K and 30 Pa apart (open data), rounded
BETWEEN_YEARS: Final = 3.0  # points; outdoors, a month of one year against its mean (judgement)
BETWEEN_PARTS: Final = 0.1  # of the way to outdoors, part-heated rooms and cellars (judgement)


def from_climate(
    outdoor: Outdoor,
    *,
    heat_to: float | None = None,
    cool_to: float | None = None,
    occupied: Occupied | None = None,
    balanced_ventilation: bool = False,
    humidify_to: float | None = None,
    panes: Panes | None = None,
    dehumidify_to: float | None = None,
    dehumidifier: Dehumidifier | None = None,
    dehumidifier_rated: float | None = None,
    method: Method = "vapour_excess",
    kind: Kind = "room",
    heated_share: float | None = None,
    outer_walls: OuterWalls | None = None,
    shaded: bool = False,
    generation: float | None = None,
    air_changes: float | None = None,
    volume: float | None = None,
) -> Room:
    """A room by its climate and the way it is lived in.

    Parameters
    ----------
    outdoor : Outdoor
        The outdoor year.
    heat_to, cool_to : float, optional
        What heating and cooling keep [degC]. A room without `heat_to` is heated to 21.5 where the
        coldest month is below 10 degC, never where it is above 15, and may be either between;
        without `cool_to` nothing cools. Of a part-heated room or cellar: of the house beside it.
    occupied : {"no", "lightly", "normally", "crowded"}, optional
        How much moisture people bring; normally when not given. For the vapour-excess method.
    balanced_ventilation : bool
        Whether a fan brings in as much air as it takes out.
    humidify_to, dehumidify_to : float, optional
        Humidity that machines keep at least, at most [%].
    panes : {"single", "double", "double_low_e", "triple"}, optional
        Windows that a humidifier must not make drip; double when not given.
    dehumidifier : {"compressor", "desiccant"}, optional
        A compressor when not given.
    dehumidifier_rated : float, optional
        Its output at 26.7 degC and 60 % [kg/day]; with `air_changes` and `volume`.
    method : {"vapour_excess", "en_15026", "en_15026_high", "iso_13788", "moisture_balance"}
        How the humidity of a room is found.
    kind : str
        One of `KINDS`. A heated shop has no source of moisture but its work, a shed no heating,
        under cover outdoors the air is the outdoor air.
    heated_share : float, optional
        Share of the time that a heated shop is heated; all of it when not given.
    outer_walls : {"one", "two", "two_and_door", "three"}, optional
        Of a part-heated room; two when not given.
    shaded : bool
        Whether no sun reaches a shed.
    generation, air_changes, volume : float, optional
        Water given off [kg/day], air changes [1/h] and volume [m3], for `moisture_balance`.

    Returns
    -------
    Room

    Raises
    ------
    ValueError
        Figures that contradict each other or that the kind or method has no use for.

    References
    ----------
    The rules and their evidence: `indoors`, `machines`; EN 15026 Annex C, ISO 13788 A.1 (memory).

    Examples
    --------
    >>> from model.surroundings import climate
    >>> reading_room = from_climate(climate.find("Duluth, MN"), heat_to=21.1, cool_to=24.4)
    >>> reading_room.driest.month, round(reading_room.driest.moisture, 1)
    (2, 6.4)
    """
    asked = Asked(
        heat_to=heat_to, cool_to=cool_to, occupied=occupied,
        balanced_ventilation=balanced_ventilation, humidify_to=humidify_to, panes=panes,
        dehumidify_to=dehumidify_to, dehumidifier=dehumidifier,
        dehumidifier_rated=dehumidifier_rated, method=method, kind=kind,
        heated_share=heated_share, outer_walls=outer_walls, shaded=shaded,
        generation=generation, air_changes=air_changes, volume=volume,
    )  # fmt: skip
    check(asked)
    inside = _with_machines(_inside(outdoor, asked), outdoor, asked)
    humidity, cut_months = limited(inside.humidity, "months")
    low, high = inside.kept_within
    kept_within = (
        max(min(low, float(humidity.min())), LOWEST_HUMIDITY),
        min(max(high, float(humidity.max())), HIGHEST_OF_DAY),
    )
    yearly, cut = year_air(inside.temperature, humidity, inside.bounds, kept_within, outdoor)
    between = _with_place(inside, outdoor, kind)
    return Room(
        months=tuple(range(1, MONTHS + 1)),
        temperature=inside.temperature,
        relative_humidity=humidity,
        air=yearly,
        humidity_spread=float(np.sqrt(np.mean(between**2))),
        method=inside.method,
        kind=kind,
        outdoor=outdoor,
        notes=(
            *outdoor.notes,
            *inside.notes,
            *cut_months,
            *cut,
            *beyond_sorption(inside.temperature),
        ),
        attribution=outdoor.attribution,
        between=between,
        strays=inside.strays,
        rules=inside.rules,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Inside:
    """A room's months; every array has shape (12,).

    `between`, `strays`: standard deviations of humidity between such rooms and of the months of one
    beyond that [points]. `held`: where a machine holds the humidity. `bounds`, `kept_within`:
    temperatures [degC] and humidities [%] that the days stay within. `rules`: formulas leant on.
    """

    temperature: Floats
    humidity: Floats
    method: str
    between: Floats
    strays: Floats = field(default_factory=lambda: np.zeros(MONTHS))
    held: NDArray[np.bool_] = field(default_factory=lambda: np.zeros(MONTHS, dtype=bool))
    bounds: tuple[float, float] = (-UNBOUND, UNBOUND)
    kept_within: tuple[float, float] = (-UNBOUND, UNBOUND)
    notes: tuple[Note, ...] = ()
    rules: tuple[str, ...] = ()


def _inside(outdoor: Outdoor, asked: Asked) -> _Inside:
    """A room's months before machines hold the humidity."""
    if asked.kind == "outdoors_covered":
        return _Inside(
            outdoor.temperature,
            outdoor.relative_humidity,
            asked.kind,
            np.full(MONTHS, BETWEEN_YEARS),
            notes=(Note("outdoor-mean-bias"),),
        )
    if asked.kind in SHEDS:
        return _shed(outdoor, asked)
    if asked.method in DESIGN_CURVES:
        return _designed(outdoor, asked.method)
    heat_to, notes = _heating(outdoor, asked)
    if asked.kind in BESIDE:
        return _beside(outdoor, asked, DEFAULT_HEATING if heat_to is None else heat_to, notes)
    coldest = float(outdoor.temperature.min())
    unsure = asked.heat_to is None and SURELY_HEATED <= coldest <= NEVER_HEATED
    if not unsure or asked.kind == "heated_shop":
        return _lived_in(outdoor, asked, heat_to, notes)
    heated = _lived_in(outdoor, asked, heat_to, notes)
    return _either(heated, _lived_in(outdoor, asked, None, notes), coldest, heat_to)


def _heating(outdoor: Outdoor, asked: Asked) -> tuple[float | None, tuple[Note, ...]]:
    """What heating keeps [degC], None where there is none, and what is told of it."""
    if asked.heat_to is not None:
        return asked.heat_to, ()
    coldest = float(outdoor.temperature.min())
    if coldest > NEVER_HEATED:
        return None, (Note("never-heated", coldest=coldest, above=NEVER_HEATED),)
    heat_to = DEFAULT_HEATING if asked.cool_to is None else min(DEFAULT_HEATING, asked.cool_to)
    if asked.kind == "room" and coldest >= SURELY_HEATED:
        return heat_to, ()
    return heat_to, (Note("heating-assumed", heat_to=heat_to),)


def _shed(outdoor: Outdoor, asked: Asked) -> _Inside:
    """A place without heating under a roof: outdoor vapour, warmed by the sun."""
    base, per_sun = indoors.SHED_RISE[asked.kind]
    notes = [Note("outdoor-mean-bias")]
    shining = np.full(MONTHS, MEAN_SUN)
    if outdoor.latitude is not None:
        shining = sun.on_the_ground(outdoor.latitude)
    elif not asked.shaded:
        notes.insert(0, Note("sun-not-known", taken=MEAN_SUN))
    rise = base + (0.0 if asked.shaded else per_sun) * shining
    least, most = float(rise.min()), float(rise.max())
    notes.insert(0, Note("shed-gain", least=least, most=most, shaded=asked.shaded))
    temperature = outdoor.temperature + rise
    return _Inside(
        temperature,
        np.asarray(moist.relative_humidity(temperature, outdoor.vapour_pressure)),
        asked.kind,
        np.full(MONTHS, BETWEEN_SHEDS),
        notes=tuple(notes),
        rules=("saturation-pressure", "room-shed"),
    )


def _designed(outdoor: Outdoor, method: Method) -> _Inside:
    """A room by a standard's design curve: humidity from the outdoor temperature alone."""
    offset, low, high = DESIGN_CURVES[method]
    warm = np.clip(20.0 + 0.5 * (outdoor.temperature - 10.0), 20.0, 25.0)
    damp = np.clip(offset + outdoor.temperature, low, high)
    between, strays = apart(warm, damp, indoors.vapour_excess(outdoor.temperature))
    return _Inside(
        warm,
        damp,
        method,
        between,
        strays,
        notes=(Note("design-curve", above=_DESIGN_ABOVE_MEASURED[method]),),
        rules=("room-iso-13788" if method == "iso_13788" else "room-en-15026",),
    )


def _beside(
    outdoor: Outdoor, asked: Asked, heat_to: float | None, notes: tuple[Note, ...]
) -> _Inside:
    """A part-heated room or a cellar: part of the way from the house's temperature to outdoors."""
    if heat_to is None:
        house = indoors.unheated_temperature(outdoor.temperature)
    else:
        house = indoors.heated_temperature(outdoor.temperature, heat_to)
    walls = asked.outer_walls or USUAL_WALLS
    cellar = asked.kind == "cellar"
    way = indoors.CELLAR if cellar else indoors.PART_HEATED[walls]
    if cellar or asked.outer_walls is None:
        notes += (Note("cellar-rough" if cellar else "walls-assumed", way=way),)
    temperature = indoors.part_heated_temperature(outdoor.temperature, house, way)
    pressure = outdoor.vapour_pressure + (indoors.CELLAR_EXCESS if cellar else 0.0)
    humidity = np.asarray(moist.relative_humidity(temperature, pressure))
    warmth = BETWEEN_PARTS * np.abs(house - outdoor.temperature)
    return _Inside(
        temperature,
        humidity,
        asked.kind,
        np.hypot(BETWEEN_SHEDS, warmth * _points_a_kelvin(temperature, humidity)),
        notes=notes,
        rules=("saturation-pressure", "room-temperature", "room-part-heated"),
    )


def _lived_in(
    outdoor: Outdoor, asked: Asked, heat_to: float | None, notes: tuple[Note, ...]
) -> _Inside:
    """A heated or cooled room or shop, or one that is neither (`heat_to` None)."""
    outside, cool_to = outdoor.temperature, asked.cool_to
    if heat_to is None:
        free = indoors.unheated_temperature(outside)
    else:
        free = indoors.heated_temperature(outside, heat_to)
    temperature = free if cool_to is None else np.minimum(free, cool_to)
    excess, told = _excess(outdoor, asked, temperature)
    notes += told
    pressure = outdoor.vapour_pressure + excess
    rules = ["saturation-pressure", "room-temperature"]
    rules.append(
        "room-moisture-balance" if asked.method == "moisture_balance" else "room-vapour-excess"
    )
    cooled = np.zeros(MONTHS)
    if cool_to is not None:
        cooled = indoors.cooled_share(free, cool_to)
        pressure = indoors.cooled_pressure(
            free, pressure, outdoor.vapour_pressure, cool_to, outdoor.elevation or 0.0
        )
    adrift = (free > (-UNBOUND if heat_to is None else heat_to) + 1e-9) & (cooled == 0.0)
    if adrift.any():
        above = (free - outside)[adrift]
        least, most = float(above.min()), float(above.max())
        notes += (Note("free-gain", months=int(adrift.sum()), least=least, most=most),)
    if cooled.any():
        notes += (Note("cooling-dries", months=int((cooled > 0.0).sum())),)
        rules.append("room-cooled")
    humidity = np.asarray(moist.relative_humidity(temperature, pressure))
    between, strays = apart(temperature, humidity, excess)
    if asked.kind == "heated_shop":
        between = np.full(MONTHS, BETWEEN_SHOPS)
    between = np.sqrt((1.0 - cooled) * between**2 + cooled * BETWEEN_COOLED**2)
    inside = _Inside(
        temperature,
        humidity,
        asked.kind if asked.kind == "heated_shop" else asked.method,
        between,
        strays,
        bounds=(
            -UNBOUND if heat_to is None else min(heat_to, float(temperature.min())),
            UNBOUND if cool_to is None else cool_to,
        ),
        notes=notes,
        rules=tuple(rules),
    )
    return inside if asked.heated_share is None else _at_times(inside, outdoor, asked.heated_share)


def _excess(outdoor: Outdoor, asked: Asked, temperature: Floats) -> tuple[Floats, tuple[Note, ...]]:
    """Vapour pressure above outdoors [Pa] and what is told of it."""
    if asked.kind == "heated_shop":
        return indoors.vapour_excess(outdoor.temperature, "no"), ()
    if asked.method == "moisture_balance":
        return indoors.balance_excess(
            temperature, asked.generation, asked.air_changes, asked.volume
        ), ()
    notes: tuple[Note, ...] = ()
    if asked.occupied is None:
        notes += (Note("occupation-assumed"),)
    coldest = float(outdoor.temperature.min())
    if asked.occupied != "no" and coldest < indoors.COLDEST_MEASURED:
        notes += (Note("very-cold-months", below=indoors.COLDEST_MEASURED),)
    excess = indoors.vapour_excess(
        outdoor.temperature, asked.occupied or "normally", balanced=asked.balanced_ventilation
    )
    return excess, notes


def _at_times(inside: _Inside, outdoor: Outdoor, share: float) -> _Inside:
    """A shop heated for so much of the time and a closed shed for the rest: means over the time."""
    cold = outdoor.temperature + indoors.SHED_RISE["shed"][0]
    cold = np.minimum(cold, inside.temperature)
    pressure = np.minimum(
        moist.vapour_pressure(inside.temperature, inside.humidity), moist.saturation_pressure(cold)
    )
    rest = np.asarray(moist.relative_humidity(cold, pressure))
    return replace(
        inside,
        temperature=share * inside.temperature + (1.0 - share) * cold,
        humidity=share * inside.humidity + (1.0 - share) * rest,
        bounds=(-UNBOUND, inside.bounds[1]),
        notes=(*inside.notes, Note("heated-at-times", share=share)),
    )


def _either(one: _Inside, other: _Inside, coldest: float, heat_to: float | None) -> _Inside:
    """A room that may be heated or not, as likely one as the other: the mean, and a wider band."""
    apart = 0.5 * np.abs(one.humidity - other.humidity)
    note = Note(
        "heating-unsure",
        coldest=coldest,
        heat_to=heat_to,
        heated=float(one.temperature.min()),
        unheated=float(other.temperature.min()),
        points=2.0 * float(apart.max()),
    )
    told = [said for said in (*one.notes, *other.notes) if said.code != "free-gain"]
    return replace(
        one,
        temperature=0.5 * (one.temperature + other.temperature),
        humidity=0.5 * (one.humidity + other.humidity),
        between=np.sqrt(0.5 * (one.between**2 + other.between**2) + apart**2),
        bounds=(-UNBOUND, one.bounds[1]),
        notes=(note, *dict.fromkeys(told)),
        rules=tuple(dict.fromkeys((*one.rules, *other.rules))),
    )


def _with_machines(inside: _Inside, outdoor: Outdoor, asked: Asked) -> _Inside:
    """The same room with its humidity held by machines, as far as they can."""
    humidity, notes, rules = inside.humidity, inside.notes, inside.rules
    low = high = None
    if asked.humidify_to is not None:
        humidity, low, told = _humidified(inside.temperature, humidity, outdoor, asked)
        notes, rules = notes + told, (*rules, "room-panes")
    if asked.dehumidify_to is not None:
        humidity, high, told = _dried(inside.temperature, humidity, asked)
        notes, rules = notes + told, (*rules, "room-dehumidifier")
    held = humidity != inside.humidity
    return replace(
        inside,
        humidity=humidity,
        between=np.where(held, HELD, inside.between),
        strays=np.where(held, 0.0, inside.strays),
        held=held,
        kept_within=(-UNBOUND if low is None else low, UNBOUND if high is None else high),
        notes=notes,
        rules=rules,
    )


def _humidified(
    temperature: Floats, humidity: Floats, outdoor: Outdoor, asked: Asked
) -> tuple[Floats, float, tuple[Note, ...]]:
    """Humidity with a humidifier, held at what the panes bear; its setting; what is told."""
    setting = asked.humidify_to
    assert setting is not None
    panes = asked.panes or machines.USUAL_PANES
    bears = machines.highest_before_dripping(temperature, outdoor.temperature, panes)
    kept = np.maximum(humidity, np.minimum(setting, bears))
    notes: tuple[Note, ...] = ()
    beyond = (bears < setting) & (humidity < setting)
    if beyond.any():
        notes += (
            Note(
                "held-by-panes",
                setting=setting,
                months=int(beyond.sum()),
                least=float(bears[beyond].min()),
                panes=panes,
                assumed=asked.panes is None,
            ),
        )
    if asked.volume is not None and asked.air_changes is not None:
        rise = (kept - humidity) / 100.0 * moist.saturation_pressure(temperature)
        water = machines.water_a_day(asked.volume, asked.air_changes, temperature, rise)
        if water.max() > 0.0:
            most = int(np.argmax(water))
            notes += (Note("humidifier-water", water=float(water[most]), month=most + 1),)
    return kept, setting, notes


def _dried(
    temperature: Floats, humidity: Floats, asked: Asked
) -> tuple[Floats, float, tuple[Note, ...]]:
    """Humidity with a dehumidifier; its setting; what is told."""
    setting = asked.dehumidify_to
    assert setting is not None
    if asked.dehumidifier == "desiccant":
        return np.minimum(humidity, setting), setting, ()
    works = temperature >= machines.WORKS_FROM
    reached = machines.driest_reached(temperature)
    if asked.dehumidifier_rated is not None:
        assert asked.volume is not None
        assert asked.air_changes is not None
        pressure = moist.vapour_pressure(temperature, humidity)
        reached = machines.humidity_held(
            temperature, pressure, asked.dehumidifier_rated, asked.volume, asked.air_changes
        )
    kept = np.where(works, np.minimum(humidity, np.maximum(reached, setting)), humidity)
    notes: tuple[Note, ...] = ()
    too_damp = humidity > setting
    cold = too_damp & ~works
    if cold.any():
        notes += (Note("dehumidifier-too-cold", months=int(cold.sum()), works=machines.WORKS_FROM),)
    short = too_damp & works & (kept > setting + 1e-6)
    if short.any():
        notes += (
            Note(
                "dehumidifier-stops",
                setting=setting,
                months=int(short.sum()),
                reached=float(kept[short].max()),
                sized=asked.dehumidifier_rated is not None,
            ),
        )
    icy = too_damp & works & (temperature < machines.ICES_BELOW)
    if icy.any():
        notes += (Note("dehumidifier-ices", months=int(icy.sum()), below=machines.ICES_BELOW),)
    return kept, setting, notes


def _points_a_kelvin(temperature: Floats, humidity: Floats) -> Floats:
    """Points of humidity that a room of one vapour pressure loses by a kelvin."""
    ratio = np.asarray(moist.saturation_pressure(temperature + 0.5)) / np.asarray(
        moist.saturation_pressure(temperature - 0.5)
    )
    result: Floats = humidity * np.log(ratio)
    return result


def apart(temperature: Floats, humidity: Floats, excess: Floats) -> tuple[Floats, Floats]:
    """Standard deviations of humidity between houses and of a house's months [points].

    Parameters
    ----------
    temperature, humidity, excess : ndarray
        Of the room [degC], [%], and its vapour pressure above outdoors [Pa].
    """
    points_a_pascal = 100.0 / np.asarray(moist.saturation_pressure(temperature))
    between = np.hypot(BETWEEN_HOUSES_SHARE * excess, BETWEEN_HOUSES_LEAST) * points_a_pascal
    warmth = _points_a_kelvin(temperature, humidity)
    return (
        np.hypot(between, WARMTH_BETWEEN * warmth),
        np.hypot(MONTHS_OF_HOUSE * points_a_pascal, WARMTH_OF_MONTHS * warmth),
    )


def _with_place(inside: _Inside, outdoor: Outdoor, kind: Kind) -> Floats:
    """Spread between rooms [points] with the error of the place where the humidity is free."""
    place = outdoor.humidity_error
    if inside.method in DESIGN_CURVES:
        place = 0.0  # a curve of temperature alone
    elif kind == "outdoors_covered":
        # % of moisture over the curve's slope gives points of humidity.
        damp = np.minimum(inside.humidity, HIGHEST_HUMIDITY)
        slope = sorption.slope(inside.temperature, damp)
        place = outdoor.equilibrium_error / float(np.mean(slope))
    return np.where(inside.held, HELD, np.hypot(inside.between, place))
