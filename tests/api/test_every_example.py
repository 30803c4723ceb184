"""Every example of every question: one answer by every way of asking, in every form and unit."""

from __future__ import annotations

import csv
import datetime
import io
from typing import Any
from urllib.parse import urlencode
from xml.etree import ElementTree

import orjson
import pytest
from flask.testing import FlaskClient

from api.question import Question
from api.replies.text import WIDTH
from api.service import flattened
from api.sharing import canonical
from api.units import DIMENSIONS, SYSTEMS, TEMPERATURE_RISE
from tests.api.examples import answered, every_example

pytestmark = pytest.mark.usefixtures("answered_once")


@every_example
def test_a_query_string_asks_the_same_as_json_and_the_question_understood_can_be_asked_again(
    client: FlaskClient, question: Question[Any, Any], number: int
) -> None:
    body = question.examples[number].body
    posted = client.post(f"/v1/{question.name}", json=body)
    asked = client.get(f"/v1/{question.name}?{urlencode(flattened(body))}")
    assert posted.status_code == asked.status_code == 200
    assert posted.data == asked.data
    assert posted.content_type == "application/json"
    assert posted.headers["Vary"] == "Accept"
    assert posted.data.endswith(b"}\n")
    first = posted.get_json()
    assert list(first) == [
        "places",
        "answer",
        "units",
        "asked",
        "notes",
        "cautions",
        "basis",
        "model",
    ]
    again = client.post(f"/v1/{question.name}", json=first["asked"])
    assert again.status_code == 200, again.text
    second = again.get_json()
    # `asked` is rounded like every figure of a reply, so the answers agree to its rounding.
    assert second["asked"] == first["asked"]
    assert second["units"] == first["units"]


@every_example
def test_a_text_fits_80_columns_and_leads_with_a_sentence(
    question: Question[Any, Any], number: int
) -> None:
    text = question.write(answered(question, number), "text").decode()
    lines = text.split("\n")
    assert max(map(len, lines)) <= WIDTH
    assert lines[0][0].isupper()
    assert "." in text.split("\n\n")[0]
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


def is_offered(client: FlaskClient, question: Question[Any, Any], number: int, form: str) -> bool:
    """Whether a question is told in a form; who asks for another is refused."""
    if form in question.forms:
        return True
    body = question.examples[number].body
    assert client.post(f"/v1/{question.name}?format={form}", json=body).status_code == 406
    return False


@every_example
def test_csv_has_one_header_row_with_units_and_rows_of_its_length(
    client: FlaskClient, question: Question[Any, Any], number: int
) -> None:
    if not is_offered(client, question, number, "csv"):
        return
    sheet = question.write(answered(question, number), "csv").decode()
    rows = list(csv.reader(io.StringIO(sheet)))
    assert any("[" in head for head in rows[0])
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}
    for head, cell in zip(rows[0], rows[1], strict=True):
        # A date stands beside the day it falls on, where the start is known.
        assert datetime.date.fromisoformat(cell) if head == "date" else float(cell) == float(cell)


@every_example
def test_a_chart_is_svg_with_title_description_and_text(
    client: FlaskClient, question: Question[Any, Any], number: int
) -> None:
    if not is_offered(client, question, number, "svg"):
        return
    drawn = question.write(answered(question, number), "svg")
    space = "{http://www.w3.org/2000/svg}"
    root = ElementTree.fromstring(drawn)
    assert root.tag == f"{space}svg"
    title, description = root.find(f"{space}title"), root.find(f"{space}desc")
    assert title is not None
    assert title.text
    assert description is not None
    assert description.text
    assert any((element.text or "").endswith("]") for element in root.iter(f"{space}text"))
    assert question.write(answered(question, number), "svg") == drawn


def test_each_form_has_its_content_type(client: FlaskClient) -> None:
    body = {"room": {"temperature": "70F", "relative_humidity": 40}}
    for form, told in (
        ("json", "application/json"),
        ("text", "text/plain; charset=utf-8"),
        ("csv", "text/csv; charset=utf-8"),
        ("svg", "image/svg+xml"),
    ):
        assert client.post(f"/v1/room?format={form}", json=body).content_type == told


@every_example
def test_units_change_the_figures_and_never_the_answer(
    question: Question[Any, Any], number: int
) -> None:
    body = {**question.examples[number].body}
    if body.pop("units", None) is None:  # else bare numbers would change their meaning
        read = [canonical(question.read({**body, "units": one}).told.values) for one in SYSTEMS]
        assert len({one.replace(b'"us"', b'"metric"') for one in read}) == 1
    metric, us = (
        orjson.loads(question.write(answered(question, number, system), "json"))
        for system in SYSTEMS
    )
    assert metric["notes"] == us["notes"]
    compared = _pairs(metric["answer"], us["answer"], metric["units"], us["units"], "")
    assert compared
    for name, (one, first), (other, second) in compared:
        assert in_si(one, first) == pytest.approx(
            in_si(other, second), abs=rounding(first) + rounding(second)
        ), name


# Units that differ between the systems; test_quantities checks their table against pint.
UNITS = {
    unit.symbol: unit
    for dimension in DIMENSIONS
    for unit in dimension.of_system.values()
    # No reply has a difference of temperature, whose symbols are those of temperatures.
    if dimension.metric != dimension.us and dimension is not TEMPERATURE_RISE
}


def in_si(figure: float, symbol: str) -> float:
    return (figure - UNITS[symbol].zero) * UNITS[symbol].factor


def rounding(symbol: str) -> float:
    """Half of the last decimal that a reply keeps, in SI."""
    return 0.51 * 10.0 ** -UNITS[symbol].decimals * UNITS[symbol].factor


def _pairs(
    one: Any, other: Any, units: dict[str, str], others: dict[str, str], name: str
) -> list[tuple[str, tuple[float, str], tuple[float, str]]]:
    """Figures of two answers side by side, each with its unit; others must be equal."""
    if isinstance(one, dict):
        found = []
        for key in one:
            inner = f"{name}.{key}".strip(".")
            unit = {inner: units[name]} if name in units else units
            unit_of_other = {inner: others[name]} if name in others else others
            found += _pairs(one[key], other[key], unit, unit_of_other, inner)
        return found
    if isinstance(one, list):
        found = []
        for a, b in zip(one, other, strict=True):
            found += _pairs(a, b, units, others, name)
        return found
    if units.get(name) in UNITS:
        return [] if one is None else [(name, (one, units[name]), (other, others[name]))]
    assert one == other, name
    return [(name, (0.0, "°C"), (0.0, "°C"))]
