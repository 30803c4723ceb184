"""What is asked of `/v1/diagnosis`."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from itertools import accumulate
from typing import Any, Final, Literal, get_args

from marshmallow import ValidationError, validates_schema

from api.quantities import Days, Length, Moisture, Plain
from api.schema import Choice, Date, Flag, Part, Rows, Shape, SpreadShape, refuse
from api.shapes.evidence import MOST_CUP, MOST_MOVED, WETTEST_BEFORE, WETTEST_NOW
from api.shapes.faces import FacesShape, staying_wet, without_outdoors
from api.shapes.holding import CupShape, KeyShape
from api.shapes.moisture import misplaced, moisture_field
from api.shapes.room import RoomShape, room_field, without_a_year
from api.shapes.slab import THICKNESS, WIDTH, slab_field
from model.answers.diagnosis import history
from model.answers.diagnosis.history import (
    CUP_ERROR,
    WIDTH_ERROR,
    Checked,
    Errors,
    Fixed,
    FixingsMoved,
    Looks,
    Strip,
    Torn,
)
from model.behaviour import timber
from model.behaviour.keys import Key
from model.behaviour.slab import Moisture as Moist
from model.behaviour.slab import Slab
from model.properties.finishes import Faces
from model.spread import METER_SD, Samples
from model.surroundings.room import Room

LONGEST: Final = 7310.0  # days; twenty years
MOST_STAYS: Final = 20
MOST_SIGHTINGS: Final = 100
DRY_BY_THEN: Final = "no face stays wet that long"

Faults = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Dressed:
    """Material planed off each face [m], and whether the cup goes with it."""

    top: float = 0.0
    bottom: float = 0.0
    flat: bool = False


class DressedShape(Shape):
    """Material planed off at the start of a stay."""

    makes = Dressed

    top = Length("depth planed off the top", low=0.0, high=THICKNESS[1], load_default=0.0)
    bottom = Length("depth planed off the bottom", low=0.0, high=THICKNESS[1], load_default=0.0)
    flat = Flag("whether its cup was planed away too", load_default=False)


@dataclass(frozen=True, slots=True)
class Spell:
    """Where it has been: one stay as told; a room or faces left out are those of the one before."""

    days: float
    held: Literal["free", "flat"]
    room: Room | None = None
    faces: Faces | None = None
    dress: Dressed = field(default_factory=Dressed)


class SpellShape(Shape):
    """Where it has been: one stay."""

    makes = Spell

    room = Part(RoomShape, "the air it lay in; that of the stay before when left out")
    days = Days("how long", low=0.5, high=LONGEST, required=True)
    faces = Part(
        FacesShape, "what was on its faces; when told nowhere, three ways of lying are weighed"
    )
    held = Choice("how it was held", ("free", "flat"), load_default="free")
    dress = Part(DressedShape, "material planed off at its start")


@dataclass(frozen=True, slots=True)
class Noticed:
    """Something seen on the way: a cup [m, edges up positive] or a width [m], on a day."""

    day: float
    cup: float | None
    width: float | None


def _noticed(
    day: float, flat: bool, cup: float | None = None, width: float | None = None
) -> Noticed:
    return Noticed(day, 0.0 if flat else cup, width)


class SeenShape(Shape):
    """Something seen on the way."""

    makes = staticmethod(_noticed)
    rule = "give cup, or flat, or width, or width with one of them"

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

    makes = FixingsMoved

    out_of_line = Length(
        "by how much the slab has drawn in there; negative if it has grown",
        low=-0.2,
        high=0.2,
        required=True,
    )
    distance = Length("distance from where the slab is held", low=0.02, high=3.0, required=True)

    @validates_schema
    def _possible(self, data: Any, **kwargs: Any) -> None:
        if abs(data["out_of_line"]) > MOST_MOVED * data["distance"]:
            raise ValidationError(
                "more than a fifth of the distance: no wood moves that much", "out_of_line"
            )


class StripShape(Shape):
    """A strip ripped off along an edge."""

    makes = Strip

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


@dataclass(frozen=True, slots=True)
class Gap:
    """The gap at a wall before and after [m]; `sees`: what part of the change of width shows there.

    Half where the slab is held at its middle, all where it is held at its other edge.
    """

    before: float
    after: float
    sees: float


def _gap(before: float, after: float, held_at: str = "middle") -> Gap:
    return Gap(before, after, 0.5 if held_at == "middle" else 1.0)


class GapShape(Shape):
    """The gap between an edge and a wall, before and today."""

    makes = staticmethod(_gap)

    before = Length("the gap before", low=0.0, high=0.2, required=True)
    after = Length("the gap today", low=0.0, high=0.2, required=True)
    held_at = Choice(
        "where the slab is held: its middle, or the other edge; that decides how much of its "
        "change of width the gap sees",
        ("middle", "other_edge"),
        load_default="middle",
    )


class ErrorsShape(Shape):
    """How exactly it was measured, as standard deviations."""

    makes = Errors

    tape = Length("of a width or gap", low=1e-5, high=0.02, load_default=WIDTH_ERROR)
    cup = Length("of a cup", low=1e-5, high=0.02, load_default=CUP_ERROR)
    meter = Plain("of a moisture, in points of percent", low=0.05, high=10.0, load_default=METER_SD)


@dataclass(frozen=True, slots=True)
class LookedAt:
    """What else was seen, and a reading on end grain [%]."""

    looks: Looks
    end_grain: float | None


def _looked_at(
    torn: Torn | None = None,
    check: Checked | None = None,
    fixed: Fixed | None = None,
    flattened: float | None = None,
    key_split: bool = False,
    end_grain: float | None = None,
) -> LookedAt:
    return LookedAt(Looks(torn, check, fixed, flattened, key_split), end_grain)


class LooksShape(Shape):
    """What else was seen; leave out what nobody looked at."""

    makes = staticmethod(_looked_at)

    torn = Choice("which rows of fixings tore, bent or split out", get_args(Torn))
    check = Choice("where it checked or split; fixing: from a fixing", get_args(Checked))
    fixed = Choice("how its fixings held its width", get_args(Fixed))
    flattened = Part(CupShape, "the cup it had before an earlier flattening by force or water")
    key_split = Flag("whether a key sheared or split", load_default=False)
    end_grain = Moisture(
        "a reading on end grain today, which follows the room within weeks", low=0.0, high=40.0
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab, what was seen of it, and where it has been; cups with edges up positive [m].

    stays are told one by one, or as one by room, days (or dates), faces, held and dress; a history
    without either is none, and the shrinkage formula alone answers.
    """

    slab: Slab
    samples: Samples
    width_after: float | None = None
    fixings: FixingsMoved | None = None
    moisture: Moist | None = None
    moisture_before: float | None = None
    cup: float | None = None
    seen: tuple[Noticed, ...] = ()
    room: Room | None = None
    days: float | None = None
    from_date: datetime.date | None = None
    to_date: datetime.date | None = None
    faces: Faces | None = None
    held: Literal["free", "flat"] = "free"
    dress: Dressed = field(default_factory=Dressed)
    stays: tuple[Spell, ...] = ()
    ripped_strip: Strip | None = None
    keys: Key | None = None
    gap: Gap | None = None
    errors: Errors = field(default_factory=Errors)
    looks: LookedAt = field(default_factory=lambda: LookedAt(Looks(), None))
    next_room: Room | None = None
    finish: Faces | None = None

    def __post_init__(self) -> None:
        told = self._too_wide(), self._moisture_beyond()
        if not self.spells:
            refuse(*told, self._too_little())
        else:
            refuse(
                *told,
                *(self._in_stay(index, one) for index, one in self._stays_wrong().items()),
                self._too_long(),
                self._undated(),
                self._too_cupped(),
                self._seen_later(),
                self._ahead_unknown(),
            )

    @property
    def spells(self) -> tuple[Spell, ...]:
        """Where it has been, told in either way; empty when nothing is told of it."""
        if self.stays or self.room is None:
            return self.stays
        return (Spell(self._lasts, self.held, self.room, self.faces, self.dress),)

    @property
    def _lasts(self) -> float:
        if self.days is not None:
            return self.days
        assert self.from_date is not None
        assert self.to_date is not None
        return float((self.to_date - self.from_date).days)

    @property
    def passed(self) -> tuple[float, ...]:
        """Days at which each stay begins, and at which the last ends."""
        return tuple(accumulate((spell.days for spell in self.spells), initial=0.0))

    @property
    def rooms(self) -> tuple[Room, ...]:
        """The room of every stay from the first one told on."""
        found: list[Room] = []
        for spell in self.spells:
            found += [spell.room] if spell.room is not None else found[-1:]
        return tuple(found)

    @property
    def left(self) -> float:
        """What is left of the thickness after all planing [m]."""
        return self.slab.thickness - sum(one.dress.top + one.dress.bottom for one in self.spells)

    @property
    def width_ratio(self) -> float | None:
        """Width today over width before, by the width or by fixings out of line."""
        if self.width_after is not None:
            return self.width_after / self.slab.width
        if self.gap is not None:
            return 1.0 - (self.gap.after - self.gap.before) / self.gap.sees / self.slab.width
        return None if self.fixings is None else self.fixings.width_ratio

    def log_begins(self, index: int) -> float | None:
        """Day of its log on which a stay begins; None for air that has none."""
        spell, room = self.spells[index], self.rooms[index]
        if not room.is_log:
            return None
        if self.from_date is None or spell.room is None:
            return 0.0
        return self.passed[index] + room.log_day(self.from_date)

    def _in_stay(self, index: int, faults: Faults) -> Faults:
        """Faults of a stay where it is told."""
        return {"stays": {index: faults}} if self.stays else faults

    def _too_wide(self) -> Faults:
        ratio = self.width_ratio
        if ratio is None or abs(ratio - 1.0) <= MOST_MOVED:
            return {}
        if self.width_after is None:
            return {"gap": ["a change of more than a fifth of the width: no wood moves that much"]}
        told = (
            f"{1000 * self.width_after:g} mm given, {1000 * self.slab.width:g} mm before: no wood "
            "moves by more than a fifth"
        )
        return {"width_after": [told]}

    def _moisture_beyond(self) -> Faults:
        """Faults of moistures deeper than what is left, or too wet for a cause."""
        if self.moisture is None or self.left < timber.LEAST_THICKNESS:
            return {}
        wettest = history.wettest(self.moisture)
        if wettest > WETTEST_NOW:
            told = (
                f"{wettest:g} given: above {WETTEST_NOW:g} % wood has not begun to shrink, so "
                "there is nothing to explain"
            )
            return {"moisture": [told]}
        return misplaced(self.moisture, self.left)

    def _too_little(self) -> Faults:
        if self.width_ratio is not None and self.moisture is not None:
            return {}
        told = (
            "where it has been is missing: give room and days (or stays); for the shrinkage "
            "formula alone give moisture and width_after or fixings"
        )
        return {"_schema": [told]}

    def _stays_wrong(self) -> dict[int, Faults]:
        """Faults of the stays by their number."""
        wrong: dict[int, Faults] = {}
        left = self.slab.thickness
        known = self.spells[0].room is not None
        faces: Faces | None = None
        for index, spell in enumerate(self.spells):
            faces = spell.faces or faces
            faults = {} if spell.faces is None else staying_wet(spell.faces, DRY_BY_THEN)
            if known:
                faults |= without_outdoors(faces, self.rooms[index])
            before, left = left, left - (spell.dress.top + spell.dress.bottom)
            if left < timber.LEAST_THICKNESS <= before:
                faults["dress"] = [f"would leave {1e3 * max(left, 0.0):.3g} mm of the slab"]
            if known:
                faults |= self._beyond_log(index)
            elif index == 0:
                faults["room"] = ["missing: the first stay needs the air it lay in"]
            if faults:
                wrong[index] = faults
        return wrong

    def _beyond_log(self, index: int) -> Faults:
        begin = self.log_begins(index)
        if begin is None:
            return {}
        end = begin + self.spells[index].days
        last = float(self.rooms[index].air.days[-1])
        if begin >= -1.0 and end <= last + 1e-6:
            return {}
        told = (
            f"the log covers {last:.4g} days from its first reading; the stay runs from day "
            f"{begin:.4g} to {end:.4g} of it"
        )
        return {"room": [told]}

    def _too_long(self) -> Faults:
        whole = self.passed[-1]
        if whole <= LONGEST:
            return {}
        return {"_schema": [f"{whole:g} days in all: at most {LONGEST:g}, 20 years"]}

    def _undated(self) -> Faults:
        coming = () if self.next_room is None else (self.next_room,)
        if self.from_date is not None or not any(
            room.has_seasons for room in (*self.rooms, *coming)
        ):
            return {}
        told = "missing: the air changes through the year; write the day before, such as 2026-01-10"
        return {"from_date": [told]}

    def _too_cupped(self) -> Faults:
        """Faults of cups that no slab of this width has."""
        wrong: Faults = {}
        if told := self._no_cup(self.cup):
            wrong["cup"] = told
        seen = {
            index: {"cup": told}
            for index, one in enumerate(self.seen)
            if (told := self._no_cup(one.cup))
        }
        return {**wrong, "seen": seen} if seen else wrong

    def _no_cup(self, cup: float | None) -> Faults:
        if cup is None or abs(cup) <= MOST_CUP * self.slab.width:
            return {}
        told = f"{1000 * abs(cup):g} mm given: more than {100 * MOST_CUP:g} % of the width"
        return {"amount": [told]}

    def _seen_later(self) -> Faults:
        whole = self.passed[-1]
        wrong = {
            index: {"day": [f"{one.day:g} given: the history lasts {whole:g} days"]}
            for index, one in enumerate(self.seen)
            if one.day > whole * (1.0 + 1e-9)
        }
        return {"seen": wrong} if wrong else {}

    def _ahead_unknown(self) -> Faults:
        """Faults of what is to come: a log of days to come, a finish that stays wet."""
        wrong: Faults = {}
        if self.next_room is not None:
            why = "it tells of no year to come"
            wrong |= without_a_year(self.next_room, why, "next_room")
            told = [spell.faces for spell in self.spells if spell.faces is not None]
            if not wrong and told and without_outdoors(told[-1], self.next_room):
                wrong["next_room"] = ["has no climate, and a face is at an outer wall: give one"]
        if self.finish is not None:
            wrong |= staying_wet(self.finish, DRY_BY_THEN, "finish")
            to_come = self.next_room or (self.rooms[-1] if self.rooms else None)
            wrong |= without_outdoors(self.finish, to_come, "finish")
        return wrong


