"""The OpenAPI 3.1 document, made from the same schemas that read the questions.

`python -m api.openapi` writes it to openapi/openapi.json; a test keeps that file equal to the code.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import orjson
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from flask import Blueprint, Response
from marshmallow import Schema, missing

from api import limits
from api.asking import MEDIA_TYPES
from api.catalogues import CATALOGUES, FORMS
from api.problems import MEDIA_TYPE, TYPES
from api.quantities import DIMENSIONS, SYSTEMS
from api.question import Answered, Question
from api.questions import QUESTIONS, batch
from api.replies.members import COMPONENTS, Member
from api.replies.members import Part as AnswerPart
from api.replies.members import Rows as AnswerRows
from api.schema import Either, Part, Rows, Shape, members
from api.service import curl
from model import MODEL_VERSION

COMMITTED: Final = Path(__file__).parent.parent / "openapi" / "openapi.json"

# Answers that any question may give beside its own; what a deployment adds (tokens, rates) too.
_QUESTION_PROBLEMS: Final = (400, 401, 405, 406, 413, 414, 415, 422, 429, 500, 503)
_READ_PROBLEMS: Final = (400, 401, 405, 406, 414, 422, 429, 500, 503)
_PLAIN_PROBLEMS: Final = (401, 405, 429, 500, 503)

# What a reply that a caller may keep says of itself, and the caller's question whether it is new.
_ETAG: Final = {
    "ETag": {"description": "the question's tag", "schema": {"type": "string"}},
    "Cache-Control": {"description": "how long it keeps", "schema": {"type": "string"}},
}
_HELD: Final = {"description": "The reply is the one held already.", "headers": _ETAG}
_IF_NONE_MATCH: Final = {
    "name": "If-None-Match",
    "in": "header",
    "description": "ETag of the reply held already; 304 without computing when it is the same",
    "schema": {"type": "string"},
}
_REQUEST_ID: Final = {
    "name": "X-Request-ID",
    "in": "header",
    "description": "an id for the log, up to 64 letters, digits and ._:-; it comes back",
    "schema": {"type": "string"},
}

_NOTE: Final = {
    "type": "object",
    "properties": {
        name: {"type": "string", "description": meaning}
        for name, meaning in (
            ("code", "kind of note"),
            ("pointer", "part of the question it speaks of, as a JSON pointer; empty for all"),
            ("message", "what is assumed, stretched or weak, in a sentence"),
            ("source", "where that is from"),
        )
    },
    "required": ["code", "pointer", "message", "source"],
}
_PROBLEM: Final = {
    "type": "object",
    "description": "Problem details of RFC 9457.",
    "properties": {
        "type": {"type": "string", "enum": [kind.url for kind in TYPES.values()]},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {"pointer": {"type": "string"}, "detail": {"type": "string"}},
                "required": ["pointer", "detail"],
            },
        },
    },
    "required": ["type", "title", "status", "detail"],
}


def _field_schema(self: OpenAPIConverter, field: Any, ret: Mapping[str, Any]) -> dict[str, Any]:
    """JSON Schema of one of our fields, for apispec."""
    if isinstance(field, Member):
        return _member_schema(self, field)
    if isinstance(field, Part):
        return {"description": field.meaning} if "$ref" in ret else {}
    if isinstance(field, Either):
        one = field.one.json_schema()
        either = [*one.pop("anyOf", [one]), _reference(self, field.shape)]
        schema: dict[str, Any] = {"anyOf": either, "description": field.meaning}
    elif isinstance(field, Rows):
        schema = {
            "type": "array",
            "items": _reference(self, field.shape),
            "minItems": field.shortest,
            "maxItems": field.longest,
            "description": field.meaning,
        }
    else:
        schema = field.json_schema()
    return schema | _default(field)


def _member_schema(converter: OpenAPIConverter, member: Member) -> dict[str, Any]:
    """JSON Schema of a member of an answer; inner objects are components."""
    if not isinstance(member, AnswerPart):
        return member.json_schema()
    schema = _reference(converter, member.shape)
    if isinstance(member, AnswerRows):
        schema = {"type": "array", "items": schema}
    if member.null:
        schema = {"anyOf": [schema, {"type": "null"}]}
    return {**schema, "description": member.description} if member.description else schema


def _reference(converter: OpenAPIConverter, shape: Schema) -> dict[str, Any]:
    found: dict[str, Any] = converter.resolve_nested_schema(shape)  # type: ignore[no-untyped-call]
    return found


def _default(field: Any) -> dict[str, Any]:
    value = field.load_default
    if value is missing or callable(value):
        return {}
    return {"default": field.echo(value, "metric")}


def _component(schema: Any) -> str:
    shape = schema if isinstance(schema, type) else type(schema)
    return shape.__name__.removesuffix("Shape")


def _new_spec() -> tuple[APISpec, OpenAPIConverter]:
    plugin = MarshmallowPlugin(schema_name_resolver=_component)
    spec = APISpec(
        title="Stillwood",
        version=MODEL_VERSION,
        openapi_version="3.1.0",
        info={
            "description": (
                "How a wooden slab moves, cups and settles in the room it will live in.\n\n"
                f"Limits: a body of {limits.BODY_BYTES:,} bytes, {limits.NESTING} objects or lists "
                f"in one another, {limits.QUERY_PARAMETERS} query parameters; /v1/limits tells "
                "them and the range of every figure."
            ),
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        # A service may be open or ask for a token; who runs it tells.
        security=[{}, {"token": []}],
        plugins=[plugin],
    )
    spec.components.security_scheme(
        "token",
        {"type": "http", "scheme": "bearer", "description": "from whoever runs this service"},
    )
    assert plugin.converter is not None
    plugin.converter.add_attribute_function(_field_schema)  # type: ignore[no-untyped-call]
    return spec, plugin.converter


def _problem_responses(spec: APISpec) -> None:
    spec.components.schema("Problem", _PROBLEM)
    for kind in TYPES.values():
        headers: dict[str, Any] = {}
        if kind.status == 401:
            headers["WWW-Authenticate"] = {"schema": {"type": "string"}}
        if kind.status == 405:
            headers["Allow"] = {"schema": {"type": "string"}}
        if kind.status in (429, 503):
            headers["Retry-After"] = {"schema": {"type": "integer"}}
        content: dict[str, Any] = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
        if kind.status == 414:
            # A longer address than the web server reads never comes to the application.
            content["text/html"] = {"schema": {"type": "string"}}
        spec.components.response(
            _response_name(kind.status),
            {
                "description": f"{kind.title} {kind.remedy}",
                "content": content,
                **({"headers": headers} if headers else {}),
            },
        )


def _response_name(status: int) -> str:
    kind = next(kind for kind in TYPES.values() if kind.status == status)
    return "".join(part.capitalize() for part in kind.name.split("-"))


def _problems(statuses: Sequence[int]) -> dict[str, Any]:
    return {
        str(status): {"$ref": f"#/components/responses/{_response_name(status)}"}
        for status in statuses
    }


def _format(forms: Sequence[str]) -> dict[str, Any]:
    return {
        "name": "format",
        "in": "query",
        "description": "form of the reply; wins over the Accept header",
        "schema": {"type": "string", "enum": list(forms), "default": "json"},
    }


def _parameters(converter: OpenAPIConverter, shape: Shape) -> list[dict[str, Any]]:
    """The query parameters of a shape, those of inner objects with dotted names."""
    parameters = []
    for member in members(shape):
        parameter: dict[str, Any] = {
            "name": member.name,
            "in": "query",
            "required": member.required,
            "description": member.field.meaning,
        }
        if isinstance(member.field, Rows):
            schema = _field_schema(converter, member.field, {})
            parameter["content"] = {"application/json": {"schema": schema}}
        else:
            parameter["schema"] = member.field.json_schema() | _default(member.field)
            parameter |= {"style": "form", "explode": False}
        parameters.append(parameter)
    return parameters


def _reply(
    question: Question[Any, Any], answer: Mapping[str, Any], example: Mapping[str, Any]
) -> dict[str, Any]:
    """The 200 response of a question in all its forms, with a true answer."""
    reply = {
        "type": "object",
        "properties": {
            "answer": dict(answer),
            "units": {
                "type": "object",
                "description": "unit of each dotted name of the answer and everything under it",
                "additionalProperties": {"type": "string"},
            },
            "asked": {"type": "object", "description": "the question as understood"},
            "notes": {"type": "array", "items": {"$ref": "#/components/schemas/Note"}},
            "cautions": {"type": "array", "items": {"type": "string"}},
            "basis": {"type": "array", "items": {"type": "string"}},
            "model": {"type": "string"},
        },
        "required": ["answer", "units", "asked", "notes", "cautions", "basis", "model"],
    }
    content: dict[str, Any] = {"application/json": {"schema": reply, "example": example}}
    for form in question.forms[1:]:
        content[MEDIA_TYPES[form].split(";")[0]] = {"schema": {"type": "string"}}
    return {"description": "The answer.", "content": content, "headers": _ETAG}


def _pascal(name: str) -> str:
    return "".join(part.capitalize() for part in name.split("_"))


def _question_path(
    spec: APISpec, converter: OpenAPIConverter, question: Question[Any, Any]
) -> None:
    answer = _reference(converter, question.answered)
    told = question.object_of(answered()[question.name])
    example = orjson.loads(orjson.dumps(told, option=orjson.OPT_SERIALIZE_NUMPY))
    body = _reference(converter, question.shape)
    asked_in = {
        _pascal(each.title.replace(" ", "_")): {"summary": each.title, "value": dict(each.body)}
        for each in question.examples
    }
    shell = curl(question, question.examples[0].body)
    common = {
        "tags": ["questions"],
        "summary": question.title,
        "description": f"{question.summary}\n\n```\n{shell}\n```",
    }
    spec.path(
        f"/v1/{question.name}",
        operations={
            "get": {
                **common,
                "operationId": question.name,
                "parameters": [
                    *_parameters(converter, question.shape),
                    _format(question.forms),
                    _IF_NONE_MATCH,
                    _REQUEST_ID,
                ],
                "responses": {"200": _reply(question, answer, example), "304": _HELD}
                | _problems([status for status in _QUESTION_PROBLEMS if status not in (413, 415)]),
            },
            "post": {
                **common,
                "operationId": f"{question.name}_post",
                "parameters": [_format(question.forms), _REQUEST_ID],
                "requestBody": {
                    "required": True,
                    "content": {"application/json": {"schema": body, "examples": asked_in}},
                },
                "responses": {"200": _reply(question, answer, example)}
                | _problems(_QUESTION_PROBLEMS),
            },
        },
    )


def _batch_path(spec: APISpec, questions: Sequence[Question[Any, Any]]) -> None:
    names = [question.name for question in questions]
    asked = {
        "type": "object",
        "properties": {
            "question": {"type": "string", "enum": names, "description": "name of a question"},
            "body": {
                "type": "object",
                "description": "the question as it would be posted to /v1/<question>",
            },
        },
        "required": ["question", "body"],
        "additionalProperties": False,
    }
    body = {
        "type": "object",
        "properties": {
            "questions": {
                "type": "array",
                # An item that is no question gets its own 422 and harms no other, so that the
                # list as such may hold anything.
                "items": {"anyOf": [{"$ref": "#/components/schemas/BatchQuestion"}, {}]},
                "minItems": 1,
                "maxItems": limits.BATCH_QUESTIONS,
                "description": "questions, answered in their order",
            }
        },
        "required": ["questions"],
        "additionalProperties": False,
    }
    item = {
        "type": "object",
        "properties": {
            "status": {"type": "integer", "description": "as if the question were asked alone"},
            "reply": {"type": "object", "description": "the reply of a status of 200"},
            "problem": {"$ref": "#/components/schemas/Problem"},
        },
        "required": ["status"],
        "oneOf": [{"required": ["reply"]}, {"required": ["problem"]}],
        "additionalProperties": False,
    }
    reply = {
        "type": "object",
        "properties": {
            "items": {"type": "array", "items": {"$ref": "#/components/schemas/BatchItem"}},
            "failed": {"type": "integer", "description": "items with another status than 200"},
            "model": {"type": "string"},
        },
        "required": ["items", "failed", "model"],
    }
    spec.components.schema("BatchQuestion", asked)
    spec.components.schema("BatchItem", item)
    spec.components.schema("Batch", body)
    example = {
        "questions": [
            {"question": question.name, "body": dict(question.examples[0].body)}
            for question in questions[:2]
        ]
    }
    answered = {
        "description": "Every item with its own status.",
        "content": {"application/json": {"schema": reply}},
    }
    reference = {"$ref": "#/components/schemas/Batch"}
    spec.path(
        "/v1/batch",
        operations={
            "post": {
                "tags": ["questions"],
                "summary": batch.TITLE,
                "description": batch.SUMMARY,
                "operationId": "batch",
                "parameters": [_format(["json"])],
                "requestBody": {
                    "required": True,
                    "content": {"application/json": {"schema": reference, "example": example}},
                },
                "responses": {"207": answered} | _problems(_QUESTION_PROBLEMS),
            }
        },
    )


def _get(
    spec: APISpec,
    path: str,
    summary: str,
    content: Mapping[str, Any],
    parameters: Sequence[Mapping[str, Any]] = (),
    statuses: Sequence[int] = _PLAIN_PROBLEMS,
    *,
    kept: bool = True,
) -> None:
    name = path.strip("/").replace("/", "_").replace("{", "").replace("}", "") or "index"
    reply: dict[str, Any] = {"description": summary, "content": dict(content)}
    replies: dict[str, Any] = {"200": reply}
    if kept:
        reply["headers"] = _ETAG
        replies["304"] = _HELD
    spec.path(
        path,
        operations={
            "get": {
                "tags": ["service"],
                "summary": summary,
                "operationId": name.replace(".", "_"),
                "parameters": [*parameters, *([_IF_NONE_MATCH] if kept else [])],
                "responses": replies | _problems(statuses),
            }
        },
    )


def _catalogue_paths(spec: APISpec, converter: OpenAPIConverter) -> None:
    for catalogue in CATALOGUES:
        row = _reference(converter, catalogue.row)
        rows = {
            "type": "array",
            "items": row,
        }
        units = {"type": "object", "additionalProperties": {"type": "string"}}
        listing = {
            "type": "object",
            "properties": {catalogue.name: rows, "units": units, "model": {"type": "string"}},
            "required": [catalogue.name, "units", "model"],
        }
        content: dict[str, Any] = {"application/json": {"schema": listing}}
        for form in FORMS[1:]:
            content[MEDIA_TYPES[form].split(";")[0]] = {"schema": {"type": "string"}}
        parameters = [*_parameters(converter, catalogue.shape), _format(FORMS)]
        _get(spec, f"/v1/{catalogue.name}", catalogue.summary, content, parameters, _READ_PROBLEMS)
    told = {
        "type": "object",
        "properties": {"request": {"type": "object"}, "figures": {"type": "object"}},
        "required": ["request", "figures", "model"],
        "example": {"request": {"body_bytes": limits.BODY_BYTES}},
    }
    units = {
        "name": "units",
        "in": "query",
        "description": "units of the figures' limits",
        "schema": {"type": "string", "enum": list(SYSTEMS), "default": "metric"},
    }
    _get(
        spec,
        "/v1/limits",
        "The limits of a request and of every figure.",
        {"application/json": {"schema": told}},
        [units, _format(["json"])],
        _READ_PROBLEMS,
    )


def _service_paths(spec: APISpec) -> None:
    text = {"text/plain": {"schema": {"type": "string"}}}
    page = {"text/html": {"schema": {"type": "string"}}}
    _get(spec, "/", "What can be asked; for a browser a form with the main question.", text | page)
    _get(spec, "/docs", "Every question with its fields and a true answer, for a browser.", page)
    _get(spec, "/docs/try", "Every question to try out in a browser.", page)
    script = {"text/x-python": {"schema": {"type": "string"}}}
    _get(spec, "/client.py", "The client for Python, one file.", script)
    _get(spec, "/livez", "Whether the service lives; it looks at nothing.", text, kept=False)
    _get(
        spec,
        "/readyz",
        "Whether the service answers: it computes a known answer.",
        text,
        kept=False,
    )
    _get(spec, "/metrics", "Counters of every worker for Prometheus.", text, kept=False)
    document = {"application/json": {"schema": {"type": "object"}}}
    _get(spec, "/openapi.json", "This document.", document)
    described = {
        "type": "object",
        "properties": {
            "type": {"type": "string"},
            "status": {"type": "integer"},
            "title": {"type": "string"},
            "remedy": {"type": "string"},
        },
        "required": ["type", "status", "title", "remedy"],
    }
    listing = {
        "type": "object",
        "properties": {"problems": {"type": "array", "items": described}},
        "required": ["problems"],
    }
    _get(spec, "/problems", "The types of problems.", {"application/json": {"schema": listing}})
    name = {
        "name": "name",
        "in": "path",
        "required": True,
        "schema": {"type": "string", "enum": list(TYPES)},
    }
    _get(
        spec,
        "/problems/{name}",
        "A type of problem and its remedy.",
        {"application/json": {"schema": described}},
        [name],
        (401, 404, 405, 429, 500, 503),
    )


@cache
def answered() -> Mapping[str, Answered[Any, Any]]:
    """The first example of every question with its answer, for the document and for `/docs`."""
    return {question.name: question.ask(question.examples[0].body) for question in QUESTIONS}


@cache
def document() -> bytes:
    """The document as JSON, two blanks a level."""
    spec, converter = _new_spec()
    _problem_responses(spec)
    spec.components.schema("Note", _NOTE)
    for name, schema in COMPONENTS.items():
        spec.components.schema(name, schema)
    for dimension in DIMENSIONS:
        spec.components.schema(dimension.component, dimension.text_schema)
    for question in QUESTIONS:
        _question_path(spec, converter, question)
    _batch_path(spec, QUESTIONS)
    _catalogue_paths(spec, converter)
    _service_paths(spec)
    made = spec.to_dict()
    _drop_unused(made["components"]["schemas"], made)
    _complete(made["components"]["schemas"], [question.shape for question in QUESTIONS])
    options = orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE
    return orjson.dumps(made, option=options)


def _drop_unused(schemas: dict[str, Any], made: Mapping[str, Any]) -> None:
    """Leave out text forms that no question takes."""
    text = orjson.dumps(made).decode()
    for dimension in DIMENSIONS:
        if f'"#/components/schemas/{dimension.component}"' not in text:
            del schemas[dimension.component]


def _complete(schemas: dict[str, Any], shapes: Sequence[Shape]) -> None:
    """Say of every shape that unknown names are refused, and which names go together."""
    for shape in _all_shapes(shapes):
        schemas[_component(shape)] |= {"additionalProperties": False} | dict(shape.together)


def _all_shapes(shapes: Sequence[Shape]) -> list[Shape]:
    found: list[Shape] = []
    for shape in shapes:
        found.append(shape)
        inner = [
            field.shape
            for field in shape.load_fields.values()
            if isinstance(field, Part | Either | Rows)
        ]
        found += _all_shapes(inner)
    return found


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
