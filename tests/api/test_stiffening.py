"""`/v1/stiffening`: bars, frames and keys asked for over the wire."""

from __future__ import annotations

from itertools import product
from typing import Any, get_args

import pytest
from flask.testing import FlaskClient

from api.words.holding import VERDICT, WEAKEST
from model.behaviour import keys as butterfly
from model.behaviour.anchorage import Verdict
from model.behaviour.keys import Key
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
    "moisture": 12,
    "faces": {"top": "bare", "bottom": "closed"},
    "room": {"temperature": 20, "relative_humidity": 35},
    "bars": {
        "section": "flat",
        "width": 40,
        "height": 10,
        "count": 6,
        "fixings": [50, 300, 550],
        "fastener": {"kind": "threaded_insert", "diameter": 12, "thread": 25},
    },
}

ASKING = Asking("stiffening", OAK)
body, ask, pointers = ASKING.body, ASKING.ask, ASKING.pointers
KEYS: dict[str, Any] = {
    "length": 100,
    "waist": 20,
    "wing": 50,
    "thickness": 20,
    "species": "black walnut",
    "count": 3,
    "check_length": 600,
}


def bars(**changes: Any) -> dict[str, Any]:
    made = {**OAK["bars"], **changes}
    return {name: value for name, value in made.items() if value is not None}


def test_bars_lessen_the_cup_and_their_section_is_told(client: FlaskClient) -> None:
    found = ask(client, OAK)
    cup, bar = found["answer"]["cup"], found["answer"]["bars"]
    assert cup["free"]["shape"] == "edges up"
    assert cup["at_bars"]["amount"] < cup["between_bars"]["amount"] < cup["free"]["amount"]
    # 40 x 10 mm: 400 mm2, 40 x 10^3/12 = 3333 mm4 (hand).
    assert bar["area"] == pytest.approx(400.0)
    assert bar["second_moment"] == pytest.approx(3333.3, rel=1e-3)
    assert found["units"]["bars.second_moment"] == "mm4"


@pytest.mark.parametrize(
    "section",
    [
        {"section": "angle", "height": 40, "wall": 4},
        {"section": "channel", "height": 20, "wall": 4, "slot": 9},
        {"section": "channel", "height": 20, "wall": 4, "legs": "into", "recess": 20},
        {"section": "tee", "height": 40, "wall": 4, "material": "aluminium"},
        {"section": "timber", "height": 40, "species": "white ash"},
        {"section": "flat", "height": 20, "material": "wood", "species": "white oak"},
    ],
)
def test_every_section_is_answered(client: FlaskClient, section: dict[str, Any]) -> None:
    found = ask(client, body(bars=bars(**section)))["answer"]
    assert found["cup"]["between_bars"]["amount"] < found["cup"]["free"]["amount"]
    assert (found["bars"]["groove_loss"] > 0.0) == ("recess" in section)


def test_a_cabinet_given_by_its_figures_may_tear_loose(client: FlaskClient) -> None:
    cabinet = {
        "second_moment": "200000mm4",
        "modulus": "11000MPa",
        "area": "4000mm2",
        "count": 4,
        "fixings": [50, 550],
        "fastener": {"kind": "wood_screw", "diameter": 3.5, "thread": 8},
    }
    found = ask(client, body(bars=cabinet))["answer"]["pull"]
    assert found["verdict"] in {"holds without margin", "may tear loose", "will tear loose"}
    told = client.post("/v1/stiffening?format=text", json=body(bars=cabinet)).text
    assert "tear" in told.split("Largest cup")[0]


def test_the_rule_by_hand_stands_beside_the_pull_and_is_the_least(client: FlaskClient) -> None:
    pull = ask(client, OAK)["answer"]["pull"]
    assert pull["largest"] > 0.9 * pull["by_rule"]
    assert pull["by_point"][1] < 0.2 * pull["by_point"][0]


