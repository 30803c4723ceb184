"""`/v1/diagnosis`: why a slab moved, what it must have been, and what is still to come."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from api.evidence import OPEN_FIGURE_SCHEMA, once, opened, refuse_wet
from api.holding import CupShape, KeyShape, build_cup
from api.quantities import (
    DAYS,
    LENGTH,
    PERCENT,
    POUND_FORCE,
    Days,
    Length,
    Moisture,
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
from api.schema import FIGURE_SCHEMA, Choice, Date, Flag, Part, Shape, SpreadShape
from api.schema import Rows as RowsField
from api.shapes import (
    CUP_SCHEMA,
    THICKNESS,
    WIDTH,
    FacesShape,
    RoomShape,
    SlabShape,
    build_face,
    build_faces,
    build_moisture,
    build_room,
    build_slab,
    build_species,
    cup_members,
    draw_samples,
    faces_cautions,
    faces_notes,
    moisture_field,
    slab_cautions,
)
from model.answers import diagnosis
from model.answers.diagnosis import Answer, Cause, History, Option, Sighting, Strip
from model.basis import Note, cite
from model.behaviour import timber
from model.behaviour.course import Stay
from model.behaviour.keys import Key
from model.behaviour.rings import ring_notes
from model.behaviour.section import FLAT, FREE
from model.behaviour.slab import Depths, ShellCore, Slab
from model.properties.finishes import Face, Faces
from model.spread import Figure
from model.surroundings.air_series import Air
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

LONGEST: Final = 7310.0  # days; twenty years
MOST_STAYS: Final = 20
MOST_SIGHTINGS: Final = 100
WETTEST_NOW: Final = 40.0  # % M; all woods begin to shrink below it
WETTEST_BEFORE: Final = 60.0  # % M; free water beyond it only lengthens the drying (judgement)
MOST_CUP: Final = 0.06  # of the width: 50 mm over 860; more is no cup but a check or a break
WIDTH_ERROR: Final = 5.0e-4  # m; standard deviation of a width by tape or rule (judgement)
CUP_ERROR: Final = 3.0e-4  # m; of a cup by straight-edge and feeler (judgement)
METER_ERROR: Final = 0.8  # % M; meters read the mean within 1 % (printed, Wood Handbook)
BEFORE_ERROR: Final = 1.0  # % M; a reading of then (judgement)


class DressedShape(Shape):
    """Material planed off at the start of a stay."""

    top = Length("depth planed off the top", low=0.0, high=THICKNESS[1], load_default=0.0)
    bottom = Length("depth planed off the bottom", low=0.0, high=THICKNESS[1], load_default=0.0)
    flat = Flag("whether its cup was planed away too", load_default=False)


class SpellShape(Shape):
    """Where it has been: one stay."""

    room = Part(RoomShape, "the air it lay in; that of the stay before when left out")
    days = Days("how long", low=0.5, high=LONGEST, required=True)
    faces = Part(
        FacesShape, "what was on its faces; when told nowhere, three ways of lying are weighed"
    )
    hold = Choice("how it was held", ("free", "flat"), load_default="free")
    dress = Part(DressedShape, "material planed off at its start")


class SeenShape(Shape):
    """Something seen on the way."""

    together: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"required": ["cup"], "properties": {"flat": {"enum": [False]}}},
            {"required": ["flat"], "properties": {"flat": {"enum": [True]}},
             "not": {"required": ["cup"]}},
            {"required": ["width"]},
        ]
    }  # fmt: skip

    day = Days("days after the history's start; 1 is the day after", low=0.04, high=LONGEST,
               required=True)  # fmt: skip
    cup = Part(CupShape, "the cup then")
    flat = Flag("whether it was still flat then", load_default=False)
    width = Length("its width then", low=WIDTH[0], high=WIDTH[1])

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _something(self, data: Any, original: Any, **kwargs: Any) -> None:
        if not {"cup", "width"} & original.keys() and original.get("flat") not in (True, "true"):
            raise ValidationError("nothing seen: give cup, flat or width")
        if "cup" in original and original.get("flat") in (True, "true"):
            raise ValidationError("cup and flat given: give one of both")


class FixingsMovedShape(Shape):
    """Fixings that stand out of line."""

    out_of_line = Length(
        "by how much the slab has drawn in there; negative if it has grown",
        low=-0.2,
        high=0.2,
        required=True,
    )
    distance = Length("distance from where the slab is held", low=0.02, high=3.0, required=True)

    @validates_schema
    def _possible(self, data: Any, **kwargs: Any) -> None:
        if abs(data["out_of_line"]) > 0.2 * data["distance"]:
            raise ValidationError(
                "more than a fifth of the distance: no wood moves that much", "out_of_line"
            )


class StripShape(Shape):
    """A strip ripped off along an edge."""

    length = Length("its length", low=0.1, high=12.0, required=True)
    breadth = Length("its breadth in the direction it bowed", low=0.003, high=0.3, required=True)
    bow = Length(
        "its bow: the gap in the middle of its length, to a straight line or to the slab",
        low=0.0,
        high=0.5,
        required=True,
    )

    @validates_schema
    def _possible(self, data: Any, **kwargs: Any) -> None:
        if data["bow"] > 0.1 * data["length"]:
            raise ValidationError("more than a tenth of its length: no strip bows that much", "bow")


_ONE_STAY: Final = ("room", "days", "from", "to", "faces", "hold", "dress")


class DiagnosisShape(SpreadShape):
    """A slab, what was seen of it, and where it has been."""

    together: ClassVar[dict[str, Any]] = {
        "anyOf": [{"required": [name]} for name in ("width_after", "fixings", "cup", "seen")],
        "not": {
            "anyOf": [
                *({"required": ["stays", name]} for name in _ONE_STAY if name != "from"),
                {"required": ["width_after", "fixings"]},
                {"required": ["days", "to"]},
            ]
        },
        "dependentRequired": {"to": ["from"], "days": ["room"]},
        "dependentSchemas": {
            "room": {"anyOf": [{"required": ["days"]}, {"required": ["from", "to"]}]},
            "from": {"anyOf": [{"required": ["room"]}, {"required": ["stays"]}]},
        },
    }

    slab = Part(SlabShape, "the slab, with the size it had before", required=True)
    width_after = Length("its width today", low=WIDTH[0], high=WIDTH[1])
    fixings = Part(FixingsMovedShape, "fixings out of line, instead of width_after")
    moisture = moisture_field("moisture content today")
    moisture_before = Moisture(
        "moisture content before, if it was measured", low=2.0, high=WETTEST_BEFORE
    )
    cup = Part(CupShape, "its cup today; leave it out when it was not measured")
    seen = RowsField("what was seen on the way", SeenShape, shortest=1, longest=MOST_SIGHTINGS)
    room = Part(RoomShape, "the air it has lain in since")
    days = Days("how long ago before is; or give from and to", low=0.5, high=LONGEST)
    begins = Date("day before", data_key="from")
    ends = Date("today", data_key="to")
    faces = Part(FacesShape, "what was on its faces; when left out three ways of lying are weighed")
    hold = Choice("how it was held", ("free", "flat"))
    dress = Part(DressedShape, "material planed off at the start")
    stays = RowsField(
        "where it has been, in order, instead of room, days, faces, hold and dress",
        SpellShape,
        shortest=1,
        longest=MOST_STAYS,
    )
    strip = Part(StripShape, "a strip ripped off that bowed, or stayed straight")
    key = Part(KeyShape, "a key that sheared")
    next_room = Part(RoomShape, "the air it will lie in from now on; as now when left out")
    finish = Part(FacesShape, "the finish of `both faces finished alike`; its top counts")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _goes_together(self, data: Any, original: Any, **kwargs: Any) -> None:
        given = original.keys()
        if "stays" in given and (twice := [name for name in _ONE_STAY if name in given - {"from"}]):
            raise ValidationError(
                f"stays and {', '.join(twice)} given: tell where it has been in one way"
            )
        if "width_after" in given and "fixings" in given:
            raise ValidationError("width_after and fixings given: give one of both")
        if not given & {"width_after", "fixings", "cup", "seen"}:
            raise ValidationError(
                "nothing seen: give width_after, fixings, cup or seen, whatever was measured"
            )
        if "stays" in given or not given & {"room", "days", "from", "to"}:
            return
        if "days" in given and "to" in given:
            raise ValidationError("days and to given: give one of both")
        if "room" not in given:
            raise ValidationError("the room is missing: where has it lain since?")
        if "days" not in given and not {"from", "to"} <= given:
            raise ValidationError("how long is missing: give days, or from and to")

    @validates_schema
    def _in_order(self, data: Any, **kwargs: Any) -> None:
        if "begins" in data and "ends" in data and data["ends"] <= data["begins"]:
            raise ValidationError(
                f"`{data['ends']}` given: not later than from, {data['begins']}", "to"
            )


@dataclass(frozen=True, slots=True)
class Diagnosed:
    """The result: the model's answer, or the formula alone where no history is told."""

    found: Answer | None
    by_formula: Figure | None
    lost: float | None  # share of the width


