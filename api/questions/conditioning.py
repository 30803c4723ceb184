"""`/v1/conditioning`: bringing wood to a moisture in a shop, by heat alone or by held humidity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api.evidence import OPEN_FIGURE_SCHEMA, open_duration, opened, refuse_wet
from api.quantities import (
    Length,
    Mass,
    Moisture,
    Plain,
    Quantity,
    Temperature,
    Volume,
    days,
    mass,
    percent,
    temperature,
)
from api.question import Answered, Asked, Example, Question, Reply
from api.replies.csv import Column, Table
from api.replies.text import Page, Rows, amount, month
from api.schema import (
    FIGURE_SCHEMA,
    MONTH_SCHEMA,
    Date,
    Either,
    Part,
    Shape,
    SpreadShape,
    exactly_one,
    one_of,
)
from api.shapes import (
    THICKNESS,
    SlabShape,
    SpeciesFigures,
    SpeciesName,
    build_faces,
    build_moisture,
    build_room,
    build_slab,
    build_species,
    draw_samples,
    faces_field,
    faces_notes,
    moisture_field,
    room_field,
    slab_cautions,
)
from api.units import MASS, PERCENT, POUND, TEMPERATURE, Dimension, System, Unit
from model.answers import conditioning
from model.answers.conditioning import Answer, Month, Stock
from model.basis import Note, cite
from model.behaviour import transport, year
from model.behaviour.slab import Slab, profile
from model.surroundings.calendar import day_of

ENERGY: Final = Dimension(
    "heat", (Unit("kWh", 3.6e6, None, decimals=2),), "kWh", "kWh", "12 kWh", bare=True
)
UNKNOWN_THICKNESS: Final = 0.05  # m; only the water is told of wood without a thickness
UNKNOWN_WIDTH: Final = 0.3  # m; of no effect on anything told


class WoodShape(Shape):
    """A weight of wood."""

    species = Either(
        "the wood, by name or by its own figures",
        SpeciesName("the wood by id, common or scientific name"),
        SpeciesFigures,
        required=True,
    )
    weight = Mass("its weight now, all together", low=0.01, high=1e6, required=True)
    thickness = Length("thickness of the pieces; without it no days are told", low=THICKNESS[0],
                       high=THICKNESS[1])  # fmt: skip


class ConditioningShape(SpreadShape):
    """Wood, where it is to go, and the shop."""

    together: ClassVar[dict[str, Any]] = {
        **exactly_one("slab", "wood"),
        "dependentRequired": {"volume": ["air_changes"], "air_changes": ["volume"]},
    }

    slab = Part(SlabShape, "the slab, with the size it has today")
    wood = Part(WoodShape, "a weight of wood, instead of a slab")
    moisture = moisture_field("moisture content now", required=True)
    target = Moisture("moisture content to bring it to", low=3.0, high=25.0, required=True)
    faces = faces_field()
    room = room_field(
        "the shop, such as a climate with kind heated_shop and the temperature it is kept at; a "
        "log will not do, it has no year",
        required=True,
    )
    starts = Date("day the wood goes in", required=True)
    volume = Volume("volume of the shop, for the heat of ventilation", low=1.0, high=100_000.0)
    air_changes = Plain("air changes of the shop in an hour", low=0.01, high=20.0)
    hottest = Temperature(
        "hottest the shop may get", low=15.0, high=60.0, load_default=conditioning.HOTTEST
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_wood(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("slab", "wood"), "the wood")
        if ("volume" in original) != ("air_changes" in original):
            raise ValidationError("volume and air_changes belong together: give both or none")


@dataclass(frozen=True, slots=True)
class Conditioned:
    """The result: the model's answer and what it was asked of."""

    found: Answer
    timed: bool  # whether a thickness is known, so that days mean something
    weighed: bool


