"""`/v1/diagnosis`: why a slab moved, what it must have been, and what is still to come."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.diagnosis.answer import DiagnosisAnswer, answer
from api.questions.diagnosis.ask import DiagnosisShape
from api.questions.diagnosis.examples import EXAMPLES
from api.questions.diagnosis.tell import page, table

QUESTION: Final = Question(
    name="diagnosis",
    title="Diagnosis",
    summary="From width before and after, cup, dates, air and faces: the moisture it must have "
    "had, what bent it (the rings, a wet core, unlike faces, locked-in stress) with shares, what "
    "is still to come, and which cheap measurement would tell.",
    shape=DiagnosisShape(),
    answer=answer,
    answered=DiagnosisAnswer(),
    text=page,
    table=table,
    follows=True,
    examples=EXAMPLES,
)
