"""`/v1/fixings`: slots, washers and withdrawal of fixings in a slab that moves."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api.holding import (
    DUST,
    MOST_POINTS,
    PEOPLE,
    STRUCTURE,
    BarShape,
    FastenerShape,
    build_bar,
    build_fastener,
    refuse_for_years,
)
from api.quantities import (
    FORCE,
    INCH,
    LENGTH,
    Length,
    Moisture,
    System,
    force,
    length,
    percent,
    plain,
    stress,
)
from api.question import Answered, Asked, Example, Question, Reply
from api.replies import text
from api.replies.csv import Column, Table
from api.replies.text import Page, Rows
from api.schema import FIGURE_SCHEMA, Choice, Date, Part, Shape, SpreadShape, exactly_one, one_of
from api.shapes import (
    MOISTURE,
    SlabShape,
    build_faces,
    build_moisture,
    build_room,
    build_slab,
    draw_samples,
    faces_field,
    faces_notes,
    moisture_field,
    room_field,
    slab_cautions,
)
from model.answers import fixings
from model.answers.fixings import Fixings, Solid
from model.basis import Note, cite
from model.behaviour import year
from model.behaviour.slab import profile
from model.spread import Figure, Samples, figure
from model.surroundings.calendar import day_of


class RangeShape(Shape):
    """The driest and the dampest it will be."""

    driest = Moisture("driest it will be", low=0.0, high=MOISTURE[1], required=True)
    dampest = Moisture("dampest it will be", low=0.0, high=MOISTURE[1], required=True)

    @validates_schema
    def _in_order(self, data: Any, **kwargs: Any) -> None:
        if data["driest"] > data["dampest"]:
            raise ValidationError(
                f"{data['driest']:g} % given: more than the dampest, {data['dampest']:g} %",
                "driest",
            )


class FixingsShape(SpreadShape):
    """A slab, where it goes, and its fixings."""

    together = exactly_one("room", "moisture_range")

    slab = Part(SlabShape, "the slab, with the size it has today", required=True)
    moisture = moisture_field("moisture content on the day of fitting", required=True)
    faces = faces_field()
    room = room_field("the room it goes to, or give moisture_range; not a log")
    arrives = Date("day it comes into the room; 1 January when left out")
    moisture_range = Part(RangeShape, "the driest and dampest it will be, instead of a room")
    points = Length(
        "the fixings' distances from one edge",
        low=0.0,
        high=3.0,
        series=(1, MOST_POINTS),
        required=True,
    )
    fixed_at = Length(
        "line from which it moves, from the same edge; the middle when left out", low=0.0, high=3.0
    )
    fastener = Part(FastenerShape, "the fixing", required=True)
    clearance = Length(
        "room at each end of a slot beyond the movement",
        low=0.0,
        high=0.02,
        load_default=fixings.CLEARANCE,
    )
    recess = Length(
        "depth of a groove in the underside that the fixing starts from",
        low=0.0,
        high=0.25,
        load_default=0.0,
    )
    duration = Choice("how long the load lasts", tuple(fixings.DURATION), load_default="permanent")
    bar = Part(
        BarShape, "bar it would be solid to, for what a solid fixing does; flat steel 40 x 5 mm"
    )
    strip = Length(
        "length of slab along the grain that one bar holds",
        low=0.02,
        high=3.0,
        load_default=fixings.SOLID_STRIP,
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _goes_somewhere(self, data: Any, original: Any, **kwargs: Any) -> None:
        one_of(original, ("room", "moisture_range"), "where it goes")


def _check_on_slab(asked: Asked, width: float) -> None:
    wrong: dict[str, Any] = {}
    told = f"the slab is {1e3 * width:g} mm wide"
    off = {
        i: [f"{1e3 * one:g} mm given: {told}"]
        for i, one in enumerate(asked["points"])
        if one > width
    }
    if off:
        wrong["points"] = off
    if asked.get("fixed_at", 0.0) > width:
        wrong["fixed_at"] = [f"{1e3 * asked['fixed_at']:g} mm given: {told}"]
    if asked["recess"] >= asked["slab"]["thickness"]:
        wrong["recess"] = [f"{1e3 * asked['recess']:g} mm given: it goes through the slab"]
    if wrong:
        raise ValidationError(wrong)


def _range_of(asked: Asked, moisture: Any, samples: Samples) -> tuple[Any, Any, list[Note]]:
    """Driest and dampest mean moisture to come [%], and what that leans on."""
    if "moisture_range" in asked:
        given = asked["moisture_range"]
        return given["driest"], given["dampest"], []
    notes = faces_notes(asked["faces"])
    if "arrives" not in asked:
        notes.append(
            Note(
                "date-assumed",
                "No day of arrival is given: 1 January is taken. It matters in the first year.",
                "/arrives",
                "judgement",
            )
        )
    room = build_room(asked["room"])
    slab = build_slab(asked["slab"])
    arrives = day_of(asked["arrives"]) if "arrives" in asked else 0.0
    course = year.years(slab, moisture, build_faces(asked["faces"]), room, arrives, samples)
    means = np.concatenate((course.followed.mean, course.periodic.mean))
    return means.min(axis=0), means.max(axis=0), [*room.notes, *notes]


def _answer(asked: Asked) -> Reply:
    slab = build_slab(asked["slab"])
    refuse_for_years(asked)
    _check_on_slab(asked, slab.width)
    moisture = build_moisture(asked["moisture"], slab.thickness)
    samples = draw_samples(asked)
    driest, dampest, notes = _range_of(asked, moisture, samples)
    now = float(np.mean(profile(moisture, np.linspace(0.0, slab.thickness, 41), slab.thickness)))
    fastener = build_fastener(asked["fastener"])
    planned = fixings.plan(
        slab,
        now,
        driest,
        dampest,
        tuple(float(one) for one in asked["points"]),
        fastener,
        samples,
        fixed_at=asked.get("fixed_at"),
        clearance=asked["clearance"],
        recess=asked["recess"],
        duration=asked["duration"],
    )
    solid = None
    if len(planned.points) > 1:
        bar = build_bar(asked["bar"]) if "bar" in asked else None
        solid = fixings.solid(
            slab,
            planned,
            fastener,
            now,
            driest,
            dampest,
            samples,
            bar=bar,
            strip=asked["strip"],
        )
    low, high = (figure(np.broadcast_to(end, (samples.count,))) for end in (driest, dampest))
    answer = {
        "moisture": percent({"now": now, "driest": low, "dampest": high}),
        "points": [_point(planned, i) for i in range(len(planned.points))],
        "fixed_at": length(planned.fixed_at),
        "fixed_point": planned.fixed,
        "withdrawal": _withdrawal(planned),
        "place": length(
            {
                "from_edge": planned.place.edge,
                "from_end": planned.place.end,
                "apart": planned.place.apart,
                "pilot_least": planned.place.pilot[0],
                "pilot_most": planned.place.pilot[1],
            }
        ),
        "pilot": planned.place.pilot_note,
        "left_under_face": length(max(planned.left_under_face, 0.0)),
    }
    if solid is not None:
        answer["solid"] = _solid(solid)
    ids = ["shrinkage", "slot", "withdrawal-nds"]
    if planned.withdrawal.en1995_characteristic is not None:
        ids.append("withdrawal-en1995")
    if planned.withdrawal.huebner_characteristic is not None:
        ids.append("withdrawal-hardwood")
    if solid is not None:
        ids += ["two-layer-bar", "lateral-yield"]
    return Reply(
        answer,
        (planned, solid, low, high),
        [*planned.notes, *notes, _FORCES, _ZERO],
        [STRUCTURE, PEOPLE, *slab_cautions(slab, now), DUST],
        cite(*ids),
    )


MIND: Final = 0.5  # index above which fixing solid is advised against (judgement)
_FORCES: Final = Note(
    "forces-weak",
    "Forces of solid fixings are known within a factor of 2; slip in the fixings, which would "
    "lessen them until they yield, is left out.",
    "/bar",
    "judgement between published figures on set",
)
_ZERO: Final = Note(
    "slot-rule",
    "A slot is the shank, 1.25 times the movement still to come either way (or its 90th "
    "percentile, where that is more) and the clearance at both ends. Washers snug only, never "
    "tight.",
    "/points",
    "common practice, no source",
)


def _point(planned: Fixings, i: int) -> dict[str, Any]:
    point = planned.points[i]
    allowed = planned.withdrawal.allowable
    return {
        "across": length(point.across),
        "moves_in": length(figure(point.moves_in)),
        "moves_out": length(figure(point.moves_out)),
        "slot_length": length(point.slot.length),
        "slot_width": length(point.slot.width),
        "shank_from_inner_end": length(point.slot.shank_from_inner_end),
        "washer": length(point.slot.washer),
        "washer_covering": length(point.slot.washer_covering),
        "withdrawal": force(allowed),
        "fixed": i == planned.fixed,
    }


def _withdrawal(planned: Fixings) -> dict[str, Any]:
    held = planned.withdrawal
    low, high = held.test_mean or (None, None)
    return {
        "allowable": force(held.allowable),
        "reference": force(held.reference),
        "factors": {name: plain(value) for name, value in held.factors.items()},
        "mean_of_tests": force({"from": low, "to": high}) if held.test_mean else None,
        "en1995_characteristic": force(held.en1995_characteristic),
        "en1995_design": force(held.en1995_design),
        "hardwood_tests_characteristic": force(held.huebner_characteristic),
    }


def _solid(solid: Solid) -> dict[str, Any]:
    return {
        "between": length(solid.between),
        "movement": percent(figure(100.0 * solid.strain)),
        "force_without_set": force(figure(solid.force_elastic)),
        "force": force(figure(solid.force)),
        "stress": stress(figure(solid.stress)),
        "index": {
            "wood_splits": plain(figure(solid.wood_index)),
            "wood_crushes": plain(figure(solid.crush_index)),
            "fixings_sideways": plain(figure(solid.fixing_index)),
            "fixings_pulled": plain(figure(solid.pull_index)),
        },
        "first": solid.first,
        "fixing_yields": force(solid.yields),
        "how_fixings_yield": solid.yield_mode,
    }


def _text(answered: Answered) -> Page:
    planned: Fixings
    solid: Solid | None
    planned, solid, low, high = answered.reply.result
    system = answered.system
    parts: list[Rows | str] = [
        Rows(
            [_row(planned, i, system) for i in range(len(planned.points))],
            title="Slots, from the fixed line outward",
            heads=["across", "inward", "likely", "outward", "slot", "shank at"],
        ),
        "The slots cover the likely range. The shank stands, on the day of fitting, so far from "
        "the slot's end nearer the fixed line. Washers at least "
        f"{_rule(planned.points[0].slot.washer, system)} across, snug only: turn until they touch, "
        "so that they slide.",
        Rows(_held_rows(planned, system), title="Drawn straight out, each"),
        Rows(_place_rows(planned, system), title="Where and how"),
        f"Pilot hole: {planned.place.pilot_note}.",
    ]
    if solid is not None:
        parts += [
            Rows(_solid_rows(solid, system), title="If all were fixed solid to a bar"),
            f"Then first {solid.first}. A fixing yields sideways at about "
            f"{text.amount(solid.yields, FORCE, system, 0)} ({solid.yield_mode}); the forces told "
            "are those if nothing gave.",
        ]
    return Page(_decision(planned, solid, low, high, system), parts)


def _decision(
    planned: Fixings, solid: Solid | None, low: Figure, high: Figure, system: System
) -> str:
    nearest = planned.points[planned.nearest]
    longest = max(planned.points, key=lambda point: point.slot.length)
    at = text.short_length(nearest.across, system)
    length_ = text.short_length(longest.slot.length, system)
    between = f"the slab will go between {low.value:.1f} and {high.value:.1f} % moisture."
    if len(planned.points) == 1:
        told = (
            f"The point at {at} needs a slot {length_} long, or is the fixed one if the slab "
            f"moves from there; {between}"
        )
    elif planned.fixed is None:
        line = text.short_length(planned.fixed_at, system)
        told = (
            f"No fixing stands at {line}, the line the slab is taken to move from: slot them all, "
            f"up to {length_} long, and hold the slab there, or ask again with fixed_at at the one "
            f"to fix; {between}"
        )
    else:
        told = f"Fix the point at {at} and slot the others, up to {length_} long: {between}"
    left = planned.left_under_face
    if left <= 0.0:
        told += " The hole comes out of the show face: take a shorter fixing."
    elif left < fixings.LEAST_LEFT:
        told += (
            f" Only {text.length(left, system)} is left under the show face: take a shorter one."
        )
    if solid is not None:
        ways = (("split", solid.wood_index), ("crush", solid.crush_index))
        goes = " and ".join(word for word, index in ways if float(index[0]) > MIND)
        if goes and solid.first.startswith("the wood"):
            told += f" Do not fix them all solid: the wood would {goes}."
        elif goes:
            told += f" Do not fix them all solid: {solid.first}, and the wood may {goes}."
    return told


def _row(planned: Fixings, i: int, system: System) -> list[str]:
    point = planned.points[i]
    inward = figure(point.moves_in)
    return [
        text.short_length(point.across, system) + (" fixed" if i == planned.fixed else ""),
        _rule(inward.value, system),
        text.spread(inward, LENGTH, system),
        _rule(float(point.moves_out[0]), system),
        _fine(point.slot.length, system),
        _fine(point.slot.shank_from_inner_end, system),
    ]


def _rule(metres: float, system: System) -> str:
    """A length as a rule shows it."""
    if system == "us":
        return f"{text.shop_fraction(metres / INCH)} in"
    return f"{1e3 * metres:.1f} mm"


def _fine(metres: float, system: System) -> str:
    """The same with its decimals beside it in inches."""
    told = _rule(metres, system)
    return f"{told[:-3]} ({metres / INCH:.3f})" if system == "us" else told


def _held_rows(planned: Fixings, system: System) -> list[list[str]]:
    held = planned.withdrawal
    named = [
        ("allowable (NDS), for good", held.allowable),
        ("mean of tests, about", held.test_mean[0] if held.test_mean else None),
        ("EN 1995, characteristic", held.en1995_characteristic),
        ("EN 1995, design, permanent", held.en1995_design),
        ("hardwood tests, characteristic", held.huebner_characteristic),
    ]
    return [
        [name, "none" if value is None else text.amount(value, FORCE, system, 0)]
        for name, value in named
    ]


def _place_rows(planned: Fixings, system: System) -> list[list[str]]:
    place = planned.place
    low, high = place.pilot
    pilot = f"{text.length(low, system)} to {text.length(high, system)}"
    return [
        ["from the edge, at least", text.length(place.edge, system)],
        ["from the end, at least", text.length(place.end, system)],
        ["apart along the grain, at least", text.length(place.apart, system)],
        ["pilot hole", pilot if low else f"none, or up to {text.length(high, system)}"],
        ["left under the show face", text.length(max(planned.left_under_face, 0.0), system)],
    ]


def _solid_rows(solid: Solid, system: System) -> list[list[str]]:
    rows = []
    for name, values in (
        ("force along the bar", solid.force),
        ("the same without set", solid.force_elastic),
    ):
        told = figure(values)
        band = text.spread(told, FORCE, system, 0)
        rows.append([name, text.amount(told.value, FORCE, system, 0), band])
    for name, values in (
        ("splits at 1: stress index", solid.wood_index),
        ("crushes at 1", solid.crush_index),
        ("fixings yield sideways at 1", solid.fixing_index),
        ("fixings pull out at 1", solid.pull_index),
    ):
        told = figure(values)
        band = "" if told.low is None else f"{told.low:.2f} to {told.high:.2f}"
        rows.append([name, f"{told.value:.2f}", band])
    return rows


def _table(answered: Answered) -> Table:
    planned: Fixings = answered.reply.result[0]
    points = planned.points
    central = {
        "across": [point.across for point in points],
        "moves_in": [float(point.moves_in[0]) for point in points],
        "moves_out": [float(point.moves_out[0]) for point in points],
        "slot_length": [point.slot.length for point in points],
        "slot_width": [point.slot.width for point in points],
        "shank_from_inner_end": [point.slot.shank_from_inner_end for point in points],
        "washer": [point.slot.washer for point in points],
    }
    columns = [Column(name, values, Length.dimension) for name, values in central.items()]
    fixed = [1 if i == planned.fixed else 0 for i in range(len(points))]
    return Table([*columns, Column("fixed", fixed)], answered.system)


_NUMBER: Final = {"type": "number"}
_MAYBE: Final = {"type": ["number", "null"]}
_FIGURES: Final = {"type": "object", "additionalProperties": FIGURE_SCHEMA}

QUESTION = Question(
    name="fixings",
    title="Fixings",
    summary="How far each fixing moves in and out as the slab moves, its slot and where the shank "
    "stands today, what draws it out by several codes, where it may stand, and what fixing all of "
    "them solid would do.",
    shape=FixingsShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "moisture": _FIGURES,
            "points": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "across": _NUMBER,
                        "moves_in": FIGURE_SCHEMA,
                        "moves_out": FIGURE_SCHEMA,
                        "slot_length": _NUMBER,
                        "slot_width": _NUMBER,
                        "shank_from_inner_end": _NUMBER,
                        "washer": _NUMBER,
                        "washer_covering": _NUMBER,
                        "withdrawal": _MAYBE,
                        "fixed": {"type": "boolean"},
                    },
                    "required": ["across", "moves_in", "moves_out", "slot_length", "withdrawal"],
                },
            },
            "fixed_at": _NUMBER,
            "fixed_point": {
                "type": ["integer", "null"],
                "description": "index of the one to fix; null where none stands on the fixed line",
            },
            "withdrawal": {
                "type": "object",
                "properties": {
                    "allowable": _MAYBE,
                    "reference": _MAYBE,
                    "factors": {"type": "object", "additionalProperties": _NUMBER},
                    "mean_of_tests": {"type": ["object", "null"]},
                    "en1995_characteristic": _MAYBE,
                    "en1995_design": _MAYBE,
                    "hardwood_tests_characteristic": _MAYBE,
                },
                "required": ["allowable", "reference", "factors"],
            },
            "place": {"type": "object", "additionalProperties": _NUMBER},
            "pilot": {"type": "string"},
            "left_under_face": _NUMBER,
            "solid": {
                "type": "object",
                "description": "what fixing all points solid to a bar would do; index 1 gives way",
                "properties": {
                    "between": _NUMBER,
                    "movement": FIGURE_SCHEMA,
                    "force_without_set": FIGURE_SCHEMA,
                    "force": FIGURE_SCHEMA,
                    "stress": FIGURE_SCHEMA,
                    "index": _FIGURES,
                    "first": {"type": "string"},
                    "fixing_yields": {
                        "type": "number",
                        "description": "sideways force at which one fixing yields; the force "
                        "along the bar grows no further when all have",
                    },
                    "how_fixings_yield": {"type": "string"},
                },
            },
        },
        "required": ["moisture", "points", "fixed_at", "fixed_point", "withdrawal", "place"],
    },
    text=_text,
    table=_table,
    follows=True,
    examples=(
        Example(
            "Threaded inserts under the library table, fitted in late September",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                    "grain": "flat",
                },
                "moisture": 12.5,
                "faces": {"top": "oiled", "bottom": "bare"},
                "room": {"climate": "Duluth", "heat_to": "70F", "cool_to": "76F"},
                "arrives": "2026-09-25",
                "points": ["3in", "17in", "31in"],
                "fastener": {
                    "kind": "threaded_insert",
                    "diameter": "1/2in",
                    "thread": "1in",
                    "shank": "5/16in",
                },
            },
        ),
        Example(
            "Lag screws in an oak top, fixed along its back edge, for a known range",
            {
                "units": "metric",
                "slab": {"species": "white oak", "width": 700, "thickness": 45},
                "moisture": 9,
                "moisture_range": {"driest": 6, "dampest": 10},
                "points": [40, 350, 660],
                "fixed_at": 40,
                "fastener": {"kind": "lag_screw", "diameter": 8, "thread": 35},
            },
        ),
    ),
)
