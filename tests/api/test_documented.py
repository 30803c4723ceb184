"""What a question takes and tells is what the committed document says: limits, words, examples.

The whole document is compared in `test_openapi`; here a question at a time, without its answers.
"""

from __future__ import annotations

from typing import Any, Final

import orjson
import pytest

from api import openapi
from api.catalogues import CATALOGUES
from api.components import Components
from api.question import Question
from api.questions import QUESTIONS

COMMITTED: Final[dict[str, Any]] = orjson.loads(openapi.COMMITTED.read_bytes())
SCHEMAS: Final[dict[str, Any]] = COMMITTED["components"]["schemas"]


def compare(components: Components) -> None:
    """What was declared is what is committed; dimensions that nothing uses are not."""
    made = orjson.loads(orjson.dumps(components.by_kind["schemas"]))
    for name in SCHEMAS.keys() & made.keys():
        assert made[name] == SCHEMAS[name], name


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda each: each.name)
def test_what_a_question_takes_and_tells_is_committed(question: Question[Any, Any]) -> None:
    components = Components()
    components.of(question.shape)
    components.of(question.answered)
    compare(components)
    committed = COMMITTED["paths"][f"/v1/{question.name}"]["post"]["requestBody"]["content"]
    bodies = [one["value"] for one in committed["application/json"]["examples"].values()]
    assert [orjson.loads(orjson.dumps(one.body)) for one in question.examples] == bodies


def test_what_a_list_takes_and_tells_is_committed() -> None:
    components = Components()
    for catalogue in CATALOGUES:
        components.of(catalogue.row)
        told = COMMITTED["paths"][f"/v1/{catalogue.name}"]["get"]["parameters"]
        lines = orjson.loads(orjson.dumps(list(components.line(catalogue.shape))))
        assert all(line in told for line in lines), catalogue.name
    compare(components)
