"""The service about itself: whether it lives, whether it can answer, and what can be asked."""

from __future__ import annotations

import re
import shlex
import textwrap
from collections.abc import Sequence
from typing import Any, Final

import orjson
from flask import Blueprint, Response, request

from api.problems import TYPES, Refused
from api.question import Question
from api.replies.text import WIDTH, wrapped
from model import MODEL_VERSION
from model.properties import sorption

# 70 degF and 50 % RH hold 9.2 %, Wood Handbook FPL-GTR-190 Table 4-2 (printed), by its rounding.
_KNOWN: Final = (21.1, 50.0, 9.2, 0.06)

HERE: Final = "http://127.0.0.1:8321"  # the address that a service has where nothing is set
_HOST: Final = re.compile(r"([A-Za-z0-9.-]{1,253}|\[[0-9A-Fa-f:.]{2,45}\])(:[0-9]{1,5})?")


def asked_at() -> str:
    """The address that the caller asked, for lines that ask again; `HERE` where it is none."""
    if not _HOST.fullmatch(request.host):
        return HERE
    return f"{request.scheme}://{request.host}{request.script_root}"


def addresses(questions: Sequence[Question[Any, Any]]) -> Blueprint:
    """Health and the list of what can be asked."""
    pages = Blueprint("service", __name__)

    @pages.get("/livez")
    def alive() -> Response:
        return plain("alive\n")

    @pages.get("/readyz")
    def ready() -> Response:
        temperature, humidity, known, tolerance = _KNOWN
        computed = float(sorption.equilibrium_moisture(temperature, humidity))
        if not abs(computed - known) <= tolerance:
            raise Refused("unavailable", TYPES["unavailable"].remedy, headers={"Retry-After": "30"})
        return plain(f"ready, model {MODEL_VERSION}\n")

    return pages


def plain(text: str) -> Response:
    """A reply of plain text."""
    return Response(text, content_type="text/plain; charset=utf-8")


def as_json(body: Any) -> Response:
    """A reply of JSON that ends with a newline."""
    return Response(
        orjson.dumps(body, option=orjson.OPT_APPEND_NEWLINE | orjson.OPT_SERIALIZE_NUMPY),
        content_type="application/json",
    )


def listing(questions: Sequence[Question[Any, Any]], address: str = HERE) -> str:
    """What can be asked at an address, with an example of each question, for a terminal."""
    lines = [
        wrapped(
            "Stillwood answers how a wooden slab moves, cups and settles in the room it will live "
            "in. Ask by GET with a query string or by POST with JSON; add format=text for a "
            "reply to read, format=csv or format=svg where marked. A bare length or temperature "
            "needs units=us or units=metric, or its unit: 34in, 865mm, 70F."
        )
    ]
    for question in questions:
        more = ", ".join(form for form in question.forms if form not in ("json", "text"))
        head = f"/v1/{question.name}" + (f"  ({more})" if more else "")
        example = question.examples[0]
        lines.append(
            f"{head}\n{_indented(question.summary)}\n{curl(question, example.body, address)}"
        )
    lines.append(
        "Many questions at once, by POST: /v1/batch  (an example is in /docs#batch)\n"
        "A csv of slabs, answered row by row, by POST as text/csv: /docs#tables\n"
        "Catalogues: /v1/species /v1/finishes /v1/places /v1/climates /v1/limits\n"
        "  /v1/basis\n"
        "For a browser: /  /docs  /docs/try    For Python: /client.py\n"
        "The whole in OpenAPI 3.1: /openapi.json    Errors: /problems"
    )
    return "\n\n".join(lines) + "\n"


def _indented(text: str) -> str:
    return textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="  ")


def curl(question: Question[Any, Any], body: Any, host: str = HERE) -> str:
    """The question as a curl line: a parameter a line, quoted for a shell where it needs it.

    A question with lists of objects is posted as JSON, which reads better than JSON in a query.
    """
    if _has_rows(body):
        lines = orjson.dumps(body, option=orjson.OPT_INDENT_2).decode().replace("\n", "\n    ")
        return (
            f"  curl '{host}/v1/{question.name}?format=text' \\\n"
            f"    -H 'Content-Type: application/json' \\\n    -d {shlex.quote(lines)}"
        )
    parts = [f"  curl -G {host}/v1/{question.name}"]
    for name, value in (*flattened(body), ("format", "text")):
        parts.append(f"    --data-urlencode {shlex.quote(f'{name}={value}')}")
    return " \\\n".join(parts)


def _has_rows(body: Any) -> bool:
    if isinstance(body, dict):
        return any(_has_rows(inner) for inner in body.values())
    return isinstance(body, list) and any(isinstance(each, dict) for each in body)


def flattened(body: Any, name: str = "") -> list[tuple[str, str]]:
    """Dotted parameters of a JSON question; lists of figures with commas, of objects as JSON."""
    if isinstance(body, dict):
        below = f"{name}." if name else ""
        return [pair for key, inner in body.items() for pair in flattened(inner, below + key)]
    if isinstance(body, list):
        if any(isinstance(each, dict) for each in body):
            return [(name, orjson.dumps(body).decode())]
        return [(name, ",".join(str(each) for each in body))]
    if isinstance(body, bool):
        return [(name, "true" if body else "false")]
    return [(name, str(body))]
