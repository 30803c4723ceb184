"""The questions of the service, one file each; a new one is a file here and its line below."""

from __future__ import annotations

from typing import Any, Final

from api.question import Question
from api.questions import (
    air,
    conditioning,
    course,
    diagnosis,
    equilibrium,
    fixings,
    flattening,
    load,
    movement,
    readiness,
    reading,
    repair,
    room,
    settle,
    stiffening,
)

QUESTIONS: Final[tuple[Question[Any, Any], ...]] = (
    equilibrium.QUESTION,
    air.QUESTION,
    room.QUESTION,
    movement.QUESTION,
    settle.QUESTION,
    course.QUESTION,
    fixings.QUESTION,
    stiffening.QUESTION,
    flattening.QUESTION,
    load.QUESTION,
    reading.QUESTION,
    readiness.QUESTION,
    diagnosis.QUESTION,
    conditioning.QUESTION,
    repair.QUESTION,
)
BY_NAME: Final = {question.name: question for question in QUESTIONS}
