"""What is known when one asks whether a slab is ready: the slab, its readings, where it goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model.behaviour.slab import Slab
from model.behaviour.year import settled_mean
from model.properties import sorption
from model.properties.finishes import Face, Faces
from model.properties.meters import Corrected
from model.surroundings.air_series import Air
from model.surroundings.room import Room

Floats = NDArray[np.float64]

# % M; drier than fibre saturation and wetter than any room: what a slab came from does not matter
# to where it settles, as long as it dried.
DRIED_FROM: Final = 20.0
WEIGHING: Final = 0.001  # of a weight, standard deviation when no scale step is told (judgement)

# A face of which nothing is told: anything from bare to filmed over to shut on a bench.  Resistance
# in metres of still air by the share of such faces that have less (judgement): most tops are open,
# of bottoms two in five are shut.
UNTOLD: Final = Face(1.0, name="untold")
UNTOLD_TOP: Final = ((0.0, 0.005), (0.75, 0.05), (0.9, 1.0), (1.0, 10.0))
UNTOLD_BOTTOM: Final = ((0.0, 0.005), (0.35, 0.05), (0.48, 0.3), (0.56, 10.0), (1.0, 100.0))


def untold_resistance(share: Floats, bottom: bool) -> Floats:
    """Resistance of a face nobody told [m of still air], by a share in 0..1.

    Examples
    --------
    >>> untold_resistance(np.array([0.0, 0.56, 1.0]), bottom=True).round(3).tolist()
    [0.005, 10.0, 100.0]
    """
    known, resistance = np.array(UNTOLD_BOTTOM if bottom else UNTOLD_TOP).T
    return np.asarray(np.exp(np.interp(share, known, np.log(resistance))))


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
    depth_told : bool
        False for pins whose depth nobody told: one depth for all of them, drawn.
    """

    day: float
    value: float
    scatter: float
    bias: float = 0.0
    kind: Literal["moisture", "weight"] = "moisture"
    depth_from: float | None = None
    depth_to: float | None = None
    group: str = "meter"
    depth_told: bool = True


@dataclass(frozen=True, slots=True)
class Target:
    """Where the slab is going.

    `moisture` [%]: the number asked, or the mean of the destination's year; `is_room`: it follows
    the wood's own equilibrium and the house's humidity; `per_humidity`: its change per point of
    humidity, `humidity_spread` [points]; `within`: the distance that will do [% M];
    `stands_there`: it stands in that room already, so both have one humidity.
    """

    moisture: float
    within: float = 1.0
    is_room: bool = False
    stands_there: bool = False
    per_humidity: float = 0.0
    humidity_spread: float = 0.0


def target_room(
    room: Room,
    within: float,
    slab: Slab,
    faces: Faces,
    day: float,
    stands: Room | None = None,
) -> Target:
    """The mean of the year that a slab that dries settles into in a room; not a log."""
    rise = float(np.mean(sorption.slope(room.temperature, room.relative_humidity)))
    settles = settled_mean(slab, DRIED_FROM, faces, room.air, day)
    there = stands is not None and (
        stands.air is room.air
        or (
            np.array_equal(stands.air.temperature, room.air.temperature)
            and np.array_equal(stands.air.relative_humidity, room.air.relative_humidity)
            and stands.air.period == room.air.period
        )
    )
    return Target(settles, within, True, there, rise, room.humidity_spread)


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
        one.depth_told,
    )


@dataclass(frozen=True, slots=True)
class Case:
    """All that a fit needs: the slab, how its faces stand, the air it stood and will stand in.

    `untold`: whether nobody told the top and the bottom face, which then stand as `UNTOLD`.
    """

    slab: Slab
    faces: Faces
    air: Air
    humidity_spread: float = 0.0
    dry_mass: float | None = None
    untold: tuple[bool, bool] = (False, False)
