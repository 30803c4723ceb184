"""`/v1/repair` over the API: the page, the calendar, the chart, what is refused."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

import icalendar
import pytest
from flask.testing import FlaskClient

from api.questions.repair import QUESTION
from api.questions.repair.examples import EXAMPLES
from api.questions.repair.tell import LINES
from api.words import repair as words
from model.repair import steps

pytestmark = pytest.mark.usefixtures("answered_once")
TOLD = EXAMPLES[0].body


def faults(reply: Any) -> list[str]:
    return [fault["pointer"] for fault in reply.json["errors"]]


def asked(client: FlaskClient, body: Mapping[str, Any], form: str = "json") -> Any:
    reply = client.post(f"/v1/repair?format={form}", json=body)
    assert reply.status_code == 200, reply.text
    return reply


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda one: one.title)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_text_is_a_page(client: FlaskClient, example: Any, units: str) -> None:
    text = asked(client, {**example.body, "units": units}, "text").text
    lines = text.splitlines()
    assert len(lines) <= LINES
    assert max(map(len, lines)) <= 80
    numbered = [line for line in lines if line.lstrip()[:2].rstrip(".").isdigit() and ". " in line]
    told = asked(client, {**example.body, "units": units}).json["answer"]["steps"]
    assert len(numbered) == len(told)


def test_the_same_story_gives_steps_with_dates_in_order(client: FlaskClient) -> None:
    answer = asked(client, TOLD).json["answer"]
    assert answer["verdict"] == "repair"
    begins = [step["begins"] for step in answer["steps"]]
    assert begins == sorted(begins)
    assert begins[0] == TOLD["starts"]
    assert [step["number"] for step in answer["steps"]] == list(range(1, len(begins) + 1))
    assert answer["ready_on"] in begins
    assert sum(one["chance"] for one in answer["causes"]) <= 100.0 + 1e-9


def test_only_wood_and_size_are_needed(client: FlaskClient) -> None:
    slab = {"species": "elm", "width": "34in", "thickness": "2in"}
    query = "&".join(f"slab.{name}={value}" for name, value in slab.items())
    reply: Any = client.get(f"/v1/repair?{query}")
    answer = reply.json["answer"]
    assert answer["verdict"] == "plan"
    assert answer["asks"][0]["what"] == "room"
    assert "after" not in answer
    refused = client.post("/v1/repair", json={"slab": {"species": "elm"}})
    assert refused.status_code == 422
    assert set(faults(refused)) == {"/slab/width", "/slab/thickness"}


def test_its_calendar_is_read_and_holds_every_step_and_the_looks_after(client: FlaskClient) -> None:
    reply = asked(client, TOLD, "ics")
    assert reply.mimetype == "text/calendar"
    calendar = icalendar.Calendar.from_ical(reply.data)
    events = calendar.walk("VEVENT")
    told = asked(client, TOLD).json["answer"]["steps"]
    watched = next(step for step in told if step["step"] == "watch")
    assert len(events) == len(told) - 1 + 4
    days = [event.decoded("dtstart").isoformat() for event in events]
    assert days[: len(told) - 1] == [one["begins"] for one in told if one["step"] != "watch"]
    after = datetime.date.fromisoformat(watched["begins"])
    assert days[-4:] == [
        (after + datetime.timedelta(days=ahead)).isoformat() for ahead in (30, 91, 183, 365)
    ]
    assert asked(client, TOLD, "ics").data == reply.data


def test_after_a_wait_that_nobody_can_time_stand_two_readings_and_no_day(
    client: FlaskClient,
) -> None:
    """A slab on its way that nobody read: how long it stacks is not known, nor any day after it."""
    body = {name: TOLD[name] for name in ("slab", "room", "starts")}
    told = asked(client, body).json["answer"]
    begins = {step["step"]: step["begins"] for step in told["steps"]}
    assert begins["read"] == begins["stack"] == TOLD["starts"]
    assert {begins[code] for code in ("mill", "finish-alike", "slots", "fit", "watch")} == {None}
    assert told["ready_on"] is None
    events = icalendar.Calendar.from_ical(asked(client, body, "ics").data).walk("VEVENT")
    days = [event.decoded("dtstart").isoformat() for event in events]
    assert days == ["2026-01-20", "2026-01-20", "2026-02-03", "2026-02-17"]


def test_the_chart_carries_the_numbers_of_the_steps(client: FlaskClient) -> None:
    svg = asked(client, TOLD, "svg").text
    for step in asked(client, TOLD).json["answer"]["steps"]:
        assert f"{step['number']} {step['title']}" in svg


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"since": "2026-02-01"}, "/since"),
        ({"since": "2005-01-01"}, "/since"),
        ({"wanted": {"by": "2026-01-01"}}, "/wanted/by"),
        ({"wanted": {"thickness": "50mm"}}, "/wanted/thickness"),
        ({"seen": {"width_after": "500mm"}}, "/seen/width_after"),
        ({"seen": {"cup": {"amount": "60mm", "shape": "edges up"}}}, "/seen/cup/amount"),
        ({"done": {"planed_top": "44.5mm"}, "wanted": {}}, "/done/planed_top"),
        ({"moisture": 55}, "/moisture"),
        ({"faces": {"top": "wet"}}, "/faces/top"),
        (
            {"bars": {"section": "flat", "width": "40mm", "height": "8mm", "along": "3m"}},
            "/bars/along",
        ),
    ],
)
def test_what_cannot_be_is_refused_where_it_stands(
    client: FlaskClient, change: dict[str, Any], pointer: str
) -> None:
    reply = client.post("/v1/repair", json={**TOLD, **change})
    assert reply.status_code == 422
    assert faults(reply) == [pointer]


def test_a_day_without_its_room_is_refused(client: FlaskClient) -> None:
    body = {name: value for name, value in TOLD.items() if name != "room"}
    reply = client.post("/v1/repair", json=body)
    assert faults(reply) == ["/since"]


def test_every_step_has_its_words_and_every_word_its_step() -> None:
    assert set(words.STEPS) == set(steps.rules())


def test_lengths_of_a_text_are_in_the_units_asked_for(client: FlaskClient) -> None:
    text = asked(client, {**TOLD, "units": "us", "detail": "full"}, "text").text
    to_do = text.split("What to do")[1].split("After,")[0]
    assert " mm at " not in to_do
    assert " in long" in to_do


def test_cautions_of_every_step_stay(client: FlaskClient) -> None:
    told = asked(client, TOLD).json
    text = asked(client, {**TOLD, "detail": "full"}, "text").text
    joined = " ".join(text.split())
    for caution in told["cautions"]:
        assert " ".join(caution.split()) in joined
    assert QUESTION.forms == ("json", "text", "svg", "ics")


def test_a_flattening_that_nobody_told_of_is_asked_for_not_named(client: FlaskClient) -> None:
    # Drying wood with its bark side up goes edges up; this one went down, and nothing told bends it
    # so.  Told that it was flattened before, it is that.
    against = {
        **TOLD,
        "slab": {**TOLD["slab"], "bark_side": "top"},
        "seen": {**TOLD["seen"], "cup": {"amount": "6mm", "shape": "edges down"}},
    }
    assert "Was it flattened before?" in asked(client, against, "text").text
    flattened = {"held": "solid", "flattened": {"amount": "12mm", "shape": "edges down"}}
    text = asked(client, {**against, "done": flattened}, "text").text
    assert "Was it flattened before?" not in text
    assert "a flattening that goes back" in " ".join(text.split())
