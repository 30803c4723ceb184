"""The questions end to end: GET and POST alike, all forms, units both ways, known answers."""

from __future__ import annotations

import csv
import io
from typing import Any
from urllib.parse import urlencode
from xml.etree import ElementTree

import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from api.app import create_app
from api.quantities import DIMENSIONS
from api.question import Example, Question
from api.questions import QUESTIONS
from api.replies.text import WIDTH
from api.service import flattened
from api.settings import Settings

EXAMPLES = [(question, example) for question in QUESTIONS for example in question.examples]
NAMES = [f"{question.name}: {example.title}" for question, example in EXAMPLES]
every_example = pytest.mark.parametrize(("question", "example"), EXAMPLES, ids=NAMES)


def ask(client: FlaskClient, name: str, body: Any) -> dict[str, Any]:
    reply = client.post(f"/v1/{name}", json=body)
    assert reply.status_code == 200, reply.text
    found: dict[str, Any] = reply.get_json()
    return found


@every_example
def test_a_query_string_asks_the_same_as_json(
    client: FlaskClient, question: Question, example: Example
) -> None:
    posted = client.post(f"/v1/{question.name}", json=example.body)
    asked = client.get(f"/v1/{question.name}?{urlencode(flattened(example.body))}")
    assert posted.status_code == asked.status_code == 200
    assert posted.data == asked.data


@every_example
def test_a_reply_has_all_its_members_and_ends_with_a_newline(
    client: FlaskClient, question: Question, example: Example
) -> None:
    reply = client.post(f"/v1/{question.name}", json=example.body)
    assert reply.content_type == "application/json"
    assert reply.headers["Vary"] == "Accept"
    assert reply.data.endswith(b"}\n")
    assert list(reply.get_json()) == [
        "answer",
        "units",
        "asked",
        "notes",
        "cautions",
        "basis",
        "model",
    ]


@every_example
def test_the_question_as_understood_can_be_asked_again(
    client: FlaskClient, question: Question, example: Example
) -> None:
    first = ask(client, question.name, example.body)
    second = ask(client, question.name, first["asked"])
    # `asked` is rounded like every figure of a reply, so the answers agree to its rounding.
    assert second["asked"] == first["asked"]
    assert second["units"] == first["units"]


@every_example
def test_a_text_reply_fits_80_columns_and_leads_with_a_sentence(
    client: FlaskClient, question: Question, example: Example
) -> None:
    reply = client.post(f"/v1/{question.name}?format=text", json=example.body)
    assert reply.content_type == "text/plain; charset=utf-8"
    lines = reply.text.split("\n")
    assert max(map(len, lines)) <= WIDTH
    assert lines[0][0].isupper()
    assert "." in reply.text.split("\n\n")[0]
    assert reply.text.endswith("\n")
    assert not reply.text.endswith("\n\n")


@every_example
def test_csv_has_one_header_row_with_units_and_rows_of_its_length(
    client: FlaskClient, question: Question, example: Example
) -> None:
    if "csv" not in question.forms:
        assert client.post(f"/v1/{question.name}?format=csv", json=example.body).status_code == 406
        return
    reply = client.post(f"/v1/{question.name}?format=csv", json=example.body)
    assert reply.content_type == "text/csv; charset=utf-8"
    rows = list(csv.reader(io.StringIO(reply.text)))
    assert any("[" in head for head in rows[0])
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}
    assert all(float(cell) == float(cell) for cell in rows[1])


@every_example
def test_a_chart_is_svg_with_title_description_and_text(
    client: FlaskClient, question: Question, example: Example
) -> None:
    if "svg" not in question.forms:
        assert client.post(f"/v1/{question.name}?format=svg", json=example.body).status_code == 406
        return
    reply = client.post(f"/v1/{question.name}?format=svg", json=example.body)
    assert reply.content_type == "image/svg+xml"
    space = "{http://www.w3.org/2000/svg}"
    root = ElementTree.fromstring(reply.text)
    assert root.tag == f"{space}svg"
    title, description = root.find(f"{space}title"), root.find(f"{space}desc")
    assert title is not None
    assert title.text
    assert description is not None
    assert description.text
    assert any((element.text or "").endswith("]") for element in root.iter(f"{space}text"))
    again = client.post(f"/v1/{question.name}?format=svg", json=example.body)
    assert again.data == reply.data


