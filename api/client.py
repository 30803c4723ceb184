r"""Client of Stillwood in one file.  It needs `requests` alone; `tqdm` draws a bar if it is there.

Fetch it from a running service, `curl -O http://127.0.0.1:8321/client.py`, and put it beside your
own code.

Units are chosen once.  A question is asked with keywords, with a dictionary, or with both.

>>> from client import Problem, Stillwood
>>> stillwood = Stillwood("http://127.0.0.1:8321", units="us")
>>> table = {"species": "American elm", "width": 34, "thickness": 2, "grain": "flat"}
>>> reply = stillwood.movement(slab=table, before=12.5, after=7, spread="none")
>>> round(reply["answer"]["width"]["after"], 1), reply["units"]["width.after"]
(33.4, 'in')

Everything of the reply is plain dictionaries, lists, texts and numbers:

>>> room = {"climate": "Duluth, MN", "heat_to": 70, "cool_to": 76, "occupied": "normally"}
>>> settled = stillwood.settle(slab=table, moisture=12.5, room=room, starts="2026-09-25")
>>> settled["answer"]["fit_to_work"]["ready"]
False
>>> sorted(settled)
['answer', 'asked', 'basis', 'cautions', 'model', 'notes', 'places', 'units']

The same question as text to read, as a table and as a chart:

>>> question = {"temperature": 70, "relative_humidity": 28}
>>> print(stillwood.text("equilibrium", question).splitlines()[0])
Wood left in air of 70.0 °F and 28 % relative humidity settles to about 5.9 %
>>> stillwood.csv("equilibrium", question).splitlines()[0].split(",")[0]
'temperature [°F]'
>>> stillwood.svg("room", room=room).startswith("<svg")
True

A question that cannot be answered raises `Problem`, which lists every fault at once:

>>> stillwood.equilibrium(temperature=70, relative_humidity=128)
Traceback (most recent call last):
client.Problem: 422 The question was read but cannot be answered as it stands.
  One fault in the question; see errors.
  /relative_humidity: 128 given: outside 0 to 98 %; write 45 or 45%

Many questions go in few requests.  One that fails is a `Problem` in its place, the others are
answered all the same:

>>> airs = [("equilibrium", {"temperature": 70, "relative_humidity": rh}) for rh in (30, 128, 50)]
>>> for each in stillwood.batch(airs):
...     print(each.status if isinstance(each, Problem) else round(each["answer"]["mean"]))
6
422
9

A csv of slabs, a row each, comes back as csv with the answers behind its columns; what all rows
share is told beside it, and a row that fails has its faults in the column `fault`:

>>> import pathlib, tempfile
>>> folder = pathlib.Path(tempfile.mkdtemp())
>>> head = "id,slab.species,slab.width,slab.thickness\n"
>>> _ = (folder / "slabs.csv").write_text(head + "a,elm,34,2\nb,elm,,2\n", encoding="utf-8")
>>> stillwood.table("movement", folder / "slabs.csv", folder / "moved.csv", before=12, after=7)
{'200': 1, '422': 1}
>>> (folder / "moved.csv").read_text(encoding="utf-8").splitlines()[2][:33]
'b,elm,,2,422,"slab.width: missing'
"""

from __future__ import annotations

import csv
import email.utils
import io
import json
import math
import random
import sys
import textwrap
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, TypeAlias

import requests

__all__ = ["Problem", "Reply", "Stillwood", "Unreachable"]

Reply: TypeAlias = dict[str, Any]
Body: TypeAlias = Mapping[str, Any]

# Statuses that another try may mend; 502 is a proxy whose worker behind it was just replaced.
_PASSING: Final = (429, 502, 503)
_FIRST_WAIT: Final = 0.5  # s before the second try; doubled for every further one
_LONGEST_WAIT: Final = 60.0  # s; told to wait longer than this, a call gives up at once
_LONGEST_OWN_WAIT: Final = 8.0  # s on top of what it is told
_LONGEST_KNOCK: Final = 10.0  # s until a connection stands; one takes milliseconds or never comes
_WIDTH: Final = 80  # columns of a terminal
_LONG_BATCH: Final = 200  # questions from which a bar is drawn


