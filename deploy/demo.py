"""The demo question, asked of a service that has just been started; used by deploy/serve.

    python deploy/demo.py check          is the address free? says so and fails if it is not
    python deploy/demo.py ask [PID]      wait for /readyz, print the question and its answer

It needs nothing but the standard library, so it also works where curl is not installed.
"""

from __future__ import annotations

import http.client
import os
import re
import socket
import sys
import time
import urllib.error
import urllib.request

DEFAULT_BIND = "127.0.0.1:8321"
START_SECONDS = 90.0  # a cold start on a slow disk takes 10 to 20 s (measured 3 s on a warm one)

# The reading table of a small lakeside library. README.md and its test read it from here.
DEMO_PATH = (
    "/v1/settle?units=us&slab.species=american-elm&slab.width=34in&slab.thickness=2in"
    "&slab.length=96in&slab.grain=flat&slab.bark_side=top&moisture=12.5&faces.top=hardwax-oil"
    "&faces.bottom=bare&room.climate=Duluth,MN&room.heat_to=70F&room.cool_to=76F"
    "&room.occupied=normally&starts=2026-09-25&format=text"
)


def addresses(bind: str) -> list[str]:
    """What is to be listened at: several stand with commas or blanks between them."""
    return re.split(r"[\s,]+", bind.strip(" ,"))


def host_and_port(bind: str) -> tuple[str, int]:
    """Split `127.0.0.1:8321` or `[::1]:8321`; raises ValueError for anything else."""
    host, colon, port = bind.rpartition(":")
    if not (colon and port.isascii() and port.isdigit() and 0 < int(port) < 65536):
        raise ValueError(
            f"STILLWOOD_BIND={bind}: give an address and a port, as in {DEFAULT_BIND}, or "
            "unix: and the path of a socket"
        )
    return host.strip("[]") or "0.0.0.0", int(port)


def base_address(bind: str) -> str:
    """Address a caller on this machine uses; an any-address bind is reached over loopback.

    Of several it is the first with a port; of unix sockets alone the first, `unix:` and its path.
    """
    given = addresses(bind)
    ports = [each for each in given if not each.startswith("unix:")]
    if not ports:
        return given[0]
    host, port = host_and_port(ports[0])
    host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def why_not_free(bind: str) -> str | None:
    """Why the address cannot be listened on, in a line; None if it can."""
    if bind.startswith("unix:"):
        return _why_no_socket(bind)
    host, port = host_and_port(bind)
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((host, port))
        except OSError as error:
            return f"{bind} cannot be used: {error.strerror or error}"
    return None


def _why_no_socket(bind: str) -> str | None:
    path = bind.removeprefix("unix:")
    if not os.access(os.path.dirname(path) or ".", os.W_OK):
        return f"{bind} cannot be used: its folder is not there or cannot be written to"
    with socket.socket(socket.AF_UNIX) as caller:
        try:
            caller.connect(path)
        except OSError:  # nothing, or what a server that ended has left: it is taken over
            return None
    return f"{bind} cannot be used: Address already in use"


class _Unix(http.client.HTTPConnection):
    """HTTP over a unix socket."""

    def __init__(self, path: str, timeout: float) -> None:
        super().__init__("localhost", timeout=timeout)
        self._path = path

    def connect(self) -> None:
        self.sock = socket.socket(socket.AF_UNIX)
        self.sock.settimeout(self.timeout)
        self.sock.connect(self._path)


def fetch(address: str, path: str = "", timeout: float = 60.0) -> str:
    """Body of a GET as text; raises urllib.error.HTTPError, another OSError or HTTPException."""
    if not address.startswith("unix:"):
        with urllib.request.urlopen(address + path, timeout=timeout) as reply:
            return str(reply.read().decode("utf-8"))
    connection = _Unix(address.removeprefix("unix:"), timeout)
    try:
        connection.request("GET", path)
        told = connection.getresponse()
        if told.status != 200:
            raise urllib.error.HTTPError(path, told.status, told.reason, told.headers, told)
        return told.read().decode("utf-8")
    finally:
        connection.close()


def curl(base: str, path: str) -> str:
    """The line that asks the same."""
    if base.startswith("unix:"):
        return f"curl --unix-socket {base.removeprefix('unix:')} 'http://localhost{path}'"
    return f"curl '{base}{path}'"


def is_running(pid: int) -> bool:
    """Whether the server process is there and not a zombie waiting for its parent."""
    try:
        os.kill(pid, 0)
        with open(f"/proc/{pid}/stat", encoding="ascii", errors="replace") as status:
            return status.read().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:  # no /proc on this system: the signal found it
        return True
    except OSError:
        return False


def wait_until_ready(base: str, pid: int | None) -> str | None:
    """Wait for /readyz; None when it answers, else why it did not."""
    reason = "no answer"
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if pid is not None and not is_running(pid):
            return "the server ended while starting; what it said stands above"
        try:
            fetch(base, "/readyz", timeout=5.0)
        except urllib.error.HTTPError as error:
            reason = f"/readyz answers {error.code}"
        except OSError as error:
            reason = str(error)
        else:
            return None
        time.sleep(0.1)
    return f"not ready after {START_SECONDS:.0f} s: {reason}"


def check(bind: str) -> int:
    """Say whether the service can listen there; 0 if it can."""
    try:
        reason = next(filter(None, map(why_not_free, addresses(bind))), None)
    except ValueError as error:
        print(f"Stillwood: {error}", file=sys.stderr)
        return 1
    if reason is None:
        return 0
    print(
        f"Stillwood: {reason}.\nStop what listens there, or choose another port:\n"
        "  STILLWOOD_BIND=127.0.0.1:8322 ./deploy/serve",
        file=sys.stderr,
    )
    return 1


def ask(bind: str, pid: int | None) -> int:
    """Print the demo question as a curl line and its answer; 0 if the service gave one."""
    base = base_address(bind)
    trouble = wait_until_ready(base, pid)
    if trouble is not None:
        print(f"Stillwood: {trouble}", file=sys.stderr)
        return 1
    print(f"\nStillwood answers at {base}. A first question and its answer:\n", flush=True)
    print(f"{curl(base, DEMO_PATH)}\n", flush=True)
    try:
        print(fetch(base, DEMO_PATH), flush=True)
    except urllib.error.HTTPError as error:
        print(error.read().decode("utf-8", "replace"), file=sys.stderr)
        return 1
    except OSError as error:
        print(f"Stillwood: {error}", file=sys.stderr)
        return 1
    print("Stillwood keeps serving; Ctrl-C stops it.", flush=True)
    return 0


def main(arguments: list[str]) -> int:
    """Run one of the two commands; see the top of this file."""
    bind = os.environ.get("STILLWOOD_BIND") or DEFAULT_BIND
    match arguments:
        case ["check"]:
            return check(bind)
        case ["ask"]:
            return ask(bind, None)
        case ["ask", pid]:
            return ask(bind, int(pid))
        case _:
            print(__doc__, file=sys.stderr)
            return 2


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:  # Ctrl-C while the service starts; deploy/serve stops it
        sys.exit(130)
