"""A live server as its operator sees it: logs, metrics, tokens taken back, public addresses."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import orjson
import pytest
import requests
from prometheus_client.parser import text_string_to_metric_families

from api.questions import BY_NAME
from tests.service.conftest import ROOT, Live, free_port, serving
from tests.service.proxy import nginx_before

ASK: Final = "/v1/equilibrium?temperature=20C&relative_humidity=50"
# gunicorn's own lines: [time] [process] [level] text.
GUNICORN: Final = re.compile(rb"\[\d{4}-\d\d-\d\d [\d:]+ [+-]\d{4}\] \[\d+\] \[[A-Z]+\] .*")
TOKEN: Final = "token-of-the-operating-test"


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Live, Path]]:
    """A server whose workers these tests may kill, and its folder of counters."""
    folder = tmp_path_factory.mktemp("counters")
    with serving(STILLWOOD_WORKERS="2", PROMETHEUS_MULTIPROC_DIR=str(folder)) as running:
        yield running, folder


def raw(live: Live, *lines: bytes) -> bytes:
    """Send lines as they are; the reply's first line."""
    host, port = live.address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=10) as connection:
        connection.sendall(b"\r\n".join(lines) + b"\r\nHost: a\r\nConnection: close\r\n\r\n")
        told = b""
        while part := connection.recv(65_536):
            told += part
    return told.partition(b"\r\n")[0]


def samples(live: Live) -> dict[str, list[dict[str, str]]]:
    """Labels of all that /metrics tells, by name."""
    text = requests.get(f"{live.address}/metrics", timeout=30).text
    found: dict[str, list[dict[str, str]]] = {}
    for family in text_string_to_metric_families(text):
        for sample in family.samples:
            found.setdefault(sample.name, []).append(sample.labels)
    return found


def total(live: Live, name: str, **labels: str) -> float:
    """Sum of a metric over the series with these labels."""
    text = requests.get(f"{live.address}/metrics", timeout=30).text
    return sum(
        sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
        if sample.name == name and labels.items() <= sample.labels.items()
    )


def ask_a_mixture(live: Live) -> None:
    """A question of every kind, right and wrong, and a batch."""
    for name in ("equilibrium", "air", "movement"):
        body = BY_NAME[name].examples[0].body
        assert requests.post(f"{live.address}/v1/{name}", json=body, timeout=60).ok
    for path in (ASK, "/v1/equilibrium?temperature=x", "/nowhere", "/livez", "/v1/limits", "/"):
        requests.get(live.address + path, timeout=60)
    asked = {"temperature": "20C", "relative_humidity": 50}
    items = [
        {"question": "equilibrium", "body": asked},
        {"question": "equilibrium", "body": asked},
        {"question": "air", "body": {}},
        {"question": "sawdust", "body": {}},
        ["no", "object"],
    ]
    reply = requests.post(f"{live.address}/v1/batch", json={"questions": items}, timeout=60)
    assert [item["status"] for item in reply.json()["items"]] == [200, 200, 422, 422, 422]


def test_every_metric_that_the_dashboard_and_the_page_name_is_there(
    own: tuple[Live, Path],
) -> None:
    live, _ = own
    ask_a_mixture(live)
    told = samples(live)
    dashboard = json.loads((ROOT / "deploy" / "grafana.json").read_text())
    expressions = [target["expr"] for panel in dashboard["panels"] for target in panel["targets"]]
    page = (ROOT / "deploy" / "README.md").read_text()
    documented = {
        name: set(re.findall(r"`(\w+)`", labels))
        for name, labels in re.findall(r"^\| `(stillwood_\w+)` \| (.*?) \|", page, re.MULTILINE)
    }
    for expression in expressions:
        (name,) = set(re.findall(r"stillwood_\w+", expression))
        used = {
            label.strip()
            for listed in re.findall(r"by \(([^)]*)\)", expression)
            for label in listed.split(",")
        } | set(re.findall(r"(\w+)(?:=~|!=|=)\"", expression))
        assert used <= documented[name], expression
    assert documented.keys() == {name for name in told if not name.endswith("_created")}
    for name, labels in documented.items():
        assert all(each.keys() == labels for each in told[name]), name


def test_questions_of_a_batch_are_counted_by_question_and_status(own: tuple[Live, Path]) -> None:
    live, _ = own
    counted = [
        {"question": "equilibrium", "status": "200"},
        {"question": "air", "status": "422"},
        {"question": "none", "status": "422"},
    ]
    before = [total(live, "stillwood_batch_items_total", **labels) for labels in counted]
    ask_a_mixture(live)
    after = [total(live, "stillwood_batch_items_total", **labels) for labels in counted]
    assert [new - old for new, old in zip(after, before, strict=True)] == [2, 1, 2]


