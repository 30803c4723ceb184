"""Which tests reach which line of the project: traced once, kept in `build/`, renewed by file.

A line is known by its file and its text, so that lines that merely move keep their tests.  What
runs when a module is imported (constants, fields of classes) is reached by every test that runs a
line in which its name stands.
"""

from __future__ import annotations

import ast
import hashlib
import pickle
import re
import signal
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Generator, Iterator, Set
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
FEW = 40  # tests; that run a line, below which those are asked that read what it gives
LONGEST = 40.0  # s of processor time; a test that takes longer, traced, is not asked
Line = tuple[str, str]
Function = (ast.FunctionDef, ast.AsyncFunctionDef)


class TooLong(BaseException):
    """A test is left out because it takes too long."""


@dataclass
class Reached:
    """Of every test: processor time it takes [s], and lines it runs as bits of their numbers."""

    numbers: dict[Line, int] = field(default_factory=dict)
    tests: dict[str, tuple[float, int]] = field(default_factory=dict)
    files: dict[str, str] = field(default_factory=dict)  # as they were when they were traced
    imported: set[Line] = field(default_factory=set)  # in functions, but run by an import

    def bits(self, lines: set[Line]) -> int:
        """Lines as one number."""
        places = [self.numbers.setdefault(line, len(self.numbers)) for line in lines]
        octets = bytearray(len(self.numbers) // 8 + 1)
        for place in places:
            octets[place // 8] |= 1 << place % 8
        return int.from_bytes(octets, "little")

    def asked(self, path: str, line: int) -> list[tuple[str, float]]:
        """Tests that a fault in this line may reach, and their seconds.

        Those that run it; and where what it gives is kept from an import or from an earlier test,
        those that run a line, or are written in a file, in which its name stands.
        """
        here = {(path, text(path, at)) for at in span(path, line)}
        bits, names = self.bits(here), set[str]()
        direct = [test for test, (_, ran) in self.tests.items() if ran & bits]
        if len(direct) < FEW or not here.isdisjoint(self.imported):
            users, names = users_of(path, line, self.imported)
            bits |= self.bits(users)
        found = []
        for test, (takes, ran) in self.tests.items():
            file, _, within = test.partition("::")
            if ran & bits or names & (reads(file) | set(re.findall(r"\w+", within))):
                found.append((test, takes))
        return found


class Tracer:
    """A plugin of pytest that fills a map."""

    def __init__(self, reached: Reached) -> None:
        self.reached = reached
        self.lines: set[tuple[str, int]] = set()
        self.failed = False
        self.known: dict[str, str | None] = {}

    def called(self, frame: FrameType, _event: str, _what: Any) -> Any:
        name = frame.f_code.co_filename
        if name not in self.known:
            path = Path(name)
            inside = path.is_relative_to(ROOT) and path.relative_to(ROOT).parts[0]
            self.known[name] = str(path.relative_to(ROOT)) if inside in ("model", "api") else None
        path_inside = self.known[name]
        if path_inside is None:
            return None
        add, lines = self.lines.add, path_inside

        def ran(frame: FrameType, event: str, _what: Any) -> Any:
            if event == "line":
                add((lines, frame.f_lineno))
            return ran

        return ran

    def taken(self) -> set[Line]:
        """What ran since it was last asked."""
        found = {(path, text(path, line)) for path, line in self.lines}
        self.lines.clear()
        return found

    def pytest_sessionstart(self) -> None:
        threading.settrace(self.called)
        sys.settrace(self.called)

    def pytest_collection_finish(self) -> None:
        inside = {(path, text(path, line)) for path, line in self.lines if in_function(path, line)}
        self.lines.clear()
        self.reached.imported |= inside

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, Any, None]:
        self.failed = False
        signal.signal(signal.SIGPROF, _too_long)
        signal.setitimer(signal.ITIMER_PROF, LONGEST)
        sys.settrace(self.called)
        began = time.process_time()
        yield
        takes = time.process_time() - began
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        ran = self.taken()
        if self.failed:
            print(f"not asked, it fails or takes longer than {LONGEST:.0f} s: {item.nodeid}")
            return
        self.reached.tests[item.nodeid] = (takes, self.reached.bits(ran))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.failed = self.failed or report.failed


def _too_long(_signal: int, _frame: FrameType | None) -> None:
    raise TooLong


@cache
def _lines(path: str) -> list[str]:
    return (ROOT / path).read_text().splitlines()


def text(path: str, line: int) -> str:
    lines = _lines(path)
    return lines[line - 1].strip() if 0 < line <= len(lines) else ""


@cache
def tree(path: str) -> ast.Module:
    return ast.parse((ROOT / path).read_text())


@cache
def statements(path: str) -> list[ast.stmt]:
    return [node for node in ast.walk(tree(path)) if isinstance(node, ast.stmt)]


def around(path: str, line: int) -> list[ast.stmt]:
    """Statements round a line, from the outermost in."""
    found = [one for one in statements(path) if first(one) <= line <= (one.end_lineno or 0)]
    return sorted(found, key=lambda one: (one.lineno, -(one.end_lineno or 0)))


def first(node: ast.stmt) -> int:
    """Its first line, decorators included."""
    marks: list[ast.expr] = getattr(node, "decorator_list", [])
    return min([node.lineno, *(mark.lineno for mark in marks)])


def in_function(path: str, line: int) -> bool:
    """Whether a line lies in the body of a function, and so runs when that is called."""
    return any(
        isinstance(node, Function) and node.body[0].lineno <= line for node in around(path, line)
    )


def constant(path: str, line: int) -> str | None:
    """Name of the constant that a line gives, if it is written out and only functions read it."""
    outer = next(iter(around(path, line)), None)
    if not isinstance(outer, ast.AnnAssign | ast.Assign) or outer.value is None:
        return None
    names = _named(outer)
    if len(names) != 1 or any(isinstance(part, ast.Call) for part in ast.walk(outer.value)):
        return None
    name = min(names)
    return name if all(in_function(*at) for at in mentions().get(name, ())) else None


def kept(node: ast.stmt) -> bool:
    """Whether a function runs once for many calls, because its result is kept."""
    return isinstance(node, Function) and any(
        "cache" in ast.unparse(mark) for mark in node.decorator_list
    )


def span(path: str, line: int) -> range:
    """Lines of the statement that a line belongs to, without those of the statements in it."""
    stack = around(path, line)
    if not stack:
        return range(line, line + 1)
    node = stack[-1]
    inner = [one.lineno for one in ast.walk(node) if isinstance(one, ast.stmt) and one is not node]
    end = min(inner) - 1 if inner else (node.end_lineno or node.lineno)
    return range(node.lineno, max(end, node.lineno) + 1)


def users_of(path: str, line: int, imported: Set[Line]) -> tuple[set[Line], set[str]]:
    """Lines of functions that read what is given a name round a line; the names.

    Where those run at an import or are kept themselves, those that read what they give, and so on.
    """
    given = set[str]().union(*(_named(node) for node in around(path, line)))
    names, found, done = set(given), set[Line](), set[str]()
    while names - done:
        name = min(names - done)
        done.add(name)
        for used_in, at in mentions().get(name, ()):
            outer, here = around(used_in, at), (used_in, text(used_in, at))
            called = in_function(used_in, at) and not any(kept(node) for node in outer)
            if called:
                found.add(here)
            if outer and (not called or here in imported) and len(done) < 12:
                names |= _named(outer[0])
    return found, given


@cache
def reads(test_file: str) -> frozenset[str]:
    """Words of a test file: a test may read a constant without a line of the project's."""
    return frozenset(re.findall(r"\w+", (ROOT / test_file).read_text()))


def _named(node: ast.stmt) -> set[str]:
    """Names that a statement gives to something."""
    if isinstance(node, (*Function, ast.ClassDef)):
        return {node.name}
    targets = getattr(node, "targets", None) or [getattr(node, "target", None)]
    parts = [one for target in targets if target is not None for one in ast.walk(target)]
    names = {one.id for one in parts if isinstance(one, ast.Name)}
    return names | {one.attr for one in parts if isinstance(one, ast.Attribute)}


@cache
def mentions() -> dict[str, set[tuple[str, int]]]:
    """Where each name stands in the project: file and line."""
    found: dict[str, set[tuple[str, int]]] = defaultdict(set)
    for top in ("model", "api", "tests"):
        for file in sorted((ROOT / top).rglob("*.py")):
            path = str(file.relative_to(ROOT))
            for name, line in _loads(tree(path)):
                found[name].add((path, line))
    return found


def _loads(module: ast.Module) -> Iterator[tuple[str, int]]:
    for node in ast.walk(module):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id, node.lineno
        elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
            yield node.attr, node.end_lineno or node.lineno


def stale(reached: Reached, files: list[str]) -> list[str]:
    """Test files that changed since they were traced."""
    return [file for file in files if reached.files.get(file) != _stamp(file)]


def _stamp(file: str) -> str:
    """What a test file says, and the table of constants beside the one that has a case a row."""
    read = (ROOT / file).read_bytes()
    if file == "tests/reference/test_constants.py":
        read += (ROOT / "tests/reference/data/constants.csv").read_bytes()
    return hashlib.sha256(read).hexdigest()


def trace(reached: Reached, files: list[str]) -> Reached:
    """Run test files and note what they reach."""
    for name in [one for one in reached.tests if one.split("::")[0] in files]:
        del reached.tests[name]
    pytest.main(
        ["-q", "-p", "no:cacheprovider", "-m", "not slow", *files], plugins=[Tracer(reached)]
    )
    sys.settrace(None)
    reached.files |= {file: _stamp(file) for file in files}
    return reached


def load(file: Path) -> Reached:
    return pickle.loads(file.read_bytes()) if file.exists() else Reached()


def save(reached: Reached, file: Path) -> None:
    file.parent.mkdir(exist_ok=True)
    file.write_bytes(pickle.dumps(reached))
