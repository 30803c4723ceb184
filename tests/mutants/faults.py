"""Where a file can be made wrong, one small fault at a time, by cosmic-ray's operators."""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cosmic_ray.ast import ast_nodes, get_ast, is_number
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.operator import Operator
from cosmic_ray.plugins import get_operator
from parso.python.tree import Number

MAY_LIVE = Path(__file__).parent / "may_live"


class Larger(Operator):  # type: ignore[misc]
    """A number times 1.3; whole numbers by one at least.

    cosmic-ray's own adds one, which no test of a modulus of 2.05e10 could or should notice.
    """

    def mutation_positions(self, node: object) -> Iterator[tuple[object, object]]:
        if is_number(node):
            yield node.start_pos, node.end_pos  # type: ignore[attr-defined]

    def mutate(self, node: Number, _index: int) -> Number:
        return Number(f" {changed(node.value)}", node.start_pos)

    @classmethod
    def examples(cls) -> tuple[object, ...]:
        return ()


def changed(written: str) -> str:
    """Write a number of the source as the fault does.

    >>> [changed(number) for number in ("2.0", "10", "2", "0", "0.0", "1_000")]
    ['2.6', '13', '3', '1', '1.0', '1300']
    """
    if written.replace("_", "").isdigit():
        return str(max(int(written) + 1, round(1.3 * int(written))))
    number = float(written)
    return repr(float(f"{1.3 * number:.12g}") if number else 1.0)


@dataclass(frozen=True, slots=True)
class Fault:
    """One way to make a file wrong."""

    path: str
    operator: str
    occurrence: int
    line: int

    def wrong(self, source: str) -> str:
        """Put the fault into the source of its file."""
        made: str | None = mutate_code(source, _operator(self.operator), self.occurrence)
        if made is None or made == source:
            raise ValueError(f"{self} changes nothing")
        return made

    @property
    def name(self) -> str:
        """Which fault of its file it is."""
        return f"{self.operator} {self.occurrence}"

    def lines(self, source: str) -> tuple[str, str]:
        """The line it changes, and what that becomes."""
        before, after = source.splitlines(), self.wrong(source).splitlines()
        becomes = next(
            (new.strip() for old, new in zip(before, after, strict=False) if old != new), ""
        )
        return before[self.line - 1].strip(), becomes

    def told(self, source: str) -> str:
        """Its place, and the line before and after."""
        was, becomes = self.lines(source)
        return f"{self.path}:{self.line}: [{self.name}] {was}  ->  {becomes}"


def _operator(name: str) -> Operator:
    return Larger() if name == "number" else get_operator(f"core/{name}")()


def faults(root: Path, path: str, operators: list[str], guards: list[str]) -> list[Fault]:
    """Every fault that the operators can put into a file, in the order of its lines.

    Lines with a guard, as `@dataclass(frozen=True`, are passed over: no answer depends on them.
    """
    found = []
    source = (root / path).read_text()
    guarded = [any(one in line for one in guards) for line in source.splitlines()]
    nodes = list(ast_nodes(get_ast(source)))
    for name in operators:
        operator = _operator(name)
        occurrence = 0
        for node in nodes:
            for (line, _), _end in operator.mutation_positions(node):
                if not guarded[line - 1]:
                    found.append(Fault(path, name, occurrence, line))
                occurrence += 1
    return sorted(found, key=lambda fault: (fault.line, fault.operator, fault.occurrence))


def may_live() -> dict[tuple[str, str, str], str]:
    """Faults that no test need notice: file, line and what it becomes, and why."""
    found = {}
    for file in sorted(MAY_LIVE.glob("*.csv")):
        with file.open(newline="") as rows:
            for row in csv.DictReader(rows):
                found[row["file"], row["was"], row["becomes"]] = row["reason"]
    return found


def sample(every: dict[str, list[Fault]], count: int, each: int, seed: int) -> list[Fault]:
    """So many of the faults, of each file its share and at least `each`; the same for a seed."""
    together = sum(len(ones) for ones in every.values())
    drawn: list[Fault] = []
    for path, ones in every.items():
        share = max(each, round(count * len(ones) / max(together, 1)))
        some = random.Random(f"{seed} {path}").sample(ones, min(share, len(ones)))
        drawn += sorted(some, key=lambda fault: fault.line)
    return drawn
