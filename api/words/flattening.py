"""Sentences on taking a cup out by water, clamps and time."""

from __future__ import annotations

from typing import Final

from api.replies.text import chance as chance_of
from api.words.sentence import Sentence, filled
from model.answers.flattening.flatten import Verdict
from model.answers.flattening.treatments import Way, way_of
from model.codes import Said

NOTES: Final[dict[str, Sentence]] = {
    "confidence-low": Sentence(
        "Confidence is low: try it on an offcut first. One measured figure exists: steam under "
        "load took out 43 % of a twist. The rest is the model's, under two laws of creep.",
        source="physics of set: Ranta-Maunus; Toratti & Svensson 2000, 2002 (memory)",
        rank=1,
        weak="all of it (one measurement exists)",
    ),
    "springs-back": Sentence(
        "Moistened through and dried clamped, 10 to 30 % of the cup springs back when let go. "
        "Wetted on the hollow face and clamped, 65 to 125 % of it remains. Of a correction 25 to "
        "85 % is left after three years of seasons.",
        source="model runs; printed: the warp returns",
        rank=1,
        short="Some comes back: of a correction 25 to 85 % is left after three years.",
    ),
    "weights-and-clamps": Sentence(
        "Weights steer a slab while it dries; clamps flatten it. What is clamped without a "
        "change of moisture comes back whole.",
        "/plan/clamped",
        "printed and derived",
        1,
        short="Clamped without a change of moisture it all comes back.",
    ),
    "uptake-by-vapour": Sentence(
        "The wet face is held at fibre saturation. Water drawn in as liquid is not counted. More "
        "may go in than told, and dry out again.",
        "/plan/wet_face",
        "physics of the model",
    ),
    "even-out-first": Sentence(
        "Core and faces differ by more than 1 %. Let both faces dry open until they agree, then "
        "judge the cup that is left.",
        "/moisture",
        "common practice, no source",
        1,
    ),
    "plan-at-the-edge": Sentence(
        "The best plan tried wets for {hours:.3g} hours, the shortest or longest tried. A better "
        "one may lie beyond.",
        "/plan/hours",
        "search over hours and clamping",
        1,
    ),
    "warmth": Sentence(
        "Warmth speeds the water and softens the wood only while it lasts. A slab this thick "
        "warms or cools through in some {hours:.1f} hours. To set by heat, all of it must be "
        "hot, above 20 % moisture, and dried while held. That is not counted.",
        "/plan/temperature",
        "Hamdan et al. 2000 (printed); Wood Handbook trends (memory)",
    ),
    "length-for-strength": Sentence(
        "You gave no length. The strength is that of a slab {length:size} long.",
        "/slab/length",
        "judgement",
    ),
    "checks": Sentence(
        "Tension of 3 to 11 MPa (440 to 1,600 psi) can stand at a wetted or clamped face. Look "
        "for checks every day, and stop when the first opens.",
        "/plan",
        "model runs",
        1,
        short="Look for checks every day, and stop when the first opens.",
    ),
    "too-far-past-flat": Sentence(
        "Past flat by 1.2 to 1.3 times is enough. By 1.5 it tends to stay bent the other way.",
        "/plan/over_correct",
        "model runs; common practice",
        1,
    ),
    "finish-off": Sentence(
        "This is worked out on bare faces. Take the finish off first, or water does nothing, and "
        "put it on again afterwards.",
        "/faces",
        "common practice, no source",
        1,
        short="Take the finish off first, or water does nothing; put it on again afterwards.",
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "hot-water": Sentence(
        "Hot water, wet cloths and steam scald. Wear gloves, keep your eyes out of steam, and "
        "keep boiling water away from electric heaters and leads.",
        rank=2,
        short="Hot water and steam scald: gloves; keep water off electric heaters and leads.",
    ),
    "heaters": Sentence(
        "Use electric or vented heaters only, clear of wood, cloths and plastic, and never leave "
        "them running unseen. A fuel heater indoors needs fresh air and a carbon monoxide alarm.",
        rank=1,
        short="Heaters: electric or vented, clear, watched. Fuel: fresh air and a CO alarm.",
    ),
    "weights": Sentence(
        "Weights that flatten a slab are tonnes on each square metre. Bench and floor must bear "
        "them. Let nobody reach or stand under.",
        rank=1,
        short="Such weights are tonnes a square metre: bench and floor must bear; keep clear.",
    ),
}


def _breaks(chance: float, in_steps: bool) -> str:
    told = f"Drawn that far it splits (chance {chance_of(chance)})"
    return told + (
        ", even in small steps: plane the cup away, or rip it."
        if in_steps
        else ": draw it little by little over weeks, less far, or plane it."
    )


def _may_break(chance: float, in_steps: bool) -> str:
    how = "in small steps" if in_steps else "drawn at once"
    return (
        f"It may split, {how} (chance {chance_of(chance)}). Tighten a little a week, look along "
        "both faces each time, and stop at the first check."
    )


REASONS: Final[dict[str, Sentence]] = {
    "breaks": Sentence(_breaks),
    "may-break": Sentence(_may_break),
    "risk-for-little": Sentence(
        "It is likelier to split (chance {chance:chance}) than to end flatter (chance "
        "{helps:chance}): leave it.",
    ),
    "too-thin-to-plane": Sentence(
        "It is too thin to plane the cup away: rip it, or pack bars out to it.",
    ),
    "may-not-help": Sentence(
        "It helps with a chance of {chance:chance}: try an offcut, or cut a slice off and "
        "measure it."
    ),
    "cup-small": Sentence(
        "The cup is small: planing takes it out with less risk.",
    ),
    "leaves-most": Sentence("The plan leaves most of the cup, or makes it worse."),
    "hollow-wetted": Sentence(
        "A wetted hollow face looks flat for a day, then ends more hollow. Wet the round face and "
        "hold it: that looks worse and ends flatter."
    ),
    "bends-over": Sentence(
        "The plan bends it the other way: wet it for less time, or hold it less past flat.",
    ),
    "uneven-cups-more": Sentence(
        "One face is damper, and as it evens out it will cup more. Let it come to rest, then "
        "flatten that.",
    ),
    "uneven-much-goes": Sentence(
        "One face is damper. Let it even out first: much of the cup will go.",
    ),
    "uneven-see": Sentence(
        "One face is damper. Let it even out first, and see what cup is left.",
    ),
}
REFUSALS: Final[dict[str, Sentence]] = {}

VERDICT: Final[dict[Verdict, str]] = {
    "yes": "yes",
    "risky": "risky",
    "cannot-tell": "cannot tell",
    "no": "no",
}

# What the ways of dealing with a cup are called, by their codes.
WAYS: Final[dict[Way, str]] = {
    "plan": "the plan",
    "wait": "wait until even",
    "dry-damp-side": "dry the damp side",
    "dampen": "dampen through, dry clamped",
    "dress": "dress it flat",
    "rip": "rip and re-glue",
}

# The same where a table has little room.
WAYS_SHORT: Final[dict[Way, str]] = {**WAYS, "dampen": "dampen, dry clamped"}


def _plan(
    wet_face: str | None,
    face: str,
    hours: float,
    warmth: float,
    hold_days: float,
    over_correct: float,
    days: float,
    in_steps: bool,
) -> str:
    parts = []
    if wet_face is not None:
        parts.append(
            f"keep the {wet_face} ({face}) face wet {hours:.3g} hours at {warmth:.0f} °C "
            f"({1.8 * warmth + 32.0:.0f} °F)"
        )
    if hold_days:
        past = "flat"
        if over_correct > 1.0:
            past = f"past flat, to {over_correct:.3g} times the cup"
        elif over_correct < 1.0:
            past = f"back by {100.0 * over_correct:.0f} % of the cup"
        little = ", a step a week," if in_steps else ""
        parts.append(f"clamp it {past}{little} and dry it held {hold_days:.0f} days")
    else:
        parts.append(f"leave it free to dry {days:.0f} days")
    return ", then ".join(parts)


_DONE: Final[dict[Way, Sentence]] = {
    "plan": Sentence(_plan),
    "wait": Sentence(
        "leave it on stickers, both faces open, {days:.0f} days until it is even through"
    ),
    "dry-damp-side": Sentence(
        "open the damp {wet} face to the air, cover the other, {days:.0f} days"
    ),
    "dampen": Sentence(
        "keep it in damp air ({humidity:.0f} % relative humidity) {damp:.0f} days until it is "
        "{moisture:.0f} % through, clamp it in weekly steps to {over_correct:g} times its cup "
        "(1 is flat), dry it clamped {held:.0f} days"
    ),
    "dress": Sentence("plane both faces flat today; the cup's amount is what the thickness loses"),
    "rip": Sentence(
        "rip into {strips} strips, turn every second one over, joint and glue, plane flat; that "
        "takes out the rings' part alone, and faces that dry unlike still bend the whole panel"
    ),
}


def done(does: Said) -> str:
    """What is done in one of the ways, as a clause."""
    sentence = _DONE[way_of(does)]
    return filled(sentence.text, does.figures)
