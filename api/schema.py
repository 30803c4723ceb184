"""Schemas and plain fields that questions are built from, and how their faults are collected.

Fields of figures with units are in `api.quantities`; shapes that several questions share (a slab,
a room) are in `api.shapes`.  Every field has `meaning` (for the document and for messages),
`echo` (the value as understood, for `asked`) and `json_schema`.
"""

from __future__ import annotations

import datetime
import difflib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar, Final, Generic, TypeVar

import orjson
from marshmallow import Schema, ValidationError, fields, post_load

from api import limits
from api.problems import Fault
from api.quantities import QuantityField, current_reading, shown
from api.units import SYSTEMS, System
from model import spread

_UNKNOWN: Final = "unknown name"
DETAILS: Final = ("short", "full")  # how much a text tells

Messages = dict[Any, Any]
Made = TypeVar("Made")


class Told(Generic[Made]):
    """An object as it was told, defaults filled in, and what was made of it.

    values : members by name, in SI, inner objects `Told` themselves; `echo` writes them out.
    made : the model's object.
    """

    # No dataclass: orjson would write what was made beside what was told (`sharing.canonical`).
    __slots__ = ("made", "values")

    def __init__(self, values: dict[str, Any], made: Made) -> None:
        self.values = values
        self.made = made


def made_of(value: Any) -> Any:
    """What was made of a member: the model's object of an inner object, a tuple of a list's."""
    if isinstance(value, Told):
        return value.made
    if isinstance(value, list) and value and isinstance(value[0], Told):
        return tuple(row.made for row in value)
    return value


class Shape(Schema):
    """An object of named members; an unknown name is refused with the nearest known one.

    Loading gives a `Told`.  `makes` is called with what was made of the members that were told or
    have a default, by name, and gives the model's object; what it finds wrong it raises as
    ValidationError.  `rule` tells the document, in words, which members go together, where the
    members alone do not say it; `told_as` is how messages say to write it, where the names of all
    its members would say less.
    """

    makes: ClassVar[Callable[..., Any]]
    rule: ClassVar[str] = ""
    told_as: ClassVar[str] = ""

    error_messages = {"unknown": _UNKNOWN}

    @post_load
    def _make(self, values: dict[str, Any], **kwargs: Any) -> Told[Any]:
        members = {name: made_of(value) for name, value in values.items()}
        return Told(values, type(self).makes(**self.arguments(members)))

    def arguments(self, members: dict[str, Any]) -> dict[str, Any]:
        """What `makes` is called with, of what was made of the members."""
        return members

    def handle_error(self, error: ValidationError, data: Any, *, many: bool, **kwargs: Any) -> None:
        """Put the nearest known name into the message of each unknown one."""
        messages = error.messages
        rows = list(messages.values()) if many and isinstance(messages, dict) else [messages]
        for row in rows:
            if isinstance(row, dict):
                for name, texts in row.items():
                    if texts == [_UNKNOWN]:
                        row[name] = [nearest(str(name), self.names)]

    @property
    def names(self) -> list[str]:
        """Names of its members, as a caller writes them."""
        return [field.data_key or name for name, field in self.load_fields.items()]

    @property
    def form(self) -> str:
        """How to write it, for messages."""
        return self.told_as or f"an object with {', '.join(self.names)}"


def nearest(name: str, known: Sequence[str]) -> str:
    """Message for an unknown name: the near ones first, else all of them."""
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.6)
    if near:
        return f"unknown name {shown(name)}; did you mean {' or '.join(near)}?"
    return f"unknown name {shown(name)}; known here: {', '.join(known)}"


def refuse(*wrong: Mapping[str, Any]) -> None:
    """Refuse what several looks at a question found, all at once; nothing where all are empty.

    Each is faults by the member's name: `{"room": {"log": ["given: ..."]}}`.
    """
    found: dict[str, Any] = {}
    for one in wrong:
        found = _merged(found, one)
    if any(_leaves(found, ())):
        raise ValidationError(found)


def _merged(one: Mapping[str, Any], other: Mapping[str, Any]) -> dict[str, Any]:
    both = {**one, **other}
    for name in one.keys() & other.keys():
        first, second = one[name], other[name]
        if isinstance(first, list) and isinstance(second, list):
            both[name] = [*first, *second]
        else:
            both[name] = _merged(_by_name(first), _by_name(second))
    return both


