"""What an answer says beside its figures, as codes with figures; no sentences.

Whoever shows an answer has the words: one sentence a code.  A code is short kebab-case, its figures
are in the model's units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, init=False)
class Said:
    """A code with the figures that its sentence tells.

    Attributes
    ----------
    code : str
        Short kebab-case name of what is said.
    told : tuple
        Pairs of name and figure, in the order given; hashable, so that repetitions fall together.

    Examples
    --------
    >>> Said("thread-short", thread=0.02, least=0.03).figures
    {'thread': 0.02, 'least': 0.03}
    """

    code: str
    told: tuple[tuple[str, Any], ...]

    def __init__(self, code: str, /, **figures: Any) -> None:
        object.__setattr__(self, "code", code)
        object.__setattr__(self, "told", tuple(figures.items()))

    @property
    def figures(self) -> dict[str, Any]:
        """The figures by name."""
        return dict(self.told)


class Note(Said):
    """Something an answer assumes, stretches or leans on weakly."""

    __slots__ = ()


class Caution(Said):
    """Something that can hurt someone."""

    __slots__ = ()


class Reason(Said):
    """Why a verdict is what it is."""

    __slots__ = ()


class Refusal(ValueError):  # noqa: N818 - read as what happened
    """What a caller asked that the model cannot answer, as a code with figures.

    Attributes
    ----------
    said : Said
    """

    def __init__(self, code: str, /, **figures: Any) -> None:
        self.said = Said(code, **figures)
        told = ", ".join(f"{name} {value}" for name, value in figures.items())
        super().__init__(f"{code}: {told}" if told else code)
