"""How `/v1/diagnosis` reads: as text and as a table."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

from api.question import Answered
from api.questions.diagnosis.answer import Diagnosed
from api.questions.diagnosis.ask import Asked
from api.replies import members, text
from api.replies.csv import Table
from api.replies.members import Answer
from api.replies.text import Page, Rows
from api.units import DAYS, LENGTH, PERCENT, POUND_FORCE, System
from api.words.diagnosis import CAUSES_SHORT, DOINGS, MEASURINGS, PARTS
from model.answers.diagnosis.diagnose import Diagnosis
from model.answers.diagnosis.to_come import AHEAD_DAYS, Doing
from model.behaviour.shape import cupped
from model.spread import Figure

WORTH_TELLING: Final = 0.02  # chance of a cause that the text names
MOST_TELLING: Final = 3  # measurements that the text names
# Notes that the decision says already.
SAID: Final = ("no-cup", "does-not-fit", "cannot-tell")


def page(answered: Answered[Asked, Diagnosed]) -> Page:
    """What it was and what bent it, the causes, what is to come, what would tell more."""
    result, system = answered.result, answered.system
    found = result.found
    if found is None:
        return Page(f"By the shrinkage formula it was at {_percent(result.before)} before.")
    parts: list[Rows | str] = [_causes(found), _parts(found, system), _today(found, system)]
    parts.append(_to_come(found, system))
    short = [parts[0], parts[2]]
    telling = found.telling[:MOST_TELLING]
    if telling:
        how = " ".join(MEASURINGS[one.measuring] for one in telling)
        parts.append(f"What would tell more: {how}")
        short.append(f"What would tell most: {MEASURINGS[telling[0].measuring]}")
    if found.key_force is not None and found.key_force.low is not None:
        force = found.key_force.low
        parts.append(
            f"The key sheared, so it was pulled with at least {force / 1000:.1f} kN "
            f"({force / POUND_FORCE:.0f} lbf)."
        )
    return Page(_decision(found), parts, short, said=SAID)


def _decision(found: Diagnosis) -> str:
    told = f"It was at about {_percent(found.before)} moisture before"
    if found.main is not None:
        chance = found.chances[0].chance
        return f"{told}. The cause: {CAUSES_SHORT[found.main]} ({100 * chance:.0f} % sure)."
    if any(note.code == "no-cup" for note in found.notes):
        return f"{told}; it has no cup to explain."
    if any(note.code == "does-not-fit" for note in found.notes):
        return (
            f"{told}, if what was seen is right. Can't tell what bent it: what was seen does not "
            "go together."
        )
    first, second = found.chances[:2]
    return (
        f"{told}. Can't tell yet what moved it: {CAUSES_SHORT[first.cause]} "
        f"({100 * first.chance:.0f} %) or {CAUSES_SHORT[second.cause]} "
        f"({100 * second.chance:.0f} %)."
    )


def _causes(found: Diagnosis) -> Rows:
    rows = [
        [CAUSES_SHORT[one.cause], f"{100 * one.chance:.0f} %"]
        for one in found.chances
        if one.chance >= WORTH_TELLING or one is found.chances[0]
    ]
    return Rows(rows, title="Causes", heads=["", "chance"])


def _parts(found: Diagnosis, system: System) -> Rows:
    rows = [
        [
            PARTS[one.cause],
            f"{one.share.value:.0f} %",
            text.band(one.share, 0),
            _cup(one.amount, system),
        ]
        for one in found.shares
    ]
    return Rows(rows, title="What bends it that way", heads=["", "share", "likely", "cup by it"])


def _today(found: Diagnosis, system: System) -> str:
    cup = found.cupped
    amount = text.short_length(cup.amount.value, system)
    return f"Today's cup by this: {amount} {cup.shape}; moisture {_percent(found.now)}."


def _to_come(found: Diagnosis, system: System) -> Rows:
    rows = [
        [
            DOINGS[one.doing],
            _cup(one.cup_after_month, system),
            _cup(one.cup_after_year, system),
            text.short_length(one.width_change.value, system),
        ]
        for one in found.options
    ]
    return Rows(rows, title="Still to come", heads=["", "cup in a month", "in a year", "width"])


def _percent(figure: Figure) -> str:
    if figure.low is None or figure.high is None:
        return f"{figure.value:.0f} %"
    if not math.isfinite(figure.high):
        return f"{figure.value:.0f} % or more"
    return f"{figure.value:.0f} % ({text.band(figure, 0)})"


def _cup(signed: Figure, system: System) -> str:
    cup = cupped(signed)
    if cup.shape == "flat":
        return "flat"
    return f"{text.short_length(cup.amount.value, system)} {cup.shape}"


class DiagnosisByFormula(Answer):
    """The moisture before by the formula alone, for a sheet."""

    before = members.Figure(PERCENT)


def _course(doing: Doing) -> Callable[[Diagnosis], Any]:
    return lambda found: next(one.course for one in found.options if one.doing == doing)


class DiagnosisCups(Answer):
    """The cup of the year to come by what is done, edges up positive, for a sheet."""

    day = members.Series(DAYS, of=lambda found: AHEAD_DAYS)
    cup_left_as_it_is = members.Series(LENGTH, of=_course("left"))
    cup_turned_over = members.Series(LENGTH, of=_course("turned"))
    cup_both_faces_opened = members.Series(LENGTH, of=_course("opened"))
    cup_both_faces_finished_alike = members.Series(LENGTH, of=_course("finished"))


def table(answered: Answered[Asked, Diagnosed]) -> Table:
    """The cup of the year to come by what is done; or the formula's row."""
    result, system = answered.result, answered.system
    if result.found is None:
        return Table(DiagnosisByFormula().columns([result]), system)
    return Table(DiagnosisCups().side_by_side(result.found), system)
