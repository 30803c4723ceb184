"""Bad input: each refused with its place, what was given, the limit and the right form."""

from __future__ import annotations

import copy
from typing import Any

import orjson
import pytest
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from api.app import create_app
from api.problems import TYPES
from api.service import flattened
from api.settings import Settings
from tests.api.conftest import TABLE


def put(body: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    changed = copy.deepcopy(body)
    place = changed
    *parents, last = path.strip("/").split("/")
    for parent in parents:
        place = place.setdefault(parent, {})
    place[last] = value
    return changed


WRONG: list[tuple[str, Any, str, tuple[str, ...]]] = [
    # path, what is put there, pointer of the fault (or the same), words of the detail
    ("/slab/width", "34 kg", "",
     ("`34 kg`", "is a unit of mass", "mm, cm, m, in, ft", "34 1/2 in")),
    ("/slab/width", 34, "", ("34 given without a unit", "865mm", "units=metric", "units=us")),
    ("/slab/width", -3, "", ("without a unit",)),
    ("/slab/width", "-34in", "", ("`-34in`", "10 to 3000 mm")),
    ("/slab/width", "90000mm", "", ("10 to 3000 mm or 0.3938 to 118.1 in",)),
    ("/slab/width", None, "", ("null given",)),
    ("/slab/width", True, "", ("True given",)),
    ("/slab/width", [1, 2], "", ("not a figure",)),
    ("/slab/thickness", "0in", "", ("3 to 300 mm",)),
    ("/slab/species", "American elmm", "", ("American elmm", "american-elm", "/v1/species")),
    ("/slab/species", "oakk", "", ("near:", "oak", "white-oak")),
    ("/slab/species", 7, "", ("7 given",)),
    ("/slab/species", {"radial": 5, "specific_gravity": 0.6}, "/slab/species/tangential",
     ("missing",)),
    ("/slab/grain", "flatt", "", ("flat, rift, quarter",)),
    ("/slab/ring_angle", 80, "/slab", ("grain", "ring_angle")),
    ("/slab/bark_side", "up", "", ("top, bottom",)),
    ("/slab/widht", "34in", "", ("did you mean width",)),
    ("/moisture", 0.125, "", ("write 12.5 for 12.5 %",)),
    ("/moisture", 900, "", ("0 to 200 %",)),
    ("/moisture", {"shell": 9}, "", ("shell and core",)),
    ("/moisture", {"depths": []}, "/moisture/depths", ("1 to 100 objects",)),
    ("/moisture", "12in", "", ("unit of length",)),
    ("/faces/top", "paint", "", ("paint", "/v1/finishes")),
    ("/faces/top", {"finish": "spar varnish", "coats": 9}, "/faces/top/coats", ("9 given",)),
    ("/faces/top", {"sd": 1, "perms": 2}, "", ("sd and perms",)),
    ("/faces/middle", "bare", "", ("top, bottom",)),
    ("/room/climate", "Dulutth", "", ("Dulutth", "near: Duluth, Minnesota", "/v1/places")),
    ("/room/climate", "Springfield", "", ("may mean", "[")),
    ("/room/latitude", 47, "/room", ("climate and by coordinates",)),
    ("/room/temperature", "70F", "/room", ("more than one way", "months", "log")),
    ("/room/occupied", "often", "", ("no, lightly, normally, crowded",)),
    ("/room/heat_to", "90F", "/room", ("heat_to must not be above cool_to",)),
    ("/room/humidify_to", 0.4, "", ("write 40 for 40 %",)),
    ("/room", {}, "", ("climate", "months", "log")),
    ("/room", 3, "", ("3 given", "an object with climate")),
    ("/room", [{}], "", ("an object with climate",)),
    ("/slab", "elm", "", ("`elm` given", "species, width")),
    ("/moisture", {"depths": [3]}, "/moisture/depths/0", ("depth, moisture",)),
    ("/room", {"outdoor": []}, "/room/outdoor", ("temperature, relative_humidity",)),
    ("/room", {"heat_to": "70F"}, "", ("the place is missing",)),
    ("/room", {"latitude": 47}, "", ("latitude alone",)),
    ("/room", {"latitude": -60, "longitude": -140}, "/room/latitude",
     ("no station within 250 km",)),
    ("/room", {"months": [{"temperature": "70F", "relative_humidity": 40}] * 13}, "/room/months",
     ("13 given", "12 objects")),
    ("/room", {"temperature": "70F", "relative_humidity": 0.4}, "/room/relative_humidity",
     ("40 %",)),
    ("/room", {"log": {"time": ["2026-01-01T00:00:00Z", "2026-01-02T00:00:00Z"],
                       "temperature": ["70F", "70F"], "relative_humidity": [40, 41]}},
     "/room/log", ("does not cover a year",)),
    ("/starts", "25.9.2026", "", ("2026-09-25",)),
    ("/starts", "2026-02-30", "", ("date",)),
    ("/starts", 20260925, "", ("date",)),
    ("/seed", -1, "", ("0 to 4,294,967,295",)),
    ("/seed", 1.5, "", ("whole number",)),
    ("/spread", "yes", "", ("sampled, none",)),
    ("/units", "imperial", "", ("metric, us",)),
    ("/speling", 1, "", ("unknown name",)),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "pointer", "words"), WRONG)
