"""What the questions about evidence share: readings of a meter, and figures with an open end.

Used by reading and readiness; the open end also by conditioning and diagnosis.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from api.quantities import Length, Mass, Moisture, Plain, Quantity, Temperature
from api.replies.text import duration
from api.schema import Choice, Flag, Shape, way
from api.shapes import MOISTURE, THICKNESS
from model.answers import reading
from model.answers.reading import OvenDry, Pin, SampleBoard, Surface
from model.basis import Note
from model.behaviour import year
from model.behaviour.slab import HIGHEST_MOISTURE, Slab
from model.spread import Figure, draw

PLACES: Final = ("top", "bottom", "edge", "end")
# Resistances from wet to bone-dry wood [ohm]; meters read 1e5 to 1e11 (judgement).
RESISTANCE: Final = (1.0, 1e15)
SPECIFIC_GRAVITY: Final = (0.1, 1.4)  # settings of a surface meter, balsa to lignum vitae


_BOTH: Final = ("kind", "depth", "place", "compensated")
_PIN: Final = (*_BOTH, "temperature", "scale", "a", "b", "intercept", "rate")


def meters(*more: str, weighed: bool = False) -> dict[str, Any]:
    """JSON Schema of the ways to tell a reading; `more` are members of any of them."""
    pins, surface = {"kind": ("pin",)}, {"kind": ("surface",)}
    ways = [
        way("a pin meter", ["value"], (*_PIN, *more), **pins),
        way("the resistance between pins", ["resistance"], (*_PIN, *more), **pins),
        way("a surface meter", ["kind", "value"], (*_BOTH, "density_setting", *more), **surface),
    ]
    if weighed:
        ways.append(way("a weight", ["weight"], ("step", *more)))
    together = {"intercept": ["rate"], "rate": ["intercept"]}
    return {"oneOf": ways, "dependentRequired": together}


class MeterShape(Shape):
    """One reading of a moisture meter."""

    together: ClassVar[dict[str, Any]] = meters()

    kind = Choice("kind of meter", ("pin", "surface"), load_default="pin")
    value = Moisture("what the meter showed", low=0.0, high=MOISTURE[1])
    resistance = Plain(
        "electrical resistance between the pins in ohms, instead of value",
        low=RESISTANCE[0],
        high=RESISTANCE[1],
    )
    depth = Length(
        "depth of the pins' bare tips, or how deep a surface meter sees; 0.21 of the thickness or "
        "20 mm at most when left out",
        low=0.0,
        high=THICKNESS[1],
    )
    place = Choice("which surface it was read on", PLACES, load_default="top")
    temperature = Temperature(
        "temperature of the wood; 20 °C is assumed when left out",
        low=reading.WOOD_TEMPERATURE[0],
        high=reading.WOOD_TEMPERATURE[1],
    )
    compensated = Flag("whether the meter has corrected for temperature itself", load_default=False)
    scale = Choice(
        "scale of a pin meter: douglas_fir, or species when it was set to this wood",
        ("douglas_fir", "species"),
        load_default="douglas_fir",
    )
    a = Plain("the wood's constant a on the Douglas-fir scale", low=0.2, high=5.0)
    b = Plain("the wood's constant b on the Douglas-fir scale", low=-20.0, high=20.0)
    intercept = Plain(
        "A of the wood's own line log10(log10 R + 1) = A + B M, R in megohms", low=-5.0, high=5.0
    )
    rate = Plain("B of that line, per % of moisture", low=-1.0, high=-0.001)
    density_setting = Plain(
        "specific gravity a surface meter was set to; that of this wood when left out",
        low=SPECIFIC_GRAVITY[0],
        high=SPECIFIC_GRAVITY[1],
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_figure(self, data: Any, original: Any, **kwargs: Any) -> None:
        self._figure_once(original)
        if ("intercept" in original) != ("rate" in original):
            raise ValidationError("intercept and rate belong together: give both or none")
        if original.get("kind") == "surface":
            wrong = [
                name
                for name in ("resistance", "temperature", "a", "b", "intercept", "rate", "scale")
                if name in original
            ]
            if wrong:
                raise ValidationError(f"{', '.join(wrong)} given for a surface meter: leave out")
            data.pop("scale", None)  # the default of pin meters
        elif "density_setting" in original:
            raise ValidationError("density_setting given for a pin meter: leave it out")

    def _figure_once(self, original: Any) -> None:
        given = [name for name in ("value", "resistance") if name in original]
        if len(given) != 1:
            told = "both given" if given else "missing"
            raise ValidationError(f"value and resistance: {told}; give one of them")


def build_meter(asked: dict[str, Any], thickness: float) -> Pin | Surface:
    """The model's reading of the members of `MeterShape`."""
    if asked["kind"] == "surface":
        # Surface meters see 5 to 25 mm, never past the middle here (judgement).
        sees = asked.get("depth", min(0.02, 0.5 * thickness))
        return Surface(asked["value"], sees, asked["place"], asked.get("density_setting"))
    return Pin(
        value=asked.get("value"),
        resistance=asked.get("resistance"),
        depth=asked.get("depth"),
        place=asked["place"],
        temperature=asked.get("temperature"),
        compensated=asked["compensated"],
        species_set=asked["scale"] == "species",
        a=asked.get("a"),
        b=asked.get("b"),
        intercept=asked.get("intercept"),
        rate=asked.get("rate"),
    )


