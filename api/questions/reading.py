"""`/v1/reading`: readings and weighings become moisture, with its error, and what to read next."""

from __future__ import annotations

from typing import Any, ClassVar, Final

import numpy as np
from marshmallow import ValidationError, validates_schema

from api.evidence import (
    MeterShape,
    OvenDryShape,
    SampleBoardShape,
    build_board,
    build_meter,
    build_oven,
    diffusion_at_20,
    is_reference_wood,
    plainly,
    too_deep,
)
from api.quantities import LENGTH, PERCENT, Days, length, percent
from api.question import Answered, Asked, Example, Question, Reply
from api.replies import text
from api.replies.csv import Column, Table
from api.replies.text import Page, Rows
from api.schema import FIGURE_SCHEMA, Part, SpreadShape
from api.schema import Rows as RowsField
from api.shapes import SlabShape, build_slab
from model.answers import reading
from model.answers.reading import Answer, Corrected
from model.basis import Note, cite
from model.behaviour.slab import Slab
from model.spread import TO_DECILE, Figure

MOST: Final = 500  # readings of each kind; the contract of readiness
USUAL_AGE: Final = 365.0  # days since the ends were cut, when it is not told (judgement)
WAYS: Final = ("readings", "oven_dry", "sample_boards")


class ReadingShape(SpreadShape):
    """A slab and what was read of it."""

    together: ClassVar[dict[str, Any]] = {"anyOf": [{"required": [name]} for name in WAYS]}

    slab = Part(SlabShape, "the slab", required=True)
    readings = RowsField("readings of a moisture meter", MeterShape, shortest=1, longest=MOST)
    oven_dry = RowsField("pieces weighed and oven-dried", OvenDryShape, shortest=1, longest=MOST)
    sample_boards = RowsField("sample boards by weight", SampleBoardShape, shortest=1, longest=MOST)
    age = Days("days since its ends were cut; a year when left out", low=0.1, high=36_525.0)

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _something_read(self, data: Any, original: Any, **kwargs: Any) -> None:
        if not any(name in original for name in WAYS):
            raise ValidationError(f"nothing read: give one or more of {', '.join(WAYS)}")


def _readings(asked: Asked, slab: Slab) -> list[tuple[str, int, reading.Reading]]:
    """Everything that was read, with the name of its list and its place there."""
    found: list[tuple[str, int, reading.Reading]] = []
    for index, row in enumerate(asked.get("readings", [])):
        found.append(("readings", index, build_meter(row, slab.thickness)))
    for index, row in enumerate(asked.get("oven_dry", [])):
        found.append(("oven_dry", index, build_oven(row)))
    for index, row in enumerate(asked.get("sample_boards", [])):
        found.append(("sample_boards", index, build_board(row)))
    return found


def _refuse_depths(asked: Asked, thickness: float) -> None:
    """Refuse depths beyond the slab, all at once; an end or edge may be read at any depth."""
    wrong: dict[str, dict[int, dict[str, list[str]]]] = {}
    for name, members in (("readings", ("depth",)), ("oven_dry", ("depth_from", "depth_to"))):
        for index, row in enumerate(asked.get(name, [])):
            if row.get("place") in ("edge", "end"):
                continue
            for member in members:
                fault = too_deep(row.get(member, 0.0), thickness)
                if fault:
                    wrong.setdefault(name, {}).setdefault(index, {})[member] = [fault]
    if wrong:
        raise ValidationError(wrong)


def _answer(asked: Asked) -> Reply:
    slab = build_slab(asked["slab"])
    _refuse_depths(asked, slab.thickness)
    told = _readings(asked, slab)
    corrected = []
    wrong: dict[str, dict[int, list[str]]] = {}
    for name, index, one in told:
        try:
            corrected.append(
                reading.correct(
                    one, slab.thickness, slab.species.specific_gravity, is_reference_wood(slab)
                )
            )
        except ValueError as error:
            wrong.setdefault(name, {})[index] = [str(error)]
    if wrong:
        raise ValidationError(wrong)
    found = reading.answer(
        [one for _, _, one in told],
        slab.thickness,
        slab.species.specific_gravity,
        diffusion_at_20(slab),
        asked.get("age", USUAL_AGE),
        slab.length,
        is_reference_wood(slab),
    )
    notes = list(found.notes)
    if "age" not in asked:
        notes.append(
            Note(
                "age-assumed",
                "How long ago the ends were cut is not told: a year is taken for how far they "
                "have dried.",
                "/age",
                "judgement",
            )
        )
    answer: dict[str, Any] = {
        "readings": [
            _corrected(name, index, one, asked)
            for (name, index, _), one in zip(told, found.corrected, strict=True)
        ],
        "next": [
            {
                "depth": length(one.depth),
                "place": one.place,
                "from_end": length(one.from_end),
                "reason": one.reason,
            }
            for one in found.following
        ],
    }
    if found.profile is not None:
        answer.update(_profile(found.profile, asked))
        answer["contradicting"] = [
            f"/{told[index][0]}/{told[index][1]}" for index in found.profile.contradicting
        ]
    if found.ends is not None:
        ends: dict[str, Any] = {
            "moisture": percent(found.ends.moisture),
            "zone": length(found.ends.zone),
            "says": found.ends.message,
        }
        if found.ends.below_slab is not None:
            ends["below_slab"] = percent(found.ends.below_slab)
        answer["ends"] = ends
    basis = cite(
        *(["meter-pin"] if any(one.kind == "pin" for one in found.corrected) else []),
        *(
            ["meter-resistance"]
            if any("resistance" in r for r in asked.get("readings", []))
            else []
        ),
        *(["oven-dry"] if "oven_dry" in asked else []),
        *(["sample-board"] if "sample_boards" in asked else []),
        *(["meter-surface"] if any(one.kind == "surface" for one in found.corrected) else []),
        "end-zone",
    )
    return Reply(answer, found, notes, _cautions(asked, notes), basis)


