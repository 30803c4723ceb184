"""What was read of a slab: by a moisture meter, an oven, a scale."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar, Final, get_args

from marshmallow import ValidationError, validates_schema

from api.quantities import Length, Mass, Moisture, Plain, Temperature
from api.schema import Choice, Flag, Shape
from api.shapes.moisture import MOISTURE
from api.shapes.slab import THICKNESS, beyond
from model.behaviour.slab import HIGHEST_MOISTURE
from model.properties.meters import WOOD_TEMPERATURE, OvenDry, Pin, Place, SampleBoard, Surface

# Of a slab that moved: what is beyond no wood does (judgement).
WETTEST_NOW: Final = 40.0  # % M; all woods begin to shrink below it
WETTEST_BEFORE: Final = 60.0  # % M; free water beyond it only lengthens the drying (judgement)
MOST_CUP: Final = 0.06  # of the width: 50 mm over 860; more is no cup but a check or a break
MOST_MOVED: Final = 0.2  # of the width; no wood moves by more
PLACES: Final[tuple[Place, ...]] = get_args(Place)
# Resistances from wet to bone-dry wood [ohm]; meters read 1e5 to 1e11 (judgement).
RESISTANCE: Final = (1.0, 1e15)
SPECIFIC_GRAVITY: Final = (0.1, 1.4)  # settings of a surface meter, balsa to lignum vitae


def meter(
    kind: str = "pin",
    compensated: bool = False,
    place: Place = "top",
    value: float | None = None,
    resistance: float | None = None,
    depth: float | None = None,
    temperature: float | None = None,
    scale: str = "douglas_fir",
    meter_a: float | None = None,
    meter_b: float | None = None,
    meter_intercept: float | None = None,
    meter_rate: float | None = None,
    density_setting: float | None = None,
) -> Pin | Surface:
    """The model's reading."""
    if kind == "surface":
        assert value is not None
        return Surface(value, depth, place, density_setting)
    return Pin(
        value=value,
        resistance=resistance,
        depth=depth,
        place=place,
        temperature=temperature,
        compensated=compensated,
        species_set=scale == "species",
        a=meter_a,
        b=meter_b,
        intercept=meter_intercept,
        rate=meter_rate,
    )


class MeterShape(Shape):
    """One reading of a moisture meter."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(meter)

    rule = (
        "give value or resistance, of a surface meter value; temperature, scale and the "
        "meter_ constants belong to a pin meter, density_setting to a surface meter; "
        "meter_intercept and meter_rate go together"
    )

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
        low=WOOD_TEMPERATURE[0],
        high=WOOD_TEMPERATURE[1],
    )
    compensated = Flag("whether the meter has corrected for temperature itself", load_default=False)
    scale = Choice(
        "scale of a pin meter: douglas_fir, or species when it was set to this wood",
        ("douglas_fir", "species"),
        load_default="douglas_fir",
    )
    meter_a = Plain("the wood's constant a on the Douglas-fir scale", low=0.2, high=5.0)
    meter_b = Plain("the wood's constant b on the Douglas-fir scale", low=-20.0, high=20.0)
    meter_intercept = Plain(
        "A of the wood's own line log10(log10 R + 1) = A + B M, R in megohms", low=-5.0, high=5.0
    )
    meter_rate = Plain("B of that line, per % of moisture", low=-1.0, high=-0.001)
    density_setting = Plain(
        "specific gravity a surface meter was set to; that of this wood when left out",
        low=SPECIFIC_GRAVITY[0],
        high=SPECIFIC_GRAVITY[1],
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_figure(self, data: Any, original: Any, **kwargs: Any) -> None:
        self._figure_once(original)
        if ("meter_intercept" in original) != ("meter_rate" in original):
            raise ValidationError(
                "meter_intercept and meter_rate belong together: give both or none"
            )
        if original.get("kind") == "surface":
            wrong = [
                name
                for name in (
                    "resistance",
                    "temperature",
                    "meter_a",
                    "meter_b",
                    "meter_intercept",
                    "meter_rate",
                    "scale",
                )
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


def _oven_dry(
    wet: float,
    dry: float,
    step: float,
    depth_from: float | None = None,
    depth_to: float | None = None,
) -> OvenDry:
    """The pair; the oven takes water away, and no wood holds more than so much."""
    if dry > wet:
        raise ValidationError(
            f"{dry:.4g} kg given: heavier than wet, {wet:.4g} kg, but the oven takes water away; "
            "write the lesser mass as dry",
            "dry",
        )
    if wet > (1.0 + HIGHEST_MOISTURE / 100.0) * dry:
        raise ValidationError(
            f"more than {HIGHEST_MOISTURE:g} % of the dry mass would be water: no wood holds that "
            "much",
            "wet",
        )
    if (depth_from is None) != (depth_to is None):
        raise ValidationError("depth_from and depth_to belong together: give both or none")
    if depth_from is not None and depth_to is not None and depth_from > depth_to:
        raise ValidationError("deeper than depth_to", "depth_from")
    return OvenDry(wet, dry, step, depth_from, depth_to)


class OvenDryShape(Shape):
    """A piece weighed wet and oven-dry."""

    makes = staticmethod(_oven_dry)

    rule = "give depth_from and depth_to, or neither"

    wet = Mass("its mass as taken", low=1e-5, high=100.0, required=True)
    dry = Mass("its mass oven-dry", low=1e-5, high=100.0, required=True)
    step = Mass("smallest step of the scale", low=0.0, high=1.0, load_default=0.0)
    depth_from = Length(
        "depth under the top face where the piece begins; the whole thickness when left out",
        low=0.0,
        high=THICKNESS[1],
    )
    depth_to = Length("depth where it ends", low=0.0, high=THICKNESS[1])


def _sample_board(weight: float, start_weight: float, section_moisture: float) -> SampleBoard:
    """The board; it is not lighter than oven-dry, nor wetter than wood gets."""
    dry = start_weight / (1.0 + section_moisture / 100.0)
    if weight < dry * (1.0 - 1e-9):
        raise ValidationError(
            f"{weight:.4g} kg given: lighter than the board would be oven-dry, {dry:.4g} kg by its "
            "start weight and section",
            "weight",
        )
    if weight > (1.0 + HIGHEST_MOISTURE / 100.0) * dry:
        raise ValidationError(
            f"{weight:.4g} kg given: more than {HIGHEST_MOISTURE:g} % moisture on {dry:.4g} kg "
            "oven-dry; no wood holds that much",
            "weight",
        )
    return SampleBoard(weight, start_weight, section_moisture)


class SampleBoardShape(Shape):
    """A sample board by its weight."""

    makes = staticmethod(_sample_board)

    weight = Mass("its weight now", low=0.01, high=1000.0, required=True)
    start_weight = Mass("its weight when the section was cut", low=0.01, high=1000.0, required=True)
    section_moisture = Moisture(
        "moisture of the section then, by oven", low=0.0, high=MOISTURE[1], required=True
    )


def deeper(one: Pin | Surface | OvenDry, thickness: float) -> dict[str, Any]:
    """Faults of the depths of a reading beyond a slab [m]; an end or edge may be read at any."""
    if isinstance(one, OvenDry):
        depths = {"depth_from": one.depth_from, "depth_to": one.depth_to}
    elif one.place in ("edge", "end"):
        return {}
    else:
        depths = {"depth": one.depth}
    return {
        name: [fault]
        for name, depth in depths.items()
        if depth is not None and (fault := beyond(depth, thickness))
    }
