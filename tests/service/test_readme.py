"""README.md does what it says: every curl line is run, every answer shown is the one given."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from deploy.demo import DEFAULT_BIND, DEMO_PATH
from tests.service.conftest import ROOT, Live

README = (ROOT / "README.md").read_text(encoding="utf-8")
FENCED = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Shown:
    """A shell block of README.md that asks the service, and the answer shown under it, if any."""

    command: str
    answer: str | None


def _shown(text: str) -> list[Shown]:
    blocks = list(FENCED.finditer(text))
    found = []
    for number, block in enumerate(blocks):
        language, command = block.groups()
        if language != "sh" or not command.lstrip().startswith("curl"):
            continue
        follows = blocks[number + 1] if number + 1 < len(blocks) else None
        # Only an answer that stands right under its command counts as shown.
        adjoins = follows is not None and not text[block.end() : follows.start()].strip()
        is_answer = follows is not None and adjoins and follows[1] in ("", "text", "json", "csv")
        found.append(Shown(command, follows[2] if follows is not None and is_answer else None))
    return found


SHOWN = _shown(README)


@pytest.fixture(scope="module")
def path_with_curl(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Environment in which `curl` fails on an HTTP error; a stand-in where there is none."""
    folder = tmp_path_factory.mktemp("curl")
    # curl's own defaults file: no progress meter, an HTTP error is a failure but its body is shown.
    (folder / ".curlrc").write_text("silent\nshow-error\nfail-with-body\nmax-time = 60\n")
    if shutil.which("curl") is None:
        stand_in = Path(__file__).with_name("curl_stand_in.py")
        (folder / "curl").write_text(f'#!/bin/sh\nexec "{sys.executable}" "{stand_in}" "$@"\n')
        (folder / "curl").chmod(0o755)
    path = f"{folder}{os.pathsep}{os.environ['PATH']}"
    return {**os.environ, "CURL_HOME": str(folder), "PATH": path}


@pytest.mark.parametrize("shown", SHOWN, ids=[f"block {n + 1}" for n in range(len(SHOWN))])
def test_a_curl_line_of_the_readme_gives_the_answer_shown(
    shown: Shown, live: Live, path_with_curl: dict[str, str]
) -> None:
    command = shown.command.replace(f"http://{DEFAULT_BIND}", live.address)
    assert live.address in command, "README.md's lines ask the default address"
    run = subprocess.run(
        ["sh", "-e", "-c", command],
        env=path_with_curl,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stdout.endswith("\n"), "a body ends with a newline"
    if shown.answer is not None:
        assert run.stdout.replace(live.address, f"http://{DEFAULT_BIND}") == shown.answer


def test_the_readme_asks_the_demo_question_first_and_shows_its_answer() -> None:
    assert DEMO_PATH in SHOWN[0].command
    assert SHOWN[0].answer is not None


def test_the_readme_names_the_two_commands_and_they_can_be_run() -> None:
    for command in ("deploy/serve", "tests/run"):
        assert f"\n./{command}\n" in README
        assert os.access(ROOT / command, os.X_OK)


def test_every_link_of_the_pages_leads_to_a_file() -> None:
    for page in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / page).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            assert "://" in target or (ROOT / target).exists(), f"{page}: {target}"


def test_the_stand_in_for_curl_refuses_options_it_does_not_know() -> None:
    stand_in = str(Path(__file__).with_name("curl_stand_in.py"))
    command = [sys.executable, stand_in, "--compressed", f"http://{DEFAULT_BIND}/livez"]
    run = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    assert run.returncode == 2
    assert "--compressed" in run.stderr