def _answer(asked: Asked) -> Reply:
    if "log" in asked["room"]:
        raise ValidationError(
            {"room": {"log": ["given: a log has no year to plan by; give months or a place"]}}
        )
    refuse_wet(asked["faces"])
    slab, dry_mass, timed = _wood(asked)
    moisture = build_moisture(asked["moisture"], slab.thickness)
    mesh = transport.grid(slab.thickness)
    nodes = profile(moisture, mesh.depth, slab.thickness)
    now = float(mesh.mean(nodes))
    if dry_mass is None and slab.length is not None:
        weight = slab.weight(now)
        assert weight is not None
        dry_mass = weight / (1.0 + now / 100.0)
    elif dry_mass is not None:
        dry_mass /= 1.0 + now / 100.0
    room = build_room(asked["room"])
    shop = conditioning.shop_of(
        room,
        volume=asked.get("volume"),
        air_changes=asked.get("air_changes"),
        hottest=asked["hottest"],
    )
    samples = draw_samples(asked)
    stock = Stock(mesh, nodes, year.wood_of(slab, samples), build_faces(asked["faces"]), dry_mass)
    found = conditioning.answer(
        stock, shop, asked["target"], day_of(asked["starts"]), asked["spread"] == "sampled"
    )
    notes = [*found.notes, *room.notes, *faces_notes(asked["faces"])]
    if not timed:
        notes.append(
            Note("thickness-unknown", "No thickness is given, so no days are told.", "/wood")
        )
    result = Conditioned(found, timed, dry_mass is not None)
    cautions = [text for text in found.cautions if not text.startswith("A slab is heavy")]
    if "slab" in asked:
        cautions += slab_cautions(slab, now)
    answer = _members(result)
    if room.attribution:
        answer["attribution"] = list(room.attribution)
    return Reply(
        answer,
        result,
        notes,
        cautions,
        cite("conditioning-heat", "conditioning-energy", "equilibrium-moisture"),
    )


def _wood(asked: Asked) -> tuple[Slab, float | None, bool]:
    """The slab that stands for the wood, its weight now if told, whether a thickness is known."""
    if "slab" in asked:
        return build_slab(asked["slab"]), None, True
    told = asked["wood"]
    thickness = told.get("thickness", UNKNOWN_THICKNESS)
    slab = Slab(build_species(told["species"]), UNKNOWN_WIDTH, thickness)
    return slab, told["weight"], "thickness" in told


def _energy(value: float | None) -> Quantity | None:
    return None if value is None else Quantity(ENERGY, 3.6e6 * value)


def _members(result: Conditioned) -> dict[str, Any]:
    found = result.found
    answer: dict[str, Any] = {"months": [_month(one) for one in found.months]}
    if result.weighed:
        answer["water"] = mass(found.water)
        answer["evaporation_heat"] = _energy(found.evaporation_heat)
    if found.humidity_rise is not None:
        answer["humidity_rise"] = percent(found.humidity_rise)
    for name in ("heat_alone", "held"):
        course = getattr(found, name)
        if course is None:
            answer[name] = None
            continue
        plan: dict[str, Any] = {"driest": percent(course.driest)}
        if result.timed:
            plan["days_to"] = {
                "within_1": opened(course.days_within_1, days),
                "within_half": opened(course.days_within_half, days),
            }
        if result.timed and result.weighed:
            plan["water_first_day"] = mass(course.water_first_day)
            plan["heat"] = _energy(course.heat)
        answer[name] = plan
    return answer


def _month(one: Month) -> dict[str, Any]:
    return {
        "month": one.month,
        "means": one.means,
        "heat_to": None if one.heat_to is None else temperature(one.heat_to),
        "hold": None if one.hold is None else percent(one.hold),
        "equilibrium": percent(
            {
                "unheated": one.equilibrium_unheated,
                "at_shop": one.equilibrium_at_shop,
                "at_hottest": one.equilibrium_at_hottest,
            }
        ),
        "humidity_at_shop": percent(one.humidity_at_shop),
        "ventilation_heat": _energy(one.ventilation_heat),
        "machine_water": None if one.machine_water is None else mass(one.machine_water),
    }


_WORDS: Final = {
    "heat": "heat",
    "humidify": "add moisture",
    "dehumidify": "dry the air",
}