class OvenDryShape(Shape):
    """A piece weighed wet and oven-dry."""

    together: ClassVar[dict[str, Any]] = {
        "dependentRequired": {"depth_from": ["depth_to"], "depth_to": ["depth_from"]}
    }

    wet = Mass("its mass as taken", low=1e-5, high=100.0, required=True)
    dry = Mass("its mass oven-dry", low=1e-5, high=100.0, required=True)
    step = Mass("smallest step of the scale", low=0.0, high=1.0, load_default=0.0)
    depth_from = Length(
        "depth under the top face where the piece begins; the whole thickness when left out",
        low=0.0,
        high=THICKNESS[1],
    )
    depth_to = Length("depth where it ends", low=0.0, high=THICKNESS[1])

    @validates_schema
    def _possible(self, data: Any, **kwargs: Any) -> None:
        if data["dry"] > data["wet"]:
            raise ValidationError(
                f"{data['dry']:.4g} kg given: heavier than wet, {data['wet']:.4g} kg, but the oven "
                "takes water away; write the lesser mass as dry",
                "dry",
            )
        if data["wet"] > (1.0 + HIGHEST_MOISTURE / 100.0) * data["dry"]:
            raise ValidationError(
                f"more than {HIGHEST_MOISTURE:g} % of the dry mass would be water: no wood holds "
                "that much",
                "wet",
            )
        if ("depth_from" in data) != ("depth_to" in data):
            raise ValidationError("depth_from and depth_to belong together: give both or none")
        if "depth_from" in data and data["depth_from"] > data["depth_to"]:
            raise ValidationError("deeper than depth_to", "depth_from")


class SampleBoardShape(Shape):
    """A sample board by its weight."""

    weight = Mass("its weight now", low=0.01, high=1000.0, required=True)
    start_weight = Mass("its weight when the section was cut", low=0.01, high=1000.0, required=True)
    section_moisture = Moisture(
        "moisture of the section then, by oven", low=0.0, high=MOISTURE[1], required=True
    )

    @validates_schema
    def _possible(self, data: Any, **kwargs: Any) -> None:
        dry = data["start_weight"] / (1.0 + data["section_moisture"] / 100.0)
        if data["weight"] < dry * (1.0 - 1e-9):
            raise ValidationError(
                f"{data['weight']:.4g} kg given: lighter than the board would be oven-dry, "
                f"{dry:.4g} kg by its start weight and section",
                "weight",
            )
        if data["weight"] > (1.0 + HIGHEST_MOISTURE / 100.0) * dry:
            raise ValidationError(
                f"{data['weight']:.4g} kg given: more than {HIGHEST_MOISTURE:g} % moisture on "
                f"{dry:.4g} kg oven-dry; no wood holds that much",
                "weight",
            )


def build_oven(asked: dict[str, Any]) -> OvenDry:
    """The model's oven-dry pair."""
    return OvenDry(
        asked["wet"], asked["dry"], asked["step"], asked.get("depth_from"), asked.get("depth_to")
    )


def build_board(asked: dict[str, Any]) -> SampleBoard:
    """The model's sample board."""
    return SampleBoard(asked["weight"], asked["start_weight"], asked["section_moisture"])


def is_reference_wood(slab: Slab) -> bool:
    """Whether the wood is the one whose scale pin meters carry."""
    return "douglas-fir" in slab.species.id


def too_deep(depth: float, thickness: float) -> str | None:
    """Fault of a depth beyond the slab, None if it lies within."""
    if depth <= thickness * (1.0 + 1e-9):
        return None
    return f"{1000 * depth:g} mm given: the slab is {1000 * thickness:g} mm thick"


def diffusion_at_20(slab: Slab) -> float:
    """Diffusion coefficient across the grain at 10 % and 20 degC of the species' middle [m2/s]."""
    return float(year.wood_of(slab, draw(0)).diffusion(20.0)[0])


def refuse_wet(faces: dict[str, Any], name: str = "faces") -> None:
    """Refuse a face that stays wet for as long as these questions look."""
    wet = {
        side: ["wet given: no face stays wet that long; write what is on it when it is dry"]
        for side in ("top", "bottom")
        if "wet"
        in (faces[side], faces[side].get("finish") if isinstance(faces[side], dict) else "")
    }
    if wet:
        raise ValidationError({name: wet})


def once(notes: list[Note]) -> list[Note]:
    """Notes without repetition, in order."""
    return list(dict.fromkeys(notes))


def plainly(figure: Figure, asked: dict[str, Any]) -> Figure:
    """A figure as asked: without its band when spread is none."""
    return figure if asked["spread"] == "sampled" else Figure(figure.value)


def opened(figure: Figure | None, tag: Callable[[Any], Quantity]) -> Quantity | None:
    """A tagged figure whose upper end may be open, null then; null altogether if there is none."""
    if figure is None:
        return None
    if figure.high is None or math.isfinite(figure.high):
        return tag(figure)
    low = None if figure.low is None or not math.isfinite(figure.low) else figure.low
    return tag({"value": figure.value, "low": low, "high": None})


_OPEN: Final = {"type": ["number", "null"]}
OPEN_FIGURE_SCHEMA: Final[dict[str, Any]] = {
    "anyOf": [
        {"type": "null"},
        {"type": "number"},
        {
            "type": "object",
            "properties": {"value": {"type": "number"}, "low": _OPEN, "high": _OPEN},
            "required": ["value", "low", "high"],
        },
    ]
}


def open_duration(figure: Figure) -> str:
    """A time in words; an open end is said.

    >>> open_duration(Figure(36.0, 20.0, float("inf")))
    'about 5 weeks, 3 or more'
    """
    if figure.high is None or figure.low is None:
        return duration(figure.value)
    if math.isfinite(figure.high):
        return duration(figure.value, figure.low, figure.high)
    steps = ((1.0, 14.0), (7.0, 183.0), (30.44, 913.0), (365.2425, math.inf))
    size = next(days for days, most in steps if figure.value < most)
    return f"{duration(figure.value)}, {round(figure.low / size)} or more"
