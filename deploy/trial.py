"""Tries out an image's files as a strict container engine runs them; used by deploy/build-image.

    python3 deploy/trial.py ROOT IMAGE.json     ROOT: the mounted image, IMAGE.json: what
                                                `buildah inspect --type image` says of it

Everything the image may do wrong in a cluster goes wrong here: its root is read-only and only
/dev/shm can be written; it has namespaces of its own for files, network and processes, a numeric
user without a single capability, and no way to gain one. What is run is what the image says: its
command, its variables, its health check. Needs root; util-linux and iproute2.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import demo

HERE = Path(__file__).parent
TOKEN = "only-for-this-trial-0123456789"
ADDRESS = "http://127.0.0.1:8321"
STOP_SECONDS = 40.0  # as compose.yaml grants

# Mounts and network, then the last step into the image; $1 is its root, $2 a folder it gets to
# read at /mnt, the rest is run there.
_INTO = """
set -eu
root=$1; given=$2; shift 2
mount --make-rprivate /
mount --bind "$root" "$root"
mount -t tmpfs -o mode=755,nosuid tmpfs "$root/dev"
for node in null zero full random urandom; do
  : >"$root/dev/$node"; mount --bind "/dev/$node" "$root/dev/$node"
done
mkdir "$root/dev/shm"
mount -t tmpfs -o mode=1777,size=128m,nosuid,nodev,noexec tmpfs "$root/dev/shm"
mount -t proc proc "$root/proc"
mount -o remount,ro "$root/dev"
mount --bind "$given" "$root/mnt"
mount -o remount,bind,ro "$root/mnt"
mount -o remount,bind,ro "$root"
ip link set lo up
exec chroot "$root" "$@"
"""
_WRITES = """
for place in / /srv/stillwood /srv/venv /tmp /var/tmp /run /mnt /dev /etc; do
  if touch "$place/written" 2>/dev/null; then echo "$place can be written"; exit 1; fi
done
touch /dev/shm/written && rm /dev/shm/written
grep -E '^(Cap(Prm|Eff|Bnd)|NoNewPrivs|Uid):' /proc/self/status | tr -s '[:space:]' ' '
"""
_ASK = """
import sys, urllib.error, urllib.request
request = urllib.request.Request(sys.argv[1])
if sys.argv[2]: request.add_header("Authorization", "Bearer " + sys.argv[2])
try: print(urllib.request.urlopen(request, timeout=60).status)
except urllib.error.HTTPError as error: print(error.code)
"""


@dataclass(frozen=True)
class Image:
    """The mounted files of an image and what it says about running them."""

    root: Path
    command: list[str]
    environment: Mapping[str, str]
    user: tuple[str, str]
    folder: str
    health: list[str]

    @classmethod
    def of(cls, root: Path, told: Path) -> Image:
        """Read what an image says of itself; raises ValueError for a user that is no number."""
        said = json.loads(told.read_text())["Docker"]["config"]
        user, _, group = said["User"].partition(":")
        if not (user.isdigit() and group.isdigit() and int(user) and int(group)):
            raise ValueError(f"the image runs as {said['User']!r}, not as a number other than 0")
        variables = dict(each.split("=", 1) for each in said["Env"])
        kind, *health = said["Healthcheck"]["Test"]
        if kind != "CMD":
            raise ValueError("the health check needs a shell")
        return cls(root, said["Cmd"], variables, (user, group), said["WorkingDir"], health)

    def inside(self, command: list[str], **more: str) -> list[str]:
        """Words that run a command as the image's user with its variables and nothing else."""
        user, group = self.user
        bare = ["setpriv", f"--reuid={user}", f"--regid={group}", "--clear-groups"]
        bare += ["--no-new-privs", "--bounding-set=-all", "--inh-caps=-all"]
        variables = [f"{name}={text}" for name, text in {**self.environment, **more}.items()]
        return [*bare, "env", "-i", "-C", self.folder, *variables, *command]


def start(image: Image, log: Path, **more: str) -> subprocess.Popen[bytes]:
    """Start the image's own command in namespaces of its own; it sees the log's folder at /mnt."""
    shut = ["unshare", "--mount", "--net", "--ipc", "--uts", "--pid", "--fork", "--kill-child"]
    command = [*shut, "sh", "-c", _INTO, "into", str(image.root), str(log.parent)]
    with log.open("wb") as output:
        return subprocess.Popen(
            [*command, *image.inside(image.command, **more)], stdout=output, stderr=output
        )


