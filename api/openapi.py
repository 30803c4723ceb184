"""The OpenAPI 3.1 document, made from the same declarations that read the questions.

`python -m api.openapi` writes it to openapi/openapi.json; a test keeps that file equal to the code.
Programs are written from it, so it is held small and plain (`api.components`); linters look at it
and clients are generated from it in tests/service/test_document.py.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import orjson
from flask import Blueprint, Response

from api import limits
from api.asking import MEDIA_TYPES
from api.catalogues import CATALOGUES, FORMS, Catalogue, LimitsShape
from api.components import (
    Components,
    Json,
    a_list,
    an_object,
    by_name,
    component,
    headers,
    pascal,
    problems,
    reference,
    sentence,
    text,
    whole,
)
from api.placed import PlaceAnswer
from api.problems import TYPES
from api.question import Answered, Question
from api.questions import BY_NAME, QUESTIONS, batch
from api.service import curl
from model import MODEL_VERSION

COMMITTED: Final = Path(__file__).parent.parent / "openapi" / "openapi.json"

# Questions that a person writes on a line.  The others are asked by GET too, but only told of; and
# their answers are long, so that /docs alone shows them.
ON_A_LINE: Final = ("equilibrium", "air", "room", "movement", "settle")

# Answers that any question may give beside its own; what a deployment adds (tokens, rates) too.
_QUESTION_PROBLEMS: Final = (400, 401, 405, 406, 408, 413, 414, 415, 422, 429, 500, 503)
_READ_PROBLEMS: Final = (400, 401, 405, 406, 414, 422, 429, 500, 503)
_PLAIN_PROBLEMS: Final = (401, 405, 429, 500, 503)

_BY_GET: Final = (
    "GET asks the same with the names of the body in the query: those of inner objects with dots "
    "(`slab.width=34in`), lists of figures with commas, lists of objects as JSON."
)
TABLED: Final = tuple(question.name for question in QUESTIONS if question.in_tables)
_ABOUT: Final = f"""How a wooden slab moves, cups and settles in the room it will live in.

Every question is asked by POST with JSON. {_BY_GET} It is listed for the questions that a person \
writes on a line, with the members they would write.

A figure is text with its unit (`34 1/2 in`, `865mm`, `70F`), or a number in the system that \
`units` names; a number whose unit is not told is refused. Which members go together is said in \
the description of each object.

`{"`, `".join(TABLED)}` also take a table of slabs as `text/csv`, a slab a row: columns named as \
in a query (`slab.width`, or `slab.width [in]` for bare figures), what rows share in the address, \
and `id`, `name`, `#...` the caller's own. It comes back with `status`, `fault`, `answer.` columns \
(`answer.width.settled_low [in]`, `answer.positions[0].across [in]`), `place`, `notes` that bear \
on the decision, and `cautions`. A bad row harms no other; one not begun in time has status 503. \
Semicolons with decimal commas are kept. Text that a spreadsheet would run gets an apostrophe.

