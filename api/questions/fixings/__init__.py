"""`/v1/fixings`: slots, washers and withdrawal of fixings in a slab that moves."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.fixings.answer import FixingsAnswer, answer
from api.questions.fixings.ask import FixingsShape
from api.questions.fixings.examples import EXAMPLES
from api.questions.fixings.tell import page, table

QUESTION: Final = Question(
    name="fixings",
    title="Fixings",
    summary="How far each fixing moves in and out as the slab moves, its slot and where the shank "
    "stands today, what draws it out by several codes, where it may stand, and what fixing all of "
    "them solid would do.",
    shape=FixingsShape(),
    answer=answer,
    answered=FixingsAnswer(),
    in_tables=("moisture", "fixed_at", "positions", "fixed_solid"),
    text=page,
    table=table,
    follows=True,
    examples=EXAMPLES,
)
