"""`/v1/settle`, the main question: what a slab settles to in a room, when, and how it moves."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from api.question import Answered, Example, Question, Reply
from api.replies import members, text
from api.replies.csv import Table
from api.replies.members import Answer, itself
from api.replies.parts import CupFigure, InRoom
from api.replies.svg import Chart, Line, Panel
from api.replies.text import Page, Rows
from api.schema import SpreadShape, refuse, starts_field
from api.shapes.faces import faces_field, without_outdoors
from api.shapes.moisture import misplaced, moisture_field, sorption_field
from api.shapes.room import room_field, without_a_year
from api.shapes.slab import slab_field
from api.sharing import once
from api.units import DAYS, LENGTH, MASS, PERCENT, System
from api.words import reason
from model.answers import settle
from model.answers.settle import Settled, Size
from model.basis import cite
from model.behaviour import edges
from model.behaviour import slab as wood
from model.behaviour.rings import ring_notes
from model.behaviour.shape import Cupped
from model.behaviour.slab import Moisture, Slab
from model.behaviour.year import Sorption, years
from model.properties import finishes, species
from model.properties.finishes import Faces
from model.spread import Figure, Samples
from model.surroundings.calendar import day_of
from model.surroundings.room import Room


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab, its moisture now, what is on its faces, the room it goes to, and when."""

    slab: Slab
    moisture: Moisture
    faces: Faces
    room: Room
    starts: datetime.date
    samples: Samples
    sorption: Sorption = "drying"

    def __post_init__(self) -> None:
        refuse(
            misplaced(self.moisture, self.slab.thickness),
            without_a_year(self.room, "this log does not cover a year to settle into"),
            without_outdoors(self.faces, self.room),
        )


class SettleShape(SpreadShape):
    """A slab, its moisture now, what is on its faces, and the room it goes to."""

    makes = Asked

    slab = slab_field("the slab, with the size it has today", required=True)
    moisture = moisture_field("moisture content now", required=True)
    faces = faces_field()
    room = room_field("the room it goes to; a log must cover a year", year=True, required=True)
    starts = starts_field("day it comes into the room")
    sorption = sorption_field()


def _answer(asked: Asked) -> Reply[Settled]:
    slab, moisture = asked.slab, asked.moisture
    arrives = day_of(asked.starts)
    inputs = (moisture, asked.faces, asked.room, arrives, asked.samples, asked.sorption)
    # The moisture through the thickness knows nothing of width, length and grain.
    course = once(
        "years",
        (slab.species, slab.thickness, *edges.counted(slab), *inputs),
        lambda: years(slab, *inputs),
    )
    settled = settle.settle(slab, *inputs, course=course)
    return Reply(
        settled,
        [
            *species.notes(slab.species),
            *ring_notes(slab),
            *settled.notes,
            *finishes.notes(asked.faces),
        ],
        [
            *wood.cautions(slab, wood.mean_moisture(moisture, slab.thickness)),
            *finishes.cautions(asked.faces),
        ],
        cite(*settled.formulas, *asked.room.formulas, *finishes.formulas(asked.faces)),
    )


class SettleExtreme(Answer):
    """The driest or dampest time of the year."""

    month = members.Month()
    moisture = members.Figure(PERCENT, "mean moisture then")
    lag_days = members.Figure(DAYS, "how long it comes after that of the room's air")


class SettleMoisture(Answer):
    """What it settles to."""

    mean = members.Figure(PERCENT, "mean over the year")
    driest = members.Part(SettleExtreme)
    dampest = members.Part(SettleExtreme)


class SettleDays(Answer):
    """Days after which the mean stays within 1 and 1/2 % of its yearly course."""

    within_1 = members.Figure(DAYS, of="days_within_1")
    within_half = members.Figure(DAYS, of="days_within_half")


class SettleWidth(Answer):
    """The width now, at the mean of the year, and at its ends."""

    now = members.Number(LENGTH)
    settled = members.Figure(LENGTH, "at the mean of the year")
    narrowest = members.Figure(LENGTH)
    narrowest_month = members.Month()
    widest = members.Figure(LENGTH)
    widest_month = members.Month()


class SettleThickness(Answer):
    """The thickness now, at the mean of the year, and at its ends."""

    now = members.Number(LENGTH)
    settled = members.Figure(LENGTH, "at the mean of the year")
    thinnest = members.Figure(LENGTH, of="narrowest")
    thinnest_month = members.Month(of="narrowest_month")
    thickest = members.Figure(LENGTH, of="widest")
    thickest_month = members.Month(of="widest_month")