def _spells(asked: Asked) -> list[Asked]:
    """The stays as told, in either way."""
    if "stays" in asked:
        spells: list[Asked] = asked["stays"]
        return spells
    if "room" not in asked:
        return []
    lasting = asked.get("days")
    if lasting is None:
        lasting = float((asked["ends"] - asked["begins"]).days)
    told: Asked = {name: asked[name] for name in ("room", "faces", "dress") if name in asked}
    return [{"days": lasting, "hold": asked.get("hold", "free"), **told}]


def _rooms(spells: list[Asked], name: str) -> list[Room]:
    """The room of every stay; one left out is that of the stay before."""
    found: list[Room] = []
    wrong: dict[int, Any] = {}
    for index, spell in enumerate(spells):
        if "room" not in spell:
            if not found:
                wrong[index] = {"room": ["missing: the first stay needs the air it lay in"]}
                break
            found.append(found[-1])
            continue
        try:
            found.append(build_room(spell["room"]))
        except ValidationError as error:
            wrong[index] = error.normalized_messages()  # type: ignore[no-untyped-call]
    if wrong:
        raise ValidationError({"stays": wrong} if name == "stays" else wrong[0])
    return found


def _start_day(asked: Asked, rooms: list[Room]) -> float:
    if "begins" in asked:
        return day_of(asked["begins"])
    if any(room.air.period is not None for room in rooms):
        raise ValidationError(
            "missing: the air changes through the year; write the day before, such as 2026-01-10",
            "from",
        )
    return 0.0


