"""`/v1/fixings`: slots by hand, the printed withdrawal, refusals and words."""

from __future__ import annotations

from itertools import product
from typing import Any, get_args

import pytest
from flask.testing import FlaskClient

from api.words.holding import FIRST, PILOT, YIELDS
from model.behaviour import restraint
from model.behaviour.fixed_solid import First
from model.properties import fasteners
from model.properties.fasteners import Fastener, Kind
from tests.api.asking import Asking

OAK: dict[str, Any] = {
    "units": "metric",
    "spread": "none",
    "slab": {
        "species": "northern red oak",
        "width": 600,
        "thickness": 50,
        "length": 1800,
        "pith": {"below": "5000mm"},
    },
    "moisture": 12,
    "moisture_range": {"driest": 6, "dampest": 12},
    "positions": [50, 300, 550],
    "fastener": {"kind": "threaded_insert", "diameter": 12, "thread": 25, "shank": 8},
}

ASKING = Asking("fixings", OAK)
body, ask, pointers = ASKING.body, ASKING.ask, ASKING.pointers


def test_a_slot_comes_out_as_by_hand(client: FlaskClient) -> None:
    # Strain 0.086 x 6/30/(1 - 0.086 x 18/30) = 0.018136 (Wood Handbook ch. 13); 250 mm: 4.534 mm;
    # slot 8 + 1.25 x 4.534 + 4 = 17.67 mm. Figures are rounded to the reply's last digit.
    positions = ask(client, OAK)["answer"]["positions"]
    assert positions[0]["moves_in"] == pytest.approx(4.534, abs=6e-3)
    assert positions[0]["moves_out"] == 0.0
    assert positions[0]["slot_length"] == pytest.approx(17.67, abs=0.011)
    assert positions[0]["shank_from_inner_end"] == pytest.approx(11.67, abs=0.01)
    assert [one["fixed"] for one in positions] == [False, True, False]


def test_inches_and_millimetres_tell_the_same(client: FlaskClient) -> None:
    metric = ask(client, OAK)
    us = ask(client, body(units="us", slab={**OAK["slab"], "width": "600mm", "thickness": "50mm",
                                            "length": "1800mm"},
                          positions=["50mm", "300mm", "550mm"],
                          fastener={"kind": "threaded_insert", "diameter": "12mm",
                                    "thread": "25mm", "shank": "8mm"}))  # fmt: skip
    assert us["units"]["positions.slot_length"] == "in"
    assert metric["units"]["positions.slot_length"] == "mm"
    for one, other in zip(us["answer"]["positions"], metric["answer"]["positions"], strict=True):
        if one["fixed"]:  # it has a round hole
            assert one["slot_length"] is other["slot_length"] is None
            continue
        assert one["slot_length"] * 25.4 == pytest.approx(other["slot_length"], abs=0.02)


def test_the_withdrawal_of_a_lag_screw_is_the_code_s_with_its_factors(client: FlaskClient) -> None:
    # NDS: 1800 G^1.5 D^0.75 lb/in, G 0.675 on oven-dry volume; permanent 0.9.
    fastener = {"kind": "lag_screw", "diameter": 8, "thread": 40}
    found = ask(client, body(fastener=fastener))["answer"]["withdrawal"]
    expected = 1800 * 0.675**1.5 * (8 / 25.4) ** 0.75 * 175.127 * 0.040
    assert found["reference"] == pytest.approx(expected, rel=2e-3)
    assert found["allowable"] == pytest.approx(0.9 * expected, rel=2e-3)
    assert found["allowable"] < found["en1995_design"] < found["mean_of_tests"]["least"]


def test_end_grain_has_no_value_for_an_insert_and_says_so(client: FlaskClient) -> None:
    found = ask(client, body(fastener={**OAK["fastener"], "grain": "end"}))
    assert found["answer"]["withdrawal"]["allowable"] is None
    assert "no-end-grain-withdrawal" in {note["code"] for note in found["notes"]}


def test_a_room_gives_the_range_with_its_spread(client: FlaskClient, table: dict[str, Any]) -> None:
    asked = {
        **table,
        "positions": ["3in", "17in", "31in"],
        "fastener": {"kind": "threaded_insert", "diameter": "1/2in", "thread": "1in"},
    }
    found = ask(client, asked)["answer"]
    assert found["moisture"]["driest"]["low"] < found["moisture"]["driest"]["value"] < 8.0
    moved = found["positions"][0]["moves_in"]
    assert moved["low"] < moved["value"] < moved["high"]
    assert found["positions"][0]["slot_length"] > 0.3125 + moved["high"]


def test_little_wood_under_the_show_face_is_warned_of(client: FlaskClient) -> None:
    found = ask(client, body(fastener={**OAK["fastener"], "thread": 45}))
    assert found["answer"]["left_under_face"] == pytest.approx(5.0)
    assert "thin-under-show-face" in {note["code"] for note in found["notes"]}