class SettleCupOnTheWay(CupFigure):
    """The largest cup before it has settled, and its day from arrival."""

    day = members.Figure(DAYS, left_out="where there is none")


class SettleCupOfMonth(CupFigure):
    """The cup at one end of the year."""

    month = members.Month()


class SettleYearlyCup(SettleCupOfMonth):
    """The larger end of the yearly course, the other end beside it."""

    amount = members.Figure(LENGTH, of="larger.cupped.amount")
    shape = members.Word(CupFigure.SHAPES, of="larger.cupped.shape")
    month = members.Month(of="larger.month")
    other_end = members.Part(SettleCupOfMonth, of="other")


class SettleCup(Answer):
    """Cup of the slab free to move; a low end below zero is a cup the other way."""

    on_the_way = members.Part(SettleCupOnTheWay, of="cup_on_the_way")
    yearly = members.Part(SettleYearlyCup, of="cup_yearly")


class SettleEdge(Answer):
    """Room to leave at each edge, and how far each draws back."""

    today_grows = members.Figure(LENGTH, "room to leave, fitted today", of="gap_per_edge")
    today_shrinks = members.Figure(
        LENGTH, "how far it draws back from where it is today", of="opens_per_edge"
    )
    settled_grows = members.Figure(
        LENGTH, "room to leave, fitted after it has settled", of="gap_when_settled"
    )
    narrowest_grows = members.Figure(
        LENGTH, "the same, fitted in the month in which it is narrowest", of="gap_when_narrowest"
    )


def _why(fitness: settle.Fitness) -> str:
    return " and ".join(reason(one) for one in fitness.reasons)


class SettleFitness(Answer):
    """Whether it is fit to be worked now."""

    ready = members.Truth()
    reason = members.Text(of=_why)
    largest_difference = members.Number(PERCENT, "of moisture through the thickness")
    distance = members.Number(PERCENT, "mean moisture now less the settled mean")


class SettleAnswer(InRoom):
    """What the slab settles to."""

    settled = members.Part(SettleMoisture, of=itself)
    days_to = members.Part(SettleDays, of=itself)
    width = members.Part(SettleWidth)
    thickness = members.Part(SettleThickness)
    cup = members.Part(SettleCup, of=itself)
    edge = members.Part(SettleEdge, of=itself)
    fit_to_work = members.Part(SettleFitness, of="fitness")
    weight = members.Number(MASS, "weight now", left_out="without a length")


_Length = Callable[[float, System], str]
WIDEST: Final = ("narrowest", "widest")


def _text(answered: Answered[Asked, Settled]) -> Page:
    settled = answered.result
    system = answered.system
    width = _size_rows(settled.width, WIDEST, system)
    thickness = _size_rows(settled.thickness, ("thinnest", "thickest"), system)
    parts: list[Rows | str] = [
        Rows(_moisture_rows(settled), title="Moisture", heads=["", "", "likely", "month"]),
        Rows(width, title="Width", heads=["", "", "likely"]),
        Rows(thickness, title="Thickness", heads=["", "", "likely"]),
        Rows(_gap_rows(settled, system), title="At each edge", heads=["", "", "likely"]),
        Rows(
            _cup_rows(settled, system),
            title="Cup, free to move (minus: the other way)",
            heads=["", "", "", "likely"],
        ),
    ]
    return Page(
        _decision(settled, answered.asked.faces, system), parts, [_deciding(settled, system)]
    )


def _deciding(settled: Settled, system: System) -> Rows:
    """Moisture, width, edges and cup through the year, for a short text."""
    mean, told = settled.mean, text.short_length
    width = _size_rows(settled.width, WIDEST, system, told)
    if len(width) > 2:
        del width[1]  # its mean, which lies between the ends
    edges = [
        (name.replace("fitted ", "").replace(": it", ":"), *rest)
        for name, *rest in _gap_rows(settled, system, told)
        if "mean" not in name or not _swings(settled)
    ]
    return Rows(
        [
            ["moisture, mean of the year", f"{mean.value:.1f} %", _band(mean)],
            *([f"width {name}", *rest] for name, *rest in width),
            *([f"edge, {name}", *rest] for name, *rest in edges),
            *(
                [f"cup {when}", f"{size} {shape}", likely]
                for when, size, shape, likely in _cup_rows(settled, system, told)
            ),
        ],
        heads=["", "", "likely"],
    )