def test_a_wrong_value_is_refused_with_its_place_the_limit_and_the_right_form(
    client: FlaskClient, path: str, value: Any, pointer: str, words: tuple[str, ...]
) -> None:
    reply = client.post("/v1/settle", json=put(TABLE, path, value))
    assert reply.status_code == 422, reply.text
    assert reply.content_type == "application/problem+json"
    problem = reply.get_json()
    assert problem["type"] == "/problems/invalid-question"
    assert [fault["pointer"] for fault in problem["errors"]] == [pointer or path]
    for word in words:
        assert word in problem["errors"][0]["detail"]


def test_all_faults_of_a_question_come_back_at_once(client: FlaskClient) -> None:
    body = TABLE
    for path, value in (
        ("/slab/width", 34),
        ("/slab/species", "elmo"),
        ("/slab/thicknes", "2in"),
        ("/moisture", 0.12),
        ("/room/heat_to", "70kg"),
        ("/starts", "soon"),
    ):
        body = put(body, path, value)
    del body["slab"]["thickness"]
    problem = client.post("/v1/settle", json=body).get_json()
    assert {fault["pointer"] for fault in problem["errors"]} == {
        "/slab/width",
        "/slab/species",
        "/slab/thicknes",
        "/slab/thickness",
        "/moisture",
        "/room/heat_to",
        "/starts",
    }
    assert problem["detail"].startswith("7 faults")


def test_missing_members_are_named_with_the_right_form(client: FlaskClient) -> None:
    errors = client.post("/v1/settle", json={}).get_json()["errors"]
    assert {fault["pointer"] for fault in errors} == {"/slab", "/moisture", "/room"}
    assert all("missing" in fault["detail"] for fault in errors)


def test_a_query_names_the_dotted_parameter(client: FlaskClient) -> None:
    reply = client.get("/v1/settle?slab.width=34&moisture=12&moisture.shell=3")
    assert reply.status_code == 400
    assert reply.get_json()["errors"][0]["pointer"] == "/moisture.shell"
    reply = client.get("/v1/settle?slab.width=34&slab.species.radial=400")
    pointers = [fault["pointer"] for fault in reply.get_json()["errors"]]
    assert "/slab.width" in pointers
    assert "/slab.species.radial" in pointers


METER = {"slab": TABLE["slab"], "readings": [{"resistance": 1e6}]}


@pytest.mark.parametrize("resistance", [0, -5, 0.999])
def test_a_wide_range_has_no_room_below_its_lower_limit(
    client: FlaskClient, resistance: float
) -> None:
    body = {**METER, "readings": [{"resistance": resistance}]}
    (fault,) = client.post("/v1/reading", json=body).get_json()["errors"]
    assert fault["pointer"] == "/readings/0/resistance"
    assert "outside 1 to 1e+15" in fault["detail"]


def test_a_surface_reading_as_understood_can_be_asked_again(client: FlaskClient) -> None:
    body = {**METER, "readings": [{"kind": "surface", "value": 9}]}
    first = client.post("/v1/reading", json=body).get_json()
    second = client.post("/v1/reading", json=first["asked"])
    assert second.status_code == 200, second.text
    assert second.get_json()["answer"] == first["answer"]


