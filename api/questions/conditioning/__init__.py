"""`/v1/conditioning`: bringing wood to a moisture in a shop, by heat alone or by held humidity."""

from __future__ import annotations

from typing import Final

from api.question import Question
from api.questions.conditioning.answer import ConditioningAnswer, answer
from api.questions.conditioning.ask import ConditioningShape
from api.questions.conditioning.examples import EXAMPLES
from api.questions.conditioning.tell import page, table

QUESTION: Final = Question(
    name="conditioning",
    title="Conditioning",
    summary="For a target moisture and a shop: the temperature to heat to with no drying machine, "
    "or the humidity to hold, month by month; where heat over-dries or falls short; water to carry "
    "away, days and heat.",
    shape=ConditioningShape(),
    answer=answer,
    answered=ConditioningAnswer(),
    text=page,
    table=table,
    examples=EXAMPLES,
    follows=True,
)
