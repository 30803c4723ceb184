"""The client against a live server: the tour in its first lines, from the file that is served."""

from __future__ import annotations

import doctest
import html
import importlib.util
import re
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
import requests

from deploy.demo import DEFAULT_BIND
from tests.service.conftest import ROOT, Live, serving

OPTIONS = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS | doctest.IGNORE_EXCEPTION_DETAIL


@pytest.fixture(scope="module")
def fetched(live: Live, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """client.py as a user fetches it, beside nothing else."""
    path = tmp_path_factory.mktemp("fetched") / "client.py"
    with urllib.request.urlopen(f"{live.address}/client.py", timeout=30) as reply:
        assert reply.headers["Content-Type"] == "text/x-python; charset=utf-8"
        path.write_bytes(reply.read())
    return path


@pytest.fixture(scope="module")
def client(fetched: Path) -> ModuleType:
    """The fetched file as the module `client`."""
    spec = importlib.util.spec_from_file_location("client", fetched)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_file_served_is_the_one_of_the_repository(fetched: Path) -> None:
    assert fetched.read_bytes() == (ROOT / "api" / "client.py").read_bytes()


def test_the_tour_of_the_client_does_what_it_shows(
    client: ModuleType, live: Live, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "client", client)
    said: list[str] = []
    examples = 0
    for test in doctest.DocTestFinder().find(client):
        for example in test.examples:
            example.source = example.source.replace(f"http://{DEFAULT_BIND}", live.address)
        result = doctest.DocTestRunner(optionflags=OPTIONS).run(test, out=said.append)
        examples += result.attempted
        assert result.failed == 0, "".join(said)
    assert examples >= 12


def test_the_lines_for_python_in_the_docs_do_what_they_say(fetched: Path, live: Live) -> None:
    page = html.unescape(requests.get(f"{live.address}/docs").text)
    [lines] = re.findall(r"<code>(from client import .*?)</code>", page, re.DOTALL)
    assert lines.count("Stillwood(units") == 1
    asked = lines.replace("Stillwood(units", f'Stillwood("{live.address}", units')
    run = subprocess.run(
        [sys.executable, "-c", asked],
        cwd=fetched.parent,
        capture_output=True,
        text=True,
        check=True,
    )
    # 70 degF at 28 %, between 25 % and 30 % of Wood Handbook FPL-GTR-190 Table 4-2 (printed).
    assert 5.4 < float(run.stdout) < 6.2


def test_the_client_needs_requests_and_the_standard_library_alone(fetched: Path) -> None:
    told = (
        "import sys; before = set(sys.modules); import requests; known = set(sys.modules)\n"
        "import client\n"
        "print(sorted({n.split('.')[0] for n in set(sys.modules) - known}"
        " - sys.stdlib_module_names))"
    )
    run = subprocess.run(
        [sys.executable, "-c", told], cwd=fetched.parent, capture_output=True, text=True, check=True
    )
    assert run.stdout == "['client']\n"


def test_a_batch_gives_what_the_questions_give_one_by_one(client: Any, live: Live) -> None:
    stillwood = client.Stillwood(live.address, units="metric")
    airs = [{"temperature": 21, "relative_humidity": 20 + 0.25 * step} for step in range(250)]
    replies = stillwood.batch([("equilibrium", air) for air in airs], size=64)
    for place in (0, 63, 64, 249):
        assert replies[place] == stillwood.equilibrium(airs[place])


def test_where_nothing_listens_it_says_so(client: Any) -> None:
    # Port 9 (discard) of the loopback address: no service of a test machine.
    stillwood = client.Stillwood("http://127.0.0.1:9", tries=1)
    with pytest.raises(client.Unreachable, match="nothing listens there"):
        stillwood.equilibrium(temperature="21C", relative_humidity=50)


def test_a_limited_rate_slows_the_client_down_but_every_question_is_answered(
    client: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    waits: list[float] = []
    sleep = time.sleep

    def noted(seconds: float) -> None:
        waits.append(seconds)
        sleep(seconds)

    # One worker, since each counts for itself: 8 questions at 4 a second wait at least once.
    with serving(STILLWOOD_RATE="4 per second", STILLWOOD_WORKERS="1") as limited:
        monkeypatch.setattr(time, "sleep", noted)
        stillwood = client.Stillwood(limited.address, units="us")
        replies = [stillwood.equilibrium(temperature=70, relative_humidity=50) for _ in range(8)]
        monkeypatch.undo()
    assert replies == [replies[0]] * 8
    assert waits, "it was never told to wait"


@pytest.mark.slow  # some 5 s
def test_a_long_table_is_answered_in_parts_and_a_bad_row_harms_no_other(
    client: Any, live: Live, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [f"{place},white oak,{400 + place % 500},45,{9 + place % 7},7" for place in range(1500)]
    rows[777] = "777,white oak,four hundred,45,9,7"
    source, target = tmp_path / "slabs.csv", tmp_path / "moved.csv"
    head = "id,slab.species,slab.width [mm],slab.thickness [mm],before,after"
    source.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    stillwood = client.Stillwood(live.address, units="metric")
    counts = stillwood.table("movement", source, target, progress=True, spread="none")
    assert counts == {"200": 1499, "422": 1}
    assert "1500/1500" in capsys.readouterr().err
    lines = target.read_text(encoding="utf-8").splitlines()
    assert [line[: len(row)] for line, row in zip(lines[1:], rows, strict=True)] == rows
    assert lines[778].startswith(f"{rows[777]},422,slab.width: `four hundred` given: not a figure")
    alone = stillwood.movement(
        slab={"species": "white oak", "width": 400 + 499, "thickness": 45},
        before=9 + 1499 % 7,
        after=7,
        spread="none",
    )
    assert str(alone["answer"]["width"]["after"]) in lines[1500].split(",")