def server_of(running: subprocess.Popen[bytes]) -> int:
    """Process id, as this machine counts, of the first process inside."""
    children = Path(f"/proc/{running.pid}/task/{running.pid}/children")
    deadline = time.monotonic() + 10
    while not (found := children.read_text().split()):
        if time.monotonic() > deadline:
            raise RuntimeError("nothing was started inside")
        time.sleep(0.01)
    return int(found[0])


@dataclass(frozen=True)
class Running:
    """A started image."""

    image: Image
    server: int

    def run(self, command: list[str]) -> subprocess.CompletedProcess[str]:
        """Run a command inside, as the image's user: what `docker exec` does."""
        into = ["nsenter", "--target", str(self.server), "--mount", "--net", "--pid", "--root"]
        return subprocess.run(
            [*into, "--", *self.image.inside(command)], capture_output=True, text=True, check=False
        )

    def status(self, path: str, token: str = "") -> int:
        """Status of a GET from within its network."""
        into = ["nsenter", "--target", str(self.server), "--net", sys.executable, "-c", _ASK]
        asked = [*into, ADDRESS + path, token]
        return int(subprocess.run(asked, capture_output=True, text=True, check=True).stdout)

    def demo(self) -> str:
        """The demo question's answer, by deploy/demo.py from within its network."""
        into = ["nsenter", "--target", str(self.server), "--net", sys.executable]
        asked = [*into, str(HERE / "demo.py"), "ask"]
        return subprocess.run(asked, capture_output=True, text=True, check=True).stdout


@contextmanager
def started(image: Image, log: Path, **more: str) -> Iterator[Running]:
    """Run the image until its health check passes; at the end stop it, which must go cleanly."""
    begun = time.monotonic()
    outer = start(image, log, **more)
    running = Running(image, server_of(outer))
    try:
        while (checked := running.run(image.health)).returncode:
            if outer.poll() is not None or time.monotonic() > begun + demo.START_SECONDS:
                raise RuntimeError(f"not healthy: {checked.stderr}\n{log.read_text()}")
            time.sleep(0.1)
        print(f"   {' '.join(more)}: healthy after {time.monotonic() - begun:.1f} s", flush=True)
        yield running
        os.kill(running.server, signal.SIGTERM)
        code = outer.wait(timeout=STOP_SECONDS)
        if code:
            raise RuntimeError(f"it ended with {code} when stopped:\n{log.read_text()}")
    finally:
        if outer.poll() is None:
            outer.kill()  # --kill-child ends everything inside
            outer.wait()


def expect(what: str, found: object, wanted: object) -> None:
    """Say what was found; raises RuntimeError when it is not what was wanted."""
    if found != wanted:
        raise RuntimeError(f"{what}: {found!r}, not {wanted!r}")
    print(f"   {what}: {found}", flush=True)


def main(root: str, told: str) -> int:
    """Try everything; 0 if the image does as it should."""
    image = Image.of(Path(root), Path(told))
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "log"
        code = start(image, log).wait(timeout=demo.START_SECONDS)
        said = log.read_text().strip().splitlines()[-1]
        if not code or "STILLWOOD_TOKENS" not in said:
            raise RuntimeError(f"started without tokens: {code}, {said}")
        print(f"   without tokens: ended with {code}: {said}")
        with started(image, log, STILLWOOD_TOKENS=TOKEN) as running:
            tried = running.run(["sh", "-c", _WRITES])
            expect("writes but to /dev/shm, capabilities", tried.returncode, 0)
            print("  ", tried.stdout.strip().replace("\n", "; "))
            expect("a question with the token", running.status(demo.DEMO_PATH, TOKEN), 200)
            chart = demo.DEMO_PATH.replace("format=text", "format=svg")
            expect("its chart", running.status(chart, TOKEN), 200)
            expect("a question without", running.status(demo.DEMO_PATH), 401)
            expect("/docs without", running.status("/docs"), 200)
            expect("/metrics without", running.status("/metrics"), 401)
        tokens = Path(folder) / "tokens"
        tokens.write_text(TOKEN)
        Path(folder).chmod(0o755)
        with started(image, log, STILLWOOD_TOKENS_FILE="/mnt/tokens") as running:
            expect("with a token of the file", running.status("/v1/limits", TOKEN), 200)
            tokens.write_text(f"another-{TOKEN}")
            time.sleep(1.5)  # api/access.py looks again after a second
            expect("once it is revoked", running.status("/v1/limits", TOKEN), 401)
        with started(image, log, STILLWOOD_OPEN="yes") as running:
            print(running.demo())
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(*sys.argv[1:]))
    except (RuntimeError, subprocess.SubprocessError) as error:
        sys.exit(f"deploy/trial.py: {error}")
