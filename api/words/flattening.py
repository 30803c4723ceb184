"""Sentences on taking a cup out by water, clamps and time."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence, filled
from model.answers.flattening.treatments import Way, way_of
from model.codes import Said

NOTES: Final[dict[str, Sentence]] = {
    "confidence-low": Sentence(
        "Confidence is low: try it on an offcut. One measured figure exists (43 % of a twist taken "
        "out by steam under load); the rest is the model's, under two laws of set.",
        source="physics of set: Ranta-Maunus; Toratti & Svensson 2000, 2002 (memory)",
        rank=1,
    ),
    "springs-back": Sentence(
        "10 to 30 % of the cup springs back when let go after moistening through and drying "
        "clamped; 65 to 125 % of it remains after wetting the hollow face and clamping; of a "
        "correction 25 to 85 % is left after three years of seasons.",
        source="model runs; printed: the warp returns",
        rank=1,
    ),
    "weights-and-clamps": Sentence(
        "Weights steer a slab while it dries; clamps flatten it. What is clamped without a change "
        "of moisture comes back whole.",
        "/plan/clamped",
        "printed and derived",
        1,
    ),
    "uptake-by-vapour": Sentence(
        "The wet face is held at fibre saturation; water drawn in as liquid is not counted, so "
        "more may go in, and dry out again, than told.",
        "/plan/wet_face",
        "physics of the model",
    ),
    "checks": Sentence(
        "3 to 11 MPa can stand at a wetted or clamped face: look for checks daily, and stop when "
        "the first opens.",
        "/plan",
        "model runs",
        1,
    ),
    "too-far-past-flat": Sentence(
        "Past flat by 1.2 to 1.3 times is enough; by 1.5 it tends to stay bent the other way.",
        "/plan/over_correct",
        "model runs; common practice",
        1,
    ),
    "finish-off": Sentence(
        "The treatment is worked out on bare faces: a finish must come off before water can do "
        "anything, and go on again afterwards.",
        "/faces",
        "common practice, no source",
        1,
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "hot-water": Sentence(
        "Hot water, wet cloths and steam scald: gloves, eyes away from steam, no boiling water "
        "near electric heaters or leads.",
        rank=2,
    ),
    "heaters": Sentence(
        "Heaters: electric or vented only, clear of wood, cloths and plastic, never left running "
        "unseen; a fuel heater indoors needs fresh air and a carbon monoxide alarm.",
        rank=1,
    ),
    "weights": Sentence(
        "Weights that flatten a slab are tonnes on each square metre: bench and floor must bear "
        "them; let nobody reach or stand under.",
        rank=1,
    ),
}
REASONS: Final[dict[str, Sentence]] = {
    "cup-small": Sentence("The cup is small: planing takes it out with less risk than water."),
    "leaves-most": Sentence("The plan leaves most of the cup, or makes it worse."),
    "hollow-wetted": Sentence("A hollow face wetted and left to dry ends a little more hollow."),
    "bends-over": Sentence(
        "The plan bends it the other way: wet it for less time, or hold it less past flat."
    ),
    "uneven-cups-more": Sentence(
        "One face is damper than the other: as it evens out it will cup more. Let it come to rest, "
        "then flatten that."
    ),
    "uneven-much-goes": Sentence(
        "One face is damper than the other: let it even out first, much of the cup will go."
    ),
    "uneven-see": Sentence(
        "One face is damper than the other: let it even out first, and see what cup is left."
    ),
}
REFUSALS: Final[dict[str, Sentence]] = {}

# What the ways of dealing with a cup are called, by their codes.
WAYS: Final[dict[Way, str]] = {
    "plan": "the plan",
    "wait": "wait until even",
    "dry-damp-side": "dry the damp side",
    "dampen": "dampen through, dry clamped",
    "dress": "dress it flat",
    "rip": "rip and re-glue",
}


def _plan(
    wet_face: str | None,
    face: str,
    hours: float,
    warmth: float,
    hold_days: float,
    over_correct: float,
    days: float,
) -> str:
    parts = []
    if wet_face is not None:
        parts.append(
            f"keep the {wet_face} ({face}) face wet {hours:g} hours at {warmth:.0f} °C "
            f"({1.8 * warmth + 32.0:.0f} °F)"
        )
    if hold_days:
        past = "flat"
        if over_correct > 1.0:
            past = f"past flat, {over_correct:g} times the cup,"
        elif over_correct < 1.0:
            past = f"back by {100.0 * over_correct:.0f} % of the cup"
        parts.append(f"clamp it {past} and dry it held {hold_days:.0f} days")
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
        "{moisture:.0f} % through, clamp it a quarter past flat, dry it clamped {held:.0f} days"
    ),
    "dress": Sentence("plane both faces flat today; the cup's amount is what the thickness loses"),
    "rip": Sentence(
        "rip into {strips} strips, joint and glue, plane flat; the cup told is that of one strip: "
        "turn every second one over, else the rings bring the whole panel's back"
    ),
}


def done(does: Said) -> str:
    """What is done in one of the ways, as a clause."""
    sentence = _DONE[way_of(does)]
    return filled(sentence.text, does.figures)
