"""Puts small faults into the project, one at a time, and counts those the tests notice.

    python -m tests.mutants model/properties/strength.py             every fault of a file
    python -m tests.mutants model api --sample 1500 --each 25        some of every file's
    python -m tests.mutants model/properties --wide                  ask every test, not the nearest
    python -m tests.mutants --tests model/properties/strength.py     which test files are nearest
    python -m tests.mutants model --again said.txt                   those that survived before
    python -m tests.mutants verdicts                                 faults that verdicts once had

A fault is noticed when a test fails, when a file can no longer be imported, or when the tests take
ten times as long and 15 s.  Ends with 1 when fewer than `--least` percent are noticed.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import sys
import time
import tomllib
from collections import Counter, defaultdict
from collections.abc import Container, Sequence
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

import pytest

from tests.mutants import put, reached
from tests.mutants.back import Back
from tests.mutants.faults import Fault, faults, may_live, sample
from tests.mutants.nearest import nearest
from tests.mutants.verdicts import EVERY

ROOT = Path(__file__).parents[2]
# Of the tests asked for one fault, the nearest and quickest first: how many, and their seconds.
MOST, ENOUGH = 200, 10.0
MORE = 3  # times as many, where a survivor is tried again
ENOUGH_OF_VERDICT = 100.0  # the same of a fault that a verdict once had
Tests = list[tuple[str, float]]
Wrong = Fault | Back


def chosen(paths: list[str], left_out: list[str]) -> list[str]:
    """Files under the paths, relative to the project; paths may be written as modules."""
    files: list[str] = []
    for written in paths:
        path = ROOT / written
        if not path.exists():
            path = ROOT / written.replace(".", "/")
        if not path.exists():
            path = path.with_suffix(".py")
        if not path.exists():
            raise SystemExit(f"{written}: no such file, folder or module, as model/properties")
        found = sorted(path.rglob("*.py")) if path.is_dir() else [path]
        files += [str(one.resolve().relative_to(ROOT)) for one in found]
    return [one for one in files if not any(fnmatch(one, pattern) for pattern in left_out)]


def every_test() -> list[str]:
    """Test files and files with examples; the live service is left out."""
    files: list[Path] = []
    for top in ("model", "reference", "api"):
        files += ROOT.glob(f"tests/{top}/test_*.py")
    for top in ("model", "api"):
        files += [one for one in (ROOT / top).rglob("*.py") if ">>>" in one.read_text()]
    return sorted(str(file.relative_to(ROOT)) for file in files if file.name != "client.py")


class Measure:
    """Faults put in one after another."""

    def __init__(
        self, some: Sequence[Wrong], tests: reached.Reached, until: float, times: int = 1
    ) -> None:
        self.some = some
        self.tests = tests
        self.until = until
        self.times = times  # so many times the usual tests are asked
        self.noticed: dict[Wrong, bool] = {}
        self.sound: dict[str, bool] = {}
        self.may_live = may_live()
        self.reasons: dict[Wrong, str] = {}
        self.sources = {fault.path: (ROOT / fault.path).read_text() for fault in some}

    def asked(self, fault: Wrong) -> Tests:
        """Tests that reach a fault: of the nearest files first, and then the quickest first."""
        near = nearest(ROOT, fault.path)
        found = [
            one for one in self.tests.asked(fault.path, fault.line) if self.sound.get(one[0], True)
        ]
        found.sort(key=lambda one: one[1])
        like: Counter[str] = Counter()
        order: dict[str, tuple[bool, bool]] = {}
        for name, _ in found:  # of a test with many cases, three come first
            test = name.partition("[")[0]
            like[test] += 1
            order[name] = (like[test] > 3, name.partition("::")[0] not in near)
        found.sort(key=lambda one: order[one[0]])
        enough = ENOUGH_OF_VERDICT if isinstance(fault, Back) else self.times * ENOUGH
        kept: Tests = []
        for one in found[: self.times * MOST]:
            if not kept or sum(takes for _, takes in kept) + one[1] < enough:
                kept.append(one)
        return kept

    def imports(self, fault: Wrong) -> bool:
        """Whether what is faulty runs when modules are imported, not by tests alone."""
        text = reached.text(fault.path, fault.line)
        return (
            not reached.in_function(fault.path, fault.line)
            or (fault.path, text) in self.tests.imported
        )

    def put_in(self, fault: Wrong, ask: put.Ask, last: bool) -> None:
        """Put in a fault, say and note whether it was noticed, unless another way is left."""
        if time.monotonic() > self.until:
            return
        source = self.sources[fault.path]
        while True:
            tests = self.asked(fault)
            said = ask(fault.path, fault.wrong(source), tests) if tests else ""
            by = [one for one in tests if one[0] == said]
            if not by or self.sound.setdefault(said, ask(fault.path, None, by) == ""):
                break
        if not said and not last:
            return
        self.noticed[fault] = bool(said)
        told = f"by {said}" if said else f"by {len(tests)} tests that reach it"
        if isinstance(fault, Fault) and not said:
            reason = self.may_live.get((fault.path, *fault.lines(source)))
            if reason is not None:
                self.reasons[fault] = reason
                told += f"; it may: {reason}"
        print(f"{'noticed ' if said else 'SURVIVED'} {fault.told(source)}  {told}", flush=True)

    def run(self) -> None:
        """Put in all of them: as they can be without an import, then the rest."""

        def work(warm: put.Warm) -> None:
            for fault in self.some:
                if reached.in_function(fault.path, fault.line):
                    self.put_in(fault, warm.ask, last=not self.imports(fault))
                elif reached.constant(fault.path, fault.line):
                    self.put_in(fault, warm.ask_constant(fault.line), last=False)

        files = sorted({name.split("::")[0] for name in self.tests.tests})

        def session() -> None:
            if code := pytest.main([*put.QUIET, *files], plugins=[put.Warm(work)]):
                raise RuntimeError(f"pytest ends with {code}")

        self.noticed, self.sound, self.reasons = put.apart(
            session, lambda: (self.noticed, self.sound, self.reasons)
        )
        for fault in self.some:
            if fault not in self.noticed:
                self.put_in(fault, put.cold, last=True)


def table(noticed: dict[Wrong, bool], reasons: Container[Wrong]) -> str:
    """A line a file and a folder: faults put in, noticed, percent, survivors that may live."""
    rows: dict[str, list[tuple[bool, bool]]] = defaultdict(list)
    for fault, found in noticed.items():
        for row in (fault.path, f"{fault.path.rsplit('/', 1)[0]}/", "together"):
            rows[row].append((found, fault in reasons))
    wide = max(len(path) for path in rows)
    body = []
    for path, told in sorted(rows.items(), key=lambda row: (row[0] == "together", row[0])):
        count, may = sum(found for found, _ in told), sum(may for _, may in told)
        share = 100.0 * count / len(told)
        body.append(f"{path:{wide}}  {len(told):6}  {count:7}  {share:4.0f}  {may:8}")
    return "\n".join([f"{'file':{wide}}  faults  noticed     %  may live", *body])


def again(said: str, how: str = "SURVIVED") -> set[tuple[str, str]]:
    """Names of the faults that survived, or were put in at all, in what was printed before."""
    return set(re.findall(rf"^(?:{how}) (\S+):\d+: \[(.+?)\]", said, re.MULTILINE))


def _is_python(source: str) -> bool:
    """Whether a source can be read: the stars of `{**one}` are no power."""
    try:
        ast.parse(source)
    except SyntaxError:
        return False
    return True


def drawn(given: argparse.Namespace, files: list[str], settings: dict[str, Any]) -> list[Wrong]:
    """The faults asked for."""
    every = {path: faults(ROOT, path, settings["operators"], settings["guards"]) for path in files}
    some = sample(every, given.sample, given.each, given.seed)
    if given.again:
        names = again(given.again.read_text())
        some = [one for ones in every.values() for one in ones if (one.path, one.name) in names]
    if given.rest:
        done = again(given.rest.read_text(), "SURVIVED|noticed ")
        some = [one for one in some if (one.path, one.name) not in done]
    some = [one for one in some if _is_python(one.wrong((ROOT / one.path).read_text()))]
    random.Random(given.seed).shuffle(some)  # what is cut short by its seconds is a fair draw
    count = sum(len(ones) for ones in every.values())
    print(f"{len(some)} of {count} faults in {len(files)} files, seed {given.seed}", flush=True)
    return list(some)


def back(given: argparse.Namespace) -> list[Wrong]:
    """The faults that verdicts once had; of an earlier measure those that survived."""
    names = again(given.again.read_text()) if given.again else None
    return [one for one in EVERY if names is None or (one.path, one.name) in names]


def traced(files: list[str], loops: bool) -> reached.Reached:
    """What the tests in some files reach; those that changed are traced anew."""
    kept = ROOT / "build" / f"mutants{'-loops' if loops else ''}.pickle"
    tests = reached.load(kept)
    if stale := reached.stale(tests, files):
        print(f"tracing {len(stale)} test files", flush=True)
        put.forked(lambda _: reached.save(reached.trace(tests, stale), kept), float("inf"))
        tests = reached.load(kept)
    tests.tests = {name: one for name, one in tests.tests.items() if name.split("::")[0] in files}
    return tests


def main() -> int:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["stillwood"]["mutants"]
    given = arguments(settings["paths"])
    if given.paths == ["verdicts"]:
        files, given.wide = [], True
    else:
        files = chosen(given.paths, settings["left_out"])
    if given.tests:
        for path in files:
            print(path, *nearest(ROOT, path), sep="\n    ")
        return 0
    loops = [path for path in files if path in settings["loops"]]
    if loops and loops != files:
        print(f"left out, ask for them alone: {', '.join(loops)}")
        files = [path for path in files if path not in loops]
        loops = []
    os.environ |= {
        "OPENBLAS_NUM_THREADS": "1",
        "MPLBACKEND": "svg",
        "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",  # they cost a second, and no test here needs one
        "STILLWOOD_ANSWER_ANEW": "1",  # each test runs all that it looks at
        "NUMBA_DISABLE_JIT": str(int(bool(loops))),  # as plain Python, so that lines can be traced
    }
    for library in settings["libraries"]:
        __import__(library)
    some = drawn(given, files, settings) if files else back(given)
    near = sorted({test for fault in some for test in nearest(ROOT, fault.path)})
    tests = traced(given.ask or (every_test() if given.wide else near), bool(loops))
    began = time.monotonic()
    measure = Measure(some, tests, began + given.seconds, MORE if given.again else 1)
    measure.run()
    if not measure.noticed:
        print("None was begun: give it more seconds.")
        return 1
    each = (time.monotonic() - began) / len(measure.noticed)
    print(f"\n{table(measure.noticed, measure.reasons)}\n{each:.1f} s a fault")
    if len(measure.noticed) < len(some):
        print(f"{len(some) - len(measure.noticed)} were not begun: the time was over.")
    noticed = sum(measure.noticed.values())
    return int(100.0 * noticed < given.least * len(measure.noticed))


def arguments(paths: list[str]) -> argparse.Namespace:
    """What is asked on the command line."""
    asked = argparse.ArgumentParser(
        prog="python -m tests.mutants",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    asked.add_argument("paths", nargs="*", help="files or modules, or `verdicts`")
    asked.add_argument("--sample", type=int, default=10**9, help="so many faults, drawn")
    asked.add_argument("--each", type=int, default=0, help="of every file at least so many")
    asked.add_argument("--seed", type=int, default=1, help="of the draw")
    asked.add_argument("--seconds", type=float, default=float("inf"), help="begin no fault later")
    asked.add_argument("--least", type=float, default=0.0, help="percent to be noticed")
    asked.add_argument("--wide", action="store_true", help="ask every test that reaches a fault")
    asked.add_argument("--ask", nargs="+", help="ask the tests of these files")
    asked.add_argument("--tests", action="store_true", help="print the tests asked, run nothing")
    asked.add_argument("--again", type=Path, help="only what survived, by what was printed then")
    asked.add_argument("--rest", type=Path, help="only what was not put in, by the same")
    given = asked.parse_args()
    given.paths = given.paths or paths
    return given


if __name__ == "__main__":
    sys.exit(main())
