"""An answer declared once: its members with their dimension and meaning.

An `Answer` is a schema whose fields read from the model's result.  From one declaration come the
members of the reply, the unit of each, the JSON Schema in the document and the columns of a table.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from operator import attrgetter
from typing import Any, Final

import numpy as np
from marshmallow import Schema, fields

from api.units import Dimension, System
from model import spread

Units = dict[str, str]
Source = str | Callable[[Any], Any]
_NUMBER: Final = {"type": "number"}


# What a reader gives of a member that is left out, where None would be told as null.
LEFT_OUT: Final = object()


class Member(fields.Field[Any]):
    """One member of an answer; subclasses write one kind of value.

    Parameters
    ----------
    meaning : what it is, for the document; empty where its name says it all.
    of : attribute of the result it is read from, dots allowed, or a function of the result; its own
        name when left out.
    named : its name where Python has no such name to give.
    left_out : when there is no such member, in words; it is then left out where it is None.
    null : when it is null, in words.
    """

    def __init__(
        self,
        meaning: str = "",
        *,
        of: Source | None = None,
        named: str | None = None,
        left_out: str = "",
        null: str = "",
    ) -> None:
        super().__init__(required=not left_out, data_key=named)
        self.meaning = meaning
        self.of = of
        self.left_out = left_out
        self.null = null
        self._read: Callable[[Any], Any] | None = None

    def read(self, result: Any, name: str) -> Any:
        """The value in a result of the model."""
        if self._read is None:
            self._read = self.of if callable(self.of) else attrgetter(self.of or name)
        return self._read(result)

    @property
    def description(self) -> str:
        """What it is, and when it is left out or null."""
        parts = [self.meaning]
        if self.left_out:
            parts.append(f"left out {self.left_out}")
        if self.null:
            parts.append(f"null {self.null}")
        return "; ".join(part for part in parts if part)

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The value as the reply has it; `units` learns the unit of each dotted name."""
        raise TypeError(f"{type(self).__name__} does not tell how it is written")

    def kind(self) -> dict[str, Any]:
        """JSON Schema of its value, when it is not null."""
        raise TypeError(f"{type(self).__name__} does not tell its JSON Schema")

    def json_schema(self) -> dict[str, Any]:
        """JSON Schema of the member, with its description."""
        schema = self.kind()
        if self.null:
            schema = _or_null(schema)
        return {**schema, "description": self.description} if self.description else schema

    def columns(self, values: Sequence[Any], name: str) -> Iterator[Column]:
        """Columns of a table for the values of this member in its rows."""
        return iter(())

    def series(self, value: Any, name: str) -> Iterator[Column]:
        """Columns of a table whose rows this one value holds."""
        yield Column(name, value, getattr(self, "dimension", None))


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    if isinstance(schema.get("type"), str) and "enum" not in schema:
        return {**schema, "type": [schema["type"], "null"]}
    return {"anyOf": [schema, {"type": "null"}]}


class Column:
    """One column of a table: its name, its figures in SI (or texts, without dimension)."""

    __slots__ = ("dimension", "name", "values")

    def __init__(self, name: str, values: Any, dimension: Dimension | None = None) -> None:
        self.name = name
        self.values = values
        self.dimension = dimension


class _Measured(Member):
    """A member with a dimension."""

    def __init__(self, dimension: Dimension, meaning: str = "", **options: Any) -> None:
        super().__init__(meaning, **options)
        self.dimension = dimension

    def told(self, value: Any, system: System, units: Units, name: str) -> Any:
        """A figure in the unit of the system."""
        units[name] = self.dimension.of_system[system].symbol
        return self.dimension.write(value, system)


class Number(_Measured):
    """One number without spread."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The number in the reply's unit."""
        return self.told(float(value), system, units, name)

    def kind(self) -> dict[str, Any]:
        """A number."""
        return {"type": "number"}

    def columns(self, values: Sequence[Any], name: str) -> Iterator[Column]:
        """One column; an empty cell for what is null."""
        yield Column(name, [math.nan if one is None else one for one in values], self.dimension)


class Numbers(_Measured):
    """A number, or a list of numbers where lists were asked."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The numbers in the reply's unit."""
        return self.told(value if np.ndim(value) else float(value), system, units, name)

    def kind(self) -> dict[str, Any]:
        """A number or a list of numbers."""
        return {"anyOf": [_NUMBER, {"type": "array", "items": _NUMBER}]}


