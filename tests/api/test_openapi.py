"""The OpenAPI document: valid, small, plain, equal to the committed one, and true."""

from __future__ import annotations

import inspect
import keyword
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final
from urllib.parse import parse_qsl, urlsplit

import jsonschema
import orjson
import pytest
from flask.testing import FlaskClient
from marshmallow import ValidationError
from openapi_spec_validator import validate

from api import openapi
from api.app import create_app
from api.catalogues import CATALOGUES
from api.client import Stillwood
from api.openapi import ON_A_LINE
from api.quantities import Length, Reading, reading
from api.questions import BY_NAME, QUESTIONS
from api.schema import Either, Part, Rows, Shape
from api.schema import members as values_of
from api.settings import Settings
from api.units import DIMENSIONS, pattern

README: Final = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
LARGEST: Final = 400 * 1024  # bytes, in all
# What generators of clients read in schemas without a warning; `default` would make members
# required in TypeScript, and have them sent in Python.
KEYWORDS: Final = {
    "$ref", "type", "description", "properties", "required", "additionalProperties", "anyOf",
    "items", "minItems", "maxItems", "enum", "format", "pattern", "minLength", "maxLength",
    "minimum", "maximum", "exclusiveMinimum",
}  # fmt: skip

every_question = pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    found: dict[str, Any] = orjson.loads(openapi.document())
    return found


