"""Schemas of what holds a slab (fixings, bars, a cup told in words) and the cautions that go along.

Shared by the questions fixings, stiffening, flattening and diagnosis.
"""

from __future__ import annotations

from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import Area, Length, SecondMoment, Stress, shown
from api.schema import Choice, Either, Part, Shape, Whole, one_of, way
from api.shapes import SpeciesFigures, SpeciesName, build_species
from model.answers import fixings, stiffening
from model.answers.fixings import Fastener
from model.answers.stiffening import Stiffeners
from model.behaviour import bars
from model.behaviour.bars import Bar
from model.behaviour.slab import Slab
from model.properties import strength

MOST_POINTS: Final = 40  # fixings told of at once (judgement)
SECTIONS: Final = ("flat", "angle", "channel", "tee", "timber")

STRUCTURE: Final = (
    "Not for structural or overhead use without a licensed engineer; where local codes ask for "
    "more or for something else, they win."
)
PEOPLE: Final = (
    "Keep glass, stone and people from under and over a slab that is being fixed, pulled flat or "
    "tried: a fixing or the wood can let go without warning."
)
CLAMPS: Final = (
    "Clamps, cauls and screws that pull a slab flat hold it like a spring: tighten and release "
    "them little by little in turn, stand aside, wear eye protection."
)
DUST: Final = "Drilling and grooving make dust and chips: wear eye protection and a dust mask."


def refuse_for_years(asked: dict[str, Any]) -> None:
    """Refuse what can't go on for years: a log for a room, a face that stays wet."""
    wrong: dict[str, Any] = {}
    if "log" in asked.get("room", {}):
        wrong["room"] = {"log": ["given: a log has no year; give months, a place or steady air"]}
    wet = {
        side: ["wet given: no face stays wet for years; write what is on it when it is dry"]
        for side in ("top", "bottom")
        if asked["faces"][side] == "wet"
        or (isinstance(asked["faces"][side], dict) and asked["faces"][side].get("finish") == "wet")
    }
    if wet:
        wrong["faces"] = wet
    if wrong:
        raise ValidationError(wrong)


class FastenerShape(Shape):
    """A fixing."""

    kind = Choice("what it is", fixings.KINDS, required=True)
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

    @validates_schema
    def _hole_takes_the_thread(self, data: Any, **kwargs: Any) -> None:
        if data.get("depth", 1.0) < data.get("thread", 0.0):
            raise ValidationError(
                f"{1e3 * data['depth']:g} mm given: the thread is {1e3 * data['thread']:g} mm "
                "long; the hole must take it",
                "depth",
            )


def build_fastener(asked: dict[str, Any]) -> Fastener:
    """The model's fixing of a `fastener` member."""
    return Fastener(**asked)


WALLED: Final = ("angle", "channel", "tee")
_OF: Final = ("slot", "material", "species", "modulus")
_METALS: Final = ("steel", "aluminium")


def _bars(*more: str) -> dict[str, Any]:
    """JSON Schema of the ways to tell a bar; `more` are members of any of them."""
    sizes, legs = ("section", "width", "height"), "legs"
    away = {legs: ("away",)}
    unnamed = {"required": ["section"], "not": {"required": ["material"]}}
    return {
        "oneOf": [
            way("channel", (*sizes, "wall"), (*_OF, legs, *more), section=("channel",)),
            way("angle or tee", (*sizes, "wall"), (*_OF, legs, *more), section=("angle", "tee"),
                **away),
            way("flat or timber", sizes, (*_OF, legs, *more), section=("flat", "timber"), **away),
            way("figures of its own", ("second_moment", "modulus", "area"),
                ("centroid", "slot", legs, *more), **away),
        ],
        # Of wood, its stiffness must be known.
        "anyOf": [
            {"required": ["species"]},
            {"required": ["modulus"]},
            {"required": ["material"], "properties": {"material": {"enum": list(_METALS)}}},
            unnamed | {"properties": {"section": {"enum": ["flat", *WALLED]}}},
        ],
    }  # fmt: skip


class BarShape(Shape):
    """A bar across the grain: a section with its sizes, or its figures."""

    together = _bars()

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
    species = Either(
        "the wood of a timber or wooden bar",
        SpeciesName("the wood by id, common or scientific name"),
        SpeciesFigures,
    )
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
    def _walls_fit(self, data: Any, **kwargs: Any) -> None:
        if "section" not in data or "wall" not in data:
            return
        try:
            _section(data, 1e9)
        except ValueError as error:
            raise ValidationError(str(error), "wall") from error

    @validates_schema
    def _wood_named(self, data: Any, **kwargs: Any) -> None:
        wooden = data.get("material", "wood" if data.get("section") == "timber" else "steel")
        if wooden == "wood" and "section" in data and not {"species", "modulus"} & data.keys():
            raise ValidationError(
                "missing: a wooden bar needs its species, such as white oak, or its modulus",
                "species",
            )


