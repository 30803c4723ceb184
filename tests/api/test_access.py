"""Who may ask: tokens, public addresses, rates, origins, and the headers of every reply."""

from __future__ import annotations

import os
import socket
import time
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from api import settings
from api.access import Tokens, is_public, refuse_public
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
        ("BIND", " ,", "127.0.0.1:8321"),
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
    nowhere = {"REMOTE_ADDR": "127.0.0.9"}
    codes = [client.get("/v1/x", environ_overrides=nowhere).status_code for _ in range(3)]
    assert codes == [401, 401, 429]
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


def test_any_origin_may_be_let_in_but_never_with_the_browsers_own_credentials() -> None:
    reply = client_of(ORIGINS="*").get(ASK, headers={"Origin": "https://shop.example"})
    assert reply.headers["Access-Control-Allow-Origin"] == "*"
    assert "Access-Control-Allow-Credentials" not in reply.headers


@pytest.mark.parametrize(
    "origin",
    [
        "https://shopXexample",
        "https://shop.example.evil.example",
        "https://evil.example/https://shop.example",
        "https://evilshop.example",
        "http://shop.example",
        "https://shop.example:444",
        "null",
        "*",
        "https://shop.example\x01",
    ],
)
def test_an_origin_that_only_looks_like_one_that_is_set_is_another(origin: str) -> None:
    client = client_of(ORIGINS="https://shop.example")
    reply = client.get(ASK, headers={"Origin": origin})
    assert "Access-Control-Allow-Origin" not in reply.headers
    # A cache must not hand the reply made for one origin to another.
    allowed = client.get(ASK, headers={"Origin": "https://shop.example"})
    assert allowed.headers["Access-Control-Allow-Origin"] == "https://shop.example"
    for each in (reply, allowed, client.get(ASK)):
        assert each.vary.as_set() == {"accept", "origin"}


def test_a_proxy_adds_to_the_addresses_and_only_its_own_word_counts() -> None:
    client = client_of(RATE="1 per minute", PROXIES="1")
    codes = [
        client.get(ASK, headers={"X-Forwarded-For": f"10.9.8.{n}, 192.0.2.7"}).status_code
        for n in range(3)
    ]
    assert codes == [200, 429, 429]
    # What is no address at all is one caller.
    junk = [
        client.get(ASK, headers={"X-Forwarded-For": f"not an address {n}"}).status_code
        for n in range(2)
    ]
    assert junk == [200, 429]


def test_one_household_of_ipv6_is_one_caller_whatever_address_it_takes() -> None:
    client = client_of(RATE="1 per minute")

    def ask(address: str) -> int:
        return client.get(ASK, environ_overrides={"REMOTE_ADDR": address}).status_code

    assert [ask(f"2001:db8:0:1::{n}") for n in range(1, 4)] == [200, 429, 429]
    assert ask("2001:db8:0:2::1") == 200
    assert ask("::ffff:192.0.2.1") == 200
    assert ask("192.0.2.1") == 429


def test_a_refused_caller_is_told_the_truth_about_when_to_come_back() -> None:
    client = client_of(RATE="2 per 2 second")
    assert [client.get(ASK).status_code for _ in range(3)] == [200, 200, 429]
    wait = int(client.get(ASK).headers["Retry-After"])
    assert 1 <= wait <= 3
    time.sleep(wait)
    assert client.get(ASK).status_code == 200


def test_asking_from_many_addresses_leaves_nothing_behind() -> None:
    app = create_app(settings.read({"STILLWOOD_LOG": "off", "STILLWOOD_RATE": "5 per 1 second"}))
    client = app.test_client()
    (limiter,) = app.extensions["limiter"]
    for number in range(300):
        client.get(
            "/v1/nothing", environ_overrides={"REMOTE_ADDR": f"10.0.{number // 250}.{number % 250}"}
        )
    storage = limiter.storage
    assert len(storage.storage) >= 200
    deadline = time.monotonic() + 10
    while len(storage.storage) > 5 and time.monotonic() < deadline:
        time.sleep(0.5)  # a window counts until the next one is over
        client.get("/v1/nothing")
    assert len(storage.storage) <= 5
    assert not storage.events


@pytest.mark.parametrize("path", [ASK, "/v1/species", "/livez", "/", "/docs", "/openapi.json"])
def test_head_is_get_without_a_body(path: str) -> None:
    client = client_of()
    got, head = client.get(path), client.head(path)
    assert head.status_code == got.status_code == 200
    assert head.data == b""
    varying = {"X-Request-ID", "Date"}
    assert {k: v for k, v in head.headers.items() if k not in varying} == {
        k: v for k, v in got.headers.items() if k not in varying
    }


