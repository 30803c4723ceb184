"""README.md's questions to the service and the answers it shows under them.

`python -m tests.service.readme` asks them all and writes the answers anew, for a change that is
meant to change them; test_readme.py only compares.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from deploy.demo import DEFAULT_BIND
from tests.service.conftest import ROOT, serving

PAGE = ROOT / "README.md"
FENCED = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
ANSWERS = ("", "text", "json", "csv")  # languages of a block that shows an answer


@dataclass(frozen=True, slots=True)
class Shown:
    """A shell block that asks the service, and the answer shown right under it, if any.

    answer_span : where the answer stands in the page; None when none is shown.
    """

    command: str
    answer: str | None
    answer_span: tuple[int, int] | None


def shown_in(page: str) -> list[Shown]:
    """Every block of a page that starts with `curl`, in order."""
    blocks = list(FENCED.finditer(page))
    found = []
    for number, block in enumerate(blocks):
        if block[1] != "sh" or not block[2].startswith("curl"):
            continue
        follows = blocks[number + 1] if number + 1 < len(blocks) else None
        # An answer stands right under its command: a sentence between them parts the two.
        if follows and follows[1] in ANSWERS and not page[block.end() : follows.start()].strip():
            found.append(Shown(block[2], follows[2], follows.span(2)))
        else:
            found.append(Shown(block[2], None, None))
    return found


def environment_with_curl(folder: Path) -> dict[str, str]:
    """Environment in which `curl` fails on an HTTP error; a stand-in where there is none."""
    # curl's own defaults file: no progress meter, an HTTP error is a failure but its body is shown.
    (folder / ".curlrc").write_text("silent\nshow-error\nfail-with-body\nmax-time = 60\n")
    if shutil.which("curl") is None:
        stand_in = Path(__file__).with_name("curl_stand_in.py")
        (folder / "curl").write_text(f'#!/bin/sh\nexec "{sys.executable}" "{stand_in}" "$@"\n')
        (folder / "curl").chmod(0o755)
    path = f"{folder}{os.pathsep}{os.environ['PATH']}"
    return {**os.environ, "CURL_HOME": str(folder), "PATH": path}


def asked(command: str, address: str, environment: dict[str, str]) -> str:
    """What a block prints when it asks the service at `address`, told as the page would."""
    run = subprocess.run(
        ["sh", "-e", "-c", command.replace(f"http://{DEFAULT_BIND}", address)],
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    return run.stdout.replace(address, f"http://{DEFAULT_BIND}")


def rewritten(page: str, address: str, environment: dict[str, str]) -> str:
    """The page with every shown answer as the service at `address` gives it."""
    for shown in reversed(shown_in(page)):
        if shown.answer_span is not None:
            start, end = shown.answer_span
            page = page[:start] + asked(shown.command, address, environment) + page[end:]
    return page


if __name__ == "__main__":
    with serving() as live, tempfile.TemporaryDirectory() as folder:
        environment = environment_with_curl(Path(folder))
        PAGE.write_text(rewritten(PAGE.read_text(), live.address, environment))