def _by_name(faults: Any) -> Mapping[str, Any]:
    """Faults of a member; those of the whole of it stand under `_schema`."""
    return faults if isinstance(faults, Mapping) else {"_schema": faults}


def no_such(what: str, candidates: Sequence[str]) -> str:
    """Message for a name that is in no list: what it may have been meant for."""
    if not candidates:
        return f"no {what} is called so"
    return f"no single {what} is called so; near: {', '.join(candidates)}"


def one_of(shape: Mapping[str, Any], names: Sequence[str], what: str) -> None:
    """Refuse an object that has none or more than one of these members."""
    given = [name for name in names if name in shape]
    if not given:
        raise ValidationError(f"{what} is missing: give one of {', '.join(names)}")
    if len(given) > 1:
        raise ValidationError(
            f"{what} is given more than once, by {' and '.join(given)}: give one of them"
        )


class PlainField(fields.Field[Any]):
    """A field without unit; subclasses read one kind of value."""

    form: str = "a value"

    def __init__(self, meaning: str, **options: Any) -> None:
        self.meaning = meaning
        super().__init__(**options)
        self.error_messages["required"] = f"missing: {meaning}; write {self.form}"
        self.error_messages["null"] = f"null given; write {self.form} or leave the name out"

    def wrong(self, value: object, more: str = "") -> ValidationError:
        """The refusal of a value; `more` is added to the right form."""
        return ValidationError(f"{shown(value)} given: {self.meaning}; write {self.form}{more}")

    def echo(self, value: Any, system: System) -> Any:
        """The value as understood."""
        return value

    def json_schema(self) -> dict[str, Any]:
        """JSON Schema of what may be written here."""
        raise TypeError(f"{type(self).__name__} does not tell its JSON Schema")


class Choice(PlainField):
    """One word of a closed list; `component` names it in the document where many have the same."""

    def __init__(
        self, meaning: str, choices: Sequence[str], *, component: str = "", **options: Any
    ) -> None:
        self.choices = tuple(choices)
        self.component = component
        self.form = "one of " + ", ".join(self.choices)
        super().__init__(meaning, **options)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, str) and value in self.choices:
            return value
        raise self.wrong(value)

    def json_schema(self) -> dict[str, Any]:
        """An enumeration."""
        return {"type": "string", "enum": list(self.choices), "description": self.meaning}


class Whole(PlainField):
    """A whole number within limits."""

    def __init__(self, meaning: str, *, low: int, high: int, **options: Any) -> None:
        self.low, self.high = low, high
        self.form = f"a whole number from {low:,} to {high:,}"
        super().__init__(meaning, **options)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> int:
        if isinstance(value, str) and current_reading().query:
            value = int(value) if re.fullmatch(r"-?[0-9]{1,18}", value) else value
        elif isinstance(value, float) and value.is_integer():
            value = int(value)
        whole = isinstance(value, int) and not isinstance(value, bool)
        if whole and self.low <= value <= self.high:
            return int(value)
        raise self.wrong(value, ", without quotes" if isinstance(value, str) else "")

    def json_schema(self) -> dict[str, Any]:
        """An integer."""
        return {
            "type": "integer",
            "minimum": self.low,
            "maximum": self.high,
            "description": self.meaning,
        }


class Flag(PlainField):
    """True or false."""

    form = "true or false"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:
        if current_reading().query and value in ("true", "false"):
            return bool(value == "true")
        if isinstance(value, bool):
            return value
        raise self.wrong(value, ", without quotes" if isinstance(value, str) else "")

    def json_schema(self) -> dict[str, Any]:
        """A boolean."""
        return {"type": "boolean", "description": self.meaning}


class Name(PlainField):
    """A short text, such as the name of something to look up."""

    form = f"a text of 1 to {limits.TEXT_LENGTH} characters"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str) and value.strip() and len(value) <= limits.TEXT_LENGTH:
            return value.strip()
        raise self.wrong(value)

    def json_schema(self) -> dict[str, Any]:
        """A string."""
        return {
            "type": "string",
            "minLength": 1,
            "maxLength": limits.TEXT_LENGTH,
            "description": self.meaning,
        }


def today() -> datetime.date:
    """The day it is now (UTC), for a date left out; such a reply is fresh until midnight."""
    current_reading().took_today = True
    return now().date()


def now() -> datetime.datetime:
    """The moment it is now (UTC); tests put another clock here."""
    return datetime.datetime.now(datetime.UTC)


