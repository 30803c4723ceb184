"""`/v1/course`: dates, logs, holds and dressing; what it refuses and with which words."""

from __future__ import annotations

import copy
import datetime
import io
from typing import Any

import numpy as np
import orjson
import pandas as pd
import pytest

from api import schema
from api.problems import Refused
from api.questions.course import QUESTION

STEADY = {"temperature": "20C", "relative_humidity": 45}
BASE: dict[str, Any] = {
    "units": "metric",
    "spread": "none",
    "slab": {
        "species": "white oak",
        "width": 500,
        "thickness": 40,
        "length": 2000,
        "grain": "flat",
    },
    "moisture": 11,
    "stays": [
        {"room": STEADY, "days": 20},
        {"days": 30, "faces": {"top": "bare", "bottom": "closed"}},
    ],
}
YEARLY = {
    "months": [{"temperature": "20C", "relative_humidity": 30 + 3 * month} for month in range(12)]
}


def asking(**changed: Any) -> dict[str, Any]:
    return {**copy.deepcopy(BASE), **changed}


def answer(body: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = orjson.loads(QUESTION.write(QUESTION.ask(body), "json"))
    return found


def refusal(body: dict[str, Any]) -> dict[str, str]:
    """Pointer and detail of every fault."""
    with pytest.raises(Refused) as refused:
        QUESTION.ask(body)
    assert refused.value.status == 422
    return {fault.pointer: fault.detail for fault in refused.value.faults}


def log(
    days: float, every: float = 0.25, start: str = "2026-02-01T00:00:00+00:00"
) -> dict[str, Any]:
    first = datetime.datetime.fromisoformat(start)
    count = int(days / every) + 1
    times = [first + datetime.timedelta(days=every * index) for index in range(count)]
    return {
        "time": [time.isoformat() for time in times],
        "temperature": [20.0] * count,
        "relative_humidity": [40.0 + 5.0 * (index % 2) for index in range(count)],
    }


def test_stays_by_date_and_by_days_are_the_same_course() -> None:
    by_days = asking(
        starts="2026-03-01", stays=[{"room": YEARLY, "days": 31}, {"days": 30}], profiles=[31]
    )
    dated = asking(
        stays=[
            {"room": YEARLY, "from_date": "2026-03-01", "to_date": "2026-04-01"},
            {"from_date": "2026-04-01", "to_date": "2026-05-01"},
        ],
        profiles=[31],
    )
    mixed = asking(
        stays=[{"room": YEARLY, "days": 31}, {"from_date": "2026-04-01", "to_date": "2026-05-01"}],
        profiles=[31],
    )
    one, two, three = (answer(body)["answer"] for body in (by_days, dated, mixed))
    assert one == two == three


def test_the_season_matters() -> None:
    stays = [{"room": YEARLY, "days": 60}]
    ends = [
        answer(asking(stays=stays, starts=date))["answer"]["stays"][0]["mean"]
        for date in ("2026-01-15", "2026-09-15")
    ]
    assert ends[0] < ends[1] - 0.5


@pytest.mark.parametrize(
    ("stays", "pointer", "words"),
    [
        ([{"days": 20}], "/stays/0/room", "missing"),
        ([{"room": STEADY}], "/stays/0", "give days, or from_date and to_date"),
        ([{"room": STEADY, "days": 0}], "/stays/0/days", "outside"),
        ([{"room": STEADY, "days": 3, "from_date": "2026-01-01", "to_date": "2026-01-04"}],
         "/stays/0", "days and from_date and to_date given"),
        ([{"room": STEADY, "from_date": "2026-01-04", "to_date": "2026-01-04"}],
         "/stays/0/to_date", "not later"),
        ([{"room": STEADY, "from_date": "2026-01-01", "to_date": "2026-01-10"},
          {"from_date": "2026-01-08", "to_date": "2026-02-01"}],
         "/stays/1/from_date", "overlaps by 2 days"),
        ([{"room": STEADY, "from_date": "2026-01-01", "to_date": "2026-01-10"},
          {"from_date": "2026-01-13", "to_date": "2026-02-01"}],
         "/stays/1/from_date", "gap of 3 days"),
        ([{"room": STEADY, "days": 5, "dress": {"top": 25, "bottom": 15}}],
         "/stays/0/dress", "would leave 0 mm"),
        ([{"room": STEADY, "days": 5, "dress": {"top": 15}},
          {"days": 5, "dress": {"top": 15}}, {"days": 5, "dress": {"bottom": 15}}],
         "/stays/2/dress", "at least 1 mm"),
        ([{"room": STEADY, "days": 0.25, "wet_face": {"face": "top", "hours": 8}}],
         "/stays/0/wet_face/hours", "lasts 6 h"),
        ([{"room": STEADY, "days": 5, "held": "screwed"}], "/stays/0/held", "free, flat"),
        ([{"room": STEADY, "days": 4000}, {"days": 4000}], "/stays", "20 years"),
        ([], "/stays", "1 to 50"),
        ([{"room": STEADY, "days": 5, "dres": {"top": 2}}], "/stays/0/dres", "did you mean dress"),
        ([{"room": {"log": log(3.0)}, "days": 5}], "/stays/0/room", "the log ends after 3 days"),
        ([{"room": {"log": {**log(0.25), "time": ["2026-02-01T00:00:00Z"]}}, "days": 5}],
         "/stays/0/room/log/time", "2 to"),
    ],
)  # fmt: skip
def test_stays_that_cannot_be_are_refused_where_they_are(
    stays: list[dict[str, Any]], pointer: str, words: str
) -> None:
    told = refusal(asking(stays=stays))
    assert pointer in told, told
    assert words in told[pointer]


def test_a_course_that_nothing_dates_begins_today(monkeypatch: pytest.MonkeyPatch) -> None:
    moment = datetime.datetime(2026, 7, 4, 22, 0, tzinfo=datetime.UTC)
    monkeypatch.setattr(schema, "now", lambda: moment)
    undated = answer(asking(stays=[{"room": YEARLY, "days": 9}]))
    assert undated["asked"]["starts"] == "2026-07-04"
    dated = answer(asking(stays=[{"room": YEARLY, "days": 9}], starts="2026-07-04"))
    assert undated["answer"] == dated["answer"]


def test_a_log_dates_the_stays_beside_it() -> None:
    recorded = {"log": log(5.0, start="2026-09-15T00:00:00+00:00")}
    rooms = [{"room": YEARLY, "days": 30}, {"room": recorded, "days": 5}]
    by_log = answer(asking(stays=rooms))
    dated = answer(asking(stays=rooms, starts="2026-08-16"))
    assert by_log["answer"] == dated["answer"]
    assert "starts" not in by_log["asked"]


def test_a_start_that_contradicts_the_dates_is_refused() -> None:
    body = asking(
        starts="2026-01-05",
        stays=[{"room": STEADY, "from_date": "2026-01-01", "to_date": "2026-01-10"}],
    )
    assert "the course starts on 2026-01-05" in refusal(body)["/stays/0/from_date"]


def test_a_log_with_a_week_missing_is_refused_and_a_seldom_read_one_is_not() -> None:
    broken = log(40.0)
    for values in broken.values():
        del values[20:80]
    told = refusal(asking(stays=[{"room": {"log": broken}, "days": 30}]))
    assert "15 days after the reading before" in told["/stays/0/room/log/time/20"]
    seldom = log(80.0, every=10.0)
    assert answer(asking(stays=[{"room": {"log": seldom}, "days": 80}]))["answer"]["stays"]


def test_leaving_the_room_out_goes_on_in_the_same_log() -> None:
    recorded = log(20.0)
    whole = answer(asking(stays=[{"room": {"log": recorded}, "days": 20}]))["answer"]
    cut = answer(asking(stays=[{"room": {"log": recorded}, "days": 12}, {"days": 8}]))["answer"]
    assert cut["stays"][-1]["mean"] == pytest.approx(whole["stays"][-1]["mean"], abs=0.05)
    told = refusal(asking(stays=[{"room": {"log": recorded}, "days": 12}, {"days": 9}]))
    assert "ends after 8 days of a stay of 9" in told["/stays/1/room"]


def test_a_dated_stay_reads_the_log_on_its_own_dates() -> None:
    recorded = log(30.0)
    recorded["relative_humidity"] = list(np.linspace(30.0, 60.0, len(recorded["time"])))
    dated = answer(
        asking(
            stays=[{"room": {"log": recorded}, "from_date": "2026-02-11", "to_date": "2026-02-21"}]
        )
    )["answer"]["series"]["relative_humidity"]
    assert dated[0] == pytest.approx(40.0, abs=0.3)
    assert dated[-1] == pytest.approx(50.0, abs=0.3)
    early = [{"room": {"log": recorded}, "from_date": "2026-01-20", "to_date": "2026-01-25"}]
    assert "begins after the stay" in refusal(asking(stays=early))["/stays/0/room"]


def test_faces_stay_as_they_were_until_told_otherwise() -> None:
    told = [
        {"room": STEADY, "days": 10, "faces": {"top": "covered", "bottom": "covered"}},
        {"days": 30},
    ]
    found = answer(asking(stays=told))["answer"]["stays"]
    assert found[1]["mean"] == pytest.approx(11.0, abs=0.1)


def test_bars_across_the_slab_hold_it_and_their_moment_is_told() -> None:
    steel = {"section": "flat", "width": 40, "height": 10, "count": 4}
    told = [{"room": STEADY, "days": 30, "faces": {"top": "bare", "bottom": "closed"}}]
    free = answer(asking(stays=told))["answer"]
    held = answer(asking(stays=[{**told[0], "held": steel}]))["answer"]
    flat = answer(asking(stays=[{**told[0], "held": "flat"}]))["answer"]
    amounts = [one["stays"][0]["cup"]["amount"] for one in (free, held, flat)]
    assert amounts[0] > amounts[1] > amounts[2] == 0.0
    assert "moment" not in free["series"]
    assert abs(flat["stays"][0]["largest_moment"]) > abs(held["stays"][0]["largest_moment"]) > 1.0
    without = asking(stays=[{**told[0], "held": steel}])
    del without["slab"]["length"]
    assert "need the length" in refusal(without)["/stays/0/held"]


def test_the_moment_is_that_of_the_whole_length_or_of_a_metre() -> None:
    told = [{"room": STEADY, "days": 30, "held": "flat"}]
    whole = answer(
        asking(
            stays=told, moisture={"shell": 8, "core": 12}, cup={"amount": 3, "shape": "edges up"}
        )
    )
    short = asking(
        stays=told, moisture={"shell": 8, "core": 12}, cup={"amount": 3, "shape": "edges up"}
    )
    del short["slab"]["length"]
    metre = answer(short)
    ratio = whole["answer"]["series"]["moment"][0] / metre["answer"]["series"]["moment"][0]
    assert ratio == pytest.approx(2.0, rel=1e-3)
    assert "moment-of-a-metre" in {note["code"] for note in metre["notes"]}


def test_the_series_are_parallel_and_bands_hold_the_central_case() -> None:
    found = answer(asking(spread="sampled"))["answer"]["series"]
    assert len({len(values) for values in found.values()}) == 1
    for name in ("mean", "width", "cup"):
        low, middle, high = (np.array(found[key]) for key in (f"{name}_low", name, f"{name}_high"))
        assert np.all(low <= middle)
        assert np.all(middle <= high)
    assert found["day"] == sorted(found["day"])
    assert set(found["stay"]) == {1, 2}


def test_long_courses_are_thinned_to_the_points_asked_and_say_so() -> None:
    stays = [{"room": YEARLY, "days": 3650}]
    found = answer(asking(stays=stays, starts="2026-01-01", rows=60))
    assert len(found["answer"]["series"]["day"]) <= 60
    assert "series-thinned" in {note["code"] for note in found["notes"]}
    told = refusal(asking(stays=[{"room": STEADY, "days": 1}] * 12, rows=20))
    assert "too few for 12 stays" in told["/rows"]


def test_profiles_stand_on_the_days_asked() -> None:
    found = answer(asking(profiles=[0, 12.5, 50]))["answer"]["profiles"]
    assert [one["day"] for one in found] == [0.0, 12.5, 50.0]
    assert found[0]["moisture"] == [11.0] * len(found[0]["depth"])
    assert found[2]["depth"][-1] == 40.0
    assert "lasts 50 days" in refusal(asking(profiles=[51]))["/profiles/0"]


def test_the_table_opens_in_pandas_with_no_options() -> None:
    for example in QUESTION.examples:
        body = dict(example.body)
        table = pd.read_csv(io.BytesIO(QUESTION.write(QUESTION.ask(body), "csv")))
        assert table.columns[0] == "day [d]"
        assert pd.to_datetime(table.pop("date")).is_monotonic_increasing
        assert all(np.issubdtype(kind, np.number) for kind in table.dtypes)
        assert not table.isna().any().any()
        assert table["day [d]"].is_monotonic_increasing


def test_the_text_has_a_line_for_each_stay_and_a_verdict() -> None:
    body = asking(stays=[{"room": STEADY, "days": 7, "name": "bench"}, {"days": 7, "name": "rack"}])
    told = QUESTION.write(QUESTION.ask(body), "text").decode()
    assert told.startswith("After 14 days the slab is at ")
    lines = [
        line.split()[0] for line in told.splitlines() if line.startswith("  ") and line.strip()
    ]
    assert lines.index("bench") < lines.index("rack")
    assert "Stress: the index is" in told


def test_dressing_brings_a_caution_and_clamping_another() -> None:
    told = [{"room": STEADY, "days": 9, "dress": {"top": 2}, "held": "flat"}]
    cautions = " ".join(answer(asking(stays=told))["cautions"])
    assert "Planing" in cautions
    assert "Clamps" in cautions
    assert "Planing" not in " ".join(answer(asking())["cautions"])


def test_the_chart_shows_both_faces_of_a_slab_whose_faces_differ() -> None:
    chart = QUESTION.write(QUESTION.ask(asking()), "svg")
    for line in (b"mean of the slab", b"top face", b"core", b"bottom face", b"equilibrium"):
        assert line in chart
