"""Short texts: a page, nothing lost that bears on safety, and what is left out is counted."""

from __future__ import annotations

import re
from typing import Any, Final

import pytest
from flask.testing import FlaskClient

from api import words
from api.problems import Refused
from api.question import Answered, Example, Question
from api.questions import QUESTIONS
from api.replies.text import SHORT_LINES, WIDTH, Page, Rows, Where, brief
from model.codes import Caution
from tests.api.sound_questions import sound

pytestmark = pytest.mark.usefixtures("answered_once")
ALL: Final = "All figures, notes and sources: detail=full."
# Sound questions of each in the fast share and up to where the slow one goes; a diagnosis takes up
# to seven seconds apiece, the others half a second.
FAST: Final = {question.name: 4 for question in QUESTIONS} | {"diagnosis": 1, "flattening": 2}
SLOW: Final = {question.name: 40 for question in QUESTIONS} | {"diagnosis": 15}
BY_NAME: Final = {question.name: question for question in QUESTIONS}
AIR: Final = {"units": "us", "temperature": 70, "relative_humidity": 40}
every_example = pytest.mark.parametrize(
    ("question", "example"),
    [
        pytest.param(question, example, id=f"{question.name}-{number}")
        for question in QUESTIONS
        for number, example in enumerate(question.examples)
    ],
)


def read(text: str) -> str:
    """A text without its line breaks and bullets."""
    return " ".join(text.replace("\n- ", "\n").split())


def check_short(question: Question[Any, Any], answered: Answered[Any, Any]) -> None:
    """What every short text must be."""
    text = question.write(answered, "text").decode()
    lines = text.splitlines()
    page = question.text(answered)
    assert len(lines) <= page.lines, text
    assert max(map(len, lines)) <= WIDTH, text
    assert lines[-1] == ALL
    told = read(text)
    assert read(page.decision) in told
    for caution in answered.reply.cautions:
        assert read(words.short_cautions([caution])[0]) in told, caution.code


@every_example
@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_short_text_is_a_page_with_every_caution(
    question: Question[Any, Any], example: Example, units: str
) -> None:
    check_short(question, question.ask({"units": units, **example.body}))


def ask_sound(question: Question[Any, Any], numbers: range) -> None:
    for number in numbers:
        body = sound(question.name, number)
        try:
            answered = question.ask({**body, "units": ("us", "metric")[number % 2]})
        except Refused:
            continue
        check_short(question, answered)


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda each: each.name)
def test_a_sound_question_is_told_on_a_page(question: Question[Any, Any]) -> None:
    ask_sound(question, range(FAST[question.name]))


@pytest.mark.slow
@pytest.mark.parametrize("question", QUESTIONS, ids=lambda each: each.name)
def test_many_sound_questions_are_told_on_a_page(question: Question[Any, Any]) -> None:
    ask_sound(question, range(FAST[question.name], SLOW[question.name]))


def test_most_texts_need_one_screen() -> None:
    assert SHORT_LINES == 32  # of a terminal of 80 by 34, prompt included


def test_every_short_caution_takes_two_lines_at_most() -> None:
    figures = {"heavy": {"weight": 1400.0}}
    for code in words.CAUTIONS:
        told = words.short_cautions([Caution(code, **figures.get(code, {}))])[0]
        assert len(told) <= 2 * (WIDTH - 2), code


@every_example
def test_a_full_text_has_every_note_caution_and_source(
    client: FlaskClient, question: Question[Any, Any], example: Example
) -> None:
    path = f"/v1/{question.name}?format=text"
    told = read(client.post(f"{path}&detail=full", json=example.body).text)
    reply = client.post(f"/v1/{question.name}", json=example.body).get_json()
    for note in reply["notes"]:
        assert read(note["message"]) in told
        assert read(note["source"]) in told
    for caution in reply["cautions"]:
        assert read(caution) in told
    for source in reply["basis"]:
        assert read(source) in told
    in_body = client.post(path, json={**example.body, "detail": "full"}).text
    assert read(in_body) == told
    assert client.post(f"{path}&detail=short", json=example.body).text == (
        client.post(path, json=example.body).text
    )


def rows_of(text: str) -> int:
    """Rows of a table that are told, and those that are counted."""
    shown = [line for line in text.splitlines() if re.match(r"  (row|and) ", line)]
    more = [re.match(r"  and ([\d,]+) more", line) for line in shown]
    counted = sum(int(found[1].replace(",", "")) for found in more if found)
    return counted + sum(found is None for found in more)


@pytest.mark.parametrize("count", [*range(20, 40), 1000])
def test_rows_that_do_not_fit_are_counted(count: int) -> None:
    table = Rows([(f"row {number}", "1") for number in range(count)])
    text = brief(Page("It is so.", [table]), [], [])
    assert rows_of(text) == count
    assert len(text.splitlines()) <= SHORT_LINES
    if count <= 28:  # the decision, the last line and two blank ones beside them
        assert "more row" not in text


