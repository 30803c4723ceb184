"""Members that belong together, and those that don't: each told soundly and unsoundly."""

from __future__ import annotations

import copy
import datetime
from typing import Any, Final

import pytest
from marshmallow import ValidationError

from api.problems import Refused
from api.questions import BY_NAME
from api.shapes.evidence import deeper, meter
from api.shapes.moisture import misplaced, moisture_of
from model.behaviour import slab as wood
from model.properties.meters import OvenDry, Pin, Surface
from tests.api.test_met_and_passed import PIN, ROOM, SLAB, SOUND, faults

PLACE: Final = {"latitude": 47.5, "longitude": -90.9}
TWELVE: Final = [{"temperature": 20, "relative_humidity": 40}] * 12
MEAN: Final = {"value": 9, "low": 8, "high": 10}
PROFILE: Final = {"depth": [0, 25, 50], "moisture": [8, 10, 8], "low": [7, 9, 7],
                  "high": [9, 11, 9]}  # fmt: skip
TIMES: Final = ["2026-01-15T08:00:00Z", "2026-01-15T09:00:00Z"]
LOG: Final = {"time": TIMES, "temperature": [20, 20], "relative_humidity": [40, 41]}
BOARD: Final = {"weight": 1.0, "start_weight": 1.3, "section_moisture": 30}
SURFACE: Final = {"kind": "surface", "value": 9}

