"""Plain fields by themselves: what each takes, on either side of its limits, either way asked."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from marshmallow import ValidationError

from api import limits
from api.problems import Fault
from api.quantities import Length, Reading, reading
from api.schema import (
    Choice,
    Date,
    Either,
    Flag,
    Name,
    Part,
    QuestionShape,
    Rows,
    Shape,
    Whole,
    echo,
    faults,
    members,
    nearest,
    one_of,
    pointer,
    refuse,
)


class BoardShape(Shape):
    """A board."""

    makes = staticmethod(lambda **told: told)

    width = Length("its width", low=0.01, high=3.0, required=True)
    count = Whole("how many", low=1, high=20, load_default=1)


FIELDS: dict[str, Any] = {
    "choice": Choice("which", ("flat", "quarter")),
    "whole": Whole("how many", low=1, high=20),
    "flag": Flag("whether"),
    "name": Name("what to call it"),
    "date": Date("when"),
    "part": Part(BoardShape, "the board"),
    "either": Either("the board", Choice("which", ("flat",)), BoardShape,
                     words={"usual": {"width": "34in"}}),
    "rows": Rows("boards", BoardShape, shortest=1, longest=3),
    "length": Length("how long", low=0.01, high=3.0),
}  # fmt: skip


def refusal(field: Any, value: Any, *, query: bool = False) -> str:
    with reading(Reading(query=query)), pytest.raises(ValidationError) as refused:
        field.deserialize(value)
    return str(refused.value.messages)


@pytest.mark.parametrize("name", FIELDS)
def test_null_is_no_value_and_nothing_needed_is_left_out(name: str) -> None:
    field = FIELDS[name]
    assert "null given; write " in refusal(field, None)
    assert "or leave the name out" in refusal(field, None)
    made: Any = staticmethod(dict)
    needed = type("AnyShape", (Shape,), {"makes": made, "it": Choice("it", "a", required=True)})
    with pytest.raises(ValidationError, match="missing: it; write one of a"):
        needed().load({})


def test_a_whole_number_is_one_within_its_limits() -> None:
    whole = FIELDS["whole"]
    for value, query, read in ((1, False, 1), (20, False, 20), (3.0, False, 3), ("7", True, 7)):
        with reading(Reading(query=query)):
            assert whole.deserialize(value) == read
    for value in (0, 21, 2.5, True, "x"):
        assert "a whole number from 1 to 20" in refusal(whole, value)
    assert "without quotes" in refusal(whole, "7")
    assert "without quotes" not in refusal(whole, 2.5)
    large = Whole("seed", low=-(10**18), high=10**18)
    with reading(Reading(query=True)):
        assert large.deserialize("9" * 18) == 10**18 - 1
        assert large.deserialize("-5") == -5
    assert "whole number" in refusal(large, "1" * 19, query=True)
    assert "from -1,000 to 1,000" in Whole("n", low=-1000, high=1000).form


def test_a_flag_is_true_or_false() -> None:
    flag = FIELDS["flag"]
    assert flag.deserialize(True) is True
    assert flag.deserialize(False) is False
    with reading(Reading(query=True)):
        assert flag.deserialize("true") is True
        assert flag.deserialize("false") is False
    assert "without quotes" in refusal(flag, "true")
    assert "true or false" in refusal(flag, 1)
    assert "true or false" in refusal(flag, "yes", query=True)


def test_a_name_is_a_text_as_long_as_may_be() -> None:
    name = FIELDS["name"]
    assert name.deserialize("  oak ") == "oak"
    assert name.deserialize("x" * 200) == "x" * 200
    for value in ("x" * 201, "", "  ", 3):
        assert "a text of 1 to 200 characters" in refusal(name, value)


def test_a_date_is_a_day_of_the_calendar() -> None:
    date = FIELDS["date"]
    assert date.deserialize("2028-02-29") == datetime.date(2028, 2, 29)
    assert "no such day" in refusal(date, "2026-02-29")
    for value in ("20260101", "2026-W39-5", 20260101, "2026-1-1"):
        assert "a date such as" in refusal(date, value)


def test_rows_are_as_many_as_may_be_and_each_fault_has_its_place() -> None:
    rows, row = FIELDS["rows"], {"width": "34in"}
    assert [len(rows.deserialize([row] * count)) for count in (1, 3)] == [1, 3]
    for count in (0, 4):
        assert f"a list of {count} given: boards; write a list of 1 to 3 objects" in (
            refusal(rows, [row] * count)
        )
    assert Rows("twelve", BoardShape, shortest=12, longest=12).form.startswith("a list of 12 obj")
    wrong = refusal(rows, [row, 3, {}])
    assert "1: ['3 given: write an object with width, count']" in wrong
    assert "2: {'width'" in wrong
    assert "0:" not in wrong
    with reading(Reading(query=True)):
        assert len(rows.deserialize('[{"width": "34in"}]')) == 1
    assert "no JSON" in refusal(rows, "[{", query=True)
    assert "boards; write" in refusal(rows, "[]")


def test_a_value_or_an_object_is_read_either_way() -> None:
    either = FIELDS["either"]
    assert either.deserialize("flat") == "flat"
    assert either.deserialize({"width": "34in"}).made["width"] == pytest.approx(0.8636)
    assert either.deserialize("usual").made["count"] == 1
    for value in ([1], True):
        assert "the board; write one of flat, or usual, or an object" in refusal(either, value)
    assert "width" in refusal(either, {"count": 2})
    assert either.echo("flat", "us") == "flat"
    assert either.echo(either.deserialize({"width": "34in"}), "us") == {"width": 34.0, "count": 1}


def test_an_unknown_name_is_told_the_near_ones() -> None:
    names = ["width", "widths", "widest", "wide", "count"]
    assert nearest("widht", names).count(" or ") == 2
    assert nearest("xyz", names).endswith("known here: width, widths, widest, wide, count")
    with pytest.raises(ValidationError, match="did you mean count"):
        BoardShape().load({"width": "34in", "coutn": 3})
    with pytest.raises(ValidationError, match="did you mean count"):
        BoardShape(many=True).load([{"width": "34in", "coutn": 3}])


def test_one_of_several_is_given_once() -> None:
    one_of({"a": 1}, ("a", "b"), "it")
    with pytest.raises(ValidationError, match="it is missing: give one of a, b"):
        one_of({}, ("a", "b"), "it")
    with pytest.raises(ValidationError, match="more than once, by a and b"):
        one_of({"a": 1, "b": 2}, ("a", "b"), "it")


def test_faults_of_several_looks_come_together() -> None:
    refuse({}, {})
    refuse({"a": {}}, {"a": []})
    with pytest.raises(ValidationError) as refused:
        refuse({"a": ["one"]}, {"a": ["two"], "b": ["three"]}, {"c": {"d": ["four"]}},
               {"c": ["five"]})  # fmt: skip
    assert refused.value.messages == {
        "a": ["one", "two"], "b": ["three"], "c": {"d": ["four"], "_schema": ["five"]},
    }  # fmt: skip
    assert faults(refused.value.messages, query=False) == [
        Fault("/a", "one"), Fault("/a", "two"), Fault("/b", "three"), Fault("/c/d", "four"),
        Fault("/c", "five"),
    ]  # fmt: skip


def test_faults_are_told_up_to_their_limit_and_then_counted_no_more() -> None:
    few = {"a": [str(n) for n in range(limits.FAULTS)]}
    assert len(faults(few, query=False)) == limits.FAULTS
    many = {"a": [str(n) for n in range(limits.FAULTS + 1)]}
    found = faults(many, query=False)
    assert len(found) == limits.FAULTS + 1
    assert found[-1] == Fault("", "more than 50 faults; the rest is left out")


def test_a_pointer_has_dots_in_a_query_as_far_as_names_go() -> None:
    assert pointer(["a", "b", 0, "c"], query=True) == "/a.b/0/c"
    assert pointer(["a", "b", 0, "c"], query=False) == "/a/b/0/c"
    assert pointer(["a/b", "c~d"], query=False) == "/a~1b/c~0d"
    assert pointer([], query=True) == ""


def test_members_of_a_question_have_dotted_names_and_say_which_are_needed() -> None:
    class AskedShape(QuestionShape):
        makes = staticmethod(lambda **told: told)

        board = Part(BoardShape, "the board", required=True)
        other = Part(BoardShape, "another")
        way = Either("way", Choice("which", ("flat",)), BoardShape, required=True)
        rows = Rows("more", BoardShape, shortest=1, longest=3, data_key="more")

    found = {one.name: one.required for one in members(AskedShape())}
    assert found == {
        "units": False, "detail": False, "board.width": True, "board.count": False,
        "other.width": False, "other.count": False, "way": False, "way.width": False,
        "way.count": False, "more": False,
    }  # fmt: skip
    told = AskedShape().load({"board": {"width": "34in"}, "way": "flat", "units": "us"})
    assert "units" not in told.made
    assert echo(AskedShape(), told.values, "us") == {
        "units": "us", "board": {"width": 34.0, "count": 1}, "way": "flat",
    }  # fmt: skip
