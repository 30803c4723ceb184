"""What the OpenAPI document refers to by name: schemas, parameters, headers and refusals.

The schemas are made from the declarations that read the questions and write the answers.  Which
members of an object go together, and what is taken for one left out, stands in words: the service
holds to it, while programs written from the document get plain objects whose members are optional
(`default` would make them required in TypeScript, and have them sent in Python).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from marshmallow import Schema, missing

from api.problems import MEDIA_TYPE, TYPES, ProblemType
from api.quantities import QuantityField
from api.replies.members import COMPONENTS, Answer, Member
from api.replies.members import Part as AnswerPart
from api.replies.members import Rows as AnswerRows
from api.schema import Choice, Either, Part, QuestionShape, Rows, Shape
from api.units import DIMENSIONS

Json = dict[str, Any]

# Members that a person writes on a line, of the objects that several questions have.
LINE: Final = {
    "slab": ("species", "width", "thickness", "length", "grain", "bark_side"),
    "faces": ("top", "bottom"),
    "room": ("climate", "heat_to", "cool_to", "occupied", "temperature", "relative_humidity"),
}
# Parameters beside those of inner objects that mean the same to every question.
_OF_ALL: Final = ("units", "detail", "spread", "seed")


def reference(kind: str, name: str) -> Json:
    """Reference to a component."""
    return {"$ref": f"#/components/{kind}/{name}"}


def text(description: str = "") -> Json:
    """JSON Schema of a text."""
    return {"type": "string", "description": description} if description else {"type": "string"}


def whole(description: str) -> Json:
    """JSON Schema of a whole number."""
    return {"type": "integer", "description": description}


def a_list(items: Json, description: str = "") -> Json:
    """JSON Schema of a list."""
    told = {"description": description} if description else {}
    return {"type": "array", "items": items, **told}


def an_object(
    description: str,
    properties: Json,
    *,
    optional: Sequence[str] = (),
    closed: bool = False,
) -> Json:
    """JSON Schema of an object; `closed` says that it has no other members."""
    required = [name for name in properties if name not in optional]
    return {
        "type": "object",
        "description": description,
        "properties": properties,
        **({"required": required} if required else {}),
        **({"additionalProperties": False} if closed else {}),
    }


def by_name(description: str, values: Any) -> Json:
    """JSON Schema of an object whose members have names of their own."""
    return {"type": "object", "description": description, "additionalProperties": values}


_RANK: Final = {
    "type": "integer",
    "minimum": 1,
    "maximum": 3,
    "description": "1 bears on what to do next, 2 on figures, 3 is background",
}
_SCHEMAS: Final[Mapping[str, Json]] = {
    "Asked": by_name("The question as understood, what was left out filled in.", True),
    "UnitsByName": by_name("Unit of each dotted name of the answer, alike for all rows.", text()),
    "Note": an_object(
        "What is assumed, stretched or weak.",
        {
            "code": text("kind of note"),
            "rank": _RANK,
            "pointer": text("part of the question, as a JSON pointer; empty for all of it"),
            "message": text("the note, in a sentence or more"),
            "source": text("where that is from"),
        },
    ),
    "Fault": an_object(
        "One thing wrong with a request.",
        {
            "pointer": text("where, as a JSON pointer"),
            "detail": text("what, with the limit and the right form"),
        },
    ),
    "Problem": an_object(
        "Problem details of RFC 9457.",
        {
            "type": {"type": "string", "enum": [kind.url for kind in TYPES.values()]},
            "title": text(),
            "status": {"type": "integer"},
            "detail": text(),
            "errors": a_list(reference("schemas", "Fault"), "every fault at once"),
        },
        optional=("errors",),
    ),
}
_PARAMETERS: Final[Mapping[str, Json]] = {
    "IfNoneMatch": {
        "name": "If-None-Match",
        "in": "header",
        "description": "ETag of the reply held already; 304 without computing when it is the same",
        "schema": text(),
    },
    "RequestId": {
        "name": "X-Request-ID",
        "in": "header",
        "description": "an id for the log, up to 64 letters, digits and ._:-; it comes back",
        "schema": text(),
    },
}
_HEADERS: Final[Mapping[str, Json]] = {
    "ETag": {"description": "the reply's tag", "schema": text()},
    "CacheControl": {"description": "how long the reply keeps", "schema": text()},
}
_TOKEN: Final = {
    "type": "http",
    "scheme": "bearer",
    "description": "from whoever runs this service",
}


class Components:
    """The components of a document that is being made; what is declared is added when asked for."""

    def __init__(self) -> None:
        figures = {dimension.component: dimension.schema for dimension in DIMENSIONS}
        held = {"description": "The reply is the one held already.", "headers": headers()}
        refusals = {_refusal(kind.status): _told_refusal(kind) for kind in TYPES.values()}
        self.by_kind: dict[str, Json] = {
            "schemas": {**_SCHEMAS, **COMPONENTS, **figures},
            "parameters": {},
            "headers": dict(_HEADERS),
            "responses": {"Held": held, **refusals},
            "securitySchemes": {"token": _TOKEN},
        }
        self._declared: dict[str, type[Schema]] = {}

    def add(self, kind: str, name: str, made: Json) -> Json:
        """Reference to a component added by its name."""
        known = self.by_kind[kind].setdefault(name, made)
        assert known == made, f"two {kind} are called {name}"
        return reference(kind, name)

    def of(self, declared: Shape | Answer) -> Json:
        """Reference to the schema of what is asked or answered."""
        name = component(declared)
        if name not in self._declared:
            self._declared[name] = type(declared)
            made = self._asked(declared) if isinstance(declared, Shape) else self._told(declared)
            self.add("schemas", name, made)
        assert self._declared[name] is type(declared), f"two declarations are called {name}"
        return reference("schemas", name)

    def header(self, name: str) -> Json:
        """Reference to a header of a request."""
        return self.add("parameters", name, _PARAMETERS[name])

    def form(self, forms: Sequence[str]) -> Json:
        """Reference to the parameter `format`."""
        parameter = {
            "name": "format",
            "in": "query",
            "description": "form of the reply, json when left out; wins over the Accept header",
            "schema": {"type": "string", "enum": list(forms)},
        }
        return self.add("parameters", "Format" + "".join(map(str.capitalize, forms)), parameter)

    def detail(self) -> Json:
        """Reference to the parameter `detail`, which a question's body may hold as well."""
        return next(one for one in self.line(QuestionShape()) if one["$ref"].endswith("/Detail"))

    def line(self, shape: Shape) -> Iterator[Json]:
        """The parameters of a question on a line; those that several share are components."""
        for name, field, description, required in _on_a_line(shape):
            schema = self._plain(field)
            schema.pop("description")
            parameter = {
                "name": name,
                "in": "query",
                "description": description,
                **({"required": True} if required else {}),
                "schema": schema,
            }
            if isinstance(field, QuantityField) and field.lists:
                parameter |= {"style": "form", "explode": False}
            if "." in name or (name in _OF_ALL and isinstance(shape, QuestionShape)):
                yield self.add("parameters", pascal(name), parameter)
            else:
                yield parameter

    def drop_unused(self, document: str) -> None:
        """Leave out kinds of figures that no question takes."""
        for dimension in DIMENSIONS:
            if f'"#/components/schemas/{dimension.component}"' not in document:
                del self.by_kind["schemas"][dimension.component]

    def _asked(self, shape: Shape) -> Json:
        """JSON Schema of an object that is asked."""
        fields = {field.data_key or own: field for own, field in shape.load_fields.items()}
        description = _first_paragraph(shape)
        return an_object(
            f"{description}\n\n{sentence(shape.rule)}" if shape.rule else description,
            {name: self._field(field) for name, field in fields.items()},
            optional=[name for name, field in fields.items() if not field.required],
            closed=True,
        )

    def _told(self, answer: Answer) -> Json:
        """JSON Schema of an object of an answer."""
        found = dict(answer.members())
        return an_object(
            _first_paragraph(answer),
            {name: self._member(member) for name, member in found.items()},
            optional=[name for name, member in found.items() if member.left_out],
        )

    def _field(self, field: Any) -> Json:
        """JSON Schema of a member that is asked."""
        if isinstance(field, Part):
            schema = {**self.of(field.shape), "description": field.meaning}
        elif isinstance(field, Either):
            one = self._plain(field.one)
            del one["description"]
            either = [one, self.of(field.shape)]
            if field.words:
                either.append({"type": "string", "enum": list(field.words)})
            schema = {"anyOf": either, "description": _meaning(field)}
        elif isinstance(field, Rows):
            span = {"minItems": field.shortest, "maxItems": field.longest}
            schema = {**a_list(self.of(field.shape), field.meaning), **span}
        else:
            schema = self._plain(field)
        schema["description"] += _left_out(field)
        return schema

    def _plain(self, field: Any) -> Json:
        """JSON Schema of a field of one value."""
        schema: Json = field.json_schema()
        if isinstance(field, Choice) and field.component:
            words = {"type": "string", "enum": list(field.choices)}
            shared = self.add("schemas", field.component, words)
            schema = {**shared, "description": field.meaning}
        return schema

    def _member(self, member: Member) -> Json:
        """JSON Schema of a member of an answer."""
        if not isinstance(member, AnswerPart):
            return member.json_schema()
        schema = self.of(member.shape)
        if isinstance(member, AnswerRows):
            schema = a_list(schema)
        if member.null:
            schema = {"anyOf": [schema, {"type": "null"}]}
        return {**schema, "description": member.description} if member.description else schema