def _air_day(asked: Asked, spell: Asked, room: Room, passed: float) -> float | None:
    """Where in a log a stay begins; None where the day of the year counts."""
    if room.method != "logged":
        return None
    begin = 0.0
    if "begins" in asked and "room" in spell:
        zero = spell["room"]["log"]["time"][0]
        midnight = datetime.datetime.combine(asked["begins"], datetime.time(), zero.tzinfo)
        begin = passed + (midnight - zero).total_seconds() / 86_400.0
    last = float(room.air.days[-1])
    if begin < -1.0 or begin + spell["days"] > last + 1e-6:
        raise ValidationError(
            f"the log covers {last:.4g} days from its first reading; the stay runs from day "
            f"{begin:.4g} to {begin + spell['days']:.4g} of it",
            "room",
        )
    return max(begin, 0.0)


def _stays(asked: Asked, spells: list[Asked], rooms: list[Room], slab: Slab) -> list[Stay]:
    """The model's stays; faces, once told, hold for the stays after."""
    faces = Faces(Face(0.0), Face(0.0))
    left, passed = slab.thickness, 0.0
    stays = []
    for index, (spell, room) in enumerate(zip(spells, rooms, strict=True)):
        if "faces" in spell:
            refuse_wet(spell["faces"])
            faces = build_faces(spell["faces"])
        dress = spell.get("dress", {})
        left -= dress.get("top", 0.0) + dress.get("bottom", 0.0)
        if left < timber.LEAST_THICKNESS:
            fault = [f"would leave {1e3 * max(left, 0.0):.3g} mm of the slab"]
            told: dict[Any, Any] = {"dress": fault}
            raise ValidationError({"stays": {index: told}} if "stays" in asked else told)
        stays.append(
            Stay(
                air=room.air,
                days=spell["days"],
                faces=faces,
                hold=FLAT if spell["hold"] == "flat" else FREE,
                humidity_spread=room.humidity_spread,
                air_day=_air_day(asked, spell, room, passed),
                dress_top=dress.get("top", 0.0),
                dress_bottom=dress.get("bottom", 0.0),
                machined_flat=dress.get("flat", False),
            )
        )
        passed += spell["days"]
    return stays


