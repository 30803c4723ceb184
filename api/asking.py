"""Reading a request: a query string with dotted names, or a JSON body, into one nested object."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, BinaryIO, Final
from urllib.parse import parse_qsl

import orjson
from flask import Request
from gunicorn.http.errors import ParseException

from api import limits
from api.admission import ARRIVAL, Place
from api.problems import Fault, Refused
from api.quantities import shown

# Every string with the colon that makes it a name, and every bracket.  Numbers are passed over
# at the speed of the regular expression, so that a list of 100,000 costs about 3 ms.  A string
# that does not end is taken to the end of the text, and nothing is tried twice: the time stays in
# proportion to the length, whatever the text is.
_TOKENS: Final = re.compile(rb'"(?:[^"\\]|\\.)*+(?:"\s*+:?|\\?\Z)|[{}\[\]]', re.DOTALL)
# Bytes of a text of `limits.TEXT_LENGTH` characters, each escaped, with its quotes and colon.
_TEXT_BYTES: Final = 6 * limits.TEXT_LENGTH + 3
# Of the members of all questions the one whose text is a whole file, as long as a body may be.
_FILE: Final = b'"csv"'


def from_query(query: bytes) -> dict[str, Any]:
    """Nested object of a query string: `slab.width=34in` is {"slab": {"width": "34in"}}."""
    return nested(pairs(query))


def pairs(query: bytes) -> list[tuple[str, str]]:
    """Names and values of a query string, in its order."""
    try:
        return parse_qsl(
            query.decode("ascii"),
            keep_blank_values=True,
            errors="strict",
            max_num_fields=limits.QUERY_PARAMETERS,
        )
    except UnicodeDecodeError:
        raise Refused(
            "unreadable-request", "The query string is not percent-encoded UTF-8."
        ) from None
    except ValueError:
        raise Refused(
            "unreadable-request",
            f"The query string has more than {limits.QUERY_PARAMETERS} parameters; "
            "ask by POST with a JSON body.",
        ) from None


def nested(told: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """Nested object of names with dots and their values; raises Refused where they clash."""
    made: dict[str, Any] = {}
    for name, text in told:
        if "." not in name:
            _put(made, name, text, name)
            continue
        *parents, last = name.split(".")
        if len(parents) >= limits.NESTING:
            raise _unreadable(name, f"more than {limits.NESTING} names in one another")
        place = made
        for parent in parents:
            inner = place.setdefault(parent, {})
            if not isinstance(inner, dict):
                raise _unreadable(name, f"{shown(parent)} is given as one value and in parts")
            place = inner
        _put(place, last, text, name)
    return made


def _put(place: dict[str, Any], name: str, text: str, full: str) -> None:
    if name in place:
        both = isinstance(place[name], dict)
        raise _unreadable(full, "given as one value and in parts" if both else "given twice")
    place[name] = text


def _unreadable(name: str, what: str) -> Refused:
    pointer = "/" + name.replace("~", "~0").replace("/", "~1")
    return Refused(
        "unreadable-request",
        "The query string cannot be read.",
        [Fault(pointer, f"parameter {shown(name)}: {what}; write every parameter once")],
    )


def form_alone(given: dict[str, Any], what: str, takes: str = "`format`") -> str | None:
    """The form that the address of a POST asks for; it takes nothing else that is left in it."""
    form: str | None = given.pop("format", None)
    if given:
        raise Refused(
            "unreadable-request",
            f"{what} stands in the JSON body; its address takes only {takes}.",
            [Fault(f"/{name}", "stands in the address") for name in given],
        )
    return form


def body_of(request: Request, place: Place, kind: str = "application/json") -> bytes:
    """The bytes of a request's body, read whole; raises Refused where they cannot be."""
    if request.mimetype != kind or request.headers.get("Content-Encoding"):
        given = request.headers.get("Content-Encoding") or request.mimetype or "none"
        what = "JSON" if kind == "application/json" else "the text"
        raise Refused(
            "wrong-media-type",
            f"Content type {shown(given)} given; send {what} with the header "
            f"`Content-Type: {kind}` (curl: -H 'Content-Type: {kind}') "
            "and no Content-Encoding.",
        )
    promised = request.content_length
    if promised is not None and promised > limits.BODY_BYTES:
        raise _too_large()
    if promised is None or promised >= limits.LARGE_BODY_BYTES:
        place.take_room()
    arrival = ARRIVAL.get()
    try:
        body = _whole(request, promised)
    except (OSError, ParseException) as error:
        if arrival is not None and arrival.late:
            raise _too_slow() from error
        raise Refused(
            "unreadable-request", "The body is broken off, or its chunks are malformed."
        ) from error
    if promised is not None and len(body) < promised:
        if arrival is not None and arrival.late:
            raise _too_slow()
        raise Refused(
            "unreadable-request",
            f"The body is broken off: {promised:,} bytes are promised and {len(body):,} came.",
        )
    if arrival is not None:
        arrival.read = True
    return body


def _whole(request: Request, promised: int | None) -> bytes:
    """All of a body, of which no length is promised where it comes in chunks."""
    stream: BinaryIO = request.environ["wsgi.input"]
    if promised is not None:
        return stream.read(promised)
    if not request.environ.get("wsgi.input_terminated"):
        return b""
    body = stream.read(limits.BODY_BYTES + 1)
    if len(body) > limits.BODY_BYTES:
        raise _too_large()
    return body