def headers() -> Json:
    """What a reply that a caller may keep says of itself."""
    return {
        "ETag": reference("headers", "ETag"),
        "Cache-Control": reference("headers", "CacheControl"),
    }


def problems(statuses: Sequence[int]) -> Json:
    """The refusals of an operation by status."""
    return {str(status): reference("responses", _refusal(status)) for status in statuses}


def _refusal(status: int) -> str:
    kind = next(kind for kind in TYPES.values() if kind.status == status)
    return pascal(kind.name)


def _told_refusal(kind: ProblemType) -> Json:
    told: Json = {}
    if kind.status == 401:
        told["WWW-Authenticate"] = {"schema": text()}
    if kind.status == 405:
        told["Allow"] = {"schema": text()}
    if kind.status in (429, 503):
        told["Retry-After"] = {"schema": {"type": "integer"}}
    content: Json = {MEDIA_TYPE: {"schema": reference("schemas", "Problem")}}
    if kind.status == 414:
        # A longer address than the web server reads never comes to the application.
        content["text/html"] = {"schema": text()}
    response: Json = {"description": f"{kind.title} {kind.remedy}", "content": content}
    return {**response, "headers": told} if told else response


def component(declared: Shape | Answer) -> str:
    """Name of the component of what is asked or answered."""
    return type(declared).__name__.removesuffix("Shape")