def _ratio(asked: Asked, slab: Slab) -> float | None:
    """Width today over width before."""
    if "width_after" in asked:
        ratio = asked["width_after"] / slab.width
        if not 0.8 <= ratio <= 1.2:
            raise ValidationError(
                f"{1000 * asked['width_after']:g} mm given, {1000 * slab.width:g} mm before: no "
                "wood moves by more than a fifth",
                "width_after",
            )
        return float(ratio)
    if "fixings" in asked:
        told = asked["fixings"]
        return diagnosis.ratio_of_fixings(told["out_of_line"], told["distance"])
    return None


def _refuse_wet_now(told: Any) -> None:
    """Refuse moisture at which wood neither shrinks nor a meter reads."""
    values = told.moisture if isinstance(told, Depths) else [told]
    if isinstance(told, ShellCore):
        values = [told.shell, told.core]
    if max(values) > WETTEST_NOW:
        raise ValidationError(
            f"{max(values):g} given: above {WETTEST_NOW:g} % wood has not begun to shrink, so "
            "there is nothing to explain",
            "moisture",
        )


def _moistures(asked: Asked, thickness: float) -> list[Sighting]:
    if "moisture" not in asked:
        return []
    told = build_moisture(asked["moisture"], thickness)
    _refuse_wet_now(told)
    if isinstance(told, Depths):
        pairs = list(zip(told.depth, told.moisture, strict=True))
    elif isinstance(told, ShellCore):
        pairs = [(0.0, told.shell), (0.5 * thickness, told.core), (thickness, told.shell)]
    else:
        return [Sighting("moisture", max(told, 0.1), METER_ERROR)]
    return [
        Sighting("moisture", max(moisture, 0.1), METER_ERROR, depth=depth)
        for depth, moisture in pairs
    ]


def _refuse_cups(asked: Asked, width: float) -> None:
    """Refuse cups that no slab of this width has."""

    def fault(cup: Asked) -> dict[str, list[str]] | None:
        if cup["amount"] <= MOST_CUP * width:
            return None
        told = f"{1000 * cup['amount']:g} mm given: more than {100 * MOST_CUP:g} % of the width"
        return {"amount": [told]}

    wrong: dict[str, Any] = {}
    if "cup" in asked and (found := fault(asked["cup"])):
        wrong["cup"] = found
    rows = {i: row["cup"] for i, row in enumerate(asked.get("seen", [])) if "cup" in row}
    seen = {i: {"cup": found} for i, cup in rows.items() if (found := fault(cup))}
    if seen:
        wrong["seen"] = seen
    if wrong:
        raise ValidationError(wrong)


