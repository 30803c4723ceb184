"""What `/v1/course` answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final

from marshmallow import ValidationError

from api.question import Reply
from api.questions.course.ask import Asked
from api.questions.course.stays import lay
from api.replies import members
from api.replies.members import Answer, itself
from api.replies.parts import CupFigure
from api.units import DAYS, LENGTH, MOMENT, PERCENT, PLAIN, STRESS, TEMPERATURE, Unit
from api.words import Under
from model import spread
from model.answers.course import Followed, TooFewRows, follow
from model.basis import cite
from model.behaviour import slab as wood
from model.behaviour.rings import formulas as ring_formulas
from model.behaviour.rings import ring_notes
from model.codes import Caution, Note
from model.properties import finishes, species

# Days of a series to a minute and a half: a face dries within hours.
FINE_DAYS: Final = replace(DAYS, units=(Unit("d", 1.0, None, decimals=3),))
_FORMULAS: Final = (
    "equilibrium-moisture",
    "transport-diffusion",
    "shrinkage",
    "section-balance",
    "mechano-sorptive-creep",
    "stress-index",
)


def answer(asked: Asked) -> Reply[Followed]:
    """Follow the slab through its stays and say what goes along."""
    laid = lay(asked)
    days = asked.profile_days
    try:
        followed = follow(
            asked.slab,
            asked.moisture,
            laid.stays,
            laid.rooms,
            laid.shares,
            asked.samples,
            start_day=laid.start_day,
            cup=asked.cup,
            came=asked.sorption,
            profiles=days,
            most_rows=asked.rows,
        )
    except TooFewRows as error:
        raise ValidationError(f"{asked.rows} given: {error}", "rows") from error
    faces = [stay.faces for stay in asked.stays if stay.faces]
    formulas = (
        *_FORMULAS,
        *ring_formulas(asked.slab),
        *(["transport-face"] if faces else []),
        *followed.formulas,
        *finishes.formulas(*faces),
    )
    return Reply(followed, _notes(asked, followed), _cautions(asked), cite(*formulas))


def _notes(asked: Asked, followed: Followed) -> list[Note | Under]:
    """What the course, its rooms and its finishes say."""
    notes: list[Note | Under] = [
        *species.notes(asked.slab.species),
        *ring_notes(asked.slab),
        *followed.notes,
    ]
    for room in followed.rooms:
        notes += room.notes
    for index, told in enumerate(asked.stays):
        if told.faces is not None:
            notes += [Under(f"/stays/{index}", note) for note in finishes.notes(told.faces)]
        if not isinstance(told.held, str):
            notes.append(Note("bars-straight"))
    return notes


def _cautions(asked: Asked) -> list[Caution]:
    now = wood.mean_moisture(asked.moisture, asked.slab.thickness)
    told = wood.cautions(asked.slab, now)
    if any(stay.held != "free" for stay in asked.stays):
        told.append(Caution("clamps"))
    if any(stay.dress for stay in asked.stays):
        told.append(Caution("planing"))
    for stay in asked.stays:
        told += finishes.cautions(stay.faces) if stay.faces is not None else []
    return told


def _air(name: str) -> Callable[[Followed], Any]:
    return lambda followed: getattr(followed.course, name)[followed.rows]


def _central(name: str) -> Callable[[Followed], Any]:
    def read(followed: Followed) -> Any:
        values = getattr(followed.course, name)
        return None if values is None else values[followed.rows, 0]

    return read


def _end(name: str, which: int) -> Callable[[Followed], Any]:
    def read(followed: Followed) -> Any:
        ends = spread.band(getattr(followed.course, name)[followed.rows])
        return None if ends is None else ends[which]

    return read


def _moment(followed: Followed) -> Any:
    return followed.moment[followed.rows, 0] if followed.held else None


_NO_SPREAD: Final = "without a spread"


class CourseSeries(Answer):
    """Parallel lists, one figure a row; the bands are the 10th and 90th percentile."""

    day = members.Series(
        FINE_DAYS,
        "since the start; two rows share a day where something changes at once",
        of=_air("days"),
    )
    stay = members.Counts(
        "number of the stay, from 1", of=lambda one: one.course.stay[one.rows] + 1
    )
    temperature = members.Series(TEMPERATURE, of=_air("temperature"))
    relative_humidity = members.Series(PERCENT, of=_air("relative_humidity"))
    equilibrium_moisture = members.Series(PERCENT, of=_air("equilibrium"))
    mean = members.Series(PERCENT, of=_central("mean"))
    mean_low = members.Series(PERCENT, of=_end("mean", 0), left_out=_NO_SPREAD)
    mean_high = members.Series(PERCENT, of=_end("mean", 1), left_out=_NO_SPREAD)
    shell_top = members.Series(PERCENT, of=_central("shell_top"))
    core = members.Series(PERCENT, of=_central("core"))
    shell_bottom = members.Series(PERCENT, of=_central("shell_bottom"))
    width = members.Series(LENGTH, of=_central("width"))
    width_low = members.Series(LENGTH, of=_end("width", 0), left_out=_NO_SPREAD)
    width_high = members.Series(LENGTH, of=_end("width", 1), left_out=_NO_SPREAD)
    thickness = members.Series(LENGTH, of=_central("thickness"))
    cup = members.Series(LENGTH, "signed: positive edges up", of=_central("cup"))
    cup_low = members.Series(LENGTH, of=_end("cup", 0), left_out=_NO_SPREAD)
    cup_high = members.Series(LENGTH, of=_end("cup", 1), left_out=_NO_SPREAD)
    bow = members.Series(
        LENGTH, "signed: positive ends up", of=_central("bow"), left_out="without a length"
    )
    stress_top = members.Series(
        STRESS, "across the grain, tension positive", of=_central("stress_top")
    )
    stress_bottom = members.Series(
        STRESS, "across the grain, tension positive", of=_central("stress_bottom")
    )
    index_top = members.Series(
        PLAIN,
        "stress index of the upper half; checks are to be reckoned with from 0.5",
        of=_central("index_top"),
    )
    index_bottom = members.Series(
        PLAIN, "stress index of the lower half", of=_central("index_bottom")
    )
    moment = members.Series(
        MOMENT,
        "of what holds it, over the slab's length; positive bends the edges up",
        of=_moment,
        left_out="when nothing holds it",
    )


class CourseProfile(Answer):
    """Moisture through the thickness on a day, central case, from the top down."""

    day = members.Number(FINE_DAYS)
    depth = members.Series(LENGTH)
    moisture = members.Series(PERCENT)


class CourseLargestCup(CupFigure):
    """The cup largest in amount during a stay."""

    day = members.Number(DAYS)


class CourseLargestIndex(Answer):
    """The highest stress index of either face during a stay."""

    index = members.Figure(PLAIN, of="largest_index")
    face = members.Word(("top", "bottom"), of="largest_index_face")
    day = members.Number(DAYS, of="largest_index_day")


class CourseStay(Answer):
    """A stay: the slab at its end, and the largest during it."""

    name = members.Text()
    first_day = members.Number(FINE_DAYS, of="first")
    last_day = members.Number(FINE_DAYS, of="last")
    mean = members.Figure(PERCENT)
    width = members.Figure(LENGTH)
    thickness = members.Figure(LENGTH)
    cup = members.Part(CupFigure, of="cupped")
    largest_cup = members.Part(CourseLargestCup, of="most_cupped")
    largest_index = members.Part(CourseLargestIndex, of=itself)
    largest_moment = members.Figure(MOMENT, left_out="when nothing holds it in any stay")


class CourseEnds(Answer):
    """The ends, which dry first."""

    zone = members.Number(LENGTH, "how far in the drying through uncoated ends reaches")
    may_split = members.Truth("whether they run so far ahead that they may split")
    left_by_coat = members.Number(PLAIN, "share of it that a thick end coat leaves")


class CourseAnswer(Answer):
    """The slab through its stays."""

    series = members.Part(CourseSeries, of=itself)
    profiles = members.Rows(CourseProfile)
    stays = members.Rows(CourseStay)
    ends = members.Part(CourseEnds)
    climates = members.Texts(
        "the places that were used", of=lambda one: one.places or None, left_out="without a place"
    )
    attribution = members.Texts(
        "credit that must stay with the figures",
        of=lambda one: one.attribution or None,
        left_out="where none is due",
    )
