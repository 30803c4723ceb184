"""Sentences on wood, its rings, finishes, movement, and what a slab settles to."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from api.words.sentence import Sentence
from model.behaviour import rings
from model.properties import sorption

_LOWEST, _HIGHEST = sorption.VALID_TEMPERATURE


def _of_finish(weak: str) -> Callable[..., str]:
    def told(name: str, note: str, sd: float, **more: object) -> str:
        before = f"{name}: {note}. " if note else ""
        return before + weak.format(name=name, sd=sd)

    return told


NOTES: Final[dict[str, Sentence]] = {
    "species": Sentence("{name}: {note}.", "/slab/species", "{source}", 2),
    "weak-shrinkage": Sentence(
        "The shrinkage of {name} is weakly known: other tables give movement more than 15 % "
        "larger.",
        "/slab/species",
        "{source}",
        1,
    ),
    "pith-inside": Sentence(
        "The pith lies in the slab: expect a check from the pith to the nearer face as it dries; "
        "the shape told is that of a slab without one.",
        "/slab/pith",
        "geometry of the rings (derived)",
        1,
    ),
    "assumed-flat": Sentence(
        "Nothing is said of the rings: taken as flat-sawn, ring angles up to "
        f"{rings.FLAT_WITHIN:g} degrees in the spread.",
        "/slab/grain",
        "common practice, no source",
        2,
    ),
    "assumed-pith": Sentence(
        f"The pith is not known. The cup by the rings takes it {rings.ASSUMED_PITH:g} of the width "
        "under the heart-side face (0.12 to 1 in the spread). Width follows the ring angle alone, "
        "which is the most a flat-sawn slab moves: with that pith {share:.0f} % of its width moves "
        "as along the rings, the rest as across them. The bark side (bark_side) is the {bark_side} "
        "here; the other way up, the cup by the rings turns round.",
        "/slab/pith",
        "judgement",
        1,
    ),
    "finish-fitted": Sentence(
        _of_finish(
            "The resistance of {name} ({sd:g} m of still air) is a low estimate; in dry rooms a "
            "film can be up to three times tighter."
        ),
        "/faces/{side}",
        "{source} ({basis})",
        2,
    ),
    "finish-taken": Sentence(
        _of_finish("The resistance of {name} is taken as {sd:g} m of still air."),
        "/faces/{side}",
        "{source} ({basis})",
        3,
    ),
    "sorption-cold-or-hot": Sentence(
        f"The sorption curve is known from {_LOWEST:g} to {_HIGHEST:g} °C; beyond, it is "
        "stretched.",
        "/temperature",
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
    "sorption-damp": Sentence(
        f"Above {sorption.VALID_HUMIDITY[1]:g} % relative humidity the sorption curve is "
        "stretched; real wood takes up less or more by several points.",
        "/relative_humidity",
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
    "spread-between-woods": Sentence(
        "One curve stands for all woods: measured woods lie within about 1 % moisture of it "
        "between 40 and 65 % relative humidity, oak and beech 1.5 to 2 below it from 80 %.",
        "",
        "measured points of beech, spruce and ash (printed)",
        2,
    ),
    "heat-treated": Sentence(
        "Heat-treated wood is taken as a fixed share of plain wood, from makers' claims: low "
        "confidence.",
        "/treated",
        "printed makers' claims",
        1,
    ),
    "times-weak": Sentence(
        "Times may be off by a factor of {factor:g} either way until readings of this slab are "
        "compared with them.",
        "/slab/species",
        "transport factor of the wood group, judged across conflicting evidence",
        1,
    ),
    "cup-elastic": Sentence(
        "The cup is that of a free, elastic slab: creep makes it smaller on the way (by about a "
        "third) and may turn it round after drying; a slab that is held does not show it.",
        "",
        "elastic plate theory; mechano-sorptive creep after Toratti & Svensson 2000 (printed)",
        2,
    ),
    "yearly-theory": Sentence(
        "No measured yearly swing of thick wood in a room was found: that part stands on theory "
        "alone.",
        rank=3,
    ),
    "moisture-even": Sentence(
        "One moisture was given: it was taken as even through the thickness.", "/moisture", rank=1
    ),
    "slow-extrapolated": Sentence(
        "In some of the cases drawn it takes longer than the {years:.0f} years that were followed; "
        "beyond them the rest was taken to fade at a steady rate."
    ),
    "year-not-found": Sentence("The year found still drifts by {miss:.2f} % of moisture.", rank=1),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "heavy": Sentence(
        "The slab weighs about {weight:weight}: lift and turn it with help or a hoist, and secure "
        "it against falling over.",
        rank=2,
    ),
    "oily-rags": Sentence(
        "Rags wet with drying oil can heat up and catch fire by themselves: spread them out to dry "
        "in the open or keep them under water in a closed metal can.",
        rank=2,
    ),
}
REASONS: Final[dict[str, Sentence]] = {
    "uneven": Sentence("its moisture differs by {by:.1f} points through the thickness"),
    "wetter": Sentence("it is {by:.1f} points wetter than it will settle to"),
    "drier": Sentence("it is {by:.1f} points drier than it will settle to"),
    "even-and-near": Sentence(
        "it is even within {uneven:.1f} points of moisture through the thickness, and {by:.1f} "
        "points {way} than the mean it settles to"
    ),
    "taken-even-and-near": Sentence(
        "its moisture is taken as even through the thickness, and {by:.1f} points {way} than the "
        "mean it settles to"
    ),
}
REFUSALS: Final[dict[str, Sentence]] = {}
