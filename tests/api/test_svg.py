"""Charts: what a phone shows of them first, and that colour is not all that tells lines apart."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient

from api.questions import QUESTIONS
from api.replies.svg import Chart, Line, Panel, write

SVG = "{http://www.w3.org/2000/svg}"
WITH_CHART = [
    (question, example)
    for question in QUESTIONS
    if question.chart is not None
    for example in question.examples
]
# A phone of 360 pixels shows 328 of a chart that the page keeps at least 608 wide.
SHOWN = 328 / 608


def texts(root: ElementTree.Element, below: str) -> list[tuple[str, float]]:
    """Every text inside groups of a name, with where it starts across."""
    found = []
    for group in root.iter(f"{SVG}g"):
        if group.get("id", "").startswith(below):
            for text in group.iter(f"{SVG}text"):
                moved = re.search(r"translate\(([-\d.]+)", text.get("transform", ""))
                x = float(moved[1]) if moved else float(text.get("x", "nan"))
                found.append((str(text.text), x))
    return found


@pytest.mark.parametrize(("question", "example"), WITH_CHART)
def test_title_and_legends_stand_in_the_part_a_phone_shows_first(
    question: Any, example: Any, client: FlaskClient
) -> None:
    reply = client.post(f"/v1/{question.name}?format=svg", json=dict(example.body))
    root = ElementTree.fromstring(reply.data)
    width = float(root.get("viewBox", "").split()[2])
    legends = texts(root, "legend_")
    assert legends
    for label, x in legends:
        # Letters of 9 points are half as wide, give or take: 0.5 em holds for plain words.
        assert x + 0.5 * 9 * len(label) < SHOWN * width, label
    title = root.findtext(f"{SVG}title")
    [(_, start)] = [each for each in texts(root, "figure_") if each[0] == title]
    assert start < 0.05 * width


def test_every_line_of_a_panel_has_a_stroke_of_its_own() -> None:
    days = [0.0, 1.0, 2.0]
    lines = [Line(f"line {n}", days, [n, n + 1.0, n]) for n in range(4)]
    lines[3] = Line("dashed", days, [9.0, 9.0, 9.0], dashed=True)
    drawn = write(Chart("a", "b", "days", [Panel("y", lines)]))
    samples = re.findall(r'<g id="legend_1">.*', drawn, re.DOTALL)[0]
    strokes = re.findall(r'<path d="[^"]*" style="fill: none; ([^"]*)stroke: ', samples)
    assert len(strokes) == 4
    assert len(set(strokes)) == 4
