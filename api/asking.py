"""Reading a request: a query string with dotted names, or a JSON body, into one nested object."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final
from urllib.parse import parse_qsl

import orjson
from flask import Request
from werkzeug.exceptions import RequestEntityTooLarge

from api import limits
from api.problems import Fault, Refused
from api.quantities import shown

# Every string with the colon that makes it a name, and every bracket.  Numbers are passed over
# at the speed of the regular expression, so that a list of 100,000 costs about 3 ms.
_TOKENS: Final = re.compile(rb'"(?:[^"\\]|\\.)*"\s*:?|[{}\[\]]')


def from_query(query: bytes) -> dict[str, Any]:
    """Nested object of a query string: `slab.width=34in` is {"slab": {"width": "34in"}}."""
    try:
        pairs = parse_qsl(
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
    nested: dict[str, Any] = {}
    for name, text in pairs:
        if "." not in name:
            _put(nested, name, text, name)
            continue
        *parents, last = name.split(".")
        if len(parents) >= limits.NESTING:
            raise _unreadable(name, f"more than {limits.NESTING} names in one another")
        place = nested
        for parent in parents:
            inner = place.setdefault(parent, {})
            if not isinstance(inner, dict):
                raise _unreadable(name, f"{shown(parent)} is given as one value and in parts")
            place = inner
        _put(place, last, text, name)
    return nested


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


def from_body(request: Request) -> dict[str, Any]:
    """The JSON object of a request's body."""
    if request.mimetype != "application/json" or request.headers.get("Content-Encoding"):
        given = request.headers.get("Content-Encoding") or request.mimetype or "none"
        raise Refused(
            "wrong-media-type",
            f"Content type {shown(given)} given; send JSON with the header "
            "`Content-Type: application/json` (curl: -H 'Content-Type: application/json') "
            "and no Content-Encoding.",
        )
    return parse(_bytes_of(request))


def text_of(request: Request) -> str:
    """The text of a request's body."""
    try:
        return _bytes_of(request).decode("utf-8-sig")
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


def _bytes_of(request: Request) -> bytes:
    try:
        body = request.get_data(cache=False)
        if len(body) >= limits.BODY_BYTES:
            # A body in chunks is cut at the limit without a word; reading on is what raises.
            request.stream.read(1)
    except RequestEntityTooLarge:
        raise Refused(
            "too-large", f"The body may have up to {limits.BODY_BYTES:,} bytes."
        ) from None
    return body


def parse(body: bytes) -> dict[str, Any]:
    """The JSON object of a text; duplicate names, NaN and deep nesting are refused."""
    try:
        value = orjson.loads(body)
    except orjson.JSONDecodeError as error:
        raise Refused("unreadable-request", f"The body is not JSON: {error}.") from None
    _check_names_and_depth(body)
    if not isinstance(value, dict):
        raise Refused(
            "unreadable-request", 'The body is not a JSON object; write {"name": value, ...}.'
        )
    return value


def _check_names_and_depth(body: bytes) -> None:
    """Refuse what the JSON parser lets pass: a name twice in an object, and deep nesting."""
    names: list[set[bytes]] = []
    for token in _TOKENS.finditer(body):
        text = token[0]
        if text in (b"{", b"["):
            names.append(set())
            if len(names) > limits.NESTING:
                raise Refused(
                    "unreadable-request",
                    f"The body nests objects and lists more than {limits.NESTING} deep.",
                )
        elif text in (b"}", b"]"):
            names.pop()
        elif text.endswith(b":"):
            name = text[:-1].rstrip()
            if b"\\" in name:
                name = orjson.dumps(orjson.loads(name))
            if name in names[-1]:
                given = shown(orjson.loads(name))
                raise Refused("unreadable-request", f"The body gives {given} twice in one object.")
            names[-1].add(name)


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
}


def _not_acceptable(given: str, offered: Sequence[str]) -> Refused:
    forms = ", ".join(f"{form} ({MEDIA_TYPES[form].split(';')[0]})" for form in offered)
    return Refused("not-acceptable", f"{shown(given)} asked for; this question answers in {forms}.")