# question, member, a sound value, an unsound one, where the fault is, what it tells
TOLD: Final[list[tuple[str, str, Any, Any, str, str]]] = [
    ("reading", "readings/0", {"kind": "pin", "resistance": 1e6}, {"kind": "pin"},
     "/readings/0", "value and resistance: missing"),
    ("reading", "readings/0", {"kind": "pin", "value": 9},
     {"kind": "pin", "value": 9, "resistance": 1e6}, "/readings/0", "both given"),
    ("reading", "readings/0",
     {"value": 9, "meter_intercept": 1.0, "meter_rate": -0.04},
     {"value": 9, "meter_rate": -0.04}, "/readings/0", "belong together"),
    ("reading", "readings/0", {**SURFACE, "density_setting": 0.6}, {**SURFACE, "meter_a": 1.0},
     "/readings/0", "meter_a given for a surface meter"),
    ("reading", "readings/0", SURFACE, {"value": 9, "density_setting": 0.6}, "/readings/0",
     "density_setting given for a pin meter"),
    # The oven takes water away, and no wood holds more than 350 % of its own mass.
    ("reading", "oven_dry", [{"wet": 1.0, "dry": 1.0}], [{"wet": 1.0, "dry": 1.001}],
     "/oven_dry/0/dry", "1.001 kg given: heavier than wet, 1 kg"),
    ("reading", "oven_dry", [{"wet": 4.499, "dry": 1.0}], [{"wet": 4.501, "dry": 1.0}],
     "/oven_dry/0/wet", "more than 350 %"),
    ("reading", "oven_dry", [{"wet": 1.1, "dry": 1.0, "depth_from": 0, "depth_to": 50}],
     [{"wet": 1.1, "dry": 1.0, "depth_from": 0, "depth_to": 50.1}], "/oven_dry/0/depth_to",
     "50.1 mm given: the slab is 50 mm thick"),
    ("reading", "oven_dry", [{"wet": 1.1, "dry": 1.0, "depth_from": 20, "depth_to": 20}],
     [{"wet": 1.1, "dry": 1.0, "depth_from": 20.1, "depth_to": 20}], "/oven_dry/0/depth_from",
     "deeper than depth_to"),
    ("reading", "oven_dry", [{"wet": 1.1, "dry": 1.0}],
     [{"wet": 1.1, "dry": 1.0, "depth_from": 20}], "/oven_dry/0", "belong together"),
    # 1.3 kg at 30 %: 1 kg oven-dry.
    ("reading", "sample_boards", [BOARD], [{**BOARD, "weight": 0.999}], "/sample_boards/0/weight",
     "0.999 kg given: lighter than the board would be oven-dry, 1 kg"),
    ("reading", "sample_boards", [{**BOARD, "weight": 4.499}], [{**BOARD, "weight": 4.501}],
     "/sample_boards/0/weight", "4.501 kg given: more than 350 % moisture on 1 kg"),
    ("readiness", "readings/0", {"date": "2026-01-01", "weight": 40, "step": 0.1},
     {**PIN, "step": 0.1}, "/readings/0/step", "without weight"),
    ("readiness", "readings/0", {"date": "2026-01-01", "oven_dry": {"wet": 1.1, "dry": 1.0}},
     {"date": "2026-01-01", "weight": 40, "depth": 20}, "/readings/0", "has no use for depth"),
    ("readiness", "readings/0", PIN, {**PIN, "weight": 40}, "/readings/0", "value and weight"),
    ("readiness", "readings/0", PIN, {**PIN, "place": "end"}, "/readings/0/place", "`end` given"),
    ("readiness", "readings", [PIN, PIN], [PIN, {**PIN, "date": "2025-12-31"}],
     "/readings/1/date", "`2025-12-31` given: before the reading above it, 2026-01-01"),
    ("movement", "before", {"mean": MEAN, "profile": PROFILE}, {"mean": MEAN}, "/before",
     "incomplete"),
    ("movement", "before", {"shell": 8, "core": 10}, {"shell": 8, "core": 10, "unknown": "stack"},
     "/before", "shell and core and unknown given"),
    ("movement", "before", {"mean": {"value": 8, "low": 8, "high": 8}, "profile": PROFILE},
     {"mean": {"value": 7.9, "low": 8, "high": 8.2}, "profile": PROFILE}, "/before/mean",
     "between low and high"),
    ("movement", "before", {"mean": MEAN, "profile": {**PROFILE, "depth": [0, 25, 25.1]}},
     {"mean": MEAN, "profile": {**PROFILE, "depth": [0, 25, 25]}}, "/before/profile/depth",
     "depths rise"),
    ("movement", "before", {"mean": MEAN, "profile": {**PROFILE, "low": [9, 9, 7]}},
     {"mean": MEAN, "profile": {**PROFILE, "low": [9.1, 9, 7]}}, "/before/profile/low",
     "low is above high"),
    ("movement", "before", {"mean": MEAN, "profile": PROFILE},
     {"mean": MEAN, "profile": {**PROFILE, "low": [7, 9, 7, 7]}}, "/before/profile", "one length"),
    ("movement", "before", {"values": [{"value": 9, "depth": 50}]},
     {"values": [{"value": 9, "depth": 50.1}]}, "/before/values/0/depth", "50.1 mm given"),
    ("movement", "before", {"depths": [{"depth": 0, "moisture": 9}, {"depth": 50, "moisture": 9}]},
     {"depths": [{"depth": 0, "moisture": 9}, {"depth": 0, "moisture": 9}]},
     "/before/depths/1/depth", "0 mm given: depths rise"),
    ("movement", "before", {"temperature": 20, "relative_humidity": 50}, {"temperature": 20},
     "/before", "temperature alone"),
    ("movement", "before", {"shell": 8, "core": 9},
     {"temperature": 20, "relative_humidity": 50, "shell": 8}, "/before", "air and moisture"),
    ("course", "stays/0/faces", {"top": {"finish": "shellac", "coats": 3}},
     {"top": {"sd": 1, "coats": 3}}, "/stays/0/faces/top/coats", "without a finish"),
    ("course", "stays/0/faces", {"top": {"sd": 1}}, {"top": {"finish": "wet", "coats": 1}},
     "/stays/0/faces/top/coats", "wet face"),
    ("course", "stays/0/faces", {"top": {"warmer_by": 3}}, {"top": {"warmer_by": 3, "place":
     "closed_carcass"}}, "/stays/0/faces/top/warmer_by", "give one of them"),
    ("course", "stays/0/faces", {"top": {"place": "heated_floor"}},
     {"top": {"finish": "wet", "place": "heated_floor"}}, "/stays/0/faces/top/finish", "wet given"),
    ("course", "stays/0/faces", {"top": {"place": {"at": "sun_through_glass", "lit_hours": 3}}},
     {"top": {"place": {"at": "sun_through_glass"}}}, "/stays/0/faces/top/place/lit_hours",
     "missing"),
    ("course", "stays/0/faces", {"top": {"place": {"at": "heated_floor", "floor_temperature": 28}}},
     {"top": {"place": {"at": "heated_floor", "lit_hours": 3}}},
     "/stays/0/faces/top/place/lit_hours", "does not belong to heated_floor"),
    ("course", "stays/0/faces", {"top": {"place": "closed_carcass"}},
     {"top": {"place": "outer_wall"}}, "/stays/0/faces/top/place", "transmittance is missing"),
    ("course", "stays/0", {"room": ROOM, "from_date": "2026-01-01", "to_date": "2026-01-02"},
     {"room": ROOM, "from_date": "2026-01-02", "to_date": "2026-01-02"}, "/stays/0/to_date",
     "not later than from_date"),
    ("course", "stays/0", {"room": ROOM, "days": 1}, {"room": ROOM, "from_date": "2026-01-01"},
     "/stays/0", "how long it lasts is missing"),
    ("course", "stays/0", {"room": ROOM, "days": 1},
     {"room": ROOM, "days": 1, "to_date": "2026-01-01"}, "/stays/0", "days and to_date given"),
    ("course", "stays/0/room", {"months": TWELVE}, {"months": TWELVE, **ROOM}, "/stays/0/room",
     "more than one way"),
    ("course", "stays/0/room", PLACE, {"latitude": 47.5}, "/stays/0/room", "latitude alone"),
    ("course", "stays/0/room", {**PLACE, "elevation": 400},
     {"climate": "Duluth, MN", "elevation": 400}, "/stays/0/room", "elevation belongs"),
    ("course", "stays/0/room",
     {"outdoor": {"temperature": [5] * 12, "vapour_pressure": [500] * 12}},
     {"outdoor": {"temperature": [5] * 12}}, "/stays/0/room/outdoor", "beside temperature"),
    ("course", "stays/0/room", ROOM, {"temperature": 20}, "/stays/0/room", "temperature alone"),
    ("course", "stays/0/room", {"log": LOG},
     {"log": {**LOG, "time": [TIMES[0], TIMES[0]]}}, "/stays/0/room/log/time/1", "not later than"),
    ("course", "stays/0/room", {"log": LOG}, {"log": {**LOG, "temperature": [20, 20, 20]}},
     "/stays/0/room/log", "time has 2, temperature has 3, relative_humidity has 2"),
    ("course", "stays/0/room", {"log": LOG}, {"log": {"time": TIMES}}, "/stays/0/room/log",
     "missing: temperature, relative_humidity"),
    ("flattening", "plan", {"wet_face": "none", "clamped": True},
     {"wet_face": "none", "clamped": False}, "/plan/clamped", "neither wetted nor held"),
    ("flattening", "plan", {"wet_face": "round", "clamped": False},
     {"wet_face": "round", "clamped": False, "days": 9}, "/plan/clamped", "leave days"),
    ("flattening", "plan", {"wet_face": "round", "hours": 8}, {"hours": 8}, "/plan/wet_face",
     "hours given without wet_face"),
    ("stiffening", "limit", 3, None, "", ""),
    ("diagnosis", "fixings", None, {"out_of_line": 1, "distance": 300}, "",
     "width_after and fixings given"),
    ("diagnosis", "gap", None, {"before": 1, "after": 2}, "", "width_after and gap given"),
    ("diagnosis", "to_date", None, "2026-02-01", "", "days and to_date given"),
    ("diagnosis", "room", ROOM, None, "", "room is missing"),
    ("diagnosis", "days", 7310, 7310.1, "", "7310.1"),
    ("diagnosis", "seen", [{"day": 1, "flat": True}],
     [{"day": 1, "flat": True, "cup": {"amount": 1, "shape": "edges up"}}], "/seen/0",
     "cup and flat given"),
]  # fmt: skip