def test_what_callers_write_makes_no_new_series(own: tuple[Live, Path]) -> None:
    live, _ = own
    ask_a_mixture(live)
    raw(live, b"SAWDUST /livez HTTP/1.1")
    raw(live, b"SAWDUST /nowhere HTTP/1.1")
    before = samples(live)
    for number in range(20):
        requests.get(f"{live.address}/nowhere/{number}", timeout=10)
        requests.get(f"{live.address}/v1/equilibrium?x{number}=1", timeout=10)
        raw(live, b"SPLINTER%d /livez HTTP/1.1" % number)
        raw(live, b"SPLINTER%d /nowhere HTTP/1.1" % number)
        items = [{"question": f"sawdust-{number}", "body": {}}]
        requests.post(f"{live.address}/v1/batch", json={"questions": items}, timeout=10)
    after = samples(live)
    assert {name: len(labels) for name, labels in after.items()} == {
        name: len(labels) for name, labels in before.items()
    }
    assert "splinter" not in str(after).lower()


def test_counts_go_on_and_files_do_not_pile_up_when_workers_are_replaced(
    own: tuple[Live, Path],
) -> None:
    live, folder = own
    asked = {"route": "/v1/equilibrium", "status": "200", "method": "GET"}
    before = total(live, "stillwood_http_requests_total", **asked)
    for _ in range(5):
        for worker in live.workers:
            os.kill(worker, signal.SIGKILL)
        deadline = time.monotonic() + 20
        answered = 0
        while answered < 4 and time.monotonic() < deadline:
            try:
                answered += requests.get(live.address + ASK, timeout=10).status_code == 200
            except requests.ConnectionError:
                time.sleep(0.05)  # met a killed worker
        assert answered == 4
    # A reply that a kill cut off may have been counted and not received: none here, as nothing was
    # under way at a kill.
    assert total(live, "stillwood_http_requests_total", **asked) - before == 20
    # Master and two workers, one more while an ended one is not yet gone; three kinds of files.
    assert len(list(folder.glob("*.db"))) <= 4 * 3
    assert total(live, "stillwood_build_info") == 1


HOSTILE: Final = (
    (b"GET /a%0a%0d{%22event%22:%22forged%22} HTTP/1.1",),
    (b"GET /%1b[31mred%9b31m%c2%9b%e2%80%a8 HTTP/1.1",),
    (b"GET /\x85\xe2\x80\xa8 HTTP/1.1",),
    (b"GET /" + b"long" * 1500 + b" HTTP/1.1",),
    (b"GET /livez HTTP/1.1", b"X-Request-ID: a\nforged"),
    (b"GET /livez HTTP/1.1", b"X-Request-ID: a\rforged"),
    (b"GET /livez HTTP/1.1", b"X-Request-ID: a\r\n b"),
    (b"GET /livez HTTP/1.1", b"X-Request-ID: a\x00b\x1b[31m"),
    (b"GET /livez HTTP/1.1", b"X-Request-ID: \xc2\x85forged"),
    (b"GET /livez HTTP/1.1", b"X-Request-ID: a", b"X-Request-ID: b"),
    (b"GET /livez HTTP/1.1", b"traceparent: 00-\x1b[31m"),
    (b"G\x1b[31mT /livez HTTP/1.1",),
    (b"GET /livez\x0bforged HTTP/1.1",),
    (b"GET /livez HTTP/1.1\x0b",),
)


@pytest.mark.parametrize("lines", HOSTILE, ids=lambda lines: ascii(lines[-1])[2:40])
def test_nothing_a_caller_sends_acts_on_the_log(
    own: tuple[Live, Path], lines: tuple[bytes, ...]
) -> None:
    live, _ = own
    before = live.log.stat().st_size
    raw(live, *lines)
    requests.get(f"{live.address}/livez", headers={"X-Request-ID": "after"}, timeout=10)
    logged = live.log.read_bytes()[before:]
    assert b'"after"' in logged
    for line in logged.splitlines():
        # No control of a terminal, and no sign that some take for a newline.
        assert line.decode().isprintable(), line
        if line.startswith(b"{"):
            assert line.isascii()
            told = orjson.loads(line)
            assert told["event"] == "request"
            assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._:-]{0,63}", told["request_id"])
            assert len(told["path"]) <= 3 * 300
        else:
            assert GUNICORN.fullmatch(line), line


def test_a_request_is_found_in_the_log_by_its_id_and_trace(own: tuple[Live, Path]) -> None:
    live, _ = own
    trace = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"
    head = {"X-Request-ID": "shop:17", "traceparent": trace}
    reply = requests.get(live.address + ASK, headers=head, timeout=10)
    assert reply.headers["X-Request-ID"] == "shop:17"
    assert reply.headers["traceparent"] == trace
    lines = [
        orjson.loads(each) for each in live.log.read_bytes().splitlines() if b"shop:17" in each
    ]
    (line,) = lines
    assert line["traceparent"] == trace
    assert line["bytes"] == len(reply.content)
    made = requests.get(f"{live.address}/livez", timeout=10).headers["X-Request-ID"]
    assert re.fullmatch("[0-9a-f]{32}", made)


