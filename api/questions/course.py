"""`/v1/course`: a slab through its stays - moisture, size, shape and stress in time."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from marshmallow import ValidationError, validates_schema
from numpy.typing import NDArray

from model.behaviour import stiffeners
from api.holding import (
    CLAMPS,
    CupShape,
    StiffenersShape,
    build_cup,
    build_stiffeners,
)
from api.quantities import (
    DAYS,
    LENGTH,
    MOMENT,
    PERCENT,
    PLAIN,
    STRESS,
    TEMPERATURE,
    Days,
    Hours,
    Length,
    Quantity,
    System,
    Unit,
    days,
    length,
    moment,
    percent,
    plain,
)
from api.question import Answered, Asked, Example, Question, Reply
from api.replies import text
from api.replies.csv import Column, Table
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.schema import (
    FIGURE_SCHEMA,
    Choice,
    Date,
    Either,
    Flag,
    Name,
    Part,
    Shape,
    SpreadShape,
    Whole,
)
from api.schema import Rows as RowsField
from api.shapes import (
    CUP_SCHEMA,
    THICKNESS,
    FacesShape,
    RoomShape,
    SlabShape,
    build_faces,
    build_moisture,
    build_room,
    build_slab,
    cup_members,
    draw_samples,
    faces_cautions,
    faces_notes,
    moisture_field,
    slab_cautions,
)
from model.answers import stiffening
from model.basis import Note, cite
from model.behaviour import bars, course, section
from model.behaviour.course import Course, Stay, Summary
from model.behaviour.rings import ring_notes
from model.behaviour.section import FLAT, FREE, Hold
from model.behaviour.slab import Slab, profile
from model.properties import species
from model.spread import Figure, figure
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

Floats = NDArray[np.float64]

LONGEST: Final = 7310.0  # days; twenty years
MOST_STAYS: Final = 50  # of one course (judgement); a slab in a shop has five or ten
MOST_PROFILES: Final = 50
LEAST_ROWS: Final = 60  # of every stay, so that curves drawn through them look smooth (judgement)
LONGEST_GAP: Final = 7.0  # days without a reading of a log; a missing week is no record (judgement)
# Days of a series to a minute and a half: a face dries within hours.
FINE_DAYS: Final = replace(DAYS, units=(Unit("d", 1.0, None, decimals=3),))


class DressShape(Shape):
    """Material planed off at the start of a stay."""

    top = Length("depth planed off the top", low=0.0, high=THICKNESS[1], load_default=0.0)
    bottom = Length("depth planed off the bottom", low=0.0, high=THICKNESS[1], load_default=0.0)
    flat = Flag("whether its cup is planed away too, so that it starts flat", load_default=False)


class WetFaceShape(Shape):
    """A face kept wet from the start of a stay on."""

    face = Choice("which face", ("top", "bottom"), required=True)
    hours = Hours("for how long", low=0.05, high=30.0 * 24.0, required=True)


class StayShape(Shape):
    """One stay of a slab."""

    together = {
        "oneOf": [
            {
                "required": ["days"],
                "not": {"anyOf": [{"required": ["from"]}, {"required": ["to"]}]},
            },
            {"required": ["from", "to"], "not": {"required": ["days"]}},
        ]
    }

    name = Name("what to call it")
    room = Part(RoomShape, "the air it lies in; that of the stay before when left out")
    days = Days("how long it lasts; or give from and to", low=0.01, high=LONGEST)
    begins = Date("day it begins", data_key="from")
    ends = Date("day it ends", data_key="to")
    faces = Part(
        FacesShape, "what is on its faces; as in the stay before, at first bare, when left out"
    )
    turned = Flag(
        "whether it lies upside down: what faces says of the top then meets its bottom face, and "
        "everything else keeps the slab's own top and bottom",
        load_default=False,
    )
    hold = Either(
        "how it is held: free, clamped flat, or by straight bars across it",
        Choice("how it is held", ("free", "flat")),
        StiffenersShape,
        load_default="free",
    )
    dress = Part(DressShape, "material planed off at its start")
    wet_face = Part(WetFaceShape, "a face wetted at its start")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _how_long(self, data: Any, original: Any, **kwargs: Any) -> None:
        dated = [name for name in ("from", "to") if name in original]
        if "days" in original and dated:
            raise ValidationError(f"days and {' and '.join(dated)} given: give one of both")
        if "days" not in original and len(dated) < 2:
            raise ValidationError("how long it lasts is missing: give days, or from and to")

    @validates_schema
    def _in_order(self, data: Any, **kwargs: Any) -> None:
        if "begins" in data and "ends" in data and data["ends"] <= data["begins"]:
            raise ValidationError(
                f"`{data['ends']}` given: not later than from, {data['begins']}", "to"
            )


class CourseShape(SpreadShape):
    """A slab, its moisture, and where it goes."""

    slab = Part(SlabShape, "the slab, with the size it has at the start", required=True)
    moisture = moisture_field("moisture content at the start", required=True)
    cup = Part(CupShape, "cup it has at the start, free of stress; flat when left out")
    starts = Date("day the first stay begins, where stays are given by days")
    stays = RowsField(
        "its stays, in order of time", StayShape, shortest=1, longest=MOST_STAYS, required=True
    )
    profiles = Days(
        "days of the course whose moisture through the thickness is wanted",
        low=0.0,
        high=LONGEST,
        lists=True,
    )
    points = Whole(
        "most rows of the series; extremes are kept", low=20, high=5000, load_default=400
    )


@dataclass(frozen=True, slots=True)
class Followed:
    """The result: the course, its rows that are told, and its stays."""

    course: Course
    rows: NDArray[np.intp]
    stays: tuple[Summary, ...]
    moment: Floats
    held: bool
    rooms: tuple[Room, ...]


Faults = dict[int, dict[str, Any]]


def _refuse(wrong: Faults) -> None:
    if wrong:
        raise ValidationError({"stays": wrong})


def _lasting(stays: list[Asked]) -> list[float]:
    """Length of every stay [days]."""
    return [
        float(stay["days"]) if "days" in stay else float((stay["ends"] - stay["begins"]).days)
        for stay in stays
    ]


def _calendar(asked: Asked, lasting: list[float]) -> datetime.date | None:
    """The date of the first day, None when no date is given; refuses overlaps and gaps."""
    stays = asked["stays"]
    passed = np.concatenate(([0.0], np.cumsum(lasting)))
    known: datetime.date | None = asked.get("starts")
    first = next((index for index, stay in enumerate(stays) if "begins" in stay), None)
    if known is None and first is not None:
        known = stays[first]["begins"] - datetime.timedelta(days=round(float(passed[first])))
    wrong: Faults = {}
    for index, stay in enumerate(stays):
        if known is None or "begins" not in stay:
            continue
        due = known + datetime.timedelta(days=round(float(passed[index])))
        if stay["begins"] != due:
            apart = (stay["begins"] - due).days
            what = f"leaves a gap of {apart} days" if apart > 0 else f"overlaps by {-apart} days"
            before = "the stay before ends" if index else "the course starts"
            wrong[index] = {
                "from": [f"`{stay['begins']}` given: {what}; {before} on {due}: write that day"]
            }
    _refuse(wrong)
    return known


def _rooms(stays: list[Asked]) -> list[Room]:
    """The room of every stay; a room left out, or told alike, is the same room."""
    found: list[Room] = []
    wrong: Faults = {}
    known: dict[str, Room] = {}
    for index, stay in enumerate(stays):
        if "room" not in stay:
            if index == 0:
                wrong[0] = {"room": ["missing: the first stay needs the air it lies in"]}
            found += found[-1:]
            continue
        told = stay["room"]
        key = f"log {index}" if "log" in told else repr(sorted(told.items()))
        try:
            if key not in known:
                _without_gaps(told.get("log"))
                known[key] = build_room(told)
            found.append(known[key])
        except ValidationError as error:
            wrong[index] = error.normalized_messages()  # type: ignore[no-untyped-call]
    _refuse(wrong)
    return found


def _without_gaps(log: Asked | None) -> None:
    """Refuse a log with a week or more missing, unless it is read that seldom throughout."""
    if log is None:
        return
    times = log["time"]
    apart = np.diff([(time - times[0]).total_seconds() / 86_400.0 for time in times])
    worst = int(apart.argmax())
    if apart[worst] <= max(LONGEST_GAP, 3.0 * float(np.median(apart))):
        return
    told = (
        f"`{times[worst + 1].isoformat()}` given: {apart[worst]:.0f} days after the reading before "
        f"it; with more than {LONGEST_GAP:g} days missing it is no record: split the stay there"
    )
    raise ValidationError({"room": {"log": {"time": {worst + 1: [told]}}}})


def _air_days(
    stays: list[Asked], rooms: list[Room], lasting: list[float], start: datetime.date | None
) -> list[float | None]:
    """Day of a log at which each stay begins; None where the course's own day counts."""
    found: list[float | None] = []
    wrong: Faults = {}
    for index, (stay, room) in enumerate(zip(stays, rooms, strict=True)):
        if room.method != "logged":
            found.append(None)
            continue
        begin = 0.0
        before = found[-1] if found else None
        if "room" not in stay and before is not None:
            begin = before + lasting[index - 1]
        elif start is not None:
            date = start + datetime.timedelta(days=round(sum(lasting[:index])))
            zero = stay["room"]["log"]["time"][0]
            midnight = datetime.datetime.combine(date, datetime.time(), zero.tzinfo)
            begin = max((midnight - zero).total_seconds() / 86_400.0, 0.0)
            if (zero - midnight).total_seconds() > 86_400.0:
                wrong[index] = {"room": [f"the log begins after the stay, on {zero.isoformat()}"]}
        last = float(room.air.days[-1])
        if begin + lasting[index] > last + 1e-6:
            wrong[index] = {
                "room": [
                    f"the log ends after {max(last - begin, 0.0):.4g} days of a stay of "
                    f"{lasting[index]:g}: shorten the stay or give another room for the rest"
                ]
            }
        found.append(begin)
    _refuse(wrong)
    return found


