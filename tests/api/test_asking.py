"""Reading a request by itself: bodies and lines at their limits and beyond, forms of a reply."""

from __future__ import annotations

import datetime
import io
from types import SimpleNamespace
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MIMEAccept

from api import asking, limits, schema
from api.admission import Place
from api.problems import Refused
from api.question import FRESH, _until_midnight


def refusal(call: Any, *given: Any, **more: Any) -> Refused:
    with pytest.raises(Refused) as refused:
        call(*given, **more)
    return refused.value


def nested(deep: int) -> bytes:
    return b'{"a":' * deep + b"1" + b"}" * deep


def test_a_body_is_as_deep_wide_and_long_as_may_be() -> None:
    assert asking.parse(nested(12))
    assert "more than 12 deep" in refusal(asking.parse, nested(13)).detail
    assert asking.parse(b'{"a": [[[[[[[[[[[]]]]]]]]]]]}')
    members = [f'"n{number}": 1' for number in range(101)]
    assert len(asking.parse(f"{{{', '.join(members[:100])}}}".encode())) == 100
    assert (
        "more than 100 members"
        in refusal(asking.parse, f"{{{', '.join(members)}}}".encode()).detail
    )
    # Members are counted by their object, not by the body.
    both = f'{{"a": {{{", ".join(members[:99])}}}, "b": {{{", ".join(members[:99])}}}}}'
    assert len(asking.parse(both.encode())) == 2


def test_a_body_holds_so_many_objects_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "CONTAINERS", 5)
    assert asking.parse(b'{"a": [[], [], []]}')
    assert (
        "more than 5 objects and lists" in refusal(asking.parse, b'{"a": [[], [], [], []]}').detail
    )


def test_a_name_stands_once_however_it_is_written() -> None:
    assert asking.parse(b'{"a": {"b": 1}, "b": 2, "c": {"b": 3}}')
    for body in (b'{"b": 1, "b": 2}', b'{"b": 1, "\\u0062": 2}', b'{"b" : 1, "a": 2, "b": 3}'):
        assert "gives `b` twice in one object" in refusal(asking.parse, body).detail
    assert "not JSON" in refusal(asking.parse, b"{").detail
    assert "not a JSON object" in refusal(asking.parse, b"[1]").detail


def test_a_line_has_so_many_parameters_and_so_deep_names() -> None:
    line = "&".join(f"n{number}=1" for number in range(201))
    assert len(asking.from_query(line.rpartition("&")[0].encode())) == 200
    assert "more than 200 parameters" in refusal(asking.from_query, line.encode()).detail
    assert asking.from_query(".".join(["a"] * 12).encode() + b"=1")
    deep = refusal(asking.from_query, ".".join(["a"] * 13).encode() + b"=1")
    assert "more than 12 names in one another" in deep.faults[0].detail
    assert asking.from_query(b"a.b=1&a.c=2") == {"a": {"b": "1", "c": "2"}}
    for query, told in (
        (b"a=1&a=2", "given twice"),
        (b"a=1&a.b=2", "one value and in parts"),
        (b"a.b=1&a=2", "one value and in parts"),
    ):
        assert told in refusal(asking.from_query, query).faults[0].detail
    slashed = refusal(asking.from_query, b"a/b~=1&a/b~=2")
    assert slashed.faults[0].pointer == "/a~1b~0"


def request(body: bytes, length: int | None, **more: Any) -> Any:
    environ = {"wsgi.input": io.BytesIO(body), **more.pop("environ", {})}
    usual: dict[str, Any] = {
        "mimetype": "application/json",
        "headers": {},
        "content_length": length,
    }
    return SimpleNamespace(environ=environ, **{**usual, **more})


class Room:
    """Notes whether a large body took its place."""

    def __init__(self) -> None:
        self.taken = False

    def take_room(self) -> None:
        self.taken = True


def read(body: bytes, length: int | None, **more: Any) -> tuple[bytes, bool]:
    place: Any = Room()
    found = asking.body_of(request(body, length, **more), place)
    return found, place.taken


def test_a_body_is_read_whole_and_a_large_one_takes_a_place() -> None:
    assert isinstance(Place, type)
    assert read(b"{}", 2) == (b"{}", False)
    large = b" " * limits.LARGE_BODY_BYTES
    assert read(large, len(large))[1] is True
    assert read(large[1:], len(large) - 1)[1] is False
    broken = refusal(read, b"{}", 3)
    assert "3 bytes are promised and 2 came" in broken.detail
    most = limits.BODY_BYTES
    assert len(read(b" " * most, most)[0]) == most
    assert "up to 4,194,304 bytes" in refusal(read, b"", most + 1).detail
    # In chunks no length is promised: it is large until it is known, and ends by itself.
    chunks = {"environ": {"wsgi.input_terminated": True}}
    assert read(b"{}", None, **chunks) == (b"{}", True)
    assert len(read(b" " * most, None, **chunks)[0]) == most
    assert "up to 4,194,304" in refusal(read, b" " * (most + 1), None, **chunks).detail
    assert read(b"{}", None) == (b"", True)


