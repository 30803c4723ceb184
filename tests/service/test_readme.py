"""README.md does what it says: every curl line is run, every answer shown is the one given."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import requests

from deploy.demo import DEFAULT_BIND, DEMO_PATH
from tests.service.conftest import ROOT, Live
from tests.service.readme import PAGE, Shown, asked, environment_with_curl, shown_in

README = PAGE.read_text(encoding="utf-8")
SHOWN = shown_in(README)


@pytest.fixture(scope="module")
def with_curl(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Environment in which README.md's lines run."""
    return environment_with_curl(tmp_path_factory.mktemp("curl"))


@pytest.mark.parametrize("shown", SHOWN, ids=[f"block {n + 1}" for n in range(len(SHOWN))])
def test_a_curl_line_of_the_readme_gives_the_answer_shown(
    shown: Shown, live: Live, with_curl: dict[str, str]
) -> None:
    assert f"http://{DEFAULT_BIND}/" in shown.command, "README.md's lines ask the default address"
    answer = asked(shown.command, live.address, with_curl)
    assert answer.endswith("\n"), "a body ends with a newline"
    if shown.answer is not None:
        assert answer == shown.answer


def test_every_line_that_asks_the_service_is_in_a_block_that_is_run() -> None:
    lines = [line for line in README.splitlines() if line.startswith("curl")]
    assert len(lines) == sum(shown.command.count("curl ") for shown in SHOWN)
    assert len(SHOWN) >= 5


def test_the_readme_asks_the_demo_question_first_and_shows_its_answer() -> None:
    assert DEMO_PATH in SHOWN[0].command
    assert SHOWN[0].answer is not None


def test_the_lines_for_python_do_what_they_say(live: Live, tmp_path: Path) -> None:
    (tmp_path / "client.py").write_bytes(requests.get(f"{live.address}/client.py").content)
    [lines] = re.findall(r"^```python\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    assert f'"http://{DEFAULT_BIND}"' in lines
    run = subprocess.run(
        [sys.executable, "-c", lines.replace(f"http://{DEFAULT_BIND}", live.address)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    reason, gap = run.stdout.splitlines()
    assert "wetter than it will settle to" in reason
    assert gap.endswith("} in")


def test_the_readme_names_the_two_commands_and_they_can_be_run() -> None:
    for command in ("deploy/serve", "tests/run"):
        assert f"\n./{command}\n" in README
        assert os.access(ROOT / command, os.X_OK)


def test_every_link_of_the_pages_leads_to_a_file() -> None:
    for page in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / page).read_text(encoding="utf-8")
        for target in re.findall(r"\]\(([^)#]+)\)", text):
            assert "://" in target or (ROOT / target).exists(), f"{page}: {target}"


def test_every_file_the_developers_page_names_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = re.findall(r"`((?:api|model|tests|openapi|deploy|\.ci)/[\w./-]*)`", text)
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_a_page_is_read_block_by_block() -> None:
    page = (
        "```sh\ncurl a\n```\n\n```text\none\n```\n```sh\ncurl b\n```\nnot shown:\n```\ntwo\n```\n"
    )
    assert [(each.command, each.answer) for each in shown_in(page)] == [
        ("curl a\n", "one\n"),
        ("curl b\n", None),
    ]


def test_the_stand_in_for_curl_refuses_options_it_does_not_know() -> None:
    stand_in = str(Path(__file__).with_name("curl_stand_in.py"))
    command = [sys.executable, stand_in, "--compressed", f"http://{DEFAULT_BIND}/livez"]
    run = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    assert run.returncode == 2
    assert "--compressed" in run.stderr