# m of still air; up to here a face still gives and takes moisture about as a bare one: the films of
# oil and wax stand at 0.05 to 0.15, the thinnest varnish at 0.22 (finishes.csv)
OPEN_FACE: Final = 0.2


def _decision(settled: Settled, faces: Faces, system: System) -> str:
    fitness = settled.fitness
    wait = settled.days_within_1
    pair = (faces.top, faces.bottom)
    open_faces = all(face.sd <= OPEN_FACE and not face.wet for face in pair)
    how = "air on all sides" if open_faces else "its faces as told"
    told = [f"{'Ready to be worked' if fitness.ready else 'Not ready'}: {_why(fitness)}."]
    if not fitness.ready:
        words = text.duration(wait.value, wait.low, wait.high)
        told.append(
            f"Let it stand in that room, {how}, {words}, before it gets its final size"
            + ("." if open_faces else "; bare and on stickers it is sooner ready.")
        )
    driest, dampest = settled.driest, settled.dampest
    settles = f"It settles to about {settled.mean.value:.1f} % moisture"
    if _swings(settled):
        settles += (
            f": {driest.moisture.value:.1f} % in {text.month(driest.month)}, "
            f"{dampest.moisture.value:.1f} % in {text.month(dampest.month)}"
        )
    told.append(settles + ".")
    if fitness.ready:
        gap, opens = settled.gap_per_edge, settled.opens_per_edge
        grows, draws = not _nothing(gap, system), not _nothing(opens, system)
        growth = f"leave {text.up_to(gap, system)} at each edge for it to grow"
        told.append(
            f"Fitted today, {growth if grows else 'it needs no room to grow'}; it "
            + (f"draws back by {text.up_to(opens, system)}." if draws else "does not draw back.")
        )
    elif _swings(settled):
        gap, whole = settled.gap_when_settled, settled.gap_when_narrowest
        told.append(
            "Once settled it needs no room to grow that a rule shows."
            if _nothing(gap, system) or _nothing(whole, system)
            else f"Once settled, leave {text.up_to(gap, system)} at each edge for it to grow. "
            f"Fitted in {text.month(settled.width.narrowest_month)}, when it is narrowest, leave "
            f"{text.up_to(whole, system)}."
        )
    return " ".join(told)


def _nothing(gap: Figure, system: System) -> bool:
    """Whether a gap comes out as none, its high end included."""
    return text.is_nothing(gap.value if gap.high is None else gap.high, system)


def _swings(settled: Settled) -> bool:
    """Whether there is a year to tell of; steady air has none."""
    return settled.dampest.moisture.value - settled.driest.moisture.value > 0.05


def _moisture_rows(settled: Settled) -> list[list[str]]:
    mean = settled.mean
    rows = [["mean of the year", f"{mean.value:.1f} %", _band(mean), ""]]
    extremes = (("driest", settled.driest), ("dampest", settled.dampest))
    for name, extreme in extremes if _swings(settled) else ():
        moisture = extreme.moisture
        rows.append([name, f"{moisture.value:.1f} %", _band(moisture), text.month(extreme.month)])
    for name, wait in (
        ("within 1 % of it after", settled.days_within_1),
        ("within 1/2 % of it after", settled.days_within_half),
    ):
        count = f"{wait.value:.0f}"
        unit = "day" if count == "1" else "days"
        rows.append([name, f"{count} {unit}", text.spread(wait, DAYS, "metric", 0)])
    return rows


def _band(figure: Figure) -> str:
    return text.spread(figure, PERCENT, "metric")


def _size_rows(
    size: Size, words: tuple[str, str], system: System, told: _Length = text.length
) -> list[list[str]]:
    rows = [["now", told(size.now, system)]]
    ends = [("settled, mean", size.settled)]
    if size.widest.value - size.narrowest.value > 1e-5:
        ends += [
            (f"{words[0]}, {text.month(size.narrowest_month)}", size.narrowest),
            (f"{words[1]}, {text.month(size.widest_month)}", size.widest),
        ]
    for name, end in ends:
        rows.append([name, told(end.value, system), text.spread(end, LENGTH, system)])
    return rows


