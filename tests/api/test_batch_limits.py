"""A batch at its limits and beyond: bytes of its replies, its time, its length."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import orjson
import pytest

from api import limits
from api.problems import Refused
from api.questions import BY_NAME
from api.questions.batch import _named, answer_all, invalid, read_list

AIR = {"question": "air", "body": {"temperature": "20C", "relative_humidity": 50}}


def answered(asked: list[Any], *, seconds: float = 0.0) -> list[Any]:
    place: Any = SimpleNamespace(
        let_others=lambda: None, seconds=lambda: seconds, gone=lambda: False
    )
    return list(answer_all(BY_NAME, asked, place))


def test_replies_take_so_many_bytes_to_the_last(monkeypatch: pytest.MonkeyPatch) -> None:
    first, _ = answered([AIR, AIR])
    monkeypatch.setattr(limits, "BATCH_REPLY_BYTES", 2 * len(first.body))
    assert [item.status for item in answered([AIR, AIR])] == [200, 200]
    monkeypatch.setattr(limits, "BATCH_REPLY_BYTES", 2 * len(first.body) - 1)
    one, other = answered([AIR, AIR])
    assert (one.status, other.status) == (200, 503)
    assert f"may have {2 * len(first.body) - 1:,} bytes" in orjson.loads(other.body)["detail"]


def test_no_question_is_begun_from_the_last_second_on() -> None:
    assert answered([AIR], seconds=19.99)[0].status == 200
    late = answered([AIR], seconds=20.0)[0]
    assert late.status == 503
    assert "after 20 seconds" in orjson.loads(late.body)["detail"]


def test_a_batch_has_one_question_and_a_thousand_at_most() -> None:
    assert len(read_list({"questions": [AIR] * 1000})) == 1000
    for count in (0, 1001):
        with pytest.raises(Refused) as refused:
            read_list({"questions": [AIR] * count})
        assert f"{count:,} given" in refused.value.faults[0].detail
    with pytest.raises(Refused) as refused:
        read_list({f"x{number}": 1 for number in range(60)})
    assert len(refused.value.faults) == limits.FAULTS


def test_faults_are_counted_in_words() -> None:
    assert invalid([]).detail == "0 faults in the question; see errors."
    with pytest.raises(Refused, match="One fault in the question"):
        BY_NAME["air"].read({"temperature": "20C", "relative_humidity": 500})
    with pytest.raises(Refused, match="2 faults in the question"):
        BY_NAME["air"].read({"temperature": "900C", "relative_humidity": 500})
    assert _named(BY_NAME, AIR) == "air"
    assert _named(BY_NAME, {"question": "airs"}) == _named(BY_NAME, 3) == "none"
