"""The examples of all questions, each asked once in a process."""

from __future__ import annotations

import functools
import os
from dataclasses import replace
from typing import Any, Final

import pytest

from api.question import Answered, Question
from api.questions import BY_NAME, QUESTIONS
from api.units import System

EXAMPLES: Final = [
    pytest.param(question, number, id=f"{question.name}-{number}")
    for question in QUESTIONS
    for number in range(len(question.examples))
]
every_example: Final = pytest.mark.parametrize(("question", "number"), EXAMPLES)


@functools.cache
def _answered(name: str, number: int) -> Answered[Any, Any]:
    question = BY_NAME[name]
    return question.ask(dict(question.examples[number].body))


def answered(
    question: Question[Any, Any], number: int, system: System | None = None
) -> Answered[Any, Any]:
    """An example with its answer, to be written in the units asked for or in those of a system."""
    # The measure of tests by small faults notes what each test runs.
    ask = _answered.__wrapped__ if "STILLWOOD_ANSWER_ANEW" in os.environ else _answered
    told = ask(question.name, number)
    return told if system is None else replace(told, system=system)