class Problem(Exception):  # noqa: N818 - it is what the service calls it
    """The service refused a question.

    status : HTTP status; 422 is a question that cannot be answered as it stands.
    kind : name of the problem's type, the end of its address: `invalid-question`.
    title, detail : what happened, in a sentence each.
    errors : every fault: `pointer`, the place in the question, and `detail`.
    request_id : what the operator finds this request by in the log; empty if the service sent none.
    address : what was asked; empty for an item of a batch.
    wait : seconds after which the service wants to be asked again; 0 if it did not say.
    """

    def __init__(
        self,
        status: int,
        told: Mapping[str, Any],
        request_id: str = "",
        address: str = "",
        wait: float = 0.0,
    ) -> None:
        self._made_of = (status, dict(told), request_id, address, wait)
        self.status = status
        self.kind = str(told.get("type", "")).rpartition("/")[2]
        self.title = str(told.get("title", "The service refused the question."))
        self.detail = str(told.get("detail", ""))
        self.errors: list[dict[str, str]] = list(told.get("errors", ()))
        self.request_id = request_id
        self.address = address
        self.wait = wait
        super().__init__(status, self.title)

    def __reduce__(self) -> tuple[type[Problem], tuple[Any, ...]]:
        """Whole, also when it comes from another process."""
        return Problem, self._made_of

    def __str__(self) -> str:
        lines = [f"{self.status} {self.title}"]
        if self.detail and self.detail != self.title:
            lines.append(_within(self.detail))
        lines += [_within(f"{each['pointer'] or '/'}: {each['detail']}") for each in self.errors]
        if self.address and self.status in (404, 405):
            lines.append(f"  asked: {self.address}")
        if self.wait:
            lines.append(f"  It wants to be asked again in {math.ceil(self.wait)} s.")
        if self.request_id and self.status >= 500:
            lines.append(f"  request {self.request_id}")
        return "\n".join(lines)


def _within(text: str) -> str:
    """A paragraph of a problem that fits a terminal; an address is not broken."""
    first, further = "  ", "    "
    return textwrap.fill(
        text,
        _WIDTH,
        initial_indent=first,
        subsequent_indent=further,
        break_long_words=False,
        break_on_hyphens=False,
    )


class Unreachable(Exception):  # noqa: N818 - it says how the service was found
    """No reply came: nothing listens at the address, or it took longer than the timeout."""


# What a call of `requests` raises when no whole reply came: also one that a stopped worker cut off.
_LOST: Final = (
    requests.ConnectionError,
    requests.Timeout,
    requests.exceptions.ChunkedEncodingError,
    requests.exceptions.ContentDecodingError,
)


def _question(name: str, meaning: str, fields: str) -> Callable[..., Reply]:
    """A method that asks a question of the service; `fields` are what it may be told."""

    def ask(self: Stillwood, question: Body | None = None, /, **more: Any) -> Reply:
        return self.ask(name, question, **more)

    told = textwrap.fill(
        ", ".join(fields.split()), _WIDTH, initial_indent="    ", subsequent_indent="    "
    )
    ask.__name__ = name
    ask.__doc__ = (
        f"{meaning}\n\nMay be told, beside `units`; the page /docs explains each:\n{told}\n"
    )
    ask.__qualname__ = f"Stillwood.{name}"
    return ask


def _catalogue(name: str, meaning: str) -> Callable[..., Reply]:
    """A method that reads a catalogue of the service."""

    def read(self: Stillwood, **chosen: Any) -> Reply:
        return self.read(name, **chosen)

    read.__name__, read.__doc__ = name, meaning
    read.__qualname__ = f"Stillwood.{name}"
    return read


