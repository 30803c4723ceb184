"""Sentences on the steps of a repair: what to do, why, and what says go on."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from api.replies.text import MONTHS
from api.words.diagnosis import MEASURINGS
from api.words.sentence import Sentence, size

Length = Callable[[float], str]
Figures = Mapping[str, Any]
Words = str | Callable[[Figures, Length], str]

_PRACTICE: Final = "common practice, no source"


@dataclass(frozen=True, slots=True)
class StepWords:
    """A step in words.

    title : what it is called, for a calendar or a chart.
    does, why, until : what to do, why, and what says go on; empty where nothing is to be said.
    """

    title: str
    does: Words
    why: Words = ""
    until: Words = ""


def said(words: Words, figures: Figures, length: Length = size) -> str:
    """Words filled with a step's figures; lengths written by `length`."""
    return words if isinstance(words, str) else words(figures, length)


def _points(value: float) -> str:
    return f"{abs(value):.1f} %"


def _leave(f: Figures, length: Length) -> str:
    return (
        f"Leave it as it is: {length(f['cup'])} of cup is within the {length(f['within'])} wanted."
    )


def _unload(f: Figures, length: Length) -> str:
    held = {"solid": " Its solid fixings come out first.", "bars": " Take the bars off."}
    return (
        "Take everything off it, support it, and free every fixing across the grain, little by "
        f"little.{held.get(f['held'] or '', '')} Measure cup, twist and gaps before and after."
    )


def _read(f: Figures, length: Length) -> str:
    depths = f"{length(f['shell'])}, {length(f['quarter'])} and {length(f['half'])}"
    where = "at three places, 300 mm (12 in) and more from the ends"
    if f["both"]:
        where += ", from both faces"
    if f["meter"]:
        return f"Read its moisture with insulated pins at {depths} deep, {where}."
    return (
        f"Drill out chips at {depths} deep, {where}, weigh them, dry them at 103 °C (217 °F) and "
        "weigh again; or have it read."
    )


def _mend_air(f: Figures, length: Length) -> str:
    return (
        "Give both faces the same air before it goes back: a gap of 20 mm (3/4 in) and openings "
        "under it, no heat from a floor, radiator or lamp on one face, no sun through glass."
    )


def _mend_air_why(f: Figures, length: Length) -> str:
    if f["told"]:
        return "One face lies warmer than the other and dries first: it will cup again."
    return f"One face may meet other air than the other ({100 * f['chance']:.0f} %)."


def _alike_now(f: Figures, length: Length) -> str:
    if f["cover"]:
        return f"Lift it so that air gets at the {f['closed']}, which was covered."
    return (
        f"Its {f['closed']} is closed better than the other face. Let it come even as it is, "
        "then finish both alike; or take that finish off now, and it will be even sooner."
    )


def _stack(f: Figures, length: Length) -> str:
    if f["near"]:
        return "It is near enough to its room. Let it lie there two weeks, stickered, and look."
    return _dry(f, "Stack it on stickers in that room, weighted, air on both faces")


def _wait(f: Figures, length: Length) -> str:
    return _dry(f, "Wait, both faces open, no force on it")


def _dry(f: Figures, how: str) -> str:
    off, to = f["off"], f["to"]
    parts = []
    if off is not None and abs(off) >= 0.5:
        parts.append(
            f"it is {_points(off)} {'wetter' if off > 0 else 'drier'} than it will settle to"
        )
    if f["uneven"] is not None and f["uneven"] > 1.0:
        parts.append(f"core and faces are {_points(f['uneven'])} apart")
    because = f": {' and '.join(parts)}" if parts else ""
    aim = "" if to is None else f" It goes to about {to:.1f} %."
    return f"{how}{because}.{aim}"


def _skip(f: Figures, length: Length) -> str:
    return (
        f"Don't flatten it: by itself it comes to about {length(f['cup'])}, within the "
        f"{length(f['within'])} wanted ({100 * f['chance']:.0f} % likely)."
    )


