"""Every line of a chart is a column of the sheet, and what a chart says stands in the answer."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import orjson
import pytest

from api.question import Question
from api.questions import QUESTIONS, room, settle
from api.questions.course.tell import chart as of_course
from api.questions.flattening.tell import chart as of_flattening
from api.questions.readiness.tell import chart as of_readiness
from api.questions.repair.tell import chart as of_repair
from api.questions.stiffening.tell import chart as of_stiffening
from api.replies.text import MONTHS, Page
from tests.api.examples import answered
from tests.api.told import L, N, Reader, middle_of

# Columns of a question's sheet that stand beside the lines of its chart.
LINES: Final = {
    "mean of the slab": "mean",
    "top face": "shell_top",
    "core": "core",
    "bottom face": "shell_bottom",
    "equilibrium": "equilibrium_moisture",
    "outdoors": "outdoor_temperature",
    "width": "width",
    "cup": "cup",
    "free": "cup_free",
    "between the bars": "cup_between_bars",
    "moment on each bar": "moment",
    "asked of each": "demand",
    "to rely on": "allowable",
    "ready by then": "chance",
}
OF_ROOM: Final = {"temperature": "temperature", "relative humidity": "relative_humidity"}
DRAWN: Final = [
    pytest.param(question, number, id=f"{question.name}-{number}")
    for question in QUESTIONS
    if question.chart is not None and question.table is not None
    for number in range(len(question.examples))
]


def test_every_chart_but_that_of_a_repair_is_read_beside_a_sheet() -> None:
    charts = {question.chart for question in QUESTIONS if question.chart is not None}
    read = {of_course, of_flattening, of_readiness, of_stiffening}
    assert charts == {*read, of_repair, room.QUESTION.chart, settle.QUESTION.chart}


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize(("question", "number"), DRAWN)
def test_every_line_of_a_chart_is_a_column_of_the_sheet(
    question: Question[Any, Any], number: int, system: Any
) -> None:
    told = answered(question, number, system)
    assert question.chart is not None
    assert question.table is not None
    chart, sheet = question.chart(told), question.table(told)
    columns = {column.name: column for column in sheet.columns}
    along = next(column for name in ("day", "month", "keys") if (column := columns.get(name)))
    assert chart.starts == sheet.starts
    for panel in chart.panels:
        title, _, unit = panel.y_label.removesuffix("]").partition(" [")
        for line in panel.lines:
            name = OF_ROOM.get(title) if line.label == "in the room" else LINES[line.label]
            assert name is not None
            for after, drawn in (("", line.y), ("_low", line.low), ("_high", line.high)):
                column = columns.get(name + after)
                if column is None or column.dimension is None:
                    # Of a room the sheet has no band.
                    assert drawn is None or question.name == "room"
                    continue
                assert column.dimension.of_system[system].symbol == unit
                written = column.dimension.write(column.values, system)
                assert np.asarray(drawn) == pytest.approx(np.asarray(written), abs=0.00501)
            assert np.asarray(line.x) == pytest.approx(np.asarray(along.values, dtype=float))


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize(("question", "number"), DRAWN)
def test_what_a_chart_says_stands_in_the_answer(
    question: Question[Any, Any], number: int, system: Any
) -> None:
    told = answered(question, number, system)
    assert question.chart is not None
    chart = question.chart(told)
    banded = any(line.low is not None for panel in chart.panels for line in panel.lines)
    assert ("four cases in five" in chart.description) == (
        banded and (question.name, number) != ("readiness", number)
    )
    answer = orjson.loads(question.write(told, "json"))["answer"]
    see = Reader(Page(chart.description), {"answer": answer, "asked": {}})
    if question.name == "settle":
        see.says(rf"settles to {N} %", middle_of(answer["settled"]["mean"]))
        see.says(rf"within 1 % after {N} days", middle_of(answer["days_to"]["within_1"]))
    elif question.name == "room":
        for end in ("driest", "dampest"):
            month = MONTHS[answer[end]["month"] - 1]
            see.says(rf"{N} % in {month}", answer[end]["moisture"])
    elif question.name == "stiffening" and "cup" in answer:
        see.says(rf"Free the slab cups {L} at most", answer["cup"]["free"]["amount"]["value"])
        see.says(rf"with {N} bars {L} between", answer["bars"]["count"],
                 answer["cup"]["between_bars"]["amount"]["value"])  # fmt: skip
    elif question.name == "course":
        last = answer["stays"][-1]
        see.says(rf"After {N} days the slab is at {N} %", last["last_day"], middle_of(last["mean"]))
    elif question.name == "readiness":
        assert chart.description == question.text(told).decision
