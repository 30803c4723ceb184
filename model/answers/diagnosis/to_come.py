"""What is still to come in a year, by what is done now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model import fitting
from model.answers.diagnosis.tried import Case
from model.behaviour import course, section
from model.behaviour.course import Course, Stay
from model.properties.finishes import Face, Faces
from model.spread import Figure
from model.surroundings.air_series import Air
from model.surroundings.calendar import YEAR
from model.surroundings.room import Room

Floats = NDArray[np.float64]
Doing = Literal["left", "turned", "opened", "finished"]

AHEAD: Final = YEAR  # days looked ahead
AHEAD_DAYS: Final = np.append(np.arange(0.0, 364.1, 7.0), AHEAD)  # of the courses told
SOON: Final = 30.0  # days; the first look ahead
THREE_DAYS: Final = 3.0
TWO_WEEKS: Final = 14.0  # days
FINISHED: Final = 1.0  # m of still air; both faces finished alike when no finish is told


@dataclass(frozen=True, slots=True)
class Option:
    """What is still to come if something is done now and a year passes.

    Attributes
    ----------
    doing : str
        What is done, as a code.
    cup_after_month, cup_after_year, largest_cup : Figure
        From today on [m, positive edges up].
    width_change : Figure
        From today [m].
    moisture : Figure
        At the end [%].
    course : ndarray
        The central cup on `AHEAD_DAYS` [m].
    """

    doing: Doing
    cup_after_month: Figure
    cup_after_year: Figure
    largest_cup: Figure
    width_change: Figure
    moisture: Figure
    course: Floats


@dataclass(frozen=True, slots=True)
class ToCome:
    """What is still to come: the options, and the courses of every draw if left and if turned."""

    options: tuple[Option, ...]
    left: Course
    turned: Course


def look_ahead(
    case: Case, theta: Floats, followed: Course, next_room: Room | None, finished: Face | None
) -> ToCome:
    """What is to come by what is done.

    Parameters
    ----------
    case : Case
    theta : ndarray (rows, parameters)
    followed : Course
        Of those rows, to today.
    next_room : Room or None
        Where it will lie; as it lay last when left out, with the last of a log going on.
    finished : Face or None
        The finish of both faces finished alike.
    """
    waiting = _waiting(case, next_room)
    bare = Face(0.0)
    film = Face(FINISHED, name="finished") if finished is None else finished
    done: dict[Doing, Stay] = {
        "left": waiting,
        "turned": replace(waiting, turned=not waiting.turned),
        "opened": replace(waiting, faces=Faces(bare, bare)),
        "finished": replace(waiting, faces=Faces(film, film)),
    }
    later = {doing: _ahead(case, theta, followed, stay) for doing, stay in done.items()}
    options = tuple(_option(doing, one) for doing, one in later.items())
    return ToCome(options, later["left"], later["turned"])


def _waiting(case: Case, next_room: Room | None) -> Stay:
    """The stay to come if nothing is done: a year as in the last one, or in another air.

    In another air, a log's last reading going on among them, its faces are as they were told, not
    as the likeliest way of lying has them: open where nothing was told.
    """
    last, told = case.stays[-1], case.history.stays[-1]
    air = last.air
    if next_room is not None:
        last = replace(told, humidity_spread=next_room.humidity_spread)
        air = next_room.air
    elif air.period is None and air.days.size > 1:
        # No log tells of days to come.
        temperature, humidity = air.at(float(air.days[-1]))
        last, air = told, Air(np.zeros(1), np.array([temperature]), np.array([humidity]))
    return replace(
        last,
        air=air,
        days=AHEAD,
        hold=section.FREE,
        dress_top=0.0,
        dress_bottom=0.0,
        machined_flat=False,
        wet_face=None,
        wet_hours=0.0,
        air_day=None,
    )


_STOPS: Final[Sequence[float]] = (THREE_DAYS, TWO_WEEKS, SOON)


def _ahead(case: Case, theta: Floats, followed: Course, stay: Stay) -> Course:
    """What a further stay makes of every draw."""
    passed = sum(one.days for one in case.stays)
    return course.run(
        followed.slab,
        followed.end,
        [stay],
        case.samples(theta),
        start_day=case.history.start_day + passed,
        state=followed.state,
        stops=_STOPS,
    )


def _option(doing: Doing, later: Course) -> Option:
    rows = np.abs(later.cup).argmax(axis=0)
    largest = np.take_along_axis(later.cup, rows[None], axis=0)[0]
    soon = int(np.searchsorted(later.days, SOON))
    return Option(
        doing,
        fitting.figure(later.cup[soon]),
        fitting.figure(later.cup[-1]),
        fitting.figure(largest),
        fitting.figure(later.width[-1] - later.width[0]),
        fitting.figure(later.mean[-1]),
        np.interp(AHEAD_DAYS, later.days, later.cup[:, 0]),
    )
