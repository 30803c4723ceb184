"""Starting, reloading and stopping in odd surroundings; what is refused is refused by name."""

from __future__ import annotations

import http.client
import itertools
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest
import requests

from api import limits
from api.app import create_app
from api.settings import BadSetting, Settings
from deploy import demo
from tests.service.conftest import ROOT, STOP_SECONDS, Live, free_port, serving
from tests.service.heavy import course
from tests.service.traffic import Connection

ASK: Final = "/v1/equilibrium?temperature=20C&relative_humidity=50"
GRACE: Final = 30.0  # s, deploy/gunicorn.conf.py
SHARED: Final = Path("/dev/shm")
to_share = pytest.mark.skipif(not os.access(SHARED, os.W_OK), reason="no memory to share")


def started(**environment: str) -> subprocess.CompletedProcess[str]:
    """The end of a start that must end by itself."""
    kept = {name: text for name, text in os.environ.items() if not name.startswith("STILLWOOD_")}
    kept |= {"STILLWOOD_BIND": f"127.0.0.1:{free_port()}", "OPENBLAS_NUM_THREADS": "1"}
    return subprocess.run(
        [sys.executable, "-m", "gunicorn", "-c", "deploy/gunicorn.conf.py"],
        cwd=ROOT,
        env=kept | environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def refusal(**environment: str) -> str:
    """The one line with which a start with these settings is refused."""
    ended = started(**environment)
    assert ended.returncode == 1
    said = ended.stderr.strip().splitlines()
    assert "Traceback" not in ended.stderr
    return said[-1]


def test_it_listens_at_several_addresses_and_at_a_unix_socket(tmp_path: Path) -> None:
    first, second, path = free_port(), free_port(), tmp_path / "socket"
    bind = f"127.0.0.1:{first}, 127.0.0.1:{second} unix:{path}"
    with serving(first, STILLWOOD_BIND=bind, STILLWOOD_WORKERS="1") as running:
        for port in (first, second):
            assert requests.get(f"http://127.0.0.1:{port}{ASK}", timeout=30).status_code == 200
        assert demo.fetch(f"unix:{path}", "/readyz").startswith("ready")
        # A long question and a rate need to know who asks, which a unix socket does not tell.
        assert "settle" in demo.fetch(f"unix:{path}", demo.DEMO_PATH)
        assert running.log.read_text().count("Listening at") == 1
    assert not path.exists()


def test_the_start_script_asks_over_a_unix_socket_where_there_is_nothing_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bind = f"unix:{tmp_path}/socket"
    port = free_port()
    assert demo.check(bind) == 0
    with serving(port, STILLWOOD_BIND=f"{bind},127.0.0.1:{port}", STILLWOOD_WORKERS="1"):
        assert demo.check(bind) == 1
        assert demo.ask(bind, None) == 0
    said = capsys.readouterr()
    assert f"curl --unix-socket {tmp_path}/socket 'http://localhost/v1/settle?" in said.out
    assert "already in use" in said.err
    assert demo.check(f"unix:{tmp_path}/nowhere/socket") == 1


@pytest.mark.parametrize(
    ("bind", "base"),
    [
        ("127.0.0.1:1", "http://127.0.0.1:1"),
        (" 127.0.0.1:1 ,[::1]:2", "http://127.0.0.1:1"),
        ("unix:/run/a 0.0.0.0:7", "http://127.0.0.1:7"),
        ("[::]:7", "http://[::1]:7"),
        ("unix:/run/a,unix:/run/b", "unix:/run/a"),
    ],
)
def test_of_several_addresses_the_first_with_a_port_is_asked(bind: str, base: str) -> None:
    assert demo.base_address(bind) == base


@pytest.mark.parametrize("bind", ["127.0.0.1:²", "127.0.0.1:٣٣٣٣", "127.0.0.1:0", "a:99999", ":x"])
def test_what_is_no_port_is_told(bind: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert demo.check(f"127.0.0.1:{free_port()},{bind}") == 1
    assert "give an address and a port" in capsys.readouterr().err


@pytest.mark.parametrize("workers", ["²", "٣", "1_0"])
def test_a_number_is_written_in_plain_digits(workers: str) -> None:
    assert refusal(STILLWOOD_WORKERS=workers).endswith("give a whole number from 1 to 256")


def _year() -> str:
    """A weather file of one whole year, as short as the format allows."""
    head = ["LOCATION,Home,-,USA,own,0,46.8,-92.2,-6.0,200.0"]
    head += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    head += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", "COMMENTS 2,"]
    head += ["DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    rows = [
        f"2001,{month},{day},{hour},0,x,5.0,0.0,70" + ",0" * 26
        for month, count in enumerate(days, start=1)
        for day in range(1, count + 1)
        for hour in range(1, 25)
    ]
    return "\n".join([*head, *rows]) + "\n"


YEAR: Final = _year()


def _text(text: str) -> Callable[[Path], object]:
    return lambda file: file.write_text(text, encoding="utf-8", newline="")


ODD: Final[dict[str, tuple[Callable[[Path], object], str]]] = {
    "a folder": (lambda file: file.mkdir(), "no file"),
    "a dangling link": (lambda file: file.symlink_to("nowhere"), "cannot be read"),
    "a link to itself": (lambda file: file.symlink_to(file), "cannot be read"),
    "a pipe": (lambda file: os.mkfifo(file), "no file"),
    "a device": (lambda file: file.symlink_to("/dev/zero"), "no file"),
    "nothing in it": (lambda file: file.touch(), "begins with LOCATION"),
    "zeros": (lambda file: file.write_bytes(bytes(4096)), "begins with LOCATION"),
    "a hole of 10 GB": (lambda file: os.truncate(_touched(file), 10**10), "bytes"),
    "a place with an escape": (_text(YEAR.replace("Home", "Ho\x1b[31mme")), "cannot be printed"),
    "a place with a line separator": (_text(YEAR.replace("Home", "Ho\u2028me")), "be printed"),
    "a place with a next line": (_text(YEAR.replace("Home", "Ho\x85me")), "be printed"),
    "a place with a zero": (_text(YEAR.replace("Home", "Ho\0me")), "be printed"),
    "lines that end otherwise": (_text(YEAR.replace("\n", "\x85")), "LOCATION"),
}


def _touched(file: Path) -> Path:
    file.touch()
    return file


@pytest.mark.parametrize("kind", ODD)
def test_an_odd_weather_file_is_refused_by_its_name(tmp_path: Path, kind: str) -> None:
    make, word = ODD[kind]
    make(tmp_path / "odd.epw")
    with pytest.raises(BadSetting) as told:
        create_app(Settings(epw_folder=tmp_path))
    said = str(told.value)
    assert said.startswith("STILLWOOD_EPW_FOLDER: odd.epw, line 1: "), said
    assert word in said
    assert said.isprintable()


def test_a_weather_file_with_an_odd_name_is_refused_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "two\nlines\x1b.epw").write_text(YEAR)
    said = refusal(STILLWOOD_EPW_FOLDER=str(tmp_path))
    assert r"two\nlines\x1b.epw" in said
    assert "cannot be printed" in said


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_sound_weather_file_is_taken_whatever_its_comments_hold(
    tmp_path: Path, ends: str
) -> None:
    text = YEAR.replace("COMMENTS 1,", "COMMENTS 1,a\u2028b\x85c\x0cd\x1c").replace("\n", ends)
    (tmp_path / "home.epw").write_text(text, newline="")
    with serving(STILLWOOD_EPW_FOLDER=str(tmp_path), STILLWOOD_WORKERS="1") as running:
        found = requests.get(f"{running.address}/v1/climates?q=home", timeout=30).json()
    assert "epw-home" in [each["id"] for each in found["climates"]]


def test_a_pipe_of_tokens_is_refused_and_does_not_hang(tmp_path: Path) -> None:
    for make in (lambda file: os.mkfifo(file), lambda file: file.mkdir()):
        file = tmp_path / f"tokens{len(list(tmp_path.iterdir()))}"
        make(file)
        assert "give a file, which can be read again" in refusal(STILLWOOD_TOKENS_FILE=str(file))


def test_a_pipe_in_place_of_the_tokens_lets_nobody_in_and_holds_nobody(tmp_path: Path) -> None:
    file, token = tmp_path / "tokens", "token-of-the-starting-test"
    file.write_text(token)
    with serving(STILLWOOD_TOKENS_FILE=str(file), STILLWOOD_WORKERS="1") as running:
        head = {"Authorization": f"Bearer {token}"}
        assert requests.get(running.address + ASK, headers=head, timeout=10).status_code == 200
        file.unlink()
        os.mkfifo(file)
        time.sleep(1.5)
        assert requests.get(running.address + ASK, headers=head, timeout=10).status_code == 401
        assert requests.get(f"{running.address}/livez", timeout=10).status_code == 200


@pytest.mark.parametrize("sent", ["SCRIPT_NAME: /v1", "PATH_INFO: /livez", "SCRIPT-NAME: /v1"])
def test_no_header_changes_the_path(live: Live, sent: str) -> None:
    name, _, value = sent.partition(": ")
    host, port = live.address.removeprefix("http://").split(":")
    connection = http.client.HTTPConnection(host, int(port), timeout=30)
    connection.request("GET", ASK, headers={name: value})
    reply = connection.getresponse()
    body = reply.read()
    connection.close()
    assert reply.status == 200
    assert b'"mean"' in body


def test_under_a_path_of_its_own_tokens_guard_the_same() -> None:
    token = "token-of-the-starting-test"
    path = f"/wood{ASK}"
    with serving(STILLWOOD_TOKENS=token, STILLWOOD_WORKERS="1", SCRIPT_NAME="/wood") as running:
        assert requests.get(running.address + path, timeout=30).status_code == 401
        head = {"Authorization": f"Bearer {token}"}
        assert requests.get(running.address + path, headers=head, timeout=30).status_code == 200


def _counters_of(live: Live) -> Path:
    """The folder of a service's counters, by the lock that its master holds there."""
    (lock,) = {
        target
        for each in Path(f"/proc/{live.process.pid}/fd").iterdir()
        if (target := os.readlink(each)).endswith("/owner.lock")
    }
    return Path(lock).parent


@to_share
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT, signal.SIGQUIT])
def test_nothing_is_left_in_shared_memory(how: signal.Signals) -> None:
    with serving(STILLWOOD_WORKERS="1") as running:
        made = _counters_of(running)
        assert made.parent == SHARED
        assert requests.get(running.address + ASK, timeout=30).status_code == 200
        os.kill(running.process.pid, how)
        running.process.wait(timeout=STOP_SECONDS)
    assert not made.exists()