def _text(answered: Answered) -> Page:
    result: Conditioned = answered.reply.result
    found, asked, system = result.found, answered.asked, answered.system
    first = found.months[asked["starts"].month - 1]
    target = f"{asked['target']:g} %"
    decision = _decision(first, found, target, answered)
    unit, symbol = (POUND, "lb") if system == "us" else (1.0, "kg")
    rows = []
    for one in found.months:
        # Below the shop's own temperature there is nothing to heat to.
        warm = ""
        if one.heat_to is not None and one.means != "humidify":
            warm = amount(one.heat_to.value, TEMPERATURE, system, 0)
        rows.append(
            [
                month(one.month),
                _WORDS[one.means],
                warm,
                "" if one.hold is None else f"{one.hold.value:.0f} %",
                f"{one.equilibrium_at_shop:.1f} %",
                "" if one.ventilation_heat is None else f"{one.ventilation_heat:.0f}",
                "" if one.machine_water is None else f"{one.machine_water / unit:+.0f}",
            ]
        )
    heads = ["", "do", "heat to", "or hold", "as it is", "kWh/day", f"{symbol}/day"]
    parts: list[Rows | str] = [Rows(rows, title=f"To hold {target}", heads=heads)]
    if found.months[0].machine_water is not None:
        parts.append(
            f"kWh/day warms the changed air; {symbol}/day is what a machine takes out of it (+) or "
            "puts in (-) to hold that humidity."
        )
    parts.append(Rows(_figure_rows(result, target, system), title="What it takes"))
    return Page(decision, parts)


def _figure_rows(result: Conditioned, target: str, system: System) -> list[list[str]]:
    found = result.found
    rows = []
    if result.weighed:
        way = "take up" if found.water < 0.0 else "carry away"
        rows.append([f"water to {way}", mass_words(abs(found.water), system)])
    for name, plan in (("by heat alone", found.heat_alone), ("humidity held", found.held)):
        if plan is None:
            rows.append([name, f"no humidity holds {target} the year round"])
            continue
        if result.timed:
            arrives = plan.days_within_1
            words = "not within five years" if arrives is None else open_duration(arrives)
            rows.append([f"{name}, to within 1 %", words])
        if result.timed and result.weighed:
            way = "taken up" if plan.water_first_day < 0.0 else "given off"
            rows.append([f"  {way}, first day", mass_words(abs(plan.water_first_day), system)])
            if plan.heat is not None:
                rows.append(["  heat, to within 0.5 %", f"{plan.heat:.0f} kWh"])
        if result.timed:
            rows.append(["  left in a year, down to", f"{plan.driest:.1f} %"])
    return rows


def mass_words(kilograms: float, system: System) -> str:
    """A mass in kilograms or pounds.

    >>> mass_words(2.0, "metric"), mass_words(2.0, "us")
    ('2.00 kg', '4.41 lb')
    """
    return f"{kilograms:.2f} kg" if system == "metric" else f"{kilograms / POUND:.2f} lb"


def _decision(first: Month, found: Answer, target: str, answered: Answered) -> str:
    system = answered.system
    name = month(first.month)
    if abs(found.water) < 1e-9 and found.heat_alone is not None:
        return f"The wood is at {target} already; the table tells what holds it there."
    hold = "" if first.hold is None else f"{first.hold.value:.0f} % relative humidity"
    if first.means == "heat" and first.heat_to is not None:
        warm = amount(first.heat_to.value, TEMPERATURE, system, 0)
        told = f"In {name} heating the shop to {warm} holds {target} without a drying machine"
        return told + (f"; at its own temperature hold {hold}." if hold else ".")
    if first.means == "humidify":
        return (
            f"In {name} the shop's air is too dry for {target}: it holds "
            f"{first.equilibrium_at_shop:.1f} %, and heat makes it drier. Take the wood out in "
            f"time{', or hold ' + hold if hold else ''}."
        )
    hottest = amount(answered.asked["hottest"], TEMPERATURE, system, 0)
    return (
        f"In {name} heating to {hottest} comes only to {first.equilibrium_at_hottest:.1f} %: use a "
        f"drying machine{' and hold ' + hold if hold else ''}."
    )


