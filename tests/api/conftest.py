"""A client of the application, and the library reading table that the tests ask about."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.settings import Settings

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
