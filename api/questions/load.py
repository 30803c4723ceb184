"""`/v1/load`: whether a slab bears somebody on its edge, and how it sags."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from api.quantities import Force, Length, Moisture
from api.question import Answered, Example, Question, Reply
from api.replies import members, text
from api.replies.members import Answer, itself
from api.replies.text import Page, Rows
from api.schema import Flag, QuestionShape, refuse
from api.shapes.moisture import MOISTURE
from api.shapes.slab import slab_field
from api.units import FORCE, LENGTH, MOMENT_PER_LENGTH, PLAIN, STRESS, System
from api.words.holding import BEARS
from model.answers.load import Loaded, bear
from model.basis import cite
from model.behaviour import slab as wood
from model.behaviour.loads import PERSON, Sat
from model.behaviour.slab import Slab
from model.codes import Caution


@dataclass(frozen=True, slots=True)
class Asked:
    """A slab on its base; lengths [m], the load [N]."""

    slab: Slab
    moisture: float
    overhang: float
    force: float
    groove: float
    groove_from_load: float
    checked: bool
    span: float | None = None
    base: float | None = None

    def __post_init__(self) -> None:
        refuse(self._impossible())

    def _impossible(self) -> dict[str, Any]:
        slab, wrong = self.slab, {}
        if self.overhang > 0.5 * slab.width:
            wrong["overhang"] = [
                f"{1e3 * self.overhang:g} mm given: more than half of the width, "
                f"{1e3 * slab.width:g} mm, falls off its base"
            ]
        if self.groove >= slab.thickness:
            wrong["groove"] = [f"{1e3 * self.groove:g} mm given: it goes through the slab"]
        if self.span is not None and slab.length is not None and self.span > slab.length:
            wrong["span"] = [
                f"{1e3 * self.span:g} mm given: the slab is {1e3 * slab.length:g} mm long"
            ]
        return wrong


class LoadShape(QuestionShape):
    """A slab on its base, and what comes on it."""

    makes = Asked

    slab = slab_field("the slab", required=True)
    moisture = Moisture(
        "its moisture content, for its weight", low=MOISTURE[0], high=MOISTURE[1], load_default=10.0
    )
    overhang = Length(
        "how far it stands out beyond its base across the grain",
        low=0.01,
        high=1.5,
        required=True,
    )
    force = Force(
        "on the edge; somebody who sits on it when left out",
        low=1.0,
        high=20000.0,
        load_default=PERSON,
    )
    groove = Length(
        "depth of grooves in the underside with loose bars in them; 0 for none",
        low=0.0,
        high=0.25,
        load_default=0.0,
    )
    groove_from_load = Length(
        "distance along the grain of the nearest groove from the load", low=0.0, high=12.0,
        load_default=0.0,
    )  # fmt: skip
    checked = Flag("whether a check or split runs along the overhang", load_default=False)
    span = Length("between supports along the grain, for its sag there", low=0.05, high=12.0)
    base = Length("width of its base across the grain, for tipping", low=0.02, high=3.0)


def _answer(asked: Asked) -> Reply[Loaded]:
    made = bear(
        asked.slab,
        asked.moisture,
        asked.overhang,
        load=asked.force,
        groove=asked.groove,
        groove_from_support=asked.groove_from_load,
        span=asked.span,
        base=asked.base,
        checked=asked.checked,
    )
    cautions = [
        Caution("structure"),
        Caution("people"),
        *wood.cautions(asked.slab, asked.moisture),
    ]
    return Reply(made, made.notes, cautions, cite(*made.formulas))


class LoadSat(Answer):
    """The load on the middle of an edge, or on a corner."""

    moment = members.Number(MOMENT_PER_LENGTH, "at the support")
    stress = members.Number(STRESS, "across the grain")
    index = members.Number(PLAIN, "that over what is safe for good; above 1 it is not")
    chance_breaks = members.Number(PLAIN, "that clear wood splits", of="breaks")
    sag = members.Number(LENGTH, "under the load")
    thick_enough = members.Number(LENGTH, "thickness at which it is safe, a groove added")


class LoadWeight(Answer):
    """Sag by its own weight."""

    at_once = members.Number(LENGTH, "of the edge, on the first day", of="sag_at_once")
    in_steady_air = members.Number(LENGTH, "of the edge, creep counted", of="sag_steady")
    with_seasons = members.Number(LENGTH, "of the edge, creep counted", of="sag_seasons")
    along = members.Number(
        LENGTH, "between supports along the grain, creep counted", of="sag_along",
        left_out="when no span is told",
    )  # fmt: skip


class LoadAnswer(Answer):
    """Whether it bears the load, and how it sags."""

    verdict = members.Word(tuple(BEARS.values()), of=lambda made: BEARS[made.verdict])
    force = members.Number(FORCE, of="load")
    edge = members.Part(LoadSat, "on the middle of an edge")
    corner = members.Part(LoadSat, "on a corner")
    own_weight = members.Part(LoadWeight, of=itself)
    tips = members.Truth(
        "whether the load tips it off its base", left_out="without a length and a base"
    )


def _text(answered: Answered[Asked, Loaded]) -> Page:
    made, system = answered.result, answered.system
    enough = text.length(made.corner.thick_enough, system)
    at_edge = text.length(made.edge.thick_enough, system)
    overhang = text.short_length(answered.asked.overhang, system)
    load = text.amount(made.load, FORCE, system, 0)
    told = {
        "bears-it": f"Out to {overhang} it bears {load} anywhere on its edge, corners too.",
        "not-at-a-corner": (
            f"Out to {overhang} it bears {load} on the middle of an edge, not on a corner: there "
            f"{enough} would be thick enough."
        ),
        "does-not": (
            f"It is not safe to put {load} on an edge that stands out {overhang}: {at_edge} would "
            f"be thick enough for the middle of the edge, {enough} for a corner."
        ),
    }[made.verdict]
    if answered.asked.checked:
        told = "Nobody sits on an overhang with a check along it: the wood hangs by what is left."
    sag = max(made.edge.sag, made.corner.sag)
    if sag > made.limit_of_sag:
        told += f" It gives {text.short_length(sag, system)} under the load, which is felt."
    if made.tips:
        told += " The load tips the top off its base: fix it, or widen the base."
    parts: list[Rows | str] = [
        Rows(
            [
                _row(name, one, system)
                for name, one in (("edge", made.edge), ("corner", made.corner))
            ],
            title="Under the load",
            heads=["", "stress", "of what is safe", "splits", "gives"],
        ),
        "By its own weight the edge sags "
        f"{text.length(made.sag_at_once, system)} at once, {text.length(made.sag_steady, system)} "
        f"in steady air and {text.length(made.sag_seasons, system)} with seasons, in the end.",
    ]
    if made.sag_along is not None:
        parts.append(
            f"Between its supports along the grain it sags "
            f"{text.length(made.sag_along, system)} in the end."
        )
    return Page(told, parts, [parts[0], _own_weight(made, system)])


def _own_weight(made: Loaded, system: System) -> str:
    def told(sag: float) -> str:
        if text.is_nothing(sag, system):
            return "less than a rule shows"
        return text.short_length(sag, system)

    sags = f"By its own weight the edge sags {told(made.sag_seasons)} in the end"
    if made.sag_along is None:
        return f"{sags}."
    return f"{sags}; between its supports it sags {told(made.sag_along)}."


def _row(name: str, one: Sat, system: System) -> list[str]:
    return [
        name,
        text.amount(one.stress, STRESS, system, 1 if system == "metric" else 0),
        f"{one.index:.2f}",
        text.chance(one.breaks),
        text.length(one.sag, system),
    ]


QUESTION: Final = Question(
    name="load",
    title="Load",
    summary="Whether a slab that overhangs its base bears somebody on an edge or corner, what "
    "thickness would, and how it sags under load and by its own weight.",
    shape=LoadShape(),
    answer=_answer,
    answered=LoadAnswer(),
    text=_text,
    examples=(
        Example(
            "The library table, out a foot beyond its trestles",
            {
                "slab": {
                    "species": "American elm",
                    "width": "34in",
                    "thickness": "2in",
                    "length": "96in",
                },
                "moisture": 8,
                "overhang": "12in",
                "base": "10in",
                "span": "60in",
            },
        ),
        Example(
            "A counter of oak with a groove for a loose bar under the overhang",
            {
                "units": "metric",
                "slab": {"species": "white oak", "width": 650, "thickness": 40, "length": 2400},
                "overhang": 300,
                "groove": 12,
            },
        ),
    ),
)
