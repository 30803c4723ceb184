"""`/v1/stiffening`: bars and keys that hold a slab, and what they and their fixings bear."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.stiffening.answer import StiffeningAnswer, answer
from api.questions.stiffening.ask import StiffeningShape
from api.questions.stiffening.examples import EXAMPLES
from api.questions.stiffening.tell import chart, page, table

QUESTION: Final = Question(
    name="stiffening",
    title="Stiffening",
    summary="How flat bars across the grain keep a slab, what bars and fixings bear through the "
    "first years, what a solid fixing would do, how many bars would do, and what keys across a "
    "check can hold.",
    shape=StiffeningShape(),
    answer=answer,
    answered=StiffeningAnswer(),
    text=page,
    table=table,
    chart=chart,
    follows=True,
    examples=EXAMPLES,
)