def pascal(name: str) -> str:
    """A name as components are called.

    >>> pascal("slab.bark_side"), pascal("The library table")
    ('SlabBarkSide', 'TheLibraryTable')
    """
    return "".join(word[0].upper() + word[1:] for word in re.findall("[A-Za-z0-9]+", name))


def sentence(rule: str) -> str:
    """A rule as a sentence.

    >>> sentence("give shell and core, or depths")
    'Give shell and core, or depths.'
    """
    return f"{rule[0].upper()}{rule[1:]}."


def _first_paragraph(declared: Shape | Answer) -> str:
    return " ".join((type(declared).__doc__ or "").partition("\n\n")[0].split())


def _on_a_line(shape: Shape, inside: str = "") -> Iterator[tuple[str, Any, str, bool]]:
    """Name, field of one value, meaning and need of what a person writes on a line."""
    for own, field in shape.load_fields.items():
        name = field.data_key or own
        if name not in LINE.get(inside, (name,)) or isinstance(field, Rows):
            continue
        if isinstance(field, Part):
            yield from _on_a_line(field.shape, name)
            continue
        one = field.one if isinstance(field, Either) else field
        told = _meaning(field) + _left_out(field)
        yield f"{inside}.{name}" if inside else name, one, told, bool(field.required)


def _meaning(field: Any) -> str:
    """What a value is, with the limits of a figure."""
    one = field.one if isinstance(field, Either) else field
    return str(
        one.json_schema()["description"] if isinstance(one, QuantityField) else field.meaning
    )


def _left_out(field: Any) -> str:
    """What is taken for a member left out, with its unit, since a bare figure has the caller's."""
    value = field.load_default
    if value is missing or callable(value):
        return ""
    told = field.echo(value, "metric")
    if isinstance(told, bool):
        told = str(told).lower()
    if isinstance(field, QuantityField):
        unit = field.dimension.of_system["metric"].symbol
        told = f"{told:g}" if unit == "1" else f"{told:g} {unit}"
    return f"; {told} when left out"