_ONE_STAY: Final = ("room", "days", "from_date", "to_date", "faces", "held", "dress")


class DiagnosisShape(SpreadShape):
    """A slab, what was seen of it, and where it has been."""

    makes = Asked
    rule = (
        "give one or more of cup, seen, and one of width_after, fixings and gap; tell where it has "
        "been by stays, perhaps with from_date, or by room with days, or with from_date and to_date"
    )

    slab = slab_field("the slab, with the size it had before", required=True)
    width_after = Length("its width today", low=WIDTH[0], high=WIDTH[1])
    fixings = Part(FixingsMovedShape, "fixings out of line, instead of width_after")
    gap = Part(GapShape, "the gap at a wall before and today, instead of width_after")
    moisture = moisture_field("moisture content today")
    moisture_before = Moisture(
        "moisture content before, if it was measured", low=2.0, high=WETTEST_BEFORE
    )
    cup = Part(CupShape, "its cup today; leave it out when it was not measured")
    seen = Rows("what was seen on the way", SeenShape, shortest=1, longest=MOST_SIGHTINGS)
    room = Part(RoomShape, "the air it has lain in since")
    days = Days("how long ago before is; or give from_date and to_date", low=0.5, high=LONGEST)
    from_date = Date("day before")
    to_date = Date("today")
    faces = Part(FacesShape, "what was on its faces; when left out three ways of lying are weighed")
    held = Choice("how it was held", ("free", "flat"))
    dress = Part(DressedShape, "material planed off at the start")
    stays = Rows(
        "where it has been, in order, instead of room, days, faces, held and dress",
        SpellShape,
        shortest=1,
        longest=MOST_STAYS,
    )
    ripped_strip = Part(StripShape, "a strip ripped off that bowed, or stayed straight")
    keys = Part(KeyShape, "a key that sheared")
    looks = Part(LooksShape, "what else was seen")
    errors = Part(ErrorsShape, "how exactly it was measured; usual errors when left out")
    next_room = room_field(
        "the air it will lie in from now on; a log must cover a year; as now when left out",
        year=True,
    )
    finish = Part(FacesShape, "the finish of `both finished alike`; its top counts")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _goes_together(self, data: Any, original: Any, **kwargs: Any) -> None:
        given = original.keys()
        if "stays" in given and (twice := [n for n in _ONE_STAY if n in given - {"from_date"}]):
            raise ValidationError(
                f"stays and {', '.join(twice)} given: tell where it has been in one way"
            )
        if len(widths := [n for n in ("width_after", "fixings", "gap") if n in given]) > 1:
            raise ValidationError(f"{' and '.join(widths)} given: give one of them")
        if not widths and not given & {"cup", "seen"}:
            raise ValidationError(
                "nothing seen: give width_after, fixings, gap, cup or seen, whatever was measured"
            )
        if "stays" in given or not given & {"room", "days", "from_date", "to_date"}:
            return
        if "days" in given and "to_date" in given:
            raise ValidationError("days and to_date given: give one of both")
        if "room" not in given:
            raise ValidationError("the room is missing: where has it lain since?")
        if "days" not in given and not {"from_date", "to_date"} <= given:
            raise ValidationError("how long is missing: give days, or from_date and to_date")

    @validates_schema
    def _in_order(self, data: Any, **kwargs: Any) -> None:
        begins, ends = data.get("from_date"), data.get("to_date")
        if begins is not None and ends is not None and ends <= begins:
            raise ValidationError(f"`{ends}` given: not later than from_date, {begins}", "to_date")
