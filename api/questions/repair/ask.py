"""What is asked of `/v1/repair`: the story of a slab as its maker tells it."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, ClassVar, Final, get_args

from marshmallow import ValidationError, validates_schema

from api.quantities import Length, Moisture
from api.schema import Choice, Date, Flag, Part, Shape, SpreadShape, refuse, starts_field
from api.shapes.evidence import MOST_CUP, MOST_MOVED, WETTEST_BEFORE, WETTEST_NOW
from api.shapes.faces import FacesShape, staying_wet, without_outdoors
from api.shapes.holding import FOR_YEARS, Bars, BarsShape, CupShape, FastenerShape
from api.shapes.moisture import misplaced, moisture_field
from api.shapes.room import room_field, without_a_year
from api.shapes.slab import THICKNESS, WIDTH, slab_field
from model.answers.diagnosis import history
from model.behaviour import slab as wood
from model.behaviour import timber
from model.behaviour.evidence import Untold
from model.behaviour.slab import Slab
from model.properties.fasteners import Fastener
from model.properties.finishes import Faces
from model.repair.story import AtHand, Check, Done, Fixings, Held, Seen, Story, Wanted
from model.spread import Samples
from model.surroundings.room import Room

LONGEST: Final = 7310  # days; twenty years
NO_YEAR: Final = "it tells of no year to come"


class RepairGapShape(Shape):
    """The gap between an edge and a wall."""

    before = Length("when it was fitted", low=0.0, high=0.5, required=True)
    after = Length("today", low=0.0, high=0.5, required=True)

    @staticmethod
    def makes(before: float, after: float) -> tuple[float, float]:
        """Both."""
        return before, after


class RepairSeenShape(Shape):
    """What was seen of it; leave out what nobody looked at."""

    cup = Part(CupShape, "its cup today; amount 0 where it is flat")
    bow = Length("how far it is out of straight along its length", low=0.0, high=0.5)
    twist = Length("how far one corner stands above the plane of the others", low=0.0, high=0.5)
    width_after = Length("its width today", low=WIDTH[0], high=WIDTH[1])
    wall_gap = Part(RepairGapShape, "the gap between an edge and a wall, then and today")
    fixings = Choice("how its fixings are", get_args(Fixings))
    key_split = Flag("whether a key split or sheared", load_default=False)
    check = Choice(
        "where it checked or split: at an end, along one face, or through to both", get_args(Check)
    )
    decayed = Flag("whether there is decay, or insects, at a fixing", load_default=False)

    @staticmethod
    def makes(wall_gap: tuple[float, float] | None = None, **told: Any) -> Seen:
        """What was seen."""
        before, after = wall_gap or (None, None)
        return Seen(gap_before=before, gap_after=after, **told)


class RepairDoneShape(Shape):
    """What was done to it."""

    makes = Done

    planed_top = Length(
        "planed off the top when it came there", low=0.0, high=THICKNESS[1], load_default=0.0
    )
    planed_bottom = Length(
        "planed off the bottom when it came there", low=0.0, high=THICKNESS[1], load_default=0.0
    )
    held = Choice("how its width was held", get_args(Held))
    flattened = Part(CupShape, "the cup it had before it was flattened by force or water")


class RepairAtHandShape(Shape):
    """What there is to work with."""

    makes = AtHand

    meter = Flag("a moisture meter with insulated pins", load_default=True)
    clamps = Flag("clamps and cauls, or weights", load_default=True)
    planer = Flag("a way to plane all of its width", load_default=True)


class RepairWantedShape(Shape):
    """What it must become."""

    makes = Wanted

    flat_within = Length(
        "cup that is flat enough; a three-hundredth of the width when left out", low=1e-4, high=0.1
    )
    thickness = Length("least thickness it must keep", low=THICKNESS[0], high=THICKNESS[1])
    by = Date("day it must be fitted")


@dataclass(frozen=True, slots=True)
class Asked:
    """The story, checked."""

    slab: Slab
    starts: datetime.date
    samples: Samples
    moisture: wood.Moisture | None = None
    moisture_before: float | None = None
    room: Room | None = None
    shop: Room | None = None
    since: datetime.date | None = None
    faces: Faces | None = None
    finish: Faces | None = None
    seen: Seen = field(default_factory=Seen)
    done: Done = field(default_factory=Done)
    at_hand: AtHand = field(default_factory=AtHand)
    wanted: Wanted = field(default_factory=Wanted)
    bars: Bars | None = None
    fastener: Fastener | None = None

    def __post_init__(self) -> None:
        left = self._left
        refuse(
            {} if self.moisture is None else misplaced(self.moisture, max(left, 0.001)),
            self._too_wet(),
            *(
                {} if told is None else staying_wet(told, FOR_YEARS, name)
                for name, told in (("faces", self.faces), ("finish", self.finish))
            ),
            without_outdoors(self.faces, self.room),
            without_outdoors(self.finish, self.room, "finish"),
            {} if self.room is None else without_a_year(self.room, NO_YEAR),
            {} if self.shop is None else without_a_year(self.shop, NO_YEAR, "shop"),
            {} if self.bars is None else self.bars.faults(self.slab),
            self._when(),
            self._sizes(),
        )

    @property
    def _left(self) -> float:
        return self.slab.thickness - self.done.planed_top - self.done.planed_bottom

    def _too_wet(self) -> dict[str, Any]:
        told = self.moisture
        if told is None:
            return {}
        wettest = history.wettest(told)
        if not self.seen.told or wettest <= WETTEST_NOW:
            return {}
        return {
            "moisture": [
                f"{wettest:g} given: above {WETTEST_NOW:g} % wood has not begun to shrink, and "
                "what was seen has another cause; tell it without what was seen for a plan"
            ]
        }

    def _when(self) -> dict[str, Any]:
        wrong: dict[str, Any] = {}
        if self.since is not None:
            days = (self.starts - self.since).days
            if not 0 <= days <= LONGEST:
                wrong["since"] = [
                    f"`{self.since}` given: {-days if days < 0 else days} days "
                    f"{'after' if days < 0 else 'before'} starts, `{self.starts}`; write a day up "
                    "to twenty years before it"
                ]
        by = self.wanted.by
        if by is not None and by < self.starts:
            wrong["wanted"] = {"by": [f"`{by}` given: before starts, `{self.starts}`"]}
        return wrong

    def _sizes(self) -> dict[str, Any]:
        width, wrong = self.slab.width, {}
        seen: dict[str, Any] = {}
        if self.seen.cup is not None and abs(self.seen.cup) > MOST_CUP * width:
            seen["cup"] = {
                "amount": [
                    f"{1e3 * abs(self.seen.cup):g} mm given: more than {100 * MOST_CUP:g} % of the "
                    "width"
                ]
            }
        after = self.seen.width_after
        if after is not None and abs(after / width - 1.0) > MOST_MOVED:
            seen["width_after"] = [
                f"{1e3 * after:g} mm given, {1e3 * width:g} mm before: no wood moves by more than "
                "a fifth"
            ]
        if seen:
            wrong["seen"] = seen
        keep = self.wanted.thickness
        if self._left < timber.LEAST_THICKNESS <= self.slab.thickness:
            wrong["done"] = {
                "planed_top": [f"would leave {1e3 * max(self._left, 0.0):.3g} mm of the slab"]
            }
        elif keep is not None and keep > self._left:
            wrong["wanted"] = {
                "thickness": [f"{1e3 * keep:g} mm given: the slab is {1e3 * self._left:g} mm thick"]
            }
        return wrong

    @property
    def story(self) -> Story:
        """The model's story."""
        return Story(
            slab=self.slab,
            starts=self.starts,
            samples=self.samples,
            moisture=None if isinstance(self.moisture, Untold) else self.moisture,
            moisture_before=self.moisture_before,
            room=self.room,
            shop=self.shop,
            since=self.since,
            faces=self.faces,
            finish=self.finish,
            seen=self.seen,
            done=self.done,
            at_hand=self.at_hand,
            wanted=self.wanted,
            bars=None if self.bars is None else self.bars.on(self.slab),
            fastener=self.fastener,
        )


