"""What a question is, and the one way from a request to a reply.

A question file defines its schema, a function from what was asked to a `Reply`, and how the reply
reads as text; everything else (units, faults, forms, the OpenAPI document) happens here and in
`api.openapi` from those.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any, Final

import numpy as np
import orjson
from flask import Blueprint, Request, Response, request
from marshmallow import ValidationError

from api import asking, limits, places
from api.problems import Fault, Refused
from api.quantities import SYSTEMS, Quantity, Reading, System, reading
from api.replies.csv import Table
from api.replies.csv import write as write_csv
from api.replies.svg import Chart
from api.replies.svg import write as write_svg
from api.replies.text import Page
from api.replies.text import write as write_text
from api.schema import QuestionShape, echo, faults
from api.sharing import canonical
from model import MODEL_VERSION, effort
from model.basis import Note
from model.spread import Figure

# Seconds that a reply may be used again without asking: a question has one answer until the model
# or its data change, and an hour of yesterday's answers after that harms nobody.  (judgement)
FRESH: Final = 3600
# Two long computations in one process take more than twice the time of one, and twice the memory.
_TURN: Final = threading.Lock()
_JSON: Final = orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_APPEND_NEWLINE
Asked = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Reply:
    """What a question file gives back.

    answer : members of the answer; figures tagged with their kind (`quantities.length(x)`).
    result : the model's own result, for the text, the table and the chart.
    """

    answer: Mapping[str, Any]
    result: Any = None
    notes: Sequence[Note] = ()
    cautions: Sequence[str] = ()
    basis: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Understood:
    """A question as read, before it is answered.

    asked : the question in SI, defaults filled in; how : as it was read, with the reply's units.
    """

    asked: Asked
    how: Reading


@dataclass(frozen=True, slots=True)
class Answered:
    """A question with its reply, as the text, the table and the chart get to see it.

    asked : the question in SI; reply : the reply in SI; system : units to write in.
    """

    asked: Asked
    reply: Reply
    system: System


@dataclass(frozen=True, slots=True)
class Example:
    """A true example: its title and the question as JSON."""

    title: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Question:
    """One question of the service.

    name : end of its address, `/v1/<name>`.
    title, summary : for the document; the summary is a sentence or two.
    shape : instance of its schema, built once.
    answer : function from what was asked (SI) to the reply; raises ValidationError for what only
        the model can find wrong, `{name: [text]}` or a text.
    answered : JSON Schema of `answer`'s members.
    text, table, chart : the reply in other forms; a form left out is not offered.
    examples : at least one.
    follows : whether it follows moisture through the wood, which takes tens of milliseconds and
        more, and megabytes; a process answers such questions one at a time.
    """

    name: str
    title: str
    summary: str
    shape: QuestionShape
    answer: Callable[[Asked], Reply]
    answered: Mapping[str, Any]
    text: Callable[[Answered], Page]
    examples: Sequence[Example]
    table: Callable[[Answered], Table] | None = None
    chart: Callable[[Answered], Chart] | None = None
    follows: bool = False

    @property
    def forms(self) -> tuple[str, ...]:
        """Forms this question answers in."""
        offered = ["json", "text"]
        if self.table is not None:
            offered.append("csv")
        if self.chart is not None:
            offered.append("svg")
        return tuple(offered)

    def read(self, given: Mapping[str, Any], *, query: bool = False) -> Understood:
        """Read a question; raises Refused with every fault at once."""
        units = given.get("units")
        how = Reading(units=units if units in SYSTEMS else None, query=query)
        with reading(how):
            try:
                asked: Asked = self.shape.load(given)
            except ValidationError as error:
                raise invalid(error, query=query) from error
        return Understood(asked, how)

    def reply_to(self, understood: Understood) -> Answered:
        """Answer a question as read; raises Refused for what only the model finds wrong."""
        asked, how = understood.asked, understood.how
        with reading(how):
            try:
                turn = _TURN if self.follows else nullcontext()
                with turn, effort.within(limits.ANSWER_SECONDS):
                    reply = self.answer(asked)
            except ValidationError as error:
                raise invalid(error, query=how.query) from error
            except effort.TooBig as error:
                raise Refused(
                    "invalid-question",
                    f"The question is too big for one answer: {error}. Ask for fewer days, a "
                    "thicker or drier slab, or spread=none.",
                ) from error
        return Answered(asked, reply, how.reply)

    def ask(self, given: Mapping[str, Any], *, query: bool = False) -> Answered:
        """Read a question and answer it; raises Refused with every fault at once."""
        return self.reply_to(self.read(given, query=query))

    def tag(self, understood: Understood, form: str) -> str:
        """The ETag of the reply, known before it is computed.

        It holds the question as understood with the rows of the woods and places in it, the form
        and units of the reply, the model's version and the weather files on offer.  It is weak: a
        chart of the same figures may differ in its bytes.
        """
        digest = blake2b(canonical(understood.asked), digest_size=15)
        told = (self.name, form, understood.how.reply, MODEL_VERSION, places.stamp())
        digest.update(" ".join(told).encode())
        return f'W/"{digest.hexdigest()}"'

    def object_of(self, answered: Answered) -> dict[str, Any]:
        """The reply as a plain object in the units asked for."""
        units: dict[str, str] = {}
        reply, system = answered.reply, answered.system
        return {
            "answer": written(reply.answer, system, units),
            "units": units,
            "asked": {**echo(self.shape, answered.asked, system), "units": system},
            "notes": [
                {"code": n.code, "pointer": n.pointer, "message": n.message, "source": n.source}
                for n in reply.notes
            ],
            "cautions": list(reply.cautions),
            "basis": list(reply.basis),
            "model": MODEL_VERSION,
        }

    def write(self, answered: Answered, form: str) -> bytes:
        """The reply's body in a form of `forms`; every body ends with a newline."""
        if form == "json":
            return orjson.dumps(self.object_of(answered), option=_JSON)
        if form == "text":
            reply = answered.reply
            page = self.text(answered)
            return write_text(page, reply.notes, reply.cautions, reply.basis).encode()
        if form == "csv" and self.table is not None:
            return write_csv(self.table(answered)).encode()
        assert self.chart is not None
        return write_svg(self.chart(answered)).encode()

    def respond(self, request: Request) -> Response:
        """Answer a GET or POST request."""
        query = request.method != "POST"
        form = None
        given = asking.from_query(request.query_string)
        if not query:
            form = given.pop("format", None)
            if given:
                raise Refused(
                    "unreadable-request",
                    "A question asked by POST stands in the JSON body; its address takes only "
                    "`format`.",
                    [Fault(f"/{name}", "stands in the address") for name in given],
                )
            given = asking.from_body(request)
        form = given.pop("format", form)
        form = asking.negotiated(request, form, self.forms)
        understood = self.read(given, query=query)
        tag = self.tag(understood, form)
        headers = {"Vary": "Accept", "ETag": tag, "Cache-Control": f"max-age={FRESH}"}
        # Only GET and HEAD have a 304; a POST is answered in full.
        if query and "HTTP_IF_NONE_MATCH" in request.environ:
            known = request.if_none_match
            if not known.star_tag and known.contains_weak(tag[3:-1]):
                return Response(status=304, headers=headers)
        body = self.write(self.reply_to(understood), form)
        if query and request.if_none_match.star_tag:  # any answer will do, if there is one
            return Response(status=304, headers=headers)
        return Response(body, content_type=asking.MEDIA_TYPES[form], headers=headers)


