"""What `/v1/reading` answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError

from api import words
from api.question import Reply
from api.questions.reading.ask import Asked
from api.replies import members
from api.replies.members import Answer
from api.shapes.evidence import PLACES
from api.units import LENGTH, PERCENT
from model.answers import reading
from model.answers.reading import corrected_in
from model.basis import cite
from model.codes import Caution, Note
from model.properties import species
from model.properties.meters import Corrected, Pin
from model.spread import Figure


@dataclass(frozen=True, slots=True)
class OneRead:
    """One reading, corrected.

    pointer : where it stands in the question; figure : its moisture, None outside the range.
    """

    pointer: str
    corrected: Corrected
    figure: Figure | None


@dataclass(frozen=True, slots=True)
class Read:
    """What the readings say.

    pointers : where each stands in the question; banded : whether figures carry their spread.
    """

    found: reading.Answer
    pointers: tuple[str, ...]
    banded: bool

    def told(self, figure: Figure) -> Figure:
        """A figure as asked: without its band when no spread is."""
        return figure if self.banded else figure.alone

    @property
    def readings(self) -> list[OneRead]:
        """Every reading with its pointer."""
        return [
            OneRead(pointer, one, None if one.figure is None else self.told(one.figure))
            for pointer, one in zip(self.pointers, self.found.corrected, strict=True)
        ]


def answer(asked: Asked) -> Reply[Read]:
    """Correct the readings, and say what goes along."""
    everything = asked.everything
    wrong: dict[str, dict[int, list[str]]] = {}
    for pointer, one in everything.items():
        try:
            corrected_in(asked.slab, one)
        except ValueError as error:
            _, name, index = pointer.split("/")
            wrong.setdefault(name, {})[int(index)] = [words.refused(error)]
    if wrong:
        raise ValidationError(wrong)
    found = reading.read(list(everything.values()), asked.slab, asked.age)
    kinds = {one.kind for one in found.corrected}
    resistance = any(isinstance(one, Pin) and one.resistance for one in asked.readings)
    formulas = [
        *(["meter-pin"] if "pin" in kinds else []),
        *(["meter-resistance"] if resistance else []),
        *(["meter-species"] if any(note.code == "species-row" for note in found.notes) else []),
        *(["oven-dry"] if asked.oven_dry else []),
        *(["sample-board"] if asked.sample_boards else []),
        *(["meter-surface"] if "surface" in kinds else []),
        "end-zone",
    ]
    read = Read(found, tuple(everything), asked.samples.draws > 0)
    notes = [*species.meant(asked.slab.species), *found.notes]
    if asked.species is not None:
        notes.insert(0, Note("slab-untold"))
    return Reply(read, notes, _cautions(asked, found), cite(*formulas))


def _cautions(asked: Asked, found: reading.Answer) -> list[Caution]:
    """Of the oven, where one was used or is advised."""
    advised = any(note.code == "species-uncorrected" for note in found.notes)
    return [Caution("oven")] if advised or asked.oven_dry or asked.sample_boards else []


def _of_profile(name: str) -> Any:
    def read(one: Read) -> Any:
        profile = one.found.profile
        return None if profile is None else one.told(getattr(profile, name))

    return read


_TOO_LITTLE = "when no reading of the body is within range"


def _figure(name: str, meaning: str) -> members.Figure:
    return members.Figure(PERCENT, meaning, of=_of_profile(name), left_out=_TOO_LITTLE)


class ReadingUncertaintyRemoved(Answer):
    """How much of the doubt before them the readings removed."""

    core_less_faces = members.Number(PERCENT, of=lambda one: 100.0 * max(one.core_known, 0.0))
    top_less_bottom = members.Number(PERCENT, of=lambda one: 100.0 * max(one.tilt_known, 0.0))


class ReadingProfile(Answer):
    """Moisture through the thickness, from the top down."""

    depth = members.Series(LENGTH)
    moisture = members.Series(PERCENT)
    low = members.Series(PERCENT)
    high = members.Series(PERCENT)


class ReadingCorrected(Answer):
    """One reading, corrected."""

    of_ = members.Text("which reading, as a pointer", of="pointer", named="of")
    kind = members.Word(("pin", "surface", "oven_dry", "sample_board"), of="corrected.kind")
    place = members.Word(PLACES, of="corrected.place")
    range = members.Word(("within", "below", "above"), "of the instrument", of="corrected.range")
    moisture = members.Figure(PERCENT, of="figure", null="outside the instrument's range")
    depth_from = members.Number(LENGTH, "under the top face", of="corrected.depth_from")
    depth_to = members.Number(LENGTH, of="corrected.depth_to")


class ReadingEnds(Answer):
    """What readings of the ends and edges say."""

    moisture = members.Number(PERCENT)
    zone = members.Number(LENGTH, "how deep that is")
    says = members.Text(of=lambda ends: words.reason(ends.says))
    below_slab = members.Number(
        PERCENT, "how far below the body it is", left_out="when the body is not known"
    )


class ReadingNext(Answer):
    """Where to read next."""

    depth = members.Number(LENGTH)
    place = members.Word(PLACES)
    from_end = members.Number(LENGTH)
    reason = members.Text(of=lambda one: words.reason(one.reason))


def _contradicting(one: Read) -> Any:
    profile = one.found.profile
    return None if profile is None else [one.pointers[i] for i in profile.contradicting]


class ReadingAnswer(Answer):
    """What the readings say of the slab."""

    readings = members.Rows(ReadingCorrected)
    next = members.Rows(ReadingNext, of="found.following")
    mean = _figure("mean", "mean moisture through the thickness")
    top = _figure("top", "at the top face")
    core = _figure("core", "in the middle")
    bottom = _figure("bottom", "at the bottom face")
    core_less_faces = _figure("core_less_faces", "middle less the mean of both faces")
    top_less_bottom = _figure("top_less_bottom", "top face less bottom face")
    profile = members.Part(ReadingProfile, of="found.profile", left_out=_TOO_LITTLE)
    uncertainty_removed = members.Part(
        ReadingUncertaintyRemoved, of="found.profile", left_out=_TOO_LITTLE
    )
    contradicting = members.Texts(
        "readings that contradict the others, as pointers", of=_contradicting, left_out=_TOO_LITTLE
    )
    ends = members.Part(ReadingEnds, of="found.ends", left_out="without readings of ends or edges")
