"""Sentences on wood, its rings, finishes, movement, and what a slab settles to."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from api.words.sentence import Sentence, warmth
from model.answers import air as moist_air
from model.behaviour import rings
from model.properties import sorption

_LOWEST, _HIGHEST = sorption.VALID_TEMPERATURE


def _of_finish(weak: str) -> Callable[..., str]:
    def told(name: str, note: str, sd: float, **more: object) -> str:
        before = f"{name}: {note}. " if note else ""
        return before + weak.format(name=name, sd=sd)

    return told


def _pith(share: float, bark_side: str) -> str:
    told = (
        f"The pith is not known. The cup by the rings takes it {rings.ASSUMED_PITH:g} of the width "
        "under the heart-side face (0.12 to 1 in the spread). Width follows the ring angle alone, "
        f"which is the most a flat-sawn slab moves: with that pith {share:.0f} % of its width "
        "moves as along the rings, the rest as across them."
    )
    if not bark_side:
        return told
    return (
        f"{told} The bark side (bark_side) is the {bark_side} here; the other way up, the cup by "
        "the rings turns round."
    )


def _group(name: str, woods: tuple[tuple[str, float], ...], narrower: float) -> str:
    """What a name stands for, and what naming one of them would bring."""
    listed = ", ".join(f"{wood} ({100.0 * share:.0f} %)" for wood, share in woods)
    gain = f" and the band of movement narrows by {100.0 * narrower:.0f} %"
    return (
        f"{name[:1].upper()}{name[1:]} is the name of several woods: taken as {listed}, all "
        f"together. Say which{gain if narrower >= 0.05 else ''}."
    )


def _holds(name: str, at_60: float, at_90: float, spread: float, **more: object) -> str:
    if at_60 == at_90 == 1.0:
        return f"{name} holds as much water as the common curve of woods, give or take {spread:g}."
    return (
        f"{name[:1].upper()}{name[1:]} is taken to hold {at_60:.2f} of what the common curve says "
        f"up to 60 % relative humidity and {at_90:.2f} from 90 %, give or take {spread:.2f}."
    )


_HANDBOOK: Final = "Wood Handbook FPL-GTR-190 ch. 13"


def _of_air(heated: bool) -> str:
    return "/heated_to" if heated else ""


def _measured(measure: str, given: float) -> str:
    return f"{given:.4g} Pa" if measure == "vapour_pressure" else warmth(given)


def _damper(measure: str, given: float, temperature: float, saturated: float) -> str:
    return (
        f"{_measured(measure, given)} given: more than air of {warmth(temperature)} holds "
        f"({saturated:.4g} Pa, dew point and wet bulb equal to its temperature); write a lower "
        "figure"
    )


def _drier(measure: str, given: float, temperature: float, driest: float) -> str:
    return (
        f"{_measured(measure, given)} given: drier than any air (under {driest:g} % relative "
        f"humidity at {warmth(temperature)}); write a higher figure"
    )


NOTES: Final[dict[str, Sentence]] = {
    "species": Sentence("{name}: {note}.", "/slab/species", "{source}", 2),
    "weak-shrinkage": Sentence(
        "The shrinkage of {name} is weakly known: tables differ by more than 15 %.",
        "/slab/species",
        "{source}",
        1,
    ),
    "wood-group": Sentence(
        _group, "/slab/species", "trade names of woods (memory, some printed)", 1
    ),
    "stand-in": Sentence(
        "No figures of {asked} were found: those of {name}, a relative, stand for it.",
        "/slab/species",
        "judgement",
        1,
    ),
    "figured-wood": Sentence(
        "The figures are of plain straight-grained {name}; {words} is not counted in: burls, "
        "crotches and wavy grain move unevenly, and more along the length.",
        "/slab/species",
        "common practice, no source",
        1,
    ),
    "sawn-in-name": Sentence(
        "How it is sawn ({words}) is not read from the wood's name: say it as the slab's grain.",
        "/slab/grain",
        "",
        1,
    ),
    "sorption-of-wood": Sentence(
        _holds,
        "/species",
        "{source}",
        2,
    ),
    "pith-inside": Sentence(
        "The pith lies in the slab: expect a check from the pith to the nearer face as it dries; "
        "the shape told is that of a slab without one.",
        "/slab/pith",
        "geometry of the rings (derived)",
        1,
    ),
    "boxed-heart": Sentence(
        "The pith lies near the middle of the thickness: it will check to one face or both as it "
        "dries, and with a check to one face both edges go away from that face, in a V. Fill or "
        "key it after it has settled, and never hold it flat across the check.",
        "/slab/pith",
        "derived; plane finite elements (computed)",
        1,
    ),
    "out-of-line": Sentence(
        "Bow and crook are those of a usual difference along the grain; juvenile wood near the "
        "pith and reaction wood make several times as much.",
        "/slab/length",
        "3,600 spruce sticks (printed; unit read as % per % M)",
        3,
    ),
    "twist": Sentence(
        "Twist by spiral grain explains two thirds of what was measured, in spruce; severe twist "
        "comes within 75 mm of the pith alone. Softwood near the pith has 2 to 4 degrees.",
        "/spiral_grain",
        "Stevens & Johnston 1960 (memory); printed",
    ),
    "twist-needs-the-pith": Sentence(
        "Spiral grain tells the twist only beside the place of the pith: give slab.pith.",
        "/spiral_grain",
        "derived",
    ),
    "assumed-flat": Sentence(
        "Nothing is said of the rings: taken as flat-sawn, ring angles up to "
        f"{rings.FLAT_WITHIN:g} degrees in the spread.",
        "/slab/grain",
        "common practice, no source",
        2,
    ),
    "bark-untold": Sentence(
        "Which face was nearer the bark is not told: the likely range of the cup holds both ways "
        "round, and the figure beside it is for the bark side up. Give bark_side, and it narrows.",
        "/slab/bark_side",
        "geometry of the rings (derived)",
        1,
    ),
    "assumed-pith": Sentence(
        _pith,
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
        "No wood was told: one curve stands for all. Measured woods lie within about 1 % moisture "
        "of it between 40 and 65 % relative humidity; above 80 % most hold 3 to 6 hundredths less, "
        "teak and western redcedar a quarter less.",
        "/species",
        "measured points of beech, spruce and ash (printed); Princes Risborough tables (memory)",
        2,
    ),
    "heat-treated": Sentence(
        "Heat-treated wood is taken as a share of plain wood: 0.77 of it when treated lightly, "
        "0.6 when strongly. Treatments differ.",
        "/treated",
        "tauari, ash and red oak, Zhou et al. 2013 (printed)",
        1,
    ),
    "came-drying": Sentence(
        "It is taken to have dried down to its moisture; wood remembers that. Had it taken up "
        "water to it, it would settle to {otherwise:.1f} %, {apart:.1f} % away.",
        "/sorption",
        "hysteresis of sorption: printed ratios of one spruce; the loop between is judgement",
        2,
    ),
    "came-wetting": Sentence(
        "It is taken to have taken up water to its moisture; wood remembers that. Had it dried "
        "down to it, it would settle to {otherwise:.1f} %, {apart:.1f} % away.",
        "/sorption",
        "hysteresis of sorption: printed ratios of one spruce; the loop between is judgement",
        2,
    ),
    "came-unknown": Sentence(
        "How it came to its moisture is not known; wood remembers that. Had it taken up water to "
        "it, it would settle to {otherwise:.1f} %, {apart:.1f} % away.",
        "/sorption",
        "hysteresis of sorption: printed ratios of one spruce; the loop between is judgement",
        2,
    ),
    "mean-curve": Sentence(
        "Followed on the one mean sorption curve, as if wood remembered nothing: the yearly swing "
        "comes out larger than that of wood.",
        "/sorption",
        "",
        1,
    ),
    "dries-through-edges": Sentence(
        "It is narrow for its thickness and dries through its edges too: the times are {share:.2f} "
        "of those through the faces alone; cup and stress are taken as of the middle.",
        "/slab/width",
        "product rule of conduction (derived); edges taken as bare",
        2,
    ),
    "dries-through-ends": Sentence(
        "It is short for its thickness and dries through its ends too: the times are {share:.2f} "
        "of those through the faces alone.",
        "/slab/length",
        "product rule of conduction (derived); along the grain 13 times as fast (printed 12-15)",
        2,
    ),
    "ends-ahead": Sentence(
        "Within {zone:end_zone} of its ends it is {way} than the rest by 1 % and more, deepest "
        "about day {days:.0f}: ends check first, unless they are sealed.",
        "/slab/length",
        "diffusion into a half-space (Crank 1975, memory); along the grain 13 times as fast "
        "(printed 12-15)",
        2,
    ),
    "times-weak": Sentence(
        "Times may be off by a factor of {factor:.2g} either way until readings of this slab are "
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
    "free-elastic": Sentence(
        "Shape and size are those of a slab free to bend, without set or stress left in it; a slab "
        "that dried unevenly may keep a set of its own.",
        "/{state}",
        "free plate (derived)",
    ),
    "length": Sentence(
        "Length: normal wood, 0.1 to 0.2 % from green to oven-dry; wood near the pith or grown "
        "under strain can move ten times as much.",
        "/slab/length",
        "Wood Handbook FPL-GTR-190 ch. 4",
        3,
    ),
    "above-shrinkage": Sentence(
        "At or above {start:g} % {wood} does not shrink or swell.", "/{state}", _HANDBOOK
    ),
    "near-fibre-saturation": Sentence(
        "Near {start:g} % shrinkage sets in gradually and green wood may collapse; the straight "
        "law used here is a stretch.",
        "/{state}",
        _HANDBOOK,
        1,
    ),
    "outside-coefficient": Sentence(
        "The handbook's coefficient holds from 6 to 14 % moisture; outside, go by the change of "
        "the shrinkage formula beside it.",
        "/{state}",
        _HANDBOOK,
    ),
    "sea-level": Sentence(
        "Wet bulb and humidity ratio are those at the pressure of sea level, 101.325 kPa; in the "
        "mountains the wet bulb is lower and the ratio higher. Nothing else depends on it.",
        source="ISO 2533 standard atmosphere",
        rank=3,
    ),
    "condensation": Sentence(
        "Cooled so far, the air cannot keep its water: it is saturated and the rest condenses.",
        "/heated_to",
        "derived",
        1,
    ),
    "no-equilibrium": Sentence(
        "No equilibrium moisture is told: the sorption curve covers "
        f"{moist_air.COVERED[0]:g} to {moist_air.COVERED[1]:g} °C and up to "
        f"{sorption.HIGHEST_HUMIDITY:g} % relative humidity.",
        _of_air,
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
    "sorption-stretched": Sentence(
        f"The sorption curve is known from {_LOWEST:g} to {_HIGHEST:g} °C and up to "
        f"{sorption.VALID_HUMIDITY[1]:g} % relative humidity; beyond, it is stretched.",
        _of_air,
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "heavy": Sentence(
        "The slab weighs about {weight:weight}: lift and turn it with help or a hoist, and secure "
        "it against falling over.",
        rank=2,
        short="It weighs about {weight:weight}: lift it with help; secure it against falling.",
    ),
    "oily-rags": Sentence(
        "Rags wet with drying oil can heat up and catch fire by themselves: spread them out to dry "
        "in the open or keep them under water in a closed metal can.",
        rank=2,
        short="Rags wet with oil catch fire by themselves: spread them out, or under water.",
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
REFUSALS: Final[dict[str, Sentence]] = {
    "damper-than-saturated": Sentence(_damper, "/{measure}"),
    "drier-than-any-air": Sentence(_drier, "/{measure}"),
}