def test_fixing_all_solid_is_told_with_what_gives_first(client: FlaskClient) -> None:
    found = ask(client, body(spread="sampled"))["answer"]["fixed_solid"]
    assert found["first"] in {"the wood splits", "the fixings give way sideways"}
    assert found["force"]["low"] < found["force"]["value"] < found["force"]["high"]
    assert found["force"]["value"] < found["force_without_set"]["value"]


def test_every_fault_comes_back_at_once(client: FlaskClient) -> None:
    wrong = body(positions=[50, -4], fastener={"kind": "rivet", "diameter": 8, "thread": 25})
    assert {"/positions/1", "/fastener/kind"} <= pointers(client, wrong)
    assert pointers(client, body(moisture_range=None)) == {""}
    both = body(room={"temperature": 20, "relative_humidity": 40})
    assert pointers(client, both) == {""}


def test_what_lies_off_the_slab_is_refused(client: FlaskClient) -> None:
    assert pointers(client, body(positions=[50, 700], fixed_at=650)) == {
        "/positions/1",
        "/fixed_at",
    }
    assert pointers(client, body(recess=50)) == {"/recess"}
    upside_down = {"driest": 12, "dampest": 6}
    assert pointers(client, body(moisture_range=upside_down)) == {"/moisture_range/driest"}
    short_hole = {**OAK["fastener"], "depth": 20}
    assert pointers(client, body(fastener=short_hole)) == {"/fastener/depth"}


def test_the_text_tells_what_to_fix_and_takes_care(client: FlaskClient) -> None:
    told = client.post("/v1/fixings?format=text&detail=full", json=OAK).text
    assert told.startswith("Fix the point at 300 mm and slot the others")
    for word in ("licensed engineer", "local codes", "Keep people, glass and stone", "kg ("):
        assert word in " ".join(told.split())


def test_the_table_has_a_row_a_fixing(client: FlaskClient) -> None:
    rows = client.post("/v1/fixings?format=csv", json=OAK).text.splitlines()
    assert rows[0].startswith("across [mm],moves_in [mm]")
    assert len(rows) == 4


def test_a_hole_near_the_show_face_is_said_in_the_first_sentences(client: FlaskClient) -> None:
    thin = body(slab={**OAK["slab"], "thickness": 30})
    found = ask(client, thin)
    assert found["answer"]["left_under_face"] == pytest.approx(5.0)
    told = " ".join(client.post("/v1/fixings?format=text", json=thin).text.split("\n\n")[0].split())
    assert "Only 5.0 mm is left under the show face" in told
    through = body(slab={**OAK["slab"], "thickness": 25})
    first = client.post("/v1/fixings?format=text", json=through).text.split("\n\n")[0]
    assert "comes out of the show face" in " ".join(first.split())
    # Notes are read with either rule.
    message = next(n["message"] for n in found["notes"] if n["code"] == "thin-under-show-face")
    assert "5.0 mm (0.2 in)" in message


def test_where_no_fixing_stands_on_the_fixed_line_none_is_told_to_be_fixed(
    client: FlaskClient,
) -> None:
    told = client.post("/v1/fixings?format=text", json=body(positions=[100, 500])).text
    first = " ".join(told.split("\n\n")[0].split())
    assert first.startswith("No fixing stands at 300 mm")
    assert "Fix the point" not in first
    pinned = client.post(
        "/v1/fixings?format=text", json=body(positions=[100, 500], fixed_at=100)
    ).text
    assert pinned.startswith("Fix the point at 100 mm and slot the others")


def test_the_pilot_hole_s_advice_and_the_force_a_fixing_yields_at_are_told(
    client: FlaskClient,
) -> None:
    lag = {"kind": "lag_screw", "diameter": 8, "thread": 35}
    path = "/v1/fixings?format=text&detail=full"
    told = " ".join(client.post(path, json=body(fastener=lag)).text.split())
    assert "soap or wax it" in told
    solid = ask(client, body(fastener=lag))["answer"]["fixed_solid"]
    assert f"yields sideways at about {solid['fixing_yields']:.0f} N" in told


def test_every_code_of_a_pilot_hole_a_yield_or_what_gives_first_has_its_words() -> None:
    assert set(FIRST) == set(get_args(First))
    pilots = {
        fasteners.place(Fastener(kind, 0.008, 0.04), gravity).pilot_note
        for kind, gravity in product(get_args(Kind), (0.3, 0.55, 0.8))
    }
    assert pilots == set(PILOT)
    modes = {
        restraint.lateral_yield(diameter, 0.75 * diameter, length, gravity, plate)[1]
        for diameter, length, gravity, plate in product(
            (0.001, 0.004, 0.012, 0.030),
            (0.003, 0.02, 0.25),
            (0.15, 0.5, 1.2),
            (0.0005, 0.005, 0.1),
        )
    }
    assert modes == set(YIELDS)