def _has_a_year(room: Room) -> bool:
    return room.air.period is not None


def _start_day(asked: Asked, start: datetime.date | None, rooms: list[Room]) -> float:
    """Day of the year on which the course starts."""
    if start is not None:
        return day_of(start)
    if any(_has_a_year(room) for room in rooms):
        raise ValidationError(
            "missing: the air changes through the year; write the day the first stay begins, such "
            "as 2026-09-25",
            "starts",
        )
    return 0.0


def _build_stays(
    asked: Asked, slab: Slab, rooms: list[Room], lasting: list[float], air_days: list[float | None]
) -> tuple[list[Stay], Floats]:
    """The model's stays, and the share of the section's moment that each one's grooves leave."""
    stays: list[Stay] = []
    wrong: Faults = {}
    shares = np.ones(len(lasting))
    faces: Asked = FacesShape().load({})
    thickness = slab.thickness
    for index, told in enumerate(asked["stays"]):
        faces = told.get("faces", faces)
        dress, wet = told.get("dress", {}), told.get("wet_face", {})
        thickness -= dress.get("top", 0.0) + dress.get("bottom", 0.0)
        hold = FREE
        faults = _impossible(told, lasting[index], thickness)
        if not faults:
            try:
                left = replace(slab, thickness=thickness, pith_below=None)
                hold, shares[index] = _build_hold(told["hold"], left)
            except ValidationError as error:
                faults = error.normalized_messages()  # type: ignore[no-untyped-call]
        if faults:
            wrong[index] = faults
            continue
        stays.append(
            Stay(
                air=rooms[index].air,
                days=lasting[index],
                faces=build_faces(faces),
                hold=hold,
                humidity_spread=rooms[index].humidity_spread,
                air_day=air_days[index],
                dress_top=dress.get("top", 0.0),
                dress_bottom=dress.get("bottom", 0.0),
                machined_flat=dress.get("flat", False),
                wet_face=wet.get("face"),
                wet_hours=wet.get("hours", 0.0),
                turned=told["turned"],
                name=told.get("name", f"stay {index + 1}"),
            )
        )
    _refuse(wrong)
    return stays, shares


