"""A slab: its wood, its size, how the rings lie in it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import Length, Moisture, Percent, Plain, Stress, shown
from api.schema import Choice, Either, Flag, Name, Part, Shape, no_such, one_of
from api.units import System
from model.behaviour import brought, rings
from model.behaviour.brought import Brought, Ripped
from model.behaviour.slab import GRAIN, BarkSide, Slab
from model.properties import species
from model.properties.species import Species

# Sizes of a slab [m]: veneer to beam (judgement).
WIDTH: Final = (0.01, 3.0)
THICKNESS: Final = (0.003, 0.3)
LENGTH_ALONG: Final = (0.01, 12.0)
# What a maker calls flat, rift and quarter-sawn, in degrees of ring angle (common practice), and
# how far a ring angle or a pith may be off as it is told (judgement).
SAWN: Final = {"flat": (0.0, 30.0), "rift": (30.0, 60.0), "quarter": (60.0, 90.0)}
TOLD_WITHIN: Final = 10.0  # degrees


class SpeciesName(Name):
    """A wood by any of its names."""

    form = "the name of a wood, such as American elm"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            return species.find(text)
        except species.NoShrinkage as known:
            raise ValidationError(
                f"{shown(text)} given: {known.wood.name} ({known.wood.scientific_name}) is known "
                f"by name alone, {known.wood.note}; give radial, tangential and specific_gravity "
                "of your own, or a wood that moves like it"
            ) from None
        except species.UnknownName as unknown:
            raise ValidationError(
                f"{shown(text)} given: {no_such('wood', unknown.candidates)}; /v1/species lists "
                "them, or give radial, tangential and specific_gravity of your own"
            ) from None

    def echo(self, value: Any, system: System) -> Any:
        """Its id."""
        return value.id


class SpeciesFigures(Shape):
    """A wood by its own figures."""

    makes = species.from_figures
    told_as = "an object with its own radial, tangential and specific_gravity"

    name = Name("what to call it", load_default="wood of given figures")
    radial = Percent(
        "radial shrinkage, green to oven-dry",
        low=species.VALID_SHRINKAGE[0],
        high=species.VALID_SHRINKAGE[1],
        required=True,
    )
    tangential = Percent(
        "tangential shrinkage, green to oven-dry",
        low=species.VALID_SHRINKAGE[0],
        high=species.VALID_SHRINKAGE[1],
        required=True,
    )
    specific_gravity = Plain(
        "oven-dry mass over volume at 12 % moisture, relative to water",
        low=species.VALID_SPECIFIC_GRAVITY[0],
        high=species.VALID_SPECIFIC_GRAVITY[1],
        required=True,
    )
    shrinkage_starts = Moisture(
        "moisture content below which it shrinks",
        low=species.VALID_START[0],
        high=species.VALID_START[1],
        load_default=species.FIBRE_SATURATION,
    )
    transport_group = Choice(
        "group of woods that moisture moves through alike; judged by specific gravity if left out",
        [group.id for group in species.transport_groups()],
    )
    is_softwood = Flag("whether it is a softwood", load_default=False)
    modulus = Stress("stiffness along the grain at 12 %", low=1e9, high=4e10)
    tension_across = Stress("tensile strength across the grain at 12 %", low=2e5, high=3e7)
    shear_along = Stress("shear strength along the grain at 12 %", low=5e5, high=5e7)
    compression_across = Stress("compressive strength across the grain at 12 %", low=2e5, high=1e8)


class SpeciesField(Either):
    """Field of a wood, by name or by its own figures."""

    def __init__(self, meaning: str, **options: Any) -> None:
        name = SpeciesName(
            "the wood by id, common, scientific or trade name in one of ten languages; a name of "
            "several woods (oak) is answered with all of them"
        )
        super().__init__(meaning, name, SpeciesFigures, **options)


@dataclass(frozen=True, slots=True)
class Pith:
    """Where the pith lies [m]: under the face away from the bark, and off the middle."""

    below: float
    across: float


class PithShape(Shape):
    """Where the pith lies."""

    makes = Pith

    below = Length(
        "distance of the pith under the face away from the bark (the lower face when the bark side "
        "is up); negative inside the slab",
        low=-0.149,  # m; above it is the middle of the thickest slab
        high=5.0,
        required=True,
    )
    across = Length("offset of the pith from the middle", low=-1.5, high=1.5, load_default=0.0)


@dataclass(frozen=True, slots=True)
class Slice:
    """A slice across the grain, split at mid-thickness [m]."""

    gap: float
    length: float

    def of(self, thickness: float) -> Brought:
        """What it tells of a slab of a thickness [m]."""
        return brought.by_slice(self.gap, self.length, thickness)


@dataclass(frozen=True, slots=True)
class Prong:
    """A prong along a face, its neighbours broken out [m]."""

    bends: float
    length: float
    prong: float

    def of(self, thickness: float) -> Brought:
        """What it tells of a slab of a thickness [m]."""
        if self.prong > 0.5 * thickness:
            raise ValidationError(
                {
                    "stress": {
                        "prong": {
                            "thickness": [
                                f"{1e3 * self.prong:g} mm given: more than half of the slab's "
                                f"{1e3 * thickness:g} mm"
                            ]
                        }
                    }
                }
            )
        return brought.by_prong(self.bends, self.length, self.prong, thickness)


@dataclass(frozen=True, slots=True)
class Stressed:
    """Stress brought along: through the thickness by one of both, and along the grain."""

    told: Slice | Prong | None
    ripped: Ripped | None

    def of(self, thickness: float) -> Brought | None:
        """What it tells of a slab of a thickness [m]; refuses what no wood bears."""
        if self.told is None:
            return None
        made = self.told.of(thickness)
        if abs(made.skin) > brought.MOST:
            way = "slice" if isinstance(self.told, Slice) else "prong"
            told = (
                f"a strain of {abs(made.skin):.2g} at the faces: no wood bears more than "
                f"{brought.MOST:g} across the grain; look at the sizes"
            )
            raise ValidationError({"stress": {way: [told]}})
        return made


class SliceShape(Shape):
    """A slice 10 to 20 mm along the grain, split at mid-thickness and looked at at once."""

    makes = Slice

    gap = Length(
        "between its halves laid together; positive where they are hollow toward the cut, as of a "
        "casehardened slab, negative where they are round",
        low=-0.05,
        high=0.05,
        required=True,
    )
    length = Length("of the slice, along the slab's width", low=0.02, high=1.0, load_default=0.1)


class ProngShape(Shape):
    """A prong sawn along a face, its neighbours broken out, looked at at once."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(
        lambda bends, length, thickness: Prong(bends, length, thickness)
    )

    bends = Length(
        "how far its tip moved; positive inward, as of a casehardened slab",
        low=-0.05,
        high=0.05,
        required=True,
    )
    length = Length("of the prong", low=0.02, high=1.0, required=True)
    thickness = Length("of the prong", low=0.001, high=0.1, required=True)