def _section(asked: dict[str, Any], modulus: float) -> Bar:
    kind, width, height = asked["section"], asked["width"], asked["height"]
    slot = asked["slot"]
    if kind == "flat":
        return bars.flat(width, height, modulus, slot)
    if kind == "timber":
        return bars.timber(width, height, modulus)
    if kind == "channel":
        return bars.channel(width, height, asked["wall"], modulus, slot, asked["legs"])
    made = bars.angle if kind == "angle" else bars.tee
    return made(width, height, asked["wall"], modulus, slot)


def build_bar(asked: dict[str, Any]) -> Bar:
    """The model's bar of the members of `BarShape`."""
    if "second_moment" in asked:
        return bars.given(
            asked["second_moment"], asked["modulus"], asked["area"], asked.get("centroid", 0.0)
        )
    material = asked.get("material", "wood" if asked["section"] == "timber" else "steel")
    if "modulus" in asked:
        modulus = asked["modulus"]
    elif material == "wood":
        modulus = strength.modulus_along(build_species(asked["species"]))
    else:
        modulus = bars.MODULI[material]
    return _section(asked, modulus)


class StiffenersShape(BarShape):
    """Bars across the underside, where they lie and how they are fixed."""

    together = {
        **_bars("count", "along", "fixings", "fastener", "recess"),
        "not": {"required": ["count", "along"]},
    }

    count = Whole("number of bars, evenly spaced; or give along", low=1, high=stiffening.MOST_BARS)
    along = Length(
        "their distances from one end of the slab",
        low=0.0,
        high=12.0,
        series=(1, stiffening.MOST_BARS),
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

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _placed_once(self, data: Any, original: Any, **kwargs: Any) -> None:
        if "count" in original and "along" in original:
            raise ValidationError("count and along given: give one of both")


def usual_count(length: float) -> int:
    """Bars at the usual spacing of 350 mm (practice), two at least."""
    return max(2, round(length / stiffening.USUAL_SPACING))


def build_stiffeners(asked: dict[str, Any], slab: Slab, name: str = "stiffeners") -> Stiffeners:
    """The model's bars of a member called `name`; refuses what does not fit the slab."""
    if slab.length is None:
        raise ValidationError({"slab": {"length": ["missing: bars need the slab's length"]}})
    length, width = slab.length, slab.width
    wrong: dict[str, list[str]] = {}
    along = tuple(float(one) for one in asked.get("along", ()))
    if not along:
        along = stiffening.evenly(asked.get("count", usual_count(length)), length)
    if max(along) > length:
        wrong["along"] = [f"{1e3 * max(along):g} mm given: the slab is {1e3 * length:g} mm long"]
    elif len(set(along)) < len(along):
        wrong["along"] = ["two bars at one place; give each place once"]
    across = tuple(float(one) for one in asked.get("fixings", ()))
    if not across:
        across = tuple(round(width * share, 6) for share in (0.1, 0.37, 0.63, 0.9))
    if max(across) > width:
        wrong["fixings"] = [f"{1e3 * max(across):g} mm given: the slab is {1e3 * width:g} mm wide"]
    elif len(set(across)) < len(across):
        wrong["fixings"] = ["two fixings at one place; give each place once"]
    bar, recess = build_bar(asked), asked["recess"]
    if recess >= slab.thickness:
        wrong["recess"] = [
            f"{1e3 * recess:g} mm given: the slab is {1e3 * slab.thickness:g} mm thick"
        ]
    elif recess and bar.width >= length / len(along):
        wrong["recess"] = [
            f"{1e3 * recess:g} mm given: {len(along)} grooves {1e3 * bar.width:g} mm wide leave no "
            f"wood between them in {1e3 * length:g} mm"
        ]
    if wrong:
        raise ValidationError({name: wrong})
    fastener = build_fastener(asked["fastener"]) if "fastener" in asked else None
    return Stiffeners(bar, along, across, fastener, recess)


class CupShape(Shape):
    """A cup as it is measured: how much, and which way."""

    amount = Length(
        "how far the middle lies from a straight edge over both edges",
        low=0.0,
        high=0.3,
        required=True,
    )
    shape = Choice("which way", ("edges up", "edges down"), required=True)


def build_cup(asked: dict[str, Any]) -> float:
    """A signed cup [m], positive edges up."""
    amount = float(asked["amount"])
    return amount if asked["shape"] == "edges up" else -amount


class KeyShape(Shape):
    """A butterfly key."""

    length = Length("across the check, tip to tip", low=0.01, high=0.5, required=True)
    waist = Length("narrowest, measured along the check", low=0.003, high=0.3, required=True)
    wing = Length("widest, measured along the check", low=0.004, high=0.5, required=True)
    thickness = Length("depth it is let in", low=0.003, high=0.3, required=True)
    species = Either(
        "its wood, by name or by its own figures",
        SpeciesName("the wood by id, common or scientific name"),
        SpeciesFigures,
        required=True,
    )

    @validates_schema
    def _wings_wider(self, data: Any, **kwargs: Any) -> None:
        if data["wing"] <= data["waist"]:
            raise ValidationError(
                f"{1e3 * data['wing']:g} mm given: a wing is wider than the waist, "
                f"{1e3 * data['waist']:g} mm",
                "wing",
            )