def _impossible(told: Asked, lasting: float, thickness: float) -> dict[str, Any]:
    """Faults of a stay that only its length and what is left of the slab show."""
    faults: dict[str, Any] = {}
    if thickness < course.LEAST_THICKNESS:
        faults["dress"] = [
            f"would leave {1e3 * max(thickness, 0.0):.3g} mm of the slab: at least "
            f"{1e3 * course.LEAST_THICKNESS:g} mm must be left"
        ]
    hours = told.get("wet_face", {}).get("hours", 0.0)
    if hours > 24.0 * lasting * (1.0 + 1e-9):
        faults["wet_face"] = {
            "hours": [f"{hours:g} h given: the stay lasts {24.0 * lasting:g} h, give it longer"]
        }
    return faults


def _build_hold(told: Any, slab: Slab) -> tuple[Hold, float]:
    """The model's hold, and the share of bending stiffness that grooves for bars leave."""
    if not isinstance(told, dict):
        return (FLAT if told == "flat" else FREE), 1.0
    if slab.length is None:
        raise ValidationError("bars given: they need the length of the slab", "hold")
    built = build_stiffeners(told, slab, "hold")
    strip = stiffeners.layout(built.along, slab.length).strip
    whole = bars.compose([(strip, slab.thickness, 0.0)]).second_moment
    grooved = bars.grooved_strip(strip, slab.thickness, built.bar, built.recess).second_moment
    left = grooved / whole
    return Hold(bending=built.bar.stiffness / strip / left), left


