"""A table of slabs: csv posted to a question comes back with the answers as further columns.

Each row is a question of a batch (`api.questions.batch`), so that a bad one harms no other and what
is not begun in time is told in its row.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import orjson
from flask import Request, Response, current_app

from api import asking, limits, spreadsheet
from api.admission import CALLER, Place
from api.problems import Fault, Refused
from api.quantities import QuantityField, shown
from api.question import Question, bounded
from api.questions.batch import Item, answer_all, invalid
from api.schema import Member, members, nearest
from api.spreadsheet import Sheet, with_point
from api.units import split

# Columns that are the asker's own: carried along, not read.
LABELS: Final = ("id", "name")
OWN: Final = "#"
# Columns of a reply; a table that was answered before gets them anew.
ANSWER: Final = "answer."
STATUS: Final = ("status", "fault")
TOLD: Final = ("place", "notes", "cautions")
_IN_BRACKETS: Final = re.compile(r"(.*\S)\s*\[([^\[\]]+)\]")
_POINT: Final = re.compile(r"\d\.\d")
_BAND: Final = {"value": "", "low": "_low", "high": "_high"}
_DECIDES: Final = 1  # rank of a note that bears on the decision


@dataclass(frozen=True, slots=True)
class Asked:
    """A column that is asked: where it stands, the member of the question, and the unit it told."""

    column: int
    member: Member
    unit: str = ""

    def cell(self, text: str, delimiter: str) -> str:
        """What a cell says, as a query would: with a decimal point, and the unit of the head."""
        text = text.strip()
        field = self.member.field
        if not isinstance(field, QuantityField):
            return text
        if delimiter == ";" and not field.lists:
            text = with_point(text)
        if not self.unit:
            return text
        return ",".join(_with_unit(one, self.unit) for one in text.split(","))


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a sheet: those that come back, and those that are asked."""

    kept: Sequence[int]
    asked: Sequence[Asked]


def respond(question: Question[Any, Any], request: Request) -> Response:
    """Answer a table that was posted."""
    with Place(request.environ, current_app.extensions[CALLER]) as place:
        common = asking.pairs(request.query_string)
        _as_csv(request, dict(common).pop("format", None))
        common = [pair for pair in common if pair[0] != "format"]
        body = asking.body_of(request, place, "text/csv")
        place.take_turn()
        with bounded(place):
            sheet = _sheet(asking.text_of(body, marked=True))
            columns = _columns(question, sheet, common)
        del body
        written = _written(question, sheet, columns, common, place)
    headers = {
        "Vary": "Accept",
        "Content-Disposition": f'inline; filename="{question.name}-answered.csv"',
    }
    return Response(written, content_type=asking.MEDIA_TYPES["csv"], headers=headers)


def _as_csv(request: Request, form: str | None) -> None:
    """Refuse another form than csv."""
    accepted = request.accept_mimetypes
    told = form
    if form is None and accepted and accepted.best_match(["text/csv"]) is None:
        told = request.headers["Accept"]
    if told not in (None, "csv"):
        raise Refused("not-acceptable", f"{shown(told)} asked for; a table is answered in csv.")


def _sheet(text: str) -> Sheet:
    try:
        sheet = spreadsheet.read(text)
    except spreadsheet.Unreadable as error:
        raise Refused("unreadable-request", f"The table cannot be read: {error}.") from None
    if not 1 <= len(sheet.rows) <= limits.BATCH_QUESTIONS:
        detail = f"{len(sheet.rows):,} rows given; write a head and 1 to {limits.BATCH_QUESTIONS:,}"
        raise invalid([Fault("", f"{detail} rows under it")])
    return sheet