def _measure(f: Figures, length: Length) -> str:
    chance = "" if f["chance"] is None else f" ({100 * f['chance']:.0f} % likely to be)"
    return f"Lay the straight-edge on: within {length(f['within'])}{chance} it needs no flattening."


def _flatten(f: Figures, length: Length) -> str:
    wet = ""
    if f["wet_face"]:
        wet = f"Keep its {f['wet_face']}, the round face, damp for {f['hours']:.0f} hours. Then "
    held = "draw it" if wet else "Draw it"
    past = 100 * (f["over_correct"] - 1.0)
    if past > 0.5:
        to = f"{past:.0f} % past flat"
    elif past < -0.5:
        to = f"by {100 * f['over_correct']:.0f} % of its cup"
    else:
        to = "flat"
    how = "in four steps a week apart" if f["in_steps"] else "at once"
    return (
        f"{wet}{held} {to} with clamps and cauls, {how}, and hold it {f['hold_days']:.0f} days "
        f"while it dries. Left over after a year: about {length(f['left'])}."
    )


def _flatten_why(f: Figures, length: Length) -> str:
    return f"It helps by {100 * f['helps']:.0f} % and breaks by {100 * f['breaks']:.0f} %."


_WHY: Final[Mapping[str, str]] = {
    "boxed": "Its heart is in it: force opens the check.",
    "rings": "The rings bend it: no wetting or clamping lasts.",
    "sprang-back": "It was flattened before and sprang back.",
    "no-clamps": "There is nothing to clamp it with.",
    "breaks": "Pulling it flat is too likely to break it.",
    "no-room": "Without its room no pulling can be weighed.",
    "helps-little": "Wetting and clamping would not surely help.",
}


def _why(f: Figures, length: Length) -> str:
    return _WHY[f["why"]]


def _plane(f: Figures, length: Length) -> str:
    return (
        f"Plane it flat: equal cuts from both faces first, {f['rest']:.0f} days' rest, then once "
        f"more. It keeps about {length(f['left'])}."
    )


def _rip(f: Figures, length: Length) -> str:
    where = "along both sides of the pith" if f["boxed"] else "in thirds"
    return (
        f"Rip it {where}, joint the edges and glue it up again: planing away {length(f['cup'])} "
        f"of cup would leave {length(max(f['left'], 0.0))}. Or leave it cupped."
    )


def _hold(f: Figures, length: Length) -> str:
    return f"Leave its {length(f['cup'])} and draw it flat with the bars, over weeks."


def _give_up(f: Figures, length: Length) -> str:
    if f["why"] == "decayed":
        return "Give it up as a top: decay at a split or torn fixing holds nothing."
    return (
        f"Give it up at this thickness: it winds by {length(f['twist'])} and has "
        f"{length(f['left'])} to plane away."
    )


def _fill(f: Figures, length: Length) -> str:
    if f["boxed"]:
        return (
            "Let the check along its heart settle, then fill it or set keys in from the side that "
            "opens; never bars across it."
        )
    return "Let the check settle, then fill it, or set keys across it."


def _keys(f: Figures, length: Length) -> str:
    return (
        "Set new keys only once it has settled: ask /v1/stiffening with keys what they must hold, "
        "and take more or deeper ones if it is above what they may."
    )


def _mill(f: Figures, length: Length) -> str:
    if f["leaves"] is None:
        return "Plane both faces alike, thicker than it must be by twice the cup and 3 mm (1/8 in)."
    return (
        f"Plane both faces alike to {length(f['leaves'])} and 3 mm (1/8 in), let it rest two "
        "weeks, then to size with equal cuts."
    )


def _finish(f: Figures, length: Length) -> str:
    return "Finish both faces alike, the ends too, on the same day."


def _mend_room(f: Figures, length: Length) -> str:
    return (
        f"That room makes it {_points(f['off'])} wetter than it was made at "
        f"({f['settles']:.1f} %): dry the room, or fit it for the room as it is. Settle which "
        "before anything is cut; log the air for two weeks to know."
    )


def _log_air(f: Figures, length: Length) -> str:
    return (
        f"Lay a logger beside it: the room may not be as told ({100 * f['chance']:.0f} % likely)."
    )


