"""What `/v1/flattening` answers."""

from __future__ import annotations

from typing import Any

from api import words
from api.question import Reply
from api.questions.flattening.ask import Asked, PlanTold
from api.replies import members
from api.replies.members import Answer, itself
from api.replies.parts import CupFigure
from api.units import (
    DAYS,
    FORCE,
    HOURS,
    LENGTH,
    MASS,
    MASS_PER_AREA,
    MOMENT,
    MOMENT_PER_LENGTH,
    PLAIN,
    STRESS,
    TEMPERATURE,
)
from api.words.flattening import VERDICT, WAYS, done
from model.answers.flattening.flatten import Flattening, flatten
from model.answers.flattening.plan import Case, Plan, whole
from model.basis import cite
from model.behaviour import slab as wood
from model.behaviour.shape import cupped
from model.codes import Caution
from model.properties import finishes
from model.spread import figure
from model.surroundings.room import Room


def answer(asked: Asked) -> Reply[Flattening]:
    """Judge the plan, or propose one, and say what goes along."""
    case, told = asked.case, asked.plan
    drying = asked.room if told is None or told.drying is None else told.drying
    plan = None if told is None else _plan(case, told, drying)
    made = flatten(case, drying, plan, None if told is None else told.temperature)
    now = wood.mean_moisture(case.moisture, case.slab.thickness)
    cautions = [
        Caution("structure"),
        Caution("people"),
        Caution("clamps"),
        Caution("weights"),
        *wood.cautions(case.slab, now),
        Caution("hot-water"),
        Caution("heaters"),
        Caution("dust"),
        Caution("oily-rags"),
    ]
    notes = [*made.notes, *asked.room.notes, *finishes.notes(asked.faces)]
    formulas = (
        *("flattening", "clamping", "bending-strength", "transport-diffusion", "shrinkage"),
        *asked.room.formulas,
        *finishes.formulas(asked.faces),
    )
    return Reply(made, notes, cautions, cite(*formulas))


def _plan(case: Case, told: PlanTold, drying: Room) -> Plan | None:
    if told.wet_face is None:
        return None
    face = told.wet_face
    if face in ("top", "bottom"):
        face = "round" if face == case.round else "hollow"
    wet = face if face in ("round", "hollow") else None
    return whole(
        case,
        wet_face=wet,
        hours=told.hours,
        clamped=told.clamped,
        days=told.days,
        over_correct=told.over_correct,
        temperature=told.temperature,
        drying=drying,
        in_steps=told.in_steps,
    )


class FlatteningPlan(Answer):
    """The plan, as given or proposed."""

    proposed = members.Truth()
    wet_face = members.Word(
        ("top", "bottom", "none"), "face it wets", of=lambda made: made.face or "none"
    )
    clamped = members.Truth(of=lambda made: made.plan.hold_days)
    hold_days = members.Number(
        DAYS,
        "held, or left free, to dry",
        of=lambda made: made.plan.hold_days or made.treatment.days,
    )
    over_correct = members.Number(PLAIN, of="plan.over_correct")
    in_steps = members.Truth("drawn little by little over weeks", of="plan.in_steps")
    words = members.Text(of=lambda made: done(made.treatment.does))
    hours = members.Number(
        HOURS,
        "kept wet",
        of=lambda made: made.plan.hours if made.face else None,
        left_out="when nothing is wetted",
    )
    temperature = members.Number(
        TEMPERATURE,
        "of slab and water while wet",
        of=lambda made: made.warmth if made.face else None,
        left_out="when nothing is wetted",
    )


def _signed(name: str) -> Any:
    def read(one: Any) -> Any:
        values = getattr(one, name)
        return None if values is None else cupped(figure(values))

    return read


def _bending(name: str) -> Any:
    return lambda one: None if one.bends is None else getattr(one.bends, name)


