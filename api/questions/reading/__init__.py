"""`/v1/reading`: readings and weighings become moisture, with its error, and what to read next."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.reading.answer import ReadingAnswer, answer
from api.questions.reading.ask import ReadingShape
from api.questions.reading.examples import EXAMPLES
from api.questions.reading.tell import page, table

QUESTION: Final = Question(
    name="reading",
    title="Readings",
    summary="Meter readings, oven-dry pairs and sample boards corrected to moisture with their "
    "error; mean and gradient through the thickness; what end-grain readings can and can't say; "
    "where to read next.",
    shape=ReadingShape(),
    answer=answer,
    answered=ReadingAnswer(),
    text=page,
    table=table,
    examples=EXAMPLES,
)
