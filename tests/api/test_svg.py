"""Charts: they read on a phone, tell months, and a series looks the same in every one of them."""

from __future__ import annotations

import datetime
import re
from typing import Any, Final
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from api.questions import QUESTIONS
from api.replies.svg import SERIES, Chart, Line, Panel, looks_of, months, write
from api.replies.text import MONTHS

pytestmark = pytest.mark.usefixtures("answered_once")
SVG = "{http://www.w3.org/2000/svg}"
WITH_CHART = [
    (question, example)
    for question in QUESTIONS
    if question.chart is not None
    for example in question.examples
]
PHONE: Final = 400.0  # pixels
LEAST_LETTERS: Final = 10.5  # pixels that a letter takes there, its legs included


def texts(root: ElementTree.Element, below: str) -> list[tuple[str, float, float]]:
    """Every text inside groups of a name, with where it starts across and down."""
    found = []
    for group in root.iter(f"{SVG}g"):
        if group.get("id", "").startswith(below):
            for text in group.iter(f"{SVG}text"):
                moved = re.search(r"translate\(([-\d.]+) ([-\d.]+)", text.get("transform", ""))
                x, y = (
                    (float(moved[1]), float(moved[2]))
                    if moved
                    else (float(text.get("x", "nan")), float(text.get("y", "nan")))
                )
                found.append((str(text.text), x, y))
    return found


def drawn(question: Any, example: Any, client: FlaskClient) -> ElementTree.Element:
    reply = client.post(f"/v1/{question.name}?format=svg", json=dict(example.body))
    return ElementTree.fromstring(reply.data)


@pytest.mark.parametrize(("question", "example"), WITH_CHART)
def test_a_chart_reads_on_a_phone(question: Any, example: Any, client: FlaskClient) -> None:
    root = drawn(question, example, client)
    width = float(root.get("viewBox", "").split()[2])
    sizes = [
        float(found[1])
        for text in root.iter(f"{SVG}text")
        if (found := re.search(r"font(?:-size)?: (?:[a-z0-9]+ )?([\d.]+)px", text.get("style", "")))
    ]
    assert len(sizes) == len(list(root.iter(f"{SVG}text")))
    assert min(sizes) * PHONE / width >= LEAST_LETTERS
    legends = texts(root, "legend_")
    # One line without a band needs none: a repair whose room nobody told.
    assert legends or "no room" in " ".join(root.itertext())
    for label, x, _ in legends:
        # Letters are half as wide as high, give or take: 0.55 em holds for plain words.
        assert x + 0.55 * max(sizes) * len(label) < width, label
    title = root.findtext(f"{SVG}title") or ""
    [start] = [x for told, x, _ in texts(root, "figure_") if title.startswith(told)]
    assert start < 0.05 * width


@pytest.mark.parametrize(("question", "example"), WITH_CHART)
def test_legends_stand_above_the_lines(question: Any, example: Any, client: FlaskClient) -> None:
    root = drawn(question, example, client)
    for axes in root.iter(f"{SVG}g"):
        if not axes.get("id", "").startswith("axes_"):
            continue
        background = next(axes.iter(f"{SVG}path")).get("d", "")
        top = min(float(y) for y in re.findall(r"[ML] [-\d.]+ ([-\d.]+)", background))
        for label, _, y in texts(axes, "legend_"):
            assert y < top, label


@pytest.mark.parametrize(("question", "example"), WITH_CHART)
def test_a_series_looks_the_same_in_every_chart(question: Any, example: Any) -> None:
    answered = question.ask(dict(example.body))
    looks = looks_of(question.chart(answered))
    assert looks == {label: SERIES[label] for label in looks}
    assert len({colour for colour, _ in looks.values()}) == len(looks)


@pytest.mark.parametrize(("question", "example"), WITH_CHART)
def test_months_stand_where_the_start_is_known(
    question: Any, example: Any, client: FlaskClient
) -> None:
    if question.name == "stiffening" and "bars" not in example.body:
        return  # against the number of keys
    ticks = [told for told, _, _ in texts(drawn(question, example, client), "xtick_")]
    assert {told.split()[-1] for told in ticks if not told.isdigit()} <= {
        name[:3] for name in MONTHS
    }
    assert 3 <= sum(not told.isdigit() for told in ticks) <= 12
    if question.name != "room":  # a year of months has no year
        assert any(told.isdigit() and len(told) == 4 for told in ticks)


def test_a_series_without_a_place_takes_a_colour_that_is_free() -> None:
    panel = Panel("y", [Line(name, [0.0], [0.0]) for name in ("cup", "this", "that")])
    looks = looks_of(Chart("a", "b", "days", [panel]))
    assert looks["cup"] == SERIES["cup"]
    assert len({colour for colour, _ in looks.values()}) == 3
    many = Panel("y", [Line(f"line {n}", [0.0], [0.0]) for n in range(8)])
    with pytest.raises(ValueError, match="7 series at most, not 8"):
        looks_of(Chart("a", "b", "days", [many]))


@given(
    st.dates(datetime.date(1950, 1, 1), datetime.date(2100, 1, 1)),
    st.floats(-400.0, 0.0),
    st.floats(3.0, 7305.0),
)
def test_ticks_of_dates_are_few_and_true(
    starts: datetime.date, first: float, length: float
) -> None:
    ticks = months(starts, first, first + length)
    assert 1 <= len(ticks) <= 12 or length < 32.0
    assert all(first <= day <= first + length for day, _ in ticks)
    year = 0
    for day, told in ticks:
        date = starts + datetime.timedelta(days=day)
        assert MONTHS[date.month - 1][:3] in told
        if date.year != year:
            assert told.endswith(f"\n{date.year}")
            year = date.year


def test_every_line_of_a_panel_has_a_stroke_of_its_own() -> None:
    days = [0.0, 1.0, 2.0]
    lines = [Line(f"line {n}", days, [n, n + 1.0, n]) for n in range(4)]
    lines[3] = Line("dashed", days, [9.0, 9.0, 9.0], dashed=True)
    drawn = write(Chart("a", "b", "days", [Panel("y", lines)]))
    samples = re.findall(r'<g id="legend_1">.*', drawn, re.DOTALL)[0]
    strokes = re.findall(r'<path d="[^"]*" style="fill: none; ([^"]*)stroke: ', samples)
    assert len(strokes) == 4
    assert len(set(strokes)) == 4
