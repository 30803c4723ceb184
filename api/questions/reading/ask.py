"""What is asked of `/v1/reading`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import Days
from api.schema import Rows, SpreadShape, one_of, refuse
from api.shapes.evidence import MeterShape, OvenDryShape, SampleBoardShape, deeper
from api.shapes.slab import SpeciesField, slab_field
from model.behaviour.slab import Slab
from model.properties.meters import OvenDry, Pin, Reading, SampleBoard, Surface
from model.properties.species import Species
from model.spread import Samples

# A slab of which nothing but its wood is told: width plays no part, thickness only where the ends
# are read or a next depth is named (judgement: a table top).
UNTOLD_WIDTH: Final = 0.6  # m
UNTOLD_THICKNESS: Final = 0.04  # m
MOST: Final = 500  # readings of each kind; the contract of readiness
WAYS: Final = ("readings", "oven_dry", "sample_boards")


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab and what was read of it.

    species : the wood, when no more is told of the slab; its `slab` is then an assumed one.
    """

    samples: Samples
    slab: Slab
    species: Species | None = None
    readings: tuple[Pin | Surface, ...] = ()
    oven_dry: tuple[OvenDry, ...] = ()
    sample_boards: tuple[SampleBoard, ...] = ()
    age: float | None = None

    def __post_init__(self) -> None:
        thickness = self.slab.thickness
        rows = {"readings": self.readings, "oven_dry": self.oven_dry}
        if self.species is not None:
            refuse(
                *(
                    {name: {index: [_NO_THICKNESS]}}
                    for name, listed in rows.items()
                    for index, one in enumerate(listed)
                    if _has_depth(one)
                )
            )
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


_NO_THICKNESS: Final = (
    "a depth is given, but not the slab's thickness; give slab with it instead of species, or no "
    "depth"
)


def _has_depth(one: Reading) -> bool:
    """Whether it was read at a depth that the thickness gives its meaning."""
    return getattr(one, "depth", None) is not None or getattr(one, "depth_from", None) is not None


def _asked(
    samples: Samples, slab: Slab | None = None, species: Species | None = None, **read: Any
) -> Asked:
    """The question; a slab of which the wood alone is told is assumed."""
    if slab is None:
        assert species is not None
        slab = Slab(species, UNTOLD_WIDTH, UNTOLD_THICKNESS)
    return Asked(samples=samples, slab=slab, species=species, **read)


class ReadingShape(SpreadShape):
    """A slab, or a wood alone, and what was read of it."""

    makes = staticmethod(_asked)
    rule = "give slab or species; give one or more of readings, oven_dry and sample_boards"

    slab = slab_field("the slab")
    species = SpeciesField("the wood, when no more is known of the slab; depths then say nothing")
    readings = Rows("readings of a moisture meter", MeterShape, shortest=1, longest=MOST)
    oven_dry = Rows("pieces weighed and oven-dried", OvenDryShape, shortest=1, longest=MOST)
    sample_boards = Rows("sample boards by weight", SampleBoardShape, shortest=1, longest=MOST)
    age = Days("days since its ends were cut; a year when left out", low=0.1, high=36_525.0)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _of_what(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("slab", "species"), "what was read")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _something_read(self, data: Any, original: Any, **kwargs: Any) -> None:
        if not any(name in original for name in WAYS):
            raise ValidationError(f"nothing read: give one or more of {', '.join(WAYS)}")
