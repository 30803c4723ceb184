"""Woods as a maker names them: groups, stand-ins and woods without figures, over HTTP."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

SLAB: dict[str, Any] = {"width": "600mm", "thickness": "40mm"}


def moved(client: FlaskClient, wood: str) -> Any:
    body = {"slab": {**SLAB, "species": wood}, "before": 12, "after": 8}
    return client.post("/v1/movement", json=body)


def test_a_group_is_answered_and_told_first(client: FlaskClient) -> None:
    reply = moved(client, "oak").get_json()
    first = reply["notes"][0]
    assert first["code"] == "wood-group"
    assert first["rank"] == 1
    for member in ("white oak", "northern red oak", "pedunculate oak"):
        assert member in first["message"]
    assert "narrows" in first["message"]
    assert reply["asked"]["slab"]["species"] == "oak"


def test_what_is_echoed_for_a_group_asks_the_same_again(client: FlaskClient) -> None:
    reply = moved(client, "Eiche").get_json()
    named = reply["asked"]["slab"]["species"]
    assert moved(client, named).get_json()["answer"] == reply["answer"]


def test_a_group_has_a_wider_band_than_its_members(client: FlaskClient) -> None:
    def width(wood: str) -> float:
        change = moved(client, wood).get_json()["answer"]["width"]["change"]
        return float((change["high"] - change["low"]) / abs(change["value"]))

    assert width("maple") > 1.1 * width("sugar maple")


def test_a_wood_without_shrinkage_is_refused_by_name_and_reason(client: FlaskClient) -> None:
    reply = moved(client, "lignum vitae")
    assert reply.status_code == 422
    (fault,) = reply.get_json()["errors"]
    assert fault["pointer"] == "/slab/species"
    assert "lignum vitae" in fault["detail"]
    assert "no shrinkage figure found" in fault["detail"]


def test_a_relative_that_stands_in_is_told(client: FlaskClient) -> None:
    codes = [note["code"] for note in moved(client, "Feldahorn").get_json()["notes"]]
    assert codes[0] == "stand-in"


def test_air_moves_a_wood_by_its_own_curve(client: FlaskClient) -> None:
    # Teak holds 0.87 of the common curve up to 60 % relative humidity: so much less it moves.
    def after(wood: str) -> float:
        air = {"temperature": "20C", "relative_humidity": 50}
        body = {"slab": {**SLAB, "species": wood}, "before": 12, "after": air}
        reply = client.post("/v1/movement", json=body).get_json()
        return float(reply["answer"]["moisture"]["after"]["value"])

    assert after("teak") == pytest.approx(0.87 * after("American elm"), abs=0.01)


def test_equilibrium_is_that_of_the_wood(client: FlaskClient) -> None:
    air = {"temperature": "20C", "relative_humidity": 90}
    teak = client.post("/v1/equilibrium", json={**air, "species": "teak"}).get_json()
    assert teak["answer"]["mean"] == pytest.approx(15.2, abs=0.1)
    assert teak["notes"][0]["code"] == "sorption-of-wood"
    back = {"temperature": "20C", "moisture": teak["answer"]["mean"], "species": "teak"}
    held = client.post("/v1/equilibrium", json=back).get_json()["answer"]["relative_humidity"]
    assert held["mean"] == pytest.approx(90.0, abs=0.05)
    common = client.post("/v1/equilibrium", json=air).get_json()
    assert common["notes"][0]["code"] == "spread-between-woods"


def cup(client: FlaskClient, **changes: Any) -> tuple[dict[str, Any], list[str]]:
    slab = {**SLAB, "species": "white oak", "grain": "flat", **changes}
    slab = {name: value for name, value in slab.items() if value is not None}
    reply = client.post("/v1/movement", json={"slab": slab, "before": 12, "after": 8}).get_json()
    return reply["answer"]["cup"]["amount"], [note["code"] for note in reply["notes"]]


def test_a_bark_side_untold_may_be_either(client: FlaskClient) -> None:
    up, told = cup(client, bark_side="top")
    down, _ = cup(client, bark_side="bottom")
    either, codes = cup(client)
    assert "bark-untold" in codes
    assert "bark-untold" not in told
    assert either["value"] == up["value"]
    # Half of the draws lie either way: a tenth of all is a fifth of those one way.
    assert either["low"] < 0.0 < either["high"]
    # A cup is told by its size: the other way round it is below zero.
    assert -down["high"] <= either["low"] <= -down["low"]
    assert up["low"] <= either["high"] <= up["high"]


def test_a_pith_told_without_its_side_may_lie_either_way(client: FlaskClient) -> None:
    either, codes = cup(client, grain=None, pith={"below": "80mm"})
    assert "bark-untold" in codes
    assert either["low"] < 0.0 < either["high"]


def test_few_woods_may_be_asked_for_and_the_nearest_come_first(client: FlaskClient) -> None:
    every = client.get("/v1/species?q=nuss").get_json()["species"]
    few = client.get("/v1/species?q=nuss&limit=3").get_json()["species"]
    assert len(few) == 3
    assert {wood["id"] for wood in few} < {wood["id"] for wood in every}
    for wood in few:
        names = [wood["name"], *wood["other_names"].split("; ")]
        assert any(name.lower().startswith("nuss") for name in names)
    assert client.get("/v1/species?limit=0").status_code == 422
    assert client.get("/v1/finishes?limit=3").status_code == 422