def test_a_body_of_another_kind_is_refused_by_its_name() -> None:
    assert "`text/plain` given; send JSON" in refusal(read, b"", 0, mimetype="text/plain").detail
    assert "`none` given" in refusal(read, b"", 0, mimetype="").detail
    packed = refusal(read, b"", 0, headers={"Content-Encoding": "gzip"})
    assert "`gzip` given" in packed.detail


def accepts(told: str, *offered: str, asked: str | None = None) -> str:
    kinds = [(kind, 1.0) for kind in told.split(",")]
    one: Any = SimpleNamespace(environ={"HTTP_ACCEPT": told}, accept_mimetypes=MIMEAccept(kinds))
    return asking.negotiated(one, asked, offered)


def test_the_form_is_that_asked_for_or_accepted() -> None:
    both = ("json", "text")
    assert accepts("text/plain", *both, asked="json") == "json"
    assert accepts("text/plain", *both) == "text"
    assert accepts("text/plain; charset=utf-8", *both) == "text"
    assert accepts("*/*", *both) == accepts("", *both) == "json"
    assert "this question answers in json (application/json), text (text/plain)" in (
        refusal(accepts, "image/png", *both).detail
    )
    assert "`svg` asked for" in refusal(accepts, "*/*", *both, asked="svg").detail


def test_an_address_of_a_post_takes_its_form_alone() -> None:
    assert asking.form_alone({"format": "csv"}, "It") == "csv"
    assert asking.form_alone({}, "It") is None
    refused = refusal(asking.form_alone, {"format": "csv", "units": "us"}, "It")
    assert [fault.pointer for fault in refused.faults] == ["/units"]
    assert asking.with_member({"a": 1}, "detail", "full") == {"a": 1, "detail": "full"}
    assert asking.with_member({"detail": "full"}, "detail", "full") == {"detail": "full"}
    told = asking.with_member({"detail": "short"}, "detail", "full")["detail"]
    assert told == "full in the address, short in the body"
    assert asking.with_text({"a": {}}, ["a", "b"], "x") == {"a": {"b": "x"}}
    assert "in parts" in refusal(asking.with_text, {"a": "1"}, ["a", "b"], "x").faults[0].detail
    assert (
        "given twice"
        in refusal(asking.with_text, {"a": {"b": "1"}}, ["a", "b"], "x").faults[0].detail
    )
    assert asking.text_of(b"\xef\xbb\xbfa") == "a"
    assert asking.text_of(b"\xef\xbb\xbfa", marked=True) == "\ufeffa"


def test_a_reply_is_fresh_for_an_hour_and_one_of_today_until_midnight(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    evening = datetime.datetime(2026, 7, 4, 23, 15, 20, tzinfo=datetime.UTC)
    for module in ("api.schema", "api.question"):
        monkeypatch.setattr(f"{module}.now", lambda: evening)
    assert schema.now() == evening
    assert _until_midnight() == 44 * 60 + 40
    assert FRESH == 3600
    line = "/v1/equilibrium?temperature=20C&relative_humidity=50"
    assert client.get(line).headers["Cache-Control"] == "max-age=3600"
    slab = "slab.species=teak&slab.width=300mm&slab.thickness=20mm&moisture=9&spread=none"
    today = f"/v1/settle?{slab}&room.temperature=20C&room.relative_humidity=50"
    assert client.get(today).headers["Cache-Control"] == "max-age=2680"
    dated = client.get(f"{today}&starts=2026-07-04")
    assert dated.headers["Cache-Control"] == "max-age=3600"


def test_long_questions_and_charts_take_turns(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken: list[str] = []
    monkeypatch.setattr(Place, "take_turn", lambda self: taken.append("turn"))
    steady = "temperature=20C&relative_humidity=50"
    client.get(f"/v1/equilibrium?{steady}")
    client.get("/v1/room?room.temperature=20C&room.relative_humidity=50")
    assert taken == []
    client.get("/v1/room?room.temperature=20C&room.relative_humidity=50&format=svg")
    assert len(taken) == 1
    slab = "slab.species=teak&slab.width=300mm&slab.thickness=20mm&moisture=9&spread=none"
    client.get(f"/v1/settle?{slab}&room.temperature=20C&room.relative_humidity=50")
    assert len(taken) == 2
    # A large body takes one however light its question.
    body = b'{"temperature": "20C", "relative_humidity": 50}'
    small = body + b" " * (limits.LARGE_BODY_BYTES - len(body) - 1)
    client.post("/v1/equilibrium", data=small, content_type="application/json")
    assert len(taken) == 2
    client.post("/v1/equilibrium", data=small + b" ", content_type="application/json")
    assert len(taken) == 3


def test_a_held_reply_is_not_sent_again(client: FlaskClient) -> None:
    line = "/v1/equilibrium?temperature=20C&relative_humidity=50"
    tag = client.get(line).headers["ETag"]
    assert client.get(line, headers={"If-None-Match": tag}).status_code == 304
    assert client.get(line, headers={"If-None-Match": "*"}).status_code == 304
    assert client.get(line, headers={"If-None-Match": '"other"'}).status_code == 200
    body = {"temperature": "20C", "relative_humidity": 50}
    held = client.post("/v1/equilibrium", json=body, headers={"If-None-Match": tag})
    assert held.status_code == 200
    assert client.head(line).status_code == 200
