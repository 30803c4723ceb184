"""The OpenAPI document: valid, equal to the committed one, and true."""

from __future__ import annotations

import re
from typing import Any

import jsonschema
import orjson
import pytest
from flask.testing import FlaskClient
from openapi_spec_validator import validate

from api import openapi
from api.app import create_app
from api.quantities import DIMENSIONS, Length, Reading, pattern, reading
from api.questions import QUESTIONS
from api.settings import Settings


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    found: dict[str, Any] = orjson.loads(openapi.document())
    return found


def test_the_committed_document_is_that_of_the_code() -> None:
    assert openapi.COMMITTED.read_bytes() == openapi.document(), (
        "openapi/openapi.json is not that of the code: run `python -m api.openapi`, and tell any "
        "changed number in openapi/CHANGES.md"
    )


def test_the_document_is_valid_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"] == "3.1.0"
    validate(document)


def test_the_service_hands_out_the_document(client: FlaskClient) -> None:
    reply = client.get("/openapi.json")
    assert reply.content_type == "application/json"
    assert reply.data == openapi.document()


def test_every_address_of_the_application_is_documented(document: dict[str, Any]) -> None:
    app = create_app(Settings())
    served = {
        (re.sub(r"<(\w+:)?(\w+)>", r"{\2}", rule.rule), method.lower())
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
        if not rule.rule.startswith("/web/")  # the pages' own scripts and styles
    }
    documented = {(path, method) for path, item in document["paths"].items() for method in item}
    assert documented == served


def _resolved(schema: Any, document: dict[str, Any]) -> dict[str, Any]:
    return {**schema, "components": document["components"]}


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_replies_and_questions_of_the_examples_follow_their_schemas(
    client: FlaskClient, document: dict[str, Any], question: Any
) -> None:
    operation = document["paths"][f"/v1/{question.name}"]["post"]
    asked = operation["requestBody"]["content"]["application/json"]["schema"]
    replied = operation["responses"]["200"]["content"]["application/json"]["schema"]
    for example in question.examples:
        jsonschema.validate(example.body, _resolved(asked, document))
        reply = client.post(f"/v1/{question.name}", json=example.body).get_json()
        jsonschema.validate(reply, _resolved(replied, document))
        jsonschema.validate(reply["asked"], _resolved(asked, document))


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_every_figure_of_an_answer_is_documented(
    client: FlaskClient, document: dict[str, Any], question: Any
) -> None:
    schema = document["components"]["schemas"][f"{question.name.capitalize()}Answer"]
    for example in question.examples:
        answer = client.post(f"/v1/{question.name}", json=example.body).get_json()["answer"]
        assert _undocumented(answer, schema) == []


def _undocumented(value: Any, schema: dict[str, Any], name: str = "") -> list[str]:
    if isinstance(value, dict) and "properties" in schema:
        return [
            found
            for key, inner in value.items()
            for found in (
                _undocumented(inner, schema["properties"][key], f"{name}.{key}")
                if key in schema["properties"]
                else [f"{name}.{key}"]
            )
        ]
    if isinstance(value, list) and value and "items" in schema:
        return _undocumented(value[0], schema["items"], f"{name}[]")
    return []


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_the_example_of_a_reply_is_the_true_answer(
    client: FlaskClient, document: dict[str, Any], question: Any
) -> None:
    for method in ("get", "post"):
        responses = document["paths"][f"/v1/{question.name}"][method]["responses"]
        told = responses["200"]["content"]["application/json"]["example"]
        body = question.examples[0].body
        assert told == client.post(f"/v1/{question.name}", json=body).get_json()


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        (
            "Slab",
            {"species": "x", "width": "34 1/2in", "thickness": 20, "ring_angle": 30},
            {"species": "x", "width": "34in", "thickness": 20, "ring_angle": 30, "grain": "flat"},
        ),
        ("Slab", {"species": "x", "width": 3, "thickness": 2}, {"species": "x", "width": 3}),
        ("Room", {"climate": "x", "heat_to": "70F"}, {"climate": "x", "temperature": "70F"}),
        ("Room", {"latitude": 1, "longitude": 2}, {"latitude": 1}),
        ("Room", {"temperature": 20, "relative_humidity": 40}, {"heat_to": 20}),
        ("Moisture", {"shell": 8, "core": 9}, {"shell": 8}),
        ("Face", {"finish": "x", "coats": 2}, {"sd": 1, "coats": 2}),
        ("Face", {"sd": 1}, {"sd": 1, "perms": 1}),
        ("Outdoor", {"temperature": [1] * 12, "vapour_pressure": [500] * 12}, {}),
        (
            "Outdoor",
            {"temperature": [1] * 12, "relative_humidity": [50] * 12},
            {"temperature": [1] * 12, "relative_humidity": 50},
        ),
        (
            "Bar",
            {"section": "channel", "width": 50, "height": 25, "wall": 3},
            {"section": "channel", "width": 50, "height": 25},
        ),
        (
            "Bar",
            {"section": "timber", "width": 50, "height": 25, "species": "x"},
            {"section": "timber", "width": 50, "height": 25},
        ),
        (
            "Stiffeners",
            {"second_moment": 1e4, "modulus": 2e5, "area": 100, "count": 2},
            {"second_moment": 1e4, "modulus": 2e5, "area": 100, "wall": 2},
        ),
        ("Meter", {"kind": "surface", "value": 9}, {"kind": "surface", "resistance": 9}),
        ("OvenDry", {"wet": 2, "dry": 1}, {"wet": 2, "dry": 1, "depth_to": 3}),
        (
            "Dated",
            {"date": "2026-01-01", "weight": "3kg"},
            {"date": "2026-01-01", "value": 9, "place": "end"},
        ),
        ("Plan", {"wet_face": "round", "hours": 8}, {"hours": 8}),
    ],
)
def test_rules_between_members_are_told(
    document: dict[str, Any], name: str, good: dict[str, Any], bad: dict[str, Any]
) -> None:
    schema = _resolved({"$ref": f"#/components/schemas/{name}"}, document)
    jsonschema.validate(good, schema)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(bad, schema)


@pytest.mark.parametrize("dimension", DIMENSIONS, ids=lambda dimension: dimension.name)
def test_the_text_form_told_of_each_dimension_is_one_that_is_read(dimension: Any) -> None:
    told = re.compile(pattern(dimension))
    for unit in dimension.units:
        for spelling in (unit.symbol, *unit.spellings):
            text = "2.5" if spelling == "1" else f"2 1/2 {spelling}"
            assert told.fullmatch(text)
            if spelling != "1":
                assert dimension.find(spelling) is unit


def test_trade_fractions_follow_the_told_form() -> None:
    field = Length("x", low=0.0, high=10.0)
    told = re.compile(pattern(field.dimension))
    with reading(Reading()):
        for text in ("34 1/2 in", "2-1/4in", "8ft 2in", "8' 2\"", "5/8in", "865mm", ".5m"):
            assert told.fullmatch(text)
            field.deserialize(text)
