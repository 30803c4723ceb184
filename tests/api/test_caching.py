"""Replies that a caller has already are told so before they are computed."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode

import pytest
from flask.testing import FlaskClient

import api.question
from api import places
from api.app import create_app
from api.question import Question
from api.questions import BY_NAME, QUESTIONS
from api.service import flattened
from api.settings import Settings
from model.surroundings import climate
from tests.api.conftest import TABLE

ASK = "/v1/equilibrium?temperature=70F&relative_humidity=50"


def address(question: Question[Any, Any], body: Any, **more: str) -> str:
    return f"/v1/{question.name}?" + urlencode([*flattened(body), *more.items()])


EXAMPLES = [(question, example.body) for question in QUESTIONS for example in question.examples]


@pytest.mark.parametrize(("question", "body"), EXAMPLES)
def test_a_reply_held_already_is_answered_304_without_computing(
    question: Question[Any, Any], body: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    computed: list[Any] = []

    def counted(asked: Any) -> Any:
        computed.append(computed[0] if computed else question.answer(asked))
        return computed[0]

    watched = dataclasses.replace(question, answer=counted)
    monkeypatch.setattr("api.app.QUESTIONS", (watched,))
    client = create_app(Settings()).test_client()
    path = address(question, body)
    first = client.get(path)
    assert first.status_code == 200
    assert first.headers["Cache-Control"] == f"max-age={api.question.FRESH}"
    assert first.headers["Vary"] == "Accept"
    tag = first.headers["ETag"]
    for held in (tag, tag.removeprefix("W/"), f'"other", {tag}'):
        again = client.get(path, headers={"If-None-Match": held})
        assert again.status_code == 304
        assert again.data == b""
        assert again.headers["ETag"] == tag
        assert again.headers["Vary"] == "Accept"
        assert "Content-Type" not in again.headers
    assert len(computed) == 1
    assert client.get(path, headers={"If-None-Match": '"other"'}).status_code == 200
    # The same question by POST has the same tag, and is always answered in full.
    posted = client.post(f"/v1/{question.name}", json=body, headers={"If-None-Match": tag})
    assert posted.status_code == 200
    assert posted.headers["ETag"] == tag


def test_one_question_written_in_several_ways_has_one_tag(client: FlaskClient) -> None:
    told = {
        client.get(path).headers["ETag"]
        for path in (
            "/v1/equilibrium?temperature=20C&relative_humidity=50&units=metric",
            "/v1/equilibrium?relative_humidity=50.0&units=metric&temperature=20&treated=none",
        )
    }
    assert len(told) == 1


@pytest.mark.parametrize(
    "path",
    [
        "/v1/equilibrium?temperature=70F&relative_humidity=50.0000001",
        "/v1/equilibrium?temperature=70.0000001F&relative_humidity=50",
        f"{ASK}&units=metric",
        f"{ASK}&format=text",
        f"{ASK}&treated=light",
        "/v1/air?temperature=70F&relative_humidity=50",
    ],
)
def test_what_can_change_the_reply_changes_the_tag(client: FlaskClient, path: str) -> None:
    assert client.get(path).headers["ETag"] != client.get(ASK).headers["ETag"]


def test_the_form_by_accept_changes_the_tag(client: FlaskClient) -> None:
    text = client.get(ASK, headers={"Accept": "text/plain"})
    assert text.headers["ETag"] == client.get(f"{ASK}&format=text").headers["ETag"]


def test_a_new_model_changes_every_tag(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = client.get(ASK).headers["ETag"]
    monkeypatch.setattr(api.question, "MODEL_VERSION", "another")
    reply = client.get(ASK, headers={"If-None-Match": before})
    assert reply.status_code == 200
    assert reply.headers["ETag"] != before


@pytest.fixture
def offered_again() -> Iterator[None]:
    yield
    places.offer(())


def test_weather_files_offered_anew_change_the_tags_of_places(
    client: FlaskClient, offered_again: None
) -> None:
    path = "/v1/room?room.latitude=47.5&room.longitude=-90.9"
    before = client.get(path).headers["ETag"]
    station = climate.search("Duluth")[0].station
    places.offer([dataclasses.replace(station, id="another-here", name="Another Here")])
    assert client.get(path).headers["ETag"] != before


def test_a_row_of_a_wood_stands_in_the_tag() -> None:
    question = BY_NAME["settle"]
    understood = question.read(TABLE)
    before = question.tag(understood, "json")
    told = understood.told.values["slab"].values
    told["species"] = dataclasses.replace(told["species"], radial=told["species"].radial + 0.01)
    assert question.tag(understood, "json") != before


def test_refusals_and_health_are_never_kept(client: FlaskClient) -> None:
    for path in ("/livez", "/readyz", "/metrics", "/nothing", "/v1/equilibrium"):
        headers = client.get(path).headers
        assert headers["Cache-Control"] == "no-store"
        assert "ETag" not in headers
    bad = client.get("/v1/equilibrium?temperature=7", headers={"If-None-Match": "*"})
    assert bad.status_code == 422
    good = "/v1/equilibrium?temperature=70F&relative_humidity=50"
    assert client.get(good, headers={"If-None-Match": "*"}).status_code == 304


@pytest.mark.parametrize("path", ["/v1/species", "/v1/climates?q=duluth", "/openapi.json"])
def test_catalogues_and_documents_have_a_tag_of_their_bytes(client: FlaskClient, path: str) -> None:
    first = client.get(path)
    assert first.headers["Cache-Control"].startswith("max-age=")
    again = client.get(path, headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304
    assert again.data == b""