def _table(answered: Answered) -> Table:
    """Month by month; a cell is empty where no temperature or humidity holds the target."""
    months = answered.reply.result.found.months
    system = answered.system
    warm = TEMPERATURE.of_system[system].symbol
    columns = [
        Column("month", [one.month for one in months]),
        Column(
            f"heat_to [{warm}]",
            [
                "" if one.heat_to is None else TEMPERATURE.write(one.heat_to.value, system)
                for one in months
            ],
        ),
        Column(
            "hold [%]",
            ["" if one.hold is None else PERCENT.write(one.hold.value, system) for one in months],
        ),
        Column("equilibrium_unheated", [one.equilibrium_unheated for one in months], PERCENT),
        Column("equilibrium_at_shop", [one.equilibrium_at_shop for one in months], PERCENT),
        Column("equilibrium_at_hottest", [one.equilibrium_at_hottest for one in months], PERCENT),
        Column("humidity_at_shop", [one.humidity_at_shop for one in months], PERCENT),
    ]
    heat = [one.ventilation_heat for one in months]
    if None not in heat:
        columns.append(Column("ventilation_heat_a_day", 3.6e6 * np.array(heat, float), ENERGY))
    water = [one.machine_water for one in months]
    if None not in water:
        columns.append(Column("machine_water_a_day", np.array(water, float), MASS))
    return Table(columns, system)


_NUMBER: Final = {"type": "number"}
_NUMBER_OR_NULL: Final = {"type": ["number", "null"]}
_FIGURE_OR_NULL: Final = {"anyOf": [{"type": "null"}, *FIGURE_SCHEMA["anyOf"]]}
_PLAN: Final = {
    "anyOf": [
        {"type": "null"},
        {
            "type": "object",
            "properties": {
                "days_to": {
                    "type": "object",
                    "properties": {
                        "within_1": OPEN_FIGURE_SCHEMA,
                        "within_half": OPEN_FIGURE_SCHEMA,
                    },
                },
                "driest": {
                    **_NUMBER,
                    "description": "lowest moisture of a year if it is left in",
                },
                "water_first_day": _NUMBER,
                "heat": _NUMBER_OR_NULL,
            },
            "required": ["driest"],
        },
    ]
}

QUESTION = Question(
    name="conditioning",
    title="Conditioning",
    summary="For a target moisture and a shop: the temperature to heat to with no drying machine, "
    "or the humidity to hold, month by month; where heat over-dries or falls short; water to carry "
    "away, days and heat.",
    shape=ConditioningShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "months": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "month": MONTH_SCHEMA,
                        "means": {"type": "string", "enum": list(_WORDS)},
                        "heat_to": _FIGURE_OR_NULL,
                        "hold": _FIGURE_OR_NULL,
                        "equilibrium": {
                            "type": "object",
                            "properties": dict.fromkeys(
                                ("unheated", "at_shop", "at_hottest"), _NUMBER
                            ),
                        },
                        "humidity_at_shop": _NUMBER,
                        "ventilation_heat": _NUMBER_OR_NULL,
                        "machine_water": {
                            **_NUMBER_OR_NULL,
                            "description": "water a machine takes out of the changed air a day to "
                            "hold that humidity; negative: puts in",
                        },
                    },
                    "required": ["month", "means", "heat_to", "hold"],
                },
            },
            "water": {**_NUMBER, "description": "to carry away; negative: to bring in"},
            "evaporation_heat": _NUMBER_OR_NULL,
            "humidity_rise": {
                **_NUMBER,
                "description": "points of humidity the wood adds to the air in the first days",
            },
            "heat_alone": _PLAN,
            "held": _PLAN,
            "attribution": {"type": "array", "items": {"type": "string"}},
        },
        "required": ["months", "heat_alone", "held"],
    },
    text=_text,
    table=_table,
    follows=True,
    examples=(
        Example(
            "The library table in a heated shop in Duluth, down to 7 %",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                },
                "moisture": 12.5,
                "target": 7,
                "room": {"climate": "Duluth", "kind": "heated_shop", "heat_to": "65F"},
                "starts": "2026-09-25",
                "volume": "6000ft3",
                "air_changes": 0.5,
            },
        ),
        Example(
            "A ton of oak boards in a damp place",
            {
                "wood": {"species": "white oak", "weight": "1000kg", "thickness": "27mm"},
                "moisture": 14,
                "target": 9,
                "room": {
                    "latitude": 53.3,
                    "longitude": -6.3,
                    "kind": "heated_shop",
                    "heat_to": "16C",
                },
                "starts": "2026-06-01",
            },
        ),
    ),
)