def _sightings(asked: Asked, slab: Slab, ratio: float | None, whole: float) -> list[Sighting]:
    left = slab.thickness - sum(
        spell.get("dress", {}).get(face, 0.0)
        for spell in _spells(asked)
        for face in ("top", "bottom")
    )
    _refuse_cups(asked, slab.width)
    found = _moistures(asked, left)
    if ratio is not None:
        # Fixings tell of the stretch between them: the same error on a shorter length.
        stretch = asked["fixings"]["distance"] if "fixings" in asked else slab.width
        error = WIDTH_ERROR * slab.width / stretch
        found.append(Sighting("width", ratio * slab.width, error))
    if "cup" in asked:
        found.append(Sighting("cup", build_cup(asked["cup"]), CUP_ERROR))
    wrong: dict[int, dict[str, list[str]]] = {}
    for index, row in enumerate(asked.get("seen", [])):
        if row["day"] > whole * (1.0 + 1e-9):
            wrong[index] = {"day": [f"{row['day']:g} given: the history lasts {whole:g} days"]}
            continue
        if "width" in row:
            found.append(Sighting("width", row["width"], WIDTH_ERROR, row["day"]))
        if "cup" in row or row["flat"]:
            cup = build_cup(row["cup"]) if "cup" in row else 0.0
            found.append(Sighting("cup", cup, CUP_ERROR, row["day"]))
    if wrong:
        raise ValidationError({"seen": wrong})
    return found


def _key(asked: Asked) -> Key | None:
    if "key" not in asked:
        return None
    told = asked["key"]
    return Key(
        told["length"], told["waist"], told["wing"], told["thickness"],
        build_species(told["species"]),
    )  # fmt: skip


def _next_stay(asked: Asked, stays: list[Stay], rooms: list[Room]) -> Stay | None:
    """The stay to come; a log's last fortnight is taken to go on."""
    last = stays[-1]
    if "next_room" in asked:
        if "log" in asked["next_room"]:
            raise ValidationError(
                {"next_room": {"log": ["given: no log tells of days to come; give months"]}}
            )
        try:
            room = build_room(asked["next_room"])
        except ValidationError as error:
            raise ValidationError({"next_room": error.normalized_messages()}) from error  # type: ignore[no-untyped-call]
        if room.air.period is not None:
            _start_day(asked, [room])
        return Stay(room.air, 1.0, last.faces, humidity_spread=room.humidity_spread)
    if rooms[-1].method != "logged":
        return None
    temperature, humidity = rooms[-1].air.at(float(rooms[-1].air.days[-1]))
    steady = Air([0.0], [temperature], [humidity])  # type: ignore[arg-type]
    return Stay(steady, 1.0, last.faces, humidity_spread=last.humidity_spread)


def _answer(asked: Asked) -> Reply:
    slab = build_slab(asked["slab"])
    ratio = _ratio(asked, slab)
    lost = None if ratio is None else 1.0 - ratio
    spells = _spells(asked)
    if not spells:
        return _by_formula_alone(asked, slab, ratio)
    rooms = _rooms(spells, "stays" if "stays" in asked else "")
    start = _start_day(asked, rooms)
    stays = _stays(asked, spells, rooms, slab)
    whole = sum(stay.days for stay in stays)
    if whole > LONGEST:
        raise ValidationError(f"{whole:g} days in all: at most {LONGEST:g}, 20 years")
    strip = Strip(**asked["strip"]) if "strip" in asked else None
    before = (asked["moisture_before"], BEFORE_ERROR) if "moisture_before" in asked else None
    told = History(
        slab,
        tuple(stays),
        start,
        any("faces" in spell for spell in spells),
        tuple(_sightings(asked, slab, ratio, whole)),
        before,
        strip,
        _key(asked),
    )
    if "finish" in asked:
        refuse_wet(asked["finish"], "finish")
    finish = build_face(asked["finish"]["top"]) if "finish" in asked else None
    found = diagnosis.answer(
        told,
        _next_stay(asked, stays, rooms),
        finish,
        diagnosis.DRAWS if asked["spread"] == "sampled" else 0,
        asked["seed"],
    )
    notes: list[Note] = list(found.notes)
    notes += [note for room in rooms for note in room.notes]
    notes += ring_notes(slab)
    cautions = [text_ for text_ in found.cautions if not text_.startswith("A slab is heavy")]
    for spell in spells:
        if "faces" in spell:
            notes += faces_notes(spell["faces"])
            cautions += faces_cautions(spell["faces"])
    if "finish" in asked:
        cautions += faces_cautions(asked["finish"])
    now = found.now.value
    return Reply(
        _members(found, lost),
        Diagnosed(found, found.by_formula, lost),
        once(notes),
        list(dict.fromkeys([*(slab_cautions(slab, now) or found.cautions[:1]), *cautions])),
        cite("moisture-before", "diagnosis-fit", "transport-diffusion"),
    )


