"""Places at a slab where a face is warmer or colder than its room: floors, radiators, sun, walls.

The vapour pressure at the face is the room's, its temperature is its own: the air it meets is the
room's air brought to that temperature.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.properties import air
from model.properties.finishes import Face, Faces
from model.properties.warmth import LocalWarmth

Floats = NDArray[np.float64]

# Thermal resistance between a face and a still room, the usual figure indoors [m2 K/W] (memory,
# ISO 6946), and conductivity of hardwood across the grain [W/(m K)] (memory, EN 12524: 0.13-0.18).
SURFACE_RESISTANCE: Final = 0.13
CONDUCTIVITY: Final = 0.15
FLOOR_USUAL: Final = 26.0  # degC; of the 24-27 that such floors run at (memory, EN 1264)
# How far wood over a radiator is drawn to its water, and what of that the upper face gets
# (judgement).
RADIATOR_SHARE: Final = 0.3
RADIATOR_ABOVE: Final = 0.5
RADIATOR_WATER: Final = 50.0  # degC; of the water through a winter month (judgement)
# Sun through glass: rise = a g I f / 8 (derived: 8 W/(m2 K) is what a face gives off indoors).
GLASS: Final = 0.6  # share of the sun that double glazing lets in (memory, EN 410)
GIVEN_OFF: Final = 8.0  # W/(m2 K); memory, ISO 6946
ABSORBED: Final = {"pale": 0.6, "dark": 0.8}  # share of the sun a face takes up (judgement)
SUN_USUAL: Final = 600.0  # W/m2; on a window towards the sun while it shines in (judgement)
# A closed carcass changes its air about once in two hours, 0.4 m of it before each face: as much
# vapour passes as through so much still air [m] (derived from judged figures). Nothing measured.
CARCASS_RESISTANCE: Final = 0.5
# Thermal resistance between the room and an outer wall's inner face [m2 K/W] (memory, ISO 13788).
WALL_RESISTANCE: Final = {"free": 0.13, "corner": 0.25, "behind_furniture": 0.5}


def heated_floor(temperature: float = FLOOR_USUAL) -> LocalWarmth:
    """A face on a heated floor whose surface is so warm [degC] while it heats.

    Examples
    --------
    >>> heated_floor(27.0).rise(21.0).item()
    6.0
    """
    return LocalWarmth(source=temperature, share=1.0, passed=True, place="heated_floor")


def over_radiator(water: float = RADIATOR_WATER) -> LocalWarmth:
    """The lower face over a radiator with water of a temperature [degC]; half of it above.

    Examples
    --------
    >>> over_radiator(50.0).rise(20.0).item()
    9.0
    """
    return LocalWarmth(
        source=water, share=RADIATOR_SHARE, other=RADIATOR_ABOVE, place="over_radiator"
    )


def in_sun(sun: float, lit_share: float, absorbed: float = ABSORBED["pale"]) -> LocalWarmth:
    """A face in the sun through glass: the mean rise over the day.

    Parameters
    ----------
    sun : float
        On the window while it is lit [W/m2].
    lit_share : float
        Share of the whole day for which the face is lit, 0 to 1.
    absorbed : float
        Share of the sun that the face takes up.

    Examples
    --------
    >>> in_sun(600.0, 1 / 12).by
    2.25
    """
    rise = absorbed * GLASS * sun * lit_share / GIVEN_OFF
    return LocalWarmth(by=rise, place="sun_through_glass")


def at_outer_wall(transmittance: float, resistance: float = WALL_RESISTANCE["free"]) -> LocalWarmth:
    """A face at an outer wall of so much transmittance U [W/(m2 K)], behind a resistance [m2 K/W].

    Examples
    --------
    >>> at_outer_wall(0.5, WALL_RESISTANCE["behind_furniture"]).rise(21.0, -5.0).item()
    -6.5
    """
    return LocalWarmth(outdoors=transmittance * resistance, place="outer_wall")


CLOSED_CARCASS: Final = LocalWarmth(place="closed_carcass")


def standing(face: Face, warmth: LocalWarmth) -> Face:
    """A face at a place; the air in a closed carcass keeps some vapour off it beside its finish.

    Examples
    --------
    >>> standing(Face(0.1), CLOSED_CARCASS).sd
    0.6
    """
    shut = CARCASS_RESISTANCE if warmth.place == CLOSED_CARCASS.place else 0.0
    return replace(face, sd=face.sd + shut, warmth=warmth)


def passed_on(thickness: float) -> float:
    """Share of a face's rise that the other face gets through so much wood [m].

    Examples
    --------
    >>> round(21.0 + 6.0 * passed_on(0.040), 1)
    23.0
    """
    return SURFACE_RESISTANCE / (SURFACE_RESISTANCE + thickness / CONDUCTIVITY)


def rises(
    faces: Faces, thickness: float, indoors: ArrayLike, outdoors: ArrayLike | None = None
) -> tuple[Floats, Floats]:
    """Temperature of the top and the bottom face less that of the room's air [K].

    Parameters
    ----------
    faces : Faces
        The faces; what one is warmed by may warm the other too.
    thickness : float
        Of the wood between them [m].
    indoors, outdoors : array_like
        Temperature of the room and, where it is known, outdoors [degC], of any one shape.

    Returns
    -------
    tuple of ndarray
        Each of that shape.

    Raises
    ------
    ValueError
        When a face needs the outdoor temperature and it is not known.
    """
    inside = np.asarray(indoors, dtype=np.float64)
    top, bottom = np.zeros(inside.shape), np.zeros(inside.shape)
    for warmth, own, other in (
        (faces.top.warmth, top, bottom),
        (faces.bottom.warmth, bottom, top),
    ):
        if warmth is not None:
            rise = warmth.rise(inside, outdoors)
            own += rise
            other += rise * (passed_on(thickness) if warmth.passed else warmth.other)
    return top, bottom


def humidity_at(indoors: ArrayLike, humidity: ArrayLike, rise: ArrayLike) -> Floats:
    """Relative humidity at a face [%] of air of a room, at the face's own temperature.

    Parameters
    ----------
    indoors, humidity, rise : array_like
        The room's air [degC], [%], and how much warmer the face is [K].

    References
    ----------
    h_face = h p_s(T_i)/p_s(T_face) (derived); about -6 % of h a kelvin.  Above 100 % it would
    condense; not cut here.

    Examples
    --------
    >>> round(float(humidity_at(21.0, 40.0, 6.0)), 1)
    27.9
    """
    inside = np.asarray(indoors, dtype=np.float64)
    pressure = air.vapour_pressure(inside, humidity)
    return np.asarray(air.relative_humidity(inside + np.asarray(rise), pressure))