def test_members_are_told_together_or_not_at_all() -> None:
    wrong = []
    for question, path, sound, unsound, pointer, told in TOLD:
        if found := faults(question, path, sound):
            wrong.append((question, path, sound, found))
        if told:
            found = faults(question, path, unsound)
            if not any(at.startswith(pointer) and told in one for at, one in found.items()):
                wrong.append((question, path, unsound, found))
    assert not wrong


def test_a_cup_of_diagnosis_may_come_from_fixings_or_a_gap_alone() -> None:
    body = {"units": "metric", **copy.deepcopy(SOUND["diagnosis"])}
    del body["width_after"]

    def ratio(**told: Any) -> float:
        found: float = BY_NAME["diagnosis"].read({**body, **told}).told.made.width_ratio
        return found

    # 600 mm drawn in by 3 mm of the 300 mm from where it is held: a hundredth.
    assert ratio(fixings={"out_of_line": 3, "distance": 300}) == pytest.approx(0.99)
    # Held at its middle, half of the change shows at the wall; at its other edge all of it.
    assert ratio(gap={"before": 2, "after": 5}) == pytest.approx(1.0 - 6.0 / 600.0)
    other = {"before": 2, "after": 5, "held_at": "other_edge"}
    assert ratio(gap=other) == pytest.approx(1.0 - 3.0 / 600.0)
    moved = {**body, "fixings": {"out_of_line": 60, "distance": 300}}
    BY_NAME["diagnosis"].read(moved)
    with pytest.raises(Refused, match="fault"):
        BY_NAME["diagnosis"].read({**body, "fixings": {"out_of_line": 60.1, "distance": 300}})


