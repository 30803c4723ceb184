"""What is asked of `/v1/reading`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import Days
from api.schema import Rows, SpreadShape, refuse
from api.shapes.evidence import MeterShape, OvenDryShape, SampleBoardShape, deeper
from api.shapes.slab import slab_field
from model.behaviour.slab import Slab
from model.properties.meters import OvenDry, Pin, Reading, SampleBoard, Surface
from model.spread import Samples

MOST: Final = 500  # readings of each kind; the contract of readiness
WAYS: Final = ("readings", "oven_dry", "sample_boards")


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab and what was read of it."""

    slab: Slab
    samples: Samples
    readings: tuple[Pin | Surface, ...] = ()
    oven_dry: tuple[OvenDry, ...] = ()
    sample_boards: tuple[SampleBoard, ...] = ()
    age: float | None = None

    def __post_init__(self) -> None:
        thickness = self.slab.thickness
        rows = {"readings": self.readings, "oven_dry": self.oven_dry}
        refuse(
            *(
                {name: {index: wrong}}
                for name, listed in rows.items()
                for index, one in enumerate(listed)
                if (wrong := deeper(one, thickness))
            )
        )

    @property
    def everything(self) -> dict[str, Reading]:
        """Everything that was read, by its pointer in the question."""
        lists = {
            "readings": self.readings,
            "oven_dry": self.oven_dry,
            "sample_boards": self.sample_boards,
        }
        return {
            f"/{name}/{index}": one
            for name, listed in lists.items()
            for index, one in enumerate(listed)
        }


class ReadingShape(SpreadShape):
    """A slab and what was read of it."""

    makes = Asked
    rule = "give one or more of readings, oven_dry and sample_boards"

    slab = slab_field("the slab", required=True)
    readings = Rows("readings of a moisture meter", MeterShape, shortest=1, longest=MOST)
    oven_dry = Rows("pieces weighed and oven-dried", OvenDryShape, shortest=1, longest=MOST)
    sample_boards = Rows("sample boards by weight", SampleBoardShape, shortest=1, longest=MOST)
    age = Days("days since its ends were cut; a year when left out", low=0.1, high=36_525.0)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _something_read(self, data: Any, original: Any, **kwargs: Any) -> None:
        if not any(name in original for name in WAYS):
            raise ValidationError(f"nothing read: give one or more of {', '.join(WAYS)}")