def _gap_rows(settled: Settled, system: System, told: _Length = text.length) -> list[list[str]]:
    rows = [
        [name, told(gap.value, system), text.spread(gap, LENGTH, system)]
        for name, gap in (
            ("fitted today: it grows by", settled.gap_per_edge),
            ("fitted today: it draws back by", settled.opens_per_edge),
            ("fitted at its mean width: it grows by", settled.gap_when_settled),
            ("fitted at its narrowest: it grows by", settled.gap_when_narrowest),
        )
    ]
    return rows if _swings(settled) else rows[:-1]


def _cup_rows(settled: Settled, system: System, told: _Length = text.length) -> list[list[str]]:
    way = settled.cup_on_the_way
    rows = []
    if way.day is not None:
        words = _told_cup(way.cupped, system, told)
        when = "" if "flat" in words else f", {text.about_day(way.day.value)}"
        rows.append([f"on the way{when}", *words])
    if not _swings(settled):
        return [*rows, ["settled", *_told_cup(settled.cup_yearly_up.cupped, system, told)]]
    ends = [
        (end.month, _told_cup(end.cupped, system, told))
        for end in (settled.cup_yearly_up, settled.cup_yearly_down)
    ]
    if all("flat" in words for _, words in ends):
        return [*rows, ["every year", *ends[0][1]]]
    for month, words in ends:
        assert month is not None
        rows.append([f"every year, {text.month(month)}", *words])
    return rows


def _told_cup(cup: Cupped, system: System, told: _Length) -> list[str]:
    return [
        told(cup.amount.value, system),
        cup.shape,
        text.spread(cup.amount, LENGTH, system),
    ]


class SettleTrace(Answer):
    """The course from the day it comes, for a sheet."""

    day = members.Series(DAYS, of="days")
    mean = members.Series(PERCENT)
    mean_low = members.Series(PERCENT, of="band_low", left_out="without a spread")
    mean_high = members.Series(PERCENT, of="band_high", left_out="without a spread")
    shell_top = members.Series(PERCENT, of="top")
    core = members.Series(PERCENT)
    shell_bottom = members.Series(PERCENT, of="bottom")
    equilibrium_moisture = members.Series(PERCENT, of="equilibrium")


def _table(answered: Answered[Asked, Settled]) -> Table:
    columns = SettleTrace().side_by_side(answered.result.trace)
    return Table(columns, answered.system, answered.asked.starts)


def _chart(answered: Answered[Asked, Settled]) -> Chart:
    settled = answered.result
    trace = settled.trace
    mean = Line("mean of the slab", trace.days, trace.mean, trace.band_low, trace.band_high)
    depths = [
        Line(name, trace.days, getattr(trace, member))
        for name, member in (("top face", "top"), ("core", "core"), ("bottom face", "bottom"))
    ]
    band = "" if trace.band_low is None else "; the band holds four cases in five"
    return Chart(
        title="Moisture of the slab from the day it arrives",
        description=(
            f"The slab settles to {settled.mean.value:.1f} % on the mean of the year, within 1 % "
            f"after {settled.days_within_1.value:.0f} days{band}."
        ),
        x_label="from",
        starts=answered.asked.starts,
        panels=[
            Panel(
                "moisture [%]",
                [mean, Line("equilibrium", trace.days, trace.equilibrium)],
            ),
            Panel("moisture [%]", depths),
        ],
    )


QUESTION: Final = Question(
    name="settle",
    title="What a slab settles to",
    summary="The main question: what a slab settles to in a room, how long that takes, how its "
    "size and shape change on the way and every year, what gap to leave, and whether it is ready "
    "to be worked now.",
    shape=SettleShape(),
    answer=_answer,
    answered=SettleAnswer(),
    in_tables=("settled", "days_to", "width", "thickness", "cup", "edge", "fit_to_work", "weight"),
    text=_text,
    table=_table,
    chart=_chart,
    follows=True,
    examples=(
        Example(
            "The library reading table",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                    "grain": "flat",
                    "bark_side": "top",
                },
                "moisture": 12.5,
                "faces": {"top": "oiled", "bottom": "bare"},
                "room": {
                    "climate": "Duluth, MN",
                    "heat_to": "70F",
                    "cool_to": "76F",
                    "occupied": "normally",
                },
                "starts": "2026-09-25",
            },
        ),
        Example(
            "An oak shelf in steady air, without spread",
            {
                "units": "metric",
                "spread": "none",
                "slab": {"species": "white oak", "width": 300, "thickness": 25},
                "moisture": {"shell": 9, "core": 11},
                "room": {"temperature": 21, "relative_humidity": 45},
                "starts": "2026-04-01",
            },
        ),
    ),
)