class FlatteningClamping(Answer):
    """What pulls it to its held shape: cauls with a bearer under the middle, or an even load."""

    moment = members.Sampled(MOMENT_PER_LENGTH, "largest")
    moment_at_the_end = members.Sampled(MOMENT_PER_LENGTH, "at the end of the hold", of="lasting")
    cauls = members.Count(null="without a length")
    caul_spacing = members.Number(LENGTH, of="spacing")
    force_per_clamp = members.Sampled(FORCE, "at each end of each caul")
    even_load = members.Sampled(STRESS, "that does the same", of="load")


class FlatteningBars(Answer):
    """What each bar bears that pulls flat what is left."""

    moment = members.Sampled(MOMENT)
    moment_after_year = members.Sampled(MOMENT, of="lasting")
    pull = members.Sampled(
        FORCE, "on the fixing that is worst off", null="with fewer than two fixings"
    )
    chance_breaks = members.Number(PLAIN, "the slab, drawn straight at once", of="breaks")
    chance_breaks_in_steps = members.Number(PLAIN, "over weeks", of="breaks_in_steps")
    chance_tears = members.Number(PLAIN, "a fixing", of="tears", null="without a fastener")


class FlatteningWay(Answer):
    """One way of dealing with the cup, and what comes of it over a year common to all."""

    name = members.Word(tuple(WAYS.values()), of=lambda one: WAYS[one.way])
    words = members.Text("what is done", of=lambda one: done(one.does))
    days = members.Number(DAYS, "until it is let go")
    cup_released = members.Part(CupFigure, "when let go", of=_signed("released"))
    cup_after_year = members.Part(
        CupFigure, "free, at the end of that year", of=_signed("after_year")
    )
    largest_in_year = members.Part(CupFigure, of=_signed("largest_in_year"))
    stress_index = members.Sampled(PLAIN, "of the skin, largest until it is let go", of="index")
    bending_stress = members.Sampled(
        STRESS, "largest", of=_bending("stress"), null="when nothing is clamped"
    )
    bending_index = members.Sampled(
        PLAIN,
        "that over a low estimate of what the wood bears",
        of=_bending("index"),
        null="when nothing is clamped",
    )
    chance_breaks = members.Number(PLAIN, "that clamping splits it", of="breaks")
    thickness_lost = members.Number(LENGTH)
    width_lost = members.Number(LENGTH)
    thickness_left = members.Number(LENGTH)
    cup_after_year_with_bars = members.Part(
        CupFigure, of=_signed("after_year_held"), left_out="without bars"
    )
    clamping = members.Part(FlatteningClamping, left_out="when nothing is clamped")
    bars = members.Part(FlatteningBars, left_out="without bars")


class FlatteningLeast(Answer):
    """Ways that leave the least cup over the year, of those that will hardly split the slab."""

    losing_no_wood = members.Word(tuple(WAYS.values()), of=lambda made: WAYS[made.best])
    of_all = members.Word(tuple(WAYS.values()), of=lambda made: WAYS[made.best_with_loss])


class FlatteningWater(Answer):
    """Water that the wet face takes up."""

    taken_up = members.Sampled(MASS_PER_AREA, of="per_area")
    depth = members.Number(LENGTH, "down to which it is more than 1 % damper")
    whole = members.Number(MASS, "over the face", left_out="without a length")


class FlatteningAnswer(Answer):
    """The plan, what comes of it, and the other ways beside it."""

    confidence = members.Word(("low",), of=lambda made: "low")
    verdict = members.Word(
        tuple(VERDICT.values()), "whether to try the plan", of=lambda made: VERDICT[made.verdict]
    )
    chance_breaks = members.Number(PLAIN, "that the plan splits the slab", of="breaks")
    chance_helps = members.Number(
        PLAIN, "that it leaves clearly less, over the year, than waiting does", of="helps"
    )
    reasons_against = members.Texts(of=lambda made: [words.reason(one) for one in made.reasons])
    plan = members.Part(FlatteningPlan, of=itself)
    result = members.Part(FlatteningWay, of="treatment")
    alternatives = members.Rows(FlatteningWay)
    least_cup = members.Part(FlatteningLeast, of=itself)
    water = members.Part(FlatteningWater, of="uptake", left_out="when nothing is wetted")
    weight = members.Number(MASS, "of the slab", left_out="without a length")
