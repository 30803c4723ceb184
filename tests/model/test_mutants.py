"""The measuring of the tests by small faults: what it puts in is what it says."""

from __future__ import annotations

import ast
import os
import time

import pytest

from tests.mutants import put, reached
from tests.mutants.faults import changed, faults, may_live, sample
from tests.mutants.verdicts import HOLDING, ROOT, Back

OPERATORS = ["number", "ReplaceComparisonOperator_Lt_GtE"]
SUN = "model/surroundings/sun.py"


@pytest.mark.parametrize("back", HOLDING, ids=lambda back: back.name)
def test_a_fault_that_once_was_can_be_put_back(back: Back) -> None:
    source = (ROOT / back.path).read_text()
    wrong = back.wrong(source)
    assert wrong != source
    assert ast.dump(ast.parse(wrong)) != ast.dump(ast.parse(source))
    assert back.now.strip().split("\n")[0] in source.splitlines()[back.line - 1]


@pytest.mark.parametrize(
    ("number", "wrong"),
    [("2.0", "2.6"), ("10", "13"), ("2", "3"), ("0", "1"), ("0.0", "1.0"), ("1_000", "1300")],
)
def test_a_number_becomes_larger_by_a_third_or_by_one(number: str, wrong: str) -> None:
    assert changed(number) == wrong


def test_a_draw_takes_of_each_file_its_share_and_no_fewer_than_asked() -> None:
    every = {path: faults(ROOT, path, OPERATORS, []) for path in (SUN, "model/effort.py")}
    drawn = sample(every, 8, 5, 1)
    for path, ones in every.items():
        share = round(8 * len(ones) / sum(len(one) for one in every.values()))
        assert sum(fault.path == path for fault in drawn) == max(share, 5)
    assert drawn == sample(every, 8, 5, 1)
    assert drawn != sample(every, 8, 5, 2)


def test_a_constant_is_reached_by_the_lines_that_name_it_and_a_line_by_itself() -> None:
    source = (ROOT / SUN).read_text().splitlines()
    constant = next(i for i, line in enumerate(source, 1) if line.startswith("SOLAR_CONSTANT"))
    inside = next(i for i, line in enumerate(source, 1) if "angle = " in line)
    assert not reached.in_function(SUN, constant)
    lines, names = reached.users_of(SUN, constant, set())
    assert any("SOLAR_CONSTANT" in text for _, text in lines)
    assert names == {"SOLAR_CONSTANT"}
    assert reached.in_function(SUN, inside)
    assert list(reached.span(SUN, inside)) == [inside]


def test_what_an_own_process_says_is_heard_and_what_takes_too_long_is_ended() -> None:
    assert put.forked(lambda _: None, 20.0) == ""
    assert put.forked(lambda answer: os.write(answer, b"a test"), 20.0) == "a test"
    assert put.forked(lambda _: time.sleep(60.0), 0.2) == "too long"
    with pytest.raises(RuntimeError, match="The measuring itself fails"):
        put.forked(lambda _: 1 // 0, 20.0)


def test_what_may_live_stands_in_the_project_and_has_a_reason() -> None:
    rows = may_live()
    assert rows
    for (path, was, becomes), reason in rows.items():
        assert was in (line.strip() for line in (ROOT / path).read_text().splitlines())
        assert becomes != was
        assert len(reason.split()) > 3, f"{path}: {was}: {reason!r}"
