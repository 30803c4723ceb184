"""What a person reads in a browser: `/`, `/docs` and `/docs/try`; and the client to fetch.

No page repeats anything of a request but the address that was asked, and none needs another host:
the content security policy lets a browser load nothing but the files of this service.
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
from api.questions import QUESTIONS
from api.service import HERE, asked_at, curl, listing, plain
from model import MODEL_VERSION
from model.properties import finishes

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
_TABLE: Final = """curl 'http://127.0.0.1:8321/v1/movement?before=12&after=7' \\
  -H 'Content-Type: text/csv' --data-binary 'id,slab.species,slab.width [in],slab.thickness [in]
1,American elm,34,2
2,white oak,25 1/2,1 3/4
'"""
# A browser keeps pages and their files and asks each time, with their tags, whether they are still
# the same (a 304 of some 400 bytes): kept for an hour, a new page would meet yesterday's script.
_KEPT: Final = "no-cache"
_LEFT_OUT: Final = " when left out"
_TEXTS: Final = {"date": "date, 2026-09-25", "date-time": "time, RFC 3339"}


@dataclass(frozen=True, slots=True)
class Asked:
    """One field of a question as the page shows it.

    name : dotted name, `stays[].days` in a list of objects; meaning : what it is, with its limits;
    form : how it is written; left_out : what is taken when it is left out, or that it is needed.
    """

    name: str
    meaning: str
    form: str
    left_out: str


@dataclass(frozen=True, slots=True)
class Told:
    """A question as the page shows it, with a true example."""

    name: str
    title: str
    summary: str
    forms: Sequence[str]
    rule: str
    fields: Sequence[Asked]
    example: str
    command: str
    answer: str


