"""Puts a fault into the project and asks tests, each time in a fork that is thrown away.

A fault in the body of a function is put into the function itself, in a fork of a process that has
the project and its tests loaded.  A fault in what runs at an import (a constant, a field of a
class) needs the import again: a fork of a process that has nothing of the project loaded reads
the changed source in place of the file.  No file is written.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
import time
import traceback
from collections import defaultdict
from collections.abc import Callable
from contextlib import suppress
from importlib.machinery import SourceFileLoader
from types import CodeType, FunctionType

import pytest

from tests.mutants.reached import ROOT

# Pytest reads files of its own way, past `cold`, unless asserts are plain.
QUIET = ["-s", "-qq", "--assert=plain", "-p", "no:cacheprovider"]
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


def allowed(tests: list[tuple[str, float]]) -> float:
    return LEAST_TIME + 10.0 * sum(takes for _, takes in tests)


def cold(path: str, changed: str | None, tests: list[tuple[str, float]]) -> str:
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

    def ask(self, path: str, changed: str | None, tests: list[tuple[str, float]]) -> str:
        """Change the functions of a file, ask the tests; the one that fails, or ""."""

        def work(answer: int) -> None:
            if changed is not None:
                swap(path, changed, self.functions[str(ROOT / path)])
            items = [self.items[name] for name, _ in tests if name in self.items]
            items[0].config.pluginmanager.register(Told(answer))
            for item, following in zip(items, [*items[1:], None], strict=True):
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)

        return forked(work, allowed(tests))
