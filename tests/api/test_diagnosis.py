"""`/v1/diagnosis`: the hand's moisture, causes, what is to come, refusals and words."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from flask.testing import FlaskClient

from api.words import diagnosis as words
from model.answers.diagnosis.causes import PARTS
from model.answers.diagnosis.diagnose import Otherwise
from model.answers.diagnosis.measure import MEASURINGS
from model.answers.diagnosis.stories import CAUSES, Lying
from model.answers.diagnosis.to_come import Doing
from tests.api.asking import Asking

WOOD = {"radial": 4.6, "tangential": 8.9, "specific_gravity": 0.6}
BENCH: dict[str, Any] = {
    "units": "metric",
    "slab": {
        "species": "American elm",
        "width": 860,
        "thickness": 50,
        "length": 2400,
        "grain": "flat",
    },
    "width_after": 852,
    "moisture": {
        "depths": [
            {"depth": 10, "moisture": 8},
            {"depth": 25, "moisture": 11},
            {"depth": 40, "moisture": 12.5},
        ]
    },
    "cup": {"amount": 11, "shape": "edges up"},
    "room": {"temperature": 20, "relative_humidity": 35},
    "days": 45,
    "faces": {"top": "bare", "bottom": "closed"},
}


ASKING = Asking("diagnosis", BENCH)
body, ask, pointers = ASKING.body, ASKING.ask, ASKING.pointers


def test_a_wide_slab_that_lost_4_percent_drying_to_8_was_near_20(client: FlaskClient) -> None:
    # By hand for 8.9 % tangential: 30 (1 - (1 - 0.93473/0.96)/0.089) = 21.1 %.  The pith 5 m off:
    # the rings are straight, but for a third of a percent.
    asked = {
        "units": "metric",
        "slab": {"species": WOOD, "width": 1000, "thickness": 50, "pith": {"below": 5000}},
        "width_after": 960,
        "moisture": 8,
        "spread": "none",
    }
    found = ask(client, asked)["answer"]
    assert found["before"] == pytest.approx(21.1, abs=0.05)
    assert found["width_lost"] == pytest.approx(4.0)
    text = client.post("/v1/diagnosis?format=text", json=asked).text
    assert text.startswith("By the shrinkage formula it was at 21 % before")


def test_bolts_out_of_line_tell_the_same_as_the_width(client: FlaskClient) -> None:
    slab = {"species": WOOD, "width": 1000, "thickness": 50, "ring_angle": 0}
    asked = {"units": "metric", "slab": slab, "moisture": 8, "spread": "none"}
    by_width = ask(client, {**asked, "width_after": 970})["answer"]["before"]
    bolts = {"out_of_line": 9, "distance": 300}
    assert ask(client, {**asked, "fixings": bolts})["answer"]["before"] == by_width


def test_a_slab_on_a_bench_is_bent_by_its_unlike_faces(client: FlaskClient) -> None:
    found = ask(client, BENCH)["answer"]
    assert found["main"] == "uneven_faces"
    first = found["causes"][0]
    assert first["cause"] == "uneven_faces"
    assert first["chance"] >= 85.0
    assert {one["cause"] for one in found["causes"]} == set(CAUSES)
    part = found["parts"][0]
    assert part["part"] == "uneven_faces"
    assert part["share"]["low"] < part["share"]["value"] < part["share"]["high"]
    assert {one["part"] for one in found["parts"]} == set(PARTS)
    assert found["alternatives"] == []
    options = [one["what"] for one in found["still_to_come"]]
    assert options[:2] == ["left as it is", "turned over"]


def test_faces_not_told_are_weighed(client: FlaskClient) -> None:
    found = ask(client, body(faces=None))
    assert found["answer"]["lying"]["how"] == "lying on its bottom face"
    assert found["answer"]["lying"]["chance"] > 80.0
    assert "faces-guessed" in {note["code"] for note in found["notes"]}


def planed(**changes: Any) -> dict[str, Any]:
    asked = body(
        cup={"amount": 4, "shape": "edges up"},
        moisture=9,
        width_after=850,
        faces={"top": "bare", "bottom": "bare"},
        dress={"top": 6},
    )
    asked["slab"] = {**asked["slab"], "grain": "quarter"}
    return {**asked, **changes}


def test_what_cannot_be_told_is_said_with_what_would_tell(client: FlaskClient) -> None:
    found = ask(client, planed())
    assert found["answer"]["main"] is None
    assert "cannot-tell" in {note["code"] for note in found["notes"]}
    assert {"when", "strip"} & {one["what"] for one in found["answer"]["measure"][:2]}
    text = client.post("/v1/diagnosis?format=text", json=planed()).text
    assert "Can't tell yet what moved it" in text.replace("\n", " ")


def test_when_the_cup_came_decides_between_stress_and_moisture(client: FlaskClient) -> None:
    at_once = planed(seen=[{"day": 1, "cup": {"amount": 4, "shape": "edges up"}}])
    later = planed(seen=[{"day": 1, "flat": True}])
    assert ask(client, at_once)["answer"]["causes"][0]["cause"] == "locked_in_stress"
    assert ask(client, later)["answer"]["causes"][0]["cause"] == "wet_core"


def test_a_strip_and_a_key_are_told_in_figures(client: FlaskClient) -> None:
    asked = body(
        ripped_strip={"length": 2000, "breadth": 25, "bow": 8},
        keys={"length": 120, "waist": 30, "wing": 60, "thickness": 20, "species": "black walnut"},
        spread="none",
    )
    found = ask(client, asked)["answer"]
    # 8 x 0.008/2^2 x 0.025 = 4.0e-4.
    assert found["ripped_strip"]["strain"] == pytest.approx(400.0)
    assert found["key_force"]["low"] < found["key_force"]["value"]


def test_stays_tell_the_same_as_one_room(client: FlaskClient) -> None:
    one = body(spread="none")
    stays = [{"room": one["room"], "days": 45, "faces": one["faces"]}]
    many = body(room=None, days=None, faces=None, stays=stays, spread="none")
    assert ask(client, one)["answer"] == ask(client, many)["answer"]


def test_dates_and_a_climate_go_together(client: FlaskClient) -> None:
    asked = body(days=None, room={"climate": "Duluth, MN", "heat_to": 20}, spread="none")
    asked |= {"from_date": "2026-01-10", "to_date": "2026-02-24"}
    assert ask(client, asked)["answer"]["before"] > 10.0
    asked = body(room={"climate": "Duluth, MN", "heat_to": 20})
    assert pointers(client, asked) == {"/from_date"}


def test_cautions_speak_of_the_saw_and_of_weight(client: FlaskClient) -> None:
    text = " ".join(ask(client, body(spread="none"))["cautions"])
    assert "riving knife" in text
    assert "overhead" in text
    assert "hoist" in text


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"width_after": None, "cup": None}, {""}),
        ({"room": None}, {""}),
        ({"days": None}, {""}),
        ({"days": 20_000}, {"/days"}),
        ({"width_after": 400}, {"/width_after"}),
        ({"fixings": {"out_of_line": 9, "distance": 300}}, {""}),
        ({"cup": {"amount": 11, "shape": "hollow"}}, {"/cup/shape"}),
        ({"cup": {"amount": 90, "shape": "edges up"}}, {"/cup/amount"}),
        ({"moisture": 55}, {"/moisture"}),
        ({"moisture_before": 90}, {"/moisture_before"}),
        ({"seen": [{"day": 90, "flat": True}]}, {"/seen/0/day"}),
        ({"seen": [{"day": 9}]}, {"/seen/0"}),
        ({"dress": {"top": 30, "bottom": 30}}, {"/dress"}),
        ({"ripped_strip": {"length": 500, "breadth": 25, "bow": 100}}, {"/ripped_strip/bow"}),
        ({"stays": [{"room": BENCH["room"], "days": 9}]}, {""}),
        ({"faces": {"top": "wet"}}, {"/faces/top"}),
        ({"moisture": 0.08}, {"/moisture"}),
        (
            {"fixings": {"out_of_line": 90, "distance": 300}, "width_after": None},
            {"/fixings/out_of_line"},
        ),
    ],
)
def test_impossible_questions_are_refused_where_they_stand(
    client: FlaskClient, changes: dict[str, Any], expected: set[str]
) -> None:
    assert pointers(client, body(**changes)) == expected


def test_a_history_too_long_for_one_answer_is_refused_clearly(client: FlaskClient) -> None:
    # 3 mm of wood follow every change of the air: twenty years of them are too many steps.
    slab = {**BENCH["slab"], "thickness": 3}
    asked = body(slab=slab, days=None, room={"climate": "Duluth, MN", "heat_to": 20}, moisture=8,
                 faces=None)  # fmt: skip
    asked |= {"from_date": "2006-01-10", "to_date": "2026-01-08"}
    reply = client.post("/v1/diagnosis", json=asked)
    assert reply.status_code == 422
    assert "too big" in reply.get_json()["detail"]


STAY = {"room": BENCH["room"], "days": 20}


def test_faults_of_a_stay_stand_where_it_is_told_and_all_at_once(client: FlaskClient) -> None:
    stays = [
        {"days": 9, "faces": {"top": "wet"}},
        {**STAY, "dress": {"top": 30}},
        {**STAY, "dress": {"bottom": 30}},
    ]
    asked = body(room=None, days=None, faces=None, stays=stays)
    asked |= {"cup": {"amount": 90, "shape": "edges up"}, "width_after": 400}
    assert pointers(client, asked) == {
        "/stays/0/room",
        "/stays/0/faces/top",
        "/stays/2/dress",
        "/cup/amount",
        "/width_after",
    }


LOG = {
    "time": [f"2026-01-{day:02d}T06:00:00Z" for day in (8, 18, 28)],
    "temperature": [20, 20, 20],
    "relative_humidity": [45, 40, 35],
}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"room": {"log": LOG}, "days": 30}, {"/room"}),
        ({"room": {"log": LOG}, "days": 9, "from_date": "2025-12-01"}, {"/room"}),
        ({"next_room": {"log": LOG}}, {"/next_room/log"}),
        ({"next_room": {"climate": "Duluth, MN", "heat_to": 20}}, {"/from_date"}),
        ({"finish": {"bottom": "wet"}}, {"/finish/bottom"}),
        ({"from_date": "2026-01-10", "to_date": "2026-01-10", "days": None}, {"/to_date"}),
        ({"moisture": {"depths": [{"depth": 60, "moisture": 9}]}}, {"/moisture/depths/0/depth"}),
        ({"moisture": {"shell": 9, "core": 45}}, {"/moisture"}),
    ],
)
def test_logs_dates_finishes_and_depths_that_cannot_be_are_refused(
    client: FlaskClient, changes: dict[str, Any], expected: set[str]
) -> None:
    assert pointers(client, body(**changes)) == expected


def test_a_log_is_followed_from_the_day_it_is_asked_from(client: FlaskClient) -> None:
    # Nothing measured but what it was before: moisture today goes by the air.
    slab = {**BENCH["slab"], "thickness": 10}
    asked = body(slab=slab, room={"log": LOG}, days=15, spread="none", moisture_before=12)
    # The rings of so wide and thin a slab cup some 12 mm in drying by four points.
    asked |= {"cup": {"amount": 12, "shape": "edges up"}}
    del asked["moisture"], asked["width_after"]
    first = ask(client, asked | {"from_date": "2026-01-09"})["answer"]["now"]
    # Four days later in the same log the air is drier.
    assert ask(client, asked | {"from_date": "2026-01-13"})["answer"]["now"] < first - 0.1


def test_no_history_leaves_out_what_it_alone_tells(client: FlaskClient) -> None:
    asked = body(room=None, days=None, faces=None, cup=None, moisture=8)
    reply = ask(client, asked)
    assert list(reply["answer"]) == ["before", "width_lost", "by_formula"]
    assert reply["answer"]["before"] == reply["answer"]["by_formula"]
    assert [note["code"] for note in reply["notes"]] == ["no-history"]
    table = client.post("/v1/diagnosis?format=csv", json=asked).text
    assert table.startswith("before [%],before_low [%],before_high [%]\n")
    grown = client.post("/v1/diagnosis", json=asked | {"width_after": 1000, "moisture": 2})
    assert grown.status_code == 422
    assert "no moisture fits" in grown.get_json()["errors"][0]["detail"]


def test_the_table_has_a_cup_for_each_thing_done(client: FlaskClient) -> None:
    table = client.post("/v1/diagnosis?format=csv", json=body(spread="none")).text.splitlines()
    assert table[0] == (
        "day [d],cup_left_as_it_is [mm],cup_turned_over [mm],cup_both_faces_opened [mm],"
        "cup_both_faces_finished_alike [mm]"
    )
    assert len(table) == 55  # a row a week and the end of the year


def test_notes_of_a_stay_point_to_it(client: FlaskClient) -> None:
    stays = [{**STAY, "faces": {"top": "bare", "bottom": "oiled"}}]
    found = ask(client, body(room=None, days=None, faces=None, stays=stays, spread="none"))
    assert "/stays/0/faces/bottom" in {note["pointer"] for note in found["notes"]}
    assert any("Rags" in caution for caution in found["cautions"])


def test_a_gap_at_a_wall_tells_the_same_as_the_width(client: FlaskClient) -> None:
    plain = body(spread="none", width_after=852)
    by_edge = body(spread="none", width_after=None, gap={"before": 2, "after": 10,
                   "held_at": "other_edge"})  # fmt: skip
    half = body(spread="none", width_after=None, gap={"before": 2, "after": 6})
    lost = ask(client, plain)["answer"]["width_lost"]
    assert ask(client, by_edge)["answer"]["width_lost"] == pytest.approx(lost)
    assert ask(client, half)["answer"]["width_lost"] == pytest.approx(lost)
    assert pointers(client, body(gap={"before": 2, "after": 6})) == {""}
    assert pointers(client, body(width_after=None, gap={"before": 0, "after": 150})) == {"/gap"}


def test_errors_of_tape_cup_and_meter_widen_what_is_told(client: FlaskClient) -> None:
    def band(**changes: Any) -> float:
        before = ask(client, body(**changes))["answer"]["before"]
        return float(before["high"] - before["low"])

    fine = band(errors={"tape": 0.2, "cup": 0.2, "meter": 0.3})
    assert band(errors={"tape": 5, "cup": 5, "meter": 3}) > 1.3 * fine
    assert pointers(client, body(errors={"meter": 40})) == {"/errors/meter"}


def chance(reply: dict[str, Any], cause: str) -> float:
    causes = reply["answer"]["causes"]
    return float(next(one["chance"] for one in causes if one["cause"] == cause))


def test_what_else_was_seen_moves_the_chances(client: FlaskClient) -> None:
    asked = body(faces={"top": "bare", "bottom": "bare"}, moisture=7.5, days=200)
    plain = ask(client, asked)
    solid = ask(client, {**asked, "looks": {"fixed": "solid", "torn": "outer"}})
    assert chance(solid, "fixed_solid") > chance(plain, "fixed_solid") + 10.0
    free = ask(client, {**asked, "looks": {"fixed": "free"}})
    assert chance(free, "fixed_solid") == 0.0
    sprung = {"flattened": {"amount": 15, "shape": "edges up"}}
    told = ask(client, {**asked, "looks": sprung})
    assert chance(told, "springback") > chance(plain, "springback") + 10.0


def test_end_grain_tells_of_the_room(client: FlaskClient) -> None:
    # The room holds 6.8 % by the hygrometer; end grain at 4 says that it is drier.
    asked = body(faces={"top": "bare", "bottom": "bare"}, moisture=6, days=200, width_after=845)
    dry = ask(client, {**asked, "looks": {"end_grain": 4}})
    as_told = ask(client, {**asked, "looks": {"end_grain": 7.5}})
    assert chance(dry, "room_not_as_told") > chance(as_told, "room_not_as_told")


def test_what_does_not_fit_is_tried_otherwise_and_told(client: FlaskClient) -> None:
    # It grew by 12 mm while it dried: the width is wrong, or the slab slid.
    reply = ask(client, body(width_after=872, moisture=7, moisture_before=14))
    assert reply["answer"]["main"] is None
    assert reply["answer"]["misfit"] > 2.0
    assert "width_wrong" in {one["what"] for one in reply["answer"]["alternatives"]}
    codes = {note["code"] for note in reply["notes"]}
    assert {"does-not-fit", "fits-otherwise"} <= codes


def test_every_code_has_its_words() -> None:
    assert set(words.CAUSES) == set(words.CAUSES_SHORT) == set(CAUSES)
    assert set(words.PARTS) == set(PARTS)
    assert set(words.OTHERWISE) == set(get_args(Otherwise))
    assert set(words.LYINGS) == set(get_args(Lying))
    assert set(words.DOINGS) == set(get_args(Doing))
    assert set(words.MEASURINGS) == set(MEASURINGS)