@to_share
def test_what_a_killed_master_left_is_tidied_up_by_the_next_start() -> None:
    # It leaves alone what belongs to others.
    with serving(killed=True, STILLWOOD_WORKERS="1") as running:
        made = _counters_of(running)
        running.kill()
    assert made.exists()
    with serving(STILLWOOD_WORKERS="1") as other:
        assert not made.exists()
        mine = _counters_of(other)
        with serving(STILLWOOD_WORKERS="1") as another:
            assert _counters_of(another) != mine
        assert mine.exists()
        assert requests.get(f"{other.address}/metrics", timeout=30).status_code == 200
    assert not mine.exists()


def _counted(live: Live) -> float:
    text = requests.get(f"{live.address}/metrics", timeout=30).text
    line = (
        r'^stillwood_http_requests_total{method="GET",route="/v1/equilibrium",status="200"} (\S+)$'
    )
    found = re.search(line, text, re.MULTILINE)
    return float(found[1]) if found else 0.0


def test_a_reload_replaces_the_workers_and_loses_neither_counts_nor_replies() -> None:
    with serving(STILLWOOD_WORKERS="2") as running:
        for _ in range(20):
            assert requests.get(running.address + ASK, timeout=30).status_code == 200
        before, counted = set(running.workers), _counted(running)
        assert counted == 20
        told: Counter[int] = Counter()
        over = threading.Event()

        def ask() -> None:
            while not over.is_set():
                # A caller as a browser is one: a kept connection that was closed is opened anew.
                told[requests.get(running.address + ASK, timeout=30).status_code] += 1

        asking = threading.Thread(target=ask)
        asking.start()
        running.process.send_signal(signal.SIGHUP)
        deadline = time.monotonic() + 30.0
        while before & set(running.workers) or len(running.workers) != 2:
            assert time.monotonic() < deadline, "the workers are not replaced"
            time.sleep(0.05)
        over.set()
        asking.join()
        assert told.keys() == {200}
        assert _counted(running) == counted + told[200]


@pytest.mark.slow
def test_a_stop_with_a_full_line_of_heavy_questions_is_over_in_time() -> None:
    """All that was accepted is answered or told to come back, and nothing stays behind."""
    numbers = itertools.count()
    told: Counter[int] = Counter()
    with serving(STILLWOOD_WORKERS="2", STILLWOOD_LOG="off") as running:

        def ask() -> None:
            connection = Connection(running.address)
            try:
                status, body = connection.ask(course(next(numbers)).written())
            except ConnectionError:
                told[0] += 1  # not accepted: the connection came when it listened no more
            else:
                told[status] += 1
                assert status in (200, 503), body[:300]
            finally:
                connection.close()

        threads = [threading.Thread(target=ask) for _ in range(60)]
        for thread in threads:
            thread.start()
        time.sleep(2.0)
        begun = time.monotonic()
        running.process.terminate()
        assert running.process.wait(timeout=STOP_SECONDS) == 0
        took = time.monotonic() - begun
        for thread in threads:
            thread.join()
    print(f"\nstopped after {took:.1f} s; 60 heavy questions under way: {dict(told)}")
    assert took < limits.ANSWERED_SECONDS
    assert took < GRACE
    assert told[200] >= 2
    assert told[0] == 0