class Stillwood:
    """A Stillwood service to ask.

    Parameters
    ----------
    address
        Where the service is: `http://` or `https://`, the host, and the path before `/v1/` if a
        proxy puts one there.
    units
        `metric` (mm, °C, kg) or `us` (in, °F, lb): what bare numbers mean and what replies are
        written in.  Without it every figure needs its unit: `"34 1/2 in"`, `"865mm"`, `"70F"`.
        A question's own `units` wins.
    token
        Sent as a bearer token, where the operator asks for one; blanks around it, as of a file's
        last line, are left out.
    timeout
        Longest silence of the service that is waited for in one try [s].
    tries
        How often a question is asked in all when the service is not ready (502, 503) or cannot be
        reached: 5 tries wait 4 to 7.5 s between them.  Asking twice is safe: a question changes
        nothing.
    patience
        How long in all a busy service (429, 503) is waited for that says when to come back [s].
        It is asked again then, and that counts as no try.
    session
        A `requests.Session` of your own, for a proxy or certificates.
    """

    def __init__(
        self,
        address: str = "http://127.0.0.1:8321",
        *,
        units: str | None = None,
        token: str | None = None,
        timeout: float = 60.0,
        tries: int = 5,
        patience: float = 300.0,
        session: requests.Session | None = None,
    ) -> None:
        if units not in (None, "metric", "us"):
            raise ValueError(f"units: {units!r} given; write 'metric' or 'us'")
        if tries < 1:
            raise ValueError(f"tries: {tries} given; at least 1")
        if not address.startswith(("http://", "https://")):
            raise ValueError(f"address: {address!r} given; write it as 'http://{address}'")
        self.address = address.rstrip("/")
        self.units = units
        self.timeout = timeout
        self.tries = tries
        self.patience = patience
        self._session = session or requests.Session()
        self._headers = {"User-Agent": "stillwood-client/1"}
        self._token = None if token is None else _clean(token)
        self._request_limits: Mapping[str, Any] | None = None

    def __repr__(self) -> str:
        return f"Stillwood({self.address!r}, units={self.units!r})"

    equilibrium = _question(
        "equilibrium",
        "Moisture wood settles to in air, or air that holds it.",
        "temperature relative_humidity moisture species treated",
    )
    air = _question(
        "air",
        "Every figure of moist air, and what heating makes of it.",
        "temperature relative_humidity dew_point wet_bulb vapour_pressure heated_to",
    )
    room = _question("room", "Twelve months of air in a room.", "room")
    movement = _question(
        "movement",
        "Change of size between two moistures or airs.",
        "spread seed slab before after spiral_grain",
    )
    settle = _question(
        "settle",
        "What a slab settles to in a room, when, and how it moves.",
        "spread seed slab moisture faces room starts sorption",
    )
    course = _question(
        "course",
        "A slab day by day through a list of stays.",
        "spread seed slab moisture cup sorption starts stays profiles rows",
    )
    fixings = _question(
        "fixings",
        "How far each fixing point moves, and the slot it needs.",
        "spread seed slab moisture faces room starts moisture_range positions fixed_at fastener "
        "clearance recess duration bars length_per_bar",
    )
    stiffening = _question(
        "stiffening",
        "What stiffeners and keys do to the cup, and their load.",
        "spread seed slab moisture faces room starts cup bars keys limit",
    )
    flattening = _question(
        "flattening",
        "Whether and how a cupped slab can be brought flat.",
        "spread seed slab cup moisture faces room starts plan bars",
    )
    load = _question(
        "load",
        "Whether a slab bears somebody on its edge, and how it sags.",
        "slab moisture overhang force groove groove_from_load checked span base",
    )
    reading = _question(
        "reading",
        "What a meter's or a scale's reading means, with its error.",
        "spread seed slab species readings oven_dry sample_boards age",
    )
    readiness = _question(
        "readiness",
        "When a drying slab will be ready, from dated readings.",
        "spread seed slab faces room readings target within dry_weight today",
    )
    diagnosis = _question(
        "diagnosis",
        "Which cause explains best what a slab did.",
        "spread seed slab width_after fixings gap moisture moisture_before cup seen room days "
        "from_date to_date faces held dress stays ripped_strip keys looks errors next_room "
        "finish",
    )
    conditioning = _question(
        "conditioning",
        "What heat or humidity a shop needs, by month.",
        "spread seed slab wood moisture target faces room starts volume air_changes dehumidifier "
        "panes price hottest",
    )
    repair = _question(
        "repair",
        "What to do about a slab that moved, or on its way to its room.",
        "spread seed slab starts seen done moisture moisture_before room since shop faces finish "
        "at_hand wanted bars fastener",
    )

    species = _catalogue("species", "Woods that are known; `q` searches.")
    finishes = _catalogue("finishes", "Finishes and covers that are known.")
    places = _catalogue("places", "Towns whose name begins with `q`, the largest first.")
    climates = _catalogue(
        "climates", "Stations that are known; `q`, or `latitude` and `longitude`."
    )
    basis = _catalogue("basis", "Every formula with its source and its checks.")
    limits = _catalogue("limits", "Limits of a request and of every figure.")

    def ask(self, name: str, question: Body | None = None, /, **more: Any) -> Reply:
        """Ask any question by its name; gives the reply.

        Raises
        ------
        Problem
            When the service refuses it.
        Unreachable
            When no reply comes.
        """
        body = self._body(question, more)
        return _told(self._send("POST", f"/v1/{name}", body))

    def text(self, name: str, question: Body | None = None, /, **more: Any) -> str:
        """Give the reply as text for a terminal."""
        return self._form(name, "text", self._body(question, more))

    def csv(self, name: str, question: Body | None = None, /, **more: Any) -> str:
        """Give the series of a reply as CSV."""
        return self._form(name, "csv", self._body(question, more))

    def svg(self, name: str, question: Body | None = None, /, **more: Any) -> str:
        """Give the chart of a reply as an SVG document."""
        return self._form(name, "svg", self._body(question, more))

    def read(self, name: str, **chosen: Any) -> Reply:
        """Read a catalogue by its name."""
        chosen = {key: value for key, value in chosen.items() if value is not None}
        if self.units is not None:
            chosen.setdefault("units", self.units)
        return _told(self._send("GET", f"/v1/{name}", query=chosen))

    def batch(
        self,
        questions: Iterable[tuple[str, Body]],
        *,
        size: int = 100,
        progress: bool | None = None,
    ) -> list[Reply | Problem]:
        """Ask many questions in few requests; gives a reply or a `Problem` for each, in order.

        Parameters
        ----------
        questions
            Name and question of each.
        size
            Questions in one request; fewer where the service's limits are lower.
        progress
            Whether to draw a bar; by default for 200 questions and more on a terminal.
        """
        waiting = [
            {"question": name, "body": self._body(question, {})} for name, question in questions
        ]
        # All are looked at before the first is sent: a missing figure must not lose the answers.
        sizes = [len(_json(each, f"/{place}")) for place, each in enumerate(waiting)]
        answered: dict[int, Reply | Problem] = {}

        def ask(part: list[int]) -> list[int]:
            sent = {"questions": [waiting[place] for place in part]}
            items = _told(self._send("POST", "/v1/batch", sent))["items"]
            answered.update(zip(part, map(_of_item, items), strict=True))
            return [place for place in part if _passing(answered[place])]

        with _bar(len(waiting), "questions", progress) as advance:
            self._in_parts(sizes, size, len('{"questions": []}'), ask, advance)
        return [answered[place] for place in range(len(waiting))]

    def table(
        self,
        name: str,
        source: str | Path,
        target: str | Path,
        *,
        size: int = 100,
        progress: bool | None = None,
        **common: Any,
    ) -> dict[str, int]:
        """Answer a csv of slabs of any length; gives how many rows have which status.

        Columns are named as in a query: `slab.width`, or `slab.width [in]` for bare figures in
        inches; `id`, `name` and those that begin with `#` are yours.  The answered table has them
        first, then `status` and `fault` of each row and its answer.  Where it breaks off (the
        service is gone, Ctrl-C), what is answered until then is written before the error is raised.

        Parameters
        ----------
        name
            Of the question: settle, movement, fixings, repair.
        source, target
            Files in UTF-8: the table, and where it goes with its answers; they may be the same.
        size
            Rows in one request; fewer where the service's limits are lower.
        progress
            Whether to draw a bar; by default for 200 rows and more on a terminal.
        common
            What all rows share, as the question would be told it: `room={"climate": "Duluth, MN"}`.
        """
        table = _Table(source)
        if self.units is not None and "units" not in table.heads:
            common.setdefault("units", self.units)
        query = dict(_flat(common))

        def ask(part: list[int]) -> list[int]:
            reply = self._send("POST", f"/v1/{name}", query=query, text=table.of(part))
            reply.encoding = "utf-8"
            return table.take(part, reply.text)

        try:
            with _bar(len(table.rows), "rows", progress) as advance:
                self._in_parts(table.sizes, size, len(table.head.encode()), ask, advance)
        finally:
            if table.answered:
                table.write(target)
        return table.counts()

    def _in_parts(
        self,
        sizes: list[int],
        size: int,
        frame: int,
        ask: Callable[[list[int]], list[int]],
        advance: Callable[[int], None],
    ) -> None:
        """Ask many in parts until none is left or asking is fruitless.

        `ask` asks those of some places and gives the places of which the service had no time: it
        leaves the end of a request unanswered, each of its items with 503.
        """
        left = list(range(len(sizes)))
        fruitless = 0
        while left and fruitless < self.tries:
            if fruitless:
                _pause(fruitless)
            before, asked, left = len(left), left, []
            for part in self._parts(sizes, asked, size, frame):
                again = ask(part)
                left += again
                advance(len(part) - len(again))
            fruitless = fruitless + 1 if len(left) == before else 0

    def _body(self, question: Body | None, more: Body) -> Reply:
        """One question of a dictionary and keywords, with the units chosen."""
        body = {**(question or {}), **more}
        if "format" in body:
            raise ValueError("format: leave it out; text(), csv() and svg() give those forms")
        if self.units is not None:
            body.setdefault("units", self.units)
        return body

    def _form(self, name: str, form: str, body: Body) -> str:
        reply = self._send("POST", f"/v1/{name}", body, {"format": form})
        reply.encoding = "utf-8"
        return reply.text

    def _parts(
        self, sizes: list[int], places: list[int], size: int, frame: int
    ) -> Iterator[list[int]]:
        """Places of questions that go in one request, held to the limits of count and of bytes.

        frame : bytes of a request beside those of its questions.
        """
        if self._request_limits is None:
            self._request_limits = self.read("limits").get("request", {})
        size = max(1, min(size, int(self._request_limits.get("batch_questions", size))))
        room = int(self._request_limits.get("body_bytes", 1_000_000)) - frame
        part: list[int] = []
        used = 0
        for place in places:
            needed = sizes[place] + len(", ")
            if part and (len(part) == size or used + needed > room):
                yield part
                part, used = [], 0
            part.append(place)
            used += needed
        if part:
            yield part

    def _send(
        self,
        method: str,
        path: str,
        body: Any = None,
        query: Mapping[str, Any] | None = None,
        text: str | None = None,
    ) -> requests.Response:
        """The reply to a request that went well; waits and tries again where that may help."""
        headers = dict(self._headers)
        data = None
        if body is not None:
            data = _json(body)
            headers["Content-Type"] = "application/json"
        elif text is not None:
            data = text.encode()
            headers["Content-Type"] = "text/csv"
        tried, told_to_wait, waited = 1, 0, 0.0
        while True:
            try:
                reply = self._session.request(
                    method,
                    self.address + path,
                    params=query,
                    data=data,
                    headers=headers,
                    auth=self._sign,
                    timeout=(min(self.timeout, _LONGEST_KNOCK), self.timeout),
                    allow_redirects=False,  # one would turn a POST into a GET without its question
                )
            except _LOST as error:
                if tried == self.tries or isinstance(error, requests.exceptions.SSLError):
                    raise Unreachable(f"no reply from {self.address}: {_cause(error)}") from error
                _pause(tried)
                tried += 1
                continue
            if reply.status_code < 300:
                return reply
            wait = _retry_after(reply)
            if reply.status_code not in _PASSING or wait > _LONGEST_WAIT:
                raise _problem(reply)
            if wait:
                told_to_wait += 1
                if waited + wait > self.patience:
                    raise _problem(reply)
                waited += _pause(told_to_wait, wait)
            else:
                if tried == self.tries:
                    raise _problem(reply)
                _pause(tried)
                tried += 1

    def _sign(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        """Put the token in; told to `requests` as its own way, no password of a netrc file wins."""
        if self._token is not None:
            request.headers["Authorization"] = f"Bearer {self._token}"
        return request


def _clean(token: str) -> str:
    """A token without the blanks around it, if it can be sent in a header."""
    token = token.strip()
    if not token or not token.isascii() or not token.isprintable() or " " in token:
        raise ValueError("token: empty, or with characters that no token has")
    return token


def _pause(attempt: int, told: float = 0.0) -> float:
    """Wait before the next try: as long as told, and longer every time, never in step with others.

    Clients that were refused together would else come back together.  Gives the seconds waited.
    """
    longest = _LONGEST_OWN_WAIT if told else _LONGEST_WAIT
    own = min(_FIRST_WAIT * 2.0 ** min(attempt - 1, 10), longest)
    wait = told + own * random.uniform(0.5, 1.0)
    time.sleep(wait)
    return wait


def _retry_after(reply: requests.Response) -> float:
    """Seconds that the service asks to wait, 0 if it does not say (RFC 9110, 10.2.3)."""
    told = reply.headers.get("Retry-After", "").strip()
    if told.isascii() and told.isdigit():
        return float(told)
    try:
        return max(0.0, email.utils.parsedate_to_datetime(told).timestamp() - time.time())
    except ValueError:
        return 0.0


def _cause(error: BaseException) -> str:
    """What a person can use of an error of the network."""
    if isinstance(error, requests.Timeout):
        return "it took longer than the timeout"
    if isinstance(error, requests.exceptions.SSLError):
        return "it does not speak https, or its certificate is not trusted here"
    text = str(error)
    if "refused" in text:
        return "nothing listens there"
    if "resolve" in text or "Name or service" in text:
        return "no such host is known here"
    return f"the connection was lost ({type(error).__name__})"


def _told(reply: requests.Response) -> Reply:
    """The JSON object of a reply, of a refusal too; anything else is not from Stillwood."""
    if "json" in reply.headers.get("Content-Type", ""):
        try:
            told: Any = reply.json()
        except ValueError:
            told = None
        if isinstance(told, dict):
            return told
    foreign = {"title": reply.reason or "No reason given.", "detail": "Not from Stillwood itself."}
    raise Problem(reply.status_code, foreign)


def _problem(reply: requests.Response) -> Problem:
    """The problem a reply tells; of a proxy in between, what can be known."""
    if reply.status_code < 400:
        place = reply.headers.get("Location", "another address")
        moved = {"title": "The service is somewhere else.", "detail": f"It points to {place}"}
        return Problem(reply.status_code, moved)
    try:
        told = _told(reply)
    except Problem as foreign:
        told = {"title": foreign.title, "detail": foreign.detail}
    request_id = reply.headers.get("X-Request-ID", "")
    return Problem(reply.status_code, told, request_id, str(reply.url), _retry_after(reply))


def _of_item(item: Mapping[str, Any]) -> Reply | Problem:
    """A reply, or the problem in its place, of one item of a batch."""
    if item["status"] == 200:
        reply: Reply = item["reply"]
        return reply
    return Problem(item["status"], item["problem"])


def _passing(answer: Reply | Problem) -> bool:
    """Whether asking again may give an answer."""
    return isinstance(answer, Problem) and answer.status in _PASSING


def _json(body: Any, where: str = "") -> bytes:
    """The body as JSON; arrays and dates are written as lists and texts, NaN is refused."""
    try:
        return json.dumps(body, default=_plain, allow_nan=False).encode()
    except ValueError as error:
        place = next(_not_finite(body, where), None)
        if place is None:
            raise
        raise ValueError(f"{place}: not a number, so there is nothing to send") from error


def _not_finite(value: Any, place: str) -> Iterator[str]:
    """Places of figures that are not finite, as a missing one of a table is."""
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _not_finite(inner, f"{place}/{name}")
    elif isinstance(value, (list, tuple)):
        for index, inner in enumerate(value):
            yield from _not_finite(inner, f"{place}/{index}")
    elif isinstance(value, float):
        if not math.isfinite(value):
            yield place
    elif not isinstance(value, (str, int, type(None))):
        yield from _not_finite(_plain(value), place)


def _plain(value: Any) -> Any:
    for name in ("tolist", "isoformat"):
        if hasattr(value, name):
            return getattr(value, name)()
    raise TypeError(f"{value!r} cannot be sent: {type(value).__name__} has no form in JSON")


def _flat(told: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, str]]:
    """Names with dots and their values as a query writes them."""
    for name, value in told.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{before}{name}.")
        elif isinstance(value, bool):
            yield before + name, "true" if value else "false"
        elif isinstance(value, (list, tuple)):
            plain = not any(isinstance(one, Mapping) for one in value)
            text = ",".join(map(str, value)) if plain else json.dumps(value, default=_plain)
            yield before + name, text
        elif value is not None:
            yield before + name, str(value)


