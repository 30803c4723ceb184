"""The model's stays of a course as told: dates, rooms, logs and holds that fit together."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from marshmallow import ValidationError
from numpy.typing import NDArray

from api.questions.course.ask import Asked, Dress, StayTold
from api.shapes.faces import without_outdoors
from api.sharing import canonical
from model.behaviour import timber
from model.behaviour.course import Stay
from model.behaviour.section import FLAT, FREE, Hold
from model.behaviour.slab import Slab, mean_moisture
from model.behaviour.stiffeners import grip
from model.properties.finishes import Faces, face
from model.surroundings.calendar import day_of
from model.surroundings.room import Room

Floats = NDArray[np.float64]
Faults = dict[int, dict[str, Any]]

LONGEST_GAP: Final = 7.0  # days without a reading of a log; a missing week is no record (judgement)


@dataclass(frozen=True, slots=True)
class Laid:
    """The stays laid end to end.

    stays : those of the model; rooms : one each, the same object where it is the same room.
    shares : what the bars of each stay bear of the section's moment, where that bends the edges
        down and where it bends them up, (stays, 2).
    start_day : day of the year on which the course starts.
    """

    stays: tuple[Stay, ...]
    rooms: tuple[Room, ...]
    shares: Floats
    start_day: float


def lay(asked: Asked) -> Laid:
    """The model's stays; refuses those that do not fit together."""
    start = _calendar(asked)
    rooms = _rooms(asked.stays)
    air_days = _air_days(asked, rooms, start)
    start = start or _day_by_log(asked, rooms)
    stays, shares = _stays(asked, rooms, air_days)
    return Laid(stays, rooms, shares, 0.0 if start is None else day_of(start))


def begins(asked: Asked) -> datetime.date | None:
    """The first day of a course that `lay` takes; None where no date, and no log, tells it."""
    return _calendar(asked) or _day_by_log(asked, _rooms(asked.stays))


def _day_by_log(asked: Asked, rooms: tuple[Room, ...]) -> datetime.date | None:
    """The day that the first log makes of the first one, in a course that no date was given for."""
    for room, passed in zip(rooms, asked.passed, strict=False):
        if room.is_log:
            assert room.starts is not None
            return room.starts.date() - datetime.timedelta(days=round(float(passed)))
    return None


def _refuse(wrong: Faults) -> None:
    if wrong:
        raise ValidationError({"stays": wrong})


def _calendar(asked: Asked) -> datetime.date | None:
    """The date of the first day; refuses overlaps and gaps."""
    stays, passed = asked.stays, asked.passed
    known = asked.starts
    first = next((index for index, stay in enumerate(stays) if stay.from_date), None)
    if known is None and first is not None:
        begins = stays[first].from_date
        assert begins is not None
        known = begins - datetime.timedelta(days=round(float(passed[first])))
    wrong: Faults = {}
    for index, stay in enumerate(stays):
        if known is None or stay.from_date is None:
            continue
        due = known + datetime.timedelta(days=round(float(passed[index])))
        if stay.from_date != due:
            apart = abs((stay.from_date - due).days)
            what = "leaves a gap of" if stay.from_date > due else "overlaps by"
            what += f" {apart} day{'s' if apart > 1 else ''}"
            before = "the stay before ends" if index else "the course starts"
            told = f"`{stay.from_date}` given: {what}; {before} on {due}: write that day"
            wrong[index] = {"from_date": [told]}
    _refuse(wrong)
    return known


def _rooms(stays: tuple[StayTold, ...]) -> tuple[Room, ...]:
    """The room of every stay; a room left out, or told alike, is the same room."""
    found: list[Room] = []
    wrong: Faults = {}
    known: dict[bytes, Room] = {}
    for index, stay in enumerate(stays):
        if stay.room is None:
            if index == 0:
                wrong[0] = {"room": ["missing: the first stay needs the air it lies in"]}
            found += found[-1:]
        elif stay.room.is_log:
            gap = _too_long_a_gap(stay.room)
            if gap:
                wrong[index] = {"room": {"log": {"time": gap}}}
            found.append(stay.room)
        else:
            found.append(known.setdefault(canonical(stay.room), stay.room))
    _refuse(wrong)
    return tuple(found)


def _too_long_a_gap(room: Room) -> dict[int, list[str]]:
    """The fault of a log with a week or more missing, unless it is read that seldom throughout."""
    days = room.air.days
    apart = np.diff(days)
    worst = int(apart.argmax())
    if apart[worst] <= max(LONGEST_GAP, 3.0 * float(np.median(apart))):
        return {}
    assert room.starts is not None
    after = room.starts + datetime.timedelta(days=float(days[worst + 1]))
    told = (
        f"`{after.isoformat()}` given: {apart[worst]:.0f} days after the reading before it; with "
        f"more than {LONGEST_GAP:g} days missing it is no record: split the stay there"
    )
    return {worst + 1: [told]}


