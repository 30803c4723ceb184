"""Sentences on what a slab that moved says of its past."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence
from model.answers.diagnosis.causes import Cause
from model.answers.diagnosis.measure import Measuring
from model.answers.diagnosis.to_come import Doing
from model.answers.diagnosis.tried import Lying

# What parts of an answer are called, by their codes.
CAUSES: Final[dict[Cause, str]] = {
    "rings": "the rings (uniform drying of a flat-sawn slab)",
    "wet_core": "a core wetter than the faces, uncovered by planing",
    "uneven_faces": "faces that dry unlike",
    "locked_in_stress": "stress locked in, or held in by clamps and freed",
}
CAUSES_SHORT: Final[dict[Cause, str]] = {
    "rings": "the rings",
    "wet_core": "a wet core uncovered by planing",
    "uneven_faces": "unlike faces",
    "locked_in_stress": "stress locked in",
}
LYINGS: Final[dict[Lying, str]] = {
    "as-told": "as told",
    "open": "both faces open to the air",
    "on-bottom": "lying on its bottom face",
    "top-covered": "its top face covered",
}
DOINGS: Final[dict[Doing, str]] = {
    "left": "left as it is",
    "turned": "turned over",
    "opened": "both faces opened",
    "finished": "both finished alike",
}
MEASURINGS: Final[dict[Measuring, str]] = {
    "when": "Find out when the cup came: within a day of planing it is stress let go, over days "
    "and weeks it is moisture.",
    "pin_core": "Read insulated pins in the middle of the thickness and at a fifth of it, 300 mm "
    "(12 in) from the ends: is the core wetter?",
    "wait": "Leave it as it lies and lay the straight-edge on it again in two weeks.",
    "turn": "Turn it over and look after three days: a cup by unlike faces goes back.",
    "weigh": "Weigh it today and in two weeks: is it still losing water?",
    "rings": "Look at the end grain and measure where the pith lies.",
    "strip": "Rip a strip about 25 mm (1 in) wide off one edge and measure its bow: is there "
    "stress?",
}


def _cannot_tell(first: Cause, second: Cause, measuring: Measuring | None) -> str:
    told = f"Can't tell: {CAUSES[first]} and {CAUSES[second]} explain what was seen about equally."
    return told if measuring is None else f"{told} What would tell: {MEASURINGS[measuring]}"


def _bark(side: str, chance: float) -> str:
    return (
        "Which face is the bark side is not told, and with it which way the rings cup: both were "
        f"tried, and likelier it is the {side} ({100 * chance:.0f} %). Look at the end grain, and "
        "tell bark_side."
    )


def _guessed(lying: Lying, chance: float) -> str:
    return (
        "The faces are not told; of open, lying on the bottom and covered on top the likeliest is "
        f"{LYINGS[lying]} ({100 * chance:.0f} %)."
    )


def _strip(strain: float, is_large: bool, moisture_difference: float) -> str:
    size = (
        "as large as growth stress or larger"
        if is_large
        else "less than the order of growth stress"
    )
    return (
        f"The strip's bow is a strain difference of {1e6 * strain:.0f} millionths over its "
        f"breadth, {size}; by moisture alone it would take {abs(moisture_difference):.0f} % from "
        "side to side. That stress along the grain tells of stress across it is a guess."
    )


NOTES: Final[dict[str, Sentence]] = {
    "no-history": Sentence(
        "Nothing is told of where it has been, so only the shrinkage formula speaks; causes need "
        "room and days.",
        "/room",
        rank=1,
    ),
    "green-before": Sentence(
        "Above {start:g} % wood does not shrink, so a width cannot tell how much wetter it was.",
        source="Wood Handbook FPL-GTR-190 ch. 13",
    ),
    "no-cup": Sentence("There is no cup to explain.", rank=1),
    "cannot-tell": Sentence(_cannot_tell, source="derived", rank=1),
    "does-not-fit": Sentence(
        "What was seen does not go together by any of these causes, so none is named. It would "
        "take something else: the other face closed, the bark side down, a room much drier or "
        "damper than told, or a slab held or moved. Look at these, the figures, the species and "
        "the dates again.",
        source="derived",
        rank=1,
    ),
    "bark-guessed": Sentence(_bark, "/slab/bark_side", "derived", 1),
    "few-draws": Sentence(
        "The draws that fit are few: they are worth {effective:.0f} equal ones. Their weights are "
        "evened out until {enough:.0f} count, which widens what is told.",
        source="derived",
        rank=2,
    ),
    "faces-guessed": Sentence(_guessed, source="derived", rank=1),
    "strip": Sentence(
        _strip, "/ripped_strip", "derived; growth strains from memory, low confidence"
    ),
    "cup-uncertain": Sentence(
        "The size of a cup is known within a factor of about 1.6 with readings; what comes after "
        "drying through is the least sure.",
        source="judgement",
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "ripping-stressed": Sentence(
        "Ripping stressed wood can close on the saw or spring: use a riving knife, stand clear of "
        "the line of the blade.",
        rank=2,
        short="Stressed wood can close on the saw: riving knife; stand clear of its line.",
    ),
    "no-longer-held": Sentence(
        "A check at a fixing or a sheared key can mean that a loaded or overhead part is no longer "
        "held: take the load off and have it looked at.",
        rank=1,
        short="A loaded or overhead part may not be held any more: unload it, have it seen.",
    ),
}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {
    "no-moisture-fits": Sentence(
        "no moisture fits: it has grown more than drying from nothing allows; look at widths and "
        "moisture again"
    ),
}