def text_of(body: bytes, *, marked: bool = False) -> str:
    """The text of a body; `marked` leaves its byte order mark in."""
    try:
        return body.decode("utf-8" if marked else "utf-8-sig")
    except UnicodeDecodeError:
        raise Refused("unreadable-request", "The body is not text in UTF-8.") from None


def with_text(given: dict[str, Any], names: Sequence[str], text: str) -> dict[str, Any]:
    """What an address gives with a text put in its place, by names one in another."""
    place = given
    for name in names[:-1]:
        inner = place.setdefault(name, {})
        if not isinstance(inner, dict):
            raise _unreadable(name, "given as one value and in parts")
        place = inner
    _put(place, names[-1], text, ".".join(names))
    return given


def with_member(body: dict[str, Any], name: str, value: str) -> dict[str, Any]:
    """A JSON body with a member that its address gives.

    Where both give it and they differ, the member tells so: no field takes that, and it is refused
    beside whatever else is wrong.
    """
    if body.get(name, value) != value:
        value = f"{value} in the address, {body[name]} in the body"
    return {**body, name: value}


def _too_large() -> Refused:
    return Refused("too-large", f"The body may have up to {limits.BODY_BYTES:,} bytes.")


def _too_slow() -> Refused:
    return Refused(
        "too-slow", f"The whole request must come within {limits.ARRIVE_SECONDS:g} seconds."
    )


def parse(body: bytes) -> dict[str, Any]:
    """The JSON object of a text; duplicate names, NaN and what is too big in form are refused."""
    # Before anything is made of it: names and empty objects take ten times their bytes in memory.
    _check_form(body)
    try:
        value = orjson.loads(body)
    except orjson.JSONDecodeError as error:
        raise Refused("unreadable-request", f"The body is not JSON: {error}.") from None
    if not isinstance(value, dict):
        raise Refused(
            "unreadable-request", 'The body is not a JSON object; write {"name": value, ...}.'
        )
    return value


def _check_form(body: bytes) -> None:
    """Refuse what the JSON parser lets pass: a name twice in an object, deep nesting, big objects.

    A text that is no JSON may pass; the parser finds that out.
    """
    names: list[set[bytes]] = []
    opened = 0
    file = False
    for token in _TOKENS.finditer(body):
        text = token[0]
        file, of_file = False, file
        if text in (b"{", b"["):
            names.append(set())
            opened += 1
            if len(names) > limits.NESTING:
                raise Refused(
                    "unreadable-request",
                    f"The body nests objects and lists more than {limits.NESTING} deep.",
                )
            if opened > limits.CONTAINERS:
                raise Refused(
                    "unreadable-request",
                    f"The body holds more than {limits.CONTAINERS:,} objects and lists.",
                )
        elif len(text.rstrip()) > _TEXT_BYTES and (text.endswith(b":") or not of_file):
            raise Refused(
                "unreadable-request",
                f"The body holds a text of more than {limits.TEXT_LENGTH} characters.",
            )
        elif not names:
            return
        elif text in (b"}", b"]"):
            names.pop()
        elif text.endswith(b":"):
            name = text[:-1].rstrip()
            if b"\\" in name:
                try:
                    name = orjson.dumps(orjson.loads(name))
                except orjson.JSONDecodeError:
                    return
            if name in names[-1]:
                given = _readable(name)
                raise Refused("unreadable-request", f"The body gives {given} twice in one object.")
            names[-1].add(name)
            file = name == _FILE
            if len(names[-1]) > limits.MEMBERS:
                raise Refused(
                    "unreadable-request",
                    f"An object of the body has more than {limits.MEMBERS} members.",
                )


def _readable(name: bytes) -> str:
    """A name as it is told; of one that is no JSON the bytes."""
    try:
        return shown(orjson.loads(name))
    except orjson.JSONDecodeError:
        return shown(name.decode("utf-8", "replace"))


def negotiated(request: Request, asked: str | None, offered: Sequence[str]) -> str:
    """The form to reply in: `format` wins over `Accept`; JSON when the caller does not mind."""
    if asked is not None:
        if asked in offered:
            return asked
        raise _not_acceptable(asked, offered)
    accept = request.environ.get("HTTP_ACCEPT", "*/*")
    if accept in ("*/*", "application/json", ""):
        return "json"
    types = {MEDIA_TYPES[form].split(";")[0]: form for form in offered}
    types |= {MEDIA_TYPES[form]: form for form in offered}  # as this service itself writes them
    best = request.accept_mimetypes.best_match(list(types))
    if best is None:
        raise _not_acceptable(accept, offered)
    return types[best]


MEDIA_TYPES: Final = {
    "json": "application/json",
    "text": "text/plain; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "svg": "image/svg+xml",
    "ics": "text/calendar; charset=utf-8",
}


def _not_acceptable(given: str, offered: Sequence[str]) -> Refused:
    forms = ", ".join(f"{form} ({MEDIA_TYPES[form].split(';')[0]})" for form in offered)
    return Refused("not-acceptable", f"{shown(given)} asked for; this question answers in {forms}.")
