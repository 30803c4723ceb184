"""nginx with deploy/nginx.conf before instances of the service, for tests and the bench."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import time
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from tests.service.conftest import ROOT, Live, free_port, serving

START_SECONDS = 60.0
# As the main configuration of the image that compose.yaml names has it (memory); Debian's has 768.
CONNECTIONS = 1024


def instance(
    port: int | None = None, *, killed: bool = False, workers: int = 1, arguments: str = ""
) -> AbstractContextManager[Live]:
    """One instance, told that one proxy stands before it."""
    return serving(
        port,
        killed=killed,
        STILLWOOD_WORKERS=str(workers),
        STILLWOOD_PROXIES="1",
        STILLWOOD_LOG="off",
        GUNICORN_CMD_ARGS=arguments,
    )


@contextmanager
def nginx_before(
    addresses: Sequence[str], folder: Path, cache: str = "", *, limited: bool = False
) -> Iterator[str]:
    """Run deploy/nginx.conf before the instances, on a free port; gives nginx's address.

    addresses : of the instances, a `server` line each.
    folder : for its files, among them access.log and error.log.
    cache : lines for the http block, of deploy/SCALE.md.
    limited : as deployed, to so many requests of one address; else all callers of a test would
        share that allowance.
    """
    port = free_port()
    site = (ROOT / "deploy" / "nginx.conf").read_text()
    if not limited:
        site, count = re.subn(r"(?m)^    limit_(conn|req) .*;\n", "", site)
        assert count == 2
    # Only the addresses change: those of containers are not to be had here.
    (line,) = [each for each in site.splitlines() if each.strip().startswith("server stillwood:")]
    lines = [line.replace("stillwood:8321", each.removeprefix("http://")) for each in addresses]
    site = site.replace(line, "\n".join(lines))
    site = site.replace("listen 8080;", f"listen 127.0.0.1:{port};")
    site = site.replace("/dev/stdout", str(folder / "access.log"))
    (folder / "site.conf").write_text(site)
    kinds = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    paths = "\n".join(f"{kind}_temp_path {folder}/{kind};" for kind in kinds)
    # A root's nginx would make its workers another user, who cannot write into this folder.
    user = "user root;" if os.getuid() == 0 else ""
    (folder / "nginx.conf").write_text(
        f"daemon off; pid {folder}/nginx.pid; error_log {folder}/error.log; {user}\n"
        f"worker_processes 1; events {{ worker_connections {CONNECTIONS}; }}\n"
        f"http {{ {paths}\n{cache}\ninclude {folder}/site.conf; }}\n"
    )
    command = ["nginx", "-p", str(folder), "-e", f"{folder}/error.log", "-c"]
    command.append(str(folder / "nginx.conf"))
    tried = subprocess.run([*command, "-t"], capture_output=True, text=True, check=False)
    assert tried.returncode == 0, tried.stderr
    with subprocess.Popen(command) as running:
        try:
            _wait_until_it_listens(port)
            yield f"http://127.0.0.1:{port}"
        finally:
            running.terminate()


def _wait_until_it_listens(port: int) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)
    raise AssertionError(f"nginx does not listen after {START_SECONDS:.0f} s")


def shares(folder: Path) -> dict[str, int]:
    """How many requests each instance answered last, by its address, from nginx's log."""
    counts: dict[str, int] = {}
    for line in (folder / "access.log").read_text().splitlines():
        # `a:1, b:2` when the first could not answer and the second was asked.
        upstream = line.split()[-1]
        counts[upstream] = counts.get(upstream, 0) + 1
    return counts
