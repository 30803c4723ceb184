"""The whole document asked by schemathesis: every reply as documented, nothing unexpected.

`STILLWOOD_HYPOTHESIS=thorough` looks further (tests/conftest.py).
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis import Case, HookContext
from schemathesis.config._phases import DEFAULT_UNEXPECTED_METHODS
from schemathesis.core.result import Ok
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.coverage._operation import iter_coverage_cases

from api.app import create_app
from api.settings import Settings
from tests.service.conftest import Live

# Cases of each of about 35 operations by chance. The long run takes minutes.
FEW: Final = 25
MANY: Final = 250
# Cases of each operation from the list of all that its schema tells apart (every type, limit and
# member, present, absent and wrong): of 75,000 as many as a short run has time for.
LISTED: Final = 60
THOROUGH: Final = os.environ.get("STILLWOOD_HYPOTHESIS") == "thorough"

document = schemathesis.openapi.from_wsgi(
    "/openapi.json",
    create_app(Settings(log="off")),
    # A question may fit the document and still be refused: a wood or place of that name is not
    # known, a bare number lacks its unit, two rows contradict each other.  So 422 is a right reply
    # to such data, beside those that the check allows; 400, 406, 413 and 415 are none.
    #
    # A question of a batch that cannot be read has a status of its own in a reply of 207.
    #
    # The coverage phase would list all its cases before the first is run; they are taken one by
    # one in a test of their own below.
    config=schemathesis.Config.from_dict(
        {
            "phases": {"coverage": {"enabled": False}},
            "checks": {
                "positive_data_acceptance": {
                    "expected-statuses": ["2xx", "3xx", "401", "403", "404", "422", "429", "5xx"]
                },
                "negative_data_rejection": {
                    "expected-statuses": ["207", "400", "401", "404", "406", "415", "422", "429"]
                },
            },
        }
    ),
)
# What `st run` by its own defaults finds, and why it stays.
KNOWN: Final = {
    # A wood or place of that name is not known, a bare number lacks its unit, a figure is right in
    # one system of units and not in the other, two members exclude each other: JSON Schema has no
    # words for these. 422 with every fault and the right form is the reply; the check allows none.
    "ST202 Schema-valid request rejected",
    # A question of a batch that cannot be read has its own 422 inside a reply of 207.
    "ST201 Schema-violating request accepted",
    # Every question is asked by GET too; the document lists GET where a person would write it.
    "ST205 Allow header mismatch",
}
counted: dict[str, int] = {}
# Of data that the document allows: how many were asked of each question, and how many answered.
allowed: dict[str, list[int]] = {}


def written(query: dict[str, Any]) -> dict[str, Any]:
    """A query as it can be sent: lists with commas.

    The document says `explode: false` of lists, which the generator heeds only where a list is
    the one thing allowed.
    """
    return {
        name: ",".join(map(str, value)) if isinstance(value, list) else value
        for name, value in query.items()
    }


@document.hook
def map_query(context: HookContext, query: dict[str, Any] | None) -> dict[str, Any] | None:
    """Write what the generator cannot."""
    return written(query) if query else query


@pytest.fixture(scope="module", autouse=True)
def _cases_counted() -> Iterator[None]:
    yield
    # Fails when the document or the generator has shrunk to nothing.
    assert sum(counted.values()) >= len(counted) * FEW / 2
    print(
        f"\nschemathesis: {sum(counted.values()):,} cases of {len(counted)} operations: {counted}"
    )
    shares = ", ".join(
        f"{name} {answered / asked:.0%} of {asked}" for name, (asked, answered) in allowed.items()
    )
    print(f"answered of what the document allows: {shares}")


def ask(case: Case[Any]) -> None:
    label = case.operation.label
    counted[label] = counted.get(label, 0) + 1
    reply = case.call()
    if case.meta is not None and case.meta.generation.mode is GenerationMode.POSITIVE:
        share = allowed.setdefault(label, [0, 0])
        share[0] += 1
        share[1] += reply.status_code in (200, 207)
    case.validate_response(reply)


@pytest.mark.slow
@document.parametrize()
@settings(
    max_examples=MANY if THOROUGH else FEW,
    deadline=None,
    derandomize=not THOROUGH,
    suppress_health_check=list(HealthCheck),
)
def test_every_reply_is_as_documented(case: Case[Any]) -> None:
    ask(case)


OPERATIONS: Final = {
    each.ok().label: each.ok() for each in document.get_all_operations() if isinstance(each, Ok)
}


@pytest.mark.slow
@pytest.mark.parametrize("label", OPERATIONS)
def test_every_reply_to_the_listed_cases_is_as_documented(label: str) -> None:
    """Every case that the schema tells apart; sound bodies come first."""
    operation = OPERATIONS[label]
    cases = iter_coverage_cases(
        operation=operation,
        generation_modes=list(GenerationMode),
        generate_duplicate_query_parameters=False,
        # Every question is asked by GET too, though not every GET is listed.
        unexpected_methods=DEFAULT_UNEXPECTED_METHODS - {"get"},
        generation_config=document.config.generation_for(operation=operation, phase="coverage"),
    )
    for number, case in enumerate(cases):
        if not THOROUGH and number >= LISTED:
            break
        if case.query:
            case.query = written(case.query)
        ask(case)


@pytest.mark.slow
def test_a_run_by_its_own_defaults_ends_and_finds_nothing_new(live: Live) -> None:
    """All phases over the whole document: some 3,700 cases, a minute here."""
    program = Path(sys.executable).parent / "st"
    ended = subprocess.run(
        [str(program), "run", f"{live.address}/openapi.json", "--no-color", "--seed", "1"],
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
        # Not where a configuration of its own could stand.
        cwd=live.log.parent,
    )
    summary = ended.stdout.rpartition("SUMMARY")[2]
    print(summary)
    tested = re.search(r"Tested: +(\d+)", summary)
    assert tested is not None
    assert int(tested[1]) == len(OPERATIONS)
    found = set(re.findall(r"(?m)^  \S+ (ST\d+ .*?): \d+$", summary))
    assert found <= KNOWN
    assert "Errors" not in summary