class RippedShape(Shape):
    """A strip ripped off along an edge, looked at at once."""

    makes = Ripped

    bow = Length(
        "its bow: the gap in the middle of its length; positive away from the slab",
        low=-0.5,
        high=0.5,
        required=True,
    )
    length = Length("of the strip", low=0.1, high=12.0, required=True)
    breadth = Length("of the strip, in the direction it bowed", low=0.003, high=0.3, required=True)

    @validates_schema
    def _possible(self, data: Any, **kwargs: Any) -> None:
        if abs(data["bow"]) > 0.1 * data["length"]:
            raise ValidationError("more than a tenth of its length: no strip bows that much", "bow")


def _stressed(
    slice: Slice | None = None, prong: Prong | None = None, ripped_strip: Ripped | None = None
) -> Stressed:
    return Stressed(slice or prong, ripped_strip)


class BroughtShape(Shape):
    """Stress a slab brings along from its drying."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(_stressed)
    rule = "give slice or prong, or ripped_strip, or one of the first two and the last"

    slice = Part(SliceShape, "a slice split at mid-thickness")
    prong = Part(ProngShape, "a prong along a face")
    ripped_strip = Part(RippedShape, "a strip ripped off, of stress along the grain")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        across = "slice" in original or "prong" in original
        one_of(
            original,
            ("slice", "prong") if across else ("slice", "prong", "ripped_strip"),
            "the stress",
        )


class SlabShape(Shape):
    """A slab of one piece of wood."""

    species = SpeciesField("the wood, by name or by its own figures", required=True)
    width = Length("width, across the grain", low=WIDTH[0], high=WIDTH[1], required=True)
    thickness = Length("thickness", low=THICKNESS[0], high=THICKNESS[1], required=True)
    length = Length("length, along the grain", low=LENGTH_ALONG[0], high=LENGTH_ALONG[1])
    grain = Choice("how it is sawn; ring_angle or pith say it better", tuple(GRAIN))
    ring_angle = Plain(
        "angle between ring tangent and width in degrees: flat 0, quarter 90", low=0.0, high=90.0
    )
    pith = Part(PithShape, "where the pith lies, which says most of the rings")
    stress = Part(
        BroughtShape, "stress it brings along, by a slice, prong or ripped strip; none if left out"
    )
    bark_side = Choice("face that was nearer the bark; either when left out", ("top", "bottom"))

    @staticmethod
    def makes(
        species: Species,
        width: float,
        thickness: float,
        bark_side: BarkSide | None = None,
        length: float | None = None,
        grain: str | None = None,
        ring_angle: float | None = None,
        pith: Pith | None = None,
        stress: Stressed | None = None,
    ) -> Slab:
        """The slab; of what is said of the rings the most exact counts, the rest must agree."""
        if pith is not None:
            _check_pith(pith, thickness)
        told: dict[str, tuple[float, float]] = {}
        if grain is not None:
            told["grain"] = SAWN[grain]
        if ring_angle is not None:
            told["ring_angle"] = (ring_angle - TOLD_WITHIN, ring_angle + TOLD_WITHIN)
        if pith is not None:
            angle = rings.angle_at_middle(pith.below, pith.across, thickness)
            told["pith"] = (angle - TOLD_WITHIN, angle + TOLD_WITHIN)
        _refuse_unlike(told)
        exact = GRAIN[grain] if ring_angle is None and grain is not None else ring_angle
        return Slab(
            species=species,
            width=width,
            thickness=thickness,
            length=length,
            ring_angle=exact if pith is None else None,
            pith_below=None if pith is None else pith.below,
            pith_across=0.0 if pith is None else pith.across,
            bark_side=bark_side or "top",
            bark_known=bark_side is not None,
            brought=None if stress is None else stress.of(thickness),
            ripped=None if stress is None else _checked(stress.ripped, width),
        )


def _checked(ripped: Ripped | None, width: float) -> Ripped | None:
    if ripped is not None and ripped.breadth > 0.5 * width:
        told = (
            f"{1e3 * ripped.breadth:g} mm given: more than half of the slab's {1e3 * width:g} mm; "
            "the slab is told with the size it has before the strip leaves it"
        )
        raise ValidationError({"stress": {"ripped_strip": {"breadth": [told]}}})
    return ripped


def _check_pith(pith: Pith, thickness: float) -> None:
    if pith.below > -0.5 * thickness:
        return
    raise ValidationError(
        {
            "pith": {
                "below": [
                    f"{1000 * pith.below:g} mm given: the pith would lie above the middle of the "
                    "slab, and the other face be nearer the bark; write more than "
                    f"{-500 * thickness:g} mm, or turn bark_side"
                ]
            }
        }
    )


def _refuse_unlike(told: dict[str, tuple[float, float]]) -> None:
    """Refuse statements on the rings that do not agree, with how far apart they are."""
    highest = max(told, key=lambda name: told[name][0], default="")
    lowest = min(told, key=lambda name: told[name][1], default="")
    if not told or told[highest][0] <= told[lowest][1]:
        return
    ranges = ", ".join(
        f"{name} {max(low, 0.0):.0f} to {min(high, 90.0):.0f}" for name, (low, high) in told.items()
    )
    apart = told[highest][0] - told[lowest][1]
    raise ValidationError(
        f"the run of the rings is given more than once, and {highest} and {lowest} are "
        f"{apart:.0f} degrees apart: the ring angle in the middle would be {ranges} degrees; give "
        "one of them, or what agrees"
    )


def slab_field(meaning: str, **options: Any) -> Part:
    """Field of a slab."""
    return Part(SlabShape, meaning, **options)


def beyond(depth: float, thickness: float) -> str | None:
    """Fault of a depth beyond the slab, None if it lies within."""
    if depth <= thickness * (1.0 + 1e-9):
        return None
    return f"{1000 * depth:g} mm given: the slab is {1000 * thickness:g} mm thick"
