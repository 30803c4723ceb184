"""Puts a fault into the project and asks tests, each time in a fork that is thrown away.

A fault in the body of a function is put into the function itself, one in a constant into every
module that has it, in a fork of a process that has the project and its tests loaded (`Warm`).  What
runs at an import otherwise (a field of a class, a table that is worked out), or was not noticed so,
needs the import again: a fork of a process that has nothing of the project loaded reads the changed
source in place of the file (`cold`).  No file is written.
"""

from __future__ import annotations

import ast
import gc
import os
import pickle
import signal
import sys
import tempfile
import time
import traceback
from collections import defaultdict
from collections.abc import Callable
from contextlib import suppress
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType, FunctionType
from typing import TypeVar

import pytest

from tests.mutants.reached import ROOT, constant

# Pytest reads files of its own way, past `cold`, unless asserts are plain.
QUIET = ["-s", "-qq", "--assert=plain", "-p", "no:cacheprovider"]
Tests = list[tuple[str, float]]
Ask = Callable[[str, str | None, Tests], str]
Result = TypeVar("Result")
BROKEN = "The measuring itself fails:"
LEAST_TIME = 15.0  # s allowed beside ten times what the tests take


class Told:
    """A plugin of pytest that ends the process at the first test that fails, and says which."""

    def __init__(self, answer: int) -> None:
        self.answer = answer

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.says(report.nodeid)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            self.says(f"import of {report.nodeid}")

    def says(self, what: str) -> None:
        os.write(self.answer, what.encode())
        os._exit(1)


def forked(work: Callable[[int], object], allowed: float) -> str:
    """What a fork of this process writes into the pipe it is given; "" when it has nothing to say.

    A fork that takes longer than it is allowed [s], or dies, says so.
    """
    read, write = os.pipe()
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        os.setsid()
        nothing = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nothing, stream)
        try:
            work(write)
        except BaseException:
            os.write(write, f"{BROKEN} {traceback.format_exc()}".encode())
        os._exit(0)
    os.close(write)
    until = time.monotonic() + allowed
    ended, status = os.waitpid(child, os.WNOHANG)
    while not ended and time.monotonic() < until:
        time.sleep(0.005)
        ended, status = os.waitpid(child, os.WNOHANG)
    with suppress(ProcessLookupError):  # what the tests started ends with them
        os.killpg(child, signal.SIGKILL)
    if not ended:
        os.waitpid(child, 0)
    said = os.read(read, 4096).decode() if ended else "too long"
    os.close(read)
    if said.startswith(BROKEN):
        raise RuntimeError(said)
    return said or (f"died of signal {status & 127}" if ended and status & 127 else "")


def apart(work: Callable[[], object], result: Callable[[], Result]) -> Result:
    """Do work in a fork of this process, so that what it loads stays there; its result."""
    sys.stdout.flush()
    with tempfile.NamedTemporaryFile() as kept:
        child = os.fork()
        if child == 0:
            try:
                work()
                Path(kept.name).write_bytes(pickle.dumps(result()))
            finally:
                sys.stdout.flush()
                os._exit(0)
        os.waitpid(child, 0)
        found: Result = pickle.loads(kept.read())
    return found


def allowed(tests: Tests) -> float:
    return LEAST_TIME + 10.0 * sum(takes for _, takes in tests)


def cold(path: str, changed: str | None, tests: Tests) -> str:
    """Import everything anew with a changed source, ask the tests; the one that fails, or ""."""
    target = str(ROOT / path)
    plain = SourceFileLoader.get_code

    def get_code(self: SourceFileLoader, name: str) -> CodeType | None:
        if changed is not None and self.path == target:
            made: CodeType = compile(changed, target, "exec", dont_inherit=True)
            return made
        return plain(self, name)

    def work(answer: int) -> None:
        SourceFileLoader.get_code = get_code  # type: ignore[assignment, method-assign]
        names = [name for name, _ in tests]
        if code := pytest.main([*QUIET, *names], plugins=[Told(answer)]):
            os.write(answer, f"pytest ends with {code}".encode())

    return forked(work, allowed(tests))


def codes(source: str, file: str) -> list[CodeType]:
    """Code of every function in a source, in its order."""
    found = [compile(source, file, "exec", dont_inherit=True)]
    for one in found:
        found += [part for part in one.co_consts if isinstance(part, CodeType)]
    return found


def swap(path: str, changed: str, functions: list[FunctionType]) -> None:
    """Give the functions of a loaded module the code of a changed source."""
    file = str(ROOT / path)
    old, new = codes((ROOT / path).read_text(), file), codes(changed, file)
    instead = dict(zip(old, new, strict=True))
    for one in functions:
        one.__code__ = instead[one.__code__]


class Warm:
    """A plugin of pytest that, instead of running the tests, asks some of them for each fault."""

    def __init__(self, work: Callable[[Warm], None]) -> None:
        self.work = work
        self.items: dict[str, pytest.Item] = {}
        self.functions: dict[str, list[FunctionType]] = defaultdict(list)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        for one in gc.get_objects():
            if isinstance(one, FunctionType):
                self.functions[one.__code__.co_filename].append(one)
        gc.freeze()  # a fork copies what it touches
        self.work(self)
        return True

    def ask(self, path: str, changed: str | None, tests: Tests) -> str:
        """Change the functions of a file, ask the tests; the one that fails, or ""."""

        def work(answer: int) -> None:
            if changed is not None:
                swap(path, changed, self.functions[str(ROOT / path)])
            self.run(answer, tests)

        return forked(work, allowed(tests))

    def ask_constant(self, line: int) -> Ask:
        """Ask with the constant of a line changed wherever it was imported to."""

        def asked(path: str, changed: str | None, tests: Tests) -> str:
            def work(answer: int) -> None:
                if changed is not None:
                    _set_constant(path, line, changed)
                self.run(answer, tests)

            return forked(work, allowed(tests))

        return asked

    def run(self, answer: int, tests: Tests) -> None:
        """Run tests until one fails."""
        items = [self.items[name] for name, _ in tests if name in self.items]
        items[0].config.pluginmanager.register(Told(answer))
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)


def _set_constant(path: str, line: int, changed: str) -> None:
    """Give a constant its value by a changed source, in every module that has it."""
    name = constant(path, line)
    statement = next(
        one for one in ast.parse(changed).body if one.lineno <= line <= (one.end_lineno or 0)
    )
    assert name is not None
    assert isinstance(statement, ast.Assign | ast.AnnAssign)
    assert statement.value is not None
    home = sys.modules[path.removesuffix(".py").replace("/", ".")]
    value = eval(compile(ast.Expression(statement.value), path, "eval"), vars(home))
    was = vars(home)[name]
    for module in list(sys.modules.values()):
        if getattr(module, "__dict__", {}).get(name) is was:
            setattr(module, name, value)
