"""What `/v1/fixings` answers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from api.question import Reply
from api.questions.fixings.ask import Asked
from api.replies import members
from api.replies.members import Answer, itself
from api.units import FORCE, LENGTH, PERCENT, PLAIN, STRESS
from api.words.holding import FIRST, HOLDING, PILOT, YIELDS
from model.answers.fixings import Fitted, fit
from model.basis import cite
from model.behaviour import slab as wood
from model.codes import Caution
from model.properties import finishes


def answer(asked: Asked) -> Reply[Fitted]:
    """Fit the fixings and say what goes along."""
    now = wood.mean_moisture(asked.moisture, asked.slab.thickness)
    fitted = fit(
        asked.slab,
        now,
        asked.extremes,
        tuple(float(one) for one in asked.positions),
        asked.fastener,
        asked.samples,
        fixed_at=asked.fixed_at,
        clearance=asked.clearance,
        recess=asked.recess,
        duration=asked.duration,
        bar=asked.bars,
        strip=asked.length_per_bar,
    )
    notes = [*fitted.notes]
    formulas = [*fitted.formulas]
    if asked.room is not None:
        formulas += [*asked.room.formulas, *finishes.formulas(asked.faces)]
        notes += [*asked.room.notes, *finishes.notes(asked.faces)]
    cautions = [
        Caution("structure"),
        Caution("people"),
        *wood.cautions(asked.slab, now),
        Caution("dust"),
    ]
    return Reply(fitted, notes, cautions, cite(*formulas))


class FixingsMoisture(Answer):
    """Mean moisture now, and the driest and dampest it will be."""

    now = members.Number(PERCENT)
    driest = members.Figure(PERCENT)
    dampest = members.Figure(PERCENT)


FIXED: Final = "for the fixed one, which has a round hole"


def slot_of(name: str) -> Callable[[Any], Any]:
    """A measure of a position's slot; None where it has none."""
    return lambda one: None if one.point.slot is None else getattr(one.point.slot, name)


class FixingsPosition(Answer):
    """One fixing: how far it moves, and its slot."""

    across = members.Number(LENGTH, of="point.across")
    moves_in = members.Sampled(LENGTH, "toward the fixed line", of="point.moves_in")
    moves_out = members.Sampled(LENGTH, "away from the fixed line", of="point.moves_out")
    slot_length = members.Number(LENGTH, of=slot_of("length"), null=FIXED)
    slot_width = members.Number(LENGTH, of=slot_of("width"), null=FIXED)
    shank_from_inner_end = members.Number(LENGTH, of=slot_of("shank_from_inner_end"), null=FIXED)
    washer = members.Number(
        LENGTH, "least that bears on both sides", of=slot_of("washer"), null=FIXED
    )
    washer_covering = members.Number(
        LENGTH,
        "that hides the slot wherever the shank stands",
        of=slot_of("washer_covering"),
        null=FIXED,
    )
    withdrawal = members.Number(
        FORCE, "allowable, its edge, bolt and head counted", null="where the code gives none"
    )
    fixed = members.Truth("whether it is the one to fix")


class FixingsOfTests(Answer):
    """What tests give on average, from least to most."""

    least = members.Number(FORCE, of=lambda ends: ends[0])
    most = members.Number(FORCE, of=lambda ends: ends[1])


class FixingsWithdrawal(Answer):
    """What draws one fixing straight out."""

    allowable = members.Number(FORCE, null="where the code gives none")
    reference = members.Number(FORCE, null="where the code gives none")
    factors = members.ByName(PLAIN)
    mean_of_tests = members.Part(FixingsOfTests, of="test_mean", null="where the code gives none")
    en1995_characteristic = members.Number(FORCE, null="outside what EN 1995 covers")
    en1995_design = members.Number(FORCE, null="outside what EN 1995 covers")
    hardwood_tests_characteristic = members.Number(
        FORCE, of="huebner_characteristic", null="outside the woods and screws tested"
    )


class FixingsPlace(Answer):
    """Where they may stand, and their pilot hole."""

    from_edge = members.Number(LENGTH, of="edge")
    from_end = members.Number(LENGTH, of="end")
    apart = members.Number(LENGTH)
    pilot_least = members.Number(LENGTH, of=lambda place: place.pilot[0])
    pilot_most = members.Number(LENGTH, of=lambda place: place.pilot[1])


class FixingsIndex(Answer):
    """How near each part is to giving way; it does at 1."""

    wood_splits = members.Sampled(PLAIN, of="wood_index")
    wood_crushes = members.Sampled(PLAIN, of="crush_index")
    fixings_sideways = members.Sampled(PLAIN, of="fixing_index")
    fixings_pulled = members.Sampled(PLAIN, of="pull_index")


class FixingsFixedSolid(Answer):
    """What fixing all of them solid to a bar would do."""

    between = members.Number(LENGTH, "from the first to the last")
    movement = members.Sampled(PERCENT, of=lambda solid: 100.0 * solid.strain)
    force_without_set = members.Sampled(FORCE, of="force_elastic")
    force = members.Sampled(FORCE)
    stress = members.Sampled(STRESS)
    index = members.Part(FixingsIndex, of=itself)
    first = members.Text("what gives way first", of=lambda solid: FIRST[solid.first])
    fixing_yields = members.Number(
        FORCE,
        "sideways force at which one fixing yields; the force along the bar grows no further when "
        "all have",
        of="yields",
    )
    how_fixings_yield = members.Text(of=lambda solid: YIELDS[solid.yield_mode])


class FixingsHolding(Answer):
    """Another way of holding, against the point that moves most, nine cases in ten."""

    name = members.Text(of=lambda one: HOLDING[one.holding.name][0])
    size = members.Number(LENGTH, "its usual size", of="holding.size")
    travel_in = members.Number(LENGTH, of="travel.inward")
    travel_out = members.Number(LENGTH, of="travel.outward")
    suffices = members.Truth("in its usual size")
    size_needed = members.Number(LENGTH, of="needs", null="where no such fitting does")


class FixingsAnswer(Answer):
    """Slots, places and withdrawal of the fixings."""

    moisture = members.Part(FixingsMoisture, of=itself)
    positions = members.Rows(FixingsPosition)
    fixed_at = members.Number(LENGTH, of="planned.fixed_at")
    fixed_point = members.Count(
        "index of the one to fix", of="planned.fixed", null="where none stands on the fixed line"
    )
    withdrawal = members.Part(FixingsWithdrawal, of="planned.withdrawal")
    place = members.Part(FixingsPlace, of="planned.place")
    pilot = members.Text(of=lambda fitted: PILOT[fitted.planned.place.pilot_note])
    left_under_face = members.Number(
        LENGTH, of=lambda fitted: max(fitted.planned.left_under_face, 0.0)
    )
    other_holdings = members.Rows(FixingsHolding, of="holdings")
    fixed_solid = members.Part(FixingsFixedSolid, left_out="for a single fixing")
