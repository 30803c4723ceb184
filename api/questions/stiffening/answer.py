"""What `/v1/stiffening` answers."""

from __future__ import annotations

from typing import Any

from api.question import Reply
from api.questions.stiffening.ask import Asked
from api.replies import members
from api.replies.members import LEFT_OUT, Answer
from api.replies.parts import CupFigure
from api.units import AREA, FORCE, LENGTH, MASS, MOMENT, PERCENT, PLAIN, SECOND_MOMENT, STRESS
from api.words.holding import FIRST, PART, VERDICT, WEAKEST
from model.answers.stiffening import Held, hold
from model.basis import cite
from model.behaviour import slab as wood
from model.behaviour.shape import cupped
from model.codes import Caution
from model.properties import finishes
from model.spread import figure
from model.surroundings.calendar import day_of


def answer(asked: Asked) -> Reply[Held]:
    """Follow the slab with what holds it, and say what goes along."""
    slab = asked.slab
    held = hold(
        slab,
        asked.moisture,
        asked.faces,
        asked.room,
        day_of(asked.starts),
        asked.samples,
        stiffeners=None if asked.bars is None else asked.bars.on(slab),
        along=asked.keys,
        cup=asked.cup,
        limit=asked.limit,
    )
    now = wood.mean_moisture(asked.moisture, slab.thickness)
    cautions = [
        Caution("structure"),
        Caution("people"),
        Caution("clamps"),
        *wood.cautions(slab, now),
        Caution("dust"),
        *finishes.cautions(asked.faces),
    ]
    notes = [*asked.room.notes, *finishes.notes(asked.faces), *held.notes]
    return Reply(
        held,
        notes,
        cautions,
        cite(*held.formulas, *asked.room.formulas, *finishes.formulas(asked.faces)),
    )


class StiffeningBars(Answer):
    """One of the bars, and how they lie."""

    area = members.Number(AREA, of="stiffeners.bar.section.area")
    centroid = members.Number(LENGTH, "from the slab", of="stiffeners.bar.section.centroid")
    second_moment = members.Number(SECOND_MOMENT, of="stiffeners.bar.section.second_moment")
    modulus = members.Number(STRESS, of="stiffeners.bar.modulus")
    count = members.Count(of="layout.count")
    along = members.Series(LENGTH, "distances from one end of the slab", of="stiffeners.along")
    widest_spacing = members.Number(LENGTH, of="layout.widest")
    largest_stress = members.Sampled(
        STRESS, "in the bar", of="bar_stress", null="where only its stiffness is known"
    )
    groove_loss = members.Number(
        PERCENT, "of the slab's stiffness across", of=lambda held: 100.0 * held.groove_loss
    )


def _largest(name: str) -> Any:
    return lambda held: cupped(figure(getattr(held, name)))


class StiffeningCup(Answer):
    """The largest cup, free and with the bars, and its yearly swing."""

    free = members.Part(CupFigure, of=_largest("largest_free"))
    at_bars = members.Part(CupFigure, of=_largest("largest_at_bars"))
    between_bars = members.Part(CupFigure, of=_largest("largest_midway"))
    yearly_swing_free = members.Sampled(LENGTH, of="yearly_free")
    yearly_swing_between_bars = members.Sampled(LENGTH, of="yearly_midway")


class StiffeningMoment(Answer):
    """What each bar bears; positive when the slab's edges want up."""

    largest = members.Sampled(MOMENT, of="largest_moment")
    without_set = members.Number(MOMENT, of="moment_elastic")
    lasting = members.Sampled(MOMENT, "over the last year", of="moment_lasting")


class StiffeningIndex(Answer):
    """Stress index of the wood's skin; checks are to be reckoned with from 0.5."""

    free = members.Sampled(PLAIN, of="index_free")
    held = members.Sampled(PLAIN, of="index_held")


class StiffeningBending(Answer):
    """What bending it straight does to the slab."""

    stress = members.Sampled(STRESS, "largest at a face", of="bends.stress")
    index = members.Sampled(
        PLAIN,
        "that over a low estimate of what the wood bears; it does not decide",
        of="bends.index",
    )
    chance_breaks = members.Number(PLAIN, "drawn flat at once", of="bends.breaks")
    chance_breaks_in_steps = members.Number(
        PLAIN, "drawn flat little by little over weeks", of="bends.breaks_in_steps"
    )


class StiffeningAnchor(Answer):
    """What the fixing that is worst off bears for good."""

    thread = members.Number(LENGTH, "of it that holds wood")
    wood = members.Number(FORCE, null="where the code gives none")
    bolt = members.Number(FORCE, "its bolt or core")
    head = members.Number(FORCE, "its head or washer in a wooden bar", null="on metal")
    weakest = members.Text(of=lambda one: PART[one.weakest])
    share_by_edge = members.Number(
        PLAIN, "of the wood's value that the distances from edge and end leave", of="edge"
    )


