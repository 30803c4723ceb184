"""Every sentence that an answer says beside its figures: notes, cautions, reasons, refusals.

The model says codes with figures; here each code has its one sentence.  A new code is a line in the
file of its subject: its name: `surroundings`, `wood`, `course`, ...
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from api.words import (
    course,
    diagnosis,
    evidence,
    flattening,
    holding,
    repair,
    surroundings,
    wood,
)
from api.words.sentence import Sentence, filled
from model.codes import Caution, Note, Reason, Refusal, Said

_SUBJECTS: Final = (surroundings, wood, course, holding, flattening, evidence, diagnosis, repair)


def _all(kind: str) -> Mapping[str, Sentence]:
    """The sentences of every subject; a code stands in one of them alone."""
    found: dict[str, Sentence] = {}
    for subject in _SUBJECTS:
        for code, sentence in getattr(subject, kind).items():
            if code in found:
                raise ValueError(f"two sentences for the code {code}")
            found[code] = sentence
    return found


NOTES: Final = _all("NOTES")
CAUTIONS: Final = _all("CAUTIONS")
REASONS: Final = _all("REASONS")
REFUSALS: Final = _all("REFUSALS")


@dataclass(frozen=True, slots=True)
class Told:
    """A note in words.

    rank : 1 bears on the decision, 2 on figures, 3 is background.
    short : the same in a line or two; weak : what it says is weakly known, in a few words; either
        empty if there is none.
    """

    code: str
    rank: int
    pointer: str
    message: str
    source: str
    short: str = ""
    weak: str = ""


@dataclass(frozen=True, slots=True)
class Under:
    """A note that speaks of a part of the question within another: `Under("/stays/0", note)`."""

    place: str
    note: Note


def notes(said: Iterable[Note | Under]) -> list[Told]:
    """Notes in words, each once, those that bear on the decision first."""
    told = dict.fromkeys(_note(one) for one in said)
    return sorted(told, key=lambda one: one.rank)


def _note(said: Note | Under) -> Told:
    note, place = (said.note, said.place) if isinstance(said, Under) else (said, "")
    sentence, figures = NOTES[note.code], note.figures
    pointer = filled(sentence.pointer, figures)
    return Told(
        note.code,
        sentence.rank,
        place + pointer if pointer else place,
        filled(sentence.text, figures),
        filled(sentence.source, figures),
        filled(sentence.short, figures),
        filled(sentence.weak, figures),
    )


def cautions(said: Iterable[Caution]) -> list[str]:
    """Cautions in words, each once, the gravest first."""
    return list(dict.fromkeys(_plain(CAUTIONS, one) for one in _gravest_first(said)))


def short_cautions(said: Iterable[Caution]) -> list[str]:
    """The same, each in a line or two."""
    return list(dict.fromkeys(_short(one) for one in _gravest_first(said)))


def _short(said: Caution) -> str:
    sentence = CAUTIONS[said.code]
    return filled(sentence.short or sentence.text, said.figures)


def _gravest_first(said: Iterable[Caution]) -> list[Caution]:
    return sorted(dict.fromkeys(said), key=lambda one: CAUTIONS[one.code].rank)


def reason(said: Reason) -> str:
    """A reason as a clause: no capital, no full stop."""
    return _plain(REASONS, said)


def refused(error: ValueError) -> Any:
    """What a refusal of the model says to the caller: a text, or texts by the member's name."""
    if not isinstance(error, Refusal):
        return str(error)
    sentence = REFUSALS[error.said.code]
    text = filled(sentence.text, error.said.figures)
    names = filled(sentence.pointer, error.said.figures).strip("/")
    told: Any = [text]
    for name in reversed(names.split("/") if names else ()):
        told = {int(name) if name.isdigit() else name: told}
    return told


def _plain(sentences: Mapping[str, Sentence], said: Said) -> str:
    return filled(sentences[said.code].text, said.figures)