def _slots(f: Figures, length: Length) -> str:
    if not f["known"]:
        return "Fix one line of it, the middle, and let all others slide: tell the room for sizes."
    if f["length"] is None:
        return "One fixing alone needs no slot."
    return (
        f"Fix the middle line and slot the rest: {length(f['length'])} long at "
        f"{length(f['across'])} from one edge for a shank of {length(f['through'])}."
    )


_HOLDS: Final[Mapping[str, str]] = {
    "hold": "the fixings hold",
    "without-margin": "the fixings hold without margin",
    "may-tear": "a fixing may tear",
    "will-tear": "a fixing will tear: more bars or longer screws",
}


def _bars(f: Figures, length: Length) -> str:
    pull = ""
    if f["pull"] is not None:
        pull = f", {f['pull'] / 1000:.1f} kN on the worst fixing"
        if f["verdict"]:
            pull += f": {_HOLDS[f['verdict']]}"
    count = "The bar" if f["count"] == 1 else f"Each of {f['count']} bars"
    return f"Bars across it, slotted too. {count} bears {f['moment']:.0f} N m{pull}."


def _fit(f: Figures, length: Length) -> str:
    if f["gap"] is None:
        return "Fit it, with a gap at both edges: tell the room to hear how much."
    most = f["gap"] if f["gap_high"] is None else f["gap_high"]
    return f"Fit it, with {length(max(most, 0.0))} at each edge to grow."


def _watch(f: Figures, length: Length) -> str:
    told = "Look after 1, 3, 6 and 12 months"
    if f["driest"] is not None:
        told += f", in {MONTHS[f['driest'] - 1]} and {MONTHS[f['dampest'] - 1]} most of all"
    if f["allowed"] is None:
        return f"{told}."
    return f"{told}: up to {length(f['allowed'])} of cup through the year is in order."


STEPS: Final[Mapping[str, StepWords]] = {
    "leave": StepWords("Leave it", _leave),
    "unload": StepWords(
        "Unload and free it",
        _unload,
        "Held wood tears fixings, splits, or takes a set.",
        "Nothing holds it.",
    ),
    "stand": StepWords(
        "Stand it on edge",
        "Stand it on edge on two sticks, tied so that it cannot fall, air on both faces, in the "
        "same room; no sun, heater or damp floor near it.",
        "Loose, it shows what cup is its own.",
        "A week.",
    ),
    "read": StepWords(
        "Read its core",
        _read,
        "Core and faces decide everything after this.",
        "Core and shell are known within 1 %.",
    ),
    "ask-again": StepWords(
        "Ask again with the reading",
        "Do nothing else until the core is read; then ask again with the moisture by depth.",
        "A slab that is still moving is flattened for nothing.",
    ),
    "mend-air": StepWords("Give both faces one air", _mend_air, _mend_air_why, "Both are alike."),
    "alike-now": StepWords(
        "Make its faces alike", _alike_now, "A closed face keeps its half damp.", "Both are alike."
    ),
    "stack": StepWords(
        "Stack it in its room",
        _stack,
        "",
        "Two readings two weeks apart agree within 0.3 %.",
    ),
    "wait": StepWords(
        "Wait until it is even",
        _wait,
        "Cup from moisture goes by itself as it evens out.",
        "Two looks two weeks apart agree: moisture within 0.3 %, cup within a tenth.",
    ),
    "skip-flattening": StepWords("No flattening", _skip, "", "The straight-edge says so."),
    "measure-again": StepWords("Measure the cup", _measure),
    "name-cause": StepWords(
        "Cut a slice",
        "If you can spare it, cut a slice across the grain at an end, split it at mid-thickness "
        "and measure the gap between the halves: stress shows at once, rings don't.",
        "Set can be worked out of it, rings cannot.",
        "The cause is named.",
    ),
    "flatten": StepWords(
        "Flatten it", _flatten, _flatten_why, "It has been held its time and lies still."
    ),
    "flatten-in-steps": StepWords(
        "Flatten it, with care", _flatten, _flatten_why, "Stop at the first check or crack."
    ),
    "plane-both": StepWords(
        "Plane both faces", _plane, _why, "After the rest its cup is below 1 mm (1/32 in)."
    ),
    "rip": StepWords("Rip and glue up again", _rip, _why, "Its owner agrees."),
    "hold-flat": StepWords("Hold it with bars", _hold, _why, "Bars and fixings bear it."),
    "give-up": StepWords("Give it up", _give_up),
    "fill-check": StepWords("Fill or key the check", _fill, "", "It has stopped opening."),
    "keys-again": StepWords("New keys", _keys, "A key that splits was pulled by the slab."),
    "mill": StepWords("Plane it over size", _mill, "Planing lets stress go; a rest shows it."),
    "finish-alike": StepWords("Finish both faces", _finish, "Unlike faces cup it.", "Equal coats."),
    "mend-room": StepWords("See to the room", _mend_room),
    "log-air": StepWords("Log the air", _log_air, "", "Two weeks of it agree with what was told."),
    "plug": StepWords(
        "Mend torn holes",
        "Plug torn holes with long grain, or move the fixings five diameters along the grain.",
        "Torn wood holds no thread.",
    ),
    "slots": StepWords("Slot the fixings", _slots, "It moves every year."),
    "bars": StepWords("Bars", _bars),
    "fit": StepWords("Fit it", _fit),
    "watch": StepWords("Look again", _watch),
}
# The first of the year's looks by months, for a calendar.
LOOKS: Final = "Look at cup, gaps and fixings."
# Of a wait of unknown length.
READINGS: Final = (
    "Read moisture and cup at the same places. Go on once two looks two weeks apart agree within "
    "0.3 %, and ask again for the days of the rest."
)

