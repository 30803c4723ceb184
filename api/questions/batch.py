"""`/v1/batch`: many questions in one request, each with its own status and reply or problem."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import orjson
from flask import Blueprint, Response, current_app, request

from api import asking, limits, observing
from api.admission import CALLER, Place, hung_up
from api.problems import TYPES, Fault, Refused
from api.quantities import shown
from api.question import Question, bounded
from api.schema import nearest
from api.sharing import canonical, sharing
from model import MODEL_VERSION

TITLE: Final = "Many questions at once"
SUMMARY: Final = (
    f"Up to {limits.BATCH_QUESTIONS:,} questions in one request: each is answered as if asked "
    "alone, with its own status and reply or problem, in the order asked. Equal questions, and "
    "equal rooms of different questions, are computed once."
)
FORM: Final = (
    f"a list of 1 to {limits.BATCH_QUESTIONS:,} objects with question, the name of one, and body, "
    "its JSON object"
)
_log = logging.getLogger("stillwood")


@dataclass(frozen=True, slots=True)
class Item:
    """What came of one question: its status, and its reply or problem as JSON."""

    status: int
    body: bytes

    @property
    def written(self) -> bytes:
        """The item as the reply of the batch has it."""
        name = b"reply" if self.status == 200 else b"problem"
        return b'{"status":%d,"%s":%s}' % (self.status, name, self.body)


def answer_all(
    questions: Mapping[str, Question[Any, Any]],
    asked: Sequence[Any],
    place: Place,
    *,
    query: bool = False,
) -> Iterator[Item]:
    """Answer every question in its order.

    Parameters
    ----------
    questions : those that can be asked, by name.
    asked : as the caller wrote them; one that cannot be read harms no other.
    place : of the batch, which has its turn; a question is not begun when `limits.BATCH_SECONDS`
        have passed since it came, and none when its caller has gone.
    query : whether their values are texts, as in a query string.

    Yields
    ------
    Item
    """
    room = limits.BATCH_REPLY_BYTES
    answered: dict[bytes, Item] = {}
    with sharing():
        for one in asked:
            key = canonical(one)
            item = answered.get(key)
            if item is None:
                place.let_others()
                if place.seconds() >= limits.BATCH_SECONDS:
                    item = _not_begun(
                        f"one request begins no question after {limits.BATCH_SECONDS:g} seconds"
                    )
                else:
                    if place.gone():
                        raise hung_up()
                    item = answered[key] = _answer(questions, one, query=query)
            room -= len(item.body)
            if room < 0:
                item = _not_begun(
                    f"the replies of one request may have {limits.BATCH_REPLY_BYTES:,} bytes"
                )
            observing.count_item(_named(questions, one), item.status)
            yield item


def _answer(questions: Mapping[str, Question[Any, Any]], one: Any, *, query: bool) -> Item:
    try:
        question, body = _read(questions, one)
        form = body.pop("format", "json")
        if form != "json":
            raise Refused("not-acceptable", f"{shown(form)} asked for; a batch answers in json.")
        return Item(200, question.write(question.ask(body, query=query), "json").rstrip())
    except Refused as refused:
        return _refused(refused)
    except Exception as error:
        # As for a question asked alone: the operator's log gets it, the other items go on.
        _log.error("unexpected failure in a batch", exc_info=error)
        return _refused(Refused("failure", TYPES["failure"].remedy))


def _named(questions: Mapping[str, Question[Any, Any]], one: Any) -> str:
    """The name of a question as a counter's label: one of ours, `none` for anything else."""
    name = one.get("question") if isinstance(one, dict) else None
    return name if isinstance(name, str) and name in questions else "none"


def _refused(refused: Refused) -> Item:
    return Item(refused.status, orjson.dumps(refused.body()))


def _not_begun(why: str) -> Item:
    detail = f"Not answered: {why}. Ask this and the later ones again in a request of their own."
    return _refused(Refused("unavailable", detail))


def _read(
    questions: Mapping[str, Question[Any, Any]], one: Any
) -> tuple[Question[Any, Any], dict[str, Any]]:
    """The question and its body; a body of its own, which the caller may change."""
    if not isinstance(one, dict):
        detail = f"{shown(one)} given; write an object with question and body"
        raise invalid([Fault("", detail)])
    wrong = [
        Fault(f"/{name}", nearest(name, ("question", "body")))
        for name in one
        if name not in ("question", "body")
    ]
    name, body = one.get("question"), one.get("body")
    if not isinstance(name, str) or name not in questions:
        detail = f"missing: name of a question; write one of {', '.join(questions)}"
        if "question" in one:
            detail = (
                nearest(name, list(questions)) if isinstance(name, str) else f"{shown(name)} given"
            )
        wrong.append(Fault("/question", detail))
    if not isinstance(body, dict):
        given = f"{shown(body)} given" if "body" in one else "missing"
        wrong.append(Fault("/body", f"{given}: the question; write a JSON object"))
    if wrong:
        raise invalid(wrong)
    assert isinstance(name, str)
    assert isinstance(body, dict)
    return questions[name], dict(body)


def invalid(found: Sequence[Fault]) -> Refused:
    """The refusal of a question for its faults."""
    count = "One fault" if len(found) == 1 else f"{len(found)} faults"
    return Refused("invalid-question", f"{count} in the question; see errors.", found)


def read_list(body: Mapping[str, Any]) -> list[Any]:
    """The `questions` of a batch; raises Refused when there is no list of them to answer."""
    wrong = [
        Fault(f"/{name}", nearest(name, ("questions",))) for name in body if name != "questions"
    ]
    listed = body.get("questions")
    if not isinstance(listed, list):
        given = f"{shown(listed)} given" if "questions" in body else "missing"
        wrong.append(Fault("/questions", f"{given}: write {FORM}"))
    elif not 1 <= len(listed) <= limits.BATCH_QUESTIONS:
        wrong.append(Fault("/questions", f"{len(listed):,} given: write {FORM}"))
    if wrong:
        raise invalid(wrong[: limits.FAULTS])
    assert isinstance(listed, list)
    return listed


def respond(questions: Mapping[str, Question[Any, Any]]) -> Response:
    """Answer a POST request."""
    form = asking.form_alone(asking.from_query(request.query_string), "A batch")
    asking.negotiated(request, form, ("json",))
    with Place(request.environ, current_app.extensions[CALLER]) as place:
        body = asking.body_of(request, place)
        place.take_turn()
        with bounded(place):
            asked = read_list(asking.parse(body))
        del body
        items = list(answer_all(questions, asked, place))
    failed = sum(item.status != 200 for item in items)
    body = b'{"items":[%s],"failed":%d,"model":%s}\n' % (
        b",".join(item.written for item in items),
        failed,
        orjson.dumps(MODEL_VERSION),
    )
    return Response(body, status=207, content_type="application/json", headers={"Vary": "Accept"})


def addresses(questions: Sequence[Question[Any, Any]]) -> Blueprint:
    """The address of the batch."""
    pages = Blueprint("batch", __name__, url_prefix="/v1")
    by_name = {question.name: question for question in questions}

    @pages.post("/batch")
    def batch() -> Response:
        return respond(by_name)

    return pages