def _by_formula_alone(asked: Asked, slab: Slab, ratio: float | None) -> Reply:
    """The shrinkage formula where nothing is told of where it has been."""
    if ratio is None or "moisture" not in asked:
        raise ValidationError(
            "where it has been is missing: give room and days (or stays); for the shrinkage "
            "formula alone give moisture and width_after or fixings"
        )
    told = _moistures(asked, slab.thickness)
    now = sum(one.value for one in told) / len(told)
    samples = draw_samples(asked)
    found = diagnosis.by_formula(slab, ratio, now, METER_ERROR, samples)
    notes = [
        Note(
            "no-history",
            "Nothing is told of where it has been, so only the shrinkage formula speaks; causes "
            "need room and days.",
            "/room",
        )
    ]
    start = slab.species.shrinkage_starts
    if found.value > start:
        notes.append(
            Note(
                "green-before",
                f"Above {start:g} % wood does not shrink: it was green; the width tells no more.",
                "/width_after",
                "Wood Handbook FPL-GTR-190 ch. 13",
            )
        )
    if found.value <= 0.0:
        raise ValidationError(
            "no moisture fits: it has grown more than drying from nothing allows; look at widths "
            "and moisture again"
        )
    lost = 1.0 - ratio
    answer = {
        "before": percent(found),
        "by_formula": percent(found),
        "width_lost": percent(100.0 * lost),
    }
    return Reply(
        answer,
        Diagnosed(None, found, lost),
        notes,
        slab_cautions(slab, now),
        cite("moisture-before"),
    )


def _members(found: Answer, lost: float | None) -> dict[str, Any]:
    answer: dict[str, Any] = {
        "before": opened(found.before, percent),
        "now": percent(found.now),
        "cup": cup_members(found.cup),
        "main": found.main,
        "causes": [
            {
                "cause": one.cause,
                "words": diagnosis.PLAIN_CAUSE[one.cause],
                "share": percent(one.share),
                "amount": cup_members(one.amount),
                "largest_in": percent(100.0 * one.main),
            }
            for one in found.shares
        ],
        "still_to_come": [_option(one) for one in found.options],
        "measure": [
            {"what": one.name, "how": one.action, "settles": percent(100.0 * one.settles)}
            for one in found.measurements
        ],
        "misfit": plain(found.misfit),
    }
    if lost is not None:
        answer["width_lost"] = percent(100.0 * lost)
    if found.by_formula is not None:
        answer["by_formula"] = percent(found.by_formula)
    if found.lying is not None:
        answer["lying"] = {"how": found.lying[0], "chance": percent(100.0 * found.lying[1])}
    if found.strip is not None:
        strip: dict[str, Any] = {
            "strain": plain(1e6 * found.strip.strain),
            "moisture_difference": percent(found.strip.moisture_difference),
        }
        if found.strip.stress is not None:
            strip["stress"] = stress(found.strip.stress)
        answer["strip"] = strip
    if found.key_force is not None:
        answer["key_force"] = force(found.key_force)
    return answer