@every_example
def test_units_change_the_figures_and_never_the_answer(
    client: FlaskClient, question: Question, example: Example
) -> None:
    body = {name: value for name, value in example.body.items() if name != "units"}
    if "units" in example.body:
        pytest.importorskip("api")  # bare numbers would change their meaning: nothing to compare
        return
    metric = ask(client, question.name, {**body, "units": "metric"})
    us = ask(client, question.name, {**body, "units": "us"})
    plain = ask(client, question.name, body)
    assert plain in (metric, us)
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
    if dimension.metric != dimension.us
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


def test_printed_equilibria_are_answered(client: FlaskClient) -> None:
    # Wood Handbook FPL-GTR-190 Table 4-2 (printed); its rounding 0.05 and the formula's 0.07 % M.
    for warmth, humidity, printed in (("70F", 50, 9.2), ("70F", 25, 5.4), ("100F", 80, 15.1)):
        reply = ask(client, "equilibrium", {"temperature": warmth, "relative_humidity": humidity})
        assert reply["answer"]["mean"] == pytest.approx(printed, abs=0.12)
        assert reply["answer"]["wetting"] < reply["answer"]["mean"] < reply["answer"]["drying"]


@given(st.floats(2, 95), st.floats(0, 50))
def test_the_humidity_that_holds_a_moisture_brings_wood_to_it(
    client: FlaskClient, humidity: float, warmth: float
) -> None:
    body = {"units": "metric", "temperature": warmth, "relative_humidity": humidity}
    moisture = ask(client, "equilibrium", body)["answer"]["mean"]
    if moisture <= 1.0:
        return  # a bare number up to 1 would be taken for a slip
    back = ask(
        client, "equilibrium", {"units": "metric", "temperature": warmth, "moisture": moisture}
    )
    # Moisture is rounded to 0.005 %; the curve rises at least 0.09 % M for a point of humidity.
    assert back["answer"]["relative_humidity"]["mean"] == pytest.approx(humidity, abs=0.07)


def test_lists_are_answered_with_lists_of_their_length(client: FlaskClient) -> None:
    body = {"units": "metric", "temperature": 20, "relative_humidity": [30, 50, 70]}
    answer = ask(client, "equilibrium", body)["answer"]
    alone = [
        ask(client, "equilibrium", {**body, "relative_humidity": one})["answer"]["mean"]
        for one in (30, 50, 70)
    ]
    assert answer["mean"] == alone
    largest = {**body, "relative_humidity": [40] * 100_000}
    assert len(ask(client, "equilibrium", largest)["answer"]["mean"]) == 100_000


def test_a_long_list_in_text_tells_where_the_rest_is(client: FlaskClient) -> None:
    body = {"temperature": "20C", "relative_humidity": [40] * 1000}
    text = client.post("/v1/equilibrium?format=text", json=body).text
    assert "960 more rows: ask with format=csv." in text


def test_heat_treated_wood_holds_less_and_says_how_weak_that_is(client: FlaskClient) -> None:
    air = {"temperature": "20C", "relative_humidity": 50}
    plain = ask(client, "equilibrium", air)
    strong = ask(client, "equilibrium", {**air, "treated": "strong"})
    # 0.55 of plain wood (printed makers' claims); 0.006 for the rounding of both.
    assert strong["answer"]["mean"] == pytest.approx(0.55 * plain["answer"]["mean"], abs=0.01)
    assert "weak-basis" in [note["code"] for note in strong["notes"]]


def test_stretched_figures_say_so(client: FlaskClient) -> None:
    for body in (
        {"temperature": "-15C", "relative_humidity": 50},
        {"temperature": "20C", "relative_humidity": 97},
    ):
        assert "extrapolation" in [n["code"] for n in ask(client, "equilibrium", body)["notes"]]


def test_each_measure_of_moist_air_gives_the_same_air(client: FlaskClient) -> None:
    first = ask(client, "air", {"temperature": "20C", "relative_humidity": 50})["answer"]
    # psychrolib for 20 degC 50 %: dew point 9.27, wet bulb 13.78 degC, 1169.4 Pa (reference run).
    assert first["dew_point"] == pytest.approx(9.27, abs=0.02)
    assert first["wet_bulb"] == pytest.approx(13.78, abs=0.05)
    assert first["vapour_pressure"] == pytest.approx(1169.4, rel=5e-4)
    for name, unit in (("dew_point", "C"), ("wet_bulb", "C"), ("vapour_pressure", "Pa")):
        again = ask(client, "air", {"temperature": "20C", name: f"{first[name]}{unit}"})["answer"]
        # The figure handed back is rounded to 0.005 K or 0.05 Pa.
        assert again["relative_humidity"] == pytest.approx(50.0, abs=0.06)