def test_a_token_taken_out_of_the_file_is_refused_by_every_worker(tmp_path: Path) -> None:
    file = tmp_path / "tokens"
    file.write_text(TOKEN)
    with serving(STILLWOOD_WORKERS="2", STILLWOOD_TOKENS_FILE=str(file)) as running:

        def codes() -> set[int]:
            # A connection of its own for each, so that both workers get some.
            head = {"Authorization": f"Bearer {TOKEN}", "Connection": "close"}
            return {
                requests.get(running.address + ASK, headers=head, timeout=10).status_code
                for _ in range(20)
            }

        assert codes() == {200}
        file.write_text(f"another-{TOKEN}")
        time.sleep(1.5)  # api/access.py looks again after a second
        assert codes() == {401}
        file.write_text(TOKEN)
        time.sleep(1.5)
        assert codes() == {200}
        for path in ("/livez", "/readyz"):
            assert requests.get(running.address + path, timeout=10).status_code == 200
        assert TOKEN.encode() not in running.log.read_bytes()


def _start(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Start the server and wait for its end, which must come by itself."""
    kept = {name: text for name, text in os.environ.items() if not name.startswith("STILLWOOD_")}
    command = [sys.executable, "-m", "gunicorn", "-c", "deploy/gunicorn.conf.py", *arguments]
    return subprocess.run(
        command,
        cwd=ROOT,
        env=kept | {"OPENBLAS_NUM_THREADS": "1"} | environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


@pytest.mark.parametrize(
    ("way", "host"),
    [
        ("setting", "[::]"),
        ("GUNICORN_CMD_ARGS", "0.0.0.0"),
        ("command line", "[::]"),
        ("second of two", "0.0.0.0"),
    ],
)
def test_a_public_address_without_tokens_is_refused_whoever_names_it(way: str, host: str) -> None:
    bind = f"{host}:{free_port()}"
    arguments: list[str] = []
    environment: dict[str, Any] = {}
    match way:
        case "setting":
            environment["STILLWOOD_BIND"] = bind
        case "GUNICORN_CMD_ARGS":
            environment["GUNICORN_CMD_ARGS"] = f"--bind {bind}"
        case "command line":
            arguments = ["--bind", bind]
        case _:
            arguments = ["--bind", f"127.0.0.1:{free_port()}", "--bind", bind]
    ended = _start(*arguments, **environment)
    assert ended.returncode == 1
    said = ended.stderr.strip().splitlines()[-1]
    assert said.startswith("stillwood: ")
    assert "no token is set" in said
    assert "STILLWOOD_OPEN=yes" in said
    assert "Traceback" not in ended.stderr


def test_a_socket_handed_over_is_looked_at_too() -> None:
    with socket.socket() as listener:
        listener.bind(("0.0.0.0", 0))
        listener.listen()
        os.set_inheritable(listener.fileno(), True)
        command = [sys.executable, "-m", "gunicorn", "-c", "deploy/gunicorn.conf.py"]
        kept = {n: text for n, text in os.environ.items() if not n.startswith("STILLWOOD_")}
        ended = subprocess.run(
            [*command, "--bind", f"fd://{listener.fileno()}"],
            cwd=ROOT,
            env=kept | {"OPENBLAS_NUM_THREADS": "1"},
            pass_fds=[listener.fileno()],
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
    assert ended.returncode == 1
    assert "no token is set" in ended.stderr.splitlines()[-1]


if shutil.which("nginx") and shutil.which("openssl"):

    def test_the_lines_for_tls_of_the_operators_page_work(live: Live, tmp_path: Path) -> None:
        page = (ROOT / "deploy" / "README.md").read_text()
        (lines,) = re.findall(r"```nginx\n(.*?)```", page, re.DOTALL)
        made = "req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost"
        made += " -addext subjectAltName=DNS:localhost -keyout key.pem -out fullchain.pem"
        subprocess.run(["openssl", *made.split()], cwd=tmp_path, check=True, capture_output=True)
        port = free_port()
        lines = lines.replace("8443", f"127.0.0.1:{port}")
        lines = lines.replace("/etc/nginx/tls", str(tmp_path))
        with nginx_before([live.address], tmp_path):
            site = tmp_path / "site.conf"
            text, times = re.subn(r"listen [^;]+;\n", lambda m: m[0] + lines, site.read_text())
            assert times == 1
            site.write_text(text)
            again = ["nginx", "-p", str(tmp_path), "-e", f"{tmp_path}/error.log"]
            again += ["-c", str(tmp_path / "nginx.conf"), "-s", "reload"]
            subprocess.run(again, check=True, capture_output=True)
            deadline = time.monotonic() + 20
            while True:
                try:
                    reply = requests.get(
                        f"https://localhost:{port}{ASK}",
                        verify=str(tmp_path / "fullchain.pem"),
                        timeout=20,
                    )
                    break
                except requests.ConnectionError:
                    assert time.monotonic() < deadline, (tmp_path / "error.log").read_text()
                    time.sleep(0.1)
        assert reply.status_code == 200
        assert reply.headers["Strict-Transport-Security"] == "max-age=31536000"