def _answer(asked: Asked) -> Reply:
    slab = build_slab(asked["slab"])
    moisture = build_moisture(asked["moisture"], slab.thickness)
    lasting = _lasting(asked["stays"])
    whole = sum(lasting)
    if whole > LONGEST:
        raise ValidationError(f"{whole:g} days in all: at most {LONGEST:g}, 20 years", "stays")
    start = _calendar(asked, lasting)
    rooms = _rooms(asked["stays"])
    air_days = _air_days(asked["stays"], rooms, lasting, start)
    stays, shares = _build_stays(asked, slab, rooms, lasting, air_days)
    profiles = _profile_days(asked, whole)
    found = course.run(
        slab,
        moisture,
        stays,
        draw_samples(asked),
        start_day=_start_day(asked, start, rooms),
        cup=build_cup(asked["cup"]) if "cup" in asked else 0.0,
        stops=profiles,
        least_rows=LEAST_ROWS,
    )
    per_slab = shares[found.stay, None] * (1.0 if slab.length is None else slab.length)
    try:
        rows = course.thinned(found, asked["points"])
    except ValueError as error:
        raise ValidationError(f"{asked['points']} given: {error}", "points") from error
    followed = Followed(
        found,
        rows,
        course.summaries(found, stays),
        found.moment * per_slab,
        any(stay.hold is not FREE for stay in stays),
        tuple(dict.fromkeys(rooms)),
    )
    answer: dict[str, Any] = {
        "series": _series(followed),
        "profiles": [_profile(found, day) for day in profiles],
        "stays": [
            _stay_members(followed, number, one) for number, one in enumerate(followed.stays)
        ],
    }
    climates = dict.fromkeys(room.outdoor.name for room in rooms if room.outdoor is not None)
    if climates:
        answer["climates"] = list(climates)
    attribution = dict.fromkeys(words for room in rooms for words in room.attribution)
    if attribution:
        answer["attribution"] = list(attribution)
    return Reply(
        answer,
        followed,
        _notes(asked, followed, slab),
        _cautions(asked, slab, float(np.mean(profile(moisture, found.mesh.depth, slab.thickness)))),
        cite(
            *_FORMULAS,
            *(["transport-face"] if _has_faces(asked) else []),
            *(formula for room in followed.rooms for formula in room.formulas),
        ),
    )


_FORMULAS: Final = (
    "equilibrium-moisture",
    "transport-diffusion",
    "shrinkage",
    "ring-mapping",
    "section-balance",
    "mechano-sorptive-creep",
    "stress-index",
)


def _has_faces(asked: Asked) -> bool:
    return any("faces" in stay for stay in asked["stays"])


def _profile_days(asked: Asked, whole: float) -> list[float]:
    days_asked = np.atleast_1d(asked.get("profiles", np.empty(0)))
    if days_asked.size > MOST_PROFILES:
        raise ValidationError(
            f"{days_asked.size:,} days given: at most {MOST_PROFILES} profiles", "profiles"
        )
    wrong = {
        index: [f"{day:g} given: the course lasts {whole:g} days"]
        for index, day in enumerate(days_asked.tolist())
        if day > whole * (1.0 + 1e-9)
    }
    if wrong:
        raise ValidationError({"profiles": wrong})
    return [min(float(day), whole) for day in days_asked]


