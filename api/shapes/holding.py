"""What holds a slab: fixings, bars, keys, and a cup told in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar, Final, Literal

from marshmallow import ValidationError, validates_schema

from api.quantities import Area, Length, SecondMoment, Stress, shown
from api.schema import Choice, Flag, Part, Shape, Whole, one_of
from api.shapes.slab import SpeciesField
from model.behaviour import bars, stiffeners
from model.behaviour.bars import Bar
from model.behaviour.keys import Key
from model.behaviour.slab import Slab
from model.behaviour.stiffeners import MOST_BARS, Stiffeners
from model.properties import strength
from model.properties.fasteners import KINDS, Fastener
from model.properties.species import Species

FOR_YEARS: Final = "no face stays wet for years"
NO_YEAR: Final = "this log does not cover a year"
MOST_POINTS: Final = 40  # fixings told of at once (judgement)
SECTIONS: Final = ("flat", "angle", "channel", "tee", "timber")


class FastenerShape(Shape):
    """A fixing."""

    makes = Fastener

    kind = Choice("what it is", KINDS, required=True)
    diameter = Length(
        "diameter of the screw or nail; outer thread of an insert",
        low=0.001,
        high=0.030,
        required=True,
    )
    thread = Length(
        "length of thread in the slab, the point not counted", low=0.003, high=0.250, required=True
    )
    grain = Choice("what it is driven into", ("side", "end"), load_default="side")
    shank = Length(
        "diameter of what passes through the slot; the bolt of an insert", low=0.001, high=0.030
    )
    depth = Length("how deep its hole reaches; the thread if left out", low=0.003, high=0.300)
    head = Length(
        "diameter of its head or washer; twice what passes through when left out",
        low=0.002,
        high=0.1,
    )

    @validates_schema
    def _hole_takes_the_thread(self, data: Any, **kwargs: Any) -> None:
        if data.get("depth", 1.0) < data.get("thread", 0.0):
            raise ValidationError(
                f"{1e3 * data['depth']:g} mm given: the thread is {1e3 * data['thread']:g} mm "
                "long; the hole must take it",
                "depth",
            )


WALLED: Final = ("angle", "channel", "tee")


def _bar(
    slot: float,
    legs: Literal["away", "into"],
    section: str | None = None,
    width: float = 0.0,
    height: float = 0.0,
    wall: float = 0.0,
    material: str | None = None,
    species: Species | None = None,
    modulus: float | None = None,
    second_moment: float | None = None,
    area: float = 0.0,
    centroid: float = 0.0,
) -> Bar:
    """The bar of a section with its sizes, or of figures."""
    if second_moment is not None:
        assert modulus is not None
        return bars.given(second_moment, modulus, area, centroid)
    if modulus is None:
        material = material or ("wood" if section == "timber" else "steel")
        modulus = bars.MODULI.get(material) or _along(species)
    if section == "flat":
        return bars.flat(width, height, modulus, slot)
    if section == "timber":
        if species is None:
            return bars.timber(width, height, modulus)
        dense = strength.characteristic_density(species.specific_gravity)
        return bars.timber(width, height, modulus, density=dense)
    try:
        if section == "channel":
            return bars.channel(width, height, wall, modulus, slot, legs)
        made = bars.angle if section == "angle" else bars.tee
        return made(width, height, wall, modulus, slot)
    except ValueError as error:
        raise ValidationError(str(error), "wall") from error


def _along(species: Species | None) -> float:
    assert species is not None
    return strength.modulus_along(species)


class BarShape(Shape):
    """A bar across the grain: a section with its sizes, or its figures."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(_bar)
    rule = (
        "give section with width and height (an angle, channel or tee with wall too), or "
        "second_moment with modulus and area; wood needs species or modulus"
    )

    section = Choice("its section; a channel lies with its web on the slab", SECTIONS)
    width = Length("width against the slab", low=0.003, high=0.5)
    height = Length("height off the slab, over all", low=0.001, high=0.5)
    wall = Length("thickness of the walls of an angle, channel or tee", low=0.0005, high=0.05)
    slot = Length("width of the slots in it; 0 for none", low=0.0, high=0.1, load_default=0.0)
    legs = Choice(
        "which way a channel's legs point: away from the slab, or into grooves in it",
        ("away", "into"),
        load_default="away",
    )
    material = Choice(
        "what it is made of; steel, or wood for a timber, when left out",
        ("steel", "aluminium", "wood"),
    )
    species = SpeciesField("the wood of a timber or wooden bar")
    modulus = Stress("its modulus, instead of a material", low=1e8, high=5e11)
    second_moment = SecondMoment(
        "its second moment of area, instead of a section: a frame or cabinet", low=1e-13, high=1e-2
    )
    area = Area("its area, with second_moment", low=1e-7, high=1.0)
    centroid = Length(
        "distance of its centroid from the slab, with second_moment", low=0.0, high=0.5
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("section", "second_moment"), "the bar")
        if "second_moment" in original:
            told, wanted = "second_moment", ["modulus", "area"]
            idle = ["width", "height", "wall", "material", "species"]
        else:
            told, wanted = f"a section {shown(original['section'])}", ["width", "height"]
            idle = ["area", "centroid"]
            (wanted if original["section"] in WALLED else idle).append("wall")
        missing = [name for name in wanted if name not in original]
        extra = [name for name in idle if name in original]
        if missing:
            raise ValidationError(f"{told} needs {' and '.join(missing)} too: write them beside it")
        if extra:
            raise ValidationError(f"{told} has no use for {', '.join(extra)}: leave out")

    @validates_schema
    def _cuts_possible(self, data: Any, **kwargs: Any) -> None:
        if data.get("legs") == "into" and data.get("section") != "channel":
            raise ValidationError("into given: a channel alone has legs to let in", "legs")
        if data.get("slot") and (data.get("section") == "timber" or "second_moment" in data):
            raise ValidationError("slots are reckoned in a metal section alone; leave out", "slot")

    @validates_schema
    def _wood_named(self, data: Any, **kwargs: Any) -> None:
        wooden = data.get("material", "wood" if data.get("section") == "timber" else "steel")
        if wooden == "wood" and "section" in data and not {"species", "modulus"} & data.keys():
            raise ValidationError(
                "missing: a wooden bar needs its species, such as white oak, or its modulus",
                "species",
            )


