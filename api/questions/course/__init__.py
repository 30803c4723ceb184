"""`/v1/course`: a slab through its stays - moisture, size, shape and stress in time."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.course.answer import CourseAnswer, answer
from api.questions.course.ask import CourseShape
from api.questions.course.examples import EXAMPLES
from api.questions.course.tell import chart, page, table

QUESTION: Final = Question(
    name="course",
    title="A slab through its stays",
    summary="Where a slab lies, for how long, with what on its faces and how held, planed or "
    "wetted in between: its moisture, width, cup and stress day by day, with the set it keeps.",
    shape=CourseShape(),
    answer=answer,
    answered=CourseAnswer(),
    text=page,
    table=table,
    chart=chart,
    follows=True,
    examples=EXAMPLES,
)