def _air_days(
    asked: Asked, rooms: tuple[Room, ...], start: datetime.date | None
) -> list[float | None]:
    """Day of a log at which each stay begins; None where the course's own day counts."""
    found: list[float | None] = []
    wrong: Faults = {}
    for index, (stay, room) in enumerate(zip(asked.stays, rooms, strict=True)):
        if not room.is_log:
            found.append(None)
            continue
        begin = 0.0
        before = found[-1] if found else None
        if stay.room is None and before is not None:
            begin = before + asked.stays[index - 1].lasts
        elif start is not None:
            date = start + datetime.timedelta(days=round(float(asked.passed[index])))
            begin = room.log_day(date)
            if room.begins_after(date):
                assert room.starts is not None
                told = f"the log begins after the stay, on {room.starts.isoformat()}"
                wrong[index] = {"room": [told]}
            begin = max(begin, 0.0)
        last = float(room.air.days[-1])
        if begin + stay.lasts > last + 1e-6:
            wrong[index] = {
                "room": [
                    f"the log ends after {max(last - begin, 0.0):.4g} days of a stay of "
                    f"{stay.lasts:g}: shorten the stay or give another room for the rest"
                ]
            }
        found.append(begin)
    _refuse(wrong)
    return found


def _stays(
    asked: Asked, rooms: tuple[Room, ...], air_days: list[float | None]
) -> tuple[tuple[Stay, ...], Floats]:
    """The model's stays, and the shares of the section's moment that bars bear: see `Laid`."""
    stays: list[Stay] = []
    wrong: Faults = {}
    shares = np.ones((len(asked.stays), 2))
    faces = Faces(face("bare"), face("bare"))
    thickness = asked.slab.thickness
    planed = np.zeros(2)
    for index, told in enumerate(asked.stays):
        faces = told.faces or faces
        dress, wet = told.dress or Dress(), told.wet_face
        thickness -= dress.top + dress.bottom
        planed += (dress.top, dress.bottom)
        faults = _impossible(told, thickness) | without_outdoors(faces, rooms[index])
        if not faults:
            left = replace(asked.slab, thickness=thickness, pith_below=None)
            faults = _bars_unfit(told, left)
        if faults:
            wrong[index] = faults
            continue
        hold, shares[index] = _hold(asked, told, planed)
        stays.append(
            Stay(
                air=rooms[index].air,
                days=told.lasts,
                faces=faces,
                hold=hold,
                humidity_spread=rooms[index].humidity_spread,
                air_day=air_days[index],
                dress_top=dress.top,
                dress_bottom=dress.bottom,
                machined_flat=dress.flat,
                wet_face=None if wet is None else wet.face,
                wet_hours=0.0 if wet is None else wet.hours,
                turned=told.turned,
                name=told.name or f"stay {index + 1}",
            )
        )
    _refuse(wrong)
    return tuple(stays), shares


def _impossible(told: StayTold, thickness: float) -> dict[str, Any]:
    """Faults of a stay that only its length and what is left of the slab show."""
    faults: dict[str, Any] = {}
    if thickness < timber.LEAST_THICKNESS:
        faults["dress"] = [
            f"would leave {1e3 * max(thickness, 0.0):.3g} mm of the slab: at least "
            f"{1e3 * timber.LEAST_THICKNESS:g} mm must be left"
        ]
    hours = 0.0 if told.wet_face is None else told.wet_face.hours
    if hours > 24.0 * told.lasts * (1.0 + 1e-9):
        given = f"{hours:g} h given: the stay lasts {24.0 * told.lasts:g} h, give it longer"
        faults["wet_face"] = {"hours": [given]}
    return faults


def _bars_unfit(told: StayTold, slab: Slab) -> dict[str, Any]:
    if isinstance(told.held, str):
        return {}
    if slab.length is None:
        return {"held": ["bars given: they need the length of the slab"]}
    return told.held.faults(slab, "held")


def _hold(asked: Asked, told: StayTold, planed: Floats) -> tuple[Hold, tuple[float, float]]:
    """The model's hold, and what its bars bear of the section's moment: see `Laid`."""
    if isinstance(told.held, str):
        return (FLAT if told.held == "flat" else FREE), (1.0, 1.0)
    slab = timber.planed(asked.slab, float(planed[0]), float(planed[1]))
    assert slab.length is not None
    now = mean_moisture(asked.moisture, asked.slab.thickness)
    by = grip(slab, told.held.on(slab), now, asked.cup)
    # A bar's largest moment for one of the section, bars added up over the slab's length.
    per_metre = by.free_curvature / by.layout.strip
    return by.hold, (per_metre * by.up.moment, per_metre * by.down.moment)
