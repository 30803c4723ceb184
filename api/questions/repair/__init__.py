"""`/v1/repair`: what to do about a slab that moved, or on its way from the stack to its room."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.repair.answer import RepairAnswer, answer
from api.questions.repair.ask import RepairShape
from api.questions.repair.examples import EXAMPLES
from api.questions.repair.tell import calendar, chart, page

QUESTION: Final = Question(
    name="repair",
    title="The whole repair, or the plan",
    summary="The story of a slab as its maker tells it: what probably happened, what to do in "
    "which order and until when, and what it will do after. Only wood and size are needed. Where "
    "nothing moved it is a plan from the stack to the room.",
    shape=RepairShape(),
    answer=answer,
    answered=RepairAnswer(),
    in_tables=(
        "verdict",
        "words",
        "causes",
        "slid",
        "cup_left",
        "flat_by_itself",
        "steps",
        "ready_on",
        "after",
    ),
    text=page,
    chart=chart,
    calendar=calendar,
    follows=True,
    examples=EXAMPLES,
)
