"""Sentences on a slab through its stays."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence

NOTES: Final[dict[str, Sentence]] = {
    "log-averaged": Sentence(
        "The log has more than {readings} readings, so it was averaged over {hours:.2g} hours. "
        "Swings shorter than that touch only the skin of the wood.",
        source="numerical choice",
        rank=3,
    ),
    "starts-flat": Sentence(
        "The slab is taken to start without stress. Stress it brings along would move it further.",
        "/moisture",
        "judgement",
        1,
    ),
    "brought-along": Sentence(
        "The stress it brings along is taken as a parabola through the thickness, as the slice "
        "or prong tells. That is one look at one place, so within a third or so. In a room it "
        "fades very slowly.",
        "/slab/stress",
        "CEN/TS 14464, form (memory); Tarvainen et al. 2006 (printed)",
    ),
    "creep": Sentence(
        "How wood creeps while its moisture changes is judged between published figures that "
        "differ by ten times. The cup is known within a factor of 1.6 to 2, forces within 2. "
        "Least sure is a cup that turns over after drying through.",
        source="Ranta-Maunus; Ormarsson et al.; Toratti & Svensson 2000, 2002 (memory)",
        rank=1,
        weak="creep (cup and forces, to a factor of 2)",
    ),
    "stiffness": Sentence(
        "Stiffness across the grain falls by 2.5 % for each 1 % of moisture, as printed for "
        "spruce between about 6 and 20 %. It is taken so for every wood, from 0 % to fibre "
        "saturation.",
        source="printed, spruce",
        rank=3,
    ),
    "strength-estimated": Sentence(
        "The strength of this wood across the grain is not listed. It is predicted from its "
        "specific gravity.",
        "/slab/species",
        "Wood Handbook FPL-GTR-190 Table 5-11a (memory)",
        weak="strength across the grain (not listed)",
    ),
    "bow": Sentence(
        "Bow assumes 0.1 to 0.2 % of shrinkage along the grain, alike in all the slab. Reaction "
        "wood and wood near the pith bow far more.",
        "/slab/length",
        "Wood Handbook FPL-GTR-190 ch. 4",
    ),
    "machined-flat": Sentence(
        "Planing flat is taken to leave the thickness even. What comes off the high places "
        "beyond the depth you gave is not counted.",
        "/stays",
        "judgement",
    ),
    "series-thinned": Sentence(
        "{told} of {of} rows are told. They are the first and last of every stay, the extremes "
        "of mean moisture, cup and stress index in it, and the lowest and highest of equal "
        "stretches of time.",
        "/rows",
        rank=3,
    ),
    "stress-index": Sentence(
        "The stress index holds the tension in the outer layers against the strength of small "
        "clear pieces loaded for a season. At 1 the average slab checks; knots or a poor spot "
        "check earlier. It is judged by what is known of drying: use it to compare one plan with "
        "another.",
        "",
        "EN 1995-1-1 duration of load (memory); judgement",
    ),
    "bars-straight": Sentence(
        "The bars are taken as straight, and as sliding in slots. They pull toward flat and "
        "leave the width free.",
        "/stays",
        "judgement",
    ),
    "moment-of-a-metre": Sentence(
        "You gave no length: the moment is that of one metre (39 in) of slab.",
        "/slab/length",
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "planing": Sentence(
        "Planing throws chips and makes dust and noise. Wear eye and hearing protection and a "
        "dust mask, and keep the guards on.",
        rank=2,
        short="Planing: eye and hearing protection, a dust mask, guards on.",
    ),
}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {}
