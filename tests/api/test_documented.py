"""What a question takes and tells is what the committed document says: limits, words, examples.

The whole document is compared in `test_openapi`; here a question at a time, without its answers.
"""

from __future__ import annotations

import sys
from typing import Any, Final

import orjson
import pytest

from api import openapi
from api.catalogues import CATALOGUES
from api.components import Components, component
from api.question import Question
from api.questions import QUESTIONS, air, equilibrium, load, movement, room, settle
from api.questions.conditioning import ask as conditioning
from api.questions.conditioning import examples as conditioning_examples
from api.questions.conditioning.answer import ConditioningAnswer
from api.questions.course import ask as course
from api.questions.course import examples as course_examples
from api.questions.course.answer import CourseAnswer
from api.questions.diagnosis import ask as diagnosis
from api.questions.diagnosis import examples as diagnosis_examples
from api.questions.diagnosis.answer import DiagnosisAnswer
from api.questions.fixings import ask as fixings
from api.questions.fixings import examples as fixings_examples
from api.questions.fixings.answer import FixingsAnswer
from api.questions.flattening import ask as flattening
from api.questions.flattening import examples as flattening_examples
from api.questions.flattening.answer import FlatteningAnswer
from api.questions.readiness import ask as readiness
from api.questions.readiness import examples as readiness_examples
from api.questions.readiness.answer import ReadinessAnswer
from api.questions.reading import ask as reading
from api.questions.reading import examples as reading_examples
from api.questions.reading.answer import ReadingAnswer
from api.questions.repair import ask as repair
from api.questions.repair import examples as repair_examples
from api.questions.repair.answer import RepairAnswer
from api.questions.stiffening import ask as stiffening
from api.questions.stiffening import examples as stiffening_examples
from api.questions.stiffening.answer import StiffeningAnswer
from api.replies.members import Answer
from api.schema import Shape
from api.shapes import evidence, faces, holding, log, moisture, slab
from api.shapes import room as room_shapes

COMMITTED: Final[dict[str, Any]] = orjson.loads(openapi.COMMITTED.read_bytes())
SCHEMAS: Final[dict[str, Any]] = COMMITTED["components"]["schemas"]


def compare(components: Components) -> None:
    """What was declared is what is committed; dimensions that nothing uses are not."""
    made = orjson.loads(orjson.dumps(components.by_kind["schemas"]))
    for name in SCHEMAS.keys() & made.keys():
        assert made[name] == SCHEMAS[name], name


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda each: each.name)
def test_what_a_question_takes_and_tells_is_committed(question: Question[Any, Any]) -> None:
    components = Components()
    components.of(question.shape)
    components.of(question.answered)
    compare(components)
    committed = COMMITTED["paths"][f"/v1/{question.name}"]["post"]["requestBody"]["content"]
    bodies = [one["value"] for one in committed["application/json"]["examples"].values()]
    assert [orjson.loads(orjson.dumps(one.body)) for one in question.examples] == bodies


def test_what_a_list_takes_and_tells_is_committed() -> None:
    components = Components()
    for catalogue in CATALOGUES:
        components.of(catalogue.row)
        told = COMMITTED["paths"][f"/v1/{catalogue.name}"]["get"]["parameters"]
        lines = orjson.loads(orjson.dumps(list(components.line(catalogue.shape))))
        assert all(line in told for line in lines), catalogue.name
    compare(components)


ASKED: Final = (
    air, conditioning, course, diagnosis, equilibrium, evidence, faces, fixings, flattening,
    holding, load, log, moisture, movement, readiness, reading, repair, room, room_shapes, settle,
    slab, stiffening,
)  # fmt: skip
ANSWERS: Final = (
    CourseAnswer,
    FixingsAnswer,
    StiffeningAnswer,
    FlatteningAnswer,
    ReadingAnswer,
    ReadinessAnswer,
    DiagnosisAnswer,
    ConditioningAnswer,
    RepairAnswer,
)
TOLD: Final = (
    air, equilibrium, load, movement, room, settle,
    *(sys.modules[one.__module__] for one in ANSWERS),
)  # fmt: skip
EXAMPLES: Final = (
    conditioning_examples, course_examples, diagnosis_examples, fixings_examples,
    flattening_examples, readiness_examples, reading_examples, repair_examples,
    stiffening_examples,
)  # fmt: skip


def declared(modules: tuple[Any, ...], kind: type[Shape] | type[Answer]) -> set[str]:
    """Names of the components that modules declare."""
    return {
        component(one())
        for module in modules
        for one in vars(module).values()
        if isinstance(one, type) and issubclass(one, kind) and one.__module__ == module.__name__
    }


def test_every_shape_is_documented_and_every_answer_but_those_of_sheets() -> None:
    assert declared(ASKED, Shape) <= SCHEMAS.keys()
    answers = declared(TOLD, Answer)
    assert len(answers & SCHEMAS.keys()) > 80
    # Of a base class and of sheets nothing is documented.
    assert answers - SCHEMAS.keys() == {"AirFigures", "RoomYear", "SettleTrace"}


def test_examples_of_a_folder_are_those_of_its_question() -> None:
    by_name = {question.name: question for question in QUESTIONS}
    for module in EXAMPLES:
        name = module.__name__.split(".")[2]
        assert by_name[name].examples == module.EXAMPLES