def _profile(found: Course, day: float) -> dict[str, Any]:
    depth, moisture = found.profile(day)
    return {"day": fine_days(day), "depth": length(depth), "moisture": percent(moisture)}


def fine_days(value: Any) -> Quantity:
    """Days of a series, to three decimals."""
    return Quantity(FINE_DAYS, value)


_BANDS: Final = ("mean", "width", "cup")  # series that carry their 10th and 90th percentile


def _columns(followed: Followed) -> dict[str, tuple[Any, Any]]:
    """Every series: its dimension and its figures in SI, on the rows that are told."""
    found, rows = followed.course, followed.rows
    columns: dict[str, tuple[Any, Any]] = {
        "day": (FINE_DAYS, found.days[rows]),
        "stay": (None, (found.stay[rows] + 1).tolist()),
        "temperature": (TEMPERATURE, found.temperature[rows]),
        "relative_humidity": (PERCENT, found.relative_humidity[rows]),
        "equilibrium_moisture": (PERCENT, found.equilibrium[rows]),
    }
    series: list[tuple[str, Any, Floats | None]] = [
        ("mean", PERCENT, found.mean),
        ("shell_top", PERCENT, found.shell_top),
        ("core", PERCENT, found.core),
        ("shell_bottom", PERCENT, found.shell_bottom),
        ("width", LENGTH, found.width),
        ("thickness", LENGTH, found.thickness),
        ("cup", LENGTH, found.cup),
        ("bow", LENGTH, found.bow),
        ("stress_top", STRESS, found.stress_top),
        ("stress_bottom", STRESS, found.stress_bottom),
        ("index_top", PLAIN, found.index_top),
        ("index_bottom", PLAIN, found.index_bottom),
        ("moment", MOMENT, followed.moment if followed.held else None),
    ]
    for name, dimension, values in series:
        if values is None:
            continue
        columns[name] = (dimension, values[rows, 0])
        if name in _BANDS and values.shape[1] > 1:
            low, high = _band(values[rows])
            columns[f"{name}_low"] = (dimension, low)
            columns[f"{name}_high"] = (dimension, high)
    return columns


def _band(values: Floats) -> tuple[Floats, Floats]:
    """The 10th and 90th percentile of the draws, widened to hold the central case."""
    low, high = np.percentile(values[:, 1:], [10.0, 90.0], axis=1)
    return np.minimum(low, values[:, 0]), np.maximum(high, values[:, 0])


def _series(followed: Followed) -> dict[str, Any]:
    return {
        name: values if dimension is None else Quantity(dimension, values)
        for name, (dimension, values) in _columns(followed).items()
    }


def _stay_members(followed: Followed, number: int, one: Summary) -> dict[str, Any]:
    width = followed.course.slab.width
    members: dict[str, Any] = {
        "name": one.name,
        "first_day": fine_days(one.first),
        "last_day": fine_days(one.last),
        "mean": percent(one.mean),
        "width": length(one.width),
        "thickness": length(one.thickness),
        "cup": cup_members(one.cup, width),
        "largest_cup": {**cup_members(one.largest_cup, width), "day": days(one.largest_cup_day)},
        "largest_index": {
            "index": plain(one.largest_index),
            "face": one.largest_index_face,
            "day": days(one.largest_index_day),
        },
    }
    if followed.held:
        members["largest_moment"] = moment(_largest_moment(followed, number))
    return members


def _largest_moment(followed: Followed, number: int) -> Figure:
    """Moment of the hold largest in amount during a stay, signed [N m]."""
    values = followed.moment[followed.course.stay == number]
    return figure(np.take_along_axis(values, np.abs(values).argmax(axis=0)[None], axis=0)[0])


