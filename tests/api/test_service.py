"""Health, the list of what can be asked, catalogues and settings."""

from __future__ import annotations

import csv
import io
import re
import shlex
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlencode

import pytest
from flask import Flask
from flask.testing import FlaskClient

from api import catalogues, places, settings
from api.app import create_app
from api.catalogues import CATALOGUES, Catalogue
from api.questions import QUESTIONS
from model import MODEL_VERSION
from model.properties import finishes, species
from model.surroundings import climate


def test_it_lives_and_computes_a_known_answer(client: FlaskClient) -> None:
    assert client.get("/livez").text == "alive\n"
    assert client.get("/readyz").text.startswith(f"ready, model {MODEL_VERSION}")


def test_it_is_not_ready_when_the_known_answer_comes_out_wrong(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    for wrong in (9.0, float("nan")):
        monkeypatch.setattr(
            "model.properties.sorption.equilibrium_moisture", lambda *air, wrong=wrong: wrong
        )
        reply = client.get("/readyz")
        assert reply.status_code == 503
        assert reply.headers["Retry-After"] == "30"
    assert client.get("/livez").status_code == 200


def test_the_front_page_lists_every_question_with_a_line_that_answers(client: FlaskClient) -> None:
    page = client.get("/").text
    assert max(map(len, page.split("\n"))) <= 80
    for question in QUESTIONS:
        assert f"/v1/{question.name}\n" in page or f"/v1/{question.name}  (" in page
    lines = re.findall(r"  curl .*?(?=\n\n)", page, flags=re.DOTALL)
    assert len(lines) == len(QUESTIONS)
    for line in lines:
        words = shlex.split(line.replace("\\\n", " "))
        assert words[0] == "curl"
        address = next(word for word in words if word.startswith("http://localhost/"))
        path = address.removeprefix("http://localhost")
        if "-G" in words:
            pairs = [word.partition("=")[::2] for word in words[3:] if "=" in word]
            reply = client.get(f"{path}?{urlencode(pairs)}")
        else:
            assert words[2:4] == ["-H", "Content-Type: application/json"]
            reply = client.post(path, data=words[-1], content_type="application/json")
        assert reply.status_code == 200, reply.text
        assert reply.content_type.startswith("text/plain")


@pytest.mark.parametrize("catalogue", CATALOGUES, ids=lambda catalogue: catalogue.name)
def test_every_catalogue_answers_in_its_forms(client: FlaskClient, catalogue: Catalogue) -> None:
    name = catalogue.name
    rows = client.get(f"/v1/{name}").get_json()[name]
    assert rows
    assert {"id"} <= rows[0].keys()
    text = client.get(f"/v1/{name}?format=text").text
    assert text.endswith("\n")
    table = list(csv.reader(io.StringIO(client.get(f"/v1/{name}?format=csv").text)))
    assert len(table) == len(rows) + 1
    assert client.get(f"/v1/{name}?format=svg").status_code == 406
    assert client.get(f"/v1/{name}?nonsense=1").status_code == 422
    assert client.post(f"/v1/{name}").status_code == 405


def test_every_wood_and_finish_is_listed_with_its_source(client: FlaskClient) -> None:
    woods = client.get("/v1/species").get_json()["species"]
    by_kind = {
        kind: [wood["id"] for wood in woods if wood["known"] == kind]
        for kind in ("wood", "name alone", "group")
    }
    assert by_kind["wood"] == [wood.id for wood in species.all_species()]
    assert by_kind["name alone"] == [wood.id for wood in species.unmeasured()]
    assert by_kind["group"] == [wood.id for wood in species.all_groups()]
    for wood in woods:
        if wood["known"] == "name alone":
            assert wood["tangential"] is wood["tangential_movement"] is None
            assert wood["note"]
        else:
            assert all(wood[name] for name in ("source", "basis", "source_start"))
    found = client.get("/v1/finishes").get_json()["finishes"]
    assert [one["id"] for one in found] == [one.id for one in finishes.all_finishes()]
    assert all(one["source"] for one in found)


def test_woods_are_found_by_any_name(client: FlaskClient) -> None:
    def ids(q: str) -> list[str]:
        reply = client.get("/v1/species", query_string={"q": q}).get_json()["species"]
        return [wood["id"] for wood in reply]

    assert {"pedunculate-oak", "sessile-oak", "european-oak"} <= set(ids("chêne"))
    assert "black-walnut" in ids("noce canaletto")
    assert "raintree" in ids("suar")
    assert "plum" in ids("Zwetschge")
    assert ids("american elm")[0] == "american-elm"
    assert ids("qqq") == []


def test_a_group_tells_its_members(client: FlaskClient) -> None:
    woods = client.get("/v1/species?q=european-oak").get_json()["species"]
    (oak,) = [wood for wood in woods if wood["id"] == "european-oak"]
    assert oak["known"] == "group"
    assert oak["group_members"] == "pedunculate-oak 0.59; sessile-oak 0.41"


def test_strengths_are_told_in_the_units_asked_for(client: FlaskClient) -> None:
    metric = client.get("/v1/species?q=american elm").get_json()
    us = client.get("/v1/species?q=american elm&units=us").get_json()
    assert metric["units"]["modulus"] == "MPa"
    assert us["units"]["modulus"] == "psi"
    assert us["species"][0]["modulus"] == pytest.approx(
        metric["species"][0]["modulus"] * 145.0377, rel=1e-6
    )


def test_climates_are_found_by_words_and_by_nearness(client: FlaskClient) -> None:
    by_name = client.get("/v1/climates?q=duluth minnesota").get_json()["climates"]
    assert [one["id"] for one in by_name] == ["duluth-us"]
    near = client.get("/v1/climates?latitude=52.5&longitude=13.4&limit=3").get_json()["climates"]
    assert len(near) == 3
    assert [one["distance"] for one in near] == sorted(one["distance"] for one in near)
    assert near[0]["country"] == "DE"
    # Berlin's station at 52.47 degrees: 0.03 degrees of a meridian of 40 008 km.
    assert near[0]["distance"] == pytest.approx(0.03 * 40_008.0 / 360.0, abs=0.06)
    assert "Deutscher Wetterdienst" in near[0]["attribution"]
    text = client.get("/v1/climates?latitude=52.5&longitude=13.4&format=text").text
    assert "Deutscher Wetterdienst" in text
    assert client.get("/v1/climates?q=qqqqq").get_json()["climates"] == []
    assert client.get("/v1/climates?latitude=52.5").status_code == 422


def test_towns_are_suggested_by_the_beginning_of_their_name_the_largest_first(
    client: FlaskClient,
) -> None:
    def labels(query: str) -> list[str]:
        return [one["label"] for one in client.get(f"/v1/places?{query}").get_json()["places"]]

    found = labels("q=dul&limit=20")
    assert "Duluth, Minnesota, United States" in found
    assert labels("q=portland, or") == ["Portland, Oregon, United States"]
    assert labels("q=portl&limit=1") == ["Portland, Oregon, United States"]
    assert labels("q=qqqqq") == []
    # What is suggested is taken.
    for label in found[:5]:
        room = {"climate": label, "heat_to": "20C"}
        assert client.post("/v1/room", json={"room": room}).status_code == 200, label
    rows = client.get("/v1/places?q=duluth").get_json()["places"]
    people = [one["population"] for one in rows]
    assert people == sorted(people, reverse=True)
    assert "GeoNames" in rows[0]["attribution"]
    assert "GeoNames" in client.get("/v1/places?q=duluth&format=text").text


def test_limits_are_told_in_either_system(client: FlaskClient) -> None:
    told = client.get("/v1/limits?units=us").get_json()
    assert told["request"]["list_length"] == 100_000
    width = told["figures"]["settle"]["slab.width"]
    assert width == {
        "meaning": "width, across the grain",
        "low": 0.393701,
        "high": 118.11,
        "unit": "in",
    }
    assert client.get("/v1/limits").get_json()["figures"]["settle"]["slab.width"]["high"] == 3000
    assert client.get("/v1/limits?units=x").status_code == 422


def test_formulas_are_told_with_source_and_check(client: FlaskClient) -> None:
    formulas = client.get("/v1/basis").get_json()["basis"]
    assert {"equilibrium-moisture", "shrinkage"} <= {one["id"] for one in formulas}
    assert all(one["source"] and one["validity"] for one in formulas)


def test_settings_come_from_the_environment_with_one_prefix(tmp_path: Path) -> None:
    assert settings.read({}) == settings.Settings()
    chosen = settings.read(
        {"STILLWOOD_EPW_FOLDER": str(tmp_path), "HOME": "/", "STILLWOOD_BIND": "x"}
    )
    assert chosen.epw_folder == tmp_path


@pytest.mark.parametrize(
    ("environment", "words"),
    [
        ({"STILLWOOD_EPW_FOLDR": "/tmp"}, "no such setting; known: STILLWOOD_BIND"),
        ({"STILLWOOD_EPW_FOLDER": "/no/such/folder"}, "no such folder"),
    ],
)
def test_a_bad_setting_stops_the_start_with_one_line(
    environment: dict[str, str], words: str
) -> None:
    with pytest.raises(settings.BadSetting, match=words) as error:
        settings.read(environment)
    assert "\n" not in str(error.value)
    started = subprocess.run(
        [sys.executable, "-c", "import api.wsgi"],
        env={**environment, "PATH": "/usr/bin:/bin", "OPENBLAS_NUM_THREADS": "1"},
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=False,
    )
    assert started.returncode == 1
    assert words in started.stderr
    assert started.stderr.count("\n") == 1


def test_a_bad_weather_file_stops_the_start_by_name_and_line(tmp_path: Path) -> None:
    (tmp_path / "home.epw").write_text("LOCATION,Home\nnothing\n")
    with pytest.raises(settings.BadSetting, match=r"STILLWOOD_EPW_FOLDER: home\.epw, line \d"):
        create_app(settings.Settings(epw_folder=tmp_path))


def test_an_operators_climate_is_offered_beside_the_listed_ones() -> None:
    listed = climate.listed()
    own = listed.stations[0]
    try:
        places.offer([replace(own, id="epw-home", name="Home Workshop", country="US")])
        reply = create_test_client_without_settings().get("/v1/climates?q=home workshop")
        assert [one["id"] for one in reply.get_json()["climates"]] == ["epw-home"]
    finally:
        places.offer(())
    assert places.climates() is listed


def create_test_client_without_settings() -> FlaskClient:
    """A client whose start does not change the climates on offer."""
    app = Flask("stillwood")
    app.register_blueprint(catalogues.addresses(QUESTIONS))
    return app.test_client()


@pytest.mark.parametrize(
    ("catalogue", "words", "found"),
    [
        ("species", "khaya", "african-mahogany"),
        ("species", "European redwood", "scots-pine"),
        ("finishes", "covered", "plastic-sheet"),
        ("finishes", "closed", "on-closed-surface"),
    ],
)
def test_a_catalogue_is_searched_by_every_name_a_question_takes(
    client: FlaskClient, catalogue: str, words: str, found: str
) -> None:
    rows = client.get(f"/v1/{catalogue}", query_string={"q": words}).get_json()[catalogue]
    assert found in [row["id"] for row in rows]


def test_the_zone_at_the_ends_goes_by_the_days_since_the_slab_came_not_by_the_season(
    client: FlaskClient,
) -> None:
    told = []
    for day in ("2026-01-05", "2026-11-05"):
        body = {
            "slab": {"species": "elm", "width": "80cm", "thickness": "45mm", "length": "2m"},
            "moisture": 14,
            "room": {"temperature": "21C", "relative_humidity": 40},
            "starts": day,
            "spread": "none",
        }
        notes = client.post("/v1/settle", json=body).get_json()["notes"]
        told += [note["message"] for note in notes if note["code"] == "ends-ahead"]
    assert len(told) == 2
    assert told[0] == told[1]