class Date(PlainField):
    """A calendar date."""

    form = "a date such as 2026-09-25"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> datetime.date:
        # fromisoformat alone would take 20260925 and 2026-W39-5 too.
        if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            try:
                return datetime.date.fromisoformat(value)
            except ValueError:
                raise ValidationError(
                    f"{shown(value)} given: the calendar has no such day; write {self.form}"
                ) from None
        raise self.wrong(value)

    def echo(self, value: Any, system: System) -> Any:
        """The date as text."""
        return value.isoformat()

    def json_schema(self) -> dict[str, Any]:
        """A string of format date."""
        return {"type": "string", "format": "date", "description": self.meaning}


def starts_field(meaning: str) -> Date:
    """Field of the day something begins; today when left out."""
    return Date(f"{meaning}; today (UTC) when left out", load_default=today)


AnyField = PlainField | QuantityField


class Part(fields.Nested):
    """An object inside an object; dotted names in a query string."""

    def __init__(self, shape: type[Shape], meaning: str, **options: Any) -> None:
        self.meaning = meaning
        super().__init__(shape, **options)
        form = shape().form
        self.error_messages["required"] = f"missing: {meaning}; write {form}"
        self.error_messages["null"] = f"null given; write {form} or leave the name out"

    def _deserialize(
        self, value: Any, attr: str | None, data: Any, partial: Any = None, **kwargs: Any
    ) -> Any:
        if not isinstance(value, Mapping):
            raise ValidationError(f"{shown(value)} given: write {self.shape.form}")
        return super()._deserialize(value, attr, data, partial, **kwargs)

    @property
    def shape(self) -> Shape:
        """Its schema, built once."""
        schema = self.schema
        assert isinstance(schema, Shape)
        return schema

    def echo(self, value: Any, system: System) -> Any:
        """Its members as understood."""
        return echo(self.shape, value.values, system)


class Either(fields.Field[Any]):
    """One plain value, or an object that says it in full: a moisture, a species, a face.

    `words` stand for objects of their own: a word in place of a figure.
    """

    def __init__(
        self,
        meaning: str,
        one: AnyField,
        shape: type[Shape],
        *,
        words: Mapping[str, Mapping[str, Any]] | None = None,
        **options: Any,
    ) -> None:
        self.words = {} if words is None else words
        self.meaning = meaning
        self.one = one
        self.shape = shape()
        super().__init__(**options)
        self.form = ", or ".join((one.form, *self.words, self.shape.form))
        self.error_messages["required"] = f"missing: {meaning}; write {self.form}"
        self.error_messages["null"] = f"null given; write {self.form} or leave the name out"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str):
            value = self.words.get(value, value)
        if isinstance(value, Mapping):
            try:
                return self.shape.load(value)
            except ValidationError as error:
                raise ValidationError(error.messages) from error
        if isinstance(value, list | bool):
            raise ValidationError(f"{shown(value)} given: {self.meaning}; write {self.form}")
        return self.one.deserialize(value, attr, data)

    def echo(self, value: Any, system: System) -> Any:
        """The value or its members as understood."""
        if isinstance(value, Told):
            return echo(self.shape, value.values, system)
        return self.one.echo(value, system)


class Rows(fields.Field[Any]):
    """A list of objects; in a query string it is written as JSON."""

    def __init__(
        self, meaning: str, shape: type[Shape], *, shortest: int, longest: int, **options: Any
    ) -> None:
        self.meaning = meaning
        self.shape = shape()
        self.shortest, self.longest = shortest, longest
        super().__init__(**options)
        length = f"{shortest} to {longest:,}" if shortest != longest else f"{longest}"
        self.form = f"a list of {length} objects with {', '.join(self.shape.names)}"
        self.error_messages["required"] = f"missing: {meaning}; write {self.form}"
        self.error_messages["null"] = f"null given; write {self.form} or leave the name out"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if isinstance(value, str) and current_reading().query:
            try:
                value = orjson.loads(value)
            except orjson.JSONDecodeError:
                raise ValidationError(
                    f"{shown(value)} given: no JSON; in a query string write {self.form} as JSON"
                ) from None
        if not isinstance(value, list):
            raise ValidationError(f"{shown(value)} given: {self.meaning}; write {self.form}")
        if not self.shortest <= len(value) <= self.longest:
            raise ValidationError(
                f"a list of {len(value):,} given: {self.meaning}; write {self.form}"
            )
        rows: list[Any] = []
        wrong: dict[int, Any] = {}
        for index, row in enumerate(value):
            if not isinstance(row, Mapping):
                wrong[index] = [f"{shown(row)} given: write {self.shape.form}"]
                continue
            try:
                rows.append(self.shape.load(row))
            except ValidationError as error:
                wrong[index] = error.messages
        if wrong:
            raise ValidationError(wrong)
        return rows

    def echo(self, value: Any, system: System) -> Any:
        """Every row as understood."""
        return [echo(self.shape, row.values, system) for row in value]


