"""Sentences on what a slab that moved says of its past."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence
from model.answers.diagnosis.causes import Part
from model.answers.diagnosis.diagnose import Otherwise
from model.answers.diagnosis.measure import Measuring
from model.answers.diagnosis.stories import Cause, Lying
from model.answers.diagnosis.to_come import Doing

# What parts of an answer are called, by their codes.
CAUSES: Final[dict[Cause, str]] = {
    "rings": "the rings: an ordinary change of moisture of a flat-sawn slab",
    "too_wet_at_fitting": "fitted too wet: it dried by more than a slab should after fitting",
    "uneven_faces": "faces that dry unlike: one covered, sealed or lying on something",
    "wet_core": "a core wetter than the faces, uncovered by planing",
    "locked_in_stress": "stress locked in, let go by planing",
    "room_not_as_told": "a room drier or damper than told",
    "two_airs": "two airs: one face warmer or damper than the other (floor heat, sun, a closed "
    "carcass)",
    "springback": "an earlier flattening, by clamps or water, that goes back",
    "fixed_solid": "fixings that do not let it move, on a bar or frame under it",
}
CAUSES_SHORT: Final[dict[Cause, str]] = {
    "rings": "the rings",
    "too_wet_at_fitting": "fitted too wet",
    "uneven_faces": "unlike faces",
    "wet_core": "a wet core uncovered by planing",
    "locked_in_stress": "stress locked in",
    "room_not_as_told": "a room not as told",
    "two_airs": "two airs, one at each face",
    "springback": "a flattening that goes back",
    "fixed_solid": "fixings that hold it solid",
}
PARTS: Final[dict[Part, str]] = {
    "rings": "the rings",
    "wet_core": "a core wetter than the faces, uncovered by planing",
    "uneven_faces": "faces that meet unlike air or finish",
    "locked_in_stress": "stress locked in",
    "restraint": "what it is fixed to, or clamps and flattening let go",
}
OTHERWISE: Final[dict[Otherwise, str]] = {
    "bark_other_way": "the bark side is the other way than told",
    "width_wrong": "the widths are wrong, or the slab slid",
    "cup_wrong": "a cup is wrong, or was seen from the other side",
    "moisture_wrong": "the moisture readings are wrong",
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
    "end_grain": "Read the moisture on end grain: it shows what the room really holds wood at.",
    "warm_face": "Hold a thermometer to both faces in the evening and at noon: is one warmer?",
}


def _cannot_tell(
    first: Cause, second: Cause, chance: float, other: float, measuring: Measuring | None
) -> str:
    told = (
        f"Can't tell yet: likeliest is {CAUSES_SHORT[first]} ({100 * chance:.0f} %), then "
        f"{CAUSES_SHORT[second]} ({100 * other:.0f} %)."
    )
    return told if measuring is None else f"{told} What would tell: {MEASURINGS[measuring]}"


def _bark(side: str, chance: float) -> str:
    return (
        "You did not say which face is the bark side, and with it which way the rings cup. Both "
        f"were tried; the {side} is likelier ({100 * chance:.0f} %). Look at the end grain, and "
        "tell bark_side."
    )


def _otherwise(otherwise: Otherwise, misfit: float) -> str:
    return f"The rest would fit if {OTHERWISE[otherwise]} (misfit {misfit:.1f})."


def _guessed(lying: Lying, chance: float) -> str:
    return (
        "You did not say how its faces were. Of open, lying on the bottom and covered on top, "
        f"likeliest is {LYINGS[lying]} ({100 * chance:.0f} %)."
    )


def _strip(strain: float, is_large: bool, moisture_difference: float) -> str:
    size = (
        "as large as growth stress or larger"
        if is_large
        else "less than the order of growth stress"
    )
    return (
        f"The strip's bow is a strain difference of {1e6 * strain:.0f} millionths over its "
        f"breadth, {size}. By moisture alone it would take {abs(moisture_difference):.0f} % from "
        "side to side. That stress along the grain tells of stress across it is a guess."
    )


NOTES: Final[dict[str, Sentence]] = {
    "no-history": Sentence(
        "You told nothing of where it has been, so only the shrinkage formula speaks. To hear of "
        "causes, give room and days.",
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
        "What was seen does not go together by any of these causes, the other face closed and a "
        "room much drier or damper than told among them, so none is named. Look at the figures, "
        "the species, the bark side and the dates again.",
        source="derived",
        rank=1,
    ),
    "fits-otherwise": Sentence(_otherwise, source="derived", rank=1),
    "errors-widened": Sentence(
        "What was seen misses the best fit by {misfit:.1f} times its usual errors: all errors are "
        "widened by that.",
        source="derived",
        rank=2,
    ),
    "causes-beforehand": Sentence(
        "How often slabs move by each cause, before this one is looked at, is a guess.",
        source="judgement",
    ),
    "bark-guessed": Sentence(_bark, "/slab/bark_side", "derived", 1),
    "few-draws": Sentence(
        "Few of the cases tried fit: they count as {effective:.0f} equal ones. Their weights are "
        "evened out until {enough:.0f} count, which widens what is told.",
        source="derived",
        rank=2,
    ),
    "faces-guessed": Sentence(_guessed, source="derived", rank=1),
    "strip": Sentence(
        _strip, "/ripped_strip", "derived; growth strains from memory, low confidence"
    ),
    "cup-uncertain": Sentence(
        "With readings the size of a cup is known within a factor of about 1.6. What comes after "
        "drying through is the least sure.",
        source="judgement",
        weak="the cup, to a factor of 1.6",
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "ripping-stressed": Sentence(
        "Ripping stressed wood can close on the saw or spring. Use a riving knife, and stand "
        "clear of the line of the blade.",
        rank=2,
        short="Stressed wood can close on the saw: riving knife; stand clear of its line.",
    ),
    "no-longer-held": Sentence(
        "A check at a fixing or a sheared key can mean that a loaded or overhead part is no "
        "longer held. Take the load off and have it looked at.",
        rank=1,
        short="A loaded or overhead part may not be held any more: unload it, have it seen.",
    ),
}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {
    "no-moisture-fits": Sentence(
        "no moisture fits: it has grown more than drying from nothing allows; look at widths and "
        "moisture again",
    ),
}
