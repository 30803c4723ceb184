"""A live server for the tests of this folder: gunicorn as deployed, on a free port."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

# tests/conftest.py says at the head of a run what is not installed.
collect_ignore = []
if not (shutil.which("chromium") and shutil.which("chromedriver")):
    collect_ignore.append("test_browser.py")
if not shutil.which("nginx"):
    collect_ignore.append("test_replicas.py")
if not (shutil.which("node") and shutil.which("npm")):
    collect_ignore.append("test_document.py")
ROOT = Path(__file__).resolve().parents[2]
# A start takes 2 to 4 s here and a stop less; these are for a machine busy with other things.
START_SECONDS = 120.0
STOP_SECONDS = 40.0  # gunicorn's own 30 s of grace (deploy/gunicorn.conf.py) and some


@dataclass(frozen=True, slots=True)
class Live:
    """A running service.

    address : base address without a slash at the end.
    process : gunicorn's master.
    log : file with everything it has said.
    """

    address: str
    process: subprocess.Popen[bytes]
    log: Path

    @property
    def workers(self) -> list[int]:
        """Process ids of the workers there are now."""
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(each) for each in children.read_text().split()]

    def processor_seconds(self) -> float:
        """Processor time [s] that the workers have used so far, in all their threads.

        A measure of work that does not feel what else the machine does.
        """
        ticks = 0
        for worker in self.workers:
            fields = Path(f"/proc/{worker}/stat").read_text().rpartition(")")[2].split()
            ticks += int(fields[11]) + int(fields[12])  # utime and stime, proc(5)
        return ticks / os.sysconf("SC_CLK_TCK")

    def kill(self) -> None:
        """End the master and all workers at once, as a machine that fails does."""
        workers = self.workers
        for each in (self.process.pid, *workers):
            os.kill(each, signal.SIGKILL)
        self.process.wait()


def free_port() -> int:
    """A TCP port of the loopback address that nothing listens on."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


def _wait_until_ready(live: Live, path: str) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        assert live.process.poll() is None, f"the server ended:\n{live.log.read_text()}"
        try:
            with urllib.request.urlopen(f"{live.address}{path}/readyz", timeout=5):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.05)
    raise AssertionError(f"not ready after {START_SECONDS:.0f} s:\n{live.log.read_text()}")


@contextmanager
def serving(port: int | None = None, *, killed: bool = False, **environment: str) -> Iterator[Live]:
    """Run the service as deployed with more environment variables; stop it at the end.

    port : to listen at; a free one when None.
    killed : the test will have killed it; otherwise it must stop cleanly within gunicorn's grace
        period, else the test that used it fails.
    """
    port = port or free_port()
    kept = {name: value for name, value in os.environ.items() if not name.startswith("STILLWOOD_")}
    kept.pop("PROMETHEUS_MULTIPROC_DIR", None)
    kept |= {"STILLWOOD_BIND": f"127.0.0.1:{port}", "OPENBLAS_NUM_THREADS": "1"} | environment
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "server.log"
        command = [sys.executable, "-m", "gunicorn", "-c", "deploy/gunicorn.conf.py"]
        with log.open("wb") as output:
            process = subprocess.Popen(
                [*command, "api.wsgi:app"],
                cwd=ROOT,
                env=kept,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
            )
        live = Live(f"http://127.0.0.1:{port}", process, log)
        try:
            _wait_until_ready(live, environment.get("SCRIPT_NAME", ""))
            yield live
        finally:
            if process.poll() is None:
                process.terminate()
            try:
                code = process.wait(timeout=STOP_SECONDS)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
                raise
        expected = -signal.SIGKILL if killed else 0
        assert code == expected, f"the server ended with {code}:\n{log.read_text()}"


@pytest.fixture(scope="session")
def live() -> Iterator[Live]:
    """The service on a free port, one for all tests of this folder."""
    with serving() as running:
        yield running