def addresses(questions: Sequence[Question[Any, Any]]) -> Blueprint:
    """The pages, their files and the client."""
    pages = Blueprint("pages", __name__, template_folder="web")
    by_name = {question.name: question for question in questions}

    @pages.get("/")
    def start() -> Response:
        if request.accept_mimetypes.best_match(["text/plain", "text/html"]) != "text/html":
            reply = _asked_again(plain(listing(questions, asked_at())))
        else:
            reply = form("ask.html", by_name["settle"])
        reply.headers["Vary"] = "Accept"
        return reply

    def form(template: str, question: Question[Any, Any]) -> Response:
        return _page(template, question=question, demo=_demo(question), finishes=_finishes())

    @pages.get("/repair")
    def repair() -> Response:
        return form("repair.html", by_name["repair"])

    @pages.get("/docs")
    def described() -> Response:
        return _page(
            "docs.html",
            here=HERE,
            address=asked_at(),
            questions=prepared(),
            catalogues=CATALOGUES,
            problems=TYPES.values(),
            limits=limits,
            batch=_BATCH,
            table=_TABLE,
            tabled=openapi.TABLED,
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
    html = render_template(template, model=MODEL_VERSION, root=request.script_root, **shown) + "\n"
    reply = Response(html, content_type="text/html; charset=utf-8", headers=_HEADERS)
    return _asked_again(reply)


def _asked_again(reply: Response) -> Response:
    """A page that a browser keeps but asks for again, with a tag of its bytes."""
    reply.headers["Cache-Control"] = _KEPT
    reply.add_etag(weak=True)
    return reply.make_conditional(request)  # type: ignore[return-value]


def _file(path: Path, kind: str) -> Response:
    """A file of ours; its tag is known before anything is read."""
    content, tag = _read(path)
    reply = Response(content, content_type=kind, headers=_HEADERS)
    reply.set_etag(tag)
    reply.headers["Cache-Control"] = _KEPT
    reply.make_conditional(request)
    return reply


@cache
def _read(path: Path) -> tuple[bytes, str]:
    content = path.read_bytes()
    return content, sha256(content).hexdigest()[:32]


def _demo(question: Question[Any, Any]) -> Mapping[str, Any]:
    """A question's first example, which its form starts with."""
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


@cache
def prepared() -> tuple[Told, ...]:
    """Every question as `/docs` tells it, its example answered.

    That takes 2 to 3 s, so it is kept.  A server calls this before its workers part: else each
    of them lets the first reader of `/docs` and of `/openapi.json` wait for it.
    """
    return tuple(_told(QUESTIONS))


def _told(questions: Sequence[Question[Any, Any]]) -> Iterator[Told]:
    """The questions as the OpenAPI document tells them, with the answers of their examples."""
    document = orjson.loads(openapi.document())
    schemas = document["components"]["schemas"]
    for question in questions:
        post = document["paths"][f"/v1/{question.name}"]["post"]
        body = post["requestBody"]["content"]["application/json"]["schema"]
        schema = schemas[_name_of(body)]
        example = question.examples[0]
        yield Told(
            name=question.name,
            title=question.title,
            summary=question.summary,
            forms=question.forms,
            rule=_rule(schema),
            fields=list(Fields(schemas).of(schema)),
            example=example.title,
            command=dedent(curl(question, example.body)),
            answer=question.write(openapi.answered(question.name), "text").decode(),
        )


class Fields:
    """The fields of a question's JSON, those of inner objects and lists under dotted names.

    Inside a list an object that was told before is not told again.

    Parameters
    ----------
    schemas
        Components of the OpenAPI document.
    """

    def __init__(self, schemas: Mapping[str, Any]) -> None:
        self._schemas = schemas
        self._told: dict[str, str] = {}

    def of(self, schema: Mapping[str, Any], before: str = "", sure: bool = True) -> Iterator[Asked]:
        """Fields of an object; `sure` says whether the object itself must be there."""
        required = schema.get("required", ())
        for own, member in schema["properties"].items():
            name, needed = before + own, own in required
            rows, inner = self._rows(member), self._object(member)
            below = rows or inner
            twin = self._told.get(below) if "[]" in before else None
            form = _form(member, self._schemas)
            meaning, left_out = _parted(member["description"])
            rule = _rule(self._schemas[below]) if below else ""
            yield Asked(
                name,
                f"{meaning}; {_instead(member, rule)}" if rule else meaning,
                f"{form}, as of {twin}" if twin else form,
                ("needed" if sure else "needed in it") if needed else left_out,
            )
            if below and not twin:
                self._told.setdefault(below, name)
                inside = f"{name}[]." if rows else f"{name}."
                surely = sure and needed and "anyOf" not in member
                yield from self.of(self._schemas[below], inside, surely)

    def _object(self, member: Mapping[str, Any]) -> str:
        """Name of the object that may stand here, if any."""
        for each in member.get("anyOf", [member]):
            name = _name_of(each)
            if "properties" in self._schemas.get(name, ()):
                return name
        return ""

    def _rows(self, member: Mapping[str, Any]) -> str:
        """Name of the objects of a list, if that is what stands here."""
        return self._object(member["items"]) if member.get("type") == "array" else ""


def _name_of(schema: Mapping[str, Any]) -> str:
    return str(schema.get("$ref", "")).rpartition("/")[2]


def _rule(schema: Mapping[str, Any]) -> str:
    """Which members go together, where an object says it: the last paragraph about it."""
    return str(schema["description"]).partition("\n\n")[2]


def _instead(member: Mapping[str, Any], rule: str) -> str:
    """A rule among what is said of a member; some take one value instead of the object."""
    told = rule[0].lower() + rule[1:].removesuffix(".")
    return f"as an object: {told}" if "anyOf" in member else told


def _parted(description: str) -> tuple[str, str]:
    """What a member is, and what is taken when it is left out.

    >>> _parted("how long it is kept wet; 24 h when left out")
    ('how long it is kept wet', '24 h')
    """
    parts = description.split("; ")
    taken = [part for part in parts if part.endswith(_LEFT_OUT)]
    meaning = "; ".join(part for part in parts if part not in taken)
    return meaning, "; ".join(part.removesuffix(_LEFT_OUT).removesuffix(",") for part in taken)


def _form(schema: Mapping[str, Any], schemas: Mapping[str, Any]) -> str:
    """How a value is written, in a few words."""
    forms = [_one_form(each, schemas) for each in schema.get("anyOf", [schema])]
    return ", or ".join(dict.fromkeys(forms))


def _one_form(schema: Mapping[str, Any], schemas: Mapping[str, Any]) -> str:
    if "enum" in schema:
        return " | ".join(map(str, schema["enum"]))
    if name := _name_of(schema):
        return "an object" if "properties" in schemas[name] else _words(name)
    kind: str = schema.get("type", "text")
    if kind == "array":
        count, most = schema["minItems"], schema["maxItems"]
        span = f"{count:,}" if count == most else f"{count:,} to {most:,}"
        inner = _form(schema["items"], schemas)
        return f"list of {span}: {inner.replace('an object', 'objects')}"
    if kind == "string":
        return _TEXTS.get(schema.get("format", ""), "text")
    return {"integer": "whole number", "boolean": "true | false"}.get(kind, kind)


def _words(component: str) -> str:
    """What a figure is, from the name of its schema: `HeightAboveTheSea`."""
    return "".join(f" {c.lower()}" if c.isupper() else c for c in component).strip()
