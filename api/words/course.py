"""Sentences on a slab through its stays."""

from __future__ import annotations

from typing import Final

from api.words.sentence import Sentence

NOTES: Final[dict[str, Sentence]] = {
    "log-averaged": Sentence(
        "A log of more than {readings} readings was averaged over {hours:.2g} hours; swings "
        "shorter than that touch only the skin of the wood.",
        source="numerical choice",
        rank=3,
    ),
    "starts-flat": Sentence(
        "The slab is taken as free of stress as it lies at the start; stress it brought along "
        "would move it further.",
        "/moisture",
        "judgement",
        1,
    ),
    "brought-along": Sentence(
        "The stress it brings along is a parabola through the thickness, as the slice or prong "
        "tells; one look at one place, so within a third or so. It fades very slowly at room "
        "conditions.",
        "/slab/stress",
        "CEN/TS 14464, form (memory); Tarvainen et al. 2006 (printed)",
    ),
    "creep": Sentence(
        "Set under changing moisture is judged between published figures that differ by ten times: "
        "cup is known within a factor of 1.6 to 2, forces within 2; a cup that turns over after "
        "drying through is the least sure figure of all.",
        source="Ranta-Maunus; Ormarsson et al.; Toratti & Svensson 2000, 2002 (memory)",
        rank=1,
    ),
    "stiffness": Sentence(
        "The modulus across the grain falls by 2.5 % per 1 % of moisture, as printed for spruce "
        "between about 6 and 20 %; taken for every wood from 0 % to fibre saturation.",
        source="printed, spruce",
        rank=3,
    ),
    "strength-estimated": Sentence(
        "The strength across the grain is not listed for this wood and is predicted from its "
        "specific gravity.",
        "/slab/species",
        "Wood Handbook FPL-GTR-190 Table 5-11a (memory)",
    ),
    "bow": Sentence(
        "Bow takes 0.1 to 0.2 % of shrinkage along the grain, alike in all the slab; reaction wood "
        "and juvenile wood bow far more.",
        "/slab/length",
        "Wood Handbook FPL-GTR-190 ch. 4",
    ),
    "machined-flat": Sentence(
        "Planing flat is taken to leave the thickness even; what is cut from the high places "
        "beyond the depth given is left out of account.",
        "/stays",
        "judgement",
    ),
    "series-thinned": Sentence(
        "{told} of {of} rows are told: the first and last of every stay, the extremes of mean "
        "moisture, cup and stress index in it, and the lowest and highest of equal stretches of "
        "time.",
        "/rows",
        rank=3,
    ),
    "stress-index": Sentence(
        "The stress index holds the tension in the outer layers against the strength of small "
        "clear pieces under a season of load: at 1 the average slab checks, and knots or a poor "
        "spot do earlier. It is judged by what is known of drying; go by it to compare one plan "
        "with another.",
        "",
        "EN 1995-1-1 duration of load (memory); judgement",
    ),
    "bars-straight": Sentence(
        "The bars are taken as straight and as sliding along the slab in slots; they pull toward "
        "flat and leave the width free.",
        "/stays",
        "judgement",
    ),
    "moment-of-a-metre": Sentence(
        "No length is given: the moment is that of one metre of slab.", "/slab/length"
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "planing": Sentence(
        "Planing and surfacing throw chips and make dust and noise: wear eye and hearing "
        "protection and a dust mask, and keep the guards on.",
        rank=2,
        short="Planing: eye and hearing protection, a dust mask, guards on.",
    ),
}
REASONS: Final[dict[str, Sentence]] = {}
REFUSALS: Final[dict[str, Sentence]] = {}