ONLY_IF: Final[Mapping[str, str]] = {"cup-left": "If a cup is left:"}

ASKS: Final[Mapping[str, str]] = {
    "core": "A reading in the middle of the thickness and one near a face.",
    "room": "Where it stands: the town, and what the room is heated to.",
    "since": "When it came into that room.",
    "something-measured": "Its cup by a straight-edge, or its width then and today.",
    "moisture-before": "How wet it was when it was fitted: a gap may grow by shrinking or sliding.",
    "faces": "What is on each face, and what it lies on.",
    "bark-side": "Which face was nearer the bark: look at the end grain.",
    "length": "Its length, for weight and bars.",
    "thickness": "The least thickness it may keep.",
    **{str(code): told for code, told in MEASURINGS.items()},
}

VERDICTS: Final[Mapping[str, str]] = {
    "leave": "Leave it: nothing is wrong with it.",
    "read-first": "Do nothing to it until its core is read.",
    "repair": "It can be mended.",
    "give-up": "Give it up as it is.",
    "plan": "Nothing has moved: this is the way from the stack to its room.",
}

NOTES: Final[dict[str, Sentence]] = {
    "moisture-guessed": Sentence(
        "No moisture was told: {value:.1f} % is what the rest of the story makes likely.",
        "/moisture",
        "diagnosis by the course engine",
        1,
    ),
    "fastener-usual": Sentence(
        "No fixing was told: slots are for a screw with a {through:size} shank.",
        "/fastener",
        "judgement",
        2,
    ),
    "slid": Sentence(
        "The gap grew by {grew:size}, and its whole width can have shrunk by {most:size} at most: "
        "the slab slid. Fix its middle line.",
        "/seen/wall_gap",
        "shrinkage of the wood, at its most",
        1,
    ),
    "may-have-slid": Sentence(
        "The gap grew by {grew:size}: {chance:.0f} % likely that the slab slid, not only shrank. "
        "Look at its fixings, and fix its middle line.",
        "/seen/wall_gap",
        "draws of its shrinkage, of its moisture when it was fitted and now",
        1,
    ),
    "late": Sentence(
        "It will be ready {by:.0f} days after the day wanted.", "/wanted/by", "the steps above", 1
    ),
    "steps-practice": Sentence(
        "The order of the steps is the trade's; no source measured it.", "", _PRACTICE, 3
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {}