def _option(one: Option) -> dict[str, Any]:
    return {
        "what": one.name,
        "cup_in_a_month": cup_members(one.cup_in_a_month),
        "cup_in_a_year": cup_members(one.cup),
        "largest_cup": cup_members(one.cup_largest),
        "width_change": length(one.width_change),
        "moisture": percent(one.moisture),
    }


def _told(figure: Figure) -> str:
    if figure.low is None or figure.high is None:
        return f"{figure.value:.0f} %"
    if not math.isfinite(figure.high):
        return f"{figure.value:.0f} % or more"
    return f"{figure.value:.0f} % ({figure.low:.0f} to {figure.high:.0f})"


_SHORT: Final[dict[Cause, str]] = {
    "rings": "the rings",
    "wet_core": "a wet core uncovered by planing",
    "uneven_faces": "unlike faces",
    "locked_in_stress": "stress locked in",
}


def _text(answered: Answered) -> Page:
    result: Diagnosed = answered.reply.result
    found, system = result.found, answered.system
    if found is None:
        assert result.by_formula is not None
        return Page(f"By the shrinkage formula it was at {_told(result.by_formula)} before.")
    decision = f"It was at about {_told(found.before)} moisture before"
    cup = cup_members(found.cup)
    if found.main is not None:
        decision += f"; its cup comes mainly from {_SHORT[found.main]}."
    elif "no-cup" in {note.code for note in found.notes}:
        decision += "; it has no cup to explain."
    else:
        first, second = found.shares[:2]
        decision += (
            f". Can't tell what bent it: {_SHORT[first.cause]} or {_SHORT[second.cause]} would "
            "explain it about equally."
        )
    rows = [
        [
            _SHORT[one.cause],
            f"{one.share.value:.0f} %",
            "" if one.share.low is None else f"{one.share.low:.0f} to {one.share.high:.0f}",
            _cup(one.amount, system),
        ]
        for one in found.shares
    ]
    parts: list[Rows | str] = [
        Rows(rows, title="What bends it that way", heads=["", "share", "likely", "cup by it"])
    ]
    amount = text.short_length(abs(found.cup.value), system)
    parts.append(f"Today's cup by this: {amount} {cup['shape']}; moisture {_told(found.now)}.")
    rows = [
        [
            one.name,
            _cup(one.cup_in_a_month, system),
            _cup(one.cup, system),
            text.short_length(one.width_change.value, system),
        ]
        for one in found.options
    ]
    parts.append(
        Rows(rows, title="Still to come", heads=["", "cup in a month", "in a year", "width"])
    )
    telling = [one for one in found.measurements if one.settles >= 0.1][:3]
    if telling:
        parts.append("What would tell more: " + " ".join(one.action for one in telling))
    if found.key_force is not None and found.key_force.low is not None:
        parts.append(
            f"The key sheared, so it was pulled with at least {found.key_force.low / 1000:.1f} kN "
            f"({found.key_force.low / POUND_FORCE:.0f} lbf)."
        )
    return Page(decision, parts)


def _cup(figure: Figure, system: Any) -> str:
    shape = cup_members(figure)["shape"]
    if shape == "flat":
        return "flat"
    return f"{text.short_length(abs(figure.value), system)} {shape}"


def _table(answered: Answered) -> Table:
    """The cup of the year to come by what is done, edges up positive; or the formula's row."""
    result: Diagnosed = answered.reply.result
    if result.found is None:
        assert result.by_formula is not None
        one = result.by_formula
        ends = [("before", one.value), ("low", one.low), ("high", one.high)]
        row = [Column(name, [value], PERCENT) for name, value in ends if value is not None]
        return Table(row, answered.system)
    columns = [Column("day", diagnosis.AHEAD_DAYS, DAYS)]
    columns += [
        Column("cup_" + option.name.replace(" ", "_"), option.course, LENGTH)
        for option in result.found.options
    ]
    return Table(columns, answered.system)


_NUMBER: Final = {"type": "number"}
_CAUSES: Final = {"type": "string", "enum": list(diagnosis.CAUSES)}