OVEN: Final = (
    "An oven at 103 °C with wood in it: small pieces without finish or glue, the room aired, and "
    "somebody by it; they are hot when weighed. No microwave oven: wood chars from within."
)


def _cautions(asked: Asked, notes: list[Note]) -> list[str]:
    """Of the oven, where one was used or is advised."""
    advised = any(note.code == "species-uncorrected" for note in notes)
    return [OVEN] if advised or "oven_dry" in asked or "sample_boards" in asked else []


def _corrected(name: str, index: int, one: Corrected, asked: Asked) -> dict[str, Any]:
    moisture = None
    if one.moisture is not None:
        reach = TO_DECILE * one.error
        moisture = percent(
            plainly(Figure(one.moisture, one.moisture - reach, one.moisture + reach), asked)
        )
    return {
        "of": f"/{name}/{index}",
        "kind": one.kind,
        "place": one.place,
        "range": one.range,
        "moisture": moisture,
        "depth": length({"from": float(one.depth_from), "to": float(one.depth_to)}),
    }


def _profile(profile: reading.Profile, asked: Asked) -> dict[str, Any]:
    members: dict[str, Any] = {
        name: percent(plainly(getattr(profile, name), asked))
        for name in ("mean", "top", "core", "bottom", "gradient", "tilt")
    }
    reach = TO_DECILE * profile.error
    members["profile"] = {
        "depth": length(profile.depth),
        "moisture": percent(profile.moisture),
        "low": percent(profile.moisture - reach),
        "high": percent(profile.moisture + reach),
    }
    members["known"] = percent(
        {
            "gradient": 100.0 * max(profile.gradient_known, 0.0),
            "tilt": 100.0 * max(profile.tilt_known, 0.0),
        }
    )
    return members


def _text(answered: Answered) -> Page:
    found: Answer = answered.reply.result
    system = answered.system
    first = found.following[0]
    where = (
        f"{text.short_length(first.depth, system)} deep, at least "
        f"{text.short_length(first.from_end, system)} from the ends"
    )
    if found.profile is None:
        decision = (
            f"Too little to say: no reading of the slab's body is within range. Read {where}."
        )
    else:
        mean = found.profile.mean
        decision = f"The slab holds {_percent(mean, answered.asked)} on the mean of its thickness."
        if found.profile.contradicting:
            decision += " Some readings contradict the others: read those again first."
    parts: list[Rows | str] = []
    if found.profile is not None:
        rows = [
            [name, *_cells(getattr(found.profile, member), answered.asked)]
            for name, member in (
                ("mean", "mean"),
                ("top face", "top"),
                ("middle", "core"),
                ("bottom face", "bottom"),
                ("middle less faces", "gradient"),
                ("top less bottom", "tilt"),
            )
        ]
        parts.append(Rows(rows, heads=["", "moisture", "likely"]))
    rows = [
        [
            _what(one),
            "" if one.moisture is None else f"{one.moisture:.1f} %",
            f"+/- {one.error:.1f}" if one.moisture is not None else f"{one.range} its range",
        ]
        for one in found.corrected[:40]
    ]
    parts.append(Rows(rows, title="Readings, corrected"))
    if len(found.corrected) > len(rows):
        parts.append(f"and {len(found.corrected) - len(rows)} more; see the JSON form.")
    if found.ends is not None:
        parts.append(found.ends.message)
    rows = [
        [
            f"{text.short_length(one.depth, system)} under the {one.place}",
            f"{text.short_length(one.from_end, system)} from the ends",
        ]
        for one in found.following
    ]
    parts.append(Rows(rows, title="Read next"))
    return Page(decision, parts)


def _what(one: Corrected) -> str:
    """What was read, and where; a piece or board speaks of the slab and of no face."""
    if one.kind in ("oven_dry", "sample_board"):
        return one.kind.replace("_", "-" if one.kind == "oven_dry" else " ")
    return f"{one.kind}, {one.place}"


