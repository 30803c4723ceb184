"""The one place where errors become replies: RFC 9457 problem details of a closed list of types."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import orjson
from flask import Blueprint, Flask, Response
from werkzeug.exceptions import HTTPException, MethodNotAllowed

MEDIA_TYPE: Final = "application/problem+json"
_log = logging.getLogger("stillwood")


@dataclass(frozen=True, slots=True)
class ProblemType:
    """A kind of refusal: its name is the end of its URL, `/problems/<name>`."""

    name: str
    status: int
    title: str
    remedy: str

    @property
    def url(self) -> str:
        """Where this type is described, relative to the service."""
        return f"/problems/{self.name}"


_TYPES: Final = (
    ProblemType(
        "unreadable-request",
        400,
        "The request cannot be read.",
        "Send one JSON object in UTF-8 with every name once and plain finite numbers, or a query "
        "string with every parameter once.",
    ),
    ProblemType(
        "not-authorised",
        401,
        "The request carries no token that this service knows.",
        "Send the header `Authorization: Bearer <token>` with a token from whoever runs this "
        "service.",
    ),
    ProblemType(
        "not-found",
        404,
        "Nothing answers at this address.",
        "`/` lists what can be asked; `/openapi.json` describes it in full.",
    ),
    ProblemType(
        "wrong-method",
        405,
        "This address does not take this method.",
        "Use one of the methods in the `Allow` header: questions take GET with a query string or "
        "POST with JSON.",
    ),
    ProblemType(
        "not-acceptable",
        406,
        "The reply cannot be written in the form asked for.",
        "Ask for one of the listed forms with `format=` or the `Accept` header.",
    ),
    ProblemType(
        "too-slow",
        408,
        "The request did not come whole in time.",
        "Send the body without pause; `/v1/limits` tells the time.",
    ),
    ProblemType(
        "too-large",
        413,
        "The request body is larger than this service reads.",
        "Split the question; `/v1/limits` tells the limit.",
    ),
    ProblemType(
        "too-long",
        414,
        "The address is longer than this service reads.",
        "Ask the same question by POST with a JSON body.",
    ),
    ProblemType(
        "wrong-media-type",
        415,
        "The request body is not plain JSON.",
        "Send `Content-Type: application/json` and no `Content-Encoding`.",
    ),
    ProblemType(
        "invalid-question",
        422,
        "The question was read but cannot be answered as it stands.",
        "Every fault is listed in `errors` with what was given, the limit and the right form.",
    ),
    ProblemType(
        "too-many-requests",
        429,
        "Too many requests in a short time.",
        "Wait as many seconds as the `Retry-After` header says.",
    ),
    ProblemType(
        "failure",
        500,
        "The service failed to answer.",
        "This is a fault of the service, not of the question; report it with the time it happened.",
    ),
    ProblemType(
        "unavailable",
        503,
        "The service cannot answer now.",
        "Wait as many seconds as the `Retry-After` header says.",
    ),
)
TYPES: Final = {kind.name: kind for kind in _TYPES}
_BY_STATUS: Final = {kind.status: kind for kind in _TYPES}


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: where (RFC 6901 pointer) and what, with the limit and the right form."""

    pointer: str
    detail: str


@dataclass(slots=True)
class Refused(Exception):  # noqa: N818 - it names what happened to a request
    """A request is refused: raised anywhere, answered here.

    `pointer` of a fault names the place in the JSON body, or the dotted parameter of a query.
    """

    name: str
    detail: str
    faults: Sequence[Fault] = ()
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def status(self) -> int:
        """HTTP status of the problem's type."""
        return TYPES[self.name].status

    def body(self) -> dict[str, Any]:
        """Problem details as a plain object."""
        kind = TYPES[self.name]
        body: dict[str, Any] = {
            "type": kind.url,
            "title": kind.title,
            "status": kind.status,
            "detail": self.detail,
        }
        if self.faults:
            body["errors"] = [{"pointer": f.pointer, "detail": f.detail} for f in self.faults]
        return body


def response(refused: Refused) -> Response:
    """The HTTP reply of a refusal."""
    return Response(
        orjson.dumps(refused.body(), option=orjson.OPT_APPEND_NEWLINE),
        status=refused.status,
        headers=dict(refused.headers),
        content_type=MEDIA_TYPE,
    )


def of_http(error: HTTPException) -> Refused:
    """A refusal for an error that Flask or Werkzeug found."""
    kind = _BY_STATUS.get(error.code or 500)
    if kind is None:
        # Only a status outside the closed list, such as 431, comes here.
        kind = TYPES["unreadable-request" if (error.code or 500) < 500 else "failure"]
    headers: dict[str, str] = {}
    if isinstance(error, MethodNotAllowed) and error.valid_methods:
        headers["Allow"] = ", ".join(sorted(error.valid_methods))
    return Refused(kind.name, kind.remedy, headers=headers)


def install(app: Flask) -> None:
    """Answer every error of the application in this form, and describe the types."""

    @app.errorhandler(Refused)
    def refused(error: Refused) -> Response:
        return response(error)

    @app.errorhandler(HTTPException)
    def http_error(error: HTTPException) -> Response:
        return response(of_http(error))

    @app.errorhandler(Exception)
    def failure(error: Exception) -> Response:
        # The caller learns nothing of the inside; the operator's log gets all of it.
        _log.error("unexpected failure", exc_info=error)
        return response(Refused("failure", TYPES["failure"].remedy))

    pages = Blueprint("problems", __name__)

    @pages.get("/problems")
    def listed() -> Response:
        return _described({"problems": [_described_type(kind) for kind in _TYPES]})

    @pages.get("/problems/<name>")
    def one(name: str) -> Response:
        kind = TYPES.get(name)
        if kind is None:
            raise Refused("not-found", f"No problem of that name; known: {', '.join(TYPES)}.")
        return _described(_described_type(kind))

    app.register_blueprint(pages)


def _described_type(kind: ProblemType) -> dict[str, Any]:
    return {
        "type": kind.url,
        "status": kind.status,
        "title": kind.title,
        "remedy": kind.remedy,
    }


def _described(body: dict[str, Any]) -> Response:
    return Response(
        orjson.dumps(body, option=orjson.OPT_APPEND_NEWLINE), content_type="application/json"
    )