QUESTION = Question(
    name="diagnosis",
    title="Diagnosis",
    summary="From width before and after, cup, dates, air and faces: the moisture it must have "
    "had, what bent it (the rings, a wet core, unlike faces, locked-in stress) with shares, what "
    "is still to come, and which cheap measurement would tell.",
    shape=DiagnosisShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "before": {
                **OPEN_FIGURE_SCHEMA,
                "description": "mean moisture before; high null: green, the width tells no more",
            },
            "by_formula": {
                **FIGURE_SCHEMA,
                "description": "the same by the shrinkage formula alone",
            },
            "width_lost": {**_NUMBER, "description": "share of the width before"},
            "now": FIGURE_SCHEMA,
            "cup": CUP_SCHEMA,
            "main": {"anyOf": [{"type": "null"}, _CAUSES]},
            "causes": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "cause": _CAUSES,
                        "words": {"type": "string"},
                        "share": FIGURE_SCHEMA,
                        "amount": CUP_SCHEMA,
                        "largest_in": {
                            **_NUMBER,
                            "description": "how often among the draws it is the largest",
                        },
                    },
                    "required": ["cause", "words", "share", "amount", "largest_in"],
                },
            },
            "lying": {
                "type": "object",
                "description": "the likeliest way it lay, when its faces were not told",
                "properties": {"how": {"type": "string"}, "chance": _NUMBER},
            },
            "still_to_come": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "what": {"type": "string"},
                        "cup_in_a_month": CUP_SCHEMA,
                        "cup_in_a_year": CUP_SCHEMA,
                        "largest_cup": CUP_SCHEMA,
                        "width_change": FIGURE_SCHEMA,
                        "moisture": FIGURE_SCHEMA,
                    },
                },
            },
            "measure": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "what": {"type": "string"},
                        "how": {"type": "string"},
                        "settles": {
                            **_NUMBER,
                            "description": "share of the doubt between the two likeliest causes",
                        },
                    },
                },
            },
            "strip": {
                "type": "object",
                "properties": {
                    "strain": {**_NUMBER, "description": "difference over its breadth, millionths"},
                    "stress": _NUMBER,
                    "moisture_difference": _NUMBER,
                },
            },
            "key_force": {**FIGURE_SCHEMA, "description": "least force that sheared the key"},
            "misfit": {
                **_NUMBER,
                "description": "root mean square miss of what was seen, in standard deviations",
            },
        },
        "required": ["before"],
    },
    text=_text,
    table=_table,
    follows=True,
    examples=(
        Example(
            "A table that lay on a bench: how it was, and why it is hollow",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                },
                "width_after": "33 5/8 in",
                "moisture": {
                    "depths": [
                        {"depth": "0.4in", "moisture": 8},
                        {"depth": "1in", "moisture": 11},
                        {"depth": "1.6in", "moisture": 12.5},
                    ]
                },
                "cup": {"amount": "7/16in", "shape": "edges up"},
                "room": {"temperature": "68F", "relative_humidity": 35},
                "days": 45,
                "faces": {"top": "bare", "bottom": "closed"},
            },
        ),
        Example(
            "Planed on one face only; nobody remembers when the cup came",
            {
                "slab": {
                    "species": "northern red oak",
                    "width": "700mm",
                    "thickness": "55mm",
                    "length": "2200mm",
                    "pith": {"below": "400mm"},
                },
                "width_after": "691mm",
                "moisture": 9,
                "cup": {"amount": "4mm", "shape": "edges up"},
                "room": {"temperature": "20C", "relative_humidity": 40},
                "days": 60,
                "faces": {"top": "bare", "bottom": "bare"},
                "dress": {"top": "6mm"},
            },
        ),
        Example(
            "Bolts out of line, nothing else known",
            {
                "slab": {"species": "sugar maple", "width": "900mm", "thickness": "45mm"},
                "fixings": {"out_of_line": "9mm", "distance": "300mm"},
                "moisture": 8,
            },
        ),
    ),
)