def test_cooled_below_its_dew_point_air_condenses_and_says_so(client: FlaskClient) -> None:
    body = {"temperature": "20C", "relative_humidity": 80, "heated_to": "10C"}
    reply = ask(client, "air", body)
    assert reply["answer"]["heated"]["relative_humidity"] == 100.0
    assert reply["answer"]["heated"]["condensed"] > 3.0
    assert "condensation" in [note["code"] for note in reply["notes"]]


def test_winter_air_in_a_heated_room_dries_wood(client: FlaskClient) -> None:
    body = {"temperature": "14F", "relative_humidity": 75, "heated_to": "70F"}
    answer = ask(client, "air", body)["answer"]
    assert answer["heated"]["equilibrium_moisture"] < 4.0 < answer["equilibrium_moisture"]


def test_a_room_tells_its_place_and_shows_the_attribution_of_its_data(client: FlaskClient) -> None:
    answer = ask(client, "room", {"room": {"climate": "Berlin", "heat_to": "20C"}})["answer"]
    assert "Germany" in answer["climate"]
    assert "Deutscher Wetterdienst" in answer["attribution"][0]
    text = client.post("/v1/room?format=text", json={"room": {"climate": "Berlin"}}).text
    assert "Deutscher Wetterdienst" in text


def test_twelve_months_of_ones_own_are_a_room(client: FlaskClient) -> None:
    months = [{"temperature": 20, "relative_humidity": 30 + 2 * m} for m in range(12)]
    answer = ask(client, "room", {"units": "metric", "room": {"months": months}})["answer"]
    assert answer["driest"]["month"] == 1
    assert answer["dampest"]["month"] == 12
    assert [month["relative_humidity"] for month in answer["months"]] == [
        month["relative_humidity"] for month in months
    ]
    assert "outdoor" not in answer["months"][0]


def test_a_loggers_series_is_a_room(client: FlaskClient) -> None:
    log = {
        "time": [f"2026-01-{day:02d}T00:00:00+01:00" for day in range(1, 31)],
        "temperature": ["20C"] * 30,
        "relative_humidity": [40] * 30,
    }
    answer = ask(client, "room", {"room": {"log": log}})["answer"]
    assert [month["month"] for month in answer["months"]] == [1]
    assert answer["mean_equilibrium_moisture"] == pytest.approx(7.7, abs=0.1)


def test_outdoor_months_of_ones_own_make_a_room(client: FlaskClient) -> None:
    outdoor = {"temperature": [0.0] * 12, "relative_humidity": [80] * 12}
    room = {"outdoor": outdoor, "heat_to": 20, "occupied": "no"}
    answer = ask(client, "room", {"units": "metric", "room": room})["answer"]
    # 80 % of 611 Pa and what monthly means hide at 0 degC (3.35 points), warmed to 20 degC.
    assert answer["months"][0]["relative_humidity"] == pytest.approx(21.8, abs=0.3)


def test_the_library_table_shrinks_by_the_handbooks_rule(
    client: FlaskClient, table: dict[str, Any]
) -> None:
    body = {"slab": table["slab"], "from": 12.5, "to": 7, "spread": "none"}
    answer = ask(client, "movement", body)["answer"]
    # Wood Handbook ch. 13: 34 in x 0.00338 x 5.5 = 0.632 in; the rule made straight differs from
    # the formula by 1 % here.
    assert answer["width"]["change"] == pytest.approx(-0.632, rel=0.02)
    assert answer["handbook"]["width"]["coefficient"] == pytest.approx(0.00338, abs=2e-5)
    assert answer["cup"]["amount"] >= 0.0
    # Drying makes the bark side hollow: bark up, edges up (derived).
    assert answer["cup"]["shape"] == "edges up"


def test_the_settled_table_is_answered_with_everything_a_maker_asks(
    client: FlaskClient, table: dict[str, Any]
) -> None:
    answer = ask(client, "settle", table)["answer"]
    settled = answer["settled"]
    assert settled["driest"]["moisture"]["value"] < settled["mean"]["value"]
    assert settled["mean"]["value"] < settled["dampest"]["moisture"]["value"]
    # Most of the US: 6 to 10 % (Wood Handbook ch. 13, recommended moisture, printed).
    assert 6.0 <= settled["mean"]["value"] <= 10.0
    assert answer["days_to"]["within_1"]["value"] < answer["days_to"]["within_half"]["value"]
    width = answer["width"]
    assert width["now"] == 34.0
    assert width["narrowest"]["value"] < width["settled"]["value"] < width["widest"]["value"]
    assert answer["fit_to_work"]["ready"] is False
    assert "wetter" in answer["fit_to_work"]["reason"]
    assert answer["cup"]["yearly"]["shape"] in ("edges up", "edges down", "flat")
    for figure in (settled["mean"], width["settled"], answer["gap_per_edge"]):
        assert figure["low"] <= figure["value"] <= figure["high"]