class StiffeningPull(Answer):
    """What the fixings bear; judged by the worst of them."""

    largest = members.Sampled(FORCE, "on the worst", of="pulls.hardest")
    worst = members.Count("index of the worst", of="pulls.worst")
    by_point = members.Series(FORCE, "largest on each, central case", of="pulls.by_point")
    by_rule = members.Sampled(
        FORCE,
        "three moments over the distance of the outermost: by hand, the least",
        of="pulls.by_rule",
    )
    bears = members.Part(StiffeningAnchor, of="pulls.anchor", left_out="without a fastener")
    allowable = members.Number(
        FORCE,
        of=lambda held: LEFT_OUT if held.withdrawal is None else held.pulls.anchor.allowable,
        left_out="without a fastener",
        null="where the code gives none",
    )
    of_allowable = members.Sampled(
        PLAIN, of="pulls.of_allowable", left_out="without an allowable pull"
    )
    chance_tears = members.Number(PLAIN, of="pulls.tears", left_out="without an allowable pull")
    verdict = members.Word(
        tuple(VERDICT.values()),
        of=lambda held: VERDICT.get(held.pulls.verdict),
        left_out="without an allowable pull",
    )
    washer_thickness = members.Number(
        LENGTH,
        "a steel washer over the slot needs",
        of="pulls.washer",
        left_out="without a fastener",
    )


class StiffeningFixedSolid(Answer):
    """What the same fixings would do fixed solid."""

    key_index = members.Sampled(PLAIN, left_out="without keys")
    force = members.Sampled(FORCE)
    force_without_set = members.Sampled(FORCE, of="force_elastic")
    wood_index = members.Sampled(PLAIN, "splits at 1")
    fixing_index = members.Sampled(PLAIN, "yields sideways at 1")
    fixing_yields = members.Number(FORCE, "at which one yields sideways", of="yields")
    first = members.Text("what gives way first", of=lambda solid: FIRST[solid.first])


class StiffeningNeeded(Answer):
    """Bars that keep the cup within the limit."""

    bars = members.Count("likely", of="needed", null="where no number does")
    bars_careful = members.Count(
        "in nine of ten cases", of="needed_careful", null="where no number does"
    )
    spacing = members.Number(LENGTH, null="where no number does")
    spacing_careful = members.Number(LENGTH, null="where no number does")


class StiffeningKeyCapacity(Answer):
    """What one key bears."""

    neck = members.Number(FORCE)
    wing_shear = members.Number(FORCE)
    slab_shear = members.Number(FORCE)
    bearing = members.Number(FORCE)
    clear = members.Number(FORCE, "the least of them")
    splitting = members.Number(FORCE, "of the slab from the pocket, characteristic")
    lasting = members.Number(FORCE, "what breaks the average one in months")
    allowable = members.Number(FORCE)


class StiffeningKeys(Answer):
    """Keys across a check: capacity against demand."""

    capacity = members.Part(StiffeningKeyCapacity)
    weakest = members.Text(of=lambda keys: WEAKEST[keys.capacity.weakest])
    demand = members.Sampled(FORCE, "of each: of drying, or at least of handling")
    by_drying = members.Sampled(FORCE, "of each, of drying alone")
    sat_on = members.Number(
        FORCE, "of each, when somebody sits on an edge that overhangs across the grain"
    )
    index = members.Sampled(PLAIN, "demand over what breaks the average one in months")
    chance_tears = members.Number(PLAIN, "that a key or its pocket gives way", of="tears")
    verdict = members.Word(tuple(VERDICT.values()), of=lambda keys: VERDICT[keys.verdict])
    needed = members.Count("to rely on", null="where as many as fit are not enough")
    opening = members.Sampled(LENGTH, "of the check, untied, at the face nearer the bark")
    opening_other_face = members.Sampled(
        LENGTH, "the same at the other face, if it runs through", of="opening_other"
    )


def _of_bars(name: str) -> Any:
    return lambda held: None if held.bars is None else getattr(held.bars, name)


def _with_bars(name: str) -> Any:
    """The stiffened slab where it has a member of that name that is known."""
    return lambda held: None if _of_bars(name)(held) is None else held.bars


class StiffeningAnswer(Answer):
    """How flat bars and keys keep the slab, and what they bear."""

    bars = members.Part(StiffeningBars, left_out="without bars")
    cup = members.Part(StiffeningCup, of="bars", left_out="without bars")
    moment = members.Part(StiffeningMoment, of="bars", left_out="without bars")
    stress_index = members.Part(StiffeningIndex, of="bars", left_out="without bars")
    bending = members.Part(StiffeningBending, of="bars", left_out="without bars")
    pull = members.Part(
        StiffeningPull, of=_with_bars("pulls"), left_out="without two fixings of bars"
    )
    fixed_solid = members.Part(
        StiffeningFixedSolid, of=_of_bars("fixed_solid"), left_out="without bars and a fastener"
    )
    needed = members.Part(
        StiffeningNeeded, of=_with_bars("limit"), left_out="when no limit is asked"
    )
    keys = members.Part(StiffeningKeys, left_out="without keys")
    weight = members.Number(MASS, "of the slab", left_out="without a length")