def hourly(days: float, start: str = "2026-02-01T00:00:00+00:00") -> dict[str, Any]:
    first = datetime.datetime.fromisoformat(start)
    count = int(days * 4) + 1
    times = [(first + datetime.timedelta(hours=6 * n)).isoformat() for n in range(count)]
    return {"time": times, "temperature": [20] * count, "relative_humidity": [45] * count}


def test_a_history_lies_within_its_log() -> None:
    def told(days: float, **more: Any) -> dict[str, str]:
        body = {"units": "metric", **SOUND["diagnosis"], "room": {"log": hourly(10)}, "days": days}
        try:
            BY_NAME["diagnosis"].read({**body, **more})
        except Refused as refused:
            return {fault.pointer: fault.detail for fault in refused.faults}
        return {}

    assert told(10) == {}
    assert (
        "covers 10 days from its first reading; the stay runs from day 0 to 10.5"
        in (told(10.5)["/room"])
    )
    # By its date it begins on a day of the log; a day before is near enough.
    assert told(7, from_date="2026-02-04") == {}
    assert "from day 3 to 10.5" in told(7.5, from_date="2026-02-04")["/room"]
    assert told(7, from_date="2026-01-31") == {}
    assert "from day -2 to 5" in told(7, from_date="2026-01-30")["/room"]


REPAIR: Final = {"units": "metric", "slab": SLAB, "starts": "2026-01-20", "room": ROOM,
                 "seen": {"cup": {"amount": 5, "shape": "edges up"}}}  # fmt: skip


