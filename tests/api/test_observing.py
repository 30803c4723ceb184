"""What an operator sees of every request: ids, log lines, counters."""

from __future__ import annotations

import re
from typing import Any

import orjson
import pytest
from flask.testing import FlaskClient

from model import MODEL_VERSION
from model.surroundings import house
from tests.api.conftest import TABLE

ASK = "/v1/equilibrium?temperature=70F&relative_humidity=50"
TRACE = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"


def lines_of(capfd: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    return [orjson.loads(line) for line in capfd.readouterr().err.splitlines()]


def test_a_request_id_of_the_caller_comes_back_and_stands_in_the_log(
    client: FlaskClient, capfd: pytest.CaptureFixture[str]
) -> None:
    head = {"X-Request-ID": "shop-17.a", "traceparent": TRACE}
    reply = client.get(ASK, headers=head)
    assert reply.headers["X-Request-ID"] == "shop-17.a"
    assert reply.headers["traceparent"] == TRACE
    (line,) = lines_of(capfd)
    assert line["request_id"] == "shop-17.a"
    assert line["traceparent"] == TRACE
    assert line["route"] == line["path"] == "/v1/equilibrium"
    assert line["status"] == 200
    assert line["method"] == "GET"
    assert line["bytes"] == len(reply.data)
    assert line["milliseconds"] > 0
    assert "70F" not in str(line)


@pytest.mark.parametrize("given", ["", "a b", "x" * 65, 'a"b', "<script>", "-x", "é"])
def test_an_id_that_could_harm_a_log_is_replaced(client: FlaskClient, given: str) -> None:
    told = client.get("/livez", headers={"X-Request-ID": given}).headers["X-Request-ID"]
    assert re.fullmatch("[0-9a-f]{32}", told)


def test_every_request_without_an_id_gets_its_own(client: FlaskClient) -> None:
    told = {client.get("/livez").headers["X-Request-ID"] for _ in range(100)}
    assert len(told) == 100


@pytest.mark.parametrize(
    "given", ["", "1", TRACE.upper(), TRACE + "x", "00-" + "0" * 32 + TRACE[35:]]
)
def test_a_trace_that_is_none_is_not_passed_on(client: FlaskClient, given: str) -> None:
    assert "traceparent" not in client.get("/livez", headers={"traceparent": given}).headers


def test_a_failure_is_logged_with_its_request_and_told_to_nobody_else(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*given: Any, **living: Any) -> Any:
        raise RuntimeError("secret of the inside")

    monkeypatch.setattr(house, "from_climate", broken)
    reply = client.post("/v1/room", json={"room": TABLE["room"]})
    assert reply.status_code == 500
    assert "secret" not in reply.text
    assert reply.headers["X-Request-ID"]
    (record,) = caplog.records
    assert record.exc_info is not None
    assert "secret" in str(record.exc_info[1])


def value_of(text: str, line: str) -> float:
    found = re.search(rf"^{re.escape(line)} (\S+)$", text, re.MULTILINE)
    return float(found[1]) if found else 0.0


def test_requests_are_counted_by_route_and_never_by_what_a_caller_wrote(
    client: FlaskClient,
) -> None:
    counted = 'stillwood_http_requests_total{method="GET",route="%s",status="%d"}'
    lines = (
        counted % ("/v1/equilibrium", 200),
        counted % ("/v1/equilibrium", 422),
        counted % ("/problems/<name>", 404),
        counted % ("none", 404),
        'stillwood_http_request_seconds_count{route="/v1/equilibrium"}',
    )
    before = client.get("/metrics").text
    for path in (ASK, ASK, "/v1/equilibrium?x=1", "/problems/sawdust", "/sawdust", "/splinter"):
        client.get(path)
    client.open("/livez", method="SAWDUST")
    reply = client.get("/metrics")
    assert reply.content_type.startswith("text/plain")
    rises = [value_of(reply.text, line) - value_of(before, line) for line in lines]
    assert rises == [2, 1, 1, 2, 3]
    assert "sawdust" not in reply.text.lower()
    [build] = [line for line in reply.text.splitlines() if "build_info{" in line]
    assert build.startswith(f'stillwood_build_info{{model="{MODEL_VERSION}"')
    assert build.endswith(" 1.0")
