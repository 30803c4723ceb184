"""`/v1/flattening`: what water, clamps and time make of a cup, and what stays after a year."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.flattening.answer import FlatteningAnswer, answer
from api.questions.flattening.ask import FlatteningShape
from api.questions.flattening.examples import EXAMPLES
from api.questions.flattening.tell import chart, page, table

QUESTION: Final = Question(
    name="flattening",
    title="Flattening",
    summary="Taking a cup out by water, clamps and time: a plan judged or proposed, what is left "
    "when it is let go and after a year, and the other ways side by side. Confidence is low.",
    shape=FlatteningShape(),
    answer=answer,
    answered=FlatteningAnswer(),
    text=page,
    table=table,
    chart=chart,
    follows=True,
    examples=EXAMPLES,
)