@pytest.mark.parametrize(
    ("sound", "unsound", "pointer", "told"),
    [
        ({"since": "2026-01-20"}, {"since": "2026-01-21"}, "/since", "1 days after starts"),
        ({"since": "2006-01-25"}, {"since": "2006-01-10"}, "/since", "7315 days before starts"),
        ({"wanted": {"by": "2026-01-20"}}, {"wanted": {"by": "2026-01-19"}}, "/wanted/by",
         "before starts"),
        ({"wanted": {"thickness": 50}}, {"wanted": {"thickness": 50.1}}, "/wanted/thickness",
         "50.1 mm given: the slab is 50 mm thick"),
        ({"done": {"planed_top": 10, "planed_bottom": 5}, "wanted": {"thickness": 35}},
         {"done": {"planed_top": 10, "planed_bottom": 5}, "wanted": {"thickness": 35.1}},
         "/wanted/thickness", "the slab is 35 mm thick"),
        ({"done": {"planed_top": 40, "planed_bottom": 8.9}},
         {"done": {"planed_top": 40, "planed_bottom": 9.2}}, "/done/planed_top",
         "would leave 0.8 mm"),
        ({"seen": {"cup": {"amount": 35.9, "shape": "edges up"}}},
         {"seen": {"cup": {"amount": 36.1, "shape": "edges up"}}}, "/seen/cup/amount",
         "36.1 mm given: more than 6 % of the width"),
        ({"seen": {"width_after": 480.1}}, {"seen": {"width_after": 479.9}},
         "/seen/width_after", "479.9 mm given, 600 mm before"),
        ({"seen": {"width_after": 719.9}}, {"seen": {"width_after": 720.1}},
         "/seen/width_after", "720.1 mm given"),
    ],
)  # fmt: skip
def test_a_story_that_cannot_be_is_refused(
    sound: dict[str, Any], unsound: dict[str, Any], pointer: str, told: str
) -> None:
    BY_NAME["repair"].read({**REPAIR, **sound})
    with pytest.raises(Refused) as refused:
        BY_NAME["repair"].read({**REPAIR, **unsound})
    [fault] = refused.value.faults
    assert fault.pointer == pointer
    assert told in fault.detail


def test_what_is_read_becomes_the_models_reading() -> None:
    assert meter(value=9.0) == Pin(value=9.0, place="top")
    assert meter(value=9.0, scale="species") == Pin(value=9.0, place="top", species_set=True)
    assert isinstance(meter(kind="surface", value=9.0), Surface)
    # An end or an edge may be read at any depth, a face only within the slab.
    assert deeper(Pin(value=9.0, place="end", depth=1.0), 0.05) == {}
    assert deeper(Pin(value=9.0, place="edge", depth=1.0), 0.05) == {}
    assert deeper(Pin(value=9.0, place="top", depth=0.05), 0.05) == {}
    assert "depth" in deeper(Pin(value=9.0, place="top", depth=0.051), 0.05)
    assert deeper(OvenDry(1.1, 1.0, 0.0, None, None), 0.05) == {}


def test_moistures_are_made_of_what_was_told() -> None:
    assert moisture_of(shell=8.0, core=10.0) == wood.ShellCore(8.0, 10.0)
    assert misplaced(wood.ShellCore(8.0, 10.0), 0.05) == {}
    assert misplaced(8.0, 0.05) == {}
    first = misplaced(wood.Depths((0.0,), (9.0,)), 0.05)
    assert first == {}


@pytest.mark.parametrize("name", ["Mars/Olympus", "", "x" * 300])
def test_a_zone_must_be_one(name: str) -> None:
    found = faults("course", "stays/0/room", {"log": {**LOG, "timezone": name}})
    assert "/stays/0/room/log/timezone" in found
    assert faults("course", "stays/0/room", {"log": {**LOG, "timezone": " UTC "}}) == {}


def test_a_csv_within_its_limits_is_read() -> None:
    def told(warm: float, damp: float) -> str:
        head = "time,temperature (°C),relative humidity (%)"
        rows = [f"2026-01-15 0{hour}:00,{warm},{damp}" for hour in (8, 9)]
        found = faults("course", "stays/0/room", {"log": {"csv": "\n".join([head, *rows])}})
        return "".join(found.values())

    assert told(20, 0) == told(20, 100) == ""
    assert "2 readings of relative humidity are not within 0 to 100, the first 100.1 at" in (
        told(20, 100.1)
    )
    assert "-0.1 at 2026-01-15 08:00" in told(20, -0.1)
    assert "2 readings of temperature are not within" in told(200, 50)


