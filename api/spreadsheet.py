"""A table as a spreadsheet writes it, and back in the same way, safe to open in one.

What parts the columns (comma, semicolon, tab), a byte order mark, the ends of lines and decimal
commas are kept as they came.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

_DECIMAL_COMMA: Final = re.compile(r"(?<=\d),(?=\d)")
_FIGURE: Final = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
# Where a cell begins so, a spreadsheet may run it as a formula.
_RUN: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff0b", "\uff0d", "\uff1d", "\uff20")


class Unreadable(ValueError):  # noqa: N818 - read as what happened
    """A text that is no table, with the line."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as it was written.

    heads : names of the columns; rows : their cells as written, with the line each stands in.
    delimiter, ending : what parts columns and lines; marked : whether a byte order mark was there.
    """

    heads: Sequence[str]
    rows: Sequence[tuple[int, Sequence[str]]]
    delimiter: str
    ending: str
    marked: bool


def read(text: str) -> Sheet:
    """The table of a csv text (RFC 4180); raises Unreadable.

    Columns are parted by what stands most often in the first line: comma, semicolon or tab. Lines
    without anything are passed over.
    """
    marked = text.startswith("\ufeff")
    text = text.removeprefix("\ufeff")
    first = text.partition("\n")[0]
    delimiter = max((",", ";", "\t"), key=first.count)
    table = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[int, list[str]]] = []
    before = 0
    try:
        for cells in table:
            if cells:
                rows.append((before + 1, cells))
            before = table.line_num
    except csv.Error as error:
        raise Unreadable(f"line {before + 1}: {error}; it is not csv as RFC 4180 has it") from None
    if not rows:
        raise Unreadable("nothing stands in it")
    ending = "\r\n" if first.endswith("\r") else "\n"
    return Sheet(rows[0][1], rows[1:], delimiter, ending, marked)


def write(sheet: Sheet, rows: Iterable[Sequence[str]]) -> str:
    """Rows of cells as csv, in the way of a sheet; its head is the first of them."""
    line = io.StringIO(newline="")
    # It quotes a cell that holds a character of the ends of its lines: of both kinds, so.
    writer = csv.writer(line, delimiter=sheet.delimiter, lineterminator="\r\n")
    parts = ["\ufeff"] if sheet.marked else []
    for row in rows:
        line.seek(0)
        line.truncate()
        writer.writerow([harmless(cell) for cell in row])
        parts += line.getvalue().removesuffix("\r\n"), sheet.ending
    return "".join(parts)


def harmless(cell: str) -> str:
    """A cell that no spreadsheet runs: a text that it might gets an apostrophe before it.

    >>> harmless("=1+1"), harmless("-0.25"), harmless("elm")
    ("'=1+1", '-0.25', 'elm')
    """
    if cell.startswith(_RUN) and not _FIGURE.fullmatch(cell):
        return f"'{cell}"
    return cell


def with_point(cell: str) -> str:
    """A figure with its decimal comma as a point.

    >>> with_point("34,5 in"), with_point("34.5"), with_point("1.234,5")
    ('34.5 in', '34.5', '1.234.5')
    """
    return _DECIMAL_COMMA.sub(".", cell)