@pytest.mark.parametrize("count", [1, 5, 13, 14, 15, 40])
def test_notes_that_do_not_fit_are_counted(count: int) -> None:
    notes = [words.Told(f"a-{i}", 1, "", f"Note {i}.", "") for i in range(count)]
    table = Rows([(f"row {number}", "1") for number in range(20)])
    text = brief(Page("It is so.", [table]), notes, [])
    told = len(re.findall(r"^- Note", text, re.MULTILINE))
    more = re.search(r"^- (\d+) (?:more|of them): detail=full", text, re.MULTILINE)
    assert told + (int(more[1]) if more else 0) == count
    assert told >= min(count, 6)
    assert rows_of(text) == 20
    assert len(text.splitlines()) <= SHORT_LINES


def test_a_page_may_have_more_lines() -> None:
    table = Rows([(f"row {number}", "1") for number in range(50)])
    text = brief(Page("It is so.", [table], lines=60), [], [])
    assert "more row" not in text
    assert len(text.splitlines()) == 54


def test_weak_points_stand_in_one_line_and_the_rest_is_counted() -> None:
    notes = [words.Told(f"a-{i}", 2, "", "m", "", weak=f"the point {i} is weak") for i in range(9)]
    line = brief(Page("It is so."), notes, []).splitlines()[-2]
    assert line.startswith("Least sure: the point 0 is weak; ")
    assert len(line) <= WIDTH
    assert int(re.findall(r"and (\d+) more", line)[0]) + line.count("the point") == 9


def test_places_that_do_not_fit_are_counted() -> None:
    where = Where([f"A town of some length number {i}" for i in range(20)], ["Credit."])
    text = brief(Page("It is so."), [], [], where)
    place = text.split("\n\n")[0].split("\n", 1)[1]
    assert place.startswith("Place: A town of some length number 0; ")
    more = re.search(r"and (\d+) more", " ".join(place.split()))
    assert more is not None
    assert place.count("length") + int(more[1]) == 20
    assert "Credit." in text.splitlines()


def test_detail_is_asked_in_the_address_or_in_the_body(client: FlaskClient) -> None:
    path = "/v1/equilibrium?format=text"
    in_address = client.post(f"{path}&detail=full", json=AIR)
    assert client.post(f"{path}&detail=full", json={**AIR, "detail": "full"}).text == (
        in_address.text
    )
    # Told twice and not the same: refused with all else that is wrong.
    both = client.post(f"{path}&detail=full", json={**AIR, "detail": "short", "moisture": -1})
    assert both.status_code == 422
    errors = {one["pointer"]: one["detail"] for one in both.get_json()["errors"]}
    assert errors.keys() >= {"/detail", "/moisture"}
    assert "full in the address, short in the body" in errors["/detail"]
    wrong = client.post(f"{path}&detail=long", json=AIR)
    assert wrong.status_code == 422
    assert wrong.get_json()["errors"][0]["pointer"] == "/detail"
    assert "one of short, full" in wrong.text
    on_a_line = client.get(
        "/v1/equilibrium?units=us&temperature=70&relative_humidity=40&format=text&detail=full"
    )
    assert on_a_line.text == client.post(f"{path}&detail=full", json=AIR).text


@pytest.mark.parametrize("form", ["json", "csv"])
def test_only_a_text_is_short(client: FlaskClient, form: str) -> None:
    # The other forms are read by machines and always tell all: who asks for less is told so.
    path = f"/v1/equilibrium?format={form}"
    assert client.post(f"{path}&detail=full", json=AIR).status_code == 200
    reply = client.post(f"{path}&detail=short", json=AIR)
    assert reply.status_code == 422
    assert "only a text is told in short" in reply.get_json()["errors"][0]["detail"]
    assert client.post(path, json=AIR).data == client.post(f"{path}", json=AIR).data


def test_a_batch_tells_all(client: FlaskClient) -> None:
    asked = [
        {"question": "equilibrium", "body": {**AIR, "detail": detail}}
        for detail in ("full", "short")
    ]
    items = client.post("/v1/batch", json={"questions": asked}).get_json()["items"]
    assert [item["status"] for item in items] == [200, 422]
    assert items[1]["problem"]["errors"][0]["pointer"] == "/detail"


def test_a_held_short_text_is_not_taken_for_the_full_one(client: FlaskClient) -> None:
    path = "/v1/equilibrium?units=us&temperature=70&relative_humidity=40&format=text"
    tag = client.get(path).headers["ETag"]
    held = {"If-None-Match": tag}
    assert client.get(path, headers=held).status_code == 304
    assert client.get(f"{path}&detail=full", headers=held).status_code == 200
