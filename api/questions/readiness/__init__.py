"""`/v1/readiness`: when a slab is ready, from dated readings or weights."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.readiness.answer import ReadinessAnswer, answer
from api.questions.readiness.ask import ReadinessShape
from api.questions.readiness.examples import EXAMPLES
from api.questions.readiness.tell import chart, page, table

QUESTION: Final = Question(
    name="readiness",
    title="Readiness",
    summary="From dated readings or weights: the present state and the rate of drying fitted "
    "together, the date when it is ready (likely, early, late), and whether the readings "
    "contradict each other or the species, or the slab is stuck or was wetted.",
    shape=ReadinessShape(),
    answer=answer,
    answered=ReadinessAnswer(),
    text=page,
    table=table,
    chart=chart,
    follows=True,
    examples=EXAMPLES,
)