def _columns(
    question: Question[Any, Any], sheet: Sheet, common: Sequence[tuple[str, str]]
) -> Columns:
    """What each column is; raises Refused with every fault of the head."""
    known = {member.name: member for member in members(question.shape)}
    in_address = {name for name, _ in common}
    kept: list[int] = []
    asked: list[Asked] = []
    seen: set[str] = set()
    wrong: list[Fault] = []
    heads = [head.strip() for head in sheet.heads]
    before = set(STATUS) <= set(heads)
    for column, told in enumerate(heads):
        if not told and not any(_cell(cells, column).strip() for _, cells in sheet.rows):
            continue
        if before and (told.startswith(ANSWER) or told in (*STATUS, *TOLD)):
            continue
        kept.append(column)
        own = told in LABELS or told.startswith(OWN)
        name, unit = (told, "") if own else _parted(told)
        fault = "the name stands over two columns; leave one" if name in seen else ""
        if not own:
            fault = fault or _fault_of(name, unit, known, in_address)
        if fault:
            wrong.append(Fault(f"/{_escaped(told)}", f"column {column + 1}: {fault}"))
        elif not own:
            asked.append(Asked(column, known[name], unit))
        seen.add(name)
    if not asked and not wrong:
        wrong.append(Fault("", "no column asks anything; name one as in a query: slab.width"))
    if wrong:
        raise invalid(wrong[: limits.FAULTS])
    return Columns(kept, asked)


def _parted(head: str) -> tuple[str, str]:
    """Name and unit of a head: `slab.width [in]`."""
    found = _IN_BRACKETS.fullmatch(head)
    return (found[1], found[2].strip()) if found else (head, "")


def _fault_of(name: str, unit: str, known: Mapping[str, Member], in_address: set[str]) -> str:
    if not name:
        return f"it has no head; name it as in a query, or {OWN}note for a column of your own"
    if name not in known:
        own = f"a column of your own is called {', '.join(LABELS)} or begins with {OWN}"
        return f"{nearest(name, list(known))} {own}"
    if name in in_address:
        return "stands in the address too; leave it in one of both"
    field = known[name].field
    if unit and not isinstance(field, QuantityField):
        return f"{shown(unit)} given; it has no unit"
    if unit and field.dimension.find(unit) is None:
        return f"{shown(unit)} is no unit of it; write {field.form}"
    return ""


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")


def _cell(cells: Sequence[str], column: int) -> str:
    return cells[column] if column < len(cells) else ""


def _with_unit(text: str, unit: str) -> str:
    """A bare figure with the unit of its head; anything else as it is."""
    try:
        return text if split(text)[1] else f"{text} {unit}"
    except ValueError:
        return text


def _written(
    question: Question[Any, Any],
    sheet: Sheet,
    columns: Columns,
    common: Sequence[tuple[str, str]],
    place: Place,
) -> str:
    """The sheet with the answers."""
    answers = list(_answered(question, sheet, columns, common, place))
    order: list[str] = list(STATUS)
    for names in dict.fromkeys(map(tuple, answers)):
        _merge(order, names)
    comma = _has_commas(sheet, columns)
    heads = [sheet.heads[column] for column in columns.kept]

    def lines() -> Iterator[Sequence[str]]:
        yield [*heads, *order]
        for (_, cells), found in zip(sheet.rows, answers, strict=True):
            told = (found.get(name, "") for name in order)
            yield [
                *(_cell(cells, column) for column in columns.kept),
                *(_figure(cell, comma) for cell in told),
            ]

    return spreadsheet.write(sheet, lines())


def _figure(cell: str, comma: bool) -> str:
    """A cell of an answer; its figure with a decimal comma where the asker writes them."""
    return cell.replace(".", ",") if comma and re.fullmatch(r"-?\d+\.\d+", cell) else cell