def invalid(error: ValidationError, *, query: bool) -> Refused:
    """The refusal for the faults that a schema or a question found."""
    messages = error.normalized_messages()  # type: ignore[no-untyped-call]
    found = faults(messages, query=query)
    count = "One fault" if len(found) == 1 else f"{len(found)} faults"
    return Refused("invalid-question", f"{count} in the question; see errors.", found)


def written(value: Any, system: System, units: dict[str, str], name: str = "") -> Any:
    """An answer with its figures in the units of a system; `units` learns the unit of each name.

    A name in `units` is the dotted name of a member of the answer; it holds for everything under
    that member.  Indexes of lists are left out.
    """
    if isinstance(value, Quantity):
        units[name] = value.dimension.of_system[system].symbol
        return _converted(value, value.value, system)
    if isinstance(value, Mapping):
        below = f"{name}." if name else ""
        return {key: written(inner, system, units, below + key) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [written(inner, system, units, name) for inner in value]
    return value


def _converted(tag: Quantity, value: Any, system: System) -> Any:
    if isinstance(value, float):
        return tag.dimension.write(value, system)
    if isinstance(value, Figure):
        if value.low is None or value.high is None:
            return tag.dimension.write(value.value, system)
        triple = np.array([value.value, value.low, value.high])
        figures = tag.dimension.write(triple, system).tolist()
        return dict(zip(("value", "low", "high"), figures, strict=True))
    if isinstance(value, Mapping):
        return {key: _converted(tag, inner, system) for key, inner in value.items()}
    if value is None:
        return None
    return tag.dimension.write(np.asarray(value, dtype=np.float64), system)


def addresses(questions: Sequence[Question]) -> Blueprint:
    """The addresses of questions."""
    pages = Blueprint("questions", __name__, url_prefix="/v1")
    for question in questions:
        pages.add_url_rule(
            f"/{question.name}", question.name, _view(question), methods=["GET", "POST"]
        )
    return pages


def _view(question: Question) -> Callable[[], Response]:
    def answer() -> Response:
        return question.respond(request)

    return answer
