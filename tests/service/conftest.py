"""A live server for the tests of this folder: gunicorn as deployed, on a free port."""

from __future__ import annotations

import os
import shutil
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
collect_ignore = (
    [] if shutil.which("chromium") and shutil.which("chromedriver") else ["test_browser.py"]
)
ROOT = Path(__file__).resolve().parents[2]
START_SECONDS = 60.0  # a start takes 2 to 4 s here; a loaded machine gets room


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


def free_port() -> int:
    """A TCP port of the loopback address that nothing listens on."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


def _wait_until_ready(live: Live) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        assert live.process.poll() is None, f"the server ended:\n{live.log.read_text()}"
        try:
            with urllib.request.urlopen(f"{live.address}/readyz", timeout=5):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.05)
    raise AssertionError(f"not ready after {START_SECONDS} s:\n{live.log.read_text()}")


@contextmanager
def serving(**environment: str) -> Iterator[Live]:
    """Run the service as deployed with more environment variables; stop it at the end.

    It must stop cleanly within gunicorn's grace period, else the test that used it fails.
    """
    port = free_port()
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
            _wait_until_ready(live)
            yield live
        finally:
            if process.poll() is None:
                process.terminate()
            try:
                code = process.wait(timeout=40)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
                raise
        assert code == 0, f"the server ended with {code}:\n{log.read_text()}"


@pytest.fixture(scope="session")
def live() -> Iterator[Live]:
    """The service on a free port, one for all tests of this folder."""
    with serving() as running:
        yield running
