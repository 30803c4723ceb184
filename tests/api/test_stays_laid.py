"""Stays laid end to end: their dates, names and depths on either side of what fits together."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
import pytest
from marshmallow import ValidationError

from api.questions.course import QUESTION
from api.questions.course.stays import begins, lay

STEADY = {"temperature": 20, "relative_humidity": 45}
FIRST = {"room": STEADY, "from_date": "2026-01-01", "to_date": "2026-01-11"}


def asked(*stays: dict[str, Any], **more: Any) -> Any:
    slab = {"species": "white oak", "width": 500, "thickness": 40, "length": 2000}
    body = {"units": "metric", "slab": slab, "moisture": 11, "stays": list(stays), **more}
    return QUESTION.read(body).told.made


def refusal(*stays: dict[str, Any], **more: Any) -> str:
    with pytest.raises(ValidationError) as refused:
        lay(asked(*stays, **more))
    return str(refused.value.messages)


def log(days: list[float], start: str = "2026-02-01T00:00:00+00:00") -> dict[str, Any]:
    first = datetime.datetime.fromisoformat(start)
    times = [(first + datetime.timedelta(days=day)).isoformat() for day in days]
    count = len(days)
    return {"time": times, "temperature": [20] * count, "relative_humidity": [45] * count}


@pytest.mark.parametrize(
    ("date", "told"),
    [
        ("2026-01-12", "leaves a gap of 1 day;"),
        ("2026-01-13", "leaves a gap of 2 days;"),
        ("2026-01-10", "overlaps by 1 day;"),
        ("2026-01-08", "overlaps by 3 days;"),
    ],
)
def test_dates_of_neighbours_meet(date: str, told: str) -> None:
    second = {"from_date": date, "to_date": "2026-03-01"}
    found = refusal(FIRST, second)
    assert told in found
    assert "the stay before ends on 2026-01-11" in found
    laid = lay(asked(FIRST, {**second, "from_date": "2026-01-11"}))
    assert [stay.days for stay in laid.stays] == [10.0, 49.0]
    assert laid.rooms[0] is laid.rooms[1]


def test_a_start_and_the_first_date_are_one() -> None:
    assert "overlaps by 1 day; the course starts on 2026-01-02" in (
        refusal(FIRST, starts="2026-01-02")
    )
    assert lay(asked(FIRST, starts="2026-01-01")).start_day == lay(asked(FIRST)).start_day
    # A later date dates the stays before it.
    dated = asked(
        {"room": STEADY, "days": 20}, {"from_date": "2026-02-01", "to_date": "2026-02-03"}
    )
    assert begins(dated) == datetime.date(2026, 1, 12)
    assert begins(asked({"room": {"log": log([0, 1, 2])}, "days": 2})) == datetime.date(2026, 2, 1)
    after = asked({"room": STEADY, "days": 20}, {"room": {"log": log([0, 1, 2])}, "days": 2})
    assert begins(after) == datetime.date(2026, 1, 12)


def test_stays_have_names_and_what_was_told_of_them() -> None:
    laid = lay(
        asked(
            {"room": STEADY, "days": 5},
            {"days": 5, "turned": True, "dress": {"top": 2, "bottom": 1, "flat": True}},
            {"days": 5, "name": "bench", "wet_face": {"face": "top", "hours": 6}},
        )
    )
    assert [stay.name for stay in laid.stays] == ["stay 1", "stay 2", "bench"]
    assert [stay.turned for stay in laid.stays] == [False, True, False]
    assert [(stay.dress_top, stay.dress_bottom) for stay in laid.stays] == [
        (0.0, 0.0), (0.002, 0.001), (0.0, 0.0),
    ]  # fmt: skip
    assert [stay.machined_flat for stay in laid.stays] == [False, True, False]
    assert [(stay.wet_face, stay.wet_hours) for stay in laid.stays] == [
        (None, 0.0), (None, 0.0), ("top", 6.0),
    ]  # fmt: skip
    assert laid.shares.tolist() == [[1.0, 1.0]] * 3


def test_a_face_is_wet_within_its_stay() -> None:
    def stay(hours: float) -> dict[str, Any]:
        return {"room": STEADY, "days": 1, "wet_face": {"face": "top", "hours": hours}}

    assert lay(asked(stay(24))).stays[0].wet_hours == 24.0
    assert "24.1 h given: the stay lasts 24 h" in refusal(stay(24.1))


def test_planing_leaves_a_slab() -> None:
    def stay(top: float, bottom: float = 0.0) -> dict[str, Any]:
        return {"room": STEADY, "days": 1, "dress": {"top": top, "bottom": bottom}}

    assert lay(asked(stay(18, 20.9))).stays
    told = refusal(stay(18), stay(0, 21.1))
    assert "would leave 0.9 mm of the slab: at least 1 mm" in told
    assert "1: {'dress'" in told
    assert "would leave 0 mm" in refusal(stay(41))


@pytest.mark.parametrize(
    ("days", "fits"),
    [
        ([0, 1, 8, 9], True),  # a week
        ([0, 1, 8.1, 9.1], False),
        ([0, 3, 6, 15], True),  # three times as long as usual
        ([0, 3, 6, 14.9], True),
        ([0, 3, 6, 15.1], False),
        ([0, 10, 20, 40], True),
    ],
)
def test_a_log_has_no_hole_of_a_week_unless_it_is_read_that_seldom(
    days: list[float], fits: bool
) -> None:
    stay = {"room": {"log": log(days)}, "days": 1}
    if fits:
        assert lay(asked(stay)).stays[0].air_day == 0.0
    else:
        told = refusal(stay)
        assert "with more than 7 days missing it is no record" in told


def test_a_hole_is_told_where_it_ends() -> None:
    told = refusal({"room": {"log": log([0, 1, 2, 12])}, "days": 1})
    assert "`2026-02-13T00:00:00+00:00` given: 10 days after the reading before it" in told
    assert "'time': {3:" in told


def test_a_stay_ends_with_its_log() -> None:
    def stays(second: float) -> list[dict[str, Any]]:
        return [{"room": {"log": log([0, 5, 10])}, "days": 6}, {"days": second}]

    assert [one.air_day for one in lay(asked(*stays(4))).stays] == [0.0, 6.0]
    told = refusal(*stays(4.5))
    assert "the log ends after 4 days of a stay of 4.5" in told
    dated = {"room": {"log": log([0, 5, 10])}, "from_date": "2026-02-04", "to_date": "2026-02-11"}
    assert lay(asked(dated)).stays[0].air_day == 3.0
    later = {**dated, "to_date": "2026-02-12"}
    assert "the log ends after 7 days of a stay of 8" in refusal(later)
    # A log may begin on the day itself, not on the day after.
    noon = log([0, 5, 10], "2026-02-01T12:00:00+00:00")
    first = {"room": {"log": noon}, "from_date": "2026-02-01", "to_date": "2026-02-03"}
    assert lay(asked(first)).stays[0].air_day == 0.0
    early = {**first, "from_date": "2026-01-30"}
    assert "the log begins after the stay, on 2026-02-01T12:00:00+00:00" in refusal(early)


def test_bars_bear_a_moment_of_their_own() -> None:
    bars = {"section": "flat", "width": 40, "height": 5, "count": 2}
    laid = lay(asked({"room": STEADY, "days": 1, "held": bars}, {"days": 1, "held": "flat"}))
    assert laid.shares.shape == (2, 2)
    assert np.all(laid.shares[0] > 0.0)
    assert np.all(laid.shares[0] != 1.0)
    assert laid.shares[1].tolist() == [1.0, 1.0]