class Series(_Measured):
    """A list of numbers, a row each of a table."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The list in the reply's unit."""
        return self.told(np.asarray(value, dtype=np.float64), system, units, name)

    def kind(self) -> dict[str, Any]:
        """A list of numbers."""
        return {"type": "array", "items": {"type": "number"}}


class Banded(_Measured):
    """A series of a table read from an array (rows, samples): with its band where it has one."""

    def series(self, value: Any, name: str) -> Iterator[Column]:
        """The central case, and the 10th and 90th percentile."""
        yield Column(name, value[:, 0], self.dimension)
        ends = spread.band(value)
        if ends is not None:
            yield Column(f"{name}_low", ends[0], self.dimension)
            yield Column(f"{name}_high", ends[1], self.dimension)


class Figure(_Measured):
    """A figure with its spread; a plain number with spread=none."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """Value, low and high in the reply's unit."""
        assert isinstance(value, spread.Figure)
        if value.low is None or value.high is None:
            return self.told(value.value, system, units, name)
        ends = self.told(np.array([value.value, value.low, value.high]), system, units, name)
        return dict(zip(("value", "low", "high"), ends.tolist(), strict=True))

    def kind(self) -> dict[str, Any]:
        """The component of figures."""
        return {"$ref": "#/components/schemas/Figure"}

    def columns(self, values: Sequence[Any], name: str) -> Iterator[Column]:
        """The value, and its band where it has one."""
        for end, after in (("value", ""), ("low", "_low"), ("high", "_high")):
            figures = [None if one is None else getattr(one, end) for one in values]
            if end == "value" or any(one is not None for one in figures):
                yield Column(
                    name + after,
                    [math.nan if one is None else one for one in figures],
                    self.dimension,
                )


class Sampled(Figure):
    """A figure read from an array over the samples."""

    def read(self, result: Any, name: str) -> Any:
        """The central value with its 10th and 90th percentile."""
        values = super().read(result, name)
        return None if values is None else spread.figure(values)


class OpenFigure(Figure):
    """A figure whose ends may be open: an end that is not finite is null."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """Value, low and high, an open end null."""
        assert isinstance(value, spread.Figure)
        if value.low is None or value.high is None:
            return self.told(value.value, system, units, name)
        return {
            end: self.told(figure, system, units, name) if math.isfinite(figure) else None
            for end, figure in (("value", value.value), ("low", value.low), ("high", value.high))
        }

    def kind(self) -> dict[str, Any]:
        """The component of open figures."""
        return {"$ref": "#/components/schemas/OpenFigure"}


class ByName(_Measured):
    """Numbers by a name of their own, such as factors."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """An object of numbers."""
        return {
            key: self.told(float(one), system, units, f"{name}.{key}") for key, one in value.items()
        }

    def kind(self) -> dict[str, Any]:
        """An object of numbers."""
        return {"type": "object", "additionalProperties": {"type": "number"}}


class _Plain(Member):
    """A member without unit, written as it is."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The value."""
        return value

    def columns(self, values: Sequence[Any], name: str) -> Iterator[Column]:
        """One column of texts."""
        yield Column(name, ["" if one is None else one for one in values])


class Bare(_Plain):
    """A number without unit, as it stands in a table."""

    def kind(self) -> dict[str, Any]:
        """A number."""
        return {"type": "number"}


class Text(_Plain):
    """Words."""

    def kind(self) -> dict[str, Any]:
        """A string."""
        return {"type": "string"}


class Texts(_Plain):
    """A list of words."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The list."""
        return list(value)

    def kind(self) -> dict[str, Any]:
        """A list of strings."""
        return {"type": "array", "items": {"type": "string"}}

    def columns(self, values: Sequence[Any], name: str) -> Iterator[Column]:
        """No column: a cell holds no list."""
        return iter(())


class Word(_Plain):
    """One word of a closed list."""

    def __init__(self, words: Sequence[str], meaning: str = "", **options: Any) -> None:
        super().__init__(meaning, **options)
        self.words = tuple(words)

    def kind(self) -> dict[str, Any]:
        """An enumeration."""
        return {"type": "string", "enum": list(self.words)}


class Truth(_Plain):
    """True or false."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """A boolean."""
        return bool(value)

    def kind(self) -> dict[str, Any]:
        """A boolean."""
        return {"type": "boolean"}


class Count(_Plain):
    """A whole number."""

    def kind(self) -> dict[str, Any]:
        """An integer."""
        return {"type": "integer"}


class Counts(_Plain):
    """A list of whole numbers."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The list."""
        return [int(one) for one in value]

    def kind(self) -> dict[str, Any]:
        """A list of integers."""
        return {"type": "array", "items": {"type": "integer"}}


