"""The whole document asked by schemathesis: every reply as documented, nothing unexpected.

`STILLWOOD_HYPOTHESIS=thorough` looks further (tests/conftest.py).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Any, Final

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case, HookContext

from api.app import create_app
from api.settings import Settings

# Cases of each of about 25 operations. The long run takes minutes.
FEW: Final = 25
MANY: Final = 250
THOROUGH: Final = os.environ.get("STILLWOOD_HYPOTHESIS") == "thorough"

document = schemathesis.openapi.from_wsgi(
    "/openapi.json",
    create_app(Settings(log="off")),
    # A question may fit the document and still be refused: a wood or place of that name is not
    # known, a bare number lacks its unit, two rows contradict each other.  So 422 is a right reply
    # to such data, beside those that the check allows; 400, 406, 413 and 415 are none.
    #
    # The coverage phase lists its cases before the first is run: minutes for the 60 parameters of
    # the larger questions, whose bounds tests/api/test_bad_input.py tries one by one.
    config=schemathesis.Config.from_dict(
        {
            "phases": {"coverage": {"enabled": False}},
            "checks": {
                "positive_data_acceptance": {
                    "expected-statuses": ["2xx", "3xx", "401", "403", "404", "422", "429", "5xx"]
                }
            },
        }
    ),
)
counted: dict[str, int] = {}


@document.hook
def map_query(context: HookContext, query: dict[str, Any] | None) -> dict[str, Any] | None:
    """Write what the generator cannot: lists with commas, and no value beside its own parts.

    The document says `explode: false` of lists, which the generator heeds only where a list is
    the one thing allowed; that `to` and `to.temperature` exclude each other no OpenAPI can say.
    """
    if not query:
        return query
    parts = {name for name in query for whole in query if name.startswith(f"{whole}.")}
    return {
        name: ",".join(map(str, value)) if isinstance(value, list) else value
        for name, value in query.items()
        if name not in parts
    }


@pytest.fixture(scope="module", autouse=True)
def _cases_counted() -> Iterator[None]:
    yield
    # Fails when the document or the generator has shrunk to nothing.
    assert sum(counted.values()) >= len(counted) * FEW / 2
    print(
        f"\nschemathesis: {sum(counted.values()):,} cases of {len(counted)} operations: {counted}"
    )


@pytest.mark.slow
@document.parametrize()
@settings(
    max_examples=MANY if THOROUGH else FEW,
    deadline=None,
    derandomize=not THOROUGH,
    suppress_health_check=list(HealthCheck),
)
def test_every_reply_is_as_documented(case: Case[Any]) -> None:
    label = case.operation.label
    counted[label] = counted.get(label, 0) + 1
    case.call_and_validate()
