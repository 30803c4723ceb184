"""Moisture of a slab: one number, shell and core, by depth, or as evidence has it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, ClassVar, Final, get_args

from marshmallow import ValidationError, validates_schema

from api.quantities import Length, Moisture, Plain
from api.schema import Choice, Either, Part, Rows, Shape
from api.shapes.slab import THICKNESS, beyond
from api.words import Under
from model.behaviour import slab
from model.behaviour.evidence import Given, Meter, Readings, Story, Untold, Value
from model.behaviour.year import Sorption
from model.codes import Note

# Moisture content [%]: green wood of most species; the model's transport covers free water above
# fibre saturation, and its checks end at 120 % (judgement).
MOISTURE: Final = (0.0, 200.0)
UNKNOWN: Final = {"unknown": {"unknown": "anywhere"}}  # the word alone, and what it stands for
GIVEN_DEPTHS: Final = (3, 100)  # of a profile that an answer gave


@dataclass(frozen=True, slots=True)
class AtDepth:
    """Moisture [%] at a depth from the top face [m]."""

    depth: float
    moisture: float


class DepthShape(Shape):
    """Moisture at a depth."""

    makes = AtDepth

    depth = Length("depth from the top face", low=0.0, high=THICKNESS[1], required=True)
    moisture = Moisture("moisture content there", low=MOISTURE[0], high=MOISTURE[1], required=True)


class ReadValueShape(Shape):
    """A moisture that was read, corrected for the wood."""

    makes = Value

    value = Moisture("the moisture", low=MOISTURE[0], high=MOISTURE[1], required=True)
    error = Plain("its standard deviation in points; usual for the meter when left out",
                  low=0.05, high=20.0)  # fmt: skip
    place = Choice("face it was read on", ("top", "bottom"), load_default="top")
    depth = Length("depth under that face", low=0.0, high=THICKNESS[1])
    meter = Choice("what it was read with", get_args(Meter), load_default="pin")


def _low_to_high(value: float, low: float, high: float) -> tuple[float, float, float]:
    if not low <= value <= high:
        raise ValidationError("value lies between low and high")
    return value, low, high


class MeanGivenShape(Shape):
    """A mean moisture as reading or readiness gave it."""

    makes = staticmethod(_low_to_high)

    value = Moisture("its middle", low=MOISTURE[0], high=MOISTURE[1], required=True)
    low = Moisture("its 10th percentile", low=-50.0, high=MOISTURE[1], required=True)
    high = Moisture("its 90th percentile", low=MOISTURE[0], high=300.0, required=True)


@dataclass(frozen=True, slots=True)
class ProfileGiven:
    """A profile as an answer gave it: depths [m], middle, low and high [%]."""

    depth: tuple[float, ...]
    moisture: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


def _profile(**told: Any) -> ProfileGiven:
    lists = {name: tuple(float(one) for one in values) for name, values in told.items()}
    if len({len(one) for one in lists.values()}) > 1:
        raise ValidationError("depth, moisture, low and high are of one length")
    depth, low, high = lists["depth"], lists["low"], lists["high"]
    if any(second <= first for first, second in pairwise(depth)):
        raise ValidationError("depths rise from the top face down", "depth")
    if any(one > other for one, other in zip(low, high, strict=True)):
        raise ValidationError("low is above high", "low")
    return ProfileGiven(**lists)


class ProfileGivenShape(Shape):
    """A profile as reading or readiness gave it."""

    makes = staticmethod(_profile)

    depth = Length("depths from the top face", low=0.0, high=THICKNESS[1], series=GIVEN_DEPTHS,
                   required=True)  # fmt: skip
    moisture = Moisture("their middle", low=MOISTURE[0], high=MOISTURE[1], series=GIVEN_DEPTHS,
                        required=True)  # fmt: skip
    low = Moisture("their 10th percentile", low=-50.0, high=MOISTURE[1], series=GIVEN_DEPTHS,
                   required=True)  # fmt: skip
    high = Moisture("their 90th percentile", low=MOISTURE[0], high=300.0, series=GIVEN_DEPTHS,
                    required=True)  # fmt: skip


def moisture_of(
    shell: float = 0.0,
    core: float = 0.0,
    depths: tuple[AtDepth, ...] = (),
    values: tuple[Value, ...] = (),
    mean: tuple[float, float, float] | None = None,
    profile: ProfileGiven | None = None,
    untold: Story | None = None,
) -> slab.Moisture:
    """Shell and core, the moistures by depth, what was read, what was given, or nothing known."""
    if untold is not None:
        return Untold(untold)
    if values:
        return Readings(values)
    if profile is not None and mean is not None:
        return Given(mean, profile.depth, profile.moisture, profile.low, profile.high)
    if not depths:
        return slab.ShellCore(shell, core)
    return slab.Depths(tuple(one.depth for one in depths), tuple(one.moisture for one in depths))


_PAIRS: Final = (("shell", "core"), ("mean", "profile"))
_ALONE: Final = ("depths", "values", "unknown")


class MoistureShape(Shape):
    """Moisture that differs through the thickness, or that is known by evidence."""

    makes: ClassVar[Callable[..., Any]] = staticmethod(moisture_of)

    rule = "give shell and core, or depths, or values, or mean and profile, or unknown"

    shell = Moisture("moisture content at both faces", low=MOISTURE[0], high=MOISTURE[1])
    core = Moisture("moisture content in the middle", low=MOISTURE[0], high=MOISTURE[1])
    depths = Rows("moisture by depth, top to bottom", DepthShape, shortest=1, longest=100)
    values = Rows("what was read, with errors", ReadValueShape, shortest=1, longest=100)
    mean = Part(MeanGivenShape, "the mean that reading gave, or readiness as present.mean")
    profile = Part(ProfileGivenShape, "the profile that reading or readiness gave")
    untold = Choice(
        "nothing was read of it, and where it has been: stack (dried outdoors or in a shed), room "
        "(long in a heated room) or anywhere",
        get_args(Story),
        data_key="unknown",
    )

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _one_way(self, data: Any, original: Any, **kwargs: Any) -> None:
        pairs = [[name for name in pair if name in original] for pair in _PAIRS]
        given = [" and ".join(pair) for pair in pairs if pair]
        given += [name for name in _ALONE if name in original]
        if len(given) > 1:
            raise ValidationError(f"{' and '.join(given)} given: give one of both")
        if not given or any(len(pair) == 1 for pair in pairs):
            raise ValidationError(f"incomplete: {self.rule}, or one number")


def moisture_field(meaning: str, **options: Any) -> Either:
    """Field of a moisture: one number, `unknown`, or an object that says it in full."""
    one = Moisture(meaning, low=MOISTURE[0], high=MOISTURE[1])
    return Either(meaning, one, MoistureShape, words=UNKNOWN, **options)


def evidence_notes(asked: object) -> list[Note | Under]:
    """What was made of evidence given for a question's moisture; nothing of plain figures."""
    told: list[Note | Under] = []
    for name in ("moisture", "before", "after"):
        one = getattr(asked, name, None)
        if isinstance(one, Readings | Given | Untold):
            told.append(Under(f"/{name}", one.note))
    return told