@pytest.mark.parametrize(
    ("bars", "pointer", "words"),
    [
        ({"section": "channel", "width": "2in", "height": "1in"}, "/bars", "needs wall too"),
        ({"section": "flat", "width": "2in", "height": "1in", "wall": "1/8in"}, "/bars",
         "has no use for wall"),
        ({"section": "flat", "width": "2in", "height": "1in", "area": "240mm2"}, "/bars",
         "has no use for area"),
        ({"section": "flat", "width": "2in", "height": "1in", "legs": "into"}, "/bars/legs",
         "a channel alone"),
        ({"section": "timber", "width": "2in", "height": "2in"}, "/bars/species", "white oak"),
        ({"section": "timber", "width": "2in", "height": "2in", "species": "teak", "slot": "1in"},
         "/bars/slot", "metal section"),
        ({"second_moment": "0.3in4"}, "/bars", "needs modulus and area too"),
        ({"second_moment": "0.3in4", "modulus": "200GPa", "area": "1in2", "species": "teak"},
         "/bars", "has no use for species"),
    ],
)  # fmt: skip
def test_a_bar_is_told_whole_and_without_what_it_has_no_use_for(
    client: FlaskClient, bars: dict[str, Any], pointer: str, words: str
) -> None:
    body = {
        "slab": TABLE["slab"],
        "moisture": 9,
        "room": TABLE["room"],
        "positions": ["3in"],
        "fastener": {"kind": "nail", "diameter": "1/8in", "thread": "1in"},
        "bars": bars,
    }
    (fault,) = client.post("/v1/fixings", json=body).get_json()["errors"]
    assert fault["pointer"] == pointer
    assert words in fault["detail"]


def test_a_figure_in_quotes_a_day_that_is_none_and_a_list_are_told_as_such(
    client: FlaskClient,
) -> None:
    body = {**TABLE, "seed": "1", "starts": "2026-09-31", "moisture": [8, 9]}
    faults = client.post("/v1/settle", json=body).get_json()["errors"]
    told = {fault["pointer"]: fault["detail"] for fault in faults}
    assert told["/seed"].endswith("without quotes")
    assert "no such day" in told["/starts"]
    assert "write 12 or 12%, or unknown, or an object with shell" in told["/moisture"]


def test_depths_must_rise_and_lie_in_the_slab(client: FlaskClient) -> None:
    rows = [{"depth": "1in", "moisture": 12}, {"depth": "1in", "moisture": 11},
            {"depth": "3in", "moisture": 10}]  # fmt: skip
    reply = client.post("/v1/settle", json=put(TABLE, "/moisture", {"depths": rows}))
    errors = reply.get_json()["errors"]
    assert [fault["pointer"] for fault in errors] == [
        "/moisture/depths/1/depth",
        "/moisture/depths/2/depth",
    ]
    assert "rise" in errors[0]["detail"]
    assert "50.8 mm thick" in errors[1]["detail"]


def test_an_impossible_pith_is_refused(client: FlaskClient) -> None:
    body = put(TABLE, "/slab/pith", {"below": "-1.5in"})
    del body["slab"]["grain"]
    errors = client.post("/v1/settle", json=body).get_json()["errors"]
    assert errors[0]["pointer"] == "/slab/pith/below"
    assert "bark" in errors[0]["detail"]


def test_moisture_that_no_air_holds_is_refused_with_the_limit(client: FlaskClient) -> None:
    reply = client.get("/v1/equilibrium?temperature=70F&moisture=29")
    assert reply.status_code == 422
    fault = reply.get_json()["errors"][0]
    assert fault["pointer"] == "/moisture"
    assert "write 0 to 26" in fault["detail"]


def test_lists_of_different_length_are_refused(client: FlaskClient) -> None:
    body = {"units": "metric", "temperature": [20, 21], "relative_humidity": [40, 45, 50]}
    fault = client.post("/v1/equilibrium", json=body).get_json()["errors"][0]
    assert "temperature has 2, relative_humidity has 3" in fault["detail"]