class Month(Count):
    """A month, 1 to 12."""

    def kind(self) -> dict[str, Any]:
        """An integer from 1 to 12."""
        return {"type": "integer", "minimum": 1, "maximum": 12}


class Day(_Plain):
    """A calendar date."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """The date as text."""
        assert isinstance(value, datetime.date)
        return value.isoformat()

    def kind(self) -> dict[str, Any]:
        """A string of format date."""
        return {"type": "string", "format": "date"}


class Answer(Schema):
    """An object of an answer; its fields are members."""

    def members(self) -> Iterator[tuple[str, Member]]:
        """Its members by name, in the order they are declared."""
        for name, field in self.dump_fields.items():
            assert isinstance(field, Member)
            yield field.data_key or name, field

    def write(self, result: Any, system: System, units: Units, before: str = "") -> dict[str, Any]:
        """The members of a result, in the units of a system; `units` learns each leaf's."""
        told: dict[str, Any] = {}
        for name, member in self.members():
            value = member.read(result, name)
            if value is LEFT_OUT:
                continue
            if value is not None:
                told[name] = member.write(value, system, units, before + name)
            elif member.null or not member.left_out:
                told[name] = None
        return told

    def columns(self, results: Sequence[Any]) -> list[Column]:
        """A table of many results, a row each; inner objects' columns have dotted names."""
        columns: list[Column] = []
        for name, member in self.members():
            values = [member.read(one, name) for one in results]
            if not member.left_out or any(one is not None for one in values):
                columns += member.columns(values, name)
        return columns

    def empty(self) -> list[Column]:
        """The columns of a table without a row."""
        return [
            Column(name, [], getattr(member, "dimension", None)) for name, member in self.members()
        ]

    def side_by_side(self, result: Any) -> list[Column]:
        """A table of one result whose members are lists, a column each."""
        return [
            column
            for name, member in self.members()
            if (value := member.read(result, name)) is not None
            for column in member.series(value, name)
        ]


class Part(Member):
    """An object within an answer; `of` may be omitted to read from an attribute of its name.

    `of=itself` reads its members from the result it stands in.
    """

    def __init__(self, shape: type[Answer], meaning: str = "", **options: Any) -> None:
        super().__init__(meaning, **options)
        self.shape = shape()

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """Its members."""
        return self.shape.write(value, system, units, f"{name}.")

    def columns(self, values: Sequence[Any], name: str) -> Iterator[Column]:
        """Those of its members, with the name before theirs."""
        for inner, member in self.shape.members():
            read = [None if one is None else member.read(one, inner) for one in values]
            yield from member.columns(read, f"{name}.{inner}")


def itself(result: Any) -> Any:
    """The result a part stands in: the part only groups members."""
    return result


class Rows(Part):
    """A list of objects."""

    def write(self, value: Any, system: System, units: Units, name: str) -> Any:
        """Every object; the units are the same for all."""
        return [self.shape.write(one, system, units, f"{name}.") for one in value]

    def columns(self, values: Sequence[Any], name: str) -> Iterator[Column]:
        """No column: a cell holds no list."""
        return iter(())


_OPEN: Final = {"type": ["number", "null"]}


def _band(end: Mapping[str, Any], meaning: str) -> dict[str, Any]:
    ends = {name: dict(end) for name in ("value", "low", "high")}
    return {
        "type": "object",
        "description": meaning,
        "properties": ends,
        "required": list(ends),
    }


def _banded(band: str, meaning: str) -> dict[str, Any]:
    either = [_NUMBER, {"$ref": f"#/components/schemas/{band}"}]
    return {"description": meaning, "anyOf": either}


# Components of the document that the figures of every answer refer to.
COMPONENTS: Final = {
    "Band": _band(_NUMBER, "A figure with its 10th and 90th percentile."),
    "Figure": _banded(
        "Band",
        "A figure with its 10th and 90th percentile; a plain number where no spread was asked.",
    ),
    "OpenBand": _band(
        _OPEN,
        "A figure with its 10th and 90th percentile; what is open, never or later than is looked "
        "at, is null.",
    ),
    "OpenFigure": _banded("OpenBand", "A figure whose ends may be open."),
}
