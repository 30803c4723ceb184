"""A Flask route that does nothing, under the gunicorn settings of the service."""

from __future__ import annotations

import os
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager

from flask import Flask, Response

from tests.service.conftest import ROOT, free_port

app = Flask("bare")


@app.get("/")
def nothing() -> Response:
    """As many bytes as the service's answer to the question it is compared with."""
    return Response("x" * 700, content_type="application/json")


@contextmanager
def serving() -> Iterator[tuple[str, int]]:
    """Address of the bare route on one worker, and the process that leads it."""
    port = free_port()
    environment = dict(os.environ, STILLWOOD_BIND=f"127.0.0.1:{port}", STILLWOOD_WORKERS="1")
    environment["GUNICORN_CMD_ARGS"] = "--max-requests 0"
    command = [sys.executable, "-m", "gunicorn", "-c", "deploy/gunicorn.conf.py"]
    process = subprocess.Popen(
        [*command, "tests.bench.bare_route:app"],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        for _ in range(200):
            try:
                urllib.request.urlopen(address, timeout=1).close()
                break
            except (urllib.error.URLError, OSError):
                time.sleep(0.05)
        yield address, process.pid
    finally:
        process.terminate()
        process.wait(timeout=40)