@dataclass(frozen=True, slots=True)
class Member:
    """One value of a question under its dotted name, as a query string has it."""

    name: str
    field: Any
    required: bool


def members(shape: Shape, before: str = "", *, required: bool = True) -> Iterator[Member]:
    """Every value of a question, those of inner objects with dotted names."""
    for own, field in shape.load_fields.items():
        name = before + (field.data_key or own)
        needed = required and bool(field.required)
        if isinstance(field, Part):
            yield from members(field.shape, f"{name}.", required=needed)
        elif isinstance(field, Either):
            yield Member(name, field.one, False)
            yield from members(field.shape, f"{name}.", required=False)
        else:
            yield Member(name, field, needed)


def echo(shape: Schema, values: Mapping[str, Any], system: System) -> dict[str, Any]:
    """The members of an object as understood, defaults filled in, in the units of the reply."""
    return {
        field.data_key or name: field.echo(values[name], system)  # type: ignore[attr-defined]
        for name, field in shape.load_fields.items()
        if name in values
    }


def faults(messages: Messages, *, query: bool) -> list[Fault]:
    """Faults from the nested messages of a schema, each with its pointer (RFC 6901).

    In a query string members are named with dots, so a pointer there is `/slab.width`.
    """
    found: list[Fault] = []
    for path, text in _leaves(messages, ()):
        if len(found) == limits.FAULTS:
            found.append(Fault("", f"more than {limits.FAULTS} faults; the rest is left out"))
            break
        found.append(Fault(pointer(path, query=query), text))
    return found


def _leaves(messages: Any, path: tuple[Any, ...]) -> Iterator[tuple[tuple[Any, ...], str]]:
    if isinstance(messages, dict):
        for name, inner in messages.items():
            yield from _leaves(inner, path if name == "_schema" else (*path, name))
    elif isinstance(messages, list):
        for inner in messages:
            yield from _leaves(inner, path)
    else:
        yield path, str(messages)


def pointer(path: Sequence[str | int], *, query: bool) -> str:
    """JSON pointer of a path of names and list indexes.

    >>> pointer(["slab", "width"], query=False), pointer(["slab", "width"], query=True)
    ('/slab/width', '/slab.width')
    """
    parts: list[str] = []
    dotted = query
    for each in path:
        if dotted and parts and isinstance(each, str):
            parts[-1] += "." + _escaped(each)
        else:
            parts.append(_escaped(str(each)))
        dotted = dotted and isinstance(each, str)
    return "".join("/" + part for part in parts)


def _escaped(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")


class QuestionShape(Shape):
    """What every question takes."""

    units = Choice(
        "units of bare numbers and of the reply: metric is mm, °C, kg; us is in, °F, lb",
        SYSTEMS,
        component="UnitSystem",
    )
    detail = Choice(
        "how much a text tells: short (a page, when left out) or full (every figure, note and "
        "source); the other forms always tell all, so short is refused there",
        DETAILS,
        component="Detail",
    )

    def arguments(self, members: dict[str, Any]) -> dict[str, Any]:
        """Without units and detail, which speak of how it is read and written."""
        for name in ("units", "detail"):
            members.pop(name, None)
        return members


class SpreadShape(QuestionShape):
    """What questions take whose figures carry a spread; `draws` are those of a sampled one."""

    draws: ClassVar[int] = spread.DEFAULT_DRAWS

    spread = Choice(
        "whether figures carry their 10th and 90th percentile (sampled) or stand alone (none)",
        ("sampled", "none"),
        component="SpreadMode",
        load_default="sampled",
    )
    seed = Whole(
        "seed of the sample behind the spread; the same seed gives the same answer",
        low=0,
        high=2**32 - 1,
        load_default=1,
    )

    def arguments(self, members: dict[str, Any]) -> dict[str, Any]:
        """With `samples`, drawn as asked."""
        members = super().arguments(members)
        draws = self.draws if members.pop("spread") == "sampled" else 0
        members["samples"] = spread.draw(draws, members.pop("seed"))
        return members