@dataclass(frozen=True, slots=True)
class Bars:
    """Bars across the underside as told: where they lie and how they are fixed may be left out."""

    bar: Bar
    recess: float
    count: int | None = None
    along: tuple[float, ...] = ()
    across: tuple[float, ...] = ()
    fastener: Fastener | None = None
    length: float | None = None
    shimmed: bool = False

    def faults(self, slab: Slab, name: str = "bars") -> dict[str, Any]:
        """What does not fit a slab, of a member called `name`."""
        if slab.length is None:
            return {"slab": {"length": ["missing: bars need the slab's length"]}}
        wrong: dict[str, list[str]] = {}
        along, across = self._along(slab), self._across(slab)
        if max(along) > slab.length:
            wrong["along"] = [
                f"{1e3 * max(along):g} mm given: the slab is {1e3 * slab.length:g} mm long"
            ]
        elif len(set(along)) < len(along):
            wrong["along"] = ["two bars at one place; give each place once"]
        if max(across) > slab.width:
            wrong["fixings"] = [
                f"{1e3 * max(across):g} mm given: the slab is {1e3 * slab.width:g} mm wide"
            ]
        elif self.length is not None and self.length > slab.width * (1.0 + 1e-9):
            wrong["length"] = [
                f"{1e3 * self.length:g} mm given: the slab is {1e3 * slab.width:g} mm wide"
            ]
        elif self.length is not None and self._off_the_bar(slab.width, across):
            wrong["length"] = [
                f"{1e3 * self.length:g} mm given: in the middle of {1e3 * slab.width:g} mm it does "
                f"not reach the fixings at {1e3 * min(across):g} and {1e3 * max(across):g} mm"
            ]
        elif len(set(across)) < len(across):
            wrong["fixings"] = ["two fixings at one place; give each place once"]
        recess, each = self.recess, slab.length / len(along)
        if recess >= slab.thickness:
            wrong["recess"] = [
                f"{1e3 * recess:g} mm given: the slab is {1e3 * slab.thickness:g} mm thick"
            ]
        elif recess and self.bar.width >= each:
            wrong["recess"] = [
                f"{1e3 * recess:g} mm given: {len(along)} grooves {1e3 * self.bar.width:g} mm "
                f"wide leave no wood between them in {1e3 * slab.length:g} mm"
            ]
        return {name: wrong} if wrong else {}

    def on(self, slab: Slab) -> Stiffeners:
        """The model's bars on a slab that they fit."""
        return Stiffeners(
            self.bar,
            self._along(slab),
            self._across(slab),
            self.fastener,
            self.recess,
            self.length,
            self.shimmed,
        )

    def _off_the_bar(self, width: float, across: tuple[float, ...]) -> bool:
        assert self.length is not None
        start = 0.5 * (width - self.length) * (1.0 - 1e-9)
        return min(across) < start or max(across) > width - start

    def _along(self, slab: Slab) -> tuple[float, ...]:
        assert slab.length is not None
        return self.along or stiffeners.placed(slab.length, self.count)

    def _across(self, slab: Slab) -> tuple[float, ...]:
        return self.across or stiffeners.usual_fixings(slab.width)