def _harmless(cell: str) -> str:
    """A cell that no spreadsheet runs as a formula, as the service writes it."""
    figure = cell.replace(",", ".").lstrip("+-").replace(".", "", 1)
    marked = cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) and not figure.isdecimal()
    return f"'{cell}" if marked else cell


class _Table:
    """A csv of slabs, sent in parts and put together again with its answers."""

    def __init__(self, source: str | Path) -> None:
        text = Path(source).read_bytes().decode("utf-8")
        self.mark = "\ufeff" if text.startswith("\ufeff") else ""
        text = text.removeprefix("\ufeff")
        first = text.partition("\n")[0]
        self.delimiter = max((",", ";", "\t"), key=first.count)
        self.ending = "\r\n" if first.endswith("\r") else "\n"
        table = csv.reader(io.StringIO(text, newline=""), delimiter=self.delimiter, strict=True)
        try:
            rows = [row for row in table if row]
        except csv.Error as error:
            raise ValueError(f"{source}, up to line {table.line_num}: {error}") from error
        if len(rows) < 2:
            raise ValueError(f"{source}: no row under a head")
        self.heads = rows[0]
        self.head, *self.rows = [self._line(row) for row in rows]
        self.sizes = [len(row.encode()) for row in self.rows]
        self.order: list[str] = []
        self.answered: dict[int, dict[str, str]] = {}

    def of(self, part: Sequence[int]) -> str:
        """The rows of some places under the head, in the way of the file."""
        return self.mark + "".join([self.head, *(self.rows[place] for place in part)])

    def take(self, part: Sequence[int], text: str) -> list[int]:
        """Keep the answers of a part; gives the places of which there was no time."""
        reply = io.StringIO(text.removeprefix("\ufeff"), newline="")
        heads, *rows = csv.reader(reply, delimiter=self.delimiter)
        self._merge(heads)
        left = []
        for place, row in zip(part, rows, strict=True):
            self.answered[place] = told = dict(zip(heads, row, strict=True))
            if int(told["status"]) in _PASSING:
                left.append(place)
        return left

    def write(self, target: str | Path) -> None:
        """Write all rows; one that was not asked has an empty status."""
        lines = [self.mark, self._line(self.order)]
        for place, row in enumerate(self.rows):
            told = self.answered.get(place) or self._unasked(row)
            lines.append(self._line([told.get(head, "") for head in self.order]))
        Path(target).write_bytes("".join(lines).encode())

    def counts(self) -> dict[str, int]:
        """Rows by their status."""
        found: dict[str, int] = {}
        for told in self.answered.values():
            found[told["status"]] = found.get(told["status"], 0) + 1
        return dict(sorted(found.items()))

    def _unasked(self, row: str) -> dict[str, str]:
        [cells] = csv.reader(io.StringIO(row, newline=""), delimiter=self.delimiter)
        own = self.order[: self.order.index("status")]
        told = {
            head: _harmless(cell)
            for head, cell in zip(self.heads, cells, strict=False)
            if head in own
        }
        return {**told, "status": "", "fault": "not asked"}

    def _merge(self, heads: Sequence[str]) -> None:
        """Put columns into their order, each new one behind the one it follows."""
        known = set(self.order)
        at = 0
        for head in heads:
            if head in known:
                at = self.order.index(head) + 1
            else:
                self.order.insert(at, head)
                at += 1

    def _line(self, cells: Sequence[str]) -> str:
        line = io.StringIO(newline="")
        csv.writer(line, delimiter=self.delimiter, lineterminator="\r\n").writerow(cells)
        return line.getvalue().removesuffix("\r\n") + self.ending


class _bar:  # noqa: N801 - used as a function
    """A bar for a long batch; without tqdm a counter on one line."""

    def __init__(self, total: int, what: str, wanted: bool | None) -> None:
        self.total = total
        self.what = what
        self.done = 0
        self.shown = total >= _LONG_BATCH and sys.stderr.isatty() if wanted is None else wanted
        self.drawn: Any = None

    def __enter__(self) -> Callable[[int], None]:
        if self.shown:
            try:
                from tqdm import tqdm

                self.drawn = tqdm(total=self.total, unit=f" {self.what}")
            except ImportError:
                self.drawn = None
        return self.advance

    def advance(self, count: int) -> None:
        """Move on by some questions."""
        self.done += count
        if self.drawn is not None:
            self.drawn.update(count)
        elif self.shown:
            sys.stderr.write(f"\r{self.done} of {self.total} {self.what}")

    def __exit__(self, *_: object) -> None:
        if self.drawn is not None:
            self.drawn.close()
        elif self.shown:
            sys.stderr.write("\n")
