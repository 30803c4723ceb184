"""Asking one question over HTTP in a test: a sound body with changes, its reply, its faults."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from typing import Any

from flask.testing import FlaskClient


@dataclass(frozen=True, slots=True)
class Asking:
    """A question by name with a body that is answered."""

    question: str
    sound: dict[str, Any]

    def body(self, **changes: Any) -> dict[str, Any]:
        """The sound body with members changed; None leaves one out."""
        made = copy.deepcopy(self.sound) | changes
        return {name: value for name, value in made.items() if value is not None}

    def ask(self, client: FlaskClient, asked: dict[str, Any]) -> dict[str, Any]:
        """The whole reply of a question that must be answered."""
        reply = client.post(f"/v1/{self.question}", json=asked)
        assert reply.status_code == 200, reply.text
        found: dict[str, Any] = reply.get_json()
        return found

    def pointers(self, client: FlaskClient, asked: dict[str, Any]) -> set[str]:
        """Where the faults are of a question that must be refused."""
        reply = client.post(f"/v1/{self.question}", json=asked)
        assert reply.status_code == 422, reply.text
        return {fault["pointer"] for fault in reply.get_json()["errors"]}