def test_a_huge_list_of_wrong_numbers_answers_shortly(client: FlaskClient) -> None:
    body = {"temperature": "20C", "relative_humidity": [0.5] * 100_000}
    reply = client.post("/v1/equilibrium", json=body)
    assert reply.status_code == 422
    assert len(reply.get_json()["errors"]) == 50
    body = {"temperature": "20C", "relative_humidity": [50] * 100_001}
    assert "100,001 given" in client.post("/v1/equilibrium", json=body).text


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("temperature=20C&dew_point=25C", "more than air of 20 °C (68 °F) holds"),
        ("temperature=20C&wet_bulb=-10C", "drier than any air"),
        ("temperature=20C", "give one of relative_humidity"),
        ("temperature=20C&dew_point=5C&relative_humidity=50", "give one of them"),
    ],
)
def test_air_that_cannot_be_is_refused(client: FlaskClient, query: str, words: str) -> None:
    reply = client.get(f"/v1/air?{query}")
    assert reply.status_code == 422
    assert words in reply.text


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b"3",
        b"null",
        b'{"a": NaN}',
        b'{"a": Infinity}',
        b'{"temperature": "20C", "temperature": "21C"}',
        b'{"slab": {"width": 1, "w\\u0069dth": 2}}',
        b"\xff\xfe",
        b"[" * 2000,
        b'{"a":' * 20 + b"1" + b"}" * 20,
        b'{"a": "\\ud800"}',
    ],
)
def test_what_is_no_plain_json_object_is_refused_as_unreadable(
    client: FlaskClient, body: bytes
) -> None:
    reply = client.post("/v1/equilibrium", data=body, content_type="application/json")
    assert reply.status_code == 400
    assert reply.get_json()["type"] == "/problems/unreadable-request"


def test_a_colon_in_a_text_is_no_name(client: FlaskClient) -> None:
    body = b'{"temperature": "20C", "relative_humidity": 50, "treated": "a\\":b\\": a"}'
    reply = client.post("/v1/equilibrium", data=body, content_type="application/json")
    assert reply.status_code == 422


@pytest.mark.parametrize(
    "query",
    ["a=%ff", "a=1&a=2", "a.b=1&a=2", "a=2&a.b=1", "&".join(["x=1"] * 201), "a." * 20 + "a"],
)
def test_a_query_that_cannot_be_read_is_refused(client: FlaskClient, query: str) -> None:
    assert client.get(f"/v1/equilibrium?{query}").status_code == 400


def test_another_content_type_is_refused_with_the_right_one(client: FlaskClient) -> None:
    reply = client.post("/v1/equilibrium", data="{}", content_type="text/plain")
    assert reply.status_code == 415
    assert "Content-Type: application/json" in reply.get_json()["detail"]
    reply = client.post(
        "/v1/equilibrium",
        data=b"",
        content_type="application/json",
        headers={"Content-Encoding": "gzip"},
    )
    assert reply.status_code == 415


def test_a_body_too_large_is_refused_with_the_limit(client: FlaskClient) -> None:
    reply = client.post("/v1/air", data=b" " * 4_194_305, content_type="application/json")
    assert reply.status_code == 413
    assert "4,194,304 bytes" in reply.get_json()["detail"]


def test_a_form_that_is_not_offered_is_refused_with_those_that_are(client: FlaskClient) -> None:
    question = "temperature=20C&relative_humidity=50"
    for path, headers in (
        (f"/v1/air?{question}&format=svg", {}),
        (f"/v1/air?{question}&format=xml", {}),
        (f"/v1/air?{question}", {"Accept": "image/png"}),
    ):
        reply = client.get(path, headers=headers)
        assert reply.status_code == 406
        assert "json (application/json), text (text/plain)" in reply.get_json()["detail"]


def test_a_wrong_method_is_refused_with_the_right_ones(client: FlaskClient) -> None:
    reply = client.delete("/v1/air")
    assert reply.status_code == 405
    assert {"GET", "POST"} <= set(reply.headers["Allow"].split(", "))
    assert reply.get_json()["type"] == "/problems/wrong-method"


def test_a_wrong_address_is_not_found(client: FlaskClient) -> None:
    reply = client.get("/v1/equilibrum")
    assert reply.status_code == 404
    assert reply.get_json()["type"] == "/problems/not-found"


