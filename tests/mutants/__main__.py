"""Puts small faults into a copy of the project, one at a time, and counts those the tests notice.

    python -m tests.mutants model/properties/strength.py             every fault of a file
    python -m tests.mutants model/properties --sample 100 --seed 1    some of a folder's
    python -m tests.mutants --tests model/properties/strength.py      which tests are asked

A fault is noticed when a test fails, when the file can no longer be imported, or when a test file
takes ten times as long and half a minute.  Ends with 1 when fewer than `--least`
percent are noticed.
"""

from __future__ import annotations

import argparse
import os
import shutil
import signal
import sys
import tempfile
import time
import tomllib
import traceback
from collections import defaultdict
from fnmatch import fnmatch
from pathlib import Path

from tests.mutants.faults import Fault, faults, sample
from tests.mutants.nearest import nearest

ROOT = Path(__file__).parents[2]
NO_TESTS = 5  # pytest's exit code where nothing was collected
LEAST_TIME = 30.0  # s; a changed loop compiles anew, 15 s


def run(copy: Path, test: str, allowed: float) -> int:
    """Exit code of pytest on a file of the copy, in a process of its own; 1 when it takes too long.

    The process is a fork of this one, which has the libraries loaded and nothing of the project.
    """
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        os.setsid()
        os.chdir(copy)
        said = os.open(copy.parent / "said", os.O_RDWR | os.O_CREAT | os.O_TRUNC)
        for stream in (0, 1, 2):
            os.dup2(said, stream)
        for name in list(sys.modules):
            if name.split(".")[0] in ("tests", "api", "model"):
                del sys.modules[name]
        elsewhere = [entry for entry in sys.path if Path(entry or ".").resolve() != ROOT]
        sys.path[:] = [str(copy), *elsewhere]
        code = 3
        try:
            import pytest

            code = int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-m", "not slow", test]))
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(code)
    until = time.monotonic() + allowed
    while time.monotonic() < until:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return 1


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


def unchanged(copy: Path, tests: list[str]) -> dict[str, float]:
    """How long each test file takes as the project is, quickest first; they must pass."""
    takes = {}
    for test in tests:
        began = time.monotonic()
        code = run(copy, test, 1800.0)
        if code not in (0, NO_TESTS):
            raise SystemExit(f"{(copy.parent / 'said').read_text()}\n{test} fails as it is")
        if code == 0:
            takes[test] = time.monotonic() - began
    return dict(sorted(takes.items(), key=lambda one: one[1]))


def measure(some: list[Fault], until: float) -> dict[Fault, bool]:
    """Whether each fault was noticed; those that time did not reach are left out."""
    noticed: dict[Fault, bool] = {}
    by_file: dict[str, list[Fault]] = defaultdict(list)
    for fault in some:
        by_file[fault.path].append(fault)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        shutil.copytree(
            ROOT, copy, ignore=shutil.ignore_patterns(".venv", ".git", ".*_cache", ".hypothesis")
        )
        for path, ones in by_file.items():
            if time.monotonic() > until:
                break
            target = copy / path
            source = target.read_text()
            takes = unchanged(copy, nearest(copy, path))
            for fault in ones:
                if time.monotonic() > until:
                    break
                # Compiled files are kept by time and size: a fault within the same second hides.
                for kept in (target.parent / "__pycache__").glob(f"{target.stem}.*.pyc"):
                    kept.unlink()
                target.write_text(fault.wrong(source))
                found = any(
                    run(copy, test, LEAST_TIME + 10.0 * took) not in (0, NO_TESTS)
                    for test, took in takes.items()
                )
                noticed[fault] = found
                print(f"{'noticed ' if found else 'SURVIVED'} {fault.told(source)}", flush=True)
            target.write_text(source)
    return noticed


def table(noticed: dict[Fault, bool]) -> str:
    """A line a file: faults put in, noticed, percent."""
    rows: dict[str, list[bool]] = defaultdict(list)
    for fault, found in noticed.items():
        rows[fault.path].append(found)
    lines = [(path, len(found), sum(found)) for path, found in sorted(rows.items())]
    lines.append(("together", len(noticed), sum(noticed.values())))
    wide = max(len(path) for path, _, _ in lines)
    head = f"{'file':{wide}}  faults  noticed     %"
    body = [
        f"{path:{wide}}  {count:6}  {found:7}  {100.0 * found / max(count, 1):4.0f}"
        for path, count, found in lines
    ]
    return "\n".join([head, *body])


def main() -> int:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["stillwood"]["mutants"]
    asked = argparse.ArgumentParser(
        prog="python -m tests.mutants",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    asked.add_argument("paths", nargs="*", default=settings["paths"], help="files or modules")
    asked.add_argument("--sample", type=int, default=10**9, help="so many faults, drawn")
    asked.add_argument("--seed", type=int, default=1, help="of the draw")
    asked.add_argument("--seconds", type=float, default=float("inf"), help="begin no fault later")
    asked.add_argument("--least", type=float, default=0.0, help="percent to be noticed")
    asked.add_argument("--tests", action="store_true", help="print the tests asked, run nothing")
    given = asked.parse_args()
    files = chosen(given.paths or settings["paths"], settings["left_out"])
    if given.tests:
        for path in files:
            print(path, *nearest(ROOT, path), sep="\n    ")
        return 0
    sys.dont_write_bytecode = True
    os.environ |= {
        "OPENBLAS_NUM_THREADS": "1",
        "MPLBACKEND": "svg",
        "PYTHONDONTWRITEBYTECODE": "1",
        "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",  # they cost a second, and no test here needs one
    }
    for library in settings["libraries"]:
        __import__(library)
    every = [fault for path in files for fault in faults(ROOT, path, settings["operators"])]
    some = sorted(
        sample(every, given.sample, given.seed), key=lambda fault: (fault.path, fault.line)
    )
    print(
        f"{len(some)} of {len(every)} faults in {len(files)} files, seed {given.seed}", flush=True
    )
    noticed = measure(some, time.monotonic() + given.seconds)
    print("\n" + table(noticed))
    if len(noticed) < len(some):
        print(f"{len(some) - len(noticed)} were not begun: the time was over.")
    if not noticed:
        print("None was begun: give it more seconds.")
        return 1
    return int(100.0 * sum(noticed.values()) < given.least * len(noticed))


if __name__ == "__main__":
    sys.exit(main())