def _percent(figure: Figure, asked: Asked) -> str:
    if asked["spread"] == "none" or figure.low is None or figure.high is None:
        return f"{figure.value:.1f} %"
    return f"{figure.value:.1f} % ({figure.low:.1f} to {figure.high:.1f})"


def _cells(figure: Figure, asked: Asked) -> list[str]:
    if asked["spread"] == "none" or figure.low is None or figure.high is None:
        return [f"{figure.value:.1f} %"]
    return [f"{figure.value:.1f} %", f"{figure.low:.1f} to {figure.high:.1f}"]


def _table(answered: Answered) -> Table:
    """Moisture through the thickness; no rows when there is too little to say."""
    profile = answered.reply.result.profile
    depth, moisture, error = (
        (np.empty(0),) * 3 if profile is None else (profile.depth, profile.moisture, profile.error)
    )
    return Table(
        [
            Column("depth", depth, LENGTH),
            Column("moisture", moisture, PERCENT),
            Column("low", moisture - TO_DECILE * error, PERCENT),
            Column("high", moisture + TO_DECILE * error, PERCENT),
        ],
        answered.system,
    )


_NUMBERS: Final = {"type": "array", "items": {"type": "number"}}
_NUMBER: Final = {"type": "number"}
_FIGURE_OR_NULL: Final = {"anyOf": [{"type": "null"}, *FIGURE_SCHEMA["anyOf"]]}

QUESTION = Question(
    name="reading",
    title="Readings",
    summary="Meter readings, oven-dry pairs and sample boards corrected to moisture with their "
    "error; mean and gradient through the thickness; what end-grain readings can and can't say; "
    "where to read next.",
    shape=ReadingShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            **{
                name: {**FIGURE_SCHEMA, "description": meaning}
                for name, meaning in (
                    ("mean", "mean moisture through the thickness"),
                    ("top", "at the top face"),
                    ("core", "in the middle"),
                    ("bottom", "at the bottom face"),
                    ("gradient", "middle less the mean of both faces"),
                    ("tilt", "top face less bottom face"),
                )
            },
            "known": {
                "type": "object",
                "description": "how much of the doubt before them the readings removed",
                "properties": {"gradient": _NUMBER, "tilt": _NUMBER},
            },
            "profile": {
                "type": "object",
                "properties": dict.fromkeys(("depth", "moisture", "low", "high"), _NUMBERS),
            },
            "readings": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "of": {"type": "string", "description": "which reading, as a pointer"},
                        "kind": {"type": "string"},
                        "place": {"type": "string"},
                        "range": {"type": "string", "enum": ["within", "below", "above"]},
                        "moisture": _FIGURE_OR_NULL,
                        "depth": {
                            "type": "object",
                            "properties": {"from": _NUMBER, "to": _NUMBER},
                        },
                    },
                    "required": ["of", "kind", "place", "range", "moisture", "depth"],
                },
            },
            "contradicting": {"type": "array", "items": {"type": "string"}},
            "ends": {
                "type": "object",
                "properties": {
                    "moisture": _NUMBER,
                    "zone": _NUMBER,
                    "below_slab": _NUMBER,
                    "says": {"type": "string"},
                },
                "required": ["moisture", "zone", "says"],
            },
            "next": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "depth": _NUMBER,
                        "place": {"type": "string"},
                        "from_end": _NUMBER,
                        "reason": {"type": "string"},
                    },
                    "required": ["depth", "place", "from_end", "reason"],
                },
            },
        },
        "required": ["readings", "next"],
    },
    text=_text,
    table=_table,
    examples=(
        Example(
            "Pins at two depths in the library table, and one in its end",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                },
                "readings": [
                    {"value": 11.5, "depth": "0.42in", "temperature": "65F"},
                    {"value": 13, "depth": "1in", "temperature": "65F"},
                    {"value": 11, "depth": "0.42in", "place": "bottom", "temperature": "65F"},
                    {"value": 7.5, "depth": "0.75in", "place": "end", "temperature": "65F"},
                ],
                "age": 400,
            },
        ),
        Example(
            "Three oven-dry slices and a resistance",
            {
                "slab": {"species": "black walnut", "width": "400mm", "thickness": "45mm"},
                "oven_dry": [
                    {"wet": "52.1g", "dry": "47.6g", "step": "0.1g", "depth_from": "0mm",
                     "depth_to": "15mm"},
                    {"wet": "54.9g", "dry": "48.8g", "step": "0.1g", "depth_from": "15mm",
                     "depth_to": "30mm"},
                    {"wet": "51.7g", "dry": "47.3g", "step": "0.1g", "depth_from": "30mm",
                     "depth_to": "45mm"},
                ],
                "readings": [{"resistance": 1.2e8, "depth": "22mm", "temperature": "20C"}],
            },
        ),
    ),
)  # fmt: skip
