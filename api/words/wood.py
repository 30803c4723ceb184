"""Sentences on wood, its rings, finishes, movement, and what a slab settles to."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from api.words.sentence import Sentence, size, warmth
from model.answers import air as moist_air
from model.behaviour import rings
from model.properties import sorption

_LOWEST, _HIGHEST = sorption.VALID_TEMPERATURE


def _of_finish(weak: str) -> Callable[..., str]:
    def told(name: str, note: str, sd: float, **more: object) -> str:
        before = f"{name}: {note}. " if note else ""
        return before + weak.format(name=name, sd=sd)

    return told


def _pith(pith: float, near: float, far: float, share: float, bark_side: str) -> str:
    told = (
        f"You did not say where the pith was: {size(pith)} from the middle of the section in the "
        f"figures, {size(near)} to {size(far)} in the spread, as logs allow. "
        f"{share:.0f} % of the width then moves as along the rings, the rest as across them; the "
        "farther the pith, the more it moves in width and the less it cups."
    )
    if not bark_side:
        return told
    return (
        f"{told} The bark side is the {bark_side} here. The other way up, the cup by the rings "
        "turns round."
    )


def _group(name: str, woods: tuple[tuple[str, float], ...], narrower: float) -> str:
    """What a name stands for, and what naming one of them would bring."""
    listed = ", ".join(f"{wood} ({100.0 * share:.0f} %)" for wood, share in woods)
    gain = f", and the range of movement narrows by {100.0 * narrower:.0f} %"
    return (
        f"{name[:1].upper()}{name[1:]} is the name of several woods. All are counted: {listed}. "
        f"Say which{gain if narrower >= 0.05 else ''}."
    )


def _holds(name: str, at_60: float, at_90: float, spread: float, **more: object) -> str:
    if at_60 == at_90 == 1.0:
        return f"{name} holds as much water as most woods, give or take {spread:g}."
    return (
        f"{name[:1].upper()}{name[1:]} is taken to hold {at_60:.2f} of what most woods hold up to "
        f"60 % relative humidity, and {at_90:.2f} from 90 %, give or take {spread:.2f}."
    )


_HANDBOOK: Final = "Wood Handbook FPL-GTR-190 ch. 13"


def _of_air(heated: bool) -> str:
    return "/heated_to" if heated else ""


def _measured(measure: str, given: float) -> str:
    return f"{given:.4g} Pa" if measure == "vapour_pressure" else warmth(given)


def _damper(measure: str, given: float, temperature: float, saturated: float) -> str:
    return (
        f"{_measured(measure, given)} given: more than air of {warmth(temperature)} holds "
        f"({saturated:.4g} Pa, where dew point and wet bulb equal its temperature); write a lower "
        "figure"
    )


def _drier(measure: str, given: float, temperature: float, driest: float) -> str:
    return (
        f"{_measured(measure, given)} given: drier than any air (under {driest:g} % relative "
        f"humidity at {warmth(temperature)}); write a higher figure"
    )


def _by_readings(count: int) -> str:
    return (
        f"The moisture through the slab is drawn from {count} reading{'s' if count > 1 else ''} "
        "with their errors: mean, tilt and bow."
    )


_STORY: Final = {
    "anywhere": "where it comes from is not known",
    "stack": "it comes from a stack outdoors or in a shed",
    "room": "it stood in a heated room for long",
}


def _unknown(story: str, low: float, high: float) -> str:
    return (
        f"Nothing was read of its moisture. {_STORY[story].capitalize()}: {low:.0f} to {high:.0f} "
        "% is taken. Read it first, shell and middle; nothing else narrows this answer as much."
    )


NOTES: Final[dict[str, Sentence]] = {
    "species": Sentence("{name}: {note}.", "/slab/species", "{source}", 2),
    "weak-shrinkage": Sentence(
        "How much {name} shrinks is weakly known: tables differ by more than 15 %.",
        "/slab/species",
        "{source}",
        1,
        weak="how much {name} shrinks",
    ),
    "wood-group": Sentence(
        _group, "/slab/species", "trade names of woods (memory, some printed)", 1
    ),
    "stand-in": Sentence(
        "No figures of {asked} were found. Those of {name}, a relative, are used.",
        "/slab/species",
        "judgement",
        1,
    ),
    "figured-wood": Sentence(
        "The figures are those of plain {name}; {words} is not counted in. Burls, crotches and "
        "wavy grain move unevenly, and more along the length.",
        "/slab/species",
        "common practice, no source",
        1,
    ),
    "sawn-in-name": Sentence(
        "The wood's name says how it is sawn ({words}). That is not read: tell it as the slab's "
        "grain.",
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
        "The pith lies near the middle of the thickness. As it dries it will check to one face "
        "or both. With a check to one face both edges move away from that face, in a V. Let it "
        "settle, then fill or key it. Never hold it flat across the check.",
        "/slab/pith",
        "derived; plane finite elements (computed)",
        1,
    ),
    "out-of-line": Sentence(
        "Bow and crook are those of usual wood. Wood near the pith, and reaction wood, make "
        "several times as much.",
        "/slab/length",
        "3,600 spruce sticks (printed; unit read as % per % M)",
        3,
    ),
    "growth-stress": Sentence(
        "The bow of a ripped strip tells stress along the grain, taken as a parabola over the "
        "width: rip from both edges in turn, and expect the kerf to close or open. It does not "
        "bend the slab before it is ripped, nor cup it.",
        "/slab/stress/ripped_strip",
        "derived; the parabola: judgement",
        2,
    ),
    "twist": Sentence(
        "In spruce, spiral grain explains two thirds of the twist measured. Severe twist comes "
        "only within 75 mm (3 in) of the pith. Softwood near the pith has 2 to 4 degrees of "
        "spiral grain.",
        "/spiral_grain",
        "Stevens & Johnston 1960 (memory); printed",
    ),
    "twist-needs-the-pith": Sentence(
        "To hear of twist, give slab.pith beside spiral_grain.",
        "/spiral_grain",
        "derived",
    ),
    "assumed-flat": Sentence(
        "You did not say how the rings lie. Flat-sawn is assumed, with ring angles up to "
        f"{rings.FLAT_WITHIN:g} degrees in the range.",
        "/slab/grain",
        "common practice, no source",
        2,
    ),
    "bark-untold": Sentence(
        "You did not say which face was nearer the bark. The cup is told for the bark side up; "
        "its likely range covers both ways. Give bark_side to narrow it.",
        "/slab/bark_side",
        "geometry of the rings (derived)",
        1,
    ),
    "assumed-pith": Sentence(
        _pith,
        "/slab/pith",
        "geometry of boards in logs (derived); how many logs of which size: judgement",
        1,
        short="You did not say where the pith was: it is drawn as boards lie in logs.",
    ),
    "finish-fitted": Sentence(
        _of_finish(
            "Under {name} moisture passes as through {sd:g} m of still air. In dry rooms a film "
            "can be three times as tight."
        ),
        "/faces/{side}",
        "{source} ({basis})",
        2,
    ),
    "finish-taken": Sentence(
        _of_finish("Under {name} moisture passes as through {sd:g} m of still air."),
        "/faces/{side}",
        "{source} ({basis})",
        3,
    ),
    "sorption-cold-or-hot": Sentence(
        f"How moist wood gets is known from {_LOWEST:g} to {_HIGHEST:g} °C. Beyond that the "
        "figure is a stretch.",
        "/temperature",
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
    "sorption-damp": Sentence(
        f"Above {sorption.VALID_HUMIDITY[1]:g} % relative humidity the figure is a stretch. Real "
        "wood may hold several points more or less.",
        "/relative_humidity",
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
    "spread-between-woods": Sentence(
        "You named no wood, so one curve stands for all. Between 40 and 65 % relative humidity "
        "woods lie within about 1 % moisture of it. Above 80 % most hold 3 to 6 hundredths less; "
        "teak and western redcedar hold a quarter less.",
        "/species",
        "measured points of beech, spruce and ash (printed); Princes Risborough tables (memory)",
        2,
    ),
    "heat-treated": Sentence(
        "Heat-treated wood is counted as a share of plain wood: 0.77 if treated lightly, 0.6 if "
        "strongly. Treatments differ.",
        "/treated",
        "tauari, ash and red oak, Zhou et al. 2013 (printed)",
        1,
    ),
    "came-drying": Sentence(
        "It is taken to have dried down to its moisture, and wood remembers that. Had it taken "
        "up water instead, it would settle to {otherwise:.1f} %, {apart:.1f} % away.",
        "/sorption",
        "hysteresis of sorption: printed ratios of one spruce; the loop between is judgement",
        2,
    ),
    "came-wetting": Sentence(
        "It is taken to have taken up water to its moisture, and wood remembers that. Had it "
        "dried down instead, it would settle to {otherwise:.1f} %, {apart:.1f} % away.",
        "/sorption",
        "hysteresis of sorption: printed ratios of one spruce; the loop between is judgement",
        2,
    ),
    "came-unknown": Sentence(
        "You did not say how it came to its moisture, and wood remembers that. Had it taken up "
        "water, it would settle to {otherwise:.1f} %, {apart:.1f} % away.",
        "/sorption",
        "hysteresis of sorption: printed ratios of one spruce; the loop between is judgement",
        2,
    ),
    "mean-curve": Sentence(
        "It is followed as if wood remembered nothing. The yearly swing comes out larger than "
        "that of real wood.",
        "/sorption",
        "",
        1,
    ),
    "dries-through-edges": Sentence(
        "It is narrow for its thickness, so it dries through its edges too. Times are "
        "{share:.2f} of those through the faces alone. Cup and stress are those of the middle.",
        "/slab/width",
        "product rule of conduction (derived); edges taken as bare",
        2,
    ),
    "dries-through-ends": Sentence(
        "It is short for its thickness, so it dries through its ends too. Times are {share:.2f} "
        "of those through the faces alone.",
        "/slab/length",
        "product rule of conduction (derived); along the grain 13 times as fast (printed 12-15)",
        2,
    ),
    "ends-ahead": Sentence(
        "Within {zone:end_zone} of its ends it is {way} than the rest by 1 % and more, most "
        "about day {days:.0f}. Ends check first, unless you seal them.",
        "/slab/length",
        "diffusion into a half-space (Crank 1975, memory); along the grain 13 times as fast "
        "(printed 12-15)",
        2,
    ),
    "times-weak": Sentence(
        "Times may be {factor:.2g} times longer or shorter. Readings of this slab would narrow "
        "that.",
        "/slab/species",
        "transport factor of the wood group, judged across conflicting evidence",
        1,
        weak="times, to a factor of {factor:.2g}",
    ),
    "cup-elastic": Sentence(
        "The cup is that of a free slab. Creep makes it about a third smaller on the way, and "
        "may turn it round after drying. A slab that is held does not show it.",
        "",
        "elastic plate theory; mechano-sorptive creep after Toratti & Svensson 2000 (printed)",
        2,
        weak="the cup on the way",
    ),
    "yearly-theory": Sentence(
        "No measurement was found of how thick wood swings through a year in a room. That part "
        "is theory alone.",
        rank=3,
        weak="the yearly swing (theory alone)",
    ),
    "moisture-by-readings": Sentence(_by_readings, "", "derived", 2),
    "moisture-as-given": Sentence(
        "The moisture is taken with its spread as an answer gave it, {mean:.1f} % in the middle.",
        source="derived",
        rank=2,
    ),
    "moisture-unknown": Sentence(_unknown, "", "judgement", 1),
    "moisture-even": Sentence(
        "You gave one moisture. It is taken as even through the thickness.",
        "/moisture",
        rank=1,
    ),
    "slow-extrapolated": Sentence(
        "Some of the cases tried take longer than the {years:.0f} years that were followed. "
        "Beyond them the rest is taken to fade at a steady rate.",
    ),
    "year-not-found": Sentence(
        "The year found still drifts by {miss:.2f} % of moisture.",
        rank=1,
    ),
    "free-elastic": Sentence(
        "Shape and size are those of a free slab with no stress in it. A slab that dried "
        "unevenly may keep a bend of its own.",
        "/{state}",
        "free plate (derived)",
    ),
    "length": Sentence(
        "Normal wood shrinks 0.1 to 0.2 % along its length from green to oven-dry. Wood near the "
        "pith, or grown under strain, can move ten times as much.",
        "/slab/length",
        "Wood Handbook FPL-GTR-190 ch. 4",
        3,
    ),
    "above-shrinkage": Sentence(
        "At {start:g} % and above {wood} does not shrink or swell.",
        "/{state}",
        _HANDBOOK,
    ),
    "near-fibre-saturation": Sentence(
        "Near {start:g} % shrinkage begins little by little, and green wood may collapse. The "
        "straight rule used here is a stretch.",
        "/{state}",
        _HANDBOOK,
        1,
    ),
    "outside-coefficient": Sentence(
        "The handbook's coefficient holds from 6 to 14 % moisture. Outside that, go by the "
        "shrinkage formula beside it.",
        "/{state}",
        _HANDBOOK,
    ),
    "sea-level": Sentence(
        "Wet bulb and humidity ratio are those at sea level, 101.325 kPa. In the mountains the "
        "wet bulb is lower and the ratio higher. Nothing else depends on it.",
        source="ISO 2533 standard atmosphere",
        rank=3,
    ),
    "condensation": Sentence(
        "Cooled so far, the air cannot keep its water: some of it condenses.",
        "/heated_to",
        "derived",
        1,
    ),
    "no-equilibrium": Sentence(
        "No equilibrium moisture is told here. What wood holds is known from "
        f"{moist_air.COVERED[0]:g} to {moist_air.COVERED[1]:g} °C and up to "
        f"{sorption.HIGHEST_HUMIDITY:g} % relative humidity.",
        _of_air,
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
    "sorption-stretched": Sentence(
        f"What wood holds is known from {_LOWEST:g} to {_HIGHEST:g} °C and up to "
        f"{sorption.VALID_HUMIDITY[1]:g} % relative humidity. Beyond that it is a stretch.",
        _of_air,
        "Wood Handbook FPL-GTR-190 Table 4-2 (memory)",
        1,
    ),
}
CAUTIONS: Final[dict[str, Sentence]] = {
    "heavy": Sentence(
        "The slab weighs about {weight:weight}. Lift and turn it with help or a hoist, and "
        "secure it against falling over.",
        rank=2,
        short="It weighs about {weight:weight}: lift it with help; secure it against falling.",
    ),
    "oily-rags": Sentence(
        "Rags wet with drying oil can heat up and catch fire by themselves. Spread them out to "
        "dry in the open, or keep them under water in a closed metal can.",
        rank=2,
        short="Oily rags can catch fire by themselves: spread them out, or keep under water.",
    ),
}
REASONS: Final[dict[str, Sentence]] = {
    "uneven": Sentence("its moisture differs by {by:.1f} points through the thickness"),
    "wetter": Sentence("it is {by:.1f} points wetter than it will settle to"),
    "drier": Sentence("it is {by:.1f} points drier than it will settle to"),
    "even-and-near": Sentence(
        "it is even within {uneven:.1f} points through the thickness, and {by:.1f} points {way} "
        "than what it settles to",
    ),
    "taken-even-and-near": Sentence(
        "it is taken as even through the thickness, and {by:.1f} points {way} than what it "
        "settles to",
    ),
}
REFUSALS: Final[dict[str, Sentence]] = {
    "damper-than-saturated": Sentence(_damper, "/{measure}"),
    "drier-than-any-air": Sentence(_drier, "/{measure}"),
}