def test_a_posted_question_takes_only_format_in_its_address(client: FlaskClient) -> None:
    reply = client.post("/v1/air?units=us", json={"temperature": 70, "relative_humidity": 40})
    assert reply.status_code == 400
    assert reply.get_json()["errors"][0]["pointer"] == "/units"


def test_every_type_of_problem_answers_at_its_own_address(client: FlaskClient) -> None:
    listed = client.get("/problems").get_json()["problems"]
    assert len(listed) == 13
    for kind in listed:
        assert client.get(kind["type"]).get_json() == kind
    assert client.get("/problems/none").status_code == 404


def test_a_failure_inside_tells_nothing_of_the_inside() -> None:
    app = create_app(Settings())

    @app.get("/broken")
    def broken() -> str:
        raise RuntimeError("the secret of the inside")

    reply = app.test_client().get("/broken")
    assert reply.status_code == 500
    assert reply.get_json()["type"] == "/problems/failure"
    assert "secret" not in reply.text


VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.floats(allow_nan=False)
    | st.integers(-(10**20), 10**20)
    | st.text(max_size=12)
    | st.sampled_from(["70F", "34in", 40, "bare", "Duluth", "flat", 0.4, "45%"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)
PLACES = sorted(
    {f"/{name.replace('.', '/')}" for name, _ in flattened(TABLE)}
    | {"/slab", "/faces", "/room", "/slab/pith", "/room/months", "/room/log", "/faces/top/sd"}
)


@given(st.sampled_from(PLACES), VALUES)
def test_nothing_put_anywhere_makes_the_service_fail(
    client: FlaskClient, place: str, value: Any
) -> None:
    body = put({**TABLE, "spread": "none", "faces": {"bottom": "bare"}}, place, value)
    try:
        text = orjson.dumps(body)
    except TypeError:
        return
    reply = client.post("/v1/settle", data=text, content_type="application/json")
    assert reply.status_code in (200, 422), reply.text


def test_grain_beside_a_pith_is_taken_where_they_agree_and_told_how_far_off_else(
    client: FlaskClient,
) -> None:
    slab = {"species": "white oak", "width": 600, "thickness": 50, "grain": "flat"}
    body = {"units": "metric", "slab": slab, "before": 10, "after": 7}
    agrees = body | {"slab": slab | {"pith": {"below": 100}}}
    assert client.post("/v1/movement", json=agrees).status_code == 200
    # The rings stand at atan(250/50) = 79 degrees in the middle, give or take 10; flat is up to 30.
    apart = body | {"slab": slab | {"pith": {"below": 25, "across": 250}}}
    refused = client.post("/v1/movement", json=apart)
    assert refused.status_code == 422
    assert "39 degrees apart" in refused.get_data(as_text=True)


def test_each_kind_of_problem_is_described_under_its_address(client: FlaskClient) -> None:
    for name in TYPES:
        assert client.get(f"/problems/{name}").status_code == 200
    strange = client.get("/problems/no-such-problem")
    assert strange.status_code == 404
    assert "unreadable-request" in strange.get_json()["detail"]


@pytest.mark.parametrize(
    ("headers", "told"),
    [
        ({"Content-Type": "application/json", "Content-Encoding": "gzip"}, "gzip"),
        ({"Content-Type": "text/plain"}, "text/plain"),
        ({}, "none"),
    ],
)
def test_a_body_in_another_form_is_told_what_it_was(
    client: FlaskClient, headers: dict[str, str], told: str
) -> None:
    reply = client.post("/v1/equilibrium", data=b"{}", headers=headers)
    assert reply.status_code == 415
    assert told in reply.get_json()["detail"]


def test_a_groove_as_deep_as_the_slab_is_refused_with_what_was_given(client: FlaskClient) -> None:
    slab = {"species": "American elm", "width": "800mm", "thickness": "45mm", "length": "2m"}
    for deep, status in (("44mm", 200), ("45mm", 422)):
        body = {"slab": slab, "overhang": "200mm", "span": "1.5m", "groove": deep}
        reply = client.post("/v1/load", json=body)
        assert reply.status_code == status, reply.text
    assert "45 mm given: it goes through the slab" in reply.text
