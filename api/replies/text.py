"""A reply as text for an 80-column terminal.

Short: the decision, the rows that decide, what was assumed, the weakest points and every caution,
on a page.  Full: every figure, note and source.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final, Protocol

from api.units import INCH, LENGTH, Dimension, System
from model.spread import Figure

WIDTH: Final = 80  # columns
SHORT_LINES: Final = 32  # of a short text: a screen, or half a sheet of paper
_MORE: Final = "detail=full"
_ALL: Final = f"All figures, notes and sources: {_MORE}."
MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
SHOP_FRACTION: Final = 32  # parts of an inch on a shop rule


@dataclass(frozen=True, slots=True)
class Rows:
    """An aligned table: optional title and heads, rows of texts; a row may be shorter."""

    rows: Sequence[Sequence[str]]
    title: str = ""
    heads: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Numbered:
    """Steps, numbered from 1, under a title."""

    items: Sequence[str]
    title: str = ""


Block = Rows | Numbered | str


@dataclass(frozen=True, slots=True)
class Page:
    """A text reply: the decision in a sentence or two, then tables and paragraphs in order.

    short : the parts that decide, which a short text keeps; None is all of them.  Rows that do not
        fit are counted, paragraphs always stay.
    said : codes of notes that the decision says already; a short text does not repeat them.
    lines : what a short text may have.
    """

    decision: str
    parts: Sequence[Block] = field(default_factory=tuple)
    short: Sequence[Block] | None = None
    said: Collection[str] = ()
    lines: int = SHORT_LINES


@dataclass(frozen=True, slots=True)
class Where:
    """The places that a text speaks of, and the credit due for them."""

    places: Sequence[str] = ()
    credit: Sequence[str] = ()


class Noted(Protocol):
    """A note in words."""

    @property
    def code(self) -> str:
        """Its name."""

    @property
    def message(self) -> str:
        """What it says."""

    @property
    def short(self) -> str:
        """The same in a line or two; empty if it is so short itself."""

    @property
    def source(self) -> str:
        """Where it is from; empty if nowhere."""

    @property
    def rank(self) -> int:
        """1 bears on the decision, 2 on figures, 3 is background."""

    @property
    def weak(self) -> str:
        """What it names as weak, in a few words; empty if nothing."""


def write(
    page: Page,
    notes: Sequence[Noted],
    cautions: Sequence[str],
    basis: Sequence[str],
    where: Where = Where(),
) -> str:
    """All of a page, with cautions, notes and sources, no line longer than 80 columns."""
    blocks = [wrapped(page.decision)]
    if where.places:
        blocks.append(wrapped(_place(where.places)))
    blocks += [_rendered(part) for part in page.parts]
    blocks += [wrapped(text) for text in where.credit]
    if cautions:
        blocks.append(_listed("Take care", cautions))
    if notes:
        blocks.append(_listed("Notes", [_note(note) for note in notes]))
    if basis:
        blocks.append(wrapped("Leans on: " + "; ".join(basis) + "."))
    return "\n\n".join(blocks) + "\n"


def brief(
    page: Page,
    notes: Sequence[Noted],
    cautions: Sequence[str],
    where: Where = Where(),
) -> str:
    """A page on few lines: what decides, what was assumed, what is weak, and every caution.

    Of the notes those of rank 1 stay; one that names a weak point is named in the line of these
    alone.  What does not fit is counted: rows of a table, then notes.  Decision, place, cautions
    and the paragraphs of the page stay whatever their length.

    cautions : in their short form.
    """
    parts = page.parts if page.short is None else page.short
    bearing = [
        note.short or note.message
        for note in notes
        if note.rank == 1 and not note.weak and note.code not in page.said
    ]
    bearing = list(dict.fromkeys(bearing))
    head = wrapped(page.decision)
    if where.places:
        head += "\n" + _short_place(where.places)
    end = [_ending(list(dict.fromkeys(note.weak for note in notes if note.weak)), where.credit)]
    if cautions:
        end.insert(0, _listed("Take care", cautions))
    room = page.lines - sum(map(_tall, [head, *end])) + 1
    figures, assumed = _fitted(parts, bearing, room)
    return "\n\n".join([head, *figures, *assumed, *end]) + "\n"


def _fitted(
    parts: Sequence[Block], bearing: Sequence[str], room: int
) -> tuple[list[str], list[str]]:
    """Tables and notes within so many lines, blank ones among them; notes get a third at least."""
    every = sum(map(_tall, map(_rendered, parts)))
    few = sum(map(_tall, _cut(parts, room // 3)))
    of_notes = sum(_tall(_bullet(text)) - 1 for text in bearing) + 2
    for_notes = min(max(room - every, min(of_notes, room // 3)), room - few)
    assumed = _some_of(bearing, for_notes)
    return _cut(parts, room - sum(map(_tall, assumed))), assumed


def _cut(parts: Sequence[Block], room: int) -> list[str]:
    """Parts within so many lines; the longest table gives up rows first, and says how many."""
    kept = [len(part.rows) if isinstance(part, Rows) else 0 for part in parts]
    over = sum(map(_tall, map(_rendered, parts))) - room
    while over > 0 and max(kept, default=0) > 0:
        longest = kept.index(max(kept))
        part = parts[longest]
        assert isinstance(part, Rows)
        before = _lines_of(part, kept[longest])
        kept[longest] -= 2 if kept[longest] == len(part.rows) else 1
        kept[longest] = max(0, kept[longest])
        over -= before - _lines_of(part, kept[longest])
    return [_first_of(part, rows) for part, rows in zip(parts, kept, strict=True)]


def _lines_of(part: Rows, kept: int) -> int:
    """Lines of a table of which so many rows are kept; a line counts those that are not."""
    if not kept:
        return 1
    heads = bool(part.title) + any(part.heads or ())
    return heads + kept + (kept < len(part.rows))


def _first_of(part: Block, kept: int) -> str:
    """A part; of a table the first rows, and how many more there are."""
    if not isinstance(part, Rows) or kept == len(part.rows):
        return _rendered(part)
    more = len(part.rows) - kept
    if not kept:
        return f"{part.title or 'Figures'}: {counted(more, 'row')}"
    return f"{table(replace(part, rows=part.rows[:kept]))}\n  and {counted(more, 'more row')}"


def _some_of(bearing: Sequence[str], room: int) -> list[str]:
    """As many notes as so many lines hold, and how many more there are; empty without any."""
    told: list[str] = []
    used = 2  # the blank line and the title
    for i, text in enumerate(bearing):
        used += _tall(_bullet(text)) - 1
        if used + (i < len(bearing) - 1) > room:
            break
        told.append(text)
    left_out = len(bearing) - len(told)
    if not told:
        return [f"Assumed, and worth knowing: {counted(left_out, 'note')}"] if left_out else []
    more = [counted(left_out, "more")] if left_out else []
    return [_listed("Assumed, and worth knowing", [*told, *more])]


def counted(left_out: int, what: str) -> str:
    """How many of something a short text leaves out, and where they are.

    >>> counted(1, "more row"), counted(1200, "more row"), counted(3, "more")
    ('1 more row: detail=full', '1,200 more rows: detail=full', '3 more: detail=full')
    """
    plural = "s" if left_out > 1 and what != "more" else ""
    return f"{left_out:,} {what}{plural}: {_MORE}"


def _tall(block: str) -> int:
    """Lines of a block with the blank one beside it."""
    return block.count("\n") + 2


def _ending(weak: Sequence[str], credit: Sequence[str]) -> str:
    """The weakest points in a line, the credit due, and where all the rest is."""
    told = [wrapped(text) for text in credit]
    if weak:
        told.insert(0, _least_sure(weak))
    return "\n".join([*told, _ALL])


def _least_sure(weak: Sequence[str]) -> str:
    """As many weak points as a line holds, and how many more there are."""
    for count in range(len(weak), 0, -1):
        rest = len(weak) - count
        told = f"Least sure: {'; '.join([*weak[:count], *([f'and {rest} more'] if rest else [])])}."
        if len(told) <= WIDTH:
            break
    return wrapped(told)


def _place(places: Sequence[str]) -> str:
    return f"Place: {'; '.join(places)}."


def _short_place(places: Sequence[str]) -> str:
    """The first places, on two lines at most, and how many more there are."""
    for count in range(len(places), 0, -1):
        rest = len(places) - count
        named = [*places[:count], *([f"and {rest} more"] if rest else [])]
        told = wrapped(_place(named))
        if told.count("\n") < 2:
            return told
    return told


def _rendered(part: Block) -> str:
    if isinstance(part, Rows):
        return table(part)
    if isinstance(part, Numbered):
        return _numbered(part)
    return wrapped(part)


def _numbered(part: Numbered) -> str:
    digits = len(str(len(part.items)))
    told = [part.title] if part.title else []
    for number, text in enumerate(part.items, 1):
        first = f"{number:>{digits}}. "
        told.append(
            textwrap.fill(
                text,
                WIDTH,
                initial_indent=first,
                subsequent_indent=" " * len(first),
                break_on_hyphens=False,
            )
        )
    return "\n".join(told)


def _listed(title: str, texts: Sequence[str]) -> str:
    return f"{title}\n" + "\n".join(_bullet(text) for text in dict.fromkeys(texts))


def wrapped(text: str) -> str:
    """A paragraph within 80 columns."""
    return textwrap.fill(text, WIDTH, break_on_hyphens=False)


def _bullet(text: str) -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent="- ",
        subsequent_indent="  ",
        break_on_hyphens=False,
    )


def _note(note: Noted) -> str:
    return f"{note.message} [{note.source}]" if note.source else note.message


def table(part: Rows) -> str:
    """Columns two blanks apart: the first to the left, the others to the right; none empty.

    Where the widest line would not fit they are one blank apart.

    >>> print(table(Rows([("width", "34 in"), ("thickness", "2 in")])))
      width      34 in
      thickness   2 in
    """
    lines = [list(part.heads)] if any(part.heads or ()) else []
    lines += [list(row) for row in part.rows]
    used = [i for i in range(max(map(len, lines))) if any(i < len(r) and r[i] for r in part.rows)]
    lines = [[line[i] if i < len(line) else "" for i in used] for line in lines]
    columns = len(used)
    widths = [max(len(line[i]) if i < len(line) else 0 for line in lines) for i in range(columns)]
    gap = "  " if 2 + sum(widths) + 2 * (columns - 1) <= WIDTH else " "
    out = [part.title] if part.title else []
    for line in lines:
        cells = [
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(line, widths, strict=False))
        ]
        out.append("  " + gap.join(cells).rstrip())
    return "\n".join(out)


def shop_fraction(inches: float) -> str:
    """Inches as a shop reads them, to the nearest 1/32.

    >>> shop_fraction(34.51), shop_fraction(0.30), shop_fraction(0.004), shop_fraction(2.0)
    ('34 1/2', '5/16', '0', '2')
    """
    parts = round(abs(inches) * SHOP_FRACTION)
    whole, rest = divmod(parts, SHOP_FRACTION)
    sign = "-" if inches < 0 and parts else ""
    if not rest:
        return f"{sign}{whole}"
    fraction = Fraction(rest, SHOP_FRACTION)
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"


def fixed(value: float, decimals: int, *, signed: bool = False) -> str:
    """A figure to so many decimals; one that rounds to zero has no sign.

    >>> fixed(-0.04, 1), fixed(-0.06, 1), fixed(0.06, 1, signed=True), fixed(0.04, 1, signed=True)
    ('0.0', '-0.1', '+0.1', '0.0')
    """
    text = f"{value:{'+' if signed else ''}.{decimals}f}"
    return text if text.strip("+-0.") else text.lstrip("+-")


def length(metres: float, system: System, *, signed: bool = False) -> str:
    """A length as it is read in the shop: `865.2 mm`, or `34 1/2 in (34.512)`.

    >>> length(0.00794, "us"), length(0.00794, "metric")
    ('5/16 in (0.313)', '7.9 mm')
    >>> length(-0.00794, "us", signed=True), length(0.0003, "us", signed=True)
    ('-5/16 in (-0.313)', '0 in (+0.012)')
    """
    if system == "us":
        inches = metres / INCH
        fraction = shop_fraction(inches)
        plus = "+" if signed and inches > 0.0 and fraction != "0" else ""
        return f"{plus}{fraction} in ({fixed(inches, 3, signed=signed)})"
    return f"{fixed(metres * 1000, 1, signed=signed)} mm"


def short_length(metres: float, system: System) -> str:
    """A length for a sentence: `8 mm` or `5/16 in`."""
    if system == "us":
        return f"{shop_fraction(metres / INCH)} in"
    millimetres = metres * 1000
    return fixed(millimetres, 0 if abs(millimetres) >= 2 else 1) + " mm"


def is_nothing(metres: float, system: System) -> bool:
    """Whether a length of a sentence comes out as none at all.

    >>> is_nothing(0.0003, "us"), is_nothing(0.0003, "metric")
    (True, False)
    """
    return short_length(metres, system).split()[0] in {"0", "0.0"}


def amount(value: float, dimension: Dimension, system: System, decimals: int = 1) -> str:
    """A figure with its unit: `69.8 °F`, `7.2 %`."""
    if dimension is LENGTH:
        return length(value, system)
    unit = dimension.of_system[system]
    return f"{fixed(value / unit.factor + unit.zero, decimals)} {unit.symbol}"


def spread(value: Figure, dimension: Dimension, system: System, decimals: int = 1) -> str:
    """The band of a figure without its unit: `6.1 to 8.3`; empty if it has none.

    Two ends that are the same fraction of an inch are told in decimals, and two that are the same
    in these as well are one.

    >>> spread(Figure(0.0381, 0.0378, 0.0384), LENGTH, "us")
    '1.488 to 1.512'
    >>> spread(Figure(0.0, 0.0, 0.0), LENGTH, "metric")
    '0.0'
    """
    if value.low is None or value.high is None:
        return ""
    unit = dimension.of_system[system]
    low, high = (bound / unit.factor + unit.zero for bound in (value.low, value.high))
    if dimension is LENGTH and system == "us":
        ends = shop_fraction(low), shop_fraction(high)
        if ends[0] != ends[1]:
            return f"{ends[0]} to {ends[1]}"
        decimals = 3
    ends = fixed(low, decimals), fixed(high, decimals)
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def up_to(value: Figure, system: System) -> str:
    """A length for a sentence with its upper end: `1/8 in (up to 3/16 in)`.

    >>> up_to(Figure(0.0, 0.0, 0.002), "metric"), up_to(Figure(0.003), "metric")
    ('up to 2 mm', '3 mm')
    >>> up_to(Figure(0.0, 0.0, 0.00001), "metric")
    '0.0 mm'
    """
    told = short_length(value.value, system)
    most = told if value.high is None else short_length(value.high, system)
    if most == told:
        return told
    return f"up to {most}" if is_nothing(value.value, system) else f"{told} (up to {most})"


def duration(days: float, low: float | None = None, high: float | None = None) -> str:
    """A time in words a person plans with.

    >>> duration(36, 20, 72), duration(36, 1, 72), duration(3), duration(0.3), duration(400)
    ('about 5 weeks, 3 to 10', 'about 5 weeks, up to 10', 'about 3 days', 'less than a day',
    'about 13 months')
    """
    size, one, many = _step(days)
    if days < 1:
        words = "less than a day"
        return words if high is None or high < 1 else f"{words}, up to {duration(high)[6:]}"
    count = round(days / size)
    words = f"about {count} {one if count == 1 else many}"
    if low is None or high is None:
        return words
    ends = round(low / size), round(high / size)
    if ends[0] == ends[1] == count:
        return words
    return f"{words}, {ends[0]} to {ends[1]}" if ends[0] else f"{words}, up to {ends[1]}"


def open_duration(figure: Figure) -> str:
    """A time in words; an open end is said.

    >>> open_duration(Figure(36.0, 20.0, float("inf")))
    'about 5 weeks, 3 or more'
    """
    if figure.high is None or figure.low is None:
        return duration(figure.value)
    if math.isfinite(figure.high):
        return duration(figure.value, figure.low, figure.high)
    size = _step(figure.value)[0]
    return f"{duration(figure.value)}, {round(figure.low / size)} or more"


def band(figure: Figure, decimals: int = 1) -> str:
    """Both ends of a figure: `6.1 to 8.3`; empty if it has none."""
    if figure.low is None or figure.high is None:
        return ""
    return f"{figure.low:.{decimals}f} to {figure.high:.{decimals}f}"


def percent(figure: Figure) -> str:
    """A percent with its band: `7.9 % (6.1 to 8.3)`."""
    ends = band(figure)
    return f"{figure.value:.1f} %" + (f" ({ends})" if ends else "")


def chance(share: float) -> str:
    """A chance in percent, as sure as it is.

    >>> chance(0.002), chance(0.163), chance(0.998)
    ('under 1 %', '16 %', 'over 99 %')
    """
    if share < 0.01:
        return "under 1 %"
    return "over 99 %" if share > 0.99 else f"{100.0 * share:.0f} %"


def about_day(day: float) -> str:
    """When something comes, in days from the start.

    >>> about_day(0.3), about_day(82.4)
    ('on the first day', 'about day 82')
    """
    return "on the first day" if day < 1.0 else f"about day {day:.0f}"


def _step(days: float) -> tuple[float, str, str]:
    """Days to 2 weeks, weeks to 6 months, months to 2 years and a half, then years."""
    if days < 14:
        return 1.0, "day", "days"
    if days < 183:
        return 7.0, "week", "weeks"
    if days < 913:
        return 30.44, "month", "months"
    return 365.2425, "year", "years"


def month(number: int) -> str:
    """Name of a month, 1 to 12."""
    return MONTHS[number - 1]
