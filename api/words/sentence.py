"""How a sentence is filled with its figures."""

from __future__ import annotations

import string
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from api.replies.text import MONTHS, chance
from api.units import INCH, POUND


@dataclass(frozen=True, slots=True)
class Sentence:
    """The words of a code.

    text : plain words with figures in braces, as `{thread:size}`; or a function of the figures by
        name where one form will not do.
    pointer : part of the question it speaks of (JSON pointer), figures in braces allowed; empty for
        all of it.
    source : published source or basis of what it says.
    rank : how much it bears on what somebody does next: 1 on the decision, 2 on figures, 3 is
        background.  A short text keeps the notes of rank 1 and every caution.
    short : the same in a line or two, for a short text; empty where it is so short itself.
    weak : what a note says is weakly known, in a few words: a short text names it in its line of
        these, in place of the note.
    """

    text: str | Callable[..., str]
    pointer: str | Callable[..., str] = ""
    source: str = ""
    rank: int = 2
    short: str = ""
    weak: str = ""


def size(metres: float) -> str:
    """A length in both systems.

    >>> size(0.0254), size(0.0031)
    ('25 mm (1 in)', '3.1 mm (0.12 in)')
    """
    millimetres, inches = 1e3 * metres, metres / INCH
    if millimetres < 10.0:
        return f"{millimetres:.1f} mm ({inches:.2g} in)"
    return f"{millimetres:.0f} mm ({inches:.3g} in)"


def warmth(celsius: float) -> str:
    """A temperature in both systems.

    >>> warmth(20.0), warmth(-10.0)
    ('20 °C (68 °F)', '-10 °C (14 °F)')
    """
    return f"{celsius:.4g} °C ({1.8 * celsius + 32.0:.3g} °F)"


def warmer(kelvin: float) -> str:
    """A difference of temperature in both systems.

    >>> warmer(3.0)
    '3 °C (5.4 °F)'
    """
    return f"{kelvin:.4g} °C ({1.8 * kelvin:.3g} °F)"


def weight(kilograms: float) -> str:
    """A weight in both systems: `60 kg (132 lb)`."""
    return f"{kilograms:.0f} kg ({kilograms / POUND:.0f} lb)"


def counted(months: int) -> str:
    """So many months."""
    return f"{months} month" if months == 1 else f"{months} months"


def listed(texts: Any) -> str:
    """Words one after the other: `a, b, c`."""
    return ", ".join(str(one) for one in texts)


KINDS: Final[Mapping[str, Callable[[Any], str]]] = {
    "size": size,
    "warmth": warmth,
    "warmer": warmer,
    "weight": weight,
    "end_zone": lambda metres: f"{metres * 1000:.0f} mm ({metres / INCH:.0f} in)",
    "list": listed,
    "chance": chance,
    "share": lambda share: f"{100.0 * share:.0f} %",
    "megapascal": lambda pascal: f"{pascal / 1e6:.0f} MPa",
    "months": counted,
    "month": lambda number: MONTHS[number - 1],
    "by_name": lambda numbers: listed(MONTHS[number - 1] for number in numbers),
}


class _Filling(string.Formatter):
    """`str.format` that knows the kinds of figure above beside Python's own."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """A figure as its kind is told."""
        kind = KINDS.get(format_spec)
        return kind(value) if kind else str(super().format_field(value, format_spec))


_FILLING: Final = _Filling()


def filled(text: str | Callable[..., str], figures: Mapping[str, Any]) -> str:
    """A sentence with its figures.

    >>> filled("at least {least:size}", {"least": 0.00794})
    'at least 7.9 mm (0.31 in)'
    """
    if callable(text):
        return text(**figures)
    return _FILLING.vformat(text, (), figures) if "{" in text else text
