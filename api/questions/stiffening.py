"""`/v1/stiffening`: bars and keys that hold a slab, and what they and their fixings bear."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api.holding import (
    CLAMPS,
    DUST,
    PEOPLE,
    STRUCTURE,
    CupShape,
    KeyShape,
    StiffenersShape,
    build_cup,
    build_stiffeners,
    refuse_for_years,
)
from api.quantities import (
    DAYS,
    FORCE,
    LENGTH,
    MOMENT,
    STRESS,
    Dimension,
    Length,
    Quantity,
    System,
    area,
    force,
    length,
    mass,
    moment,
    percent,
    plain,
    second_moment,
    stress,
)
from api.question import Answered, Asked, Example, Question, Reply
from api.replies import text
from api.replies.csv import Column, Table
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.schema import FIGURE_SCHEMA, Choice, Date, Part, SpreadShape, Whole
from api.shapes import (
    CUP_SCHEMA,
    SlabShape,
    build_faces,
    build_moisture,
    build_room,
    build_slab,
    build_species,
    cup_members,
    draw_samples,
    faces_cautions,
    faces_field,
    faces_notes,
    moisture_field,
    room_field,
    slab_cautions,
)
from model.answers import stiffening
from model.behaviour.fixed_solid import Solid
from model.answers.stiffening import Stiffened
from model.behaviour.stiffeners import Stiffeners
from model.basis import Note, cite
from model.behaviour import keys, year
from model.behaviour.keys import Key, Keys
from model.behaviour.slab import Slab, profile
from model.spread import Figure, Samples, figure
from model.surroundings.calendar import day_of
from model.surroundings.room import Room


class KeysShape(KeyShape):
    """Butterfly keys across a check."""

    grain = Choice("which way their own grain runs", ("across", "along"), load_default="across")
    count = Whole("how many along the check", low=1, high=100, load_default=1)
    check_length = Length(
        "length of the check along the grain; 250 mm a key when left out", low=0.02, high=12.0
    )


class StiffeningShape(SpreadShape):
    """A slab, where it goes, and what is to hold it."""

    together = {
        "anyOf": [{"required": ["stiffeners"]}, {"required": ["keys"]}],
        "dependentRequired": {"limit": ["stiffeners"]},
    }

    slab = Part(SlabShape, "the slab, with the size it has today", required=True)
    moisture = moisture_field("moisture content now", required=True)
    faces = faces_field()
    room = room_field("the room it goes to; not a log", required=True)
    arrives = Date("day it comes into the room; 1 January when left out")
    cup = Part(CupShape, "cup it has when the bars go on; flat when left out")
    stiffeners = Part(StiffenersShape, "bars across its underside")
    keys = Part(KeysShape, "keys across a check")
    limit = Length("cup to stay within, for the number of bars", low=1e-4, high=0.3)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _something(self, data: Any, original: Any, **kwargs: Any) -> None:
        if not {"stiffeners", "keys"} & original.keys():
            raise ValidationError("nothing to hold it with: give stiffeners, keys or both")
        if "limit" in original and "stiffeners" not in original:
            raise ValidationError("limit given without stiffeners; add them", "limit")


def _answer(asked: Asked) -> Reply:
    refuse_for_years(asked)
    slab = build_slab(asked["slab"])
    moisture = build_moisture(asked["moisture"], slab.thickness)
    bars = build_stiffeners(asked["stiffeners"], slab) if "stiffeners" in asked else None
    tie = _key(asked["keys"], slab) if "keys" in asked else None
    room, samples = build_room(asked["room"]), draw_samples(asked)
    now = float(np.mean(profile(moisture, np.linspace(0.0, slab.thickness, 41), slab.thickness)))
    notes = [*room.notes, *faces_notes(asked["faces"])]
    if "arrives" not in asked:
        notes.append(_UNDATED)
    answer: dict[str, Any] = {}
    held, tied = None, None
    if bars is not None:
        held = stiffening.stiffen(
            slab,
            moisture,
            build_faces(asked["faces"]),
            room,
            _day(asked),
            bars,
            samples,
            cup=build_cup(asked["cup"]) if "cup" in asked else 0.0,
            limit=asked.get("limit"),
            key_capacity=_in_a_strip(asked, slab, tie, len(bars.along)),
        )
        notes += held.notes
        answer |= _bars(held, bars, asked)
    if tie is not None:
        tied = _tied(asked, slab, tie, room, samples, now)
        notes += tied.notes
        answer["keys"] = _keys(tied)
    weight = slab.weight(now)
    if weight is not None:
        answer["weight"] = mass(weight)
    cautions = [STRUCTURE, PEOPLE, CLAMPS, *slab_cautions(slab, now), DUST]
    return Reply(
        answer,
        (held, tied, bars),
        notes,
        [*cautions, *faces_cautions(asked["faces"])],
        _basis(held, tied),
    )


_UNDATED: Final = Note(
    "date-assumed",
    "No day of arrival is given: 1 January is taken. It matters in the first year.",
    "/arrives",
    "judgement",
)


def _day(asked: Asked) -> float:
    return day_of(asked["arrives"]) if "arrives" in asked else 0.0


def _basis(held: Stiffened | None, tied: Keys | None) -> list[str]:
    ids = ["shrinkage", "equilibrium-moisture", "transport-diffusion"]
    if held is not None:
        ids += ["slotted-bar", "contact-pulls", "bar-section"]
        if held.withdrawal is not None:
            ids += ["withdrawal-nds", "two-layer-bar"]
    if tied is not None:
        ids.append("key-capacity")
    return cite(*ids)


def _key(asked: dict[str, Any], slab: Slab) -> Key:
    if asked["thickness"] > slab.thickness:
        raise ValidationError(
            {
                "keys": {
                    "thickness": [
                        f"{1e3 * asked['thickness']:g} mm given: the slab is "
                        f"{1e3 * slab.thickness:g} mm thick"
                    ]
                }
            }
        )
    return Key(
        asked["length"],
        asked["waist"],
        asked["wing"],
        asked["thickness"],
        build_species(asked["species"]),
        asked["grain"] == "across",
    )


def _in_a_strip(asked: Asked, slab: Slab, key: Key | None, bars: int) -> float | None:
    """Clear capacity of the keys in the length that one bar holds [N]."""
    if key is None or slab.length is None:
        return None
    given = asked["keys"]
    check = given.get("check_length", given["count"] * keys.USUAL_SPACING)
    share = min(slab.length / bars / check, 1.0)
    return float(given["count"] * share * keys.capacity(key, slab.species).clear)


def _tied(asked: Asked, slab: Slab, key: Key, room: Room, samples: Samples, now: float) -> Keys:
    """Keys against the driest the slab will be."""
    given = asked["keys"]
    moisture = build_moisture(asked["moisture"], slab.thickness)
    faces = build_faces(asked["faces"])
    course = year.years(slab, moisture, faces, room, _day(asked), samples)
    driest = np.minimum(course.followed.mean.min(axis=0), course.periodic.mean.min(axis=0))
    check = given.get("check_length", given["count"] * keys.USUAL_SPACING)
    return keys.tie(slab, key, given["count"], check, now, driest, samples)


def _signed(values: Any) -> dict[str, Any]:
    return cup_members(figure(values))


def _bars(held: Stiffened, bars: Stiffeners, asked: Asked) -> dict[str, Any]:
    section = bars.bar.section
    answer: dict[str, Any] = {
        "bar": {
            "area": area(section.area),
            "centroid": length(section.centroid),
            "second_moment": second_moment(section.second_moment),
            "modulus": stress(bars.bar.modulus),
            "count": held.layout.count,
            "along": length(np.array(bars.along)),
            "widest_spacing": length(held.layout.widest),
            "largest_stress": None if held.bar_stress is None else stress(figure(held.bar_stress)),
            "groove_loss": percent(100.0 * held.groove_loss),
        },
        "cup": {
            "free": _signed(held.largest_free),
            "at_bars": _signed(held.largest_at_bars),
            "between_bars": _signed(held.largest_midway),
            "yearly_swing_free": length(figure(held.yearly_free)),
            "yearly_swing_between_bars": length(figure(held.yearly_midway)),
        },
        "moment": {
            "largest": moment(figure(held.largest_moment)),
            "without_set": moment(held.moment_elastic),
            "lasting": moment(figure(held.moment_lasting)),
        },
        "stress_index": {
            "free": plain(figure(held.index_free)),
            "held": plain(figure(held.index_held)),
        },
    }
    if held.pulls is not None:
        answer["pull"] = _pull(held)
    if held.rigid is not None:
        answer["rigid"] = _rigid(held.rigid)
    if "limit" in asked:
        answer["needed"] = {
            "bars": held.needed,
            "bars_careful": held.needed_careful,
            "spacing": length(_spacing(held.needed, asked)),
            "spacing_careful": length(_spacing(held.needed_careful, asked)),
        }
    return answer


def _spacing(count: int | None, asked: Asked) -> float | None:
    return float(asked["slab"]["length"]) / count if count else None


def _pull(held: Stiffened) -> dict[str, Any]:
    pulls, drawn = held.pulls, held.withdrawal
    assert pulls is not None
    told: dict[str, Any] = {
        "outermost": force(figure(pulls.outermost)),
        "by_point": force(np.array(pulls.by_point)),
        "by_plain_rule": force(figure(pulls.by_lever)),
    }
    if drawn is not None:
        told["allowable"] = force(drawn.allowable)
    if pulls.of_allowable is not None and pulls.of_tests is not None:
        told["of_allowable"] = plain(figure(pulls.of_allowable))
        told["of_tests"] = plain(figure(pulls.of_tests))
        told["verdict"] = pulls.verdict
    return told


def _rigid(rigid: Solid) -> dict[str, Any]:
    told = {} if rigid.key_index is None else {"key_index": plain(figure(rigid.key_index))}
    return told | {
        "force": force(figure(rigid.force)),
        "force_without_set": force(figure(rigid.force_elastic)),
        "wood_index": plain(figure(rigid.wood_index)),
        "fixing_index": plain(figure(rigid.fixing_index)),
        "fixing_yields": force(rigid.yields),
        "first": rigid.first,
    }


def _keys(tied: Keys) -> dict[str, Any]:
    bears = tied.capacity
    return {
        "capacity": force(
            {
                "neck": bears.neck,
                "wing_shear": bears.wing_shear,
                "slab_shear": bears.slab_shear,
                "bearing": bears.bearing,
                "clear": bears.clear,
                "allowable": bears.allowable,
            }
        ),
        "weakest": bears.weakest,
        "demand": force(figure(tied.demand)),
        "index": plain(figure(tied.index)),
        "needed": tied.needed,
        "opening": length(figure(tied.opening)),
    }


def _text(answered: Answered) -> Page:
    held: Stiffened | None
    tied: Keys | None
    held, tied, bars = answered.reply.result
    system = answered.system
    parts: list[Rows | str] = []
    told = []
    if held is not None:
        told.append(_held_in_words(held, answered, system))
        parts += _held_parts(held, bars, system)
    if tied is not None:
        told.append(_tied_in_words(tied, system))
        parts.append(Rows(_key_rows(tied, system), title="Keys", heads=["", "", "likely"]))
    return Page(" ".join(told), parts)


def _held_in_words(held: Stiffened, answered: Answered, system: System) -> str:
    free, left = figure(held.largest_free), figure(held.largest_midway)
    count = held.layout.count
    told = (
        f"With {count} bar{'s' if count > 1 else ''} in slots the slab cups "
        f"{_up_to(left, system)} {cup_members(left)['shape']} instead of {_up_to(free, system)}."
    )
    if any(note.code == "bar-overloaded" for note in held.notes):
        told += " The bars would bend for good or break: take a heavier section, or more of them."
    if held.pulls is not None and held.pulls.verdict:
        words = {
            "holds": "The outermost fixings hold.",
            "may tear loose": "The outermost fixings may tear loose: use longer or thicker ones.",
            "will tear loose": "The outermost fixings will tear loose: do not build it so.",
        }
        told += " " + words[held.pulls.verdict]
    if "limit" in answered.asked:
        limit = text.short_length(answered.asked["limit"], system)
        told += _wanted_in_words(held, limit, answered.asked["slab"]["length"], system)
    return told


def _wanted_in_words(held: Stiffened, limit: str, along: float, system: System) -> str:
    if any(note.code == "cupped-beyond-the-limit" for note in held.notes):
        return f" It is cupped by more than {limit} today, and bars in slots keep it so."
    count, careful = held.needed, held.needed_careful
    if count is None:
        return f" No number of such bars keeps it within {limit}: take a stiffer one."
    if careful is None:
        return (
            f" To keep it within {limit}: {count} such bars likely, but no number for sure; take a "
            "stiffer one."
        )
    told = f" To keep it within {limit}: {count} such bars, {careful} to be careful"
    apart = f", {text.short_length(along / careful, system)} apart" if careful > 1 else ""
    return f"{told}{apart}."


def _up_to(signed: Figure, system: System) -> str:
    amount: Figure = cup_members(signed)["amount"].value
    return text.up_to(amount, system)


def _tied_in_words(tied: Keys, system: System) -> str:
    told = "Keys tie the check but do not stop the wood from drying: "
    load = figure(tied.index)
    bears = tied.capacity
    if load.value >= 1.0:
        told += f"these give way ({bears.weakest})"
        if bears.clear == bears.bearing:
            most = text.short_length(float(tied.opening[0]), system)
            told += f", which lets the check open, by {most} at most"
    elif float(tied.demand[0]) > bears.allowable:
        told += "these may hold, but without margin"
    else:
        told += "these hold"
    if tied.needed is None:
        return told + "; as many as fit side by side would not be enough to rely on."
    return told + f"; {tied.needed} would be enough to rely on."


def _held_parts(held: Stiffened, bars: Stiffeners, system: System) -> list[Rows | str]:
    cups = [
        [name, *_cup_cells(values, system)]
        for name, values in (
            ("free", held.largest_free),
            ("at the bars", held.largest_at_bars),
            ("between the bars", held.largest_midway),
        )
    ]
    for name, swing in (
        ("yearly swing, free", held.yearly_free),
        ("yearly swing, between bars", held.yearly_midway),
    ):
        told = figure(swing)
        band = text.spread(told, LENGTH, system)
        cups.append([name, text.length(told.value, system), "", band])
    rows = [
        _cells("largest moment on each bar", held.largest_moment, MOMENT, system),
        _cells("the same, lasting", held.moment_lasting, MOMENT, system),
        *(
            []
            if held.bar_stress is None
            else [_cells("stress in the bar", held.bar_stress, STRESS, system)]
        ),
        _index("stress index of the wood, free", held.index_free),
        _index("stress index of the wood, held", held.index_held),
    ]
    without = text.amount(held.moment_elastic, MOMENT, system, 0 if system == "us" else 1)
    rows.insert(1, ["the same without set", without, ""])
    parts: list[Rows | str] = [
        Rows(cups, title="Largest cup", heads=["", "", "", "likely"]),
        Rows(rows, title="Forces", heads=["", "", "likely"]),
    ]
    if held.pulls is not None:
        parts.append(Rows(_pull_rows(held, system), title="Fixings", heads=["", "", "likely"]))
        by_point = ", ".join(
            f"{text.amount(one, FORCE, system, 0)} at {text.short_length(at, system)}"
            for one, at in zip(held.pulls.by_point, bars.across, strict=True)
        )
        parts.append(f"Pull on each: {by_point}.")
    if held.rigid is not None:
        rigid = held.rigid
        push = text.amount(float(rigid.force[0]), FORCE, system, 0)
        yields = text.amount(rigid.yields, FORCE, system, 0)
        parts.append(
            f"Fixed solid instead of slotted, up to {push} would build up along each bar if "
            f"nothing gave (stress index {float(rigid.wood_index[0]):.1f}; 1 splits): first "
            f"{rigid.first}. A fixing yields sideways at about {yields}."
        )
    return parts


def _cup_cells(values: Any, system: System) -> list[str]:
    members = _signed(values)
    amount: Figure = members["amount"].value
    return [
        text.length(amount.value, system),
        members["shape"],
        text.spread(amount, LENGTH, system),
    ]


def _cells(name: str, values: Any, dimension: Dimension, system: System) -> list[str]:
    told = figure(np.abs(values))
    decimals = 0 if dimension is FORCE or system == "us" else 1
    return [
        name,
        text.amount(told.value, dimension, system, decimals),
        text.spread(told, dimension, system, decimals),
    ]


def _index(name: str, values: Any) -> list[str]:
    told = figure(values)
    band = "" if told.low is None else f"{told.low:.2f} to {told.high:.2f}"
    return [name, f"{told.value:.2f}", band]


def _pull_rows(held: Stiffened, system: System) -> list[list[str]]:
    pulls = held.pulls
    assert pulls is not None
    rows = [
        _cells("pull on an outermost one", pulls.outermost, FORCE, system),
        _cells("by the plain rule (too low)", pulls.by_lever, FORCE, system),
    ]
    if held.withdrawal is not None and held.withdrawal.allowable is not None:
        allowed = text.amount(held.withdrawal.allowable, FORCE, system, 0)
        rows.append(["allowable withdrawal", allowed, ""])
    if pulls.of_allowable is not None and pulls.of_tests is not None:
        rows.append(_index("pull over allowable", pulls.of_allowable))
        rows.append(_index("pull over the mean of tests", pulls.of_tests))
    return rows


def _key_rows(tied: Keys, system: System) -> list[list[str]]:
    bears = tied.capacity
    plainly = [
        ("waist parts", bears.neck),
        ("wings shear off", bears.wing_shear),
        ("slab shears beside it", bears.slab_shear),
        ("slab crushes at the flanks", bears.bearing),
        ("to rely on, each", bears.allowable),
    ]
    rows = [[name, text.amount(value, FORCE, system, 0), ""] for name, value in plainly]
    rows.append(_cells("asked of each", tied.demand, FORCE, system))
    rows.append(_index("asked over clear capacity", tied.index))
    opening = figure(tied.opening)
    band = text.spread(opening, LENGTH, system)
    rows.append(["check could open, untied", text.length(opening.value, system), band])
    return rows


def _by_number(tied: Keys, given: dict[str, Any]) -> tuple[Any, Any, Any]:
    """Numbers of keys along the check, what each would bear (numbers, samples), what is allowed."""
    most = max(given["count"], tied.needed or 0, 10)
    numbers = np.arange(1.0, most + 1.0)
    demand = tied.demand * given["count"] / numbers[:, None]
    return numbers, demand, np.full(most, tied.capacity.allowable)


def _banded(name: str, values: Any, dimension: Any) -> list[Column]:
    columns = [Column(name, values[:, 0], dimension)]
    if values.shape[1] > 1:
        low, high = np.percentile(values[:, 1:], [10.0, 90.0], axis=1)
        columns += [Column(f"{name}_low", low, dimension), Column(f"{name}_high", high, dimension)]
    return columns


def _table(answered: Answered) -> Table:
    held: Stiffened | None
    held, tied, _ = answered.reply.result
    if held is None:
        numbers, demand, allowed = _by_number(tied, answered.asked["keys"])
        return Table(
            [
                Column("keys", [f"{number:.0f}" for number in numbers]),
                *_banded("demand", demand, FORCE),
                Column("allowable", allowed, FORCE),
            ],
            answered.system,
        )
    return Table(
        [
            Column("day", held.days, DAYS),
            *_banded("cup_free", held.free, LENGTH),
            *_banded("cup_at_bars", held.at_bars, LENGTH),
            *_banded("cup_between_bars", held.midway, LENGTH),
            *_banded("moment", held.moment, MOMENT),
        ],
        answered.system,
    )


def _line(label: str, across: Any, tag: Quantity, system: System) -> Line:
    values = tag.dimension.write(tag.value, system)
    if values.shape[1] == 1:
        return Line(label, across, values[:, 0])
    low, high = np.percentile(values[:, 1:], [10.0, 90.0], axis=1)
    return Line(label, across, values[:, 0], low, high)


def _chart_of_keys(tied: Keys, answered: Answered, system: System) -> Chart:
    given = answered.asked["keys"]
    numbers, demand, allowed = _by_number(tied, given)
    bound = FORCE.write(allowed, system)
    return Chart(
        title="What each key bears",
        description="The force asked of each key against how many there are, and what one may be "
        "relied on to bear. Take care: " + " ".join(answered.reply.cautions),
        x_label="keys along the check",
        panels=[
            Panel(
                f"force [{FORCE.of_system[system].symbol}]",
                [
                    _line("asked of each", numbers, force(demand), system),
                    Line("to rely on", numbers, bound, dashed=True),
                ],
            )
        ],
    )


def _chart(answered: Answered) -> Chart:
    held: Stiffened | None
    held, tied, _ = answered.reply.result
    system = answered.system
    if held is None:
        return _chart_of_keys(tied, answered, system)
    unit = LENGTH.of_system[system].symbol
    turn = MOMENT.of_system[system].symbol
    return Chart(
        title="Cup with and without bars",
        description=(
            f"Free the slab cups {1e3 * abs(float(held.largest_free[0])):.1f} mm at most, with "
            f"{held.layout.count} bars {1e3 * abs(float(held.largest_midway[0])):.1f} mm between "
            "them; the bands hold four cases in five. Above zero the edges are up. Take care: "
            + " ".join(answered.reply.cautions)
        ),
        x_label="days from arrival",
        panels=[
            Panel(
                f"cup [{unit}]",
                [
                    _line("free", held.days, length(held.free), system),
                    _line("between the bars", held.days, length(held.midway), system),
                ],
            ),
            Panel(
                f"moment [{turn}]",
                [_line("on each bar", held.days, moment(held.moment), system)],
            ),
        ],
    )


_NUMBER: Final = {"type": "number"}
_MAYBE: Final = {"type": ["number", "null"]}
_COUNT: Final = {"type": ["integer", "null"]}
_FIGURES: Final = {"type": "object", "additionalProperties": FIGURE_SCHEMA}

QUESTION = Question(
    name="stiffening",
    title="Stiffening",
    summary="How flat bars across the grain keep a slab, what bars and fixings bear through the "
    "first years, what a solid fixing would do, how many bars would do, and what keys across a "
    "check can hold.",
    shape=StiffeningShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "bar": {
                "type": "object",
                "properties": {
                    "area": _NUMBER,
                    "centroid": _NUMBER,
                    "second_moment": _NUMBER,
                    "modulus": _NUMBER,
                    "count": {"type": "integer"},
                    "along": {"type": "array", "items": _NUMBER},
                    "widest_spacing": _NUMBER,
                    "largest_stress": {
                        "anyOf": [{"type": "null"}, *FIGURE_SCHEMA["anyOf"]],
                        "description": "null where only the bar's stiffness is known",
                    },
                    "groove_loss": _NUMBER,
                },
            },
            "cup": {
                "type": "object",
                "description": "largest cup through the course; between_bars is midway between "
                "those farthest apart",
                "properties": {
                    "free": CUP_SCHEMA,
                    "at_bars": CUP_SCHEMA,
                    "between_bars": CUP_SCHEMA,
                    "yearly_swing_free": FIGURE_SCHEMA,
                    "yearly_swing_between_bars": FIGURE_SCHEMA,
                },
            },
            "moment": {
                "type": "object",
                "description": "on each bar; positive when the slab's edges want up",
                "properties": {
                    "largest": FIGURE_SCHEMA,
                    "without_set": _NUMBER,
                    "lasting": FIGURE_SCHEMA,
                },
            },
            "pull": {
                "type": "object",
                "properties": {
                    "outermost": FIGURE_SCHEMA,
                    "by_point": {"type": "array", "items": _NUMBER},
                    "by_plain_rule": FIGURE_SCHEMA,
                    "allowable": _MAYBE,
                    "of_allowable": FIGURE_SCHEMA,
                    "of_tests": FIGURE_SCHEMA,
                    "verdict": {
                        "type": "string",
                        "enum": ["holds", "may tear loose", "will tear loose"],
                    },
                },
            },
            "stress_index": _FIGURES,
            "rigid": {
                "type": "object",
                "description": "what the same fixings would do if solid",
                "properties": {
                    "force": FIGURE_SCHEMA,
                    "force_without_set": FIGURE_SCHEMA,
                    "wood_index": FIGURE_SCHEMA,
                    "fixing_index": FIGURE_SCHEMA,
                    "fixing_yields": {
                        "type": "number",
                        "description": "sideways force at which one fixing yields",
                    },
                    "key_index": FIGURE_SCHEMA,
                    "first": {"type": "string"},
                },
            },
            "needed": {
                "type": "object",
                "description": "bars that keep the cup, that of today included, within the "
                "limit in the central and in nine of ten cases; null where no number does",
                "properties": {
                    "bars": _COUNT,
                    "bars_careful": _COUNT,
                    "spacing": _MAYBE,
                    "spacing_careful": _MAYBE,
                },
            },
            "keys": {
                "type": "object",
                "properties": {
                    "capacity": {"type": "object", "additionalProperties": _NUMBER},
                    "weakest": {"type": "string"},
                    "demand": FIGURE_SCHEMA,
                    "index": FIGURE_SCHEMA,
                    "needed": _COUNT,
                    "opening": FIGURE_SCHEMA,
                },
            },
            "weight": _NUMBER,
        },
    },
    text=_text,
    table=_table,
    chart=_chart,
    follows=True,
    examples=(
        Example(
            "Steel channels let into the library table, to keep it within 1/8 in",
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
                "stiffeners": {
                    "section": "channel",
                    "width": "2in",
                    "height": "1in",
                    "wall": "1/8in",
                    "slot": "3/8in",
                    "legs": "into",
                    "recess": "1in",
                    "count": 4,
                    "fixings": ["2in", "12in", "22in", "32in"],
                    "fastener": {
                        "kind": "threaded_insert",
                        "diameter": "1/2in",
                        "thread": "3/4in",
                        "shank": "5/16in",
                    },
                },
                "limit": "1/8in",
            },
        ),
        Example(
            "Walnut keys across a check in an oak slab, alone",
            {
                "units": "metric",
                "spread": "none",
                "slab": {
                    "species": "white oak",
                    "width": 600,
                    "thickness": 50,
                    "pith": {"below": -10},
                },
                "moisture": 10,
                "room": {"temperature": 21, "relative_humidity": 40},
                "keys": {
                    "length": 100,
                    "waist": 20,
                    "wing": 50,
                    "thickness": 25,
                    "species": "black walnut",
                    "count": 3,
                    "check_length": 500,
                },
            },
        ),
    ),
)
