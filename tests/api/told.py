"""A text read as a reader would: rows by their names, sentences by their words, inches in parts."""

from __future__ import annotations

import re
from typing import Any, Final

import pytest

from api.replies.text import Numbered, Page, Rows

NUMBER: Final = re.compile(r"[-+]?(?:\d+ \d+/\d+|\d+/\d+|\d[\d,]*\.?\d*)")
UNIT: Final = re.compile(r"\b(?:[A-Za-z]+/)?[A-Za-z]+\d\b")  # of which a digit is part: in4, kN/m2
DAYS: Final = {"day": 1.0, "week": 7.0, "month": 30.44, "year": 365.2425}


def figure(written: str) -> float:
    """A number as written: `-1 31/32`, `12,594`, `0.173`."""
    sign = -1.0 if written.startswith("-") else 1.0
    whole = 0.0
    for part in written.lstrip("+-").split():
        above, _, below = part.partition("/")
        whole += float(above.replace(",", "")) / float(below or 1)
    return sign * whole


def half(written: str, cell: str) -> float:
    """Half of the last digit of a number, or of the 1/32 in that a rule shows."""
    if "." in written:
        return float(0.5 * 10.0 ** -len(written.partition(".")[2]))
    return 1.0 / 64.0 if re.search(r"\d/\d| in\b", cell) else 0.5


def agrees(cell: str, *values: float) -> None:
    """A cell tells these values, as exactly as it is written; the JSON has a digit more."""
    told = [str(one) for one in NUMBER.findall(UNIT.sub("", cell))]
    if re.search(r"\d in \(", cell):  # 5/16 in (0.313): one value twice
        values = tuple(one for one in values for _ in range(2))
    if len(told) == 1 and len(values) == 2:  # two ends that come out alike are told once
        told *= 2
    assert len(told) == len(values), (cell, values)
    for written, value in zip(told, values, strict=True):
        assert figure(written) == pytest.approx(value, abs=1.11 * half(written, cell)), cell


def agrees_as_chance(cell: str, share: float) -> None:
    if share < 0.01 or share > 0.99:
        assert cell == ("under 1 %" if share < 0.01 else "over 99 %")
    else:
        agrees(cell, 100.0 * share)


def agrees_as_time(cell: str, days: Any) -> None:
    """`about 9 weeks, 5 to 15` tells days."""
    middle = middle_of(days)
    if middle < 1.0:
        assert cell.startswith("less than a day")
        return
    found = re.fullmatch(r"about (\d+) (day|week|month|year)s?(?:, (.*))?", cell)
    assert found is not None, cell
    step = DAYS[found[2]]
    agrees(found[1], middle / step)
    low, high = ends_of(days) or (middle, middle)
    if found[3] is None:
        assert round(low / step) == round(high / step) == int(found[1])
    elif found[3].startswith("up to"):
        agrees(found[3], high / step)
    elif found[3].endswith("or more"):
        assert high is None
        agrees(found[3], low / step)
    else:
        agrees(found[3], low / step, high / step)


def middle_of(told: Any) -> Any:
    return told["value"] if isinstance(told, dict) else told


def ends_of(told: Any) -> tuple[Any, ...]:
    return (told["low"], told["high"]) if isinstance(told, dict) else ()


def signed(cup: dict[str, Any]) -> Any:
    """A cup with edges up positive."""
    way = -1.0 if cup["shape"] == "edges down" else 1.0
    amount = cup["amount"]
    if not isinstance(amount, dict):
        return way * amount
    low, high = sorted((way * amount["low"], way * amount["high"]))
    return {"value": way * amount["value"], "low": low, "high": high}


class Reader:
    """A page and the answer that it tells of; what of its tables was read."""

    def __init__(self, page: Page, reply: dict[str, Any]) -> None:
        self.page = page
        self.answer = reply["answer"]
        self.asked = reply["asked"]
        self.tables = [part for part in page.parts if isinstance(part, Rows)]
        self.read: set[tuple[int, int, int]] = set()
        texts = [part for part in page.parts if isinstance(part, str)]
        steps = [one for part in page.parts if isinstance(part, Numbered) for one in part.items]
        self.prose = " ".join([page.decision, *texts, *steps])

    def number(self, title: str) -> int:
        """Which table has a title that begins so; the first of those without one."""
        found = [n for n, one in enumerate(self.tables) if one.title.startswith(title)]
        assert len(found) == 1 or not title, title
        return found[0]

    def rows(self, title: str) -> list[list[str]]:
        return [list(row) for row in self.tables[self.number(title)].rows]

    def cell(self, title: str, row: int, column: int) -> str:
        """A cell, which counts as read."""
        number = self.number(title)
        self.read.add((number, row, column))
        return self.tables[number].rows[row][column]

    def at(self, title: str, name: str) -> int:
        """Which row has a name that begins so."""
        names = [row[0] for row in self.rows(title)]
        [row] = [number for number, one in enumerate(names) if one.strip().startswith(name)]
        return row

    def row(self, title: str, name: str, told: Any, *, of: int = 1, likely: int = 2) -> None:
        """A row tells a figure, and the ends of its band where it has one."""
        row = self.at(title, name)
        agrees(self.cell(title, row, of), middle_of(told))
        cells = self.rows(title)[row]
        if len(cells) > likely and cells[likely] and ends_of(told):
            agrees(self.cell(title, row, likely), *ends_of(told))
        else:
            assert not ends_of(told), (name, told)

    def says(self, pattern: str, *values: float) -> None:
        """Sentences tell these values where the pattern has groups."""
        found = re.search(pattern, self.prose)
        assert found is not None, (pattern, self.prose)
        for cell, value in zip(found.groups(), values, strict=True):
            agrees(cell, value)

    def said(self, pattern: str) -> str:
        found = re.search(pattern, self.prose)
        assert found is not None, (pattern, self.prose)
        return found[1]

    def left(self) -> list[str]:
        """Cells with a figure that were not read."""
        return [
            cell
            for number, one in enumerate(self.tables)
            for row, cells in enumerate(one.rows)
            for column, cell in enumerate(cells)
            if column and NUMBER.search(cell) and (number, row, column) not in self.read
        ]


L: Final = r"([\d/. ]+(?:in|mm))"  # a length in a sentence
N: Final = r"(-?[\d.,]+)"  # a number