def _notes(asked: Asked, followed: Followed, slab: Slab) -> list[Note]:
    """What the course, its rooms and its finishes say."""
    notes = [
        *species.notes(slab.species),
        *ring_notes(slab),
        *followed.course.notes,
        _CAREFUL_INDEX,
    ]
    for room in followed.rooms:
        notes += room.notes
    for index, told in enumerate(asked["stays"]):
        if "faces" in told:
            notes += faces_notes(told["faces"], f"/stays/{index}/faces")
        if isinstance(told["hold"], dict):
            notes.append(_STRAIGHT_BARS)
    if followed.held and slab.length is None:
        notes.append(_MOMENT_OF_A_METRE)
    if followed.rows.size < followed.course.days.size:
        notes.append(
            Note(
                "series-thinned",
                f"{followed.rows.size} of {followed.course.days.size} rows are told: the first "
                "and last of every stay, the extremes of mean moisture, cup and stress index in "
                "it, and the lowest and highest of equal stretches of time.",
                "/points",
            )
        )
    return list(dict.fromkeys(notes))


_CAREFUL_INDEX: Final = Note(
    "stress-index",
    "The stress index holds the tension in the outer layers against the strength of small clear "
    "pieces under a season of load: at 1 the average slab checks, and knots or a poor spot do "
    "earlier. It is judged by what is known of drying; go by it to compare one plan with another.",
    "",
    "EN 1995-1-1 duration of load (memory); judgement",
)
_STRAIGHT_BARS: Final = Note(
    "bars-straight",
    "The bars are taken as straight and as sliding along the slab in slots; they pull toward flat "
    "and leave the width free.",
    "/stays",
    "judgement",
)
_MOMENT_OF_A_METRE: Final = Note(
    "moment-of-a-metre",
    "No length is given: the moment is that of one metre of slab.",
    "/slab/length",
)


PLANING: Final = (
    "Planing and surfacing throw chips and make dust and noise: wear eye and hearing protection "
    "and a dust mask, and keep the guards on."
)


def _cautions(asked: Asked, slab: Slab, now: float) -> list[str]:
    told = slab_cautions(slab, now)
    stays = asked["stays"]
    if any(stay["hold"] != "free" for stay in stays):
        told.append(CLAMPS)
    if any("dress" in stay for stay in stays):
        told.append(PLANING)
    for stay in stays:
        told += faces_cautions(stay["faces"]) if "faces" in stay else []
    return list(dict.fromkeys(told))


def _text(answered: Answered) -> Page:
    followed: Followed = answered.reply.result
    system = answered.system
    wide = followed.course.slab.width
    rows = [_stay_row(one, wide, system) for one in followed.stays]
    heads = ["at its end", "day", "moisture", "width", "cup", "most cup", "stress"]
    parts: list[Rows | str] = [Rows(rows, heads=heads)]
    last = followed.stays[-1]
    parts.append(
        Rows(
            [
                ["moisture", f"{last.mean.value:.1f} %", text.spread(last.mean, PERCENT, system)],
                _told("width", last.width, system),
                _told("thickness", last.thickness, system),
                _told(f"cup, {cup_members(last.cup, wide)['shape']}", _amount(last.cup), system),
            ],
            title="At the end of the course",
            heads=["", "", "likely"] if last.mean.low is not None else (),
        )
    )
    if followed.held:
        largest = [_largest_moment(followed, number) for number in range(len(followed.stays))]
        most = max(largest, key=lambda one: abs(one.value))
        parts.append(
            f"What holds it bears up to {text.amount(abs(most.value), MOMENT, system, 0)} over "
            "the slab's length."
        )
    parts.append(_verdict(followed))
    answer = answered.reply.answer
    if "climates" in answer:
        parts.append(f"Climate: {'; '.join(answer['climates'])}.")
    parts += answer.get("attribution", [])
    return Page(_decision(followed, system), parts)


def _decision(followed: Followed, system: System) -> str:
    last = followed.stays[-1]
    mean = last.mean
    band = text.spread(mean, PERCENT, system)
    told = f"After {last.last:.4g} days the slab is at {mean.value:.1f} % moisture"
    told += f" ({band})" if band else ""
    told += f", {text.short_length(last.width.value, system)} wide"
    wide = followed.course.slab.width
    members = cup_members(last.cup, wide)
    if members["shape"] == "flat":
        told += " and flat."
    else:
        amount = text.short_length(_amount(last.cup).value, system)
        told += f", and cupped {amount}, {members['shape']}."
    most = max(followed.stays, key=lambda one: abs(one.largest_cup.value))
    largest = cup_members(most.largest_cup, wide)
    if (
        abs(most.largest_cup.value) > 1.1 * abs(last.cup.value) + 1e-4
        and largest["shape"] != "flat"
    ):
        told += (
            f" Its largest cup is {text.short_length(abs(most.largest_cup.value), system)}, "
            f"{largest['shape']}, {text.about_day(most.largest_cup_day)}."
        )
    return told


