"""What a person reads in a browser: `/`, `/docs` and `/docs/try`; and the client to fetch.

No page repeats anything of a request, and none needs another host: the content security policy
lets a browser load nothing but the files of this service.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from textwrap import dedent
from typing import Any, Final

import orjson
from flask import Blueprint, Response, render_template, request

from api import limits, openapi
from api.catalogues import CATALOGUES
from api.problems import TYPES
from api.question import Question
from api.service import curl, listing, plain
from model import MODEL_VERSION, finishes, species

_HERE: Final = Path(__file__).parent
_WEB: Final = _HERE / "web"
_SWAGGER: Final = _HERE / "vendor" / "swagger-ui"
_SCRIPT: Final = "text/javascript; charset=utf-8"
_STYLE: Final = "text/css; charset=utf-8"
_TEXT: Final = "text/plain; charset=utf-8"
_FILES: Final = {
    "frame.css": (_WEB / "frame.css", _STYLE),
    "page.css": (_WEB / "page.css", _STYLE),
    "ask.js": (_WEB / "ask.js", _SCRIPT),
    "try.js": (_WEB / "try.js", _SCRIPT),
    "icon.svg": (_WEB / "icon.svg", "image/svg+xml"),
    "swagger-ui.css": (_SWAGGER / "swagger-ui.css", _STYLE),
    "swagger-ui-bundle.js": (_SWAGGER / "swagger-ui-bundle.js", _SCRIPT),
    "swagger-ui-LICENSE.txt": (_SWAGGER / "LICENSE", _TEXT),
}
# Charts are shown from memory (blob:); Swagger UI's style sheet carries its icons (data:).
_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS: Final = {
    "Content-Security-Policy": _POLICY,
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}
_BATCH: Final = """curl http://127.0.0.1:8321/v1/batch -H 'Content-Type: application/json' -d '
{"questions": [
  {"question": "equilibrium", "body": {"temperature": "70F", "relative_humidity": 28}},
  {"question": "equilibrium", "body": {"temperature": "70F", "relative_humidity": 55}}
]}'"""
_KEPT_SECONDS: Final = 3600  # a browser asks again after an hour, with the ETag it has
_TEXTS: Final = {"date": "date, 2026-09-25", "date-time": "time, RFC 3339"}


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a question as the page shows it.

    name : dotted name; meaning : what it is, with its limits; form : how it is written;
    default : what is taken if it is left out, or nothing.
    """

    name: str
    meaning: str
    form: str
    default: str
    required: bool


@dataclass(frozen=True, slots=True)
class Told:
    """A question as the page shows it, with a true example."""

    name: str
    title: str
    summary: str
    forms: Sequence[str]
    fields: Sequence[Asked]
    example: str
    command: str
    answer: str


def addresses(questions: Sequence[Question]) -> Blueprint:
    """The pages, their files and the client."""
    pages = Blueprint("pages", __name__, template_folder="web")
    listed = listing(questions)
    by_name = {question.name: question for question in questions}

    @cache
    def told() -> list[Told]:  # when first asked for: every example is answered
        return list(_told(questions))

    @pages.get("/")
    def start() -> Response:
        if request.accept_mimetypes.best_match(["text/plain", "text/html"]) != "text/html":
            reply = plain(listed)
        else:
            reply = _page(
                "ask.html",
                demo=_demo(by_name["settle"]),
                woods=[wood.name for wood in species.all_species()],
                finishes=_finishes(),
            )
        reply.headers["Vary"] = "Accept"
        return reply

    @pages.get("/docs")
    def described() -> Response:
        return _page(
            "docs.html",
            questions=told(),
            catalogues=CATALOGUES,
            problems=TYPES.values(),
            limits=limits,
            batch=_BATCH,
        )

    @pages.get("/docs/try")
    def tried() -> Response:
        return _page("try.html")

    @pages.get("/client.py")
    def client() -> Response:
        return _file(_HERE / "client.py", "text/x-python; charset=utf-8")

    for name, (path, kind) in _FILES.items():
        pages.add_url_rule(
            f"/web/{name}", f"file {name}".replace(".", " "), _view(path, kind), methods=["GET"]
        )
    return pages


def _view(path: Path, kind: str) -> Any:
    def served() -> Response:
        return _file(path, kind)

    return served


def _page(template: str, **shown: Any) -> Response:
    html = render_template(template, model=MODEL_VERSION, **shown) + "\n"
    return Response(html, content_type="text/html; charset=utf-8", headers=_HEADERS)


def _file(path: Path, kind: str) -> Response:
    """A file of ours, which a browser keeps and asks for again with its ETag."""
    content, tag = _read(path)
    reply = Response(content, content_type=kind, headers=_HEADERS)
    reply.set_etag(tag)
    reply.cache_control.max_age = _KEPT_SECONDS
    reply.make_conditional(request)
    return reply


@cache
def _read(path: Path) -> tuple[bytes, str]:
    content = path.read_bytes()
    return content, sha256(content).hexdigest()[:32]


def _demo(question: Question) -> Mapping[str, Any]:
    """The main question's first example, which the form starts with."""
    return question.examples[0].body


