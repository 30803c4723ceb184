"""What is asked of `/v1/course`."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np
from marshmallow import ValidationError, validates_schema
from numpy.typing import NDArray

from api.quantities import Days, Hours, Length
from api.schema import (
    Choice,
    Date,
    Either,
    Flag,
    Name,
    Part,
    Rows,
    Shape,
    SpreadShape,
    Whole,
    refuse,
    today,
)
from api.shapes.faces import FacesShape
from api.shapes.holding import Bars, BarsShape, CupShape
from api.shapes.moisture import misplaced, moisture_field, sorption_field
from api.shapes.room import RoomShape
from api.shapes.slab import THICKNESS, slab_field
from model.behaviour.slab import Moisture, Slab
from model.behaviour.year import Sorption
from model.properties.finishes import Faces
from model.spread import Samples
from model.surroundings.room import Room

Floats = NDArray[np.float64]

LONGEST: Final = 7310.0  # days; twenty years
MOST_STAYS: Final = 50  # of one course (judgement); a slab in a shop has five or ten
MOST_PROFILES: Final = 50


@dataclass(frozen=True, slots=True)
class Dress:
    """Material planed off each face [m], and whether the cup goes with it."""

    top: float = 0.0
    bottom: float = 0.0
    flat: bool = False


@dataclass(frozen=True, slots=True)
class WetFace:
    """A face kept wet from the start of a stay on, for so many hours."""

    face: Literal["top", "bottom"]
    hours: float


@dataclass(frozen=True, slots=True)
class StayTold:
    """A stay as told: what is left out is that of the stay before."""

    turned: bool
    held: Literal["free", "flat"] | Bars
    name: str | None = None
    room: Room | None = None
    days: float | None = None
    from_date: datetime.date | None = None
    to_date: datetime.date | None = None
    faces: Faces | None = None
    dress: Dress | None = None
    wet_face: WetFace | None = None

    def __post_init__(self) -> None:
        begins, ends = self.from_date, self.to_date
        if begins is not None and ends is not None and ends <= begins:
            raise ValidationError(f"`{ends}` given: not later than from_date, {begins}", "to_date")

    @property
    def lasts(self) -> float:
        """How long it is [days]."""
        if self.days is not None:
            return self.days
        assert self.from_date is not None
        assert self.to_date is not None
        return float((self.to_date - self.from_date).days)


class DressShape(Shape):
    """Material planed off at the start of a stay."""

    makes = Dress

    top = Length("depth planed off the top", low=0.0, high=THICKNESS[1], load_default=0.0)
    bottom = Length("depth planed off the bottom", low=0.0, high=THICKNESS[1], load_default=0.0)
    flat = Flag("whether its cup is planed away too, so that it starts flat", load_default=False)


class WetFaceShape(Shape):
    """A face kept wet from the start of a stay on."""

    makes = WetFace

    face = Choice("which face", ("top", "bottom"), required=True)
    hours = Hours("for how long", low=0.05, high=30.0 * 24.0, required=True)


class StayShape(Shape):
    """One stay of a slab."""

    makes = StayTold
    rule = "give days, or from_date and to_date"

    name = Name("what to call it")
    room = Part(RoomShape, "the air it lies in; that of the stay before when left out")
    days = Days("how long it lasts; or give from_date and to_date", low=0.01, high=LONGEST)
    from_date = Date("day it begins")
    to_date = Date("day it ends")
    faces = Part(
        FacesShape, "what is on its faces; as in the stay before, at first bare, when left out"
    )
    turned = Flag(
        "whether it lies upside down: what faces says of the top then meets its bottom face, and "
        "everything else keeps the slab's own top and bottom",
        load_default=False,
    )
    held = Either(
        "how it is held: free, clamped flat, or by straight bars across it",
        Choice("how it is held", ("free", "flat")),
        BarsShape,
        load_default="free",
    )
    dress = Part(DressShape, "material planed off at its start")
    wet_face = Part(WetFaceShape, "a face wetted at its start")

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _how_long(self, data: Any, original: Any, **kwargs: Any) -> None:
        dated = [name for name in ("from_date", "to_date") if name in original]
        if "days" in original and dated:
            raise ValidationError(f"days and {' and '.join(dated)} given: give one of both")
        if "days" not in original and len(dated) < 2:
            raise ValidationError(
                "how long it lasts is missing: give days, or from_date and to_date"
            )


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab, its moisture, and where it goes."""

    slab: Slab
    moisture: Moisture
    stays: tuple[StayTold, ...]
    rows: int
    samples: Samples
    cup: float = 0.0
    sorption: Sorption = "drying"
    starts: datetime.date | None = None
    profiles: Floats | float = field(default_factory=lambda: np.empty(0))

    def __post_init__(self) -> None:
        refuse(misplaced(self.moisture, self.slab.thickness))
        if self.lasts > LONGEST:
            raise ValidationError(
                f"{self.lasts:g} days in all: at most {LONGEST:g}, 20 years", "stays"
            )

    @property
    def lasts(self) -> float:
        """How long all stays are together [days]."""
        return sum(stay.lasts for stay in self.stays)

    @property
    def passed(self) -> Floats:
        """Days of the course at which each stay begins, and at which the last ends."""
        return np.concatenate(([0.0], np.cumsum([stay.lasts for stay in self.stays])))

    @property
    def profile_days(self) -> list[float]:
        """Days whose moisture through the thickness is wanted."""
        asked = np.atleast_1d(self.profiles)
        if asked.size > MOST_PROFILES:
            raise ValidationError(
                f"{asked.size:,} days given: at most {MOST_PROFILES} profiles", "profiles"
            )
        wrong = {
            index: [f"{day:g} given: the course lasts {self.lasts:g} days"]
            for index, day in enumerate(asked.tolist())
            if day > self.lasts * (1.0 + 1e-9)
        }
        if wrong:
            raise ValidationError({"profiles": wrong})
        return [min(float(day), self.lasts) for day in asked]


class CourseShape(SpreadShape):
    """A slab, its moisture, and where it goes."""

    makes = Asked

    slab = slab_field("the slab, with the size it has at the start", required=True)
    moisture = moisture_field("moisture content at the start", required=True)
    cup = Part(CupShape, "cup it has at the start, free of stress; flat when left out")
    sorption = sorption_field()
    starts = Date(
        "day the first stay begins; when left out it is as the dates of the stays or a log of "
        "theirs say, else today (UTC)"
    )
    stays = Rows(
        "its stays, in order of time", StayShape, shortest=1, longest=MOST_STAYS, required=True
    )
    profiles = Days(
        "days of the course whose moisture through the thickness is wanted",
        low=0.0,
        high=LONGEST,
        lists=True,
    )
    rows = Whole("most rows of the series; extremes are kept", low=20, high=5000, load_default=400)

    @validates_schema
    def _starts_today(self, data: Any, **kwargs: Any) -> None:
        stays = [one.made for one in data["stays"]]
        if not any(stay.from_date or (stay.room and stay.room.is_log) for stay in stays):
            data.setdefault("starts", today())