class RepairShape(SpreadShape):
    """A slab, what happened to it, and what it must become; only wood and size are needed."""

    makes: ClassVar[Callable[..., Any]] = Asked
    rule = (
        "give seen of a slab in its place, also where all is well; without it the answer is a "
        "plan from stack to room; since goes with room"
    )

    slab = slab_field("the slab, with the size it had when it was made", required=True)
    starts = starts_field("today")
    seen = Part(RepairSeenShape, "what was seen of it; leave it out before it is in its place")
    done = Part(RepairDoneShape, "what was done to it")
    moisture = moisture_field("moisture content today; through the thickness tells most")
    moisture_before = Moisture(
        "moisture content when it was made, if it was read", low=2.0, high=WETTEST_BEFORE
    )
    room = room_field("the room it lives in, or will; a log must cover a year", year=True)
    since = Date("day it came into that room")
    shop = room_field(
        "where it waits and is worked on; its own room when left out; a log must cover a year",
        year=True,
    )
    faces = Part(FacesShape, "what is on its faces as it lies in use")
    finish = Part(FacesShape, "what is to be on them afterwards; the closer of both when left out")
    at_hand = Part(RepairAtHandShape, "what there is to work with; all of it when left out")
    wanted = Part(RepairWantedShape, "what it must become")
    bars = Part(BarsShape, "bars that hold it, or may")
    fastener = Part(FastenerShape, "what fixes it; a 5 mm screw when left out")

    @validates_schema
    def _in_its_room(self, data: Any, **kwargs: Any) -> None:
        if "since" in data and "room" not in data:
            raise ValidationError("given without a room: tell the room it came into", "since")
