"""Sheets: a file of its own name, dates beside days, one name for one thing, whole after pandas."""

from __future__ import annotations

import datetime
import io
import re
from typing import Any, Final

import numpy as np
import pandas as pd
import pytest
from flask.testing import FlaskClient

from api.question import Example, Question
from api.questions import QUESTIONS
from api.replies.csv import Table, write
from api.replies.members import Column
from api.units import DAYS

pytestmark = pytest.mark.usefixtures("answered_once")
WITH_SHEET: Final = [
    pytest.param(question, example, id=f"{question.name}-{number}")
    for question in QUESTIONS
    if question.table is not None
    for number, example in enumerate(question.examples)
]
every_sheet = pytest.mark.parametrize(("question", "example"), WITH_SHEET)
# Names that the same thing had in some sheets before.
FORMER: Final = {"low", "high", "top", "bottom", "equilibrium"}


@every_sheet
def test_a_sheet_goes_through_pandas_unchanged(
    client: FlaskClient, question: Question[Any, Any], example: Example
) -> None:
    reply = client.post(f"/v1/{question.name}?format=csv", json=example.body)
    table = pd.read_csv(io.StringIO(reply.text))
    assert table.to_csv(index=False, lineterminator="\n") == reply.text
    for head, kind in table.dtypes.items():
        if head != "date":
            assert np.issubdtype(kind, np.number), head
    assert reply.headers["Content-Disposition"] == f'attachment; filename="{question.name}.csv"'


@every_sheet
def test_dates_stand_beside_days_where_the_start_is_known(
    client: FlaskClient, question: Question[Any, Any], example: Example
) -> None:
    text = client.post(f"/v1/{question.name}?format=csv", json=example.body).text
    table = pd.read_csv(io.StringIO(text), parse_dates=["date"] if "date" in text[:40] else False)
    starts = example.body.get("starts")
    if "day [d]" in table and starts is not None:
        passed = (table["date"] - pd.Timestamp(starts)).dt.days
        # The date is that of the whole day; the day beside it is rounded to 0.1.
        ahead = table["day [d]"] - passed
        assert ((ahead >= 0.0) & (ahead <= 1.05)).all()


@every_sheet
def test_a_sheet_calls_one_thing_by_one_name(
    client: FlaskClient, question: Question[Any, Any], example: Example
) -> None:
    head = client.post(f"/v1/{question.name}?format=csv", json=example.body).text.split("\n")[0]
    names = [name.split(" [")[0] for name in head.split(",")]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[a-z][a-z0-9_.]*", name) for name in names)
    if question.name != "reading":  # a profile: moisture with low and high, as in its object
        assert not FORMER & set(names)


def test_the_date_of_a_day_is_the_day_it_falls_on() -> None:
    days = Column("day", [-0.5, 0.0, 0.999, 1.0, 365.0], DAYS)
    told = write(Table([days], "metric", datetime.date(2026, 3, 1))).splitlines()
    assert told[0] == "day [d],date"
    assert [row.split(",")[1] for row in told[1:]] == [
        "2026-02-28", "2026-03-01", "2026-03-01", "2026-03-02", "2027-03-01",
    ]  # fmt: skip
    assert write(Table([days], "metric")).splitlines()[0] == "day [d]"


def test_other_forms_are_shown_and_not_kept(client: FlaskClient) -> None:
    body = {"temperature": "20C", "relative_humidity": 50}
    for form in ("json", "text"):
        reply = client.post(f"/v1/equilibrium?format={form}", json=body)
        assert "Content-Disposition" not in reply.headers