_OF_BARS: Final[tuple[str, ...]] = ("count", "fastener", "recess", "length", "shimmed")


class BarsShape(BarShape):
    """Bars across the underside, where they lie and how they are fixed."""

    makes: ClassVar[Callable[..., Any]] = Bars
    rule = (
        "give section with width and height (an angle, channel or tee with wall too), or "
        "second_moment with modulus and area; wood needs species or modulus; give count or "
        "along, or neither"
    )

    count = Whole("number of bars, evenly spaced; or give along", low=1, high=MOST_BARS)
    along = Length(
        "their distances from one end of the slab",
        low=0.0,
        high=12.0,
        series=(1, MOST_BARS),
    )
    fixings = Length(
        "the fixings' distances from one edge; four, evenly, when left out",
        low=0.0,
        high=3.0,
        series=(2, MOST_POINTS),
    )
    fastener = Part(FastenerShape, "what fixes them, for the use of its withdrawal value")
    recess = Length(
        "depth of their grooves in the underside; 0 surface mounted",
        low=0.0,
        high=0.25,
        load_default=0.0,
    )
    length = Length(
        "length of each, in the middle of the width; 25 mm short of both edges when left out",
        low=0.02,
        high=3.0,
    )
    shimmed = Flag(
        "whether they are packed out to the cup of the day, so that they do not draw it flat",
        load_default=False,
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _placed_once(self, data: Any, original: Any, **kwargs: Any) -> None:
        if "count" in original and "along" in original:
            raise ValidationError("count and along given: give one of both")

    def arguments(self, members: dict[str, Any]) -> dict[str, Any]:
        """Those of the bars; what tells the bar itself makes it."""
        places = {
            name: tuple(float(one) for one in members.pop(told, ()))
            for name, told in (("along", "along"), ("across", "fixings"))
        }
        own = {name: members.pop(name) for name in _OF_BARS if name in members}
        return {"bar": _bar(**members), **own, **places}


def _signed_cup(amount: float, shape: str) -> float:
    return amount if shape == "edges up" else -amount


class CupShape(Shape):
    """A cup as it is measured: how much, and which way.

    It is made signed, edges up positive [m].
    """

    makes = staticmethod(_signed_cup)

    amount = Length(
        "how far the middle lies from a straight edge over both edges",
        low=0.0,
        high=0.3,
        required=True,
    )
    shape = Choice("which way", ("edges up", "edges down"), required=True)


def _key(
    length: float,
    waist: float,
    wing: float,
    thickness: float,
    species: Species,
    grain: str = "across",
) -> Key:
    """The key; its wings are wider than its waist."""
    if wing <= waist:
        raise ValidationError(
            f"{1e3 * wing:g} mm given: a wing is wider than the waist, {1e3 * waist:g} mm", "wing"
        )
    return Key(length, waist, wing, thickness, species, grain == "across")


class KeyShape(Shape):
    """A butterfly key."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(_key)

    length = Length("across the check, tip to tip", low=0.01, high=0.5, required=True)
    waist = Length("narrowest, measured along the check", low=0.003, high=0.3, required=True)
    wing = Length("widest, measured along the check", low=0.004, high=0.5, required=True)
    thickness = Length("depth it is let in", low=0.003, high=0.3, required=True)
    species = SpeciesField("its wood, by name or by its own figures", required=True)