def test_a_limit_gives_the_number_bars(client: FlaskClient) -> None:
    stiff = bars(width=12, height=40)
    found = ask(client, body(bars=stiff, limit=2, spread="sampled"))["answer"]["needed"]
    assert 1 <= found["bars"] <= found["bars_careful"]
    assert found["spacing"] == pytest.approx(1800 / found["bars"], abs=0.01)
    weak = ask(client, body(bars=bars(width=3, height=1), limit=0.2))["answer"]["needed"]
    assert weak["bars"] is None


def test_a_solid_fixing_is_told_beside_the_slotted(client: FlaskClient) -> None:
    solid = ask(client, OAK)["answer"]["fixed_solid"]
    assert solid["wood_index"] > 1.0
    assert solid["force"] < solid["force_without_set"]
    assert "key_index" not in solid
    keyed = ask(client, body(keys={**KEYS, "count": 1}))["answer"]["fixed_solid"]
    assert keyed["first"] == "the keys shear"


def test_keys_alone_are_answered_and_say_what_they_cannot_do(client: FlaskClient) -> None:
    asked = body(bars=None, keys=KEYS)
    found = ask(client, asked)
    keys = found["answer"]["keys"]
    # 2 x 9.45 MPa x 50 x 20 mm = 18.9 kN (hand, walnut shear of Wood Handbook Table 5-3).
    assert keys["capacity"]["wing_shear"] == pytest.approx(18_900.0, rel=5e-3)
    assert keys["capacity"]["allowable"] == pytest.approx(keys["capacity"]["clear"] / 4.5, rel=2e-3)
    said = {note["code"]: note["message"] for note in found["notes"]}
    assert "does not stop the wood from drying" in said["key-ties-only"]
    told = client.post("/v1/stiffening?format=text", json=asked).text
    assert "do not stop the wood from drying" in " ".join(told.split())


def test_a_key_of_the_wrong_grain_is_told(client: FlaskClient) -> None:
    found = ask(client, body(bars=None, keys={**KEYS, "grain": "along"}))
    assert found["answer"]["keys"]["weakest"] == "the key parts at its waist"
    assert "key-grain" in {note["code"] for note in found["notes"]}


def test_figures_carry_their_spread(client: FlaskClient) -> None:
    found = ask(client, body(spread="sampled", keys={**KEYS, "held": "flat"}))["answer"]
    for figure in (
        found["cup"]["free"]["amount"],
        found["moment"]["largest"],
        found["pull"]["largest"],
        found["fixed_solid"]["force"],
        found["keys"]["demand"],
    ):
        assert figure["low"] < figure["value"] < figure["high"]


def test_what_does_not_fit_is_refused(client: FlaskClient) -> None:
    assert pointers(client, body(bars=None)) == {""}
    assert pointers(client, body(bars=bars(along=[100]))) == {"/bars"}
    off = bars(count=None, along=[100, 1900], fixings=[50, 650])
    assert pointers(client, body(bars=off)) == {"/bars/along", "/bars/fixings"}
    assert pointers(client, body(bars=bars(recess=60, height=80))) == {"/bars/recess"}
    assert pointers(client, body(bars=bars(section="tee"))) == {"/bars"}
    thick = bars(section="channel", wall=25)
    assert pointers(client, body(bars=thick)) == {"/bars/wall"}
    timber = bars(section="timber")
    assert pointers(client, body(bars=timber)) == {"/bars/species"}
    short = {name: value for name, value in OAK["slab"].items() if name != "length"}
    assert pointers(client, body(slab=short)) == {"/slab/length"}
    keys = {**KEYS, "wing": 15, "thickness": 20}
    assert pointers(client, body(keys=keys)) == {"/keys/wing"}
    assert pointers(client, body(keys={**KEYS, "thickness": 60})) == {"/keys/thickness"}
    assert pointers(client, body(bars=None, keys=KEYS, limit=2)) == {"/limit"}


def test_the_text_decides_and_takes_care(client: FlaskClient) -> None:
    told = " ".join(client.post("/v1/stiffening?format=text&detail=full", json=OAK).text.split())
    assert told.startswith("With 6 bars in slots the slab cups")
    for word in ("licensed engineer", "Clamps", "people, glass and stone", "hoist"):
        assert word in told