def _answered(
    question: Question[Any, Any],
    sheet: Sheet,
    columns: Columns,
    common: Sequence[tuple[str, str]],
    place: Place,
) -> Iterator[dict[str, str]]:
    """What came of each row, by the name of its column."""
    asked = [_question_of(cells, sheet, columns, common) for _, cells in sheet.rows]
    bodies = [
        {"question": question.name, "body": one} for one in asked if not isinstance(one, Refused)
    ]
    items = answer_all({question.name: question}, bodies, place, query=True)
    for one in asked:
        item = Item(one.status, orjson.dumps(one.body())) if isinstance(one, Refused) else None
        yield _told(question, item or next(items))


def _has_commas(sheet: Sheet, columns: Columns) -> bool:
    """Whether figures get decimal commas: between semicolons, where none asked has a point."""
    return sheet.delimiter == ";" and not any(
        _POINT.search(_cell(cells, each.column))
        for _, cells in sheet.rows
        for each in columns.asked
        if isinstance(each.member.field, QuantityField)
    )


def _question_of(
    cells: Sequence[str], sheet: Sheet, columns: Columns, common: Sequence[tuple[str, str]]
) -> dict[str, Any] | Refused:
    """The question of a row, or why it is none; an empty cell tells nothing."""
    heads = len(sheet.heads)
    if any(cell.strip() for cell in cells[heads:]) or len(cells) < heads:
        return invalid([Fault("", f"{len(cells)} cells under {heads} heads; write one under each")])
    told = [(each, each.cell(cells[each.column], sheet.delimiter)) for each in columns.asked]
    given = [(each.member.name, text) for each, text in told if text]
    if not given:
        return invalid([Fault("", "nothing stands in this row that is asked")])
    try:
        return asking.nested([*common, *given])
    except Refused as refused:
        return refused


def _told(question: Question[Any, Any], item: Item) -> dict[str, str]:
    """The cells of an item's reply, or its faults."""
    reply = orjson.loads(item.body)
    if item.status != 200:
        faults = [_of_fault(fault) for fault in reply.get("errors", ())]
        return {"status": str(item.status), "fault": "; ".join(faults) or reply["detail"]}
    found = {"status": "200", "fault": ""}
    for name in question.in_tables:
        value = reply["answer"].get(name)
        if value is not None:
            found |= _leaves(value, f"{ANSWER}{name}", name, reply["units"])
    places = [" ".join([f"{one['name']}.", *one["attribution"]]) for one in reply["places"]]
    notes = [note["message"] for note in reply["notes"] if note["rank"] <= _DECIDES]
    for name, texts in zip(TOLD, (places, notes, reply["cautions"]), strict=True):
        if texts:
            found[name] = " ".join(texts)
    return found


def _of_fault(fault: Mapping[str, str]) -> str:
    """A fault in a cell: `slab.width: ...`."""
    name = fault["pointer"].removeprefix("/").replace("~1", "/").replace("~0", "~")
    return f"{name}: {fault['detail']}" if name else fault["detail"]


def _leaves(value: Any, head: str, name: str, units: Mapping[str, str]) -> dict[str, str]:
    """The cells of a member of an answer by their heads; of a list those of its objects."""
    found: dict[str, str] = {}
    if isinstance(value, dict):
        banded = value.keys() == _BAND.keys()
        for own, inner in value.items():
            if banded:
                found |= _leaves(inner, head + _BAND[own], name, units)
            else:
                found |= _leaves(inner, f"{head}.{own}", f"{name}.{own}", units)
    elif isinstance(value, list):
        if all(isinstance(one, str) for one in value):
            found[head] = "; ".join(value)
        for place, one in enumerate(value):
            if isinstance(one, dict):
                found |= _leaves(one, f"{head}[{place}]", name, units)
    else:
        unit = f" [{units[name]}]" if name in units else ""
        found[head + unit] = _cell_of(value)
    return found


def _cell_of(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


def _merge(order: list[str], names: Sequence[str]) -> None:
    """Put names into an order of columns, each new one behind the one it follows in its row."""
    known = set(order)
    at = 0
    for name in names:
        if name in known:
            at = order.index(name) + 1
        else:
            order.insert(at, name)
            at += 1
