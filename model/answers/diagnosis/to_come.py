"""What is still to come in a year, by what is done now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from model.answers.diagnosis.causes import figure
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
        The middle of the draws' cups on `AHEAD_DAYS` [m].
    """

    doing: Doing
    cup_after_month: Figure
    cup_after_year: Figure
    largest_cup: Figure
    width_change: Figure
    moisture: Figure
    course: Floats


def look_ahead(
    case: Case, theta: Floats, followed: Course, next_room: Room | None, finished: Face | None
) -> dict[Doing, Course]:
    """The year to come of every row of one story, by what is done.

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
    return {doing: _ahead(case, theta, followed, stay) for doing, stay in done.items()}


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
    later = course.run(
        followed.slab,
        followed.end,
        case.aired(theta, [stay]),
        case.samples(theta),
        start_day=case.history.start_day + passed,
        state=followed.state,
        stops=_STOPS,
    )
    return case.held(theta, later, passed)


def option(doing: Doing, later: Sequence[Course], *, band: bool = True) -> Option:
    """What is to come if something is done: the draws of all stories together."""
    first = later[0]

    def together(name: str) -> Floats:
        joined: Floats = np.concatenate([getattr(one, name) for one in later], axis=1)
        return joined

    cup, width, mean = together("cup"), together("width"), together("mean")
    rows = np.abs(cup).argmax(axis=0)
    largest = np.take_along_axis(cup, rows[None], axis=0)[0]
    soon = int(np.searchsorted(first.days, SOON))
    return Option(
        doing,
        figure(cup[soon], band=band),
        figure(cup[-1], band=band),
        figure(largest, band=band),
        figure(width[-1] - width[0], band=band),
        figure(mean[-1], band=band),
        np.interp(AHEAD_DAYS, first.days, np.median(cup, axis=1)),
    )