def test_faults_of_many_times_are_told_up_to_their_limit() -> None:
    from api import limits
    from api.shapes.log import Times

    with pytest.raises(ValidationError) as refused:
        Times("times").deserialize(["x"] * 60)
    assert len(refused.value.messages) == limits.FAULTS
    with pytest.raises(ValidationError, match="a list of 1 given"):
        Times("times").deserialize([TIMES[0]])
    assert len(Times("times").deserialize(",".join(TIMES))) == 2


def test_today_is_not_before_the_last_of_several_readings() -> None:
    later = [PIN, {**PIN, "date": "2026-01-05"}, {**PIN, "date": "2026-01-09"}]
    body = {"units": "metric", **SOUND["readiness"], "readings": later}
    assert BY_NAME["readiness"].read(body).told.made.as_of == datetime.date(2026, 1, 9)
    BY_NAME["readiness"].read({**body, "today": "2026-01-09"})
    with pytest.raises(Refused) as refused:
        BY_NAME["readiness"].read({**body, "today": "2026-01-08"})
    assert refused.value.faults[0].detail == (
        "`2026-01-08` given: before the last reading, 2026-01-09"
    )


def test_a_bar_told_by_its_figures_lies_on_the_slab_unless_told_otherwise() -> None:
    figures = {"second_moment": 1e5, "modulus": "200GPa", "area": 300}

    def bar(**more: Any) -> Any:
        body = {"units": "metric", **SOUND["stiffening"], "bars": {**figures, **more}}
        return BY_NAME["stiffening"].read(body).told.made.bars.bar

    assert bar() == bar(centroid=0)
    assert bar() != bar(centroid=10)
    steel = {"section": "flat", "width": 40, "height": 5}
    body = {"units": "metric", **SOUND["stiffening"]}

    def made(**more: Any) -> Any:
        asked = {**body, "bars": {**steel, **more}}
        return BY_NAME["stiffening"].read(asked).told.made.bars.bar

    assert made() == made(material="steel") == made(slot=0)
    assert made() != made(material="aluminium")
    timber = {"section": "timber", "species": "white oak"}
    assert made(**timber) == made(**timber, material="wood")
    assert made(**timber) != made(**timber, modulus="5GPa")


def test_what_does_not_go_together_is_told_beside_other_faults() -> None:
    for question, path, _, unsound, pointer, _ in TOLD:
        if pointer == f"/{path}" and isinstance(unsound, dict):
            found = faults(question, path, {**unsound, "zzz": 1})
            assert found.keys() >= {pointer, f"{pointer}/zzz"}, (question, path, found)
    rules: dict[str, dict[str, Any]] = {
        "air": {"relative_humidity": None},
        "equilibrium": {"moisture": 7},
        "reading": {"readings": None},
        "fixings": {"room": None},
        "flattening": {"plan": {"hours": 8}},
        "stiffening": {"bars": None, "limit": 3},
        "conditioning": {"slab": None},
        "diagnosis": {"days": None},
        "load": {},
    }
    for question, rule in rules.items():
        told_wrong = {"units": "metric", **SOUND[question], **rule, "zzz": 1}
        body = {name: value for name, value in told_wrong.items() if value is not None}
        with pytest.raises(Refused) as refused:
            BY_NAME[question].read(body)
        assert len(refused.value.faults) == 1 + bool(rule), (question, refused.value.faults)


def test_times_that_do_not_rise_are_told_beside_wrong_figures() -> None:
    log = {"time": [TIMES[1], TIMES[0]], "temperature": [20, 20], "relative_humidity": [40, 400]}
    found = faults("course", "stays/0/room", {"log": log})
    assert "not later than" in found["/stays/0/room/log/time/1"]
    assert "/stays/0/room/log/relative_humidity/1" in found