def operations(document: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            yield f"{method} {path}", operation


def resolved(value: Any, document: dict[str, Any]) -> Any:
    """What a reference stands for, one step or more."""
    while isinstance(value, dict) and "$ref" in value:
        place: Any = document
        for name in value["$ref"].removeprefix("#/").split("/"):
            place = place[name]
        value = place
    return value


def asked_and_replied(question: Any, document: dict[str, Any]) -> tuple[Any, Any]:
    """Validators of a question and of its reply."""
    post = document["paths"][f"/v1/{question.name}"]["post"]
    schemas = (
        post["requestBody"]["content"]["application/json"]["schema"],
        post["responses"]["200"]["content"]["application/json"]["schema"],
    )
    components = {"components": document["components"]}
    asked, replied = (jsonschema.Draft202012Validator(each | components) for each in schemas)
    return asked, replied


def test_the_committed_document_is_that_of_the_code() -> None:
    assert openapi.COMMITTED.read_bytes() == openapi.document(), (
        "openapi/openapi.json is not that of the code: run `python -m api.openapi`, and tell any "
        "changed number in openapi/CHANGES.md"
    )


def test_the_document_is_valid_openapi_3_1(document: dict[str, Any]) -> None:
    assert document["openapi"] == "3.1.0"
    validate(document)


def test_the_document_is_small() -> None:
    assert len(openapi.document()) <= LARGEST


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
    assert documented <= served
    # A GET that nobody writes on a line is told of in the description of the POST.
    for path, method in served - documented:
        assert method == "get"
        assert path.removeprefix("/v1/") in BY_NAME.keys() - set(ON_A_LINE)
        assert "GET asks the same" in document["paths"][path]["post"]["description"]
    assert "GET asks the same" in document["info"]["description"]


def test_every_operation_is_described_and_has_a_name_and_a_tag(document: dict[str, Any]) -> None:
    names = [operation["operationId"] for _, operation in operations(document)]
    assert len(names) == len(set(names))
    tags = {tag["name"] for tag in document["tags"] if tag["description"]}
    for where, operation in operations(document):
        assert operation["summary"], where
        assert operation["description"], where
        assert set(operation["tags"]) <= tags, where
        for parameter in operation["parameters"]:
            assert resolved(parameter, document)["description"], (where, parameter)


def schemas_in(value: Any, where: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """A schema and all within it, with the way to each."""
    yield where, value
    for name, inner in value.get("properties", {}).items():
        yield from schemas_in(inner, f"{where}/{name}")
    for inner in value.get("anyOf", ()):
        yield from schemas_in(inner, where)
    for name in ("items", "additionalProperties"):
        if isinstance(value.get(name), dict):
            yield from schemas_in(value[name], f"{where}/{name}")


def test_schemas_are_plain_objects_described_in_words(document: dict[str, Any]) -> None:
    for name, schema in document["components"]["schemas"].items():
        if "properties" in schema:
            assert schema["description"].endswith("."), name
        for where, each in schemas_in(schema, name):
            assert each.keys() <= KEYWORDS, where
            assert each.get("enum") != [False], where
            if each.get("type") == "object":
                assert "properties" in each or "additionalProperties" in each, where


@pytest.mark.usefixtures("answered_once")
@every_question
def test_replies_and_questions_of_the_examples_follow_their_schemas(
    client: FlaskClient, document: dict[str, Any], question: Any
) -> None:
    asked, replied = asked_and_replied(question, document)
    answer = document["components"]["schemas"][f"{type(question.answered).__name__}"]
    for example in question.examples:
        asked.validate(example.body)
        reply = client.post(f"/v1/{question.name}", json=example.body).get_json()
        replied.validate(reply)
        asked.validate(reply["asked"])
        assert undocumented(reply["answer"], answer, document) == []


def undocumented(
    value: Any, schema: dict[str, Any], document: dict[str, Any], where: str = ""
) -> list[str]:
    """Members of an answer that its schema does not name."""
    schema = resolved(schema, document)
    if isinstance(value, list):
        one = next((each for each in ways(schema, document) if "items" in each), None)
        return [] if one is None else [
            found for each in value for found in undocumented(each, one["items"], document, where)
        ]  # fmt: skip
    if not isinstance(value, dict):
        return []
    one = next((each for each in ways(schema, document) if each.get("type") == "object"), None)
    if one is None:
        return [where]
    if "properties" not in one:
        return []
    found = [f"{where}/{name}" for name in value.keys() - one["properties"].keys()]
    for name in value.keys() & one["properties"].keys():
        found += undocumented(value[name], one["properties"][name], document, f"{where}/{name}")
    return found


def ways(schema: dict[str, Any], document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The schemas of which a value follows one."""
    schema = resolved(schema, document)
    for each in schema.get("anyOf", ()):
        yield from ways(each, document)
    if "anyOf" not in schema:
        yield schema


@pytest.mark.parametrize("name", ON_A_LINE)
def test_the_example_of_a_reply_is_the_true_answer(
    client: FlaskClient, document: dict[str, Any], name: str
) -> None:
    reply = document["paths"][f"/v1/{name}"]["post"]["responses"]["200"]
    told = reply["content"]["application/json"]["example"]
    body = BY_NAME[name].examples[0].body
    assert told == client.post(f"/v1/{name}", json=body).get_json()


def parameters(document: dict[str, Any], path: str) -> dict[str, dict[str, Any]]:
    told = document["paths"][path]["get"]["parameters"]
    return {each["name"]: each for each in (resolved(one, document) for one in told)}


@pytest.mark.parametrize("name", ON_A_LINE)
def test_the_parameters_of_a_line_are_members_of_the_question(
    document: dict[str, Any], name: str
) -> None:
    told = parameters(document, f"/v1/{name}")
    taken = {member.name for member in values_of(BY_NAME[name].shape)}
    assert told.keys() - {"format", "If-None-Match", "X-Request-ID"} <= taken
    needed = {member.name for member in values_of(BY_NAME[name].shape) if member.required}
    assert needed <= {each["name"] for each in told.values() if each.get("required")}


def test_the_lines_of_the_readme_are_documented(document: dict[str, Any]) -> None:
    # Of a table the rest of what is asked stands in its head.
    lines = re.findall(r"curl 'http://[^/]+(/[^']*)'(?! -H 'Content-Type: text/csv')", README)
    assert any(line.startswith("/v1/settle?") for line in lines)
    for line in lines:
        address = urlsplit(line)
        asked = dict(parse_qsl(address.query))
        question = BY_NAME.get(address.path.removeprefix("/v1/"))
        if question is not None and question.name not in ON_A_LINE:
            # The document says in words that its members may stand on a line too.
            members = values_of(question.shape)
            assert asked.keys() - {"format"} <= {member.name for member in members}, line
            assert {member.name for member in members if member.required} <= asked.keys(), line
            continue
        told = parameters(document, address.path)
        assert asked.keys() <= told.keys(), line
        assert {name for name, each in told.items() if each.get("required")} <= asked.keys(), line
        for name, value in asked.items():
            schema = told[name]["schema"] | {"components": document["components"]}
            number = re.fullmatch(r"-?\d+(\.\d+)?", value)
            jsonschema.Draft202012Validator(schema).validate(float(value) if number else value)


def shapes(shape: Shape) -> Iterator[Shape]:
    yield shape
    for field in shape.load_fields.values():
        if isinstance(field, Part | Either | Rows):
            yield from shapes(field.shape)


SHAPES: Final[Mapping[str, Shape]] = {
    type(shape).__name__.removesuffix("Shape"): shape
    for question in QUESTIONS
    for shape in shapes(question.shape)
}
BAR: Final = {"section": "flat", "width": 40, "height": 5}
SLAB: Final = {"species": "white oak", "width": 300, "thickness": 25}
STEADY: Final = {"temperature": 20, "relative_humidity": 40}
# Of every shape whose members go together: what is taken, and what is refused against its rule.
GO_TOGETHER: Final[Mapping[str, tuple[Any, Any]]] = {
    "Equilibrium": (STEADY, {**STEADY, "moisture": 8}),
    "Air": ({"temperature": 20, "dew_point": 8}, {"temperature": 20}),
    "Moisture": ({"shell": 8, "core": 9}, {"shell": 8}),
    "State": (STEADY, {"temperature": 20}),
    "Face": ({"finish": "oiled", "warmer_by": 3}, {"sd": 1, "coats": 2}),
    "Place": ({"at": "heated_floor"}, {"at": "outer_wall"}),
    "Outdoor": (
        {"temperature": [1] * 12, "vapour_pressure": [500] * 12},
        {"temperature": [1] * 12},
    ),
    "Room": (STEADY, {"heat_to": 20}),
    "Log": (
        {"csv": "time,temp (C),rh\n2026-01-01 00:00,20,40\n2026-01-02 00:00,20,40\n"},
        {"time": ["2026-01-01T00:00:00Z", "2026-01-02T00:00:00Z"], "temperature": [20, 20]},
    ),
    "Stay": ({"days": 3}, {"days": 3, "from_date": "2026-01-01", "to_date": "2026-02-01"}),
    "Brought": (
        {"slice": {"gap": 1}},
        {"slice": {"gap": 1}, "prong": {"bends": 1, "length": 100, "thickness": 8}},
    ),
    "Bar": (BAR, {**BAR, "section": "channel"}),
    "Bars": ({**BAR, "count": 2}, {**BAR, "count": 2, "along": [100]}),
    "Fixings": (
        {
            "slab": SLAB,
            "moisture": 9,
            "positions": [50],
            "fastener": {"kind": "wood_screw", "diameter": 5, "thread": 20},
            "room": STEADY,
        },
        {"moisture_range": {"driest": 6, "dampest": 9}},
    ),
    "Stiffening": (
        {"slab": {**SLAB, "length": 900}, "moisture": 9, "room": STEADY, "bars": BAR},
        {"bars": None, "limit": 2},
    ),
    "Plan": ({"wet_face": "round", "hours": 8}, {"hours": 8}),
    "Reading": (
        {"species": "teak", "readings": [{"value": 9}]},
        {"species": "teak", "slab": SLAB, "readings": [{"value": 9}]},
    ),
    "Meter": ({"value": 9}, {"kind": "surface", "resistance": 9}),
    "Dated": ({"date": "2026-01-01", "weight": "3kg"}, {"date": "2026-01-01", "place": "end"}),
    "OvenDry": ({"wet": 2, "dry": 1}, {"wet": 2, "dry": 1, "depth_to": 3}),
    "Conditioning": (
        {"slab": SLAB, "moisture": 11, "target": 8, "room": STEADY},
        {"moisture": 11, "target": 8, "room": STEADY},
    ),
    "Seen": ({"day": 30, "flat": True}, {"day": 30, "flat": False}),
    "Diagnosis": (
        {"slab": SLAB, "width_after": 295, "moisture": 7},
        {"slab": SLAB, "width_after": 295, "moisture": 7, "days": 30},
    ),
    "Repair": (
        {"slab": SLAB, "room": STEADY, "since": "2026-01-01", "starts": "2026-02-01"},
        {"slab": SLAB, "since": "2026-01-01", "starts": "2026-02-01"},
    ),
}


def test_every_rule_between_members_is_tried() -> None:
    assert {name for name, shape in SHAPES.items() if shape.rule} == GO_TOGETHER.keys()


@pytest.mark.parametrize("name", GO_TOGETHER)
def test_a_rule_between_members_is_told_in_words_and_held_by_the_service(
    document: dict[str, Any], name: str
) -> None:
    shape, (good, bad) = SHAPES[name], GO_TOGETHER[name]
    described = document["components"]["schemas"][name]["description"].partition("\n\n")[2]
    told = set(re.findall(r"\w+", described))
    assert len(told & set(shape.names)) >= 2
    schema = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
    jsonschema.Draft202012Validator(schema).validate(good)
    with reading(Reading(units="metric")):
        shape.load(good)
        with pytest.raises(ValidationError):
            shape.load(bad)


@pytest.mark.parametrize("dimension", DIMENSIONS, ids=lambda dimension: dimension.name)
def test_the_text_form_told_of_each_dimension_is_one_that_is_read(dimension: Any) -> None:
    told = re.compile(pattern(dimension))
    # What ECMA's regular expressions know after a backslash, under their flag u too.
    assert set(re.findall(r"\\(.)", told.pattern)) <= set("^$\\.*+?()[]{}|/ds")
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


def test_the_client_has_a_method_for_every_operation_under_v1(document: dict[str, Any]) -> None:
    for path, methods in document["paths"].items():
        if path.startswith("/v1/"):
            name = path.removeprefix("/v1/")
            method = getattr(Stillwood, name)
            assert callable(method)
            assert inspect.getdoc(method), name
            assert ("post" in methods) == (name not in {*(c.name for c in CATALOGUES), "limits"})


@every_question
def test_the_method_of_a_question_names_the_members_of_the_document(
    document: dict[str, Any], question: Any
) -> None:
    told = getattr(Stillwood, question.name).__doc__.partition("each:\n")[2]
    named = told.replace(",", " ").split()
    post = document["paths"][f"/v1/{question.name}"]["post"]
    schema = resolved(post["requestBody"]["content"]["application/json"]["schema"], document)
    assert ["units", "detail", *named] == list(schema["properties"])
    # Asked with keywords, so none may be a word that Python keeps for itself.
    assert not any(map(keyword.iskeyword, named))