def sorption_field() -> Choice:
    """Field of how the wood came to its moisture, which it remembers."""
    return Choice(
        "how the wood came to its moisture: drying down to it, wetting up to it, or unknown, which "
        "lies between; mean follows the one mean sorption curve, without memory, for comparing",
        get_args(Sorption),
        load_default="drying",
        component="Sorption",
    )


def misplaced(moisture: slab.Moisture, thickness: float, name: str = "moisture") -> dict[str, Any]:
    """Faults of the depths of a moisture, a member called `name`, in a slab of a thickness [m]."""
    if isinstance(moisture, Readings):
        deep = {
            index: {"depth": [fault]}
            for index, one in enumerate(moisture.values)
            if one.depth is not None and (fault := beyond(one.depth, thickness))
        }
        return {name: {"values": deep}} if deep else {}
    if isinstance(moisture, Given):
        told = beyond(moisture.depth[-1], thickness)
        return {name: {"profile": {"depth": [told]}}} if told else {}
    if not isinstance(moisture, slab.Depths):
        return {}
    before = (-1.0, *moisture.depth)
    wrong = {
        index: {"depth": [fault]}
        for index, depth in enumerate(moisture.depth)
        if (fault := beyond(depth, thickness) or _not_rising(before[index], depth))
    }
    return {name: {"depths": wrong}} if wrong else {}


def _not_rising(before: float, depth: float) -> str | None:
    if depth > before:
        return None
    return f"{1000 * depth:g} mm given: depths rise from the top face down"
