"""What a question is, and the one way from a request to a reply.

A question declares its schema, which loads into a frozen dataclass of the model's objects; a
function from that to a `Reply`; its answer; and how the reply reads as text.  Everything else
(units, faults, forms, the OpenAPI document) happens here and in `api.openapi` from those.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from hashlib import blake2b
from typing import TYPE_CHECKING, Any, Final, Generic, TypeVar

import orjson
from flask import Blueprint, Request, Response, current_app, request
from marshmallow import ValidationError

from api import asking, limits, places, words
from api.admission import CALLER, here
from api.admission import Place as PlaceInLine
from api.placed import PlaceAnswer, places_of
from api.placed import told as told_places
from api.problems import Refused
from api.quantities import Reading, reading
from api.replies.csv import Table
from api.replies.csv import write as write_csv
from api.replies.ics import Entry
from api.replies.ics import write as write_ics
from api.replies.members import Answer, Units
from api.replies.svg import Chart
from api.replies.svg import write as write_svg
from api.replies.text import Page
from api.replies.text import brief as write_brief
from api.replies.text import write as write_text
from api.schema import QuestionShape, Told, echo, faults, now
from api.shapes.moisture import evidence_notes
from api.sharing import canonical
from api.units import SYSTEMS, System
from api.words import Under
from model import MODEL_VERSION, effort
from model.codes import Caution, Note

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIEnvironment

# Seconds that a reply may be used again without asking: a question has one answer until the model
# or its data change, and an hour of yesterday's answers after that harms nobody.  (judgement)
FRESH: Final = 3600
_PLACE: Final = PlaceAnswer()
_ALWAYS_FULL: Final = "only a text is told in short; leave detail out, or ask with format=text"
_JSON: Final = orjson.OPT_SERIALIZE_NUMPY | orjson.OPT_APPEND_NEWLINE
Asked = TypeVar("Asked")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Reply(Generic[Result]):
    """What a question gives back.

    result : the model's own result; the answer, the text, the table and the chart read from it.
    """

    result: Result
    notes: Sequence[Note | Under] = ()
    cautions: Sequence[Caution] = ()
    basis: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Understood(Generic[Asked]):
    """A question as read, before it is answered.

    told : the question in SI as told, defaults filled in, and the object made of it.
    how : as it was read, with the reply's units.
    """

    told: Told[Asked]
    how: Reading


@dataclass(frozen=True, slots=True)
class Answered(Generic[Asked, Result]):
    """A question with its reply, as the text, the table and the chart get to see it.

    told : the question as told; reply : the reply in SI; system : units to write in.
    """

    told: Told[Asked]
    reply: Reply[Result]
    system: System

    @property
    def asked(self) -> Asked:
        """The question, as the model's objects."""
        return self.told.made

    @property
    def result(self) -> Result:
        """The model's result."""
        return self.reply.result


