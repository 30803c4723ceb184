"""What `/v1/repair` answers."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Any, Final

from api.question import Reply
from api.questions.repair.ask import Asked
from api.replies import members
from api.replies.members import Answer
from api.replies.parts import CupFigure
from api.units import DAYS, LENGTH, PERCENT
from api.words.diagnosis import CAUSES, CAUSES_SHORT
from api.words.repair import ASKS, ONLY_IF, STEPS, VERDICTS, StepWords, said
from model.basis import cite
from model.behaviour.shape import Cupped, cupped
from model.codes import Note
from model.properties import finishes, species
from model.repair.plan import Repaired, repair
from model.repair.steps import Step
from model.spread import Figure

BY_FORCE: Final = ("flatten", "flatten-in-steps")


@dataclass(frozen=True, slots=True)
class Dated:
    """A step with its number and the day it begins."""

    number: int
    step: Step
    starts: datetime.date

    @property
    def on(self) -> datetime.date:
        """The day it begins."""
        return self.starts + datetime.timedelta(days=round(self.step.day))

    @property
    def words(self) -> StepWords:
        """Its words."""
        return STEPS[self.step.code]

    @property
    def lasts(self) -> Figure | None:
        """How long it lasts [days]."""
        step = self.step
        if step.days is None:
            return None
        if step.low is None or step.high is None:
            return Figure(step.days)
        return Figure(step.days, min(step.low, step.days), max(step.high, step.days))


@dataclass(frozen=True, slots=True)
class Told:
    """The repair with its steps dated."""

    repaired: Repaired
    steps: tuple[Dated, ...]


def answer(asked: Asked) -> Reply[Told]:
    """Put the steps together, and say what goes along."""
    story = asked.story
    made = repair(story)
    steps = tuple(Dated(number, step, asked.starts) for number, step in enumerate(made.steps, 1))
    found = None if made.happened is None else made.happened.diagnosis
    notes: list[Note] = [*species.notes(story.slab.species), *made.notes]
    formulas = ["repair-order"]
    if found is not None:
        notes += found.notes
        formulas += ["diagnosis-fit", "transport-diffusion"]
    if made.settled is not None and asked.room is not None:
        notes += [*made.settled.notes, *finishes.notes(made.finish)]
        formulas += [*made.settled.formulas, *asked.room.formulas]
    if made.flattening is not None:
        formulas += ["flattening", "bending-strength"]
        if any(step.code in BY_FORCE for step in made.steps):
            notes += made.flattening.notes
    return Reply(Told(made, steps), notes, list(made.cautions), cite(*dict.fromkeys(formulas)))


def chance_of(one: Any) -> float:
    """A chance in percent."""
    return 100.0 * float(one.chance)


class RepairCause(Answer):
    """What may have happened, and how likely it is."""

    cause = members.Word(tuple(CAUSES))
    words = members.Text(of=lambda one: CAUSES_SHORT[one.cause])
    chance = members.Number(PERCENT, of=chance_of)


class RepairStep(Answer):
    """A step of the work."""

    number = members.Count()
    step = members.Word(tuple(STEPS), "its code", of="step.code")
    title = members.Text(of="words.title")
    only_if = members.Text(
        "what must be found for it to be taken",
        of=lambda one: ONLY_IF.get(one.step.only_if),
        left_out="where it is taken in any case",
    )
    does = members.Text(of=lambda one: said(one.words.does, one.step.does.figures))
    why = members.Text(of=lambda one: said(one.words.why, one.step.does.figures) or None,
                       left_out="where it goes without saying")  # fmt: skip
    until = members.Text(
        "what says go on",
        of=lambda one: said(one.words.until, one.step.does.figures) or None,
        left_out="where nothing ends it but its being done",
    )
    begins = members.Day(
        of=lambda one: None if one.step.earliest else one.on,
        null="where a step before it lasts nobody knows how long",
    )
    lasts = members.Figure(DAYS, left_out="where it takes hours, or nobody can tell")


class RepairAsk(Answer):
    """Something to tell or to read."""

    what = members.Word(tuple(ASKS), of="code")
    how = members.Text(of=lambda one: ASKS[one.code])
    uncertainty_removed = members.Number(
        PERCENT,
        "share of the doubt about the cause",
        of=lambda one: None if one.removes is None else 100.0 * one.removes,
        left_out="where it is not known",
    )


def _causes(told: Told) -> Any:
    happened = told.repaired.happened
    return () if happened is None or happened.diagnosis is None else happened.diagnosis.chances


def _slid_chance(told: Told) -> float | None:
    happened = told.repaired.happened
    if happened is None or happened.slid_chance is None:
        return None
    return 100.0 * happened.slid_chance


def _cup_left(told: Told) -> Cupped | None:
    left = told.repaired.cup_left
    return None if left is None else cupped(left)


def _figure_of(name: str) -> Any:
    def read(told: Told) -> Any:
        settled = told.repaired.settled
        return None if settled is None else getattr(settled, name)

    return read


def _after(told: Told) -> Repaired | None:
    return None if told.repaired.settled is None else told.repaired


class RepairSeason(Answer):
    """The driest or dampest time of its year."""

    month = members.Month()
    moisture = members.Figure(PERCENT)


class RepairAfter(Answer):
    """What it will do, finished and in its room."""

    moisture = members.Figure(PERCENT, "mean of the year", of="settled.mean")
    driest = members.Part(RepairSeason, of="settled.driest")
    dampest = members.Part(RepairSeason, of="settled.dampest")
    cup = members.Part(
        CupFigure, "the larger of its year, on top of what is left", of="swing.larger"
    )
    edge_grows = members.Figure(
        LENGTH, "at each edge from its mean width", of="settled.gap_when_settled"
    )


class RepairAnswer(Answer):
    """What probably happened, what to do in which order, and what it will do after."""

    verdict = members.Word(tuple(VERDICTS), of="repaired.verdict")
    words = members.Text(of=lambda told: VERDICTS[told.repaired.verdict])
    causes = members.Rows(
        RepairCause, "likeliest first; empty where too little is told, or nothing moved", of=_causes
    )
    slid = members.Truth(
        "whether a gap grew by more than its wood can shrink",
        of=lambda told: told.repaired.happened is not None and told.repaired.happened.slid,
    )
    slid_chance = members.Number(
        PERCENT,
        "how likely it slid rather than shrank",
        of=_slid_chance,
        left_out="without a gap at a wall",
    )
    cup_left = members.Part(
        CupFigure,
        "once it is even, with nothing done",
        of=_cup_left,
        left_out="where it cannot be told",
    )
    flat_by_itself = members.Number(
        PERCENT,
        "chance that this is flat enough",
        of=lambda told: (
            None if told.repaired.flat_by_itself is None else 100.0 * told.repaired.flat_by_itself
        ),
        left_out="where it cannot be told",
    )
    steps = members.Rows(RepairStep)
    asks = members.Rows(RepairAsk, "what would tell most, first", of="repaired.asks")
    ready_on = members.Day(
        "day it is fitted, as far as every step before it is known",
        of=lambda told: next(
            (
                one.on
                for one in told.steps
                if one.step.code == "fit" and told.repaired.done_on is not None
            ),
            None,
        ),
        null="when it does not come to that, or nobody knows how long it must wait",
    )
    after = members.Part(RepairAfter, of=_after, left_out="without a room")
