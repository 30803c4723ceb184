"""Every field of every question at its limits, in every unit and with every kind of wrong value.

The fields are found in the schemas, so that a new one is tried without a word here.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import jsonschema
import numpy as np
import orjson
import pytest

from api import limits, openapi
from api.problems import Fault, Refused
from api.quantities import QuantityField, Reading, reading
from api.question import Question
from api.questions import QUESTIONS
from api.schema import Choice, Date, Either, Flag, Part, Rows, Shape, Whole
from api.units import DIMENSIONS, SYSTEMS, System, Unit

DEEP: Final = 5  # objects in one another; the deepest question has as many
# A hair beyond a limit, well above the 1e-9 that conversions are allowed.
HAIR: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Place:
    """A field of a question with the way to it; a whole number is the length of a list."""

    question: Question[Any, Any]
    path: tuple[str | int, ...]
    field: Any

    @property
    def pointer(self) -> str:
        return "".join("/0" if isinstance(each, int) else f"/{each}" for each in self.path)

    def body(self, value: Any) -> dict[str, Any]:
        """A question with nothing but this value."""
        for each in reversed(self.path):
            value = [value] * each if isinstance(each, int) else {each: value}
        made: dict[str, Any] = value
        return made

    def faults(self, value: Any, units: System | None = None) -> list[Fault]:
        """What is found wrong at this field or under it."""
        body = self.body(value) | ({"units": units} if units else {})
        try:
            self.question.read(body)
        except Refused as refused:
            below = f"{self.pointer}/"
            return [f for f in refused.faults if f"{f.pointer}/".startswith(below)]
        return []


def _places(
    question: Question[Any, Any], shape: Shape, path: tuple[str | int, ...]
) -> Iterator[Place]:
    for own, field in shape.load_fields.items():
        here = (*path, field.data_key or own)
        yield Place(question, here, field)
        if isinstance(field, Either):
            yield Place(question, here, field.one)
        if len(here) < 2 * DEEP and isinstance(field, Part | Either | Rows):
            longer = (*here, field.shortest) if isinstance(field, Rows) else here
            yield from _places(question, field.shape, longer)


PLACES: Final = [place for question in QUESTIONS for place in _places(question, question.shape, ())]
FIGURES: Final = [place for place in PLACES if isinstance(place.field, QuantityField)]
every_question = pytest.mark.parametrize("question", QUESTIONS, ids=lambda each: each.name)


def of(places: list[Place], question: Question[Any, Any]) -> list[Place]:
    return [place for place in places if place.question is question]


def listed(place: Place, value: Any) -> Any:
    """The value, or as many as a field wants that takes a list alone."""
    return value if place.field.alone else [value] * place.field.lengths[0]


def written(unit: Unit, si: float) -> float:
    return si / unit.factor + unit.zero


@functools.cache
def texts() -> dict[str, Any]:
    return {dimension.component: dimension.schema for dimension in DIMENSIONS}


def documented(place: Place, value: Any) -> bool:
    """Whether the document allows a value here."""
    schema = {**place.field.json_schema(), "components": {"schemas": texts()}}
    return bool(jsonschema.Draft202012Validator(schema).is_valid(value))


def test_the_fields_are_found() -> None:
    assert len(FIGURES) > 500
    assert {type(place.field).__name__ for place in PLACES} >= {"Length", "Choice", "Rows", "Date"}


def written_as(field: QuantityField, system: System, si: float) -> list[Any]:
    """A figure as a bare number, and as text with the unit of a system."""
    unit = field.dimension.of_system[system]
    value = written(unit, si)
    symbol = "" if unit.symbol == "1" else unit.symbol
    # A bare percent of 1 or less is taken for a slip of the decimal point.
    bare = [] if field.dimension.name == "percent" and 0.0 < value <= 1.0 else [value]
    return [*bare, f"{value!r}{symbol}"]


@every_question
def test_a_figure_at_its_limits_is_read_and_one_beyond_is_refused_with_them(
    question: Question[Any, Any],
) -> None:
    for place in of(FIGURES, question):
        field = place.field
        for system in SYSTEMS:
            for limit, way in ((field.low, -1), (field.high, 1)):
                for value in written_as(field, system, limit):
                    assert place.faults(listed(place, value), system) == [], place.pointer
                    with reading(Reading(units=system)):
                        read = field.deserialize(listed(place, value))
                    # The model has the same limits and no room for a last bit beyond.
                    assert np.all((field.low <= read) & (read <= field.high)), place.pointer
                    assert documented(place, listed(place, value)), (place.pointer, value)
                beyond = limit + way * HAIR * (abs(limit) or field.high or 1.0)
                for value in written_as(field, system, beyond):
                    (fault,) = place.faults(listed(place, value), system)[:1]
                    assert f"outside {field.limits}; write {field.forms}" in fault.detail
                    deeper = fault.pointer.removeprefix(place.pointer)
                    assert deeper == ("" if field.alone else "/0")


@every_question
def test_the_form_that_a_refusal_shows_is_itself_taken(question: Question[Any, Any]) -> None:
    for place in of(FIGURES, question):
        for form in place.field.forms.replace(" or ", ", ").split(", "):
            assert place.faults(listed(place, form)) == [], (place.pointer, form)
        told = place.field.limits.split(" or ")
        for end in (end for each in told for end in _ends(each)):
            assert place.faults(listed(place, end)) == [], (place.pointer, end)


def _ends(told: str) -> list[str]:
    low, _, rest = told.partition(" to ")
    high, _, unit = rest.partition(" ")
    return [f"{end.replace(',', '')} {unit}".strip() for end in (low, high)]


@every_question
def test_every_unit_and_spelling_is_read_as_the_same_figure(question: Question[Any, Any]) -> None:
    for place in of(FIGURES, question):
        field = place.field
        si = 0.5 * (field.low + field.high)
        for unit in field.dimension.units:
            for spelling in (unit.symbol, *unit.spellings):
                text = f"{written(unit, si)!r} {spelling if spelling != '1' else ''}"
                read = field.deserialize(listed(place, text))
                assert read == pytest.approx(si, rel=1e-9, abs=1e-12 * field.high), text


@every_question
def test_a_bare_number_without_units_is_refused_where_it_may_mean_two_things(
    question: Question[Any, Any],
) -> None:
    for place in of(FIGURES, question):
        # Zero too: 0 degrees are two temperatures.
        value = listed(place, 5.0)
        told = " ".join(fault.detail for fault in place.faults(value))
        assert ("without a unit" in told) is not place.field.dimension.bare, place.pointer


WRONG: Final[tuple[Any, ...]] = (
    None, True, 7.5, "", "  ", "x", "--", "1/0 in", "NaN", "1e999", "-", "½½", [], [[]], [None], {},
    {"x": 1}, 10**30, "9" * 70, "\u2028", "<b>",
)  # fmt: skip


REMEDIES: Final = (
    "write ", "give ", "leave", "known here", "did you mean", "missing", "takes ", "add ",
)  # fmt: skip


@every_question
def test_any_wrong_value_is_told_in_its_place_what_was_given_and_the_right_form(
    question: Question[Any, Any],
) -> None:
    for place in of(PLACES, question):
        for value in WRONG:
            for fault in place.faults(value, "metric"):
                assert fault.detail.isprintable(), fault
                assert len(fault.detail) < 700, fault
                assert any(word in fault.detail.casefold() for word in REMEDIES), fault


@every_question
def test_a_value_of_another_kind_is_always_refused(question: Question[Any, Any]) -> None:
    for place in of(PLACES, question):
        field = place.field
        if place.path == ("units",):
            continue  # tests/api/test_bad_input.py
        kinds: list[Any] = [None, [[]], [{"x": []}]]
        if isinstance(field, Choice | Whole | Date | QuantityField):
            kinds += [{}, True, "x", ""]
        if isinstance(field, Flag):
            kinds += [{}, 1, "x", "true"]
        if isinstance(field, Part | Rows):
            kinds += [True, 3, "x"]
        for value in kinds:
            assert place.faults(value, "us"), (place.pointer, value)


@every_question
def test_all_faults_come_back_at_once(question: Question[Any, Any]) -> None:
    body, wrong = _all_wrong(question.shape)
    with pytest.raises(Refused) as refused:
        question.read(body)
    told = {fault.pointer for fault in refused.value.faults}
    # A list that was cut ends with a word on it. More can be wrong than `wrong` holds: rows, and
    # what does not go together.
    if len(refused.value.faults) <= limits.FAULTS:
        assert wrong <= told
    else:
        assert len(refused.value.faults) == limits.FAULTS + 1
        assert len(wrong) > 0.9 * limits.FAULTS


def _all_wrong(shape: Shape, before: str = "", deep: int = 2) -> tuple[dict[str, Any], set[str]]:
    body: dict[str, Any] = {}
    pointers: set[str] = set()
    for own, field in shape.load_fields.items():
        name = field.data_key or own
        if isinstance(field, Part) and deep:
            body[name], inner = _all_wrong(field.shape, f"{before}/{name}", deep - 1)
            pointers |= inner
        elif name != "units":
            body[name] = [None, {}] if isinstance(field, Part | Rows | Either) else {"x": 1}
            if not isinstance(field, Rows):
                pointers.add(f"{before}/{name}")
    return body, pointers


@every_question
def test_a_misspelt_name_is_told_the_nearest_one(question: Question[Any, Any]) -> None:
    for place in of(PLACES, question):
        name = str(place.path[-1])
        if len(name) < 4:
            continue
        misspelt = f"{name[:-2]}{name[-1]}{name[-2]}z"
        wrong = Place(question, (*place.path[:-1], misspelt), place.field)
        (fault,) = wrong.faults(1)
        assert fault.detail.startswith(f"unknown name `{misspelt}`"), fault
        assert name in fault.detail, fault


def test_the_document_says_of_every_percent_that_a_fraction_of_one_is_no_percent() -> None:
    for place in FIGURES:
        if place.field.dimension.name == "percent":
            assert not documented(place, listed(place, 0.45)), place.pointer
            assert place.faults(listed(place, 0.45)), place.pointer
            if place.field.low <= 0.0:
                assert documented(place, listed(place, 0)), place.pointer


def test_the_committed_shapes_say_which_names_they_know() -> None:
    schemas = orjson.loads(openapi.document())["components"]["schemas"]
    for place in PLACES:
        if isinstance(place.field, Part | Either | Rows):
            name = type(place.field.shape).__name__.removesuffix("Shape")
            schema = schemas[name]
            assert set(schema["properties"]) == set(place.field.shape.names)