@dataclass(frozen=True, slots=True)
class Example:
    """A true example: its title and the question as JSON."""

    title: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Question(Generic[Asked, Result]):
    """One question of the service.

    name : end of its address, `/v1/<name>`.
    title, summary : for the document; the summary is a sentence or two.
    shape : instance of its schema, built once; it makes what `answer` takes.
    answer : function from what was asked to the reply; raises ValidationError for what only
        the model can find wrong, `{name: [text]}` or a text.
    answered : the answer's declaration, which reads from the result.
    text, table, chart, calendar : the reply in other forms; a form left out is not offered.
    examples : at least one.
    as_csv : names, one in another, of a member that a body of text/csv may stand for; its other
        members then stand in the address.
    in_tables : members of its answer that a table of slabs gets back as columns (`api.tables`); a
        question without takes no table.
    follows : whether it follows moisture through the wood, which takes tens of milliseconds and
        more, and megabytes; such questions take turns (`api.admission`).
    """

    name: str
    title: str
    summary: str
    shape: QuestionShape
    answer: Callable[[Asked], Reply[Result]]
    answered: Answer
    text: Callable[[Answered[Asked, Result]], Page]
    examples: Sequence[Example]
    table: Callable[[Answered[Asked, Result]], Table] | None = None
    chart: Callable[[Answered[Asked, Result]], Chart] | None = None
    calendar: Callable[[Answered[Asked, Result]], Sequence[Entry]] | None = None
    follows: bool = False
    as_csv: Sequence[str] = ()
    in_tables: Sequence[str] = ()

    @property
    def forms(self) -> tuple[str, ...]:
        """Forms this question answers in."""
        offered = ["json", "text"]
        if self.table is not None:
            offered.append("csv")
        if self.chart is not None:
            offered.append("svg")
        if self.calendar is not None:
            offered.append("ics")
        return tuple(offered)

    def read(
        self, given: Mapping[str, Any], *, query: bool = False, form: str = "json"
    ) -> Understood[Asked]:
        """Read a question to be answered in a form; raises Refused with every fault at once."""
        units = given.get("units")
        how = Reading(units=units if units in SYSTEMS else None, query=query)
        with reading(how):
            try:
                told: Told[Asked] = self.shape.load(given)
                if form != "text" and told.values.get("detail") == "short":
                    raise ValidationError({"detail": [f"short given: {_ALWAYS_FULL}"]})
            except ValidationError as error:
                raise invalid(error, query=query) from error
        return Understood(told, how)

    def reply_to(self, understood: Understood[Asked]) -> Answered[Asked, Result]:
        """Answer a question as read; raises Refused for what only the model finds wrong."""
        told, how = understood.told, understood.how
        with reading(how):
            try:
                reply = self.answer(told.made)
            except ValidationError as error:
                raise invalid(error, query=how.query) from error
        if made := evidence_notes(told.made):
            reply = replace(reply, notes=[*made, *reply.notes])
        return Answered(told, reply, how.reply)

    def ask(self, given: Mapping[str, Any], *, query: bool = False) -> Answered[Asked, Result]:
        """Read a question and answer it; raises Refused with every fault at once."""
        with bounded():
            return self.reply_to(self.read(given, query=query))

    def tag(self, understood: Understood[Asked], form: str) -> str:
        """The ETag of the reply, known before it is computed.

        It holds the question as understood with the rows of the woods and places in it, the form
        and units of the reply, the model's version and the weather files on offer.  It is weak: a
        chart of the same figures may differ in its bytes.
        """
        digest = blake2b(canonical(understood.told.values), digest_size=15)
        told = (self.name, form, understood.how.reply, MODEL_VERSION, places.stamp())
        digest.update(" ".join(told).encode())
        return f'W/"{digest.hexdigest()}"'

    def object_of(self, answered: Answered[Asked, Result]) -> dict[str, Any]:
        """The reply as a plain object in the units asked for."""
        units: Units = {}
        reply, system = answered.reply, answered.system
        return {
            "places": [_PLACE.write(one, system, units) for one in places_of(answered.asked)],
            "answer": self.answered.write(reply.result, system, units),
            "units": units,
            "asked": {**echo(self.shape, answered.told.values, system), "units": system},
            "notes": [
                {
                    "code": note.code,
                    "rank": note.rank,
                    "pointer": note.pointer,
                    "message": note.message,
                    "source": note.source,
                }
                for note in words.notes(reply.notes)
            ],
            "cautions": words.cautions(reply.cautions),
            "basis": list(reply.basis),
            "model": MODEL_VERSION,
        }

    def write(self, answered: Answered[Asked, Result], form: str) -> bytes:
        """The reply's body in a form of `forms`; every body ends with a newline."""
        if form == "json":
            return orjson.dumps(self.object_of(answered), option=_JSON)
        if form == "text":
            return self._text_of(answered).encode()
        if form == "csv" and self.table is not None:
            return write_csv(self.table(answered)).encode()
        if form == "ics" and self.calendar is not None:
            return write_ics(self.calendar(answered), answered.told.values["starts"])
        assert self.chart is not None
        return write_svg(self.chart(answered)).encode()

    def _text_of(self, answered: Answered[Asked, Result]) -> str:
        """The reply as text, as much of it as was asked for."""
        page, reply = self.text(answered), answered.reply
        notes, where = words.notes(reply.notes), told_places(places_of(answered.asked))
        if answered.told.values.get("detail") == "full":
            return write_text(page, notes, words.cautions(reply.cautions), reply.basis, where)
        return write_brief(page, notes, words.short_cautions(reply.cautions), where)

    def respond(self, request: Request) -> Response:
        """Answer a GET or POST request."""
        query = request.method != "POST"
        given = asking.from_query(request.query_string)
        with PlaceInLine(request.environ, current_app.extensions[CALLER]) as place:
            if query:
                form = given.pop("format", None)
                return self._respond(request, given, form, place)
            as_csv = bool(self.as_csv) and request.mimetype == "text/csv"
            detail = None
            if as_csv:
                form = given.pop("format", None)
            else:
                detail = given.pop("detail", None)
                form = asking.form_alone(given, "A question asked by POST", "`format` and `detail`")
            body = asking.body_of(request, place, "text/csv" if as_csv else "application/json")

            def parsed() -> dict[str, Any]:
                if as_csv:
                    return asking.with_text(given, self.as_csv, asking.text_of(body))
                told = asking.parse(body)
                return told if detail is None else asking.with_member(told, "detail", detail)

            if len(body) >= limits.LARGE_BODY_BYTES:
                place.take_turn()
                with bounded(place):
                    return self._respond(request, parsed(), form, place)
            return self._respond(request, parsed(), form, place)

    def _respond(
        self, request: Request, given: dict[str, Any], form: str | None, place: PlaceInLine
    ) -> Response:
        """Answer a question as given; a long one, and a chart, in its turn."""
        query = request.method != "POST"
        form = asking.negotiated(request, given.pop("format", form), self.forms)
        understood = self.read(given, query=query, form=form)
        tag = self.tag(understood, form)
        fresh = min(FRESH, _until_midnight()) if understood.how.took_today else FRESH
        headers = {"Vary": "Accept", "ETag": tag, "Cache-Control": f"max-age={fresh}"}
        # Only GET and HEAD have a 304; a POST is answered in full.
        if query and "HTTP_IF_NONE_MATCH" in request.environ:
            known = request.if_none_match
            if not known.star_tag and known.contains_weak(tag[3:-1]):
                return Response(status=304, headers=headers)
        if self.follows or form == "svg":
            place.take_turn()
            with bounded(place):
                written = self.write(self.reply_to(understood), form)
        else:
            # The clock of a thread's own time, and all this, would cost a tenth of a light answer.
            written = self.write(self.reply_to(understood), form)
        if query and request.if_none_match.star_tag:  # any answer will do, if there is one
            return Response(status=304, headers=headers)
        if form == "csv":
            # A sheet is kept as a file: a browser and `curl -OJ` name it by its question.
            headers["Content-Disposition"] = f'attachment; filename="{self.name}.csv"'
        return _Computed(written, content_type=asking.MEDIA_TYPES[form], headers=headers)