def _amount(signed: Figure) -> Figure:
    found: Figure = cup_members(signed)["amount"].value
    return found


def _told(name: str, value: Figure, system: System) -> list[str]:
    return [name, text.length(value.value, system), text.spread(value, LENGTH, system)]


def _stay_row(one: Summary, wide: float, system: System) -> list[str]:
    """One stay in a line of 80 columns."""

    def cup(signed: Figure) -> str:
        lies = cup_members(signed, wide)["shape"]
        words = {"edges up": " up", "edges down": " down", "flat": ""}[lies]
        return text.short_length(abs(signed.value), system) + words if words else "flat"

    name = one.name if len(one.name) <= 16 else one.name[:13] + "..."
    return [
        name,
        f"{one.last:.4g}",
        f"{one.mean.value:.1f} %",
        text.short_length(one.width.value, system),
        cup(one.cup),
        cup(one.largest_cup),
        f"{one.largest_index.value:.2f}",
    ]


def _verdict(followed: Followed) -> str:
    """What the stress means."""
    worst = max(followed.stays, key=lambda one: one.largest_index.value)
    index = worst.largest_index.value
    told = (
        f"Stress: the index is {index:.2f} at most, {worst.largest_index_face} face, "
        f"{text.about_day(worst.largest_index_day)}"
    )
    if index < section.WARN_INDEX:
        return f"{told}: checks are not to be expected in sound wood."
    return (
        f"{told}: from {section.WARN_INDEX:g} on hair checks are to be reckoned with at the "
        "weakest spots, at 1 in the average slab."
    )


def _table(answered: Answered) -> Table:
    columns = _columns(answered.reply.result)
    return Table(
        [Column(name, values, dimension) for name, (dimension, values) in columns.items()],
        answered.system,
    )


def _chart(answered: Answered) -> Chart:
    followed: Followed = answered.reply.result
    system = answered.system
    columns = _columns(followed)
    x = columns["day"][1]

    def line(name: str, label: str, dashed: bool = False) -> Line:
        dimension, values = columns[name]
        low, high = (
            dimension.write(columns[end][1], system) if end in columns else None
            for end in (f"{name}_low", f"{name}_high")
        )
        return Line(label, x, dimension.write(values, system), low, high, dashed)

    unit = LENGTH.of_system[system].symbol
    last = followed.stays[-1]
    return Chart(
        title="The slab through its stays",
        description=_decision(followed, system)
        + (" Bands hold four cases in five, both laws of set among them." if last.mean.low else ""),
        x_label="days",
        panels=[
            Panel(
                "moisture [%]",
                [
                    line("mean", "mean of the slab"),
                    line("shell_top", "top face"),
                    line("core", "core"),
                    line("shell_bottom", "bottom face"),
                    line("equilibrium_moisture", "equilibrium", dashed=True),
                ],
            ),
            Panel(f"width [{unit}]", [line("width", "width")]),
            Panel(f"cup, edges up [{unit}]", [line("cup", "cup")]),
        ],
    )


