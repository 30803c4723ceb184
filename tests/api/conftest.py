"""A client of the application, and the library reading table that the tests ask about."""

from __future__ import annotations

import os
from typing import Any, Final

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.question import Answered, Question, Reply, Understood
from api.settings import Settings
from api.sharing import canonical

TABLE: dict[str, Any] = {
    "slab": {
        "species": "American elm",
        "width": "34in",
        "thickness": "2in",
        "length": "96in",
        "grain": "flat",
        "bark_side": "top",
    },
    "moisture": 12.5,
    "faces": {"top": "oiled", "bottom": "bare"},
    "room": {"climate": "Duluth, MN", "heat_to": "70F", "cool_to": "76F", "occupied": "normally"},
    "starts": "2026-09-25",
}


@pytest.fixture(scope="session")
def client() -> FlaskClient:
    return create_app(Settings()).test_client()


@pytest.fixture
def table() -> dict[str, Any]:
    return {**TABLE, "slab": dict(TABLE["slab"]), "room": dict(TABLE["room"])}


_ANSWERED: Final[dict[bytes, Reply[Any]]] = {}


@pytest.fixture
def answered_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A question understood the same is answered once in a run, for tests that look at its forms.

    The measure of tests by small faults sets STILLWOOD_ANSWER_ANEW: it notes what each test runs.
    """
    if "STILLWOOD_ANSWER_ANEW" in os.environ:
        return
    plain = Question.reply_to

    def reply_to(self: Question[Any, Any], understood: Understood[Any]) -> Answered[Any, Any]:
        told = understood.told
        values = {
            name: value for name, value in told.values.items() if name not in ("units", "detail")
        }
        key = self.name.encode() + canonical(values)
        if key not in _ANSWERED:
            _ANSWERED[key] = plain(self, understood).reply
        return Answered(told, _ANSWERED[key], understood.how.reply)

    monkeypatch.setattr(Question, "reply_to", reply_to)
