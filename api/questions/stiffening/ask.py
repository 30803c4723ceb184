"""What is asked of `/v1/stiffening`."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Literal

from marshmallow import ValidationError, validates_schema

from api.quantities import Length
from api.schema import Choice, Part, SpreadShape, Whole, refuse, starts_field
from api.shapes.faces import faces_field, staying_wet, without_outdoors
from api.shapes.holding import FOR_YEARS, NO_YEAR, Bars, BarsShape, CupShape, KeyShape
from api.shapes.moisture import misplaced, moisture_field
from api.shapes.room import room_field, without_a_year
from api.shapes.slab import slab_field
from model.behaviour.keys import USUAL_SPACING, Key, KeysAlong
from model.behaviour.slab import Moisture, Slab
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.room import Room


def _keys(
    grain: str,
    count: int,
    held: Literal["free", "flat"],
    check_length: float | None = None,
    **sizes: Any,
) -> KeysAlong:
    key: Key = KeyShape.makes(**sizes, grain=grain)
    length = count * USUAL_SPACING if check_length is None else check_length
    return KeysAlong(key, count, length, held)


class KeysShape(KeyShape):
    """Butterfly keys across a check."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(_keys)

    grain = Choice("which way their own grain runs", ("across", "along"), load_default="across")
    count = Whole("how many along the check", low=1, high=100, load_default=1)
    held = Choice(
        "how the slab is held beside bars told of here: free, or flat on a stiff frame",
        ("free", "flat"),
        load_default="free",
    )
    check_length = Length(
        "length of the check along the grain; 250 mm a key when left out", low=0.02, high=12.0
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab, where it goes, and what is to hold it; lengths [m]."""

    slab: Slab
    moisture: Moisture
    faces: Faces
    room: Room
    starts: datetime.date
    samples: Samples
    cup: float = 0.0
    bars: Bars | None = None
    keys: KeysAlong | None = None
    limit: float | None = None

    def __post_init__(self) -> None:
        refuse(
            misplaced(self.moisture, self.slab.thickness),
            staying_wet(self.faces, FOR_YEARS),
            without_outdoors(self.faces, self.room),
            without_a_year(self.room, NO_YEAR),
            {} if self.bars is None else self.bars.faults(self.slab),
            self._keys_too_thick(),
        )

    def _keys_too_thick(self) -> dict[str, Any]:
        if self.keys is None or self.keys.key.thickness <= self.slab.thickness:
            return {}
        told = (
            f"{1e3 * self.keys.key.thickness:g} mm given: the slab is "
            f"{1e3 * self.slab.thickness:g} mm thick"
        )
        return {"keys": {"thickness": [told]}}


class StiffeningShape(SpreadShape):
    """A slab, where it goes, and what is to hold it."""

    makes = Asked
    rule = "give bars, keys or both; limit belongs to bars"

    slab = slab_field("the slab, with the size it has today", required=True)
    moisture = moisture_field("moisture content now", required=True)
    faces = faces_field()
    room = room_field("the room it goes to; a log must cover a year", year=True, required=True)
    starts = starts_field("day it comes into the room")
    cup = Part(CupShape, "cup it has when the bars go on; flat when left out")
    bars = Part(BarsShape, "bars across its underside")
    keys = Part(KeysShape, "keys across a check")
    limit = Length("cup to stay within, for the number of bars", low=1e-4, high=0.3)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _something(self, data: Any, original: Any, **kwargs: Any) -> None:
        if not {"bars", "keys"} & original.keys():
            raise ValidationError("nothing to hold it with: give bars, keys or both")
        if "limit" in original and "bars" not in original:
            raise ValidationError("limit given without bars; add them", "limit")