@cache
def _finishes() -> list[tuple[str, str]]:
    """Id and words of every finish; the number of coats tells those of one name apart."""
    known = finishes.all_finishes()
    names = [finish.name for finish in known]
    return [
        (
            finish.id,
            f"{finish.name}, {finish.coats} coats" if names.count(finish.name) > 1 else finish.name,
        )
        for finish in known
    ]


def _told(questions: Sequence[Question]) -> Iterator[Told]:
    """The questions as the OpenAPI document tells them, with the answers of their examples."""
    paths = orjson.loads(openapi.document())["paths"]
    for question in questions:
        operation = paths[f"/v1/{question.name}"]["get"]
        example = question.examples[0]
        yield Told(
            name=question.name,
            title=operation["summary"],
            summary=question.summary,
            forms=question.forms,
            fields=[_asked(each) for each in operation["parameters"] if _of_question(each)],
            example=example.title,
            command=dedent(curl(question, example.body)),
            answer=question.write(question.ask(example.body), "text").decode(),
        )


def _of_question(parameter: Mapping[str, Any]) -> bool:
    """Whether a parameter is part of the question, and not of how it is replied to."""
    return parameter.get("in") == "query" and parameter["name"] != "format"


def _asked(parameter: Mapping[str, Any]) -> Asked:
    schema = parameter.get("schema") or parameter["content"]["application/json"]["schema"]
    return Asked(
        name=parameter["name"],
        meaning=schema.get("description", parameter["description"]),
        form=_form(schema),
        default=_default(schema),
        required=parameter.get("required", False),
    )


def _default(schema: Mapping[str, Any]) -> str:
    value = schema.get("default", "")
    return str(value).lower() if isinstance(value, bool) else str(value)


def _form(schema: Mapping[str, Any]) -> str:
    """How a value is written, in a word or two."""
    if "enum" in schema:
        return " | ".join(map(str, schema["enum"]))
    if "anyOf" in schema:
        inner = schema["anyOf"]
        if any("$ref" in each for each in inner):
            return _with_unit(inner)
        return _form(inner[-1])
    kind: str = schema.get("type", "text")
    if kind == "array":
        count, most = schema.get("minItems"), schema.get("maxItems")
        span = f"{count:,}" if count == most else f"{count:,} to {most:,}"
        return f"list of {span}"
    if kind == "string":
        return _TEXTS.get(schema.get("format", ""), "text")
    return {"integer": "whole number", "boolean": "true | false"}.get(kind, kind)


def _with_unit(forms: Sequence[Mapping[str, Any]]) -> str:
    """A figure that may carry its unit, named after the kind of its text form."""
    component = next(each["$ref"] for each in forms if "$ref" in each).rpartition("/")[2]
    words = "".join(f" {c.lower()}" if c.isupper() else c for c in component.removesuffix("Text"))
    return words.strip()