Limits: a body of {limits.BODY_BYTES:,} bytes, {limits.NESTING} objects or lists in one another, \
{limits.QUERY_PARAMETERS} query parameters; `/v1/limits` tells them and the range of every figure.
"""
_TAGS: Final = (
    ("questions", "What can be asked of a slab, a room or air."),
    ("catalogues", "What the service knows: woods, finishes, towns, stations, formulas, limits."),
    ("service", "The service about itself: pages, health, problems and this document."),
)
_MODEL: Final = text("version of the model")


def _content(forms: Sequence[str], schema: Json) -> Json:
    """A reply in JSON, and in the other forms as text."""
    other = (MEDIA_TYPES[form].split(";")[0] for form in forms[1:])
    return {"application/json": {"schema": schema}, **{kind: {"schema": text()} for kind in other}}


def _reply(components: Components, question: Question[Any, Any]) -> Json:
    """The reply to a question in all its forms."""
    envelope = an_object(
        f"The reply to /v1/{question.name}.",
        {
            "places": a_list(
                components.of(PlaceAnswer()), "the places that were used; none without one"
            ),
            "answer": components.of(question.answered),
            "units": reference("schemas", "UnitsByName"),
            "asked": reference("schemas", "Asked"),
            "notes": a_list(reference("schemas", "Note"), "those that bear on decisions first"),
            "cautions": a_list(text(), "what may hurt somebody or spoil something"),
            "basis": a_list(text(), "the sources it leans on"),
            "model": _MODEL,
        },
    )
    schema = components.add("schemas", f"{component(question.shape)}Reply", envelope)
    content = _content(question.forms, schema)
    return {"description": "The answer.", "headers": headers(), "content": content}


def _question(components: Components, question: Question[Any, Any]) -> Json:
    """The operations of a question."""
    common = {"tags": ["questions"], "summary": question.title}
    if question.name not in ON_A_LINE:
        description = f"{question.summary}\n\n{_BY_GET}"
        return {"post": {**common, "description": description, **_posted(components, question)}}
    posted = _posted(components, question)
    # The true answer to the first example.
    told = orjson.loads(question.write(answered(question.name), "json"))
    posted["responses"]["200"]["content"]["application/json"]["example"] = told
    shell = curl(question, question.examples[0].body)
    rule = f" {sentence(question.shape.rule)}" if question.shape.rule else ""
    got = {
        "operationId": f"{question.name}_get",
        "parameters": [
            *components.line(question.shape),
            components.form(question.forms),
            components.header("IfNoneMatch"),
            components.header("RequestId"),
        ],
        "responses": {
            "200": _reply(components, question),
            "304": reference("responses", "Held"),
            **problems([status for status in _QUESTION_PROBLEMS if status not in (408, 413, 415)]),
        },
    }
    return {
        "get": {
            **common,
            "summary": f"{question.title}, on a line",
            "description": f"{question.summary}{rule}\n\n```\n{shell}\n```",
            **got,
        },
        "post": {**common, "description": question.summary, **posted},
    }


def _posted(components: Components, question: Question[Any, Any]) -> Json:
    """What a question takes and gives by POST."""
    examples = {
        pascal(each.title): {"summary": each.title, "value": dict(each.body)}
        for each in question.examples
    }
    content = {"schema": components.of(question.shape), "examples": examples}
    body: Json = {"required": True, "content": {"application/json": content}}
    if question.as_csv:
        # In words alone: generators of clients know no second kind of body.
        body["description"] = (
            f"The text of `{'.'.join(question.as_csv)}` may also stand alone as `text/csv`; other "
            "members then stand in the address."
        )
    if question.in_tables:
        body["description"] = "Or a table, `text/csv`."
    return {
        "operationId": question.name,
        "parameters": [
            components.form(question.forms),
            components.detail(),
            components.header("RequestId"),
        ],
        "requestBody": body,
        "responses": {"200": _reply(components, question), **problems(_QUESTION_PROBLEMS)},
    }


def _batch(components: Components, questions: Sequence[Question[Any, Any]]) -> Json:
    """The operation of a batch."""
    names = [question.name for question in questions]
    asked = an_object(
        "One question of a batch.",
        {
            "question": {"type": "string", "enum": names, "description": "name of a question"},
            "body": by_name("the question as it would be posted to /v1/<question>", True),
        },
        closed=True,
    )
    listed = a_list(
        components.add("schemas", "BatchQuestion", asked),
        "questions, answered in their order; one that cannot be read harms no other",
    )
    span = {"minItems": 1, "maxItems": limits.BATCH_QUESTIONS}
    body = an_object(
        "Many questions in one request.", {"questions": {**listed, **span}}, closed=True
    )
    item = an_object(
        "What came of one question: its reply where the status is 200, else its problem.",
        {
            "status": whole("as if the question were asked alone"),
            "reply": by_name("the reply of /v1/<question>", True),
            "problem": reference("schemas", "Problem"),
        },
        optional=("reply", "problem"),
        closed=True,
    )
    reply = an_object(
        "Every item with its own status.",
        {
            "items": a_list(components.add("schemas", "BatchItem", item), "in the order asked"),
            "failed": whole("items with another status than 200"),
            "model": _MODEL,
        },
    )
    first_two = [
        {"question": question.name, "body": dict(question.examples[0].body)}
        for question in questions[:2]
    ]
    answer = {
        "description": "Every item with its own status.",
        "content": _content(["json"], components.add("schemas", "BatchReply", reply)),
    }
    content = {
        "schema": components.add("schemas", "Batch", body),
        "example": {"questions": first_two},
    }
    return {
        "tags": ["questions"],
        "summary": batch.TITLE,
        "description": batch.SUMMARY,
        "operationId": "batch",
        "parameters": [components.form(["json"]), components.header("RequestId")],
        "requestBody": {"required": True, "content": {"application/json": content}},
        "responses": {"207": answer, **problems(_QUESTION_PROBLEMS)},
    }


def _read(
    components: Components,
    name: str,
    told: tuple[str, str],
    content: Json,
    parameters: Sequence[Json] = (),
    statuses: Sequence[int] = _PLAIN_PROBLEMS,
    *,
    tag: str = "service",
    kept: bool = True,
) -> Json:
    """The operation of an address that is read.

    told : its summary and description; kept : whether its reply may be asked for by its tag.
    """
    reply: Json = {"description": told[1], "content": content}
    replies: Json = {"200": reply}
    asked = list(parameters)
    if kept:
        reply["headers"] = headers()
        replies["304"] = reference("responses", "Held")
        asked.append(components.header("IfNoneMatch"))
    return {
        "tags": [tag],
        "summary": told[0],
        "description": told[1],
        "operationId": name,
        "parameters": asked,
        "responses": {**replies, **problems(statuses)},
    }


def _catalogue(components: Components, catalogue: Catalogue) -> Json:
    """The operation of a catalogue."""
    listing = an_object(
        catalogue.summary,
        {
            catalogue.name: a_list(components.of(catalogue.row)),
            "units": reference("schemas", "UnitsByName"),
            "model": _MODEL,
        },
    )
    schema = components.add("schemas", f"{pascal(catalogue.name)}Reply", listing)
    return _read(
        components,
        catalogue.name,
        (catalogue.title, catalogue.summary),
        _content(FORMS, schema),
        [*components.line(catalogue.shape), components.form(FORMS)],
        _READ_PROBLEMS,
        tag="catalogues",
    )


def _limits(components: Components) -> Json:
    """The operation of the limits."""
    figure = an_object(
        "What a figure is, and its lowest and highest value.",
        {
            "meaning": text(),
            "low": {"type": "number"},
            "high": {"type": "number"},
            "unit": text("left out of a count"),
        },
        optional=("unit",),
    )
    of_figure = components.add("schemas", "LimitsOfFigure", figure)
    told = an_object(
        "The limits of a request, and those of every figure.",
        {
            "request": by_name("limits of a request", {"type": "number"}),
            "figures": by_name("by question", by_name("by dotted name", of_figure)),
            "model": _MODEL,
        },
    )
    return _read(
        components,
        "limits",
        ("Limits", "The limits of a request and of every figure."),
        _content(["json"], components.add("schemas", "LimitsReply", told)),
        [*components.line(LimitsShape()), components.form(["json"])],
        _READ_PROBLEMS,
        tag="catalogues",
    )


def _problem_types(components: Components) -> Iterator[tuple[str, Json]]:
    """Addresses and operations of the types of problems."""
    kind = an_object(
        "What a type of problem is.",
        {
            "type": text("its address"),
            "status": whole("of the reply"),
            "title": text("what happened"),
            "remedy": text("what to do"),
        },
    )
    one = components.add("schemas", "KindOfProblem", kind)
    listing = an_object("Every type of problem.", {"problems": a_list(one)})
    every = _content(["json"], components.add("schemas", "KindsOfProblem", listing))
    told = ("Problems", "The types of problems.")
    yield "/problems", _read(components, "problem_types", told, every)
    name = {
        "name": "name",
        "in": "path",
        "required": True,
        "description": "end of the type's address",
        "schema": {"type": "string", "enum": list(TYPES)},
    }
    told = ("Problem", "A type of problem and its remedy.")
    content, statuses = _content(["json"], one), (401, 404, 405, 429, 500, 503)
    yield (
        "/problems/{name}",
        _read(components, "problem_type", told, content, [name], statuses),
    )


def _service(components: Components) -> Iterator[tuple[str, Json]]:
    """Addresses and operations of the service about itself."""
    plain, page = {"text/plain": {"schema": text()}}, {"text/html": {"schema": text()}}
    script = {"text/x-python": {"schema": text()}}
    document = _content(["json"], by_name("an OpenAPI document", True))
    for path, name, title, summary, content in (
        ("/", "index", "Start",
         "What can be asked; for a browser a form with the main question.", plain | page),
        ("/repair", "repair_page", "Repair", "A form with a repair's story, for a browser.", page),
        ("/docs", "docs", "All questions",
         "Every question with its fields and a true answer, for a browser.", page),
        ("/docs/try", "docs_try", "Try", "Every question to try out in a browser.", page),
        ("/client.py", "client_py", "Client", "The client for Python, one file.", script),
        ("/openapi.json", "openapi_json", "Document", "This document.", document),
    ):  # fmt: skip
        yield path, _read(components, name, (title, summary), content)
    for name, title, summary in (
        ("livez", "Alive", "Whether the service lives; it looks at nothing."),
        ("readyz", "Ready", "Whether the service answers: it computes a known answer."),
        ("metrics", "Metrics", "Counters of every worker, for Prometheus."),
    ):
        yield f"/{name}", _read(components, name, (title, summary), plain, kept=False)


@cache
def answered(name: str) -> Answered[Any, Any]:
    """The first example of a question with its answer, for the document and for `/docs`."""
    question = BY_NAME[name]
    return question.ask(question.examples[0].body)


@cache
def document() -> bytes:
    """The document as JSON, two blanks a level."""
    components = Components()
    paths: Json = {f"/v1/{each.name}": _question(components, each) for each in QUESTIONS}
    paths["/v1/batch"] = {"post": _batch(components, QUESTIONS)}
    for catalogue in CATALOGUES:
        paths[f"/v1/{catalogue.name}"] = {"get": _catalogue(components, catalogue)}
    paths["/v1/limits"] = {"get": _limits(components)}
    for path, operation in (*_service(components), *_problem_types(components)):
        paths[path] = {"get": operation}
    components.drop_unused(orjson.dumps([paths, components.by_kind]).decode())
    made = {
        "openapi": "3.1.0",
        "info": {
            "title": "Stillwood",
            "version": MODEL_VERSION,
            "description": _ABOUT,
            "contact": {"name": "whoever runs this service"},
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "servers": [{"url": "/"}],  # that from which this document came
        # A service may be open or ask for a token; who runs it tells.
        "security": [{}, {"token": []}],
        "tags": [{"name": name, "description": told} for name, told in _TAGS],
        "paths": paths,
        "components": components.by_kind,
    }
    # A line a member, so that a change is seen in a comparison; one space deep, to be small.
    return json.dumps(made, ensure_ascii=False, indent=1).encode() + b"\n"


def addresses() -> Blueprint:
    """The address of the document; it is made when first asked for."""
    pages = Blueprint("openapi", __name__)

    @pages.get("/openapi.json")
    def told() -> Response:
        return Response(document(), content_type="application/json")

    return pages


if __name__ == "__main__":
    COMMITTED.parent.mkdir(exist_ok=True)
    COMMITTED.write_bytes(document())