def test_the_series_opens_as_a_table(client: FlaskClient) -> None:
    rows = client.post("/v1/stiffening?format=csv", json=OAK).text.splitlines()
    assert rows[0] == (
        "day [d],date,cup_free [mm],cup_at_bars [mm],cup_between_bars [mm],moment [N m]"
    )
    assert len(rows) > 20


def test_a_slab_cupped_beyond_the_limit_is_not_said_to_need_no_bars(client: FlaskClient) -> None:
    asked = body(
        cup={"amount": 6, "shape": "edges up"}, limit=3, bars={**OAK["bars"], "shimmed": True}
    )
    found = ask(client, asked)
    assert found["answer"]["needed"]["bars"] is None
    assert "cupped-beyond-the-limit" in {note["code"] for note in found["notes"]}
    told = " ".join(client.post("/v1/stiffening?format=text", json=asked).text.split())
    assert "It is cupped by more than 3 mm today" in told


def test_a_frame_known_by_its_stiffness_has_no_stress_told_as_nought(client: FlaskClient) -> None:
    frame = {"second_moment": "4e5mm4", "modulus": "200GPa", "area": "800mm2", "count": 3}
    found = ask(client, body(bars=frame))["answer"]
    assert found["bars"]["largest_stress"] is None
    told = client.post("/v1/stiffening?format=text&detail=full", json=body(bars=frame)).text
    assert "stress in the bar" not in told


def test_a_solid_fixing_s_force_is_told_with_what_it_yields_at(client: FlaskClient) -> None:
    solid = ask(client, OAK)["answer"]["fixed_solid"]
    assert solid["fixing_yields"] < solid["force"]
    told = " ".join(client.post("/v1/stiffening?format=text&detail=full", json=OAK).text.split())
    assert "if nothing gave" in told
    assert f"yields sideways at about {solid['fixing_yields']:.0f} N" in told


def test_keys_that_give_way_are_said_to_let_the_check_open(client: FlaskClient) -> None:
    boxed = {**OAK["slab"], "pith": {"below": -10}}
    del boxed["grain"]
    keys = body(bars=None, slab=boxed, keys={**KEYS, "held": "flat"})
    found = ask(client, keys)["answer"]["keys"]
    assert found["index"] > 1.0
    assert found["verdict"] == "will tear loose"
    assert 0.5 < found["opening"] < 4.0
    told = " ".join(client.post("/v1/stiffening?format=text", json=keys).text.split())
    assert "which lets the check open, by " in told
    assert "Do not both key a slab with its heart in it and hold it flat" in told
    # Free, the same keys bear a tenth of what the rings ask; faces that dry first pull at both.
    free = ask(client, {**keys, "keys": KEYS})["answer"]["keys"]
    assert free["by_drying"] < 0.3 * found["by_drying"]


def test_the_chart_takes_care_too(client: FlaskClient) -> None:
    for asked in (OAK, body(bars=None, keys=KEYS)):
        told = client.post("/v1/stiffening?format=svg", json=asked).text
        assert "licensed engineer" in told


def test_the_number_of_bars_is_told_with_how_far_apart_they_lie(client: FlaskClient) -> None:
    on_edge = bars(width=12, height=40)
    asked = body(bars=on_edge, limit=3)
    needed = ask(client, asked)["answer"]["needed"]
    assert needed["bars"] == needed["bars_careful"] > 1
    told = " ".join(client.post("/v1/stiffening?format=text", json=asked).text.split())
    assert f"{needed['bars']} to be careful, {needed['spacing']:.0f} mm apart." in told


def test_every_code_of_a_verdict_or_a_weakest_part_has_its_words() -> None:
    assert set(VERDICT) == set(get_args(Verdict))
    oak, balsa = species.find("white oak"), species.from_figures(3.0, 6.0, 0.16)
    found = {
        butterfly.capacity(Key(length, waist, 0.08, 0.02, own, across), slab, 0.6).weakest
        for length, waist, own, slab, across in product(
            (0.01, 0.3), (0.004, 0.079), (oak, balsa), (oak, balsa), (True, False)
        )
    }
    assert found == set(WEAKEST)
