"""How rooms of one description lie apart, in their air and in the wood in them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from model.codes import Note
from model.properties import sorption
from model.spread import TO_DECILE
from model.surroundings.room import HIGHEST_OF_DAY, Room

Floats = NDArray[np.float64]

FOUR_IN_FIVE: Final = round(TO_DECILE, 2)  # standard deviations either way


@dataclass(frozen=True, slots=True)
class Band:
    """The band that holds four rooms in five: humidity and equilibrium moisture [%]."""

    low: Floats
    high: Floats
    equilibrium: Floats
    dry: Floats
    damp: Floats


def room_band(room: Room, temperature: Floats, humidity: Floats) -> Band:
    """The band about a room's course of temperature [degC] and relative humidity [%]."""
    spread = room.humidity_spread if room.is_log else room.spread_of_months
    points = FOUR_IN_FIVE * spread
    low, high = (np.clip(humidity + way * points, 0.0, HIGHEST_OF_DAY) for way in (-1.0, 1.0))
    equilibrium, dry, damp = (
        sorption.equilibrium_moisture(temperature, values) for values in (humidity, low, high)
    )
    return Band(low, high, equilibrium, dry, damp)


def between(room: Room) -> Note:
    """How far rooms of one description lie apart."""
    points = FOUR_IN_FIVE * room.humidity_spread
    rise = float(np.mean(sorption.slope(room.temperature, room.relative_humidity)))
    if room.method == "given" or room.is_log:
        return Note("hygrometer", points=points, moisture=points * rise)
    told = {"points": points, "moisture": points * rise}
    if room.strays is None or not room.strays.any():
        code = "between-years" if room.kind == "outdoors_covered" else "between-rooms"
        return Note(code, **told)
    strays = FOUR_IN_FIVE * float(np.sqrt(np.mean(room.strays**2)))
    return Note("between-rooms-and-months", **told, strays=strays)