def test_options_tells_the_methods_and_others_are_refused_as_problems() -> None:
    client = client_of(TOKENS=ONE)
    told = client.options("/v1/settle")
    assert told.status_code == 200
    assert {each.strip() for each in told.headers["Allow"].split(",")} == {
        "GET",
        "HEAD",
        "OPTIONS",
        "POST",
    }
    assert told.data == b""
    for method in ("TRACE", "PUT", "DELETE", "PATCH", "SAWDUST"):
        refused = client.open("/livez", method=method)
        assert refused.status_code == 405
        assert refused.content_type == "application/problem+json"


MARK = "<script>alert(7)</script>'\""


@pytest.mark.parametrize(
    "path",
    [
        "/{}",
        "/?q={}",
        "/docs?q={}",
        "/docs/{}",
        "/docs/try?url={}",
        "/problems/{}",
        "/v1/{}",
        "/v1/species?q={}",
        "/v1/climates?q={}",
        f"{ASK}&format={{}}",
        f"{ASK}&format=svg&{{}}=1",
        "/v1/room?format=svg&room.climate={}",
        "/v1/movement?format=text&slab.species={}",
    ],
)
def test_no_page_or_picture_repeats_what_a_caller_wrote(path: str) -> None:
    reply = client_of().get(path.format(quote(MARK, safe="")), headers={"Accept": "text/html, */*"})
    assert reply.status_code < 500
    assert reply.headers["X-Content-Type-Options"] == "nosniff"
    if reply.mimetype not in ("application/json", "application/problem+json", "text/plain"):
        assert "alert(7)" not in reply.text
    assert all("alert(7)" not in value for _, value in reply.headers)


@pytest.mark.parametrize("path", ["/", "/docs", "/docs/try", "/web/ask.js", "/client.py"])
def test_pages_run_nothing_but_their_own_files(path: str) -> None:
    policy = (
        client_of().get(path, headers={"Accept": "text/html"}).headers["Content-Security-Policy"]
    )
    told = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert told["default-src"] == "'none'"
    assert told["frame-ancestors"] == "'none'"
    assert told.get("script-src", "'none'") in ("'self'", "'none'")
    assert told.get("base-uri", "'none'") == "'none'"


def test_settings_printed_by_accident_tell_no_token() -> None:
    chosen = settings.read({"STILLWOOD_TOKENS": ONE})
    assert chosen.tokens == (ONE,)
    assert ONE not in repr(chosen)


TOKENS_GIVEN = st.text(st.characters(min_codepoint=32, max_codepoint=255), max_size=60)


@given(given=TOKENS_GIVEN)
def test_no_other_text_is_taken_for_a_token(given: str) -> None:
    tokens = Tokens((ONE, TWO), None)
    assert (tokens.holder(given) is not None) == (given in (ONE, TWO))


@given(place=st.integers(0, len(ONE) - 1), sign=st.characters(codec="ascii"))
def test_a_token_with_one_sign_changed_is_another(place: int, sign: str) -> None:
    changed = ONE[:place] + sign + ONE[place + 1 :]
    assert (Tokens((ONE,), None).holder(changed) is not None) == (changed == ONE)


@given(host=st.one_of(st.ip_addresses(v=4), st.ip_addresses(v=6)), port=st.integers(1, 65_535))
def test_an_address_is_public_unless_it_is_loopback(host: Any, port: int) -> None:
    written = f"[{host}]:{port}" if host.version == 6 else f"{host}:{port}"
    loopback = (getattr(host, "ipv4_mapped", None) or host).is_loopback
    assert is_public(written) == (not loopback)


@pytest.mark.parametrize(
    "bind",
    [
        "8321",
        "::1",
        "[::1]",
        "0:80",
        "127.1:80",
        "localhost.shop:1",
        "LOCALHOST:1",
        "/tmp/socket",
        "tcp://127.0.0.1:80",
        "http://127.0.0.1:80",
        "[fe80::1%lo]:1",
        "127.0.0.1.shop:1",
        "x",
    ],
)
def test_an_address_that_is_not_plainly_loopback_counts_as_public(bind: str) -> None:
    assert is_public(bind)


@pytest.mark.parametrize("path", [ASK, f"{ASK}&format=text", "/livez", "/nothing", "/v1/limits"])
def test_every_reply_carries_security_headers(path: str) -> None:
    headers = create_app(Settings()).test_client().get(path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "Server" not in headers


def test_others_may_reach_it_with_tokens_or_by_leave_and_else_only_this_machine(
    tmp_path: Path,
) -> None:
    with socket.socket() as everywhere, socket.socket() as here:
        everywhere.bind(("0.0.0.0", 0))
        here.bind(("127.0.0.1", 0))
        refuse_public([here], Settings())
        with pytest.raises(BadSetting, match=r"listening at 0\.0\.0\.0 port"):
            refuse_public([here, everywhere], Settings())
        for meant in (
            Settings(tokens=("a-token-of-many-letters",)),
            Settings(tokens_file=tmp_path / "tokens"),
            Settings(open=True),
        ):
            refuse_public([everywhere], meant)