class _Computed(Response):
    """A reply whose headers are whole as they stand: nothing is looked for in them and derived."""

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        if environ["REQUEST_METHOD"] == "HEAD" or not isinstance(self.response, list):
            return super().__call__(environ, start_response)
        start_response(self.status, self.headers.to_wsgi_list())
        return self.response


@contextmanager
def bounded(place: PlaceInLine | None = None) -> Iterator[None]:
    """Compute within the limit of an answer; raises Refused where it is passed.

    place : of the request that is answered, whose caller may hang up; by default the present one.
    """
    place = place or here()
    try:
        with effort.within(limits.ANSWER_SECONDS, None if place is None else place.watch):
            yield
    except effort.TooBig as error:
        raise Refused(
            "invalid-question",
            f"The question is too big for one answer: {error}. Ask for fewer days, a "
            "thicker or drier slab, or spread=none.",
        ) from error


def invalid(error: ValidationError, *, query: bool) -> Refused:
    """The refusal for the faults that a schema or a question found."""
    messages = error.normalized_messages()  # type: ignore[no-untyped-call]
    found = faults(messages, query=query)
    count = "One fault" if len(found) == 1 else f"{len(found)} faults"
    return Refused("invalid-question", f"{count} in the question; see errors.", found)


def _until_midnight() -> int:
    """Seconds for which today (UTC) is still today."""
    moment = now()
    return 86_400 - (3600 * moment.hour + 60 * moment.minute + moment.second)


TableOf = Callable[[Question[Any, Any], Request], Response]


def addresses(questions: Sequence[Question[Any, Any]], table: TableOf) -> Blueprint:
    """The addresses of questions; `table` answers a csv of slabs posted to one that takes it."""
    pages = Blueprint("questions", __name__, url_prefix="/v1")
    for question in questions:
        pages.add_url_rule(
            f"/{question.name}", question.name, _view(question, table), methods=["GET", "POST"]
        )
    return pages


def _view(question: Question[Any, Any], table: TableOf) -> Callable[[], Response]:
    def answer() -> Response:
        # The request itself: each look through what stands for it costs half a microsecond.
        asked = request._get_current_object()  # type: ignore[attr-defined]
        if question.in_tables and asked.method == "POST" and asked.mimetype == "text/csv":
            return table(question, asked)
        return question.respond(asked)

    return answer
