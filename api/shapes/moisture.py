"""Moisture of a slab: one number, shell and core, or by depth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Final, get_args

from marshmallow import ValidationError, validates_schema

from api.quantities import Length, Moisture
from api.schema import Choice, Either, Rows, Shape
from api.shapes.slab import THICKNESS, beyond
from model.behaviour import slab
from model.behaviour.year import Sorption

# Moisture content [%]: green wood of most species; the model's transport covers free water above
# fibre saturation, and its checks end at 120 % (judgement).
MOISTURE: Final = (0.0, 200.0)


@dataclass(frozen=True, slots=True)
class AtDepth:
    """Moisture [%] at a depth from the top face [m]."""

    depth: float
    moisture: float


class DepthShape(Shape):
    """Moisture at a depth."""

    makes = AtDepth

    depth = Length("depth from the top face", low=0.0, high=THICKNESS[1], required=True)
    moisture = Moisture("moisture content there", low=MOISTURE[0], high=MOISTURE[1], required=True)


def moisture_of(
    shell: float = 0.0, core: float = 0.0, depths: tuple[AtDepth, ...] = ()
) -> slab.ShellCore | slab.Depths:
    """Shell and core, or the moistures by depth."""
    if not depths:
        return slab.ShellCore(shell, core)
    return slab.Depths(tuple(one.depth for one in depths), tuple(one.moisture for one in depths))


class MoistureShape(Shape):
    """Moisture that differs through the thickness."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(moisture_of)

    rule = "give shell and core, or depths"

    shell = Moisture("moisture content at both faces", low=MOISTURE[0], high=MOISTURE[1])
    core = Moisture("moisture content in the middle", low=MOISTURE[0], high=MOISTURE[1])
    depths = Rows("moisture by depth, top to bottom", DepthShape, shortest=1, longest=100)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        parts = [name for name in ("shell", "core") if name in original]
        if "depths" in original and parts:
            raise ValidationError(f"depths and {' and '.join(parts)} given: give one of both")
        if "depths" not in original and len(parts) < 2:
            raise ValidationError("incomplete: give shell and core, or depths, or one number")


def moisture_field(meaning: str, **options: Any) -> Either:
    """Field of a moisture: one number, shell and core, or depths."""
    one = Moisture(meaning, low=MOISTURE[0], high=MOISTURE[1])
    return Either(meaning, one, MoistureShape, **options)


def sorption_field() -> Choice:
    """Field of how the wood came to its moisture, which it remembers."""
    return Choice(
        "how the wood came to its moisture: drying down to it, wetting up to it, or unknown, which "
        "lies between; mean follows the one mean sorption curve, without memory, for comparing",
        get_args(Sorption),
        load_default="drying",
        component="Sorption",
    )


def misplaced(moisture: slab.Moisture, thickness: float, name: str = "moisture") -> dict[str, Any]:
    """Faults of the depths of a moisture, a member called `name`, in a slab of a thickness [m]."""
    if not isinstance(moisture, slab.Depths):
        return {}
    before = (-1.0, *moisture.depth)
    wrong = {
        index: {"depth": [fault]}
        for index, depth in enumerate(moisture.depth)
        if (fault := beyond(depth, thickness) or _not_rising(before[index], depth))
    }
    return {name: {"depths": wrong}} if wrong else {}


def _not_rising(before: float, depth: float) -> str | None:
    if depth > before:
        return None
    return f"{1000 * depth:g} mm given: depths rise from the top face down"