_NUMBER: Final = {"type": "number"}
_NUMBERS: Final = {"type": "array", "items": _NUMBER}
_ALWAYS: Final = (
    "day",
    "stay",
    "temperature",
    "relative_humidity",
    "equilibrium_moisture",
    "mean",
    "shell_top",
    "core",
    "shell_bottom",
    "width",
    "thickness",
    "cup",
    "stress_top",
    "stress_bottom",
    "index_top",
    "index_bottom",
)
_DESCRIBED: Final[Mapping[str, str]] = {
    "day": "days since the start; two rows share a day where something changes at once",
    "stay": "number of the stay, from 1",
    "cup": "signed: positive edges up",
    "bow": "signed: positive ends up; when the length is given",
    "stress_top": "across the grain, tension positive",
    "stress_bottom": "across the grain, tension positive",
    "index_top": "stress index of the upper half; checks are to be reckoned with from 0.5",
    "index_bottom": "stress index of the lower half",
    "moment": "of what holds it, over the slab's length; positive bends the edges up",
}
_SERIES: Final = {
    "type": "object",
    "description": "parallel lists, one figure a row; the bands are the 10th and 90th percentile",
    "properties": {
        name: {**_NUMBERS, **({"description": _DESCRIBED[name]} if name in _DESCRIBED else {})}
        for name in (
            *_ALWAYS,
            *(f"{name}_{end}" for name in _BANDS for end in ("low", "high")),
            "bow",
            "moment",
        )
    },
    "required": list(_ALWAYS),
}
_STAY: Final[dict[str, Any]] = {
    "type": "object",
    "properties": {
        "name": {"type": "string"},
        "first_day": _NUMBER,
        "last_day": _NUMBER,
        "mean": FIGURE_SCHEMA,
        "width": FIGURE_SCHEMA,
        "thickness": FIGURE_SCHEMA,
        "cup": CUP_SCHEMA,
        "largest_cup": {
            **CUP_SCHEMA,
            "properties": {**CUP_SCHEMA["properties"], "day": _NUMBER},
            "required": ["amount", "shape", "day"],
        },
        "largest_index": {
            "type": "object",
            "properties": {
                "index": FIGURE_SCHEMA,
                "face": {"type": "string", "enum": ["top", "bottom"]},
                "day": _NUMBER,
            },
            "required": ["index", "face", "day"],
        },
        "largest_moment": FIGURE_SCHEMA,
    },
    "required": [
        "name",
        "first_day",
        "last_day",
        "mean",
        "width",
        "thickness",
        "cup",
        "largest_cup",
        "largest_index",
    ],
}

QUESTION = Question(
    name="course",
    title="A slab through its stays",
    summary="Where a slab lies, for how long, with what on its faces and how held, planed or "
    "wetted in between: its moisture, width, cup and stress day by day, with the set it keeps.",
    shape=CourseShape(),
    answer=_answer,
    answered={
        "type": "object",
        "properties": {
            "series": _SERIES,
            "profiles": {
                "type": "array",
                "description": "moisture through the thickness, central case, from the top down",
                "items": {
                    "type": "object",
                    "properties": {"day": _NUMBER, "depth": _NUMBERS, "moisture": _NUMBERS},
                    "required": ["day", "depth", "moisture"],
                },
            },
            "stays": {"type": "array", "items": _STAY},
            "climates": {
                "type": "array",
                "items": {"type": "string"},
                "description": "the places that were used",
            },
            "attribution": {"type": "array", "items": {"type": "string"}},
        },
        "required": ["series", "profiles", "stays"],
    },
    text=_text,
    table=_table,
    chart=_chart,
    follows=True,
    examples=(
        Example(
            "The library table: dressed in the shop, then its first year in the reading room",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2 1/4 in",
                    "length": "96in",
                    "grain": "flat",
                    "bark_side": "top",
                },
                "moisture": 12.5,
                "starts": "2026-08-25",
                "stays": [
                    {
                        "name": "shop, stickered",
                        "room": {"temperature": "68F", "relative_humidity": 45},
                        "days": 31,
                        "dress": {"top": "1/8in", "bottom": "1/8in"},
                    },
                    {
                        "name": "reading room",
                        "room": {
                            "climate": "Duluth",
                            "heat_to": "70F",
                            "cool_to": "76F",
                            "occupied": "normally",
                        },
                        "days": 365,
                        "faces": {"top": "oiled", "bottom": "bare"},
                    },
                ],
                "profiles": [31, 120],
            },
        ),
        Example(
            "Left lying on the bench, fresh face up, then clamped flat",
            {
                "units": "metric",
                "spread": "none",
                "slab": {
                    "species": "northern red oak",
                    "width": 600,
                    "thickness": 60,
                    "length": 2400,
                    "ring_angle": 0,
                },
                "moisture": {"shell": 7.5, "core": 12},
                "stays": [
                    {
                        "name": "on the bench",
                        "room": {"temperature": 20, "relative_humidity": 38},
                        "days": 7,
                        "faces": {"top": "bare", "bottom": "closed"},
                        "dress": {"top": 8, "flat": True},
                    },
                    {
                        "name": "clamped",
                        "days": 30,
                        "faces": {"top": "bare", "bottom": "bare"},
                        "hold": "flat",
                    },
                    {"name": "let go", "days": 7},
                ],
            },
        ),
    ),
)