def test_the_settled_table_reads_as_a_decision(client: FlaskClient, table: dict[str, Any]) -> None:
    text = client.post("/v1/settle?format=text", json=table).text
    first = " ".join(text.split("\n\n")[0].split())
    assert first.startswith("Not ready: it is 4.")
    assert "Let it stand in that room" in first
    assert "weeks" in first
    assert "at each edge" in first
    assert "34 in (34.000)" in text
    assert "lift and turn it with help" in " ".join(text.split())
    assert "Rags wet with drying oil" in text


def test_without_spread_figures_are_plain_numbers(
    client: FlaskClient, table: dict[str, Any]
) -> None:
    answer = ask(client, "settle", {**table, "spread": "none"})["answer"]
    assert isinstance(answer["settled"]["mean"], float)
    assert isinstance(answer["gap_per_edge"], float)


def test_the_seed_makes_the_spread_repeatable(client: FlaskClient, table: dict[str, Any]) -> None:
    body = {"slab": table["slab"], "from": 12.5, "to": 7}
    first, again, other = (
        ask(client, "movement", {**body, "seed": s})["answer"] for s in (5, 5, 6)
    )
    assert first == again
    assert first["width"]["change"]["low"] != other["width"]["change"]["low"]
    # Another sample of 128: the ends move by little, the centre not at all.
    assert first["width"]["change"]["value"] == other["width"]["change"]["value"]


def test_a_species_by_its_own_figures_answers_as_the_listed_one(
    client: FlaskClient, table: dict[str, Any]
) -> None:
    listed = ask(client, "movement", {"slab": table["slab"], "from": 12, "to": 8})
    own = {"radial": 4.2, "tangential": 9.5, "specific_gravity": 0.5}
    slab = {**table["slab"], "species": own}
    given_ = ask(client, "movement", {"slab": slab, "from": 12, "to": 8})
    assert given_["answer"]["width"] == listed["answer"]["width"]
    assert given_["asked"]["slab"]["species"]["name"] == "wood of given figures"


@pytest.mark.parametrize(
    ("faces", "name"),
    [
        ({"top": "covered", "bottom": "closed"}, "cover"),
        ({"top": {"finish": "shellac", "coats": 3}}, "coats"),
        ({"top": {"sd": 2}, "bottom": {"perms": 1}}, "sd"),
        ({}, "bare"),
    ],
)
def test_faces_are_told_in_any_of_their_ways(
    client: FlaskClient, table: dict[str, Any], faces: dict[str, Any], name: str
) -> None:
    bare = {**table, "spread": "none", "faces": {"top": "bare", "bottom": "bare"}}
    slower = ask(client, "settle", {**bare, "faces": faces})["answer"]["days_to"]["within_1"]
    usual = ask(client, "settle", bare)["answer"]["days_to"]["within_1"]
    assert slower == usual if name == "bare" else slower > usual


def test_format_wins_over_accept_and_both_choose_the_form(client: FlaskClient) -> None:
    path = "/v1/equilibrium?temperature=20C&relative_humidity=50"
    assert client.get(path, headers={"Accept": "text/plain"}).content_type.startswith("text/plain")
    assert client.get(path, headers={"Accept": "text/csv"}).content_type.startswith("text/csv")
    reply = client.get(f"{path}&format=json", headers={"Accept": "text/plain"})
    assert reply.content_type == "application/json"
    browser = "text/html,application/xhtml+xml,*/*;q=0.8"
    assert client.get(path, headers={"Accept": browser}).content_type == "application/json"
    in_body = {"temperature": "20C", "relative_humidity": 50, "format": "text"}
    assert client.post("/v1/equilibrium", json=in_body).content_type.startswith("text/plain")


def test_a_question_too_big_for_one_answer_is_refused_and_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("model.transport.MOST_STEPS", 5)
    reply = (
        create_app(Settings())
        .test_client()
        .get(
            "/v1/settle?units=metric&slab.species=white-oak&slab.width=600&slab.thickness=50"
            "&moisture=12&room.temperature=20&room.relative_humidity=40&arrives=2026-09-25"
        )
    )
    assert reply.status_code == 422
    assert reply.json is not None
    assert "too big" in reply.json["detail"]
