"""`/v1/flattening`: plans judged and proposed, ways side by side, words of care in all forms."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from model.behaviour import bars
from model.properties import species
from tests.api.asking import Asking

OAK: dict[str, Any] = {
    "units": "metric",
    "spread": "none",
    "slab": {
        "species": "northern red oak",
        "width": 600,
        "thickness": 50,
        "length": 1800,
        "grain": "flat",
    },
    "cup": {"amount": 10, "shape": "edges up"},
    "moisture": 8,
    "room": {"temperature": 20, "relative_humidity": 42},
}

ASKING = Asking("flattening", OAK)
body, ask, pointers = ASKING.body, ASKING.ask, ASKING.pointers


def test_confidence_is_low_in_every_form(client: FlaskClient) -> None:
    found = ask(client, OAK)
    assert found["answer"]["confidence"] == "low"
    assert "confidence-low" in {note["code"] for note in found["notes"]}
    for form in ("text", "svg"):
        told = client.post(f"/v1/flattening?format={form}", json=OAK).text
        assert "Confidence is low" in " ".join(told.split())


def test_without_a_plan_the_round_face_is_proposed(client: FlaskClient) -> None:
    found = ask(client, OAK)["answer"]
    assert found["plan"]["proposed"]
    assert found["plan"]["wet_face"] == "bottom"
    assert found["plan"]["clamped"]
    assert found["result"]["cup_after_year"]["amount"] < 10.0
    assert found["chance_breaks"] < 0.15
    assert found["result"]["clamping"]["cauls"] == 6
    assert found["water"]["whole"] > 0.0


def test_a_plan_is_judged_as_it_is_given(client: FlaskClient) -> None:
    plan = {"wet_face": "top", "hours": 8, "clamped": False}
    found = ask(client, body(plan=plan))["answer"]
    assert not found["plan"]["proposed"]
    assert found["plan"]["wet_face"] == "top"
    assert "clamping" not in found["result"]
    assert found["result"]["cup_after_year"]["amount"] > 10.0
    assert found["verdict"] == "no"
    assert found["chance_breaks"] == 0.0  # nothing is clamped
    assert found["reasons_against"]


def test_clamps_alone_take_nothing_out(client: FlaskClient) -> None:
    # Common practice and derived: without a change of moisture it comes back whole.  The room
    # holds 8.0 % within a tenth: what it still moves is below half a millimetre.
    plan = {"wet_face": "none", "days": 30, "over_correct": 1}
    found = ask(client, body(plan=plan))["answer"]
    assert found["plan"]["wet_face"] == "none"
    assert "water" not in found
    assert found["result"]["cup_released"]["amount"] == pytest.approx(10.0, abs=0.5)


def test_the_ways_stand_side_by_side_each_with_its_spread(client: FlaskClient) -> None:
    found = ask(client, body(spread="sampled"))["answer"]
    names = [one["name"] for one in found["alternatives"]]
    assert names == [
        "wait until even", "dampen through, dry clamped", "dress it flat", "rip and re-glue",
    ]  # fmt: skip
    for one in (found["result"], *found["alternatives"]):
        cup = one["cup_after_year"]["amount"]
        assert cup["low"] <= cup["value"] <= cup["high"]
    dressed = found["alternatives"][2]
    assert dressed["thickness_lost"] == pytest.approx(10.0)
    assert dressed["thickness_left"] == pytest.approx(40.0)


def test_bars_stand_beside_the_free_slab(client: FlaskClient) -> None:
    bars = {"section": "channel", "width": 50, "height": 25, "wall": 4, "count": 5}
    found = ask(client, body(bars=bars))["answer"]["alternatives"][0]
    assert found["cup_after_year_with_bars"]["amount"] < found["cup_after_year"]["amount"]


def test_a_drying_room_of_its_own_is_used(client: FlaskClient) -> None:
    dry = {"wet_face": "round", "drying": {"temperature": 30, "relative_humidity": 30}}
    damp = {"wet_face": "round", "drying": {"temperature": 10, "relative_humidity": 60}}
    days = [ask(client, body(plan=plan))["answer"]["plan"]["hold_days"] for plan in (dry, damp)]
    assert days[0] < days[1]


def test_a_slab_damp_on_one_side_hears_of_it(client: FlaskClient) -> None:
    damp = {"depths": [{"depth": 0, "moisture": 7}, {"depth": 50, "moisture": 12}]}
    found = ask(client, body(moisture=damp))["answer"]
    assert "dry the damp side" in [one["name"] for one in found["alternatives"]]
    assert found["verdict"] == "no"


def test_what_is_no_plan_is_refused(client: FlaskClient) -> None:
    assert pointers(client, body(plan={"hours": 24})) == {"/plan/wet_face"}
    nothing = {"wet_face": "none", "clamped": False}
    assert pointers(client, body(plan=nothing)) == {"/plan/clamped"}
    both = {"wet_face": "round", "clamped": False, "days": 30}
    assert pointers(client, body(plan=both)) == {"/plan/clamped"}
    assert pointers(client, body(cup={"amount": 0, "shape": "edges up"})) == {"/cup/amount"}
    assert pointers(client, body(cup={"amount": 200, "shape": "edges up"})) == {"/cup/amount"}
    assert pointers(client, body(cup={"amount": 5, "shape": "twisted"})) == {"/cup/shape"}
    hot = {"wet_face": "round", "temperature": 95}
    assert pointers(client, body(plan=hot)) == {"/plan/temperature"}
    log = {
        "time": ["2026-01-01T00:00:00Z", "2026-01-02T00:00:00Z"],
        "temperature": [20, 20],
        "relative_humidity": [40, 40],
    }
    assert pointers(client, body(room={"log": log})) == {"/room/log"}
    drying = {"wet_face": "round", "drying": {"log": log}}
    assert pointers(client, body(plan=drying)) == {"/plan/drying/log"}
    assert pointers(client, body(faces={"bottom": "wet"})) == {"/faces/bottom"}


def test_the_text_leads_with_the_plan_and_takes_care(client: FlaskClient) -> None:
    reply = client.post("/v1/flattening?format=text&detail=full", json=OAK).text
    told = " ".join(reply.split())
    assert told.startswith("Confidence is low.")
    assert "keep the round" in told
    assert "Chance that it helps" in told
    assert "that it splits" in told
    for word in (
        "steam scald", "heaters", "catch fire", "Clamps", "hoist", "licensed engineer",
        "local codes", "people, glass and stone", "Weights",
    ):  # fmt: skip
        assert word in told


def test_the_cautions_stand_in_the_object_too(client: FlaskClient) -> None:
    told = " ".join(ask(client, OAK)["cautions"])
    for word in ("steam", "heaters", "fresh air", "Rags", "Clamps", "weighs", "engineer"):
        assert word in told


def test_the_series_runs_through_the_plan_and_the_year_after(client: FlaskClient) -> None:
    plan = {"wet_face": "round", "hours": 24, "days": 30}
    rows = client.post("/v1/flattening?format=csv", json=body(plan=plan)).text.splitlines()
    assert rows[0].startswith("day [d],date,mean [%],shell_top [%]")
    # To the end of the year that begins when the longest of all ways is done; told to 0.1 days.
    ways = ask(client, body(plan=plan))["answer"]["alternatives"]
    done = max(one["days"] for one in ways)
    assert float(rows[-1].split(",")[0]) == pytest.approx(done + 365.2425, abs=0.051)


def test_the_chart_takes_care_too(client: FlaskClient) -> None:
    told = client.post("/v1/flattening?format=svg", json=OAK).text
    for word in ("steam scald", "catch fire", "licensed engineer"):
        assert word in told


def test_a_damp_face_whose_drying_cups_it_more_is_not_said_to_take_the_cup_out(
    client: FlaskClient,
) -> None:
    def depths(top: float, bottom: float) -> dict[str, Any]:
        return {
            "depths": [
                {"depth": 0, "moisture": top},
                {"depth": 25, "moisture": 0.5 * (top + bottom)},
                {"depth": 50, "moisture": bottom},
            ]
        }

    # Edges up: the top is hollow.  A damp bottom, the round face, lets the cup go as it dries; a
    # damp top makes it worse.
    gone = ask(client, body(moisture=depths(7, 11)))["answer"]["reasons_against"]
    worse = ask(client, body(moisture=depths(12, 8)))["answer"]["reasons_against"]
    assert any("Let it even out first" in one for one in gone)
    assert any("it will cup more" in one for one in worse)
    assert not any("much of the cup will go" in one for one in worse)


def test_the_warmth_of_the_wetting_is_always_told(client: FlaskClient) -> None:
    found = ask(client, OAK)["answer"]["plan"]
    assert found["temperature"] == pytest.approx(20.0)
    assert "at 20 °C (68 °F)" in found["words"]
    warm = {"wet_face": "round", "temperature": 40}
    assert ask(client, body(plan=warm))["answer"]["plan"]["temperature"] == pytest.approx(40.0)


def test_bars_that_pull_it_flat_tell_what_they_bear(client: FlaskClient) -> None:
    bar = {"section": "channel", "width": 50, "height": 25, "wall": 3, "count": 6}
    found = ask(client, body(bars=bar))["answer"]
    wait = next(one for one in found["alternatives"] if one["name"] == "wait until even")
    assert wait["bars"]["moment"] > found["result"]["bars"]["moment"]
    # In air that holds it at 8 % nothing moves and no set comes: the moment is that of statics,
    # kappa EwIw EsIs/(EwIw + EsIs), E of 8 % 1.1 times that of 12 (printed, spruce), where the slab
    # lies on the bar all along, and it stays; fixings that stretch let go a few percent.
    wood = float(species.elastic(species.find("northern red oak")).E_T) * 1.1 * 0.3 * 0.05**3 / 12
    steel = bars.channel(0.050, 0.025, 0.003).stiffness
    curvature = 8 * wait["cup_released"]["amount"] / 1e3 / 0.6**2
    by_hand = curvature * wood * steel / (wood + steel)
    assert 0.95 * by_hand < wait["bars"]["moment"] < 1.005 * by_hand
    assert 0.95 * by_hand < wait["bars"]["moment_after_year"] < 1.005 * by_hand
    # Three moments over the distance between the outermost fixings is the least (derived).
    assert wait["bars"]["pull"] > 3.0 * wait["bars"]["moment"] / 0.48
    assert "bars" not in ask(client, OAK)["answer"]["result"]


def test_inches_are_told_without_metres(client: FlaskClient) -> None:
    asked = body(
        units="us",
        slab={**OAK["slab"], "width": "24in", "thickness": "2in", "length": "72in"},
        cup={"amount": "3/8in", "shape": "edges up"},
        room={"temperature": "68F", "relative_humidity": 42},
    )
    told = client.post("/v1/flattening?format=text&detail=full", json=asked).text
    assert "moment per foot of length" in told
    assert "lb/ft2" in told
    assert "kN/m2" not in told
    assert "kg/m2" not in told
