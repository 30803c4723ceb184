"""Who may ask: tokens, public addresses, rates, origins, and the headers of every reply."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api import settings
from api.access import Tokens
from api.app import create_app
from api.settings import BadSetting, Settings

ASK = "/v1/equilibrium?temperature=70F&relative_humidity=50"
ONE = "first-token-of-the-shop-aaaa"
TWO = "second-token-of-the-shop-bbb"


def client_of(**environment: str) -> FlaskClient:
    told = {f"STILLWOOD_{name}": text for name, text in environment.items()}
    return create_app(settings.read({"STILLWOOD_LOG": "off", **told})).test_client()


def with_token(client: FlaskClient, token: str, path: str = ASK) -> int:
    return client.get(path, headers={"Authorization": f"Bearer {token}"}).status_code


def test_without_tokens_everybody_on_this_machine_may_ask() -> None:
    assert client_of().get(ASK).status_code == 200


@pytest.mark.parametrize("bind", ["0.0.0.0:8321", "[::]:8321", ":8321", "127.0.0.1:1,10.0.0.7:2"])
def test_a_public_address_without_tokens_stops_the_start(bind: str) -> None:
    with pytest.raises(BadSetting, match="STILLWOOD_TOKENS_FILE, or STILLWOOD_OPEN=yes"):
        client_of(BIND=bind)
    assert client_of(BIND=bind, OPEN="yes").get(ASK).status_code == 200
    assert client_of(BIND=bind, TOKENS=ONE).get(ASK).status_code == 401


@pytest.mark.parametrize("bind", ["127.0.0.1:8321", "localhost:1", "[::1]:8321", "unix:/run/x"])
def test_an_address_of_this_machine_starts_open(bind: str) -> None:
    assert client_of(BIND=bind).get(ASK).status_code == 200


def test_each_of_several_tokens_may_ask_and_no_other() -> None:
    client = client_of(TOKENS=f"{ONE}, {TWO}")
    assert with_token(client, ONE) == with_token(client, TWO) == 200
    for wrong in (ONE[:-1], ONE + "x", ONE.upper(), TWO[::-1], "x", "é"):
        assert with_token(client, wrong) == 401
    for scheme in (f"Basic {ONE}", ONE, "Bearer", f"Bearer {ONE} {TWO}", "Bearer ,"):
        assert client.get(ASK, headers={"Authorization": scheme}).status_code == 401
    assert client.get(f"{ASK}&token={ONE}").status_code == 401


def test_a_refusal_says_how_to_show_a_token() -> None:
    client = client_of(TOKENS=ONE)
    none = client.get(ASK)
    assert none.content_type == "application/problem+json"
    assert none.get_json()["type"] == "/problems/not-authorised"
    assert none.headers["WWW-Authenticate"] == 'Bearer realm="stillwood"'
    assert none.headers["Cache-Control"] == "no-store"
    wrong = client.get(ASK, headers={"Authorization": f"Bearer {TWO}"})
    assert 'error="invalid_token"' in wrong.headers["WWW-Authenticate"]
    assert TWO not in wrong.text


def test_tokens_guard_answers_and_counters_but_not_health_and_documents() -> None:
    client = client_of(TOKENS=ONE)
    for path in ("/v1/species", "/v1/limits", "/metrics", "/v1/nothing-here"):
        assert client.get(path).status_code == 401
    assert client.post("/v1/batch", json={"questions": []}).status_code == 401
    for path in ("/livez", "/readyz", "/", "/openapi.json", "/problems"):
        assert client.get(path).status_code == 200


def test_a_file_of_tokens_is_read_again_so_that_a_token_can_be_revoked(tmp_path: Path) -> None:
    file = tmp_path / "tokens"
    file.write_text(f"# the shop\n{ONE}  # laptop\n{TWO}\n")
    now = [0.0]
    tokens = Tokens((), file, lambda: now[0])
    assert tokens
    assert tokens.holder(ONE)
    assert tokens.holder(TWO)
    assert tokens.holder(ONE) != tokens.holder(TWO)
    file.write_text(f"{TWO}\n")
    now[0] = 1.0
    assert tokens.holder(ONE) is None
    assert tokens.holder(TWO)
    # A file that cannot be used lets nobody in, and a good one is taken up again.
    for broken in ("too-short\n", ""):
        file.write_text(broken)
        now[0] += 1.0
        assert tokens.holder(TWO) is None
    file.unlink()
    now[0] += 1.0
    assert tokens
    assert tokens.holder(TWO) is None
    file.write_text(f"{ONE}\n")
    now[0] += 1.0
    assert tokens.holder(ONE)


def test_tokens_of_the_environment_outlive_those_of_the_file(tmp_path: Path) -> None:
    file = tmp_path / "tokens"
    file.write_text(TWO)
    client = client_of(TOKENS=ONE, TOKENS_FILE=str(file))
    assert with_token(client, ONE) == with_token(client, TWO) == 200
    os.unlink(file)
    assert with_token(client, ONE) == 200


@pytest.mark.parametrize(
    ("name", "text", "word"),
    [
        ("TOKENS", "short", "20 or more letters"),
        ("TOKENS", "  ,", "no token"),
        ("TOKENS", "ünglücklich-gewählter-schlüssel", "20 or more"),
        ("TOKENS_FILE", "/nowhere/tokens", "cannot be read"),
        ("OPEN", "maybe", "yes or no"),
        ("ORIGINS", "shop.example", "https://shop.example"),
        ("ORIGINS", "https://shop.example/page", "no origin"),
        ("RATE", "fast", "120 per minute"),
        ("PROXIES", "many", "0 to 9"),
        ("LOG", "loud", "json or off"),
        ("TOKEN", ONE, "no such setting"),
    ],
)
def test_a_bad_setting_stops_the_start_with_a_line_that_tells_no_secret(
    name: str, text: str, word: str
) -> None:
    with pytest.raises(BadSetting, match=word) as told:
        client_of(**{name: text})
    assert str(told.value).startswith(f"STILLWOOD_{name}")
    if name == "TOKENS":
        assert text.strip(" ,") == "" or text not in str(told.value)


def test_more_requests_than_the_rate_are_told_when_to_come_back() -> None:
    client = client_of(RATE="3 per minute")
    assert [client.get(ASK).status_code for _ in range(4)] == [200, 200, 200, 429]
    refused = client.get(ASK)
    assert refused.content_type == "application/problem+json"
    assert refused.get_json()["type"] == "/problems/too-many-requests"
    assert 1 <= int(refused.headers["Retry-After"]) <= 61
    assert len(refused.headers.getlist("Retry-After")) == 1
    # A balancer and Prometheus are not counted, nor is another caller's allowance touched.
    assert client.get("/livez").status_code == 200
    assert client.get("/metrics").status_code == 200
    other = client.get(ASK, environ_overrides={"REMOTE_ADDR": "127.0.0.2"})
    assert other.status_code == 200


def test_the_rate_counts_each_token_for_itself_and_wrong_ones_by_address() -> None:
    client = client_of(RATE="2 per minute", TOKENS=f"{ONE} {TWO}")
    assert [with_token(client, ONE) for _ in range(3)] == [200, 200, 429]
    assert [with_token(client, TWO) for _ in range(3)] == [200, 200, 429]
    guesses = [with_token(client, f"guess-number-{n}-{'x' * 20}") for n in range(3)]
    assert guesses == [401, 401, 429]


def test_an_address_told_by_a_proxy_counts_only_when_proxies_are_set() -> None:
    for proxies, last in (("0", 429), ("1", 200)):
        client = client_of(RATE="1 per minute", PROXIES=proxies)
        codes = [
            client.get(ASK, headers={"X-Forwarded-For": f"10.0.0.{n}"}).status_code
            for n in range(2)
        ]
        assert codes == [200, last]


def test_pages_of_the_origins_set_may_ask_and_others_may_not() -> None:
    client = client_of(ORIGINS="https://shop.example", TOKENS=ONE)
    asked: dict[str, Any] = {
        "Origin": "https://shop.example",
        "Access-Control-Request-Method": "POST",
        "Access-Control-Request-Headers": "authorization, content-type",
    }
    preflight = client.options("/v1/settle", headers=asked)
    assert preflight.status_code == 200
    assert preflight.headers["Access-Control-Allow-Origin"] == "https://shop.example"
    allowed = preflight.headers["Access-Control-Allow-Headers"].lower()
    assert "authorization" in allowed
    assert "content-type" in allowed
    head = {"Origin": "https://shop.example", "Authorization": f"Bearer {ONE}"}
    reply = client.get(ASK, headers=head)
    assert reply.headers["Access-Control-Allow-Origin"] == "https://shop.example"
    assert "ETag" in reply.headers["Access-Control-Expose-Headers"]
    # A page can read a refusal too.
    refused = client.get(ASK, headers={"Origin": "https://shop.example"})
    assert refused.status_code == 401
    assert "Access-Control-Allow-Origin" in refused.headers
    other = client.get(ASK, headers={**head, "Origin": "https://other.example"})
    assert "Access-Control-Allow-Origin" not in other.headers


def test_no_origin_is_allowed_by_default() -> None:
    reply = client_of().get(ASK, headers={"Origin": "https://shop.example"})
    assert "Access-Control-Allow-Origin" not in reply.headers


@pytest.mark.parametrize("path", [ASK, f"{ASK}&format=text", "/livez", "/nothing", "/v1/limits"])
def test_every_reply_carries_security_headers(path: str) -> None:
    headers = create_app(Settings()).test_client().get(path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "Server" not in headers
